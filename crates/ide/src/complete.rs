//! What may be written at a place.

use std::cmp::Reverse;
use std::collections::HashSet;
use std::fmt::Write as _;

use barm_quantity::{Dimension, Estimate, Unit, significant};
use barm_reckoning::{LotKind, Moment, folded};
use barm_syntax::ast::{BlockKind, Log, Placed};
use barm_syntax::{FirstWord, Span, first_words, read, read_clock};
use barm_zymology::carbonation::Sugar;
use barm_zymology::flavour::Compound;
use jiff::ToSpan as _;
use jiff::civil::Date;

use crate::at::{block_at, first_word, length};
use crate::convert::CONCENTRATION;
use crate::form::{self, Blank, Next};
use crate::hints::measured_out;
use crate::offers::{self, Declared};
use crate::piece::{self, Piece};
use crate::world::{File, World};
use crate::{Part, Role};

/// Something that may be written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Completion {
    /// As it is listed, and written.
    pub label: String,
    /// What it is.
    pub kind: CompletionKind,
    /// A few words beside it.
    pub detail: String,
    /// The same with places to fill in, `${1:LOT}`, where it has any.
    pub snippet: Option<String>,
    /// What it replaces.
    pub span: Span,
}

/// What a completion is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[expect(missing_docs, reason = "the words of the language")]
pub enum CompletionKind {
    Block,
    FirstWord,
    Lot,
    Strain,
    Vessel,
    Unit,
    Date,
    Time,
    Word,
    Rule,
    /// Nothing but places to fill in.
    Blank,
}

/// So many lots are offered at the most: to say what is left of one, its part has to be reckoned.
const MOST_LOTS: usize = 100;
/// Of what is hardly alive nobody wants to know how little it is.
const HARDLY_ANY: f64 = 0.01;
/// So many times of earlier days.
const MOST_TIMES: usize = 3;

const BLOCKS: [BlockKind; 5] =
    [BlockKind::Strain, BlockKind::Culture, BlockKind::Starter, BlockKind::Brew, BlockKind::Vessel];

/// What a logger's columns may be, in the usual units.
const COLUMNS: [&str; 7] = ["time", "temp/°C", "gravity", "ambient/°C", "pressure/bar", "ph", "-"];

/// Whether more may be offered once more is typed.
#[must_use]
pub fn is_cut_off(offered: &[Completion]) -> bool {
    offered.iter().filter(|it| it.kind == CompletionKind::Lot).count() >= MOST_LOTS
}

/// What may be written at an offset of a file.
#[must_use]
pub fn completions(world: &World, path: &str, offset: u32) -> Vec<Completion> {
    let (Some(file), Some(part)) = (world.file(path), world.part(path)) else { return Vec::new() };
    let Some(before) = file.text.get(..offset as usize) else { return Vec::new() };
    let line_start = before.rfind('\n').map_or(0, |at| at + 1);
    let line = before.get(line_start..).unwrap_or("");
    let typed = line.rsplit([' ', '\t', ',']).next().unwrap_or("");
    let placed = block_at(file, offset.saturating_sub(1).max(u32::try_from(line_start).unwrap_or(0)))
        .or_else(|| block_at(file, offset));
    let completing = Completing {
        world,
        file,
        part: &part,
        path,
        placed,
        // What is about stays so.
        span: Span::new(offset - length(typed.trim_start_matches('~')), offset),
    };
    completing.all(line, typed)
}

struct Completing<'a> {
    world: &'a World,
    file: &'a File,
    part: &'a Part,
    path: &'a str,
    placed: Option<&'a Placed>,
    span: Span,
}

