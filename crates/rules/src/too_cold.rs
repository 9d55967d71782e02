use barm_reckoning::Season;

use crate::Report;
use crate::degree_hours::{End, check};
use crate::registry::rule;

const END: End = End {
    name: "too-cold",
    side: "below",
    gives: "too cold tends to mean a slow start, yeast that settles early, and butter or green apple left behind (common \
            practice)",
    advice: "now or next time: let it warm to the range, and rouse the yeast gently if it has settled",
    of: |found| &found.cold,
};

rule! {
    /// Colder than its yeast likes, by degree-hours.
    TooCold, "too-cold", Warning, "too_cold.md", |season: &Season, report: &mut Report| check(&END, season, report)
}
