//! What makes a finding the same finding, though the log around it has moved.

use std::collections::HashMap;
use std::hash::Hasher as _;
use std::ops::Range;

use barm_reckoning::Season;
use barm_rules::Finding;
use fnv::FnvHasher;

/// How fingerprints are reckoned, for whoever keeps them: another way gets another name.
pub(crate) const SCHEME: &str = "barm/v1";

/// The fingerprints of the findings of a season, in their order: 16 hexadecimal digits each.
///
/// A fingerprint is made of the rule, the block's word and name, the text that the finding points at, how often that
/// text stands before it in its block, and its number among findings that are the same in all of these. So it outlives
/// lines that come or go elsewhere, other figures in the sentence and a change of wording, and ends with the text
/// that it is about. The file is no part of it: a finding is known by its file and its fingerprint.
#[must_use]
pub fn fingerprints(season: &Season, findings: &[Finding]) -> Vec<String> {
    let mut twins: HashMap<u64, u64> = HashMap::new();
    let mut prints = Vec::with_capacity(findings.len());
    for finding in findings {
        let mut hasher = FnvHasher::default();
        let mut part = |bytes: &[u8]| {
            hasher.write(bytes);
            // No text of a log holds this byte: parts cannot run into each other.
            hasher.write(&[0xFF]);
        };
        part(finding.rule.as_bytes());
        if let Some(source) = season.source(finding.place.file) {
            let text: &str = &source.text;
            let span = finding.place.span.range();
            let (head, body) = block(source, span.start);
            part(head.as_bytes());
            let here = text.get(span.clone()).unwrap_or("");
            for word in here.split_whitespace() {
                part(word.as_bytes());
            }
            let before = text.get(body.start..span.start).unwrap_or("");
            let earlier = if here.is_empty() { 0 } else { before.matches(here).count() };
            part(&(earlier as u64).to_le_bytes());
        }
        let key = hasher.finish();
        // The same text in another file is another finding.
        let mut of_file = FnvHasher::with_key(key);
        of_file.write(&finding.place.file.0.to_le_bytes());
        let twin = twins.entry(of_file.finish()).or_default();
        hasher.write(&twin.to_le_bytes());
        *twin += 1;
        prints.push(format!("{:016x}", hasher.finish()));
    }
    prints
}

/// The word and name of the block that an offset lies in, and its bytes.
fn block(source: &barm_reckoning::Source, offset: usize) -> (String, Range<usize>) {
    let blocks = &source.log.blocks;
    let behind = blocks.partition_point(|placed| placed.start as usize <= offset);
    let Some(placed) = behind.checked_sub(1).and_then(|at| blocks.get(at)) else {
        return (String::new(), 0..offset);
    };
    let start = placed.start as usize;
    let name = placed.block.name.as_ref().map_or("", |name| &*name.text);
    let head = format!("{} {name}", placed.block.kind.word());
    (head, start..start + placed.block.len as usize)
}
