//! Starters: how far a small wort raises yeast, and how long it takes.
//!
//! For worts of 7–11 °P. All estimates are in single live cells; the one factor is "growth" of the lot. A
//! chain of starters is each step in turn, with what the last one gave. Never stopper a growing starter: foil
//! or a foam lid lets the gas out.

use barm_quantity::{
    Cells, CellsPerMillilitre, Estimate, FactorName, Mass, Plato, Share, Span, Temperature, Volume,
};

use crate::{gravity, solve};

/// How a starter is kept.
///
/// # Example
///
/// ```
/// use barm_quantity::{Estimate, Plato, Temperature, Volume};
/// use barm_zymology::starter::{Method, grown};
/// let (pitched, litre, wort) = (Estimate::exact(50e9), Volume::litres(1.0), Plato::degrees(9.0));
/// let of = |method| grown(&pitched, litre, wort, method, Temperature::celsius(20.0), None, "s1").median();
/// assert!(of(Method::Still) < of(Method::Shaken) && of(Method::Shaken) < of(Method::Stirred));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Method {
    /// It stands: growth × 0.7–1.6.
    Still,
    /// Shaken now and then: the geometric mean of the other two.
    Shaken,
    /// On a stirrer, or aerated: 1.7 (0.9–3.2) thousand million new cells per gram of extract.
    Stirred,
}

/// The thinnest that a starter is begun: below it the curve of a still starter is not founded, and bacteria have time.
///
/// **Source:** the thinnest row of *Yeast* (Brewers Publications 2010), Fig. 5.5. **Evidence:** published.
///
/// # Example
///
/// ```
/// assert_eq!(barm_zymology::starter::THINNEST.as_millions(), 5.0);
/// ```
pub const THINNEST: CellsPerMillilitre = CellsPerMillilitre::millions(5.0);

/// How many live cells in a millilitre let a starter grow well.
///
/// **Source:** the curve of [`grown`], which gives 1.7 times as many here. **Evidence:** derived.
///
/// # Example
///
/// ```
/// use barm_quantity::{Estimate, Plato, Temperature, Volume};
/// use barm_zymology::starter::{Method, ROOMY, grown};
/// let (litre, wort, warm) = (Volume::litres(1.0), Plato::degrees(9.0), Temperature::celsius(20.0));
/// let pitched = Estimate::exact((ROOMY * litre).as_each());
/// let end = grown(&pitched, litre, wort, Method::Still, warm, None, "s1");
/// assert!((end.median() / pitched.median() - 1.72).abs() < 0.01);
/// ```
pub const ROOMY: CellsPerMillilitre = CellsPerMillilitre::millions(75.0);

/// Above so many live cells in a millilitre a starter grows little: by about a quarter at the most.
///
/// **Source:** the curve of [`grown`]. **Evidence:** derived.
///
/// # Example
///
/// ```
/// use barm_quantity::{Estimate, Plato, Temperature, Volume};
/// use barm_zymology::starter::{CROWDED, Method, grown};
/// let (litre, wort, warm) = (Volume::litres(1.0), Plato::degrees(9.0), Temperature::celsius(20.0));
/// let pitched = Estimate::exact((CROWDED * litre).as_each());
/// let end = grown(&pitched, litre, wort, Method::Still, warm, None, "s1");
/// assert!(end.median() < 1.28 * pitched.median());
/// ```
pub const CROWDED: CellsPerMillilitre = CellsPerMillilitre::millions(150.0);

/// Above so many live cells in a millilitre a starter wakes the yeast and does not grow it.
///
/// **Source:** where the curve of [`grown`] comes to one. **Evidence:** derived.
///
/// # Example
///
/// ```
/// use barm_quantity::{Estimate, Plato, Temperature, Volume};
/// use barm_zymology::starter::{FULL, Method, grown};
/// let (litre, wort, warm) = (Volume::litres(1.0), Plato::degrees(9.0), Temperature::celsius(20.0));
/// let pitched = Estimate::exact((FULL * litre).as_each());
/// let end = grown(&pitched, litre, wort, Method::Still, warm, None, "s1");
/// assert!(end.median() < 1.01 * pitched.median());
/// ```
pub const FULL: CellsPerMillilitre = CellsPerMillilitre::millions(260.0);

