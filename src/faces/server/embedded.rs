//! The server inside another program, such as a worker of an editor in a browser.
//!
//! A message is a JSON text, and each is answered before the next is taken. Nothing is read except what the client
//! gives: the documents that it opens, and the files around them ([`FILES`]).

use super::protocol::answers::{Asked, NoAnswer, WorkspaceView, answer};
use super::protocol::capabilities::{add_untyped, of_server};
use super::protocol::client::{Client, rename_capability};
use super::protocol::client_settings::ClientSettings;
use super::protocol::preview::{self, Analysed, AnalysedParams, WhichSystem};
use super::protocol::reports::{document_report, workspace_report};
use super::protocol::to_lsp::{Lsp, Offered, resolved_in};
use super::protocol::verbs;
use super::state::{Analyst, Documents, Invalidated, Workspace};
use crate::faces::files::read_policy::ReadPolicy;
use lsp_types::notification::{
    DidChangeConfiguration, DidChangeTextDocument, DidCloseTextDocument, DidOpenTextDocument,
    DidSaveTextDocument, Notification, PublishDiagnostics,
};
use lsp_types::request::{
    CodeActionResolveRequest, CodeLensRefresh, DocumentDiagnosticRequest, Initialize,
    InlayHintRefreshRequest, InlayHintResolveRequest, Request, SemanticTokensFullDeltaRequest,
    SemanticTokensFullRequest, SemanticTokensRefresh, Shutdown, WorkspaceDiagnosticRefresh,
    WorkspaceDiagnosticRequest,
};
use lsp_types::*;
use serde::Deserialize;
use serde::de::DeserializeOwned;
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::sync::Arc;

/// The notification by which a client gives the files around its documents: `{files: [{uri, text}]}`. It names all
/// files or those that changed; a file without `text` is gone.
pub const FILES: &str = "bitepoint/files";

/// The notification that the user has not typed for a second.
pub const QUIET: &str = "bitepoint/quiet";

#[derive(Deserialize)]
struct GivenFiles {
    files: Vec<GivenFile>,
}

#[derive(Deserialize)]
struct GivenFile {
    uri: Url,
    text: Option<String>,
}

/// A session with one client.
#[derive(Debug)]
pub struct Embedded {
    documents: Documents,
    client: Option<Client>,
    settings: Arc<ClientSettings>,
    /// The files around the documents, open or not.
    given: BTreeMap<Url, String>,
    outgoing: Vec<Value>,
    /// The number of the server's last own request.
    asked: u64,
}

impl Default for Embedded {
    fn default() -> Self {
        Self {
            documents: Documents::of(Analyst::default()),
            client: None,
            settings: Arc::default(),
            given: BTreeMap::new(),
            outgoing: Vec::new(),
            asked: 0,
        }
    }
}

/// The protocol's error codes.
mod code {
    pub const PARSE_ERROR: i32 = -32700;
    pub const INVALID_PARAMS: i32 = -32602;
    pub const METHOD_NOT_FOUND: i32 = -32601;
    pub const NOT_INITIALIZED: i32 = -32002;
    pub const CONTENT_MODIFIED: i32 = -32801;
    pub const REQUEST_FAILED: i32 = -32803;
}

type Reply = Result<Value, (i32, String)>;

fn read<T: DeserializeOwned>(params: Value) -> Result<T, (i32, String)> {
    serde_json::from_value(params).map_err(|error| (code::INVALID_PARAMS, error.to_string()))
}

fn value(answer: impl serde::Serialize) -> Reply {
    Ok(serde_json::to_value(answer).unwrap_or_default())
}

impl Embedded {
    /// Takes a message. Gives the messages for the client as a JSON array.
    pub fn take(&mut self, message: &str) -> String {
        match serde_json::from_str::<Value>(message) {
            Ok(message) => self.message(message),
            Err(error) => self.reply(Value::Null, Err((code::PARSE_ERROR, error.to_string()))),
        }
        Value::Array(std::mem::take(&mut self.outgoing)).to_string()
    }

    fn message(&mut self, mut message: Value) {
        let params = message["params"].take();
        let id = message.get("id").cloned();
        // An answer to one of the server's own requests, which only ask the client to ask again.
        let Some(method) = message["method"].as_str() else {
            return;
        };
        match id {
            Some(id) => {
                let reply = self.request(method, params);
                self.reply(id, reply);
            }
            None if self.client.is_some() => {
                if let Err((_, why)) = self.notification(method, params) {
                    let message = format!("`{method}` is not understood and left out: {why}");
                    let params = json!({ "type": 1, "message": message });
                    self.send("window/logMessage", &params);
                }
            }
            None => {}
        }
    }

    fn reply(&mut self, id: Value, reply: Reply) {
        let mut message = json!({ "jsonrpc": "2.0", "id": id });
        match reply {
            Ok(result) => message["result"] = result,
            Err((code, why)) => message["error"] = json!({ "code": code, "message": why }),
        }
        self.outgoing.push(message);
    }

