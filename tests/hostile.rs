//! A log is anybody's: whatever stands in it, the screen, the clock and the memory stay ours.

use std::fmt::Write as _;
use std::fs;
use std::io::Read as _;
use std::path::Path;

use serde_json::Value;

use crate::run::{self, Ran};

/// All that must not reach a terminal as it is.
fn unsafe_to_print(c: char) -> bool {
    (c.is_control() && c != '\n')
        || matches!(c, '\u{61C}' | '\u{200E}' | '\u{200F}' | '\u{2028}'..='\u{202E}' | '\u{2066}'..='\u{2069}' | '\u{FEFF}')
}

/// A CI service takes `##[error]` and `##vso[…]` for commands wherever they stand.
fn commands_in_the_middle(line: &str) -> bool {
    line.match_indices("##").any(|(at, _)| {
        line[at..]
            .trim_start_matches('#')
            .trim_start_matches(|c: char| c.is_ascii_alphanumeric())
            .starts_with('[')
    })
}

/// It ended by itself, said no more than a person can read, and nothing that moves the cursor or commands a CI service.
fn calm(ran: &Ran, what: &str) {
    assert!(matches!(ran.code, Some(0 | 1)), "{what}: {ran:?}");
    assert!(ran.err.is_empty(), "{what}: {}", ran.err);
    assert!(ran.out.len() < 400_000, "{what}: {} bytes of output", ran.out.len());
    for line in ran.out.lines() {
        assert!(!line.trim_start().starts_with("::"), "{what}: {line:?}");
        assert!(!commands_in_the_middle(line), "{what}: {line:?}");
        assert!(line.chars().count() < 1_000, "{what}: a line of {} characters", line.chars().count());
        assert!(!line.contains(unsafe_to_print), "{what}: {line:?}");
    }
}

/// Every character that must not reach a terminal, once each; what ends a line is left out.
fn all_unsafe() -> String {
    ('\0'..='\u{FEFF}').filter(|&c| unsafe_to_print(c) && c != '\r').collect()
}

/// A workspace of files that try everything, in their names, too.
fn everything() -> tempfile::TempDir {
    let bad = all_unsafe();
    let mut log = String::new();
    for c in bad.chars() {
        writeln!(log, "brew a{c}b \"tit{c}le\"\n  wort 2{c}1 L at 1.0{c}48\n  in t{c}un\n  on 2026-09-1{c}2")
            .unwrap();
        writeln!(
            log,
            "    pitch j{c}ar 3{c}0 mL  # com{c}ment\n    temp 1{c}8 {c}C, taste b{c}ad\n    wo{c}rd {c}"
        )
        .unwrap();
    }
    writeln!(log, "::error file=x::y\n  ::set-output name=x::y\n brew ::warning\n##[command]x").unwrap();
    // In a file of their own: of one file only so much is told.
    let mut words = String::new();
    for word in ["]]>", "<a&b>", "[a](command:b)", "![a](b)", "100%25%0Aa,b:c", "=1+1", "##vso[x]y", "`a``b`"]
    {
        writeln!(words, "brew {word}\n  wort {word}\n  {word} 1\n  on 2026-09-12  pitch {word} 1 mL")
            .unwrap();
    }
    let mut names =
        vec!["all", "::error::", "a\u{1b}[2Jb\u{202e}c\u{9b}", "##[x]", "a,b:c%25 [d](e)", "=1 <&>]]"];
    if cfg!(unix) {
        names.push("a\n::error::b");
    }
    let names: Vec<String> = names.into_iter().map(|name| format!("{name}.barm")).collect();
    let mut files: Vec<(&str, &[u8])> = names.iter().map(|name| (name.as_str(), log.as_bytes())).collect();
    files.push(("words.barm", words.as_bytes()));
    run::workspace(&files)
}

