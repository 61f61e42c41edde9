//! The server's capabilities, as the client is told them.

use super::client::Client;
use super::to_lsp::{FIX_ALL, legend};
use lsp_types::*;
use serde_json::Value;

/// The server's capabilities for this client.
pub(crate) fn of_server(client: &Client) -> ServerCapabilities {
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
        diagnostic_provider: client.pulls.then(|| {
            DiagnosticServerCapabilities::Options(DiagnosticOptions {
                identifier: Some("bitepoint".to_owned()),
                inter_file_dependencies: true,
                workspace_diagnostics: true,
                ..DiagnosticOptions::default()
            })
        }),
        hover_provider: Some(HoverProviderCapability::Simple(true)),
        completion_provider: Some(CompletionOptions {
            // Without brace and newline: an editor would take the Enter after them as accepting the first completion.
            trigger_characters: Some([".", "=", " ", "\"", "/"].map(str::to_owned).to_vec()),
            ..CompletionOptions::default()
        }),
        definition_provider: Some(OneOf::Left(true)),
        references_provider: Some(OneOf::Left(true)),
        document_highlight_provider: Some(OneOf::Left(true)),
        document_symbol_provider: Some(OneOf::Left(true)),
        workspace_symbol_provider: Some(OneOf::Left(true)),
        document_formatting_provider: Some(OneOf::Left(true)),
        document_range_formatting_provider: Some(OneOf::Left(true)),
        document_on_type_formatting_provider: Some(DocumentOnTypeFormattingOptions {
            first_trigger_character: "}".to_owned(),
            more_trigger_character: None,
        }),
        rename_provider: Some(match client.prepares_rename {
            true => OneOf::Right(RenameOptions {
                prepare_provider: Some(true),
                work_done_progress_options: WorkDoneProgressOptions::default(),
            }),
            false => OneOf::Left(true),
        }),
        inlay_hint_provider: Some(OneOf::Right(InlayHintServerCapabilities::Options(
            InlayHintOptions {
                resolve_provider: Some(client.lazy_tooltips),
                ..InlayHintOptions::default()
            },
        ))),
        signature_help_provider: Some(SignatureHelpOptions {
            trigger_characters: Some(["(", ",", ":", "{"].map(str::to_owned).to_vec()),
            ..SignatureHelpOptions::default()
        }),
        call_hierarchy_provider: Some(CallHierarchyServerCapability::Simple(true)),
        code_lens_provider: Some(CodeLensOptions {
            resolve_provider: Some(false),
        }),
        document_link_provider: Some(DocumentLinkOptions {
            resolve_provider: Some(false),
            work_done_progress_options: WorkDoneProgressOptions::default(),
        }),
        folding_range_provider: Some(FoldingRangeProviderCapability::Simple(true)),
        selection_range_provider: Some(SelectionRangeProviderCapability::Simple(true)),
        semantic_tokens_provider: Some(
            SemanticTokensOptions {
                legend: legend(),
                range: Some(true),
                full: Some(SemanticTokensFullOptions::Delta { delta: Some(true) }),
                ..SemanticTokensOptions::default()
            }
            .into(),
        ),
        code_action_provider: Some(CodeActionProviderCapability::Options(CodeActionOptions {
            code_action_kinds: Some(vec![
                CodeActionKind::QUICKFIX,
                CodeActionKind::REFACTOR_EXTRACT,
                CodeActionKind::REFACTOR_REWRITE,
                FIX_ALL,
            ]),
            resolve_provider: Some(client.lazy_actions),
            ..CodeActionOptions::default()
        })),
        workspace: Some(WorkspaceServerCapabilities {
            workspace_folders: Some(WorkspaceFoldersServerCapabilities {
                supported: Some(true),
                change_notifications: Some(OneOf::Left(true)),
            }),
            file_operations: (client.renames_files || client.tells_of_renamed_files).then(|| {
                WorkspaceFileOperationsServerCapabilities {
                    will_rename: client.renames_files.then(specs_and_folders),
                    did_rename: client.tells_of_renamed_files.then(specs_and_folders),
                    ..WorkspaceFileOperationsServerCapabilities::default()
                }
            }),
        }),
        ..ServerCapabilities::default()
    }
}

/// Adds to the answer to `initialize` the capabilities that the protocol's types have no field for.
pub(crate) fn add_untyped(result: &mut Value) {
    if let Some(capabilities) = result.get_mut("capabilities") {
        capabilities["typeHierarchyProvider"] = true.into();
    }
}

/// The files and folders whose renaming matters to a `use`.
fn specs_and_folders() -> FileOperationRegistrationOptions {
    let filter = |glob: &str, matches| FileOperationFilter {
        scheme: Some("file".to_owned()),
        pattern: FileOperationPattern {
            glob: glob.to_owned(),
            matches: Some(matches),
            options: Some(FileOperationPatternOptions {
                ignore_case: Some(true),
            }),
        },
    };
    FileOperationRegistrationOptions {
        filters: vec![
            filter("**/*.clutch", FileOperationPatternKind::File),
            filter("**/bitepoint.toml", FileOperationPatternKind::File),
            filter("**", FileOperationPatternKind::Folder),
        ],
    }
}
