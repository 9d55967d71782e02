//! Flavour compounds against their thresholds.
//!
//! A flavour unit is a concentration over its threshold. Thresholds are the middle of a panel: tables differ
//! twofold, and the least and most sensitive tenth of people twentyfold (Meilgaard 1982, J. Agric. Food Chem.
//! 30, 1009–1017). So three words are all that is ever said: [`Noticeable`].

use std::collections::BTreeMap;

use barm_quantity::{Concentration, Estimate, FactorName, TemperatureDifference};

/// What a compound tastes of; compounds of one note add up, unlike notes do not.
///
/// # Example
///
/// ```
/// use barm_zymology::flavour::{Compound, Note};
/// assert!(Compound::ALL.iter().any(|compound| compound.note() == Note::Clove));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
#[expect(missing_docs, reason = "each name says it")]
pub enum Note {
    Fruit,
    Rose,
    Solvent,
    Clove,
    GreenApple,
    Butter,
    Sweetcorn,
    RottenEgg,
    Vinegar,
    Goat,
}

impl Note {
    /// As a taster says it: "green apple".
    ///
    /// # Example
    ///
    /// ```
    /// assert_eq!(barm_zymology::flavour::Note::GreenApple.name(), "green apple");
    /// ```
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Fruit => "fruit",
            Self::Rose => "rose",
            Self::Solvent => "solvent",
            Self::Clove => "clove",
            Self::GreenApple => "green apple",
            Self::Butter => "butter",
            Self::Sweetcorn => "sweetcorn",
            Self::RottenEgg => "rotten egg",
            Self::Vinegar => "vinegar",
            Self::Goat => "goat",
        }
    }
}

/// Declares the compounds: variant, names, note, threshold (low, use, high) and usual range in beer in mg/L.
macro_rules! compounds {
    ($( $variant:ident, $name:literal $(| $other:literal)*, $note:ident, ($low:expr, $use:expr, $high:expr), ($least:expr, $most:expr); )+) => {
        /// A compound that yeast makes, or that spoils beer.
        ///
        /// # Example
        ///
        /// ```
        /// use barm_zymology::flavour::Compound;
        /// assert_eq!(Compound::read("4VG"), Some(Compound::Vinylguaiacol));
        /// ```
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
        #[expect(missing_docs, reason = "`name` says each")]
        pub enum Compound { $( $variant, )+ }

        impl Compound {
            /// Every one.
            ///
            /// # Example
            ///
            /// ```
            /// use barm_zymology::flavour::Compound;
            /// assert!(Compound::ALL.iter().all(|compound| Compound::read(compound.name()) == Some(*compound)));
            /// ```
            pub const ALL: &'static [Self] = &[$( Self::$variant, )+];

            /// Its usual name: "isoamyl acetate".
            ///
            /// # Example
            ///
            /// ```
            /// assert_eq!(barm_zymology::flavour::Compound::IsoamylAcetate.name(), "isoamyl acetate");
            /// ```
            #[must_use]
            pub const fn name(self) -> &'static str { match self { $( Self::$variant => $name, )+ } }

            /// What it tastes of.
            ///
            /// # Example
            ///
            /// ```
            /// use barm_zymology::flavour::{Compound, Note};
            /// assert_eq!(Compound::Diacetyl.note(), Note::Butter);
            /// ```
            #[must_use]
            pub const fn note(self) -> Note { match self { $( Self::$variant => Note::$note, )+ } }

            /// mg/L: low, use, high.
            const fn thresholds(self) -> (f64, f64, f64) { match self { $( Self::$variant => ($low, $use, $high), )+ } }

            const fn usual(self) -> (f64, f64) { match self { $( Self::$variant => ($least, $most), )+ } }

            const fn names(self) -> &'static [&'static str] { match self { $( Self::$variant => &[$name $(, $other)*], )+ } }
        }
    };
}

