//! Scripts of what an editor, its user and the disk do to a workspace, drawn by lot.

use std::collections::BTreeMap;

use tower_lsp::lsp_types::{Position, Range};

use super::oracle;
use crate::text::Encoding;

pub(super) const FILES: [&str; 6] =
    ["strains.barm", "a.barm", "b.barm", "deep/c.barm", "deep/d.barm", "näher.barm"];

/// What loggers write, and what may stand there.
const LOGGERS: [&str; 2] = ["cellar.csv", "deep/cellar.csv"];
const LOGGED: [&str; 6] = [
    "time,temp/°C\n2026-09-01 15:00,18\n2026-09-03 15:00,18.5\n",
    "time,temp/°C\n2026-09-01 15:00,27\n2026-09-03 15:00,28\n2026-09-03 16:00,much\n",
    "time;temp/°C\r\n2026-09-10 15:00;8,5\r\n2026-09-12 15:00;8,5\r\n",
    "time,temp/°C\n2026-09-20 12:30,30\n2026-09-22 12:00,31\n",
    "nobody knows these columns\n",
    "",
];

/// What may be asked at a place in a document; the answer must be no fault.
pub(super) const ASKED: [&str; 16] = [
    "diagnostic",
    "hover",
    "completion",
    "inlayHint",
    "codeLens",
    "codeAction",
    "definition",
    "references",
    "documentHighlight",
    "documentSymbol",
    "semanticTokens/full",
    "semanticTokens/range",
    "foldingRange",
    "formatting",
    "rangeFormatting",
    "prepareTypeHierarchy",
];

