//! One line above a brew: how it stands.

use barm_quantity::{plain, significant};
use barm_reckoning::{Batch, LotKind, advice};
use barm_rules::Level;
use barm_syntax::Span;

use crate::Part;
use crate::world::World;

/// A line above a block.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Lens {
    /// The header that it stands above.
    pub span: Span,
    /// What it says.
    pub text: String,
}

/// A line for each brew and starter of a file.
#[must_use]
pub fn lenses(world: &World, path: &str) -> Vec<Lens> {
    let (Some(file), Some(part)) = (world.file(path), world.part(path)) else { return Vec::new() };
    let Some(id) = part.id(path) else { return Vec::new() };
    let here = part.season.batches.iter().filter(|batch| batch.block.file == id);
    let lens = |batch: &Batch| {
        let placed = file.log.blocks.get(batch.block.index as usize)?;
        Some(Lens { span: placed.block.header.shifted(placed.start), text: line(&part, path, batch) })
    };
    here.filter_map(lens).collect()
}

fn line(part: &Part, path: &str, batch: &Batch) -> String {
    let mut parts = Vec::new();
    if let (Some(pitch), LotKind::Brew) = (&batch.pitch, batch.kind) {
        let pitched = barm_quantity::share(pitch.ratio.median());
        parts.push(format!("pitch {}", advice::part_of(&pitched, "target")));
    }
    if let Some(oxygen) = &batch.oxygen {
        parts.push(format!("oxygen {} mg/L", significant(oxygen.dissolved.median(), 2)));
    }
    if let Some(generation) = batch.pitches.iter().filter_map(|pitch| pitch.generation).max() {
        parts.push(format!("generation {generation}"));
    }
    if let Some((low, high)) = batch.temperature.as_ref().and_then(|temperature| temperature.extremes) {
        let (low, high) = (plain(low, 1), plain(high, 1));
        parts.push(if low == high { format!("{low} °C") } else { format!("{low}–{high} °C") });
    }
    if let Some(last) = batch.last_gravity()
        && let Some(original) = batch.original(last.at)
    {
        let attenuation =
            barm_zymology::alcohol::apparent_attenuation(original.gravity, last.gravity).as_percent();
        parts.push(format!("{} % attenuated", plain(attenuation, 0)));
    }
    let findings =
        || part.findings(path).iter().filter(|finding| finding.lot.as_deref() == Some(&*batch.name));
    let warnings = findings().filter(|finding| finding.level >= Level::Warning).count();
    match warnings {
        0 => {}
        1 => parts.push("1 warning".to_owned()),
        many => parts.push(format!("{many} warnings")),
    }
    if parts.is_empty() { "nothing reckoned yet".to_owned() } else { parts.join(" · ") }
}
