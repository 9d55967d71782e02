//! Runs the examples on the rules' pages.
//!
//! A page shows logs in ```` ```barm ```` blocks. A line whose first character is `^` marks what barm says of the line
//! above it: `^^^^ warning[underpitched] about 40 %`. The carets stand under the primary span, and the words are part of
//! the message. Every finding of an example must be marked and every mark found, whatever the page's own rule is, so that
//! no example nags by the way. `// file: NAME.barm` begins another file; a ```` ```toml ```` block holds the settings of
//! the example below it. `BARM_UPDATE=1 cargo test` writes the marks anew; read what changed.

mod example;
mod layout;
mod mend;

use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::sync::Arc;

use barm_rules::{Rule, rules};
use libtest_mimic::{Arguments, Failed, Trial};

fn main() -> ExitCode {
    let mut trials = vec![
        Trial::test("rules stand in the order of their names", in_order),
        Trial::test("settings know which rules have a limit", limits),
    ];
    for &rule in rules() {
        let name = rule.name();
        if std::env::var_os("BARM_UPDATE").is_some() {
            trials.push(Trial::test(format!("{name}: marked anew"), move || update(rule)));
            continue;
        }
        trials.push(Trial::test(format!("{name}: layout"), move || layout::check(rule.name(), rule.page())));
        for (number, example) in (1..).zip(layout::examples(rule.name(), rule.page())) {
            let title = format!("{name}: example {number}");
            let [one, two, three] = [(); 3].map({
                let example = Arc::new(example);
                move |()| Arc::clone(&example)
            });
            trials.push(Trial::test(title.clone(), move || one.check()));
            trials.push(Trial::test(format!("{title}, its fixes"), move || mend::fixes(&two)));
            trials.push(Trial::test(format!("{title}, accepted"), move || mend::accepted(&three, rule)));
        }
    }
    libtest_mimic::run(&Arguments::from_args(), trials).exit_code()
}

/// A rule's file in the source, by its ending.
fn file(rule: &dyn Rule, ending: &str) -> PathBuf {
    let stem = rule.name().replace('-', "_");
    Path::new(env!("CARGO_MANIFEST_DIR")).join("src").join(stem).with_extension(ending)
}

fn in_order() -> Result<(), Failed> {
    let names: Vec<&str> = rules().iter().map(|rule| rule.name()).collect();
    if !names.is_sorted_by(|a, b| a < b) {
        return Err(format!("not sorted, or a name twice: {names:?}").into());
    }
    match rules().iter().find(|rule| !file(**rule, "rs").is_file()) {
        Some(rule) => Err(format!("{} is not in a file of its name", rule.name()).into()),
        None => Ok(()),
    }
}

/// A limit may be set for the rules that ask for one, and for no other.
#[expect(clippy::disallowed_methods, reason = "it looks into the source; the crate itself reads no file")]
fn limits() -> Result<(), Failed> {
    for &rule in rules() {
        let source = std::fs::read_to_string(file(rule, "rs"))?;
        // What two rules share asks for the limit of each.
        let asking =
            ["settings.limit(", "settings.limits.get(", "degree_hours::", "own_heat::", "shows_work_within("];
        let asks = asking.iter().any(|call| source.contains(call));
        let may = barm_rules::settings(&format!("[limits]\n{} = 1\n", rule.name())).is_ok();
        if asks != may {
            return Err(format!("{}: asks for a limit: {asks}, may be given one: {may}", rule.name()).into());
        }
    }
    Ok(())
}

/// Writes the marks of a page as barm finds them.
#[expect(
    clippy::disallowed_methods,
    reason = "it writes a page of the source; the crate itself reads no file"
)]
fn update(rule: &'static dyn Rule) -> Result<(), Failed> {
    let mut lines: Vec<String> = rule.page().lines().map(str::to_owned).collect();
    // From below, so that the lines above stay where they are.
    for example in layout::examples(rule.name(), rule.page()).iter().rev() {
        let block = example.line..example.line + example.length();
        lines.splice(block, example.marked()?);
    }
    let page = lines.join("\n") + "\n";
    if page != rule.page() {
        std::fs::write(file(rule, "md"), &page)?;
    }
    layout::check(rule.name(), &page)
}
