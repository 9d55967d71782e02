//! Every key of `barm.toml`: what reads it, what explains it and what its schema is made of.

use barm_quantity::{
    CellsPerGram, CellsPerMillilitre, Concentration, Dimension, PitchRate, Share, Temperature,
    TemperatureDifference,
};
use barm_zymology::supply::Thickness;
use barm_zymology::{gravity, storage};

use super::{Cautions, GravityScale, KnownRules, Settings, Units};

/// A key.
#[derive(Debug)]
pub(super) struct Key {
    /// The tables that it lies in, and its own name last; `*` is any name.
    pub path: &'static [&'static str],
    /// What it says of the brewhouse, in one sentence.
    pub says: &'static str,
    /// What holds without it, in TOML; of a `*`, an example: `name = value`.
    pub default: &'static str,
    /// What a value looks like, where the default does not show it well.
    pub example: Option<&'static str>,
    pub form: Form,
}

/// What a value may be. What sets it is told the key's own name, which matters for a `*`.
#[derive(Debug)]
pub(super) enum Form {
    /// One of some words.
    Word { words: &'static [&'static str], set: fn(&mut Settings, &str, &str) },
    /// A number with its unit, in text; the limits are in base units.
    Quantity { dimension: Dimension, distance: bool, limits: (f64, f64), set: fn(&mut Settings, &str, f64) },
    /// A loss by the month or by the day.
    Loss { set: fn(&mut Settings, Share) },
    /// A bare number.
    Number { limits: (f64, f64), set: fn(&mut Settings, &str, f64) },
}

/// Whose names stand for a `*`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Names {
    Rules,
    RulesWithALimit,
}

impl Key {
    /// Its own name.
    pub(super) fn name(&self) -> &'static str {
        self.path.last().copied().unwrap_or_default()
    }

    /// Whether its default is what holds without it, to the letter: a house that has not measured has wider ranges.
    pub(super) fn holds(&self) -> bool {
        self.name() != "*" && !self.path.starts_with(&["models"])
    }

    /// Whose names stand for its `*`, if it is one.
    pub(super) fn names(&self) -> Option<Names> {
        match self.path {
            ["limits", "*"] => Some(Names::RulesWithALimit),
            ["levels", "*"] => Some(Names::Rules),
            _ => None,
        }
    }

    /// The most that it can be of a rule whose limit is a share.
    pub(super) fn most(&self, rule: &str, rules: Option<KnownRules<'_>>) -> Option<f64> {
        let shares = rules.filter(|_| self.names() == Some(Names::RulesWithALimit))?.shares;
        shares.iter().find(|(name, _)| *name == rule).map(|(_, most)| *most)
    }

    /// What a value looks like.
    pub(super) fn example(&self) -> &'static str {
        let shown = self.example.unwrap_or(self.default);
        shown.split_once(" = ").map_or(shown, |(_, value)| value)
    }
}

const fn quantity(dimension: Dimension, limits: (f64, f64), set: fn(&mut Settings, &str, f64)) -> Form {
    Form::Quantity { dimension, distance: false, limits, set }
}

const fn error(dimension: Dimension, limits: (f64, f64), set: fn(&mut Settings, &str, f64)) -> Form {
    Form::Quantity { dimension, distance: true, limits, set }
}

const RATE: (f64, f64) = (1e4, 2e7);
const DOSE: (f64, f64) = (0.01, 20.0);
const SLURRY: (f64, f64) = (1e7, 1e10);

