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
