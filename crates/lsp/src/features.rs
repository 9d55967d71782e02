//! What the server can do, and each request turned into a question to `barm-ide` and its answer back.

use std::collections::HashMap;

use barm_ide::{CompletionKind, FileEdits, Relative, Symbol, SymbolKind};
use barm_reckoning::LotKind;
use barm_syntax::Span;
use tower_lsp::jsonrpc::Error;
use tower_lsp::lsp_types::*;

use crate::client::Abilities;
use crate::plain::plain;
use crate::text::Text;
use crate::tokens;
use crate::view::{Answer, View};

/// The title under which all safe fixes of a file are asked for.
pub(crate) const FIX_ALL: CodeActionKind = CodeActionKind::SOURCE_FIX_ALL;

/// What is told to the client at the start. What is asked for is offered to everybody: who cannot ask does not.
pub(crate) fn capabilities(client: Abilities) -> ServerCapabilities {
    let diagnostics = DiagnosticOptions {
        identifier: Some("barm".to_owned()),
        inter_file_dependencies: true,
        workspace_diagnostics: true,
        work_done_progress_options: WorkDoneProgressOptions::default(),
    };
    let semantic_tokens = SemanticTokensOptions {
        legend: SemanticTokensLegend {
            token_types: tokens::legend(),
            token_modifiers: vec![SemanticTokenModifier::DECLARATION],
        },
        range: Some(true),
        full: Some(SemanticTokensFullOptions::Delta { delta: Some(true) }),
        ..SemanticTokensOptions::default()
    };
    let actions = CodeActionOptions {
        code_action_kinds: Some(vec![CodeActionKind::QUICKFIX, CodeActionKind::REFACTOR_REWRITE, FIX_ALL]),
        ..CodeActionOptions::default()
    };
    ServerCapabilities {
        position_encoding: Some(client.encoding.kind()),
        text_document_sync: Some(TextDocumentSyncCapability::Options(TextDocumentSyncOptions {
            open_close: Some(true),
            change: Some(TextDocumentSyncKind::INCREMENTAL),
            save: Some(TextDocumentSyncSaveOptions::SaveOptions(SaveOptions { include_text: Some(false) })),
            ..TextDocumentSyncOptions::default()
        })),
        diagnostic_provider: client.pulls.then_some(DiagnosticServerCapabilities::Options(diagnostics)),
        hover_provider: Some(HoverProviderCapability::Simple(true)),
        completion_provider: Some(CompletionOptions {
            trigger_characters: Some(vec![" ".to_owned()]),
            ..CompletionOptions::default()
        }),
        inlay_hint_provider: Some(OneOf::Left(true)),
        code_lens_provider: Some(CodeLensOptions { resolve_provider: Some(false) }),
        code_action_provider: Some(if client.literal_actions {
            CodeActionProviderCapability::Options(actions)
        } else {
            CodeActionProviderCapability::Simple(true)
        }),
        definition_provider: Some(OneOf::Left(true)),
        references_provider: Some(OneOf::Left(true)),
        document_highlight_provider: Some(OneOf::Left(true)),
        rename_provider: Some(if client.prepares_renames {
            OneOf::Right(RenameOptions {
                prepare_provider: Some(true),
                work_done_progress_options: WorkDoneProgressOptions::default(),
            })
        } else {
            OneOf::Left(true)
        }),
        document_symbol_provider: Some(OneOf::Left(true)),
        workspace_symbol_provider: Some(OneOf::Left(true)),
        folding_range_provider: Some(FoldingRangeProviderCapability::Simple(true)),
        selection_range_provider: Some(SelectionRangeProviderCapability::Simple(true)),
        document_link_provider: Some(DocumentLinkOptions {
            resolve_provider: Some(false),
            work_done_progress_options: WorkDoneProgressOptions::default(),
        }),
        document_formatting_provider: Some(OneOf::Left(true)),
        document_range_formatting_provider: Some(OneOf::Left(true)),
        document_on_type_formatting_provider: Some(DocumentOnTypeFormattingOptions {
            first_trigger_character: "\n".to_owned(),
            more_trigger_character: None,
        }),
        semantic_tokens_provider: Some(SemanticTokensServerCapabilities::SemanticTokensOptions(
            semantic_tokens,
        )),
        workspace: Some(WorkspaceServerCapabilities {
            workspace_folders: Some(WorkspaceFoldersServerCapabilities {
                supported: Some(true),
                change_notifications: Some(OneOf::Left(true)),
            }),
            file_operations: Some(WorkspaceFileOperationsServerCapabilities {
                did_rename: Some(folders()),
                did_delete: Some(folders()),
                ..WorkspaceFileOperationsServerCapabilities::default()
            }),
        }),
        ..ServerCapabilities::default()
    }
}

