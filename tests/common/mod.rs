//! Helpers for several tests.
#![allow(dead_code, reason = "each test uses its own share of it")]

pub mod cars;
pub mod chains;
pub mod injected;
pub mod layouts;
mod library;
pub mod toleranced;

pub use library::{Library, source};

use bitepoint::finding::{Fix, Place};
use bitepoint::model::{Bundle, System, build};
use bitepoint::syntax::{TextRange, parse};
use proptest::test_runner::Config as ProptestConfig;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

/// How many cases a property is tried on. A failing case is printed and kept as a test.
pub fn cases(count: u32) -> ProptestConfig {
    ProptestConfig {
        cases: count,
        failure_persistence: None,
        ..ProptestConfig::default()
    }
}

/// The last system of a text, as far as it could be read.
pub fn last_system(text: &str) -> System {
    let bundle = Bundle::load(source("a.clutch", text), &Library::default());
    let last = build(&bundle).systems.into_iter().next_back();
    last.expect("a system").system
}

/// A text with a fix applied.
pub fn with_fix(text: &str, fix: &Fix) -> String {
    let mut edits = fix.edits.clone();
    edits.sort_by_key(|(place, _)| std::cmp::Reverse(range_in(text, place)));
    let mut changed = text.to_owned();
    for (place, new) in edits {
        changed.replace_range(range_in(text, &place).range(), &new);
    }
    changed
}

/// The range of a place in a text.
pub fn range_in(text: &str, place: &Place) -> TextRange {
    parse(text).range(place.span)
}

/// The text that a place covers.
pub fn covered<'t>(text: &'t str, place: &Place) -> &'t str {
    range_in(text, place).of(text)
}

/// Every example of the project, the starters among them.
pub fn examples() -> Vec<PathBuf> {
    let mut found = Vec::new();
    for folder in [
        "examples",
        "examples/parts",
        "examples/fails",
        "examples/new",
    ] {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join(folder);
        let entries = std::fs::read_dir(folder)
            .unwrap()
            .map(|entry| entry.unwrap().path());
        found.extend(entries.filter(|path| path.extension().is_some_and(|e| e == "clutch")));
    }
    found.sort();
    assert!(found.len() > 20);
    found
}

/// A folder with files in it, which is removed when dropped.
pub fn folder(files: &[(&str, &str)]) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    for (name, text) in files {
        let path = folder.path().join(name);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, text).unwrap();
    }
    folder
}

/// Runs the program in a folder. Gives its exit status, standard output and standard error.
pub fn bitepoint(folder: &Path, arguments: &[&str]) -> (i32, String, String) {
    let Output {
        status,
        stdout,
        stderr,
    } = Command::new(env!("CARGO_BIN_EXE_bitepoint"))
        .args(arguments)
        .current_dir(folder)
        .output()
        .unwrap();
    let text = |bytes| String::from_utf8(bytes).unwrap();
    (status.code().unwrap(), text(stdout), text(stderr))
}

/// A car in which nothing is wrong.
pub const SOUND: &str = "system sound {
    pedal { ratio = 6  travel = 150 mm  free_play = 6 mm }
    master { bore = 3/4 in  stroke = 36 mm  port_travel = 1 mm }
    slave { bore = 7/8 in  stroke = 30 mm  rest_extension = 6 mm  moves = rearward }
    fork { ratio = 1.65  pivot = between }
    cover { release_travel = 7.5 mm to 11 mm  release_load = 1500 N }
}
";
