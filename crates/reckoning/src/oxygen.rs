//! Dissolved oxygen when the yeast went in: doses in sequence, or as measured.

use std::sync::Arc;

use barm_quantity::{
    Concentration, Estimate, FactorName, Flow, Measure, NINETY, Span, Temperature, Volume, plain, significant,
};
use barm_syntax::ast::{Aerate, Aeration, Asked, Kind, Measured, Organism};
use barm_zymology::fermentation;
use barm_zymology::oxygen::{self, Method};

use crate::advice::{self, round_down};
use crate::answer::{self, Answer};
use crate::batch::{AskedDose, Batch, Dose, OxygenFigures};
use crate::context::Context;
use crate::names::LotId;
use crate::parting::{DEEPEST, Part};
use crate::wort::{self, Earlier, Later};
use crate::{Fact, Fault, Moment, Place, Settings, timeline};

/// No shorter dose is advised: opening and closing the valve takes as long (judgement).
const SHORTEST: Span = Span::seconds(10.0);
/// So often is a little added to a time that is reckoned by the best values alone.
const MORE: u8 = 8;
/// So long a dose at the least is named in its stead.
const EASY: Span = Span::seconds(30.0);

const fn method_of(word: Aeration) -> Method {
    match word {
        Aeration::Shake => Method::Shake,
        Aeration::Splash => Method::Splash,
        Aeration::Air => Method::Air,
        Aeration::Oxygen => Method::Oxygen,
    }
}

/// What a method is called in a sentence.
#[must_use]
pub const fn method_name(method: Method) -> &'static str {
    match method {
        Method::Shake => "shaking",
        Method::Splash => "splashing",
        Method::Air => "an air pump",
        Method::Oxygen => "pure oxygen",
    }
}

/// Oxygen wanted at the least: a strain's `needs`, else by kind and strength.
fn wanted(batch: &Batch, strength: barm_quantity::Plato) -> (f64, String) {
    if let Some(needs) = batch.traits.needs {
        return (needs, "the strain's `needs`".to_owned());
    }
    let lager = batch.traits.organism == Some(Organism::Lager);
    let low = oxygen::wanted(lager, strength).as_milligrams_per_litre();
    let why = match (strength > oxygen::STRONG, lager) {
        (true, _) => "a wort above 16 °P",
        (false, true) => "a lager",
        (false, false) => "an ale",
    };
    (low, why.to_owned())
}

/// What oxygen meets in a batch at a line, and whether its temperature was read; 20 °C is taken otherwise.
#[must_use]
pub fn conditions(
    settings: &Settings,
    batch: &Batch,
    (at, line): (Moment, Place),
) -> Option<(oxygen::Wort, bool)> {
    let wort = batch.wort.as_ref()?;
    let (temperature, known) = temperature_near(batch, at);
    let (strength, volume) = match Earlier::at(&batch.earlier, (at, line)) {
        Some(earlier) => (earlier.strength, earlier.volume),
        None => {
            let now = Later::at(&batch.later, (at, line)).map_or(wort, |later| &later.wort);
            (now.strength, batch.volume_at(at)? + (now.volume - wort.volume))
        }
    };
    Some((oxygen::Wort { temperature, strength, volume, elevation_metres: settings.elevation_metres }, known))
}

