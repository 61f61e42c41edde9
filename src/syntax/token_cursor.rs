//! The tokens of a text, and how far the cutting has come.

use super::scan::TokenKind as K;
use super::{Flaw, MAX_FLAWS, Span};

/// A token with its span in the text that is cut.
#[derive(Clone, Copy)]
pub(super) struct Token {
    pub kind: K,
    pub span: Span,
}

impl Token {
    pub fn is(self, kind: K) -> bool {
        self.kind == kind
    }
}

#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Level {
    File,
    System,
    Block,
}

pub(super) struct TokenCursor<'a> {
    pub text: &'a str,
    pub tokens: Vec<Token>,
    pub at: usize,
    pub flaws: Vec<Flaw>,
    /// The bodies that are open here, outermost first.
    pub open: Vec<Open>,
    /// Where each line starts.
    pub lines: Vec<u32>,
    /// Whether the braces of the current top-level statement add up.
    pub balance: Balance,
}

#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Balance {
    Even,
    TooFewClosing,
    TooManyClosing,
}

/// A body whose closing brace has not come yet.
pub(super) struct Open {
    /// Its head, for messages: `system orchard`.
    pub head: String,
    pub brace: Span,
    /// How far its head's line is indented, in bytes.
    pub indent: usize,
}

/// The greatest indentation that is distinguished. It keeps the check short.
pub(super) const MOST_INDENT: usize = 256;
pub(super) const FILE_WORDS: [&str; 4] = ["use", "let", "part", "system"];
pub(super) const SYSTEM_WORDS: [&str; 4] = ["let", "choose", "require", "allow"];

impl<'a> TokenCursor<'a> {
    pub(super) fn flaw(&mut self, flaw: Flaw) {
        if self.flaws.len() < MAX_FLAWS {
            self.flaws.push(flaw);
        }
    }

    pub(super) fn token(&self, ahead: usize) -> Option<Token> {
        self.tokens.get(self.at + ahead).copied()
    }

    pub(super) fn peek(&self, kind: K) -> bool {
        self.token(0).is_some_and(|token| token.is(kind))
    }

    pub(super) fn word(&self, ahead: usize) -> Option<&'a str> {
        let token = self.token(ahead)?;
        token.is(K::Word).then(|| token.span.of(self.text))
    }

    pub(super) fn is_at(&self, index: usize, kind: K) -> bool {
        self.tokens.get(index).is_some_and(|token| token.is(kind))
    }

    /// Whether `name =` begins at a token.
    pub(super) fn starts_field(&self, index: usize) -> bool {
        self.is_at(index, K::Word) && self.is_at(index + 1, K::Equals)
    }

    pub(super) fn starts_line(&self, index: usize) -> bool {
        index == 0 || self.is_at(index - 1, K::Newline)
    }

    /// Whether a statement that only a file may hold begins at a token.
    pub(super) fn starts_file_statement(&self, index: usize) -> bool {
        self.starts_line(index)
            && self.is_at(index, K::Word)
            && match self.tokens[index].span.of(self.text) {
                "use" => self.is_at(index + 1, K::Text) || self.is_at(index + 1, K::OpenText),
                "part" | "system" => self.is_at(index + 1, K::Word),
                _ => false,
            }
    }

    /// How far the line that contains an offset is indented, in bytes.
    pub(super) fn indent(&self, offset: u32) -> usize {
        let line = self.lines.partition_point(|start| *start <= offset) - 1;
        let start = self.lines[line] as usize;
        self.text.as_bytes()[start..offset as usize]
            .iter()
            .take(MOST_INDENT)
            .take_while(|byte| matches!(byte, b' ' | b'\t'))
            .count()
    }

    /// The place right after the last token that is neither a comment nor blank.
    pub(super) fn end_of_text(&self) -> Span {
        let end = self
            .last_before(self.tokens.len())
            .map_or(0, |last| last.end);
        Span::new(end as usize, end as usize)
    }

    /// The last token before another that is neither a comment nor a line's end.
    pub(super) fn last_before(&self, index: usize) -> Option<Span> {
        self.tokens[..index]
            .iter()
            .rev()
            .find(|token| !matches!(token.kind, K::Newline | K::Comment))
            .map(|token| token.span)
    }
}
