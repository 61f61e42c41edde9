//! Foreign text inside Markdown: it stays plain text.

use crate::faces::sanitize::{name, steers};

/// Text inside a line without any layout or meaning for the place where it is shown: no Markdown, no HTML, no link,
/// no mention, no reference to an issue.
pub fn plain(text: &str) -> String {
    /// An invisible character that does not break a line. Between a sign and the text after it, it takes away the
    /// sign's meaning.
    const JOINER: char = '\u{2060}';
    let mut out = String::with_capacity(text.len());
    let mut chars = text.chars().map(seen).peekable();
    let mut word = String::new();
    while let Some(c) = chars.next() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '\\' | '`' | '*' | '_' | '[' | ']' | '{' | '}' | '|' | '~' | '#' | '@' | '!' | '$'
            | '^' => {
                out.push('\\');
                out.push(c);
            }
            c => out.push(c),
        }
        let follows = chars.peek().is_some_and(|next| !next.is_whitespace());
        let signs = matches!(c, '@' | '#' | '!' | '$' | '~' | '%' | ':' | '^' | '&');
        if follows && (signs || c == '.' && word.eq_ignore_ascii_case("www")) {
            out.push(JOINER);
        }
        match c.is_alphanumeric() {
            true => word.push(c),
            false => word.clear(),
        }
    }
    out
}

/// Any text as code, also in a table.
pub fn code(text: &str) -> String {
    let text = name(&text.chars().map(seen).collect::<String>());
    let text = text.replace('|', "\u{00A6}");
    let longest = text.split(|c| c != '`').map(str::len).max().unwrap_or(0);
    let fence = "`".repeat(longest + 1);
    let pad = if text.is_empty() || text.starts_with(['`', ' ']) || text.ends_with(['`', ' ']) {
        " "
    } else {
        ""
    };
    format!("{fence}{pad}{text}{pad}{fence}")
}

/// A character that stays on its line and in its direction.
fn seen(c: char) -> char {
    match c {
        '\n' | '\r' | '\t' => ' ',
        // They hide.
        '\u{200B}'..='\u{200D}' | '\u{2060}'..='\u{2064}' | '\u{FEFF}' => {
            char::REPLACEMENT_CHARACTER
        }
        c if steers(c) => char::REPLACEMENT_CHARACTER,
        c => c,
    }
}

#[cfg(test)]
mod tests {
    use super::{code, plain};

    #[test]
    fn no_text_has_a_markdown_meaning() {
        for (text, shown) in [
            ("6.87 mm, 0.33 mm short", "6.87 mm, 0.33 mm short"),
            ("a|b\nc", "a\\|b c"),
            ("<b>&amp;</b>", "&lt;b&gt;&amp;\u{2060}amp;&lt;/b&gt;"),
            ("ask @someone", "ask \\@\u{2060}someone"),
            ("see #12", "see \\#\u{2060}12"),
            ("http://x.y", "http:\u{2060}//x.y"),
            ("www.x.y", "www.\u{2060}x.y"),
            ("[a](b) `c` *d*", "\\[a\\](b) \\`c\\` \\*d\\*"),
            ("\u{202E}x\u{7}", "\u{FFFD}x\u{FFFD}"),
        ] {
            assert_eq!(plain(text), shown);
        }
    }

    #[test]
    fn code_ends_where_it_should() {
        for (text, shown) in [
            ("a", "`a`"),
            ("a`b``c", "```a`b``c```"),
            ("`a", "`` `a ``"),
            ("", "`  `"),
            ("a|b\nc", "`a¦b c`"),
        ] {
            assert_eq!(code(text), shown);
        }
    }
}
