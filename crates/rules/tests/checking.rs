//! How rules are run: which of them, at which level, what is accepted, and how much is told.

use std::sync::Arc;

use barm_reckoning::{Season, Settings, Source};
use barm_rules::{Certainty, Level, Options, Report, check};

#[expect(clippy::unwrap_used, reason = "a test that gives bad settings is to fail")]
fn season(settings: &str, files: &[(&str, &str)]) -> Season {
    let sources = files
        .iter()
        .map(|(path, text)| Source {
            path: Arc::from(*path),
            text: Arc::from(*text),
            log: barm_syntax::read(text),
        })
        .collect();
    Season::reckon(sources, Settings::read(settings).unwrap())
}

/// With the cautions read, which any beer asks for.
fn run(log: &str, options: &Options) -> Report {
    check(&season("cautions = \"read\"", &[("log.barm", log)]), options)
}

fn found(report: &Report) -> Vec<(&str, &str)> {
    report.findings.iter().map(|finding| (finding.rule, finding.level.word())).collect()
}

/// A small pitch, a wrong word and a missing unit.
const LOG: &str = "\
strain tidemill-ale
  kind  ale
culture tide-a of tidemill-ale
  sachet  1 × 5 g
brew slack-water
  wort  23 L at 1.050
  on 2026-03-01  pitch tide-a
  on 2026-03-02  tmp 18 °C
  on 2026-03-03  temp 18
";

/// The whole small log that the language is explained by.
const SOUND: &str = "\
# Tidemill brewhouse, autumn

strain tidemill-ale
  kind         ale
  range        17..20 °C
  attenuates   73..77 %
  tolerates    9 %ABV
  flocculates  high

culture tide-a of tidemill-ale
  pack         2 × 100 B
  made         2026-08-14
  kept         4 °C

starter tide-s1
  wort         1 L at 1.037
  stirred
  on 2026-09-10 18:00  pitch tide-a 1 pack

brew slack-water-3 \"Slack Water bitter, run #3\"
  wort         21 L at 1.048
  hold         17..19 °C
  in           bucket-2
  on 2026-09-12
    13:50  temp 17.0 °C
    14:00  aerate oxygen 60 s at 1 L/min
    14:20  pitch tide-s1
  on 2026-09-13
    08:15  temp 17.8 °C, krausen rising
    ~20:00  temp 18.6 °C, gravity 1.041
  on 2026-09-15  temp 18.4 °C
  on 2026-09-21  gravity 1.012 at 18 °C
  on 2026-09-24 10:00  gravity 1.012 at 18 °C
    10:30  harvest tide-b 450 mL thick from bottom, kept 3 °C
    11:00  bottle 19 L, ? sucrose for 2.3 vol
";

#[test]
fn a_sound_brew_gives_nothing_but_its_question() {
    let report = run(SOUND, &Options::default());
    assert_eq!(found(&report), [("open-question", "note")]);
    assert_eq!(report.left_out.values().sum::<usize>(), 0);
}

#[test]
fn a_sound_brew_gives_each_caution_once_where_the_thing_is_first_done() {
    let season = season("", &[("log.barm", SOUND)]);
    let report = check(&season, &Options { select: vec!["caution".to_owned()], ..Options::default() });
    let lines: Vec<&str> = report.findings.iter().map(|finding| season.text(finding.place)).collect();
    let expected = [
        "pitch tide-a 1 pack",
        "aerate oxygen 60 s at 1 L/min",
        "pitch tide-s1",
        "harvest tide-b 450 mL thick from bottom",
    ];
    assert_eq!(lines, expected);
    for finding in &report.findings {
        let last = finding.notes.last().map(String::as_str);
        assert_eq!(last, Some("follow your local codes, the maker's instructions and licensed practice"));
    }
}

#[test]
fn findings_come_in_order_of_place() {
    let report = run(LOG, &Options::default());
    let expected = [("underpitched", "warning"), ("unknown-word", "warning"), ("missing-unit", "error")];
    assert_eq!(found(&report), expected);
}

#[test]
fn rules_are_selected_and_ignored() {
    let select = Options { select: vec!["missing-unit".to_owned()], ..Options::default() };
    assert_eq!(found(&run(LOG, &select)), [("missing-unit", "error")]);
    let ignore =
        Options { ignore: vec!["missing-unit".to_owned(), "underpitched".to_owned()], ..Options::default() };
    assert_eq!(found(&run(LOG, &ignore)), [("unknown-word", "warning")]);
}

