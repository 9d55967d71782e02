//! What changes: documents, workspaces, and what was said of them. One thread at a time has it, and takes in events in the
//! order in which they came.

use std::collections::{BTreeMap, BTreeSet, HashMap, VecDeque};
use std::io::Write;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::PathBuf;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError, TryLockError};
use std::time::Duration;

use barm_ide::Path;
use barm_reckoning::{Logged, LoggerFile};
use barm_workspace::SETTINGS;
use serde_json::Value;
use tokio::runtime::Handle;
use tokio::sync::oneshot;
use tower_lsp::Client;
use tower_lsp::lsp_types::{
    self as lsp, DidChangeTextDocumentParams, DidCloseTextDocumentParams, DidOpenTextDocumentParams,
    FileChangeType, FileEvent, InitializeParams, InitializeResult, MessageType, Url,
    WorkspaceFoldersChangeEvent,
};

use crate::backend::initialize_result;
use crate::client::Abilities;
use crate::diagnostics::{self, Checked, Of, Round};
use crate::disk::{self, Below, Disk};
use crate::house::{FOUND, House, Said, Waiting};
use crate::outbox::{Out, Outbox, Refresh};
use crate::preferences::{Preferences, SECTION};
use crate::text::Text;
use crate::tokens::Told;
use crate::view::{Open, View};

/// Work on all workspaces.
type AboutAll = Box<dyn FnOnce(Vec<View>) + Send>;

/// What a client is to tell of: logs, settings, and what loggers write.
const WATCHED: [&str; 5] = ["**/*.barm", "**/barm.toml", "**/*.csv", "**/*.tsv", "**/*.txt"];

/// What an edit left behind is cleared away when what it was made for has been said.
const UNHURRIED: Duration = Duration::from_millis(1);

/// Everything that can happen.
pub(crate) enum Event {
    Initialize(Box<InitializeParams>, oneshot::Sender<InitializeResult>),
    Initialized,
    Opened(DidOpenTextDocumentParams),
    Changed(DidChangeTextDocumentParams),
    Closed(DidCloseTextDocumentParams),
    Saved(Url),
    Watched(Vec<FileEvent>),
    Folders(WorkspaceFoldersChangeEvent),
    /// Settings as the client sends them unasked: all that it has, or none.
    ConfigurationTold(Value),
    /// Our settings, as the client answered.
    Configured(Value),
    /// A notification whose parameters make no sense.
    Unreadable {
        method: String,
        uri: Option<Url>,
        why: String,
    },
    /// Work on a snapshot around a document.
    Ask(Url, Waiting),
    /// Work on snapshots of all workspaces.
    AskAll(AboutAll),
    /// The server's own text of a document.
    Text(Url, oneshot::Sender<Option<String>>),
    /// The logs of a workspace; `None` where they could not be read for a fault of ours.
    Read(usize, Option<Box<Below>>),
    Logged(usize, Vec<(LoggerFile, Result<Logged, String>)>),
    Checked(usize, Vec<Checked>),
    /// A round has ended; what it left out is to be looked at again.
    RoundDone(usize, Of, Vec<Path>),
    Panicked(String),
    Shutdown(oneshot::Sender<()>),
    Exit,
}

/// Events in the order in which they came, and the owner that takes them in.
///
/// Whoever puts an event in takes in all there are, unless somebody is at it: so an answer that takes less time than a
/// thread takes to wake is there before whoever asked could go to sleep.
#[derive(Clone, Default)]
pub(crate) struct Queue(Arc<Shared>);

#[derive(Default)]
struct Shared {
    events: Mutex<VecDeque<Event>>,
    ends: AtomicBool,
    owner: Mutex<Option<Owner>>,
}

impl Queue {
    pub(crate) fn send(&self, event: Event) {
        self.events().push_back(event);
        // Whoever lets go of the owner looks once more for what came in the meantime.
        while !self.events().is_empty() {
            match self.0.owner.try_lock() {
                Ok(owner) => self.take_in(owner),
                // A fault was caught and said before it could get here.
                Err(TryLockError::Poisoned(owner)) => self.take_in(owner.into_inner()),
                Err(TryLockError::WouldBlock) => return,
            }
        }
    }

    /// The client has said `exit`: what it asked before it did is no longer worked out.
    pub(crate) fn ends(&self) {
        self.0.ends.store(true, Ordering::SeqCst);
    }

    pub(crate) fn has_ended(&self) -> bool {
        self.0.ends.load(Ordering::SeqCst)
    }

    /// What has come is taken in before anything is said of it.
    fn take_in(&self, mut owner: MutexGuard<'_, Option<Owner>>) {
        while let Some(event) = self.next() {
            match &mut *owner {
                Some(_) if matches!(event, Event::Exit) => *owner = None,
                // Nobody is left who would want it.
                Some(_) if self.has_ended() && !matches!(event, Event::Shutdown(_)) => {}
                Some(owner) => owner.guarded(event),
                None => {}
            }
        }
        if let Some(owner) = &mut *owner {
            owner.say_guarded();
        }
    }

    fn next(&self) -> Option<Event> {
        self.events().pop_front()
    }

