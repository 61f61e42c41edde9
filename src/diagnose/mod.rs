//! Fault-finding: which causes explain all readings on a car, and what to measure next.
//!
//! [`diagnose`] compares every visit of a system with its chain. For each fault of [`FAULTS`] it finds the size that
//! explains all readings of a visit at once. A fault explains a visit if it misses no reading by more than twice its
//! accuracy. Each prediction is the result of the chain itself with one thing changed.
//!
//! The types mirror the machine output of the command `diagnose`: a [`Diagnosis`] has `visits`, and a
//! [`VisitReport`] has `drags`, `agrees`, `faults`, `ruled_out` and `next`.
//!
//! **Never a severity, and never a finding's message.** The table of faults holds its fixed phrases (`says`,
//! `confirm`, `cure`, `caution`).

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
    Change, Diagnosis, Explanation, FingerTravel, Meaning, NextReading, Pair, Prediction, RuledOut,
    Seen, Sized, VisitReport,
};
