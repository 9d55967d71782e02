//! pH as read: kept and shown. What it tells of yeast in a jar is for a rule to say.

use barm_syntax::ast::{Kind, Measured, Statement};

use crate::{Figure, LotId, Moment, Place};

/// A pH as read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Acidity {
    /// The lot that it was read in.
    pub lot: LotId,
    /// When.
    pub at: Moment,
    /// The pH.
    pub ph: f64,
    /// Give or take, where the line says.
    pub error: f64,
    /// The statement, or the `readings` line of the logger's file.
    pub place: Place,
}

impl Acidity {
    /// Of a `ph` line.
    pub(crate) fn of(lot: LotId, statement: &Statement, at: Moment, place: Place) -> Option<Self> {
        let Kind::Reading(reading) = &statement.kind else { return None };
        let measure = reading.measure();
        let (ph, error) = (measure.base(), measure.error_base());
        (reading.what == Measured::Acidity).then_some(Self { lot, at, ph, error, place })
    }
}

/// The figure of it that outputs list: the last, and what it was at first.
pub(crate) fn figures(read: &[Acidity], out: &mut Vec<Figure>) {
    let (Some(first), Some(last)) = (read.first(), read.last()) else { return };
    let mut from = format!("as read on {}", last.at.date());
    if read.len() > 1 {
        from.push_str(&format!("; {:.1} on {}", first.ph, first.at.date()));
    }
    if last.error <= 0.0 {
        from.push_str(", taken as exact");
    }
    out.push(Figure::plain("acidity", last.ph, last.error, "pH", from).at(last.place));
}
