//! What a rule says.

use barm_reckoning::{Fact, Figure, FileId, Place, Season};
use barm_syntax::Edit;

/// How bad a finding is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Level {
    /// Switched off: never reported.
    Off,
    /// A figure only, for an editor to show; never in `check`.
    Figure,
    /// Worth knowing.
    Note,
    /// Worth acting on.
    Warning,
    /// The log cannot be read or reckoned as it stands, or somebody may be hurt.
    Error,
}

impl Level {
    /// As settings and outputs write it.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Off => "off",
            Self::Figure => "figure",
            Self::Note => "note",
            Self::Warning => "warning",
            Self::Error => "error",
        }
    }

    /// Reads `off`, `note`, `warning`, `error`.
    #[must_use]
    pub fn read(word: &str) -> Option<Self> {
        [Self::Off, Self::Note, Self::Warning, Self::Error].into_iter().find(|l| l.word() == word)
    }

    /// One level less; what is less than a note is a figure.
    #[must_use]
    pub const fn less(self) -> Self {
        match self {
            Self::Error => Self::Warning,
            Self::Warning => Self::Note,
            Self::Note | Self::Figure => Self::Figure,
            Self::Off => Self::Off,
        }
    }
}

/// How sure it is that the limit is broken, given what the log says.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Certainty {
    /// p ≥ 0.5
    Possible,
    /// p ≥ 0.8
    Likely,
    /// p ≥ 0.95
    Sure,
}

impl Certainty {
    /// From the chance that the limit is broken; below one half nothing is said.
    #[must_use]
    pub fn of(chance: f64) -> Option<Self> {
        if chance >= 0.95 {
            Some(Self::Sure)
        } else if chance >= 0.8 {
            Some(Self::Likely)
        } else if chance >= 0.5 {
            Some(Self::Possible)
        } else {
            None
        }
    }

    /// As outputs write it.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Possible => "possible",
            Self::Likely => "likely",
            Self::Sure => "sure",
        }
    }

    /// The level that a rule of level `level` speaks at: possible carries one level less.
    #[must_use]
    pub const fn tempers(self, level: Level) -> Level {
        match self {
            Self::Possible => level.less(),
            Self::Likely | Self::Sure => level,
        }
    }
}

/// A further place that explains a finding; it may lie in another file.
#[derive(Debug, Clone, PartialEq)]
pub struct Label {
    /// Where.
    pub place: Place,
    /// What is to be seen there: "harvested here, 31 days before".
    pub text: String,
}

/// A change that mends something, in one file.
#[derive(Debug, Clone, PartialEq)]
pub struct Fix {
    /// What it does: "write `18 °C`".
    pub title: String,
    /// The file that it changes.
    pub file: FileId,
    /// The edits, in file offsets, in order of place, none overlapping another.
    pub edits: Vec<Edit>,
    /// Whether it may be made without a look.
    pub safe: bool,
}

impl Fix {
    /// Writes `text` in place of what stands there; to be looked at first.
    #[must_use]
    pub fn replacing(place: Place, text: impl Into<String>) -> Self {
        let text = text.into();
        let title = format!("write `{text}`");
        Self { title, file: place.file, edits: vec![Edit { span: place.span, text }], safe: false }
    }
}

/// What a rule says of one place.
#[derive(Debug, Clone, PartialEq)]
pub struct Finding {
    /// The rule's name.
    pub rule: &'static str,
    /// How bad.
    pub level: Level,
    /// How sure; `None` for what needs no reckoning (an unreadable line).
    pub certainty: Option<Certainty>,
    /// The primary span: an acceptance on its line silences the finding.
    pub place: Place,
    /// The lot that it is about, where there is one.
    pub lot: Option<String>,
    /// One plain sentence, figure first.
    pub message: String,
    /// What the primary span is, in a word or two; may be empty.
    pub label: String,
    /// Further places.
    pub labels: Vec<Label>,
    /// How it was reckoned, what would narrow it, what to do.
    pub notes: Vec<String>,
    /// The figures in the sentence.
    pub figures: Vec<Figure>,
    /// Ways to mend it.
    pub fixes: Vec<Fix>,
    /// What an editor can add for whoever knows what it says: a line `made`, and nothing behind it.
    pub blanks: Vec<Fix>,
}

