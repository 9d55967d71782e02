use barm_quantity::{Estimate, significant};
use barm_reckoning::{Batch, Figure, Place, Season, oxygen};
use barm_zymology::oxygen::Method;

use crate::registry::rule;
use crate::{Finding, Level, Report, say};

const NAME: &str = "too-much-oxygen";
/// mg/L. No maximum is agreed on.
const LIMIT: f64 = 20.0;

rule! {
    /// More dissolved oxygen than anybody recommends.
    TooMuchOxygen, "too-much-oxygen", Note, "too_much_oxygen.md", check
}

/// The most oxygen that a brew held: measured, else as estimated after each dose that was given and is not only asked for.
fn most(batch: &Batch) -> Option<(&Estimate, Place, Option<Method>)> {
    if let Some(found) = batch.oxygen.as_ref().filter(|found| found.measured) {
        return Some((&found.dissolved, found.place, None));
    }
    let given = batch.doses.iter().filter(|dose| dose.asked.is_none());
    let dose = given.max_by(|a, b| a.after.median().total_cmp(&b.after.median()))?;
    Some((&dose.after, dose.place, Some(dose.method)))
}

fn check(season: &Season, report: &mut Report) {
    let limit = season.settings.limit(NAME, LIMIT);
    for batch in say::brews(season) {
        let Some((dissolved, place, method)) = most(batch) else {
            report.silent(NAME, &batch.name, "no `aerate` or `oxygen` is on record that is not asked for");
            continue;
        };
        let chance = 1.0 - dissolved.chance_below(&Estimate::exact(limit));
        let range = || say::range(dissolved);
        let message =
            || format!("{} mg/L of oxygen in the wort: more than {limit:.0} helps nobody that we know of", range());
        match Finding::likely(NAME, Level::Note, place, chance, message) {
            Some(finding) => {
                let how = method.map_or_else(|| "measured".to_owned(), |method| format!("after {}", oxygen::method_name(method)));
                report.found(finding
                    .about(batch.name.to_string())
                    .labelled(how.clone())
                    .noting("no maximum is agreed on; much oxygen makes the yeast grow at the beer's cost, and may harm it")
                    .noting(format!("next time: shorter, or with less gas; 8–10 mg/L is the aim (common practice), {} at most", significant(limit, 2)))
                    .noting("pure oxygen feeds fire: follow the maker's instructions and your local codes")
                    .showing(Figure::of("dissolved-oxygen", dissolved, 1.0, "mg/L", how)));
            }
            None => report.silent(NAME, &batch.name, || format!("{} mg/L; the limit is {limit:.0}", range())),
        }
    }
}
