//! Reading as a caller sees it.

#![allow(clippy::indexing_slicing, clippy::string_slice, reason = "a test may fail by panicking")]

use barm_syntax::ast::*;
use barm_syntax::{Span, read};

/// The statements of a block's lines, which must read without problem.
fn statements(header: &str, lines: &str) -> Vec<Statement> {
    let log = read(&format!("{header}\n{lines}"));
    assert_eq!(log.problems, [], "{lines}");
    log.blocks[0].block.statements.clone()
}

fn kind(header: &str, line: &str) -> Kind {
    let mut all = statements(header, line);
    assert_eq!(all.len(), 1, "{line}");
    all.remove(0).kind
}

#[test]
fn a_statement_is_small() {
    assert!(size_of::<Statement>() <= 40, "{}", size_of::<Statement>());
}

#[test]
fn times_and_days_reach_their_statements() {
    let log = read(
        "brew a\n  hold 18 °C\n  on 2026-09-12 13:50  temp 17 °C, krausen rising\n    ~14:00 temp 17 °C\n    temp 18 °C\n",
    );
    let block = &log.blocks[0].block;
    let times: Vec<_> = block
        .statements
        .iter()
        .map(|s| (s.day.map(|day| day.position()), s.time.map(|t| (t.minutes, t.about))))
        .collect();
    let ten_to_two = Some((830, false));
    assert_eq!(
        times,
        [
            (None, None),
            (Some(0), ten_to_two),
            (Some(0), ten_to_two),
            (Some(0), Some((840, true))),
            (Some(0), None)
        ]
    );
    assert_eq!(block.days[0].time, Some(Clock { minutes: 830, about: false }));
}

/// What stands below a date does not go to the day above it, whether its `on` is there or not.
#[test]
fn a_day_without_its_on_is_a_day() {
    let above = "brew a\n  on 2026-09-12 pitch tide-b\n";
    let dated = |line: &str| {
        let log = read(&format!("{above}  {line}\n  gravity 1.012\n"));
        assert_eq!(log.problems.len(), 1, "{line}");
        let block = &log.blocks[0].block;
        let day = block.statements.last().and_then(|last| last.day).unwrap();
        (block.days[day.position()].date.map(|date| date.to_string()), block.lost.len())
    };
    for line in ["2026-09-14", "2026-09-14 18:00", "~2026-09-14 temp 18 °C", "2026-09-14  # cold"] {
        assert_eq!(dated(line), (Some("2026-09-14".to_owned()), 0), "{line}");
    }
    for line in ["14.9.2026", "14/9", "Sep 14 19:00", "day 2", "yesterday", "Monday:", "2026-09-14T18:00"] {
        assert_eq!(dated(line), (None, 1), "{line}");
    }
    // No days.
    for line in ["1.014", "14:3", "9/14 cup sucrose", "2 d", "may be sour", "20 °C"] {
        assert_eq!(dated(line).0.as_deref(), Some("2026-09-12"), "{line}");
    }
}

/// A remark or a mark behind a reading takes nothing from it.
#[test]
fn a_remark_in_brackets_loses_no_reading() {
    for line in ["gravity 1.030 (looks fine)", "gravity 1.030 (fine, clear), temp 18 °C", "gravity 1.030!"] {
        let log = read(&format!("brew a\n  on 2026-09-12 {line}\n"));
        assert_eq!(log.problems.len(), 1, "{line}");
        let kinds: Vec<_> = log.blocks[0].block.statements.iter().map(|s| &s.kind).collect();
        assert!(matches!(kinds[0], Kind::Reading(_)), "{line}");
        assert_eq!(kinds.len(), if line.contains("temp") { 2 } else { 1 });
        assert!(log.blocks[0].block.lost.is_empty());
    }
    // What may be an amount is not left out of a pitch.
    let log = read("brew a\n  on 2026-09-12 pitch tide-b (60 mL)\n");
    assert_eq!((log.blocks[0].block.statements.len(), log.blocks[0].block.lost.len()), (0, 1));
}

/// Honey and inverted sugar are heavier than any wort.
#[test]
fn a_syrup_is_heavier_than_a_wort() {
    let reads = |line: &str| read(&format!("brew a\n  on 2026-09-12 {line}\n")).problems.is_empty();
    assert!(reads("add 120 mL honey at 1.42") && reads("add 300 mL candi syrup at 1.33"));
    assert!(reads("bottle 19 L, 300 mL sucrose syrup at 1.250"));
    assert!(!reads("add 1 L wort at 1.33") && !reads("bottle 19 L, 1 L wort at 1.33"));
    assert!(!reads("add 120 mL honey at 1.48"));
}

