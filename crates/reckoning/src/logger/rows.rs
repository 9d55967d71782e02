//! The rows of a logger's file, one after the other.

use std::collections::BTreeMap;
use std::io::BufRead;
use std::sync::Arc;

use csv_core::{ReadRecordResult, Reader, ReaderBuilder};
use jiff::civil::DateTime;

use super::columns::Column;
use super::lines::Lines;
use super::thin::Thinned;
use super::time::{Ahead, Stamp};
use super::{BadRows, Logged, RowFault};
use crate::Moment;
use crate::temperature::NEAR_HOURS;

/// Columns beyond these are passed over.
const MOST_COLUMNS: usize = 256;
/// Rows further apart than this have a gap between them: a file that is kept by hand has one a day, some hours earlier or later.
const GAP_HOURS: f64 = NEAR_HOURS;
/// How much of a bad row is told.
const TOLD: usize = 80;

/// Reads a file whose columns are stated, or stand in its heading.
pub(super) fn read(file: impl BufRead, stated: &[Arc<str>]) -> Result<Logged, String> {
    let mut lines = Lines::new(file);
    let mut rows: Option<Rows> = None;
    while lines.advance().map_err(|error| error.to_string())? {
        if lines.line.iter().all(u8::is_ascii_whitespace) || lines.line.first() == Some(&b'#') {
            continue;
        }
        if lines.line.contains(&0) {
            return Err("it is no text".to_owned());
        }
        match &mut rows {
            Some(rows) => rows.row(&lines.line, lines.number, lines.cut)?,
            None => {
                let mut first = Rows::new(&lines.line, stated)?;
                if !first.is_heading {
                    first.row(&lines.line, lines.number, lines.cut)?;
                }
                rows = Some(first);
            }
        }
    }
    let mut logged = rows.map(Rows::finish).unwrap_or_default();
    if logged.rows == 0 {
        logged.problems.push(BadRows {
            what: RowFault::Nothing,
            count: 0,
            line: 0,
            text: String::new(),
            by: None,
        });
    }
    Ok(logged)
}

/// What the rows have come to so far.
struct Rows {
    cells: Cells,
    time: usize,
    /// So many columns there are.
    width: usize,
    /// How far the brewhouse's clock is ahead of UTC, where that is stated.
    brewhouse: Option<Ahead>,
    columns: Vec<(usize, Column, Thinned)>,
    is_heading: bool,
    last: Option<DateTime>,
    /// The row that has it, as it is written.
    before: Vec<u8>,
    rows: u64,
    problems: BTreeMap<RowFault, BadRows>,
}

impl Rows {
    /// From the first line of the file, which may be its heading.
    fn new(first: &[u8], stated: &[Arc<str>]) -> Result<Self, String> {
        let mut cells = Cells::new(first);
        cells.split(first);
        let heading: Vec<String> =
            (0..cells.count).map(|index| cells.text(index).unwrap_or_default()).collect();
        let (columns, is_heading) = if stated.is_empty() {
            let columns = heading.iter().map(|text| {
                Column::read(text).ok_or_else(|| format!("its column `{}` {UNIT}", shortened(text)))
            });
            (columns.collect::<Result<Vec<Column>, String>>()?, true)
        } else {
            let columns = stated
                .iter()
                .map(|text| Column::read(text).ok_or_else(|| format!("the column `{text}` {UNIT}")));
            let columns = columns.collect::<Result<Vec<Column>, String>>()?;
            let time = columns.iter().position(|column| matches!(column, Column::Time(_)));
            let reads =
                time.and_then(|time| cells.text(time)).is_some_and(|text| Stamp::read(&text).is_some());
            let number = |text: &String| text.trim().starts_with(|c: char| c.is_ascii_digit());
            (columns, !reads && !heading.iter().any(number))
        };
        let width = if is_heading { columns.len().max(cells.count) } else { columns.len() };
        let mut out = Self {
            cells,
            time: 0,
            width,
            brewhouse: None,
            columns: Vec::new(),
            is_heading,
            last: None,
            before: Vec::new(),
            rows: 0,
            problems: BTreeMap::new(),
        };
        let mut timed = false;
        for (index, column) in columns.into_iter().enumerate() {
            if let (Column::Time(brewhouse), false) = (column, timed) {
                (out.time, out.brewhouse, timed) = (index, brewhouse, true);
            }
            if let Some(kept) = column.kept() {
                out.columns.push((index, column, kept));
            }
        }
        let lacks = if !timed {
            "no `time`"
        } else if out.columns.is_empty() {
            "no `temp`, `gravity`, `ambient` or `pressure`"
        } else {
            return Ok(out);
        };
        let whose = if stated.is_empty() { "its heading" } else { "`columns`" };
        Err(format!(
            "{whose} has {lacks}: write such as `columns time temp/°C gravity`, and `-` for a column to skip"
        ))
    }

