//! The tree of a spec file, with the place of everything in it.

use super::positions::Positions;
use super::{Flaw, Span, StatementId, TextRange};
use crate::quantity::UnitExpr;
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
    /// The position of each item, worked out on the first request.
    pub(super) by_id: OnceLock<Positions>,
}

/// A top-level statement, with its place in the text.
#[derive(Clone, PartialEq, Debug)]
pub struct Item {
    /// Where it begins in the text, with the comments before it. Its spans count from there.
    pub start: u32,
    /// Its length with the comments before and after it.
    pub length: u32,
    /// Its identity, which edits elsewhere in the file do not change.
    pub id: StatementId,
    /// Its contents. They are shared with trees of earlier states of the text if they are unchanged.
    pub statement: Arc<Statement>,
    /// The flaws in it and up to the next statement, in order.
    pub flaws: Option<Arc<[Flaw]>>,
}

impl Deref for Item {
    type Target = Statement;

    fn deref(&self) -> &Statement {
        &self.statement
    }
}

impl Item {
    /// The place of one of its spans in the text.
    pub fn at(&self, span: Span) -> TextRange {
        span.from_start(self.start)
    }

    /// Its range from its first character to its last, without comments.
    pub fn range(&self) -> TextRange {
        self.at(self.span)
    }

    /// Its range with the comments before and after it.
    pub fn extent(&self) -> TextRange {
        TextRange {
            start: self.start,
            end: self.start + self.length,
        }
    }

    /// The flaws in it and up to the next statement, in order.
    pub fn flaws(&self) -> &[Flaw] {
        self.flaws.as_deref().unwrap_or_default()
    }

    /// Whether there is a flaw in one of its spans, or right after it.
    pub fn is_flawed_in(&self, span: Span) -> bool {
        self.flaws()
            .iter()
            .any(|flaw| span.touches(flaw.span.start))
    }
}

/// One statement, at any level. Its spans are those of the top-level statement that it is or that contains it.
#[derive(Clone, PartialEq, Debug)]
pub struct Statement {
    /// What it is, with its contents.
    pub kind: StatementKind,
    /// From its first character to its last, without comments.
    pub span: Span,
    /// Comments on lines of their own before it.
    pub before: Vec<Comment>,
    /// Whether a blank line is before it and its comments.
    pub blank_before: bool,
    /// A comment after it on its last line.
    pub after: Option<Span>,
}

/// A comment on a line of its own.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Comment {
    /// From the `#` to the end of the line.
    pub span: Span,
    /// Whether a blank line is before it.
    pub blank_before: bool,
}

/// What a statement is, with its contents.
#[derive(Clone, PartialEq, Debug)]
pub enum StatementKind {
    /// `use "library.clutch"`
    Use(Use),
    /// `let travel = 150 mm`
    Let(Let),
    /// `part master hy_m19 { … }`
    Part(Part),
    /// `system car "My car" from base { … }`
    System(System),
    /// `master { … }`, `master hy_m19`, `line hard { … }`: a component of a system.
    Block(Block),
    /// `bore = 22.2 mm`
    Field(Field),
    /// `choose master small, large`
    Choose(Choose),
    /// `require release_margin >= 1 mm "why"`
    Require(Require),
    /// `allow heavy-pedal "why"`
    Allow(Allow),
    /// Something that could not be read; a flaw says why.
    Bad,
}

/// A word with its place.
#[derive(Clone, PartialEq, Debug)]
pub struct Name {
    /// As it is written.
    pub text: String,
    /// Its place.
    pub span: Span,
}

/// A text in quotes: its inside, and its place with the quotes.
#[derive(Clone, PartialEq, Debug)]
pub struct Text {
    /// The text between the quotes.
    pub text: String,
    /// Its place, with the quotes.
    pub span: Span,
}

/// `use "library.clutch"`: brings in what another file defines.
#[derive(Clone, PartialEq, Debug)]
pub struct Use {
    /// The file, relative to the file that uses it or to a folder of the library.
    pub path: Text,
}

/// `let travel = 150 mm`: a name for a value.
#[derive(Clone, PartialEq, Debug)]
pub struct Let {
    /// The name that it defines.
    pub name: Name,
    /// The value of the name.
    pub value: Value,
}

/// `part master hy_m19 { … }`: a component that systems can take by its name.
#[derive(Clone, PartialEq, Debug)]
pub struct Part {
    /// The kind of component, such as `master`.
    pub block: Name,
    /// The name that it defines.
    pub name: Name,
    /// Its fields, in braces.
    pub body: Body,
}

/// `system car "My car" from base { … }`: a whole clutch actuation.
#[derive(Clone, PartialEq, Debug)]
pub struct System {
    /// The name that it defines.
    pub name: Name,
    /// A longer name for people, where one is given.
    pub title: Option<Text>,
    /// The system that it starts from, after `from`; `None` if it starts from none.
    pub base: Option<Name>,
    /// Its blocks and its other statements, in braces.
    pub body: Body,
}

