//! Writing logs: what is written is whole, is what was asked for, and is nothing else.

use std::fs;
use std::path::Path;

use crate::run;

const SLIP: &str = "brew a\n  wort 20 L at 1,052\n  on 2026-10-05  temp 11,5 °C\n";
const MENDED: &str = "brew a\n  wort 20 L at 1.052\n  on 2026-10-05  temp 11.5 °C\n";

fn names(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    names
}

#[test]
fn line_ends_and_a_byte_order_mark_are_kept() {
    let windows = format!("\u{FEFF}{}", SLIP.replace('\n', "\r\n"));
    let folder = run::workspace(&[("a.barm", windows.as_bytes())]);
    let ran = run::barm(folder.path(), &["fix"], None);
    assert_eq!((ran.out.as_str(), ran.code), ("mended a.barm\n", Some(0)), "{}", ran.err);
    let text = fs::read_to_string(folder.path().join("a.barm")).unwrap();
    assert_eq!(text, format!("\u{FEFF}{}", MENDED.replace('\n', "\r\n")));
}

#[test]
fn only_what_was_asked_for_is_written() {
    let folder = run::workspace(&[
        ("a.barm", SLIP.as_bytes()),
        ("b.barm", SLIP.replace("brew a", "brew b").as_bytes()),
    ]);
    let ran = run::barm(folder.path(), &["fix", "a.barm"], None);
    assert_eq!(ran.out, "mended a.barm\n");
    assert_eq!(fs::read_to_string(folder.path().join("a.barm")).unwrap(), MENDED);
    assert!(fs::read_to_string(folder.path().join("b.barm")).unwrap().contains("1,052"));
    assert_eq!(names(folder.path()), ["a.barm", "b.barm", "barm.toml"], "nothing is left lying about");
}

#[test]
fn bytes_that_cannot_be_read_are_never_written() {
    let mut bytes = SLIP.as_bytes().to_vec();
    bytes.extend(b"  note \xff\n");
    let folder = run::workspace(&[("a.barm", &bytes)]);
    let ran = run::barm(folder.path(), &["fix", "--unsafe"], None);
    assert_eq!(ran.out, "");
    assert_eq!(fs::read(folder.path().join("a.barm")).unwrap(), bytes);
}

#[cfg(unix)]
#[test]
fn permissions_and_links_are_kept_and_no_link_is_followed_out() {
    use std::os::unix::fs::{PermissionsExt as _, symlink};
    let outside = run::workspace(&[("out.barm", SLIP.as_bytes())]);
    let folder = run::workspace(&[
        ("kept/real.txt", SLIP.replace("brew a", "brew b").as_bytes()),
        ("a.barm", SLIP.as_bytes()),
    ]);
    let at = |name: &str| folder.path().join(name);
    fs::set_permissions(at("a.barm"), fs::Permissions::from_mode(0o640)).unwrap();
    symlink("kept/real.txt", at("in.barm")).unwrap();
    symlink(outside.path().join("out.barm"), at("out.barm")).unwrap();
    let ran = run::barm(folder.path(), &["fix"], None);
    assert_eq!(ran.out, "mended a.barm\nmended in.barm\n", "{}", ran.err);
    assert_eq!(fs::metadata(at("a.barm")).unwrap().permissions().mode() & 0o777, 0o640);
    assert!(fs::symlink_metadata(at("in.barm")).unwrap().is_symlink());
    assert!(fs::read_to_string(at("kept/real.txt")).unwrap().contains("1.052"));
    assert_eq!(fs::read_to_string(outside.path().join("out.barm")).unwrap(), SLIP);
}

#[cfg(unix)]
#[test]
fn what_is_write_protected_stays_and_a_log_of_two_names_is_written_once() {
    use std::os::unix::fs::{PermissionsExt as _, symlink};
    let folder = run::workspace(&[("a.barm", SLIP.as_bytes())]);
    let at = |name: &str| folder.path().join(name);
    fs::set_permissions(at("a.barm"), fs::Permissions::from_mode(0o444)).unwrap();
    let ran = run::barm(folder.path(), &["fix"], None);
    assert_eq!(ran.code, Some(2));
    assert_eq!(ran.err, "barm: a.barm was not written: it is write-protected; make it writable first\n");
    assert_eq!(fs::read_to_string(at("a.barm")).unwrap(), SLIP);
    fs::set_permissions(at("a.barm"), fs::Permissions::from_mode(0o644)).unwrap();
    symlink("a.barm", at("b.barm")).unwrap();
    let ran = run::barm(folder.path(), &["fmt", "a.barm", "b.barm"], None);
    assert_eq!((ran.err.as_str(), ran.code), ("", Some(0)));
    let ran = run::barm(folder.path(), &["fix", "a.barm", "b.barm"], None);
    assert_eq!((ran.err.as_str(), ran.code), ("", Some(0)));
    assert_eq!(fs::read_to_string(at("a.barm")).unwrap(), MENDED);
    assert!(fs::symlink_metadata(at("b.barm")).unwrap().is_symlink());
}

