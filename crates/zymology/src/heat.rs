//! Heat of fermentation, and the temperature that beer takes in a given room.
//!
//! One lump: beer of mass m and specific heat c at one temperature throughout, warmed by its fermentation and
//! losing UA watts for each kelvin above the air around. A stirrer's own heat is not included.

use barm_quantity::{
    Estimate, FactorName, HeatLoss, Mass, Plato, Power, Share, Span, SpecificHeat, Temperature,
    TemperatureDifference, Volume,
};

use crate::gravity;

/// Joules from a gram of extract fermented: low, best, high.
const PER_GRAM: (f64, f64, f64) = (550.0, 587.0, 655.0);

/// Heat of fermenting this much extract, in kJ: 587 (550–655) for a kilogram. One factor, "heat of
/// fermentation".
///
/// A mass below zero counts as none.
///
/// **Source:** a handbook value (from memory) that a brewers' engineering discussion (586) and the enthalpies
/// of formation (592, counted as maltose) support; numbers twice as high that circulate are free energies
/// (Williams 1982, Am. J. Enol. Vitic. 33). **Evidence:** derived.
///
/// # Example
///
/// ```
/// use barm_quantity::Mass;
/// let heat = barm_zymology::heat::released(Mass::kilograms(1.63));
/// assert!((heat.median() - 957.0).abs() < 1.0);
/// ```
#[must_use]
pub fn released(fermented: Mass) -> Estimate {
    let (low, best, high) = PER_GRAM;
    Estimate::band(low, best, high, FactorName::new("heat of fermentation", ""))
        .scaled(fermented.as_kilograms())
}

/// Specific heat of a sugar solution, 0–40 °P and 0–60 °C; beyond, the nearer end is taken.
///
/// **Source:** 4184 − 2511·b + 7.5·b·t J/(kg·K), b the sugar by mass, from a sugar engineering program; the
/// sugar technologists' formula agrees within 4 J. **Evidence:** published, from second hand.
///
/// # Example
///
/// ```
/// use barm_quantity::{Plato, Temperature};
/// let wort = barm_zymology::heat::specific_heat(Plato::degrees(12.0), Temperature::celsius(20.0));
/// assert!((wort.as_joules_per_kilogram_kelvin() - 3901.0).abs() < 0.5);
/// ```
#[must_use]
pub fn specific_heat(strength: Plato, temperature: Temperature) -> SpecificHeat {
    let b = strength.as_degrees().clamp(0.0, 40.0) / 100.0;
    let t = temperature.as_celsius().clamp(0.0, 60.0);
    SpecificHeat::joules_per_kilogram_kelvin(4184.0 - 2511.0 * b + 7.5 * b * t)
}

/// What a fermenter is made of.
///
/// # Example
///
/// ```
/// use barm_quantity::Volume;
/// use barm_zymology::heat::{Material, loss};
/// let of = |material| loss(material, Volume::litres(20.0), "fermenter").median();
/// assert!(of(Material::BrightSteel) < of(Material::Glass));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Material {
    /// A bucket.
    Plastic,
    /// A flask, jug or carboy.
    Glass,
    /// Bright steel, which radiates little.
    BrightSteel,
}

/// Heat that a standing vessel in still air loses, in W/K. One factor of `lot`: "heat loss".
///
/// Plastic 3.5 (3.2–4.3) at 25 L, glass 3.45 (2.9–4.0) at 20 L, bright steel 3.3 (2.3–4.7) at 25 L; other
/// sizes by surface, volume to the power 2/3. Wind, water baths and jackets are another matter. Outside
/// 0.1–2000 L the nearer end is taken.
///
/// **Source:** natural convection (Churchill & Chu) and radiation; one published bucket gives 3.5.
/// **Evidence:** derived.
///
/// # Example
///
/// ```
/// use barm_quantity::Volume;
/// use barm_zymology::heat::{Material, loss};
/// let bucket = loss(Material::Plastic, Volume::litres(25.0), "bucket");
/// assert!((bucket.median() - 3.5).abs() < 1e-9);
/// let flask = loss(Material::Glass, Volume::litres(1.0), "flask");
/// assert!(flask.median() > 0.4 && flask.median() < 0.5);
/// ```
#[must_use]
pub fn loss(material: Material, holds: Volume, lot: &str) -> Estimate {
    let (low, best, high, litres) = match material {
        Material::Plastic => (3.2, 3.5, 4.3, 25.0),
        Material::Glass => (2.9, 3.45, 4.0, 20.0),
        Material::BrightSteel => (2.3, 3.3, 4.7, 25.0),
    };
    let surface = (holds.as_litres().clamp(0.1, 2000.0) / litres).powf(2.0 / 3.0);
    Estimate::band(low, best, high, FactorName::new("heat loss", lot)).scaled(surface)
}

