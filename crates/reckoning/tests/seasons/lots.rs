//! What each event does to a lot: volume, cells, generation, descent and suspicion.

use barm_reckoning::{Fault, Season};

use crate::{brew, season};

fn live(season: &Season, name: &str) -> f64 {
    brew(season, name).pitches[0].live.as_ref().unwrap().median() / 1e9
}

const JAR: &str = "culture jar\n  kind ale\n  slurry 400 mL thick\n  harvested 2026-03-01\n  generation 1\n";

/// A brew that takes half of what is left in the jar after whatever happened to it.
fn half_of_jar_after(events: &str) -> f64 {
    let text = format!("{JAR}{events}\nbrew b\n  wort 20 L at 1.048\n  on 2026-03-08 12:00 pitch jar 1/2\n");
    live(&season(&text), "b")
}

#[test]
fn pouring_liquid_off_takes_no_yeast() {
    let (plain, decanted) = (half_of_jar_after(""), half_of_jar_after("  on 2026-03-05 decant 150 mL\n"));
    assert!((plain - decanted).abs() < 1e-6, "{plain} {decanted}");
}

/// Settled slurry holds 1.5 to 3.5 B/mL, and no pouring off packs it further.
#[test]
fn what_is_poured_off_settled_yeast_takes_yeast_along() {
    let per_ml = |decanted: &str| {
        let text = format!(
            "culture j\n  kind ale\n  slurry 1 L 1 B/mL\n  harvested 2026-03-01\n  on 2026-03-01 decant {decanted}\n\
             brew b\n  wort 20 L at 1.048\n  on 2026-03-02 12:00 pitch j 50 mL\n"
        );
        live(&season(&text), "b") / 50.0
    };
    let (half, most, all_but) = (per_ml("500 mL"), per_ml("800 mL"), per_ml("900 mL"));
    assert!((1.7..2.0).contains(&half), "{half}");
    assert!((2.5..3.5).contains(&most) && (most / all_but - 1.0).abs() < 1e-9, "{most} {all_but}");
}

#[test]
fn what_has_settled_of_a_thin_slurry_is_thick() {
    let pitched = |events: &str, amount: &str| {
        let text = format!(
            "culture j\n  kind ale\n  slurry 1 L thin\n  harvested 2026-03-01\n{events}\n\
             brew b\n  wort 20 L at 1.048\n  on 2026-03-08 12:00 pitch j {amount}\n"
        );
        live(&season(&text), "b")
    };
    let (thin, thick) = (pitched("", "100 mL"), half_of_jar_after("") / 2.0);
    let settled = pitched("  on 2026-03-05 decant j\n", "100 mL");
    // 400 mL thick, of the same day: a hundred of them are half of its half.
    assert!((settled / thick - 1.0).abs() < 1e-3 && settled > 2.0 * thin, "{settled} {thick} {thin}");
    let (before, after) = (pitched("", "all"), pitched("  on 2026-03-05 decant\n", "all"));
    assert!((after / before - 1.0).abs() < 1e-3, "{after} {before}");
}

#[test]
fn what_stands_behind_a_harvest_on_its_line_is_said_of_what_was_harvested() {
    let share = |line: &str| {
        let text = format!(
            "{JAR}\nbrew one\n  wort 20 L at 1.048\n  on 2026-03-02 12:00 pitch jar 100 mL\n  on 2026-03-12\n    12:00 {line}\n\
             brew two\n  wort 20 L at 1.048\n  on 2026-03-12 18:00 pitch h 100 mL\n"
        );
        let season = season(&text);
        let pitch = brew(&season, "two").pitches[0].clone();
        let total = pitch.total.unwrap().median() / 1e9;
        (total, pitch.live_share.unwrap().median(), pitch.measured)
    };
    let one = share("harvest h 300 mL thick, count 0.4 B/mL, viability 60 %, kept 3 °C");
    let named = share("harvest h 300 mL thick, count h 0.4 B/mL, viability h 60 %, kept 3 °C h");
    assert_eq!(one, named);
    assert!((one.0 - 40.0).abs() < 1e-6 && one.2, "{one:?}");
    // On a line of its own it is the beer's.
    assert!(!share("harvest h 300 mL thick\n    12:10 viability 60 %").2);
}

#[test]
fn no_count_makes_more_cells_than_have_room() {
    let jar = |line: &str| {
        let text = format!(
            "{JAR}  on 2026-03-05 {line}\nbrew b\n  wort 20 L at 1.048\n  on 2026-03-08 pitch jar 100 mL\n"
        );
        let season = season(&text);
        let why = season.faults.iter().find_map(|fault| match fault {
            Fault::Impossible { why, .. } => Some(why.clone()),
            _ => None,
        });
        (why, brew(&season, "b").pitches[0].measured)
    };
    let (why, measured) = jar("count 5 squares 231 live 9 dead 1:2000");
    assert_eq!(
        why.as_deref(),
        Some("this count comes to 24 B/mL: not even packed yeast holds so many cells")
    );
    assert!(!measured);
    assert_eq!(jar("count 5 squares 231 live 9 dead 1:200"), (None, true));
}

#[test]
fn what_is_done_to_a_jar_may_stand_in_the_block_that_uses_it() {
    let brew = |line: &str| {
        let text = format!(
            "{JAR}\nbrew b\n  wort 20 L at 1.048\n  on 2026-03-08 12:00\n{line}    pitch jar 100 mL\n"
        );
        live(&season(&text), "b")
    };
    // 400 mL settled to 250: each of them holds 1.6 times the yeast.
    let (plain, thicker) = (brew(""), brew("    decant jar 150 mL\n"));
    assert!((thicker / plain - 1.6).abs() < 1e-6, "{thicker} {plain}");
}

#[test]
fn cells_that_are_asked_of_a_cake_or_a_starter_are_so_many_and_no_more_than_all() {
    let cake = "brew from\n  wort 5 L at 1.048\n  on 2026-03-05 12:00 pitch jar 100 mL\n";
    let starter = "starter from\n  wort 2 L at 1.036\n  on 2026-03-05 12:00 pitch jar 50 mL\n";
    for source in [cake, starter] {
        let pitched = |first: u16, second: u16| {
            let one = |name: &str, hour: u8, cells: u16| {
                format!("brew {name}\n  wort 20 L at 1.048\n  on 2026-03-15 {hour}:00 pitch from {cells} B\n")
            };
            season(&format!("{JAR}{source}{}{}", one("b", 12, first), one("c", 13, second)))
        };
        let found = pitched(60, 40);
        let [b, c] = ["b", "c"].map(|name| live(&found, name));
        assert!((b - 60.0).abs() < 0.5 && (c - 40.0).abs() < 0.5, "{source}{b} {c}");
        assert!(found.faults.is_empty(), "{:?}", found.faults);
        let far = pitched(60, 2000);
        assert!(
            matches!(far.faults[..], [Fault::Overdrawn { taken, left, unit: "B", .. }] if (taken - 2000.0).abs() < 1.0 && left < 500.0),
            "{:?}",
            far.faults
        );
    }
}

#[test]
fn beer_that_still_works_is_drawn_as_such_whatever_is_read_of_it_later() {
    let drawn = |later: &str| {
        let donor = "brew from\n  wort 20 L at 1.048\n  on 2026-03-05 18:00 pitch jar 200 mL\n  on 2026-03-07 09:30 gravity 1.024\n";
        let brew = "brew b\n  wort 20 L at 1.048\n  on 2026-03-07 18:00 pitch from 4 L\n";
        let season = season(&format!("{JAR}{donor}{later}{brew}"));
        assert!(season.faults.is_empty(), "{later}: {:?}", season.faults);
        live(&season, "b")
    };
    let alone = drawn("");
    for later in ["  on 2026-03-08 gravity 1.020\n", "  on 2026-03-15 gravity 1.012\n"] {
        assert!((drawn(later) - alone).abs() < 1e-6, "{later}: {} {alone}", drawn(later));
    }
}

