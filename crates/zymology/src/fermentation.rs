//! How a fermentation usually goes, and by what it is known to have ended.
//!
//! Nothing here is measured: these are the trade's rules of thumb and judgements, kept in one place so that every figure
//! and every rule takes the same. How fast a fermentation runs is told by [`Course`](crate::heat::Course).

use barm_quantity::{GravityDifference, Share, Span, Temperature};

/// Apparent attenuation of yeast of which nobody says how far it goes: low, best, high.
///
/// 70 to 80 %, 75 in the middle. Where too much gas is the danger the high end is taken.
///
/// **Evidence:** common practice.
///
/// # Example
///
/// ```
/// use barm_quantity::Gravity;
/// use barm_zymology::{alcohol, fermentation};
/// let end = alcohol::present_gravity(Gravity::specific(1.048), fermentation::ATTENUATES[1]);
/// assert!((end.as_specific() - 1.0117).abs() < 0.0001);
/// ```
pub const ATTENUATES: [Share; 3] = [Share::percent(70.0), Share::percent(75.0), Share::percent(80.0)];

/// Apparent attenuation of yeast that eats what brewing yeast leaves, wild or diastatic, of which nobody says how far it
/// goes: low, high.
///
/// 85 to 100 %: dextrins go too, and with them the last of the gravity.
///
/// **Evidence:** common practice.
///
/// # Example
///
/// ```
/// use barm_quantity::Gravity;
/// use barm_zymology::{alcohol, fermentation};
/// let [least, most] = fermentation::ATTENUATES_FURTHER;
/// assert!(least > fermentation::ATTENUATES[2]);
/// assert_eq!(alcohol::present_gravity(Gravity::specific(1.048), most).as_specific(), 1.0);
/// ```
pub const ATTENUATES_FURTHER: [Share; 2] = [Share::percent(85.0), Share::percent(100.0)];

/// The part of a fruit juice's extract that yeast leaves: acids, sorbitol, pectin and the like.
///
/// 15 %: the low end of 18 to 29 g/L in apple juice of about 117 g/L, where too much gas is the danger.
///
/// **Evidence:** from memory: the fruit juice trade's reference ranges for sugar-free extract.
///
/// # Example
///
/// ```
/// use barm_zymology::{fermentation, gravity};
/// use barm_quantity::Gravity;
/// let extract = gravity::extract(gravity::plato(Gravity::specific(1.048))).as_grams_per_litre();
/// let left = extract * fermentation::JUICE_LEAVES.as_fraction();
/// assert!((18.0..20.0).contains(&left), "{left} g/L");
/// ```
pub const JUICE_LEAVES: Share = Share::percent(15.0);

/// Temperature of a wort, a starter or a beer of which none is on record.
///
/// **Evidence:** common practice: a room, and where ordinary ale works.
///
/// # Example
///
/// ```
/// assert_eq!(barm_zymology::fermentation::UNREAD.as_celsius(), 20.0);
/// ```
pub const UNREAD: Temperature = Temperature::celsius(20.0);

/// The first part of a fermentation, in which most of its flavour is made; counted from the pitch.
///
/// **Evidence:** common practice; esters and higher alcohols follow growth, which is over by then.
///
/// # Example
///
/// ```
/// assert_eq!(barm_zymology::fermentation::EARLY.as_days(), 3.0);
/// ```
pub const EARLY: Span = Span::hours(72.0);

/// Wort that nobody pitched is still wort for so long after it was made, where nothing shows that it works.
///
/// **Evidence:** derived (judgement): what falls into it by itself needs longer to show.
///
/// # Example
///
/// ```
/// use barm_zymology::{fermentation, heat};
/// assert!(heat::Course::ALE.done(fermentation::UNTOUCHED).as_percent() < 20.0);
/// ```
pub const UNTOUCHED: Span = Span::hours(24.0);

