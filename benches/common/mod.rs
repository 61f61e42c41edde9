//! What the benchmarks share.

use bitepoint::model::{Bundle, System, build};

#[path = "../../tests/common/library.rs"]
mod library;

pub use library::{Library, source};

/// The last system of a text.
pub fn last(text: &str) -> System {
    let bundle = Bundle::load(source("bench.clutch", text), &Library::default());
    let last = build(&bundle).systems.into_iter().next_back();
    last.expect("a system").system
}
