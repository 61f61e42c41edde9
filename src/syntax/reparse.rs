//! Parses a text, and updates the tree of a text after an edit. Only the statements around the edit are read again.
//!
//! A top-level statement without a flaw ends where its own text says so, whatever follows. So it is enough to read
//! the edited text with two statements on each side. If the outer ones have no flaw and are unchanged, everything
//! beyond them is unchanged too.

use super::cutter::{Statements, cut};
use super::{
    Allow, Block, Body, Choose, Comment, Expr, ExprKind, Field, Flaw, Item, Let, MAX_FILE_BYTES,
    MAX_FLAWS, Name, Part, Require, Span, Statement, StatementId, StatementKind, System, Text,
    TextChange, TextRange, Tree, Use, Value, ValueKind,
};
use crate::check_id::CheckId;
use rustc_hash::{FxHashMap, FxHashSet};
use std::hash::{DefaultHasher, Hasher};
use std::sync::{Arc, OnceLock};

/// Reads a whole file.
///
/// Never fails and never panics. What cannot be read is kept as [`StatementKind::Bad`] with a [`Flaw`]; everything
/// else is in the tree. Time and memory grow linearly with the text.
pub fn parse(text: &str) -> Tree {
    if text.len() > MAX_FILE_BYTES {
        let flaw = Flaw::new(
            CheckId::TooLarge,
            Span::default(),
            format!("this file is larger than {MAX_FILE_BYTES} bytes, the most that is read"),
        )
        .help("split it, and bring the parts together with `use`");
        return Tree {
            leading: vec![flaw],
            ..Tree::default()
        };
    }
    let mut copies = FxHashMap::default();
    let read = Items::of(text, 0, true, |hash| {
        let count = copies.entry(hash).or_insert(0);
        *count += 1;
        *count - 1
    });
    Tree {
        items: read.items,
        tail: read.tail,
        leading: read.leading,
        ..Tree::default()
    }
}

/// The tree of a text after a change, made from the tree before it. It equals what [`parse`] gives.
pub fn parse_after(old_text: &str, old: &Tree, change: TextChange, text: &str) -> Tree {
    around_change(old_text, old, change, text).unwrap_or_else(|| parse(text))
}

/// Whether only a line ending follows an offset on its line. True also at the start and at the end of a file.
fn newline_follows(text: &str, offset: usize) -> bool {
    let rest = text.get(offset..).unwrap_or_default();
    let rest = rest.trim_start_matches([' ', '\t']);
    offset == 0 || rest.is_empty() || rest.starts_with(['\n', '\r'])
}

/// The items of a run of whole lines of a file.
struct Items {
    items: Vec<Item>,
    tail: Vec<Comment>,
    leading: Vec<Flaw>,
}

impl Items {
    /// Reads a run of lines that begins at an offset of its file. `copy` gets the hash of each statement's text, and
    /// gives the number of equal statements before it.
    fn of(text: &str, offset: u32, begins_file: bool, mut copy: impl FnMut(u64) -> u32) -> Self {
        let Statements {
            statements,
            mut tail,
            flaws,
        } = cut(text, begins_file);
        let mut items: Vec<Item> = statements
            .into_iter()
            .map(|mut statement| {
                let range = extent(&statement);
                let hash = text_hash(range.of(text));
                let anchor = Anchor {
                    statement: StatementId::new(hash, copy(hash)),
                    start: range.start,
                };
                anchor.statement(&mut statement);
                Item {
                    start: range.start,
                    length: range.end - range.start,
                    id: anchor.statement,
                    statement: Arc::new(statement),
                    flaws: None,
                }
            })
            .collect();
        let end = Anchor {
            statement: StatementId::TAIL,
            start: items.last().map_or(0, |item| item.extent().end),
        };
        if !items.is_empty() {
            end.comments(&mut tail);
        }
        let mut leading = Vec::new();
        let mut flaws = flaws.into_iter().peekable();
        for i in 0..=items.len() {
            let next = items.get(i).map_or(u32::MAX, |item| item.start);
            let mut own: Vec<Flaw> =
                std::iter::from_fn(|| flaws.next_if(|flaw| flaw.span.start < next)).collect();
            own.iter_mut().for_each(|flaw| anchor_flaw(&items, flaw));
            match i.checked_sub(1) {
                None => leading = own,
                Some(_) if own.is_empty() => {}
                Some(before) => items[before].flaws = Some(own.into()),
            }
        }
        items.iter_mut().for_each(|item| item.start += offset);
        Self {
            items,
            tail,
            leading,
        }
    }
}

/// The extent of a statement with its comments, where its spans are those of a text.
fn extent(statement: &Statement) -> TextRange {
    let first = statement.before.first().map(|comment| comment.span);
    let last = statement.after.unwrap_or(statement.span);
    first.unwrap_or(statement.span).to(last).from_start(0)
}

fn text_hash(text: &str) -> u64 {
    let mut hasher = DefaultHasher::new();
    hasher.write(text.as_bytes());
    hasher.finish() % StatementId::HASHES
}

