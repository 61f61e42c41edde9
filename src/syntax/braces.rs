//! Matches the braces of a file, where some may be missing or too many.

use super::explain::shown;
use super::scan::TokenKind as K;
use super::token_cursor::{Balance, FILE_WORDS, Level, SYSTEM_WORDS, TokenCursor};
use super::{Flaw, Span};

const FILE_ENDS: &str = "the file ends inside";

impl TokenCursor<'_> {
    /// Whether the next statement cannot belong to the innermost open body, so that its closing brace must be
    /// missing.
    pub(super) fn ends_body(&self, level: Level) -> bool {
        if self.starts_file_statement(self.at) {
            return true;
        }
        if level != Level::Block || !self.starts_line(self.at) {
            return false;
        }
        let Some(open) = self.open.last() else {
            return false;
        };
        let Some(token) = self.token(0) else {
            return false;
        };
        let head = self.word(0).is_some()
            && (self.is_at(self.at + 1, K::OpenBrace)
                || self.is_at(self.at + 1, K::Word)
                    && (self.is_at(self.at + 2, K::OpenBrace)
                        || self.is_at(self.at + 2, K::Newline)));
        let system_word = self
            .word(0)
            .is_some_and(|word| word != "allow" && SYSTEM_WORDS.contains(&word))
            && !self.starts_field(self.at);
        (head || system_word) && self.indent(token.span.start) <= open.indent
    }

    /// Sets whether the braces from here add up before the next statement that only a file can hold. It runs once for
    /// each statement of the file, so that all of it costs one pass.
    pub(super) fn look_for_balance(&mut self) {
        let mut depth = 1usize;
        let mut index = self.at;
        while depth > 0 && index < self.tokens.len() && !self.starts_file_statement(index) {
            match self.tokens[index].kind {
                K::OpenBrace => depth += 1,
                K::CloseBrace => depth -= 1,
                _ => {}
            }
            index += 1;
        }
        let next = (index..self.tokens.len())
            .find(|i| !self.is_at(*i, K::Newline) && !self.is_at(*i, K::Comment));
        self.balance = if depth > 0 {
            Balance::TooFewClosing
        } else if next.is_some_and(|next| {
            !self.is_at(next, K::Word)
                || !FILE_WORDS.contains(&self.tokens[next].span.of(self.text))
        }) {
            // The text that follows cannot be in a file: the last brace closed too much.
            Balance::TooManyClosing
        } else {
            Balance::Even
        };
    }

    /// Whether the closing brace here closes nothing. That is so at the level of the file. It is also so where there
    /// are too many and this one is indented deeper than the head of what it would close.
    pub(super) fn is_excess_brace(&self, level: Level) -> bool {
        match (level, self.open.last()) {
            (Level::File, _) | (_, None) => true,
            (Level::System, Some(open)) => {
                self.balance == Balance::TooManyClosing
                    && self.starts_line(self.at)
                    && self.indent(self.tokens[self.at].span.start) > open.indent
            }
            (Level::Block, Some(_)) => false,
        }
    }

    /// The end of the innermost open body, and whether its closing brace is there. If it is not, a flaw is added.
    pub(super) fn close(&mut self) -> (Span, bool) {
        let Some(open) = self.open.last() else {
            return (self.end_of_text(), false);
        };
        let last = self.last_before(self.at).unwrap_or(open.brace);
        if self.peek(K::CloseBrace) && !self.closes_outer_body() {
            let brace = self.tokens[self.at].span;
            self.at += 1;
            return (brace, true);
        }
        let place = Span::new(last.end as usize, last.end as usize);
        let head = shown(&open.head);
        if self.token(0).is_some() {
            let indent = " ".repeat(open.indent);
            self.flaw(
                Flaw::syntax(
                    open.brace,
                    format!("the brace that `{head}` opens is never closed"),
                )
                .related(place, "a closing brace is missing behind this")
                .fix("add the closing brace", place, format!("\n{indent}}}")),
            );
        } else if self.open.len() == 1 || self.at_end_first_time() {
            self.end_of_file_flaw();
        }
        (place, false)
    }

    /// Whether a closing brace alone on its line, indented like an outer body's head, closes that outer body. Only
    /// where the braces do not add up.
    pub(super) fn closes_outer_body(&self) -> bool {
        if self.balance != Balance::TooFewClosing
            || self.open.len() < 2
            || !self.starts_line(self.at)
        {
            return false;
        }
        let indent = self.indent(self.tokens[self.at].span.start);
        let inner = &self.open[self.open.len() - 1];
        let outer = &self.open[self.open.len() - 2];
        indent == outer.indent && indent < inner.indent
    }

    pub(super) fn at_end_first_time(&self) -> bool {
        !self
            .flaws
            .iter()
            .any(|flaw| flaw.message.starts_with(FILE_ENDS))
    }

    /// Adds one flaw for a file that stops in the middle, however many bodies are open there.
    pub(super) fn end_of_file_flaw(&mut self) {
        if !self.at_end_first_time() {
            return;
        }
        let end = self.end_of_text();
        // A last statement cut off in the middle is the same mistake.
        self.flaws.retain(|flaw| flaw.span.end < end.end);
        let heads: Vec<String> = self
            .open
            .iter()
            .rev()
            .map(|open| format!("`{}`", shown(&open.head)))
            .collect();
        let mut flaw = Flaw::syntax(end, format!("{FILE_ENDS} {}", heads.join(" in ")))
            .help("closing braces are missing, or the end of the file is lost");
        for open in &self.open {
            flaw = flaw.related(open.brace, "opened here");
        }
        let braces: String = self
            .open
            .iter()
            .rev()
            .map(|open| format!("\n{}}}", " ".repeat(open.indent)))
            .collect();
        self.flaw(flaw.fix("close what is open", end, braces));
    }
}
