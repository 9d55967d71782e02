//! What two rules share of one bottle, levels that follow certainty, and the units of the line.

#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing, reason = "a test ends by panicking")]

use barm_reckoning::{Season, Settings, Source};
use barm_rules::{Certainty, Finding, Options, Report, check};

fn run(settings: &str, lines: &str) -> Report {
    let log = format!(
        "strain reed-ale\n  kind ale\n  range 17..20 °C\n  attenuates 73..77 %\nculture reed of reed-ale\n  pack 2 × 100 B\n  \
         made 2026-02-20\nbrew b\n  wort 21 L at 1.048\n  on 2026-03-01\n    14:00 temp 18 °C, aerate oxygen 60 s at 1 L/min\n    \
         14:20 pitch reed\n  on 2026-03-02 08:00 temp 18.2 °C, krausen rising\n{lines}"
    );
    let source = Source { path: "log.barm".into(), text: log.as_str().into(), log: barm_syntax::read(&log) };
    assert!(source.log.problems.is_empty(), "{:?}", source.log.problems);
    let settings = Settings::read(&format!("cautions = \"read\"\n{settings}"));
    check(
        &Season::reckon(vec![source], settings.unwrap_or_default()),
        &Options { explain: true, ..Options::default() },
    )
}

fn found(report: &Report) -> Vec<(&str, &str)> {
    report.findings.iter().map(|finding| (finding.rule, finding.level.word())).collect()
}

fn only(report: &Report) -> &Finding {
    assert_eq!(report.findings.len(), 1, "{:?}", found(report));
    report.findings.first().unwrap_or_else(|| panic!("nothing"))
}

#[test]
fn one_bottle_is_told_of_once_by_the_louder_rule() {
    let early = "  on 2026-03-07 10:00 gravity 1.018\n  on 2026-03-08 10:00 bottle 20 L\n";
    assert_eq!(found(&run("", early)), [("bottle-pressure", "error")]);
    let silent = run("", early).silent;
    assert!(silent.iter().any(|(rule, _, why)| *rule == "packaged-early" && why.contains("bottle-pressure")));
    // Where the one is off, the other speaks.
    assert_eq!(found(&run("[levels]\nbottle-pressure = \"off\"\n", early)), [("packaged-early", "warning")]);
    let little = "  on 2026-03-07 10:00 gravity 1.014\n  on 2026-03-08 10:00 bottle 20 L, 75 g sucrose\n";
    assert_eq!(found(&run("", little)), [("packaged-early", "warning")]);
    let off = run("[levels]\npackaged-early = \"off\"\n", little);
    assert!(matches!(found(&off)[..], [("bottle-pressure", _)]), "{:?}", found(&off));
}

#[test]
fn what_has_long_gone_unread_is_only_possible() {
    let log = "  on 2026-03-05 10:00 gravity 1.015\n  on 2026-03-14 10:00 bottle 20 L\n";
    let report = run("", log);
    let finding = only(&report);
    assert_eq!((finding.rule, finding.level.word()), ("packaged-early", "note"));
    assert_eq!(finding.certainty, Some(Certainty::Possible));
}

#[test]
fn kegs_and_casks_vent() {
    let into = |package: &str| {
        let report =
            run("", &format!("  on 2026-03-07 10:00 gravity 1.018\n  on 2026-03-08 10:00 {package}\n"));
        found(&report).iter().map(|(rule, level)| format!("{rule} {level}")).collect::<Vec<_>>()
    };
    assert_eq!(into("cask 20 L"), ["packaged-early note"]);
    assert_eq!(into("keg 20 L"), ["packaged-early note"]);
    assert!(into("keg 20 L at 0.8 bar").is_empty());
    assert!(into("keg 20 L\n    12:00 pressure 0.6 bar").is_empty());
}

#[test]
fn three_tiers_of_carbonation_and_what_is_not_sure_of_the_upper() {
    let level = |grams: u32| {
        let log = format!(
            "  on 2026-03-09 gravity 1.012\n  on 2026-03-12 10:00 gravity 1.012\n    11:00 bottle 20 L, {grams} g sucrose\n"
        );
        let report = run("", &log);
        report.findings.first().map(|finding| (finding.level.word(), finding.certainty))
    };
    // 0.88 volumes are left at 18.2 °C; 76.9 g of sucrose in 20 L give one more.
    assert_eq!(level(150), None);
    assert_eq!(level(185), Some(("note", Some(Certainty::Sure))));
    assert_eq!(level(225), Some(("warning", Some(Certainty::Sure))));
    assert_eq!(level(270), Some(("error", Some(Certainty::Sure))));
    // 4.0 volumes: as likely as not an error, and surely a warning.
    assert_eq!(level(241), Some(("warning", Some(Certainty::Sure))));
}

