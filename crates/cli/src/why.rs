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
    let says_nothing = |out: &mut dyn std::io::Write, why: &str| {
        writeln!(out, "{} says nothing of {lot}: {}", rule.name(), barm_report::visible(why))
    };
    output::print(args.color, ExitCode::SUCCESS, |out| {
        for (workspace, report) in workspaces.iter().zip(&reports) {
            let season = &workspace.season;
            let Some(id) = season.names.lot(lot) else { continue };
            let about = |finding: &barm_rules::Finding| {
                finding.rule == rule.name() && barm_rules::is_about(season, finding, id)
            };
            let mut answered = report.findings.iter().any(about);
            barm_report::findings(out, &workspace.with(report), &about)?;
            for (_, _, reason) in
                report.silent.iter().filter(|(name, of, _)| *name == rule.name() && same(of))
            {
                answered = true;
                says_nothing(out, reason)?;
            }
            if report.switched_off.contains(&rule.name()) {
                answered = true;
                writeln!(out, "{} is switched off in barm.toml.", rule.name())?;
            }
            if let Some(why) = barm_rules::nothing(season, rule, id).filter(|_| !answered) {
                says_nothing(out, &why)?;
            }
        }
        Ok(())
    })
}
