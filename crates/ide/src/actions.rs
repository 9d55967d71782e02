//! What can be done about a place: fixes of findings, answers to questions, conversions, acceptances.

use std::collections::BTreeMap;
use std::sync::Arc;

use barm_reckoning::{Fault, FileId};
use barm_rules::{Finding, Level, QUESTION};
use barm_syntax::ast::{Kind, Placed};
use barm_syntax::{Edit, Span};

use crate::Part;
use crate::at::{Thing, at, block_at, length, line_end, statement_at};
use crate::convert::conversions;
use crate::days;
use crate::navigate::FileEdits;
use crate::world::{File, World};

/// Something that can be done.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Action {
    /// What it does.
    pub title: String,
    /// What kind of thing it is.
    pub kind: ActionKind,
    /// Whether it is what most would do here.
    pub preferred: bool,
    /// The finding that it mends: its place in the file's findings.
    pub mends: Option<usize>,
    /// The edits.
    pub edits: Vec<FileEdits>,
}

/// Kinds of actions.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ActionKind {
    /// Mends what was found.
    Fix,
    /// Says the same otherwise.
    Rewrite,
    /// All safe fixes of a file.
    FixAll,
}

/// What can be done within a stretch of a file.
#[must_use]
pub fn actions(world: &World, path: &str, within: Span) -> Vec<Action> {
    let (Some(file), Some(part)) = (world.file(path), world.part(path)) else { return Vec::new() };
    let Some(id) = part.id(path) else { return Vec::new() };
    let acting = Acting { world, file, part: &part, path, id };
    let mut out = Vec::new();
    for (index, finding) in part.findings(path).iter().enumerate() {
        if overlaps(finding.place.span, within) {
            acting.fixes(index, finding, &mut out);
            out.extend(acting.block(index, finding));
            acting.blanks(index, finding, &mut out);
        }
    }
    acting.questions(within, &mut out);
    let sorted = acting.days(within);
    // Where somebody was told of it, it comes before what says that it is well as it is.
    let is_mended = sorted.as_ref().is_some_and(|action| action.mends.is_some());
    let (mended, tidied) = if is_mended { (sorted, None) } else { (None, sorted) };
    out.extend(mended);
    for (index, finding) in part.findings(path).iter().enumerate() {
        if overlaps(finding.place.span, within) {
            out.extend(acting.acceptance(index, finding));
        }
    }
    acting.conversions(within, &mut out);
    out.extend(tidied);
    out.extend(acting.fix_all());
    let mut seen = Vec::new();
    out.retain(|action| {
        let new = !seen.contains(&(action.title.clone(), action.edits.clone()));
        seen.push((action.title.clone(), action.edits.clone()));
        new
    });
    out
}

const fn overlaps(a: Span, b: Span) -> bool {
    a.start <= b.end && b.start <= a.end
}

struct Acting<'a> {
    world: &'a World,
    file: &'a File,
    part: &'a Part,
    path: &'a str,
    id: FileId,
}

