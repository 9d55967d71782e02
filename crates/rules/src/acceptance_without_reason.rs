use crate::reading::reads;

reads! {
    /// An acceptance that does not say why.
    AcceptanceWithoutReason, "acceptance-without-reason", Note, "acceptance_without_reason.md", AcceptanceWithoutReason,
    "no `# accept` in its lines lacks a reason"
}
