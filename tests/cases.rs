//! Conversations with the program, each a file of `tests/data/cli` that reads like a terminal, and of
//! `tests/data/brewers`, where ten of them keep their logs as each is used to.
//!
//! A case tells first what it shows. `>>> NAME` begins a file of the workspace; `$ barm …` runs the program, and what
//! stands below it is what it printed: standard output, then standard error (each line behind `! `), then the exit status
//! where it is not 0. `< NAME` at the end of a command gives a file to standard input, `cd FOLDER && ` before it
//! changes the folder. `BARM_UPDATE=1 cargo test` writes the answers anew; read what changed.

use std::fmt::Write as _;
use std::fs;
use std::path::PathBuf;

use crate::run;

struct Step {
    command: String,
    line_start: usize,
}

#[test]
fn conversations() {
    for case in ["cli", "brewers"].into_iter().flat_map(cases) {
        let text = fs::read_to_string(&case).unwrap();
        run::compare(&case, &text, &played(&text));
    }
}

fn cases(folder: &str) -> Vec<PathBuf> {
    let folder = run::project().join("tests/data").join(folder);
    let mut cases: Vec<_> = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    cases.sort();
    assert!(!cases.is_empty());
    cases
}

/// The words of a command; blanks within `"…"` part none.
fn words(command: &str) -> Vec<&str> {
    let mut quoted = false;
    let parted = command.split(|c: char| {
        quoted ^= c == '"';
        c.is_whitespace() && !quoted
    });
    parted.map(|word| word.trim_matches('"')).filter(|word| !word.is_empty()).collect()
}

/// The case with the answers that the program gives.
fn played(case: &str) -> String {
    // The head: all up to the first command, kept as it is.
    let commands: Vec<Step> = case
        .match_indices("$ ")
        .filter(|&(at, _)| at == 0 || case[..at].ends_with('\n'))
        .map(|(at, _)| Step { command: case[at + 2..].lines().next().unwrap().to_owned(), line_start: at })
        .collect();
    let head = &case[..commands.first().expect("a case runs something").line_start];
    let folder = run::workspace(&[]);
    for file in head.split("\n>>> ").skip(1) {
        let (name, text) = file.split_once('\n').unwrap();
        let path = folder.path().join(name);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        // An empty line before the next file is for the eye.
        fs::write(path, format!("{}\n", text.trim_end())).unwrap();
    }
    let mut out = head.to_owned();
    for step in &commands {
        let mut words = words(&step.command);
        let mut at = folder.path().to_owned();
        if let [cd, below, and, ..] = words[..]
            && cd == "cd"
            && and == "&&"
        {
            at.push(below);
            words.drain(..3);
        }
        let mut stdin = None;
        if let [.., less, name] = words[..]
            && less == "<"
        {
            stdin = Some(fs::read(folder.path().join(name)).unwrap());
            words.truncate(words.len() - 2);
        }
        assert_eq!(words.first(), Some(&"barm"), "{}", step.command);
        let ran = run::barm(&at, &words[1..], stdin.as_deref());
        writeln!(out, "$ {}", step.command).unwrap();
        out.push_str(&ran.out);
        for line in ran.err.lines() {
            writeln!(out, "{}", format!("! {line}").trim_end()).unwrap();
        }
        match ran.code {
            Some(0) => {}
            Some(code) => writeln!(out, "[exit {code}]").unwrap(),
            None => out.push_str("[killed]\n"),
        }
        out.push('\n');
    }
    out.truncate(out.trim_end().len());
    out.push('\n');
    out
}
