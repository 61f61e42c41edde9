//! The language server: what the core knows, in an editor.
//!
//! Text changes are applied in the order in which they come, before anything waits. Analysis
//! runs on a snapshot, off the message loop; what comes of it is published only while the
//! snapshot is still what the client has.

mod documents;
mod preview;
mod session;
mod to_lsp;
mod wire;

use crate::analysis;
use documents::{Document, Documents, Snapshot};
use preview::{Curve, LookedAt, LookedAtParams, WhichSystem};
use session::log;
use std::process::ExitCode;
use std::sync::{Arc, Mutex, MutexGuard, OnceLock, PoisonError};
use std::time::Duration;
use to_lsp::{Client, Lsp};
use tower_lsp::jsonrpc::{Error, Result};
use tower_lsp::lsp_types::notification::PublishDiagnostics;
use tower_lsp::lsp_types::*;
use tower_lsp::{LanguageServer, LspService};
use wire::Outgoing;

/// How long a document must stay as it is before it is looked at: a burst of edits is one.
const BURST: Duration = Duration::from_millis(10);

/// How many analyses and requests are worked on at once.
const ANALYSTS: usize = 16;

/// Serves one client on standard input and output, until it says `exit` or is gone.
pub fn serve() -> ExitCode {
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_time()
        .max_blocking_threads(ANALYSTS)
        .build();
    let runtime = match runtime {
        Ok(runtime) => runtime,
        Err(error) => {
            eprintln!("bitepoint: the server cannot start: {error}");
            return ExitCode::from(2);
        }
    };
    let shared = runtime.block_on(async {
        let incoming = wire::read(std::io::stdin());
        let (outgoing, gone) = Outgoing::write(std::io::stdout());
        let shared = Arc::new(Shared {
            state: Mutex::default(),
            client: OnceLock::new(),
            outgoing: outgoing.clone(),
        });
        let server = Server(shared.clone());
        // The way to the client that comes with the service is not needed: messages to it are
        // sent in order with the state that they are about.
        let (service, _) = LspService::build(|_| server)
            .custom_method("bitepoint/curve", Server::curve)
            .finish();
        session::run(service, incoming, outgoing, gone).await;
        shared
    });
    // An analysis may still be running; nobody waits for it any more.
    runtime.shutdown_background();
    match shared.state().shut_down {
        true => ExitCode::SUCCESS,
        false => ExitCode::FAILURE,
    }
}

struct Server(Arc<Shared>);

struct Shared {
    state: Mutex<State>,
    client: OnceLock<Client>,
    outgoing: Outgoing,
}

#[derive(Debug, Default)]
struct State {
    documents: Documents,
    shut_down: bool,
}

