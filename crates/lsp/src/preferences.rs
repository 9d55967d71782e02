//! What the user of an editor may set: for the editor alone, never for what is found.

use serde::Deserialize;
use serde_json::Value;

/// The name under which an editor keeps our settings.
pub(crate) const SECTION: &str = "barm";

/// What the user of an editor may set.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub(crate) struct Preferences {
    /// Figures shown in the text.
    pub(crate) hints: bool,
    /// A line above each brew.
    pub(crate) lenses: bool,
    /// So many files and folders of a workspace are looked at in search of logs: a home folder may have millions.
    #[serde(rename = "mostFiles")]
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
        match value {
            Value::Null => Ok(Self::default()),
            own => Self::deserialize(own).map_err(|error| error.to_string()),
        }
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
