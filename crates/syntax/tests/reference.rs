//! The language reference, run: its examples read without problem, and its wrong lines are reported where it says.

#![allow(clippy::unwrap_used, reason = "a test may fail by panicking")]

use barm_syntax::{Encoding, LineIndex, read};

const REFERENCE: &str = include_str!("../../../grammar/README.md");

/// Every fenced example: the words behind its fence, the line it begins on, its text.
fn examples() -> Vec<(String, usize, String)> {
    let mut examples: Vec<(String, usize, String)> = Vec::new();
    let mut open = false;
    for (number, line) in REFERENCE.lines().enumerate() {
        match line.strip_prefix("```") {
            Some(_) if open => open = false,
            Some(info) => {
                open = true;
                examples.push((info.to_owned(), number + 2, String::new()));
            }
            None if open => {
                let (_, _, text) = examples.last_mut().unwrap();
                text.push_str(line);
                text.push('\n');
            }
            None => {}
        }
    }
    assert!(!open, "a fence is left open");
    examples
}

/// What stands above the lines of an example that shows no whole log.
fn lead(info: &str) -> String {
    let mut words = info.split(' ').skip(1);
    let header = words.next().map(|block| format!("{block} example-1\n"));
    let day = words.next().map(|word| {
        assert_eq!(word, "day");
        "on 2026-09-12\n"
    });
    format!("{}{}", header.unwrap_or_default(), day.unwrap_or_default())
}

#[test]
fn examples_read_without_problem() {
    let examples: Vec<_> =
        examples().into_iter().filter(|(info, ..)| info.split(' ').next() == Some("barm")).collect();
    assert!(examples.len() > 10);
    for (info, number, text) in examples {
        let log = read(&format!("{}{text}", lead(&info)));
        assert_eq!(log.problems, [], "the example on line {number}");
        assert!(log.blocks.iter().any(|placed| !placed.block.statements.is_empty()));
    }
}

#[test]
fn wrong_lines_are_reported_where_they_are_marked() {
    let examples: Vec<_> =
        examples().into_iter().filter(|(info, ..)| info.split(' ').next() == Some("barm-wrong")).collect();
    assert!(examples.len() > 3);
    for (info, number, example) in examples {
        let lead = lead(&info);
        let mut text = lead.clone();
        let mut marks = Vec::new();
        let mut line_number = lead.lines().count();
        for line in example.lines() {
            let marked = line.trim_start();
            if marked.starts_with('^') {
                let message = marked.trim_start_matches('^');
                let column = line.chars().count() - marked.chars().count();
                let width = marked.chars().count() - message.chars().count();
                marks.push((line_number - 1, column, width, message.trim().to_owned()));
            } else {
                text.push_str(line);
                text.push('\n');
                line_number += 1;
            }
        }
        let log = read(&text);
        let index = LineIndex::new(&text);
        let mut found = log.problems.iter();
        for (line, column, width, message) in marks {
            let problem =
                found.next().unwrap_or_else(|| panic!("nothing says `{message}`, example on line {number}"));
            let at = index.position(&text, problem.span.start, Encoding::Chars);
            let place = (at.line as usize, at.column as usize, problem.span.text(&text).chars().count());
            assert!(problem.message.starts_with(&message), "{} is not `{message}`", problem.message);
            assert_eq!(place, (line, column, width), "{message}");
        }
        assert_eq!(found.next(), None, "not marked, example on line {number}");
    }
}
