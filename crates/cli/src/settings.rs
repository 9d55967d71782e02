//! `barm settings`

use std::io::Write as _;
use std::process::ExitCode;

use crate::args::{Colour, Settings};
use crate::failure::Failure;
use crate::output;

/// Shows every key of `barm.toml`, or its schema.
pub(crate) fn run(args: &Settings) -> Result<ExitCode, Failure> {
    output::print(Colour::Never, ExitCode::SUCCESS, |out| {
        if args.schema {
            writeln!(out, "{:#}", barm_rules::settings_schema())
        } else {
            write!(out, "{}", barm_reckoning::Settings::explained())
        }
    })
}