    fn events(&self) -> MutexGuard<'_, VecDeque<Event>> {
        self.0.events.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// The owner, from outside.
pub(crate) struct Running(Arc<AtomicBool>);

impl Running {
    /// Whether it was, from now on and for whoever looks at every moment.
    pub(crate) fn shut_down(&self) -> Arc<AtomicBool> {
        Arc::clone(&self.0)
    }

    pub(crate) fn was_shut_down(&self) -> bool {
        self.0.load(Ordering::SeqCst)
    }
}

/// What changes.
pub(crate) struct Owner {
    queue: Queue,
    outbox: Outbox,
    pool: Handle,
    disk: Disk,
    journal: Box<dyn Write + Send>,
    client: Option<Abilities>,
    preferences: Preferences,
    /// Before the client has said that it is initialized it may be asked for nothing.
    is_initialized: bool,
    /// What takes long and the client has not been told of.
    progress: Vec<Out>,
    /// The client's folders.
    folders: BTreeSet<PathBuf>,
    /// By numbers that are never given twice: what is worked on for a workspace that is gone finds nothing.
    houses: BTreeMap<usize, House>,
    next_house: usize,
    /// What was asked of all workspaces while one of them was still being read.
    waiting: Vec<AboutAll>,
    /// Open documents: their workspace and their path in it.
    open: HashMap<Url, (usize, Path)>,
    documents: HashMap<usize, imbl::HashMap<Path, Arc<Open>>>,
    /// The tokens that were told last of what is open.
    told: Told,
    /// Documents edited since the last round, with their stamps then: clients ask for them by themselves, and need be told
    /// only of what changed after that.
    edited: HashMap<(usize, Path), u64>,
    shut_down: Arc<AtomicBool>,
}

impl Owner {
    /// Puts the owner behind its queue; within the runtime on whose pool requests are to be worked out.
    pub(crate) fn start(
        client: Client,
        queue: &Queue,
        journal: Box<dyn Write + Send>,
        disk: Disk,
    ) -> Running {
        let shut_down = Arc::new(AtomicBool::new(false));
        let owner = Self {
            queue: queue.clone(),
            outbox: Outbox::new(client),
            pool: Handle::current(),
            disk,
            journal,
            client: None,
            preferences: Preferences::default(),
            is_initialized: false,
            progress: Vec::new(),
            folders: BTreeSet::new(),
            houses: BTreeMap::new(),
            next_house: 0,
            waiting: Vec::new(),
            open: HashMap::new(),
            documents: HashMap::new(),
            told: Told::default(),
            edited: HashMap::new(),
            shut_down: Arc::clone(&shut_down),
        };
        *queue.0.owner.lock().unwrap_or_else(PoisonError::into_inner) = Some(owner);
        Running(shut_down)
    }

    fn tell(&mut self, line: &str) {
        // There is nobody left to tell that the journal cannot be written.
        let _ = writeln!(self.journal, "barm: {line}");
        let _ = self.journal.flush();
    }

    /// A fault of ours in one event must not end the server.
    fn guarded(&mut self, event: Event) {
        let uri = match &event {
            Event::Changed(change) => Some(change.text_document.uri.clone()),
            Event::Opened(opened) => Some(opened.text_document.uri.clone()),
            _ => None,
        };
        if catch_unwind(AssertUnwindSafe(|| self.take(event))).is_err() {
            self.tell("a fault in the server; it goes on");
            if let Some(uri) = uri {
                self.lose(&uri, "the server failed to follow an edit");
            }
        }
    }

    fn say_guarded(&mut self) {
        if catch_unwind(AssertUnwindSafe(|| self.say())).is_err() {
            self.tell("a fault in the server; it goes on");
        }
    }

    fn take(&mut self, event: Event) {
        if let Event::Initialize(params, reply) = event {
            return self.initialize(&params, reply);
        }
        let Some(client) = self.client else { return };
        if self.shut_down.load(Ordering::SeqCst) {
            return;
        }
        match event {
            Event::Initialize(..) | Event::Exit => {}
            Event::Initialized => self.initialized(client),
            Event::Opened(opened) => self.opened(client, opened),
            Event::Changed(changed) => self.changed(changed),
            Event::Closed(closed) => self.closed(&closed.text_document.uri),
            Event::Saved(uri) => self.saved(&uri),
            Event::Watched(changes) => self.watched(&changes),
            Event::Folders(change) => self.folders_changed(&change),
            Event::ConfigurationTold(settings) => match Preferences::among(&settings) {
                Some(own) => self.configured(client, own),
                None if client.configuration => self.outbox.send(Out::Configuration(self.queue.clone())),
                None => {}
            },
            Event::Configured(own) => self.configured(client, &own),
            Event::Unreadable { method, uri, why } => {
                let what = if method.is_empty() { "a message" } else { &method };
                self.tell(&format!("{what} was not understood: {why}"));
                if let (Some(uri), true) = (uri, method.starts_with("textDocument/did")) {
                    self.lose(&uri, "an edit could not be read");
                }
            }
            Event::Ask(uri, work) => self.ask(client, uri, work),
            Event::AskAll(work) => self.ask_all(client, work),
            Event::Text(uri, reply) => {
                let open = self.document(&uri).map(|open| open.text.whole());
                let _ = reply.send(open);
            }
            Event::Read(house, below) => self.read(client, house, below.map(|below| *below)),
            Event::Logged(house, logged) => self.logged(client, house, logged),
            Event::Checked(house, checked) => self.checked(client, house, checked),
            Event::RoundDone(house, of, left) => {
                if let Some(it) = self.houses.get_mut(&house) {
                    it.unsaid.done(of, left);
                }
            }
            Event::Panicked(what) => self.tell(&format!("a fault in the server: {what}; it goes on")),
            Event::Shutdown(reply) => {
                self.shut_down.store(true, Ordering::SeqCst);
                self.houses.clear();
                self.waiting.clear();
                let _ = reply.send(());
            }
        }
    }

