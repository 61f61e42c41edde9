//! What a cursor stands in, from the text alone: it must be known while the text is broken,
//! which is when people want it completed.

use crate::schema::Block;
use crate::syntax::TextRange;

/// Where a cursor stands.
#[derive(Debug)]
pub(super) struct Cursor<'a> {
    pub text: &'a str,
    pub offset: usize,
    /// The bodies that it stands in, outermost first.
    pub open: Vec<Open<'a>>,
    /// What stands before it of the statement that it stands in.
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

impl<'a> Cursor<'a> {
    /// What the cursor at an offset stands in; `None` inside of comments and quotes.
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
        let mut at = 0;
        while at < offset {
            at = cursor.step(at)?;
        }
        Some(cursor)
    }

    /// Takes what stands at one place, and says where the next thing stands.
    fn step(&mut self, at: usize) -> Option<usize> {
        let rest = &self.text[at..];
        let c = rest.chars().next()?;
        let run = |take: fn(char) -> bool| at + rest.find(|c| !take(c)).unwrap_or(rest.len());
        let next = at + c.len_utf8();
        match c {
            '\n' | '\r' => {
                if !self
                    .open
                    .last()
                    .is_some_and(|open| open.level == Level::Curve)
                {
                    self.before.clear();
                }
                return Some(next);
            }
            c if c.is_whitespace() => return Some(next),
            '#' => {
                let end = run(|c| c != '\n' && c != '\r');
                return (end < self.offset).then_some(end);
            }
            '"' if !self.is_inch_mark(at) => {
                let end = at + 1 + rest[1..].find(['"', '\n', '\r']).unwrap_or(rest.len() - 1);
                let closed = self.text[end..].starts_with('"');
                let end = if closed { end + 1 } else { end };
                // Behind the closing quote, but not before it.
                if end > self.offset || (end == self.offset && !closed) {
                    return None;
                }
                self.push(Kind::Text, at, end);
                return Some(end);
            }
            '{' => self.opened(),
            '}' => {
                self.open.pop();
                self.before.clear();
            }
            ',' if self
                .open
                .last()
                .is_some_and(|open| open.level == Level::Block) =>
            {
                self.before.clear();
            }
            c if c.is_ascii_digit() => {
                let end = run(|c| c.is_ascii_digit() || c == '.').min(self.offset);
                self.push(Kind::Number, at, end);
                return Some(end);
            }
            c if c.is_alphabetic() || c == '_' => {
                let end = run(|c| c.is_alphanumeric() || c == '_').min(self.offset);
                self.word(at, end);
                return Some(end);
            }
            _ => self.push(Kind::Symbol, at, next),
        }
        Some(next)
    }

    fn push(&mut self, kind: Kind, start: usize, end: usize) {
        let text = &self.text[start..end];
        self.before.push(Token { kind, start, text });
    }

    fn word(&mut self, start: usize, end: usize) {
        let text = &self.text[start..end];
        // A statement that only a file holds: whatever is still open was never closed.
        if self.starts_line(start) && matches!(text, "use" | "part" | "system") && end < self.offset
        {
            self.open.clear();
        }
        // The next `name =` on a line begins a new field.
        let in_block = self
            .open
            .last()
            .is_some_and(|open| open.level == Level::Block);
        let behind = self.text[end..self.offset].trim_start();
        if in_block && behind.starts_with('=') {
            self.before.clear();
        }
        self.push(Kind::Word, start, end);
    }

    fn starts_line(&self, at: usize) -> bool {
        self.text[..at]
            .trim_end_matches([' ', '\t'])
            .ends_with(['\n', '\r'])
            || at == 0
    }

    /// A quote right behind a number is somebody's inch mark.
    fn is_inch_mark(&self, at: usize) -> bool {
        let last = self.before.last();
        last.is_some_and(|last| last.kind == Kind::Number && last.end() == at)
    }

    fn opened(&mut self) {
        let head = std::mem::take(&mut self.before);
        let first = head.first().map_or("", |token| token.text);
        let level = match first {
            "system" => Level::System,
            "part" => Level::Block,
            // A block in a block: the brace of the one before was never closed.
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
                // The statement goes on behind the curve's end, but there is nothing to say of it.
                Level::Curve
            }
            _ => Level::Block,
        };
        self.open.push(Open { level, head });
    }

    // ---- what is typed ----

    /// The word around the cursor; empty where there is none.
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

    /// The word that begins the system that the cursor stands in.
    pub fn system_head(&self) -> Option<&Token<'a>> {
        let system = self.open.iter().find(|open| open.level == Level::System)?;
        system.head.get(1)
    }
}

/// Letters, digits and underscores, as names are made of.
pub(super) fn in_name(c: char) -> bool {
    c.is_alphanumeric() || c == '_'
}

/// As the names of checks are made of.
pub(super) fn in_check(c: char) -> bool {
    in_name(c) || c == '-'
}

/// As units are made of.
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

    #[test]
    fn nothing_is_completed_in_comments_and_quotes() {
        for text in ["# sys|", "use \"pa|", "use \"pa|rts\"", "system a \"x|\" {"] {
            assert_eq!(at(text), None, "{text}");
        }
        assert!(at("use \"parts\"|").is_some());
    }
}