#[test]
fn setting_anew_touches_no_file_that_stands_as_it_should() {
    let folder = run::workspace(&[
        ("a.barm", b"brew a\n  wort         20 L at 1.050\n"),
        ("b.barm", b"brew b\n wort 20 L at 1.050\n"),
    ]);
    let written = |name: &str| fs::metadata(folder.path().join(name)).unwrap().modified().unwrap();
    let before = written("a.barm");
    let ran = run::barm(folder.path(), &["fmt"], None);
    assert_eq!((ran.out.as_str(), ran.code), ("set b.barm\n", Some(0)), "{}", ran.err);
    assert_eq!(written("a.barm"), before);
    fs::write(folder.path().join("c.barm"), b"brew \xff\n").unwrap();
    fs::write(folder.path().join("d.barm"), b"brew d\nwort 20 L at 1.050\n").unwrap();
    let ran = run::barm(folder.path(), &["fmt"], None);
    assert_eq!((ran.out.as_str(), ran.code), ("set d.barm\n", Some(2)));
    assert_eq!(ran.err, "barm: c.barm is no UTF-8 text\n");
}

/// The log of `tests/data/cli/questions.txt`: every question that it asks has an answer, and with them all written in it has
/// nothing left to say.
#[test]
fn every_question_is_filled_in_and_the_log_is_clean() {
    let case = fs::read_to_string(run::project().join("tests/data/cli/questions.txt")).unwrap();
    let log = case.split(">>> plans.barm\n").nth(1).and_then(|rest| rest.split("\n>>> ").next()).unwrap();
    let asked = log.lines().filter(|line| !line.starts_with('#')).map(|line| line.matches('?').count());
    let asked: usize = asked.sum();
    assert!(asked >= 10, "{asked}");
    let folder = run::workspace(&[("plans.barm", log.as_bytes())]);
    let answers = |folder: &Path| {
        let ran = run::barm(folder, &["check", "--format", "short", "--ignore", "caution"], None);
        assert_eq!(ran.code, Some(0), "{}{}", ran.out, ran.err);
        ran.out.lines().filter(|line| !line.is_empty()).map(str::to_owned).collect::<Vec<_>>()
    };
    let before = answers(folder.path());
    assert_eq!(before.len(), asked, "{before:#?}");
    assert!(before.iter().all(|line| line.contains("note[open-question]")), "{before:#?}");
    assert_eq!(run::barm(folder.path(), &["fix"], None).out, "mended plans.barm\n");
    assert_eq!(answers(folder.path()), [""; 0]);
    let filled = fs::read_to_string(folder.path().join("plans.barm")).unwrap();
    assert!(filled.lines().all(|line| line.starts_with('#') || !line.contains('?')), "{filled}");
    // What was asked for is all that changed.
    for (asking, answered) in log.lines().zip(filled.lines()).filter(|(asking, _)| !asking.contains('?')) {
        assert_eq!(asking, answered);
    }
}

#[test]
fn answers_wait_for_the_lines_that_they_hang_on() {
    let log = "strain s\n  kind ale\nculture j of s\n  slurry 400 mL thick\n  harvested 2026-09-21\n\
               brew a\n  wort 20 L at 1.050\n  target LATER M/mL/°P\n  on 2026-10-01\n    18:00 pitch j ?\n  on 2026-10-11 gravity 1.012, temp 20 °C\n  \
               on 2026-10-14 gravity 1.012\n  on 2026-10-15 co2 GAS vol, bottle 19 L, ? sucrose for 2.4 vol\n";
    let written = |target: &str, gas: &str, args: &[&str]| {
        let text = log.replace("LATER", target).replace("GAS", gas);
        let folder = run::workspace(&[("a.barm", text.as_bytes())]);
        run::barm(folder.path(), args, None);
        fs::read_to_string(folder.path().join("a.barm")).unwrap()
    };
    let whole = written("1.5", "1.8", &["fix"]);
    assert!(!whole.contains('?'), "{whole}");
    // What can be mended is, and then answered.
    assert_eq!(written("1,5", "1,8", &["fix"]), whole);
    assert_eq!(written("1,5", "1,8", &["fix", "--unsafe"]), whole);
    // What cannot is not answered around.
    for (target, gas) in [("lots of", "1.8"), ("1.5", "lots of")] {
        let left = written(target, gas, &["fix"]);
        assert!(left.contains("pitch j ?") && left.contains("? sucrose"), "{left}");
    }
}
