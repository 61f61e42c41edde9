//! A document in one state, and what is known about it.

use super::address::address_of;
use super::buffer::Buffer;
use super::file_view::FileView;
use crate::analysis::{Report, Scope, Watch, Work, read_settings, report_settings};
use crate::faces::sync::lock;
use crate::finding::FileName;
use crate::model::{Files, ReadError, Source};
use crate::settings::{Settings, is_settings};
use crate::syntax::TextRange;
use lsp_types::Url;
use std::collections::{BTreeSet, HashMap};
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, OnceLock, PoisonError};

/// How many combinations of one system are tried while the user types in the document.
const WHILE_TYPING: u64 = 2_000;

/// A document in one state, with all other files at that moment.
#[derive(Debug)]
pub(crate) struct Snapshot {
    pub buffer: Arc<Buffer>,
    files: FileView,
    scope: OnceLock<Computed<Scope>>,
    report: OnceLock<Computed<Report>>,
    /// The last analysed state of the document, until this one is analysed.
    before: Mutex<Option<Arc<Snapshot>>>,
    /// Whether the document has a newer state.
    superseded: AtomicBool,
    /// How many requests wait for the analysis of this state.
    waiting: AtomicUsize,
    /// The range of the last edit, if this state comes from an edit.
    typed: Option<LastEdit>,
}

/// The place of the last edit, while the cursor may still be there.
#[derive(Debug)]
struct LastEdit {
    at: TextRange,
    moved_on: AtomicBool,
    /// Whether diagnostics were held back because of it and must be published in the end.
    holds: AtomicBool,
}

/// A result worked out from files.
#[derive(Debug)]
struct Computed<T> {
    value: T,
    /// Every file that was asked for, with its contents if it existed.
    asked: HashMap<FileName, Option<Arc<Source>>>,
}

impl Snapshot {
    pub(super) fn new(buffer: Arc<Buffer>, files: FileView) -> Arc<Self> {
        Self::after(None, buffer, files, None)
    }

    pub(super) fn after(
        before: Option<Arc<Self>>,
        buffer: Arc<Buffer>,
        files: FileView,
        typed: Option<TextRange>,
    ) -> Arc<Self> {
        Arc::new(Self {
            buffer,
            files,
            scope: OnceLock::new(),
            report: OnceLock::new(),
            before: Mutex::new(before),
            superseded: AtomicBool::new(false),
            waiting: AtomicUsize::new(0),
            typed: typed.map(|at| LastEdit {
                at,
                moved_on: AtomicBool::new(false),
                holds: AtomicBool::new(false),
            }),
        })
    }

    /// The place of the last edit, as long as the cursor is assumed to be there.
    pub fn typed(&self) -> Option<TextRange> {
        let typed = self.typed.as_ref()?;
        let is_there = !typed.moved_on.load(Ordering::Relaxed);
        is_there.then_some(typed.at)
    }

    /// Notes that diagnostics are held back as long as the cursor is at the last edit.
    pub fn hold_back(&self) {
        if let Some(typed) = &self.typed {
            typed.holds.store(true, Ordering::Relaxed);
        }
    }

    /// Whether diagnostics are held back as long as the cursor is at the last edit.
    pub fn holds(&self) -> bool {
        let holds = |typed: &LastEdit| typed.holds.load(Ordering::Relaxed);
        self.typed().is_some() && self.typed.as_ref().is_some_and(holds)
    }

    /// Notes that the cursor has moved on. Says whether diagnostics must be published now.
    pub fn move_on(&self) -> bool {
        self.typed.as_ref().is_some_and(|typed| {
            let was_there = !typed.moved_on.swap(true, Ordering::Relaxed);
            was_there && typed.holds.load(Ordering::Relaxed)
        })
    }

    /// The report of the document. The first caller waits for the analysis.
    pub fn report(&self) -> &Report {
        self.analyse().0
    }

    /// The report, and the state before, which is no longer needed. Dropping it takes a moment.
    pub fn analyse(&self) -> (&Report, Option<Arc<Self>>) {
        let known = self.report.get_or_init(|| {
            self.known(|source, files| {
                if !is_settings(&source.name) {
                    let work = Work {
                        combinations: WHILE_TYPING,
                        watch: self,
                        ..Work::default()
                    };
                    let before = lock(&self.before).clone();
                    let before = before.as_ref().and_then(|before| before.report.get());
                    let before = before.map(|known| &known.value);
                    return self.files.analyst.0(before, source, files, &work);
                }
                let settings = read_settings(&source);
                report_settings(source, Arc::new(settings))
            })
        });
        // The earlier results of systems with a mistake come from the last state that was analysed to the end.
        let is_whole = known.value.is_whole;
        let before = is_whole.then(|| lock(&self.before).take());
        (&known.value, before.flatten())
    }

    /// The meaning of the names in the document; much quicker than the report.
    pub fn scope(&self) -> &Scope {
        let known = self.scope.get_or_init(|| self.known(Scope::load));
        &known.value
    }

