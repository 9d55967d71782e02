//! Counts under the microscope, kept with their place: how far each can be trusted is for a rule to say.

use std::sync::Arc;

use barm_quantity::{Estimate, FactorName};
use barm_syntax::ast::{Count, Counted};
use barm_zymology::count;

use crate::lot::Supply;
use crate::{LotId, Moment, Place};

/// One `count`.
#[derive(Debug, Clone)]
pub struct Counting {
    /// The statement.
    pub place: Place,
    /// When.
    pub at: Moment,
    /// The lot counted.
    pub lot: LotId,
    /// Its name.
    pub name: Arc<str>,
    /// What was seen; `None` where only a density was written down.
    pub seen: Option<count::Count>,
    /// Whether a dilution was written; a density needs none.
    pub diluted: bool,
    /// Whether it was of slurry, which is far too thick to be counted as it is.
    pub slurry: bool,
    /// All cells per millilitre.
    pub density: Estimate,
    /// The part of them that lives; `None` where only a density was written down.
    pub viability: Option<Estimate>,
}

impl Counting {
    pub(crate) fn of(
        lot: LotId,
        name: &Arc<str>,
        counted: &Count,
        at: Moment,
        place: Place,
        supply: Option<&Supply>,
    ) -> Self {
        let (seen, diluted) = match &counted.what {
            Counted::Density(_) => (None, true),
            Counted::Squares { live, singly, squares, dead, dilution, diluted } => {
                let live = live.iter().map(|cells| u64::from(*cells));
                let dead = u64::from(*dead);
                let seen = if *singly {
                    count::Count::singly(live.collect(), dead, *dilution)
                } else {
                    count::Count::total(live.sum(), dead, *squares, *dilution)
                };
                (Some(seen), *diluted)
            }
        };
        let density = match &counted.what {
            Counted::Density(q) => q.measure.estimate(FactorName::new("count", Arc::clone(name))),
            Counted::Squares { .. } => seen.as_ref().map_or(Estimate::exact(0.0), |seen| seen.density(name)),
        };
        Self {
            place,
            at,
            lot,
            name: Arc::clone(name),
            viability: seen.as_ref().map(|seen| seen.viability(name)),
            seen,
            diluted,
            slurry: supply.is_some_and(Supply::is_slurry),
            density,
        }
    }
}