    fn row(&mut self, line: &[u8], number: u64, cut: bool) -> Result<(), String> {
        self.rows += 1;
        if cut {
            self.wrong(RowFault::TooLong, line, number);
            return Ok(());
        }
        self.cells.split(line);
        let Some(written) = self.cells.text(self.time) else {
            self.wrong(RowFault::TooShort, line, number);
            return Ok(());
        };
        // Nobody knows which of its cells belong together.
        if (self.width..self.cells.count).any(|index| !self.cells.is_empty(index)) {
            self.wrong(RowFault::TooWide, line, number);
            return Ok(());
        }
        let Some(stamp) = Stamp::read(&written) else {
            self.wrong(RowFault::Time, line, number);
            return Ok(());
        };
        let Some(time) = stamp.in_the_brewhouse(self.brewhouse) else {
            let zone = stamp.zone.map_or_else(String::new, |zone| zone.to_string());
            return Err(format!(
                "its times carry a zone (`{}`), and a log's are those of the clock on the wall: state how far that is \
                 ahead of UTC, as in `columns time/{zone} …`",
                shortened(written.trim())
            ));
        };
        if let Some(last) = self.last {
            // Sent twice, and all alike: nothing is wrong with it.
            if time == last && line == self.before {
                return Ok(());
            }
            if time <= last {
                let what = if time == last { RowFault::Repeated } else { RowFault::RunsBack };
                self.wrong(what, line, number);
                return Ok(());
            }
            if time.duration_since(last).as_secs_f64() > GAP_HOURS * 3600.0 {
                self.wrong(RowFault::Gap, line, number);
            }
        }
        self.last = Some(time);
        self.before.clear();
        self.before.extend_from_slice(line);
        let at = at_minute(time);
        let mut wrong = None;
        for (index, column, kept) in &mut self.columns {
            let Some(text) = self.cells.text(*index) else {
                wrong = wrong.or(Some(RowFault::TooShort));
                continue;
            };
            let text = text.trim();
            if text.is_empty() {
                continue;
            }
            match self.cells.number(text) {
                None => wrong = wrong.or(Some(RowFault::NotANumber)),
                Some(number) => match column.value(number) {
                    Some(value) => kept.push(at, value),
                    None => wrong = wrong.or(Some(RowFault::Impossible)),
                },
            }
        }
        if let Some(what) = wrong {
            self.wrong(what, line, number);
        }
        Ok(())
    }

    fn wrong(&mut self, what: RowFault, line: &[u8], number: u64) {
        let by = self.last.map(at_minute);
        let entry = self.problems.entry(what).or_insert_with(|| BadRows {
            what,
            count: 0,
            line: number,
            text: shortened(&decoded(line)),
            by,
        });
        entry.count += 1;
    }

    fn finish(self) -> Logged {
        let mut out =
            Logged { rows: self.rows, problems: self.problems.into_values().collect(), ..Logged::default() };
        for (_, column, kept) in self.columns {
            let slot = match column {
                Column::Temperature(_) => &mut out.temperatures,
                Column::Ambient(_) => &mut out.air,
                Column::Pressure(_) => &mut out.pressures,
                Column::Gravity(_) => &mut out.gravities,
                Column::Acidity => &mut out.acidities,
                Column::Time(_) | Column::Other => continue,
            };
            // Of two columns of one kind the first is the beer's.
            if slot.is_empty() {
                *slot = kept.finish();
                if let Column::Temperature(unit) = column {
                    out.scale = Some(unit);
                }
            }
        }
        out
    }
}

const UNIT: &str = "needs its unit: write such as `temp/°C`, and a zone as `time/+02:00`";

fn at_minute(time: DateTime) -> Moment {
    let minutes = u16::from(time.hour().unsigned_abs()) * 60 + u16::from(time.minute().unsigned_abs());
    Moment::new(time.date(), minutes)
}

/// A row taken apart into its cells.
struct Cells {
    reader: Reader,
    /// Where a comma parts no cells it may be a decimal sign.
    comma_is_decimal: bool,
    text: Vec<u8>,
    ends: [usize; MOST_COLUMNS],
    count: usize,
}

impl Cells {
    /// Finds what parts the cells: `;` or a tab where the first line has one, else `,`.
    fn new(first: &[u8]) -> Self {
        let separator = [b';', b'\t'].into_iter().find(|s| first.contains(s)).unwrap_or(b',');
        Self {
            reader: ReaderBuilder::new().delimiter(separator).build(),
            comma_is_decimal: separator != b',',
            text: Vec::new(),
            ends: [0; MOST_COLUMNS],
            count: 0,
        }
    }

    fn split(&mut self, line: &[u8]) {
        self.text.resize(line.len().max(1), 0);
        self.reader.reset();
        let (result, _, written, count) = self.reader.read_record(line, &mut self.text, &mut self.ends);
        self.count = count;
        // A line has no end of its own here; nothing more to come is one.
        if result == ReadRecordResult::InputEmpty
            && let (Some(text), Some(ends)) = (self.text.get_mut(written..), self.ends.get_mut(count..))
        {
            let (_, _, _, more) = self.reader.read_record(&[], text, ends);
            self.count += more;
        }
    }

    fn text(&self, index: usize) -> Option<String> {
        let ends = self.ends.get(..self.count)?;
        let from = if index == 0 { 0 } else { *ends.get(index - 1)? };
        Some(decoded(self.text.get(from..*ends.get(index)?)?))
    }

    fn is_empty(&self, index: usize) -> bool {
        self.text(index).is_none_or(|text| text.trim().is_empty())
    }

    fn number(&self, text: &str) -> Option<f64> {
        let number = if self.comma_is_decimal && !text.contains('.') {
            text.replacen(',', ".", 1).parse()
        } else {
            text.parse()
        };
        number.ok().filter(|number: &f64| number.is_finite())
    }
}

/// Text in UTF-8, or in the Latin of older loggers, whose `°` is one byte.
fn decoded(bytes: &[u8]) -> String {
    match std::str::from_utf8(bytes) {
        Ok(text) => text.to_owned(),
        Err(_) => bytes.iter().map(|byte| char::from(*byte)).collect(),
    }
}

fn shortened(text: &str) -> String {
    match text.char_indices().nth(TOLD) {
        Some((end, _)) => format!("{}…", text.get(..end).unwrap_or_default()),
        None => text.to_owned(),
    }
}
