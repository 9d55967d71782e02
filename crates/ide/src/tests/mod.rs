#![expect(clippy::string_slice, reason = "a test ends by panicking")]
mod parts;
mod places;
