//! The shape of a file: its folds, and how a selection grows.

use super::Report;
use crate::syntax::{
    Block, Body, Comment, Expr, ExprKind, Item, Span, Statement, StatementKind, TextRange, Value,
    ValueKind,
};

/// A run of lines that can be folded away.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Fold {
    /// From the first character that is hidden to the last.
    pub span: TextRange,
    /// The kind of fold.
    pub kind: FoldKind,
}

/// The kind of a run of lines.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum FoldKind {
    /// The text between braces, with the braces.
    Body,
    /// A run of lines that are comments.
    Comment,
    /// A run of `use` statements.
    Uses,
}

/// The folds of a file, in the order of the text.
pub fn folds(report: &Report) -> Vec<Fold> {
    let lines = &report.source.lines;
    let mut folds = Vec::new();
    let mut add = |span: TextRange, kind| {
        if lines.line_of(span.start) < lines.line_of(span.end) {
            folds.push(Fold { span, kind });
        }
    };
    let tree = &report.source.tree;
    uses(&tree.items, &mut add);
    for item in &tree.items {
        let statement = std::slice::from_ref(&*item.statement);
        statements(statement, &mut |span, kind| add(item.at(span), kind));
    }
    comments(&tree.tail, &mut |span, kind| add(tree.range(span), kind));
    folds.sort_by_key(|fold| fold.span);
    folds
}

fn uses(items: &[Item], add: &mut impl FnMut(TextRange, FoldKind)) {
    let is_use = |item: &Item| matches!(item.kind, StatementKind::Use(_));
    for run in items.chunk_by(|a, b| is_use(a) && is_use(b)) {
        if let [first, .., last] = run {
            add(first.range().to(last.range()), FoldKind::Uses);
        }
    }
}

/// Recursion is limited, as statements nest no deeper than file, system, block.
fn statements(all: &[Statement], add: &mut impl FnMut(Span, FoldKind)) {
    for statement in all {
        comments(&statement.before, add);
        if let Some(body) = statement.body() {
            add(body.span, FoldKind::Body);
            statements(&body.statements, add);
            comments(&body.tail, add);
        }
        if let StatementKind::Field(field) = &statement.kind
            && matches!(field.value.kind, ValueKind::Curve { .. })
        {
            add(field.value.span, FoldKind::Body);
        }
    }
}

/// Comments on lines of their own that follow each other.
fn comments(all: &[Comment], add: &mut impl FnMut(Span, FoldKind)) {
    for run in all.chunk_by(|_, next| !next.blank_before) {
        if let [first, .., last] = run {
            add(first.span.to(last.span), FoldKind::Comment);
        }
    }
}

/// The ranges to which a selection at an offset grows, step by step, the innermost first.
pub fn selections(report: &Report, offset: u32) -> Vec<TextRange> {
    let text = &report.source.text;
    let mut around = Around {
        offset,
        start: 0,
        spans: vec![TextRange::new(0, text.len())],
    };
    around.items(&report.source.tree.items);
    if let Some(word) = word_at(text, offset) {
        around.take(word);
    }
    around.spans.dedup();
    around.spans.reverse();
    around.spans
}

struct Around {
    offset: u32,
    /// Where the current top-level statement begins.
    start: u32,
    /// The ranges, outermost first; each is inside the one before it.
    spans: Vec<TextRange>,
}

impl Around {
    /// Notes a range if the offset is in it. Says whether it is.
    fn take(&mut self, span: TextRange) -> bool {
        let inside = span.touches(self.offset);
        let last = self.spans.last();
        if inside && last.is_some_and(|last| last.start <= span.start && span.end <= last.end) {
            self.spans.push(span);
        }
        inside
    }

    /// Notes a span of the current statement if the offset is in it.
    fn take_span(&mut self, span: Span) -> bool {
        self.take(span.from_start(self.start))
    }

    fn items(&mut self, items: &[Item]) {
        let first = items.partition_point(|item| item.range().end < self.offset);
        // Of two statements that meet at the offset, the one that begins there counts.
        let meant = items[first..]
            .iter()
            .take_while(|item| item.range().start <= self.offset)
            .last();
        if let Some(item) = meant {
            self.start = item.start;
            self.statement(&item.statement);
        }
    }

    fn statements(&mut self, statements: &[Statement]) {
        let at = |span: Span| span.from_start(self.start);
        let first = statements.partition_point(|s| at(s.span).end < self.offset);
        let meant = statements[first..]
            .iter()
            .take_while(|s| at(s.span).start <= self.offset)
            .last();
        if let Some(statement) = meant {
            self.statement(statement);
        }
    }

    fn statement(&mut self, statement: &Statement) {
        if !self.take_span(statement.span) {
            return;
        }
        match &statement.kind {
            StatementKind::Part(part) => self.body(&part.body),
            StatementKind::System(system) => self.body(&system.body),
            StatementKind::Block(Block {
                body: Some(body), ..
            }) => self.body(body),
            StatementKind::Field(field) => self.value(&field.value),
            StatementKind::Let(item) => self.value(&item.value),
            StatementKind::Require(require) => self.expression(&require.limit),
            _ => {}
        }
    }

    fn body(&mut self, body: &Body) {
        if !self.take_span(body.span) {
            return;
        }
        if body.whole && body.span.end >= body.span.start + 2 {
            self.take_span(body.inside());
        }
        self.statements(&body.statements);
    }

    fn value(&mut self, value: &Value) {
        if !self.take_span(value.span) {
            return;
        }
        match &value.kind {
            ValueKind::Plain(expr) => self.expression(expr),
            ValueKind::Tolerance {
                nominal: a,
                spread: b,
            }
            | ValueKind::Limits { low: a, high: b } => {
                self.expression(a);
                self.expression(b);
            }
            ValueKind::Curve { points, spread } => {
                for (x, y) in points {
                    if self.take_span(x.span.to(y.span)) {
                        self.expression(x);
                        self.expression(y);
                    }
                }
                if let Some(spread) = spread {
                    self.expression(spread);
                }
            }
            ValueKind::Text(_) | ValueKind::Bad => {}
        }
    }

    /// Recursion is limited, as expressions nest no deeper than the parser allows.
    fn expression(&mut self, expr: &Expr) {
        if !self.take_span(expr.span) {
            return;
        }
        match &expr.kind {
            ExprKind::Call { arguments, .. } => {
                for argument in arguments {
                    self.expression(argument);
                }
            }
            ExprKind::Negative(inner)
            | ExprKind::Group(inner)
            | ExprKind::Power { base: inner, .. } => self.expression(inner),
            ExprKind::Binary { left, right, .. }
            | ExprKind::Toleranced {
                nominal: left,
                spread: right,
            } => {
                self.expression(left);
                self.expression(right);
            }
            _ => {}
        }
    }
}

/// The word that an offset touches.
fn word_at(text: &str, offset: u32) -> Option<TextRange> {
    let (before, behind) = text.split_at_checked(offset as usize)?;
    let in_word = |c: char| c.is_alphanumeric() || c == '_' || c == '.';
    let start = before.trim_end_matches(in_word).len();
    let end = text.len() - behind.trim_start_matches(in_word).len();
    (start < end).then(|| TextRange::new(start, end))
}