/// Reckons the oxygen of a batch and answers `aerate … ?`. `had`: of a part, what its whole held when it was parted.
pub(crate) fn reckon(
    context: &Context<'_>,
    batch: &mut Batch,
    had: Option<OxygenFigures>,
    (answers, faults): (&mut Vec<Answer>, &mut Vec<Fault>),
) {
    let Some(wort) = batch.wort else { return unanswered(context, batch, answers) };
    let pitched = batch.pitched_at();
    let until = pitched.map(|p| p.plus_hours(oxygen::TAKEN_UP.as_hours()));
    let wanted = wanted(batch, wort.strength);
    let mut before = had.as_ref().map_or(Estimate::exact(0.0), |had| had.dissolved.clone());
    let mut doses: Vec<Dose> = Vec::new();
    let mut said: Vec<String> = had.iter().map(|had| format!("{}, before it was parted", had.from)).collect();
    let mut found = had.map(|had| OxygenFigures {
        in_whole: had.in_whole.or(Some(had.place)),
        place: wort.place,
        wanted: wanted.clone(),
        ..had
    });
    let mut is_diluted = false;
    for (at, shelved, statement) in context.events(batch.lot) {
        let late = until.is_some_and(|until| at > until);
        let place = shelved.place(statement.span);
        let line = place;
        // A boil drives out what was in it: the wort is aerated anew after it, or not at all.
        if matches!(&statement.kind, Kind::Boil(_)) {
            before = Estimate::exact(0.0);
            (doses, said, found) = (Vec::new(), Vec::new(), None);
            is_diluted = false;
        }
        if let Kind::Add(add) = &statement.kind
            && before.median() > 0.0
            && let Some((now, _)) = conditions(context.settings, batch, (at, line))
            && let Some(more) = wort::poured(add, now.volume)
        {
            before = diluted(&before, &now, Volume::litres(more.base()), &batch.name);
            is_diluted = true;
        }
        let aerates = matches!(&statement.kind, Kind::Aerate(_));
        let reads = matches!(&statement.kind, Kind::Reading(r) if r.what == Measured::Oxygen && !late);
        if !(aerates || reads) {
            continue;
        }
        let Some((conditions, temperature_known)) = conditions(context.settings, batch, (at, line)) else {
            continue;
        };
        let figures = |dissolved: &Estimate, method, measured| OxygenFigures {
            place,
            in_whole: None,
            at,
            dissolved: dissolved.clone(),
            measured,
            method,
            wort: conditions,
            temperature_known,
            wanted: wanted.clone(),
            from: String::new(),
        };
        match &statement.kind {
            Kind::Aerate(aerate) => {
                let method = method_of(aerate.method);
                let ceiling = oxygen::saturation(method, &conditions);
                let flow = aerate.flow.map(|q| Flow::litres_per_minute(q.measure.base()));
                // By now the yeast has taken up what there was before.
                let idle = doses.last().is_none_or(|d| at.hours_since(d.at) > oxygen::TAKEN_UP.as_hours());
                if late && idle {
                    before = Estimate::exact(0.0);
                }
                let mut asked = None;
                let duration = match aerate.duration {
                    Some(Asked::Known(q)) => Some(Span::hours(q.measure.base())),
                    Some(Asked::Asked(span)) => {
                        let place = shelved.place(span);
                        let (time, answer) = answer(batch, &before, method, flow, &conditions, place);
                        let blows = matches!(method, Method::Air | Method::Oxygen)
                            && time.is_some_and(|time| time > Span::default());
                        answers.push(if blows && flow.is_none() {
                            without_flow(answer, line)
                        } else {
                            answer
                        });
                        let aim = aim(batch, &conditions);
                        asked = Some(AskedDose { place, aim, out_of_reach: time.is_none() });
                        time
                    }
                    None => None,
                };
                let runs = asked.is_none_or(|a| !a.out_of_reach);
                if runs {
                    before = oxygen::after(&before, method, duration, flow, &conditions, &batch.name);
                }
                doses.push(Dose {
                    place,
                    at,
                    hours: pitched.map(|p| at.hours_since(p)),
                    hours_either_way: timeline::hours_either_way(shelved, statement),
                    method,
                    after: before.clone(),
                    ceiling: ceiling.clone(),
                    wort: conditions,
                    asked,
                });
                let is_none = asked.is_some() && duration.is_some_and(|time| time <= Span::default());
                if runs && !late && !is_none {
                    if std::mem::take(&mut is_diluted) && said.len() < MOST_TOLD {
                        said.push("poured up with what is taken as half full of oxygen itself".to_owned());
                    }
                    match said.len() {
                        told if told < MOST_TOLD => said.push(dose_text(aerate, duration)),
                        MOST_TOLD => said.push("more".to_owned()),
                        _ => {}
                    }
                    found = Some(figures(&before, Some((method, ceiling)), false));
                }
            }
            Kind::Reading(reading) if reading.what == Measured::Oxygen && !late => {
                let measure = reading.measure();
                if let Some(fault) =
                    beyond_all(&measure, &conditions, || shelved.place(reading.value(statement.span).span))
                {
                    faults.push(fault);
                    continue;
                }
                let base = measure.base();
                let spread = if base > 0.0 {
                    (measure.error_base() / base).max(oxygen::METER.as_fraction()) / NINETY
                } else {
                    0.0
                };
                before = Estimate::exact(base)
                    .with_factor(FactorName::new("oxygen meter", Arc::clone(&batch.name)), spread);
                said = vec!["measured".to_owned()];
                is_diluted = false;
                found = Some(figures(&before, found.and_then(|f| f.method), true));
            }
            _ => {}
        }
    }
    if let Some(found) = &mut found {
        found.from = said.join(", then ");
        if found.in_whole.is_none() && !found.measured {
            let scale = context.scale(wort.place);
            let wort = found.wort;
            found.from.push_str(&format!(
                " in {} of {:.1} °P at {}{}",
                scale.volume(wort.volume),
                wort.strength.as_degrees(),
                scale.temperature(wort.temperature.as_celsius()),
                if found.temperature_known { "" } else { " (taken: no `temp` near it)" }
            ));
        }
    }
    batch.oxygen = found.map(Box::new);
    doses.shrink_to_fit();
    batch.doses = doses;
}

