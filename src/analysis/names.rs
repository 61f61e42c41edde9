//! What the names in a file stand for, here and in the files that it uses.

use super::{Report, Worked};
use crate::finding::Place;
use crate::model::{Component, MAX_FROM_DEPTH, Source};
use crate::quantity::Dimension;
use crate::schema::{BLOCKS, Block, FieldId, Presence};
use crate::syntax::{self, Expr, ExprKind, Let, Operator, StatementKind, ValueKind};
use std::cell::Cell;

/// Lets that lead to one another in a longer row than this are left alone.
const MAX_DEPTH: usize = 64;
/// Lets that name one another twice each double the work with each of them: this many
/// expressions are looked at, and no more.
const MAX_STEPS: usize = 20_000;

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
        // They stand in the order of the text.
        let span = system.name.span;
        let at = |worked: &Worked| worked.system.place.span;
        let first = self.systems.partition_point(|worked| at(worked) < span);
        self.systems.get(first).filter(|worked| at(worked) == span)
    }

    /// The system of the file whose text an offset stands in.
    pub fn system_at(&self, offset: u32) -> Option<&Worked> {
        let statements = &self.source.tree.statements;
        let first = statements.partition_point(|statement| statement.span.end < offset);
        let statement = statements.get(first)?;
        match &statement.kind {
            StatementKind::System(system) if statement.span.start <= offset => self.worked(system),
            _ => None,
        }
    }

    /// The systems that take a component from a part, by the place of the part's name.
    pub(super) fn users(&self, definition: &Place) -> Vec<(&Worked, &Component)> {
        let is_taken = |component: &&Component| {
            let part = component.part.as_ref();
            part.is_some_and(|part| part.definition == *definition)
        };
        let worked = self.systems.iter();
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
    steps: Cell<usize>,
}

impl<'a> Reader<'a> {
    pub fn new(report: &'a Report, system: Option<&'a syntax::System>) -> Self {
        Self {
            report,
            system,
            steps: Cell::new(MAX_STEPS),
        }
    }

    /// The nominal value of what stands behind an equals sign; `None` for a curve, a word, and
    /// whatever is wrong.
    pub fn value(&self, value: &syntax::Value) -> Option<Constant> {
        self.value_within(value, MAX_DEPTH)
    }

    fn value_within(&self, value: &syntax::Value, depth: usize) -> Option<Constant> {
        match &value.kind {
            ValueKind::Plain(expr) | ValueKind::Tolerance { nominal: expr, .. } => {
                self.expression(expr, depth)
            }
            ValueKind::Limits { low, high } => {
                let (low, high) = (self.expression(low, depth)?, self.expression(high, depth)?);
                (low.dimension == high.dimension).then_some(Constant {
                    value: low.value + (high.value - low.value) / 2.0,
                    ..low
                })
            }
            ValueKind::Curve(_) | ValueKind::Bad => None,
        }
    }

    fn expression(&self, expr: &Expr, depth: usize) -> Option<Constant> {
        self.steps.set(self.steps.get().checked_sub(1)?);
        let plain = |value| Constant {
            value,
            dimension: Dimension::NUMBER,
        };
        let found = match &expr.kind {
            ExprKind::Number(number) => plain(*number),
            ExprKind::Quantity { number, unit, .. } => Constant {
                value: unit.inward(*number),
                dimension: unit.dimension(),
            },
            ExprKind::Name(name) if name == "pi" => plain(std::f64::consts::PI),
            ExprKind::Name(name) => {
                let (_, item) = self.report.let_named(self.system, name)?;
                self.value_within(&item.value, depth.checked_sub(1)?)?
            }
            ExprKind::Path { block, field } => self.field(&block.text, &field.text)?,
            // Functions are left to the model.
            ExprKind::Call { .. } => return None,
            ExprKind::Negative(inner) => {
                let inner = self.expression(inner, depth)?;
                Constant {
                    value: -inner.value,
                    ..inner
                }
            }
            ExprKind::Group(inner) => self.expression(inner, depth)?,
            ExprKind::Power { base, exponent } => {
                let base = self.expression(base, depth)?;
                Constant {
                    value: base.value.powi(*exponent),
                    dimension: base.dimension.power(i8::try_from(*exponent).ok()?)?,
                }
            }
            ExprKind::Binary {
                operator,
                left,
                right,
            } => binary(
                *operator,
                self.expression(left, depth)?,
                self.expression(right, depth)?,
            )?,
        };
        found.value.is_finite().then_some(found)
    }

    fn field(&self, block: &str, field: &str) -> Option<Constant> {
        let id = field_id(block, field)?;
        let worked = self.report.worked(self.system?)?;
        Some(Constant {
            value: worked.system.number(id)?,
            dimension: id.field().dimension()?,
        })
    }
}

fn binary(operator: Operator, left: Constant, right: Constant) -> Option<Constant> {
    let same = || (left.dimension == right.dimension).then_some(left.dimension);
    let (value, dimension) = match operator {
        Operator::Add => (left.value + right.value, same()?),
        Operator::Subtract => (left.value - right.value, same()?),
        Operator::Multiply => (
            left.value * right.value,
            left.dimension.times(right.dimension)?,
        ),
        Operator::Divide => (
            left.value / right.value,
            left.dimension.over(right.dimension)?,
        ),
    };
    Some(Constant { value, dimension })
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