/// A starter's wort, least and most: stronger strains the yeast, weaker hardly feeds it.
///
/// **Evidence:** common practice (1.028–1.044; 100 g of dry extract in a litre is about 9 °P).
///
/// # Example
///
/// ```
/// let (least, most) = barm_zymology::starter::STRENGTHS;
/// assert_eq!((least.as_degrees(), most.as_degrees()), (7.0, 11.0));
/// ```
pub const STRENGTHS: (Plato, Plato) = (Plato::degrees(7.0), Plato::degrees(11.0));

/// How long before it is pitched a starter is begun: it ferments out and settles.
///
/// **Evidence:** common practice.
///
/// # Example
///
/// ```
/// assert_eq!(barm_zymology::starter::AHEAD.as_days(), 2.0);
/// ```
pub const AHEAD: Span = Span::hours(48.0);

/// From this age on the yeast of a starter that was left in the warmth ages as slurry does.
///
/// **Evidence:** derived (judgement): it has worked out and settled.
///
/// # Example
///
/// ```
/// use barm_zymology::starter::{AHEAD, KEEPS};
/// assert!(KEEPS > AHEAD);
/// ```
pub const KEEPS: Span = Span::hours(72.0);

/// Doublings in a still starter pitched at 100 million/mL are log₂ of this.
const GROWTH_AT_100: f64 = 1.516;
/// How growth falls with crowding.
const CROWDING_POWER: f64 = 0.4335;
/// Low and high of a still starter's growth over its best.
const STILL_BAND: (f64, f64) = (0.7, 1.6);
/// New cells per gram of extract in a stirred starter: low, best, high.
const STIRRED: (f64, f64, f64) = (0.9e9, 1.7e9, 3.2e9);
/// Before the first doubling.
const LAG: Span = Span::hours(4.0);

/// Time for one doubling: 3 h at 20 °C, half of it for every 10 K more.
///
/// Outside 0–40 °C the nearer end is taken.
///
/// **Source:** a yeast maker's sheet (2 h at 25 °C; this gives 2.1), Quain 2017, Table 3.3, for the length of
/// laboratory stages. **Evidence:** derived.
///
/// # Example
///
/// ```
/// use barm_quantity::Temperature;
/// let doubling = barm_zymology::starter::doubling_time(Temperature::celsius(20.0));
/// assert!((doubling.as_hours() - 3.0).abs() < 1e-12);
/// ```
#[must_use]
pub fn doubling_time(temperature: Temperature) -> Span {
    Span::hours(3.0 * ((20.0 - temperature.as_celsius().clamp(0.0, 40.0)) / 10.0).exp2())
}

/// Cells in single cells that a still starter ends with, from `cells` in `volume`.
fn still(cells: f64, volume: Volume) -> f64 {
    let crowding = cells / 1e6 / volume.as_millilitres();
    if crowding > 0.0 {
        let growth = GROWTH_AT_100 * (100.0 / crowding.max(THINNEST.as_millions())).powf(CROWDING_POWER);
        cells * growth.max(1.0)
    } else {
        cells.max(0.0)
    }
}

/// Cells that a starter ends with.
fn finished(pitched: &Estimate, volume: Volume, strength: Plato, method: Method, lot: &str) -> Estimate {
    let volume = volume.max(Volume::default());
    let growth = || FactorName::new("growth", lot);
    let standing = || {
        let grown = pitched.mapped(|cells| still(cells, volume));
        // A crowded starter only wakes the yeast: where nothing grows there is nothing to be wrong about.
        let part = doublings(pitched, &grown) / GROWTH_AT_100.log2();
        let band = Estimate::band(STILL_BAND.0, 1.0, STILL_BAND.1, growth()).powered(part.min(1.0));
        grown * band
    };
    let stirring = || {
        let extract: Mass = gravity::extract(strength) * volume;
        let new = Estimate::band(STIRRED.0, STIRRED.1, STIRRED.2, growth()).scaled(extract.as_grams());
        [pitched.clone(), new].into_iter().sum::<Estimate>()
    };
    match method {
        Method::Still => standing(),
        Method::Stirred => stirring(),
        Method::Shaken => (standing() * stirring()).powered(0.5),
    }
}