/// A component of a system: `master { … }`, `master hy_m19`, `line hard { … }`.
#[derive(Clone, PartialEq, Debug)]
pub struct Block {
    /// The kind of component, such as `master`.
    pub block: Name,
    /// A part's name, or the label of a block that may occur many times.
    pub name: Option<Name>,
    /// Its fields, in braces; `None` if it only names a part.
    pub body: Option<Body>,
}

/// The statements between braces.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Body {
    /// From the opening brace to the closing one, both included.
    pub span: Span,
    /// Whether both braces are there. If not, some of the statements may not be meant to be inside.
    pub whole: bool,
    /// A comment after the opening brace.
    pub opening: Option<Span>,
    /// The statements between the braces, in order.
    pub statements: Vec<Statement>,
    /// Comments after the last statement.
    pub tail: Vec<Comment>,
}

/// `bore = 22.2 mm`: a value that is given to a field.
#[derive(Clone, PartialEq, Debug)]
pub struct Field {
    /// The field, as it is written; it may be unknown to the schema.
    pub name: Name,
    /// The value after the equals sign.
    pub value: Value,
}

/// `choose master small, large`: parts, each of which makes a system of its own.
#[derive(Clone, PartialEq, Debug)]
pub struct Choose {
    /// The kind of component that varies, such as `master`.
    pub block: Name,
    /// The parts to choose from, in order.
    pub parts: Vec<Name>,
}

/// `require release_margin >= 1 mm "why"`: a limit of the author's own on a result.
#[derive(Clone, PartialEq, Debug)]
pub struct Require {
    /// The result that is limited, as it is written.
    pub result: Name,
    /// How the result must compare with the limit.
    pub comparison: Comparison,
    /// The limit with which the result is compared.
    pub limit: Expr,
    /// The author's reason, where one is given.
    pub why: Option<Text>,
}

/// `allow heavy-pedal "why"`: silences a check.
#[derive(Clone, PartialEq, Debug)]
pub struct Allow {
    /// The check that is silenced, as it is written.
    pub check: Name,
    /// The author's reason, which must be given.
    pub why: Text,
}

/// How a `require` compares a result (on the left) with a limit (on the right).
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Comparison {
    /// `<=`
    AtMost,
    /// `>=`
    AtLeast,
    /// `<`
    Below,
    /// `>`
    Above,
}

impl Comparison {
    pub(crate) fn symbol(self) -> &'static str {
        match self {
            Self::AtMost => "<=",
            Self::AtLeast => ">=",
            Self::Below => "<",
            Self::Above => ">",
        }
    }

    /// Whether both limit a value from the same side.
    pub fn same_way(self, other: Self) -> bool {
        self.limits_from_above() == other.limits_from_above()
    }

    /// Whether it limits a value from above. `false` if from below.
    pub fn limits_from_above(self) -> bool {
        matches!(self, Self::AtMost | Self::Below)
    }

    /// Whether it is true for two numbers, in the order in which it is written.
    pub(crate) fn holds<T: PartialOrd>(self, left: T, right: T) -> bool {
        match self {
            Self::AtMost => left <= right,
            Self::AtLeast => left >= right,
            Self::Below => left < right,
            Self::Above => left > right,
        }
    }
}

/// The value after an equals sign.
#[derive(Clone, PartialEq, Debug)]
pub struct Value {
    /// The form of the value, with its contents.
    pub kind: ValueKind,
    /// From its first character to its last.
    pub span: Span,
    /// Comments inside it, in order; only a curve has any.
    pub inner: Vec<Span>,
}

/// The forms of a value.
#[derive(Clone, PartialEq, Debug)]
pub enum ValueKind {
    /// An expression; a bare word is a name alone.
    Plain(Expr),
    /// `150 mm ± 3 mm`, `150 mm ± 2 %`
    Tolerance {
        /// The value that is aimed at.
        nominal: Expr,
        /// How far the value may be off each way: an amount, or a percentage of the nominal value.
        spread: Expr,
    },
    /// `7.5 mm to 10.5 mm`
    Limits {
        /// The least that it may be.
        low: Expr,
        /// The most that it may be.
        high: Expr,
    },
    /// `curve { 0 mm: 0 N, 3 mm: 900 N } ± 10 %`
    Curve {
        /// Pairs of x and y, in the order of the text.
        points: Vec<(Expr, Expr)>,
        /// How far the whole curve may be off each way: an amount, or a percentage of the value at each point.
        spread: Option<Expr>,
    },
    /// `"HH-750-R"`: a text in quotes.
    Text(Text),
    /// A value that cannot be used; a flaw says why.
    Bad,
}

