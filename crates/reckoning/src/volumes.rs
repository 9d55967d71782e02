//! Volumes that do not add up: more beer than there was, more wort than its vessel holds, millilitres for litres.
//!
//! What a log does not say is no fault: where it is not known how much there is, or may be, nothing is held against it.

use barm_quantity::{Dimension, Measure, Unit, Volume};
use barm_syntax::ast::{AmountKind, Kind, Measured, Name, PackageKind, Pitch};

use crate::additions;
use crate::batch::{Batch, Wort};
use crate::context::{Context, Fed};
use crate::fault::Fault;
use crate::names::{LotId, LotKind};
use crate::parting::TakenOut;
use crate::{Moment, Place, vessels, wort};

/// What volumes of wort and beer are known to, by the marks on a vessel and what stays in hoses (judgement).
const KNOWN_TO: f64 = 0.1;
/// The same where a `~` or a `±` stands before them.
const BY_EYE: f64 = 0.25;
/// Less nobody brews (judgement).
const LEAST_BREW: Volume = Volume::millilitres(100.0);
/// In less not even a loop of yeast is grown (judgement).
const LEAST_STARTER: Volume = Volume::millilitres(5.0);
/// No flask for a starter is larger (judgement).
const LARGEST_FLASK: Volume = Volume::litres(10.0);
/// No starter is so many times as large as the wort that all of it is pitched into (judgement).
const MOST_OF_WORT: f64 = 2.0;

/// By how much a volume may be passed before something is wrong, as a part of what there is.
pub(crate) fn slack(by_eye: bool) -> f64 {
    if by_eye { BY_EYE } else { KNOWN_TO }
}

/// Whether a measure says of itself that it is no better than by eye.
pub(crate) fn by_eye(measure: &Measure) -> bool {
    measure.about || measure.error_base() > 0.0
}

/// Millilitres that were litres: a thousandth of about all the beer that there is.
pub(crate) fn meant(measure: &Measure, left: Volume) -> Option<Measure> {
    let part = measure.base() * 1000.0 / left.as_litres();
    let slip = measure.unit == Unit::Millilitre && (0.5..=1.0 + KNOWN_TO).contains(&part);
    slip.then_some(Measure { unit: Unit::Litre, ..*measure })
}

/// What a wort is likely meant to be where nobody brews so much or so little, and why it is not what is written: millilitres
/// that were litres, or litres of a starter that were millilitres.
pub(crate) fn meant_wort(
    context: &Context<'_>,
    lot: LotId,
    measure: &Measure,
    place: Place,
) -> Option<(Measure, String)> {
    let is_starter = context.kind(lot) == Some(LotKind::Starter);
    let (least, what) = if is_starter { (LEAST_STARTER, "starter") } else { (LEAST_BREW, "brew") };
    match measure.unit {
        Unit::Millilitre if measure.base() < least.as_litres() => {
            Some((Measure { unit: Unit::Litre, ..*measure }, format!("no {what} is so small")))
        }
        Unit::Litre if is_starter && measure.base() >= LARGEST_FLASK.as_litres() => {
            let fed = fed(context, lot).filter(|fed| measure.base() > MOST_OF_WORT * fed.as_litres())?;
            let why = format!("all of it is for {}", context.scale(place).volume(fed));
            Some((Measure { unit: Unit::Millilitre, ..*measure }, why))
        }
        _ => None,
    }
}

/// The wort that a starter is pitched into, where one gets all of it.
fn fed(context: &Context<'_>, starter: LotId) -> Option<Volume> {
    let [Fed { into, amount: AmountKind::All, .. }] = context.feeds(starter) else { return None };
    Some(Volume::litres(stated(context, *into)?.0.base()))
}

/// Holds the wort of a block against what anybody brews and against what its vessel holds.
pub(crate) fn check_wort(context: &Context<'_>, batch: &Batch, faults: &mut Vec<Fault>) {
    let stated = stated(context, batch.lot);
    if let Some((written, place)) = stated
        && let Some((likely, why)) = meant_wort(context, batch.lot, &written, place)
    {
        faults.push(Fault::UnlikelyUnit { place, written, likely, why, impossible: false });
    }
    // Of a wort that was parted only what is left stands in its vessel.
    let Some(wort) = batch.wort.filter(|_| !context.parted.contains_key(&batch.lot)) else { return };
    if let Some(vessel) = vessels::begun_in(context, batch.lot) {
        let rough = stated.is_some_and(|(measure, _)| by_eye(&measure));
        fits(context, vessel, wort.volume.as_litres(), (wort.place, slack(rough)), faults);
    }
}

/// So much of a wort may stay in the fermenter with the yeast when all its beer is packaged (judgement).
pub(crate) const LEES: f64 = 0.15;

