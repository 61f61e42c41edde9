//! Assistance at the pad: a measured curve, or an over-center spring given by its hooks.

use std::cmp::Ordering;
use std::f64::consts::{PI, TAU};

use super::domain::{finite, positive};
use super::interpolation::Curve;
use super::numeric::root;

/// Help at the pad over the pad's travel.
#[derive(Clone, Debug, PartialEq)]
pub enum Assist {
    /// Measured: pad travel, mm, to force, N.
    Curve(Curve),
    /// An over-center spring, given by the places of its hooks.
    Spring(OverCenter),
}

/// A coil spring between an anchor on the pedal's bracket and a hook on the pedal. As the pedal goes down, the hook
/// passes the line from the anchor through the pivot.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AssistSpring {
    /// Force per length, N/mm.
    pub rate: f64,
    /// Length, mm, above which the spring pulls.
    pub free_length: f64,
    /// Pivot to anchor, mm.
    pub anchor: f64,
    /// Pivot to hook, mm.
    pub hook: f64,
    /// How far the hook has to turn from rest, rad, until anchor, pivot and hook are in line, with the pivot between
    /// them. Below zero when it is past that line.
    pub angle: f64,
}

/// An [`AssistSpring`] on a pedal, with its constants worked out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OverCenter {
    spring: AssistSpring,
    /// Pivot to pad, mm.
    pad_arm: f64,
    /// Where the spring turns the pedal most: the hook's angle from the line, rad, and the help at the pad there, N.
    /// `None` for a spring that is never taut.
    peak: Option<(f64, f64)>,
    /// The hook's angle from the line, rad, at which the spring goes slack; `None` if it never does.
    slack: Option<f64>,
}

impl From<Curve> for Assist {
    fn from(curve: Curve) -> Self {
        Self::Curve(curve)
    }
}

impl Assist {
    /// Help at the pad, N, at a pad travel, mm.
    pub fn value(&self, travel: f64) -> f64 {
        match self {
            Self::Curve(curve) => curve.value(travel),
            Self::Spring(spring) => spring.help(travel),
        }
    }

    /// The least and the most help, N, from one pad travel to another, mm.
    pub fn range(&self, from: f64, to: f64) -> (f64, f64) {
        match self {
            Self::Curve(curve) => curve.range(from, to),
            Self::Spring(spring) => spring.range(from, to),
        }
    }

    /// Work that the help does at the pad from one pad travel to another, N·mm; exact.
    pub fn integral(&self, from: f64, to: f64) -> f64 {
        match self {
            Self::Curve(curve) => curve.integral(from, to),
            Self::Spring(spring) => spring.work(from, to),
        }
    }

    /// The next pad travel beyond `travel`, mm, at which the help has a corner or changes between rising and falling.
    /// `None` if there is none ahead.
    pub(super) fn turn_after(&self, travel: f64) -> Option<f64> {
        match self {
            Self::Curve(curve) => {
                let knots = curve.knots();
                let next = knots.partition_point(|(knot, _)| *knot <= travel);
                knots.get(next).map(|(knot, _)| *knot)
            }
            Self::Spring(spring) => spring.turn_after(travel),
        }
    }
}

impl AssistSpring {
    /// This spring on a pedal whose pad is `pad_arm`, mm, from the pivot; `None` if a number has no meaning.
    pub fn on_pedal(self, pad_arm: f64) -> Option<OverCenter> {
        positive(self.rate)?;
        positive(self.free_length)?;
        positive(self.anchor)?;
        positive(self.hook)?;
        finite(self.angle)?;
        positive(pad_arm)?;
        positive(self.anchor + self.hook)?;
        let mut on_pedal = OverCenter {
            spring: self,
            pad_arm,
            peak: None,
            slack: self.angle_at(self.free_length),
        };
        let most = self.angle_of_most_help();
        on_pedal.peak = most.map(|angle| (angle, on_pedal.help_at(-angle)));
        Some(on_pedal)
    }

    /// The hook's angle from the line, rad, 0 to π, at which the spring has a length, mm.
    fn angle_at(&self, length: f64) -> Option<f64> {
        let (a, r) = (self.anchor, self.hook);
        let cosine = ((length / a) * (length / r) - a / r - r / a) / 2.0;
        (-1.0..=1.0).contains(&cosine).then(|| cosine.acos())
    }

    fn length_at(&self, angle: f64) -> f64 {
        let (a, r) = (self.anchor, self.hook);
        (a * a + r * r + 2.0 * a * r * angle.cos()).max(0.0).sqrt()
    }

    /// By how much the spring is stretched, mm, with the hook at an angle from the line, rad. Zero for a slack
    /// spring.
    fn stretch_at(&self, angle: f64) -> f64 {
        (self.length_at(angle) - self.free_length).max(0.0)
    }

