//! One state of a document's text, and its edits.

use super::address::{address_of, name_of};
use crate::faces::sync::lock;
use crate::finding::FileName;
use crate::model::Source;
use crate::settings::is_settings;
use crate::syntax::{Encoding, LineColumn, LineIndex, TextChange, TextRange, same_ends};
use lsp_types::{TextDocumentContentChangeEvent, Url};
use std::borrow::Cow;
use std::sync::{Arc, Mutex};

/// One state of a document's text.
#[derive(Debug)]
pub(crate) struct Buffer {
    pub uri: Url,
    pub name: FileName,
    /// Its version; `None` for a file that is not open.
    pub version: Option<i32>,
    content: Mutex<Content>,
}

#[derive(Debug)]
enum Content {
    /// A text that was not parsed yet, or of which only the text is kept.
    Text {
        text: String,
        before: Option<Before>,
    },
    Read(Arc<Source>),
}

/// The last state of the text that was parsed, and the change since then.
#[derive(Clone, Debug)]
struct Before {
    source: Arc<Source>,
    change: TextChange,
}

impl Content {
    fn text(&self) -> &str {
        match self {
            Self::Text { text, .. } => text,
            Self::Read(source) => &source.text,
        }
    }

    fn lines(&self) -> Cow<'_, LineIndex> {
        match self {
            Self::Text { text, .. } => Cow::Owned(LineIndex::new(text)),
            Self::Read(source) => Cow::Borrowed(&source.lines),
        }
    }

    /// The last state that was parsed, with the change up to after this one.
    fn before(&self, change: TextChange) -> Option<Before> {
        match self {
            Self::Text { before, .. } => before.as_ref().map(|before| Before {
                source: before.source.clone(),
                change: before.change.then(change),
            }),
            Self::Read(source) => Some(Before {
                source: source.clone(),
                change,
            }),
        }
    }
}

impl Buffer {
    pub fn new(uri: Url, version: i32, text: String) -> Self {
        Self {
            name: name_of(&uri),
            uri,
            version: Some(version),
            content: Mutex::new(Content::Text { text, before: None }),
        }
    }

    /// The next state of the text, and the range of the last inserted text in it.
    pub fn edited(
        &self,
        version: i32,
        changes: Vec<TextDocumentContentChangeEvent>,
        encoding: Encoding,
    ) -> (Self, Option<TextRange>) {
        let content = lock(&self.content);
        let edits = apply(content.text(), content.lines(), changes, encoding);
        let typed = edits.last.map(TextChange::new_span);
        let nothing = TextChange {
            old: TextRange::default(),
            new_length: 0,
        };
        let buffer = Self {
            name: self.name.clone(),
            uri: self.uri.clone(),
            version: Some(version),
            content: Mutex::new(Content::Text {
                text: edits.text,
                before: content.before(edits.all.unwrap_or(nothing)),
            }),
        };
        (buffer, typed)
    }

    /// A file that the client gives without opening it.
    pub fn given(uri: Url, text: String) -> Self {
        Self {
            version: None,
            ..Self::new(uri, 0, text)
        }
    }

    pub fn on_disk(source: Arc<Source>) -> Option<Self> {
        Some(Self {
            uri: address_of(&source.name)?,
            name: source.name.clone(),
            version: None,
            content: Mutex::new(Content::Read(source)),
        })
    }

    /// The parsed text. The first caller waits for the parsing.
    pub fn source(&self) -> Arc<Source> {
        let mut content = lock(&self.content);
        // Copied, so that the text is kept if parsing panics.
        let (text, before) = match &*content {
            Content::Read(source) => return source.clone(),
            Content::Text { text, before } => (text.clone(), before.clone()),
        };
        let source = Arc::new(match before {
            _ if is_settings(&self.name) => Source::plain(self.name.clone(), text),
            Some(Before { source, change }) => {
                debug_assert!(change.leads(&source.text, &text), "{change:?}");
                source.changed(change, text)
            }
            None => Source::new(self.name.clone(), text),
        });
        *content = Content::Read(source.clone());
        source
    }

    /// Drops the tree and keeps only the text. A file that is not open keeps both.
    pub fn evict(&self) {
        let mut content = lock(&self.content);
        if self.version.is_some()
            && let Content::Read(source) = &*content
        {
            let text = source.text.clone();
            *content = Content::Text { text, before: None };
        }
    }
}

/// A text after some changes.
struct Edits {
    text: String,
    /// All changes as one.
    all: Option<TextChange>,
    last: Option<TextChange>,
}

