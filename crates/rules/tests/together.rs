//! What two rules would say of one thing is said once, whichever of them says it.

#![allow(clippy::panic, clippy::indexing_slicing, reason = "a test ends by panicking")]

use std::sync::Arc;

use barm_reckoning::{Season, Settings, Source};
use barm_rules::{Finding, Level, Options, Report};

const STRAIN: &str = "strain reed-ale\n  kind ale\n";

fn run(log: &str, settings: &str) -> Report {
    let source = Source { path: Arc::from("log.barm"), text: Arc::from(log), log: barm_syntax::read(log) };
    let settings = Settings::read(settings).unwrap_or_default();
    // Any beer asks for some of the usual cautions.
    let options = Options { ignore: vec!["caution".to_owned()], explain: true, ..Options::default() };
    barm_rules::check(&Season::reckon(vec![source], settings), &options)
}

fn told(report: &Report) -> Vec<(&'static str, Level)> {
    report.findings.iter().map(|f| (f.rule, f.level)).collect()
}

fn notes<'r>(report: &'r Report, rule: &str) -> Vec<&'r str> {
    let finding: Option<&Finding> = report.findings.iter().find(|f| f.rule == rule);
    finding.map_or(Vec::new(), |f| f.notes.iter().map(String::as_str).collect())
}

/// A jar of so many mL and days, pitched into 20 L.
fn jar(millilitres: u32, harvested: &str, wort: &str) -> String {
    format!(
        "{STRAIN}\nculture jar of reed-ale\n  slurry {millilitres} mL thick\n  harvested {harvested}\n\n\
         brew ebb\n  wort {wort}\n  on 2026-03-01 pitch jar\n"
    )
}

#[test]
fn an_old_jar_of_which_there_is_too_little_is_one_warning() {
    let report = run(&jar(40, "2026-01-20", "20 L at 1.050"), "");
    assert_eq!(told(&report), [("underpitched", Level::Warning)]);
    assert!(notes(&report, "underpitched").iter().any(|n| n.starts_with("stale: 40 days")), "{report:?}");
    let silent = report.silent.iter().find(|(rule, ..)| *rule == "stale-culture");
    assert!(silent.is_some_and(|(_, _, why)| why.starts_with("told with underpitched")), "{silent:?}");
}

#[test]
fn the_worse_of_the_two_speaks() {
    // 40 days are a warning; that there is too little is only possible, and so a note.
    let log = jar(95, "2026-01-20", "20 L at 1.038");
    let report = run(&log, "");
    assert_eq!(told(&report), [("stale-culture", Level::Warning)]);
    assert!(
        notes(&report, "stale-culture").iter().any(|n| n.starts_with("and little of it: ")),
        "{report:?}"
    );
    // Whoever switches the one off hears the other.
    let report = run(&log, "[levels]\nstale-culture = \"off\"\n");
    assert_eq!(told(&report), [("underpitched", Level::Note)]);
    let report = run(&log, "[levels]\nunderpitched = \"off\"\n");
    assert_eq!(told(&report), [("stale-culture", Level::Warning)]);
}

#[test]
fn either_alone_says_nothing_of_the_other() {
    let old = run(&jar(600, "2026-01-20", "20 L at 1.050"), "[limits]\noverpitched = 100\n");
    assert_eq!(told(&old), [("stale-culture", Level::Warning)]);
    assert!(!notes(&old, "stale-culture").iter().any(|n| n.contains("little of it")));
    let few = run(&jar(20, "2026-02-28", "20 L at 1.050"), "");
    assert_eq!(told(&few), [("underpitched", Level::Warning)]);
    assert!(!notes(&few, "underpitched").iter().any(|n| n.contains("stale")));
}

#[test]
fn warmth_is_told_with_what_it_did() {
    let log = jar(40, "2026-02-10", "20 L at 1.050").replace("  harvested", "  kept 22 °C\n  harvested");
    let report = run(&log, "");
    assert_eq!(told(&report), [("underpitched", Level::Warning)]);
    assert!(notes(&report, "underpitched").iter().any(|n| n.contains("above 10 °C")), "{report:?}");
}

#[test]
fn a_count_without_its_dilution_is_named_beside_what_comes_of_it() {
    let log = jar(300, "2026-02-20", "20 L at 1.050")
        .replace("\n\nbrew", "\n  on 2026-02-28 count 5 squares 180 live 4 dead\n\nbrew");
    let report = run(&log, "");
    assert_eq!(told(&report), [("thin-count", Level::Note), ("underpitched", Level::Warning)]);
    assert!(notes(&report, "underpitched").iter().any(|n| n.contains("names no dilution")), "{report:?}");
}

