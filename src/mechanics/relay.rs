//! Relay levers: cross-shafts and bell cranks between the pedal's rod and the fork, square to their rods or not. A
//! cable may take the place of one.

use std::f64::consts::FRAC_PI_2;

use super::domain::{compliance, finite, not_negative, positive};
use super::efficiency::Stroke;
use super::numeric::root;

/// A bell crank or a cross-shaft: an input arm and an output arm on one shaft.
///
/// Its rods are assumed to be long compared with the sideways swing of its pins, so that only a pin's travel along
/// its rod counts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Relay {
    /// Distance from the shaft square to the input rod at rest, mm. The pin's radius is this over the cosine of
    /// `in_angle`.
    pub in_arm: f64,
    /// Distance from the shaft square to the output rod at rest, mm. The pin's radius is this over the cosine of
    /// `out_angle`.
    pub out_arm: f64,
    /// How far the in arm has to turn from rest until it is square to its rod, rad; below zero when it is already
    /// past.
    pub in_angle: f64,
    /// How far the out arm has to turn from rest until it is square to its rod, rad; below zero when it is already
    /// past.
    pub out_angle: f64,
    /// Slack of its pins and its shaft, at its input, mm.
    pub play: f64,
    /// Force at its input per travel there with the output held, N/mm; `None` for rigid.
    pub stiffness: Option<f64>,
    /// Work at the output over work at the input, on the press.
    pub efficiency: f64,
}

/// Relay levers on both sides of the cylinders, cable or linkage, each in the order from the pedal to the fork.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Relays {
    /// Between the pedal's rod and the master, the cable or the linkage.
    pub at_pedal: Vec<Relay>,
    /// Between the slave, the cable or the linkage and the fork.
    pub at_fork: Vec<Relay>,
}

/// How far a lever has turned, and its input has moved, for a travel of its output.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RelayPosition {
    /// Travel at its input from rest, mm, without play and give.
    pub travel: f64,
    /// Input travel per output travel at this place, and output force per input force without friction.
    pub ratio: f64,
    /// How far the lever has turned from rest, rad.
    pub angle: f64,
}

/// Arms of a lever that does not turn, mm.
const STRAIGHT: f64 = 1e9;

impl Relay {
    /// A cable in place of a lever: it passes on travel unchanged, and a share of the force.
    pub(super) fn straight(play: f64, stiffness: Option<f64>, efficiency: f64) -> Self {
        Self {
            in_arm: STRAIGHT,
            out_arm: STRAIGHT,
            in_angle: 0.0,
            out_angle: 0.0,
            play,
            stiffness,
            efficiency,
        }
    }

    /// Whether it is a cable, which has no arms.
    pub fn is_cable(&self) -> bool {
        self.in_arm == STRAIGHT && self.out_arm == STRAIGHT
    }

    /// `Some` if every number has a meaning.
    pub(super) fn check(&self) -> Option<()> {
        positive(self.in_arm)?;
        positive(self.out_arm)?;
        for angle in [self.in_angle, self.out_angle] {
            (angle.abs() < FRAC_PI_2).then_some(())?;
        }
        not_negative(self.play)?;
        compliance(self.stiffness)?;
        positive(self.efficiency)?;
        Some(())
    }

    /// Input travel per output travel at rest: by the law of the lever, in arm over out arm.
    pub fn ratio_at_rest(&self) -> f64 {
        self.in_arm / self.out_arm
    }

    /// The lever's position when its output has moved by `travel`, mm, from rest; below zero it has moved against the
    /// press. At and past dead centre of its out arm, it stays at dead centre.
    ///
    /// `r = arm/cos φ`, where φ is the angle left until square. The lever has turned by
    /// `θ = asin(x_o/r_o − sin φ_o) + φ_o`, and its input has moved by `x_i = r_i·(sin(θ − φ_i) + sin φ_i)`. The
    /// ratio is `r_i·cos(θ − φ_i)/(r_o·cos(θ − φ_o))`.
    ///
    /// Source: planar kinematics of a lever.
    pub fn at_output(&self, travel: f64) -> RelayPosition {
        if self.is_cable() {
            return RelayPosition {
                travel,
                ratio: 1.0,
                angle: 0.0,
            };
        }
        let (in_radius, out_radius) = (
            self.in_arm / self.in_angle.cos(),
            self.out_arm / self.out_angle.cos(),
        );
        let sine = (travel / out_radius - self.out_angle.sin()).clamp(-1.0, 1.0);
        let from_square = sine.asin();
        let angle = from_square + self.out_angle;
        let at_input = angle - self.in_angle;
        RelayPosition {
            travel: in_radius * (at_input.sin() + self.in_angle.sin()),
            ratio: in_radius * at_input.cos() / (out_radius * from_square.cos()),
            angle,
        }
    }

