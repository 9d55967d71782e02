//! What is left alive of yeast in store.
//!
//! First-order loss: the live share falls by e^(−k·days), k from a band that is normal, so that the share
//! left is log-normal; temperature moves k by the rule of Arrhenius. Spells at different temperatures add up
//! as equivalent days at 4 °C. Vitality falls before viability: what is alive may still start slowly.

use barm_quantity::{Estimate, FactorName, NINETY, Share, Span, Temperature};

/// Days in a month of a stated loss.
const MONTH: f64 = 30.44;

/// A loss by the day at 4 °C.
///
/// # Example
///
/// ```
/// use barm_zymology::storage::{Loss, left};
/// let measured = Loss { per_day: 0.01, sd: 0.002 };
/// assert!((left(measured, 10.0, "jar-1").median() - 0.905).abs() < 0.001);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Loss {
    /// k, per day.
    pub per_day: f64,
    /// Its standard deviation.
    pub sd: f64,
}

/// Slurry, and a cake, under beer: 2.0 (±0.9) % a day, to eight weeks.
///
/// **Source:** least squares on McCaig & Bendiak 1985 (MBAA Tech. Quarterly 22), three temperatures, gives
/// 0.0194; half alive at four weeks (common practice) is 0.0248; an amateur laboratory's seven jars of 2012
/// lost a tenth of that. **Evidence:** derived.
///
/// # Example
///
/// ```
/// use barm_zymology::storage::{SLURRY, left};
/// assert!((left(SLURRY, 14.0, "jar-1").median() - 0.756).abs() < 0.001);
/// ```
pub const SLURRY: Loss = Loss { per_day: 0.020, sd: 0.009 };

/// Slurry in the cold is good to this age, two weeks; nobody who counts it asks for its days.
///
/// **Evidence:** common practice.
///
/// # Example
///
/// ```
/// use barm_zymology::storage::{SLURRY, STALE_AFTER, TIRED, left};
/// assert!(left(SLURRY, STALE_AFTER.as_days(), "jar-1").median() > TIRED.as_fraction());
/// ```
pub const STALE_AFTER: Span = Span::days(14.0);

/// At this age about half of a slurry lives, four weeks.
///
/// **Evidence:** common practice.
///
/// # Example
///
/// ```
/// use barm_zymology::storage::{HALF_DEAD, OLD_AFTER, SLURRY, left};
/// assert!((left(SLURRY, OLD_AFTER.as_days(), "jar-1").median() - HALF_DEAD.as_fraction()).abs() < 0.1);
/// ```
pub const OLD_AFTER: Span = Span::days(28.0);

/// Yeast of which less than this lives is tired: it wants waking before it is pitched.
///
/// **Evidence:** derived (judgement).
///
/// # Example
///
/// ```
/// assert_eq!(barm_zymology::storage::TIRED.as_percent(), 70.0);
/// ```
pub const TIRED: Share = Share::percent(70.0);

/// Yeast of which less than this lives is hardly worth a starter.
///
/// **Evidence:** derived (judgement).
///
/// # Example
///
/// ```
/// assert_eq!(barm_zymology::storage::HALF_DEAD.as_percent(), 50.0);
/// ```
pub const HALF_DEAD: Share = Share::percent(50.0);

/// Sealed dry yeast: 5 % a year at 4 °C (4–10 %), to four years.
///
/// **Source:** Cone, quoted: 5 % a year at 4 °C, 20 % at 20 °C. **Evidence:** published, from second hand.
///
/// # Example
///
/// ```
/// use barm_zymology::storage::{DRY, left};
/// assert!((left(DRY, 365.25, "sachet-1").median() - 0.95).abs() < 0.001);
/// ```
pub const DRY: Loss = Loss { per_day: 0.0513 / 365.25, sd: (0.1 - 0.04) / 365.25 / (2.0 * NINETY) };

/// Loss of a liquid pack in a month: low, best, high.
///
/// 20 to 25 % is the usual rule, 15 % the kinder one.
///
/// **Evidence:** common practice; no controlled series was found.
///
/// # Example
///
/// ```
/// use barm_zymology::storage::{PACK_MONTHLY, left, pack_loss};
/// assert!((left(pack_loss(PACK_MONTHLY), 30.44, "pack-1").median() - 0.80).abs() < 1e-9);
/// ```
pub const PACK_MONTHLY: [Share; 3] = [Share::percent(15.0), Share::percent(20.0), Share::percent(25.0)];

