//! A wort that is parted: a part, and what is left, are what they would be if they had been brewed so by themselves.

use barm_reckoning::{Batch, Danger, Fault, Season};

use crate::{brew, season};

const YEAST: &str = "strain ale\n  kind ale\n  range 17..21 °C\n  attenuates 73..77 %\n\n\
                     culture p of ale\n  pack 9 × 100 B\n  made 2026-02-25\n\n";
const DAY: &str = "  on 2026-03-01\n    12:00 temp 18 °C\n    12:10 aerate oxygen 120 s at 1 L/min\n    12:20 pitch p 2 packs\n";
const ALONE: &str = "  on 2026-03-01\n    12:00 temp 18 °C\n    12:10 aerate oxygen 60 s at 1 L/min\n    12:20 pitch p 1 pack\n";
const OWN: &str = "  on 2026-03-10 10:00 gravity 1.013\n  on 2026-03-13 10:00 gravity 1.013\n    11:00 bottle 19 L, 110 g sucrose\n";

/// Of 40 L with `whole` besides its yeast 20 are taken and followed as in `own`; and 20 L with half the yeast and half of what
/// else went in, `alone`, are followed likewise.
fn parted(whole: &str, alone: &str, own: &str) -> Season {
    season(&format!(
        "{YEAST}brew part\n  wort 20 L of whole\n{own}\nbrew whole\n  wort 40 L at 1.048\n{DAY}{whole}\n\
         brew alone\n  wort 20 L at 1.048\n{ALONE}{alone}{own}"
    ))
}

/// What is reckoned of a brew and must not depend on how it came to be.
fn figures(batch: &Batch) -> Vec<(&'static str, f64)> {
    let pitch = batch.pitch.as_ref().unwrap();
    let found = batch.fermentation.as_ref().unwrap();
    let last = batch.last_event.unwrap();
    let given = found.given_at(last).unwrap();
    let package = batch.packages.last();
    let reading = batch.last_gravity().unwrap();
    vec![
        ("live", pitch.live.median() / 1e9),
        ("ratio", pitch.ratio.median()),
        ("days", batch.last_event.unwrap().hours_since(batch.pitched_at().unwrap())),
        ("gravities", f64::from(u8::try_from(batch.gravities.len()).unwrap())),
        ("original", batch.original(reading).unwrap().gravity.as_specific()),
        ("given", given.volume.as_litres()),
        ("sugar", given.sugar.as_grams()),
        ("attenuation", found.attenuation(reading).unwrap()),
        ("end", found.expected(last).unwrap().gravity.as_specific()),
        ("gas", package.map_or(0.0, |package| package.carbonation().0.as_volumes())),
        ("warmest", package.map_or(0.0, |package| package.warmest.0)),
        (
            "half",
            batch
                .temperature
                .as_ref()
                .map_or(0.0, |it| it.half_gone.0.hours_since(batch.pitched_at().unwrap())),
        ),
        ("generation", f64::from(batch.pitches.iter().filter_map(|p| p.generation).max().unwrap())),
    ]
}

fn assert_same(season: &Season) {
    let [part, alone] = ["part", "alone"].map(|name| figures(brew(season, name)));
    for ((name, part), (_, alone)) in part.iter().zip(&alone) {
        assert!((part - alone).abs() < 1e-6 * alone.abs().max(1.0), "{name}: {part}, not {alone}");
    }
}

#[test]
fn a_part_taken_after_the_pitch_ferments_as_if_it_had_been_brewed_alone() {
    let early = OWN.replace("  on 2026-03-10", "  on 2026-03-01 13:00 temp 18 °C\n  on 2026-03-10");
    assert_same(&parted("", "", &early));
    // Taken when most of it was done: what was read of the whole is read of the part.
    let read = "  on 2026-03-04 10:00 gravity 1.020, temp 20.5 °C\n";
    let season = parted(read, read, OWN);
    assert_same(&season);
    assert_eq!(brew(&season, "part").gravities.len(), 3);
    // What was read of the whole later is not.
    assert_same(&parted(&format!("{read}  on 2026-03-12 gravity 1.010\n"), read, OWN));
}

