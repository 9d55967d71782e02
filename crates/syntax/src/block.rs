//! Reads one block, line by line and item by item.

use std::borrow::Cow;
use std::ops::Range;

use jiff::civil::Date;

use crate::ast::{Block, BlockKind, Clock, Covers, Day, DayIndex, Kind, Lost, Statement};
use crate::cut::{BOM, Conflicts, Mark, is_space, mark, meant_block, opens};
use crate::edited::{Known, KnownLine};
use crate::explain::{self, Refusal};
use crate::grammar::{self, Pieces, Rule};
use crate::lines::{Line, Lines};
use crate::place::{Behind, Item, Place, item_end, looks_like_a_clock, skip_spaces};
use crate::sink::Sink;
use crate::value::Values;
use crate::words::{Means, Word, first_word, look_up};
use crate::{Edit, Fix, Problem, ProblemKind, Span, accept, date, item, sink};

/// Longer lines are not read.
const LINE_LENGTH: usize = 64 * 1024;
/// So many faults of one item are looked for behind one another.
const FAULTS_IN_A_ROW: usize = 4;

/// Reads one block with room for so many problems; what is `known` of it from before an edit is taken over.
pub(crate) fn read(text: &str, first: bool, room: usize, known: Option<Known<'_>>) -> Block {
    let text = plain_spaces(text);
    let mut reader = Reader::new(&text, room, known);
    let start = if first && text.starts_with(BOM) { BOM.len_utf8() } else { 0 };
    reader.lines(start);
    reader.finish()
}

/// Spaces for tabs and hard spaces, as many bytes of them. The grammar knows no others.
pub(crate) fn plain_spaces(text: &str) -> Cow<'_, str> {
    let odd = [('\t', " "), ('\u{a0}', "  "), ('\u{202f}', "   ")];
    odd.into_iter().fold(Cow::Borrowed(text), |text, (space, plain)| {
        if text.contains(space) { text.replace(space, plain).into() } else { text }
    })
}

struct Reader<'t> {
    text: &'t str,
    known: Option<Known<'t>>,
    block: Block,
    sink: Sink,
    /// Acceptances that stood alone and wait for the next line.
    waiting: Vec<usize>,
    has_returns: bool,
    /// The first day with a readable pitch, that `day 7` counts from.
    pitched: Option<Date>,
    /// Said once a block: there is no header, no day, a stray merge mark.
    said_loose: bool,
    said_undated: bool,
    said_mark: bool,
}

impl<'t> Reader<'t> {
    fn new(text: &'t str, room: usize, known: Option<Known<'t>>) -> Self {
        let block = Block {
            kind: BlockKind::Loose,
            len: Span::of(0..text.len()).end,
            header: Span::default(),
            name: None,
            title: None,
            strains: Vec::new(),
            days: Vec::new(),
            statements: Vec::new(),
            acceptances: Vec::new(),
            problems: Vec::new(),
            problems_left_out: 0,
            lost: Vec::new(),
            in_conflict: false,
        };
        Self {
            text,
            known,
            block,
            sink: Sink::new(room),
            waiting: Vec::new(),
            has_returns: text.contains('\r'),
            pitched: None,
            said_loose: false,
            said_undated: false,
            said_mark: false,
        }
    }

    fn finish(mut self) -> Block {
        for waiting in self.waiting {
            if let Some(acceptance) = self.block.acceptances.get_mut(waiting) {
                acceptance.covers = Covers::NextHeader;
            }
        }
        (self.block.problems, self.block.problems_left_out) = self.sink.finish();
        self.block.statements.shrink_to_fit();
        self.block.days.shrink_to_fit();
        self.block.strains.shrink_to_fit();
        self.block.acceptances.shrink_to_fit();
        self.block.lost.shrink_to_fit();
        self.block
    }

