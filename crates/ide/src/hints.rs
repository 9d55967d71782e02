//! Figures where they belong: beside the line that they come from.

use barm_quantity::{GravityDifference, plain, significant};
use barm_reckoning::{Batch, Figure, Form, LotId, LotKind, Pitching, Place, Settings, advice, with_unit};
use barm_syntax::Span;
use barm_syntax::ast::{AmountKind, Asked, BlockKind, Kind, Measured, Placed, Statement};
use barm_zymology::alcohol;
use jiff::civil::Date;

use crate::at::statement_at;
use crate::hover::{day_of, told};
use crate::world::World;
use crate::{Part, hover};

/// A figure to be shown in the text, at the end of what it belongs to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Hint {
    /// Where it is shown.
    pub at: u32,
    /// The figure.
    pub text: String,
    /// How it was reckoned, in Markdown.
    pub more: String,
}

/// The figures of a stretch of a file, in order of place.
#[must_use]
pub fn hints(world: &World, path: &str, within: Span) -> Vec<Hint> {
    let (Some(file), Some(part)) = (world.file(path), world.part(path)) else { return Vec::new() };
    let mut out = Vec::new();
    for placed in &file.log.blocks {
        let whole = Span::new(placed.start, placed.start + placed.block.len);
        if whole.end < within.start || whole.start > within.end {
            continue;
        }
        let hinting = Hinting { part: &part, path, placed };
        hinting.block(&mut out);
    }
    out.retain(|hint: &Hint| within.start <= hint.at && hint.at <= within.end);
    out.sort_by_key(|hint| hint.at);
    out
}

struct Hinting<'a> {
    part: &'a Part,
    path: &'a str,
    placed: &'a Placed,
}

