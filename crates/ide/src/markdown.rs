//! Log text in Markdown: nothing that somebody wrote into a log may be read as markup.

/// A text as a code span. What would end it, or what is not seen, is shown otherwise.
pub(crate) fn code(text: &str) -> String {
    let shown: String =
        text.chars().map(|c| if c.is_control() || is_directional(c) { '\u{fffd}' } else { c }).collect();
    let mut longest = 0;
    let mut run = 0;
    for c in shown.chars() {
        run = if c == '`' { run + 1 } else { 0 };
        longest = longest.max(run);
    }
    let fence = "`".repeat(longest + 1);
    let space = if longest > 0 { " " } else { "" };
    format!("{fence}{space}{shown}{space}{fence}")
}

/// A sentence of ours that may quote a log: what Markdown would read as markup is escaped, but for our own code spans.
pub(crate) fn plain(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut parts = text.split('`');
    let mut is_code = false;
    while let Some(part) = parts.next() {
        if is_code && parts.clone().next().is_some() {
            out.push_str(&code(part));
        } else {
            for c in part.chars() {
                if c.is_control() || is_directional(c) {
                    out.push('\u{fffd}');
                    continue;
                }
                if matches!(c, '\\' | '*' | '_' | '[' | ']' | '<' | '>' | '#' | '|' | '!' | '&') {
                    out.push('\\');
                }
                out.push(c);
            }
        }
        is_code = !is_code;
    }
    out
}

const fn is_directional(c: char) -> bool {
    matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{200e}' | '\u{200f}' | '\u{61c}')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_in_a_log_is_markup() {
        assert_eq!(code("a`b"), "`` a`b ``");
        assert_eq!(plain("write `18 °C` [x](command:y)"), "write `18 °C` \\[x\\](command:y)");
        assert!(!plain("\u{202e}\u{1b}[31m").contains(['\u{202e}', '\u{1b}']));
    }
}
