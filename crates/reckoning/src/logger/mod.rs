//! What a logger wrote down: read row by row, kept as far as the figures need it.
//!
//! A row that cannot be read is left out and told; the rest is reckoned. Rows of one minute are averaged, then a
//! temperature is kept only where it leaves a straight line by more than 0.1 K (a pressure by 0.1 bar, a pH by 0.05), and at least once an hour, so that a
//! year of readings every second costs no more than a few thousand. A floating hydrometer is noisy: its gravities are
//! averaged over half days.

mod columns;
mod lines;
mod merge;
mod rows;
mod thin;
mod time;

use std::collections::{BTreeMap, BTreeSet};
use std::io;
use std::sync::Arc;

use barm_quantity::Unit;
use barm_syntax::ast::{Kind, Log, Readings};

use crate::Moment;

pub(crate) use merge::merge;

/// A logger's file as a log names it.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct LoggerFile {
    /// The path of the log.
    pub log: Arc<str>,
    /// The file's name as written: from the log's folder.
    pub name: Arc<str>,
    /// Its columns as written; empty: its heading says them.
    pub columns: Vec<Arc<str>>,
}

/// What was read of the files that the logs of a workspace name, or why it was not. A file that is missing here was
/// not looked for.
pub type Loggers = BTreeMap<LoggerFile, Result<Arc<Logged>, String>>;

/// What a logger wrote down, in order of time.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Logged {
    /// Temperatures of the beer, °C; straight lines between them are good to 0.1 K.
    pub temperatures: Vec<(Moment, f64)>,
    /// The scale that their column names.
    pub scale: Option<Unit>,
    /// Temperatures of the air around it, °C, to the same.
    pub air: Vec<(Moment, f64)>,
    /// Pressures above it, bar; straight lines between them are good to 0.1 bar.
    pub pressures: Vec<(Moment, f64)>,
    /// Specific gravities.
    pub gravities: Vec<(Moment, f64)>,
    /// pH; straight lines between them are good to 0.05.
    pub acidities: Vec<(Moment, f64)>,
    /// How many rows of readings there are, good or bad.
    pub rows: u64,
    /// Rows that were left out, one entry for each thing that is wrong.
    pub problems: Vec<BadRows>,
}

/// Rows of a logger's file with one thing wrong.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BadRows {
    /// What is wrong.
    pub what: RowFault,
    /// How many rows.
    pub count: u64,
    /// The line of the first in its file, from 1.
    pub line: u64,
    /// What stands there, at most 80 characters of it.
    pub text: String,
    /// The last time that was read by then; `None` where none was.
    pub by: Option<Moment>,
}

/// What may be wrong with a row.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum RowFault {
    /// Longer than 64 KiB.
    TooLong,
    /// Fewer columns than there should be.
    TooShort,
    /// More of them, as where a decimal comma parts a number.
    TooWide,
    /// A time that cannot be read.
    Time,
    /// The time of the row before once more.
    Repeated,
    /// A time before that of the row before.
    RunsBack,
    /// A value that is no number.
    NotANumber,
    /// A value that nobody could have measured.
    Impossible,
    /// More than a day after the row before; the only fault of a row that is kept.
    Gap,
    /// There is no row at all.
    Nothing,
}

impl LoggerFile {
    fn of(log: &Arc<str>, readings: &Readings) -> Self {
        Self {
            log: Arc::clone(log),
            name: Arc::from(&*readings.file.text),
            columns: readings.columns.iter().map(|column| Arc::from(&*column.text)).collect(),
        }
    }

    /// Every file that a log names, each once.
    #[must_use]
    pub fn of_log(path: &Arc<str>, log: &Log) -> BTreeSet<Self> {
        let statements = log.blocks.iter().flat_map(|placed| &placed.block.statements);
        let named = statements.filter_map(|statement| match &statement.kind {
            Kind::Readings(readings) => Some(Self::of(path, readings)),
            _ => None,
        });
        named.collect()
    }

    /// Reads the file, never more than a line of it at once.
    ///
    /// # Errors
    /// Why it is not read: no such columns, times in a zone that nobody stated, no text at all.
    pub fn read(&self, file: impl io::BufRead) -> Result<Logged, String> {
        rows::read(file, &self.columns)
    }
}
