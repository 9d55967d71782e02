//! Many logs at once, for people and for other programs: forms, baselines, what changed, watching.

use std::collections::BTreeMap;
use std::fs;
use std::io::{BufRead as _, BufReader};
use std::path::Path;
use std::process::Command;

use serde_json::Value;

use crate::run::{self, Ran};

/// What every form must tell of a finding.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
struct Told {
    file: String,
    line: u64,
    column: u64,
    level: String,
    rule: String,
}

impl Told {
    fn new(file: &str, at: (u64, u64), level: &str, rule: &str) -> Self {
        let (line, column) = at;
        Self { file: file.to_owned(), line, column, level: level.to_owned(), rule: rule.to_owned() }
    }
}

fn checked(folder: &Path, args: &[&str]) -> Ran {
    let ran = run::barm(folder, &[&["check"], args].concat(), None);
    assert!(matches!(ran.code, Some(0 | 1)), "{args:?}: {ran:?}");
    assert_eq!(ran.err, "", "{args:?}");
    ran
}

fn json(text: &str) -> Value {
    serde_json::from_str(text).unwrap()
}

fn number(value: &Value) -> u64 {
    value.as_u64().unwrap()
}

fn of_json(finding: &Value) -> Told {
    let text = |key: &str| finding[key].as_str().unwrap();
    let at = (number(&finding["line"]), number(&finding["column"]));
    Told::new(text("file"), at, text("severity"), text("rule"))
}

/// `path:line:column: level[rule]: message`
fn of_short(line: &str) -> Option<Told> {
    let (file, rest) = line.split_once(".barm:")?;
    let mut parts = rest.splitn(3, ':');
    let at = (parts.next()?.parse().ok()?, parts.next()?.parse().ok()?);
    let (level, rest) = parts.next()?.trim_start().split_once('[')?;
    let (rule, _) = rest.split_once(']')?;
    Some(Told::new(&format!("{file}.barm"), at, level, rule))
}

/// The head of a finding, and the line below it that says where it stands.
fn of_text(text: &str) -> Vec<Told> {
    let mut head = None;
    let mut out = Vec::new();
    for line in text.lines() {
        let opens = line.split_once("]: ").and_then(|(head, _)| head.split_once('['));
        if let Some((level @ ("error" | "warning" | "note"), rule)) = opens {
            head = Some((level, rule));
        } else if let (Some(place), Some((level, rule))) = (line.trim_start().strip_prefix("┌─ "), head) {
            let mut parts = place.rsplitn(3, ':');
            let (column, line) = (parts.next().unwrap(), parts.next().unwrap());
            let at = (line.parse().unwrap(), column.parse().unwrap());
            out.push(Told::new(parts.next().unwrap(), at, level, rule));
            head = None;
        }
    }
    out
}

fn of_sarif(result: &Value) -> Told {
    let place = &result["locations"][0]["physicalLocation"];
    let region = &place["region"];
    Told::new(
        place["artifactLocation"]["uri"].as_str().unwrap(),
        (number(&region["startLine"]), number(&region["startColumn"])),
        result["level"].as_str().unwrap(),
        result["ruleId"].as_str().unwrap(),
    )
}

/// `::level title=rule,file=…,line=…,endLine=…,col=…,…::message`
fn of_command(line: &str) -> Option<Told> {
    let (level, rest) = line.strip_prefix("::")?.split_once(' ')?;
    let (head, _) = rest.split_once("::")?;
    let values: BTreeMap<&str, &str> = head.split(',').map(|pair| pair.split_once('=').unwrap()).collect();
    let number = |key: &str| values[key].parse().unwrap();
    let level = if level == "notice" { "note" } else { level };
    Some(Told::new(values["file"], (number("line"), number("col")), level, values["title"]))
}

fn results(sarif: &Value) -> &Vec<Value> {
    sarif["runs"][0]["results"].as_array().unwrap()
}

