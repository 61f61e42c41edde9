//! The language server: what the core knows, in an editor.
//!
//! Text changes are applied in the order in which they come, before anything waits. Analysis
//! runs on a snapshot, off the message loop; what comes of it is published only while the
//! snapshot is still what the client has.

mod capabilities;
mod documents;
mod files;
pub mod frames;
mod handlers;
mod parent;
mod preview;
mod session;
mod sessions;
mod settings;
mod settings_told;
mod storm;
mod surroundings;
mod to_lsp;
mod users;
pub mod wire;
mod workspace;

use crate::faces::disk::lock;
use crate::faces::streams::say;
use crate::syntax::Span;
use capabilities::Client;
use documents::{Analyst, Changed, Document, Documents, Snapshot, World};
use preview::{LookedAt, LookedAtParams};
use session::log;
use settings::Settings;
use settings_told::{Mistaken, SettingsTold};
use std::io::{self, Read, Write};
use std::process::ExitCode;
use std::sync::{Arc, Mutex, MutexGuard, OnceLock};
use std::time::Duration;
use to_lsp::Lsp;
use tokio::sync::{Notify, Semaphore};
use tower_lsp::LspService;
use tower_lsp::jsonrpc::{Error, Result};
use tower_lsp::lsp_types::notification::PublishDiagnostics;
use tower_lsp::lsp_types::*;
use wire::Outgoing;

/// After so long without an edit, what was held back for the cursor is told.
const QUIET: Duration = Duration::from_secs(1);

/// How many analyses and requests are worked on at once.
const ANALYSTS: usize = 16;

/// Serves one client on standard input and output, until it says `exit` or is gone.
pub fn serve() -> ExitCode {
    match serve_on(io::stdin(), io::stdout()) {
        Ok(true) => ExitCode::SUCCESS,
        Ok(false) => ExitCode::FAILURE,
        Err(error) => {
            say(&format!("the server cannot start: {error}"));
            ExitCode::from(2)
        }
    }
}

/// Serves one client that writes to `input` and reads `output`, and says whether it ended the
/// session with `shutdown`. What it asked for before its input ended is still answered.
///
/// # Errors
/// The server cannot start.
pub fn serve_on(
    input: impl Read + Send + 'static,
    output: impl Write + Send + 'static,
) -> io::Result<bool> {
    converse(input, output, Analyst::default())
}

/// Holds one session, and says whether the client ended it with `shutdown`.
fn converse(
    input: impl Read + Send + 'static,
    output: impl Write + Send + 'static,
    analyst: Analyst,
) -> io::Result<bool> {
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_time()
        .max_blocking_threads(ANALYSTS)
        .build()?;
    let shared = runtime.block_on(async {
        let incoming = wire::read(input);
        let (outgoing, written) = Outgoing::write(output);
        let shared = Arc::new(Shared {
            state: Mutex::new(State::new(analyst)),
            client: OnceLock::new(),
            outgoing: outgoing.clone(),
            orphaned: Notify::new(),
            turns: Semaphore::new(ANALYSTS),
        });
        let server = Server(shared.clone());
        // The way to the client that comes with the service is not needed: messages to it are
        // sent in order with the state that they are about.
        let (service, _) = LspService::build(|_| server)
            .custom_method("bitepoint/curve", Server::curve)
            .custom_method("bitepoint/sheet", Server::sheet)
            .finish();
        let gone = async {
            tokio::select! {
                _ = written => {}
                () = shared.orphaned.notified() => {}
            }
        };
        session::run(service, incoming, outgoing, Box::pin(gone)).await;
        shared
    });
    // An analysis may still be running; nobody waits for it any more.
    runtime.shutdown_background();
    Ok(shared.state().shut_down)
}

struct Server(Arc<Shared>);

struct Shared {
    state: Mutex<State>,
    client: OnceLock<Client>,
    outgoing: Outgoing,
    /// Told when the process that the client runs in has ended.
    orphaned: Notify,
    /// To work on requests, so that not all that wait for a slow client are worked on at once.
    turns: Semaphore,
}

#[derive(Debug)]
struct State {
    documents: Documents,
    settings: Arc<Settings>,
    settings_told: SettingsTold,
    /// Whether the client will be told to ask again.
    refreshing: bool,
    /// How many lists of colours were told.
    colours: u64,
    shut_down: bool,
}

impl State {
    fn new(analyst: Analyst) -> Self {
        Self {
            documents: Documents::of(analyst),
            settings: Arc::default(),
            settings_told: SettingsTold::default(),
            refreshing: false,
            colours: 0,
            shut_down: false,
        }
    }
}

