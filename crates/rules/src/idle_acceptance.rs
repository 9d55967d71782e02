use crate::registry::rule;
use crate::Report;
use barm_reckoning::Season;

pub(crate) const NAME: &str = "idle-acceptance";

rule! {
    /// An acceptance that silences nothing. Found where acceptances are applied (`acceptance.rs`), after all rules.
    IdleAcceptance, "idle-acceptance", Note, "idle_acceptance.md", |_: &Season, _: &mut Report| {},
    Anything "no `# accept` in its lines is idle"
}