#[test]
fn every_form_tells_the_same_findings() {
    let project = run::project();
    // The demo season, and the faults of a log that cannot be read.
    let folder = run::workspace(&[("odd.barm", b"brew a\n  wort 20 L\n    temp 18\n nonsense, wrt 3 L\n")]);
    for entry in ignore::WalkBuilder::new(project.join("demo-logs")).build().map(Result::unwrap) {
        let below = entry.path().strip_prefix(&project).unwrap();
        if entry.file_type().is_some_and(|kind| kind.is_dir()) {
            fs::create_dir_all(folder.path().join(below)).unwrap();
        } else {
            fs::copy(entry.path(), folder.path().join(below)).unwrap();
        }
    }
    let told = |format: &str| checked(folder.path(), &["--format", format]).out;
    let sorted = |mut told: Vec<Told>| {
        told.sort();
        told
    };
    let expected: Vec<Told> =
        json(&told("json"))["findings"].as_array().unwrap().iter().map(of_json).collect();
    let expected = sorted(expected);
    assert!(expected.len() > 10, "{expected:?}");
    for level in ["error", "warning", "note"] {
        assert!(expected.iter().any(|told| told.level == level), "{level}");
    }

    let lines = told("ndjson");
    let (last, findings) = lines.lines().map(json).collect::<Vec<_>>().split_last().map_or_else(
        || panic!("no line"),
        |(last, findings)| (last.clone(), findings.iter().map(of_json).collect()),
    );
    assert_eq!(sorted(findings), expected);
    assert_eq!(last["summary"], json(&told("json"))["summary"]);
    assert_eq!(sorted(told("short").lines().map(|line| of_short(line).unwrap()).collect()), expected);
    assert_eq!(sorted(of_text(&told("text"))), expected);
    let sarif = json(&told("sarif"));
    assert_eq!(sorted(results(&sarif).iter().map(of_sarif).collect()), expected);
    assert_eq!(sarif["runs"][0]["properties"]["summary"], last["summary"]);
    assert_eq!(sorted(told("github").lines().filter_map(of_command).collect()), expected);
    let junit = told("junit");
    assert_eq!(sorted(bodies(&junit).filter_map(of_short).collect()), expected);

    // And count the same.
    let statistics = json(&checked(folder.path(), &["--statistics", "--format", "json"]).out);
    let count = |level: &str| -> u64 {
        statistics["rules"].as_array().unwrap().iter().map(|rule| number(&rule[level])).sum()
    };
    assert_eq!(count("errors") + count("warnings") + count("notes"), expected.len() as u64);
    for (said, last) in [("text", "text"), ("github", "text")] {
        assert_eq!(told(said).lines().last(), told(last).lines().last(), "{said}");
    }
    assert!(junit.contains(told("text").lines().last().unwrap()), "{junit}");
}

/// The first line of each text in a JUnit report.
fn bodies(junit: &str) -> impl Iterator<Item = &str> {
    junit.lines().filter_map(|line| {
        let line = line.trim_start();
        let open = line.strip_prefix("<system-out>").or_else(|| line.strip_prefix("<failure"))?;
        Some(open.rsplit_once("\">").map_or(open, |(_, body)| body))
    })
}

#[test]
fn what_fails_the_check_fails_in_junit() {
    let demo = run::project().join("demo-logs");
    let findings = json(&checked(&demo, &["--format", "json"]).out);
    let findings: Vec<Told> = findings["findings"].as_array().unwrap().iter().map(of_json).collect();
    let levels = ["note", "warning", "error"];
    for (at, limit) in levels.into_iter().enumerate() {
        let fails =
            |told: &&Told| told.rule != "caution" && levels[at..].iter().any(|level| *level == told.level);
        let expected = findings.iter().filter(fails).count();
        let ran = checked(&demo, &["--format", "junit", "--fail-on", limit]);
        assert_eq!(ran.code, Some(i32::from(expected > 0)), "{limit}");
        assert_eq!(ran.out.matches("<failure ").count(), expected, "{limit}: {}", ran.out);
        assert!(ran.out.contains("name=\"nothing to mend\""), "a sound log passes: {}", ran.out);
    }
}

fn fingerprints(folder: &Path) -> Vec<(String, String)> {
    let sarif = json(&checked(folder, &["--format", "sarif"]).out);
    let print = |result: &Value| {
        let print = result["partialFingerprints"]["barm/v1"].as_str().unwrap();
        (result["ruleId"].as_str().unwrap().to_owned(), print.to_owned())
    };
    results(&sarif).iter().map(print).collect()
}

#[test]
fn fingerprints_outlive_lines_added_above() {
    let project = run::project();
    let read = |name: &str| fs::read_to_string(project.join("demo-logs").join(name)).unwrap();
    let (ales, yeast) = (read("ales/summer.barm"), read("yeast.barm"));
    let folder = run::workspace(&[("ales.barm", ales.as_bytes()), ("yeast.barm", yeast.as_bytes())]);
    let before = fingerprints(folder.path());
    assert!(before.len() >= 4, "{before:?}");
    let mut prints: Vec<&String> = before.iter().map(|(_, print)| print).collect();
    prints.sort();
    prints.dedup();
    assert_eq!(prints.len(), before.len(), "each its own: {before:?}");

    // Ten lines at the top: remarks, and a strain that nobody uses.
    let top = "# a remark\n\n".repeat(4) + "strain attic-ale\n  kind  ale\n";
    assert_eq!(top.lines().count(), 10);
    fs::write(folder.path().join("ales.barm"), top.clone() + &ales).unwrap();
    assert_eq!(fingerprints(folder.path()), before);
    // Other ends of lines and other blanks are no other finding either.
    fs::write(folder.path().join("ales.barm"), (top + &ales).replace('\n', "\r\n")).unwrap();
    assert_eq!(fingerprints(folder.path()), before);
}

