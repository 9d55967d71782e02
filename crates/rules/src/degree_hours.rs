//! What `too-warm` and `too-cold` share: how degree-hours are judged and told.

use barm_quantity::{NINETY, normal_share, plain, significant};
use barm_reckoning::{Batch, Excursion, Figure, Scale, Season, TemperatureFigures};

use crate::{Finding, Level, Report, say};

/// Degree-hours in the first 72 h that make a warning, and a note; twice as much after that.
const WARNING: f64 = 24.0;
const NOTE: f64 = 12.0;

/// One end of the range.
pub(crate) struct End {
    pub name: &'static str,
    /// "above", "below".
    pub side: &'static str,
    /// What such a fermentation tends to give.
    pub gives: &'static str,
    pub advice: &'static str,
    pub of: fn(&TemperatureFigures) -> &[Excursion; 3],
}

/// From how many degree-hours on a warning is told, and from how many a note.
fn limits(end: &End, season: &Season) -> (f64, f64) {
    let warning = season.settings.limit(end.name, WARNING);
    (warning, warning * NOTE / WARNING)
}

pub(crate) fn check(end: &End, season: &Season, report: &mut Report) {
    let (_, note) = limits(end, season);
    for batch in say::brews(season) {
        let Some(found) = &batch.temperature else {
            let why = if batch.pitches.is_empty() {
                "no yeast is pitched"
            } else {
                "no `hold`, and no `range` of its strain"
            };
            report.silent(end.name, &batch.name, why);
            continue;
        };
        if batch.temperatures.is_empty() {
            report.silent(end.name, &batch.name, "no `temp` is on record");
            continue;
        }
        if say::is_told_killed(season, batch) {
            report.silent(end.name, &batch.name, say::KILLED);
            continue;
        }
        if let Some(finding) = told(end, season, batch, found) {
            report.found(finding);
        } else {
            let [read, ..] = (end.of)(found);
            report.silent(end.name, &batch.name, || {
                let over = read.early >= note || read.late >= note * 2.0;
                let why = match read.worst {
                    _ if !over => String::new(),
                    None => format!("; nothing that was read since the pitch is {} it", end.side),
                    Some(_) => "; by the error of the thermometer it is not sure enough".to_owned(),
                };
                format!(
                    "{} K·h {} the range in the first three days, {} later; a note begins at {} and {}{why}",
                    plain(read.early, 1),
                    end.side,
                    plain(read.late, 1),
                    plain(note, 0),
                    plain(note * 2.0, 0)
                )
            });
        }
    }
}

/// What is told of a brew, where anything is.
pub(crate) fn told(end: &End, season: &Season, batch: &Batch, found: &TemperatureFigures) -> Option<Finding> {
    let (warning, note) = limits(end, season);
    let all = (end.of)(found);
    let phases = [
        (all.map(|e| e.early), all[0].early_hours, "in the first three days", warning, note),
        (all.map(|e| e.late), all[0].late_hours, "later, while it worked", warning * 2.0, note * 2.0),
    ];
    let (place, ..) = all[0].worst?;
    for (area, hours, phase, warning, note) in phases {
        for (level, limit) in [(Level::Warning, warning), (Level::Note, note)] {
            let chance = chance_over(area, limit);
            let message = sentence(end, &all[0], (area[0], hours), phase, Scale::of(season, Some(place)));
            // A possible warning that is a sure note is told as the note.
            if level == Level::Warning && chance < 0.8 {
                continue;
            }
            let finding = Finding::new(end.name, level, place, message).with_chance(chance);
            if let Some(finding) = finding.filter(|finding| finding.level >= Level::Note) {
                return Some(explained(end, season, batch, found, area, limit, finding));
            }
        }
    }
    None
}

/// The chance that the true degree-hours are over a limit: as read, and with the thermometer off by its error either way,
/// which holds nine cases in ten; straight lines in between.
fn chance_over([read, least, most]: [f64; 3], limit: f64) -> f64 {
    let z = if read >= limit {
        // How far the thermometer must read high, in standard deviations, for it to be under the limit after all.
        if least >= limit { 2.0 * NINETY } else { NINETY * (read - limit) / (read - least).max(1e-9) }
    } else if most < limit {
        -2.0 * NINETY
    } else {
        -NINETY * (limit - read) / (most - read).max(1e-9)
    };
    normal_share(z)
}

fn sentence(end: &End, read: &Excursion, (area, hours): (f64, f64), phase: &str, scale: Scale) -> String {
    let reading = read.worst.map_or(0.0, |(_, _, t)| t);
    format!(
        "{} {} at its {}, {} h {} {}–{} {} {phase}: {}",
        scale.point(reading),
        scale.unit(),
        if end.side == "above" { "warmest" } else { "coldest" },
        significant(hours, 2),
        end.side,
        scale.point(read.range.0),
        scale.point(read.range.1),
        scale.unit(),
        scale.degree_hours(area)
    )
}

fn explained(
    end: &End,
    season: &Season,
    batch: &Batch,
    found: &TemperatureFigures,
    area: [f64; 3],
    limit: f64,
    finding: Finding,
) -> Finding {
    let all = (end.of)(found);
    let scale = Scale::of(season, all[0].worst.map(|(place, _, _)| place));
    let beyond = format!("{} {} the range", scale.distance(all[0].furthest), end.side);
    let mut finding = finding.about(batch.name.to_string()).labelled(beyond);
    if let Some(place) = found.range_place {
        finding = finding.pointing(place, "the range");
    }
    let error = season.settings.thermometer_error.as_kelvin();
    let mut figure = Figure::plain(
        end.name,
        area[0],
        0.0,
        "K·h",
        format!("readings up to 24 h apart joined by straight lines, thermometer ± {} K", plain(error, 2)),
    );
    (figure.low, figure.high) = (area[1].min(area[0]), area[2].max(area[0]));
    finding
        .noting(format!(
            "degree-hours outside {}, readings up to 24 h apart joined by straight lines; the limit is {} ({} for half a day \
             is {})",
            found.range_from,
            scale.degree_hours(limit),
            scale.distance(2.0),
            scale.degree_hours(24.0)
        ))
        .noting(end.gives)
        .noting(end.advice)
        .showing(figure)
}

#[cfg(test)]
mod tests {
    use super::chance_over;

    #[test]
    fn certain_where_even_the_kindest_thermometer_is_over() {
        assert!(chance_over([40.0, 30.0, 50.0], 24.0) > 0.99);
        assert!(chance_over([10.0, 5.0, 15.0], 24.0) < 0.01);
        assert!((chance_over([24.0, 14.0, 34.0], 24.0) - 0.5).abs() < 1e-9);
        assert!((chance_over([24.0, 24.0 - 1e-12, 34.0], 20.0) - 1.0).abs() < 0.01);
    }
}
