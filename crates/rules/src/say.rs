//! The words that several rules share, so that the same thing is said the same way.

use barm_quantity::Estimate;
use barm_reckoning::{Batch, Fault, Figure, Pitching, Place, Scale, Season, advice, oxygen};
use barm_syntax::ast::{Organism, PackageKind};

use crate::{Certainty, Level, hot_pitch};

/// Says once in an output what `B` is.
pub(crate) const THOUSAND_MILLION: &str = "B (thousand million)";

/// Cells with their range, and what `B` means: "82–118 B (thousand million)".
pub(crate) fn cells(cells: &Estimate) -> String {
    advice::billions_range(cells).replace(" B", &format!(" {THOUSAND_MILLION}"))
}

/// A share to a round number: "about 40 %", "about 15 times".
pub(crate) fn about_percent(ratio: f64) -> String {
    format!("about {}", barm_quantity::share(ratio))
}

/// The same of something: "about 40 % of the target", "about 15 times the target".
pub(crate) fn about_part(ratio: f64, whole: &str) -> String {
    advice::part_of(&about_percent(ratio), whole)
}

/// An amount of a lot in its own unit, enough and as one would measure it out: "3 packs", "190 mL", "6.5 fl-oz".
pub(crate) fn amount(units: f64, unit: &str, us: bool) -> String {
    match unit {
        "mL" => advice::volume(units / 1000.0, us),
        "packs" | "vials" => {
            let whole = units.ceil().max(1.0);
            let word = if whole < 1.5 { unit.trim_end_matches('s') } else { unit };
            format!("{whole:.0} {word}")
        }
        "g" => advice::mass(units, us),
        "" => advice::share(units),
        unit => format!("{} {unit}", barm_quantity::plain(advice::round_up(units), 1)),
    }
}

/// What would narrow an estimate most, as a piece of advice; nothing where it is narrow already.
pub(crate) fn narrowing(estimate: &Estimate) -> Option<String> {
    let widest = estimate.widest().filter(|_| estimate.high() > estimate.low() * 1.3)?;
    let of = widest.name.of();
    Some(match widest.name.what() {
        "cell density" | "yeast share" => format!("a count of {of} would narrow this most"),
        "storage" | "viability at harvest" => format!("a viability of {of} would narrow this most"),
        "age" => format!("the day that {of} was made would narrow this most"),
        what => format!("what is least certain: {what} of {of}"),
    })
}

/// What the date of a lot is, by the line that it stands on: "made", "harvested", or reckoned back from `best-before`.
pub(crate) fn dated(season: &Season, pitch: &Pitching, place: barm_reckoning::Place) -> &'static str {
    use barm_reckoning::Form;
    match season.text(place).split_whitespace().next() {
        Some(word) if word.eq_ignore_ascii_case("best-before") => "by this made about",
        _ if matches!(pitch.form, Form::Pack | Form::Dry) => "made",
        _ => "harvested",
    }
}

/// Of how much of a wort its yeast is judged, where a part of it was gone by then.
pub(crate) fn left_to_pitch(season: &Season, batch: &Batch) -> Option<String> {
    let (parted, wort) = (batch.parted_before_yeast()?, batch.wort?);
    let scale = Scale::of(season, Some(wort.place));
    Some(format!(
        "{} of its wort were left for this yeast: {} had been parted from it",
        scale.volume(wort.volume),
        scale.volume(parted)
    ))
}

/// How each pitch was reckoned.
pub(crate) fn reckoned(pitch: &Pitching) -> String {
    match &pitch.live {
        Some(live) => format!("{}: {} live ({})", pitch.name, advice::billions_range(live), pitch.from),
        None => format!("{}: {}", pitch.name, pitch.from),
    }
}

/// Whether it is wild yeast or bacteria, or a mixture in which such are.
pub(crate) fn has_wild(season: &Season, pitch: &Pitching) -> bool {
    let strains = pitch.shares.iter().filter_map(|(strain, _)| season.strains.get(strain.0 as usize));
    let is_wild = |organism| matches!(organism, Some(Organism::Wild | Organism::Bacteria));
    pitch.is_wild() || strains.map(|strain| strain.traits.organism).any(is_wild)
}

/// Whether there is still time to mend it: nothing in the brew is later than 24 h after its first pitch.
pub(crate) fn is_young(batch: &Batch) -> bool {
    match (batch.pitched_at(), batch.last_event) {
        (Some(pitched), Some(last)) => last.hours_since(pitched) <= 24.0,
        _ => true,
    }
}

/// The lot figures shared by pitch rules: live cells and target.
pub(crate) fn pitch_figures(batch: &Batch) -> Vec<Figure> {
    let Some(pitch) = &batch.pitch else { return Vec::new() };
    let mut out = Vec::new();
    match (pitch.mass, pitch.target) {
        (Some((grams, wanted)), _) => {
            out.push(Figure::plain("dry-yeast", grams, 0.0, "g", "as pitched".to_owned()));
            out.push(Figure::plain("dry-yeast-wanted", wanted, 0.0, "g", pitch.rate.clone()));
        }
        (None, target) => {
            out.push(Figure::of("live-cells", &pitch.live, 1e9, "B", "all pitches that count".to_owned()));
            if let Some(target) = target {
                out.push(Figure::plain("target-cells", target / 1e9, 0.0, "B", pitch.rate.clone()));
            }
        }
    }
    out.push(Figure::of("pitch-ratio", &pitch.ratio, 0.01, "%", "pitched as a part of wanted".to_owned()));
    out
}

