//! An answer, written in, leaves the rules about that quantity silent: over a grid of brews.

#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing, reason = "a test ends by panicking")]

use barm_reckoning::{Answer, Season, Settings, Source};
use barm_rules::{Finding, Options};

/// The rules that judge what is asked for here.
const OF_ANSWERS: &[&str] = &[
    "bottle-pressure",
    "crowded-starter",
    "low-oxygen",
    "missing-fact",
    "missing-unit",
    "open-question",
    "overdrawn",
    "overpitched",
    "oxygen-ceiling",
    "too-much-oxygen",
    "underpitched",
    "unlikely-unit",
    "unreadable-line",
    "whole-cake",
    "wrong-unit",
    "young-starter",
];

fn season(text: &str, settings: &str) -> Season {
    let log = barm_syntax::read(text);
    assert!(log.problems.is_empty(), "{text}\n{:?}", log.problems);
    let source = Source { path: "a.barm".into(), text: text.into(), log };
    Season::reckon(vec![source], Settings::read(settings).unwrap())
}

/// Writes every answer in, and then those that waited for one; `None` where a question has none. Gives the log as it asked
/// last.
fn answered(mut asking: Season, settings: &str) -> Option<(Season, String)> {
    loop {
        let mut text = asking.sources[0].text.to_string();
        let mut waits = false;
        for answer in asking.answers.iter().rev() {
            match &answer.edit {
                Some(edit) => text.replace_range(edit.span.range(), &edit.text),
                None if answer.text.ends_with("That comes first") => waits = true,
                None => return None,
            }
        }
        if !waits {
            return Some((asking, text));
        }
        asking = season(&text, settings);
    }
}

fn found(season: &Season) -> Vec<Finding> {
    let select = OF_ANSWERS.iter().map(|rule| (*rule).to_owned()).collect();
    barm_rules::check(season, &Options { select, ..Options::default() }).findings
}

/// Asserts that the answers of a log can be read, leave no question and no finding, and come out as they were reckoned.
/// Says whether all of its questions have one.
fn holds(text: &str, settings: &str) -> bool {
    let asking = season(text, settings);
    assert!(!asking.answers.is_empty(), "nothing asked:\n{text}");
    let Some((asking, written)) = answered(asking, settings) else { return false };
    assert!(!written.contains('?'), "a question without an answer:\n{written}");
    let after = season(&written, settings);
    let findings = found(&after);
    let said: Vec<(&str, &str)> = findings.iter().map(|f| (f.rule, f.message.as_str())).collect();
    assert!(said.is_empty(), "{written}\n{said:#?}");
    for (before, after) in asking.batches.iter().zip(&after.batches) {
        let live = |batch: &barm_reckoning::Batch| -> Vec<f64> {
            batch.pitches.iter().filter_map(|p| Some(p.live.as_ref()?.median())).collect()
        };
        for (before, after) in live(before).iter().zip(live(after)) {
            assert!(
                (before / after - 1.0).abs() < 0.01,
                "{before} was reckoned, {after} comes out:\n{written}"
            );
        }
    }
    true
}

const KINDS: [&str; 2] = ["ale", "lager"];
const GRAVITIES: [&str; 6] = ["1.030", "1.040", "1.048", "1.060", "1.075", "1.095"];
const VOLUMES: [&str; 6] = ["4 L", "12 L", "20 L", "5.5 gal", "2 hL", "10 hL"];
const SMALL: [&str; 5] = ["100 mL", "250 mL", "1 L", "2 L", "1 qt"];
const HOUSES: [&str; 2] = ["", "units = \"us\"\nelevation = \"1500 m\"\n"];

/// Runs `log` over the grid and says in how many of how many brews all was answered.
fn over_the_grid(log: impl Fn(&str, &str, &str) -> String) -> (usize, usize) {
    over(&VOLUMES, log)
}

/// The same over a grid of worts so large.
fn over(volumes: &[&str], log: impl Fn(&str, &str, &str) -> String) -> (usize, usize) {
    let (mut answered, mut all) = (0, 0);
    for kind in KINDS {
        for gravity in GRAVITIES {
            for volume in volumes {
                for house in HOUSES {
                    all += 1;
                    answered += usize::from(holds(&log(kind, gravity, volume), house));
                }
            }
        }
    }
    (answered, all)
}

#[test]
fn how_much_of_a_jar_a_pack_a_sachet_or_a_cake() {
    for (supply, least) in [
        ("slurry 40 L thick\n  harvested 2026-09-09", 144),
        ("slurry 3 L thin\n  harvested 2026-09-01", 60),
        ("slurry 900 mL\n  harvested 2026-09-11", 60),
        ("slurry 80 kg medium\n  harvested 2026-09-10", 144),
        ("slurry 2 L 1.1 B/mL\n  harvested 2026-09-10", 80),
        ("pack 2000 × 100 B\n  made 2026-08-20", 144),
        ("pack 3 × 200 B\n  made 2026-07-01", 40),
        ("vial 400 × 50 mL\n  made 2026-09-01\n  on 2026-09-02  count 1 B/mL, viability 95 %", 100),
        ("sachet 400 × 11 g\n  made 2026-01", 144),
        ("sachet 2 × 11.5 g\n  made 2025-06", 60),
    ] {
        let (answered, all) = over_the_grid(|kind, gravity, volume| {
            format!(
                "culture y\n  kind {kind}\n  {supply}\n\n\
                 brew b\n  wort {volume} at {gravity}\n  on 2026-09-12 14:00  pitch y ?\n"
            )
        });
        assert!(answered >= least && all == 144, "{supply}: {answered} of {all}");
    }
}

#[test]
fn how_much_of_a_cake() {
    let (answered, all) = over_the_grid(|kind, gravity, volume| {
        format!(
            "culture y\n  kind {kind}\n  pack 2000 × 100 B\n  made 2026-08-20\n\n\
             brew first\n  wort {volume} at 1.044\n  on 2026-08-25 14:00  pitch y ?\n  on 2026-09-01  gravity 1.010\n\n\
             brew b\n  wort {volume} at {gravity}\n  on 2026-09-05 14:00  pitch first ?\n"
        )
    });
    assert!(answered >= 140, "{answered} of {all}");
}

#[test]
fn by_a_target_in_cells_or_by_mass_and_beside_what_is_pitched_already() {
    for (target, supply) in [
        ("target 1 M/mL/°P", "slurry 60 L thick\n  harvested 2026-09-09"),
        ("target 10 M/mL", "slurry 60 L thick\n  harvested 2026-09-09"),
        ("target 400 g/hL", "slurry 60 L thick\n  harvested 2026-09-09"),
        ("target 400 g/hL", "slurry 60 kg thick\n  harvested 2026-09-09"),
        ("target 80 g/hL", "sachet 400 × 11 g\n  made 2026-01"),
        ("target 1 M/mL/°P", "sachet 2000 × 11 g\n  made 2026-01"),
    ] {
        for sprinkled in ["", " sprinkled"].into_iter().filter(|s| s.is_empty() || supply.contains("sachet"))
        {
            let (answered, all) = over_the_grid(|kind, gravity, volume| {
                format!(
                    "culture y\n  kind {kind}\n  {supply}\n\n\
                     brew b\n  wort {volume} at {gravity}\n  {target}\n  on 2026-09-12 14:00  pitch y ?{sprinkled}\n"
                )
            });
            assert_eq!(answered, all, "{target}, {supply}{sprinkled}");
        }
    }
    let (answered, all) = over_the_grid(|kind, gravity, volume| {
        format!(
            "culture p\n  kind {kind}\n  pack 1 × 20 B\n  made 2026-09-01\n\n\
             culture y\n  kind {kind}\n  slurry 60 L thick\n  harvested 2026-09-09\n\n\
             brew b\n  wort {volume} at {gravity}\n  on 2026-09-12 14:00  pitch p, pitch y ?\n"
        )
    });
    assert_eq!(answered, all);
}

