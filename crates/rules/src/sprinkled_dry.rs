use barm_reckoning::{Figure, Season, advice};

use crate::registry::rule;
use crate::{Finding, Level, Report, say};

const NAME: &str = "sprinkled-dry";

rule! {
    /// Dry yeast sprinkled on the wort: what lives through that. A figure, which `check` does not show.
    SprinkledDry, "sprinkled-dry", Figure, "sprinkled_dry.md", check
}

fn check(season: &Season, report: &mut Report) {
    for batch in say::brews(season) {
        let mut any = false;
        for pitch in &batch.pitches {
            let Some(survives) = &pitch.sprinkled else { continue };
            any = true;
            let percent = |share: f64| format!("{:.0}", (share * 100.0).min(100.0));
            let lives = format!(
                "{}–{} % of it lives through being sprinkled on",
                percent(survives.low()),
                percent(survives.high())
            );
            let message = match &pitch.live {
                Some(live) => format!("{lives}: {} live cells", advice::billions_range(live)),
                None => lives,
            };
            let mut figure =
                Figure::of("survives-sprinkling", survives, 0.01, "%", "as sprinkled".to_owned());
            figure.high = figure.high.min(100.0);
            report.found(
                Finding::new(NAME, Level::Figure, pitch.place, message)
                    .about(batch.name.to_string())
                    .labelled("sprinkled on")
                    .noting("dry yeast at its first use is judged by its mass, and that allows for sprinkling")
                    .noting("next time: a quarter of an hour in water as warm as its maker says (common practice)")
                    .showing(figure),
            );
        }
        if !any {
            report.silent(NAME, &batch.name, "no dry yeast is `sprinkled`");
        }
    }
}
