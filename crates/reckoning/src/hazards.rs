//! The first event of a workspace at which somebody does what can hurt.

use std::collections::BTreeMap;

use barm_quantity::Volume;
use barm_syntax::ast::{Add, Aeration, BlockKind, Kind};

use crate::additions::{self, Addition};
use crate::context::Context;
use crate::names::{LotId, LotKind};
use crate::timeline::{self, Shelved};
use crate::{Moment, Place};

/// Wort that goes in so long after the first yeast was kept somewhere, h.
const STORED_HOURS: f64 = 24.0;

/// What can hurt.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Danger {
    /// Pure oxygen.
    Oxygen,
    /// Live yeast in a closed jar.
    Jar,
    /// Carbon dioxide in a closed room.
    CarbonDioxide,
    /// Boiling wort, and glass.
    HotGlass,
    /// Caustic and acid.
    Cleaner,
    /// Wort that was kept.
    StoredWort,
}

/// The earliest event that does a dangerous thing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hazard {
    /// Which.
    pub danger: Danger,
    /// When.
    pub at: Moment,
    /// The statement.
    pub place: Place,
    /// The lot that it happens to.
    pub lot: Option<LotId>,
}

/// The earliest of each, in order of place.
pub(crate) fn find(context: &Context<'_>) -> Vec<Hazard> {
    let mut first: BTreeMap<Danger, Hazard> = BTreeMap::new();
    let mut tell = |danger: Danger, at: Moment, place: Place, lot: Option<LotId>| {
        let found = Hazard { danger, at, place, lot };
        let known = first.entry(danger).or_insert(found);
        if (at, place) < (known.at, known.place) {
            *known = found;
        }
    };
    for (index, lot) in context.names.lots.iter().enumerate() {
        let id = LotId(u32::try_from(index).unwrap_or(u32::MAX));
        let mut pitched = None;
        for (at, shelved, statement) in context.events(id) {
            let place = shelved.place(statement.span);
            if let Kind::Pitch(_) = &statement.kind {
                pitched = pitched.or(Some(at));
            }
            if let Some(danger) = danger(&statement.kind, lot.kind, at, pitched) {
                tell(danger, at, place, Some(id));
            }
        }
        if let (Some(pitched), Some(home)) = (pitched, context.home(id))
            && let Some(place) = kept_wort(context, home, pitched)
        {
            tell(Danger::StoredWort, pitched, place, Some(id));
        }
    }
    for shelved in context.shelf.iter().filter(|s| s.block.kind == BlockKind::Vessel) {
        for (at, statement) in
            timeline::moments(shelved.block, None).into_iter().zip(&shelved.block.statements)
        {
            if let (Some(at), Kind::Clean(_)) = (at, &statement.kind) {
                tell(Danger::Cleaner, at, shelved.place(statement.span), None);
            }
        }
    }
    let mut out: Vec<Hazard> = first.into_values().collect();
    out.sort_by_key(|hazard| hazard.place);
    out
}

fn danger(kind: &Kind, lot: LotKind, at: Moment, pitched: Option<Moment>) -> Option<Danger> {
    match kind {
        Kind::Aerate(aerate) if aerate.method == Aeration::Oxygen => Some(Danger::Oxygen),
        Kind::Harvest(_) => Some(Danger::Jar),
        Kind::Pitch(_) if lot == LotKind::Brew => Some(Danger::CarbonDioxide),
        Kind::Pitch(_) | Kind::Boil(_) => Some(Danger::HotGlass),
        Kind::Clean(_) => Some(Danger::Cleaner),
        Kind::Wash(wash) if wash.ph.is_some() => Some(Danger::Cleaner),
        Kind::Add(add) if is_cleaner(&add.what.text) => Some(Danger::Cleaner),
        Kind::Add(add) if is_wort(add) && pitched.is_some_and(|p| at.hours_since(p) >= STORED_HOURS) => {
            Some(Danger::StoredWort)
        }
        Kind::Package(package)
            if package.with.iter().any(|p| Addition::read(&p.what.text) == Addition::Wort) =>
        {
            Some(Danger::StoredWort)
        }
        _ => None,
    }
}

fn is_wort(add: &Add) -> bool {
    Addition::read(&add.what.text) == Addition::Wort
        && additions::measured(add.amount.kind, Volume::default()).is_some()
}

fn is_cleaner(what: &str) -> bool {
    const WORDS: &[&str] = &["acid", "caustic", "lye", "bleach", "hypochlorite", "peracetic"];
    what.split([' ', '-']).any(|word| WORDS.iter().any(|w| word.eq_ignore_ascii_case(w)))
}

/// `wort V of BREW` in what is pitched a day or more after that brew.
fn kept_wort(context: &Context<'_>, home: &Shelved<'_>, pitched: Moment) -> Option<Place> {
    home.block.statements.iter().find_map(|statement| {
        let Kind::WortOf(of) = &statement.kind else { return None };
        let parent = context.names.lot(&of.brew.text)?;
        let begun = context.events(parent).map(|(at, ..)| at).next()?;
        (pitched.hours_since(begun) >= STORED_HOURS).then(|| home.place(statement.span))
    })
}
