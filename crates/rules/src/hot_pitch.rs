use barm_reckoning::{Figure, SCALDS, Scale, Season};

use crate::registry::rule;
use crate::{Finding, Level, Report};

pub(crate) const NAME: &str = "hot-pitch";
/// What is read as °C and was meant as °F lies in here, °C: 7 to 32 °C.
const MEANT_FAHRENHEIT: std::ops::Range<f64> = 45.0..90.0;

rule! {
    /// Yeast so warm, or in wort so warm, that it dies.
    HotPitch, "hot-pitch", Warning, "hot_pitch.md", check
}

fn check(season: &Season, report: &mut Report) {
    let error = season.settings.thermometer_error.as_kelvin();
    for batch in &season.batches {
        let Some(scald) = batch.scald() else {
            report.silent(NAME, &batch.name, "no wort or yeast of it was so warm at pitching");
            continue;
        };
        let scale = Scale::of(season, Some(scald.read));
        let warm = scale.temperature(scald.celsius);
        let (message, what) = match scald.of_wort {
            true => (format!("yeast in wort of {warm}, which kills it"), "the wort"),
            false => (format!("yeast pitched at {warm}, which kills it"), "the yeast"),
        };
        let mut finding = Finding::new(NAME, Level::Warning, scald.read, message)
            .about(batch.name.to_string())
            .labelled(what)
            .noting(format!("the limit is {} (from memory)", scale.temperature(SCALDS)));
        finding = match scald.of_wort {
            true => finding.pointing(scald.place, "the yeast").noting(
                "chill first, and take the temperature of the wort that the yeast goes into; what was pitched so is pitched anew",
            ),
            false => finding.noting(
                "dry yeast is rehydrated at 35 to 41 °C, as its maker says, and no warmer; what was pitched so is pitched anew",
            ),
        };
        if MEANT_FAHRENHEIT.contains(&scald.celsius) && !scale.is_us() {
            let celsius = (scald.celsius - 32.0) / 1.8;
            finding = finding.noting(format!("or a slip: {:.0} °F is {celsius:.0} °C", scald.celsius));
        }
        let (figure, from) = match scald.of_wort {
            true => ("wort-temperature", "as read about pitching"),
            false => ("yeast-temperature", "as written with the pitch"),
        };
        report.found(finding.showing(Figure::plain(figure, scald.celsius, error, "°C", from.to_owned())));
    }
}
