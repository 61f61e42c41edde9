//! Cable and linkage in one model: a ratio for travel and force, with play, friction and give at the pedal's end.

use super::domain::{compliance, not_negative, positive};
use super::drive::Drive;
use super::efficiency::{PerStroke, Stroke};
use super::relay::Relay;

/// A mechanical actuation with its constants worked out.
#[derive(Clone, Copy, Debug)]
pub(super) struct Train {
    /// Input travel per output travel; the value at rest where a lever is not square.
    pub(super) ratio: f64,
    /// The lever whose ratio changes with its travel; `None` where the ratio is constant.
    pub(super) lever: Option<Relay>,
    efficiency: f64,
    /// Input travel before anything moves, mm.
    pub(super) play: f64,
    /// Input force per output force.
    force_per_output: PerStroke,
    /// Deflection at the input per force there, mm/N.
    compliance: f64,
}

impl Train {
    /// The train with its constants; `None` if a number has no meaning.
    pub(super) fn new(
        ratio: f64,
        play: f64,
        stiffness: Option<f64>,
        efficiency: f64,
    ) -> Option<Self> {
        positive(efficiency)?;
        let ratio = positive(ratio)?;
        Some(Self {
            ratio,
            lever: None,
            efficiency,
            play: not_negative(play)?,
            force_per_output: PerStroke::new(|stroke| stroke.input_force(1.0 / ratio, efficiency))?,
            compliance: compliance(stiffness)?,
        })
    }

    /// The input when the output has moved by `travel`, mm, against `force`, N. The pedal's rod cannot be pulled: a
    /// negative force only takes up the play again and counts as zero.
    pub(super) fn drive(&self, travel: f64, force: f64, stroke: Stroke) -> Drive {
        let (active_travel, input_force) = match &self.lever {
            None => (
                self.ratio * travel,
                force * self.force_per_output.on(stroke),
            ),
            Some(lever) => {
                let at = lever.at_output(travel);
                let input_force = stroke.input_force(force / at.ratio, self.efficiency);
                (at.travel, input_force)
            }
        };
        let input_force = input_force.max(0.0);
        Drive {
            active_travel,
            input_travel: self.play + active_travel,
            input_force,
            give: input_force * self.compliance,
            ..Drive::default()
        }
    }

    /// The input with the rod `past` its clearance, mm, before the play is taken up.
    pub(super) fn idle(past: f64) -> Drive {
        Drive {
            input_travel: past.max(0.0),
            ..Drive::default()
        }
    }

    /// An upper bound, mm, on the input travel given back while the output force falls, N.
    pub(super) fn most_given_back(&self, from: f64, to: f64) -> f64 {
        (from - to) * self.force_per_output.on(Stroke::Press) * self.compliance
    }

    /// Work at the rod, N·mm, stored in the deflection.
    pub(super) fn absorbed_work(drive: &Drive) -> f64 {
        0.5 * drive.input_force * drive.give
    }
}
