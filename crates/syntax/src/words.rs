//! The words that begin an item: what each is read by, how it looks, and where it belongs.

use crate::ast::{BlockKind, DatedWhat, Measured, PackageKind};
use crate::grammar::Rule;

/// The blocks in which a word may stand, a bit each.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) struct Places(u8);

impl Places {
    const STRAIN: Self = Self(1);
    const CULTURE: Self = Self(2);
    const STARTER: Self = Self(4);
    const BREW: Self = Self(8);
    const VESSEL: Self = Self(16);
    /// A strain's facts may stand where the strain itself is unknown.
    const OF_STRAIN: Self = Self::STRAIN.or(Self::CULTURE).or(Self::BREW);
    const WORT: Self = Self::STARTER.or(Self::BREW);
    const LOT: Self = Self::CULTURE.or(Self::WORT);
    const TIMELINE: Self = Self::LOT.or(Self::VESSEL);
    const ANY: Self = Self::STRAIN.or(Self::TIMELINE);

    const fn or(self, other: Self) -> Self {
        Self(self.0 | other.0)
    }

    /// Whether it may stand in such a block; nothing is asked of blocks of unknown kind.
    pub(crate) const fn allow(self, kind: BlockKind) -> bool {
        let bit = match kind {
            BlockKind::Strain => Self::STRAIN,
            BlockKind::Culture => Self::CULTURE,
            BlockKind::Starter => Self::STARTER,
            BlockKind::Brew => Self::BREW,
            BlockKind::Vessel => Self::VESSEL,
            BlockKind::Unknown | BlockKind::Loose => return true,
        };
        self.0 & bit.0 != 0
    }

    /// "a starter or a brew"
    pub(crate) fn described(self) -> String {
        let all = [
            (Self::STRAIN, "a strain"),
            (Self::CULTURE, "a culture"),
            (Self::STARTER, "a starter"),
            (Self::BREW, "a brew"),
            (Self::VESSEL, "a vessel"),
        ];
        let mut names: Vec<&str> =
            all.iter().filter(|(place, _)| self.0 & place.0 != 0).map(|(_, name)| *name).collect();
        match names.pop() {
            Some(last) if names.is_empty() => last.to_owned(),
            Some(last) => format!("{} or {last}", names.join(", ")),
            None => String::new(),
        }
    }
}

/// What an item's words are turned into.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Means {
    Organism,
    Range,
    Attenuates,
    Tolerates,
    Flocculates,
    Needs,
    Rate,
    Reuse,
    Diastatic,
    Makes,
    Pack,
    Sachet,
    Slurry,
    Slant,
    Vial,
    Dated(DatedWhat),
    Generation,
    Loses,
    Wort,
    Hold,
    In,
    Hops,
    Target,
    Shaken,
    Stirred,
    Readings,
    Holds,
    Shape,
    Kept,
    Aerate,
    Pitch,
    Reading(Measured),
    Set,
    Crash,
    Krausen,
    Add,
    Harvest,
    Count,
    Viability,
    Wash,
    Rack,
    Decant,
    Dump,
    Boil,
    Clean,
    Package(PackageKind),
    Test,
    Infected,
    Taste,
    Note,
}

/// A first word.
pub(crate) struct Word {
    /// In small letters.
    pub(crate) word: &'static str,
    pub(crate) means: Means,
    /// The rule that reads what follows; `None` for what takes the rest of the line.
    pub(crate) rule: Option<Rule>,
    pub(crate) places: Places,
    /// How it looks, in the reference's notation.
    pub(crate) form: &'static str,
    pub(crate) example: &'static str,
}

macro_rules! words {
    ($( $word:literal $means:expr, $rule:expr, $places:ident, $form:literal, $example:literal; )+) => {
        /// Every first word but `on` and the block words, in order of the alphabet.
        pub(crate) static WORDS: &[Word] = &[$(
            Word {
                word: $word, means: $means, rule: $rule, places: Places::$places,
                form: concat!($word, $form), example: concat!($word, $example),
            },
        )+];
    };
}

use Means as M;