impl Completing<'_> {
    fn all(&self, line: &str, typed: &str) -> Vec<Completion> {
        if let Some(rules) = line.rfind("# accept").map(|at| line.get(at..).unwrap_or("")) {
            return if rules.contains(':') { Vec::new() } else { self.rules() };
        }
        if is_comment(line) {
            return Vec::new();
        }
        // A number is completed where it begins a date or a time.
        let is_number = typed.starts_with(|c: char| c.is_ascii_digit() || c == '~');
        let Some(Item { words, starts, takes_time, may_prime }) =
            item(line.get(..line.len() - typed.len()).unwrap_or(""))
        else {
            return self.dates();
        };
        let Some((word, said)) = words.split_first() else {
            let times = if takes_time { self.times() } else { Vec::new() };
            if is_number {
                return times;
            }
            let mut out = self.first_words(starts, times);
            out.extend(may_prime.then(|| self.question("asks how much to prime with")));
            return out;
        };
        if BLOCKS.iter().any(|kind| kind.word().eq_ignore_ascii_case(word)) {
            return self.header(word, said);
        }
        let Some(entry) = entry(word).filter(|entry| entry.word != "note") else { return Vec::new() };
        let next = form::next(entry.form, said);
        let part = said.iter().rev().find(|word| form::BEGIN.contains(word)).copied();
        // `180 ± 30` counts no packs.
        let is_error = said.iter().rev().nth(1).is_some_and(|word| form::JOINS.contains(word));
        let following = next.into_iter().flat_map(|next| self.following(entry, part, next));
        let following = following.filter(|it| !is_error || it.kind == CompletionKind::Unit);
        following.filter(|it| !is_number || it.kind == CompletionKind::Date).collect()
    }

    /// What may follow in a header: only a culture is of a strain.
    fn header(&self, word: &str, said: &[&str]) -> Vec<Completion> {
        match said {
            _ if !BlockKind::Culture.word().eq_ignore_ascii_case(word) => Vec::new(),
            [_, .., "of" | "+"] => self.strains(),
            [_, rest @ ..] if !rest.contains(&"of") => vec![self.word("of")],
            _ => Vec::new(),
        }
    }

    /// What may follow in the part of a form that begins with a word.
    fn following(&self, entry: FirstWord, part: Option<&str>, next: Next<'_>) -> Vec<Completion> {
        match next {
            Next::Blank(Blank::Word(word)) => vec![self.word(word)],
            Next::Blank(Blank::Named(name, _)) => {
                let mut out = self.filled_in(entry, name);
                out.extend(self.may_ask(entry, part, name).then(|| self.question("asks how much")));
                out
            }
            // `pack 100 B` is one of them.
            Next::Unit(_, Some("×")) => {
                let measured = dimensions(entry.example);
                [self.word("×")]
                    .into_iter()
                    .chain(self.units(|unit| measured.contains(&unit.dimension())))
                    .collect()
            }
            Next::Unit(_, Some(counts)) if Unit::read(counts).is_none() => vec![self.word(counts)],
            // Yeast loses by the month, and a vessel by the kelvin.
            Next::Unit(_, Some(counts)) => {
                let other =
                    match self.placed.map(|placed| placed.block.kind).filter(|_| entry.word == "loses") {
                        Some(BlockKind::Vessel) => Some(Dimension::LossRate),
                        Some(BlockKind::Culture) => Some(Dimension::HeatLoss),
                        _ => None,
                    };
                let fits = |unit: &Unit| Unit::read(counts) == Some(*unit) && Some(unit.dimension()) != other;
                let units = self.units(fits);
                if entry.word == "makes" {
                    units.map(|it| Completion { detail: CONCENTRATION.to_owned(), ..it }).collect()
                } else {
                    units.collect()
                }
            }
            Next::Unit(name, None) => {
                let measured = measured(entry, part, name);
                let containers =
                    form::CONTAINERS.iter().filter(|_| entry.word == "pitch" && name == "AMOUNT");
                let is_gas = matches!(name, "CO2" | "CARBONATION");
                let units = self.units(|unit| {
                    measured.contains(&unit.dimension()) || is_gas && *unit == Unit::GramPerLitre
                });
                units.chain(containers.map(|word| self.word(word))).collect()
            }
        }
    }

    /// Whether a `?` is answered in such a place.
    fn may_ask(&self, entry: FirstWord, part: Option<&str>, name: &str) -> bool {
        match (entry.word, part, name) {
            ("pitch" | "add", None, "AMOUNT")
            | ("aerate", None, "DURATION")
            | ("bottle" | "keg" | "cask", Some("with"), "AMOUNT") => true,
            ("wort", None, "VOLUME") => self.is_starter(),
            _ => false,
        }
    }

    fn is_starter(&self) -> bool {
        self.placed.is_some_and(|placed| placed.block.kind == BlockKind::Starter)
    }

    fn question(&self, asks: &str) -> Completion {
        self.completion("?", CompletionKind::Word, asks)
    }

    fn filled_in(&self, entry: FirstWord, name: &str) -> Vec<Completion> {
        let words = |words: &[&str]| words.iter().map(|word| self.word(word)).collect();
        let sugars = || Sugar::ALL.iter().map(|sugar| self.word(sugar.name()));
        match (name, entry.word) {
            ("LOT", _) => self.lots(|_| true),
            ("BREW", _) => self.lots(|kind| kind == LotKind::Brew),
            ("VESSEL", _) => self.vessels(),
            ("DATE", _) => self.dates(),
            ("FLAVOUR", _) => words(&flavours()),
            ("WORDS", _) => words(&[&["good", "fair", "poor"], &*flavours()].concat()),
            ("COLUMN", _) => words(&COLUMNS),
            ("WHAT", "test") => words(&["forced", "plate", "vdk"]),
            // Beer, wort and yeast are added too.
            ("WHAT", "add") => {
                let others = ["water", "wort", "hops"].map(|word| self.word(word));
                sugars().chain(others).chain(self.lots(|_| true)).collect()
            }
            ("WHAT", _) => sugars().collect(),
            _ => Vec::new(),
        }
    }

    fn word(&self, word: &str) -> Completion {
        self.completion(word, CompletionKind::Word, "")
    }

    fn completion(
        &self,
        label: impl Into<String>,
        kind: CompletionKind,
        detail: impl Into<String>,
    ) -> Completion {
        Completion { label: label.into(), kind, detail: detail.into(), snippet: None, span: self.span }
    }

    fn first_words(&self, line_begins: bool, times: Vec<Completion>) -> Vec<Completion> {
        let kind = self.placed.map_or(BlockKind::Loose, |placed| placed.block.kind);
        let mut out = Vec::new();
        if kind != BlockKind::Loose {
            if line_begins && kind != BlockKind::Strain {
                let on = Completion {
                    snippet: Some("on ${1:DATE}".to_owned()),
                    ..self.completion("on", CompletionKind::FirstWord, "on DATE [HH:MM]")
                };
                out.push(on);
            }
            out.extend(times);
            // Below a day events come first, above the first day facts.
            let below_a_day = self.placed.is_some_and(|placed| {
                let before = |start: u32| placed.start + start < self.span.start;
                placed.block.days.first().is_some_and(|day| before(day.span.start))
            });
            let mut words: Vec<FirstWord> = first_words(kind).collect();
            let said = self.said();
            // Within either what was not said yet comes first, and a strain's own facts last where this is none.
            let of_strain = |entry: &FirstWord| {
                kind != BlockKind::Strain && first_words(BlockKind::Strain).any(|other| other == *entry)
            };
            words.sort_by_cached_key(|entry| {
                let is_event = is_event(*entry);
                (is_event != below_a_day, !is_event && said.contains(&entry.word), of_strain(entry))
            });
            out.extend(words.into_iter().map(|entry| Completion {
                snippet: snippet(entry.form),
                ..self.completion(entry.word, CompletionKind::FirstWord, entry.form)
            }));
        }
        if line_begins {
            out.extend(BLOCKS.iter().map(|kind| Completion {
                snippet: Some(format!("{} ${{1:NAME}}", kind.word())),
                ..self.completion(kind.word(), CompletionKind::Block, "begins a block")
            }));
        }
        out
    }

    /// The words of the facts that the block states.
    fn said(&self) -> Vec<&'static str> {
        let Some(placed) = self.placed else { return Vec::new() };
        let facts = placed.block.statements.iter().filter(|statement| statement.day.is_none());
        let words = facts.map(|fact| first_word(fact.span.shifted(placed.start).text(&self.file.text)));
        let known =
            |word: &str| first_words(placed.block.kind).find(|entry| entry.word.eq_ignore_ascii_case(word));
        words.filter_map(|word| Some(known(word)?.word)).collect()
    }

    /// The last day of the block, the one after it, the last of the file and of the workspace.
    fn dates(&self) -> Vec<Completion> {
        let written = Some(self.span.start);
        let here = self.placed.and_then(|placed| offers::last_day(placed, written));
        let last = self.file.log.blocks.iter().filter_map(|placed| offers::last_day(placed, written)).max();
        let others = self.world.files().filter(|(path, _)| ***path != *self.path);
        let anywhere = others.filter_map(|(_, file)| file.offers().last).max().max(last);
        let after = |day: Option<Date>| day.and_then(|day| day.checked_add(1.day()).ok());
        let mut out: Vec<Completion> = Vec::new();
        for (day, detail) in [
            (after(here), "the day after"),
            (here, "the last day of this block"),
            (last, "the last day of this file"),
            (anywhere, "the last day of the workspace"),
            (after(anywhere).filter(|_| here.is_none()), "the day after that"),
        ] {
            if let Some(day) = day.map(|day| day.to_string())
                && out.iter().all(|other| other.label != day)
            {
                out.push(self.completion(day, CompletionKind::Date, detail));
            }
        }
        out.extend(self.is_starter().then(|| self.question("asks when to begin")));
        if out.iter().all(|it| it.kind != CompletionKind::Date) {
            out.push(self.blank("YYYY-MM-DD", "${1:YYYY}-${2:MM}-${3:DD}", "year, month, day"));
        }
        out
    }

    /// Times behind the one above, and those of the days before.
    fn times(&self) -> Vec<Completion> {
        let Some(placed) = self.placed else { return Vec::new() };
        let block = &*placed.block;
        let is_before = |span: Span| placed.start + span.start < self.span.start;
        let today = block.days.iter().rposition(|day| is_before(day.span));
        let Some(today) = today.filter(|nth| block.days.get(*nth).is_some_and(|day| !day.asked)) else {
            return Vec::new();
        };
        let of_days = block.days.iter().enumerate().map(|(nth, day)| (nth, day.span, day.time));
        let of_lines = block.statements.iter().filter_map(|it| Some((it.day?.position(), it.span, it.time)));
        let mut clocks: Vec<(usize, Span, u16)> = of_days
            .chain(of_lines)
            .filter_map(|(day, span, time)| Some((day, span, time?.minutes)))
            .collect();
        clocks.sort_by_key(|(_, span, _)| span.start);
        let above = clocks.iter().rfind(|(day, span, _)| *day == today && is_before(*span));
        let above = above.map(|(.., minutes)| *minutes);
        let mut out: Vec<Completion> = Vec::new();
        let mut offer = |minutes: u16, detail: String| {
            let label = format!("{:02}:{:02}", minutes / 60, minutes % 60);
            let is_new = minutes < 24 * 60 && out.iter().all(|other| other.label != label);
            if is_new {
                out.push(self.completion(label, CompletionKind::Time, detail));
            }
            is_new
        };
        for (later, detail) in [(10, "ten minutes later"), (60, "an hour later")] {
            if let Some(above) = above {
                offer(above + later, detail.to_owned());
            }
        }
        let earlier = clocks.iter().rev().filter(|(day, ..)| *day < today);
        let mut left = MOST_TIMES;
        for (day, _, minutes) in earlier.filter(|(.., minutes)| above.is_none_or(|above| above < *minutes)) {
            let date = block.days.get(*day).and_then(|day| day.date);
            let detail = date.map(|date| format!("as on {date}")).unwrap_or_default();
            if left > 0 && offer(*minutes, detail) {
                left -= 1;
            }
        }
        if out.is_empty() {
            out.push(self.blank("HH:MM", "${1:HH}:${2:MM}", "hour, minute"));
        }
        out
    }

    fn blank(&self, label: &str, snippet: &str, detail: &str) -> Completion {
        Completion {
            snippet: Some(snippet.to_owned()),
            ..self.completion(label, CompletionKind::Blank, detail)
        }
    }

    /// The day of the cursor's line, else the last of the workspace.
    fn today(&self) -> Option<Date> {
        let above = self.placed.and_then(|placed| {
            let is_before = |span: Span| placed.start + span.start < self.span.start;
            placed.block.days.iter().rfind(|day| is_before(day.span))?.date
        });
        above.or_else(|| self.world.files().filter_map(|(_, file)| file.offers().last).max())
    }

    /// The lots of some kinds that fit what is typed, the latest first, each with what is left of it: yeast before beer, then
    /// what is not there yet, and what is used up or dead last.
    fn lots(&self, wanted: impl Fn(LotKind) -> bool) -> Vec<Completion> {
        let own = self.placed.and_then(|placed| placed.block.name.as_ref()).map(|name| folded(&name.text));
        let typed = folded(self.span.text(&self.file.text));
        let mut found: Vec<(&str, &Declared)> = Vec::new();
        for (path, file) in self.world.files() {
            let lots = file.offers().lots.iter();
            let fits = |lot: &&Declared| {
                wanted(lot.kind) && own.as_deref() != Some(&*lot.folded) && is_in(&typed, &lot.folded)
            };
            found.extend(lots.filter(fits).map(|lot| (&**path, lot)));
        }
        let today = self.today();
        found.sort_by_cached_key(|(_, lot)| {
            let is_to_come = lot.since > today && today.is_some();
            let fits_less = !lot.folded.starts_with(&typed);
            (fits_less, lot.kind == LotKind::Brew, is_to_come, Reverse(lot.since))
        });
        let mut names: HashSet<&str> = HashSet::new();
        let first = found.into_iter().filter(|(_, lot)| names.insert(&*lot.folded)).take(MOST_LOTS);
        let mut lots: Vec<_> = first.map(|(path, lot)| self.lot(path, lot, today)).collect();
        lots.sort_by_key(|(rank, _)| *rank);
        lots.into_iter().map(|(_, completion)| completion).collect()
    }

    /// A lot with what is left of it, and how far back it belongs.
    fn lot(&self, path: &str, lot: &Declared, today: Option<Date>) -> (u8, Completion) {
        let part = self.world.part(path);
        let stock = part
            .as_ref()
            .zip(today)
            .and_then(|(part, today)| part.season.stock_of(part.season.names.lot(&lot.name)?, today));
        let mut detail = lot.kind.word().to_owned();
        let mut rank = u8::from(lot.kind == LotKind::Brew);
        if let (Some(stock), Some(part)) = (&stock, &part) {
            let made = stock.made.map(Moment::date).filter(|made| today.is_some_and(|today| today < *made));
            // Of a brew it is the yeast that is used up, and the beer may be wanted all the same.
            let left = stock.left.as_ref().filter(|_| lot.kind != LotKind::Brew);
            if left.is_some_and(|left| left.value <= 0.0) {
                detail.push_str(", used up");
                rank = 3;
            } else if let Some(made) = made {
                let _ = write!(detail, ", from {made}");
                rank = 2;
            } else {
                if let Some(left) = left.filter(|left| left.unit != "%" || left.value < 99.5) {
                    let _ = write!(detail, ", {} left", measured_out(left, &part.season.settings));
                }
                match stock.live_share.as_ref().map(Estimate::median) {
                    Some(dead) if dead < HARDLY_ANY => {
                        detail.push_str(", under 1 % live");
                        rank = 3;
                    }
                    Some(share) => {
                        let _ = write!(detail, ", {} % live", significant(share * 100.0, 2));
                    }
                    None => {}
                }
            }
        }
        (rank, self.completion(&*lot.name, CompletionKind::Lot, detail))
    }

    fn named(&self, wanted: &[Role], kind: CompletionKind) -> Vec<Completion> {
        let mut names: Vec<&str> = Vec::new();
        for (path, file) in self.world.files() {
            if **path != *self.path {
                let others = file.offers().others.iter();
                names.extend(others.filter(|(role, _)| wanted.contains(role)).map(|(_, name)| &**name));
                continue;
            }
            for placed in &file.log.blocks {
                let mentions = crate::mentions(&placed.block).into_iter();
                // The word under the cursor is no name yet.
                let here = mentions.filter(|m| {
                    wanted.contains(&m.role) && m.name.span.shifted(placed.start).end != self.span.end
                });
                names.extend(here.map(|mention| &*mention.name.text));
            }
        }
        names.sort_unstable();
        names.dedup();
        names.dedup_by_key(|name| folded(name));
        names.into_iter().map(|name| self.completion(name, kind, "")).collect()
    }

    fn strains(&self) -> Vec<Completion> {
        self.named(&[Role::DeclaresStrain, Role::UsesStrain], CompletionKind::Strain)
    }

    fn vessels(&self) -> Vec<Completion> {
        self.named(&[Role::DeclaresVessel, Role::UsesVessel], CompletionKind::Vessel)
    }

    fn rules(&self) -> Vec<Completion> {
        let here: Vec<&str> = self.part.findings(self.path).iter().map(|finding| finding.rule).collect();
        let mut rules: Vec<&str> = barm_rules::rules().iter().map(|rule| rule.name()).collect();
        rules.sort_by_key(|rule| !here.contains(rule));
        let detail = |rule: &str| if here.contains(&rule) { "found in this file" } else { "" };
        rules.into_iter().map(|rule| self.completion(rule, CompletionKind::Rule, detail(rule))).collect()
    }

    fn units(&self, fits: impl Fn(&Unit) -> bool) -> impl Iterator<Item = Completion> {
        let units = Unit::ALL.iter().filter(move |unit| fits(unit) && !unit.symbol().is_empty());
        units.map(|unit| self.completion(unit.symbol(), CompletionKind::Unit, unit.dimension().described()))
    }
}