/// More than so many times what wort holds under pure oxygen nobody has read (judgement: a pressure in the line holds a little
/// more).
const BEYOND: f64 = 1.25;

/// A reading of more oxygen than wort can hold: a point that slipped, or the per cent of a meter.
fn beyond_all(read: &Measure, wort: &oxygen::Wort, place: impl Fn() -> Place) -> Option<Fault> {
    let most = oxygen::saturation(Method::Oxygen, wort).high();
    if read.low_base() <= most * BEYOND {
        return None;
    }
    let why = format!(
        "wort holds no more than {} mg/L here under pure oxygen, and a meter may show per cent of what air gives",
        significant(most, 2)
    );
    let tenth =
        Measure { low: read.low / 10.0, high: read.high / 10.0, plus_minus: read.plus_minus / 10.0, ..*read };
    Some(if tenth.high_base() <= most {
        Fault::UnlikelyUnit { place: place(), written: *read, likely: tenth, why, impossible: false }
    } else {
        Fault::Impossible { place: place(), why: format!("{read}: {why}") }
    })
}

/// What is left of the oxygen in a wort that more was poured into. How much came along with that nobody knows: between next to
/// nothing, as in what was boiled, and as much as air gives (judgement).
fn diluted(before: &Estimate, now: &oxygen::Wort, more: Volume, name: &Arc<str>) -> Estimate {
    let share = (more / now.volume).clamp(0.0, 1.0);
    let full = oxygen::saturation(Method::Air, now).median();
    let own = FactorName::new("oxygen in what was poured in", Arc::clone(name));
    before.scaled(1.0 - share) + Estimate::band(full * 0.1, full * 0.5, full, own).scaled(share)
}

/// Without a wort nobody can say how long it takes.
fn unanswered(context: &Context<'_>, batch: &Batch, answers: &mut Vec<Answer>) {
    for (_, shelved, statement) in context.events(batch.lot) {
        if let Kind::Aerate(aerate) = &statement.kind
            && let Some(Asked::Asked(span)) = aerate.duration
        {
            let why = answer::no_wort(context, batch.lot, "to aerate: add `wort 21 L at 1.048`");
            answers.push(Answer::open(shelved.place(span), batch.lot, why));
        }
    }
}

/// The same, where nobody wrote how much gas flows.
fn without_flow(mut answer: Answer, line: Place) -> Answer {
    answer.notes.insert(0, "no flow is written: a litre a minute is taken".to_owned());
    answer.lacks.push(Fact::Behind(line, "at"));
    answer
}

