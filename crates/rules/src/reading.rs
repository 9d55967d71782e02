//! What the reader could not read, handed on as findings.

use barm_reckoning::{FileId, Place, Season};
use barm_syntax::{Fix as ReadFix, ProblemKind};

use crate::{Finding, Fix, Level, Report};

/// Declares a rule that hands on every problem of a kind.
macro_rules! reads {
    ($(#[$doc:meta])* $type:ident, $name:literal, $level:ident, $page:literal, $kind:ident, $sound:literal) => {
        crate::registry::rule! {
            $(#[$doc])*
            $type, $name, $level, $page, |season: &barm_reckoning::Season, report: &mut crate::Report| {
                crate::reading::tell(
                    $name,
                    crate::Level::$level,
                    barm_syntax::ProblemKind::$kind,
                    season,
                    report,
                );
            },
            Anything $sound
        }
    };
}
pub(crate) use reads;

/// Tells every problem of a kind.
pub(crate) fn tell(
    rule: &'static str,
    level: Level,
    kind: ProblemKind,
    season: &Season,
    report: &mut Report,
) {
    for (index, source) in season.sources.iter().enumerate() {
        let file = FileId(u32::try_from(index).unwrap_or(u32::MAX));
        for problem in source.log.problems.iter().filter(|p| p.kind == kind) {
            let place = Place { file, span: problem.span };
            let mut finding = Finding::new(rule, level, place, problem.message.clone());
            if let Some(help) = &problem.help {
                finding = finding.noting(help.clone());
            }
            for fix in &problem.fixes {
                finding = finding.mending(handed_on(fix, file));
            }
            report.found(finding);
        }
    }
}

fn handed_on(fix: &ReadFix, file: FileId) -> Fix {
    Fix { title: fix.title.clone(), file, edits: fix.edits.clone(), safe: fix.safe }
}