#[test]
fn a_best_before_says_how_old_a_pack_may_be_and_never_that_it_is_not_there_yet() {
    let pitched = |culture: &str| {
        let text = format!(
            "culture p\n  kind ale\n  {culture}\n\nbrew b\n  wort 20 L at 1.048\n  on 2026-03-08 12:00 pitch p\n"
        );
        let season = season(&text);
        assert!(season.faults.is_empty(), "{culture}: {:?}", season.faults);
        brew(&season, "b").pitches[0].live_share.as_ref().unwrap().median()
    };
    let fresh = pitched("pack 1 × 100 B\n  made 2026-03-08");
    // Bought with ten months to go, and with half a year.
    let (far, half) = (
        pitched("pack 1 × 100 B\n  best-before 2027-01"),
        pitched("pack 1 × 100 B\n  best-before 2026-09-06"),
    );
    assert!((far - fresh).abs() < 1e-6 && (half - fresh).abs() < 1e-6, "{far} {half} {fresh}");
    let late = pitched("pack 1 × 100 B\n  best-before 2026-03-08");
    assert!(late < 0.45 * fresh, "{late}");
    // Dry yeast keeps for years: one that may stand two more is not made next year.
    assert!(pitched("sachet 1 × 11 g\n  best-before 2028-03") > 0.9);
}

#[test]
fn a_cake_lies_as_cold_as_its_beer_was_set() {
    let left = |line: &str| {
        let text = format!(
            "{JAR}\nbrew one\n  wort 20 L at 1.048\n  on 2026-03-02 12:00 pitch jar\n  on 2026-03-03 temp 18 °C\n  \
             on 2026-03-08 gravity 1.012\n  on 2026-03-10 gravity 1.012\n{line}  on 2026-04-10 harvest h 300 mL thick\n\n\
             brew two\n  wort 20 L at 1.048\n  on 2026-04-10 23:00 pitch h\n"
        );
        live(&season(&text), "two")
    };
    let warm = left("");
    let crashed = left("  on 2026-03-10 crash 3 °C\n");
    let set = left("  on 2026-03-10 set 3 °C over 2 d\n");
    let read = left("  on 2026-03-10 temp 3 °C\n");
    assert!(crashed > 1.5 * warm, "{crashed} {warm}");
    assert!((crashed - read).abs() < 1e-6 && (set - read).abs() < 1e-6, "{crashed} {set} {read}");
}

#[test]
fn yeast_that_is_added_is_pitched_and_beer_that_is_added_is_not() {
    let second = "culture wild\n  kind wild\n  diastatic\n  slurry 300 mL thick\n  harvested 2026-03-01\n";
    let text = format!(
        "{JAR}\n{second}\nbrew old\n  wort 20 L at 1.048\n  on 2026-03-01 12:00 pitch jar 50 mL\n\n\
         brew b\n  wort 20 L at 1.048\n  on 2026-03-08 12:00 pitch jar 100 mL\n  on 2026-03-15 add 100 mL wild\n  \
         on 2026-03-16 add 2 L old\n"
    );
    let season = season(&text);
    let b = brew(&season, "b");
    let pitched: Vec<(&str, f64)> = b.pitches.iter().map(|p| (&*p.name, p.left_after.round())).collect();
    assert_eq!(pitched, [("jar", 250.0), ("wild", 200.0)]);
    let fermentation = b.fermentation.as_ref().unwrap();
    assert_eq!(fermentation.goes_on, Some("wild yeast"));
    // Only the beer brings extract that nobody knows.
    let (at, place) = fermentation.unknown_extract.unwrap();
    assert_eq!((at.to_string().get(..10), season.text(place)), (Some("2026-03-16"), "add 2 L old"));
    assert_eq!(b.pitch.as_ref().unwrap().counted, 1);
}

#[test]
fn throwing_some_away_leaves_less() {
    let (plain, dumped) = (half_of_jar_after(""), half_of_jar_after("  on 2026-03-05 dump jar 200 mL\n"));
    assert!((dumped / plain - 0.5).abs() < 1e-6);
}

#[test]
fn a_warm_week_costs_more_than_a_cold_one() {
    let (cold, warm) = (half_of_jar_after(""), half_of_jar_after("  on 2026-03-02 kept 15 °C\n"));
    // 75.4 kJ/mol between 4 and 15 °C: 3.5 times as fast over six of the seven days.
    assert!(warm < cold * 0.8 && warm > cold * 0.6, "{warm} {cold}");
}

#[test]
fn washing_costs_a_little_by_acid_and_some_by_water() {
    let plain = half_of_jar_after("");
    let acid = half_of_jar_after("  on 2026-03-08 11:00 wash ph 2.2 for 1 h\n");
    let water = half_of_jar_after("  on 2026-03-08 11:00 wash\n");
    assert!(acid < plain && acid > plain * 0.88, "{acid} {plain}");
    assert!(water < plain && water > plain * 0.75, "{water} {plain}");
}

#[test]
fn a_count_replaces_the_thickness_and_a_viability_the_age() {
    // 1 B/mL counted, half of it alive: half of 400 mL holds 100 B live.
    let counted = half_of_jar_after("  on 2026-03-08 11:00 count 1 B/mL\n    11:30 viability 50 %\n");
    assert!((counted - 100.0).abs() < 1.0, "{counted}");
    // 180 live and 20 dead in 5 squares at 1:100: 1 B/mL, 90 % alive.
    let squares = half_of_jar_after("  on 2026-03-08 11:00 count 5 squares 180 live 20 dead 1:100\n");
    assert!((squares - 180.0).abs() < 4.0, "{squares}");
}

#[test]
fn a_starter_poured_off_is_pitched_by_what_is_left_of_it() {
    let starter = |events: &str, amount: &str| {
        let text = format!(
            "culture p\n  kind ale\n  pack 1 × 100 B\n  made 2026-03-01\n\nstarter s\n  wort 2 L at 1.037\n  \
             on 2026-03-01 12:00 pitch p\n  on 2026-03-03 12:00 kept 4 °C\n{events}\nbrew b\n  wort 20 L at 1.048\n  \
             on 2026-03-04 12:00 pitch s {amount}\n"
        );
        live(&season(&text), "b")
    };
    let whole = starter("", "");
    let settled = starter("  on 2026-03-04 11:00 decant 1.5 L\n", "250 mL");
    assert!((settled / whole - 0.5).abs() < 0.01, "{settled} {whole}");
}

#[test]
fn slurry_by_weight_from_a_cone() {
    let text = format!(
        "{JAR}\nbrew big\n  wort 10 hL at 1.048\n  in cone-1\n  on 2026-03-02 12:00 pitch jar\n  \
         on 2026-03-10 12:00 gravity 1.012\n  on 2026-03-11 12:00 dump 4 kg\n    \
         12:30 harvest cone 32 kg thick from bottom\n\n\
         brew next\n  wort 10 hL at 1.048\n  on 2026-03-12 12:00 pitch cone 8 kg\n"
    );
    let season = season(&text);
    let pitch = &brew(&season, "next").pitches[0];
    assert_eq!((pitch.unit, pitch.generation), ("g", Some(2)));
    assert!((pitch.left_after - 24_000.0).abs() < 1e-6);
    // 8 kg at 1.06 g/mL, 2.4 B/mL thick, 15 % no yeast, 95 % alive a day later: 14.3 thousand B.
    let cells = live(&season, "next");
    assert!((13_500.0..15_000.0).contains(&cells), "{cells}");
}

#[test]
fn a_cone_gives_cleaner_yeast_once_something_was_let_off() {
    let cells = |shape: &str, first: &str| {
        let text = format!(
            "{JAR}\nvessel tank\n{shape}\nbrew big\n  wort 100 L at 1.048\n  in tank\n  on 2026-03-02 12:00 pitch jar\n  \
             on 2026-03-10 12:00 gravity 1.012\n{first}  on 2026-03-11 13:00 harvest h 1 L thick\n\n\
             brew next\n  wort 20 L at 1.048\n  on 2026-03-12 12:00 pitch h 100 mL\n"
        );
        live(&season(&text), "next")
    };
    let (cone, let_off) = ("  shape conical\n", "  on 2026-03-11 12:00 dump 500 mL\n");
    let bucket = cells("", "");
    assert!((cells("  shape flat\n", let_off) / bucket - 1.0).abs() < 1e-9);
    assert!((cells(cone, "") / bucket - 1.0).abs() < 1e-9);
    // 0.95 of it yeast instead of 0.85 (judgement).
    assert!((cells(cone, let_off) / bucket - 0.95 / 0.85).abs() < 0.01, "{} {bucket}", cells(cone, let_off));
    // Racked out of the cone before.
    let racked = format!("  on 2026-03-11 11:00 rack to barrel\n{let_off}");
    assert!((cells(cone, &racked) / bucket - 1.0).abs() < 1e-9);
    let hopped = format!("  on 2026-03-09 12:00 add 50 g northgate\n{let_off}");
    assert!(cells(cone, &hopped) < bucket);
}

