//! Where a name is declared, where it is used, and giving it another.

use std::sync::Arc;

use barm_reckoning::folded;
use barm_syntax::ast::BlockKind;
use barm_syntax::{Edit, Span, first_words};

use crate::at::{Thing, at};
use crate::form;
use crate::mention::{Role, mentions};
use crate::world::{Path, World};

/// A stretch of a file.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Spot {
    /// The file.
    pub path: Path,
    /// Where in it.
    pub span: Span,
}

/// A name that stands somewhere.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reference {
    /// Where.
    pub spot: Spot,
    /// What it does there.
    pub role: Role,
}

/// The name at an offset, and where it stands.
#[must_use]
pub fn name_at(world: &World, path: &str, offset: u32) -> Option<(String, Span)> {
    let here = at(world.file(path)?, offset)?;
    let Thing::Name { text, role } = here.thing else { return None };
    // What is added is a name only where a lot is called so.
    let is_name =
        role != Role::MayUseLot || references(world, text).iter().any(|r| r.role == Role::DeclaresLot);
    is_name.then(|| (text.to_owned(), here.span))
}

/// Every place where a name stands, in order of file and place.
#[must_use]
pub fn references(world: &World, name: &str) -> Vec<Reference> {
    let wanted = folded(name);
    let mut out = Vec::new();
    for path in world.naming(name) {
        let Some(file) = world.file(&path) else { continue };
        for placed in &file.log.blocks {
            let here =
                mentions(&placed.block).into_iter().filter(|mention| folded(&mention.name.text) == wanted);
            out.extend(here.map(|mention| Reference {
                spot: Spot { path: Arc::clone(&path), span: mention.name.span.shifted(placed.start) },
                role: mention.role,
            }));
        }
    }
    out.sort_by(|a, b| a.spot.cmp(&b.spot));
    out
}

/// Where the name at an offset is declared; of several declarations all.
#[must_use]
pub fn definition(world: &World, path: &str, offset: u32) -> Vec<Spot> {
    let Some((name, _)) = name_at(world, path, offset) else { return Vec::new() };
    let found = references(world, &name);
    // A culture block of a harvest's name goes on with it: the harvest is where it comes from, the block stands beside it.
    found.into_iter().filter(|reference| reference.role.declares()).map(|reference| reference.spot).collect()
}

/// Edits of one file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FileEdits {
    /// The file.
    pub path: Path,
    /// In order of place.
    pub edits: Vec<Edit>,
}

/// Gives the name at an offset another, in every file.
///
/// # Errors
/// In words for whoever asked, where it cannot be.
pub fn rename(world: &World, path: &str, offset: u32, new: &str) -> Result<Vec<FileEdits>, String> {
    let (name, _) = name_at(world, path, offset).ok_or_else(|| "there is no name here".to_owned())?;
    let new = new.trim();
    check_name(new)?;
    if folded(new) != folded(&name) && !references(world, new).is_empty() {
        let is = if references(world, new).iter().any(|r| r.role.declares()) {
            "is a name already"
        } else {
            "is used already"
        };
        return Err(format!("`{new}` {is}: the two would be one"));
    }
    let mut out: Vec<FileEdits> = Vec::new();
    for Reference { spot, .. } in references(world, &name) {
        let edit = Edit { span: spot.span, text: new.to_owned() };
        match out.last_mut().filter(|last| last.path == spot.path) {
            Some(last) => last.edits.push(edit),
            None => out.push(FileEdits { path: spot.path, edits: vec![edit] }),
        }
    }
    Ok(out)
}

/// The longest name, in characters.
const LONGEST: usize = 64;

fn check_name(name: &str) -> Result<(), String> {
    if !name.chars().next().is_some_and(char::is_alphabetic) {
        return Err("a name begins with a letter".to_owned());
    }
    if let Some(wrong) = name.chars().find(|c| !(c.is_alphanumeric() || matches!(c, '-' | '_'))) {
        return Err(format!("a name has letters, digits, `-` and `_`, and no {wrong:?}"));
    }
    if name.chars().count() > LONGEST {
        return Err(format!("a name has at most {LONGEST} characters"));
    }
    let small = name.to_lowercase();
    let block_words =
        [BlockKind::Strain, BlockKind::Culture, BlockKind::Starter, BlockKind::Brew, BlockKind::Vessel];
    let means = ["all", "rest"].iter().chain(&form::BEGIN).any(|word| *word == small)
        || block_words.iter().any(|kind| kind.word() == small)
        || first_words(BlockKind::Unknown).any(|entry| entry.word == small);
    if means { Err(format!("`{name}` is a word of the language")) } else { Ok(()) }
}
