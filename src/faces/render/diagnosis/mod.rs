//! A diagnosis for people and for machines.

mod json;
mod markdown;
mod text;

pub use json::{diagnosis_json, system_json};
pub use markdown::{askable_markdown, diagnosis_markdown, measured_markdown};
pub use text::{askable_text, diagnosis_text};

use crate::analysis::diagnosis::{Askable, VisitTold, askable, told};
use crate::analysis::{Report, Worked};
use crate::diagnose::{Diagnosis, Reading};
use crate::quantity::UnitSystem;
use std::borrow::Cow;

/// Why a system has no answer, as a piece of text.
pub fn not_worked(report: &Report, worked: &Worked) -> String {
    let Err(why) = &worked.outcome else {
        return String::new();
    };
    format!(
        "{}: not worked out: {}\n",
        worked.system.name,
        report.why_not_worked(&worked.system, *why)
    )
}

/// The note beside an answer if the spec has other errors.
pub fn other_errors(file: &str) -> String {
    format!(
        "`{file}` has errors of its own: mend what `bitepoint check` lists first, for what is worked out may not be this car"
    )
}

/// The heading of a visit without a label.
const UNLABELLED: &str = "Readings";

/// The diagnosis of every visit of a system, in words.
fn visits(worked: &Worked, diagnosis: &Diagnosis) -> Vec<VisitTold> {
    let visits = diagnosis.visits.iter();
    visits.map(|visit| told(worked, visit)).collect()
}

/// The heading above the causes.
fn causes_head(visit: &VisitTold) -> &'static str {
    match (visit.explains, visit.causes.len()) {
        (false, _) => "Nearly explains it",
        (true, 1) => "What explains it",
        (true, _) => "What explains it, the most common first",
    }
}

/// The heading above the faults that are ruled out. If two faults explain the visit together, neither explains it
/// alone.
fn ruled_out_head(visit: &VisitTold) -> &'static str {
    match visit.pairs.is_empty() {
        true => "Ruled out",
        false => "Cannot explain it alone",
    }
}

/// How many causes fit as well as the first, the first included.
fn equals(visit: &VisitTold) -> usize {
    visit.causes.iter().filter(|cause| cause.is_equal).count()
}

/// The meaning of the mark for equal causes.
const EQUALS: &str = "= : the readings fit these equally well.";

/// The value in a list of readings that may be taken: `0.614 in when right`, or the words to choose from.
fn right(askable: &Askable) -> String {
    match askable.reading.dimension() {
        Some(_) if !askable.right.is_empty() => format!("{} when right", askable.right),
        _ => askable.right.clone(),
    }
}

/// How the author of a system gives readings: in the spec, and on the command line.
fn how_to_give(worked: &Worked, file: &str) -> [String; 2] {
    let value = match worked.system.display.system() {
        UnitSystem::Imperial => "0.45 in",
        _ => "12.9 mm",
    };
    let reading = match askable(worked)
        .iter()
        .any(|a| a.reading == Reading::SlaveTravel)
    {
        true => Reading::SlaveTravel,
        false => Reading::BearingTravel,
    };
    let reading = reading.name();
    [
        format!("measured first_call {{ {reading} = {value} }}"),
        format!(
            "bitepoint diagnose {} {} --reading {reading}=\"{value}\"",
            quoted_path(file),
            worked.system.name
        ),
    ]
}

/// A path as a single argument in a shell.
fn quoted_path(path: &str) -> Cow<'_, str> {
    let is_plain = |c: char| c.is_alphanumeric() || "/._-".contains(c);
    match path.chars().all(is_plain) {
        true => Cow::Borrowed(path),
        false => Cow::Owned(format!("'{}'", path.replace('\'', "'\\''"))),
    }
}