/// Makes each span of a flaw a span of the statement that begins last before it.
fn anchor_flaw(items: &[Item], flaw: &mut Flaw) {
    let edits = flaw.fixes.iter_mut().flat_map(|fix| &mut fix.edits);
    let spans = edits.map(|(span, _)| span);
    let spans = spans.chain(flaw.related.iter_mut().map(|(span, _)| span));
    for span in spans.chain([&mut flaw.span]) {
        let behind = items.partition_point(|item| item.start <= span.start);
        if let Some(item) = behind.checked_sub(1).and_then(|i| items.get(i)) {
            Anchor {
                statement: item.id,
                start: item.start,
            }
            .span(span);
        }
    }
}

/// The new tree, if the edit leaves statements without flaws around it.
fn around_change(old_text: &str, old: &Tree, change: TextChange, text: &str) -> Option<Tree> {
    if text.len() > MAX_FILE_BYTES || old_text.len() > MAX_FILE_BYTES {
        return None;
    }
    let before = change.old.start as usize;
    let edit_end = change.old.end as usize;
    let items = &old.items;
    let untouched = items.partition_point(|item| (item.extent().end as usize) < before);
    let beyond = items.partition_point(|item| item.start as usize <= edit_end);
    // Two items on each side are read again. A comment may have moved to the nearer one, and the farther one must be
    // unchanged.
    let head = &items[..untouched.saturating_sub(2)];
    let tail_at = (beyond + 2).min(items.len());
    let tail = &items[tail_at..];

    let window_start = head.last().map_or(0, |item| item.extent().end) as usize;
    let old_window_end = match tail {
        [] => old_text.len(),
        _ => items[tail_at - 1].extent().end as usize,
    };
    let window_end = old_window_end + text.len() - old_text.len();
    let lines_end = newline_follows(text, window_start) && newline_follows(text, window_end);
    if !lines_end || !flaws_stay(old, head, tail) {
        return None;
    }

    let was_read = &items[head.len()..tail_at];
    // Equal statements are told apart by their order in the whole file.
    let has_equal = |item: &Item| {
        let second = StatementId::new(item.id.text_hash(), 1);
        old.position(second).is_some()
    };
    if was_read.iter().any(has_equal) {
        return None;
    }
    let mut seen = FxHashSet::default();
    let mut is_alone = true;
    let read = Items::of(
        &text[window_start..window_end],
        window_start as u32,
        head.is_empty(),
        |hash| {
            let first = old.position(StatementId::new(hash, 0));
            let is_beyond = first.is_some_and(|at| at < head.len() || tail_at <= at);
            is_alone &= !is_beyond && seen.insert(hash);
            0
        },
    );
    let is_same = |new: Option<&Item>, was: Option<&Item>| {
        let (Some(new), Some(was)) = (new, was) else {
            return false;
        };
        // A flaw after it, up to the next statement, may be outside of the text that is read.
        new.flaws.is_none() && was.flaws.is_none() && new.statement == was.statement
    };
    let holds_before = head.is_empty()
        || is_same(read.items.first(), was_read.first())
            && read.items.first().map(|item| item.start) == was_read.first().map(|item| item.start);
    let holds_behind = tail.is_empty() || is_same(read.items.last(), was_read.last());
    if !is_alone || !holds_before || !holds_behind {
        return None;
    }

    let by_id = match read.items.len() == was_read.len() {
        true => {
            let pairs = (0u32..).zip(read.items.iter().zip(was_read));
            let edited = pairs.filter(|(_, (new, was))| new.id != was.id);
            let at = |(i, _)| head.len() as u32 + i;
            old.positions().after_edit(edited.map(at))
        }
        false => None,
    };
    let mut all = Vec::with_capacity(head.len() + read.items.len() + tail.len());
    all.extend_from_slice(head);
    all.extend(read.items);
    let by = text.len() as i64 - old_text.len() as i64;
    all.extend(tail.iter().map(|item| Item {
        start: (i64::from(item.start) + by) as u32,
        ..item.clone()
    }));
    Some(Tree {
        items: all,
        tail: match tail {
            [] => read.tail,
            _ => old.tail.clone(),
        },
        leading: match head {
            [] => read.leading,
            _ => old.leading.clone(),
        },
        by_id: by_id.map(OnceLock::from).unwrap_or_default(),
    })
}

/// Whether the flaws in statements beyond an edit stay as they are. How a flawed statement is read may depend on the
/// text up to the next `use`, `part` or `system`. So one of these without a flaw must be between it and the text that
/// is read again.
fn flaws_stay(old: &Tree, head: &[Item], tail: &[Item]) -> bool {
    let is_barrier = |item: &Item| {
        let kind = &item.statement.kind;
        let is_of_file = matches!(
            kind,
            StatementKind::Use(_) | StatementKind::Part(_) | StatementKind::System(_)
        );
        is_of_file && item.flaws.is_none()
    };
    let is_flawed = |item: &Item| item.flaws.is_some();
    let last_before = head.iter().rposition(is_flawed);
    let first_behind = tail.iter().position(is_flawed);
    if old.leading.is_empty() && last_before.is_none() && first_behind.is_none() {
        return true;
    }
    // Further flaws are not kept, wherever they are.
    let has_room = old.flaws().count() < MAX_FLAWS / 2;
    let between = &head[last_before.map_or(0, |last| last + 1)..];
    let is_same_before = last_before.is_none() || between.iter().any(is_barrier);
    let is_same_behind = first_behind.is_none_or(|first| tail[..first].iter().any(is_barrier));
    has_room && is_same_before && is_same_behind
}

