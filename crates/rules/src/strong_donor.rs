use barm_quantity::plain;
use barm_reckoning::{Batch, Donor, Figure, Form, Moment, Place, Season};
use barm_zymology::alcohol;

use crate::registry::rule;
use crate::{Finding, Level, Report, say};

const NAME: &str = "strong-donor";
/// Alcohol by volume, %, that leaves yeast worse for wear, and so much more that leaves it bad.
const LIMIT: f64 = 6.5;
const MUCH_MORE: f64 = 2.0;
/// What a reckoned alcohol may be out by, %.
const ALCOHOL_ERROR: f64 = alcohol::ERROR.as_percent();
/// IBU above which hop resins coat the cells.
const BITTER: f64 = 50.0;

rule! {
    /// Yeast harvested from a beer that was hard on it.
    StrongDonor, "strong-donor", Note, "strong_donor.md", check
}

/// Yeast taken from a beer.
struct Taken<'a> {
    donor: &'a Donor,
    at: Moment,
    place: Place,
    label: &'static str,
}

fn check(season: &Season, report: &mut Report) {
    for batch in say::brews(season) {
        // Of several jars from one beer the first is told.
        let harvest = batch.harvests.first().map(|harvest| Taken {
            donor: &harvest.donor,
            at: harvest.at,
            place: harvest.place,
            label: "harvested here",
        });
        let cakes = batch.pitches.iter().filter(|pitch| pitch.form == Form::Cake).filter_map(|pitch| {
            let donor = pitch.history.donor.as_ref()?;
            Some(Taken { donor, at: pitch.at, place: pitch.place, label: "its cake goes in here" })
        });
        let mut any = false;
        for taken in harvest.into_iter().chain(cakes) {
            any = true;
            told(season, batch, &taken, report);
        }
        if !any {
            report.silent(NAME, &batch.name, "no yeast is harvested from it, and no cake pitched");
        }
    }
}

/// One thing that was hard on the yeast.
struct Hard {
    level: Level,
    chance: f64,
    message: String,
    means: &'static str,
    place: Option<Place>,
}

fn told(season: &Season, batch: &Batch, taken: &Taken<'_>, report: &mut Report) {
    let Some(of) = season.batch(taken.donor.lot) else { return };
    let mut reasons = reasons(season, of, taken);
    let known = |hard: &Hard| hard.chance >= 0.8;
    reasons.sort_by(|a, b| known(b).cmp(&known(a)).then(b.level.cmp(&a.level)));
    let alcohol = taken.donor.alcohol.map(|alcohol| alcohol.as_percent());
    let finding = reasons.first().and_then(|hard| {
        Finding::new(NAME, hard.level, taken.place, hard.message.clone()).with_chance(hard.chance)
    });
    let (Some(finding), Some(first)) = (finding, reasons.first()) else {
        let strength = alcohol.map_or("of unknown strength".to_owned(), |a| format!("{} %ABV", plain(a, 1)));
        report.silent(NAME, &batch.name, || format!("`{}` was no hard place: {strength}", of.name));
        return;
    };
    let mut finding =
        finding.about(batch.name.to_string()).labelled(taken.label).noting(first.means.to_owned());
    if let Some(place) = first.place {
        finding = finding.pointing(place, "written here");
    }
    for hard in reasons.iter().skip(1).filter(|hard| known(hard)) {
        finding = finding.noting(format!("and {}: {}", hard.message, hard.means));
    }
    finding = finding
        .noting("next time: harvest from the ordinary beer before this one; if you keep it, count it, or wake it in a starter");
    if let Some(alcohol) = alcohol {
        let from = "of the beer, by its last gravity".to_owned();
        finding = finding.showing(Figure::plain("alcohol", alcohol, ALCOHOL_ERROR, "%ABV", from));
    }
    report.found(finding);
}

/// All that was hard on the yeast.
fn reasons(season: &Season, of: &Batch, taken: &Taken<'_>) -> Vec<Hard> {
    let limit = season.settings.limit(NAME, LIMIT);
    let mut out = Vec::new();
    if let Some(alcohol) = taken.donor.alcohol.map(|a| a.as_percent()).filter(|a| *a > limit) {
        let chance = |above: f64| if alcohol - above > ALCOHOL_ERROR { 1.0 } else { 0.5 };
        let much = alcohol - limit - MUCH_MORE > ALCOHOL_ERROR;
        out.push(Hard {
            level: if much { Level::Warning } else { Level::Note },
            chance: chance(limit),
            message: format!("{} %ABV in the beer that this yeast is from", plain(alcohol, 1)),
            means: "alcohol wears it: it starts slowly and keeps badly",
            place: of
                .gravities
                .get(..of.gravities.partition_point(|g| g.at <= taken.at))
                .and_then(<[_]>::last)
                .map(|g| g.place),
        });
    }
    if let Some((bitterness, place)) = of.record.bitterness.as_deref().copied().filter(|(ibu, _)| *ibu > BITTER) {
        out.push(Hard {
            level: Level::Note,
            chance: 1.0,
            message: format!("{} IBU in the beer that this yeast is from", plain(bitterness, 0)),
            means: "hop resins coat the cells: it may start slowly",
            place: Some(place),
        });
    }
    // What is infected has a rule of its own, and its taste or plate comes of that.
    if let Some((what, place)) = of.record.unhealthy.as_deref().filter(|_| of.record.infected.is_none()) {
        out.push(Hard {
            level: Level::Note,
            chance: 1.0,
            message: format!("{what} in the beer that this yeast is from"),
            means: "look at it, plate it, or take a sounder jar",
            place: Some(*place),
        });
    }
    out
}
