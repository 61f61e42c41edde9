//! What may be written at a place, as an editor offers it.

use crate::analysis::Edit;
use crate::model::Source;
use crate::syntax::TextRange;
use std::sync::Arc;

/// Something that may be written at a place.
#[derive(Clone, PartialEq, Debug)]
pub struct Completion {
    /// The words in the list. Editors also filter by them unless `filter` is set.
    pub label: String,
    /// Its kind, for the icon beside the label.
    pub kind: CompletionKind,
    /// A few words beside the label.
    pub detail: String,
    /// Its documentation, in Markdown.
    pub doc: String,
    /// The text that replaces `span`.
    pub insert: String,
    /// The inserted text with places to fill in, in the snippet syntax of LSP.
    pub snippet: Option<String>,
    /// The text that an editor compares with the replaced text, if that is spelled in another way than the label.
    pub filter: Option<String>,
    /// The text that `insert` replaces, in bytes of the file; empty where nothing is written yet.
    pub span: TextRange,
    /// Further edits in the file: the `use` of a part that it does not see yet.
    pub edits: Vec<Edit>,
}

/// A file of parts that could be used.
#[derive(Clone, Debug)]
pub struct Shelf {
    /// Its path as a `use` of the file would write it.
    pub path: String,
    /// The file itself.
    pub source: Arc<Source>,
}

/// The files of parts around a file. They are searched only if a part is wanted.
pub type Shelves<'a> = &'a dyn Fn() -> Vec<Shelf>;

/// What a completion is in the language.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum CompletionKind {
    /// A word of the language, or the name of a setting.
    Keyword,
    /// The name of a block, such as `master`.
    Block,
    /// The name of a field of the block around it.
    Field,
    /// A part that the file sees, or could see with another `use`.
    Part,
    /// A system, as the base of another.
    System,
    /// A unit of measure.
    Unit,
    /// A value that a field or a limit may have.
    Value,
    /// One of the words that a field allows.
    Choice,
    /// A let, by its name.
    Let,
    /// The name of a result.
    Result,
    /// The id of a check.
    Check,
    /// A sign or a word between two values, such as `<=` or `±`.
    Operator,
}
