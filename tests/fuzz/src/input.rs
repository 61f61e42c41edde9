//! Makes the input of properties from bytes.

use bitepoint::analysis::{Report, Work, analyse_with};
use bitepoint::checks::REFERENCE;
use bitepoint::finding::Place;
use bitepoint::model::Source;
use bitepoint::syntax::TextRange;
use library::{Library, source};
use std::cell::RefCell;
use std::collections::HashMap;
use std::sync::{Arc, LazyLock};

#[path = "../../common/library.rs"]
mod library;

/// The main file, and the one that it may use.
pub const NAMES: [&str; 2] = ["car.clutch", "parts.clutch"];

/// A file that always exists: it has the system from which the checks' examples start.
pub const SHELF: &str = "reference.clutch";

/// A line that divides the first file from the second.
pub const DIVIDER: &str = "\n#---\n";

/// How many combinations are tried; more would only repeat the same.
const COMBINATIONS: u64 = 6;

/// A file, and the one that it may use.
pub struct Pair {
    pub car: Arc<Source>,
    parts: Arc<Source>,
}

impl Pair {
    /// The text up to the divider, and what follows it.
    pub fn new(text: &str) -> Self {
        let (car, parts) = text.split_once(DIVIDER).unwrap_or((text, ""));
        Self {
            car: source(NAMES[0], car),
            parts: read_once(parts),
        }
    }

    /// The files that the first file may use.
    pub fn files(&self) -> Library {
        [self.parts.clone(), SHELVED.clone()].into_iter().collect()
    }

    pub fn work() -> Work<'static> {
        Work {
            combinations: COMBINATIONS,
            ..Work::default()
        }
    }

    pub fn report(&self) -> Report {
        self.report_with(&Self::work())
    }

    pub fn report_with(&self, work: &Work<'_>) -> Report {
        analyse_with(self.car.clone(), &self.files(), work)
    }

    /// The pair with another text in the first file.
    pub fn with(&self, text: String) -> Self {
        Self {
            car: source(NAMES[0], &text),
            parts: self.parts.clone(),
        }
    }

    pub fn text_of(&self, place: &Place) -> &str {
        match &*place.file {
            SHELF => &SHELVED.text,
            name if name == NAMES[1] => &self.parts.text,
            _ => &self.car.text,
        }
    }
}

static SHELVED: LazyLock<Arc<Source>> = LazyLock::new(|| source(SHELF, REFERENCE));

/// How many used files are kept.
const KEPT: usize = 64;

thread_local! {
    static READ: RefCell<HashMap<String, Arc<Source>>> = RefCell::default();
}

/// The second file, parsed once. Most inputs leave it as it was in an earlier input.
fn read_once(text: &str) -> Arc<Source> {
    READ.with_borrow_mut(|read| {
        if let Some(known) = read.get(text) {
            return known.clone();
        }
        if read.len() == KEPT {
            read.clear();
        }
        let parts = source(NAMES[1], text);
        read.insert(text.to_owned(), parts.clone());
        parts
    })
}

/// Numbers that follow from the input, spread over all numbers.
pub struct Dice(u64);

impl Dice {
    pub fn new(data: &[u8]) -> Self {
        // FNV-1a.
        let mix = |hash: u64, byte: &u8| (hash ^ u64::from(*byte)).wrapping_mul(0x0100_0000_01b3);
        Self(data.iter().fold(0xcbf2_9ce4_8422_2325, mix))
    }

    /// A number below a limit.
    pub fn below(&mut self, limit: usize) -> usize {
        // The constants of Knuth's MMIX.
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as usize % limit.max(1)
    }

    /// A place between two characters of a text.
    pub fn offset(&mut self, text: &str) -> u32 {
        let at = self.below(text.len() + 1);
        floor_char_boundary(text, at) as u32
    }
}

/// The last place between two characters at or before `at`.
pub fn floor_char_boundary(text: &str, at: usize) -> usize {
    let boundary = (0..=at).rev().find(|at| text.is_char_boundary(*at));
    boundary.unwrap_or(0)
}

/// Whether a span is inside a text, between characters.
pub fn lies_in(text: &str, span: TextRange) -> bool {
    text.get(span.range()).is_some()
}