/// When all of a brew was packaged but for what stays with the yeast; `None`: some is left, or nobody wrote how much.
pub(crate) fn emptied(context: &Context<'_>, batch: &Batch) -> Option<Moment> {
    let mut left = batch.wort.map(|wort| wort.volume.as_litres());
    let lees = left.map_or(0.0, |wort| wort * LEES);
    context.events(batch.lot).find_map(|(at, _, line)| {
        let Kind::Package(package) = &line.kind else { return None };
        let gone = match package.amount.as_ref().map_or(AmountKind::All, |amount| amount.kind) {
            AmountKind::All => left,
            AmountKind::Share(share) => left.map(|left| left * share),
            amount => additions::measured(amount, Volume::default()).map(|measure| measure.base()),
        };
        left = left.zip(gone).map(|(left, gone)| left - gone);
        (left? <= lees).then_some(at)
    })
}

/// Holds a part of a wort against what was left of the whole.
pub(crate) fn check_part(whole: LotId, of: &Wort, left: Volume, part: &Wort) -> Option<Fault> {
    let rough = [of, part].iter().any(|wort| wort.volume_error > Volume::default());
    let slack = of.volume * slack(rough);
    let (taken, left) = (part.volume.as_litres(), left.as_litres());
    let lacks = taken > left + slack.as_litres();
    lacks.then_some(Fault::TooMuchBeer { lot: whole, place: part.place, taken, left, wort: of.place })
}

/// The volume of the `wort` line of a lot, and where it stands.
fn stated(context: &Context<'_>, lot: LotId) -> Option<(Measure, Place)> {
    let home = context.home(lot)?;
    home.block.statements.iter().find_map(|statement| match &statement.kind {
        Kind::Wort(wort) => wort.volume.known().map(|q| (q.measure, home.place(q.span))),
        _ => None,
    })
}

/// Holds so many litres against what a vessel holds, where anybody wrote that.
pub(crate) fn fits(
    context: &Context<'_>,
    vessel: &str,
    litres: f64,
    (place, slack): (Place, f64),
    faults: &mut Vec<Fault>,
) {
    if let Some(holds) = context.vessels.named(vessel).litres.filter(|holds| litres > holds * (1.0 + slack)) {
        let scale = context.scale(place);
        let [litres, holds] = [litres, holds].map(|litres| scale.volume(Volume::litres(litres)));
        let why = format!("{litres} is more than {vessel} holds ({holds})");
        faults.push(Fault::Impossible { place, why });
    }
}

/// The beer of a brew as its lines go by, in litres.
struct Tally {
    /// All that there was.
    whole: f64,
    /// Whether that is known by eye only.
    by_eye: bool,
    bottled: f64,
    /// What went into kegs and casks, and on which day: bottles of a later day may be filled from them.
    kegged: (f64, Option<i32>),
    /// A part of it was moved: what is read from then on may be of a part.
    parted: bool,
}

impl Tally {
    fn left(&self) -> f64 {
        (self.whole - self.bottled - self.kegged.0).max(0.0)
    }

    /// A part of it goes into another brew; a fault where there is not so much. Parts that are worts of their own are held
    /// against what was left where their wort is.
    fn gives(&mut self, lot: LotId, wort: &Wort, part: &TakenOut) -> Option<Fault> {
        let (taken, left) = (part.volume.as_litres(), self.left());
        let lacks = part.poured && self.lacks(&Measure::new(taken, Unit::Litre));
        self.bottled += taken;
        lacks.then_some(Fault::TooMuchBeer { lot, place: part.place, taken, left, wort: wort.place })
    }

    /// Whether there was not so much more of it.
    fn lacks(&self, measure: &Measure) -> bool {
        let most = self.whole * (1.0 + slack(self.by_eye || by_eye(measure)));
        self.bottled + self.kegged.0 + measure.base() > most
    }
}

