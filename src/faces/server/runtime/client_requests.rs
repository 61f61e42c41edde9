//! The server's own requests to the client: its configuration, watching of files, asking again. Also the first search
//! of the workspace, with progress.

use super::shared::Shared;
use crate::faces::server::protocol::log::TARGET;
use crate::faces::server::protocol::to_lsp::moves_of;
use crate::faces::server::state::{MOST_KEPT, address_of, name_of};
use crate::finding::FileName;
use crate::settings::{SETTINGS_FILE, is_settings};
use lsp_types::notification::Progress;
use lsp_types::request::{RegisterCapability, WorkDoneProgressCreate, WorkspaceConfiguration};
use lsp_types::*;
use serde_json::{Value, json};
use std::sync::Arc;

const SECTION: &str = "bitepoint";

impl Shared {
    /// Does everything that waits until the client is ready for it.
    pub(super) async fn on_initialized(self: Arc<Self>) {
        self.register();
        self.ask_configuration().await;
        self.index_workspace().await;
    }

    fn register(&self) {
        let client = self.client();
        let mut registrations = Vec::new();
        if client.watches_files {
            registrations.push(Registration {
                id: "files".to_owned(),
                method: "workspace/didChangeWatchedFiles".to_owned(),
                register_options: Some(json!({ "watchers": [
                    { "globPattern": "**/*.clutch" },
                    { "globPattern": format!("**/{SETTINGS_FILE}") },
                ] })),
            });
        }
        if client.registers_configuration {
            registrations.push(Registration {
                id: "configuration".to_owned(),
                method: "workspace/didChangeConfiguration".to_owned(),
                register_options: Some(json!({ "section": SECTION })),
            });
        }
        if !registrations.is_empty() {
            // A client that refuses is served all the same.
            drop(
                self.outgoing
                    .request::<RegisterCapability>(&RegistrationParams { registrations }),
            );
        }
    }

    /// Asks for the configuration, if the client can be asked.
    pub(super) async fn ask_configuration(self: &Arc<Self>) {
        if !self.client().asks_configuration {
            return;
        }
        let item = ConfigurationItem {
            scope_uri: None,
            section: Some(SECTION.to_owned()),
        };
        let params = ConfigurationParams { items: vec![item] };
        let answer = self.outgoing.request::<WorkspaceConfiguration>(&params);
        if let Ok(Some(Value::Array(told))) = answer.await
            && let Some(told) = told.first()
        {
            self.configure(told);
        }
    }

    /// Takes settings from the client. A mistake in them is reported back.
    pub(super) fn configure(self: &Arc<Self>, told: &Value) {
        let changed = {
            let mut state = self.state();
            match state.settings.with(told) {
                Err(why) => {
                    self.outgoing.log_error(&why);
                    return;
                }
                Ok(settings) if settings == *state.settings => return,
                Ok(settings) => {
                    let workspace = state.documents.workspace().clone();
                    state.settings = Arc::new(settings);
                    state.set_workspace(workspace)
                }
            }
        };
        self.schedule_diagnostics(changed);
    }

    /// Takes changed workspace folders.
    pub(super) fn change_folders(self: &Arc<Self>, event: &WorkspaceFoldersChangeEvent) {
        let changed = {
            let mut state = self.state();
            let mut workspace = state.documents.workspace().clone();
            workspace.change_folders(event);
            state.set_workspace(workspace)
        };
        self.schedule_diagnostics(changed);
    }

    /// Searches for the specs of the workspace and reads them, so that no later request waits for that.
    async fn index_workspace(self: Arc<Self>) {
        let world = self.state().documents.world();
        if world.workspace().folders().is_empty() {
            return;
        }
        let progress = self.begin_progress().await;
        let reporting = (self.outgoing.clone(), progress.clone());
        let looking = tokio::task::spawn_blocking(move || {
            let (outgoing, progress) = reporting;
            let specs = world.workspace().specs();
            let mut shown = 0;
            let first = specs.len().min(MOST_KEPT);
            for (at, name) in specs.iter().take(first).enumerate() {
                // A file that cannot be read is reported where it is used.
                drop(world.file(name));
                let percentage = (100 * (at + 1) / first) as u32;
                if let Some(token) = &progress
                    && percentage >= shown + 10
                {
                    shown = percentage;
                    outgoing.notification::<Progress>(&progressed(
                        token,
                        WorkDoneProgress::Report(WorkDoneProgressReport {
                            percentage: Some(percentage),
                            ..WorkDoneProgressReport::default()
                        }),
                    ));
                }
            }
            specs.len()
        });
        let found = looking.await;
        if let Some(token) = &progress {
            let end = WorkDoneProgressEnd {
                message: found.ok().map(|count| format!("{count} specs")),
            };
            self.outgoing
                .notification::<Progress>(&progressed(token, WorkDoneProgress::End(end)));
        }
    }

    async fn begin_progress(&self) -> Option<ProgressToken> {
        if !self.client().progress {
            return None;
        }
        let token = NumberOrString::String("bitepoint/specs".to_owned());
        let params = WorkDoneProgressCreateParams {
            token: token.clone(),
        };
        let created = self.outgoing.request::<WorkDoneProgressCreate>(&params);
        created.await.ok().flatten()?;
        let begin = WorkDoneProgressBegin {
            title: "Reading specs".to_owned(),
            percentage: Some(0),
            ..WorkDoneProgressBegin::default()
        };
        self.outgoing
            .notification::<Progress>(&progressed(&token, WorkDoneProgress::Begin(begin)));
        Some(token)
    }

    /// Takes the client's notices of changed files.
    pub(super) fn files_changed(self: &Arc<Self>, events: Vec<FileEvent>) {
        let pulls = self.client().pulls;
        for event in events {
            let is_there = event.typ != FileChangeType::DELETED;
            let kind = match event.typ {
                FileChangeType::CREATED => "created",
                FileChangeType::DELETED => "deleted",
                _ => "changed",
            };
            tracing::info!(target: TARGET, uri = event.uri.as_str(), kind, "file changed");
            let mut changed = self.state().documents.file_changed(&event.uri, is_there);
            // A spec that is not open has findings too, for a client that asks for all.
            let name = name_of(&event.uri);
            let concerns_specs = name.ends_with(".clutch") || is_settings(&name);
            if pulls && changed.dependents.is_empty() && concerns_specs {
                changed.dependents.push(event.uri);
            }
            self.schedule_diagnostics(changed);
        }
    }
}

impl Shared {
    /// Takes renamed files and folders: the old ones are gone, the new ones exist.
    pub(super) fn files_renamed(self: &Arc<Self>, renamed: &[FileRename]) {
        let moves = moves_of(renamed);
        let workspace = self.state().documents.workspace().clone();
        let event = |name: &FileName, kind| {
            let uri = address_of(name)?;
            Some(FileEvent::new(uri, kind))
        };
        let events = workspace.specs().iter().flat_map(|old| {
            let new = moves.new_name(old);
            let is_moved = new != *old;
            let events = [
                event(old, FileChangeType::DELETED),
                event(&new, FileChangeType::CREATED),
            ];
            events.into_iter().flatten().filter(move |_| is_moved)
        });
        self.files_changed(events.collect());
    }
}

fn progressed(token: &ProgressToken, value: WorkDoneProgress) -> ProgressParams {
    ProgressParams {
        token: token.clone(),
        value: ProgressParamsValue::WorkDone(value),
    }
}