#[test]
fn how_large_a_starter_and_when_to_begin() {
    for method in ["", "  shaken\n", "  stirred\n"] {
        let (answered, all) = over_the_grid(|kind, gravity, volume| {
            format!(
                "culture y\n  kind {kind}\n  pack 1 × 100 B\n  made 2026-08-20\n\n\
                 starter s\n  wort ? at 1.037\n{method}  on ?  pitch y\n\n\
                 brew b\n  wort {volume} at {gravity}\n  on 2026-09-12 14:00  pitch s\n"
            )
        });
        let least = if method.contains("stirred") { 60 } else { 30 };
        assert!(answered >= least, "{method}: {answered} of {all}");
    }
}

#[test]
fn a_chain_of_starters_and_what_to_begin_it_with() {
    let (answered, all) = over_the_grid(|kind, gravity, volume| {
        format!(
            "culture y\n  kind {kind}\n  pack 1 × 100 B\n  made 2026-08-20\n\n\
             starter s\n  wort ? at 1.037\n  stirred\n  on ?  pitch y\n\n\
             starter t\n  wort ? at 1.037\n  stirred\n  on ?  pitch s\n\n\
             brew b\n  wort {volume} at {gravity}\n  on 2026-09-12 14:00  pitch t\n"
        )
    });
    assert!(answered >= 90, "{answered} of {all}");
    // A starter that stands, as large as a demijohn or a flask: some are too small for such a brew.
    let (mut answered, mut all) = (0, 0);
    for size in ["500 mL", "1 L", "4 L", "20 L"] {
        let (some, of) = over_the_grid(|kind, gravity, volume| {
            format!(
                "culture y\n  kind {kind}\n  slurry 9 L thick\n  harvested 2026-09-09\n\n\
                 starter s\n  wort {size} at 1.037\n  on ?  pitch y ?\n\n\
                 brew b\n  wort {volume} at {gravity}\n  on 2026-09-12 14:00  pitch s ?\n"
            )
        });
        answered += some;
        all += of;
    }
    assert!(answered >= 250, "{answered} of {all}");
    // A part of a pack, measured out, must still have room in it.
    let mut answered = 0;
    for size in ["10 mL", "50 mL", "200 mL", "500 mL"] {
        for supply in ["1 × 200 B", "4 × 100 B"] {
            answered += over(&["1 L", "2 L", "5 L"], |kind, gravity, volume| {
                format!(
                    "culture y\n  kind {kind}\n  pack {supply}\n  made 2026-09-01\n\n\
                     starter s\n  wort {size} at 1.037\n  stirred\n  on ?  pitch y ?\n\n\
                     brew b\n  wort {volume} at {gravity}\n  on 2026-09-12 14:00  pitch s ?\n"
                )
            })
            .0;
        }
    }
    assert!(answered >= 100, "{answered}");
}

#[test]
fn how_long_to_aerate() {
    for (aerate, needs, least) in [
        // What is too short to time of 4 L has no answer.
        ("oxygen ? at 1 L/min", "", 120),
        ("oxygen ?", "", 120),
        ("air ?", "", 36),
        ("oxygen ? at 500 mL/min", "  needs 9 ppm\n", 144),
        ("oxygen ? at 2 L/min", "  needs 14 ppm\n", 120),
        ("shake, aerate oxygen ? at 1 L/min", "", 120),
    ] {
        let (answered, all) = over_the_grid(|kind, gravity, volume| {
            format!(
                "culture y\n  kind {kind}\n{needs}  slurry 60 L thick\n  harvested 2026-09-09\n\n\
                 brew b\n  wort {volume} at {gravity}\n  on 2026-09-12\n    13:40  temp 16 °C, aerate {aerate}\n    \
                 14:00  pitch y ?\n"
            )
        });
        assert!(answered >= least, "{aerate}: {answered} of {all}");
    }
}

/// Of a pack, a jar or a cake that is far too much for a small wort a part is enough.
#[test]
fn how_much_for_a_small_wort() {
    for supply in [
        "pack 1 × 100 B\n  made 2026-09-01",
        "pack 1 × 200 B\n  made 2026-09-01",
        "pack 3 × 200 B\n  made 2026-09-01",
        "pack 40 × 100 B\n  made 2026-09-01",
        "vial 4 × 50 mL\n  made 2026-09-01\n  on 2026-09-02  count 1 B/mL, viability 95 %",
        "sachet 2 × 11 g\n  made 2026-01",
        "slurry 900 mL\n  harvested 2026-09-11",
    ] {
        let (answered, all) = over(&SMALL, |kind, gravity, volume| {
            format!(
                "culture y\n  kind {kind}\n  {supply}\n\n\
                 brew b\n  wort {volume} at {gravity}\n  on 2026-09-12 14:00  pitch y ?\n"
            )
        });
        assert_eq!(answered, all, "{supply}");
    }
}

/// Where so much gas reaches the aim before anybody can close the valve, a slower flow is named, and that one answers.
#[test]
fn how_long_to_aerate_a_small_wort_or_with_much_gas() {
    let log = |aerate: &str, kind: &str, gravity: &str, volume: &str| {
        format!(
            "culture y\n  kind {kind}\n  slurry 60 L thick\n  harvested 2026-09-09\n\n\
             brew b\n  wort {volume} at {gravity}\n  on 2026-09-12\n    13:40  temp 16 °C, aerate {aerate}\n    \
             14:00  pitch y ?\n"
        )
    };
    let (mut open, mut told) = (0, 0);
    for (method, flow) in [
        ("oxygen ?", " at 1 L/min"),
        ("oxygen ?", " at 20 L/min"),
        ("oxygen ?", ""),
        ("shake, aerate oxygen ?", " at 5 L/min"),
        ("oxygen ?", " at 40 mL/min"),
    ] {
        for volumes in [&SMALL[..], &VOLUMES] {
            let (answered, all) =
                over(volumes, |kind, gravity, volume| log(&format!("{method}{flow}"), kind, gravity, volume));
            open += all - answered;
        }
        for volume in SMALL.iter().chain(&VOLUMES) {
            let asking = season(&log(&format!("{method}{flow}"), "ale", "1.048", volume), "");
            let Some(answer) = asking.answers.iter().find(|a| a.text.contains("too short to time")) else {
                continue;
            };
            assert!(answer.edit.is_none() && found(&asking).iter().all(|f| f.rule == "open-question"));
            let slower = answer.text.split(", at ").nth(1).unwrap().split(" it is ").next().unwrap();
            let slower = log(&format!("{method} at {slower}"), "ale", "1.048", volume);
            assert!(holds(&slower, ""), "{slower}");
            told += 1;
        }
    }
    assert!(open > 100 && told > 10, "{open}, {told}");
    let enough =
        season(&log("oxygen 60 s at 1 L/min, aerate oxygen ? at 1 L/min", "ale", "1.048", "20 L"), "");
    let enough = &enough.answers[0];
    assert!(enough.edit.is_none() && enough.text.starts_with("none: it holds"), "{}", enough.text);
}

