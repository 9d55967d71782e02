//! What the page says and what it never does, on logs written here.

use std::fmt::Write as _;
use std::sync::Arc;

use barm_reckoning::{FileId, Season, Settings, Source};
use barm_report::{Base, Checked, with_range};
use barm_rules::Options;

use crate::{Part, csv, html, json};

fn season_with(files: &[(&str, &str)], settings: &str) -> Season {
    let source = |&(path, text): &(&str, &str)| Source {
        path: Arc::from(path),
        text: Arc::from(text),
        log: barm_syntax::read(text),
    };
    Season::reckon(files.iter().map(source).collect(), Settings::read(settings).unwrap())
}

fn all_of(season: &Season) -> Vec<FileId> {
    (0..).map(FileId).take(season.sources.len()).collect()
}

type Writer = fn(&mut dyn std::io::Write, &[Part<'_>]) -> std::io::Result<()>;

fn written_of(season: &Season, on: Option<&str>, write: Writer) -> String {
    let report = barm_rules::check(season, &Options::default());
    let base = Base::default();
    let asked = all_of(season);
    let checked = Checked { season, report: &report, base: &base, asked: &asked };
    let on = on.map(|on| on.parse().unwrap());
    let mut out = Vec::new();
    write(&mut out, &[Part { checked, on }]).unwrap();
    String::from_utf8(out).unwrap()
}

fn written(files: &[(&str, &str)], write: Writer) -> String {
    written_of(&season_with(files, ""), None, write)
}

const HOUSE: &str = "\
strain tidemill-ale
  kind ale
  range 17..20 °C
  attenuates 73..77 %

culture tide-a of tidemill-ale
  pack 2 × 100 B
  made 2026-02-06
  kept 4 °C
";

const BREW: &str = "\
brew slack-1 \"Slack Water, run #1\"
  wort 20 L at 1.048
  on 2026-03-04
    17:50  temp 18 °C, aerate oxygen 60 s at 1 L/min
    18:00  pitch tide-a
  on 2026-03-05  18:00  temp 19 °C, krausen high
  on 2026-03-06  12:00  temp 22 °C
  on 2026-03-07  12:00  temp 19 °C, gravity 1.018
  on 2026-03-14
    09:00  gravity 1.011, harvest tide-b 300 mL thick
    taste clean, a little apple, good
";

fn house() -> Vec<(&'static str, &'static str)> {
    vec![("house.barm", HOUSE), ("slack.barm", BREW)]
}

#[test]
fn several_workspaces_share_a_page() {
    let seasons = [season_with(&house(), ""), season_with(&house(), "units = \"us\"\n")];
    let reports: Vec<_> =
        seasons.iter().map(|season| barm_rules::check(season, &Options::default())).collect();
    let asked = all_of(&seasons[0]);
    let bases = [Base::default(), Base { up: "garage/".to_owned(), down: String::new() }];
    let parts: Vec<Part<'_>> = seasons
        .iter()
        .zip(&reports)
        .zip(&bases)
        .map(|((season, report), base)| Part {
            checked: Checked { season, report, base, asked: &asked },
            on: None,
        })
        .collect();
    let mut out = Vec::new();
    html(&mut out, &parts).unwrap();
    let page = String::from_utf8(out).unwrap();
    assert_eq!(count(&page, "<main>"), 1);
    assert!(page.contains("<h2>.</h2>") && page.contains("<h2>garage/</h2>"));
    assert!(page.contains("id=\"brews-0\"") && page.contains("id=\"brews-1\""));
    let ids: Vec<&str> = page.split(" id=\"").skip(1).filter_map(|rest| rest.split('"').next()).collect();
    let once: std::collections::BTreeSet<&&str> = ids.iter().collect();
    assert_eq!(ids.len(), once.len(), "{ids:?}");
    assert!(page.contains("garage/slack.barm:1"));
}

#[test]
fn only_what_was_asked_about_is_shown_and_what_it_descends_from() {
    let season = season_with(
        &[
            ("house.barm", HOUSE),
            ("slack.barm", BREW),
            ("z.barm", "brew other\n  on 2026-03-20 temp 18 °C\n"),
        ],
        "",
    );
    let report = barm_rules::check(&season, &Options::default());
    let base = Base::default();
    // Files are in order of path: the second is slack.barm.
    let checked = Checked { season: &season, report: &report, base: &base, asked: &[FileId(1)] };
    let mut out = Vec::new();
    html(&mut out, &[Part { checked, on: None }]).unwrap();
    let page = String::from_utf8(out).unwrap();
    assert_eq!(count(&page, "class=\"more\""), 1);
    assert!(!page.contains(">other<") && !page.contains("<strong>tide-a</strong>"));
    assert!(page.contains("<strong>tide-b</strong>") && page.contains("From tide-a: generation by date"));
}

fn count(text: &str, what: &str) -> usize {
    text.matches(what).count()
}

#[test]
fn every_figure_of_a_brew_stands_there_as_barm_figures_prints_it() {
    let season = season_with(&house(), "");
    let page = written_of(&season, None, html);
    let lots = season.figures(&["slack-1".to_owned()]);
    assert!(lots[0].figures.len() > 12, "{:?}", lots[0].figures.len());
    for figure in &lots[0].figures {
        let row = format!(
            "<tr><th scope=\"row\">{}</th><td class=\"n\">{} {}</td><td class=\"n\">{}</td>",
            figure.name.replace('-', " "),
            figure.value_text(),
            figure.unit,
            figure.range_text().unwrap_or_default()
        );
        assert!(page.contains(&row), "{row}");
    }
    // The bank too.
    for lot in &season.bank(None, None).unwrap().lots {
        let live = with_range(&season.settings, lot.live_cells.as_ref().unwrap());
        assert!(page.contains(&format!(">{live}</td>")), "{live}");
    }
}

#[test]
fn a_page_asks_for_nothing_and_runs_nothing() {
    let page = written(&house(), html);
    assert_eq!(count(&page, "<!DOCTYPE html>"), 1);
    assert!(page.contains(
        "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'; img-src data:\">"
    ));
    for never in
        ["<script", "javascript:", "http:", "https:", "url(", "@import", " src=", "onload", "onclick"]
    {
        assert!(!page.contains(never), "{never}");
    }
    assert_eq!(count(&page, "class=\"more\""), 1, "one brew opens");
    // Each picture says in words what it shows, and each SVG stands in such a picture.
    assert_eq!(count(&page, "<svg "), count(&page, "<div role=\"img\" aria-label=\""));
    assert!(!page.contains("aria-label=\"\""));
}

#[test]
fn a_row_tells_pitch_curves_and_verdict() {
    let page = written(&house(), html);
    for part in [
        "<summary>slack-1</summary>",
        "Slack Water, run #1",
        "generation 0",
        "Temperature: 4 readings from 18.0 °C to 22.0 °C over 2.8 days; its range at pitching 17.0–20.0 °C; 1 stretch outside",
        "Gravity: 2 readings from 1.048 to 1.011 after 9.6 days",
        ">good</td>",
        "Taste: clean, a little apple",
        "One brew has a pitch with a target and a verdict: it shows itself and proves nothing.",
        "2026-03-04: 2 packs, slack-1",
    ] {
        assert!(page.contains(part), "{part}");
    }
    // The excursion's ink, in the row and in the large plot.
    assert_eq!(count(&page, "<polyline fill=\"none\" stroke=\"#B03A2E\""), 2);
}

#[test]
fn the_same_logs_give_the_same_bytes_in_whatever_order_they_come() {
    let mut files = house();
    let pages: Vec<String> = [html as Writer, json, csv].map(|write| written(&files, write)).to_vec();
    files.reverse();
    let again: Vec<String> = [html as Writer, json, csv].map(|write| written(&files, write)).to_vec();
    assert_eq!(pages, again);
}

#[test]
fn an_empty_season_says_so() {
    for files in [&[][..], &[("a.barm", "# nothing yet\n")], &[("a.barm", "on on on\nbrew\n")]] {
        let page = written(files, html);
        assert!(page.contains("no brew in these logs"), "{files:?}");
        assert!(page.contains("Nothing in these logs is dated"));
        assert!(page.contains("No brew has a pitch with a target and a verdict."));
        assert!(!page.contains("<svg "));
    }
    let only_a_jar = written_of(&season_with(&[("a.barm", HOUSE)], ""), Some("2026-03-01"), html);
    assert!(only_a_jar.contains("no brew in these logs") && only_a_jar.contains("tide-a"));
}

#[test]
fn what_is_not_known_is_a_dash_and_no_curve() {
    let page = written(&[("a.barm", "brew bare\n  on 2026-03-04\n    krausen high\n")], html);
    assert!(page.contains("<summary>bare</summary>") && page.contains("not pitched"));
    assert!(!page.contains("<svg "));
    assert!(count(&page, "<span class=\"none\"") >= 7, "{}", count(&page, "<span class=\"none\""));
    // One reading is a curve of one point, at one height.
    let page = written(&[("a.barm", "brew bare\n  on 2026-03-04 temp 18 °C\n")], html);
    assert!(page.contains("Temperature: 1 reading, 18.0 °C\""));
}

#[test]
fn log_text_never_becomes_markup() {
    let bad = "</title><script>alert(1)</script><img src=x onerror=alert(1)> & ' \u{202e}\u{1b}[31m";
    let log = format!(
        "{HOUSE}\nbrew slack-1 \"{bad}\"\n  wort 20 L at 1.048\n  on 2026-03-04 18:00  pitch tide-a, temp 18 °C\n  on 2026-03-07  gravity 1.012\n    taste {bad}, good\n    note {bad}\n    {bad}\n  test {bad} fail\n"
    );
    let name = "<b onmouseover=alert(1)>.barm";
    let files = [(name, log.as_str()), ("b.barm", "brew a<b>\"'&c\n  on 2026-03-04 pitch tide-a\n")];
    for (page, what) in [(written(&files, html), "html")] {
        for never in ["<script", "<img", "<b ", "<b>", "\u{1b}", "\u{202e}", "onerror=alert(1)>"] {
            assert!(!page.contains(never), "{what}: {never:?}");
        }
        assert!(
            page.contains("&#60;script&#62;") || page.contains("&lt;script&gt;"),
            "the text itself is shown"
        );
    }
    let table = written(&files, csv);
    assert!(!table.contains(['\u{1b}', '\u{202e}']), "{table}");
    let document: serde_json::Value = serde_json::from_str(&written(&files, json)).unwrap();
    let brews = document["workspaces"][0]["brews"].as_array().unwrap();
    assert!(brews.iter().any(|brew| brew["title"] == bad), "JSON has the text as it is");
}

#[test]
fn names_in_plots_are_escaped_too() {
    let mut log = HOUSE.to_owned();
    for number in 0..3 {
        write!(
            log,
            "\nbrew b{number} \"<i>\"\n  wort 20 L at 1.048\n  on 2026-03-0{} pitch tide-a 0.5 packs\n",
            number + 1
        )
        .unwrap();
    }
    let page = written(&[("a<i>.barm", &log)], html);
    assert!(!page.contains("<i>"));
    assert!(page.contains("Generations over time: 4 lots"));
}

#[test]
fn json_has_the_figures_and_the_readings() {
    let season = season_with(&house(), "");
    let document: serde_json::Value = serde_json::from_str(&written_of(&season, None, json)).unwrap();
    assert_eq!(document["version"], 1);
    let brew = &document["workspaces"][0]["brews"][0];
    assert_eq!(brew["lot"], "slack-1");
    assert_eq!(brew["file"], "slack.barm");
    assert_eq!(brew["line"], 1);
    assert_eq!(brew["pitched"], "2026-03-04 18:00");
    assert_eq!(brew["yeasts"], serde_json::json!(["tide-a"]));
    assert_eq!(brew["verdict"], "good");
    assert_eq!(brew["temperatures"][2], serde_json::json!({"at": "2026-03-06 12:00", "value": 22.0}));
    assert_eq!(brew["gravities"][1]["value"], 1.011);
    let names: Vec<&str> =
        brew["figures"].as_array().unwrap().iter().map(|figure| figure["name"].as_str().unwrap()).collect();
    let reckoned: Vec<&str> =
        season.figures(&["slack-1".to_owned()])[0].figures.iter().map(|figure| figure.name).collect();
    assert_eq!(names, reckoned);
    let pack = &document["workspaces"][0]["stocks"][0];
    assert_eq!((&pack["lot"], &pack["emptied"]), (&"tide-a".into(), &"2026-03-04 18:00".into()));
    assert_eq!(pack["draws"][0]["into"], "slack-1");
    let descent = document["workspaces"][0]["descent"].as_array().unwrap();
    let descent: Vec<_> =
        descent.iter().map(|one| (one["lot"].as_str(), one["generation"].as_u64())).collect();
    assert_eq!(descent, [(Some("tide-a"), Some(0)), (Some("slack-1"), Some(0)), (Some("tide-b"), Some(1))]);
}

#[test]
fn a_spreadsheet_gets_numbers_and_no_formula() {
    let log = BREW.replace("Slack Water", "=1+1").replace("taste clean", "taste -clean");
    let table = written(&[("=a.barm", HOUSE), ("=slack.barm", &log)], csv);
    let mut reader = ::csv::Reader::from_reader(table.as_bytes());
    let titles = reader.headers().unwrap().clone();
    let rows: Vec<::csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    assert_eq!(rows.len(), 1);
    let cell = |title: &str| rows[0].get(titles.iter().position(|one| one == title).unwrap()).unwrap();
    assert_eq!(cell("title"), "'=1+1, run #1");
    assert_eq!(cell("file"), "'=slack.barm");
    assert_eq!(cell("taste"), "'-clean, a little apple");
    assert_eq!(cell("gravity (SG)"), "1.011");
    assert_eq!(cell("verdict"), "good");
    let ratio: f64 = cell("pitch-ratio (%)").parse().unwrap();
    let season = season_with(&house(), "");
    let lots = season.figures(&["slack-1".to_owned()]);
    let reckoned = lots[0].figures.iter().find(|figure| figure.name == "pitch-ratio").unwrap();
    assert!((ratio / reckoned.value - 1.0).abs() < 1e-5);
    assert_eq!(cell("too-cold (K·h)"), "");
}

#[test]
fn a_house_reads_its_own_measures() {
    let page = written_of(&season_with(&house(), "units = \"us\"\ngravity = \"plato\"\n"), None, html);
    assert!(page.contains("from 64.4 °F to 71.6 °F"));
    assert!(page.contains("Gravity: 2 readings from 11.9 °P to 2.8 °P"));
    assert!(page.contains("70 °F\n</text>") || page.contains("70 °F</text>"), "its plot too");
}

#[test]
fn the_bank_and_the_jars_are_those_of_the_day_asked_for() {
    let season = season_with(&house(), "");
    let before = written_of(&season, Some("2026-03-01"), html);
    assert!(before.contains("Yeast at hand on 2026-03-01"));
    assert!(before.contains("Live share: 97 (97–97) % on 2026-02-06") || before.contains("on 2026-02-06, "));
    assert!(!before.contains("<strong>tide-b</strong>"), "harvested later");
    assert!(!before.contains("2026-03-04: 2 packs"), "drawn later");
    let after = written_of(&season, None, html);
    assert!(after.contains("<strong>tide-b</strong>") && after.contains("empty since 2026-03-04"));
}

/// A season of so many brews, fifty a file, each with so many readings.
fn many(brews: usize, readings: usize) -> Season {
    let mut files = vec![("house.barm".to_owned(), HOUSE.replace("2 × 100 B", "9999 × 100 B"))];
    let first: jiff::civil::Date = "2026-03-02".parse().unwrap();
    for number in 0..brews {
        if number % 50 == 0 {
            files.push((format!("{number:04}.barm"), String::new()));
        }
        let log = &mut files.last_mut().unwrap().1;
        let day = first.checked_add(jiff::Span::new().days(2 * i64::try_from(number).unwrap())).unwrap();
        let pitch = ["0.1 packs", "1 pack"][number % 2];
        writeln!(log, "\nbrew b-{number}\n  wort 20 L at 1.048\n  on {day}\n    08:00 pitch tide-a {pitch}")
            .unwrap();
        for reading in 0..readings {
            let (hour, minute) = (9 + reading / 60 % 14, reading % 60);
            writeln!(log, "    {hour:02}:{minute:02} temp {}.{} °C", 17 + reading % 7, reading % 10).unwrap();
        }
        let end = day.checked_add(jiff::Span::new().days(9)).unwrap();
        writeln!(
            log,
            "  on {end} gravity 1.01{}\n    taste {}",
            number % 9,
            ["good", "fair", "poor"][number % 3]
        )
        .unwrap();
    }
    let files: Vec<(&str, &str)> = files.iter().map(|(path, text)| (path.as_str(), text.as_str())).collect();
    season_with(&files, "")
}

#[test]
fn a_thousand_brews_stay_a_page() {
    let small = written_of(&many(100, 3), None, html);
    let large = written_of(&many(1000, 3), None, html);
    assert_eq!(count(&large, "class=\"more\""), 1000);
    // A brew takes what a brew takes, however many there are.
    assert!(large.len() < small.len() * 11, "{} and {}", small.len(), large.len());
    assert!(large.len() < 1000 * 24_000, "{}", large.len());
    // More than two years are told by the year.
    assert!(large.contains(">2028</th>") && !large.contains(">2028-01</th>"));
    assert!(small.contains(">2026-03</th>"));
}

#[test]
fn a_plot_is_bounded_however_much_was_logged() {
    let brew = |readings| {
        let page = written_of(&many(1, readings), None, html);
        (page.find("<section aria-labelledby=\"bank").unwrap(), page)
    };
    let ((few, _), (much, page)) = (brew(300), brew(800));
    assert!(page.contains("800 readings"));
    assert!(much < few * 13 / 10, "{few} and {much}");
}
