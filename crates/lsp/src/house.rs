//! A workspace as the server holds it: its place on disk, and its files as they stand.

use std::collections::{BTreeSet, HashMap};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::AtomicU64;

use barm_ide::World;
use barm_reckoning::{Settings, SettingsError};
use barm_workspace::slashed;
use tokio::sync::mpsc::UnboundedSender;
use tower_lsp::lsp_types::Url;

use crate::view::View;

/// Work that waits until the files of a workspace have been read.
pub(crate) type Waiting = Box<dyn FnOnce(View) + Send>;

/// A workspace.
pub(crate) struct House {
    /// Its folder; `None` for a document that stands alone.
    pub(crate) root: Option<PathBuf>,
    /// Where the document that stands alone lies.
    alone: Option<PathBuf>,
    pub(crate) world: World,
    /// Its files are still being read.
    pub(crate) loading: bool,
    /// Loggers' files that its logs name are being read.
    pub(crate) logging: bool,
    pub(crate) waiting: Vec<(Url, Waiting)>,
    /// Files that changed on disk meanwhile: what was read of them may be what stood there before.
    pub(crate) late: BTreeSet<Arc<str>>,
    /// What is wrong with its settings: the text and the fault.
    pub(crate) settings_fault: Option<(String, SettingsError)>,
    /// What was last said of a file: the stamp it was said at, and a mark of what was said.
    pub(crate) said: HashMap<Arc<str>, Said>,
    /// Grows by one with each change, so that work on an older state stops.
    pub(crate) revision: Arc<AtomicU64>,
    /// A round of diagnostics is under way.
    pub(crate) checking: bool,
    /// Until every file has been looked at once.
    pub(crate) first_look: Option<FirstLook>,
}

/// How far something is: a message, and a percentage.
pub(crate) type Step = (String, u32);

/// How far the reading of a workspace has come when its files are known and when they are read, in percent of all that is
/// done until each has been looked at.
pub(crate) const FOUND: u32 = 10;
const READ: u32 = 50;

/// The first look at every file of a workspace, and whoever is told how far it is. It ends when this is dropped.
pub(crate) struct FirstLook {
    steps: UnboundedSender<Step>,
    left: BTreeSet<Arc<str>>,
    all: usize,
    told: u32,
}

impl FirstLook {
    const fn new(steps: UnboundedSender<Step>) -> Self {
        Self { steps, left: BTreeSet::new(), all: 0, told: 0 }
    }

    /// The files have been read.
    pub(crate) fn begin(&mut self, files: BTreeSet<Arc<str>>) {
        (self.all, self.left, self.told) = (files.len(), files, READ);
        self.tell(format!("{} logs read", self.all));
    }

    /// Whether a file is still to be looked at.
    pub(crate) fn awaits(&self, path: &str) -> bool {
        self.left.contains(path)
    }

    /// Leaves out what is there no longer.
    pub(crate) fn keep(&mut self, files: &BTreeSet<Arc<str>>) {
        self.left.retain(|path| files.contains(path));
    }

    /// Some files have been looked at; whether all have.
    pub(crate) fn looked_at<'p>(&mut self, files: impl Iterator<Item = &'p Arc<str>>) -> bool {
        files.for_each(|path| {
            self.left.remove(path);
        });
        let done = self.all - self.left.len();
        let share = (100 - READ) as usize * done / self.all.max(1);
        let percentage = READ + u32::try_from(share).unwrap_or(0);
        if percentage > self.told {
            self.told = percentage;
            self.tell(format!("{done} of {} logs checked", self.all));
        }
        self.left.is_empty()
    }

    fn tell(&self, message: String) {
        // Nobody listens where the client wants no progress.
        let _ = self.steps.send((message, self.told));
    }
}

/// What was last said of a file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Said {
    pub(crate) stamp: u64,
    pub(crate) mark: u64,
    pub(crate) version: Option<i32>,
}

impl House {
    /// A folder with logs, to be read; how far that is goes to `steps`.
    pub(crate) fn of_folder(root: PathBuf, steps: UnboundedSender<Step>) -> Self {
        let first_look = Some(FirstLook::new(steps));
        Self { loading: true, first_look, ..Self::new(Some(root), None) }
    }

    /// A document in no workspace, and where it lies if it lies somewhere.
    pub(crate) fn of_document(path: Option<PathBuf>) -> Self {
        Self::new(None, path)
    }

    fn new(root: Option<PathBuf>, alone: Option<PathBuf>) -> Self {
        Self {
            root,
            alone,
            loading: false,
            logging: false,
            world: World::new(Settings::default()),
            waiting: Vec::new(),
            late: BTreeSet::new(),
            settings_fault: None,
            said: HashMap::new(),
            revision: Arc::default(),
            checking: false,
            first_look: None,
        }
    }

    /// Whether what can be read has been read.
    pub(crate) const fn is_ready(&self) -> bool {
        !self.loading && !self.logging
    }

    /// What a file is called in this workspace; `None` where it does not belong to it.
    pub(crate) fn path_of(&self, path: &Path) -> Option<Arc<str>> {
        Some(Arc::from(slashed(path.strip_prefix(self.root.as_ref()?).ok()?)))
    }

    /// Where a file lies.
    pub(crate) fn place_of(&self, path: &str) -> Option<PathBuf> {
        self.root.as_ref().map_or_else(|| self.alone.clone(), |root| Some(root.join(path)))
    }

    /// How deep in the file system its folder lies, where a path lies below it.
    pub(crate) fn depth_above(&self, path: &Path) -> Option<usize> {
        self.root.as_ref().filter(|root| path.starts_with(root)).map(|root| root.components().count())
    }

    /// The name under which the client knows a file.
    pub(crate) fn url_of(&self, path: &str) -> Option<Url> {
        Url::from_file_path(self.root.as_ref()?.join(path)).ok()
    }
}
