//! What ends the pedal's travel.

use super::actuation::Mechanism;
use super::chain::Chain;
use super::domain::not_negative;
use super::pedal::{Pedal, PedalGeometry};

/// The cause that ends the pedal's travel.
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
    /// An arm of a relay lever or of the cross-shaft has come in line with its rod.
    RelayGeometry,
    /// The intensifier's piston is at the end of its stroke.
    IntensifierStroke,
    /// The slave's piston is at the end of its stroke.
    SlaveStroke,
    /// The fork is at the edge of its window in the housing.
    ForkWindow,
    /// The release bearing is at the end of its guide.
    BearingGuide,
}

impl EndedBy {
    /// Whether something between master and fingers has reached a hard stop, so that the foot can press against it
    /// with all its force.
    pub fn is_hard_stop(self) -> bool {
        matches!(
            self,
            Self::IntensifierStroke | Self::SlaveStroke | Self::ForkWindow | Self::BearingGuide
        )
    }
}

/// Where slave, fork and bearing are stopped, however far pedal and master would drive them. Infinite where nothing
/// stops them.
#[derive(Clone, Copy, Debug)]
pub(super) struct HardStops {
    /// Most travel of the intensifier's piston from rest, mm.
    pub(super) stepped_travel: f64,
    /// Most travel of the slave's piston from rest, mm, where a relay lever lies between it and the fork.
    pub(super) output_travel: f64,
    /// Most travel of the fork's outer end from rest, mm.
    pub(super) fork_travel: f64,
    /// What stops the fork's outer end.
    pub(super) fork_cause: EndedBy,
    /// Most travel of the bearing from rest, mm.
    pub(super) bearing_travel: f64,
}

impl HardStops {
    /// Nothing stops anything.
    pub(super) const NONE: Self = Self {
        stepped_travel: f64::INFINITY,
        output_travel: f64::INFINITY,
        fork_travel: f64::INFINITY,
        fork_cause: EndedBy::SlaveStroke,
        bearing_travel: f64::INFINITY,
    };

    /// The stops of a chain; `None` for a number without meaning.
    pub(super) fn new(chain: &Chain, mechanism: &Mechanism) -> Option<Self> {
        let or_open = |most: Option<f64>| most.map_or(Some(f64::INFINITY), not_negative);
        let output = mechanism.output_stroke();
        let window = or_open(chain.fork.window)?;
        let (output_travel, slave) = match chain.relays.at_fork.is_empty() {
            true => (f64::INFINITY, output),
            false => (output, f64::INFINITY),
        };
        let piston = mechanism.circuit().and_then(|c| c.stepped.piston);
        Some(Self {
            stepped_travel: piston.map_or(f64::INFINITY, |piston| piston.stroke),
            output_travel,
            fork_travel: slave.min(window),
            fork_cause: if window < slave {
                EndedBy::ForkWindow
            } else {
                EndedBy::SlaveStroke
            },
            bearing_travel: or_open(chain.bearing.max_travel)?,
        })
    }
}

/// Where the pedal itself ends, independent of the master.
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
