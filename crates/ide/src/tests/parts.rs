//! A workspace reckoned part by part, edit by edit, says what one reckoned whole and afresh says.

use std::collections::BTreeMap;
use std::sync::Arc;

use barm_reckoning::{Logged, LoggerFile, Season, Settings, Source};
use barm_rules::{Finding, Options};
use proptest::prelude::*;

use crate::World;

/// A finding with its file ids turned into paths.
fn shown(season: &Season, finding: &Finding) -> String {
    let path = |file| season.source(file).map_or("?", |source| &*source.path);
    let labels: Vec<String> = finding
        .labels
        .iter()
        .map(|l| format!("{} {:?} {}", path(l.place.file), l.place.span, l.text))
        .collect();
    let fixes: Vec<String> =
        finding.fixes.iter().map(|f| format!("{} {} {:?}", path(f.file), f.title, f.edits)).collect();
    format!(
        "{} {:?} {} {:?} {} {:?} {labels:?} {fixes:?}",
        path(finding.place.file),
        finding.place.span,
        finding.rule,
        finding.level,
        finding.message,
        finding.notes
    )
}

/// What the loggers of these tests wrote.
fn logged(file: &LoggerFile) -> Result<Logged, String> {
    match &*file.name {
        "cellar.csv" => file.read(
            "time,temp/°C\n2026-09-01 15:00,25\n2026-09-02 15:00,26\n2026-09-02 16:00,much\n".as_bytes(),
        ),
        _ => Err("it is not there".to_owned()),
    }
}

fn whole(files: &BTreeMap<&str, String>) -> Vec<String> {
    let source = |(path, text): (&&str, &String)| Source {
        path: Arc::from(*path),
        text: Arc::from(text.as_str()),
        log: barm_syntax::read(text),
    };
    let sources: Vec<Source> = files.iter().map(source).collect();
    let named = sources.iter().flat_map(|source| LoggerFile::of_log(&source.path, &source.log));
    let loggers = named.map(|file| (file.clone(), logged(&file).map(Arc::new))).collect();
    let season = Season::reckon_with(sources, loggers, Settings::default());
    barm_rules::check(&season, &Options::default()).findings.iter().map(|f| shown(&season, f)).collect()
}

fn in_parts(world: &World) -> Vec<String> {
    let mut out = Vec::new();
    for (path, _) in world.files() {
        let part = world.part(path).unwrap();
        out.extend(part.findings(path).iter().map(|f| shown(&part.season, f)));
    }
    out
}

const PIECES: &[&str] = &[
    "strain fen\n  kind lager\n  range 9..13 °C\n",
    "strain fen\n  kind ale\n",
    "strain tide\n  kind ale\n  range 17..20 °C\n",
    "# a line above\n",
    "culture a of fen\n  pack 1 × 100 B\n  made 2026-08-01\n",
    "culture b of tide\n  slurry 300 mL thick\n  harvested 2026-07-01\n",
    "culture c of fen + tide\n  pack 1 × 90 B\n",
    "culture а of tide\n",
    "vessel v1\n  holds 30 L\n",
    "brew one\n  wort 21 L at 1.048\n  in v1\n  on 2026-09-01\n    14:00 aerate shake\n    14:10 pitch a 1 pack\n",
    "brew two\n  wort 21 L at 1.048\n  in v1\n  on 2026-09-10 pitch b 60 mL\n  on 2026-09-12 temp 25 °C\n",
    "brew three\n  wort 30 L at 1.060\n  in v2\n  on 2026-09-20 12:00 pitch jar ?\n  on 2026-09-23 infected\n",
    "brew four\n  in v2\n  wort 10 L at 1.040\n  on 2026-10-01 pitch fen\n",
    "  on 2026-09-14 harvest jar 400 mL thick\n",
    "  on 2026-09-15 infected b\n",
    "  on 2026-09-16 pitch onne 1/4\n",
    "  on 2026-09-16 add 2 L one\n",
    "# accept too-warm: the cellar is warm\n",
    "brew six\n  wort 21 L at 1.048\n  hold 18 °C\n  readings \"cellar.csv\"\n  on 2026-09-01\n    14:10 pitch a 1 pack\n",
    "  readings \"lost.csv\"\n",
    "  on 2026-09-08 aerate oxygen 60 s, clean\n",
    "starter five\n  wort 2 L of one\n  on 2026-09-04 boil\n  on ? pitch a\n",
    "  on 2026-08-04 boil\n  on 2026-10-05 add 1 L wort\n",
    "brew a\n  wort 20 L at 1.050\n",
];

const PATHS: &[&str] = &["a.barm", "b/b.barm", "b/c.barm", "d.barm", "e.barm"];

