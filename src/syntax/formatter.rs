//! The canonical form: one output for a tree, and the edits that lead to it.
//!
//! Formatting never changes a value, keeps every comment, and formatting twice changes nothing.
//! A block or a curve that its author opened on a line of its own stays open; one written on a
//! single line stays there while it fits.
//!
//! The layout of a text is a run of pieces that covers it without a gap: statements, comments and
//! braces by turns with the blanks between them. Every edit is the change of one piece, so edits
//! never overlap, and a part of the text is formatted by the changes of its own pieces.

use super::text_change::same_ends;
use super::{
    Block, Body, Comment, Edit, Expr, ExprKind, Field, Span, Statement, StatementKind, TextRange,
    Tree, Value, ValueKind,
};

/// Lines are kept within this many characters where they can be broken.
const WIDTH: usize = 100;
const INDENT: usize = 4;

/// The canonical form of a text, from its tree. `None` if the text has flaws: it is then left
/// as it is.
pub fn format(text: &str, tree: &Tree) -> Option<String> {
    Some(Layout::of(text, tree)?.canonical)
}

/// The edits that bring a text into its canonical form, in order and apart from each other; none
/// if it has it. `None` if the text has flaws.
pub fn format_edits(text: &str, tree: &Tree) -> Option<Vec<Edit>> {
    let layout = Layout::of(text, tree)?;
    Some(edits(text, layout.changes(0..layout.pieces())))
}

/// The edits that bring the statements that a range touches into their canonical form: of the
/// innermost list of statements that holds the whole range, those that it touches.
///
/// Neighbours keep their form. One that follows on the same line gets its own line where the
/// canonical form has it so. `None` if the text has flaws.
pub fn format_range(text: &str, tree: &Tree, range: TextRange) -> Option<Vec<Edit>> {
    let layout = Layout::of(text, tree)?;
    let statements = tree.items.iter().map(|item| (&*item.statement, item.start));
    let tail = tree.tail.iter().map(|comment| tree.range(comment.span));
    let touched = touched(statements, tail, range);
    Some(touched.map_or_else(Vec::new, |run| edits(text, layout.changes_of(run))))
}

/// The edits that bring the statement whose closing brace ends at an offset into its canonical
/// form. `None` if the text has flaws, or if no statement is closed there.
pub fn format_closed(text: &str, tree: &Tree, offset: u32) -> Option<Vec<Edit>> {
    let first = tree.items.partition_point(|item| item.range().end < offset);
    let item = tree.items.get(first)?;
    let statement = std::slice::from_ref(&*item.statement);
    let own_text = item.extent().of(text);
    let closed = closed_at(own_text, statement, offset.checked_sub(item.start)?)?;
    let layout = Layout::of(text, tree)?;
    Some(edits(text, layout.changes_of(item.at(extent(closed)))))
}

/// A statement with its comments.
fn extent(statement: &Statement) -> Span {
    let first = statement.before.first().map(|comment| comment.span);
    let last = statement.after.unwrap_or(statement.span);
    first.unwrap_or(statement.span).to(last)
}

/// The run of neighbouring statements and comments that a range touches, as deep inside as the
/// whole range is. Each statement comes with where its spans count from.
fn touched<'t>(
    statements: impl Iterator<Item = (&'t Statement, u32)>,
    tail: impl Iterator<Item = TextRange>,
    range: TextRange,
) -> Option<TextRange> {
    let is_touched = |at: TextRange| match range.start == range.end {
        true => at.touches(range.start),
        false => at.start < range.end && range.start < at.end,
    };
    let extent_of = |(statement, start): (&Statement, u32)| extent(statement).from_start(start);
    let inside: Vec<_> = statements.filter(|s| is_touched(extent_of(*s))).collect();
    let comments: Vec<_> = tail.filter(|comment| is_touched(*comment)).collect();
    if let ([(only, start)], []) = (&inside[..], &comments[..])
        && let Some(body) = only.body()
        && body
            .opening
            .map_or(body.inside().start, |comment| comment.end)
            + start
            <= range.start
        && range.end <= body.inside().from_start(*start).end
    {
        return touched_inside(body, *start, range);
    }
    let extents = inside.into_iter().map(extent_of);
    let mut all = extents.chain(comments);
    let first = all.next()?;
    Some(first.to(all.last().unwrap_or(first)))
}

/// The same in a body, no deeper than bodies nest.
fn touched_inside(body: &Body, start: u32, range: TextRange) -> Option<TextRange> {
    let statements: Vec<_> = body.statements.iter().map(|s| (s, start)).collect();
    let tail: Vec<_> = body
        .tail
        .iter()
        .map(|comment| comment.span.from_start(start))
        .collect();
    touched(statements.into_iter(), tail.into_iter(), range)
}

/// The innermost statement that a brace closes right before an offset of the text of the
/// statement of the file that they are in.
fn closed_at<'t>(text: &str, statements: &'t [Statement], offset: u32) -> Option<&'t Statement> {
    let first = statements.partition_point(|s| s.span.end < offset);
    let statement = statements.get(first).filter(|s| s.span.start < offset)?;
    let inner = |body: &'t Body| closed_at(text, &body.statements, offset);
    statement.body().and_then(inner).or_else(|| {
        let closes = statement.span.end == offset && statement.span.of(text).ends_with('}');
        closes.then_some(statement)
    })
}

