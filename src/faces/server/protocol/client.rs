//! The client's capabilities, as it sends them at the start.

use crate::syntax::Encoding;
use lsp_types::*;
use serde_json::Value;

/// The client's capabilities that matter here.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Client {
    pub encoding: Encoding,
    /// Whether it pulls diagnostics; otherwise they are published to it.
    pub pulls: bool,
    pub markdown: bool,
    pub markdown_in_completions: bool,
    pub snippets: bool,
    pub nested_symbols: bool,
    pub document_changes: bool,
    pub action_literals: bool,
    pub preferred_actions: bool,
    pub lazy_actions: bool,
    pub related_places: bool,
    pub code_links: bool,
    pub unnecessary: bool,
    pub whole_line_folds: bool,
    pub most_folds: Option<u32>,
    pub link_tooltips: bool,
    pub lazy_tooltips: bool,
    pub label_offsets: bool,
    pub renames_files: bool,
    pub tells_of_renamed_files: bool,
    pub prepares_rename: bool,
    pub progress: bool,
    pub asks_configuration: bool,
    pub watches_files: bool,
    pub registers_configuration: bool,
    pub refreshes: Refreshes,
}

/// What the client requests again when the server asks for it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Refreshes {
    pub diagnostics: bool,
    pub inlays: bool,
    pub lenses: bool,
    pub semantic_tokens: bool,
}

impl Client {
    pub fn new(capabilities: &ClientCapabilities) -> Self {
        let text = capabilities.text_document.clone().unwrap_or_default();
        let workspace = capabilities.workspace.clone().unwrap_or_default();
        let window = capabilities.window.clone().unwrap_or_default();
        let files = workspace.file_operations.clone().unwrap_or_default();
        let diagnostics = text.publish_diagnostics.unwrap_or_default();
        let item = text.completion.and_then(|c| c.completion_item);
        let item = item.unwrap_or_default();
        let actions = text.code_action.unwrap_or_default();
        let folding = text.folding_range.unwrap_or_default();
        // Markdown is understood nearly everywhere, also where nothing is said about it.
        let markdown = |formats: Option<Vec<MarkupKind>>| {
            formats.is_none_or(|formats| formats.contains(&MarkupKind::Markdown))
        };
        let yes = |said: Option<bool>| said.unwrap_or(false);
        Self {
            encoding: encoding(capabilities),
            pulls: text.diagnostic.is_some(),
            markdown: markdown(text.hover.and_then(|hover| hover.content_format)),
            markdown_in_completions: markdown(item.documentation_format),
            snippets: yes(item.snippet_support),
            nested_symbols: yes(text
                .document_symbol
                .and_then(|s| s.hierarchical_document_symbol_support)),
            document_changes: yes(workspace.workspace_edit.and_then(|e| e.document_changes)),
            action_literals: actions.code_action_literal_support.is_some(),
            preferred_actions: yes(actions.is_preferred_support),
            lazy_actions: yes(actions.data_support)
                && actions
                    .resolve_support
                    .is_some_and(|support| support.properties.iter().any(|p| p == "edit")),
            related_places: yes(diagnostics.related_information),
            code_links: yes(diagnostics.code_description_support),
            unnecessary: diagnostics
                .tag_support
                .is_some_and(|tags| tags.value_set.contains(&DiagnosticTag::UNNECESSARY)),
            whole_line_folds: yes(folding.line_folding_only),
            most_folds: folding.range_limit,
            link_tooltips: yes(text.document_link.and_then(|link| link.tooltip_support)),
            lazy_tooltips: text
                .inlay_hint
                .and_then(|hint| hint.resolve_support)
                .is_some_and(|support| support.properties.iter().any(|p| p == "tooltip")),
            label_offsets: yes(text
                .signature_help
                .and_then(|help| help.signature_information)
                .and_then(|signature| signature.parameter_information)
                .and_then(|parameter| parameter.label_offset_support)),
            renames_files: yes(files.will_rename),
            tells_of_renamed_files: yes(files.did_rename),
            prepares_rename: yes(text.rename.and_then(|rename| rename.prepare_support)),
            progress: yes(window.work_done_progress),
            asks_configuration: yes(workspace.configuration),
            watches_files: yes(workspace
                .did_change_watched_files
                .and_then(|watch| watch.dynamic_registration)),
            registers_configuration: yes(workspace
                .did_change_configuration
                .and_then(|change| change.dynamic_registration)),
            refreshes: Refreshes {
                diagnostics: yes(workspace.diagnostic.and_then(|d| d.refresh_support)),
                inlays: yes(workspace.inlay_hint.and_then(|hint| hint.refresh_support)),
                lenses: yes(workspace.code_lens.and_then(|lens| lens.refresh_support)),
                semantic_tokens: yes(workspace.semantic_tokens.and_then(|t| t.refresh_support)),
            },
        }
    }

    /// The encoding of positions, in the protocol's words.
    pub fn encoding_kind(&self) -> PositionEncodingKind {
        match self.encoding {
            Encoding::Utf8 => PositionEncodingKind::UTF8,
            Encoding::Utf16 => PositionEncodingKind::UTF16,
            Encoding::Utf32 => PositionEncodingKind::UTF32,
        }
    }
}

/// Renames a capability in the parameters of `initialize`. The types that read them know it by another name than the
/// protocol.
pub(crate) fn rename_capability(params: &mut Value) {
    let capabilities = params.get_mut("capabilities");
    let workspace = capabilities
        .and_then(|capabilities| capabilities.get_mut("workspace"))
        .and_then(Value::as_object_mut);
    if let Some(workspace) = workspace
        && let Some(diagnostics) = workspace.remove("diagnostics")
    {
        workspace.insert("diagnostic".to_owned(), diagnostics);
    }
}

/// The first of the client's encodings that is known here; UTF-16 if it names none.
fn encoding(capabilities: &ClientCapabilities) -> Encoding {
    let offered = capabilities
        .general
        .as_ref()
        .and_then(|g| g.position_encodings.as_ref());
    offered
        .into_iter()
        .flatten()
        .find_map(|kind| match kind.as_str() {
            "utf-8" => Some(Encoding::Utf8),
            "utf-16" => Some(Encoding::Utf16),
            "utf-32" => Some(Encoding::Utf32),
            _ => None,
        })
        .unwrap_or(Encoding::Utf16)
}
