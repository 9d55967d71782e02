//! How stock and ranges ran over time.

use barm_reckoning::{Course, Season, StockCourse, Verdict};

use crate::season;

fn stock<'c>(season: &Season, course: &'c Course, name: &str) -> &'c StockCourse {
    let lot = season.names.lot(name).unwrap();
    course.stocks.iter().find(|stock| stock.lot == lot).unwrap()
}

const JAR: &str = "\
culture jar
  kind ale
  slurry 400 mL thick
  harvested 2026-03-01
  kept 4 °C
  on 2026-03-11 08:00 viability 60 %

brew one
  wort 20 L at 1.048
  on 2026-03-06 12:00 pitch jar 100 mL

brew two
  wort 20 L at 1.048
  on 2026-03-21 12:00 pitch jar
  on 2026-03-31 gravity 1.012
";

#[test]
fn a_measurement_ends_one_stretch_and_begins_the_next() {
    let season = season(JAR);
    let course = season.course(None);
    let jar = stock(&season, &course, "jar");
    assert_eq!(jar.stretches.len(), 2);
    let first = &jar.stretches[0];
    let second = &jar.stretches[1];
    assert_eq!(first.last().unwrap().0, second[0].0);
    assert_eq!(second[0].0.to_string(), "2026-03-11 08:00");
    assert!((second[0].1.median() - 0.6).abs() < 1e-9, "as measured");
    for stretch in &jar.stretches {
        assert!(stretch.is_sorted_by(|a, b| a.0 < b.0 && a.1.median() >= b.1.median()), "it only dies");
    }
}

#[test]
fn what_was_drawn_is_what_the_brews_were_given() {
    let season = season(JAR);
    let course = season.course(None);
    let jar = stock(&season, &course, "jar");
    let draws: Vec<_> =
        jar.draws.iter().map(|draw| (draw.taken.round(), draw.left.round(), draw.unit)).collect();
    assert_eq!(draws, [(100.0, 300.0, "mL"), (300.0, 0.0, "mL")]);
    for (draw, name) in jar.draws.iter().zip(["one", "two"]) {
        let lot = season.names.lot(name).unwrap();
        assert_eq!(draw.into, Some(lot));
        let pitched = season.batch(lot).unwrap().pitches[0].live_share.clone().unwrap();
        assert!((draw.live_share.median() - pitched.median()).abs() < 1e-12, "{name}");
    }
    assert_eq!(jar.emptied.unwrap().to_string(), "2026-03-21 12:00");
    let end = jar.stretches.last().unwrap().last().unwrap();
    assert_eq!(end.0, jar.emptied.unwrap(), "the curve ends with the jar");
}

#[test]
fn a_course_ends_with_the_day_asked_for() {
    let season = season(JAR);
    let course = season.course(Some("2026-03-08".parse().unwrap()));
    let jar = stock(&season, &course, "jar");
    assert_eq!((jar.stretches.len(), jar.draws.len(), jar.emptied), (1, 1, None));
    assert_eq!(jar.stretches[0].last().unwrap().0.to_string(), "2026-03-08 23:59");
    assert!(season.course(Some("2026-02-01".parse().unwrap())).stocks.is_empty());
}

#[test]
fn the_course_and_the_bank_agree() {
    let season = season(&JAR.replace("pitch jar\n", "pitch jar 100 mL\n"));
    let course = season.course(None);
    let jar = stock(&season, &course, "jar");
    let bank = season.bank(None, None).unwrap();
    let banked = bank.lots.iter().find(|lot| lot.name == "jar").unwrap();
    let end = &jar.stretches.last().unwrap().last().unwrap().1;
    let share = banked.live_share.as_ref().unwrap();
    assert!((end.median() * 100.0 - share.value).abs() < 1e-9, "{} {}", end.median(), share.value);
}

#[test]
fn a_range_has_a_corner_wherever_it_turns() {
    let season = season(
        "brew b\n  kind ale\n  wort 20 L at 1.048\n  on 2026-03-01 12:00 set 15 °C, pitch jar 300 mL, temp 19 °C\n  on 2026-03-02 12:00 set 22..24 °C over 12 h\n  on 2026-03-03 00:00 set 18 °C\nculture jar\n  kind ale\n  range 17..20 °C\n  slurry 1 L\n  harvested 2026-02-27\n",
    );
    let course = season.course(None);
    let range = &course.ranges[&season.names.lot("b").unwrap()];
    let corners: Vec<(String, (f64, f64))> =
        range.corners.iter().map(|(at, range)| (at.to_string(), *range)).collect();
    // What is set beyond the range widens it at once; inside it narrows nothing, and the beer has a day to come back.
    let expected = [
        ("2026-03-01 12:00", (14.0, 20.0)),
        ("2026-03-02 12:00", (14.0, 20.0)),
        ("2026-03-02 12:00", (14.0, 24.0)),
        ("2026-03-03 00:00", (15.5, 24.0)),
        ("2026-03-03 00:00", (15.5, 24.0)),
        ("2026-03-04 00:00", (17.0, 20.0)),
        ("2026-03-04 12:00", (17.0, 20.0)),
    ];
    assert_eq!(corners, expected.map(|(at, range)| (at.to_owned(), range)));
    assert_eq!(range.judged.1.to_string(), "2026-03-04 12:00", "three days without a gravity");
}

#[test]
fn descent_suspicion_and_taste_are_told() {
    let season = season(
        "culture jar\n  kind ale\n  slurry 1 L\n  harvested 2026-02-27\nbrew a\n  wort 20 L at 1.048\n  on 2026-03-01 pitch jar 300 mL\n  on 2026-03-10 infected, harvest next 300 mL\n    taste sour, a little smoke, poor\nbrew b\n  wort 20 L at 1.048\n  on 2026-03-12 pitch next\n    taste Good\n",
    );
    let lot = |name| season.names.lot(name).unwrap();
    let course = season.course(None);
    let pairs: Vec<_> = course.descents.iter().copied().collect();
    for pair in [("jar", "a"), ("a", "next"), ("next", "b")] {
        assert!(pairs.contains(&(lot(pair.0), lot(pair.1))), "{pair:?}");
    }
    assert_eq!(pairs.len(), 3);
    assert_eq!(course.infected.into_iter().collect::<Vec<_>>(), [lot("a")]);
    assert!(course.suspect.contains(&lot("b")) && !course.suspect.contains(&lot("jar")));
    let taste = season.taste(lot("a"));
    assert_eq!(
        (taste.words.as_slice(), taste.verdict),
        (&["sour".to_owned(), "a little smoke".to_owned()][..], Some(Verdict::Poor))
    );
    assert_eq!(season.taste(lot("b")).verdict, Some(Verdict::Good));
    assert_eq!(season.taste(lot("jar")), Default::default());
    assert_eq!([season.generation(lot("a")), season.generation(lot("next"))], [None, None], "nothing says");
}
