//! The pedal: a lever, or a crank that drives the master's pushrod.

use std::f64::consts::FRAC_PI_2;

use super::domain::{finite, not_negative, positive};
use super::efficiency::Stroke;
use super::interpolation::Curve;
use super::rod::Swing;

/// A clutch pedal. Travels are along the arc of the pad.
#[derive(Clone, Debug, PartialEq)]
pub struct Pedal {
    /// Travel at the pad from rest to the floor, mm.
    pub travel: f64,
    /// Travel at the pad to a pedal stop, where one is fitted, mm.
    pub stop: Option<f64>,
    /// Free play at the pad before the rod meets the master's piston, mm. Where given, it takes the place of
    /// the master's rod clearance.
    pub free_play: Option<f64>,
    /// How the pad's travel becomes the rod's.
    pub leverage: Leverage,
    /// Work at the rod over work at the pad, on the press.
    pub efficiency: f64,
    /// Force of the pedal's return spring, at the pad, N.
    pub return_force: f64,
    /// Help of an assist (over-centre) spring, at the pad: pad travel, mm, to force, N.
    pub assist: Option<Curve>,
}

/// How the pad's travel becomes the rod's.
#[derive(Clone, Debug, PartialEq)]
pub enum Leverage {
    /// A constant pedal ratio, pad travel over rod travel.
    Ratio(f64),
    /// A rod arm that swings with the pedal.
    Crank {
        /// Pivot to pad, mm.
        pad_arm: f64,
        /// Pivot to the rod's eye, mm.
        rod_arm: f64,
        /// Angle of the rod arm, at rest, from square to the master's bore axis, rad; negative before
        /// square. `None` for square at mid travel.
        arm_angle: Option<f64>,
        /// Eye to the rod's seat in the piston, mm; at rest the rod lies along the bore's axis. `None` for
        /// a rod so long that its slope does not matter.
        rod_length: Option<f64>,
    },
}

/// Where the pedal stands for a rod travel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PedalPosition {
    /// Travel at the pad, mm.
    pub pad_travel: f64,
    /// Local pedal ratio, pad travel per rod travel at this place; grows without bound towards dead centre.
    pub local_ratio: f64,
}

/// Position of the slider of an offset slider-crank, measured from the crank's pivot along the slide, mm:
/// `r·cos θ + sqrt(l² − (r·sin θ − e)²)`, with the crank's `angle` θ, rad, from the slide's direction.
/// `None` if the rod does not span to the slide.
///
/// Source: planar kinematics, as in Nikravesh, Ex. 5.1 for e = 0.
pub fn slider_crank_position(crank: f64, rod: f64, offset: f64, angle: f64) -> Option<f64> {
    let across = crank * angle.sin() - offset;
    let along = ((rod - across) * (rod + across)).sqrt();
    finite(crank * angle.cos() + along)
}

impl Pedal {
    /// Nominal pedal ratio, pad arm over rod arm.
    ///
    /// Source: law of the lever; OpenStax College Physics 2e s 9.5.
    pub fn ratio(&self) -> f64 {
        match self.leverage {
            Leverage::Ratio(ratio) => ratio,
            Leverage::Crank {
                pad_arm, rod_arm, ..
            } => pad_arm / rod_arm,
        }
    }

    /// Force at the pad, N, for a force in the rod, N: the lever's, with friction, plus the return spring,
    /// less the assist. Negative where the assist alone carries the pedal down.
    pub fn effort(&self, position: PedalPosition, rod_force: f64, stroke: Stroke) -> f64 {
        let assist = match &self.assist {
            Some(curve) => curve.value(position.pad_travel),
            None => 0.0,
        };
        self.effort_without_assist(position.local_ratio, rod_force, stroke) - assist
    }

    /// The same with no assist.
    pub(super) fn effort_without_assist(
        &self,
        local_ratio: f64,
        rod_force: f64,
        stroke: Stroke,
    ) -> f64 {
        stroke.input_force(rod_force / local_ratio, self.efficiency) + self.return_force
    }

    /// Force in the rod, N, of a foot that presses with `foot`, N: [`Pedal::effort`] the other way round.
    pub(super) fn rod_force(&self, position: PedalPosition, foot: f64) -> f64 {
        let assist = match &self.assist {
            Some(curve) => curve.value(position.pad_travel),
            None => 0.0,
        };
        (foot + assist - self.return_force) * self.efficiency * position.local_ratio
    }

    /// Angle of an arm at rest, from square to the rod, rad, that comes square at mid travel of a pad this far
    /// from the pivot, mm; negative, for it has yet to come square.
    pub fn square_at_mid_travel(&self, pad_arm: f64) -> f64 {
        -0.5 * self.travel / pad_arm
    }