words! {
    "add" M::Add, Some(Rule::add), TIMELINE, " AMOUNT [of] WHAT [at GRAVITY] [for GRAVITY or CO2 or IBU]", " 500 g sucrose";
    "aerate" M::Aerate, Some(Rule::aerate), WORT, " shake|splash|air|oxygen [DURATION] [at FLOW]", " oxygen 60 s at 1 L/min";
    "ambient" M::Reading(Measured::Ambient), Some(Rule::measured), TIMELINE, " [LOT] TEMPERATURE", " 16 °C";
    "attenuates" M::Attenuates, Some(Rule::single), OF_STRAIN, " N %", " 73..77 %";
    "best-before" M::Dated(DatedWhat::BestBefore), Some(Rule::dated), CULTURE, " DATE or MONTH", " 2026-12";
    "boil" M::Boil, Some(Rule::perhaps), TIMELINE, " [DURATION]", " 10 min";
    "bottle" M::Package(PackageKind::Bottle), Some(Rule::package), BREW, " AMOUNT [with AMOUNT WHAT] [for CO2] [at TEMPERATURE] [rated CO2]", " 19 L, 110 g sucrose";
    "brix" M::Reading(Measured::Brix), Some(Rule::measured), TIMELINE, " [LOT] VALUE", " 6.2 Bx";
    "cask" M::Package(PackageKind::Cask), Some(Rule::package), BREW, " AMOUNT [with AMOUNT WHAT] [for CO2]", " 40 L, 60 g sucrose";
    "clean" M::Clean, Some(Rule::clean), TIMELINE, " [VESSEL]", " bucket-2";
    "co2" M::Reading(Measured::CarbonDioxide), Some(Rule::measured), TIMELINE, " [LOT] CARBONATION", " 2.4 vol";
    "count" M::Count, Some(Rule::counting), TIMELINE, " [LOT] N squares N live N dead [1:N] (or DENSITY)", " 5 squares 231 live 9 dead 1:200";
    "crash" M::Crash, Some(Rule::perhaps), TIMELINE, " [TEMPERATURE]", " 3 °C";
    "decant" M::Decant, Some(Rule::part_of_lot), TIMELINE, " [LOT] [VOLUME]", " 1.5 L";
    "diastatic" M::Diastatic, Some(Rule::bare), OF_STRAIN, "", "";
    "dump" M::Dump, Some(Rule::part_of_lot), TIMELINE, " [LOT] [AMOUNT]", " tide-b 100 mL";
    "flocculates" M::Flocculates, Some(Rule::choice), OF_STRAIN, " low|medium|high", " high";
    "generation" M::Generation, Some(Rule::single), CULTURE, " N", " 3";
    "gravity" M::Reading(Measured::Gravity), Some(Rule::sampled), TIMELINE, " [LOT] GRAVITY [at TEMPERATURE]", " 1.012 at 18 °C";
    "harvest" M::Harvest, Some(Rule::harvest), LOT, " NAME AMOUNT [thin|medium|thick] [from top|bottom] [in VESSEL]", " tide-b 450 mL thick from bottom";
    "harvested" M::Dated(DatedWhat::Harvested), Some(Rule::dated), CULTURE, " DATE or MONTH", " 2026-09-12";
    "hold" M::Hold, Some(Rule::single), WORT, " TEMPERATURE", " 17..19 °C";
    "holds" M::Holds, Some(Rule::single), VESSEL, " VOLUME", " 30 L";
    "hops" M::Hops, Some(Rule::single), WORT, " N IBU", " 32 IBU";
    "in" M::In, Some(Rule::named), WORT, " VESSEL", " bucket-2";
    "infected" M::Infected, Some(Rule::of_lot), TIMELINE, " [LOT or VESSEL]", " tide-b";
    "keg" M::Package(PackageKind::Keg), Some(Rule::package), BREW, " AMOUNT [with AMOUNT WHAT] [for CO2] [at TEMPERATURE] [at PRESSURE]", " 19 L at 0.8 bar";
    "kept" M::Kept, Some(Rule::kept), TIMELINE, " TEMPERATURE [LOT]", " 4 °C";
    "kind" M::Organism, Some(Rule::choice), OF_STRAIN, " ale|lager|wild|bacteria", " ale";
    "krausen" M::Krausen, Some(Rule::choice), WORT, " none|rising|high|fallen", " rising";
    "loses" M::Loses, Some(Rule::single), CULTURE_OR_VESSEL, " N %/month (a culture) or N W/K (a vessel)", " 20 %/month";
    "made" M::Dated(DatedWhat::Made), Some(Rule::dated), CULTURE, " DATE or MONTH", " 2026-08-14";
    "makes" M::Makes, Some(Rule::makes), OF_STRAIN, " FLAVOUR [N mg/L] [at TEMPERATURE]", " clove at 18 °C";
    "needs" M::Needs, Some(Rule::single), OF_STRAIN, " N ppm", " 9 ppm";
    "note" M::Note, None, ANY, " anything at all", " wrapped in blankets";
    "oxygen" M::Reading(Measured::Oxygen), Some(Rule::measured), TIMELINE, " [LOT] N ppm", " 8.5 ppm";
    "pack" M::Pack, Some(Rule::packed), CULTURE, " N × CELLS", " 2 × 100 B";
    "ph" M::Reading(Measured::Acidity), Some(Rule::measured), TIMELINE, " [LOT] N", " 4.4";
    "pitch" M::Pitch, Some(Rule::pitch), WORT, " LOT [AMOUNT] [rehydrated|sprinkled] [at TEMPERATURE]", " tide-b 60 mL";
    "pressure" M::Reading(Measured::Pressure), Some(Rule::measured), TIMELINE, " [LOT] PRESSURE", " 0.8 bar";
    "rack" M::Rack, Some(Rule::rack), WORT, " [AMOUNT] [to VESSEL]", " 19 L to keg-1";
    "range" M::Range, Some(Rule::single), OF_STRAIN, " TEMPERATURE", " 17..20 °C";
    "rate" M::Rate, Some(Rule::single), OF_STRAIN, " RATE", " 0.75 M/mL/°P";
    "readings" M::Readings, Some(Rule::readings), WORT, " \"FILE.csv\" [columns COLUMN …]", " \"tank-2.csv\" columns time temp/°C";
    "reuse" M::Reuse, Some(Rule::reuse), OF_STRAIN, " N generations or any", " 8 generations";
    "sachet" M::Sachet, Some(Rule::packed), CULTURE, " N × MASS [CELLS/g]", " 1 × 11 g";
    "set" M::Set, Some(Rule::set), TIMELINE, " TEMPERATURE or PRESSURE [over DURATION]", " 24 °C over 3 d";
    "shaken" M::Shaken, Some(Rule::bare), STARTER, "", "";
    "shape" M::Shape, Some(Rule::choice), VESSEL, " flat|conical", " conical";
    "slant" M::Slant, Some(Rule::bare), CULTURE, "", "";
    "slurry" M::Slurry, Some(Rule::slurry), CULTURE, " VOLUME or MASS [thin|medium|thick or DENSITY]", " 300 mL thick";
    "stirred" M::Stirred, Some(Rule::bare), STARTER, "", "";
    "target" M::Target, Some(Rule::single), WORT, " RATE", " 1.2 M/mL/°P";
    "taste" M::Taste, None, TIMELINE, " WORDS, WORDS …", " clean, a little green apple";
    "temp" M::Reading(Measured::Temperature), Some(Rule::measured), TIMELINE, " [LOT] TEMPERATURE", " 18 °C";
    "test" M::Test, Some(Rule::test), TIMELINE, " WHAT [pass|fail] [VALUE]", " forced 1.009";
    "tolerates" M::Tolerates, Some(Rule::single), OF_STRAIN, " N %ABV", " 9 %ABV";
    "viability" M::Viability, Some(Rule::measured), TIMELINE, " [LOT] N %", " 92 %";
    "vial" M::Vial, Some(Rule::packed), CULTURE, " N × VOLUME", " 2 × 35 mL";
    "volume" M::Reading(Measured::Volume), Some(Rule::measured), TIMELINE, " [LOT] VOLUME", " 20.5 L";
    "wash" M::Wash, Some(Rule::wash), TIMELINE, " [LOT] [ph N] [for DURATION] [at TEMPERATURE]", " tide-b ph 2.2 for 90 min at 3 °C";
    "wort" M::Wort, Some(Rule::wort), WORT, " VOLUME at GRAVITY (or of BREW)", " 21 L at 1.048";
}

