//! What an editor is told of a place: a log with `¦` where the cursor is, the answer drawn beneath.

use std::sync::Arc;

use crate::{FileEdits, Spot, World};
use barm_reckoning::Settings;
use barm_syntax::{Edit, Span};

const CURSOR: char = '¦';

/// Files (`=== NAME`, then their text) with cursors in them.
struct Desk {
    world: World,
    cursors: Vec<(Arc<str>, u32)>,
}

impl Desk {
    fn of(files: &str) -> Self {
        let mut loaded = Vec::new();
        let mut cursors = Vec::new();
        for file in files.split("=== ").filter(|file| !file.trim().is_empty()) {
            let (name, marked) = file.split_once('\n').unwrap();
            let path: Arc<str> = Arc::from(name);
            let mut text = String::new();
            for c in marked.chars() {
                if c == CURSOR {
                    cursors.push((Arc::clone(&path), crate::at::length(&text)));
                } else {
                    text.push(c);
                }
            }
            loaded.push((path, Arc::from(text), None));
        }
        let mut world = World::new(Settings::default());
        world.load(loaded);
        Self { world, cursors }
    }

    fn text(&self, path: &str) -> &str {
        &self.world.file(path).unwrap().text
    }

    /// The answers at all cursors, each below its line.
    fn ask(&self, ask: impl Fn(&World, &str, u32) -> String) -> String {
        let mut out = String::new();
        for (path, at) in &self.cursors {
            let (line, column) = self.line(path, *at);
            out.push_str(&format!("{line}\n{}^\n", " ".repeat(column)));
            let answer = ask(&self.world, path, *at);
            out.push_str(if answer.is_empty() { "nothing" } else { answer.trim_end() });
            out.push_str("\n\n");
        }
        out
    }

    /// The line of an offset, and the column in it.
    fn line(&self, path: &str, at: u32) -> (&str, usize) {
        let (before, behind) = self.text(path).split_at(at as usize);
        let start = before.rfind('\n').map_or(0, |end| end + 1);
        let end = at as usize + behind.find('\n').unwrap_or(behind.len());
        (&self.text(path)[start..end], before[start..].chars().count())
    }

    /// A stretch of a file, in brackets in its line.
    fn shown(&self, Spot { path, span }: &Spot) -> String {
        let (line, column) = self.line(path, span.start);
        let byte = line.char_indices().nth(column).map_or(line.len(), |(at, _)| at);
        let (before, rest) = line.split_at(byte);
        let length = (span.len() as usize).min(rest.len());
        format!("{path}: {before}[{}]{}\n", &rest[..length], &rest[length..])
    }

    /// What edits make of files: the lines that are others.
    fn edited(&self, files: &[FileEdits]) -> String {
        let mut out = String::new();
        for FileEdits { path, edits } in files {
            let old = self.text(path);
            let new = applied(old, edits);
            out.push_str(&format!("{path}:\n"));
            let changes = similar(old, &new);
            out.push_str(&changes);
        }
        out
    }
}

fn applied(text: &str, edits: &[Edit]) -> String {
    let mut out = text.to_owned();
    let mut edits: Vec<&Edit> = edits.iter().collect();
    edits.sort_by_key(|edit| std::cmp::Reverse(edit.span));
    for edit in edits {
        out.replace_range(edit.span.range(), &edit.text);
    }
    out
}

/// The lines between a common head and a common tail.
fn similar(old: &str, new: &str) -> String {
    let (old, new): (Vec<&str>, Vec<&str>) = (old.lines().collect(), new.lines().collect());
    let head = old.iter().zip(&new).take_while(|(a, b)| a == b).count();
    let most = old.len().min(new.len()) - head;
    let tail = old.iter().rev().zip(new.iter().rev()).take(most).take_while(|(a, b)| a == b).count();
    if old.len() == new.len() {
        let changed = old.iter().zip(&new).filter(|(gone, put)| gone != put);
        return changed.map(|(gone, put)| format!("- {gone}\n+ {put}\n")).collect();
    }
    let gone = old[head..old.len() - tail].iter().map(|line| format!("- {line}\n"));
    let put = new[head..new.len() - tail].iter().map(|line| format!("+ {line}\n"));
    gone.chain(put).collect()
}