#[test]
fn a_boiled_sour_forgets_its_bacteria() {
    let text = format!(
        "{JAR}\nculture lacto\n  kind bacteria\n  pack 1 × 100 B\n  made 2026-02-20\n\nbrew sour\n  wort 20 L at 1.040\n  \
         on 2026-03-03 12:00 pitch lacto\n  on 2026-03-05 10:00 ph 3.4, boil 15 min\n    \
         16:00 pitch jar 150 mL\n"
    );
    let season = season(&text);
    let sour = brew(&season, "sour");
    assert_eq!(sour.pitches.len(), 1);
    assert_eq!(sour.traits.organism, Some(barm_syntax::ast::Organism::Ale));
    assert!(sour.pitch.is_some());
}

#[test]
fn one_wort_in_two_fermenters_and_one_topped_up() {
    let text = format!(
        "{JAR}\nbrew left\n  wort 10 L at 1.060\n  on 2026-03-03\n    12:00 add 2 L water\n    12:30 pitch jar 100 mL\n\n\
         brew right\n  wort 12 L of left\n  on 2026-03-03 12:00 pitch jar 100 mL\n"
    );
    let season = season(&text);
    let (left, right) = (brew(&season, "left").wort.unwrap(), brew(&season, "right").wort.unwrap());
    assert!((left.volume.as_litres() - 12.0).abs() < 1e-9);
    // 10 L at 1.060 brought to 12 L: sixty points thinned to fifty.
    assert!((left.gravity.as_specific() - 1.050).abs() < 0.0005, "{:?}", left.gravity);
    assert!((right.volume.as_litres() - 12.0).abs() < 1e-9);
    assert!((right.gravity.as_specific() - 1.060).abs() < 1e-9);
}

/// The wort of `part`, of 10 L out of a whole with these lines.
fn part_of(whole: &str, own: &str) -> (f64, f64) {
    let text =
        format!("{JAR}\nbrew whole\n  wort 20 L at 1.060\n{whole}\nbrew part\n  wort 10 L of whole\n{own}");
    let season = season(&text);
    let wort = brew(&season, "part").wort.unwrap();
    (wort.volume.as_litres(), wort.gravity.as_specific())
}

/// Of a part whose first line is at noon of the third.
fn assert_part(whole: &str, gravity: f64) {
    let (litres, found) = part_of(whole, "  on 2026-03-03 12:00 temp 18 °C\n    12:30 pitch jar 50 mL\n");
    assert!((litres - 10.0).abs() < 1e-9, "{litres}");
    assert!((found - gravity).abs() < 0.0005, "{whole}: {found}, not {gravity}");
}

#[test]
fn a_part_has_what_was_read_and_added_in_the_whole_before_it_was_parted() {
    assert_part("  on 2026-03-03 11:00 gravity 1.056\n", 1.056);
    // 20 L at 1.060 brought to 24 L: sixty points thinned to fifty. What is read last holds.
    assert_part("  on 2026-03-03 11:00 add 4 L water\n", 1.050);
    assert_part("  on 2026-03-03 11:00 volume 30 L, add 6 L water\n", 1.050);
    assert_part("  on 2026-03-03 11:00 add 4 L water, gravity 1.052\n", 1.052);
    // 20 L hold 3.12 kg of extract; a kilogram more, and 0.62 L for it, make 200 g/L.
    assert_part("  on 2026-03-03 11:00 add 1 kg sucrose\n", 1.077);
}

#[test]
fn a_part_has_nothing_of_what_came_later() {
    assert_part("  on 2026-03-03 11:00 gravity 1.056\n    13:00 gravity 1.050\n", 1.056);
    assert_part("  on 2026-03-03 13:00 add 4 L water\n", 1.060);
    // Read in the whole when its own yeast was in.
    assert_part("  on 2026-03-02 12:00 pitch jar 50 mL\n  on 2026-03-03 11:00 gravity 1.040\n", 1.060);
    // Of a whole without a time on the day that it was parted, and of a part without one.
    assert_part("  on 2026-03-03 gravity 1.056\n", 1.056);
    let gravity = |hour: &str, own: &str| part_of(&format!("  on {hour} gravity 1.056\n"), own).1;
    let some_time = "  on 2026-03-03 temp 18 °C, pitch jar 50 mL\n";
    assert_eq!(gravity("2026-03-03 16:00", some_time), 1.056);
    assert_eq!(gravity("2026-03-04 01:00", some_time), 1.060);
    let pitched_by = "  on 2026-03-03 temp 18 °C\n    15:00 pitch jar 50 mL\n";
    assert_eq!(gravity("2026-03-03 16:00", pitched_by), 1.060);
}

#[test]
fn what_is_added_when_it_is_parted_goes_into_the_rest_of_a_whole_that_ferments() {
    let water = "  on 2026-03-03 12:00 add 4 L water\n";
    assert_part(water, 1.050);
    assert_part(&format!("{water}    12:30 pitch jar 50 mL\n"), 1.060);
}

#[test]
fn the_sugar_of_the_whole_ferments_in_its_parts() {
    let end = |whole: &str, own: &str| {
        let text = format!(
            "{JAR}  attenuates 70..75 %\nbrew whole\n  wort 20 L at 1.050\n{whole}\nbrew part\n  wort 10 L of whole\n  \
             on 2026-03-03 12:00 temp 18 °C\n{own}    12:30 pitch jar 50 mL\n  on 2026-03-13 gravity 1.010\n"
        );
        let season = season(&text);
        let found = brew(&season, "part").fermentation.clone().unwrap();
        let at = brew(&season, "part").last_event.unwrap();
        (found.expected(at).map(|end| end.gravity.as_specific()), found.unknown_extract.is_some())
    };
    let (whole, own) = ("  on 2026-03-03 11:00 add 1 kg sucrose\n", "    12:10 add 500 g sucrose\n");
    let ((by_whole, _), (by_own, _)) = (end(whole, ""), end("", own));
    assert!((by_whole.unwrap() - by_own.unwrap()).abs() < 1e-6, "{by_whole:?} {by_own:?}");
    assert_eq!(end("  on 2026-03-03 11:00 add 2 kg cherries\n", ""), (None, true));
}

#[test]
fn a_wort_of_a_wort_of_itself_is_not_known() {
    let text = "brew a\n  wort 10 L of b\nbrew b\n  wort 10 L of a\n";
    let season = season(text);
    for name in ["a", "b"] {
        assert!(brew(&season, name).wort.is_none());
        assert_eq!(brew(&season, name).missing[0].fact, "its wort comes from itself");
    }
}

#[test]
fn brews_that_are_parts_of_each_other_are_told_once() {
    let ring = |names: &[String], line: &dyn Fn(&str) -> String| -> (usize, Vec<usize>) {
        let next = names.iter().cycle().skip(1);
        let brews = names.iter().zip(next).map(|(name, next)| format!("brew {name}\n{}", line(next)));
        let found = season(&brews.collect::<String>());
        let loops = found.faults.iter().filter_map(|fault| match fault {
            Fault::Loop { lots, .. } => Some(lots.len()),
            _ => None,
        });
        let matter = found
            .batches
            .iter()
            .flat_map(|batch| &batch.missing)
            .filter(|lacks| lacks.figure == "wort" && lacks.matters);
        (matter.count(), loops.collect())
    };
    for count in [2, 3, 40] {
        let names: Vec<String> = (0..count).map(|number| format!("b{number}")).collect();
        let parts = |when: &'static str| move |whole: &str| format!("  wort 5 L of {whole}\n{when}");
        assert_eq!(ring(&names, &parts("")), (0, vec![count]));
        assert_eq!(
            ring(&names, &parts("  on 2026-03-01 temp 18 °C\n  on 2026-03-02 pitch b0\n")).1,
            vec![count, 1]
        );
        // Beer that is poured round and round is none: each was there before.
        let beer = |next: &str| {
            format!(
                "  wort 20 L at 1.048\n  on 2026-03-01 12:00 add 1/4 {next}\n  on 2026-03-09 bottle 10 L, 1/4 {next}\n"
            )
        };
        assert_eq!(ring(&names, &beer), (0, vec![]));
    }
    // What hangs on a loop is no part of it, and a wort of itself is told as what it is.
    let hanging = season(
        "brew c\n  wort 5 L of a\nbrew a\n  wort 10 L of b\nbrew b\n  wort 10 L of a\nbrew d\n  wort 5 L of d\n",
    );
    let told: Vec<_> = hanging
        .faults
        .iter()
        .filter_map(|fault| match fault {
            Fault::Loop { lots, places, .. } => {
                Some((lots.len(), places.iter().map(|place| hanging.text(*place)).collect::<Vec<_>>()))
            }
            _ => None,
        })
        .collect();
    assert_eq!(told, [(2, vec!["wort 10 L of b", "wort 10 L of a"])]);
}

