//! Findings and results in all forms for people and machines.

mod annotations;
mod baseline;
mod bom;
mod chain_drawing;
#[cfg(not(target_arch = "wasm32"))]
mod check;
pub mod compare;
mod curve_csv;
mod diagnosis;
mod explain;
mod fingerprint;
mod json;
mod json_list;
mod json_money;
#[cfg(not(target_arch = "wasm32"))]
mod junit;
mod kit;
mod markdown;
mod plot;
#[cfg(not(target_arch = "wasm32"))]
mod results;
mod sarif;
mod size;
mod tally;
#[cfg(not(target_arch = "wasm32"))]
mod text;

pub use baseline::{Baseline, Compared, Files, MAX_BASELINE_BYTES};
pub use bom::{bom_csv, bom_json, bom_markdown, bom_text};
pub use chain_drawing::chain_drawing;
#[cfg(not(target_arch = "wasm32"))]
pub use check::{CheckForm, CheckRenderer};
pub use curve_csv::curve_csv;
pub use diagnosis::{
    askable_markdown, askable_text, diagnosis_json, diagnosis_markdown, diagnosis_text,
    measured_markdown, not_worked, other_errors, system_json as diagnosed_json,
};
pub use explain::explanation;
#[cfg(not(target_arch = "wasm32"))]
pub(crate) use explain::{needs, signature, usually, ways};
pub use fingerprint::fingerprints;
pub use json::{calc_json, check_json};
pub use kit::kits_text;
pub use plot::{Size, curves};
#[cfg(not(target_arch = "wasm32"))]
pub use results::{ResultsLayout, results_text};
pub use size::{size_json, size_text};
pub use tally::{Ending, HeldAgainst, Tally};
#[cfg(not(target_arch = "wasm32"))]
pub use text::findings_text;

use super::sanitize;
use crate::analysis::{Report, Worked};
use crate::checks::Finding;
use crate::finding::Place;
use crate::syntax::{Encoding, LineColumn};
use std::fmt;

/// How text is laid out.
#[derive(Clone, Copy, Debug)]
pub struct TextStyle {
    /// Whether colors are used.
    pub colour: bool,
    /// How many characters a line may have.
    pub width: usize,
}

/// The most bytes of an answer about all systems of a file, except for the last system in it. Nobody reads or prints
/// more.
pub const MAX_ANSWER_BYTES: usize = 16 << 20;

/// The systems at the end of a file that an answer has no room for.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct LeftOut {
    /// How many systems are left out.
    pub count: usize,
    /// How many systems there are in all.
    pub of: usize,
    /// The name of the first of them.
    pub first: String,
}

impl LeftOut {
    /// A sentence on what is left out, and how to get it from a verb of the command line.
    pub fn words(&self, verb: &str, file: &str) -> String {
        let Self { count, of, first } = self;
        let most = MAX_ANSWER_BYTES >> 20;
        format!(
            "{count} of {of} systems are left out, from `{first}` on: there is room for {most} MiB. \
             Name a system to get it: `bitepoint {verb} {file} {first}`"
        )
    }
}

/// Makes a piece of an answer for each system until [`MAX_ANSWER_BYTES`] is reached. Each piece comes with its size
/// in bytes.
pub fn bounded<T>(
    systems: &[&Worked],
    mut piece: impl FnMut(usize, &Worked) -> (T, usize),
) -> (Vec<T>, Option<LeftOut>) {
    let (mut pieces, mut bytes) = (Vec::new(), 0);
    for (i, worked) in systems.iter().enumerate() {
        if bytes >= MAX_ANSWER_BYTES {
            let left_out = LeftOut {
                count: systems.len() - i,
                of: systems.len(),
                first: worked.system.name.clone(),
            };
            return (pieces, Some(left_out));
        }
        let (made, size) = piece(i, worked);
        pieces.push(made);
        bytes += size;
    }
    (pieces, None)
}

/// A file that could not be read, and why, as the end of a sentence.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct Unread {
    /// The path of the file, as the user gave it or as it was found.
    pub file: String,
    /// Why it could not be read, as the end of a sentence.
    pub why: String,
}

impl fmt::Display for Unread {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "`{}` {}", sanitize::name(&self.file), self.why)
    }
}

/// The message of a finding, with the system that it is about.
fn message(finding: &Finding) -> String {
    match &finding.system {
        Some(system) => format!("{system}: {}", finding.problem.message),
        None => finding.problem.message.clone(),
    }
}

/// The start and end of a place, if its file is known.
fn located_in(
    report: &Report,
    place: &Place,
    encoding: Encoding,
) -> Option<(LineColumn, LineColumn)> {
    let source = report.file(&place.file)?;
    let range = source.range(place.span);
    let at = |offset| source.lines.position(offset, encoding);
    Some((at(range.start), at(range.end)))
}

/// `file:line:column`, counted from one in characters.
fn the_place(report: &Report, place: &Place) -> String {
    let file = sanitize::name(&place.file);
    match located_in(report, place, Encoding::Utf32) {
        Some((at, _)) => format!("{file}:{}:{}", at.line + 1, at.column + 1),
        None => file,
    }
}

/// `1 error`, `2 errors`.
fn counted(count: usize, what: &str) -> String {
    let plural = match (count, what) {
        (1, _) | (_, "info") => "",
        _ => "s",
    };
    format!("{count} {what}{plural}")
}

/// JSON as text: laid out for people, and inert wherever it is shown.
fn written(value: &serde_json::Value) -> String {
    sanitize::json(&format!("{value:#}\n"))
}
