//! What brewers call the things that they add.
//!
//! A name that has a word for something sweet in it is that, or nobody knows how much it brings; it is never nothing.

use barm_syntax::ast::Organism;
use barm_zymology::carbonation::Sugar;

/// The words of a name.
fn words(name: &str) -> impl DoubleEndedIterator<Item = &str> {
    name.split([' ', '-', '_']).filter(|word| !word.is_empty())
}

fn is_of(word: &str, known: &[&str]) -> bool {
    known.iter().any(|known| known.eq_ignore_ascii_case(word))
}

/// Whether a name has one of some words in it.
pub(crate) fn any_word_of(name: &str, known: &[&str]) -> bool {
    words(name).any(|word| is_of(word, known))
}

/// `sucrose in boiling water`, `sucrose to the bottling bucket`: what it is dissolved in, or goes into, was not weighed.
pub(super) fn without_what_it_is_in(name: &str) -> &str {
    let is_in = |(at, _): &(usize, &str)| {
        let next = name.get(at + 1..).and_then(|rest| rest.split(' ').next());
        *at > 0 && next.is_some_and(|word| is_of(word, &["in", "into", "to"]))
    };
    let at = name.match_indices(' ').find(is_in);
    at.and_then(|(at, _)| name.get(..at)).unwrap_or(name)
}

/// The sugar that a name means beyond doubt.
pub(super) fn sugar(name: &str) -> Option<Sugar> {
    if any_word_of(name, JOINTS) {
        return None;
    }
    Sugar::read(name)
        .or_else(|| malt_extract(name))
        .or_else(|| described(name))
        .or_else(|| of_some_kind(name))
}

/// `light dry malt extract`, `dry extract`, `malt extract powder`
fn malt_extract(name: &str) -> Option<Sugar> {
    let is_dry = any_word_of(name, DRY);
    let mut all = words(name).filter(|word| !is_of(word, DRY));
    if !is_of(all.next_back()?, &["extract", "extracts"]) {
        return None;
    }
    let mut is_malt = is_dry;
    for word in all {
        let says_malt = is_of(word, MALT);
        if !says_malt && !is_of(word, HOW) {
            return None;
        }
        is_malt |= says_malt || is_of(word, COLOURS);
    }
    is_malt.then_some(if is_dry { Sugar::DryMaltExtract } else { Sugar::LiquidMaltExtract })
}

/// `sugar cubes`, `boiled dextrose`: a sugar, and words that change nothing of how much it brings.
fn described(name: &str) -> Option<Sugar> {
    let mut plain = words(name).filter(|word| !is_of(word, HOW));
    let first = plain.next()?;
    match plain.next() {
        None => Sugar::read(first),
        Some(second) if plain.next().is_none() => Sugar::read(&format!("{first} {second}")),
        Some(_) => None,
    }
}

/// `heather honey`: something that ferments, of some kind. What else in its name is sweet makes it doubtful.
fn of_some_kind(name: &str) -> Option<Sugar> {
    let spaces = name.match_indices([' ', '-', '_']);
    let is_plain = |(at, _): &(usize, &str)| name.get(..*at).is_some_and(|kind| !is_sweet(kind));
    let mut sugars =
        spaces.filter(is_plain).filter_map(|(at, space)| Sugar::read(name.get(at + space.len()..)?));
    sugars.find(|sugar| sugar.carbon_dioxide_share() > 0.0)
}

/// Whether something is water and nothing else.
pub(super) fn is_water(name: &str) -> bool {
    let mut all = words(name);
    all.next_back().is_some_and(|last| is_of(last, &["water", "liquor", "ice"]))
        && all.all(|word| is_of(word, OF_WATER))
}

/// Wort, or beer of the same brewing that is young still: `first runnings`, `speise`, `gyle`, `krausen`.
pub(super) fn is_wort(name: &str) -> bool {
    words(name).next_back().is_some_and(|last| is_of(last, &["wort", "runnings", "speise", "gyle"]))
        || is_krausen(name)
}

/// Beer that works already: it is not kept.
pub(super) fn is_krausen(name: &str) -> bool {
    words(name).next_back().is_some_and(|last| is_of(last, &["krausen", "kraeusen", "kräusen"]))
}

