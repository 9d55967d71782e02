//! What a house has measured for itself, in place of what is published.

use std::collections::BTreeMap;
use std::sync::Arc;

use barm_quantity::{CellsPerGram, CellsPerMillilitre, Estimate, Share};
use barm_zymology::storage::{self, Loss};
use barm_zymology::supply::{self, Origin, Thickness};

/// The constants of the science that a house may have measured.
#[derive(Debug, Clone, PartialEq)]
pub struct Models {
    /// How liquid packs age.
    pub pack_loss: Loss,
    /// How slurry and cakes age.
    pub slurry_loss: Loss,
    /// What lives at harvest.
    pub harvest_viability: Option<Share>,
    /// All cells in slurry, by how it pours.
    pub slurry: BTreeMap<Thickness, CellsPerMillilitre>,
    /// Live cells in dry yeast.
    pub dry_cells: Option<CellsPerGram>,
}

impl Default for Models {
    fn default() -> Self {
        Self {
            pack_loss: storage::pack_loss(storage::PACK_MONTHLY),
            slurry_loss: storage::SLURRY,
            harvest_viability: None,
            slurry: BTreeMap::new(),
            dry_cells: None,
        }
    }
}

impl Models {
    /// All cells in a millilitre of slurry.
    pub(crate) fn slurry(&self, thickness: Option<Thickness>, origin: Origin, lot: &Arc<str>) -> Estimate {
        match thickness.and_then(|thickness| self.slurry.get(&thickness)) {
            Some(cells) => supply::slurry_as_counted(*cells, lot),
            None => supply::slurry(thickness, origin, lot),
        }
    }

    /// What lives of yeast when it is taken from under its beer; less after a strong one.
    pub(crate) fn harvested(&self, donor_abv: Option<Share>, lot: &Arc<str>) -> Estimate {
        match self.harvest_viability {
            Some(usual) => supply::harvest_viability_as_measured(usual, donor_abv, lot),
            None => supply::harvest_viability(donor_abv, lot),
        }
    }

    /// Live cells in a gram of fresh dry yeast, by its label where it says so.
    pub(crate) fn dry(&self, label: Option<CellsPerGram>, lot: &Arc<str>) -> Estimate {
        supply::dry(label.or(self.dry_cells), false, lot)
    }
}
