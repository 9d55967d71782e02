//! Finds the logs of a workspace and reads them.
//!
//! The workspace of a path is the nearest folder at or above it that holds `barm.toml`, else the nearest that holds
//! `.git`, else the paths alone. Every log in it is read, whatever was asked for: names are shared. A log is nobody's
//! to trust: only regular files are opened, none outside the workspace, none above [`LARGEST`].

use std::collections::BTreeMap;
use std::fs::{self, File};
use std::io::{self, Read as _};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use barm_reckoning::{FileId, Loggers, Place, Season, Settings, Source};
use barm_report::{Base, Checked};
use barm_rules::{Options, Report};
use barm_workspace::{LARGEST, LARGEST_SETTINGS, Met, SETTINGS, Text, contents, open, real, slashed, walk};
use rayon::prelude::*;

use crate::args::Input;
use crate::failure::Failure;
use crate::loggers;
use crate::progress::Progress;
use crate::timings::Timings;

/// Fewer files than this are read faster than threads are started.
const WORTH_THREADS: usize = 8;

/// A workspace, read and reckoned.
pub(crate) struct Workspace {
    /// What was reckoned.
    pub(crate) season: Season,
    /// How its paths look from the current folder.
    pub(crate) base: Base,
    /// Its folder; `None` for paths alone.
    root: Option<PathBuf>,
    /// Where its files lie, in the season's order.
    files: Vec<Found>,
    /// Those of them that were asked about.
    asked: Vec<FileId>,
}

impl Workspace {
    /// Whether a place lies in what was asked about.
    pub(crate) fn asks(&self, place: Place) -> bool {
        self.asked(place.file)
    }

    fn asked(&self, file: FileId) -> bool {
        self.files.get(file.0 as usize).is_some_and(|file| file.asked)
    }

    /// Checks it; only what lies in the paths asked for is kept.
    pub(crate) fn check(&self, options: &Options) -> Report {
        let mut report = barm_rules::check(&self.season, options);
        report.findings.retain(|finding| self.asks(finding.place));
        report.accepted.retain(|place| self.asks(*place));
        report.left_out.retain(|file, _| self.asked(*file));
        report
    }

    /// As the report wants it.
    pub(crate) fn with<'a>(&'a self, report: &'a Report) -> Checked<'a> {
        Checked { season: &self.season, report, base: &self.base, asked: &self.asked }
    }

    /// The files that were asked about and read as they are, byte by byte: those that may be written.
    pub(crate) fn writable(&self) -> impl Iterator<Item = FileId> {
        let whole = |id: FileId| self.season.unread.iter().all(|(place, _)| place.file != id);
        let ids = (0..).map(FileId).zip(&self.files);
        ids.filter(move |(id, file)| file.asked && whole(*id)).map(|(id, _)| id)
    }

    /// A file's path as the user would type it.
    pub(crate) fn shown(&self, file: FileId) -> String {
        self.files.get(file.0 as usize).map_or_else(String::new, |found| self.base.path(&found.shown))
    }

    /// Its folder; `None` for paths alone.
    pub(crate) fn root(&self) -> Option<&Path> {
        self.root.as_deref()
    }

    /// A file's path as seen from a folder that is absolute and holds no links.
    pub(crate) fn path_from(&self, folder: &Path, file: FileId) -> String {
        let Some(found) = self.files.get(file.0 as usize) else { return String::new() };
        let mut up = String::new();
        for ancestor in folder.ancestors() {
            if let Ok(below) = found.path.strip_prefix(ancestor) {
                return up + &slashed(below);
            }
            up.push_str("../");
        }
        slashed(&found.path)
    }

    /// A file's text.
    pub(crate) fn text(&self, file: FileId) -> &str {
        self.season.sources.get(file.0 as usize).map_or("", |source| &source.text)
    }

