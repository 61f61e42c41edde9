//! The client's notifications. Each change is made before anything can wait, in the order in which the messages
//! arrive.

use super::shared::Shared;
use crate::faces::server::protocol::client_notification::ClientNotification;
use crate::faces::server::state::{Invalidated, name_of};
use lsp_types::notification::PublishDiagnostics;
use lsp_types::*;
use std::sync::Arc;

impl Shared {
    /// Takes a notification. After `shutdown` none is taken any more.
    pub(super) fn notify(self: &Arc<Self>, notification: ClientNotification) {
        if self.state().shut_down {
            return;
        }
        match notification {
            ClientNotification::Opened(params) => self.did_open(params),
            ClientNotification::Changed(params) => self.did_change(params),
            ClientNotification::Closed(params) => self.did_close(params),
            ClientNotification::Saved(params) => self.did_save(params),
            ClientNotification::FilesChanged(params) => self.files_changed(params.changes),
            ClientNotification::FilesRenamed(params) => self.files_renamed(&params.files),
            ClientNotification::FoldersChanged(params) => self.change_folders(&params.event),
            ClientNotification::Configured(params) => self.did_change_configuration(params),
        }
    }

    fn did_open(self: &Arc<Self>, params: DidOpenTextDocumentParams) {
        let document = params.text_document;
        let changed = {
            let mut state = self.state();
            state.settings_diagnostics.opened(&name_of(&document.uri));
            state
                .documents
                .open(document.uri, document.version, document.text)
        };
        self.schedule_diagnostics(changed);
    }

    fn did_change(self: &Arc<Self>, params: DidChangeTextDocumentParams) {
        let encoding = self.client().encoding;
        let document = params.text_document;
        let mut state = self.state();
        if state.documents.get(&document.uri).is_none() {
            let why = format!("{} was changed and is not open: left out", document.uri);
            return self.outgoing.log_error(&why);
        }
        let changed = state.documents.change(
            &document.uri,
            document.version,
            params.content_changes,
            encoding,
        );
        drop(state);
        self.schedule_diagnostics(changed);
    }

    fn did_save(self: &Arc<Self>, params: DidSaveTextDocumentParams) {
        let uri = params.text_document.uri;
        let changed = {
            let documents = &mut self.state().documents;
            let released = documents.move_on(&uri);
            Invalidated {
                released,
                ..documents.file_changed(&uri, true)
            }
        };
        self.schedule_diagnostics(changed);
    }

    fn did_close(self: &Arc<Self>, params: DidCloseTextDocumentParams) {
        let uri = params.text_document.uri;
        let mut state = self.state();
        let opening = state.documents.get(&uri).map(|document| document.opening);
        let Some((version, changed)) = state.documents.close(&uri) else {
            return;
        };
        if let Some(opening) = opening {
            let news = state.settings_diagnostics.note(opening, None);
            self.publish(news);
        }
        if let Some(params) = self.diagnosed(uri, Vec::new(), version) {
            self.outgoing.notification::<PublishDiagnostics>(&params);
        }
        drop(state);
        self.schedule_diagnostics(changed);
    }

    fn did_change_configuration(self: &Arc<Self>, params: DidChangeConfigurationParams) {
        match params.settings.get("bitepoint") {
            Some(told) => self.configure(told),
            // Some clients send only that the configuration has changed: ask for it.
            None => {
                let shared = self.clone();
                tokio::spawn(async move { shared.ask_configuration().await });
            }
        }
    }
}
