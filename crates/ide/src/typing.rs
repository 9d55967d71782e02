//! What an editor does by itself while somebody types.

use barm_syntax::ast::BlockKind;
use barm_syntax::{Edit, FormattedLine, Span, format_lines};

use crate::at::{block_at, length};
use crate::world::File;

/// Columns of a fact, and of an event below its day.
const FACT: usize = 2;
const EVENT: usize = 4;

/// After a line has been ended, `offset` being where the cursor stands in the next: the line above set as the formatter
/// sets it, its comment below the comments above it, and the new line indented as what is written there next.
#[must_use]
pub fn line_ended(file: &File, offset: u32) -> Vec<Edit> {
    let mut edits = Vec::new();
    let Some(start) = file.text.get(..offset as usize).and_then(|before| before.rfind('\n')) else {
        return edits;
    };
    let Some(above) = file.text.get(..start).map(|before| before.rfind('\n').map_or(0, |at| at + 1)) else {
        return edits;
    };
    let above = Span::of(above..above).start;
    let Some(placed) = block_at(file, above) else { return edits };
    let block = Span::new(placed.start, placed.start + placed.block.len).text(&file.text);
    let lines = format_lines(block);
    let Some(index) = lines.iter().position(|line| line.next > above - placed.start) else {
        return edits;
    };
    let mut indent = None;
    for (nth, line) in lines.get(..=index).unwrap_or(&[]).iter().enumerate().rev() {
        let Some(new) = &line.text else { continue };
        let old = line.span.text(block);
        if nth == index {
            indent = indentation(new, placed.block.kind);
        } else if old == new || !old.contains('#') {
            // Comments of neighbouring lines stand below one another; what else stands above was set before.
            break;
        }
        edits.extend(set(line, block, placed.start));
    }
    edits.reverse();
    edits.extend(indent.and_then(|indent| indented(file, start + 1, indent)));
    edits
}

/// The lines that a stretch of a file touches, set as the formatter sets them. Columns are those of the whole file, and no
/// other line is touched.
#[must_use]
pub fn set_lines(file: &File, within: Span) -> Vec<Edit> {
    let lines = format_lines(&file.text).into_iter();
    // Where a stretch ends at the start of a line, that line is no part of it.
    let touched = |line: &FormattedLine| {
        within.start < line.next.max(line.span.end + 1)
            && (line.span.start < within.end || line.span.start == within.start)
    };
    lines.filter(touched).filter_map(|line| set(&line, &file.text, 0)).collect()
}

/// What makes a line that of the formatter; nothing where it is already.
fn set(line: &FormattedLine, text: &str, offset: u32) -> Option<Edit> {
    match &line.text {
        Some(new) if line.span.text(text) == new => None,
        Some(new) => Some(Edit { span: line.span.shifted(offset), text: new.clone() }),
        None => {
            Some(Edit { span: Span::new(line.span.start, line.next).shifted(offset), text: String::new() })
        }
    }
}

/// How far in what follows a line stands; `None` where anything may follow.
fn indentation(line: &str, block: BlockKind) -> Option<usize> {
    let body = line.trim_start();
    let own = line.len() - body.len();
    match () {
        () if body.is_empty() || body.starts_with('#') => None,
        () if own == 0 && !matches!(block, BlockKind::Unknown | BlockKind::Loose) => Some(FACT),
        () if body.starts_with("on ") => Some(EVENT),
        () => Some(own),
    }
}

/// Indents an empty line.
fn indented(file: &File, start: usize, columns: usize) -> Option<Edit> {
    let line = file.text.get(start..)?.split('\n').next()?.trim_end_matches('\r');
    let wanted = " ".repeat(columns);
    (line.trim().is_empty() && line != wanted).then(|| Edit {
        span: Span::new(Span::of(start..start).start, Span::of(start..start).start + length(line)),
        text: wanted,
    })
}