impl Acting<'_> {
    fn here(&self, edits: Vec<Edit>) -> Vec<FileEdits> {
        vec![FileEdits { path: Arc::from(self.path), edits }]
    }

    fn fixes(&self, index: usize, finding: &Finding, out: &mut Vec<Action>) {
        for (nth, fix) in finding.fixes.iter().enumerate() {
            let Some(path) = self.part.path(fix.file) else { continue };
            out.push(Action {
                title: fix.title.clone(),
                kind: ActionKind::Fix,
                preferred: nth == 0,
                mends: Some(index),
                edits: vec![FileEdits { path: Arc::clone(path), edits: fix.edits.clone() }],
            });
        }
    }

    /// The answer written in, and all answers of the file.
    fn questions(&self, within: Span, out: &mut Vec<Action>) {
        let answers = || self.part.season.answers.iter().filter(|answer| answer.place.file == self.id);
        let edits: Vec<&Edit> = answers().filter_map(|answer| answer.edit.as_ref()).collect();
        for answer in answers().filter(|answer| overlaps(answer.place.span, within)) {
            if let Some(edit) = &answer.edit {
                let title = format!("Write the answer: {}", edit.text);
                // The finding of the question may offer the same as a fix.
                if !out.iter().any(|action| action.edits == self.here(vec![edit.clone()])) {
                    let (kind, edits) = (ActionKind::Fix, self.here(vec![edit.clone()]));
                    out.push(Action { title, kind, preferred: true, mends: None, edits });
                }
            }
        }
        let asks_here = answers().any(|answer| overlaps(answer.place.span, within));
        if edits.len() > 1 && asks_here {
            let mut edits: Vec<Edit> = edits.into_iter().cloned().collect();
            edits.sort_by_key(|edit| edit.span);
            let title = format!("Write the answers to all {} questions of this file", edits.len());
            out.push(Action {
                title,
                kind: ActionKind::Rewrite,
                preferred: false,
                mends: None,
                edits: self.here(edits),
            });
        }
    }

    /// A block for a name that nobody declares.
    fn block(&self, index: usize, finding: &Finding) -> Option<Action> {
        let (name, strain) = self.part.season.faults.iter().find_map(|fault| match fault {
            Fault::UnknownName { name, place, strain, .. }
                if finding.rule == "unknown-name" && *place == finding.place =>
            {
                Some((name, strain))
            }
            _ => None,
        })?;
        let placed = block_at(self.file, finding.place.span.start)?;
        let is_wort = statement_at(&placed.block, finding.place.span.start - placed.start)
            .is_some_and(|statement| matches!(statement.kind, Kind::WortOf(_)));
        let (header, title, used) = match strain {
            Some(lots) if !lots.is_empty() => return None,
            Some(_) => {
                let lot =
                    (1..).map(|n| format!("{name}-{n}")).find(|lot| self.world.naming(lot).is_empty())?;
                (format!("culture {lot} of {name}"), format!("Add a culture of `{name}`"), Some(lot))
            }
            None if is_wort => (format!("brew {name}"), format!("Add a brew `{name}`"), None),
            None => (format!("culture {name}"), format!("Add a culture `{name}`"), None),
        };
        let newline = line_end(&self.file.text);
        let mark =
            self.file.text.get(placed.start as usize..).is_some_and(|text| text.starts_with('\u{feff}'));
        let at = placed.start + if mark { length("\u{feff}") } else { 0 };
        let block = Edit { span: Span::new(at, at), text: format!("{header}{newline}{newline}") };
        let used = used.map(|lot| Edit { span: finding.place.span, text: lot });
        let edits = self.here(std::iter::once(block).chain(used).collect());
        Some(Action { title, kind: ActionKind::Fix, preferred: false, mends: Some(index), edits })
    }

    /// Room for what is missing; what it says is for whoever knows it to write.
    fn blanks(&self, index: usize, finding: &Finding, out: &mut Vec<Action>) {
        for blank in &finding.blanks {
            let Some(path) = self.part.path(blank.file) else { continue };
            out.push(Action {
                title: blank.title.clone(),
                kind: ActionKind::Fix,
                preferred: false,
                mends: Some(index),
                edits: vec![FileEdits { path: Arc::clone(path), edits: blank.edits.clone() }],
            });
        }
    }

    /// Days in their order: what mends it where somebody was told that they are not.
    fn days(&self, within: Span) -> Option<Action> {
        let placed = block_at(self.file, within.start)?;
        let edit = days::sorted(self.file, placed)?;
        let name = placed.block.name.as_ref().map_or(String::new(), |name| format!(" of `{}`", name.text));
        let title = format!("Sort the days{name}");
        let edits = self.here(vec![edit]);
        let told =
            |finding: &Finding| finding.rule == "time-runs-back" && overlaps(finding.place.span, within);
        let mends = self.part.findings(self.path).iter().position(told);
        let kind = if mends.is_some() { ActionKind::Fix } else { ActionKind::Rewrite };
        Some(Action { title, kind, preferred: false, mends, edits })
    }

    /// `# accept RULE: reason` at the end of the line.
    fn acceptance(&self, index: usize, finding: &Finding) -> Option<Action> {
        // What cannot be read or reckoned is no matter of taste, a question wants its answer, and a danger is none the less
        // for being accepted.
        if finding.level >= Level::Error
            || matches!(finding.rule, QUESTION | "caution")
            || barm_rules::find(finding.rule).is_none()
        {
            return None;
        }
        let line = line_around(&self.file.text, finding.place.span.start)?;
        let placed = block_at(self.file, finding.place.span.start)?;
        let mut here = placed.block.acceptances.iter().map(|acceptance| {
            let first = acceptance.rules.first()?;
            Some(first.span.shifted(placed.start))
                .filter(|rule| line.start <= rule.start && rule.end <= line.end)
        });
        let behind = Edit {
            span: Span::new(line.end, line.end),
            text: format!("  # accept {}: reason", finding.rule),
        };
        let edit = match here.find_map(|rule| rule) {
            // One more rule under the reason that stands there.
            Some(rule) => {
                Edit { span: Span::new(rule.start, rule.start), text: format!("{}, ", finding.rule) }
            }
            None if is_read(self.file, placed, &behind) => behind,
            // A line has one comment, and what follows `note` is no comment.
            None => self.above(line, &behind.text),
        };
        Some(Action {
            title: format!("Accept {} here, with a reason", finding.rule),
            kind: ActionKind::Fix,
            preferred: false,
            mends: Some(index),
            edits: self.here(vec![edit]),
        })
    }

    /// A comment in a line of its own above one.
    fn above(&self, line: Span, comment: &str) -> Edit {
        let text = line.text(&self.file.text);
        let mark = if text.starts_with('\u{feff}') { length("\u{feff}") } else { 0 };
        let text = text.get(mark as usize..).unwrap_or("");
        let indent = text.get(..text.len() - text.trim_start().len()).unwrap_or("");
        let text = format!("{indent}{}{}", comment.trim_start(), line_end(&self.file.text));
        Edit { span: Span::new(line.start + mark, line.start + mark), text }
    }

    fn conversions(&self, within: Span, out: &mut Vec<Action>) {
        let Some(here) = at(self.file, within.start) else { return };
        let Thing::Quantity(measure, of) = here.thing else { return };
        let about = if measure.about { "~" } else { "" };
        for text in conversions(&measure, of) {
            let edit = Edit { span: here.span, text: format!("{about}{text}") };
            let title = format!("Write {about}{text}");
            out.push(Action {
                title,
                kind: ActionKind::Rewrite,
                preferred: false,
                mends: None,
                edits: self.here(vec![edit]),
            });
        }
    }

    /// Every safe fix of the file that touches no other. A question is answered by whoever asked it: some editors make such
    /// fixes whenever a file is saved, and a plan would be filled in before it is one.
    fn fix_all(&self) -> Option<Action> {
        let mut edits: BTreeMap<Span, Edit> = BTreeMap::new();
        let safe = self
            .part
            .findings(self.path)
            .iter()
            .filter(|finding| finding.rule != QUESTION)
            .filter_map(|finding| finding.fixes.iter().find(|fix| fix.safe));
        for fix in safe.filter(|fix| fix.file == self.id) {
            if fix.edits.iter().all(|edit| edits.keys().all(|other| !overlaps(*other, edit.span))) {
                edits.extend(fix.edits.iter().map(|edit| (edit.span, edit.clone())));
            }
        }
        if edits.is_empty() {
            return None;
        }
        let title = "Make every safe fix of this file".to_owned();
        let edits = self.here(edits.into_values().collect());
        Some(Action { title, kind: ActionKind::FixAll, preferred: false, mends: None, edits })
    }
}

/// Whether a block holds one acceptance more after an edit.
fn is_read(file: &File, placed: &Placed, edit: &Edit) -> bool {
    let mut text = Span::new(placed.start, placed.start + placed.block.len).text(&file.text).to_owned();
    let at = edit.span.start.saturating_sub(placed.start) as usize;
    if !text.is_char_boundary(at) {
        return false;
    }
    text.insert_str(at, &edit.text);
    let read = barm_syntax::read(&text).blocks;
    read.iter().map(|placed| placed.block.acceptances.len()).sum::<usize>() > placed.block.acceptances.len()
}

/// The line of an offset, without its end.
fn line_around(text: &str, offset: u32) -> Option<Span> {
    let start = text.get(..offset as usize)?.rfind('\n').map_or(0, |at| at + 1);
    let rest = text.get(start..)?;
    let line = rest.split('\n').next()?;
    Some(Span::of(start..start + line.trim_end_matches('\r').len()))
}
