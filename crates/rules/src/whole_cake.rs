use barm_quantity::Estimate;
use barm_reckoning::{Form, Season, advice};

use crate::registry::rule;
use crate::{Finding, Level, Report, say};

const NAME: &str = "whole-cake";
const LIMIT: f64 = 2.5;

rule! {
    /// Wort on the whole cake of an earlier brew.
    WholeCake, "whole-cake", Warning, "whole_cake.md", check
}

fn check(season: &Season, report: &mut Report) {
    let limit = season.settings.limit(NAME, LIMIT);
    for batch in say::brews(season) {
        let Some(pitch) = batch.pitch.as_ref().filter(|p| p.whole_cake) else {
            report.silent(NAME, &batch.name, "no whole cake of an earlier brew is pitched");
            continue;
        };
        let chance = 1.0 - pitch.ratio.chance_below(&Estimate::exact(limit));
        let times = barm_quantity::significant(pitch.ratio.median(), 2);
        let message = match pitch.target {
            Some(target) => format!(
                "{} live cells on the whole cake where {} would do: about {times} times what {} wants",
                say::cells(&pitch.live),
                advice::billions(target),
                say::beer(batch)
            ),
            None => format!("the whole cake is about {times} times the yeast that {} wants", say::beer(batch)),
        };
        let Some(finding) = Finding::new(NAME, Level::Warning, pitch.place, message).with_chance(chance) else {
            report.silent(NAME, &batch.name, || format!("the cake is about {times} times the target; the limit is {limit}"));
            continue;
        };
        let mut finding = finding.about(batch.name.to_string()).labelled("the whole cake goes in here");
        for pitched in batch.pitches.iter().take(pitch.counted) {
            if pitched.form == Form::Cake
                && let Some(lot) = season.lot(pitched.lot)
            {
                finding = finding.pointing(lot.place, "the brew that left the cake");
            }
            finding = finding.noting(say::reckoned(pitched));
        }
        finding = finding.noting(format!(
            "next time: about {} of the cake would do, the rest can be harvested",
            share_in_words(1.0 / pitch.ratio.median())
        ));
        finding = finding.noting(
            "trouble tends to show after two or three such rounds (common practice): less growth, older cells, old trub",
        );
        for figure in say::pitch_figures(batch) {
            finding = finding.showing(figure);
        }
        report.found(finding);
    }
}

/// A share that one can judge by eye.
fn share_in_words(share: f64) -> &'static str {
    match share {
        s if s < 0.11 => "a tenth",
        s if s < 0.145 => "an eighth",
        s if s < 0.18 => "a sixth",
        s if s < 0.22 => "a fifth",
        s if s < 0.29 => "a quarter",
        s if s < 0.42 => "a third",
        _ => "half",
    }
}
