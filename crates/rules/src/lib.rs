//! What barm says about a log: one rule a file, its page beside it.
//!
//! A rule reads the figures of a [`Season`](barm_reckoning::Season) and returns [`Finding`]s. It never sees another
//! rule's findings: what rules share are figures of the reckoning. To add a rule, add `NAME.rs` and `NAME.md` and name it
//! here; the tests run the examples of the page.

mod acceptance;
mod degree_hours;
mod finding;
mod reading;
mod registry;
mod say;

pub use finding::{Certainty, Finding, Fix, Label, Level};
pub use registry::{Options, Report, Rule, check, find, rules};

/// Names the modules of the rules, and makes the list of all of them.
macro_rules! all {
    ($($module:ident :: $rule:ident),+ $(,)?) => {
        $( mod $module; )+
        /// Every rule, in the order of names.
        pub(crate) const ALL: &[&dyn Rule] = &[$( &$module::$rule ),+];
    };
}

all! {
    idle_acceptance::IdleAcceptance,
    late_generation::LateGeneration,
    low_oxygen::LowOxygen,
    overpitched::Overpitched,
    stale_culture::StaleCulture,
    too_cold::TooCold,
    too_warm::TooWarm,
    underpitched::Underpitched,
    unreadable_line::UnreadableLine,
    whole_cake::WholeCake,
}
