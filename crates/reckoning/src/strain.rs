//! What is known of an organism: from its `strain` block, or from a culture or brew that says it itself.

use std::collections::HashMap;
use std::ops::Deref;
use std::sync::Arc;

use barm_quantity::{Concentration, Dimension, Measure};
use barm_syntax::ast::{Block, BlockKind, Flocculation, Kind, Organism};
use barm_zymology::pitching;

use crate::names::folded;
use crate::timeline::Shelved;
use crate::{Place, additions, degrees};

/// A rate that a brewer states: how much yeast a wort wants.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Rate {
    /// Live cells per mL and °P.
    PerPlato(f64),
    /// Live cells per mL, whatever the strength.
    PerMillilitre(f64),
    /// Grams of yeast per litre.
    MassPerLitre(f64),
}

impl Rate {
    /// Of a range, the low end: that much is enough.
    #[must_use]
    pub fn of(measure: &Measure) -> Option<Self> {
        match measure.dimension() {
            Dimension::PitchRate => Some(Self::PerPlato(measure.low_base())),
            Dimension::CellsPerVolume => Some(Self::PerMillilitre(measure.low_base())),
            Dimension::MassPerVolume => Some(Self::MassPerLitre(measure.low_base())),
            _ => None,
        }
    }

    /// The rate that was meant by it, of a yeast of which at most that is known.
    #[must_use]
    pub fn meant(self, organism: Option<Organism>) -> Self {
        match self {
            // Of wild yeast and bacteria little is pitched.
            Self::PerMillilitre(rate)
                if rate < pitching::LEAST.as_millions() * 1e6
                    && !matches!(organism, Some(Organism::Wild | Organism::Bacteria)) =>
            {
                Self::PerPlato(rate)
            }
            rate => rate,
        }
    }
}

/// How often a culture may be reused.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Reuse {
    /// So many generations.
    Generations(f64),
    /// As often as one likes.
    Any,
}

/// Facts that may stand in a strain, or in a culture or brew whose strain is unknown.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Facts {
    /// Kind of organism.
    pub organism: Option<Organism>,
    /// Temperatures that it likes, °C.
    pub range: Option<(f64, f64)>,
    /// Apparent attenuation, as fractions.
    pub attenuates: Option<(f64, f64)>,
    /// Alcohol that it stands, as a fraction by volume.
    pub tolerates: Option<f64>,
    /// Dissolved oxygen wanted, mg/L, the low end.
    pub needs: Option<f64>,
    /// Yeast wanted.
    pub rate: Option<Rate>,
    /// How often it may be reused.
    pub reuse: Option<Reuse>,
    /// How it flocculates.
    pub flocculation: Option<Flocculation>,
    /// Whether it eats what other yeasts leave.
    pub diastatic: bool,
}

impl Facts {
    const NONE: Self = Self {
        organism: None,
        range: None,
        attenuates: None,
        tolerates: None,
        needs: None,
        rate: None,
        reuse: None,
        flocculation: None,
        diastatic: false,
    };

    /// These facts, and where one is missing that of `other`.
    fn or(self, other: Self) -> Self {
        Self {
            organism: self.organism.or(other.organism),
            range: self.range.or(other.range),
            attenuates: self.attenuates.or(other.attenuates),
            tolerates: self.tolerates.or(other.tolerates),
            needs: self.needs.or(other.needs),
            rate: self.rate.or(other.rate),
            reuse: self.reuse.or(other.reuse),
            flocculation: self.flocculation.or(other.flocculation),
            diastatic: self.diastatic || other.diastatic,
        }
    }

    /// What makes it go on where others end, where it does.
    #[must_use]
    pub const fn goes_on(&self) -> Option<&'static str> {
        match self.organism {
            Some(Organism::Wild) => Some("wild yeast"),
            Some(Organism::Bacteria) => Some("bacteria"),
            _ if self.diastatic => Some("a diastatic strain"),
            _ => None,
        }
    }

    /// Whether it is an ordinary brewing yeast, for which a pitching rate is known.
    #[must_use]
    pub const fn is_brewing_yeast(&self) -> bool {
        matches!(self.organism, Some(Organism::Ale | Organism::Lager))
    }
}

/// What is known of an organism. Most brews know just what the block of their strain says, and share it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Traits(Option<Arc<Facts>>);

impl Deref for Traits {
    type Target = Facts;
    fn deref(&self) -> &Facts {
        self.0.as_deref().unwrap_or(&Facts::NONE)
    }
}

impl Traits {
    /// Of something of which only that is known.
    pub(crate) fn of_kind(organism: Organism) -> Self {
        Self(Some(Arc::new(Facts { organism: Some(organism), ..Facts::NONE })))
    }

