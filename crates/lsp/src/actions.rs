//! Code actions.

use barm_ide::ActionKind;
use tower_lsp::lsp_types::{
    CodeAction, CodeActionKind, CodeActionOrCommand, CodeActionParams, CodeActionResponse, NumberOrString,
};

use crate::features::{FIX_ALL, workspace_edit};
use crate::view::{Answer, View};

/// What can be done where the cursor is.
pub(crate) fn code_actions(view: &View, params: &CodeActionParams) -> Answer<Option<CodeActionResponse>> {
    // A client that knows only commands would have us ask it to apply an edit; we ask it for nothing.
    if !view.client.literal_actions {
        return Ok(Some(Vec::new()));
    }
    let (Some(text), Some(part)) = (view.text(&view.path), view.part()) else { return Ok(None) };
    let wanted = |kind: &CodeActionKind| match &params.context.only {
        // Kinds are a hierarchy by dots.
        Some(only) => only.iter().any(|only| {
            let rest = kind.as_str().strip_prefix(only.as_str());
            only.as_str().is_empty() || rest.is_some_and(|rest| rest.is_empty() || rest.starts_with('.'))
        }),
        None => *kind != FIX_ALL,
    };
    let actions = barm_ide::actions(&view.world, &view.path, text.span(params.range)).into_iter().filter_map(
        |action| {
            let kind = match action.kind {
                ActionKind::Fix => CodeActionKind::QUICKFIX,
                ActionKind::Rewrite => CodeActionKind::REFACTOR_REWRITE,
                ActionKind::FixAll => FIX_ALL,
            };
            if !wanted(&kind) {
                return None;
            }
            let finding = action.mends.and_then(|index| part.findings(&view.path).get(index));
            let mended = finding.map(|finding| {
                let range = text.lines(finding.place.span);
                let code = NumberOrString::String(finding.rule.to_owned());
                let same = params
                    .context
                    .diagnostics
                    .iter()
                    .filter(|d| d.range == range && d.code.as_ref() == Some(&code));
                same.cloned().collect::<Vec<_>>()
            });
            Some(CodeActionOrCommand::CodeAction(CodeAction {
                title: action.title,
                kind: Some(kind),
                diagnostics: mended.filter(|mended| !mended.is_empty()),
                edit: Some(workspace_edit(view, &action.edits)?),
                is_preferred: (action.preferred && view.client.preferred_actions).then_some(true),
                ..CodeAction::default()
            }))
        },
    );
    Ok(Some(actions.collect()))
}
