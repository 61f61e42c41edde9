//! The grammar, and a reader that applies it to one statement.

use super::{Flaw, Span};
use pest::iterators::Pair;

#[derive(pest_derive::Parser)]
#[grammar = "../grammar/clutch.pest"]
pub(super) struct Grammar;

pub(super) type Pairs<'i> = pest::iterators::Pairs<'i, Rule>;

/// A statement that is being read, with the text that contains it.
pub(super) struct Reader<'a> {
    pub text: &'a str,
    pub span: Span,
    pub flaws: &'a mut Vec<Flaw>,
}

impl<'a> Reader<'a> {
    pub(super) fn new(text: &'a str, span: Span, flaws: &'a mut Vec<Flaw>) -> Self {
        Self { text, span, flaws }
    }

    pub(super) fn flaw(&mut self, flaw: Flaw) {
        self.flaws.push(flaw);
    }

    /// The place of a slice of the statement in the file.
    pub(super) fn place(&self, start: usize, end: usize) -> Span {
        let base = self.span.start as usize;
        Span::new(base + start, base + end)
    }

    pub(super) fn span_of(&self, pair: &Pair<'_, Rule>) -> Span {
        let span = pair.as_span();
        self.place(span.start(), span.end())
    }
}