const SEASON: &str = "\
=== yeast.barm
strain tidemill-ale
  kind ale
  range 17..20 °C
  attenuates 73..77 %
strain fen-lager
  kind lager
culture tide-a of tidemill-ale
  pack 2 × 100 B
  made 2026-09-01
  kept 4 °C
=== brews.barm
brew slack-3 \"Slack Water\"
  wort 21 L at 1.048
  in bucket-1
  hold 18 °C
  on 2026-09-12
    14:00 temp 19 °C, aerate oxygen 60 s at 1 L/min
    14:20 pitch tide-a
  on 2026-09-15 temp 23 °C
  on 2026-09-21 gravity 1.012
    harvest tide-b 450 mL thick in jar-1, kept 3 °C
    bottle 19 L, ? sucrose for 2.3 vol
brew slack-4
  wort 40 L at 1.050
  on 2026-09-25 14:00 oxygen 7.5 ppm
    14:20 pitch tide-b ?
";

fn shown(name: &str, told: &str) {
    let mut settings = insta::Settings::clone_current();
    settings.set_omit_expression(true);
    settings.set_prepend_module_to_snapshot(false);
    settings.bind(|| insta::assert_snapshot!(name, told));
}

/// The season with cursors in the places given.
fn season(places: &[&str]) -> Desk {
    let mut text = SEASON.to_owned();
    for place in places {
        let plain = place.replace(CURSOR, "");
        assert!(text.contains(&plain), "{plain} is not in the season");
        text = text.replacen(&plain, place, 1);
    }
    Desk::of(&text)
}

#[test]
fn hover() {
    let desk = season(&[
        "st¦rain tidemill-ale",
        "ra¦nge 17",
        "culture ti¦de-a",
        "2 × 100¦ B",
        "bucket¦-1",
        "hold 18¦ °C",
        "pitch ti¦de-a",
        "temp 2¦3 °C",
        "gravity 1.0¦12",
        "jar¦-1",
        "tide-b ?¦",
        "brew slack¦-4",
        "on¦ 2026-09-25",
    ]);
    shown(
        "hover",
        &desk.ask(|world, path, at| {
            crate::hover(world, path, at).map_or(String::new(), |hover| {
                format!("[{}]\n{}", hover.span.text(&world.file(path).unwrap().text), hover.text)
            })
        }),
    );
}

/// What a number tells depends on where it stands: of two that are written alike one is a dose and one a carbonation.
#[test]
fn hover_on_quantities() {
    let desk = Desk::of(
        "=== a.barm\nstrain fen\n  kind ale\n  makes diacetyl 0.3¦ mg/L\nculture jar of fen\n  slurry 180 ±¦ 30 mL\n  harvested 2026-09-01\n\
         brew b\n  wort 20 L at 12.0 ± 0.2¦ °P\n  on 2026-09-10\n    pitch jar 2 × 60¦ mL\n    oxygen 8¦ mg/L\n  \
         on 2026-09-30 co2 2¦ g/L\n    bottle 40 ×¦ 330 ± 5 mL, 5¦ g/L sucrose for 2.4¦ vol rated 4¦ bar\n    \
         add 30 g sucrose for 5¦ g/L\n",
    );
    shown(
        "hover_on_quantities",
        &desk.ask(|world, path, at| crate::hover(world, path, at).map_or(String::new(), |hover| hover.text)),
    );
}

#[test]
fn a_page_is_shown_where_a_rule_is_named() {
    let desk = Desk::of(
        "=== a.barm\nbrew a\n  on 2026-09-12 temp 30 °C # accept too¦-warm: the cellar is warm\n  bottel¦ 19 L\n",
    );
    shown(
        "a_page_is_shown_where_a_rule_is_named",
        &desk.ask(|world, path, at| crate::hover(world, path, at).map_or(String::new(), |h| h.text)),
    );
}

#[test]
fn completions() {
    let desk = Desk::of(&format!(
        "{SEASON}brew next\n  w¦\n  wort 21 ¦\n  hold 18 °C\n  in b¦\n  on ¦\n  on 2026-10-01 pi¦\n    14:20 pitch ¦\n    taste ¦\n    aerate ¦\n    temp 18 °C # accept ¦\nculture own of ¦\n"
    ));
    shown("completions", &desk.ask(|world, path, at| told(&crate::completions(world, path, at))));
}

