//! How warm the beer became where nobody read it, how cold its yeast was, and how fast it was cooled.

use barm_quantity::{Dimension, HeatLoss, Share, Span, Temperature, Volume, plain};
use barm_syntax::ast::{Kind, Statement};
use barm_zymology::fermentation::SAME;
use barm_zymology::gravity;
use barm_zymology::heat::{self, Course, Material};

use crate::batch::{Batch, Form, Pitching, Wort};
use crate::context::Context;
use crate::degrees;
use crate::fermentation::{expected_attenuation, fermented_part, usual_course};
use crate::names::LotKind;
use crate::temperature::NEAR_HOURS;
use crate::timeline::Shelved;
use crate::{Figure, Moment, Place, half, vessels};

/// Without a reading for so long after pitching the beer's temperature is reckoned, h.
const UNREAD_HOURS: f64 = 48.0;
/// A reading this much after the pitch is still that of the wort, h.
pub(crate) const AT_PITCHING_HOURS: f64 = 1.0;
/// Wort read so long before its yeast went in is taken to have been no cooler then.
const SCALD_BEFORE_HOURS: f64 = 0.5;
/// One this much before it no longer is, nor does the air of then tell of now, h.
const LONG_BEFORE_HOURS: f64 = 24.0;
/// So long after it was set, or after the end of its ramp, beer is as warm as its set-point, h (judgement).
pub(crate) const FOLLOWS_HOURS: f64 = 24.0;
/// Later than this after the pitch nobody sets the air above the range but to let the beer rise, h.
const MEANT_HOURS: f64 = 24.0;
/// Nobody's beer is reckoned for longer than a month.
const LONGEST_HOURS: f64 = 30.0 * 24.0;
/// How long a window the cooling is looked at in, h.
const COOLING_HOURS: f64 = 6.0;
/// A gravity that fell by more than this still falls.
const FALL: f64 = SAME.as_specific();
/// A fall seen longer ago than this tells nothing of now, h.
const FALL_HOURS: f64 = 72.0;

/// What is known of the heat of a batch.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct HeatFigures {
    /// The warmest that the beer becomes in its first days, where they were not read.
    pub peak: Option<Box<Peak>>,
    /// Yeast whose temperature at pitching is stated, dry yeast excepted.
    pub shocks: Vec<Shock>,
    /// Yeast that was itself so warm at pitching that it dies.
    pub(crate) scalded: Vec<Scald>,
    /// The fastest cooling while its gravity still fell.
    pub cooled: Option<Box<Cooled>>,
    /// What its controller was set to, in order of time.
    pub set: Vec<SetPoint>,
}

/// A temperature that a controller was set to. Whether it feels the beer or the air, no log says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SetPoint {
    /// When.
    pub at: Moment,
    /// When a ramp is at its end; the same for a step.
    pub until: Moment,
    /// From and to, °C; mostly the same.
    pub to: (f64, f64),
    /// The statement.
    pub place: Place,
}

impl SetPoint {
    /// Its middle, °C.
    fn celsius(&self) -> f64 {
        f64::midpoint(self.to.0, self.to.1)
    }
}

/// What the controller of a batch was set to. What would kill yeast is of its mash.
pub(crate) fn set_points<'a, 'b: 'a>(
    batch: &Batch,
    lines: impl Iterator<Item = (Moment, &'a Shelved<'b>, &'b Statement)>,
) -> impl Iterator<Item = SetPoint> {
    lines.filter_map(|(at, shelved, statement)| {
        let Kind::Set(set) = &statement.kind else { return None };
        let place = shelved.place(statement.span);
        let measure = batch.set_as_meant(set.to.measure, degrees::Of::Beer, (at, place));
        let is_of_beer = measure.dimension() == Dimension::Temperature && measure.high_base() < SCALDS;
        is_of_beer.then(|| SetPoint {
            at,
            until: at.plus_hours(set.over.map_or(0.0, |over| over.measure.base().max(0.0))),
            to: (measure.low_base(), measure.high_base()),
            place,
        })
    })
}

/// What the air around the beer is taken to be.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Air {
    /// As read.
    Read,
    /// At the controller's set-point.
    Set,
    /// As warm as the wort at pitching: nothing is recorded, so this is a question of what if.
    AsTheWort,
}

