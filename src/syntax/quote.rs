//! Texts in quotes. A quote inside a text is written twice.

/// A text as the language writes it: `7/8" bolt` is `"7/8"" bolt"`.
pub fn quoted(text: &str) -> String {
    format!("\"{}\"", text.replace('"', "\"\""))
}

/// The text meant by what is written between quotes: a quote written twice is one.
pub(super) fn unquoted(inner: &str) -> String {
    inner.replace("\"\"", "\"")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::syntax::{TokenKind, tokens};
    use proptest::prelude::*;

    proptest! {
        /// Any text on one line can be written as one token, and is read back unchanged.
        #[test]
        fn any_text_can_be_written(text in "[^\n\r\u{FEFF}]{0,12}|[\"a ]{0,6}") {
            let written = quoted(&text);
            let tokens = tokens(&written);
            prop_assert_eq!(tokens.len(), 1, "{}", &written);
            prop_assert!(tokens[0].is(TokenKind::Text));
            prop_assert_eq!(unquoted(&written[1..written.len() - 1]), text);
        }
    }
}
