//! The pedal: a lever of constant ratio, or a crank that drives the master's pushrod.

use super::assist::Assist;
use super::crank::{Arm, Crank};
use super::domain::{finite, not_negative, positive};
use super::efficiency::Stroke;
use super::rod::Swing;

/// A clutch pedal. Travels are along the arc of the pad.
#[derive(Clone, Debug, PartialEq)]
pub struct Pedal {
    /// Travel at the pad from rest to the floor, mm.
    pub travel: f64,
    /// Travel at the pad to a pedal stop, where one is fitted, mm.
    pub stop: Option<f64>,
    /// Free play at the pad before the rod meets the master's piston, mm. If given, it replaces the master's rod
    /// clearance.
    pub free_play: Option<f64>,
    /// How pad travel becomes rod travel.
    pub leverage: Leverage,
    /// How far the bore's line is beside the rod's eye at rest, mm; above zero away from the pedal's pivot. It
    /// matters only for a rod of known length.
    pub rod_offset: f64,
    /// Work at the rod over work at the pad, on the press.
    pub efficiency: f64,
    /// Force of the pedal's return spring, at the pad, N.
    pub return_force: f64,
    /// Friction of the pedal's pivot that is independent of the load, as force at the pad, N.
    pub drag: f64,
    /// Help of an assist (over-center) spring, at the pad.
    pub assist: Option<Assist>,
}

/// How pad travel becomes rod travel.
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
        /// Angle of the rod arm at rest from square to the master's bore axis, rad; negative before square. `None`
        /// for an arm that is square at mid travel.
        arm_angle: Option<f64>,
        /// Distance from the eye to the rod's seat in the piston, mm. At rest the rod lies along the bore's axis,
        /// apart from [`Pedal::rod_offset`]. `None` for a rod so long that its slope does not matter.
        rod_length: Option<f64>,
    },
}

/// The pedal's position at a rod travel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PedalPosition {
    /// Travel at the pad, mm.
    pub pad_travel: f64,
    /// Local pedal ratio: pad travel per rod travel at this place. It grows without bound towards dead centre.
    pub local_ratio: f64,
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

    /// Force at the pad, N, for a force in the rod, N: the lever's force with friction, plus the return spring, less
    /// the assist. Negative where the assist alone carries the pedal down.
    pub fn effort(&self, position: PedalPosition, rod_force: f64, stroke: Stroke) -> f64 {
        let assist = match &self.assist {
            Some(assist) => assist.value(position.pad_travel),
            None => 0.0,
        };
        self.effort_without_assist(position.local_ratio, rod_force, stroke) - assist
    }

    /// The effort at the pad, N, without the assist.
    pub(super) fn effort_without_assist(
        &self,
        local_ratio: f64,
        rod_force: f64,
        stroke: Stroke,
    ) -> f64 {
        stroke.input_force(rod_force / local_ratio, self.efficiency)
            + (self.return_force + stroke.against(self.drag))
    }

    /// Force in the rod, N, when a foot presses with `foot`, N: the inverse of [`Pedal::effort`].
    pub(super) fn rod_force(&self, position: PedalPosition, foot: f64) -> f64 {
        let assist = match &self.assist {
            Some(assist) => assist.value(position.pad_travel),
            None => 0.0,
        };
        (foot + assist - (self.return_force + self.drag)) * self.efficiency * position.local_ratio
    }

    /// Angle at rest from square to the rod, rad, of an arm that is square at mid travel of a pad this far from the
    /// pivot, mm. It is negative, since the arm has yet to become square.
    pub fn square_at_mid_travel(&self, pad_arm: f64) -> f64 {
        -0.5 * self.travel / pad_arm
    }

    /// Sets another pad travel, mm, and leaves the arms where they are. An arm that was square at mid travel stays
    /// square there, which is not the middle of the new travel.
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
                let beside = self.rod_offset;
                Kind::Crank(Crank::new(
                    pad_arm, rod_arm, rest_angle, rod_length, beside,
                )?)
            }
        };
        Some(PedalGeometry { kind })
    }

    /// `Some` if every number has a meaning.
    pub(super) fn check(&self) -> Option<()> {
        not_negative(self.travel)?;
        self.stop.map_or(Some(0.0), not_negative)?;
        positive(self.efficiency)?;
        finite(self.return_force)?;
        not_negative(self.drag)?;
        Some(())
    }
}