/// The rate of a loss by the month, compounding; a share outside 0–99.9 % is taken at the nearer end.
fn per_day(monthly: Share) -> f64 {
    -(1.0 - monthly.as_fraction().clamp(0.0, 0.999)).ln() / MONTH
}

/// A loss by the month — low, best, high — as a rate: compound, months of 30.44 days.
///
/// Shares outside 0–99.9 % are taken at the nearer end.
///
/// **Evidence:** definition; for the shares see [`PACK_MONTHLY`].
///
/// # Example
///
/// ```
/// use barm_zymology::storage::{PACK_MONTHLY, pack_loss};
/// assert!((pack_loss(PACK_MONTHLY).per_day - 0.00733).abs() < 0.00001);
/// ```
#[must_use]
pub fn pack_loss(monthly: [Share; 3]) -> Loss {
    let [low, best, high] = monthly.map(per_day);
    Loss { per_day: best, sd: (high - low).abs() / (2.0 * NINETY) }
}

/// A loss by the month that a brewer states, taken as it stands.
///
/// A share outside 0–99.9 % is taken at the nearer end.
///
/// **Evidence:** definition.
///
/// # Example
///
/// ```
/// use barm_quantity::Share;
/// let stated = barm_zymology::storage::claimed(Share::percent(10.0));
/// assert!((stated.per_day - 0.00346).abs() < 0.00001 && stated.sd == 0.0);
/// ```
#[must_use]
pub fn claimed(monthly: Share) -> Loss {
    Loss { per_day: per_day(monthly), sd: 0.0 }
}

/// What is stored, which says how much faster it ages when warm.
///
/// # Example
///
/// ```
/// use barm_quantity::{Span, Temperature};
/// use barm_zymology::storage::{Store, exposure};
/// let warm_week = |kind| exposure(kind, Temperature::celsius(20.0), Span::days(7.0));
/// assert!(warm_week(Store::Slurry) > warm_week(Store::Dry));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Store {
    /// A liquid pack: as slurry (judgement).
    Pack,
    /// Slurry under beer: 75.4 kJ/mol, about threefold for 10 K.
    ///
    /// **Source:** McCaig & Bendiak 1985, least squares.
    Slurry,
    /// Sealed dry yeast: 62.1 kJ/mol.
    ///
    /// **Source:** Cone's two figures.
    Dry,
}

impl Store {
    /// J/mol.
    const fn activation_energy(self) -> f64 {
        match self {
            Self::Pack | Self::Slurry => 75_400.0,
            Self::Dry => 62_100.0,
        }
    }
}

/// In glycerol, and so cold or colder, yeast keeps for as long as anybody asks; warmer, it dies within several years, °C.
///
/// **Source:** Sherman 2002, Methods in Enzymology 350, 3–41: indefinitely at −60 °C or lower, several years above −55 °C.
/// **Evidence:** published.
///
/// # Example
///
/// ```
/// use barm_quantity::{Span, Temperature};
/// use barm_zymology::storage::{DEEP_FROZEN, Store, exposure};
/// let year = |kept| exposure(Store::Pack, Temperature::celsius(kept), Span::days(365.0));
/// assert!(year(DEEP_FROZEN.as_celsius()) < 0.05 * year(-20.0));
/// ```
pub const DEEP_FROZEN: Temperature = Temperature::celsius(-55.0);

/// Days at 4 °C that age yeast as much as this spell does; spells add up.
///
/// Founded on 1–25 °C; outside −5…45 °C the nearer end is taken, and at [`DEEP_FROZEN`] or colder a hundredth of the rate at
/// 4 °C (judgement: a pack then loses some 3 % a year). A negative span counts as none.
///
/// **Source:** Arrhenius's rule; energies at [`Store`]. **Evidence:** derived.
///
/// # Example
///
/// ```
/// use barm_quantity::{Span, Temperature};
/// use barm_zymology::storage::{Store, exposure};
/// let fridge = exposure(Store::Slurry, Temperature::celsius(4.0), Span::days(14.0));
/// let bench = exposure(Store::Slurry, Temperature::celsius(20.0), Span::days(2.0));
/// assert!((fridge - 14.0).abs() < 1e-9 && bench > 10.0);
/// ```
#[must_use]
pub fn exposure(kind: Store, temperature: Temperature, time: Span) -> f64 {
    const GAS: f64 = 8.314_462_618;
    const REFERENCE: f64 = 277.15;
    const DEEP: f64 = 0.01;
    let kelvin = Temperature::celsius(temperature.as_celsius().clamp(-5.0, 45.0)).as_absolute();
    let faster = match temperature <= DEEP_FROZEN {
        true => DEEP,
        false => (kind.activation_energy() / GAS * (1.0 / REFERENCE - 1.0 / kelvin)).exp(),
    };
    (faster * time.as_days().max(0.0)).min(f64::MAX)
}