/// What is told to be sure falls short less than one time in twenty, and the answer itself about every second time.
#[test]
fn what_would_be_sure() {
    let sure = |text: &str| {
        let asking = season(text, "");
        let [answer] = &asking.answers[..] else { panic!("{:?}", asking.answers) };
        let span = answer.edit.as_ref().unwrap().span;
        let note = answer.notes.iter().find(|note| note.contains("would be sure")).unwrap();
        let with = |amount: &str| {
            let mut text = text.to_owned();
            text.replace_range(span.range(), amount);
            season(&text, "")
        };
        let answer = with(&answer.edit.as_ref().unwrap().text);
        (answer, with(note.split(" would").next().unwrap()))
    };
    for (kind, volume) in [("ale", "20 L"), ("lager", "12 L"), ("ale", "30 L")] {
        let starter = format!(
            "culture y\n  kind {kind}\n  pack 1 × 100 B\n  made 2026-08-20\n\n\
             starter s\n  wort ? at 1.037\n  stirred\n  on 2026-09-10 14:00  pitch y\n\n\
             brew b\n  wort {volume} at 1.048\n  on 2026-09-12 14:00  pitch s\n"
        );
        let (even, sure) = sure(&starter);
        let short = |season: &Season| {
            let ratio = &season
                .batches
                .iter()
                .find_map(|b| b.pitch.as_ref().filter(|_| &*b.name == "b"))
                .unwrap()
                .ratio;
            ratio.chance_below(&barm_quantity::Estimate::exact(1.0))
        };
        assert!((0.3..=0.51).contains(&short(&even)), "{}", short(&even));
        assert!((0.01..0.055).contains(&short(&sure)), "{}", short(&sure));
    }
    for (aerate, wort) in [
        ("oxygen ? at 1 L/min", "20 L at 1.048"),
        ("oxygen ?", "20 L at 1.048"),
        ("oxygen ? at 2 L/min", "2 hL at 1.080"),
    ] {
        let (even, sure) =
            sure(&format!("brew b\n  wort {wort}\n  on 2026-09-12  temp 16 °C, aerate {aerate}\n"));
        let short = |season: &Season| {
            let aim = if wort.contains("1.080") { 10.0 } else { 8.0 };
            let dissolved = &season.batches[0].oxygen.as_ref().unwrap().dissolved;
            dissolved.chance_below(&barm_quantity::Estimate::exact(aim))
        };
        assert!((0.2..=0.51).contains(&short(&even)), "{aerate}: {}", short(&even));
        assert!((0.001..0.051).contains(&short(&sure)), "{aerate}: {}", short(&sure));
    }
}

/// Stronger wort raises a gravity and weaker wort lowers it, to what was asked.
#[test]
fn wort_for_a_gravity() {
    for (own, added, wanted) in [
        ("1.048", "1.100", "1.060"),
        ("1.060", "1.020", "1.044"),
        ("1.040", "20 °P", "1.041"),
        ("1.048", "1.045", "1.046"),
    ] {
        for volume in VOLUMES.iter().chain(&SMALL) {
            let text = format!(
                "brew b\n  wort {volume} at {own}\n  on 2026-09-12  add ? wort at {added} for {wanted}\n"
            );
            assert!(holds(&text, ""), "{text}");
            let (_, written) = answered(season(&text, ""), "").unwrap();
            let reached = season(&written, "").batches[0].wort.unwrap().gravity.as_specific();
            let wanted: f64 = wanted.parse().unwrap();
            assert!((reached - wanted).abs() < 2e-4, "{written}{reached}");
        }
    }
    for (line, says) in [
        ("add ? wort for 1.060", "how strong is what is added? add `at 1.100`"),
        ("add ? wort at 1.052 for 1.060", "wort at 1.052 cannot bring 1.048 to 1.060"),
        ("add ? water for 1.048", "none: it is at 1.048 already"),
        ("add ? wort at 1.100 for 1.040", "wort at 1.100 cannot bring 1.048 to 1.040"),
    ] {
        let asking = season(&format!("brew b\n  wort 20 L at 1.048\n  on 2026-09-12  {line}\n"), "");
        let [answer] = &asking.answers[..] else { panic!("{:?}", asking.answers) };
        assert!(answer.edit.is_none() && answer.text == says, "{}", answer.text);
    }
}

#[test]
fn sugar_for_a_carbonation_and_water_for_a_gravity() {
    let (answered, all) = over_the_grid(|kind, gravity, volume| {
        format!(
            "culture y\n  kind {kind}\n  attenuates 70..80 %\n  slurry 60 L thick\n  harvested 2026-09-09\n\n\
             brew b\n  wort {volume} at {gravity}\n  on 2026-09-12\n    13:40  temp 16 °C, add ? water for 1.028\n    \
             14:00  pitch y ?\n  on 2026-09-24  gravity 1.007, temp 18 °C\n  on 2026-09-27  gravity 1.007\n    \
             bottle 3 L, ? sucrose for 2.4 vol\n"
        )
    });
    assert_eq!(answered, all);
}

/// Sugar for more beer than there is would be too much for the beer that there is.
#[test]
fn no_sugar_for_beer_that_is_not_there() {
    for (bottled, is_answered) in [("19 L", true), ("22 L", true), ("30 L", false)] {
        let asking = season(
            &format!(
                "brew b\n  wort 20 L at 1.048\n  kind ale\n  on 2026-09-12  temp 18 °C\n  on 2026-09-24  gravity 1.007\n  \
                 on 2026-09-27  gravity 1.007\n    bottle {bottled}, ? sucrose for 2.4 vol\n"
            ),
            "",
        );
        let [answer] = &asking.answers[..] else { panic!("{:?}", asking.answers) };
        assert_eq!(answer.edit.is_some(), is_answered, "{bottled}: {}", answer.text);
    }
}

/// A line that asks finds the wort as the lines above it left it, and what they ask answered. Reckoned by hand: extract and
/// volumes add.
#[test]
fn a_question_finds_what_stands_above_it() {
    let answers = |lines: &str| -> Vec<String> {
        let asking = season(&format!("brew a\n  wort 30 L at 1.040\n{lines}"), "");
        asking
            .answers
            .iter()
            .filter_map(|answer| answer.edit.as_ref().map(|edit| edit.text.to_string()))
            .collect()
    };
    assert_eq!(answers("  on 2026-09-01\n    add ? water for 1.036\n    add 1 kg sucrose\n"), ["3.35 L"]);
    assert_eq!(answers("  on 2026-09-01\n    add 1 kg sucrose\n    add ? water for 1.036\n"), ["13.45 L"]);
    // 30 L of 10.0 °P hold 3.12 kg of extract, and 40.1 L of 7.6 °P hold as much: 6.7 L after the first 3.35.
    assert_eq!(
        answers("  on 2026-09-01 add ? water for 1.036\n  on 2026-09-02 add ? water for 1.030\n"),
        ["3.35 L", "6.7 L"]
    );
}

/// How much yeast, air and priming a beer wants hangs on what is added above them: they wait until that is known.
#[test]
fn what_hangs_on_an_addition_waits_for_it() {
    let asked = |amount: &str| {
        let log = format!(
            "strain ta\n  kind ale\n  attenuates 73..77 %\nculture jb of ta\n  slurry 400 mL thick\n  harvested 2026-09-08\n\
             brew a\n  wort 20 L at 1.040\n  on 2026-09-12\n    12:00 temp 18 °C, add {amount} sucrose for 1.080\n    \
             aerate oxygen ? at 1 L/min\n    pitch jb ?\n"
        );
        let season = season(&log, "");
        let of = |answer: &Answer| {
            answer.edit.as_ref().map_or_else(|| answer.text.clone(), |edit| edit.text.clone())
        };
        season.answers.iter().map(of).collect::<Vec<_>>()
    };
    let waits = |text: &str, what: &str| {
        let open = season(text, "").answers.into_iter().filter(|answer| answer.edit.is_none());
        let open: Vec<String> = open.map(|answer| answer.text).collect();
        assert_eq!(open, [format!("how much {what} is added above it? That comes first")], "{text}");
    };
    let yeast = "strain ta\n  kind ale\n  attenuates 73..77 %\nculture jb of ta\n  slurry 400 mL thick\n  harvested 2026-09-08\n";
    let open = "brew a\n  wort 20 L at 1.060\n  on 2026-09-12\n    12:00 temp 18 °C, add ? water for 1.048\n";
    // Gas is asked for in all the beer that there will be.
    let end = "  on 2026-09-22 gravity 1.012\n  on 2026-09-25 gravity 1.012\n  on 2026-09-26 add ? sucrose for 2.5 vol\n";
    waits(&format!("{yeast}{open}    14:00 pitch jb 150 mL\n{end}"), "water");
    // A part is as strong as its whole, and a starter is for so much.
    waits(
        &format!("{yeast}{open}brew b\n  wort 10 L of a\n  on 2026-09-12 15:00 temp 18 °C, pitch jb ?\n"),
        "water",
    );
    let starter = "starter s\n  wort ? at 1.037\n  stirred\n  on 2026-09-10 pitch jb 10 mL\n";
    waits(&format!("{yeast}{starter}{open}    14:00 pitch s\n"), "water");
    let [sugar, air, yeast] = &asked("?")[..] else { panic!("three questions") };
    let waits = "how much sucrose is added above it? That comes first";
    assert_eq!((air.as_str(), yeast.as_str()), (waits, waits));
    let [air, yeast] = &asked(sugar)[..] else { panic!("two questions") };
    assert!(air.ends_with(" s") && yeast.ends_with(" mL"), "{air}, {yeast}");
}

