//! What the client asks, each passed on to what knows the answer.

use super::parent;
use super::shared::Shared;
use crate::analysis;
use crate::faces::server::protocol::capabilities::of_server;
use crate::faces::server::protocol::client::Client;
use crate::faces::server::protocol::log::TARGET;
use crate::faces::server::protocol::preview::{self, Curve, Sheet, WhichSystem};
use crate::faces::server::protocol::to_lsp::{Diagnosed, Lsp, Offered, semantic_token_edits};
use crate::faces::server::state::name_of;
use crate::finding::Place;
use std::collections::HashMap;
use std::sync::Arc;
use tower_lsp::LanguageServer;
use tower_lsp::jsonrpc::{Error, Result};
use tower_lsp::lsp_types::*;

/// What the client's messages are passed to.
pub(super) struct Server(pub Arc<Shared>);

#[tower_lsp::async_trait]
impl LanguageServer for Server {
    async fn initialize(&self, params: InitializeParams) -> Result<InitializeResult> {
        let client = self
            .0
            .client
            .get_or_init(|| Client::new(&params.capabilities));
        let name = params.client_info.as_ref().map(|info| &*info.name);
        let version = params
            .client_info
            .as_ref()
            .and_then(|info| info.version.as_deref());
        tracing::info!(
            target: TARGET,
            name,
            version,
            process = params.process_id,
            can = ?client,
            "client"
        );
        if let Err(why) = self.0.state().start(&params) {
            self.0.outgoing.log_error(&why);
        }
        if let Some(id) = params.process_id {
            tokio::spawn(parent::watch(id, self.0.orphaned.clone()));
        }
        Ok(InitializeResult {
            capabilities: of_server(client),
            server_info: Some(ServerInfo {
                name: "bitepoint".to_owned(),
                version: Some(env!("CARGO_PKG_VERSION").to_owned()),
            }),
        })
    }

    async fn initialized(&self, _: InitializedParams) {
        tokio::spawn(self.0.clone().on_initialized());
    }

    async fn shutdown(&self) -> Result<()> {
        self.0.state().shut_down = true;
        Ok(())
    }

    // ---- findings ----

    async fn diagnostic(
        &self,
        params: DocumentDiagnosticParams,
    ) -> Result<DocumentDiagnosticReportResult> {
        let uri = params.text_document.uri;
        let open = self.0.ask(&uri, |lsp| Some(lsp.diagnosed())).await?;
        let found = match open {
            Some(found) => Some(found),
            None => {
                self.0
                    .ask_file(name_of(&uri), |lsp| lsp.diagnosed())
                    .await?
            }
        };
        self.0.wait_for_quiet();
        let (shared, of) = (self.0.clone(), uri.clone());
        self.0.work(move || shared.tell_of_settings(&of)).await?;
        let report = match found {
            Some(Diagnosed { mark, .. }) if params.previous_result_id.as_ref() == Some(&mark) => {
                let unchanged = UnchangedDocumentDiagnosticReport { result_id: mark };
                DocumentDiagnosticReport::Unchanged(RelatedUnchangedDocumentDiagnosticReport {
                    related_documents: None,
                    unchanged_document_diagnostic_report: unchanged,
                })
            }
            found => DocumentDiagnosticReport::Full(RelatedFullDocumentDiagnosticReport {
                related_documents: None,
                full_document_diagnostic_report: full(found),
            }),
        };
        Ok(report.into())
    }

