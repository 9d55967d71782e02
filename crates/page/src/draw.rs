//! What is drawn: the curves of a brew, of a jar, of a season. A picture says in words what it shows.

use std::collections::{BTreeMap, BTreeSet};
use std::io;

use barm_quantity::plain;
use barm_reckoning::{
    Figure, LotId, Moment, NEAR_HOURS, Place, RangeCourse, Season, Settings, StockCourse, Verdict, advice,
    are_near,
};
use barm_rules::Finding;

use crate::family::{Member, is_brew};
use crate::glance::{Brew, Glance};
use crate::plot::{AXIS, Axis, FAINT, LINE, MARK, Mark, OUT, Plot, ends, extremes, thinned};

/// A plot with what it says in words.
#[derive(Debug, Default)]
pub(crate) struct Picture {
    /// The `svg` element; plotters has escaped every text in it.
    pub svg: String,
    /// For who does not see it.
    pub words: String,
    /// What its inks mean, by the style sheet's classes.
    pub keys: Vec<(&'static str, &'static str)>,
}

const LARGE: (u32, u32) = (400, 190);
const WIDE: (u32, u32) = (440, 230);
const SMALL: (u32, u32) = (300, 150);
const ROW: (u32, u32) = (112, 34);
/// Points of a curve in a row, and of one that is read.
const FEW: usize = 60;
const MANY: usize = 240;
/// Dots are drawn where they can be told apart.
const DOTS: usize = 48;

/// A number in the measures of the house.
fn spoken(settings: &Settings, value: f64, unit: &'static str) -> Figure {
    Figure::plain("", value, 0.0, unit, String::new()).spoken(settings)
}

/// Whether a curve stands in a row, or is read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum For {
    Row,
    Reading,
}

impl For {
    const fn most(self) -> usize {
        match self {
            Self::Row => FEW,
            Self::Reading => MANY,
        }
    }

    const fn size(self) -> (u32, u32) {
        match self {
            Self::Row => ROW,
            Self::Reading => LARGE,
        }
    }

    const fn gutter(self) -> u32 {
        match self {
            Self::Row => 0,
            Self::Reading => 52,
        }
    }
}

/// Hours or days along a plot: what its span is read in.
#[derive(Debug, Clone, Copy)]
struct Clock {
    hours: f64,
    unit: &'static str,
}

impl Clock {
    fn over(hours: f64) -> Self {
        if hours < 48.0 { Self { hours: 1.0, unit: "h" } } else { Self { hours: 24.0, unit: "d" } }
    }

    fn at(self, hours: f64) -> f64 {
        hours / self.hours
    }

    fn label(self, time: f64) -> String {
        format!("{} {}", plain(time, 1), self.unit)
    }

    /// `26 hours`, `9.7 days`
    fn words(self, hours: f64) -> String {
        let time = plain(self.at(hours), 1);
        let word = if self.unit == "h" { "hour" } else { "day" };
        format!("{time} {word}{}", if time == "1" { "" } else { "s" })
    }
}

