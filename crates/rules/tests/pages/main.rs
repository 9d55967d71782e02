//! Runs the examples on the rules' pages.
//!
//! A page shows logs in ```` ```barm ```` blocks. A line whose first character is `^` marks what barm says of the line
//! above it: `^^^^ warning[underpitched] about 40 %`. The carets stand under the primary span, and the words are part of
//! the message. Every finding of an example must be marked and every mark found, whatever the page's own rule is, so that
//! no example nags by the way. `// file: NAME.barm` begins another file; a ```` ```toml ```` block holds the settings of
//! the example below it.

mod example;
mod layout;
mod mend;

use std::collections::BTreeSet;
use std::path::Path;
use std::process::ExitCode;

use barm_rules::{Rule, rules};
use libtest_mimic::{Arguments, Failed, Trial};

fn main() -> ExitCode {
    let mut trials = vec![
        Trial::test("rules stand in the order of their names", in_order),
        Trial::test("every rule has its file and its page", files_and_names),
    ];
    for &rule in rules() {
        let name = rule.name();
        trials.push(Trial::test(format!("{name}: layout"), move || layout::check(rule)));
        for (number, example) in (1..).zip(layout::examples(rule)) {
            let title = format!("{name}: example {number}");
            let shared = std::sync::Arc::new(example);
            let one = std::sync::Arc::clone(&shared);
            trials.push(Trial::test(title.clone(), move || one.check()));
            let one = std::sync::Arc::clone(&shared);
            trials.push(Trial::test(format!("{title}, its fixes"), move || mend::fixes(&one)));
            trials.push(Trial::test(format!("{title}, accepted"), move || mend::accepted(&shared, rule)));
        }
    }
    libtest_mimic::run(&Arguments::from_args(), trials).exit_code()
}

fn in_order() -> Result<(), Failed> {
    let names: Vec<&str> = rules().iter().map(|rule| rule.name()).collect();
    let mut sorted = names.clone();
    sorted.sort_unstable();
    sorted.dedup();
    if names == sorted { Ok(()) } else { Err(format!("not sorted, or a name twice: {names:?}").into()) }
}

#[expect(
    clippy::disallowed_methods,
    reason = "it looks at the sources of this crate, which itself reads no file"
)]
fn files_and_names() -> Result<(), Failed> {
    let source = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut pages = BTreeSet::new();
    for entry in std::fs::read_dir(&source)? {
        let path = entry?.path();
        if path.extension().is_some_and(|ending| ending == "md") {
            pages.insert(path.file_stem().unwrap_or_default().to_string_lossy().replace('_', "-"));
        }
    }
    let names: BTreeSet<String> = rules().iter().map(|rule| rule.name().to_owned()).collect();
    if names != pages {
        let odd: Vec<&String> = names.symmetric_difference(&pages).collect();
        return Err(format!("a rule without its page, or a page without its rule: {odd:?}").into());
    }
    for &rule in rules() {
        let stem = rule.name().replace('-', "_");
        if !source.join(format!("{stem}.rs")).is_file() {
            return Err(format!("{} is not in {stem}.rs", rule.name()).into());
        }
        if std::fs::read_to_string(source.join(format!("{stem}.md")))? != Rule::page(rule) {
            return Err(format!("{} shows another page than {stem}.md", rule.name()).into());
        }
    }
    Ok(())
}
