use barm_quantity::{Concentration, Estimate, plain};
use barm_reckoning::{Answer, Batch, Dose, Figure, Scale, Season, oxygen};
use barm_zymology::oxygen::Method;

use crate::registry::{Why, rule};
use crate::{Finding, Level, Report, low_oxygen, say};

const NAME: &str = "oxygen-ceiling";

rule! {
    /// More oxygen is asked for than this method can ever reach here.
    OxygenCeiling, "oxygen-ceiling", Note, "oxygen_ceiling.md", check
}

fn check(season: &Season, report: &mut Report) {
    for batch in say::brews(season) {
        let mut any = false;
        for dose in &batch.doses {
            if let Some(asked) = dose.asked.filter(|asked| asked.out_of_reach) {
                any = true;
                let finding = Finding::new(NAME, Level::Note, asked.place, message(dose, asked.aim));
                report.found(explained(season, batch, dose, asked.aim, finding.labelled("no time is long enough")));
            }
        }
        if any {
            continue;
        }
        match needed(season, batch) {
            Ok(finding) => report.found(finding),
            Err(reason) => report.silent(NAME, &batch.name, reason),
        }
    }
}

/// Whether it answers a question in the place of its answer.
pub(crate) fn answers(season: &Season, answer: &Answer) -> bool {
    let Some(batch) = season.batch(answer.lot) else { return false };
    say::level(season, NAME, Level::Note).is_some()
        && batch.kind == barm_reckoning::LotKind::Brew
        && batch.doses.iter().any(|d| d.asked.is_some_and(|a| a.out_of_reach && a.place == answer.place))
}

/// A strain's `needs` against the best method that was used.
fn needed<'b>(season: &Season, batch: &'b Batch) -> Result<Finding, Why<'b>> {
    let needs = batch.traits.needs.ok_or("no `?` and no `needs` asks for more than its method reaches")?;
    let highest = |a: &&Dose, b: &&Dose| a.ceiling.median().total_cmp(&b.ceiling.median());
    let dose = batch.doses.iter().max_by(highest).ok_or("no `aerate` is on record")?;
    if let Some(reason) = low_oxygen::not_judged(batch).filter(|_| !batch.pitches.is_empty()) {
        return Err(reason.into());
    }
    if low_oxygen::speaks(season, batch) {
        return Err("told with low-oxygen".into());
    }
    if batch.oxygen.as_ref().is_some_and(|found| found.measured) {
        return Err("it was measured".into());
    }
    let chance = dose.ceiling.chance_below(&Estimate::exact(needs));
    let reaches = || format!("{} reaches {} mg/L here", oxygen::method_name(dose.method), say::range(&dose.ceiling));
    let finding = Finding::likely(NAME, Level::Note, dose.place, chance, || message(dose, needs))
        .ok_or_else(|| Why::of(reaches))?;
    Ok(explained(season, batch, dose, needs, finding.labelled("aerated here")))
}

fn message(dose: &Dose, wanted: f64) -> String {
    format!(
        "{} mg/L is the most that {} can reach here, and {} is wanted",
        say::range(&dose.ceiling),
        oxygen::method_name(dose.method),
        plain(wanted, 1)
    )
}

fn explained(season: &Season, batch: &Batch, dose: &Dose, wanted: f64, finding: Finding) -> Finding {
    let scale = Scale::of(season, Some(batch.wort.map_or(dose.place, |wort| wort.place)));
    let mut finding = finding.about(batch.name.to_string()).noting(format!(
        "at {}, {} °P and {} m above the sea; colder, weaker and lower wort holds more",
        scale.temperature(dose.wort.temperature.as_celsius()),
        plain(dose.wort.strength.as_degrees(), 1),
        plain(dose.wort.elevation_metres, 0)
    ));
    if dose.method != Method::Oxygen {
        let flow = Some(barm_quantity::Flow::litres_per_minute(1.0));
        let target = Concentration::milligrams_per_litre(wanted);
        let time =
            barm_zymology::oxygen::time_for(target, &Estimate::exact(0.0), Method::Oxygen, flow, &dose.wort);
        if let Some(time) = time {
            finding = finding.noting(say::pure_oxygen(wanted, time));
        }
    }
    let from = format!("the most that {} can reach here", oxygen::method_name(dose.method));
    finding.showing(Figure::of("oxygen-ceiling", &dose.ceiling, 1.0, "mg/L", from)).showing(Figure::plain(
        "oxygen-wanted",
        wanted,
        0.0,
        "mg/L",
        "as asked for".to_owned(),
    ))
}
