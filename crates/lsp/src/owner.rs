//! The one thread that owns what changes: documents, workspaces, and what was said of them.

use std::collections::{BTreeSet, HashMap};
use std::io::Write;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc;

use barm_ide::Path;
use barm_workspace::SETTINGS;
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
use crate::diagnostics::{self, Checked, Round};
use crate::disk::{self, Below};
use crate::house::{House, Said, Waiting};
use crate::outbox::{Out, Outbox, Refresh};
use crate::text::Text;
use crate::view::{Open, View};

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
    Configured,
    /// A notification whose parameters make no sense.
    Unreadable {
        method: String,
        uri: Option<Url>,
        why: String,
    },
    /// Work on a snapshot around a document.
    Ask(Url, Waiting),
    /// Work on snapshots of all workspaces.
    AskAll(Box<dyn FnOnce(Vec<View>) + Send>),
    /// The server's own text of a document.
    Text(Url, oneshot::Sender<Option<String>>),
    Read(usize, Box<Below>),
    Checked(usize, Vec<Checked>),
    RoundDone(usize, Vec<Path>),
    Panicked(String),
    Shutdown(oneshot::Sender<()>),
    Exit,
}

/// Puts events into the owner's queue.
#[derive(Clone, Debug)]
pub(crate) struct Queue(mpsc::Sender<Event>);

impl Queue {
    pub(crate) fn send(&self, event: Event) {
        // The owner ends only when nobody can send any more, or after `exit`.
        let _ = self.0.send(event);
    }
}

pub(crate) fn queue() -> (Queue, mpsc::Receiver<Event>) {
    let (sender, receiver) = mpsc::channel();
    (Queue(sender), receiver)
}

/// The owner, from outside.
pub(crate) struct Running(Arc<AtomicBool>);

impl Running {
    pub(crate) fn was_shut_down(&self) -> bool {
        self.0.load(Ordering::SeqCst)
    }
}

/// What changes.
pub(crate) struct Owner {
    queue: Queue,
    outbox: Outbox,
    pool: Handle,
    journal: Box<dyn Write + Send>,
    client: Option<Abilities>,
    houses: Vec<House>,
    /// Open documents: their workspace and their path in it.
    open: HashMap<Url, (usize, Path)>,
    documents: HashMap<usize, imbl::HashMap<Path, Arc<Open>>>,
    /// Workspaces with files of which something else is to be said.
    dirty: HashMap<usize, BTreeSet<Path>>,
    /// Documents edited since the last round: their clients ask for themselves.
    edited: BTreeSet<(usize, Path)>,
    shut_down: Arc<AtomicBool>,
}

