//! What contains a cursor, found from the tokens before it. It must work while the text is broken, which is when
//! people need completions.

use crate::schema::{Block, FieldId};
use crate::syntax::{TextRange, Token as Scanned, TokenKind, tokens as scan};

/// The context of a cursor.
#[derive(Debug)]
pub(super) struct Cursor<'a> {
    pub text: &'a str,
    pub offset: usize,
    /// The bodies that contain it, outermost first.
    pub open: Vec<Open<'a>>,
    /// The tokens before it in its statement.
    pub before: Vec<Token<'a>>,
}

/// A body whose brace is open at the cursor.
#[derive(Clone, Debug)]
pub(super) struct Open<'a> {
    pub level: Level,
    /// The words before the brace: `part slave sl_22`, `slave sl_22`.
    pub head: Vec<Token<'a>>,
}

#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Level {
    System,
    /// A block's body or a part's.
    Block,
    Curve,
}

#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Token<'a> {
    pub kind: Kind,
    pub start: usize,
    pub text: &'a str,
}

#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Kind {
    Word,
    Number,
    Text,
    Symbol,
}

impl Token<'_> {
    pub fn end(&self) -> usize {
        self.start + self.text.len()
    }

    pub fn is_word(&self) -> bool {
        self.kind == Kind::Word
    }

    pub fn is(&self, symbol: &str) -> bool {
        self.kind == Kind::Symbol && self.text == symbol
    }
}

/// A text in quotes that contains a cursor.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Quote {
    /// The text between the quotes. If the second quote is missing, it ends where other text goes on.
    pub inner: TextRange,
    /// Whether the second quote is there.
    pub closed: bool,
}

impl Quote {
    /// The text in quotes around an offset.
    pub fn at(text: &str, offset: u32) -> Option<Self> {
        let offset = offset as usize;
        let before = text.get(..offset)?;
        // A text ends with its line, and so does a comment.
        let start = before.rfind(['\n', '\r']).map_or(0, |at| at + 1);
        let line = text[start..].split(['\n', '\r']).next()?;
        let tokens = scan(line);
        let is_unbalanced = tokens.iter().any(|token| token.is(TokenKind::OpenText));
        let token = tokens.into_iter().find(|token| {
            let (from, to) = (
                start + token.range.start as usize,
                start + token.range.end as usize,
            );
            match token.kind {
                TokenKind::Text => from < offset && offset < to,
                TokenKind::OpenText => from < offset && offset <= to,
                _ => false,
            }
        })?;
        let (from, to) = (
            start + token.range.start as usize + 1,
            start + token.range.end as usize,
        );
        let is_text = token.kind == TokenKind::Text;
        let inside = &text[offset..to - usize::from(is_text)];
        let closed = is_text && !is_borrowed(inside, &line[to - start..], is_unbalanced);
        let end = match closed {
            true => to - 1,
            false => offset + unclosed_end(inside),
        };
        Some(Self {
            inner: TextRange::new(from, end),
            closed,
        })
    }

    /// Where its first quote is.
    pub fn start(self) -> u32 {
        self.inner.start - 1
    }
}

const BLANKS: [char; 3] = [' ', '\t', '\u{00A0}'];

/// Whether the quote that ends a text is really the first quote of the next field: `"|  inlet = "3/8-24 …"`. `inside`
/// is the text from the cursor to that quote, `behind` the text after it.
fn is_borrowed(inside: &str, behind: &str, is_unbalanced: bool) -> bool {
    let rest = behind.trim_start_matches(BLANKS);
    let is_next = rest.len() < behind.len() && begins_field(rest);
    let goes_on = rest.is_empty() || rest.starts_with(['#', '}', ',']) || is_next;
    // The next field's value may begin with quotes of its own.
    let lead = inside.trim_end_matches('"');
    let names_next = lead.trim_end_matches(BLANKS).ends_with('=');
    names_next && unclosed_end(inside) < inside.len() && (is_unbalanced || !goes_on)
}

/// How much of the text after a cursor belongs to an unclosed text. It ends before the next field, a comment or the
/// line's end.
fn unclosed_end(inside: &str) -> usize {
    let ends_at = |at: usize| {
        let rest = inside[at..].trim_start_matches(|c| BLANKS.contains(&c) || c == ',');
        let has_gap = rest.len() < inside.len() - at;
        rest.is_empty() || has_gap && (rest.starts_with('#') || begins_field(rest))
    };
    let mut places = inside.char_indices().map(|(at, _)| at);
    places.find(|at| ends_at(*at)).unwrap_or(inside.len())
}

/// Whether `name =` begins a text.
pub(super) fn begins_field(text: &str) -> bool {
    let end = text.find(|c| !in_name(c)).unwrap_or(text.len());
    let is_name = text.starts_with(|c: char| c.is_alphabetic() || c == '_');
    is_name && text[end..].trim_start().starts_with('=')
}