    // --- Beginning

    fn initialize(&mut self, params: &InitializeParams, reply: oneshot::Sender<InitializeResult>) {
        let client = Abilities::of(params);
        self.client = Some(client);
        let name = params.client_info.as_ref().map_or("a client", |info| info.name.as_str());
        let line = format!(
            "{} serves {name}; columns in {}",
            env!("CARGO_PKG_VERSION"),
            client.encoding.kind().as_str()
        );
        self.tell(&line);
        if let Some(own) = params.initialization_options.as_ref().and_then(Preferences::among) {
            self.configured(client, own);
        }
        let folders = params.workspace_folders.iter().flatten().map(|folder| &folder.uri);
        // Older clients name their folder so.
        let root = params.root_uri.iter().filter(|_| params.workspace_folders.is_none());
        let folders: Vec<PathBuf> = folders.chain(root).filter_map(|uri| uri.to_file_path().ok()).collect();
        for folder in folders {
            self.enter(&folder);
        }
        let _ = reply.send(initialize_result(client));
    }

    fn say_progress(&mut self) {
        if self.is_initialized {
            self.progress.drain(..).for_each(|progress| self.outbox.send(progress));
        }
    }

    fn initialized(&mut self, client: Abilities) {
        self.is_initialized = true;
        self.say_progress();
        let mut wanted = Vec::new();
        if client.registers_watchers {
            let watchers = WATCHED.map(|glob| lsp::FileSystemWatcher {
                glob_pattern: lsp::GlobPattern::String(glob.to_owned()),
                kind: None,
            });
            let options = lsp::DidChangeWatchedFilesRegistrationOptions { watchers: watchers.into() };
            wanted.push(lsp::Registration {
                id: "files".to_owned(),
                method: "workspace/didChangeWatchedFiles".to_owned(),
                register_options: serde_json::to_value(options).ok(),
            });
        }
        if client.registers_configuration {
            wanted.push(lsp::Registration {
                id: "settings".to_owned(),
                method: "workspace/didChangeConfiguration".to_owned(),
                register_options: Some(serde_json::json!({"section": SECTION})),
            });
        }
        if !wanted.is_empty() {
            self.outbox.send(Out::Register(wanted));
        }
        if client.configuration {
            self.outbox.send(Out::Configuration(self.queue.clone()));
        }
    }

    fn configured(&mut self, client: Abilities, own: &Value) {
        let preferences = match Preferences::read(own) {
            Ok(preferences) => preferences,
            Err(why) => {
                let text = format!("the editor's settings are left as they were: {why}");
                self.tell(&text);
                return self.outbox.send(Out::Message(MessageType::WARNING, format!("barm: {text}")));
            }
        };
        let before = std::mem::replace(&mut self.preferences, preferences);
        if client.refreshes_hints && before.hints != preferences.hints {
            self.outbox.send(Out::Refresh(Refresh::Hints));
        }
        if client.refreshes_lenses && before.lenses != preferences.lenses {
            self.outbox.send(Out::Refresh(Refresh::Lenses));
        }
    }

    fn folders_changed(&mut self, change: &WorkspaceFoldersChangeEvent) {
        let paths = |folders: &[lsp::WorkspaceFolder]| -> Vec<PathBuf> {
            folders.iter().filter_map(|folder| folder.uri.to_file_path().ok()).collect()
        };
        for gone in paths(&change.removed) {
            self.folders.remove(&gone.canonicalize().unwrap_or(gone));
        }
        if change.removed.is_empty() {
            paths(&change.added).iter().for_each(|folder| self.enter(folder));
        } else {
            self.folders.extend(paths(&change.added).iter().filter_map(|folder| folder.canonicalize().ok()));
            self.begin_again();
        }
    }

    /// A folder of the client's: its workspace is read, unless it is already.
    fn enter(&mut self, folder: &std::path::Path) {
        let Ok(folder) = folder.canonicalize() else { return };
        self.settle_in(&disk::workspace_of(&folder));
        self.folders.insert(folder);
    }

