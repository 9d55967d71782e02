//! The published checks of every model.

fn main() {}
