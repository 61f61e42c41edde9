//! The pedal's rod arm and the rod that it drives: a slider-crank, in closed form in both directions.

use std::f64::consts::FRAC_PI_2;

use super::domain::{finite, positive};

/// Position of the slider of an offset slider-crank, mm, along the slide from the crank's pivot:
/// `r·cos θ + sqrt(l² − (r·sin θ − e)²)`. The crank's `angle` θ, rad, is from the slide's direction. `None` if the
/// rod does not reach the slide.
///
/// Source: planar kinematics, as in Nikravesh, Ex. 5.1 for e = 0.
pub fn slider_crank_position(crank: f64, rod: f64, offset: f64, angle: f64) -> Option<f64> {
    let across = crank * angle.sin() - offset;
    let along = ((rod - across) * (rod + across)).sqrt();
    finite(crank * angle.cos() + along)
}

/// The crank, in axes through the pedal's pivot. The bore's axis is parallel to the first axis, at the height
/// `offset` on the second. The eye is at `(r·sin φ, r·cos φ)`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Crank {
    pub(super) pad_arm: f64,
    pub(super) rod_arm: f64,
    pub(super) rest_angle: f64,
    pub(super) sin_rest: f64,
    pub(super) offset: f64,
    pub(super) rod_length: Option<f64>,
    /// How far the bore's line is beside the eye at rest, mm.
    pub(super) beside: f64,
    /// How much further along the bore the rod reaches at rest than a rod in line would, mm: zero or less.
    pub(super) short: f64,
    pub(super) dead_angle: f64,
    pub(super) dead_rod_travel: f64,
}

impl Crank {
    pub(super) fn new(
        pad_arm: f64,
        rod_arm: f64,
        rest_angle: f64,
        rod_length: Option<f64>,
        beside: f64,
    ) -> Option<Self> {
        positive(rod_arm)?;
        // Past square by a right angle the arm can only pull the rod back.
        if rest_angle.is_nan() || rest_angle.abs() >= FRAC_PI_2 {
            return None;
        }
        let sin_rest = rest_angle.sin();
        let beside = if rod_length.is_some() { beside } else { 0.0 };
        let offset = positive(rod_arm * rest_angle.cos() + beside)?;
        let short = match rod_length {
            Some(length) => leg(length, positive(length - beside.abs()).map(|_| beside)?) - length,
            None => 0.0,
        };
        let (dead_angle, dead_rod_travel) = match rod_length {
            None => (FRAC_PI_2, rod_arm * (1.0 - sin_rest)),
            Some(length) => {
                positive(length)?;
                let rest = rod_arm * sin_rest + short + length;
                // A rod too short to carry its seat past the pivot folds over the arm instead of lining up
                // with it end to end.
                let folds = rest < 0.0 && offset < rod_arm - length;
                let dead = if folds {
                    -leg(rod_arm - length, offset)
                } else {
                    leg(rod_arm + length, offset)
                };
                (dead.atan2(offset), dead - rest)
            }
        };
        finite(dead_rod_travel)?;
        Some(Self {
            pad_arm,
            rod_arm,
            rest_angle,
            sin_rest,
            offset,
            rod_length,
            beside,
            short,
            dead_angle,
            dead_rod_travel,
        })
    }

    pub(super) fn rod_travel(&self, pad_travel: f64) -> Option<f64> {
        let angle = self.rest_angle + pad_travel / self.pad_arm;
        if angle > self.dead_angle {
            return None;
        }
        match self.rod_length {
            None => Some(self.rod_arm * (angle.sin() - self.sin_rest)),
            Some(length) => {
                let seat =
                    slider_crank_position(self.rod_arm, length, self.offset, FRAC_PI_2 - angle)?;
                Some(seat - (self.rod_arm * self.sin_rest + self.short + length))
            }
        }
    }

