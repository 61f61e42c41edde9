//! Looks up a report's files and systems by name or place.

use super::{Located, Report, Shown, Worked};
use crate::finding::Place;
use crate::model::{Component, Resolver, Source, learn_units};
use crate::quantity::Display;
use crate::syntax::{self, Span, StatementKind};

impl Report {
    /// The file itself and those that it uses.
    pub fn sources(&self) -> impl Iterator<Item = &Source> {
        std::iter::once(&*self.source).chain(self.used.iter().map(|source| &**source))
    }

    /// How values are shown to the author of a system. Without a system it is the file's first; in a library, the
    /// units of its parts and lets decide.
    pub(super) fn display(&self, worked: Option<&Worked>) -> Display {
        let worked = worked.or_else(|| self.worked_systems().next());
        let of_library = || library_display(&self.source);
        worked.map_or_else(of_library, |worked| worked.system.display.clone())
    }

    /// The resolver for the names in the file.
    pub(crate) fn resolver(&self) -> Resolver<'_> {
        Resolver::new(&self.bundle)
    }

    /// A file by its name, if this report has it.
    pub fn file(&self, name: &str) -> Option<&Source> {
        self.sources().find(|source| *source.name == *name)
    }

    /// A system of the file, with its results.
    pub(super) fn worked(&self, system: &syntax::System) -> Option<&Worked> {
        self.located(system.name.span).map(|located| &**located)
    }

    /// The results shown for a system of the file, which may be from before a mistake.
    pub(super) fn shown(&self, system: &syntax::System) -> Option<Shown<'_>> {
        self.located(system.name.span).map(Located::shown)
    }

    /// The systems with their results.
    pub fn worked_systems(&self) -> impl Iterator<Item = &Worked> {
        self.systems.iter().map(|located| &**located)
    }

    /// The system whose name is at a place in the file.
    pub(super) fn located(&self, name: Span) -> Option<&Located> {
        let by_statement = self.by_statement.get_or_init(|| {
            let statements = self.systems.iter().map(|located| located.at.statement);
            statements.zip(0..).collect()
        });
        self.systems.get(*by_statement.get(&name.statement)?)
    }

    /// The first system with a name.
    pub(super) fn located_by_name(&self, name: &str) -> Option<&Located> {
        self.systems.get(self.source.system_order(name)?)
    }

    /// The system of the file whose text contains an offset.
    pub fn system_at(&self, offset: u32) -> Option<&Located> {
        let items = &self.source.tree.items;
        let first = items.partition_point(|item| item.range().end < offset);
        let item = items.get(first)?;
        match &item.kind {
            StatementKind::System(system) if item.range().start <= offset => {
                self.located(system.name.span)
            }
            _ => None,
        }
    }

    /// The systems that take a component from a part, by the place of the part's name.
    pub(super) fn users(&self, definition: &Place) -> Vec<(&Worked, &Component)> {
        let is_taken = |component: &&Component| {
            let part = component.part.as_ref();
            part.is_some_and(|part| part.definition == *definition)
        };
        let worked = self.worked_systems();
        worked
            .filter_map(|worked| Some((worked, worked.system.components().find(is_taken)?)))
            .collect()
    }
}

/// How values are shown to the author of a file without a system.
fn library_display(source: &Source) -> Display {
    let mut display = Display::default();
    let fields = source.parts().flat_map(|part| &part.body.statements);
    let of_parts = fields.filter_map(|statement| match &statement.kind {
        StatementKind::Field(field) => Some(&field.value),
        _ => None,
    });
    for value in of_parts.chain(source.lets().map(|item| &item.value)) {
        learn_units(&value.kind, &mut display);
    }
    display
}