#[test]
fn control_and_bidirectional_characters_never_reach_the_terminal() {
    let folder = everything();
    for args in [
        &["check"][..],
        &["check", "--format", "short"],
        &["check", "--format", "short", "::error::.barm"],
        &["check", "--no-accept", "all.barm"],
        &["check", "--statistics"],
        &["figures"],
        &["why", "unreadable-line", "--lot", "ab"],
    ] {
        let ran = run::barm(folder.path(), args, None);
        if args[0] == "why" {
            assert!(!(ran.out + &ran.err).contains(unsafe_to_print), "{args:?}");
        } else {
            calm(&ran, &args.join(" "));
        }
    }
    let ran = run::barm(folder.path(), &["check", "--format", "json"], None);
    assert!(!ran.out.contains(|c: char| c < ' ' && c != '\n'), "JSON escapes what is below a blank");
    let _: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
    // What the user types comes back in messages, too.
    for args in
        [&["check", "no\u{1b}[2Jsuch"][..], &["why", "no\u{1b}such"], &["figures", "--lot", "\u{202e}x"]]
    {
        let ran = run::barm(folder.path(), args, None);
        assert_eq!(ran.code, Some(2), "{args:?}");
        assert!(!ran.err.contains(unsafe_to_print), "{:?}", ran.err);
    }
}

const FOR_PROGRAMS: [&str; 5] = ["json", "ndjson", "sarif", "junit", "github"];

fn told(folder: &Path, format: &str) -> String {
    let ran = run::barm(folder, &["check", "--format", format], None);
    assert!(matches!(ran.code, Some(0 | 1)) && ran.err.is_empty(), "{format}: {ran:?}");
    ran.out
}

#[test]
fn no_form_for_programs_carries_what_is_not_seen() {
    let folder = everything();
    for format in FOR_PROGRAMS {
        let out = told(folder.path(), format);
        assert!(out.lines().count() > 20, "{format}: {out}");
        for line in out.lines() {
            assert!(!line.contains(unsafe_to_print), "{format}: {line:?}");
            assert!(!commands_in_the_middle(line), "{format}: {line:?}");
            // Only workflow commands are commands, and each of them is ours.
            let ours = ["::error title=", "::warning title=", "::notice title="];
            let command = line.trim_start().starts_with("::");
            assert!(!command || format == "github" && ours.iter().any(|o| line.starts_with(o)), "{line:?}");
        }
    }
}

#[test]
fn json_loses_nothing_by_it() {
    let folder = everything();
    let json: Value = serde_json::from_str(&told(folder.path(), "json")).unwrap();
    let mut files: Vec<&str> = json["findings"]
        .as_array()
        .unwrap()
        .iter()
        .map(|finding| finding["file"].as_str().unwrap())
        .collect();
    files.dedup();
    assert!(files.contains(&"a\u{1b}[2Jb\u{202e}c\u{9b}.barm"), "{files:?}");
    for line in told(folder.path(), "ndjson").lines() {
        let _: Value = serde_json::from_str(line).unwrap();
    }
}

/// Markdown without its code spans and escapes: what is left is acted upon.
fn bare(markdown: &str) -> String {
    let mut out = String::new();
    let mut rest = markdown;
    while let Some(c) = rest.chars().next() {
        let fence = rest.len() - rest.trim_start_matches('`').len();
        if c == '\\' {
            rest = rest.get(2..).unwrap_or("");
        } else if fence == 0 {
            out.push(c);
            rest = &rest[c.len_utf8()..];
        } else {
            let (ticks, behind) = rest.split_at(fence);
            // A fence ends at the next run of as many.
            let runs = behind
                .match_indices(ticks)
                .find(|&(at, _)| !behind[..at].ends_with('`') && !behind[at + fence..].starts_with('`'));
            rest = runs.map_or(behind, |(at, _)| &behind[at + fence..]);
        }
    }
    out
}

