//! Carbon dioxide in beer: what is left after fermentation, what a pressure gives, and how much sugar a
//! bottle takes.
//!
//! One volume is a litre of gas at 0 °C and one atmosphere, 1.977 g, in a litre of beer. Bottles burst: no
//! single limit is agreed on, bottles of unknown make and swing-tops deserve less, and used one-way bottles
//! none. Follow the bottle maker.

use barm_quantity::{CarbonDioxide, Density, Mass, Pressure, Share, Temperature, Volume};

/// One atmosphere.
const ATMOSPHERE_PSI: f64 = 14.695;

/// Volumes for each psi absolute at this temperature.
fn solubility(temperature: Temperature) -> f64 {
    // Beyond −5…100 °C there is no beer.
    let t = temperature.as_celsius().clamp(-5.0, 100.0);
    0.018_21 + 0.090_115 * (-1.8 * t / 43.11).exp()
}

/// Volumes taken off by the fit.
const OFFSET: f64 = 0.003_342;

/// Carbon dioxide in beer in balance with the gas at this gauge pressure.
///
/// 0–30 °C; beyond, and for bottles left in the heat, the same curve goes on (outside −5…100 °C the nearer
/// end is taken). From 0 to 40 °C it is 0.952 ± 0.006 of what water holds. Never below zero. At another
/// pressure of the air the gauge reads from that, which is not corrected for.
///
/// **Source:** deLange 2011, fit to the table of ASBC Methods of Analysis, Beer-13. **Evidence:** from
/// memory, checked against tables.
///
/// # Example
///
/// ```
/// use barm_quantity::{Pressure, Temperature};
/// let keg = barm_zymology::carbonation::at_pressure(Pressure::psi(11.2), Temperature::fahrenheit(38.0));
/// assert!((keg.as_volumes() - 2.5).abs() < 0.06);
/// ```
#[must_use]
pub fn at_pressure(gauge: Pressure, temperature: Temperature) -> CarbonDioxide {
    let volumes = (gauge.as_psi() + ATMOSPHERE_PSI) * solubility(temperature) - OFFSET;
    CarbonDioxide::volumes(volumes.max(0.0))
}

/// Carbon dioxide left in beer after fermentation under the pressure of the air, ±0.1 volumes.
///
/// `warmest`: the warmest that the beer has been since its fermentation ended; later cooling does not bring
/// gas back. Transfers lose some, young beer may hold more: neither is reckoned. Range and source: those of
/// [`at_pressure`] at gauge zero.
///
/// **Evidence:** derived; published lists lie within 0.1.
///
/// # Example
///
/// ```
/// use barm_quantity::Temperature;
/// let left = barm_zymology::carbonation::residual(Temperature::celsius(20.0));
/// assert!((left.as_volumes() - 0.84).abs() < 0.005);
/// ```
#[must_use]
pub fn residual(warmest: Temperature) -> CarbonDioxide {
    at_pressure(Pressure::default(), warmest)
}

/// What a reading of the carbonation may be out by, with a gauge or by shaking a sample.
///
/// **Evidence:** derived (judgement): no better than what fermentation is known to leave.
///
/// # Example
///
/// ```
/// assert_eq!(barm_zymology::carbonation::READ_ERROR.as_volumes(), 0.1);
/// ```
pub const READ_ERROR: CarbonDioxide = CarbonDioxide::volumes(0.1);

/// What [`residual`] gas may be out by, nine times in ten.
///
/// **Source:** the lists that are in use lie so far apart. **Evidence:** derived.
///
/// # Example
///
/// ```
/// assert_eq!(barm_zymology::carbonation::RESIDUAL_ERROR.as_volumes(), 0.1);
/// ```
pub const RESIDUAL_ERROR: CarbonDioxide = CarbonDioxide::volumes(0.1);