#[test]
fn what_the_glass_is_made_for_is_the_only_limit_then() {
    let with = |rated: &str| {
        let log = format!(
            "  on 2026-03-09 gravity 1.012\n  on 2026-03-12 10:00 gravity 1.012\n    11:00 bottle 20 L with 270 g sucrose rated {rated}\n"
        );
        found(&run("", &log)).iter().map(|(_, level)| (*level).to_owned()).collect::<Vec<_>>()
    };
    // 4.4 volumes, 6.0 bar at 30 °C.
    assert!(with("5 vol").is_empty());
    assert!(with("7 bar").is_empty());
    assert_eq!(with("4 vol"), ["error"]);
    assert_eq!(with("5 bar"), ["error"], "it holds at 20 °C, and not at 30");
}

#[test]
fn a_finding_speaks_the_units_of_its_line() {
    let bottles = "  on 2026-03-09 gravity 1.012\n  on 2026-03-12 10:00 gravity 1.012\n    11:00 bottle 5 gal, 9 oz sucrose\n";
    let report = run("", bottles);
    let message = &only(&report).message;
    assert!(message.contains("psi at 68 °F") && message.contains("psi at 86 °F"), "{message}");
}

#[test]
fn causes_are_named_with_their_figures() {
    let cold = "  on 2026-03-03 08:00 temp 13 °C\n    20:00 temp 13 °C\n  on 2026-03-04 08:00 temp 13 °C\n  \
                on 2026-03-06 10:00 gravity 1.026\n  on 2026-03-10 10:00 gravity 1.026\n";
    let report = run("", cold);
    let stalled = report.findings.iter().find(|finding| finding.rule == "stalled");
    let notes = stalled.map(|finding| finding.notes.join("\n")).unwrap_or_default();
    assert!(notes.contains("13 °C at its coldest, 4 K below its range"), "{notes}");
    assert!(notes.contains("expected to come down to about 1.011"), "{notes}");
}

#[test]
fn yeast_that_settles_early_is_named_where_that_matters() {
    let lines = |kind: &str| {
        format!(
            "  flocculates {kind}\n  on 2026-03-06 gravity 1.024\n  on 2026-03-10 gravity 1.024, taste butter\n"
        )
    };
    let said = |kind: &str| {
        let report = run("", &lines(kind));
        let notes = |rule: &str| {
            let of = report.findings.iter().filter(|finding| finding.rule == rule);
            of.flat_map(|finding| finding.notes.clone().into_iter().chain([finding.message.clone()]))
                .collect::<String>()
        };
        [notes("stalled"), notes("off-flavour")].map(|notes| notes.contains("settles early"))
    };
    assert_eq!(said("high"), [true, true]);
    assert_eq!(said("medium"), [false, false]);
}

#[test]
fn no_wild_yeast_is_hurried() {
    let log = "strain bog\n  kind wild\n  attenuates 80..95 %\nculture bog-a of bog\n  slurry 200 mL\nbrew b\n  wort 20 L at 1.048\n  \
               on 2026-03-01 12:00 temp 18 °C, aerate air 30 min, pitch bog-a\n  on 2026-03-04 krausen none\n  \
               on 2026-04-10 gravity 1.030\n  on 2026-05-10 gravity 1.030\n";
    let source = Source { path: "log.barm".into(), text: log.into(), log: barm_syntax::read(log) };
    let report = check(&Season::reckon(vec![source], Settings::default()), &Options::default());
    let told: Vec<&str> = report.findings.iter().map(|f| f.rule).filter(|rule| *rule != "caution").collect();
    assert!(!told.contains(&"slow-start") && !told.contains(&"stalled"), "{told:?}");
}