#[test]
fn an_amount_in_all_its_forms() {
    use barm_quantity::{Measure, Unit};
    let amount = |line: &str| match kind("brew a", &format!("on 2026-01-01 pitch jar {line}")) {
        Kind::Pitch(pitch) => pitch.amount.map(|amount| amount.kind),
        other => panic!("{other:?}"),
    };
    assert_eq!(amount(""), None);
    assert_eq!(amount("?"), Some(AmountKind::Asked));
    assert_eq!(amount("rest"), Some(AmountKind::All));
    assert_eq!(amount("1/4"), Some(AmountKind::Share(0.25)));
    assert_eq!(amount("2 packs"), Some(AmountKind::Counted(2.0, Container::Pack)));
    assert_eq!(amount("2x11 g"), Some(AmountKind::Times(2.0, Measure::new(11.0, Unit::Gram))));
    assert_eq!(amount("6 g/L"), Some(AmountKind::Measured(Measure::new(6.0, Unit::GramPerLitre))));
    let about = Measure { plus_minus: 30.0, about: true, ..Measure::new(180.0, Unit::Millilitre) };
    assert_eq!(amount("~180 ± 30 ml"), Some(AmountKind::Measured(about)));
}

#[test]
fn names_that_look_like_words_are_names() {
    for line in ["pitch inland", "infected forge-2", "temp athens 18 °C", "dump restless", "kept 4 °C c-jar"]
    {
        kind("brew a", &format!("on 2026-01-01 {line}"));
    }
}

#[test]
fn comments_and_quotes() {
    let log = read("brew a \"Pale #9, \" # first # run\n  note keg #3, full # really\n  hold 18 °C # cool\n");
    let block = &log.blocks[0].block;
    assert_eq!(log.problems, []);
    assert_eq!(block.header, Span::new(0, 18));
    assert_eq!(block.statements[0].kind, Kind::Note);
    assert_eq!(block.statements[0].span.len(), 26);
}

#[test]
fn acceptances_cover_their_line_the_next_or_the_block() {
    let text = "brew a # accept too-warm: hot week\n  # accept unwatched: away\n\n  hold 18 °C\n  in b # accept x, y: z\n# accept q: r\nbrew b\n";
    let log = read(text);
    let block = &log.blocks[0].block;
    let covers: Vec<_> = block.acceptances.iter().map(|a| a.covers).collect();
    let line = |needle: &str| {
        let at = text.find(needle).unwrap();
        let start = text[..at].rfind('\n').unwrap() + 1;
        Covers::Span(Span::of(start..start + text[start..].find('\n').unwrap()))
    };
    assert_eq!(
        covers,
        [Covers::Span(Span::new(0, block.len)), line("hold"), line("in b"), Covers::NextHeader]
    );
    assert_eq!(block.acceptances[2].rules.len(), 2);
}

#[test]
fn a_conflict_is_one_problem_and_neither_side_is_read() {
    let text = "brew a\n  hold 18 °C\n<<<<<<< ours\n  in b\n=======\n  in c\n  oops\n>>>>>>> theirs\n  hops 30 IBU\nbrew c\n";
    let log = read(text);
    assert_eq!(log.problems.len(), 1);
    let block = &log.blocks[0].block;
    assert!(block.in_conflict && block.statements.len() == 2);
    // Its fixes leave what they say they leave.
    let apply = |n: usize| {
        let mut text = text.to_owned();
        for edit in log.problems[0].fixes[n].edits.iter().rev() {
            text.replace_range(edit.span.range(), &edit.text);
        }
        text
    };
    assert_eq!(apply(0), "brew a\n  hold 18 °C\n  in b\n  hops 30 IBU\nbrew c\n");
    assert_eq!(apply(1), "brew a\n  hold 18 °C\n  in c\n  oops\n  hops 30 IBU\nbrew c\n");
}

#[test]
fn a_conflict_with_headers_hides_what_follows_it_in_its_block_only() {
    let text = "brew a\n<<<<<<< x\nbrew b\n=======\nbrew c\n>>>>>>> y\n  hold 18 °C\nbrew d\n  hold 18 °C\n";
    let log = read(text);
    assert_eq!(log.blocks.len(), 2);
    let counts: Vec<_> = log.blocks.iter().map(|placed| placed.block.statements.len()).collect();
    assert_eq!(counts, [0, 1]);
}

