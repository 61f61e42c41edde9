//! The documents that the client has open, and what is known about each.

use crate::analysis::{Report, analyse, read_settings, report_settings};
use crate::faces::disk::{Disk, SettingsRead, read_bounded, settings_files};
use crate::finding::FileName;
use crate::model::{Files, Source, join};
use crate::settings::{Settings, is_settings};
use crate::syntax::{Encoding, LineColumn, LineIndex};
use std::collections::{HashMap, HashSet};
use std::path::Path;
use std::sync::{Arc, Mutex, OnceLock, PoisonError};
use std::time::SystemTime;
use tower_lsp::lsp_types::{TextDocumentContentChangeEvent, Url};

/// One state of an open document's text.
#[derive(Debug)]
pub(super) struct Buffer {
    pub uri: Url,
    pub name: FileName,
    pub version: i32,
    text: String,
    source: OnceLock<Arc<Source>>,
}

impl Buffer {
    fn new(uri: Url, version: i32, text: String) -> Self {
        Self {
            name: name_of(&uri),
            uri,
            version,
            text,
            source: OnceLock::new(),
        }
    }

    /// The text, read. The first who asks for it waits for the reading.
    fn source(&self) -> Arc<Source> {
        let new = match is_settings(&self.name) {
            true => Source::plain,
            false => Source::new,
        };
        let read = || Arc::new(new(self.name.clone(), self.text.clone()));
        self.source.get_or_init(read).clone()
    }
}

/// The name under which a document goes: its path, or else its whole address.
fn name_of(uri: &Url) -> FileName {
    match uri.to_file_path() {
        Ok(path) if uri.scheme() == "file" => Disk::name(&path),
        // In the form that `use` gives to names, so that documents of one place find each other.
        _ => join("", uri.as_str()),
    }
}

type Open = HashMap<FileName, Arc<Buffer>>;

/// A document in one state, beside all others as they were then.
#[derive(Debug)]
pub(super) struct Snapshot {
    pub buffer: Arc<Buffer>,
    open: Arc<Open>,
    disk: Arc<Changing>,
    analysed: OnceLock<Analysed>,
}

#[derive(Debug)]
struct Analysed {
    report: Report,
    /// Every file that was asked for, found or not.
    asked: HashSet<FileName>,
}

impl Snapshot {
    /// What is known about the document. The first who asks for it waits for the analysis.
    pub fn report(&self) -> &Report {
        let analysed = self.analysed.get_or_init(|| {
            let around = Around {
                snapshot: self,
                asked: Mutex::default(),
            };
            let source = self.buffer.source();
            let report = if is_settings(&source.name) {
                let settings = read_settings(&source);
                report_settings(source, Arc::new(settings))
            } else {
                analyse(source, &around)
            };
            let asked = around.asked.into_inner();
            Analysed {
                report,
                asked: asked.unwrap_or_else(PoisonError::into_inner),
            }
        });
        &analysed.report
    }

    /// Whether another file may have a part in what is known about this document.
    fn may_use(&self, name: &FileName) -> bool {
        self.analysed
            .get()
            .is_none_or(|analysed| analysed.asked.contains(name))
    }

    /// The address of a file by its name.
    pub fn uri(&self, name: &FileName) -> Option<Url> {
        match self.open.get(name) {
            Some(buffer) => Some(buffer.uri.clone()),
            None => Url::from_file_path(&**name).ok(),
        }
    }

    /// The version of a file that is open.
    pub fn version(&self, name: &FileName) -> Option<i32> {
        Some(self.open.get(name)?.version)
    }
}

/// The files around a document: what is open wins over the disk.
struct Around<'a> {
    snapshot: &'a Snapshot,
    asked: Mutex<HashSet<FileName>>,
}

impl Files for Around<'_> {
    fn read(&self, name: &FileName) -> Result<Arc<Source>, String> {
        self.asked
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .insert(name.clone());
        if let Some(buffer) = self.snapshot.open.get(name) {
            return Ok(buffer.source());
        }
        // A document that is not on the disk has no folder, and must not take the server's.
        if !Path::new(&**name).is_absolute() {
            return Err("cannot be found from a document that is not on the disk".to_owned());
        }
        self.snapshot.disk.read(name)
    }

    fn settings(&self, spec: &FileName) -> Arc<Settings> {
        if !Path::new(&**spec).is_absolute() {
            return Arc::default();
        }
        let found = settings_files(spec).find_map(|name| {
            self.asked
                .lock()
                .unwrap_or_else(PoisonError::into_inner)
                .insert(name.clone());
            if let Some(buffer) = self.snapshot.open.get(&name) {
                return Some(Arc::new(read_settings(&buffer.source())));
            }
            let path = Path::new(&*name);
            path.is_file()
                .then(|| SettingsRead::new(name.clone(), read_bounded(path)).settings)
        });
        found.unwrap_or_default()
    }
}

/// Files on the disk, read again whenever they have changed.
#[derive(Debug, Default)]
struct Changing {
    read: Mutex<HashMap<FileName, (Stamp, Arc<Source>)>>,
}