/// A beer that was seen to work, however long after pitching.
#[test]
fn what_foams_is_not_bottled_on_any_day() {
    let early = |lines: &str| {
        let findings = run("", lines).findings;
        findings.iter().find(|finding| finding.rule == "packaged-early").map(|finding| finding.level.word())
    };
    let bottled = "bottle 19 L, 110 g sucrose\n";
    let high = format!("  on 2026-03-24 krausen high\n  on 2026-03-25 {bottled}");
    assert_eq!(early(&high), Some("warning"));
    // Readings from before it foamed show nothing.
    let read = "  on 2026-03-18 gravity 1.012\n  on 2026-03-21 gravity 1.012\n";
    assert_eq!(early(&format!("{read}{high}")), Some("warning"));
    assert_eq!(early(&format!("{read}  on 2026-03-25 {bottled}")), None);
    assert_eq!(early(&format!("  on 2026-03-20 krausen high\n  on 2026-03-25 {bottled}")), None);
}

/// A point every other day is a beer that works, whichever two of its readings agree.
#[test]
fn what_falls_steadily_does_not_stand_still() {
    let early = |points: [u32; 4]| {
        let read = |(day, points): (usize, u32)| {
            format!("  on 2026-03-{} 12:00 gravity 1.0{points}\n", 16 + 2 * day)
        };
        let read: String = points.into_iter().enumerate().map(read).collect();
        let report = run("", &format!("{read}  on 2026-03-22 13:00 bottle 19 L, 110 g sucrose\n"));
        report.findings.iter().any(|finding| {
            ["packaged-early", "bottle-pressure"].contains(&finding.rule) && finding.level.word() != "note"
        })
    };
    assert!(early([20, 19, 18, 17]));
    // The last of a fall slows down, and two that are the same stand still.
    assert!(!early([40, 20, 13, 12]));
    assert!(!early([14, 13, 12, 12]));
    assert!(!early([13, 12, 13, 12]));
}

/// Wort holds no gas, however hot: what is left is what fermentation left.
#[test]
fn how_hot_the_wort_was_takes_no_gas_out_of_the_beer() {
    let gas = |hot: &str| {
        let log = format!(
            "brew b\n  wort 20 L at 1.045\n  kind ale\n  on 2026-04-02\n{hot}    16:00 temp 19 °C\n    16:10 pitch h\n  \
             on 2026-04-03 08:00 temp 20 °C\n  on 2026-04-12 gravity 1.011\n  on 2026-04-14 gravity 1.011\n    bottle 18 L, 120 g dextrose\nculture h\n  kind ale\n  sachet 11 g\n"
        );
        let source =
            Source { path: "log.barm".into(), text: log.as_str().into(), log: barm_syntax::read(&log) };
        assert!(source.log.problems.is_empty(), "{:?}", source.log.problems);
        Season::reckon(vec![source], Settings::default()).batches[0].packages[0].residual.as_volumes()
    };
    let beer = gas("");
    assert!((0.80..0.88).contains(&beer), "{beer}");
    for hot in
        ["    14:00 temp 90 °C\n", "    14:00 temp 32 °C\n", "    13:00 boil 60 min\n    14:00 temp 70 °C\n"]
    {
        assert!((gas(hot) - beer).abs() < 1e-9, "{hot}: {}", gas(hot));
    }
}

/// A forced sample that cannot be one does not show a beer as done.
#[test]
fn a_slip_in_the_forced_sample_is_not_its_end() {
    let lines = |forced: &str| {
        format!(
            "  on 2026-03-07 10:00 gravity 1.020\n    11:00 test forced {forced}\n    15:00 bottle 19 L, 110 g sucrose\n"
        )
    };
    for slip in ["1.102", "1.048", "1.024"] {
        let report = run("", &lines(slip));
        assert_eq!(found(&report), [("gravity-rose", "warning"), ("bottle-pressure", "error")], "{slip}");
    }
    assert_eq!(found(&run("", &lines("1.020"))), []);
}

/// The yeast of a pitch that asks how much is known all the same.
#[test]
fn what_is_asked_of_a_yeast_is_of_that_yeast() {
    let log = |amount: &str| {
        format!(
            "strain farm\n  kind ale\n  range 20..28 °C\n  attenuates 80..92 %\n  diastatic\nculture farm-a of farm\n  pack 100 B\n  \
             made 2026-02-01\nbrew saison\n  wort 20 L at 1.055\n  on 2026-03-01 14:20 pitch farm-a{amount}\n  \
             on 2026-03-09 gravity 1.010\n  on 2026-03-14 gravity 1.010\n    bottle 19 L, 110 g sucrose\n"
        )
    };
    let told = |amount: &str| {
        let log = log(amount);
        let source =
            Source { path: "log.barm".into(), text: log.as_str().into(), log: barm_syntax::read(&log) };
        let settings = Settings::read("cautions = \"read\"\n").unwrap();
        let report = check(&Season::reckon(vec![source], settings), &Options::default());
        report
            .findings
            .iter()
            .map(|finding| finding.rule)
            .filter(|rule| *rule != "no-aeration")
            .collect::<Vec<_>>()
    };
    assert_eq!(told(""), ["underpitched", "bottle-pressure"]);
    assert_eq!(told(" ?"), ["open-question", "bottle-pressure"]);
}