    fn known<T>(&self, work_out: impl FnOnce(Arc<Source>, &dyn Files) -> T) -> Computed<T> {
        let reader = TrackedFiles {
            snapshot: self,
            asked: Mutex::default(),
        };
        let value = work_out(self.buffer.source(), &reader);
        let asked = reader.asked.into_inner();
        Computed {
            value,
            asked: asked.unwrap_or_else(PoisonError::into_inner),
        }
    }

    /// The settings file with mistakes that holds for the document, if that is known.
    pub fn mistaken_settings(&self) -> Option<&FileName> {
        let settings = &self.report.get()?.value.settings;
        let is_its_own = is_settings(&self.buffer.name);
        let file = settings.file.as_ref()?;
        (!is_its_own && !settings.problems.is_empty()).then_some(file)
    }

    /// The files that the analysis of this state asked for, if it was analysed.
    pub(super) fn asked(&self) -> Option<impl Iterator<Item = &FileName>> {
        Some(self.report.get()?.asked.keys())
    }

    /// Whether this state was analysed, and every file that it read has the same contents among `files`. A state that
    /// was not analysed yet does not hold, since it would read the files of its own time.
    pub(super) fn holds_in(&self, files: &FileView) -> bool {
        let scope = self.scope.get().map(|known| &known.asked);
        let report = self.report.get().map(|known| &known.asked);
        if scope.is_none() && report.is_none() {
            return false;
        }
        let mut asked = scope.into_iter().chain(report).flatten();
        asked.all(
            |(name, then)| match (files.read(&self.buffer.name, name), then) {
                (Ok(now), Some(then)) => Arc::ptr_eq(&now, then),
                (now, then) => now.is_err() && then.is_none(),
            },
        )
    }

    /// The address of the file with a name.
    pub fn uri(&self, name: &FileName) -> Option<Url> {
        match self.files.open.get(name) {
            Some(buffer) => Some(buffer.uri.clone()),
            None => address_of(name),
        }
    }

    /// Works out an answer from the document and the files around it, for this request alone.
    pub fn asked_anew<T>(&self, work_out: impl FnOnce(Arc<Source>, &dyn Files) -> T) -> T {
        self.known(work_out).value
    }

    /// The settings that hold for the document.
    pub fn settings(&self) -> Arc<Settings> {
        self.files.settings(&self.buffer.name, |_, _| {})
    }

    /// The specs of the workspace at that moment.
    pub fn specs(&self) -> &BTreeSet<FileName> {
        self.files.workspace.specs()
    }

    /// A spec of the workspace; `None` where it cannot be read.
    pub fn spec(&self, name: &FileName) -> Option<Arc<Source>> {
        self.files.spec(name)
    }

    /// The version of a file that is open.
    pub fn version(&self, name: &FileName) -> Option<i32> {
        self.files.open.get(name)?.version
    }

    /// Notes that a request waits for the analysis of this state, until the guard is dropped.
    pub fn wait(self: &Arc<Self>) -> WaitGuard {
        self.waiting.fetch_add(1, Ordering::Relaxed);
        WaitGuard(self.clone())
    }

    /// The last analysed state of the document.
    pub(super) fn last_analysed(self: &Arc<Self>) -> Option<Arc<Self>> {
        match self.report.get() {
            Some(known) if known.value.is_whole => Some(self.clone()),
            _ => lock(&self.before).clone(),
        }
    }

    /// Notes that the document has a newer state, or is closed.
    pub(super) fn supersede(&self) {
        self.superseded.store(true, Ordering::Relaxed);
    }
}

impl Watch for Snapshot {
    fn is_stopped(&self) -> bool {
        self.superseded.load(Ordering::Relaxed) && self.waiting.load(Ordering::Relaxed) == 0
    }
}

/// A request that waits.
pub(crate) struct WaitGuard(Arc<Snapshot>);

impl Drop for WaitGuard {
    fn drop(&mut self) {
        self.0.waiting.fetch_sub(1, Ordering::Relaxed);
    }
}

/// Reads files for a document, and remembers which ones.
struct TrackedFiles<'a> {
    snapshot: &'a Snapshot,
    asked: Mutex<HashMap<FileName, Option<Arc<Source>>>>,
}

impl Files for TrackedFiles<'_> {
    fn read(&self, name: &FileName) -> Result<Arc<Source>, String> {
        self.used(&self.snapshot.buffer.name, name)
            .map_err(|refused| refused.why)
    }

    fn used(&self, _spec: &FileName, name: &FileName) -> Result<Arc<Source>, ReadError> {
        let read = self.snapshot.files.read(&self.snapshot.buffer.name, name);
        lock(&self.asked).insert(name.clone(), read.as_ref().ok().cloned());
        read
    }

    fn shown(&self, name: &FileName) -> FileName {
        self.snapshot.files.workspace.shown(name)
    }

    fn settings(&self, spec: &FileName) -> Arc<Settings> {
        self.snapshot.files.settings(spec, |name, source| {
            lock(&self.asked).insert(name.clone(), source);
        })
    }
}
