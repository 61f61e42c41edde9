//! Fault-finding: which causes explain all that was read on a car, and what to measure next.
//!
//! [`diagnose`] holds every visit of a system against its chain. For each fault of [`FAULTS`] the size is found that
//! explains all readings of a visit at once; a fault explains a visit when it misses no reading by more than twice
//! its accuracy. A prediction is always that of the chain itself with one thing changed.
//!
//! The types mirror the machine output of the command `diagnose`: a [`Diagnosis`] has `visits`, and a
//! [`VisitReport`] has `drags`, `agrees`, `faults`, `ruled_out` and `next`.
//!
//! **Never words or severities**: the checks and faces say what a report means.

mod base;
mod bleeding;
mod fault;
mod faults;
mod fit;
mod forward;
mod next;
mod pairs;
mod readings;
mod report;
mod sizes;
mod types;
mod visits;

pub use bleeding::BleedingPlan;
pub use fault::{Fault, FaultId, Feel, Size};
pub use faults::FAULTS;
pub use readings::{Accuracy, READINGS, Reading, ReadingKind, Taken, Value, Visit};
pub use report::{best_fit, diagnose, diagnose_visits, readings_with, usual_sizes};
pub use types::{
    Change, Diagnosis, Explanation, Meaning, NextReading, Pair, Prediction, RuledOut, Seen, Sized,
    VisitReport,
};
