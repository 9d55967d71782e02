//! What may be added to wort or beer, and the extract that it brings.

use barm_quantity::{Dimension, Gravity, Mass, Measure, Share, Unit, Volume};
use barm_syntax::ast::{Add, AmountKind};
use barm_zymology::carbonation::{POURED_ERROR, Sugar};
use barm_zymology::fermentation::JUICE_LEAVES;
use barm_zymology::gravity;

use crate::wort;

mod called;

pub use called::is_fruit;
pub(crate) use called::{
    any_word_of, frees_dextrins, gives_no_gas, holds_yeast_back, is_live_yeast, lives, may_go_on,
};

/// What a word of `add` or `with` stands for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Addition {
    /// A known fermentable.
    Sugar(Sugar),
    /// Water.
    Water,
    /// Wort, of a gravity that the line states.
    Wort,
    /// Juice, must, syrup and the like, of a gravity that the line states: sugar in water.
    Juice,
    /// Anything else: hops, oak, finings, fruit. Adds no extract that could be reckoned.
    Other,
}

impl Addition {
    /// Reads what stands after the amount.
    #[must_use]
    pub fn read(what: &str) -> Self {
        let what = called::without_what_it_is_in(what);
        if let Some(sugar) = called::sugar(what) {
            Self::Sugar(sugar)
        } else if called::is_water(what) {
            Self::Water
        } else if called::is_wort(what) {
            Self::Wort
        } else {
            Self::Other
        }
    }

    /// What a line adds: what is poured in and has a gravity is known by that.
    pub(crate) fn of(add: &Add) -> Self {
        Self::known(&add.what.text, add.amount.kind, wort::added_gravity(add))
    }

    pub(crate) fn known(what: &str, amount: AmountKind, gravity: Option<Gravity>) -> Self {
        match Self::read(what) {
            read if !is_poured(amount) || gravity.is_none() => read,
            Self::Sugar(Sugar::DryMaltExtract | Sugar::LiquidMaltExtract) => Self::Wort,
            Self::Sugar(sugar) if sugar.carbon_dioxide_share() > 0.0 => Self::Juice,
            Self::Other if called::is_of_fruit(what) || called::is_syrup(what) => Self::Juice,
            read => read,
        }
    }

    /// How much of it an amount is, to so much wort or beer: water may be weighed, a kilogram to the litre, and honey poured;
    /// more sugar than there is room for was meant in grams.
    pub(crate) fn measured(self, amount: AmountKind, of: Volume) -> Option<Measure> {
        let measure = measured(amount, of)?;
        Some(match self {
            Self::Water if measure.dimension() == Dimension::Mass => {
                Measure::new(measure.base() / 1000.0, Unit::Litre)
            }
            Self::Sugar(sugar) if measure.dimension() == Dimension::Volume => {
                sugar.density().map_or(measure, |density| {
                    Measure::new(measure.base() * density.as_kilograms_per_cubic_metre(), Unit::Gram)
                })
            }
            Self::Sugar(_) => meant_sugar(amount, of).unwrap_or(measure),
            _ => measure,
        })
    }
}

/// What the gas of so much sugar may be out by, as a part of it.
pub(crate) fn gas_error(sugar: Sugar, amount: AmountKind) -> Share {
    if is_poured(amount) { POURED_ERROR } else { sugar.error() }
}

fn is_poured(amount: AmountKind) -> bool {
    measured(amount, Volume::litres(1.0)).is_some_and(|measure| measure.dimension() == Dimension::Volume)
}

/// More sugar in each litre, g, no wort or beer has room for (judgement).
const SOLUBLE_GRAMS: f64 = 1000.0;

/// So many milligrams of sugar for each litre are none that anybody weighs, and as many grams are what one gives (judgement).
const MILLIGRAMS: std::ops::Range<f64> = 1.0..100.0;

/// Kilograms of sugar that were grams, or milligrams that were.
pub(crate) fn meant_sugar(amount: AmountKind, of: Volume) -> Option<Measure> {
    let AmountKind::Measured(written) = amount else { return None };
    let grams_a_litre = written.base() / of.as_litres().max(0.001);
    let slip = match written.unit {
        Unit::Kilogram => grams_a_litre > SOLUBLE_GRAMS,
        Unit::Milligram => MILLIGRAMS.contains(&(grams_a_litre * 1000.0)),
        _ => false,
    };
    slip.then_some(Measure { unit: Unit::Gram, ..written })
}

/// Whether it is fruit of which nobody knows what extract it brings.
pub(crate) fn is_unknown(add: &Add) -> bool {
    Addition::of(add) == Addition::Other && is_fruit(&add.what.text)
}

