//! Mistakes in the shape of a text.

use super::{Span, TextRange};
use crate::check_id::CheckId;

/// One mistake in the text.
#[derive(Clone, PartialEq, Debug)]
pub struct Flaw {
    /// The check that documents this kind of mistake.
    pub check: CheckId,
    /// Where it is.
    pub span: Span,
    /// What is wrong, in a sentence for the author of the spec.
    pub message: String,
    /// What to do about it, where that is known.
    pub help: Option<String>,
    /// Other places that explain this one.
    pub related: Vec<(Span, String)>,
    /// Changes of the text, each of which mends it.
    pub fixes: Vec<FlawFix>,
}

/// A change of the text that mends a mistake.
#[derive(Clone, PartialEq, Debug)]
pub struct FlawFix {
    /// What it does, as an editor offers it.
    pub title: String,
    /// The replacements, each a span and its new text.
    pub edits: Vec<(Span, String)>,
}

/// The text of `span` becomes `text`.
#[derive(Clone, PartialEq, Debug)]
pub struct Edit {
    /// The range that is replaced; empty to insert.
    pub span: TextRange,
    /// The text that replaces it; empty to delete.
    pub text: String,
}

impl Flaw {
    pub(crate) fn new(check: CheckId, span: Span, message: impl Into<String>) -> Self {
        Self {
            check,
            span,
            message: message.into(),
            help: None,
            related: Vec::new(),
            fixes: Vec::new(),
        }
    }

    pub(crate) fn syntax(span: Span, message: impl Into<String>) -> Self {
        Self::new(CheckId::Syntax, span, message)
    }

    pub(crate) fn not_utf8(span: Span) -> Self {
        Self::syntax(span, "this is not text in UTF-8")
            .help("save the file in UTF-8; a spec has no other encoding")
    }

    pub(crate) fn help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(help.into());
        self
    }

    pub(crate) fn related(mut self, span: Span, message: impl Into<String>) -> Self {
        self.related.push((span, message.into()));
        self
    }

    pub(crate) fn fix(
        mut self,
        title: impl Into<String>,
        span: Span,
        text: impl Into<String>,
    ) -> Self {
        self.fixes.push(FlawFix {
            title: title.into(),
            edits: vec![(span, text.into())],
        });
        self
    }
}
