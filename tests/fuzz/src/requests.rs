//! Whatever an editor asks to be formatted, it gets edits that it can apply, and they bring the
//! statements that were asked for into the form that they have in the canonical text, and change
//! nothing else.

use bitepoint::syntax::{
    Edit, Span, Statement, TokenKind, Tree, format, format_closed, format_edits, format_range,
    parse, tokens,
};

/// A text without flaws, and what it is in canonical form.
pub struct Sound<'a> {
    text: &'a str,
    tree: Tree,
    canonical: String,
}

impl<'a> Sound<'a> {
    /// `None` for a text with flaws, which no request changes.
    pub fn new(text: &'a str) -> Option<Self> {
        let tree = parse(text);
        let Some(canonical) = format(text, &tree) else {
            let end = text.len();
            assert!(!tree.flaws.is_empty());
            assert_eq!(format_edits(text, &tree), None);
            assert_eq!(format_range(text, &tree, Span::new(0, end)), None);
            assert_eq!(format_closed(text, &tree, end as u32), None);
            return None;
        };
        Some(Self {
            text,
            tree,
            canonical,
        })
    }

    /// The edits of the whole text lead to what `fmt` writes, and that says the same.
    pub fn whole(&self) {
        let edits = format_edits(self.text, &self.tree).expect("there are no flaws");
        assert_eq!(applied(self.text, &edits), self.canonical);
        assert_eq!(essence(self.text), essence(&self.canonical));
    }

    pub fn range(&self, range: Span) {
        let edits = format_range(self.text, &self.tree, range).expect("there are no flaws");
        self.formats(&edits, range);
    }

    /// What was typed last is the character before an offset.
    pub fn typed(&self, offset: u32) {
        let Some(edits) = format_closed(self.text, &self.tree, offset) else {
            return;
        };
        assert!(self.text[..offset as usize].ends_with('}'));
        self.formats(&edits, Span::new(offset as usize - 1, offset as usize));
    }

    /// All statements and comments of the file, one after the other, come to the whole.
    pub fn one_by_one(&self) {
        let comments = self.tree.tail.iter().map(|comment| comment.span);
        let all: Vec<Span> = self
            .tree
            .statements
            .iter()
            .map(extent)
            .chain(comments)
            .collect();
        let mut text = self.text.to_owned();
        for span in all.iter().rev() {
            let edits = format_range(&text, &parse(&text), *span).expect("there are no flaws");
            text = applied(&text, &edits);
        }
        assert!(
            all.is_empty() || one_line_end(&text) == one_line_end(&self.canonical),
            "{text}\n---\n{}",
            self.canonical
        );
    }

    fn formats(&self, edits: &[Edit], range: Span) {
        let after = applied(self.text, edits);
        let tree = parse(&after);
        let canonical = format(&after, &tree);
        assert_eq!(
            canonical.as_deref().map(one_line_end),
            Some(one_line_end(&self.canonical)),
            "{}\n---\n{after}\n---\n{:?}",
            self.text,
            tree.flaws
        );
        let was = (self.text, &*self.tree.statements);
        let is = (&*after, &*tree.statements);
        let canonical = parse(&self.canonical);
        let wanted = (&*self.canonical, &*canonical.statements);
        only_what_is_touched(was, is, wanted, range);
    }
}

/// A text of several kinds of line ends may lose the one that decides which it gets.
fn one_line_end(text: &str) -> String {
    text.replace('\r', "")
}

type Part<'a> = (&'a str, &'a [Statement]);

/// Each statement is as it was, if it is not touched, and else as it is in the canonical form, or
/// only something inside of it is touched.
fn only_what_is_touched(was: Part<'_>, is: Part<'_>, wanted: Part<'_>, range: Span) {
    let count = was.1.len();
    assert_eq!(
        (is.1.len(), wanted.1.len()),
        (count, count),
        "{}\n---\n{}",
        was.0,
        is.0
    );
    for ((old, new), form) in was.1.iter().zip(is.1).zip(wanted.1) {
        if !is_touched(extent(old), range) {
            assert_eq!(
                old.span.of(was.0),
                new.span.of(is.0),
                "{}\n---\n{}",
                was.0,
                is.0
            );
        } else if one_line_end(new.span.of(is.0)) != one_line_end(form.span.of(wanted.0)) {
            let (old, new, form) = match (old.body(), new.body(), form.body()) {
                (Some(old), Some(new), Some(form)) => (old, new, form),
                _ => panic!("{}\n---\n{}", was.0, is.0),
            };
            // A cursor between braces and behind one of them touches what is inside.
            let braces = [old.span.start, old.span.end - 1];
            let overlaps = |at: u32| range.start <= at && at < range.end;
            assert!(
                !braces.into_iter().any(overlaps),
                "{}\n---\n{}",
                was.0,
                is.0
            );
            only_what_is_touched(
                (was.0, &old.statements),
                (is.0, &new.statements),
                (wanted.0, &form.statements),
                range,
            );
        }
    }
}

fn is_touched(span: Span, range: Span) -> bool {
    match range.start == range.end {
        true => span.touches(range.start),
        false => span.start < range.end && range.start < span.end,
    }
}

/// A statement with its comments.
fn extent(statement: &Statement) -> Span {
    let first = statement
        .before
        .first()
        .map_or(statement.span, |comment| comment.span);
    first.to(statement.after.unwrap_or(statement.span))
}

/// A text with edits made all at once, as an editor does it: each changes something, they come
/// in order, and there is something between each two.
pub fn applied(text: &str, edits: &[Edit]) -> String {
    let mut after = String::new();
    let mut at = 0;
    for (i, edit) in edits.iter().enumerate() {
        let range = edit.span.range();
        assert!(range.start > at || i == 0, "{edits:?} touch");
        assert_ne!(&text[range.clone()], edit.text, "nothing changes");
        for end in [range.start, range.end] {
            let (left, right) = text.split_at(end);
            assert!(
                !(left.ends_with('\r') && right.starts_with('\n')),
                "{edit:?}"
            );
        }
        after.push_str(&text[at..range.start]);
        after.push_str(&edit.text);
        at = range.end;
    }
    after + &text[at..]
}

/// What a text says, in the order in which it says it: its comments, and all else without what
/// the canonical form may change, which is blanks, separators, and spellings of one thing.
pub fn essence(text: &str) -> (Vec<&str>, String) {
    let (comments, code): (Vec<_>, Vec<_>) = tokens(text)
        .into_iter()
        .filter(|token| !matches!(token.kind, TokenKind::Comma | TokenKind::Newline))
        .partition(|token| token.is(TokenKind::Comment));
    let code: String = code
        .iter()
        .enumerate()
        .map(|(i, token)| match (token.kind, token.span.of(text)) {
            (TokenKind::Text, text) => text.to_owned(),
            (_, ".")
                if code
                    .get(i + 1)
                    .is_some_and(|next| next.is(TokenKind::Number)) =>
            {
                "0.".to_owned()
            }
            (_, code) => spelled(code),
        })
        .collect();
    let comments = comments.iter().map(|token| token.span.of(text).trim_end());
    (
        comments.collect(),
        code.replace("+/-", "±").replace("+-", "±"),
    )
}

fn spelled(code: &str) -> String {
    let code = code.replace(['·', '×'], "*").replace('E', "e");
    code.replace('²', "^2").replace('³', "^3")
}
