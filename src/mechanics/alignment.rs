//! How true the bell housing sits to the crankshaft, and how far the input shaft reaches into its pilot
//! bearing.

use super::domain::{finite, positive};

/// How far the bell housing's bore is off the crankshaft's axis, mm: half of the total indicator reading, mm. The
/// gauge turns with the crankshaft and sweeps the bore.
///
/// Source: US Army TM 10-4320-307-24, p. 3-140, step 5: move the housing by half the reading.
pub fn bell_offset(total_reading: f64) -> f64 {
    0.5 * total_reading
}

/// How far the housing's face is tilted off square to the crankshaft, rad. The tangent is the total indicator
/// reading, mm, of a gauge on the face over the diameter, mm, of the circle that it sweeps. `None` if a number has no
/// meaning.
pub fn bell_angle(total_reading: f64, sweep: f64) -> Option<f64> {
    finite((finite(total_reading)? / positive(sweep)?).atan())
}

/// What a gauge on the bore reads, mm, after offset dowels have moved the housing by `moved`, mm, of its `offset`,
/// mm.
pub fn dowel_residual(offset: f64, moved: f64) -> f64 {
    2.0 * (offset - moved).abs()
}

/// What the sag of a gauge's holder alone adds to a reading, mm: `bottom·(1 − cos θ)/2`. `angle` θ is from the top,
/// rad; `bottom` is the sag's reading at the bottom, mm, with nothing at the top. The share of the weight that acts
/// along the gauge turns with it.
///
/// Source: a beam that bends under its own weight, turned about its axis; common practice in shaft alignment.
pub fn holder_sag(bottom: f64, angle: f64) -> f64 {
    0.5 * bottom * (1.0 - angle.cos())
}

/// What the single readings of a dial gauge give. The gauge turns with the crankshaft and sweeps the housing's bore.
///
/// Angles are from the top, clockwise as seen from the gearbox, rad. A reading is above zero where the tip is pushed
/// in, so that it is high where the bore's wall is near.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Dial {
    /// How far the bore's centre is off the crankshaft's axis, mm.
    pub offset: f64,
    /// The direction in which to move the housing by the offset, rad, from −π to π: **towards the high readings**.
    /// The wall that is near has to move away from the gauge. The housing is now off in the opposite direction.
    pub move_towards: f64,
    /// The part of that move to the right as seen from the gearbox, mm.
    pub move_right: f64,
    /// The part of that move upward, mm.
    pub move_up: f64,
    /// What no move cures, mm: the highest less the lowest of what the fitted circle leaves of the readings. The bore
    /// is out of round, or the readings are bad. Always zero with three readings.
    pub out_of_round: f64,
}

/// Least determinant of the angles' spread, which is ¼ for angles all round. Below it (three angles within about an
/// eighth of a turn) the smallest misreading turns the answer round.
const LEAST_SPREAD: f64 = 1e-4;

impl Dial {
    /// The result of readings given as (angle, rad; reading, mm). They may be in any order, at three or more angles
    /// that are spread widely enough. `None` if they are not, or if a number is not finite.
    ///
    /// Least squares of `mean + a·cos θ + b·sin θ`. A round bore off centre gives these readings, apart from a term
    /// of the offset's square over the radius.
    ///
    /// Source: the first harmonic by least squares; half of the reading as in [`bell_offset`]. The sag of the gauge's
    /// holder must be taken off the readings first.
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

/// How far the input shaft's tip is past the pilot bearing's mouth, mm; below zero if it does not reach the mouth.
///
/// Places are along the shaft, forward of the engine's rear face, in mm. The gearbox's face is at
/// `−(depth + adapter)`, the tip `input_length` ahead of it, the mouth at `pilot_reach`.
pub fn pilot_penetration(depth: f64, adapter: f64, input_length: f64, pilot_reach: f64) -> f64 {
    input_length - depth - adapter - pilot_reach
}

/// A stretch along the shaft's axis, mm behind the engine block's rear face.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stretch {
    /// The end towards the engine.
    pub front: f64,
    /// The end towards the gearbox; never in front of `front`.
    pub rear: f64,
}

impl Stretch {
    /// The splines of the input shaft. The shaft's tip is at `face − input_length`, where `face` is the gearbox's
    /// face. The splines begin `start` behind the tip and are `length` long. All in mm.
    pub fn of_splines(face: f64, input_length: f64, start: f64, length: f64) -> Self {
        let front = face - input_length + start;
        Self {
            front,
            rear: front + length,
        }
    }

    /// The hub of a disc clamped against a flywheel whose face is at `face`. The hub's middle is half of the disc's
    /// `thickness` and the hub's `offset` behind the face. All in mm.
    pub fn of_hub(face: f64, thickness: f64, offset: f64, length: f64) -> Self {
        let middle = face + 0.5 * thickness + offset;
        Self {
            front: middle - 0.5 * length,
            rear: middle + 0.5 * length,
        }
    }

    /// The length that both have in common, mm; below zero the gap between them.
    pub fn overlap(self, other: Self) -> f64 {
        self.rear.min(other.rear) - self.front.max(other.front)
    }
}

/// Length of the shaft's tip inside the pilot bearing, mm: its `penetration` past the mouth, but no more than the
/// room there, `pilot_depth`, mm. A tip that is further in has touched bottom before the gearbox is home.
pub fn pilot_engagement(penetration: f64, pilot_depth: Option<f64>) -> f64 {
    pilot_depth.map_or(penetration, |depth| penetration.min(depth))
}
