//! What README.md shows is what the program does.
//!
//! `<!-- log: NAME -->` stands before a fenced log, `<!-- run: barm … -->` before the fenced answer to a command run beside
//! the logs shown so far. `BARM_UPDATE=1 cargo test` writes the answers anew.

use std::fmt::Write as _;
use std::fs;

use crate::run;

#[test]
fn examples_are_real() {
    let path = run::project().join("README.md");
    let text = fs::read_to_string(&path).unwrap();
    let folder = run::workspace(&[]);
    let mut out = String::new();
    let (mut logs, mut runs) = (0, 0);
    let mut lines = text.lines();
    while let Some(line) = lines.next() {
        writeln!(out, "{line}").unwrap();
        let marker = line.strip_prefix("<!-- ").and_then(|line| line.strip_suffix(" -->"));
        let Some((what, value)) = marker.and_then(|marker| marker.split_once(": ")) else { continue };
        let fence = lines.next().expect("a fenced block follows the marker");
        assert!(fence.starts_with("```"), "{fence}");
        let block: Vec<&str> = lines.by_ref().take_while(|&line| line != "```").collect();
        let block: String = block.iter().flat_map(|line| [line, "\n"]).collect();
        let block = match what {
            "log" => {
                logs += 1;
                fs::write(folder.path().join(value), &block).unwrap();
                block
            }
            "run" => {
                runs += 1;
                let words: Vec<&str> = value.split_whitespace().collect();
                assert_eq!(words.first(), Some(&"barm"), "{value}");
                let ran = run::barm(folder.path(), &words[1..], None);
                assert_eq!(ran.err, "", "{value}");
                ran.out
            }
            _ => panic!("what is `{what}`?"),
        };
        writeln!(out, "{fence}\n{}\n```", block.trim_end()).unwrap();
    }
    assert!(logs > 0 && runs > 0, "the README shows a log and an answer");
    run::compare(&path, &text, &out);
}

#[test]
fn every_command_is_told() {
    let readme = fs::read_to_string(run::project().join("README.md")).unwrap();
    let help = run::barm(&run::project(), &["--help"], None).out;
    let commands = help.split("Commands:\n").nth(1).unwrap().lines().take_while(|line| !line.is_empty());
    // A description that is folded goes on deeper.
    let commands = commands.filter_map(|line| line.strip_prefix("  ").filter(|line| !line.starts_with(' ')));
    for command in commands.filter_map(|line| line.split_whitespace().next()) {
        assert!(readme.contains(&format!("barm {command}")), "README.md does not tell of `barm {command}`");
    }
}