/// What is measured in a place of such a name, in the part of a form that begins with a word.
fn measured(entry: FirstWord, part: Option<&str>, name: &str) -> Vec<Dimension> {
    use Dimension as D;
    match (name, entry.word, part) {
        ("TEMPERATURE", ..) => vec![D::Temperature],
        ("VOLUME", ..) | ("AMOUNT", "bottle" | "keg" | "cask" | "rack", None) => vec![D::Volume],
        ("MASS", ..) => vec![D::Mass],
        ("AMOUNT", "pitch" | "dump", _) => vec![D::Volume, D::Mass, D::Cells],
        ("AMOUNT", _, Some("with")) => vec![D::Volume, D::Mass, D::MassPerVolume],
        ("AMOUNT", ..) => vec![D::Volume, D::Mass],
        // The alpha acid of hops.
        ("GRAVITY", "add", Some("at")) => vec![D::Gravity, D::Share],
        ("GRAVITY", ..) => vec![D::Gravity],
        ("CO2", _, Some("rated")) => vec![D::Carbonation, D::Pressure],
        ("CO2" | "CARBONATION", ..) => vec![D::Carbonation],
        ("PRESSURE", ..) => vec![D::Pressure],
        ("DURATION", ..) => vec![D::Duration],
        ("FLOW", ..) => vec![D::Flow],
        ("RATE", ..) => vec![D::PitchRate, D::CellsPerVolume, D::MassPerVolume],
        ("CELLS", ..) => vec![D::Cells],
        ("CELLS/g", ..) => vec![D::CellsPerMass],
        ("DENSITY", ..) => vec![D::CellsPerVolume],
        ("IBU", ..) => vec![D::Bitterness],
        ("VALUE", ..) => dimensions(entry.example),
        _ => Vec::new(),
    }
}

