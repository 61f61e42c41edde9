//! Things with names of the author's own, and everywhere they are mentioned: what references,
//! highlights and renaming go by.

use super::Report;
use super::names::{Names, field_id, lets_of};
use super::spot::{Spot, What, spot, spots};
use crate::finding::Place;
use crate::model::{Bundle, FUNCTIONS, Files, Source};
use crate::schema::Kind;
use crate::syntax::{self, Name, Span, StatementKind};
use std::sync::Arc;

/// Something with a name, by the place of its name where it is defined.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub enum Entity {
    Part(Place),
    System(Place),
    /// Of a file or of a system. A system's let that replaces one of a base is the base's.
    Let(Place),
    /// The label of a line; of a base's line where the system changes that one.
    Label(Place),
    /// A field that is given somewhere.
    Field(Place),
}

impl Entity {
    /// The place of its name where it is defined.
    pub fn place(&self) -> &Place {
        let (Self::Part(place)
        | Self::System(place)
        | Self::Let(place)
        | Self::Label(place)
        | Self::Field(place)) = self;
        place
    }

    /// Whether its name is the author's own.
    pub fn can_be_renamed(&self) -> bool {
        !matches!(self, Self::Field(_))
    }
}

/// Somewhere in a file where something is named.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct Mention {
    pub span: Span,
    /// Whether it is defined there, or given a new value.
    pub is_definition: bool,
}

/// A file and those that it can see: what the names in it mean.
#[derive(Clone, Debug)]
pub struct Scope {
    root: Arc<Source>,
    /// The file itself comes first.
    sources: Vec<Arc<Source>>,
}

impl Scope {
    /// Reads what a file uses.
    pub fn load(root: Arc<Source>, files: &dyn Files) -> Self {
        Self {
            sources: Bundle::load(root.clone(), files).sources,
            root,
        }
    }

    /// The file itself.
    pub fn root(&self) -> &Source {
        &self.root
    }

    /// The file itself and those that it uses.
    pub fn sources(&self) -> &[Arc<Source>] {
        &self.sources
    }

    /// Where the file itself names something, in its order. Fields are left to
    /// [`field_mentions`], for which the file must have been worked out.
    pub fn mentions(&self, entity: &Entity) -> Vec<Mention> {
        let mut found = Vec::new();
        spots(&self.root.tree, &mut |spot| {
            if let Some((span, named)) = entity_of(self, &self.root, spot)
                && named == *entity
            {
                found.push(Mention {
                    span,
                    is_definition: defines(spot.what),
                });
            }
        });
        found
    }

    /// The systems of the file itself that use a part, by their names.
    pub fn users(&self, part: &Place) -> Vec<String> {
        let mut users = Vec::new();
        spots(&self.root.tree, &mut |spot| {
            if let Some(system) = spot.system
                && let Some((_, Entity::Part(used))) = entity_of(self, &self.root, spot)
                && used == *part
                && users.last() != Some(&system.name.text)
            {
                users.push(system.name.text.clone());
            }
        });
        users
    }

    /// Why something cannot be given a new name here; `None` if it can.
    pub fn objection(&self, entity: &Entity, new: &str) -> Option<String> {
        let taken = match entity {
            Entity::Part(place) => {
                let block = self.sources.iter().find_map(|source| {
                    let at = |part: &&syntax::Part| source.place(part.name.span) == *place;
                    Some(&source.parts().find(at)?.block.text)
                })?;
                self.part(block, new).is_some()
            }
            Entity::System(_) => self.system(new).is_some(),
            Entity::Let(_) => {
                let of_systems = self.sources.iter().flat_map(|source| source.systems());
                self.let_named(None, new).is_some()
                    || of_systems
                        .flat_map(lets_of)
                        .any(|item| item.name.text == new)
            }
            Entity::Label(_) => {
                let of_systems = self.sources.iter().flat_map(|source| source.systems());
                of_systems.flat_map(labels).any(|label| label.text == new)
            }
            Entity::Field(_) => return Some("a field's name is the language's own".to_owned()),
        };
        taken.then(|| format!("there is a `{new}` already"))
    }
}

impl Names for Scope {
    fn files(&self) -> impl Iterator<Item = &Source> {
        self.sources.iter().map(|source| &**source)
    }
}

/// Words that begin statements or have a meaning in values.
pub(super) const KEYWORDS: &[&str] = &[
    "use", "let", "part", "system", "from", "choose", "require", "allow", "curve", "to", "pi",
];

/// Why something is no name; `None` if it is one.
pub fn name_objection(name: &str) -> Option<String> {
    let mut chars = name.chars();
    let begins = chars.next().is_some_and(|c| c.is_alphabetic() || c == '_');
    if !begins || !chars.all(|c| c.is_alphanumeric() || c == '_') {
        return Some(format!(
            "`{name}` is no name: a name is made of letters, digits and underscores, and does not \
             begin with a digit"
        ));
    }
    let functions = FUNCTIONS.iter().map(|(function, _)| *function);
    KEYWORDS
        .iter()
        .copied()
        .chain(functions)
        .any(|word| word == name)
        .then(|| format!("`{name}` is a word of the language"))
}