/// Live share left after so many equivalent days at 4 °C, of what was alive before; one factor of `lot`:
/// "storage".
///
/// At most 1. Negative exposure counts as none. Exponential decay and straight-line rules agree within four
/// percentage points for 45 days; later this is kinder and never reaches zero, as year-old packs that were
/// revived show.
///
/// **Source and evidence:** those of the [`Loss`].
///
/// # Example
///
/// ```
/// use barm_zymology::storage::{SLURRY, left};
/// let four_weeks = left(SLURRY, 28.0, "jar-1");
/// assert!((four_weeks.median() - 0.571).abs() < 0.001);
/// assert!(four_weeks.low() < 0.40 && four_weeks.high() > 0.80);
/// ```
#[must_use]
pub fn left(loss: Loss, exposure_days: f64, lot: &str) -> Estimate {
    Estimate::exact(1.0)
        .decayed(loss.per_day, loss.sd, exposure_days, FactorName::new("storage", lot))
        .capped(1.0)
}

/// Yeast in beer that is colder than this lies in ice, and no rule says how much of it outlives that; glycerol protects what
/// is kept frozen.
///
/// Beer of 5 % by volume freezes at about −2.5 °C.
///
/// **Evidence:** common practice.
///
/// # Example
///
/// ```
/// assert!(barm_zymology::storage::ICE.as_celsius() < 0.0);
/// ```
pub const ICE: Temperature = Temperature::celsius(-2.5);

/// Slurry whose pH rises above this has yeast dying in it.
///
/// Beer ends its fermentation between 4.1 and 4.4; yeast that dies lets go of what makes the slurry less acid, from the
/// third day at 4 °C on.
///
/// **Source:** Kallmeyer 2004, a brewer's review of what is known of slurry pH. **Evidence:** published, from second hand.
///
/// # Example
///
/// ```
/// let ends = 4.1..=barm_zymology::storage::DYING_ABOVE;
/// assert!(ends.contains(&4.3) && !ends.contains(&4.9));
/// ```
pub const DYING_ABOVE: f64 = 4.4;

/// The warmest that yeast and acid may be while it is washed; above that the acid costs yeast as well.
///
/// **Source:** Simpson & Hammond 1989, J. Inst. Brew. 95, 347–354. **Evidence:** published.
///
/// # Example
///
/// ```
/// assert_eq!(barm_zymology::storage::WASHED_AT.as_celsius(), 5.0);
/// ```
pub const WASHED_AT: Temperature = Temperature::celsius(5.0);

/// The most acid wash that healthy yeast takes, as pH.
///
/// **Source:** Simpson & Hammond 1989: phosphoric acid at 2.1, sulphuric at 2.0. **Evidence:** published.
///
/// # Example
///
/// ```
/// assert!(barm_zymology::storage::WASHED_IN < 2.1);
/// ```
pub const WASHED_IN: f64 = 2.0;

/// How long yeast stays in acid.
///
/// **Source:** *The Oxford Companion to Beer*, 2012, "acid washing". **Evidence:** published.
///
/// # Example
///
/// ```
/// assert_eq!(barm_zymology::storage::WASHED_FOR.as_minutes(), 120.0);
/// ```
pub const WASHED_FOR: Span = Span::hours(2.0);

/// Yeast that was washed with acid is pitched at once: not after so long.
///
/// **Source:** Simpson & Hammond 1989, who pitched it so; the day is a judgement. **Evidence:** derived.
///
/// # Example
///
/// ```
/// use barm_zymology::storage::{WASHED_FOR, WASHED_KEEPS};
/// assert!(WASHED_KEEPS > WASHED_FOR);
/// ```
pub const WASHED_KEEPS: Span = Span::hours(24.0);