/// A line of an example, in each block in which it may stand.
fn example_log(example: &str) -> Log {
    read(&format!(
        "brew a\n on 2026-01-01\n  {example}\nculture b\n {example}\nvessel c\n {example}\nstrain d\n {example}\n"
    ))
}

/// Whether a word tells what happened, and not what is so.
fn is_event(entry: FirstWord) -> bool {
    let log = example_log(entry.example);
    let mut statements = log.blocks.iter().flat_map(|placed| &placed.block.statements);
    statements.next().is_some_and(|statement| statement.kind.is_event())
}

/// What an example measures.
fn dimensions(example: &str) -> Vec<Dimension> {
    let log = example_log(example);
    let mut out = Vec::new();
    for statement in log.blocks.iter().flat_map(|placed| &placed.block.statements) {
        piece::of_statement(statement, &mut |_, it| {
            if let Piece::Quantity(measure, _) = it
                && !out.contains(&measure.dimension())
            {
                out.push(measure.dimension());
            }
        });
    }
    out
}

/// The words for flavours that yeast causes.
fn flavours() -> Vec<&'static str> {
    let mut words: Vec<&str> = Compound::ALL.iter().map(|compound| compound.note().name()).collect();
    words.sort_unstable();
    words.dedup();
    words
}

/// The entry of a first word, whatever the block.
fn entry(word: &str) -> Option<FirstWord> {
    first_words(BlockKind::Unknown).find(|entry| entry.word.eq_ignore_ascii_case(word))
}

