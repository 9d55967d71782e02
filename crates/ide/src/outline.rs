//! The shape of a log: its blocks and days, what folds, what grows around a cursor, files that it points to.

use barm_reckoning::folded;
use barm_syntax::Span;
use barm_syntax::ast::{Block, BlockKind, DayIndex, Kind};

use crate::at::{block_at, statement_at, touches};
use crate::piece;
use crate::world::{File, Path, World};

/// A block, a day, or a harvest.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Symbol {
    /// What it is.
    pub kind: SymbolKind,
    /// What it is called.
    pub name: String,
    /// Its title, or what it is of.
    pub detail: String,
    /// All of it.
    pub span: Span,
    /// Its name.
    pub name_span: Span,
    /// What lies in it.
    pub within: Vec<Symbol>,
}

/// What a symbol is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[expect(missing_docs, reason = "the words of the language")]
pub enum SymbolKind {
    Strain,
    Culture,
    Starter,
    Brew,
    Vessel,
    Harvest,
    Day,
}

/// The blocks of a file with their days.
#[must_use]
pub fn symbols(file: &File) -> Vec<Symbol> {
    let named = file.log.blocks.iter().filter_map(|placed| {
        let block = &*placed.block;
        let kind = match block.kind {
            BlockKind::Strain => SymbolKind::Strain,
            BlockKind::Culture => SymbolKind::Culture,
            BlockKind::Starter => SymbolKind::Starter,
            BlockKind::Brew => SymbolKind::Brew,
            BlockKind::Vessel => SymbolKind::Vessel,
            BlockKind::Unknown | BlockKind::Loose => return None,
        };
        let name = block.name.as_ref()?;
        let whole = Span::new(placed.start, placed.start + placed.block.len);
        let of: Vec<&str> = block.strains.iter().map(|strain| &*strain.text).collect();
        let detail = match block.title {
            Some(title) => title.shifted(placed.start).text(&file.text).trim_matches('"').to_owned(),
            None if of.is_empty() => String::new(),
            None => format!("of {}", of.join(" + ")),
        };
        Some(Symbol {
            kind,
            name: name.text.to_string(),
            detail,
            span: Span::new(whole.start, whole.start + length_without_blank(whole.text(&file.text))),
            name_span: name.span.shifted(placed.start),
            within: days(file, block, placed.start),
        })
    });
    named.collect()
}

fn length_without_blank(text: &str) -> u32 {
    crate::at::length(text.trim_end())
}

fn days(file: &File, block: &Block, start: u32) -> Vec<Symbol> {
    let mut out = Vec::new();
    for (index, day) in block.days.iter().enumerate() {
        let on = |day: Option<DayIndex>| day.is_some_and(|day| day.position() == index);
        let events = || block.statements.iter().filter(|statement| on(statement.day));
        let end = events().map(|statement| statement.span.end).max().unwrap_or(0).max(day.span.end);
        let harvests = events().filter_map(|statement| match &statement.kind {
            Kind::Harvest(harvest) => Some(Symbol {
                kind: SymbolKind::Harvest,
                name: harvest.name.text.to_string(),
                detail: harvest.amount.span.shifted(start).text(&file.text).to_owned(),
                span: statement.span.shifted(start),
                name_span: harvest.name.span.shifted(start),
                within: Vec::new(),
            }),
            _ => None,
        });
        let span = Span::new(day.span.start, end);
        out.push(Symbol {
            kind: SymbolKind::Day,
            name: day.date_span.shifted(start).text(&file.text).to_owned(),
            detail: String::new(),
            span: span.shifted(start),
            name_span: day.date_span.shifted(start),
            within: harvests.collect(),
        });
    }
    // `on` without a date would have no name to be listed under.
    out.retain(|symbol| !symbol.name.is_empty());
    out
}

