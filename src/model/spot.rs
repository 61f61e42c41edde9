//! What is at a place in a file, as far as its tree says.

use crate::quantity::UnitExpr;
use crate::syntax::{
    Block, Body, Choose, Expr, ExprKind, Field, Item, Let, Name, Part, Span, Statement,
    StatementKind, System, Text, TextRange, Tree, Value, ValueKind,
};

/// What a cursor points at, and what contains it.
#[derive(Clone, Copy, Debug)]
pub struct Spot<'a> {
    /// Where it is in the text.
    pub span: TextRange,
    /// Where it is in its statement.
    pub at: Span,
    /// What it is.
    pub what: What<'a>,
    /// The system that contains it; `None` outside of all systems.
    pub system: Option<&'a System>,
    /// The part that contains it; `None` outside of all parts.
    pub part: Option<&'a Part>,
    /// The block of a system that contains it; `None` outside of all blocks.
    pub block: Option<&'a Block>,
    /// The let of the file or of a system that contains it.
    pub item: Option<&'a Let>,
}

impl Spot<'_> {
    /// Whether it is a system's own name, or its title.
    pub fn is_system_name(&self) -> bool {
        matches!(self.what, What::SystemName)
    }

    /// Whether it is a system's title, which is offered as its name as well.
    pub fn is_title(&self) -> bool {
        let name = self.system.map(|system| system.name.span);
        self.is_system_name() && name != Some(self.at)
    }
}

