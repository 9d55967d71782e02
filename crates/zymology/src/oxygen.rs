//! Dissolved oxygen: what wort can hold, and what a method of aeration brings into it.
//!
//! Air and oxygen through a stone approach saturation at a rate, kLa; shaking, splashing and pouring are
//! results, not rates, because the observations contradict each other. All estimates are in mg/L ("ppm").
//!
//! Pure oxygen feeds fire: keep oil, grease and flame away, open valves slowly, air the room, and follow the
//! maker's instructions and local codes.

use barm_quantity::{
    Concentration, Estimate, FactorName, Flow, Plato, Pressure, Share, Span, Temperature, Volume,
};

use crate::{OutOfRange, gravity, solve};

/// The wort that takes up oxygen.
///
/// # Example
///
/// ```
/// use barm_quantity::{Plato, Temperature, Volume};
/// use barm_zymology::oxygen::{Method, Wort, saturation};
/// let valley = Wort {
///     temperature: Temperature::celsius(18.0),
///     strength: Plato::degrees(12.0),
///     volume: Volume::litres(20.0),
///     elevation_metres: 0.0,
/// };
/// let mountain = Wort { elevation_metres: 2000.0, ..valley };
/// assert!(saturation(Method::Air, &mountain).median() < saturation(Method::Air, &valley).median());
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wort {
    /// Its temperature; outside 0–40 °C the nearer end is taken.
    pub temperature: Temperature,
    /// Its strength; below zero counts as water.
    pub strength: Plato,
    /// How much of it; less than 10 mL counts as that.
    pub volume: Volume,
    /// Metres above the sea, where the air is thinner; outside −800…5500 the nearer end is taken.
    pub elevation_metres: f64,
}

/// How oxygen gets in.
///
/// # Example
///
/// ```
/// use barm_zymology::oxygen::Method;
/// assert_ne!(Method::Air, Method::Oxygen);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Method {
    /// Shaking or rocking the vessel.
    Shake,
    /// Splashing, pouring or spraying.
    Splash,
    /// Air from a pump through a stone.
    Air,
    /// Pure oxygen through a stone.
    Oxygen,
}

/// What a method is known to do.
enum Course {
    /// Ends at this many mg/L (low, best, high) within a minute, and never above saturation.
    Result(f64, f64, f64),
    /// Approaches saturation at this rate per minute (low, best, high), for 20 L and a flow of 1 L/min.
    Rate(f64, f64, f64),
}

impl Method {
    const fn course(self) -> Course {
        match self {
            Self::Shake | Self::Splash => Course::Result(2.0, 3.0, 7.0),
            Self::Air => Course::Rate(0.02, 0.07, 0.4),
            Self::Oxygen => Course::Rate(0.3, 0.38, 0.42),
        }
    }
    /// How long it is taken to have run where the log does not say: a minute of oxygen is common practice.
    const fn usual(self) -> Span {
        match self {
            Self::Shake | Self::Splash | Self::Oxygen => Span::minutes(1.0),
            Self::Air => Span::minutes(20.0),
        }
    }
}

/// Litres that the rates are stated for.
const RATE_VOLUME: f64 = 20.0;
/// Shaking and splashing do what they can within this.
const RESULT_WITHIN: Span = Span::minutes(1.0);

/// When yeast has taken up the oxygen that it was pitched with: nothing is left of it then.
///
/// **Source:** yeast makers' sheets, 3–9 h. **Evidence:** published.
///
/// # Example
///
/// ```
/// assert_eq!(barm_zymology::oxygen::TAKEN_UP.as_hours(), 9.0);
/// ```
pub const TAKEN_UP: Span = Span::hours(9.0);

/// What an oxygen meter in a cellar is known to, as a part of its reading, nine times in ten, where nobody says.
///
/// **Evidence:** derived (judgement): membranes age, and samples take up air on their way.
///
/// # Example
///
/// ```
/// assert_eq!(barm_zymology::oxygen::METER.as_percent(), 10.0);
/// ```
pub const METER: Share = Share::percent(10.0);

/// Above this a wort is a strong one: it holds less oxygen and its yeast wants more.
///
/// **Evidence:** common practice; the same limit as for the cells wanted, see [`strength_factor`](crate::pitching::strength_factor).
///
/// # Example
///
/// ```
/// use barm_quantity::Plato;
/// use barm_zymology::oxygen::{STRONG, wanted};
/// assert!(wanted(false, Plato::degrees(16.1)) > wanted(false, STRONG));
/// ```
pub const STRONG: Plato = Plato::degrees(16.0);