/// Holds every `rack`, `bottle`, `keg` and `cask` of a brew against the beer that there was; the first that passes it is
/// told, and nothing after it.
pub(crate) fn check(context: &Context<'_>, batch: &Batch, faults: &mut Vec<Fault>) {
    let Some(wort) = batch.wort else { return };
    let mut beer = Tally {
        whole: wort.volume.as_litres(),
        by_eye: wort.volume_error.as_litres() > 0.0
            || stated(context, batch.lot).is_some_and(|(q, _)| by_eye(&q)),
        bottled: 0.0,
        kegged: (0.0, None),
        parted: false,
    };
    let pitched = batch.pitched_at();
    let mut parts = batch.taken_out.iter().filter(|part| !part.before_yeast).peekable();
    for (at, shelved, statement) in context.events(batch.lot) {
        while let Some(part) = parts.next_if(|part| part.at <= at) {
            if let Some(fault) = beer.gives(batch.lot, &wort, part) {
                faults.push(fault);
                return;
            }
        }
        let works = pitched.is_some_and(|pitched| at >= pitched);
        let (amount, kind) = match &statement.kind {
            // What was added before the yeast is in the wort, but for what is still asked.
            Kind::Add(add) if works || add.amount.kind == AmountKind::Asked => {
                let Some(more) = brings(add.amount.kind, wort.volume) else { return };
                beer.whole += more;
                continue;
            }
            Kind::Pitch(pitch) => {
                let Some(more) = poured_in(context, pitch) else { return };
                beer.whole += more;
                continue;
            }
            // How much is poured away nobody weighs: no fault.
            Kind::Dump(dump) if works && is_of(context, &dump.lot, batch.lot) => {
                let left = Volume::litres(beer.left());
                let gone = dump.amount.as_ref().and_then(|amount| wort::volume_of(amount.kind, left));
                beer.bottled += gone.map_or(0.0, |gone| gone.as_litres().min(beer.left()));
                continue;
            }
            Kind::Reading(reading) if works && reading.what == Measured::Volume => {
                let measure = reading.measure();
                let read = measure.base() + beer.bottled + beer.kegged.0;
                beer.whole = if beer.parted { beer.whole.max(read) } else { read };
                beer.by_eye |= by_eye(&measure);
                continue;
            }
            Kind::Rack(rack) => (&rack.amount, None),
            Kind::Package(package) => (&package.amount, Some(package.kind)),
            _ => continue,
        };
        let Some(amount) = amount else { continue };
        let Some(measure) = additions::measured(amount.kind, wort.volume)
            .filter(|measure| measure.dimension() == Dimension::Volume)
        else {
            continue;
        };
        let place = shelved.place(amount.span);
        if beer.kegged.1.is_some_and(|day| day != at.day_number()) {
            beer.kegged = (0.0, None);
        }
        let left = beer.left();
        if let Some(likely) = meant(&measure, Volume::litres(left)) {
            let left = context.scale(place).volume(Volume::litres(left));
            let why = format!("{left} of this beer are left");
            faults.push(Fault::UnlikelyUnit { place, written: measure, likely, why, impossible: false });
            return;
        }
        if beer.lacks(&measure) {
            let (lot, line) = (batch.lot, shelved.place(statement.span));
            let taken = measure.base();
            faults.push(Fault::TooMuchBeer { lot, place: line, taken, left, wort: wort.place });
            return;
        }
        match (kind, &statement.kind) {
            (Some(PackageKind::Bottle), _) => beer.bottled += measure.base(),
            (Some(_), _) => beer.kegged = (beer.kegged.0 + measure.base(), Some(at.day_number())),
            (None, Kind::Rack(rack)) => {
                beer.parted = true;
                if let Some(vessel) = &rack.to {
                    fits(context, &vessel.text, measure.base(), (place, slack(by_eye(&measure))), faults);
                }
            }
            (None, _) => {}
        }
    }
    faults.extend(parts.find_map(|part| beer.gives(batch.lot, &wort, part)));
}

/// Whether a line of a lot's is of that: it names it, or none.
pub(crate) fn is_of(context: &Context<'_>, named: &Option<Name>, lot: LotId) -> bool {
    named.as_ref().is_none_or(|named| context.names.lot(&named.text) == Some(lot))
}

/// How much more beer an addition makes at the most; `None` where it does not say.
fn brings(amount: AmountKind, to: Volume) -> Option<f64> {
    if matches!(amount, AmountKind::Counted(..)) {
        return Some(0.0);
    }
    let measure = additions::measured(amount, to)?;
    Some(match measure.dimension() {
        Dimension::Volume => measure.base(),
        // A kilogram of fruit is no more than a litre.
        Dimension::Mass => measure.base() / 1000.0,
        _ => 0.0,
    })
}

/// The litres that a pitch says it pours in, beer and all.
pub(crate) fn pitched(pitch: &Pitch) -> Option<f64> {
    let measure = additions::measured(pitch.amount.as_ref()?.kind, Volume::default())?;
    (measure.dimension() == Dimension::Volume).then(|| measure.base())
}

/// The beer that comes with the yeast; `None` where nobody knows how much that is. Jars and packs hold little.
fn poured_in(context: &Context<'_>, pitch: &Pitch) -> Option<f64> {
    if let Some(litres) = pitched(pitch) {
        return Some(litres);
    }
    let lot = context.names.lot(&pitch.lot.text);
    let is_asked = pitch.amount.as_ref().is_some_and(|amount| amount.kind == AmountKind::Asked);
    match (lot, lot.and_then(|lot| context.kind(lot))) {
        (Some(starter), Some(LotKind::Starter)) => {
            context.home(starter)?.block.statements.iter().find_map(|statement| match &statement.kind {
                Kind::Wort(wort) => wort.volume.known().map(|q| q.measure.base()),
                _ => None,
            })
        }
        // It may be young beer, and litres of it.
        (Some(_), Some(LotKind::Brew)) if is_asked => None,
        _ => Some(0.0),
    }
}