/// What one step cannot do is told as a chain, with its worts and its days.
#[test]
fn two_steps_where_one_cannot_do_it() {
    let log = |method: &str| {
        format!(
            "culture y\n  kind lager\n  pack 1 × 100 B\n  made 2026-06-20\n\n\
             starter s\n  wort ? at 1.037\n{method}  on 2026-09-10  pitch y\n\n\
             brew b\n  wort 100 L at 1.060\n  on 2026-09-12 14:00  pitch s\n"
        )
    };
    let said =
        |text: &str| season(text, "").answers.iter().map(|a| a.text.clone()).collect::<Vec<_>>().join("\n");
    let stirred = said(&log("  stirred\n"));
    assert!(stirred.contains("2 steps: ") && stirred.contains("begun on 2026-09-08, then"), "{stirred}");
    assert!(stirred.contains("begun on 2026-09-10"), "{stirred}");
    // A share of a small pack, asked for directly.
    let direct = "culture y\n  kind lager\n  pack 1 × 100 B\n  made 2026-06-20\n\n\
        brew b\n  wort 200 L at 1.060\n  on 2026-09-12 14:00  pitch y ?\n";
    let direct = said(direct);
    assert!(direct.contains("all of y is too little") && direct.contains("then"), "{direct}");
}

#[test]
fn how_much_hops_a_starter_is_boiled_with() {
    // Asked of a wort of 2 L at 1.037 and hops of 5 %, ten minutes and ten IBU: 4.26 g by the published formula.
    let text = "culture y\n  kind ale\n  pack 1 × 100 B\n  made 2026-09-01\n\nstarter s\n  wort 2 L at 1.037\n  stirred\n  \
                on 2026-09-10\n    16:00  boil 10 min\n    16:10  add ? northgate hops at 5 % for 10 IBU\n    \
                18:00  pitch y\n";
    assert!(holds(text, ""));
    let (_, written) = answered(season(text, ""), "").unwrap();
    assert!(written.contains("add 4.3 g northgate hops at 5 % for 10 IBU"), "{written}");
    for (without, says) in [(" at 5 %", "at 5 %"), ("boil 10 min", "boil 10 min")] {
        let open =
            season(&text.replace(without, if without.starts_with("boil") { "temp 18 °C" } else { "" }), "");
        let [answer] = &open.answers[..] else { panic!("{:?}", open.answers) };
        assert!(answer.edit.is_none() && answer.text.contains(says), "{}", answer.text);
    }
}

/// What keeps a starter from being reckoned is named where it lies: not a kind that its strain states.
#[test]
fn what_a_starter_lacks() {
    let log = |yeast: &str, lines: &str| {
        format!(
            "strain a\n  kind ale\n\nculture y of a\n  {yeast}\n  made 2026-09-01\n\n{lines}\n\
             brew b\n  wort 20 L at 1.048\n  on 2026-09-12 14:00  pitch t ?\n"
        )
    };
    let step = "starter t\n  wort ? at 1.037\n  on 2026-09-10  pitch s\n";
    for (yeast, lines, says) in [
        (
            "slant",
            "starter t\n  wort ? at 1.037\n  on 2026-09-10  pitch y\n",
            &["(y: nobody counts a loop): write how large it is, and `count` it before it goes on"][..],
        ),
        (
            "slant",
            "starter t\n  wort 1 L at 1.037\n  on 2026-09-10  pitch y\n",
            &[
                "how much of t is not known: what is pitched into it is not known (y: nobody counts a loop): `count` it before it goes on",
            ][..],
        ),
        (
            "vial 2 × 2 mL",
            &*format!("starter s\n  wort 50 mL at 1.037\n  on 2026-09-08  pitch y 1 vial\n\n{step}"),
            &["what is pitched into it is not known (s: it comes from `y`: no `count`)"][..],
        ),
        (
            "pack 1 × 100 B",
            &*format!("starter s\n  wort 500 mL at 1.037\n  on 2026-09-08  pitch y ?\n\n{step}"),
            &[
                "how much it wants is not known: the `wort` line of t asks itself: write what it is",
                "what is pitched into it is not known",
            ][..],
        ),
    ] {
        let asking = season(&log(yeast, lines), "");
        let said: Vec<&str> = asking.answers.iter().map(|answer| answer.text.as_str()).collect();
        let said = said.join("\n");
        assert!(asking.answers.iter().all(|answer| answer.edit.is_none()), "{said}");
        assert!(says.iter().all(|says| said.contains(says)), "{lines}\n{said}");
        assert!(!said.contains("no `kind`") && !said.contains("`pack`"), "{said}");
    }
}

fn one(text: &str, settings: &str) -> barm_reckoning::Answer {
    let asking = season(text, settings);
    let [answer] = &asking.answers[..] else { panic!("{text}\n{:?}", asking.answers) };
    answer.clone()
}

/// An answer and what is said of it speak as the house does.
#[test]
fn answers_speak_the_measures_of_the_house() {
    let house = "units = \"us\"\ngravity = \"plato\"\n";
    let beer = "brew b\n  wort 20 L at 1.052\n  kind ale\n";
    for (lines, metric, us) in [
        (
            "  on 2026-09-12  add ? water for 1.048\n",
            ["1.68 L", "20 L at 1.052 to 1.048"],
            [" qt", "5.28 gal at 12.9 °P to 11.9 °P"],
        ),
        (
            "  on 2026-09-12  add ? sucrose for 1.060\n",
            [" g", "20 L at 1.052 to 1.060"],
            [" lb", "5.28 gal at 12.9 °P to 14.7 °P"],
        ),
        (
            "  on 2026-09-12  add ? sucrose for 1.090\n",
            [" kg", "20 L at 1.052 to 1.090"],
            [" lb", "5.28 gal at 12.9 °P to 21.6 °P"],
        ),
        (
            "  on 2026-09-12 temp 18 °C\n  on 2026-09-24 gravity 1.007\n  on 2026-09-27 gravity 1.007\n    bottle 19 L, ? sucrose for 2.3 vol\n",
            [" g", "was 18 °C at its warmest"],
            [" oz", "was 64.4 °F at its warmest"],
        ),
    ] {
        for (settings, [written, said]) in [("", metric), (house, us)] {
            let answer = one(&format!("{beer}{lines}"), settings);
            let edit = answer.edit.as_ref().map_or("", |edit| &*edit.text);
            assert!(edit.contains(written), "{lines}{edit}: {:?}", answer.notes);
            assert!(answer.notes.iter().any(|note| note.contains(said)), "{lines}{:?}", answer.notes);
        }
    }
}

