//! The canonical form of a tree, as text.
//!
//! A block or a curve that its author opened on a line of its own stays open. One written on a single line stays
//! there while it fits.

use super::{
    Block, Body, Comment, Expr, ExprKind, Field, Span, Statement, StatementKind, Tree, Value,
    ValueKind,
};

/// The width that lines are kept within, where they can be broken.
const WIDTH: usize = 100;
const INDENT: usize = 4;

/// A place in a text and the same place in its canonical form.
#[derive(Clone, Copy)]
pub(super) struct Cut {
    pub source: u32,
    pub canonical: usize,
}

/// A text in canonical form, with the places where its pieces begin and end in it and in the original.
pub(super) struct Printed {
    pub text: String,
    /// In order. The pieces are alternately blanks, and statements, comments or braces.
    pub cuts: Vec<Cut>,
}

/// Prints the tree of a text in canonical form. The tree must have no flaws.
pub(super) fn print(text: &str, tree: &Tree) -> Printed {
    let mut printer = Printer {
        text,
        line_end: if text.contains("\r\n") { "\r\n" } else { "\n" },
        out: String::with_capacity(text.len() + text.len() / 8),
        cuts: Vec::new(),
        depth: 0,
        start: 0,
    };
    printer.cut_at(0);
    printer.file(tree);
    printer.cut_at(text.len() as u32);
    Printed {
        text: printer.out,
        cuts: printer.cuts,
    }
}

struct Printer<'a> {
    text: &'a str,
    line_end: &'static str,
    out: String,
    cuts: Vec<Cut>,
    depth: usize,
    /// Where the top-level statement that is printed begins, from which its spans count.
    start: u32,
}

impl<'a> Printer<'a> {
    fn file(&mut self, tree: &Tree) {
        for (i, item) in tree.items.iter().enumerate() {
            self.start = item.start;
            self.statement_on_lines(&item.statement, 0, i == 0);
        }
        self.start = match tree.items.last() {
            Some(item) => item.extent().end,
            None => 0,
        };
        self.comments(&tree.tail, tree.items.is_empty());
    }

    fn statements(&mut self, statements: &[Statement], tail: &[Comment]) {
        let widths = name_widths(statements);
        for (i, (statement, width)) in statements.iter().zip(widths).enumerate() {
            self.statement_on_lines(statement, width, i == 0);
        }
        self.comments(tail, statements.is_empty());
    }

    /// A statement on lines of its own, with its comments.
    fn statement_on_lines(&mut self, statement: &Statement, name_width: usize, is_first: bool) {
        if statement.blank_before && !is_first {
            self.end_line();
        }
        self.comments(&statement.before, true);
        self.start_line();
        self.statement(statement, name_width);
        if let Some(after) = statement.after {
            self.push("  ");
            self.comment(after);
        }
        self.end_line();
    }