/// An expression, with its place.
#[derive(Clone, PartialEq, Debug)]
pub struct Expr {
    /// The form of the expression, with its contents.
    pub kind: ExprKind,
    /// From its first character to its last.
    pub span: Span,
}

/// The forms of an expression.
#[derive(Clone, PartialEq, Debug)]
pub enum ExprKind {
    /// A number without a unit: `0.5`, `7/8`.
    Number(f64),
    /// A number with a unit: `22.2 mm`.
    Quantity {
        /// The number as it is written, in `unit`.
        number: f64,
        /// The unit written after it.
        unit: UnitExpr,
        /// Where the unit is.
        unit_span: Span,
    },
    /// A word: a let, a choice of the field, or `pi`.
    Name(String),
    /// `master.bore`
    Path {
        /// The block whose field is read, such as `master`.
        block: Name,
        /// The field that is read, such as `bore`.
        field: Name,
    },
    /// `min(a, b)`
    Call {
        /// The name of the function, as it is written.
        function: Name,
        /// The arguments in its parentheses, in order.
        arguments: Vec<Expr>,
    },
    /// `-x`
    Negative(Box<Expr>),
    /// `a + b`, `a - b`, `a * b`, `a / b`
    Binary {
        /// The operation.
        operator: Operator,
        /// The expression before the operator.
        left: Box<Expr>,
        /// The expression after the operator.
        right: Box<Expr>,
    },
    /// `x^2`
    Power {
        /// The base of the power.
        base: Box<Expr>,
        /// A whole number, which may be negative.
        exponent: i32,
    },
    /// `7.2 mm ± 0.3 mm` at an end of limits, or as the value at a point of a curve; nowhere else.
    Toleranced {
        /// The value that is aimed at.
        nominal: Box<Expr>,
        /// How far the value may be off each way: an amount, or a percentage of the nominal value.
        spread: Box<Expr>,
    },
    /// In parentheses, which the formatter keeps.
    Group(Box<Expr>),
}

/// The operators between two expressions.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Operator {
    /// `+`
    Add,
    /// `-`
    Subtract,
    /// `*`
    Multiply,
    /// `/`
    Divide,
}

impl Operator {
    pub(crate) fn symbol(self) -> &'static str {
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

    /// Whether the text has no flaw at all.
    pub fn is_flawless(&self) -> bool {
        self.flaws().next().is_none()
    }

    /// The tree's places without the contents of the statements.
    pub(crate) fn without_statements(&self) -> Self {
        let nothing = Arc::new(Statement {
            kind: StatementKind::Bad,
            span: Span::default(),
            before: Vec::new(),
            blank_before: false,
            after: None,
        });
        let items = self.items.iter().map(|item| Item {
            statement: nothing.clone(),
            flaws: None,
            ..*item
        });
        Self {
            items: items.collect(),
            ..Self::default()
        }
    }

    /// Adds a flaw of the whole text, in its order among the others.
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

    /// The item with an identity.
    pub fn item(&self, id: StatementId) -> Option<&Item> {
        self.items.get(self.position(id)?)
    }

    /// The position of a statement among the items.
    pub(super) fn position(&self, id: StatementId) -> Option<usize> {
        let id_at = |at: u32| self.items.get(at as usize).map(|item| item.id);
        self.positions().get(id, id_at)
    }

    pub(super) fn positions(&self) -> &Positions {
        let ids = || self.items.iter().map(|item| item.id);
        self.by_id.get_or_init(|| Positions::of(ids()))
    }

    /// The range of a span in the text. A span of a missing statement gives the empty range at the beginning of the
    /// text.
    pub fn range(&self, span: Span) -> TextRange {
        match span.statement {
            StatementId::FILE => span.from_start(0),
            StatementId::TAIL => span.from_start(self.tail_start()),
            id => self.item(id).map(|item| item.at(span)).unwrap_or_default(),
        }
    }

    /// Where the last statement ends, with the comment after it.
    pub(super) fn tail_start(&self) -> u32 {
        self.items.last().map_or(0, |item| item.extent().end)
    }

    /// The last statement that begins at or before an offset. The offset is in it or after it.
    pub fn item_before(&self, offset: u32) -> Option<&Item> {
        let behind = self.items.partition_point(|item| item.start <= offset);
        self.items[..behind].last()
    }

    /// The span of a run of the text, in the last statement that begins before it.
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

    /// Whether there is a flaw in a span, or right after it.
    pub fn is_flawed(&self, span: Span) -> bool {
        self.item(span.statement)
            .is_some_and(|item| item.is_flawed_in(span))
    }
}

impl Statement {
    /// The body in braces of a statement that has one.
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
    /// The text between the braces, without those of them that are there.
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
    /// The name, if the expression is nothing else.
    pub fn as_name(&self) -> Option<&str> {
        match &self.kind {
            ExprKind::Name(name) => Some(name),
            _ => None,
        }
    }
}
