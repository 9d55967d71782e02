//! Degree-hours outside the range of temperature.

use barm_syntax::ast::Kind;
use barm_zymology::fermentation::EARLY;
use barm_zymology::heat::HELD_WITHIN;

use crate::Moment;
use crate::batch::{Batch, Excursion, TemperatureFigures};
use crate::context::Context;
use crate::course::RangeCourse;
use crate::heat::{AT_PITCHING_HOURS, FOLLOWS_HOURS, SCALDS, set_points};
use crate::strain::Strain;
use crate::{Place, half};

/// Between readings further apart than this nothing is assumed, and no line is drawn, h: who reads once a day does so some hours
/// earlier or later (judgement).
pub const NEAR_HOURS: f64 = 30.0;

/// Whether two readings are near enough to be joined, by their hours from any moment: a log is written to the minute, and what
/// is near is so from wherever it is counted.
#[must_use]
pub fn are_near(earlier: f64, later: f64) -> bool {
    ((later - earlier) * 60.0).round() <= NEAR_HOURS * 60.0
}

/// So long a reading stands for itself towards a neighbour further away.
const STANDS_HOURS: f64 = 3.0;
/// The first phase, in which most flavour is made.
const EARLY_HOURS: f64 = EARLY.as_hours();

/// Temperature or range over a stretch of time, both straight lines.
#[derive(Debug, Clone, Copy)]
struct Stretch {
    from: f64,
    to: f64,
    at_from: f64,
    at_to: f64,
}

impl Stretch {
    fn at(&self, hours: f64) -> f64 {
        let length = self.to - self.from;
        if length <= 0.0 {
            self.at_from
        } else {
            self.at_from + (self.at_to - self.at_from) * (hours - self.from) / length
        }
    }
}

/// The range in force from a moment on; a ramp runs to the next.
#[derive(Debug, Clone, Copy)]
struct Wanted {
    from: f64,
    /// Low and high at `from`.
    begin: (f64, f64),
    /// Hours of the ramp; 0 for a step.
    ramp: f64,
    /// Low and high after the ramp.
    end: (f64, f64),
}

impl Wanted {
    fn at(&self, hours: f64) -> (f64, f64) {
        if self.ramp <= 0.0 || hours >= self.from + self.ramp {
            return self.end;
        }
        let part = ((hours - self.from) / self.ramp).clamp(0.0, 1.0);
        let mix = |a: f64, b: f64| a + (b - a) * part;
        (mix(self.begin.0, self.end.0), mix(self.begin.1, self.end.1))
    }
}

/// What is read so soon after each other is read at once, h.
const AT_ONCE_HOURS: f64 = 0.5;

/// The range of a batch over time, and how long it is judged by it.
struct Watch {
    /// The first yeast with a range; hours count from here.
    start: Moment,
    /// When the beer was crashed, racked or packaged, or was read where its yeast takes it, in hours.
    end: f64,
    wanted: Vec<Wanted>,
    range: (f64, f64),
    range_from: String,
    range_place: Option<Place>,
}

/// `strain` is the first yeast's, for its name and place.
fn watch(context: &Context<'_>, batch: &Batch, strain: Option<&Strain>) -> Option<Watch> {
    let start =
        batch.pitches.iter().find(|p| p.traits.range.is_some() || batch.hold.is_some()).map(|p| p.at)?;
    let hours = |at: Moment| at.hours_since(start);
    let from_strain = batch.traits.range;
    let (range, range_from, range_place) = match (batch.hold, from_strain) {
        (Some((range, place)), _) => (range, "the brew's `hold`".to_owned(), Some(place)),
        (None, Some(range)) => {
            let name = strain.map_or_else(String::new, |s| format!(" {}", s.name));
            (range, format!("the `range` of the strain{name}"), strain.and_then(|s| s.place))
        }
        (None, None) => return None,
    };
    let ends = context.course(batch.lot).filter(|(_, _, statement)| {
        matches!(statement.kind, Kind::Crash(_) | Kind::Rack(_) | Kind::Package(_))
    });
    let end = ends.map(|(at, ..)| hours(at)).find(|at| *at >= 0.0).unwrap_or(f64::INFINITY);
    let end = half::done(batch).map_or(end, |done| end.min(hours(done)));
    let mut wanted = vec![Wanted { from: 0.0, begin: range, ramp: 0.0, end: range }];
    // `hold` is what the brewer wants, whatever the controller is set to. A set-point may be that of the air: it narrows
    // nothing, but beyond the range it is meant. Back from there the beer follows in its own time.
    for set in set_points(batch, context.course(batch.lot)).filter(|_| batch.hold.is_none()) {
        let (at, ramp) = (hours(set.at), set.until.hours_since(set.at));
        if at > end {
            break;
        }
        let slack = if set.to.0 < set.to.1 { 0.0 } else { HELD_WITHIN.as_kelvin() };
        let wider = |(low, high): (f64, f64)| (range.0.min(low), range.1.max(high));
        let to = wider((set.to.0 - slack, set.to.1 + slack));
        let now = wanted.last().map_or(range, |wanted| wanted.at(at));
        if at <= 0.0 {
            wanted = vec![Wanted { from: 0.0, begin: to, ramp: 0.0, end: to }];
        } else if now != to {
            let begin = (now.0.min(to.0), now.1.max(to.1));
            let ramp = if begin == to { 0.0 } else { ramp.max(FOLLOWS_HOURS) };
            wanted.push(Wanted { from: at, begin, ramp, end: to });
        }
    }
    let is_set = wanted.iter().any(|wanted| wanted.end != range);
    let range_from = if is_set { format!("{range_from} and what was set beyond it") } else { range_from };
    Some(Watch { start, end, wanted, range, range_from, range_place })
}

