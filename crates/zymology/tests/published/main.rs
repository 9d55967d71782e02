//! The published checks of every model, each a test of its own under its name and source.
//!
//! One list of checks serves three ends: the tests, the table that `cargo test` prints, and the table in `SCIENCE.md`,
//! which fails when it is stale and is written anew under `BARM_UPDATE=1`.

#![expect(
    clippy::print_stdout,
    clippy::disallowed_methods,
    reason = "a test harness talks and reads its own crate's files"
)]

mod alcohol;
mod carbonation;
mod check;
mod count;
mod density;
mod flavour;
mod gravity;
mod heat;
mod oxygen;
mod pitching;
mod reference;
mod refractometer;
mod starter;
mod storage;
mod supply;
mod table;

use check::Check;
use libtest_mimic::{Arguments, Failed, Trial};

fn all() -> Vec<Check> {
    [
        gravity::checks(),
        density::checks(),
        refractometer::checks(),
        alcohol::checks(),
        oxygen::checks(),
        heat::checks(),
        carbonation::checks(),
        pitching::checks(),
        supply::checks(),
        storage::checks(),
        starter::checks(),
        count::checks(),
        flavour::checks(),
    ]
    .concat()
}

fn main() {
    let arguments = Arguments::from_args();
    let checks = all();
    let mut trials: Vec<Trial> = checks
        .iter()
        .map(|check| {
            let outcome = check.outcome();
            Trial::test(check.to_string(), move || outcome.map_err(Failed::from))
        })
        .collect();
    let table = table::markdown(&checks);
    let shown = table.clone();
    trials.push(Trial::test("the table in SCIENCE.md is up to date", move || table::agrees(&table)));
    let conclusion = libtest_mimic::run(&arguments, trials);
    if !arguments.list && !arguments.quiet {
        println!("{shown}");
    }
    conclusion.exit();
}