/// How much a fermenter holds over the beer in it, where nobody says.
///
/// **Evidence:** derived (judgement): a fifth of room for foam.
///
/// # Example
///
/// ```
/// use barm_quantity::Volume;
/// use barm_zymology::heat::{HEADSPACE, Material, loss};
/// let bucket = loss(Material::Plastic, Volume::litres(20.0) * HEADSPACE, "bucket");
/// assert!((bucket.median() - 3.4).abs() < 0.05);
/// ```
pub const HEADSPACE: f64 = 1.2;

/// How far from a single temperature that it is held at beer is still where it is meant to be.
///
/// **Evidence:** derived (judgement): what a controller swings.
///
/// # Example
///
/// ```
/// assert_eq!(barm_zymology::heat::HELD_WITHIN.as_kelvin(), 1.0);
/// ```
pub const HELD_WITHIN: TemperatureDifference = TemperatureDifference::kelvin(1.0);

/// How a fermentation runs where no readings tell: attenuation follows a logistic curve.
///
/// # Example
///
/// ```
/// use barm_quantity::Span;
/// use barm_zymology::heat::Course;
/// let slow = Course { half: Span::days(5.0), width: Span::days(1.0) };
/// assert!(slow.done(Span::days(4.0)) < Course::ALE.done(Span::days(4.0)));
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Course {
    /// When half of it is done.
    pub half: Span,
    /// How drawn out it is: between a quarter and three quarters done lie 2.2 of these.
    pub width: Span,
}

impl Course {
    /// Ale near 20 °C: half done at 40 h, width 10 h.
    ///
    /// **Evidence:** derived (judgement).
    ///
    /// # Example
    ///
    /// ```
    /// use barm_quantity::Span;
    /// assert!(barm_zymology::heat::Course::ALE.done(Span::days(3.0)).as_percent() > 95.0);
    /// ```
    pub const ALE: Self = Self { half: Span::hours(40.0), width: Span::hours(10.0) };
    /// Lager near 10 °C: half done at 90 h, width 22 h.
    ///
    /// **Evidence:** derived (judgement).
    ///
    /// # Example
    ///
    /// ```
    /// use barm_quantity::Span;
    /// assert!(barm_zymology::heat::Course::LAGER.done(Span::days(3.0)).as_percent() < 50.0);
    /// ```
    pub const LAGER: Self = Self { half: Span::hours(90.0), width: Span::hours(22.0) };

    /// When little heat is left in it: after two and a half times its first half.
    ///
    /// **Evidence:** derived (judgement).
    ///
    /// # Example
    ///
    /// ```
    /// use barm_zymology::heat::Course;
    /// assert!(Course::LAGER.done(Course::LAGER.warms_for()).as_percent() > 99.0);
    /// ```
    #[must_use]
    pub fn warms_for(&self) -> Span {
        self.half * 2.5
    }

    /// Part done at a time after pitching, 0–1: 1/(1 + e^(−(t − t½)/w)).
    ///
    /// A width of less than a minute counts as that.
    ///
    /// **Evidence:** derived (judgement).
    ///
    /// # Example
    ///
    /// ```
    /// use barm_quantity::Span;
    /// use barm_zymology::heat::Course;
    /// assert_eq!(Course::ALE.done(Span::hours(40.0)).as_fraction(), 0.5);
    /// ```
    #[must_use]
    pub fn done(&self, time: Span) -> Share {
        let width = self.width.max(Span::minutes(1.0));
        Share::fraction(1.0 / (1.0 + (-((time - self.half) / width)).exp()))
    }
}

/// Beer in its vessel, as one lump.
///
/// # Example
///
/// ```
/// use barm_quantity::{HeatLoss, Plato, Share, Volume};
/// use barm_zymology::heat::Batch;
/// let loss = HeatLoss::watts_per_kelvin(3.5);
/// let batch = Batch { volume: Volume::litres(20.0), strength: Plato::degrees(16.0), loss };
/// assert!(batch.rise_without_loss(Share::percent(65.0)).as_kelvin() > 14.0);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Batch {
    /// How much; less than 10 mL counts as that.
    pub volume: Volume,
    /// Strength of its wort.
    pub strength: Plato,
    /// What its vessel loses, see [`loss`]; below zero counts as none.
    pub loss: HeatLoss,
}

impl Batch {
    /// Wort's extract.
    fn extract(&self) -> Mass {
        gravity::extract(self.strength) * self.volume.max(Volume::millilitres(10.0))
    }