#[test]
fn a_misspelt_header_keeps_its_lines_from_the_block_above() {
    let log = read("brew a\n  hold 18 °C\nbrwe b\n  hold 20 °C\n  brwe c\n");
    assert_eq!(log.blocks.len(), 2);
    assert_eq!(log.blocks[1].block.kind, BlockKind::Unknown);
    assert_eq!(log.problems.len(), 2, "{:#?}", log.problems);
}

/// The grammar spells the units out again; none of `barm-quantity`'s may be missing from it.
#[test]
fn every_unit_is_read_in_every_spelling() {
    use barm_quantity::{Dimension, Unit};
    for &unit in Unit::ALL.iter().filter(|unit| unit.dimension() != Dimension::Length) {
        for spelling in unit.spellings().iter().filter(|spelling| !spelling.is_empty()) {
            for text in [format!("1 {spelling}"), format!("1{}", spelling.to_ascii_uppercase())] {
                match kind("brew a", &format!("on 2026-01-01 test it {text}")) {
                    Kind::Test(test) => assert_eq!(test.value.unwrap().measure.unit, unit, "{text}"),
                    other => panic!("{other:?}"),
                }
            }
        }
    }
}

#[test]
fn what_could_not_be_read_is_known_by_the_word_that_it_begins_with_or_nearly_does() {
    let lost = |text: &str| -> Vec<(Option<&'static str>, Option<String>)> {
        let log = read(text);
        let all = log.blocks.iter().flat_map(|placed| &placed.block.lost);
        all.map(|lost| (lost.word, lost.name.as_ref().map(|name| name.text.to_string()))).collect()
    };
    let in_brew = |line: &str| lost(&format!("brew a\n  on 2026-09-12 14:00  {line}\n"));
    for (line, word) in [
        ("aerate oxigen 60 s", Some("aerate")),
        ("temp 18", Some("temp")),
        ("pich tide-b", Some("pitch")),
        ("og 1.048", Some("gravity")),
        ("- temp 18 °C", Some("temp")),
        ("oxygenate 60 s", Some("aerate")),
        ("made 2026-09-01", Some("made")),
        ("something else", None),
    ] {
        assert_eq!(in_brew(line), [(word, None)], "{line}");
    }
    for line in ["temp 18 °C", "note wort 20", "pitch tide-b temp 18 °C", "pitch tide-b, sprinkled"] {
        assert_eq!(in_brew(line), [], "{line}");
    }
    assert_eq!(in_brew("harvest tide-b 450 mLl"), [(Some("harvest"), Some("tide-b".to_owned()))]);
    assert_eq!(in_brew("harvset tide-b 450 mL"), [(Some("harvest"), Some("tide-b".to_owned()))]);
    assert_eq!(in_brew("harvest all 450 mL"), [(Some("harvest"), None)]);
    assert_eq!(lost("cultre tide-c\n"), [(Some("culture"), Some("tide-c".to_owned()))]);
    assert_eq!(lost("brew a\n  temp 18 °C\n  temp 19 °C\n"), [(Some("temp"), None), (Some("temp"), None)]);
    assert_eq!(lost("brew a\n  on 2026-02-31  temp 18 °C, note x\n"), [(Some("temp"), None)]);
    let many = lost(&format!("brew a\n{}", "  temp 3\n".repeat(500)));
    assert_eq!(many.len(), 100);
}