#[test]
fn nothing_in_sarif_is_a_link_or_an_image() {
    assert_eq!(bare("a `[x](y)` ``b`c`` \\[d\\] [e]"), "a   d [e]");
    let folder = everything();
    let sarif: Value = serde_json::from_str(&told(folder.path(), "sarif")).unwrap();
    let mut messages = Vec::new();
    for result in sarif["runs"][0]["results"].as_array().unwrap() {
        messages.push(&result["message"]);
        for list in ["locations", "relatedLocations"] {
            messages.extend(result[list].as_array().into_iter().flatten().map(|place| &place["message"]));
        }
        messages.extend(result["fixes"].as_array().into_iter().flatten().map(|fix| &fix["description"]));
        let uri = result["locations"][0]["physicalLocation"]["artifactLocation"]["uri"].as_str().unwrap();
        assert!(uri.bytes().all(|c| c.is_ascii_alphanumeric() || b"/-._~%".contains(&c)), "{uri}");
    }
    let messages: Vec<&Value> = messages.into_iter().filter(|message| message.is_object()).collect();
    assert!(messages.iter().any(|message| message["text"].as_str().unwrap().contains("command:b")));
    for message in messages {
        assert!(!message["text"].as_str().unwrap().contains("]("), "{message}");
        let bare = bare(message["markdown"].as_str().unwrap());
        assert!(!bare.contains(['[', ']', '<', '>', '!', '*', '_', '|', '&']), "{message}: {bare}");
    }
}

#[test]
fn every_form_is_bounded() {
    for piece in ["9,", "\"", "é", "\u{300}", "pitch a, ", "]]>", "##[x]"] {
        let long = piece.repeat((1 << 20) / piece.len());
        let log = format!(
            "brew a \"{long}\"\n{long}\n  wort {long} L at 1.050\n  on 2026-01-01\n    temp {long}, {long}\n"
        );
        for format in FOR_PROGRAMS {
            let ran = run::barm(
                std::env::temp_dir().as_path(),
                &["check", "-", "--format", format],
                Some(log.as_bytes()),
            );
            assert!(
                matches!(ran.code, Some(0 | 1)) && ran.err.is_empty(),
                "{piece:?} as {format}: {}",
                ran.err
            );
            assert!(ran.out.len() < 1_000_000, "{piece:?} as {format}: {} bytes", ran.out.len());
        }
    }
}

