//! What a fix must do, and what an acceptance must do, in every example.

use std::collections::BTreeMap;

use barm_rules::{Finding, Fix, Level, Report, Rule};
use libtest_mimic::Failed;

use crate::example::Example;

/// More safe fixes than any example has findings.
const ROUNDS: usize = 50;

/// Every fix ends what it mends and makes no new error, and making one safe fix after another comes to an end.
pub(crate) fn fixes(example: &Example) -> Result<(), Failed> {
    let (_, before) = example.run(&example.files)?;
    for finding in &before.findings {
        for fix in &finding.fixes {
            let files = mended(&example.files, fix)?;
            let (_, after) = example.run(&files)?;
            let said = format!("`{}` for {}: {}", fix.title, finding.rule, finding.message);
            let count = |report: &Report| {
                report
                    .findings
                    .iter()
                    .filter(|f| f.rule == finding.rule && f.message == finding.message)
                    .count()
            };
            if count(&after) >= count(&before) {
                return Err(format!("{said}\nit is still there").into());
            }
            let known = errors(&before);
            if let Some(((rule, message), _)) =
                errors(&after).into_iter().find(|(error, count)| known.get(error).is_none_or(|k| count > k))
            {
                return Err(format!("{said}\nmakes a new error: {rule}: {message}").into());
            }
        }
    }
    let mut files = example.files.clone();
    for _ in 0..ROUNDS {
        let (_, report) = example.run(&files)?;
        let safe = |finding: &Finding| finding.fixes.iter().find(|fix| fix.safe).cloned();
        match report.findings.iter().find_map(safe) {
            Some(fix) => files = mended(&files, &fix)?,
            None => return Ok(()),
        }
    }
    Err("its safe fixes come to no end".into())
}

fn errors(report: &Report) -> BTreeMap<(&'static str, String), usize> {
    let mut out = BTreeMap::new();
    for finding in report.findings.iter().filter(|f| f.level == Level::Error) {
        *out.entry((finding.rule, finding.message.clone())).or_default() += 1;
    }
    out
}

/// The files with a fix made.
fn mended(files: &[(String, String)], fix: &Fix) -> Result<Vec<(String, String)>, Failed> {
    let index = fix.file.0 as usize;
    let Some((name, text)) = files.get(index) else { return Err("a fix in no file".into()) };
    let mut out = String::new();
    let mut at = 0;
    for edit in &fix.edits {
        let range = edit.span.range();
        let Some(kept) = text.get(at..range.start) else {
            return Err(format!("the edits of `{}` overlap or leave {name}", fix.title).into());
        };
        out.push_str(kept);
        out.push_str(&edit.text);
        at = range.end;
    }
    let Some(rest) = text.get(at..) else { return Err(format!("`{}` leaves {name}", fix.title).into()) };
    out.push_str(rest);
    let mut files = files.to_vec();
    if let Some((_, text)) = files.get_mut(index) {
        *text = out;
    }
    Ok(files)
}

/// An acceptance at the end of the line of each of the rule's own findings silences it, as its page promises.
pub(crate) fn accepted(example: &Example, rule: &dyn Rule) -> Result<(), Failed> {
    let (season, before) = example.run(&example.files)?;
    for finding in before.findings.iter().filter(|finding| finding.rule == rule.name()) {
        let index = finding.place.file.0 as usize;
        let Some((_, text)) = example.files.get(index) else { continue };
        let at = finding.place.span.start as usize;
        let end = text.get(at..).and_then(|rest| rest.find('\n')).map_or(text.len(), |length| at + length);
        let begins = text.get(..at).and_then(|before| before.rfind('\n')).map_or(0, |at| at + 1);
        let line = text.get(begins..end).unwrap_or("");
        // A line has room for one comment, and the marks of a merge for none.
        if line.contains('#') || line.starts_with("<<<<<<<") {
            continue;
        }
        let mut accepting = text.clone();
        accepting.insert_str(end, &format!("  # accept {}: as an example", rule.name()));
        let (_, after) = example.run(&example.with(index, accepting))?;
        if after.accepted.is_empty() || after.findings.len() >= before.findings.len() {
            let shown = season.text(finding.place);
            return Err(format!("an acceptance on the line of `{shown}` silences nothing:\n{line}").into());
        }
    }
    Ok(())
}
