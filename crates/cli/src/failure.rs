//! Why barm could not run.

use std::io::{self, Write as _};
use std::process::ExitCode;

use barm_reckoning::SettingsError;
use barm_report::termcolor::{ColorChoice, StandardStream};

/// Why barm could not run: exit status 2.
#[derive(Debug)]
pub(crate) enum Failure {
    /// A sentence says it all.
    Said(String),
    /// A `barm.toml` that cannot be used.
    Settings {
        /// Its path as shown.
        path: String,
        /// Its text.
        text: String,
        /// What is wrong in it.
        error: SettingsError,
    },
    /// The output could not be written.
    Output(io::Error),
}

impl From<io::Error> for Failure {
    fn from(error: io::Error) -> Self {
        Self::Output(error)
    }
}

impl Failure {
    /// A sentence.
    pub(crate) fn said(sentence: impl Into<String>) -> Self {
        Self::Said(sentence.into())
    }

    /// Tells it on standard error. There is nobody to tell when that cannot be written either.
    pub(crate) fn tell(self) -> ExitCode {
        let mut out = StandardStream::stderr(ColorChoice::Never);
        let _ = match self {
            Self::Said(sentence) => writeln!(out, "barm: {}", barm_report::visible(&sentence)),
            Self::Settings { path, text, error } => {
                barm_report::settings_error(&mut out, &path, &text, &error)
            }
            Self::Output(error) => writeln!(out, "barm: the output could not be written: {error}"),
        };
        ExitCode::from(2)
    }
}