/// Carbonation by wort that ferments in the bottle, of all the beer that there is.
#[test]
fn wort_for_a_carbonation() {
    let log = |lines: &str| {
        format!(
            "strain a\n  kind ale\n  attenuates 73..77 %\n\nculture y of a\n  pack 3 × 100 B\n  made 2026-09-01\n\n\
             brew b\n  wort 20 L at 1.048\n  on 2026-09-12 14:00  temp 18 °C, pitch y\n  on 2026-09-24  gravity 1.012\n{lines}"
        )
    };
    let done = "  on 2026-09-27  gravity 1.012\n";
    let text = log(&format!("{done}    add ? wort at 1.048 for 2.3 vol\n    bottle 20 L\n"));
    let answer = one(&text, "");
    // 77 % of 11.9 °P is 62 % of 125 g/L really gone, 0.51 g of gas to a gram: 20 volumes for each litre of wort
    // in one of beer; and it thins what the beer holds.
    assert!(answer.edit.as_ref().is_some_and(|edit| edit.text == "1.56 L"), "{answer:?}");
    let (_, written) = answered(season(&text, ""), "").unwrap();
    let gas = season(&written, "").batches[0].packages[0].carbonation().0.as_volumes();
    assert!((gas - 2.3).abs() < 0.02, "{written}{gas}");
    assert!(holds(&text, ""));
    // In the evening before, or on a day without hours.
    assert!(holds(&log(&format!("{done}    add ? sucrose for 2.4 vol\n  on 2026-09-28  bottle 20 L\n")), ""));
    for (lines, says) in [
        (format!("{done}    add ? wort for 2.3 vol\n"), "how strong is the wort? add `at 1.048`"),
        (format!("{done}    add ? wort at 1.048 for 0.5 vol\n"), "none: the beer holds"),
        (
            "  on 2026-09-16  gravity 1.020\n    add ? wort at 1.048 for 2.3 vol\n".to_owned(),
            "nothing shows that it has stopped",
        ),
    ] {
        let answer = one(&log(&lines), "");
        assert!(answer.edit.is_none() && answer.text.contains(says), "{lines}{}", answer.text);
    }
}

/// No sugar for what nobody read, where it goes on, was fed or is young; and no fix that would burst glass.
#[test]
fn no_sugar_is_weighed_for_what_nobody_read() {
    let log = |strain: &str, wort: &str, lines: &str| {
        format!(
            "strain a\n  kind ale\n{strain}\nculture y of a\n  pack 2 × 100 B\n  made 2026-09-01\n\nbrew b\n{wort}  \
             on 2026-09-12 14:00 temp 18 °C, pitch y\n{lines}"
        )
    };
    let (ale, farm) = ("  attenuates 73..77 %\n", "  attenuates 80..92 %\n  diastatic\n");
    let wort = "  wort 20 L at 1.048\n";
    let ask = "bottle 19 L, ? sucrose for 2.4 vol\n";
    for (text, says) in [
        (log(farm, wort, &format!("  on 2026-10-30 {ask}")), "nobody read how far it has come"),
        (log(farm, wort, "  on 2026-10-30 add ? sucrose for 2.4 vol\n"), "nobody read how far it has come"),
        (log(ale, wort, &format!("  on 2026-10-20 infected\n  on 2026-10-30 {ask}")), "nobody read"),
        (
            log(farm, "", &format!("  on 2026-10-28 gravity 1.004\n  on 2026-10-30 gravity 1.004, {ask}")),
            "how strong its wort was",
        ),
        (log(ale, wort, &format!("  on 2026-09-16 {ask}")), "no gravity was read in the 4 days"),
        (
            log(ale, wort, &format!("  on 2026-10-25 add 500 g honey\n  on 2026-10-30 {ask}")),
            "may not have finished",
        ),
    ] {
        let asking = season(&text, "");
        let answer = asking.answers.first().unwrap();
        assert!(answer.edit.is_none() && answer.text.contains(says), "{text}{}", answer.text);
    }
    for text in [
        log(ale, wort, &format!("  on 2026-09-30 {ask}")),
        log(ale, wort, &format!("  on 2026-09-14 add 500 g honey\n  on 2026-09-30 {ask}")),
        log(
            farm,
            wort,
            &format!("  on 2026-10-10 gravity 1.004\n  on 2026-10-28 gravity 1.004\n  on 2026-10-30 {ask}"),
        ),
    ] {
        assert!(season(&text, "").answers[0].edit.is_some(), "{text}{:?}", season(&text, "").answers);
    }
    for (wanted, is_written) in [("2.4 vol", true), ("7 vol", false), ("7 vol rated 8 vol", true)] {
        let done = "  on 2026-09-24 gravity 1.012\n  on 2026-09-27 gravity 1.012";
        let text = log(ale, wort, &format!("{done}, {}", ask.replace("2.4 vol", wanted)));
        let told = found(&season(&text, ""));
        let fixed = told.iter().any(|finding| finding.rule == "open-question" && !finding.fixes.is_empty());
        assert_eq!(fixed, is_written, "{wanted}");
    }
}

/// Dry yeast is judged by its own dose, and that is what is cited.
#[test]
fn how_much_dry_yeast_by_its_own_dose() {
    let log = "strain a\n  kind ale\n\nculture y of a\n  sachet 2 × 11 g\n\nbrew b\n  wort 20 L at 1.048\n  on 2026-09-12  pitch y ?\n";
    let answer = one(log, "");
    assert!(
        answer.notes.iter().any(|note| note == "10 g wanted: 50 g/hL of dry yeast for ale"),
        "{:?}",
        answer.notes
    );
    let little = one(&log.replace("2 × 11 g", "1 × 5 g"), "");
    assert_eq!(little.text, "all of y is too little: 10 g wanted, 5 g left");
    // A rate that is stated in cells holds for it too.
    let stated = log.replace("kind ale\n", "kind ale\n  rate 1 M/mL/°P\n");
    assert!(one(&stated, "").notes.iter().any(|note| note.contains("1 M/mL/°P")), "{:?}", one(&stated, ""));
}

/// What cannot be answered is told for what it is.
#[test]
fn why_there_is_no_answer() {
    let yeast = "strain a\n  kind ale\n\nculture y of a\n  pack 1 × 100 B\n  made 2026-09-01\n\n";
    let used = format!(
        "{yeast}brew first\n  wort 10 L at 1.048\n  on 2026-09-10  pitch y\n\nbrew b\n  wort 20 L at 1.048\n  on 2026-09-12  pitch y ?\n"
    );
    let answer = one(&used, "");
    assert_eq!(answer.text, "nothing is left of y: all of it was taken before");
    // Yeast that is added is pitched.
    let added = format!("{yeast}brew b\n  wort 10 L at 1.048\n  on 2026-09-12  add ? y\n");
    let answer = one(&added, "");
    assert_eq!(answer.edit.as_ref().map(|edit| &*edit.text), Some("1 pack"), "{answer:?}");
    assert!(found(&season(&added, "")).iter().all(|finding| finding.rule == "open-question"));
    // A starter whose size is asked has a `wort` line.
    let hops = format!(
        "{yeast}starter s\n  wort ? at 1.037\n  on 2026-09-10\n    16:00 boil 10 min\n    16:10 add ? hops at 5 % for 10 IBU\n    18:00 pitch y\n"
    );
    assert!(one(&hops, "").text.contains("asks itself"), "{}", one(&hops, "").text);
}

