use barm_quantity::plain;
use barm_reckoning::{Batch, Donor, Figure, Form, Place, Season};

use crate::registry::rule;
use crate::{Finding, Level, Report, say};

const NAME: &str = "strong-donor";
/// Alcohol by volume, %, that leaves yeast worse for wear, and so much more that leaves it bad.
const LIMIT: f64 = 6.5;
const MUCH_MORE: f64 = 2.0;
/// What a reckoned alcohol may be out by, %.
const ALCOHOL_ERROR: f64 = 0.2;
/// IBU above which hop resins coat the cells.
const BITTER: f64 = 50.0;

rule! {
    /// Yeast harvested from a beer that was hard on it.
    StrongDonor, "strong-donor", Note, "strong_donor.md", check
}

fn check(season: &Season, report: &mut Report) {
    for batch in say::brews(season) {
        let mut any = false;
        // Of several jars from one beer the first is told.
        if let Some(harvest) = batch.harvests.first() {
            any = true;
            told(season, batch, &harvest.donor, harvest.place, "harvested here", report);
        }
        for pitch in batch.pitches.iter().filter(|pitch| pitch.form == Form::Cake) {
            if let Some(donor) = &pitch.history.donor {
                any = true;
                told(season, batch, donor, pitch.place, "its cake goes in here", report);
            }
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
    what: String,
    place: Option<Place>,
}

fn told(season: &Season, batch: &Batch, donor: &Donor, place: Place, label: &str, report: &mut Report) {
    let Some(of) = season.batch(donor.lot) else { return };
    let mut reasons = reasons(season, of, donor);
    reasons.sort_by(|a, b| b.level.cmp(&a.level).then(b.chance.total_cmp(&a.chance)));
    let shown = |hard: &Hard| Finding::new(NAME, hard.level, place, message(hard)).with_chance(hard.chance);
    let Some((finding, first)) = reasons.first().and_then(|hard| Some((shown(hard)?, hard))) else {
        let alcohol = donor
            .alcohol
            .map_or("of unknown strength".to_owned(), |a| format!("{} %ABV", plain(a.as_percent(), 1)));
        report.silent(NAME, &batch.name, format!("`{}` was no hard place: {alcohol}", of.name));
        return;
    };
    let mut finding = finding.about(batch.name.to_string()).labelled(label);
    if let Some(place) = first.place {
        finding = finding.pointing(place, "written here");
    }
    for hard in reasons.iter().skip(1) {
        finding = finding.noting(format!("and it was {}", hard.what));
    }
    finding = finding
        .noting("yeast from such a beer starts slowly and keeps badly; many would throw it away")
        .noting("next time: harvest from a beer of ordinary strength before this one; if you keep it, count it and wake it in a starter");
    if let Some(alcohol) = donor.alcohol {
        let from = "of the beer, by its last gravity".to_owned();
        finding =
            finding.showing(Figure::plain("alcohol", alcohol.as_percent(), ALCOHOL_ERROR, "%ABV", from));
    }
    report.found(finding);
}

fn message(hard: &Hard) -> String {
    format!("yeast from a beer that was {}", hard.what)
}

/// All that was hard on the yeast; what is infected has a rule of its own.
fn reasons(season: &Season, of: &Batch, donor: &Donor) -> Vec<Hard> {
    let limit = season.settings.limit(NAME, LIMIT);
    let mut out = Vec::new();
    if let Some(alcohol) = donor.alcohol.map(|a| a.as_percent()).filter(|a| *a > limit) {
        let chance = |above: f64| match alcohol - above {
            sure if sure > ALCOHOL_ERROR => 1.0,
            possible if possible > 0.0 => 0.5,
            _ => 0.0,
        };
        let much = chance(limit + MUCH_MORE);
        let (level, chance) = if much >= 1.0 { (Level::Warning, much) } else { (Level::Note, chance(limit)) };
        let what = format!("{} %ABV strong", plain(alcohol, 1));
        out.push(Hard { level, chance, what, place: of.last_gravity().map(|g| g.place) });
    }
    if let Some((bitterness, place)) = of.record.bitterness.filter(|(ibu, _)| *ibu > BITTER) {
        let what = format!("{} IBU bitter", plain(bitterness, 0));
        out.push(Hard { level: Level::Note, chance: 1.0, what, place: Some(place) });
    }
    if let Some((what, place)) = &of.record.unhealthy {
        out.push(Hard {
            level: Level::Note,
            chance: 1.0,
            what: format!("not sound ({what})"),
            place: Some(*place),
        });
    }
    out
}