#[test]
fn settings_set_the_level_and_certainty_still_tempers_it() {
    let settings = "cautions = \"read\"\n[levels]\nmissing-unit = \"off\"\nunknown-word = \"note\"\nunderpitched = \"error\"\n";
    let report = check(&season(settings, &[("log.barm", LOG)]), &Options::default());
    assert_eq!(found(&report), [("underpitched", "error"), ("unknown-word", "note")]);
    assert_eq!(report.switched_off, ["missing-unit"]);

    // About 61 % of the target and a wide range: possible, so a level less than asked for.
    let unsure = "strain s\n  kind ale\nculture p of s\n  pack 2 × 100 B\n  best-before 2026-06-20\n\
                  brew b\n  wort 21 L at 1.048\n  on 2026-03-01  pitch p\n";
    let report = check(&season(settings, &[("log.barm", unsure)]), &Options::default());
    assert_eq!(found(&report), [("underpitched", "warning")]);
    assert_eq!(report.findings.first().and_then(|f| f.certainty), Some(Certainty::Possible));
}

#[test]
fn an_acceptance_holds_on_its_line_below_it_and_in_its_block() {
    let at_the_end = LOG.replace("pitch tide-a\n", "pitch tide-a  # accept underpitched: on purpose\n");
    let above = LOG.replace("  on 2026-03-01", "  # accept underpitched: on purpose\n  on 2026-03-01");
    let block = LOG.replace("brew slack-water\n", "brew slack-water  # accept underpitched: on purpose\n");
    let several = LOG
        .replace("brew slack-water\n", "brew slack-water  # accept missing-unit, underpitched: on purpose\n");
    let other_block = LOG.replace(
        "culture tide-a of tidemill-ale\n",
        "culture tide-a of tidemill-ale # accept underpitched: no\n",
    );
    let rest = [("unknown-word", "warning"), ("missing-unit", "error")];
    for log in [&at_the_end, &above, &block] {
        let report = run(log, &Options::default());
        assert_eq!(found(&report), rest, "{log}");
        assert_eq!(report.accepted.len(), 1);
        let shown = run(log, &Options { no_accept: true, ..Options::default() });
        assert_eq!(shown.findings.len(), 3);
        assert_eq!(shown.accepted.len(), 1);
    }
    let report = run(&several, &Options::default());
    assert_eq!(found(&report), [("unknown-word", "warning")]);
    assert_eq!(report.accepted.len(), 2);
    let report = run(&other_block, &Options::default());
    assert_eq!(report.accepted.len(), 0);
    assert!(found(&report).contains(&("idle-acceptance", "note")), "{:?}", found(&report));
}

#[test]
fn an_acceptance_is_not_idle_while_its_rule_is_not_run() {
    let log = LOG
        .replace("1 × 5 g", "1 × 12 g")
        .replace("pitch tide-a\n", "pitch tide-a  # accept underpitched: meant\n");
    assert!(found(&run(&log, &Options::default())).contains(&("idle-acceptance", "note")));
    let ignored = Options { ignore: vec!["underpitched".to_owned()], ..Options::default() };
    assert!(!found(&run(&log, &ignored)).contains(&("idle-acceptance", "note")));
}

#[test]
fn the_order_in_which_files_are_given_does_not_matter() {
    let files = [
        ("b.barm", "brew b\n  wort 21 L at 1.048\n  on 2026-03-01  pitch p 3 packs\n"),
        ("a.barm", "culture p of s\n  pack 1 × 100 B\nculture q of s\n  pack 1 × 100 B\n"),
        ("c.barm", "strain s\n  kind ale\nculture q of s\n  pack 1 × 10 B\n"),
    ];
    let forwards = check(&season("cautions = \"read\"", &files), &Options::default());
    let mut turned = files;
    turned.reverse();
    let backwards = check(&season("cautions = \"read\"", &turned), &Options::default());
    assert_eq!(forwards.findings, backwards.findings);
    let rules: Vec<&str> = forwards.findings.iter().map(|finding| finding.rule).collect();
    assert_eq!(rules, ["overdrawn", "duplicate-name"]);
}

#[test]
fn output_is_bounded_by_line_and_by_file() {
    let one_line = format!("brew b\n  on 2026-03-01  {}\n", vec!["pitch nothing-here"; 60].join(", "));
    let report = run(&one_line, &Options::default());
    assert_eq!(report.findings.len(), 20);
    assert_eq!(report.left_out.values().sum::<usize>(), 40);

    let mut many = "brew b\n".to_owned();
    for _ in 0..250 {
        many.push_str("  on 2026-03-01  pitch nothing-here\n");
    }
    let report = run(&many, &Options::default());
    assert_eq!(report.findings.len(), 100);
    assert_eq!(report.left_out.values().sum::<usize>(), 150);
    assert!(report.findings.iter().all(|finding| finding.level == Level::Error));
}

#[test]
fn silence_has_its_reason() {
    let report = run(LOG, &Options { explain: true, ..Options::default() });
    let reason = |rule: &str| {
        report
            .silent
            .iter()
            .find(|(of, lot, _)| *of == rule && lot == "slack-water")
            .map(|(_, _, why)| why.as_str())
    };
    assert!(reason("low-oxygen").is_some_and(|why| why.contains("dry yeast")));
    assert!(reason("missing-fact").is_some_and(|why| why.contains("nothing is asked")));
}
