//! Cuts a text into tokens: just enough to see where statements begin and end.

use super::TextRange;

/// What a token is.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum TokenKind {
    /// Letters, digits and underscores, beginning with a letter or an underscore.
    Word,
    /// Digits and points.
    Number,
    /// A text in quotes, with its closing quote.
    Text,
    /// A text whose closing quote is missing; it ends with its line.
    OpenText,
    /// `{`
    OpenBrace,
    /// `}`
    CloseBrace,
    /// `(`
    OpenParenthesis,
    /// `)`
    CloseParenthesis,
    /// `,`
    Comma,
    /// `=`
    Equals,
    /// Any other character that a statement may hold.
    Symbol,
    /// A character that belongs nowhere in a spec.
    Stray,
    /// From a `#` to the end of the line, without the line ending.
    Comment,
    /// A line ending: `\n`, `\r\n` or `\r`.
    Newline,
}

/// One token and its place.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Token {
    /// What it is.
    pub kind: TokenKind,
    /// Where it is in the text.
    pub range: TextRange,
}

impl Token {
    /// Whether it is of a kind.
    pub fn is(self, kind: TokenKind) -> bool {
        self.kind == kind
    }
}

/// Cuts a text into tokens, in one pass. Blanks are dropped. Never fails, whatever the text.
pub fn tokens(text: &str) -> Vec<Token> {
    let mut scanner = Scanner {
        text,
        at: if text.starts_with('\u{FEFF}') { 3 } else { 0 },
        tokens: Vec::with_capacity(text.len() / 4),
    };
    while scanner.step() {}
    scanner.tokens
}

struct Scanner<'a> {
    text: &'a str,
    at: usize,
    tokens: Vec<Token>,
}

impl Scanner<'_> {
    fn step(&mut self) -> bool {
        use TokenKind as K;
        let start = self.at;
        let Some(c) = self.text[start..].chars().next() else {
            return false;
        };
        self.at += c.len_utf8();
        let kind = match c {
            ' ' | '\t' | '\u{00A0}' => return true,
            '\n' => K::Newline,
            '\r' => {
                if self.text[self.at..].starts_with('\n') {
                    self.at += 1;
                }
                K::Newline
            }
            '#' => {
                self.skip(|c| c != '\n' && c != '\r');
                K::Comment
            }
            '"' if self.is_inch_mark(start) => K::Symbol,
            '"' => return self.quoted(start),
            '{' => K::OpenBrace,
            '}' => K::CloseBrace,
            '(' => K::OpenParenthesis,
            ')' => K::CloseParenthesis,
            ',' => K::Comma,
            '=' => K::Equals,
            c if c.is_ascii_digit() => {
                self.skip(|c| c.is_ascii_digit() || c == '.');
                K::Number
            }
            c if c.is_alphabetic() || c == '_' => {
                self.skip(|c| c.is_alphanumeric() || c == '_');
                K::Word
            }
            '+' | '-' | '*' | '/' | '^' | '<' | '>' | ':' | '.' | '%' | '±' | '·' | '×' | '²'
            | '³' | '°' | '″' | '”' | '′' | '\'' => K::Symbol,
            _ => K::Stray,
        };
        self.push(kind, start);
        true
    }

    /// A quote right behind a number is an inch mark, not the start of a text.
    fn is_inch_mark(&self, start: usize) -> bool {
        self.tokens
            .last()
            .is_some_and(|last| last.is(TokenKind::Number) && last.range.end as usize == start)
    }

    fn quoted(&mut self, start: usize) -> bool {
        self.skip(|c| !matches!(c, '"' | '\n' | '\r'));
        while self.text[self.at..].starts_with("\"\"") {
            self.at += 2;
            self.skip(|c| !matches!(c, '"' | '\n' | '\r'));
        }
        if self.text[self.at..].starts_with('"') {
            self.at += 1;
            self.push(TokenKind::Text, start);
        } else {
            // A brace that ends the line was hardly meant as part of the text; given back, it
            // keeps the rest of the file in shape.
            let line = self.text[start..self.at].trim_end();
            if line.len() > 1 && line.ends_with(['{', '}']) {
                self.at = start + line.len() - 1;
            }
            self.push(TokenKind::OpenText, start);
        }
        true
    }

    fn skip(&mut self, take: impl Fn(char) -> bool) {
        let rest = &self.text[self.at..];
        self.at += rest.find(|c| !take(c)).unwrap_or(rest.len());
    }

    fn push(&mut self, kind: TokenKind, start: usize) {
        self.tokens.push(Token {
            kind,
            range: TextRange::new(start, self.at),
        });
    }
}

#[cfg(test)]
mod tests {
    use super::{TokenKind as K, *};

    fn kinds(text: &str) -> Vec<K> {
        tokens(text).iter().map(|token| token.kind).collect()
    }

    #[test]
    fn an_inch_mark_is_not_a_text() {
        assert_eq!(
            kinds("bore = 7/8\" # x"),
            [
                K::Word,
                K::Equals,
                K::Number,
                K::Symbol,
                K::Number,
                K::Symbol,
                K::Comment
            ]
        );
        assert_eq!(kinds("s2 \"title\""), [K::Word, K::Text]);
    }

    #[test]
    fn an_unclosed_text_ends_with_its_line_before_a_brace() {
        assert_eq!(
            kinds("system a \"oops {\nx"),
            [
                K::Word,
                K::Word,
                K::OpenText,
                K::OpenBrace,
                K::Newline,
                K::Word
            ]
        );
    }

    #[test]
    fn characters_that_belong_nowhere_are_stray() {
        assert_eq!(kinds("\0$"), [K::Stray, K::Stray]);
        assert_eq!(
            kinds("\u{FEFF}a"),
            [K::Word],
            "a byte order mark is skipped"
        );
    }
}