/// Folders that the editor itself moves or deletes: who watches files by their names is told of none of them.
fn folders() -> FileOperationRegistrationOptions {
    let pattern = FileOperationPattern {
        glob: "**".to_owned(),
        matches: Some(FileOperationPatternKind::Folder),
        options: None,
    };
    let filter = FileOperationFilter { scheme: Some("file".to_owned()), pattern };
    FileOperationRegistrationOptions { filters: vec![filter] }
}

/// A text of ours in Markdown, as the client can show it.
fn markup(client: Abilities, text: String) -> MarkupContent {
    if client.markdown {
        MarkupContent { kind: MarkupKind::Markdown, value: text }
    } else {
        MarkupContent { kind: MarkupKind::PlainText, value: plain(&text) }
    }
}

pub(crate) fn hover(view: &View, params: &HoverParams) -> Answer<Option<Hover>> {
    let Some(offset) = view.offset(params.text_document_position_params.position) else { return Ok(None) };
    let Some(hover) = barm_ide::hover(&view.world, &view.path, offset) else { return Ok(None) };
    let contents = HoverContents::Markup(markup(view.client, hover.text));
    Ok(Some(Hover { contents, range: view.range(hover.span) }))
}

pub(crate) fn completion(view: &View, params: &CompletionParams) -> Answer<Option<CompletionResponse>> {
    let position = params.text_document_position.position;
    let (Some(text), Some(offset)) = (view.text(&view.path), view.offset(position)) else { return Ok(None) };
    let item = |(nth, completion): (usize, barm_ide::Completion)| {
        let snippet = completion.snippet.filter(|_| view.client.snippets);
        let late = view.client.late_completion_kinds;
        let kind = match completion.kind {
            CompletionKind::Block => CompletionItemKind::MODULE,
            CompletionKind::FirstWord => CompletionItemKind::KEYWORD,
            CompletionKind::Lot => CompletionItemKind::VARIABLE,
            CompletionKind::Strain => CompletionItemKind::CLASS,
            CompletionKind::Vessel if late => CompletionItemKind::STRUCT,
            CompletionKind::Vessel => CompletionItemKind::CLASS,
            CompletionKind::Unit => CompletionItemKind::UNIT,
            CompletionKind::Date | CompletionKind::Time => CompletionItemKind::VALUE,
            CompletionKind::Blank => CompletionItemKind::SNIPPET,
            CompletionKind::Word if late => CompletionItemKind::ENUM_MEMBER,
            CompletionKind::Rule if late => CompletionItemKind::CONSTANT,
            CompletionKind::Word | CompletionKind::Rule => CompletionItemKind::VALUE,
        };
        CompletionItem {
            kind: Some(kind),
            detail: Some(completion.detail).filter(|detail| !detail.is_empty()),
            sort_text: Some(format!("{nth:04}")),
            // Some clients filter by nothing else where there is an edit.
            filter_text: Some(completion.label.clone()),
            insert_text_format: snippet.is_some().then_some(InsertTextFormat::SNIPPET),
            text_edit: Some(CompletionTextEdit::Edit(TextEdit {
                range: text.lines(completion.span),
                new_text: snippet.unwrap_or_else(|| completion.label.clone()),
            })),
            label: completion.label,
            ..CompletionItem::default()
        }
    };
    let mut offered = barm_ide::completions(&view.world, &view.path, offset);
    let is_incomplete = barm_ide::is_cut_off(&offered);
    offered.retain(|it| it.kind != CompletionKind::Blank || view.client.snippets);
    let items = offered.into_iter().enumerate().map(item).collect();
    Ok(Some(match is_incomplete {
        true => CompletionResponse::List(CompletionList { is_incomplete, items }),
        false => CompletionResponse::Array(items),
    }))
}