/// One thing that is done. A script from which steps are left out is a script: positions are held within the text that
/// stands there then, and what cannot be done is passed over.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Step {
    Open(&'static str),
    Close(&'static str),
    /// One message with several changes, each in what the one before left.
    Edit(&'static str, Vec<(Option<Range>, String)>),
    /// Written on disk, and the server told.
    Write(&'static str, String),
    Delete(&'static str),
    Settings(&'static str),
    Ask(&'static str, &'static str, Position),
    /// Everything is compared with a server that has just begun.
    Compare,
}

const SETTINGS: [&str; 5] = [
    "",
    "[rules]\ntoo-warm = \"error\"\n",
    "[places]\nrefrigerator = \"3 °C\"\n",
    "[instruments]\nthermometer = { error = \"0.5 °C\" }\n",
    "[nonsense",
];

/// The first four stand mostly in the first file. No infection is among them: it comes and goes by itself.
/// Names are followed by `§`, where mostly the file's number stands: so files are parts of their own, and meet at times.
const BLOCKS: [&str; 29] = [
    "strain fen\n  kind lager\n  range 9..13 °C\n  attenuates 74..78 %\n",
    "strain fen\n  kind ale\n",
    "strain tide\n  kind ale\n  range 17..20 °C\n  attenuates 73..77 %\n  reuse 3 generations\n",
    "vessel v1\n  holds 30 L\n",
    "# a line above 𝛼\n",
    "culture a§ of fen\n  pack 1 × 100 B\n  made 2026-08-01\n",
    "culture b§ of tide\r\n  slurry 300 mL thick\r\n  harvested 2026-07-01\r\n",
    "culture c§ of fen + tide\n  pack 1 × 90 B\n",
    "culture а§ of tide\n  pack 1 × 90 B\n",
    "starter s-1§\n  wort 1.2 L at 1.037\n  stirred\n  on 2026-08-30 18:00 pitch a§ 1 pack\n",
    "brew one§ \"Én\"\n  wort 21 L at 1.048\n  in v1\n  on 2026-09-01\n    14:00 aerate shake\n    14:10 pitch a§ 1 pack\n",
    "brew two§\n  wort 21 L at 1.048\n  hold 17..19 °C\n  in v1\n  on 2026-09-10 pitch b§ 60 mL\n  on 2026-09-12 temp 25 °C\n",
    "brew three§\n  wort 30 L at 1.060\n  in v1\n  on 2026-09-20 12:00 pitch jar§ ?\n",
    "brew four§\n  in v2\n  wort 10 L at 1.040\n  on 2026-10-01 pitch fen\n",
    "brew five§\r\n  wort 20 L at ?\r\n  in v1\r\n  on 2026-10-02\r\n    18:10 aerate oxygen 50 s at 1 L/min\r\n    18:30 pitch s-1§\r\n",
    "  on 2026-09-14 harvest jar§ 400 mL thick\n",
    "  on 2026-09-15 pitch tide\n",
    "  readings \"cellar.csv\"\n",
    "  readings \"../cellar.csv\" columns time temp/°C\n",
    "  on 2026-09-16 pitch onne§ 1/4\n",
    "  on 2026-09-16 add 2 L one§\n",
    "  on 2026-09-18\n    08:00 temp 18.4 °C, gravity 1.026, note quiet 👩‍🔬\n    20:00 krausen high\n",
    "# accept too-warm: the cellar is warm\n",
    "  # accept idle\n",
    "brew a§\n  wort 20 L at 1.050\n",
    "<<<<<<< ours\n  temp 18 °C\n=======\n  temp 19 °C\n>>>>>>> theirs\n",
    "\u{feff}",
    "  taste good, clean, bread crust\n  note ends here\r",
    "brwe x\n  on 2026-13-40\n  wort 21 at\n",
];

const BITS: [&str; 22] = [
    "", "", "", "\n", "\r\n", "\r", " ", "  ", "?", "1", "9", ".", "é", "𝛼", "e\u{301}", "\t", "°", "on ",
    "brew ", "a", "#", "\u{200b}",
];

const NAMES: [&str; 16] = [
    "fen", "tide", "a", "b", "c", "one", "two", "three", "jar", "v1", "v2", "s-1", "onne", "а", "four",
    "new-name",
];

/// Where among the kinds of changes, in percent, those begin that name nothing anew.
const DIGIT: u8 = 80;
const STRAIN: u8 = 94;

/// A file that has grown longer is cut down.
const LONG: usize = 1_800;

/// A stretch of a text.
type Bytes = std::ops::Range<usize>;

struct Draw {
    random: fastrand::Rng,
    encoding: Encoding,
    disk: BTreeMap<&'static str, String>,
    open: BTreeMap<&'static str, String>,
    steps: Vec<Step>,
    edits: usize,
    /// Where most is done for a while: what depends on it elsewhere must follow without being touched.
    busy: &'static str,
    mood: Mood,
}

/// What is done for a while. But for the first no names come or go, or few: what depends on little else must follow too,
/// and nothing coarse hides that it does not.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Mood {
    Wild,
    Calm,
    /// A story is told, and infections come and go in it.
    Sick,
    /// A story is told, and lots of a strain come and go.
    Bred,
}

/// A script with so many changes of text.
pub(super) fn script(seed: u64, encoding: Encoding, edits: usize, compared_every: usize) -> Vec<Step> {
    let mut draw = Draw {
        random: fastrand::Rng::with_seed(seed),
        encoding,
        disk: BTreeMap::new(),
        open: BTreeMap::new(),
        steps: Vec::new(),
        edits: 0,
        busy: FILES[0],
        mood: Mood::Wild,
    };
    let mut compared = 0;
    while draw.edits < edits {
        draw.step();
        // There may be nothing that a calm change could change.
        if draw.random.u8(..100) == 0 {
            draw.mood = Mood::Wild;
        }
        if draw.edits >= compared + compared_every {
            compared = draw.edits;
            draw.steps.push(Step::Compare);
            let moods = [Mood::Wild, Mood::Calm, Mood::Sick, Mood::Bred];
            draw.mood = moods[[0, 0, 0, 1, 2, 2, 3, 3][draw.random.usize(..8)]];
            if matches!(draw.mood, Mood::Sick | Mood::Bred) {
                draw.story();
            }
        }
    }
    draw.steps
}

impl Draw {
    fn one<T: Copy>(&mut self, of: &[T]) -> T {
        of[self.random.usize(..of.len())]
    }

    fn step(&mut self) {
        if self.random.u8(..40) == 0 {
            self.busy = self.one(&FILES);
        }
        let path = if self.random.u8(..20) == 0 { self.one(&FILES) } else { self.busy };
        match self.random.u8(if self.mood == Mood::Wild { 0 } else { 10 }..100) {
            0..3 => {
                if self.open.remove(path).is_some() {
                    self.steps.push(Step::Close(path));
                }
            }
            3..6 => {
                let text = self.blocks(path);
                self.disk.insert(path, text.clone());
                self.steps.push(Step::Write(path, text));
            }
            6..8 => {
                self.disk.remove(path);
                self.steps.push(Step::Delete(path));
            }
            8..9 => {
                let settings = self.one(&SETTINGS);
                self.steps.push(Step::Settings(settings));
            }
            9..10 => self.rename(),
            10..28 => {
                let method = self.one(&ASKED);
                let path = self.one(&FILES);
                let text = self.open.get(path).or(self.disk.get(path)).cloned().unwrap_or_default();
                let place = self.anywhere(&text);
                self.steps.push(Step::Ask(method, path, place));
            }
            28..29 => self.log(),
            29..31 if self.mood == Mood::Wild => self.infection(),
            29..35 if self.mood == Mood::Sick => self.infection(),
            29..31 if self.mood == Mood::Bred => self.newcomer(),
            _ => {
                if !self.open.contains_key(path) && self.random.u8(..6) == 0 {
                    self.open(path);
                }
                match self.open.remove(path) {
                    Some(mut text) => {
                        let changes = self.changes(path, &mut text);
                        self.open.insert(path, text);
                        self.edit(path, changes);
                    }
                    // Another program edits it.
                    None => {
                        let mut text = self.disk.remove(path).unwrap_or_default();
                        self.changes(path, &mut text);
                        self.disk.insert(path, text.clone());
                        self.steps.push(Step::Write(path, text));
                    }
                }
            }
        }
    }

    fn open(&mut self, path: &'static str) {
        self.open.insert(path, self.disk.get(path).cloned().unwrap_or_default());
        self.steps.push(Step::Open(path));
    }

    fn edit(&mut self, path: &'static str, changes: Vec<(Option<Range>, String)>) {
        self.edits += changes.len();
        self.steps.push(Step::Edit(path, changes));
    }

    /// What follows a name in a file: mostly its number.
    fn ending(&mut self, path: &str) -> String {
        let own = FILES.iter().position(|file| *file == path).unwrap();
        match self.random.u8(..8) {
            0 => String::new(),
            1 => self.random.usize(..FILES.len()).to_string(),
            _ => own.to_string(),
        }
    }

    fn block(&mut self, path: &str) -> String {
        let ending = self.ending(path);
        let (told, others) = BLOCKS.split_at(4);
        let told_here = (path == FILES[0]) != (self.random.u8(..8) == 0);
        self.one(if told_here { told } else { others }).replace('§', &ending)
    }

    fn blocks(&mut self, path: &str) -> String {
        (0..self.random.usize(..5)).map(|_| self.block(path)).collect()
    }

    fn name(&mut self) -> String {
        let path = self.one(&FILES);
        let ending = self.ending(path);
        self.one(&NAMES).to_owned() + &ending
    }

    fn place(&mut self, text: &str) -> usize {
        (0..=self.random.usize(..=text.len())).rev().find(|at| text.is_char_boundary(*at)).unwrap()
    }

    /// The start of a line.
    fn line(&mut self, text: &str) -> usize {
        let at = self.place(text);
        text[..at].rfind('\n').map_or(0, |at| at + 1)
    }

    /// A position that may lie anywhere, also outside the text and within a character.
    fn anywhere(&mut self, text: &str) -> Position {
        let at = self.place(text);
        let mut position = oracle::position(text, at, self.encoding);
        match self.random.u8(..20) {
            0 => position.character = self.one(&[u32::MAX, 1 << 31, 999]),
            1 => position.line += self.one(&[u32::MAX / 2, 1, 7]),
            2 => position.character += self.random.u32(..3),
            _ => {}
        }
        position
    }

    /// Changes that a user or a plugin makes in one go. The text is kept abreast of them.
    fn changes(&mut self, path: &str, text: &mut String) -> Vec<(Option<Range>, String)> {
        let mut out = Vec::new();
        for _ in 0..1 + self.random.usize(..4).saturating_sub(1) {
            self.change(path, text, &mut out);
        }
        out
    }

    fn put(
        &self,
        text: &mut String,
        out: &mut Vec<(Option<Range>, String)>,
        range: Option<Range>,
        new: &str,
    ) {
        oracle::change(text, range, new, self.encoding);
        out.push((range, new.to_owned()));
    }

    fn put_bytes(&self, text: &mut String, out: &mut Vec<(Option<Range>, String)>, at: Bytes, new: &str) {
        let position = |at| oracle::position(text, at, self.encoding);
        let range = Range { start: position(at.start), end: position(at.end) };
        self.put(text, out, Some(range), new);
    }

    fn change(&mut self, path: &str, text: &mut String, out: &mut Vec<(Option<Range>, String)>) {
        if text.len() > LONG {
            let (a, b) = (self.line(text), self.line(text));
            return self.put_bytes(text, out, a.min(b)..a.max(b), "");
        }
        let kind = match self.mood {
            Mood::Wild => self.random.u8(..100),
            // A digit may be one of a name.
            Mood::Bred => STRAIN,
            Mood::Calm | Mood::Sick => self.one(&[DIGIT, STRAIN]),
        };
        match kind {
            // Keys struck.
            0..40 => {
                let start = self.place(text);
                let end = (start + self.random.usize(..5)).min(text.len());
                let end = (start..=end).rev().find(|at| text.is_char_boundary(*at)).unwrap();
                let new = self.one(&BITS);
                self.put_bytes(text, out, start..end, new);
            }
            // Ranges from anywhere to anywhere.
            40..50 => {
                let start = self.anywhere(text);
                let end = if self.random.bool() { start } else { self.anywhere(text) };
                let new = self.one(&BITS);
                self.put(text, out, Some(Range { start, end }), new);
            }
            // A block pasted.
            50..68 => {
                let at = if self.random.u8(..) < 230 { self.line(text) } else { self.place(text) };
                let new = self.block(path);
                self.put_bytes(text, out, at..at, &new);
            }
            // Lines torn out, and perhaps put back elsewhere.
            68..80 => {
                let (a, b) = (self.line(text), self.line(text));
                let (start, end) = (a.min(b), a.max(b));
                let torn = text[start..end].to_owned();
                self.put_bytes(text, out, start..end, "");
                if self.random.bool() {
                    let at = self.line(text);
                    self.put_bytes(text, out, at..at, &torn);
                }
            }
            // A digit for another.
            DIGIT..89 => {
                let digits: Vec<usize> =
                    text.bytes().enumerate().filter(|(_, b)| b.is_ascii_digit()).map(|(at, _)| at).collect();
                if digits.is_empty() {
                    return;
                }
                let at = self.one(&digits);
                let new = self.one(&["0", "1", "2", "5", "9", "24", ""]);
                self.put_bytes(text, out, at..at + 1, new);
            }
            // A name for another, in one place.
            89..94 => {
                let (old, new) = (self.name(), self.name());
                let found: Vec<usize> = text.match_indices(&*old).map(|(at, _)| at).collect();
                if !found.is_empty() {
                    let at = self.one(&found);
                    self.put_bytes(text, out, at..at + old.len(), &new);
                }
            }
            // A lot of another strain, or one that is of none.
            STRAIN..98 => {
                let found: Vec<(usize, &str)> =
                    [" of fen", " of tide"].iter().flat_map(|of| text.match_indices(of)).collect();
                if !found.is_empty() {
                    let (at, old) = self.one(&found);
                    let end = at + old.len();
                    let any = [" of fen", " of tide", ""];
                    let new = self.one(if self.mood == Mood::Bred { &any[..2] } else { &any });
                    self.put_bytes(text, out, at..end, new);
                }
            }
            // Line ends turned.
            98..99 => {
                let new = if text.contains("\r\n") {
                    text.replace("\r\n", "\n")
                } else {
                    text.replace('\n', "\r\n")
                };
                self.put(text, out, None, &new);
            }
            _ => {
                let new = self.blocks(path);
                self.put(text, out, None, &new);
            }
        }
    }

    /// A name for another, everywhere it stands as a word.
    fn rename(&mut self) {
        let (old, new) = (self.name(), self.name());
        let rim = |c: Option<char>| c.is_none_or(|c| !c.is_alphanumeric() && c != '-');
        let words = |text: &str| -> Vec<Bytes> {
            let found = text.match_indices(&*old).map(|(at, _)| at..at + old.len());
            let is_word = |found: &Bytes| {
                rim(text[..found.start].chars().next_back()) && rim(text[found.end..].chars().next())
            };
            found.filter(is_word).collect()
        };
        self.everywhere(words, &new);
    }

    /// Where nothing is infected, something is; else all infections are taken back.
    fn infection(&mut self) {
        let lines = |text: &str| -> Vec<Bytes> {
            let mut start = 0;
            let line = |line: &str| {
                start += line.len();
                (line.contains("infected"), start - line.len()..start)
            };
            text.split_inclusive('\n').map(line).filter(|(is, _)| *is).map(|(_, line)| line).collect()
        };
        if self.everywhere(lines, "") {
            return;
        }
        let path = self.one(&FILES);
        let text = self.open.get(path).or(self.disk.get(path)).cloned().unwrap_or_default();
        // In a vessel, so that it reaches what lies in other parts until then.
        let day = |at: usize| Some(at + text[at..].find("  on 2026-")?);
        let days: Vec<usize> = text.match_indices("  in v").filter_map(|(at, _)| day(at)).collect();
        if days.is_empty() {
            return;
        }
        let at = self.one(&days);
        let Some(end) = text[at..].find('\n').map(|end| at + end + 1) else { return };
        let lot = if self.random.u8(..4) == 0 { self.name() } else { String::new() };
        let new = format!("    23:50 infected {lot}\n");
        self.replace(path, std::slice::from_ref(&(end..end)), &new);
    }

    /// Every file tells its chapter of one story: brews in the same vessel one after the other, each with yeast of its own,
    /// out of the beer before it, of both, or of a strain that is named for a lot. What descends is in several files then.
    fn story(&mut self) {
        for (at, path) in FILES.into_iter().enumerate() {
            let text = if at == 0 { BLOCKS[..4].concat() } else { self.chapter(at) };
            if self.open.contains_key(path) {
                self.open.insert(path, text.clone());
                self.edit(path, vec![(None, text)]);
            } else {
                self.disk.insert(path, text.clone());
                self.steps.push(Step::Write(path, text));
            }
        }
    }

    fn chapter(&mut self, at: usize) -> String {
        let strain = self.one(&["fen", "tide"]);
        let (before, day, last) = (at - 1, 4 * at, 4 * at + 3);
        let yeast = match self.random.u8(..6) {
            0 => format!("pitch jar{before} 100 mL"),
            1 => format!("pitch jar{before} 60 mL, pitch a{at} 1 pack"),
            2..4 => format!("pitch {strain}"),
            _ => format!("pitch a{at} 1 pack"),
        };
        format!(
            "culture a{at} of {strain}\n  pack 2 × 100 B\n  made 2026-08-01\n\
             brew one{at}\n  wort 21 L at 1.048\n  in v1\n  on 2026-09-{day:02}\n    14:10 {yeast}\n  \
             on 2026-09-{last:02} harvest jar{at} 400 mL thick\n"
        )
    }

    /// One more lot of a strain, which nobody names, or that one is gone.
    fn newcomer(&mut self) {
        const HEADER: &str = "culture new";
        let headers = |text: &str| -> Vec<Bytes> {
            let end = |at: usize| text[at..].find('\n').map_or(text.len(), |end| at + end);
            text.match_indices(HEADER).map(|(at, _)| at..end(at)).collect()
        };
        if !self.everywhere(headers, "") {
            let (path, strain) = (self.one(&FILES), self.one(&["fen", "tide"]));
            let new = format!("{HEADER} of {strain}\n  pack 1 × 90 B\n  made 2026-08-01\n");
            self.replace(path, std::slice::from_ref(&(0..0)), &new);
        }
    }

    /// A logger writes, or what it wrote is gone.
    fn log(&mut self) {
        let path = self.one(&LOGGERS);
        let step = match self.random.u8(..5) {
            0 => Step::Delete(path),
            _ => Step::Write(path, self.one(&LOGGED).to_owned()),
        };
        self.steps.push(step);
    }

    /// Puts something else in place of all that is found in any file; whether there was anything.
    fn everywhere(&mut self, find: impl Fn(&str) -> Vec<Bytes>, new: &str) -> bool {
        let mut any = false;
        for path in FILES {
            let found = find(self.open.get(path).or(self.disk.get(path)).map_or("", String::as_str));
            any |= !found.is_empty();
            self.replace(path, &found, new);
        }
        any
    }

    /// Puts something else in several places of a file: in a document by edits from the end to the start, as editors apply
    /// them, else on disk.
    fn replace(&mut self, path: &'static str, places: &[Bytes], new: &str) {
        if places.is_empty() {
            return;
        }
        let is_open = self.open.contains_key(path);
        let Some(mut text) = self.open.remove(path).or_else(|| self.disk.remove(path)) else { return };
        let mut changes = Vec::new();
        for place in places.iter().rev() {
            self.put_bytes(&mut text, &mut changes, place.clone(), new);
        }
        if is_open {
            self.open.insert(path, text);
            self.edit(path, changes);
        } else {
            self.disk.insert(path, text.clone());
            self.steps.push(Step::Write(path, text));
        }
    }
}
