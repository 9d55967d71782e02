//! Every figure of a lot, for `barm figures` and for whoever draws.

use std::sync::Arc;

use barm_quantity::{Estimate, GravityDifference, plain};
use barm_zymology::alcohol;
use barm_zymology::oxygen::Method;

use crate::batch::{Batch, Excursion, Form, Pitching};
use crate::counts::Counting;
use crate::figure::{Figure, LotFigures, with_unit};
use crate::lot::{LiveShare, State, Supply};
use crate::names::{LotId, LotKind};
use crate::pitch::Target;
use crate::{Moment, Place, Scale, Season, acidity, fermentation, heat, oxygen, packaging};

/// The figures of one lot at the last day of the workspace.
pub(crate) fn of(season: &Season, lot: LotId) -> Option<LotFigures> {
    let declared = season.names.lots.get(lot.0 as usize)?;
    let mut out = LotFigures {
        lot: declared.name.to_string(),
        kind: declared.kind.word(),
        place: declared.place,
        title: season.title(lot),
        figures: Vec::new(),
        missing: Vec::new(),
    };
    for counting in season.counts_of(lot) {
        count_figures(counting, &mut Listed(&mut out));
    }
    match season.batch(lot) {
        Some(batch) => batch_figures(season, batch, &mut out),
        None => {
            if let Some(state) = season.states.get(lot.0 as usize) {
                stock_figures(season, &declared.name, state, &mut out);
            }
        }
    }
    acidity::figures(season.acidity_of(lot), &mut out.figures);
    Some(out)
}

fn stock_figures(season: &Season, name: &Arc<str>, state: &State, out: &mut LotFigures) {
    let Some(on) = season.last_day else { return };
    let place = state.made.map_or(out.place, |(_, place)| place);
    if let Some(generation) = state.generation {
        let from = "counted from the lab: a pack is 0, each harvest one more (exact)".to_owned();
        out.figures.push(Figure::plain("generation", f64::from(generation), 0.0, "", from).at(place));
    }
    if state.left.is_finite() && !matches!(state.supply, Supply::Unknown) {
        let (left, unit) = state.supply.listed(state.left);
        let declared = plain(state.supply.listed(state.declared).0, 1);
        let from = format!("{} less what was drawn, taken as exact", with_unit(&declared, unit));
        let error = state.amount_factor.as_ref().map_or(0.0, |f| left * ((f.high() / f.median()) - 1.0));
        out.figures.push(Figure::plain("left", left, error, unit, from).at(out.place));
    } else if !matches!(state.supply, Supply::Slant) {
        out.missing.push("what is left (no `pack`, `sachet` or `slurry`)".to_owned());
    }
    if let Some(unknown) = state.unknown.as_ref().filter(|_| state.live.is_none()) {
        out.missing.push(format!("live cells ({unknown})"));
    }
    let Some(live) = &state.live else { return };
    if !live.reckoned_back && live.since.is_some_and(|since| since > on) {
        return;
    }
    match live.age_days(on) {
        Some(age) => {
            let from = format!("whole days to {}", on.date());
            let error = live.begun.map_or(0.0, |(_, days)| days);
            out.figures.push(Figure::plain("age", age.floor(), error, "d", from).at(place));
        }
        None => out.missing.push("age (no `made` or `harvested`)".to_owned()),
    }
    if state.frozen(on).is_some() {
        out.missing.push("live cells (it was frozen)".to_owned());
        return;
    }
    let share = live.at(on, name);
    let how = if live.measured {
        COUNTED
    } else {
        match state.supply {
            Supply::Dry { .. } => DRY_LOSS,
            Supply::Slurry { .. } | Supply::Part { .. } => SLURRY_LOSS,
            _ => PACK_LOSS,
        }
    };
    out.figures
        .push(Figure::of("live-share", &share, 0.01, "%", format!("{how}, on {}", on.date())).at(place));
    if let Some(per_unit) = state.supply.cells_per_unit()
        && state.left > 0.0
        && state.left.is_finite()
    {
        let cells = per_unit.scaled(state.left) * share;
        let from = "what is left × cells in it × the live share".to_owned();
        out.figures.push(Figure::of("live-cells", &cells, 1e9, "B", from).at(place));
    }
    if state.supply.is_slurry()
        && let Some(warm) = live.warm(on).filter(|warm| warm.hours > 0.0)
    {
        let from = format!("above 10 °C, {} °C at most, taken as given", plain(warm.warmest.as_celsius(), 1));
        out.figures.push(Figure::plain("warm", warm.hours, 0.0, "h", from).at(warm.place.unwrap_or(place)));
    }
}

