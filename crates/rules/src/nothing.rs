//! What is said of a lot in which a rule had nothing to judge.

use barm_reckoning::{Lot, LotId, LotKind, Season};

use crate::{Finding, Judges, Rule};

/// Of so many brews it is said that they are where to ask.
const MOST_NAMED: usize = 4;

/// Whether a finding is of a lot: about it, or standing in its lines.
#[must_use]
pub fn is_about(season: &Season, finding: &Finding, lot: LotId) -> bool {
    let Some(declared) = season.lot(lot) else { return false };
    let named = finding.lot.as_deref().and_then(|name| season.names.lot(name)) == Some(lot);
    let within = |id| {
        season.block(id).is_some_and(|(block, start)| {
            let span = finding.place.span;
            id.file == finding.place.file && (start..start + block.len.max(1)).contains(&span.start)
        })
    };
    named || declared.place == finding.place || declared.blocks.iter().any(|id| within(*id))
}

/// Why a rule neither found anything in a lot nor said why it kept silent.
#[must_use]
pub fn nothing(season: &Season, rule: &dyn Rule, lot: LotId) -> Option<String> {
    let declared = season.lot(lot)?;
    let kind = declared.kind.word();
    if declared.unread {
        return Some(format!(
            "the line of this {kind} could not be read: nothing is known of it but its name"
        ));
    }
    match rule.judges() {
        Judges::Anything(sound) => Some(sound.to_owned()),
        Judges::Starters if declared.kind != LotKind::Starter => {
            Some(format!("it judges starters, and this is a {kind}"))
        }
        Judges::Brews if declared.kind != LotKind::Brew => {
            let into = brews_of(season, lot);
            let judges = format!("it judges brews and what is pitched into them, and this is a {kind}");
            Some(match into.as_slice() {
                [] => format!("{judges} that no brew pitches"),
                into => format!("{judges}; ask of {}", listed(into)),
            })
        }
        Judges::Brews | Judges::Starters => None,
    }
}

/// The brews that a lot is pitched into.
fn brews_of(season: &Season, lot: LotId) -> Vec<&Lot> {
    let brews = season.batches.iter().filter(|batch| batch.kind == LotKind::Brew);
    let brews = brews.filter(|batch| batch.pitches.iter().any(|pitch| pitch.lot == lot));
    brews.filter_map(|batch| season.lot(batch.lot)).collect()
}

fn listed(lots: &[&Lot]) -> String {
    let mut names: Vec<String> = lots.iter().take(MOST_NAMED).map(|lot| format!("`{}`", lot.name)).collect();
    if lots.len() > MOST_NAMED {
        names.push(format!("{} more", lots.len() - MOST_NAMED));
    }
    match names.split_last() {
        Some((last, first)) if !first.is_empty() => format!("{} or {last}", first.join(", ")),
        _ => names.concat(),
    }
}
