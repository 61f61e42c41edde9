//! The shape of a file: folds, selections, links, and the line above each system.

use super::Lsp;
use crate::analysis::{FoldKind, Lens, Link, folds, links, named_checks, selections};
use lsp_types as lsp;

impl Lsp<'_> {
    pub fn folds(&self) -> Vec<lsp::FoldingRange> {
        let found = folds(self.report()).into_iter();
        let folds = found.filter_map(|fold| {
            let mut range = self.range(fold.span);
            let mut columns = Some((range.start.character, range.end.character));
            if self.client.whole_line_folds {
                columns = None;
                // The line of the closing brace stays in sight.
                if fold.kind == FoldKind::Body {
                    range.end.line -= 1;
                }
            } else if fold.kind == FoldKind::Body {
                // The braces stay in sight.
                columns = columns.map(|(start, end)| (start + 1, end.saturating_sub(1)));
            }
            (range.start.line < range.end.line).then(|| lsp::FoldingRange {
                start_line: range.start.line,
                start_character: columns.map(|(start, _)| start),
                end_line: range.end.line,
                end_character: columns.map(|(_, end)| end),
                kind: match fold.kind {
                    FoldKind::Body => None,
                    FoldKind::Comment => Some(lsp::FoldingRangeKind::Comment),
                    FoldKind::Uses => Some(lsp::FoldingRangeKind::Imports),
                },
                collapsed_text: None,
            })
        });
        let most = self
            .client
            .most_folds
            .map_or(usize::MAX, |most| most as usize);
        folds.take(most).collect()
    }

    pub fn selection(&self, position: lsp::Position) -> lsp::SelectionRange {
        let spans = selections(self.report(), self.offset(position));
        let outermost_first = spans.into_iter().rev();
        let grown = outermost_first.fold(None, |parent, span| {
            Some(lsp::SelectionRange {
                range: self.range(span),
                parent: parent.map(Box::new),
            })
        });
        grown.unwrap_or_else(|| lsp::SelectionRange {
            range: lsp::Range::new(position, position),
            parent: None,
        })
    }

    /// The files that the document uses, and the explanations of the checks that it names.
    pub fn links(&self) -> Vec<lsp::DocumentLink> {
        let files = links(self.report()).into_iter();
        let files = files.filter_map(|link| self.link(link));
        let checks = named_checks(self.report()).into_iter();
        let checks = checks.filter_map(|(span, check)| {
            Some(lsp::DocumentLink {
                range: self.range(span),
                target: Some(self.explanation(check.name())?),
                tooltip: (self.client.link_tooltips).then(|| check.finds.to_owned()),
                data: None,
            })
        });
        files.chain(checks).collect()
    }

    fn link(&self, link: Link) -> Option<lsp::DocumentLink> {
        Some(lsp::DocumentLink {
            range: self.range(link.span),
            target: Some(self.snapshot.uri(&link.file)?),
            tooltip: self
                .client
                .link_tooltips
                .then(|| self.report().shown_name(&link.file).to_string()),
            data: None,
        })
    }

    pub fn lens(&self, lens: Lens) -> lsp::CodeLens {
        let command = self.settings.lens_command.as_ref();
        lsp::CodeLens {
            range: self.range(lens.span),
            command: Some(lsp::Command {
                title: lens.label,
                // Without a command it is only to be read.
                arguments: command.map(|_| {
                    vec![
                        self.snapshot.buffer.uri.as_str().into(),
                        lens.system.as_str().into(),
                    ]
                }),
                command: command.cloned().unwrap_or_default(),
            }),
            data: None,
        }
    }
}
