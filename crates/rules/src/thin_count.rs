use barm_quantity::{plain, significant};
use barm_reckoning::{Counting, Figure, Pitching, Season};
use barm_zymology::count::{Count, cells_for};
use barm_zymology::supply;

use crate::registry::rule;
use crate::{Finding, Level, Report};

const NAME: &str = "thin-count";
/// What a count is wanted to be good to, either way.
const WANTED: f64 = 0.2;

rule! {
    /// A count under the microscope that is worth less than it looks.
    ThinCount, "thin-count", Note, "thin_count.md", check,
    Anything "it was never counted under the microscope"
}

fn check(season: &Season, report: &mut Report) {
    #[expect(clippy::cast_precision_loss, reason = "97")]
    let wanted = season.settings.limit(NAME, cells_for(WANTED) as f64);
    for counting in &season.counts {
        let Some(seen) = &counting.seen else {
            report.silent(NAME, &counting.name, "a density is written, and not what was seen");
            continue;
        };
        let mut doubts = doubts(counting, seen, wanted).into_iter();
        let Some(first) = doubts.next() else {
            report.silent(NAME, &counting.name, || format!("{} cells were seen, and {wanted:.0} are enough", seen.seen()));
            continue;
        };
        let mut finding = Finding::new(NAME, Level::Note, counting.place, first.message)
            .about(counting.name.to_string())
            .labelled("counted here")
            .noting(first.advice);
        for doubt in doubts {
            finding = finding.noting(format!("and {}; {}", doubt.message, doubt.advice));
        }
        #[expect(clippy::cast_precision_loss, reason = "nobody counts so many cells")]
        let cells = seen.seen() as f64;
        report.found(
            finding
                .showing(Figure::plain("cells-seen", cells, 0.0, "", "living and dead".to_owned()))
                .showing(Figure::of(
                    "counted",
                    &counting.density,
                    1e9,
                    "B/mL",
                    "cells seen by what is above the squares".to_owned(),
                )),
        );
    }
}

/// What makes one doubt a count, and what to do about it.
struct Doubt {
    message: String,
    advice: String,
}

/// All doubts, the worst first.
fn doubts(counting: &Counting, seen: &Count, wanted: f64) -> Vec<Doubt> {
    let mut out = Vec::new();
    if undiluted(counting) {
        let usual = supply::slurry(None, supply::Origin::Bottom, &counting.name);
        out.push(Doubt {
            message: format!(
                "{} B/mL counted without a dilution, where slurry holds about {}–{}",
                significant(counting.density.median() / 1e9, 2),
                significant(usual.low() / 1e9, 1),
                significant(usual.high() / 1e9, 1)
            ),
            advice: "if it was diluted, write `1:N`: one part made up to N, the stain counted in".to_owned(),
        });
    }
    if seen.clumped() == Some(true) {
        let good_to = seen.scatter_half_width().map_or(String::new(), |half| {
            format!(": it is good to ± {} % at best", plain((half * 100.0).min(100.0), 0))
        });
        out.push(Doubt {
            message: format!("the squares differ by more than chance, so the cells clump{good_to}"),
            advice: "shake the sample longer, dilute it in two steps, and count again".to_owned(),
        });
    }
    #[expect(clippy::cast_precision_loss, reason = "nobody counts so many cells")]
    let (cells, squares) = (seen.seen() as f64, f64::from(seen.squares.max(1)));
    if cells < wanted {
        let more = wanted - cells;
        let (low, high) = seen.density_range();
        let middle = counting.density.median() / 1e6;
        let good_to = (high.as_millions() - low.as_millions()) / 2.0 / middle;
        let (message, advice) = if cells > 0.0 {
            let many = (more * squares / cells).ceil();
            let word = if many < 1.5 { "square" } else { "squares" };
            (
                format!(
                    "{cells:.0} cells counted are good to ± {} %",
                    plain((good_to * 100.0).min(100.0), 0)
                ),
                format!(
                    "{many:.0} more {word} as full as these, {wanted:.0} cells in all, would make it ± 20 %, chamber and pipette aside"
                ),
            )
        } else {
            (
                "no cells seen say only that there are few".to_owned(),
                "count more squares, or dilute less".to_owned(),
            )
        };
        out.push(Doubt { message, advice });
    }
    if cells > 0.0 && seen.methylene_blue_reads_high() {
        let (low, high) = seen.viability_range();
        out.push(Doubt {
            message: format!(
                "{:.0}–{:.0} % alive is under 90 %, where methylene blue shows too many alive",
                low.as_percent(),
                high.as_percent()
            ),
            advice: "take it as a highest guess, or use another stain; with another stain accept this"
                .to_owned(),
        });
    }
    out
}

fn undiluted(counting: &Counting) -> bool {
    counting.slurry && !counting.diluted
}

/// What casts doubt on the cells of a pitch: its jar was counted as if undiluted.
pub(crate) fn doubt(season: &Season, pitch: &Pitching) -> Option<String> {
    let counts = season.counts_of(pitch.lot);
    let last = counts.get(..counts.partition_point(|counting| counting.at <= pitch.at))?.last()?;
    undiluted(last).then(|| {
        format!(
            "the count of {} names no dilution: if there was one, there is that many times more of it",
            pitch.name
        )
    })
}
