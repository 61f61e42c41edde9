//! An over-center spring at the pedal, by where it is hooked in.

use super::domain::{finite, positive};
use super::interpolation::Curve;

/// A coil spring between an anchor on the pedal's bracket and a hook on the pedal, which passes the pivot's line as the
/// pedal goes down.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AssistSpring {
    /// Force per length, N/mm.
    pub rate: f64,
    /// Length at which it just begins to pull, mm.
    pub free_length: f64,
    /// Pivot to anchor, mm.
    pub anchor: f64,
    /// Pivot to hook, mm.
    pub hook: f64,
    /// How far the hook has yet to turn at rest until anchor, pivot and hook are in line, the pivot between, rad; below
    /// zero where it is past.
    pub angle: f64,
}

/// How many knots a spring's help is given by. Between them it is straight, off by 2e-5 N at the most for springs that
/// are met.
const KNOTS: u32 = 640;

impl AssistSpring {
    /// Help at the pad, N, at a pad travel, mm: with `γ = angle − travel/pad_arm` and the spring's length
    /// `L = √(a² + r² + 2·a·r·cos γ)`, the help is `−k·(L − L₀)·a·r·sin γ/(L·pad_arm)`. A spring that is shorter than its
    /// free length hangs slack.
    ///
    /// Source: law of the spring and of the lever, planar kinematics.
    pub fn help(&self, pad_arm: f64, travel: f64) -> f64 {
        let (a, r) = (self.anchor, self.hook);
        let angle = self.angle - travel / pad_arm;
        let length = (a * a + r * r + 2.0 * a * r * angle.cos()).max(0.0).sqrt();
        let pull = self.rate * (length - self.free_length).max(0.0);
        if pull == 0.0 {
            return 0.0;
        }
        -pull * a * r * angle.sin() / (length * pad_arm)
    }

    /// The help over the pad's travel, with a knot where the spring goes slack; past the travel, for pedals that are
    /// let go further. `None` if a number has no meaning.
    pub fn curve(&self, pad_arm: f64, travel: f64) -> Option<Curve> {
        const PAST: f64 = 1.2;
        let (a, r) = (positive(self.anchor)?, positive(self.hook)?);
        positive(self.rate)?;
        positive(self.free_length)?;
        positive(pad_arm)?;
        let most = positive(PAST * travel)?;
        let mut knots: Vec<f64> = (0..=KNOTS)
            .map(|i| most * f64::from(i) / f64::from(KNOTS))
            .collect();
        let slack = ((self.free_length.powi(2) - a * a - r * r) / (2.0 * a * r)).acos();
        let turns_slack = [slack, -slack].map(|angle| (self.angle - angle) * pad_arm);
        knots.extend(turns_slack.iter().filter(|at| (0.0..most).contains(*at)));
        knots.sort_by(f64::total_cmp);
        knots.dedup_by(|later, earlier| *later - *earlier < 1e-6);
        let points = knots.into_iter().map(|at| (at, self.help(pad_arm, at)));
        finite(self.angle)?;
        Curve::new(points.collect())
    }
}

#[cfg(test)]
mod tests {
    use super::AssistSpring;

    /// The design's worked numbers: −5.86 N at rest, 4.65 at 75 mm, 14.19 at 150 mm.
    #[test]
    fn a_spring_turns_over() {
        let spring = AssistSpring {
            rate: 20.0,
            free_length: 85.0,
            anchor: 70.0,
            hook: 40.0,
            angle: 8.0_f64.to_radians(),
        };
        let curve = spring.curve(300.0, 150.0).expect("sound");
        for (travel, help) in [(0.0, -5.86), (75.0, 4.65), (150.0, 14.19)] {
            assert!(
                (spring.help(300.0, travel) - help).abs() < 0.005,
                "{travel}"
            );
            assert!((curve.value(travel) - help).abs() < 0.005, "{travel}");
        }
        for i in 0..1500 {
            let at = 0.1 * f64::from(i);
            assert!(
                (curve.value(at) - spring.help(300.0, at)).abs() < 2e-5,
                "{at}"
            );
        }
    }
}
