//! What the benchmarks share.

use bitepoint::finding::FileName;
use bitepoint::model::{Bundle, Files, Source, System, build};
use std::sync::Arc;

/// A disk with nothing on it.
pub struct NoFiles;

impl Files for NoFiles {
    fn read(&self, name: &FileName) -> Result<Arc<Source>, String> {
        Err(format!("cannot be read: nothing is called {name}"))
    }
}

/// The last system of a text.
pub fn last(text: &str) -> System {
    let source = Source::new("bench.clutch".into(), text.to_owned());
    let model = build(&Bundle::load(Arc::new(source), &NoFiles));
    model
        .systems
        .into_iter()
        .next_back()
        .expect("a system")
        .system
}
