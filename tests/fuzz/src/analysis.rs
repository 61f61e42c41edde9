//! For any spec, every question about it and about each place in it is answered. The changes that are offered leave a
//! text that can be read.

use super::input::{Dice, Pair, lies_in};
use bitepoint::analysis::{
    MAX_FINDINGS, Report, Scope, actions, completions, definition, entity_at, folds, formatting,
    formatting_typed, highlights, hover, inlays, lenses, links, selections, symbols, use_path_at,
};
use bitepoint::finding::{Fix, Place};
use bitepoint::syntax::{TextRange, parse};

pub fn holds(data: &[u8]) {
    let text = String::from_utf8_lossy(data);
    let pair = Pair::new(&text);
    let report = pair.report();
    findings_lie_in(&pair, &report);
    let mut dice = Dice::new(data);
    let offset = dice.offset(&report.source.text);
    // One kind of question at a time, so that more specs are tried.
    match dice.below(3) {
        0 => everywhere(&report),
        1 => around(&pair, &report, offset),
        _ => offered(&report, offset, dice.offset(&report.source.text)),
    }
}

fn findings_lie_in(pair: &Pair, report: &Report) {
    assert!(report.findings.len() <= MAX_FINDINGS + 1);
    let lies = |place: &Place| {
        let range = report.range(place);
        assert!(lies_in(pair.text_of(place), range), "{place:?}");
    };
    for finding in &report.findings {
        let problem = &finding.problem;
        lies(&problem.place);
        problem
            .related
            .iter()
            .for_each(|related| lies(&related.place));
        let edits = problem.fixes.iter().flat_map(|fix| &fix.edits);
        edits.for_each(|(place, _)| lies(place));
    }
}

fn everywhere(report: &Report) {
    let text = &report.source.text;
    let whole = TextRange::new(0, text.len());
    let spans = folds(report).into_iter().map(|fold| fold.span);
    let spans = spans.chain(lenses(report).into_iter().map(|lens| lens.span));
    let spans = spans.chain(links(report).into_iter().map(|link| link.span));
    let spans = spans.chain(
        symbols(&report.source)
            .into_iter()
            .map(|symbol| symbol.span),
    );
    for span in spans {
        assert!(lies_in(text, span), "{span:?}");
    }
    let mut end = 0;
    for highlight in highlights(report) {
        assert!(lies_in(text, highlight.span) && end <= highlight.span.start);
        end = highlight.span.end;
    }
    for inlay in inlays(report, whole) {
        assert!(text.is_char_boundary(inlay.offset as usize), "{inlay:?}");
    }
    if let Some(edits) = formatting(report) {
        let mut canonical = text.clone();
        for edit in edits.iter().rev() {
            canonical.replace_range(edit.span.range(), &edit.text);
        }
        let whole = bitepoint::syntax::format(text, &report.source.tree);
        assert_eq!(Some(canonical), whole);
    }
}

fn around(pair: &Pair, report: &Report, offset: u32) {
    let text = &report.source.text;
    if let Some(hover) = hover(report, offset) {
        assert!(lies_in(text, hover.span) && !hover.markdown.is_empty());
    }
    for completion in completions(report, offset) {
        assert!(lies_in(text, completion.span), "{completion:?}");
        assert!(completion.span.start <= offset && offset <= completion.span.end);
    }
    if let Some(found) = definition(report, offset) {
        assert!(lies_in(text, found.span));
        let target = &found.target;
        let range = report.range(target);
        assert!(lies_in(pair.text_of(target), range), "{target:?}");
    }
    if let Some((span, entity)) = entity_at(report, offset) {
        assert!(lies_in(text, span));
        let scope = Scope::load(pair.car.clone(), &pair.files());
        for mention in scope.mentions(&entity) {
            assert!(lies_in(text, mention.span), "{mention:?}");
        }
        scope.objection(&entity, "another_name");
    }
    let mut inner: Option<TextRange> = None;
    for span in selections(report, offset) {
        assert!(lies_in(text, span));
        assert!(inner.is_none_or(|inner| span.start <= inner.start && inner.end <= span.end));
        inner = Some(span);
    }
    let typed = formatting_typed(report, offset);
    for edit in typed.iter().flatten() {
        assert!(lies_in(text, edit.span));
    }
    use_path_at(report, offset);
}

/// Every offered change can be made, and everything that could be read before can still be read.
fn offered(report: &Report, start: u32, end: u32) {
    let within = TextRange {
        start: start.min(end),
        end: start.max(end),
    };
    let text = &report.source.text;
    let sound = report.source.tree.is_flawless();
    for action in actions(report, within) {
        let Some((changed, put_in)) = applied(text, report, &action.fix) else {
            continue;
        };
        // What is missing is added with its value left open, which is its author's to write; what
        // was there before is as whole as it was.
        let leaves_open = action
            .cures
            .is_some_and(|found| ["missing-field", "missing-block"].contains(&found.check.name()));
        let is_new = |flaw: TextRange| {
            let mut new = put_in.iter();
            new.any(|new| new.start <= flaw.start && flaw.end <= new.end)
        };
        let tree = parse(&changed);
        let mut flaws = tree.flaws();
        assert!(
            !sound || flaws.all(|flaw| leaves_open && is_new(tree.range(flaw.span))),
            "`{}` makes {tree:?} of it:\n{changed}",
            action.fix.title
        );
    }
}

/// The text after a change, and the range of the new text; `None` for a change of another file.
fn applied(text: &str, report: &Report, fix: &Fix) -> Option<(String, Vec<TextRange>)> {
    let mut edits: Vec<&(Place, String)> = fix.edits.iter().collect();
    edits.sort_by_key(|(place, _)| report.range(place));
    let mut changed = String::new();
    let mut put_in = Vec::new();
    let mut end = 0;
    for (place, new) in edits {
        if place.file != report.source.name {
            return None;
        }
        let range = report.range(place);
        assert!(lies_in(text, range), "{fix:?}");
        let replaced = range.range();
        changed += &text[end..replaced.start];
        put_in.push(TextRange::new(changed.len(), changed.len() + new.len()));
        changed += new;
        end = replaced.end;
    }
    changed += &text[end..];
    Some((changed, put_in))
}