/// Whether so much beer is given something that may ferment, and of which nobody can say how much: by a name that is nearly that of
/// a sugar, or by how much of it there is.
pub(crate) fn may_ferment(add: &Add, beer: Volume) -> bool {
    let what = &*add.what.text;
    if Addition::of(add) != Addition::Other || are_hops(add) || beer.as_litres() <= 0.0 {
        return false;
    }
    let amount = measured(add.amount.kind, beer).map_or(0.0, |amount| match amount.dimension() {
        Dimension::Mass => amount.base(),
        Dimension::Volume => amount.base() * 1000.0,
        _ => 0.0,
    });
    nearly_a_sugar(what).is_some()
        || called::matters_from(what).is_some_and(|least| amount / beer.as_litres() >= least)
}

/// Whether it is sugar, wort or juice that yeast ferments.
pub(crate) fn feeds(add: &Add) -> bool {
    match Addition::of(add) {
        Addition::Sugar(sugar) => sugar.carbon_dioxide_share() > 0.0,
        Addition::Wort | Addition::Juice => true,
        Addition::Water | Addition::Other => false,
    }
}

/// How much an amount of an addition is: a number of times and a dose of a volume worked out.
#[must_use]
pub(crate) fn measured(amount: AmountKind, of: Volume) -> Option<Measure> {
    match amount {
        AmountKind::Measured(dose) if dose.dimension() == Dimension::MassPerVolume => {
            Some(Measure::new(dose.base() * of.as_litres(), Unit::Gram))
        }
        AmountKind::Measured(measure) => Some(measure),
        AmountKind::Times(times, each) => Some(each.times(times)),
        AmountKind::Asked | AmountKind::All | AmountKind::Counted(..) | AmountKind::Share(_) => None,
    }
}

/// The extract of an addition that ferments wholly, and that yeast leaves; malt extract counts as malt.
pub(crate) fn sugar_of(add: &Add, of: Volume) -> (Mass, Mass) {
    let none = (Mass::default(), Mass::default());
    let what = Addition::of(add);
    let Some(amount) = what.measured(add.amount.kind, of) else { return none };
    let sugar = match (what, wort::added_gravity(add)) {
        (Addition::Sugar(sugar), _) => sugar,
        (Addition::Juice, Some(gravity)) => {
            let extract = gravity::extract(gravity::plato(gravity)) * Volume::litres(amount.base());
            // Of sugar in water nothing is left.
            let is_fruit = called::is_of_fruit(&add.what.text);
            let left = if is_fruit { extract * JUICE_LEAVES.as_fraction() } else { Mass::default() };
            return (extract - left, left);
        }
        _ => return none,
    };
    let by_mass = amount.dimension() == Dimension::Mass;
    if !by_mass || matches!(sugar, Sugar::DryMaltExtract | Sugar::LiquidMaltExtract) {
        return none;
    }
    let extract = Mass::grams(amount.base() * sugar.extract_share());
    let ferments = extract * sugar.fermentable_share();
    (ferments, extract - ferments)
}

/// Whether something is added for the bitterness that it brings.
pub(crate) fn bitters(add: &Add) -> bool {
    add.wanted.is_some_and(|wanted| wanted.measure.dimension() == Dimension::Bitterness)
}

/// Whether it is wort that was kept for this, and no beer that works already; what has no gravity may be a lot of that name.
pub(crate) fn is_kept_wort(what: &str, has_gravity: bool) -> bool {
    let is_wort = Addition::read(what) == Addition::Wort && !called::is_krausen(what);
    is_wort && (has_gravity || any_word_of(what, &["wort"]))
}

/// Whether they are hops: their alpha acid is stated, or what they are to bitter.
pub(crate) fn are_hops(add: &Add) -> bool {
    bitters(add) || add.at.is_some_and(|at| at.measure.dimension() == Dimension::Share)
}

/// The known sugar that a word nearly is: one letter or two from it, long enough to tell. One that yeast leaves is offered
/// only where a single letter is wrong and nothing that ferments is as near.
#[must_use]
pub(crate) fn nearly_a_sugar(what: &str) -> Option<&'static str> {
    let wanted = what.to_lowercase();
    let length = wanted.chars().count();
    if Addition::read(what) != Addition::Other || length < 4 || KNOWN_OTHER.contains(&wanted.as_str()) {
        return None;
    }
    Sugar::ALL
        .iter()
        .flat_map(|sugar| sugar.words().iter().map(|word| (sugar.carbon_dioxide_share() <= 0.0, *word)))
        .filter(|(_, word)| word.chars().count().abs_diff(length) <= 2 && word.chars().count() >= 4)
        .map(|(is_left, word)| (strsim::damerau_levenshtein(&wanted, word), is_left, word))
        .filter(|(distance, is_left, word)| *distance <= if word.len() >= 6 && !is_left { 2 } else { 1 })
        .min()
        .map(|(.., word)| word)
}

/// Things that brewers add whose names happen to lie near a fermentable's.
const KNOWN_OTHER: &[&str] = &[
    "money",
    "lactase",
    "lacto",
    "yeast",
    "salt",
    "hops",
    "oats",
    "maize",
    "malt",
    "malts",
    "candles",
    "honeybush",
];