#[test]
fn a_baseline_keeps_silent_of_what_was_there_and_of_nothing_else() {
    let fault = "brew a\n  wort 20 L at 1.050\n  on 2026-10-02\n    temp 18\n";
    let folder = run::workspace(&[("old.barm", fault.as_bytes()), ("ales/older.barm", b"nonsense\n")]);
    let at = |name: &str| folder.path().join(name);
    let ran = checked(folder.path(), &["--write-baseline", "known.ndjson"]);
    assert_eq!((ran.code, ran.out.as_str()), (Some(0), "2 known from now on in known.ndjson\n"));
    let known = ["--baseline", "known.ndjson"];
    let silent = checked(folder.path(), &known);
    assert_eq!(silent.code, Some(0));
    assert_eq!(silent.out, "Nothing to mend in 2 logs; 2 known from the baseline.\n");
    // From elsewhere, too, and in every form.
    let ran = checked(&at("ales"), &["--baseline", "../known.ndjson", ".."]);
    assert_eq!(ran.out, silent.out);
    let summary = json(&checked(folder.path(), &["--format", "json", "--baseline", "known.ndjson"]).out);
    assert_eq!(summary["summary"]["known"], 2);

    // Lines above change nothing; the same fault elsewhere is new.
    fs::write(at("old.barm"), format!("# ten\n# lines\n\n{fault}")).unwrap();
    assert_eq!(checked(folder.path(), &known).out, silent.out);
    fs::write(at("old.barm"), format!("{fault}    temp 18\n")).unwrap();
    let ran = checked(folder.path(), &[&known[..], &["--format", "short"]].concat());
    assert_eq!(ran.code, Some(1));
    assert!(ran.out.starts_with("old.barm:5:10: error[missing-unit]: "), "{}", ran.out);
    fs::write(at("new.barm"), fault.replace("brew a", "brew b")).unwrap();
    assert!(checked(folder.path(), &known).out.contains("new.barm:4:10"));

    // Written anew it holds what there is now, byte for byte the same each time.
    for _ in 0..2 {
        checked(folder.path(), &["--write-baseline", "known.ndjson"]);
    }
    let text = fs::read_to_string(at("known.ndjson")).unwrap();
    let lines: Vec<&str> = text.lines().collect();
    let mut sorted = lines.clone();
    sorted.sort_unstable();
    assert_eq!(lines, sorted);
    assert_eq!(json(lines[0])["file"], "ales/older.barm");
}

#[test]
fn a_baseline_that_is_none_is_told_and_a_log_is_never_overwritten() {
    let folder =
        run::workspace(&[("a.barm", b"brew a\n"), ("bad.ndjson", b"\n{\"file\":1}\n"), ("raw", b"\xFF")]);
    let refused = |args: &[&str]| {
        let ran = run::barm(folder.path(), args, None);
        assert_eq!((ran.code, ran.out.as_str()), (Some(2), ""), "{args:?}");
        ran.err
    };
    assert!(refused(&["check", "--baseline", "gone"]).starts_with("barm: gone cannot be read: "));
    assert!(refused(&["check", "--baseline", "."]).contains("it is no regular file"));
    assert!(refused(&["check", "--baseline", "raw"]).contains("raw is no baseline: it is no UTF-8"));
    let err = refused(&["check", "--baseline", "bad.ndjson"]);
    assert!(err.starts_with("barm: bad.ndjson:2: this is no line of a baseline: invalid type"), "{err}");
    assert!(refused(&["check", "--write-baseline", "a.barm"]).contains("a.barm:1: this is no line"));
    assert_eq!(fs::read_to_string(folder.path().join("a.barm")).unwrap(), "brew a\n");
    refused(&["check", "--write-baseline", "b", "--baseline", "b"]);
    refused(&["check", "--statistics", "--format", "sarif"]);
}

/// A repository of a folder, told nothing by this machine's settings of git.
fn git(folder: &Path, args: &[&str]) {
    let ran = Command::new("git")
        .args(["-c", "user.name=ebba", "-c", "user.email=ebba@example.invalid", "-c", "commit.gpgsign=false"])
        .args(args)
        .current_dir(folder)
        .env("GIT_CONFIG_GLOBAL", "/dev/null")
        .env("GIT_CONFIG_NOSYSTEM", "1")
        .output()
        .unwrap();
    assert!(ran.status.success(), "git {args:?}: {}", String::from_utf8_lossy(&ran.stderr));
}

