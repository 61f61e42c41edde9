//! Fault-finding for every face: readings from a spec and from elsewhere, and what they mean in words.

mod asked;
mod bleeding;
mod told;

pub use asked::{Askable, askable, not_on_this_car, read_reading};
pub use bleeding::bleeding_on_paper;
pub use told::{Cause, Cure, Next, ReadingLine, VisitTold, told};

use super::{Report, Worked};
use crate::check_id::CheckId;
use crate::diagnose::{Diagnosis, Reading, Taken, Visit, diagnose_visits};
use crate::finding::Severity;

/// The diagnosis of a system's readings, with `more` readings added to its last visit. `None` where the system is not
/// worked out, or nothing was read.
pub fn diagnosis(worked: &Worked, more: &[Taken]) -> Option<Diagnosis> {
    let outcome = worked.outcome.as_deref().ok()?;
    let mut visits = Visit::all(&worked.system);
    if visits.is_empty() && !more.is_empty() {
        visits.push(Visit::default());
    }
    if let Some(last) = visits.last_mut() {
        more.iter().for_each(|taken| last.put(*taken));
    }
    // Of visits on which nothing was read, nothing can be said.
    visits.iter().find(|visit| !visit.taken.is_empty())?;
    Some(diagnose_visits(&worked.system, outcome, &visits))
}

/// Whether a system has readings of its own.
pub fn has_readings(worked: &Worked) -> bool {
    let mut visits = worked.system.measured();
    visits.any(|visit| visit.fields.iter().any(Option::is_some))
}

/// Whether systems have errors other than that a clutch drags as measured.
pub fn has_other_errors(report: &Report, systems: &[&Worked]) -> bool {
    systems.iter().any(|worked| {
        report.findings_of(worked).any(|finding| {
            finding.severity == Severity::Error && finding.check.id != CheckId::DragsAsMeasured
        })
    })
}

/// The diagnosis of a visit with a single number, read at full pedal. The spec's own readings are ignored.
pub fn told_of_one(worked: &Worked, reading: Reading, number: f64) -> Option<VisitTold> {
    let outcome = worked.outcome.as_deref().ok()?;
    let visit = Visit {
        label: None,
        taken: vec![Taken::number(reading, number, None)],
    };
    let diagnosis = diagnose_visits(&worked.system, outcome, &[visit]);
    Some(told(worked, diagnosis.visits.first()?))
}
