//! What the names in a file stand for, here and in the files that it uses.

use super::{Located, Report, Shown, Worked};
use crate::finding::{Place, Problem};
use crate::model::{self, Component, Evaluated, LetValue, MAX_FROM_DEPTH, Source, let_value};
use crate::quantity::{Band, Dimension};
use crate::schema::{BLOCKS, Block, FieldId, Presence};
use crate::syntax::{self, Expr, Let, Span, StatementKind};
use std::collections::HashMap;

/// Lets that lead to one another in a longer row than this are left alone.
const MAX_DEPTH: usize = 64;

impl Report {
    /// The file itself and those that it uses.
    pub fn sources(&self) -> impl Iterator<Item = &Source> {
        std::iter::once(&*self.source).chain(self.used.iter().map(|source| &**source))
    }

    /// A file by its name, if this report has it.
    pub fn file(&self, name: &str) -> Option<&Source> {
        self.sources().find(|source| *source.name == *name)
    }

    /// The file that the path of a `use` statement leads to.
    pub fn used_at(&self, path: syntax::Span) -> Option<&Source> {
        let (_, name) = self.uses.iter().find(|(at, _)| *at == path)?;
        self.file(name)
    }

    /// What is known of a system of the file.
    pub(super) fn worked(&self, system: &syntax::System) -> Option<&Worked> {
        self.located(system.name.span).map(|located| &**located)
    }

    /// What is shown of a system of the file, which may be from before a mistake.
    pub(super) fn shown(&self, system: &syntax::System) -> Option<Shown<'_>> {
        self.located(system.name.span).map(Located::shown)
    }

    /// The systems with what comes of each.
    pub fn worked_systems(&self) -> impl Iterator<Item = &Worked> {
        self.systems.iter().map(|located| &**located)
    }

    /// The system whose name stands somewhere in the file.
    pub(super) fn located(&self, name: Span) -> Option<&Located> {
        // They stand in the order of the text.
        let first = self.systems.partition_point(|located| located.at < name);
        self.systems.get(first).filter(|located| located.at == name)
    }

    /// The system of the file whose text an offset stands in.
    pub fn system_at(&self, offset: u32) -> Option<&Located> {
        let statements = &self.source.tree.statements;
        let first = statements.partition_point(|statement| statement.span.end < offset);
        let statement = statements.get(first)?;
        match &statement.kind {
            StatementKind::System(system) if statement.span.start <= offset => {
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

    /// The first system that takes a component from a part.
    pub(super) fn user(&self, definition: &Place) -> Option<(&Worked, &Component)> {
        self.users(definition).first().copied()
    }
}

/// What the names in a file mean: in itself first, then in the files that it uses.
pub(super) trait Names {
    /// The file itself and those that it uses.
    fn files(&self) -> impl Iterator<Item = &Source>;

    fn part(&self, block: &str, name: &str) -> Option<(&Source, &syntax::Part)> {
        self.files()
            .find_map(|source| Some((source, source.part(block, name)?)))
    }

    fn system(&self, name: &str) -> Option<(&Source, &syntax::System)> {
        self.files()
            .find_map(|source| Some((source, source.system(name)?)))
    }

    /// A system of the file and those that it starts from, one after the other.
    fn layers<'a>(
        &'a self,
        system: &'a syntax::System,
    ) -> impl Iterator<Item = (&'a Source, &'a syntax::System)> {
        let own = self.files().next().map(|source| (source, system));
        let base = |(_, system): &(&'a Source, &'a syntax::System)| {
            self.system(&system.base.as_ref()?.text)
        };
        std::iter::successors(own, base).take(MAX_FROM_DEPTH + 1)
    }

    /// The let that a name means: of the system, of the systems that it starts from, of the
    /// file, of the files that it uses.
    fn let_named<'a>(
        &'a self,
        system: Option<&'a syntax::System>,
        name: &str,
    ) -> Option<(&'a Source, &'a Let)> {
        let layers = system.into_iter().flat_map(|system| self.layers(system));
        let of_system = |(source, system)| {
            let found = lets_of(system).find(|item| item.name.text == name)?;
            Some((source, found))
        };
        layers.filter_map(of_system).next().or_else(|| {
            self.files()
                .find_map(|source| Some((source, source.let_named(name)?)))
        })
    }
}