impl Shared {
    fn state(&self) -> MutexGuard<'_, State> {
        lock(&self.state)
    }

    fn client(&self) -> Client {
        let unsaid = || Client::new(&ClientCapabilities::default());
        *self.client.get_or_init(unsaid)
    }

    /// Sees to it that the client comes to know what documents are now.
    fn look_again(self: &Arc<Self>, changed: Changed) {
        let client = self.client();
        let mut state = self.state();
        let is_elsewhere = !changed.users.is_empty() || changed.released.is_some();
        if is_elsewhere && !state.refreshing {
            state.refreshing = true;
            tokio::spawn(self.clone().refresh());
        }
        if client.pulls && !state.settings.preview {
            return;
        }
        let own = changed.own.into_iter().chain(changed.released);
        for uri in own.chain(changed.users) {
            let Some(document) = state.documents.get_mut(&uri) else {
                continue;
            };
            if !document.at_work {
                document.at_work = true;
                tokio::spawn(self.clone().diagnose(uri, document.opening));
            }
        }
    }

    /// Looks at a document as it is, and tells what was found to who wants to know. One at a
    /// time works on a document.
    async fn diagnose(self: Arc<Self>, uri: Url, opening: u64) {
        loop {
            let Some((snapshot, settings)) = self.present(&uri, opening) else {
                return;
            };
            let (shared, looked_at) = (self.clone(), snapshot.clone());
            let (address, told) = (uri.clone(), settings.clone());
            // Told by the thread that found it: nothing waits for another to wake up.
            let work = move || {
                // Dropped when all is told.
                let _before = looked_at.look();
                let lsp = Lsp::new(&looked_at, shared.client(), &told);
                let typed = looked_at.typed();
                let found = (lsp.told(), typed);
                let is_told = shared.tell(&address, opening, &looked_at, found, told.preview);
                shared.tell_of_settings(&address);
                is_told
            };
            let is_told = match tokio::task::spawn_blocking(work).await {
                Ok(is_told) => is_told,
                Err(_) => {
                    let why =
                        format!("{uri} could not be analysed; this is a mistake in Bitepoint");
                    log(&self.outgoing, &why);
                    // An empty list would say that all is well.
                    let instead = vec![Diagnostic {
                        severity: Some(DiagnosticSeverity::ERROR),
                        source: Some("bitepoint".to_owned()),
                        message: why,
                        ..Diagnostic::default()
                    }];
                    let (shared, address) = (self.clone(), uri.clone());
                    let work = move || {
                        let found = (instead, snapshot.typed());
                        shared.tell(&address, opening, &snapshot, found, settings.preview)
                    };
                    tokio::task::spawn_blocking(work).await.unwrap_or(true)
                }
            };
            if is_told {
                self.wait_for_quiet();
                return;
            }
        }
    }

    /// Tells what was found in a document, unless it is in a newer state by now, or the cursor has
    /// moved on from where it was taken to be: then it must be looked at again, and this is false.
    fn tell(
        &self,
        uri: &Url,
        opening: u64,
        snapshot: &Arc<Snapshot>,
        (found, typed): (Vec<Diagnostic>, Option<Span>),
        preview: bool,
    ) -> bool {
        let told = self.outgoing.telling();
        let mut state = self.state();
        let Some(document) = of_opening(&mut state, uri, opening) else {
            return true;
        };
        if !Arc::ptr_eq(&document.snapshot, snapshot) || snapshot.typed() != typed {
            return false;
        }
        document.at_work = false;
        state.documents.looked_at(uri);
        // Sent under the lock, so that no later state's diagnostics can come before these.
        let Some(version) = snapshot.buffer.version else {
            return true;
        };
        if let Some(params) = self.diagnosed(uri.clone(), found, version) {
            told.notification::<PublishDiagnostics>(&params);
        }
        if preview {
            let uri = uri.clone();
            told.notification::<LookedAt>(&LookedAtParams { uri, version });
        }
        true
    }

    /// Tells what is wrong with the settings that hold for a document, as far as that is known: in
    /// their own file, and not if that is open and has findings of its own.
    fn tell_of_settings(&self, uri: &Url) {
        let (opening, snapshot, world, settings) = {
            let state = self.state();
            let Some(document) = state.documents.get(uri) else {
                return;
            };
            let snapshot = document.snapshot.clone();
            let world = snapshot
                .mistaken_settings()
                .map(|_| state.documents.world());
            (document.opening, snapshot, world, state.settings.clone())
        };
        let mistaken = world.and_then(|world| {
            let file = world.file(snapshot.mistaken_settings()?)?;
            let found = || Lsp::new(&file, self.client(), &settings).told();
            let is_open = file.buffer.version.is_some();
            (!is_open).then(|| (file.buffer.name.clone(), found()))
        });
        let mut state = self.state();
        let is_present = of_opening(&mut state, uri, opening)
            .is_some_and(|document| Arc::ptr_eq(&document.snapshot, &snapshot));
        if is_present {
            let news = state.settings_told.note(opening, mistaken);
            self.publish(news);
        }
    }

    /// Tells what is wrong with files that are not open.
    fn publish(&self, news: Vec<Mistaken>) {
        for (file, diagnostics) in news {
            if let Ok(uri) = Url::from_file_path(&*file) {
                let params = PublishDiagnosticsParams::new(uri, diagnostics, None);
                self.outgoing.notification::<PublishDiagnostics>(&params);
            }
        }
    }

    /// Sees to it that what was held back for the cursor is told in the end, also if nobody does
    /// anything any more.
    fn wait_for_quiet(self: &Arc<Self>) {
        if let Some(snapshot) = self.state().documents.holding() {
            tokio::spawn(self.clone().quiet(snapshot));
        }
    }

    async fn quiet(self: Arc<Self>, snapshot: Arc<Snapshot>) {
        tokio::time::sleep(QUIET).await;
        let uri = &snapshot.buffer.uri;
        let changed = {
            let state = self.state();
            let is_as_it_was = state
                .documents
                .get(uri)
                .is_some_and(|now| Arc::ptr_eq(&now.snapshot.buffer, &snapshot.buffer));
            Changed {
                released: (is_as_it_was && snapshot.move_on()).then(|| uri.clone()),
                ..Changed::default()
            }
        };
        self.look_again(changed);
    }

    /// A document as it is now, if it was not closed since.
    fn present(&self, uri: &Url, opening: u64) -> Option<(Arc<Snapshot>, Arc<Settings>)> {
        let mut state = self.state();
        let settings = state.settings.clone();
        let document = of_opening(&mut state, uri, opening)?;
        Some((document.snapshot.clone(), settings))
    }

    /// A document's diagnostics, for a client that does not ask for them.
    fn diagnosed(
        &self,
        uri: Url,
        diagnostics: Vec<Diagnostic>,
        version: i32,
    ) -> Option<PublishDiagnosticsParams> {
        let params = || PublishDiagnosticsParams::new(uri, diagnostics, Some(version));
        (!self.client().pulls).then(params)
    }

    /// What an open document has to say, as it is when this is called; `None` for a document
    /// that is not open.
    async fn ask<T: Send + 'static>(
        &self,
        uri: &Url,
        question: impl FnOnce(Lsp<'_>) -> Option<T> + Send + 'static,
    ) -> Result<Option<T>> {
        self.ask_around(uri, |lsp, _| question(lsp)).await
    }

    /// The same, with the whole workspace at hand.
    async fn ask_around<T: Send + 'static>(
        &self,
        uri: &Url,
        question: impl FnOnce(Lsp<'_>, &World) -> Option<T> + Send + 'static,
    ) -> Result<Option<T>> {
        let asked = {
            let mut state = self.state();
            state.documents.looked_at(uri);
            state.documents.get(uri).map(|document| {
                let snapshot = document.snapshot.clone();
                (snapshot, state.documents.world(), state.settings.clone())
            })
        };
        let Some((snapshot, world, settings)) = asked else {
            return Ok(None);
        };
        let client = self.client();
        // Dropped with the request, be it answered or cancelled.
        let _waiting = snapshot.wait();
        self.work(move || question(Lsp::new(&snapshot, client, &settings), &world))
            .await
    }

    /// What the whole workspace has to say.
    async fn ask_world<T: Send + 'static>(
        &self,
        question: impl FnOnce(&World, Client, &Settings) -> T + Send + 'static,
    ) -> Result<T> {
        let (world, settings) = {
            let state = self.state();
            (state.documents.world(), state.settings.clone())
        };
        let client = self.client();
        let _waiting = world.wait();
        self.work(move || question(&world, client, &settings)).await
    }

    /// Does something that takes its time, once the client has taken what was done before. A panic
    /// is an error like any other.
    async fn work<T: Send + 'static>(
        &self,
        work: impl FnOnce() -> T + Send + 'static,
    ) -> Result<T> {
        // Nothing ever closes it.
        let _turn = self.turns.acquire().await;
        self.outgoing.caught_up().await;
        tokio::task::spawn_blocking(work).await.map_err(|_| {
            log(
                &self.outgoing,
                "a request failed; this is a mistake in Bitepoint",
            );
            Error::internal_error()
        })
    }
}

/// A document, if it was not closed and opened since.
fn of_opening<'a>(state: &'a mut State, uri: &Url, opening: u64) -> Option<&'a mut Document> {
    if state.shut_down {
        return None;
    }
    let document = state.documents.get_mut(uri)?;
    (document.opening == opening).then_some(document)
}
