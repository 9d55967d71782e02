//! The first event of a workspace at which somebody does what can hurt.

use std::cell::LazyCell;
use std::collections::{BTreeMap, HashMap};
use std::ops::Deref;

use barm_quantity::{Dimension, Gravity, Volume};
use barm_syntax::Span;
use barm_syntax::ast::{Aeration, Block, BlockKind, Kind, Log, Measured};
use barm_zymology::storage;

use crate::additions;
use crate::names::{LotId, Names, folded};
use crate::{FileId, Moment, Place, Source, heat, parting, timeline, wort};

/// Wort that stood for so long before the yeast, or before it went to the yeast, was kept, h.
const STORED_HOURS: f64 = 24.0;

/// What can hurt.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Danger {
    /// Pure oxygen.
    Oxygen,
    /// Live yeast in a closed jar.
    Jar,
    /// Carbon dioxide in a closed room.
    CarbonDioxide,
    /// Boiling wort, and glass.
    HotGlass,
    /// Caustic and acid.
    Cleaner,
    /// Acid for wort or beer.
    Acid,
    /// Carbon dioxide as ice.
    DryIce,
    /// Wort that was kept.
    StoredWort,
    /// A fermenter under pressure.
    Pressure,
    /// Glass under pressure, by what its name says that it is.
    PressedGlass,
    /// Beer under pressure in glass or steel. No event alone makes it one to be told of: the pressure is reckoned.
    Package,
}

/// Where a log does a dangerous thing first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Risk {
    /// When; what has no day yet comes after all that has.
    pub at: Moment,
    /// The statement, by file offsets.
    pub span: Span,
    /// The block that it stands in, by its position in the log.
    pub block: u32,
}

/// The first event of a workspace that does a dangerous thing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hazard {
    /// Which.
    pub danger: Danger,
    /// The statement.
    pub place: Place,
    /// The lot that it happens to.
    pub lot: Option<LotId>,
}

impl Hazard {
    /// A risk of a log as that of a workspace.
    #[must_use]
    pub fn of(danger: Danger, risk: Risk, file: FileId, source: &Source, names: &Names) -> Self {
        let block = source.log.blocks.get(risk.block as usize).map(|placed| &placed.block);
        let lot = block.and_then(|block| names.lot(&block.name.as_ref()?.text));
        Self { danger, place: Place { file, span: risk.span }, lot }
    }
}

/// What in a log can hurt, and where it is done first. It depends on that log alone, so that an editor knows the first
/// of a workspace without reckoning it whole.
#[must_use]
pub fn risks(log: &Log) -> BTreeMap<Danger, Risk> {
    let mut first: BTreeMap<Danger, Risk> = BTreeMap::new();
    let brews = LazyCell::new(|| brewed(log));
    for (placed, number) in log.blocks.iter().zip(0..) {
        let block = &*placed.block;
        if !matches!(
            block.kind,
            BlockKind::Culture | BlockKind::Starter | BlockKind::Brew | BlockKind::Vessel
        ) {
            continue;
        }
        let mut tell = |danger: Danger, at: Moment, span: Span| {
            let found = Risk { at, span: span.shifted(placed.start), block: number };
            first.entry(danger).and_modify(|known| *known = found.min(*known)).or_insert(found);
        };
        if let Some((at, span)) = warm_jar(block) {
            tell(Danger::Jar, at, span);
        }
        let filled = first_filled(block);
        let (mut pitched, mut wort) = (None, None);
        let mut vessel = block.statements.iter().find_map(|statement| match &statement.kind {
            Kind::In(name) => Some(&*name.text),
            _ => None,
        });
        for (at, statement) in timeline::moments(block, None).into_iter().zip(&block.statements) {
            if statement.day.is_none() {
                continue;
            }
            let at = at.unwrap_or(Moment::LAST);
            if let Kind::Pitch(_) = &statement.kind {
                let stood = wort.filter(|_| pitched.is_none());
                if stood.is_some_and(|wort| at.hours_since(wort) >= STORED_HOURS) {
                    tell(Danger::StoredWort, at, statement.span);
                }
                pitched = pitched.or(Some(at));
            }
            match &statement.kind {
                Kind::Rack(rack) => vessel = rack.to.as_ref().map(|to| &*to.text),
                Kind::Package(_) => vessel = None,
                kind if is_wort(kind) => wort = wort.or(Some(at)),
                _ => {}
            }
            let is_kept = || pitched.is_some_and(|p| at.hours_since(p) >= STORED_HOURS);
            let kept = || adds_wort(&statement.kind) && is_kept();
            let danger = danger(&statement.kind, block.kind);
            let danger = match danger {
                Some(Danger::Pressure) if vessel.is_some_and(heat::is_glass) => Some(Danger::PressedGlass),
                danger => danger,
            };
            let danger = danger.filter(|danger| match danger {
                Danger::Package => false,
                // A keg is made for it.
                Danger::Pressure => filled.is_none_or(|filled| at < filled),
                _ => true,
            });
            if let Some(danger) = danger.or_else(|| kept().then_some(Danger::StoredWort)) {
                tell(danger, at, statement.span);
            }
        }
        if let Some(pitched) = pitched
            && let Some(span) = kept_wort(block, pitched, &brews)
        {
            tell(Danger::StoredWort, pitched, span);
        }
    }
    first
}

