//! What holds for every text.

#![allow(clippy::indexing_slicing, clippy::string_slice, reason = "a test may fail by panicking")]

use barm_syntax::ast::Block;
use barm_syntax::{Problem, cut, read, read_block};
use proptest::prelude::*;

const SEASON: &str = include_str!("../benches/season.barm");

/// Pieces of which logs and near-logs are made.
fn piece() -> impl Strategy<Value = String> {
    let words = [
        "brew",
        "brwe",
        "strain ",
        "culture",
        "on ",
        "2026-09-12",
        "2026-02-31",
        "14:05",
        "~",
        "?",
        "temp",
        "tmep",
        "gravity",
        "pitch",
        "add",
        "harvest",
        "bottle",
        "count",
        "taste",
        "note",
        "wort",
        "kept",
        "readings",
        "at ",
        "of ",
        "for ",
        "18 °C",
        "18",
        "1,048",
        "1.048",
        "20..18",
        "2 × 11 g",
        "1/4",
        "300 mL",
        "5 squares 20 live 3 dead",
        "thick",
        "from bottom",
        "all",
        "tide-a",
        "\"",
        "#",
        "# accept a: b",
        ", ",
        ",",
        " ",
        "  ",
        "\n",
        "\r\n",
        "\r",
        "\t",
        "<<<<<<< x\n",
        "=======\n",
        ">>>>>>> y\n",
        "\u{feff}",
        "\u{a0}",
        "é",
        "×",
        "±",
        "-",
        "x",
        ":",
        "+",
        "%",
        "\u{200b}",
        "“",
        "2 packs",
        "sprinkled",
        "ph 4.2",
        "1:10",
        "…",
    ];
    prop_oneof![
        4 => proptest::sample::select(words.to_vec()).prop_map(|word| format!("{word} ")),
        4 => proptest::sample::select(words.to_vec()).prop_map(str::to_owned),
        1 => any::<char>().prop_map(String::from),
    ]
}

fn text() -> impl Strategy<Value = String> {
    proptest::collection::vec(piece(), 0..60).prop_map(|pieces| pieces.concat())
}

/// Spans lie in the block and on its characters, problems can be shown and their edits made.
fn check_block(text: &str, block: &Block) {
    assert_eq!(block.len as usize, text.len());
    let fits = |span: barm_syntax::Span| text.get(span.range()).is_some();
    assert!(fits(block.header));
    for statement in &block.statements {
        assert!(fits(statement.span) && !statement.span.is_empty());
        assert!(statement.day.is_none_or(|day| day.position() < block.days.len()));
    }
    assert!(block.days.iter().all(|day| fits(day.span) && fits(day.date_span)));
    assert!(block.acceptances.iter().all(|acceptance| fits(acceptance.span)));
    check_problems(text, &block.problems);
}

fn check_problems(text: &str, problems: &[Problem]) {
    assert!(problems.len() <= 100);
    assert!(problems.is_sorted_by_key(|problem| problem.span));
    for problem in problems {
        assert!(text.get(problem.span.range()).is_some(), "{problem:?}");
        assert!(!problem.message.is_empty());
        for fix in &problem.fixes {
            assert!(!fix.edits.is_empty() && !fix.title.is_empty());
            let mut last = 0;
            for edit in &fix.edits {
                assert!(text.get(edit.span.range()).is_some() && edit.span.start >= last, "{fix:?}");
                last = edit.span.end;
            }
        }
    }
}