/// The range over time, °C: its corners, joined by straight lines, up to the end of the judging; and that end.
pub(crate) fn range_over_time(context: &Context<'_>, batch: &Batch) -> Option<RangeCourse> {
    let Watch { start, end, wanted, .. } = watch(context, batch, None)?;
    let late_end = half::gone(context, batch, start).0.hours_since(start).max(EARLY_HOURS);
    let stop = end.min(late_end);
    let mut corners = Vec::with_capacity(2 * wanted.len());
    for (index, one) in wanted.iter().enumerate() {
        let until = wanted.get(index + 1).map_or(stop, |next| next.from.min(stop));
        if one.from > until {
            break;
        }
        let ramp_end = one.from + one.ramp.max(0.0);
        corners.push((one.from, one.at(one.from)));
        if ramp_end > one.from && ramp_end < until {
            corners.push((ramp_end, one.end));
        }
        corners.push((until, one.at(until)));
    }
    let placed = |(hours, range): (f64, (f64, f64))| (start.plus_hours(hours), range);
    Some(RangeCourse {
        corners: corners.into_iter().map(placed).collect(),
        judged: (start, start.plus_hours(stop)),
    })
}

/// Reckons how a batch stood to its range. `strain` is the first yeast's, for its name and place.
pub(crate) fn reckon(context: &Context<'_>, batch: &mut Batch, strain: Option<&Strain>) {
    let Some(Watch { start, end, wanted, range, range_from, range_place }) = watch(context, batch, strain)
    else {
        return;
    };
    let hours = |at: Moment| at.hours_since(start);
    let half_gone = half::gone(context, batch, start);
    let late_end = hours(half_gone.0).max(EARLY_HOURS);
    // What was read of the whole before is held against that.
    let own = batch.taken.as_ref().map(|taken| taken.at);
    let mut readings: Vec<(f64, f64, Place, Moment)> = batch
        .temperatures
        .iter()
        .filter(|(at, ..)| own.is_none_or(|own| *at >= own))
        .map(|(at, t, place)| (hours(*at), *t, *place, *at))
        // What would kill yeast is of the mash or the kettle, or `hot-pitch` tells of it.
        .filter(|(at, t, ..)| *at >= -NEAR_HOURS && *at <= end && *t < SCALDS)
        .collect();
    // Of what was read before the yeast went in, the last is the wort that it went into.
    let before = readings.partition_point(|(at, ..)| *at < 0.0).saturating_sub(1);
    readings.drain(..before);
    let error = context.settings.thermometer_error.as_kelvin();
    // Beer that was done as it was read cooled on its way there, and nothing was slowed by that.
    let done = half::done(batch).map_or(f64::INFINITY, hours);
    let before_done = readings.iter().map(|(at, ..)| *at).rfind(|at| *at < done - AT_ONCE_HOURS);
    let cold_end = before_done.filter(|_| done.is_finite()).map_or(end, |before| end.min(before));
    let judge = |shift: f64, warm: bool| -> Excursion {
        let end = if warm { end } else { cold_end };
        excursion(&readings, &wanted, shift, warm, error, end, late_end)
    };
    let judged = readings.iter().filter(|(at, ..)| *at >= -AT_PITCHING_HOURS && *at <= late_end);
    let extremes = judged.fold(None, |seen: Option<(f64, f64)>, (_, t, ..)| {
        Some(seen.map_or((*t, *t), |(low, high)| (low.min(*t), high.max(*t))))
    });
    batch.temperature = Some(Box::new(TemperatureFigures {
        warm: [judge(0.0, true), judge(-error, true), judge(error, true)].into(),
        cold: [judge(0.0, false), judge(error, false), judge(-error, false)].into(),
        range: wanted.first().map_or(range, |w| w.end),
        range_from,
        range_place,
        from: start,
        half_gone,
        extremes,
    }));
}

