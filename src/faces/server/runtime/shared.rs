//! The state that all handlers of a session share, and how they ask the documents.

use super::settings_diagnostics::SettingsDiagnostics;
use crate::faces::files::read_policy::ReadPolicy;
use crate::faces::server::protocol::answers::{AmongFiles, OfDocument, OfWorkspace, WorkspaceView};
use crate::faces::server::protocol::client::Client;
use crate::faces::server::protocol::client_settings::ClientSettings;
use crate::faces::server::protocol::log::TARGET;
use crate::faces::server::protocol::to_lsp::Lsp;
use crate::faces::server::protocol::wire::Outgoing;
use crate::faces::server::state::{Analyst, Document, Documents, Snapshot, World};
use crate::faces::server::state::{Invalidated, Workspace};
use crate::faces::sync::lock;
use crate::finding::FileName;
use lsp_types::*;
use serde_json::Value;
use std::sync::{Arc, Mutex, MutexGuard, OnceLock};
use tokio::sync::{Notify, Semaphore};
use tower_lsp::jsonrpc::{Error, ErrorCode, Result};

/// How many analyses and requests run at once.
pub(super) const ANALYSTS: usize = 16;

pub(super) struct Shared {
    pub state: Mutex<State>,
    pub client: OnceLock<Client>,
    pub outgoing: Outgoing,
    /// Notified when the client's process has ended.
    pub orphaned: Arc<Notify>,
    /// Turns for work on requests, so that requests waiting for a slow client are not all worked on at once.
    pub turns: Semaphore,
}

#[derive(Debug)]
pub(super) struct State {
    pub documents: Documents,
    pub settings: Arc<ClientSettings>,
    pub settings_diagnostics: SettingsDiagnostics,
    /// Whether a request to the client to ask again is already scheduled.
    pub refreshing: bool,
    /// How many lists of semantic tokens were sent.
    pub semantic_tokens: u64,
    pub shut_down: bool,
}

impl State {
    pub(super) fn new(analyst: Analyst) -> Self {
        Self {
            documents: Documents::of(analyst),
            settings: Arc::default(),
            settings_diagnostics: SettingsDiagnostics::default(),
            refreshing: false,
            semantic_tokens: 0,
            shut_down: false,
        }
    }
}