/// Makes the spans of a text those of a statement in it.
#[derive(Clone, Copy)]
struct Anchor {
    statement: StatementId,
    /// Where the statement begins in the text.
    start: u32,
}

impl Anchor {
    fn span(self, span: &mut Span) {
        *span = Span {
            statement: self.statement,
            start: span.start.saturating_sub(self.start),
            end: span.end.saturating_sub(self.start),
        };
    }

    fn spans<'a>(self, spans: impl IntoIterator<Item = &'a mut Span>) {
        spans.into_iter().for_each(|span| self.span(span));
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
            ValueKind::Curve { points, spread } => {
                for (x, y) in points {
                    self.expression(x);
                    self.expression(y);
                }
                spread.iter_mut().for_each(|spread| self.expression(spread));
            }
            ValueKind::Text(text) => self.text(text),
            ValueKind::Bad => {}
        }
    }

    /// Recursion is limited: expressions nest no deeper than [`super::MAX_NESTING`] and their length allow.
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
            ExprKind::Binary { left, right, .. }
            | ExprKind::Toleranced {
                nominal: left,
                spread: right,
            } => {
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

    /// Whether the edit is read without the rest of the file. The result must equal that of the whole file.
    fn read_alone(file: &str, from: &str, to: &str) -> bool {
        let edited = file.replacen(from, to, 1);
        assert_ne!(file, edited);
        let old = parse(file);
        let change = TextChange::between(file, &edited);
        assert_eq!(
            parse_after(file, &old, change, &edited),
            parse(&edited),
            "{edited}"
        );
        around_change(file, &old, change, &edited).is_some()
    }

    #[test]
    fn an_edit_in_a_file_without_flaws_is_parsed_alone() {
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
    fn equal_statements_have_the_identities_of_a_new_parse() {
        let equal = "part master m { bore = 19 mm }\n";
        let file = format!("{equal}{FILE}let last = 1 mm\n{equal}{equal}");
        // Edited one after the other, each time that which stands first.
        assert!(!read_alone(&file, "19 mm", "20 mm"));
        assert!(!read_alone(
            &file.replacen("19 mm", "20 mm", 1),
            "19 mm",
            "20 mm"
        ));
        assert!(read_alone(&file, "6 }", "60 }"));
    }

    #[test]
    fn an_edited_statement_is_found_by_its_identity() {
        let mut text: String = (0..100).map(|i| format!("let a{i} = 1 mm\n")).collect();
        let mut tree = parse(&text);
        for at in 0..100 {
            let next = text.replace(&format!("a{at} = 1"), &format!("a{at} = 12"));
            let change = TextChange::between(&text, &next);
            tree = around_change(&text, &tree, change, &next).expect("it is read alone");
            text = next;
            for (i, item) in tree.items.iter().enumerate() {
                assert_eq!(tree.position(item.id), Some(i));
            }
            let unknown = StatementId::new(text_hash("let a0 = 1 mm"), 0);
            assert_eq!(tree.position(unknown), None);
        }
    }

    #[test]
    fn an_edit_that_may_change_its_surroundings_is_parsed_with_them() {
        for (from, to) in [("# one\n", ""), ("let b = 2 mm\n\n# a van\n", "")] {
            read_alone(FILE, from, to);
        }
        // Something missing at the end of the statement before the window is not part of the window.
        let bare = "system van\nuse \"a.clutch\"\nuse \"b.clutch\"\nuse \"c.clutch\"\n";
        assert!(!read_alone(bare, "c.clutch", "d.clutch"));
    }

    #[test]
    fn a_lasting_mistake_is_not_parsed_again_with_distant_edits() {
        let sound = "system a { }\nsystem b { }\nsystem c { }\n";
        for mistake in ["system open { pedal { ratio = 6\n", "let x = \n", "}\n"] {
            let above = format!("{mistake}{sound}{FILE}");
            assert!(read_alone(&above, "90 mm", "95 mm"), "{above}");
            let below = format!("{FILE}{sound}{mistake}");
            assert!(read_alone(&below, "2 mm", "25 mm"), "{below}");
        }
    }

    #[test]
    fn an_extra_brace_is_still_reported_after_edits_above_it() {
        let excess = "let a = 1 mm\nsystem b { }\nsystem c { }\n}\nsystem d { }\nsystem e { }\n";
        assert!(!read_alone(excess, "1 mm", "11 mm"));
    }
}