    /// The hook's angle from the line, rad, 0 to π, at which the spring turns the pedal most; `None` for a spring
    /// that is never taut.
    ///
    /// The torque is proportional to `(1 − L₀/L)·sin γ`. Its slope is zero where
    /// `2·L⁵ − L₀·L⁴ − 2·(a² + r²)·L³ + L₀·(a² − r²)² = 0`. That happens once between the line and where the spring
    /// goes slack, or else at the line on the other side.
    fn angle_of_most_help(&self) -> Option<f64> {
        // In lengths of the spring at its longest, so that no power overflows.
        let longest = self.anchor + self.hook;
        let (a, r) = (self.anchor / longest, self.hook / longest);
        let free = self.free_length / longest;
        let shortest = free.max((a - r).abs());
        if shortest >= 1.0 {
            return None;
        }
        let squares = a * a + r * r;
        let across = (a - r) * (a - r);
        let slope = |length: f64| {
            let cubic = (2.0 * length - free) * length - 2.0 * squares;
            cubic * length.powi(3) + free * across
        };
        let ends = [shortest, 1.0].map(|length| (length, slope(length)));
        let length = root(slope, ends[0], ends[1], f64::EPSILON);
        self.angle_at(length * longest)
    }
}

impl OverCenter {
    /// Help at the pad, N, at a pad travel, mm: with `γ = angle − travel/pad_arm` and the spring's length
    /// `L = √(a² + r² + 2·a·r·cos γ)`, the help is `−k·(L − L₀)·a·r·sin γ/(L·pad_arm)`. A spring that is shorter than its
    /// free length hangs slack.
    ///
    /// Source: law of the spring and of the lever, planar kinematics.
    pub fn help(&self, travel: f64) -> f64 {
        self.help_at(self.angle(travel))
    }

    /// The hook's angle from the line at a pad travel, rad; below zero past the line.
    fn angle(&self, travel: f64) -> f64 {
        self.spring.angle - travel / self.pad_arm
    }

    fn help_at(&self, angle: f64) -> f64 {
        let spring = &self.spring;
        let pull = spring.rate * spring.stretch_at(angle);
        if pull == 0.0 {
            return 0.0;
        }
        let lever = spring.anchor * spring.hook / (spring.length_at(angle) * self.pad_arm);
        -pull * lever * angle.sin()
    }

    /// The energy that the spring gives back from one pad travel to another, N·mm: the fall of its stored energy
    /// `½·k·(L − L₀)²`.
    fn work(&self, from: f64, to: f64) -> f64 {
        let [from, to] = [from, to].map(|travel| self.spring.stretch_at(self.angle(travel)));
        0.5 * self.spring.rate * (from - to) * (from + to)
    }

    /// The least and the most help, N, from one pad travel to another, mm.
    ///
    /// The help has one sign on each side of the line, and one peak there.
    fn range(&self, from: f64, to: f64) -> (f64, f64) {
        let (peak, most) = self.peak.unwrap_or((PI, 0.0));
        // A whole turn has every value. If the distance is not known, it may have.
        let turn = TAU * self.pad_arm;
        if (to - from).partial_cmp(&turn) != Some(Ordering::Less) {
            return (-most, most);
        }
        let ends = [from, to].map(|travel| self.help(travel));
        let passes = |angle: f64| self.first_at(angle, from) <= to;
        let low = if passes(peak) { -most } else { f64::INFINITY };
        let high = if passes(-peak) {
            most
        } else {
            f64::NEG_INFINITY
        };
        (
            low.min(ends[0]).min(ends[1]),
            high.max(ends[0]).max(ends[1]),
        )
    }

    /// The first pad travel, mm, at or after `travel` at which the hook is at an angle from the line, rad, whole
    /// turns included.
    fn first_at(&self, angle: f64, travel: f64) -> f64 {
        let turn = TAU * self.pad_arm;
        let there = (self.spring.angle - angle) * self.pad_arm;
        there + turn * ((travel - there) / turn).ceil()
    }

    /// The next pad travel beyond `travel`, mm, where the spring goes slack or taut, or its help is greatest; `None`
    /// past the pedal's first turn.
    fn turn_after(&self, travel: f64) -> Option<f64> {
        let turn = TAU * self.pad_arm;
        let angles = [self.peak.map(|(angle, _)| angle), self.slack];
        let both = angles
            .into_iter()
            .flatten()
            .flat_map(|angle| [angle, -angle]);
        let next = |angle: f64| {
            let at = self.first_at(angle, travel);
            if at > travel { at } else { at + turn }
        };
        both.map(next)
            .filter(|at| *at > travel && *at < turn)
            .min_by(f64::total_cmp)
    }
}