#[test]
fn what_the_whole_was_given_is_in_its_parts() {
    let (whole, alone) = ("add 1 kg sucrose, add 2 L water", "add 500 g sucrose, add 1 L water");
    let after = |what: &str| format!("  on 2026-03-03 10:00 {what}\n    11:00 gravity 1.030\n");
    let season = parted(&after(whole), &after(alone), OWN);
    let [part, alone] = ["part", "alone"].map(|name| figures(brew(&season, name)));
    // Of the 42 L and the sugar's room that it was by then 20 L were taken, of half as much all.
    for (name, less) in [("given", 20.0 / 21.3), ("sugar", 20.0 / 21.3)] {
        let of = |figures: &[(&str, f64)]| figures.iter().find(|(of, _)| *of == name).unwrap().1;
        assert!((of(&part) / of(&alone) - less).abs() < 0.01, "{name}: {} {}", of(&part), of(&alone));
    }
    for name in ["original", "attenuation", "end"] {
        let of = |figures: &[(&str, f64)]| figures.iter().find(|(of, _)| *of == name).unwrap().1;
        assert!((of(&part) - of(&alone)).abs() < 1e-6, "{name}: {} {}", of(&part), of(&alone));
    }
    // Sugar for the bottles that went into the whole carbonates what is bottled of its parts.
    let primed = |grams: u16| {
        format!("  on 2026-03-12 10:00 gravity 1.013\n  on 2026-03-13 09:00 add {grams} g sucrose\n")
    };
    let own = "  on 2026-03-13 10:00 gravity 1.013\n    11:00 bottle 19 L\n";
    let season = parted(&primed(240), &primed(120), own);
    let gas = |name| brew(&season, name).packages[0].carbonation().0.as_volumes();
    assert!(
        (gas("part") - gas("alone")).abs() < 1e-6 && gas("part") > 2.0,
        "{} {}",
        gas("part"),
        gas("alone")
    );
}

#[test]
fn a_part_of_a_part_has_the_yeast_of_the_first() {
    let text = format!(
        "{YEAST}brew whole\n  wort 40 L at 1.048\n{DAY}  on 2026-03-02 10:00 add 1 kg sucrose\n\
         brew half\n  wort 20 L of whole\n  on 2026-03-02 12:00 temp 18 °C\n  on 2026-03-03 add 500 g sucrose\n\
         brew part\n  wort 10 L of half\n  on 2026-03-04 gravity 1.030\n"
    );
    let season = season(&text);
    let part = brew(&season, "part");
    let [whole, own] = [brew(&season, "whole"), part].map(|b| b.pitches[0].live.as_ref().unwrap().median());
    assert!((own / whole - 0.25).abs() < 1e-9, "{own} {whole}");
    let given = part.fermentation.as_ref().unwrap().given_at(part.last_event.unwrap()).unwrap();
    assert!((given.volume.as_litres() - 10.0).abs() < 1e-9, "{given:?}");
    // 1 kg in some 40.6 L of which 20 are taken, and 500 g more in those: 49 g a litre of 10.
    assert!((485.0..500.0).contains(&given.sugar.as_grams()), "{given:?}");
}

#[test]
fn one_wort_in_two_fermenters_with_two_yeasts_is_parted_before_them() {
    let pitched = |lines: &str| {
        let season = season(&format!(
            "{YEAST}brew whole\n  wort 40 L at 1.048\n{DAY}brew part\n  wort 20 L of whole\n{lines}"
        ));
        brew(&season, "part").pitches.len()
    };
    // Its own yeast within two days is all that it has.
    assert_eq!(pitched("  on 2026-03-01 13:00 pitch p 1 pack\n"), 1);
    assert_eq!(pitched("  on 2026-03-02 18:00 temp 18 °C, pitch p 1 pack\n"), 1);
    // Wort that was set aside and is pitched in its turn.
    assert_eq!(pitched("  on 2026-03-06 12:00 pitch p 1 pack\n"), 1);
    // Nobody lets wort stand for days: it has worked when more yeast goes in.
    assert_eq!(pitched("  on 2026-03-01 13:00 temp 18 °C\n  on 2026-03-06 12:00 pitch p 1 pack\n"), 2);
    // On one day, and nobody says when; and before the yeast.
    assert_eq!(pitched("  on 2026-03-01 temp 18 °C\n"), 1);
    assert_eq!(pitched("  on 2026-03-01 11:00 temp 18 °C\n"), 0);
    // What souring left in the whole does not live through a boil.
    assert_eq!(pitched("  on 2026-03-03 12:00 boil 15 min\n    16:00 pitch p 1 pack\n"), 1);
}