/// The warmest that a beer becomes by its own heat.
#[derive(Debug, Clone, PartialEq)]
pub struct Peak {
    /// °C: nine cases in ten lie at or above the first, and at or below the last.
    pub warmest: [f64; 3],
    /// When.
    pub at: Moment,
    /// The wort's temperature at pitching, °C.
    pub start: f64,
    /// The statement that tells the air; the wort's reading where none does.
    pub place: Place,
    /// The air around it.
    pub air: Air,
    /// The range of its yeast, or the brew's `hold`, °C.
    pub range: (f64, f64),
    /// How it was reckoned.
    pub from: String,
}

/// Yeast and wort at pitching.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shock {
    /// The `at T`.
    pub place: Place,
    /// The yeast, °C.
    pub yeast: f64,
    /// The wort, °C.
    pub wort: f64,
    /// Where that was read.
    pub wort_place: Place,
}

/// A fall of the beer's temperature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cooled {
    /// The reading that shows it.
    pub place: Place,
    /// When it was done.
    pub at: Moment,
    /// Kelvin in six hours.
    pub kelvin: f64,
    /// A reading that shows that the gravity still fell.
    pub falling: Place,
}

/// Heat that a batch loses, W/K: low, best, high, and where that is from.
fn loss(context: &Context<'_>, batch: &Batch, wort: &Wort) -> ([f64; 3], String) {
    let name = vessels::begun_in(context, batch.lot);
    let vessel = name.map(|name| context.vessels.named(name)).unwrap_or_default();
    if let (Some((loses, error)), Some(name)) = (vessel.loses, name) {
        let from = format!("{name} loses {} W/K", plain(loses, 2));
        return ([(loses - error).max(0.0), loses, loses + error], from);
    }
    let holds = vessel.litres.map_or(wort.volume * heat::HEADSPACE, Volume::litres);
    let material = name.map_or(Material::Plastic, material);
    let loss = heat::loss(material, holds, &batch.name);
    let holds = context.scale(wort.place).volume(Volume::litres(holds.as_litres().round()));
    let kind = match material {
        Material::Plastic => "plastic",
        Material::Glass => "glass",
        Material::BrightSteel => "bright steel",
    };
    let from = format!("{kind} of {holds} loses about {} W/K", plain(loss.median(), 1));
    ([loss.low(), loss.median(), loss.high()], from)
}

/// What a fermenter's name says that it is made of; most are plastic.
fn material(name: &str) -> Material {
    const GLASS: &[&str] = &["glass", "carboy", "demijohn", "jug", "flask"];
    const STEEL: &[&str] = &["steel", "stainless", "keg", "conical", "tank", "kettle", "pot"];
    let is = |words: &[&str]| {
        name.split(|c: char| !c.is_alphabetic())
            .any(|part| words.iter().any(|w| part.eq_ignore_ascii_case(w)))
    };
    match (is(GLASS), is(STEEL)) {
        (true, _) => Material::Glass,
        (false, true) => Material::BrightSteel,
        (false, false) => Material::Plastic,
    }
}

/// Whether a vessel's name says that it is of glass.
pub(crate) fn is_glass(name: &str) -> bool {
    matches!(material(name), Material::Glass)
}

/// Reckons the heat of a brew.
pub(crate) fn reckon(context: &Context<'_>, batch: &mut Batch) {
    batch.heat.set = set_points(batch, context.course(batch.lot)).collect();
    batch.heat.scalded = scalded(context, batch);
    let Some(pitched) = batch.pitched_at().filter(|_| batch.kind == LotKind::Brew) else { return };
    let peak = peak(context, batch, pitched).map(Box::new);
    batch.heat.peak = peak;
    batch.heat.shocks = shocks(context, batch);
    batch.heat.cooled = cooled(batch, pitched).map(Box::new);
}

/// Wort or water so warm kills yeast, °C: dry yeast too, which is rehydrated at 35 to 41 °C. Brewing yeast does not grow above 40 to 42 °C, and at 50 °C it dies within minutes (from
/// memory, brewing handbooks).
pub const SCALDS: f64 = 45.0;