    /// Gives the pad another travel, mm, and leaves the arms where they are: an arm that is square at mid travel
    /// stays square there, and not at the middle of the new travel.
    pub fn set_travel(&mut self, travel: f64) {
        let square = match self.leverage {
            Leverage::Crank { pad_arm, .. } => self.square_at_mid_travel(pad_arm),
            Leverage::Ratio(_) => 0.0,
        };
        if let Leverage::Crank { arm_angle, .. } = &mut self.leverage {
            arm_angle.get_or_insert(square);
        }
        self.travel = travel;
    }

    /// The pedal's geometry with its constants worked out; `None` if its numbers have no meaning.
    pub fn geometry(&self) -> Option<PedalGeometry> {
        let kind = match self.leverage {
            Leverage::Ratio(ratio) => Kind::Ratio(positive(ratio)?),
            Leverage::Crank {
                pad_arm,
                rod_arm,
                arm_angle,
                rod_length,
            } => {
                positive(pad_arm)?;
                let rest_angle = arm_angle.unwrap_or_else(|| self.square_at_mid_travel(pad_arm));
                Kind::Crank(Crank::new(pad_arm, rod_arm, rest_angle, rod_length)?)
            }
        };
        Some(PedalGeometry { kind })
    }

    /// `None` if a number has no meaning.
    pub(super) fn check(&self) -> Option<()> {
        not_negative(self.travel)?;
        self.stop.map_or(Some(0.0), not_negative)?;
        positive(self.efficiency)?;
        finite(self.return_force)?;
        Some(())
    }
}

/// The pedal as a mechanism: pad travel to rod travel and back, in closed form both ways.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PedalGeometry {
    kind: Kind,
}

#[derive(Clone, Copy, Debug, PartialEq)]
enum Kind {
    Ratio(f64),
    Crank(Crank),
}

/// The crank in axes through the pedal's pivot: the bore's axis runs along the first at the height
/// `offset` on the second, and the eye stands at `(r·sin φ, r·cos φ)`.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Crank {
    pad_arm: f64,
    rod_arm: f64,
    rest_angle: f64,
    sin_rest: f64,
    offset: f64,
    rod_length: Option<f64>,
    dead_angle: f64,
    dead_rod_travel: f64,
}

impl Crank {
    fn new(pad_arm: f64, rod_arm: f64, rest_angle: f64, rod_length: Option<f64>) -> Option<Self> {
        positive(rod_arm)?;
        // Past square by a right angle the arm can only pull the rod back.
        if rest_angle.is_nan() || rest_angle.abs() >= FRAC_PI_2 {
            return None;
        }
        let sin_rest = rest_angle.sin();
        let offset = rod_arm * rest_angle.cos();
        let (dead_angle, dead_rod_travel) = match rod_length {
            None => (FRAC_PI_2, rod_arm * (1.0 - sin_rest)),
            Some(length) => {
                positive(length)?;
                let rest = rod_arm * sin_rest + length;
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
            dead_angle,
            dead_rod_travel,
        })
    }

    fn rod_travel(&self, pad_travel: f64) -> Option<f64> {
        let angle = self.rest_angle + pad_travel / self.pad_arm;
        if angle > self.dead_angle {
            return None;
        }
        match self.rod_length {
            None => Some(self.rod_arm * (angle.sin() - self.sin_rest)),
            Some(length) => {
                let seat =
                    slider_crank_position(self.rod_arm, length, self.offset, FRAC_PI_2 - angle)?;
                Some(seat - (self.rod_arm * self.sin_rest + length))
            }
        }
    }

