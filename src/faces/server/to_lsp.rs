//! From what the core says to what the protocol says, and back: the only file that knows both.

use super::documents::Snapshot;
use crate::analysis::{
    Completion, CompletionKind, Definition, Edit, Hover, Inlay, Report, Symbol, SymbolKind,
};
use crate::checks::Finding;
use crate::finding::{FileName, Fix, Place, Severity};
use crate::model::Source;
use crate::syntax::{Encoding, LineColumn, Span};
use std::collections::HashMap;
use tower_lsp::lsp_types as lsp;

/// What the client can do, as far as it matters here.
#[derive(Clone, Copy, Debug)]
pub(super) struct Client {
    pub encoding: Encoding,
    markdown: bool,
    snippets: bool,
    nested_symbols: bool,
    document_changes: bool,
    action_literals: bool,
    preferred_actions: bool,
    related_places: bool,
    unnecessary: bool,
    /// Whether a preview wants to know when to draw again.
    pub preview: bool,
}

impl Client {
    pub fn new(params: &lsp::InitializeParams) -> Self {
        let capabilities = &params.capabilities;
        let options = params.initialization_options.as_ref();
        let text = capabilities.text_document.clone().unwrap_or_default();
        let diagnostics = text.publish_diagnostics.unwrap_or_default();
        let completion = text.completion.and_then(|c| c.completion_item);
        let edits = capabilities
            .workspace
            .as_ref()
            .and_then(|w| w.workspace_edit.as_ref());
        let actions = text.code_action.unwrap_or_default();
        Self {
            encoding: encoding(capabilities),
            // Markdown is understood nearly everywhere, also where nothing is said about it.
            markdown: text
                .hover
                .and_then(|hover| hover.content_format)
                .is_none_or(|formats| formats.contains(&lsp::MarkupKind::Markdown)),
            snippets: completion.and_then(|c| c.snippet_support).unwrap_or(false),
            nested_symbols: text
                .document_symbol
                .and_then(|s| s.hierarchical_document_symbol_support)
                .unwrap_or(false),
            document_changes: edits.and_then(|e| e.document_changes).unwrap_or(false),
            action_literals: actions.code_action_literal_support.is_some(),
            preferred_actions: actions.is_preferred_support.unwrap_or(false),
            related_places: diagnostics.related_information.unwrap_or(false),
            unnecessary: diagnostics
                .tag_support
                .is_some_and(|tags| tags.value_set.contains(&lsp::DiagnosticTag::UNNECESSARY)),
            preview: options.and_then(|options| options.get("preview"))
                == Some(&serde_json::Value::Bool(true)),
        }
    }

    pub fn encoding_kind(&self) -> lsp::PositionEncodingKind {
        match self.encoding {
            Encoding::Utf8 => lsp::PositionEncodingKind::UTF8,
            Encoding::Utf16 => lsp::PositionEncodingKind::UTF16,
            Encoding::Utf32 => lsp::PositionEncodingKind::UTF32,
        }
    }
}

/// The first encoding of the client's that is known here; UTF-16 where it names none.
fn encoding(capabilities: &lsp::ClientCapabilities) -> Encoding {
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

/// What is known about a document, as its client wants it.
pub(super) struct Lsp<'a> {
    snapshot: &'a Snapshot,
    client: Client,
}

impl<'a> Lsp<'a> {
    pub fn new(snapshot: &'a Snapshot, client: Client) -> Self {
        Self { snapshot, client }
    }

