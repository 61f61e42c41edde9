//! Findings and results in the forms that people and machines read.

mod annotations;
mod baseline;
mod chain_drawing;
pub mod compare;
mod fingerprint;
mod json;
mod junit;
mod kit;
mod markdown;
mod plot;
mod results;
mod sarif;
mod size;
mod text;

pub use annotations::check_annotations;
pub use baseline::{Baseline, Files, Known, MAX_BASELINE_BYTES};
pub use chain_drawing::chain_drawing;
pub use fingerprint::fingerprints;
pub use json::{calc_json, check_json};
pub use junit::check_junit;
pub use kit::kits_text;
pub use plot::{Size, curves};
pub use results::{curve_csv, results_text};
pub use sarif::check_sarif;
pub use size::{size_json, size_text};
pub use text::{TextStyle, findings_text, summary};

use super::sanitize;
use crate::analysis::{Report, Silencer, Worked};
use crate::checks::Finding;
use crate::finding::{Place, Severity};
use crate::syntax::{Encoding, LineColumn};
use std::collections::HashSet;
use std::fmt;

/// What a check of many files came to.
#[derive(Debug, Default)]
pub struct Checked {
    pub reports: Vec<Report>,
    /// Files that could not be looked at.
    pub unread: Vec<Unread>,
    /// The name of the baseline that the findings were held against.
    pub baseline: Option<String>,
    /// What the baseline knows of these files and is found no more.
    pub gone: Vec<Known>,
    /// What the baseline knows and has become worse, by file and fingerprint.
    pub worse: HashSet<(String, String)>,
}

impl Checked {
    /// How many findings were silenced in one way.
    fn silenced(&self, by: Silencer) -> usize {
        let allowed = self.reports.iter().flat_map(|report| &report.allowed);
        allowed.filter(|allowed| allowed.by == by).count()
    }
}

/// The most bytes of an answer about all systems of a file, but for the last system in it: more than
/// anybody reads or prints.
pub const MAX_ANSWER_BYTES: usize = 16 << 20;

/// The systems at the end of a file that an answer has no room for.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct LeftOut {
    pub count: usize,
    /// How many systems there are in all.
    pub of: usize,
    /// The name of the first of them.
    pub first: String,
}

impl LeftOut {
    /// What is left out, and how to get it from a verb of the command line.
    pub fn words(&self, verb: &str, file: &str) -> String {
        let Self { count, of, first } = self;
        let most = MAX_ANSWER_BYTES >> 20;
        format!(
            "{count} of {of} systems are left out, from `{first}` on: there is room for {most} MiB. \
             Name a system to get it: `bitepoint {verb} {file} {first}`"
        )
    }
}

/// Makes one piece of an answer for each system until [`MAX_ANSWER_BYTES`] are reached. The piece
/// comes with its size in bytes.
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
    pub file: String,
    pub why: String,
}

impl fmt::Display for Unread {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "`{}` {}", sanitize::name(&self.file), self.why)
    }
}

/// What a finding says, with the system that it is about.
fn message(finding: &Finding) -> String {
    match &finding.system {
        Some(system) => format!("{system}: {}", finding.problem.message),
        None => finding.problem.message.clone(),
    }
}

/// Where a place begins and ends, if its file is known.
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

/// The findings of some files, in order.
pub fn findings(reports: &[Report]) -> impl Iterator<Item = (&Report, &Finding)> {
    reports
        .iter()
        .flat_map(|report| report.findings.iter().map(move |finding| (report, finding)))
}

/// How many findings there are of one severity.
pub fn count(reports: &[Report], severity: Severity) -> usize {
    findings(reports)
        .filter(|(_, finding)| finding.severity == severity)
        .count()
}

/// `1 error`, `2 errors`.
fn counted(count: usize, what: &str) -> String {
    let plural = match (count, what) {
        (1, _) | (_, "info") => "",
        _ => "s",
    };
    format!("{count} {what}{plural}")
}

/// JSON as it is written: for people too, and inert wherever it is shown.
fn written(value: &serde_json::Value) -> String {
    sanitize::json(&format!("{value:#}\n"))
}
