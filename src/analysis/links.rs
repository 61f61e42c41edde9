//! The files that a file names.

use super::Report;
use crate::finding::FileName;
use crate::syntax::{Span, StatementKind};

/// The path of a `use`, and the file that it leads to.
#[derive(Clone, PartialEq, Debug)]
pub struct Link {
    /// The path inside its quotes.
    pub span: Span,
    pub file: FileName,
}

/// Where the `use`s of a file lead, those that lead somewhere.
pub fn links(report: &Report) -> Vec<Link> {
    let inside = |span: Span| Span {
        start: span.start + 1,
        end: span.end.saturating_sub(1),
    };
    report
        .uses
        .iter()
        .filter(|(_, file)| report.file(file).is_some())
        .map(|(span, file)| Link {
            span: inside(*span),
            file: file.clone(),
        })
        .collect()
}

/// The path of the `use` that an offset stands in, inside its quotes.
pub fn use_path_at(report: &Report, offset: u32) -> Option<Span> {
    report.source.tree.statements.iter().find_map(|statement| {
        let StatementKind::Use(item) = &statement.kind else {
            return None;
        };
        let span = item.path.span;
        let inside = Span {
            start: span.start + 1,
            end: span.end.saturating_sub(1),
        };
        inside.touches(offset).then_some(inside)
    })
}