const BY_WORT: &str = "live cells by wort volume and strength";
const DRY_DOSE: &str = "dry yeast's usual dose, or the dose stated, for this wort, taken as given";

/// How a live share was reckoned.
const COUNTED: &str = "counted, and aged since";
const DRY_LOSS: &str = "dry yeast's loss";
const SLURRY_LOSS: &str = "alive at harvest, and the loss of slurry by its temperature";
const PACK_LOSS: &str = "a pack's loss by the month and its temperature";

/// How the live share of what was pitched was reckoned.
const fn ages_by(pitch: &Pitching) -> &'static str {
    if pitch.measured {
        return COUNTED;
    }
    match pitch.form {
        Form::Dry => DRY_LOSS,
        Form::Slurry => SLURRY_LOSS,
        Form::Cake => "alive at harvest, and the loss of slurry since it worked out",
        Form::Starter => "that of fresh yeast, and the loss of slurry since",
        Form::Pack | Form::Bank | Form::Unknown => PACK_LOSS,
    }
}

/// Figures of one batch, each entered in one line.
struct Listed<'o>(&'o mut LotFigures);

impl Listed<'_> {
    fn plain(
        &mut self,
        name: &'static str,
        value: f64,
        error: f64,
        unit: &'static str,
        from: &str,
        place: Place,
    ) {
        self.0.figures.push(Figure::plain(name, value, error, unit, from.to_owned()).at(place));
    }
    fn of(
        &mut self,
        name: &'static str,
        estimate: &Estimate,
        per: f64,
        unit: &'static str,
        from: &str,
        place: Place,
    ) {
        self.0.figures.push(Figure::of(name, estimate, per, unit, from.to_owned()).at(place));
    }
}

fn count_figures(counting: &Counting, out: &mut Listed<'_>) {
    let from = match &counting.seen {
        Some(seen) => format!("{} cells seen in {} squares", seen.seen(), seen.squares),
        None => "as written, taken as given".to_owned(),
    };
    out.of("counted", &counting.density, 1e9, "B/mL", &from, counting.place);
    if let (Some(share), Some(seen)) = (&counting.viability, &counting.seen) {
        let from = format!("{} of {} cells seen", seen.live, seen.seen());
        out.of("counted-live", share, 0.01, "%", &from, counting.place);
    }
}

fn batch_figures(season: &Season, batch: &Batch, out: &mut LotFigures) {
    let is_brew = batch.kind == LotKind::Brew;
    wort_figures(batch, &mut Listed(out));
    for pitch in &batch.pitches {
        pitching_figures(pitch, &mut Listed(out));
    }
    if is_brew {
        pitch_figures(season, batch, &mut Listed(out));
        blend_figures(batch, out);
        oxygen_figures(batch, &mut Listed(out));
        temperature_figures(season, batch, &mut Listed(out));
    }
    gravity_figures(batch, &mut Listed(out));
    fermentation::figures(batch, &mut out.figures);
    heat::figures(batch, &mut out.figures);
    packaging::figures(batch, Scale::house(&season.settings), &mut out.figures);
    if let Some(generation) = batch.pitches.iter().filter_map(|p| p.generation).max() {
        let from = "of the yeast pitched: a pack is 0, each harvest one more (counted, exact)";
        Listed(out).plain("generation", f64::from(generation), 0.0, "", from, batch.place);
    }
    if let (Some(first), Some(last)) = (batch.pitched_at(), batch.last_event) {
        let days = (last.hours_since(first) / 24.0).floor();
        Listed(out).plain(
            "days",
            days,
            0.0,
            "d",
            "from the first pitch to the last line, whole days",
            batch.place,
        );
    }
    out.missing.extend(batch.missing.iter().map(|m| format!("{} ({})", m.figure, m.fact)));
    if is_brew && batch.oxygen.is_none() && !batch.pitches.is_empty() {
        out.missing.push("oxygen (no `aerate` or `oxygen`)".to_owned());
    }
}