/// Pressure of the air, absolute, at a height above the sea.
///
/// Outside −800…5500 m the nearer end is taken. A weather report's pressure is already reduced to sea level:
/// never use it here.
///
/// **Source:** standard atmosphere. **Evidence:** from memory, confirmed against a test kit's table.
///
/// # Example
///
/// ```
/// let air = barm_zymology::oxygen::air_pressure(1450.0);
/// assert!((air.as_kilopascals() - 85.1).abs() < 0.1);
/// ```
#[must_use]
pub fn air_pressure(elevation_metres: f64) -> Pressure {
    Pressure::kilopascals(101.325 * atmospheres(elevation_metres))
}

fn atmospheres(elevation_metres: f64) -> f64 {
    (1.0 - 2.255_77e-5 * elevation_metres.clamp(-800.0, 5500.0)).powf(5.255_88)
}

/// mg/L in water under air at one atmosphere, and the pressure of water vapour in atmospheres.
fn at_sea_level(t: f64) -> (f64, f64) {
    let k = t + 273.15;
    let oxygen = -139.344_11 + (1.575_701e5 + (-6.642_308e7 + (1.2438e10 - 8.621_949e11 / k) / k) / k) / k;
    let vapour = 11.8571 - (3840.70 + 216_961.0 / k) / k;
    (oxygen.exp(), vapour.exp())
}

fn water(t: f64, elevation_metres: f64) -> f64 {
    let (sea_level, vapour) = at_sea_level(t);
    let p = atmospheres(elevation_metres);
    let th = 0.000_975 + t * (-1.426e-5 + 6.436e-8 * t);
    sea_level * p * (1.0 - vapour / p) * (1.0 - th * p) / ((1.0 - vapour) * (1.0 - th))
}

/// Oxygen in pure water in balance with air, within 0.01 mg/L, 0–40 °C, −800 to 5500 m.
///
/// **Source:** Benson & Krause 1984, Limnol. Oceanogr. 29, 620–632, as Standard Methods 4500-O has it; water
/// vapour from memory. **Evidence:** published.
///
/// # Errors
///
/// [`OutOfRange`] outside 0–40 °C or −800…5500 m.
///
/// # Example
///
/// ```
/// use barm_quantity::Temperature;
/// let full = barm_zymology::oxygen::saturation_water(Temperature::celsius(20.0), 0.0)?;
/// assert!((full.as_milligrams_per_litre() - 9.09).abs() < 0.005);
/// # Ok::<(), barm_zymology::OutOfRange>(())
/// ```
pub fn saturation_water(
    temperature: Temperature,
    elevation_metres: f64,
) -> Result<Concentration, OutOfRange> {
    let t = temperature.as_celsius();
    OutOfRange::unless(0.0..=40.0, t, "the water's temperature", "°C")?;
    OutOfRange::unless(-800.0..=5500.0, elevation_metres, "the elevation", "m")?;
    Ok(Concentration::milligrams_per_litre(water(t, elevation_metres)))
}

/// Oxygen in pure water under pure oxygen, moist, at the pressure of the air: about 4.8 times that under air.
///
/// Older tables lie up to 2.5 % higher.
///
/// **Source:** Henry's law from Benson & Krause 1984. **Evidence:** derived.
///
/// # Errors
///
/// [`OutOfRange`] outside 0–40 °C or −800…5500 m.
///
/// # Example
///
/// ```
/// use barm_quantity::Temperature;
/// let full = barm_zymology::oxygen::saturation_water_pure(Temperature::celsius(20.0), 0.0)?;
/// assert!((full.as_milligrams_per_litre() - 43.4).abs() < 0.05);
/// # Ok::<(), barm_zymology::OutOfRange>(())
/// ```
pub fn saturation_water_pure(
    temperature: Temperature,
    elevation_metres: f64,
) -> Result<Concentration, OutOfRange> {
    saturation_water(temperature, elevation_metres)?;
    Ok(Concentration::milligrams_per_litre(water_pure(temperature.as_celsius(), elevation_metres)))
}

