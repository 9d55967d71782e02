//! An answer, written in, leaves the rules about that quantity silent: over a grid of brews.

#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing, reason = "a test ends by panicking")]

use barm_reckoning::{Season, Settings, Source};
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

/// Writes every answer in; `None` where one has none. Says how many there were.
fn answered(season: &Season) -> Option<(String, usize)> {
    let mut text = season.sources[0].text.to_string();
    for answer in season.answers.iter().rev() {
        let edit = answer.edit.as_ref()?;
        text.replace_range(edit.span.range(), &edit.text);
    }
    Some((text, season.answers.len()))
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
    let Some((written, _)) = answered(&asking) else { return false };
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
const HOUSES: [&str; 2] = ["", "units = \"us\"\nelevation = \"1500 m\"\n"];

/// Runs `log` over the grid and says in how many of how many brews all was answered.
fn over_the_grid(log: impl Fn(&str, &str, &str) -> String) -> (usize, usize) {
    let (mut answered, mut all) = (0, 0);
    for kind in KINDS {
        for gravity in GRAVITIES {
            for volume in VOLUMES {
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
}

#[test]
fn how_long_to_aerate() {
    for (aerate, needs, least) in [
        ("oxygen ? at 1 L/min", "", 144),
        ("oxygen ?", "", 144),
        ("air ?", "", 36),
        ("oxygen ? at 500 mL/min", "  needs 9 ppm\n", 144),
        ("oxygen ? at 2 L/min", "  needs 14 ppm\n", 144),
        ("shake, aerate oxygen ? at 1 L/min", "", 144),
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
    assert!(stirred.contains("2 steps of") && stirred.contains("begun on 2026-09-08, then"), "{stirred}");
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
    let (written, _) = answered(&season(text, "")).unwrap();
    assert!(written.contains("add 4.3 g northgate hops at 5 % for 10 IBU"), "{written}");
    for (without, says) in [(" at 5 %", "at 5 %"), ("boil 10 min", "boil 10 min")] {
        let open =
            season(&text.replace(without, if without.starts_with("boil") { "temp 18 °C" } else { "" }), "");
        let [answer] = &open.answers[..] else { panic!("{:?}", open.answers) };
        assert!(answer.edit.is_none() && answer.text.contains(says), "{}", answer.text);
    }
}