    async fn workspace_diagnostic(
        &self,
        params: WorkspaceDiagnosticParams,
    ) -> Result<WorkspaceDiagnosticReportResult> {
        let mut before: HashMap<Url, String> = params
            .previous_result_ids
            .into_iter()
            .map(|previous| (previous.uri, previous.value))
            .collect();
        let news = self.0.state().settings_diagnostics.asked();
        self.0.publish(news);
        let items = self.0.ask_world(move |world, client, settings| {
            let mut items = Vec::new();
            for file in world.specs_and_settings() {
                let found = Lsp::new(&file, client, settings).diagnosed();
                let uri = file.buffer.uri.clone();
                let version = file.buffer.version.map(i64::from);
                let known = before.remove(&uri);
                items.push(match known == Some(found.mark.clone()) {
                    true => WorkspaceUnchangedDocumentDiagnosticReport {
                        uri,
                        version,
                        unchanged_document_diagnostic_report: UnchangedDocumentDiagnosticReport {
                            result_id: found.mark,
                        },
                    }
                    .into(),
                    false => WorkspaceFullDocumentDiagnosticReport {
                        uri,
                        version,
                        full_document_diagnostic_report: full(Some(found)),
                    }
                    .into(),
                });
            }
            // What the client knows of files that are gone is taken away.
            items.extend(before.into_keys().map(|uri| {
                WorkspaceDocumentDiagnosticReport::Full(WorkspaceFullDocumentDiagnosticReport {
                    uri,
                    version: None,
                    full_document_diagnostic_report: full(None),
                })
            }));
            items
        });
        let items = items.await?;
        self.0.wait_for_quiet();
        Ok(WorkspaceDiagnosticReport { items }.into())
    }

    async fn code_action(&self, params: CodeActionParams) -> Result<Option<CodeActionResponse>> {
        let uri = params.text_document.uri.clone();
        self.0
            .ask(&uri, move |lsp| Some(lsp.actions(&params)))
            .await
    }

    async fn code_action_resolve(&self, mut action: CodeAction) -> Result<CodeAction> {
        let offered = action.data.clone().unwrap_or_default();
        let offered: Offered = serde_json::from_value(offered)
            .map_err(|error| Error::invalid_params(error.to_string()))?;
        let uri = offered.uri.clone();
        action.edit = self.0.ask(&uri, move |lsp| lsp.edit_of(&offered)).await?;
        match action.edit {
            Some(_) => Ok(action),
            None => Err(Error {
                code: tower_lsp::jsonrpc::ErrorCode::ContentModified,
                message: "the document has changed since".into(),
                data: None,
            }),
        }
    }

    // ---- facts about a place ----

    async fn hover(&self, params: HoverParams) -> Result<Option<Hover>> {
        let at = params.text_document_position_params;
        let shared = self.0.clone();
        self.0
            .ask(&at.text_document.uri, move |lsp| {
                // Only a part is looked for in other files.
                let world = || shared.state().documents.world();
                let users = |part: &Place| lsp.users_elsewhere(part, &world());
                let found = analysis::hover_among(lsp.report(), lsp.offset(at.position), &users)?;
                Some(lsp.hover(found))
            })
            .await
    }

