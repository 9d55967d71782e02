//! Every figure of a lot, for `barm figures` and for whoever draws.

use std::sync::Arc;

use barm_quantity::{Estimate, plain};
use barm_zymology::alcohol;

use crate::batch::{Batch, Pitching};
use crate::figure::{Figure, LotFigures};
use crate::lot::{State, Supply};
use crate::names::{LotId, LotKind};
use crate::{Moment, Season, oxygen};

/// The figures of one lot at the last day of the workspace.
pub(crate) fn of(season: &Season, lot: LotId) -> Option<LotFigures> {
    let declared = season.lots.get(lot.0 as usize)?;
    let mut out = LotFigures {
        lot: declared.name.to_string(),
        kind: declared.kind.word(),
        place: declared.place,
        title: season.title(lot),
        figures: Vec::new(),
        missing: Vec::new(),
    };
    match season.batch(lot) {
        Some(batch) => batch_figures(season, batch, &mut out),
        None => {
            if let Some(state) = season.states.get(lot.0 as usize) {
                stock_figures(season, &declared.name, state, &mut out);
            }
        }
    }
    Some(out)
}

fn stock_figures(season: &Season, name: &Arc<str>, state: &State, out: &mut LotFigures) {
    let Some(on) = season.last_day else { return };
    let place = state.made.map_or(out.place, |(_, place)| place);
    if let Some(generation) = state.generation {
        let from = "counted from the lab: a pack is 0, each harvest one more".to_owned();
        out.figures.push(Figure::plain("generation", f64::from(generation), 0.0, "", from).at(place));
    }
    if state.left.is_finite() && !matches!(state.supply, Supply::Unknown) {
        let (left, unit) = (state.supply.shown(state.left), state.supply.unit());
        let from = format!("{} {unit} less what was drawn", plain(state.supply.shown(state.declared), 1));
        let error = state.amount_factor.as_ref().map_or(0.0, |f| left * ((f.high() / f.median()) - 1.0));
        out.figures.push(Figure::plain("left", left, error, unit, from).at(out.place));
    } else {
        out.missing.push("what is left (no `pack`, `sachet` or `slurry`)".to_owned());
    }
    let Some(live) = &state.live else { return };
    if live.since.is_some_and(|since| since > on) {
        return;
    }
    match live.age_days(on) {
        Some(age) => {
            let from = format!("days to {}", on.date());
            out.figures.push(Figure::plain("age", age.floor(), live.days_either_way, "d", from).at(place));
        }
        None => out.missing.push("age (no `made` or `harvested`)".to_owned()),
    }
    let share = live.at(on, name);
    let how = if live.measured {
        "counted, and aged since"
    } else {
        match state.supply {
            Supply::Dry { .. } => "dry yeast's loss",
            Supply::Slurry { .. } => "alive at harvest, and the loss of slurry by its temperature",
            _ => "a pack's loss by the month and its temperature",
        }
    };
    out.figures
        .push(Figure::of("live-share", &share, 0.01, "%", format!("{how}, on {}", on.date())).at(place));
    let per_unit = match &state.supply {
        Supply::Packs { each } => Some(each.clone()),
        Supply::Dry { per_gram, .. } => Some(per_gram.clone()),
        Supply::Slurry { density, weighed: false } => Some(density.scaled(1000.0)),
        Supply::Slurry { density, weighed: true } => {
            Some(density.scaled(1.0 / barm_zymology::supply::SLURRY_GRAMS_PER_ML))
        }
        Supply::Vials { litres, density } => density.as_ref().map(|d| d.scaled(litres * 1000.0)),
        Supply::Slant | Supply::Wort | Supply::Unknown => None,
    };
    if let Some(per_unit) = per_unit
        && state.left > 0.0
        && state.left.is_finite()
    {
        let cells = per_unit.scaled(state.left) * share;
        let from = "what is left × cells in it × the live share".to_owned();
        out.figures.push(Figure::of("live-cells", &cells, 1e9, "B", from).at(place));
    }
}

