use crate::reading::reads;

reads! {
    /// A first word that the language does not have, and that is near one that it has.
    UnknownWord, "unknown-word", Warning, "unknown_word.md", UnknownWord,
    "no line of it begins with a word that the language does not have"
}