    /// Where workspaces lie has changed: everything is read anew, and what is open is put where it belongs now.
    fn begin_again(&mut self) {
        let Some(client) = self.client else { return };
        let houses = std::mem::take(&mut self.houses);
        let mut documents: Vec<Open> = Vec::new();
        for open in std::mem::take(&mut self.documents).into_values().flat_map(|open| open.into_iter()) {
            documents.push(Arc::unwrap_or_clone(open.1));
        }
        documents.sort_by(|a, b| a.uri.cmp(&b.uri));
        self.open.clear();
        self.edited.clear();
        for folder in self.folders.clone() {
            self.enter(&folder);
        }
        for document in documents {
            let (house, path) = self.place(&document.uri);
            self.open.insert(document.uri.clone(), (house, Arc::clone(&path)));
            self.put(house, &path, document);
        }
        for mut house in houses.into_values() {
            let said = house.said.keys().filter_map(|path| house.url_of(path));
            said.filter(|uri| !self.open.contains_key(uri)).for_each(|uri| self.unsay(uri));
            for (uri, work) in std::mem::take(&mut house.waiting) {
                self.ask(client, uri, work);
            }
        }
        if client.pulls && client.refreshes_diagnostics {
            self.outbox.send(Out::Refresh(Refresh::Diagnostics));
        }
    }

    fn add_house(&mut self, house: House) -> usize {
        let number = self.next_house;
        self.next_house += 1;
        self.houses.insert(number, house);
        number
    }

    fn settle_in(&mut self, root: &std::path::Path) -> usize {
        if let Some((number, _)) = self.houses.iter().find(|(_, house)| house.root.as_deref() == Some(root)) {
            return *number;
        }
        let (steps, taken) = tokio::sync::mpsc::unbounded_channel();
        let found = steps.downgrade();
        let house = self.add_house(House::of_folder(root.to_owned(), steps));
        let (root, most, read) = (root.to_owned(), self.preferences.most_files, self.disk.below);
        if self.client.is_some_and(|client| client.progress) {
            let title = format!("Reading and checking logs below {}", root.display());
            self.progress.push(Out::Progress { token: format!("barm {house}"), title, steps: taken });
            self.say_progress();
        }
        let read = move || {
            read(&root, most, &|logs| {
                // Nobody is told where the client wants no progress, or where the workspace is gone.
                let _ = found.upgrade().map(|steps| steps.send((format!("{logs} logs found"), FOUND)));
            })
        };
        self.begin("reading a workspace", read, move |below| Event::Read(house, below.map(Box::new)));
        house
    }

    /// Works on the pool, and puts what came of it into the queue. Others wait for that: it comes after a fault too.
    fn begin<T>(
        &self,
        what: &'static str,
        work: impl FnOnce() -> T + Send + 'static,
        done: impl FnOnce(Option<T>) -> Event + Send + 'static,
    ) {
        let queue = self.queue.clone();
        self.pool.spawn_blocking(move || {
            let came = catch_unwind(AssertUnwindSafe(work));
            if came.is_err() {
                queue.send(Event::Panicked(format!("while {what}")));
            }
            queue.send(done(came.ok()));
        });
    }

    fn read(&mut self, client: Abilities, house: usize, below: Option<Below>) {
        if below.is_none() {
            let text = "barm failed to read the logs of this workspace, for a fault of its own, and knows only those that \
                        are open: start the server again";
            self.outbox.send(Out::Message(MessageType::ERROR, text.to_owned()));
        }
        let below = below.unwrap_or_default();
        // A folder below with settings of its own is a workspace of its own.
        below.nested.iter().for_each(|root| {
            self.settle_in(root);
        });
        let open = self.documents.get(&house).cloned().unwrap_or_default();
        let Some(it) = self.houses.get_mut(&house) else { return };
        it.loading = false;
        it.world.load(below.files.into_iter().filter(|(path, ..)| !open.contains_key(path)).collect());
        if let Some(first) = &mut it.first_look {
            first.begin(it.world.files().count());
        }
        let cut_short = it.root.as_ref().filter(|_| below.cut_short).map(|root| root.display().to_string());
        for path in std::mem::take(&mut it.late) {
            if !open.contains_key(&path) {
                self.take_from_disk(house, &path, false);
            }
        }
        self.read_settings(house);
        self.answer_waiting(client, house);
        if let Some(root) = cut_short {
            let text = format!(
                "barm looked at {} files below {root} and stopped: logs beyond those are not known until they are opened. \
                 Open the folder of the logs alone, or put a {SETTINGS} into it",
                self.preferences.most_files
            );
            self.tell(&text);
            self.outbox.send(Out::Message(MessageType::WARNING, text));
        }
    }

    /// Reads the loggers' files that nobody has read yet, one round after the other.
    fn read_loggers(&mut self, house: usize) {
        let Some(it) = self.houses.get_mut(&house).filter(|it| !it.logging) else { return };
        let wanted = it.world.take_unlogged();
        if wanted.is_empty() {
            return;
        }
        it.logging = true;
        let places: HashMap<Path, PathBuf> =
            wanted.iter().filter_map(|file| Some((Arc::clone(&file.log), it.place_of(&file.log)?))).collect();
        let (root, read, unread) = (it.root.clone(), self.disk.loggers, wanted.clone());
        let read = move || read(wanted, root.as_deref(), &|log| places.get(log).cloned());
        self.begin("reading loggers' files", read, move |logged| {
            let fault =
                |file| (file, Err("a fault of barm's own; save the log and it is tried again".to_owned()));
            Event::Logged(house, logged.unwrap_or_else(|| unread.into_iter().map(fault).collect()))
        });
    }

