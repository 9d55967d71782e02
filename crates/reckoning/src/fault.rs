//! What is wrong with a log as a whole: found while reckoning, worded by the rules.

use std::sync::Arc;

use barm_quantity::{Gravity, Measure};

use crate::{BadRows, LotId, Moment, Named, Place};

/// Something that keeps part of a log from being reckoned. Everything outside it is reckoned all the same.
#[derive(Debug, Clone, PartialEq)]
pub enum Fault {
    /// A lot that nothing declares.
    UnknownName {
        /// The name as written.
        name: String,
        /// Where it is used.
        place: Place,
        /// The nearest name that there is.
        nearest: Option<String>,
        /// A strain has this name, and these lots are of it.
        strain: Option<Vec<String>>,
    },
    /// A strain or vessel that nothing tells of, where the same file tells of one by nearly that name.
    Misspelt {
        /// Which of the two.
        of: Named,
        /// The name as written.
        name: String,
        /// Where it is used.
        place: Place,
        /// The other name.
        near: String,
    },
    /// A name declared twice.
    DuplicateName {
        /// The name.
        name: String,
        /// The second declaration.
        place: Place,
        /// The first, which holds.
        first: Place,
        /// Whether both are strains.
        strains: bool,
    },
    /// Two names that look the same.
    LookAlike {
        /// One.
        name: String,
        /// The other.
        other: String,
        /// Where the one is declared.
        place: Place,
        /// Where the other is.
        first: Place,
    },
    /// Events of one day that each need the other, a lot pitched into itself, or brews that are parts of each other.
    Loop {
        /// The lots in it.
        lots: Vec<LotId>,
        /// The events, the first is the primary place.
        places: Vec<Place>,
        /// The events are parts taken of a wort.
        of_wort: bool,
    },
    /// A lot used before it was there.
    NotYetThere {
        /// The lot.
        lot: LotId,
        /// Where it is used.
        place: Place,
        /// When.
        used: Moment,
        /// Where it comes to be.
        made: Place,
        /// When it does.
        made_at: Moment,
    },
    /// More taken than there was.
    Overdrawn {
        /// The lot.
        lot: LotId,
        /// The event.
        place: Place,
        /// What was taken, in the lot's own unit.
        taken: f64,
        /// What was left.
        left: f64,
        /// The unit: `mL`, `g`, `packs`, `sachets`, `vials`, or `parts` of a whole.
        unit: &'static str,
        /// The last event that drew on it before.
        last_draw: Option<Place>,
    },
    /// More beer moved or packaged than there was.
    TooMuchBeer {
        /// The brew.
        lot: LotId,
        /// The line.
        place: Place,
        /// How much it says, L.
        taken: f64,
        /// How much there was left, L.
        left: f64,
        /// Where the wort is stated.
        wort: Place,
    },
    /// A unit that makes the amount a thousand times what it can be, or a thousandth.
    UnlikelyUnit {
        /// The amount.
        place: Place,
        /// As written.
        written: Measure,
        /// What would fit.
        likely: Measure,
        /// Why: "the jar held 450 mL".
        why: String,
        /// Whether nothing else can be meant: an error then, not a guess.
        impossible: bool,
    },
    /// A specific gravity behind `brix`.
    GravityAsBrix {
        /// The item.
        place: Place,
        /// Its value.
        value: Place,
        /// As written.
        written: Measure,
        /// The gravity.
        likely: Measure,
        /// Why: "no wort is so thin".
        why: &'static str,
    },
    /// Gravities of beer in degrees Brix, which a refractometer shows more of than there are.
    BrixOfBeer {
        /// Each item from its word to the end of its value, and what is written, in order of time.
        read: Vec<(Place, Measure)>,
        /// The value of the first.
        value: Place,
        /// What that is taken for, and what it is had a refractometer shown so much.
        gravities: [Gravity; 2],
    },
    /// A value that cannot be of this brew.
    Impossible {
        /// The value.
        place: Place,
        /// What is wrong with it.
        why: String,
    },
    /// An addition that is nearly a known fermentable, and so counted as no sugar.
    UnknownAddition {
        /// As written.
        what: String,
        /// Where.
        place: Place,
        /// What is near.
        nearest: &'static str,
    },
    /// A day or time that lies before the one above it.
    TimeRunsBack {
        /// The line.
        place: Place,
        /// When it says.
        at: Moment,
        /// The one above.
        above: Place,
        /// When that says.
        above_at: Moment,
    },
    /// A logger's file that was not read.
    Unread {
        /// Its name.
        place: Place,
        /// Why.
        why: String,
    },
    /// Rows of a logger's file that were left out.
    BadRows {
        /// The file's name.
        place: Place,
        /// The name.
        file: String,
        /// What is wrong with them.
        rows: BadRows,
    },
    /// Temperatures in a logger's file that no beer has.
    NoBeer {
        /// The file's name.
        place: Place,
        /// The name.
        file: String,
        /// The first of them.
        at: Moment,
        /// What stands there.
        written: Measure,
        /// What is likely meant, where all that it read of the beer is so; `None`: they were left out.
        likely: Option<Measure>,
        /// Why it is not meant.
        why: String,
    },
    /// Descends from, or shared a vessel with, what was infected.
    Suspect {
        /// The lot.
        lot: LotId,
        /// The event that made it suspect.
        place: Place,
        /// The infected event.
        infected: Place,
        /// The lot from which it comes down, or the lot itself: infected, or put into a vessel after what was.
        root: LotId,
        /// The vessel that the root has it from.
        vessel: Option<Arc<str>>,
        /// Who was in that vessel before, and the infected lot that it comes from; `None`: the vessel itself is infected.
        before: Option<(LotId, LotId)>,
    },
}

impl Fault {
    /// The primary place.
    #[must_use]
    pub fn place(&self) -> Place {
        match self {
            Self::UnknownName { place, .. }
            | Self::Misspelt { place, .. }
            | Self::DuplicateName { place, .. }
            | Self::LookAlike { place, .. }
            | Self::NotYetThere { place, .. }
            | Self::Overdrawn { place, .. }
            | Self::TooMuchBeer { place, .. }
            | Self::UnlikelyUnit { place, .. }
            | Self::GravityAsBrix { value: place, .. }
            | Self::BrixOfBeer { value: place, .. }
            | Self::Impossible { place, .. }
            | Self::UnknownAddition { place, .. }
            | Self::TimeRunsBack { place, .. }
            | Self::Unread { place, .. }
            | Self::BadRows { place, .. }
            | Self::NoBeer { place, .. }
            | Self::Suspect { place, .. } => *place,
            Self::Loop { places, .. } => places
                .first()
                .copied()
                .unwrap_or(Place { file: crate::FileId(0), span: barm_syntax::Span::default() }),
        }
    }
}
