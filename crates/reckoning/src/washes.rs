//! Washes with acid, kept with their place: whether one was harsh is for a rule to say.

use barm_quantity::Measure;

use crate::history::Donor;
use crate::{LotId, Moment, Place};

/// A `wash` with acid.
#[derive(Debug, Clone)]
pub struct Washed {
    /// The lot.
    pub lot: LotId,
    /// When.
    pub at: Moment,
    /// The statement.
    pub place: Place,
    /// How acid.
    pub ph: Measure,
    /// For how long, in hours; `None`: nobody says.
    pub time: Option<Measure>,
    /// How warm; `None`: nobody says.
    pub temperature: Option<Measure>,
    /// The beer that the yeast came from.
    pub donor: Option<Donor>,
}
