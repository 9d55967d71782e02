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

use crate::diagnostics::Of;
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
    /// Files of which something else is to be said.
    pub(crate) unsaid: Unsaid,
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
    all: usize,
    told: u32,
}

impl FirstLook {
    const fn new(steps: UnboundedSender<Step>) -> Self {
        Self { steps, all: 0, told: 0 }
    }

    /// So many files have been read.
    pub(crate) fn begin(&mut self, files: usize) {
        (self.all, self.told) = (files, READ);
        self.tell(format!("{files} logs read"));
    }

    /// So many files are still to be looked at, beside those that are open.
    pub(crate) fn left(&mut self, files: usize) {
        let done = self.all.saturating_sub(files);
        let share = (100 - READ) as usize * done / self.all.max(1);
        let percentage = READ + u32::try_from(share).unwrap_or(0);
        if percentage > self.told {
            self.told = percentage;
            self.tell(format!("{done} of {} logs checked", self.all));
        }
    }

    fn tell(&self, message: String) {
        // Nobody listens where the client wants no progress.
        let _ = self.steps.send((message, self.told));
    }
}

/// So many files that nobody looks at are looked at in one round. It is not stopped by an edit, which is made elsewhere:
/// whoever types would stop it for ever.
const AT_ONCE: usize = 64;

/// Files of which something else is to be said than was said before, and the rounds through them that are under way.
#[derive(Debug, Default)]
pub(crate) struct Unsaid {
    open: BTreeSet<Arc<str>>,
    rest: BTreeSet<Arc<str>>,
    open_begun: bool,
    rest_begun: bool,
}

impl Unsaid {
    pub(crate) fn add(&mut self, path: Arc<str>, is_open: bool) {
        if is_open {
            self.rest.remove(&path);
            self.open.insert(path);
        } else {
            self.rest.insert(path);
        }
    }

    /// All that is open, unless a round through it is under way.
    pub(crate) fn take_open(&mut self) -> Vec<Arc<str>> {
        if self.open_begun { Vec::new() } else { std::mem::take(&mut self.open).into_iter().collect() }
    }

    pub(crate) const fn is_under_way(&self) -> bool {
        self.open_begun || self.rest_begun
    }

    /// The next files beside those that are open, of those that are still there.
    pub(crate) fn take_rest(&mut self, is_there: impl Fn(&str) -> bool) -> Vec<Arc<str>> {
        let next = std::iter::from_fn(|| self.rest.pop_first());
        next.filter(|path| is_there(path)).take(AT_ONCE).collect()
    }

    /// How many files there are beside those that are open.
    pub(crate) fn rest(&self) -> usize {
        self.rest.len()
    }

    /// The client asks for them when it opens them.
    pub(crate) fn forget_rest(&mut self) {
        self.rest.clear();
    }

    pub(crate) fn begun(&mut self, of: Of) {
        *self.under_way(of) = true;
    }

    /// A round has ended and left some files out.
    pub(crate) fn done(&mut self, of: Of, left: Vec<Arc<str>>) {
        *self.under_way(of) = false;
        match of {
            Of::Open => self.open.extend(left),
            Of::Rest => self.rest.extend(left),
        }
    }

    fn under_way(&mut self, of: Of) -> &mut bool {
        match of {
            Of::Open => &mut self.open_begun,
            Of::Rest => &mut self.rest_begun,
        }
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
            unsaid: Unsaid::default(),
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_nobody_looks_at_is_gone_through_while_somebody_types() {
        let mut unsaid = Unsaid::default();
        let name = |n: usize| Arc::<str>::from(format!("{n:03}.barm"));
        (0..150).for_each(|n| unsaid.add(name(n), false));
        let mut looked_at = Vec::new();
        while !unsaid.is_under_way() {
            let files = unsaid.take_rest(|path| path != "007.barm");
            if files.is_empty() {
                break;
            }
            unsaid.begun(Of::Rest);
            // An edit: a round through what is open begins, is stopped by the next edit, and ends.
            unsaid.add(name(3), true);
            assert_eq!(unsaid.take_open(), [name(3)]);
            unsaid.begun(Of::Open);
            assert!(unsaid.take_open().is_empty(), "one round at a time");
            unsaid.done(Of::Open, vec![name(3)]);
            looked_at.extend(files);
            unsaid.done(Of::Rest, Vec::new());
        }
        let all: Vec<Arc<str>> = (0..150).filter(|n| *n != 7).map(name).collect();
        assert_eq!(looked_at, all, "each once, in order, but for the one that is gone");
        assert_eq!(unsaid.take_open(), [name(3)], "what a stopped round left out is to be said still");
    }

    #[test]
    fn how_far_the_first_look_is_goes_up_only() {
        let (steps, mut told) = tokio::sync::mpsc::unbounded_channel();
        let mut first = FirstLook::new(steps);
        first.begin(200);
        [136, 200, 72, 8].into_iter().for_each(|left| first.left(left));
        let told: Vec<Step> = std::iter::from_fn(|| told.try_recv().ok()).collect();
        let shares: Vec<u32> = told.iter().map(|(_, share)| *share).collect();
        assert_eq!(shares, [50, 66, 82, 98]);
        assert_eq!(told[3].0, "192 of 200 logs checked");
    }
}
