//! The parts that changed, each once, with the systems that take them.

use super::{Compared, file_name, said};
use crate::analysis::compare::Comparison;
use crate::faces::render::counted;
use crate::faces::sanitize;
use crate::finding::FileName;
use std::collections::HashMap;
use std::collections::hash_map::Entry;

/// The most parts that are listed; nobody reads more.
const MOST_PARTS: usize = 100;
/// How many of the systems are named.
const MOST_SYSTEMS: usize = 8;

/// A changed field of a part.
#[derive(Clone, Debug)]
pub(super) struct PartChange {
    /// The field's name: `slave hy_s22.bore`.
    pub what: String,
    /// The file that defines the part.
    pub file: FileName,
    pub before: String,
    pub after: String,
    /// The systems that are affected, each with its file.
    pub reaches: Vec<(FileName, String)>,
}

impl PartChange {
    /// The systems in words: `kit, light (a.clutch), kit (b.clutch) and 3 more systems`.
    pub fn reaches_words(&self) -> String {
        let named = &self.reaches[..self.reaches.len().min(MOST_SYSTEMS)];
        let of_file = named.chunk_by(|(a, _), (b, _)| a == b).map(|of_file| {
            let systems: Vec<&str> = of_file.iter().map(|(_, system)| system.as_str()).collect();
            format!("{} ({})", systems.join(", "), sanitize::name(&of_file[0].0))
        });
        let words = of_file.collect::<Vec<_>>().join(", ");
        match self.reaches.len() - named.len() {
            0 => words,
            more => format!("{words} and {}", counted(more, "more system")),
        }
    }
}

/// Changes of parts, each once, in the order in which they are found.
#[derive(Default)]
struct Merged {
    all: Vec<PartChange>,
    places: HashMap<(String, FileName, String, String), usize>,
}

impl Merged {
    /// Adds a change, or adds its systems to the same change if it is known.
    fn put(&mut self, change: PartChange) {
        let PartChange {
            what,
            file,
            before,
            after,
            ..
        } = &change;
        let key = (what.clone(), file.clone(), before.clone(), after.clone());
        match self.places.entry(key) {
            Entry::Vacant(place) => {
                place.insert(self.all.len());
                self.all.push(change);
            }
            Entry::Occupied(place) => {
                let known = &mut self.all[*place.get()].reaches;
                // Two lines of one system may take the same part.
                let is_new = known.last() != change.reaches.first();
                known.extend(change.reaches.into_iter().filter(|_| is_new));
            }
        }
    }
}

/// The changed parts of one file's systems.
pub(super) fn of_file(comparison: &Comparison<'_>) -> Vec<PartChange> {
    let mut merged = Merged::default();
    for system in &comparison.systems {
        for input in &system.inputs {
            let Some(part) = &input.part else { continue };
            merged.put(PartChange {
                what: part.name.clone(),
                file: part.file.clone(),
                before: said(input.before.as_ref()),
                after: said(input.after.as_ref()),
                reaches: vec![(file_name(comparison).into(), system.name().to_owned())],
            });
        }
    }
    merged.all
}

impl Compared {
    /// All changed parts.
    pub(super) fn parts(&self) -> Vec<PartChange> {
        let mut merged = Merged::default();
        for change in self.files.iter().flat_map(|file| &file.parts) {
            merged.put(change.clone());
        }
        merged.all
    }
}

/// A line for each part, up to a number of parts and of bytes, then the number of the others.
pub(super) fn lines(
    parts: &[PartChange],
    bytes: usize,
    line: impl Fn(&PartChange) -> String,
) -> (Vec<String>, Option<String>) {
    let mut left = bytes;
    let lines = parts.iter().take(MOST_PARTS).map(line);
    let lines = lines.take_while(|line| {
        let fits = line.len() <= left;
        left = left.saturating_sub(line.len());
        fits
    });
    let lines: Vec<String> = lines.collect();
    let more = parts.len() - lines.len();
    let more = (more > 0).then(|| format!("and {} of parts", counted(more, "more change")));
    (lines, more)
}