impl Finding {
    /// A finding with nothing but its sentence.
    #[must_use]
    pub fn new(rule: &'static str, level: Level, place: Place, message: impl Into<String>) -> Self {
        Self {
            rule,
            level,
            certainty: None,
            place,
            lot: None,
            message: message.into(),
            label: String::new(),
            labels: Vec::new(),
            notes: Vec::new(),
            figures: Vec::new(),
            fixes: Vec::new(),
            blanks: Vec::new(),
        }
    }

    /// A finding whose limit is broken with such a chance; its sentence is made only where the chance is great enough.
    #[must_use]
    pub fn likely(
        rule: &'static str,
        level: Level,
        place: Place,
        chance: f64,
        message: impl FnOnce() -> String,
    ) -> Option<Self> {
        Certainty::of(chance)?;
        Self::new(rule, level, place, message()).with_chance(chance)
    }

    /// The same, with a chance that the limit is broken: `None` below one half, a level less where only possible.
    #[must_use]
    pub fn with_chance(mut self, chance: f64) -> Option<Self> {
        let certainty = Certainty::of(chance)?;
        self.level = certainty.tempers(self.level);
        self.certainty = Some(certainty);
        Some(self)
    }

    /// The same, about a lot.
    #[must_use]
    pub fn about(mut self, lot: impl Into<String>) -> Self {
        self.lot = Some(lot.into());
        self
    }

    /// The same, with a word at the primary span.
    #[must_use]
    pub fn labelled(mut self, text: impl Into<String>) -> Self {
        self.label = text.into();
        self
    }

    /// The same, pointing to one more place.
    #[must_use]
    pub fn pointing(mut self, place: Place, text: impl Into<String>) -> Self {
        self.labels.push(Label { place, text: text.into() });
        self
    }

    /// The same, with one more note.
    #[must_use]
    pub fn noting(mut self, note: impl Into<String>) -> Self {
        self.notes.push(note.into());
        self
    }

    /// The same, with one more figure.
    #[must_use]
    pub fn showing(mut self, figure: Figure) -> Self {
        self.figures.push(figure);
        self
    }

    /// The same, with one more fix.
    #[must_use]
    pub fn mending(mut self, fix: Fix) -> Self {
        self.fixes.push(fix);
        self
    }

    /// The same, with room for a fact that is missing.
    #[must_use]
    pub(crate) fn lacking(mut self, season: &Season, fact: Fact) -> Self {
        let offered = crate::blank::of(season, fact);
        self.blanks
            .extend(offered.into_iter().filter(|blank| !self.blanks.contains(blank)).collect::<Vec<_>>());
        self
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn certainty_follows_the_chance() {
        let words =
            [0.0, 0.499, 0.5, 0.799, 0.8, 0.949, 0.95, 1.0].map(|p| Certainty::of(p).map(Certainty::word));
        let possible = Some("possible");
        let (likely, sure) = (Some("likely"), Some("sure"));
        assert_eq!(words, [None, None, possible, possible, likely, likely, sure, sure]);
        assert_eq!(Certainty::of(f64::NAN), None);
    }

    #[test]
    fn what_is_only_possible_carries_a_level_less() {
        assert_eq!(Certainty::Possible.tempers(Level::Warning), Level::Note);
        assert_eq!(Certainty::Possible.tempers(Level::Note), Level::Figure);
        assert_eq!(Certainty::Likely.tempers(Level::Warning), Level::Warning);
        assert_eq!(Certainty::Sure.tempers(Level::Error), Level::Error);
        assert_eq!(Certainty::Possible.tempers(Level::Off), Level::Off);
    }
}
