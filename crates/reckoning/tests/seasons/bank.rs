//! The yeast of a workspace on a day.

use barm_reckoning::{Advice, Bank, Banked, Season, Settings};
use barm_syntax::ast::{Kind, Wort};
use jiff::civil::{Date, date};

use crate::{season, settled};

fn wort(text: &str) -> Wort {
    let log = barm_syntax::read(&format!("brew asked\n  wort {text}\n"));
    match &log.blocks[0].block.statements[0].kind {
        Kind::Wort(wort) => Wort::clone(wort),
        other => panic!("{other:?}"),
    }
}

fn on(season: &Season, day: Date) -> Bank {
    season.bank(Some(day), None).unwrap()
}

fn lot<'b>(bank: &'b Bank, name: &str) -> &'b Banked {
    bank.lots.iter().find(|lot| lot.name == name).unwrap_or_else(|| panic!("no {name} on {}", bank.on))
}

fn names(bank: &Bank) -> Vec<&str> {
    bank.lots.iter().map(|lot| lot.name.as_str()).collect()
}

const LINE: &str = "strain reed-ale\n  kind ale\n\n\
    culture reed-a of reed-ale\n  pack 3 × 100 B\n  made 2026-01-05\n\n\
    starter reed-s\n  wort 1 L at 1.037\n  on 2026-01-10 18:00  pitch reed-a 1 pack\n\n\
    brew one\n  wort 20 L at 1.048\n  on 2026-01-12 12:00  pitch reed-s\n  on 2026-01-16  gravity 1.012\n  \
    on 2026-01-20  gravity 1.012\n    harvest reed-b 300 mL thick\n    bottle 18 L\n\n\
    brew two\n  wort 20 L at 1.048\n  on 2026-01-28 12:00  pitch reed-b 120 mL\n";

#[test]
fn stock_is_as_on_that_day() {
    let season = season(LINE);
    let left = |day: Date, name: &str| lot(&on(&season, day), name).left.as_ref().unwrap().value;
    assert_eq!(left(date(2026, 1, 9), "reed-a"), 3.0);
    assert_eq!(left(date(2026, 1, 10), "reed-a"), 2.0);
    assert_eq!(left(date(2026, 1, 27), "reed-b"), 300.0);
    assert_eq!(left(date(2026, 1, 28), "reed-b"), 180.0);
    // Nothing is there before it is made; the starter went into the brew whole.
    assert!(names(&on(&season, date(2026, 1, 4))).is_empty());
    assert_eq!(names(&on(&season, date(2026, 1, 11))), ["reed-s", "reed-a"]);
    assert_eq!(names(&on(&season, date(2026, 1, 12))), ["reed-a"]);
    // The cake is there once the beer has worked, until the end of the day on which it is bottled.
    assert!(names(&on(&season, date(2026, 1, 20))).contains(&"one"));
    assert!(!names(&on(&season, date(2026, 1, 21))).contains(&"one"));
}

#[test]
fn the_day_is_that_of_the_last_event_unless_given() {
    let season = season(LINE);
    assert_eq!(season.bank(None, None).unwrap().on, date(2026, 1, 28));
    let undated = settled("culture reed-a\n  kind ale\n  pack 1 × 100 B\n", Settings::default());
    assert!(undated.bank(None, None).is_none());
    let bank = on(&undated, date(2026, 2, 1));
    let pack = lot(&bank, "reed-a");
    assert_eq!((pack.age.as_ref(), pack.use_by, pack.advice), (None, None, Advice::MakeAStarter));
}

#[test]
fn descent_and_generation() {
    let season = season(LINE);
    let bank = on(&season, date(2026, 1, 28));
    let jar = lot(&bank, "reed-b");
    assert_eq!(jar.generation, Some(1));
    assert_eq!(jar.descent, [["one"], ["reed-s"], ["reed-a"]]);
    assert_eq!(jar.strains, ["reed-ale"]);
    assert_eq!(jar.form, "slurry");
    assert_eq!(lot(&bank, "reed-a").generation, Some(0));
}

/// Krausening makes a brew its own ancestor; the chain still ends.
#[test]
fn a_loop_of_descent_comes_to_an_end() {
    let season = season(
        "culture p\n  kind ale\n  pack 2 × 100 B\n  made 2026-02-20\n\n\
         brew a\n  wort 20 L at 1.048\n  on 2026-03-01 pitch p 1 pack\n  on 2026-03-20 pitch b 1/4\n\n\
         brew b\n  wort 20 L at 1.048\n  on 2026-03-10 pitch a 1/4\n",
    );
    let bank = on(&season, date(2026, 3, 21));
    assert!(lot(&bank, "a").descent.len() <= 4, "{:?}", lot(&bank, "a").descent);
}