#[test]
fn a_question_that_no_time_answers_is_told_once() {
    let log = "strain reed-ale\n  kind ale\n\nculture a of reed-ale\n  pack 2 × 100 B\n  made 2026-02-20\n\n\
               brew ebb\n  wort 20 L at 1.050\n  on 2026-03-01\n    13:00 aerate shake ?\n    13:30 pitch a\n";
    assert_eq!(told(&run(log, "")), [("oxygen-ceiling", Level::Note)]);
    let off = run(log, "[levels]\noxygen-ceiling = \"off\"\n");
    assert_eq!(told(&off), [("open-question", Level::Note)]);
}

#[test]
fn a_jar_of_warm_days_is_told_at_its_first_pitch_only() {
    let log = format!(
        "{STRAIN}\nculture jar of reed-ale\n  slurry 600 mL thick\n  harvested 2026-02-20\n  kept 14 °C\n  \
         on 2026-02-23 kept 3 °C\n\nbrew late\n  wort 20 L at 1.050\n  on 2026-02-28 pitch jar 150 mL\n\n\
         brew early\n  wort 20 L at 1.050\n  on 2026-02-26 pitch jar 150 mL\n"
    );
    let report = run(&log, "");
    let lots: Vec<Option<&str>> = report.findings.iter().map(|f| f.lot.as_deref()).collect();
    assert_eq!((told(&report), lots), (vec![("warm-storage", Level::Note)], vec![Some("early")]));
}

#[test]
fn a_line_grown_old_in_days_and_brews_at_once_is_one_note() {
    let mut log =
        "strain reed-ale\n  kind ale\n  reuse 2 generations\n\nculture a of reed-ale\n  pack 2 × 100 B\n  \
                   made 2026-01-02\n"
            .to_owned();
    let rows = [
        ("b0", "2026-01-05", "a", "2026-01-25", "j1"),
        ("b1", "2026-01-28", "j1 120 mL", "2026-02-15", "j2"),
        ("b2", "2026-02-18", "j2 120 mL", "2026-03-08", "j3"),
        ("b3", "2026-03-10", "j3 120 mL", "2026-03-28", "j4"),
        ("b4", "2026-03-30", "j4 120 mL", "2026-04-15", "j5"),
    ];
    for (name, day, pitch, later, harvest) in rows {
        log.push_str(&format!(
            "\nbrew {name}\n  wort 20 L at 1.044\n  on {day} pitch {pitch}\n  on {later} harvest {harvest} 400 mL thick\n"
        ));
    }
    let report = run(&log, "");
    assert_eq!(told(&report), [("late-generation", Level::Note)], "{report:?}");
    assert!(notes(&report, "late-generation").iter().any(|n| n.contains("64 days")), "{report:?}");
    // And by days alone, at the first brew that crosses the limit.
    let report = run(&log.replace("reuse 2", "reuse 9"), "");
    assert_eq!(told(&report), [("old-line", Level::Note)], "{report:?}");
    assert_eq!(report.findings.first().and_then(|f| f.lot.as_deref()), Some("b3"));
}

/// A bottling a year too early says so once, and what to write.
#[test]
fn a_year_written_a_year_early_is_mended() {
    let log = format!(
        "{STRAIN}\nculture p of reed-ale\n  pack 3 × 100 B\n  made 2026-02-25\n\n\
         brew b\n  wort 20 L at 1.048\n  on 2026-12-20 12:00 pitch p\n  on 2026-12-30 gravity 1.012\n  \
         on 2026-01-03 bottle 19 L\n"
    );
    let report = run(&log, "");
    let finding = report.findings.iter().find(|finding| finding.rule == "time-runs-back").unwrap();
    assert!(finding.message.ends_with("bottled 351 days before its yeast was pitched"), "{finding:?}");
    let [fix] = &finding.fixes[..] else { panic!("{finding:?}") };
    assert_eq!((fix.title.as_str(), fix.safe), ("write `2027-01-03`", false));
}

#[test]
fn what_oxygen_a_part_wants_is_reckoned_for_the_part() {
    let log = format!(
        "{STRAIN}\nculture p of reed-ale\n  pack 3 × 100 B\n  made 2026-02-25\n\n\
         brew whole\n  wort 40 L at 1.060\n  on 2026-03-01 11:00 temp 18 °C, aerate shake 2 min\n\n\
         brew part\n  wort 10 L of whole\n  on 2026-03-01\n    12:00 add 1 kg sucrose\n    12:10 temp 18 °C, pitch p\n"
    );
    let report = run(&log, "");
    let told = notes(&report, "low-oxygen");
    let pure = told.iter().find(|note| note.contains("pure oxygen")).unwrap_or(&"");
    assert!(pure.contains("reaches 10 mg/L"), "{told:?}");
    // As long as a wort of that size of its own.
    let alone = log.replace(
        "wort 10 L of whole\n  on 2026-03-01\n",
        "wort 10 L at 1.060\n  on 2026-03-01\n    11:00 temp 18 °C, aerate shake 2 min\n",
    );
    let alone = run(&alone, "");
    assert!(notes(&alone, "low-oxygen").contains(pure), "{pure}: {:?}", notes(&alone, "low-oxygen"));
}