#[test]
fn beer_that_more_yeast_goes_into_is_known_by_its_gravity() {
    let pitches = |whole: &str, own: &str| {
        let text = format!(
            "{YEAST}brew whole\n  wort 40 L at 1.048\n{DAY}  on 2026-03-08 {whole}\nbrew part\n  wort 20 L of whole\n  \
             on 2026-03-20 12:00 pitch p 1 pack\n{own}"
        );
        brew(&season(&text), "part").pitches.len()
    };
    assert_eq!(pitches("gravity 1.012", "  on 2026-03-30 gravity 1.008\n"), 2);
    // It was wort: no beer goes back there.
    assert_eq!(pitches("gravity 1.012", "  on 2026-03-22 gravity 1.040\n"), 1);
    assert_eq!(pitches("temp 18 °C", "  on 2026-03-30 gravity 1.008\n"), 1);
}

#[test]
fn what_comes_of_a_part_comes_of_its_whole() {
    let text = format!(
        "{YEAST}brew whole\n  wort 40 L at 1.048\n{DAY}  on 2026-03-20 infected\n\
         brew part\n  wort 20 L of whole\n  on 2026-03-01 13:00 temp 18 °C\n  on 2026-03-10 gravity 1.012\n  on 2026-03-13\n    \
         10:00 gravity 1.012, harvest jar 400 mL thick\n"
    );
    let season = season(&text);
    let name = |lot| season.lot(lot).unwrap().name.to_string();
    let suspects: Vec<String> = season
        .faults
        .iter()
        .filter_map(|fault| match fault {
            Fault::Suspect { lot, .. } => Some(name(*lot)),
            _ => None,
        })
        .collect();
    assert_eq!(suspects, ["part", "jar"]);
    let bank = season.bank(None, None).unwrap();
    let jar = bank.lots.iter().find(|lot| lot.name == "jar").unwrap();
    assert_eq!((jar.generation, &*jar.strains), (Some(1), &["ale".to_owned()][..]));
    assert_eq!(jar.descent, [vec!["part".to_owned()], vec!["p".to_owned()]]);
    // Half of its yeast is gone with the part: what is left is half a cake.
    let on = jiff::civil::date(2026, 3, 8);
    let left = |name: &str| {
        let bank = season.bank(Some(on), None).unwrap();
        bank.lots.into_iter().find(|lot| lot.name == name).and_then(|lot| lot.left).map(|left| left.value)
    };
    assert_eq!((left("whole"), left("part")), (Some(50.0), Some(100.0)));
}

#[test]
fn what_is_left_of_a_whole_is_what_was_not_taken() {
    let text = |line: &str| {
        format!(
            "{YEAST}brew whole\n  wort 40 L at 1.048\n{DAY}  on 2026-03-10 10:00 gravity 1.012\n  on 2026-03-13 10:00 gravity 1.012\n    \
             12:00 {line}\nbrew part\n  wort 20 L of whole\n  on 2026-03-11 temp 18 °C\n"
        )
    };
    let season_of = |line| season(&text(line));
    let season = season_of("bottle rest, 110 g sucrose");
    let [package] = &brew(&season, "whole").packages[..] else { panic!("one package") };
    assert_eq!(package.volume.map(|volume| volume.as_litres()), Some(20.0));
    assert!((2.2..2.4).contains(&package.carbonation().0.as_volumes()), "{package:?}");
    assert_eq!(season.text(brew(&season, "whole").taken_out[0].place), "wort 20 L of whole");
    let too_much = |fault: &Fault| matches!(fault, Fault::TooMuchBeer { .. });
    assert!(!season_of("bottle 20 L, 110 g sucrose").faults.iter().any(too_much));
    assert!(season_of("bottle 38 L, 210 g sucrose").faults.iter().any(too_much));
}