/// 300 mL at 2.4 B/mL less 15 % that is no yeast, 95 % alive at harvest, k = 0.020 a day at 4 °C.
#[test]
fn cells_shares_and_litres() {
    let season = season(LINE);
    let bank = on(&season, date(2026, 1, 27));
    let jar = lot(&bank, "reed-b");
    // Harvested at noon on the 20th (a line without a time), looked at when the 27th ends.
    let share = 0.95 * (-0.020_f64 * 7.5).exp();
    let alive = jar.live_share.as_ref().unwrap();
    assert!((alive.value / 100.0 - share).abs() < 0.005, "{alive:?}");
    let live = jar.live_cells.as_ref().unwrap();
    assert!((live.value / (300.0 * 2.4 * 0.85 * share) - 1.0).abs() < 0.01, "{live:?}");
    assert!(live.low < 0.75 * live.value && live.high > 1.3 * live.value, "{live:?}");
    // 0.75 M/mL/°P of 11.91 °P: 8.93 B in a litre of ale; 1.5 of 12.86: 19.3 B in a litre of lager.
    let enough: Vec<f64> = jar.enough_for.iter().map(|figure| figure.value).collect();
    assert!((enough[0] - live.value / 8.93).abs() < 0.2, "{enough:?}");
    assert!((enough[1] - live.value / 19.29).abs() < 0.2, "{enough:?}");
    let twice = Settings::read("[rates]\nale = \"1.5 M/mL/°P\"\n").unwrap();
    let half = on(&settled(LINE, twice), date(2026, 1, 27));
    assert!((lot(&half, "reed-b").enough_for[0].value - enough[0] / 2.0).abs() < 0.1);
}

#[test]
fn slurry_is_good_for_two_weeks_and_packs_go_by_what_lives() {
    let season = season(LINE);
    let advice = |day: Date, name: &str| {
        let bank = on(&season, day);
        (lot(&bank, name).advice, lot(&bank, name).use_by)
    };
    let jar = Some(date(2026, 2, 3));
    assert_eq!(advice(date(2026, 1, 21), "reed-b"), (Advice::Fine, jar));
    assert_eq!(advice(date(2026, 1, 27), "reed-b"), (Advice::UseThisWeek, jar));
    assert_eq!(advice(date(2026, 2, 4), "reed-b"), (Advice::MakeAStarter, jar));
    assert_eq!(advice(date(2026, 2, 20), "reed-b"), (Advice::CountOrThrowAway, jar));
    // A pack loses 20 % a month: from 1 to 0.7 in 30.44 · ln(0.7) / ln(0.8) = 48.7 days.
    assert_eq!(advice(date(2026, 1, 6), "reed-a"), (Advice::Fine, Some(date(2026, 2, 23))));
    assert_eq!(advice(date(2026, 2, 24), "reed-a").0, Advice::MakeAStarter);
    assert_eq!(advice(date(2026, 5, 1), "reed-a").0, Advice::CountOrThrowAway);
}

/// Glycerol is what a bank freezes in (common practice); of a jar out of the freezer nobody knows how much lives.
#[test]
fn a_frozen_jar_is_no_fresh_one_and_a_frozen_vial_is_kept_as_it_should_be() {
    let jar = "culture jar\n  kind ale\n  slurry 300 mL thick\n  harvested 2026-02-20\n";
    let log = |more: &str| {
        let season = season(&format!(
            "{jar}{more}\nculture bank\n  kind ale\n  vial 2 × 35 mL\n  made 2026-01-01\n  kept -80 °C\n"
        ));
        on(&season, date(2026, 3, 3))
    };
    let frozen = log("  kept -18 °C\n");
    let held = lot(&frozen, "jar");
    assert_eq!((held.advice, held.use_by), (Advice::Frozen, None));
    assert!(held.live_share.is_none() && held.live_cells.is_none());
    assert_eq!(lot(&frozen, "bank").advice, Advice::MakeAStarter);
    assert!(lot(&frozen, "bank").live_share.is_some());
    let later = log("  on 2026-03-01 kept -18 °C\n  on 2026-03-02 kept 3 °C\n");
    assert_eq!(lot(&later, "jar").advice, Advice::Frozen);
    let read = log("  kept -18 °C\n  on 2026-03-02 10:00 viability 82 %\n");
    assert_eq!(lot(&read, "jar").advice, Advice::UseThisWeek);
    let cold = log("  kept -1 °C\n");
    assert_eq!(lot(&cold, "jar").advice, Advice::UseThisWeek);
    assert!(lot(&cold, "jar").live_share.is_some());
    // Told where old yeast is told, and not asked for as a fact besides.
    let pitched =
        format!("{jar}  kept -18 °C\nbrew b\n  wort 20 L at 1.048\n  on 2026-03-02 12:00 pitch jar\n");
    let pitched = season(&pitched);
    let missing =
        crate::brew(&pitched, "b").missing.iter().find(|missing| missing.figure == "pitch").unwrap();
    assert!(missing.fact.contains("it was frozen") && !missing.matters, "{missing:?}");
}

