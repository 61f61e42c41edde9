//! Fits the size of a fault so that it explains all readings of a visit at once.

use super::base::Base;
use super::fault::{Fault, FaultId, Size};
use super::forward::Case;
use super::readings::{PerReading, Reading, Visit};
use crate::mechanics::maximum;

/// A fault explains a reading if it misses it by no more than this, in accuracies.
pub const EXPLAINED: f64 = 2.0;
/// A fault nearly explains a reading if it misses it by no more than this, in accuracies.
pub const NEARLY: f64 = 2.5;

/// A fault with the size that explains a visit best.
#[derive(Clone, Debug)]
pub struct Fit {
    pub fault: &'static Fault,
    /// The size, in internal units; without meaning for a fault that has no size.
    pub size: f64,
    /// The prediction for each reading that was taken.
    pub predicted: PerReading,
    /// The miss of each reading, in accuracies.
    pub misses: PerReading,
    /// The plausibility of its size, times how well it fits.
    pub plausibility: f64,
}

/// The sum of squared misses.
pub fn squares(misses: &PerReading) -> f64 {
    misses.iter().flatten().map(|miss| miss * miss).sum()
}

/// The reading with the largest miss, and that miss in accuracies; `None` where nothing was read.
pub fn worst(misses: &PerReading) -> Option<(Reading, f64)> {
    let readings = super::readings::READINGS.iter().map(|row| row.reading);
    let missed = readings
        .zip(misses)
        .filter_map(|(reading, miss)| Some((reading, miss.as_ref()?.abs())));
    missed.max_by(|a, b| a.1.total_cmp(&b.1))
}

impl Fit {
    /// The fault at one size; `None` where this car cannot have it.
    pub fn at(fault: &'static Fault, size: f64, base: &Base, visit: &Visit) -> Option<Self> {
        let faults = [(fault, size)];
        let case = Case { faults: &faults };
        let wanted = |reading| visit.taken(reading).is_some();
        let predicted = case.predict(base, visit.pedal_travel(), wanted)?;
        let misses = case.held_against(base, &predicted, visit);
        let fits = match fault.id {
            // A difference below the accuracy proves nothing.
            FaultId::NothingWrong if worst(&misses).is_none_or(|(_, miss)| miss <= 1.0) => 1.0,
            _ => (-0.5 * squares(&misses)).exp(),
        };
        Some(Self {
            fault,
            size,
            predicted,
            misses,
            plausibility: fault.plausibility(base, size) * fits,
        })
    }

    /// The size of a fault that explains a visit best; `None` where this car cannot have it.
    pub fn best(fault: &'static Fault, base: &Base, visit: &Visit) -> Option<Self> {
        match fault.size {
            Size::None => Self::at(fault, 0.0, base, visit),
            Size::Bore { .. } => fault
                .bores(base)
                .into_iter()
                .filter_map(|bore| Self::at(fault, bore, base, visit))
                .min_by(|a, b| squares(&a.misses).total_cmp(&squares(&b.misses))),
            Size::Between { .. } | Size::Factor { .. } => {
                Self::between(fault, fault.range(base)?, base, visit)
            }
        }
    }

    /// The best size between two, searched over its logarithm: a bracket around the best of a few, and the minimum in
    /// it.
    fn between(
        fault: &'static Fault,
        (low, high): (f64, f64),
        base: &Base,
        visit: &Visit,
    ) -> Option<Self> {
        const STEPS: usize = 14;
        /// The weight of plausibility. Where no reading depends on the size, it selects the more plausible one. It is
        /// far too small to move a size on which a reading depends.
        const PLAUSIBLE: f64 = 1e-6;
        let worth = |log: f64| {
            let size = log.exp();
            let faults = [(fault, size)];
            let missed = Case { faults: &faults }.misses(base, visit);
            let plausible = fault.plausibility(base, size).max(f64::MIN_POSITIVE).ln();
            missed.map_or(f64::NEG_INFINITY, |misses| {
                PLAUSIBLE * plausible - squares(&misses)
            })
        };
        let step = (high - low) / STEPS as f64;
        let at = |i: usize| low + step * i as f64;
        let best = (0..=STEPS)
            .map(|i| (i, worth(at(i))))
            .max_by(|a, b| a.1.total_cmp(&b.1))?;
        if best.1 == f64::NEG_INFINITY {
            return None;
        }
        let (from, to) = (at(best.0.saturating_sub(1)), at((best.0 + 1).min(STEPS)));
        let (log, value) = maximum(worth, from, to);
        let log = if value >= best.1 { log } else { at(best.0) };
        Self::at(fault, log.exp(), base, visit)
    }

    /// Whether no miss exceeds `accuracies`.
    pub fn within(&self, accuracies: f64) -> bool {
        worst(&self.misses).is_none_or(|(_, miss)| miss <= accuracies)
    }

    /// Whether all its predictions for the readings are within one accuracy of another fit's.
    pub fn is_like(&self, other: &Self) -> bool {
        self.misses
            .iter()
            .zip(&other.misses)
            .all(|(one, other)| match (one, other) {
                (Some(one), Some(other)) => (one - other).abs() <= 1.0,
                (None, None) => true,
                _ => false,
            })
    }
}
