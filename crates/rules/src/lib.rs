//! What barm says about a log: one rule a file, its page beside it.
//!
//! A rule reads the figures of a [`Season`] and returns [`Finding`]s. It never sees another rule's findings: what rules
//! share are figures of the reckoning.

mod finding;
mod registry;

pub use finding::{Certainty, Finding, Fix, Label, Level};
pub use registry::{Options, Report, Rule, check, find, rules};
