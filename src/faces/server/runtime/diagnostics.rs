//! Publishes diagnostics: they are worked out off the message loop and published in order.

use super::settings_diagnostics::FileDiagnostics;
use super::shared::{Shared, of_opening};
use crate::faces::server::protocol::client_settings::ClientSettings;
use crate::faces::server::protocol::log::{TARGET, Timer};
use crate::faces::server::protocol::preview::{Analysed, AnalysedParams};
use crate::faces::server::protocol::to_lsp::Lsp;
use crate::faces::server::state::{Invalidated, OneFile, Snapshot, address_of};
use crate::syntax::TextRange;
use lsp_types::notification::PublishDiagnostics;
use lsp_types::request::{
    CodeLensRefresh, InlayHintRefreshRequest, SemanticTokensRefresh, WorkspaceDiagnosticRefresh,
};
use lsp_types::*;
use std::sync::Arc;
use std::time::Duration;

/// Changes of many files within this time count as one.
const LULL: Duration = Duration::from_millis(50);

/// After this time without an edit, the held-back diagnostics are published.
const QUIET: Duration = Duration::from_secs(1);

impl Shared {
    /// Schedules analysis and publication of the diagnostics of documents that changed.
    pub(super) fn schedule_diagnostics(self: &Arc<Self>, changed: Invalidated) {
        let client = self.client();
        let mut state = self.state();
        let is_elsewhere = !changed.dependents.is_empty() || changed.released.is_some();
        if is_elsewhere && !state.refreshing {
            state.refreshing = true;
            tokio::spawn(self.clone().refresh());
        }
        if client.pulls && !state.settings.preview {
            return;
        }
        let own = changed.own.into_iter().chain(changed.released);
        for uri in own.chain(changed.dependents) {
            let Some(document) = state.documents.get_mut(&uri) else {
                continue;
            };
            if !document.is_scheduled {
                document.is_scheduled = true;
                tokio::spawn(self.clone().diagnose(uri, document.opening));
            }
        }
    }