/// Blocks and harvests of a whole workspace whose name holds the letters of `query` in their order.
#[must_use]
pub fn workspace_symbols(world: &World, query: &str) -> Vec<(Path, Symbol)> {
    let query = folded(query);
    let mut out = Vec::new();
    for (path, file) in world.files() {
        for mut symbol in symbols(file) {
            let within = std::mem::take(&mut symbol.within);
            let harvests = within.into_iter().flat_map(|day| day.within);
            for symbol in std::iter::once(symbol).chain(harvests) {
                if let Some(rank) = rank(&query, &symbol) {
                    out.push((rank, path.clone(), symbol));
                }
            }
        }
    }
    out.sort_by(|a, b| (a.0, &a.2.name, &a.1).cmp(&(b.0, &b.2.name, &b.1)));
    out.truncate(MOST_SYMBOLS);
    out.into_iter().map(|(_, path, symbol)| (path, symbol)).collect()
}

/// No list in an editor is read further than this.
const MOST_SYMBOLS: usize = 512;

/// How well a symbol fits: 0 for its whole name; `None` where it does not.
fn rank(query: &str, symbol: &Symbol) -> Option<u8> {
    let name = folded(&symbol.name);
    let holds = |text: &str| {
        let mut letters = text.chars();
        query.chars().all(|wanted| letters.any(|letter| letter == wanted))
    };
    match () {
        () if name == query => Some(0),
        () if name.starts_with(query) => Some(1),
        () if name.contains(query) => Some(2),
        () if holds(&name) => Some(3),
        () if holds(&folded(&symbol.detail)) => Some(4),
        () => None,
    }
}

/// Stretches of more than a line that an editor may fold: blocks and days.
#[must_use]
pub fn folds(file: &File) -> Vec<Span> {
    let of = |symbol: &Symbol| {
        let days = symbol.within.iter().map(|day| day.span);
        std::iter::once(symbol.span).chain(days.collect::<Vec<_>>())
    };
    let spans = symbols(file).iter().flat_map(of).collect::<Vec<_>>();
    let long = |span: &Span| span.text(&file.text).contains('\n');
    let mut spans: Vec<Span> = spans.into_iter().filter(long).collect();
    spans.extend(comments(file));
    spans.sort();
    spans
}

/// Runs of comment lines.
fn comments(file: &File) -> Vec<Span> {
    let mut out: Vec<Span> = Vec::new();
    let mut at = 0;
    let mut run: Option<(u32, u32, u32)> = None;
    for line in file.text.split_inclusive('\n') {
        let length = crate::at::length(line);
        if line.trim_start().starts_with('#') {
            let end = at + crate::at::length(line.trim_end());
            run = Some(run.map_or((at, end, 1), |(start, _, lines)| (start, end, lines + 1)));
        } else if let Some((start, end, lines)) = run.take()
            && lines > 1
        {
            out.push(Span::new(start, end));
        }
        at += length;
    }
    if let Some((start, end, _)) = run.filter(|(_, _, lines)| *lines > 1) {
        out.push(Span::new(start, end));
    }
    out
}

/// What grows around an offset: the word or quantity, the statement, the line, the day, the block, the file. Each span
/// holds the one before.
#[must_use]
pub fn selection(file: &File, offset: u32) -> Vec<Span> {
    let mut out: Vec<Span> = Vec::new();
    let whole = Span::new(0, crate::at::length(&file.text));
    if let Some(here) = crate::at::at(file, offset) {
        out.push(here.span);
    }
    if let Some(placed) = block_at(file, offset) {
        let inside = offset - placed.start;
        if let Some(statement) = statement_at(&placed.block, inside) {
            out.push(statement.span.shifted(placed.start));
        }
        out.extend(line(file, offset));
        let symbols = symbols(file);
        let block = symbols.iter().find(|symbol| touches(symbol.span, offset));
        let day = block.and_then(|block| block.within.iter().find(|day| touches(day.span, offset)));
        out.extend(day.map(|day| day.span));
        out.extend(block.map(|block| block.span));
        out.push(Span::new(placed.start, placed.start + placed.block.len));
    }
    out.push(whole);
    // Only what grows.
    let mut growing: Vec<Span> = Vec::new();
    for span in out {
        let grows = growing
            .last()
            .is_none_or(|last| span.start <= last.start && last.end <= span.end && span != *last);
        if grows && touches(span, offset) {
            growing.push(span);
        }
    }
    growing
}

