//! Our Markdown for clients that show it as it is written.

use pulldown_cmark::{Event, Options, Parser, Tag, TagEnd};

/// The words of a Markdown text without its marks: paragraphs apart, items behind dots, cells of a table apart.
pub(crate) fn plain(markdown: &str) -> String {
    let mut out = String::new();
    let mut depth = 0_usize;
    for event in Parser::new_ext(markdown, Options::ENABLE_TABLES) {
        match event {
            Event::Text(text) | Event::Code(text) => out.push_str(&text),
            Event::SoftBreak => out.push(' '),
            Event::HardBreak => out.push('\n'),
            Event::Start(Tag::List(_)) => {
                depth += 1;
                break_after(&mut out, 1);
            }
            Event::End(TagEnd::List(_)) => {
                depth -= 1;
                break_after(&mut out, if depth == 0 { 2 } else { 1 });
            }
            Event::Start(Tag::Item) => {
                break_after(&mut out, 1);
                out.push_str(&"  ".repeat(depth - 1));
                out.push_str("• ");
            }
            Event::End(TagEnd::TableCell) => out.push_str("   "),
            Event::End(TagEnd::TableRow | TagEnd::TableHead) => break_after(&mut out, 1),
            Event::End(TagEnd::Item) => break_after(&mut out, 1),
            Event::End(TagEnd::Paragraph) if depth > 0 => break_after(&mut out, 1),
            Event::End(TagEnd::Paragraph | TagEnd::Heading(_) | TagEnd::CodeBlock | TagEnd::Table) => {
                break_after(&mut out, 2);
            }
            _ => {}
        }
    }
    out.truncate(out.trim_end().len());
    out
}

/// Ends the text in so many line ends, and in no other white space.
fn break_after(out: &mut String, ends: usize) {
    let length = out.trim_end().len();
    let had = out.get(length..).unwrap_or("").matches('\n').count();
    out.truncate(length);
    if !out.is_empty() {
        out.push_str(&"\n".repeat(ends.max(had)));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_mark_is_left() {
        let markdown = "# underpitched\n\nFewer *cells* than\nthe **wort** wants, `a|b`.\n\n- one \\*\n  - `` in`side ``\n- two\n\n\
                        | a | b |\n| --- | --- |\n| 1 | 2 |\n\n---\n```barm\nbrew a\n  wort 21 L\n```\nend";
        let wanted = "underpitched\n\nFewer cells than the wort wants, a|b.\n\n• one *\n  • in`side\n• two\n\n\
                      a   b\n1   2\n\nbrew a\n  wort 21 L\n\nend";
        assert_eq!(plain(markdown), wanted);
    }
}
