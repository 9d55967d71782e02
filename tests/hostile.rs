//! A log is anybody's: whatever stands in it, the screen, the clock and the memory stay ours.

use std::fmt::Write as _;
use std::io::Read as _;

use crate::run::{self, Ran};

/// All that must not reach a terminal as it is.
fn unsafe_to_print(c: char) -> bool {
    (c.is_control() && c != '\n')
        || matches!(c, '\u{61C}' | '\u{200E}' | '\u{200F}' | '\u{2028}'..='\u{202E}' | '\u{2066}'..='\u{2069}' | '\u{FEFF}')
}

/// It ended by itself, said no more than a person can read, and nothing that moves the cursor or commands a CI service.
fn calm(ran: &Ran, what: &str) {
    assert!(matches!(ran.code, Some(0 | 1)), "{what}: {ran:?}");
    assert!(ran.err.is_empty(), "{what}: {}", ran.err);
    assert!(ran.out.len() < 400_000, "{what}: {} bytes of output", ran.out.len());
    for line in ran.out.lines() {
        assert!(!line.trim_start().starts_with("::"), "{what}: {line:?}");
        assert!(line.chars().count() < 1_000, "{what}: a line of {} characters", line.chars().count());
        assert!(!line.contains(unsafe_to_print), "{what}: {line:?}");
    }
}

/// Every character that must not reach a terminal, once each; what ends a line is left out.
fn all_unsafe() -> String {
    ('\0'..='\u{FEFF}').filter(|&c| unsafe_to_print(c) && c != '\r').collect()
}

#[test]
fn control_and_bidirectional_characters_never_reach_the_terminal() {
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
    let parts: Vec<(String, &str)> = vec![
        ("all.barm".to_owned(), &log),
        ("::error::.barm".to_owned(), &log),
        ("a\u{1b}[2Jb\u{202e}c\u{9b}.barm".to_owned(), &log),
    ];
    let files: Vec<(&str, &[u8])> =
        parts.iter().map(|(name, text)| (name.as_str(), text.as_bytes())).collect();
    let folder = run::workspace(&files);
    for args in [
        &["check"][..],
        &["check", "--format", "short"],
        &["check", "--format", "short", "::error::.barm"],
        &["check", "--no-accept", "all.barm"],
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
