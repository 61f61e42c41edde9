//! Where a release fork sits along the input shaft: its tips on the bearing, its outer end in the window of the
//! housing, and its angle from square.
//!
//! All places are along the shaft, from the bell housing's face at the gearbox forward to the engine. Angles are
//! above zero where the tips are forward of square.

use super::domain::{finite, positive};
use super::fork::Bend;

/// The place of the fingers' tips, mm ahead of the gearbox's face. It is the engine's rear face, at the depth of the
/// housing and its adapter plates, less `finger_height`. All in mm.
pub fn finger_position(engine_to_gearbox: f64, finger_height: f64) -> f64 {
    engine_to_gearbox - finger_height
}

/// A fork on its pivot, as the housing, cover and bearing place it at rest with a new disc.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ForkStack {
    /// Place of the tips at rest, mm.
    pub tips: f64,
    /// Place of the centre of the pivot's ball, mm.
    pub pivot_height: f64,
    /// Distance of the tips from the pivot with the fork square to the shaft, mm.
    pub bearing_arm: f64,
    /// Distance of the outer seat from the pivot with the fork square to the shaft, mm.
    pub slave_arm: f64,
    /// How far the tips are forward of the line through the ball with the fork square, mm.
    pub tip_offset: f64,
    /// How far the outer seat is forward of that line, mm.
    pub end_offset: f64,
    /// Whether the pivot is beyond bearing and slave, and not between them; `None` where that is not known.
    pub outboard: Option<bool>,
    /// Whether the bearing pulls the fingers to release, away from the engine.
    pub pulls: bool,
}

impl ForkStack {
    /// Place of the tips at rest, mm. The bearing is `length`, mm, from the fork's contact to the face that meets the
    /// fingers. It has a gap of `free_play`, mm, to fingers at `fingers`, mm. A bearing that pulls meets the fingers
    /// from the engine's side.
    pub fn tips_at_rest(fingers: f64, length: f64, free_play: f64, pulls: bool) -> f64 {
        let gap = if pulls { free_play } else { -free_play };
        fingers + gap - length
    }

    /// The direction in which the bearing releases: 1 forward, −1 back.
    fn way(&self) -> f64 {
        if self.pulls { -1.0 } else { 1.0 }
    }

    /// Place of the tips, mm, once the bearing has moved by `travel`, mm, from rest. The travel is below zero where a
    /// worn disc has pushed the bearing back.
    pub fn tips_at(&self, travel: f64) -> f64 {
        self.tips + self.way() * travel
    }

    /// The fork's angle from square, rad, with its tips at `tips`, mm: `asin((x_t − h)/√(b² + o_t²)) − atan(o_t/b)`.
    /// `None` where the fork cannot reach.
    pub fn angle(&self, tips: f64) -> Option<f64> {
        let reach = positive(self.bearing_arm.hypot(self.tip_offset))?;
        let square = self.tip_offset.atan2(self.bearing_arm);
        finite(((tips - self.pivot_height) / reach).asin() - square)
    }

    /// Place of a rigid fork's outer seat at an angle, mm: `h ∓ s·sin ψ + o_e·cos ψ`, minus with the pivot between.
    /// Under load the seat is at its place at rest ± the fork's travel, which includes the fork's flex.
    pub fn end(&self, angle: f64) -> Option<f64> {
        let (sin, cos) = angle.sin_cos();
        finite(self.pivot_height + self.side()? * self.slave_arm * sin + self.end_offset * cos)
    }

    /// How far the outer arm is from square to the push at an angle, rad; above zero before it is square.
    pub fn to_square(&self, angle: f64) -> Option<f64> {
        let side = self.side()?;
        let leans = side * angle + self.end_offset.atan2(self.slave_arm);
        finite(-side * self.way() * leans)
    }

    /// How much higher the pivot must be, mm, for the fork to be square halfway between two places of its tips, mm.
    pub fn shim(&self, from: f64, to: f64) -> f64 {
        0.5 * (from + to) - self.tip_offset - self.pivot_height
    }

    /// This fork on a pivot raised by `shim`, mm.
    pub fn on_shim(&self, shim: f64) -> Self {
        Self {
            pivot_height: self.pivot_height + shim,
            ..*self
        }
    }

