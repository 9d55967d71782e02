//! Colours: all of a document's, those of a stretch of it, and what is new since they were told.

use std::collections::HashMap;
use std::sync::{Arc, Mutex, PoisonError};

use barm_ide::{Path, Token, TokenKind};
use tower_lsp::lsp_types::{
    Position, SemanticToken, SemanticTokenType, SemanticTokens, SemanticTokensDelta,
    SemanticTokensDeltaParams, SemanticTokensEdit, SemanticTokensFullDeltaResult, SemanticTokensParams,
    SemanticTokensRangeParams, SemanticTokensRangeResult, SemanticTokensResult,
};

use crate::text::Text;
use crate::view::{Answer, View};

const TOKENS: [(TokenKind, SemanticTokenType); 9] = [
    (TokenKind::Keyword, SemanticTokenType::KEYWORD),
    (TokenKind::Lot, SemanticTokenType::VARIABLE),
    (TokenKind::Strain, SemanticTokenType::CLASS),
    (TokenKind::Vessel, SemanticTokenType::STRUCT),
    (TokenKind::Quantity, SemanticTokenType::NUMBER),
    (TokenKind::Question, SemanticTokenType::OPERATOR),
    (TokenKind::Text, SemanticTokenType::STRING),
    (TokenKind::Word, SemanticTokenType::ENUM_MEMBER),
    (TokenKind::Comment, SemanticTokenType::COMMENT),
];

pub(crate) fn legend() -> Vec<SemanticTokenType> {
    TOKENS.iter().map(|(_, name)| name.clone()).collect()
}

/// What was told last of each open document: its name and the tokens.
#[derive(Debug, Clone, Default)]
pub(crate) struct Told(Arc<Mutex<HashMap<(usize, Path), Colours>>>);

#[derive(Debug, Clone)]
struct Colours {
    id: String,
    data: Arc<[SemanticToken]>,
}

impl Told {
    /// Nothing is kept of a document that is closed.
    pub(crate) fn forget(&self, house: usize, path: &Path) {
        self.0.lock().unwrap_or_else(PoisonError::into_inner).remove(&(house, Arc::clone(path)));
    }

    /// Keeps what is told now, and gives back what was told before.
    fn replace(&self, view: &View, colours: Colours) -> Option<Colours> {
        // Of a document that is not open nobody tells when it is closed.
        view.version(&view.path)?;
        let mut told = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        told.insert((view.house, Arc::clone(&view.path)), colours)
    }
}

fn encoded(text: &Text, tokens: impl IntoIterator<Item = Token>) -> Vec<SemanticToken> {
    let mut out = Vec::new();
    let mut last = Position::default();
    for token in tokens {
        let start = text.position(token.span.start as usize);
        let length = text.width(token.span.range());
        if length == 0 {
            continue;
        }
        let delta_line = start.line - last.line;
        let delta_start = if delta_line == 0 { start.character - last.character } else { start.character };
        let kind = TOKENS.iter().position(|(kind, _)| *kind == token.kind).unwrap_or(0);
        out.push(SemanticToken {
            delta_line,
            delta_start,
            length,
            token_type: u32::try_from(kind).unwrap_or(0),
            token_modifiers_bitset: u32::from(token.declares),
        });
        last = start;
    }
    out
}

/// All tokens of the document, kept for whoever asks next, and those that were told before.
fn all(view: &View) -> Option<(Colours, Option<Colours>)> {
    let (file, text) = (view.file()?, view.text(&view.path)?);
    let data = encoded(&text, barm_ide::tokens(file)).into();
    // Not the version: a file that is not open has none, and one that is opened again begins with the same.
    let colours = Colours { id: format!("{}.{}", view.house, view.world.stamp(&view.path)), data };
    let before = view.told.replace(view, colours.clone());
    Some((colours, before))
}

fn whole(colours: Colours) -> SemanticTokens {
    SemanticTokens { result_id: Some(colours.id), data: colours.data.to_vec() }
}

pub(crate) fn full(view: &View, _: &SemanticTokensParams) -> Answer<Option<SemanticTokensResult>> {
    Ok(all(view).map(|(colours, _)| SemanticTokensResult::Tokens(whole(colours))))
}

pub(crate) fn in_range(
    view: &View,
    params: &SemanticTokensRangeParams,
) -> Answer<Option<SemanticTokensRangeResult>> {
    let (Some(file), Some(text)) = (view.file(), view.text(&view.path)) else { return Ok(None) };
    let within = text.span(params.range);
    let here =
        barm_ide::tokens(file).into_iter().filter(|t| t.span.start < within.end && within.start < t.span.end);
    let data = encoded(&text, here);
    Ok(Some(SemanticTokensRangeResult::Tokens(SemanticTokens { result_id: None, data })))
}

/// What is new since what was told before; the whole, where that is not known.
pub(crate) fn delta(
    view: &View,
    params: &SemanticTokensDeltaParams,
) -> Answer<Option<SemanticTokensFullDeltaResult>> {
    let Some((colours, before)) = all(view) else { return Ok(None) };
    let Some(before) = before.filter(|before| before.id == params.previous_result_id) else {
        return Ok(Some(SemanticTokensFullDeltaResult::Tokens(whole(colours))));
    };
    let edits = edit(&before.data, &colours.data).into_iter().collect();
    let delta = SemanticTokensDelta { result_id: Some(colours.id), edits };
    Ok(Some(SemanticTokensFullDeltaResult::TokensDelta(delta)))
}

/// What makes one list of tokens of another: all between a common head and a common tail. Places count in numbers, five
/// a token.
fn edit(old: &[SemanticToken], new: &[SemanticToken]) -> Option<SemanticTokensEdit> {
    let head = old.iter().zip(new).take_while(|(a, b)| a == b).count();
    let rest = old.len().min(new.len()) - head;
    let tail = old.iter().rev().zip(new.iter().rev()).take(rest).take_while(|(a, b)| a == b).count();
    if head + tail == old.len() && old.len() == new.len() {
        return None;
    }
    let numbers = |tokens: usize| u32::try_from(tokens * 5).unwrap_or(u32::MAX);
    Some(SemanticTokensEdit {
        start: numbers(head),
        delete_count: numbers(old.len() - head - tail),
        data: Some(new.get(head..new.len() - tail).unwrap_or(&[]).to_vec()),
    })
}