/// Live cells in a starter at a `time` after it was pitched; `None`: when it has finished.
///
/// `pitched`: live cells that went in. Until the starter has finished, growth follows lag and doublings at
/// its temperature. Still starters are founded on 5–260 million cells/mL: more crowded they only wake the
/// yeast, thinner ones are taken to grow no further than one of 5. Negative volume, strength and time count
/// as none: what was pitched is all there is.
///
/// **Source:** still, *Yeast* (Brewers Publications 2010), Fig. 5.5, four rows fitted: 1.516·(100/r)^0.4335,
/// r in million/mL; its points are a smoothed curve and say nothing of real scatter. Stirred, 19 counts by
/// Johnson 2011 (252 ± 116 million/mL, with filtered air) and stoichiometry; taken a little lower.
/// **Evidence:** published (still), derived (stirred, shaken, time).
///
/// # Example
///
/// ```
/// use barm_quantity::{Estimate, Plato, Temperature, Volume};
/// use barm_zymology::starter::{Method, grown};
/// let (pitched, litre, wort) = (Estimate::exact(100e9), Volume::litres(1.0), Plato::degrees(9.0));
/// let end = grown(&pitched, litre, wort, Method::Still, Temperature::celsius(20.0), None, "s1");
/// assert!((end.median() / 1e9 - 151.6).abs() < 0.1);
/// ```
#[must_use]
pub fn grown(
    pitched: &Estimate,
    volume: Volume,
    strength: Plato,
    method: Method,
    temperature: Temperature,
    time: Option<Span>,
    lot: &str,
) -> Estimate {
    let end = finished(pitched, volume, strength, method, lot);
    let Some(time) = time else { return end };
    let doublings = doublings(pitched, &end);
    let so_far = ((time - LAG) / doubling_time(temperature)).clamp(0.0, doublings);
    if doublings > 0.0 {
        // Both ends of the range grow alike, so that at every time what was pitched and what it became hang together.
        let part = so_far / doublings;
        pitched.powered(1.0 - part) * end.powered(part)
    } else {
        end
    }
}

/// How often the cells double from `pitched` to `end`.
fn doublings(pitched: &Estimate, end: &Estimate) -> f64 {
    if pitched.median() > 0.0 { (end.median().log2() - pitched.median().log2()).max(0.0) } else { 0.0 }
}

/// Time until a starter has finished: 4 h of lag and a doubling time for each doubling.
///
/// Plan two days for a starter that is to be settled and poured off as well. Values out of range: see
/// [`grown`].
///
/// **Source:** as [`doubling_time`]. **Evidence:** derived.
///
/// # Example
///
/// ```
/// use barm_quantity::{Estimate, Plato, Temperature, Volume};
/// use barm_zymology::starter::{Method, time_to_finish};
/// let (pitched, wort) = (Estimate::exact(100e9), Plato::degrees(9.0));
/// let warm = Temperature::celsius(20.0);
/// let time = time_to_finish(&pitched, Volume::litres(2.0), wort, Method::Still, warm);
/// assert!((time.as_hours() - 7.1).abs() < 0.1);
/// ```
#[must_use]
pub fn time_to_finish(
    pitched: &Estimate,
    volume: Volume,
    strength: Plato,
    method: Method,
    temperature: Temperature,
) -> Span {
    let end = finished(pitched, volume, strength, method, "");
    LAG + doubling_time(temperature) * doublings(pitched, &end)
}

/// When so much of its extract is gone a starter has grown.
///
/// **Evidence:** derived (judgement): yeast has grown long before its wort is fermented out.
///
/// # Example
///
/// ```
/// assert_eq!(barm_zymology::starter::GROWN_BY.as_percent(), 50.0);
/// ```
pub const GROWN_BY: Share = Share::percent(50.0);

