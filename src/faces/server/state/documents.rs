//! The client's open documents: they are opened, edited and closed, and make each other out of date.

use super::address::name_of;
use super::buffer::Buffer;
use super::dependents::Dependents;
use super::file_view::Analyst;
use super::snapshot::Snapshot;
use super::workspace::Workspace;
use super::world::{Closed, ClosedFiles, OneFile, World};
use crate::faces::files::read_policy::ReadPolicy;
use crate::finding::FileName;
use crate::syntax::{Encoding, TextRange};
use lsp_types::{SemanticToken, TextDocumentContentChangeEvent, Url};
use std::collections::{HashMap, VecDeque};
use std::sync::{Arc, OnceLock};

/// The least number of documents whose analyses are kept while others are requested.
const RECENT: usize = 32;

/// The documents that must be analysed again.
#[derive(Debug, Default)]
pub(crate) struct Invalidated {
    /// The edited document.
    pub own: Option<Url>,
    /// The documents that use it.
    pub dependents: Vec<Url>,
    /// A document with held-back diagnostics that must be published now.
    pub released: Option<Url>,
}

/// All open documents, and the workspace around them.
#[derive(Debug, Default)]
pub(crate) struct Documents {
    documents: HashMap<Url, Document>,
    closed: ClosedFiles,
    opened: u64,
    /// The documents requested last, the latest at the end.
    recent: VecDeque<Url>,
    dependents: Dependents,
    /// The documents by their openings.
    openings: HashMap<u64, Url>,
    /// The document that was edited last.
    typed_in: Option<Url>,
}

#[derive(Debug)]
pub(crate) struct Document {
    /// The number of this opening of the document, so that work from before it is recognized.
    pub opening: u64,
    pub snapshot: Arc<Snapshot>,
    /// Whether a thread is working on its diagnostics.
    pub is_scheduled: bool,
    /// The semantic tokens sent last, with their number.
    pub semantic_tokens: Option<(u64, Arc<Vec<SemanticToken>>)>,
}

impl Drop for Document {
    fn drop(&mut self) {
        self.snapshot.supersede();
    }
}

impl Documents {
    /// An empty set of documents with an analyst.
    pub fn of(analyst: Analyst) -> Self {
        let mut documents = Self::default();
        documents.closed.files.analyst = analyst;
        documents
    }

    pub fn get(&self, uri: &Url) -> Option<&Document> {
        self.documents.get(uri)
    }

    pub fn get_mut(&mut self, uri: &Url) -> Option<&mut Document> {
        self.documents.get_mut(uri)
    }

    /// Notes that a document was requested. The analyses of documents that no request has used for long are dropped,
    /// since an editor may open many thousands.
    pub fn touch(&mut self, uri: &Url) {
        let Some(document) = self.documents.get(uri) else {
            return;
        };
        if !self.dependents.is_known(document.opening)
            && let Some(asked) = document.snapshot.asked()
        {
            self.dependents.note(document.opening, asked);
        }
        if self.recent.back() == Some(uri) {
            return;
        }
        self.recent.retain(|other| other != uri);
        self.recent.push_back(uri.clone());
        if self.recent.len() < 2 * RECENT {
            return;
        }
        // Many at once, so that they share their files.
        for uri in self.recent.drain(..RECENT) {
            if let Some(document) = self.documents.get_mut(&uri)
                && self.dependents.is_known(document.opening)
            {
                let buffer = document.snapshot.buffer.clone();
                buffer.evict();
                document.snapshot = Snapshot::new(buffer, self.closed.files.clone());
                document.semantic_tokens = None;
            }
        }
    }

    /// Opens a document.
    pub fn open(&mut self, uri: Url, version: i32, text: String) -> Invalidated {
        self.opened += 1;
        let buffer = self.put(Buffer::new(uri.clone(), version, text));
        let document = Document {
            opening: self.opened,
            snapshot: Snapshot::new(buffer.clone(), self.closed.files.clone()),
            is_scheduled: false,
            semantic_tokens: None,
        };
        self.dependents.forget(document.opening);
        self.openings.insert(document.opening, uri.clone());
        if let Some(before) = self.documents.insert(uri.clone(), document) {
            self.closed_opening(before.opening);
        }
        self.invalidate(&buffer.name, Some(uri))
    }

    /// Edits a document.
    pub fn change(
        &mut self,
        uri: &Url,
        version: i32,
        changes: Vec<TextDocumentContentChangeEvent>,
        encoding: Encoding,
    ) -> Invalidated {
        let Some(document) = self.documents.get(uri) else {
            return Invalidated::default();
        };
        let before = &document.snapshot.buffer;
        let (buffer, typed) = before.edited(version, changes, encoding);
        let buffer = self.put(buffer);
        let released = match &self.typed_in {
            Some(other) if other != uri => self.move_on(&other.clone()),
            _ => None,
        };
        self.typed_in = typed.is_some().then(|| uri.clone());
        self.renew(uri, &buffer, typed);
        Invalidated {
            released,
            ..self.invalidate(&buffer.name, Some(uri.clone()))
        }
    }