    fn logged(&mut self, client: Abilities, house: usize, logged: Vec<(LoggerFile, Result<Logged, String>)>) {
        let Some(it) = self.houses.get_mut(&house) else { return };
        it.logging = false;
        for (file, logged) in logged {
            it.world.log(file, logged);
        }
        self.changed_in(house);
        self.answer_waiting(client, house);
    }

    // --- Documents

    /// The workspace and path of a document.
    fn place(&mut self, uri: &Url) -> (usize, Path) {
        let alone = |owner: &mut Self, path: Option<PathBuf>| {
            let house = owner.add_house(House::of_document(path));
            (house, Path::from(uri.path().rsplit('/').next().unwrap_or("log")))
        };
        let path = uri.to_file_path().ok().and_then(|path| disk::settled(&path));
        let Some((path, folder)) = path.as_ref().and_then(|path| Some((path, path.parent()?))) else {
            return alone(self, None);
        };
        // The innermost workspace that the client has opened, unless a settings file makes a nearer one.
        let root = barm_workspace::root_of(folder);
        let known = self.houses.values().filter_map(|house| house.root.clone());
        let entered =
            known.filter(|root| path.starts_with(root)).max_by_key(|root| root.components().count());
        let Some(root) = root.or(entered) else { return alone(self, Some(path.clone())) };
        let house = self.settle_in(&root);
        match self.houses.get(&house).and_then(|it| it.path_of(path)) {
            Some(below) => (house, below),
            None => alone(self, Some(path.clone())),
        }
    }

    fn document(&self, uri: &Url) -> Option<&Arc<Open>> {
        let (house, path) = self.open.get(uri)?;
        self.documents.get(house)?.get(path)
    }

    fn put(&mut self, house: usize, path: &Path, open: Open) {
        if !open.lost
            && let Some(it) = self.houses.get_mut(&house)
        {
            let spent = it.world.set(path, Arc::from(open.text.whole()), None);
            self.pool.spawn(async move {
                tokio::time::sleep(UNHURRIED).await;
                drop(spent);
            });
        }
        let stamp = self.houses.get(&house).map_or(0, |it| it.world.stamp(path));
        self.edited.insert((house, Arc::clone(path)), stamp);
        self.documents.entry(house).or_default().insert(Arc::clone(path), Arc::new(open));
        self.changed_in(house);
        if let Some(it) = self.houses.get_mut(&house) {
            // Its version is another, even where its text is not.
            it.unsaid.add(Arc::clone(path), true);
        }
    }

    /// Something changed in a workspace: work on older states of it is in vain.
    fn changed_in(&mut self, house: usize) {
        if let Some(it) = self.houses.get_mut(&house) {
            it.revision.fetch_add(1, Ordering::SeqCst);
            let open = self.documents.get(&house);
            for path in it.world.take_fresh() {
                let is_open = open.is_some_and(|open| open.contains_key(&path));
                it.unsaid.add(path, is_open);
            }
            self.read_loggers(house);
        }
    }

    fn opened(&mut self, client: Abilities, opened: DidOpenTextDocumentParams) {
        let document = opened.text_document;
        let (house, path) = match self.open.get(&document.uri) {
            Some(known) => known.clone(),
            None => self.place(&document.uri),
        };
        self.open.insert(document.uri.clone(), (house, Arc::clone(&path)));
        if let Some(it) = self.houses.get_mut(&house)
            && let Some(ours) = it.url_of(&path).filter(|ours| *ours != document.uri)
            && it.said.remove(&path).is_some()
        {
            // It was told of by another spelling: `a+b`, where the client writes `a%2Bb`.
            self.unsay(ours);
        }
        let text = Text::new(&document.text, client.encoding);
        self.put(house, &path, Open { uri: document.uri, version: document.version, text, lost: false });
    }

    fn changed(&mut self, changed: DidChangeTextDocumentParams) {
        let uri = changed.text_document.uri;
        let Some((house, path)) = self.open.get(&uri).cloned() else {
            return self.tell(&format!("an edit of {uri}, which is not open, was left out"));
        };
        let Some(open) = self.document(&uri).map(Arc::clone) else { return };
        let mut open = Arc::unwrap_or_clone(open);
        let whole = changed.content_changes.iter().rposition(|change| change.range.is_none());
        // What comes over one stream comes in order; some clients send two edits of one version, as Neovim 0.7 for an undo.
        if changed.text_document.version < open.version && whole.is_none() {
            return self.lose(&uri, "an edit came out of order");
        }
        if open.lost && whole.is_none() {
            open.version = changed.text_document.version;
            return self.put(house, &path, open);
        }
        open.lost = false;
        open.version = changed.text_document.version;
        // Each range counts in what the change before it left; a whole text makes all before it idle.
        for change in changed.content_changes.iter().skip(whole.unwrap_or(0)) {
            open.text.change(change.range, &change.text);
        }
        self.put(house, &path, open);
    }