    /// The same workspace with other texts in some of its files.
    pub(crate) fn with_texts(self, mut texts: BTreeMap<FileId, String>) -> Self {
        let mut sources = self.season.sources;
        for (id, source) in (0..).map(FileId).zip(&mut sources) {
            if let Some(text) = texts.remove(&id) {
                source.log = barm_syntax::read(&text);
                source.text = Arc::from(text);
            }
        }
        let loggers = loggers::read(&sources, self.season.loggers, self.root.as_deref(), |log| {
            self.files.iter().find(|found| found.shown == log).map(|found| found.path.as_path())
        });
        let mut season = Season::reckon_with(sources, loggers, self.season.settings);
        season.unread = self.season.unread;
        Self { season, ..self }
    }

    /// Where a file's new text goes: into the file itself, links resolved, or to standard output.
    pub(crate) fn target(&self, file: FileId) -> io::Result<Target> {
        let found = self.files.get(file.0 as usize).ok_or(io::ErrorKind::NotFound)?;
        found.target(self.root.as_deref())
    }
}

/// Where a new text goes.
pub(crate) enum Target {
    /// Into this file, a regular one inside its workspace.
    File(PathBuf),
    /// Standard input was read, so standard output is written.
    Output,
}

/// A file to be read.
struct Found {
    /// Where it lies.
    path: PathBuf,
    /// As people see it: from the workspace's folder, `/` between folders.
    shown: String,
    asked: bool,
    from: From,
}

impl Found {
    /// Its text, and what is wrong with it.
    fn text(&self, root: Option<&Path>, stdin: Option<&[u8]>) -> Text {
        let bytes = match self.from {
            From::Stdin => Ok(stdin.unwrap_or_default().to_vec()),
            From::Walk => File::open(&self.path).and_then(|file| contents(file, LARGEST)),
            From::Elsewhere => open(&self.path, root, LARGEST),
        };
        barm_workspace::text(bytes)
    }

    /// Where a new text of it goes: into the file itself, links resolved, or to standard output.
    fn target(&self, root: Option<&Path>) -> io::Result<Target> {
        match self.from {
            From::Stdin => Ok(Target::Output),
            From::Walk | From::Elsewhere => real(&self.path, root).map(Target::File),
        }
    }
}

/// How a file was come by, and so what must be looked at before it is opened.
#[derive(Clone, Copy, PartialEq, Eq)]
enum From {
    /// A regular file, met below the workspace's folder.
    Walk,
    /// A link, or named by the user: it may be anything, anywhere.
    Elsewhere,
    /// Standard input stands for it.
    Stdin,
}

impl From {
    const fn of(met: Met) -> Self {
        match met {
            Met::Regular => Self::Walk,
            Met::Link => Self::Elsewhere,
        }
    }
}

/// Paths of one workspace, as far as they were asked about.
struct Group {
    /// `None`: the paths alone.
    root: Option<PathBuf>,
    asked: Vec<Asked>,
}

struct Asked {
    /// As typed.
    typed: PathBuf,
    /// Absolute, its folder's links resolved.
    path: PathBuf,
    folder: bool,
    stdin: bool,
}

/// The logs of a workspace, found and not yet read.
struct Located {
    root: Option<PathBuf>,
    base: Base,
    found: Vec<Found>,
}

/// Reads the workspaces of the paths asked for.
pub(crate) fn load(input: &Input, timings: &mut Timings) -> Result<Vec<Workspace>, Failure> {
    load_with(input, read_stdin, timings)
}

/// Reads a file's workspace as it would be if the file held this text; only the file is asked about. It need not be
/// there.
pub(crate) fn standing_for(file: &Path, text: &[u8]) -> Result<Workspace, Failure> {
    let input = Input { paths: vec![PathBuf::from("-")], config: None, stdin_name: Some(file.to_owned()) };
    let mut workspaces = load_with(&input, || Ok(text.to_vec()), &mut Timings::new())?;
    workspaces.pop().ok_or_else(|| Failure::said(format!("{} lies in no folder", file.display())))
}

/// The text of one file, wherever it lies.
pub(crate) fn text(file: &Path) -> Result<String, Failure> {
    let cannot = |why: String| Failure::said(format!("{} cannot be read: {why}", file.display()));
    let bytes = open(file, None, LARGEST).map_err(|error| cannot(error.to_string()))?;
    String::from_utf8(bytes).map_err(|_| cannot("it is no UTF-8 text".to_owned()))
}

