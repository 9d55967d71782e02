//! The files of a workspace and the parts into which they fall.
//!
//! Lots that no name links never meet, so a workspace is reckoned part by part: all files that name a lot in common lie
//! in one part, and an edit reckons its own part again and no other. A [`World`] is a value: a clone of it is a snapshot
//! that costs nothing, and each part is reckoned once, by whoever asks first.

use std::collections::{BTreeMap, BTreeSet, VecDeque};
use std::sync::{Arc, OnceLock};

use barm_reckoning::{
    Danger, Logged, LoggerFile, Loggers, Moment, Risk, Settings, Source, folded, risks, tells_of_infection,
};
use barm_syntax::Span;
use barm_syntax::ast::{Block, BlockKind, Kind, Log, Placed};
use imbl::{HashMap, OrdMap, OrdSet};
use rayon::prelude::*;
use unicode_security::confusable_detection::skeleton;

use crate::mention::{Role, mentions};
use crate::offers::Offers;
use crate::part::Part;

/// A part of so many files and bytes at the most is small.
const SMALL_FILES: usize = 32;
const SMALL_BYTES: usize = 32 * 1024;

/// A file's path below its workspace, `/` between folders.
pub type Path = Arc<str>;

/// A file as it stands.
#[derive(Debug)]
pub struct File {
    /// Its text.
    pub text: Arc<str>,
    /// The text as read.
    pub log: Log,
    /// Why it could not be read from disk as it is, and where.
    pub unread: Option<(Span, String)>,
    /// Its names in folded form, each with what it does here.
    names: BTreeSet<(Arc<str>, Role)>,
    infected: bool,
    /// The loggers' files that it names.
    loggers: BTreeSet<LoggerFile>,
    /// What in it can hurt, where it is done first.
    risks: BTreeMap<Danger, Risk>,
    /// What others may be offered of it, found when somebody asks.
    offers: OnceLock<Offers>,
}

impl File {
    fn new(path: &Path, text: Arc<str>, log: Log, unread: Option<(Span, String)>) -> Self {
        let blocks = || log.blocks.iter().map(|placed| &*placed.block);
        let names = blocks().flat_map(mentions).map(|m| (Arc::from(folded(&m.name.text)), m.role)).collect();
        let infected = blocks().flat_map(|b| &b.statements).any(|s| tells_of_infection(&s.kind));
        let loggers = LoggerFile::of_log(path, &log);
        let risks = risks(&log);
        Self { text, log, unread, names, infected, loggers, risks, offers: OnceLock::new() }
    }

    /// What others may be offered of it.
    pub(crate) fn offers(&self) -> &Offers {
        self.offers.get_or_init(|| Offers::of(&self.log))
    }

    fn source(&self, path: &Path) -> Source {
        Source { path: Arc::clone(path), text: Arc::clone(&self.text), log: self.log.clone() }
    }

    /// The blocks that say what a name is to files of other parts.
    fn told(&self) -> impl Iterator<Item = (String, &Placed)> {
        let is_told = |block: &Block| matches!(block.kind, BlockKind::Strain | BlockKind::Vessel);
        let blocks = self.log.blocks.iter().filter(move |placed| is_told(&placed.block));
        blocks.filter_map(|placed| Some((folded(&placed.block.name.as_ref()?.text), placed)))
    }
}

/// Which files say what of a name.
#[derive(Debug, Clone, Default)]
struct Known {
    /// They declare a lot.
    lots: OrdSet<Path>,
    /// They declare a strain or a vessel.
    told: OrdSet<Path>,
    /// They mean a lot.
    lot_uses: OrdSet<Path>,
    /// They mean or declare a vessel.
    vessels: OrdSet<Path>,
    /// They name it.
    all: OrdSet<Path>,
}

