//! The science of fermentation as pure functions, each with its source.
//!
//! Every function takes and returns the quantities of [`barm_quantity`], so that a unit is never in doubt,
//! and says where its numbers come from and how well they are founded:
//!
//! * **published**: a formula or table in a standard, a journal or a book;
//! * **common practice**: a fact of the trade without a single source;
//! * **derived**: worked out from published figures, or a judgement, and said so;
//! * **from memory**: a published figure whose text was not at hand.
//!
//! What is uncertain comes back as an [`Estimate`](barm_quantity::Estimate) with named factors, because
//! almost every number about yeast is good to a factor of 1.3 to 2 at best. What cannot be answered comes
//! back as an [`OutOfRange`] or as nothing; no function panics, and none gives NaN or infinity for a finite
//! input.
//!
//! # Example
//!
//! A pack, two months old, raised in a litre of wort: is it enough for 20 L of 12 °P ale?
//!
//! ```
//! use barm_quantity::{Cells, Estimate, Plato, Span, Temperature, Volume};
//! use barm_zymology::starter::{self, Method};
//! use barm_zymology::{pitching, storage, supply};
//!
//! let loss = storage::pack_loss(storage::PACK_MONTHLY);
//! let kept = storage::exposure(storage::Store::Pack, Temperature::celsius(4.0), Span::days(60.0));
//! let live = supply::pack(Cells::billions(100.0), "pack-1") * storage::left(loss, kept, "pack-1");
//!
//! let (litre, wort, warm) = (Volume::litres(1.0), Plato::degrees(9.0), Temperature::celsius(20.0));
//! let pitched = starter::grown(&live, litre, wort, Method::Stirred, warm, None, "starter-1");
//!
//! let target = pitching::target(pitching::ALE, Plato::degrees(12.0), Volume::litres(20.0));
//! let short = pitched.chance_below(&Estimate::exact(target.as_each()));
//! assert!(0.2 < short && short < 0.5, "{short}");
//! // What would narrow it most is how this starter grew.
//! assert_eq!(pitched.widest().map(|factor| factor.name.to_string()).as_deref(), Some("growth of starter-1"));
//! ```
//!
//! | question | module |
//! | --- | --- |
//! | gravity, degrees Plato, hydrometer temperature | [`gravity`] |
//! | densities of water, sucrose and spirit | [`density`] |
//! | refractometer, with and without alcohol | [`refractometer`] |
//! | alcohol, attenuation, real extract | [`alcohol`] |
//! | dissolved oxygen, and what a method of aeration brings | [`oxygen`] |
//! | heat of fermentation, temperature of the beer | [`heat`] |
//! | how a fermentation usually goes, and when it has ended | [`fermentation`] |
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
//! The published checks of every model run with `cargo test -p barm-zymology`, each under its name and
//! source; `SCIENCE.md` beside this crate tells the same without code.

pub mod alcohol;
pub mod bitterness;
pub mod blend;
pub mod cake;
pub mod carbonation;
pub mod count;
pub mod density;
mod error;
pub mod fermentation;
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

/// The argument between `low` and `high` at which a rising function reaches `target`; the nearer end where it never does.
///
/// By false position in its Illinois form (Dowell & Jarratt 1971), which takes seven steps where bisection takes sixty; a
/// function too crooked for it is bisected in the end.
fn solve(low: f64, high: f64, target: f64, function: impl Fn(f64) -> f64) -> f64 {
    const STRAIGHT: usize = 12;
    const HALVINGS: usize = 52;
    let (mut low, mut high) = (low, high);
    let (mut below, mut above) = (function(low) - target, function(high) - target);
    if below >= 0.0 {
        return low;
    }
    if above < 0.0 {
        return high;
    }
    let narrow = 1e-14 * low.abs().max(high.abs());
    let mut was_below = None;
    for step in 0..STRAIGHT + HALVINGS {
        if high - low <= narrow {
            break;
        }
        let line = high - above * (high - low) / (above - below);
        let at = if step < STRAIGHT && low < line && line < high { line } else { 0.5 * (low + high) };
        let off = function(at) - target;
        if off.abs() <= 1e-15 * target.abs() {
            return at;
        }
        // An end that stays a second time is drawn nearer, so that the other one moves too.
        let again = was_below == Some(off < 0.0);
        if off < 0.0 {
            (low, below) = (at, off);
            above *= if again { 0.5 } else { 1.0 };
        } else {
            (high, above) = (at, off);
            below *= if again { 0.5 } else { 1.0 };
        }
        was_below = Some(off < 0.0);
    }
    0.5 * (low + high)
}

/// The value at `x` on the straight lines between points in rising order of `x`; beyond them that of the
/// nearer end.
fn between(points: &[(f64, f64)], x: f64) -> f64 {
    let after = points.partition_point(|(at, _)| *at <= x);
    match (after.checked_sub(1).and_then(|i| points.get(i)), points.get(after)) {
        (Some((x0, y0)), Some((x1, y1))) => y0 + (y1 - y0) * (x - x0) / (x1 - x0),
        (Some((_, end)), None) | (None, Some((_, end))) => *end,
        (None, None) => 0.0,
    }
}
