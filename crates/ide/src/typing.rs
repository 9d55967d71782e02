//! What an editor does by itself while somebody types.

use barm_syntax::ast::BlockKind;
use barm_syntax::{Edit, Span, format};

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
    let Some(placed) = block_at(file, Span::of(above..above).start) else { return edits };
    let block = Span::new(placed.start, placed.start + placed.block.len).text(&file.text);
    let formatted = format(block);
    let lines = paired(block, &formatted);
    let at = above - placed.start as usize;
    let Some(index) = lines.iter().position(|line| line.start == at) else { return edits };
    let mut indent = None;
    for (nth, line) in lines.get(..=index).unwrap_or(&[]).iter().enumerate().rev() {
        if nth == index {
            indent = indentation(line.new, placed.block.kind);
        } else if line.old == line.new || !line.old.contains('#') {
            // Comments of neighbouring lines stand below one another; what else stands above was set before.
            break;
        }
        if line.old != line.new {
            let from = placed.start as usize + line.start;
            edits.push(Edit { span: Span::of(from..from + line.old.len()), text: line.new.to_owned() });
        }
    }
    edits.reverse();
    edits.extend(indent.and_then(|indent| indented(file, start + 1, indent)));
    edits
}

/// A line of a text, and what the formatter makes of it.
struct Paired<'t> {
    start: usize,
    old: &'t str,
    new: &'t str,
}

/// The lines of a text beside those of the formatter, which leaves out nothing but the second of two blank lines.
fn paired<'t>(old: &'t str, new: &'t str) -> Vec<Paired<'t>> {
    let mut new = new.split('\n').map(|line| line.trim_end_matches('\r'));
    let mut out = Vec::new();
    let (mut start, mut after_blank) = (0, false);
    for line in old.split('\n') {
        let content = line.trim_end_matches('\r');
        let is_blank = content.trim().is_empty();
        if !(is_blank && after_blank) {
            out.extend(new.next().map(|new| Paired { start, old: content, new }));
        }
        after_blank = is_blank;
        start += line.len() + 1;
    }
    out
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