#[cfg(test)]
mod tests {
    use super::{Assist, AssistSpring};

    fn spring(anchor: f64, hook: f64, free_length: f64, degrees: f64) -> Assist {
        let spring = AssistSpring {
            rate: 20.0,
            free_length,
            anchor,
            hook,
            angle: degrees.to_radians(),
        };
        Assist::Spring(spring.on_pedal(300.0).expect("sound"))
    }

    /// The worked numbers of the design: −5.86 N at rest, 4.65 N at 75 mm, 14.19 N at 150 mm.
    #[test]
    fn a_spring_turns_over() {
        let spring = spring(70.0, 40.0, 85.0, 8.0);
        for (travel, help) in [(0.0, -5.86), (75.0, 4.65), (150.0, 14.19)] {
            assert!((spring.value(travel) - help).abs() < 0.005, "{travel}");
        }
    }

    /// Springs that go slack, one that never does, one that is never taut, and one whose hook comes to the anchor.
    fn springs() -> impl Iterator<Item = Assist> {
        let shapes = [
            (70.0, 40.0, 85.0),
            (70.0, 40.0, 20.0),
            (70.0, 40.0, 30.0),
            (70.0, 40.0, 120.0),
            (50.0, 50.0, 10.0),
            (40.0, 90.0, 125.0),
        ];
        let turned = [-170.0, -20.0, 0.0, 8.0, 60.0, 179.0];
        shapes.into_iter().flat_map(move |(anchor, hook, free)| {
            turned.map(|degrees| spring(anchor, hook, free, degrees))
        })
    }

    /// No help between two places is outside of their range, and the range is reached.
    #[test]
    fn the_range_is_reached_and_never_left() {
        for spring in springs() {
            for (from, to) in [(0.0, 150.0), (40.0, 90.0), (0.0, 1200.0), (100.0, 2500.0)] {
                let (low, high) = spring.range(from, to);
                let values = (0..=20_000)
                    .map(|i| spring.value(from + (to - from) * f64::from(i) / 20_000.0));
                let (least, most) = values.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), x| {
                    (a.min(x), b.max(x))
                });
                let off = (low - least).abs().max((high - most).abs());
                assert!(
                    off < 1e-3,
                    "{spring:?} {from} to {to}: {low} {least} {high} {most}"
                );
                assert!(low <= least + 1e-9 && most <= high + 1e-9, "{spring:?}");
            }
        }
    }

    /// Between two turns the help only rises or only falls, and has no corner.
    #[test]
    fn the_help_is_monotone_between_two_turns() {
        for spring in springs() {
            let mut from = 0.0;
            // Two peaks, and where it goes slack and taut again.
            for turns in 0.. {
                assert!(turns <= 4, "{spring:?}");
                let next = spring.turn_after(from);
                let to = next.unwrap_or(1800.0_f64.max(from));
                let values: Vec<f64> = (0..=400)
                    .map(|i| spring.value(from + (to - from) * f64::from(i) / 400.0))
                    .collect();
                let steps = values.windows(2).map(|pair| pair[1] - pair[0]);
                let rises = steps.clone().all(|step| step > -1e-9);
                let falls = steps.clone().all(|step| step < 1e-9);
                assert!(rises || falls, "{spring:?} {from} to {to}");
                if next.is_none() {
                    break;
                }
                from = to;
            }
        }
    }

    /// The work is the area under the force.
    #[test]
    fn the_work_is_the_area_under_the_help() {
        for spring in springs() {
            let step = 0.01;
            let area: f64 = (0..15_000)
                .map(|i| spring.value((f64::from(i) + 0.5) * step) * step)
                .sum();
            let work = spring.integral(0.0, 150.0);
            assert!(
                (area - work).abs() < 1e-3 * work.abs().max(1.0),
                "{area} {work}"
            );
        }
    }

    #[test]
    fn any_finite_number_is_refused_or_gives_finite_results() {
        for size in [1e-300, 1e-100, 1e100, 1e300, f64::MAX] {
            let spring = AssistSpring {
                rate: size,
                free_length: 0.8 * size,
                anchor: size,
                hook: 0.5,
                angle: 0.1,
            };
            let Some(spring) = spring.on_pedal(300.0).map(Assist::Spring) else {
                continue;
            };
            let mut at = 0.0;
            while let Some(next) = spring.turn_after(at) {
                assert!(next > at);
                at = next;
            }
            let (low, high) = spring.range(f64::NEG_INFINITY, f64::INFINITY);
            assert!(low <= high, "{size}: {low} {high}");
        }
    }
}
