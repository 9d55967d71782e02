//! `barm new workspace`

use std::fs;
use std::path::PathBuf;
use std::process::ExitCode;

use barm_workspace::SETTINGS;

use super::ask::{Asker, Question};
use crate::args::NewWorkspace;
use crate::failure::Failure;
use crate::write;

const HEAD: &str =
    "# What is true of the house and not of one log; `barm settings` shows all that may stand here.\n";

const UNITS: Question<'_> = Question::open("--units", "Measures, metric or us?", "metric");
const ELEVATION: Question<'_> = Question::open(
    "--elevation",
    "How high above the sea is the brewhouse? Less oxygen dissolves up there.",
    "340 m",
);
const REFRIGERATOR: Question<'_> =
    Question::open("--refrigerator", "How cold is the place where you keep yeast?", "4 °C");

/// Writes a `barm.toml` into a folder that has none.
pub(super) fn start(args: &NewWorkspace) -> Result<ExitCode, Failure> {
    let path = match args.folder.as_path() {
        here if here.as_os_str() == "." => PathBuf::from(SETTINGS),
        folder => folder.join(SETTINGS),
    };
    if path.exists() {
        return Err(Failure::said(format!("{} is there already, and was left as it is", path.display())));
    }
    let mut asker = Asker::new();
    let mut text = HEAD.to_owned();
    // A line up to its value, with the head of its table before it.
    for (key, question, given) in [
        ("units", UNITS, &args.units),
        ("elevation", ELEVATION, &args.elevation),
        ("\n[places]\nrefrigerator", REFRIGERATOR, &args.refrigerator),
    ] {
        let line = |answer: &str| format!("{key} = {}\n", toml::Value::from(answer));
        let read =
            |answer: &str| barm_rules::settings(&line(answer)).map(drop).map_err(|error| error.message);
        if let Some(answer) = asker.answer(given.as_ref(), &question, read)? {
            text += &line(&answer);
        }
    }
    let cannot = |error| Failure::said(format!("{} was not written: {error}", path.display()));
    fs::create_dir_all(&args.folder).map_err(cannot)?;
    write::begin(&path, &text).map_err(cannot)?;
    write::tell(&format!("began {}", path.display()))
}
