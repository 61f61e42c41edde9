//! Converts the core's facts to the protocol's types and back. Only this folder knows both.

mod actions;
mod completion;
mod findings;
mod hierarchy;
mod hints;
mod moves;
mod names;
mod semantic_tokens;
mod shape;
mod symbols;

pub(crate) use actions::{FIX_ALL, Offered};
pub(crate) use findings::Diagnosed;
pub(crate) use hierarchy::Standing;
pub(crate) use hints::resolved_in;
pub(crate) use moves::{edits_of_moves, moves_of};
pub(crate) use semantic_tokens::{edits as semantic_token_edits, legend};

use super::client::Client;
use super::client_settings::ClientSettings;
use crate::analysis::{Definition, Edit, Hover, Report};
use crate::faces::render::{Size, curves};
use crate::faces::server::state::Snapshot;
use crate::finding::Place;
use crate::model::Source;
use crate::syntax::{LineColumn, TextRange};
use lsp_types as lsp;
use percent_encoding::{NON_ALPHANUMERIC, utf8_percent_encode};

/// What is known about a document, in the form for its client.
#[derive(Clone, Copy)]
pub(crate) struct Lsp<'a> {
    pub snapshot: &'a Snapshot,
    client: Client,
    settings: &'a ClientSettings,
}

impl<'a> Lsp<'a> {
    pub fn new(snapshot: &'a Snapshot, client: Client, settings: &'a ClientSettings) -> Self {
        Self {
            snapshot,
            client,
            settings,
        }
    }

    pub fn report(&self) -> &'a Report {
        self.snapshot.report()
    }

    /// The document's text, which exists before the document is analysed.
    fn source(&self) -> &'a Source {
        self.snapshot.scope().root()
    }

    // ---- places ----

    pub fn offset(&self, position: lsp::Position) -> u32 {
        let place = LineColumn {
            line: position.line,
            column: position.character,
        };
        self.source().lines.offset(place, self.client.encoding)
    }

    pub fn span(&self, range: lsp::Range) -> TextRange {
        let (start, end) = (self.offset(range.start), self.offset(range.end));
        TextRange::new(start as usize, end as usize)
    }

    fn position(&self, source: &Source, offset: u32) -> lsp::Position {
        let place = source.lines.position(offset, self.client.encoding);
        lsp::Position::new(place.line, place.column)
    }

    fn range_in(&self, source: &Source, span: TextRange) -> lsp::Range {
        lsp::Range {
            start: self.position(source, span.start),
            end: self.position(source, span.end),
        }
    }

    pub fn range(&self, span: TextRange) -> lsp::Range {
        self.range_in(self.source(), span)
    }

    /// A place in any file; `None` in a file without an address, or one that is not known.
    pub fn location(&self, place: &Place) -> Option<lsp::Location> {
        let source = self.report().file(&place.file)?;
        Some(lsp::Location {
            uri: self.snapshot.uri(&place.file)?,
            range: self.range_in(source, source.range(place.span)),
        })
    }

    // ---- facts ----

    pub fn hover(&self, mut hover: Hover) -> lsp::Hover {
        // From the last to the first, so that earlier places stay right.
        for term in hover.terms.iter().rev().filter(|_| self.client.markdown) {
            if let Some(link) = self.settings.explanation(term.name) {
                let linked = format!("[{}]({link})", &hover.markdown[term.at.clone()]);
                hover.markdown.replace_range(term.at.clone(), &linked);
            }
        }
        let worked = self.report().system_at(hover.span.start);
        if self.settings.images
            && self.client.markdown
            && let Some(at) = hover.drawing_at
            && let Some(worked) = worked.map(|located| located.shown().worked)
            && let Some(drawing) = curves(worked, Size::Small)
        {
            let drawing = utf8_percent_encode(&drawing, NON_ALPHANUMERIC);
            let image = format!("![effort and release](data:image/svg+xml,{drawing})\n\n");
            hover.markdown.insert_str(at, &image);
        }
        lsp::Hover {
            contents: lsp::HoverContents::Markup(markup(hover.markdown, self.client.markdown)),
            range: Some(self.range(hover.span)),
        }
    }

    pub fn definition(&self, definition: &Definition) -> Option<lsp::GotoDefinitionResponse> {
        let location = self.location(&definition.target)?;
        Some(lsp::GotoDefinitionResponse::Scalar(location))
    }

    pub fn edits(&self, edits: Vec<Edit>) -> Vec<lsp::TextEdit> {
        edits
            .into_iter()
            .map(|edit| lsp::TextEdit::new(self.range(edit.span), edit.text))
            .collect()
    }
}

fn markup(text: String, markdown: bool) -> lsp::MarkupContent {
    lsp::MarkupContent {
        kind: match markdown {
            true => lsp::MarkupKind::Markdown,
            false => lsp::MarkupKind::PlainText,
        },
        value: text,
    }
}
