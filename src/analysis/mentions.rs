//! Things that the author named, and every place where they are mentioned. References, highlights and renaming are
//! based on it.

use super::Report;
use crate::finding::{FileName, Place};
use crate::model::{
    Bundle, FUNCTIONS, Files, Resolved, Resolver, Source, Spot, What, labels_of, spots,
};
use crate::syntax::{self, Span, TextRange};
use std::sync::Arc;

/// Something with a name, identified by the place of its name in its definition.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub enum Entity {
    /// A part.
    Part(Place),
    /// A system.
    System(Place),
    /// A let of a file or of a system. A let that replaces a base's let counts as the base's.
    Let(Place),
    /// The label of a line. A line that changes a base's line counts as the base's.
    Label(Place),
    /// A field that is given somewhere.
    Field(Place),
}

impl Entity {
    /// The place of its name in its definition.
    pub fn place(&self) -> &Place {
        let (Self::Part(place)
        | Self::System(place)
        | Self::Let(place)
        | Self::Label(place)
        | Self::Field(place)) = self;
        place
    }

    /// Whether its name was chosen by an author.
    pub fn can_be_renamed(&self) -> bool {
        !matches!(self, Self::Field(_))
    }
}

/// Somewhere in a file where something is named.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct Mention {
    /// The name's place in the file, in bytes.
    pub span: TextRange,
    /// Whether it is defined there, or given a new value.
    pub is_definition: bool,
}

/// A file and those that it can see, for the meaning of names in it.
#[derive(Debug)]
pub struct Scope {
    bundle: Bundle,
}

impl Scope {
    /// Reads what a file uses.
    pub fn load(root: Arc<Source>, files: &dyn Files) -> Self {
        Self {
            bundle: Bundle::load(root, files),
        }
    }

    pub(super) fn bundle(&self) -> &Bundle {
        &self.bundle
    }

    /// The file itself.
    pub fn root(&self) -> &Source {
        &self.bundle.sources[0]
    }

    /// The file itself and those that it uses.
    pub fn sources(&self) -> &[Arc<Source>] {
        &self.bundle.sources
    }

    /// The paths of the file's own `use` statements, with the files that they lead to.
    pub fn uses(&self) -> impl Iterator<Item = (Span, &FileName)> {
        self.bundle.direct()
    }

    /// Where the file itself mentions something, in the order of the text.
    pub fn mentions(&self, entity: &Entity) -> Vec<Mention> {
        let place = entity.place();
        let mut sources = self.sources().iter();
        let Some(source) = sources.find(|source| source.name == place.file) else {
            return Vec::new();
        };
        let name = source.text_of(place.span);
        let root = self.root();
        let resolver = Resolver::new(&self.bundle);
        let mut found = Vec::new();
        spots(&root.tree, &mut |spot| {
            if spot.span.of(&root.text) == name
                && let Some(resolved) = resolver.resolve(spot)
                && entity_of(&resolver, spot, resolved).as_ref() == Some(entity)
            {
                // A fitting may go by the name of a part.
                let is_part = matches!(entity, Entity::Part(_));
                let names_part = is_part && matches!(spot.what, What::Label(_));
                found.push(Mention {
                    span: spot.span,
                    is_definition: defines(spot.what) && !names_part,
                });
            }
        });
        found
    }

    /// The systems of the file itself that use a part, by their names.
    pub fn users(&self, part: &Place) -> Vec<String> {
        let mut users = Vec::new();
        let resolver = Resolver::new(&self.bundle);
        spots(&self.root().tree, &mut |spot| {
            if let (Some(system), What::PartMention { .. } | What::Label(_)) =
                (spot.system, spot.what)
                && let Some(Resolved::Part(used)) = resolver.resolve(spot)
                && used.place() == *part
                && users.last() != Some(&system.name.text)
            {
                users.push(system.name.text.clone());
            }
        });
        users
    }

