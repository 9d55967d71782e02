//! The rules, and how they are run: levels from the settings, acceptances from the log, bounds on what is said.

use std::collections::{BTreeMap, HashMap};

use barm_reckoning::{FileId, Place, Season, WORTH_SHARING};
use rayon::prelude::*;

use crate::acceptance::Acceptances;
use crate::{Finding, Level};

/// A rule. Each lives in a file of its own, beside the page that explains it.
pub trait Rule: Sync {
    /// Its name: the trade's word for the bad thing, kebab-case, reads well after "accept".
    fn name(&self) -> &'static str;
    /// The level that it speaks at, before certainty and settings.
    fn level(&self) -> Level;
    /// Its page, in Markdown: what, why, what to do, source, examples that the tests run.
    fn page(&self) -> &'static str;
    /// What it judges.
    fn judges(&self) -> Judges {
        Judges::Brews
    }
    /// Looks at a season and says what it found.
    fn check(&self, season: &Season, report: &mut Report);
}

/// What a rule judges. Of brews and starters it says itself why it is silent.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Judges {
    /// Brews, and with each the yeast that is pitched into it.
    Brews,
    /// Starters.
    Starters,
    /// Lines, or lots of any kind; where nothing is found this can be said: "its name is declared once".
    Anything(&'static str),
}

/// Declares a rule: a unit struct whose name, level and page are data, whose `check` is the function named, and behind it
/// what it judges, where that is not brews.
macro_rules! rule {
    (
        $(#[$doc:meta])* $type:ident, $name:literal, $level:ident, $page:literal, $check:expr
        $(, $judges:ident $($sound:literal)?)? $(,)?
    ) => {
        $(#[$doc])*
        #[derive(Debug)]
        pub(crate) struct $type;

        impl crate::Rule for $type {
            fn name(&self) -> &'static str {
                $name
            }
            fn level(&self) -> crate::Level {
                crate::Level::$level
            }
            fn page(&self) -> &'static str {
                include_str!($page)
            }
            $(
                fn judges(&self) -> crate::Judges {
                    crate::Judges::$judges $(($sound))?
                }
            )?
            fn check(&self, season: &barm_reckoning::Season, report: &mut crate::Report) {
                ($check)(season, report);
            }
        }
    };
}
pub(crate) use rule;

/// What rules write into, and what [`check`] returns.
#[derive(Debug, Default)]
pub struct Report {
    /// What was found.
    pub findings: Vec<Finding>,
    /// Why a rule had nothing to say of a lot: (rule, lot, reason). Kept only where [`Options::explain`] asks for it.
    pub silent: Vec<(&'static str, String, String)>,
    /// Where each finding stands that an acceptance covers, shown or not.
    pub accepted: Vec<Place>,
    /// How many findings a baseline knew; counted by whoever took them out.
    pub known: usize,
    /// How many stand on lines that have not changed, where only changes were asked about; counted as above.
    pub unchanged: usize,
    /// The rules that the settings switched off.
    pub switched_off: Vec<&'static str>,
    /// How many findings of each file were left out to keep the output bounded (100 a file, 20 a line).
    pub left_out: BTreeMap<FileId, usize>,
    explain: bool,
}

/// Why a rule keeps silent: words, or a closure that finds them only where somebody asks.
pub trait Reason {
    /// The words.
    fn words(self) -> String;
}
impl Reason for &str {
    fn words(self) -> String {
        self.to_owned()
    }
}
impl Reason for String {
    fn words(self) -> String {
        self
    }
}
impl<F: FnOnce() -> String> Reason for F {
    fn words(self) -> String {
        self()
    }
}
impl Reason for Why<'_> {
    fn words(self) -> String {
        match self {
            Self::Plain(words) => words.to_owned(),
            Self::Worded(words) => words(),
        }
    }
}

