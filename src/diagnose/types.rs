//! The types of a diagnosis, in the shape of the machine output of the command `diagnose`.

use super::bleeding::BleedingPlan;
use super::fault::FaultId;
use super::readings::{Reading, Taken, Value};
use crate::quantity::UnitSystem;

/// What the readings of a system say, visit by visit.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Diagnosis {
    /// One report for each visit, the one without a label first.
    pub visits: Vec<VisitReport>,
}

/// What the readings of one visit say. All values are in internal units.
#[derive(Clone, PartialEq, Debug)]
pub struct VisitReport {
    /// Its label in the spec; `None` for a `measured` that has none.
    pub label: Option<String>,
    /// The readings, with those of earlier visits that still hold.
    pub taken: Vec<Taken>,
    /// The readings that are from earlier visits, each with the label of its visit. They still hold because a number
    /// read on both visits is unchanged, so that nothing was touched in between.
    pub carried: Vec<(Reading, Option<String>)>,
    /// The one system of units of all readings; `None` where they use several, or none.
    pub units: Option<UnitSystem>,
    /// The prediction of the healthy system for each reading that was taken; `None` where it gives none.
    pub expected: Vec<(Reading, Option<Value>)>,
    /// By how many accuracies each reading is above that prediction.
    pub misses: Vec<(Reading, f64)>,
    /// Whether the clutch drags by its readings. Either the finger travel that follows from them at full pedal is
    /// short of what releases the disc, by more than the reading's accuracy. Or the disc was seen not to be released.
    pub drags: bool,
    /// The finger travel that follows from the reading nearest to the disc; `None` where none was taken at full pedal.
    pub finger_travel: Option<FingerTravel>,
    /// Finger travel that releases the disc, mm.
    pub needed: f64,
    /// The greatest finger travel that the cover may take, mm.
    pub most: f64,
    /// The finger travel at the pad travel of the visit, if it is past that limit by more than its accuracy.
    pub past_limit: Option<FingerTravel>,
    /// Full pedal by the spec: pad travel, mm.
    pub full_pedal: f64,
    /// Whether a healthy car explains the visit: every reading is within twice its accuracy of the calculated value.
    pub agrees: bool,
    /// The reading that the findings rest on: of those taken, the one furthest from its calculated value.
    pub decides: Option<Reading>,
    /// The faults that explain all readings, the most plausible first, followed by those that nearly do.
    /// [`FaultId::NothingWrong`] is among them if it explains.
    pub faults: Vec<Explanation>,
    /// Pairs of faults, the most plausible first, if no single fault explains the visit.
    pub pairs: Vec<Pair>,
    /// The faults that the readings rule out.
    pub ruled_out: Vec<RuledOut>,
    /// What to read next, the most telling reading first. Empty where no reading tells the remaining faults apart.
    pub next: Vec<NextReading>,
    /// If nothing explains the visit: the readings without which a single fault, or none, explains the rest.
    pub odd: Vec<Reading>,
    /// The numbers for bleeding, if air is among the faults that explain the visit.
    pub bleeding: Option<BleedingPlan>,
    /// What changed since the previous visit.
    pub changes: Vec<Change>,
}

/// A finger travel that follows from a reading, mm.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct FingerTravel {
    /// The travel.
    pub travel: f64,
    /// How well it is known.
    pub accuracy: f64,
}

impl FingerTravel {
    /// Whether it differs from `other`, mm, by no more than its accuracy.
    pub fn is_too_close_to(&self, other: f64) -> bool {
        (self.travel - other).abs() <= self.accuracy
    }
}

impl Diagnosis {
    /// Whether the clutch dragged on a visit and released on the last one.
    pub fn is_cured(&self, visit: &VisitReport) -> bool {
        let last = self.visits.last();
        visit.drags && last.is_some_and(|last| !last.drags && last.agrees)
    }
}

/// A fault with its size.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Sized {
    /// Which fault.
    pub fault: FaultId,
    /// Its size, as [`Fault::what`](super::Fault::what) says; `None` for a fault that has none.
    pub value: Option<f64>,
}

/// A fault and how well it explains a visit.
#[derive(Clone, PartialEq, Debug)]
pub struct Explanation {
    /// The fault, with the size that explains the visit best.
    pub sized: Sized,
    /// Whether it misses no reading by more than twice its accuracy.
    pub explains: bool,
    /// Whether the readings cannot tell it from the first fault: it explains too, and its predictions for them are
    /// within one accuracy. The first is equal to itself.
    pub equal: bool,
    /// How often the fault occurs and how usual its size is, times how well it fits: 0 to 1.
    pub plausibility: f64,
    /// By how many accuracies each reading is above its prediction.
    pub misses: Vec<(Reading, f64)>,
    /// What it predicts of each reading that was taken.
    pub predictions: Vec<(Reading, Value)>,
}

/// Two faults that together explain a visit.
#[derive(Clone, PartialEq, Debug)]
pub struct Pair {
    /// The faults, with the sizes that explain the visit best.
    pub faults: [Sized; 2],
    /// How usual both sizes are, 0 to 1, times how well they fit.
    pub plausibility: f64,
    /// By how many accuracies each reading is above their prediction.
    pub misses: Vec<(Reading, f64)>,
}

/// A fault that a reading rules out.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct RuledOut {
    /// Which fault.
    pub fault: FaultId,
    /// The reading with the largest miss.
    pub by: Reading,
    /// That miss in accuracies, at the fault's best size.
    pub misses: f64,
}

/// A reading to take next.
#[derive(Clone, PartialEq, Debug)]
pub struct NextReading {
    /// The kind of reading.
    pub reading: Reading,
    /// The greatest distance of its predictions, in accuracies.
    pub apart: f64,
    /// How well it tells the remaining faults apart, 0 to 1: the mean distance of the predictions over all pairs of
    /// faults. A distance counts up to four accuracies, and four count as 1.
    pub tells: f64,
    /// The prediction of each remaining fault.
    pub predictions: Vec<Prediction>,
    /// Pad travel at which the pedal itself ends, mm.
    pub full: f64,
}

/// A possible value of a reading, and the faults that it would mean.
#[derive(Clone, PartialEq, Debug)]
pub struct Meaning {
    /// The possible value.
    pub seen: Seen,
    /// The faults, the likeliest first.
    pub faults: Vec<FaultId>,
}

/// A possible value of a reading, in internal units.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Seen {
    /// A number within a range.
    Numbers {
        /// The least.
        low: f64,
        /// The greatest.
        high: f64,
    },
    /// A word.
    Word(&'static str),
    /// It never happens: the disc is not released.
    Never,
}

/// The value that would be read if a fault is there.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Prediction {
    /// The fault.
    pub fault: FaultId,
    /// The value.
    pub value: Value,
}

/// A reading that was taken on two visits.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Change {
    /// The kind of reading.
    pub reading: Reading,
    /// Its value on the previous visit.
    pub before: Value,
    /// Its value now.
    pub now: Value,
    /// Whether the two differ by more than the accuracies of both.
    pub is_real: bool,
}
