use barm_reckoning::{Figure, Season, Scale};

use crate::registry::rule;
use crate::{Finding, Level, Report, say};

const NAME: &str = "pitch-shock";
/// K between yeast and wort.
const LIMIT: f64 = 10.0;

rule! {
    /// Yeast much colder or warmer than the wort that it went into.
    PitchShock, "pitch-shock", Note, "pitch_shock.md", check
}

fn check(season: &Season, report: &mut Report) {
    let limit = season.settings.limit(NAME, LIMIT);
    // Each of two thermometers may be out.
    let error = season.settings.thermometer_error.as_kelvin() * std::f64::consts::SQRT_2;
    for batch in say::brews(season) {
        if batch.heat.shocks.is_empty() {
            report.silent(NAME, &batch.name, "no temperature of its yeast, dry yeast aside, and of its wort");
        }
        for shock in &batch.heat.shocks {
            let apart = (shock.yeast - shock.wort).abs();
            let scale = Scale::of(season, Some(shock.place));
            let message = format!(
                "{} between yeast of {} and wort of {}",
                scale.distance(apart),
                scale.temperature(shock.yeast),
                scale.temperature(shock.wort)
            );
            let chance = say::chance_over(apart, error, limit);
            match Finding::new(NAME, Level::Note, shock.place, message).with_chance(chance) {
                Some(finding) => report.found(
                    finding
                        .about(batch.name.to_string())
                        .labelled("the yeast")
                        .pointing(shock.wort_place, "the wort")
                        .noting(format!("the limit is {} either way (from memory)", scale.distance(limit)))
                        .noting("next time: let the yeast come within a few degrees, a little wort at a time")
                        .showing(Figure::plain("pitch-shock", apart, error, "K", "between yeast and wort".to_owned())),
                ),
                None => report.silent(NAME, &batch.name, || format!("{} apart", scale.distance(apart))),
            }
        }
    }
}