    fn send(&mut self, method: &str, params: &Value) {
        let message = json!({ "jsonrpc": "2.0", "method": method, "params": params });
        self.outgoing.push(message);
    }

    // ---- requests ----

    fn request(&mut self, method: &str, params: Value) -> Reply {
        if method == Initialize::METHOD {
            let mut params = params;
            rename_capability(&mut params);
            return self.initialize(read(params)?);
        }
        let Some(client) = self.client else {
            let why = "the client has not begun".to_owned();
            return Err((code::NOT_INITIALIZED, why));
        };
        if let Some(uri) = params["textDocument"]["uri"].as_str()
            && let Ok(uri) = Url::parse(uri)
        {
            self.documents.touch(&uri);
        }
        match method {
            Shutdown::METHOD => Ok(Value::Null),
            DocumentDiagnosticRequest::METHOD => {
                let params: DocumentDiagnosticParams = read(params)?;
                let found = self.ask(&params.text_document.uri, |lsp| lsp.diagnosed());
                value(document_report(found, params.previous_result_id.as_ref()))
            }
            WorkspaceDiagnosticRequest::METHOD => {
                let workspace = WorkspaceView {
                    world: &self.documents.world(),
                    client,
                    settings: &self.settings,
                };
                value(workspace_report(&workspace, read(params)?))
            }
            CodeActionResolveRequest::METHOD => {
                let mut action: CodeAction = read(params)?;
                let offered: Offered = read(action.data.clone().unwrap_or_default())?;
                let edit = self
                    .ask(&offered.uri, |lsp| lsp.edit_of(&offered))
                    .flatten();
                action.edit = edit;
                match action.edit {
                    Some(_) => value(action),
                    None => Err((
                        code::CONTENT_MODIFIED,
                        "the document has changed since".to_owned(),
                    )),
                }
            }
            InlayHintResolveRequest::METHOD => {
                let hint: InlayHint = read(params)?;
                let uri = resolved_in(&hint);
                let resolved = uri.and_then(|uri| {
                    let shown = hint.clone();
                    self.ask(&uri, |lsp| lsp.with_tooltip(shown))
                });
                value(resolved.unwrap_or(hint))
            }
            // The whole list is sent each time, even for a delta. Between the two threads a message is only copied,
            // so that a delta would save nothing.
            SemanticTokensFullRequest::METHOD | SemanticTokensFullDeltaRequest::METHOD => {
                let of: TextDocumentIdentifier = read(params["textDocument"].clone())?;
                let data = self.ask(&of.uri, |lsp| lsp.semantic_tokens(None));
                value(data.map(|data| SemanticTokens {
                    result_id: None,
                    data,
                }))
            }
            "bitepoint/curve" => {
                let which: WhichSystem = read(params)?;
                let uri = which.text_document.uri.clone();
                value(self.ask(&uri, |lsp| preview::curve(&lsp, &which)))
            }
            "bitepoint/sheet" => {
                let which: WhichSystem = read(params)?;
                let uri = which.text_document.uri.clone();
                value(self.ask(&uri, |lsp| preview::fitting_sheet(&lsp, &which)))
            }
            "bitepoint/verb" => {
                let params: verbs::VerbParams = read(params)?;
                let uri = params.text_document.uri.clone();
                value(self.ask(&uri, |lsp| verbs::said(lsp.snapshot, params)))
            }
            "bitepoint/explain" => value(verbs::explained(&read(params)?)),
            _ => {
                let asked = Asked {
                    documents: &self.documents,
                    client,
                    settings: &self.settings,
                };
                answer(method, params, &asked).map_err(|none| match none {
                    NoAnswer::Unknown => (code::METHOD_NOT_FOUND, "Method not found".to_owned()),
                    NoAnswer::Misunderstood(why) => (code::INVALID_PARAMS, why),
                    NoAnswer::Failed(why) => (code::REQUEST_FAILED, why),
                })
            }
        }
    }

