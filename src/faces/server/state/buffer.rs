//! One state of a document's text, and its edits.

use crate::faces::files::disk::Disk;
use crate::faces::sync::lock;
use crate::finding::FileName;
use crate::model::{Source, join};
use crate::settings::is_settings;
use crate::syntax::{Encoding, LineColumn, LineIndex, Span, same_ends};
use std::sync::{Arc, Mutex};
use tower_lsp::lsp_types::{TextDocumentContentChangeEvent, Url};

/// A longer path leads to no file, and has more folders above it than anybody wants to look into.
const MAX_PATH_BYTES: usize = 4 << 10;

/// One state of a document's text.
#[derive(Debug)]
pub(crate) struct Buffer {
    pub uri: Url,
    pub name: FileName,
    /// `None` for a file that is not open.
    pub version: Option<i32>,
    /// The text that the client has; empty for a file that is not open.
    pub text: String,
    /// The text as it was read, while it is kept.
    source: Mutex<Option<Arc<Source>>>,
    /// The last state of the text that was read, until this one is.
    before: Mutex<Option<Arc<Source>>>,
}

impl Buffer {
    pub fn new(uri: Url, version: i32, text: String) -> Self {
        Self {
            name: name_of(&uri),
            uri,
            version: Some(version),
            text,
            source: Mutex::default(),
            before: Mutex::default(),
        }
    }

    /// The next state of the text.
    pub fn edited(&self, version: i32, text: String) -> Self {
        let read = lock(&self.source).clone();
        Self {
            name: self.name.clone(),
            uri: self.uri.clone(),
            version: Some(version),
            text,
            source: Mutex::default(),
            before: Mutex::new(read.or_else(|| lock(&self.before).clone())),
        }
    }

    pub fn on_disk(source: Arc<Source>) -> Option<Self> {
        Some(Self {
            uri: Url::from_file_path(&*source.name).ok()?,
            name: source.name.clone(),
            version: None,
            text: String::new(),
            source: Mutex::new(Some(source)),
            before: Mutex::default(),
        })
    }

    /// The text, read. The first who asks for it waits for the reading.
    pub fn source(&self) -> Arc<Source> {
        let mut known = lock(&self.source);
        let read = || {
            let text = self.text.clone();
            let before = lock(&self.before).take();
            Arc::new(match before {
                _ if is_settings(&self.name) => Source::plain(self.name.clone(), text),
                Some(before) => before.edited(text),
                None => Source::new(self.name.clone(), text),
            })
        };
        known.get_or_insert_with(read).clone()
    }

    /// Keeps the text alone; of a file that is not open, all.
    pub fn evict(&self) {
        if self.version.is_some() {
            *lock(&self.source) = None;
        }
    }
}

/// The name under which a document goes: its path, or else its whole address.
pub(crate) fn name_of(uri: &Url) -> FileName {
    match uri.to_file_path() {
        Ok(path) if uri.scheme() == "file" && path.as_os_str().len() <= MAX_PATH_BYTES => {
            Disk::name(&path)
        }
        // In the form that `use` gives to names, so that documents of one place find each other.
        _ => join("", uri.as_str()),
    }
}

/// Edits a text, and says where in it what is new stands. A range that does not lie in it is
/// brought back into it.
pub(super) fn apply(
    text: &mut String,
    change: TextDocumentContentChangeEvent,
    encoding: Encoding,
) -> Span {
    let Some(range) = change.range else {
        let [before, behind] = same_ends(text, &change.text);
        *text = change.text;
        return Span::new(before, text.len() - behind);
    };
    let lines = LineIndex::new(text);
    let offset = |position: tower_lsp::lsp_types::Position| {
        let place = LineColumn {
            line: position.line,
            column: position.character,
        };
        lines.offset(place, encoding) as usize
    };
    let (start, end) = (offset(range.start), offset(range.end));
    text.replace_range(start..end.max(start), &change.text);
    Span::new(start, start + change.text.len())
}

#[cfg(test)]
mod tests {
    use super::*;
    use tower_lsp::lsp_types::{Position, Range};

    fn edited(text: &str, from: (u32, u32), to: (u32, u32), new: &str) -> String {
        let mut text = text.to_owned();
        let change = TextDocumentContentChangeEvent {
            range: Some(Range {
                start: Position::new(from.0, from.1),
                end: Position::new(to.0, to.1),
            }),
            range_length: None,
            text: new.to_owned(),
        };
        apply(&mut text, change, Encoding::Utf16);
        text
    }

    #[test]
    fn edits_go_where_their_range_says() {
        assert_eq!(edited("a\r\nbc", (1, 1), (1, 2), "d"), "a\r\nbd");
        assert_eq!(edited("🚗 ab", (0, 2), (0, 3), "-"), "🚗-ab");
        assert_eq!(edited("a\nb\nc", (0, 1), (2, 0), ""), "ac");
    }

    #[test]
    fn ranges_outside_of_the_text_are_brought_back() {
        assert_eq!(edited("ab", (0, 9), (7, 0), "c"), "abc");
        assert_eq!(edited("ab", (5, 5), (0, 0), "c"), "abc");
        assert_eq!(edited("a\r\nb", (0, 5), (0, 9), "c"), "ac\r\nb");
        assert_eq!(edited("🚗", (0, 1), (0, 2), "c"), "c");
    }

    #[test]
    fn documents_of_no_disk_are_named_by_their_address() {
        for (uri, name) in [
            ("file:///a%20b/c.clutch", "/a b/c.clutch"),
            ("untitled:Untitled-1", "untitled:Untitled-1"),
            ("vfs://host/a/../b.clutch", "vfs:/host/b.clutch"),
        ] {
            assert_eq!(&*name_of(&Url::parse(uri).unwrap()), name);
        }
    }
}