fn edits() -> impl Strategy<Value = Vec<(usize, Vec<&'static str>, bool)>> {
    let text = prop::collection::vec(prop::sample::select(PIECES), 0..4);
    prop::collection::vec((0..PATHS.len(), text, prop::bool::weighted(0.1)), 1..14)
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 400,
        failure_persistence: None,
        rng_seed: proptest::test_runner::RngSeed::Fixed(20_261_125),
        ..ProptestConfig::default()
    })]
    #[test]
    fn parts_say_what_the_whole_says(edits in edits()) {
        let mut world = World::new(Settings::default());
        let mut files = BTreeMap::new();
        for (at, pieces, gone) in edits {
            let path = PATHS[at];
            if gone {
                files.remove(path);
                world.remove(path);
            } else {
                let text = pieces.concat();
                world.set(&Arc::from(path), Arc::from(text.as_str()), None);
                files.insert(path, text);
            }
            for file in world.take_unlogged() {
                let logged = logged(&file);
                world.log(file, logged);
            }
            prop_assert_eq!(in_parts(&world), whole(&files), "{:#?}", files);
        }
    }
}

#[test]
fn a_loggers_file_is_kept_while_it_is_named_and_read_again_when_it_changes() {
    let mut world = World::new(Settings::default());
    let path: Arc<str> = "a.barm".into();
    let brew = |more: &str| Arc::from(format!("brew a\n  hold 18 °C\n  readings \"cellar.csv\"\n{more}"));
    world.set(&path, brew(""), None);
    let wanted = world.take_unlogged();
    let file = wanted.first().unwrap().clone();
    assert_eq!(wanted.len(), 1);
    world.log(file.clone(), logged(&file));
    assert_eq!(world.part("a.barm").unwrap().season.loggers.len(), 1);
    world.set(&path, brew("  in v1\n"), None);
    assert!(world.take_unlogged().is_empty(), "an edit beside it reads nothing again");
    assert_eq!(world.part("a.barm").unwrap().season.loggers.len(), 1);
    let stamp = world.stamp("a.barm");
    world.log(file.clone(), logged(&file));
    assert_eq!(stamp, world.stamp("a.barm"), "the same readings are no news");
    world.log(file.clone(), Err("it is gone".to_owned()));
    assert_ne!(stamp, world.stamp("a.barm"));
    world.set(&path, "brew a\n".into(), None);
    world.log(file, Err("nobody asks any more".to_owned()));
    assert!(world.part("a.barm").unwrap().season.loggers.is_empty());
}

#[test]
fn an_edit_leaves_other_parts_alone() {
    let mut world = World::new(Settings::default());
    world.load(vec![
        ("s.barm".into(), "strain fen\n  kind lager\n".into(), None),
        ("a.barm".into(), "culture a of fen\n  pack 1 × 100 B\n".into(), None),
        ("b.barm".into(), "brew one\n  wort 20 L at 1.050\n  on 2026-09-01 pitch a\n".into(), None),
        ("c.barm".into(), "culture c of fen\n  pack 1 × 100 B\n".into(), None),
    ]);
    let stamps = |world: &World| ["a.barm", "b.barm", "c.barm"].map(|path| world.stamp(path));
    let before = stamps(&world);
    assert_eq!(before[0], before[1]);
    assert_ne!(before[0], before[2]);
    world.set(&"b.barm".into(), "brew one\n  wort 21 L at 1.050\n  on 2026-09-01 pitch a\n".into(), None);
    let after = stamps(&world);
    assert_ne!(before[0], after[0], "what names a lot in common is reckoned again");
    assert_eq!(before[2], after[2], "what does not is left alone");
    world.set(&"s.barm".into(), "strain fen\n  kind ale\n".into(), None);
    assert_ne!(after[2], world.stamp("c.barm"), "a strain is news to all who name it");
}

#[test]
fn a_strain_in_another_line_is_news() {
    let mut world = World::new(Settings::default());
    let user = "culture a of fen\n  pack 1 × 100 B\n";
    world.load(vec![
        ("s.barm".into(), "# a\n# b\nstrain fen\n  kind lager\n".into(), None),
        ("a.barm".into(), user.into(), None),
    ]);
    let before = world.stamp("a.barm");
    world.set(&"s.barm".into(), "# a\n# c\nstrain fen\n  kind lager\n".into(), None);
    assert_eq!(before, world.stamp("a.barm"), "it stands where it stood");
    world.set(&"s.barm".into(), "# a # c\nstrain fen\n  kind lager\n".into(), None);
    assert_ne!(before, world.stamp("a.barm"), "the same byte, and another line");
}