#[test]
fn yeast_that_came_with_other_beer_is_in_the_cake() {
    let went_on = |young: &str, old: &str| -> Vec<Option<&'static str>> {
        let season = season(&format!(
            "strain reed-ale\n  kind ale\n  attenuates 70..75 %\nculture reed of reed-ale\n  pack 9 × 100 B\n\
             strain saltmarsh-farm\n  kind ale\n  attenuates 80..92 %\n  diastatic\nculture farm of saltmarsh-farm\n  pack 9 × 100 B\n\
             brew young\n  wort 20 L at 1.048\n{young}\n\
             brew old\n  wort 20 L at 1.048\n  on 2026-03-01 12:00 pitch reed 2 packs\n{old}\n\
             brew next\n  wort 20 L at 1.048\n  on 2026-03-20 12:00 pitch jar\n\
             brew cake\n  wort 20 L at 1.048\n  on 2026-03-20 12:00 pitch old\n\
             starter grown\n  wort 1 L at 1.037\n  on 2026-03-20 12:00 pitch jar 10 mL\n\
             brew after\n  wort 20 L at 1.048\n  on 2026-03-22 12:00 pitch grown\n"
        ));
        ["next", "cake", "after"]
            .map(|name| brew(&season, name).fermentation.as_ref().unwrap().goes_on)
            .to_vec()
    };
    let harvest = "  on 2026-03-16 harvest jar 300 mL";
    let farm = Some("a diastatic strain");
    let pitched = "  on 2026-03-12 12:00 pitch farm 1 pack";
    assert_eq!(went_on(pitched, &format!("  on 2026-03-14 add 1 L young\n{harvest}")), [farm; 3]);
    assert_eq!(went_on(pitched, &format!("  on 2026-03-14 pitch farm 1 pack\n{harvest}")), [farm; 3]);
    // By way of a third, and where the brew says it of itself.
    let twice = format!(
        "{pitched}\nbrew middle\n  wort 20 L at 1.048\n  on 2026-03-12 pitch reed 1 pack\n  on 2026-03-13 add 1 L young"
    );
    assert_eq!(went_on(&twice, &format!("  on 2026-03-14 add 1 L middle\n{harvest}")), [farm; 3]);
    let wild = "  kind wild\n  on 2026-03-12 temp 20 °C";
    assert_eq!(went_on(wild, &format!("  on 2026-03-14 add 1 L young\n{harvest}")), [Some("wild yeast"); 3]);
    // It was harvested before, the other beer went into the bottles, or both were boiled.
    let before = format!("{harvest}\n  on 2026-03-17 add 1 L young");
    assert_eq!(went_on(pitched, &before), [None, farm, None]);
    assert_eq!(went_on(pitched, &format!("  on 2026-03-14 bottle 14 L, 1 L young\n{harvest}")), [None; 3]);
    let boiled =
        "  on 2026-03-02 add 1 L young\n  on 2026-03-03 boil 60 min\n  on 2026-03-04 pitch reed 2 packs\n";
    assert_eq!(went_on("  on 2026-03-01 12:00 pitch farm 1 pack", &format!("{boiled}{harvest}")), [None; 3]);
    // Nobody knows how much of it there is, and the yeast that was pitched stays the first.
    let text = format!("  on 2026-03-14 add 1 L young\n{harvest}");
    let season = season(&format!(
        "strain reed-ale\n  kind ale\nculture reed of reed-ale\n  pack 9 × 100 B\nstrain farm-ale\n  kind ale\n  diastatic\n\
         culture farm of farm-ale\n  pack 9 × 100 B\nbrew young\n  wort 20 L at 1.048\n{pitched}\nbrew old\n  wort 20 L at 1.048\n  \
         on 2026-03-01 12:00 pitch reed 2 packs\n{text}\nbrew next\n  wort 20 L at 1.048\n  on 2026-03-20 12:00 pitch jar\n"
    ));
    let blend = brew(&season, "next").blend.as_ref().unwrap();
    let parts: Vec<_> = blend.parts.iter().map(|part| (&*part.name, part.share.is_some())).collect();
    assert_eq!(parts, [("reed-ale", false), ("farm-ale", false)]);
    assert_eq!(brew(&season, "old").blend.as_ref().map_or(1, |blend| blend.parts.len()), 1);
}

/// The wort of a brew with these lines, and how many gravities are taken to be those of beer.
fn unpitched(lines: &str) -> (f64, usize) {
    let season = season(&format!("brew b\n  wort 20 L at 1.050\n{lines}"));
    let batch = brew(&season, "b");
    (batch.wort.unwrap().gravity.as_specific(), batch.gravities.len())
}

#[test]
fn a_gravity_read_days_later_is_not_that_of_a_wort_nobody_pitched() {
    assert_eq!(unpitched("  on 2026-03-03 12:00 temp 20 °C\n    18:00 gravity 1.052\n"), (1.052, 0));
    assert_eq!(unpitched("  on 2026-03-03 12:00 temp 20 °C\n  on 2026-03-13 gravity 1.012\n"), (1.050, 1));
    // Alone in the log it is what was read first.
    assert_eq!(unpitched("  on 2026-03-13 gravity 1.052\n"), (1.052, 0));
    // It works: whatever is read now is beer.
    let works = "  on 2026-03-03 12:00 temp 20 °C\n    20:00 krausen rising, gravity 1.044\n";
    assert_eq!(unpitched(works), (1.050, 1));
    // A wort that is parted was not touched until then.
    let parted = "  on 2026-03-03 12:00 temp 20 °C\n  on 2026-03-06 10:00 gravity 1.052\n  on 2026-03-09 gravity 1.030\n\
                  brew part\n  wort 5 L of b\n  on 2026-03-06 11:00 temp 20 °C\n";
    assert_eq!(unpitched(parted), (1.052, 1));
}

fn suspects(text: &str) -> Vec<String> {
    let season = season(text);
    season
        .faults
        .iter()
        .filter_map(|fault| match fault {
            Fault::Suspect { lot, root, vessel, .. } => {
                let [name, root] = [lot, root].map(|lot| season.lot(*lot).unwrap().name.to_string());
                Some(match vessel {
                    Some(vessel) if name == root => format!("{name} in {vessel}"),
                    Some(_) => format!("{name} from {root}"),
                    None => name,
                })
            }
            _ => None,
        })
        .collect()
}

#[test]
fn an_infection_goes_down_the_line_and_through_the_vessel() {
    let brew = |name: &str, day: u8, yeast: &str, vessel: &str, more: &str| {
        format!(
            "brew {name}\n  wort 20 L at 1.048\n  in {vessel}\n  on 2026-04-{day:02} 12:00 pitch {yeast} 50 mL\n{more}\n"
        )
    };
    let season = |clean: &str| {
        format!(
            "{JAR}\n{}{}{}{}{}",
            brew(
                "one",
                1,
                "jar",
                "bucket-1",
                &format!("  on 2026-04-08 12:00 harvest h1 300 mL thick\n    13:00 infected\n{clean}")
            ),
            brew("two", 9, "h1", "bucket-2", ""),
            brew("three", 10, "jar", "bucket-1", ""),
            brew("four", 18, "jar", "bucket-1", ""),
            brew("five", 26, "jar", "bucket-1", ""),
        )
    };
    // The harvest, the brew on it, and the next two in the bucket; the third after two without trouble is free.
    let mut found = suspects(&season(""));
    found.sort();
    assert_eq!(found, ["four in bucket-1", "h1", "three in bucket-1", "two"]);
    let mut cleaned = suspects(&season("    14:00 clean bucket-1\n"));
    cleaned.sort();
    assert_eq!(cleaned, ["h1", "two"]);
}

