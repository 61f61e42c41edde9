//! What lies between the pedal's rod and the fork.

use super::efficiency::Stroke;
use super::hydraulics::{Circuit, Hydraulics};

/// What drives the fork.
#[derive(Clone, Debug, PartialEq)]
pub enum Actuation {
    /// Master and slave cylinder.
    Hydraulic(Hydraulics),
}

/// Volumes, mm³, that the master displaces and the slave never sees.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Lost {
    /// Into the widening of hoses and tubes.
    pub lines: f64,
    /// Into the compression of the fluid.
    pub fluid: f64,
    /// Into the compression of trapped air.
    pub air: f64,
}

impl Lost {
    /// All three together, mm³.
    pub fn total(&self) -> f64 {
        self.lines + self.fluid + self.air
    }
}

/// State of the actuation's input side for a given travel and force at its output.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Drive {
    /// Gauge pressure, MPa.
    pub(super) pressure: f64,
    pub(super) lost: Lost,
    /// Input travel that displaces something, mm.
    pub(super) active_travel: f64,
    /// Input travel relative to the support, mm.
    pub(super) input_travel: f64,
    /// Force at the input, N.
    pub(super) input_force: f64,
    /// Travel by which the support gives way, mm.
    pub(super) support_flex: f64,
}

impl Drive {
    /// Travel of the pedal's rod beyond its clearance, mm.
    pub(super) fn rod_travel(&self) -> f64 {
        self.input_travel + self.support_flex
    }
}

/// An actuation with its constants worked out.
#[derive(Clone, Copy, Debug)]
pub(super) enum Mechanism {
    Hydraulic(Circuit),
}

impl Actuation {
    /// `None` if a number has no meaning.
    pub(super) fn mechanism(&self) -> Option<Mechanism> {
        match self {
            Self::Hydraulic(hydraulics) => hydraulics.circuit().map(Mechanism::Hydraulic),
        }
    }
}

impl Mechanism {
    /// Input travel per output travel, and output force per input force, without losses.
    pub(super) fn ratio(&self) -> f64 {
        match self {
            Self::Hydraulic(circuit) => circuit.ratio,
        }
    }

    /// Gap at the pedal's rod before the input is met, mm.
    pub(super) fn clearance(&self) -> f64 {
        match self {
            Self::Hydraulic(circuit) => circuit.rod_clearance,
        }
    }

    /// Most input travel, mm.
    pub(super) fn input_stroke(&self) -> f64 {
        match self {
            Self::Hydraulic(circuit) => circuit.stroke,
        }
    }

    /// Input side for an output that has moved by `travel`, mm, against `force`, N.
    pub(super) fn drive(&self, travel: f64, force: f64, stroke: Stroke) -> Drive {
        match self {
            Self::Hydraulic(circuit) => circuit.drive(travel, force, stroke),
        }
    }

    /// Input side before the output moves, for a rod travel `past` the clearance, mm.
    pub(super) fn idle(&self, past: f64) -> Drive {
        match self {
            Self::Hydraulic(circuit) => circuit.idle(past),
        }
    }

    /// Rod travel past the clearance, mm, at which the support has taken up the return spring.
    pub(super) fn take_up(&self) -> f64 {
        match self {
            Self::Hydraulic(circuit) => circuit.take_up(),
        }
    }

    /// Rod travel past the clearance, mm, at which the output begins to move.
    pub(super) fn idle_travel(&self) -> f64 {
        match self {
            Self::Hydraulic(circuit) => circuit.idle_travel(),
        }
    }

    /// Output force, N, up to which the input feels nothing of it.
    pub(super) fn carried_force(&self, stroke: Stroke) -> f64 {
        match self {
            Self::Hydraulic(circuit) => circuit.carried_force.on(stroke),
        }
    }

    /// Work at the rod, N·mm, that did not go into moving the output.
    pub(super) fn absorbed_work(&self, drive: &Drive) -> f64 {
        match self {
            Self::Hydraulic(circuit) => circuit.absorbed_work(drive),
        }
    }
}