    /// The text that a span covers in the statement that is printed.
    fn text_of(&self, span: Span) -> &'a str {
        span.from_start(self.start).of(self.text)
    }

    /// Prints comments on lines of their own; `first` says that no blank line may come before them.
    fn comments(&mut self, comments: &[Comment], first: bool) {
        for (i, comment) in comments.iter().enumerate() {
            if comment.blank_before && !(first && i == 0) {
                self.end_line();
            }
            self.start_line();
            self.comment(comment.span);
            self.end_line();
        }
    }

    /// Prints a comment as a piece of its own.
    fn comment(&mut self, comment: Span) {
        self.cut(comment.start);
        self.push(self.text_of(comment).trim_end());
        self.cut(comment.end);
    }

    fn start_line(&mut self) {
        self.out
            .extend(std::iter::repeat_n(' ', self.depth * INDENT));
    }

    fn statement(&mut self, statement: &Statement, name_width: usize) {
        self.cut(statement.span.start);
        match &statement.kind {
            StatementKind::Use(item) => {
                self.push("use ");
                self.push(self.text_of(item.path.span));
            }
            StatementKind::Let(item) => {
                self.push("let ");
                self.push(&item.name.text);
                self.push(" = ");
                self.value(&item.value);
            }
            StatementKind::Part(part) => {
                self.push("part ");
                self.push(&part.block.text);
                self.push(" ");
                self.push(&part.name.text);
                self.body(&part.body);
            }
            StatementKind::System(system) => {
                self.push("system ");
                self.push(&system.name.text);
                if let Some(title) = &system.title {
                    self.push(" ");
                    self.push(self.text_of(title.span));
                }
                if let Some(base) = &system.base {
                    self.push(" from ");
                    self.push(&base.text);
                }
                self.open_body(&system.body);
            }
            StatementKind::Block(Block { block, name, body }) => {
                self.push(&block.text);
                if let Some(name) = name {
                    self.push(" ");
                    self.push(&name.text);
                }
                if let Some(body) = body {
                    self.body(body);
                }
            }
            StatementKind::Field(field) => self.field(field, name_width),
            StatementKind::Choose(choose) => {
                self.push("choose ");
                self.push(&choose.block.text);
                self.push(" ");
                for (i, part) in choose.parts.iter().enumerate() {
                    if i > 0 {
                        self.push(",");
                        if self.column() + part.text.chars().count() + 2 > WIDTH {
                            self.end_line();
                            self.start_line();
                            self.push("    ");
                        } else {
                            self.push(" ");
                        }
                    }
                    self.push(&part.text);
                }
            }
            StatementKind::Require(require) => {
                self.push("require ");
                self.push(&require.result.text);
                self.push(" ");
                self.push(require.comparison.symbol());
                self.push(" ");
                self.expression(&require.limit);
                if let Some(why) = &require.why {
                    self.push("  ");
                    self.push(self.text_of(why.span));
                }
            }
            StatementKind::Allow(allow) => {
                self.push("allow ");
                self.push(&allow.check.text);
                self.push("  ");
                self.push(self.text_of(allow.why.span));
            }
            StatementKind::Bad => self.push(self.text_of(statement.span)),
        }
        self.cut(statement.span.end);
    }

    /// Prints a block's body, on one line if it was written so and still fits.
    fn body(&mut self, body: &Body) {
        if body.statements.is_empty() && body.tail.is_empty() && body.opening.is_none() {
            self.open_brace(body);
            self.close_brace(body);
            return;
        }
        let plain = |statement: &Statement| {
            matches!(&statement.kind, StatementKind::Field(field) if field.value.inner.is_empty())
                && statement.before.is_empty()
                && statement.after.is_none()
        };
        let one_line = !self.opened(body.span)
            && body.opening.is_none()
            && body.tail.is_empty()
            && body.statements.iter().all(plain);
        if one_line {
            let (start, cuts) = (self.out.len(), self.cuts.len());
            let column = self.column();
            self.open_brace(body);
            for (i, statement) in body.statements.iter().enumerate() {
                self.push(if i > 0 { "  " } else { " " });
                self.statement(statement, 0);
            }
            self.push(" ");
            self.close_brace(body);
            let written = &self.out[start..];
            if column + written.chars().count() <= WIDTH && !written.contains('\n') {
                return;
            }
            self.out.truncate(start);
            self.cuts.truncate(cuts);
        }
        self.open_body(body);
    }

    /// Prints a body with a line for each statement.
    fn open_body(&mut self, body: &Body) {
        self.open_brace(body);
        if let Some(comment) = body.opening {
            self.push("  ");
            self.comment(comment);
        }
        self.end_line();
        self.depth += 1;
        self.statements(&body.statements, &body.tail);
        self.depth -= 1;
        self.start_line();
        self.close_brace(body);
    }

    /// Ends the piece that is a statement's head.
    fn open_brace(&mut self, body: &Body) {
        self.push(" {");
        self.cut(body.inside().start);
    }

    /// Begins the piece that ends a statement.
    fn close_brace(&mut self, body: &Body) {
        self.cut(body.inside().end);
        self.push("}");
    }

    fn field(&mut self, field: &Field, width: usize) {
        self.push(&field.name.text);
        let pad = width.saturating_sub(field.name.text.chars().count());
        self.out.extend(std::iter::repeat_n(' ', pad));
        self.push(" = ");
        self.value(&field.value);
    }

    fn value(&mut self, value: &Value) {
        match &value.kind {
            ValueKind::Plain(expr) => self.expression(expr),
            ValueKind::Tolerance { nominal, spread } => {
                self.expression(nominal);
                self.spread(Some(spread));
            }
            ValueKind::Limits { low, high } => {
                self.expression(low);
                self.push(" to ");
                self.expression(high);
            }
            ValueKind::Text(text) => self.push(self.text_of(text.span)),
            ValueKind::Curve { points, spread } => {
                self.curve(value.span, (points, spread.as_ref()), &value.inner);
            }
            ValueKind::Bad => self.push(self.text_of(value.span)),
        }
    }

    fn curve(
        &mut self,
        span: Span,
        (points, spread): (&[(Expr, Expr)], Option<&Expr>),
        inner: &[Span],
    ) {
        let start = self.out.len();
        let column = self.column();
        if inner.is_empty() && !self.opened(span) {
            self.push("curve { ");
            for (i, point) in points.iter().enumerate() {
                if i > 0 {
                    self.push(", ");
                }
                self.point(point);
            }
            self.push(" }");
            self.spread(spread);
            if column + self.out[start..].chars().count() <= WIDTH {
                return;
            }
            self.out.truncate(start);
        }
        self.push("curve {");
        self.depth += 1;
        let mut comments = inner.iter().copied().peekable();
        // A comment on the line of the opening brace stays there.
        let mut line_end = span.start;
        for (i, point) in points.iter().enumerate() {
            while let Some(comment) = comments.next_if(|c| c.start < point.0.span.start) {
                self.curve_comment(line_end, comment);
            }
            self.end_line();
            self.start_line();
            self.point(point);
            self.push(",");
            line_end = point.1.span.end;
            let next = points.get(i + 1).map_or(span.end, |next| next.0.span.start);
            while let Some(comment) = comments.next_if(|c| c.start < next) {
                self.curve_comment(line_end, comment);
                line_end = comment.end;
            }
        }
        for comment in comments {
            self.curve_comment(span.start, comment);
        }
        self.depth -= 1;
        self.end_line();
        self.start_line();
        self.push("}");
        self.spread(spread);
    }

    /// Prints the tolerance of a whole value.
    fn spread(&mut self, spread: Option<&Expr>) {
        if let Some(spread) = spread {
            self.push(" ± ");
            self.expression(spread);
        }
    }

    /// Prints a comment inside a curve: after the text on its line, or on a line of its own.
    fn curve_comment(&mut self, behind: u32, comment: Span) {
        let between = self.text_of(Span {
            start: behind,
            end: comment.start,
            ..comment
        });
        let taken = self
            .out
            .rsplit('\n')
            .next()
            .is_some_and(|line| line.contains('#'));
        if between.contains(['\n', '\r']) || taken {
            self.end_line();
            self.start_line();
        } else {
            self.push("  ");
        }
        self.push(self.text_of(comment).trim_end());
    }

    fn point(&mut self, (x, y): &(Expr, Expr)) {
        self.expression(x);
        self.push(": ");
        self.expression(y);
    }

    fn expression(&mut self, expr: &Expr) {
        match &expr.kind {
            ExprKind::Number(_) => self.number(expr.span),
            ExprKind::Quantity {
                unit, unit_span, ..
            } => {
                self.number(Span {
                    end: unit_span.start,
                    ..expr.span
                });
                self.push(" ");
                self.push(&unit.to_string());
            }
            ExprKind::Name(name) => self.push(name),
            ExprKind::Path { block, field } => {
                self.push(&block.text);
                self.push(".");
                self.push(&field.text);
            }
            ExprKind::Call {
                function,
                arguments,
            } => {
                self.push(&function.text);
                self.push("(");
                for (i, argument) in arguments.iter().enumerate() {
                    if i > 0 {
                        self.push(", ");
                    }
                    self.expression(argument);
                }
                self.push(")");
            }
            ExprKind::Negative(inner) => {
                self.push("-");
                self.expression(inner);
            }
            ExprKind::Binary {
                operator,
                left,
                right,
            } => {
                self.expression(left);
                self.push(" ");
                self.push(operator.symbol());
                self.push(" ");
                self.expression(right);
            }
            ExprKind::Power { base, exponent } => {
                self.expression(base);
                // Without the blanks the power would belong to the unit: `5 mm^2`.
                let quantity = matches!(base.kind, ExprKind::Quantity { .. });
                self.push(if quantity { " ^ " } else { "^" });
                self.push(&exponent.to_string());
            }
            ExprKind::Toleranced { nominal, spread } => {
                self.expression(nominal);
                self.spread(Some(spread));
            }
            ExprKind::Group(inner) => {
                self.push("(");
                self.expression(inner);
                self.push(")");
            }
        }
    }

    /// Prints a number as it was written, with one blank in a mixed number and a zero before a leading point.
    fn number(&mut self, span: Span) {
        let text = self.text_of(span);
        if text.starts_with('.') {
            self.push("0");
        }
        for (i, word) in text.split_whitespace().enumerate() {
            if i > 0 {
                self.push(" ");
            }
            self.push(&word.replace('E', "e"));
        }
    }

    /// Whether a line break follows the opening brace in the text.
    fn opened(&self, span: Span) -> bool {
        let text = self.text_of(span);
        let inside = text.split_once('{').map_or("", |(_, inside)| inside);
        inside
            .trim_start_matches([' ', '\t', '\u{00A0}'])
            .starts_with(['\n', '\r', '#'])
    }

    fn column(&self) -> usize {
        let line = self.out.rsplit('\n').next().unwrap_or_default();
        line.chars().count()
    }

    fn push(&mut self, text: &str) {
        self.out.push_str(text);
    }

    fn end_line(&mut self) {
        self.out.push_str(self.line_end);
    }

    /// Ends one piece at an offset of the statement that is printed, and begins another.
    fn cut(&mut self, offset: u32) {
        self.cut_at(self.start + offset);
    }

    /// Ends one piece at an offset of the whole text, and begins another.
    fn cut_at(&mut self, source: u32) {
        self.cuts.push(Cut {
            source,
            canonical: self.out.len(),
        });
    }
}

/// The width to which each statement's `=` is aligned. It is the longest name in the run of fields around it, which a
/// blank line, a comment or another statement ends.
fn name_widths(statements: &[Statement]) -> Vec<usize> {
    let mut widths = vec![0; statements.len()];
    let mut run = 0;
    for i in 0..statements.len() {
        let breaks = |statement: &Statement| {
            statement.blank_before
                || !statement.before.is_empty()
                || !matches!(statement.kind, StatementKind::Field(_))
        };
        if breaks(&statements[i]) {
            run = i;
        }
        let ends = statements.get(i + 1).is_none_or(breaks);
        if ends {
            let widest = statements[run..=i]
                .iter()
                .map(|statement| match &statement.kind {
                    StatementKind::Field(field) => field.name.text.chars().count(),
                    _ => 0,
                })
                .max()
                .unwrap_or(0);
            widths[run..=i].fill(widest);
            run = i + 1;
        }
    }
    widths
}
