//! All documents and all specs of the workspace at one moment.

use super::after_moves::AfterMoves;
use super::buffer::Buffer;
use super::disk_cache::MOST_KEPT;
use super::file_view::FileView;
use super::snapshot::{Snapshot, WaitGuard};
use super::workspace::Workspace;
use crate::analysis::Moves;
use crate::faces::sync::lock;
use crate::finding::FileName;
use std::collections::{HashMap, HashSet};
use std::sync::{Arc, Mutex, OnceLock};

/// The files that are not open, at one moment.
#[derive(Clone, Debug, Default)]
pub(super) struct ClosedFiles {
    pub files: FileView,
    /// Their snapshots, as long as they hold.
    known: Arc<Mutex<HashMap<FileName, Arc<Snapshot>>>>,
}

impl ClosedFiles {
    /// A file on the disk; `None` if there is none.
    fn get(&self, name: &FileName) -> Option<Arc<Snapshot>> {
        let known = || lock(&self.known);
        let given = self.files.open.get(name);
        let source = self.files.spec(name)?;
        let before = known().get(name).cloned();
        if let Some(before) = before
            && Arc::ptr_eq(&before.buffer.source(), &source)
            && before.holds_in(&self.files)
        {
            return Some(before);
        }
        let buffer = match given {
            Some(buffer) => buffer.clone(),
            None => Arc::new(Buffer::on_disk(source)?),
        };
        let snapshot = Snapshot::new(buffer, self.files.clone());
        let mut known = known();
        if known.len() >= MOST_KEPT {
            known.clear();
        }
        known.insert(name.clone(), snapshot.clone());
        Some(snapshot)
    }
}

/// One file at one moment, open or not.
#[derive(Debug)]
pub(crate) enum OneFile {
    Open(Arc<Snapshot>),
    Closed(Closed),
}

/// A file that is not open and was not read yet.
#[derive(Debug)]
pub(crate) struct Closed {
    pub(super) name: FileName,
    pub(super) among: ClosedFiles,
}

impl OneFile {
    /// Notes that a request waits for the analysis of the file.
    pub fn wait(&self) -> Option<WaitGuard> {
        match self {
            Self::Open(snapshot) => Some(snapshot.wait()),
            Self::Closed(_) => None,
        }
    }

    /// The file; `None` if there is none. A file that is not open may be read from the disk.
    pub fn snapshot(self) -> Option<Arc<Snapshot>> {
        match self {
            Self::Open(snapshot) => Some(snapshot),
            Self::Closed(Closed { name, among }) => among.get(&name),
        }
    }
}

/// All documents and all specs of the workspace at one moment.
#[derive(Clone, Debug)]
pub(crate) struct World {
    pub(super) open: Vec<Arc<Snapshot>>,
    /// The position of each open document, worked out on the first request.
    pub(super) by_name: OnceLock<HashMap<FileName, usize>>,
    pub(super) closed: ClosedFiles,
}

impl World {
    /// The open documents, the unopened specs of the workspace, and all files that they use, each once.
    pub fn all(&self) -> Vec<Arc<Snapshot>> {
        let mut found = self.specs();
        let mut known: HashSet<FileName> = found.iter().map(|s| s.buffer.name.clone()).collect();
        let mut next = 0;
        while let Some(snapshot) = found.get(next).cloned() {
            for source in snapshot.scope().sources() {
                if known.insert(source.name.clone()) {
                    found.extend(self.file(&source.name));
                }
            }
            next += 1;
        }
        found
    }

    /// The open documents, and the unopened specs of the workspace.
    pub fn specs(&self) -> Vec<Arc<Snapshot>> {
        let is_open = |name: &&FileName| self.open_by_name().contains_key(*name);
        let specs = self.workspace().specs().iter();
        let closed = specs.filter(|name| !is_open(name));
        let closed = closed.filter_map(|name| self.file(name));
        self.open.iter().cloned().chain(closed).collect()
    }

    /// All specs, and the settings files with mistakes that hold for any of them.
    pub fn specs_and_settings(&self) -> Vec<Arc<Snapshot>> {
        let mut all = self.specs();
        let mut known: HashSet<FileName> = all.iter().map(|s| s.buffer.name.clone()).collect();
        let mistaken = |spec: &Arc<Snapshot>| {
            // This analyses the spec.
            let _ = spec.report();
            spec.mistaken_settings().cloned()
        };
        let names: Vec<FileName> = all.iter().filter_map(mistaken).collect();
        let new = names.into_iter().filter(|name| known.insert(name.clone()));
        let files: Vec<Arc<Snapshot>> = new.filter_map(|name| self.file(&name)).collect();
        all.extend(files);
        all
    }

    /// A file, open or not; `None` where there is none.
    pub fn file(&self, name: &FileName) -> Option<Arc<Snapshot>> {
        if let Some(at) = self.open_by_name().get(name) {
            return self.open.get(*at).cloned();
        }
        self.closed.get(name)
    }

    fn open_by_name(&self) -> &HashMap<FileName, usize> {
        let names = self.open.iter().map(|open| open.buffer.name.clone());
        self.by_name.get_or_init(|| names.zip(0..).collect())
    }

    /// The files as they will be once some have new names.
    pub fn after<'a>(&'a self, moves: &'a Moves) -> AfterMoves<'a> {
        AfterMoves {
            files: &self.closed.files,
            moves,
        }
    }

    pub fn workspace(&self) -> &Workspace {
        &self.closed.files.workspace
    }

    /// Notes that a request waits for the analyses of all open documents.
    pub fn wait(&self) -> Vec<WaitGuard> {
        self.open.iter().map(Snapshot::wait).collect()
    }
}
