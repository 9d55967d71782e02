//! `# accept RULE: reason`: what it silences, and what it no longer does.

use std::collections::HashMap;

use barm_reckoning::{FileId, Place, Season};
use barm_syntax::Span;
use barm_syntax::ast::Covers;

use crate::{Finding, Level, find, idle_acceptance, rules};

/// One rule named in one acceptance.
struct Accepted {
    rule: String,
    /// Where the rule is named.
    place: Place,
    covers: Span,
    used: bool,
}

/// The acceptances of a workspace, by file.
pub(crate) struct Acceptances {
    by_file: HashMap<FileId, Vec<Accepted>>,
}

impl Acceptances {
    pub(crate) fn of(season: &Season) -> Self {
        let mut by_file: HashMap<FileId, Vec<Accepted>> = HashMap::new();
        for (index, source) in season.sources.iter().enumerate() {
            let file = FileId(u32::try_from(index).unwrap_or(u32::MAX));
            let blocks = &source.log.blocks;
            for (position, placed) in blocks.iter().enumerate() {
                for acceptance in &placed.block.acceptances {
                    let covers = match acceptance.covers {
                        Covers::Span(span) => span.shifted(placed.start),
                        Covers::NextHeader => match blocks.get(position + 1) {
                            Some(next) => next.block.header.shifted(next.start),
                            None => continue,
                        },
                    };
                    for name in &acceptance.rules {
                        let place = Place { file, span: name.span.shifted(placed.start) };
                        let rule = name.text.to_lowercase();
                        by_file.entry(file).or_default().push(Accepted { rule, place, covers, used: false });
                    }
                }
            }
        }
        Self { by_file }
    }

    /// Whether a finding is accepted where it stands; notes that the acceptance is of use.
    pub(crate) fn accepts(&mut self, finding: &Finding) -> bool {
        let Some(here) = self.by_file.get_mut(&finding.place.file) else { return false };
        let at = finding.place.span.start;
        let mut accepted = false;
        for acceptance in here.iter_mut().filter(|a| a.rule == finding.rule) {
            if acceptance.covers.start <= at && at <= acceptance.covers.end {
                acceptance.used = true;
                accepted = true;
            }
        }
        accepted
    }

    /// Acceptances that silence nothing, of rules that were looked at (or that do not exist).
    pub(crate) fn idle(self, ran: &[&str]) -> Vec<Finding> {
        let mut out = Vec::new();
        for accepted in self.by_file.into_values().flatten().filter(|a| !a.used) {
            let known = find(&accepted.rule).is_some();
            if known && !ran.contains(&accepted.rule.as_str()) {
                continue;
            }
            let message = if known {
                format!("nothing here is `{}` any more: this acceptance silences nothing", accepted.rule)
            } else {
                format!("there is no rule `{}`", accepted.rule)
            };
            let mut finding = Finding::new(idle_acceptance::NAME, Level::Note, accepted.place, message);
            if !known && let Some(nearest) = nearest(&accepted.rule) {
                finding = finding.noting(format!("did you mean `{nearest}`?"));
            }
            out.push(finding);
        }
        out
    }
}

/// The rule whose name is nearest to a word.
pub(crate) fn nearest(word: &str) -> Option<&'static str> {
    rules()
        .iter()
        .map(|rule| (strsim::damerau_levenshtein(word, rule.name()), rule.name()))
        .filter(|(distance, name)| *distance * 3 <= name.len())
        .min()
        .map(|(_, name)| name)
}
