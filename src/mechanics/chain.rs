//! The chain from pad to pressure plate.

use super::actuation::Actuation;
use super::cover::Cover;
use super::fork::Fork;
use super::hydraulics::Hydraulics;
use super::pedal::Pedal;
use super::relay::Relays;

/// Release bearing.
#[derive(Clone, Debug, PartialEq)]
pub struct Bearing {
    /// Gap from the bearing to the diaphragm's fingers at rest, mm.
    pub free_play: f64,
    /// How far the bearing can slide from rest along its guide, mm; `None` where nothing limits it.
    pub max_travel: Option<f64>,
}

/// A clutch's actuation from pad to cover.
#[derive(Clone, Debug, PartialEq)]
pub struct Chain {
    /// Pedal.
    pub pedal: Pedal,
    /// What connects the pedal's rod to the fork.
    pub actuation: Actuation,
    /// Relay levers before and after the actuation.
    pub relays: Relays,
    /// Travel of an adjuster at the fork's outer end, mm, for the disc's wear; `None` where there is none.
    pub adjust_range: Option<f64>,
    /// Release fork.
    pub fork: Fork,
    /// Release bearing.
    pub bearing: Bearing,
    /// Clutch cover.
    pub cover: Cover,
}

impl Chain {
    /// Load on the bearing at rest, N, if it rides on the fingers: `(preload·r + adjuster − return_force)·R_f`, not
    /// below zero. `r` is the ratio at rest of the relay levers at the fork, `R_f` that of the fork's arms. The
    /// slave's preload, or an adjuster that pulls at the fork's end with `adjuster`, N, holds the bearing against the
    /// fork's return spring. It rides only if it has no free play. Friction is left out, as it holds either way.
    ///
    /// Source: law of the lever.
    pub fn riding_load(&self, adjuster: f64) -> f64 {
        let preload = self
            .actuation
            .hydraulics()
            .map_or(0.0, |hydraulics| hydraulics.slave.preload);
        let at_fork = preload * self.relays.at_fork_ratio_at_rest() + adjuster;
        (at_fork - self.fork.return_force).max(0.0) * self.fork.ratio
    }

    /// Changes the hydraulic actuation; does nothing for a cable or a linkage.
    pub fn change_hydraulics(&mut self, change: impl FnOnce(&mut Hydraulics)) {
        if let Some(hydraulics) = self.actuation.hydraulics_mut() {
            change(hydraulics);
        }
    }
}
