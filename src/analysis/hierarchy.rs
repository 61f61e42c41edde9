//! Which systems start from which, and which parts they use, in both directions.

use super::mentions::entity_of;
use super::symbols::symbol_named;
use super::{Entity, Scope, Symbol};
use crate::model::{Resolver, Source, What, spots};
use crate::syntax::TextRange;

/// A place in a system's own text that names a part, or the system that it starts from.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Reference {
    /// The system that contains it.
    pub by: Entity,
    /// The part or the system that it names.
    pub to: Entity,
    /// The name's place in the file.
    pub span: TextRange,
}

impl Scope {
    /// The system or part named at an offset of the file itself.
    pub fn named_at(&self, offset: u32) -> Option<Entity> {
        let resolver = Resolver::new(self.bundle());
        let (spot, resolved) = resolver.at(offset)?;
        let entity = entity_of(&resolver, spot, resolved)?;
        matches!(entity, Entity::System(_) | Entity::Part(_)).then_some(entity)
    }

    /// The references from the systems of the file itself, in the order of the text. If something is `wanted`, only
    /// references to it.
    pub fn references(&self, wanted: Option<&Entity>) -> Vec<Reference> {
        let root = self.root();
        let name = match wanted {
            Some(entity) => match self.source_of(entity) {
                Some(source) => Some(source.text_of(entity.place().span)),
                // A file that does not see it cannot refer to it.
                None => return Vec::new(),
            },
            None => None,
        };
        let resolver = Resolver::new(self.bundle());
        let mut found = Vec::new();
        spots(&root.tree, &mut |spot| {
            if let (Some(system), What::Base(_) | What::PartMention { .. } | What::Label(_)) =
                (spot.system, spot.what)
                && name.is_none_or(|name| spot.span.of(&root.text) == name)
                && let Some(resolved) = resolver.resolve(spot)
                && let Some(to @ (Entity::System(_) | Entity::Part(_))) =
                    entity_of(&resolver, spot, resolved)
                && wanted.is_none_or(|wanted| *wanted == to)
            {
                found.push(Reference {
                    by: Entity::System(root.place(system.name.span)),
                    to,
                    span: spot.span,
                });
            }
        });
        found
    }

    /// The system or the part itself, with the file that defines it.
    pub fn definition(&self, entity: &Entity) -> Option<(&Source, Symbol)> {
        let source = self.source_of(entity)?;
        Some((source, symbol_named(source, entity.place().span)?))
    }

    fn source_of(&self, entity: &Entity) -> Option<&Source> {
        let place = entity.place();
        let mut sources = self.sources().iter();
        Some(sources.find(|source| source.name == place.file)?)
    }
}
