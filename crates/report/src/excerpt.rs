//! The few lines of a log that a finding is about, ready to print.
//!
//! codespan-reporting prints a source as it is: raw control characters, and lines of any length. So it is never given
//! the log, but an excerpt made for one finding: the lines that its labels stand on, each cut to a window around its
//! place where it is long, with everything unsafe shown as a picture. Labels are moved along, so the carets stay under
//! what they mean, and the line and column that are printed are those of the log.

use std::ops::Range;

use barm_reckoning::{FileId, Place};
use codespan_reporting::diagnostic::{Label, LabelStyle};
use codespan_reporting::files::{Error, Files as CodespanFiles};

use crate::place::Files;
use crate::screen;

/// A line wider than this is cut.
const WIDEST: usize = 200;
/// So wide is the window that is left of it,
const WINDOW: usize = 120;
/// and so much of that stands before the place.
const BEFORE: usize = 40;

/// A place to be marked, and what to say there.
pub(crate) struct Mark<'a> {
    pub(crate) place: Place,
    pub(crate) style: LabelStyle,
    pub(crate) text: &'a str,
}

/// The lines that the marks of one finding stand on.
pub(crate) struct Excerpt {
    pages: Vec<Page>,
}

/// The lines of one file.
struct Page {
    file: FileId,
    name: String,
    text: String,
    /// Sorted by number.
    lines: Vec<Line>,
}

struct Line {
    /// Counted from 0.
    number: u32,
    /// Its bytes in the page's text, its line end included.
    range: Range<usize>,
    /// The column, from 1, of its first shown character.
    first_column: usize,
    /// Where each shown character begins: (in the log, in the page's text).
    characters: Vec<(usize, usize)>,
}

impl Line {
    /// From an offset in the log to one in the page; what lies beyond the window stands at its edge.
    fn shown(&self, offset: usize) -> usize {
        let at = self.characters.partition_point(|&(original, _)| original < offset);
        self.characters.get(at).map_or(self.range.end.saturating_sub(1), |&(_, shown)| shown)
    }
}

impl Excerpt {
    /// Makes the excerpt, and the labels in it. A mark that runs over several lines is shown on its first.
    pub(crate) fn new(files: &Files<'_>, marks: &[Mark<'_>]) -> (Self, Vec<Label<usize>>) {
        let mut out = Self { pages: Vec::new() };
        for mark in marks {
            let file = mark.place.file;
            if out.pages.iter().all(|page| page.file != file) {
                out.pages.push(Page::new(files, file, marks));
            }
        }
        let labels = marks.iter().filter_map(|mark| out.label(files, mark)).collect();
        (out, labels)
    }

    fn label(&self, files: &Files<'_>, mark: &Mark<'_>) -> Option<Label<usize>> {
        let Place { file, span } = mark.place;
        let number = files.line(file, span.start);
        let range = files.line_range(file, number);
        let id = self.pages.iter().position(|page| page.file == file)?;
        let line = self.pages.get(id)?.line(number as usize)?;
        let shown = line.shown(span.start as usize)..line.shown((span.end as usize).min(range.end));
        Some(Label::new(mark.style, id, shown).with_message(screen::visible(mark.text)))
    }

    fn page(&self, id: usize) -> Result<&Page, Error> {
        self.pages.get(id).ok_or(Error::FileMissing)
    }
}