fn load_with(
    input: &Input,
    stdin: impl FnOnce() -> Result<Vec<u8>, Failure>,
    timings: &mut Timings,
) -> Result<Vec<Workspace>, Failure> {
    let here = here()?;
    let (located, stdin) = locate(input, stdin, &here)?;
    timings.lap("find");
    let mut out = Vec::new();
    for one in located {
        let settings = settings(input, one.root.as_deref(), &here)?;
        out.push(read(one, settings, stdin.as_deref(), timings));
    }
    Ok(out)
}

/// The folders in which something may change that matters to the paths asked for, none within another.
pub(crate) fn folders(input: &Input) -> Result<Vec<PathBuf>, Failure> {
    let here = here()?;
    let (located, _) = locate(input, read_stdin, &here)?;
    let mut folders: Vec<PathBuf> = Vec::new();
    for one in located {
        let alone = || one.found.iter().filter_map(|found| found.path.parent().map(Path::to_owned)).collect();
        folders.extend(one.root.clone().map_or_else(alone, |root| vec![root]));
    }
    // A folder asked for may hold no log yet.
    folders.extend(
        input.paths.iter().filter_map(|path| fs::canonicalize(path).ok().filter(|path| path.is_dir())),
    );
    if input.paths.is_empty() {
        folders.push(here);
    }
    folders.sort();
    folders.dedup_by(|inner, outer| inner.starts_with(outer));
    Ok(folders)
}

/// A log that was asked about, for what needs no other log and no settings.
pub(crate) struct Alone {
    /// Its path as the user would type it.
    pub(crate) shown: String,
    /// Where a new text of it goes.
    pub(crate) target: io::Result<Target>,
    /// Its text; `Err`: why it could not be read.
    pub(crate) text: Result<Arc<str>, String>,
}

/// Reads the logs that were asked about and no others.
pub(crate) fn alone(input: &Input) -> Result<Vec<Alone>, Failure> {
    let (located, stdin) = locate(input, read_stdin, &here()?)?;
    let mut out = Vec::new();
    for Located { root, base, found } in &located {
        out.extend(found.iter().filter(|found| found.asked).map(|found| {
            let shown = base.path(&found.shown);
            let text = match found.text(root.as_deref(), stdin.as_deref()) {
                (text, None) => Ok(text),
                (text, Some((_, why))) if text.is_empty() => Err(format!("{shown}: {why}")),
                _ => Err(format!("{shown} is no UTF-8 text")),
            };
            Alone { shown, target: found.target(root.as_deref()), text }
        }));
    }
    Ok(out)
}

fn here() -> Result<PathBuf, Failure> {
    std::env::current_dir().and_then(fs::canonicalize).map_err(|error| {
        Failure::said(format!("the current folder cannot be read: {}", barm_workspace::why(&error)))
    })
}

/// Finds the workspaces of the paths asked for, and reads standard input where it is one of them.
fn locate(
    input: &Input,
    stdin: impl FnOnce() -> Result<Vec<u8>, Failure>,
    here: &Path,
) -> Result<(Vec<Located>, Option<Vec<u8>>), Failure> {
    let mut groups: BTreeMap<Option<PathBuf>, Vec<Asked>> = BTreeMap::new();
    let current = [PathBuf::from(".")];
    let paths = if input.paths.is_empty() { &current[..] } else { &input.paths };
    for path in paths {
        let asked = ask(path, input, here)?;
        groups.entry(root(&asked)).or_default().push(asked);
    }
    let stdin = if paths.iter().any(|path| path.as_os_str() == "-") { Some(stdin()?) } else { None };

    let mut out = Vec::new();
    // Outer folders come before those within them.
    while let Some((root, asked)) = groups.pop_first() {
        let group = Group { root, asked };
        let (mut found, nested) = find(&group);
        // A folder below with settings of its own is a workspace of its own.
        for root in nested {
            let asked = Asked { typed: root.clone(), path: root.clone(), folder: true, stdin: false };
            groups.entry(Some(root)).or_default().push(asked);
        }
        found.sort_by(|a, b| a.shown.cmp(&b.shown));
        let base = group.root.as_ref().map_or_else(Base::default, |root| base(root, here));
        out.push(Located { root: group.root, base, found });
    }
    Ok((out, stdin))
}

