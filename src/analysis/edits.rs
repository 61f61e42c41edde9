//! Changes of the text that are offered: the canonical form, and the fixes of what is wrong.

use super::Report;
use crate::checks::Finding;
use crate::settings::is_settings;
use crate::syntax::{self, Span, Statement};
use similar::{DiffTag, TextDiff};
use std::time::Duration;

/// The text of `span` becomes `text`.
#[derive(Clone, PartialEq, Debug)]
pub struct Edit {
    pub span: Span,
    pub text: String,
}

/// The edits that bring a file into its canonical form, none if it has it. `None` for a file
/// with mistakes in its text, and for settings, which are left as they are.
///
/// Lines that stay are left out, so that an editor's cursor and folds stay where they are.
pub fn formatting(report: &Report) -> Option<Vec<Edit>> {
    let source = &report.source;
    if is_settings(&source.name) {
        return None;
    }
    let canonical = syntax::format(&source.text, &source.tree)?;
    Some(difference(&source.text, &canonical))
}

/// Those of the edits of [`formatting`] that touch a run of text.
pub fn formatting_within(report: &Report, within: Span) -> Option<Vec<Edit>> {
    let mut edits = formatting(report)?;
    edits.retain(|edit| edit.span.start <= within.end && within.start <= edit.span.end);
    Some(edits)
}

/// The edits for what was just typed: a closing brace brings what it closes into its canonical
/// form.
pub fn formatting_typed(report: &Report, offset: u32) -> Option<Vec<Edit>> {
    let closed = closed_by(&report.source.tree.statements, offset)?;
    formatting_within(report, closed)
}

/// The statement whose closing brace stands right before an offset.
fn closed_by(statements: &[Statement], offset: u32) -> Option<Span> {
    let first = statements.partition_point(|s| s.span.end < offset);
    let statement = statements.get(first).filter(|s| s.span.start < offset)?;
    let body = statement.body()?;
    closed_by(&body.statements, offset)
        .or((body.whole && body.span.end == offset).then_some(statement.span))
}

/// The lines of one text that become those of the other.
fn difference(old: &str, new: &str) -> Vec<Edit> {
    let lines = |text: &str| -> Vec<Span> {
        let mut at = 0;
        let line = |line: &str| {
            let start = at;
            at += line.len();
            Span::new(start, at)
        };
        text.split_inclusive('\n').map(line).collect()
    };
    let (old_lines, new_lines) = (lines(old), lines(new));
    fn texts<'t>(text: &'t str, lines: &[Span]) -> Vec<&'t str> {
        lines.iter().map(|line| line.of(text)).collect()
    }
    let (old_texts, new_texts) = (texts(old, &old_lines), texts(new, &new_lines));
    let run = |lines: &[Span], range: std::ops::Range<usize>, end: usize| {
        let start = lines
            .get(range.start)
            .map_or(end, |line| line.start as usize);
        let last = range.end.checked_sub(1).filter(|_| !range.is_empty());
        let end = last
            .and_then(|last| lines.get(last))
            .map_or(start, |line| line.end as usize);
        Span::new(start, end)
    };
    let changes = TextDiff::configure()
        .timeout(MOST_TIME)
        .diff_slices(&old_texts, &new_texts);
    changes
        .ops()
        .iter()
        .filter(|change| change.tag() != DiffTag::Equal)
        .map(|change| Edit {
            span: run(&old_lines, change.old_range(), old.len()),
            text: run(&new_lines, change.new_range(), new.len())
                .of(new)
                .to_owned(),
        })
        .collect()
}

/// Spent on finding the smallest edits; after it they may be larger than they must be.
const MOST_TIME: Duration = Duration::from_millis(100);

impl Report {
    /// Where a finding is shown in this file: what a base in another file says is shown at the
    /// name of the system that starts from it.
    pub fn place_here(&self, finding: &Finding) -> Span {
        let place = &finding.problem.place;
        if place.file == self.source.name {
            return place.span;
        }
        let system = finding
            .system
            .as_ref()
            .and_then(|name| self.source.system(name));
        system.map(|system| system.name.span).unwrap_or_default()
    }

    /// What was found in a run of text and can be fixed.
    pub fn cures(&self, within: Span) -> impl Iterator<Item = &Finding> {
        self.findings.iter().filter(move |finding| {
            let span = self.place_here(finding);
            !finding.problem.fixes.is_empty()
                && span.start <= within.end
                && within.start <= span.end
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_edit_leaves_out_the_lines_that_stay() {
        for (old, new, edits) in [
            ("a\nb\nc\n", "a\nB\nc\n", &[(2, 4, "B\n")][..]),
            ("a\nb\n", "a\nb\nc\n", &[(4, 4, "c\n")]),
            ("a", "a\n", &[(0, 1, "a\n")]),
            ("\n\na\n", "a\n", &[(0, 2, "")]),
            ("a\nb\nc\n", "A\nb\nC\n", &[(0, 2, "A\n"), (4, 6, "C\n")]),
            ("a\r\nb\n", "a\nb\n", &[(0, 3, "a\n")]),
            ("a\n", "a\n", &[]),
            ("", "a\n", &[(0, 0, "a\n")]),
        ] {
            let found = difference(old, new);
            let seen: Vec<_> = found
                .iter()
                .map(|edit| (edit.span.start, edit.span.end, edit.text.as_str()))
                .collect();
            assert_eq!(seen, edits, "{old:?}");
            let mut applied = old.to_owned();
            for edit in found.iter().rev() {
                applied.replace_range(edit.span.range(), &edit.text);
            }
            assert_eq!(applied, new);
        }
    }
}
