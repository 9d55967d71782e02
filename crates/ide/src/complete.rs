//! What may be written at a place.

use barm_quantity::{Dimension, Unit, significant};
use barm_reckoning::{LotKind, folded};
use barm_syntax::ast::{BlockKind, Log, Placed};
use barm_syntax::{FirstWord, Span, first_words, read};
use barm_zymology::carbonation::Sugar;
use barm_zymology::flavour::Compound;
use jiff::ToSpan as _;

use crate::Part;
use crate::at::{block_at, first_word, length};
use crate::form::{self, Blank, Next};
use crate::hints::measured_out;
use crate::piece::{self, Piece};
use crate::world::{File, World};

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
    Word,
    Rule,
}

const BLOCKS: [BlockKind; 5] =
    [BlockKind::Strain, BlockKind::Culture, BlockKind::Starter, BlockKind::Brew, BlockKind::Vessel];

/// What a logger's columns may be, in the usual units.
const COLUMNS: [&str; 7] = ["time", "temp/°C", "gravity", "ambient/°C", "pressure/bar", "ph", "-"];

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
        span: Span::new(offset - length(typed), offset),
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
        let (item, starts) = match items(line.get(..line.len() - typed.len()).unwrap_or("")) {
            Some(found) => found,
            None => return self.dates(),
        };
        let Some((word, said)) = item.split_first() else { return self.first_words(starts) };
        if BLOCKS.iter().any(|kind| kind.word().eq_ignore_ascii_case(word)) {
            return self.header(word, said);
        }
        let Some(entry) = entry(word).filter(|entry| entry.word != "note") else { return Vec::new() };
        // A number is completed where it begins a date.
        let is_number = typed.starts_with(|c: char| c.is_ascii_digit());
        let next = form::next(entry.form, said);
        let following = next.into_iter().flat_map(|next| self.following(entry, next));
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

    fn following(&self, entry: FirstWord, next: Next<'_>) -> Vec<Completion> {
        match next {
            Next::Blank(Blank::Word(word)) => vec![self.word(word)],
            Next::Blank(Blank::Named(name, _)) => self.filled_in(entry, name),
            Next::Unit(_, Some(counts)) if Unit::read(counts).is_none() => vec![self.word(counts)],
            Next::Unit(name, counts) => self.units(entry, name, counts),
        }
    }

    fn filled_in(&self, entry: FirstWord, name: &str) -> Vec<Completion> {
        let words = |words: &[&str]| words.iter().map(|word| self.word(word)).collect();
        let sugars = || Sugar::ALL.iter().map(|sugar| self.word(sugar.name()));
        match (name, entry.word) {
            ("LOT" | "BREW", _) => self.lots(),
            ("VESSEL", _) => self.vessels(),
            ("DATE", _) => self.dates(),
            ("FLAVOUR", _) => words(&flavours()),
            ("WORDS", _) => words(&[&["good", "fair", "poor"], &*flavours()].concat()),
            ("COLUMN", _) => words(&COLUMNS),
            ("WHAT", "test") => words(&["forced", "plate"]),
            // Beer, wort and yeast are added too.
            ("WHAT", "add") => sugars().chain(self.lots()).collect(),
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

    fn first_words(&self, line_begins: bool) -> Vec<Completion> {
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

    /// The last day of the block, the one after it, and the last of the file.
    fn dates(&self) -> Vec<Completion> {
        let days = |placed: &Placed| placed.block.days.iter().filter_map(|day| day.date).max();
        let here = self.placed.and_then(days);
        let last = self.file.log.blocks.iter().filter_map(days).max();
        let next = here.and_then(|day| day.checked_add(1.day()).ok());
        let mut out: Vec<Completion> = Vec::new();
        for (day, detail) in [
            (next, "the day after"),
            (here, "the last day of this block"),
            (last, "the last day of this file"),
        ] {
            if let Some(day) = day.map(|day| day.to_string())
                && out.iter().all(|other| other.label != day)
            {
                out.push(self.completion(day, CompletionKind::Date, detail));
            }
        }
        out
    }

    /// Every lot, with what is left of it: yeast before beer, and what is used up last.
    fn lots(&self) -> Vec<Completion> {
        let mut lots = self.all_lots();
        lots.sort_by_key(|(is_empty, is_brew, _)| (*is_empty, *is_brew));
        lots.into_iter().map(|(.., completion)| completion).collect()
    }

    /// Every lot, whether nothing is left of it, and whether it is a brew.
    fn all_lots(&self) -> Vec<(bool, bool, Completion)> {
        let own = self.placed.and_then(|placed| placed.block.name.as_ref()).map(|name| folded(&name.text));
        let mut out: Vec<(bool, bool, Completion)> = Vec::new();
        for (path, file) in self.world.files() {
            for placed in &file.log.blocks {
                for mention in
                    crate::mentions(&placed.block).into_iter().filter(|m| m.role == crate::Role::DeclaresLot)
                {
                    let name = &*mention.name.text;
                    if own.as_deref() != Some(&folded(name))
                        && out.iter().all(|(.., known)| known.label != name)
                    {
                        let left = self.part.id(path).and_then(|_| self.left(name));
                        let (is_empty, detail) =
                            left.unwrap_or_else(|| (false, placed.block.kind.word().to_owned()));
                        let is_brew = self
                            .part
                            .season
                            .names
                            .lot(name)
                            .and_then(|lot| self.part.season.lot(lot))
                            .is_some_and(|lot| lot.kind == LotKind::Brew);
                        let completion = self.completion(name, CompletionKind::Lot, detail);
                        out.push((is_empty, is_brew, completion));
                    }
                }
            }
        }
        out
    }

    /// Whether nothing is left of a lot, and in words what is, where it is known.
    fn left(&self, name: &str) -> Option<(bool, String)> {
        let lot = self.part.season.figures(&[name.to_owned()]).into_iter().next()?;
        let figure = |wanted: &str| lot.figures.iter().find(|figure| figure.name == wanted);
        let mut parts = vec![lot.kind.to_owned()];
        if let Some(left) = figure("left") {
            parts.push(format!("{} left", measured_out(left, &self.part.season.settings)));
        }
        if let Some(share) = figure("live-share") {
            parts.push(format!("{} % live", significant(share.value, 2)));
        }
        Some((figure("left").is_some_and(|left| left.value <= 0.0), parts.join(", ")))
    }

    fn named(&self, wanted: &[crate::Role], kind: CompletionKind) -> Vec<Completion> {
        let mut names: Vec<String> = Vec::new();
        for (_, file) in self.world.files() {
            for placed in &file.log.blocks {
                let here = crate::mentions(&placed.block)
                    .into_iter()
                    .filter(|mention| wanted.contains(&mention.role));
                // The word under the cursor is no name yet.
                let here = here.filter(|m| {
                    !(std::ptr::eq(placed, self.placed.unwrap_or(placed))
                        && self.placed.is_some()
                        && m.name.span.shifted(placed.start).end == self.span.end)
                });
                names.extend(here.map(|mention| mention.name.text.to_string()));
            }
        }
        names.sort();
        names.dedup_by_key(|name| folded(name));
        names.into_iter().map(|name| self.completion(name, kind, "")).collect()
    }

    fn strains(&self) -> Vec<Completion> {
        self.named(&[crate::Role::DeclaresStrain, crate::Role::UsesStrain], CompletionKind::Strain)
    }

    fn vessels(&self) -> Vec<Completion> {
        self.named(&[crate::Role::DeclaresVessel, crate::Role::UsesVessel], CompletionKind::Vessel)
    }

    fn rules(&self) -> Vec<Completion> {
        let here: Vec<&str> = self.part.findings(self.path).iter().map(|finding| finding.rule).collect();
        let mut rules: Vec<&str> = barm_rules::rules().iter().map(|rule| rule.name()).collect();
        rules.sort_by_key(|rule| !here.contains(rule));
        let detail = |rule: &str| if here.contains(&rule) { "found in this file" } else { "" };
        rules.into_iter().map(|rule| self.completion(rule, CompletionKind::Rule, detail(rule))).collect()
    }

    /// The units of what stands in a place of such a name, and what else may be counted there.
    fn units(&self, entry: FirstWord, name: &str, counts: Option<&str>) -> Vec<Completion> {
        let named = counts.and_then(Unit::read);
        let measured = match name {
            "TEMPERATURE" => vec![Dimension::Temperature],
            "VOLUME" => vec![Dimension::Volume],
            "MASS" => vec![Dimension::Mass],
            "AMOUNT" => vec![Dimension::Volume, Dimension::Mass],
            "GRAVITY" => vec![Dimension::Gravity],
            "CO2" | "CARBONATION" => vec![Dimension::Carbonation],
            "PRESSURE" => vec![Dimension::Pressure],
            "DURATION" => vec![Dimension::Duration],
            "FLOW" => vec![Dimension::Flow],
            "RATE" => vec![Dimension::PitchRate, Dimension::MassPerVolume],
            "CELLS" => vec![Dimension::Cells],
            "CELLS/g" => vec![Dimension::CellsPerMass],
            "IBU" => vec![Dimension::Bitterness],
            "VALUE" => dimensions(entry.example),
            _ => Vec::new(),
        };
        let fits = |unit: &&Unit| named.map_or(measured.contains(&unit.dimension()), |named| named == **unit);
        let units = Unit::ALL.iter().filter(fits).filter(|unit| !unit.symbol().is_empty());
        let units = units
            .map(|unit| self.completion(unit.symbol(), CompletionKind::Unit, unit.dimension().described()));
        let containers = form::CONTAINERS.iter().filter(|_| entry.word == "pitch" && name == "AMOUNT");
        units.chain(containers.map(|word| self.word(word))).collect()
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
            if let Piece::Quantity(measure) = it
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

/// The words of the item that a line ends with, and whether one that begins now could begin the line; `None` where a day's
/// date is to be written.
fn items(line: &str) -> Option<(Vec<&str>, bool)> {
    let begun = line.trim_start();
    let mut first = after_clock(begun);
    let mut starts = first == begun;
    if let Some(day) = first.strip_prefix("on ") {
        let (_, rest) = day.trim_start().split_once(char::is_whitespace)?;
        (first, starts) = (after_clock(rest.trim_start()), false);
    }
    let mut parts = first.split(", ");
    let mut item: Vec<&str> = parts.next().unwrap_or("").split_whitespace().collect();
    for part in parts {
        let mut words = part.split_whitespace().peekable();
        let opens = item.first().and_then(|word| entry(word));
        let goes_on = words.peek().is_some_and(|word| entry(word).is_none())
            || opens.is_some_and(|entry| entry.word == "taste");
        if !goes_on {
            item.clear();
        } else if opens.is_some_and(|entry| entry.form.contains("[with "))
            && part.trim_start().starts_with(|c: char| c.is_ascii_digit() || c == '?')
        {
            // What is primed with may stand behind a comma, without its word.
            item.push("with");
        }
        item.extend(words);
        starts = false;
    }
    Some((item, starts))
}

/// A form with its capitals as places to fill in; what may be left out is left out.
fn snippet(form: &str) -> Option<String> {
    let mut depth = 0_u32;
    let mut out = String::new();
    let mut place = 0_u32;
    for word in form.split(' ').map(|word| word.trim_end_matches(',')) {
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
    }
    (place > 0).then_some(out)
}

/// Past the time that an item may begin with.
fn after_clock(item: &str) -> &str {
    let rest = item.trim_start_matches(|c: char| c.is_ascii_digit() || matches!(c, ':' | '~'));
    if rest.len() < item.len() && item.contains(':') && rest.starts_with([' ', '\t']) {
        rest.trim_start()
    } else {
        item
    }
}

fn is_comment(line: &str) -> bool {
    line.trim_start().starts_with('#')
        || line.contains(" # ")
        || first_word(line.trim_start()).eq_ignore_ascii_case("note")
}
