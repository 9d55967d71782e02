//! What is read from disk for a workspace.

use std::collections::BTreeSet;
use std::fs::File;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use barm_ide::Loaded;
use barm_reckoning::{Logged, LoggerFile, Settings, SettingsError};
use barm_workspace::{
    ENDING, LARGEST, LARGEST_SETTINGS, Met, SETTINGS, Text, beside, contents, open, root_of, slashed, walk,
};
use rayon::prelude::*;

/// Settings as read, and what is wrong with them where they could not be.
pub(crate) struct Read {
    pub(crate) settings: Settings,
    /// The text of the file and its first fault.
    pub(crate) fault: Option<(String, SettingsError)>,
}

/// What reads: for whole workspaces, and for what loggers wrote.
#[derive(Clone, Copy)]
pub(crate) struct Disk {
    pub(crate) below: fn(&Path, usize, &dyn Fn(usize)) -> Below,
    pub(crate) loggers: fn(BTreeSet<LoggerFile>, Option<&Path>, &Places<'_>) -> Found,
}

impl Disk {
    /// The one that there is.
    pub(crate) const OURS: Self = Self { below: read_below, loggers: read_loggers };
}

/// What loggers' files have in them, or why they were not read.
pub(crate) type Found = Vec<(LoggerFile, Result<Logged, String>)>;

/// Says where a log lies.
pub(crate) type Places<'a> = dyn Fn(&str) -> Option<PathBuf> + Sync + 'a;

/// The logs below a folder.
#[derive(Default)]
pub(crate) struct Below {
    pub(crate) files: Vec<Loaded>,
    /// Folders below that are workspaces of their own.
    pub(crate) nested: Vec<PathBuf>,
    /// Whether there was more in the folder than was to be looked at.
    pub(crate) cut_short: bool,
}

/// The workspace that a folder belongs to; the folder itself where no other is found.
pub(crate) fn workspace_of(folder: &Path) -> PathBuf {
    root_of(folder).unwrap_or_else(|| folder.to_owned())
}

/// Reads the logs of a workspace, having looked at so many files and folders at the most.
fn read_below(root: &Path, most: usize, found_so_many: &dyn Fn(usize)) -> Below {
    let mut found: Vec<(PathBuf, Met)> = Vec::new();
    let mut nested = Vec::new();
    let whole = walk(root, Some(most), |path, met| found.push((path.to_owned(), met)), &mut nested);
    found.retain(|(path, _)| !nested.iter().any(|inner| path.starts_with(inner)));
    found_so_many(found.len());
    let files = found.into_par_iter().filter_map(|(path, met)| {
        let below: Arc<str> = Arc::from(slashed(path.strip_prefix(root).ok()?));
        let bytes = match met {
            Met::Regular => File::open(&path).and_then(|file| contents(file, LARGEST)),
            Met::Link => open(&path, Some(root), LARGEST),
        };
        let (text, unread) = barm_workspace::text(bytes);
        Some((below, text, unread))
    });
    Below { files: files.collect(), nested, cut_short: !whole }
}

/// Reads one log again; `None` where it is gone.
pub(crate) fn read_one(root: Option<&Path>, path: &Path) -> Option<Text> {
    if !path.symlink_metadata().is_ok_and(|it| !it.is_dir()) {
        return None;
    }
    Some(barm_workspace::text(open(path, root, LARGEST)))
}

/// The settings of a workspace; those that hold without any where there are none, or where they cannot be used.
pub(crate) fn read_settings(root: &Path) -> Read {
    let path = root.join(SETTINGS);
    if !path.exists() {
        return Read { settings: Settings::default(), fault: None };
    }
    let fault = |text: String, message: String, span| Read {
        settings: Settings::default(),
        fault: Some((text, SettingsError { span, message })),
    };
    match open(&path, Some(root), LARGEST_SETTINGS).map(String::from_utf8) {
        Err(error) => fault(String::new(), format!("cannot be read: {error}"), 0..0),
        Ok(Err(_)) => fault(String::new(), "cannot be read: it is no UTF-8".to_owned(), 0..0),
        Ok(Ok(text)) => match barm_rules::settings(&text) {
            Ok(settings) => Read { settings, fault: None },
            Err(error) => fault(text, error.message, error.span),
        },
    }
}

/// Reads loggers' files; `place` says where a log lies.
fn read_loggers(files: BTreeSet<LoggerFile>, root: Option<&Path>, place: &Places<'_>) -> Found {
    let read = |file: LoggerFile| {
        let log = place(&file.log).unwrap_or_default();
        let opened = beside(&log, &file.name, root).map_err(|error| barm_workspace::why(&error));
        let logged = opened.and_then(|opened| file.read(opened));
        (file, logged)
    };
    files.into_par_iter().map(read).collect()
}

/// A path with the links of its folder resolved, whether it is there or not.
pub(crate) fn settled(path: &Path) -> Option<PathBuf> {
    let (folder, name) = path.parent().zip(path.file_name())?;
    Some(folder.canonicalize().unwrap_or_else(|_| folder.to_owned()).join(name))
}

/// Whether a path is that of a log.
pub(crate) fn is_log(path: &Path) -> bool {
    path.extension().is_some_and(|ending| ending == ENDING)
}