fn wort_figures(batch: &Batch, out: &mut Listed<'_>) {
    let Some(wort) = &batch.wort else { return };
    let parted = batch.parted.as_ref().is_some_and(|parted| !parted.as_stated);
    let how = if wort.measured {
        "as measured at pitching"
    } else if parted {
        "as the whole was when it was parted"
    } else {
        "as the log states it"
    };
    let error = wort.volume_error.as_litres();
    let volume_how = match (error > 0.0, wort.measured) {
        _ if batch.parted_before_yeast().is_some() => "what was left when its yeast went in, taken as exact",
        (false, _) => "as the log states it, taken as exact",
        (true, true) => "as measured at pitching",
        (true, false) => "as the log states it",
    };
    out.plain("wort-volume", wort.volume.as_litres(), error, "L", volume_how, wort.place);
    out.plain("original-gravity", wort.gravity.as_specific(), wort.gravity_error, "SG", how, wort.place);
    let from = "from the gravity by the sucrose tables";
    out.plain("strength", wort.strength.as_degrees(), wort.strength_error(), "°P", from, wort.place);
}

fn pitching_figures(pitch: &Pitching, out: &mut Listed<'_>) {
    if !pitch.unit.is_empty() && pitch.taken.is_finite() && pitch.taken > 0.0 {
        let how = if pitch.of_whole { "the part of it in this wort" } else { "as measured out" };
        let from = format!("of {}, {how}, taken as exact", pitch.name);
        out.plain("pitched", pitch.taken, 0.0, pitch.unit, &from, pitch.place);
    }
    if let (Some(live), false) = (&pitch.live, pitch.from.is_empty()) {
        out.of("live-cells", live, 1e9, "B", &format!("{}: {}", pitch.name, pitch.from), pitch.place);
    }
    let from = format!("{} when it was pitched", pitch.name);
    if let Some(share) = &pitch.live_share {
        let how = format!("{from}: {}", ages_by(pitch));
        let mut figure = Figure::of("live-share", share, 0.01, "%", how).at(pitch.place);
        figure.high = figure.high.min(100.0);
        out.0.figures.push(figure);
    }
    if let Some(age) = pitch.age_days {
        out.plain("age", age.floor().max(0.0), 0.0, "d", &format!("{from}, whole days"), pitch.place);
    }
    if let Some(survives) = &pitch.sprinkled {
        let from = format!("of {}, which was sprinkled on", pitch.name);
        let mut figure = Figure::of("survives-sprinkling", survives, 0.01, "%", from).at(pitch.place);
        figure.high = figure.high.min(100.0);
        out.0.figures.push(figure);
    }
    if let Some(warm) = pitch.history.warm.as_deref().filter(|warm| warm.hours > 0.0) {
        let warmest = plain(warm.warmest.as_celsius(), 1);
        let from = format!("{} above 10 °C, {warmest} °C at most, taken as given", pitch.name);
        out.plain("warm", warm.hours, 0.0, "h", &from, pitch.place);
    }
}