/// Degree-hours beyond one end, with every reading moved by `shift`.
fn excursion(
    readings: &[(f64, f64, Place, Moment)],
    wanted: &[Wanted],
    shift: f64,
    warm: bool,
    error: f64,
    end: f64,
    late_end: f64,
) -> Excursion {
    // Beyond the range, K: positive is too warm (or, seen from the other end, too cold).
    let range_at = |hours: f64| {
        let index = wanted.partition_point(|w| w.from <= hours).saturating_sub(1);
        wanted.get(index).map_or((f64::NEG_INFINITY, f64::INFINITY), |w| w.at(hours))
    };
    let limit_at = |hours: f64| if warm { range_at(hours).1 } else { range_at(hours).0 };
    let beyond = |t: f64, limit: f64| if warm { t - limit } else { limit - t };
    // A reading beyond the range by no more than the thermometer's error is inside it.
    let read = |index: usize| -> Option<(f64, f64)> {
        let (at, t, ..) = *readings.get(index)?;
        let t = t + shift;
        let limit = limit_at(at);
        let over = beyond(t, limit);
        Some((at, if over > 0.0 && over <= error { limit } else { t }))
    };
    // Most beers stay in their range: nothing is beyond it where no reading is beyond its narrowest, or where a range that
    // never moves holds all that the thermometer may be out by.
    let slack = if let [Wanted { ramp, .. }] = wanted
        && *ramp <= 0.0
    {
        error
    } else {
        0.0
    };
    let narrowest =
        wanted.iter().flat_map(|w| [w.begin, w.end]).map(|(low, high)| if warm { high } else { low });
    let narrowest = if warm { narrowest.reduce(f64::min) } else { narrowest.reduce(f64::max) };
    if narrowest.is_none_or(|limit| readings.iter().all(|(_, t, ..)| beyond(t + shift, limit) <= slack)) {
        return Excursion::default();
    }
    let mut stretches: Vec<Stretch> = Vec::with_capacity(readings.len());
    for index in 0..readings.len() {
        let Some((at, t)) = read(index) else { continue };
        let before = index.checked_sub(1).and_then(read).map(|(b, _)| b);
        if before.is_none_or(|b| !are_near(b, at)) {
            stretches.push(Stretch { from: at - STANDS_HOURS, to: at, at_from: t, at_to: t });
        }
        match read(index + 1) {
            Some((next, next_t)) if are_near(at, next) => {
                stretches.push(Stretch { from: at, to: next, at_from: t, at_to: next_t });
            }
            _ => stretches.push(Stretch { from: at, to: at + STANDS_HOURS, at_from: t, at_to: t }),
        }
    }
    let mut out = Excursion::default();
    let stop = end.min(late_end);
    let mut cuts = Vec::new();
    for stretch in &stretches {
        let (from, to) = (stretch.from.max(0.0), stretch.to.min(stop));
        if to <= from {
            continue;
        }
        // Cut where the range changes and where the phase does, so that all is straight in between.
        cuts.clear();
        cuts.extend([from, to]);
        cuts.extend(wanted.iter().flat_map(|w| [w.from, w.from + w.ramp]).filter(|c| *c > from && *c < to));
        if EARLY_HOURS > from && EARLY_HOURS < to {
            cuts.push(EARLY_HOURS);
        }
        cuts.sort_by(f64::total_cmp);
        for pair in cuts.windows(2) {
            let &[a, b] = pair else { continue };
            // Just inside both ends, so that a step of the range counts for its own side.
            let nudge = (b - a) * 1e-9;
            let over_a = beyond(stretch.at(a), limit_at(a + nudge));
            let over_b = beyond(stretch.at(b), limit_at(b - nudge));
            let (area, hours) = positive_part(over_a, over_b, b - a);
            if a < EARLY_HOURS {
                out.early += area;
                out.early_hours += hours;
            } else {
                out.late += area;
                out.late_hours += hours;
            }
        }
    }
    for index in 0..readings.len() {
        let (Some((at, t)), Some((_, written, place, moment))) = (read(index), readings.get(index)) else {
            continue;
        };
        let over = beyond(t, limit_at(at));
        if at >= -AT_PITCHING_HOURS && at <= stop && over > out.furthest {
            out.furthest = over;
            out.worst = Some((*place, *moment, *written));
            out.range = range_at(at);
        }
    }
    out
}

