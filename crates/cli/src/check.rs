//! `barm check`

use std::ffi::OsString;
use std::path::Path;
use std::process::ExitCode;

use barm_report::{Checked, Tally};
use barm_rules::{Level, Options, Report};

use crate::args::{Check, FailOn, Format};
use crate::baseline::{self, Kept};
use crate::failure::Failure;
use crate::timings::Timings;
use crate::watch::{self, Round};
use crate::workspace::Workspace;
use crate::{names, output, since, workspace};

/// Reads the logs and says what is wrong or worth knowing.
pub(crate) fn run(args: &Check) -> Result<ExitCode, Failure> {
    for name in args.select.iter().chain(&args.ignore) {
        names::rule(name)?;
    }
    if args.statistics && !matches!(args.format, Format::Text | Format::Json) {
        return Err(Failure::said("`--statistics` is written as `--format text` or `json`"));
    }
    if args.watch {
        return watched(args);
    }
    let mut timings = Timings::new();
    let found = found(args, &mut timings)?;
    if let Some(path) = &args.write_baseline {
        return baseline::write(path, &found);
    }
    let (worst, _) = tell(args, &found)?;
    timings.lap("write");
    if args.timings {
        timings.tell()?;
    }
    // The program ends here: handing back memory piece by piece would take longer than checking did.
    std::mem::forget(found);
    Ok(ExitCode::from(u8::from(worst.is_some_and(|worst| worst >= level(args.fail_on)))))
}

/// Tells it again whenever something was saved, until somebody ends it.
fn watched(args: &Check) -> Result<ExitCode, Failure> {
    if args.input.paths.iter().any(|path| path.as_os_str() == "-") {
        return Err(Failure::said("standard input cannot be watched"));
    }
    let folders = workspace::folders(&args.input)?;
    let also =
        args.baseline.iter().chain(&args.input.config).map(|path| path.as_path()).collect::<Vec<&Path>>();
    watch::run(&folders, &also, || {
        let found = found(args, &mut Timings::new())?;
        let (_, read) = tell(args, &found)?;
        let names = found.iter().flat_map(|(one, _)| one.season.loggers.keys());
        Ok(Round { names: names.filter_map(file_name).collect(), unread: !read })
    })?;
    Ok(ExitCode::SUCCESS)
}

fn file_name(file: &barm_reckoning::LoggerFile) -> Option<OsString> {
    Path::new(&*file.name).file_name().map(OsString::from)
}

/// The workspaces asked about, and what is to be told of each.
fn found(args: &Check, timings: &mut Timings) -> Result<Vec<(Workspace, Report)>, Failure> {
    let options = Options {
        select: args.select.clone(),
        ignore: args.ignore.clone(),
        no_accept: args.no_accept,
        ..Options::default()
    };
    let baseline = args.baseline.as_deref().map(Kept::read).transpose()?;
    let mut out = Vec::new();
    for workspace in workspace::load(&args.input, timings)? {
        let mut report = workspace.check(&options);
        timings.lap("check");
        if let Some(baseline) = &baseline {
            baseline.take_out(&workspace, &mut report);
            timings.lap("baseline");
        }
        if let Some(rev) = &args.since {
            since::keep_changed(rev, &workspace, &mut report)?;
            timings.lap("since");
        }
        out.push((workspace, report));
    }
    Ok(out)
}

/// Writes it; the worst level that was told, and whether somebody still reads.
fn tell(args: &Check, found: &[(Workspace, Report)]) -> Result<(Option<Level>, bool), Failure> {
    let checked: Vec<Checked<'_>> = found.iter().map(|(workspace, report)| workspace.with(report)).collect();
    let read = output::printed(args.color, |out| match args.format {
        Format::Text if args.statistics => barm_report::statistics_text(out, &checked),
        Format::Json if args.statistics => barm_report::statistics_json(out, &checked),
        Format::Text => barm_report::text(out, &checked),
        Format::Short => barm_report::short(out, &checked),
        Format::Json => barm_report::json(out, &checked),
        Format::Ndjson => barm_report::ndjson(out, &checked),
        Format::Sarif => barm_report::sarif(out, &checked),
        Format::Junit => barm_report::junit(out, &checked, level(args.fail_on)),
        Format::Github => barm_report::commands(out, &checked),
    })?;
    Ok((Tally::of(&checked).worst(), read))
}

fn level(fail_on: FailOn) -> Level {
    match fail_on {
        FailOn::Error => Level::Error,
        FailOn::Warning => Level::Warning,
        FailOn::Note => Level::Note,
    }
}
