use barm_quantity::Share;
use barm_zymology::count::{self, Count, Square};

use crate::check::{Check, Checks, ROUNDING};
use crate::reference;

/// The squares of `tests/reference/zymology.py`.
const SQUARES: [&[u64]; 3] =
    [&[35, 41, 37, 47, 43, 45, 70, 46, 40, 29], &[12, 11, 14, 10, 13], &[4, 9, 2, 30, 5, 8]];

fn singly(i: usize) -> Count {
    Count::singly(SQUARES.get(i).map(|squares| squares.to_vec()).unwrap_or_default(), 0, 1.0)
}

/// One end of the range for a count of so many cells, in cells.
fn poisson(seen: f64, high: bool) -> f64 {
    // 25 medium squares are 100 nL: 10⁴ cells/mL for each cell seen.
    let (low_end, high_end) = Count::total(seen as u64, 0, 25, 1.0).density_range();
    if high { high_end } else { low_end }.as_millions() * 100.0
}

pub(crate) fn checks() -> Vec<Check> {
    let corner = Count { square: Square::Corner, ..singly(0) };
    let density = Checks::of("cells by a count", "M/mL")
        .from("MBAA community, ten squares of 6.25 nL, undiluted")
        .check("433 cells", 6.93, corner.density("").median() / 1e6, 0.01)
        .from("geometry: five of 25 squares × 50 000")
        .check("100 cells, 1:10", 50.0, Count::total(90, 10, 5, 10.0).density("").median() / 1e6, ROUNDING);
    const TABLE: [(f64, f64, f64); 6] = [
        (25.0, 16.18, 36.90),
        (50.0, 37.11, 65.92),
        (100.0, 81.36, 121.63),
        (200.0, 173.24, 229.72),
        (400.0, 361.76, 441.19),
        (1000.0, 938.97, 1063.95),
    ];
    let range = Checks::of("exact range of a count", "cells")
        .from("Poisson table, 95 % (scipy, and any statistics text)")
        .rows(TABLE, |checks, (n, low, high)| {
            checks.check(format!("{n}, low"), low, poisson(n, false), 0.006).check(
                format!("{n}, high"),
                high,
                poisson(n, true),
                0.006,
            )
        })
        .from("reference library scipy 1.17.1 (chi2.ppf)")
        .rows(reference::rows("poisson range"), |checks, ([n, _, end], expected)| {
            let end_ = if end > 0.5 { "high" } else { "low" };
            checks.check(format!("{n}, {end_}"), expected, poisson(n, end > 0.5), 1e-4)
        });
    [density.done(), range.done(), clumps(), viability(), needed()].concat()
}

fn clumps() -> Vec<Check> {
    let figure = |i: usize, which: f64| {
        let count = singly(i);
        let (index, chance) = count.dispersion().unwrap_or((f64::NAN, f64::NAN));
        match which as u8 {
            0 => index,
            1 => chance,
            _ => count.scatter_half_width().unwrap_or(f64::NAN),
        }
    };
    let index = Checks::of("clumps in a count", "")
        .from("reference library scipy 1.17.1 (chi2.sf, t.interval)")
        .rows(reference::rows("clumps"), |checks, ([i, which, _], expected)| {
            let name = ["index of dispersion", "its chance", "half-width"].get(which as usize).unwrap_or(&"");
            checks.check(format!("squares {i}, {name}"), expected, figure(i as usize, which), ROUNDING)
        });
    index.done()
}

fn viability() -> Vec<Check> {
    let range = |live: f64, seen: f64, high: bool| {
        let (low_end, high_end) = Count::total(live as u64, (seen - live) as u64, 5, 1.0).viability_range();
        if high { high_end } else { low_end }.as_fraction()
    };
    Checks::of("range of a live share", "")
        .from("Newcombe 1998, Wilson's interval (from memory)")
        .check("81 of 263, low", 0.2553, range(81.0, 263.0, false), 0.0001)
        .check("81 of 263, high", 0.3662, range(81.0, 263.0, true), 0.0001)
        .from("reference library statsmodels 0.15.0 (proportion_confint)")
        .rows(reference::rows("wilson range"), |checks, ([live, seen, end], expected)| {
            let end_ = if end > 0.5 { "high" } else { "low" };
            checks.check(
                format!("{live} of {seen}, {end_}"),
                expected,
                range(live, seen, end > 0.5),
                ROUNDING,
            )
        })
        .done()
}

fn needed() -> Vec<Check> {
    let cells = Checks::of("cells to count", "").from("Poisson: (1.96/error)²").rows(
        [(0.05, 1537.0), (0.10, 385.0), (0.15, 171.0), (0.20, 97.0)],
        |checks, (error, expected)| {
            checks.check(
                format!("±{:.0} %", 100.0 * error),
                expected,
                count::cells_for(error) as f64,
                ROUNDING,
            )
        },
    );
    let graded = Checks::of("cells to grade for a live share", "")
        .from("binomial: 1.96²·p·(1 − p)/error²")
        .rows([(95.0, 2.0, 457.0), (90.0, 3.0, 385.0), (90.0, 5.0, 139.0)], |checks, (p, d, expected)| {
            let got = count::cells_for_viability(Share::percent(p), Share::percent(d));
            checks.check(format!("{p} % ± {d}"), expected, got as f64, ROUNDING)
        });
    [cells.done(), graded.done()].concat()
}