/// Sugar in water, so strong as its gravity says.
pub(super) fn is_syrup(name: &str) -> bool {
    let last = words(name).next_back().unwrap_or(name);
    is_sweet(name) || is_of(last, &["solution"])
}

/// Whether a name has a word for something sweet in it.
pub(super) fn is_sweet(name: &str) -> bool {
    any_word_of(name, SWEET)
}

/// Fruit and juice bring extract that nobody can know from the line.
#[must_use]
pub fn is_fruit(what: &str) -> bool {
    is_of_fruit(what) && !is_yeast(what) && !any_word_of(what, NO_FLESH) && !any_word_of(what, FLAVOURINGS)
}

/// Whether a name has a fruit in it: where a gravity is written, that says how much it brings.
pub(super) fn is_of_fruit(what: &str) -> bool {
    let is_berry = |word: &str| {
        let word = word.to_lowercase();
        ["berry", "berries", "berrys"].iter().any(|berry| word.ends_with(berry))
    };
    any_word_of(what, FRUIT) || words(what).any(is_berry)
}

/// So much of something in each litre may be sugar enough to matter, g or mL, by what it is called: of what is sweet next to
/// nothing, of what may have sugar in it a little, and of what nobody knows more than of any hops or spice (judgements).
pub(super) fn matters_from(what: &str) -> Option<f64> {
    if gives_no_gas(what) {
        None
    } else if is_sweet(what) {
        Some(0.4)
    } else if any_word_of(what, DRINKS) || any_word_of(what, SWEETS) {
        Some(3.0)
    } else {
        Some(20.0)
    }
}

/// Whether it is an enzyme that frees dextrins for the yeast.
pub(crate) fn frees_dextrins(what: &str) -> bool {
    let is_enzyme = any_word_of(what, &["enzyme", "enzymes"]) && !any_word_of(what, CLEARS);
    is_enzyme || any_word_of(what, FREES)
}

/// Whether it holds yeast back, as cider and mead are given it before they are sweetened.
pub(crate) fn holds_yeast_back(what: &str) -> bool {
    any_word_of(what, STABILISERS)
}

/// What lives in something by its name alone, and goes on where brewing yeast ends: `5 g brettanomyces`, `brett-soaked oak`.
pub(crate) fn lives(what: &str) -> Option<Organism> {
    if lives_not(what) {
        None
    } else if any_word_of(what, WILD) || has_both(what, WILD_TOGETHER) {
        Some(Organism::Wild)
    } else {
        let are_bacteria = any_word_of(what, BACTERIA) || has_both(what, BACTERIA_TOGETHER);
        are_bacteria.then_some(Organism::Bacteria)
    }
}

fn lives_not(what: &str) -> bool {
    any_word_of(what, LIVES_NOT) || any_word_of(what, DEAD) || has_both(what, LIVES_NOT_TOGETHER)
}

/// Whether yeast lives in it that may go on where brewing yeast ends, and may not: `saison yeast` is often diastatic (common
/// practice), and of `bottle dregs` nobody knows what they are.
pub(crate) fn may_go_on(what: &str) -> bool {
    let is_doubtful = any_word_of(what, &["dregs"]) || has_both(what, OFTEN_DIASTATIC);
    is_doubtful && lives(what).is_none() && !lives_not(what)
}

/// Whether it is yeast that lives by its name alone, and of which nothing more is known: `wine yeast`.
pub(crate) fn is_live_yeast(name: &str) -> bool {
    is_yeast(name) && !any_word_of(name, DEAD)
}

/// What is put into a beer, keg or bottle for something else than its gas.
pub(crate) fn gives_no_gas(what: &str) -> bool {
    // Extract of what it says; of malt there is more to say than that.
    let is_extract = || words(what).count() > 1 && any_word_of(what, &["extract", "essence", "tincture"]);
    let only_tastes = any_word_of(what, HARMLESS) || any_word_of(what, FLAVOURINGS);
    let is_drink = || any_word_of(what, DRINKS) || has_both(what, DRINKS_TOGETHER);
    if is_yeast(what) || lives(what).is_some() && !is_drink() {
        return !is_sweet(what);
    }
    let is_harmless = only_tastes || has_both(what, HARMLESS_TOGETHER) || is_extract();
    is_harmless && !is_sweet(what) && !is_drink()
}