impl Known {
    fn set(&mut self, path: &Path, roles: impl IntoIterator<Item = Role>) {
        for files in [&mut self.lots, &mut self.told, &mut self.lot_uses, &mut self.vessels, &mut self.all] {
            files.remove(path);
        }
        for role in roles {
            self.all.insert(Arc::clone(path));
            let files = match role {
                Role::DeclaresLot => &mut self.lots,
                Role::DeclaresStrain => &mut self.told,
                Role::DeclaresVessel => {
                    self.told.insert(Arc::clone(path));
                    &mut self.vessels
                }
                Role::UsesLot => &mut self.lot_uses,
                Role::UsesVessel => &mut self.vessels,
                Role::MayUseLot | Role::UsesStrain => continue,
            };
            files.insert(Arc::clone(path));
        }
    }

    /// Whether somebody means a lot that nobody declares.
    fn is_missing(&self) -> bool {
        self.lots.is_empty() && !self.lot_uses.is_empty()
    }
}

/// A part of a workspace, to be reckoned when it is asked for.
#[derive(Debug)]
struct Cell {
    stamp: u64,
    /// Sorted.
    members: Arc<[Path]>,
    part: OnceLock<Arc<Part>>,
}

/// What an edit took the place of. To take it apart takes a good part of the time of an answer: whoever wants to answer first
/// keeps it until then.
#[derive(Debug, Clone, Default)]
pub struct Spent(Vec<Arc<File>>, Vec<Arc<Cell>>);

/// When and where a log does a dangerous thing first.
type First = (Moment, Path, Span);

/// The files of a workspace as they stand.
#[derive(Debug, Clone, Default)]
pub struct World {
    settings: Arc<Settings>,
    files: OrdMap<Path, Arc<File>>,
    /// What stands in the loggers' files that logs name.
    loggers: OrdMap<LoggerFile, Result<Arc<Logged>, String>>,
    /// Loggers' files that nobody has read yet.
    unlogged: BTreeSet<LoggerFile>,
    /// For each danger where logs do it first: a workspace is cautioned once, at the first of all.
    risks: BTreeMap<Danger, OrdSet<First>>,
    names: OrdMap<Arc<str>, Known>,
    /// Declared names by their look.
    looks: HashMap<Arc<str>, OrdMap<Arc<str>, OrdSet<Path>>>,
    /// Names of lots that nobody declares.
    missing: OrdSet<Arc<str>>,
    /// How many files tell of an infection: vessels tie lots together then.
    infected: usize,
    part_of: HashMap<Path, u64>,
    cells: HashMap<u64, Arc<Cell>>,
    /// Files whose parts are to be found anew.
    loose: BTreeSet<Path>,
    /// Files of which something else may be said than before.
    fresh: BTreeSet<Path>,
    /// What edits took the place of.
    spent: Spent,
    stamp: u64,
}

/// Whether two texts have as many lines before a byte.
fn same_lines(a: &str, b: &str, end: usize) -> bool {
    let (a, b) = (a.as_bytes().get(..end), b.as_bytes().get(..end));
    let lines = |bytes: Option<&[u8]>| {
        let bytes = bytes.unwrap_or_default();
        let pairs = bytes.windows(2).filter(|pair| *pair == b"\r\n").count();
        bytes.iter().filter(|byte| matches!(byte, b'\r' | b'\n')).count() - pairs
    };
    a == b || lines(a) == lines(b)
}

/// A file to be put in: its path, its text, and what was wrong with it on disk.
pub type Loaded = (Path, Arc<str>, Option<(Span, String)>);

impl World {
    /// A workspace without files.
    #[must_use]
    pub fn new(settings: Settings) -> Self {
        Self { settings: Arc::new(settings), ..Self::default() }
    }

    /// Its settings.
    #[must_use]
    pub fn settings(&self) -> &Settings {
        &self.settings
    }

    /// Other settings: everything is to be reckoned anew.
    pub fn set_settings(&mut self, settings: Settings) {
        self.settings = Arc::new(settings);
        self.loosen_all();
        self.settle();
    }

    /// Its files, by path.
    pub fn files(&self) -> impl Iterator<Item = (&Path, &Arc<File>)> {
        self.files.iter()
    }