pub(crate) fn inlay_hints(view: &View, params: &InlayHintParams) -> Answer<Option<Vec<InlayHint>>> {
    let Some(text) = view.text(&view.path).filter(|_| view.preferences.hints) else { return Ok(None) };
    let hints = barm_ide::hints(&view.world, &view.path, text.span(params.range));
    let hint = |hint: barm_ide::Hint| InlayHint {
        position: text.position(hint.at as usize),
        label: InlayHintLabel::String(hint.text),
        kind: None,
        text_edits: None,
        tooltip: Some(InlayHintTooltip::MarkupContent(markup(view.client, hint.more))),
        padding_left: Some(true),
        padding_right: None,
        data: None,
    };
    Ok(Some(hints.into_iter().map(hint).collect()))
}

pub(crate) fn code_lenses(view: &View, _: &CodeLensParams) -> Answer<Option<Vec<CodeLens>>> {
    let Some(text) = view.text(&view.path).filter(|_| view.preferences.lenses) else { return Ok(None) };
    let lens = |lens: barm_ide::Lens| CodeLens {
        range: text.lines(lens.span),
        // A line to be read: it runs nothing.
        command: Some(Command { title: lens.text, command: String::new(), arguments: None }),
        data: None,
    };
    Ok(Some(barm_ide::lenses(&view.world, &view.path).into_iter().map(lens).collect()))
}

// --- Names

pub(crate) fn definition(
    view: &View,
    params: &GotoDefinitionParams,
) -> Answer<Option<GotoDefinitionResponse>> {
    let Some(offset) = view.offset(params.text_document_position_params.position) else { return Ok(None) };
    let spots = barm_ide::definition(&view.world, &view.path, offset);
    let places: Vec<Location> =
        spots.iter().filter_map(|spot| view.location(&spot.path, spot.span)).collect();
    Ok((!places.is_empty()).then_some(GotoDefinitionResponse::Array(places)))
}

pub(crate) fn references(view: &View, params: &ReferenceParams) -> Answer<Option<Vec<Location>>> {
    let Some(offset) = view.offset(params.text_document_position.position) else { return Ok(None) };
    let Some((name, _)) = barm_ide::name_at(&view.world, &view.path, offset) else { return Ok(None) };
    let found = barm_ide::references(&view.world, &name);
    let wanted = found.iter().filter(|found| params.context.include_declaration || !found.role.declares());
    Ok(Some(wanted.filter_map(|found| view.location(&found.spot.path, found.spot.span)).collect()))
}

pub(crate) fn highlights(
    view: &View,
    params: &DocumentHighlightParams,
) -> Answer<Option<Vec<DocumentHighlight>>> {
    let Some(offset) = view.offset(params.text_document_position_params.position) else { return Ok(None) };
    let Some(text) = view.text(&view.path) else { return Ok(None) };
    let Some((name, _)) = barm_ide::name_at(&view.world, &view.path, offset) else { return Ok(None) };
    let here =
        barm_ide::references(&view.world, &name).into_iter().filter(|found| found.spot.path == view.path);
    let highlight = |found: barm_ide::Reference| {
        let kind =
            if found.role.declares() { DocumentHighlightKind::WRITE } else { DocumentHighlightKind::READ };
        DocumentHighlight { range: text.lines(found.spot.span), kind: Some(kind) }
    };
    Ok(Some(here.map(highlight).collect()))
}

pub(crate) fn prepare_rename(
    view: &View,
    params: &TextDocumentPositionParams,
) -> Answer<Option<PrepareRenameResponse>> {
    let Some(offset) = view.offset(params.position) else { return Ok(None) };
    let Some((placeholder, span)) = barm_ide::name_at(&view.world, &view.path, offset) else {
        return Ok(None);
    };
    Ok(view.range(span).map(|range| PrepareRenameResponse::RangeWithPlaceholder { range, placeholder }))
}

