//! Which readings of earlier visits still hold on a later one.

use super::readings::{Reading, Taken, Value, Visit};
use super::types::Change;

/// A visit with what still holds of the earlier ones.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Together {
    /// The visit, with readings of earlier ones that were not taken again.
    pub visit: Visit,
    /// The readings that are from earlier visits, each with the label of its visit.
    pub carried: Vec<(Reading, Option<String>)>,
}

impl Together {
    /// A visit alone.
    pub fn alone(visit: &Visit) -> Self {
        Self {
            visit: visit.clone(),
            carried: Vec::new(),
        }
    }

    /// The following visit, with the readings of this one that still hold. They hold if a number was read on both
    /// visits and nothing that was read on both has changed. The car then counts as untouched: one car with one fault
    /// of one size. Otherwise the visit is taken alone.
    pub fn then(&self, next: &Visit) -> Self {
        let mut together = Self::alone(next);
        if !is_untouched(&self.visit, next) {
            return together;
        }
        for taken in &self.visit.taken {
            if next.taken(taken.reading).is_some() || taken.reading == Reading::PedalTravel {
                continue;
            }
            together.visit.put(*taken);
            let known = self.carried.iter().find(|(one, _)| *one == taken.reading);
            let label = known.map_or_else(|| self.visit.label.clone(), |(_, label)| label.clone());
            together.carried.push((taken.reading, label));
        }
        together
    }
}

/// Whether two visits show a car on which nothing was touched in between.
fn is_untouched(before: &Visit, now: &Visit) -> bool {
    let same_pedal = match (before.pedal_travel(), now.pedal_travel()) {
        (None, None) => true,
        (Some(before), Some(now)) => (before - now).abs() <= Reading::PedalTravel.accuracy(now),
        _ => false,
    };
    let changes = changes(before, now);
    let is_same_number = |change: &Change| {
        matches!(change.now, Value::Number(_)) && change.reading != Reading::PedalTravel
    };
    same_pedal && changes.iter().all(|change| !change.is_real) && changes.iter().any(is_same_number)
}

/// The readings that were taken on both of two visits.
pub fn changes(before: &Visit, now: &Visit) -> Vec<Change> {
    let both = now.taken.iter().filter_map(|taken| {
        let known = before.taken(taken.reading)?;
        Some(Change {
            reading: taken.reading,
            before: known.value,
            now: taken.value,
            is_real: is_real(known, taken),
        })
    });
    both.collect()
}

/// Whether two readings of one kind differ by more than the accuracies of both.
fn is_real(before: &Taken, now: &Taken) -> bool {
    match (before.value, now.value) {
        (Value::Number(known), Value::Number(value)) => {
            (value - known).abs() > before.accuracy + now.accuracy
        }
        (known, value) => known != value,
    }
}