/// A keg is chilled by its brew's own name as well.
#[test]
fn a_keg_is_kept_by_the_name_of_its_brew() {
    let gas = |kept: &str| {
        let report = run(
            "",
            &format!(
                "  on 2026-03-12 10:00 gravity 1.012\n  on 2026-03-14 10:00 gravity 1.012, keg all at 2 bar\n  on 2026-03-16 {kept}\n  on 2026-03-25 bottle 4 × 500 mL\n"
            ),
        );
        found(&report).iter().map(|(rule, level)| format!("{rule} {level}")).collect::<Vec<_>>()
    };
    assert_eq!(gas("kept 4 °C"), ["bottle-pressure error"]);
    assert_eq!(gas("kept 4 °C b"), gas("kept 4 °C"));
}

/// What is done to bottles after they were filled counts, and what is told of them.
#[test]
fn bottles_are_judged_by_what_comes_later() {
    let told = |bottled: &str| {
        let done = "  on 2026-03-12 10:00 gravity 1.012\n  on 2026-03-14 10:00 gravity 1.012, ";
        let report = run("", &format!("{done}{bottled}\n"));
        found(&report).iter().map(|(rule, level)| format!("{rule} {level}")).collect::<Vec<_>>()
    };
    let nothing: [&str; 0] = [];
    let primed = "bottle all, 110 g sucrose";
    assert_eq!(told(primed), nothing);
    // Sugar once all is bottled primes again; the same sugar written below its bottles primes them.
    assert_eq!(told(&format!("{primed}\n  on 2026-04-13 add 110 g sucrose")), ["bottle-pressure warning"]);
    assert_eq!(told(&format!("{primed}\n  on 2026-04-13 add 42 × 3 g sucrose")), ["bottle-pressure warning"]);
    assert_eq!(told("bottle all\n    10:30 add 110 g sucrose"), nothing);
    assert_eq!(told("bottle 10 L, 55 g sucrose\n  on 2026-03-15 add 60 g sucrose, bottle 10 L"), nothing);
    assert_eq!(
        told("bottle 10 L, 55 g sucrose\n    11:00 keg 10 L\n  on 2026-03-15 add 60 g sucrose"),
        nothing
    );
    // The glass must hold where it is kept.
    assert_eq!(told("bottle 20 L, 110 g sucrose, rated 2.8 bar"), nothing);
    assert_eq!(told("bottle 20 L, 110 g sucrose, rated 2.8 bar, kept 45 °C"), ["bottle-pressure error"]);
    assert_eq!(
        told("bottle 20 L, 110 g sucrose, rated 2.8 bar\n  on 2026-03-30 kept 45 °C"),
        ["bottle-pressure error"]
    );
    assert_eq!(told(&format!("{primed}, kept 65 °C")), ["bottle-pressure warning", "unlikely-unit warning"]);
    assert_eq!(told(&format!("{primed}\n  on 2026-04-10 kept 150 °F")), ["bottle-pressure warning"]);
    assert_eq!(told(&format!("{primed}\n  on 2026-04-10 kept -18 °C")), ["bottle-pressure warning"]);
    assert_eq!(told(&format!("{primed}, kept 28 °C\n  on 2026-04-10 kept 1 °C")), nothing);
    // Tasters and gauges.
    assert_eq!(told(&format!("{primed}\n  on 2026-04-20 taste gushing, sour")), ["bottle-pressure warning"]);
    assert_eq!(told(&format!("{primed}\n  on 2026-04-20 taste overcarbonated")), ["bottle-pressure warning"]);
    assert_eq!(told(&format!("{primed}\n  on 2026-04-20 taste no gushing")), nothing);
    assert_eq!(told("keg all\n  on 2026-04-20 taste overcarbonated"), nothing);
    assert_eq!(
        told(&format!("{primed}\n  on 2026-04-20 temp 20 °C, pressure 4.5 bar")),
        ["bottle-pressure error"]
    );
    // What has come by the third day is not all.
    assert_eq!(
        told("bottle all, 280 g sucrose\n  on 2026-03-17 pressure 0.8 bar"),
        ["bottle-pressure error"]
    );
}