#[test]
fn a_part_that_was_taken_before_the_yeast_is_not_left_either() {
    let left = |line: &str| {
        let text = format!(
            "{YEAST}brew whole\n  wort 40 L at 1.048\n{line}{DAY}  on 2026-03-10 10:00 gravity 1.012\n  on 2026-03-13 10:00 \
             gravity 1.012\n    12:00 bottle rest, 110 g sucrose\nbrew part\n  wort 20 L of whole\n  on 2026-03-01\n    \
             11:30 temp 18 °C\n    12:20 pitch p 1 pack\n"
        );
        let season = season(&text);
        let [package] = &brew(&season, "whole").packages[..] else { panic!("one package") };
        package.volume.map(|volume| volume.as_litres())
    };
    assert_eq!(left(""), Some(20.0));
    assert_eq!(left("  on 2026-03-01 11:00 volume 42 L\n"), Some(22.0));
    assert_eq!(left("  on 2026-03-01 11:45 volume 21 L\n"), Some(21.0), "what was measured is what was left");
}

#[test]
fn a_whole_that_was_parted_before_its_yeast_is_judged_on_what_is_left() {
    let text = |before: &str, own: &str| {
        format!(
            "{YEAST}brew whole\n  wort 40 L at 1.048\n{before}{ALONE}{OWN}\nbrew part\n  wort 20 L of whole\n{own}\n\
             brew alone\n  wort 20 L at 1.048\n{ALONE}{OWN}"
        )
    };
    let same = |before: &str, own: &str| {
        let season = season(&text(before, own));
        let [whole, alone] = ["whole", "alone"].map(|name| brew(&season, name));
        for ((name, whole), (_, alone)) in figures(whole).iter().zip(&figures(alone)) {
            assert!((whole - alone).abs() < 1e-6 * alone.abs().max(1.0), "{name}: {whole}, not {alone}");
        }
        let oxygen = [whole, alone].map(|brew| brew.oxygen.as_ref().unwrap().dissolved.median());
        assert!((oxygen[0] - oxygen[1]).abs() < 1e-6, "{oxygen:?}");
        assert!(season.faults.is_empty(), "{:?}", season.faults);
    };
    same("", "  on 2026-03-01 11:30 temp 18 °C, pitch p 1 pack\n");
    // What is aerated by itself was parted before the whole was, though it is written later.
    let own = "  on 2026-03-01 12:15 aerate oxygen 60 s at 1 L/min, pitch p 1 pack\n";
    same("", own);
}

#[test]
fn sugar_that_went_in_before_a_wort_was_parted_is_in_both() {
    let text = format!(
        "{YEAST}brew whole\n  wort 40 L at 1.040\n  on 2026-03-01 10:00 add 1 kg sucrose\n{DAY}\n\
         brew part\n  wort 10 L of whole\n  on 2026-03-01 11:30 temp 18 °C, pitch p 1 pack\n"
    );
    let season = season(&text);
    let sugar = |name| {
        let brew = brew(&season, name);
        brew.fermentation.as_ref().unwrap().given_at(brew.last_event.unwrap()).unwrap().sugar.as_grams()
    };
    let (whole, part) = (sugar("whole"), sugar("part"));
    assert!((whole + part - 1000.0).abs() < 1.0, "{whole} {part}");
    assert!((part - 246.0).abs() < 1.0, "a quarter of 40.6 L: {part}");
}

