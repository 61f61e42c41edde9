//! From text to a tree, and back to text in canonical form.
//!
//! **Parsing never fails**: every text gives a tree and a list of flaws. One mistake costs one
//! statement. **Never knows what a block or a field means.**

mod braces;
mod cutter;
mod explain;
mod flaw;
mod formatter;
mod line_index;
mod positions;
mod printer;
mod quote;
mod reader;
mod reparse;
mod scan;
mod span;
mod spelling;
mod statement;
mod text_change;
mod token_cursor;
mod tree;

pub use flaw::{Edit, Flaw, FlawFix};
pub use formatter::{format, format_closed, format_edits, format_range};
pub use line_index::{Encoding, LineColumn, LineIndex};
pub use quote::quoted;
pub use reparse::{parse, parse_after};
pub use scan::{Token, TokenKind, tokens};
pub use span::{Span, StatementId, TextRange};
pub use spelling::spelling;
pub use text_change::{TextChange, same_ends};
pub use tree::*;

/// Larger files are refused.
pub const MAX_FILE_BYTES: usize = 4 << 20;
/// Deeper nesting of parentheses is refused: people cannot read it, and the grammar recurses.
pub const MAX_NESTING: usize = 32;
/// Longer expressions are refused; `let` statements can split them.
pub const MAX_EXPRESSION_BYTES: usize = 1000;
/// Curves with more points are refused: nobody measures that many.
pub const MAX_POINTS: usize = 1000;
/// In a file with more flaws only the first are kept.
pub const MAX_FLAWS: usize = 10_000;
