//! Every text gives a tree. Its places are inside the text, in order, each statement inside the one that contains it.
//! Text outside of statements is blank, a comment, a comma, or reported as a flaw.

use super::input::lies_in;
use bitepoint::model::Source;
use bitepoint::syntax::{
    Comment, Encoding, LineIndex, Statement, TextRange, TokenKind, Tree, tokens,
};

pub fn holds(data: &[u8]) {
    let source = Source::from_bytes("car.clutch".into(), data);
    let (text, tree) = (&source.text, &source.tree);
    flaws_lie_in(text, tree);
    let mut covered = Vec::new();
    let mut end = 0;
    for item in &tree.items {
        assert!(end <= item.start, "{item:?}");
        end = item.extent().end;
        let one = std::slice::from_ref(&*item.statement);
        statements(text, item.start, one, item.extent(), &mut covered);
    }
    let tail = tree.tail.iter().map(|comment| tree.range(comment.span));
    tail.for_each(|at| comment(text, at, &mut covered));
    tokens_are_covered(text, tree, covered);
    lines_and_columns(text);
}

fn flaws_lie_in(text: &str, tree: &Tree) {
    for flaw in tree.flaws() {
        assert!(lies_in(text, tree.range(flaw.span)), "{flaw:?}");
        assert!(!flaw.message.is_empty());
        for (related, _) in &flaw.related {
            assert!(lies_in(text, tree.range(*related)), "{flaw:?}");
        }
        for (span, _) in flaw.fixes.iter().flat_map(|fix| &fix.edits) {
            assert!(lies_in(text, tree.range(*span)), "{flaw:?}");
        }
    }
    assert!(tree.flaws().is_sorted_by_key(|flaw| tree.range(flaw.span)));
}

/// `start` is where the top-level statement begins that these are or are in.
fn statements(
    text: &str,
    start: u32,
    all: &[Statement],
    within: TextRange,
    covered: &mut Vec<TextRange>,
) {
    let mut end = within.start;
    for statement in all {
        let span = statement.span.from_start(start);
        assert!(lies_in(text, span), "{statement:?}");
        assert!(end <= span.start && span.end <= within.end, "{statement:?}");
        assert!(!span.of(text).is_empty(), "{statement:?}");
        end = span.end;
        comments(text, start, &statement.before, covered);
        covered.extend(statement.after.map(|after| after.from_start(start)));
        match statement.body() {
            None => covered.push(span),
            Some(body) => {
                let braces = body.span.from_start(start);
                assert!(lies_in(text, braces), "{statement:?}");
                assert!(span.start <= braces.start && braces.end <= span.end);
                let braced = |at: u32| text[at as usize..].starts_with(['{', '}']) as u32;
                covered.push(TextRange {
                    start: span.start,
                    end: braces.start + braced(braces.start),
                });
                covered.extend(body.opening.map(|opening| opening.from_start(start)));
                statements(text, start, &body.statements, braces, covered);
                comments(text, start, &body.tail, covered);
                let last = braces.of(text).ends_with('}') as u32;
                covered.push(TextRange {
                    start: braces.end - last,
                    end: braces.end,
                });
            }
        }
    }
}

fn comments(text: &str, start: u32, comments: &[Comment], covered: &mut Vec<TextRange>) {
    let ranges = comments
        .iter()
        .map(|comment| comment.span.from_start(start));
    ranges.for_each(|at| comment(text, at, covered));
}

fn comment(text: &str, at: TextRange, covered: &mut Vec<TextRange>) {
    assert!(at.of(text).starts_with('#'), "{at:?}");
    covered.push(at);
}

fn tokens_are_covered(text: &str, tree: &Tree, mut covered: Vec<TextRange>) {
    covered.extend(tree.flaws().map(|flaw| tree.range(flaw.span)));
    covered.sort_unstable();
    let mut reach = 0;
    let mut next = covered.iter().peekable();
    let mut end = 0;
    for token in tokens(text) {
        assert!(lies_in(text, token.range) && end <= token.range.start);
        end = token.range.end;
        while let Some(span) = next.next_if(|span| span.start <= token.range.start) {
            reach = reach.max(span.end);
        }
        let between = match token.kind {
            TokenKind::Newline | TokenKind::Comma => true,
            // Those in and around what cannot be read are not looked for.
            TokenKind::Comment => !tree.is_flawless(),
            _ => false,
        };
        assert!(
            between || token.range.end <= reach,
            "{:?} is in no statement",
            token.range.of(text)
        );
    }
}

/// Every place in a text has a line and a column, which lead back to the place.
fn lines_and_columns(text: &str) {
    let index = LineIndex::new(text);
    for encoding in [Encoding::Utf8, Encoding::Utf16, Encoding::Utf32] {
        let mut last = None;
        for (offset, _) in text.char_indices().chain([(text.len(), ' ')]) {
            let offset = offset as u32;
            let place = index.position(offset, encoding);
            assert!(last < Some((place.line, place.column)), "{offset}");
            last = Some((place.line, place.column));
            let back = index.offset(place, encoding);
            let line = index.line(place.line).unwrap_or_default();
            // Inside a line's ending counts as where the line ends.
            assert_eq!(back, offset.min(line.end as u32), "{offset} {place:?}");
        }
    }
}