    fn content(&self, line: Line) -> &'t str {
        self.text.get(line.range()).unwrap_or("")
    }

    fn lines(&mut self, from: usize) {
        let body = self.text.get(from..).unwrap_or("");
        let mut conflicts = Conflicts::default();
        let mut skip_to = 0;
        let mut first = true;
        for line in Lines::of(body) {
            let line = Line { start: line.start + from, end: line.end + from, next: line.next + from };
            if line.start < skip_to {
                continue;
            }
            self.sink.next_line();
            let content = self.content(line);
            if let Some(mark) = mark(content) {
                match conflicts.end(self.text, line.next).filter(|_| mark == Mark::Ours) {
                    Some(end) => skip_to = self.conflict(line, end),
                    None => self.stray_mark(line, mark),
                }
            } else if let Some(kind) = first.then(|| opens(content)).flatten() {
                self.header(line, kind);
            } else if first || !self.is_as_before(line) {
                self.line(line);
            }
            first = false;
        }
    }

    // --- Merge marks

    /// A conflict up to `end`. Returns where reading goes on.
    fn conflict(&mut self, line: Line, end: usize) -> usize {
        self.block.in_conflict = true;
        let text = self.text.get(..end).unwrap_or("");
        let inside = text.get(line.start..).unwrap_or("");
        let at = |line: Line| Span::of(line.range());
        self.sink.report(|| {
            let message = "two versions of the log meet here: a merge was not finished";
            let problem = Problem::new(ProblemKind::MergeMarks, at(line), message).help(
                "nothing between the marks is reckoned; keep one side, or both by hand, and delete the marks",
            );
            explain::header::conflict_fixes(problem, inside, line.start)
        });
        // With a header on either side nobody knows whose the lines below the conflict are.
        let has_header =
            Lines::of(inside).any(|line| inside.get(line.range()).is_some_and(|l| opens(l).is_some()));
        if has_header { self.text.len() } else { end }
    }

    fn stray_mark(&mut self, line: Line, mark: Mark) {
        self.block.in_conflict |= matches!(mark, Mark::Ours | Mark::Theirs);
        if std::mem::replace(&mut self.said_mark, true) {
            return;
        }
        self.sink.report(|| {
            let whole = Span::of(line.start..line.next);
            let fix = Fix::replace(whole, "").titled("delete the mark");
            Problem::new(ProblemKind::MergeMarks, Span::of(line.range()), "a mark that a merge left behind")
                .help("delete it once both sides are as they should be")
                .fix(fix)
        });
    }

    // --- Headers

    fn header(&mut self, line: Line, kind: BlockKind) {
        let content = self.content(line);
        let start = content.len() - content.trim_start_matches(is_space).len();
        let (end, behind) = item_end(content, start, Some(Means::Taste));
        let text = content.get(start..end).unwrap_or("");
        let word = first_word(text);
        let at = line.start + start;
        self.block.kind = kind;
        self.block.header = Span::of(at..at + text.len());
        if content.len() > LINE_LENGTH {
            self.too_long(line);
            return;
        }
        let is_unknown = kind == BlockKind::Unknown;
        let meant = is_unknown.then(|| meant_block(word)).flatten();
        if is_unknown {
            self.sink.report(|| explain::header::misspelt_block(word, Span::of(at..at + word.len()), meant));
        }
        let rest = text.get(word.len()..).unwrap_or("");
        let rest_at = at + word.len();
        if let Ok(pieces) = grammar::read(Rule::header, rest) {
            self.header_pieces(kind, pieces, rest_at);
        }
        if self.block.name.is_none() && self.sink.is_empty() {
            let span = Span::of(at..at + text.len());
            self.sink.report(|| explain::header::nameless(kind, word, span));
        }
        if kind == BlockKind::Unknown {
            let name = self.block.name.clone();
            self.lose(Lost { span: self.block.header, word: meant.map(BlockKind::word), name });
        }
        if let Behind::Comment(comment) = behind {
            self.comment(line, comment, Covers::Span(Span::new(0, self.block.len)));
        }
    }

    fn header_pieces(&mut self, kind: BlockKind, pieces: Pieces<'_>, at: usize) {
        let mut values =
            Values { start: self.block.header.start, at, word: kind.word(), sink: &mut self.sink };
        for piece in pieces {
            let span = values.span(&piece);
            match piece.as_rule() {
                Rule::name => self.block.name = values.name(&piece),
                Rule::quote if self.block.title.is_none() => self.block.title = Some(span),
                Rule::strains if kind == BlockKind::Culture || kind == BlockKind::Unknown => {
                    self.block.strains = Pieces::of(piece).filter_map(|name| values.name(&name)).collect();
                }
                Rule::strains => {
                    values.sink.report(|| explain::header::of_no_culture(kind, span));
                }
                Rule::quote | Rule::rest => {
                    let plain = self.block.title.is_none() && self.block.strains.is_empty();
                    let named = self.block.name.as_ref();
                    values.sink.report(|| explain::header::rest(kind, named, plain, span, piece.as_str()));
                }
                _ => {}
            }
        }
    }

    // --- Lines

    /// Takes over what was read of a line before an edit elsewhere; whether that could be.
    fn is_as_before(&mut self, line: Line) -> bool {
        if !self.waiting.is_empty() {
            return false;
        }
        let kind = self.block.kind;
        let known = self.known.as_mut().filter(|known| known.is_plain(kind));
        let Some(before) = known.and_then(|known| known.line(line)) else { return false };
        let counts = (self.block.days.len(), self.block.statements.len());
        let is_taken = self.take_over(&before).is_some();
        if !is_taken {
            self.block.days.truncate(counts.0);
            self.block.statements.truncate(counts.1);
        }
        is_taken
    }

    fn take_over(&mut self, before: &KnownLine<'_>) -> Option<()> {
        let by = before.by;
        if let Some(day) = before.day {
            let (span, date_span) = (day.span.moved(by)?, day.date_span.moved(by)?);
            self.block.days.push(Day { span, date_span, ..*day });
        }
        let is_dated = self.block.days.last().is_none_or(|day| day.date.is_some() || day.asked);
        let day = DayIndex::last_of(self.block.days.len());
        for statement in before.statements {
            if !is_dated || day.is_some() != statement.day.is_some() {
                return None;
            }
            let (span, kind) = (statement.span.moved(by)?, statement.kind.moved(by)?);
            self.put(Statement { span, day, time: statement.time, kind });
        }
        Some(())
    }

    /// Notes what tells nothing now. So many that there is no room for more are not told singly either.
    fn lose(&mut self, lost: Lost) {
        if self.block.lost.len() < sink::IN_A_FILE {
            self.block.lost.push(lost);
        }
    }

    /// The same, of an item.
    fn lose_item(&mut self, place: &Place<'_>, word: Option<&'static Word>) {
        let behind = place.at + first_word(place.text()).len();
        let name = word
            .filter(|word| word.means == Means::Harvest)
            .and_then(|_| item::first_name(place.content, behind, place.line_start));
        self.lose(Lost { span: place.span(), word: word.map(|word| word.word), name });
    }

    fn too_long(&mut self, line: Line) {
        self.lose(Lost { span: Span::of(line.range()), word: None, name: None });
        self.sink.report(|| {
            let message = format!("a line of more than {} KiB is not read", LINE_LENGTH / 1024);
            Problem::new(ProblemKind::UnreadableLine, Span::of(line.start..line.start), message)
        });
    }

    /// A line that is no header and no mark.
    fn line(&mut self, line: Line) {
        let mut line = line;
        if line.end - line.start > LINE_LENGTH {
            self.waiting.clear();
            return self.too_long(line);
        }
        if self.has_returns {
            match self.returns(line) {
                Some(cut) => line = cut,
                None => return,
            }
        }
        let content = self.content(line);
        let start = content.len() - content.trim_start_matches(is_space).len();
        match content.as_bytes().get(start) {
            None => return,
            Some(b'#') => {
                self.waiting.push(self.block.acceptances.len());
                self.comment(line, start, Covers::NextHeader);
                self.waiting.truncate(self.block.acceptances.len());
                return;
            }
            Some(_) => {}
        }
        let covered = Covers::Span(Span::of(line.range()));
        for waiting in self.waiting.drain(..) {
            if let Some(acceptance) = self.block.acceptances.get_mut(waiting) {
                acceptance.covers = covered;
            }
        }
        let word = first_word(content.get(start..).unwrap_or(""));
        let (at, time) = if word.eq_ignore_ascii_case("on") {
            self.day(line, start, start + word.len())
        } else if explain::time::is_day_without_on(content.get(start..).unwrap_or(""), self.context()) {
            self.day(line, start, start)
        } else {
            self.clock(line, start)
        };
        self.items(line, at, time);
    }

    /// Lone carriage returns: at a line's end they are cut off, within it the line cannot be read.
    fn returns(&mut self, line: Line) -> Option<Line> {
        let content = self.content(line);
        let Some(at) = content.find('\r') else { return Some(line) };
        self.sink.report(|| explain::header::lone_return(content, line.start, at));
        let cut = content.trim_end_matches('\r');
        if cut.contains('\r') {
            self.lose(Lost { span: Span::of(line.range()), word: None, name: None });
            return None;
        }
        Some(Line { end: line.start + cut.len(), ..line })
    }

    fn comment(&mut self, line: Line, at: usize, covers: Covers) {
        let comment = self.content(line).get(at..).unwrap_or("");
        if let Some(acceptance) = accept::read(comment, line.start + at, covers, &mut self.sink) {
            self.block.acceptances.push(acceptance);
        }
    }

    /// What is known of dates where one is missing.
    fn context(&self) -> explain::time::Context {
        let before = self.block.days.iter().rev().find_map(|day| day.date);
        explain::time::Context { before, pitched: self.pitched, months: false }
    }

    /// `on DATE [HH:MM]`: opens a day; returns where the items begin, and the time. An `on` that was forgotten takes no
    /// room: the day is read all the same, or what stands below would go to the day above.
    fn day(&mut self, line: Line, start: usize, at: usize) -> (usize, Option<Clock>) {
        let content = self.content(line);
        let rest = content.get(at..).unwrap_or("");
        let lead = skip_spaces(rest, 0);
        let text = rest.get(lead..).unwrap_or("");
        let mut day = Day {
            span: Span::of(line.start + start..line.start + at),
            date: None,
            date_span: Span::default(),
            asked: false,
            about: false,
            time: None,
        };
        let place = |range: Range<usize>| {
            let from = line.start + at + lead;
            Span::of(from + range.start..from + range.end)
        };
        let is_question =
            text.strip_prefix('?').is_some_and(|rest| rest.is_empty() || rest.starts_with(is_space));
        let has_on = at > start;
        let length = if let Some(written) = date::day(text).filter(|_| lead > 0 || !has_on) {
            let length = written.range.end;
            (day.about, day.date_span) = (written.about, place(written.range.clone()));
            match written.date {
                Ok(date) => {
                    day.date = Some(date);
                    if !has_on {
                        let whole = place(0..length);
                        self.sink.report(|| explain::time::no_on(whole, text.get(..length).unwrap_or("")));
                    }
                }
                Err(fault) => self.sink.report(|| {
                    let date = text.get(written.range).unwrap_or("");
                    explain::time::bad_date(fault, day.date_span, date, explain::time::Context::default())
                }),
            }
            length
        } else if is_question && lead > 0 {
            (day.asked, day.date_span) = (true, place(0..1));
            1
        } else {
            let length = explain::time::bad_day_length(text);
            day.date_span = place(0..length);
            let context = self.context();
            self.sink.report(|| match text.get(..length).unwrap_or("") {
                "" => explain::time::no_date(day.span),
                text => {
                    let problem = explain::time::bad_date(date::BadDate::Form, day.date_span, text, context);
                    if has_on { problem } else { explain::time::with_on(problem) }
                }
            });
            length
        };
        let end = if length > 0 { at + lead + length } else { at };
        day.span = Span::of(line.start + start..line.start + end);
        let next = skip_spaces(content, end);
        let (next, time) = self.clock(line, next);
        if let Some(time) = time {
            day.time = Some(time);
            let clock_end = line.start + content.get(..next).unwrap_or("").trim_end_matches(is_space).len();
            day.span = Span::of(line.start + start..clock_end);
        }
        self.block.days.push(day);
        (next, time)
    }

    /// A time before the items; returns where they begin.
    fn clock(&mut self, line: Line, at: usize) -> (usize, Option<Clock>) {
        let content = self.content(line);
        let rest = content.get(at..).unwrap_or("");
        if !rest.starts_with(|c: char| c.is_ascii_digit() || c == '~') {
            return (at, None);
        }
        if let Some(written) = date::clock(rest) {
            let behind = rest.get(written.length..).unwrap_or("");
            let half = first_word(behind.trim_start_matches(is_space));
            let is_half = half.eq_ignore_ascii_case("am") || half.eq_ignore_ascii_case("pm");
            if let Some(minutes) = written.minutes.filter(|_| !is_half) {
                let clock = Clock { minutes, about: written.about };
                return (skip_spaces(content, at + written.length), Some(clock));
            }
        }
        match explain::time::bad_clock(rest, Span::of(line.start + at..line.end).start) {
            Some((problem, length)) => {
                self.sink.report(|| problem);
                (skip_spaces(content, at + length), None)
            }
            None => (at, None),
        }
    }

    // --- Items

    fn place(&self, line: Line, at: usize, end: usize, behind: Behind) -> Place<'t> {
        let with_return = self.text.get(line.end..line.next).is_some_and(|end| end.starts_with('\r'));
        let newline = if with_return { "\r\n" } else { "\n" };
        Place { content: self.content(line), line_start: line.start, at, end, behind, newline }
    }

    fn items(&mut self, line: Line, mut at: usize, time: Option<Clock>) {
        let content = self.content(line);
        let mut before = None;
        loop {
            at = skip_spaces(content, at);
            let behind = match content.as_bytes().get(at) {
                None => return,
                Some(b'#') if content.get(..at).is_some_and(|before| before.ends_with(is_space)) => {
                    Behind::Comment(at)
                }
                Some(sign) if *sign == b',' || (*sign == b';' && is_behind_a_comma(content, at)) => {
                    let place = self.place(line, at, at + 1, Behind::Nothing);
                    self.sink.report(|| explain::idle_comma(&place));
                    at += 1;
                    continue;
                }
                Some(_) => self.item(line, at, time, &mut before),
            };
            match behind {
                Behind::Comma(next) => {
                    let before = content.get(..next).unwrap_or("").trim_end_matches(is_space);
                    if let Some(before) = before.strip_suffix(';') {
                        let span = Span::of(line.start + before.len()..line.start + next);
                        self.sink.report(|| explain::semicolon(span, next < content.len()));
                    }
                    at = next;
                }
                Behind::Comment(comment) => {
                    return self.comment(line, comment, Covers::Span(Span::of(line.range())));
                }
                Behind::Nothing => return,
            }
        }
    }

    /// Reads the item that begins at `at`; returns what stands behind it. `before` is what the item before it on the
    /// line says.
    fn item(&mut self, line: Line, at: usize, time: Option<Clock>, before: &mut Option<Means>) -> Behind {
        let content = self.content(line);
        let first = first_word(content.get(at..).unwrap_or(""));
        let Some(word) = look_up(first) else {
            return self.unknown(line, at, before.take());
        };
        *before = Some(word.means);
        let (end, behind) = item_end(content, at, Some(word.means));
        let mut item = Item { place: self.place(line, at, end, behind), word, time };
        let Some(rule) = word.rule else {
            match word.means {
                Means::Taste => self.taste(&item),
                _ => self.statement(&item, Kind::Note),
            }
            return behind;
        };
        let word_end = at + first.len();
        if matches!(behind, Behind::Comma(_))
            && let Some(joined) = explain::joined(&item, rule, word_end)
        {
            for comma in &joined.commas {
                self.sink.report(|| explain::slipped_comma(&item, *comma));
            }
            (item.place.end, item.place.behind) = (joined.end, joined.behind);
            if let (lead, Ok(pieces)) = grammar::read_behind(rule, &joined.text) {
                self.push(&item, pieces, word_end + lead);
            }
            return joined.behind;
        }
        if let Some(kind) = self.known.as_ref().and_then(|known| known.item(line, item.place.span())) {
            self.statement(&item, kind);
            return behind;
        }
        let (lead, read) = grammar::read_behind(rule, content.get(word_end..end).unwrap_or(""));
        match read {
            Ok(pieces) => {
                self.push(&item, pieces, word_end + lead);
                behind
            }
            Err(column) => self.refused(&mut item, rule, word_end, word_end + lead + column),
        }
    }

    /// Turns an item that its rule has read into a statement.
    fn push(&mut self, item: &Item<'_>, pieces: Pieces<'_>, rest_at: usize) {
        let at = item.place.line_start + rest_at;
        let mut values =
            Values { start: item.place.span().start, at, word: item.word.word, sink: &mut self.sink };
        match values.kind(item.word, pieces) {
            Some(kind) => self.statement(item, kind),
            None => self.lose_item(&item.place, Some(item.word)),
        }
    }

    /// Puts a statement in, if it may stand here.
    fn statement(&mut self, item: &Item<'_>, kind: Kind) {
        let day = DayIndex::last_of(self.block.days.len());
        if self.block.kind == BlockKind::Loose && !matches!(kind, Kind::Note) {
            if !std::mem::replace(&mut self.said_loose, true) {
                self.sink.report(|| explain::loose(item));
            }
            return;
        }
        if !item.word.places.allow(self.block.kind) {
            self.sink.report(|| explain::misplaced(item, self.block.kind));
            self.lose_item(&item.place, Some(item.word));
            return;
        }
        if let Some(problem) = explain::loses_otherwise(&kind, self.block.kind) {
            self.sink.report(|| problem);
            self.lose_item(&item.place, Some(item.word));
            return;
        }
        if kind.is_event() && day.is_none() {
            self.lose_item(&item.place, Some(item.word));
            if !std::mem::replace(&mut self.said_undated, true) {
                self.sink.report(|| explain::undated(item));
            }
            return;
        }
        // A day that no calendar has dates nothing.
        if kind.is_event() && self.block.days.last().is_some_and(|day| day.date.is_none() && !day.asked) {
            self.lose_item(&item.place, Some(item.word));
        }
        self.put(Statement { span: item.place.span(), day, time: item.time, kind });
    }

    fn put(&mut self, statement: Statement) {
        if self.pitched.is_none() && matches!(statement.kind, Kind::Pitch(_)) {
            self.pitched = self.block.days.last().and_then(|day| day.date);
        }
        self.block.statements.push(statement);
    }

    fn taste(&mut self, item: &Item<'_>) {
        let words = item.place.text().get(item.word.word.len()..).unwrap_or("");
        let mut parts = Vec::new();
        let mut at = item.place.line_start + item.place.at + item.word.word.len();
        for part in words.split(',') {
            let words = part.trim_matches(is_space);
            let start = at + part.len() - part.trim_start_matches(is_space).len();
            let span = Span::of(start..start + words.len());
            if !words.is_empty() {
                parts.push(span);
                if explain::is_an_event(words) {
                    self.sink.report(|| explain::event_in_taste(item, words, span));
                }
            }
            at += part.len() + 1;
        }
        if parts.is_empty() {
            self.sink.report(|| explain::generic(item, item.place.end));
            return;
        }
        self.statement(item, Kind::Taste(parts.into()));
    }

    /// An item whose first word is unknown.
    fn unknown(&mut self, line: Line, at: usize, before: Option<Means>) -> Behind {
        let content = self.content(line);
        let rest = content.get(at..).unwrap_or("");
        let (end, behind) = item_end(content, at, None);
        let place = self.place(line, at, end, behind);
        if looks_like_a_clock(rest.trim_start_matches('~')) {
            let length = rest.find(is_space).unwrap_or(rest.len());
            self.sink.report(|| explain::time::time_in_line(&place, length));
            return Behind::Comma(at + length);
        }
        if !self.sink.has_room() {
            self.lose_item(&place, None);
            return behind;
        }
        let mut unknown = explain::unknown(&place, self.block.kind, before, &mut self.sink);
        if unknown.taken > 0 {
            self.sink.put(unknown.problem);
            return Behind::Comma(at + unknown.taken);
        }
        let edit = explain::only_edit(&unknown.problem);
        let meant = edit.as_ref().and_then(|edit| explain::begins_with(&place, edit));
        // What the word meant takes of the line is lost with it, and told once.
        let (end, behind) = meant.map_or((end, behind), |meant| item_end(content, at, Some(meant.means)));
        let place = self.place(line, at, end, behind);
        self.lose_item(&place, meant);
        if meant.is_none() && explain::may_be_a_note(place.text()) {
            let note = explain::keep_as_note(&place);
            if !unknown.problem.fixes.contains(&note) {
                unknown.problem = unknown.problem.fix(note);
            }
        }
        self.sink.put(unknown.problem);
        if let Some(edit) = edit {
            self.look_further(&place, edit);
        }
        behind
    }

    /// An item that its rule refuses at a column of the line; returns what stands behind it.
    fn refused(&mut self, item: &mut Item<'_>, rule: Rule, word_end: usize, column: usize) -> Behind {
        let behind = item.place.behind;
        if !self.sink.has_room() {
            self.lose_item(&item.place, Some(item.word));
            return behind;
        }
        match explain::refused(item, rule, word_end, column, self.block.name.as_ref()) {
            Refusal::Split { problem, at, end } => {
                self.sink.put(problem);
                item.place.end = end;
                let content = item.place.content;
                let behind_word = content.get(word_end..end).unwrap_or("");
                if let (lead, Ok(pieces)) = grammar::read_behind(rule, behind_word) {
                    self.push(item, pieces, word_end + lead);
                }
                if content.get(at..).is_some_and(|rest| rest.starts_with('#')) {
                    Behind::Comment(at)
                } else {
                    Behind::Comma(at)
                }
            }
            Refusal::Problem(problem, further) => {
                self.lose_item(&item.place, Some(item.word));
                self.sink.put(problem);
                if let Some(edit) = further {
                    self.look_further(&item.place, edit);
                }
                behind
            }
        }
    }

    /// What else is wrong with an item, once `edit` has mended what was found: one bad word hides no other.
    fn look_further(&mut self, place: &Place<'_>, edit: Edit) {
        let mut mended = Mended::new(place);
        let mut next = Some(edit);
        for _ in 0..FAULTS_IN_A_ROW {
            let Some(()) = next.take().and_then(|edit| mended.apply(&edit)) else { return };
            let place = Place { content: &mended.content, end: mended.end, ..*place };
            let first = first_word(place.text());
            let Some((word, rule)) = look_up(first).and_then(|word| Some((word, word.rule?))) else { return };
            let item = Item { place, word, time: None };
            let word_end = place.at + first.len();
            let (lead, read) =
                grammar::read_behind(rule, place.content.get(word_end..place.end).unwrap_or(""));
            match read {
                Ok(pieces) => {
                    let mut sink = Sink::new(FAULTS_IN_A_ROW);
                    let mut values = Values {
                        start: place.span().start,
                        at: place.line_start + word_end + lead,
                        word: word.word,
                        sink: &mut sink,
                    };
                    // What it says once mended is a guess, and no statement.
                    let _ = values.kind(word, pieces);
                    for problem in sink.finish().0 {
                        mended.report(problem, &mut self.sink);
                    }
                }
                Err(column) => {
                    let refusal = explain::refused(
                        &item,
                        rule,
                        word_end,
                        word_end + lead + column,
                        self.block.name.as_ref(),
                    );
                    if let Refusal::Problem(problem, further) = refusal
                        && further.is_some()
                    {
                        next = further;
                        mended.report(problem, &mut self.sink);
                    }
                }
            }
        }
    }
}

