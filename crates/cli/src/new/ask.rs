//! Questions, and who answers them.

use std::io::{self, BufRead as _, IsTerminal as _, Write as _};

use crate::failure::Failure;

/// Asks, or takes what the options said.
pub(super) struct Asker {
    /// Whether somebody sits there.
    anybody: bool,
    /// Options that would have been needed.
    missing: Vec<&'static str>,
}

/// A question.
pub(super) struct Question<'a> {
    /// The option that answers it, with its dashes.
    pub(super) option: &'static str,
    /// As it is asked.
    pub(super) asks: &'static str,
    /// An answer.
    pub(super) example: &'a str,
    /// What is proposed: Enter takes it.
    pub(super) default: Option<&'a str>,
    /// Whether it cannot do without.
    pub(super) needed: bool,
}

impl<'a> Question<'a> {
    /// One that may be left open.
    pub(super) const fn open(option: &'static str, asks: &'static str, example: &'a str) -> Self {
        Self { option, asks, example, default: None, needed: false }
    }

    /// One that must be answered.
    pub(super) const fn needed(option: &'static str, asks: &'static str, example: &'a str) -> Self {
        Self { needed: true, ..Self::open(option, asks, example) }
    }
}

impl Asker {
    pub(super) fn new() -> Self {
        Self { anybody: io::stdin().is_terminal() && io::stderr().is_terminal(), missing: Vec::new() }
    }

    /// Whether somebody sits there.
    pub(super) const fn anybody(&self) -> bool {
        self.anybody
    }

    /// Tells something that helps to answer. What cannot be told is not missed.
    pub(super) fn say(what: &str) {
        let _ = writeln!(io::stderr(), "{}", barm_report::visible(what));
    }

    /// The answer: what was `given` by an option, else what somebody types, else nothing. `read` says what is wrong with
    /// one.
    pub(super) fn answer(
        &mut self,
        given: Option<&String>,
        question: &Question<'_>,
        read: impl Fn(&str) -> Result<(), String>,
    ) -> Result<Option<String>, Failure> {
        if let Some(given) = given.map(|given| given.trim()) {
            let option = question.option;
            let cannot = |why| {
                let example = question.example;
                Failure::said(format!(
                    "{option} `{given}` cannot be read: {why}; write {option} \"{example}\""
                ))
            };
            return read(given).map(|()| Some(given.to_owned())).map_err(cannot);
        }
        if !self.anybody {
            if question.needed {
                self.missing.push(question.option);
            }
            return Ok(None);
        }
        typed(question, read)
    }

    /// Fails where an answer is missing that is needed.
    pub(super) fn complete(&self) -> Result<(), Failure> {
        match self.missing.as_slice() {
            [] => Ok(()),
            missing => Err(Failure::said(format!(
                "{} missing, and there is no terminal to ask at; `--help` has an example",
                missing.join(", ") + if missing.len() == 1 { " is" } else { " are" },
            ))),
        }
    }
}

/// Asks until the answer can be read.
fn typed(
    question: &Question<'_>,
    read: impl Fn(&str) -> Result<(), String>,
) -> Result<Option<String>, Failure> {
    let mut out = io::stderr().lock();
    let mut ask = || -> io::Result<Option<String>> {
        let hint = match (question.default, question.needed) {
            (Some(default), _) => format!("Enter takes {default}"),
            (None, true) => format!("such as {}", question.example),
            (None, false) => format!("such as {}; Enter leaves it out", question.example),
        };
        writeln!(out, "{} ({hint})", question.asks)?;
        loop {
            write!(out, "> ")?;
            out.flush()?;
            let mut line = String::new();
            if io::stdin().lock().read_line(&mut line)? == 0 {
                writeln!(out)?;
                return Err(io::Error::other("the answers ended before the questions"));
            }
            match (line.trim(), question.default) {
                ("", Some(default)) => return Ok(Some(default.to_owned())),
                ("", None) if !question.needed => return Ok(None),
                ("", None) => writeln!(out, "  it cannot do without; such as {}", question.example)?,
                (answer, _) => match read(answer) {
                    Ok(()) => return Ok(Some(answer.to_owned())),
                    Err(why) => writeln!(out, "  {}", barm_report::visible(&why))?,
                },
            }
        }
    };
    ask().map_err(|error| Failure::said(format!("nothing was written: {error}")))
}
