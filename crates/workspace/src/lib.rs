//! Finds the logs of a workspace and opens them. A log is nobody's to trust: only regular files are opened, none outside
//! the workspace, none above [`LARGEST`].

use std::fs::{self, File};
use std::io::{self, Read as _};
use std::path::{Component, Path, PathBuf};
use std::sync::Arc;

use barm_syntax::Span;
use ignore::WalkBuilder;

/// The name of the settings.
pub const SETTINGS: &str = "barm.toml";
/// The ending of a log's name.
pub const ENDING: &str = "barm";
/// The largest log that is read, in bytes.
pub const LARGEST: u64 = 512 << 20;
/// The largest `barm.toml`.
pub const LARGEST_SETTINGS: u64 = 1 << 20;

/// The workspace of a folder: the nearest at or above it that holds `barm.toml`, else the nearest that holds `.git`.
#[must_use]
pub fn root_of(folder: &Path) -> Option<PathBuf> {
    let holding =
        |name: &str| folder.ancestors().find(|folder| folder.join(name).exists()).map(Path::to_owned);
    holding(SETTINGS).or_else(|| holding(".git"))
}

/// A path with `/` between folders.
#[must_use]
pub fn slashed(path: &Path) -> String {
    let mut out = String::new();
    for part in path.components() {
        match part {
            Component::RootDir => out.push('/'),
            Component::CurDir => {}
            part => {
                if !out.is_empty() && !out.ends_with('/') {
                    out.push('/');
                }
                out.push_str(&part.as_os_str().to_string_lossy());
            }
        }
    }
    out
}

/// How a log lies in its folder.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Met {
    /// A regular file.
    Regular,
    /// A link, or something else: it may be anything, anywhere.
    Link,
}

/// Meets every log below a folder, and every folder below it that holds settings; with `most`, until so many files and
/// folders have been looked at, in order of name. Says whether all were.
pub fn walk(
    root: &Path,
    most: Option<usize>,
    mut met: impl FnMut(&Path, Met),
    nested: &mut Vec<PathBuf>,
) -> bool {
    for (looked_at, entry) in walker(root).build().enumerate() {
        if most.is_some_and(|most| looked_at >= most) {
            return false;
        }
        let Ok(entry) = entry else { continue };
        let path = entry.path();
        let Some(kind) = entry.file_type() else { continue };
        if path.file_name().is_some_and(|name| name == SETTINGS) && kind.is_file() {
            nested.extend(path.parent().filter(|folder| *folder != root).map(Path::to_owned));
        } else if path.extension().is_some_and(|ending| ending == ENDING) && !kind.is_dir() {
            met(path, if kind.is_file() { Met::Regular } else { Met::Link });
        }
    }
    true
}

/// Whether a walk from a folder would come by a file: it is there, and nothing tells to ignore it.
#[must_use]
pub fn is_met(root: &Path, file: &Path) -> bool {
    let wanted = file.to_owned();
    let mut walk = walker(root);
    walk.filter_entry(move |entry| wanted.starts_with(entry.path()));
    walk.build().filter_map(Result::ok).any(|entry| entry.path() == file)
}

fn walker(root: &Path) -> WalkBuilder {
    // What is read depends on the files of the workspace, not on how this machine's git is set up.
    let mut walk = WalkBuilder::new(root);
    walk.require_git(false).git_global(false).git_exclude(false).ignore(false).follow_links(false);
    walk.sort_by_file_name(Ord::cmp);
    walk
}

/// A file's text, and what was wrong with it.
pub type Text = (Arc<str>, Option<(Span, String)>);

/// The text of a log, and why it was not read, or not as it is: bytes that are no UTF-8 become �, and the first of them is
/// told.
#[must_use]
pub fn text(bytes: io::Result<Vec<u8>>) -> Text {
    match bytes.map(String::from_utf8) {
        Ok(Ok(text)) => (Arc::from(text), None),
        Err(error) => {
            (Arc::from(""), Some((Span::default(), format!("this file was not read: {}", why(&error)))))
        }
        Ok(Err(error)) => {
            let at = u32::try_from(error.utf8_error().valid_up_to()).unwrap_or(u32::MAX);
            let text = String::from_utf8_lossy(error.as_bytes());
            let end = at.saturating_add(u32::try_from('\u{FFFD}'.len_utf8()).unwrap_or(0));
            let why = "this is no UTF-8 text from here on: save the file as UTF-8".to_owned();
            (Arc::from(text), Some((Span::new(at, end), why)))
        }
    }
}

/// Why a file was not read, in words that are the same on every machine and in every tongue.
#[must_use]
pub fn why(error: &io::Error) -> String {
    match error.kind() {
        // Our own words.
        io::ErrorKind::Other => error.to_string(),
        io::ErrorKind::NotFound | io::ErrorKind::NotADirectory => "there is no such file".to_owned(),
        io::ErrorKind::PermissionDenied => "you may not read it".to_owned(),
        io::ErrorKind::IsADirectory => "it is a folder".to_owned(),
        kind => kind.to_string(),
    }
}

/// The bytes of a regular file; with `inside`, of one that lies in that folder when its links are resolved.
///
/// # Errors
/// Where it is none, is too large, or cannot be read.
pub fn open(path: &Path, inside: Option<&Path>, largest: u64) -> io::Result<Vec<u8>> {
    contents(File::open(real(path, inside)?)?, largest)
}

/// Where a regular file lies when its links are resolved; inside of `inside`, where that is given.
///
/// # Errors
/// Where it does not, or cannot be looked at.
pub fn real(path: &Path, inside: Option<&Path>) -> io::Result<PathBuf> {
    let real = fs::canonicalize(path)?;
    if inside.is_some_and(|root| !real.starts_with(root)) {
        return Err(io::Error::other("it lies outside of the workspace"));
    }
    // Opening a pipe would wait for somebody to write into it.
    if !fs::metadata(&real)?.is_file() {
        return Err(io::Error::other("it is no regular file"));
    }
    Ok(real)
}

/// Opens a file that a log names from its own folder, to be read piece by piece: a regular one inside of `root` when its
/// links are resolved, or, where there is no root, inside of the log's folder.
///
/// # Errors
/// Where it is none, is too large, or cannot be read.
pub fn beside(log: &Path, name: &str, root: Option<&Path>) -> io::Result<impl io::BufRead> {
    let folder = log.parent().filter(|folder| folder.is_absolute());
    let folder = folder.ok_or_else(|| io::Error::other("its log lies in no folder"))?;
    let root = root.map_or_else(|| fs::canonicalize(folder), |root| Ok(root.to_owned()))?;
    let file = File::open(real(&folder.join(name), Some(&root))?)?;
    if file.metadata()?.len() > LARGEST {
        return Err(io::Error::other(format!("it is larger than {} MB", LARGEST >> 20)));
    }
    // A file that grows while it is read ends where it may.
    Ok(io::BufReader::with_capacity(1 << 16, file.take(LARGEST)))
}

/// The bytes of an open file.
///
/// # Errors
/// Where it is too large, or cannot be read.
pub fn contents(file: File, largest: u64) -> io::Result<Vec<u8>> {
    let too_large = || io::Error::other(format!("it is larger than {} MB", largest >> 20));
    let size = file.metadata()?.len();
    if size > largest {
        return Err(too_large());
    }
    let mut bytes = Vec::with_capacity(usize::try_from(size).unwrap_or(0) + 1);
    // It may have grown: one byte more than allowed tells so.
    file.take(largest + 1).read_to_end(&mut bytes)?;
    if bytes.len() as u64 > largest {
        return Err(too_large());
    }
    Ok(bytes)
}
