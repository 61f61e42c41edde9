//! What may be written at a place, as an editor offers it.

use crate::analysis::Edit;
use crate::model::Source;
use crate::syntax::TextRange;
use std::sync::Arc;

/// Something that may be written at a place.
#[derive(Clone, PartialEq, Debug)]
pub struct Completion {
    pub label: String,
    pub kind: CompletionKind,
    /// A few words beside the label.
    pub detail: String,
    /// Markdown.
    pub doc: String,
    /// What takes the place of `span`.
    pub insert: String,
    /// The same with places to fill in, in the snippet syntax of LSP.
    pub snippet: Option<String>,
    pub span: TextRange,
    /// What else must change in the file: the `use` of a part that it does not see yet.
    pub edits: Vec<Edit>,
}

/// A file of parts that could be used.
#[derive(Clone, Debug)]
pub struct Shelf {
    /// Its path as a `use` of the file would write it.
    pub path: String,
    pub source: Arc<Source>,
}

/// The files of parts around a file, looked for only where a part is wanted.
pub type Shelves<'a> = &'a dyn Fn() -> Vec<Shelf>;

#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum CompletionKind {
    Keyword,
    Block,
    Field,
    Part,
    System,
    Unit,
    Value,
    Choice,
    Let,
    Result,
    Check,
    Operator,
}