/// What follows a bottling shows that it was done; what asks a question or ends the log may be a plan.
#[test]
fn a_bottling_that_is_followed_is_no_plan() {
    let told = |later: &str| {
        let head = "strain reed-ale\n  kind ale\nculture reed of reed-ale\n  pack 2 × 100 B\n  made 2026-02-20\nbrew b\n  wort 20 L at 1.048\n";
        let log = format!(
            "{head}  on 2026-03-01 aerate oxygen 60 s at 1 L/min, pitch reed\n  on 2026-03-09 bottle 19 L, {later}\n"
        );
        let source =
            Source { path: "log.barm".into(), text: log.as_str().into(), log: barm_syntax::read(&log) };
        let settings = Settings::read("cautions = \"read\"\n").unwrap();
        let report = check(&Season::reckon(vec![source], settings), &Options::default());
        report.findings.iter().any(|finding| finding.rule == "packaged-early")
    };
    assert!(!told("110 g sucrose"));
    assert!(told("110 g sucrose\n  on 2026-04-20 taste good"));
    assert!(told("110 g sucrose\n  on 2026-03-31 kept 4 °C"));
    assert!(!told("? sucrose for 2.4 vol\n  on 2026-03-31 kept 4 °C"));
}

/// Sugar is not weighed while fruit may be at work of which nobody knows what it brings.
#[test]
fn no_sugar_is_weighed_soon_after_fruit() {
    let told = |lines: &str| {
        let done = "  on 2026-03-12 10:00 gravity 1.012\n  on 2026-03-14 10:00 gravity 1.012\n    11:00 add 4 kg frozen raspberries";
        let report = run("", &format!("{done}\n{lines}\n"));
        let asked = report.findings.iter().find(|finding| finding.rule == "open-question");
        asked.is_some_and(|finding| finding.message.contains("may not have finished"))
    };
    assert!(told("  on 2026-03-16 bottle 20 L, ? sucrose for 2.4 vol"));
    assert!(told("  on 2026-03-18 add ? sucrose for 2.4 vol"));
    assert!(!told(
        "  on 2026-03-18 gravity 1.012\n  on 2026-03-20 gravity 1.012, bottle 20 L, ? sucrose for 2.4 vol"
    ));
}

/// What falls slowly past the end of its yeast goes on from where it was read last.
#[test]
fn what_creeps_past_its_end_counts_in_the_bottle() {
    let told = |points: [&str; 3]| {
        let days = [8, 14, 18];
        let lines: String = days
            .iter()
            .zip(points)
            .map(|(day, read)| format!("  on 2026-03-{day:02} gravity {read}\n"))
            .collect();
        let report = run("", &format!("{lines}  on 2026-03-19 bottle 19 L, 130 g sucrose\n"));
        report.findings.iter().any(|finding| finding.rule == "bottle-pressure")
    };
    assert!(told(["1.012", "1.008", "1.004"]));
    assert!(told(["1.012", "1.010", "1.007"]));
    assert!(!told(["1.012", "1.012", "1.012"]));
}

