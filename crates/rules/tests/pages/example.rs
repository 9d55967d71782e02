//! One example: its files, what it says barm finds in them, and what barm does find.

use std::fmt::Write as _;
use std::sync::Arc;

use barm_reckoning::{Cautions, LoggerFile, Loggers, Season, Source};
use barm_rules::{Finding, Options, Report};
use libtest_mimic::Failed;

/// The name of an example's file where none is given.
const FILE: &str = "log.barm";

/// Begins another file of an example.
const NEXT_FILE: &str = "// file: ";

fn is_mark(line: &str) -> bool {
    line.trim_start().starts_with('^')
}

/// The line of a file, from 0, that a line of a block is or marks.
struct At {
    file: String,
    line: usize,
}

/// The lines of a block and where they stand.
fn placed<S: AsRef<str>>(lines: &[S]) -> impl Iterator<Item = (&str, At)> {
    let mut file = FILE.to_owned();
    let mut next = 0;
    lines.iter().map(move |line| {
        let line = line.as_ref();
        if let Some(name) = line.strip_prefix(NEXT_FILE) {
            name.trim().clone_into(&mut file);
            next = 0;
        } else if !is_mark(line) {
            next += 1;
        }
        (line, At { file: file.clone(), line: usize::saturating_sub(next, 1) })
    })
}

/// An example.
pub(crate) struct Example {
    rule: &'static str,
    /// The line of the page that opens its block.
    pub(crate) line: usize,
    /// The lines of its block.
    lines: Vec<String>,
    /// The heading above it.
    pub(crate) heading: String,
    /// What the page says between the block above and this.
    pub(crate) words_before: String,
    settings: String,
    /// Names and texts, in order of names.
    pub(crate) files: Vec<(String, String)>,
    /// What is to be found.
    pub(crate) marks: Vec<Mark>,
}

/// What is said of a stretch of a line, as a page marks it.
#[derive(Clone, PartialEq)]
pub(crate) struct Mark {
    file: String,
    /// From 0.
    line: usize,
    /// In characters, from 0.
    start: usize,
    length: usize,
    level: String,
    pub(crate) rule: String,
    /// A part of the message, or all of it.
    words: String,
}

impl Example {
    pub(crate) fn new(
        rule: &'static str,
        line: usize,
        heading: String,
        words_before: String,
        settings: String,
        lines: &[&str],
    ) -> Self {
        let mut files: Vec<(String, String)> = Vec::new();
        let mut marks = Vec::new();
        for (line, at) in placed(lines) {
            match (at, line.strip_prefix(NEXT_FILE)) {
                (_, Some(name)) => files.push((name.trim().to_owned(), String::new())),
                (At { file, line: of }, None) if is_mark(line) => marks.push(Mark::read(line, &file, of)),
                (At { file, .. }, None) => {
                    if files.is_empty() {
                        files.push((file, String::new()));
                    }
                    if let Some((_, text)) = files.last_mut() {
                        text.push_str(line);
                        text.push('\n');
                    }
                }
            }
        }
        // Logs first: a finding counts its file among them.
        files.sort_by_key(|(name, _)| (name.ends_with(".csv"), name.clone()));
        let lines = lines.iter().map(|line| (*line).to_owned()).collect();
        Self { rule, line, lines, heading, words_before, settings, files, marks }
    }

    /// The same example with another text in one of its files.
    pub(crate) fn with(&self, file: usize, text: String) -> Vec<(String, String)> {
        let mut files = self.files.clone();
        if let Some((_, old)) = files.get_mut(file) {
            *old = text;
        }
        files
    }

    /// What barm says of files under this example's settings.
    pub(crate) fn run(&self, files: &[(String, String)]) -> Result<(Season, Report), Failed> {
        let mut settings =
            barm_rules::settings(&self.settings).map_err(|error| format!("settings: {}", error.message))?;
        // Any beer asks for some of the usual cautions: they would stand on every page.
        if self.rule != "caution" {
            settings.cautions = Cautions::Read;
        }
        let (loggers, logs): (Vec<_>, Vec<_>) = files.iter().partition(|(name, _)| name.ends_with(".csv"));
        let sources: Vec<Source> = logs
            .iter()
            .map(|(name, text)| Source {
                path: Arc::from(name.as_str()),
                text: Arc::from(text.as_str()),
                log: barm_syntax::read(text),
            })
            .collect();
        let mut read = Loggers::default();
        for file in sources.iter().flat_map(|source| LoggerFile::of_log(&source.path, &source.log)) {
            if let Some((_, text)) = loggers.iter().find(|(name, _)| **name == *file.name) {
                let logged = file.read(text.as_bytes()).map(Arc::new);
                read.insert(file, logged);
            }
        }
        let season = Season::reckon_with(sources, read, settings);
        let report = barm_rules::check(&season, &Options::default());
        Ok((season, report))
    }

