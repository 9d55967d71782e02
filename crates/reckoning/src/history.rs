//! What a culture went through before it was pitched: where it was kept, what it came from, how long its line has run.

use std::sync::Arc;

use barm_quantity::{Share, Temperature};

use crate::{Fact, LotId, Moment, Place};

/// What a culture went through before it was pitched.
#[derive(Debug, Clone, Default)]
pub struct History {
    /// How long slurry was kept warm; `None` for what is no slurry, and where no date is known.
    pub warm: Option<Box<Warm>>,
    /// How slurry or a pack was frozen since it was made, or last counted.
    pub frozen: Option<Frozen>,
    /// The brew that it was harvested from, or whose cake it is.
    pub donor: Option<Donor>,
    /// When its line was first pitched out of the lab's own pack, vial or slant; `None` where that is not on record.
    pub line: Option<Moment>,
}

/// How long something was kept above 10 °C since its harvest, or since it was last counted.
#[derive(Debug, Clone, Copy)]
pub struct Warm {
    /// Hours.
    pub hours: f64,
    /// Days in a refrigerator of 4 °C that would have aged it as much.
    pub as_cold_days: f64,
    /// The warmest that it was kept at.
    pub warmest: Temperature,
    /// Where that is written.
    pub place: Option<Place>,
}

/// Yeast that lay in ice, and is not of a bank.
#[derive(Debug, Clone, Copy)]
pub struct Frozen {
    /// At its coldest.
    pub temperature: Temperature,
    /// Where that is written, unless it is a fact of its block.
    pub place: Option<Place>,
}

/// Why nobody knows how much lives in yeast.
#[derive(Debug, Clone)]
pub struct Unknown {
    /// The lot of which it is not known, where that is one that it was grown or taken from: the first of them.
    pub of: Option<Arc<str>>,
    /// For want of what: "it was frozen".
    pub why: &'static str,
    /// What would tell.
    pub lacks: Fact,
    /// It may all be dead: what is grown from it may be nothing.
    pub was_frozen: bool,
}

impl Unknown {
    /// The same of what is grown or taken from a lot, and may be counted itself.
    pub(crate) fn from(&self, lot: &Arc<str>, lacks: Fact) -> Self {
        Self { of: Some(Arc::clone(self.of.as_ref().unwrap_or(lot))), lacks, ..*self }
    }
}

impl std::fmt::Display for Unknown {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match &self.of {
            Some(lot) => write!(f, "it comes from `{lot}`: {}", self.why),
            None => f.write_str(self.why),
        }
    }
}

/// The brew that yeast was taken from, as it was then.
#[derive(Debug, Clone, Copy)]
pub struct Donor {
    /// The brew.
    pub lot: LotId,
    /// Alcohol by volume, by its last gravity; ± 0.2 %.
    pub alcohol: Option<Share>,
}

/// One `harvest` out of a brew.
#[derive(Debug, Clone, Copy)]
pub struct Harvested {
    /// The statement.
    pub place: Place,
    /// When.
    pub at: Moment,
    /// The lot that it declares.
    pub lot: LotId,
    /// What it came from.
    pub donor: Donor,
}
