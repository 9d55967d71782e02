use barm_reckoning::{Air, Season};

use crate::Report;
use crate::own_heat::{Heated, check};
use crate::registry::rule;

const RULE: Heated = Heated {
    name: "warm-pitch",
    limit: 1.0,
    airs: &[Air::AsTheWort],
    sentence: |scale, peak, is_over| {
        let unread = if is_over { "nothing is read for two days" } else { "nothing is read yet" };
        format!(
            "about {} to be expected in air as warm as the wort was, {} above {}, and {unread}",
            scale.temperature(peak.warmest[1]),
            scale.distance(peak.warmest[1] - peak.range.1),
            scale.range(peak.range)
        )
    },
    label: "the wort at pitching",
    advice: "pitch towards the cool end of the range, yeast heats the beer (common practice); a few `temp` or `ambient` \
             readings in the first days show what it does",
};

rule! {
    /// Pitched so warm that its own heat will take it out of its range.
    WarmPitch, "warm-pitch", Note, "warm_pitch.md", |season: &Season, report: &mut Report| check(&RULE, season, report)
}