/// `cider yeast`, `ale yeast`: what it ferments is not in it.
fn is_yeast(name: &str) -> bool {
    words(name).next_back().is_some_and(|last| is_of(last, &["yeast", "yeasts"]))
}

/// Whether a name has both words of a pair in it.
fn has_both(name: &str, pairs: &[[&str; 2]]) -> bool {
    pairs.iter().any(|pair| pair.iter().all(|word| any_word_of(name, &[word])))
}

/// What joins two things in one name, or says that an amount is of something else than what is named.
const JOINTS: &[&str] = &["and", "&", "or", "plus", "with", "each", "per", "a", "free", "substitute", "no"];

/// Enzymes that free dextrins.
const FREES: &[&str] = &[
    "amylase",
    "amylo",
    "amyloglucosidase",
    "diastase",
    "dextrinase",
    "glucoamylase",
    "glucosidase",
    "pullulanase",
];

const STABILISERS: &[&str] = &[
    "benzoate",
    "bisulfite",
    "bisulphite",
    "campden",
    "metabisulfite",
    "metabisulphite",
    "sorbate",
    "stabiliser",
    "stabilizer",
    "sulfite",
    "sulphite",
];

/// What wild yeast is called, and what eats dextrins as that does. In some drinks yeast and bacteria live together.
const WILD: &[&str] = &[
    "brett",
    "brettanomyces",
    "bugs",
    "dekkera",
    "diastaticus",
    "geuze",
    "gueuze",
    "kefir",
    "kombucha",
    "lambic",
    "scoby",
];
/// What is given to yeast, or has none.
const LIVES_NOT: &[&str] = &["food", "free", "nutrient", "nutrients"];
/// What was alive.
const DEAD: &[&str] = &["boiled", "dead", "killed", "inactive", "autolysed", "pasteurised", "pasteurized"];
/// Leaves of the tree, and what is put in for its taste.
const LIVES_NOT_TOGETHER: &[[&str; 2]] = &[["kefir", "lime"], ["lacto", "fermented"]];
const WILD_TOGETHER: &[[&str; 2]] = &[
    ["wild", "yeast"],
    ["diastatic", "yeast"],
    ["ginger", "bug"],
    ["sour", "ale"],
    ["sour", "beer"],
    ["sour", "blend"],
    ["wild", "ale"],
    ["wild", "beer"],
    ["wild", "blend"],
    ["wild", "culture"],
    ["mixed", "culture"],
    ["sour", "culture"],
    ["sour", "dregs"],
    ["wild", "dregs"],
];
const OFTEN_DIASTATIC: &[[&str; 2]] = &[
    ["saison", "yeast"],
    ["saison", "blend"],
    ["saison", "culture"],
    ["farmhouse", "yeast"],
    ["farmhouse", "blend"],
    ["farmhouse", "culture"],
];
const BACTERIA: &[&str] = &["bacteria", "lacto", "lactobacillus", "lactobacilli", "pedio", "pediococcus"];
const BACTERIA_TOGETHER: &[[&str; 2]] = &[["souring", "blend"], ["souring", "culture"]];

/// What enzymes are called that leave dextrins alone.
const CLEARS: &[&str] = &[
    "acetolactate",
    "bromelain",
    "cellulase",
    "chill",
    "chillproof",
    "chillproofing",
    "clarifying",
    "clarity",
    "clear",
    "clearing",
    "diacetyl",
    "ficin",
    "fining",
    "glucanase",
    "gluten",
    "haze",
    "lactase",
    "papain",
    "pectic",
    "pectin",
    "pectinase",
    "pectolytic",
    "proline",
    "protease",
];

/// How a sugar comes, or what was done to it, which changes nothing of how much it brings.
const HOW: &[&str] = &[
    "boiled",
    "boiling",
    "clear",
    "coarse",
    "crystal",
    "crystals",
    "cube",
    "cubes",
    "dissolved",
    "extra",
    "fine",
    "granulated",
    "granules",
    "grated",
    "homemade",
    "hot",
    "local",
    "loose",
    "lump",
    "lumps",
    "melted",
    "natural",
    "organic",
    "plain",
    "powder",
    "powdered",
    "pure",
    "raw",
    "refined",
    "runny",
    "set",
    "solid",
    "unrefined",
    "warm",
    "amber",
    "brown",
    "dark",
    "golden",
    "light",
    "pale",
];

