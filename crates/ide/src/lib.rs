//! What an editor asks of a brewing log, in plain structs and byte offsets. No protocol, no IO.

mod mention;
mod part;
mod piece;
mod world;

pub use mention::{Mention, Role, mentions};
pub use part::Part;
pub use world::{File, Loaded, Path, World};

#[cfg(test)]
mod tests;