#[test]
fn a_log_under_review_cannot_keep_silent() {
    let log = "brew a\n  wort 20 L at 1.050\n  on 2026-10-02\n    temp 18  # accept missing-unit: ours\n    nonsense\n";
    let folder = run::workspace(&[
        ("review/a.barm", log.as_bytes()),
        ("review/barm.toml", b"[levels]\nunreadable-line = \"off\"\nunknown-word = \"off\"\n"),
        ("ours.toml", b""),
    ]);
    let review = folder.path().join("review");
    let select = ["--select", "missing-unit,unreadable-line,unknown-word"];
    let check = |args: &[&str]| run::barm(&review, &[&["check"], &select[..], args].concat(), None);
    let silent = check(&[]);
    assert_eq!(silent.code, Some(0));
    let counted = "Nothing to mend in 1 log; 1 accepted; switched off: unknown-word, unreadable-line.\n";
    assert_eq!(silent.out, counted, "both are counted");
    // In every form that has a place for it.
    for format in ["json", "ndjson", "sarif"] {
        let out = check(&["--format", format]).out.replace([' ', '\n'], "");
        assert!(out.contains(r#""accepted":1"#), "{format}: {out}");
        assert!(out.contains(r#""switched_off":["unknown-word","unreadable-line"]"#), "{format}: {out}");
    }
    for format in ["junit", "github"] {
        assert!(check(&["--format", format]).out.contains(counted.trim_end()), "{format}");
    }
    let told = check(&["--config", "../ours.toml", "--no-accept", "--format", "short"]);
    assert_eq!(told.code, Some(1));
    let lines: Vec<&str> = told.out.lines().map(|line| line.split(' ').next().unwrap()).collect();
    assert_eq!(lines, ["a.barm:4:10:", "a.barm:5:5:"], "{}", told.out);
}

#[test]
fn a_line_of_a_megabyte_is_no_flood() {
    for piece in [
        " ",
        ",",
        ", ",
        "\"",
        "9",
        "9,",
        "..",
        "±",
        "#",
        "# accept x: y ",
        "é",
        "\t",
        "\u{300}",
        "pitch a, ",
        "<<<<<<< ",
    ] {
        let long = piece.repeat((1 << 20) / piece.len());
        for log in [
            long.clone(),
            format!("brew a\n{long}\n"),
            format!("brew a \"{long}\"\n  wort 20 L at 1.050\n"),
            format!("brew a\n  wort {long} L at 1.050\n  on 2026-01-01\n    temp {long}, {long}\n"),
        ] {
            let ran = run::barm(std::env::temp_dir().as_path(), &["check", "-"], Some(log.as_bytes()));
            calm(&ran, &format!("{piece:?}"));
        }
    }
}

#[test]
fn a_thousand_faults_are_bounded() {
    let mut log = String::from("brew a\n");
    for line in 0..20_000 {
        writeln!(
            log,
            "  on 2026-02-31 nonsense {line}, temp 99999 C, wort 3, pitch nobody{line}, ambient 18,5 C"
        )
        .unwrap();
    }
    let ran =
        run::barm(std::env::temp_dir().as_path(), &["check", "-", "--format", "short"], Some(log.as_bytes()));
    calm(&ran, "20,000 faulty lines");
    let told = ran.out.lines().count();
    assert!((1..=101).contains(&told), "{told} findings in one file");
}

#[test]
fn random_bytes_are_read() {
    // xorshift: the same bytes everywhere.
    let mut state = 0x2545_F491_4F6C_DD1D_u64;
    let mut next = || {
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        state
    };
    for _ in 0..8 {
        let bytes: Vec<u8> = (0..1 << 17).map(|_| (next() >> 32) as u8).collect();
        calm(&run::barm(std::env::temp_dir().as_path(), &["check", "-"], Some(&bytes)), "random bytes");
    }
    // Words of the language in a random order.
    let words = [
        "brew",
        "culture",
        "starter",
        "strain",
        "on",
        "2026-09-12",
        "14:00",
        "pitch",
        "a",
        "b",
        "all",
        "1/4",
        "20 L",
        "at",
        "?",
        "1.050",
        "18 C",
        "\n",
        "\n  ",
        ",",
        ", ",
        "harvest",
        "of",
        "wort",
        "kept",
        "for",
        "~",
        "±",
        "..",
        "#",
        "accept",
        "\"",
    ];
    for _ in 0..8 {
        let log: Vec<&str> = (0..30_000).map(|_| words[(next() >> 33) as usize % words.len()]).collect();
        calm(
            &run::barm(std::env::temp_dir().as_path(), &["check", "-"], Some(log.join(" ").as_bytes())),
            "random words",
        );
    }
}

#[test]
fn deep_descent_and_loops_end() {
    let mut log = String::from("culture jar-0\n  slurry 500 mL thick\n  harvested 2026-01-01\n");
    for n in 0..5_000 {
        writeln!(
            log,
            "brew b-{n}\n  wort 20 L at 1.050\n  on 2026-01-02\n    pitch jar-{n} 100 mL\n    harvest jar-{} 500 mL thick",
            n + 1
        )
        .unwrap();
    }
    calm(
        &run::barm(std::env::temp_dir().as_path(), &["check", "-"], Some(log.as_bytes())),
        "5,000 generations",
    );
    let log = "brew a\n  wort 20 L at 1.050\n  on 2026-01-02\n    pitch a all\n    pitch b all\n    harvest a all\n\
               brew b\n  wort 20 L of b\n  on 2026-01-02\n    pitch a all\n    pitch b all\n    add 2 L b\n";
    calm(&run::barm(std::env::temp_dir().as_path(), &["check", "-"], Some(log.as_bytes())), "a loop");
}

#[cfg(unix)]
#[test]
fn only_regular_files_inside_the_workspace_are_opened() {
    use std::os::unix::fs::symlink;
    let outside = run::workspace(&[("secret.barm", b"brew secret\n  nonsense\n")]);
    let folder = run::workspace(&[("in.barm", b"brew inside\n"), ("below/x.txt", b"brew link\n")]);
    symlink(outside.path().join("secret.barm"), folder.path().join("out.barm")).unwrap();
    symlink("/dev/zero", folder.path().join("zero.barm")).unwrap();
    symlink("gone", folder.path().join("gone.barm")).unwrap();
    symlink("below/x.txt", folder.path().join("kept.barm")).unwrap();
    symlink(outside.path(), folder.path().join("elsewhere")).unwrap();
    std::process::Command::new("mkfifo").arg(folder.path().join("pipe.barm")).status().unwrap();
    let ran = run::barm(folder.path(), &["check", "--format", "short", "--select", "unread-file"], None);
    let refused: Vec<&str> = ran.out.lines().map(|line| line.split(':').next().unwrap()).collect();
    assert_eq!(refused, ["gone.barm", "out.barm", "pipe.barm", "zero.barm"], "{}", ran.out);
    assert!(!ran.out.contains("nonsense"), "{}", ran.out);
}

#[cfg(unix)]
#[test]
fn settings_are_a_regular_file_inside_the_workspace() {
    use std::os::unix::fs::symlink;
    let outside = run::workspace(&[("barm.toml", b"secret\n")]);
    for target in [outside.path().join("barm.toml"), "/dev/zero".into()] {
        let folder = run::workspace(&[("a.barm", b"brew a\n")]);
        fs::remove_file(folder.path().join("barm.toml")).unwrap();
        symlink(&target, folder.path().join("barm.toml")).unwrap();
        let ran = run::barm(folder.path(), &["check"], None);
        assert_eq!((ran.code, ran.out.as_str()), (Some(2), ""), "{}", target.display());
        assert!(ran.err.starts_with("barm: barm.toml cannot be read: it "), "{}", ran.err);
        assert!(!ran.err.contains("secret"), "{}", ran.err);
    }
}

#[test]
fn a_log_beyond_all_measure_is_refused_and_the_others_are_read() {
    let folder = run::workspace(&[("a.barm", b"brew a\n  nonsense\n")]);
    // All holes: it takes no room on the disk, and must take none in memory.
    fs::File::create(folder.path().join("huge.barm")).unwrap().set_len((512 << 20) + 1).unwrap();
    let ran = run::barm(
        folder.path(),
        &["check", "--format", "short", "--select", "unread-file,unreadable-line,unknown-word"],
        None,
    );
    let lines: Vec<&str> = ran.out.lines().collect();
    assert_eq!(lines.len(), 2, "{}", ran.out);
    assert!(lines[0].starts_with("a.barm:2:3: "), "{}", ran.out);
    assert!(
        lines[1].starts_with("huge.barm:1:1: error[unread-file]: ")
            && lines[1].ends_with("larger than 512 MB")
    );
}

#[test]
fn a_reader_who_leaves_early_is_no_failure() {
    let mut log = String::from("brew a\n");
    for line in 0..90 {
        writeln!(log, "  nonsense {line}").unwrap();
    }
    let files: Vec<(String, &[u8])> = (0..40).map(|n| (format!("{n}.barm"), log.as_bytes())).collect();
    let files: Vec<(&str, &[u8])> = files.iter().map(|(name, text)| (name.as_str(), *text)).collect();
    let folder = run::workspace(&files);
    let mut child = run::command(folder.path(), &["check"]).spawn().unwrap();
    // One byte, and the pipe is closed while there is more to come than it holds.
    child.stdout.take().unwrap().read_exact(&mut [0]).unwrap();
    let output = child.wait_with_output().unwrap();
    assert!(matches!(output.status.code(), Some(0 | 1)), "{:?}", output.status);
    assert_eq!(String::from_utf8(output.stderr).unwrap(), "");
}
