//! Lots in time over several files: stock, age, generation, order, and what must be found without hurting the rest.

use barm_reckoning::{Fault, Season, Settings};

use crate::{brew, source};

fn season(files: &[(&str, &str)]) -> Season {
    Season::reckon(files.iter().map(|(path, text)| source(path, text)).collect(), Settings::default())
}

const YEAST: &str = "strain reed-ale\n  kind ale\n  range 17..20 °C\n  attenuates 73..77 %\n";

/// Ten files, each with a brew, that draw 100 mL each from one jar of 1 L, a week apart.
#[test]
fn ten_brews_on_one_jar() {
    let mut files = vec![(
        "yeast.barm".to_owned(),
        format!(
            "{YEAST}\nculture jar of reed-ale\n  slurry 1 L thick\n  harvested 2026-01-01\n  generation 2\n"
        ),
    )];
    for i in 0..10 {
        let day = 5 + i;
        files.push((
            format!("brew-{i}.barm"),
            format!("brew b{i}\n  wort 20 L at 1.048\n  on 2026-01-{day:02}\n    12:00 pitch jar 100 mL\n"),
        ));
    }
    let files: Vec<(&str, &str)> = files.iter().map(|(p, t)| (p.as_str(), t.as_str())).collect();
    let season = season(&files);
    assert!(season.faults.is_empty(), "{:?}", season.faults);
    let mut last_share = 1.0;
    for i in 0..10 {
        let pitch = &brew(&season, &format!("b{i}")).pitches[0];
        assert!(
            (pitch.left_after - (900.0 - 100.0 * f64::from(i))).abs() < 1e-6,
            "{i}: {}",
            pitch.left_after
        );
        // Harvested at noon on 1 January: k = 0.020 a day at 4 °C (the settings' refrigerator), 95 % alive at harvest.
        let days = 4.0 + f64::from(i);
        assert!((pitch.age_days.unwrap() - days).abs() < 1e-9);
        let share = pitch.live_share.as_ref().unwrap().median();
        assert!((share - 0.95 * (-0.020 * days).exp()).abs() < 0.005, "{i}: {share}");
        assert!(share < last_share);
        last_share = share;
        assert_eq!(pitch.generation, Some(2));
        // 2.4 B/mL thick, 15 % of it no yeast.
        let total = pitch.total.as_ref().unwrap().median();
        assert!((total / 1e9 - 100.0 * 2.4 * 0.85).abs() < 1.0, "{total}");
    }
    // Two draws from one jar are uncertain together: their ratio is nearly exact.
    let cells = |name: &str| brew(&season, name).pitches[0].live.clone().unwrap();
    let ratio = cells("b0") / cells("b1");
    assert!(ratio.spread() < 0.02, "{}", ratio.spread());
    assert!(cells("b0").spread() > 0.15);
}

#[test]
fn an_eleventh_brew_finds_the_jar_empty() {
    let season = season(&[(
        "a.barm",
        "culture jar\n  kind ale\n  slurry 500 mL thick\n  harvested 2026-01-01\n\n\
         brew one\n  wort 20 L at 1.048\n  on 2026-01-03 pitch jar 300 mL\n\n\
         brew two\n  wort 20 L at 1.048\n  on 2026-01-04 pitch jar 300 mL\n",
    )]);
    match season.faults.as_slice() {
        [Fault::Overdrawn { taken, left, unit: "mL", .. }] => {
            assert!((taken - 300.0).abs() < 1e-6 && (left - 200.0).abs() < 1e-6);
        }
        other => panic!("{other:?}"),
    }
}

/// A harvest is one generation above what was pitched; a starter adds none; a culture block only divides the jar.
#[test]
fn generations_through_four_brews() {
    let mut text = format!("{YEAST}\nculture p of reed-ale\n  pack 1 × 100 B\n  made 2026-01-01\n\n");
    text.push_str("starter s\n  wort 2 L at 1.037\n  on 2026-01-03 pitch p\n\n");
    let mut yeast = "s".to_owned();
    for i in 1..=4 {
        text.push_str(&format!(
            "brew b{i}\n  wort 20 L at 1.048\n  on 2026-02-{:02} pitch {yeast}\n  on 2026-02-{:02} harvest h{i} 400 mL thick\n\n",
            i * 5,
            i * 5 + 4
        ));
        yeast = format!("h{i} 150 mL");
    }
    text.push_str("culture h4\n  on 2026-02-25 harvest h4-half 200 mL\n");
    let season = season(&[("a.barm", &text)]);
    assert!(season.faults.is_empty(), "{:?}", season.faults);
    for i in 1..=4_u32 {
        assert_eq!(brew(&season, &format!("b{i}")).pitches[0].generation, Some(i - 1), "b{i}");
    }
    let figures = season.figures(&["h4-half".to_owned(), "h4".to_owned()]);
    let generation = |lot: &str| {
        let lot = figures.iter().find(|f| f.lot == lot).unwrap();
        lot.figures.iter().find(|f| f.name == "generation").unwrap().value
    };
    assert_eq!((generation("h4"), generation("h4-half")), (4.0, 4.0));
    let left = |lot: &str| {
        let lot = figures.iter().find(|f| f.lot == lot).unwrap();
        lot.figures.iter().find(|f| f.name == "left").unwrap().value
    };
    assert_eq!((left("h4"), left("h4-half")), (200.0, 200.0));
}