#[test]
fn a_misspelt_unit_is_taken_for_the_nearest_that_fits() {
    let fix = |line: &str| {
        let log = read(&format!("brew a\n  on 2026-09-12 14:00  {line}\n"));
        log.problems.first().and_then(|problem| {
            problem.message.contains("did you mean").then(|| problem.fixes[0].edits[0].text.clone())
        })
    };
    for (line, unit) in [
        ("pitch jar 1 pakc", "pack"),
        ("pitch jar 2 pcks", "packs"),
        ("pitch jar 3 vails", "vials"),
        ("pitch jar 60 mLl at 18 °C", "mL"),
        ("pitch jar 60 Lm", "mL"),
        ("boil 5 mintues", "min"),
        ("boil 5 mni", "min"),
        ("volume 21 Ll", "L"),
        ("volume 21 litrs", "L"),
        ("volume 5 galons", "gal"),
        ("aerate oxygen 60 secnds at 1 L/min", "s"),
        ("aerate oxygen 60 s at 1 L/mni", "L/min"),
        ("oxygen 9 pmm", "ppm"),
        ("add 3 kgg sucrose", "kg"),
        ("add 110 grms sucrose", "g"),
        ("pressure 12 pis", "psi"),
        ("bottle 19 L, 110 gg sucrose", "g"),
        ("aerate oxigen 60 s", "oxygen"),
        ("aerate spalsh", "splash"),
    ] {
        assert_eq!(fix(line).as_deref(), Some(unit), "{line}");
    }
    // Of another kind, or near to nothing.
    for line in
        ["pitch jar 1 barr", "add 2 mint leaves", "volume 21 q", "pitch jar 3 bags", "add 1 tin extract"]
    {
        assert_eq!(fix(line), None, "{line}");
    }
}

#[test]
fn a_slip_in_the_first_word_or_before_a_strength_is_told_once() {
    for line in [
        "bottel 19 L, 100 g sucrose",
        "bottel 19 L, 100 g sucrose for 2.3 vol, rated 4 vol",
        "kegg 19 L, with 100 g sucrose",
        "tatse good, clean, fair",
        "ntoe moved it, at last, to the cellar",
        "pitch ? of tide",
        "pitch ~120 mL tide",
        "aerate for 50 s",
        "aerate",
        "aerate oxygen for 50 s",
    ] {
        let log = read(&format!("brew a\n  on 2026-09-12 {line}\n"));
        assert_eq!(log.problems.len(), 1, "{line}: {:#?}", log.problems);
    }
    // What follows packaging on its line is an event of its own, misspelt or not.
    let log = read("brew a\n  on 2026-09-12 bottel 19 L, 100 g sucrose, kept 20 °C\n");
    assert_eq!((log.problems.len(), log.blocks[0].block.statements.len()), (1, 1));
    for line in ["wort 21 L of 1.048", "wort 21 L of 12 °P"] {
        let log = read(&format!("brew a\n  {line}\n"));
        assert_eq!(log.problems.len(), 1, "{line}: {:#?}", log.problems);
        let fix = &log.problems[0].fixes[0];
        let mended = format!("brew a\n  {}\n", line.replace(" of ", " at "));
        let mut text = format!("brew a\n  {line}\n");
        text.replace_range(fix.edits[0].span.range(), &fix.edits[0].text);
        assert_eq!((text, fix.safe), (mended, true));
    }
}

#[test]
fn a_safe_fix_moves_no_word_that_may_mean_something() {
    let mended = |line: &str| {
        let log = read(&format!("brew a\n  on 2026-09-12 {line}\n"));
        assert!(!log.problems.is_empty(), "{line}");
        let mut text = format!("brew a\n  on 2026-09-12 {line}\n");
        let safe = log.problems.iter().filter_map(|problem| problem.fixes.first()).filter(|fix| fix.safe);
        for edit in safe.flat_map(|fix| fix.edits.iter().rev()) {
            text.replace_range(edit.span.start as usize..edit.span.end as usize, &edit.text);
        }
        text.trim_end().rsplit("2026-09-12 ").next().unwrap_or("").to_owned()
    };
    for joint in [" and", " plus", " using", " w/", ", plus", " +", " &", " AND"] {
        assert_eq!(mended(&format!("bottle 19 L{joint} 300 g sugar")), "bottle 19 L, 300 g sugar");
    }
    assert_eq!(mended("add about 300 g sugar"), "add ~300 g sugar");
    assert_eq!(mended("add sugar 300 g"), "add 300 g sugar");
    for kept in [
        "bottle 19 L and 4 L keg",
        "bottle 19 L and add 300 g sugar",
        "bottle 19 L - 300 g sugar",
        "bottle 500 mL - 1 L",
        "add about the 300 g sugar",
        "add another 300 g sugar",
        "add the 300 g sugar",
        "add the rest 300 g",
        "add and 300 g",
    ] {
        assert_eq!(mended(kept), kept);
    }
}