fn pitch_figures(season: &Season, batch: &Batch, out: &mut Listed<'_>) {
    let given = |rate: &str| format!("{rate}, taken as given");
    let Some(pitch) = &batch.pitch else {
        match crate::pitch::target(&season.settings, batch) {
            Some((Target::Cells(cells), rate)) => {
                out.plain("target-cells", cells.as_billions(), 0.0, "B", &given(&rate), batch.place);
            }
            Some((Target::Dry(mass), _)) => {
                out.plain("dry-yeast-wanted", mass.as_grams(), 0.0, "g", DRY_DOSE, batch.place);
            }
            None => {}
        }
        if let (Some(rate), Some(first)) = (batch.rate_pitched(), batch.pitches.first()) {
            out.of("pitch-rate", &rate, 1e6, "M/mL/°P", BY_WORT, first.place);
        }
        return;
    };
    if batch.pitches.len() > 1 {
        out.of("live-cells", &pitch.live, 1e9, "B", "all pitches together", pitch.place);
    }
    if let Some((grams, wanted)) = pitch.mass {
        out.plain("dry-yeast", grams, 0.0, "g", "as pitched, taken as exact", pitch.place);
        out.plain("dry-yeast-wanted", wanted, 0.0, "g", DRY_DOSE, pitch.place);
    } else if let Some(target) = pitch.target {
        let error = batch.wort.map_or(0.0, |w| target * (w.volume_error / w.volume));
        out.plain("target-cells", target / 1e9, error / 1e9, "B", &given(&pitch.rate), pitch.place);
    }
    let from = match pitch.mass {
        Some(_) => "what was pitched by mass as a part of what is wanted, taken as exact",
        None => "what was pitched as a part of what is wanted",
    };
    out.of("pitch-ratio", &pitch.ratio, 0.01, "%", from, pitch.place);
    out.of("pitch-rate", &pitch.rate_pitched, 1e6, "M/mL/°P", BY_WORT, pitch.place);
}

fn blend_figures(batch: &Batch, out: &mut LotFigures) {
    let Some(blend) = &batch.blend else { return };
    let place = batch.pitch.as_ref().map_or(batch.place, |pitch| pitch.place);
    if let Some(why) = &blend.unknown {
        out.missing.push(format!("blend-share ({why})"));
    }
    let mut listed = Listed(out);
    if blend.parts.len() > 1 {
        for part in &blend.parts {
            if let Some(share) = &part.share {
                let from = format!("{}, by live cells when it was pitched", part.name);
                listed.of("blend-share", share, 0.01, "%", &from, place);
            }
        }
    }
    if let Some(band) = &blend.attenuation {
        let from = "a blend goes nearly as far as its furthest strain".to_owned();
        let mut figure =
            Figure::plain("expected-attenuation", band.best.as_percent(), 0.0, "%", from).at(place);
        (figure.low, figure.high) = (band.low.as_percent(), band.high.as_percent());
        listed.0.figures.push(figure);
    }
    for flavour in &blend.flavours {
        if let (Some(units), Some(noticeable)) = (&flavour.units, flavour.noticeable) {
            let from =
                format!("{}: {}, of {}", flavour.word, noticeable.words(), flavour.strains.join(" and "));
            listed.of("flavour-units", units, 1.0, "", &from, place);
        }
    }
}

fn oxygen_figures(batch: &Batch, out: &mut Listed<'_>) {
    let Some(found) = &batch.oxygen else { return };
    let by = match found.method {
        _ if found.measured => "",
        Some((Method::Shake | Method::Splash, _)) | None => ", as is found in practice",
        Some((Method::Air | Method::Oxygen, _)) => ", by its approach to saturation",
    };
    let from = format!("{}{by}", found.from);
    out.of("dissolved-oxygen", &found.dissolved, 1.0, "mg/L", &from, found.place);
    let (wanted, why) = &found.wanted;
    out.plain(
        "oxygen-wanted",
        *wanted,
        0.0,
        "mg/L",
        &format!("the low end for {why}, taken as given"),
        found.place,
    );
    if let Some((method, ceiling)) = &found.method {
        let from = format!("the most that {} can reach here", oxygen::method_name(*method));
        out.of("oxygen-ceiling", ceiling, 1.0, "mg/L", &from, found.place);
    }
}

