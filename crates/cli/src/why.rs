//! `barm why`

use std::io::Write as _;
use std::process::ExitCode;

use barm_reckoning::folded;
use barm_rules::{Options, Report};

use crate::args::Why;
use crate::failure::Failure;
use crate::timings::Timings;
use crate::{figures, names, output, workspace};

/// Prints a rule's page, or why it spoke or kept silent of a lot.
pub(crate) fn run(args: &Why) -> Result<ExitCode, Failure> {
    let rule = names::rule(&args.rule)?;
    let Some(lot) = &args.lot else {
        return output::print(args.color, ExitCode::SUCCESS, |out| {
            writeln!(out, "{}", rule.page().trim_end())
        });
    };
    let workspaces = workspace::load(&args.input, &mut Timings::new())?;
    figures::known_lot(&workspaces, lot)?;
    let options = Options {
        select: vec![rule.name().to_owned()],
        no_accept: true,
        explain: true,
        figures: true,
        ..Options::default()
    };
    let reports: Vec<Report> = workspaces.iter().map(|one| one.check(&options)).collect();
    let same = |name: &str| folded(name) == folded(lot);
    output::print(args.color, ExitCode::SUCCESS, |out| {
        let mut answered = false;
        for (workspace, report) in workspaces.iter().zip(&reports) {
            let about = |finding: &barm_rules::Finding| {
                finding.rule == rule.name() && finding.lot.as_deref().is_some_and(same)
            };
            answered |= report.findings.iter().any(about);
            barm_report::findings(out, &workspace.with(report), &about)?;
            for (_, _, reason) in
                report.silent.iter().filter(|(name, of, _)| *name == rule.name() && same(of))
            {
                answered = true;
                writeln!(out, "{} says nothing of {lot}: {}", rule.name(), barm_report::visible(reason))?;
            }
            if report.switched_off.contains(&rule.name()) {
                answered = true;
                writeln!(out, "{} is switched off in barm.toml.", rule.name())?;
            }
        }
        if !answered {
            writeln!(
                out,
                "{} has nothing to judge in {lot}; `barm why {}` says what it looks at.",
                rule.name(),
                rule.name()
            )?;
        }
        Ok(())
    })
}
