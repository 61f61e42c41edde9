//! What may be written at a place.

use super::{Lsp, markup};
use crate::analysis::{Completion, CompletionKind, Shelf, UsePath};
use crate::faces::server::state::{MOST_KEPT, has_folder};
use crate::model::relative;
use lsp_types as lsp;

impl Lsp<'_> {
    /// The specs of the workspace as paths from this one, as completions for the path of a `use`.
    pub fn paths(&self, written: UsePath) -> lsp::CompletionResponse {
        let paths = self.use_paths().into_iter();
        let items = paths.map(|path| lsp::CompletionItem {
            kind: Some(lsp::CompletionItemKind::FILE),
            filter_text: Some(path.clone()),
            text_edit: Some(lsp::CompletionTextEdit::Edit(lsp::TextEdit::new(
                self.range(written.span),
                match written.closed {
                    true => path.clone(),
                    false => format!("{path}\""),
                },
            ))),
            label: path,
            ..lsp::CompletionItem::default()
        });
        lsp::CompletionResponse::List(lsp::CompletionList {
            is_incomplete: false,
            items: items.collect(),
        })
    }

    /// The specs of the workspace, by their paths from this one.
    pub fn use_paths(&self) -> Vec<String> {
        let own = &self.snapshot.buffer.name;
        let specs = self.snapshot.specs().iter();
        let others = specs.filter(|name| *name != own);
        others.map(|name| relative(own, name)).collect()
    }

    /// The files of the workspace that define parts and no systems.
    pub fn shelves(&self) -> Vec<Shelf> {
        let own = &self.snapshot.buffer.name;
        // A document that is not on the disk reads no other.
        let is_on_disk = has_folder(own);
        let specs = self.snapshot.specs().iter().filter(|_| is_on_disk);
        specs
            .filter(|name| *name != own)
            .take(MOST_KEPT)
            .filter_map(|name| {
                let source = self.snapshot.spec(name)?;
                let is_shelf = source.systems().next().is_none() && source.parts().next().is_some();
                is_shelf.then(|| Shelf {
                    path: relative(own, name),
                    source,
                })
            })
            .collect()
    }

    pub fn completion(&self, found: Vec<Completion>) -> lsp::CompletionResponse {
        let items = found
            .into_iter()
            .zip(0..)
            .map(|(item, i)| self.completion_item(item, i));
        lsp::CompletionResponse::List(lsp::CompletionList {
            // The completions depend on more than a prefix: after a number they are units.
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
            documentation: Some(item.doc).filter(|doc| !doc.is_empty()).map(|doc| {
                lsp::Documentation::MarkupContent(markup(doc, self.client.markdown_in_completions))
            }),
            // They come in the order in which they should be shown.
            sort_text: Some(format!("{index:04}")),
            filter_text: item.filter,
            insert_text_format: is_snippet.then_some(lsp::InsertTextFormat::SNIPPET),
            text_edit: Some(lsp::CompletionTextEdit::Edit(lsp::TextEdit::new(
                self.range(item.span),
                snippet.unwrap_or(item.insert),
            ))),
            additional_text_edits: Some(self.edits(item.edits)).filter(|edits| !edits.is_empty()),
            label: item.label,
            ..lsp::CompletionItem::default()
        }
    }
}