#[test]
fn what_a_beer_gave_before_an_infection_came_in_is_clean_of_it() {
    let season_with = |comes: &str| {
        format!(
            "brew bad\n  wort 20 L at 1.048\n  on 2026-04-01 12:00 pitch jar 50 mL\n  on 2026-04-20 infected\n\
             brew old\n  wort 20 L at 1.048\n  on 2026-04-01 12:00 pitch jar 50 mL\n  on 2026-04-08 gravity 1.010\n  \
             on 2026-04-10 gravity 1.010\n    12:00 harvest h1 100 mL, bottle 5 L\n  on 2026-04-12 12:00 {comes}\n  \
             on 2026-04-14 harvest h2 100 mL, bottle 5 L\n\
             brew first\n  wort 20 L at 1.048\n  on 2026-04-15 pitch h1 50 mL\nbrew second\n  wort 20 L at 1.048\n  on 2026-04-15 pitch h2 50 mL\n"
        )
    };
    let told = |comes: &str| {
        let text = format!("{JAR}\n{}", season_with(comes));
        let mut found = suspects(&text);
        found.sort();
        let packages = brew(&season(&text), "old")
            .packages
            .iter()
            .map(|package| package.goes_on.is_some())
            .collect::<Vec<_>>();
        (found, packages)
    };
    let is = |found: &[&str], packages: &[bool]| {
        (found.iter().map(ToString::to_string).collect::<Vec<_>>(), packages.to_vec())
    };
    assert_eq!(told("add 1 L bad"), is(&["h2", "old", "second"], &[false, true]));
    // What went into bottles is not in the cake.
    let (found, packages) = told("bottle 5 L, 1 L bad");
    assert_eq!((found, &packages[..2]), (vec!["old".to_owned()], &[false, true][..]));
}

#[test]
fn racking_takes_the_suspicion_along() {
    let text = format!(
        "{JAR}\nbrew one\n  wort 20 L at 1.048\n  in bucket-1\n  on 2026-04-01 12:00 pitch jar 50 mL\n  \
         on 2026-04-10 12:00 rack to cask-1\n  on 2026-04-20 12:00 infected\n\n\
         brew two\n  wort 20 L at 1.048\n  in cask-1\n  on 2026-05-01 12:00 pitch jar 50 mL\n"
    );
    assert_eq!(suspects(&text), ["two in cask-1"]);
}

#[test]
fn a_jar_taints_the_yeast_put_into_it_and_what_is_pitched_of_that() {
    let season = |between: &str| {
        format!(
            "{JAR}\nbrew one\n  wort 20 L at 1.048\n  on 2026-04-01 12:00 pitch jar 50 mL\n  \
             on 2026-04-08 12:00 harvest h1 300 mL thick in jar-4\n\n\
             culture h1\n  on 2026-04-15 12:00 infected\n{between}\n\
             brew two\n  wort 20 L at 1.048\n  in bucket-2\n  on 2026-04-09 12:00 pitch jar 50 mL\n  \
             on 2026-04-20 12:00 harvest h2 300 mL thick in jar-4\n\n\
             brew three\n  wort 20 L at 1.048\n  in bucket-3\n  on 2026-04-25 12:00 pitch h2 90 mL\n\n\
             brew four\n  wort 20 L at 1.048\n  in bucket-3\n  on 2026-05-05 12:00 pitch jar 50 mL\n"
        )
    };
    let told = |between: &str| {
        let mut found = suspects(&season(between));
        found.sort();
        found
    };
    // The brew on that yeast is told, for nothing shows before it is pitched; the bucket after that brew is not.
    let tainted = ["h2 in jar-4", "three from h2"];
    assert_eq!(told(""), tainted);
    let none: [&str; 0] = [];
    assert_eq!(told("  on 2026-04-18 12:00 clean jar-4\n"), none);
    // In the harvest's own block its jar is meant.
    assert_eq!(told("  on 2026-04-18 12:00 clean\n"), none);
    assert_eq!(told("\nvessel jar-4\n  on 2026-04-18 12:00 boil 15 min\n"), none);
    // Wort is boiled in a kettle.
    assert_eq!(told("  on 2026-04-18 12:00 boil 15 min\n"), tainted);
}

#[test]
fn what_is_boiled_with_the_wort_does_not_live() {
    let of = |events: &str, yeast: &str| {
        let text = format!(
            "{JAR}\nbrew a\n  wort 20 L at 1.048\n  on 2026-03-08 12:00\n{events}  on 2026-03-20 12:00\n    \
             harvest h 300 mL thick\n\nbrew b\n  wort 20 L at 1.048\n  on 2026-03-20 18:00 pitch {yeast}\n"
        );
        let season = season(&text);
        (live(&season, "b"), brew(&season, "b").pitches[0].from.clone())
    };
    let soured = "    pitch jar 50 mL\n  on 2026-03-10 12:00 boil 15 min\n";
    let (jar, how) = of(soured, "h 100 mL");
    assert!(jar.abs() < 1e-9 && how.ends_with(", 0 % alive"), "{jar} {how}");
    let (cake, how) = of(soured, "a");
    assert!(cake.abs() < 1e-9 && how.ends_with(", 0 % alive"), "{cake} {how}");
    // Fresh yeast goes into the boiled wort; or the wort was boiled before any went in.
    let again = format!("{soured}    18:00 pitch jar 50 mL\n");
    let usual = "    boil 60 min\n  on 2026-03-09 12:00 pitch jar 50 mL\n";
    for events in [&*again, usual] {
        assert!(of(events, "h 100 mL").0 > 50.0 && of(events, "a").0 > 50.0, "{events}");
    }
}

#[test]
fn a_lot_racked_into_the_vessel_it_stands_in_counts_once() {
    let brew = |name: &str, month: u8, more: &str| {
        format!(
            "brew {name}\n  wort 20 L at 1.048\n  in oak\n  on 2026-{month:02}-01 12:00 pitch jar 50 mL\n{more}\n"
        )
    };
    let text = format!(
        "{JAR}\n{}{}{}{}",
        brew("one", 4, "  on 2026-04-20 12:00 infected\n"),
        brew("two", 5, "  on 2026-05-10 12:00 rack to oak\n"),
        brew("three", 6, ""),
        brew("four", 7, ""),
    );
    assert_eq!(suspects(&text), ["two in oak", "three in oak"]);
}

#[test]
fn a_jar_is_free_again_after_two_lots_without_trouble() {
    let harvest =
        |name: &str, day: u8| format!("  on 2026-04-{day:02} 12:00 harvest {name} 100 mL thick in jar-4\n");
    let text = format!(
        "{JAR}\nbrew one\n  wort 20 L at 1.048\n  on 2026-04-01 12:00 pitch jar 50 mL\n{}{}{}\n\
         vessel jar-4\n  on 2026-04-02 12:00 infected\n",
        harvest("h1", 8),
        harvest("h2", 12),
        harvest("h3", 16),
    );
    assert_eq!(suspects(&text), ["h1 in jar-4", "h2 in jar-4"]);
}

#[test]
fn a_starter_in_a_suspect_flask_takes_it_into_the_brew() {
    let text = format!(
        "{JAR}\nstarter first\n  wort 1 L at 1.037\n  in flask-1\n  on 2026-04-01 12:00 pitch jar 20 mL\n    13:00 infected\n\n\
         starter second\n  wort 1 L at 1.037\n  in flask-1\n  on 2026-04-05 12:00 pitch jar 20 mL\n\n\
         brew one\n  wort 20 L at 1.048\n  on 2026-04-07 12:00 pitch second\n"
    );
    assert_eq!(suspects(&text), ["second in flask-1", "one from second"]);
}

#[test]
fn a_clean_plate_ends_the_suspicion_of_what_was_there_by_then() {
    let told = |h1: &str, h2: &str| {
        suspects(&format!(
            "{JAR}\nbrew one\n  wort 20 L at 1.048\n  on 2026-04-01 12:00 pitch jar 50 mL\n  \
             on 2026-04-08 12:00 harvest h1 300 mL thick\n    13:00 infected\n\n\
             culture h1\n{h1}\nculture h2\n{h2}\n\
             brew two\n  wort 20 L at 1.048\n  on 2026-04-09 12:00 pitch h1 90 mL\n  \
             on 2026-04-16 12:00 harvest h2 300 mL thick\n\n\
             brew three\n  wort 20 L at 1.048\n  on 2026-04-18 12:00 pitch h2 90 mL\n"
        ))
    };
    assert_eq!(told("", ""), ["h1", "two", "h2", "three"]);
    assert_eq!(told("", "  on 2026-04-20 test plate pass\n"), ["h1", "two"]);
    // Found sound later, it was sound when it was pitched.
    let none: [&str; 0] = [];
    assert_eq!(told("  on 2026-04-20 test plate pass\n", ""), none);
    // The last plate counts, and no other test tells of it.
    let again = "  on 2026-04-18 test plate pass\n  on 2026-04-20 test plate fail\n";
    assert_eq!(told("", again), ["h1", "two", "three"]);
    assert_eq!(told("", "  on 2026-04-20 test vdk pass\n"), ["h1", "two", "h2", "three"]);
}

