//! What is told of the thing under the cursor.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use barm_quantity::{Dimension, Mass, Measure, Volume, plain as number, significant};
use barm_reckoning::{Addition, Figure, Moment, Place, Verdict, danger, is_fruit};
use barm_rules::{Level, caution};
use barm_syntax::ast::{BlockKind, Clock, Day, Kind, Placed};
use barm_syntax::{Span, first_words};
use barm_zymology::carbonation::Sugar;
use barm_zymology::flavour::{Compound, Note};
use jiff::civil::Date;

use crate::at::{Here, Thing, at, touches};
use crate::convert::{CONCENTRATION, conversions};
use crate::piece::Of;
use crate::world::{File, World};
use crate::{Part, Role};
use barm_rules::quote::{code, plain};

/// What is told of a place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Hover {
    /// What it is told of.
    pub span: Span,
    /// In Markdown; log text stands in code spans only.
    pub text: String,
}

/// Tells of what stands at an offset of a file.
#[must_use]
pub fn hover(world: &World, path: &str, offset: u32) -> Option<Hover> {
    let file = world.file(path)?;
    let part = world.part(path)?;
    let findings = part.findings(path).iter().filter(|finding| touches(finding.place.span, offset));
    let found = findings.max_by_key(|finding| finding.level);
    let page = found.and_then(|finding| barm_rules::find(finding.rule));
    let told = at(file, offset).and_then(|here| Some((here.span, of_thing(world, &part, path, &here)?)));
    match (told, found, page) {
        (Some((span, text)), Some(finding), Some(rule))
            if finding.level >= Level::Warning && !text.starts_with("# ") =>
        {
            Some(Hover {
                span,
                text: format!("{}\n\n---\n{}: {}", text.trim_end(), code(rule.name()), gist(rule.page())),
            })
        }
        (Some((span, text)), ..) => Some(Hover { span, text }),
        (None, Some(finding), Some(rule)) => {
            Some(Hover { span: finding.place.span, text: page_of(rule.page()) })
        }
        _ => None,
    }
}

/// A rule's page without its examples.
fn page_of(page: &str) -> String {
    page.split("\n## Examples").next().unwrap_or(page).trim_end().to_owned()
}