#[test]
fn a_slip_of_the_cellar_is_told_with_what_to_write() {
    for (line, begins) in [
        ("test plate clean", "the log writes `pass` for `clean`"),
        ("test vdk failed", "the log writes `fail` for `failed`"),
        ("plate pass", "the word for `plate` is `test plate`"),
        ("contaminated", "the word for `contaminated` is `infected`"),
        ("wash ph 2.2 90 min at 3 °C", "`for` is missing before the time"),
        ("boil for 10 min", "the time stands alone: `10 min`"),
        ("dump 6 L trub", "what settled here needs no word: `dump 6 L`"),
        ("harvest b 14 kg from cone", "yeast is taken `from top` or `from bottom`"),
        ("add water 3 L for 1.050", "the amount comes first: `3 L water for 1.050`"),
        ("topped up 3 L water", "water is added with `add`"),
        ("add 1 sachet dry", "`1 sachet dry` of what?"),
        ("bottle 19 L, 110 g sucrose, 1 sachet dry", "`1 sachet dry` of what?"),
        ("bottle 19 L, 8 g sucrose each", "into how many?"),
        ("wort 1/2 of w", "how much of that wort went in here?"),
        ("test h plate pass", "a `test` is of the block that it stands in: `test plate pass`"),
        ("count 5 squares 0 live 0 dead 1:200", "a count of no cells tells nothing"),
        ("gravity 1.012 at 176 °F", "a gravity can be corrected from a sample of up to 60 °C"),
        ("rouse twice for 10 s", "nothing is reckoned from `rouse`"),
    ] {
        let log = read(&format!("brew a\n  on 2026-09-12 {line}\n"));
        let messages: Vec<&str> = log.problems.iter().map(|problem| problem.message.as_str()).collect();
        assert!(matches!(messages.as_slice(), [one] if one.starts_with(begins)), "{line}: {messages:?}");
    }
}

#[test]
fn a_rating_is_moved_to_the_glass_that_it_is_of() {
    for (line, mended) in [
        (
            "bottle 19 L, 5 g/L sugar, kept 20 °C, rated 3.5 vol",
            "bottle 19 L, 5 g/L sugar rated 3.5 vol, kept 20 °C",
        ),
        ("bottle 19 L, kept 20 °C, rated 4 vol, temp 9 °C", "bottle 19 L rated 4 vol, kept 20 °C, temp 9 °C"),
    ] {
        let text = format!("brew b\n  on 2026-09-12 {line}\n");
        let fix = read(&text).problems[0].fixes[0].clone();
        let mut edits = fix.edits;
        edits.sort_by_key(|edit| std::cmp::Reverse(edit.span.start));
        let mut moved = text.clone();
        for edit in edits {
            moved.replace_range(edit.span.start as usize..edit.span.end as usize, &edit.text);
        }
        assert_eq!(moved, format!("brew b\n  on 2026-09-12 {mended}\n"));
        assert_eq!(read(&moved).problems, []);
    }
}

#[test]
fn what_is_counted_is_kept_and_sugar_is_not() {
    for line in ["add 1 tablet finings", "add 1/2 tsp gypsum", "add 2 cinnamon sticks", "add 1 vanilla pod"] {
        let Kind::Add(add) = kind("brew b", &format!("  on 2026-09-12 {line}\n")) else { panic!("{line}") };
        assert!(matches!(add.amount.kind, AmountKind::Counted(_, Container::Piece)), "{line}");
    }
    for line in ["add 2 sugar sticks", "add 1 tbsp honey", "add 2 cups", "add 40 carbonation drops"] {
        assert!(!read(&format!("brew b\n  on 2026-09-12 {line}\n")).problems.is_empty(), "{line}");
    }
}

/// A count in other words and another order counts the same.
#[test]
fn a_dilution_and_the_dead_are_read_however_they_stand() {
    let counted = |line: &str| match kind("brew b", &format!("  on 2026-09-12 count {line}\n")) {
        Kind::Count(count) => count.what,
        other => panic!("{line}: {other:?}"),
    };
    let plain = counted("5 squares 231 live 9 dead 1:200");
    for line in [
        "5 squares 231 live 9 dead at 1:200",
        "5 squares 231 live 9 dead diluted 1:200",
        "5 squares 231 live 9 dead 1/200",
        "5 squares 9 dead 231 live at 1/200",
    ] {
        assert_eq!(counted(line), plain, "{line}");
    }
}