/// Gauge pressure in a closed bottle or keg in balance with its beer: the inverse of [`at_pressure`].
///
/// Not below −1 atm (no gas at all). At 40 °C another formula gives up to a tenth more; a filled bottle warms
/// faster than it degasses, so leave room for that.
///
/// **Source, range and evidence:** those of [`at_pressure`].
///
/// # Example
///
/// ```
/// use barm_quantity::{CarbonDioxide, Temperature};
/// use barm_zymology::carbonation::pressure_at;
/// let bottle = pressure_at(CarbonDioxide::volumes(2.5), Temperature::celsius(20.0));
/// assert!((bottle.as_bar() - 2.0).abs() < 0.05);
/// ```
#[must_use]
pub fn pressure_at(carbonation: CarbonDioxide, temperature: Temperature) -> Pressure {
    let volumes = carbonation.as_volumes().max(0.0);
    let psi = (volumes + OFFSET) / solubility(temperature) - ATMOSPHERE_PSI;
    Pressure::psi(psi.max(-ATMOSPHERE_PSI))
}

/// What yeast growth takes of the gas of a pure sugar: it is left out, which is the cautious side.
const PURE_SUGAR_ERROR: Share = Share::percent(5.0);

/// What the gas of extract that ferments may be out by, as a part of it, nine times in ten.
///
/// **Source and evidence:** those of [`Sugar::error`] for malt extract: how far it ferments is known no better.
///
/// # Example
///
/// ```
/// use barm_zymology::carbonation::{EXTRACT_ERROR, Sugar};
/// assert_eq!(EXTRACT_ERROR, Sugar::DryMaltExtract.error());
/// ```
pub const EXTRACT_ERROR: Share = Share::percent(15.0);

/// What the gas of a syrup may be out by where its volume was measured, as a part of it, nine times in ten.
///
/// Beside [`EXTRACT_ERROR`]: a syrup of more solids is heavier too, 2 %, and a twentieth may cling to the measure.
///
/// **Evidence:** derived (judgement).
///
/// # Example
///
/// ```
/// use barm_zymology::carbonation::{EXTRACT_ERROR, POURED_ERROR};
/// assert!(POURED_ERROR > EXTRACT_ERROR);
/// ```
pub const POURED_ERROR: Share = Share::percent(18.0);

/// Grams of carbon dioxide from a gram of sucrose, by stoichiometry: 4 × 44.01/342.3.
///
/// **Source:** molar masses, IUPAC 2013. **Evidence:** derived.
///
/// # Example
///
/// ```
/// assert!((barm_zymology::carbonation::PER_EXTRACT - 4.0 * 44.0095 / 342.297).abs() < 1e-4);
/// ```
pub const PER_EXTRACT: f64 = 0.5143;

/// Carbon dioxide that unfinished extract still gives if it ferments in the bottle, as sucrose would.
///
/// `extract`: mass that ferments; yeast growth is left out, which is the cautious side. Nothing for a beer of
/// no volume.
///
/// **Source:** stoichiometry. **Evidence:** derived.
///
/// # Example
///
/// ```
/// use barm_quantity::{Mass, Volume};
/// let gas = barm_zymology::carbonation::from_extract(Mass::grams(102.0), Volume::litres(10.0));
/// assert!((gas.as_volumes() - 2.65).abs() < 0.01);
/// ```
#[must_use]
pub fn from_extract(extract: Mass, beer: Volume) -> CarbonDioxide {
    per_litre(extract.as_grams() * PER_EXTRACT, beer)
}

fn per_litre(grams: f64, beer: Volume) -> CarbonDioxide {
    let litres = beer.as_litres();
    CarbonDioxide::grams_per_litre(if litres > 0.0 { grams.max(0.0) / litres } else { 0.0 })
}

/// What is added to ferment, or to be left.
///
/// # Example
///
/// ```
/// use barm_zymology::carbonation::Sugar;
/// let sugar = Sugar::read("cane sugar").expect("a sugar of the trade");
/// assert_eq!((sugar, sugar.name()), (Sugar::Sucrose, "table sugar"));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Sugar {
    /// Table, cane or beet sugar.
    Sucrose,
    /// Dextrose, free of water.
    Glucose,
    /// Corn or priming sugar: glucose with a molecule of water.
    GlucoseMonohydrate,
    /// Fruit sugar, free of water.
    Fructose,
    /// Malt sugar, free of water.
    Maltose,
    /// Invert sugar syrup.
    Invert,
    /// Golden syrup: table sugar, a part of it inverted.
    GoldenSyrup,
    /// Syrup of agaves, most of it fructose.
    AgaveSyrup,
    /// Honey.
    Honey,
    /// Dry malt extract.
    DryMaltExtract,
    /// Liquid malt extract.
    LiquidMaltExtract,
    /// Molasses and treacle.
    Molasses,
    /// Maple syrup.
    MapleSyrup,
    /// Candy syrup.
    CandySyrup,
    /// Milk sugar, which brewing yeast leaves.
    Lactose,
    /// Maltodextrin, which brewing yeast leaves.
    Maltodextrin,
}

