use barm_reckoning::{Figure, SCALDS, Scale, Season};

use crate::registry::rule;
use crate::{Finding, Level, Report};

pub(crate) const NAME: &str = "hot-pitch";
/// What is read as °C and was meant as °F lies in here, °C: 7 to 32 °C.
const MEANT_FAHRENHEIT: std::ops::Range<f64> = 45.0..90.0;

rule! {
    /// Yeast in wort that kills it.
    HotPitch, "hot-pitch", Warning, "hot_pitch.md", check
}

fn check(season: &Season, report: &mut Report) {
    let error = season.settings.thermometer_error.as_kelvin();
    for batch in &season.batches {
        let Some(scald) = batch.scald() else {
            report.silent(NAME, &batch.name, "no wort of it was read to be so warm about pitching");
            continue;
        };
        let scale = Scale::of(season, Some(scald.wort_place));
        let message = format!("yeast in wort of {}, which kills it", scale.temperature(scald.wort));
        let mut finding = Finding::new(NAME, Level::Warning, scald.wort_place, message)
            .about(batch.name.to_string())
            .labelled("the wort")
            .pointing(scald.place, "the yeast")
            .noting(format!("the limit is {} (from memory)", scale.temperature(SCALDS)))
            .noting("chill first, and take the temperature of the wort that the yeast goes into; what was pitched so is pitched anew");
        if MEANT_FAHRENHEIT.contains(&scald.wort) && !scale.is_us() {
            let celsius = (scald.wort - 32.0) / 1.8;
            finding = finding.noting(format!("or a slip: {:.0} °F is {celsius:.0} °C", scald.wort));
        }
        report.found(finding.showing(Figure::plain(
            "wort-temperature",
            scald.wort,
            error,
            "°C",
            "as read about pitching".to_owned(),
        )));
    }
}