impl<'a> Cursor<'a> {
    /// The context of the cursor at an offset; `None` inside comments and quotes.
    pub fn new(text: &'a str, offset: u32) -> Option<Self> {
        let mut offset = (offset as usize).min(text.len());
        while !text.is_char_boundary(offset) {
            offset -= 1;
        }
        let mut cursor = Self {
            text,
            offset,
            open: Vec::new(),
            before: Vec::new(),
        };
        let tokens = scan(&text[..offset]);
        for (at, token) in tokens.iter().enumerate() {
            cursor.take(*token, &tokens[..at], tokens.get(at + 1))?;
        }
        Some(cursor)
    }

    /// Takes a token; `None` if the cursor is inside it.
    fn take(&mut self, token: Scanned, before: &[Scanned], next: Option<&Scanned>) -> Option<()> {
        let ends_here = token.range.end as usize == self.offset;
        let is_in = |level| self.open.last().is_some_and(|open| open.level == level);
        match token.kind {
            TokenKind::Newline => {
                if !is_in(Level::Curve) {
                    self.before.clear();
                }
            }
            TokenKind::Comment | TokenKind::OpenText if ends_here => return None,
            TokenKind::Comment => {}
            TokenKind::Text | TokenKind::OpenText => self.push(Kind::Text, token.range),
            TokenKind::OpenBrace => self.opened(),
            TokenKind::CloseBrace => {
                self.open.pop();
                self.before.clear();
            }
            TokenKind::Comma if is_in(Level::Block) => self.before.clear(),
            TokenKind::Number => self.push(Kind::Number, token.range),
            TokenKind::Word => {
                let starts_line = before.last().is_none_or(|last| last.is(TokenKind::Newline));
                let is_file_word = matches!(token.range.of(self.text), "use" | "part" | "system");
                // A statement that only a file can hold: any body still open was never closed.
                if starts_line && is_file_word && !ends_here {
                    self.open.clear();
                }
                // The next `name =` on a line begins a new field.
                let begins_field = next.is_some_and(|next| next.is(TokenKind::Equals));
                let in_block = self
                    .open
                    .last()
                    .is_some_and(|open| open.level == Level::Block);
                if in_block && begins_field {
                    self.before.clear();
                }
                self.push(Kind::Word, token.range);
            }
            TokenKind::OpenParenthesis
            | TokenKind::CloseParenthesis
            | TokenKind::Comma
            | TokenKind::Equals
            | TokenKind::Symbol
            | TokenKind::Stray => self.push(Kind::Symbol, token.range),
        }
        Some(())
    }

    fn push(&mut self, kind: Kind, range: TextRange) {
        self.before.push(Token {
            kind,
            start: range.start as usize,
            text: range.of(self.text),
        });
    }

    fn opened(&mut self) {
        let head = std::mem::take(&mut self.before);
        let first = head.first().map_or("", |token| token.text);
        let level = match first {
            "system" => Level::System,
            "part" => Level::Block,
            // A block inside a block: the brace of the outer one was never closed.
            _ if Block::named(first).is_some() => {
                while self
                    .open
                    .last()
                    .is_some_and(|open| open.level != Level::System)
                {
                    self.open.pop();
                }
                Level::Block
            }
            _ if self
                .open
                .last()
                .is_some_and(|open| open.level == Level::Block) =>
            {
                // The statement continues after the curve's end, but nothing can be completed there.
                Level::Curve
            }
            _ => Level::Block,
        };
        self.open.push(Open { level, head });
    }

    // ---- what is typed ----

    /// The word around the cursor; empty if there is none.
    pub fn word_span(&self, takes: fn(char) -> bool) -> TextRange {
        let before = &self.text[..self.offset];
        let start = before.rfind(|c| !takes(c)).map_or(0, |at| {
            at + before[at..].chars().next().map_or(1, char::len_utf8)
        });
        let behind = &self.text[self.offset..];
        let end = self.offset + behind.find(|c| !takes(c)).unwrap_or(behind.len());
        TextRange::new(start, end)
    }

    /// The tokens of the statement before the word at the cursor.
    pub fn before_word(&self, word: TextRange) -> &[Token<'a>] {
        let count = self
            .before
            .iter()
            .position(|token| token.end() > word.start as usize)
            .unwrap_or(self.before.len());
        &self.before[..count]
    }

