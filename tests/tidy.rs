//! The project itself: what lies where, and what it may be made of.

use std::collections::BTreeSet;
use std::fs;
use std::path::PathBuf;
use std::process::Command;

use crate::run;

/// Every text of the project that git would keep.
fn texts() -> Vec<(PathBuf, String)> {
    let root = run::project();
    let mut out = Vec::new();
    for entry in ignore::WalkBuilder::new(&root).hidden(false).build().map(Result::unwrap) {
        let path = entry.path().strip_prefix(&root).unwrap();
        if path.starts_with(".git") || !entry.file_type().is_some_and(|kind| kind.is_file()) {
            continue;
        }
        if let Ok(text) = fs::read_to_string(entry.path()) {
            out.push((path.to_owned(), text));
        }
    }
    out
}

#[test]
fn the_top_level_is_as_agreed() {
    let agreed = [
        "Cargo.lock",
        "Cargo.toml",
        "DEVELOPERS.md",
        "LICENSE-APACHE",
        "LICENSE-MIT",
        "README.md",
        "clippy.toml",
        "crates",
        "demo-logs",
        "editors",
        "grammar",
        "rustfmt.toml",
        "tests",
    ];
    let found: BTreeSet<String> = fs::read_dir(run::project())
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .filter(|name| !name.starts_with('.') && name != "target")
        .collect();
    assert_eq!(found, agreed.map(str::to_owned).into());
}

#[test]
fn lines_end_where_they_end() {
    for (path, text) in texts() {
        // Logs with odd ends of lines are there to be odd, and a picture shows what there is.
        if path.starts_with("tests/data/crlf")
            || path.extension().is_some_and(|ending| ending == "snap" || ending == "talk")
        {
            continue;
        }
        assert!(!text.contains('\r'), "{}: a carriage return", path.display());
        assert!(text.is_empty() || text.ends_with('\n'), "{}: no end of the last line", path.display());
        for (number, line) in text.lines().enumerate() {
            assert!(!line.ends_with([' ', '\t']), "{}:{}: blanks at the end", path.display(), number + 1);
        }
    }
}

#[test]
fn every_rule_has_its_file_and_its_page() {
    let folder = run::project().join("crates/rules/src");
    let ran = run::barm(&run::project(), &["rules", "--format", "json"], None);
    let rules: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
    let rules = rules["rules"].as_array().unwrap();
    assert!(!rules.is_empty());
    let mut pages = BTreeSet::new();
    for rule in rules {
        let name = rule["rule"].as_str().unwrap();
        let page = name.replace('-', "_") + ".md";
        let text =
            fs::read_to_string(folder.join(&page)).unwrap_or_else(|_| panic!("{name} has no page {page}"));
        assert_eq!(rule["page"].as_str().unwrap(), text, "{name}");
        assert!(text.starts_with(&format!("# {name}\n")), "{page} begins with its rule's name");
        pages.insert(page);
    }
    for entry in fs::read_dir(&folder).unwrap() {
        let name = entry.unwrap().file_name().into_string().unwrap();
        assert!(!name.ends_with(".md") || pages.contains(&name), "{name} is no rule's page");
    }
}

#[test]
fn only_since_runs_a_program() {
    let runs = |(path, text): &(PathBuf, String)| {
        path.starts_with("crates")
            && (text.contains("process::Command") || text.contains("process::{Command"))
    };
    let sources =
        texts().into_iter().filter(|(path, _)| path.extension().is_some_and(|ending| ending == "rs"));
    let running: Vec<PathBuf> =
        sources.filter(|one| runs(one) || one.1.contains("Command::new(\"")).map(|(path, _)| path).collect();
    assert!(running.contains(&PathBuf::from("crates/cli/src/since.rs")), "{running:?}");
    // A crate's tests may; what is built into the program may not.
    let built = |path: &&PathBuf| path.starts_with("crates") && path.iter().any(|part| part == "src");
    let built: Vec<&PathBuf> = running.iter().filter(built).collect();
    assert_eq!(built, [&PathBuf::from("crates/cli/src/since.rs")]);
}

#[test]
fn licences_are_permissive() {
    const ALLOWED: [&str; 14] = [
        "0BSD",
        "Apache-2.0",
        "Apache-2.0 WITH LLVM-exception",
        "BSD-2-Clause",
        "BSD-3-Clause",
        "BSL-1.0",
        "CC0-1.0",
        "ISC",
        "MIT",
        "MIT-0",
        // Binds changes to that library's own files alone; imbl is used as it comes.
        "MPL-2.0+",
        "Unicode-3.0",
        "Unlicense",
        "Zlib",
    ];
    let about = Command::new("rustc").arg("-vV").output().unwrap();
    let about = String::from_utf8(about.stdout).unwrap();
    let host = about.lines().find_map(|line| line.strip_prefix("host: ")).unwrap();
    let output = Command::new(env!("CARGO"))
        .args(["metadata", "--format-version", "1", "--locked", "--offline", "--filter-platform", host])
        .current_dir(run::project())
        .output()
        .unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let metadata: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    let packages = metadata["packages"].as_array().unwrap();
    assert!(packages.len() > 20);
    for package in packages {
        let licence = package["license"].as_str().unwrap_or_default().replace('/', " OR ");
        // Each part that must hold at once offers one that is allowed.
        let allowed = licence
            .split(" AND ")
            .all(|part| part.split(" OR ").any(|one| ALLOWED.contains(&one.trim_matches(['(', ')', ' ']))));
        assert!(allowed, "{} {}: {licence:?}", package["name"], package["version"]);
    }
}