/// Yeast out of a beer with more alcohol than this is not healthy enough to be washed.
///
/// **Source:** Simpson & Hammond, who want healthy yeast; the figure from memory. **Evidence:** from memory.
///
/// # Example
///
/// ```
/// assert_eq!(barm_zymology::storage::WASHED_OUT_OF.as_percent(), 8.0);
/// ```
pub const WASHED_OUT_OF: Share = Share::percent(8.0);

/// Cells that an acid wash leaves alive, as a share; one factor of `lot`: "acid wash".
///
/// 0.95, 0.8 to 1: a careful wash of healthy yeast costs little. Acid kills bacteria, not wild yeast. Acids burn: goggles and
/// gloves, acid into water, and the maker's instructions.
///
/// **Source:** Simpson & Hammond 1989, J. Inst. Brew. 95, 347–354: sixteen strains washed at pH 2.0 to 2.1 lived as before; what
/// less careful hands lose is a judgement. **Evidence:** derived.
///
/// # Example
///
/// ```
/// let left = barm_zymology::storage::acid_washed("jar-1");
/// assert!(left.median() == 0.95 && left.low() > 0.8 && left.high() <= 1.0);
/// ```
#[must_use]
pub fn acid_washed(lot: &str) -> Estimate {
    Estimate::band(0.8, 0.95, 1.0, FactorName::new("acid wash", lot)).capped(1.0)
}

/// Cells that a wash with water keeps, as a share; one factor of `lot`: "washing".
///
/// 0.85, 0.6 to 1: some yeast goes with the trub.
///
/// **Source:** none that gives a figure. **Evidence:** derived (judgement).
///
/// # Example
///
/// ```
/// let kept = barm_zymology::storage::water_washed("jar-1");
/// assert!(kept.median() == 0.85 && kept.high() <= 1.0);
/// ```
#[must_use]
pub fn water_washed(lot: &str) -> Estimate {
    Estimate::band(0.6, 0.85, 1.0, FactorName::new("washing", lot)).capped(1.0)
}

/// Age of yeast of which no date is known, give or take as much.
///
/// **Evidence:** derived (judgement): from fresh to two months, which is what stands in refrigerators.
///
/// # Example
///
/// ```
/// use barm_zymology::storage::{PACK_MONTHLY, UNKNOWN_AGE, left, pack_loss};
/// assert!(left(pack_loss(PACK_MONTHLY), UNKNOWN_AGE.as_days(), "pack-1").median() < 0.81);
/// ```
pub const UNKNOWN_AGE: Span = Span::days(30.0);

/// How long before its best-before date a pack was made, and give or take.
///
/// **Evidence:** common practice: liquid yeast is given about six months; makers differ by two months either way.
///
/// # Example
///
/// ```
/// let (made, either_way) = barm_zymology::storage::BEFORE_BEST_BEFORE;
/// assert_eq!((made.as_days(), either_way.as_days()), (182.0, 60.0));
/// ```
pub const BEFORE_BEST_BEFORE: (Span, Span) = (Span::days(182.0), Span::days(60.0));

/// The same of dry yeast.
///
/// **Evidence:** common practice: sachets are given two years and more; half a year either way.
///
/// # Example
///
/// ```
/// let (made, either_way) = barm_zymology::storage::DRY_BEFORE_BEST_BEFORE;
/// assert_eq!((made.as_days(), either_way.as_days()), (730.0, 180.0));
/// ```
pub const DRY_BEFORE_BEST_BEFORE: (Span, Span) = (Span::days(730.0), Span::days(180.0));

/// Above this slurry is kept warm: it belongs in the refrigerator.
///
/// **Evidence:** common practice.
///
/// # Example
///
/// ```
/// use barm_quantity::Span;
/// use barm_zymology::storage::{Store, WARM, exposure};
/// // A day there is nearly two days at 4 °C.
/// assert!(exposure(Store::Slurry, WARM, Span::days(1.0)) > 1.9);
/// ```
pub const WARM: Temperature = Temperature::celsius(10.0);

/// Slurry and cakes are followed for so long; the counts behind [`SLURRY`] say nothing of later.
///
/// **Evidence:** derived (judgement).
///
/// # Example
///
/// ```
/// assert_eq!(barm_zymology::storage::FOLLOWED.as_days(), 56.0);
/// ```
pub const FOLLOWED: Span = Span::days(56.0);
