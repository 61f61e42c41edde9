//! The client's requests, each passed on to the code that answers it.

use super::parent;
use super::shared::Shared;
use crate::faces::server::protocol::answers::WorkspaceView;
use crate::faces::server::protocol::capabilities::of_server;
use crate::faces::server::protocol::client::Client;
use crate::faces::server::protocol::log::TARGET;
use crate::faces::server::protocol::preview::{self, Curve, Sheet, WhichSystem};
use crate::faces::server::protocol::reports::{document_report, workspace_report};
use crate::faces::server::protocol::to_lsp::{Offered, resolved_in, semantic_token_edits};
use crate::faces::server::state::name_of;
use lsp_types::request::{
    CallHierarchyIncomingCalls, CallHierarchyOutgoingCalls, CallHierarchyPrepare,
    CodeActionRequest, CodeLensRequest, Completion, DocumentHighlightRequest, DocumentLinkRequest,
    DocumentSymbolRequest, FoldingRangeRequest, Formatting, GotoDefinition, HoverRequest,
    InlayHintRequest, OnTypeFormatting, PrepareRenameRequest, RangeFormatting, References, Rename,
    SelectionRangeRequest, SemanticTokensRangeRequest, SignatureHelpRequest, TypeHierarchyPrepare,
    TypeHierarchySubtypes, TypeHierarchySupertypes, WillRenameFiles, WorkspaceSymbolRequest,
};
use lsp_types::*;
use std::sync::Arc;
use tower_lsp::LanguageServer;
use tower_lsp::jsonrpc::{Error, Result};

