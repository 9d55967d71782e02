//! `barm fix`

use std::collections::BTreeMap;
use std::process::ExitCode;

use barm_reckoning::FileId;
use barm_rules::{Finding, Fix, Options, QUESTION};

use crate::args;
use crate::failure::Failure;
use crate::timings::Timings;
use crate::workspace::{self, Workspace};
use crate::write::{self, How, Rewrite};

/// One fix can make room for another, but two that undo each other must not go on for ever.
const ROUNDS: usize = 10;

/// Applies fixes and checks again, until nothing changes.
pub(crate) fn run(args: &args::Fix) -> Result<ExitCode, Failure> {
    let mut rewrites = Vec::new();
    for mut workspace in workspace::load(&args.input, &mut Timings::new())? {
        let files: Vec<FileId> = workspace.writable().collect();
        let before: Vec<String> = files.iter().map(|&file| workspace.text(file).to_owned()).collect();
        for _ in 0..ROUNDS {
            let texts = mended(&workspace, args.r#unsafe);
            if texts.is_empty() {
                break;
            }
            workspace = workspace.with_texts(texts);
        }
        for (file, before) in files.into_iter().zip(before) {
            let after = workspace.text(file).to_owned();
            rewrites.push(Rewrite {
                shown: workspace.shown(file),
                target: workspace.target(file),
                before,
                after,
            });
        }
    }
    write::all(&rewrites, if args.diff { How::Diff } else { How::Write }, "mended")
}

/// The texts of the files that a round of fixes changes: what is mended may change the answers, which wait for it.
fn mended(workspace: &Workspace, unsafe_too: bool) -> BTreeMap<FileId, String> {
    let report = workspace.check(&Options::default());
    let fixes = |answers: bool| {
        let findings = report.findings.iter().filter(move |finding| (finding.rule == QUESTION) == answers);
        findings.filter_map(|finding| choice(finding, unsafe_too))
    };
    let mended = changed(workspace, fixes(false));
    if mended.is_empty() { changed(workspace, fixes(true)) } else { mended }
}

/// The texts of the files that fixes change.
fn changed<'f>(workspace: &Workspace, all: impl Iterator<Item = &'f Fix>) -> BTreeMap<FileId, String> {
    let mut fixes: BTreeMap<FileId, Vec<&Fix>> =
        workspace.writable().map(|file| (file, Vec::new())).collect();
    for fix in all {
        if let Some(fixes) = fixes.get_mut(&fix.file) {
            fixes.push(fix);
        }
    }
    let changed = fixes.into_iter().filter_map(|(file, fixes)| {
        let text = workspace.text(file);
        let new = apply(text, &fixes);
        (new != text).then_some((file, new))
    });
    changed.collect()
}

/// The fix of a finding that may be made: the best safe one; else the only one, where a look was promised.
fn choice(finding: &Finding, unsafe_too: bool) -> Option<&Fix> {
    let safe = finding.fixes.iter().find(|fix| fix.safe);
    match finding.fixes.as_slice() {
        [only] if unsafe_too => Some(only),
        _ => safe,
    }
}

/// The text with the fixes made, each whole or not at all; one that touches what another changes waits for the next round.
fn apply(text: &str, fixes: &[&Fix]) -> String {
    let line_end =
        if text.split_once('\n').is_some_and(|(line, _)| line.ends_with('\r')) { "\r\n" } else { "\n" };
    let mut taken: Vec<(usize, usize, &str)> = Vec::new();
    for fix in fixes {
        let edits = fix.edits.iter().map(|edit| (edit.span.range(), edit.text.as_str()));
        let fits = edits.clone().all(|(range, _)| text.get(range).is_some());
        let apart = |(range, _): (std::ops::Range<usize>, &str)| {
            taken.iter().all(|&(start, end, _)| range.end < start || end < range.start)
        };
        if fits && edits.clone().all(apart) {
            taken.extend(edits.map(|(range, text)| (range.start, range.end, text)));
        }
    }
    taken.sort_unstable();
    let mut out = String::with_capacity(text.len());
    let mut done = 0;
    for (start, end, new) in taken {
        out.push_str(text.get(done..start).unwrap_or(""));
        out.push_str(&new.replace('\n', line_end));
        done = end;
    }
    out.push_str(text.get(done..).unwrap_or(""));
    out
}

#[cfg(test)]
mod tests {
    use barm_syntax::{Edit, Span};

    use super::*;

    fn fix(edits: &[(u32, u32, &str)]) -> Fix {
        let edits =
            edits.iter().map(|&(start, end, text)| Edit { span: Span::new(start, end), text: text.into() });
        Fix { title: String::new(), file: FileId(0), edits: edits.collect(), safe: true }
    }

    #[test]
    fn fixes_are_made_whole_or_not_at_all() {
        let first = fix(&[(0, 1, "A"), (4, 5, "E")]);
        let overlaps = fix(&[(2, 3, "C"), (4, 6, "X")]);
        let apart = fix(&[(7, 7, "!\n")]);
        assert_eq!(apply("abcdefgh", &[&first, &overlaps, &apart]), "AbcdEfg!\nh");
        assert_eq!(apply("abcdefgh", &[&overlaps, &first]), "abCdXgh");
    }

    #[test]
    fn line_ends_are_kept_as_found() {
        assert_eq!(apply("a\r\nb\r\n", &[&fix(&[(0, 1, "x\ny")])]), "x\r\ny\r\nb\r\n");
    }

    #[test]
    fn an_edit_that_does_not_fit_is_dropped() {
        assert_eq!(apply("é", &[&fix(&[(1, 2, "x")]), &fix(&[(9, 12, "y")])]), "é");
    }
}
