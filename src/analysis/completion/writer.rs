//! Gathers the completions of a place, and decides how much of the text after the cursor each replaces.

use crate::analysis::completion_item::{Completion, CompletionKind, Shelves};
use crate::analysis::cursor::{Cursor, Quote, begins_field, in_name, in_unit};
use crate::analysis::{Report, Worked};
use crate::quantity::Display;
use crate::schema::Block;
use crate::syntax::{self, Span, TextRange};
use std::cell::OnceCell;

pub(super) struct Writer<'a> {
    pub report: &'a Report,
    pub cursor: Cursor<'a>,
    /// What a completion replaces.
    pub span: TextRange,
    /// The text in quotes that contains the cursor. `cursor` is then before its first quote.
    pub quote: Option<Quote>,
    pub shelves: Shelves<'a>,
    /// How values are shown at the place, once it was needed.
    pub display: OnceCell<Display>,
    pub found: Vec<Completion>,
}

impl<'a> Writer<'a> {
    pub fn add(&mut self, kind: CompletionKind, label: impl Into<String>) -> &mut Completion {
        let label = label.into();
        self.found.push(Completion {
            insert: label.clone(),
            label,
            kind,
            detail: String::new(),
            doc: String::new(),
            snippet: None,
            filter: None,
            span: self.span,
            edits: Vec::new(),
        });
        let last = self.found.len() - 1;
        &mut self.found[last]
    }

    pub fn keyword(&mut self, word: &str, doc: &str, snippet: &str) {
        let is_alone = self.ends_here();
        let item = self.add(CompletionKind::Keyword, word);
        item.doc = doc.to_owned();
        item.snippet = is_alone.then(|| snippet.to_owned());
    }

    // ---- what stands behind the cursor ----

    /// The text after the span on its line, up to a comment.
    pub fn rest(&self) -> &'a str {
        let rest = &self.cursor.text[self.span.end as usize..];
        let line = rest.split(['\n', '\r', '#']).next().unwrap_or_default();
        line.trim_start_matches([' ', '\t', '\u{00A0}'])
    }

    /// Whether the statement ends after the span, or another one begins there.
    pub fn ends_here(&self) -> bool {
        let rest = self.rest();
        rest.is_empty() || rest.starts_with(['}', ',']) || begins_field(rest)
    }

    /// Extends the span by a word after blanks, if there is none at the cursor. The word must be one of `takes` and
    /// not begin the next statement.
    pub fn take_in(&mut self, takes: fn(char) -> bool) {
        let rest = self.rest();
        let is_word = |c: char| c.is_alphabetic() || matches!(c, '_' | '%' | '°' | '<' | '>');
        if self.span.start < self.span.end || !rest.starts_with(is_word) || begins_field(rest) {
            return;
        }
        let length = rest.find(|c| !takes(c)).unwrap_or(rest.len());
        if !matches!(&rest[..length], "to" | "from") {
            let start = self.start_of(rest);
            self.span.end = (start + length) as u32;
        }
    }

    /// Extends the span by a block's name alone, if a part's name follows it.
    pub fn take_in_block(&mut self) {
        let present = self.span;
        self.take_in(in_name);
        let word = self.span.of(self.cursor.text).trim();
        if Block::named(word).is_none() && present.start == present.end {
            self.span = present;
        }
    }

    /// The offset at which a piece of the text begins.
    pub fn start_of(&self, rest: &str) -> usize {
        let line = &self.cursor.text[self.span.end as usize..];
        let blanks = line.trim_start_matches([' ', '\t', '\u{00A0}']);
        debug_assert!(blanks.starts_with(rest));
        self.cursor.text.len() - blanks.len()
    }

    /// Extends the span by the quantity at the cursor or after blanks: number, fraction, unit. Says whether the rest
    /// ends the value or goes on with the rest of one.
    pub fn take_in_quantity(&mut self) -> bool {
        let rest = self.rest();
        if self.ends_here() {
            return true;
        }
        let end = quantity_end(rest);
        if end > 0 {
            self.span.end = (self.start_of(rest) + end) as u32;
        }
        let rest = self.rest();
        self.ends_here()
            || rest.starts_with('±')
            || rest.starts_with("to ")
            || rest.starts_with(['"', ':'])
    }

    // ---- what is known of where it stands ----

    pub fn tree(&self) -> Option<&'a syntax::System> {
        let name = self.cursor.system_head()?;
        let start = name.start as u32;
        self.report
            .source
            .systems()
            .find(|system| self.report.source.range(system.name.span).start == start)
    }

    pub fn worked(&self) -> Option<&'a Worked> {
        self.report.worked(self.tree()?)
    }

    /// Whether a span is the text being typed at the cursor.
    pub fn is_typed(&self, span: Span) -> bool {
        let range = self.report.source.range(span);
        range.touches(self.cursor.offset as u32)
    }
}

/// The length of an operand, or of the rest of one: `7/8 in`, `/8 in`, `150 mm`, `reach`, `master.bore`. Zero where
/// the text is something else.
fn quantity_end(text: &str) -> usize {
    let sign = usize::from(text.starts_with('-'));
    let number = |from: usize| {
        let digits = text[from..].find(|c: char| !c.is_ascii_digit() && !matches!(c, '.' | '/'));
        from + digits.unwrap_or(text.len() - from)
    };
    let blanks = |from: usize| {
        let rest = &text[from..];
        from + rest.len() - rest.trim_start_matches([' ', '\t', '\u{00A0}']).len()
    };
    let is_digit = |at: usize| text[at..].starts_with(|c: char| c.is_ascii_digit());
    let mut end = number(sign);
    if end > sign || is_digit(sign) {
        // A mixed number: `1 1/16`.
        while is_digit(blanks(end)) && blanks(end) < text.len() {
            end = number(blanks(end));
        }
    }
    let unit = blanks(end);
    let length = text[unit..]
        .find(|c| !(in_unit(c) || end == 0 && c == '.'))
        .unwrap_or(text.len() - unit);
    let word = &text[unit..unit + length];
    let is_unit = word.starts_with(|c: char| c.is_alphabetic() || matches!(c, '%' | '°' | '_'));
    match is_unit && word != "to" && !begins_field(&text[unit..]) {
        true => unit + length,
        false if end > sign => end,
        false => 0,
    }
}