impl Shared {
    fn state(&self) -> MutexGuard<'_, State> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn client(&self) -> Client {
        let unsaid = || Client::new(&InitializeParams::default());
        *self.client.get_or_init(unsaid)
    }

    /// Sees to it that the diagnostics of documents come to be what they should be.
    fn look_again(self: &Arc<Self>, uris: Vec<Url>) {
        let mut state = self.state();
        for uri in uris {
            let Some(document) = state.documents.get_mut(&uri) else {
                continue;
            };
            if !document.at_work {
                document.at_work = true;
                tokio::spawn(self.clone().diagnose(uri, document.opening));
            }
        }
    }

    /// Publishes a document's diagnostics, once it has been looked at as it is. One at a time
    /// works on a document.
    async fn diagnose(self: Arc<Self>, uri: Url, opening: u64) {
        loop {
            tokio::time::sleep(BURST).await;
            let Some(snapshot) = self.present(&uri, opening) else {
                return;
            };
            let (looked_at, client) = (snapshot.clone(), self.client());
            let found =
                tokio::task::spawn_blocking(move || Lsp::new(&looked_at, client).diagnostics())
                    .await;
            let mut state = self.state();
            let Some(document) = of_opening(&mut state, &uri, opening) else {
                return;
            };
            if !Arc::ptr_eq(&document.snapshot, &snapshot) {
                continue;
            }
            document.at_work = false;
            // Sent under the lock, so that no later state's diagnostics can come before these.
            let diagnostics = found.unwrap_or_else(|_| {
                log(
                    &self.outgoing,
                    &format!("{uri} could not be analysed; this is a mistake in Bitepoint"),
                );
                Vec::new()
            });
            let version = snapshot.buffer.version;
            self.publish(uri.clone(), diagnostics, version);
            if client.preview {
                let params = LookedAtParams { uri, version };
                self.outgoing.notification::<LookedAt>(&params);
            }
            return;
        }
    }

    /// A document as it is now, if it was not closed since.
    fn present(&self, uri: &Url, opening: u64) -> Option<Arc<Snapshot>> {
        let mut state = self.state();
        Some(of_opening(&mut state, uri, opening)?.snapshot.clone())
    }

    fn publish(&self, uri: Url, diagnostics: Vec<Diagnostic>, version: i32) {
        let params = PublishDiagnosticsParams::new(uri, diagnostics, Some(version));
        self.outgoing.notification::<PublishDiagnostics>(&params);
    }

    /// What an open document has to say, as it is when this is called; `None` for a document
    /// that is not open.
    async fn ask<T: Send + 'static>(
        &self,
        uri: &Url,
        question: impl FnOnce(&Lsp<'_>) -> Option<T> + Send + 'static,
    ) -> Result<Option<T>> {
        let document = |state: &State| Some(state.documents.get(uri)?.snapshot.clone());
        let Some(snapshot) = document(&self.state()) else {
            return Ok(None);
        };
        let client = self.client();
        let answer = tokio::task::spawn_blocking(move || question(&Lsp::new(&snapshot, client)));
        answer.await.map_err(|_| {
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

#[tower_lsp::async_trait]
impl LanguageServer for Server {
    async fn initialize(&self, params: InitializeParams) -> Result<InitializeResult> {
        let client = self.0.client.get_or_init(|| Client::new(&params));
        Ok(InitializeResult {
            capabilities: capabilities(client),
            server_info: Some(ServerInfo {
                name: "bitepoint".to_owned(),
                version: Some(env!("CARGO_PKG_VERSION").to_owned()),
            }),
        })
    }

    async fn shutdown(&self) -> Result<()> {
        self.0.state().shut_down = true;
        Ok(())
    }

    // Each of these is done before it could wait for anything: it never waits.

    async fn did_open(&self, params: DidOpenTextDocumentParams) {
        let document = params.text_document;
        let changed = self
            .0
            .state()
            .documents
            .open(document.uri, document.version, document.text);
        self.0.look_again(changed);
    }

    async fn did_change(&self, params: DidChangeTextDocumentParams) {
        let encoding = self.0.client().encoding;
        let document = params.text_document;
        let changed = self.0.state().documents.change(
            &document.uri,
            document.version,
            params.content_changes,
            encoding,
        );
        self.0.look_again(changed);
    }

    async fn did_save(&self, params: DidSaveTextDocumentParams) {
        let changed = self.0.state().documents.touched(&params.text_document.uri);
        self.0.look_again(changed);
    }

    async fn did_change_watched_files(&self, params: DidChangeWatchedFilesParams) {
        for event in params.changes {
            let changed = self.0.state().documents.touched(&event.uri);
            self.0.look_again(changed);
        }
    }

    async fn did_close(&self, params: DidCloseTextDocumentParams) {
        let uri = params.text_document.uri;
        let mut state = self.0.state();
        let Some((version, changed)) = state.documents.close(&uri) else {
            return;
        };
        self.0.publish(uri, Vec::new(), version);
        drop(state);
        self.0.look_again(changed);
    }

    async fn hover(&self, params: HoverParams) -> Result<Option<Hover>> {
        let at = params.text_document_position_params;
        self.0
            .ask(&at.text_document.uri, move |lsp| {
                let found = analysis::hover(lsp.report(), lsp.offset(at.position))?;
                Some(lsp.hover(found))
            })
            .await
    }

    async fn completion(&self, params: CompletionParams) -> Result<Option<CompletionResponse>> {
        let at = params.text_document_position;
        self.0
            .ask(&at.text_document.uri, move |lsp| {
                let found = analysis::completions(lsp.report(), lsp.offset(at.position));
                Some(lsp.completion(found))
            })
            .await
    }

    async fn inlay_hint(&self, params: InlayHintParams) -> Result<Option<Vec<InlayHint>>> {
        self.0
            .ask(&params.text_document.uri, move |lsp| {
                let found = analysis::inlays(lsp.report(), lsp.span(params.range));
                Some(found.into_iter().map(|inlay| lsp.inlay(inlay)).collect())
            })
            .await
    }

    async fn goto_definition(
        &self,
        params: GotoDefinitionParams,
    ) -> Result<Option<GotoDefinitionResponse>> {
        let at = params.text_document_position_params;
        self.0
            .ask(&at.text_document.uri, move |lsp| {
                let found = analysis::definition(lsp.report(), lsp.offset(at.position))?;
                lsp.definition(&found)
            })
            .await
    }

    async fn document_symbol(
        &self,
        params: DocumentSymbolParams,
    ) -> Result<Option<DocumentSymbolResponse>> {
        self.0
            .ask(&params.text_document.uri, |lsp| {
                Some(lsp.symbols(analysis::symbols(lsp.report())))
            })
            .await
    }

    async fn formatting(&self, params: DocumentFormattingParams) -> Result<Option<Vec<TextEdit>>> {
        self.0
            .ask(&params.text_document.uri, |lsp| {
                Some(lsp.edits(analysis::formatting(lsp.report())?))
            })
            .await
    }

    async fn code_action(&self, params: CodeActionParams) -> Result<Option<CodeActionResponse>> {
        let uri = params.text_document.uri.clone();
        self.0
            .ask(&uri, move |lsp| Some(lsp.actions(&params)))
            .await
    }
}

impl Server {
    async fn curve(&self, which: WhichSystem) -> Result<Option<Curve>> {
        let uri = which.text_document.uri.clone();
        self.0
            .ask(&uri, move |lsp| Some(preview::curve(lsp, &which)))
            .await
    }
}

fn capabilities(client: &Client) -> ServerCapabilities {
    ServerCapabilities {
        position_encoding: Some(client.encoding_kind()),
        text_document_sync: Some(TextDocumentSyncCapability::Options(
            TextDocumentSyncOptions {
                open_close: Some(true),
                change: Some(TextDocumentSyncKind::INCREMENTAL),
                save: Some(TextDocumentSyncSaveOptions::Supported(true)),
                ..TextDocumentSyncOptions::default()
            },
        )),
        hover_provider: Some(HoverProviderCapability::Simple(true)),
        completion_provider: Some(CompletionOptions {
            // Not the brace and the newline: an editor would take the Enter behind them for the
            // acceptance of the first thing offered.
            trigger_characters: Some([".", "=", " "].map(str::to_owned).to_vec()),
            ..CompletionOptions::default()
        }),
        definition_provider: Some(OneOf::Left(true)),
        document_symbol_provider: Some(OneOf::Left(true)),
        document_formatting_provider: Some(OneOf::Left(true)),
        inlay_hint_provider: Some(OneOf::Left(true)),
        code_action_provider: Some(CodeActionProviderCapability::Options(CodeActionOptions {
            code_action_kinds: Some(vec![CodeActionKind::QUICKFIX]),
            ..CodeActionOptions::default()
        })),
        ..ServerCapabilities::default()
    }
}
