use crate::reading::reads;

reads! {
    /// A unit that measures something else.
    WrongUnit, "wrong-unit", Error, "wrong_unit.md", WrongUnit,
    "every unit in its lines measures what is wanted there"
}