    /// The arm's direction at a rod travel, mm.
    pub(super) fn arm(&self, rod_travel: f64) -> Arm {
        let eye = self.rod_arm * self.sin_rest + self.short + rod_travel;
        match self.rod_length {
            None => {
                let sin = (eye / self.rod_arm).min(1.0);
                let cos = ((1.0 - sin) * (1.0 + sin)).sqrt();
                Arm {
                    along: sin,
                    across: cos,
                    length: 1.0,
                    turn: 1.0 / (self.rod_arm * cos),
                }
            }
            Some(length) => {
                // The eye is where the arm's circle about the pivot meets the rod's about its seat.
                let seat = eye + length;
                let distance = (seat * seat + self.offset * self.offset).sqrt();
                // r² + d² − l², written so that a long rod does not cancel the digits away.
                let numerator =
                    self.rod_arm * self.rod_arm + self.offset * self.offset + eye * (seat + length);
                let cos = (numerator / (2.0 * self.rod_arm * distance)).min(1.0);
                let sin = ((1.0 - cos) * (1.0 + cos)).sqrt();
                // The arm's direction is the seat's, turned back by the angle between them; neither is
                // scaled to a unit, as their angle does not need it.
                let along = seat * cos - self.offset * sin;
                let across = self.offset * cos + seat * sin;
                let rod_along = seat - self.rod_arm * along / distance;
                Arm {
                    along,
                    across,
                    length: distance,
                    turn: rod_along / (self.rod_arm * distance * sin),
                }
            }
        }
    }

    /// Angle of the arm from square, rad.
    pub(super) fn angle(&self, arm: &Arm) -> f64 {
        match self.rod_length {
            None => arm.along.asin(),
            Some(_) => arm.along.atan2(arm.across),
        }
    }

    pub(super) fn local_ratio(&self, arm: &Arm) -> f64 {
        // At dead centre itself the ratio has no value; a huge one says the same to every user of it.
        let turn = arm.turn.min(1.0 / (self.rod_arm * f64::EPSILON));
        self.pad_arm * turn
    }

    /// Whether the arm reaches a rod travel, dead centre included. A walk that ends at dead centre meets it only to
    /// rounding.
    pub(super) fn reaches(&self, rod_travel: f64) -> bool {
        rod_travel <= self.dead_rod_travel * (1.0 + 1e-12)
    }

    /// Bounds of `dx/ds`, rod travel per pad travel, between two directions of the arm.
    ///
    /// `dx/ds = r/R·(cos φ + sin φ·tan β)`, with the arm's angle φ from square, the rod's lean β and
    /// `sin β = (r·cos φ − e)/l`. From −90° to 90° the sine only rises, the cosine rises up to square and falls after
    /// it, and β changes with the cosine. So each factor is bounded by its values at both ends and at square.
    pub(super) fn leverage_between(&self, from: &Arm, to: &Arm) -> (f64, f64) {
        let sines = [from.along / from.length, to.along / to.length];
        let cosines = [from.across / from.length, to.across / to.length];
        let least = cosines[0].min(cosines[1]);
        let most = if sines[0] <= 0.0 && sines[1] >= 0.0 {
            1.0
        } else {
            cosines[0].max(cosines[1])
        };
        let scale = self.rod_arm / self.pad_arm;
        let Some(length) = self.rod_length else {
            return (scale * least, scale * most);
        };
        let lean = |cosine: f64| {
            let across = self.rod_arm * cosine - self.offset;
            across / ((length - across) * (length + across)).sqrt()
        };
        let leans = [lean(least), lean(most)];
        let products = sines.map(|sine| leans.map(|lean| sine * lean));
        let products = products.as_flattened();
        let low = products.iter().copied().fold(f64::INFINITY, f64::min);
        let high = products.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        // A rod that cannot lean as far as that has no tangent, and then no bound is known.
        if leans[0].is_nan() || leans[1].is_nan() {
            return (0.0, f64::INFINITY);
        }
        ((scale * (least + low)).max(0.0), scale * (most + high))
    }
}

/// The direction of a crank's arm: `length` times the sine and the cosine of its angle from square, and how much it
/// turns per rod travel, rad/mm.
#[derive(Clone, Copy, Debug)]
pub(super) struct Arm {
    along: f64,
    across: f64,
    length: f64,
    turn: f64,
}

impl Arm {
    pub(super) const SQUARE: Self = Self {
        along: 0.0,
        across: 1.0,
        length: 1.0,
        turn: 0.0,
    };
}

/// The other short side of a right triangle.
fn leg(hypotenuse: f64, side: f64) -> f64 {
    ((hypotenuse - side) * (hypotenuse + side)).max(0.0).sqrt()
}
