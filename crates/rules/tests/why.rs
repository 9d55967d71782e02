//! Every rule says of every kind of lot why it spoke or kept silent.

#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing, reason = "a test ends by panicking")]

use barm_reckoning::{LotId, Season, Settings, Source};
use barm_rules::{Options, check, is_about, nothing, rules};

/// Lots of every kind, from those of which nothing is written to those that are kept well.
const LOTS: &str = "strain tide-ale
  kind ale
  range 17..20 °C
  attenuates 73..77 %
  tolerates 9 %ABV

strain bog
  kind wild

strain milk
  kind bacteria

culture packs of tide-ale
  pack 4 × 100 B
  made 2026-02-20

culture dry of tide-ale
  sachet 2 × 11 g
  made 2026-01

culture jar of tide-ale
  slurry 450 mL thick
  harvested 2026-02-25
  on 2026-02-26  count 5 squares 231 live 9 dead 1:200

culture vials of tide-ale
  vial 3 × 35 mL

culture slope of tide-ale
  slant

culture bare

culture bog-jar of bog
  slurry 200 mL

culture milk-jar of milk
  slurry 200 mL

starter grown
  wort 2 L at 1.037
  stirred
  on 2026-02-27 14:00  pitch packs 1 pack

starter empty

brew nothing

brew wort-alone
  wort 21 L at 1.048

brew unpitched
  wort 21 L at 1.048
  on 2026-03-01 14:00  temp 18 °C
  on 2026-03-02 14:00  temp 18 °C

brew kept-well
  wort 21 L at 1.048
  hold 17..19 °C
  hops 30 IBU
  on 2026-03-01
    14:00  temp 18 °C
    14:10  aerate oxygen 60 s at 1 L/min
    14:20  pitch packs 3 packs, pitch jar 50 mL
  on 2026-03-02 08:00  temp 18.2 °C, krausen rising
  on 2026-03-05 10:00  temp 18.4 °C, gravity 1.020
  on 2026-03-09 10:00  gravity 1.012
  on 2026-03-12 10:00  gravity 1.012
    10:30  harvest taken 300 mL thick
    11:00  bottle 19 L, 100 g sucrose
  on 2026-03-30  taste good

brew few-words
  wort 21 L at 1.048
  on 2026-03-13  pitch taken

brew on-the-cake
  wort 21 L at 1.048
  on 2026-03-14  pitch few-words

brew by-starter
  wort 20 L at 1.050
  on 2026-03-01 15:00  pitch grown

brew sprinkled
  wort 20 L at 1.050
  on 2026-03-01  pitch dry 11 g sprinkled

brew unknown-yeast
  wort 20 L at 1.050
  on 2026-03-01  pitch bare

brew from-the-bank
  on 2026-03-01  pitch vials 1 vial, pitch slope 1 loop

brew wild-one
  wort 20 L at 1.050
  on 2026-03-01 12:00  pitch bog-jar
  on 2026-03-09  gravity 1.030

brew soured
  wort 20 L at 1.050
  on 2026-03-01 12:00  pitch milk-jar

brew kegged
  wort 20 L at 1.050
  on 2026-03-01 12:00  pitch dry 11 g
  on 2026-03-11  keg 19 L

cultre unread
  slurry 300 mL
";

#[test]
fn every_rule_says_of_every_kind_of_lot_why_it_is_silent() {
    let source = Source { path: "log.barm".into(), text: LOTS.into(), log: barm_syntax::read(LOTS) };
    assert_eq!(source.log.problems.len(), 1, "{:?}", source.log.problems);
    let season = Season::reckon(vec![source], Settings::default());
    let mut unsaid = Vec::new();
    let mut answers = 0;
    for rule in rules() {
        let select = vec![rule.name().to_owned()];
        let options = Options { select, explain: true, figures: true, no_accept: true, ..Options::default() };
        let report = check(&season, &options);
        for (id, lot) in (0..).map(LotId).zip(&season.names.lots) {
            let speaks = report.findings.iter().any(|finding| is_about(&season, finding, id));
            let own = report.silent.iter().filter(|(of, name, _)| *of == rule.name() && **name == *lot.name);
            let mut reasons: Vec<String> = own.map(|(_, _, reason)| reason.clone()).collect();
            if !speaks && reasons.is_empty() {
                reasons.extend(nothing(&season, *rule, id));
            }
            if !speaks && reasons.is_empty() {
                unsaid.push(format!("{} of {}", rule.name(), lot.name));
            }
            answers += reasons.len();
            // A bare figure is no reason.
            let bare = reasons.into_iter().filter(|reason| reason.split(' ').count() < 4);
            unsaid.extend(bare.map(|reason| format!("{} of {}: {reason}", rule.name(), lot.name)));
        }
    }
    assert!(unsaid.is_empty(), "{unsaid:#?}");
    assert!(answers > 1000, "{answers}");
}

#[test]
fn who_asks_of_yeast_is_sent_to_the_brews_that_it_went_into() {
    let source = Source { path: "log.barm".into(), text: LOTS.into(), log: barm_syntax::read(LOTS) };
    let season = Season::reckon(vec![source], Settings::default());
    let why = |rule: &str, lot: &str| {
        nothing(&season, barm_rules::find(rule).unwrap(), season.names.lot(lot).unwrap())
    };
    assert_eq!(
        why("underpitched", "dry").as_deref(),
        Some(
            "it judges brews and what is pitched into them, and this is a culture; ask of `sprinkled` or `kegged`"
        )
    );
    assert_eq!(
        why("stale-culture", "slope").as_deref(),
        Some("it judges brews and what is pitched into them, and this is a culture; ask of `from-the-bank`")
    );
    assert_eq!(
        why("late-oxygen", "unread").as_deref(),
        Some("the line of this culture could not be read: nothing is known of it but its name")
    );
    assert_eq!(why("strong-starter", "nothing").as_deref(), Some("it judges starters, and this is a brew"));
    assert_eq!(why("no-pitch", "nothing"), None);
}

/// What is reckoned lies above the limit, and yet nothing is said: the reason is not the figure.
#[test]
fn an_excursion_above_its_limit_that_is_not_told_says_why() {
    let text = "culture jar\n  kind lager\n  range 8..12 °C\n  pack 6 x 100 B\n  made 2026-08-28\n\
                brew x\n  wort 20 L at 1.050\n  on 2026-09-01 14:00 temp 24 °C\n   18:10 pitch jar\n\
                \x20 on 2026-09-02 12:00 temp 10 °C\n";
    let source = Source { path: "log.barm".into(), text: text.into(), log: barm_syntax::read(text) };
    let season = Season::reckon(vec![source], Settings::default());
    let options = Options { select: vec!["too-warm".to_owned()], explain: true, ..Options::default() };
    let report = check(&season, &options);
    let [(.., reason)] = report.silent.as_slice() else { panic!("{:?}", report.silent) };
    assert!(
        reason.contains("a note begins at 12 and 24; nothing that was read since the pitch is above it"),
        "{reason}"
    );
}
