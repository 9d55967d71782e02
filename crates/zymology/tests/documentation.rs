//! What stands above each public item: an example, and above each that says a figure how well the figure is founded.

#![expect(
    clippy::disallowed_methods,
    clippy::unwrap_used,
    clippy::indexing_slicing,
    reason = "a test reads its own crate's source"
)]

use std::fs;
use std::path::Path;

/// What a figure may be founded on; `SCIENCE.md` says what each word means, a definition needs none.
const FOUNDED: [&str; 5] = ["published", "common practice", "derived", "from memory", "definition"];

/// A public item: its first line, and what stands above it.
struct Item {
    file: String,
    line: String,
    above: String,
}

impl Item {
    /// Whether it is a figure or gives one, and not a name, a choice or a list of them.
    fn says_a_figure(&self) -> bool {
        let Some((_, gives)) = self.line.split_once("->").or_else(|| self.line.split_once(": ")) else {
            return false;
        };
        (self.line.contains(" fn ") || self.line.contains(" const "))
            && ![
                "&'static str",
                "Self",
                "Option<Self>",
                "bool",
                "[Self;",
                "&'static [",
                "&'static [Self]",
                "Note",
                "Noticeable",
            ]
            .iter()
            .any(|word| gives.trim_start().starts_with(word))
    }
}

/// The public items of one file; a signature over several lines is read to its end.
fn items(path: &Path) -> Vec<Item> {
    let text = fs::read_to_string(path).unwrap();
    let lines: Vec<&str> = text.lines().map(str::trim).collect();
    let is_item = |line: &str| {
        ["pub fn ", "pub const ", "pub struct ", "pub enum "].iter().any(|begin| line.starts_with(begin))
    };
    let mut out = Vec::new();
    for (at, _) in lines.iter().enumerate().filter(|(_, line)| is_item(line)) {
        let is_above = |line: &&&str| line.starts_with("///") || line.starts_with("#[");
        let mut above: Vec<&str> = lines[..at].iter().rev().take_while(is_above).copied().collect();
        above.reverse();
        let ends = |line: &&str| line.ends_with('{') || line.ends_with(';');
        let end = at + lines[at..].iter().position(ends).unwrap_or(0);
        out.push(Item {
            file: path.file_name().unwrap().to_string_lossy().into_owned(),
            line: lines[at..=end].join(" "),
            above: above.join("\n"),
        });
    }
    out
}

#[test]
fn every_public_item_says_what_it_is_founded_on_and_shows_its_use() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut files: Vec<_> = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.sort();
    let all: Vec<Item> = files.iter().flat_map(|path| items(path)).collect();
    assert!(all.iter().filter(|item| item.says_a_figure()).count() > 100);
    let mut lacking = Vec::new();
    for item in &all {
        let mut lacks = |what: &str| lacking.push(format!("{}: {} lacks {what}", item.file, item.line));
        if !item.above.contains("# Example\n") {
            lacks("an example");
        }
        if item.line.contains("-> Result<") && !item.above.contains("# Errors\n") {
            lacks("what it refuses");
        }
        if !item.says_a_figure() {
            continue;
        }
        let words = item.above.replace("\n///", "");
        match words.split_once("vidence:**") {
            Some((_, evidence)) => {
                let evidence = evidence.split("# Example").next().unwrap_or("");
                let refers = ["those of", "as [", "by definition"].iter().any(|word| evidence.contains(word));
                if !refers && !FOUNDED.iter().any(|word| evidence.contains(word)) {
                    lacks("one of the words for how well it is founded");
                }
            }
            None => lacks("its evidence"),
        }
    }
    assert!(lacking.is_empty(), "{}", lacking.join("\n"));
}
