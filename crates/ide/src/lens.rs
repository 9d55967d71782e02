//! One line above a brew: how it stands.

use barm_quantity::{plain, significant};
use barm_reckoning::{Batch, LotKind, Scale, Shown, advice};
use barm_rules::Level;
use barm_syntax::Span;
use barm_syntax::ast::{PackageKind, Placed};

use crate::Part;
use crate::hints::wants;
use crate::hover::asked_pitch;
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
        let text = line(&part, path, batch, placed);
        Some(Lens { span: placed.block.header.shifted(placed.start), text })
    };
    here.filter_map(lens).collect()
}

/// The measures of the house where they are US, else those of the brewer who read the temperatures.
fn scale(part: &Part, batch: &Batch) -> Scale {
    let house = Scale::house(&part.season.settings);
    let read = batch.temperatures.first().map(|(.., place)| *place);
    let place = read.or_else(|| batch.hold.map(|(_, place)| place));
    if house.is_us() { house } else { Scale::of(&part.season, place) }
}

/// The coldest and the warmest that was read of a beer since its yeast is in, °C; whatever its range may be.
fn read(batch: &Batch, placed: &Placed) -> Option<(f64, f64)> {
    let pitched = batch.pitched_at().or_else(|| asked_pitch(placed))?;
    let read = batch.temperatures.iter().filter(|(at, ..)| *at >= pitched).map(|(_, celsius, _)| *celsius);
    read.fold(None, |seen, celsius| {
        let (low, high) = seen.unwrap_or((celsius, celsius));
        Some((celsius.min(low), celsius.max(high)))
    })
}

/// How far a brew has come.
fn state(batch: &Batch) -> Option<&'static str> {
    if batch.kind != LotKind::Brew {
        return None;
    }
    if let Some(package) = batch.packages.last() {
        return Some(match package.kind {
            PackageKind::Bottle => "bottled",
            PackageKind::Keg => "in a keg",
            PackageKind::Cask => "in a cask",
        });
    }
    let (found, last) = batch.fermentation.as_ref().zip(batch.last_event)?;
    Some(match found.shown_stable(batch, last, last) {
        Shown::Not if found.began.is_some() => "fermenting",
        Shown::Not => "pitched",
        _ => "stands still",
    })
}

fn line(part: &Part, path: &str, batch: &Batch, placed: &Placed) -> String {
    let mut parts = Vec::new();
    if let (Some(pitch), LotKind::Brew) = (&batch.pitch, batch.kind) {
        let pitched = barm_quantity::share(pitch.ratio.median());
        parts.push(format!("pitch {}", advice::part_of(&pitched, "target")));
    } else if batch.kind == LotKind::Brew {
        parts.extend(wants(part, batch).map(|(text, _)| text));
    }
    if batch.kind == LotKind::Starter {
        let live = batch.pitches.iter().filter_map(|pitch| pitch.live.as_ref());
        parts.extend(live.map(|live| format!("{} pitched", advice::billions_range(live))));
    }
    if let Some(oxygen) = &batch.oxygen {
        parts.push(format!("oxygen {} mg/L", significant(oxygen.dissolved.median(), 2)));
    }
    if let Some(generation) = batch.pitches.iter().filter_map(|pitch| pitch.generation).max() {
        parts.push(format!("generation {generation}"));
    }
    let judged = batch.temperature.as_ref().and_then(|temperature| temperature.extremes);
    if let Some((low, high)) = judged.or_else(|| read(batch, placed)) {
        let scale = scale(part, batch);
        let is_one = scale.point(low) == scale.point(high);
        parts.push(if is_one { scale.temperature(low) } else { scale.range((low, high)) });
    }
    if let Some(last) = batch.last_gravity()
        && let Some(original) = batch.original(last)
    {
        let attenuation =
            barm_zymology::alcohol::apparent_attenuation(original.gravity, last.gravity).as_percent();
        parts.push(format!("{} % attenuated", plain(attenuation, 0)));
    }
    parts.extend(state(batch).map(str::to_owned));
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