/// What is named at an offset of a report's file, and where its name stands there.
pub fn entity_at(report: &Report, offset: u32) -> Option<(Span, Entity)> {
    let spot = spot(&report.source.tree, offset)?;
    if let Some(found) = entity_of(report, &report.source, spot) {
        return found.0.touches(offset).then_some(found);
    }
    let place = field_of(report, spot)?;
    Some((spot.span, Entity::Field(place)))
}

/// Where a worked-out file names a field that is given at a place.
pub fn field_mentions(report: &Report, given: &Place) -> Vec<Mention> {
    let mut found = Vec::new();
    spots(&report.source.tree, &mut |spot| {
        if field_of(report, spot).as_ref() == Some(given) {
            found.push(Mention {
                span: spot.span,
                is_definition: matches!(spot.what, What::FieldName(_)),
            });
        }
    });
    found
}

/// The place of the name of the field that a spot names.
fn field_of(report: &Report, spot: Spot<'_>) -> Option<Place> {
    match spot.what {
        What::FieldName(field) => Some(report.source.place(field.name.span)),
        What::Path {
            block,
            field,
            on_block: false,
        } => {
            let worked = report.worked(spot.system?)?;
            let given = worked.system.given(field_id(&block.text, &field.text)?)?;
            Some(given.name.clone())
        }
        _ => None,
    }
}

fn defines(what: What<'_>) -> bool {
    matches!(
        what,
        What::SystemName | What::PartName(_) | What::LetName(_) | What::Label(_)
    )
}

/// What a spot of a scope's first file names, fields apart.
fn entity_of(names: &impl Names, root: &Source, spot: Spot<'_>) -> Option<(Span, Entity)> {
    let entity = match spot.what {
        What::SystemName => {
            let name = &spot.system?.name;
            // Its title is offered as its name as well.
            return (spot.span == name.span).then(|| {
                let place = root.place(name.span);
                (name.span, Entity::System(place))
            });
        }
        What::Base(name) => {
            let (source, system) = names.system(&name.text)?;
            Entity::System(source.place(system.name.span))
        }
        What::PartName(part) => Entity::Part(root.place(part.name.span)),
        What::PartMention { block, name } => {
            let (source, part) = names.part(&block.text, &name.text)?;
            Entity::Part(source.place(part.name.span))
        }
        What::LetName(item) => match spot.system {
            Some(system) => let_entity(names, Some(system), &item.name.text)?,
            None => Entity::Let(root.place(item.name.span)),
        },
        What::Word { word, .. } if !is_choice(spot) => let_entity(names, spot.system, word)?,
        What::Label(name) => label_entity(names, spot, name)?,
        _ => return None,
    };
    Some((spot.span, entity))
}

/// The let that a name means, and of those that replace one another the base's.
fn let_entity(names: &impl Names, system: Option<&syntax::System>, name: &str) -> Option<Entity> {
    let layers = system.into_iter().flat_map(|system| names.layers(system));
    let of_systems = layers.filter_map(|(source, system)| {
        let found = lets_of(system).find(|item| item.name.text == name)?;
        Some(source.place(found.name.span))
    });
    let place = of_systems.last().or_else(|| {
        let (source, item) = names.let_named(None, name)?;
        Some(source.place(item.name.span))
    })?;
    Some(Entity::Let(place))
}

fn label_entity(names: &impl Names, spot: Spot<'_>, label: &Name) -> Option<Entity> {
    let block = &spot.block?.block.text;
    let found = names.layers(spot.system?).filter_map(|(source, system)| {
        let statements = system.body.statements.iter();
        let first = statements
            .filter_map(|statement| match &statement.kind {
                StatementKind::Block(other) if other.block.text == *block => other.name.as_ref(),
                _ => None,
            })
            .find(|name| name.text == label.text)?;
        Some(source.place(first.span))
    });
    found.last().map(Entity::Label)
}

/// The labels of a system's lines.
fn labels(system: &syntax::System) -> impl Iterator<Item = &Name> {
    system
        .body
        .statements
        .iter()
        .filter_map(|statement| match &statement.kind {
            StatementKind::Block(block) if super::spot::is_repeated(&block.block.text) => {
                block.name.as_ref()
            }
            _ => None,
        })
}

/// Whether a bare word is one of a field's few choices, and no let.
pub(super) fn is_choice(spot: Spot<'_>) -> bool {
    let What::Word {
        field: Some(field), ..
    } = spot.what
    else {
        return false;
    };
    let block = spot.block.map(|block| &block.block);
    let Some(block) = block.or(spot.part.map(|part| &part.block)) else {
        return false;
    };
    field_id(&block.text, &field.name.text)
        .is_some_and(|id| matches!(id.field().kind, Kind::Choice(_)))
}