#[test]
fn what_a_taste_would_swallow_is_told_and_put_before_it() {
    for (line, mended) in [
        ("taste clean, gravity 1.012", "gravity 1.012, taste clean"),
        ("taste apple, harvest jar 400 mL thick in jar-2", "harvest jar 400 mL thick in jar-2, taste apple"),
        ("taste apple, pitch jar ?", "pitch jar ?, taste apple"),
        ("taste sour, infected", "infected, taste sour"),
        ("taste sour, test plate fail", "test plate fail, taste sour"),
        ("taste bready, krausen fallen", "krausen fallen, taste bready"),
        ("taste vinegar, dump all", "dump all, taste vinegar"),
    ] {
        let text = format!("brew a\n  on 2026-09-12 {line}\n");
        let problems = read(&text).problems;
        assert!(
            matches!(&problems[..], [one] if one.message == "`taste` takes the rest of the line"),
            "{line}"
        );
        let mut edits = problems[0].fixes[0].edits.clone();
        edits.sort_by_key(|edit| std::cmp::Reverse(edit.span.start));
        let mut moved = text.clone();
        for edit in edits {
            moved.replace_range(edit.span.start as usize..edit.span.end as usize, &edit.text);
        }
        assert_eq!(moved, format!("brew a\n  on 2026-09-12 {mended}\n"));
    }
    for line in [
        "taste clean, apple",
        "taste a clean finish, kept well, good",
        "taste note of pear, test batch 2",
        "taste 2 h after 3 pints",
    ] {
        assert!(matches!(kind("brew a", &format!("  on 2026-09-12 {line}\n")), Kind::Taste(_)), "{line}");
    }
}

/// A line with the best fix of each of its problems made.
fn best_mended(line: &str) -> String {
    let mut text = format!("brew b\n  on 2026-09-12 {line}\n");
    let log = read(&text);
    let mut edits: Vec<_> =
        log.problems.iter().filter_map(|problem| problem.fixes.first()).flat_map(|fix| &fix.edits).collect();
    edits.sort_by_key(|edit| std::cmp::Reverse(edit.span.start));
    for edit in edits {
        text.replace_range(edit.span.range(), &edit.text);
    }
    text.trim_end().rsplit("2026-09-12 ").next().unwrap_or("").to_owned()
}

#[test]
fn a_fix_loses_nothing_that_is_judged() {
    for (line, mended) in [
        ("bottle 19 L, 400 g sucrose; kept 20 °C", "bottle 19 L, 400 g sucrose, kept 20 °C"),
        ("bottle 19 L; 400 g sucrose;rated 4 vol;", "bottle 19 L, 400 g sucrose, rated 4 vol"),
        ("pitch p 1 pack;temp 18 °C", "pitch p 1 pack, temp 18 °C"),
        ("krausen Rising; temp 19 °C", "krausen Rising, temp 19 °C"),
        ("krausen high temp 19 °C", "krausen high, temp 19 °C"),
        ("krausen rising at 08:00", "08:00 krausen rising"),
        ("gravity 1.012 at 14:00 # tap", "14:00 gravity 1.012 # tap"),
        ("add 500 g sucrose, 200 g honey", "add 500 g sucrose, add 200 g honey"),
        ("add 300 g sucrose and 50 g honey", "add 300 g sucrose, add 50 g honey"),
        ("add 110 g sucrose in 300 mL water", "add 110 g sucrose, add 300 mL water"),
        ("bottle 19 L, 110 g sucrose and 200 g honey", "bottle 19 L, 110 g sucrose, 200 g honey"),
        ("bottle 38 × 500 mL, 8 g sucrose each", "bottle 38 × 500 mL, 38 × 8 g sucrose"),
        ("bottle 38 × 500 mL, 8 g sugar in each bottle", "bottle 38 × 500 mL, 38 × 8 g sugar"),
        ("bottle 19 L, 9 g sugar per litre, kept 20 °C", "bottle 19 L, 9 g/L sugar, kept 20 °C"),
        ("bottle 19 L, 9 g per L sugar", "bottle 19 L, 9 g/L sugar"),
        ("bottle, 110 g sucrose", "bottle all, 110 g sucrose"),
        ("bottle 110 g sucrose", "bottle all, 110 g sucrose"),
        ("bottle 19 L, sucrose ? for 2.4 vol", "bottle 19 L, ? sucrose for 2.4 vol"),
        ("pitch p ? mL", "pitch p ?"),
        ("aerate oxygen ? s", "aerate oxygen ?"),
        ("kept h1 3 °C", "kept 3 °C h1"),
        ("prime 110 g sucrose", "add 110 g sucrose"),
        ("keg 19 L at 12 bar", "keg 19 L at 12 psi"),
        ("set 12 bar", "set 12 psi"),
        ("gravity 1.012 at 80 °C", "gravity 1.012 at 80 °F"),
        ("rouse", "note rouse"),
    ] {
        assert_eq!(best_mended(line), mended);
        assert_eq!(read(&format!("brew b\n  on 2026-09-12 {mended}\n")).problems, []);
    }
    // No fix reads them, and none keeps them from being read.
    for line in [
        "bottle 19 L by 400 g sucrose",
        "bottled the lot, 400 g sucrose",
        "pitch p 1 pack whatever",
        "temp 18 °C then 19 °C",
        "krausen high since 19 °C",
        "200 g honey",
        "dissolved 400 g sucrose",
        "pack 2 × 100 B",
    ] {
        let log = read(&format!("brew b\n  on 2026-09-12 {line}\n"));
        assert!(!log.problems.is_empty(), "{line}");
        let edits = log.problems.iter().flat_map(|problem| &problem.fixes).flat_map(|fix| &fix.edits);
        let lost: Vec<_> = edits.filter(|edit| edit.text.contains("note") || edit.span.len() > 8).collect();
        assert!(lost.is_empty(), "{line}: {lost:?}");
    }
    let blankets = read("brew b\n  on 2026-09-12 wrapped in blankets\n");
    assert_eq!(blankets.problems[0].fixes[0].title, "keep it as `note wrapped in blankets`");
}

