//! `barm season`

use std::fs::{self, OpenOptions};
use std::io;
use std::path::Path;
use std::process::ExitCode;

use barm_page::Part;
use barm_rules::{Options, Report};

use crate::args::{Colour, Page, Season};
use crate::failure::Failure;
use crate::timings::Timings;
use crate::whole::Whole;
use crate::{bank, output, workspace};

/// Writes a season on one page.
pub(crate) fn run(args: &Season) -> Result<ExitCode, Failure> {
    if args.output.as_ref().is_some_and(|path| path.extension().is_some_and(|ending| ending == "barm")) {
        return Err(Failure::said("--output names a log, which would be lost; write -o season.html"));
    }
    let on = args.on.as_deref().map(bank::day).transpose()?;
    let workspaces = workspace::load(&args.input, &mut Timings::new())?;
    let reports: Vec<Report> =
        workspaces.iter().map(|workspace| workspace.check(&Options::default())).collect();
    let parts: Vec<Part<'_>> =
        workspaces.iter().zip(&reports).map(|(one, report)| Part { checked: one.with(report), on }).collect();
    let write = |out: &mut dyn io::Write| match args.format {
        Page::Html => barm_page::html(out, &parts),
        Page::Json => barm_page::json(out, &parts),
        Page::Csv => barm_page::csv(out, &parts),
    };
    match args.output.as_deref().filter(|path| *path != Path::new("-")) {
        None => output::print(Colour::Never, ExitCode::SUCCESS, |out| write(out)),
        Some(path) => {
            let shown = path.display().to_string();
            let shown = barm_report::visible(&shown);
            into_file(path, write)
                .map_err(|error| Failure::said(format!("{shown} was not written: {error}")))?;
            Ok(ExitCode::SUCCESS)
        }
    }
}

/// Writes a file whole or not at all; what is no regular file (a pipe, `/dev/stdout`) is written as it comes.
fn into_file(path: &Path, put: impl Fn(&mut dyn io::Write) -> io::Result<()>) -> io::Result<()> {
    if fs::metadata(path).is_ok_and(|there| !there.is_file()) {
        return put(&mut OpenOptions::new().write(true).open(path)?);
    }
    // A link stays one.
    let target = fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
    let permissions = fs::metadata(&target).ok().map(|there| there.permissions());
    Whole::beside(&target, permissions, put)?.replace(&target)
}
