//! The `barm` command from outside.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::string_slice,
    reason = "a test ends by panicking"
)]

mod batch;
mod cases;
mod demo;
mod hostile;
mod loggers;
mod mend;
mod page;
mod readme;
mod run;
mod tidy;