/// The earliest of each, in order of place.
pub(crate) fn find(sources: &[Source], names: &Names) -> Vec<Hazard> {
    let mut first: BTreeMap<Danger, (Risk, FileId, &Source)> = BTreeMap::new();
    for (source, file) in sources.iter().zip((0..).map(FileId)) {
        for (danger, risk) in risks(&source.log) {
            let known = first.entry(danger).or_insert((risk, file, source));
            // Of two at one moment the one whose file comes first.
            if risk.at < known.0.at {
                *known = (risk, file, source);
            }
        }
    }
    let hazard = |(danger, (risk, file, source))| Hazard::of(danger, risk, file, source, names);
    let mut out: Vec<Hazard> = first.into_iter().map(hazard).collect();
    out.sort_by_key(|hazard| hazard.place);
    out
}

/// What can hurt in an event of a block, whenever it happens.
#[must_use]
pub fn danger(kind: &Kind, block: BlockKind) -> Option<Danger> {
    match kind {
        Kind::Aerate(aerate) if aerate.method == Aeration::Oxygen => Some(Danger::Oxygen),
        Kind::Harvest(_) => Some(Danger::Jar),
        Kind::Pitch(_) if block == BlockKind::Brew => Some(Danger::CarbonDioxide),
        Kind::Pitch(_) | Kind::Boil(_) => Some(Danger::HotGlass),
        Kind::Clean(_) => Some(Danger::Cleaner),
        Kind::Wash(wash) if wash.ph.is_some() => Some(Danger::Cleaner),
        Kind::Add(add) if is_cleaner(&add.what.text) => Some(Danger::Cleaner),
        Kind::Add(add) if is_acid(&add.what.text) => Some(Danger::Acid),
        Kind::Add(add) if is_dry_ice(&add.what.text) => Some(Danger::DryIce),
        Kind::Package(package)
            if package.with.iter().any(|p| additions::is_kept_wort(&p.what.text, p.at.is_some())) =>
        {
            Some(Danger::StoredWort)
        }
        Kind::Package(_) => Some(Danger::Package),
        kind if block == BlockKind::Brew && is_pressed(kind) => Some(Danger::Pressure),
        _ => None,
    }
}

/// Whether a vessel is under more than the air.
fn is_pressed(kind: &Kind) -> bool {
    let pressure = match kind {
        Kind::Set(set) => Some(set.to.measure).filter(|to| to.dimension() == Dimension::Pressure),
        Kind::Reading(reading) if reading.what == Measured::Pressure => Some(reading.measure()),
        _ => None,
    };
    pressure.is_some_and(|pressure| pressure.base() > 0.0)
}

/// When a beer first leaves its fermenter.
fn first_filled(block: &Block) -> Option<Moment> {
    dated(block).filter(|(_, line)| matches!(line, Kind::Package(_) | Kind::Rack(_))).map(|(at, _)| at).min()
}

/// Whether an event before the yeast shows that there is wort.
fn is_wort(kind: &Kind) -> bool {
    match kind {
        Kind::Reading(reading) => matches!(reading.what, Measured::Gravity | Measured::Brix),
        Kind::Aerate(_) | Kind::Boil(_) => true,
        _ => false,
    }
}

fn adds_wort(kind: &Kind) -> bool {
    let Kind::Add(add) = kind else { return false };
    additions::is_kept_wort(&add.what.text, wort::added_gravity(add).is_some())
        && additions::measured(add.amount.kind, Volume::default()).is_some()
}

