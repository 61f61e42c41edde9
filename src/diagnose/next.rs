//! What to read next: the reading for which the predictions of the remaining faults differ most.

use super::base::Base;
use super::fault::FaultId;
use super::fit::{EXPLAINED, Fit};
use super::forward::Case;
use super::readings::{Accuracy, PerReading, READINGS, Reading, Value, Visit};
use super::types::{Meaning, NextReading, Prediction, Seen};

/// How many readings are offered.
const OFFERED: usize = 3;

/// The readings not yet taken that tell the remaining faults apart, the best first. Empty where no reading does.
pub fn next(base: &Base, visit: &Visit, standing: &[&Fit]) -> Vec<NextReading> {
    if standing.len() < 2 {
        return Vec::new();
    }
    let is_wanted = |reading| is_offered(reading, visit);
    let predicted: Vec<_> = standing
        .iter()
        .filter_map(|fit| {
            let faults = [(fit.fault, fit.size)];
            let case = Case { faults: &faults };
            Some((fit, case.predict(base, visit.pedal_travel(), is_wanted)?))
        })
        .collect();
    let mut offered: Vec<NextReading> = READINGS
        .iter()
        .filter(|row| is_wanted(row.reading))
        .filter_map(|row| {
            let of_fault = |(fit, found): &(&&Fit, PerReading)| {
                Some((fit.fault.id, found[row.reading as usize]?))
            };
            let values: Vec<(FaultId, f64)> = predicted.iter().filter_map(of_fault).collect();
            // Past full pedal a release point cannot be seen.
            let seen = |value: f64| match row.reading {
                Reading::ReleasePoint => value.min(base.pedal_end),
                _ => value,
            };
            let mut most = 0.0_f64;
            let mut told = 0.0;
            for (i, (_, one)) in values.iter().enumerate() {
                for (_, other) in &values[i + 1..] {
                    let apart = apart(row.reading, seen(*one), seen(*other));
                    most = most.max(apart);
                    // Two faults that are already told apart count no more when their predictions lie further apart.
                    told += apart.min(2.0 * EXPLAINED);
                }
            }
            let predictions = values.iter().map(|(fault, predicted)| Prediction {
                fault: *fault,
                value: value(row.reading, *predicted),
            });
            let pairs = predicted.len() * (predicted.len() - 1) / 2;
            (most > EXPLAINED).then(|| NextReading {
                reading: row.reading,
                apart: most,
                tells: told / (2.0 * EXPLAINED * pairs as f64),
                predictions: predictions.collect(),
                full: base.pedal_end,
            })
        })
        .collect();
    let worth = |next: &NextReading| next.tells * next.reading.kind().ease;
    offered.sort_by(|a, b| worth(b).total_cmp(&worth(a)));
    offered.truncate(OFFERED);
    offered
}

impl NextReading {
    /// What each value of the reading would mean: words first, then the greatest value first. Faults whose
    /// predictions lie within one accuracy are grouped, since no tool tells them apart. In a group the likeliest is
    /// first.
    pub fn meanings(&self) -> Vec<Meaning> {
        let mut found: Vec<Meaning> = Vec::new();
        let mut numbers: Vec<(f64, usize, FaultId)> = Vec::new();
        let mut never = Vec::new();
        for prediction in &self.predictions {
            let fault = prediction.fault;
            match prediction.value {
                // No disc is released past full pedal.
                Value::Number(value)
                    if self.reading == Reading::ReleasePoint && value > self.full =>
                {
                    never.push(fault);
                }
                Value::Number(value) => numbers.push((value, numbers.len(), fault)),
                Value::Word(word) => {
                    let seen = Seen::Word(word);
                    match found.iter_mut().find(|known| known.seen == seen) {
                        Some(known) => known.faults.push(fault),
                        None => found.push(Meaning {
                            seen,
                            faults: vec![fault],
                        }),
                    }
                }
            }
        }
        numbers.sort_by(|a, b| b.0.total_cmp(&a.0));
        let mut rest = numbers.as_slice();
        while let [(high, ..), ..] = *rest {
            let least = high - self.reading.accuracy(high);
            let count = rest.iter().take_while(|(value, ..)| *value >= least);
            let (group, further) = rest.split_at(count.count().max(1));
            rest = further;
            let mut group = group.to_vec();
            let low = group.last().map_or(high, |(value, ..)| *value);
            group.sort_by_key(|(_, place, _)| *place);
            found.push(Meaning {
                seen: Seen::Numbers { low, high },
                faults: group.into_iter().map(|(.., fault)| fault).collect(),
            });
        }
        if !never.is_empty() {
            found.push(Meaning {
                seen: Seen::Never,
                faults: never,
            });
        }
        found
    }
}

/// A prediction as the value of a reading.
pub fn value(reading: Reading, predicted: f64) -> Value {
    match reading.kind().accuracy {
        Accuracy::Sign(_) => Value::Word(if predicted >= 0.0 { "yes" } else { "no" }),
        _ => Value::Number(predicted),
    }
}

/// The distance of two predictions of a reading, in accuracies.
fn apart(reading: Reading, one: f64, other: f64) -> f64 {
    let difference = (one - other).abs();
    match reading.kind().accuracy {
        Accuracy::Sign(near) if (one < 0.0) != (other < 0.0) => difference / near,
        Accuracy::Sign(_) => 0.0,
        _ => difference / reading.accuracy(0.5 * (one + other)),
    }
}

/// Whether a reading may be asked for: neither it nor one that tells the same was taken.
fn is_offered(reading: Reading, visit: &Visit) -> bool {
    let is_taken = |reading| visit.taken(reading).is_some();
    match reading {
        // The pad travel of the other readings is not asked for, and the foot is no gauge.
        Reading::PedalTravel | Reading::Feel => false,
        // The fork's end follows the slave's rod, directly or through relay levers: one reading tells both.
        Reading::SlaveTravel => !is_taken(Reading::SlaveTravel) && !is_taken(Reading::ForkTravel),
        Reading::ForkTravel => !is_taken(Reading::ForkTravel) && !is_taken(Reading::SlaveTravel),
        reading => !is_taken(reading),
    }
}