    /// The lever driven from its other end.
    pub fn reversed(&self) -> Self {
        Self {
            in_arm: self.out_arm,
            out_arm: self.in_arm,
            in_angle: self.out_angle,
            out_angle: self.in_angle,
            ..*self
        }
    }

    /// Output travel, mm, at which one of its arms is in line with its rod.
    pub fn dead_centre(&self) -> f64 {
        let angle = FRAC_PI_2 + self.in_angle.min(self.out_angle);
        self.out_arm / self.out_angle.cos()
            * ((angle - self.out_angle).sin() + self.out_angle.sin())
    }

    /// The lever at another rest, with its output pushed back by `by`, mm, and how far that moves its input back, mm.
    /// `None` where an arm comes in line with its rod.
    pub(super) fn set_back(&self, by: f64) -> Option<(Self, f64)> {
        if self.is_cable() {
            return Some((*self, by));
        }
        let at = self.at_output(-by);
        let at_rest = |arm: f64, angle: f64| {
            let left = angle - at.angle;
            (left.abs() < FRAC_PI_2).then(|| (arm / angle.cos() * left.cos(), left))
        };
        let (in_arm, in_angle) = at_rest(self.in_arm, self.in_angle)?;
        let (out_arm, out_angle) = at_rest(self.out_arm, self.out_angle)?;
        let there = Self {
            in_arm,
            out_arm,
            in_angle,
            out_angle,
            ..*self
        };
        Some((there, -at.travel))
    }
}

/// The state at the input end of some levers.
#[derive(Clone, Copy, Debug)]
pub(super) struct Through {
    /// Travel at the input, mm, play and give included.
    pub(super) travel: f64,
    /// Force at the input, N.
    pub(super) force: f64,
    /// Input travel per output travel there, without play and give.
    pub(super) ratio: f64,
    /// Share of a force that friction leaves on the press.
    pub(super) efficiency: f64,
    /// Deflection of the levers, as travel at their output end, mm.
    pub(super) give: f64,
    /// How far one of them is past its dead centre, as travel of its output, mm; below zero if all are before it.
    pub(super) past_dead_centre: f64,
}

/// The input of `relays`, in their order from the pedal, when the output has moved by `travel`, mm, against `force`,
/// N. A rod cannot be pulled: a negative force only takes up play again and counts as zero.
pub(super) fn through(relays: &[Relay], travel: f64, force: f64, stroke: Stroke) -> Through {
    let mut at = Through {
        travel,
        force,
        ratio: 1.0,
        efficiency: 1.0,
        give: 0.0,
        past_dead_centre: f64::NEG_INFINITY,
    };
    for relay in relays.iter().rev() {
        let past = at.travel - relay.dead_centre();
        let position = relay.at_output(at.travel);
        let force = stroke.input_force(at.force / position.ratio, relay.efficiency);
        let force = force.max(0.0);
        let give = relay.stiffness.map_or(0.0, |stiffness| force / stiffness);
        let ratio = at.ratio * position.ratio;
        at = Through {
            travel: relay.play + position.travel + give,
            force,
            ratio,
            efficiency: at.efficiency * relay.efficiency,
            give: at.give + give / ratio,
            past_dead_centre: at.past_dead_centre.max(past),
        };
    }
    at
}

/// Travel at the output of `relays`, mm, for a travel at their input, mm, while `force`, N, acts at their output on
/// the press. Zero within their play. `None` past dead centre.
pub(super) fn output_travel(relays: &[Relay], input: f64, force: f64) -> Option<f64> {
    if relays.is_empty() {
        return Some(input);
    }
    let over = |travel: f64| {
        let at = through(relays, travel, force, Stroke::Press);
        if at.past_dead_centre > 0.0 {
            f64::MAX
        } else {
            (at.travel - input).min(f64::MAX)
        }
    };
    let none = over(0.0);
    if none >= 0.0 {
        return Some(0.0);
    }
    let mut high = 1.0;
    while over(high) < 0.0 {
        high = finite(2.0 * high)?;
    }
    let found = root(over, (0.0, none), (high, over(high)), f64::EPSILON * high);
    let at = through(relays, found, force, Stroke::Press);
    ((at.travel - input).abs() <= 1e-6 * input.max(1.0)).then_some(found)
}

