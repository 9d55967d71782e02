//! `barm new`: what is not said by options is asked for, where there is somebody to ask. An answer is a piece of a log,
//! read by the reader of logs, so nothing is written that could not be read back.

mod ask;
mod block;
mod house;

use std::process::ExitCode;

use crate::args::Start;
use crate::failure::Failure;

/// Starts a workspace, a culture or a brew.
pub(crate) fn run(what: &Start) -> Result<ExitCode, Failure> {
    match what {
        Start::Workspace(args) => house::start(args),
        Start::Culture(args) => block::culture(args),
        Start::Brew(args) => block::brew(args),
    }
}