/// A file read whole, and block by block.
fn check(text: &str) {
    let whole = read(text);
    let cuts = cut(text);
    assert_eq!(cuts.iter().map(|range| range.len()).sum::<usize>(), text.len());
    assert_eq!(whole.blocks.len(), cuts.len());
    let (mut problems, mut left_out) = (Vec::new(), 0);
    for (placed, range) in whole.blocks.iter().zip(&cuts) {
        assert_eq!(placed.start as usize, range.start);
        let alone = read_block(&text[range.clone()], range.start == 0);
        check_block(&text[range.clone()], &alone);
        left_out += alone.problems_left_out as usize;
        problems.extend(alone.problems.clone());
        let mut alone = alone;
        alone.problems.clone_from(&placed.block.problems);
        alone.problems_left_out = placed.block.problems_left_out;
        assert_eq!(&alone, placed.block.as_ref());
    }
    check_problems(text, &whole.problems);
    let messages = |problems: &[Problem]| problems.iter().map(|p| p.message.clone()).collect::<Vec<_>>();
    let kept = problems.len().min(100);
    assert_eq!(messages(&whole.problems), messages(&problems[..kept]));
    assert_eq!(whole.problems.len() + whole.problems_left_out as usize, problems.len() + left_out);
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 300,
        failure_persistence: None,
        // The same texts every time: what fails here fails everywhere.
        rng_seed: proptest::test_runner::RngSeed::Fixed(20_261_125),
        ..ProptestConfig::default()
    })]

    #[test]
    fn near_logs(text in text()) {
        check(&text);
    }

    #[test]
    fn bytes(bytes in proptest::collection::vec(any::<u8>(), 0..300)) {
        check(&String::from_utf8_lossy(&bytes));
    }

    #[test]
    fn a_log_with_something_put_in(at in 0..SEASON.len(), piece in piece()) {
        let at = (0..=at).rev().find(|at| SEASON.is_char_boundary(*at)).unwrap_or(0);
        check(&format!("{}{piece}{}", &SEASON[..at], &SEASON[at..]));
    }
}

#[test]
fn a_log_with_any_one_character_missing() {
    for (at, c) in SEASON.char_indices() {
        check(&format!("{}{}", &SEASON[..at], &SEASON[at + c.len_utf8()..]));
    }
}

/// Every fix of a near-log leaves a text that can be read, and a safe one a text with fewer problems.
#[test]
fn fixes_mend_what_they_say() {
    let typed = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/data/typed");
    for name in ["headers.barm", "values.barm", "days.barm", "items.barm"] {
        #[allow(clippy::disallowed_methods, reason = "a test reads its data")]
        let text = std::fs::read_to_string(typed.join(name)).unwrap();
        let before = read(&text);
        let count = |log: &barm_syntax::ast::Log| log.problems.len() + log.problems_left_out as usize;
        for problem in &before.problems {
            for fix in &problem.fixes {
                let mut mended = text.clone();
                for edit in fix.edits.iter().rev() {
                    mended.replace_range(edit.span.range(), &edit.text);
                }
                let after = count(&read(&mended));
                let most = if fix.safe { count(&before) - 1 } else { count(&before) };
                assert!(
                    after <= most,
                    "{name}: {} ({}): {after} of {}",
                    problem.message,
                    fix.title,
                    count(&before)
                );
            }
        }
    }
}

#[test]
fn hostile_lines_end() {
    for part in
        [" ", ", ", "\"", "1", "\"#", "temp 1,", "note", "\t", "+1", "~", "#", "?", "°", "brew ", "at ", "- "]
    {
        let line = part.repeat(200_000 / part.len());
        for before in
            ["", "brew a\non 2026-01-01 ", "brew a\n  on 2026-01-01 temp ", "# accept ", "brew a \""]
        {
            let log = read(&format!("{before}{line}\nbrew b\n  hold 18 °C\n"));
            let last = &log.blocks.last().unwrap().block;
            assert_eq!(last.statements.len(), 1, "{before}{part}");
        }
    }
}

#[test]
fn problems_are_bounded_and_counted() {
    let log = read(&format!("brew a\n{}", "  hold 18\n".repeat(1000)));
    assert_eq!((log.problems.len(), log.problems_left_out), (100, 900));
    let log = read(&format!("brew a\n  {}\n  hold 18\n", "hold 18, ".repeat(50)));
    assert_eq!((log.problems.len(), log.problems_left_out), (21, 30));
}