impl Shared {
    pub(super) fn state(&self) -> MutexGuard<'_, State> {
        lock(&self.state)
    }

    pub(super) fn client(&self) -> Client {
        let unsaid = || Client::new(&ClientCapabilities::default());
        *self.client.get_or_init(unsaid)
    }

    /// The answer of an open document; empty for a document that is not open.
    pub(super) async fn of_document<R>(&self, params: R::Params) -> Result<R::Result>
    where
        R: OfDocument<Params: 'static, Result: 'static>,
    {
        let uri = R::uri(&params).clone();
        let answer = self.ask(&uri, move |lsp| Some(R::answer(lsp, params)));
        Ok(answer.await?.unwrap_or_default())
    }

    /// The answer of an open document with all files at hand; empty for a document that is not open.
    pub(super) async fn among_files<R>(&self, params: R::Params) -> Result<R::Result>
    where
        R: AmongFiles<Params: 'static, Result: 'static>,
    {
        let uri = R::uri(&params).clone();
        let answer =
            self.ask_with_world(&uri, move |lsp, world| Some(R::answer(lsp, world, params)));
        match answer.await? {
            Some(Ok(answer)) => Ok(answer),
            Some(Err(why)) => Err(failed(why)),
            None => Ok(R::Result::default()),
        }
    }

    /// The answer of the whole workspace.
    pub(super) async fn of_workspace<R>(&self, params: R::Params) -> Result<R::Result>
    where
        R: OfWorkspace<Params: 'static, Result: 'static>,
    {
        let answer = self.ask_world(move |world, client, settings| {
            let workspace = WorkspaceView {
                world,
                client,
                settings,
            };
            R::answer(&workspace, params)
        });
        answer.await
    }

    /// A result from an open document in its state at the call; `None` for a document that is not open.
    pub(super) async fn ask<T: Send + 'static>(
        &self,
        uri: &Url,
        question: impl FnOnce(Lsp<'_>) -> Option<T> + Send + 'static,
    ) -> Result<Option<T>> {
        let asked = self.state().asked(uri);
        let Some((snapshot, settings)) = asked else {
            return Ok(None);
        };
        self.ask_snapshot(snapshot, settings, question).await
    }

    /// A result from an open document and the whole workspace at the same moment.
    pub(super) async fn ask_with_world<T: Send + 'static>(
        &self,
        uri: &Url,
        question: impl FnOnce(Lsp<'_>, &World) -> Option<T> + Send + 'static,
    ) -> Result<Option<T>> {
        let asked = {
            let mut state = self.state();
            let asked = state.asked(uri);
            asked.map(|asked| (asked, state.documents.world()))
        };
        let Some(((snapshot, settings), world)) = asked else {
            return Ok(None);
        };
        self.ask_snapshot(snapshot, settings, move |lsp| question(lsp, &world))
            .await
    }

    async fn ask_snapshot<T: Send + 'static>(
        &self,
        snapshot: Arc<Snapshot>,
        settings: Arc<ClientSettings>,
        question: impl FnOnce(Lsp<'_>) -> Option<T> + Send + 'static,
    ) -> Result<Option<T>> {
        let client = self.client();
        // Dropped with the request, be it answered or cancelled.
        let _waiting = snapshot.wait();
        self.work(move || question(Lsp::new(&snapshot, client, &settings)))
            .await
    }

    /// A result from a file that need not be open; `None` if it does not exist.
    pub(super) async fn ask_file<T: Send + 'static>(
        &self,
        name: FileName,
        question: impl FnOnce(Lsp<'_>) -> T + Send + 'static,
    ) -> Result<Option<T>> {
        let (file, settings) = {
            let state = self.state();
            (state.documents.file(name), state.settings.clone())
        };
        let client = self.client();
        let _waiting = file.wait();
        self.work(move || {
            let snapshot = file.snapshot()?;
            Some(question(Lsp::new(&snapshot, client, &settings)))
        })
        .await
    }

    /// A result from the whole workspace.
    pub(super) async fn ask_world<T: Send + 'static>(
        &self,
        question: impl FnOnce(&World, Client, &ClientSettings) -> T + Send + 'static,
    ) -> Result<T> {
        let (world, settings) = {
            let state = self.state();
            (state.documents.world(), state.settings.clone())
        };
        let client = self.client();
        let _waiting = world.wait();
        self.work(move || question(&world, client, &settings)).await
    }

    /// Does some long work, once the client has taken the earlier output. A panic becomes an error.
    pub(super) async fn work<T: Send + 'static>(
        &self,
        work: impl FnOnce() -> T + Send + 'static,
    ) -> Result<T> {
        // Nothing ever closes it.
        let _turn = self.turns.acquire().await;
        self.outgoing.caught_up().await;
        tokio::task::spawn_blocking(work).await.map_err(|_| {
            tracing::error!(target: TARGET, "a request failed over a panic");
            self.outgoing
                .log_error("a request failed; this is a mistake in Bitepoint");
            Error::internal_error()
        })
    }
}

/// The protocol's error code for a valid request that cannot be done.
const REQUEST_FAILED: i64 = -32803;

fn failed(why: String) -> Error {
    Error {
        code: ErrorCode::ServerError(REQUEST_FAILED),
        message: why.into(),
        data: None,
    }
}

/// A document, if it was not closed and opened again in between.
pub(super) fn of_opening<'a>(
    state: &'a mut State,
    uri: &Url,
    opening: u64,
) -> Option<&'a mut Document> {
    if state.shut_down {
        return None;
    }
    let document = state.documents.get_mut(uri)?;
    (document.opening == opening).then_some(document)
}

impl State {
    /// An open document that is asked for something.
    fn asked(&mut self, uri: &Url) -> Option<(Arc<Snapshot>, Arc<ClientSettings>)> {
        self.documents.touch(uri);
        let snapshot = self.documents.get(uri)?.snapshot.clone();
        Some((snapshot, self.settings.clone()))
    }

    pub(super) fn set_workspace(&mut self, workspace: Workspace) -> Invalidated {
        let policy = ReadPolicy::of_workspace(workspace.folders(), &self.settings.libraries);
        self.documents.set_workspace(workspace, policy)
    }

    /// Takes the client's parameters of `initialize`.
    pub(super) fn start(&mut self, params: &InitializeParams) -> std::result::Result<(), String> {
        let told = params.initialization_options.as_ref();
        let taken = self.settings.with(told.unwrap_or(&Value::Null));
        let wrong = match taken {
            Ok(settings) => {
                self.settings = Arc::new(settings);
                Ok(())
            }
            Err(why) => Err(why),
        };
        // No document is open yet.
        drop(self.set_workspace(Workspace::of_client(params)));
        wrong
    }
}