fn batch_figures(season: &Season, batch: &Batch, out: &mut LotFigures) {
    if let Some(wort) = &batch.wort {
        let how = if wort.measured { "as measured at pitching" } else { "as the log states it" };
        let litres = wort.volume.as_litres();
        out.figures.push(
            Figure::plain("wort-volume", litres, wort.volume_error.as_litres(), "L", how.to_owned())
                .at(wort.place),
        );
        let gravity = wort.gravity.as_specific();
        out.figures.push(
            Figure::plain("original-gravity", gravity, wort.gravity_error, "SG", how.to_owned())
                .at(wort.place),
        );
        let strength = wort.strength.as_degrees();
        let from = "from the gravity by the sucrose tables".to_owned();
        out.figures
            .push(Figure::plain("strength", strength, wort.gravity_error * 250.0, "°P", from).at(wort.place));
    }
    for pitch in &batch.pitches {
        pitching_figures(pitch, out);
    }
    match (&batch.pitch, batch.pitches.is_empty()) {
        (Some(pitch), _) => {
            if batch.pitches.len() > 1 {
                out.figures.push(
                    Figure::of("live-cells", &pitch.live, 1e9, "B", "all pitches together".to_owned())
                        .at(pitch.place),
                );
            }
            if let Some((grams, wanted)) = pitch.mass {
                let from = "dry yeast's usual dose, or the dose stated, for this wort".to_owned();
                out.figures.push(
                    Figure::plain("dry-yeast", grams, 0.0, "g", "as pitched".to_owned()).at(pitch.place),
                );
                out.figures.push(Figure::plain("dry-yeast-wanted", wanted, 0.0, "g", from).at(pitch.place));
            } else if let Some(target) = pitch.target {
                let error = batch.wort.map_or(0.0, |w| target * (w.volume_error / w.volume));
                out.figures.push(
                    Figure::plain("target-cells", target / 1e9, error / 1e9, "B", pitch.rate.clone())
                        .at(pitch.place),
                );
            }
            let from = "what was pitched as a part of what is wanted".to_owned();
            out.figures.push(Figure::of("pitch-ratio", &pitch.ratio, 0.01, "%", from).at(pitch.place));
            let from = "live cells by wort volume and strength".to_owned();
            out.figures
                .push(Figure::of("pitch-rate", &pitch.rate_pitched, 1e6, "M/mL/°P", from).at(pitch.place));
        }
        (None, true) => {
            if let Some((target, rate)) = crate::pitch::target_cells(&season.settings, batch) {
                out.figures.push(
                    Figure::plain("target-cells", target.as_billions(), 0.0, "B", rate).at(batch.place),
                );
            }
        }
        (None, false) => {}
    }
    if let Some(found) = &batch.oxygen {
        out.figures.push(
            Figure::of("dissolved-oxygen", &found.dissolved, 1.0, "mg/L", found.from.clone()).at(found.place),
        );
        let (wanted, why) = &found.wanted;
        out.figures.push(
            Figure::plain("oxygen-wanted", *wanted, 0.0, "mg/L", format!("the low end for {why}"))
                .at(found.place),
        );
        if let Some((method, ceiling)) = &found.method {
            let from = format!("the most that {} can reach here", oxygen::method_name(*method));
            out.figures.push(Figure::of("oxygen-ceiling", ceiling, 1.0, "mg/L", from).at(found.place));
        }
    }
    if let Some(found) = &batch.temperature {
        let error = season.settings.thermometer_error.as_kelvin();
        if let Some((low, high)) = found.extremes {
            let from = "the lowest and highest reading while it was judged".to_owned();
            out.figures.push(Figure::plain("coldest", low, error, "°C", from.clone()).at(batch.place));
            out.figures.push(Figure::plain("warmest", high, error, "°C", from).at(batch.place));
        }
        for (name, all) in [("too-warm", &found.warm), ("too-cold", &found.cold)] {
            let [read, low, high] = all;
            let total = |e: &crate::batch::Excursion| e.early + e.late;
            if total(high) > 0.0 {
                let from = format!(
                    "degree-hours outside {}–{} °C ({}), readings joined by straight lines, thermometer ± {} K",
                    plain(found.range.0, 1),
                    plain(found.range.1, 1),
                    found.range_from,
                    plain(error, 2)
                );
                let mut figure = Figure::plain(name, total(read), 0.0, "K·h", from).at(batch.place);
                (figure.low, figure.high) = (total(low), total(high));
                out.figures.push(figure);
            }
        }
    }
    if let (Some(last), Some(wort)) = (batch.last_gravity(), &batch.wort) {
        let how = if last.refractometer { "refractometer, corrected for alcohol" } else { "as read" };
        let gravity = last.gravity.as_specific();
        out.figures.push(Figure::plain("gravity", gravity, last.error, "SG", how.to_owned()).at(last.place));
        let attenuation = alcohol::apparent_attenuation(wort.gravity, last.gravity).as_percent();
        let error = 100.0 * (last.error + wort.gravity_error) / (wort.gravity.as_specific() - 1.0).max(0.005);
        let from = "fall of the gravity by the gravity at pitching".to_owned();
        out.figures.push(Figure::plain("attenuation", attenuation, error, "%", from).at(last.place));
        let abv = alcohol::by_volume(wort.gravity, last.gravity).as_percent();
        let from = "from both gravities by the extract balance, ± 0.2".to_owned();
        out.figures.push(Figure::plain("alcohol", abv, 0.2, "%ABV", from).at(last.place));
    }
    if let Some(generation) = batch.pitches.iter().filter_map(|p| p.generation).max() {
        let from = "of the yeast pitched: a pack is 0, each harvest one more".to_owned();
        out.figures.push(Figure::plain("generation", f64::from(generation), 0.0, "", from).at(batch.place));
    }
    if let (Some(first), Some(last)) = (batch.pitched_at(), batch.last_event) {
        let days = (last.hours_since(first) / 24.0).floor();
        let from = "from the first pitch to the last line".to_owned();
        out.figures.push(Figure::plain("days", days, 0.0, "d", from).at(batch.place));
    }
    out.missing.extend(batch.missing.iter().map(|m| format!("{} ({})", m.figure, m.fact)));
    if batch.kind == LotKind::Brew && batch.oxygen.is_none() && !batch.pitches.is_empty() {
        out.missing.push("oxygen (no `aerate` or `oxygen`)".to_owned());
    }
}