    /// The innermost body.
    pub fn innermost(&self) -> Option<&Open<'a>> {
        self.open.last()
    }

    /// The field whose curve contains the cursor.
    pub fn curve_field(&self) -> Option<FieldId> {
        let [.., body, curve] = self.open.as_slice() else {
            return None;
        };
        let is_part = body.head.first().is_some_and(|token| token.text == "part");
        let block = body.head.get(usize::from(is_part))?;
        let field = curve.head.first()?;
        (curve.level == Level::Curve).then(|| FieldId::named(block.text, field.text))?
    }

    /// The word that begins the system around the cursor.
    pub fn system_head(&self) -> Option<&Token<'a>> {
        let system = self.open.iter().find(|open| open.level == Level::System)?;
        system.head.get(1)
    }
}

/// Whether a character may be in a name: letters, digits and underscores.
pub(super) fn in_name(c: char) -> bool {
    c.is_alphanumeric() || c == '_'
}

/// Whether a character may be in the name of a check.
pub(super) fn in_check(c: char) -> bool {
    in_name(c) || c == '-'
}

/// Whether a character may be in a unit.
pub(super) fn in_unit(c: char) -> bool {
    in_name(c) || matches!(c, '*' | '/' | '^' | '·' | '²' | '³' | '%' | '°' | '"')
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(marked: &str) -> Option<(String, String)> {
        let offset = marked.find('|').unwrap();
        let text = marked.replacen('|', "", 1);
        let cursor = Cursor::new(&text, offset as u32)?;
        let open: Vec<&str> = cursor.open.iter().map(|o| o.head[0].text).collect();
        let before: Vec<&str> = cursor.before.iter().map(|t| t.text).collect();
        Some((open.join(" "), before.join(" ")))
    }

    #[test]
    fn bodies_and_statements_are_seen_through_broken_text() {
        for (text, open, before) in [
            ("sys|", "", "sys"),
            ("system a {\n  slave { bo|", "system slave", "bo"),
            (
                "system a {\n slave { bore = 7/8 in st|",
                "system slave",
                "bore = 7 / 8 in st",
            ),
            (
                "system a {\n slave { bore = 7/8 in  stroke = 3|",
                "system slave",
                "stroke = 3",
            ),
            ("system a {\n slave { bore = 7/8 in, |", "system slave", ""),
            (
                "system a {\n slave {\n  bore =\n fork {\n |",
                "system fork",
                "",
            ),
            ("system a {\n slave { bore =\nsystem b {\n |", "system", ""),
            ("system a \"t\" from b {} part slave x { |", "part", ""),
            (
                "part cover c { release_load = curve { 0 mm: 1 N,\n 2 |",
                "part release_load",
                "0 mm : 1 N , 2",
            ),
            (
                "system a { slave { bore = 7/8\" |",
                "system slave",
                "bore = 7 / 8 \"",
            ),
        ] {
            let got = at(text);
            assert_eq!(got, Some((open.to_owned(), before.to_owned())), "{text}");
        }
    }

    /// The text between `<` and `>` is what is found; the cursor is at `|`.
    #[test]
    fn a_text_around_the_cursor_is_found_without_its_second_quote() {
        for (marked, closed) in [
            ("number = \"<|>\"", true),
            ("number = \"<ab|c>\"  price = 3 USD", true),
            ("number = \"<7/8\"\"| bolt>\"", true),
            ("number = \"<\"|\">\"", true),
            ("note = \"<set |a = >\"", true),
            ("number = \"<|>", false),
            ("number = \"<|>  price = 3 USD }", false),
            ("number = \"<|ab>, price = 3 USD }", false),
            ("number = \"<ab |>}", false),
            ("number = \"<a|b c>  # as on the box", false),
            (
                "inlet = \"<|>  outlet = \"3/8-24 inverted flare\"  price = 3 USD",
                false,
            ),
            (
                "inlet = \"<3/8|>  outlet = \"M10x1 banjo\"  number = \"\" }",
                false,
            ),
        ] {
            let text = marked.replace(['<', '>', '|'], "");
            let place = |mark| {
                let before = &marked[..marked.find(mark).unwrap()];
                before.replace(['<', '>', '|'], "").len()
            };
            let quote = Quote::at(&text, place('|') as u32).unwrap();
            let inner = TextRange::new(place('<'), place('>'));
            assert_eq!((quote.inner, quote.closed), (inner, closed), "{marked}");
        }
        for marked in [
            "number = |\"a\"",
            "number = \"a\"|",
            "bore = 7/8\"|",
            "# \"a|\"",
        ] {
            let at = marked.find('|').unwrap();
            assert_eq!(
                Quote::at(&marked.replace('|', ""), at as u32),
                None,
                "{marked}"
            );
        }
    }

    #[test]
    fn nothing_is_completed_in_comments_and_quotes() {
        for text in ["# sys|", "use \"pa|", "use \"pa|rts\"", "system a \"x|\" {"] {
            assert_eq!(at(text), None, "{text}");
        }
        assert!(at("use \"parts\"|").is_some());
    }
}
