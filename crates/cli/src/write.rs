//! Writes logs: whole or not at all, and never over what somebody else has just written.

use std::fs;
use std::io::{self, Write as _};
use std::path::Path;
use std::process::ExitCode;

use similar::{ChangeTag, TextDiff};

use crate::args::Colour;
use crate::failure::Failure;
use crate::output;
use crate::whole::Whole;
use crate::workspace::Target;

/// A log before and after.
pub(crate) struct Rewrite {
    /// Its path as the user would type it.
    pub(crate) shown: String,
    /// Where it goes.
    pub(crate) target: io::Result<Target>,
    /// As read.
    pub(crate) before: String,
    /// As it shall be.
    pub(crate) after: String,
}

impl Rewrite {
    fn changes(&self) -> bool {
        self.before != self.after
    }
}

/// What to do with new texts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum How {
    /// Write them.
    Write,
    /// Show what would change.
    Diff,
    /// Name the logs that would change.
    Name,
}

/// Writes what changes and says what was `done`; or only shows it, and exits with 1 if anything would change.
pub(crate) fn all(rewrites: &[Rewrite], how: How, done: &str) -> Result<ExitCode, Failure> {
    if how != How::Write {
        let changed: Vec<&Rewrite> = rewrites.iter().filter(|one| one.changes()).collect();
        let code = ExitCode::from(u8::from(!changed.is_empty()));
        return output::print(Colour::Never, code, |out| {
            changed.into_iter().try_for_each(|one| match how {
                How::Diff => show(out, one),
                How::Name | How::Write => writeln!(out, "{}", barm_report::visible(&one.shown)),
            })
        });
    }
    let mut said = Vec::new();
    for one in rewrites {
        match &one.target {
            // What stands before and behind in a pipe wants the text, changed or not, and nothing else.
            Ok(Target::Output) => {
                output::print(Colour::Never, ExitCode::SUCCESS, |out| out.write_all(one.after.as_bytes()))?;
            }
            Ok(Target::File(path)) if one.changes() => {
                let shown = barm_report::visible(&one.shown);
                let cannot = |error| Failure::said(format!("{shown} was not written: {error}"));
                replace(path, &one.before, &one.after).map_err(cannot)?;
                said.push(format!("{done} {shown}"));
            }
            Err(error) if one.changes() => {
                let shown = barm_report::visible(&one.shown);
                return Err(Failure::said(format!("{shown} was not written: {error}")));
            }
            _ => {}
        }
    }
    output::print(Colour::Never, ExitCode::SUCCESS, |out| {
        said.iter().try_for_each(|line| writeln!(out, "{line}"))
    })
}

/// Says what was done.
pub(crate) fn tell(done: &str) -> Result<ExitCode, Failure> {
    output::print(Colour::Never, ExitCode::SUCCESS, |out| writeln!(out, "{}", barm_report::visible(done)))
}

/// Writes a file that is not there yet.
pub(crate) fn begin(path: &Path, text: &str) -> io::Result<()> {
    Whole::beside(path, None, |out| out.write_all(text.as_bytes()))?.begin(path)
}

/// Writes a file of barm's own, new or in the place of an older one: whole, or not at all.
pub(crate) fn whole(path: &Path, text: &[u8]) -> io::Result<()> {
    Whole::beside(path, None, |out| out.write_all(text))?.replace(path)
}

/// Puts the new text in the place of the old, unless somebody else was there first.
pub(crate) fn replace(path: &Path, before: &str, after: &str) -> io::Result<()> {
    let permissions = fs::metadata(path)?.permissions();
    // A folder that may be written lets any file in it be replaced, also one that its owner protects.
    if permissions.readonly() {
        return Err(io::Error::other("it is write-protected; make it writable first"));
    }
    let new = Whole::beside(path, Some(permissions), |out| out.write_all(after.as_bytes()))?;
    let now = fs::read(path)?;
    if now == after.as_bytes() {
        // Under another of its names.
        return Ok(());
    }
    if now != before.as_bytes() {
        return Err(io::Error::other("it was changed in the meantime; run barm again"));
    }
    new.replace(path)
}

/// Shows a change, for eyes: what is unsafe to print stands as a picture, so it is no patch for a log that has such.
fn show(out: &mut dyn io::Write, one: &Rewrite) -> io::Result<()> {
    let path = barm_report::visible(&one.shown);
    let diff = TextDiff::from_lines(&one.before, &one.after);
    writeln!(out, "--- {path}\n+++ {path}")?;
    for hunk in diff.unified_diff().context_radius(2).iter_hunks() {
        writeln!(out, "{}", hunk.header())?;
        for change in hunk.iter_changes() {
            let line = change.value().trim_end_matches(['\n', '\r']);
            // A CI service takes a line that begins with blanks and two colons for a command.
            let guard = if line.trim_start().starts_with("::") { "│" } else { "" };
            match change.tag() {
                ChangeTag::Equal if line.is_empty() => writeln!(out)?,
                tag => writeln!(out, "{tag}{guard}{}", barm_report::visible(line))?,
            }
        }
    }
    Ok(())
}