/// What a beer is set or crashed to, and kept at in its bottles, is asked about where only the other scale makes sense.
#[test]
fn a_set_point_in_the_other_scale_is_asked_about() {
    let asked = |lines: &str| {
        let report = run("", lines);
        let asked = report.findings.iter().filter(|finding| finding.rule == "unlikely-unit");
        asked.map(|finding| finding.message.rsplit_once("was ").unwrap().1.to_owned()).collect::<Vec<_>>()
    };
    let read = "  on 2026-03-12 10:00 gravity 1.011\n  on 2026-03-14 10:00 gravity 1.011\n";
    assert_eq!(asked("    09:00 set 66 °C\n"), ["66 °F meant?"]);
    assert_eq!(asked("    09:00 set 18 °F\n"), ["18 °C meant?"]);
    for crash in [35, 38] {
        assert_eq!(asked(&format!("{read}    11:00 crash {crash} °C\n")), [format!("{crash} °F meant?")]);
    }
    let bottled = format!("{read}    11:00 bottle 20 L\n");
    assert_eq!(asked(&format!("{bottled}  on 2026-03-20 kept 68 °C\n")), ["68 °F meant?"]);
    for sound in ["set 30 °C", "set 64 °F", "crash 2 °C", "crash 30 °F", "crash 12 °C"] {
        assert!(asked(&format!("{read}    11:00 {sound}\n")).is_empty(), "{sound}");
    }
    assert!(asked(&format!("{bottled}  on 2026-03-20 kept 38 °C\n")).is_empty());
    // A beer that was crashed in the other scale is cold.
    let crashed = |to: &str| {
        run("", &format!("{read}    11:00 crash {to}\n  on 2026-03-18 10:00 bottle 20 L, 110 g sucrose\n"))
    };
    let others = |report: &Report| {
        let others = report.findings.iter().filter(|finding| finding.rule != "unlikely-unit");
        others.map(|finding| finding.message.clone()).collect::<Vec<_>>()
    };
    assert_eq!(others(&crashed("38 °C")), others(&crashed("38 °F")));
    // The mash is hot.
    let mash = "culture p\n  kind ale\n  pack 2 × 100 B\n  made 2026-02-20\nbrew b\n  wort 21 L at 1.048\n  \
                on 2026-03-01\n    09:00 set 66 °C\n    14:20 pitch p\n";
    let source = Source { path: "log.barm".into(), text: mash.into(), log: barm_syntax::read(mash) };
    let report = check(&Season::reckon(vec![source], Settings::default()), &Options::default());
    assert!(report.findings.iter().all(|finding| finding.rule != "unlikely-unit"), "{:?}", found(&report));
}

/// Yeast that the log itself added takes a beer further than what was pitched.
#[test]
fn what_was_added_takes_a_beer_further() {
    let told = |added: &str| {
        let lines = format!("  on 2026-03-08 10:00 {added}\n  on 2026-03-20 10:00 gravity 1.004\n");
        run("", &lines).findings.into_iter().find(|finding| finding.rule == "over-attenuated")
    };
    assert!(told("add 20 g brett-soaked oak").is_none());
    let why = |added: &str| {
        let finding = told(added).unwrap();
        (finding.notes.iter().any(|note| note.contains("likely the yeast")), finding.labels.len())
    };
    assert_eq!((why("add 1 sachet wine yeast"), why("add 5 g dead yeast")), ((true, 2), (false, 1)));
}

/// Where half a pack is left, no more of it can go in.
#[test]
fn no_more_of_a_pack_is_advised_than_is_left() {
    let notes = |pitched: &str| {
        let text = format!(
            "culture a\n  kind ale\n  pack 1 × 200 B\n  made 2026-09-01\nbrew m\n  wort 20 L at 1.048\n  \
             on 2026-09-12 18:00 pitch a {pitched}\n"
        );
        let source =
            Source { path: "log.barm".into(), text: text.as_str().into(), log: barm_syntax::read(&text) };
        let season = Season::reckon(vec![source], Settings::default());
        let report = check(&season, &Options::default());
        let short = report.findings.iter().find(|finding| finding.rule == "underpitched");
        short.unwrap_or_else(|| panic!("{pitched}")).notes.join("\n")
    };
    assert!(notes("1/2").contains("now: what is left of a\n"), "{}", notes("1/2"));
}

/// What a method can reach is told alike wherever it is told.
#[test]
fn shaking_has_one_ceiling() {
    let told = |aerated: &str| {
        let text = format!(
            "culture a\n  kind ale\n  pack 3 × 100 B\n  made 2026-09-01\nbrew m\n  wort 20 L at 1.048\n  \
             on 2026-09-12\n    14:00 temp 20 °C, aerate {aerated}\n    14:10 pitch a\n"
        );
        let source =
            Source { path: "log.barm".into(), text: text.as_str().into(), log: barm_syntax::read(&text) };
        let report = check(&Season::reckon(vec![source], Settings::default()), &Options::default());
        let found = report.findings.iter().find(|finding| finding.rule.contains("oxygen")).unwrap();
        format!("{} {}", found.message, found.notes.join(" "))
    };
    for range in ["1.6–5.6 mg/L is the most that shaking", "shaking reaches 1.6–5.6 mg/L"] {
        let text = if range.starts_with("shaking") { told("shake 2 min") } else { told("shake ?") };
        assert!(text.contains(range), "{text}");
    }
}