#[test]
fn a_part_has_the_oxygen_that_its_whole_had_when_it_was_parted() {
    let dissolved = |whole: &str, own: &str| {
        let text = format!(
            "{YEAST}brew whole\n  wort 40 L at 1.048\n{whole}\nbrew part\n  wort 20 L of whole\n{own}"
        );
        let season = season(&text);
        brew(&season, "part").oxygen.as_ref().map(|found| (found.dissolved.median(), found.from.clone()))
    };
    let kettle = "  on 2026-03-01 12:00 temp 18 °C, aerate oxygen 60 s at 1 L/min\n";
    let had = dissolved(kettle, "  on 2026-03-01 13:00 temp 18 °C, pitch p 1 pack\n").unwrap();
    assert!(had.1.ends_with("in 40 L of 11.9 °P at 18 °C, before it was parted"), "{}", had.1);
    // A dose of its own comes on top of that.
    let dose = "temp 18 °C, aerate oxygen 10 s at 1 L/min, pitch p 1 pack\n";
    let more = dissolved(kettle, &format!("  on 2026-03-01 13:00 {dose}")).unwrap();
    let fresh = dissolved("", &format!("  on 2026-03-01 13:00 {dose}")).unwrap();
    assert!(fresh.0 > 1.0 && more.0 > had.0 + 0.8 * fresh.0, "{} {} {}", had.0, fresh.0, more.0);
    assert!(more.1.contains("before it was parted, then oxygen 10 s in 20 L"), "{}", more.1);
    // What is asked for on top of enough is none, and is not told as a dose.
    let text = format!(
        "{YEAST}brew whole\n  wort 40 L at 1.048\n  on 2026-03-01 12:00 temp 18 °C, aerate oxygen 120 s at 1 L/min\n\n\
         brew part\n  wort 20 L of whole\n  on 2026-03-01 13:00 temp 18 °C, aerate oxygen ? at 1 L/min, pitch p 1 pack\n"
    );
    let enough = season(&text);
    assert!(enough.answers[0].text.starts_with("none: it holds"), "{}", enough.answers[0].text);
    let from = &brew(&enough, "part").oxygen.as_ref().unwrap().from;
    assert!(from.ends_with("before it was parted"), "{from}");
    // Of what went into the whole later it has nothing.
    let later = format!("{kettle}  on 2026-03-01 14:00 aerate oxygen 60 s at 1 L/min\n");
    let first = dissolved(&later, "  on 2026-03-01 13:00 temp 18 °C, pitch p 1 pack\n").unwrap();
    assert!((first.0 - had.0).abs() < 1e-9, "{} {}", first.0, had.0);
    assert_eq!(dissolved(kettle, "  on 2026-03-01 11:30 temp 18 °C, pitch p 1 pack\n"), None);
    // Hours after the pitch it is in the yeast.
    let pitched = format!("{kettle}    12:20 pitch p 2 packs\n");
    let late =
        dissolved(&pitched, "  on 2026-03-02 12:00 temp 18 °C, aerate oxygen 10 s at 1 L/min\n").unwrap();
    assert!((late.0 - had.0).abs() < 1e-9, "{} {}", late.0, had.0);
}

/// What is read of a wort after it was parted or added to tells nothing of what the gas met before that.
#[test]
fn gas_meets_the_wort_that_there_was() {
    let dissolved = |later: &str, part: &str| {
        let text = format!(
            "{YEAST}brew whole\n  wort 40 L at 1.048\n  on 2026-03-01\n    12:00 temp 18 °C, aerate oxygen 60 s at 1 L/min\n\
             {later}    14:00 pitch p 2 packs\n{part}"
        );
        brew(&season(&text), "whole").oxygen.as_ref().unwrap().dissolved.median()
    };
    let part = "brew part\n  wort 20 L of whole\n  on 2026-03-01 13:00 temp 18 °C, pitch p 1 pack\n";
    let as_stated = dissolved("", "");
    for later in ["", "    13:30 volume 19 L\n", "    13:30 add 500 g sucrose\n"] {
        let found = dissolved(later, part);
        assert!((found - as_stated).abs() < 1e-9, "{later}: {found}, not {as_stated}");
    }
    assert!((dissolved("    13:30 add 2 kg sucrose\n", "") - as_stated).abs() < 1e-9);
    assert!((dissolved("    13:30 dump 20 L\n", "") - as_stated).abs() < 1e-9);
    // Of a wort that nobody changed it tells how much there was all along.
    assert!(dissolved("    13:30 volume 20 L\n", "") > 1.5 * as_stated);
    assert!(dissolved("    12:30 volume 30 L\n", part) > 1.1 * as_stated);
}