    /// What stands here is no longer what the client sees: said once, and nothing is said of it until it sends the whole.
    fn lose(&mut self, uri: &Url, why: &str) {
        let Some((house, path)) = self.open.get(uri).cloned() else { return };
        let Some(open) = self.document(uri).filter(|open| !open.lost).map(Arc::clone) else { return };
        self.tell(&format!("lost step with {uri}: {why}"));
        let text = format!("barm has lost step with {uri} ({why}): close it and open it again");
        self.outbox.send(Out::Message(MessageType::WARNING, text));
        let open = Open { lost: true, ..Arc::unwrap_or_clone(open) };
        self.put(house, &path, open);
    }

    fn closed(&mut self, uri: &Url) {
        let Some((house, path)) = self.open.remove(uri) else { return };
        if let Some(documents) = self.documents.get_mut(&house) {
            documents.remove(&path);
        }
        self.told.forget(house, &path);
        if self.houses.get(&house).is_some_and(|it| it.root.is_none()) {
            // Nothing is left of a document that stood alone.
            self.houses.remove(&house);
            self.documents.remove(&house);
            return self.unsay(uri.clone());
        }
        if let Some(it) = self.houses.get_mut(&house)
            && it.url_of(&path).is_some_and(|ours| ours != *uri)
        {
            // From now on it is told of by our spelling.
            it.said.remove(&path);
            it.unsaid.add(Arc::clone(&path), false);
            self.unsay(uri.clone());
        }
        self.take_from_disk(house, &path, false);
        self.forget_if_gone(house, &path, uri);
    }

    /// Nothing is said of a file any more that is not there.
    fn forget_if_gone(&mut self, house: usize, path: &Path, uri: &Url) {
        let Some(it) = self.houses.get_mut(&house) else { return };
        if it.world.file(path).is_none() && it.said.remove(path).is_some() {
            self.unsay(uri.clone());
        }
    }

    fn unsay(&self, uri: Url) {
        if self.client.is_some_and(|client| !client.pulls) {
            self.outbox.send(Out::Publish { uri, diagnostics: Vec::new(), version: None });
        }
    }

    /// A file as it stands on disk.
    fn take_from_disk(&mut self, house: usize, path: &Path, is_known: bool) {
        let Some(it) = self.houses.get_mut(&house) else { return };
        if it.loading {
            it.late.insert(Arc::clone(path));
        }
        let read = it.root.as_deref().and_then(|root| {
            let place = root.join(&**path);
            // What a walk passes over is no part of the workspace, whoever tells of it.
            let is_met = is_known || barm_workspace::is_met(root, &place);
            is_met.then(|| disk::read_one(Some(root), &place)).flatten()
        });
        match read {
            Some((text, unread)) => drop(it.world.set(path, text, unread)),
            None => it.world.remove(path),
        }
        self.changed_in(house);
    }

    // --- Files on disk

    fn watched(&mut self, changes: &[FileEvent]) {
        for change in changes {
            self.on_disk(&change.uri);
        }
        // Of what is not open nobody tells a client that asks: it is to ask again.
        let pulls = self.client.is_some_and(|client| client.pulls && client.refreshes_diagnostics);
        if pulls
            && changes.iter().any(|change| change.uri.to_file_path().is_ok_and(|path| disk::is_log(&path)))
        {
            self.outbox.send(Out::Refresh(Refresh::Diagnostics));
        }
        // A folder that comes or goes takes its logs with it, and who tells of it tells of nothing in it.
        let moved = changes.iter().filter(|change| change.typ != FileChangeType::CHANGED);
        if moved.into_iter().any(|change| self.is_folder(&change.uri)) {
            self.begin_again();
        }
    }

    /// Whether a path of a workspace is a folder, or was one with logs in it.
    fn is_folder(&self, uri: &Url) -> bool {
        let Some(path) = uri.to_file_path().ok().and_then(|path| disk::settled(&path)) else { return false };
        let Some(house) = self.house_of(&path).and_then(|house| self.houses.get(&house)) else {
            return false;
        };
        let Some(below) = house.path_of(&path).map(|path| format!("{path}/")) else { return false };
        path.is_dir() || house.world.files().any(|(file, _)| file.starts_with(&below))
    }

    /// A file may be another on disk, or be there no longer.
    fn on_disk(&mut self, uri: &Url) {
        let Some(path) = uri.to_file_path().ok().and_then(|path| disk::settled(&path)) else { return };
        if path.file_name().is_some_and(|name| name == SETTINGS) {
            return self.settings_on_disk(&path);
        }
        if disk::is_log(&path) {
            return self.log_on_disk(&path, uri);
        }
        for house in self.houses.keys().copied().collect::<Vec<_>>() {
            self.logger_on_disk(house, &path);
        }
    }

    /// The innermost workspace that holds a path.
    fn house_of(&self, path: &std::path::Path) -> Option<usize> {
        let depths = self.houses.iter().filter_map(|(at, house)| Some((house.depth_above(path)?, *at)));
        depths.max().map(|(_, at)| at)
    }

