//! What the user of an editor may set: for the editor alone, never for what is found.

use serde_json::Value;

/// The name under which an editor keeps our settings.
pub(crate) const SECTION: &str = "barm";

/// What the user of an editor may set.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Preferences {
    /// Figures shown in the text.
    pub(crate) hints: bool,
    /// A line above each brew.
    pub(crate) lenses: bool,
    /// So many files and folders of a workspace are looked at in search of logs: a home folder may have millions.
    pub(crate) most_files: usize,
}

impl Default for Preferences {
    fn default() -> Self {
        Self { hints: true, lenses: true, most_files: 200_000 }
    }
}

impl Preferences {
    /// Reads them.
    ///
    /// # Errors
    /// In words, what is wrong with them.
    pub(crate) fn read(value: &Value) -> Result<Self, String> {
        let mut out = Self::default();
        let settings = match value {
            Value::Null => return Ok(out),
            Value::Object(settings) => settings,
            other => return Err(format!("they are names with values, not {other}")),
        };
        for (name, value) in settings {
            let flag = || value.as_bool().ok_or_else(|| format!("`{name}` is true or false, not {value}"));
            match name.as_str() {
                "hints" => out.hints = flag()?,
                "lenses" => out.lenses = flag()?,
                "mostFiles" => {
                    let most = value.as_u64().and_then(|most| usize::try_from(most).ok());
                    out.most_files =
                        most.ok_or_else(|| format!("`{name}` is a whole number, not {value}"))?;
                }
                _ => return Err(format!("there is no `{name}`, but `hints`, `lenses` and `mostFiles`")),
            }
        }
        Ok(out)
    }

    /// Ours among the settings of others.
    pub(crate) fn among(settings: &Value) -> Option<&Value> {
        settings.get(SECTION)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn they_are_read_however_an_editor_sends_them() {
        let quiet = Preferences { hints: false, ..Preferences::default() };
        assert_eq!(Preferences::read(&json!({"hints": false})), Ok(quiet));
        let all = json!({"barm": {"hints": false}, "other": 1});
        assert_eq!(Preferences::among(&all).map(Preferences::read), Some(Ok(quiet)));
        assert_eq!(Preferences::among(&Value::Null), None);
        assert_eq!(Preferences::read(&Value::Null), Ok(Preferences::default()));
        assert!(Preferences::read(&json!({"hints": 3})).is_err());
        assert!(Preferences::read(&json!({"hint": false})).is_err_and(|why| why.contains("`hint`")));
        assert!(Preferences::read(&json!({"mostFiles": -1})).is_err());
    }
}
