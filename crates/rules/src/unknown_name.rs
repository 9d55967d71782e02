use barm_reckoning::{Fault, Named, Season};

use crate::registry::rule;
use crate::{Finding, Fix, Level, Report};

const NAME: &str = "unknown-name";

rule! {
    /// A lot that no line declares, and a strain or vessel whose name is nearly that of another.
    UnknownName, "unknown-name", Error, "unknown_name.md", check,
    Anything "every lot named in its lines is declared"
}

fn check(season: &Season, report: &mut Report) {
    for fault in &season.faults {
        if let Fault::Misspelt { of, name, place, near } = fault {
            let (what, other) = if *of == Named::Strain { ("strain", "yeast") } else { ("vessel", "vessel") };
            let message = format!("nothing is told of a {what} `{name}`; did you mean `{near}`?");
            let finding = Finding::new(NAME, Level::Note, *place, message).mending(Fix::replacing(*place, near));
            report.found(finding.noting(format!("what is told of `{near}` holds for no {other} of another name")));
        }
        let Fault::UnknownName { name, place, nearest, strain } = fault else { continue };
        let error = |message: String| Finding::new(NAME, Level::Error, *place, message);
        report.found(match (strain, nearest) {
            (Some(lots), _) if lots.is_empty() => {
                error(format!("`{name}` is a strain, and no jar or pack of it is in the log"))
                    .noting(format!("a lot of it is declared so: `culture NAME of {name}`"))
            }
            (Some(lots), _) => {
                let message = format!("`{name}` is a strain, not a jar of it; there is {}", listed(lots));
                lots.iter().fold(error(message), |finding, lot| finding.mending(Fix::replacing(*place, lot)))
            }
            (None, Some(nearest)) => error(format!("nothing is named `{name}`; did you mean `{nearest}`?"))
                .mending(Fix::replacing(*place, nearest)),
            (None, None) => error(format!("nothing is named `{name}`")).noting(
                "a lot is declared by `culture NAME`, `starter NAME`, `brew NAME`, or `harvest NAME` in a brew",
            ),
        });
    }
}

/// "`a`", "`a` and `b`", "`a`, `b` and `c`".
fn listed(names: &[String]) -> String {
    let quoted: Vec<String> = names.iter().map(|name| format!("`{name}`")).collect();
    match quoted.split_last() {
        Some((last, [])) => last.clone(),
        Some((last, first)) => format!("{} and {last}", first.join(", ")),
        None => String::new(),
    }
}
