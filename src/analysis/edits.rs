//! Changes of the text that are offered: the canonical form, and the fixes of what is wrong.

use super::Report;
use crate::checks::Finding;
use crate::settings::is_settings;
use crate::syntax::{self, Span};

/// The text of `span` becomes `text`.
#[derive(Clone, PartialEq, Debug)]
pub struct Edit {
    pub span: Span,
    pub text: String,
}

/// The edits that bring a file into its canonical form, none if it has it. `None` for a file
/// with mistakes in its text, and for settings, which are left as they are.
pub fn formatting(report: &Report) -> Option<Vec<Edit>> {
    let source = &report.source;
    if is_settings(&source.name) {
        return None;
    }
    let canonical = syntax::format(&source.text, &source.tree)?;
    Some(difference(&source.text, &canonical).into_iter().collect())
}

/// The one edit that makes one text into the other, without the lines that they share at their
/// ends, so that an editor's cursor and folds stay where they are.
fn difference(old: &str, new: &str) -> Option<Edit> {
    if old == new {
        return None;
    }
    let lines =
        |text: &'_ str| -> Vec<usize> { text.split_inclusive('\n').map(str::len).collect() };
    let (old_lines, new_lines) = (lines(old), lines(new));
    let mut start = 0;
    let mut shared = 0;
    for (a, b) in old_lines.iter().zip(&new_lines) {
        if old[start..start + a] != new[start..start + b] {
            break;
        }
        start += a;
        shared += 1;
    }
    let (mut old_end, mut new_end) = (old.len(), new.len());
    let behind = old_lines[shared..]
        .iter()
        .rev()
        .zip(new_lines[shared..].iter().rev());
    for (a, b) in behind {
        if old[old_end - a..old_end] != new[new_end - b..new_end] {
            break;
        }
        old_end -= a;
        new_end -= b;
    }
    Some(Edit {
        span: Span::new(start, old_end),
        text: new[start..new_end].to_owned(),
    })
}

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
        for (old, new, span, text) in [
            ("a\nb\nc\n", "a\nB\nc\n", (2, 4), "B\n"),
            ("a\nb\n", "a\nb\nc\n", (4, 4), "c\n"),
            ("a\na\na\n", "a\na\n", (4, 6), ""),
            ("a", "a\n", (0, 1), "a\n"),
            ("\n\na\n", "a\n", (0, 2), ""),
        ] {
            let edit = difference(old, new).unwrap();
            assert_eq!((edit.span, &*edit.text), (Span::new(span.0, span.1), text));
            let mut applied = old.to_owned();
            applied.replace_range(edit.span.range(), &edit.text);
            assert_eq!(applied, new);
        }
        assert_eq!(difference("a\n", "a\n"), None);
    }
}