pub(crate) fn rename(view: &View, params: &RenameParams) -> Answer<Option<WorkspaceEdit>> {
    let Some(offset) = view.offset(params.text_document_position.position) else { return Ok(None) };
    match barm_ide::rename(&view.world, &view.path, offset, &params.new_name) {
        Ok(files) => Ok(workspace_edit(view, &files)),
        Err(why) => Err(Error::invalid_params(why)),
    }
}

/// Edits as the client can take them: with the versions that they are meant for, where it knows versions.
pub(crate) fn workspace_edit(view: &View, files: &[FileEdits]) -> Option<WorkspaceEdit> {
    let edits = |file: &FileEdits| -> Option<Vec<TextEdit>> {
        let text = view.text(&file.path)?;
        let edit =
            |edit: &barm_syntax::Edit| TextEdit { range: text.lines(edit.span), new_text: edit.text.clone() };
        Some(file.edits.iter().map(edit).collect())
    };
    if view.client.versioned_edits {
        let document = |file: &FileEdits| {
            let version = view.version(&file.path);
            Some(TextDocumentEdit {
                text_document: OptionalVersionedTextDocumentIdentifier {
                    uri: view.url(&file.path)?,
                    version,
                },
                edits: edits(file)?.into_iter().map(OneOf::Left).collect(),
            })
        };
        let documents = files.iter().map(document).collect::<Option<Vec<_>>>()?;
        Some(WorkspaceEdit {
            document_changes: Some(DocumentChanges::Edits(documents)),
            ..WorkspaceEdit::default()
        })
    } else {
        let changes = files.iter().map(|file| Some((view.url(&file.path)?, edits(file)?)));
        Some(WorkspaceEdit {
            changes: Some(changes.collect::<Option<HashMap<_, _>>>()?),
            ..WorkspaceEdit::default()
        })
    }
}

// --- Shape

/// What a symbol is in the protocol's words; in those of its first version, unless the client knows the later ones.
const fn symbol_kind(kind: SymbolKind, late: bool) -> tower_lsp::lsp_types::SymbolKind {
    use tower_lsp::lsp_types::SymbolKind as Kind;
    match kind {
        SymbolKind::Strain => Kind::CLASS,
        SymbolKind::Culture if late => Kind::OBJECT,
        SymbolKind::Culture | SymbolKind::Harvest => Kind::VARIABLE,
        SymbolKind::Starter => Kind::FUNCTION,
        SymbolKind::Brew => Kind::MODULE,
        SymbolKind::Vessel if late => Kind::STRUCT,
        SymbolKind::Vessel => Kind::INTERFACE,
        SymbolKind::Day if late => Kind::EVENT,
        SymbolKind::Day => Kind::FIELD,
    }
}

pub(crate) fn document_symbols(
    view: &View,
    _: &DocumentSymbolParams,
) -> Answer<Option<DocumentSymbolResponse>> {
    let (Some(file), Some(text)) = (view.file(), view.text(&view.path)) else { return Ok(None) };
    let symbols = barm_ide::symbols(file);
    let late = view.client.late_symbol_kinds;
    if view.client.outline {
        return Ok(Some(DocumentSymbolResponse::Nested(
            symbols.iter().map(|symbol| nested(&text, symbol, late)).collect(),
        )));
    }
    let flat = symbols.iter().filter_map(|symbol| information(view, &view.path, symbol, late)).collect();
    Ok(Some(DocumentSymbolResponse::Flat(flat)))
}

fn nested(text: &Text, symbol: &Symbol, late: bool) -> DocumentSymbol {
    #[expect(deprecated, reason = "the field must be filled")]
    DocumentSymbol {
        name: symbol.name.clone(),
        detail: Some(symbol.detail.clone()).filter(|detail| !detail.is_empty()),
        kind: symbol_kind(symbol.kind, late),
        tags: None,
        deprecated: None,
        range: text.lines(symbol.span),
        selection_range: text.lines(symbol.name_span),
        children: Some(symbol.within.iter().map(|inner| nested(text, inner, late)).collect()),
    }
}

