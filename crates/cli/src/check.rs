//! `barm check`

use std::process::ExitCode;

use barm_report::{Checked, Tally};
use barm_rules::{Level, Options, Report};

use crate::args::{Check, FailOn, Format};
use crate::failure::Failure;
use crate::timings::Timings;
use crate::{names, output, workspace};

/// Reads the logs and says what is wrong or worth knowing.
pub(crate) fn run(args: &Check) -> Result<ExitCode, Failure> {
    for name in args.select.iter().chain(&args.ignore) {
        names::rule(name)?;
    }
    let options = Options {
        select: args.select.clone(),
        ignore: args.ignore.clone(),
        no_accept: args.no_accept,
        ..Options::default()
    };
    let mut timings = Timings::new();
    let workspaces = workspace::load(&args.input, &mut timings)?;
    let reports: Vec<Report> = workspaces.iter().map(|workspace| workspace.check(&options)).collect();
    timings.lap("check");

    let checked: Vec<Checked<'_>> =
        workspaces.iter().zip(&reports).map(|(one, report)| one.with(report)).collect();
    let fails = Tally::of(&checked).worst().is_some_and(|worst| worst >= level(args.fail_on));
    let code = output::print(args.color, ExitCode::from(u8::from(fails)), |out| match args.format {
        Format::Text => barm_report::text(out, &checked),
        Format::Short => barm_report::short(out, &checked),
        Format::Json => barm_report::json(out, &checked),
    })?;
    timings.lap("write");
    if args.timings {
        timings.tell()?;
    }
    // The program ends here: handing back memory piece by piece would take longer than checking did.
    std::mem::forget((workspaces, reports));
    Ok(code)
}

fn level(fail_on: FailOn) -> Level {
    match fail_on {
        FailOn::Error => Level::Error,
        FailOn::Warning => Level::Warning,
        FailOn::Note => Level::Note,
    }
}