#[test]
fn a_failed_plate_is_an_infection_until_another_passes() {
    let told = |plates: &str| {
        suspects(&format!(
            "{JAR}\nbrew one\n  wort 20 L at 1.048\n  on 2026-04-01 12:00 pitch jar 50 mL\n  \
             on 2026-04-08 12:00 harvest h1 300 mL thick\n{plates}"
        ))
    };
    assert_eq!(told("  on 2026-04-09 test plate fail\n"), ["h1"]);
    let none: [&str; 0] = [];
    assert_eq!(told("  on 2026-04-09 test plate fail\n  on 2026-04-12 test plate pass\n"), none);
    // So is what somebody only wrote down.
    assert_eq!(told("  on 2026-04-09 infected\n  on 2026-04-12 test plate pass\n"), none);
    assert_eq!(told("  on 2026-04-12 test plate pass\n  on 2026-04-13 infected\n"), ["h1"]);
}

#[test]
fn a_vessel_is_called_infected_by_its_name_wherever_that_is_written() {
    let told = |line: &str| {
        suspects(&format!(
            "{JAR}\nbrew one\n  wort 20 L at 1.048\n  in tub\n  on 2026-04-01 12:00 pitch jar 50 mL\n{line}\n\
             brew two\n  wort 20 L at 1.048\n  in tub\n  on 2026-04-20 12:00 pitch jar 50 mL\n"
        ))
    };
    let none: [&str; 0] = [];
    assert_eq!(told(""), none);
    for line in [
        "  on 2026-04-10 infected Tub\n",
        "vessel tub\n  on 2026-04-10 infected\n",
        "vessel oak\n  on 2026-04-10 infected tub\n",
        "culture other\n  on 2026-04-10 infected tub\n",
    ] {
        assert_eq!(told(line), ["two in tub"], "{line}");
    }
    // The beer that left it was sound.
    let unknown = season(&format!("{JAR}\nbrew one\n  wort 20 L at 1.048\n  on 2026-04-10 infected tub\n"));
    assert!(matches!(unknown.faults.as_slice(), [Fault::UnknownName { name, .. }] if name == "tub"));
}

#[test]
fn what_lies_in_a_vessel_that_is_called_infected_is_infected_itself() {
    let is_infected = |lines: &str, elsewhere: &str| {
        let text = format!(
            "{JAR}\nbrew one\n  wort 20 L at 1.048\n  in tub\n  on 2026-04-01 12:00 pitch jar 50 mL\n{lines}\n{elsewhere}"
        );
        brew(&season(&text), "one").record.infected.is_some()
    };
    assert!(!is_infected("", ""));
    for line in
        ["  on 2026-04-10 infected tub\n", "  on 2026-04-10 rack to oak\n  on 2026-04-11 infected oak\n"]
    {
        assert!(is_infected(line, ""), "{line}");
    }
    assert!(is_infected("", "vessel tub\n  on 2026-04-10 infected\n"));
    // Whoever cleans up after the bottling says it of what was bottled.
    assert!(is_infected("  on 2026-04-12 bottle 19 L\n  on 2026-04-13 infected tub\n", ""));
    // It has left the tub, was sound by then, or the tub was cleaned for another.
    for lines in [
        "  on 2026-04-10 rack to oak\n  on 2026-04-11 infected tub\n",
        "  on 2026-04-12 bottle 19 L\n  on 2026-04-30 infected tub\n",
        "  on 2026-04-10 infected tub\n  on 2026-04-11 test plate pass\n",
    ] {
        assert!(!is_infected(lines, ""), "{lines}");
    }
    let next = "brew two\n  wort 20 L at 1.048\n  in tub\n  on 2026-04-20 12:00 pitch jar 50 mL\n  on 2026-04-25 infected tub\n";
    assert!(!is_infected("", next));

    let jar = |line: &str| {
        suspects(&format!(
            "{JAR}\nbrew one\n  wort 20 L at 1.048\n  on 2026-04-01 12:00 pitch jar 50 mL\n  \
             on 2026-04-08 12:00 harvest h1 300 mL thick in jar-1\n{line}\
             brew two\n  wort 20 L at 1.048\n  on 2026-04-14 12:00 pitch h1 120 mL\n"
        ))
    };
    assert_eq!(jar("vessel jar-1\n  on 2026-04-13 infected\n"), ["two"]);
    assert!(jar("vessel jar-1\n  on 2026-04-13 clean\n").is_empty());
}

#[test]
fn a_vessel_that_is_cleaned_among_the_lines_of_a_brew_was_cleaned_for_it() {
    let told = |lines: &str| {
        suspects(&format!(
            "{JAR}\nbrew one\n  wort 20 L at 1.048\n  in tub\n  on 2026-04-01 12:00 pitch jar 50 mL\n    13:00 infected\n\n\
             brew two\n  wort 20 L at 1.048\n  in tub\n  on 2026-04-20\n{lines}"
        ))
    };
    let pitch = "    15:00 pitch jar 50 mL\n";
    let none: [&str; 0] = [];
    for clean in [
        "    12:00 clean\n",
        "    12:00 clean tub\n",
        "    11:00 temp 20 °C\n    12:00 clean tub\n",
        "    clean tub\n",
    ] {
        assert_eq!(told(&format!("{clean}{pitch}")), none, "{clean}");
    }
    // Without a time it was cleaned for what goes in, wherever that is written.
    for clean in ["    15:10 temp 20 °C\n    clean\n", "    clean tub\n"] {
        assert_eq!(told(&format!("    14:00 temp 20 °C\n{pitch}{clean}")), none, "{clean}");
    }
    // Wort that is hot yet is in no fermenter.
    let mashed = |celsius: u8| {
        told(&format!("    10:00 temp {celsius} °C\n{pitch}\nvessel tub\n  on 2026-04-20 13:00 clean\n"))
    };
    assert_eq!((mashed(66).as_slice(), mashed(18)), ([].as_slice(), vec!["two in tub".to_owned()]));
    // What is cleaned elsewhere, or once the yeast is in, is another matter.
    assert_eq!(told(&format!("    12:00 clean oak\n{pitch}")), ["two in tub"]);
    assert_eq!(told(&format!("{pitch}    18:00 clean tub\n")), ["two in tub"]);
}

#[test]
fn a_boil_ends_an_infection_of_the_wort_and_not_of_what_it_gave_before() {
    let told = |boil: &str| {
        let text = format!(
            "{JAR}\nbrew one\n  wort 20 L at 1.048\n  in tub\n  on 2026-04-01 12:00 pitch jar 50 mL\n  on 2026-04-02 harvest h0 100 mL\n  \
             on 2026-04-03 infected\n{boil}  on 2026-04-05 12:00 pitch jar 50 mL\n  on 2026-04-20 harvest h1 300 mL, bottle 15 L\n\n\
             brew two\n  wort 20 L at 1.048\n  on 2026-04-21 12:00 add 1 L one, pitch jar 50 mL\n\n\
             brew three\n  wort 20 L at 1.048\n  in tub\n  on 2026-04-25 12:00 pitch jar 50 mL\n"
        );
        let season = season(&text);
        let goes_on = brew(&season, "one").packages[0].goes_on.is_some();
        let mut found = suspects(&text);
        found.sort();
        (found, goes_on)
    };
    let boil = "  on 2026-04-04 boil 10 min\n";
    let again = "  on 2026-04-04 boil 10 min\n  on 2026-04-12 infected\n";
    let both = vec!["h0".to_owned(), "h1".to_owned(), "three in tub".to_owned(), "two".to_owned()];
    assert_eq!(told(""), (both.clone(), true));
    assert_eq!(told(boil), (vec!["h0".to_owned(), "three in tub".to_owned()], false));
    assert_eq!(told(again), (both, true));
}