fn told(items: &[crate::Completion]) -> String {
    let item = |c: &crate::Completion| {
        let snippet = c.snippet.as_ref().map(|snippet| format!(" -> {snippet}")).unwrap_or_default();
        let detail = if c.detail.is_empty() { String::new() } else { format!("  ({})", c.detail) };
        format!("{:?} {}{snippet}{detail}\n", c.kind, c.label)
    };
    items.iter().map(item).collect()
}

fn labels(world: &World, path: &str, at: u32) -> Vec<String> {
    crate::completions(world, path, at).into_iter().map(|completion| completion.label).collect()
}

/// What is left is told of every lot of the workspace, whether a name links its file to this one or not.
#[test]
fn lots_of_other_files() {
    let desk = Desk::of(&format!(
        "{SEASON}  on 2026-10-05 harvest tide-e 300 mL thick\n    harvest tide-d 100 mL, dump tide-d\n=== new.barm\n\
         culture pack-1 of fen-lager\n  pack 3 × 100 B\n  made 2026-08-01\n\
         starter pack-s\n  wort 2 L at 1.037\n  on 2026-09-20 pitch pack-1 1 pack\n=== next.barm\nbrew next\n  wort 5 L of ¦\n  \
         on 2026-09-22\n    pitch ¦\n    pitch ta¦\n  on 2026-10-06 pitch ¦\n"
    ));
    shown("lots_of_other_files", &desk.ask(|world, path, at| told(&crate::completions(world, path, at))));
}

/// In a workspace of many lots those are offered that fit what is typed, the latest first; whoever types on is offered others.
#[test]
fn of_many_lots_the_latest_that_fit_are_offered() {
    let lot =
        |n: u32| format!("culture jar-{n:03} of fen\n  pack 1 × 100 B\n  made 2026-{:02}-10\n", 1 + n % 9);
    let lots: String = (0..300).map(lot).collect();
    let desk = Desk::of(&format!(
        "=== yeast.barm\nstrain fen\n{lots}=== next.barm\nbrew next\n  on 2026-10-06\n    pitch ¦\n    pitch jar-29¦\n    pitch JAR-01¦\n"
    ));
    let asked: Vec<_> =
        desk.cursors.iter().map(|(path, at)| crate::completions(&desk.world, path, *at)).collect();
    let labels = |nth: usize| -> Vec<&str> { asked[nth].iter().map(|it| it.label.as_str()).collect() };
    assert_eq!(
        (labels(0).len(), labels(0)[0], labels(0)[99]),
        (100, "jar-008", "jar-005"),
        "of September, August, July, and one of June"
    );
    assert!(crate::is_cut_off(&asked[0]) && !crate::is_cut_off(&asked[1]));
    let latest = ["296", "295", "294", "293", "292", "291", "290", "299", "298", "297"];
    assert_eq!(labels(1)[..10], latest.map(|n| format!("jar-{n}")), "what begins as typed comes first");
    assert!(labels(1)[10..].contains(&"jar-029") && !labels(1).contains(&"jar-092"), "{:?}", labels(1));
    assert!(labels(2)[..10].iter().all(|it| it.starts_with("jar-01")), "{:?}", labels(2));
}

