//! The tree of a spec file, with the place of everything in it.

use super::{Flaw, Span, StatementId, TextRange};
use crate::quantity::UnitExpr;
use rustc_hash::FxHashMap;
use std::ops::Deref;
use std::sync::{Arc, OnceLock};

/// A whole file.
#[derive(Clone, Debug, Default)]
pub struct Tree {
    /// The statements at the level of the file, in order.
    pub items: Vec<Item>,
    /// Comments after the last statement.
    pub tail: Vec<Comment>,
    /// Flaws before the first statement.
    pub(super) leading: Vec<Flaw>,
    /// How many statements have each text, by its hash.
    pub(super) copies: FxHashMap<u64, u32>,
    pub(super) by_id: OnceLock<FxHashMap<StatementId, u32>>,
}

/// A statement at the level of the file, with its place in the text.
#[derive(Clone, PartialEq, Debug)]
pub struct Item {
    /// Where it begins in the text, the comments before it included; what the spans in it count
    /// from.
    pub start: u32,
    /// How long it is with the comments before and behind it.
    pub length: u32,
    pub id: StatementId,
    pub statement: Arc<Statement>,
    /// What is wrong in it and up to the next statement, in order.
    pub flaws: Option<Arc<[Flaw]>>,
}

impl Deref for Item {
    type Target = Statement;

    fn deref(&self) -> &Statement {
        &self.statement
    }
}

impl Item {
    /// Where one of its spans stands in the text.
    pub fn at(&self, span: Span) -> TextRange {
        span.from_start(self.start)
    }

    /// From its first character to its last, comments apart.
    pub fn range(&self) -> TextRange {
        self.at(self.span)
    }

    /// The same with the comments before and behind it.
    pub fn extent(&self) -> TextRange {
        TextRange {
            start: self.start,
            end: self.start + self.length,
        }
    }

    /// What is wrong in it and up to the next statement, in order.
    pub fn flaws(&self) -> &[Flaw] {
        self.flaws.as_deref().unwrap_or_default()
    }

    /// Whether something is wrong in one of its spans, or right behind it.
    pub fn is_flawed_in(&self, span: Span) -> bool {
        self.flaws()
            .iter()
            .any(|flaw| span.touches(flaw.span.start))
    }

    /// Whether something is wrong in it.
    pub fn is_flawed(&self) -> bool {
        self.flaws.is_some() && self.is_flawed_in(self.span)
    }
}

/// One statement, at any level. All spans in it are of the statement at the level of the file that it is or stands in.
#[derive(Clone, PartialEq, Debug)]
pub struct Statement {
    pub kind: StatementKind,
    /// From its first character to its last, comments apart.
    pub span: Span,
    /// Comments on lines of their own before it.
    pub before: Vec<Comment>,
    /// Whether a blank line stands before it (and before its comments).
    pub blank_before: bool,
    /// A comment behind it on its last line.
    pub after: Option<Span>,
}

/// A comment on a line of its own.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Comment {
    pub span: Span,
    pub blank_before: bool,
}

#[derive(Clone, PartialEq, Debug)]
pub enum StatementKind {
    Use(Use),
    Let(Let),
    Part(Part),
    System(System),
    Block(Block),
    Field(Field),
    Choose(Choose),
    Require(Require),
    Allow(Allow),
    /// Something that could not be read; a flaw says why.
    Bad,
}

/// A word with its place.
#[derive(Clone, PartialEq, Debug)]
pub struct Name {
    pub text: String,
    pub span: Span,
}

/// A text in quotes: its inside, and its place with the quotes.
#[derive(Clone, PartialEq, Debug)]
pub struct Text {
    pub text: String,
    pub span: Span,
}

#[derive(Clone, PartialEq, Debug)]
pub struct Use {
    pub path: Text,
}

#[derive(Clone, PartialEq, Debug)]
pub struct Let {
    pub name: Name,
    pub value: Value,
}

#[derive(Clone, PartialEq, Debug)]
pub struct Part {
    pub block: Name,
    pub name: Name,
    pub body: Body,
}

