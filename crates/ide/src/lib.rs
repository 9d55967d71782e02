//! What an editor asks of a brewing log, in plain structs and byte offsets. No protocol, no IO.
//!
//! A [`World`] holds the files of a workspace as they stand; every question is a function of a world, a file of it and a
//! place in that file.

mod actions;
mod at;
mod complete;
mod convert;
mod days;
mod family;
mod form;
mod hints;
mod hover;
mod lens;
mod mention;
mod navigate;
mod offers;
mod outline;
mod part;
mod piece;
mod typing;
mod world;

pub use actions::{Action, ActionKind, actions};
pub use complete::{Completion, CompletionKind, completions, is_cut_off};
pub use family::{Relative, children, parents, relative_at};
pub use hints::{Hint, hints};
pub use hover::{Hover, hover};
pub use lens::{Lens, lenses};
pub use mention::{Mention, Role, mentions};
pub use navigate::{FileEdits, Reference, Spot, definition, name_at, references, rename};
pub use outline::{
    Symbol, SymbolKind, Token, TokenKind, folds, links, selection, symbols, tokens, workspace_symbols,
};
pub use part::Part;
pub use typing::{line_ended, set_lines};
pub use world::{File, Loaded, Path, Spent, World};

#[cfg(test)]
mod tests;