/// Whether nothing stands between a place and the comma before it.
fn is_behind_a_comma(content: &str, at: usize) -> bool {
    content.get(..at).is_some_and(|before| before.trim_end_matches(is_space).ends_with([',', ';']))
}

/// A line in which an item is mended bit by bit, to see what else is wrong with it.
struct Mended {
    content: String,
    line_start: usize,
    at: usize,
    end: usize,
    /// Where the edits lie now, and by how many bytes each moved what stands behind it.
    moved: Vec<(Span, i64)>,
}

impl Mended {
    fn new(place: &Place<'_>) -> Self {
        Self {
            content: place.content.to_owned(),
            line_start: place.line_start,
            at: place.at,
            end: place.end,
            moved: Vec::new(),
        }
    }

    /// Makes an edit; `None` if it reaches out of the item.
    fn apply(&mut self, edit: &Edit) -> Option<()> {
        let start = (edit.span.start as usize).checked_sub(self.line_start)?;
        let end = (edit.span.end as usize).checked_sub(self.line_start)?;
        if start < self.at
            || end > self.end
            || !self.content.is_char_boundary(start)
            || !self.content.is_char_boundary(end)
        {
            return None;
        }
        self.content.replace_range(start..end, &edit.text);
        self.end = self.end + edit.text.len() - (end - start);
        let grown = i64::try_from(edit.text.len()).ok()? - i64::from(edit.span.len());
        let place = Span::of(self.line_start + start..self.line_start + start + edit.text.len());
        self.moved.push((place, grown));
        Some(())
    }

    /// A place in the line as it was written; `None` where an edit touched it.
    fn written(&self, span: Span) -> Option<Span> {
        let mut span = span;
        for (edited, grown) in self.moved.iter().rev() {
            if span.start >= edited.end {
                let back = |at: u32| u32::try_from(i64::from(at) - grown).ok();
                span = Span::new(back(span.start)?, back(span.end)?);
            } else if span.end > edited.start {
                return None;
            }
        }
        Some(span)
    }

    fn report(&self, mut problem: Problem, sink: &mut Sink) {
        let Some(span) = self.written(problem.span) else { return };
        problem.span = span;
        problem.fixes.retain_mut(|fix| {
            fix.edits.iter_mut().all(|edit| self.written(edit.span).map(|span| edit.span = span).is_some())
        });
        sink.report(|| problem);
    }
}