/// The same of the parts of worts, each after its whole: a part has the oxygen that its whole had when it was parted.
pub(crate) fn of_parts(
    context: &Context<'_>,
    batches: &mut [Batch],
    batch_of: &[Option<usize>],
    (answers, faults): (&mut Vec<Answer>, &mut Vec<Fault>),
) {
    let wholes = |lot: LotId| {
        std::iter::successors(Some(lot), |lot| Some(context.parts.get(lot)?.whole))
            .take(usize::from(DEEPEST) + 1)
    };
    let mut parts: Vec<(LotId, &Part)> = context.parts.iter().map(|(lot, part)| (*lot, part)).collect();
    parts.sort_by_cached_key(|(lot, _)| wholes(*lot).count());
    let index_of = |lot: LotId| *batch_of.get(lot.0 as usize)?;
    for (lot, part) in parts {
        let whole = index_of(part.whole).and_then(|whole| batches.get(whole));
        let had = whole.and_then(|whole| held(whole, part.at));
        if let Some(batch) = index_of(lot).and_then(|part| batches.get_mut(part)) {
            reckon(context, batch, had, (answers, faults));
        }
    }
}

/// Of a wort that is aerated more often than anybody does the doses before are not looked at.
const MOST_DOSES: usize = 64;

/// No more doses than these are told one by one.
const MOST_TOLD: usize = 16;

/// What a whole held when a part was taken out of it.
fn held(whole: &Batch, at: Moment) -> Option<OxygenFigures> {
    let last = whole.oxygen.as_deref()?;
    if last.at <= at {
        return Some(last.clone());
    }
    let doses = whole.doses.get(..whole.doses.partition_point(|dose| dose.at <= at))?;
    let dose = doses
        .iter()
        .rev()
        .take(MOST_DOSES)
        .find(|dose| dose.asked.is_none_or(|asked| !asked.out_of_reach))?;
    Some(OxygenFigures {
        place: dose.place,
        in_whole: None,
        at: dose.at,
        dissolved: dose.after.clone(),
        measured: false,
        method: Some((dose.method, dose.ceiling.clone())),
        wort: dose.wort,
        from: method_name(dose.method).to_owned(),
        ..last.clone()
    })
}

fn dose_text(aerate: &Aerate, duration: Option<Span>) -> String {
    let how = match aerate.method {
        Aeration::Shake => "shaken",
        Aeration::Splash => "splashed",
        Aeration::Air => "air",
        Aeration::Oxygen => "oxygen",
    };
    match duration {
        Some(d) if d.as_minutes() < 3.0 => format!("{how} {:.0} s", d.as_seconds()),
        Some(d) => format!("{how} {} min", plain(d.as_minutes(), 1)),
        None => how.to_owned(),
    }
}

/// The wort's temperature at a dose: the reading nearest to it within a day, else what the brew is held at, else 20 °C.
fn temperature_near(batch: &Batch, at: Moment) -> (Temperature, bool) {
    let after = batch.temperatures.partition_point(|(when, ..)| *when <= at);
    let beside = batch.temperatures.get(after.saturating_sub(1)..(after + 1).min(batch.temperatures.len()));
    let near = beside
        .unwrap_or(&[])
        .iter()
        .map(|(when, t, _)| (at.hours_since(*when).abs(), *t))
        .filter(|(hours, _)| *hours <= 24.0)
        .min_by(|a, b| a.0.total_cmp(&b.0));
    match (near, batch.hold) {
        (Some((_, t)), _) => (Temperature::celsius(t), true),
        (None, Some(((low, high), _))) => (Temperature::celsius(f64::midpoint(low, high)), true),
        (None, None) => (fermentation::UNREAD, false),
    }
}

/// What `aerate … ?` aims at: 8 mg/L, 10 above 16 °P, or what the strain needs.
fn aim(batch: &Batch, wort: &oxygen::Wort) -> f64 {
    batch.traits.needs.unwrap_or_else(|| oxygen::aim(wort.strength).as_milligrams_per_litre())
}

/// How long it takes from boiled wort to reach what is aimed at; `None` where the method cannot.
#[must_use]
pub fn time_for_aim(batch: &Batch, method: Method, wort: &oxygen::Wort) -> Option<(f64, Span)> {
    let aim = aim(batch, wort);
    let flow = Some(Flow::litres_per_minute(1.0));
    oxygen::time_for(Concentration::milligrams_per_litre(aim), &Estimate::exact(0.0), method, flow, wort)
        .map(|time| (aim, time))
}