/// What fits behind each word of a line, in lines that nobody has finished yet.
#[test]
fn completions_along_a_line() {
    let desk = Desk::of(&format!(
        "{SEASON}brew next\n  wort ¦21 ¦L ¦at ¦1.048 ¦\n  wort 5 L of ¦\n  kept 4 ¦°C ¦\n  readings \"a.csv\" ¦columns ¦time ¦\n  \
         target 0.75 M/m¦\n  hold 18 °¦\n  \
         on 2026-10-01 14:20 pitch tide-b ¦60 ¦mL ¦at ¦18 ¦°C ¦\n    pitch tide-a 1 ¦pack ¦\n    \
         harvest jar ¦450 ¦mL ¦from ¦bottom ¦in ¦\n    \
         add 500 ¦g ¦sucrose ¦for ¦10 ¦\n    set 20 ¦°C ¦over 3 ¦\n    count tide-b ¦5 ¦squares 231 ¦live ¦\n    \
         wash ¦tide-b ¦ph 2.2 ¦for 90 ¦\n    aerate oxygen ¦60 ¦s ¦at 1 ¦\n    gravity 1.012 ¦at 18 ¦\n    test ¦forced ¦\n    \
         bottle 19 ¦L ¦for 2.3 ¦vol ¦\n    bottle 19 L, 100 ¦g ¦sucrose ¦for 2.3 vol ¦\n    keg 19 L at ¦1 ¦\n    \
         rack ¦to ¦\n    taste good, ¦clove, ¦\n    temp 18 °C, ¦note ¦\n\
         culture own ¦of ¦fen-lager ¦+ ¦\n  pack 2 ¦× ¦100 ¦\n  sachet 1 × 11 ¦g ¦\n  made ¦2026-¦\n  loses 20 ¦\n  generation 3 ¦\n  sachet 11 g 6 ¦\n  \
         slurry 300 ¦mL ¦1.2 ¦\n  on 2026-10-01 count 1.2 ¦B/mL ¦\n    \
         count 41+38+50 ¦live 3 ¦\n    add 30 g sucrose for 2.3 ¦\n    pitch own 180 ± 30 ¦\nvessel v\n  loses 4 ¦\n\
         strain new ¦\n  reuse ¦8 ¦\n  makes ¦clove ¦at 18 ¦\n  attenuates 75 ¦\nvessel tank ¦\n  shape ¦\n"
    ));
    shown("completions_along_a_line", &desk.ask(|world, path, at| labels(world, path, at).join(" · ")));
}

/// Every `?` that the reference writes is offered.
#[test]
fn a_question_is_offered_where_one_is_answered() {
    let reference = include_str!("../../../../grammar/README.md");
    let questions =
        reference.split("\n## Questions\n").nth(1).and_then(|it| it.split("\n## ").next()).unwrap();
    let examples = questions.split("```barm ").skip(1).map(|it| it.split("```").next().unwrap());
    let mut asked = 0;
    for (kind, lines) in examples.filter_map(|example| example.split_once('\n')) {
        let kind = kind.split(' ').next().unwrap();
        for line in lines.lines() {
            let line = line.split('#').next().unwrap();
            for (at, _) in line.match_indices('?') {
                let day =
                    if line.starts_with("on ") || line.starts_with("wort ") { "" } else { "on 2026-10-01 " };
                let desk = Desk::of(&format!("{SEASON}{kind} next\n  {day}{}¦\n", &line[..at]));
                let (path, at) = &desk.cursors[0];
                let offered = labels(&desk.world, path, *at);
                assert!(offered.iter().any(|it| it == "?"), "{line}: {offered:?}");
                asked += 1;
            }
        }
    }
    assert!(asked >= 8, "{asked}");
}

/// What is primed with may stand behind a comma, whoever wrote the first word how.
#[test]
fn a_first_word_is_known_in_either_case() {
    let desk = Desk::of(&format!(
        "{SEASON}brew next\n  on 2026-10-01\n    bottle 19 L, 100 g ¦\n    Bottle 19 L, 100 g ¦\n"
    ));
    let offered: Vec<_> = desk.cursors.iter().map(|(path, at)| labels(&desk.world, path, *at)).collect();
    assert!(offered[0].iter().any(|it| it == "table sugar"), "{offered:?}");
    assert_eq!(offered[0], offered[1]);
}

/// All words of the reference's examples are offered where these have them, but for names that are new there.
#[test]
fn what_the_reference_writes_is_offered() {
    use barm_syntax::ast::BlockKind as K;
    for entry in barm_syntax::first_words(K::Unknown).filter(|entry| !["note", "taste"].contains(&entry.word))
    {
        let stands_in = |kind: &&K| barm_syntax::first_words(**kind).any(|other| other == entry);
        let kind = [K::Brew, K::Starter, K::Culture, K::Vessel, K::Strain].iter().find(stands_in).unwrap();
        let words: Vec<&str> = entry.example.split(' ').collect();
        for (nth, word) in words.iter().enumerate() {
            let is_new = (entry.word, nth) == ("harvest", 1) || word.starts_with('"');
            if is_new || word.starts_with(|c: char| c.is_ascii_digit()) {
                continue;
            }
            let line = words[..nth].iter().map(|word| format!("{word} ")).collect::<String>();
            let desk = Desk::of(&format!(
                "{SEASON}  rack to bucket-2\n    rack to keg-1\n{} own\n  {line}¦\n",
                kind.word()
            ));
            let (path, at) = &desk.cursors[0];
            let offered = labels(&desk.world, path, *at);
            let wanted = word.trim_end_matches(',');
            let is_sugar = wanted == "sucrose" && offered.iter().any(|it| it == "table sugar");
            assert!(is_sugar || offered.iter().any(|it| it == wanted), "{line}{wanted}: {offered:?}");
        }
    }
}