impl Places {
    const CULTURE_OR_VESSEL: Self = Self::CULTURE.or(Self::VESSEL);
}

/// A word that opens a fact or an event, for whoever explains the language or completes what is typed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct FirstWord {
    /// In small letters.
    pub word: &'static str,
    /// How its line looks: `pitch LOT [AMOUNT] …`.
    pub form: &'static str,
    /// A line that is right.
    pub example: &'static str,
}

/// The first words that may stand in a block, in order of the alphabet; all of them in a block of unknown kind.
pub fn first_words(block: BlockKind) -> impl Iterator<Item = FirstWord> {
    let here = WORDS.iter().filter(move |entry| entry.places.allow(block));
    here.map(|entry| FirstWord { word: entry.word, form: entry.form, example: entry.example })
}

/// The longest first word.
const LONGEST: usize = 11;

/// The entry of a first word, in any letter case.
pub(crate) fn look_up(word: &str) -> Option<&'static Word> {
    let mut small = [0_u8; LONGEST];
    let small = small.get_mut(..word.len())?;
    small.copy_from_slice(word.as_bytes());
    small.make_ascii_lowercase();
    let at = WORDS.binary_search_by(|entry| entry.word.as_bytes().cmp(small)).ok()?;
    WORDS.get(at)
}

/// The block that a word opens, in any letter case.
pub(crate) fn block_word(word: &str) -> Option<BlockKind> {
    use BlockKind as K;
    if !(4..=7).contains(&word.len()) {
        return None;
    }
    [K::Strain, K::Culture, K::Starter, K::Brew, K::Vessel]
        .into_iter()
        .find(|kind| word.eq_ignore_ascii_case(kind.word()))
}

/// The word at the start of `text`: letters, digits, `-`, `_`.
pub(crate) fn first_word(text: &str) -> &str {
    let ascii = text.bytes().take_while(|b| b.is_ascii_alphanumeric() || matches!(b, b'-' | b'_')).count();
    if text.as_bytes().get(ascii).is_none_or(u8::is_ascii) {
        return text.get(..ascii).unwrap_or("");
    }
    let end = text.find(|c: char| !(c.is_alphanumeric() || matches!(c, '-' | '_'))).unwrap_or(text.len());
    text.get(..end).unwrap_or("")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_is_sorted_and_fits() {
        assert!(WORDS.is_sorted_by(|a, b| a.word < b.word));
        assert_eq!(WORDS.iter().map(|w| w.word.len()).max(), Some(LONGEST));
        for entry in WORDS {
            assert!(look_up(&entry.word.to_uppercase()).is_some_and(|found| found.word == entry.word));
        }
        assert!(look_up("best-before-it").is_none() && look_up("").is_none());
    }
}