/// Where no line says which came first, a wort was aerated before it was parted: the gas is in all of it.
#[test]
fn without_times_a_part_was_aerated_with_its_whole() {
    let oxygen =
        |season: &Season, lot: &str| brew(season, lot).oxygen.as_ref().map(|it| it.dissolved.median());
    let whole = format!(
        "{YEAST}brew whole\n  wort 42 L at 1.048\n  on 2026-03-01\n    aerate oxygen 30 s at 1 L/min\n    pitch p 1 pack\n"
    );
    let alone = oxygen(&season(&whole), "whole").unwrap();
    let parted = season(&format!("{whole}brew part\n  wort 21 L of whole\n  on 2026-03-01 pitch p 1 pack\n"));
    assert!((oxygen(&parted, "whole").unwrap() - alone).abs() < 1e-9);
    assert!((oxygen(&parted, "part").unwrap() - alone).abs() < 1e-9);
}

#[test]
fn what_is_thrown_away_or_left_behind_before_the_yeast_is_not_pitched() {
    let pitched = |line: &str| {
        let text = format!(
            "{YEAST}brew b\n  wort 40 L at 1.048\n  on 2026-03-01\n    13:00 {line}\n    14:00 pitch p 2 packs\n"
        );
        brew(&season(&text), "b").wort.unwrap().volume.as_litres()
    };
    assert_eq!(pitched("dump 15 L"), 25.0);
    assert_eq!(pitched("rack 25 L to bucket-2"), 25.0);
    assert_eq!(pitched("rack to bucket-2"), 40.0);
    assert_eq!(pitched("dump 60 L"), 40.0, "more than there is");
}

/// A large fermenter is filled in two goes: yeast for the first is yeast for both.
#[test]
fn what_is_filled_up_on_the_day_is_pitched_for() {
    let ratio = |lines: &str| {
        let text = format!(
            "{YEAST}brew b\n  wort 20 L at 1.048\n  on 2026-03-01\n    11:00 pitch p 2 packs\n{lines}"
        );
        brew(&season(&text), "b").pitch.as_ref().unwrap().ratio.median()
    };
    let half = ratio("");
    assert!((ratio("    17:00 add 20 L wort at 1.048\n") / half - 0.5).abs() < 0.01);
    assert!((ratio("  on 2026-03-03 add 20 L wort at 1.048\n") / half - 1.0).abs() < 1e-9);
    assert!((ratio("    12:00 add 500 g sucrose\n") / half - 1.0).abs() < 1e-9);
    let asked = |lines: &str| {
        let text =
            format!("{YEAST}brew b\n  wort 20 L at 1.048\n  on 2026-03-01\n    11:00 pitch p ?\n{lines}");
        season(&text).answers[0].text.clone()
    };
    assert_eq!(asked(""), "2 packs of p");
    assert_eq!(asked("    17:00 add 20 L wort at 1.048\n"), "4 packs of p");
}

/// Aerated after it was filled up, it is the whole of it that the gas goes into, and what was in it before is thinner.
#[test]
fn what_is_filled_up_after_the_yeast_is_aerated_with_it() {
    let doses = |lines: &str| {
        let text = format!(
            "{YEAST}brew b\n  wort 10 L at 1.048\n  on 2026-03-01\n    11:00 aerate oxygen 60 s at 1 L/min, pitch p\n{lines}"
        );
        let season = season(&text);
        let doses = &brew(&season, "b").doses;
        let last = doses.last().unwrap();
        (
            last.after.median(),
            last.wort.volume.as_litres(),
            last.wort.strength.as_degrees(),
            doses[0].after.median(),
        )
    };
    let (twice, volume, strength, once) = doses("    11:30 aerate oxygen 60 s at 1 L/min\n");
    assert_eq!(volume, 10.0);
    let (filled, more, thinner, before) =
        doses("    11:20 add 10 L water\n    11:30 aerate oxygen 60 s at 1 L/min\n");
    assert!((more - 20.0).abs() < 1e-9 && (thinner / strength - 0.5).abs() < 0.02, "{more} {thinner}");
    // Half of each, and next to nothing to all that air gives of what was poured in.
    assert!(filled < 0.8 * twice && filled > 0.4 * twice, "{filled} {twice}");
    assert_eq!(once, before, "what was given before is as it was");
    let answer = |lines: &str| {
        let text = format!(
            "{YEAST}brew b\n  wort 10 L at 1.048\n  on 2026-03-01\n    11:00 aerate oxygen 25 s at 1 L/min, pitch p\n{lines}    11:30 aerate oxygen ? at 1 L/min\n"
        );
        season(&text).answers[0].text.clone()
    };
    assert!(answer("").starts_with("none"), "{}", answer(""));
    let filled = answer("    11:20 add 10 L water\n");
    assert!(filled.ends_with(" s"), "{filled}");
}

