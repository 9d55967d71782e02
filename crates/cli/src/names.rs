//! Names given on the command line: known ones, or the nearest.

use barm_rules::Rule;

use crate::failure::Failure;

/// The rule of a name.
pub(crate) fn rule(name: &str) -> Result<&'static dyn Rule, Failure> {
    barm_rules::find(name).ok_or_else(|| {
        let known = barm_rules::rules().iter().map(|rule| rule.name());
        unknown("rule", name, known, "`barm rules` lists them")
    })
}

/// There is no `what` of that name; the nearest, else `hint`, is told.
pub(crate) fn unknown<'a>(
    what: &str,
    name: &str,
    known: impl Iterator<Item = &'a str>,
    hint: &str,
) -> Failure {
    let nearest = known
        .filter(|other| other.len().abs_diff(name.len()) <= 3)
        .map(|other| (strsim::osa_distance(&other.to_lowercase(), &name.to_lowercase()), other))
        .filter(|&(distance, other)| distance <= 1 + other.len() / 5 && distance < other.len())
        .min();
    Failure::said(match nearest {
        Some((_, nearest)) => format!("there is no {what} `{name}`; did you mean `{nearest}`?"),
        None => format!("there is no {what} `{name}`; {hint}"),
    })
}