/// Whether the letters of one name stand in another in their order.
fn is_in(typed: &str, name: &str) -> bool {
    let mut letters = name.chars();
    typed.chars().all(|wanted| letters.any(|letter| letter == wanted))
}

/// The item that a line ends with.
struct Item<'l> {
    words: Vec<&'l str>,
    /// Whether one that begins now could begin the line.
    starts: bool,
    /// Whether a time may stand before it.
    takes_time: bool,
    /// Whether what beer is primed with may stand here.
    may_prime: bool,
}

/// The item that a line ends with; `None` where a day's date is to be written.
fn item(line: &str) -> Option<Item<'_>> {
    let begun = line.trim_start();
    let mut first = begun;
    if let Some(day) = after_clock(begun).strip_prefix("on ") {
        let (_, rest) = day.trim_start().split_once(char::is_whitespace)?;
        first = rest.trim_start();
    }
    let takes_time = first.is_empty();
    let mut starts = after_clock(first) == begun;
    let mut may_prime = false;
    let mut parts = after_clock(first).split(", ");
    let mut item: Vec<&str> = parts.next().unwrap_or("").split_whitespace().collect();
    for part in parts {
        let mut words = part.split_whitespace().peekable();
        let opens = item.first().and_then(|word| entry(word));
        let goes_on = words.peek().is_some_and(|word| entry(word).is_none())
            || opens.is_some_and(|entry| entry.word == "taste");
        let primes = opens.is_some_and(|entry| entry.form.contains("[with "));
        may_prime = primes && part.trim().is_empty();
        if !goes_on {
            item.clear();
        } else if primes && part.trim_start().starts_with(|c: char| c.is_ascii_digit() || c == '?') {
            // What is primed with may stand behind a comma, without its word.
            item.push("with");
        }
        item.extend(words);
        starts = false;
    }
    Some(Item { words: item, starts, takes_time, may_prime })
}