#[test]
fn of_more_doses_than_anybody_gives_not_every_one_is_told() {
    let doses = "  on 2026-03-01 12:00 aerate shake\n".repeat(1000);
    let season = season(&format!("{YEAST}brew whole\n  wort 40 L at 1.048\n{doses}"));
    let from = &brew(&season, "whole").oxygen.as_ref().unwrap().from;
    assert!(from.contains("shaken, then more in 40 L") && from.len() < 400, "{from}");
}

#[test]
fn only_wort_that_waits_for_its_yeast_was_stored() {
    let stored = |whole: &str, own: &str| {
        let text = format!(
            "{YEAST}brew whole\n  wort 40 L at 1.048\n{DAY}{whole}\nbrew part\n  wort 20 L of whole\n{own}"
        );
        season(&text).hazards.iter().any(|hazard| hazard.danger == Danger::StoredWort)
    };
    // Set aside, and pitched days later.
    assert!(stored("", "  on 2026-03-06 12:00 pitch p 1 pack\n"));
    assert!(stored("  on 2026-03-08 gravity 1.012\n", "  on 2026-03-20 gravity 1.048, pitch p 1 pack\n"));
    // It had the yeast of the whole when more went in.
    assert!(!stored("", "  on 2026-03-01 13:00 temp 18 °C\n  on 2026-03-06 12:00 pitch p 1 pack\n"));
    assert!(!stored("  on 2026-03-08 gravity 1.012\n", "  on 2026-03-20 12:00 pitch p 1 pack\n"));
    let itself = "brew b\n  wort 10 L of b\n  on 2026-03-01 temp 18 °C\n  on 2026-03-06 pitch p\n";
    assert!(
        season(&format!("{YEAST}{itself}")).hazards.iter().all(|hazard| hazard.danger != Danger::StoredWort)
    );
}

#[test]
fn what_is_written_below_the_pitch_without_a_time_went_in_after_it() {
    let text = format!(
        "{YEAST}brew b\n  wort 20 L at 1.048\n  on 2026-03-01\n    12:20 pitch p 1 pack\n    add 3 L water\n  on 2026-03-10 \
         gravity 1.012\n  on 2026-03-13 gravity 1.012\n    bottle rest, 130 g sucrose\n"
    );
    let season = season(&text);
    let [package] = &brew(&season, "b").packages[..] else { panic!("one package") };
    assert_eq!(package.volume.map(|volume| volume.as_litres()), Some(23.0));
}

#[test]
fn a_wort_of_a_thousand_parts_is_not_followed_a_thousand_times() {
    let readings: String = (0..1000)
        .map(|minute| format!("  on 2026-03-02 {:02}:{:02} gravity 1.048\n", minute / 60, minute % 60))
        .collect();
    let parts: String = (0..1000)
        .map(|part| format!("brew part-{part}\n  wort 1 mL of whole\n  on 2026-03-05 temp 18 °C\n"))
        .collect();
    let season = season(&format!("{YEAST}brew whole\n  wort 40 L at 1.048\n{DAY}{readings}{parts}"));
    let copied: usize = season.batches.iter().map(|batch| batch.gravities.len()).sum();
    assert!((1000 * 60..1000 * 70).contains(&copied), "{copied}");
}
