//! Reads a file again after an edit: only the statements around the edit are read anew.
//!
//! A statement that a file holds ends where the text says so, whatever follows, as long as
//! nothing is wrong with it. So it is enough to read what was edited together with one sound
//! statement on each side; if these two come out as they were, so does all beyond them.

use super::cutter::{self, newline_follows};
use super::{
    Allow, Block, Body, Choose, Comment, Expr, ExprKind, Field, Flaw, Let, MAX_FILE_BYTES, Name,
    Part, Require, Span, Statement, StatementKind, System, Text, Tree, Use, Value, ValueKind,
};

/// The tree of a text, from that of the text before it was edited. It is the same as that of
/// [`super::parse`].
pub fn parse_after(old_text: &str, old: &Tree, text: &str) -> Tree {
    around_edit(old_text, old, text).unwrap_or_else(|| cutter::parse(text))
}

/// How many bytes two texts have in common at their starts and, of the rest, at their ends; of
/// whole characters.
pub fn same_ends(old: &str, new: &str) -> [usize; 2] {
    let mut before = common(old.as_bytes().iter(), new.as_bytes().iter());
    while !old.is_char_boundary(before) {
        before -= 1;
    }
    let (old, new) = (&old[before..], &new[before..]);
    let mut behind = common(old.as_bytes().iter().rev(), new.as_bytes().iter().rev());
    while !old.is_char_boundary(old.len() - behind) {
        behind -= 1;
    }
    [before, behind]
}

fn common<'a>(a: impl Iterator<Item = &'a u8>, b: impl Iterator<Item = &'a u8>) -> usize {
    a.zip(b).take_while(|(a, b)| a == b).count()
}

/// The tree, if the edit leaves sound statements alone.
fn around_edit(old_text: &str, old: &Tree, text: &str) -> Option<Tree> {
    if text.len() > MAX_FILE_BYTES || old_text.len() > MAX_FILE_BYTES {
        return None;
    }
    let [before, behind] = same_ends(old_text, text);
    let edit_end = old_text.len() - behind;
    let statements = &old.statements;
    let untouched = statements.partition_point(|s| (end_of(s) as usize) < before);
    let beyond = statements.partition_point(|s| s.span.start as usize <= edit_end);
    // One of them on each side is read again, to see whether it comes out the same.
    let head = &statements[..untouched.saturating_sub(1)];
    let tail_at = if beyond < statements.len() {
        beyond + 1
    } else {
        beyond
    };
    let tail = &statements[tail_at..];

    let window_start = head.last().map_or(0, end_of) as usize;
    let old_window_end = match tail {
        [] => old_text.len(),
        _ => end_of(&statements[tail_at - 1]) as usize,
    };
    let window_end = old_window_end + text.len() - old_text.len();
    // What is missing at the very end of a statement is a flaw of that statement.
    let in_window = |flaw: &Flaw| {
        let (start, end) = (flaw.span.start as usize, flaw.span.end as usize);
        (head.is_empty() || window_start < start) && (tail.is_empty() || end < old_window_end)
    };
    let lines_end = newline_follows(text, window_start) && newline_follows(text, window_end);
    if !old.flaws.iter().all(in_window) || !lines_end {
        return None;
    }

    let window = cutter::parse_part(&text[window_start..window_end], head.is_empty());
    let by = text.len() as i64 - old_text.len() as i64;
    let into_text = Shift(window_start as i64);
    let back = Shift(-by);
    let same = |new: Option<&Statement>, was: Option<&Statement>, moved: Shift| {
        let (Some(new), Some(was)) = (new, was) else {
            return false;
        };
        let mut span = new.span;
        into_text.span(&mut span);
        let is_sound = !window.is_flawed(new.span);
        moved.span(&mut span);
        is_sound && span == was.span && kind(new) == kind(was)
    };
    let holds_before = head.is_empty()
        || same(
            window.statements.first(),
            statements.get(untouched - 1),
            Shift(0),
        );
    let holds_behind =
        tail.is_empty() || same(window.statements.last(), statements.get(tail_at - 1), back);
    if !holds_before || !holds_behind {
        return None;
    }

    let mut read = window;
    read.statements
        .iter_mut()
        .for_each(|s| into_text.statement(s));
    read.tail
        .iter_mut()
        .for_each(|c| into_text.span(&mut c.span));
    read.flaws.iter_mut().for_each(|flaw| into_text.flaw(flaw));
    let mut all = Vec::with_capacity(head.len() + read.statements.len() + tail.len());
    all.extend_from_slice(head);
    all.append(&mut read.statements);
    let first_moved = all.len();
    all.extend_from_slice(tail);
    let moved = Shift(by);
    if by != 0 {
        all[first_moved..]
            .iter_mut()
            .for_each(|s| moved.statement(s));
    }
    let mut end = read.tail;
    if !tail.is_empty() {
        end = old.tail.clone();
        end.iter_mut().for_each(|c| moved.span(&mut c.span));
    }
    Some(Tree {
        statements: all,
        tail: end,
        flaws: read.flaws,
    })
}

