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
            writeln!(out, "{:24} {:8} {}", rule.name(), rule.level().word(), barm_report::summary(*rule))
        }),
    })
}
