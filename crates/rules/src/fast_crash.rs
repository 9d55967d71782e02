use std::collections::BTreeMap;

use barm_quantity::plain;
use barm_reckoning::{Batch, Cooled, Figure, Form, LotId, Moment, Place, Season, Scale};

use crate::registry::{Why, rule};
use crate::{Finding, Level, Report, say};

const NAME: &str = "fast-crash";
/// K in six hours.
const LIMIT: f64 = 5.0;

rule! {
    /// Cooled in a hurry while it still worked, and its yeast used again.
    FastCrash, "fast-crash", Note, "fast_crash.md", check
}

fn check(season: &Season, report: &mut Report) {
    let limit = season.settings.limit(NAME, LIMIT);
    let cakes = cakes(season);
    for batch in say::brews(season) {
        if let Err(why) = judge(season, batch, limit, &cakes, report) {
            report.silent(NAME, &batch.name, why);
        }
    }
}

/// When the cake of each brew was last pitched, and where.
fn cakes(season: &Season) -> BTreeMap<LotId, (Moment, Place)> {
    let pitches = season.batches.iter().flat_map(|batch| &batch.pitches).filter(|p| p.form == Form::Cake);
    let mut out: BTreeMap<LotId, (Moment, Place)> = BTreeMap::new();
    for pitch in pitches {
        let last = out.entry(pitch.lot).or_insert((pitch.at, pitch.place));
        *last = (*last).max((pitch.at, pitch.place));
    }
    out
}

fn judge(
    season: &Season,
    batch: &Batch,
    limit: f64,
    cakes: &BTreeMap<LotId, (Moment, Place)>,
    report: &mut Report,
) -> Result<(), Why<'static>> {
    let cooled = batch.heat.cooled.as_deref().ok_or("it was not cooled while its gravity fell, as far as the log tells")?;
    let harvest = batch.harvests.iter().rfind(|h| h.at >= cooled.at).map(|h| h.place);
    let cake = cakes.get(&batch.lot).filter(|(at, _)| *at >= cooled.at).map(|(_, place)| *place);
    let used = harvest.or(cake).ok_or("its yeast was not used again afterwards")?;
    let scale = Scale::of(season, Some(cooled.place));
    let error = season.settings.thermometer_error.as_kelvin();
    let kelvin = cooled.kelvin;
    let message =
        || format!("{} colder within six hours, its gravity still falling, and its yeast is kept", scale.distance(kelvin));
    let finding = Finding::likely(NAME, Level::Note, cooled.place, say::chance_over(kelvin, error, limit), message)
        .ok_or_else(|| Why::of(move || format!("{} K in six hours at the most", plain(kelvin, 1))))?;
    report.found(explained(batch, cooled, used, (limit, error), finding, scale));
    Ok(())
}

fn explained(
    batch: &Batch,
    cooled: &Cooled,
    used: Place,
    (limit, error): (f64, f64),
    finding: Finding,
    scale: Scale,
) -> Finding {
    finding
        .about(batch.name.to_string())
        .labelled("cold by here")
        .pointing(cooled.falling, "still falling")
        .pointing(used, "its yeast, kept for another beer")
        .noting(format!("the limit is {} in six hours", scale.distance(limit)))
        .noting("yeast that is chilled in a hurry gives off esters and repitches worse; others see no effect in the beer")
        .noting("next time: cool by half a degree to a degree a day where the yeast is to be used again")
        .showing(Figure::plain("cooled", cooled.kelvin, error, "K", "steepest six hours, readings joined by straight lines".to_owned()))
}