/// What a path on the command line is.
fn ask(typed: &Path, input: &Input, here: &Path) -> Result<Asked, Failure> {
    let cannot = |error: io::Error| {
        Failure::said(format!("{} cannot be read: {}", typed.display(), barm_workspace::why(&error)))
    };
    if typed.as_os_str() == "-" {
        let name = input.stdin_name.clone().unwrap_or_else(|| PathBuf::from("-"));
        let path = match &input.stdin_name {
            // The file itself need not be there.
            Some(name) => here.join(resolved(name).unwrap_or_else(|_| name.clone())),
            None => name.clone(),
        };
        return Ok(Asked { typed: name, path, folder: false, stdin: true });
    }
    let folder = fs::metadata(typed).map_err(cannot)?.is_dir();
    let path = if folder { fs::canonicalize(typed) } else { resolved(typed) }.map_err(cannot)?;
    Ok(Asked { typed: typed.to_owned(), path, folder, stdin: false })
}

/// The absolute path of a file, the links of its folder resolved but not its own: a link in a workspace belongs there.
fn resolved(file: &Path) -> io::Result<PathBuf> {
    let folder = match file.parent() {
        Some(folder) if folder.as_os_str().is_empty() => Path::new("."),
        Some(folder) => folder,
        None => return fs::canonicalize(file),
    };
    match file.file_name() {
        Some(name) => Ok(fs::canonicalize(folder)?.join(name)),
        None => fs::canonicalize(file),
    }
}

fn root(asked: &Asked) -> Option<PathBuf> {
    // Standard input that stands for no file is a workspace by itself.
    let start = if asked.folder { Some(asked.path.as_path()) } else { asked.path.parent() };
    let start = start.filter(|path| path.is_absolute())?;
    barm_workspace::root_of(start)
}

/// How the paths of a workspace look from `here`.
fn base(root: &Path, here: &Path) -> Base {
    let folder = |path: &Path| if path.as_os_str().is_empty() { String::new() } else { slashed(path) + "/" };
    match (root.strip_prefix(here), here.strip_prefix(root)) {
        (Ok(up), _) => Base { up: folder(up), down: String::new() },
        (_, Ok(down)) => Base { up: "../".repeat(down.components().count()), down: folder(down) },
        _ => Base { up: folder(root), down: String::new() },
    }
}

fn settings(input: &Input, root: Option<&Path>, here: &Path) -> Result<Settings, Failure> {
    let path = match (&input.config, root) {
        (Some(path), _) => path.clone(),
        (None, Some(root)) => root.join(SETTINGS),
        (None, None) => return Ok(Settings::default()),
    };
    if input.config.is_none() && !path.exists() {
        return Ok(Settings::default());
    }
    let inside = if input.config.is_none() { root } else { None };
    let shown = match path.strip_prefix(here) {
        Ok(path) => slashed(path),
        Err(_) => slashed(&path),
    };
    let bytes = open(&path, inside, LARGEST_SETTINGS)
        .map_err(|error| Failure::said(format!("{shown} cannot be read: {}", barm_workspace::why(&error))))?;
    let text = String::from_utf8(bytes)
        .map_err(|_| Failure::said(format!("{shown} cannot be read: it is no UTF-8")))?;
    barm_rules::settings(&text).map_err(|error| Failure::Settings { path: shown, text, error })
}

