//! The documents that the client has open, and what is known about each.

use super::files::{Changing, MOST_KEPT};
use super::users::Users;
use super::workspace::Workspace;
use crate::analysis::{Report, Scope, Watch, Work, analyse_after, read_settings, report_settings};
use crate::faces::disk::{Disk, SettingsRead, lock, settings_files};
use crate::faces::read_policy::ReadPolicy;
use crate::finding::FileName;
use crate::model::{Files, ReadError, Source, join};
use crate::settings::{Settings, is_settings};
use crate::syntax::{Encoding, LineColumn, LineIndex, Span, same_ends};
use std::collections::{HashMap, HashSet, VecDeque};
use std::path::Path;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, OnceLock, PoisonError};
use tower_lsp::lsp_types::{SemanticToken, TextDocumentContentChangeEvent, Url};

/// How many combinations of one system are tried while somebody types.
const WHILE_TYPING: u64 = 2_000;

/// How many documents stay known while others are looked at, at the least.
const MOST_AWAKE: usize = 32;

/// A longer path leads to no file, and has more folders above it than anybody wants to look into.
const MAX_PATH_BYTES: usize = 4 << 10;

/// Looks at a document, with what was known of it before it was edited.
pub(super) type Analyse = fn(Option<&Report>, Arc<Source>, &dyn Files, &Work<'_>) -> Report;

/// What looks at documents.
#[derive(Clone, Copy, Debug)]
pub(super) struct Analyst(pub Analyse);

impl Default for Analyst {
    fn default() -> Self {
        Self(analyse_after)
    }
}

/// One state of a document's text.
#[derive(Debug)]
pub(super) struct Buffer {
    pub uri: Url,
    pub name: FileName,
    /// `None` for a file that is not open.
    pub version: Option<i32>,
    /// The text that the client has; empty for a file that is not open.
    text: String,
    /// The text as it was read, while it is kept.
    source: Mutex<Option<Arc<Source>>>,
    /// The last state of the text that was read, until this one is.
    before: Mutex<Option<Arc<Source>>>,
}

impl Buffer {
    fn new(uri: Url, version: i32, text: String) -> Self {
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
    fn edited(&self, version: i32, text: String) -> Self {
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

    fn on_disk(source: Arc<Source>) -> Option<Self> {
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
    fn put_away(&self) {
        if self.version.is_some() {
            *lock(&self.source) = None;
        }
    }
}

/// The name under which a document goes: its path, or else its whole address.
pub(super) fn name_of(uri: &Url) -> FileName {
    match uri.to_file_path() {
        Ok(path) if uri.scheme() == "file" && path.as_os_str().len() <= MAX_PATH_BYTES => {
            Disk::name(&path)
        }
        // In the form that `use` gives to names, so that documents of one place find each other.
        _ => join("", uri.as_str()),
    }
}

/// Shares what it has in common with its earlier states, which snapshots keep.
type Open = imbl::HashMap<FileName, Arc<Buffer>>;

/// What stands around a document at one moment: what is open wins over the disk.
#[derive(Clone, Debug, Default)]
pub(super) struct Around {
    open: Open,
    disk: Arc<Changing>,
    policy: Arc<ReadPolicy>,
    analyst: Analyst,
    workspace: Workspace,
}

impl Around {
    /// A file, as a document reads it.
    fn read(&self, document: &FileName, name: &FileName) -> Result<Arc<Source>, ReadError> {
        if let Some(buffer) = self.open.get(name) {
            return Ok(buffer.source());
        }
        let path = Path::new(&**name);
        // A document that is not on the disk has no folder, and must not take the server's.
        if !path.is_absolute() {
            let why = "cannot be found from a document that is not on the disk";
            return Err(why.to_owned().into());
        }
        let library = &self.settings(document, |_, _| {}).library;
        self.policy.used(Path::new(&**document), library, path)?;
        Ok(self.disk.read(name)?)
    }

    /// A file of settings as it is now.
    fn settings_file(&self, name: &FileName) -> Result<Arc<Source>, String> {
        if let Some(buffer) = self.open.get(name) {
            return Ok(buffer.source());
        }
        self.policy.settings(Path::new(&**name))?;
        self.disk.read(name)
    }

    /// The settings that hold for a document, and which files were looked for.
    fn settings(
        &self,
        document: &FileName,
        mut looked: impl FnMut(&FileName, Option<Arc<Source>>),
    ) -> Arc<Settings> {
        if !Path::new(&**document).is_absolute() {
            return Arc::default();
        }
        let found = settings_files(document).find_map(|name| {
            let is_there = || Path::new(&*name).symlink_metadata().is_ok();
            // Most folders have no such file, and with each key all of them are looked into.
            if !self.open.contains_key(&name) && !is_there() {
                looked(&name, None);
                return None;
            }
            let read = self.settings_file(&name);
            looked(&name, read.as_ref().ok().cloned());
            match read {
                Ok(source) => Some(Arc::new(read_settings(&source))),
                Err(_) if !is_there() => None,
                Err(why) => Some(SettingsRead::new(name, Err(why)).settings),
            }
        });
        found.unwrap_or_default()
    }
}

/// A document in one state, beside all others as they were then.
#[derive(Debug)]
pub(super) struct Snapshot {
    pub buffer: Arc<Buffer>,
    around: Around,
    scope: OnceLock<Known<Scope>>,
    report: OnceLock<Known<Report>>,
    /// The last state of the document of which something is known, until this is known too.
    before: Mutex<Option<Arc<Snapshot>>>,
    /// Whether the document has a newer state.
    superseded: AtomicBool,
    /// How many requests wait for what is known of this state.
    waiting: AtomicUsize,
    /// What the last edit put in, where this state is of an edit.
    typed: Option<Typed>,
}

/// The place of the last edit, while nobody knows that the cursor has moved on from it.
#[derive(Debug)]
struct Typed {
    at: Span,
    moved_on: AtomicBool,
    /// Whether something was held back for it, and has to be told in the end.
    holds: AtomicBool,
}

/// Something that was worked out from files.
#[derive(Debug)]
struct Known<T> {
    what: T,
    /// Every file that was asked for, with what it was, if it was there.
    asked: HashMap<FileName, Option<Arc<Source>>>,
}

impl Snapshot {
    fn new(buffer: Arc<Buffer>, around: Around) -> Arc<Self> {
        Self::after(None, buffer, around, None)
    }

    fn after(
        before: Option<Arc<Self>>,
        buffer: Arc<Buffer>,
        around: Around,
        typed: Option<Span>,
    ) -> Arc<Self> {
        Arc::new(Self {
            buffer,
            around,
            scope: OnceLock::new(),
            report: OnceLock::new(),
            before: Mutex::new(before),
            superseded: AtomicBool::new(false),
            waiting: AtomicUsize::new(0),
            typed: typed.map(|at| Typed {
                at,
                moved_on: AtomicBool::new(false),
                holds: AtomicBool::new(false),
            }),
        })
    }

    /// Where the last edit was, as long as the cursor is taken to be there.
    pub fn typed(&self) -> Option<Span> {
        let typed = self.typed.as_ref()?;
        let is_there = !typed.moved_on.load(Ordering::Relaxed);
        is_there.then_some(typed.at)
    }

    /// Notes that something is not told as long as the cursor is where the last edit was.
    pub fn hold_back(&self) {
        if let Some(typed) = &self.typed {
            typed.holds.store(true, Ordering::Relaxed);
        }
    }

    /// Whether something is not told as long as the cursor is where the last edit was.
    pub fn holds(&self) -> bool {
        let holds = |typed: &Typed| typed.holds.load(Ordering::Relaxed);
        self.typed().is_some() && self.typed.as_ref().is_some_and(holds)
    }

    /// Notes that the cursor has moved on, and says whether there is something to tell now.
    pub fn move_on(&self) -> bool {
        self.typed.as_ref().is_some_and(|typed| {
            let was_there = !typed.moved_on.swap(true, Ordering::Relaxed);
            was_there && typed.holds.load(Ordering::Relaxed)
        })
    }

    /// What is known about the document. The first who asks for it waits for the analysis.
    pub fn report(&self) -> &Report {
        self.look().0
    }

    /// The same, with the state before, which nobody needs any more: letting it go takes a moment.
    pub fn look(&self) -> (&Report, Option<Arc<Self>>) {
        let known = self.report.get_or_init(|| {
            self.known(|source, files| {
                if !is_settings(&source.name) {
                    let work = Work {
                        combinations: WHILE_TYPING,
                        watch: self,
                    };
                    let before = lock(&self.before).clone();
                    let before = before.as_ref().and_then(|before| before.report.get());
                    let before = before.map(|known| &known.what);
                    return self.around.analyst.0(before, source, files, &work);
                }
                let settings = read_settings(&source);
                report_settings(source, Arc::new(settings))
            })
        });
        // What came of systems before a mistake is known from the last state that was looked at to
        // the end.
        let is_whole = known.what.is_whole;
        let before = is_whole.then(|| lock(&self.before).take());
        (&known.what, before.flatten())
    }

    /// What the names in the document mean; much quicker than the report.
    pub fn scope(&self) -> &Scope {
        let known = self.scope.get_or_init(|| self.known(Scope::load));
        &known.what
    }

    fn known<T>(&self, work_out: impl FnOnce(Arc<Source>, &dyn Files) -> T) -> Known<T> {
        let reader = Reader {
            snapshot: self,
            asked: Mutex::default(),
        };
        let what = work_out(self.buffer.source(), &reader);
        let asked = reader.asked.into_inner();
        Known {
            what,
            asked: asked.unwrap_or_else(PoisonError::into_inner),
        }
    }

    /// The file of settings with mistakes that holds for the document, if that is known.
    pub fn mistaken_settings(&self) -> Option<&FileName> {
        let settings = &self.report.get()?.what.settings;
        let is_its_own = is_settings(&self.buffer.name);
        let file = settings.file.as_ref()?;
        (!is_its_own && !settings.problems.is_empty()).then_some(file)
    }

    /// The files that were asked for to look at this state, if it was looked at.
    fn asked(&self) -> Option<impl Iterator<Item = &FileName>> {
        Some(self.report.get()?.asked.keys())
    }

    /// Whether what is known is still so in other surroundings.
    fn holds_in(&self, around: &Around) -> bool {
        let scope = self.scope.get().map(|known| &known.asked);
        let report = self.report.get().map(|known| &known.asked);
        let mut asked = scope.into_iter().chain(report).flatten();
        asked.all(
            |(name, then)| match (around.read(&self.buffer.name, name), then) {
                (Ok(now), Some(then)) => Arc::ptr_eq(&now, then),
                (now, then) => now.is_err() && then.is_none(),
            },
        )
    }

    /// The address of a file by its name.
    pub fn uri(&self, name: &FileName) -> Option<Url> {
        match self.around.open.get(name) {
            Some(buffer) => Some(buffer.uri.clone()),
            None => Url::from_file_path(&**name).ok(),
        }
    }

    /// The version of a file that is open.
    pub fn version(&self, name: &FileName) -> Option<i32> {
        self.around.open.get(name)?.version
    }

    /// Notes that somebody waits for what is known of this state, until the guard is dropped.
    pub fn wait(self: &Arc<Self>) -> Waiting {
        self.waiting.fetch_add(1, Ordering::Relaxed);
        Waiting(self.clone())
    }

    /// Notes that the document has a newer state, or is closed.
    fn supersede(&self) {
        self.superseded.store(true, Ordering::Relaxed);
    }
}

impl Watch for Snapshot {
    fn is_stopped(&self) -> bool {
        self.superseded.load(Ordering::Relaxed) && self.waiting.load(Ordering::Relaxed) == 0
    }
}

/// Somebody who waits.
pub(super) struct Waiting(Arc<Snapshot>);

impl Drop for Waiting {
    fn drop(&mut self) {
        self.0.waiting.fetch_sub(1, Ordering::Relaxed);
    }
}

/// Reads files for a document, and remembers which.
struct Reader<'a> {
    snapshot: &'a Snapshot,
    asked: Mutex<HashMap<FileName, Option<Arc<Source>>>>,
}

impl Files for Reader<'_> {
    fn read(&self, name: &FileName) -> Result<Arc<Source>, String> {
        self.used(&self.snapshot.buffer.name, name)
            .map_err(|refused| refused.why)
    }

    fn used(&self, _spec: &FileName, name: &FileName) -> Result<Arc<Source>, ReadError> {
        let read = self.snapshot.around.read(&self.snapshot.buffer.name, name);
        lock(&self.asked).insert(name.clone(), read.as_ref().ok().cloned());
        read
    }

    fn shown(&self, name: &FileName) -> FileName {
        self.snapshot.around.workspace.shown(name)
    }

    fn settings(&self, spec: &FileName) -> Arc<Settings> {
        self.snapshot.around.settings(spec, |name, source| {
            lock(&self.asked).insert(name.clone(), source);
        })
    }
}

/// Which documents are to be looked at again.
#[derive(Debug, Default)]
pub(super) struct Changed {
    /// The one that was edited.
    pub own: Option<Url>,
    /// Those that use it.
    pub users: Vec<Url>,
    /// One of which something was held back that is to be told now.
    pub released: Option<Url>,
}

/// What is known of files that are not open, as long as it holds.
type Closed = Mutex<HashMap<FileName, Arc<Snapshot>>>;

/// All open documents, and the workspace around them.
#[derive(Debug, Default)]
pub(super) struct Documents {
    documents: HashMap<Url, Document>,
    around: Around,
    closed: Arc<Closed>,
    opened: u64,
    /// The documents that were looked at last, the latest at the end.
    awake: VecDeque<Url>,
    users: Users,
    /// The documents by their openings.
    openings: HashMap<u64, Url>,
    /// The one that was edited last.
    typed_in: Option<Url>,
}

#[derive(Debug)]
pub(super) struct Document {
    /// Which opening of the document this is, so that nothing from before it comes through.
    pub opening: u64,
    pub snapshot: Arc<Snapshot>,
    /// Whether somebody is at work on its diagnostics.
    pub at_work: bool,
    /// The last colours that were told, with their number.
    pub colours: Option<(u64, Arc<Vec<SemanticToken>>)>,
}

impl Drop for Document {
    fn drop(&mut self) {
        self.snapshot.supersede();
    }
}

impl Documents {
    /// No documents, for somebody who looks at them.
    pub fn of(analyst: Analyst) -> Self {
        let mut documents = Self::default();
        documents.around.analyst = analyst;
        documents
    }

    pub fn get(&self, uri: &Url) -> Option<&Document> {
        self.documents.get(uri)
    }

    pub fn get_mut(&mut self, uri: &Url) -> Option<&mut Document> {
        self.documents.get_mut(uri)
    }

    /// Notes that somebody looked at a document. What is known of those that nobody has looked
    /// at for long is put away: an editor may open many thousands.
    pub fn looked_at(&mut self, uri: &Url) {
        let Some(document) = self.documents.get(uri) else {
            return;
        };
        if !self.users.is_known(document.opening)
            && let Some(asked) = document.snapshot.asked()
        {
            self.users.note(document.opening, asked);
        }
        if self.awake.back() == Some(uri) {
            return;
        }
        self.awake.retain(|other| other != uri);
        self.awake.push_back(uri.clone());
        if self.awake.len() < 2 * MOST_AWAKE {
            return;
        }
        // Many at once, so that they share their surroundings.
        for uri in self.awake.drain(..MOST_AWAKE) {
            if let Some(document) = self.documents.get_mut(&uri)
                && self.users.is_known(document.opening)
            {
                let buffer = document.snapshot.buffer.clone();
                buffer.put_away();
                document.snapshot = Snapshot::new(buffer, self.around.clone());
                document.colours = None;
            }
        }
    }

    /// Opens a document.
    pub fn open(&mut self, uri: Url, version: i32, text: String) -> Changed {
        self.opened += 1;
        let buffer = self.put(Buffer::new(uri.clone(), version, text));
        let document = Document {
            opening: self.opened,
            snapshot: Snapshot::new(buffer.clone(), self.around.clone()),
            at_work: false,
            colours: None,
        };
        self.users.forget(document.opening);
        self.openings.insert(document.opening, uri.clone());
        if let Some(before) = self.documents.insert(uri.clone(), document) {
            self.closed_opening(before.opening);
        }
        self.look_again(&buffer.name, Some(uri))
    }

    /// Edits a document.
    pub fn change(
        &mut self,
        uri: &Url,
        version: i32,
        changes: Vec<TextDocumentContentChangeEvent>,
        encoding: Encoding,
    ) -> Changed {
        let Some(document) = self.documents.get(uri) else {
            return Changed::default();
        };
        let before = &document.snapshot.buffer;
        let mut text = before.text.clone();
        let mut typed = None;
        for change in changes {
            typed = Some(apply(&mut text, change, encoding));
        }
        let buffer = before.edited(version, text);
        let buffer = self.put(buffer);
        let released = match &self.typed_in {
            Some(other) if other != uri => self.move_on(&other.clone()),
            _ => None,
        };
        self.typed_in = typed.is_some().then(|| uri.clone());
        self.renew(uri, &buffer, typed);
        Changed {
            released,
            ..self.look_again(&buffer.name, Some(uri.clone()))
        }
    }

    /// Notes that the cursor has moved on from where a document was edited last, and says which
    /// one is to be told of again.
    pub fn move_on(&self, uri: &Url) -> Option<Url> {
        let has_more = self.get(uri)?.snapshot.move_on();
        has_more.then(|| uri.clone())
    }

    /// The document that was edited last, while something is held back of it.
    pub fn holding(&self) -> Option<Arc<Snapshot>> {
        let snapshot = &self.get(self.typed_in.as_ref()?)?.snapshot;
        snapshot.holds().then(|| snapshot.clone())
    }

    /// Closes a document. Its last version comes with it, if it was open.
    pub fn close(&mut self, uri: &Url) -> Option<(i32, Changed)> {
        let document = self.documents.remove(uri)?;
        self.closed_opening(document.opening);
        let buffer = &document.snapshot.buffer;
        self.around.open.remove(&buffer.name);
        Some((buffer.version?, self.look_again(&buffer.name, None)))
    }

    fn closed_opening(&mut self, opening: u64) {
        self.users.remove(opening);
        self.openings.remove(&opening);
    }

    /// Something changed a file outside of the client.
    pub fn touched(&mut self, uri: &Url, is_there: bool) -> Changed {
        let name = name_of(uri);
        self.around.disk.forget(&name);
        self.around.workspace.noted(&name, is_there);
        self.look_again(&name, None)
    }

    pub fn workspace(&self) -> &Workspace {
        &self.around.workspace
    }

    /// Takes another workspace, or other libraries that may be read from it.
    pub fn settle(&mut self, workspace: Workspace, policy: ReadPolicy) -> Changed {
        self.around.workspace = workspace;
        self.around.policy = Arc::new(policy);
        let all: Vec<Url> = self.documents.keys().cloned().collect();
        for uri in &all {
            if let Some(buffer) = self.get(uri).map(|d| d.snapshot.buffer.clone()) {
                self.renew(uri, &buffer, None);
            }
        }
        Changed {
            users: all,
            ..Changed::default()
        }
    }

    /// Everything, as it is now.
    pub fn world(&self) -> World {
        World {
            open: self
                .documents
                .values()
                .map(|d| d.snapshot.clone())
                .collect(),
            by_name: OnceLock::new(),
            around: self.around.clone(),
            closed: self.closed.clone(),
        }
    }

    fn put(&mut self, buffer: Buffer) -> Arc<Buffer> {
        let buffer = Arc::new(buffer);
        self.around.open.insert(buffer.name.clone(), buffer.clone());
        buffer
    }

    /// Forgets what is known about a document, after an edit of it or of what it uses.
    fn renew(&mut self, uri: &Url, buffer: &Arc<Buffer>, typed: Option<Span>) {
        if let Some(document) = self.documents.get_mut(uri) {
            let old = &document.snapshot;
            let known = match old.report.get() {
                Some(known) if known.what.is_whole => Some(old.clone()),
                _ => lock(&old.before).clone(),
            };
            old.supersede();
            self.users.forget(document.opening);
            document.snapshot = Snapshot::after(known, buffer.clone(), self.around.clone(), typed);
        }
    }

    /// Forgets what is known about the documents that use a file.
    fn look_again(&mut self, name: &FileName, own: Option<Url>) -> Changed {
        let uris = self.users.of(name).into_iter();
        let uris = uris.filter_map(|opening| self.openings.get(&opening));
        let uses = |uri: &&Url| {
            let asked = self.documents.get(uri).and_then(|d| d.snapshot.asked());
            asked.is_none_or(|mut asked| asked.any(|asked| asked == name))
        };
        let other = uris.filter(|uri| Some(*uri) != own.as_ref());
        let users: Vec<Url> = other.filter(uses).cloned().collect();
        for uri in &users {
            if let Some(buffer) = self.get(uri).map(|user| user.snapshot.buffer.clone()) {
                self.renew(uri, &buffer, None);
            }
        }
        Changed {
            own,
            users,
            released: None,
        }
    }
}

/// All documents and all specs of the workspace, as they are at one moment.
#[derive(Clone, Debug)]
pub(super) struct World {
    open: Vec<Arc<Snapshot>>,
    /// Where among the open documents each stands, once somebody asks.
    by_name: OnceLock<HashMap<FileName, usize>>,
    around: Around,
    closed: Arc<Closed>,
}

impl World {
    /// The open documents, the specs of the workspace that are not open, and whatever any of
    /// them uses: each once.
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

    /// The open documents, and the specs of the workspace that are not open.
    pub fn specs(&self) -> Vec<Arc<Snapshot>> {
        let is_open = |name: &&FileName| self.around.open.contains_key(*name);
        let closed = self
            .around
            .workspace
            .specs()
            .iter()
            .filter(|name| !is_open(name));
        let closed = closed.filter_map(|name| self.file(name));
        self.open.iter().cloned().chain(closed).collect()
    }

    /// The same, and the files of settings with mistakes that hold for any of them.
    pub fn specs_and_settings(&self) -> Vec<Arc<Snapshot>> {
        let mut all = self.specs();
        let mut known: HashSet<FileName> = all.iter().map(|s| s.buffer.name.clone()).collect();
        let mistaken = |spec: &Arc<Snapshot>| {
            // What is asked for is looked at here.
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
        let known = || lock(&self.closed);
        let source = self.around.disk.read(name).ok()?;
        let before = known().get(name).cloned();
        if let Some(before) = before
            && Arc::ptr_eq(&before.buffer.source(), &source)
            && before.holds_in(&self.around)
        {
            return Some(before);
        }
        let buffer = Arc::new(Buffer::on_disk(source)?);
        let snapshot = Snapshot::new(buffer, self.around.clone());
        let mut known = known();
        if known.len() >= MOST_KEPT {
            known.clear();
        }
        known.insert(name.clone(), snapshot.clone());
        Some(snapshot)
    }

    fn open_by_name(&self) -> &HashMap<FileName, usize> {
        let names = self.open.iter().map(|open| open.buffer.name.clone());
        self.by_name.get_or_init(|| names.zip(0..).collect())
    }

    pub fn workspace(&self) -> &Workspace {
        &self.around.workspace
    }

    /// Notes that somebody waits for what is known of all open documents.
    pub fn wait(&self) -> Vec<Waiting> {
        self.open.iter().map(Snapshot::wait).collect()
    }
}

/// Edits a text, and says where in it what is new stands. A range that does not lie in it is
/// brought back into it.
fn apply(text: &mut String, change: TextDocumentContentChangeEvent, encoding: Encoding) -> Span {
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
