//! What connects the pedal's rod to the fork: cylinders, a cable or a linkage.

use super::cable::Cable;
use super::drive::{Drive, Lost};
use super::efficiency::Stroke;
use super::hydraulics::{Circuit, Hydraulics};
use super::linkage::Linkage;
use super::train::Train;

/// What drives the fork.
#[derive(Clone, Debug, PartialEq)]
pub enum Actuation {
    /// Master and slave cylinder.
    Hydraulic(Hydraulics),
    /// A cable in a sheath.
    Cable(Cable),
    /// Rods and a cross-shaft.
    Linkage(Linkage),
}

/// The state of the two cylinders of a hydraulic actuation. Without a relay lever behind it, the slave's piston moves
/// with the fork's outer end.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Cylinders {
    /// Gauge pressure, MPa.
    pub pressure: f64,
    /// Volumes that the master displaces and the slave never sees, mm³.
    pub lost: Lost,
    /// Master piston travel from rest, mm.
    pub master_travel: f64,
    /// Master piston travel after the port is shut, mm.
    pub master_active_travel: f64,
}

/// An actuation with its constants worked out.
#[derive(Clone, Copy, Debug)]
#[expect(
    clippy::large_enum_variant,
    reason = "one for each walk, which is copied as a whole"
)]
pub(super) enum Mechanism {
    Hydraulic(Circuit),
    Mechanical(Train),
}

impl Actuation {
    /// The hydraulic actuation, if it is one.
    pub fn hydraulics(&self) -> Option<&Hydraulics> {
        match self {
            Self::Hydraulic(hydraulics) => Some(hydraulics),
            Self::Cable(_) | Self::Linkage(_) => None,
        }
    }

    /// The hydraulic actuation, if it is one, to be changed.
    pub fn hydraulics_mut(&mut self) -> Option<&mut Hydraulics> {
        match self {
            Self::Hydraulic(hydraulics) => Some(hydraulics),
            Self::Cable(_) | Self::Linkage(_) => None,
        }
    }

    /// Stiffness, N/mm, of the mount of the end towards the fork; `None` for rigid.
    pub(super) fn end_stiffness(&self) -> Option<f64> {
        self.hydraulics()?.slave.mount_stiffness
    }

    /// The cable, if it is one.
    pub(super) fn cable(&self) -> Option<&Cable> {
        match self {
            Self::Cable(cable) => Some(cable),
            Self::Hydraulic(_) | Self::Linkage(_) => None,
        }
    }

    /// Takes up the play of a cable or a linkage, as an automatic adjuster does.
    pub fn take_up_play(&mut self) {
        match self {
            Self::Hydraulic(_) => {}
            Self::Cable(cable) => cable.play = 0.0,
            Self::Linkage(linkage) => linkage.play = 0.0,
        }
    }

    /// Slack at the input, mm, which moves nothing; `None` for cylinders, which have none.
    pub(super) fn play(&self) -> Option<f64> {
        match self {
            Self::Hydraulic(_) => None,
            Self::Cable(cable) => Some(cable.play),
            Self::Linkage(linkage) => Some(linkage.play),
        }
    }

    /// The actuation with its constants worked out; `None` if a number has no meaning.
    pub(super) fn mechanism(&self) -> Option<Mechanism> {
        match self {
            Self::Hydraulic(hydraulics) => hydraulics.circuit().map(Mechanism::Hydraulic),
            Self::Cable(cable) => cable.train().map(Mechanism::Mechanical),
            Self::Linkage(linkage) => linkage.train().map(Mechanism::Mechanical),
        }
    }
}

impl Mechanism {
    /// Input travel per output travel, and output force per input force, without losses.
    pub(super) fn ratio(&self) -> f64 {
        match self {
            Self::Hydraulic(circuit) => circuit.ratio,
            Self::Mechanical(train) => train.ratio,
        }
    }

    /// Gap at the pedal's rod at rest, before it meets the input, mm.
    pub(super) fn clearance(&self) -> f64 {
        match self {
            Self::Hydraulic(circuit) => circuit.rod_clearance,
            Self::Mechanical(_) => 0.0,
        }
    }

    /// Greatest input travel, mm; infinite where only the pedal ends it.
    pub(super) fn input_stroke(&self) -> f64 {
        match self {
            Self::Hydraulic(circuit) => circuit.stroke,
            Self::Mechanical(_) => f64::INFINITY,
        }
    }

    /// Greatest output travel, mm; infinite where nothing of the actuation ends it.
    pub(super) fn output_stroke(&self) -> f64 {
        match self {
            Self::Hydraulic(circuit) => circuit.slave_stroke_left.max(0.0),
            Self::Mechanical(_) => f64::INFINITY,
        }
    }