fn line(file: &File, offset: u32) -> Option<Span> {
    let before = file.text.get(..offset as usize)?;
    let behind = file.text.get(offset as usize..)?;
    let start = before.rfind('\n').map_or(0, |at| at + 1);
    let text = before.get(start..)?;
    let start = start + text.len() - text.trim_start().len();
    let end = offset as usize + behind.find('\n').unwrap_or(behind.len());
    let end = start.max(file.text.get(..end)?.trim_end().len());
    Some(Span::of(start..end))
}

/// Files that a log points to, by their names as written.
#[must_use]
pub fn links(file: &File) -> Vec<(Span, String)> {
    let mut out = Vec::new();
    for placed in &file.log.blocks {
        for statement in &placed.block.statements {
            if let Kind::Readings(readings) = &statement.kind {
                out.push((readings.file.span.shifted(placed.start), readings.file.text.to_string()));
            }
        }
    }
    out
}

/// What a token is, for colouring.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
#[expect(missing_docs, reason = "what stands there")]
pub enum TokenKind {
    Keyword,
    Lot,
    Strain,
    Vessel,
    Quantity,
    Question,
    Text,
    Word,
    Comment,
}

/// A coloured stretch; it lies on one line.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Token {
    /// Where.
    pub span: Span,
    /// What.
    pub kind: TokenKind,
    /// Whether a name is given here.
    pub declares: bool,
}

/// The tokens of a file, in order of place, none overlapping another.
#[must_use]
pub fn tokens(file: &File) -> Vec<Token> {
    let mut out = Vec::new();
    for placed in &file.log.blocks {
        let mut here = block_tokens(
            &placed.block,
            Span::new(placed.start, placed.start + placed.block.len).text(&file.text),
        );
        here.sort();
        let mut end = 0;
        here.retain(|token| {
            let keep = token.span.start >= end && !token.span.is_empty();
            end = if keep { token.span.end } else { end };
            keep
        });
        out.extend(here.into_iter().map(|token| Token { span: token.span.shifted(placed.start), ..token }));
    }
    out
}

fn block_tokens(block: &Block, text: &str) -> Vec<Token> {
    use crate::mention::{Role, mentions};
    let mut out = Vec::new();
    let mut put = |span, kind| out.push(Token { span, kind, declares: false });
    let word = |start: u32, word: &str| Span::new(start, start + crate::at::length(word));
    if !matches!(block.kind, BlockKind::Loose | BlockKind::Unknown) {
        put(word(block.header.start, block.kind.word()), TokenKind::Keyword);
    }
    if let Some(title) = block.title {
        put(title, TokenKind::Text);
    }
    for day in &block.days {
        // An `on` may be forgotten.
        if day.span.start < day.date_span.start {
            put(word(day.span.start, "on"), TokenKind::Keyword);
        }
        put(day.date_span, if day.asked { TokenKind::Question } else { TokenKind::Quantity });
    }
    for statement in &block.statements {
        put(word(statement.span.start, crate::at::first_word(statement.span.text(text))), TokenKind::Keyword);
        piece::of_statement(statement, &mut |span, it| {
            put(
                span,
                match it {
                    piece::Piece::Quantity(..) | piece::Piece::Amount | piece::Piece::Date => {
                        TokenKind::Quantity
                    }
                    piece::Piece::Question => TokenKind::Question,
                    piece::Piece::Text => TokenKind::Text,
                },
            );
        });
    }
    for statement in block.statements.iter().filter(|statement| statement.time.is_some()) {
        out.extend(clock(text, statement.span.start).map(|span| Token {
            span,
            kind: TokenKind::Quantity,
            declares: false,
        }));
    }
    for mention in mentions(block) {
        let kind = match mention.role {
            Role::DeclaresLot | Role::UsesLot => TokenKind::Lot,
            Role::DeclaresStrain | Role::UsesStrain => TokenKind::Strain,
            Role::DeclaresVessel | Role::UsesVessel => TokenKind::Vessel,
            Role::MayUseLot => TokenKind::Word,
        };
        out.push(Token { span: mention.name.span, kind, declares: mention.role.declares() });
    }
    comment_tokens(block, text, &mut out);
    word_tokens(block, text, &mut out);
    out
}