/// The keys, in the order in which a brewer would look for them.
pub(super) const KEYS: &[Key] = &[
    Key {
        path: &["units"],
        says: "Measures of tables and answers; a finding speaks the units of its line.",
        default: "\"metric\"",
        example: None,
        form: Form::Word {
            words: &["metric", "us"],
            set: |s, _, word| s.units = if word == "us" { Units::Us } else { Units::Metric },
        },
    },
    Key {
        path: &["gravity"],
        says: "Gravity scale of tables and answers.",
        default: "\"sg\"",
        example: None,
        form: Form::Word {
            words: &["sg", "plato"],
            set: |s, _, word| {
                s.gravity = if word == "plato" { GravityScale::Plato } else { GravityScale::Sg };
            },
        },
    },
    Key {
        path: &["elevation"],
        says: "Height above the sea, in `m` or `ft`: less oxygen dissolves up there.",
        default: "\"0 m\"",
        example: Some("\"340 m\""),
        form: quantity(Dimension::Length, (-500.0, 6000.0), |s, _, metres| s.elevation_metres = metres),
    },
    Key {
        path: &["cautions"],
        says: "Whether the cautions are shown by `check`; `read` once you know them.",
        default: "\"shown\"",
        example: None,
        form: Form::Word {
            words: &["shown", "read"],
            set: |s, _, word| s.cautions = if word == "read" { Cautions::Read } else { Cautions::Shown },
        },
    },
    Key {
        path: &["instruments", "hydrometer", "calibrated"],
        says: "What the hydrometer is calibrated at.",
        default: "\"20 °C\"",
        example: None,
        form: quantity(Dimension::Temperature, gravity::CALIBRATED, |s, _, celsius| {
            s.hydrometer_calibrated = Temperature::celsius(celsius);
        }),
    },
    Key {
        path: &["instruments", "hydrometer", "error"],
        says: "Error of a gravity reading either way, in specific gravity.",
        default: "\"0.001\"",
        example: None,
        form: error(Dimension::Number, (0.0, 0.02), |s, _, error| s.hydrometer_error = error),
    },
    Key {
        path: &["instruments", "refractometer", "wort-factor"],
        says: "What the refractometer's °Bx are divided by to give the wort's strength.",
        default: "1.04",
        example: None,
        form: Form::Number { limits: (0.9, 1.2), set: |s, _, factor| s.wort_factor = factor },
    },
    Key {
        path: &["instruments", "thermometer", "error"],
        says: "Error of a temperature reading either way.",
        default: "\"0.5 °C\"",
        example: None,
        form: error(Dimension::Temperature, (0.0, 5.0), |s, _, kelvin| {
            s.thermometer_error = TemperatureDifference::kelvin(kelvin);
        }),
    },
    Key {
        path: &["places", "refrigerator"],
        says: "Where packs and jars are kept when the log does not say.",
        default: "\"4 °C\"",
        example: None,
        form: PLACE,
    },
    Key {
        path: &["places", "room"],
        says: "Where a starter or a beer stands when the log does not say.",
        default: "\"20 °C\"",
        example: None,
        form: PLACE,
    },
    Key {
        path: &["rates", "ale"],
        says: "Live cells that an ale wants.",
        default: "\"0.75 M/mL/°P\"",
        example: None,
        form: quantity(Dimension::PitchRate, RATE, |s, _, rate| s.ale_rate = PitchRate::millions(rate / 1e6)),
    },
    Key {
        path: &["rates", "lager"],
        says: "Live cells that a lager wants.",
        default: "\"1.5 M/mL/°P\"",
        example: None,
        form: quantity(Dimension::PitchRate, RATE, |s, _, rate| {
            s.lager_rate = PitchRate::millions(rate / 1e6);
        }),
    },
    Key {
        path: &["rates", "dry-ale"],
        says: "Dry yeast that an ale wants at the yeast's first use.",
        default: "\"50 g/hL\"",
        example: None,
        form: quantity(Dimension::MassPerVolume, DOSE, |s, _, dose| {
            s.dry_ale = Concentration::grams_per_litre(dose);
        }),
    },
    Key {
        path: &["rates", "dry-lager"],
        says: "Dry yeast that a lager wants at the yeast's first use.",
        default: "\"80 g/hL\"",
        example: None,
        form: quantity(Dimension::MassPerVolume, DOSE, |s, _, dose| {
            s.dry_lager = Concentration::grams_per_litre(dose);
        }),
    },
    Key {
        path: &["limits", "*"],
        says: "The limit of a rule, by the rule's name; its page says which limit that is.",
        default: "underpitched = 0.67",
        example: None,
        form: Form::Number {
            limits: (0.0, 1e6),
            set: |s, rule, limit| {
                s.limits.insert(rule.to_owned(), limit);
            },
        },
    },
    Key {
        path: &["levels", "*"],
        says: "The level of a rule, by the rule's name.",
        default: "late-generation = \"note\"",
        example: None,
        form: Form::Word {
            words: &["off", "note", "warning", "error"],
            set: |s, rule, level| {
                s.levels.insert(rule.to_owned(), level.to_owned());
            },
        },
    },
    Key {
        path: &["models", "pack-loss"],
        says: "What liquid packs lose at 4 °C, as measured in this house; else 15 to 25 % a month.",
        default: "\"20 %/month\"",
        example: None,
        form: Form::Loss { set: |s, loss| s.models.pack_loss = storage::claimed(loss) },
    },
    Key {
        path: &["models", "slurry-loss"],
        says: "What slurry loses at 4 °C, as measured in this house; else 0.5 to 3.5 % a day.",
        default: "\"2 %/day\"",
        example: None,
        form: Form::Loss { set: |s, loss| s.models.slurry_loss = storage::claimed(loss) },
    },
    Key {
        path: &["models", "harvest-viability"],
        says: "What lives of yeast when it is harvested from an ordinary beer, as measured in this house.",
        default: "\"95 %\"",
        example: None,
        form: quantity(Dimension::Share, (0.05, 1.0), |s, _, share| {
            s.models.harvest_viability = Some(Share::fraction(share));
        }),
    },
    Key {
        path: &["models", "slurry-thin"],
        says: "All cells in slurry that pours like milk, as counted in this house.",
        default: "\"0.5 B/mL\"",
        example: None,
        form: quantity(Dimension::CellsPerVolume, SLURRY, |s, _, cells| {
            s.models.slurry.insert(Thickness::Thin, CellsPerMillilitre::billions(cells / 1e9));
        }),
    },
    Key {
        path: &["models", "slurry-medium"],
        says: "All cells in slurry that pours like cream, as counted in this house.",
        default: "\"1.2 B/mL\"",
        example: None,
        form: quantity(Dimension::CellsPerVolume, SLURRY, |s, _, cells| {
            s.models.slurry.insert(Thickness::Medium, CellsPerMillilitre::billions(cells / 1e9));
        }),
    },
    Key {
        path: &["models", "slurry-thick"],
        says: "All cells in slurry that pours like yoghurt, as counted in this house.",
        default: "\"2.4 B/mL\"",
        example: None,
        form: quantity(Dimension::CellsPerVolume, SLURRY, |s, _, cells| {
            s.models.slurry.insert(Thickness::Thick, CellsPerMillilitre::billions(cells / 1e9));
        }),
    },
    Key {
        path: &["models", "dry-cells"],
        says: "Live cells in fresh dry yeast, as measured in this house; else 5 to 20 B/g.",
        default: "\"10 B/g\"",
        example: None,
        form: quantity(Dimension::CellsPerMass, (1e8, 1e11), |s, _, cells| {
            s.models.dry_cells = Some(CellsPerGram::billions(cells / 1e9));
        }),
    },
];

const PLACE: Form = quantity(Dimension::Temperature, (-40.0, 60.0), |s, name, celsius| {
    s.places.insert(name.to_owned(), Temperature::celsius(celsius));
});
