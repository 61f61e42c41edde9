//! The tree of a spec file, with the place of everything in it.

use super::Flaw;
use crate::quantity::UnitExpr;

/// A run of bytes in one file, `start..end`.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug, Default)]
pub struct Span {
    pub start: u32,
    pub end: u32,
}

impl Span {
    pub fn new(start: usize, end: usize) -> Self {
        // Files beyond MAX_FILE_BYTES are never parsed, so offsets fit.
        Self {
            start: start as u32,
            end: end.max(start) as u32,
        }
    }

    /// From the start of this to the end of the other.
    pub fn to(self, end: Self) -> Self {
        Self {
            start: self.start,
            end: end.end.max(self.start),
        }
    }

    pub fn range(self) -> std::ops::Range<usize> {
        self.start as usize..self.end as usize
    }

    /// Whether an offset lies in it or right behind it, as a cursor does.
    pub fn touches(self, offset: u32) -> bool {
        self.start <= offset && offset <= self.end
    }

    /// The text that it covers; empty when it does not lie in the text.
    pub fn of(self, text: &str) -> &str {
        text.get(self.range()).unwrap_or_default()
    }
}

/// A whole file.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Tree {
    pub statements: Vec<Statement>,
    /// Comments after the last statement.
    pub tail: Vec<Comment>,
    pub flaws: Vec<Flaw>,
}

/// One statement, at any level.
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

impl Tree {
    /// The flaws inside a run of text.
    pub fn flaws_in(&self, span: Span) -> &[Flaw] {
        let before = |flaw: &Flaw| flaw.span.start < span.start;
        let first = self.flaws.partition_point(before);
        let rest = self.flaws.get(first..).unwrap_or_default();
        let inside = rest.partition_point(|flaw| flaw.span.start <= span.end);
        &rest[..inside]
    }

    /// Whether there is a flaw inside a run of text.
    pub fn is_flawed(&self, span: Span) -> bool {
        !self.flaws_in(span).is_empty()
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
