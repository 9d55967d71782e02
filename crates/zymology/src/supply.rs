//! How many cells a pack, a sachet or a jar holds when it is fresh.

use barm_quantity::{Cells, CellsPerGram, CellsPerMillilitre, Estimate, FactorName, NINETY, Share};

use crate::between;

/// How slurry pours, well mixed.
///
/// # Example
///
/// ```
/// use barm_zymology::supply::{Origin, Thickness, slurry};
/// let of = |thickness| slurry(Some(thickness), Origin::Bottom, "jar-1").median();
/// assert!(of(Thickness::Thin) < of(Thickness::Medium) && of(Thickness::Medium) < of(Thickness::Thick));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Thickness {
    /// Like milk: 0.5 (0.2–1.0) thousand million cells per millilitre.
    Thin,
    /// Like cream: 1.2 (0.8–2.0).
    Medium,
    /// Like yoghurt: 2.4 (1.5–3.5).
    Thick,
}

impl Thickness {
    /// Thousand million cells per millilitre: low, best, high.
    const fn density(self) -> (f64, f64, f64) {
        match self {
            Self::Thin => (0.2, 0.5, 1.0),
            Self::Medium => (0.8, 1.2, 2.0),
            Self::Thick => (1.5, 2.4, 3.5),
        }
    }
}

/// Where slurry was taken from, which says how much of it is no yeast.
///
/// # Example
///
/// ```
/// use barm_zymology::supply::{Origin, slurry};
/// assert!(slurry(None, Origin::Hopped, "jar-1").median() < slurry(None, Origin::Top, "jar-1").median());
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Origin {
    /// Cropped from the top, or decanted clean: 0.05 (0–0.1) of it is no yeast.
    Top,
    /// Drawn off a cone when what settled first had been let off: as clean as a crop from the top.
    Cone,
    /// From the bottom of an ordinary fermenter: 0.15 (0.05–0.3).
    Bottom,
    /// From the bottom after hops went into the fermenter: 0.3 (0.15–0.5).
    Hopped,
}

impl Origin {
    /// Share of yeast: low, best, high.
    const fn yeast(self) -> (f64, f64, f64) {
        match self {
            Self::Top | Self::Cone => (0.9, 0.95, 1.0),
            Self::Bottom => (0.7, 0.85, 0.95),
            Self::Hopped => (0.5, 0.7, 0.85),
        }
    }
}

/// Grams in a millilitre of slurry.
///
/// **Evidence:** derived (yeast 1.1 g/mL in beer).
///
/// # Example
///
/// ```
/// use barm_zymology::supply::{Origin, SLURRY_GRAMS_PER_ML, Thickness, slurry};
/// let per_gram = slurry(Some(Thickness::Medium), Origin::Top, "jar-1").scaled(1.0 / SLURRY_GRAMS_PER_ML);
/// assert!((per_gram.median() / 1e9 - 1.075).abs() < 0.001);
/// ```
pub const SLURRY_GRAMS_PER_ML: f64 = 1.06;

/// Cells per millilitre of slurry, living and dead, in single cells.
///
/// `thickness` unknown: that of cream, anywhere from thin to thick. Two factors of `lot`: "cell density" and
/// "yeast share".
///
/// **Source:** a yeast maker's and a plant supplier's figures, an amateur laboratory's count of 2013; Boulton
/// & Quain's 40 % wet solids (*Brewing Yeast and Fermentation*, Fig. 7.9, through Quain 2017) as the check on
/// the upper end; the share that is no yeast is a judgement. **Evidence:** published bands, put together here
/// (derived).
///
/// # Example
///
/// ```
/// use barm_zymology::supply::{Origin, Thickness, slurry};
/// let jar = slurry(Some(Thickness::Medium), Origin::Bottom, "jar-1");
/// assert!((jar.median() / 1e9 - 1.02).abs() < 1e-9);
/// assert_eq!(jar.widest().map(|f| f.name.what()), Some("cell density"));
/// ```
#[must_use]
pub fn slurry(thickness: Option<Thickness>, origin: Origin, lot: &str) -> Estimate {
    let (low, best, high) = match thickness {
        Some(thickness) => thickness.density(),
        None => (Thickness::Thin.density().1, Thickness::Medium.density().1, Thickness::Thick.density().1),
    };
    let density = Estimate::band(low * 1e9, best * 1e9, high * 1e9, FactorName::new("cell density", lot));
    let (low, best, high) = origin.yeast();
    density * Estimate::band(low, best, high, FactorName::new("yeast share", lot)).capped(1.0)
}

/// Cells per millilitre of slurry as the house counted them in others that pour alike, in single cells.
///
/// The next jar holds a fifth more or less. What was counted is cells, whatever lies between them. One factor of `lot`: "cell
/// density". A density below zero counts as none.
///
/// **Evidence:** derived (judgement).
///
/// # Example
///
/// ```
/// use barm_quantity::CellsPerMillilitre;
/// let jar = barm_zymology::supply::slurry_as_counted(CellsPerMillilitre::billions(1.4), "jar-1");
/// assert!((jar.high() / 1.4e9 - 1.2).abs() < 1e-9 && (jar.low() / 1.4e9 - 1.0 / 1.2).abs() < 1e-9);
/// ```
#[must_use]
pub fn slurry_as_counted(density: CellsPerMillilitre, lot: &str) -> Estimate {
    const JARS_DIFFER: f64 = 1.2;
    Estimate::exact(density.as_billions() * 1e9)
        .with_factor(FactorName::new("cell density", lot), JARS_DIFFER.ln() / NINETY)
}