/// Two gravities that lie no further apart are the same gravity.
///
/// **Evidence:** derived: two readings of a hydrometer that is good to ±0.001.
///
/// # Example
///
/// ```
/// use barm_quantity::Gravity;
/// let apart = Gravity::specific(1.012) - Gravity::specific(1.011);
/// assert!(apart < barm_zymology::fermentation::SAME);
/// ```
pub const SAME: GravityDifference = GravityDifference::specific(0.002);

/// A gravity that fell by no more than this stands still, where the one after the other is asked whether it is done.
///
/// **Evidence:** common practice: both readings show the same, to the point that a hydrometer is read to.
///
/// # Example
///
/// ```
/// use barm_zymology::fermentation;
/// assert!(fermentation::STILL < fermentation::SAME);
/// ```
pub const STILL: GravityDifference = GravityDifference::specific(0.001);

/// Gravities that are the [`SAME`] over so long show that nothing ferments any more.
///
/// **Evidence:** common practice: two readings, two days apart; who reads on the second day somewhat earlier waited as long
/// (judgement).
///
/// # Example
///
/// ```
/// assert_eq!(barm_zymology::fermentation::STANDS.as_hours(), 44.0);
/// ```
pub const STANDS: Span = Span::hours(44.0);

/// A beer has worked out so long after its pitch, where no reading says when.
///
/// **Evidence:** derived (judgement): six times as long as an ale takes for the first half, and near three times for a lager.
///
/// # Example
///
/// ```
/// use barm_zymology::{fermentation, heat};
/// assert!(heat::Course::LAGER.done(fermentation::WORKED_OUT).as_percent() > 99.0);
/// ```
pub const WORKED_OUT: Span = Span::days(10.0);

/// A sour or wild beer that stood still for so long is taken to be near its end: it works on for months, however slowly.
///
/// **Evidence:** common practice (a month between readings that agree).
///
/// # Example
///
/// ```
/// use barm_zymology::fermentation;
/// assert!(fermentation::RESTS > fermentation::WORKED_OUT);
/// ```
pub const RESTS: Span = Span::days(28.0);

/// A beer that stands still so far below the least that its yeast attenuates to is stuck, and not finished.
///
/// **Evidence:** derived (judgement): what two readings, the wort's and the beer's, may be out by.
///
/// # Example
///
/// ```
/// assert_eq!(barm_zymology::fermentation::STUCK.as_percent(), 5.0);
/// ```
pub const STUCK: Share = Share::percent(5.0);

/// Beer no warmer than this is chilled: that its gravity stands still there shows nothing.
///
/// **Evidence:** common practice: lagers ferment at 8 °C and above, and beer is crashed to 0 to 5 °C.
///
/// # Example
///
/// ```
/// assert_eq!(barm_zymology::fermentation::COLD.as_celsius(), 6.0);
/// ```
pub const COLD: Temperature = Temperature::celsius(6.0);

/// Chilled beer that is warmer than this works again, if anything is left.
///
/// **Evidence:** from memory, and a judgement: above what lagers usually ferment at, so that beer read on its way down is not taken for it.
///
/// # Example
///
/// ```
/// use barm_zymology::fermentation;
/// assert!(fermentation::WARM_AGAIN > fermentation::COLD);
/// ```
pub const WARM_AGAIN: Temperature = Temperature::celsius(12.0);

/// A lager this warm takes up its diacetyl again.
///
/// **Evidence:** derived (judgement): a rest is usually given at 18 to 20 °C; some is taken up from here on.
///
/// # Example
///
/// ```
/// use barm_quantity::Temperature;
/// assert!(Temperature::celsius(18.0) > barm_zymology::fermentation::REST);
/// ```
pub const REST: Temperature = Temperature::celsius(15.0);

/// How long the last gravity read still tells what is left to ferment: 3 d, 5 d for a lager, which is slower.
///
/// **Evidence:** derived (judgement).
///
/// # Example
///
/// ```
/// assert!(barm_zymology::fermentation::tells_for(true) > barm_zymology::fermentation::tells_for(false));
/// ```
#[must_use]
pub const fn tells_for(lager: bool) -> Span {
    if lager { Span::days(5.0) } else { Span::days(3.0) }
}
