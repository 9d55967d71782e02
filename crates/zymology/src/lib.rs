//! The science of fermentation as pure functions, each with its source.
//!
//! Every function takes and returns the quantities of [`barm_quantity`], so that a unit is never in doubt, and says
//! where its numbers come from and how well they are founded:
//!
//! * **published**: a formula or table in a standard, a journal or a book;
//! * **common practice**: a fact of the trade without a single source;
//! * **derived**: worked out from published figures, or a judgement, and said so;
//! * **from memory**: a published figure whose text was not at hand.
//!
//! What is uncertain comes back as an [`Estimate`](barm_quantity::Estimate) with named factors, because almost every
//! number about yeast is good to a factor of 1.3 to 2 at best. What cannot be answered comes back as an [`OutOfRange`]
//! or as nothing; no function panics, and none gives NaN or infinity for a finite input.
//!
//! | question | module |
//! | --- | --- |
//! | gravity, degrees Plato, hydrometer temperature | [`gravity`] |
//! | densities of water, sucrose and spirit | [`density`] |
//! | refractometer, with and without alcohol | [`refractometer`] |
//! | alcohol, attenuation, real extract | [`alcohol`] |
//! | dissolved oxygen, and what a method of aeration brings | [`oxygen`] |
//! | heat of fermentation, temperature of the beer | [`heat`] |
//! | cells wanted | [`pitching`] |
//! | cells at hand in a pack, sachet or jar | [`supply`] |
//! | what is left of them in storage | [`storage`] |
//! | starters | [`starter`] |
//! | the whole cake under a beer | [`cake`] |
//! | counting under the microscope | [`count`] |
//! | carbon dioxide, bottles, priming | [`carbonation`] |
//! | bitterness of a small boil | [`bitterness`] |
//! | flavour compounds | [`flavour`] |
//! | several strains in one beer | [`blend`] |
//!
//! The published checks of every model run with `cargo test -p barm-zymology`, each under its name and source;
//! `SCIENCE.md` beside this crate tells the same without code.

pub mod alcohol;
pub mod bitterness;
pub mod blend;
pub mod cake;
pub mod carbonation;
pub mod count;
pub mod density;
mod error;
pub mod flavour;
pub mod gravity;
pub mod heat;
pub mod oxygen;
pub mod pitching;
pub mod refractometer;
pub mod starter;
pub mod storage;
pub mod supply;

pub use error::OutOfRange;

/// A polynomial with its coefficients in rising order.
fn polynomial(coefficients: &[f64], x: f64) -> f64 {
    coefficients.iter().rev().fold(0.0, |sum, c| sum * x + c)
}

/// The argument between `low` and `high` at which a rising function reaches `target`, by bisection.
fn solve(low: f64, high: f64, target: f64, function: impl Fn(f64) -> f64) -> f64 {
    let (mut low, mut high) = (low, high);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if function(middle) < target {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}

/// The value at `x` on the straight lines between points in rising order of `x`; beyond them that of the nearer end.
fn between(points: &[(f64, f64)], x: f64) -> f64 {
    let after = points.partition_point(|(at, _)| *at <= x);
    match (after.checked_sub(1).and_then(|i| points.get(i)), points.get(after)) {
        (Some((x0, y0)), Some((x1, y1))) => y0 + (y1 - y0) * (x - x0) / (x1 - x0),
        (Some((_, end)), None) | (None, Some((_, end))) => *end,
        (None, None) => 0.0,
    }
}