/// The handlers of the client's messages.
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
                version: Some(crate::faces::VERSION.to_owned()),
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
        Ok(document_report(found, params.previous_result_id.as_ref()))
    }

    async fn workspace_diagnostic(
        &self,
        params: WorkspaceDiagnosticParams,
    ) -> Result<WorkspaceDiagnosticReportResult> {
        let news = self.0.state().settings_diagnostics.asked();
        self.0.publish(news);
        let report = self.0.ask_world(move |world, client, settings| {
            let workspace = WorkspaceView {
                world,
                client,
                settings,
            };
            workspace_report(&workspace, params)
        });
        let report = report.await?;
        self.0.wait_for_quiet();
        Ok(report)
    }

    async fn code_action(&self, params: CodeActionParams) -> Result<Option<CodeActionResponse>> {
        self.0.of_document::<CodeActionRequest>(params).await
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
        self.0.among_files::<HoverRequest>(params).await
    }

    async fn completion(&self, params: CompletionParams) -> Result<Option<CompletionResponse>> {
        self.0.of_document::<Completion>(params).await
    }

    async fn inlay_hint(&self, params: InlayHintParams) -> Result<Option<Vec<InlayHint>>> {
        self.0.of_document::<InlayHintRequest>(params).await
    }

    async fn inlay_hint_resolve(&self, hint: InlayHint) -> Result<InlayHint> {
        let Some(uri) = resolved_in(&hint) else {
            return Ok(hint);
        };
        let shown = hint.clone();
        let resolved = self.0.ask(&uri, move |lsp| Some(lsp.with_tooltip(hint)));
        Ok(resolved.await?.unwrap_or(shown))
    }

    async fn signature_help(&self, params: SignatureHelpParams) -> Result<Option<SignatureHelp>> {
        self.0.of_document::<SignatureHelpRequest>(params).await
    }

    async fn code_lens(&self, params: CodeLensParams) -> Result<Option<Vec<CodeLens>>> {
        self.0.of_document::<CodeLensRequest>(params).await
    }

    // ---- names ----

    async fn goto_definition(
        &self,
        params: GotoDefinitionParams,
    ) -> Result<Option<GotoDefinitionResponse>> {
        self.0.of_document::<GotoDefinition>(params).await
    }

    async fn references(&self, params: ReferenceParams) -> Result<Option<Vec<Location>>> {
        self.0.among_files::<References>(params).await
    }

    async fn document_highlight(
        &self,
        params: DocumentHighlightParams,
    ) -> Result<Option<Vec<DocumentHighlight>>> {
        self.0.of_document::<DocumentHighlightRequest>(params).await
    }

    async fn prepare_rename(
        &self,
        params: TextDocumentPositionParams,
    ) -> Result<Option<PrepareRenameResponse>> {
        self.0.of_document::<PrepareRenameRequest>(params).await
    }

    async fn rename(&self, params: RenameParams) -> Result<Option<WorkspaceEdit>> {
        self.0.among_files::<Rename>(params).await
    }

    async fn symbol(
        &self,
        params: WorkspaceSymbolParams,
    ) -> Result<Option<Vec<SymbolInformation>>> {
        let found = self
            .0
            .of_workspace::<WorkspaceSymbolRequest>(params)
            .await?;
        Ok(found.and_then(|found| match found {
            WorkspaceSymbolResponse::Flat(found) => Some(found),
            WorkspaceSymbolResponse::Nested(_) => None,
        }))
    }

    async fn prepare_type_hierarchy(
        &self,
        params: TypeHierarchyPrepareParams,
    ) -> Result<Option<Vec<TypeHierarchyItem>>> {
        self.0.of_document::<TypeHierarchyPrepare>(params).await
    }

    async fn supertypes(
        &self,
        params: TypeHierarchySupertypesParams,
    ) -> Result<Option<Vec<TypeHierarchyItem>>> {
        self.0.of_workspace::<TypeHierarchySupertypes>(params).await
    }

    async fn subtypes(
        &self,
        params: TypeHierarchySubtypesParams,
    ) -> Result<Option<Vec<TypeHierarchyItem>>> {
        self.0.of_workspace::<TypeHierarchySubtypes>(params).await
    }

    async fn prepare_call_hierarchy(
        &self,
        params: CallHierarchyPrepareParams,
    ) -> Result<Option<Vec<CallHierarchyItem>>> {
        self.0.of_document::<CallHierarchyPrepare>(params).await
    }

    async fn incoming_calls(
        &self,
        params: CallHierarchyIncomingCallsParams,
    ) -> Result<Option<Vec<CallHierarchyIncomingCall>>> {
        self.0
            .of_workspace::<CallHierarchyIncomingCalls>(params)
            .await
    }

    async fn outgoing_calls(
        &self,
        params: CallHierarchyOutgoingCallsParams,
    ) -> Result<Option<Vec<CallHierarchyOutgoingCall>>> {
        self.0
            .of_workspace::<CallHierarchyOutgoingCalls>(params)
            .await
    }

    async fn will_rename_files(&self, params: RenameFilesParams) -> Result<Option<WorkspaceEdit>> {
        self.0.of_workspace::<WillRenameFiles>(params).await
    }

    // ---- the shape of a document ----

    async fn document_symbol(
        &self,
        params: DocumentSymbolParams,
    ) -> Result<Option<DocumentSymbolResponse>> {
        self.0.of_document::<DocumentSymbolRequest>(params).await
    }

    async fn document_link(&self, params: DocumentLinkParams) -> Result<Option<Vec<DocumentLink>>> {
        self.0.of_document::<DocumentLinkRequest>(params).await
    }

    async fn folding_range(&self, params: FoldingRangeParams) -> Result<Option<Vec<FoldingRange>>> {
        self.0.of_document::<FoldingRangeRequest>(params).await
    }

    async fn selection_range(
        &self,
        params: SelectionRangeParams,
    ) -> Result<Option<Vec<SelectionRange>>> {
        self.0.of_document::<SelectionRangeRequest>(params).await
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
            .of_document::<SemanticTokensRangeRequest>(params)
            .await
    }

    // ---- formatting ----

    async fn formatting(&self, params: DocumentFormattingParams) -> Result<Option<Vec<TextEdit>>> {
        self.0.of_document::<Formatting>(params).await
    }

    async fn range_formatting(
        &self,
        params: DocumentRangeFormattingParams,
    ) -> Result<Option<Vec<TextEdit>>> {
        self.0.of_document::<RangeFormatting>(params).await
    }

    async fn on_type_formatting(
        &self,
        params: DocumentOnTypeFormattingParams,
    ) -> Result<Option<Vec<TextEdit>>> {
        self.0.of_document::<OnTypeFormatting>(params).await
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
    /// Keeps the semantic tokens sent for a document, and gives their number.
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