/// Trade words of a sugar, its extract and the part of it that brewing yeast ferments.
struct Facts {
    words: &'static [&'static str],
    extract: f64,
    carbon_dioxide: f64,
}

impl Sugar {
    /// Every one.
    ///
    /// # Example
    ///
    /// ```
    /// use barm_zymology::carbonation::Sugar;
    /// assert!(Sugar::ALL.iter().all(|sugar| Sugar::read(sugar.name()) == Some(*sugar)));
    /// ```
    pub const ALL: [Self; 16] = [
        Self::Sucrose,
        Self::Glucose,
        Self::GlucoseMonohydrate,
        Self::Fructose,
        Self::Maltose,
        Self::Invert,
        Self::GoldenSyrup,
        Self::AgaveSyrup,
        Self::Honey,
        Self::DryMaltExtract,
        Self::LiquidMaltExtract,
        Self::Molasses,
        Self::MapleSyrup,
        Self::CandySyrup,
        Self::Lactose,
        Self::Maltodextrin,
    ];

    const fn facts(self) -> Facts {
        const fn facts(words: &'static [&'static str], extract: f64, carbon_dioxide: f64) -> Facts {
            Facts { words, extract, carbon_dioxide }
        }
        match self {
            Self::Sucrose => {
                let words = &[
                    "sugar",
                    "sucrose",
                    "table sugar",
                    "cane sugar",
                    "beet sugar",
                    "white sugar",
                    "saccharose",
                    // Unrefined: sucrose but for a few parts in a hundred (common practice).
                    "demerara",
                    "turbinado",
                    "muscovado",
                    "jaggery",
                    "panela",
                    "piloncillo",
                    "rapadura",
                ];
                facts(words, 1.0, PER_EXTRACT)
            }
            Self::Glucose => facts(&["dextrose", "glucose"], 1.0, 0.4886),
            Self::GlucoseMonohydrate => {
                let words = &["corn sugar", "priming sugar", "glucose monohydrate", "dextrose monohydrate"];
                facts(words, 0.9091, 0.4442)
            }
            Self::Fructose => facts(&["fructose", "fruit sugar"], 1.0, 0.4886),
            Self::Maltose => facts(&["maltose", "malt sugar"], 1.0, PER_EXTRACT),
            // Solids × fermentable part × stoichiometry.
            Self::Invert => facts(&["invert sugar", "invert", "invert syrup"], 0.80, 0.80 * 0.4886),
            Self::GoldenSyrup => facts(&["golden syrup"], 0.82, 0.82 * 0.97 * 0.50),
            Self::AgaveSyrup => facts(&["agave syrup", "agave nectar", "agave"], 0.76, 0.76 * 0.95 * 0.4886),
            Self::Honey => facts(&["honey"], 0.80, 0.80 * 0.95 * 0.4886),
            Self::DryMaltExtract => {
                let words = &["dry malt extract", "dried malt extract", "dme", "spray malt"];
                facts(words, 0.95, 0.95 * 0.65 * PER_EXTRACT)
            }
            Self::LiquidMaltExtract => facts(
                &["liquid malt extract", "malt extract", "lme", "malt syrup"],
                0.80,
                0.80 * 0.65 * PER_EXTRACT,
            ),
            Self::Molasses => facts(&["molasses", "treacle"], 0.78, 0.78 * 0.70 * PER_EXTRACT),
            Self::MapleSyrup => facts(&["maple syrup", "maple sirup"], 0.67, 0.67 * 0.97 * PER_EXTRACT),
            Self::CandySyrup => facts(&["candy syrup", "candi syrup"], 0.78, 0.78 * 0.90 * PER_EXTRACT),
            Self::Lactose => facts(&["lactose", "milk sugar"], 0.95, 0.0),
            Self::Maltodextrin => facts(&["maltodextrin", "malto dextrin"], 0.95, 0.0),
        }
    }

    /// Reads a trade word, in any letter case, with spaces or hyphens: "table-sugar", "DME". Whatever else is called a sugar
    /// counts as sucrose, which gives the most gas (common practice). `None` for any other word.
    ///
    /// # Example
    ///
    /// ```
    /// use barm_zymology::carbonation::Sugar;
    /// assert_eq!(Sugar::read("Table-Sugar"), Some(Sugar::Sucrose));
    /// assert_eq!(Sugar::read("brown sugar"), Some(Sugar::Sucrose));
    /// assert_eq!(Sugar::read("oak"), None);
    /// ```
    #[must_use]
    pub fn read(text: &str) -> Option<Self> {
        let said = |word: &str| {
            word.len() == text.len()
                && word
                    .bytes()
                    .zip(text.bytes())
                    .all(|(a, b)| a == b.to_ascii_lowercase() || (a == b' ' && matches!(b, b'-' | b'_')))
        };
        let known = Self::ALL.into_iter().find(|sugar| sugar.facts().words.iter().any(|word| said(word)));
        // Brown, raw, palm and the like are sucrose but for a few parts in a hundred.
        let is_a_sugar =
            || text.rsplit([' ', '-', '_']).next().is_some_and(|last| last.eq_ignore_ascii_case("sugar"));
        known.or_else(|| is_a_sugar().then_some(Self::Sucrose))
    }

    /// Its usual name: "table sugar" for what is read as "sugar", "sucrose" or "cane-sugar".
    ///
    /// # Example
    ///
    /// ```
    /// assert_eq!(barm_zymology::carbonation::Sugar::Honey.name(), "honey");
    /// ```
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Sucrose => "table sugar",
            Self::Glucose => "dextrose",
            Self::GlucoseMonohydrate => "corn sugar",
            Self::Fructose => "fructose",
            Self::Maltose => "maltose",
            Self::Invert => "invert sugar",
            Self::GoldenSyrup => "golden syrup",
            Self::AgaveSyrup => "agave syrup",
            Self::Honey => "honey",
            Self::DryMaltExtract => "dry malt extract",
            Self::LiquidMaltExtract => "liquid malt extract",
            Self::Molasses => "molasses",
            Self::MapleSyrup => "maple syrup",
            Self::CandySyrup => "candy syrup",
            Self::Lactose => "lactose",
            Self::Maltodextrin => "maltodextrin",
        }
    }

    /// The words that [`Sugar::read`] knows it by.
    ///
    /// # Example
    ///
    /// ```
    /// use barm_zymology::carbonation::Sugar;
    /// assert!(Sugar::DryMaltExtract.words().contains(&"dme"));
    /// ```
    #[must_use]
    pub const fn words(self) -> &'static [&'static str] {
        self.facts().words
    }

    /// Grams of extract in a gram of it.
    ///
    /// The pure sugars by stoichiometry; the rest usual solids, ±5 %.
    ///
    /// **Evidence:** derived, and from memory.
    ///
    /// # Example
    ///
    /// ```
    /// use barm_zymology::carbonation::Sugar;
    /// assert_eq!(Sugar::Sucrose.extract_share(), 1.0);
    /// assert!(Sugar::LiquidMaltExtract.extract_share() < Sugar::DryMaltExtract.extract_share());
    /// ```
    #[must_use]
    pub const fn extract_share(self) -> f64 {
        self.facts().extract
    }

    /// Grams of carbon dioxide from a gram of it; zero for what brewing yeast leaves.
    ///
    /// The pure sugars by stoichiometry, which is the cautious choice: yeast growth takes about a
    /// twentieth. The rest usual solids × their usual fermentable part, ±15 %; see [`Sugar::error`].
    ///
    /// **Evidence:** derived, and from memory.
    ///
    /// # Example
    ///
    /// ```
    /// use barm_zymology::carbonation::Sugar;
    /// assert_eq!(Sugar::GlucoseMonohydrate.carbon_dioxide_share(), 0.4442);
    /// assert_eq!(Sugar::Lactose.carbon_dioxide_share(), 0.0);
    /// ```
    #[must_use]
    pub const fn carbon_dioxide_share(self) -> f64 {
        self.facts().carbon_dioxide
    }

    /// What the gas from it may be out by, as a part of it, nine times in ten: 5 % where it is pure sugar, 15 % for malt
    /// extract, honey and the syrups, whose water and fermentable part differ.
    ///
    /// **Evidence:** derived (judgement).
    ///
    /// # Example
    ///
    /// ```
    /// use barm_zymology::carbonation::Sugar;
    /// assert!(Sugar::Honey.error() > Sugar::Glucose.error());
    /// ```
    #[must_use]
    pub const fn error(self) -> Share {
        match self {
            Self::Sucrose | Self::Glucose | Self::GlucoseMonohydrate | Self::Fructose | Self::Maltose => {
                PURE_SUGAR_ERROR
            }
            _ => EXTRACT_ERROR,
        }
    }

    /// Its density, where it is so thick a liquid that it may be measured by volume; `None` for what is dry, for nobody knows
    /// how loosely that lies.
    ///
    /// That of sucrose in water of the same solids, at 20 °C; honey is a little more. The usual solids ±5 % make ±2 %.
    ///
    /// **Source:** tables of sucrose solutions. **Evidence:** from memory.
    ///
    /// # Example
    ///
    /// ```
    /// use barm_zymology::carbonation::Sugar;
    /// let litre = Sugar::Honey.density().expect("a liquid");
    /// assert_eq!(litre.as_grams_per_millilitre(), 1.42);
    /// assert_eq!(Sugar::Sucrose.density(), None);
    /// ```
    #[must_use]
    pub const fn density(self) -> Option<Density> {
        Some(Density::grams_per_millilitre(match self {
            Self::GoldenSyrup => 1.43,
            Self::Honey => 1.42,
            Self::Invert | Self::LiquidMaltExtract => 1.41,
            Self::Molasses | Self::CandySyrup => 1.40,
            Self::AgaveSyrup => 1.38,
            Self::MapleSyrup => 1.33,
            _ => return None,
        }))
    }

    /// Part of its extract that brewing yeast ferments, 0–1.
    ///
    /// **Source and evidence:** those of [`Sugar::carbon_dioxide_share`].
    ///
    /// # Example
    ///
    /// ```
    /// use barm_zymology::carbonation::Sugar;
    /// assert_eq!(Sugar::Sucrose.fermentable_share(), 1.0);
    /// assert_eq!(Sugar::Maltodextrin.fermentable_share(), 0.0);
    /// ```
    #[must_use]
    pub fn fermentable_share(self) -> f64 {
        (self.carbon_dioxide_share() / (self.extract_share() * 0.4886)).min(1.0)
    }

    /// Carbon dioxide that this mass of it gives in this volume of beer; none for a beer of no volume.
    ///
    /// **Source and evidence:** those of [`Sugar::carbon_dioxide_share`].
    ///
    /// # Example
    ///
    /// ```
    /// use barm_quantity::{Mass, Volume};
    /// use barm_zymology::carbonation::Sugar;
    /// let gas = Sugar::Sucrose.carbonates(Mass::grams(77.8), Volume::litres(20.0));
    /// assert!((gas.as_grams_per_litre() - 2.0).abs() < 0.001);
    /// ```
    #[must_use]
    pub fn carbonates(self, mass: Mass, beer: Volume) -> CarbonDioxide {
        per_litre(mass.as_grams() * self.carbon_dioxide_share(), beer)
    }
}

/// Sugar that takes beer `from` what it holds `to` what is wanted; `None` for a sugar that yeast leaves.
///
/// Nothing where the beer holds enough already.
///
/// **Source:** stoichiometry, see [`Sugar::carbon_dioxide_share`]. **Evidence:** derived.
///
/// # Example
///
/// ```
/// use barm_quantity::{CarbonDioxide, Volume};
/// use barm_zymology::carbonation::{Sugar, sugar_for};
/// let (from, to) = (CarbonDioxide::grams_per_litre(3.2), CarbonDioxide::grams_per_litre(5.2));
/// let sugar = sugar_for(from, to, Volume::litres(20.0), Sugar::Sucrose).expect("sucrose ferments");
/// assert!((sugar.as_grams() - 77.8).abs() < 0.1);
/// ```
#[must_use]
pub fn sugar_for(from: CarbonDioxide, to: CarbonDioxide, beer: Volume, sugar: Sugar) -> Option<Mass> {
    let share = sugar.carbon_dioxide_share();
    let wanted = (to - from).as_grams_per_litre().max(0.0) * beer.as_litres().max(0.0);
    (share > 0.0).then(|| Mass::grams(wanted / share))
}