/// The temperatures of a brew, its range shaded, what counts as outside marked; `None` without readings.
pub(crate) fn temperature(glance: &Glance<'_>, brew: &Brew<'_>, how: For) -> io::Result<Option<Picture>> {
    let settings = &glance.season.settings;
    let Some(start) = brew.pitched.or(brew.batch.temperatures.first().map(|(at, ..)| *at)) else {
        return Ok(None);
    };
    let read: Vec<(f64, f64)> = brew
        .batch
        .temperatures
        .iter()
        .map(|(at, celsius, _)| (at.hours_since(start), *celsius))
        .filter(|(hours, _)| *hours >= -NEAR_HOURS)
        .collect();
    let (Some(first), Some(last)) = (read.first(), read.last()) else { return Ok(None) };
    let range = glance.course.ranges.get(&brew.batch.lot);
    let corners = range.map_or_else(Vec::new, |range| hours_of(range, start));
    let judged = range.map(|range| (range.judged.0.hours_since(start), range.judged.1.hours_since(start)));

    let points = thinned(&read, how.most());
    let clock = Clock::over(last.0 - first.0);
    let place = |&(hours, celsius): &(f64, f64)| (clock.at(hours), spoken(settings, celsius, "°C").value);
    let mut marks = Vec::new();
    let band = corners.iter().map(|&(hours, low, high)| {
        (clock.at(hours), spoken(settings, low, "°C").value, spoken(settings, high, "°C").value)
    });
    marks.push(Mark::Band { points: band.collect() });
    let width = if how == For::Row { 3 } else { 4 };
    for piece in joined(&points) {
        marks.push(Mark::Line { ink: LINE, width, points: piece.iter().map(place).collect() });
    }
    // A reading that nothing is joined to would not be seen otherwise.
    let all = points.len() <= DOTS && how == For::Reading;
    let dots = joined(&points).filter(|piece| all || piece.len() == 1).flatten().map(place).collect();
    marks.push(Mark::Dots { ink: LINE, size: if how == For::Reading { 5 } else { 4 }, points: dots });
    let outside = judged.map_or_else(Vec::new, |judged| outside(&points, &corners, judged));
    for piece in &outside {
        let points = piece.iter().map(place).collect();
        marks.push(Mark::Line { ink: OUT, width: width + 3, points });
    }

    let heights = points.iter().map(place).map(|(_, y)| y).chain(marks_of_band(&marks));
    let (low, high) = ends(heights, 0.5);
    let unit = spoken(settings, 0.0, "°C").unit;
    let (from, to) = ends([first.0, last.0].map(|hours| clock.at(hours)), 0.05);
    let svg = Plot {
        size: how.size(),
        x: Axis { from, to, marks: 7, label: &|time| clock.label(time) },
        y: Axis { from: low, to: high, marks: 5, label: &|y| format!("{} {unit}", plain(y, 1)) },
        gutter: how.gutter(),
        marks,
    }
    .svg()?;

    let (coldest, warmest) = extremes(read.iter().map(|(_, celsius)| *celsius)).unwrap_or_default();
    let mut words = format!("Temperature: {}", counted(read.len(), "reading"));
    words.push_str(&if read.len() == 1 {
        format!(", {}", spoken(settings, first.1, "°C").text())
    } else {
        let [coldest, warmest] = [coldest, warmest].map(|celsius| spoken(settings, celsius, "°C").text());
        format!(" from {coldest} to {warmest} over {}", clock.words(last.0 - first.0))
    });
    if let Some(&(_, low, high)) = corners.first() {
        let [low, high] = [low, high].map(|end| spoken(settings, end, "°C"));
        words.push_str(&format!("; its range at pitching {}–{}", low.value_text(), high.text()));
        words.push_str(&match outside.len() {
            0 => "; never outside it while it counts".to_owned(),
            stretches => format!("; {} outside it while it counts", counted(stretches, "stretch")),
        });
    }
    let mut keys = vec![("line", "beer")];
    if !corners.is_empty() {
        keys.push(("band", "its range while it counts"));
    }
    if !outside.is_empty() {
        keys.push(("out", "outside it"));
    }
    Ok(Some(Picture { svg, words, keys }))
}

fn marks_of_band(marks: &[Mark]) -> Vec<f64> {
    let bands = marks.iter().filter_map(|mark| match mark {
        Mark::Band { points } => Some(points),
        _ => None,
    });
    bands.flatten().flat_map(|&(_, low, high)| [low, high]).collect()
}

/// The corners of a range: hours, low, high.
fn hours_of(range: &RangeCourse, start: Moment) -> Vec<(f64, f64, f64)> {
    range.corners.iter().map(|(at, (low, high))| (at.hours_since(start), *low, *high)).collect()
}

/// Stretches of readings that are near enough to be joined.
fn joined(points: &[(f64, f64)]) -> impl Iterator<Item = &[(f64, f64)]> {
    points.chunk_by(|a, b| are_near(a.0, b.0))
}

/// Where a curve lies outside its range while that counts: each stretch with its crossings, in order of time.
fn outside(points: &[(f64, f64)], corners: &[(f64, f64, f64)], judged: (f64, f64)) -> Vec<Vec<(f64, f64)>> {
    let mut out = beyond(points, corners, judged, |value, (_, high)| value - high);
    out.extend(beyond(points, corners, judged, |value, (low, _)| low - value));
    let start = |stretch: &[(f64, f64)]| stretch.first().map_or(0.0, |(hours, _)| *hours);
    out.sort_by(|a, b| start(a).total_cmp(&start(b)));
    out
}