/// The time that stands before a statement on its line.
fn clock(text: &str, statement: u32) -> Option<Span> {
    let before = text.get(..statement as usize)?.trim_end_matches([' ', '\t']);
    let start = before.trim_end_matches(|c: char| c.is_ascii_digit() || matches!(c, ':' | '~')).len();
    before.get(start..)?.contains(':').then(|| Span::of(start..before.len()))
}

/// Small words between what is measured and named: `at`, `to`, `of`.
const SMALL_WORDS: [&str; 14] = [
    "at",
    "for",
    "from",
    "in",
    "of",
    "on",
    "over",
    "rated",
    "to",
    "with",
    "columns",
    "squares",
    "generations",
    "or",
];

/// What of a header or a statement no other token tells of: `thick`, `oxygen`, `from top`, the `2` of `2 × 100 B`.
fn word_tokens(block: &Block, text: &str, out: &mut Vec<Token>) {
    out.sort();
    let mut words = Vec::new();
    let spans = block.statements.iter().map(|statement| statement.span);
    for span in std::iter::once(block.header).chain(spans) {
        let first = out.partition_point(|token| token.span.end <= span.start);
        let told = out.get(first..).unwrap_or(&[]).iter().map(|token| token.span);
        let told = told.take_while(|told| told.start < span.end).chain([Span::new(span.end, span.end)]);
        let mut at = span.start;
        for told in told {
            let gap = Span::new(at, told.start.max(at));
            words.extend(words_of(gap.text(text)).map(|(word, inside)| {
                let kind = match () {
                    () if word.starts_with(|c: char| c.is_ascii_digit()) => TokenKind::Quantity,
                    () if SMALL_WORDS.contains(&&*word.to_lowercase()) => TokenKind::Keyword,
                    () => TokenKind::Word,
                };
                Token { span: inside.shifted(gap.start), kind, declares: false }
            }));
            at = told.end.max(at);
        }
    }
    out.extend(words);
}

/// The words and numbers of a text.
fn words_of(text: &str) -> impl Iterator<Item = (&str, Span)> {
    let is_part = |c: char| c.is_alphanumeric() || matches!(c, '-' | '.');
    let mut at = 0;
    text.split_inclusive(move |c: char| !is_part(c)).filter_map(move |piece| {
        let start = at;
        at += piece.len();
        let word = piece.trim_end_matches(|c: char| !is_part(c));
        word.starts_with(char::is_alphanumeric).then(|| (word, Span::of(start..start + word.len())))
    })
}

/// Comments: what stands behind a `#` and in no statement.
fn comment_tokens(block: &Block, text: &str, out: &mut Vec<Token>) {
    let taken = |at: u32| {
        block.statements.iter().any(|statement| statement.span.contains(at))
            || block.title.is_some_and(|title| title.contains(at))
    };
    let mut start = 0;
    for line in text.split_inclusive('\n') {
        let content = line.trim_end();
        let signs = content.match_indices('#').map(|(at, _)| at);
        let spaced = |at: &usize| {
            *at == 0 || content.get(..*at).is_some_and(|before| before.ends_with(char::is_whitespace))
        };
        if let Some(at) = signs
            .filter(spaced)
            .find(|at| !taken(start + crate::at::length(content.get(..*at).unwrap_or(""))))
        {
            let from = start + crate::at::length(content.get(..at).unwrap_or(""));
            let span = Span::new(from, start + crate::at::length(content));
            out.push(Token { span, kind: TokenKind::Comment, declares: false });
        }
        start += crate::at::length(line);
    }
}