fn commit(folder: &Path, what: &str) {
    git(folder, &["add", "--all"]);
    git(folder, &["commit", "--quiet", "--no-verify", "--message", what]);
}

const OLD: &str =
    "brew a\n  wort 20 L at 1.050\n  on 2026-10-02\n    temp 18\n    temp 19 C\n    pitch gone-1\n";

#[test]
fn since_tells_of_changed_lines_and_new_logs_only() {
    let folder = run::workspace(&[("season/a.barm", OLD.as_bytes()), ("season/it's ä.barm", b"nonsense\n")]);
    git(folder.path(), &["init", "--quiet"]);
    commit(folder.path(), "the season so far");
    let season = folder.path().join("season");
    let since = |rev: &str, at: &Path| {
        let ran = checked(at, &["--since", rev, "--format", "short", "--select", RULES]);
        ran.out.lines().map(|line| line.split(": ").next().unwrap().to_owned()).collect::<Vec<_>>()
    };
    const RULES: &str = "missing-unit,unreadable-line,unknown-name,unknown-word";
    assert!(since("HEAD", folder.path()).is_empty());

    // A line that changed, a log that is new, and a name that no shell would like.
    fs::write(season.join("a.barm"), OLD.replace("temp 19 C", "temp 19")).unwrap();
    fs::write(season.join("b.barm"), "brew b\n  on 2026-10-03  temp 21\n").unwrap();
    assert_eq!(since("HEAD", folder.path()), ["season/a.barm:5:10", "season/b.barm:2:23"]);
    commit(folder.path(), "more");
    assert_eq!(since("HEAD~1", &season), ["a.barm:5:10", "b.barm:2:23"]);
    assert!(since("HEAD", &season).is_empty());
    let ran = checked(folder.path(), &["--since", "HEAD"]);
    assert_eq!(ran.code, Some(0), "what is not told does not fail the check");
    let last = ran.out.lines().last().unwrap();
    assert!(last.contains(" on unchanged lines not shown"), "{last}");
    // Run by a hook, git says where it works; the logs' own repository is asked all the same.
    let mut hooked = run::command(&season, &["check", "--since", "HEAD", "--format", "short"]);
    let ran = hooked.env("GIT_DIR", ".git").env("GIT_INDEX_FILE", "gone").output().unwrap();
    assert_eq!((ran.status.code(), ran.stdout.len(), ran.stderr.len()), (Some(0), 0, 0), "{ran:?}");
    // Where a line was taken out, its neighbours count as changed.
    fs::write(season.join("a.barm"), OLD.replace("    temp 19 C\n", "")).unwrap();
    assert_eq!(since("HEAD", &season), ["a.barm:4:10", "a.barm:5:11"]);
}

#[test]
fn since_runs_nothing_that_a_repository_names() {
    let folder = run::workspace(&[("a.barm", OLD.as_bytes())]);
    git(folder.path(), &["init", "--quiet"]);
    commit(folder.path(), "the season so far");
    // Everything by which a repository's settings have git run a program; each would leave a mark.
    let mark = folder.path().join("mark");
    let evil = folder.path().join("evil.sh");
    fs::write(&evil, format!("#!/bin/sh\ntouch '{}'\ncat\n", mark.display())).unwrap();
    git(folder.path(), &["config", "core.hooksPath", "."]);
    let evil = format!("sh '{}'", evil.display());
    for key in [
        "core.fsmonitor",
        "core.pager",
        "core.sshCommand",
        "diff.external",
        "diff.bad.command",
        "diff.bad.textconv",
        "filter.bad.clean",
        "filter.bad.smudge",
        "filter.bad.process",
        "gpg.program",
        "remote.origin.uploadpack",
        "alias.rev-parse",
        "alias.cat-file",
    ] {
        let value = if key.starts_with("alias") { format!("!{evil}") } else { evil.clone() };
        git(folder.path(), &["config", key, &value]);
    }
    git(folder.path(), &["config", "log.showSignature", "true"]);
    git(folder.path(), &["config", "remote.origin.promisor", "true"]);
    git(folder.path(), &["config", "remote.origin.url", "."]);
    fs::write(folder.path().join(".git/info/attributes"), "*.barm filter=bad diff=bad\n").unwrap();
    fs::write(folder.path().join("a.barm"), OLD.replace("temp 19 C", "temp 19")).unwrap();
    let ran = checked(folder.path(), &["--since", "HEAD", "--format", "short", "--select", "missing-unit"]);
    assert!(ran.out.starts_with("a.barm:5:10: "), "{}", ran.out);
    assert_eq!(ran.out.lines().count(), 1, "{}", ran.out);
    assert!(!mark.exists(), "a program of the repository was run");
    // The trap is one: git itself, asked plainly, runs into it.
    let plain = Command::new("git").args(["diff", "HEAD"]).current_dir(folder.path()).output();
    assert!(mark.exists(), "{plain:?}");
}

