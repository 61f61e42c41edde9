//! The release fork.

use super::domain::{compliance, finite, not_negative, positive};
use super::efficiency::{PerStroke, Stroke};
use super::leg::WalkPoint;

/// A release fork: a lever between the slave's rod (or the cable) and the release bearing.
#[derive(Clone, Debug, PartialEq)]
pub struct Fork {
    /// Travel at the outer end over travel at the bearing; above zero. For a bent fork it is the ratio of its arms,
    /// which holds where the fork is square.
    pub ratio: f64,
    /// Work at the bearing over work at the outer end, on the press.
    pub efficiency: f64,
    /// Friction at the outer end that is independent of the load, N.
    pub drag: f64,
    /// Force of the spring that pulls the outer end back, N.
    pub return_force: f64,
    /// Force per deflection at the outer end, N/mm; `None` for rigid.
    pub stiffness: Option<f64>,
    /// How far the outer end can travel from rest before the fork strikes the housing, mm; `None` where nothing
    /// limits it.
    pub window: Option<f64>,
    /// The geometry that makes the ratio change along the stroke. `None` for a fork whose tips, ball and seat are in
    /// one line: its ratio is constant.
    pub bend: Option<Bend>,
}

/// A fork that is not straight, and its place at rest. Directions count in the way in which the bearing releases.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bend {
    /// Distance of the tips from the pivot, square to the shaft, with the fork square, mm.
    pub bearing_arm: f64,
    /// How far the tips are ahead of the ball with the fork square, mm.
    pub tip_offset: f64,
    /// How far the outer seat is ahead of the ball with the fork square, in the direction in which it is pushed, mm.
    pub end_offset: f64,
    /// How far the tips are ahead of the ball at rest, mm.
    pub tips: f64,
}

impl Fork {
    /// No fork, for a concentric slave, which pushes the bearing itself.
    pub fn none() -> Self {
        Self {
            ratio: 1.0,
            efficiency: 1.0,
            drag: 0.0,
            return_force: 0.0,
            stiffness: None,
            window: None,
            bend: None,
        }
    }

    /// Force at the outer end, N, for a load at the bearing, N, of a square fork. Forces independent of the load are
    /// left out.
    ///
    /// Source: law of the lever; OpenStax College Physics 2e s 9.5.
    pub fn outer_force(&self, bearing_load: f64, stroke: Stroke) -> f64 {
        stroke.input_force(bearing_load / self.ratio, self.efficiency)
    }

    /// Travel of the outer end, mm, without flex, once the bearing has moved by `bearing`, mm, from rest. Both are
    /// below zero where a worn disc pushes the bearing back.
    pub fn outer_travel(&self, bearing: f64) -> f64 {
        match &self.bend {
            None => self.ratio * bearing,
            Some(bend) => bend.at(self.ratio, bearing).0 - bend.at(self.ratio, 0.0).0,
        }
    }

    /// Force at the outer end, N, that is independent of the load: the spring's force, plus the friction on the
    /// press, less it on the return. On the return it may be below zero.
    fn constant_force(&self, stroke: Stroke) -> f64 {
        self.return_force + stroke.against(self.drag)
    }

    /// The fork with its constants worked out; `None` if its numbers have no meaning.
    pub(super) fn lever(&self) -> Option<Lever> {
        positive(self.efficiency)?;
        not_negative(self.drag)?;
        not_negative(self.return_force)?;
        let ratio = positive(self.ratio)?;
        let bend = match self.bend {
            None => None,
            Some(bend) => Some((bend.check(ratio)?, bend.at(ratio, 0.0).0)),
        };
        Some(Lever {
            ratio,
            force_per_load: PerStroke::new(|stroke| self.outer_force(1.0, stroke))?,
            constant: PerStroke::new(|stroke| self.constant_force(stroke))?,
            compliance: compliance(self.stiffness)?,
            bend,
        })
    }
}

impl Bend {
    /// The sine of the greatest angle up to which the fork's circle is followed. Beyond it the ratio is kept
    /// constant; no fork works there.
    const MOST: f64 = std::f64::consts::FRAC_1_SQRT_2;

    /// Where the outer end is, mm, and its local ratio, with the bearing moved by `bearing`, mm. `ratio` is that of
    /// the fork's arms.
    ///
    /// Ahead of the ball the tips are at `x = b·sin ψ + o_t·cos ψ` and the end at `s·sin ψ + o_e·cos ψ`. So the ratio
    /// is `(s·cos ψ − o_e·sin ψ)/(b·cos ψ − o_t·sin ψ)`: planar kinematics of a rigid lever whose ends stay on lines
    /// along the shaft. It only rises or only falls, by `−(b·o_e − s·o_t)/(b·cos ψ − o_t·sin ψ)²` per angle.
    fn at(&self, ratio: f64, bearing: f64) -> (f64, f64) {
        let slave_arm = ratio * self.bearing_arm;
        let reach = self.bearing_arm.hypot(self.tip_offset);
        let tips = self.tips + bearing;
        let followed = tips.clamp(-Self::MOST * reach, Self::MOST * reach);
        let angle = (followed / reach).asin() - self.tip_offset.atan2(self.bearing_arm);
        let (sin, cos) = angle.sin_cos();
        let end = slave_arm * sin + self.end_offset * cos;
        let local = (slave_arm * cos - self.end_offset * sin)
            / (self.bearing_arm * cos - self.tip_offset * sin);
        (end + local * (tips - followed), local)
    }

