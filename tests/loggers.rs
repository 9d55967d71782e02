//! Loggers' files that logs name: read where they may be, refused where they may not.

use std::fs;
use std::path::Path;

use crate::run;

/// A workspace whose one log names `name`, with this file in it.
fn naming(name: &str, file: &str, text: &[u8]) -> tempfile::TempDir {
    let log = format!("brew b\n  wort 20 L at 1.048\n  readings \"{name}\"\n");
    run::workspace(&[("ales/b.barm", log.as_bytes()), (file, text)])
}

/// What `check` says of unread files, on one line each.
fn unread(folder: &Path) -> String {
    let ran = run::barm(folder, &["check", "--format", "short", "--select", "unread-file"], None);
    assert!(ran.err.is_empty(), "{}", ran.err);
    ran.out
}

const READINGS: &[u8] = b"time,temp/C\n2026-09-12 14:00,18.2\n";

#[test]
fn a_file_in_the_workspace_is_read_wherever_it_lies() {
    for (name, file) in
        [("tank.csv", "ales/tank.csv"), ("../tank.csv", "tank.csv"), ("of/tank.csv", "ales/of/tank.csv")]
    {
        let folder = naming(name, file, READINGS);
        assert_eq!(unread(folder.path()), "", "{name}");
        // Ten minutes later the probe came loose: what is told of a row shows that the rows were read.
        let mut loose = READINGS.to_vec();
        loose.extend_from_slice(b"2026-09-12 14:10,-127\n");
        fs::write(folder.path().join(file), loose).unwrap();
        let ran = run::barm(folder.path(), &["check", "--format", "short"], None);
        assert!(ran.out.contains("warning[bad-reading]"), "{name}: {}", ran.out);
    }
}

#[test]
fn standard_input_may_stand_for_a_log_beside_its_file() {
    let folder = naming("tank.csv", "ales/tank.csv", READINGS);
    let log = b"brew c\n  readings \"tank.csv\"\n";
    let args = ["check", "-", "--format", "short", "--select", "unread-file"];
    let named =
        run::barm(folder.path(), &[&args[..], &["--stdin-name", "ales/new.barm"]].concat(), Some(log));
    assert_eq!((named.out.as_str(), named.code), ("", Some(0)));
    let nowhere = run::barm(folder.path(), &args, Some(log));
    assert!(nowhere.out.contains("its log lies in no folder"), "{}", nowhere.out);
}

#[cfg(unix)]
#[test]
fn no_device_pipe_folder_or_link_out_is_opened() {
    use std::os::unix::fs::symlink;
    let outside = run::workspace(&[("secret.csv", b"time,temp/C\n2026-09-12 14:00,secret\n")]);
    let secret = outside.path().join("secret.csv");
    let up = format!("../../{}/secret.csv", outside.path().file_name().unwrap().to_str().unwrap());
    for (name, why) in [
        (secret.to_str().unwrap(), "it lies outside of the workspace"),
        (up.as_str(), "it lies outside of the workspace"),
        ("/dev/zero", "it lies outside of the workspace"),
        ("out.csv", "it lies outside of the workspace"),
        ("zero.csv", "it lies outside of the workspace"),
        ("elsewhere/secret.csv", "it lies outside of the workspace"),
        ("pipe.csv", "it is no regular file"),
        ("folder.csv", "it is no regular file"),
        (".", "it is no regular file"),
        ("gone.csv", "there is no such file"),
        ("none.csv", "there is no such file"),
    ] {
        let folder = naming(name, "ales/folder.csv/x.txt", b"");
        let ales = folder.path().join("ales");
        symlink(&secret, ales.join("out.csv")).unwrap();
        symlink("/dev/zero", ales.join("zero.csv")).unwrap();
        symlink(outside.path(), ales.join("elsewhere")).unwrap();
        symlink("gone", ales.join("gone.csv")).unwrap();
        std::process::Command::new("mkfifo").arg(ales.join("pipe.csv")).status().unwrap();
        let said = unread(folder.path());
        assert!(said.contains(why), "{name}: {said}");
        assert!(said.starts_with("ales/b.barm:3:12: error[unread-file]"), "{name}: {said}");
        assert!(!said.contains("14:00"), "{name}: {said}");
    }
    // A link that stays inside is kept.
    let folder = naming("in.csv", "tank.csv", READINGS);
    symlink("../tank.csv", folder.path().join("ales/in.csv")).unwrap();
    assert_eq!(unread(folder.path()), "");
}

#[test]
fn a_file_beyond_all_measure_is_refused() {
    let folder = naming("tank.csv", "ales/tank.csv", b"");
    let file = fs::File::create(folder.path().join("ales/tank.csv")).unwrap();
    file.set_len((512 << 20) + 1).unwrap();
    assert!(unread(folder.path()).contains("it is larger than 512 MB"));
    // As large as allowed, and nothing but zeros: no text.
    file.set_len(512 << 20).unwrap();
    assert!(unread(folder.path()).contains("it is no text"));
}

#[test]
fn what_stands_in_a_file_cannot_harm_the_screen() {
    let bad = "time,temp/C\n2026-09-12 14:00,\u{1b}[2J\u{202e}\u{7}\n::error::x,1\n";
    let folder = naming("tank.csv", "ales/tank.csv", bad.as_bytes());
    let ran = run::barm(folder.path(), &["check"], None);
    assert!(ran.out.contains("bad-reading"), "{}", ran.out);
    let unsafe_to_print = |c: char| (c.is_control() && c != '\n') || c == '\u{202e}';
    assert!(!ran.out.contains(unsafe_to_print), "{:?}", ran.out);
}
