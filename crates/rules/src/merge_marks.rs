use crate::reading::reads;

reads! {
    /// The marks of a merge conflict.
    MergeMarks, "merge-marks", Error, "merge_marks.md", MergeMarks,
    "no marks of a merge stand in its lines"
}