/// Where a curve lies beyond one end of its range; `over` says by how much.
fn beyond(
    points: &[(f64, f64)],
    corners: &[(f64, f64, f64)],
    (from, to): (f64, f64),
    over: impl Fn(f64, (f64, f64)) -> f64,
) -> Vec<Vec<(f64, f64)>> {
    let over = |(hours, value): (f64, f64)| range_at(corners, hours).map_or(0.0, |range| over(value, range));
    let mut out: Vec<Vec<(f64, f64)>> = Vec::new();
    for piece in joined(points) {
        let mut open: Vec<(f64, f64)> = Vec::new();
        for (&a, &b) in piece.iter().zip(piece.iter().skip(1)) {
            let at = |hours: f64| {
                let part = if b.0 > a.0 { (hours - a.0) / (b.0 - a.0) } else { 1.0 };
                (hours, a.1 + (b.1 - a.1) * part)
            };
            let (begin, end) = (a.0.max(from), b.0.min(to));
            let turns = corners.iter().map(|corner| corner.0).filter(|turn| *turn > begin && *turn < end);
            let mut cuts: Vec<f64> = [begin].into_iter().chain(turns).chain([end]).collect();
            cuts.dedup();
            // Between two cuts both the curve and its range are straight.
            for (&left, &right) in cuts.iter().zip(cuts.iter().skip(1)).filter(|(left, right)| left < right) {
                // At a step of the range the side that is looked from counts.
                let hair = (right - left) * 1e-6;
                let (over_left, over_right) = (over(at(left + hair)), over(at(right - hair)));
                let crossing =
                    || at(left + (right - left) * over_left.abs() / (over_left - over_right).abs());
                if over_left > 0.0 && open.is_empty() {
                    open.push(at(left));
                }
                match (over_left > 0.0, over_right > 0.0) {
                    (true, true) => open.push(at(right)),
                    (false, true) => open = vec![crossing(), at(right)],
                    (true, false) => {
                        open.push(crossing());
                        out.push(std::mem::take(&mut open));
                    }
                    (false, false) => out.extend((!open.is_empty()).then(|| std::mem::take(&mut open))),
                }
            }
        }
        out.extend((!open.is_empty()).then_some(open));
    }
    out
}

/// The range at an hour: of two corners at one hour the later holds.
fn range_at(corners: &[(f64, f64, f64)], hours: f64) -> Option<(f64, f64)> {
    let after = corners.partition_point(|corner| corner.0 <= hours);
    let &(from, low, high) = corners.get(after.checked_sub(1)?)?;
    let Some(&(to, next_low, next_high)) = corners.get(after) else { return Some((low, high)) };
    let part = if to > from { (hours - from) / (to - from) } else { 0.0 };
    Some((low + (next_low - low) * part, high + (next_high - high) * part))
}

/// The gravities of a brew from pitching on, where it is expected to end shaded; `None` without readings.
pub(crate) fn gravity(glance: &Glance<'_>, brew: &Brew<'_>, how: For) -> io::Result<Option<Picture>> {
    let settings = &glance.season.settings;
    let Some(start) = brew.pitched else { return Ok(None) };
    let Some(last) = brew.batch.last_gravity() else { return Ok(None) };
    let begin = brew.batch.wort.map(|wort| (0.0, wort.gravity.as_specific()));
    let read = brew.batch.gravities.iter().map(|one| (one.at.hours_since(start), one.gravity.as_specific()));
    let read: Vec<(f64, f64)> = begin.into_iter().chain(read).collect();
    let clock = Clock::over(last.at.hours_since(start));
    let value = |specific: f64| spoken(settings, specific, "SG").value;
    let points: Vec<(f64, f64)> =
        thinned(&read, how.most()).into_iter().map(|(hours, y)| (clock.at(hours), value(y))).collect();
    let (from, to) = ends(points.iter().map(|(time, _)| *time), 0.05);
    let expected = brew.figure("expected-end");
    let mut marks = Vec::new();
    if let Some(end) = expected {
        let (low, high) = (value(end.low), value(end.high));
        marks.push(Mark::Band { points: vec![(from, low, high), (to, low, high)] });
    }
    if points.len() <= DOTS && how == For::Reading {
        marks.push(Mark::Dots { ink: LINE, size: 6, points: points.clone() });
    }
    let least = value(1.001) - value(1.0);
    let (low, high) = ends(points.iter().map(|(_, y)| *y).chain(marks_of_band(&marks)), least);
    marks.push(Mark::Line { ink: LINE, width: if how == For::Row { 3 } else { 4 }, points });
    let unit = spoken(settings, 1.0, "SG").unit;
    let label = |y: f64| if unit == "SG" { format!("{y:.3}") } else { format!("{} {unit}", plain(y, 1)) };
    let svg = Plot {
        size: how.size(),
        x: Axis { from, to, marks: 7, label: &|time| clock.label(time) },
        y: Axis { from: low, to: high, marks: 5, label: &label },
        gutter: how.gutter(),
        marks,
    }
    .svg()?;
    let text = |specific: f64| spoken(settings, specific, "SG").text();
    let mut words = format!("Gravity: {}", counted(brew.batch.gravities.len(), "reading"));
    if let Some((_, begin)) = begin {
        words.push_str(&format!(" from {}", text(begin)));
    }
    words.push_str(&format!(
        " to {} after {}",
        text(last.gravity.as_specific()),
        clock.words(last.at.hours_since(start))
    ));
    if let Some(end) = expected {
        words.push_str(&format!("; expected to end at {}", end.clone().spoken(settings).text()));
    }
    let mut keys = vec![("line", "gravity")];
    if expected.is_some() {
        keys.push(("band", "where it is expected to end"));
    }
    Ok(Some(Picture { svg, words, keys }))
}

