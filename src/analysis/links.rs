//! The files and checks that a file names.

use super::Report;
use crate::checks::Check;
use crate::finding::FileName;
use crate::model::{What, spots};
use crate::syntax::TextRange;

/// The path of a `use`, and the file that it leads to.
#[derive(Clone, PartialEq, Debug)]
pub struct Link {
    /// The path inside its quotes.
    pub span: TextRange,
    /// The file that the path leads to; it could be read.
    pub file: FileName,
}

/// The links of a file's `use` statements that lead somewhere.
pub fn links(report: &Report) -> Vec<Link> {
    let inside = |span: TextRange| TextRange {
        start: span.start + 1,
        end: span.end.saturating_sub(1),
    };
    report
        .uses
        .iter()
        .filter(|(_, file)| report.file(file).is_some())
        .map(|(span, file)| Link {
            span: inside(report.source.range(*span)),
            file: file.clone(),
        })
        .collect()
}

/// The checks that a file names, with their places. Editors link them to their explanation.
pub fn named_checks(report: &Report) -> Vec<(TextRange, &'static Check)> {
    let mut found = Vec::new();
    spots(&report.source.tree, &mut |spot| {
        if let What::CheckName(name) = spot.what
            && let Some(check) = Check::named(&name.text)
        {
            found.push((spot.span, check));
        }
    });
    found
}

/// The path of a `use`, inside its quotes.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct UsePath {
    /// The path in the file, in bytes, without its quotes.
    pub span: TextRange,
    /// Whether the quote behind it is there.
    pub closed: bool,
}

/// The path of the `use` around an offset, even while it is being written.
pub fn use_path_at(report: &Report, offset: u32) -> Option<UsePath> {
    let text = report.source.text.as_str();
    let before = text.get(..offset as usize)?;
    let start = before.rfind(['\n', '\r']).map_or(0, |at| at + 1);
    let behind = text.get(start..)?;
    let line = behind.split(['\n', '\r']).next()?;
    let (lead, path) = line.split_once('"')?;
    let is_use = lead.split_whitespace().next_back() == Some("use");
    if !is_use || lead.contains('#') {
        return None;
    }
    let quote = start + lead.len() + 1;
    let (path, closed) = match path.split_once('"') {
        Some((path, _)) => (path, true),
        None => (path.trim_end(), false),
    };
    // Blanks in front of the cursor are part of a path that goes on.
    let end = match closed {
        true => quote + path.len(),
        false => (quote + path.len()).max(offset as usize),
    };
    let span = TextRange::new(quote, end);
    span.touches(offset).then_some(UsePath { span, closed })
}