#[test]
fn yeast_of_a_beer_just_pitched_has_not_grown_yet() {
    let tenth = |day: u8, time: &str| {
        let text = format!(
            "{JAR}\nbrew one\n  wort 20 L at 1.050\n  on 2026-03-08 12:00 pitch jar 100 mL\n\
             brew two\n  wort 20 L at 1.050\n  on 2026-03-{day:02} {time} pitch one 1/10\n"
        );
        let season = season(&text);
        (live(&season, "one"), live(&season, "two"))
    };
    let (pitched, at_once) = tenth(8, "12:20");
    assert!((at_once / pitched - 0.1).abs() < 0.01, "{at_once} of {pitched}");
    let [(_, day), (_, cake)] = [tenth(9, "08:00"), tenth(13, "12:00")];
    assert!(at_once < 0.5 * day && day < 0.7 * cake, "{at_once} {day} {cake}");
}

#[test]
fn what_boils_off_is_water() {
    let wort = |read: &str| {
        let text = format!(
            "{JAR}\nbrew b\n  wort 25 L at 1.040\n  on 2026-03-08\n    10:00 boil 60 min\n{read}    13:00 pitch jar 100 mL\n"
        );
        let season = season(&text);
        let wort = brew(&season, "b").wort.unwrap();
        (wort.volume.as_litres(), (wort.gravity.as_specific() * 1000.0).round())
    };
    assert_eq!(wort("    12:00 volume 20 L\n"), (20.0, 1050.0));
    // What is read is believed, in any order; a volume that was topped up or mistyped says nothing of the strength.
    assert_eq!(wort("    12:00 volume 20 L, gravity 1.047\n"), (20.0, 1047.0));
    assert_eq!(wort("    12:00 gravity 1.047, volume 20 L\n"), (20.0, 1047.0));
    assert_eq!(wort("    12:00 volume 26 L\n"), (26.0, 1040.0));
    assert_eq!(wort("    12:00 volume 2 L\n"), (2.0, 1040.0));
}

#[test]
fn a_wort_that_was_boiled_again_is_neither_suspect_nor_aerated() {
    let text = |boil: &str| {
        format!(
            "{JAR}\nculture soured\n  kind ale\n  slurry 300 mL\n  harvested 2026-03-01\n  on 2026-03-03 infected\n\n\
             brew b\n  wort 20 L at 1.048\n  on 2026-03-03\n    08:00 temp 18 °C, aerate oxygen 60 s at 1 L/min\n    \
             08:10 pitch soured 100 mL\n{boil}    15:10 aerate oxygen 60 s at 1 L/min\n    15:20 pitch jar 100 mL\n"
        )
    };
    let boiled = text("    11:00 boil 10 min\n");
    assert_eq!(suspects(&text("")), ["b"]);
    let none: [&str; 0] = [];
    assert_eq!(suspects(&boiled), none);
    let season = season(&boiled);
    let b = brew(&season, "b");
    assert_eq!((b.doses.len(), b.pitches.len()), (1, 1));
    // One dose's, not two.
    assert!(b.oxygen.as_ref().unwrap().dissolved.median() < 13.0);
}

#[test]
fn a_starter_that_was_counted_is_taken_at_its_count() {
    let pitched = |events: &str, amount: &str| {
        let text = format!(
            "culture slope\n  kind ale\n  slant\n\nstarter s\n  wort 2 L at 1.037\n  \
             on 2026-03-02 12:00 pitch slope 1 loop\n{events}\nbrew b\n  wort 20 L at 1.048\n  on 2026-03-04 18:00 pitch s {amount}\n"
        );
        brew(&season(&text), "b").pitches[0].live.as_ref().map(|live| live.median() / 1e9)
    };
    assert_eq!(pitched("", ""), None);
    let counted = "  on 2026-03-04 12:00 count 100 M/mL, viability 95 %\n";
    let whole = pitched(counted, "").unwrap();
    // 100 M/mL × 2000 mL × 0.95, and a quarter of a day.
    assert!((185.0..=190.0).contains(&whole), "{whole}");
    assert!((pitched(counted, "1 L").unwrap() / whole - 0.5).abs() < 1e-9);
    // Poured off before, it was thicker; poured off since, it is the same yeast in less.
    let settled = pitched(&format!("  on 2026-03-04 11:00 decant 1.5 L\n{counted}"), "").unwrap();
    assert!((settled / whole - 0.25).abs() < 1e-9);
    let since = pitched(&format!("{counted}    13:00 decant 1.5 L\n"), "250 mL").unwrap();
    assert!((since / whole - 0.5).abs() < 1e-9);
    // More yeast in it is more than was counted.
    assert_eq!(pitched(&format!("{counted}    13:00 pitch slope 1 loop\n"), ""), None);
}

#[test]
fn a_viability_counts_no_cells() {
    let from = |line: &str| {
        let text =
            format!("{JAR}{line}\nbrew b\n  wort 20 L at 1.048\n  on 2026-03-08 12:00 pitch jar 100 mL\n");
        brew(&season(&text), "b").pitches[0].from.clone()
    };
    assert_eq!(from("  on 2026-03-08 11:00 viability 93 %\n"), "2.04 B/mL by its thickness, 93 % alive");
    assert_eq!(
        from("  on 2026-03-08 11:00 count 1.5 B/mL, viability 93 %\n"),
        "1.50 B/mL counted, 93 % alive"
    );
}

#[test]
fn a_harvest_larger_than_its_wort_cannot_be() {
    let text = format!(
        "{JAR}\nbrew one\n  wort 20 L at 1.048\n  on 2026-04-01 pitch jar 50 mL\n  on 2026-04-08 harvest h 450 L thick\n"
    );
    let season = season(&text);
    assert!(
        matches!(season.faults.as_slice(), [Fault::UnlikelyUnit { likely, impossible: true, .. }] if likely.to_string() == "450 mL"),
        "{:?}",
        season.faults
    );
}

#[test]
fn a_harvest_larger_than_its_jar_cannot_be() {
    let told = |amount: &str| {
        let text = format!(
            "{JAR}\nvessel jar-7\n  holds 0.5 L\n\nbrew one\n  wort 20 L at 1.048\n  on 2026-04-01 pitch jar 50 mL\n  \
             on 2026-04-08 harvest h {amount} thick in jar-7\n"
        );
        let faults = season(&text).faults;
        faults
            .iter()
            .any(|fault| matches!(fault, Fault::Impossible { why, .. } if why.contains("jar-7 holds")))
    };
    assert_eq!(
        ["800 mL", "540 mL", "~600 mL", "450 mL", "1/2"].map(told),
        [true, false, false, false, false]
    );
}

#[test]
fn a_share_of_a_cake_keeps_its_cells_and_what_it_is() {
    let text = |amount: &str, pitched: &str| {
        format!(
            "strain sz\n  kind ale\n  diastatic\n\nculture p of sz\n  sachet 11.5 g\n\n\
             brew one\n  wort 20 L at 1.048\n  on 2026-03-02 pitch p\n  on 2026-03-10 gravity 1.010\n  \
             on 2026-03-13 gravity 1.010, harvest h {amount}\n\n\
             brew two\n  wort 20 L at 1.048\n  on 2026-03-13 pitch {pitched}\n"
        )
    };
    let pitched = |amount: &str, pitched: &str| {
        let season = season(&text(amount, pitched));
        assert!(season.faults.is_empty(), "{:?}", season.faults);
        let pitch = brew(&season, "two").pitches[0].clone();
        assert_eq!((pitch.generation, pitch.traits.diastatic), (Some(1), true), "{amount}");
        pitch.live.map_or(0.0, |live| live.median() / 1e9)
    };
    let cake = pitched("100 mL", "one");
    let all = pitched("all thick", "h");
    // A little went with the 100 mL.
    assert!(cake > 500.0 && cake < all, "{cake} {all}");
    for (amount, part) in [("rest", 1.0), ("1/2 thick", 0.5), ("1/4", 0.25)] {
        let live = pitched(amount, "h");
        assert!((live - part * all).abs() < 1.0, "{amount}: {live} of {all}");
    }
    let half = pitched("all thick", "h 1/2");
    assert!((half - 0.5 * all).abs() < 1.0, "{half} of {all}");
    // By volume it is slurry of its thickness, and never more than all of it.
    let by_volume = pitched("all thick", "h 100 mL");
    assert!((by_volume / (2.04 * 100.0 * 0.95) - 1.0).abs() < 0.05, "{by_volume}");
    let too_much = pitched("all thick", "h 700 mL");
    assert!((too_much - all).abs() < 1.0, "{too_much} of {all}");
}