/// A reason on its way to whoever asks: what judges a brew can end with it at any point, and words it for nobody.
pub(crate) enum Why<'a> {
    Plain(&'static str),
    Worded(Box<dyn FnOnce() -> String + 'a>),
}

impl<'a> Why<'a> {
    pub(crate) fn of(words: impl FnOnce() -> String + 'a) -> Self {
        Self::Worded(Box::new(words))
    }
}

impl From<&'static str> for Why<'_> {
    fn from(words: &'static str) -> Self {
        Self::Plain(words)
    }
}

impl Report {
    /// Something was found.
    pub fn found(&mut self, finding: Finding) {
        self.findings.push(finding);
    }

    /// What a part of a wort took along from the whole is told of that, and not once more of each part.
    fn leave_to_wholes(&mut self, season: &Season) {
        let parted = season.batches.iter().any(|batch| batch.taken_from().is_some());
        for finding in std::mem::take(&mut self.findings) {
            let part = finding.lot.as_deref().filter(|_| parted).and_then(|name| season.names.lot(name));
            match part.and_then(|part| season.lot(season.whole_told_at(part, finding.place)?)) {
                None => self.findings.push(finding),
                Some(whole) => {
                    let why = || format!("told of `{}`, which it is a part of", whole.name);
                    self.silent(finding.rule, &finding.lot.unwrap_or_default(), why);
                }
            }
        }
    }

    /// A rule looked at a lot and has nothing to say.
    pub fn silent(&mut self, rule: &'static str, lot: &str, reason: impl Reason) {
        if self.explain {
            self.silent.push((rule, lot.to_owned(), reason.words()));
        }
    }
}

/// How to check.
#[derive(Debug, Clone, Default)]
pub struct Options {
    /// Only these rules; empty: all.
    pub select: Vec<String>,
    /// Not these rules.
    pub ignore: Vec<String>,
    /// Show what an acceptance silences.
    pub no_accept: bool,
    /// Keep what is a figure only: for an editor, and for whoever asks why a rule is silent.
    pub figures: bool,
    /// Keep why rules were silent.
    pub explain: bool,
}

impl Options {
    fn runs(&self, rule: &str) -> bool {
        (self.select.is_empty() || self.select.iter().any(|s| s == rule))
            && !self.ignore.iter().any(|s| s == rule)
    }
}

/// Most findings that are told of one file, and of one line.
const MOST_IN_FILE: usize = 100;
const MOST_IN_LINE: usize = 20;

/// All rules, in the order of their names.
#[must_use]
pub fn rules() -> &'static [&'static dyn Rule] {
    crate::ALL
}

/// The rule of a name.
#[must_use]
pub fn find(name: &str) -> Option<&'static dyn Rule> {
    rules().iter().copied().find(|rule| rule.name() == name)
}

/// Checks a season with every rule that is asked for; findings in order of file and place.
#[must_use]
pub fn check(season: &Season, options: &Options) -> Report {
    let mut report = Report { explain: options.explain, ..Report::default() };
    let set = |rule: &dyn Rule| season.settings.levels.get(rule.name()).and_then(|level| Level::read(level));
    let (off, on): (Vec<&dyn Rule>, Vec<&dyn Rule>) =
        rules().iter().copied().partition(|rule| set(*rule) == Some(Level::Off));
    report.switched_off = off.iter().map(|rule| rule.name()).collect();
    let asked: Vec<&dyn Rule> = on.into_iter().filter(|rule| options.runs(rule.name())).collect();
    let run = |rule: &&dyn Rule| {
        let mut own = Report { explain: options.explain, ..Report::default() };
        rule.check(season, &mut own);
        own.leave_to_wholes(season);
        if let Some(level) = set(*rule) {
            for finding in &mut own.findings {
                finding.level = finding.certainty.map_or(level, |certainty| certainty.tempers(level));
            }
        }
        own
    };
    let reports: Vec<Report> = if season.batches.len() < WORTH_SHARING {
        asked.iter().map(run).collect()
    } else {
        asked.par_iter().map(run).collect()
    };
    for own in reports {
        report.findings.extend(own.findings);
        report.silent.extend(own.silent);
    }
    let ran: Vec<&str> = asked.iter().map(|rule| rule.name()).collect();
    let least = if options.figures { Level::Figure } else { Level::Note };
    report.findings.retain(|finding| finding.level >= least);
    let mut acceptances = Acceptances::of(season);
    let (kept, silenced): (Vec<Finding>, Vec<Finding>) =
        report.findings.into_iter().partition(|finding| !acceptances.accepts(finding));
    report.findings = kept;
    report.accepted = silenced.iter().map(|finding| finding.place).collect();
    if options.no_accept {
        report.findings.extend(silenced);
    }
    if ran.contains(&crate::idle_acceptance::NAME) {
        report.findings.extend(acceptances.idle(&ran));
    }
    report.findings.sort_by(|a, b| (a.place, a.rule, &a.message).cmp(&(b.place, b.rule, &b.message)));
    bound(season, &mut report);
    report
}