impl Hinting<'_> {
    fn block(&self, out: &mut Vec<Hint>) {
        let block = &self.placed.block;
        let figures = block.name.as_ref().map(|name| self.part.season.figures(&[name.text.to_string()]));
        let figures: Vec<Figure> = figures.into_iter().flatten().flat_map(|lot| lot.figures).collect();
        let lot = block.name.as_ref().and_then(|name| self.part.season.names.lot(&name.text));
        let batch = lot.and_then(|lot| self.part.season.batch(lot));
        if matches!(block.kind, BlockKind::Starter | BlockKind::Brew) {
            for day in &block.days {
                if let Some((number, since)) = day.date.and_then(|date| day_of(self.part, self.placed, date))
                {
                    let text = format!("day {number}");
                    out.push(self.hint(day.span.end, text, format!("days since {since}")));
                }
            }
        }
        if let (BlockKind::Culture | BlockKind::Starter, Some(lot)) = (block.kind, lot) {
            out.extend(self.next_use(block.header.end, lot));
        }
        for statement in &block.statements {
            let of_line = |name: &str| {
                figures.iter().find(|figure| figure.name == name && self.is_at(figure.place, statement))
            };
            match &statement.kind {
                // What is asked for and not answered comes to nothing yet.
                kind if asks(kind) && self.is_unanswered(statement) => {}
                Kind::Pitch(pitch) => {
                    let pitching = batch.and_then(|batch| {
                        batch.pitches.iter().find(|p| self.is_at(Some(p.place), statement))
                    });
                    out.extend(
                        pitching
                            .zip(batch)
                            .and_then(|(pitching, batch)| self.pitch(statement, pitching, batch)),
                    );
                    // An amount left out is all that is left; an editor always shows what it took.
                    let left_out = pitch
                        .amount
                        .as_ref()
                        .is_none_or(|amount| matches!(amount.kind, AmountKind::All | AmountKind::Share(_)));
                    if let (true, Some(pitching)) = (left_out, pitching) {
                        let at = pitch.amount.as_ref().map_or(pitch.lot.span.end, |amount| amount.span.end);
                        out.extend(self.taken(at, pitching));
                    }
                }
                Kind::Aerate(_) => out.extend(
                    of_line("dissolved-oxygen")
                        .map(|figure| self.figure(statement.span.end, figure, "reached")),
                ),
                Kind::Reading(reading) if reading.what == Measured::Oxygen => {
                    out.extend(batch.and_then(|batch| self.oxygen(statement, batch)));
                }
                Kind::Reading(reading) => {
                    out.extend(batch.and_then(|batch| {
                        self.gravity(statement, batch, reading.value(statement.span).span.end)
                    }));
                }
                Kind::Wort(_) | Kind::WortOf(_) => {
                    let batch = batch.filter(|batch| batch.kind == LotKind::Brew);
                    out.extend(batch.and_then(|batch| self.wanted(statement, batch)));
                }
                Kind::Harvest(harvest) => {
                    if let Some(lot) = self.part.season.names.lot(&harvest.name.text) {
                        out.extend(self.next_use(statement.span.end, lot));
                    }
                }
                _ => {}
            }
        }
        self.answers(out);
    }

    fn hint(&self, at: u32, text: String, more: String) -> Hint {
        Hint { at: self.placed.start + at, text, more }
    }

    fn is_at(&self, place: Option<Place>, statement: &Statement) -> bool {
        let span = statement.span.shifted(self.placed.start);
        place.is_some_and(|place| {
            self.part.id(self.path) == Some(place.file)
                && place.span.start <= span.end
                && span.start <= place.span.end
        })
    }

    fn is_unanswered(&self, statement: &Statement) -> bool {
        let mut answers = self.part.season.answers.iter();
        answers.any(|answer| answer.edit.is_none() && self.is_at(Some(answer.place), statement))
    }

    fn figure(&self, at: u32, figure: &Figure, word: &str) -> Hint {
        let figure = figure.clone().spoken(&self.part.season.settings);
        self.hint(at, format!("{} {word}", figure.text()), told(&figure))
    }

    /// Live cells, rate, part of the target; once a brew for all pitches that count.
    fn pitch(&self, statement: &Statement, pitching: &Pitching, batch: &Batch) -> Option<Hint> {
        let mut parts = Vec::new();
        let mut more = Vec::new();
        if let Some(live) = &pitching.live {
            parts.push(format!("{} live", advice::billions_range(live)));
            more.push(format!(
                "{}: {}",
                barm_rules::quote::code(&pitching.name),
                barm_rules::quote::plain(&pitching.from)
            ));
        }
        let is_first = batch.pitches.first().is_some_and(|first| first.place == pitching.place);
        if is_first && batch.kind == LotKind::Brew {
            let all = batch.pitch.as_ref();
            let mass = all.and_then(|all| all.mass);
            parts.extend(mass.map(|(grams, wanted)| {
                format!("{} of {} g wanted", plain(grams, 1), significant(wanted, 2))
            }));
            let rate = batch.rate_pitched();
            parts.extend(rate.map(|rate| format!("{} M/mL/°P", significant(rate.median() / 1e6, 2))));
            if let Some(all) = all {
                let (low, high) = (all.ratio.low(), all.ratio.high());
                let range = barm_quantity::share_range(low, all.ratio.median(), high);
                parts.push(advice::part_of(&range, "target"));
                more.push(format!("wanted: {}", barm_rules::quote::plain(&all.rate)));
            }
            let missing = batch.missing.iter().filter(|missing| missing.figure == "pitch");
            more.extend(missing.map(|it| format!("not judged: {}", barm_rules::quote::plain(&it.fact))));
        }
        (!parts.is_empty()).then(|| self.hint(statement.span.end, parts.join(" · "), more.join("\n\n")))
    }

    fn taken(&self, at: u32, pitching: &Pitching) -> Option<Hint> {
        let is_whole = pitching.unit.is_empty() && pitching.form != Form::Unknown;
        if !pitching.taken.is_finite() || pitching.taken <= 0.0 || pitching.form == Form::Unknown {
            return None;
        }
        let text = match pitching.taken {
            all if is_whole && all > 0.995 => "= all of it".to_owned(),
            part if is_whole => format!("= {} % of it", significant(part * 100.0, 2)),
            taken => {
                let taken = Figure::plain("taken", taken, 0.0, pitching.unit, String::new());
                format!("= {}", measured_out(&taken, &self.part.season.settings))
            }
        };
        Some(self.hint(at, text, "what it comes to at this moment".to_owned()))
    }

    /// What the yeast wants of the oxygen that was measured.
    fn oxygen(&self, statement: &Statement, batch: &Batch) -> Option<Hint> {
        let oxygen = batch.oxygen.as_ref().filter(|oxygen| self.is_at(Some(oxygen.place), statement))?;
        let (wanted, why) = &oxygen.wanted;
        let text = format!("{} mg/L wanted", plain(*wanted, 1));
        Some(self.hint(statement.span.end, text, format!("at the least: {}", barm_rules::quote::plain(why))))
    }

    /// Attenuation and alcohol so far.
    fn gravity(&self, statement: &Statement, batch: &Batch, at: u32) -> Option<Hint> {
        let read = batch.gravities.iter().find(|read| self.is_at(Some(read.place), statement))?;
        let original = batch.original(read)?;
        let attenuation = alcohol::apparent_attenuation(original.gravity, read.gravity).as_percent();
        let abv = alcohol::by_volume(original.gravity, read.gravity).as_percent();
        let corrected =
            if read.refractometer { format!("{:.3} · ", read.gravity.as_specific()) } else { String::new() };
        let text =
            format!("{corrected}{} % attenuated · {} %ABV", plain(attenuation, 0), plain(abv.max(0.0), 1));
        let error = alcohol::by_volume_error(
            (original.gravity, original.error),
            (read.gravity, GravityDifference::specific(read.error)),
        );
        let more = format!(
            "from {:.3}, {}; alcohol by the extract balance, ± {}",
            original.gravity.as_specific(),
            original.from,
            plain(error.as_percent(), 1)
        );
        Some(self.hint(at, text, more))
    }

    /// How much yeast a wort wants.
    fn wanted(&self, statement: &Statement, batch: &Batch) -> Option<Hint> {
        let (text, why) = wants(self.part, batch)?;
        Some(self.hint(statement.span.end, text, barm_rules::quote::plain(&why)))
    }

    /// What lives of it, and how old it is, when it is used next, or was to be.
    fn next_use(&self, at: u32, lot: LotId) -> Option<Hint> {
        let season = &self.part.season;
        let uses =
            season.batches.iter().flat_map(|batch| batch.pitches.iter().map(move |pitch| (batch, pitch)));
        let first = uses.filter(|(_, pitch)| pitch.lot == lot).min_by_key(|(_, pitch)| pitch.at);
        let (share, age, when, more) = match first {
            Some((batch, first)) => {
                let when = format!("pitched {}", first.at.date());
                let into = format!("into {}", barm_rules::quote::code(&batch.name));
                (first.live_share.clone()?, first.age_days, when, into)
            }
            None => {
                let day = self.asked_on(lot)?;
                let stock = season.stock_of(lot, day)?;
                (stock.live_share?, stock.age_days, format!("asked for {day}"), "to be pitched".to_owned())
            }
        };
        let percent = |share: f64| significant((share * 100.0).min(100.0), 2);
        let (low, high) = (percent(share.low()), percent(share.high()));
        let live = if low == high { low } else { format!("{low}–{high}") };
        let age = age.map(|days| format!(" · {} d old", plain(days.max(0.0).floor(), 0))).unwrap_or_default();
        Some(self.hint(at, format!("{live} % live{age} when {when}"), more))
    }

    /// The day on which a lot was to be pitched, and nobody could say how much of it.
    fn asked_on(&self, lot: LotId) -> Option<Date> {
        let season = &self.part.season;
        season.answers.iter().filter(|answer| answer.edit.is_none()).find_map(|answer| {
            let (block, start) = season.block(season.block_at(answer.place)?)?;
            let statement = statement_at(block, answer.place.span.start - start)?;
            let Kind::Pitch(pitch) = &statement.kind else { return None };
            let day = block.days.get(statement.day?.position())?.date?;
            (season.names.lot(&pitch.lot.text) == Some(lot)).then_some(day)
        })
    }

    fn answers(&self, out: &mut Vec<Hint>) {
        let Some(file) = self.part.id(self.path) else { return };
        let whole = Span::new(self.placed.start, self.placed.start + self.placed.block.len);
        let here = self
            .part
            .season
            .answers
            .iter()
            .filter(|a| a.place.file == file && whole.contains(a.place.span.start));
        for answer in here {
            let text = answer.edit.as_ref().map_or_else(|| answer.text.clone(), |edit| edit.text.clone());
            let mut more = barm_rules::quote::plain(&answer.text);
            for note in &answer.notes {
                more.push_str("\n\n");
                more.push_str(&barm_rules::quote::plain(note));
            }
            for figure in &answer.figures {
                more.push_str("\n\n");
                more.push_str(&hover::told(figure));
            }
            out.push(Hint { at: answer.place.span.end, text: format!("= {text}"), more });
        }
    }
}