/// Live share of yeast when it is taken from under its beer: 0.95 (0.85–0.98), less after a strong beer.
///
/// `donor_abv`: the beer's alcohol by volume; unknown counts as at most 5 %. The multiplier is 1 to 5 %, 0.95
/// at 5.75 %, 0.85 at 7.25 %, 0.7 at 9 %, 0.5 from 11 % on, in straight lines between. One factor of `lot`:
/// "viability at harvest".
///
/// **Source:** MEBAK and a plant supplier for the band (viability of a crop above 90 %, aim above 95 %); that
/// strong beer costs viability is published (Loveridge et al. 1999, through Boulton & Quain), how much is a
/// judgement. **Evidence:** derived.
///
/// # Example
///
/// ```
/// use barm_quantity::Share;
/// use barm_zymology::supply::harvest_viability;
/// assert!((harvest_viability(None, "jar-1").median() - 0.95).abs() < 1e-9);
/// let after_barley_wine = harvest_viability(Some(Share::percent(11.0)), "jar-1");
/// assert!((after_barley_wine.median() - 0.475).abs() < 1e-9);
/// ```
#[must_use]
pub fn harvest_viability(donor_abv: Option<Share>, lot: &str) -> Estimate {
    Estimate::band(0.85, 0.95, 0.98, FactorName::new("viability at harvest", lot))
        .capped(1.0)
        .scaled(after_donor(donor_abv))
}

/// What a beer of this alcohol leaves alive, over an ordinary one.
fn after_donor(abv: Option<Share>) -> f64 {
    const DONOR: [(f64, f64); 5] = [(5.0, 1.0), (5.75, 0.95), (7.25, 0.85), (9.0, 0.7), (11.0, 0.5)];
    abv.map_or(1.0, |abv| between(&DONOR, abv.as_percent()))
}

/// Live share at harvest as the house measured it after ordinary beer; less after a strong one, as [`harvest_viability`].
///
/// The next harvest differs by 3 % of itself either way; never above 1. One factor of `lot`: "viability at harvest". A share
/// below zero counts as none.
///
/// **Evidence:** derived (judgement).
///
/// # Example
///
/// ```
/// use barm_quantity::Share;
/// use barm_zymology::supply::harvest_viability_as_measured;
/// let usual = harvest_viability_as_measured(Share::percent(92.0), None, "jar-1");
/// assert!((usual.median() - 0.92).abs() < 1e-9 && (usual.high() - 0.9476).abs() < 1e-4);
/// ```
#[must_use]
pub fn harvest_viability_as_measured(usual: Share, donor_abv: Option<Share>, lot: &str) -> Estimate {
    const HARVESTS_DIFFER: f64 = 1.03;
    Estimate::exact(usual.as_fraction() * after_donor(donor_abv))
        .with_factor(FactorName::new("viability at harvest", lot), HARVESTS_DIFFER.ln() / NINETY)
        .capped(1.0)
}

/// Live part of a pack's label when it was made, best value.
///
/// **Range and evidence:** those of [`pack`].
///
/// # Example
///
/// ```
/// assert_eq!(barm_zymology::supply::PACK_LIVE.as_percent(), 97.0);
/// ```
pub const PACK_LIVE: Share = Share::percent(97.0);

/// Live cells in a liquid pack when it was made, in single cells: the label × 0.97 (0.90–1).
///
/// One factor of `lot`: "viability when packed". A label below zero counts as none.
///
/// **Evidence:** derived (a judgement that no label is exceeded and few miss by more than a tenth).
///
/// # Example
///
/// ```
/// use barm_quantity::Cells;
/// let pack = barm_zymology::supply::pack(Cells::billions(100.0), "pack-1");
/// assert!((pack.median() / 1e9 - 97.0).abs() < 1e-9);
/// ```
#[must_use]
pub fn pack(label: Cells, lot: &str) -> Estimate {
    let live =
        Estimate::band(0.90, PACK_LIVE.as_fraction(), 1.0, FactorName::new("viability when packed", lot))
            .capped(1.0);
    live.scaled(label.as_each())
}

/// Live cells per gram of fresh dry yeast, in single cells: 10 (5–20) thousand million.
///
/// `per_gram`: what the label or the brewer says instead, taken as it stands. `sprinkled` on the wort and not
/// rehydrated: × 0.75 (0.5–1.0), which makers dispute. Factors of `lot`: "cells in dry yeast", "rehydration".
///
/// **Source:** a dry-yeast maker's article, 2023 (7.5–10), labels (at least 5–6), Cone quoted in a trade
/// magazine (20; loss of 30–60 % on wort). **Evidence:** published, contradicting each other.
///
/// # Example
///
/// ```
/// let sachet = barm_zymology::supply::dry(None, false, "sachet-1").scaled(11.0);
/// assert!((sachet.median() / 1e9 - 110.0).abs() < 1e-9);
/// ```
#[must_use]
pub fn dry(per_gram: Option<CellsPerGram>, sprinkled: bool, lot: &str) -> Estimate {
    let live = match per_gram {
        Some(stated) => Estimate::exact(stated.as_billions() * 1e9),
        None => Estimate::band(5e9, 10e9, 20e9, FactorName::new("cells in dry yeast", lot)),
    };
    if sprinkled {
        live * Estimate::band(0.5, 0.75, 1.0, FactorName::new("rehydration", lot)).capped(1.0)
    } else {
        live
    }
}