#[derive(Clone, PartialEq, Debug)]
pub struct System {
    pub name: Name,
    pub title: Option<Text>,
    pub base: Option<Name>,
    pub body: Body,
}

#[derive(Clone, PartialEq, Debug)]
pub struct Block {
    pub block: Name,
    /// A part's name, or the label of a block that may stand many times.
    pub name: Option<Name>,
    pub body: Option<Body>,
}

/// What stands between braces.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Body {
    /// From the opening brace to the closing one, both included.
    pub span: Span,
    /// Whether both braces are there: what is inside may not all be meant to be otherwise.
    pub whole: bool,
    /// A comment behind the opening brace.
    pub opening: Option<Span>,
    pub statements: Vec<Statement>,
    /// Comments after the last statement.
    pub tail: Vec<Comment>,
}

#[derive(Clone, PartialEq, Debug)]
pub struct Field {
    pub name: Name,
    pub value: Value,
}

#[derive(Clone, PartialEq, Debug)]
pub struct Choose {
    pub block: Name,
    pub parts: Vec<Name>,
}

#[derive(Clone, PartialEq, Debug)]
pub struct Require {
    pub result: Name,
    pub comparison: Comparison,
    pub limit: Expr,
    pub why: Option<Text>,
}

#[derive(Clone, PartialEq, Debug)]
pub struct Allow {
    pub check: Name,
    pub why: Text,
}

#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Comparison {
    AtMost,
    AtLeast,
    Below,
    Above,
}

impl Comparison {
    pub fn symbol(self) -> &'static str {
        match self {
            Self::AtMost => "<=",
            Self::AtLeast => ">=",
            Self::Below => "<",
            Self::Above => ">",
        }
    }

    /// Whether it limits the same end: a value from above, or from below.
    pub fn same_way(self, other: Self) -> bool {
        self.limits_from_above() == other.limits_from_above()
    }

    /// Whether it limits a value from above, and not from below.
    pub fn limits_from_above(self) -> bool {
        matches!(self, Self::AtMost | Self::Below)
    }

    pub fn holds(self, left: f64, right: f64) -> bool {
        match self {
            Self::AtMost => left <= right,
            Self::AtLeast => left >= right,
            Self::Below => left < right,
            Self::Above => left > right,
        }
    }
}

/// What stands behind an equals sign.
#[derive(Clone, PartialEq, Debug)]
pub struct Value {
    pub kind: ValueKind,
    pub span: Span,
    /// Comments inside it, in order; only a curve has any.
    pub inner: Vec<Span>,
}

#[derive(Clone, PartialEq, Debug)]
pub enum ValueKind {
    /// An expression; a bare word is a name alone.
    Plain(Expr),
    /// `150 mm ± 3 mm`, `150 mm ± 2 %`
    Tolerance {
        nominal: Expr,
        spread: Expr,
    },
    /// `7.5 mm to 10.5 mm`
    Limits {
        low: Expr,
        high: Expr,
    },
    Curve(Vec<(Expr, Expr)>),
    /// There is something, but a flaw says why it cannot be used.
    Bad,
}

#[derive(Clone, PartialEq, Debug)]
pub struct Expr {
    pub kind: ExprKind,
    pub span: Span,
}

#[derive(Clone, PartialEq, Debug)]
pub enum ExprKind {
    Number(f64),
    Quantity {
        number: f64,
        unit: UnitExpr,
        unit_span: Span,
    },
    Name(String),
    /// `master.bore`
    Path {
        block: Name,
        field: Name,
    },
    Call {
        function: Name,
        arguments: Vec<Expr>,
    },
    Negative(Box<Expr>),
    Binary {
        operator: Operator,
        left: Box<Expr>,
        right: Box<Expr>,
    },
    Power {
        base: Box<Expr>,
        exponent: i32,
    },
    /// In parentheses, which the formatter keeps.
    Group(Box<Expr>),
}

#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Operator {
    Add,
    Subtract,
    Multiply,
    Divide,
}

impl Operator {
    pub fn symbol(self) -> &'static str {
        match self {
            Self::Add => "+",
            Self::Subtract => "-",
            Self::Multiply => "*",
            Self::Divide => "/",
        }
    }
}

