use crate::reading::reads;

reads! {
    /// A bare number where a unit is needed.
    MissingUnit, "missing-unit", Error, "missing_unit.md", MissingUnit,
    "no value in its lines lacks its unit"
}