#[test]
fn hints() {
    let desk = season(&[]);
    let mut out = String::new();
    for path in ["yeast.barm", "brews.barm"] {
        let mut text = desk.text(path).to_owned();
        let mut hints = crate::hints(&desk.world, path, Span::new(0, u32::MAX));
        hints.reverse();
        for hint in &hints {
            text.insert_str(hint.at as usize, &format!(" «{}»", hint.text));
        }
        out.push_str(&text);
    }
    shown("hints", &out);
}

/// What hangs on a question above it comes to nothing yet.
#[test]
fn no_hint_of_what_waits_for_an_answer() {
    let hints = |amount: &str| {
        let desk = Desk::of(&format!(
            "{SEASON}culture pk of tidemill-ale\n  pack 4 × 100 B\n  made 2026-09-20\nbrew open\n  wort 20 L at 1.060\n  on 2026-10-01\n    12:00 add {amount} water for 1.048\n    \
             13:00 aerate oxygen ? at 1 L/min\n    14:00 pitch pk ?\n"
        ));
        let text = desk.text("brews.barm");
        let own = text.find("brew open").unwrap();
        let hints = crate::hints(&desk.world, "brews.barm", Span::new(0, u32::MAX)).into_iter();
        let own = hints.filter(|hint| hint.at as usize > own).map(|hint| hint.text).collect::<Vec<_>>();
        (own.iter().any(|hint| hint.ends_with("reached")), own.iter().any(|hint| hint.contains("live")))
    };
    assert_eq!(hints("5 L"), (true, true));
    assert_eq!(hints("?"), (false, false));
}

#[test]
fn lenses() {
    let desk = season(&[]);
    let lenses = crate::lenses(&desk.world, "brews.barm");
    let line = |lens: &crate::Lens| format!("{}\n{}\n", lens.text, lens.span.text(desk.text("brews.barm")));
    shown("lenses", &lenses.iter().map(line).collect::<String>());
}

#[test]
fn definition_and_references() {
    let desk = season(&[
        "of tidemill¦-ale",
        "in bucket¦-1",
        "pitch ti¦de-a",
        "pitch tide-b¦",
        "for¦ 2.3",
        "450¦ mL",
    ]);
    shown(
        "definition_and_references",
        &desk.ask(|world, path, at| {
            let declared: String =
                crate::definition(world, path, at).iter().map(|spot| desk.shown(spot)).collect();
            let used = crate::name_at(world, path, at).map(|(name, _)| crate::references(world, &name));
            let used: String = used
                .iter()
                .flatten()
                .map(|found| format!("  {:?} {}", found.role, desk.shown(&found.spot)))
                .collect();
            declared + &used
        }),
    );
}

#[test]
fn rename() {
    let desk = season(&["culture ti¦de-a", "wo¦rt 21"]);
    let asked = ["tide-one", "slack-3", "TIDE-A", "7up", "pitch", "of", "a b", ""];
    shown(
        "rename",
        &desk.ask(|world, path, at| {
            let answer = |new: &str| match crate::rename(world, path, at, new) {
                Ok(files) => format!("{new:?}:\n{}", desk.edited(&files)),
                Err(why) => format!("{new:?}: {why}\n"),
            };
            asked.map(answer).concat()
        }),
    );
}