/// The pedal as a mechanism: pad travel to rod travel and back, in closed form in both directions.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PedalGeometry {
    kind: Kind,
}

#[derive(Clone, Copy, Debug, PartialEq)]
enum Kind {
    Ratio(f64),
    Crank(Crank),
}

impl PedalGeometry {
    /// Rod travel, mm, at a pad travel, mm; `None` for a negative pad travel and past dead centre.
    ///
    /// φ is the arm's angle from square, and turns by pad travel over pad arm. For a long rod the travel is
    /// `r·(sin φ − sin φ₀)`. For a rod of length l it is the offset slider-crank, less its place at rest. Its offset
    /// is `e = r·cos φ₀` plus the distance of the bore's line beside the eye at rest.
    pub fn rod_travel(&self, pad_travel: f64) -> Option<f64> {
        not_negative(pad_travel)?;
        match &self.kind {
            Kind::Ratio(ratio) => finite(pad_travel / ratio),
            Kind::Crank(crank) => crank.rod_travel(pad_travel).and_then(finite),
        }
    }

    /// The pedal's position at a rod travel, mm; `None` for a negative travel and past dead centre.
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

    /// The arm's direction at a rod travel, mm; it does not matter for a constant ratio. `None` for a negative travel
    /// and past dead centre.
    pub(super) fn arm(&self, rod_travel: f64) -> Option<Arm> {
        not_negative(rod_travel)?;
        match &self.kind {
            Kind::Ratio(_) => Some(Arm::SQUARE),
            Kind::Crank(crank) => crank.reaches(rod_travel).then(|| crank.arm(rod_travel)),
        }
    }

    /// Local pedal ratio, as [`PedalGeometry::position`] gives it, but without the pad's travel, which costs an arc
    /// function.
    pub(super) fn local_ratio(&self, arm: &Arm) -> Option<f64> {
        match &self.kind {
            Kind::Ratio(ratio) => Some(*ratio),
            Kind::Crank(crank) => finite(crank.local_ratio(arm)),
        }
    }

    /// Lower and upper bound of rod travel per pad travel (the inverse of the local ratio) between two directions of
    /// the arm.
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

    /// Greatest angle of the pedal's rod to the master's bore, rad, from rest to a pad travel, mm. The eye moves up
    /// and down along its arc while the seat stays on the bore's line. The rod lies on that line at rest, apart from
    /// its offset. `None` for a constant ratio and a rod of unknown length, and where the geometry cannot reach.
    ///
    /// Source: slider-crank, planar kinematics.
    pub fn worst_rod_angle(&self, pad_travel: f64) -> Option<f64> {
        let Kind::Crank(crank) = &self.kind else {
            return None;
        };
        let rod_length = crank.rod_length?;
        self.rod_travel(pad_travel)?;
        Swing::lean_from_line(
            crank.rod_arm,
            crank.rest_angle,
            crank.rest_angle + pad_travel / crank.pad_arm,
            rod_length,
            crank.beside,
        )
    }

    /// The [`Pedal::rod_offset`], mm, at which the rod leans least from rest to a pad travel, mm: half of the eye's
    /// swing. `None` where [`PedalGeometry::worst_rod_angle`] is.
    pub fn best_rod_offset(&self, pad_travel: f64) -> Option<f64> {
        self.rod_travel(pad_travel)?;
        match &self.kind {
            Kind::Ratio(_) => None,
            Kind::Crank(crank) => {
                crank.rod_length?;
                let to = crank.rest_angle + pad_travel / crank.pad_arm;
                Swing::middle(crank.rod_arm, crank.rest_angle, to)
            }
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
            drag: 0.0,
            travel: 140.0,
            stop: None,
            free_play: None,
            leverage: Leverage::Crank {
                pad_arm: 300.0,
                rod_arm: 60.0,
                arm_angle,
                rod_length,
            },
            rod_offset: 0.0,
            efficiency: 0.95,
            return_force: 0.0,
            assist: None,
        }
    }

    #[test]
    fn rod_travel_and_position_are_inverse() {
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

    /// The bounds hold everywhere between two places, and are not much wider than the values there.
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
