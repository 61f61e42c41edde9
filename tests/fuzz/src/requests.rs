//! For any formatting request, an editor gets edits that it can apply. They bring the requested statements into their
//! canonical form and change nothing else.

use bitepoint::syntax::{
    Edit, Span, Statement, TextRange, TokenKind, Tree, format, format_closed, format_edits,
    format_range, parse, tokens,
};

/// A text without flaws, and its canonical form.
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
            assert!(!tree.is_flawless());
            assert_eq!(format_edits(text, &tree), None);
            assert_eq!(format_range(text, &tree, TextRange::new(0, end)), None);
            assert_eq!(format_closed(text, &tree, end as u32), None);
            return None;
        };
        Some(Self {
            text,
            tree,
            canonical,
        })
    }

    /// The edits of the whole text give what `fmt` writes, with the same meaning.
    pub fn whole(&self) {
        let edits = format_edits(self.text, &self.tree).expect("there are no flaws");
        assert_eq!(applied(self.text, &edits), self.canonical);
        assert_eq!(essence(self.text), essence(&self.canonical));
    }

    pub fn range(&self, range: TextRange) {
        let edits = format_range(self.text, &self.tree, range).expect("there are no flaws");
        self.formats(&edits, range);
    }

    /// Checks formatting after a typed character, the one before an offset.
    pub fn typed(&self, offset: u32) {
        let Some(edits) = format_closed(self.text, &self.tree, offset) else {
            return;
        };
        assert!(self.text[..offset as usize].ends_with('}'));
        self.formats(&edits, TextRange::new(offset as usize - 1, offset as usize));
    }

    /// Formatting all statements and comments one after the other equals formatting the whole.
    pub fn one_by_one(&self) {
        let tree = &self.tree;
        let comments = tree.tail.iter().map(|comment| tree.range(comment.span));
        let statements = tree.items.iter().map(|item| item.extent());
        let all: Vec<TextRange> = statements.chain(comments).collect();
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

    fn formats(&self, edits: &[Edit], range: TextRange) {
        let after = applied(self.text, edits);
        let tree = parse(&after);
        let canonical = format(&after, &tree);
        assert_eq!(
            canonical.as_deref().map(one_line_end),
            Some(one_line_end(&self.canonical)),
            "{}\n---\n{after}\n---\n{tree:?}",
            self.text
        );
        let canonical = parse(&self.canonical);
        only_what_is_touched(
            &Part::of_file(self.text, &self.tree),
            &Part::of_file(&after, &tree),
            &Part::of_file(&self.canonical, &canonical),
            range,
        );
    }
}

/// A text with a single kind of line end. With several kinds, an edit may remove the one that decides which kind it
/// gets.
fn one_line_end(text: &str) -> String {
    text.replace('\r', "")
}

/// Neighboring statements of a text, each with the offset from which its spans count.
struct Part<'a> {
    text: &'a str,
    statements: Vec<(u32, &'a Statement)>,
}

impl<'a> Part<'a> {
    fn of_file(text: &'a str, tree: &'a Tree) -> Self {
        let statements = tree.items.iter();
        let statements = statements.map(|item| (item.start, &*item.statement));
        Self {
            text,
            statements: statements.collect(),
        }
    }

    fn of_body(text: &'a str, (start, statement): (u32, &'a Statement)) -> Option<Self> {
        let statements = statement.body()?.statements.iter();
        Some(Self {
            text,
            statements: statements.map(|inner| (start, inner)).collect(),
        })
    }

    /// The words of one of its statements, without comments.
    fn words(&self, (start, statement): (u32, &Statement)) -> &'a str {
        statement.span.from_start(start).of(self.text)
    }
}

/// A statement that is not touched is unchanged. A touched one has its canonical form, or only something inside of it
/// is touched.
fn only_what_is_touched(was: &Part<'_>, is: &Part<'_>, wanted: &Part<'_>, range: TextRange) {
    let both = format!("{}\n---\n{}", was.text, is.text);
    let counts = [was, is, wanted].map(|part| part.statements.len());
    assert_eq!([counts[0]; 3], counts, "{both}");
    let pairs = was.statements.iter().zip(&is.statements);
    for ((old, new), form) in pairs.zip(&wanted.statements) {
        if !is_touched(extent(old.1).from_start(old.0), range) {
            assert_eq!(was.words(*old), is.words(*new), "{both}");
        } else if one_line_end(is.words(*new)) != one_line_end(wanted.words(*form)) {
            let inside = [(was, old), (is, new), (wanted, form)];
            let inside = inside.map(|(part, statement)| Part::of_body(part.text, *statement));
            let [Some(inner), Some(new), Some(form)] = inside else {
                panic!("{both}");
            };
            // A cursor between braces and behind one of them touches what is inside.
            let body = old.1.body().expect("it has one").span.from_start(old.0);
            let overlaps = |at: u32| range.start <= at && at < range.end;
            assert!(
                ![body.start, body.end - 1].into_iter().any(overlaps),
                "{both}"
            );
            only_what_is_touched(&inner, &new, &form, range);
        }
    }
}

fn is_touched(span: TextRange, range: TextRange) -> bool {
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

/// A text after edits made all at once, as in an editor. Each edit must change something. They must be in order, with
/// text between any two.
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

/// The meaning of a text, in order: its comments, and everything else without blanks, separators and alternative
/// spellings.
pub fn essence(text: &str) -> (Vec<&str>, String) {
    let (comments, code): (Vec<_>, Vec<_>) = tokens(text)
        .into_iter()
        .filter(|token| !matches!(token.kind, TokenKind::Comma | TokenKind::Newline))
        .partition(|token| token.is(TokenKind::Comment));
    let code: String = code
        .iter()
        .enumerate()
        .map(|(i, token)| match (token.kind, token.range.of(text)) {
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
    let comments = comments.iter().map(|token| token.range.of(text).trim_end());
    (
        comments.collect(),
        code.replace("+/-", "±").replace("+-", "±"),
    )
}

fn spelled(code: &str) -> String {
    let code = code.replace(['·', '×'], "*").replace('E', "e");
    code.replace('²', "^2").replace('³', "^3")
}