/// What is grown or taken from frozen yeast is not known either, and says why; a starter is frozen as a jar is.
#[test]
fn what_comes_of_frozen_yeast_says_so_where_it_is_used() {
    let why = |lines: &str, used: &str| {
        let season = season(&format!(
            "strain ale\n  kind ale\n\nculture jar of ale\n  slurry 300 mL thick\n  harvested 2026-02-20\n  kept -18 °C\n{lines}\n\
             culture p of ale\n  pack 1 × 100 B\n  made 2026-02-20\n\n\
             brew b\n  wort 20 L at 1.048\n  on 2026-03-03 12:00 temp 18 °C, pitch {used}\n"
        ));
        let pitched = &crate::brew(&season, "b").pitches[0];
        assert_eq!(pitched.live.is_none(), pitched.unknown.is_some());
        pitched.unknown.as_ref().map(ToString::to_string)
    };
    let starter = |lines: &str| format!("starter s\n  wort 1 L at 1.037\n  on 2026-03-01 12:00 {lines}\n");
    let comes = Some("it comes from `jar`: it was frozen".to_owned());
    assert_eq!(why(&starter("pitch jar 50 mL"), "s"), comes);
    assert_eq!(why(&starter("pitch jar 50 mL\n  on 2026-03-02 harvest c 100 mL"), "c"), comes);
    let chain = "starter t\n  wort 3 L at 1.037\n  on 2026-03-02 12:00 pitch s\n";
    assert_eq!(why(&format!("{}{chain}", starter("pitch jar 50 mL")), "t"), comes);
    // A jar that is divided is frozen itself.
    let frozen = Some("it was frozen".to_owned());
    assert_eq!(why("  on 2026-03-01 harvest d 50 mL\n", "d"), frozen);
    assert_eq!(why(&starter("pitch p\n  on 2026-03-02 kept -18 °C"), "s"), frozen);
    assert_eq!(
        why(&starter("pitch p\n  on 2026-03-02 kept -18 °C\n  on 2026-03-03 08:00 kept 4 °C"), "s"),
        frozen
    );
    // Cold is not frozen; fresh yeast beside it is known; and what was counted since is what lives.
    assert_eq!(why(&starter("pitch p\n  on 2026-03-02 kept -1 °C"), "s"), None);
    assert_eq!(why(&starter("pitch jar 50 mL, pitch p"), "s"), None);
    let counted = "pitch jar 50 mL\n  on 2026-03-03 10:00 count s 0.1 B/mL, viability s 90 %";
    assert_eq!(why(&starter(counted), "s"), None);
    // Out of a starter from a slant is a slurry as any other: nobody counts the loop that it was grown from.
    let slant = "\nculture agar of ale\n  slant\n\nstarter s\n  wort 1 L at 1.037\n  on 2026-02-28 12:00 pitch agar 1 loop\n";
    assert_eq!(why(slant, "s"), Some("it comes from `agar`: nobody counts a loop".to_owned()));
    assert_eq!(why(&format!("{slant}  on 2026-03-02 harvest c 100 mL thick\n"), "c"), None);
    // What is in packs is not taken by the vial: that, and not that there is no pack.
    assert!(why("", "p 1 vial").is_some_and(|why| why.contains("it is in packs")));
}