impl Relays {
    /// Whether there are no levers.
    pub fn is_empty(&self) -> bool {
        self.at_pedal.is_empty() && self.at_fork.is_empty()
    }

    /// All levers, from the pedal to the fork.
    pub fn iter(&self) -> impl Iterator<Item = &Relay> {
        self.at_pedal.iter().chain(&self.at_fork)
    }

    /// Input travel per output travel of all levers at rest.
    pub fn ratio_at_rest(&self) -> f64 {
        self.iter().map(Relay::ratio_at_rest).product()
    }

    /// Input travel per output travel of the levers at the fork, at rest.
    pub fn at_fork_ratio_at_rest(&self) -> f64 {
        self.at_fork.iter().map(Relay::ratio_at_rest).product()
    }

    /// The levers at the fork with their output end pushed back by `by`, mm, and how far that moves the slave's end
    /// back, mm. `None` where one comes in line with its rod.
    pub(super) fn fork_set_back(&self, by: f64) -> Option<(Vec<Relay>, f64)> {
        let mut back = by;
        let mut relays = self.at_fork.clone();
        for relay in relays.iter_mut().rev() {
            (*relay, back) = relay.set_back(back)?;
        }
        Some((relays, back))
    }

    /// How far the fork's end comes back, mm, when the slave's end comes back by `by`, mm; as far as the levers go
    /// where one comes in line with its rod.
    pub(super) fn fork_back(&self, by: f64) -> f64 {
        self.at_fork
            .iter()
            .fold(by, |back, relay| -relay.reversed().at_output(-back).travel)
    }
}

#[cfg(test)]
mod tests {
    use super::{Relay, output_travel, through};
    use crate::mechanics::Stroke;

    /// The lever of the worked example in the design.
    fn bent() -> Relay {
        Relay {
            in_arm: 60.0,
            out_arm: 60.0,
            in_angle: 20_f64.to_radians(),
            out_angle: (-15_f64).to_radians(),
            play: 0.0,
            stiffness: None,
            efficiency: 0.95,
        }
    }

    #[test]
    fn the_worked_lever_to_its_digits() {
        let relay = bent();
        assert!((relay.at_output(7.5).travel - 7.8079).abs() < 0.5e-4);
        let there = relay.at_output(15.0);
        assert!((there.angle.to_degrees() - 15.020).abs() < 0.5e-3);
        // 16.2955 would follow from the angle rounded to 15.020 deg.
        assert!((there.travel - 16.2953).abs() < 0.5e-4);
        assert!((there.ratio - 1.1827).abs() < 0.5e-4);
        assert!((relay.at_output(0.0).ratio - 1.0).abs() < 1e-12);
        let force = through(&[relay], 15.0, 500.0, Stroke::Press).force;
        assert!((force - 445.0).abs() < 0.05, "{force}");
        // A constant ratio would say 526.3 N.
        assert!((500.0 / 0.95 - 526.3_f64).abs() < 0.05);
    }

    #[test]
    fn a_lever_and_its_reverse_cancel() {
        for travel in [-12.0, -3.0, 0.0, 4.0, 19.0] {
            let there = bent().at_output(travel);
            let back = bent().reversed().at_output(there.travel);
            assert!((back.travel - travel).abs() < 1e-12);
            assert!((back.ratio * there.ratio - 1.0).abs() < 1e-12);
        }
    }

    #[test]
    fn a_lever_set_back_is_the_same_lever() {
        let (back, input) = bent().set_back(5.0).expect("within reach");
        for travel in [0.0, 5.0, 20.0] {
            let (old, new) = (bent().at_output(travel - 5.0), back.at_output(travel));
            assert!((old.travel + input - new.travel).abs() < 1e-12);
            assert!((old.ratio - new.ratio).abs() < 1e-12);
        }
    }

    #[test]
    fn the_output_for_an_input_is_found_again() {
        let soft = Relay {
            play: 1.5,
            stiffness: Some(400.0),
            ..bent()
        };
        let relays = [soft, bent()];
        for travel in [0.5, 6.0, 17.0] {
            let input = through(&relays, travel, 300.0, Stroke::Press).travel;
            let found = output_travel(&relays, input, 300.0).expect("within reach");
            assert!((found - travel).abs() < 1e-9, "{found} for {travel}");
        }
        assert_eq!(output_travel(&relays, 0.7, 0.0), Some(0.0));
        assert_eq!(output_travel(&relays, 500.0, 0.0), None);
    }
}