/// A time as one would take it, so that it is enough; a short one to the second, so that it is not far too much.
fn as_taken(time: Span) -> (Span, String) {
    let step = match time.as_seconds() {
        seconds if seconds < 20.0 => 1.0,
        seconds if seconds <= 180.0 => 5.0,
        _ => 60.0,
    };
    let seconds = (time.as_seconds() / step).ceil() * step;
    let text =
        if seconds <= 180.0 { format!("{seconds:.0} s") } else { format!("{:.0} min", seconds / 60.0) };
    (Span::seconds(seconds), text)
}

/// A flow of gas and a time for it, as one would take them, that do what so many L/min do in a time: of what is too short
/// to time a slower flow takes longer, as the rate goes with the flow.
#[must_use]
pub fn can_be_timed(flow: f64, time: Span) -> (String, String) {
    let short = time > Span::default() && time < SHORTEST;
    let slower = if short { round_down(flow * time.as_seconds() / EASY.as_seconds()) } else { flow };
    let shown = if slower < 0.1 {
        format!("{} mL/min", plain(slower * 1000.0, 3))
    } else {
        format!("{} L/min", plain(slower, 3))
    };
    (shown, as_taken(time * (flow / slower)).1)
}

/// The answer, and for how long the dose is reckoned to run; `None` where the method cannot.
fn answer(
    batch: &Batch,
    before: &Estimate,
    method: Method,
    flow: Option<Flow>,
    wort: &oxygen::Wort,
    place: Place,
) -> (Option<Span>, Answer) {
    let aim = aim(batch, wort);
    let target = Concentration::milligrams_per_litre(aim);
    let time = oxygen::time_for(target, before, method, flow, wort);
    let blows = matches!(method, Method::Air | Method::Oxygen);
    let (time, mut answer) = match time {
        Some(time) if time <= Span::default() => {
            let text = format!("none: it holds {} mg/L already", plain(before.median(), 1));
            (Some(time), Answer::open(place, batch.lot, text))
        }
        Some(time) if blows && as_taken(time).0 < SHORTEST => {
            let (slower, takes) = can_be_timed(flow.map_or(1.0, Flow::as_litres_per_minute), time);
            let text = format!(
                "{} s for {} mg/L is too short to time: take less gas, at {slower} it is {takes}",
                significant(time.as_seconds(), 1),
                plain(aim, 1)
            );
            (Some(time), Answer::open(place, batch.lot, text))
        }
        Some(time) => {
            let (mut taken, mut written) = as_taken(time);
            // The middle of what a dose gives may lie a little under what the best values alone give.
            let gives = |taken| oxygen::after(before, method, Some(taken), flow, wort, &batch.name).median();
            for _ in 0..MORE {
                if gives(taken) >= aim {
                    break;
                }
                (taken, written) = as_taken(taken * 1.02);
            }
            let said = format!("{written} for {} mg/L", plain(aim, 1));
            let mut answer = Answer::written(place, batch.lot, written, said);
            answer.notes.push(
                match oxygen::sure_time_for(target, before, method, flow, wort).map(as_taken) {
                    Some((_, sure)) => answer::sure(&sure),
                    None => "no length of time is sure to reach it".to_owned(),
                },
            );
            (Some(taken), answer)
        }
        None => {
            let ceiling = oxygen::saturation(method, wort);
            let text = format!(
                "{} cannot reach {} mg/L here: {} mg/L is the most",
                method_name(method),
                plain(aim, 1),
                advice::range(&ceiling)
            );
            (None, Answer::open(place, batch.lot, text))
        }
    };
    answer.notes.push("8–10 mg/L is wanted at pitching (common practice), 10 above 16 °P.".to_owned());
    if method == Method::Oxygen {
        answer.notes.push(
            "Pure oxygen feeds fire: no flame, oil or grease, open the valve slowly, and follow the maker's \
             instructions and your local codes."
                .to_owned(),
        );
    }
    (time, answer)
}