#[test]
fn a_starter_in_the_cold_ages_by_every_place_that_it_is_kept_in() {
    let alive = |kept: &str| {
        let season = season(&format!(
            "{LINE}\nstarter s\n  wort 1 L at 1.037\n  on 2026-02-06 12:00 pitch reed-b 50 mL\n  on 2026-02-08 12:00 kept 4 °C\n\
             {kept}"
        ));
        lot(&on(&season, date(2026, 3, 1)), "s").live_share.as_ref().unwrap().value
    };
    let cold = alive("");
    let warm = alive("  on 2026-02-15 12:00 kept 20 °C\n");
    let again = alive("  on 2026-02-15 12:00 kept 20 °C\n  on 2026-02-16 12:00 kept 4 °C\n");
    assert!(warm < again && again < cold, "{warm} {again} {cold}");
}

#[test]
fn a_count_makes_old_slurry_good_again() {
    let log = format!("{LINE}\nculture reed-b\n  on 2026-02-05 12:00  viability 92 %\n");
    let season = season(&log);
    let bank = on(&season, date(2026, 2, 6));
    let jar = lot(&bank, "reed-b");
    // Looking at it makes it no younger.
    assert_eq!(jar.age.as_ref().unwrap().value, 17.0);
    // ln(0.92 / 0.7) / 0.020 = 13.7 days.
    assert_eq!((jar.advice, jar.use_by), (Advice::Fine, Some(date(2026, 2, 19))));
}

#[test]
fn the_worst_worry_comes_first_and_the_oldest_of_it() {
    let season = season(
        "culture fresh\n  kind ale\n  pack 1 × 100 B\n  made 2026-03-01\n\n\
         culture aged\n  kind ale\n  slurry 300 mL thick\n  harvested 2026-01-10\n\n\
         culture older\n  kind ale\n  slurry 300 mL thick\n  harvested 2026-01-01\n\n\
         culture mother\n  kind ale\n  slant\n  made 2025-10-01\n\n\
         culture soured\n  kind ale\n  slurry 300 mL thick\n  harvested 2026-03-01\n  on 2026-03-02 infected\n",
    );
    let bank = on(&season, date(2026, 3, 3));
    assert_eq!(names(&bank), ["soured", "older", "aged", "mother", "fresh"]);
    assert_eq!(lot(&bank, "soured").advice, Advice::Suspect);
    assert_eq!(lot(&bank, "mother").live_cells, None);
}

/// What lay in a jar after sour yeast may be sound; what came of that yeast is not kept.
#[test]
fn what_only_shared_a_jar_is_plated_first() {
    let log = |plate: &str| {
        format!(
            "{LINE}\nculture soured\n  kind ale\n  slurry 300 mL thick\n  harvested 2026-01-02\n  on 2026-01-18 infected\n\
             brew sour\n  wort 20 L at 1.048\n  on 2026-01-03 12:00 pitch soured 100 mL\n  \
             on 2026-01-10 harvest sour-b 300 mL in jar-1\n\
             brew three\n  wort 20 L at 1.048\n  on 2026-01-06 12:00 pitch reed-a 1 pack\n  \
             on 2026-01-20 harvest clean-b 300 mL in jar-1\n{plate}"
        )
    };
    let advice = |log: &str, name: &str| {
        let season = season(log);
        lot(&on(&season, date(2026, 1, 28)), name).advice
    };
    let shared = log("");
    assert_eq!(advice(&shared, "soured"), Advice::Suspect);
    assert_eq!(advice(&shared, "sour-b"), Advice::Suspect);
    assert_eq!(advice(&shared, "clean-b"), Advice::PlateFirst);
    assert_eq!(Advice::PlateFirst.words(), "suspect: plate before use");
    let plated = log("culture clean-b\n  on 2026-01-26 test plate pass\n");
    assert_eq!(advice(&plated, "clean-b"), Advice::UseThisWeek);
}