impl Page {
    fn new(files: &Files<'_>, file: FileId, marks: &[Mark<'_>]) -> Self {
        // The line of each mark, and where on it to look; the first mark on a line, the finding's own place, wins.
        let mut wanted: Vec<(u32, u32)> = Vec::new();
        for mark in marks.iter().filter(|mark| mark.place.file == file) {
            let number = files.line(file, mark.place.span.start);
            if wanted.iter().all(|&(n, _)| n != number) {
                wanted.push((number, mark.place.span.start));
            }
        }
        wanted.sort_unstable();
        // A single line between two others is printed too, so it must be there.
        let between: Vec<(u32, u32)> = wanted
            .iter()
            .zip(wanted.iter().skip(1))
            .filter(|((a, _), (b, _))| b - a == 2)
            .map(|(&(a, at), _)| (a + 1, at))
            .collect();
        wanted.extend(between);
        wanted.sort_unstable();

        let mut page = Self {
            file,
            name: screen::name(&files.path(file)).into_owned(),
            text: String::new(),
            lines: Vec::with_capacity(wanted.len()),
        };
        for (number, at) in wanted {
            page.add(files.text(file), number, files.line_range(file, number), at as usize);
        }
        page
    }

    /// Adds a line, or a window of it around `at`.
    fn add(&mut self, text: &str, number: u32, range: Range<usize>, at: usize) {
        let window = window(text, &range, at);
        let skipped = text.get(range.start..window.start).unwrap_or("");
        let begin = self.text.len();
        let mut characters = Vec::new();
        if !skipped.is_empty() {
            self.text.push('…');
        }
        for (offset, c) in text.get(window.clone()).unwrap_or("").char_indices() {
            characters.push((window.start + offset, self.text.len()));
            match c {
                '\t' => self.text.push('\t'),
                c => screen::push(&mut self.text, c),
            }
        }
        characters.push((window.end, self.text.len()));
        if window.end < range.end {
            self.text.push('…');
        }
        self.text.push('\n');
        self.lines.push(Line {
            number,
            range: begin..self.text.len(),
            first_column: skipped.chars().count() + 1,
            characters,
        });
    }

    fn line(&self, number: usize) -> Option<&Line> {
        let at = self.lines.binary_search_by_key(&number, |line| line.number as usize).ok()?;
        self.lines.get(at)
    }
}

/// The part of a line that is shown: all of it, or where it is too wide, a window around `at`.
fn window(text: &str, line: &Range<usize>, at: usize) -> Range<usize> {
    let width = |c: char| if c == '\t' { screen::TAB } else { screen::width(c) };
    // Walks at most as far as is shown, so that a line of a megabyte costs no more than a short one.
    let reach = |part: &str, limit: usize, from_end: bool| -> usize {
        let mut left = limit;
        let mut bytes = 0;
        let mut take = |c: char| {
            let Some(rest) = left.checked_sub(width(c)) else { return false };
            left = rest;
            bytes += c.len_utf8();
            true
        };
        if from_end {
            let _ = part.chars().rev().all(&mut take);
        } else {
            let _ = part.chars().all(&mut take);
        }
        bytes
    };
    let whole = text.get(line.clone()).unwrap_or("");
    if reach(whole, WIDEST, false) == whole.len() {
        return line.clone();
    }
    let at = boundary(text, at.clamp(line.start, line.end));
    let before = text.get(line.start..at).unwrap_or("");
    let start = at - reach(before, BEFORE, true);
    let rest = text.get(start..line.end).unwrap_or("");
    start..start + reach(rest, WINDOW, false)
}

/// The start of the character that `at` lies in.
fn boundary(text: &str, at: usize) -> usize {
    (0..=at.min(text.len())).rev().find(|&i| text.is_char_boundary(i)).unwrap_or(0)
}

impl<'a> CodespanFiles<'a> for Excerpt {
    type FileId = usize;
    type Name = &'a str;
    type Source = &'a str;

    fn name(&'a self, id: usize) -> Result<&'a str, Error> {
        Ok(&self.page(id)?.name)
    }

    fn source(&'a self, id: usize) -> Result<&'a str, Error> {
        Ok(&self.page(id)?.text)
    }

    fn line_index(&'a self, id: usize, byte_index: usize) -> Result<usize, Error> {
        let lines = &self.page(id)?.lines;
        let at =
            lines.partition_point(|line| line.range.end <= byte_index).min(lines.len().saturating_sub(1));
        lines.get(at).map(|line| line.number as usize).ok_or(Error::FileMissing)
    }

    fn line_range(&'a self, id: usize, line_index: usize) -> Result<Range<usize>, Error> {
        let page = self.page(id)?;
        let missing = Error::LineTooLarge { given: line_index, max: page.lines.len() };
        page.line(line_index).map(|line| line.range.clone()).ok_or(missing)
    }

    fn column_number(&'a self, id: usize, line_index: usize, byte_index: usize) -> Result<usize, Error> {
        let page = self.page(id)?;
        let missing = Error::LineTooLarge { given: line_index, max: page.lines.len() };
        let line = page.line(line_index).ok_or(missing)?;
        Ok(line.first_column + line.characters.partition_point(|&(_, shown)| shown < byte_index))
    }
}
