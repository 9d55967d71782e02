//! `barm rules`

use std::io::Write as _;
use std::process::ExitCode;

use crate::args::{Colour, Plain, Rules};
use crate::failure::Failure;
use crate::output;

/// Lists the rules.
pub(crate) fn run(args: &Rules) -> Result<ExitCode, Failure> {
    let rules = barm_rules::rules();
    output::print(Colour::Never, ExitCode::SUCCESS, |out| match args.format {
        Plain::Json => barm_report::rules_json(out, rules),
        Plain::Text => rules.iter().try_for_each(|rule| {
            writeln!(out, "{:24} {:8} {}", rule.name(), rule.level().word(), first_sentence(rule.page()))
        }),
    })
}

/// The first sentence below a page's heading.
fn first_sentence(page: &str) -> String {
    let paragraph: Vec<&str> = page
        .lines()
        .skip_while(|line| line.starts_with('#') || line.trim().is_empty())
        .take_while(|line| !line.trim().is_empty())
        .collect();
    let paragraph = paragraph.join(" ");
    match paragraph.split_once(". ") {
        Some((sentence, _)) => format!("{sentence}."),
        None => paragraph,
    }
}
