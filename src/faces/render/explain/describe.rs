//! Entries of the schema and examples of checks in words, for `explain` and the manual.

use crate::quantity::{listed, ways_listed};
use crate::schema::{Alternatives, Field, Kind, Presence, Purpose, Typical, Ways};

/// Which of several fields must be given.
pub(crate) fn ways(alternatives: &Alternatives) -> String {
    let ways: Vec<String> = alternatives
        .ways
        .iter()
        .map(|way| listed(way, " and "))
        .collect();
    let wanted = match alternatives.required {
        true => "one of these must be given",
        false => "at most one of these",
    };
    format!("{wanted}: {}", ways.join(", or "))
}

/// What else must be given, in words; `None` if nothing.
pub(crate) fn needs(ways: Ways) -> Option<String> {
    let ways: Vec<Vec<String>> = ways
        .iter()
        .map(|way| way.iter().map(|path| (*path).to_owned()).collect())
        .collect();
    (!ways.is_empty()).then(|| ways_listed(&ways))
}

/// The kind of a field's value, and whether it must be given.
pub(crate) fn signature(field: &Field) -> String {
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

/// The usual values of a field, with their source, as a sentence.
pub(crate) fn usually(row: &Typical) -> String {
    format!("Usually {} ({}).", row.words_in_both(), row.source)
}

/// A text that grows line by line, each wrapped to a width.
pub(super) struct Lines {
    text: String,
    width: usize,
}

impl Lines {
    pub fn new(width: usize, first: impl Into<String>) -> Self {
        let text = first.into();
        Self { text, width }
    }

    /// A name with its text beside it, wrapped.
    pub fn row(&mut self, name: &str, text: &str) {
        const NAME_WIDTH: usize = 20;
        let lead = format!("  {name:NAME_WIDTH$} ");
        let indent = " ".repeat(lead.chars().count());
        let options = textwrap::Options::new(self.width)
            .initial_indent(&lead)
            .subsequent_indent(&indent);
        self.text.push_str(&textwrap::fill(text, options));
        self.text.push('\n');
    }

    /// A paragraph, wrapped.
    pub fn paragraph(&mut self, text: &str) {
        self.text.push_str(&textwrap::fill(text, self.width));
        self.text.push('\n');
    }

    /// A text, unchanged.
    pub fn push_str(&mut self, text: &str) {
        self.text.push_str(text);
    }

    pub fn push(&mut self, letter: char) {
        self.text.push(letter);
    }

    pub fn finish(self) -> String {
        self.text
    }
}

impl std::fmt::Write for Lines {
    fn write_str(&mut self, text: &str) -> std::fmt::Result {
        self.text.push_str(text);
        Ok(())
    }
}