// Thresholds: J. Food Quality 2018, 8780725, Table 4; Humia et al. 2019, Molecules 24, 1568, Table 1. Usual ranges: FEMS Yeast Res.
// 2021, foab040, Table 3, after Baxter & Hughes 2001 and Moll. 4-vinylguaiacol: Oxford Companion to Beer 2012. H₂S, DMS range and
// octanoic range from memory.
compounds! {
    IsoamylAcetate, "isoamyl acetate" | "banana", Fruit, (0.6, 1.4, 2.5), (0.5, 5.0);
    EthylHexanoate, "ethyl hexanoate" | "ethyl caproate", Fruit, (0.15, 0.21, 0.3), (0.1, 0.5);
    EthylOctanoate, "ethyl octanoate" | "ethyl caprylate", Fruit, (0.3, 0.9, 1.0), (0.1, 1.5);
    EthylButanoate, "ethyl butanoate" | "ethyl butyrate", Fruit, (0.2, 0.4, 0.5), (0.04, 0.2);
    PhenylethylAcetate, "phenylethyl acetate", Rose, (3.0, 3.8, 5.0), (0.05, 2.0);
    Phenylethanol, "2-phenylethanol" | "phenylethanol" | "rose", Rose, (40.0, 100.0, 125.0), (8.0, 35.0);
    EthylAcetate, "ethyl acetate" | "solvent", Solvent, (20.0, 30.0, 50.0), (10.0, 60.0);
    IsoamylAlcohol, "isoamyl alcohol" | "amyl alcohol", Solvent, (50.0, 70.0, 75.0), (38.0, 100.0);
    Isobutanol, "isobutanol", Solvent, (100.0, 150.0, 200.0), (5.0, 60.0);
    Propanol, "n-propanol" | "propanol", Solvent, (600.0, 800.0, 900.0), (3.0, 16.0);
    Vinylguaiacol, "4-vinylguaiacol" | "4vg" | "clove", Clove, (0.2, 0.3, 0.7), (0.05, 0.55);
    Acetaldehyde, "acetaldehyde" | "green apple", GreenApple, (5.0, 15.0, 25.0), (2.0, 20.0);
    Diacetyl, "diacetyl" | "butter", Butter, (0.02, 0.10, 0.15), (0.01, 0.4);
    Pentanedione, "2,3-pentanedione" | "pentanedione", Butter, (0.5, 0.9, 1.0), (0.01, 0.15);
    DimethylSulphide, "dimethyl sulphide" | "dms" | "sweetcorn", Sweetcorn, (0.025, 0.03, 0.05), (0.01, 0.15);
    HydrogenSulphide, "hydrogen sulphide" | "h2s" | "rotten egg", RottenEgg, (0.004, 0.008, 0.01), (0.001, 0.02);
    AceticAcid, "acetic acid" | "vinegar", Vinegar, (90.0, 130.0, 200.0), (30.0, 200.0);
    OctanoicAcid, "octanoic acid" | "caprylic acid" | "goat", Goat, (4.0, 4.5, 10.0), (2.0, 8.0);
}

impl Compound {
    /// Reads a name, in any letter case, with spaces or hyphens: "Isoamyl-Acetate", "4VG", "banana". `None`
    /// for any other word.
    ///
    /// # Example
    ///
    /// ```
    /// use barm_zymology::flavour::Compound;
    /// assert_eq!(Compound::read("Isoamyl-Acetate"), Some(Compound::IsoamylAcetate));
    /// assert_eq!(Compound::read("velvet"), None);
    /// ```
    #[must_use]
    pub fn read(text: &str) -> Option<Self> {
        let plain = |b: u8| if b == b'_' || b == b' ' { b'-' } else { b.to_ascii_lowercase() };
        let said =
            |name: &str| name.len() == text.len() && name.bytes().map(plain).eq(text.bytes().map(plain));
        Self::ALL.iter().find(|compound| compound.names().iter().any(|name| said(name))).copied()
    }

    /// Threshold in beer: the middle of what the tables give.
    ///
    /// **Source:** J. Food Quality 2018, 8780725, Table 4; Humia et al. 2019, Molecules 24, 1568, Table 1;
    /// hydrogen sulphide from memory. **Evidence:** published; tables differ twofold.
    ///
    /// # Example
    ///
    /// ```
    /// use barm_zymology::flavour::Compound;
    /// assert_eq!(Compound::IsoamylAcetate.threshold().as_milligrams_per_litre(), 1.4);
    /// ```
    #[must_use]
    pub const fn threshold(self) -> Concentration {
        Concentration::milligrams_per_litre(self.thresholds().1)
    }

