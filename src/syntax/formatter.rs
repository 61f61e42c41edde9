//! The canonical form: one output for a tree.
//!
//! Formatting never changes a value, keeps every comment, and formatting twice changes nothing.
//! A block or a curve that its author opened on a line of its own stays open; one written on a
//! single line stays there while it fits.

use super::{
    Block, Body, Comment, Expr, ExprKind, Field, Span, Statement, StatementKind, Tree, Value,
    ValueKind,
};

/// Lines are kept within this many characters where they can be broken.
const WIDTH: usize = 100;
const INDENT: usize = 4;

/// The canonical form of a text, from its tree. `None` if the text has flaws: it is then left
/// as it is.
pub fn format(text: &str, tree: &Tree) -> Option<String> {
    if !tree.flaws.is_empty() {
        return None;
    }
    let mut printer = Printer {
        text,
        out: String::with_capacity(text.len() + text.len() / 8),
        depth: 0,
    };
    printer.statements(&tree.statements, &tree.tail);
    let out = printer.out;
    Some(if text.contains("\r\n") {
        out.replace('\n', "\r\n")
    } else {
        out
    })
}

struct Printer<'a> {
    text: &'a str,
    out: String,
    depth: usize,
}

impl Printer<'_> {
    fn statements(&mut self, statements: &[Statement], tail: &[Comment]) {
        let widths = name_widths(statements);
        for (i, (statement, width)) in statements.iter().zip(widths).enumerate() {
            if statement.blank_before && i > 0 {
                self.out.push('\n');
            }
            self.comments(&statement.before, true);
            self.start_line();
            self.statement(statement, width);
            if let Some(after) = statement.after {
                self.out.push_str("  ");
                self.out.push_str(after.of(self.text).trim_end());
            }
            self.out.push('\n');
        }
        self.comments(tail, statements.is_empty());
    }

    /// Comments on lines of their own; `first` says that no blank line may come before them.
    fn comments(&mut self, comments: &[Comment], first: bool) {
        for (i, comment) in comments.iter().enumerate() {
            if comment.blank_before && !(first && i == 0) {
                self.out.push('\n');
            }
            self.start_line();
            self.out.push_str(comment.span.of(self.text).trim_end());
            self.out.push('\n');
        }
    }

    fn start_line(&mut self) {
        self.out
            .extend(std::iter::repeat_n(' ', self.depth * INDENT));
    }

    fn statement(&mut self, statement: &Statement, name_width: usize) {
        match &statement.kind {
            StatementKind::Use(item) => {
                self.push("use ");
                self.push(item.path.span.of(self.text));
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
                    self.push(title.span.of(self.text));
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
                            self.push("\n");
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
                    self.push(why.span.of(self.text));
                }
            }
            StatementKind::Allow(allow) => {
                self.push("allow ");
                self.push(&allow.check.text);
                self.push("  ");
                self.push(allow.why.span.of(self.text));
            }
            StatementKind::Bad => self.push(statement.span.of(self.text)),
        }
    }

    /// A block's body: on the line if it was written so and still fits.
    fn body(&mut self, body: &Body) {
        if body.statements.is_empty() && body.tail.is_empty() && body.opening.is_none() {
            self.push(" {}");
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
            let start = self.out.len();
            let column = self.column();
            self.push(" { ");
            for (i, statement) in body.statements.iter().enumerate() {
                if i > 0 {
                    self.push("  ");
                }
                self.statement(statement, 0);
            }
            self.push(" }");
            let written = &self.out[start..];
            if column + written.chars().count() <= WIDTH && !written.contains('\n') {
                return;
            }
            self.out.truncate(start);
        }
        self.open_body(body);
    }

    /// A body with a line for each statement.
    fn open_body(&mut self, body: &Body) {
        self.push(" {");
        if let Some(comment) = body.opening {
            self.push("  ");
            self.push(comment.of(self.text).trim_end());
        }
        self.push("\n");
        self.depth += 1;
        self.statements(&body.statements, &body.tail);
        self.depth -= 1;
        self.start_line();
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
                self.push(" ± ");
                self.expression(spread);
            }
            ValueKind::Limits { low, high } => {
                self.expression(low);
                self.push(" to ");
                self.expression(high);
            }
            ValueKind::Curve(points) => self.curve(value.span, points, &value.inner),
            ValueKind::Bad => self.push(value.span.of(self.text)),
        }
    }

    fn curve(&mut self, span: Span, points: &[(Expr, Expr)], inner: &[Span]) {
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
            self.push("\n");
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
        self.push("\n");
        self.start_line();
        self.push("}");
    }

    /// A comment inside a curve: behind what stands on its line, or on a line of its own.
    fn curve_comment(&mut self, behind: u32, comment: Span) {
        let between = Span::new(behind as usize, comment.start as usize).of(self.text);
        let taken = self
            .out
            .rsplit('\n')
            .next()
            .is_some_and(|line| line.contains('#'));
        if between.contains(['\n', '\r']) || taken {
            self.push("\n");
            self.start_line();
        } else {
            self.push("  ");
        }
        self.push(comment.of(self.text).trim_end());
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
                    start: expr.span.start,
                    end: unit_span.start,
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
            ExprKind::Group(inner) => {
                self.push("(");
                self.expression(inner);
                self.push(")");
            }
        }
    }

    /// A number as it was written, with one blank in a mixed one and no bare leading point.
    fn number(&mut self, span: Span) {
        let text = span.of(self.text);
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
        let text = span.of(self.text);
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
}

/// How wide the names are that each statement's `=` is aligned with: those of the run of
/// fields around it that no blank line, comment or other statement breaks.
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
