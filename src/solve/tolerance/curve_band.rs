//! The curve over the pedal's travel with its tolerance band.

use super::spread::Tolerances;
use crate::mechanics::{Chain, Sample};
use crate::model::System;
use crate::solve::work_out;

/// The curve of a system with the worst case of its tolerances at each pad travel.
#[derive(Clone, PartialEq, Debug)]
pub struct CurveBand {
    /// At each pad travel of the nominal curve, the least of every value.
    pub low: Vec<Sample>,
    /// At each pad travel of the nominal curve, the most of every value.
    pub high: Vec<Sample>,
}

/// How many times finer a corner's curve is than the nominal one, at whose places it is read.
const FINER: usize = 4;

impl Tolerances {
    /// The band around a system's curve with `samples` rows; `nominal` is its chain.
    pub fn curve(&self, system: &System, nominal: &Chain, samples: usize) -> CurveBand {
        let middle = nominal.curve(samples);
        let mut band = CurveBand {
            low: middle.clone(),
            high: middle.clone(),
        };
        let mut moved = system.clone();
        for point in &self.points {
            for (i, input) in self.inputs.iter().enumerate() {
                moved.hold(input, point.value(i, input.band));
            }
            let Ok(outcome) = work_out(&moved) else {
                continue;
            };
            let curve = outcome.chain.curve(samples * FINER);
            for (i, place) in middle.iter().enumerate() {
                // A corner whose pedal ends earlier has no values beyond that.
                if let Some(there) = read(&curve, place.pad_travel) {
                    band.low[i] = there.combined(&band.low[i], f64::min);
                    band.high[i] = there.combined(&band.high[i], f64::max);
                }
            }
        }
        band
    }
}

/// A curve's values at a pad travel, interpolated linearly between its samples; `None` past its end.
fn read(curve: &[Sample], pad_travel: f64) -> Option<Sample> {
    let next = curve.partition_point(|sample| sample.pad_travel < pad_travel);
    let after = curve.get(next)?;
    let Some(before) = next.checked_sub(1).and_then(|i| curve.get(i)) else {
        return Some(*after);
    };
    let share = (pad_travel - before.pad_travel) / (after.pad_travel - before.pad_travel);
    Some(before.combined(after, |a, b| a + (b - a) * share))
}