    fn log_on_disk(&mut self, path: &std::path::Path, uri: &Url) {
        let Some(house) = self.house_of(path) else { return };
        let Some(below) = self.houses.get(&house).and_then(|it| it.path_of(path)) else { return };
        // What the client has open is what counts.
        if self.documents.get(&house).is_some_and(|open| open.contains_key(&below)) {
            return;
        }
        let is_known = self.houses.get(&house).is_some_and(|it| it.world.file(&below).is_some());
        self.take_from_disk(house, &below, is_known);
        self.forget_if_gone(house, &below, uri);
    }

    /// Settings that come or go may make one workspace of two, or two of one.
    fn settings_on_disk(&mut self, path: &std::path::Path) {
        let Some(folder) = path.parent() else { return };
        let own = self.houses.iter().find(|(_, house)| house.root.as_deref() == Some(folder));
        match own.map(|(at, _)| *at) {
            Some(house) if disk::workspace_of(folder) == folder => self.read_settings(house),
            None if !path.exists() => {}
            _ => self.begin_again(),
        }
    }

    /// The logs that name a logger's file see it anew.
    fn logger_on_disk(&mut self, house: usize, path: &std::path::Path) {
        let Some(it) = self.houses.get_mut(&house) else { return };
        let is_it = |file: &&LoggerFile| {
            let name = std::path::Path::new(&*file.name);
            name.file_name() == path.file_name()
                && it.place_of(&file.log).and_then(|log| disk::settled(&log.with_file_name(name))).as_deref()
                    == Some(path)
        };
        let changed: Vec<LoggerFile> = it.world.loggers().filter(is_it).cloned().collect();
        changed.into_iter().for_each(|file| it.world.unlog(file));
        self.read_loggers(house);
    }

    /// Loggers' files are looked at again when a log that names them is saved: not every client watches files.
    fn saved(&mut self, uri: &Url) {
        self.on_disk(uri);
        let Some((house, path)) = self.open.get(uri).cloned() else { return };
        let Some(it) = self.houses.get_mut(&house) else { return };
        let named: Vec<LoggerFile> = it.world.loggers().filter(|file| file.log == path).cloned().collect();
        named.into_iter().for_each(|file| it.world.unlog(file));
        self.read_loggers(house);
    }

    fn read_settings(&mut self, house: usize) {
        let Some(it) = self.houses.get_mut(&house) else { return };
        let Some(root) = it.root.clone() else { return };
        let read = disk::read_settings(&root);
        it.world.set_settings(read.settings);
        it.settings_fault = read.fault;
        self.changed_in(house);
        if let Some(client) = self.client {
            self.say_settings(client, house);
        }
    }

    fn say_settings(&self, client: Abilities, house: usize) {
        let Some(it) = self.houses.get(&house) else { return };
        let Some(uri) = it.url_of(SETTINGS) else { return };
        match (client.pulls, &it.settings_fault) {
            (true, Some((_, fault))) => {
                let text =
                    format!("barm.toml: {}; the usual settings hold until it is mended", fault.message);
                self.outbox.send(Out::Message(MessageType::ERROR, text));
            }
            (true, None) => {}
            (false, fault) => {
                let diagnostics =
                    fault.iter().map(|(text, fault)| diagnostics::of_settings(client, text, fault)).collect();
                self.outbox.send(Out::Publish { uri, diagnostics, version: None });
            }
        }
    }

    // --- Requests

    fn view(&self, client: Abilities, house: usize, path: Path) -> Option<View> {
        let it = self.houses.get(&house)?;
        Some(View {
            client,
            preferences: self.preferences,
            house,
            told: self.told.clone(),
            world: it.world.clone(),
            root: it.root.clone(),
            open: self.documents.get(&house).cloned().unwrap_or_default(),
            path,
        })
    }

    fn ask(&mut self, client: Abilities, uri: Url, work: Waiting) {
        let (house, path) = match self.open.get(&uri) {
            Some((house, path)) => (*house, Arc::clone(path)),
            None => {
                let path = uri.to_file_path().ok().and_then(|path| disk::settled(&path));
                let place = path.and_then(|path| {
                    let house = self.house_of(&path)?;
                    Some((house, self.houses.get(&house)?.path_of(&path)?))
                });
                match place {
                    Some(place) => place,
                    // Dropping the work answers that there is nothing here.
                    None => return,
                }
            }
        };
        if self.document(&uri).is_some_and(|open| open.lost) {
            return;
        }
        let Some(view) = self.view(client, house, path) else { return };
        match self.houses.get_mut(&house).filter(|it| !it.is_ready()) {
            Some(it) => it.waiting.push((uri, work)),
            // What takes less time than another thread takes to wake is not handed on.
            None if view.world.is_small(&view.path) => work(view),
            None => {
                self.pool.spawn_blocking(move || work(view));
            }
        }
    }

    /// Works out what was asked of a workspace while it was being read, and what was asked of all.
    fn answer_waiting(&mut self, client: Abilities, house: usize) {
        if let Some(it) = self.houses.get_mut(&house).filter(|it| it.is_ready()) {
            // Nobody has been answered before: what was read in the meantime is no news.
            for ((_, path), stamp) in self.edited.iter_mut().filter(|((at, _), _)| *at == house) {
                *stamp = it.world.stamp(path);
            }
            for (uri, work) in std::mem::take(&mut it.waiting) {
                self.ask(client, uri, work);
            }
        }
        if self.houses.values().all(House::is_ready) {
            for work in std::mem::take(&mut self.waiting) {
                self.ask_all(client, work);
            }
        }
    }