/// Leaves out what is beyond the bounds: of each file and each line the worst stay, and of equals the first.
fn bound(season: &Season, report: &mut Report) {
    for (file, source) in (0..).map(FileId).zip(&season.sources) {
        if source.log.problems_left_out > 0 {
            report.left_out.insert(file, source.log.problems_left_out as usize);
        }
    }
    if report.findings.len() <= MOST_IN_LINE {
        return;
    }
    let mut line_of = LineOf::default();
    let mut ranked: Vec<(usize, u32, usize, Level)> = report
        .findings
        .iter()
        .enumerate()
        .map(|(index, f)| (index, f.place.file.0, line_of.get(season, f), f.level))
        .collect();
    ranked.sort_by(|a, b| b.3.cmp(&a.3).then(a.0.cmp(&b.0)));
    let mut in_file: HashMap<u32, usize> = HashMap::new();
    let mut on_line: HashMap<(u32, usize), usize> = HashMap::new();
    let mut keep = vec![false; report.findings.len()];
    for (index, file, line, _) in ranked {
        let line_count = on_line.entry((file, line)).or_default();
        let file_count = in_file.entry(file).or_default();
        if *line_count < MOST_IN_LINE && *file_count < MOST_IN_FILE {
            *line_count += 1;
            *file_count += 1;
            if let Some(slot) = keep.get_mut(index) {
                *slot = true;
            }
        }
    }
    for (finding, _) in report.findings.iter().zip(&keep).filter(|(_, kept)| !**kept) {
        *report.left_out.entry(finding.place.file).or_default() += 1;
    }
    let mut kept = keep.into_iter();
    report.findings.retain(|_| kept.next().unwrap_or(false));
}

/// The line of findings that come in order of place, each file's text walked once.
#[derive(Default)]
struct LineOf {
    file: Option<u32>,
    offset: usize,
    line: usize,
}

impl LineOf {
    fn get(&mut self, season: &Season, finding: &Finding) -> usize {
        if self.file != Some(finding.place.file.0) {
            *self = Self { file: Some(finding.place.file.0), offset: 0, line: 0 };
        }
        let to = finding.place.span.start as usize;
        if let Some(source) = season.source(finding.place.file)
            && let Some(between) = source.text.as_bytes().get(self.offset..to)
        {
            self.line += between.iter().filter(|b| **b == b'\n').count();
            self.offset = to;
        }
        self.line
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_reason_is_worded_where_somebody_asks_and_nowhere_else() {
        let mut unasked = Report::default();
        unasked.silent("a-rule", "a-lot", Why::of(|| panic!("worded for nobody")));
        assert!(unasked.silent.is_empty());
        let mut asked = Report { explain: true, ..Report::default() };
        asked.silent("a-rule", "a-lot", Why::from("it is sound"));
        assert_eq!(asked.silent, [("a-rule", "a-lot".to_owned(), "it is sound".to_owned())]);
    }
}
