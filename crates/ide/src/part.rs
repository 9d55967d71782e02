//! A part of a workspace, reckoned and checked.

use std::collections::HashMap;
use std::sync::Arc;

use barm_reckoning::{Fault, FileId, Hazard, Loggers, Names, Place, Season, Source};
use barm_rules::{Finding, Options};
use barm_syntax::Span;

use crate::world::{Path, World};

/// At most so many lots of a strain are told to somebody who took its name for a lot's.
const LOTS_OF_A_STRAIN: usize = 6;

/// Files that name lots in common, with what they were reckoned to, and what there is to say of them.
#[derive(Debug)]
pub struct Part {
    /// Its files and those of other parts that tell it of strains and vessels, reckoned.
    pub season: Season,
    /// What was found, by file, in order of place.
    findings: HashMap<Path, Vec<Finding>>,
    ids: HashMap<Path, FileId>,
}

impl Part {
    pub(crate) fn reckon(
        sources: Vec<Source>,
        loggers: Loggers,
        members: &[Path],
        unread: &[(Path, Span, String)],
        world: &World,
    ) -> Self {
        // A workspace is cautioned once, at the first of all.
        let cautioned = |sources: &[Source], names: &Names| {
            let mut hazards = Vec::new();
            for (source, file) in sources.iter().zip((0..).map(FileId)) {
                // What a file of another part tells of strains and vessels is cautioned of there.
                if members.binary_search(&source.path).is_err() {
                    continue;
                }
                for (danger, risk) in world.risks_of(&source.path) {
                    if world.cautions_at(*danger, &source.path, risk.span) {
                        hazards.push(Hazard::of(*danger, *risk, file, source, names));
                    }
                }
            }
            hazards.sort_by_key(|hazard| hazard.place);
            hazards
        };
        let mut season = Season::reckon_part(sources, loggers, world.settings().clone(), cautioned);
        // What is near a name, and which lots are of a strain, only the whole workspace knows.
        let mut faults = std::mem::take(&mut season.faults);
        for fault in &mut faults {
            if let Fault::UnknownName { name, place, nearest, strain } = fault {
                let block = season.block_at(*place).and_then(|block| season.block(block));
                let own = block.and_then(|(block, _)| block.name.as_ref());
                *nearest = world.nearest_lot(name, own.map(|own| &*own.text));
                let mut lots = world.lots_of(name);
                lots.truncate(LOTS_OF_A_STRAIN);
                *strain = (strain.is_some() || !lots.is_empty()).then_some(lots);
            }
        }
        season.faults = faults;
        let ids: HashMap<Path, FileId> = season
            .sources
            .iter()
            .zip(0..)
            .map(|(source, id)| (Arc::clone(&source.path), FileId(id)))
            .collect();
        let unread = unread.iter().filter_map(|(path, span, why)| {
            Some((Place { file: *ids.get(path)?, span: *span }, why.clone()))
        });
        season.unread = unread.collect();
        let mut findings: HashMap<Path, Vec<Finding>> = HashMap::new();
        let member = |file: FileId| {
            let path = &season.source(file)?.path;
            members.binary_search(path).is_ok().then(|| Arc::clone(path))
        };
        for finding in barm_rules::check(&season, &Options::default()).findings {
            if let Some(path) = member(finding.place.file) {
                findings.entry(path).or_default().push(finding);
            }
        }
        Self { season, findings, ids }
    }

    /// What there is to say of a file, in order of place.
    #[must_use]
    pub fn findings(&self, path: &str) -> &[Finding] {
        self.findings.get(path).map_or(&[], Vec::as_slice)
    }

    /// A file of it, or one that tells it of strains and vessels.
    #[must_use]
    pub fn id(&self, path: &str) -> Option<FileId> {
        self.ids.get(path).copied()
    }

    /// The path of a file.
    #[must_use]
    pub fn path(&self, file: FileId) -> Option<&Path> {
        self.season.source(file).map(|source| &source.path)
    }
}
