//! Which findings are only about a statement that is still being typed.
//!
//! The analysis reports everything that is wrong with a text: for the command line, and for a file that is opened.
//! While a statement is being typed, most of that is only that it is incomplete. An editor may hold such findings
//! back until the cursor has moved on. This module decides which they are, by the place of the last edit. The text
//! alone cannot tell. In a file at rest, `stroke = 3` is a mistake; in one being written, it is half a value.

use super::cursor::in_unit;
use super::{Report, completions};
use crate::checks::{Check, Finding, Run, text};
use crate::syntax::{Body, Item, Statement, TextRange};
use std::cell::OnceCell;

/// The statement in which the last edit left the cursor, and the bodies around it.
pub struct Typing<'a> {
    report: &'a Report,
    cursor: u32,
    /// The text being typed: a statement, or the head of one with a body. A piece of several lines that was inserted
    /// counts as a whole. `None` on an empty line.
    typed: Option<TextRange>,
    around: Vec<Around<'a>>,
    open: OnceCell<bool>,
}

/// A statement whose body contains the cursor.
struct Around<'a> {
    head: TextRange,
    body: &'a Body,
    /// The body's range, from brace to brace.
    range: TextRange,
}

impl<'a> Typing<'a> {
    /// The typing state after an edit of a range.
    pub fn of(report: &'a Report, edited: TextRange) -> Self {
        let text = report.source.text.as_str();
        let put_in = edited.of(text);
        let cursor = cursor_after(text, edited);
        let mut typing = Self {
            report,
            cursor,
            typed: None,
            around: Vec::new(),
            open: OnceCell::new(),
        };
        let before = text.get(..cursor as usize).unwrap_or_default();
        let behind_blanks = before.trim_end_matches([' ', '\t', '\u{00A0}']).len() as u32;
        typing.find(&report.source.tree.items, behind_blanks);
        if put_in.trim().contains(['\n', '\r']) {
            typing.typed = Some(edited);
        }
        typing
    }

    fn find(&mut self, items: &'a [Item], behind_blanks: u32) {
        let cursor = self.cursor;
        // Of two that meet at the cursor, the one that was typed last is before it.
        let is_here = |range: TextRange| {
            range.touches(behind_blanks) || (range.touches(cursor) && range.start < cursor)
        };
        let first = items.partition_point(|item| item.range().end < behind_blanks);
        let Some(item) = items[first..].iter().find(|item| is_here(item.range())) else {
            return;
        };
        let mut here: &Statement = &item.statement;
        loop {
            let whole = item.at(here.span);
            let Some(body) = here.body() else {
                self.typed = Some(whole);
                return;
            };
            let range = item.at(body.span);
            let head = TextRange {
                start: whole.start,
                end: range.start,
            };
            let closed_behind = body.whole && range.end <= cursor;
            if cursor <= range.start || closed_behind {
                self.typed = Some(match body.statements.is_empty() {
                    true => whole,
                    false => head,
                });
                return;
            }
            self.around.push(Around { head, body, range });
            let statements = &body.statements;
            let first = statements.partition_point(|s| item.at(s.span).end < behind_blanks);
            let next = statements[first..]
                .iter()
                .find(|s| is_here(item.at(s.span)));
            let Some(next) = next else {
                return;
            };
            here = next;
        }
    }

    /// Whether a finding says only that the text being typed is incomplete.
    pub fn holds(&self, finding: &Finding) -> bool {
        let place = &finding.problem.place;
        if place.file != self.report.source.name {
            return false;
        }
        let range = self.report.source.range(place.span);
        let of_text = matches!(finding.check.run, Run::Reading);
        let is_here = self.typed.is_some_and(|typed| meet(typed, range));
        if is_here && (of_text || self.is_open()) {
            return true;
        }
        of_text
            && self
                .around
                .iter()
                .any(|around| around.lacks(finding, range))
    }

    /// Whether the word at the cursor may become another of the same kind, and so change its results: the `m` of
    /// `mm`, the `1` of `1.5`.
    fn is_open(&self) -> bool {
        *self.open.get_or_init(|| {
            let text = self.report.source.text.as_str();
            let before = text.get(..self.cursor as usize).unwrap_or_default();
            if before.ends_with(|c: char| c.is_ascii_digit() || c == '.') {
                // Before a unit, each further digit makes another whole value.
                let behind = &text[before.len()..];
                let behind = behind.strip_prefix(' ').unwrap_or(behind);
                return !behind.starts_with(|c: char| in_unit(c) || c == '.');
            }
            let longer = |label: &str, start: u32| {
                let typed = text.get(start as usize..self.cursor as usize);
                typed.is_some_and(|typed| {
                    !typed.is_empty() && label.len() > typed.len() && label.starts_with(typed)
                })
            };
            completions(self.report, self.cursor)
                .iter()
                .any(|item| longer(&item.label, item.span.start))
        })
    }
}

impl Around<'_> {
    /// Whether a finding says that something is missing in a body that is being written: a block, a field, a brace.
    fn lacks(&self, finding: &Finding, span: TextRange) -> bool {
        let is = |check: &Check| finding.check.name() == check.name();
        if is(&text::MISSING_BLOCK) || is(&text::MISSING_FIELD) {
            return meet(self.head, span);
        }
        let body = self.range;
        is(&text::SYNTAX)
            && !self.body.whole
            && (span.touches(body.start) || span.touches(body.end))
    }
}

fn meet(a: TextRange, b: TextRange) -> bool {
    a.start <= b.end && b.start <= a.end
}

/// Where an edit leaves the cursor. It is after the inserted text. After Enter it is on the new line, whatever the
/// editor inserted to indent that line and the next. Between two brackets that an editor inserted together, it is in
/// the middle.
fn cursor_after(text: &str, edited: TextRange) -> u32 {
    let put_in = edited.of(text);
    if matches!(put_in, "{}" | "()" | "\"\"") {
        return edited.start + 1;
    }
    match put_in.find('\n').or_else(|| put_in.find('\r')) {
        Some(at) if put_in.trim().is_empty() => {
            let line = &put_in[at + 1..];
            let indent = line.len() - line.trim_start_matches([' ', '\t']).len();
            edited.start + (at + 1 + indent) as u32
        }
        _ => edited.end,
    }
}