    /// Why renaming something would change the meaning of this file, even if the file does not mention it; `None` if
    /// it would not.
    pub fn binding_objection(&self, entity: &Entity) -> Option<String> {
        let Entity::Let(place) = entity else {
            return None;
        };
        let mut sources = self.sources().iter();
        let source = sources.find(|source| source.name == place.file)?;
        let name = source.text_of(place.span);
        let resolver = Resolver::new(&self.bundle);
        resolver
            .is_bound_elsewhere(place, name)
            .then(|| format!("`{name}` has different values in systems that share a part"))
    }

    /// Why something mentioned here cannot be given a new name; `None` if it can.
    pub fn objection(&self, entity: &Entity, new: &str) -> Option<String> {
        let resolver = Resolver::new(&self.bundle);
        let sources = self.sources();
        let of_systems = || {
            sources
                .iter()
                .flat_map(|source| source.systems().map(move |s| (source, s)))
        };
        let taken = match entity {
            Entity::Part(place) => {
                let block = sources.iter().find_map(|source| {
                    let at = |part: &&syntax::Part| source.place(part.name.span) == *place;
                    Some(&source.parts().find(at)?.block.text)
                })?;
                resolver.part(block, new).is_some()
            }
            Entity::System(_) => resolver.system(new).is_some(),
            Entity::Let(_) => {
                resolver.let_named(None, new).is_some()
                    || of_systems().any(|(source, system)| source.let_of(system, new).is_some())
            }
            Entity::Label(_) => {
                let mut labels = of_systems().flat_map(|(_, system)| labels_of(system));
                labels.any(|(_, label)| label.text == new)
            }
            Entity::Field(_) => return Some("a field's name is the language's own".to_owned()),
        };
        taken.then(|| format!("there is a `{new}` already"))
    }
}

/// Words that begin statements or have a meaning in values.
pub(super) const KEYWORDS: &[&str] = &[
    "use", "let", "part", "system", "from", "choose", "require", "allow", "curve", "to", "pi",
];

/// Why a text is no valid name; `None` if it is one.
pub fn name_objection(name: &str) -> Option<String> {
    let mut chars = name.chars();
    let begins = chars.next().is_some_and(|c| c.is_alphabetic() || c == '_');
    if !begins || !chars.all(|c| c.is_alphanumeric() || c == '_') {
        return Some(format!(
            "`{name}` is no name: a name is made of letters, digits and underscores, and does not \
             begin with a digit"
        ));
    }
    let functions = FUNCTIONS.iter().map(|function| function.name);
    KEYWORDS
        .iter()
        .copied()
        .chain(functions)
        .any(|word| word == name)
        .then(|| format!("`{name}` is a word of the language"))
}

/// The thing named at an offset of a report's file, and the place of its name there.
pub fn entity_at(report: &Report, offset: u32) -> Option<(TextRange, Entity)> {
    let resolver = report.resolver();
    let (spot, resolved) = resolver.at(offset)?;
    Some((spot.span, entity_of(&resolver, spot, resolved)?))
}

fn defines(what: What<'_>) -> bool {
    matches!(
        what,
        What::SystemName
            | What::PartName(_)
            | What::LetName(_)
            | What::Label(_)
            | What::FieldName(_)
    )
}

/// The entity that a name means, if an author chose the name. Everything renamed together is one entity.
pub(super) fn entity_of<'a>(
    resolver: &Resolver<'a>,
    spot: Spot<'a>,
    resolved: Resolved<'a>,
) -> Option<Entity> {
    Some(match resolved {
        // A system's title is no name that others go by.
        Resolved::System(_) if spot.is_title() => return None,
        Resolved::System(system) => Entity::System(system.place()),
        Resolved::Part(part) => Entity::Part(part.place()),
        Resolved::Let(item) => Entity::Let(resolver.let_group(spot, item)),
        Resolved::Label(source, name) => Entity::Label(source.place(name.span)),
        Resolved::Field(field) => Entity::Field(resolver.root().place(field.name.span)),
        Resolved::PathField(field) => {
            let (source, given) = resolver.given(spot, field)?;
            Entity::Field(source.place(given.name.span))
        }
        _ => return None,
    })
}
