//! Changes of the text that are offered at a place.

use super::Lsp;
use crate::analysis::{Action, ActionKind, actions_among};
use crate::finding::{FileName, Fix};
use lsp_types as lsp;
use serde::{Deserialize, Serialize};
use std::collections::HashMap;

/// The kind of action that applies all harmless fixes of a file.
pub(crate) const FIX_ALL: lsp::CodeActionKind = lsp::CodeActionKind::new("source.fixAll.bitepoint");

/// An offered action, noted so that its edit can be made later.
#[derive(Debug, Deserialize, Serialize)]
pub(crate) struct Offered {
    pub uri: lsp::Url,
    version: Option<i32>,
    range: lsp::Range,
    number: u32,
}

fn kind(kind: ActionKind) -> lsp::CodeActionKind {
    match kind {
        ActionKind::Fix | ActionKind::Allow => lsp::CodeActionKind::QUICKFIX,
        ActionKind::Rewrite => lsp::CodeActionKind::REFACTOR_REWRITE,
        ActionKind::Extract => lsp::CodeActionKind::REFACTOR_EXTRACT,
        ActionKind::FixAll => FIX_ALL,
    }
}

/// Whether a kind is asked for, by its name or by the beginning of its name.
fn holds(asked: &lsp::CodeActionKind, kind: &lsp::CodeActionKind) -> bool {
    let rest = kind.as_str().strip_prefix(asked.as_str());
    asked.as_str().is_empty() || rest.is_some_and(|rest| rest.is_empty() || rest.starts_with('.'))
}

impl Lsp<'_> {
    /// The actions offered for a range.
    pub fn actions(&self, params: &lsp::CodeActionParams) -> Vec<lsp::CodeActionOrCommand> {
        if !self.client.action_literals {
            return Vec::new();
        }
        let only = params.context.only.as_ref();
        let wanted = |action: &Action<'_>| match only {
            Some(only) => only.iter().any(|asked| holds(asked, &kind(action.kind))),
            // One mistake has its own fix already.
            None => action.kind != ActionKind::FixAll || !action.is_only,
        };
        let offered = self.offered(params.range);
        (0u32..)
            .zip(&offered)
            .filter(|(_, action)| wanted(action))
            .filter_map(|(number, action)| self.action(action, number, params.range))
            .map(lsp::CodeActionOrCommand::CodeAction)
            .collect()
    }

    fn offered(&self, range: lsp::Range) -> Vec<Action<'_>> {
        actions_among(self.report(), self.span(range), &|| self.use_paths())
    }

    fn action(
        &self,
        action: &Action<'_>,
        number: u32,
        range: lsp::Range,
    ) -> Option<lsp::CodeAction> {
        let edit = self.workspace_edit(&action.fix)?;
        let best = action.is_only && action.kind == ActionKind::Fix;
        let lazy = self.client.lazy_actions.then(|| Offered {
            uri: self.snapshot.buffer.uri.clone(),
            version: self.snapshot.buffer.version,
            range,
            number,
        });
        Some(lsp::CodeAction {
            title: action.fix.title.clone(),
            kind: Some(kind(action.kind)),
            diagnostics: action.cures.map(|finding| vec![self.diagnostic(finding)]),
            is_preferred: (self.client.preferred_actions && best).then_some(true),
            edit: lazy.is_none().then_some(edit),
            data: lazy.and_then(|offered| serde_json::to_value(offered).ok()),
            ..lsp::CodeAction::default()
        })
    }

    /// The edit of an action that was offered before; `None` if the document has changed since.
    pub fn edit_of(&self, offered: &Offered) -> Option<lsp::WorkspaceEdit> {
        if self.snapshot.buffer.version != offered.version {
            return None;
        }
        let actions = self.offered(offered.range);
        self.workspace_edit(&actions.get(offered.number as usize)?.fix)
    }

    pub(crate) fn workspace_edit(&self, fix: &Fix) -> Option<lsp::WorkspaceEdit> {
        let mut files: Vec<(&FileName, Vec<lsp::TextEdit>)> = Vec::new();
        for (place, text) in &fix.edits {
            let source = self.report().file(&place.file)?;
            let edit = lsp::TextEdit::new(
                self.range_in(source, source.range(place.span)),
                text.clone(),
            );
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
    pub(crate) fn changes(
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
