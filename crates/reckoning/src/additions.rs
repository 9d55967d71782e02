//! What may be added to wort or beer, and the extract that it brings.

use barm_quantity::{Dimension, Gravity, Mass, Measure, Unit, Volume};
use barm_syntax::ast::{Add, AmountKind};
use barm_zymology::carbonation::Sugar;
use barm_zymology::gravity;

use crate::wort;

/// What a word of `add` or `with` stands for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Addition {
    /// A known fermentable.
    Sugar(Sugar),
    /// Water.
    Water,
    /// Wort, of a gravity that the line states.
    Wort,
    /// Juice, must and the like, of a gravity that the line states: sugar in water.
    Juice,
    /// Anything else: hops, oak, finings, fruit. Adds no extract that could be reckoned.
    Other,
}

impl Addition {
    /// Reads what stands after the amount.
    #[must_use]
    pub fn read(what: &str) -> Self {
        if let Some(sugar) = Sugar::read(what) {
            return Self::Sugar(sugar);
        }
        let last = what.rsplit(' ').next().unwrap_or(what);
        if ["water", "liquor"].iter().any(|w| last.eq_ignore_ascii_case(w)) {
            Self::Water
        } else if last.eq_ignore_ascii_case("wort") {
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
        let is_poured =
            measured(amount, Volume::litres(1.0)).is_some_and(|m| m.dimension() == Dimension::Volume);
        match Self::read(what) {
            Self::Other if is_poured && gravity.is_some() && is_fruit(what) => Self::Juice,
            read => read,
        }
    }
}

/// Whether it is fruit of which nobody knows what extract it brings.
pub(crate) fn is_unknown(add: &Add) -> bool {
    Addition::of(add) != Addition::Juice && is_fruit(&add.what.text)
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
    let Some(amount) = measured(add.amount.kind, of) else { return none };
    let sugar = match (Addition::of(add), wort::added_gravity(add)) {
        (Addition::Sugar(sugar), _) => sugar,
        (Addition::Juice, Some(gravity)) => {
            let extract = gravity::extract(gravity::plato(gravity)) * Volume::litres(amount.base());
            return (extract, Mass::default());
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

/// Whether a name has one of some words in it.
pub(crate) fn any_word_of(name: &str, words: &[&str]) -> bool {
    name.split([' ', '-']).any(|part| words.iter().any(|word| part.eq_ignore_ascii_case(word)))
}

/// Fruit and juice bring extract that nobody can know from the line.
#[must_use]
pub fn is_fruit(what: &str) -> bool {
    const WORDS: &[&str] = &[
        "fruit",
        "juice",
        "puree",
        "purée",
        "cherries",
        "cherry",
        "raspberries",
        "raspberry",
        "strawberries",
        "apples",
        "apple",
        "peaches",
        "peach",
        "apricots",
        "apricot",
        "plums",
        "grapes",
        "grape",
        "must",
        "berries",
        "mango",
        "blackberries",
        "blueberries",
        "currants",
        "pumpkin",
    ];
    any_word_of(what, WORDS)
}

/// What is put into a keg or bottle for something else than its gas.
pub(crate) fn gives_no_gas(what: &str) -> bool {
    const WORDS: &[&str] = &[
        "acid",
        "chips",
        "coffee",
        "extract",
        "finings",
        "flavour",
        "gelatin",
        "gelatine",
        "hop",
        "hops",
        "isinglass",
        "lactose",
        "nutrient",
        "oak",
        "pepper",
        "salt",
        "sorbate",
        "spice",
        "spices",
        "vanilla",
        "yeast",
        "zest",
        "peel",
    ];
    // Whatever it tastes of.
    const SWEET: &[&str] = &["candy", "cordial", "honey", "juice", "liqueur", "sugar", "syrup"];
    any_word_of(what, WORDS) && !any_word_of(what, SWEET)
}

/// The known fermentable that a word nearly is: one letter or two from it, long enough to tell.
#[must_use]
pub(crate) fn nearly_a_sugar(what: &str) -> Option<&'static str> {
    let wanted = what.to_lowercase();
    let length = wanted.chars().count();
    if Addition::read(what) != Addition::Other || length < 4 || KNOWN_OTHER.contains(&wanted.as_str()) {
        return None;
    }
    Sugar::ALL
        .iter()
        .flat_map(|sugar| sugar.words())
        .filter(|word| word.chars().count().abs_diff(length) <= 2 && word.chars().count() >= 4)
        .map(|word| (strsim::damerau_levenshtein(&wanted, word), *word))
        .filter(|(distance, word)| *distance <= if word.len() >= 6 { 2 } else { 1 })
        .min()
        .map(|(_, word)| word)
}

/// Things that brewers add whose names happen to lie near a fermentable's.
const KNOWN_OTHER: &[&str] =
    &["money", "lacto", "yeast", "salt", "hops", "oats", "maize", "malt", "candles", "honeybush"];
