//! The release fork.

use super::domain::{compliance, positive};
use super::efficiency::{PerStroke, Stroke};

/// A release fork, a lever between the slave's rod (or the cable) and the release bearing.
#[derive(Clone, Debug, PartialEq)]
pub struct Fork {
    /// Travel at the outer end over travel at the bearing; above zero.
    pub ratio: f64,
    /// Work at the bearing over work at the outer end, on the press.
    pub efficiency: f64,
    /// Force per deflection at the outer end, N/mm; `None` for rigid.
    pub stiffness: Option<f64>,
    /// How far the outer end can travel from rest before the fork strikes the housing, mm; `None` where nothing
    /// ends it.
    pub window: Option<f64>,
}

impl Fork {
    /// No fork: a concentric slave, which pushes the bearing itself.
    pub fn none() -> Self {
        Self {
            ratio: 1.0,
            efficiency: 1.0,
            stiffness: None,
            window: None,
        }
    }

    /// Force at the outer end, N, for a load at the bearing, N.
    ///
    /// Source: law of the lever; OpenStax College Physics 2e s 9.5.
    pub fn outer_force(&self, bearing_load: f64, stroke: Stroke) -> f64 {
        stroke.input_force(bearing_load / self.ratio, self.efficiency)
    }

    /// The fork with its constants worked out; `None` if its numbers have no meaning.
    pub(super) fn lever(&self) -> Option<Lever> {
        positive(self.efficiency)?;
        Some(Lever {
            ratio: positive(self.ratio)?,
            force_per_load: PerStroke::new(|stroke| self.outer_force(1.0, stroke))?,
            compliance: compliance(self.stiffness)?,
        })
    }
}

/// A fork with its constants worked out.
#[derive(Clone, Copy, Debug)]
pub(super) struct Lever {
    pub(super) ratio: f64,
    /// Force at the outer end per load at the bearing.
    pub(super) force_per_load: PerStroke,
    /// Deflection at the outer end per force there, mm/N.
    pub(super) compliance: f64,
}
