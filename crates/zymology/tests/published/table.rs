//! The table of checks in `SCIENCE.md`.

use std::fmt::Write;

use libtest_mimic::Failed;

use crate::check::{Check, allowed, shown, with_unit};

const PAGE: &str = include_str!("../../SCIENCE.md");
const PATH: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/SCIENCE.md");
const BEGIN: &str = "<!-- checks -->\n";
const END: &str = "<!-- end of checks -->\n";

/// One row for each model and source, in the order of the checks.
pub(crate) fn markdown(checks: &[Check]) -> String {
    let mut groups: Vec<Vec<&Check>> = Vec::new();
    for check in checks {
        let same = |group: &&mut Vec<&Check>| {
            group.first().is_some_and(|first| first.model == check.model && first.source == check.source)
        };
        match groups.iter_mut().find(same) {
            Some(group) => group.push(check),
            None => groups.push(vec![check]),
        }
    }
    let mut out = String::from(
        "| model | source | checks | worst residual | allowed |\n| --- | --- | ---: | ---: | ---: |\n",
    );
    for group in groups {
        let share = |check: &Check| check.residual().abs() / check.tolerance;
        let Some(worst) = group.iter().max_by(|a, b| share(a).total_cmp(&share(b))) else { continue };
        let Check { model, source, unit, tolerance, .. } = worst;
        let residual = with_unit(&shown(worst.residual(), *tolerance), unit);
        let (count, allowed) = (group.len(), allowed(*tolerance, unit));
        let _ = writeln!(out, "| {model} | {source} | {count} | {residual} | {allowed} |");
    }
    out
}

/// Whether the page holds this table; under `BARM_UPDATE=1` it is written.
pub(crate) fn agrees(table: &str) -> Result<(), Failed> {
    let parts = PAGE.split_once(BEGIN).and_then(|(before, rest)| Some((before, rest.split_once(END)?)));
    let (before, (held, after)) = parts.ok_or("SCIENCE.md lacks the marks of its table")?;
    if held == table {
        return Ok(());
    }
    if std::env::var_os("BARM_UPDATE").is_some() {
        std::fs::write(PATH, format!("{before}{BEGIN}{table}{END}{after}"))?;
        return Ok(());
    }
    Err("the table in SCIENCE.md is stale: run BARM_UPDATE=1 cargo test -p barm-zymology --test published"
        .into())
}
