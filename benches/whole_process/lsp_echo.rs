//! A language server of the same make that looks at nothing: to every change it says that there
//! are no diagnostics.

use tower_lsp::jsonrpc::Result;
use tower_lsp::lsp_types::*;
use tower_lsp::{Client, LanguageServer, LspService};

struct Echo(Client);

#[tower_lsp::async_trait]
impl LanguageServer for Echo {
    async fn initialize(&self, _: InitializeParams) -> Result<InitializeResult> {
        Ok(InitializeResult {
            capabilities: ServerCapabilities {
                text_document_sync: Some(TextDocumentSyncKind::INCREMENTAL.into()),
                ..ServerCapabilities::default()
            },
            ..InitializeResult::default()
        })
    }

    async fn did_open(&self, opened: DidOpenTextDocumentParams) {
        let document = opened.text_document;
        self.publish(document.uri, document.version).await;
    }

    async fn did_change(&self, changed: DidChangeTextDocumentParams) {
        let document = changed.text_document;
        self.publish(document.uri, document.version).await;
    }

    async fn shutdown(&self) -> Result<()> {
        Ok(())
    }
}

impl Echo {
    async fn publish(&self, uri: Url, version: i32) {
        let nothing = Vec::new();
        self.0
            .publish_diagnostics(uri, nothing, Some(version))
            .await;
    }
}

pub fn serve() {
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .build()
        .expect("a runtime");
    runtime.block_on(async {
        let (service, socket) = LspService::new(Echo);
        let (input, output) = (tokio::io::stdin(), tokio::io::stdout());
        tower_lsp::Server::new(input, output, socket)
            .serve(service)
            .await;
    });
}
