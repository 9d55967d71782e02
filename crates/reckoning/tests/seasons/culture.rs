//! What a culture went through: doses, counts, warmth, donors, blends.

use crate::{brew, season};

const PACK: &str = "strain reed-ale\n  kind ale\n  attenuates 70 %\n\nstrain heron-ale\n  kind ale\n  attenuates 80 %\n\n\
                    culture reed of reed-ale\n  pack 4 × 100 B\n  made 2026-02-28\n\n\
                    culture heron of heron-ale\n  pack 4 × 100 B\n  made 2026-02-28\n\n";

#[test]
fn doses_follow_one_another_until_the_yeast_has_taken_them_up() {
    let season = season(&format!(
        "{PACK}brew ebb\n  wort 20 L at 1.050\n  on 2026-03-01\n    temp 20 °C\n    12:00 aerate oxygen 20 s at 1 L/min\n    \
         12:10 aerate oxygen 20 s at 1 L/min\n    13:00 pitch reed 2 packs\n  on 2026-03-02 06:00 aerate oxygen 20 s at 1 L/min\n"
    ));
    let doses = &brew(&season, "ebb").doses;
    let after: Vec<f64> = doses.iter().map(|dose| dose.after.median()).collect();
    assert_eq!(
        doses.iter().map(|d| d.hours.map(|h| (h * 60.0).round())).collect::<Vec<_>>(),
        [Some(-60.0), Some(-50.0), Some(17.0 * 60.0)]
    );
    let [first, second, late] = after[..] else { unreachable!("{after:?}") };
    assert!(second > 1.8 * first && second < 2.0 * first, "{after:?}");
    // Seventeen hours later nothing is left of them: the third does what the first did.
    assert!((late - first).abs() < 0.2, "{after:?}");
    // What the yeast was pitched with is the first two.
    let found = brew(&season, "ebb").oxygen.as_ref().map(|o| o.dissolved.median());
    assert_eq!(found, Some(second));
}

#[test]
fn counts_are_kept_on_the_lot_that_was_counted() {
    let season = season(
        "culture jar\n  kind ale\n  slurry 300 mL thick\n  harvested 2026-03-01\n  \
         on 2026-03-02 count 20+21+19+20+20 live 5 dead 1:100\n  on 2026-03-03 count 1.2 B/mL\n",
    );
    let jar = season.names.lot("jar").unwrap_or_else(|| unreachable!());
    let [seen, density] = season.counts_of(jar) else { unreachable!("{:?}", season.counts) };
    // 105 cells in five squares of 4 nL, one part in a hundred: 525 M/mL.
    assert!((seen.density.median() / 1e6 - 525.0).abs() < 1e-6, "{seen:?}");
    assert!(seen.slurry && seen.diluted && seen.seen.as_ref().is_some_and(|s| s.clumped() == Some(false)));
    assert!(density.seen.is_none() && density.viability.is_none());
}

#[test]
fn how_warm_a_jar_was_kept_is_said_and_not_how_warm_it_was_last() {
    let from = |kept: &str| {
        let log = format!(
            "{PACK}culture jar of reed-ale\n  slurry 600 mL thick\n  harvested 2026-03-01\n{kept}\n\
             brew ebb\n  wort 20 L at 1.050\n  on 2026-03-13 18:00 pitch jar 100 mL\n"
        );
        brew(&season(&log), "ebb").pitches.first().map(|p| p.from.clone()).unwrap_or_default()
    };
    for (kept, said) in [
        ("", "12 days at 4 °C: "),
        ("  kept 25 °C", "12 days at 25 °C: "),
        ("  kept 25 °C\n  on 2026-03-13 09:00 kept 4 °C", "12 days at 4 to 25 °C: "),
        // Put where it lies already, and taken out only to be pitched.
        (
            "  kept 25 °C\n  on 2026-03-01 12:00 kept 4 °C\n  on 2026-03-13 18:00 kept 20 °C",
            "12 days at 4 °C: ",
        ),
    ] {
        assert!(from(kept).contains(said), "{kept}: {}", from(kept));
    }
}

