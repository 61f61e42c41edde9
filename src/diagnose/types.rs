//! What is found out from readings, as the machine output of the command `diagnose` has it.

use super::bleeding::BleedingPlan;
use super::fault::FaultId;
use super::readings::{Reading, Taken, Value};
use crate::quantity::UnitSystem;

/// What the readings of a system say, visit by visit.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Diagnosis {
    /// One for each visit, the one without a label first.
    pub visits: Vec<VisitReport>,
}

/// What the readings of one visit say. All values are in internal units.
#[derive(Clone, PartialEq, Debug)]
pub struct VisitReport {
    /// Its label in the spec; `None` for a `measured` that has none.
    pub label: Option<String>,
    /// What was read, with what still holds of earlier visits.
    pub taken: Vec<Taken>,
    /// Which of it is from earlier visits, each with the label of its visit: a number that was read on both is the same,
    /// so nothing was touched between.
    pub carried: Vec<(Reading, Option<String>)>,
    /// The one system of units that all of it was read in; `None` where it was read in several, or in none.
    pub units: Option<UnitSystem>,
    /// What the system with nothing wrong gives for each reading that was taken; `None` where it gives none.
    pub expected: Vec<(Reading, Option<Value>)>,
    /// By how many accuracies each reading lies above that.
    pub misses: Vec<(Reading, f64)>,
    /// Whether the clutch drags as measured: at full pedal the finger travel that follows from the readings is short
    /// of what frees the disc by more than the reading's accuracy, or the disc was seen not to come free.
    pub drags: bool,
    /// Finger travel that follows from the reading nearest to the disc, mm; `None` where none was taken at full pedal.
    pub finger_travel: Option<f64>,
    /// Finger travel that frees the disc, mm.
    pub needed: f64,
    /// Whether nothing needs to be wrong: every reading is within twice its accuracy of what is worked out.
    pub agrees: bool,
    /// The reading that the findings rest on: of those that were taken the one furthest from what is worked out.
    pub decides: Option<Reading>,
    /// The faults that explain all readings, the most plausible first, and behind them those that nearly do.
    /// [`FaultId::NothingWrong`] is one of them where it explains.
    pub faults: Vec<Explanation>,
    /// Pairs of faults, the most plausible first, where no single one explains.
    pub pairs: Vec<Pair>,
    /// The faults that what was read speaks against.
    pub ruled_out: Vec<RuledOut>,
    /// What to read next, the reading that tells most first; none where no reading tells the standing faults apart.
    pub next: Vec<NextReading>,
    /// Where nothing explains: the readings without which one fault, or none, explains the rest.
    pub odd: Vec<Reading>,
    /// What bleeding takes, where air is among the faults that explain.
    pub bleeding: Option<BleedingPlan>,
    /// What changed since the visit before.
    pub changes: Vec<Change>,
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
    /// The fault, with the size that explains most.
    pub sized: Sized,
    /// Whether it misses no reading by more than twice its accuracy.
    pub explains: bool,
    /// Whether the readings cannot tell it from the first: it explains too, and what it predicts of them lies within
    /// one accuracy. The first is equal to itself.
    pub equal: bool,
    /// How often the fault is met and how usual its size is, times how well it fits: 0 to 1.
    pub plausibility: f64,
    /// By how many accuracies each reading lies above what it predicts.
    pub misses: Vec<(Reading, f64)>,
    /// What it predicts of each reading that was taken.
    pub predictions: Vec<(Reading, Value)>,
}

/// Two faults that together explain a visit.
#[derive(Clone, PartialEq, Debug)]
pub struct Pair {
    /// The faults, with the sizes that explain most.
    pub faults: [Sized; 2],
    /// How usual both sizes are, 0 to 1, times how well they fit.
    pub plausibility: f64,
    /// By how many accuracies each reading lies above what they predict.
    pub misses: Vec<(Reading, f64)>,
}

/// A fault that a reading speaks against.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct RuledOut {
    /// Which fault.
    pub fault: FaultId,
    /// The reading that it misses most.
    pub by: Reading,
    /// By how many accuracies, at its best size.
    pub misses: f64,
}

/// A reading to take next.
#[derive(Clone, PartialEq, Debug)]
pub struct NextReading {
    /// Which one.
    pub reading: Reading,
    /// How far its predictions lie apart at the most, in accuracies.
    pub apart: f64,
    /// How much of what still stands it tells apart, 0 to 1: over all pairs of faults, how far their predictions lie
    /// apart, up to four accuracies, over those four.
    pub tells: f64,
    /// What each fault that stands predicts.
    pub predictions: Vec<Prediction>,
    /// Pad travel at which the pedal itself ends, mm.
    pub full: f64,
}

/// What a reading may show, and the faults that it would then be.
#[derive(Clone, PartialEq, Debug)]
pub struct Meaning {
    /// What is read.
    pub seen: Seen,
    /// The faults, the likeliest first.
    pub faults: Vec<FaultId>,
}

/// What a reading may show. In internal units.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Seen {
    /// A number between two.
    Numbers {
        /// The least.
        low: f64,
        /// The greatest.
        high: f64,
    },
    /// A word.
    Word(&'static str),
    /// It does not come about: the disc does not come free.
    Never,
}

/// What would be read if a fault is there.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Prediction {
    /// The fault.
    pub fault: FaultId,
    /// What would be read.
    pub value: Value,
}

/// A reading that was taken on two visits.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Change {
    /// Which one.
    pub reading: Reading,
    /// What it was on the visit before.
    pub before: Value,
    /// What it is now.
    pub now: Value,
    /// Whether the two differ by more than the accuracies of both.
    pub is_real: bool,
}