#[test]
fn what_to_do_with_a_full_keg_is_not_what_one_does_with_bottles() {
    let notes_on = |line: &str| {
        let log = format!(
            "{STRAIN}  attenuates 73..77 %\n\nculture p of reed-ale\n  pack 3 × 100 B\n  made 2026-02-25\n\n\
             brew b\n  wort 20 L at 1.048\n  on 2026-03-01 12:00 temp 18 °C, pitch p\n  on 2026-03-10 gravity 1.012\n  \
             on 2026-03-13 gravity 1.012\n  on 2026-03-14 {line}\n"
        );
        notes(&run(&log, ""), "bottle-pressure").iter().map(|note| (*note).to_owned()).collect::<Vec<_>>()
    };
    let keg = notes_on("keg 19 L, 300 g sucrose rated 3 vol");
    assert!(keg.iter().any(|note| note.contains("relief valve")), "{keg:?}");
    assert!(!keg.iter().any(|note| note.contains("bottles that")), "{keg:?}");
    let bottle = notes_on("bottle 19 L, 300 g sucrose");
    assert!(bottle.iter().any(|note| note.contains("bottles that hold too much burst")), "{bottle:?}");
}

#[test]
fn of_yeast_that_an_earlier_brew_took_it_is_said_who_took_it() {
    let log = format!(
        "{STRAIN}\nculture p of reed-ale\n  pack 2 × 100 B\n  made 2026-02-25\n\n\
         brew one\n  wort 20 L at 1.048\n  on 2026-03-01 pitch p\n\nbrew two\n  wort 20 L at 1.048\n  on 2026-03-02 pitch p\n"
    );
    let report = run(&log, "");
    let [finding] = &report.findings[..] else { panic!("{:?}", told(&report)) };
    assert!(finding.message.starts_with("nothing was left of p to pitch"), "{}", finding.message);
    let taken = finding.labels.iter().any(|label| label.text == "the last of it was taken here");
    assert!(taken, "{:?}", finding.labels);
}

#[test]
fn a_finding_speaks_as_its_line_does_and_else_as_the_house_does() {
    let house = "units = \"us\"\ngravity = \"plato\"\n";
    let log = |volume: &str| {
        format!(
            "{STRAIN}\nculture jar of reed-ale\n  slurry 300 mL thick\n  harvested 2026-02-25\n\n\
             brew b\n  wort 20 L at 1.048\n  on 2026-03-01 pitch jar {volume}\n"
        )
    };
    let said = |volume: &str, settings: &str| {
        let report = run(&log(volume), settings);
        report.findings.iter().find(|f| f.rule == "overdrawn").map(|f| f.message.clone()).unwrap_or_default()
    };
    assert_eq!(said("500 mL", ""), "500 mL taken from `jar` with 300 mL left");
    assert_eq!(said("500 mL", house), "500 mL taken from `jar` with 300 mL left");
    assert_eq!(said("17 fl-oz", ""), "17 fl-oz taken from `jar` with 10.1 fl-oz left");
    let cold = format!(
        "{STRAIN}\nculture p of reed-ale\n  pack 1 × 100 B\n  made 2026-01-25\n\nbrew b\n  wort 20 L at 1.048\n  on 2026-03-01 pitch p\n"
    );
    let kept = |settings: &str| notes(&run(&cold, settings), "underpitched").join("\n");
    assert!(kept("").contains("days at 4 °C"), "{}", kept(""));
    assert!(kept(house).contains("days at 39.2 °F"), "{}", kept(house));
}

#[test]
fn one_slip_in_an_amount_is_one_error() {
    let log = format!(
        "{STRAIN}\nculture jar of reed-ale\n  slurry 100 mL thick\n  harvested 2026-02-25\n\n\
         brew b\n  wort 5 L at 1.040\n  on 2026-03-01 pitch jar 300 mL\n"
    );
    assert_eq!(told(&run(&log, "")), [("overdrawn", Level::Error)]);
    let enough = log.replace("slurry 100 mL", "slurry 400 mL");
    assert_eq!(told(&run(&enough, "")), [("overpitched", Level::Note)]);
}

#[test]
fn of_what_was_boiled_no_range_is_told() {
    let log =
        jar(200, "2026-02-25", "20 L at 1.048").replace("\n\nbrew", "\n  on 2026-02-27 boil 10 min\n\nbrew");
    let report = run(&log, "");
    assert!(
        report.findings.iter().any(|f| f.message == "nothing of it alive when it was pitched"),
        "{:?}",
        report.findings
    );
}