    /// What ordinary beers hold, least and most.
    ///
    /// **Source:** FEMS Yeast Res. 2021, foab040, Table 3; a few rows from memory. **Evidence:** published.
    ///
    /// # Example
    ///
    /// ```
    /// use barm_zymology::flavour::Compound;
    /// let (least, most) = Compound::IsoamylAcetate.usual_range();
    /// assert!(least < Compound::IsoamylAcetate.threshold() && Compound::IsoamylAcetate.threshold() < most);
    /// ```
    #[must_use]
    pub const fn usual_range(self) -> (Concentration, Concentration) {
        let (least, most) = self.usual();
        (Concentration::milligrams_per_litre(least), Concentration::milligrams_per_litre(most))
    }

    /// Flavour units of this much of it. One factor, "flavour threshold" of the compound.
    ///
    /// A concentration below zero counts as none.
    ///
    /// **Source:** Meilgaard 1982. **Evidence:** published.
    ///
    /// # Example
    ///
    /// ```
    /// use barm_quantity::Concentration;
    /// use barm_zymology::flavour::Compound;
    /// let units = Compound::IsoamylAcetate.units(Concentration::milligrams_per_litre(2.09));
    /// assert!((units.median() - 1.49).abs() < 0.01);
    /// ```
    #[must_use]
    pub fn units(self, concentration: Concentration) -> Estimate {
        let (low, best, high) = self.thresholds();
        let name = FactorName::new("flavour threshold", self.name());
        Estimate::exact(concentration.as_milligrams_per_litre()) / Estimate::band(low, best, high, name)
    }
}

/// Flavour units of each note: compounds of one note add up.
///
/// **Source:** Meilgaard 1982 (abstract): like notes add, unlike notes act independently. **Evidence:**
/// published.
///
/// # Example
///
/// ```
/// use barm_quantity::Concentration;
/// use barm_zymology::flavour::{Compound, Note, by_note};
/// let level = Concentration::milligrams_per_litre;
/// let notes = by_note(&[(Compound::Diacetyl, level(0.06)), (Compound::Pentanedione, level(0.45))]);
/// assert!((notes[&Note::Butter].median() - 1.1).abs() < 0.1);
/// ```
#[must_use]
pub fn by_note(levels: &[(Compound, Concentration)]) -> BTreeMap<Note, Estimate> {
    let mut notes: BTreeMap<Note, Vec<Estimate>> = BTreeMap::new();
    for (compound, level) in levels {
        notes.entry(compound.note()).or_default().push(compound.units(*level));
    }
    notes.into_iter().map(|(note, units)| (note, units.into_iter().sum())).collect()
}

/// All that is said of a flavour.
///
/// # Example
///
/// ```
/// use barm_zymology::flavour::Noticeable;
/// assert!(Noticeable::Not < Noticeable::MayBe && Noticeable::MayBe < Noticeable::Likely);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Noticeable {
    /// Fewer than 0.5 flavour units.
    Not,
    /// 0.5 to 2.
    MayBe,
    /// More than 2.
    Likely,
}

impl Noticeable {
    /// What so many flavour units amount to, by their median.
    ///
    /// **Source:** the bands of Meilgaard 1975. **Evidence:** from memory.
    ///
    /// # Example
    ///
    /// ```
    /// use barm_quantity::Estimate;
    /// use barm_zymology::flavour::Noticeable;
    /// assert_eq!(Noticeable::of(&Estimate::exact(1.5)).words(), "may be noticeable");
    /// ```
    #[must_use]
    pub fn of(units: &Estimate) -> Self {
        match units.median() {
            units if units < 0.5 => Self::Not,
            units if units <= 2.0 => Self::MayBe,
            _ => Self::Likely,
        }
    }

    /// In words: "not noticeable", "may be noticeable", "likely noticeable".
    ///
    /// # Example
    ///
    /// ```
    /// assert_eq!(barm_zymology::flavour::Noticeable::Likely.words(), "likely noticeable");
    /// ```
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Not => "not noticeable",
            Self::MayBe => "may be noticeable",
            Self::Likely => "likely noticeable",
        }
    }
}

/// A flavour that a strain is said to make at one temperature is looked for in a beer that worked within so much of it.
///
/// **Evidence:** derived (judgement): makers state flavours a few kelvin apart.
///
/// # Example
///
/// ```
/// assert_eq!(barm_zymology::flavour::SAME_WARMTH.as_kelvin(), 3.0);
/// ```
pub const SAME_WARMTH: TemperatureDifference = TemperatureDifference::kelvin(3.0);