/// What only malt extract is called of all extracts.
const COLOURS: &[&str] = &["amber", "brown", "dark", "light", "pale"];
const DRY: &[&str] = &["dehydrated", "dried", "dry", "powder", "powdered", "spray", "spraymalt"];
const MALT: &[&str] =
    &["barley", "hopped", "liquid", "malt", "malted", "munich", "pilsner", "rye", "unhopped", "wheat"];

/// What water is called that is nothing but water.
const OF_WATER: &[&str] = &[
    "boiled",
    "boiling",
    "bottled",
    "brewing",
    "chilled",
    "clean",
    "cold",
    "cool",
    "cooled",
    "crushed",
    "de",
    "deaerated",
    "dechlorinated",
    "degassed",
    "deionised",
    "deionized",
    "di",
    "dilution",
    "distilled",
    "drinking",
    "filtered",
    "fresh",
    "hard",
    "hot",
    "ice",
    "iced",
    "lukewarm",
    "make",
    "mains",
    "melted",
    "mineral",
    "more",
    "osmosis",
    "plain",
    "preboiled",
    "pre",
    "pure",
    "rain",
    "reverse",
    "rinse",
    "rinsing",
    "ro",
    "soft",
    "softened",
    "sparge",
    "spring",
    "sterile",
    "sterilised",
    "sterilized",
    "still",
    "strike",
    "tap",
    "top",
    "topping",
    "treated",
    "up",
    "warm",
    "well",
];

/// What makes gas, whatever else stands in a name.
const SWEET: &[&str] = &[
    "agave",
    "candi",
    "candy",
    "caramel",
    "cordial",
    "demerara",
    "dextrose",
    "dme",
    "fructose",
    "glucose",
    "gyle",
    "honey",
    "invert",
    "jaggery",
    "juice",
    "krausen",
    "kraeusen",
    "kräusen",
    "lemonade",
    "liqueur",
    "liquor",
    "lme",
    "maltose",
    "maple",
    "molasses",
    "muscovado",
    "nectar",
    "panela",
    "piloncillo",
    "rapadura",
    "saccharose",
    "sirup",
    "speise",
    "sucrose",
    "sugar",
    "sugars",
    "syrup",
    "toffee",
    "treacle",
    "turbinado",
    "wort",
];

/// What may have sugar in it, whatever it tastes of: `ginger beer`, `chocolate mint`, `candied ginger`.
const DRINKS: &[&str] = &[
    "ale",
    "beer",
    "bug",
    "candied",
    "chocolate",
    "concentrate",
    "cream",
    "crystallised",
    "crystallized",
    "iced",
    "jam",
    "jelly",
    "kefir",
    "kombucha",
    "marmalade",
    "milk",
    "paste",
    "punch",
    "sauce",
    "sloe",
    "soda",
    "spread",
    "squash",
    "sugared",
    "sweetened",
    "tonic",
];

/// What is half of sugar.
const SWEETS: &[&str] =
    &["biscuits", "cake", "cookies", "condensed", "marshmallow", "marshmallows", "port", "sweets", "wine"];

/// What brings none though neither of its words alone would say so.
const HARMLESS_TOGETHER: &[[&str; 2]] = &[["cold", "brew"], ["rose", "water"]];

/// Sweet drinks neither of whose words alone would say so: wine yeast and rose water are none.
const DRINKS_TOGETHER: &[[&str; 2]] = &[
    ["coconut", "water"],
    ["elderflower", "champagne"],
    ["elderflower", "wine"],
    ["ginger", "wine"],
    ["ice", "tea"],
    ["ice", "wine"],
];

/// What only tastes of what it is called.
const FLAVOURINGS: &[&str] = &["flavor", "flavoring", "flavorings", "flavour", "flavouring", "flavourings"];

