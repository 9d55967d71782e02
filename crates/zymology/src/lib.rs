//! The science of fermentation as pure functions, each with its source.