fn water_pure(t: f64, elevation_metres: f64) -> f64 {
    let (sea_level, vapour) = at_sea_level(t);
    sea_level / (0.20946 * (1.0 - vapour)) * (atmospheres(elevation_metres) - vapour)
}

/// mg/L that the wort holds in balance with air, or with pure oxygen.
///
/// Extract drives oxygen out: × 10^(−k·E), E in g/L, k = 7.0·10⁻⁴ (4.7–8.5·10⁻⁴) L/g. One factor, "oxygen
/// solubility", which all worts share.
fn equilibrium(pure_oxygen: bool, wort: &Wort) -> Estimate {
    const SALTING_OUT: f64 = 7.0e-4;
    const SALTING_OUT_SD: f64 = (8.5e-4 - 4.7e-4) / (2.0 * barm_quantity::NINETY);
    let t = wort.temperature.as_celsius().clamp(0.0, 40.0);
    let water = if pure_oxygen { water_pure } else { water }(t, wort.elevation_metres);
    let extract = gravity::extract(wort.strength).as_grams_per_litre();
    Estimate::exact(water).decayed(
        SALTING_OUT * std::f64::consts::LN_10,
        SALTING_OUT_SD * std::f64::consts::LN_10,
        extract,
        FactorName::new("oxygen solubility", ""),
    )
}

/// The most that a method can ever reach in this wort, in mg/L.
///
/// For air and pure oxygen the balance with that gas, for shaking and splashing what is found in practice, 3
/// (2–7), less in thinner air as that balance is, and no more than the balance with air. Values of the wort out of range: see [`Wort`].
///
/// **Source:** Benson & Krause 1984; salting-out fitted to a brewing school's table (from memory) with the
/// *Oxford Companion to Beer* 2012 and pure sucrose as its ends; shaking: tests of a yeast maker and *Yeast*
/// (Brewers Publications 2010). **Evidence:** published for water, derived for wort, common practice for
/// shaking.
///
/// # Example
///
/// ```
/// use barm_quantity::{Plato, Temperature, Volume};
/// use barm_zymology::oxygen::{Method, Wort, saturation};
/// let wort = Wort {
///     temperature: Temperature::celsius(20.0),
///     strength: Plato::degrees(12.0),
///     volume: Volume::litres(20.0),
///     elevation_metres: 0.0,
/// };
/// assert!((saturation(Method::Air, &wort).median() - 7.43).abs() < 0.01);
/// assert!(saturation(Method::Shake, &wort).median() < 4.0);
/// let mountain = Wort { elevation_metres: 2000.0, ..wort };
/// let part = |method| saturation(method, &mountain).median() / saturation(method, &wort).median();
/// assert!(part(Method::Shake) < 0.8 && (part(Method::Shake) - part(Method::Air)).abs() < 1e-9);
/// ```
#[must_use]
pub fn saturation(method: Method, wort: &Wort) -> Estimate {
    match method.course() {
        Course::Rate(..) => equilibrium(method == Method::Oxygen, wort),
        Course::Result(low, best, high) => {
            result((low, best, high), wort, FactorName::new("shaking and splashing", ""))
        }
    }
}

/// What shaking and splashing end at: found in practice near the sea, and less where the air is thinner, as its balance with
/// water is (Henry's law).
fn result((low, best, high): (f64, f64, f64), wort: &Wort, name: FactorName) -> Estimate {
    let t = wort.temperature.as_celsius().clamp(0.0, 40.0);
    let thinner = (water(t, wort.elevation_metres) / water(t, 0.0)).min(1.0);
    Estimate::band(low, best, high, name).scaled(thinner).capped(equilibrium(false, wort).median())
}

/// Minutes⁻¹ at which this wort approaches saturation.
fn rate((low, best, high): (f64, f64, f64), flow: Option<Flow>, wort: &Wort, lot: &str) -> Estimate {
    /// No flow on record: half to twice the usual litre a minute.
    const UNKNOWN_FLOW: f64 = 0.421_4;
    let volume = wort.volume.as_litres().max(0.01);
    let rate = Estimate::band(low, best, high, FactorName::new("gas transfer", lot));
    let scale = RATE_VOLUME / volume;
    match flow {
        Some(flow) => rate.scaled(scale * flow.as_litres_per_minute().max(0.0)),
        None => rate.scaled(scale).with_factor(FactorName::new("gas flow", lot), UNKNOWN_FLOW),
    }
}