/// Steps of twice as much: 0 is the target.
fn doublings(percent: f64) -> f64 {
    (percent / 100.0).log2().clamp(-7.0, 7.0)
}

/// A pitch in a row is drawn from an eighth of its target to eight times as much.
const SWING: f64 = 3.0;

fn percent_label(doublings: f64) -> String {
    barm_quantity::share(doublings.exp2())
}

/// What was pitched beside its target: the range as a bar, the best value a dot, the target an upright.
pub(crate) fn pitch(glance: &Glance<'_>, brew: &Brew<'_>) -> io::Result<Option<Picture>> {
    let Some(ratio) = brew.figure("pitch-ratio") else { return Ok(None) };
    let [low, best, high] =
        [ratio.low, ratio.value, ratio.high].map(|percent| doublings(percent).clamp(-SWING, SWING));
    let (from, to) = (-SWING - 0.3, SWING + 0.3);
    // The rules that judge the pitch show their ratio.
    let judged = |finding: &&Finding| finding.figures.iter().any(|figure| figure.name == "pitch-ratio");
    let ink = if brew.findings.iter().any(judged) { OUT } else { LINE };
    let marks = vec![
        Mark::Line { ink: AXIS, width: 3, points: vec![(0.0, 0.0), (0.0, 1.0)] },
        Mark::Line { ink, width: 6, points: vec![(low, 0.5), (high, 0.5)] },
        Mark::Dots { ink, size: 10, points: vec![(best, 0.5)] },
    ];
    let none = |_: f64| String::new();
    let svg = Plot {
        size: (ROW.0, 18),
        x: Axis { from, to, marks: 0, label: &none },
        y: Axis { from: 0.0, to: 1.0, marks: 0, label: &none },
        gutter: 0,
        marks,
    }
    .svg()?;
    let pitched = ratio.clone().spoken(&glance.season.settings).text();
    let words = format!("Pitched: {}", advice::part_of(&pitched, "the target"));
    Ok(Some(Picture { svg, words, ..Picture::default() }))
}