/// The area and the hours of a straight line above zero.
fn positive_part(a: f64, b: f64, hours: f64) -> (f64, f64) {
    match (a > 0.0, b > 0.0) {
        (true, true) => (f64::midpoint(a, b) * hours, hours),
        (false, false) => (0.0, 0.0),
        _ => {
            let above = a.max(b);
            let part = above / (a - b).abs() * hours;
            (above * part / 2.0, part)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use barm_syntax::Span;
    use jiff::civil::date;

    fn reading(hours: f64, t: f64) -> (f64, f64, Place, Moment) {
        let place = Place { file: crate::FileId(0), span: Span::new(0, 1) };
        (hours, t, place, Moment::new(date(2026, 9, 1), 0).plus_hours(hours))
    }
    const TO_TWENTY: Wanted = Wanted { from: 0.0, begin: (17.0, 20.0), ramp: 0.0, end: (17.0, 20.0) };

    #[test]
    fn what_is_near_is_so_from_whatever_minute_it_is_counted() {
        for minute in -1500..1500 {
            let [from, near, more] = [0, 1800, 1801].map(|more| f64::from(minute + more) / 60.0);
            assert!(are_near(from, near) && !are_near(from, more), "{minute}");
        }
    }

    #[test]
    fn degree_hours_between_near_readings_are_a_straight_line() {
        // Range to 20 °C; 22 °C at 08:00 and 20:00, 20.4 °C next 08:00, which is the end of the range within ±0.5 K.
        let readings = [reading(8.0, 22.0), reading(20.0, 22.0), reading(32.0, 20.4)];
        let found = excursion(&readings, &[TO_TWENTY], 0.0, true, 0.5, f64::INFINITY, 72.0);
        // Three hours for which the first reading stands, 12 h at +2, 12 h falling from +2 to 0.
        assert!((found.early - (6.0 + 24.0 + 12.0)).abs() < 1e-6, "{found:?}");
        assert!((found.early_hours - 27.0).abs() < 1e-6, "{found:?}");
        assert!((found.furthest - 2.0).abs() < 1e-9);
    }

    #[test]
    fn far_readings_stand_for_three_hours_and_nothing_is_assumed_between() {
        let readings = [reading(0.0, 23.0), reading(40.0, 23.0)];
        let found = excursion(&readings, &[TO_TWENTY], 0.0, true, 0.5, f64::INFINITY, 72.0);
        assert!((found.early - 3.0 * (3.0 + 3.0 + 3.0)).abs() < 1e-6, "{found:?}");
    }

    #[test]
    fn a_ramp_moves_the_range_with_it() {
        let ramp = Wanted { from: 10.0, begin: (17.0, 20.0), ramp: 10.0, end: (21.0, 23.0) };
        let readings = [reading(20.0, 23.0), reading(30.0, 23.0)];
        let found = excursion(&readings, &[TO_TWENTY, ramp], 0.0, true, 0.5, f64::INFINITY, 72.0);
        assert!(found.early < 2.0, "{found:?}");
    }

    #[test]
    fn what_is_early_and_what_is_late() {
        let readings: Vec<_> = (0..=10).map(|i| reading(f64::from(i) * 12.0, 21.0)).collect();
        let found = excursion(&readings, &[TO_TWENTY], 0.0, true, 0.5, f64::INFINITY, 96.0);
        assert!((found.early - 72.0).abs() < 1e-6 && (found.late - 24.0).abs() < 1e-6, "{found:?}");
        let cold = excursion(&readings, &[TO_TWENTY], 0.0, false, 0.5, f64::INFINITY, 96.0);
        assert!(cold.early < 1e-9 && cold.late < 1e-9);
    }
}