/// Oxygen in the wort after one dose, in mg/L; doses follow one another, each starting from the last.
///
/// Boiled wort starts from zero. `duration`: how long; unknown, a minute of oxygen or of shaking or twenty of
/// air, give or take a factor of two. `flow`: of gas, for air and oxygen; unknown, half to two litres a
/// minute. The rate is in proportion to the flow (judgement) and inversely to the volume. Shaking and
/// splashing reach their result within a minute, longer is not credited, and they take nothing away. `lot`
/// names the wort in the factors "gas transfer", "gas flow", "time of aeration" and "shaking and splashing".
/// Never negative; never above the gas's saturation unless the wort was. Negative durations and flows count
/// as zero.
///
/// **Source:** C* − (C* − C₀)·e^(−kLa·t); kLa fitted to *Yeast* (Brewers Publications 2010), yeast makers'
/// tests and home measurements. **Evidence:** derived from published observations; a factor of four either
/// way for air.
///
/// # Example
///
/// ```
/// use barm_quantity::{Estimate, Flow, Plato, Span, Temperature, Volume};
/// use barm_zymology::oxygen::{Method, Wort, after};
/// let wort = Wort {
///     temperature: Temperature::celsius(24.0),
///     strength: Plato::degrees(18.6),
///     volume: Volume::litres(20.0),
///     elevation_metres: 0.0,
/// };
/// let boiled = Estimate::exact(0.0);
/// let flow = Some(Flow::litres_per_minute(1.0));
/// let dosed = after(&boiled, Method::Oxygen, Some(Span::seconds(60.0)), flow, &wort, "tidemill-ale");
/// assert!((dosed.median() - 9.2).abs() < 0.3);
/// ```
#[must_use]
pub fn after(
    before: &Estimate,
    method: Method,
    duration: Option<Span>,
    flow: Option<Flow>,
    wort: &Wort,
    lot: &str,
) -> Estimate {
    let time = duration.unwrap_or(method.usual()).max(Span::default());
    match method.course() {
        Course::Result(low, best, high) => {
            let credited = (time / RESULT_WITHIN).min(1.0);
            let reached = result((low, best, high), wort, FactorName::new("shaking and splashing", lot));
            let reached = reached.scaled(credited);
            if reached.median() > before.median() { reached } else { before.clone() }
        }
        Course::Rate(low, best, high) => {
            let mut exponent = rate((low, best, high), flow, wort, lot).scaled(time.as_minutes());
            if duration.is_none() {
                let unknown_time = 2.0_f64.ln() / barm_quantity::NINETY;
                exponent = exponent.with_factor(FactorName::new("time of aeration", lot), unknown_time);
            }
            // As shares of saturation, so that what is gained and what is kept need not be told apart.
            let full = equilibrium(method == Method::Oxygen, wort);
            let filled = before.clone() / full.clone();
            full * filled.joined(&exponent, |filled, x| 1.0 - (1.0 - filled) * (-x).exp())
        }
    }
}

/// How long a dose must run to reach `target` with even chances; `None` where this method cannot.
///
/// Zero where `before` is there already. Shaking and splashing reach more by no length of time: `None` above
/// their result. **Flow, range, source and evidence:** those of
/// [`after`].
///
/// # Example
///
/// ```
/// use barm_quantity::{Concentration, Estimate, Flow, Plato, Temperature, Volume};
/// use barm_zymology::oxygen::{Method, Wort, time_for};
/// let wort = Wort {
///     temperature: Temperature::celsius(20.0),
///     strength: Plato::degrees(12.0),
///     volume: Volume::litres(20.0),
///     elevation_metres: 0.0,
/// };
/// let (wanted, boiled) = (Concentration::milligrams_per_litre(9.0), Estimate::exact(0.0));
/// let flow = Some(Flow::litres_per_minute(1.0));
/// let time = time_for(wanted, &boiled, Method::Oxygen, flow, &wort).expect("oxygen gets there");
/// assert!(time.as_seconds() > 30.0 && time.as_seconds() < 60.0);
/// assert_eq!(time_for(wanted, &boiled, Method::Air, None, &wort), None);
/// ```
#[must_use]
pub fn time_for(
    target: Concentration,
    before: &Estimate,
    method: Method,
    flow: Option<Flow>,
    wort: &Wort,
) -> Option<Span> {
    let (target, before) = (target.as_milligrams_per_litre(), before.median());
    if target <= before {
        return Some(Span::default());
    }
    let full = saturation(method, wort).median();
    match method.course() {
        Course::Result(..) => (target <= full).then(|| RESULT_WITHIN * (target / full)),
        Course::Rate(low, best, high) => {
            let rate = rate((low, best, high), flow, wort, "").median();
            let minutes = ((full - before) / (full - target)).ln() / rate;
            (target < full && minutes.is_finite()).then(|| Span::minutes(minutes))
        }
    }
}

