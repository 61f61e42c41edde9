//! Completions for texts in quotes: what fits the neighbor that a field meets, and what the same field says
//! elsewhere.

use super::writer::Writer;
use crate::analysis::completion_item::CompletionKind;
use crate::analysis::cursor::{Quote, Token};
use crate::analysis::used::Used;
use crate::model::{Bundle, Given, Rebuild, Side, Source, Space, System, build_named};
use crate::schema::{Agree, BLOCKS, Block, FieldId, Kind, MEETS, Meets};
use crate::syntax::{Field, StatementKind, TextRange, ValueKind, quoted};
use std::cmp::Reverse;
use std::collections::BTreeMap;
use std::sync::Arc;

/// With more combinations of a kit than this none is examined.
const MOST_PICKED: usize = 200;

/// With more systems around a part than this none is examined.
const MOST_SYSTEMS: usize = 20;

/// The other side of a joint.
struct Neighbor {
    /// How the two must agree.
    agree: Agree,
    /// The side's name in a message.
    name: String,
    text: String,
}

impl<'a> Writer<'a> {
    /// Offers texts that may replace the text between quotes.
    pub(super) fn inside_quotes(&mut self, quote: Quote) {
        let Some(id) = self.text_field() else {
            return;
        };
        let place = TextRange {
            start: quote.start(),
            end: quote.inner.end + u32::from(quote.closed),
        };
        for (text, detail) in self.known_texts(id, place) {
            let written = quoted(&text);
            let inner = &written[1..written.len() - 1];
            let item = self.add(CompletionKind::Value, text);
            item.detail = detail;
            item.filter = (item.label != inner).then(|| inner.to_owned());
            item.insert = inner.to_owned();
            if !quote.closed {
                item.insert.push('"');
            }
        }
    }

    /// Offers texts with their quotes, where none is written yet.
    pub(super) fn text(&mut self, id: FieldId, head: u32, typed: &[Token<'a>]) {
        if !typed.is_empty() {
            if self.ends_here() || self.rest().starts_with('=') {
                self.fields(id.block, head);
            }
            return;
        }
        if !self.ends_here() || self.span.start < self.span.end {
            return;
        }
        let item = self.add(CompletionKind::Value, "\"…\"");
        item.insert = "\"\"".to_owned();
        item.snippet = Some("\"$1\"$0".to_owned());
        for (text, detail) in self.known_texts(id, self.span) {
            self.add(CompletionKind::Value, quoted(&text)).detail = detail;
        }
    }

    /// The field whose text contains the cursor.
    fn text_field(&self) -> Option<FieldId> {
        let open = self.cursor.innermost()?;
        let is_part = open.head.first()?.text == "part";
        let block = Block::named(open.head.get(usize::from(is_part))?.text)?;
        let [field, equals] = self.cursor.before.as_slice() else {
            return None;
        };
        let field = BLOCKS[block as usize].field_index(field.text)?;
        let id = FieldId { block, field };
        (equals.is("=") && matches!(id.field().kind, Kind::Text)).then_some(id)
    }

    /// The texts that a field may have, each with the reason. Those that its neighbor needs come first, then the most
    /// common. `place` holds the text written now.
    fn known_texts(&self, id: FieldId, place: TextRange) -> Vec<(String, String)> {
        let neighbors = self.neighbors(place);
        let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
        let alike = alike(id);
        let mut count = |field: &'a Field| {
            if (field.name.text == id.field().name || alike.contains(&field.name.text.as_str()))
                && let ValueKind::Text(text) = &field.value.kind
            {
                *counts.entry(&text.text).or_default() += 1;
            }
        };
        self.fields_in_sight(&mut count);
        let mut known: Vec<(&str, usize)> = counts.into_iter().collect();
        known.retain(|(text, _)| !text.is_empty());
        for neighbor in &neighbors {
            if !known.iter().any(|(text, _)| *text == neighbor.text) {
                known.push((&neighbor.text, 0));
            }
        }
        let fits = |text: &str, neighbor: &Neighbor| {
            neighbor.agree.texts_agree(text, &neighbor.text) == Some(true)
        };
        let fitting = |text: &str| neighbors.iter().filter(|n| fits(text, n)).count();
        let is_own = |text: &str| neighbors.iter().any(|neighbor| neighbor.text == text);
        known.sort_by_key(|(text, count)| Reverse((fitting(text), is_own(text), *count)));
        let told = known.into_iter().map(|(text, count)| {
            let names = |wanted: bool| {
                let some = neighbors.iter().filter(|n| fits(text, n) == wanted);
                some.map(|neighbor| neighbor.name.as_str())
                    .collect::<Vec<_>>()
            };
            let (fit, unfit) = (names(true), names(false));
            let said = match count {
                0 => None,
                1 => Some("said once".to_owned()),
                count => Some(format!("said {count} times")),
            };
            let stands = match (fit.as_slice(), unfit.as_slice()) {
                ([], []) => None,
                ([], unfit) => Some(format!("does not fit {}", some_of(unfit))),
                (fit, _) => Some(format!("fits {}", some_of(fit))),
            };
            let detail: Vec<String> = stands.into_iter().chain(said).collect();
            (text.to_owned(), detail.join(", "))
        });
        told.collect()
    }

