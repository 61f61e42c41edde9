//! Changes of the text that are offered at a place.

use super::Lsp;
use crate::finding::{FileName, Fix};
use std::collections::HashMap;
use tower_lsp::lsp_types as lsp;

/// All fixes of a file that lead to nothing worse.
pub(in super::super) const FIX_ALL: lsp::CodeActionKind =
    lsp::CodeActionKind::new("source.fixAll.bitepoint");

impl Lsp<'_> {
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

    pub(super) fn workspace_edit(&self, fix: &Fix) -> Option<lsp::WorkspaceEdit> {
        let mut files: Vec<(&FileName, Vec<lsp::TextEdit>)> = Vec::new();
        for (place, text) in &fix.edits {
            let source = self.report().file(&place.file)?;
            let edit = lsp::TextEdit::new(self.range_in(source, place.span), text.clone());
            match files.iter_mut().find(|(name, _)| **name == place.file) {
                Some((_, edits)) => edits.push(edit),
                None => files.push((&place.file, vec![edit])),
            }
        }
        let mut changes = Vec::new();
        for (name, edits) in files {
            changes.push((self.snapshot.uri(name)?, self.snapshot.version(name), edits));
        }
        Some(self.changes(changes))
    }

    /// Edits of files, in the form that the client takes.
    pub(super) fn changes(
        &self,
        files: impl IntoIterator<Item = (lsp::Url, Option<i32>, Vec<lsp::TextEdit>)>,
    ) -> lsp::WorkspaceEdit {
        if !self.client.document_changes {
            let changes = files.into_iter().map(|(uri, _, edits)| (uri, edits));
            return lsp::WorkspaceEdit::new(changes.collect::<HashMap<_, _>>());
        }
        let changes = files
            .into_iter()
            .map(|(uri, version, edits)| lsp::TextDocumentEdit {
                text_document: lsp::OptionalVersionedTextDocumentIdentifier { uri, version },
                edits: edits.into_iter().map(lsp::OneOf::Left).collect(),
            });
        lsp::WorkspaceEdit {
            document_changes: Some(lsp::DocumentChanges::Edits(changes.collect())),
            ..lsp::WorkspaceEdit::default()
        }
    }
}