#[test]
fn symbols_folds_and_links() {
    let desk = Desk::of(&format!("{SEASON}# one\n# two\nbrew third\n  readings \"cellar.csv\"\n"));
    let file = desk.world.file("brews.barm").unwrap();
    let mut out = String::new();
    fn tree(symbols: &[crate::Symbol], depth: usize, out: &mut String) {
        for symbol in symbols {
            out.push_str(&format!(
                "{}{:?} {} {}\n",
                "  ".repeat(depth),
                symbol.kind,
                symbol.name,
                symbol.detail
            ));
            tree(&symbol.within, depth + 1, out);
        }
    }
    tree(&crate::symbols(file), 0, &mut out);
    for (span, name) in crate::links(file) {
        out.push_str(&format!("link {} to {name}\n", span.text(&file.text)));
    }
    for fold in crate::folds(file) {
        let lines: Vec<&str> = fold.text(&file.text).lines().collect();
        out.push_str(&format!("fold {} lines from {:?}\n", lines.len(), lines[0]));
    }
    for query in ["tide", "SLA", "sk4", "water", "nothing like it"] {
        let found = crate::workspace_symbols(&desk.world, query);
        let names: Vec<String> =
            found.iter().map(|(path, symbol)| format!("{path}: {}", symbol.name)).collect();
        out.push_str(&format!("{query:?}: {names:?}\n"));
    }
    shown("symbols_folds_and_links", &out);
}

#[test]
fn selection() {
    let desk = season(&["450¦ mL", "on 2026-09-1¦5", "¦  range 17"]);
    shown(
        "selection",
        &desk.ask(|world, path, at| {
            let file = world.file(path).unwrap();
            let spans = crate::selection(file, at);
            spans.iter().map(|span| format!("{:?}\n", span.text(&file.text))).collect()
        }),
    );
}

#[test]
fn tokens() {
    let desk = Desk::of(&format!(
        "{SEASON}  ~15:00 rack 12 L to oak-2, krausen high  # and on\n    taste good, a little thin\n    clean\n    test plate pass\n"
    ));
    let mut out = String::new();
    for path in ["yeast.barm", "brews.barm"] {
        let file = desk.world.file(path).unwrap();
        let mut at = 0;
        for token in crate::tokens(file) {
            let declares = if token.declares { "!" } else { "" };
            let kind = format!("{:?}", token.kind).to_lowercase();
            out.push_str(&format!(
                "{}{kind}{declares}[{}]",
                &file.text[at..token.span.range().start],
                token.span.text(&file.text)
            ));
            at = token.span.range().end;
        }
        out.push_str(&file.text[at..]);
    }
    shown("tokens", &out);
}

#[test]
fn family() {
    let desk = season(&["culture tide¦-a", "brew slack¦-3", "harvest tide¦-b", "in buck¦et-1"]);
    shown(
        "family",
        &desk.ask(|world, path, at| {
            let Some(own) = crate::relative_at(world, path, at) else { return String::new() };
            let list = |relatives: Vec<crate::Relative>| -> Vec<String> {
                relatives.iter().map(|r| format!("{} {}", r.kind.word(), r.name)).collect()
            };
            format!(
                "{:?} <- {} {} <- {:?}",
                list(crate::parents(world, path, &own.name)),
                own.kind.word(),
                own.name,
                list(crate::children(world, path, &own.name))
            )
        }),
    );
}

/// A part of a wort that took its yeast along comes from the whole.
#[test]
fn a_part_of_a_wort_has_its_whole_for_a_parent() {
    let desk = Desk::of(
        "culture y\n  kind ale\n  pack 2 × 100 B\n  made 2026-02-20\nbrew bi¦g\n  wort 20 L at 1.048\n  on 2026-03-01\n    \
         08:00 pitch y\nbrew part\n  wort 10 L of big\n  on 2026-03-01\n    12:00 temp 18 °C\n  on 2026-03-05 gravity 1.020\n",
    );
    let (path, _) = &desk.cursors[0];
    let names = |all: Vec<crate::Relative>| all.into_iter().map(|one| one.name).collect::<Vec<_>>();
    assert_eq!(names(crate::parents(&desk.world, path, "part")), ["big"]);
    assert_eq!(names(crate::children(&desk.world, path, "big")), ["part"]);
}

/// What is offered behind `~` does not take it away.
#[test]
fn what_is_about_stays_so() {
    let desk = Desk::of(&format!("{SEASON}brew next\n  on ~¦\n  on 2026-10-01 ~1¦\n"));
    for (path, at) in &desk.cursors {
        let text = &desk.world.file(path).unwrap().text;
        let offered = crate::completions(&desk.world, path, *at);
        assert!(!offered.is_empty());
        for it in offered {
            assert!(text[..it.span.start as usize].ends_with('~'), "{it:?}");
        }
    }
}

