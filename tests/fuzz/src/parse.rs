//! Every text gives a tree whose places lie in it, in order, each statement inside the one that
//! holds it; what belongs to no statement is blank, a comment, a comma, or told as a flaw.

use super::input::lies_in;
use bitepoint::model::Source;
use bitepoint::syntax::{Comment, Encoding, LineIndex, Span, Statement, TokenKind, Tree, tokens};

pub fn holds(data: &[u8]) {
    let source = Source::from_bytes("car.clutch".into(), data);
    let (text, tree) = (&source.text, &source.tree);
    flaws_lie_in(text, tree);
    let mut covered = Vec::new();
    statements(text, &tree.statements, whole(text), &mut covered);
    comments(text, &tree.tail, &mut covered);
    tokens_are_covered(text, tree, covered);
    lines_and_columns(text);
}

fn whole(text: &str) -> Span {
    Span::new(0, text.len())
}

fn flaws_lie_in(text: &str, tree: &Tree) {
    for flaw in &tree.flaws {
        assert!(lies_in(text, flaw.span), "{flaw:?}");
        assert!(!flaw.message.is_empty());
        for (related, _) in &flaw.related {
            assert!(lies_in(text, *related), "{flaw:?}");
        }
        for edit in flaw.fixes.iter().flat_map(|fix| &fix.edits) {
            assert!(lies_in(text, edit.span), "{flaw:?}");
        }
    }
    assert!(tree.flaws.is_sorted_by_key(|flaw| flaw.span));
}

fn statements(text: &str, all: &[Statement], within: Span, covered: &mut Vec<Span>) {
    let mut end = within.start;
    for statement in all {
        let span = statement.span;
        assert!(lies_in(text, span), "{statement:?}");
        assert!(end <= span.start && span.end <= within.end, "{statement:?}");
        assert!(!span.of(text).is_empty(), "{statement:?}");
        end = span.end;
        comments(text, &statement.before, covered);
        covered.extend(statement.after);
        match statement.body() {
            None => covered.push(span),
            Some(body) => {
                assert!(lies_in(text, body.span), "{statement:?}");
                assert!(span.start <= body.span.start && body.span.end <= span.end);
                let braced = |at: u32| text[at as usize..].starts_with(['{', '}']) as u32;
                let (start, end) = (body.span.start, body.span.end);
                covered.push(Span {
                    start: span.start,
                    end: start + braced(start),
                });
                covered.extend(body.opening);
                statements(text, &body.statements, body.span, covered);
                comments(text, &body.tail, covered);
                let last = body.span.of(text).ends_with('}') as u32;
                covered.push(Span {
                    start: end - last,
                    end,
                });
            }
        }
    }
}

fn comments(text: &str, comments: &[Comment], covered: &mut Vec<Span>) {
    for comment in comments {
        assert!(comment.span.of(text).starts_with('#'), "{comment:?}");
        covered.push(comment.span);
    }
}

fn tokens_are_covered(text: &str, tree: &Tree, mut covered: Vec<Span>) {
    covered.extend(tree.flaws.iter().map(|flaw| flaw.span));
    covered.sort_unstable();
    let mut reach = 0;
    let mut next = covered.iter().peekable();
    let mut end = 0;
    for token in tokens(text) {
        assert!(lies_in(text, token.span) && end <= token.span.start);
        end = token.span.end;
        while let Some(span) = next.next_if(|span| span.start <= token.span.start) {
            reach = reach.max(span.end);
        }
        let between = match token.kind {
            TokenKind::Newline | TokenKind::Comma => true,
            // Those in and around what cannot be read are not looked for.
            TokenKind::Comment => !tree.flaws.is_empty(),
            _ => false,
        };
        assert!(
            between || token.span.end <= reach,
            "{:?} is in no statement",
            token.span.of(text)
        );
    }
}

/// Every place in a text has a line and a column, and they lead back to it.
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
