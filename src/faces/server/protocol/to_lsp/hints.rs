//! Hints in a line: calculated values, and the parameters of a function.

use super::{Lsp, markup};
use crate::analysis::{Inlay, Signature, inlays, inlays_with_tooltips};
use crate::syntax::TextRange;
use lsp_types as lsp;
use serde_json::json;

/// The document of a hint without its tooltip, from the data that was noted with the hint.
pub(crate) fn resolved_in(hint: &lsp::InlayHint) -> Option<lsp::Url> {
    let uri = hint.data.as_ref()?.get("uri")?;
    lsp::Url::parse(uri.as_str()?).ok()
}

impl Lsp<'_> {
    /// Calculated values at the ends of lines in a range. A client that can ask for each tooltip gets them without
    /// tooltips.
    pub fn inlays(&self, range: lsp::Range) -> Vec<lsp::InlayHint> {
        let within = self.span(range);
        if self.client.lazy_tooltips {
            let found = inlays(self.report(), within).into_iter();
            return found.map(|inlay| self.inlay(inlay, None)).collect();
        }
        let found = inlays_with_tooltips(self.report(), within).into_iter();
        found
            .map(|(inlay, tooltip)| self.inlay(inlay, Some(tooltip)))
            .collect()
    }

    fn inlay(&self, inlay: Inlay, tooltip: Option<String>) -> lsp::InlayHint {
        lsp::InlayHint {
            position: self.position(self.source(), inlay.offset),
            label: lsp::InlayHintLabel::String(inlay.label),
            kind: None,
            text_edits: None,
            data: tooltip
                .is_none()
                .then(|| json!({ "uri": self.snapshot.buffer.uri.as_str() })),
            tooltip: tooltip.map(|text| self.tooltip(text)),
            padding_left: Some(true),
            padding_right: None,
        }
    }

    fn tooltip(&self, text: String) -> lsp::InlayHintTooltip {
        lsp::InlayHintTooltip::MarkupContent(markup(text, self.client.markdown))
    }

    /// A hint with its tooltip; unchanged if the line's hint is another one now.
    pub fn with_tooltip(&self, mut hint: lsp::InlayHint) -> lsp::InlayHint {
        let offset = self.offset(hint.position);
        let here = TextRange {
            start: offset,
            end: offset,
        };
        let shown = |inlay: &Inlay| match &hint.label {
            lsp::InlayHintLabel::String(label) => *label == inlay.label,
            lsp::InlayHintLabel::LabelParts(_) => false,
        };
        let found = inlays_with_tooltips(self.report(), here).into_iter();
        let text = found
            .filter(|(inlay, _)| inlay.offset == offset && shown(inlay))
            .map(|(_, tooltip)| tooltip)
            .next();
        hint.tooltip = text.map(|text| self.tooltip(text));
        hint
    }

    /// The parameters of the function or curve at a position.
    pub fn signature(&self, signature: Signature) -> lsp::SignatureHelp {
        let active = signature.active as u32;
        let label = |span: TextRange| {
            let text = span.of(&signature.label);
            if !self.client.label_offsets {
                return lsp::ParameterLabel::Simple(text.to_owned());
            }
            // The protocol counts them in UTF-16, whatever is agreed on for positions.
            let start = signature.label[..span.start as usize]
                .encode_utf16()
                .count() as u32;
            let length = text.encode_utf16().count() as u32;
            lsp::ParameterLabel::LabelOffsets([start, start + length])
        };
        let documentation = |text: &str| {
            lsp::Documentation::MarkupContent(markup(text.to_owned(), self.client.markdown))
        };
        let parameters = signature.parameters.iter();
        let parameters = parameters.map(|parameter| lsp::ParameterInformation {
            label: label(parameter.span),
            documentation: Some(documentation(&parameter.doc)),
        });
        lsp::SignatureHelp {
            signatures: vec![lsp::SignatureInformation {
                parameters: Some(parameters.collect()),
                documentation: Some(documentation(&signature.doc)),
                label: signature.label,
                active_parameter: None,
            }],
            active_signature: Some(0),
            active_parameter: Some(active),
        }
    }
}