/// Yeast that was so warm, or in wort so warm, that it dies.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scald {
    /// The `pitch`.
    pub place: Place,
    /// When the wort was read, or the yeast went in.
    pub at: Moment,
    /// How warm, °C.
    pub celsius: f64,
    /// Where that stands.
    pub read: Place,
    /// It is the wort that was so warm.
    pub of_wort: bool,
}

impl Batch {
    /// The first yeast of it that was itself too warm to live, or went into such wort.
    #[must_use]
    pub fn scald(&self) -> Option<Scald> {
        self.heat.scalded.first().copied().or_else(|| self.wort_that_scalds())
    }

    /// The first yeast of it that wort was read to kill: as it stood within the half hour before, or within two days after.
    /// What was read earlier may be of the mash or the kettle.
    fn wort_that_scalds(&self) -> Option<Scald> {
        let read = &self.temperatures;
        self.pitches.iter().find_map(|pitch| {
            let first = read.partition_point(|(when, ..)| *when <= pitch.at);
            let before = first.checked_sub(1).and_then(|last| read.get(last));
            let before = before.filter(|(when, ..)| pitch.at.hours_since(*when) <= SCALD_BEFORE_HOURS);
            let after =
                read.get(first..)?.iter().take_while(|(when, ..)| when.hours_since(pitch.at) <= UNREAD_HOURS);
            let (at, celsius, read) =
                *before.into_iter().chain(after).find(|(_, celsius, _)| *celsius >= SCALDS)?;
            Some(Scald { place: pitch.place, at, celsius, read, of_wort: true })
        })
    }

    /// Whether all yeast of it was too warm to live, or went into such wort: nothing was pitched after that was read.
    #[must_use]
    pub fn is_killed(&self) -> bool {
        !self.pitches.is_empty() && self.pitches.iter().all(|pitch| self.is_killed_by_heat(pitch))
    }

    /// Whether yeast that was pitched was too warm to live, or went into such wort.
    pub(crate) fn is_killed_by_heat(&self, pitch: &Pitching) -> bool {
        self.heat.scalded.iter().any(|scald| scald.place == pitch.place)
            || self
                .wort_that_scalds()
                .is_some_and(|scald| pitch.at.hours_since(scald.at) <= AT_PITCHING_HOURS)
    }

    /// How warm it was by a moment, °C: as read since its yeast went in, else as it was set or is held, else as its wort was.
    #[must_use]
    pub fn celsius_by(&self, at: Moment) -> Option<f64> {
        self.celsius_with(&self.heat.set, at)
    }

    /// The same with what its controller was set to.
    pub(crate) fn celsius_with(&self, set: &[SetPoint], at: Moment) -> Option<f64> {
        let upto = self.temperatures.partition_point(|(when, ..)| *when <= at);
        let last = upto.checked_sub(1).and_then(|last| self.temperatures.get(last));
        let of_beer =
            |when: Moment| self.pitched_at().is_none_or(|p| when.hours_since(p) > AT_PITCHING_HOURS);
        let set = set.iter().take_while(|set| set.at <= at).last();
        let since = last.filter(|(when, ..)| of_beer(*when) && set.is_none_or(|set| set.at <= *when));
        let held = self.hold.map(|((low, high), _)| f64::midpoint(low, high));
        let read = |(_, celsius, _): &(Moment, f64, Place)| *celsius;
        since.map(read).or(set.map(SetPoint::celsius)).or(held).or(last.map(read))
    }

    /// Its temperatures up to a moment, °C, in order of time: as read, and where nobody read it for a day after a `set`, its
    /// set-point, up to the next thing that is told of its warmth.
    pub(crate) fn taken_temperatures(&self, upto: Moment) -> Vec<(Moment, f64)> {
        let crashed = self.worked().and_then(|found| found.crashed.as_deref()).map(|(at, ..)| *at);
        let mut out: Vec<(Moment, f64)> = Vec::new();
        for (index, set) in self.heat.set.iter().enumerate() {
            let begins = set.until.plus_hours(AT_PITCHING_HOURS);
            let read = self.temperatures.partition_point(|(at, ..)| *at <= begins);
            let read = self.temperatures.get(read).map(|(at, ..)| *at);
            let next = self.heat.set.get(index + 1).map(|next| next.at);
            let ends = [read, next, crashed.filter(|crashed| *crashed > set.at)].into_iter().flatten();
            let end = ends.fold(upto, Moment::min);
            if end.hours_since(set.until) > FOLLOWS_HOURS {
                out.push((end, set.celsius()));
            }
        }
        let read = self.temperatures.iter().map(|(at, celsius, _)| (*at, *celsius));
        out.extend(read.take_while(|(at, _)| *at <= upto));
        // What is told at the end of a set-point comes after it.
        out.sort_by_key(|(at, _)| *at);
        out
    }

