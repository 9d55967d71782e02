//! `barm new culture` and `barm new brew`: a block at the end of a log.

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use barm_rules::Options;
use barm_workspace::ENDING;

use super::ask::{Asker, Question};
use crate::args::{Colour, Input, Into, NewBrew, NewCulture};
use crate::failure::Failure;
use crate::timings::Timings;
use crate::{output, workspace, write};

/// Asks for a culture and writes it.
pub(super) fn culture(args: &NewCulture) -> Result<ExitCode, Failure> {
    let log = Log::of(&args.into)?;
    let mut asker = Asker::new();
    let of = asker.answer(
        args.of.as_ref(),
        &Question::open("--of", "Of which strain?", "tidemill-ale"),
        |strain| readable(&format!("culture x of {strain}"), ""),
    )?;
    let header = match of {
        Some(strain) => format!("culture {} of {strain}", args.into.name),
        None => format!("culture {}", args.into.name),
    };
    let mut lines = Vec::new();
    let one_of = |words: &'static [&'static str]| {
        move |line: &str| {
            let first = line.split_whitespace().next().unwrap_or_default().to_lowercase();
            if words.contains(&first.as_str()) {
                readable("culture x", line)
            } else {
                Err(format!("it begins with `{}`", words.join("`, `")))
            }
        }
    };
    lines.extend(asker.answer(
        args.yeast.as_ref(),
        &Question::needed(
            "--yeast",
            "How much yeast: pack, sachet, slurry, vial or slant?",
            "pack 2 × 100 B",
        ),
        one_of(&["pack", "sachet", "slurry", "vial", "slant"]),
    )?);
    lines.extend(asker.answer(
        args.age.as_ref(),
        &Question::open("--age", "How old: made, best-before or harvested?", "made 2026-08-14"),
        one_of(&["made", "best-before", "harvested"]),
    )?);
    let kind = asker.answer(
        args.kind.as_ref(),
        &Question::open(
            "--kind",
            "Its kind, if no strain block says it: ale, lager, wild or bacteria?",
            "ale",
        ),
        |kind| readable("culture x", &format!("kind {kind}")),
    )?;
    lines.extend(kind.map(|kind| format!("kind {kind}")));
    let kept = asker.answer(
        args.kept.as_ref(),
        &Question::open("--kept", "How cold is it kept?", "4 °C"),
        |kept| readable("culture x", &format!("kept {kept}")),
    )?;
    lines.extend(kept.map(|kept| format!("kept {kept}")));
    asker.complete()?;
    log.write("culture", &args.into.name, &header, &lines)
}

/// Asks for a brew and writes it.
pub(super) fn brew(args: &NewBrew) -> Result<ExitCode, Failure> {
    let log = Log::of(&args.into)?;
    let mut asker = Asker::new();
    let title = asker.answer(
        args.title.as_ref(),
        &Question::open("--title", "A title?", "Slack Water bitter, run 4"),
        |title| readable(&format!("brew x \"{title}\""), ""),
    )?;
    let header = match title {
        Some(title) => format!("brew {} \"{title}\"", args.into.name),
        None => format!("brew {}", args.into.name),
    };
    // A fact, or an event of the day, by the word that it begins with.
    let mut line = |word: &str, given: &Option<String>, question: Question<'_>| {
        let read = |answer: &str| readable("brew x", &format!("on 2026-01-01\n{word} {answer}"));
        let answer = asker.answer(given.as_ref(), &question, read)?;
        Ok::<_, Failure>(answer.map(|answer| format!("{word} {answer}")))
    };
    let wort = Question::needed("--wort", "How much wort, and how strong?", "21 L at 1.048");
    let vessel = Question::open("--vessel", "In which vessel?", "bucket-2");
    let temp = Question::open("--temp", "The wort's temperature?", "18 °C");
    let aerate = Question::open("--aerate", "How does oxygen get in?", "oxygen 60 s at 1 L/min");
    let mut lines = Vec::new();
    lines.extend(line("wort", &args.wort, wort)?);
    lines.extend(line("in", &args.vessel, vessel)?);
    let temp = line("temp", &args.temp, temp)?;
    let aerate = line("aerate", &args.aerate, aerate)?;
    let today = today(&asker);
    let on = asker.answer(
        args.on.as_ref(),
        &Question {
            default: today.as_deref(),
            ..Question::needed("--on", "On which day is it pitched?", "2026-09-12")
        },
        |day| readable("brew x", &format!("on {day}")),
    )?;
    if asker.anybody() && args.pitch.is_none() {
        log.show_yeast(on.as_deref())?;
    }
    let pitch = asker.answer(
        args.pitch.as_ref(),
        &Question::needed("--pitch", "Which yeast, and how much? `?` asks barm.", "tide-a ?"),
        |pitch| readable("brew x", &format!("on 2026-01-01\npitch {pitch}")),
    )?;
    asker.complete()?;
    lines.extend(on.map(|on| format!("on {on}")));
    lines.extend(temp);
    lines.extend(aerate);
    lines.extend(pitch.map(|pitch| format!("pitch {pitch}")));
    log.write("brew", &args.into.name, &header, &lines)
}