/// Nothing is held against a brew whose starter is still asked for.
#[test]
fn no_pitch_is_judged_beside_a_question_about_its_starter() {
    let log = "strain a\n  kind lager\n\nculture y of a\n  pack 1 × 100 B\n  made 2026-06-20\n\n\
               starter s\n  wort ? at 1.037\n  on 2026-09-10  pitch y\n\nbrew b\n  wort 100 L at 1.060\n  on 2026-09-12 14:00  pitch s\n";
    let asking = season(log, "");
    assert!(asking.answers[0].edit.is_none(), "{:?}", asking.answers);
    let rules: Vec<&str> = found(&asking).iter().map(|finding| finding.rule).collect();
    assert_eq!(rules, ["open-question"]);
}

/// A house that calls less than four times the target too much is not told to pitch more.
#[test]
fn no_more_of_a_pack_than_the_house_lets_pass() {
    let text = "strain a\n  kind ale\n\nculture y of a\n  pack 1 × 100 B\n  made 2026-09-01\n\nbrew b\n  wort 4 L at 1.040\n  \
                on 2026-09-03  pitch y ?\n";
    assert_eq!(one(text, "").edit.map(|edit| edit.text), Some("1 pack".to_owned()));
    assert!(holds(text, "[limits]\noverpitched = 2\n"));
}

/// What cannot be known is said as what it is.
#[test]
fn why_there_is_no_answer_is_the_reason() {
    let said = |lines: &str| {
        let text = format!(
            "strain a\n  kind ale\n\nculture jar of a\n  slurry 300 mL thick\n  harvested 2026-09-01\n  on 2026-09-02 boil 10 min\n\n\
             brew other\n  wort 20 L at 1.080\n\nbrew b\n  wort 20 L at 1.048\n  on 2026-09-12 14:00  {lines}\n"
        );
        one(&text, "").text
    };
    assert_eq!(said("pitch jar ?"), "nothing of jar lives");
    let what = "brings is not known: name water, a sugar, or wort with its gravity, as `wort at 1.048`";
    assert_eq!(said("add ? other for 1.050"), format!("what other {what}"));
    assert_eq!(said("add ? cherries for 1.050"), format!("what cherries {what}"));
}

/// Of wild yeast nobody says how much, whatever is pitched beside it; and what it is pitched beside is not halved by that.
#[test]
fn of_wild_yeast_beside_another_nobody_says_how_much() {
    let text = "strain a\n  kind ale\n\nstrain w\n  kind wild\n\nculture p of a\n  pack 9 × 100 B\n  made 2026-09-01\n\n\
                culture barn of w\n  pack 1 × 10 B\n  made 2026-09-01\n\n\
                brew b\n  wort 20 L at 1.048\n  on 2026-09-12 14:00  pitch p ?, pitch barn ?\n";
    let season = season(text, "");
    let said: Vec<&str> = season.answers.iter().map(|answer| answer.text.as_str()).collect();
    assert_eq!(said, ["2 packs of p", "how much it wants is not known: wild yeast has no pitching rate"]);
}

/// Packs are not opened for a tenth, and what lacks little more is no reason to begin with a starter.
#[test]
fn a_tenth_less_is_as_good() {
    let packs = |litres: &str, packs: &str| {
        let text = format!(
            "strain a\n  kind ale\n\nculture p of a\n  pack {packs} × 100 B\n  made 2026-09-12\n\n\
             brew b\n  wort {litres} L at 1.048\n  on 2026-09-12 14:00  pitch p ?\n"
        );
        let answer = one(&text, "");
        let edit = answer.edit.map(|edit| edit.text);
        (edit.clone().unwrap_or(answer.text), answer.notes.join("\n"), edit.is_none() || holds(&text, ""))
    };
    // 97 B in a pack; 11 L at 11.9 °P want 98 B, 11.9 L 106 B, 12.5 L 112 B.
    assert_eq!(packs("11", "9").0, "1 pack");
    let (taken, notes, holds) = packs("11.8", "9");
    assert!(taken == "1 pack" && holds && notes.contains("which is as good"), "{taken} {notes}");
    assert!(notes.contains("2 packs would be sure"), "{notes}");
    assert_eq!(packs("12.5", "9").0, "2 packs");
    assert_eq!(packs("11.8", "1").0, "1 pack");
    // 87 % of it are near enough where there is no more; 75 % are not.
    let (taken, notes, holds) = packs("12.5", "1");
    assert!(taken == "1 pack" && holds && notes.contains("near enough"), "{taken} {notes}");
    assert!(packs("14.5", "1").0.starts_with("all of p is too little"), "{}", packs("14.5", "1").0);
}

/// Of what is asked of several each gives its part, though packs come whole.
#[test]
fn whole_packs_leave_the_other_its_part() {
    let text = "strain a\n  kind ale\n\nstrain d\n  kind ale\n\nculture p of a\n  pack 2 × 100 B\n  made 2026-09-01\n\n\
                culture s of d\n  sachet 11 g\n\nbrew b\n  wort 20 L at 1.055\n  on 2026-09-10 14:10  pitch p ?, pitch s ?\n";
    let told = |text: &str| {
        let edits = season(text, "").answers.into_iter().filter_map(|answer| answer.edit);
        edits.map(|edit| edit.text).collect::<Vec<_>>()
    };
    // 20 L at 13.6 °P want 203 B or 10 g; a pack of 100 B holds 91 B on that day.
    assert_eq!(told(text), ["1 pack", "5.6 g"]);
    assert_eq!(told(&text.replace("pitch p ?, pitch s ?", "pitch s ?, pitch p ?")), ["5 g", "1 pack"]);
}

/// What is pitched besides counts wherever it stands.
#[test]
fn what_is_pitched_besides_counts_above_the_question_and_below_it() {
    let jars = |lines: &str| {
        let text = format!(
            "strain a\n  kind ale\n\nculture ja of a\n  slurry 300 mL thick\n  harvested 2026-09-10\n\n\
             culture jb of a\n  slurry 60 mL thick\n  harvested 2026-09-10\n\n\
             brew b\n  wort 20 L at 1.048\n  on 2026-09-12 14:00  {lines}\n"
        );
        let answer = one(&text, "");
        (answer.edit.map(|edit| edit.text), answer.text, answer.notes.join("\n"))
    };
    let above = jars("pitch jb 30 mL, pitch ja ?");
    let below = jars("pitch ja ?, pitch jb 30 mL");
    assert_eq!(below.0, above.0);
    assert_ne!(below.0, jars("pitch ja ?").0);
    assert!(below.2.contains("is pitched besides"), "{}", below.2);
    assert_eq!(jars("pitch ja ?, pitch jb").0, jars("pitch jb, pitch ja ?").0);
    assert_eq!(jars("pitch ja ?, pitch ja 200 mL").1, "none of ja: what is pitched besides is enough");
}

/// Where one jar of several is too small it gives all that it has, and the others the rest, whichever is asked first.
#[test]
fn of_several_jars_a_small_one_gives_all_that_it_has() {
    let told = |lines: &str, small: &str| {
        let text = format!(
            "strain a\n  kind ale\n\nculture ja of a\n  slurry 300 mL thick\n  harvested 2026-09-10\n\n\
             culture jb of a\n  slurry {small} thick\n  harvested 2026-09-10\n\n\
             brew b\n  wort 20 L at 1.048\n  on 2026-09-12 14:00  {lines}\n"
        );
        let mut said: Vec<String> = season(&text, "").answers.into_iter().map(|answer| answer.text).collect();
        said.sort();
        said
    };
    let [equal, small] = ["100 mL", "30 mL"].map(|small| told("pitch ja ?, pitch jb ?", small));
    assert_eq!(small, told("pitch jb ?, pitch ja ?", "30 mL"));
    assert_eq!((&*small[0], &*small[1]), ("30 mL of jb", "67 mL of ja"), "{equal:?}");
    assert_eq!((&*equal[0], &*equal[1]), ("49 mL of ja", "49 mL of jb"));
}

