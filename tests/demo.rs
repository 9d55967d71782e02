//! The invented season: every rule at the heart speaks where the season means it to, and nothing else is said.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

use crate::run;

/// All that is said, cautions aside: each rule at the heart by one brew, what their tasters and watchers noticed, what one
/// infected beer touched, and the answers to a plan.
const SHOWN: &[(&str, &str)] = &[
    ("bottle-pressure", "whit-ale"),
    ("harsh-wash", "whit-a"),
    ("late-generation", "long-ebb"),
    ("low-oxygen", "drift-amber"),
    ("off-flavour", "fen-pils-1"),
    ("off-flavour", "high-summer"),
    ("off-flavour", "whit-ale"),
    ("open-question", "first-frost"),
    ("open-question", "tide-s4"),
    ("over-attenuated", "whit-ale"),
    ("overpitched", "hop-trial"),
    ("slow-start", "saltmarsh-pale"),
    ("stale-culture", "neap-bitter"),
    ("suspect", "cuckoo-ale"),
    ("suspect", "whit-a"),
    ("too-cold", "saltmarsh-pale"),
    ("too-warm", "high-summer"),
    ("underpitched", "fen-pils-1"),
    ("whole-cake", "fen-dark"),
];

fn findings(folder: &Path, args: &[&str]) -> Vec<(String, String, String)> {
    let args: Vec<&str> = ["check", "--format", "json"].iter().chain(args).copied().collect();
    let ran = run::barm(folder, &args, None);
    let json: serde_json::Value =
        serde_json::from_str(&ran.out).unwrap_or_else(|e| panic!("{e}: {}", ran.err));
    let text = |value: &serde_json::Value| value.as_str().unwrap_or("").to_owned();
    let found = json["findings"].as_array().unwrap();
    found.iter().map(|f| (text(&f["rule"]), text(&f["lot"]), text(&f["severity"]))).collect()
}

#[test]
fn each_fault_is_told_where_the_season_shows_it_and_nowhere_else() {
    let found = findings(&run::project(), &["demo-logs"]);
    let told: BTreeSet<(&str, &str)> = found
        .iter()
        .filter(|(rule, _, _)| rule != "caution")
        .map(|(rule, lot, _)| (rule.as_str(), lot.as_str()))
        .collect();
    assert_eq!(told, SHOWN.iter().copied().collect());
    assert!(found.iter().all(|(_, _, severity)| severity != "error"), "{found:?}");
}

#[test]
fn checking_the_season_ends_well_and_warns() {
    let project = run::project();
    assert_eq!(run::barm(&project, &["check", "demo-logs"], None).code, Some(0));
    assert_eq!(run::barm(&project, &["check", "demo-logs", "--fail-on", "warning"], None).code, Some(1));
}

/// Words for an error that is stated where no range is shown.
const STATED: &[&str] = &["exact", "given", "±", "whole days", "counted"];

/// By what each figure says how it was reckoned or read.
const MODELS: &[(&str, &[&str])] = &[
    ("acidity", &["as read"]),
    ("age", &["whole days"]),
    ("alcohol", &["extract balance"]),
    ("attenuation", &["fall of the gravity"]),
    ("blend-share", &["live cells"]),
    ("carbonation", &["left from fermentation"]),
    ("coldest", &["reading"]),
    ("counted", &["cells seen", "as written"]),
    ("counted-live", &["cells seen"]),
    ("days", &["whole days"]),
    ("dissolved-oxygen", &["approach to saturation", "found in practice", "measured"]),
    ("dry-yeast", &["as pitched"]),
    ("dry-yeast-wanted", &["usual dose"]),
    ("expected-attenuation", &["a blend goes"]),
    ("expected-end", &["its yeast's", "as is usual", "test forced"]),
    ("flavour-units", &["noticeable"]),
    ("generation", &["each harvest one more"]),
    ("gravity", &["as read", "refractometer"]),
    ("left", &["less what was drawn"]),
    ("live-cells", &["the live share", "counted", "alive", "grown in", "the cake of", "dry", "all pitches"]),
    ("live-share", &["loss", "counted"]),
    ("original-gravity", &["as the log states", "as measured"]),
    ("oxygen-ceiling", &["the most that"]),
    ("oxygen-wanted", &["the low end"]),
    ("pitch-rate", &["live cells by"]),
    ("pitch-ratio", &["part of what is wanted"]),
    ("pitched", &["measured out"]),
    ("pressure-20", &["in balance"]),
    ("pressure-30", &["in balance"]),
    ("strength", &["sucrose tables"]),
    ("survives-sprinkling", &["sprinkled on"]),
    ("target-cells", &["M/mL"]),
    ("too-cold", &["degree-hours"]),
    ("too-warm", &["degree-hours"]),
    ("warmest", &["reading"]),
    ("wort-volume", &["as the log states", "as measured"]),
];