    /// A file.
    #[must_use]
    pub fn file(&self, path: &str) -> Option<&Arc<File>> {
        self.files.get(path)
    }

    /// Puts in many files at once; they are read on all cores.
    pub fn load(&mut self, files: Vec<Loaded>) {
        let read = |(path, text, unread): Loaded| {
            let log = barm_syntax::read(&text);
            let file = File::new(&path, text, log, unread);
            (path, Arc::new(file))
        };
        let files: Vec<(Path, Arc<File>)> = files.into_par_iter().map(read).collect();
        for (path, file) in files {
            self.replace(&path, Some(file));
        }
        self.settle();
    }

    /// A file's new text; only the blocks that differ are read.
    pub fn set(&mut self, path: &Path, text: Arc<str>, unread: Option<(Span, String)>) -> Spent {
        let log = match self.files.get(path) {
            Some(old) if old.text == text && old.unread == unread => return Spent::default(),
            Some(old) => old.log.edited(&old.text, &text),
            None => barm_syntax::read(&text),
        };
        self.replace(path, Some(Arc::new(File::new(path, text, log, unread))));
        self.settle();
        std::mem::take(&mut self.spent)
    }

    /// A file is gone.
    pub fn remove(&mut self, path: &str) {
        self.replace(&Arc::from(path), None);
        self.settle();
    }

    /// Loggers' files that logs name and that are to be read: each is told here once, and reckoned without until
    /// [`Self::log`].
    pub fn take_unlogged(&mut self) -> BTreeSet<LoggerFile> {
        std::mem::take(&mut self.unlogged)
    }

    /// A logger's file is to be read again.
    pub fn unlog(&mut self, file: LoggerFile) {
        self.unlogged.insert(file);
    }

    /// What stands in a logger's file, or why it was not read. Nothing comes of one that no log names any more.
    pub fn log(&mut self, file: LoggerFile, logged: Result<Logged, String>) {
        let is_named = self.files.get(&file.log).is_some_and(|log| log.loggers.contains(&file));
        let is_news = match (self.loggers.get(&file), &logged) {
            (Some(Ok(old)), Ok(new)) => **old != *new,
            (Some(Err(old)), Err(new)) => old != new,
            _ => true,
        };
        if is_named && is_news {
            self.stamp += 1;
            self.refresh(&file.log);
            self.loggers.insert(file, logged.map(Arc::new));
        }
    }

    /// The loggers' files that logs name.
    pub fn loggers(&self) -> impl Iterator<Item = &LoggerFile> {
        self.files.values().flat_map(|file| &file.loggers)
    }

    /// Changes when what is said of a file may have changed, and only then.
    #[must_use]
    pub fn stamp(&self, path: &str) -> u64 {
        self.cell(path).map_or(0, |cell| cell.stamp)
    }

    /// The files of which something else may be said than when this was asked last.
    pub fn take_fresh(&mut self) -> BTreeSet<Path> {
        std::mem::take(&mut self.fresh)
    }

    /// The part of a file, reckoned; `None` for a file that is not here.
    #[must_use]
    pub fn part(&self, path: &str) -> Option<Arc<Part>> {
        let cell = self.cell(path)?;
        Some(Arc::clone(cell.part.get_or_init(|| Arc::new(self.reckon(&cell.members)))))
    }

    /// Whether the part of a file is reckoned in a moment, about a millisecond.
    #[must_use]
    pub fn is_small(&self, path: &str) -> bool {
        let members = self.cell(path).map_or(&[][..], |cell| &cell.members);
        let size = |path: &Path| self.files.get(path).map_or(0, |file| file.text.len());
        members.len() <= SMALL_FILES && members.iter().map(size).sum::<usize>() <= SMALL_BYTES
    }

    /// The files that name something, by what it is called.
    #[must_use]
    pub fn naming(&self, name: &str) -> Vec<Path> {
        let known = self.names.get(&*folded(name));
        known.map(|known| known.all.iter().cloned().collect()).unwrap_or_default()
    }

