//! How warm a beer is taken to have been: by what was read of it, by what was set, and by its own heat.

use barm_reckoning::{Air, Moment, Season};

use crate::{brew, season};

const YEAST: &str = "strain reed-ale\n  kind ale\n  range 17..20 °C\n  attenuates 70..75 %\n\
                     culture reed of reed-ale\n  pack 3 × 100 B\n  made 2026-02-20\n";

fn pitched(pitch: &str, lines: &str) -> Season {
    season(&format!("{YEAST}brew b\n  wort 20 L at 1.048\n  on 2026-03-01 {pitch}\n{lines}"))
}

fn hours(season: &Season, at: Moment) -> f64 {
    at.hours_since(brew(season, "b").pitched_at().unwrap())
}

#[test]
fn what_is_read_a_day_apart_is_joined_whenever_the_yeast_went_in() {
    let day = |day: u32| format!("  on 2026-03-0{day} 08:00 temp 21.2 °C\n");
    let lines: String = [2, 3, 4].map(day).concat();
    for minute in 0..60 {
        let season = pitched(&format!("12:{minute:02} pitch reed"), &lines);
        let [read, ..] = *brew(&season, "b").temperature.as_ref().unwrap().warm;
        // Two days, and the three hours that the first and the last stand for alone.
        assert!((read.early_hours - 54.0).abs() < 1e-6, "12:{minute:02} {read:?}");
    }
}

#[test]
fn the_warmest_that_is_told_is_of_what_is_judged() {
    let lines = "    22:00 temp 25 °C\n  on 2026-03-02 08:00 temp 20 °C\n";
    let told = |before: &str| {
        let log =
            format!("{YEAST}brew b\n  wort 20 L at 1.048\n  on 2026-03-01\n{before}    14:10 pitch reed\n");
        let season = season(&(log + lines));
        let found = brew(&season, "b").temperature.as_ref().unwrap();
        (found.warm[0].worst.unwrap().2, found.extremes.unwrap().1)
    };
    assert_eq!(told("    14:00 temp 29 °C\n"), (29.0, 29.0));
    assert_eq!(told("    10:00 temp 29 °C\n"), (25.0, 25.0), "hours before it was another wort");
    assert_eq!(told("    14:00 temp 66 °C\n"), (25.0, 25.0), "`hot-pitch` tells of that");
    assert_eq!(told("    13:50 temp 30 °C\n    14:00 temp 22 °C\n"), (25.0, 25.0), "chilled since");
}

/// Between the log's own readings nobody knows; a set-point that was left alone is what the beer came to.
#[test]
fn beer_that_nobody_reads_comes_to_what_was_set() {
    let warmest = |lines: &str| {
        let season = pitched("12:00 pitch reed, temp 12 °C", lines);
        brew(&season, "b").packages.first().unwrap().warmest
    };
    let bottled = "  on 2026-03-20 18:00 bottle 19 L\n";
    assert_eq!(warmest(bottled), (12.0, true));
    assert_eq!(warmest(&format!("  on 2026-03-08 set 17 °C\n{bottled}")), (17.0, true));
    assert_eq!(warmest(&format!("  on 2026-03-08 set 16..18 °C over 2 d\n{bottled}")), (17.0, true));
    let chilled = "  on 2026-03-12 crash 2 °C\n  on 2026-03-20 temp 2 °C\n    18:00 bottle 19 L\n";
    assert_eq!(warmest(&format!("  on 2026-03-08 set 17 °C\n{chilled}")), (17.0, true));
    let set_cold = "  on 2026-03-12 set 2 °C\n  on 2026-03-20 18:00 bottle 19 L\n";
    assert_eq!(warmest(&format!("  on 2026-03-08 set 17 °C\n{set_cold}")), (17.0, true));
    assert_eq!(warmest("  on 2026-03-20 12:00 set 24 °C\n    18:00 bottle 19 L\n"), (12.0, true));
    let read = "  on 2026-03-08 set 17 °C\n  on 2026-03-09 temp 14 °C\n";
    assert_eq!(warmest(&format!("{read}{bottled}")), (14.0, true), "somebody looked");
}