/// What of a fruit, or of its tree, has no extract in it to speak of: dry skin, wood, leaves and what only tastes of it.
const NO_FLESH: &[&str] = &[
    "blossom", "blossoms", "essence", "extract", "juniper", "leaf", "leaves", "peel", "spice", "wood", "zest",
];

const FRUIT: &[&str] = &[
    "fruit",
    "fruits",
    "juice",
    "puree",
    "purée",
    "cider",
    "perry",
    "cherries",
    "cherry",
    "raspberries",
    "raspberry",
    "strawberries",
    "strawberry",
    "apples",
    "apple",
    "pears",
    "pear",
    "peaches",
    "peach",
    "apricots",
    "apricot",
    "plums",
    "plum",
    "prunes",
    "grapes",
    "grape",
    "must",
    "raisins",
    "raisin",
    "sultanas",
    "dates",
    "figs",
    "berries",
    "mango",
    "mangoes",
    "pineapple",
    "blackberries",
    "blueberries",
    "cranberries",
    "elderberries",
    "gooseberries",
    "currants",
    "blackcurrants",
    "redcurrants",
    "rhubarb",
    "pumpkin",
    "passionfruit",
    "watermelon",
    "watermelons",
    "melon",
    "melons",
    "guava",
    "guavas",
    "kiwi",
    "kiwis",
    "kiwifruit",
    "lychee",
    "lychees",
    "papaya",
    "papayas",
    "pomegranate",
    "pomegranates",
    "persimmon",
    "persimmons",
    "quince",
    "quinces",
    "damson",
    "damsons",
    "sloes",
    "nectarine",
    "nectarines",
    "banana",
    "bananas",
    "oranges",
    "lemons",
    "limes",
    "tangerines",
    "mandarins",
    "clementines",
    "grapefruit",
    "grapefruits",
    "mangos",
    "fig",
    "date",
    "cherrys",
    "aprikots",
    "grenadine",
];

