//! What is wrong in a `barm.toml`, at its place.

use std::io;
use std::sync::Arc;

use barm_reckoning::{FileId, Place, SettingsError, Source};
use barm_syntax::Span;
use barm_syntax::ast::Log;
use codespan_reporting::diagnostic::{Diagnostic, LabelStyle};
use codespan_reporting::term::termcolor::WriteColor;

use crate::excerpt::{Excerpt, Mark};
use crate::place::Files;
use crate::{Base, screen, text};

/// Shows the error with the line that it stands on.
///
/// # Errors
/// When `out` cannot be written.
pub fn settings_error(
    out: &mut dyn WriteColor,
    path: &str,
    toml: &str,
    error: &SettingsError,
) -> io::Result<()> {
    let source = Source { path: Arc::from(path), text: Arc::from(toml), log: Log::default() };
    let place = Place { file: FileId(0), span: Span::of(error.span.clone()) };
    let mark = Mark { place, style: LabelStyle::Primary, text: "" };
    let (excerpt, labels) = Excerpt::new(&Files::new(&[source], &Base::default()), &[mark]);
    let diagnostic = Diagnostic::error().with_message(screen::visible(&error.message)).with_labels(labels);
    text::emit(out, &excerpt, &diagnostic)
}
