//! `barm bank`

use std::process::ExitCode;

use barm_reckoning::Bank;
use barm_report::{BankQuestion, SeasonBank};
use barm_syntax::ast::{Block, Kind, Wort};

use crate::args::{self, Colour, Plain};
use crate::failure::Failure;
use crate::timings::Timings;
use crate::{output, workspace};

/// Lists the yeast that there is on a day.
pub(crate) fn run(args: &args::Bank) -> Result<ExitCode, Failure> {
    let wort = args.r#for.as_deref().map(wort).transpose()?;
    let on = args.on.as_deref().map(day).transpose()?;
    let workspaces = workspace::load(&args.input, &mut Timings::new())?;
    let banks: Vec<Option<Bank>> = workspaces
        .iter()
        .map(|workspace| {
            let mut bank = workspace.season.bank(on, wort.as_ref())?;
            bank.lots.retain(|lot| workspace.asks(lot.place));
            Some(bank)
        })
        .collect();
    let question = BankQuestion { day_given: on.is_some(), wort: args.r#for.as_deref() };
    output::print(Colour::Never, ExitCode::SUCCESS, |out| {
        let banks: Vec<SeasonBank<'_>> = workspaces
            .iter()
            .zip(&banks)
            .filter_map(|(one, bank)| {
                Some(SeasonBank { season: &one.season, base: &one.base, bank: bank.as_ref()? })
            })
            .collect();
        match args.format {
            Plain::Text => barm_report::bank_text(out, &question, &banks),
            Plain::Json => barm_report::bank_json(out, &question, &banks),
        }
    })
}

/// Reads a wort as a log would say it.
fn wort(text: &str) -> Result<Wort, Failure> {
    let known = |block: &Block| {
        block.statements.iter().find_map(|statement| match &statement.kind {
            Kind::Wort(wort) if wort.volume.known().is_some() && wort.gravity.known().is_some() => {
                Some(Wort::clone(wort))
            }
            _ => None,
        })
    };
    in_a_brew("--for", text, &format!("wort {text}"), "21 L at 1.060", known)
}

/// Reads a day as a log would say it.
pub(crate) fn day(text: &str) -> Result<jiff::civil::Date, Failure> {
    let known = |block: &Block| block.days.first()?.date.filter(|_| block.statements.is_empty());
    in_a_brew("--on", text, &format!("on {text}"), "2026-09-12", known)
}

/// Reads a line of a brew and takes what is wanted from it, or says what is wrong with it.
fn in_a_brew<T>(
    option: &str,
    text: &str,
    line: &str,
    example: &str,
    known: impl FnOnce(&Block) -> Option<T>,
) -> Result<T, Failure> {
    let log = barm_syntax::read(&format!("brew asked\n  {line}\n"));
    let wrong = match log.problems.first() {
        Some(problem) => problem.message.clone(),
        None => match log.blocks.as_slice() {
            [only] => match known(&only.block) {
                Some(known) => return Ok(known),
                None => "it says something else".to_owned(),
            },
            _ => "it must be one line".to_owned(),
        },
    };
    Err(Failure::said(format!("{option} `{text}` cannot be read: {wrong}; write {option} \"{example}\"")))
}