/// How much yeast the wort of a brew wants, and why.
pub(crate) fn wants(part: &Part, batch: &Batch) -> Option<(String, String)> {
    let dry = |grams: f64| format!("wants {} g of dry yeast", significant(grams, 2));
    if let Some(pitch) = &batch.pitch
        && let Some(text) = match (pitch.mass, pitch.target) {
            (Some((_, wanted)), _) => Some(dry(wanted)),
            (None, target) => target.map(|target| format!("wants {}", advice::billions(target))),
        }
    {
        return Some((text, pitch.rate.clone()));
    }
    // What was found to be too little was not pitched; its answer knows what would be enough.
    let answers = part.season.answers.iter().filter(|answer| answer.lot == batch.lot);
    let lots = part.season.figures(&[batch.name.to_string()]);
    let mut figures =
        lots.into_iter().flat_map(|lot| lot.figures).chain(answers.flat_map(|it| it.figures.clone()));
    let figure = figures.find(|it| matches!(it.name, "target-cells" | "dry-yeast-wanted"))?;
    let text = match figure.name {
        "dry-yeast-wanted" => dry(figure.value),
        _ => format!("wants {}", advice::billions(figure.value * 1e9)),
    };
    Some((text, figure.from))
}

/// What was measured out of a jar or is left in it, to more digits than a figure that was reckoned.
pub(crate) fn measured_out(amount: &Figure, settings: &Settings) -> String {
    let spoken = amount.clone().spoken(settings);
    let decimals = if spoken.unit == amount.unit { 1 } else { 2 };
    with_unit(&plain(spoken.value, decimals), spoken.unit)
}

/// Whether a line asks how much yeast or oxygen.
fn asks(kind: &Kind) -> bool {
    match kind {
        Kind::Pitch(pitch) => pitch.amount.as_ref().is_some_and(|amount| amount.kind == AmountKind::Asked),
        Kind::Aerate(aerate) => matches!(aerate.duration, Some(Asked::Asked(_))),
        _ => false,
    }
}
