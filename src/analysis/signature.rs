//! The parameters of the function or the curve around a cursor.

use super::Report;
use super::cursor::Cursor;
use crate::model::{Function, Takes};
use crate::quantity::Dimension;
use crate::schema::Kind;
use crate::syntax::{TextRange, Token, TokenKind, tokens};

/// A function or a curve, with its parameters.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Signature {
    /// The whole form: `min(value, other, …)`.
    pub label: String,
    /// What it gives.
    pub doc: String,
    /// Its parameters, in order.
    pub parameters: Vec<Parameter>,
    /// The parameter that contains the cursor.
    pub active: usize,
}

/// A parameter.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Parameter {
    /// Its place in the label, in bytes.
    pub span: TextRange,
    /// What it may be.
    pub doc: String,
}

/// The innermost function or curve around an offset. `None` if there is none, and in comments and texts.
pub fn signature(report: &Report, offset: u32) -> Option<Signature> {
    let cursor = Cursor::new(&report.source.text, offset)?;
    let before = &cursor.text[..cursor.offset];
    let scanned: Vec<Token> = tokens(before)
        .into_iter()
        .filter(|token| !token.is(TokenKind::Comment))
        .collect();
    let mut closed = 0;
    // The commas before the cursor. For a curve, whether its point began before the cursor, and whether the point's
    // colon is before it.
    let (mut commas, mut is_begun, mut colon) = (0, false, false);
    for (at, token) in scanned.iter().enumerate().rev() {
        match token.kind {
            TokenKind::CloseParenthesis => closed += 1,
            TokenKind::OpenParenthesis if closed > 0 => closed -= 1,
            TokenKind::OpenParenthesis => {
                let word = at.checked_sub(1).and_then(|at| scanned.get(at));
                let word = word.filter(|word| word.is(TokenKind::Word));
                match word.and_then(|word| Function::named(word.range.of(before))) {
                    Some(function) => return Some(call(function, commas)),
                    // A group is a single value of the form around it.
                    None => commas = 0,
                }
            }
            TokenKind::Comma if closed == 0 => (commas, is_begun) = (commas + 1, true),
            // Points may stand in lines of their own, without commas.
            TokenKind::Newline => is_begun = true,
            TokenKind::Symbol if !is_begun && token.range.of(before) == ":" => colon = true,
            TokenKind::OpenBrace => {
                let word = at.checked_sub(1).and_then(|at| scanned.get(at))?;
                let is_curve = word.range.of(before) == "curve";
                return is_curve.then(|| curve(report, &cursor, colon))?;
            }
            TokenKind::Equals | TokenKind::CloseBrace => return None,
            _ => {}
        }
    }
    None
}

fn call(function: &Function, commas: usize) -> Signature {
    let (names, doc): (&[&str], &str) = match function.takes {
        Takes::Values => (
            &["value", "other", "…"],
            "Values of one kind, each with its unit, as `7/8 in`.",
        ),
        Takes::Value => (&["value"], "A value of any kind, with its unit."),
        Takes::Square => (
            &["square"],
            "A value with a square root and without a minus: `400 mm^2` gives 20 mm.",
        ),
        Takes::Angle => (&["angle"], "An angle, as `30 deg` or `0.5 rad`."),
        Takes::Number => (
            &["number"],
            "A number without a unit, as a ratio of lengths.",
        ),
    };
    let mut form = Form::new(format!("{}(", function.name));
    for (at, name) in names.iter().enumerate() {
        form.text(if at == 0 { "" } else { ", " });
        form.parameter(name, doc);
    }
    form.text(")");
    Signature {
        active: commas.min(names.len() - 1),
        doc: format!("Gives {}.", function.doc),
        label: form.label,
        parameters: form.parameters,
    }
}

/// The signature of a curve, with the units that the author uses.
fn curve(report: &Report, cursor: &Cursor<'_>, behind_colon: bool) -> Option<Signature> {
    let id = cursor.curve_field()?;
    let (Kind::Curve { x, y } | Kind::CurveOrPeak { x, y }) = id.field().kind else {
        return None;
    };
    let worked = report.system_at(cursor.offset as u32);
    let display = report.display(worked.map(|located| &**located));
    let named = |dimension: Dimension| match display.unit(dimension) {
        Some(unit) => format!("{dimension} [{unit}]"),
        None => dimension.to_string(),
    };
    let mut form = Form::new("curve { ".to_owned());
    form.parameter(&named(x), "Rises from point to point.");
    form.text(": ");
    form.parameter(
        &named(y),
        "What belongs to it; straight lines join the points.",
    );
    form.text(", … }");
    Some(Signature {
        active: usize::from(behind_colon),
        doc: format!("`{}`: {}", id.path(), id.field().doc),
        label: form.label,
        parameters: form.parameters,
    })
}

/// A label that is being put together.
struct Form {
    label: String,
    parameters: Vec<Parameter>,
}

impl Form {
    fn new(label: String) -> Self {
        Self {
            label,
            parameters: Vec::new(),
        }
    }

    fn text(&mut self, text: &str) {
        self.label.push_str(text);
    }

    fn parameter(&mut self, name: &str, doc: &str) {
        let start = self.label.len();
        self.label.push_str(name);
        self.parameters.push(Parameter {
            span: TextRange::new(start, self.label.len()),
            doc: doc.to_owned(),
        });
    }
}
