use barm_reckoning::{Batch, Figure, Season, advice};
use barm_syntax::ast::Organism;

use crate::registry::{Why, rule};
use crate::{Finding, Level, Report, say};

const NAME: &str = "no-pitch";
/// Days of readings after which a brew without yeast is odd.
const LIMIT: f64 = 2.0;

rule! {
    /// A brew with wort and readings, and no yeast on record.
    NoPitch, "no-pitch", Note, "no_pitch.md", check
}

fn check(season: &Season, report: &mut Report) {
    let limit = season.settings.limit(NAME, LIMIT);
    for batch in say::brews(season) {
        match judged(season, batch, limit) {
            Ok(finding) => report.found(finding),
            Err(reason) => report.silent(NAME, &batch.name, reason),
        }
    }
}

fn judged(season: &Season, batch: &Batch, limit: f64) -> Result<Finding, Why<'static>> {
    let unpitched = batch.record.unpitched.as_deref().ok_or("yeast is pitched, or it has no readings")?;
    if batch.wort.is_none() {
        return Err("it has no `wort`".into());
    }
    if matches!(batch.traits.organism, Some(Organism::Wild | Organism::Bacteria)) {
        return Err("what is `wild` or soured may come by itself".into());
    }
    if season.may_have_lost(batch.lot, &["pitch", "add"]) {
        return Err("a line of it could not be read: it may be the pitch".into());
    }
    let days = unpitched.last.hours_since(unpitched.first) / 24.0;
    if days < limit {
        return Err(Why::of(move || format!("its readings go over {}", advice::days_to_a_tenth(days))));
    }
    let message = format!("{} of readings and no yeast on record: what was pitched?", advice::days(days));
    Ok(Finding::new(NAME, Level::Note, batch.place, message)
        .about(batch.name.to_string())
        .labelled("no `pitch` in it")
        .pointing(unpitched.place, "the last reading")
        .noting("write `pitch LOT` on its day; a brew that nobody pitched is `kind wild`")
        .showing(Figure::plain(
            "days",
            days.floor(),
            0.0,
            "d",
            "from its first reading to its last".to_owned(),
        )))
}