    /// The facts of a block.
    pub(crate) fn of(block: &Block) -> Self {
        let mut out = Facts::NONE;
        let pair = |m: &Measure| (m.low_base(), m.high_base());
        for statement in &block.statements {
            match &statement.kind {
                Kind::Organism(organism) => out.organism = Some(*organism),
                Kind::Range(q) => out.range = Some(pair(&degrees::as_meant(q.measure, degrees::Of::Beer))),
                Kind::Attenuates(q) => out.attenuates = Some(pair(&q.measure)),
                Kind::Tolerates(q) => out.tolerates = Some(q.measure.base()),
                Kind::Flocculates(f) => out.flocculation = Some(*f),
                Kind::Needs(q) => out.needs = Some(q.measure.low_base()),
                Kind::Rate(q) => out.rate = Rate::of(&q.measure),
                Kind::Reuse(Some(q)) => out.reuse = Some(Reuse::Generations(q.measure.base())),
                Kind::Reuse(None) => out.reuse = Some(Reuse::Any),
                Kind::Diastatic => out.diastatic = true,
                _ => {}
            }
        }
        Self((out != Facts::NONE).then(|| Arc::new(out)))
    }

    /// These facts, and where one is missing that of `other`.
    #[must_use]
    pub(crate) fn or(&self, other: &Self) -> Self {
        match (&self.0, &other.0) {
            (Some(mine), Some(theirs)) if mine != theirs => Self(Some(Arc::new(mine.or(**theirs)))),
            (None, _) => other.clone(),
            _ => self.clone(),
        }
    }
}

/// A flavour that a strain makes.
#[derive(Debug, Clone, PartialEq)]
pub struct Makes {
    /// The word for it: a compound, or a note.
    pub flavour: Arc<str>,
    /// How much, where it is stated.
    pub level: Option<Concentration>,
    /// At how many °C, where it is stated.
    pub at: Option<f64>,
}

impl Makes {
    /// What a block says of flavours.
    pub(crate) fn of(block: &Block) -> Vec<Self> {
        let makes = block.statements.iter().filter_map(|statement| match &statement.kind {
            Kind::Makes(makes) => Some(makes),
            _ => None,
        });
        makes
            .map(|makes| Self {
                flavour: Arc::from(&*makes.flavour.text),
                level: makes.concentration.map(|q| Concentration::milligrams_per_litre(q.measure.base())),
                at: makes.at.map(|q| q.measure.base()),
            })
            .collect()
    }
}

/// A strain, by its position in [`crate::Season::strains`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct StrainId(pub u32);

/// A strain: declared, or only named, or the unnamed organism of one culture.
#[derive(Debug, Clone)]
pub struct Strain {
    /// Its name; for the unnamed organism of a culture, the culture's.
    pub name: Arc<str>,
    /// Where it is declared.
    pub place: Option<Place>,
    /// What is known of it.
    pub traits: Traits,
    /// Flavours that it makes.
    pub makes: Vec<Makes>,
}

/// The strains of a workspace.
#[derive(Debug, Default)]
pub(crate) struct Strains {
    pub all: Vec<Strain>,
    by_name: HashMap<String, StrainId>,
}

impl Strains {
    pub(crate) fn collect(shelf: &[Shelved<'_>]) -> Self {
        let mut out = Self::default();
        for shelved in shelf.iter().filter(|s| s.block.kind == BlockKind::Strain) {
            let Some(name) = &shelved.block.name else { continue };
            let key = folded(&name.text);
            if !out.by_name.contains_key(&key) {
                let traits = Traits::of(shelved.block);
                let id = out.push(Strain {
                    name: Arc::from(&*name.text),
                    place: Some(shelved.place(shelved.block.header)),
                    traits,
                    makes: Makes::of(shelved.block),
                });
                out.by_name.insert(key, id);
            }
        }
        out
    }

    fn push(&mut self, mut strain: Strain) -> StrainId {
        // A name may say what it is, where its block does not.
        let is_told = strain.traits.organism.is_some() || strain.traits.diastatic;
        if let Some(organism) = additions::lives(&strain.name).filter(|_| !is_told) {
            strain.traits = strain.traits.or(&Traits::of_kind(organism));
        }
        let id = StrainId(u32::try_from(self.all.len()).unwrap_or(u32::MAX));
        self.all.push(strain);
        id
    }

    /// The strain of a name; one that is only named is known by nothing else.
    pub(crate) fn named(&mut self, name: &str) -> StrainId {
        let key = folded(name);
        if let Some(id) = self.by_name.get(&key) {
            return *id;
        }
        let name = Arc::from(name);
        let id = self.push(Strain { name, place: None, traits: Traits::default(), makes: Vec::new() });
        self.by_name.insert(key, id);
        id
    }

    /// The organism of one culture alone, with facts of its own.
    pub(crate) fn own(
        &mut self,
        name: Arc<str>,
        place: Place,
        traits: Traits,
        makes: Vec<Makes>,
    ) -> StrainId {
        self.push(Strain { name, place: Some(place), traits, makes })
    }

    pub(crate) fn get(&self, id: StrainId) -> Option<&Strain> {
        self.all.get(id.0 as usize)
    }

    pub(crate) fn traits(&self, id: StrainId) -> Traits {
        self.get(id).map(|s| s.traits.clone()).unwrap_or_default()
    }
}
