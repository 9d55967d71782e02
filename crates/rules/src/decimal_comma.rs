use crate::reading::reads;

reads! {
    /// A comma as the decimal sign.
    DecimalComma, "decimal-comma", Error, "decimal_comma.md", DecimalComma,
    "no number in its lines has a decimal comma"
}
