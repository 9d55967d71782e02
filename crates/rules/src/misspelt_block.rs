use crate::reading::reads;

reads! {
    /// A header whose first word is nearly a block word.
    MisspeltBlock, "misspelt-block", Error, "misspelt_block.md", MisspeltBlock,
    "its block opens with a word of the language"
}
