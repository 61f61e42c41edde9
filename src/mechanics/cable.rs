//! A cable in a sheath.

use super::domain::not_negative;
use super::relay::Relay;
use super::train::Train;

/// A cable that drives the fork.
#[derive(Clone, Debug, PartialEq)]
pub struct Cable {
    /// The angles of all bends of the sheath added up, whatever their directions, rad.
    pub bends: f64,
    /// Coefficient of friction between cable and liner.
    pub friction: f64,
    /// Tension at the pedal's end per travel of that end with the fork's end held, N/mm; `None` for rigid.
    pub stiffness: Option<f64>,
    /// Slack at the pedal's end before the cable pulls, mm.
    pub play: f64,
}

impl Cable {
    /// Tension at the fork over tension at the pedal, on the press: `exp(−μ·θ)`, with the bends θ, rad, and the
    /// coefficient of friction μ.
    ///
    /// Source: Euler–Eytelwein, `T_load = T_hold·exp(μ·θ)`. The pedal's end pulls on the press, the fork's end on the
    /// return. Holds for a cable without bending stiffness, whatever the radii.
    pub fn efficiency(&self) -> f64 {
        (-self.friction * self.bends).exp()
    }

    /// The cable in place of a relay lever: its ratio is 1, and [`Cable::efficiency`] of the pull remains.
    pub fn as_relay(&self) -> Relay {
        Relay::straight(self.play, self.stiffness, self.efficiency())
    }

    /// The cable with its constants worked out; `None` if a number has no meaning.
    pub(super) fn train(&self) -> Option<Train> {
        not_negative(self.bends)?;
        not_negative(self.friction)?;
        Train::new(1.0, self.play, self.stiffness, self.efficiency())
    }
}