/// Jars that hold less than is wanted all together: all of both where that is as good, else each is grown to its part.
#[test]
fn of_jars_that_hold_too_little_together_no_part_is_grown_twice() {
    let told = |small: &str| {
        let text = format!(
            "strain a\n  kind ale\n\nculture ja of a\n  slurry 90 mL 1 B/mL\n  harvested 2026-09-12\n\n\
             culture jb of a\n  slurry {small} 1 B/mL\n  harvested 2026-09-12\n\n\
             brew b\n  wort 20 L at 1.050\n  on 2026-09-12 14:00  pitch ja ?, pitch jb ?\n"
        );
        season(&text, "").answers
    };
    let texts = |answers: &[Answer]| answers.iter().map(|answer| answer.text.clone()).collect::<Vec<_>>();
    // 186 B are wanted, and 95 % of a fresh jar lives.
    assert_eq!(texts(&told("92 mL")), ["90 mL of ja", "92 mL of jb"]);
    let grown = told("30 mL");
    assert!(texts(&grown).iter().all(|text| text.contains("is too little")), "{:?}", texts(&grown));
    let parts = grown.iter().map(|answer| answer.notes[1].split(' ').next().unwrap().parse::<f64>().unwrap());
    let parts: Vec<f64> = parts.collect();
    assert_eq!(parts, [75.0, 25.0]);
}

/// Of a jar whose count cannot be read no amount is told, and a share that is written as one of the whole is asked about.
#[test]
fn a_count_that_cannot_be_read_is_waited_for() {
    let told = |line: &str| {
        let text = format!(
            "strain a\n  kind ale\n\nculture j of a\n  slurry 300 mL thick\n  harvested 2026-09-25\n  on 2026-10-01 10:00 {line}\n\n\
             brew b\n  wort 20 L at 1.050\n  on 2026-10-01 14:10  pitch j ?\n"
        );
        let log = barm_syntax::read(&text);
        let fixes: Vec<(String, bool)> = log
            .problems
            .iter()
            .flat_map(|problem| &problem.fixes)
            .map(|fix| (fix.edits[0].text.clone(), fix.safe))
            .collect();
        let source = Source { path: "a.barm".into(), text: text.as_str().into(), log };
        let season = Season::reckon(vec![source], Settings::default());
        (season.answers[0].edit.is_some(), fixes)
    };
    assert_eq!(told("viability 85 %"), (true, Vec::new()));
    assert_eq!(told("viability 0.85"), (false, vec![("85 %".to_owned(), false)]));
    assert_eq!(told("viability 0.80..0.85"), (false, vec![("80..85 %".to_owned(), false)]));
    assert_eq!(told("count 1.0 billion/mL"), (false, vec![("B/mL".to_owned(), true)]));
    assert_eq!(told("count 1.0 bushel/mL"), (false, Vec::new()));
}

/// A brew is not called underpitched for what is still asked for.
#[test]
fn what_is_pitched_waits_for_the_rest_that_is_asked() {
    let found = |line: &str| {
        let text = format!(
            "strain a\n  kind ale\n\nculture ja of a\n  slurry 90 mL 1 B/mL\n  harvested 2026-09-12\n\n\
             culture jb of a\n  slurry 10 mL 1 B/mL\n  harvested 2026-09-12\n\n\
             brew b\n  wort 20 L at 1.050\n  on 2026-09-12 14:00  {line}\n"
        );
        let findings = barm_rules::check(&season(&text, ""), &Options::default()).findings;
        findings.iter().any(|finding| finding.rule == "underpitched")
    };
    assert!(found("pitch ja, pitch jb"));
    assert!(!found("pitch ja, pitch jb ?"));
}

/// Of a beer that works litres are asked for, they are as many as its cells, and they are beer.
#[test]
fn young_beer_is_asked_for_and_counted_by_its_volume() {
    let log = |line: &str, lines: &str| {
        format!(
            "strain a\n  kind ale\n  attenuates 75..80 %\n\nculture s of a\n  sachet 2 × 11.5 g\n\n\
             brew young\n  wort 20 L at 1.050\n  on 2026-10-01 10:10  pitch s\n  on 2026-10-03 09:00  gravity 1.030\n\
             {line}\n\n\
             brew b\n  wort 20 L at 1.050\n  on 2026-10-03 10:10  {lines}\n  on 2026-10-15 10:00  gravity 1.011, temp 18 °C\n  \
             on 2026-10-18 10:00  gravity 1.011\n  on 2026-10-20  bottle 23 L, ? sucrose for 2.4 vol\n"
        )
    };
    let asked = season(&log("", "pitch young ?"), "");
    assert_eq!(asked.answers[0].text, "4 L of young");
    // Nobody knows yet how much beer there will be.
    let shown = |season: &Season| barm_rules::check(season, &Options::default()).findings;
    assert!(!shown(&asked).iter().any(|finding| finding.rule == "overdrawn"), "{:?}", shown(&asked));
    let written = season(&log("", "pitch young 4 L"), "");
    assert!(written.answers[0].text.ends_with("g of table sugar"), "{}", written.answers[0].text);
    let live = |season: &Season| season.batches.last().unwrap().pitches[0].live.as_ref().unwrap().median();
    let taken = season(&log("  on 2026-10-03 09:10  harvest y 4 L", "pitch y"), "");
    let part = live(&taken) / live(&written);
    assert!((0.9..1.1).contains(&part), "{part}");
}

/// Two days are asked for: one to begin on, and no other is reckoned.
#[test]
fn when_a_starter_is_decanted_is_not_when_it_begins() {
    let text = "strain a\n  kind ale\n\nculture p of a\n  pack 100 B\n  made 2026-09-01\n\n\
                starter s\n  wort 2 L at 1.037\n  on ? pitch p\n  on ? decant\n\n\
                brew b\n  wort 20 L at 1.048\n  on 2026-09-12 14:00  pitch s\n";
    let season = season(text, "");
    let said: Vec<&str> = season.answers.iter().map(|answer| answer.text.as_str()).collect();
    assert_eq!(
        said,
        [
            "begin on 2026-09-10 14:00, two days before it is pitched",
            "only the day that it begins is reckoned: write the day of what is done later"
        ]
    );
}

/// The brewer named the hour at which it begins: only the day is asked, and only the day is written.
#[test]
fn the_hour_that_a_starter_begins_stands() {
    let text = |day: &str, made: &str| {
        format!(
            "strain a\n  kind ale\n\nculture p of a\n  pack 100 B\n  made {made}\n\n\
             starter s\n  wort 2 L at 1.037\n  on {day} pitch p\n\n\
             brew b\n  wort 20 L at 1.048\n  on 2026-09-12 14:00  pitch s\n"
        )
    };
    let answered = |day: &str, made: &str| {
        let answer = season(&text(day, made), "").answers.remove(0);
        (answer.text, answer.edit.unwrap().text)
    };
    let (said, put) = answered("? 18:30", "2026-09-01");
    assert_eq!(said, "begin on 2026-09-10 18:30, two days before it is pitched");
    assert_eq!(put, "2026-09-10");
    assert_eq!(answered("?", "2026-09-01").1, "2026-09-10 14:00");
    assert_eq!(answered("? 18:30", "2026-09-11").1, "2026-09-11");
    // A pack that is made at noon is not there at eight.
    let too_early = season(&text("? 08:00", "2026-09-11"), "").answers.remove(0);
    assert!(too_early.text.starts_with("no day is early enough"), "{}", too_early.text);
}