fn information(view: &View, path: &str, symbol: &Symbol, late: bool) -> Option<SymbolInformation> {
    #[expect(deprecated, reason = "the field must be filled")]
    Some(SymbolInformation {
        name: symbol.name.clone(),
        kind: symbol_kind(symbol.kind, late),
        tags: None,
        deprecated: None,
        location: view.location(path, symbol.name_span)?,
        container_name: Some(symbol.detail.clone()).filter(|detail| !detail.is_empty()),
    })
}

pub(crate) fn workspace_symbols(
    views: &[View],
    params: &WorkspaceSymbolParams,
) -> Answer<Option<Vec<SymbolInformation>>> {
    let found = views.iter().flat_map(|view| {
        let symbols = barm_ide::workspace_symbols(&view.world, &params.query).into_iter();
        let late = view.client.late_workspace_symbol_kinds;
        symbols.filter_map(move |(path, symbol)| information(view, &path, &symbol, late))
    });
    Ok(Some(found.collect()))
}

pub(crate) fn folding(view: &View, _: &FoldingRangeParams) -> Answer<Option<Vec<FoldingRange>>> {
    let (Some(file), Some(text)) = (view.file(), view.text(&view.path)) else { return Ok(None) };
    let fold = |span: Span| {
        let lines = text.lines(span);
        let is_comment = span.text(&file.text).starts_with('#');
        let columns = !view.client.lines_only_folding;
        FoldingRange {
            start_line: lines.start.line,
            start_character: columns.then_some(lines.start.character),
            end_line: lines.end.line,
            end_character: columns.then_some(lines.end.character),
            kind: Some(if is_comment { FoldingRangeKind::Comment } else { FoldingRangeKind::Region }),
            collapsed_text: None,
        }
    };
    Ok(Some(barm_ide::folds(file).into_iter().map(fold).collect()))
}

pub(crate) fn selection(view: &View, params: &SelectionRangeParams) -> Answer<Option<Vec<SelectionRange>>> {
    let (Some(file), Some(text)) = (view.file(), view.text(&view.path)) else { return Ok(None) };
    let around = |position: &Position| {
        let at = text.offset(*position);
        let spans = barm_ide::selection(file, Span::of(at..at).start);
        let outer = |inner: Option<SelectionRange>, span: &Span| {
            Some(SelectionRange { range: text.lines(*span), parent: inner.map(Box::new) })
        };
        let none = SelectionRange { range: Range { start: *position, end: *position }, parent: None };
        spans.iter().rev().fold(None, outer).unwrap_or(none)
    };
    Ok(Some(params.positions.iter().map(around).collect()))
}

pub(crate) fn links(view: &View, _: &DocumentLinkParams) -> Answer<Option<Vec<DocumentLink>>> {
    let (Some(file), Some(text)) = (view.file(), view.text(&view.path)) else { return Ok(None) };
    let place = view.url(&view.path).and_then(|uri| uri.to_file_path().ok());
    let Some(folder) = place.as_ref().and_then(|place| place.parent()?.canonicalize().ok()) else {
        return Ok(Some(Vec::new()));
    };
    let root = view.root.as_ref().unwrap_or(&folder);
    let link = |(span, name): (Span, String)| {
        // No link leads out of the workspace.
        let target =
            folder.join(name).canonicalize().ok().filter(|path| path.starts_with(root) && path.is_file())?;
        let target = Url::from_file_path(target).ok();
        Some(DocumentLink { range: text.lines(span), target, tooltip: None, data: None })
    };
    Ok(Some(barm_ide::links(file).into_iter().filter_map(link).collect()))
}

// --- Formatting

