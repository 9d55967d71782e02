//! Lines and words for facts that are missing, to be filled in by whoever knows them: for an editor alone, as no program
//! can know what they say.

use barm_reckoning::{BlockId, Fact, Place, Season};
use barm_syntax::{Edit, Span};

use crate::Fix;

/// What can be added for a fact, each a choice of its own.
pub(crate) fn of(season: &Season, fact: Fact) -> Vec<Fix> {
    match fact {
        Fact::Behind(item, word) => {
            let end = Span::new(item.span.end, item.span.end);
            vec![blank(item, end, format!(" {word} "), format!("Add `{word}` to this line"))]
        }
        Fact::Before(item, word) => {
            vec![before(item, word)]
        }
        Fact::Count(item, lot) => {
            season.lot(lot).map(|lot| before(item, &format!("count {}", lot.name))).into_iter().collect()
        }
        fact => {
            season.lines_for(fact).into_iter().filter_map(|(block, word)| line(season, block, word)).collect()
        }
    }
}

fn before(item: Place, words: &str) -> Fix {
    let start = Span::new(item.span.start, item.span.start);
    blank(item, start, format!("{words} , "), format!("Add `{words}` before it"))
}

fn blank(item: Place, span: Span, text: String, title: String) -> Fix {
    Fix { title, file: item.file, edits: vec![Edit { span, text }], safe: false }
}

/// A line below the facts that stand in a block, in their columns.
fn line(season: &Season, id: BlockId, word: &str) -> Option<Fix> {
    let (block, start) = season.block(id)?;
    let text = &*season.source(id.file)?.text;
    let facts = block.statements.iter().filter(|statement| statement.day.is_none());
    let last = facts.map(|statement| statement.span.end).max();
    let at = start + last.unwrap_or(0).max(block.header.end);
    let (before, behind) = text.split_at_checked(at as usize)?;
    let line_start = before.rfind('\n').map_or(0, |at| at + 1);
    let length = behind.find(['\n', '\r']).unwrap_or(behind.len());
    let above = last.map_or("", |_| text.get(line_start..).unwrap_or(""));
    let (indent, column) = columns(above).unwrap_or(("  ", 0));
    let newline = if text.contains("\r\n") { "\r\n" } else { "\n" };
    let width = column.max(word.len() + 1);
    let end = at + Span::of(0..length).end;
    let title = format!("Add `{word}` to `{}`", block.name.as_ref()?.text);
    let place = Place { file: id.file, span: Span::new(end, end) };
    Some(blank(place, place.span, format!("{newline}{indent}{word:<width$}"), title))
}

/// How far a line is indented, and how far behind that its second word stands.
fn columns(line: &str) -> Option<(&str, usize)> {
    let line = line.lines().next()?;
    let content = line.trim_start();
    let indent = line.get(..line.len() - content.len())?;
    let word = content.find(char::is_whitespace)?;
    let gap = content.get(word..)?.find(|c: char| !c.is_whitespace())?;
    Some((indent, word + gap))
}