/// A form with its capitals as places to fill in; what may be left out is left out.
fn snippet(form: &str) -> Option<String> {
    let mut depth = 0_u32;
    let mut out = String::new();
    let mut place = 0_u32;
    for written in form.split(' ') {
        let word = written.trim_end_matches(',');
        // A second way to say it, or more of the same.
        if word == "or" || word.starts_with('(') || word == "…" {
            break;
        }
        depth += u32::try_from(word.matches('[').count()).unwrap_or(0);
        let outside = depth == 0;
        depth = depth.saturating_sub(u32::try_from(word.matches(']').count()).unwrap_or(0));
        if !outside {
            continue;
        }
        if !out.is_empty() {
            out.push(' ');
        }
        if word.contains('|') {
            place += 1;
            out.push_str(&format!("${{{place}|{}|}}", word.replace('|', ",")));
        } else if word != "IBU" && word.chars().all(|c| c.is_ascii_uppercase() || c == '2') {
            place += 1;
            out.push_str(&format!("${{{place}:{word}}}"));
        } else {
            out.push_str(word);
        }
        if written.ends_with(',') {
            out.push(',');
        }
    }
    (place > 0).then_some(out)
}

/// Past the time that an item may begin with.
fn after_clock(item: &str) -> &str {
    let rest = read_clock(item).and_then(|(_, length)| item.get(length..));
    rest.filter(|rest| rest.starts_with([' ', '\t'])).map_or(item, str::trim_start)
}

fn is_comment(line: &str) -> bool {
    line.trim_start().starts_with('#')
        || line.contains(" # ")
        || first_word(line.trim_start()).eq_ignore_ascii_case("note")
}
