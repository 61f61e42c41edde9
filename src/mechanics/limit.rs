//! What ends the pedal's travel.

use super::pedal::{Pedal, PedalGeometry};

/// What ends the pedal's travel.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum EndedBy {
    /// The pedal is on the floor.
    PedalTravel,
    /// The pedal is on its stop.
    PedalStop,
    /// The master's piston has bottomed.
    MasterStroke,
    /// The pedal's rod arm has come to dead centre.
    Geometry,
}

/// Where the pedal itself ends, whatever the master does.
#[derive(Clone, Copy, Debug)]
pub(super) struct Limit {
    pub(super) pad_travel: f64,
    pub(super) rod_travel: f64,
    pub(super) cause: EndedBy,
}

impl Limit {
    pub(super) fn new(pedal: &Pedal, geometry: &PedalGeometry) -> Option<Self> {
        let (pad_travel, cause) = match pedal.stop {
            Some(stop) if stop < pedal.travel => (stop, EndedBy::PedalStop),
            _ => (pedal.travel, EndedBy::PedalTravel),
        };
        match geometry.dead_centre() {
            Some((dead_pad, dead_rod)) if dead_pad < pad_travel => Some(Self {
                pad_travel: dead_pad,
                rod_travel: dead_rod,
                cause: EndedBy::Geometry,
            }),
            _ => Some(Self {
                pad_travel,
                rod_travel: geometry.rod_travel(pad_travel)?,
                cause,
            }),
        }
    }
}
