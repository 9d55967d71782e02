//! Findings as people read them.

use std::io;

use barm_rules::{Certainty, Finding, Fix, Level};
use codespan_reporting::diagnostic::{Diagnostic, LabelStyle, Severity};
use codespan_reporting::term::termcolor::{ColorSpec, WriteColor};
use codespan_reporting::term::{self, Config};

use crate::excerpt::{Excerpt, Mark};
use crate::place::Files;
use crate::{CAUTION, Checked, Tally, is_shown, screen, shown};

/// Every finding with the lines that it is about, cautions last, and a line that counts them.
///
/// # Errors
/// When `out` cannot be written.
pub fn text(out: &mut dyn WriteColor, checked: &[Checked<'_>]) -> io::Result<()> {
    for one in checked {
        findings(out, one, &|finding| is_shown(finding) && finding.rule != CAUTION)?;
    }
    if checked.iter().any(|one| shown(one).any(|finding| finding.rule == CAUTION)) {
        out.set_color(ColorSpec::new().set_bold(true))?;
        write!(out, "Take care")?;
        out.reset()?;
        write!(out, "\n\n")?;
        for one in checked {
            findings(out, one, &|finding| finding.rule == CAUTION)?;
        }
    }
    writeln!(out, "{}", Tally::of(checked).sentence())
}

/// One line a finding: `path:line:column: level[rule]: message`.
///
/// # Errors
/// When `out` cannot be written.
pub fn short(out: &mut dyn WriteColor, checked: &[Checked<'_>]) -> io::Result<()> {
    for one in checked {
        let files = Files::new(&one.season.sources, one.base);
        for finding in shown(one) {
            let at = files.start(finding.place);
            let path = files.path(finding.place.file);
            writeln!(
                out,
                "{}:{}:{}: {}[{}]: {}",
                screen::name(&path),
                at.line,
                at.column,
                finding.level.word(),
                finding.rule,
                screen::visible(&finding.message),
            )?;
        }
    }
    Ok(())
}

/// The findings of a workspace that `wanted` picks, each with the lines that it is about.
///
/// # Errors
/// When `out` cannot be written.
pub fn findings(
    out: &mut dyn WriteColor,
    checked: &Checked<'_>,
    wanted: &dyn Fn(&Finding) -> bool,
) -> io::Result<()> {
    let files = Files::new(&checked.season.sources, checked.base);
    checked.report.findings.iter().filter(|one| wanted(one)).try_for_each(|one| finding(out, &files, one))
}

fn finding(out: &mut dyn WriteColor, files: &Files<'_>, finding: &Finding) -> io::Result<()> {
    let mut marks = vec![Mark { place: finding.place, style: LabelStyle::Primary, text: &finding.label }];
    marks.extend(finding.labels.iter().map(|l| Mark {
        place: l.place,
        style: LabelStyle::Secondary,
        text: &l.text,
    }));
    let (excerpt, labels) = Excerpt::new(files, &marks);
    let severity = match finding.level {
        Level::Error => Severity::Error,
        Level::Warning => Severity::Warning,
        Level::Note | Level::Figure | Level::Off => Severity::Note,
    };
    let mut notes: Vec<String> = finding.notes.iter().map(|note| screen::wrapped(note)).collect();
    notes.extend(finding.certainty.and_then(how_sure).map(str::to_owned));
    if finding.level == Level::Figure {
        // What is only possible carries a level less.
        let level = if finding.certainty == Some(Certainty::Possible) { "warning" } else { "note" };
        let told = format!("`[levels] {} = \"{level}\"` in barm.toml has it told", finding.rule);
        notes.push(screen::wrapped(&format!("`barm check` keeps this back; {told}")));
    }
    notes.extend(finding.fixes.iter().enumerate().map(|(count, fix)| fix_note(count, fix)));
    // A file that could not be read has no line to show.
    let labels = if files.text(finding.place.file).is_empty() { Vec::new() } else { labels };
    let diagnostic = Diagnostic::new(severity)
        .with_code(finding.rule)
        .with_message(screen::visible(&finding.message))
        .with_labels(labels)
        .with_notes(notes);
    emit(out, &excerpt, &diagnostic)
}

pub(crate) fn emit(
    out: &mut dyn WriteColor,
    excerpt: &Excerpt,
    diagnostic: &Diagnostic<usize>,
) -> io::Result<()> {
    let config = Config { tab_width: screen::TAB, ..Config::default() };
    term::emit_to_write_style(out, &config, excerpt, diagnostic).map_err(|error| match error {
        codespan_reporting::files::Error::Io(error) => error,
        error => io::Error::other(error),
    })
}

/// What is certain needs no word.
fn how_sure(certainty: Certainty) -> Option<&'static str> {
    match certainty {
        Certainty::Sure => None,
        Certainty::Likely => Some("likely: at least eight chances in ten, given what the log says"),
        Certainty::Possible => Some("possible: better than even chances, given what the log says"),
    }
}

fn fix_note(count: usize, fix: &Fix) -> String {
    let word = if count == 0 { "fix" } else { "or" };
    let look = if fix.safe { "" } else { " (look first)" };
    screen::wrapped(&format!("{word}: {}{look}", fix.title))
}