    fn ask<T>(&self, uri: &Url, question: impl FnOnce(Lsp<'_>) -> T) -> Option<T> {
        let snapshot = &self.documents.get(uri)?.snapshot;
        Some(question(Lsp::new(snapshot, self.client?, &self.settings)))
    }

    fn initialize(&mut self, params: InitializeParams) -> Reply {
        let client = Client::new(&params.capabilities);
        self.client = Some(client);
        let told = params.initialization_options.as_ref();
        let wrong = self.configure(told.unwrap_or(&Value::Null)).err();
        let workspace = Workspace::of_client(&params);
        let policy = ReadPolicy::of_workspace(workspace.folders(), &[]);
        drop(self.documents.set_workspace(workspace, policy));
        let mut result = json!({
            "capabilities": of_server(&client),
            "serverInfo": { "name": "bitepoint", "version": crate::faces::VERSION },
        });
        add_untyped(&mut result);
        // Files in a browser's workspace have addresses of many schemes.
        let operations = &mut result["capabilities"]["workspace"]["fileOperations"];
        for kind in operations.as_object_mut().into_iter().flatten() {
            for filter in kind.1["filters"].as_array_mut().into_iter().flatten() {
                drop(
                    filter
                        .as_object_mut()
                        .and_then(|filter| filter.remove("scheme")),
                );
            }
        }
        match wrong {
            None => Ok(result),
            Some((_, why)) => {
                self.send("window/logMessage", &json!({ "type": 1, "message": why }));
                Ok(result)
            }
        }
    }

    fn configure(&mut self, told: &Value) -> Result<(), (i32, String)> {
        let settings = self.settings.with(told);
        self.settings = Arc::new(settings.map_err(|why| (code::INVALID_PARAMS, why))?);
        Ok(())
    }

    // ---- notifications ----

    fn notification(&mut self, method: &str, params: Value) -> Result<(), (i32, String)> {
        match method {
            DidOpenTextDocument::METHOD => {
                let DidOpenTextDocumentParams { text_document } = read(params)?;
                let (uri, version, text) =
                    (text_document.uri, text_document.version, text_document.text);
                let changed = self.documents.open(uri, version, text);
                self.tell(changed);
            }
            DidChangeTextDocument::METHOD => {
                let params: DidChangeTextDocumentParams = read(params)?;
                let document = params.text_document;
                let encoding = self.client.map(|client| client.encoding);
                let changed = self.documents.change(
                    &document.uri,
                    document.version,
                    params.content_changes,
                    encoding.unwrap_or(crate::syntax::Encoding::Utf16),
                );
                self.tell(changed);
            }
            DidCloseTextDocument::METHOD => {
                let DidCloseTextDocumentParams { text_document } = read(params)?;
                let closed = self.documents.close(&text_document.uri);
                // A workspace file is still there, with the text given last.
                if let Some(text) = self.given.get(&text_document.uri).cloned() {
                    drop(self.documents.give(text_document.uri, text));
                }
                if let Some((_, changed)) = closed {
                    self.tell(changed);
                }
            }
            DidSaveTextDocument::METHOD => {
                let DidSaveTextDocumentParams { text_document, .. } = read(params)?;
                let released = self.documents.move_on(&text_document.uri);
                self.tell(Invalidated {
                    released,
                    ..Invalidated::default()
                });
            }
            DidChangeConfiguration::METHOD => {
                let params: DidChangeConfigurationParams = read(params)?;
                if let Some(told) = params.settings.get("bitepoint") {
                    self.configure(told)?;
                }
            }
            FILES => {
                let GivenFiles { files } = read(params)?;
                // The client gets one message for all of them.
                let mut all = Invalidated::default();
                for GivenFile { uri, text } in files {
                    let changed = match text {
                        Some(text) => {
                            self.given.insert(uri.clone(), text.clone());
                            self.documents.give(uri, text)
                        }
                        None => {
                            self.given.remove(&uri);
                            self.documents.take_away(&uri)
                        }
                    };
                    for uri in changed.dependents {
                        if !all.dependents.contains(&uri) {
                            all.dependents.push(uri);
                        }
                    }
                }
                self.tell(all);
            }
            QUIET => {
                if let Some(snapshot) = self.documents.holding() {
                    let uri = snapshot.buffer.uri.clone();
                    let released = snapshot.move_on().then_some(uri);
                    self.tell(Invalidated {
                        released,
                        ..Invalidated::default()
                    });
                }
            }
            // Other notifications change nothing here.
            _ => {}
        }
        Ok(())
    }

    /// Sends the client what has changed, or a request to ask again.
    fn tell(&mut self, changed: Invalidated) {
        let Some(client) = self.client else {
            return;
        };
        if !changed.dependents.is_empty() || changed.released.is_some() {
            let refreshes = client.refreshes;
            for (wanted, method) in [
                (
                    client.pulls && refreshes.diagnostics,
                    WorkspaceDiagnosticRefresh::METHOD,
                ),
                (refreshes.inlays, InlayHintRefreshRequest::METHOD),
                (refreshes.lenses, CodeLensRefresh::METHOD),
                (refreshes.semantic_tokens, SemanticTokensRefresh::METHOD),
            ] {
                if wanted {
                    self.asked += 1;
                    let id = format!("bitepoint/{}", self.asked);
                    let message = json!({ "jsonrpc": "2.0", "id": id, "method": method });
                    self.outgoing.push(message);
                }
            }
        }
        let own = changed.own.into_iter().chain(changed.released);
        for uri in own.chain(changed.dependents) {
            let version = self
                .documents
                .get(&uri)
                .and_then(|d| d.snapshot.buffer.version);
            let Some(version) = version else { continue };
            if !client.pulls {
                let found = self.ask(&uri, |lsp| lsp.told()).unwrap_or_default();
                let params = PublishDiagnosticsParams::new(uri.clone(), found, Some(version));
                let params = serde_json::to_value(params).unwrap_or_default();
                self.send(PublishDiagnostics::METHOD, &params);
            }
            if self.settings.preview {
                let params = AnalysedParams { uri, version };
                let params = serde_json::to_value(params).unwrap_or_default();
                self.send(Analysed::METHOD, &params);
            }
        }
    }
}
