//! Systems and parts in the two hierarchies of the protocol: what starts from what, and what uses what.

use super::Lsp;
use super::symbols::symbol_kind;
use crate::analysis::{Entity, Reference, Symbol};
use crate::faces::server::protocol::client::Client;
use crate::faces::server::protocol::client_settings::ClientSettings;
use crate::faces::server::state::{Snapshot, World, name_of};
use lsp_types as lsp;
use std::sync::Arc;

/// A system or a part of a hierarchy, and all files at one moment.
pub(crate) struct Standing<'a> {
    pub world: &'a World,
    pub client: Client,
    pub settings: &'a ClientSettings,
    file: Arc<Snapshot>,
    entity: Entity,
}

impl Lsp<'_> {
    fn found(&self, entity: &Entity) -> Option<(Symbol, lsp::Url, [lsp::Range; 2])> {
        let (source, symbol) = self.snapshot.scope().definition(entity)?;
        let ranges = [symbol.span, symbol.name_span].map(|span| self.range_in(source, span));
        let uri = self.snapshot.uri(&source.name)?;
        Some((symbol, uri, ranges))
    }

    fn type_item(&self, entity: &Entity) -> Option<lsp::TypeHierarchyItem> {
        let (symbol, uri, [range, selection_range]) = self.found(entity)?;
        Some(lsp::TypeHierarchyItem {
            kind: symbol_kind(symbol.kind),
            detail: Some(symbol.detail).filter(|detail| !detail.is_empty()),
            name: symbol.name,
            tags: None,
            uri,
            range,
            selection_range,
            data: None,
        })
    }

    fn call_item(&self, entity: &Entity) -> Option<lsp::CallHierarchyItem> {
        let (symbol, uri, [range, selection_range]) = self.found(entity)?;
        Some(lsp::CallHierarchyItem {
            kind: symbol_kind(symbol.kind),
            detail: Some(symbol.detail).filter(|detail| !detail.is_empty()),
            name: symbol.name,
            tags: None,
            uri,
            range,
            selection_range,
            data: None,
        })
    }

    /// The system named at a position. Only systems start from one another.
    pub fn type_items(&self, position: lsp::Position) -> Option<Vec<lsp::TypeHierarchyItem>> {
        let entity = self.snapshot.scope().named_at(self.offset(position))?;
        let is_system = matches!(entity, Entity::System(_));
        Some(vec![self.type_item(&entity).filter(|_| is_system)?])
    }

    /// The system or part named at a position.
    pub fn call_items(&self, position: lsp::Position) -> Option<Vec<lsp::CallHierarchyItem>> {
        let entity = self.snapshot.scope().named_at(self.offset(position))?;
        Some(vec![self.call_item(&entity)?])
    }
}

impl<'a> Standing<'a> {
    /// The system or part whose name is at the item's place; `None` if another name is there now.
    pub fn of(
        world: &'a World,
        client: Client,
        settings: &'a ClientSettings,
        (uri, name, at): (&lsp::Url, &str, lsp::Range),
    ) -> Option<Self> {
        let file = world.file(&name_of(uri))?;
        let lsp = Lsp::new(&file, client, settings);
        let entity = file.scope().named_at(lsp.offset(at.start))?;
        let (symbol, ..) = lsp.found(&entity)?;
        (symbol.name == name).then_some(Self {
            world,
            client,
            settings,
            file,
            entity,
        })
    }

    fn lsp<'f>(&'f self, file: &'f Snapshot) -> Lsp<'f> {
        Lsp::new(file, self.client, self.settings)
    }

    /// The references from its own text.
    fn own(&self) -> Vec<Reference> {
        let all = self.file.scope().references(None).into_iter();
        all.filter(|reference| reference.by == self.entity)
            .collect()
    }

    /// The system that it starts from.
    pub fn supertypes(&self) -> Vec<lsp::TypeHierarchyItem> {
        let own = self.own();
        let bases = own.iter().map(|reference| &reference.to);
        let bases = bases.filter(|to| matches!(to, Entity::System(_)));
        let lsp = self.lsp(&self.file);
        bases.filter_map(|base| lsp.type_item(base)).collect()
    }

    /// The systems that start from it, in all files.
    pub fn subtypes(&self) -> Vec<lsp::TypeHierarchyItem> {
        let mut found = Vec::new();
        for file in self.world.all() {
            let lsp = self.lsp(&file);
            let derived = file.scope().references(Some(&self.entity)).into_iter();
            found.extend(derived.filter_map(|reference| lsp.type_item(&reference.by)));
        }
        found
    }

    /// The systems that use it or start from it, in all files, with the places where they name it.
    pub fn incoming(&self) -> Vec<lsp::CallHierarchyIncomingCall> {
        let mut found = Vec::new();
        for file in self.world.all() {
            let lsp = self.lsp(&file);
            let references = file.scope().references(Some(&self.entity));
            for same in references.chunk_by(|one, next| one.by == next.by) {
                let ranges = same.iter().map(|reference| lsp.range(reference.span));
                if let Some(from) = same.first().and_then(|first| lsp.call_item(&first.by)) {
                    found.push(lsp::CallHierarchyIncomingCall {
                        from,
                        from_ranges: ranges.collect(),
                    });
                }
            }
        }
        found
    }

    /// The parts that it names and the system that it starts from, each once, with the places where it names them.
    pub fn outgoing(&self) -> Vec<lsp::CallHierarchyOutgoingCall> {
        let lsp = self.lsp(&self.file);
        let mut found: Vec<(Entity, Vec<lsp::Range>)> = Vec::new();
        for Reference { to, span, .. } in self.own() {
            let range = lsp.range(span);
            match found.iter_mut().find(|(known, _)| *known == to) {
                Some((_, ranges)) => ranges.push(range),
                None => found.push((to, vec![range])),
            }
        }
        let calls = found.into_iter().filter_map(|(to, from_ranges)| {
            Some(lsp::CallHierarchyOutgoingCall {
                to: lsp.call_item(&to)?,
                from_ranges,
            })
        });
        calls.collect()
    }
}
