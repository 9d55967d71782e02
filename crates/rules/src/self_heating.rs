use barm_reckoning::{Air, Season};

use crate::Report;
use crate::own_heat::{Heated, check};
use crate::registry::rule;

const RULE: Heated = Heated {
    name: "self-heating",
    limit: 0.5,
    airs: &[Air::Read, Air::Set],
    sentence: |scale, peak, _| {
        let known = if peak.air == Air::Set { "set-point" } else { "air" };
        format!(
            "about {} at its warmest by its own heat, {} above {}: past the pitch only the {known} is on record",
            scale.temperature(peak.warmest[1]),
            scale.distance(peak.warmest[1] - peak.range.1),
            scale.range(peak.range)
        )
    },
    label: "the air around it",
    advice: "next time: keep the air two or three degrees cooler for the first days, or let the controller feel the beer",
};

rule! {
    /// Only the air is on record, and the beer in it grows warmer than its range.
    SelfHeating, "self-heating", Note, "self_heating.md", |season: &Season, report: &mut Report| check(&RULE, season, report)
}
