//! The family tree of the yeast: what was grown from what, its generations, and where it went wrong.

use std::collections::{BTreeMap, BTreeSet};

use barm_reckoning::{Course, LotId, LotKind, Moment, Season, Verdict};
use barm_rules::{Finding, Level};

/// A lot in the tree.
#[derive(Debug)]
pub(crate) struct Member {
    pub lot: LotId,
    /// Steps from the root that it is listed below.
    pub depth: usize,
    /// What it was grown from; it is listed below the first that came.
    pub from: Vec<LotId>,
    /// Generations since the lab; of a brew those of the yeast pitched.
    pub generation: Option<u32>,
    /// When it was made, pitched or harvested.
    pub begun: Option<Moment>,
    /// What went wrong there, the worst first.
    pub wrong: Vec<String>,
}

/// The lots that descend from one another, each below what it came from, in order of time.
pub(crate) fn members(
    season: &Season,
    course: &Course,
    findings: &BTreeMap<LotId, Vec<&Finding>>,
    asked: impl Fn(LotId) -> bool,
) -> Vec<Member> {
    let mut parents: BTreeMap<LotId, Vec<LotId>> = BTreeMap::new();
    let mut children: BTreeMap<LotId, Vec<LotId>> = BTreeMap::new();
    for &(from, to) in course.descents.iter().filter(|(from, to)| from != to) {
        parents.entry(to).or_default().push(from);
        children.entry(from).or_default().push(to);
    }
    // What was asked about, and what it came from.
    let mut shown: BTreeSet<LotId> = BTreeSet::new();
    let related = parents.keys().chain(children.keys()).copied();
    let mut queue: Vec<LotId> = related.filter(|lot| asked(*lot)).collect();
    while let Some(lot) = queue.pop() {
        if shown.insert(lot) {
            queue.extend(parents.get(&lot).into_iter().flatten());
        }
    }
    let begun = begun(season, course);
    let order = |lot: &LotId| (begun.get(lot).copied(), *lot);
    let mut roots: Vec<LotId> = shown.iter().copied().filter(|lot| !parents.contains_key(lot)).collect();
    roots.sort_by_key(order);
    // Lots that each need the other have no root: they are listed from the first of them.
    roots.extend(shown.iter().copied());

    let mut out = Vec::with_capacity(shown.len());
    let mut listed = BTreeSet::new();
    for root in roots {
        let mut stack = vec![(root, 0)];
        while let Some((lot, depth)) = stack.pop() {
            if !listed.insert(lot) {
                continue;
            }
            let mut below: Vec<LotId> = children.get(&lot).cloned().unwrap_or_default();
            below.retain(|child| shown.contains(child) && !listed.contains(child));
            below.sort_by_key(order);
            stack.extend(below.into_iter().rev().map(|child| (child, depth + 1)));
            out.push(Member {
                lot,
                depth,
                from: parents.get(&lot).cloned().unwrap_or_default(),
                generation: season.generation(lot),
                begun: begun.get(&lot).copied(),
                wrong: wrong(season, course, findings, lot),
            });
        }
    }
    out
}

fn begun(season: &Season, course: &Course) -> BTreeMap<LotId, Moment> {
    let mut out = BTreeMap::new();
    for stock in &course.stocks {
        if let Some((at, _)) = stock.stretches.first().and_then(|stretch| stretch.first()) {
            out.insert(stock.lot, *at);
        }
    }
    for batch in &season.batches {
        out.extend(batch.pitched_at().map(|at| (batch.lot, at)));
        out.extend(batch.harvests.iter().map(|harvest| (harvest.lot, harvest.at)));
    }
    out
}

fn wrong(
    season: &Season,
    course: &Course,
    findings: &BTreeMap<LotId, Vec<&Finding>>,
    lot: LotId,
) -> Vec<String> {
    let mut out = Vec::new();
    if course.infected.contains(&lot) {
        out.push("infected".to_owned());
    } else if course.suspect.contains(&lot) {
        out.push("suspect".to_owned());
    }
    if season.taste(lot).verdict == Some(Verdict::Poor) {
        out.push("tasted poor".to_owned());
    }
    let worth_acting_on = findings.get(&lot).into_iter().flatten().filter(|one| one.level >= Level::Warning);
    let rules: BTreeSet<&str> =
        worth_acting_on.map(|one| one.rule).filter(|rule| *rule != "suspect").collect();
    out.extend(rules.into_iter().map(str::to_owned));
    out
}

/// Whether a lot is a beer rather than yeast.
pub(crate) fn is_brew(season: &Season, lot: LotId) -> bool {
    season.lot(lot).is_some_and(|lot| lot.kind == LotKind::Brew)
}
