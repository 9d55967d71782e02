//! How a page is laid out, and the examples on it.

use libtest_mimic::Failed;

use crate::example::Example;

const SECTIONS: [&str; 5] =
    ["## Why", "## What to do", "## Where the limit comes from", "## Where it stands", "## Examples"];
const SPEAKS: &str = "### Speaks";
const SILENT: &str = "### Silent";

/// Headings in order, one plain sentence first, and examples of both kinds that keep to what they promise.
pub(crate) fn check(name: &'static str, page: &str) -> Result<(), Failed> {
    let mut lines = page.lines();
    if lines.next() != Some(&format!("# {name}")) {
        return Err("the first line is not its name".into());
    }
    let sentence = lines.find(|line| !line.is_empty()).unwrap_or("");
    if sentence.starts_with('#') || page.contains("TODO") {
        return Err("there is no sentence below its name".into());
    }
    let headings: Vec<&str> = outside_of_blocks(page).filter(|line| line.starts_with("## ")).collect();
    if headings != SECTIONS {
        return Err(format!("its sections are {headings:?}, not {SECTIONS:?}").into());
    }
    let examples = examples(name, page);
    for kind in [SPEAKS, SILENT] {
        if !examples.iter().any(|example| example.heading == kind) {
            return Err(format!("there is no example under {kind}").into());
        }
    }
    for example in &examples {
        let speaks = example.marks.iter().any(|mark| mark.rule == name);
        match example.heading.as_str() {
            SPEAKS if speaks => {}
            SILENT if !speaks => {}
            heading => {
                return Err(format!(
                    "the example at line {} is out of place under {heading:?}",
                    example.line
                )
                .into());
            }
        }
        if example.words_before.is_empty() {
            return Err(format!("no sentence introduces the example at line {}", example.line).into());
        }
    }
    Ok(())
}

fn outside_of_blocks(page: &str) -> impl Iterator<Item = &str> {
    let mut inside = false;
    page.lines().filter(move |line| {
        let fence = line.starts_with("```");
        inside ^= fence;
        !inside && !fence
    })
}

/// The examples of a page, in order.
pub(crate) fn examples(name: &'static str, page: &str) -> Vec<Example> {
    let mut out = Vec::new();
    let mut heading = String::new();
    let mut settings = String::new();
    let mut words = String::new();
    let mut block: Option<(&str, usize, Vec<&str>)> = None;
    for (number, line) in (1..).zip(page.lines()) {
        match (&mut block, line.strip_prefix("```")) {
            (None, Some(language)) => block = Some((language, number, Vec::new())),
            (None, None) => {
                if line.starts_with('#') {
                    heading = line.to_owned();
                    words.clear();
                } else {
                    words.push_str(line);
                }
            }
            (Some((language, begins, lines)), Some(_)) => {
                match *language {
                    "toml" => settings = lines.join("\n"),
                    "barm" => {
                        out.push(Example::new(
                            name,
                            *begins,
                            heading.clone(),
                            std::mem::take(&mut words),
                            std::mem::take(&mut settings),
                            lines,
                        ));
                    }
                    _ => {}
                }
                block = None;
            }
            (Some((_, _, lines)), None) => lines.push(line),
        }
    }
    out
}