#[test]
fn warmth_counts_from_the_harvest_and_again_from_a_count() {
    let log = |count: &str| {
        format!(
            "{PACK}culture jar of reed-ale\n  slurry 600 mL thick\n  harvested 2026-03-01\n  kept 18 °C\n  \
             on 2026-03-03 12:00 kept 4 °C\n{count}\nbrew ebb\n  wort 20 L at 1.050\n  on 2026-03-06 12:00 pitch jar 100 mL\n"
        )
    };
    let warm = |log: &str| {
        brew(&season(log), "ebb").pitches.first().and_then(|p| p.history.warm.as_deref().copied())
    };
    let found = warm(&log("")).unwrap_or_else(|| unreachable!());
    assert!(
        (found.hours - 48.0).abs() < 1e-9 && (found.warmest.as_celsius() - 18.0).abs() < 1e-9,
        "{found:?}"
    );
    // 75.4 kJ/mol from 4 to 18 °C: exp(75400/8.314 · (1/277.15 − 1/291.15)) = 4.82 days for each.
    assert!((found.as_cold_days - 2.0 * 4.82).abs() < 0.1, "{found:?}");
    let counted = warm(&log("  on 2026-03-04 viability 90 %\n")).unwrap_or_else(|| unreachable!());
    assert!(counted.hours < 1e-9, "{counted:?}");
}

#[test]
fn a_donor_is_as_strong_as_it_was_at_the_harvest() {
    let season = season(&format!(
        "{PACK}brew strong\n  wort 20 L at 1.090\n  on 2026-03-01 pitch reed\n  on 2026-03-04 gravity 1.050\n    \
         harvest early 300 mL\n  on 2026-03-20 gravity 1.018\n    harvest late 300 mL\n\n\
         brew after\n  wort 20 L at 1.050\n  on 2026-03-22 pitch late 100 mL\n"
    ));
    let strong = brew(&season, "strong");
    let abv: Vec<f64> =
        strong.harvests.iter().filter_map(|h| h.donor.alcohol.map(|a| a.as_percent())).collect();
    let [early, late] = abv[..] else { unreachable!("{abv:?}") };
    assert!(early < 5.8 && (9.3..10.0).contains(&late), "{abv:?}");
    let donor = brew(&season, "after").pitches.first().and_then(|p| p.history.donor);
    assert_eq!(
        donor.map(|d| (d.lot, d.alcohol)),
        Some((strong.lot, strong.harvests.last().and_then(|h| h.donor.alcohol)))
    );
}

#[test]
fn shares_are_those_of_the_living_cells_and_are_lost_in_two_generations() {
    let mut log = format!(
        "{PACK}brew first\n  wort 20 L at 1.050\n  on 2026-03-01\n    pitch reed 3 packs\n    pitch heron 1 pack\n  \
         on 2026-03-10 harvest j1 400 mL\n"
    );
    for (name, jar, day, next) in [("second", "j1", "2026-03-12", "j2"), ("third", "j2", "2026-03-24", "j3")]
    {
        log.push_str(&format!(
            "\nbrew {name}\n  wort 20 L at 1.050\n  on {day} pitch {jar} 200 mL\n  on {day} 23:00 harvest {next} 400 mL\n"
        ));
    }
    let season = season(&log);
    let blend = |name: &str| brew(&season, name).blend.clone().unwrap_or_else(|| unreachable!("{name}"));
    let share = |name: &str| blend(name).parts.first().and_then(|p| p.share.clone());
    let first = share("first").unwrap_or_else(|| unreachable!());
    assert!((first.median() - 0.75).abs() < 0.01, "{first:?}");
    // 80 − 0.25·(80 − 72.5), between the mean and the furthest.
    let ends =
        blend("first").attenuation.map(|b| [b.low, b.best, b.high].map(|s| (s.as_percent() * 10.0).round()));
    assert_eq!(ends, Some([725.0, 781.0, 800.0]));
    // The mean of what they reach at the least, and the furthest of them at the most.
    let reaches = |name: &str| brew(&season, name).fermentation.clone().and_then(|f| f.attenuates);
    let percent = |(low, high): (f64, f64)| [low, high].map(|x| (x * 1000.0).round());
    assert_eq!(reaches("first").map(percent), Some([725.0, 800.0]));
    let second = share("second").unwrap_or_else(|| unreachable!());
    assert!((second.median() - 0.75).abs() < 0.01 && second.spread() > first.spread(), "{second:?}");
    assert!(
        share("third").is_none() && blend("third").unknown.is_some() && blend("third").attenuation.is_none()
    );
    assert_eq!(blend("third").parts.len(), 2);
    // Whoever knows no shares knows only that it ends somewhere between its strains.
    assert_eq!(reaches("third").map(percent), Some([700.0, 800.0]));
}