/// On one day, what must exist before it is used comes first, whatever the path; times are not needed for it.
#[test]
fn harvested_and_pitched_on_one_day_across_files() {
    let season = season(&[
        ("a-new.barm", "brew new\n  wort 20 L at 1.048\n  on 2026-03-10 pitch jar 150 mL\n"),
        (
            "z-old.barm",
            "culture p\n  kind ale\n  pack 2 × 100 B\n  made 2026-02-20\n\nbrew old\n  wort 20 L at 1.048\n  \
             on 2026-03-01 pitch p\n  on 2026-03-10 harvest jar 400 mL thick\n",
        ),
    ]);
    assert!(season.faults.is_empty(), "{:?}", season.faults);
    let pitch = &brew(&season, "new").pitches[0];
    assert_eq!(pitch.generation, Some(1));
    assert!(pitch.live.is_some());
}

#[test]
fn krausening_and_a_solera_are_no_loop() {
    let season = season(&[(
        "a.barm",
        "culture p\n  kind ale\n  pack 4 × 100 B\n  made 2026-02-20\n\n\
         brew a\n  wort 20 L at 1.048\n  on 2026-03-01 pitch p 2 packs\n  on 2026-03-12 add 2 L b\n  \
         on 2026-05-01 add 5 L b\n\n\
         brew b\n  wort 20 L at 1.048\n  on 2026-03-10 pitch p 2 packs\n  on 2026-04-01 add 5 L a\n  \
         on 2026-06-01 add 5 L a\n",
    )]);
    assert!(!season.faults.iter().any(|f| matches!(f, Fault::Loop { .. })), "{:?}", season.faults);
}

#[test]
fn a_lot_pitched_into_itself_is_found_and_the_rest_is_reckoned() {
    let season = season(&[(
        "a.barm",
        "culture p\n  kind ale\n  pack 2 × 100 B\n  made 2026-02-20\n\n\
         starter s\n  wort 1 L at 1.037\n  on 2026-03-01 pitch s\n\n\
         brew a\n  wort 20 L at 1.048\n  on 2026-03-02 pitch p\n",
    )]);
    assert!(matches!(season.faults.as_slice(), [Fault::Loop { .. }]), "{:?}", season.faults);
    assert!(brew(&season, "a").pitch.is_some());
}

#[test]
fn two_starters_that_need_each_other_on_one_day_are_a_loop() {
    let season = season(&[(
        "a.barm",
        "starter s\n  wort 1 L at 1.037\n  on 2026-03-01 pitch t\n\n\
         starter t\n  wort 1 L at 1.037\n  on 2026-03-01 pitch s\n\n\
         culture p\n  kind ale\n  pack 2 × 100 B\n  made 2026-02-20\n\n\
         brew a\n  wort 20 L at 1.048\n  on 2026-03-01 pitch p\n",
    )]);
    assert!(
        matches!(season.faults.as_slice(), [Fault::Loop { lots, .. }] if lots.len() == 2),
        "{:?}",
        season.faults
    );
    assert!(brew(&season, "a").pitch.is_some());
}

#[test]
fn names_that_are_missing_doubled_or_not_yet_there() {
    let season = season(&[(
        "a.barm",
        "culture packet\n  kind ale\n  pack 2 × 100 B\n  made 2026-02-20\n\n\
         culture PACKET\n  slant\n\n\
         brew a\n  wort 20 L at 1.048\n  on 2026-03-02 pitch acket\n\n\
         brew b\n  wort 20 L at 1.048\n  on 2026-03-02 pitch late 100 mL\n\n\
         brew c\n  wort 20 L at 1.048\n  on 2026-03-05 pitch packet 1 pack\n  on 2026-03-12 harvest late 400 mL thick\n",
    )]);
    let kinds: Vec<&str> = season
        .faults
        .iter()
        .map(|f| match f {
            Fault::UnknownName { nearest, .. } => {
                assert_eq!(nearest.as_deref(), Some("packet"));
                "unknown"
            }
            Fault::DuplicateName { .. } => "duplicate",
            Fault::NotYetThere { .. } => "not yet",
            _ => "other",
        })
        .collect();
    assert_eq!(kinds, ["duplicate", "unknown", "not yet"]);
    assert!(brew(&season, "c").pitch.is_some());
}

/// A whole cake: what was pitched and 3 M/mL for each °P, 95 % alive; about five times what the same wort wants.
#[test]
fn a_whole_cake_is_about_five_times_an_ale_s_target() {
    let season = season(&[(
        "a.barm",
        "culture p\n  kind ale\n  pack 2 × 100 B\n  made 2026-02-28\n\n\
         brew a\n  wort 20 L at 12 °P\n  on 2026-03-01 pitch p\n  on 2026-03-08 gravity 1.012\n\n\
         brew b\n  wort 20 L at 12 °P\n  on 2026-03-12 pitch a\n",
    )]);
    let pitch = brew(&season, "b").pitch.as_ref().unwrap();
    assert!(pitch.whole_cake);
    assert!((4.3..5.3).contains(&pitch.ratio.median()), "{}", pitch.ratio.median());
    assert_eq!(brew(&season, "b").pitches[0].generation, Some(1));
}

#[test]
fn findings_do_not_depend_on_the_order_of_files() {
    let files = [
        ("b.barm", "brew a\n  wort 20 L at 1.048\n  on 2026-03-02 pitch p\n"),
        ("a.barm", "culture p\n  kind ale\n  pack 2 × 100 B\n  made 2026-02-20\n"),
    ];
    let mut turned = files;
    turned.reverse();
    let (one, other) = (season(&files), season(&turned));
    assert_eq!(one.figures(&[]), other.figures(&[]));
}
