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
    /// How far the bearing can slide from rest along its guide, mm; `None` where nothing ends it.
    pub max_travel: Option<f64>,
}

/// A clutch's actuation from pad to cover.
#[derive(Clone, Debug, PartialEq)]
pub struct Chain {
    /// Pedal.
    pub pedal: Pedal,
    /// What lies between the pedal's rod and the fork.
    pub actuation: Actuation,
    /// Relay levers before and behind the actuation.
    pub relays: Relays,
    /// Travel of an adjuster at the fork's outer end, mm, with which the disc's wear is taken up; `None` where there is
    /// none.
    pub adjust_range: Option<f64>,
    /// Release fork.
    pub fork: Fork,
    /// Release bearing.
    pub bearing: Bearing,
    /// Clutch cover.
    pub cover: Cover,
}

impl Chain {
    /// Changes the hydraulic actuation; nothing for a cable or a linkage.
    pub fn change_hydraulics(&mut self, change: impl FnOnce(&mut Hydraulics)) {
        if let Some(hydraulics) = self.actuation.hydraulics_mut() {
            change(hydraulics);
        }
    }
}