#[test]
fn since_without_git_says_what_it_needs() {
    let folder = run::workspace(&[("a.barm", OLD.as_bytes())]);
    let refused = |args: &[&str]| {
        let ran = run::barm(folder.path(), &[&["check"], args].concat(), None);
        assert_eq!((ran.code, ran.out.as_str()), (Some(2), ""), "{args:?}");
        ran.err
    };
    let err = refused(&["--since", "HEAD"]);
    assert!(err.starts_with("barm: `--since` needs logs that lie in a git repository; git says: "), "{err}");
    git(folder.path(), &["init", "--quiet"]);
    commit(folder.path(), "the season so far");
    assert_eq!(refused(&["--since", "gone"]), "barm: git knows no revision `gone`\n");
    assert_eq!(refused(&["--since", "HEAD:a.barm"]), "barm: git knows no revision `HEAD:a.barm`\n");
    for rev in ["--since=-h", "--since=--output=x", "--since="] {
        assert!(refused(&[rev]).ends_with("that is no name of a revision\n"), "{rev}");
    }
    assert!(!folder.path().join("x").exists());
    // A path with nothing on it.
    let ran = run::command(folder.path(), &["check", "--since", "HEAD"]).env("PATH", "").output().unwrap();
    assert_eq!(ran.status.code(), Some(2));
    let err = String::from_utf8(ran.stderr).unwrap();
    assert_eq!(err, "barm: `--since` needs git, and there is none on the PATH\n");
}

#[cfg(unix)]
#[test]
fn watching_tells_of_each_save_and_ends_on_ctrl_c() {
    let folder = run::workspace(&[("a.barm", b"brew a\n  wort 20 L at 1.050\n")]);
    let args = ["check", "--watch", "--ignore", "missing-fact,no-pitch,unwatched"];
    let mut child = run::interruptible(folder.path(), &args).spawn().unwrap();
    let mut lines = BufReader::new(child.stdout.take().unwrap()).lines().map(Result::unwrap);
    // A save may be seen in two steps: reads on until the last line of a round is the one that is waited for. A test
    // that waits in vain is ended by whoever runs the tests.
    let mut until = |last: &str| {
        let seen: Vec<String> = lines.by_ref().take_while(|line| line != last).collect();
        assert!(seen.iter().all(|line| !line.contains('\u{1b}')), "no terminal, nothing to clear: {seen:?}");
        seen
    };
    until("Nothing to mend in 1 log.");
    fs::write(folder.path().join("a.barm"), "brew a\n  nonsense\n").unwrap();
    assert!(until("1 error in 1 log.").iter().any(|line| line.contains("a.barm:2:3")));
    // A new log, in a new folder.
    fs::create_dir(folder.path().join("ales")).unwrap();
    fs::write(folder.path().join("ales/b.barm"), "brew b\n  wort 20 L at 1.050\n").unwrap();
    until("1 error in 2 logs.");
    // A settings file half written is told, and mended with the next save.
    fs::write(folder.path().join("barm.toml"), "[levels\n").unwrap();
    let mut said = BufReader::new(child.stderr.take().unwrap()).lines().map(Result::unwrap);
    assert!(said.by_ref().any(|line| line.contains("barm.toml")));
    fs::write(folder.path().join("barm.toml"), "").unwrap();
    until("1 error in 2 logs.");
    fs::remove_file(folder.path().join("a.barm")).unwrap();
    until("Nothing to mend in 1 log.");
    let killed = Command::new("kill").args(["-INT", &child.id().to_string()]).status().unwrap();
    assert!(killed.success());
    let status = child.wait().unwrap();
    assert_eq!(std::os::unix::process::ExitStatusExt::signal(&status), Some(2), "{status:?}");
}

#[test]
fn watching_refuses_what_cannot_change() {
    let folder = run::workspace(&[]);
    let ran = run::barm(folder.path(), &["check", "--watch", "-"], Some(b"brew a\n"));
    assert_eq!((ran.code, ran.err.as_str()), (Some(2), "barm: standard input cannot be watched\n"));
}