    /// J/K, at the real extract of beer halfway to its end.
    fn heat_capacity(&self) -> f64 {
        const HALFWAY: f64 = 0.675;
        let mass =
            gravity::density(gravity::gravity(self.strength)) * self.volume.max(Volume::millilitres(10.0));
        let halfway = Plato::degrees(self.strength.as_degrees() * HALFWAY);
        let specific = specific_heat(halfway, Temperature::celsius(20.0));
        mass.as_kilograms().max(0.001) * specific.as_joules_per_kilogram_kelvin()
    }

    fn watts_per_kelvin(&self) -> f64 {
        self.loss.as_watts_per_kelvin().max(0.0)
    }

    /// How much warmer the beer would become if it lost no heat while this share of its extract ferments.
    ///
    /// A share outside 0–100 % is taken at the nearer end.
    ///
    /// **Source:** 587 kJ/kg over m·c. **Evidence:** derived.
    ///
    /// # Example
    ///
    /// ```
    /// use barm_quantity::{HeatLoss, Plato, Share, Volume};
    /// use barm_zymology::heat::Batch;
    /// let loss = HeatLoss::watts_per_kelvin(3.0);
    /// let batch = Batch { volume: Volume::litres(20.0), strength: Plato::degrees(12.0), loss };
    /// assert!((batch.rise_without_loss(Share::percent(65.0)).as_kelvin() - 11.4).abs() < 0.1);
    /// ```
    #[must_use]
    pub fn rise_without_loss(&self, real_attenuation: Share) -> TemperatureDifference {
        let fermented = self.extract().as_grams() * real_attenuation.as_fraction().clamp(0.0, 1.0);
        TemperatureDifference::kelvin(fermented * PER_GRAM.1 / self.heat_capacity())
    }

    /// Heat while this share of its extract ferments in this time; none in no time. A share outside 0–100 % is
    /// taken at the nearer end.
    ///
    /// **Source:** 587 kJ/kg, see [`released`]. **Evidence:** derived.
    ///
    /// # Example
    ///
    /// ```
    /// use barm_quantity::{HeatLoss, Plato, Share, Span, Volume};
    /// use barm_zymology::heat::Batch;
    /// let loss = HeatLoss::watts_per_kelvin(3.0);
    /// let batch = Batch { volume: Volume::litres(20.0), strength: Plato::degrees(12.0), loss };
    /// let power = batch.power(Share::percent(16.25), Span::hours(12.0));
    /// assert!((power.as_watts() - 5.5).abs() < 0.1);
    /// ```
    #[must_use]
    pub fn power(&self, real_attenuation: Share, time: Span) -> Power {
        let seconds = time.as_seconds();
        let joules = self.extract().as_grams() * real_attenuation.as_fraction().clamp(0.0, 1.0) * PER_GRAM.1;
        Power::watts(if seconds > 0.0 { joules / seconds } else { 0.0 })
    }

    /// How much warmer than the air the beer stays while its fermentation gives this power: power over loss.
    ///
    /// Without any loss there is no such temperature: `None`.
    ///
    /// **Source:** lumped capacity. **Evidence:** published model, derived coefficients.
    ///
    /// # Example
    ///
    /// ```
    /// use barm_quantity::{HeatLoss, Plato, Power, Volume};
    /// use barm_zymology::heat::Batch;
    /// let loss = HeatLoss::watts_per_kelvin(3.0);
    /// let batch = Batch { volume: Volume::litres(20.0), strength: Plato::degrees(12.0), loss };
    /// let rise = batch.steady_rise(Power::watts(5.5)).expect("it loses heat");
    /// assert!((rise.as_kelvin() - 1.8).abs() < 0.05);
    /// ```
    #[must_use]
    pub fn steady_rise(&self, power: Power) -> Option<TemperatureDifference> {
        let loss = self.watts_per_kelvin();
        (loss > 0.0)
            .then(|| TemperatureDifference::kelvin(power.as_watts() / loss))
            .filter(|rise| rise.is_finite())
    }

    /// Time in which a difference to the air falls to 37 %; `None` without any loss.
    ///
    /// **Source:** lumped capacity, m·c/UA. **Evidence:** published model, derived coefficients.
    ///
    /// # Example
    ///
    /// ```
    /// use barm_quantity::{HeatLoss, Plato, Volume};
    /// use barm_zymology::heat::Batch;
    /// let loss = HeatLoss::watts_per_kelvin(3.5);
    /// let batch = Batch { volume: Volume::litres(15.1), strength: Plato::degrees(12.0), loss };
    /// assert!((batch.time_constant().expect("it loses heat").as_hours() - 5.0).abs() < 0.1);
    /// ```
    #[must_use]
    pub fn time_constant(&self) -> Option<Span> {
        let loss = self.watts_per_kelvin();
        (loss > 0.0).then(|| Span::seconds(self.heat_capacity() / loss)).filter(|time| time.is_finite())
    }

