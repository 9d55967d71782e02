//! A plain-text brewing log that answers back.

fn main() {}
