//! Log text where it may be obeyed: nothing that somebody wrote into a log may be read as markup, or move what a person
//! sees.

/// Whether a character must not be shown as it is: it moves the cursor, turns the direction of the line, or hides.
#[must_use]
pub fn hidden(c: char) -> bool {
    c.is_control()
        || matches!(c,
            '\u{61C}' | '\u{200B}' | '\u{200E}' | '\u{200F}' | '\u{2028}'..='\u{202E}' | '\u{2060}'..='\u{206F}'
            | '\u{FEFF}' | '\u{FFFE}' | '\u{FFFF}' | '\u{E0000}'..='\u{E007F}')
}

/// A text as a Markdown code span. What would end it, or what is not seen, is shown otherwise.
#[must_use]
pub fn code(text: &str) -> String {
    let shown: String = text.chars().map(|c| if hidden(c) { '\u{fffd}' } else { c }).collect();
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

/// A sentence of ours that may quote a log, as Markdown: what Markdown would read as markup is escaped, but for our own code spans.
#[must_use]
pub fn plain(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut parts = text.split('`');
    let mut is_code = false;
    while let Some(part) = parts.next() {
        if is_code && parts.clone().next().is_some() {
            out.push_str(&code(part));
        } else {
            for c in part.chars() {
                if hidden(c) {
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