    /// Temperature of the beer at each of `times` after its start at the temperature `start`.
    ///
    /// `fermented`: real attenuation, growing, at a time (from readings, or a [`Course`] times the end).
    /// `ambient`: the air around at a time (see [`on_the_line`]). `times` in rising order; one that goes back
    /// gives the last temperature again. Between times the model steps by a quarter of an hour, or by a
    /// ten-thousandth of the way where that is longer, each step solved exactly for steady heat and air.
    ///
    /// **Source:** lumped capacity, m·c·dT/dt = q − UA·(T − Tₐ). **Evidence:** published model, derived
    /// coefficients.
    ///
    /// # Example
    ///
    /// ```
    /// use barm_quantity::{HeatLoss, Plato, Share, Span, Temperature, Volume};
    /// use barm_zymology::heat::{Batch, Course};
    /// let loss = HeatLoss::watts_per_kelvin(3.5);
    /// let batch = Batch { volume: Volume::litres(20.0), strength: Plato::degrees(12.0), loss };
    /// let days: Vec<Span> = [1.0, 2.0, 14.0].map(Span::days).to_vec();
    /// let fermented = |time| Course::ALE.done(time) * 0.65;
    /// let beer = batch.temperatures(Temperature::celsius(18.0), &days, fermented, |_| Temperature::celsius(18.0));
    /// assert!(beer[1].as_celsius() > 19.0 && (beer[2].as_celsius() - 18.0).abs() < 0.1);
    /// ```
    #[must_use]
    pub fn temperatures(
        &self,
        start: Temperature,
        times: &[Span],
        fermented: impl Fn(Span) -> Share,
        ambient: impl Fn(Span) -> Temperature,
    ) -> Vec<Temperature> {
        const STEP: f64 = 0.25;
        let capacity = self.heat_capacity();
        let per_hour = self.watts_per_kelvin() * 3600.0 / capacity;
        let full_rise = self.extract().as_grams() * PER_GRAM.1 / capacity;
        let (mut now, mut beer) = (0.0, start.as_celsius());
        let mut done = fermented(Span::hours(now)).as_fraction();
        let mut out = Vec::with_capacity(times.len());
        for time in times {
            let way = time.as_hours() - now;
            if way.is_finite() && way > 0.0 {
                let steps = (way / STEP).ceil().clamp(1.0, 10_000.0);
                let step = way / steps;
                let decay = -(-per_hour * step).exp_m1();
                // Heat given evenly over a step has partly left again by its end.
                let kept = if per_hour * step > 1e-9 { decay / (per_hour * step) } else { 1.0 };
                for i in 0..steps as u32 {
                    let end = Span::hours(now + step * f64::from(i + 1));
                    let air = ambient(Span::hours(now + step * (f64::from(i) + 0.5))).as_celsius();
                    let next = fermented(end).as_fraction();
                    beer += (air - beer) * decay + full_rise * (next - done).max(0.0) * kept;
                    done = next.max(done);
                }
                now = time.as_hours();
            }
            out.push(Temperature::celsius(beer));
        }
        out
    }
}

/// Temperature at a time on the straight lines between readings in rising order of time; beyond them that of
/// the nearer one.
///
/// `None` without readings: the air around is never assumed.
///
/// **Evidence:** derived (judgement): between readings nothing is known.
///
/// # Example
///
/// ```
/// use barm_quantity::{Span, Temperature};
/// use barm_zymology::heat::on_the_line;
/// let readings = [(Span::hours(0.0), Temperature::celsius(18.0)), (Span::hours(12.0), Temperature::celsius(20.0))];
/// assert_eq!(on_the_line(&readings, Span::hours(6.0)), Some(Temperature::celsius(19.0)));
/// assert_eq!(on_the_line(&[], Span::hours(6.0)), None);
/// ```
#[must_use]
pub fn on_the_line(readings: &[(Span, Temperature)], time: Span) -> Option<Temperature> {
    let after = readings.partition_point(|(at, _)| *at <= time);
    let before = after.checked_sub(1).and_then(|i| readings.get(i));
    match (before, readings.get(after)) {
        (Some((t0, a)), Some((t1, b))) => Some(*a + (*b - *a) * ((time - *t0) / (*t1 - *t0))),
        (Some((_, end)), None) | (None, Some((_, end))) => Some(*end),
        (None, None) => None,
    }
}