#[test]
fn the_season_is_set_as_it_would_be() {
    assert_eq!(run::barm(&run::project(), &["fmt", "--check", "demo-logs"], None).code, Some(0));
}

#[test]
fn every_figure_of_the_season_says_its_range_and_its_model() {
    let ran = run::barm(&run::project(), &["figures", "demo-logs", "--format", "json"], None);
    let json: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
    let mut seen = 0;
    for lot in json["lots"].as_array().unwrap() {
        for figure in lot["figures"].as_array().unwrap() {
            seen += 1;
            let (name, from) = (figure["name"].as_str().unwrap(), figure["from"].as_str().unwrap());
            let models = MODELS.iter().find(|(of, _)| *of == name).map(|(_, words)| *words);
            let models = models.unwrap_or_else(|| panic!("nobody says by what {name} is known"));
            assert!(models.iter().any(|word| from.contains(word)), "no model: {figure}");
            let (low, high) = (figure["low"].as_f64().unwrap(), figure["high"].as_f64().unwrap());
            let stated = STATED.iter().any(|word| from.contains(word));
            assert!(high > low || stated, "neither a range nor a word on its error: {figure}");
        }
    }
    assert!(seen > 200, "{seen}");
}

#[test]
fn every_figure_is_printed_with_its_range_or_a_word_on_its_error() {
    let ran = run::barm(&run::project(), &["figures", "demo-logs"], None);
    let printed =
        ran.out.lines().filter(|line| line.starts_with("  ") && !line.starts_with("  not reckoned"));
    let is_range = |word: &str| {
        word.split_once('–')
            .is_some_and(|(low, high)| low.parse::<f64>().is_ok() && high.parse::<f64>().is_ok())
    };
    let mut seen = 0;
    for line in printed {
        seen += 1;
        let ranged = line.split_whitespace().any(is_range);
        assert!(ranged || STATED.iter().any(|word| line.contains(word)), "{line}");
    }
    assert!(seen > 200, "{seen}");
}

#[test]
fn a_file_that_goes_missing_is_told_and_the_rest_is_reckoned() {
    let project = run::project();
    let all = [
        "yeast.barm",
        "ales/spring.barm",
        "ales/summer.barm",
        "ales/autumn.barm",
        "ales/early-summer.barm",
        "ales/lock.barm",
        "ales/millrace-us.barm",
        "ales/strong.barm",
        "ales/winter.barm",
        "lagers/autumn.barm",
        "lagers/spring.barm",
        "wood/cask.barm",
        "plan.barm",
    ];
    for gone in &all {
        let folder = tempfile::tempdir().unwrap();
        for name in all.iter().filter(|name| *name != gone).chain(&["barm.toml", "ales/bucket-3.csv"]) {
            let to = folder.path().join(name);
            fs::create_dir_all(to.parent().unwrap()).unwrap();
            fs::copy(project.join("demo-logs").join(name), to).unwrap();
        }
        let ran = run::barm(folder.path(), &["check"], None);
        assert!(!ran.err.contains("panicked"), "{gone}: {}", ran.err);
        let found = findings(folder.path(), &[]);
        let unknown = found.iter().filter(|(rule, _, _)| rule == "unknown-name").count();
        let needed = matches!(*gone, "yeast.barm" | "ales/spring.barm");
        assert_eq!(unknown > 0, needed, "{gone}: {found:?}");
        // What does not hang on the file is judged as before.
        if *gone != "lagers/spring.barm" && *gone != "yeast.barm" {
            assert!(
                found.iter().any(|(rule, lot, _)| rule == "underpitched" && lot == "fen-pils-1"),
                "{gone}"
            );
        }
    }
}