    fn cell(&self, path: &str) -> Option<&Arc<Cell>> {
        self.cells.get(self.part_of.get(path)?)
    }

    // --- What an edit changes

    fn replace(&mut self, path: &Path, new: Option<Arc<File>>) {
        let old = match &new {
            Some(new) => self.files.insert(Arc::clone(path), Arc::clone(new)),
            None => self.files.remove(path),
        };
        self.stamp += 1;
        self.tell(old.as_deref(), new.as_deref());
        self.name_loggers(old.as_deref(), new.as_deref());
        self.move_risks(path, old.as_deref(), new.as_deref());
        let none = BTreeSet::new();
        let [before, after] = [&old, &new].map(|file| file.as_ref().map_or(&none, |file| &file.names));
        let infected =
            |file: &Option<Arc<File>>| usize::from(file.as_ref().is_some_and(|file| file.infected));
        let were_infected = self.infected > 0;
        self.infected = self.infected + infected(&new) - infected(&old);
        if (self.infected > 0) != were_infected {
            self.loosen_all();
        }
        if old.is_some() && new.is_some() && before == after {
            self.refresh(path);
        } else {
            self.loosen(path);
            self.rename(path, before, after);
            match new {
                Some(_) => self.reach(path).iter().for_each(|path| self.loosen(path)),
                None => {
                    self.part_of.remove(path);
                    self.loose.remove(path);
                }
            }
        }
        // Who means a lot that nobody declares is told which lots there are of a strain by that name.
        let of_missing = before
            .union(after)
            .filter(|(name, role)| *role == Role::UsesStrain && self.missing.contains(name));
        let astray: Vec<Path> = of_missing.flat_map(|(name, _)| self.using(name)).collect();
        astray.iter().for_each(|path| self.refresh(path));
        self.spent.0.extend(old);
    }

    /// What is read of a logger's file is kept as long as it is named.
    fn name_loggers(&mut self, old: Option<&File>, new: Option<&File>) {
        let none = BTreeSet::new();
        let named = |file: Option<&'_ File>| file.map_or_else(|| none.clone(), |file| file.loggers.clone());
        let (old, new) = (named(old), named(new));
        for gone in old.difference(&new) {
            self.loggers.remove(gone);
            self.unlogged.remove(gone);
        }
        self.unlogged.extend(new.difference(&old).cloned());
    }

    /// Who is cautioned no longer, and who is instead.
    fn move_risks(&mut self, path: &Path, old: Option<&File>, new: Option<&File>) {
        if old.zip(new).is_some_and(|(old, new)| old.risks == new.risks) {
            return;
        }
        let entries = |file: Option<&File>| -> Vec<(Danger, First)> {
            let risks = file.map(|file| &file.risks).into_iter().flatten();
            risks.map(|(danger, risk)| (*danger, (risk.at, Arc::clone(path), risk.span))).collect()
        };
        let (old, new) = (entries(old), entries(new));
        if old == new {
            return;
        }
        let mut concerned = BTreeSet::new();
        let dangers: BTreeSet<Danger> = old.iter().chain(&new).map(|(danger, _)| *danger).collect();
        for danger in dangers {
            let all = self.risks.entry(danger).or_default();
            let first = |all: &OrdSet<First>| all.get_min().map(|(_, path, _)| Arc::clone(path));
            let before = first(all);
            old.iter().filter(|(of, _)| *of == danger).for_each(|(_, risk)| {
                all.remove(risk);
            });
            new.iter().filter(|(of, _)| *of == danger).for_each(|(_, risk)| {
                all.insert(risk.clone());
            });
            let after = first(all);
            if before != after {
                concerned.extend(before.into_iter().chain(after));
            }
        }
        concerned.iter().for_each(|path| self.refresh(path));
    }

    /// What in a file can hurt, where it is done first.
    pub(crate) fn risks_of(&self, path: &str) -> impl Iterator<Item = (&Danger, &Risk)> {
        self.files.get(path).into_iter().flat_map(|file| &file.risks)
    }

