//! What barm says about a log: one rule a file, its page beside it.
//!
//! A rule reads the figures of a [`Season`](barm_reckoning::Season) and returns [`Finding`]s. It never sees another
//! rule's findings: what rules share are figures of the reckoning. To add a rule, add `NAME.rs` and `NAME.md` and name it
//! here; the tests run the examples of the page.

mod acceptance;
mod blank;
mod causes;
mod degree_hours;
mod finding;
mod house;
mod nothing;
mod own_heat;
pub mod quote;
mod reading;
mod registry;
mod say;

pub use caution::caution;
pub use finding::{Certainty, Finding, Fix, Label, Level};
pub use house::{settings, settings_schema};
pub use nothing::{is_about, nothing};
pub use open_question::QUESTION;
pub use registry::{Judges, Options, Report, Rule, check, find, rules};
pub use time_runs_back::is_past_midnight;

/// Names the modules of the rules, and makes the list of all of them.
macro_rules! all {
    ($($module:ident :: $rule:ident),+ $(,)?) => {
        $( mod $module; )+
        /// Every rule, in the order of names.
        pub(crate) const ALL: &[&dyn Rule] = &[$( &$module::$rule ),+];
    };
}

all! {
    acceptance_without_reason::AcceptanceWithoutReason,
    bad_reading::BadReading,
    blend_share::BlendShare,
    bottle_pressure::BottlePressure,
    caution::Caution,
    crowded_starter::CrowdedStarter,
    decimal_comma::DecimalComma,
    duplicate_name::DuplicateName,
    fast_crash::FastCrash,
    gravity_rose::GravityRose,
    harsh_wash::HarshWash,
    hot_pitch::HotPitch,
    idle_acceptance::IdleAcceptance,
    impossible_value::ImpossibleValue,
    late_generation::LateGeneration,
    late_oxygen::LateOxygen,
    lineage_loop::LineageLoop,
    look_alike::LookAlike,
    low_oxygen::LowOxygen,
    merge_marks::MergeMarks,
    missing_fact::MissingFact,
    missing_unit::MissingUnit,
    misspelt_block::MisspeltBlock,
    no_aeration::NoAeration,
    no_pitch::NoPitch,
    off_flavour::OffFlavour,
    old_line::OldLine,
    open_question::OpenQuestion,
    over_attenuated::OverAttenuated,
    over_tolerance::OverTolerance,
    overdrawn::Overdrawn,
    overpitched::Overpitched,
    oxygen_ceiling::OxygenCeiling,
    packaged_early::PackagedEarly,
    pitch_shock::PitchShock,
    self_heating::SelfHeating,
    slow_start::SlowStart,
    sprinkled_dry::SprinkledDry,
    stale_culture::StaleCulture,
    stalled::Stalled,
    strong_donor::StrongDonor,
    strong_starter::StrongStarter,
    suspect::Suspect,
    thin_count::ThinCount,
    time_runs_back::TimeRunsBack,
    too_cold::TooCold,
    too_much_oxygen::TooMuchOxygen,
    too_warm::TooWarm,
    undercarbonated::Undercarbonated,
    underpitched::Underpitched,
    unknown_addition::UnknownAddition,
    unknown_age::UnknownAge,
    unknown_name::UnknownName,
    unknown_word::UnknownWord,
    unlikely_unit::UnlikelyUnit,
    unread_file::UnreadFile,
    unreadable_line::UnreadableLine,
    unwatched::Unwatched,
    used_before_made::UsedBeforeMade,
    warm_pitch::WarmPitch,
    warm_storage::WarmStorage,
    whole_cake::WholeCake,
    wrong_unit::WrongUnit,
    young_starter::YoungStarter,
}
