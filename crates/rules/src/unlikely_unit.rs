use barm_reckoning::{Fault, Season};
use barm_quantity::{Measure, plain};
use barm_syntax::{Edit, Span};

use crate::registry::rule;
use crate::{Finding, Fix, Level, Report};

const NAME: &str = "unlikely-unit";
/// How long the word is.
const BRIX: u32 = 4;

rule! {
    /// An amount that reads, and is a thousand times what it can be; a temperature that makes sense in the other scale alone; a
    /// gravity behind `brix`, or one with a zero too few or too many.
    UnlikelyUnit, "unlikely-unit", Warning, "unlikely_unit.md", check,
    Anything "no amount in its lines is a thousand times what it can be, and no temperature is of the other scale"
}

fn check(season: &Season, report: &mut Report) {
    for fault in &season.faults {
        match fault {
            Fault::UnlikelyUnit { place, written, likely, why, impossible: false } => {
                let message = format!("{written}, where {why}: was {likely} meant?");
                report.found(
                    Finding::new(NAME, Level::Warning, *place, message)
                        .mending(Fix::replacing(*place, likely.to_string())),
                );
            }
            Fault::GravityAsBrix { place, value, written, likely, why } => {
                let start = place.span.start;
                let word = Edit { span: Span::new(start, start + BRIX), text: "gravity".to_owned() };
                let number = Edit { span: value.span, text: likely.to_string() };
                let meant = format!("`gravity {likely}`");
                report.found(
                    Finding::new(NAME, Level::Warning, *value, format!("{written}, where {why}: was {meant} meant?"))
                        .mending(Fix {
                            title: format!("write {meant}"),
                            file: place.file,
                            edits: vec![word, number],
                            safe: false,
                        }),
                );
            }
            Fault::BrixOfBeer { read, value, gravities } => {
                let brix = |written: &Measure| format!("brix {}", plain(f64::midpoint(written.low, written.high), 2));
                let Some((_, first)) = read.first() else { continue };
                let [taken, corrected] = gravities.map(|gravity| format!("{:.3}", gravity.as_specific()));
                let meant = brix(first);
                let message = format!("{first} in beer: {taken}, or {corrected} if a refractometer showed it: was `{meant}` meant?");
                let edits = read.iter().filter(|(item, _)| item.file == value.file);
                let edits = edits.map(|(item, written)| Edit { span: item.span, text: brix(written) });
                report.found(
                    Finding::new(NAME, Level::Warning, *value, message)
                        .noting("alcohol bends light too: a `brix` is corrected for it, a `gravity` is taken as it is")
                        .mending(Fix { title: format!("write `{meant}`"), file: value.file, edits: edits.collect(), safe: false }),
                );
            }
            _ => {}
        }
    }
}