    pub fn report(&self) -> &'a Report {
        self.snapshot.report()
    }

    pub fn version(&self) -> i32 {
        self.snapshot.buffer.version
    }

    fn source(&self) -> &'a Source {
        &self.report().source
    }

    // ---- places ----

    pub fn offset(&self, position: lsp::Position) -> u32 {
        let place = LineColumn {
            line: position.line,
            column: position.character,
        };
        self.source().lines.offset(place, self.client.encoding)
    }

    pub fn span(&self, range: lsp::Range) -> Span {
        let (start, end) = (self.offset(range.start), self.offset(range.end));
        Span::new(start as usize, end as usize)
    }

    fn position(&self, source: &Source, offset: u32) -> lsp::Position {
        let place = source.lines.position(offset, self.client.encoding);
        lsp::Position::new(place.line, place.column)
    }

    fn range_in(&self, source: &Source, span: Span) -> lsp::Range {
        lsp::Range {
            start: self.position(source, span.start),
            end: self.position(source, span.end),
        }
    }

    fn range(&self, span: Span) -> lsp::Range {
        self.range_in(self.source(), span)
    }

    /// A place in whatever file; `None` in one that has no address, or that is not known.
    fn location(&self, place: &Place) -> Option<lsp::Location> {
        let source = self.report().file(&place.file)?;
        Some(lsp::Location {
            uri: self.snapshot.uri(&place.file)?,
            range: self.range_in(source, place.span),
        })
    }

    // ---- findings ----

    pub fn diagnostics(&self) -> Vec<lsp::Diagnostic> {
        let findings = self.report().findings.iter();
        findings.map(|finding| self.diagnostic(finding)).collect()
    }

    fn diagnostic(&self, finding: &Finding) -> lsp::Diagnostic {
        let problem = &finding.problem;
        let message = match &problem.help {
            Some(help) => format!("{}\n{help}", problem.message),
            None => problem.message.clone(),
        };
        let related: Vec<_> = problem
            .related
            .iter()
            .filter_map(|related| {
                Some(lsp::DiagnosticRelatedInformation {
                    location: self.location(&related.place)?,
                    message: related.message.clone(),
                })
            })
            .collect();
        let is_unused = matches!(finding.check.name, "unused-part" | "unused-let");
        lsp::Diagnostic {
            range: self.range(self.report().place_here(finding)),
            severity: Some(match finding.severity {
                Severity::Error => lsp::DiagnosticSeverity::ERROR,
                Severity::Warning => lsp::DiagnosticSeverity::WARNING,
                Severity::Info => lsp::DiagnosticSeverity::INFORMATION,
                Severity::Hint => lsp::DiagnosticSeverity::HINT,
            }),
            code: Some(lsp::NumberOrString::String(finding.check.name.to_owned())),
            source: Some("bitepoint".to_owned()),
            message,
            related_information: (self.client.related_places && !related.is_empty())
                .then_some(related),
            tags: (self.client.unnecessary && is_unused)
                .then(|| vec![lsp::DiagnosticTag::UNNECESSARY]),
            ..lsp::Diagnostic::default()
        }
    }

    /// The fixes of what was found in a range.
    pub fn actions(&self, params: &lsp::CodeActionParams) -> Vec<lsp::CodeActionOrCommand> {
        let wanted = |only: &Vec<lsp::CodeActionKind>| {
            only.iter().any(|kind| {
                [lsp::CodeActionKind::EMPTY, lsp::CodeActionKind::QUICKFIX].contains(kind)
            })
        };
        if !self.client.action_literals || !params.context.only.as_ref().is_none_or(wanted) {
            return Vec::new();
        }
        let cures = self.report().cures(self.span(params.range));
        let mut actions = Vec::new();
        for finding in cures {
            for fix in &finding.problem.fixes {
                let Some(edit) = self.workspace_edit(fix) else {
                    continue;
                };
                let only_one = self.client.preferred_actions && finding.problem.fixes.len() == 1;
                actions.push(lsp::CodeActionOrCommand::CodeAction(lsp::CodeAction {
                    title: fix.title.clone(),
                    kind: Some(lsp::CodeActionKind::QUICKFIX),
                    diagnostics: Some(vec![self.diagnostic(finding)]),
                    edit: Some(edit),
                    is_preferred: only_one.then_some(true),
                    ..lsp::CodeAction::default()
                }));
            }
        }
        actions
    }

    fn workspace_edit(&self, fix: &Fix) -> Option<lsp::WorkspaceEdit> {
        let mut files: Vec<(&FileName, Vec<lsp::TextEdit>)> = Vec::new();
        for (place, text) in &fix.edits {
            let source = self.report().file(&place.file)?;
            let edit = lsp::TextEdit::new(self.range_in(source, place.span), text.clone());
            match files.iter_mut().find(|(name, _)| **name == place.file) {
                Some((_, edits)) => edits.push(edit),
                None => files.push((&place.file, vec![edit])),
            }
        }
        if !self.client.document_changes {
            let mut changes = HashMap::new();
            for (name, edits) in files {
                changes.insert(self.snapshot.uri(name)?, edits);
            }
            return Some(lsp::WorkspaceEdit::new(changes));
        }
        let mut changes = Vec::new();
        for (name, edits) in files {
            changes.push(lsp::TextDocumentEdit {
                text_document: lsp::OptionalVersionedTextDocumentIdentifier {
                    uri: self.snapshot.uri(name)?,
                    version: self.snapshot.version(name),
                },
                edits: edits.into_iter().map(lsp::OneOf::Left).collect(),
            });
        }
        Some(lsp::WorkspaceEdit {
            document_changes: Some(lsp::DocumentChanges::Edits(changes)),
            ..lsp::WorkspaceEdit::default()
        })
    }

    // ---- facts ----

    fn markup(&self, markdown: String) -> lsp::MarkupContent {
        lsp::MarkupContent {
            kind: match self.client.markdown {
                true => lsp::MarkupKind::Markdown,
                false => lsp::MarkupKind::PlainText,
            },
            value: markdown,
        }
    }

    pub fn hover(&self, hover: Hover) -> lsp::Hover {
        lsp::Hover {
            contents: lsp::HoverContents::Markup(self.markup(hover.markdown)),
            range: Some(self.range(hover.span)),
        }
    }

    pub fn definition(&self, definition: &Definition) -> Option<lsp::GotoDefinitionResponse> {
        let location = self.location(&definition.target)?;
        Some(lsp::GotoDefinitionResponse::Scalar(location))
    }

    pub fn edits(&self, edits: Vec<Edit>) -> Vec<lsp::TextEdit> {
        edits
            .into_iter()
            .map(|edit| lsp::TextEdit::new(self.range(edit.span), edit.text))
            .collect()
    }

    pub fn inlay(&self, inlay: Inlay) -> lsp::InlayHint {
        lsp::InlayHint {
            position: self.position(self.source(), inlay.offset),
            label: lsp::InlayHintLabel::String(inlay.label),
            kind: None,
            text_edits: None,
            tooltip: None,
            padding_left: Some(true),
            padding_right: None,
            data: None,
        }
    }

    pub fn completion(&self, found: Vec<Completion>) -> lsp::CompletionResponse {
        let items = found
            .into_iter()
            .zip(0..)
            .map(|(item, i)| self.completion_item(item, i));
        lsp::CompletionResponse::List(lsp::CompletionList {
            // What fits depends on more than a prefix: behind a number it is units.
            is_incomplete: true,
            items: items.collect(),
        })
    }

    fn completion_item(&self, item: Completion, index: u32) -> lsp::CompletionItem {
        let snippet = item.snippet.filter(|_| self.client.snippets);
        let is_snippet = snippet.is_some();
        lsp::CompletionItem {
            kind: Some(match item.kind {
                CompletionKind::Keyword => lsp::CompletionItemKind::KEYWORD,
                CompletionKind::Block => lsp::CompletionItemKind::CLASS,
                CompletionKind::Field => lsp::CompletionItemKind::FIELD,
                CompletionKind::Part => lsp::CompletionItemKind::MODULE,
                CompletionKind::System => lsp::CompletionItemKind::STRUCT,
                CompletionKind::Unit => lsp::CompletionItemKind::UNIT,
                CompletionKind::Value => lsp::CompletionItemKind::VALUE,
                CompletionKind::Choice => lsp::CompletionItemKind::ENUM_MEMBER,
                CompletionKind::Let => lsp::CompletionItemKind::CONSTANT,
                CompletionKind::Result => lsp::CompletionItemKind::PROPERTY,
                CompletionKind::Check => lsp::CompletionItemKind::EVENT,
                CompletionKind::Operator => lsp::CompletionItemKind::OPERATOR,
            }),
            detail: Some(item.detail).filter(|detail| !detail.is_empty()),
            documentation: Some(item.doc)
                .filter(|doc| !doc.is_empty())
                .map(|doc| lsp::Documentation::MarkupContent(self.markup(doc))),
            // They come in the order in which they should be shown.
            sort_text: Some(format!("{index:04}")),
            insert_text_format: is_snippet.then_some(lsp::InsertTextFormat::SNIPPET),
            text_edit: Some(lsp::CompletionTextEdit::Edit(lsp::TextEdit::new(
                self.range(item.span),
                snippet.unwrap_or(item.insert),
            ))),
            label: item.label,
            ..lsp::CompletionItem::default()
        }
    }

    pub fn symbols(&self, symbols: Vec<Symbol>) -> lsp::DocumentSymbolResponse {
        if self.client.nested_symbols {
            let nested = symbols.into_iter().map(|symbol| self.nested_symbol(symbol));
            return lsp::DocumentSymbolResponse::Nested(nested.collect());
        }
        let mut flat = Vec::new();
        for symbol in symbols {
            self.flat_symbols(symbol, None, &mut flat);
        }
        lsp::DocumentSymbolResponse::Flat(flat)
    }

    /// Symbols nest no deeper than blocks do.
    // The type has a deprecated field that must be named to be filled.
    #[allow(deprecated)]
    fn nested_symbol(&self, symbol: Symbol) -> lsp::DocumentSymbol {
        lsp::DocumentSymbol {
            kind: symbol_kind(symbol.kind),
            detail: Some(symbol.detail).filter(|detail| !detail.is_empty()),
            tags: None,
            deprecated: None,
            range: self.range(symbol.span),
            selection_range: self.range(symbol.name_span),
            children: Some(symbol.children)
                .filter(|children| !children.is_empty())
                .map(|children| {
                    children
                        .into_iter()
                        .map(|c| self.nested_symbol(c))
                        .collect()
                }),
            name: symbol.name,
        }
    }

    #[allow(deprecated)]
    fn flat_symbols(
        &self,
        symbol: Symbol,
        container: Option<&str>,
        flat: &mut Vec<lsp::SymbolInformation>,
    ) {
        flat.push(lsp::SymbolInformation {
            name: symbol.name.clone(),
            kind: symbol_kind(symbol.kind),
            tags: None,
            deprecated: None,
            location: lsp::Location {
                uri: self.snapshot.buffer.uri.clone(),
                range: self.range(symbol.span),
            },
            container_name: container.map(str::to_owned),
        });
        for child in symbol.children {
            self.flat_symbols(child, Some(&symbol.name), flat);
        }
    }
}

fn symbol_kind(kind: SymbolKind) -> lsp::SymbolKind {
    match kind {
        SymbolKind::System => lsp::SymbolKind::CLASS,
        SymbolKind::Part => lsp::SymbolKind::MODULE,
        SymbolKind::Block => lsp::SymbolKind::OBJECT,
        SymbolKind::Field => lsp::SymbolKind::FIELD,
        SymbolKind::Let => lsp::SymbolKind::CONSTANT,
    }
}