/// No starter is offered that its flask does not hold.
#[test]
fn a_starter_fits_into_its_flask() {
    let log = |holds: &str| {
        format!(
            "strain a\n  kind lager\n\nvessel flask-2\n  holds {holds}\n\nculture p of a\n  pack 1 × 100 B\n  made 2026-08-20\n\n\
             starter s\n  wort ? at 1.037\n  stirred\n  in flask-2\n  on 2026-09-08 14:00  pitch p\n\n\
             brew b\n  wort 23 L at 1.050\n  on 2026-09-10 14:00  pitch s\n"
        )
    };
    let large = one(&log("5 L"), "");
    assert!(large.edit.is_some(), "{}", large.text);
    let with_foam = one(&log("2.5 L"), "");
    assert!(
        with_foam.edit.is_some() && with_foam.notes.iter().any(|note| note.contains("foam")),
        "{with_foam:?}"
    );
    assert!(!large.notes.iter().any(|note| note.contains("foam")), "{large:?}");
    // A tenth of grace is for what is read by eye, and not for an answer.
    let nearly = one(&log("2.1 L"), "");
    assert!(nearly.edit.is_none(), "{}", nearly.text);
    let small = one(&log("2 L"), "");
    assert!(small.edit.is_none() && small.text.contains("and flask-2 holds 2 L"), "{}", small.text);
}

/// A house that reads °P is told its starters in °P.
#[test]
fn a_starter_is_as_strong_as_the_house_says_it() {
    let text = "strain a\n  kind ale\n\nculture y of a\n  pack 1 × 20 B\n  made 2026-09-01\n\n\
                brew b\n  wort 20 L at 12 °P\n  on 2026-09-12 14:00  pitch y ?\n";
    assert!(one(text, "").text.contains(" at 1.037, begun by"), "{}", one(text, "").text);
    let plato = one(text, "gravity = \"plato\"").text;
    assert!(plato.contains(" at 9.3 °P, begun by"), "{plato}");
}

/// Of a keg that nobody wrote any gas of, bottles are primed as flat beer is, and the answer says so.
#[test]
fn a_keg_without_gas_on_record_is_called_flat() {
    let notes = |keg: &str| {
        let text = format!(
            "strain a\n  kind ale\n  attenuates 73..77 %\n\nculture y of a\n  pack 2 × 100 B\n  made 2026-09-01\n\n\
             brew b\n  wort 21 L at 1.048\n  on 2026-09-12 14:00  temp 18 °C, pitch y\n\
             \x20 on 2026-09-22  gravity 1.012, temp 18 °C\n  on 2026-09-24  gravity 1.012\n    18:00  {keg}\n\
             \x20 on 2026-10-12  bottle 6 × 500 mL, ? sucrose for 2.6 vol\n"
        );
        one(&text, "").notes.join(" ")
    };
    assert!(notes("keg 19 L").contains("taken as flat"));
    assert!(!notes("keg 19 L at 0.5 bar at 4 °C").contains("taken as flat"));
}

/// Of beer of which nobody read a gravity, or whose wort nobody wrote, the answer says what would show that it has stopped.
#[test]
fn sugar_for_beer_that_nobody_read_is_answered_with_a_word_on_it() {
    let notes = |wort: &str, read: &str| {
        let text = format!(
            "strain a\n  kind ale\n  attenuates 73..77 %\n\nculture y of a\n  pack 2 × 100 B\n  made 2026-09-01\n\n\
             brew b\n{wort}  on 2026-09-12 14:00  temp 18 °C, pitch y\n{read}\
             \x20 on 2026-09-28  bottle 19 L, ? sucrose for 2.4 vol\n"
        );
        one(&text, "").notes.join(" ")
    };
    let wort = "  wort 21 L at 1.048\n";
    let stands = "  on 2026-09-24  gravity 1.012\n  on 2026-09-27  gravity 1.012\n";
    assert!(notes(wort, "").contains("Nothing shows that it has stopped"));
    assert!(notes("", "  on 2026-09-24  gravity 1.025\n").contains("Nothing shows that it has stopped"));
    assert!(!notes(wort, stands).contains("has stopped"));
}

/// A starter is not begun before its yeast is there.
#[test]
fn a_starter_waits_for_its_yeast() {
    let answer = |cells: u32, made: &str| {
        let text = format!(
            "strain a\n  kind ale\n\nculture y of a\n  pack 1 × {cells} B\n  made {made}\n\n\
             brew b\n  wort 20 L at 1.048\n  on 2026-09-12 14:00  pitch y ?\n"
        );
        one(&text, "").text
    };
    let waits = |text: &str| text.contains("begun once there is yeast for") && !text.contains("2026-");
    assert!(answer(20, "2026-09-10").ends_with(", begun by 2026-09-10"), "{}", answer(20, "2026-09-10"));
    assert!(waits(&answer(20, "2026-09-11")), "{}", answer(20, "2026-09-11"));
    assert!(answer(1, "2026-09-06").contains("begun on 2026-09-08, then"), "{}", answer(1, "2026-09-06"));
    assert!(waits(&answer(1, "2026-09-10")), "{}", answer(1, "2026-09-10"));
}

/// What went in and shows no work a day later is no part of what is pitched to save the beer.
#[test]
fn a_pitch_that_saves_a_beer_is_a_full_one() {
    let answer = |signs: &str| {
        let text = format!(
            "strain dun\n  kind ale\n\nculture p of dun\n  pack 2 × 100 B\n  made 2026-05-20\n\n\
             culture d of dun\n  sachet 2 × 11 g\n\nbrew b\n  wort 20 L at 1.048\n  on 2026-06-01 18:00\n    \
             temp 18 °C, aerate oxygen 60 s at 1 L/min, pitch p\n  {signs} pitch d ?\n"
        );
        one(&text, "").text
    };
    for stands_still in ["krausen none", "gravity 1.048", "krausen none, gravity 1.048, temp 18 °C"] {
        for then in [",", "\n    15:00"] {
            let signs = format!("on 2026-06-03 08:00 {stands_still}{then}");
            assert_eq!(answer(&signs), "10 g of d", "{signs}");
        }
    }
    // Nobody looked, it is early, it is cold, or it works.
    for signs in [
        "on 2026-06-03 08:00 note looked",
        "on 2026-06-02 08:00 krausen none",
        "on 2026-06-03 08:00 temp 10 °C, krausen none",
        "on 2026-06-03 08:00 krausen none\n    14:00 krausen rising",
        "on 2026-06-03 08:00 gravity 1.040",
    ] {
        let answer = answer(&format!("{signs}\n    15:00"));
        assert!(answer.starts_with("0.0"), "{signs}: {answer}");
    }
}

/// A sachet that is past its label is answered by what lives of it, as the bank does.
#[test]
fn dry_yeast_past_its_label_is_told_with_its_answer() {
    let notes = |label: &str| {
        let text = format!(
            "culture d\n  kind ale\n  sachet 9 × 11 g\n  best-before {label}\n\n\
             brew b\n  wort 20 L at 1.048\n  on 2026-06-01 18:00 pitch d ?\n"
        );
        one(&text, "").notes.join("; ")
    };
    assert!(!notes("2026-12").contains("label"), "{}", notes("2026-12"));
    let old = notes("2022-01");
    assert!(
        old.contains("older than its label, and about 72 % of it lives") && !old.contains("make sure"),
        "{old}"
    );
    let older = notes("2020-06");
    assert!(older.contains("make sure: "), "{older}");
}

/// A starter that stands is not offered as large as the beer.
#[test]
fn no_starter_is_offered_that_is_most_of_the_beer() {
    let text = |kind: &str| {
        let log = format!(
            "culture y\n  kind {kind}\n  pack 1 × 100 B\n  made 2026-09-01\n\
             brew b\n  wort 23 L at 1.048\n  on 2026-09-12 14:00  pitch y ?\n"
        );
        one(&log, "").text
    };
    assert!(
        text("lager").contains("a stirred starter of 2") && !text("lager").contains("standing"),
        "{}",
        text("lager")
    );
    assert!(text("ale").contains("standing"), "{}", text("ale"));
}
