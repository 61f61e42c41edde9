//! Names and their mentions, also in other files.

use super::Lsp;
use crate::analysis::{Mention, entity_at, name_objection};
use crate::faces::server::state::{Snapshot, World};
use crate::finding::{FileName, Place};
use lsp_types as lsp;
use std::sync::Arc;

impl Lsp<'_> {
    /// Every mention in this file of the thing at a position.
    pub fn highlights(&self, position: lsp::Position) -> Option<Vec<lsp::DocumentHighlight>> {
        let (_, entity) = entity_at(self.report(), self.offset(position))?;
        let mentions = self.snapshot.scope().mentions(&entity);
        let highlight = |mention: Mention| lsp::DocumentHighlight {
            range: self.range(mention.span),
            kind: Some(match mention.is_definition {
                true => lsp::DocumentHighlightKind::WRITE,
                false => lsp::DocumentHighlightKind::READ,
            }),
        };
        Some(mentions.into_iter().map(highlight).collect())
    }

    /// Every mention in the workspace of the thing at a position.
    pub fn references(
        &self,
        position: lsp::Position,
        world: &World,
        with_definitions: bool,
    ) -> Option<Vec<lsp::Location>> {
        let (_, entity) = entity_at(self.report(), self.offset(position))?;
        let mut found = Vec::new();
        for file in world.all() {
            let there = Lsp::new(&file, self.client, self.settings);
            for mention in file.scope().mentions(&entity) {
                let defined = entity.place();
                let is_it = file.buffer.name == defined.file
                    && mention.span == file.scope().root().range(defined.span);
                if with_definitions || !is_it {
                    found.push(lsp::Location {
                        uri: file.buffer.uri.clone(),
                        range: there.range(mention.span),
                    });
                }
            }
        }
        Some(found)
    }

    /// The systems of other files that use a part.
    pub fn users_elsewhere(&self, part: &Place, world: &World) -> Vec<(FileName, String)> {
        let all = world.all().into_iter();
        all.filter(|file| file.buffer.name != self.snapshot.buffer.name)
            .flat_map(|file| {
                let name = file.buffer.name.clone();
                let users = file.scope().users(part).into_iter();
                users.map(move |user| (name.clone(), user))
            })
            .collect()
    }

    /// The name at a position, if it can be renamed.
    pub fn renamable(&self, position: lsp::Position) -> Option<lsp::PrepareRenameResponse> {
        let (span, entity) = entity_at(self.report(), self.offset(position))?;
        entity
            .can_be_renamed()
            .then(|| lsp::PrepareRenameResponse::RangeWithPlaceholder {
                range: self.range(span),
                placeholder: span.of(&self.source().text).to_owned(),
            })
    }

    /// The edits that rename the thing at a position, wherever it is mentioned.
    ///
    /// # Errors
    /// Why it cannot have that name, for the user.
    pub fn rename(
        &self,
        position: lsp::Position,
        new: &str,
        world: &World,
    ) -> Result<lsp::WorkspaceEdit, String> {
        let named = entity_at(self.report(), self.offset(position));
        let Some((_, entity)) = named.filter(|(_, entity)| entity.can_be_renamed()) else {
            return Err("there is nothing here that can be renamed".to_owned());
        };
        if let Some(objection) = name_objection(new) {
            return Err(objection);
        }
        let mut files: Vec<(Arc<Snapshot>, Vec<lsp::TextEdit>)> = Vec::new();
        for file in world.all() {
            if let Some(objection) = file.scope().binding_objection(&entity) {
                return Err(format!("{objection}, seen from {}", file.buffer.name));
            }
            let mentions = file.scope().mentions(&entity);
            if mentions.is_empty() {
                continue;
            }
            if let Some(objection) = file.scope().objection(&entity, new) {
                return Err(format!("{objection}, seen from {}", file.buffer.name));
            }
            let there = Lsp::new(&file, self.client, self.settings);
            let edit = |mention: Mention| lsp::TextEdit {
                range: there.range(mention.span),
                new_text: new.to_owned(),
            };
            let edits = mentions.into_iter().map(edit).collect();
            files.push((file, edits));
        }
        let files = files.into_iter().map(|(file, edits)| {
            let buffer = &file.buffer;
            (buffer.uri.clone(), buffer.version, edits)
        });
        Ok(self.changes(files))
    }
}