/// What brings no extract to speak of.
const HARMLESS: &[&str] = &[
    "absinthe",
    "acid",
    "almond",
    "almonds",
    "ancho",
    "bark",
    "basil",
    "bean",
    "beans",
    "bentonite",
    "bicarbonate",
    "blossom",
    "blossoms",
    "bourbon",
    "brandy",
    "bromelain",
    "cacao",
    "calvados",
    "camomile",
    "campden",
    "cardamom",
    "chalk",
    "chamomile",
    "charcoal",
    "chile",
    "chiles",
    "chili",
    "chilies",
    "chilis",
    "chilli",
    "chillies",
    "chips",
    "chitosan",
    "chloride",
    "cinnamon",
    "clarifying",
    "clarity",
    "cloves",
    "cocoa",
    "coconut",
    "coffee",
    "cognac",
    "coriander",
    "elderflower",
    "elderflowers",
    "enzyme",
    "enzymes",
    "erythritol",
    "espresso",
    "ficin",
    "fining",
    "finings",
    "flowers",
    "gelatin",
    "gelatine",
    "gin",
    "ginger",
    "grappa",
    "gypsum",
    "habanero",
    "habaneros",
    "hazelnut",
    "hazelnuts",
    "herbs",
    "hibiscus",
    "hop",
    "hops",
    "hulls",
    "husks",
    "isinglass",
    "jalapeno",
    "jalapenos",
    "jalapeño",
    "jalapeños",
    "kieselsol",
    "lactase",
    "lactose",
    "lavender",
    "leaf",
    "leaves",
    "lemongrass",
    "maltodextrin",
    "metabisulfite",
    "metabisulphite",
    "mezcal",
    "mint",
    "moss",
    "nibs",
    "nut",
    "nutrient",
    "nutrients",
    "nuts",
    "oak",
    "papain",
    "pecan",
    "pecans",
    "pectinase",
    "peel",
    "pepper",
    "peppercorns",
    "petals",
    "protease",
    "pvpp",
    "rosemary",
    "rosewater",
    "rum",
    "salt",
    "salts",
    "scotch",
    "seed",
    "seeds",
    "silica",
    "sorbate",
    "spice",
    "spices",
    "spirit",
    "spirits",
    "stevia",
    "sulfite",
    "sulphite",
    "tannin",
    "tea",
    "tequila",
    "thyme",
    "tips",
    "vanilla",
    "vodka",
    "walnut",
    "walnuts",
    "whiskey",
    "whisky",
    "wood",
    "xylitol",
    "yeast",
    "zest",
];

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Addition;

    #[test]
    fn a_name_is_water_only_where_it_says_nothing_else() {
        for name in [
            "water",
            "Boiled water",
            "cold liquor",
            "brewing-liquor",
            "top-up water",
            "reverse osmosis water",
            "ice",
            "crushed ice",
        ] {
            assert_eq!(Addition::read(name), Addition::Water, "{name}");
        }
        for name in [
            "sugar water",
            "maple water",
            "coffee liquor",
            "coconut water",
            "lemonade water",
            "dry ice",
            "ice cream",
        ] {
            assert_ne!(Addition::read(name), Addition::Water, "{name}");
            assert!(!matches!(Addition::read(name), Addition::Sugar(_)), "{name}");
        }
        for name in [
            "sugar water",
            "maple water",
            "coffee liquor",
            "sugar coffee",
            "honey and oak",
            "sugar in coffee",
            "ginger beer",
            "iced tea",
            "ice tea",
            "coconut water",
            "coconut milk",
            "sweetened coconut",
            "candied ginger",
            "almond paste",
            "elderflower wine",
            "elderflower cordial",
            "hazelnut syrup",
            "brandy cream",
            "coffee liqueur",
            "raspberry extract syrup",
        ] {
            assert!(!gives_no_gas(name), "{name}");
        }
    }

    #[test]
    fn a_sugar_is_known_by_whatever_stands_beside_its_name() {
        for (name, sugar) in [
            ("sugar in water", Sugar::Sucrose),
            ("sucrose in boiling water", Sugar::Sucrose),
            ("table sugar in", Sugar::Sucrose),
            ("sucrose to the bottling bucket", Sugar::Sucrose),
            ("dextrose into the keg", Sugar::Glucose),
            ("heather honey to the fermenter", Sugar::Honey),
            ("sugar cubes", Sugar::Sucrose),
            ("caster sugar", Sugar::Sucrose),
            ("Demerara", Sugar::Sucrose),
            ("dextrose boiled", Sugar::Glucose),
            ("dextrose powder", Sugar::Glucose),
            ("dark candi syrup", Sugar::CandySyrup),
            ("heather honey", Sugar::Honey),
            ("blackstrap molasses", Sugar::Molasses),
            ("light dry malt extract", Sugar::DryMaltExtract),
            ("dry extract", Sugar::DryMaltExtract),
            ("malt extract powder", Sugar::DryMaltExtract),
            ("light powdered malt extract", Sugar::DryMaltExtract),
            ("dry malt extract powder", Sugar::DryMaltExtract),
            ("dehydrated malt extract", Sugar::DryMaltExtract),
            ("pale extract", Sugar::LiquidMaltExtract),
            ("wheat DME", Sugar::DryMaltExtract),
            ("wheat malt extract", Sugar::LiquidMaltExtract),
            ("liquid extract", Sugar::LiquidMaltExtract),
            ("light extract", Sugar::LiquidMaltExtract),
            ("golden syrup", Sugar::GoldenSyrup),
            ("agave", Sugar::AgaveSyrup),
            ("maltose", Sugar::Maltose),
        ] {
            assert_eq!(Addition::read(name), Addition::Sugar(sugar), "{name}");
        }
    }

    #[test]
    fn what_is_doubtful_is_neither_a_sugar_nor_nothing() {
        for name in [
            "sucrose and",
            "sucrose and honey",
            "honey or sugar",
            "sugar each",
            "sugar per litre",
            "sugar honey",
            "extract",
            "sugar syrup",
            "date syrup",
            "carbonation drops",
            "priming solution",
            "honey malt",
            "sugar-free syrup",
            "sucrose and honey to the keg",
        ] {
            assert_eq!(Addition::read(name), Addition::Other, "{name}");
            assert!(!gives_no_gas(name), "{name}");
        }
    }

    #[test]
    fn some_enzymes_free_dextrins() {
        for name in ["glucoamylase", "alpha-amylase", "Amylo enzyme", "brut enzyme", "enzyme"] {
            assert!(frees_dextrins(name), "{name}");
        }
        for name in
            ["clarity enzyme", "pectic enzyme", "pectinase", "lactase", "proline-specific enzyme", "amylose"]
        {
            assert!(!frees_dextrins(name), "{name}");
        }
        for name in [
            "clarifying enzyme",
            "haze enzyme",
            "chillproofing enzyme",
            "chill-proof enzyme",
            "gluten-reducing enzyme",
            "diacetyl enzyme",
            "fining enzyme",
            "papain",
            "papain enzyme",
            "bromelain",
            "ficin enzymes",
        ] {
            assert!(!frees_dextrins(name) && gives_no_gas(name), "{name}");
        }
    }

    #[test]
    fn some_names_say_that_something_lives_in_it() {
        for (name, what) in [
            ("brettanomyces", Organism::Wild),
            ("brett-soaked oak", Organism::Wild),
            ("lambic dregs", Organism::Wild),
            ("wild farmhouse blend", Organism::Wild),
            ("old sour beer", Organism::Wild),
            ("diastaticus yeast", Organism::Wild),
            ("dregs of a bottle of wild ale", Organism::Wild),
            ("ginger bug", Organism::Wild),
            ("raw kombucha", Organism::Wild),
            ("water kefir", Organism::Wild),
            ("bugs", Organism::Wild),
            ("lactobacillus culture", Organism::Bacteria),
            ("souring culture", Organism::Bacteria),
            ("pediococcus", Organism::Bacteria),
            ("lacto", Organism::Bacteria),
        ] {
            assert_eq!(lives(name), Some(what), "{name}");
            assert!(!may_go_on(name), "{name}");
        }
        for name in [
            "wild honey",
            "wild berries",
            "sour cherries",
            "lactose",
            "lactic acid",
            "diastatic malt",
            "wild yeast nutrient",
            "wild yeast-free honey",
            "wild thyme",
            "wild hops",
            "wild rice",
            "blackberries",
            "wildflower honey",
            "lacto-fermented chillies",
            "kefir lime leaves",
            "pasteurised kombucha",
            "boiled brett",
            "ginger",
        ] {
            assert_eq!(lives(name), None, "{name}");
            assert!(!may_go_on(name), "{name}");
        }
    }

    #[test]
    fn of_some_yeast_nobody_knows_how_far_it_goes() {
        for name in ["dregs", "bottle dregs", "saison dregs", "Saison yeast", "farmhouse blend"] {
            assert!(may_go_on(name) && lives(name).is_none(), "{name}");
        }
        for name in ["ale yeast", "saison spices", "farmhouse honey", "boiled dregs", "saison yeast nutrient"]
        {
            assert!(!may_go_on(name), "{name}");
        }
    }

    #[test]
    fn what_is_added_for_its_taste_gives_no_gas() {
        for name in [
            "vanilla extract",
            "wine yeast",
            "cider yeast",
            "ale yeast",
            "brett",
            "hop extract",
            "oak cubes",
            "coffee in vodka",
            "dry hops",
            "lactose powder",
            "clarity enzyme",
            "brandy",
            "tequila",
            "mezcal",
            "cognac",
            "scotch",
            "grappa",
            "calvados",
            "absinthe",
            "stevia",
            "erythritol",
            "xylitol",
            "cold brew",
            "cold-brew coffee",
            "espresso",
            "chillies",
            "chile",
            "jalapeño",
            "toasted coconut",
            "hazelnuts",
            "almonds",
            "pecans",
            "spruce tips",
            "rice hulls",
            "elderflower",
            "rosemary",
            "thyme",
            "mint",
            "basil",
            "lavender",
            "hibiscus",
            "chamomile",
            "rose water",
            "cherry wood",
            "apple wood chips",
            "peach flavouring",
            "peach flavoring",
            "raspberry extract",
            "raspberry essence",
            "blackcurrant leaves",
        ] {
            assert!(gives_no_gas(name) && !is_fruit(name), "{name}");
        }
        // Dried slices of it, and a liqueur.
        for name in ["apple chips", "cherry brandy", "cherry puree"] {
            assert!(is_fruit(name), "{name}");
        }
    }
}
