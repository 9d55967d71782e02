//! `barm serve`: the language server.

use std::process::ExitCode;

use crate::args::Serve;
use crate::failure::Failure;

/// Serves one editor on standard input and output.
pub(crate) fn run(args: &Serve) -> Result<ExitCode, Failure> {
    barm_lsp::run(args.log.as_deref()).map_err(|error| match &args.log {
        Some(path) => Failure::said(format!("{} cannot be written: {error}", path.display())),
        None => Failure::said(format!("the server cannot start: {error}")),
    })
}
