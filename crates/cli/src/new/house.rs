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

/// A setting that is asked for.
struct Setting {
    /// The line up to its value; a table's head before it, where it stands in one.
    key: &'static str,
    option: &'static str,
    asks: &'static str,
    example: &'static str,
}

const UNITS: Setting =
    Setting { key: "units", option: "--units", asks: "Measures, metric or us?", example: "metric" };
const ELEVATION: Setting = Setting {
    key: "elevation",
    option: "--elevation",
    asks: "How high above the sea is the brewhouse? Less oxygen dissolves up there.",
    example: "340 m",
};
const REFRIGERATOR: Setting = Setting {
    key: "\n[places]\nrefrigerator",
    option: "--refrigerator",
    asks: "How cold is the place where you keep yeast?",
    example: "4 °C",
};

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
    for (setting, given) in
        [(UNITS, &args.units), (ELEVATION, &args.elevation), (REFRIGERATOR, &args.refrigerator)]
    {
        let line = |answer: &str| format!("{} = {}\n", setting.key, toml::Value::from(answer));
        let read =
            |answer: &str| barm_rules::settings(&line(answer)).map(drop).map_err(|error| error.message);
        let question = Question {
            option: setting.option,
            asks: setting.asks,
            example: setting.example,
            default: None,
            needed: false,
            read: &read,
        };
        if let Some(answer) = asker.answer(given.as_deref(), &question)? {
            text += &line(&answer);
        }
    }
    let cannot = |error| Failure::said(format!("{} was not written: {error}", path.display()));
    fs::create_dir_all(&args.folder).map_err(cannot)?;
    write::begin(&path, &text).map_err(cannot)?;
    write::tell(&format!("began {}", path.display()))
}