/// The end of a statement and of the comment behind it.
fn end_of(statement: &Statement) -> u32 {
    statement.after.unwrap_or(statement.span).end
}

fn kind(statement: &Statement) -> std::mem::Discriminant<StatementKind> {
    std::mem::discriminant(&statement.kind)
}

/// Moves everything in a tree by so many bytes.
#[derive(Clone, Copy)]
struct Shift(i64);

impl Shift {
    fn span(self, span: &mut Span) {
        let moved = |offset: u32| u32::try_from(i64::from(offset) + self.0).unwrap_or(offset);
        *span = Span {
            start: moved(span.start),
            end: moved(span.end),
        };
    }

    fn spans<'a>(self, spans: impl IntoIterator<Item = &'a mut Span>) {
        spans.into_iter().for_each(|span| self.span(span));
    }

    fn flaw(self, flaw: &mut Flaw) {
        let edits = flaw.fixes.iter_mut().flat_map(|fix| &mut fix.edits);
        self.spans(edits.map(|edit| &mut edit.span));
        self.spans(flaw.related.iter_mut().map(|(span, _)| span));
        self.span(&mut flaw.span);
    }

    fn comments(self, comments: &mut [Comment]) {
        self.spans(comments.iter_mut().map(|comment| &mut comment.span));
    }

    fn name(self, name: &mut Name) {
        self.span(&mut name.span);
    }

    fn text(self, text: &mut Text) {
        self.span(&mut text.span);
    }

    fn statement(self, statement: &mut Statement) {
        self.span(&mut statement.span);
        self.comments(&mut statement.before);
        self.spans(&mut statement.after);
        match &mut statement.kind {
            StatementKind::Use(Use { path }) => self.text(path),
            StatementKind::Let(Let { name, value })
            | StatementKind::Field(Field { name, value }) => {
                self.name(name);
                self.value(value);
            }
            StatementKind::Part(Part { block, name, body }) => {
                self.name(block);
                self.name(name);
                self.body(body);
            }
            StatementKind::System(System {
                name,
                title,
                base,
                body,
            }) => {
                self.name(name);
                title.iter_mut().for_each(|title| self.text(title));
                base.iter_mut().for_each(|base| self.name(base));
                self.body(body);
            }
            StatementKind::Block(Block { block, name, body }) => {
                self.name(block);
                name.iter_mut().for_each(|name| self.name(name));
                body.iter_mut().for_each(|body| self.body(body));
            }
            StatementKind::Choose(Choose { block, parts }) => {
                self.name(block);
                parts.iter_mut().for_each(|part| self.name(part));
            }
            StatementKind::Require(Require {
                result,
                comparison: _,
                limit,
                why,
            }) => {
                self.name(result);
                self.expression(limit);
                why.iter_mut().for_each(|why| self.text(why));
            }
            StatementKind::Allow(Allow { check, why }) => {
                self.name(check);
                self.text(why);
            }
            StatementKind::Bad => {}
        }
    }

    fn body(self, body: &mut Body) {
        self.span(&mut body.span);
        self.spans(&mut body.opening);
        self.comments(&mut body.tail);
        body.statements.iter_mut().for_each(|s| self.statement(s));
    }

    fn value(self, value: &mut Value) {
        self.span(&mut value.span);
        self.spans(&mut value.inner);
        match &mut value.kind {
            ValueKind::Plain(expression) => self.expression(expression),
            ValueKind::Tolerance {
                nominal: one,
                spread: other,
            }
            | ValueKind::Limits {
                low: one,
                high: other,
            } => {
                self.expression(one);
                self.expression(other);
            }
            ValueKind::Curve(points) => {
                for (x, y) in points {
                    self.expression(x);
                    self.expression(y);
                }
            }
            ValueKind::Bad => {}
        }
    }

    /// Expressions are nested no deeper than [`super::MAX_NESTING`] and the length of one allow.
    fn expression(self, expression: &mut Expr) {
        self.span(&mut expression.span);
        match &mut expression.kind {
            ExprKind::Number(_) | ExprKind::Name(_) => {}
            ExprKind::Quantity { unit_span, .. } => self.span(unit_span),
            ExprKind::Path { block, field } => {
                self.name(block);
                self.name(field);
            }
            ExprKind::Call {
                function,
                arguments,
            } => {
                self.name(function);
                arguments.iter_mut().for_each(|a| self.expression(a));
            }
            ExprKind::Negative(inner) | ExprKind::Group(inner) => self.expression(inner),
            ExprKind::Power { base, .. } => self.expression(base),
            ExprKind::Binary { left, right, .. } => {
                self.expression(left);
                self.expression(right);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const FILE: &str = "# first\nuse \"a.clutch\"\n\nlet a = 1 mm  # one\nlet b = 2 mm\n\n# a van\nsystem van {\n    pedal { ratio = 6 }\n}\nlet c = 3 mm\nsystem low from van { pedal { travel = 90 mm } }\n# last\n";

    /// Whether the edit is read by itself; what comes of it is what the whole file gives.
    fn read_alone(file: &str, from: &str, to: &str) -> bool {
        let edited = file.replacen(from, to, 1);
        assert_ne!(file, edited);
        let old = cutter::parse(file);
        assert_eq!(
            parse_after(file, &old, &edited),
            cutter::parse(&edited),
            "{edited}"
        );
        around_edit(file, &old, &edited).is_some()
    }

    #[test]
    fn what_is_typed_in_a_sound_file_is_read_alone() {
        for (from, to) in [
            ("6 }", "60 }"),
            ("6 }", " }"),
            ("ratio = 6", "ratio = "),
            ("2 mm\n", "2 mm\nlet d = 4\n"),
            ("2 mm", "2 m"),
            ("# a van\n", ""),
            ("let c", "lett c"),
            ("# first", "# the first\n\n# of all"),
            ("# last\n", ""),
        ] {
            assert!(read_alone(FILE, from, to), "{from:?} to {to:?}");
        }
    }

    #[test]
    fn what_may_change_its_surroundings_is_read_with_them() {
        for (from, to) in [("# one\n", ""), ("let b = 2 mm\n\n# a van\n", "")] {
            read_alone(FILE, from, to);
        }
        // What is missing at the end of the statement before the window is no part of it.
        let bare = "system van\nuse \"a.clutch\"\nuse \"c.clutch\"\n";
        assert!(!read_alone(bare, "c.clutch", "d.clutch"));
        let unclosed = FILE.replacen("6 }\n}", "6 }\n", 1);
        assert!(!read_alone(&unclosed, "90 mm", "95 mm"));
    }
}
