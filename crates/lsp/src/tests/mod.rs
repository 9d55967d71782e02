//! What the server holds of a text is what the client sees of it, whatever is done to it.

#![allow(clippy::string_slice, reason = "a test ends by panicking")]

mod client;
mod manners;
mod oracle;
mod script;
mod storm;
mod text;