/// The edits that make one text of another, as few lines as a common head and tail leave.
fn replacing(text: &Text, old: &str, new: &str) -> Vec<TextEdit> {
    if old == new {
        return Vec::new();
    }
    let old_lines: Vec<&str> = old.split_inclusive('\n').collect();
    let new_lines: Vec<&str> = new.split_inclusive('\n').collect();
    let head = old_lines.iter().zip(&new_lines).take_while(|(a, b)| a == b).count();
    let rest = old_lines.len().min(new_lines.len()) - head;
    let tail =
        old_lines.iter().rev().zip(new_lines.iter().rev()).take(rest).take_while(|(a, b)| a == b).count();
    let bytes = |lines: &[&str]| lines.iter().map(|line| line.len()).sum::<usize>();
    let start = bytes(old_lines.get(..head).unwrap_or(&[]));
    let end = old.len() - bytes(old_lines.get(old_lines.len() - tail..).unwrap_or(&[]));
    let new_text = new_lines.get(head..new_lines.len() - tail).unwrap_or(&[]).concat();
    vec![TextEdit { range: text.lines(Span::of(start..end)), new_text }]
}

pub(crate) fn formatting(view: &View, _: &DocumentFormattingParams) -> Answer<Option<Vec<TextEdit>>> {
    let (Some(file), Some(text)) = (view.file(), view.text(&view.path)) else { return Ok(None) };
    Ok(Some(replacing(&text, &file.text, &barm_syntax::format(&file.text))))
}

pub(crate) fn range_formatting(
    view: &View,
    params: &DocumentRangeFormattingParams,
) -> Answer<Option<Vec<TextEdit>>> {
    let (Some(file), Some(text)) = (view.file(), view.text(&view.path)) else { return Ok(None) };
    Ok(Some(text_edits(&text, barm_ide::set_lines(file, text.span(params.range)))))
}

/// What a line that was ended looks like, and where the next begins.
pub(crate) fn on_type(view: &View, params: &DocumentOnTypeFormattingParams) -> Answer<Option<Vec<TextEdit>>> {
    let (Some(file), Some(text)) = (view.file(), view.text(&view.path)) else { return Ok(None) };
    let Some(offset) = view.offset(params.text_document_position.position) else { return Ok(None) };
    Ok(Some(text_edits(&text, barm_ide::line_ended(file, offset))))
}

fn text_edits(text: &Text, edits: Vec<barm_syntax::Edit>) -> Vec<TextEdit> {
    let edit = |edit: barm_syntax::Edit| TextEdit { range: text.lines(edit.span), new_text: edit.text };
    edits.into_iter().map(edit).collect()
}

// --- Family

fn item(view: &View, relative: &Relative) -> Option<TypeHierarchyItem> {
    let location = view.location(&relative.spot.path, relative.spot.span)?;
    let kind = match relative.kind {
        LotKind::Culture => SymbolKind::Culture,
        LotKind::Starter => SymbolKind::Starter,
        LotKind::Brew => SymbolKind::Brew,
        LotKind::Harvest => SymbolKind::Harvest,
    };
    Some(TypeHierarchyItem {
        name: relative.name.clone(),
        kind: symbol_kind(kind, view.client.late_symbol_kinds),
        tags: None,
        detail: Some(relative.kind.word().to_owned()),
        uri: location.uri,
        range: location.range,
        selection_range: location.range,
        data: None,
    })
}

pub(crate) fn family(
    view: &View,
    params: &TypeHierarchyPrepareParams,
) -> Answer<Option<Vec<TypeHierarchyItem>>> {
    let Some(offset) = view.offset(params.text_document_position_params.position) else { return Ok(None) };
    let found = barm_ide::relative_at(&view.world, &view.path, offset);
    Ok(found.and_then(|relative| item(view, &relative)).map(|item| vec![item]))
}

pub(crate) fn parents(
    view: &View,
    params: &TypeHierarchySupertypesParams,
) -> Answer<Option<Vec<TypeHierarchyItem>>> {
    let found = barm_ide::parents(&view.world, &view.path, &params.item.name);
    Ok(Some(found.iter().filter_map(|relative| item(view, relative)).collect()))
}

pub(crate) fn children(
    view: &View,
    params: &TypeHierarchySubtypesParams,
) -> Answer<Option<Vec<TypeHierarchyItem>>> {
    let found = barm_ide::children(&view.world, &view.path, &params.item.name);
    Ok(Some(found.iter().filter_map(|relative| item(view, relative)).collect()))
}