fn pitching_figures(pitch: &Pitching, out: &mut LotFigures) {
    if !pitch.unit.is_empty() && pitch.taken.is_finite() && pitch.taken > 0.0 {
        let from = format!("of {}", pitch.name);
        out.figures.push(Figure::plain("pitched", pitch.taken, 0.0, pitch.unit, from).at(pitch.place));
    }
    if let (Some(live), false) = (&pitch.live, pitch.from.is_empty()) {
        let from = format!("{}: {}", pitch.name, pitch.from);
        out.figures.push(Figure::of("live-cells", live, 1e9, "B", from).at(pitch.place));
    }
    if let Some(share) = &pitch.live_share {
        let from = format!("{} when it was pitched", pitch.name);
        let mut figure = Figure::of("live-share", share, 0.01, "%", from).at(pitch.place);
        figure.high = figure.high.min(100.0);
        out.figures.push(figure);
    }
    if let Some(age) = pitch.age_days {
        let from = format!("{} when it was pitched", pitch.name);
        out.figures.push(Figure::plain("age", age.floor().max(0.0), 0.0, "d", from).at(pitch.place));
    }
}

/// An estimate of what a lot holds, for outputs that want it at a moment of their own.
#[must_use]
pub(crate) fn live_at(season: &Season, lot: LotId, at: Moment) -> Option<Estimate> {
    let name = &season.lots.get(lot.0 as usize)?.name;
    season.states.get(lot.0 as usize)?.live.as_ref().map(|live| live.at(at, name))
}
