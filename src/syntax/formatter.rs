//! Formatting: the canonical form of a text, and the edits that bring all or part of a text into it.
//!
//! Formatting never changes a value, keeps every comment, and changes nothing the second time. A text's layout is a
//! run of pieces that covers it without a gap: statements, comments and braces, with the blanks between them. Every
//! edit changes one piece, so that edits never overlap. A part of the text is formatted by the changes of its own
//! pieces.

use super::printer::{Cut, Printed, print};
use super::text_change::same_ends;
use super::{Body, Edit, Span, Statement, TextRange, Tree};

/// The canonical form of a text, from its tree. `None` if the text has flaws, since it is then not changed.
pub fn format(text: &str, tree: &Tree) -> Option<String> {
    Some(Layout::of(text, tree)?.canonical)
}

/// The edits that bring a text into its canonical form, in order and without overlap. Empty if the text has that form
/// already. `None` if the text has flaws.
pub fn format_edits(text: &str, tree: &Tree) -> Option<Vec<Edit>> {
    let layout = Layout::of(text, tree)?;
    Some(edits(text, layout.changes(0..layout.pieces())))
}

/// The edits that bring the statements touched by a range into their canonical form. They are statements of the
/// innermost list that contains the whole range.
///
/// Neighbors are not changed. A neighbor on the same line moves to a line of its own if the canonical form requires
/// that. `None` if the text has flaws.
pub fn format_range(text: &str, tree: &Tree, range: TextRange) -> Option<Vec<Edit>> {
    let layout = Layout::of(text, tree)?;
    let statements = tree.items.iter().map(|item| (&*item.statement, item.start));
    let tail = tree.tail.iter().map(|comment| tree.range(comment.span));
    let touched = touched(statements, tail, range);
    Some(touched.map_or_else(Vec::new, |run| edits(text, layout.changes_of(run))))
}

/// The edits that bring a statement into its canonical form, where its closing brace ends at an offset. `None` if the
/// text has flaws, or if no statement ends there.
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

/// The neighboring statements and comments that a range touches, at the level of nesting that contains the whole
/// range. Each statement comes with the offset from which its spans count.
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

/// What a range touches in a body. Recursion is no deeper than bodies nest.
fn touched_inside(body: &Body, start: u32, range: TextRange) -> Option<TextRange> {
    let statements: Vec<_> = body.statements.iter().map(|s| (s, start)).collect();
    let tail: Vec<_> = body
        .tail
        .iter()
        .map(|comment| comment.span.from_start(start))
        .collect();
    touched(statements.into_iter(), tail.into_iter(), range)
}

/// The innermost statement whose closing brace is right before an offset. The offset is in the text of the top-level
/// statement that contains it.
fn closed_at<'t>(text: &str, statements: &'t [Statement], offset: u32) -> Option<&'t Statement> {
    let first = statements.partition_point(|s| s.span.end < offset);
    let statement = statements.get(first).filter(|s| s.span.start < offset)?;
    let inner = |body: &'t Body| closed_at(text, &body.statements, offset);
    statement.body().and_then(inner).or_else(|| {
        let closes = statement.span.end == offset && statement.span.of(text).ends_with('}');
        closes.then_some(statement)
    })
}

/// The edits of changed pieces. Edits that touch are joined, and each is reduced to what differs.
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

/// An edit without what stays the same at its ends. A line ending of two characters is never cut in the middle, where
/// the protocol has no position.
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
    /// Where each piece begins and ends. Pieces with an odd index are statements, comments and braces; the others are
    /// the blanks between them.
    cuts: Vec<Cut>,
}

impl<'a> Layout<'a> {
    fn of(text: &'a str, tree: &Tree) -> Option<Self> {
        if !tree.is_flawless() {
            return None;
        }
        let Printed {
            text: canonical,
            cuts,
        } = print(text, tree);
        Some(Self {
            text,
            canonical,
            cuts,
        })
    }

    fn pieces(&self) -> usize {
        self.cuts.len() - 1
    }

    /// The changes of some of the pieces.
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

    /// The changes of a run of statements and comments, and of the blanks before it. Blanks after it count only on
    /// its last line.
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