/// What a rule's page says first.
fn gist(page: &str) -> String {
    let first = page.split("\n\n").nth(1).unwrap_or("");
    first.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn of_thing(world: &World, part: &Part, path: &str, here: &Here<'_>) -> Option<String> {
    match here.thing {
        Thing::Name { text, role } => {
            of_name(world, part, text, role).or_else(|| of_addition(part, path, text, here))
        }
        Thing::Title { name, role } => of_name(world, part, name, role),
        Thing::Quantity(measure, of) => Some(of_quantity(&measure, of)),
        Thing::Question => of_question(part, path, here.span),
        Thing::Rule(name) => barm_rules::find(&name.to_lowercase()).map(|rule| page_of(rule.page())),
        Thing::BlockWord(kind) => Some(of_block(kind)),
        Thing::FirstWord(word) => of_word(part, path, word, here),
        Thing::Flavour(words) => of_flavour(words, here),
        Thing::Day(day) => Some(of_day(part, here.placed, day)),
        Thing::Clock(date, clock) => Some(of_clock(part, here.placed, date, clock)),
        Thing::Acceptance => Some(
            "`# accept RULE: reason` silences what the rule finds where it stands: at the end of a line on that line, alone on a \
             line on the next, behind a header in the whole block"
                .to_owned(),
        ),
        Thing::Lost(word) => form(word),
    }
}

/// What a lot, strain or vessel is and has come to.
fn of_name(world: &World, part: &Part, name: &str, role: Role) -> Option<String> {
    let Some(declared) = part.season.names.declared_at(name) else {
        let what = match role {
            Role::UsesVessel | Role::DeclaresVessel => "a vessel",
            Role::UsesStrain | Role::DeclaresStrain => "a strain; nothing more is said of it",
            Role::DeclaresLot => "a lot, once its line can be read",
            Role::UsesLot => "no lot by this name is declared",
            Role::MayUseLot => return None,
        };
        return Some(format!("{}: {what}", code(name)));
    };
    let path = part.path(declared.file)?;
    let file = world.file(path)?;
    let mut out = String::new();
    let lot = part
        .season
        .figures(&[name.to_owned()])
        .into_iter()
        .next()
        .filter(|_| part.season.names.lot(name).is_some());
    match lot {
        Some(lot) => {
            let title = lot.title.as_deref().map(|title| format!(" {}", code(title))).unwrap_or_default();
            let _ = writeln!(out, "{} {}{title}\n", lot.kind, code(&lot.lot));
            for figure in &lot.figures {
                let _ = writeln!(out, "- {}", told(&figure.clone().spoken(&part.season.settings)));
            }
            for missing in &lot.missing {
                let _ = writeln!(out, "- not reckoned: {}", plain(missing));
            }
        }
        None => {
            let placed = crate::at::block_at(file, declared.span.start)?;
            let text = Span::new(placed.start, placed.start + placed.block.len).text(&file.text);
            let _ = writeln!(out, "{}", fenced(text.trim_end()));
        }
    }
    let _ = write!(out, "\nin {}, line {}", code(path), line_of(file, declared.span.start) + 1);
    Some(out)
}

/// Log text as a block of code.
fn fenced(text: &str) -> String {
    let fence = "`".repeat(text.split(|c| c != '`').map(str::len).max().unwrap_or(0).max(2) + 1);
    let text: String = text
        .chars()
        .map(|c| if c.is_control() && !matches!(c, '\n' | '\t') { '\u{fffd}' } else { c })
        .collect();
    format!("{fence}barm\n{text}\n{fence}")
}

fn line_of(file: &File, offset: u32) -> usize {
    file.text.get(..offset as usize).map_or(0, |before| before.matches('\n').count())
}

/// A figure with its range, where it comes from, and what would narrow it.
pub(crate) fn told(figure: &Figure) -> String {
    let name = figure.name.replace('-', " ");
    let narrowed =
        figure.narrowed_by.as_ref().map(|by| format!("; least certain: {}", plain(by))).unwrap_or_default();
    format!("{name}: **{}** ({}{narrowed})", plain(&figure.text()), plain(&figure.from))
}

/// A quantity in the other units of its kind.
fn of_quantity(measure: &Measure, of: Of) -> String {
    let meant = match (of, measure.dimension()) {
        (Of::Flavour, _) => CONCENTRATION,
        (Of::Gas, Dimension::MassPerVolume) => "a carbonation",
        (_, Dimension::Cells) => "a number of cells; B is a thousand million",
        (_, dimension) => dimension.described(),
    };
    let others = conversions(measure, of);
    if others.is_empty() { meant.to_owned() } else { format!("{meant}: {}", others.join(" · ")) }
}

/// The answer to a `?`.
fn of_question(part: &Part, path: &str, span: Span) -> Option<String> {
    let file = part.id(path)?;
    let answer = part.season.answers.iter().find(|answer| answer.place == Place { file, span })?;
    let mut out = format!("**{}**\n", plain(&answer.text));
    for note in &answer.notes {
        let _ = write!(out, "\n- {}", plain(note));
    }
    for figure in &answer.figures {
        let _ = write!(out, "\n- {}", told(&figure.clone().spoken(&part.season.settings)));
    }
    Some(out)
}

/// What is added that is no lot: the extract and the gas that come of it, and the figures of its line.
fn of_addition(part: &Part, path: &str, what: &str, here: &Here<'_>) -> Option<String> {
    let percent = |share: f64| significant(share * 100.0, 2);
    let mut out = match Addition::read(what) {
        Addition::Sugar(sugar) => {
            let gas = sugar.carbonates(Mass::grams(1.0), Volume::litres(1.0)).as_volumes();
            let how = match sugar {
                Sugar::Sucrose
                | Sugar::Glucose
                | Sugar::GlucoseMonohydrate
                | Sugar::Fructose
                | Sugar::Maltose => "stoichiometry",
                _ => "its usual solids, common practice",
            };
            let mut out = code(what);
            if sugar.name() != what.to_lowercase() {
                let _ = write!(out, ": {}", sugar.name());
            }
            let ferments = percent(sugar.fermentable_share());
            let extract = percent(sugar.extract_share());
            let _ = write!(
                out,
                "\n\n- extract: **{extract} %** of its mass, of which yeast ferments **{ferments} %** ({how})"
            );
            if gas > 0.0 {
                let error = number(sugar.error().as_fraction() * 100.0, 0);
                let _ = write!(
                    out,
                    "\n- gas: **{} vol** of carbon dioxide from 1 g in 1 L ({how}, ± {error} %)",
                    significant(gas, 2)
                );
            }
            out
        }
        Addition::Water => format!("{}: water, which brings no extract", code(what)),
        Addition::Wort => format!("{}: wort, of the gravity that the line states", code(what)),
        Addition::Other | Addition::Juice if is_fruit(what) => {
            format!(
                "{}: brings extract that its gravity tells (`2 L apple-juice at 1.048`), and nothing else",
                code(what)
            )
        }
        Addition::Other | Addition::Juice => {
            format!("{}: brings no extract that is reckoned with", code(what))
        }
    };
    let statement = here.statement?.span.shifted(here.placed.start);
    for figure in figures_at(part, path, here.placed, statement) {
        let _ = write!(out, "\n- {}", told(&figure.spoken(&part.season.settings)));
    }
    Some(out)
}

/// A flavour: what it comes of. How much of that is noticed differs from one to the other, and nothing is said of it.
fn of_flavour(words: &str, here: &Here<'_>) -> Option<String> {
    let mut out = form(if matches!(here.statement?.kind, Kind::Makes(_)) { "makes" } else { "taste" })?;
    let said = format!(" {} ", words.to_lowercase().replace('-', " "));
    let is_said = |name: &str| said.contains(&format!(" {} ", name.replace('-', " ")));
    for verdict in Verdict::ALL.into_iter().filter(|verdict| is_said(verdict.word())) {
        let _ = write!(out, "\n- {}: what you think of the beer", verdict.word());
    }
    let mut notes: BTreeMap<Note, Vec<&str>> = BTreeMap::new();
    for compound in Compound::ALL.iter().filter(|it| is_said(it.note().name()) || is_said(it.name())) {
        notes.entry(compound.note()).or_default().push(compound.name());
    }
    for (note, compounds) in notes {
        let _ = write!(out, "\n- {}: comes of {}", note.name(), compounds.join(", "));
    }
    Some(out)
}

/// How a line looks, and one that is right.
fn form(word: &str) -> Option<String> {
    let small = word.to_lowercase();
    let entry = first_words(BlockKind::Unknown).find(|entry| entry.word == small)?;
    Some(format!("{}\n\nsuch as {}", code(entry.form), code(entry.example)))
}

/// A word of a line: the form of the line, its figures, and the caution for what it does.
fn of_word(part: &Part, path: &str, word: &str, here: &Here<'_>) -> Option<String> {
    let mut out = form(word)?;
    let statement = here.statement?.span.shifted(here.placed.start);
    for figure in figures_at(part, path, here.placed, statement) {
        let _ = write!(out, "\n- {}", told(&figure.spoken(&part.season.settings)));
    }
    if let Some(danger) = danger(&here.statement?.kind, here.placed.block.kind) {
        let [sentence, more, defer] = caution(danger);
        let _ =
            write!(out, "\n\n**Take care.** {}\n\n- {}\n- {}", plain(sentence), plain(more), plain(defer));
    }
    Some(out)
}

/// The figures that belong to a line.
pub(crate) fn figures_at(part: &Part, path: &str, placed: &Placed, statement: Span) -> Vec<Figure> {
    let Some(file) = part.id(path) else { return Vec::new() };
    let Some(name) = &placed.block.name else { return Vec::new() };
    let lots = part.season.figures(&[name.text.to_string()]);
    let figures = lots.into_iter().flat_map(|lot| lot.figures);
    let here = |place: Place| {
        place.file == file && place.span.start <= statement.end && statement.start <= place.span.end
    };
    figures.filter(|figure| figure.place.is_some_and(here)).collect()
}

/// What happened on a day is written below it.
fn of_day(part: &Part, placed: &Placed, day: &Day) -> String {
    let mut out = code("on DATE [HH:MM]");
    let known = day.date.and_then(|date| Some((date, day_of(part, placed, date)?)));
    if let Some((_, (days, since))) = known {
        let _ = write!(out, "\n\nday {days} since {since}");
    }
    out
}

/// How long before or after the pitch something happened.
fn of_clock(part: &Part, placed: &Placed, date: Option<Date>, clock: Clock) -> String {
    let time = format!("{:02}:{:02}", clock.minutes / 60, clock.minutes % 60);
    let about = if clock.about { ", or up to two hours before or after" } else { "" };
    let Some(date) = date else { return format!("{time}{about}") };
    let mut out = format!("{date} {time}{about}");
    let lot = placed.block.name.as_ref().and_then(|name| part.season.names.lot(&name.text));
    if let Some(pitched) = lot.and_then(|lot| part.season.batch(lot)?.pitched_at()) {
        let hours = Moment::new(date, clock.minutes).hours_since(pitched);
        let minutes = (hours.abs() * 60.0).round();
        let ago = match minutes {
            m if m < 120.0 => format!("{} min", number(m, 0)),
            m if m < 72.0 * 60.0 => format!("{} h", number(m / 60.0, 1)),
            m => format!("{} d", number(m / 60.0 / 24.0, 1)),
        };
        let which = if hours < 0.0 { "before" } else { "after" };
        let _ = match minutes {
            m if m < 1.0 => write!(out, "\n\nthe moment of the first pitch"),
            _ => write!(out, "\n\n{ago} {which} the first pitch"),
        };
    }
    out
}

fn of_block(kind: BlockKind) -> String {
    let (form, says) = match kind {
        BlockKind::Strain => ("strain NAME", "an organism"),
        BlockKind::Culture => {
            ("culture NAME of STRAIN", "a lot of yeast from outside, or one more timeline for a harvest")
        }
        BlockKind::Starter => ("starter NAME", "a small wort grown to raise yeast"),
        BlockKind::Brew => ("brew NAME \"Title\"", "a batch, from wort to package"),
        BlockKind::Vessel => ("vessel NAME", "a fermenter, brink or cask"),
        BlockKind::Unknown | BlockKind::Loose => ("", "nothing yet"),
    };
    format!("{}: {says}", code(form))
}

/// The day of the brew that a date is, and since when days are counted: that of its first pitch is day 0, also where nobody
/// knows yet how much was pitched; of a beer that ferments without, its first day.
pub(crate) fn day_of(part: &Part, placed: &Placed, date: Date) -> Option<(i32, &'static str)> {
    let lot = part.season.names.lot(&placed.block.name.as_ref()?.text)?;
    let known = part.season.batch(lot)?.pitched_at().map(Moment::date);
    let asked = asked_pitch(placed).map(Moment::date);
    let (first, since) = match known.into_iter().chain(asked).min() {
        Some(pitched) => (pitched, "the first pitch"),
        None => (placed.block.days.iter().find_map(|day| day.date)?, "its first day"),
    };
    date.since(first).ok().map(|span| (span.get_days(), since))
}

/// When the first line of a block that pitches says that it does.
pub(crate) fn asked_pitch(placed: &Placed) -> Option<Moment> {
    let block = &placed.block;
    let pitch = block.statements.iter().find(|statement| matches!(statement.kind, Kind::Pitch(_)))?;
    let day = block.days.get(pitch.day?.position())?;
    let minutes = pitch.time.or(day.time).map_or(0, |time| time.minutes);
    Some(Moment::new(day.date?, minutes))
}