#[test]
fn a_volume_of_a_cake_is_never_more_than_all_of_it() {
    let text = "culture p\n  kind ale\n  sachet 11.5 g\n\nbrew b\n  wort 20 L at 1.050\n  on 2026-06-15 14:00 pitch p\n  \
                on 2026-06-24 gravity 1.012\n  on 2026-06-28 gravity 1.012\n\n\
                brew c\n  wort 20 L at 1.060\n  on 2026-06-28 14:00 pitch b 1 L\n\n\
                brew d\n  wort 20 L at 1.060\n  on 2026-06-29 14:00 pitch b 1 L\n";
    let poured = season(text);
    let live = |season: &Season, name: &str| {
        brew(season, name).pitches[0].total.as_ref().map(|total| total.median() / 1e9)
    };
    let all = live(&season(&text.replace("pitch b 1 L", "pitch b")), "c").unwrap();
    assert!(live(&poured, "c").is_some_and(|some| (some - all).abs() < 1.0), "{:?}", live(&poured, "c"));
    // A cake may be thin: that nothing is left of it nobody knows, nor how much.
    assert!(poured.faults.is_empty() && live(&poured, "d").is_none(), "{:?}", poured.faults);
    let far = season(&text.replacen("pitch b 1 L", "pitch b 6 L", 1));
    assert!(
        matches!(far.faults.as_slice(), [Fault::Overdrawn { taken, left, unit: "L", .. }] if *taken == 6.0 && *left < 1.0),
        "{:?}",
        far.faults
    );
    assert!(live(&far, "c").is_some_and(|some| (some - all).abs() < 1.0));
}

#[test]
fn beer_that_still_works_brings_its_part_of_the_yeast() {
    let text = "culture p\n  kind ale\n  sachet 2 × 11.5 g\n\nbrew donor\n  wort 25 L at 1.044\n  \
                on 2026-05-01 14:00 pitch p\n  on 2026-05-02 14:00 krausen high, gravity 1.034\n\n\
                brew taker\n  wort 20 L at 1.060\n  on 2026-05-02 15:00 pitch donor 4 L\n";
    let season = season(text);
    assert!(season.faults.is_empty(), "{:?}", season.faults);
    let pitch = &brew(&season, "taker").pitches[0];
    let per_millilitre = pitch.total.as_ref().unwrap().median() / 4000.0 / 1e6;
    // 25 to 60 million/mL: Yeast, Brewers Publications 2010.
    assert!((25.0..60.0).contains(&per_millilitre), "{per_millilitre}");
    assert!(pitch.from.starts_with("beer that still works"), "{}", pitch.from);
    // Where the beer has left it, it is the cake.
    let season = self::season(
        &text.replace("gravity 1.034\n", "gravity 1.034, keg 24 L\n").replace("4 L\n", "300 mL\n"),
    );
    let slurry = brew(&season, "taker").pitches[0].total.as_ref().unwrap().median() / 300.0 / 1e9;
    assert!(slurry > 0.5, "{slurry}");
}

#[test]
fn litres_typed_for_millilitres_out_of_a_jar() {
    let text = format!("{JAR}\nbrew one\n  wort 20 L at 1.048\n  on 2026-04-01 pitch jar 150 L\n");
    let season = season(&text);
    assert!(
        matches!(season.faults.as_slice(), [Fault::UnlikelyUnit { impossible: false, .. }]),
        "{:?}",
        season.faults
    );
}

#[test]
fn what_was_aerated_as_a_whole_has_its_oxygen_in_every_part() {
    let text = |own: &str| {
        format!(
            "{JAR}\nbrew whole\n  wort 24 L at 1.048\n  on 2026-03-03 11:00 temp 18 °C, aerate oxygen 60 s at 1 L/min\n\n\
             brew part\n  wort 12 L of whole\n  on 2026-03-03\n{own}    12:00 temp 18 °C, pitch jar 100 mL\n"
        )
    };
    let part = |text: &str| {
        let season = season(text);
        let found = brew(&season, "part").oxygen.clone().unwrap();
        (found.dissolved.median(), season.text(found.place).to_owned())
    };
    let whole = season(&text(""));
    let of_whole = brew(&whole, "whole").oxygen.as_ref().unwrap().dissolved.median();
    assert_eq!(part(&text("")), (of_whole, "wort 12 L of whole".to_owned()));
    // What a part was given itself is what counts.
    let (own, place) = part(&text("    11:30 aerate oxygen 60 s at 1 L/min\n"));
    assert!(own > of_whole && place.starts_with("aerate"), "{own} {of_whole} {place}");
    // A wort that was pitched itself was aerated for itself.
    let pitched = text("").replace("1 L/min\n\n", "1 L/min\n    11:30 pitch jar 100 mL\n\n");
    assert!(brew(&season(&pitched), "part").oxygen.is_none());
}

/// What showed nothing for a day and a half does not quadruple in half a day.
#[test]
fn the_longer_a_starter_was_idle_the_less_is_believed_of_what_came_after() {
    let pitched = |seen: &str| {
        let text = format!(
            "culture a\n  kind ale\n  pack 1 × 100 B\n  made 2026-07-01\n\nstarter s\n  wort 1.5 L at 1.037\n  stirred\n  \
             on 2026-09-10 18:00 pitch a\n  on 2026-09-{seen}\nbrew b\n  wort 20 L at 1.048\n  on 2026-09-12 18:00 pitch s\n"
        );
        let season = season(&text);
        let went_in = brew(&season, "s").pitches[0].live.as_ref().unwrap().median();
        let live = brew(&season, "b").pitches[0].live.as_ref().unwrap();
        [live.low() / went_in, live.median() / went_in, live.high() / went_in]
    };
    let near = |[low, middle, high]: [f64; 3]| low < 1.0 && (1.0..1.5).contains(&middle) && high > 1.3;
    for seen in [
        "12 06:00 gravity 1.037, krausen none",
        "12 06:00 krausen none",
        "12 gravity 1.037",
        "12 krausen none",
    ] {
        assert!(near(pitched(seen)), "{seen}: {:?}", pitched(seen));
    }
    let middles = ["10 20:00", "11 06:00", "11 18:00", "12 06:00", "12 17:00"]
        .map(|seen| pitched(&format!("{seen} krausen none"))[1]);
    assert!(middles.windows(2).all(|pair| pair[0] >= pair[1]), "{middles:?}");
    // Within a usual lag nothing is amiss.
    assert!(middles[1] > 4.0, "{middles:?}");
    // Foam seen since says that it worked.
    assert!(pitched("12 06:00 krausen none\n    12:00 krausen high")[1] > 4.0);
}

/// Of a starter that has grown it is told how long its yeast has been in it.
#[test]
fn a_grown_starter_is_as_old_as_it_is() {
    let text = "culture a\n  kind ale\n  pack 1 × 100 B\n  made 2026-08-20\n\nstarter s\n  wort 1.5 L at 1.037\n  stirred\n  \
                on 2026-09-03 19:00 pitch a\n  on 2026-09-05 08:00 gravity 1.010\n\
                brew b\n  wort 20 L at 1.048\n  on 2026-09-05 13:00 pitch s\n";
    let season = season(text);
    let from = &brew(&season, "b").pitches[0].from;
    assert!(from.contains("stirred, 42 h"), "{from}");
}

/// Without a time yeast is poured off for the pitch of its day, wherever that is written.
#[test]
fn an_untimed_decant_readies_yeast_for_the_pitch_above_it() {
    let asked = |lines: &str| {
        let text = format!(
            "culture jar\n  kind ale\n  slurry 800 mL thin\n  harvested 2026-03-07\n  generation 1\n\
             brew b\n  wort 20 L at 1.048\n  on 2026-03-08\n{lines}"
        );
        season(&text).answers[0].text.clone()
    };
    let (poured_off, thin) =
        (asked("    decant jar\n    14:20 pitch jar ?\n"), asked("    14:20 pitch jar ?\n"));
    assert_ne!(poured_off, thin);
    assert_eq!(asked("    14:20 pitch jar ?\n    decant jar\n"), poured_off);
    assert_eq!(asked("    14:20 pitch jar ?\n    18:00 decant jar\n"), thin);
}