/// The logs of a group, and the folders below it that are workspaces of their own.
fn find(group: &Group) -> (Vec<Found>, Vec<PathBuf>) {
    let mut found = Vec::new();
    let mut nested = Vec::new();
    if let Some(root) = &group.root {
        walk(
            root,
            None,
            |path, met| {
                let asked = group.asked.iter().any(|asked| path.starts_with(&asked.path));
                let shown = slashed(path.strip_prefix(root).unwrap_or(path));
                found.push(Found { path: path.to_owned(), shown, asked, from: From::of(met) });
            },
            &mut nested,
        );
    }
    for asked in &group.asked {
        if asked.folder && group.root.is_none() {
            walk(
                &asked.path,
                None,
                |path, met| {
                    let below = asked.typed.join(path.strip_prefix(&asked.path).unwrap_or(path));
                    found.push(Found {
                        path: path.to_owned(),
                        shown: slashed(&below),
                        asked: true,
                        from: From::of(met),
                    });
                },
                &mut nested,
            );
        } else if !asked.folder {
            // A file that was named is read whatever its ending, and though it be ignored.
            found.retain(|found| found.path != asked.path);
            let shown = match &group.root {
                Some(root) => slashed(asked.path.strip_prefix(root).unwrap_or(&asked.path)),
                None => slashed(&asked.typed),
            };
            let from = if asked.stdin { From::Stdin } else { From::Elsewhere };
            found.push(Found { path: asked.path.clone(), shown, asked: true, from });
        }
    }
    found
        .retain(|found| !nested.iter().any(|root| found.from != From::Stdin && found.path.starts_with(root)));
    nested.retain(|root| group.asked.iter().any(|asked| root.starts_with(&asked.path)));
    // Of roots within roots the outer one finds the inner again.
    let outer = nested.clone();
    nested.retain(|root| !outer.iter().any(|other| root != other && root.starts_with(other)));
    (found, nested)
}

fn read(located: Located, settings: Settings, stdin: Option<&[u8]>, timings: &mut Timings) -> Workspace {
    let Located { root, base, found } = located;
    let progress = Progress::over(found.len());
    progress.step("reading");
    let read = |found: &Found| {
        let text = found.text(root.as_deref(), stdin);
        progress.log();
        text
    };
    let texts: Vec<Text> = if found.len() < WORTH_THREADS {
        found.iter().map(read).collect()
    } else {
        found.par_iter().map(read).collect()
    };
    timings.read(texts.len(), texts.iter().map(|(text, _)| text.len()).sum());
    timings.lap("read");

    progress.step("parsing");
    let parse = |(text, _): &Text| {
        let log = barm_syntax::read(text);
        progress.log();
        log
    };
    let logs: Vec<_> = if texts.len() < WORTH_THREADS {
        texts.iter().map(parse).collect()
    } else {
        texts.par_iter().map(parse).collect()
    };
    timings.lap("parse");

    let mut sources = Vec::with_capacity(found.len());
    let mut unread = Vec::new();
    for ((found, (text, wrong)), log) in found.iter().zip(texts).zip(logs) {
        let file = FileId(u32::try_from(sources.len()).unwrap_or(u32::MAX));
        unread.extend(wrong.map(|(span, why)| (Place { file, span }, why)));
        sources.push(Source { path: Arc::from(found.shown.as_str()), text, log });
    }
    let loggers = loggers::read(&sources, Loggers::default(), root.as_deref(), |log| {
        found.iter().find(|found| found.shown == log).map(|found| found.path.as_path())
    });
    timings.lap("loggers");
    progress.step("reckoning");
    let mut season = Season::reckon_with(sources, loggers, settings);
    season.unread = unread;
    timings.lap("reckon");
    let asked = (0..).map(FileId).zip(&found).filter(|(_, found)| found.asked).map(|(id, _)| id).collect();
    Workspace { season, base, root, files: found, asked }
}

fn read_stdin() -> Result<Vec<u8>, Failure> {
    let mut bytes = Vec::new();
    let cannot = |error: io::Error| Failure::said(format!("standard input cannot be read: {error}"));
    io::stdin().lock().take(LARGEST + 1).read_to_end(&mut bytes).map_err(cannot)?;
    if bytes.len() as u64 > LARGEST {
        return Err(cannot(io::Error::other(format!("it is larger than {} MB", LARGEST >> 20))));
    }
    Ok(bytes)
}