/// What the beer is, for a sentence: "this lager", "this ale", "this beer".
pub(crate) fn beer(batch: &Batch) -> &'static str {
    use barm_syntax::ast::Organism;
    match batch.traits.organism {
        Some(Organism::Ale) => "this ale",
        Some(Organism::Lager) => "this lager",
        _ => "this beer",
    }
}

/// Brews only: starters are not judged as beer.
pub(crate) fn brews(season: &Season) -> impl Iterator<Item = &Batch> {
    season.batches.iter().filter(|b| b.kind == barm_reckoning::LotKind::Brew)
}

/// Brews in order of their first pitch, for what is told only once of a jar.
pub(crate) fn brews_in_time(season: &Season) -> Vec<&Batch> {
    let mut out: Vec<&Batch> = brews(season).collect();
    // A part of a wort has its yeast from the whole.
    out.sort_by_key(|batch| (batch.pitched_at(), batch.taken_from().is_some(), batch.place));
    out
}

/// Whether an amount of a line is likely a slip, and asked about: what is reckoned of it says nothing.
pub(crate) fn has_slip(season: &Season, line: Place) -> bool {
    let is_here = |fault: &Fault| matches!(fault, Fault::UnlikelyUnit { place, .. } if line.holds(*place));
    season.faults.iter().any(is_here)
}

/// The level that a rule speaks at when it is sure, after the settings; `None` where they switch it off.
pub(crate) fn level(season: &Season, rule: &str, default: Level) -> Option<Level> {
    let set = season.settings.levels.get(rule).and_then(|level| Level::read(level));
    Some(set.unwrap_or(default)).filter(|level| *level > Level::Off)
}

/// Why nothing more is told of yeast that was killed.
pub(crate) const KILLED: &str = "`hot-pitch` tells of its wort: the yeast in it is dead";

/// Whether it is told already that all yeast of a brew is dead.
pub(crate) fn is_told_killed(season: &Season, batch: &Batch) -> bool {
    level(season, hot_pitch::NAME, Level::Warning).is_some() && batch.is_killed()
}

/// The level that a rule speaks at, given the chance that its limit is broken; `None` where `check` shows nothing.
pub(crate) fn speaks(season: &Season, rule: &str, default: Level, chance: f64) -> Option<Level> {
    let level = Certainty::of(chance)?.tempers(level(season, rule, default)?);
    Some(level).filter(|level| *level > Level::Figure)
}

/// A range in two digits: "1.6–5.6".
pub(crate) fn range(estimate: &Estimate) -> String {
    advice::range(estimate)
}

/// Why nothing is said of what may only be unreadable: the error at that line is enough.
pub(crate) const UNREAD: &str = "what it lacks may stand in a line that could not be read";

/// First words of lines that tell of the beer's temperature.
pub(crate) const TEMPERATURES: &[&str] = &["temp", "readings"];

/// First words of lines that tell how oxygen got in.
const AERATIONS: &[&str] = &["aerate", "oxygen"];

/// Whether nobody could read how a brew's wort was aerated, before it was parted or after.
pub(crate) fn aeration_is_unread(season: &Season, batch: &Batch) -> bool {
    wort_lots(season, batch).any(|lot| season.has_lost(lot, AERATIONS))
}

/// The same, or that it may stand in a line of which nobody can tell what it is.
pub(crate) fn aeration_may_be_unread(season: &Season, batch: &Batch) -> bool {
    wort_lots(season, batch).any(|lot| season.may_have_lost(lot, AERATIONS))
}

fn wort_lots(season: &Season, batch: &Batch) -> impl Iterator<Item = barm_reckoning::LotId> {
    [batch.lot, season.whole_wort(batch.lot)].into_iter()
}

/// How long pure oxygen takes to an aim at a litre a minute, or at less where that is too short to time.
pub(crate) fn pure_oxygen(aim: f64, time: barm_quantity::Span) -> String {
    let (flow, time) = oxygen::can_be_timed(1.0, time);
    format!(
        "pure oxygen at {flow} through a fine stone for about {time} reaches {} mg/L; keep flame, oil and grease away and \
         follow the maker's instructions and your local codes",
        barm_quantity::plain(aim, 1)
    )
}

/// What to do with what holds too much, in glass or not.
pub(crate) const fn full(kind: PackageKind) -> &'static str {
    match kind {
        PackageKind::Bottle => FULL_BOTTLES,
        PackageKind::Keg | PackageKind::Cask => FULL_KEGS,
    }
}

/// What to do with a keg or a cask that may hold too much.
const FULL_KEGS: &str = "a keg or cask that holds too much may burst: keep it cold and let the gas off by its relief valve, \
    never by its lid, with goggles on and the room aired; follow your local codes, the maker's instructions and licensed practice";

/// What to do with bottles that may hold too much.
pub(crate) const FULL_BOTTLES: &str = "bottles that hold too much burst: keep them cold and upright in a closed crate, wear \
    goggles and gloves, handle them little; follow your local codes, the maker's instructions and licensed practice";

/// The chance that a value is over a limit, where nine cases in ten lie within `error` of it.
pub(crate) fn chance_over(value: f64, error: f64, limit: f64) -> f64 {
    barm_quantity::normal_share(barm_quantity::NINETY * (value - limit) / error.max(1e-9))
}

/// What beer is packaged in.
pub(crate) const fn vessel(kind: PackageKind) -> &'static str {
    match kind {
        PackageKind::Bottle => "bottle",
        PackageKind::Keg => "keg",
        PackageKind::Cask => "cask",
    }
}