#[test]
fn a_sample_out_of_cold_beer_is_named_as_one() {
    let told = |later: &str| {
        let lines = format!(
            "  on 2026-03-12 gravity 1.012 at 19 °C\n    10:00 crash 2 °C\n  on 2026-03-14 {later}\n"
        );
        let report = run("", &lines);
        let rose = report.findings.iter().find(|finding| finding.rule == "gravity-rose");
        rose.map(|finding| finding.notes.join("; ")).unwrap_or_default()
    };
    for cold in ["temp 2 °C, gravity 1.014", "gravity 1.014"] {
        assert!(
            told(cold)
                .contains("a cold sample without its `at`, for it reads high (`gravity 1.014 at 2 °C`)")
        );
    }
    // It bears its temperature, or the beer was warm again.
    for other in ["gravity 1.016 at 2 °C", "temp 19 °C, gravity 1.016"] {
        assert!(told(other).contains("a warm sample without its `at`"), "{}", told(other));
    }
}

/// What a jar left of a cake is the difference of two guesses.
#[test]
fn what_a_jar_leaves_of_a_cake_has_the_range_of_both() {
    let told = |harvest: &str, pitch: &str| {
        run(
            "",
            &format!(
                "  on 2026-03-15 gravity 1.012\n    10:00 bottle 19 L, 105 g sucrose\n    11:00 harvest jar {harvest} thick\nbrew c\n  \
                 wort 21 L at 1.048\n  on 2026-03-15\n    14:00 temp 18 °C, aerate oxygen 60 s at 1 L/min\n    14:20 pitch {pitch}\n"
            ),
        )
    };
    for jar in ["400 mL", "450 mL", "500 mL"] {
        let report = told(jar, "b");
        let finding = only(&report);
        assert_eq!((finding.rule, finding.level.word()), ("underpitched", "note"), "{jar}");
        let notes = finding.notes.join("; ");
        assert!(
            finding.message.starts_with("0–") && finding.message.contains("jar may hold all"),
            "{}",
            finding.message
        );
        assert!(notes.contains("less what went into jar") && notes.contains("pitch out of jar"), "{notes}");
        let report = told(jar, "b ?");
        let asked = only(&report);
        assert!(
            asked.rule == "open-question" && asked.message.contains("pitch out of jar"),
            "{}",
            asked.message
        );
    }
    // A jar that leaves enough by any guess, and yeast that is measured once more, are no guess.
    assert_eq!(found(&told("50 mL", "b 1/3")), []);
    assert_eq!(found(&told("400 mL", "b 200 mL")), []);
    // Nothing is left of what all was taken of.
    assert!(
        found(&told("all", "b")).iter().any(|(rule, level)| (*rule, *level) == ("underpitched", "warning"))
    );
}

#[test]
fn a_gravity_that_lacks_a_zero_is_asked_about_once() {
    let told = |lines: &str| {
        let report = run("", lines);
        found(&report).iter().map(|(rule, _)| (*rule).to_owned()).collect::<Vec<_>>()
    };
    let bottled = "    10:00 bottle 19 L, 105 g sucrose\n";
    assert_eq!(
        told(&format!("  on 2026-03-12 gravity 1.012\n  on 2026-03-15 gravity 1.12\n{bottled}")),
        ["unlikely-unit"]
    );
    // With all of its digits it is another slip, and below its wort none at all.
    assert_eq!(told("  on 2026-03-12 gravity 1.090\n"), ["gravity-rose"]);
    assert_eq!(told("  on 2026-03-03 gravity 1.04\n"), Vec::<String>::new());
    // What was fed lies above its wort for that.
    let fed = told("  on 2026-03-03 10:00 add 6 kg sucrose\n    11:00 gravity 1.13\n");
    assert!(!fed.contains(&"unlikely-unit".to_owned()), "{fed:?}");
    let thin = |gravity: &str| {
        let log = format!("brew b\n  kind ale\n  wort 21 L at {gravity}\n");
        let source =
            Source { path: "log.barm".into(), text: log.as_str().into(), log: barm_syntax::read(&log) };
        let season = Season::reckon(vec![source], Settings::default());
        let wort = season.batches[0].wort.unwrap().gravity.as_specific();
        (wort * 1e4).round() / 1e4
    };
    assert_eq!((thin("1.0048"), thin("1.008"), thin("1.0125")), (1.048, 1.008, 1.0125));
}