#[test]
fn an_old_pack_counts_for_less_in_a_blend() {
    let log = PACK.replace(
        "culture heron of heron-ale\n  pack 4 × 100 B\n  made 2026-02-28",
        "culture heron of heron-ale\n  pack 4 × 100 B\n  made 2025-09-01",
    );
    let season = season(&format!(
        "{log}brew ebb\n  wort 20 L at 1.050\n  on 2026-03-01\n    pitch reed 1 pack\n    pitch heron 1 pack\n"
    ));
    let parts = brew(&season, "ebb").blend.clone().map(|b| b.parts).unwrap_or_default();
    let shares: Vec<(String, f64)> =
        parts.iter().filter_map(|p| Some((p.name.to_string(), p.share.as_ref()?.median()))).collect();
    // Six months at 20 % a month leave about a quarter.
    assert!(
        matches!(&shares[..], [(reed, most), (_, least)] if reed == "reed-ale" && *most > 0.75 && *least < 0.25),
        "{shares:?}"
    );
}

#[test]
fn flavours_of_one_note_add_up_by_share() {
    let makes = |log: &str| {
        let season = season(log);
        let flavours = brew(&season, "ebb").blend.clone().map(|b| b.flavours).unwrap_or_default();
        flavours
            .into_iter()
            .map(|f| (f.word, f.strains.len(), f.units.map(|u| (u.median() * 100.0).round())))
            .collect::<Vec<_>>()
    };
    let log = format!("{PACK}brew ebb\n  wort 20 L at 1.050\n  on 2026-03-01\n    pitch reed 1 pack\n    pitch heron 1 pack\n")
        .replace("attenuates 70 %", "makes isoamyl-acetate 2.8 mg/L\n  makes hay")
        .replace("attenuates 80 %", "makes isoamyl-acetate 5.6 mg/L");
    // (2.8 + 5.6)/2 over a threshold of 1.4; of hay nobody says how much.
    assert_eq!(makes(&log), [("fruit".to_owned(), 2, Some(300.0)), ("hay".to_owned(), 1, None)]);
}

#[test]
fn a_flavour_of_one_temperature_is_made_near_it() {
    let units = |brew_lines: &str| {
        let log =
            format!("{PACK}brew ebb\n  wort 20 L at 1.050\n{brew_lines}  on 2026-03-01 pitch reed 3 packs\n")
                .replace(
                    "attenuates 70 %",
                    "makes isoamyl-acetate 1.4 mg/L at 18 °C\n  makes isoamyl-acetate 4.2 mg/L at 23 °C",
                )
                .replace("attenuates 80 %", "attenuates 70 %");
        let season = season(&log);
        let flavours = brew(&season, "ebb").blend.clone().map(|b| b.flavours).unwrap_or_default();
        flavours.into_iter().map(|f| f.units.map(|u| u.median().round())).collect::<Vec<_>>()
    };
    assert_eq!(units("  hold 17..19 °C\n"), [Some(1.0)]);
    assert_eq!(units("  hold 22..24 °C\n"), [Some(3.0)]);
    // As read, whatever was meant.
    assert_eq!(units("  hold 17..19 °C\n  on 2026-03-02 temp 23 °C\n"), [Some(3.0)]);
    // Far from both it says nothing; where nobody knows how warm it was, nobody knows how much.
    assert_eq!(units("  hold 28 °C\n"), []);
    assert_eq!(units(""), [None]);
}

#[test]
fn nobody_knows_the_shares_of_a_blend_as_bought() {
    let season = season(
        "strain a-ale\n  kind ale\n\nstrain b-ale\n  kind ale\n\nculture both of a-ale + b-ale\n  pack 2 × 100 B\n  made 2026-02-28\n\n\
         brew ebb\n  wort 20 L at 1.050\n  on 2026-03-01 pitch both\n",
    );
    let blend = brew(&season, "ebb").blend.clone();
    assert!(blend.is_some_and(|b| b.parts.len() == 2 && b.unknown.is_some_and(|why| why.contains("`both`"))));
}

#[test]
fn what_goes_on_is_not_forgotten_for_being_few() {
    let log = format!(
        "{PACK}brew first\n  wort 20 L at 1.050\n  on 2026-03-01\n    pitch reed 3 packs\n    pitch heron 1 pack\n  \
         on 2026-03-10 harvest j1 400 mL\n\nbrew second\n  wort 20 L at 1.050\n  on 2026-03-12 pitch j1 200 mL\n"
    )
    .replace("attenuates 80 %", "attenuates 80 %\n  diastatic");
    let season = season(&log);
    for name in ["first", "second"] {
        let goes_on = brew(&season, name).fermentation.as_ref().and_then(|f| f.goes_on);
        assert_eq!(goes_on, Some("a diastatic strain"), "{name}");
    }
}