/// What changes with a file.
#[derive(Clone, Copy, PartialEq, Debug)]
struct Stamp {
    modified: Option<SystemTime>,
    length: u64,
}

impl Changing {
    fn read(&self, name: &FileName) -> Result<Arc<Source>, String> {
        let path = Path::new(&**name);
        let stamp = std::fs::metadata(path).ok().map(|data| Stamp {
            modified: data.modified().ok(),
            length: data.len(),
        });
        let known = || self.read.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some((then, source)) = known().get(name)
            && Some(*then) == stamp
        {
            return Ok(source.clone());
        }
        let bytes = read_bounded(path)?;
        let source = Arc::new(Source::from_bytes(name.clone(), &bytes));
        if let Some(stamp) = stamp {
            known().insert(name.clone(), (stamp, source.clone()));
        }
        Ok(source)
    }
}

/// All open documents.
#[derive(Debug, Default)]
pub(super) struct Documents {
    documents: HashMap<Url, Document>,
    open: Arc<Open>,
    disk: Arc<Changing>,
    opened: u64,
}

#[derive(Debug)]
pub(super) struct Document {
    /// Which opening of the document this is, so that nothing from before it comes through.
    pub opening: u64,
    pub snapshot: Arc<Snapshot>,
    /// Whether somebody is at work on its diagnostics.
    pub at_work: bool,
}

impl Documents {
    pub fn get(&self, uri: &Url) -> Option<&Document> {
        self.documents.get(uri)
    }

    pub fn get_mut(&mut self, uri: &Url) -> Option<&mut Document> {
        self.documents.get_mut(uri)
    }

    /// Opens a document, and says which are to be looked at again.
    pub fn open(&mut self, uri: Url, version: i32, text: String) -> Vec<Url> {
        self.opened += 1;
        let buffer = self.put(Buffer::new(uri.clone(), version, text));
        let document = Document {
            opening: self.opened,
            snapshot: self.snapshot(&buffer),
            at_work: false,
        };
        self.documents.insert(uri.clone(), document);
        self.look_again(&buffer.name, Some(uri))
    }

    /// Edits a document, and says which are to be looked at again.
    pub fn change(
        &mut self,
        uri: &Url,
        version: i32,
        changes: Vec<TextDocumentContentChangeEvent>,
        encoding: Encoding,
    ) -> Vec<Url> {
        let Some(document) = self.documents.get(uri) else {
            return Vec::new();
        };
        let mut text = document.snapshot.buffer.text.clone();
        for change in changes {
            apply(&mut text, change, encoding);
        }
        let buffer = self.put(Buffer::new(uri.clone(), version, text));
        let snapshot = self.snapshot(&buffer);
        if let Some(document) = self.documents.get_mut(uri) {
            document.snapshot = snapshot;
        }
        self.look_again(&buffer.name, Some(uri.clone()))
    }

    /// Closes a document, and says which are to be looked at again. The document's last version
    /// comes with it, if it was open.
    pub fn close(&mut self, uri: &Url) -> Option<(i32, Vec<Url>)> {
        let document = self.documents.remove(uri)?;
        let buffer = &document.snapshot.buffer;
        Arc::make_mut(&mut self.open).remove(&buffer.name);
        Some((buffer.version, self.look_again(&buffer.name, None)))
    }

    /// Something changed a file outside of the client.
    pub fn touched(&mut self, uri: &Url) -> Vec<Url> {
        self.look_again(&name_of(uri), None)
    }

    fn put(&mut self, buffer: Buffer) -> Arc<Buffer> {
        let buffer = Arc::new(buffer);
        Arc::make_mut(&mut self.open).insert(buffer.name.clone(), buffer.clone());
        buffer
    }

    fn snapshot(&self, buffer: &Arc<Buffer>) -> Arc<Snapshot> {
        Arc::new(Snapshot {
            buffer: buffer.clone(),
            open: self.open.clone(),
            disk: self.disk.clone(),
            analysed: OnceLock::new(),
        })
    }

    /// Forgets what is known about the documents that use a file, and lists them behind the
    /// file's own document.
    fn look_again(&mut self, name: &FileName, own: Option<Url>) -> Vec<Url> {
        let users: Vec<Url> = self
            .documents
            .iter()
            .filter(|(uri, document)| Some(*uri) != own.as_ref() && document.snapshot.may_use(name))
            .map(|(uri, _)| uri.clone())
            .collect();
        for uri in &users {
            if let Some(buffer) = self.get(uri).map(|user| user.snapshot.buffer.clone()) {
                let snapshot = self.snapshot(&buffer);
                if let Some(user) = self.get_mut(uri) {
                    user.snapshot = snapshot;
                }
            }
        }
        own.into_iter().chain(users).collect()
    }
}

/// Edits a text. A range that does not lie in it is brought back into it.
fn apply(text: &mut String, change: TextDocumentContentChangeEvent, encoding: Encoding) {
    let Some(range) = change.range else {
        *text = change.text;
        return;
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
