//! JSON with long lists, written item by item, so that no item is kept as a value. The layout is that of
//! `serde_json`.

use crate::faces::sanitize;
use serde_json::Value;

/// A list, as the text of its items.
#[derive(Debug)]
pub(super) struct List {
    indent: usize,
    pieces: Vec<String>,
}

impl List {
    /// An empty list in an object whose members have the given indentation.
    pub fn new(indent: usize) -> Self {
        Self {
            indent,
            pieces: Vec::new(),
        }
    }

    pub fn push(&mut self, item: &Value) {
        let lead = match self.pieces.is_empty() {
            true => "[\n",
            false => ",\n",
        };
        let mut piece = lead.to_owned();
        let inner = self.indent + 2;
        for (i, line) in format!("{item:#}").lines().enumerate() {
            if i > 0 {
                piece.push('\n');
            }
            piece.extend(std::iter::repeat_n(' ', inner));
            piece.push_str(line);
        }
        let mut piece = sanitize::json(&piece);
        // There are very many of them.
        piece.shrink_to_fit();
        self.pieces.push(piece);
    }

    fn finish(mut self) -> Vec<String> {
        self.pieces.push(match self.pieces.is_empty() {
            true => "[]".to_owned(),
            false => format!("\n{:indent$}]", "", indent = self.indent),
        });
        self.pieces
    }
}

/// The value of a member of an object.
pub(super) enum Member {
    Value(Value),
    List(List),
}

/// An object whose members have the given indentation, in pieces.
pub(super) fn object(
    indent: usize,
    members: impl IntoIterator<Item = (&'static str, Member)>,
) -> Vec<String> {
    let lead = " ".repeat(indent);
    let mut pieces = Vec::new();
    for (i, (key, member)) in members.into_iter().enumerate() {
        let before = if i == 0 { "{\n" } else { ",\n" };
        pieces.push(format!("{before}{lead}\"{key}\": "));
        match member {
            Member::Value(value) => {
                let written = format!("{value:#}").replace('\n', &format!("\n{lead}"));
                pieces.push(sanitize::json(&written));
            }
            Member::List(list) => pieces.extend(list.finish()),
        }
    }
    pieces.push(format!("\n{}}}", " ".repeat(indent.saturating_sub(2))));
    pieces
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn lists_are_laid_out_as_a_whole_value_is() {
        let items = [json!({ "a": [1, {}], "b": "x\n##[error]" }), json!([])];
        for count in 0..=2 {
            let mut list = List::new(2);
            items[..count].iter().for_each(|item| list.push(item));
            let members = [
                ("version", Member::Value(json!({ "of": ["it"] }))),
                ("items", Member::List(list)),
                ("end", Member::Value(json!([]))),
            ];
            let whole = json!({
                "version": { "of": ["it"] },
                "items": items[..count],
                "end": [],
            });
            let whole = sanitize::json(&format!("{whole:#}"));
            assert_eq!(object(2, members).concat(), whole);
        }
    }
}