fn temperature_figures(season: &Season, batch: &Batch, out: &mut Listed<'_>) {
    let Some(found) = &batch.temperature else { return };
    let error = season.settings.thermometer_error.as_kelvin();
    if let Some((low, high)) = found.extremes {
        let from = "the lowest and highest reading while it was judged";
        out.plain("coldest", low, error, "°C", from, batch.place);
        out.plain("warmest", high, error, "°C", from, batch.place);
    }
    for (name, [read, low, high]) in [("too-warm", &*found.warm), ("too-cold", &*found.cold)] {
        let total = |e: &Excursion| e.early + e.late;
        if total(high) <= 0.0 {
            continue;
        }
        let from = format!(
            "degree-hours outside {} ({}), readings joined by straight lines, thermometer ± {} K",
            Scale::of(season, found.range_place).range(found.range),
            found.range_from,
            plain(error, 2)
        );
        let mut figure = Figure::plain(name, total(read), 0.0, "K·h", from).at(batch.place);
        (figure.low, figure.high) = (total(low), total(high));
        out.0.figures.push(figure);
    }
}

fn gravity_figures(batch: &Batch, out: &mut Listed<'_>) {
    let Some(last) = batch.last_gravity() else { return };
    let Some(original) = batch.original(last) else { return };
    let read = if last.refractometer { "refractometer, corrected for alcohol" } else { "as read" };
    let how = if batch.pitches.is_empty() {
        format!("{read}; no yeast is on record, so it is not taken for that of the wort")
    } else {
        read.to_owned()
    };
    out.plain("gravity", last.gravity.as_specific(), last.error, "SG", &how, last.place);
    let attenuation = alcohol::apparent_attenuation(original.gravity, last.gravity).as_percent();
    let before = (original.gravity, original.error);
    let present = (last.gravity, GravityDifference::specific(last.error));
    let error = alcohol::attenuation_error(before, present).as_percent();
    let from = format!("fall of the gravity by {}", original.from);
    out.plain("attenuation", attenuation, error, "%", &from, last.place);
    let abv = alcohol::by_volume(original.gravity, last.gravity).as_percent();
    let error = alcohol::by_volume_error(before, present).as_percent();
    out.plain("alcohol", abv, error, "%ABV", "from both gravities by the extract balance", last.place);
}

/// What there is of a lot.
#[derive(Debug, Clone, PartialEq)]
pub struct Stock {
    /// What is left of it, of a starter or a brew which part; `None` where nobody knows.
    pub left: Option<Figure>,
    /// Which part of it lives, where that is known of yeast that stands by itself.
    pub live_share: Option<Estimate>,
    /// Days since it was made or harvested.
    pub age_days: Option<f64>,
    /// When it came to be, or had yeast of its own; `None` for what was there from the start, or where nobody knows.
    pub made: Option<Moment>,
}

/// What there is of a lot after all that was logged of it, and which part of it lives at a moment.
pub(crate) fn stock(season: &Season, lot: LotId, at: Moment) -> Option<Stock> {
    let name = &season.names.lots.get(lot.0 as usize)?.name;
    let state = season.states.get(lot.0 as usize)?;
    let batch = season.batch(lot);
    let (left, unit) = state.supply.listed(state.left);
    let is_known = left.is_finite() && !matches!(state.supply, Supply::Unknown | Supply::Slant);
    let live = state.living(at).filter(|_| batch.is_none() && !matches!(state.supply, Supply::Slant));
    let is_alive = |live: &&LiveShare| live.reckoned_back || live.since.is_none_or(|since| since <= at);
    let was_there = state.live.as_ref().is_some_and(|live| live.reckoned_back);
    Some(Stock {
        left: is_known.then(|| {
            Figure::plain(
                "left",
                left,
                0.0,
                unit,
                "what there was less what was drawn, taken as exact".to_owned(),
            )
        }),
        live_share: live.filter(is_alive).map(|live| live.at(at, name)),
        age_days: live.filter(is_alive).and_then(|live| live.age_days(at)),
        made: match batch {
            Some(batch) => batch.pitched_at(),
            None => state.made.map(|(made, _)| made).filter(|_| !was_there),
        },
    })
}

/// An estimate of what a lot holds, for outputs that want it at a moment of their own.
#[must_use]
pub(crate) fn live_at(season: &Season, lot: LotId, at: Moment) -> Option<Estimate> {
    let name = &season.names.lots.get(lot.0 as usize)?.name;
    season.states.get(lot.0 as usize)?.living(at).map(|live| live.at(at, name))
}