#[test]
fn actions() {
    let desk = Desk::of(
        "=== yeast.barm\nstrain tidemill-ale\n  kind ale\nstrain fen-lager\n  kind lager\nculture packet of tidemill-ale\n  pack 2 × 100 B\n=== a.barm\n\
         brew slack-3\n  wort 21 L¦ at 1,048¦\n  hold 6¦8 F\n  on 2026-09-14¦ gravity 1.030\n  # the day before\n  on 2026-09-13 temp 18 °C\n  on 2026-09-12 14:20 pitch pack¦et\n    bottel¦ 19 L\n\
         brew slack-4¦\n  target 0.75 M/mL/°P\n  on 2026-09-12 pitch packet\n  on 2026-09-24 bottle 19 L, ?¦ sucrose for 2.3 vol\n    bottle 3 L, ? sucrose for 2.3 vol\n\
         brew slack-7\n  wort 21 L at 1.048\n  on 2026-09-12 temp 20 °C\n    pitch packet\n  on 2026-09-24 bottle 19 L, ?¦ sucrose for 2.3 vol\n    bottle 1 L, ? sucrose for 2.3 vol\n\
         brew slack-5\n  wort 5 L of day¦-before\n  on 2026-09-12 pitch nothing¦-known\n\
         brew slack-6\n  wort 5 L at 1.040\n  on 2026-09-12 pitch tidemill-ale¦\n    pitch fen-lager¦\n",
    );
    shown(
        "actions",
        &desk.ask(|world, path, at| {
            let actions = crate::actions(world, path, Span::new(at, at));
            let action = |action: &crate::Action| {
                let preferred = if action.preferred { " (preferred)" } else { "" };
                format!("{:?}: {}{preferred}\n{}", action.kind, action.title, desk.edited(&action.edits))
            };
            actions.iter().map(action).collect()
        }),
    );
}

#[test]
fn what_a_line_is_made_of_when_it_is_ended() {
    let desk = Desk::of(
        "=== a.barm\nbrew slack-3\n¦  wort 21l at 1.048\n¦in bucket-1\n  ¦\n   on 2026-9-12\n\n¦  on 2026-09-12 #day\n  ¦\n14:20 pitch tide-a   # what was left\n¦\n  on 2026-09-13\n    8:15 temp 18-19C   # tap\n    gravity 1.044 # and more\n      ¦\nbrew slack-4\r\n¦  pitsch\r\n¦\r\n",
    );
    shown(
        "what_a_line_is_made_of_when_it_is_ended",
        &desk.ask(|world, path, at| {
            let edits = crate::line_ended(world.file(path).unwrap(), at);
            edits
                .iter()
                .map(|edit| format!("{:?} -> {:?}\n", edit.span.text(desk.text(path)), edit.text))
                .collect()
        }),
    );
}

/// Any lines of a file, set, are those of the whole file, set; all lines are the whole file; and no other line is touched.
#[test]
fn lines_are_set_as_the_whole_file_sets_them() {
    let text = "\u{feff}BREW slack-3\n\n\nwort 21l at 1.048 # kettle\r\n  hold 18C   # cool\n\n \nbrew slack-4\n<<<<<<< ours\n\n\nhold 19C\n=======\n>>>>>>> theirs\nstrain fen\n\n\n\nkind ale\nno such thing\n  range 17-20C";
    let mut world = World::new(Settings::default());
    world.load(vec![("a.barm".into(), text.into(), None)]);
    let file = world.file("a.barm").unwrap();
    let length = crate::at::length(text);
    assert_eq!(applied(text, &crate::set_lines(file, Span::new(0, length))), barm_syntax::format(text));
    let all = crate::set_lines(file, Span::new(0, length));
    assert!(all.len() > 4, "{all:?}");
    let ends = text.match_indices('\n').map(|(at, _)| at + 1).chain([text.len()]);
    let starts: Vec<u32> = std::iter::once(0).chain(ends).map(|at| u32::try_from(at).unwrap()).collect();
    for (nth, start) in starts.iter().enumerate() {
        for end in &starts[nth + 1..] {
            let within = all.iter().filter(|edit| edit.span.start >= *start && edit.span.start < *end);
            let wanted: Vec<Edit> = within.cloned().collect();
            assert_eq!(crate::set_lines(file, Span::new(*start, *end)), wanted, "{start}..{end}");
        }
    }
}