impl PartialEq for Tree {
    fn eq(&self, other: &Self) -> bool {
        self.items == other.items && self.tail == other.tail && self.leading == other.leading
    }
}

impl Tree {
    /// All flaws, in the order of the text.
    pub fn flaws(&self) -> impl Iterator<Item = &Flaw> {
        let of_items = self.items.iter().flat_map(Item::flaws);
        self.leading.iter().chain(of_items)
    }

    /// Whether another tree has the same flaws before its first statement.
    pub fn same_start(&self, other: &Self) -> bool {
        self.leading == other.leading
    }

    pub fn is_flawless(&self) -> bool {
        self.flaws().next().is_none()
    }

    /// Adds a flaw of the text as such at its place among the others.
    pub(crate) fn add_flaw(&mut self, flaw: Flaw, at: TextRange) {
        let behind = self.items.partition_point(|item| item.start <= at.start);
        let span = self.anchor(at);
        let flaw = Flaw { span, ..flaw };
        let insert = |flaws: &mut Vec<Flaw>| {
            let key = |flaw: &Flaw| (flaw.span.start, flaw.span.end);
            let place = flaws.partition_point(|known| key(known) <= (span.start, span.end));
            flaws.insert(place, flaw);
        };
        match behind.checked_sub(1).and_then(|i| self.items.get_mut(i)) {
            None => insert(&mut self.leading),
            Some(item) => {
                let mut flaws = item.flaws().to_vec();
                insert(&mut flaws);
                item.flaws = Some(flaws.into());
            }
        }
    }

    /// A statement by its name.
    pub fn item(&self, id: StatementId) -> Option<&Item> {
        let by_id = self.by_id.get_or_init(|| {
            let ids = self.items.iter().map(|item| item.id);
            ids.zip(0..).collect()
        });
        self.items.get(*by_id.get(&id)? as usize)
    }

    /// Where a span stands in the text. One of a statement that is not there is empty at the
    /// beginning of the text.
    pub fn range(&self, span: Span) -> TextRange {
        match span.statement {
            StatementId::FILE => span.from_start(0),
            StatementId::TAIL => span.from_start(self.tail_start()),
            id => self.item(id).map(|item| item.at(span)).unwrap_or_default(),
        }
    }

    /// Where the last statement and the comment behind it end.
    pub(super) fn tail_start(&self) -> u32 {
        self.items.last().map_or(0, |item| item.extent().end)
    }

    /// The statement that begins last before or at an offset: the offset lies in it or behind it.
    pub fn item_before(&self, offset: u32) -> Option<&Item> {
        let behind = self.items.partition_point(|item| item.start <= offset);
        self.items[..behind].last()
    }

    /// The span of a run of the text: of the statement that begins last before it.
    pub fn anchor(&self, range: TextRange) -> Span {
        match self.item_before(range.start) {
            None => range.into(),
            Some(item) => Span {
                statement: item.id,
                start: range.start - item.start,
                end: range.end.max(range.start) - item.start,
            },
        }
    }

    /// Whether there is a flaw in a span, or right behind it.
    pub fn is_flawed(&self, span: Span) -> bool {
        self.item(span.statement)
            .is_some_and(|item| item.is_flawed_in(span))
    }
}

impl Statement {
    /// The body in braces, of those that have one.
    pub fn body(&self) -> Option<&Body> {
        match &self.kind {
            StatementKind::Part(part) => Some(&part.body),
            StatementKind::System(system) => Some(&system.body),
            StatementKind::Block(block) => block.body.as_ref(),
            _ => None,
        }
    }
}

impl Body {
    /// What stands between the braces, without them where they are there.
    pub fn inside(&self) -> Span {
        let braces = u32::from(self.whole);
        Span {
            start: self.span.start + braces,
            end: self.span.end - braces,
            ..self.span
        }
    }
}

impl Expr {
    /// The name, if it is nothing but a name.
    pub fn as_name(&self) -> Option<&str> {
        match &self.kind {
            ExprKind::Name(name) => Some(name),
            _ => None,
        }
    }
}
