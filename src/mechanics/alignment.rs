//! How true the bell housing sits to the crankshaft, and how far the input shaft reaches into its pilot
//! bearing.

use super::domain::{finite, positive};

/// How far the housing's bore is off the crankshaft's axis, mm: half the total indicator reading, mm, of a
/// gauge that turns on the crankshaft and sweeps the bore.
///
/// Source: US Army TM 10-4320-307-24, p. 3-140, step 5: move the housing by half the reading.
pub fn bell_offset(total_reading: f64) -> f64 {
    0.5 * total_reading
}

/// How far the housing's face is tilted off square to the crankshaft, rad: the total indicator reading, mm, of
/// a gauge on the face over the diameter of the circle it sweeps, mm, as a tangent. `None` if a number has no
/// meaning.
pub fn bell_angle(total_reading: f64, sweep: f64) -> Option<f64> {
    finite((finite(total_reading)? / positive(sweep)?).atan())
}

/// What a gauge on the bore still reads, mm, once offset dowels have moved the housing by `moved`, mm, of the `offset`,
/// mm, that it has.
pub fn dowel_residual(offset: f64, moved: f64) -> f64 {
    2.0 * (offset - moved).abs()
}

/// What a gauge's holder alone makes it read at an angle from the top, rad, with `bottom`, mm, at the bottom and nothing
/// at the top: the weight's share along the gauge turns with it, so that it reads `bottom·(1 − cos θ)/2`.
///
/// Source: a beam that bends under its own weight, turned about its axis; common practice in shaft alignment.
pub fn holder_sag(bottom: f64, angle: f64) -> f64 {
    0.5 * bottom * (1.0 - angle.cos())
}

/// What the single readings of a dial gauge say, with the gauge turning on the crankshaft and sweeping the
/// housing's bore.
///
/// Angles are from the top, clockwise as seen from the gearbox, rad. Readings are above zero where the tip is
/// pushed in, and so high where the bore's wall is near.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Dial {
    /// How far the bore's centre is off the crankshaft's axis, mm.
    pub offset: f64,
    /// Where to move the housing by the offset, rad, from −π to π: **towards the high readings**, since the
    /// wall that is near has to go away from the gauge. The housing now stands off the opposite way.
    pub move_towards: f64,
    /// The part of that move to the right as seen from the gearbox, mm.
    pub move_right: f64,
    /// The part of that move upward, mm.
    pub move_up: f64,
    /// What no move cures: the highest less the lowest of what the readings leave over, mm. A bore out of
    /// round, or readings taken badly; always zero with three of them.
    pub out_of_round: f64,
}

/// Least determinant of the angles' spread (¼ for angles all round). Below it, three angles within about an
/// eighth of a turn, the smallest misreading turns the answer round.
const LEAST_SPREAD: f64 = 1e-4;

impl Dial {
    /// From readings as (angle, rad; reading, mm), in any order and at any three angles or more that are
    /// spread widely enough. `None` if they are not, or if a number is not finite.
    ///
    /// Least squares of `mean + a·cos θ + b·sin θ`: a bore that is round and off centre reads so, but for the
    /// square of its offset over its radius.
    ///
    /// Source: the first harmonic by least squares; half the reading as in [`bell_offset`]. The gauge holder's
    /// own sag is to be taken off the readings beforehand.
    pub fn from_readings(readings: &[(f64, f64)]) -> Option<Self> {
        let count = readings.len() as f64;
        let mean =
            |of: fn(f64, f64) -> f64| readings.iter().map(|&(x, y)| of(x, y) / count).sum::<f64>();
        let (cos, sin) = (mean(|x, _| x.cos()), mean(|x, _| x.sin()));
        let level = mean(|_, y| y);
        let (mut cc, mut cs, mut ss, mut cr, mut sr) = (0.0, 0.0, 0.0, 0.0, 0.0);
        for &(angle, reading) in readings {
            let (c, s, r) = (angle.cos() - cos, angle.sin() - sin, reading - level);
            cc += c * c / count;
            cs += c * s / count;
            ss += s * s / count;
            cr += c * r / count;
            sr += s * r / count;
        }
        let determinant = cc * ss - cs * cs;
        positive(determinant - LEAST_SPREAD)?;
        let up = finite((cr * ss - sr * cs) / determinant)?;
        let right = finite((sr * cc - cr * cs) / determinant)?;
        let (low, high) = readings
            .iter()
            .map(|&(angle, reading)| {
                reading - level - up * (angle.cos() - cos) - right * (angle.sin() - sin)
            })
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), left| {
                (low.min(left), high.max(left))
            });
        Some(Self {
            offset: finite(up.hypot(right))?,
            move_towards: right.atan2(up),
            move_right: right,
            move_up: up,
            out_of_round: finite(high - low)?,
        })
    }
}

/// How far the input shaft's tip stands past the pilot bearing's mouth, mm; below zero where it does not reach
/// it.
///
/// Along the shaft, forward of the engine's rear face: the gearbox's face lies at `−(depth + adapter)`, the tip
/// at `input_length` from there, and the mouth at `pilot_reach`. All mm.
pub fn pilot_penetration(depth: f64, adapter: f64, input_length: f64, pilot_reach: f64) -> f64 {
    input_length - depth - adapter - pilot_reach
}

/// A stretch along the shaft's axis, mm behind the engine block's rear face.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stretch {
    /// The end towards the engine.
    pub front: f64,
    /// The end towards the gearbox, not in front of the other.
    pub rear: f64,
}

impl Stretch {
    /// The splines of the input shaft: the shaft's tip stands at `face − input_length`, where `face` is the
    /// gearbox's; they begin `start` behind the tip and are `length` long. All mm.
    pub fn of_splines(face: f64, input_length: f64, start: f64, length: f64) -> Self {
        let front = face - input_length + start;
        Self {
            front,
            rear: front + length,
        }
    }

    /// The hub of a disc that is clamped against a flywheel whose face stands at `face`: its middle lies half of
    /// the disc's `thickness` and the hub's `offset` behind that. All mm.
    pub fn of_hub(face: f64, thickness: f64, offset: f64, length: f64) -> Self {
        let middle = face + 0.5 * thickness + offset;
        Self {
            front: middle - 0.5 * length,
            rear: middle + 0.5 * length,
        }
    }

    /// How much of both lies in the same place, mm; below zero the gap between them.
    pub fn overlap(self, other: Self) -> f64 {
        self.rear.min(other.rear) - self.front.max(other.front)
    }
}

/// Length of the shaft's tip inside the pilot bearing, mm: what stands past its mouth, but no more than there
/// is room, `pilot_depth`, mm. A tip that stands further in than that has touched bottom before the gearbox
/// is home.
pub fn pilot_engagement(penetration: f64, pilot_depth: Option<f64>) -> f64 {
    pilot_depth.map_or(penetration, |depth| penetration.min(depth))
}
