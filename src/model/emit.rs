//! Passes on the findings of a build, each once. The mistakes of a used file become one finding for each `use` that
//! leads to it.

use super::bundle::Bundle;
use crate::check_id::CheckId;
use crate::finding::{FileName, Place, Problem};
use crate::syntax::TextRange;
use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};
use std::hash::{DefaultHasher, Hash, Hasher};

/// Passes on each problem once. Bases and parts are evaluated for every system that takes from them, so that their
/// problems come up many times. Mistakes in a used file are reported in full where that file is checked; here each
/// `use` that leads to it gets one problem.
pub(super) struct DedupSink<'t> {
    bundle: &'t Bundle,
    known: HashSet<u128>,
    elsewhere: HashMap<FileName, Mistakes>,
    write: &'t mut dyn FnMut(Problem),
}

/// The mistakes in one of the used files.
struct Mistakes {
    /// The first mistake, in the order of the text.
    first: Problem,
    /// The lines with mistakes, from 0.
    lines: BTreeSet<u32>,
}

impl Mistakes {
    fn words(&self) -> String {
        let mut lines = self.lines.iter().map(|line| line + 1);
        match (lines.next(), lines.next(), lines.len()) {
            (Some(line), Some(other), 0) => format!("mistakes on lines {line} and {other}"),
            (Some(line), Some(_), more) => {
                format!("mistakes on {} lines, the first on line {line}", more + 2)
            }
            (line, ..) => format!("a mistake on line {}", line.unwrap_or(1)),
        }
    }
}

impl<'t> DedupSink<'t> {
    pub fn new(bundle: &'t Bundle, write: &'t mut dyn FnMut(Problem)) -> Self {
        Self {
            bundle,
            known: HashSet::new(),
            elsewhere: HashMap::new(),
            write,
        }
    }

    /// Whether a used file has mistakes.
    pub fn has_broken_uses(&self) -> bool {
        !self.elsewhere.is_empty()
    }

    pub fn emit(&mut self, problems: impl IntoIterator<Item = Problem>) {
        for mut problem in problems {
            let file = &problem.place.file;
            if *file != self.bundle.sources[0].name
                && let Some(source) = self.bundle.sources.iter().find(|s| s.name == *file)
            {
                let at = source.range(problem.place.span);
                let line = source.lines.line_of(at.start);
                match self.elsewhere.get_mut(file) {
                    Some(known) => {
                        known.lines.insert(line);
                        if at < source.range(known.first.place.span) {
                            known.first = problem;
                        }
                    }
                    None => {
                        let mistakes = Mistakes {
                            lines: BTreeSet::from([line]),
                            first: problem,
                        };
                        self.elsewhere
                            .insert(mistakes.first.place.file.clone(), mistakes);
                    }
                }
                continue;
            }
            for (place, text) in problem.fixes.iter_mut().flat_map(|fix| &mut fix.edits) {
                pad_before_word(self.bundle, place, text);
            }
            if self.known.insert(fingerprint(&problem)) {
                (self.write)(problem);
            }
        }
    }

    /// One problem for each `use` that leads to a file with mistakes. `lost` holds the files whose mistakes keep
    /// systems from being worked out.
    pub fn broken_uses(&self, lost: &HashSet<&FileName>) -> Vec<Problem> {
        let mut by_use: BTreeMap<TextRange, (Place, Vec<&Mistakes>)> = BTreeMap::new();
        for (source, place) in self.bundle.ways_in() {
            let mistakes = self.elsewhere.get(&self.bundle.sources[source].name);
            if let Some(mistakes) = mistakes {
                let at = self.bundle.sources[0].range(place.span);
                let broken = by_use.entry(at).or_insert((place, Vec::new()));
                broken.1.push(mistakes);
            }
        }
        let problem = |(place, broken): (Place, Vec<&Mistakes>)| {
            let loses = |mistakes: &&&Mistakes| lost.contains(&mistakes.first.place.file);
            // The most serious one is named.
            let worst = broken.iter().find(loses).or(broken.first())?;
            let first = &worst.first;
            let more = match broken.len() - 1 {
                0 => String::new(),
                1 => ", and another file that it uses has mistakes too".to_owned(),
                n => format!(", and {n} other files that it uses have mistakes too"),
            };
            let effect = match broken.iter().any(|mistakes| loses(&mistakes)) {
                true => "; what depends on it is not worked out",
                false => "",
            };
            let file = self.bundle.shown(&first.place.file);
            let message = format!("`{file}` has {}{more}{effect}", worst.words());
            let line = worst.lines.first().map_or(1, |line| line + 1);
            let problem = Problem::new(CheckId::UseMissing, place, message)
                .help(format!("line {line}: {}", first.message))
                .related(first.place.clone(), "the mistake");
            Some(problem)
        };
        by_use.into_values().filter_map(problem).collect()
    }
}

/// Adds a blank to an inserted text if a word follows at once. In `12travel = 150 mm` the field begins without a
/// blank before it.
fn pad_before_word(bundle: &Bundle, place: &Place, text: &mut String) {
    let is_of_word = |c: char| c.is_alphanumeric() || c == '_';
    let source = bundle.sources.iter().find(|s| s.name == place.file);
    let behind = source.and_then(|s| s.text.get(s.range(place.span).end as usize..));
    if text.ends_with(is_of_word) && behind.is_some_and(|behind| behind.starts_with(is_of_word)) {
        text.push(' ');
    }
}

/// A number that identifies a problem. With 128 bits, no two problems share one by chance.
fn fingerprint(problem: &Problem) -> u128 {
    let mut hasher = DefaultHasher::new();
    problem.hash(&mut hasher);
    let first = hasher.finish();
    hasher.write_u8(0);
    (u128::from(first) << 64) | u128::from(hasher.finish())
}