/// The live share of a jar over time with its band; draws are squares.
pub(crate) fn stock(glance: &Glance<'_>, stock: &StockCourse) -> io::Result<Option<Picture>> {
    let all = || stock.stretches.iter().flatten();
    let (Some((first, begin)), Some((last, end))) = (all().next(), all().last()) else { return Ok(None) };
    let days = |at: Moment| at.hours_since(*first) / 24.0;
    let mut marks = Vec::new();
    for stretch in &stock.stretches {
        let band = stretch
            .iter()
            .map(|(at, share)| (days(*at), 100.0 * share.low(), (100.0 * share.high()).min(100.0)));
        marks.push(Mark::Band { points: band.collect() });
    }
    for stretch in &stock.stretches {
        let line = stretch.iter().map(|(at, share)| (days(*at), 100.0 * share.median()));
        marks.push(Mark::Line { ink: LINE, width: 4, points: line.collect() });
    }
    let drawn = stock.draws.iter().map(|draw| (days(draw.at), 100.0 * draw.live_share.median()));
    marks.push(Mark::Squares { ink: MARK, size: 8, points: drawn.collect() });
    let (from, to) = (0.0, days(*last).max(1.0) * 1.03);
    let svg = Plot {
        size: SMALL,
        x: Axis { from, to, marks: 4, label: &|x| day_label(*first, x) },
        y: Axis { from: 0.0, to: 104.0, marks: 4, label: &|y| format!("{} %", plain(y, 0)) },
        gutter: 44,
        marks,
    }
    .svg()?;
    let share = |share| Figure::of("", share, 0.01, "%", String::new());
    let alive = |estimate| {
        let mut figure: Figure = share(estimate);
        figure.high = figure.high.min(100.0);
        barm_report::with_range(&glance.season.settings, &figure)
    };
    let words = format!(
        "Live share: {} on {}, {} on {}; {}",
        alive(begin),
        first.date(),
        alive(end),
        last.date(),
        counted(stock.draws.len(), "draw"),
    );
    Ok(Some(Picture { svg, words, ..Picture::default() }))
}

/// `03-14`, and the year where it is another than the first.
fn day_label(first: Moment, days: f64) -> String {
    if (days - days.round()).abs() > 1e-6 {
        return String::new();
    }
    let day = first.plus_hours(24.0 * days).date();
    let text = format!("{:02}-{:02}", day.month(), day.day());
    if day.year() == first.date().year() { text } else { format!("{}-{text}", day.year()) }
}

/// Points so near to another that nobody could tell them apart are drawn once.
fn told_apart(points: Vec<(f64, f64)>, (across, up): (f64, f64)) -> Vec<(f64, f64)> {
    let cell = |&(x, y): &(f64, f64)| ((x / across).round().to_bits(), (y / up).round().to_bits());
    let mut seen = BTreeSet::new();
    points.into_iter().filter(|point| seen.insert(cell(point))).collect()
}

/// A picture of all brews of which both are known, and how many those are.
pub(crate) struct Compared {
    pub picture: Option<Picture>,
    pub brews: usize,
}

fn ratios<'g, T>(glance: &'g Glance<'_>, other: impl Fn(&'g Brew<'_>) -> Option<T>) -> Vec<(&'g Figure, T)> {
    glance.brews.iter().filter_map(|brew| Some((brew.figure("pitch-ratio")?, other(brew)?))).collect()
}

fn ratio_axis(ratios: &[&Figure]) -> (f64, f64) {
    let (low, high) = ends(ratios.iter().map(|ratio| doublings(ratio.value)), 0.3);
    (low.min(-1.3), high.max(1.3))
}

/// Ranges are drawn where they do not cover one another.
const RANGES: usize = 40;

fn compared(found: &[(&Figure, f64)], ranges: bool, y: Axis<'_>, words: String) -> io::Result<Compared> {
    if found.is_empty() {
        return Ok(Compared { picture: None, brews: 0 });
    }
    let ratios: Vec<&Figure> = found.iter().map(|(ratio, _)| *ratio).collect();
    let (from, to) = ratio_axis(&ratios);
    let mut marks = vec![Mark::Line { ink: AXIS, width: 3, points: vec![(0.0, y.from), (0.0, y.to)] }];
    if ranges && found.len() <= RANGES {
        for (ratio, y) in found {
            let ends = [ratio.low, ratio.high].map(|end| (doublings(end).clamp(from, to), *y));
            marks.push(Mark::Line { ink: FAINT, width: 3, points: ends.to_vec() });
        }
    }
    let dots = found.iter().map(|(ratio, y)| (doublings(ratio.value), *y)).collect();
    let cell = ((to - from) / 120.0, (y.to - y.from) / 80.0);
    marks.push(Mark::Dots { ink: LINE, size: 8, points: told_apart(dots, cell) });
    let svg =
        Plot { size: WIDE, x: Axis { from, to, marks: 6, label: &percent_label }, y, gutter: 48, marks }
            .svg()?;
    Ok(Compared { picture: Some(Picture { svg, words, ..Picture::default() }), brews: found.len() })
}