    /// Analyses the present state of a document and publishes its diagnostics. Only one analysis of a document runs
    /// at a time.
    pub(super) async fn diagnose(self: Arc<Self>, uri: Url, opening: u64) {
        loop {
            let Some((snapshot, settings)) = self.present(&uri, opening) else {
                return;
            };
            let (shared, looked_at) = (self.clone(), snapshot.clone());
            let (address, told) = (uri.clone(), settings.clone());
            // Published by the thread that found it: nothing waits for another to wake up.
            let work = move || {
                // Dropped when all is told.
                let since = Timer::start();
                let (report, _before) = looked_at.analyse();
                let buffer = &looked_at.buffer;
                tracing::info!(
                    target: TARGET,
                    file = buffer.name.as_ref(),
                    version = buffer.version,
                    bytes = report.source.text.len(),
                    systems = report.systems.len(),
                    findings = report.findings.len(),
                    stopped = !report.is_whole,
                    ms = since.ms(),
                    "analysed"
                );
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
                    tracing::error!(target: TARGET, uri = uri.as_str(), "an analysis failed over a panic");
                    self.outgoing.log_error(&why);
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

    /// Publishes a document's diagnostics. Returns false, without publishing, if the document has a newer state, or
    /// if the cursor has moved on from the place assumed for it. It must then be analysed again.
    pub(super) fn tell(
        &self,
        uri: &Url,
        opening: u64,
        snapshot: &Arc<Snapshot>,
        (found, typed): (Vec<Diagnostic>, Option<TextRange>),
        preview: bool,
    ) -> bool {
        let told = self.outgoing.flushing();
        let mut state = self.state();
        let Some(document) = of_opening(&mut state, uri, opening) else {
            return true;
        };
        if !Arc::ptr_eq(&document.snapshot, snapshot) || snapshot.typed() != typed {
            return false;
        }
        document.is_scheduled = false;
        state.documents.touch(uri);
        // Sent under the lock, so that no later state's diagnostics can come before these.
        let Some(version) = snapshot.buffer.version else {
            return true;
        };
        if let Some(params) = self.diagnosed(uri.clone(), found, version) {
            told.notification::<PublishDiagnostics>(&params);
        }
        if preview {
            let uri = uri.clone();
            told.notification::<Analysed>(&AnalysedParams { uri, version });
        }
        true
    }

    /// Publishes the diagnostics of the settings that hold for a document, as far as they are known. They belong to
    /// the settings file, and are left out if that is open, since it then has diagnostics of its own.
    pub(super) fn tell_of_settings(&self, uri: &Url) {
        let (opening, snapshot, file, settings) = {
            let state = self.state();
            let Some(document) = state.documents.get(uri) else {
                return;
            };
            let snapshot = document.snapshot.clone();
            let file = snapshot
                .mistaken_settings()
                .map(|name| state.documents.file(name.clone()));
            (document.opening, snapshot, file, state.settings.clone())
        };
        let mistaken = file.and_then(OneFile::snapshot).and_then(|file| {
            let found = || Lsp::new(&file, self.client(), &settings).told();
            let is_open = file.buffer.version.is_some();
            (!is_open).then(|| (file.buffer.name.clone(), found()))
        });
        let mut state = self.state();
        let is_present = of_opening(&mut state, uri, opening)
            .is_some_and(|document| Arc::ptr_eq(&document.snapshot, &snapshot));
        if is_present {
            let news = state.settings_diagnostics.note(opening, mistaken);
            self.publish(news);
        }
    }

    /// Publishes diagnostics of files that are not open.
    pub(super) fn publish(&self, news: Vec<FileDiagnostics>) {
        for (file, diagnostics) in news {
            if let Some(uri) = address_of(&file) {
                let params = PublishDiagnosticsParams::new(uri, diagnostics, None);
                self.outgoing.notification::<PublishDiagnostics>(&params);
            }
        }
    }

    /// Makes sure that held-back diagnostics are published in the end, even if the user types nothing more.
    pub(super) fn wait_for_quiet(self: &Arc<Self>) {
        if let Some(snapshot) = self.state().documents.holding() {
            tokio::spawn(self.clone().quiet(snapshot));
        }
    }

    pub(super) async fn quiet(self: Arc<Self>, snapshot: Arc<Snapshot>) {
        tokio::time::sleep(QUIET).await;
        let uri = &snapshot.buffer.uri;
        let changed = {
            let state = self.state();
            let is_as_it_was = state
                .documents
                .get(uri)
                .is_some_and(|now| Arc::ptr_eq(&now.snapshot.buffer, &snapshot.buffer));
            Invalidated {
                released: (is_as_it_was && snapshot.move_on()).then(|| uri.clone()),
                ..Invalidated::default()
            }
        };
        self.schedule_diagnostics(changed);
    }

    /// The present state of a document, if it was not closed in between.
    pub(super) fn present(
        &self,
        uri: &Url,
        opening: u64,
    ) -> Option<(Arc<Snapshot>, Arc<ClientSettings>)> {
        let mut state = self.state();
        let settings = state.settings.clone();
        let document = of_opening(&mut state, uri, opening)?;
        Some((document.snapshot.clone(), settings))
    }

    /// A document's diagnostics, for a client that does not pull them.
    pub(super) fn diagnosed(
        &self,
        uri: Url,
        diagnostics: Vec<Diagnostic>,
        version: i32,
    ) -> Option<PublishDiagnosticsParams> {
        let params = || PublishDiagnosticsParams::new(uri, diagnostics, Some(version));
        (!self.client().pulls).then(params)
    }

    /// Asks the client to pull again, since something changed that it did not change itself.
    pub(super) async fn refresh(self: Arc<Self>) {
        tokio::time::sleep(LULL).await;
        self.state().refreshing = false;
        let client = self.client();
        let outgoing = &self.outgoing;
        if client.pulls && client.refreshes.diagnostics {
            drop(outgoing.request::<WorkspaceDiagnosticRefresh>(&()));
        }
        if client.refreshes.inlays {
            drop(outgoing.request::<InlayHintRefreshRequest>(&()));
        }
        if client.refreshes.lenses {
            drop(outgoing.request::<CodeLensRefresh>(&()));
        }
        if client.refreshes.semantic_tokens {
            drop(outgoing.request::<SemanticTokensRefresh>(&()));
        }
    }
}