/// Applies changes to a text, which comes with its lines. A range outside of the text is moved into it.
fn apply(
    text: &str,
    mut lines: Cow<'_, LineIndex>,
    changes: Vec<TextDocumentContentChangeEvent>,
    encoding: Encoding,
) -> Edits {
    let added: usize = changes.iter().map(|change| change.text.len()).sum();
    let mut edits = Edits {
        text: String::with_capacity(text.len() + added),
        all: None,
        last: None,
    };
    edits.text.push_str(text);
    for (at, event) in changes.into_iter().enumerate() {
        if let Some(last) = edits.last.filter(|_| at > 0) {
            lines = Cow::Owned(lines.changed(last, &edits.text));
        }
        let new_length = event.text.len();
        let change = match event.range {
            Some(range) => {
                let [start, end] = [range.start, range.end].map(|position| {
                    let place = LineColumn {
                        line: position.line,
                        column: position.character,
                    };
                    lines.offset(place, encoding) as usize
                });
                let old = start..end.max(start);
                edits.text.replace_range(old.clone(), &event.text);
                TextChange {
                    old: TextRange::new(old.start, old.end),
                    new_length: new_length as u32,
                }
            }
            None => {
                let [before, behind] = same_ends(&edits.text, &event.text);
                let old = TextRange::new(before, edits.text.len() - behind);
                edits.text = event.text;
                TextChange {
                    old,
                    new_length: (new_length - behind - before) as u32,
                }
            }
        };
        edits.all = Some(edits.all.map_or(change, |all| all.then(change)));
        edits.last = Some(change);
    }
    edits
}

#[cfg(test)]
mod tests {
    use super::*;
    use lsp_types::{Position, Range};

    fn edited(text: &str, from: (u32, u32), to: (u32, u32), new: &str) -> String {
        let change = TextDocumentContentChangeEvent {
            range: Some(Range {
                start: Position::new(from.0, from.1),
                end: Position::new(to.0, to.1),
            }),
            range_length: None,
            text: new.to_owned(),
        };
        let lines = Cow::Owned(LineIndex::new(text));
        apply(text, lines, vec![change], Encoding::Utf16).text
    }

    #[test]
    fn edits_apply_at_their_range() {
        assert_eq!(edited("a\r\nbc", (1, 1), (1, 2), "d"), "a\r\nbd");
        assert_eq!(edited("🚗 ab", (0, 2), (0, 3), "-"), "🚗-ab");
        assert_eq!(edited("a\nb\nc", (0, 1), (2, 0), ""), "ac");
    }

    #[test]
    fn the_changes_of_one_notification_are_kept_as_one() {
        let at = |line, from, to, text: &str| TextDocumentContentChangeEvent {
            range: Some(Range {
                start: Position::new(line, from),
                end: Position::new(line, to),
            }),
            range_length: None,
            text: text.to_owned(),
        };
        let old = "let a = 1\r\nlet b = 2 # ±\nlet c = 3\n";
        let changes = vec![
            at(1, 4, 5, "bore"),
            at(0, 8, 9, "12\n"),
            at(2, 12, 12, "34"),
        ];
        let lines = Cow::Owned(LineIndex::new(old));
        let edits = apply(old, lines, changes, Encoding::Utf16);
        assert_eq!(
            edits.text,
            "let a = 12\n\r\nlet bore = 234 # ±\nlet c = 3\n"
        );
        let all = edits.all.unwrap();
        assert!(all.leads(old, &edits.text));
        assert_eq!(all.old.of(old), "1\r\nlet b = 2");
        assert_eq!(edits.last.unwrap().new_span().of(&edits.text), "34");
    }

    #[test]
    fn ranges_outside_of_the_text_are_brought_back() {
        assert_eq!(edited("ab", (0, 9), (7, 0), "c"), "abc");
        assert_eq!(edited("ab", (5, 5), (0, 0), "c"), "abc");
        assert_eq!(edited("a\r\nb", (0, 5), (0, 9), "c"), "ac\r\nb");
        assert_eq!(edited("🚗", (0, 1), (0, 2), "c"), "c");
    }

    #[test]
    fn documents_outside_of_the_disk_are_named_by_their_address() {
        for (uri, name) in [
            ("file:///a%20b/c.clutch", "/a b/c.clutch"),
            ("untitled:Untitled-1", "untitled:Untitled-1"),
            ("vfs://host/a/../b.clutch", "vfs:/host/b.clutch"),
        ] {
            assert_eq!(&*name_of(&Url::parse(uri).unwrap()), name);
        }
    }
}