/// What was pitched of the target, beside the verdict on the beer.
pub(crate) fn by_verdict(glance: &Glance<'_>) -> io::Result<Compared> {
    let found = ratios(glance, |brew| brew.taste.verdict);
    // One above the other where they share a verdict, so that none hides another.
    let mut so_far = [0_u32; 3];
    let placed: Vec<(&Figure, f64)> = found
        .iter()
        .map(|(ratio, verdict)| {
            let row = height(*verdict);
            let step = so_far.get_mut(*verdict as usize).map_or(0, |count| {
                *count += 1;
                *count - 1
            });
            let swing = f64::from(step.div_ceil(2) % 5) * 0.08;
            (*ratio, row + if step % 2 == 0 { swing } else { -swing })
        })
        .collect();
    let of = |verdict: Verdict| found.iter().filter(|(_, own)| *own == verdict).count();
    let each: Vec<String> = Verdict::ALL.iter().map(|v| format!("{} {}", of(*v), v.word())).collect();
    let words = format!("Pitch against verdict, {}: {}", counted(found.len(), "brew"), each.join(", "));
    let label = |y: f64| {
        let verdict = Verdict::ALL.into_iter().find(|verdict| (height(*verdict) - y).abs() < 1e-6);
        verdict.map_or_else(String::new, |verdict| verdict.word().to_owned())
    };
    compared(&placed, true, Axis { from: -0.6, to: 2.6, marks: 4, label: &label }, words)
}

const fn height(verdict: Verdict) -> f64 {
    match verdict {
        Verdict::Good => 2.0,
        Verdict::Fair => 1.0,
        Verdict::Poor => 0.0,
    }
}

/// What was pitched of the target, beside how far the beer went.
pub(crate) fn by_attenuation(glance: &Glance<'_>) -> io::Result<Compared> {
    let found = ratios(glance, |brew| Some(brew.figure("attenuation")?.value));
    let percents = || found.iter().map(|(_, percent)| *percent);
    let (least, most) = extremes(percents()).unwrap_or_default();
    let words = format!(
        "Pitch against apparent attenuation, {}: {} to {} %",
        counted(found.len(), "brew"),
        plain(least, 0),
        plain(most, 0)
    );
    let (low, high) = ends(percents(), 2.0);
    let label = |y: f64| format!("{} %", plain(y, 0));
    compared(&found, true, Axis { from: low, to: high, marks: 5, label: &label }, words)
}

/// One family: generations over time, each lot a dot, joined to what it came from; a square where it went wrong.
pub(crate) fn family(season: &Season, members: &[Member]) -> io::Result<Option<Picture>> {
    let at = |member: &Member| Some((member.begun?, f64::from(member.generation?)));
    let Some(first) = members.iter().filter_map(|member| member.begun).min() else { return Ok(None) };
    let place = |member: &Member| at(member).map(|(at, up)| (at.hours_since(first) / 24.0, up));
    let points: Vec<(f64, f64)> = members.iter().filter_map(place).collect();
    if points.len() < 3 {
        return Ok(None);
    }
    let mut marks = Vec::new();
    let placed: BTreeMap<LotId, (f64, f64)> =
        members.iter().filter_map(|member| Some((member.lot, place(member)?))).collect();
    for member in members {
        let parents = member.from.iter().filter_map(|parent| placed.get(parent));
        marks.extend(
            parents
                .zip(std::iter::repeat(placed.get(&member.lot)))
                .filter_map(|(from, to)| Some(Mark::Line { ink: AXIS, width: 3, points: vec![*from, *to?] })),
        );
    }
    let of = |wrong: bool, brew: bool| -> Vec<(f64, f64)> {
        let those = members.iter().filter(|m| m.wrong.is_empty() != wrong && is_brew(season, m.lot) == brew);
        those.filter_map(place).collect()
    };
    marks.push(Mark::Dots { ink: LINE, size: 6, points: of(false, false) });
    marks.push(Mark::Dots { ink: LINE, size: 11, points: of(false, true) });
    marks.push(Mark::Squares { ink: OUT, size: 7, points: of(true, false) });
    marks.push(Mark::Squares { ink: OUT, size: 11, points: of(true, true) });
    let (from, to) = ends(points.iter().map(|(x, _)| *x), 1.0);
    let (_, top) = extremes(points.iter().map(|(_, y)| *y)).unwrap_or_default();
    let label = |y: f64| if (y - y.round()).abs() < 1e-6 { plain(y, 0) } else { String::new() };
    // So many that whole generations are marked and no halves.
    let whole: usize = if top < 1.5 {
        2
    } else if top < 2.5 {
        3
    } else {
        5
    };
    let svg = Plot {
        size: WIDE,
        x: Axis { from, to, marks: 5, label: &|x| day_label(first, x) },
        y: Axis { from: -0.4, to: top.max(1.0) + 0.4, marks: whole, label: &label },
        gutter: 28,
        marks,
    }
    .svg()?;
    let wrong = members.iter().filter(|member| !member.wrong.is_empty()).count();
    let words = format!(
        "Generations over time: {}, up to generation {}; something went wrong in {wrong}",
        counted(members.len(), "lot"),
        plain(top, 0)
    );
    Ok(Some(Picture { svg, words, ..Picture::default() }))
}