    /// How warm its wort was at a pitch, °C, as read.
    pub(crate) fn wort_at(&self, pitch: Moment) -> Option<f64> {
        wort_at(self, pitch).map(|(celsius, _)| celsius)
    }
}

/// The wort's temperature at a pitch, and where it was read. What would kill the yeast is of the mash or the kettle.
fn wort_at(batch: &Batch, at: Moment) -> Option<(f64, Place)> {
    let near = |when: &Moment| (-LONG_BEFORE_HOURS..=AT_PITCHING_HOURS).contains(&when.hours_since(at));
    let away = |when: Moment| at.hours_since(when).abs();
    let reading = batch.temperatures.iter().filter(|(when, celsius, _)| near(when) && *celsius < SCALDS);
    let nearest = reading.min_by(|a, b| away(a.0).total_cmp(&away(b.0)))?;
    Some((nearest.1, nearest.2))
}

fn peak(context: &Context<'_>, batch: &Batch, pitched: Moment) -> Option<Peak> {
    let wort = batch.wort?;
    let range = batch.hold.map(|(range, _)| range).or(batch.traits.range)?;
    let later = |when: Moment| when.hours_since(pitched) > AT_PITCHING_HOURS;
    let unread =
        batch.temperatures.iter().find(|(when, ..)| later(*when)).map(|(when, ..)| when.hours_since(pitched));
    if unread.is_some_and(|hours| hours <= UNREAD_HOURS) {
        return None;
    }
    let start = wort_at(batch, pitched);
    let Around { air, line, place, meant } = around(batch, pitched, start, range.1)?;
    let start_at = start
        .map_or_else(|| heat::on_the_line(&line, Span::hours(0.0)), |(t, _)| Some(Temperature::celsius(t)))?;
    let course = course(context, batch, pitched);
    let expected = expected_attenuation(batch);
    let share = fermented_part(wort.strength, expected);
    let ends = [unread, meant, Some(course.warms_for().as_hours())];
    let hours = ends.into_iter().flatten().fold(LONGEST_HOURS, f64::min);
    let times: Vec<Span> =
        (1..).map(|hour| Span::hours(f64::from(hour))).take_while(|t| t.as_hours() <= hours).collect();
    let (loss, loss_from) = loss(context, batch, &wort);
    let one = heat::released(gravity::extract(wort.strength) * wort.volume);
    let run = |loss: f64, more: f64| -> Option<(f64, f64)> {
        let model = heat::Batch {
            volume: wort.volume,
            strength: wort.strength,
            loss: HeatLoss::watts_per_kelvin(loss),
        };
        // Heat and attenuation stand in one product: less of the one is less of the other.
        let fermented = |time| Share::fraction(course.done(time).as_fraction() * share * more);
        let outside = |time| heat::on_the_line(&line, time).unwrap_or(start_at);
        let beer = model.temperatures(start_at, &times, fermented, outside);
        let warmest = beer.iter().zip(&times).max_by(|a, b| a.0.as_celsius().total_cmp(&b.0.as_celsius()))?;
        Some((warmest.0.as_celsius(), warmest.1.as_hours()))
    };
    let [least_loss, loss, most_loss] = loss;
    let best = one.median().max(1e-9);
    let (low, _) = run(most_loss, one.low() / best)?;
    let (warmest, hour) = run(loss, 1.0)?;
    let (high, _) = run(least_loss, one.high() / best)?;
    let in_air = match air {
        Air::Read => "in air as it was read",
        Air::Set if meant.is_some() => "in air at the set-point, until it was set above the range",
        Air::Set => "in air at the set-point",
        Air::AsTheWort => "in air as warm as the wort at pitching",
    };
    Some(Peak {
        warmest: [low, warmest, high],
        at: pitched.plus_hours(hour),
        start: start_at.as_celsius(),
        place,
        air,
        range,
        from: format!(
            "heat of fermentation, {} of {} °P {in_air}; {loss_from}",
            context.scale(wort.place).volume(wort.volume),
            plain(wort.strength.as_degrees(), 1)
        ),
    })
}