    /// The bend that changes this fork's ratio. `None` for a straight fork, or where the bend depends on the pivot's
    /// place and that is not known.
    pub fn bend(&self) -> Option<Bend> {
        let side = match self.side() {
            Some(side) => side,
            None if self.end_offset == 0.0 => 0.0,
            None => return None,
        };
        let is_straight = self.tip_offset == 0.0 && self.end_offset == 0.0;
        (!is_straight).then_some(Bend {
            bearing_arm: self.bearing_arm,
            tip_offset: self.way() * self.tip_offset,
            end_offset: side * self.way() * self.end_offset,
            tips: self.way() * (self.tips - self.pivot_height),
        })
    }

    /// Whether the outer end moves forward as the clutch releases; `None` where the pivot's place is not known.
    pub fn is_forward_in_release(&self) -> Option<bool> {
        Some(self.side()? * self.way() > 0.0)
    }

    /// The direction of the outer end as the tips go forward: 1 with them, −1 against them.
    fn side(&self) -> Option<f64> {
        Some(if self.outboard? { 1.0 } else { -1.0 })
    }
}

#[cfg(test)]
mod tests {
    use super::{ForkStack, finger_position};

    fn worked() -> ForkStack {
        let fingers = finger_position(165.0 + 6.0, 83.0);
        assert_eq!(fingers, 88.0);
        ForkStack {
            tips: ForkStack::tips_at_rest(fingers, 38.0, 0.0, false),
            pivot_height: 42.0,
            bearing_arm: 68.0,
            slave_arm: 112.0,
            tip_offset: 0.0,
            end_offset: 0.0,
            outboard: Some(false),
            pulls: false,
        }
    }

    #[track_caller]
    fn close(value: Option<f64>, expected: f64) {
        let value = value.expect("there");
        assert!((value - expected).abs() < 5.1e-4, "{value}, not {expected}");
    }

    /// The worked example: at rest, with 1.6 mm of wear at a finger ratio of 3.4, and after another 9 mm.
    #[test]
    fn the_stack_gives_the_worked_places() {
        let fork = worked();
        let worn = -1.6 * 3.4;
        let tips = [0.0, worn, 9.0].map(|travel| fork.tips_at(travel));
        assert_eq!(tips, [50.0, 44.56, 59.0]);
        for (tips, degrees, end) in [
            (tips[0], 6.756, 28.824),
            (tips[1], 2.158, 37.784),
            (tips[2], 14.478, 14.000),
        ] {
            let angle = fork.angle(tips);
            close(angle.map(f64::to_degrees), degrees);
            close(fork.end(angle.unwrap()), end);
        }
        let shim = fork.shim(tips[1], tips[2]);
        close(Some(shim), 9.780);
        let shimmed = fork.on_shim(shim);
        for (tips, degrees, end) in [
            (tips[0], -1.500, 54.71),
            (tips[1], -6.095, 63.67),
            (tips[2], 6.095, 39.89),
        ] {
            let angle = shimmed.angle(tips);
            close(angle.map(f64::to_degrees), degrees);
            let end = (shimmed.end(angle.unwrap()).unwrap() - end).abs();
            assert!(end < 5.1e-3, "{end}");
        }
        assert_eq!(fork.bend(), None);
        assert_eq!(fork.angle(200.0), None);
    }

    /// A fork that pulls with its pivot at the end is the mirror image of one that pushes.
    #[test]
    fn pulling_mirrors_pushing() {
        let push = ForkStack {
            tip_offset: 6.0,
            end_offset: -9.0,
            ..worked()
        };
        let pull = ForkStack {
            tips: -push.tips,
            pivot_height: -push.pivot_height,
            tip_offset: -6.0,
            end_offset: 9.0,
            pulls: true,
            ..push
        };
        assert_eq!(push.bend(), pull.bend());
        let (a, b) = (
            push.angle(push.tips_at(5.0)).unwrap(),
            pull.angle(pull.tips_at(5.0)).unwrap(),
        );
        assert_eq!(a, -b);
        assert_eq!(push.end(a), pull.end(b).map(|end| -end));
        assert_eq!(push.to_square(a), pull.to_square(b));
    }
}