/// What a piece of a spec is, as far as a cursor can ask about it.
#[derive(Clone, Copy, Debug)]
pub enum What<'a> {
    /// The path of a `use`.
    UsePath(&'a Text),
    /// A system's own name, or its title.
    SystemName,
    /// The system that another one starts from.
    Base(&'a Name),
    /// The word that says what kind of component a block, a part or a choice is.
    BlockName(&'a Name),
    /// The name of a part where it is defined.
    PartName(&'a Part),
    /// The name of a part where it is used.
    PartMention {
        /// The kind of component.
        block: &'a Name,
        /// The part's name.
        name: &'a Name,
    },
    /// The label of a block that may occur many times.
    Label(&'a Name),
    /// The name of a field where it is given a value.
    FieldName(&'a Field),
    /// A part of a field's value that has no meaning of its own.
    FieldValue(&'a Field),
    /// A quantity's unit.
    Unit {
        /// The number before the unit.
        number: f64,
        /// The unit, as it is read.
        unit: &'a UnitExpr,
    },
    /// A bare word in a value: a choice or a let.
    Word {
        /// The field whose value contains it; `None` in a let or a `require`.
        field: Option<&'a Field>,
        /// The word itself.
        word: &'a str,
        /// The expression of the word.
        expr: &'a Expr,
    },
    /// `block.field` in an expression.
    Path {
        /// The block before the point.
        block: &'a Name,
        /// The field after the point.
        field: &'a Name,
        /// Whether the cursor is on the block and not on the field.
        on_block: bool,
    },
    /// The name of a let where it is defined.
    LetName(&'a Let),
    /// A part of a let's value that has no meaning of its own.
    LetValue(&'a Let),
    /// A function in an expression.
    Function(&'a Name),
    /// The result that a `require` limits.
    ResultName(&'a Name),
    /// The check that an `allow` silences.
    CheckName(&'a Name),
}

/// What is at an offset; `None` in blanks, comments and text that could not be read.
///
/// Of two that meet at the cursor, the one that begins there counts. Of two inside each other, the inner one counts.
pub fn spot<'a>(tree: &'a Tree, offset: u32) -> Option<Spot<'a>> {
    let mut found: Option<Spot<'a>> = None;
    let mut take = |spot: Spot<'a>| {
        let begins_here = |known: &Spot<'a>| known.span.start == offset;
        if spot.span.start == offset || !found.as_ref().is_some_and(begins_here) {
            found = Some(spot);
        }
    };
    Finder::new(Some(offset), &mut take).items(&tree.items);
    found
}

/// Passes everything in a file to `take`, in the order of the text. What contains something comes before it.
pub fn spots<'a>(tree: &'a Tree, take: &mut dyn FnMut(Spot<'a>)) {
    Finder::new(None, take).items(&tree.items);
}

/// Passes the bare words in a value to `take`, each with its expression.
pub fn words_in<'a>(value: &'a Value, take: &mut dyn FnMut(&'a Expr, &'a str)) {
    let mut spots = words(take);
    Finder::new(None, &mut spots).value(value, None);
}

/// Passes the bare words in an expression to `take`, each with its own expression.
pub fn words_in_expression<'a>(expr: &'a Expr, take: &mut dyn FnMut(&'a Expr, &'a str)) {
    let mut spots = words(take);
    Finder::new(None, &mut spots).expression(expr, None);
}

fn words<'a, 'f>(take: &'f mut dyn FnMut(&'a Expr, &'a str)) -> impl FnMut(Spot<'a>) + 'f
where
    'a: 'f,
{
    move |spot| {
        if let What::Word { word, expr, .. } = spot.what {
            take(expr, word);
        }
    }
}

struct Finder<'a, 'f> {
    /// The offset that is looked for; `None` to find everything.
    offset: Option<u32>,
    /// Where the current top-level statement begins.
    start: u32,
    take: &'f mut dyn FnMut(Spot<'a>),
    system: Option<&'a System>,
    part: Option<&'a Part>,
    block: Option<&'a Block>,
    item: Option<&'a Let>,
}

impl<'a, 'f> Finder<'a, 'f> {
    fn new(offset: Option<u32>, take: &'f mut dyn FnMut(Spot<'a>)) -> Self {
        Self {
            offset,
            start: 0,
            take,
            system: None,
            part: None,
            block: None,
            item: None,
        }
    }

    fn touches(&self, span: Span) -> bool {
        let range = span.from_start(self.start);
        self.offset.is_none_or(|offset| range.touches(offset))
    }

    fn offer(&mut self, span: Span, what: What<'a>) {
        if self.touches(span) {
            (self.take)(Spot {
                span: span.from_start(self.start),
                at: span,
                what,
                system: self.system,
                part: self.part,
                block: self.block,
                item: self.item,
            });
        }
    }

    fn items(&mut self, items: &'a [Item]) {
        // They rise, so only the neighbours of the cursor matter.
        let (first, end) = match self.offset {
            Some(offset) => (
                items.partition_point(|item| item.range().end < offset),
                items.partition_point(|item| item.range().start <= offset),
            ),
            None => (0, items.len()),
        };
        for item in &items[first..end.max(first)] {
            self.start = item.start;
            self.statement(&item.statement);
        }
    }

    fn statements(&mut self, statements: &'a [Statement]) {
        let (first, end) = match self.offset.map(|at| at.saturating_sub(self.start)) {
            Some(offset) => (
                statements.partition_point(|s| s.span.end < offset),
                statements.partition_point(|s| s.span.start <= offset),
            ),
            None => (0, statements.len()),
        };
        for statement in &statements[first..end.max(first)] {
            self.statement(statement);
        }
    }

    fn body(&mut self, body: &'a Body) {
        if self.touches(body.span) {
            self.statements(&body.statements);
        }
    }

    fn statement(&mut self, statement: &'a Statement) {
        match &statement.kind {
            StatementKind::Use(item) => self.offer(item.path.span, What::UsePath(&item.path)),
            StatementKind::Let(item) => {
                self.item = Some(item);
                self.offer(item.name.span, What::LetName(item));
                if self.touches(item.value.span) {
                    self.offer(item.value.span, What::LetValue(item));
                    self.value(&item.value, None);
                }
                self.item = None;
            }
            StatementKind::Part(part) => {
                self.part = Some(part);
                self.offer(part.block.span, What::BlockName(&part.block));
                self.offer(part.name.span, What::PartName(part));
                self.body(&part.body);
                self.part = None;
            }
            StatementKind::System(system) => {
                self.system = Some(system);
                self.offer(system.name.span, What::SystemName);
                if let Some(title) = &system.title {
                    self.offer(title.span, What::SystemName);
                }
                if let Some(base) = &system.base {
                    self.offer(base.span, What::Base(base));
                }
                self.body(&system.body);
                self.system = None;
            }
            StatementKind::Block(block) => self.block(block),
            StatementKind::Field(field) => {
                self.offer(field.name.span, What::FieldName(field));
                if self.touches(field.value.span) {
                    self.offer(field.value.span, What::FieldValue(field));
                    self.value(&field.value, Some(field));
                }
            }
            StatementKind::Choose(Choose { block, parts }) => {
                self.offer(block.span, What::BlockName(block));
                for name in parts {
                    self.offer(name.span, What::PartMention { block, name });
                }
            }
            StatementKind::Require(require) => {
                self.offer(require.result.span, What::ResultName(&require.result));
                self.expression(&require.limit, None);
            }
            StatementKind::Allow(allow) => {
                self.offer(allow.check.span, What::CheckName(&allow.check));
            }
            StatementKind::Bad => {}
        }
    }

    fn block(&mut self, block: &'a Block) {
        self.block = Some(block);
        self.offer(block.block.span, What::BlockName(&block.block));
        if let Some(name) = &block.name {
            let what = if is_repeated(&block.block.text) {
                What::Label(name)
            } else {
                What::PartMention {
                    block: &block.block,
                    name,
                }
            };
            self.offer(name.span, what);
        }
        if let Some(body) = &block.body {
            self.body(body);
        }
        self.block = None;
    }

    fn value(&mut self, value: &'a Value, field: Option<&'a Field>) {
        match &value.kind {
            ValueKind::Plain(expr) => self.expression(expr, field),
            ValueKind::Tolerance {
                nominal: a,
                spread: b,
            }
            | ValueKind::Limits { low: a, high: b } => {
                self.expression(a, field);
                self.expression(b, field);
            }
            ValueKind::Curve { points, spread } => {
                for (x, y) in points {
                    self.expression(x, field);
                    self.expression(y, field);
                }
                if let Some(spread) = spread {
                    self.expression(spread, field);
                }
            }
            ValueKind::Text(_) | ValueKind::Bad => {}
        }
    }

    /// Expressions are no deeper than the parser lets them be.
    fn expression(&mut self, expr: &'a Expr, field: Option<&'a Field>) {
        if !self.touches(expr.span) {
            return;
        }
        match &expr.kind {
            ExprKind::Number(_) => {}
            ExprKind::Quantity {
                number,
                unit,
                unit_span,
            } => self.offer(
                *unit_span,
                What::Unit {
                    number: *number,
                    unit,
                },
            ),
            ExprKind::Name(word) => self.offer(expr.span, What::Word { field, word, expr }),
            ExprKind::Path {
                block,
                field: target,
            } => {
                for (name, on_block) in [(block, true), (target, false)] {
                    self.offer(
                        name.span,
                        What::Path {
                            block,
                            field: target,
                            on_block,
                        },
                    );
                }
            }
            ExprKind::Call {
                function,
                arguments,
            } => {
                self.offer(function.span, What::Function(function));
                for argument in arguments {
                    self.expression(argument, field);
                }
            }
            ExprKind::Negative(inner)
            | ExprKind::Group(inner)
            | ExprKind::Power { base: inner, .. } => self.expression(inner, field),
            ExprKind::Binary { left, right, .. }
            | ExprKind::Toleranced {
                nominal: left,
                spread: right,
            } => {
                self.expression(left, field);
                self.expression(right, field);
            }
        }
    }
}

/// Whether a block may occur many times, so that its name is followed by a label and not by a part.
pub fn is_repeated(block: &str) -> bool {
    crate::schema::Block::named(block)
        .is_some_and(|id| crate::schema::BLOCKS[id as usize].takes_label())
}