impl Owner {
    /// Starts the owner's thread; within the runtime on whose pool requests are to be worked out.
    pub(crate) fn start(
        client: Client,
        queue: Queue,
        events: mpsc::Receiver<Event>,
        journal: Box<dyn Write + Send>,
    ) -> Running {
        let shut_down = Arc::new(AtomicBool::new(false));
        let mut owner = Self {
            queue,
            outbox: Outbox::new(client),
            pool: Handle::current(),
            journal,
            client: None,
            houses: Vec::new(),
            open: HashMap::new(),
            documents: HashMap::new(),
            dirty: HashMap::new(),
            edited: BTreeSet::new(),
            shut_down: Arc::clone(&shut_down),
        };
        std::thread::spawn(move || {
            while let Ok(event) = events.recv() {
                let mut next = Some(event);
                // What has come in the meantime is taken in before anything is said of it.
                while let Some(event) = next {
                    if matches!(event, Event::Exit) {
                        return;
                    }
                    owner.guarded(event);
                    next = events.try_recv().ok();
                }
                owner.say();
            }
        });
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

    fn take(&mut self, event: Event) {
        if let Event::Initialize(params, reply) = event {
            return self.initialize(&params, reply);
        }
        let Some(client) = self.client else { return };
        if self.shut_down.load(Ordering::SeqCst) {
            return;
        }
        match event {
            Event::Initialize(..) | Event::Exit | Event::Configured => {}
            Event::Initialized => self.initialized(client),
            Event::Opened(opened) => self.opened(client, opened),
            Event::Changed(changed) => self.changed(changed),
            Event::Closed(closed) => self.closed(&closed.text_document.uri),
            Event::Saved(uri) => self.on_disk(&uri),
            Event::Watched(changes) => self.watched(&changes),
            Event::Folders(change) => {
                change.added.iter().filter_map(|f| f.uri.to_file_path().ok()).for_each(|f| self.enter(&f));
            }
            Event::Unreadable { method, uri, why } => {
                self.tell(&format!("{method} was not understood: {why}"));
                if let (Some(uri), true) = (uri, method.starts_with("textDocument/did")) {
                    self.lose(&uri, "an edit could not be read");
                }
            }
            Event::Ask(uri, work) => self.ask(client, uri, work),
            Event::AskAll(work) => {
                let views =
                    (0..self.houses.len()).filter_map(|house| self.view(client, house, "".into())).collect();
                self.pool.spawn_blocking(move || work(views));
            }
            Event::Text(uri, reply) => {
                let open = self.document(&uri).map(|open| open.text.whole());
                let _ = reply.send(open);
            }
            Event::Read(house, below) => self.read(client, house, *below),
            Event::Checked(house, checked) => self.checked(client, house, checked),
            Event::RoundDone(house, rest) => {
                if let Some(it) = self.houses.get_mut(house) {
                    it.checking = false;
                    self.dirty.entry(house).or_default().extend(rest);
                }
            }
            Event::Panicked(what) => self.tell(&format!("a fault in the server: {what}; it goes on")),
            Event::Shutdown(reply) => {
                self.shut_down.store(true, Ordering::SeqCst);
                self.outbox.close();
                self.houses.clear();
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
        let folders = params.workspace_folders.iter().flatten().map(|folder| &folder.uri);
        // Older clients name their folder so.
        let root = params.root_uri.iter().filter(|_| params.workspace_folders.is_none());
        let folders: Vec<PathBuf> = folders.chain(root).filter_map(|uri| uri.to_file_path().ok()).collect();
        for folder in folders {
            self.enter(&folder);
        }
        let _ = reply.send(initialize_result(client));
    }

    fn initialized(&mut self, client: Abilities) {
        if client.registers_watchers {
            let watchers = ["**/*.barm", "**/barm.toml"].map(|glob| lsp::FileSystemWatcher {
                glob_pattern: lsp::GlobPattern::String(glob.to_owned()),
                kind: None,
            });
            let options = lsp::DidChangeWatchedFilesRegistrationOptions { watchers: watchers.into() };
            self.outbox.send(Out::Register(vec![lsp::Registration {
                id: "files".to_owned(),
                method: "workspace/didChangeWatchedFiles".to_owned(),
                register_options: serde_json::to_value(options).ok(),
            }]));
        }
    }

    /// A folder of the client's: its workspace is read, unless it is already.
    fn enter(&mut self, folder: &std::path::Path) {
        let Ok(folder) = folder.canonicalize() else { return };
        self.settle_in(&disk::workspace_of(&folder));
    }

    fn settle_in(&mut self, root: &std::path::Path) -> usize {
        if let Some(at) = self.houses.iter().position(|house| house.root.as_deref() == Some(root)) {
            return at;
        }
        let house = self.houses.len();
        self.houses.push(House::new(Some(root.to_owned())));
        let (root, queue) = (root.to_owned(), self.queue.clone());
        let (steps, taken) = tokio::sync::mpsc::unbounded_channel::<(String, u32)>();
        if self.client.is_some_and(|client| client.progress) {
            self.outbox.send(Out::Progress(format!("Reading logs below {}", root.display()), taken));
        }
        self.pool.spawn_blocking(move || {
            let below = disk::read_below(&root);
            queue.send(Event::Read(house, Box::new(below)));
            drop(steps);
        });
        house
    }

    fn read(&mut self, client: Abilities, house: usize, below: Below) {
        // A folder below with settings of its own is a workspace of its own.
        below.nested.iter().for_each(|root| {
            self.settle_in(root);
        });
        let open = self.documents.get(&house).cloned().unwrap_or_default();
        let Some(it) = self.houses.get_mut(house) else { return };
        it.loading = false;
        it.world.set_settings(below.settings.settings);
        it.settings_fault = below.settings.fault;
        it.world.load(below.files.into_iter().filter(|(path, ..)| !open.contains_key(path)).collect());
        let waiting = std::mem::take(&mut it.waiting);
        self.changed_in(house);
        self.say_settings(client, house);
        for (uri, work) in waiting {
            self.ask(client, uri, work);
        }
    }

    // --- Documents

    /// The workspace and path of a document.
    fn place(&mut self, uri: &Url) -> (usize, Path) {
        let alone = |owner: &mut Self| {
            owner.houses.push(House::new(None));
            (owner.houses.len() - 1, Path::from(uri.path().rsplit('/').next().unwrap_or("log")))
        };
        let Ok(path) = uri.to_file_path() else { return alone(self) };
        let folder = path.parent().and_then(|folder| folder.canonicalize().ok());
        let (Some(folder), Some(name)) = (folder, path.file_name()) else { return alone(self) };
        let path = folder.join(name);
        // The innermost workspace that the client has opened, unless a settings file makes a nearer one.
        let root = barm_workspace::root_of(&folder);
        let known = self.houses.iter().filter_map(|house| house.root.clone());
        let entered =
            known.filter(|root| path.starts_with(root)).max_by_key(|root| root.components().count());
        let Some(root) = root.or(entered) else { return alone(self) };
        let house = self.settle_in(&root);
        match self.houses.get(house).and_then(|it| it.path_of(&path)) {
            Some(path) => (house, path),
            None => alone(self),
        }
    }

    fn document(&self, uri: &Url) -> Option<&Arc<Open>> {
        let (house, path) = self.open.get(uri)?;
        self.documents.get(house)?.get(path)
    }

    fn put(&mut self, house: usize, path: &Path, open: Open) {
        if !open.lost
            && let Some(it) = self.houses.get_mut(house)
        {
            it.world.set(path, Arc::from(open.text.whole()), None);
        }
        self.edited.insert((house, Arc::clone(path)));
        // Its version is another, even where its text is not.
        self.dirty.entry(house).or_default().insert(Arc::clone(path));
        self.documents.entry(house).or_default().insert(Arc::clone(path), Arc::new(open));
        self.changed_in(house);
    }

    /// Something changed in a workspace: work on older states of it is in vain.
    fn changed_in(&mut self, house: usize) {
        if let Some(it) = self.houses.get_mut(house) {
            it.revision.fetch_add(1, Ordering::SeqCst);
            self.dirty.entry(house).or_default().extend(it.world.take_fresh());
        }
    }

    fn opened(&mut self, client: Abilities, opened: DidOpenTextDocumentParams) {
        let document = opened.text_document;
        let (house, path) = match self.open.get(&document.uri) {
            Some(known) => known.clone(),
            None => self.place(&document.uri),
        };
        self.open.insert(document.uri.clone(), (house, Arc::clone(&path)));
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
        if changed.text_document.version <= open.version && whole.is_none() {
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
        self.take_from_disk(house, &path);
        if let (Some(client), Some(it)) = (self.client, self.houses.get_mut(house))
            && it.world.file(&path).is_none()
            && it.said.remove(&path).is_some()
            && !client.pulls
        {
            self.outbox.send(Out::Publish { uri: uri.clone(), diagnostics: Vec::new(), version: None });
        }
    }

    /// A file as it stands on disk.
    fn take_from_disk(&mut self, house: usize, path: &Path) {
        let Some(it) = self.houses.get_mut(house) else { return };
        let read = it.root.as_deref().and_then(|root| disk::read_one(Some(root), &root.join(&**path)));
        match read {
            Some((text, unread)) => it.world.set(path, text, unread),
            None => it.world.remove(path),
        }
        self.changed_in(house);
    }

    // --- Files on disk

    fn watched(&mut self, changes: &[FileEvent]) {
        for change in changes {
            if change.typ == FileChangeType::DELETED || change.uri.to_file_path().is_ok() {
                self.on_disk(&change.uri);
            }
        }
    }

    fn on_disk(&mut self, uri: &Url) {
        let Ok(path) = uri.to_file_path() else { return };
        let folder = path.parent().map(|folder| folder.canonicalize().unwrap_or_else(|_| folder.to_owned()));
        let (Some(folder), Some(name)) = (folder, path.file_name()) else { return };
        let path = folder.join(name);
        let of = |house: &House| {
            house.root.as_ref().filter(|root| path.starts_with(root)).map(|root| root.components().count())
        };
        let house = (0..self.houses.len()).max_by_key(|at| self.houses.get(*at).and_then(of));
        let Some(house) = house.filter(|at| self.houses.get(*at).is_some_and(|it| of(it).is_some())) else {
            return;
        };
        if name == SETTINGS {
            return self.read_settings(house);
        }
        let Some(below) = self.houses.get(house).and_then(|it| it.path_of(&path)) else { return };
        let is_open = self.documents.get(&house).is_some_and(|open| open.contains_key(&below));
        // What the client has open is what counts.
        if disk::is_log(&path) && !is_open {
            self.take_from_disk(house, &below);
            let Some(it) = self.houses.get_mut(house) else { return };
            if it.world.file(&below).is_none()
                && it.said.remove(&below).is_some()
                && !self.client.is_some_and(|c| c.pulls)
            {
                self.outbox.send(Out::Publish { uri: uri.clone(), diagnostics: Vec::new(), version: None });
            }
        }
    }

    fn read_settings(&mut self, house: usize) {
        let Some(it) = self.houses.get_mut(house) else { return };
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
        let Some(it) = self.houses.get(house) else { return };
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
        let it = self.houses.get(house)?;
        Some(View {
            client,
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
                let path = uri.to_file_path().ok();
                let place = |(at, house): (usize, &House)| Some((at, house.path_of(path.as_deref()?)?));
                let inner = |(at, _): &(usize, Path)| {
                    self.houses.get(*at).and_then(|it| it.root.as_ref().map(|r| r.components().count()))
                };
                match self.houses.iter().enumerate().filter_map(place).max_by_key(inner) {
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
        match self.houses.get_mut(house).filter(|it| it.loading) {
            Some(it) => it.waiting.push((uri, work)),
            None => {
                self.pool.spawn_blocking(move || work(view));
            }
        }
    }

    // --- What is said unasked

    /// Begins a round of diagnostics in each workspace where there is something to be said.
    fn say(&mut self) {
        let Some(client) = self.client.filter(|_| !self.shut_down.load(Ordering::SeqCst)) else { return };
        let houses: Vec<usize> = self.dirty.keys().copied().collect();
        for house in houses {
            let ready = self.houses.get(house).is_some_and(|it| !it.loading && !it.checking);
            let Some(mut files) = self.dirty.remove(&house) else { continue };
            if !ready {
                self.dirty.insert(house, files);
                continue;
            }
            let Some(view) = self.view(client, house, "".into()) else { continue };
            let Some(it) = self.houses.get_mut(house) else { continue };
            if client.pulls {
                files.retain(|path| view.open.contains_key(path));
            }
            files.retain(|path| view.world.file(path).is_some());
            if files.is_empty() {
                continue;
            }
            // What is edited comes first, then what else is open, then the rest.
            let mut order: Vec<Path> = files.into_iter().collect();
            order.sort_by_key(|path| {
                (!self.edited.contains(&(house, Arc::clone(path))), !view.open.contains_key(path))
            });
            it.checking = true;
            let round =
                Round { house, view, order, revision: Arc::clone(&it.revision), queue: self.queue.clone() };
            self.pool.spawn_blocking(move || round.run());
        }
    }

    fn checked(&mut self, client: Abilities, house: usize, checked: Vec<Checked>) {
        let Some(it) = self.houses.get_mut(house) else { return };
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
            let edited = self.edited.remove(&(house, Arc::clone(&said.path)));
            if client.pulls {
                others_changed |= !same && !edited;
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
