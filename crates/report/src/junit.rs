//! Findings as a JUnit report, the form that build servers show as tests.
//!
//! One suite a log, one case a finding; a log that is sound has one case that passes. Written with quick-xml: the
//! libraries for this form write attributes (`disabled`, `skipped` on the whole) that its XML schema does not know.

use std::io;

use barm_reckoning::FileId;
use barm_rules::{Finding, Level};
use quick_xml::Writer;
use quick_xml::events::{BytesDecl, BytesText, Event};

use crate::place::Files;
use crate::{CAUTION, Checked, Tally, screen, shown};

/// Every finding: one at or above `fail_on` is a case that failed, one below it, and every caution, a case that passed
/// with something to say.
///
/// # Errors
/// When `out` cannot be written.
pub fn junit(out: &mut dyn io::Write, checked: &[Checked<'_>], fail_on: Level) -> io::Result<()> {
    let tally = Tally::of(checked);
    let mut writer = Writer::new_with_indent(Vec::new(), b' ', 2);
    writer.write_event(Event::Decl(BytesDecl::new("1.0", Some("UTF-8"), None)))?;
    writer.create_element("testsuites").with_attribute(("name", "barm")).write_inner_content(|writer| {
        checked.iter().try_for_each(|one| workspace(writer, one, fail_on))?;
        counts(writer, &tally)
    })?;
    out.write_all(&writer.into_inner())?;
    writeln!(out)
}

type Xml = Writer<Vec<u8>>;

fn workspace(writer: &mut Xml, one: &Checked<'_>, fail_on: Level) -> io::Result<()> {
    let files = Files::new(&one.season.sources, one.base);
    // Findings come in order of files.
    let findings: Vec<&Finding> = shown(one).collect();
    one.asked.iter().try_for_each(|&file| {
        let begin = findings.partition_point(|finding| finding.place.file < file);
        let end = findings.partition_point(|finding| finding.place.file <= file);
        suite(writer, &files, file, findings.get(begin..end).unwrap_or(&[]), fail_on)
    })
}

fn suite(
    writer: &mut Xml,
    files: &Files<'_>,
    file: FileId,
    findings: &[&Finding],
    fail_on: Level,
) -> io::Result<()> {
    let fails = |finding: &Finding| finding.level >= fail_on && finding.rule != CAUTION;
    let path = files.path(file);
    let path = screen::visible(&path);
    let failures = findings.iter().filter(|finding| fails(finding)).count();
    writer
        .create_element("testsuite")
        .with_attributes([
            ("name", &*path),
            ("tests", &*findings.len().max(1).to_string()),
            ("failures", &*failures.to_string()),
            ("errors", "0"),
        ])
        .write_inner_content(|writer| {
            if findings.is_empty() {
                let sound = [("classname", &*path), ("name", "nothing to mend")];
                writer.create_element("testcase").with_attributes(sound).write_empty()?;
            }
            findings.iter().try_for_each(|finding| {
                let at = files.start(finding.place);
                let name = format!("{} at {}:{}", finding.rule, at.line, at.column);
                let case = writer.create_element("testcase");
                let case = case.with_attributes([("classname", &*path), ("name", &*name)]);
                let about = about(&path, at.line, at.column, finding);
                case.write_inner_content(|writer| {
                    if fails(finding) {
                        let message = screen::visible(&finding.message);
                        let failure = [("type", finding.level.word()), ("message", &*message)];
                        writer
                            .create_element("failure")
                            .with_attributes(failure)
                            .write_text_content(BytesText::new(&about))?;
                    } else {
                        writer.create_element("system-out").write_text_content(BytesText::new(&about))?;
                    }
                    Ok(())
                })?;
                Ok(())
            })
        })?;
    Ok(())
}

/// What stands in the body: the finding as `--format short` has it, and its notes.
fn about(path: &str, line: u32, column: u32, finding: &Finding) -> String {
    let mut out = format!(
        "{path}:{line}:{column}: {}[{}]: {}",
        finding.level.word(),
        finding.rule,
        screen::visible(&finding.message)
    );
    for note in finding.notes.iter().flat_map(|note| note.lines()) {
        out.push('\n');
        out.push_str(&screen::visible(note));
    }
    out
}

/// What was accepted, known or switched off is told here too: a log must not be able to keep silent about itself.
fn counts(writer: &mut Xml, tally: &Tally) -> io::Result<()> {
    let suite = [("name", "barm"), ("tests", "1"), ("failures", "0"), ("errors", "0")];
    writer.create_element("testsuite").with_attributes(suite).write_inner_content(|writer| {
        let case = [("classname", "barm"), ("name", "summary")];
        writer.create_element("testcase").with_attributes(case).write_inner_content(|writer| {
            writer.create_element("system-out").write_text_content(BytesText::new(&tally.sentence()))?;
            Ok(())
        })?;
        Ok(())
    })?;
    Ok(())
}
