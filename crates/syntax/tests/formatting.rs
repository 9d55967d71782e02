//! What the formatter does, and what it must not do.

#![allow(clippy::disallowed_methods, reason = "a test reads its data")]
#![allow(clippy::string_slice, reason = "a test may fail by panicking")]

use barm_syntax::{format, read};
use proptest::prelude::*;

const SEASON: &str = include_str!("../benches/season.barm");

/// What a log says, its places left out.
fn meaning(text: &str) -> String {
    let log = read(text);
    let mut meaning = String::new();
    for placed in &log.blocks {
        let mut block = (*placed.block).clone();
        block.len = 0;
        block.problems.clear();
        let text = &text[placed.start as usize..];
        let tastes: Vec<Vec<&str>> = block
            .statements
            .iter()
            .map(|statement| match &statement.kind {
                barm_syntax::ast::Kind::Taste(words) => words.iter().map(|span| span.text(text)).collect(),
                barm_syntax::ast::Kind::Note => {
                    vec![statement.span.text(text).split_once(' ').map_or("", |n| n.1.trim())]
                }
                _ => Vec::new(),
            })
            .collect();
        // White space above the first header says nothing.
        let empty = block.days.is_empty() && block.acceptances.is_empty() && placed.block.problems.is_empty();
        if block.kind == barm_syntax::ast::BlockKind::Loose && block.statements.is_empty() && empty {
            continue;
        }
        let messages: Vec<_> = placed.block.problems.iter().map(|problem| &problem.message).collect();
        meaning += &format!("{block:?} {tastes:?} {messages:?}\n");
    }
    // Places are pairs of numbers in braces.
    let mut out = String::new();
    let mut rest = meaning.as_str();
    while let Some(at) = rest.find("Span { start: ") {
        out.push_str(&rest[..at]);
        rest = &rest[at..];
        rest = &rest[rest.find('}').map_or(rest.len(), |end| end + 1)..];
    }
    out + rest
}

fn comments(text: &str) -> Vec<&str> {
    text.lines().filter_map(|line| line.find('#').map(|at| line[at..].trim_end())).collect()
}

/// Whether each line that is not blank ends in a carriage return too.
fn ends(text: &str) -> Vec<bool> {
    let blank = |line: &&str| line.trim_matches([' ', '\t', '\u{a0}', '\r', '\n']).is_empty();
    text.split_inclusive('\n').filter(|line| !blank(line)).map(|line| line.ends_with("\r\n")).collect()
}

fn check(text: &str) {
    let once = format(text);
    assert_eq!(format(&once), once, "once:\n{once}\nof:\n{text}");
    assert_eq!(meaning(&once), meaning(text), "once:\n{once}\nof:\n{text}");
    assert_eq!(comments(&once), comments(text));
    assert_eq!(ends(&once), ends(text));
    // Nothing but white space comes or goes, where all that is read is words.
    let letters = |text: &str| {
        text.chars().filter(|c| c.is_alphabetic()).flat_map(char::to_lowercase).collect::<String>()
    };
    if !text.contains(['C', 'F', 'P', 'x']) {
        assert_eq!(letters(&once), letters(text));
    }
}

#[test]
fn a_log_as_it_should_be_stays() {
    assert_eq!(format(SEASON), SEASON);
}

#[test]
fn what_was_typed_in_haste_is_set() {
    let typed = "\u{feff}# autumn  \r\n\r\n\r\n\r\nBREW slack-3   \"Slack Water\"    #  the third\r\n# as planned\r\n\tWORT 21l   at 12p\r\nhold 17-19c\r\nin b-2\r\nhops ~30 +-5ibu\r\nkept 4C\r\nreadings \"a  b.csv\"  columns time  temp/°C\r\nOn 2026-09-12 8:05   Temp 18C,krausen rising\r\n~ 9:00 temp 18C, krausen  RISING   # tap\r\n14:20 PITCH tide-s1 2packs   AT 8 degC # cold\r\nnote   as  is # this too\r\nkept 3 c slack-3\r\n# below\r\n\r\n  add 2x500g  Demerara  sugar For 1.050 , gravity tide-s1 1.012 at 64f\r\nbottle 19L,110g sucrose\r\nbottle 40x330ml ,  6g/l Sucrose,rated 4vol\r\nbottle 40x330ml ,  6g/l Sucrose, RATED 4vol, kept 20c,\r\ncount 5squares  231 live 9dead 1 : 200\r\nwhat is this   \r\n  taste  green  apple ,good   # hm\r\n\r\n# end\r\n";
    insta::with_settings!({ omit_expression => true, prepend_module_to_snapshot => false,
        snapshot_path => concat!(env!("CARGO_MANIFEST_DIR"), "/tests/pictures") }, {
        insta::assert_snapshot!("formatted", format(typed).replace('\r', "").replace('\u{feff}', "<BOM>"));
    });
    check(typed);
}

#[test]
fn unreadable_lines_are_not_touched() {
    for line in [
        "   temp  18",
        " wraped   in blankets ",
        "temp 18C,  oops",
        "on  2026-02-31 ",
        "brew  42 ",
        "\ton tuesday",
    ] {
        let text = format!("brew a\n  on 2026-01-01\n{line}\n");
        assert!(format(&text).contains(line), "{line}");
        check(&text);
    }
}

#[test]
fn logs_full_of_faults_keep_them() {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/data/typed");
    for entry in std::fs::read_dir(folder).unwrap() {
        check(&std::fs::read_to_string(entry.unwrap().path()).unwrap());
    }
}

fn piece() -> impl Strategy<Value = String> {
    let words = [
        "brew a",
        "BREW b \"T\"",
        "culture c of d+e",
        "on 2026-09-12",
        "On ~2026-09-12  8:05",
        "on ?",
        "14:05",
        "~ 9:00",
        "temp 18C",
        "Gravity 1.012 AT 64f",
        "pitch tide-a 2packs  dry",
        "add 2x500g  sugar FOR 1.050",
        "harvest t 300ml Thick",
        "bottle 19l,",
        "110g sucrose",
        "AT 2bar",
        "count 5squares 231 live 9 dead 1 : 20",
        "count 5 squares 9dead 231 live DILUTED 1 / 20",
        "count 3+ 4 live 1 dead",
        "taste a,  b",
        "note x  # y",
        "wort 21l at 12p",
        "wort ? AT 1.040",
        "kept 4c",
        "Readings \"a  b\" columns time",
        "stirred",
        "temp 18",
        "oops",
        "hold 17-19 c",
        "ph −1",
        "set 18–20C over 3d",
        "dump 1/4",
        "rack REST to x",
        "reuse ANY",
        "test vdk PASS",
        "makes green  apple at 18c",
        "#c",
        "  # c",
        "# accept a: b",
        ", ",
        ",",
        " ",
        "  ",
        "\n",
        "\n",
        "\n",
        "\r\n",
        "\r",
        "\t",
        "\u{a0}",
        "<<<<<<< x\n",
        ">>>>>>> y\n",
        "\u{feff}",
    ];
    proptest::sample::select(words.to_vec()).prop_map(str::to_owned)
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
    fn nothing_is_lost(pieces in proptest::collection::vec(piece(), 0..40)) {
        check(&pieces.concat());
    }

    #[test]
    fn nothing_is_lost_of_lines(pieces in proptest::collection::vec((piece(), piece()), 0..20)) {
        let lines: Vec<String> = pieces.iter().map(|(a, b)| format!("  {a} {b}\n")).collect();
        check(&format!("starter a\n on 2026-01-01\n{}", lines.concat()));
    }
}