/// The air around a batch.
struct Around {
    air: Air,
    /// In hours after the pitch.
    line: Vec<(Span, Temperature)>,
    /// The statement that it is first known by.
    place: Place,
    /// When it is set above the range, in hours after the pitch: that warmth is meant, and not its own.
    meant: Option<f64>,
}

/// The air around a batch, where anything tells of it. A set-point and a reading tell of it from their own time on: in the
/// first days, or not at all.
fn around(batch: &Batch, pitched: Moment, start: Option<(f64, Place)>, warmest: f64) -> Option<Around> {
    let early = |at: Moment| (-LONG_BEFORE_HOURS..=UNREAD_HOURS).contains(&at.hours_since(pitched));
    if let Some((.., place)) = batch.air.iter().find(|(at, ..)| early(*at)) {
        let read = batch.air.iter().filter(|(at, ..)| at.hours_since(pitched) >= -LONG_BEFORE_HOURS);
        let read = read.map(|(at, celsius, _)| (at.hours_since(pitched), *celsius));
        let line = read.map(|(hours, celsius)| (Span::hours(hours), Temperature::celsius(celsius)));
        return Some(Around { air: Air::Read, line: line.collect(), place: *place, meant: None });
    }
    let held = batch.hold.map(|((low, high), _)| f64::midpoint(low, high));
    // Before it is set it is what is wanted, else as warm as the wort.
    let before = held.or(start.map(|(celsius, _)| celsius));
    let before = before.map(|celsius| (Span::hours(0.0), Temperature::celsius(celsius)));
    let mut line: Vec<(Span, Temperature)> = Vec::new();
    let (mut known, mut meant) = (None, None);
    for set in &batch.heat.set {
        let [at, until] = [set.at, set.until].map(|at| at.hours_since(pitched));
        if at > 0.0 && set.celsius() > warmest && (known.is_some() || at > MEANT_HOURS) {
            meant = Some(at);
            break;
        }
        if at <= 0.0 {
            known = Some(set.place);
        } else {
            known = known.or(early(set.at).then_some(set.place));
            line.extend(before.filter(|_| line.is_empty()));
        }
        // A step keeps what was until then; a ramp starts from it.
        line.extend(line.last().map(|(_, before)| (Span::hours(at), *before)));
        line.push((Span::hours(until), Temperature::celsius(set.celsius())));
    }
    if let Some(place) = known {
        return Some(Around { air: Air::Set, line, place, meant });
    }
    let (_, place) = start.filter(|_| held.is_none())?;
    line.extend(before.filter(|_| line.is_empty()));
    Some(Around { air: Air::AsTheWort, line, place, meant })
}

/// How the fermentation runs.
fn course(context: &Context<'_>, batch: &Batch, pitched: Moment) -> Course {
    let (half, _) = half::gone(context, batch, pitched);
    Course { half: Span::hours(half.hours_since(pitched).max(1.0)), ..usual_course(batch) }
}

/// What yeast was pitched with; a pitch that was boiled away later is none of the batch.
fn scalded(context: &Context<'_>, batch: &Batch) -> Vec<Scald> {
    let mut out = Vec::new();
    for (at, shelved, statement) in context.events(batch.lot) {
        let Kind::Pitch(pitch) = &statement.kind else { continue };
        let Some(yeast) = pitch.at.filter(|yeast| yeast.measure.base() >= SCALDS) else { continue };
        let (place, celsius) = (shelved.place(statement.span), yeast.measure.base());
        if batch.pitches.iter().any(|pitch| pitch.place == place) {
            out.push(Scald { place, at, celsius, read: shelved.place(yeast.span), of_wort: false });
        }
    }
    out
}

fn shocks(context: &Context<'_>, batch: &Batch) -> Vec<Shock> {
    let mut out = Vec::new();
    for (at, shelved, statement) in context.events(batch.lot) {
        let Kind::Pitch(pitch) = &statement.kind else { continue };
        // What would kill it is told as that.
        let Some(yeast) = pitch.at.filter(|yeast| yeast.measure.base() < SCALDS) else { continue };
        let place = shelved.place(statement.span);
        let dry = batch.pitches.iter().any(|p| p.place == place && p.form == Form::Dry);
        if !dry && let Some((wort, wort_place)) = wort_at(batch, at) {
            out.push(Shock {
                place: shelved.place(yeast.span),
                yeast: yeast.measure.base(),
                wort,
                wort_place,
            });
        }
    }
    out
}

