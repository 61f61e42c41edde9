//! The chain as a curve over pad travel, for drawing and export.

use super::chain::Chain;
use super::domain::finite;
use super::efficiency::Stroke;
use super::leg::WalkPoint;
use super::pedal::PedalPosition;
use super::walk::{Driven, Walk};

/// One row of the curve.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sample {
    /// Pad travel, mm.
    pub pad_travel: f64,
    /// Travel of the fork's outer end, mm. Without a relay lever between them, the slave's piston moves with it.
    pub fork_travel: f64,
    /// Master piston travel, mm; `None` for a cable or a linkage.
    pub master_travel: Option<f64>,
    /// Release bearing's travel, mm.
    pub bearing_travel: f64,
    /// Travel of the diaphragm's fingers, mm.
    pub finger_travel: f64,
    /// Load on the release bearing, N.
    pub release_load: f64,
    /// Gauge pressure on the press, MPa; `None` for a cable or a linkage.
    pub pressure: Option<f64>,
    /// Force in the pedal's rod on the press, N; for a cable its tension at the pedal's end.
    pub rod_force: f64,
    /// Effort at the pad on the press, N.
    pub effort: f64,
    /// Effort at the pad on the return, N, with the bearing at the same travel under the same load.
    pub effort_return: f64,
}

/// Relative error of a sample's rod travel; far finer than any use of a curve.
const ROD_TOLERANCE: f64 = 1e-9;

/// A bound for absurd inputs; plausible ones need one to four.
const MOST_STEPS: usize = 40;

impl Sample {
    /// A sample made by applying `f` to each pair of values of two samples.
    pub fn combined(&self, other: &Self, f: impl Fn(f64, f64) -> f64) -> Self {
        let both = |a: Option<f64>, b: Option<f64>| a.zip(b).map(|(a, b)| f(a, b));
        Self {
            pad_travel: f(self.pad_travel, other.pad_travel),
            fork_travel: f(self.fork_travel, other.fork_travel),
            master_travel: both(self.master_travel, other.master_travel),
            bearing_travel: f(self.bearing_travel, other.bearing_travel),
            finger_travel: f(self.finger_travel, other.finger_travel),
            release_load: f(self.release_load, other.release_load),
            pressure: both(self.pressure, other.pressure),
            rod_force: f(self.rod_force, other.rod_force),
            effort: f(self.effort, other.effort),
            effort_return: f(self.effort_return, other.effort_return),
        }
    }
}

impl Chain {
    /// `samples` states from rest to full pedal, evenly spaced in pad travel, both ends included. Fewer than two give
    /// none. Empty if an input has no meaning.
    ///
    /// Where the pad would retreat along the walk, the samples skip that stretch, as the foot does.
    pub fn curve(&self, samples: usize) -> Vec<Sample> {
        let Some(walk) = self.walk() else {
            return Vec::new();
        };
        let Some(full) = walk.full_pedal().filter(|_| samples >= 2) else {
            return Vec::new();
        };
        let mut rows = Vec::with_capacity(samples);
        let step = full.state.pad_travel / (samples - 1) as f64;
        let mut targets = (0..samples - 1).filter_map(|i| {
            let pad_travel = step * i as f64;
            walk.geometry
                .rod_travel(pad_travel)
                .map(|rod_travel| (pad_travel, rod_travel))
        });
        let mut target = targets.next();
        let legs = walk.legs(&full);
        let cuts = Walk::cuts(legs.clone().count());
        for leg in legs {
            // Where everything rises there is nothing to miss between the ends.
            let cuts = if full.rises || leg.is_linear() {
                1
            } else {
                cuts
            };
            let driven = |t: f64| walk.driven(&leg.at(t), Stroke::Press);
            let mut low = (0.0, driven(0.0).rod_travel);
            for i in 1..=cuts {
                let t = i as f64 / cuts as f64;
                let high = (t, driven(t).rod_travel);
                while let Some((pad_travel, wanted)) = target
                    && wanted <= high.1
                {
                    let (t, there) = reach(driven, low, high, wanted);
                    low = (t, wanted);
                    rows.extend(walk.sample(&leg.at(t), &there, pad_travel));
                    target = targets.next();
                }
                low = high;
            }
        }
        let end = walk.driven(&full.place, Stroke::Press);
        let last = walk.sample(&full.place, &end, full.state.pad_travel);
        rows.extend(last.map(|row| Sample {
            // Where the pad stays behind at its farthest place, the assist is evaluated at that place.
            effort: full.state.effort,
            ..row
        }));
        rows
    }
}

/// Where between `low` and `high`, both as (place on the leg, rod travel), the rod travel reaches `wanted`, and the
/// drive there.
///
/// False position, halving the value kept at the end that does not move (Illinois; M. Dowell and P. Jarratt, BIT 11,
/// 1971). So near to a straight line it needs one evaluation or a few.
fn reach(
    driven: impl Fn(f64) -> Driven,
    low: (f64, f64),
    high: (f64, f64),
    wanted: f64,
) -> (f64, Driven) {
    let (mut low, mut high) = ((low.0, low.1 - wanted), (high.0, high.1 - wanted));
    if low.1 >= 0.0 {
        return (low.0, driven(low.0));
    }
    let mut moved = None;
    let mut left = MOST_STEPS;
    loop {
        let place = low.0 - low.1 * (high.0 - low.0) / (high.1 - low.1);
        let there = driven(place);
        let off = there.rod_travel - wanted;
        left -= 1;
        if off.abs() <= ROD_TOLERANCE * wanted || left == 0 {
            return (place, there);
        }
        let side = off < 0.0;
        let again = moved.replace(side) == Some(side);
        let (end, other) = if side {
            (&mut low, &mut high)
        } else {
            (&mut high, &mut low)
        };
        *end = (place, off);
        if again {
            other.1 *= 0.5;
        }
    }
}

impl Walk<'_> {
    /// The sample at a place whose pad travel on the press, mm, is known. The pedal's angle then need not be worked
    /// out again.
    fn sample(&self, place: &WalkPoint, press: &Driven, pad_travel: f64) -> Option<Sample> {
        let cylinders = self.mechanism.cylinders(&press.drive);
        let arm = self.geometry.arm(press.rod_travel)?;
        let position = PedalPosition {
            pad_travel,
            local_ratio: self.geometry.local_ratio(&arm)?,
        };
        let rod_force = press.rod_force;
        let pedal = &self.chain.pedal;
        Some(Sample {
            pad_travel,
            fork_travel: press.fork_travel,
            master_travel: cylinders.map(|c| c.master_travel),
            bearing_travel: place.bearing,
            finger_travel: self.finger_travel(place),
            release_load: place.load,
            pressure: cylinders.map(|c| c.pressure),
            rod_force,
            effort: finite(pedal.effort(position, rod_force, Stroke::Press))?,
            effort_return: self.effort(place, Stroke::Return)?,
        })
    }
}