fn is_cleaner(what: &str) -> bool {
    const WORDS: &[&str] = &["caustic", "lye", "hydroxide", "naoh", "bleach", "hypochlorite", "peracetic"];
    const FOR_VESSELS: &[&str] = &["cleaner", "rinse", "sanitiser", "sanitizer"];
    additions::any_word_of(what, WORDS) || is_acid(what) && additions::any_word_of(what, FOR_VESSELS)
}

fn is_acid(what: &str) -> bool {
    // Malt that bacteria made sour burns nobody.
    additions::any_word_of(what, &["acid"]) && !additions::any_word_of(what, &["malt"])
}

fn is_dry_ice(what: &str) -> bool {
    ["dry", "ice"].iter().all(|word| additions::any_word_of(what, &[word]))
}

/// Where a slurry that a culture was bought or given as is said to be kept warm: a fact of its block, or an event in it.
fn warm_jar(block: &Block) -> Option<(Moment, Span)> {
    let is_slurry = || block.statements.iter().any(|statement| matches!(statement.kind, Kind::Slurry(_)));
    if block.kind != BlockKind::Culture || !is_slurry() {
        return None;
    }
    let warm = timeline::moments(block, None).into_iter().zip(&block.statements).filter(|(_, statement)| {
        matches!(&statement.kind, Kind::Kept(kept) if kept.lot.is_none()
            && kept.temperature.measure.base() > storage::WARM.as_celsius())
    });
    warm.map(|(at, statement)| (at.unwrap_or(Moment::LAST), statement.span)).min()
}

/// `wort V of BREW` in what is pitched a day or more after that brew began, unless it took the yeast of that along; or of a
/// brew that stands in another log. What brews were is looked up only where a wort is parted.
fn kept_wort(
    block: &Block,
    pitched: Moment,
    brews: &impl Deref<Target = HashMap<String, Brewed>>,
) -> Option<Span> {
    block.statements.iter().find_map(|statement| {
        let Kind::WortOf(of) = &statement.kind else { return None };
        let whole = folded(&of.brew.text);
        if block.name.as_ref().is_some_and(|own| folded(&own.text) == whole) {
            return None;
        }
        let is_kept = brews.get(&*whole).is_none_or(|whole| {
            pitched.hours_since(whole.begun) >= STORED_HOURS && !whole.is_beer_in(block, pitched)
        });
        is_kept.then_some(statement.span)
    })
}

/// What a log tells of a lot.
struct Brewed {
    begun: Moment,
    pitched: Option<Moment>,
    gravities: Vec<(Moment, Gravity)>,
}

impl Brewed {
    /// Whether what a block has of it had its yeast already when the block's own went in.
    fn is_beer_in(&self, block: &Block, own: Moment) -> bool {
        let first = dated(block).map(|(at, _)| at).min().unwrap_or(own);
        self.pitched.filter(|yeast| *yeast <= first).is_some_and(|yeast| {
            let is_low =
                || parting::is_as_low(yeast, first, self.gravities.iter().copied(), gravities(block));
            parting::takes_along(yeast, first, own, is_low)
        })
    }
}

fn dated(block: &Block) -> impl Iterator<Item = (Moment, &Kind)> {
    let moments = timeline::moments(block, None).into_iter().zip(&block.statements);
    moments.filter_map(|(at, statement)| Some((at?, &statement.kind)))
}

fn gravities(block: &Block) -> impl Iterator<Item = (Moment, Gravity)> {
    dated(block).filter_map(|(at, line)| Some((at, parting::gravity(line)?)))
}

/// What a log tells of each of its lots.
fn brewed(log: &Log) -> HashMap<String, Brewed> {
    let mut out: HashMap<String, Brewed> = HashMap::new();
    for block in log.blocks.iter().map(|placed| &*placed.block) {
        let (Some(name), Some(begun)) = (&block.name, dated(block).map(|(at, _)| at).min()) else { continue };
        let yeast = dated(block).filter(|(_, line)| matches!(line, Kind::Pitch(_))).map(|(at, _)| at).min();
        let new = || Brewed { begun, pitched: None, gravities: Vec::new() };
        let known = out.entry(folded(&name.text)).or_insert_with(new);
        known.begun = begun.min(known.begun);
        known.pitched = known.pitched.into_iter().chain(yeast).min();
        known.gravities.extend(gravities(block));
    }
    out
}
