//! One check: a model's answer beside what a source says.

use std::fmt;

/// A figure of the crate held against a source.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Check {
    pub(crate) model: &'static str,
    pub(crate) unit: &'static str,
    pub(crate) source: &'static str,
    what: String,
    expected: f64,
    got: f64,
    pub(crate) tolerance: f64,
}

impl Check {
    pub(crate) fn residual(&self) -> f64 {
        self.got - self.expected
    }

    /// An error in words where the answer is further off than the tolerance.
    pub(crate) fn outcome(&self) -> Result<(), String> {
        // NaN is never within.
        if self.residual().abs() <= self.tolerance {
            Ok(())
        } else {
            Err(format!("off by {} {}, more than {}", self.residual(), self.unit, self.tolerance))
        }
    }
}

/// A tolerance for what should agree but for rounding.
pub(crate) const ROUNDING: f64 = 1e-6;

/// A figure at the precision at which the tolerance can be seen.
pub(crate) fn shown(value: f64, tolerance: f64) -> String {
    if tolerance <= ROUNDING {
        return barm_quantity::plain(value, 6);
    }
    let digits = (1.0 - tolerance.log10().floor()).clamp(0.0, 9.0) as usize;
    let text = format!("{value:.digits$}");
    let zero = text.bytes().all(|b| matches!(b, b'-' | b'0' | b'.'));
    if zero { text.trim_start_matches('-').to_owned() } else { text }
}

/// A tolerance in words.
pub(crate) fn allowed(tolerance: f64, unit: &str) -> String {
    if tolerance <= ROUNDING {
        "rounding".to_owned()
    } else {
        with_unit(&barm_quantity::plain(tolerance, 6), unit)
    }
}

pub(crate) fn with_unit(number: &str, unit: &str) -> String {
    format!("{number} {unit}").trim_end().to_owned()
}

impl fmt::Display for Check {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { model, unit, source, what, tolerance, .. } = self;
        let (got, expected) = (shown(self.got, *tolerance), shown(self.expected, *tolerance));
        write!(f, "{model}, {what}: {got} for {expected} ± {} [{source}]", allowed(*tolerance, unit))
    }
}

/// Gathers the checks of one model.
pub(crate) struct Checks {
    model: &'static str,
    unit: &'static str,
    source: &'static str,
    all: Vec<Check>,
}

impl Checks {
    pub(crate) fn of(model: &'static str, unit: &'static str) -> Self {
        Self { model, unit, source: "", all: Vec::new() }
    }

    /// Where the checks that follow come from.
    pub(crate) fn from(mut self, source: &'static str) -> Self {
        self.source = source;
        self
    }

    pub(crate) fn check(mut self, what: impl Into<String>, expected: f64, got: f64, tolerance: f64) -> Self {
        let Self { model, unit, source, .. } = self;
        self.all.push(Check { model, unit, source, what: what.into(), expected, got, tolerance });
        self
    }

    /// One check for each row.
    pub(crate) fn rows<T>(
        self,
        rows: impl IntoIterator<Item = T>,
        check: impl FnMut(Self, T) -> Self,
    ) -> Self {
        rows.into_iter().fold(self, check)
    }

    pub(crate) fn done(self) -> Vec<Check> {
        self.all
    }
}
