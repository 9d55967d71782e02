//! `barm season -o FILE`: where the page is written to, and where not.

use std::fs;

use crate::run;

const LOG: &[u8] = b"brew one \"<script>\"\n  wort 20 L at 1.048\n  on 2026-01-12 12:00 temp 18 \xC2\xB0C\n";

fn left_in(folder: &tempfile::TempDir) -> Vec<String> {
    let names = fs::read_dir(folder.path()).unwrap().map(|entry| entry.unwrap().file_name());
    let mut names: Vec<String> = names.map(|name| name.into_string().unwrap()).collect();
    names.sort();
    names
}

#[test]
fn the_file_and_standard_output_are_the_same_page() {
    let folder = run::workspace(&[("a.barm", LOG)]);
    let printed = run::barm(folder.path(), &["season"], None);
    assert_eq!((printed.code, printed.err.as_str()), (Some(0), ""));
    assert!(printed.out.starts_with("<!DOCTYPE html>") && !printed.out.contains("<script>"));
    let written = run::barm(folder.path(), &["season", "-o", "season.html"], None);
    assert_eq!((written.code, written.out.as_str(), written.err.as_str()), (Some(0), "", ""));
    assert_eq!(fs::read_to_string(folder.path().join("season.html")).unwrap(), printed.out);
    let dashed = run::barm(folder.path(), &["season", "-o", "-"], None);
    assert_eq!(dashed.out, printed.out);
    assert_eq!(left_in(&folder), ["a.barm", "barm.toml", "season.html"]);
}

#[test]
fn a_log_is_never_overwritten_and_a_failure_leaves_nothing() {
    let folder = run::workspace(&[("a.barm", LOG)]);
    for to in ["a.barm", "no-such-folder/season.html", "."] {
        let ran = run::barm(folder.path(), &["season", "-o", to], None);
        assert_eq!((ran.code, ran.out.as_str()), (Some(2), ""), "{to}");
        assert!(!ran.err.is_empty(), "{to}");
    }
    assert_eq!(fs::read(folder.path().join("a.barm")).unwrap(), LOG);
    assert_eq!(left_in(&folder), ["a.barm", "barm.toml"]);
}

#[cfg(unix)]
#[test]
fn a_page_is_written_where_its_link_leads_and_read_by_whom_it_was_read() {
    use std::os::unix::fs::{PermissionsExt, symlink};
    let folder = run::workspace(&[("a.barm", LOG), ("real.html", b"old")]);
    let real = folder.path().join("real.html");
    fs::set_permissions(&real, fs::Permissions::from_mode(0o640)).unwrap();
    symlink("real.html", folder.path().join("season.html")).unwrap();
    assert_eq!(run::barm(folder.path(), &["season", "-o", "season.html"], None).code, Some(0));
    assert!(fs::read_to_string(&real).unwrap().starts_with("<!DOCTYPE html>"));
    assert_eq!(fs::metadata(&real).unwrap().permissions().mode() & 0o777, 0o640);
    assert!(folder.path().join("season.html").is_symlink());
}
