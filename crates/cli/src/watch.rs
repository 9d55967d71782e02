//! `barm check --watch`: once more whenever something was saved.

use std::ffi::OsString;
use std::io::{self, IsTerminal as _, Write as _};
use std::path::{Path, PathBuf};
use std::sync::mpsc;
use std::time::Duration;

use barm_workspace::{ENDING, SETTINGS};
use notify::event::{CreateKind, EventKind, ModifyKind, RemoveKind};
use notify::{Event, RecursiveMode, Watcher as _};

use crate::failure::Failure;

/// An editor saves in several steps; so long must it be quiet before the logs are read again,
const QUIET: Duration = Duration::from_millis(100);
/// but after so many such spells they are read whatever goes on.
const PATIENCE: usize = 20;

/// What a round of checking has to say to the watcher.
pub(crate) struct Round {
    /// The names of further files that the logs depend on.
    pub(crate) names: Vec<OsString>,
    /// Nobody reads the output any more.
    pub(crate) unread: bool,
}

/// Checks, and again after each change below `folders`, until the process is ended or nobody reads any more. `also`
/// are further files to be looked at.
pub(crate) fn run(
    folders: &[PathBuf],
    also: &[&Path],
    mut round: impl FnMut() -> Result<Round, Failure>,
) -> Result<(), Failure> {
    let (sender, changes) = mpsc::channel();
    let cannot =
        |what: &str, error: &notify::Error| Failure::said(format!("{what} cannot be watched: {error}"));
    let mut watcher = notify::recommended_watcher(move |event: notify::Result<Event>| {
        // Whoever does not listen any more is about to end.
        let _ = sender.send(event);
    })
    .map_err(|error| cannot("the logs", &error))?;
    let beside = also.iter().filter_map(|file| file.parent()).map(|folder| {
        let folder = if folder.as_os_str().is_empty() { Path::new(".") } else { folder };
        (folder.to_owned(), RecursiveMode::NonRecursive)
    });
    let below = folders.iter().map(|folder| (folder.clone(), RecursiveMode::Recursive));
    for (folder, mode) in beside.chain(below) {
        watcher.watch(&folder, mode).map_err(|error| cannot(&folder.display().to_string(), &error))?;
    }
    let mut names: Vec<OsString> = Vec::new();
    loop {
        if io::stdout().is_terminal() {
            // Erase all, and what has scrolled away; begin at the top.
            print(b"\x1b[2J\x1b[3J\x1b[H")?;
        }
        match round() {
            Ok(Round { unread: true, .. }) => return Ok(()),
            Ok(said) => names = said.names,
            Err(failure @ Failure::Output(_)) => return Err(failure),
            // A settings file half written is mended with the next save.
            Err(failure) => drop(failure.tell()),
        }
        let matters = |event: &notify::Result<Event>| {
            event.as_ref().is_ok_and(|event| matters(event, folders, also, &names))
        };
        while !matters(&changes.recv().map_err(|_| Failure::said("the logs are watched no more"))?) {}
        for _ in 0..PATIENCE {
            if changes.recv_timeout(QUIET).is_err() {
                break;
            }
            while changes.try_recv().is_ok() {}
        }
    }
}

/// Whether something happened that may change what is found. Reading is no change, and barm's own output, where it goes
/// to a file beside the logs, must not set it off again.
fn matters(event: &Event, folders: &[PathBuf], also: &[&Path], names: &[OsString]) -> bool {
    if matches!(event.kind, EventKind::Access(_)) {
        return false;
    }
    // A folder that comes or goes may be full of logs.
    let moved = matches!(
        event.kind,
        EventKind::Create(CreateKind::Folder)
            | EventKind::Remove(RemoveKind::Folder)
            | EventKind::Modify(ModifyKind::Name(_))
    );
    event.paths.iter().any(|path| {
        let Some(name) = path.file_name() else { return false };
        let below = folders.iter().find_map(|folder| path.strip_prefix(folder).ok()).unwrap_or(path);
        let hidden = below.parent().is_some_and(|folder| {
            folder.components().any(|part| part.as_os_str().as_encoded_bytes().starts_with(b"."))
        });
        if hidden {
            return false;
        }
        path.extension()
            .map_or(moved && !name.as_encoded_bytes().starts_with(b"."), |ending| ending == ENDING)
            || name == SETTINGS
            || name == ".gitignore"
            || also.iter().any(|file| file.file_name() == Some(name))
            || names.iter().any(|known| known == name)
    })
}

fn print(bytes: &[u8]) -> io::Result<()> {
    let mut out = io::stdout().lock();
    out.write_all(bytes)?;
    out.flush()
}

#[cfg(test)]
mod tests {
    use notify::event::{AccessKind, DataChange};

    use super::*;

    #[test]
    fn only_what_may_change_a_finding_matters() {
        let folders = [PathBuf::from("/season")];
        let names = [OsString::from("tank.csv")];
        let happened = |kind: EventKind, path: &str| {
            let event = Event::new(kind).add_path(PathBuf::from(path));
            matters(&event, &folders, &[Path::new("known.ndjson")], &names)
        };
        let written = EventKind::Modify(ModifyKind::Data(DataChange::Content));
        for path in ["a.barm", "ales/b.barm", "barm.toml", ".gitignore", "known.ndjson", "x/tank.csv"] {
            assert!(happened(written, &format!("/season/{path}")), "{path}");
            assert!(!happened(EventKind::Access(AccessKind::Any), &format!("/season/{path}")), "{path} read");
        }
        for path in ["out.txt", "ales", ".git/x.barm", ".git/index", "other.csv"] {
            assert!(!happened(written, &format!("/season/{path}")), "{path}");
        }
        assert!(happened(EventKind::Create(CreateKind::Folder), "/season/ales"));
        assert!(!happened(EventKind::Create(CreateKind::Folder), "/season/.git"));
    }
}