/// The day that the question proposes; nobody is asked, nothing is proposed.
fn today(asker: &Asker) -> Option<String> {
    asker.anybody().then(|| jiff::Zoned::now().date().to_string())
}

/// What is wrong with a line of a block, if anything; it must be a line and not the end of one and more.
fn readable(header: &str, lines: &str) -> Result<(), String> {
    let text = format!("{header}\n{lines}\n");
    let log = barm_syntax::read(&text);
    if let Some(problem) = log.problems.first() {
        let help = problem.help.as_ref().map_or_else(String::new, |help| format!("; {help}"));
        return Err(format!("{}{help}", problem.message));
    }
    let wanted = 1 + lines.lines().count();
    if log.blocks.len() != 1 || text.trim_end().lines().count() != wanted {
        return Err("it must be one line of its own".to_owned());
    }
    Ok(())
}

/// The log that a block is put at the end of.
struct Log {
    path: PathBuf,
    /// What stands in it; `None`: there is none yet.
    before: Option<String>,
}

impl Log {
    /// The log that the options name.
    fn of(into: &Into) -> Result<Self, Failure> {
        readable(&format!("brew {}", into.name), "")
            .map_err(|why| Failure::said(format!("`{}` is no name: {why}", into.name)))?;
        let path = into.file.clone().unwrap_or_else(|| PathBuf::from(format!("{}.{ENDING}", into.name)));
        if path.extension().is_none_or(|ending| ending != ENDING) {
            let shown = path.display();
            return Err(Failure::said(format!("{shown} would not be read: a log ends in .{ENDING}")));
        }
        let before = if path.exists() { Some(workspace::text(&path)?) } else { None };
        Ok(Self { path, before })
    }

    fn folder(&self) -> &Path {
        match self.path.parent() {
            Some(folder) if !folder.as_os_str().is_empty() => folder,
            _ => Path::new("."),
        }
    }

    /// Tells somebody who is asked for yeast which there is.
    fn show_yeast(&self, on: Option<&str>) -> Result<(), Failure> {
        let input = Input { paths: vec![self.folder().to_owned()], config: None, stdin_name: None };
        let on = on.and_then(|on| on.trim_start_matches('~').parse().ok());
        let mut names = Vec::new();
        for workspace in workspace::load(&input, &mut Timings::new())? {
            let bank = workspace.season.bank(on, None);
            names.extend(bank.into_iter().flat_map(|bank| bank.lots).map(|lot| lot.name));
        }
        if !names.is_empty() {
            Asker::say(&format!("There is: {}", names.join(", ")));
        }
        Ok(())
    }

    /// Writes the block, and says what barm says of it. A block that would be an error is not written.
    fn write(&self, what: &str, name: &str, header: &str, lines: &[String]) -> Result<ExitCode, Failure> {
        let block = barm_syntax::format(&format!("{header}\n{}\n", lines.join("\n")));
        let old = self.before.as_deref().unwrap_or_default();
        let end = if old.contains("\r\n") { "\r\n" } else { "\n" };
        let gap = match old {
            "" => "",
            old if old.ends_with('\n') => end,
            _ => &end.repeat(2),
        };
        let new = format!("{old}{gap}{}", block.replace('\n', end));

        let workspace = workspace::standing_for(&self.path, new.as_bytes())?;
        let mut report = workspace.check(&Options::default());
        report.findings.retain(|finding| finding.place.span.start as usize >= old.len());
        let wrong = report.findings.iter().find(|finding| finding.level == barm_rules::Level::Error);
        if let Some(wrong) = wrong {
            return Err(Failure::said(format!("nothing was written: {}", wrong.message)));
        }
        let shown = self.path.display();
        let cannot = |error| Failure::said(format!("{shown} was not written: {error}"));
        let done = match &self.before {
            Some(before) => {
                let real = barm_workspace::real(&self.path, None).map_err(cannot)?;
                write::replace(&real, before, &new).map_err(cannot)?;
                format!("put {what} {name} at the end of {shown}")
            }
            None => {
                write::begin(&self.path, &new).map_err(cannot)?;
                format!("began {shown} with {what} {name}")
            }
        };
        write::tell(&done)?;
        if report.findings.is_empty() {
            return Ok(ExitCode::SUCCESS);
        }
        output::print(Colour::Auto, ExitCode::SUCCESS, |out| {
            use std::io::Write as _;
            writeln!(out)?;
            barm_report::text(out, &[workspace.with(&report)])
        })
    }
}