    /// Slope of the ratio over the bearing's travel, 1/mm, with the bearing moved by `bearing`, mm: the slope per
    /// angle in [`Bend::at`], divided once more by `b·cos ψ − o_t·sin ψ`.
    fn slope(&self, ratio: f64, bearing: f64) -> f64 {
        let reach = self.bearing_arm.hypot(self.tip_offset);
        let share = (self.tips + bearing) / reach;
        let across = reach * (1.0 - share.clamp(-Self::MOST, Self::MOST).powi(2)).sqrt();
        let slave_arm = ratio * self.bearing_arm;
        (slave_arm * self.tip_offset - self.bearing_arm * self.end_offset) / across.powi(3)
    }

    /// The bend itself; `None` for numbers without meaning, and for a bend so sharp that the end turns back.
    fn check(self, ratio: f64) -> Option<Self> {
        positive(self.bearing_arm)?;
        finite(self.tip_offset)?;
        finite(self.end_offset)?;
        finite(self.tips)?;
        let far = 2.0 * (self.bearing_arm.hypot(self.tip_offset) + self.tips.abs());
        positive(self.at(ratio, -far).1)?;
        positive(self.at(ratio, far).1)?;
        Some(self)
    }
}

/// A fork with its constants worked out.
#[derive(Clone, Copy, Debug)]
pub(super) struct Lever {
    pub(super) ratio: f64,
    /// Force at the outer end per load at the bearing, with the fork square.
    pub(super) force_per_load: PerStroke,
    /// Force at the outer end, N, that is independent of the load.
    pub(super) constant: PerStroke,
    /// Deflection at the outer end per force there, mm/N.
    pub(super) compliance: f64,
    /// The bend, and where the outer end is at rest because of it.
    bend: Option<(Bend, f64)>,
}

impl Lever {
    /// The lever on a mount of the given stiffness, N/mm, which deflects in series with the fork:
    /// `1/k_fork + 1/k_mount`.
    pub(super) fn on_mount(mut self, stiffness: Option<f64>) -> Option<Self> {
        self.compliance += compliance(stiffness)?;
        Some(self)
    }

    /// Whether the ratio is constant.
    pub(super) fn is_straight(&self) -> bool {
        self.bend.is_none()
    }

    /// Travel of the outer end, mm, without flex, with the bearing moved by `bearing`, mm.
    pub(super) fn moved(&self, bearing: f64) -> f64 {
        match &self.bend {
            None => self.ratio * bearing,
            Some((bend, rest)) => bend.at(self.ratio, bearing).0 - rest,
        }
    }

    /// Travel of the outer end over travel of the bearing, at the place where the bearing has moved by `bearing`, mm.
    pub(super) fn local_ratio(&self, bearing: f64) -> f64 {
        match &self.bend {
            None => self.ratio,
            Some((bend, _)) => bend.at(self.ratio, bearing).1,
        }
    }

    /// The greatest slope of the local ratio over the bearing's travel, 1/mm, between two places of the bearing, mm.
    /// It is proportional to the inverse third power of the tips' distance from the line through the ball, and
    /// greatest at one of the two ends.
    pub(super) fn steepest(&self, from: f64, to: f64) -> f64 {
        match &self.bend {
            None => 0.0,
            Some((bend, _)) => bend.slope(self.ratio, from).max(bend.slope(self.ratio, to)),
        }
    }

    /// Force at the outer end, N, at a place: from the load on the bearing, and from the share of the constant force
    /// that is taken up there. Friction holds what pushes back, and does not pull.
    pub(super) fn force(&self, place: &WalkPoint, stroke: Stroke) -> f64 {
        let square = place.load * self.force_per_load.on(stroke);
        let of_load = match &self.bend {
            None => square,
            Some((bend, _)) => square * (self.ratio / bend.at(self.ratio, place.bearing).1),
        };
        let constant = place.taken_up * self.constant.on(stroke);
        if constant < 0.0 {
            (of_load + constant).max(of_load.min(0.0))
        } else {
            of_load + constant
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{Bend, Fork};

    /// A fork whose outer arm has `degrees` left to turn at rest until it is square, while its tips are square.
    fn leaning(degrees: f64) -> Fork {
        Fork {
            ratio: 112.0 / 68.0,
            bend: Some(Bend {
                bearing_arm: 68.0,
                tip_offset: 0.0,
                end_offset: -112.0 * degrees.to_radians().tan(),
                tips: 0.0,
            }),
            ..Fork::none()
        }
    }

    /// The worked numbers of the design: travel of the bearing for 15 mm at the outer end, and the ratio there.
    #[test]
    fn a_bent_fork_moves_the_bearing_less_before_square_and_more_past_it() {
        for (degrees, bearing, ratio) in [(20.0, 8.895, 1.726), (-20.0, 9.342, 1.564)] {
            let fork = leaning(degrees);
            let moved = fork.outer_travel(bearing);
            assert!((moved - 15.0).abs() < 1e-3, "{moved}");
            let local = fork.lever().unwrap().local_ratio(bearing);
            assert!((local - ratio).abs() < 5e-4, "{local}");
        }
        let straight = Fork {
            bend: None,
            ..leaning(20.0)
        };
        assert!((straight.outer_travel(9.107) - 15.0).abs() < 1e-3);
    }

    /// The ratio is the slope of the travel, wherever the fork is, even past the end of its circle.
    #[test]
    fn the_local_ratio_is_the_slope() {
        let fork = Fork {
            bend: Some(Bend {
                bearing_arm: 68.0,
                tip_offset: 7.0,
                end_offset: 15.0,
                tips: 4.0,
            }),
            ..leaning(0.0)
        };
        let lever = fork.lever().unwrap();
        for bearing in [-70.0, -20.0, 0.0, 3.0, 11.0, 40.0, 60.0] {
            let slope = (lever.moved(bearing + 1e-4) - lever.moved(bearing - 1e-4)) / 2e-4;
            assert!(
                (slope - lever.local_ratio(bearing)).abs() < 1e-7,
                "{bearing}"
            );
        }
    }
}