/// How long a starter has worked that has so much of its extract `gone`, as an apparent attenuation: nothing where none is.
///
/// New cells come in step with the extract that goes, all of them by [`GROWN_BY`]. Values out of range: see [`grown`].
///
/// **Source:** as [`doubling_time`]. **Evidence:** derived.
///
/// # Example
///
/// ```
/// use barm_quantity::{Estimate, Plato, Share, Temperature, Volume};
/// use barm_zymology::starter::{Method, time_to_finish, worked};
/// let (pitched, litre, wort) = (Estimate::exact(100e9), Volume::litres(1.0), Plato::degrees(9.0));
/// let warm = Temperature::celsius(20.0);
/// let after = |gone| worked(&pitched, litre, wort, Method::Still, warm, Share::percent(gone)).as_hours();
/// assert!(after(0.0) == 0.0 && after(10.0) < after(30.0));
/// assert!((after(75.0) - time_to_finish(&pitched, litre, wort, Method::Still, warm).as_hours()).abs() < 1e-9);
/// ```
#[must_use]
pub fn worked(
    pitched: &Estimate,
    volume: Volume,
    strength: Plato,
    method: Method,
    temperature: Temperature,
    gone: Share,
) -> Span {
    let part = (gone.as_fraction() / GROWN_BY.as_fraction()).clamp(0.0, 1.0);
    if part <= 0.0 {
        return Span::default();
    }
    let end = finished(pitched, volume, strength, method, "");
    let new = (end.median() - pitched.median()).max(0.0);
    let grown = Estimate::exact(pitched.median() + part * new);
    LAG + doubling_time(temperature) * doublings(pitched, &grown)
}

/// How long a starter may show nothing and be sound, at 20 °C.
///
/// **Evidence:** derived (judgement): half of the day after which a beer that shows no work is late.
///
/// # Example
///
/// ```
/// assert_eq!(barm_zymology::starter::USUAL_LAG.as_hours(), 12.0);
/// ```
pub const USUAL_LAG: Span = Span::hours(12.0);

/// How much of its growth since then is believed of a starter that was seen `idle` so long after its pitch: all of it within
/// [`USUAL_LAG`], and half as much for every two doubling times more. In the cold both are longer, as a doubling is.
///
/// **Evidence:** derived (judgement).
///
/// # Example
///
/// ```
/// use barm_quantity::{Span, Temperature};
/// use barm_zymology::starter::believed_after;
/// let after = |hours| believed_after(Span::hours(hours), Temperature::celsius(20.0)).as_fraction();
/// assert_eq!((after(6.0), after(12.0), after(18.0), after(36.0)), (1.0, 1.0, 0.5, 0.0625));
/// ```
#[must_use]
pub fn believed_after(idle: Span, temperature: Temperature) -> Share {
    let doubling = doubling_time(temperature);
    let late = (idle - USUAL_LAG * (doubling / doubling_time(Temperature::celsius(20.0)))) / (doubling * 2.0);
    Share::fraction((-late.max(0.0)).exp2())
}

/// Live cells in a starter that was seen idle, of which no more than a part of what it may have `grown` since is believed: from
/// what was `pitched`, as if nothing had come of it, to all that its clock allows.
///
/// **Source and evidence:** those of [`grown`] and [`believed_after`].
///
/// # Example
///
/// ```
/// use barm_quantity::{Estimate, Share};
/// use barm_zymology::starter::in_doubt;
/// let (pitched, grown) = (Estimate::exact(50e9), Estimate::exact(200e9));
/// let half = in_doubt(&pitched, &grown, Share::percent(50.0), "s1");
/// assert!((half.median() / 1e9 - 100.0).abs() < 1e-6 && (half.low() / 50e9 - 1.0).abs() < 1e-6 && (half.high() / 200e9 - 1.0).abs() < 1e-6);
/// assert_eq!(in_doubt(&pitched, &grown, Share::percent(100.0), "s1"), grown);
/// ```
#[must_use]
pub fn in_doubt(pitched: &Estimate, grown: &Estimate, believed: Share, lot: &str) -> Estimate {
    let most = grown.median() / pitched.median();
    if believed >= Share::percent(100.0) || most.is_nan() || most <= 1.0 {
        return grown.clone();
    }
    // Of its doublings none at the low end, what is believed in the middle, and at the high end all.
    let best = believed.as_fraction();
    let part = |belief: f64| if belief < 0.0 { best * (1.0 + belief) } else { best + (1.0 - best) * belief };
    let belief = Estimate::band((-1.0_f64).exp(), 1.0, 1.0_f64.exp(), FactorName::new("growth", lot));
    pitched.clone() * belief.mapped(|belief| most.powf(part(belief.ln()).max(0.0)))
}