/// `1 reading`, `2 readings`
pub(crate) fn counted(count: usize, what: &str) -> String {
    let plural = if what.ends_with("ch") { "es" } else { "s" };
    format!("{count} {what}{}", if count == 1 { "" } else { plural })
}

/// Where a place begins, as people say it: `ales/spring.barm:12`.
pub(crate) fn line_of(glance: &Glance<'_>, place: Place) -> String {
    format!("{}:{}", glance.files.path(place.file), glance.files.start(place).line)
}

#[cfg(test)]
mod tests {
    use super::*;

    const STEADY: [(f64, f64, f64); 2] = [(0.0, 17.0, 20.0), (72.0, 17.0, 20.0)];

    #[test]
    fn a_curve_is_marked_from_crossing_to_crossing() {
        let points = [(0.0, 18.0), (10.0, 22.0), (20.0, 18.0), (30.0, 16.0)];
        let found = outside(&points, &STEADY, (0.0, 72.0));
        assert_eq!(found.len(), 2, "{found:?}");
        let near = |(x, y): (f64, f64), (a, b): (f64, f64)| (x - a).abs() < 1e-3 && (y - b).abs() < 1e-3;
        assert!(near(found[0][0], (5.0, 20.0)), "{found:?}");
        assert!(near(found[0][1], (10.0, 22.0)) && near(found[0][2], (15.0, 20.0)), "{found:?}");
        assert!(near(found[1][0], (25.0, 17.0)) && near(found[1][1], (30.0, 16.0)), "{found:?}");
    }

    #[test]
    fn nothing_is_marked_where_nothing_is_judged_or_joined() {
        assert!(outside(&[(0.0, 30.0), (10.0, 30.0)], &STEADY, (20.0, 72.0)).is_empty());
        assert!(outside(&[(0.0, 30.0), (40.0, 30.0)], &STEADY, (0.0, 72.0)).is_empty(), "40 h apart");
        assert!(outside(&[(0.0, 30.0)], &STEADY, (0.0, 72.0)).is_empty());
        assert!(outside(&[(0.0, 30.0), (10.0, 30.0)], &[], (0.0, 72.0)).is_empty(), "no range");
    }

    #[test]
    fn a_range_that_steps_marks_only_its_side() {
        // From 10 h on 21 to 23 °C is wanted.
        let corners = [(0.0, 17.0, 20.0), (10.0, 17.0, 20.0), (10.0, 21.0, 23.0), (72.0, 21.0, 23.0)];
        let found = outside(&[(0.0, 22.0), (20.0, 22.0)], &corners, (0.0, 72.0));
        assert_eq!(found, [vec![(0.0, 22.0), (10.0, 22.0)]]);
    }

    #[test]
    fn a_label_stands_at_whole_days_only() {
        let first = Moment::new(jiff::civil::date(2026, 12, 30), 0);
        assert_eq!(
            [0.0, 0.5, 1.0, 2.0].map(|days| day_label(first, days)),
            ["12-30", "", "12-31", "2027-01-01"]
        );
    }

    #[test]
    fn a_pitch_is_read_in_doublings() {
        for (percent, at) in [(100.0, 0.0), (200.0, 1.0), (50.0, -1.0), (0.0, -7.0), (1e9, 7.0)] {
            assert_eq!(doublings(percent), at);
        }
        assert_eq!([-2.0, 0.0, 1.0].map(percent_label), ["25 %", "100 %", "200 %"]);
    }
}