    /// The neighbors of the field whose value is at a place, in every system that has it. A system that leaves parts
    /// to choose has a neighbor for each.
    fn neighbors(&self, place: TextRange) -> Vec<Neighbor> {
        let mut text = self.cursor.text.to_owned();
        // Any text there lets the rest be read; an empty one would be a mistake.
        text.replace_range(place.range(), "\"?\"");
        let source = Arc::new(self.report.source.edited(text));
        let bundle = Bundle::load(source, &Used(self.report));
        let mut found = Vec::new();
        for name in self.systems_around(&bundle) {
            let Some(built) = build_named(&bundle, &name) else {
                continue;
            };
            let mut look = |system: &System| look(system, &bundle.sources[0], place, &mut found);
            let space = built.space.as_ref().filter(|space| !space.axes.is_empty());
            match space.zip(Rebuild::of(&bundle, &built.system)) {
                Some((space, rebuild)) => look_in_space(space, rebuild, &mut look),
                None => {
                    look(&built.system);
                }
            }
        }
        found
    }

    /// The system around the cursor; around a part, the systems of the file that name it.
    fn systems_around(&self, bundle: &Bundle) -> Vec<String> {
        if let Some(head) = self.cursor.system_head() {
            return vec![head.text.to_owned()];
        }
        let part = self.cursor.innermost().and_then(|open| open.head.get(2));
        let Some(part) = part.map(|part| part.text) else {
            return Vec::new();
        };
        let names = |kind: &StatementKind| match kind {
            StatementKind::Block(block) => {
                block.name.as_ref().is_some_and(|name| name.text == part)
            }
            StatementKind::Choose(choose) => choose.parts.iter().any(|own| own.text == part),
            _ => false,
        };
        let takes = |system: &crate::syntax::System| {
            let mut statements = system.body.statements.iter();
            statements.any(|statement| names(&statement.kind))
        };
        let systems = bundle.sources[0].systems().filter(|system| takes(system));
        let all: Vec<String> = systems.map(|system| system.name.text.clone()).collect();
        match all.len() <= MOST_SYSTEMS {
            true => all,
            false => Vec::new(),
        }
    }
}

/// Adds the neighbors of a field in a system; `place` holds the field's value. Says whether the system has the field.
fn look(system: &System, source: &Source, place: TextRange, found: &mut Vec<Neighbor>) -> bool {
    let is_it = |side: &Side<'_>| {
        side.given().is_some_and(|given| {
            given.place.file == source.name && source.range(given.place.span).start == place.start
        })
    };
    let mut has_it = false;
    for joint in system.joints() {
        let other = match (is_it(&joint.first), is_it(&joint.second)) {
            (true, _) => &joint.second,
            (_, true) => &joint.first,
            _ => continue,
        };
        has_it = true;
        let text = other.given().and_then(Given::text).unwrap_or_default();
        let part = other
            .component
            .and_then(|component| component.part.as_ref());
        let name = match part {
            Some(part) if !tells_part(&other.name(), &part.name) => {
                format!("{} of {}", other.name(), part.name)
            }
            _ => other.name(),
        };
        let is_known = |known: &Neighbor| known.name == name && known.text == text;
        if !text.is_empty() && !found.iter().any(is_known) {
            found.push(Neighbor {
                agree: joint.meets.agree,
                name,
                text: text.to_owned(),
            });
        }
    }
    has_it
}

/// Examines the combinations that have the field: each choice once, with the first of every other.
fn look_in_space(space: &Space, rebuild: Rebuild<'_>, look: &mut dyn FnMut(&System) -> bool) {
    let axes = &space.axes;
    let count: usize = axes.iter().map(|axis| axis.choices.len()).sum();
    if count > MOST_PICKED {
        return;
    }
    let mut picker = space.picker(rebuild);
    let choices = |axis: usize| (0..axes[axis].choices.len()).map(move |choice| (axis, choice));
    let with = |digits: &[usize], (axis, choice): (usize, usize)| {
        let mut digits = digits.to_vec();
        digits[axis] = choice;
        digits
    };
    let firsts = vec![0; axes.len()];
    // The field may belong to a part that is one of the choices.
    let home = (0..axes.len())
        .flat_map(choices)
        .map(|choice| with(&firsts, choice))
        .find(|digits| look(picker.pick(space.index_of(digits))));
    let Some(home) = home else {
        return;
    };
    let others = (0..axes.len()).filter(|axis| home[*axis] == 0);
    for choice in others.flat_map(choices) {
        look(picker.pick(space.index_of(&with(&home, choice))));
    }
}

/// Whether the name of a side contains its part already, as that of a fitting does.
fn tells_part(side: &str, part: &str) -> bool {
    side.split([' ', '.']).any(|word| word == part)
}

/// The names of the fields whose texts a field may also have: those that it meets, and for a port all ports.
fn alike(id: FieldId) -> Vec<&'static str> {
    let is_among = |meets: &&Meets| meets.first == id || meets.second == id;
    let ports = MEETS.iter().filter(|meets| meets.agree == Agree::Ports);
    let ports = ports.flat_map(|meets| [meets.first, meets.second]);
    let ports: Vec<&str> = ports.map(|field| field.field().name).collect();
    match ports.contains(&id.field().name) {
        true => ports,
        false => MEETS
            .iter()
            .filter(is_among)
            .flat_map(|meets| [meets.first, meets.second])
            .map(|field| field.field().name)
            .collect(),
    }
}

/// A few names, and the number of the others.
fn some_of(names: &[&str]) -> String {
    const MOST: usize = 3;
    match names.len() {
        0..=MOST => names.join(" and "),
        more => format!("{} and {} more", names[..MOST].join(", "), more - MOST),
    }
}