    /// Whether a workspace is cautioned here: nobody does the thing before.
    pub(crate) fn cautions_at(&self, danger: Danger, path: &str, span: Span) -> bool {
        let first = self.risks.get(&danger).and_then(OrdSet::get_min);
        first.is_some_and(|(_, at, here)| **at == *path && *here == span)
    }

    /// Changes the index of names.
    fn rename(
        &mut self,
        path: &Path,
        before: &BTreeSet<(Arc<str>, Role)>,
        after: &BTreeSet<(Arc<str>, Role)>,
    ) {
        let changed: BTreeSet<&Arc<str>> = before.symmetric_difference(after).map(|(name, _)| name).collect();
        let mut lots_changed = false;
        for name in changed {
            let roles = after
                .range((Arc::clone(name), Role::FIRST)..)
                .take_while(|(n, _)| n == name)
                .map(|(_, role)| *role);
            let roles: Vec<Role> = roles.collect();
            let mut known = self.names.remove(name).unwrap_or_default();
            let declared_by = known.lots.clone();
            known.set(path, roles.iter().copied());
            lots_changed |= declared_by != known.lots;
            if known.is_missing() {
                self.missing.insert(Arc::clone(name));
            } else {
                self.missing.remove(name);
            }
            if !known.all.is_empty() {
                self.names.insert(Arc::clone(name), known);
            }
            self.look(path, name, roles.iter().any(|role| role.declares()));
        }
        if lots_changed {
            // The nearest name to one that nobody declares, and the lots of a strain by that name, may be others now.
            let astray: Vec<Path> = self.missing.iter().flat_map(|name| self.using(name)).collect();
            astray.iter().for_each(|path| self.refresh(path));
        }
    }

    fn using(&self, name: &str) -> Vec<Path> {
        self.names.get(name).map(|known| known.lot_uses.iter().cloned().collect()).unwrap_or_default()
    }

    fn look(&mut self, path: &Path, name: &Arc<str>, declared: bool) {
        let look: Arc<str> = Arc::from(skeleton(name).collect::<String>());
        let mut group = self.looks.remove(&look).unwrap_or_default();
        let mut files = group.remove(name).unwrap_or_default();
        if declared {
            files.insert(Arc::clone(path));
        } else {
            files.remove(path);
        }
        if !files.is_empty() {
            group.insert(Arc::clone(name), files);
        }
        if !group.is_empty() {
            self.looks.insert(look, group);
        }
    }

    /// Strains and vessels that are told otherwise than before are news to everybody who names them.
    fn tell(&mut self, old: Option<&File>, new: Option<&File>) {
        let told = |file: Option<&File>| -> Vec<(String, Placed)> {
            file.map(|file| file.told().map(|(name, placed)| (name, placed.clone())).collect())
                .unwrap_or_default()
        };
        // A block that stands at the same byte may stand in another line.
        let texts = old.zip(new).map(|(old, new)| (&old.text, &new.text));
        let same_line = |start: u32| texts.is_none_or(|(old, new)| same_lines(old, new, start as usize));
        let (old, new) = (told(old), told(new));
        let same = |a: &(String, Placed), b: &(String, Placed)| {
            a.1.start == b.1.start
                && a.0 == b.0
                && (Arc::ptr_eq(&a.1.block, &b.1.block) || a.1.block == b.1.block)
                && same_line(a.1.start)
        };
        if old.len() == new.len() && old.iter().zip(&new).all(|(a, b)| same(a, b)) {
            return;
        }
        let changed = |these: &[(String, Placed)], others: &[(String, Placed)]| -> BTreeSet<String> {
            these
                .iter()
                .filter(|a| !others.iter().any(|b| same(a, b)))
                .map(|(name, _)| name.clone())
                .collect()
        };
        let mut names = changed(&old, &new);
        names.extend(changed(&new, &old));
        let concerned: Vec<Path> = names.iter().flat_map(|name| self.naming(name)).collect();
        concerned.iter().for_each(|path| self.refresh(path));
    }