#[test]
fn enough_for_a_wort_that_is_asked_about() {
    let season = season(LINE);
    let bank = season.bank(Some(date(2026, 1, 27)), Some(&wort("21 L at 1.060"))).unwrap();
    let fit = |name: &str| lot(&bank, name).fit.clone().unwrap();
    // 0.75 M/mL/°P × 14.74 °P × 21 L = 232 B; the jar holds 1.67 B/mL live.
    assert_eq!(fit("reed-b").enough, Some(true));
    assert!(fit("reed-b").text.starts_with("yes: 140 mL; "), "{}", fit("reed-b").text);
    assert_eq!(fit("reed-a").enough, Some(false));
    let starter = fit("reed-a").text;
    assert!(starter.contains("a starter of"), "{starter}");
    // Nothing is begun before the day of the list, nor is it ready on that.
    assert!(starter.ends_with("begun by 2026-01-27, for a wort of 2026-01-29"), "{starter}");
    let bank = season.bank(Some(date(2026, 1, 27)), Some(&wort("2000 L at 1.060"))).unwrap();
    let chain = lot(&bank, "reed-a").fit.clone().unwrap().text;
    assert!(chain.contains("starters at 1.037:") && chain.contains("begun on 2026-01-27, then"), "{chain}");
    let wild = settled(
        "culture funk\n  kind wild\n  slurry 100 mL thin\n  harvested 2026-01-20\n",
        Settings::default(),
    );
    let bank = wild.bank(Some(date(2026, 1, 27)), Some(&wort("21 L at 1.060"))).unwrap();
    assert_eq!(lot(&bank, "funk").fit.as_ref().unwrap().enough, None);
    assert!(lot(&bank, "funk").enough_for.is_empty());
}

/// What the same list says to throw away is enough for nothing; nobody counts a sachet that is past its label.
#[test]
fn what_is_suspect_is_enough_for_nothing_and_what_is_past_its_label_is_judged_by_its_age() {
    let season = season(&format!(
        "{LINE}  on 2026-01-30 infected, harvest bad 200 mL thick\n\
         culture old\n  kind ale\n  sachet 2 × 11 g\n  best-before 2025-12\n\
         culture older\n  kind ale\n  sachet 2 × 11 g\n  best-before 2010-01\n"
    ));
    let bank = season.bank(Some(date(2026, 1, 31)), Some(&wort("20 L at 1.048"))).unwrap();
    let told = |name: &str| {
        let fit = lot(&bank, name).fit.clone().unwrap();
        (lot(&bank, name).advice, fit.enough, fit.text)
    };
    assert_eq!(told("bad"), (Advice::Suspect, Some(false), "no: it is suspect".to_owned()));
    assert_eq!(told("old"), (Advice::PastItsLabel, Some(true), "yes: 10 g".to_owned()));
    let (advice, _, grams) = told("older");
    assert!(advice == Advice::PitchMore && grams.contains("87 %"), "{grams}");
    assert_eq!(told("reed-b").1, Some(true));
}

/// Dry yeast at its first use goes by mass: 50 g/hL for an ale, 80 g/hL for a lager.
#[test]
fn dry_yeast_goes_by_mass() {
    let season = season("culture drift\n  kind ale\n  sachet 2 × 11 g\n  made 2025-06\n");
    let bank = season.bank(Some(date(2026, 1, 27)), Some(&wort("60 L at 1.048"))).unwrap();
    let sachets = lot(&bank, "drift");
    let litres: Vec<f64> = sachets.enough_for.iter().map(|figure| figure.value).collect();
    assert!((litres[0] - 44.0).abs() < 1e-6 && (litres[1] - 27.5).abs() < 1e-6, "{litres:?}");
    assert_eq!(sachets.fit.as_ref().unwrap().text, "no: 30 g wanted");
    assert_eq!(sachets.advice, Advice::Fine);
}

/// Dry yeast may live for years beyond what its maker stands for: the earlier day holds.
#[test]
fn dry_yeast_is_good_until_its_best_before_at_the_most() {
    let sachet = |lines: &str, on| {
        let season = season(&format!("culture drift\n  kind ale\n  sachet 2 × 11 g\n{lines}"));
        let bank = season.bank(Some(on), None).unwrap();
        let found = lot(&bank, "drift");
        (found.use_by, found.by_label, found.advice)
    };
    assert_eq!(sachet("  best-before 2028-02\n", date(2027, 4, 1)).0, Some(date(2028, 2, 29)));
    let may = Some(date(2027, 5, 31));
    for lines in ["  best-before 2027-05\n", "  made 2025-06\n  best-before 2027-05-31\n"] {
        assert_eq!(sachet(lines, date(2027, 4, 1)), (may, true, Advice::Fine), "{lines}");
        assert_eq!(sachet(lines, date(2027, 5, 28)), (may, true, Advice::UseThisWeek), "{lines}");
        assert_eq!(sachet(lines, date(2027, 8, 1)), (may, true, Advice::PastItsLabel), "{lines}");
    }
    let pack = "culture reed\n  kind ale\n  pack 1 × 100 B\n  made 2027-05-01\n  best-before 2027-05-20\n";
    let pack = settled(pack, Settings::default());
    let advice = |day| lot(&on(&pack, day), "reed").advice;
    assert_eq!(
        (advice(date(2027, 5, 18)), advice(date(2027, 5, 22))),
        (Advice::UseThisWeek, Advice::MakeAStarter)
    );
    // What is reckoned holds where it is earlier, and a viability that was read says more than a label.
    assert!(!sachet("  made 2015-06\n  best-before 2027-05\n", date(2027, 4, 1)).1);
    assert!(!sachet("  best-before 2027-05\n  on 2027-06-01 viability 90 %\n", date(2027, 6, 2)).1);
}

