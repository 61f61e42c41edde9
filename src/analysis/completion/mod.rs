//! What may be written at a place.

mod fields;
mod order;
mod standing;
mod statements;
mod texts;
mod units;
mod values;
mod writer;

pub(super) use fields::needed_fields;

use super::Report;
use super::completion_item::{Completion, Shelves};
use super::cursor::{Cursor, Level, Quote, Token, in_name};
use super::settings_help::complete_settings;
use crate::settings::is_settings;
use crate::syntax::TextRange;
use std::cell::OnceCell;
use writer::Writer;

/// How many completions are offered at most.
const MOST: usize = 1000;

/// What may be written at an offset, the likeliest first.
pub fn completions(report: &Report, offset: u32) -> Vec<Completion> {
    completions_among(report, offset, &Vec::new)
}

/// What may be written at an offset, including parts of files that are not used yet.
///
/// An accepted completion repeats nothing of the text after the cursor. It replaces text of its own kind there, and
/// leaves out what is already there.
pub fn completions_among(report: &Report, offset: u32, shelves: Shelves<'_>) -> Vec<Completion> {
    if is_settings(&report.source.name) {
        return complete_settings(report, offset);
    }
    let text = &report.source.text;
    let quote = Quote::at(text, offset);
    let Some(cursor) = Cursor::new(text, quote.map_or(offset, Quote::start)) else {
        return Vec::new();
    };
    let span = match quote {
        Some(quote) => quote.inner,
        None => number_at(&cursor).unwrap_or_else(|| cursor.word_span(in_name)),
    };
    let mut writer = Writer {
        report,
        span,
        cursor,
        quote,
        shelves,
        display: OnceCell::new(),
        found: Vec::new(),
    };
    writer.complete();
    writer.found.truncate(MOST);
    writer.found
}

impl<'a> Writer<'a> {
    fn complete(&mut self) {
        if let Some(quote) = self.quote {
            return self.inside_quotes(quote);
        }
        let before: Vec<Token<'a>> = self.cursor.before_word(self.span).to_vec();
        let innermost = self.cursor.innermost().cloned();
        match innermost {
            None => self.file(&before),
            Some(open) => match open.level {
                Level::System => self.system(&before),
                Level::Block => self.block(&open, &before),
                Level::Curve => self.curve(&before),
            },
        }
    }
}

/// The number at a cursor, with its point or fraction: `12.9`, `7/8`.
fn number_at(cursor: &Cursor<'_>) -> Option<TextRange> {
    let word = cursor.word_span(in_name).of(cursor.text);
    let span = cursor.word_span(|c| c.is_ascii_digit() || matches!(c, '.' | '/'));
    let is_number = span
        .of(cursor.text)
        .starts_with(|c: char| c.is_ascii_digit());
    (is_number && word.chars().all(|c| c.is_ascii_digit())).then_some(span)
}