    /// The part of a file is to be reckoned anew.
    fn refresh(&mut self, path: &str) {
        if let Some(id) = self.part_of.get(path)
            && let Some(cell) = self.cells.get(id)
            && cell.stamp != self.stamp
        {
            self.fresh.extend(cell.members.iter().cloned());
            let cell = Cell { stamp: self.stamp, members: Arc::clone(&cell.members), part: OnceLock::new() };
            self.spent.1.extend(self.cells.insert(*id, Arc::new(cell)));
        }
    }

    /// The part of a file is to be found anew.
    fn loosen(&mut self, path: &Path) {
        self.loose.insert(Arc::clone(path));
        if let Some(cell) = self.part_of.get(path).and_then(|id| self.cells.remove(id)) {
            self.loose.extend(cell.members.iter().cloned());
        }
    }

    fn loosen_all(&mut self) {
        self.cells.clear();
        self.loose.extend(self.files.keys().cloned());
    }

    fn settle(&mut self) {
        while let Some(path) = self.loose.pop_first() {
            if !self.files.contains_key(&path) {
                continue;
            }
            self.stamp += 1;
            let members: Arc<[Path]> = self.reach(&path).into_iter().collect();
            for member in members.iter() {
                self.loose.remove(member);
                self.fresh.insert(Arc::clone(member));
                self.part_of.insert(Arc::clone(member), self.stamp);
            }
            self.cells
                .insert(self.stamp, Arc::new(Cell { stamp: self.stamp, members, part: OnceLock::new() }));
        }
    }

    /// All files of a file's part.
    fn reach(&self, path: &Path) -> BTreeSet<Path> {
        let mut reached = BTreeSet::from([Arc::clone(path)]);
        let mut names: BTreeSet<&Arc<str>> = BTreeSet::new();
        let mut queue = VecDeque::from([Arc::clone(path)]);
        let mut met = |path: &Path, queue: &mut VecDeque<Path>| {
            if reached.insert(Arc::clone(path)) {
                queue.push_back(Arc::clone(path));
            }
        };
        while let Some(path) = queue.pop_front() {
            let Some(file) = self.files.get(&path) else { continue };
            for (name, role) in &file.names {
                if role.declares() {
                    self.doubles(name).for_each(|path| met(path, &mut queue));
                }
                if !names.contains(name)
                    && let Some((name, known)) = self.names.get_key_value(name)
                    && (!known.lots.is_empty() || (self.infected > 0 && !known.vessels.is_empty()))
                {
                    names.insert(name);
                    known.all.iter().for_each(|path| met(path, &mut queue));
                }
            }
        }
        reached
    }

    /// The files that declare a name, or one that looks the same.
    fn doubles(&self, name: &Arc<str>) -> impl Iterator<Item = &Path> {
        let known = self.names.get(name).filter(|known| known.told.len() > 1);
        let doubled = known.into_iter().flat_map(|known| known.told.iter());
        let look: String = skeleton(name).collect();
        let group = self
            .looks
            .get(&*look)
            .filter(|group| group.len() > 1 && group.keys().any(|name| !name.is_ascii()));
        doubled.chain(group.into_iter().flat_map(|group| group.values().flatten()))
    }

    // --- Reckoning

    fn reckon(&self, members: &[Path]) -> Part {
        let mut sources = Vec::new();
        let mut names: BTreeSet<&str> = BTreeSet::new();
        let mut unread = Vec::new();
        let mut loggers = Loggers::new();
        for path in members {
            let Some(file) = self.files.get(path) else { continue };
            sources.push(file.source(path));
            let logged = |file: &LoggerFile| Some((file.clone(), self.loggers.get(file)?.clone()));
            loggers.extend(file.loggers.iter().filter_map(logged));
            names.extend(file.names.iter().map(|(name, _)| &**name));
            unread.extend(file.unread.clone().map(|(span, why)| (Arc::clone(path), span, why)));
        }
        for (path, blocks) in self.guests(&names, members) {
            let Some(file) = self.files.get(&path) else { continue };
            let log = Log { blocks, problems: Vec::new(), problems_left_out: 0 };
            sources.push(Source { path, text: Arc::clone(&file.text), log });
        }
        Part::reckon(sources, loggers, members, &unread, self)
    }

