//! The season as CSV: a line a brew, for a spreadsheet.

use std::io;

use barm_reckoning::Figure;
use barm_report::{csv_text, six_digits};
use barm_rules::Level;

use crate::Part;
use crate::glance::{Brew, Glance, courses};

/// The figures that have columns, and their units.
const FIGURES: [(&str, &str); 12] = [
    ("generation", ""),
    ("wort-volume", "L"),
    ("original-gravity", "SG"),
    ("live-cells", "B"),
    ("target-cells", "B"),
    ("pitch-ratio", "%"),
    ("dissolved-oxygen", "mg/L"),
    ("too-warm", "K·h"),
    ("too-cold", "K·h"),
    ("gravity", "SG"),
    ("attenuation", "%"),
    ("alcohol", "%ABV"),
];

/// A line of titles, then a line a brew: `lot`, `title`, `file`, `line`, `pitched`, `yeasts`, each figure with its low and high
/// end, the findings by level, `verdict` and `taste`. What is not known is empty. Text that a spreadsheet would take for
/// a formula has an apostrophe before it.
///
/// # Errors
/// When `out` cannot be written.
pub fn csv(out: &mut dyn io::Write, parts: &[Part<'_>]) -> io::Result<()> {
    let mut writer = csv::Writer::from_writer(out);
    let mut titles: Vec<String> =
        ["lot", "title", "file", "line", "pitched", "yeasts"].map(str::to_owned).to_vec();
    for (name, unit) in FIGURES {
        let title = if unit.is_empty() { name.to_owned() } else { format!("{name} ({unit})") };
        titles.extend([title, format!("{name} low"), format!("{name} high")]);
    }
    titles.extend(["errors", "warnings", "notes", "verdict", "taste"].map(str::to_owned));
    writer.write_record(&titles)?;
    for (part, course) in parts.iter().zip(&courses(parts)) {
        let glance = Glance::of(part, course);
        for brew in &glance.brews {
            writer.write_record(line(&glance, brew))?;
        }
    }
    writer.flush()
}

fn line(glance: &Glance<'_>, brew: &Brew<'_>) -> Vec<String> {
    let place = brew.figures.place;
    let text = |text: &str| csv_text(text).into_owned();
    let mut out = vec![
        text(&brew.figures.lot),
        text(brew.figures.title.as_deref().unwrap_or_default()),
        text(&glance.files.path(place.file)),
        glance.files.start(place).line.to_string(),
        brew.pitched.map_or_else(String::new, |at| at.to_string()),
        text(&brew.yeasts().join(" + ")),
    ];
    for (name, unit) in FIGURES {
        let known = |figure: &&Figure| figure.unit == unit && figure.value.is_finite();
        match brew.figure(name).filter(known) {
            Some(figure) => {
                out.extend([figure.value, figure.low, figure.high].map(|n| six_digits(n).to_string()));
            }
            None => out.extend([const { String::new() }; 3]),
        }
    }
    out.extend([Level::Error, Level::Warning, Level::Note].map(|level| brew.count(level).to_string()));
    out.push(brew.taste.verdict.map_or("", |verdict| verdict.word()).to_owned());
    out.push(text(&brew.taste.words.join(", ")));
    out
}
