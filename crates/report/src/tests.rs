//! What hand-made findings look like.

use std::sync::Arc;

use barm_reckoning::{Figure, FileId, LotFigures, Place, Season, Settings, SettingsError, Source};
use barm_rules::{Finding, Fix, Level, Report};
use barm_syntax::{Edit, Span};
use codespan_reporting::term::termcolor::{NoColor, WriteColor};

use crate::{Base, Checked, SeasonFigures, figures_json, figures_text, json, settings_error, short, text};

fn season(files: &[(&str, &str)]) -> Season {
    let source = |&(path, text): &(&str, &str)| Source {
        path: Arc::from(path),
        text: Arc::from(text),
        log: barm_syntax::read(text),
    };
    Season::reckon(files.iter().map(source).collect(), Settings::default())
}

/// Where `what` stands in a file.
fn place(season: &Season, file: u32, what: &str) -> Place {
    let start = season.sources[file as usize].text.find(what).unwrap();
    Place { file: FileId(file), span: Span::of(start..start + what.len()) }
}

fn printed(
    season: &Season,
    findings: Vec<Finding>,
    print: fn(&mut dyn WriteColor, &[Checked<'_>]),
) -> String {
    let mut report = Report::default();
    findings.into_iter().for_each(|finding| report.found(finding));
    let mut out = NoColor::new(Vec::new());
    let asked: Vec<FileId> = (0..).map(FileId).take(season.sources.len()).collect();
    print(&mut out, &[Checked { season, report: &report, base: &Base::default(), asked: &asked }]);
    String::from_utf8(out.into_inner()).unwrap()
}

fn as_text(season: &Season, findings: Vec<Finding>) -> String {
    printed(season, findings, |out, checked| text(out, checked).unwrap())
}

const JAR: &str = "culture fen-b of fen-lager\n  slurry 100 mL thick\n";
const BREW: &str =
    "brew fen-2 \"Fen, second\"\n  wort 20 L at 1.050\n  on 2026-10-05\n    18:00  pitch fen-b 100 mL\n";

#[test]
fn a_finding_shows_its_lines_in_every_file() {
    let season = season(&[("brew.barm", BREW), ("jars/fen.barm", JAR)]);
    let finding = Finding::new("underpitched", Level::Warning, place(&season, 0, "pitch fen-b 100 mL"), "82–118 B (thousand million) live cells for a target of 245 B")
        .with_chance(0.9)
        .unwrap()
        .labelled("pitched here")
        .pointing(place(&season, 1, "100 mL thick"), "the jar, 31 days old")
        .noting("100 mL of a thick slurry at 1.2 B/mL, less 20 %/month since 2026-09-04 at 4 °C; a long note is wrapped so that it can be read")
        .mending(Fix {
            title: "pitch all of `fen-b`".into(),
            file: FileId(0),
            edits: vec![Edit { span: place(&season, 0, "100 mL").span, text: "all".into() }],
            safe: false,
        });
    let caution = Finding::new("caution", Level::Note, place(&season, 0, "wort"), "Boiling wort scalds.");
    let printed = as_text(&season, vec![caution, finding]);
    let expected = "\
warning[underpitched]: 82–118 B (thousand million) live cells for a target of 245 B
  ┌─ brew.barm:4:12
  │
4 │     18:00  pitch fen-b 100 mL
  │            ^^^^^^^^^^^^^^^^^^ pitched here
  │
  ┌─ jars/fen.barm:2:10
  │
2 │   slurry 100 mL thick
  │          ------------ the jar, 31 days old
  │
  = 100 mL of a thick slurry at 1.2 B/mL, less 20 %/month since 2026-09-04 at 4 °C; a long note is
    wrapped so that it can be read
  = likely: at least eight chances in ten, given what the log says
  = fix: pitch all of `fen-b` (look first)

Take care

note[caution]: Boiling wort scalds.
  ┌─ brew.barm:2:3
  │
2 │   wort 20 L at 1.050
  │   ^^^^

1 warning in 2 logs; 1 caution.
";
    assert_eq!(printed, expected);
}

#[test]
fn control_characters_are_shown_and_the_carets_stay_under_their_words() {
    let text = "brew a\n\ttemp\u{1b}[31m 18 \u{202e}C # x\u{0}\n";
    let season = season(&[("a\u{1b}]0;b\u{7}.barm", text)]);
    let finding = Finding::new(
        "unreadable-line",
        Level::Error,
        place(&season, 0, "18 \u{202e}C"),
        "`\u{9b}` is no temperature",
    )
    .labelled("here\r");
    let expected = "\
error[unreadable-line]: `<U+009B>` is no temperature
  ┌─ a␛]0;b␇.barm:2:12
  │
2 │     temp␛[31m 18 <U+202E>C # x␀
  │               ^^^^^^^^^^^^ here␍

1 error in 1 log.
";
    assert_eq!(as_text(&season, vec![finding]), expected);
}

#[test]
fn a_long_line_is_a_window_around_the_place() {
    let text = format!("brew a\n  note {}18 C{}\n", "é".repeat(300_000), " ".repeat(300_000));
    let season = season(&[("a.barm", &text)]);
    let finding = Finding::new("missing-unit", Level::Error, place(&season, 0, "18 C"), "no unit");
    let expected = format!(
        "\
error[missing-unit]: no unit
  ┌─ a.barm:2:300008
  │
2 │ …{}18 C{}…
  │ {}^^^^

1 error in 1 log.
",
        "é".repeat(40),
        " ".repeat(76),
        " ".repeat(41),
    );
    assert_eq!(as_text(&season, vec![finding]), expected);
}

#[test]
fn short_is_one_line_each() {
    let season = season(&[("::brew.barm", BREW)]);
    let finding = Finding::new("underpitched", Level::Warning, place(&season, 0, "fen-b"), "too\nlittle");
    let lines = printed(&season, vec![finding], |out, checked| short(out, checked).unwrap());
    assert_eq!(lines, "./::brew.barm:4:18: warning[underpitched]: too␊little\n");
}

#[test]
fn places_at_the_very_end_and_beyond_are_shown() {
    let season = season(&[("a.barm", "brew a\r\n"), ("b.barm", "")]);
    let at = |file, start, end| Place { file: FileId(file), span: Span::new(start, end) };
    let places =
        [at(0, 6, 6), at(0, 7, 8), at(0, 8, 8), at(0, 90, 900), at(1, 0, 0), at(0, 0, 8), at(7, 1, 2)];
    for place in places {
        let lines = as_text(&season, vec![Finding::new("no-pitch", Level::Note, place, "no yeast")]);
        assert!(lines.starts_with("note[no-pitch]: no yeast\n"), "{place:?}: {lines}");
    }
}

#[test]
fn a_path_looks_as_it_would_be_typed() {
    let base = Base { up: "../".to_owned(), down: "autumn/".to_owned() };
    assert_eq!(base.path("autumn/a.barm"), "a.barm");
    assert_eq!(base.path("jars.barm"), "../jars.barm");
    assert_eq!(Base::default().path("jars.barm"), "jars.barm");
}

#[test]
fn figures_belong_to_the_editor() {
    let season = season(&[("a.barm", BREW)]);
    let figure = Finding::new("unwatched", Level::Figure, place(&season, 0, "brew"), "no temperature");
    assert_eq!(as_text(&season, vec![figure]), "Nothing to mend in 1 log.\n");
}

#[test]
fn json_counts_columns_in_characters() {
    let season = season(&[("a.barm", "brew naïve \"é\" 18\n")]);
    let span = place(&season, 0, "18").span;
    let finding = Finding::new("missing-unit", Level::Error, place(&season, 0, "18"), "\u{1b}no unit")
        .about("naïve")
        .showing(Figure::plain("temperature", 18.0, 0.5, "°C", "as read".into()))
        .showing(Figure::plain("odd", f64::NAN, 0.0, "", String::new()))
        .mending(Fix {
            title: "write `18 °C`".into(),
            file: FileId(0),
            edits: vec![Edit { span, text: "18 °C".into() }],
            safe: false,
        });
    let printed = printed(&season, vec![finding], |out, checked| json(&mut &mut *out, checked).unwrap());
    let value: serde_json::Value = serde_json::from_str(&printed).unwrap();
    let finding = &value["findings"][0];
    assert_eq!(finding["line"], 1);
    assert_eq!((finding["column"].as_u64(), finding["end_column"].as_u64()), (Some(16), Some(18)));
    assert_eq!(finding["figures"].as_array().unwrap().len(), 1);
    assert_eq!(finding["fixes"][0]["edits"][0]["start"], span.start);
    assert_eq!(value["summary"]["errors"], 1);
    assert!(!printed.contains('\u{1b}'), "JSON escapes control characters");
}

#[test]
fn figures_stand_in_a_table() {
    let season = season(&[("fen.barm", BREW)]);
    let mut live = Figure::plain("live-cells", 98.0, 20.0, "B", "label × 0.97".into());
    live.low = 60.0;
    live.narrowed_by = Some("cell density of fen-b".into());
    let lot = LotFigures {
        lot: "fen-2".into(),
        kind: "brew",
        place: place(&season, 0, "brew"),
        title: Some("Fen, \u{7}second".into()),
        figures: vec![live, Figure::plain("original-gravity", 1.05, 0.0, "SG", "as written".into())],
        missing: vec!["oxygen (no `aerate`)".into()],
    };
    let mut out = Vec::new();
    let base = Base { up: "../".to_owned(), down: String::new() };
    let lots = [SeasonFigures { season: &season, base: &base, lots: &[lot] }];
    figures_text(&mut out, &lots).unwrap();
    let expected = "\
Cells are counted in B (thousand million).

brew fen-2 \"Fen, ␇second\", ../fen.barm:1
  live cells           98  60–120  B   label × 0.97; least known: cell density of fen-b
  original gravity  1.050          SG  as written
  not reckoned: oxygen (no `aerate`)
";
    assert_eq!(String::from_utf8(out).unwrap(), expected);

    let mut out = Vec::new();
    figures_json(&mut out, &lots).unwrap();
    let value: serde_json::Value = serde_json::from_slice(&out).unwrap();
    assert_eq!(value["lots"][0]["file"], "../fen.barm");
    assert_eq!(value["lots"][0]["figures"][0]["high"], 118.0);
}

#[test]
fn settings_are_told_at_their_place() {
    let toml = "units = \"metric\"\nelevation = \"340\"\n";
    let error: SettingsError = Settings::read(toml).unwrap_err();
    let mut out = NoColor::new(Vec::new());
    settings_error(&mut out, "barm.toml", toml, &error).unwrap();
    let expected = "\
error: `340` has no unit; write \"340 m\"
  ┌─ barm.toml:2:13
  │
2 │ elevation = \"340\"
  │             ^^^^^

";
    assert_eq!(String::from_utf8(out.into_inner()).unwrap(), expected);
}