/// The fastest cooling of a beer whose gravity still fell.
fn cooled(batch: &Batch, pitched: Moment) -> Option<Cooled> {
    if batch.gravities.is_empty() {
        return None;
    }
    let first = batch.temperatures.partition_point(|(at, ..)| *at < pitched);
    let readings = batch.temperatures.get(first..)?;
    let mut out: Option<Cooled> = None;
    // On straight lines the steepest stretch of six hours begins or ends at a reading.
    for (index, (at, celsius, _)) in readings.iter().enumerate() {
        let (from, to) = (at.plus_hours(-COOLING_HOURS), at.plus_hours(COOLING_HOURS));
        let first_inside = readings.partition_point(|(when, ..)| *when < from);
        let last_inside = readings.partition_point(|(when, ..)| *when <= to).saturating_sub(1);
        // Where the line to the next reading is too long to be straight, the stretch ends at the one inside.
        let warm = first_inside
            .checked_sub(1)
            .and_then(|before| between(readings, before, from))
            .or_else(|| of(readings, first_inside));
        let cold = between(readings, last_inside, to);
        let shows = if cold.is_some() { last_inside + 1 } else { last_inside };
        let cold = cold.or_else(|| of(readings, last_inside));
        let stretches =
            [(*at, cold.map(|cold| celsius - cold), shows), (from, warm.map(|warm| warm - celsius), index)];
        for (begins, fall, shows) in stretches {
            if let (Some(fall), Some((when, _, place))) = (fall, readings.get(shows))
                && fall > out.map_or(0.0, |o| o.kelvin)
                && let Some(falling) = still_falling(batch, begins.max(pitched))
            {
                out = Some(Cooled { place: *place, at: *when, kelvin: fall, falling });
            }
        }
    }
    out
}

/// The temperature of a reading.
fn of(readings: &[(Moment, f64, Place)], index: usize) -> Option<f64> {
    readings.get(index).map(|(_, celsius, _)| *celsius)
}

/// The temperature at a moment on the straight line from a reading to the next, where they are near enough.
fn between(readings: &[(Moment, f64, Place)], index: usize, at: Moment) -> Option<f64> {
    let (before, warm, _) = readings.get(index)?;
    let (next, cold, _) = readings.get(index.checked_add(1)?)?;
    let gap = next.hours_since(*before);
    (gap > 0.0 && gap <= NEAR_HOURS).then(|| warm + (cold - warm) * at.hours_since(*before) / gap)
}

/// A reading that shows that the gravity still fell at a moment: one after it that is lower, or one not long before it
/// that had fallen and had some way to go.
fn still_falling(batch: &Batch, at: Moment) -> Option<Place> {
    let after = batch.gravities.partition_point(|r| r.at <= at);
    let of = |index: usize| batch.gravities.get(index);
    let before = after.checked_sub(1).and_then(of);
    let start = batch.wort.map(|w| w.gravity);
    let value = before.map(|r| r.gravity).or(start)?.as_specific();
    if let Some(next) = of(after)
        && value - next.gravity.as_specific() > FALL
    {
        return Some(next.place);
    }
    let last = before.filter(|r| at.hours_since(r.at) <= FALL_HOURS)?;
    let earlier = after.checked_sub(2).and_then(of).map(|r| r.gravity).or(start)?.as_specific();
    let end = batch.fermentation.as_ref().and_then(|f| f.expected(at))?.gravity.as_specific();
    (earlier - value > FALL && value - end > FALL).then_some(last.place)
}

/// The figures of it that outputs list.
pub(crate) fn figures(batch: &Batch, out: &mut Vec<Figure>) {
    if let Some(peak) = &batch.heat.peak {
        let [low, warmest, high] = peak.warmest;
        let figure = Figure::plain("reckoned-warmest", warmest, 0.0, "°C", peak.from.clone()).at(peak.place);
        out.push(Figure { low, high, ..figure });
    }
}
