//! `barm completions` and `barm man`: both are made from the command itself.

use std::fs;
use std::io::Write as _;
use std::process::ExitCode;

use clap::CommandFactory as _;

use crate::args::{Cli, Colour, Completions, Man};
use crate::failure::Failure;
use crate::output;

/// Prints completions for a shell.
pub(crate) fn completions(args: &Completions) -> Result<ExitCode, Failure> {
    let mut script = Vec::new();
    clap_complete::generate(args.shell, &mut Cli::command(), "barm", &mut script);
    output::print(Colour::Never, ExitCode::SUCCESS, |out| out.write_all(&script))
}

/// Writes a page for the program and one for each of its commands.
pub(crate) fn pages(args: &Man) -> Result<ExitCode, Failure> {
    let cannot = |error| Failure::said(format!("{} cannot be written: {error}", args.folder.display()));
    fs::create_dir_all(&args.folder).map_err(cannot)?;
    clap_mangen::generate_to(Cli::command(), &args.folder).map_err(cannot)?;
    Ok(ExitCode::SUCCESS)
}
