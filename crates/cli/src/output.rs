//! Standard output: buffered, coloured only where a person looks at it, calm when the reader leaves early.

use std::io::{self, IsTerminal as _, Write as _};
use std::process::ExitCode;

use barm_report::termcolor::{BufferedStandardStream, ColorChoice};

use crate::args::Colour;
use crate::failure::Failure;

/// Writes to standard output and exits with `code`. A reader who has seen enough (`barm check | head`) is no failure.
pub(crate) fn print(
    colour: Colour,
    code: ExitCode,
    write: impl FnOnce(&mut BufferedStandardStream) -> io::Result<()>,
) -> Result<ExitCode, Failure> {
    printed(colour, write).map(|_| code)
}

/// Writes to standard output, and says whether somebody still reads it.
pub(crate) fn printed(
    colour: Colour,
    write: impl FnOnce(&mut BufferedStandardStream) -> io::Result<()>,
) -> Result<bool, Failure> {
    let mut out = BufferedStandardStream::stdout(choice(colour));
    match write(&mut out).and_then(|()| out.flush()) {
        Ok(()) => Ok(true),
        Err(error) if error.kind() == io::ErrorKind::BrokenPipe => Ok(false),
        Err(error) => Err(Failure::Output(error)),
    }
}

fn choice(colour: Colour) -> ColorChoice {
    match colour {
        Colour::Always => ColorChoice::Always,
        // termcolor looks at NO_COLOR and TERM itself, but not at whether anybody is there to see it.
        Colour::Auto if io::stdout().is_terminal() => ColorChoice::Auto,
        Colour::Auto | Colour::Never => ColorChoice::Never,
    }
}