    async fn completion(&self, params: CompletionParams) -> Result<Option<CompletionResponse>> {
        let at = params.text_document_position;
        self.0
            .ask(&at.text_document.uri, move |lsp| {
                let offset = lsp.offset(at.position);
                if let Some(path) = analysis::use_path_at(lsp.report(), offset) {
                    return Some(lsp.paths(path));
                }
                let shelves = || lsp.shelves();
                let found = analysis::completions_among(lsp.report(), offset, &shelves);
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

    async fn code_lens(&self, params: CodeLensParams) -> Result<Option<Vec<CodeLens>>> {
        self.0
            .ask(&params.text_document.uri, |lsp| {
                let found = analysis::lenses(lsp.report());
                Some(found.into_iter().map(|lens| lsp.lens(lens)).collect())
            })
            .await
    }

    // ---- names ----

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

    async fn references(&self, params: ReferenceParams) -> Result<Option<Vec<Location>>> {
        let at = params.text_document_position;
        let with_definitions = params.context.include_declaration;
        self.0
            .ask_with_world(&at.text_document.uri, move |lsp, world| {
                lsp.references(at.position, world, with_definitions)
            })
            .await
    }

    async fn document_highlight(
        &self,
        params: DocumentHighlightParams,
    ) -> Result<Option<Vec<DocumentHighlight>>> {
        let at = params.text_document_position_params;
        self.0
            .ask(&at.text_document.uri, move |lsp| {
                lsp.highlights(at.position)
            })
            .await
    }

    async fn prepare_rename(
        &self,
        at: TextDocumentPositionParams,
    ) -> Result<Option<PrepareRenameResponse>> {
        self.0
            .ask(&at.text_document.uri, move |lsp| lsp.renamable(at.position))
            .await
    }

    async fn rename(&self, params: RenameParams) -> Result<Option<WorkspaceEdit>> {
        let at = params.text_document_position;
        let new = params.new_name;
        let renamed = self
            .0
            .ask_with_world(&at.text_document.uri, move |lsp, world| {
                Some(lsp.rename(at.position, &new, world))
            });
        match renamed.await? {
            Some(Err(why)) => {
                let mut error = Error::invalid_params(why);
                // What is asked for is well formed; it only cannot be done.
                error.code = tower_lsp::jsonrpc::ErrorCode::ServerError(REQUEST_FAILED);
                Err(error)
            }
            Some(Ok(edit)) => Ok(Some(edit)),
            None => Ok(None),
        }
    }

    async fn symbol(
        &self,
        params: WorkspaceSymbolParams,
    ) -> Result<Option<Vec<SymbolInformation>>> {
        self.0
            .ask_world(move |world, client, settings| {
                let files = world.all();
                let found = files
                    .iter()
                    .flat_map(|file| Lsp::new(file, client, settings).named_like(&params.query));
                Some(found.take(MOST_SYMBOLS).collect())
            })
            .await
    }

    // ---- the shape of a document ----

    async fn document_symbol(
        &self,
        params: DocumentSymbolParams,
    ) -> Result<Option<DocumentSymbolResponse>> {
        self.0
            .ask(&params.text_document.uri, |lsp| {
                Some(lsp.symbols(analysis::symbols(lsp.snapshot.scope().root())))
            })
            .await
    }

    async fn document_link(&self, params: DocumentLinkParams) -> Result<Option<Vec<DocumentLink>>> {
        self.0
            .ask(&params.text_document.uri, |lsp| {
                let found = analysis::links(lsp.report()).into_iter();
                Some(found.filter_map(|link| lsp.link(link)).collect())
            })
            .await
    }

    async fn folding_range(&self, params: FoldingRangeParams) -> Result<Option<Vec<FoldingRange>>> {
        self.0
            .ask(&params.text_document.uri, |lsp| Some(lsp.folds()))
            .await
    }

    async fn selection_range(
        &self,
        params: SelectionRangeParams,
    ) -> Result<Option<Vec<SelectionRange>>> {
        self.0
            .ask(&params.text_document.uri, move |lsp| {
                let positions = params.positions.iter();
                Some(positions.map(|at| lsp.selection(*at)).collect())
            })
            .await
    }

    async fn semantic_tokens_full(
        &self,
        params: SemanticTokensParams,
    ) -> Result<Option<SemanticTokensResult>> {
        let uri = params.text_document.uri;
        let semantic_tokens = self
            .0
            .ask(&uri, |lsp| Some(lsp.semantic_tokens(None)))
            .await?;
        Ok(semantic_tokens.map(|data| {
            let data = Arc::new(data);
            let tokens = SemanticTokens {
                result_id: self.0.keep_semantic_tokens(&uri, &data),
                data: data.to_vec(),
            };
            tokens.into()
        }))
    }

    async fn semantic_tokens_full_delta(
        &self,
        params: SemanticTokensDeltaParams,
    ) -> Result<Option<SemanticTokensFullDeltaResult>> {
        let uri = params.text_document.uri;
        let before = self
            .0
            .kept_semantic_tokens(&uri, &params.previous_result_id);
        let semantic_tokens = self
            .0
            .ask(&uri, |lsp| Some(lsp.semantic_tokens(None)))
            .await?;
        Ok(semantic_tokens.map(|data| {
            let data = Arc::new(data);
            let result_id = self.0.keep_semantic_tokens(&uri, &data);
            match before {
                Some(before) => SemanticTokensDelta {
                    result_id,
                    edits: semantic_token_edits(&before, &data),
                }
                .into(),
                None => SemanticTokens {
                    result_id,
                    data: data.to_vec(),
                }
                .into(),
            }
        }))
    }

    async fn semantic_tokens_range(
        &self,
        params: SemanticTokensRangeParams,
    ) -> Result<Option<SemanticTokensRangeResult>> {
        self.0
            .ask(&params.text_document.uri, move |lsp| {
                let tokens = SemanticTokens {
                    result_id: None,
                    data: lsp.semantic_tokens(Some(lsp.span(params.range))),
                };
                Some(tokens.into())
            })
            .await
    }

    // ---- formatting ----

    async fn formatting(&self, params: DocumentFormattingParams) -> Result<Option<Vec<TextEdit>>> {
        self.0
            .ask(&params.text_document.uri, |lsp| {
                Some(lsp.edits(analysis::formatting(lsp.report())?))
            })
            .await
    }

    async fn range_formatting(
        &self,
        params: DocumentRangeFormattingParams,
    ) -> Result<Option<Vec<TextEdit>>> {
        self.0
            .ask(&params.text_document.uri, move |lsp| {
                let within = lsp.span(params.range);
                Some(lsp.edits(analysis::formatting_within(lsp.report(), within)?))
            })
            .await
    }

    async fn on_type_formatting(
        &self,
        params: DocumentOnTypeFormattingParams,
    ) -> Result<Option<Vec<TextEdit>>> {
        let at = params.text_document_position;
        self.0
            .ask(&at.text_document.uri, move |lsp| {
                let offset = lsp.offset(at.position);
                Some(lsp.edits(analysis::formatting_typed(lsp.report(), offset)?))
            })
            .await
    }
}

/// More than this are too many to look through.
const MOST_SYMBOLS: usize = 1000;

/// The protocol's number for a request that is well formed and cannot be done.
const REQUEST_FAILED: i64 = -32803;

fn full(found: Option<Diagnosed>) -> FullDocumentDiagnosticReport {
    let (result_id, items) = found.map(|found| (found.mark, found.items)).unzip();
    FullDocumentDiagnosticReport {
        result_id,
        items: items.unwrap_or_default(),
    }
}

impl Server {
    pub(super) async fn curve(&self, which: WhichSystem) -> Result<Option<Curve>> {
        let uri = which.text_document.uri.clone();
        self.0
            .ask(&uri, move |lsp| Some(preview::curve(&lsp, &which)))
            .await
    }
}

impl Server {
    pub(super) async fn sheet(&self, which: WhichSystem) -> Result<Option<Sheet>> {
        let uri = which.text_document.uri.clone();
        self.0
            .ask(&uri, move |lsp| Some(preview::fitting_sheet(&lsp, &which)))
            .await
    }
}

impl Shared {
    /// Keeps the semantic tokens that a document is told to have, and says under which number.
    fn keep_semantic_tokens(
        &self,
        uri: &Url,
        semantic_tokens: &Arc<Vec<SemanticToken>>,
    ) -> Option<String> {
        let mut state = self.state();
        state.semantic_tokens += 1;
        let number = state.semantic_tokens;
        state.documents.get_mut(uri)?.semantic_tokens = Some((number, semantic_tokens.clone()));
        Some(number.to_string())
    }

    fn kept_semantic_tokens(&self, uri: &Url, number: &str) -> Option<Arc<Vec<SemanticToken>>> {
        let state = self.state();
        let (known, semantic_tokens) = state.documents.get(uri)?.semantic_tokens.as_ref()?;
        (known.to_string() == number).then(|| semantic_tokens.clone())
    }
}