    /// Travel of the intensifier's piston per output travel; 1 without one.
    pub(super) fn stepped_ratio(&self) -> f64 {
        let piston =
            |circuit: &Circuit| Some(circuit.slave_area / circuit.stepped.piston?.out_area);
        self.circuit().and_then(piston).unwrap_or(1.0)
    }

    /// Whether it has a lever that is not square to its rods, so that its ratio changes with its travel.
    pub(super) fn is_bent(&self) -> bool {
        match self {
            Self::Hydraulic(_) => false,
            Self::Mechanical(train) => train.lever.is_some(),
        }
    }

    /// The ratio with the output moved by `travel`, mm.
    pub(super) fn ratio_at(&self, travel: f64) -> f64 {
        match self {
            Self::Mechanical(Train {
                lever: Some(lever), ..
            }) => lever.at_output(travel).ratio,
            _ => self.ratio(),
        }
    }

    /// How far a lever of the actuation is past dead centre, mm, with the output moved by `travel`, mm. Below zero it
    /// has not reached dead centre.
    pub(super) fn past_dead_centre(&self, travel: f64) -> f64 {
        match self {
            Self::Mechanical(Train {
                lever: Some(lever), ..
            }) => travel - lever.dead_centre(),
            _ => f64::NEG_INFINITY,
        }
    }

    /// The input side when the output has moved by `travel`, mm, against `force`, N. `taken_up`, 0 to 1, is the share
    /// of the actuation's own drag that is overcome.
    pub(super) fn drive(&self, travel: f64, force: f64, taken_up: f64, stroke: Stroke) -> Drive {
        match self {
            Self::Hydraulic(circuit) => circuit.drive(travel, force, taken_up, stroke),
            Self::Mechanical(train) => train.drive(travel, force, stroke),
        }
    }

    /// Whether the output has friction that must be overcome before it moves.
    pub(super) fn drags(&self) -> bool {
        match self {
            Self::Hydraulic(circuit) => circuit.drags(),
            Self::Mechanical(_) => false,
        }
    }

    /// The input side before the output moves, with the rod `past` its clearance, mm.
    pub(super) fn idle(&self, past: f64, stroke: Stroke) -> Drive {
        match self {
            Self::Hydraulic(circuit) => circuit.idle(past, stroke),
            Self::Mechanical(_) => Train::idle(past),
        }
    }

    /// Rod travel past the clearance, mm, at which the mount's deflection has taken up the return spring's force.
    pub(super) fn take_up(&self) -> f64 {
        match self {
            Self::Hydraulic(circuit) => circuit.take_up(),
            Self::Mechanical(_) => 0.0,
        }
    }

    /// Rod travel past the clearance, mm, at which the output begins to move.
    pub(super) fn idle_travel(&self) -> f64 {
        match self {
            Self::Hydraulic(circuit) => circuit.idle_travel(),
            Self::Mechanical(train) => train.play,
        }
    }

    /// Output force, N, up to which nothing of it reaches the input.
    pub(super) fn carried_force(&self, stroke: Stroke) -> f64 {
        match self {
            Self::Hydraulic(circuit) => circuit.carried_force.on(stroke),
            Self::Mechanical(_) => 0.0,
        }
    }

    /// How much more output force than [`Mechanism::carried_force`] is carried, N, while `share` of the drag, 0 to 1,
    /// still holds the output in place.
    pub(super) fn still_held(&self, share: f64, stroke: Stroke) -> f64 {
        match self {
            Self::Hydraulic(circuit) => share * circuit.drag_at_output.on(stroke),
            Self::Mechanical(_) => 0.0,
        }
    }

    /// An upper bound, mm, on the input travel that the actuation's elasticity gives back on the press while the
    /// output force falls from one value to another, N. It takes the fastest rate all along.
    pub(super) fn most_given_back(&self, from: f64, to: f64) -> f64 {
        match self {
            Self::Hydraulic(circuit) => circuit.most_given_back(from, to),
            Self::Mechanical(train) => train.most_given_back(from, to),
        }
    }

    /// Work at the rod, N·mm, that did not go into moving the output.
    pub(super) fn absorbed_work(&self, drive: &Drive) -> f64 {
        match self {
            Self::Hydraulic(circuit) => circuit.absorbed_work(drive),
            Self::Mechanical(_) => Train::absorbed_work(drive),
        }
    }

    /// The hydraulic circuit, if it is one.
    pub(super) fn circuit(&self) -> Option<&Circuit> {
        match self {
            Self::Hydraulic(circuit) => Some(circuit),
            Self::Mechanical(_) => None,
        }
    }

    /// What the cylinders do in `drive`; `None` where there are none.
    pub(super) fn cylinders(&self, drive: &Drive) -> Option<Cylinders> {
        self.circuit().map(|_| Cylinders {
            pressure: drive.pressure,
            lost: drive.lost,
            master_travel: drive.input_travel,
            master_active_travel: drive.active_travel,
        })
    }
}