/// Bottles may be called by what they are, and say what they hold where that matters.
#[test]
fn bottles_by_what_they_are() {
    for (called, holder) in [
        ("bottles", None),
        ("beer bottles", None),
        ("brown glass crown-cap bottles", None),
        ("glass", None),
        ("brown glass", None),
        ("stubbies", None),
        ("longneck bottle", None),
        ("champagne bottles", None),
        ("sparkling wine bottles", None),
        ("in bottles", None),
        ("swing-top bottles", None),
        ("PET", Some(Holder::Plastic)),
        ("plastic bottles", Some(Holder::Plastic)),
        ("clear PET growlers", Some(Holder::Plastic)),
        ("growler", Some(Holder::Growler)),
        ("glass flagon", Some(Holder::Growler)),
        ("wine bottles", Some(Holder::Still)),
        ("old swing-top spirit bottles", Some(Holder::Still)),
        ("mason jars", Some(Holder::Still)),
        ("demijohn", Some(Holder::Still)),
    ] {
        for line in [
            format!("bottle 24 × 750 mL {called}, 110 g sucrose at 18 °C"),
            format!("bottle 19 L {called} with 110 g sucrose"),
            format!("bottle 19 L {called}"),
        ] {
            let read = kind("brew b", &format!("  on 2026-09-12 {line}\n"));
            let Kind::Package(package) = read else { panic!("{line}") };
            assert_eq!(package.holder, holder, "{line}");
        }
    }
    for odd in ["in bottle", "off the keg", "beer", "brown", "bottles of beer"] {
        let odd_line = format!("brew b\n  on 2026-09-12 bottle 19 L {odd}, 110 g sucrose\n");
        assert_eq!(read(&odd_line).problems.is_empty(), odd == "in bottle", "{odd}");
    }
}

#[test]
fn sugar_in_water_is_sugar_and_water() {
    for (line, water) in [
        ("bottle 19 L, 400 g sucrose in 300 mL water at 20 °C", true),
        ("bottle 19 L with 400 g sucrose in 30 cL boiled water, kept 20 °C", true),
        ("bottle 19 L, 400 g sucrose, 3 dL water", true),
        ("bottle 19 L, 400 g sucrose", false),
    ] {
        let read = statements("brew b", &format!("  on 2026-09-12 {line}\n"));
        let Kind::Package(package) = &read[0].kind else { panic!("{line}") };
        let with: Vec<&str> = package.with.iter().map(|priming| &*priming.what.text).collect();
        assert_eq!((with[0], with.len()), ("sucrose", if water { 2 } else { 1 }), "{line}");
    }
    // What it was filled into goes into nothing.
    assert!(
        !read("brew b\n  on 2026-09-12 bottle 19 L, 110 g sugar in 40 × 500 mL bottles\n")
            .problems
            .is_empty()
    );
}