/// The only gravity of most beers is their last.
#[test]
fn half_is_gone_by_its_usual_course_where_the_last_gravity_is_the_first() {
    let half = |lines: &str| {
        let season = pitched("12:00 pitch reed", lines);
        let (at, is_read) = brew(&season, "b").temperature.as_ref().unwrap().half_gone;
        (hours(&season, at), is_read)
    };
    let end = "  on 2026-03-20 gravity 1.012\n";
    assert_eq!(half(""), (40.0, false));
    assert_eq!(half(end), (40.0, false));
    assert_eq!(
        half(&format!("  on 2026-03-02 krausen high\n  on 2026-03-02 20:00 krausen fallen\n{end}")),
        (32.0, false)
    );
    assert_eq!(half(&format!("  on 2026-03-04 krausen none\n{end}")), (92.0, false));
    assert_eq!(half(&format!("  on 2026-03-04 krausen rising\n{end}")), (72.0, false));
    assert_eq!(half("  on 2026-03-02 20:00 gravity 1.012\n"), (32.0, false), "done sooner than usual");
    // What fell before tells more.
    let (at, is_read) = half(&format!("  on 2026-03-05 gravity 1.036\n  on 2026-03-06 gravity 1.024\n{end}"));
    assert!(is_read && (96.0..120.0).contains(&at), "{at}");
    let (at, is_read) = half("  on 2026-03-05 gravity 1.040\n");
    assert!(is_read && at == 96.0, "not there yet: {at}");
    let season = pitched("12:00 pitch reed, temp 19 °C", end);
    let peak = brew(&season, "b").heat.peak.clone().unwrap();
    assert!((40.0..60.0).contains(&hours(&season, peak.at)), "{peak:?}");
}

#[test]
fn what_is_set_or_read_later_tells_nothing_of_the_first_days() {
    let peak = |block: &str, lines: &str| {
        let log = format!(
            "{YEAST}brew b\n  wort 20 L at 1.048\n{block}  on 2026-03-01 12:00 pitch reed, temp 18 °C\n"
        );
        brew(&season(&(log + lines)), "b").heat.peak.clone()
    };
    let air = |lines: &str| peak("", lines).map(|peak| peak.air);
    assert_eq!(air("  on 2026-03-02 ambient 18 °C\n"), Some(Air::Read));
    assert_eq!(air("  on 2026-03-11 ambient 24 °C\n"), Some(Air::AsTheWort));
    assert_eq!(air("  on 2026-03-02 set 18 °C\n"), Some(Air::Set));
    assert_eq!(air("  on 2026-03-11 set 24 °C\n"), Some(Air::AsTheWort));
    assert_eq!(peak("  hold 18 °C\n", "  on 2026-03-11 set 24 °C\n"), None);
    let alone = peak("", "").unwrap().warmest[1];
    assert_eq!(peak("", "  on 2026-03-11 set 24 °C\n").unwrap().warmest[1], alone);
    // Set in the evening: until then it is as warm as the wort was, or as it is held.
    let evening = peak("", "  on 2026-03-01 20:00 set 16 °C\n").unwrap();
    let noon = peak("", "  on 2026-03-01 12:00 set 16 °C\n").unwrap();
    assert!(evening.warmest[1] < alone - 1.0 && evening.warmest[1] > noon.warmest[1], "{evening:?}");
    // The wort that a mash is read of is not yet that of the yeast.
    let mash = season(&format!(
        "{YEAST}brew b\n  wort 20 L at 1.048\n  on 2026-03-01\n    09:00 set 66 °C, temp 66 °C\n    12:00 pitch reed\n"
    ));
    assert_eq!(brew(&mash, "b").heat.peak, None);
}

#[test]
fn cold_is_what_was_read_else_set_else_held() {
    let cold = |block: &str, lines: &str| {
        let log = format!(
            "{YEAST}brew b\n  wort 20 L at 1.048\n{block}  on 2026-03-01 12:00 pitch reed, temp 18 °C\n"
        );
        let season = season(&(log + lines));
        let batch = brew(&season, "b");
        batch.celsius_by(batch.last_event.unwrap()).unwrap()
    };
    let end = "  on 2026-03-03 krausen none\n";
    assert_eq!(cold("", end), 18.0);
    assert_eq!(cold("  hold 10 °C\n", end), 10.0);
    assert_eq!(cold("  hold 10 °C\n", &format!("  on 2026-03-02 set 8..10 °C\n{end}")), 9.0);
    assert_eq!(cold("  hold 10 °C\n", &format!("  on 2026-03-02 temp 14 °C\n{end}")), 14.0);
    assert_eq!(cold("", &format!("  on 2026-03-02 temp 14 °C\n    20:00 set 10 °C\n{end}")), 10.0);
}

#[test]
fn yeast_that_was_killed_is_dead_until_it_is_pitched_anew() {
    let killed = |lines: &str| {
        let season = pitched("12:00 temp 49 °C, pitch reed 1 pack", lines);
        brew(&season, "b").is_killed()
    };
    assert!(killed(""));
    assert!(killed("    12:10 pitch reed 1 pack\n".replace("    ", "  on 2026-03-01 ").as_str()));
    assert!(!killed("  on 2026-03-01 20:00 temp 20 °C, pitch reed 1 pack\n"));
}