/// How long a dose must run so that the chance to stay under `target` is less than one in twenty; `None` where no time is
/// so long.
///
/// Never shorter than [`time_for`]. **Flow, range, source and evidence:** those of [`after`].
///
/// # Example
///
/// ```
/// use barm_quantity::{Concentration, Estimate, Flow, Plato, Temperature, Volume};
/// use barm_zymology::oxygen::{Method, Wort, sure_time_for, time_for};
/// let wort = Wort {
///     temperature: Temperature::celsius(20.0),
///     strength: Plato::degrees(12.0),
///     volume: Volume::litres(20.0),
///     elevation_metres: 0.0,
/// };
/// let (wanted, boiled) = (Concentration::milligrams_per_litre(8.0), Estimate::exact(0.0));
/// let flow = Some(Flow::litres_per_minute(1.0));
/// let even = time_for(wanted, &boiled, Method::Oxygen, flow, &wort).expect("oxygen gets there");
/// let sure = sure_time_for(wanted, &boiled, Method::Oxygen, flow, &wort).expect("and surely");
/// assert!(sure > even && sure < even * 2.0);
/// ```
#[must_use]
pub fn sure_time_for(
    target: Concentration,
    before: &Estimate,
    method: Method,
    flow: Option<Flow>,
    wort: &Wort,
) -> Option<Span> {
    /// In so many times the time of even chances the gas is in balance with the wort.
    const LONGEST: f64 = 50.0;
    let even = time_for(target, before, method, flow, wort)?;
    let target = target.as_milligrams_per_litre();
    let least = |minutes: f64| after(before, method, Some(Span::minutes(minutes)), flow, wort, "").low();
    let (even, longest) = (even.as_minutes(), even.as_minutes() * LONGEST);
    (least(longest) >= target).then(|| Span::minutes(solve(even, longest, target, least)))
}

/// Oxygen that yeast wants at pitching, in mg/L: the low end that a beer may get by with.
///
/// 6 for ale, 7 for lager, 10 for either above 16 °P; the aim is 8–10 (lager 8–12, strong 10–15). Dry yeast
/// at its first use needs none. Sources differ from 6 to 15; no maximum is agreed on, 20 is worth a note.
///
/// **Evidence:** common practice, with Lodolo et al. 1999 (MBAA TQ 36, 139–154) and Kucharczyk et al. 2020
/// (Processes 8, 769) inside the range.
///
/// # Example
///
/// ```
/// use barm_quantity::Plato;
/// assert_eq!(barm_zymology::oxygen::wanted(false, Plato::degrees(12.0)).as_milligrams_per_litre(), 6.0);
/// assert_eq!(barm_zymology::oxygen::wanted(true, Plato::degrees(18.0)).as_milligrams_per_litre(), 10.0);
/// ```
#[must_use]
pub fn wanted(lager: bool, strength: Plato) -> Concentration {
    Concentration::milligrams_per_litre(match (strength > STRONG, lager) {
        (true, _) => 10.0,
        (false, true) => 7.0,
        (false, false) => 6.0,
    })
}

/// Oxygen to aim at when wort is aerated: 8 mg/L, 10 above 16 °P.
///
/// The low end of 8–10 for ale, 8–12 for lager, 10–15 for strong wort.
///
/// **Evidence:** common practice.
///
/// # Example
///
/// ```
/// use barm_quantity::Plato;
/// use barm_zymology::oxygen::{aim, wanted};
/// let wort = Plato::degrees(12.0);
/// assert!(aim(wort) > wanted(false, wort));
/// ```
#[must_use]
pub fn aim(strength: Plato) -> Concentration {
    Concentration::milligrams_per_litre(if strength > STRONG { 10.0 } else { 8.0 })
}