/// The smallest starter that reaches `target` with even chances; `None` where one step cannot.
///
/// Zero where `pitched` is enough. One step never goes below 5 million cells/mL.
///
/// **Source and evidence:** those of [`grown`].
///
/// # Example
///
/// ```
/// use barm_quantity::{Cells, Estimate, Plato};
/// use barm_zymology::starter::{Method, volume_for};
/// let pitched = Estimate::exact(100e9);
/// let volume = volume_for(Cells::billions(205.0), &pitched, Plato::degrees(9.0), Method::Still);
/// assert!((volume.expect("in one step").as_litres() - 2.0).abs() < 0.01);
/// ```
#[must_use]
pub fn volume_for(target: Cells, pitched: &Estimate, strength: Plato, method: Method) -> Option<Volume> {
    let target = target.as_each();
    if target <= pitched.median() {
        return Some(Volume::default());
    }
    let largest = pitched.median() / THINNEST.as_millions() / 1e6;
    let reached =
        |millilitres: f64| finished(pitched, Volume::millilitres(millilitres), strength, method, "").median();
    (reached(largest) >= target).then(|| Volume::millilitres(solve(0.0, largest, target, reached)))
}

/// The smallest starter whose chance to stay under `target` is less than one in twenty; `None` where one step has none.
///
/// Never smaller than [`volume_for`].
///
/// **Source and evidence:** those of [`grown`].
///
/// # Example
///
/// ```
/// use barm_quantity::{Cells, Estimate, Plato};
/// use barm_zymology::starter::{Method, sure_volume_for, volume_for};
/// let (pitched, wort) = (Estimate::exact(100e9), Plato::degrees(9.0));
/// let target = Cells::billions(205.0);
/// let even = volume_for(target, &pitched, wort, Method::Stirred).expect("in one step");
/// let sure = sure_volume_for(target, &pitched, wort, Method::Stirred).expect("and surely");
/// // The low end of what a gram of extract gives is 0.9 where 1.7 is the best value.
/// assert!((sure / even - 1.7 / 0.9).abs() < 0.05);
/// ```
#[must_use]
pub fn sure_volume_for(target: Cells, pitched: &Estimate, strength: Plato, method: Method) -> Option<Volume> {
    let even = volume_for(target, pitched, strength, method)?.as_millilitres();
    let target = target.as_each();
    let largest = pitched.median() / THINNEST.as_millions() / 1e6;
    let least =
        |millilitres: f64| finished(pitched, Volume::millilitres(millilitres), strength, method, "").low();
    (least(largest) >= target).then(|| Volume::millilitres(solve(even.min(largest), largest, target, least)))
}

/// Live share of a fresh starter, best value.
///
/// **Source and evidence:** those of [`fresh`].
///
/// # Example
///
/// ```
/// assert_eq!(barm_zymology::starter::FRESH.as_percent(), 96.5);
/// ```
pub const FRESH: Share = Share::fraction(0.965);

/// Live share of a starter that has just worked out: 0.965, 0.95 to 0.98; one factor of `lot`: "viability of the starter".
///
/// **Source:** brewers' laboratories ask for above 95 % of fresh yeast. **Evidence:** common practice.
///
/// # Example
///
/// ```
/// use barm_zymology::starter::{FRESH, fresh};
/// assert_eq!(fresh("s1").median(), FRESH.as_fraction());
/// ```
#[must_use]
pub fn fresh(lot: &str) -> Estimate {
    Estimate::band(0.95, FRESH.as_fraction(), 0.98, FactorName::new("viability of the starter", lot))
}
