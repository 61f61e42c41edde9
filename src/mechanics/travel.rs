//! The chain as a curve over pad travel, for drawing and export.

use super::chain::{Chain, Driven, Place, Walk};
use super::domain::finite;
use super::efficiency::Stroke;
use super::pedal::PedalPosition;

/// One row of the curve.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sample {
    /// Pad travel, mm.
    pub pad_travel: f64,
    /// Travel of the fork's outer end, mm; the slave's piston moves with it.
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
    /// Effort at the pad on the return, N, when the bearing stands at the same travel under the same load.
    pub effort_return: f64,
}

/// To what part of itself a sample's rod travel is met; far finer than any use of a curve.
const ROD_TOLERANCE: f64 = 1e-9;

/// A bound for silly inputs; plausible ones need one or two.
const MOST_STEPS: usize = 50;

/// How many of the last steps halve, which is enough by itself where nothing else leads there.
const HALVINGS: usize = 40;

impl Sample {
    /// The sample whose every value comes of the two values here and there.
    pub(super) fn combined(&self, other: &Self, f: impl Fn(f64, f64) -> f64) -> Self {
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
    /// `samples` states from rest to full pedal, evenly spaced in pad travel, both ends included (fewer
    /// than two give none). Empty if an input has no meaning.
    ///
    /// Where the pad would retreat along the walk the samples pass over it, as the foot does.
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
            let cuts = if leg.is_linear() { 1 } else { cuts };
            let driven = |t: f64| walk.driven(&leg.at(t), Stroke::Press);
            let mut low = (0.0, driven(0.0).rod_travel);
            let mut trail = Trail::default();
            for i in 1..=cuts {
                let t = i as f64 / cuts as f64;
                let high = (t, driven(t).rod_travel);
                while let Some((pad_travel, wanted)) = target
                    && wanted <= high.1
                {
                    let (t, there) = reach(driven, low, high, wanted, trail.ahead());
                    low = (t, there.rod_travel);
                    trail.add(t);
                    rows.extend(walk.sample(&leg.at(t), &there, pad_travel));
                    target = targets.next();
                }
                low = high;
            }
        }
        let end = walk.driven(&full.place, Stroke::Press);
        let last = walk.sample(&full.place, &end, full.state.pad_travel);
        rows.extend(last.map(|row| Sample {
            // Where the pad stays behind at the farthest it has come, the assist is asked at the place itself.
            effort: full.state.effort,
            ..row
        }));
        rows
    }
}

/// Where on a leg the last samples were, as the latest place and its first, second and third difference; zero
/// where there were too few. Samples are evenly spaced in pad travel.
#[derive(Default)]
struct Trail {
    differences: [f64; 4],
    samples: usize,
}

impl Trail {
    fn add(&mut self, place: f64) {
        let mut new = place;
        for difference in self.differences.iter_mut().take(self.samples + 1) {
            let old = std::mem::replace(difference, new);
            new -= old;
        }
        self.samples += 1;
    }

    /// Where the next sample is if the last difference stays as it is.
    ///
    /// Source: Newton's backward differences, from memory.
    fn ahead(&self) -> f64 {
        self.differences.iter().sum()
    }
}

/// Where between `low` and `high`, both as (place on the leg, rod travel), the rod travel comes to `wanted`,
/// and the drive there; first looked for at `guess`.
///
/// Secants, and a halving where one leads out of what is left.
fn reach(
    driven: impl Fn(f64) -> Driven,
    low: (f64, f64),
    high: (f64, f64),
    wanted: f64,
    guess: f64,
) -> (f64, Driven) {
    let (mut low, mut high) = ((low.0, low.1 - wanted), (high.0, high.1 - wanted));
    if low.1 >= 0.0 {
        return (low.0, driven(low.0));
    }
    let secant = |a: (f64, f64), b: (f64, f64)| a.0 - a.1 * (b.0 - a.0) / (b.1 - a.1);
    let mut last = low;
    let mut place = guess;
    if !(place > low.0 && place < high.0) {
        place = secant(low, high);
    }
    let mut left = MOST_STEPS;
    loop {
        if left <= HALVINGS || !(place >= low.0 && place <= high.0) {
            place = 0.5 * (low.0 + high.0);
        }
        let there = driven(place);
        let here = (place, there.rod_travel - wanted);
        left -= 1;
        if here.1.abs() <= ROD_TOLERANCE * wanted || left == 0 {
            return (place, there);
        }
        *(if here.1 < 0.0 { &mut low } else { &mut high }) = here;
        place = secant(last, here);
        last = here;
    }
}

impl Walk<'_> {
    /// The sample at a place that is at this pad travel, mm, on the press. With that known, the pedal's angle
    /// need not be worked out again.
    fn sample(&self, place: &Place, press: &Driven, pad_travel: f64) -> Option<Sample> {
        let cylinders = self.mechanism.cylinders(&press.drive);
        let arm = self.geometry.arm(press.rod_travel)?;
        let position = PedalPosition {
            pad_travel,
            local_ratio: self.geometry.local_ratio(&arm)?,
        };
        let rod_force = press.drive.input_force;
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