    /// The lines of its block with a mark for every finding; the words of a mark that still holds are kept.
    pub(crate) fn marked(&self) -> Result<Vec<String>, Failed> {
        let (season, report) = self.run(&self.files)?;
        let found: Vec<Mark> = report.findings.iter().map(|finding| Mark::of(&season, finding)).collect();
        let mut out = Vec::new();
        for (line, at) in placed(&self.lines) {
            if is_mark(line) {
                continue;
            }
            out.push(line.to_owned());
            if line.starts_with(NEXT_FILE) {
                continue;
            }
            for mark in found.iter().filter(|mark| mark.file == at.file && mark.line == at.line) {
                out.push(self.marks.iter().find(|old| old.fits(mark)).unwrap_or(mark).to_string());
            }
        }
        Ok(out)
    }

    /// How many lines its block has.
    pub(crate) const fn length(&self) -> usize {
        self.lines.len()
    }

    /// Every finding is marked, and every mark found.
    pub(crate) fn check(&self) -> Result<(), Failed> {
        let (season, report) = self.run(&self.files)?;
        let mut unexpected: Vec<Mark> = report.findings.iter().map(|f| Mark::of(&season, f)).collect();
        let mut missing = Vec::new();
        for mark in &self.marks {
            match unexpected.iter().position(|found| mark.fits(found)) {
                Some(found) => {
                    unexpected.remove(found);
                }
                None => missing.push(mark.clone()),
            }
        }
        if missing.is_empty() && unexpected.is_empty() {
            return Ok(());
        }
        let mut out = format!("{}, line {} of its page\n", self.rule, self.line);
        for (title, marks) in [("marked and not found", missing), ("found and not marked", unexpected)] {
            if !marks.is_empty() {
                let _ = writeln!(out, "{title}:");
            }
            for mark in marks {
                let text =
                    self.files.iter().find(|(name, _)| *name == mark.file).map_or("", |(_, text)| text);
                let line = text.lines().nth(mark.line).unwrap_or("");
                let _ = writeln!(out, "{}:{}\n{line}\n{mark}", mark.file, mark.line + 1);
            }
        }
        Err(out.into())
    }
}

impl Mark {
    fn read(line: &str, file: &str, of: usize) -> Self {
        let start = line.chars().take_while(|c| *c != '^').count();
        let marked = line.trim_start();
        let said = marked.trim_start_matches('^');
        let (level, rest) = said.trim_start().split_once('[').unwrap_or(("", said));
        let (rule, words) = rest.split_once(']').unwrap_or((rest, ""));
        Self {
            file: file.to_owned(),
            line: of,
            start,
            length: marked.len() - said.len(),
            level: level.to_owned(),
            rule: rule.to_owned(),
            words: words.trim().to_owned(),
        }
    }

    /// As a page would mark a finding.
    fn of(season: &Season, finding: &Finding) -> Self {
        let (file, text) = season.source(finding.place.file).map_or(("", ""), |s| (&*s.path, &*s.text));
        let span = finding.place.span;
        let before = text.get(..span.start as usize).unwrap_or("");
        let begins = before.rfind('\n').map_or(0, |at| at + 1);
        let marked = text.get(span.range()).unwrap_or("").lines().next().unwrap_or("");
        Self {
            file: file.to_owned(),
            line: before.matches('\n').count(),
            start: before.get(begins..).unwrap_or("").chars().count(),
            length: marked.chars().count().max(1),
            level: finding.level.word().to_owned(),
            rule: finding.rule.to_owned(),
            words: finding.message.clone(),
        }
    }

    fn fits(&self, found: &Self) -> bool {
        found.words.contains(&self.words) && *self == Self { words: self.words.clone(), ..found.clone() }
    }
}

impl std::fmt::Display for Mark {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(
            f,
            "{}{} {}[{}] {}",
            " ".repeat(self.start),
            "^".repeat(self.length),
            self.level,
            self.rule,
            self.words
        )
    }
}