    fn ask_all(&mut self, client: Abilities, work: AboutAll) {
        if !self.houses.values().all(House::is_ready) {
            return self.waiting.push(work);
        }
        let views = self.houses.keys().filter_map(|house| self.view(client, *house, "".into())).collect();
        self.pool.spawn_blocking(move || work(views));
    }

    // --- What is said unasked

    /// Begins rounds of diagnostics in each workspace where there is something to be said: first through what is open,
    /// then through the rest.
    fn say(&mut self) {
        let Some(client) = self.client.filter(|_| !self.shut_down.load(Ordering::SeqCst)) else { return };
        let ready = self.houses.iter().filter(|(_, it)| it.is_ready());
        for house in ready.map(|(house, _)| *house).collect::<Vec<_>>() {
            let open = self.open_to_say(client, house);
            if !open.is_empty() {
                self.begin_round(client, house, Of::Open, open);
            }
            let rest = self.rest_to_say(client, house);
            if !rest.is_empty() {
                self.begin_round(client, house, Of::Rest, rest);
            }
        }
    }

    fn begin_round(&mut self, client: Abilities, house: usize, of: Of, order: Vec<Path>) {
        let Some(view) = self.view(client, house, "".into()) else { return };
        let Some(it) = self.houses.get_mut(&house) else { return };
        it.unsaid.begun(of);
        let (revision, queue) = (Arc::clone(&it.revision), self.queue.clone());
        let round = Round { house, of, view, order, revision, queue };
        self.pool.spawn_blocking(move || round.run());
    }

    /// Open files of which something is to be said; what is edited comes first.
    fn open_to_say(&mut self, client: Abilities, house: usize) -> Vec<Path> {
        let Some(it) = self.houses.get_mut(&house) else { return Vec::new() };
        let mut files = it.unsaid.take_open();
        if client.pulls {
            // The client asks for what it edited. What it is answered is not known here: the next change from elsewhere is
            // news, whatever it comes to.
            files.retain(|path| {
                let key = (house, Arc::clone(path));
                let is_asked_for = self.edited.get(&key) == Some(&it.world.stamp(path));
                if is_asked_for {
                    self.edited.remove(&key);
                    it.said.remove(path);
                }
                !is_asked_for
            });
        }
        files.retain(|path| it.world.file(path).is_some());
        files.sort_by_key(|path| !self.edited.contains_key(&(house, Arc::clone(path))));
        files
    }

    /// Some of the other files of which something is to be said. A client that pulls asks for them when it opens them: they
    /// are looked at once only, so that the answer is there by then.
    fn rest_to_say(&mut self, client: Abilities, house: usize) -> Vec<Path> {
        let Some(it) = self.houses.get_mut(&house) else { return Vec::new() };
        if client.pulls && it.first_look.is_none() {
            it.unsaid.forget_rest();
        }
        if it.unsaid.is_under_way() {
            return Vec::new();
        }
        let files = it.unsaid.take_rest(|path| it.world.file(path).is_some());
        if let Some(first) = &mut it.first_look {
            first.left(files.len() + it.unsaid.rest());
        }
        if files.is_empty() {
            it.first_look = None;
        }
        files
    }

    fn checked(&mut self, client: Abilities, house: usize, checked: Vec<Checked>) {
        let Some(it) = self.houses.get_mut(&house) else { return };
        let documents = self.documents.get(&house);
        let mut others_changed = false;
        for said in checked {
            let open = documents.and_then(|documents| documents.get(&said.path));
            let version = open.map(|open| open.version);
            if it.world.stamp(&said.path) != said.stamp
                || version != said.version
                || open.is_some_and(|open| open.lost)
            {
                continue;
            }
            let now = Said { stamp: said.stamp, mark: said.mark, version };
            let before = it.said.insert(Arc::clone(&said.path), now);
            let same = before
                .map_or(said.diagnostics.is_empty() && open.is_none(), |before| before.mark == now.mark);
            let edited = self.edited.remove(&(house, Arc::clone(&said.path))) == Some(said.stamp);
            if client.pulls {
                others_changed |= !same && !edited && open.is_some();
            } else if (!same || before.and_then(|before| before.version) != version)
                && let Some(uri) = open.map(|open| open.uri.clone()).or_else(|| it.url_of(&said.path))
            {
                self.outbox.send(Out::Publish { uri, diagnostics: said.diagnostics, version });
            }
            others_changed |= !client.pulls && !same && !edited && open.is_some();
        }
        if others_changed {
            let wanted = [
                (client.pulls && client.refreshes_diagnostics, Refresh::Diagnostics),
                (client.refreshes_hints, Refresh::Hints),
                (client.refreshes_lenses, Refresh::Lenses),
            ];
            wanted
                .into_iter()
                .filter(|(can, _)| *can)
                .for_each(|(_, what)| self.outbox.send(Out::Refresh(what)));
        }
    }
}