    /// Where the arm points at a rod travel, mm.
    fn arm(&self, rod_travel: f64) -> Arm {
        let eye = self.rod_arm * self.sin_rest + rod_travel;
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
    fn angle(&self, arm: &Arm) -> f64 {
        match self.rod_length {
            None => arm.along.asin(),
            Some(_) => arm.along.atan2(arm.across),
        }
    }

    fn local_ratio(&self, arm: &Arm) -> f64 {
        // At dead centre itself the ratio has no value; a huge one says the same to every user of it.
        let turn = arm.turn.min(1.0 / (self.rod_arm * f64::EPSILON));
        self.pad_arm * turn
    }

    /// Whether the arm stands there, dead centre included; a walk that ends there meets it only to rounding.
    fn reaches(&self, rod_travel: f64) -> bool {
        rod_travel <= self.dead_rod_travel * (1.0 + 1e-12)
    }

    /// Bounds of `dx/ds`, rod travel per pad travel, between two places of the arm.
    ///
    /// With the arm's angle φ from square, the rod's lean β and `sin β = (r·cos φ − e)/l`, it is
    /// `r/R·(cos φ + sin φ·tan β)`. From −90° to 90° the sine only rises, the cosine rises to square and falls
    /// after it, and β goes with the cosine; so each factor is bounded by its ends and by square.
    fn leverage_between(&self, from: &Arm, to: &Arm) -> (f64, f64) {
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

/// Where a crank's arm points: `length` times the sine and the cosine of its angle from square, and how much
/// it turns per rod travel, rad/mm.
#[derive(Clone, Copy, Debug)]
pub(super) struct Arm {
    along: f64,
    across: f64,
    length: f64,
    turn: f64,
}

impl Arm {
    const SQUARE: Self = Self {
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

impl PedalGeometry {
    /// Rod travel, mm, at a pad travel, mm; `None` for a negative pad travel and past dead centre.
    ///
    /// With φ the arm's angle from square, turned by pad travel over pad arm: `r·(sin φ − sin φ₀)` for a
    /// long rod; for one of length l the offset slider-crank with the offset `e = r·cos φ₀`, less its place
    /// at rest.
    pub fn rod_travel(&self, pad_travel: f64) -> Option<f64> {
        not_negative(pad_travel)?;
        match &self.kind {
            Kind::Ratio(ratio) => finite(pad_travel / ratio),
            Kind::Crank(crank) => crank.rod_travel(pad_travel).and_then(finite),
        }
    }

    /// Where the pedal stands for a rod travel, mm; `None` for a negative one and past dead centre.
    ///
    /// The inverse of [`PedalGeometry::rod_travel`]: an arcsine for a long rod, otherwise the crossing of two
    /// circles.
    pub fn position(&self, rod_travel: f64) -> Option<PedalPosition> {
        not_negative(rod_travel)?;
        let (pad_travel, local_ratio) = match &self.kind {
            Kind::Ratio(ratio) => (rod_travel * ratio, *ratio),
            Kind::Crank(crank) => {
                crank.reaches(rod_travel).then_some(())?;
                let arm = crank.arm(rod_travel);
                let pad_travel = (crank.angle(&arm) - crank.rest_angle) * crank.pad_arm;
                (pad_travel.max(0.0), crank.local_ratio(&arm))
            }
        };
        finite(pad_travel)?;
        finite(local_ratio)?;
        Some(PedalPosition {
            pad_travel,
            local_ratio,
        })
    }

    /// Where the arm points at a rod travel, mm; of a constant ratio it does not matter. `None` for a negative
    /// travel and past dead centre.
    pub(super) fn arm(&self, rod_travel: f64) -> Option<Arm> {
        not_negative(rod_travel)?;
        match &self.kind {
            Kind::Ratio(_) => Some(Arm::SQUARE),
            Kind::Crank(crank) => crank.reaches(rod_travel).then(|| crank.arm(rod_travel)),
        }
    }

    /// Local pedal ratio, as [`PedalGeometry::position`] gives it, without the pad's travel, which costs an arc
    /// function.
    pub(super) fn local_ratio(&self, arm: &Arm) -> Option<f64> {
        match &self.kind {
            Kind::Ratio(ratio) => Some(*ratio),
            Kind::Crank(crank) => finite(crank.local_ratio(arm)),
        }
    }

    /// Two values between which rod travel per pad travel, the inverse of the local ratio, lies everywhere from
    /// one place of the arm to another.
    pub(super) fn leverage_between(&self, from: &Arm, to: &Arm) -> (f64, f64) {
        match &self.kind {
            Kind::Ratio(ratio) => (1.0 / ratio, 1.0 / ratio),
            Kind::Crank(crank) => crank.leverage_between(from, to),
        }
    }

    /// The rod travel of dead centre, mm, or `rod_travel` if that is less.
    pub(super) fn up_to_dead_centre(&self, rod_travel: f64) -> f64 {
        match &self.kind {
            Kind::Ratio(_) => rod_travel,
            Kind::Crank(crank) => rod_travel.min(crank.dead_rod_travel),
        }
    }

    /// Greatest angle of the pedal's rod to the master's bore, rad, from rest to a pad travel, mm: the eye
    /// moves up and down along its arc while the seat stays on the bore's line, where the rod lies at rest.
    /// `None` for a constant ratio and a rod of unknown length, and where the geometry cannot reach.
    ///
    /// Source: slider-crank, planar kinematics.
    pub fn worst_rod_angle(&self, pad_travel: f64) -> Option<f64> {
        self.rod_travel(pad_travel)?;
        match &self.kind {
            Kind::Ratio(_) => None,
            Kind::Crank(crank) => Swing::lean_from_line(
                crank.rod_arm,
                crank.rest_angle,
                crank.rest_angle + pad_travel / crank.pad_arm,
                crank.rod_length?,
            ),
        }
    }

    /// Pad travel and rod travel at dead centre, mm; `None` for a constant ratio, which has none.
    pub(super) fn dead_centre(&self) -> Option<(f64, f64)> {
        match &self.kind {
            Kind::Ratio(_) => None,
            Kind::Crank(crank) => Some((
                (crank.dead_angle - crank.rest_angle) * crank.pad_arm,
                crank.dead_rod_travel,
            )),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{Leverage, Pedal};

    fn crank(arm_angle: Option<f64>, rod_length: Option<f64>) -> Pedal {
        Pedal {
            travel: 140.0,
            stop: None,
            free_play: None,
            leverage: Leverage::Crank {
                pad_arm: 300.0,
                rod_arm: 60.0,
                arm_angle,
                rod_length,
            },
            efficiency: 0.95,
            return_force: 0.0,
            assist: None,
        }
    }

    #[test]
    fn there_and_back_again() {
        let rods = [None, Some(30.0), Some(55.0), Some(150.0), Some(1e5)];
        for rod in rods {
            for angle in [None, Some(-0.9), Some(0.3)] {
                let geometry = crank(angle, rod).geometry().expect("sound");
                let (dead_pad, _) = geometry.dead_centre().expect("a crank");
                for i in 0..100 {
                    let pad = dead_pad * f64::from(i) / 100.0;
                    let travel = geometry.rod_travel(pad).expect("within reach");
                    let back = geometry.position(travel).expect("within reach");
                    assert!(
                        (back.pad_travel - pad).abs() < 1e-7,
                        "{rod:?} {angle:?} {pad} came back as {}",
                        back.pad_travel
                    );
                }
            }
        }
    }

    #[test]
    fn local_ratio_is_the_slope_of_the_travel() {
        for rod in [None, Some(55.0), Some(150.0)] {
            let geometry = crank(None, rod).geometry().expect("sound");
            for pad in [5.0, 40.0, 70.0, 120.0] {
                let step = 1e-3;
                let before = geometry.rod_travel(pad - step).expect("within reach");
                let after = geometry.rod_travel(pad + step).expect("within reach");
                let slope = 2.0 * step / (after - before);
                let travel = geometry.rod_travel(pad).expect("within reach");
                let local = geometry.position(travel).expect("within reach").local_ratio;
                assert!((local / slope - 1.0).abs() < 1e-8, "{rod:?} {pad}");
            }
        }
    }

    /// Everywhere between two places, and not much wider than what there is.
    #[test]
    fn leverage_lies_between_its_bounds() {
        for rod in [None, Some(30.0), Some(55.0), Some(150.0)] {
            for angle in [None, Some(-0.9), Some(0.3)] {
                let geometry = crank(angle, rod).geometry().expect("sound");
                let (_, dead) = geometry.dead_centre().expect("a crank");
                let pieces = 12;
                for piece in 0..pieces {
                    let at = |part: f64| {
                        let travel = 0.99 * dead * (f64::from(piece) + part) / f64::from(pieces);
                        geometry.arm(travel).expect("within reach")
                    };
                    let (low, high) = geometry.leverage_between(&at(0.0), &at(1.0));
                    let inside = (0..=50).map(|i| {
                        1.0 / geometry
                            .local_ratio(&at(f64::from(i) / 50.0))
                            .expect("moves")
                    });
                    let (least, most) =
                        inside.fold((f64::INFINITY, 0.0_f64), |(a, b), x| (a.min(x), b.max(x)));
                    let rounding = 1e-9 * most;
                    assert!(
                        low <= least + rounding && most <= high + rounding,
                        "{rod:?} {angle:?}"
                    );
                    // A rod of ordinary length; of a short one the two factors go far apart.
                    if rod.is_none_or(|rod| rod > 100.0) {
                        assert!(
                            high - low <= 2.0 * (most - least) + 0.01,
                            "{rod:?} {angle:?}"
                        );
                    }
                }
            }
        }
    }

    #[test]
    fn square_at_mid_travel_gives_the_nominal_ratio_there() {
        let pedal = crank(None, None);
        let geometry = pedal.geometry().expect("sound");
        let travel = geometry.rod_travel(70.0).expect("within reach");
        let local = geometry.position(travel).expect("within reach").local_ratio;
        assert!((local - pedal.ratio()).abs() < 1e-12);
    }

    #[test]
    fn nothing_past_dead_centre() {
        for rod in [None, Some(30.0), Some(150.0)] {
            let geometry = crank(Some(-0.9), rod).geometry().expect("sound");
            let (pad, travel) = geometry.dead_centre().expect("a crank");
            assert!(geometry.rod_travel(pad * 1.0001).is_none());
            assert!(geometry.position(travel * 1.0001).is_none());
            let there = geometry.position(travel).expect("dead centre itself");
            assert!((there.pad_travel - pad).abs() < 1e-4);
            assert!(there.local_ratio > 1e4);
        }
    }
}