/// Edits of changed pieces: those that touch made one, and each cut down to what differs.
fn edits(text: &str, changes: impl Iterator<Item = Edit>) -> Vec<Edit> {
    let mut edits: Vec<Edit> = Vec::new();
    for change in changes {
        let old = change.span.of(text);
        if old == change.text {
            continue;
        }
        let change = least(text, change);
        match edits.last_mut() {
            Some(last) if last.span.end == change.span.start => {
                last.span.end = change.span.end;
                last.text.push_str(&change.text);
            }
            _ => edits.push(change),
        }
    }
    edits
}

/// An edit without what stays the same at its ends. A line's end of two characters is never cut
/// in the middle: no position of the protocol lies there.
fn least(text: &str, edit: Edit) -> Edit {
    let [before, behind] = same_ends(edit.span.of(text), &edit.text);
    let range = TextRange::new(
        edit.span.start as usize + before,
        edit.span.end as usize - behind,
    );
    let parts_line_end = |at: u32| {
        let (left, right) = text.split_at(at as usize);
        left.ends_with('\r') && right.starts_with('\n')
    };
    if parts_line_end(range.start) || parts_line_end(range.end) {
        return edit;
    }
    let kept = before..edit.text.len() - behind;
    Edit {
        span: range,
        text: edit.text[kept].to_owned(),
    }
}

/// A text and its canonical form, cut into the same pieces.
struct Layout<'a> {
    text: &'a str,
    canonical: String,
    /// Where each piece begins and ends; those with an odd index are statements, comments and
    /// braces, and those between them are blanks.
    cuts: Vec<Cut>,
}

/// A place in a text and the same place in its canonical form.
#[derive(Clone, Copy)]
struct Cut {
    source: u32,
    canonical: usize,
}

impl<'a> Layout<'a> {
    fn of(text: &'a str, tree: &Tree) -> Option<Self> {
        if !tree.is_flawless() {
            return None;
        }
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
        Some(Self {
            text,
            canonical: printer.out,
            cuts: printer.cuts,
        })
    }

    fn pieces(&self) -> usize {
        self.cuts.len() - 1
    }

    /// What becomes of some of the pieces.
    fn changes(&self, pieces: std::ops::Range<usize>) -> impl Iterator<Item = Edit> {
        let ends = self.cuts[pieces.start..=pieces.end].windows(2);
        ends.map(|ends| Edit {
            span: TextRange {
                start: ends[0].source,
                end: ends[1].source,
            },
            text: self.canonical[ends[0].canonical..ends[1].canonical].to_owned(),
        })
    }

    /// What becomes of a run of statements and comments, of the blanks before it, and of those
    /// behind it as far as they are on its last line.
    fn changes_of(&self, run: TextRange) -> impl Iterator<Item = Edit> {
        let first = self.cuts.partition_point(|cut| cut.source <= run.start) - 1;
        let last = self.cuts.partition_point(|cut| cut.source < run.end);
        let behind = self.changes(last..last + 1).filter_map(move |mut gap| {
            let end = gap.span.of(self.text).find(['\n', '\r']);
            match end {
                Some(end) if last + 1 < self.pieces() => {
                    // What follows on another line stays there, as it is.
                    gap.span.end = gap.span.start + end as u32;
                    gap.text.contains('\n').then_some(Edit {
                        text: String::new(),
                        ..gap
                    })
                }
                _ => Some(gap),
            }
        });
        self.changes(first - 1..last).chain(behind)
    }
}

struct Printer<'a> {
    text: &'a str,
    line_end: &'static str,
    out: String,
    cuts: Vec<Cut>,
    depth: usize,
    /// Where the statement of the file that is printed begins: what its spans count from.
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

    /// What a span covers of the statement that is printed.
    fn text_of(&self, span: Span) -> &'a str {
        span.from_start(self.start).of(self.text)
    }

    /// Comments on lines of their own; `first` says that no blank line may come before them.
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

    /// A comment that is a piece of its own.
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

    /// A block's body: on the line if it was written so and still fits.
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

    /// A body with a line for each statement.
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

    /// The end of the piece that is a statement's head.
    fn open_brace(&mut self, body: &Body) {
        self.push(" {");
        self.cut(body.inside().start);
    }

    /// The piece that ends a statement, without its end.
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
                self.push(" ± ");
                self.expression(spread);
            }
            ValueKind::Limits { low, high } => {
                self.expression(low);
                self.push(" to ");
                self.expression(high);
            }
            ValueKind::Curve(points) => self.curve(value.span, points, &value.inner),
            ValueKind::Bad => self.push(self.text_of(value.span)),
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
    }

    /// A comment inside a curve: behind what stands on its line, or on a line of its own.
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
            ExprKind::Group(inner) => {
                self.push("(");
                self.expression(inner);
                self.push(")");
            }
        }
    }

    /// A number as it was written, with one blank in a mixed one and no bare leading point.
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

    /// One piece ends at an offset of the statement that is printed, and another begins.
    fn cut(&mut self, offset: u32) {
        self.cut_at(self.start + offset);
    }

    /// The same at an offset of the text.
    fn cut_at(&mut self, source: u32) {
        self.cuts.push(Cut {
            source,
            canonical: self.out.len(),
        });
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