    /// Strains and vessels that a part names and that stand in files of other parts.
    fn guests(&self, names: &BTreeSet<&str>, members: &[Path]) -> BTreeMap<Path, Vec<Placed>> {
        let mut guests: BTreeMap<Path, Vec<Placed>> = BTreeMap::new();
        for known in names.iter().filter_map(|name| self.names.get(*name)) {
            for path in known.told.iter().filter(|path| members.binary_search(path).is_err()) {
                guests.entry(Arc::clone(path)).or_default();
            }
        }
        for (path, blocks) in &mut guests {
            let Some(file) = self.files.get(path) else { continue };
            let named = file.told().filter(|(name, _)| names.contains(&**name));
            blocks.extend(named.map(|(_, placed)| placed.clone()));
        }
        guests
    }

    /// The nearest declared lot to a name that nobody declares, but for the one in whose block it stands.
    pub(crate) fn nearest_lot(&self, name: &str, own: Option<&str>) -> Option<String> {
        let lots = self.names.iter().filter(|(_, known)| !known.lots.is_empty()).map(|(name, _)| &**name);
        let nearest =
            barm_reckoning::nearest(name, lots).filter(|near| own.is_none_or(|own| folded(own) != *near))?;
        let path = self.names.get(nearest)?.lots.iter().next()?;
        let blocks = self.files.get(path)?.log.blocks.iter();
        let written = blocks
            .flat_map(|placed| mentions(&placed.block))
            .find(|m| m.role == Role::DeclaresLot && folded(&m.name.text) == nearest);
        written.map(|mention| mention.name.text.to_string())
    }

    /// The lots of a strain, in order of file and line.
    pub(crate) fn lots_of(&self, strain: &str) -> Vec<String> {
        let wanted = folded(strain);
        let mut lots = Vec::new();
        for path in self.naming(strain) {
            let blocks = self.files.get(&path).map_or(&[][..], |file| &file.log.blocks);
            for (index, placed) in blocks.iter().enumerate() {
                if placed.block.strains.iter().any(|name| folded(&name.text) == wanted) {
                    lots.extend(self.owner(&path, index, &placed.block));
                }
            }
        }
        lots.dedup();
        lots
    }

    /// The lot that a block tells of: of several declarations the first holds, a harvest's before all others.
    fn owner(&self, path: &Path, index: usize, block: &Block) -> Option<String> {
        let wanted = folded(&block.name.as_ref()?.text);
        let known = self.names.get(&*wanted)?;
        let declaring: BTreeSet<&Path> = known.lots.iter().chain(&known.told).collect();
        let blocks = || {
            let files = declaring.iter().filter_map(|path| Some((*path, self.files.get(*path)?)));
            files.flat_map(|(path, file)| {
                file.log.blocks.iter().enumerate().map(move |(at, placed)| (path, at, &placed.block))
            })
        };
        let harvests = blocks().flat_map(|(_, _, block)| &block.statements).filter_map(|statement| {
            match &statement.kind {
                Kind::Harvest(harvest) => Some(&harvest.name),
                _ => None,
            }
        });
        if let Some(harvest) = harvests.into_iter().find(|name| folded(&name.text) == wanted) {
            return (block.kind == BlockKind::Culture).then(|| harvest.text.to_string());
        }
        let declared = |block: &Block| {
            let named = block.name.as_ref().is_some_and(|name| folded(&name.text) == wanted);
            named && !matches!(block.kind, BlockKind::Unknown | BlockKind::Loose)
        };
        let (first, at, block) = blocks().find(|(_, _, block)| declared(block))?;
        (first == path && at == index).then(|| block.name.as_ref().map(|name| name.text.to_string()))?
    }
}
