//! Lines as people type them, and what barm answers, drawn: the line, the place, the message, the help, the fixes.

#![allow(
    clippy::disallowed_methods,
    clippy::unwrap_used,
    reason = "a test reads its data and may fail by panicking"
)]

use std::fmt::Write;

use barm_syntax::{Encoding, LineIndex, read};

/// Each line that has problems, with what is said of it below.
fn drawn(text: &str) -> String {
    let log = read(text);
    let index = LineIndex::new(text);
    let mut picture = String::new();
    let mut last = None;
    for problem in &log.problems {
        let position = index.position(text, problem.span.start, Encoding::Chars);
        if last != Some(position.line) {
            let line = index.line(text, position.line).unwrap().text(text);
            writeln!(picture, "{}{}", if last.is_some() { "\n" } else { "" }, line.replace('\u{200b}', "␣"))
                .unwrap();
            last = Some(position.line);
        }
        let width = problem.span.text(text).lines().next().unwrap_or("").chars().count().max(1);
        let (indent, carets) = (" ".repeat(position.column as usize), "^".repeat(width));
        writeln!(picture, "{indent}{carets} {}", problem.message).unwrap();
        if let Some(help) = &problem.help {
            writeln!(picture, "{indent}  {help}").unwrap();
        }
        for fix in &problem.fixes {
            writeln!(picture, "{indent}  {} {}", if fix.safe { "=>" } else { "->" }, fix.title).unwrap();
        }
    }
    picture
}

/// Whatever is offered for a line that brewers write gives one that reads.
#[test]
fn every_fix_of_packaging_reads() {
    let data = include_str!("../../../tests/data/typed/packaging.barm");
    let mut fixes = 0;
    for line in data.lines().skip(2) {
        let text = format!("brew slack-3\n  on 2026-09-12\n{line}\n");
        for fix in read(&text).problems.iter().flat_map(|problem| &problem.fixes) {
            let mut mended = text.clone();
            let mut edits = fix.edits.clone();
            edits.sort_by_key(|edit| std::cmp::Reverse(edit.span.start));
            for edit in edits {
                mended.replace_range(edit.span.start as usize..edit.span.end as usize, &edit.text);
            }
            let problems = read(&mended).problems;
            assert!(problems.is_empty(), "{line}\n{}: {mended}{problems:?}", fix.title);
            fixes += 1;
        }
    }
    assert!(fixes > 10);
}

/// Of what a line is told, each fix mends something and breaks nothing.
#[test]
fn every_fix_of_yeast_and_of_a_hurried_line_mends() {
    let texts = [
        include_str!("../../../tests/data/typed/yeast.barm"),
        include_str!("../../../tests/data/typed/hurried.barm"),
        include_str!("../../../tests/data/typed/spoken.barm"),
    ];
    for text in texts {
        let log = read(text);
        let mut fixes = 0;
        for fix in log.problems.iter().flat_map(|problem| &problem.fixes) {
            let mut mended = text.to_owned();
            let mut edits = fix.edits.clone();
            edits.sort_by_key(|edit| std::cmp::Reverse(edit.span.start));
            for edit in edits {
                mended.replace_range(edit.span.start as usize..edit.span.end as usize, &edit.text);
            }
            let problems = read(&mended).problems;
            assert!(problems.len() < log.problems.len(), "{}: {problems:?}", fix.title);
            fixes += 1;
        }
        assert!(fixes > 20, "{fixes}");
    }
}

#[test]
fn pictures() {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/data/typed");
    let mut paths: Vec<_> = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    paths.retain(|path| path.extension().is_some_and(|extension| extension == "barm"));
    paths.sort();
    assert!(paths.len() >= 6);
    for path in paths {
        let name = path.file_stem().unwrap().to_str().unwrap().to_owned();
        let text = std::fs::read_to_string(&path).unwrap();
        insta::with_settings!({ omit_expression => true, prepend_module_to_snapshot => false, snapshot_path => concat!(env!("CARGO_MANIFEST_DIR"), "/tests/pictures") }, {
            insta::assert_snapshot!(name, drawn(&text));
        });
    }
}
