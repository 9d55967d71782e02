//! A workspace as the server holds it: its place on disk, and its files as they stand.

use std::collections::{BTreeSet, HashMap};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::AtomicU64;

use barm_ide::World;
use barm_reckoning::{Settings, SettingsError};
use barm_workspace::slashed;
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
}

/// What was last said of a file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Said {
    pub(crate) stamp: u64,
    pub(crate) mark: u64,
    pub(crate) version: Option<i32>,
}

impl House {
    /// A folder with logs, to be read.
    pub(crate) fn of_folder(root: PathBuf) -> Self {
        Self { loading: true, ..Self::new(Some(root), None) }
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
