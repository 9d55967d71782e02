//! `# accept RULE, RULE: reason`.

use crate::ast::{Acceptance, Covers, Name};
use crate::cut::is_space;
use crate::sink::Sink;
use crate::words::first_word;
use crate::{Fix, Problem, ProblemKind, Span};

/// Reads a comment that may be an acceptance; `comment` begins at its `#`, which stands at `at` in the block.
pub(crate) fn read(comment: &str, at: usize, covers: Covers, sink: &mut Sink) -> Option<Acceptance> {
    let trimmed = comment.trim_end_matches(is_space);
    let text = trimmed.trim_start_matches('#').trim_start_matches(is_space);
    let word = first_word(text);
    if !word.eq_ignore_ascii_case("accept") {
        return None;
    }
    let start = at + trimmed.len() - text.len();
    let end = at + trimmed.len();
    let span = Span::of(start..end);
    let mut rules = Vec::new();
    let mut here = start + word.len();
    let mut left = text.get(word.len()..).unwrap_or("");
    // Rules, commas between them, up to the colon or to a word that no comma led to.
    let mut comma = true;
    while comma {
        let skipped = left.len() - left.trim_start_matches(is_space).len();
        left = left.get(skipped..).unwrap_or("");
        here += skipped;
        let rule = first_word(left);
        if rule.is_empty() {
            break;
        }
        rules.push(Name { span: Span::of(here..here + rule.len()), text: rule.into() });
        left = left.get(rule.len()..).unwrap_or("");
        here += rule.len();
        let behind = left.trim_start_matches(is_space);
        comma = behind.starts_with(',');
        if comma {
            here += left.len() - behind.len() + 1;
            left = behind.get(1..).unwrap_or("");
        }
    }
    rules.shrink_to_fit();
    let reason =
        left.trim_start_matches(is_space).strip_prefix(':').map(|reason| reason.trim_start_matches(is_space));
    let reason = reason.filter(|reason| !reason.is_empty()).map(|reason| Span::of(end - reason.len()..end));
    if reason.is_none() || rules.is_empty() {
        sink.report(|| unexplained(span, &rules, left, here));
    }
    Some(Acceptance { span, rules, reason, covers })
}

fn unexplained(span: Span, rules: &[Name], left: &str, here: usize) -> Problem {
    let help = "such as `# accept underpitched: wanted the esters`";
    let message =
        if rules.is_empty() { "which rule is accepted here, and why?" } else { "why is this accepted?" };
    let problem = Problem::new(ProblemKind::AcceptanceWithoutReason, span, message).help(help);
    let words = left.trim_matches(is_space);
    if rules.is_empty() || words.is_empty() || words.starts_with(':') {
        return problem;
    }
    let colon = Span::of(here..here).start;
    problem.fix(Fix::insert(colon, ":", format!("put a colon before `{}`", crate::item::shown(words))))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rules_and_reason(comment: &str) -> Option<(Vec<String>, Option<String>)> {
        let mut sink = Sink::new(100);
        let read = read(comment, 0, Covers::NextHeader, &mut sink)?;
        let names = read.rules.iter().map(|rule| rule.span.text(comment).to_owned()).collect();
        assert_eq!(read.reason.is_none(), !sink.is_empty());
        Some((names, read.reason.map(|span| span.text(comment).to_owned())))
    }

    #[test]
    fn rules_and_a_reason() {
        let read =
            rules_and_reason("# accept stale-culture ,too-warm:  it was all there was: sorry ").unwrap();
        assert_eq!(read.0, ["stale-culture", "too-warm"]);
        assert_eq!(read.1.as_deref(), Some("it was all there was: sorry"));
        assert_eq!(rules_and_reason("#ACCEPT a").unwrap(), (vec!["a".to_owned()], None));
        assert_eq!(rules_and_reason("# accepted by all"), None);
        assert_eq!(rules_and_reason("# accept").unwrap().0, Vec::<String>::new());
    }
}