    /// Notes that the cursor has moved on from the last edit of a document. Gives the document whose diagnostics must
    /// be published again.
    pub fn move_on(&self, uri: &Url) -> Option<Url> {
        let has_more = self.get(uri)?.snapshot.move_on();
        has_more.then(|| uri.clone())
    }

    /// The document that was edited last, while it has held-back diagnostics.
    pub fn holding(&self) -> Option<Arc<Snapshot>> {
        let snapshot = &self.get(self.typed_in.as_ref()?)?.snapshot;
        snapshot.holds().then(|| snapshot.clone())
    }

    /// Closes a document. If it was open, its last version is returned too.
    pub fn close(&mut self, uri: &Url) -> Option<(i32, Invalidated)> {
        let document = self.documents.remove(uri)?;
        self.closed_opening(document.opening);
        let buffer = &document.snapshot.buffer;
        self.closed.files.open.remove(&buffer.name);
        Some((buffer.version?, self.invalidate(&buffer.name, None)))
    }

    /// Takes a file that the client gives. A file that the client has open is not changed.
    pub fn give(&mut self, uri: Url, text: String) -> Invalidated {
        let buffer = Buffer::given(uri, text);
        let name = buffer.name.clone();
        self.closed.files.workspace.given(&name, true);
        let known = self.closed.files.open.get(&name);
        if known.is_some_and(|known| known.version.is_some()) {
            return Invalidated::default();
        }
        self.put(buffer);
        self.invalidate(&name, None)
    }

    /// Removes a file that the client had given.
    pub fn take_away(&mut self, uri: &Url) -> Invalidated {
        let name = name_of(uri);
        self.closed.files.workspace.given(&name, false);
        let known = self.closed.files.open.get(&name);
        if known.is_some_and(|known| known.version.is_none()) {
            self.closed.files.open.remove(&name);
        }
        self.invalidate(&name, None)
    }

    fn closed_opening(&mut self, opening: u64) {
        self.dependents.remove(opening);
        self.openings.remove(&opening);
    }

    /// Takes a change of a file outside of the client.
    pub fn file_changed(&mut self, uri: &Url, is_there: bool) -> Invalidated {
        let name = name_of(uri);
        self.closed.files.disk.forget(&name);
        self.closed.files.workspace.noted(&name, is_there);
        self.invalidate(&name, None)
    }

    pub fn workspace(&self) -> &Workspace {
        &self.closed.files.workspace
    }

    /// Takes another workspace, or other libraries that it may read.
    pub fn set_workspace(&mut self, workspace: Workspace, policy: ReadPolicy) -> Invalidated {
        self.closed.files.workspace = workspace;
        self.closed.files.policy = Arc::new(policy);
        let all: Vec<Url> = self.documents.keys().cloned().collect();
        for uri in &all {
            if let Some(buffer) = self.get(uri).map(|d| d.snapshot.buffer.clone()) {
                self.renew(uri, &buffer, None);
            }
        }
        Invalidated {
            dependents: all,
            ..Invalidated::default()
        }
    }

    /// All files at the present moment.
    pub fn world(&self) -> World {
        World {
            open: self
                .documents
                .values()
                .map(|d| d.snapshot.clone())
                .collect(),
            by_name: OnceLock::new(),
            closed: self.closed.clone(),
        }
    }

    /// One file at the present moment, open or not.
    pub fn file(&self, name: FileName) -> OneFile {
        let open = self.closed.files.open.get(&name);
        match open.and_then(|buffer| self.documents.get(&buffer.uri)) {
            Some(document) => OneFile::Open(document.snapshot.clone()),
            None => OneFile::Closed(Closed {
                name,
                among: self.closed.clone(),
            }),
        }
    }

    fn put(&mut self, buffer: Buffer) -> Arc<Buffer> {
        let buffer = Arc::new(buffer);
        self.closed
            .files
            .open
            .insert(buffer.name.clone(), buffer.clone());
        buffer
    }

    /// Drops the analysis of a document, after an edit in it or in a file that it uses.
    fn renew(&mut self, uri: &Url, buffer: &Arc<Buffer>, typed: Option<TextRange>) {
        if let Some(document) = self.documents.get_mut(uri) {
            let old = &document.snapshot;
            let known = old.last_analysed();
            old.supersede();
            self.dependents.forget(document.opening);
            document.snapshot =
                Snapshot::after(known, buffer.clone(), self.closed.files.clone(), typed);
        }
    }

    /// Drops the analyses of the documents that use a file.
    fn invalidate(&mut self, name: &FileName, own: Option<Url>) -> Invalidated {
        let uris = self.dependents.of(name).into_iter();
        let uris = uris.filter_map(|opening| self.openings.get(&opening));
        let uses = |uri: &&Url| {
            let asked = self.documents.get(uri).and_then(|d| d.snapshot.asked());
            asked.is_none_or(|mut asked| asked.any(|asked| asked == name))
        };
        let other = uris.filter(|uri| Some(*uri) != own.as_ref());
        let dependents: Vec<Url> = other.filter(uses).cloned().collect();
        for uri in &dependents {
            if let Some(buffer) = self.get(uri).map(|user| user.snapshot.buffer.clone()) {
                self.renew(uri, &buffer, None);
            }
        }
        Invalidated {
            own,
            dependents,
            released: None,
        }
    }
}