#[test]
fn a_bare_cake_is_there_for_two_days_unless_it_is_put_into_jars_or_cleaned_up() {
    let on_days = |lines: &str| {
        let log = LINE.replace("    harvest reed-b 300 mL thick\n    bottle 18 L\n", lines);
        let season = season(log.split("brew two").next().unwrap());
        [20, 21, 22, 23].map(|day| names(&on(&season, date(2026, 1, day))).contains(&"one"))
    };
    assert_eq!(on_days("    bottle 18 L\n"), [true, true, true, false]);
    assert_eq!(on_days("    rack\n"), [true, true, true, false]);
    assert_eq!(on_days("    bottle 18 L\n    harvest reed-b 300 mL thick\n"), [true, false, false, false]);
    assert_eq!(on_days("    bottle 18 L\n  on 2026-01-21 18:00 clean\n"), [true, false, false, false]);
    // Some of the beer is still on it.
    assert_eq!(on_days("    keg 9 L\n"), [true; 4]);
}

#[test]
fn a_cake_and_a_starter_are_drawn_by_their_share() {
    let season = season(LINE);
    let bank = season.bank(Some(date(2026, 1, 20)), Some(&wort("20 L at 1.048"))).unwrap();
    let cake = lot(&bank, "one");
    assert_eq!(cake.form, "cake");
    assert_eq!(cake.left.as_ref().unwrap().unit, "%");
    assert!(cake.fit.as_ref().unwrap().text.starts_with("yes: "), "{:?}", cake.fit);
    let bank = on(&season, date(2026, 1, 11));
    assert_eq!(lot(&bank, "reed-s").form, "starter");
}

/// One vial is thawed to look at it, and the others stay in the ice.
#[test]
fn a_bank_that_was_sampled_is_kept_as_before() {
    let alive = |lines: &str| {
        let season = season(&format!("culture w\n  kind ale\n  vial 4 × 2 mL\n  made 2026-09-01\n{lines}"));
        lot(&on(&season, date(2027, 3, 1)), "w").live_share.as_ref().unwrap().value
    };
    let counted = "  on 2026-09-01 count 1 B/mL, viability 95 %\n";
    let frozen = alive(&format!("  kept -80 °C\n{counted}"));
    assert!(frozen > alive(counted) + 20.0, "{frozen}");
}

/// In glycerol at -60 °C or colder yeast keeps for years (Sherman 2002); in a kitchen's freezer it dies within several.
#[test]
fn a_bank_in_the_deep_cold_hardly_ages() {
    let alive = |kept: &str| {
        let season = season(&format!(
            "culture w\n  kind ale\n  vial 4 × 2 mL\n  made 2026-09-01\n  kept {kept}\n  on 2026-09-01 count 1 B/mL, viability 95 %\n"
        ));
        lot(&on(&season, date(2029, 9, 1)), "w").live_share.as_ref().unwrap().value
    };
    let (deep, kitchen) = (alive("-80 °C"), alive("-20 °C"));
    assert!(deep > 85.0 && kitchen < 50.0, "{deep} {kitchen}");
}

/// What a maker still vouches for is not thrown away for an age that is reckoned back from its label.
#[test]
fn a_pack_within_its_label_is_woken_and_not_thrown_away() {
    let pack = |lines: &str| {
        let season = season(&format!("culture reed\n  kind ale\n  pack 1 × 100 B\n{lines}"));
        lot(&on(&season, date(2026, 12, 1)), "reed").advice
    };
    assert_eq!(pack("  best-before 2027-01\n"), Advice::MakeAStarter);
    assert_eq!(pack("  best-before 2026-11\n"), Advice::CountOrThrowAway);
    assert_eq!(pack("  best-before 2027-01\n  on 2026-11-30 viability 20 %\n"), Advice::CountOrThrowAway);
}
