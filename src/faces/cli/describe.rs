//! Entries of the schema and examples of checks in words, as `explain` and the manual show them.

use super::style;
use crate::schema::{Alternatives, Field, Kind, Presence, Purpose, Typical, Ways};

/// Which of several fields must be given.
pub(super) fn ways(alternatives: &Alternatives) -> String {
    let ways: Vec<String> = alternatives
        .ways
        .iter()
        .map(|way| way.join(" and "))
        .collect();
    let wanted = match alternatives.required {
        true => "one of these must be given",
        false => "at most one of these",
    };
    format!("{wanted}: {}", ways.join(", or "))
}

/// What must be given besides, as words; `None` where nothing must.
pub(super) fn needs(ways: Ways) -> Option<String> {
    let ways: Vec<String> = ways.iter().map(|way| way.join(" and ")).collect();
    (!ways.is_empty()).then(|| ways.join(", or "))
}

/// What a field takes and whether it must be given.
pub(super) fn signature(field: &Field) -> String {
    let kind = match field.kind {
        Kind::Quantity(dimension) => dimension.to_string(),
        Kind::Window(dimension) => format!("window of {dimension}, least to most"),
        Kind::Curve { x, y } => format!("curve of {x} to {y}"),
        Kind::CurveOrPeak { x, y } => format!("curve of {x} to {y}, or its peak"),
        Kind::Choice(choices) => choices
            .iter()
            .map(|choice| choice.name)
            .collect::<Vec<_>>()
            .join(" | "),
        Kind::Text => "text in quotes".to_owned(),
        Kind::Money => "amount of money".to_owned(),
        Kind::Count => "number of pieces".to_owned(),
    };
    match field.presence {
        Presence::Optional if field.purpose == Purpose::Fit => {
            format!("{kind}; held against what it meets")
        }
        _ if field.purpose == Purpose::Order => format!("{kind}; for the order alone"),
        Presence::Required => format!("{kind}; must be given"),
        Presence::Optional => format!("{kind}; left out of the model when absent"),
        Presence::Alternative => format!("{kind}; one of several ways"),
        Presence::Default { text, .. } => format!("{kind}; {text} when absent"),
        Presence::DefaultWord(word) => format!("{kind}; {word} when absent"),
    }
}

/// What a field usually is, with where that is from, as a sentence.
pub(super) fn usually(row: &Typical) -> String {
    format!("Usually {} ({}).", row.words_in_both(), row.source)
}

/// A name with its text beside it, wrapped.
pub(super) fn row(out: &mut String, name: &str, text: &str) {
    const NAME_WIDTH: usize = 20;
    let lead = format!("  {name:NAME_WIDTH$} ");
    let indent = " ".repeat(lead.chars().count());
    let options = textwrap::Options::new(style().width)
        .initial_indent(&lead)
        .subsequent_indent(&indent);
    out.push_str(&textwrap::fill(text, options));
    out.push('\n');
}

/// A text of its own, wrapped.
pub(super) fn paragraph(out: &mut String, text: &str) {
    out.push_str(&textwrap::fill(text, style().width));
    out.push('\n');
}