impl Names for Report {
    fn files(&self) -> impl Iterator<Item = &Source> {
        self.sources()
    }
}

/// The lets that a system itself defines, the last of a name first: it is the one that holds.
pub(super) fn lets_of(system: &syntax::System) -> impl Iterator<Item = &Let> {
    system
        .body
        .statements
        .iter()
        .rev()
        .filter_map(|statement| match &statement.kind {
            StatementKind::Let(item) => Some(item),
            _ => None,
        })
}

/// A nominal value in internal units.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Constant {
    pub value: f64,
    pub dimension: Dimension,
}

/// Works out what stands in the text where no system does: lets, and parts that nobody uses.
pub(super) struct Reader<'a> {
    report: &'a Report,
    /// The system whose lets and fields are meant.
    system: Option<&'a syntax::System>,
    /// What lets stand for, by the places of their names; nothing while that is worked out.
    lets: HashMap<Place, Option<LetValue>>,
    depth: usize,
}

impl<'a> Reader<'a> {
    pub fn new(report: &'a Report, system: Option<&'a syntax::System>) -> Self {
        Self {
            report,
            system,
            lets: HashMap::new(),
            depth: 0,
        }
    }

    /// The nominal value of what stands behind an equals sign; `None` for a curve, a word, and
    /// whatever is wrong.
    pub fn value(&mut self, value: &syntax::Value) -> Option<Constant> {
        match let_value(value, self) {
            Ok(Some(LetValue::Quantity(found))) => Some(Constant {
                value: found.band.nominal,
                dimension: found.dimension,
            })
            .filter(|found| found.value.is_finite()),
            _ => None,
        }
    }
}

/// What is wrong is reported with the system that it is in, and only unknown here.
impl model::Names for Reader<'_> {
    fn let_value(&mut self, name: &str, _: &Place) -> Result<Option<LetValue>, Problem> {
        let report = self.report;
        let Some((source, item)) = report.let_named(self.system, name) else {
            return Ok(None);
        };
        let place = source.place(item.name.span);
        if let Some(known) = self.lets.get(&place) {
            return Ok(known.clone());
        }
        if self.depth == MAX_DEPTH {
            return Ok(None);
        }
        self.lets.insert(place.clone(), None);
        self.depth += 1;
        let value = let_value(&item.value, self).unwrap_or_default();
        self.depth -= 1;
        self.lets.insert(place, value.clone());
        Ok(value)
    }

    fn field_value(
        &mut self,
        block: &str,
        field: &str,
        _: &Place,
    ) -> Result<Option<Evaluated>, Problem> {
        let given = || {
            let id = field_id(block, field)?;
            let worked = self.report.worked(self.system?)?;
            Some(Evaluated {
                band: Band::exact(worked.system.number(id)?),
                dimension: id.field().dimension()?,
            })
        };
        Ok(given())
    }

    fn place(&self, expr: &Expr) -> Place {
        self.report.source.place(expr.span)
    }
}

/// The place of a field in the schema, by the names in the text.
pub(super) fn field_id(block: &str, field: &str) -> Option<FieldId> {
    let block = Block::named(block)?;
    let field = BLOCKS[block as usize].field_index(field)?;
    Some(FieldId { block, field })
}

/// What is assumed for a field that is not given, as it would be written; `None` where nothing
/// is.
pub(super) fn default_text(id: FieldId) -> Option<&'static str> {
    match id.field().presence {
        Presence::Default { text, .. } => Some(text),
        Presence::DefaultWord(word) => Some(word),
        _ => None,
    }
}
