//! `barm figures`

use std::process::ExitCode;

use barm_reckoning::LotFigures;

use crate::args::{Colour, Figures, Plain};
use crate::failure::Failure;
use crate::timings::Timings;
use crate::workspace::Workspace;
use crate::{names, output, workspace};

/// Shows the figures of lots.
pub(crate) fn run(args: &Figures) -> Result<ExitCode, Failure> {
    let workspaces = workspace::load(&args.input, &mut Timings::new())?;
    for name in &args.lot {
        known_lot(&workspaces, name)?;
    }
    let lots: Vec<Vec<LotFigures>> = workspaces
        .iter()
        .map(|workspace| {
            let mut lots = workspace.season.figures(&args.lot);
            lots.retain(|lot| workspace.asks(lot.place));
            lots
        })
        .collect();
    output::print(Colour::Never, ExitCode::SUCCESS, |out| {
        let seasons: Vec<_> = workspaces
            .iter()
            .zip(&lots)
            .map(|(one, lots)| barm_report::SeasonFigures { season: &one.season, base: &one.base, lots })
            .collect();
        match args.format {
            Plain::Text => barm_report::figures_text(out, &seasons),
            Plain::Json => barm_report::figures_json(out, &seasons),
        }
    })
}

/// Fails unless some workspace has a lot of that name.
pub(crate) fn known_lot(workspaces: &[Workspace], name: &str) -> Result<(), Failure> {
    if workspaces.iter().any(|one| !one.season.figures(&[name.to_owned()]).is_empty()) {
        return Ok(());
    }
    let all: Vec<LotFigures> = workspaces.iter().flat_map(|one| one.season.figures(&[])).collect();
    let names = all.iter().map(|lot| lot.lot.as_str());
    Err(names::unknown("lot", name, names, "`barm figures` lists them all"))
}
