//! Where the parts of a chain are, and how far they turn, at rest and at full pedal. A drawing of the chain is laid
//! out from it.
//!
//! Lengths in mm, angles in rad. Directions along the shaft are 1 away from the engine and −1 towards it. What the
//! spec does not give is `None`; the drawing places it freely.

use super::Outcome;
use crate::mechanics::{Actuation, Lever, Leverage, Relay, SlaveBore, Swing};
use crate::model::{Component, Given, System};
use crate::schema::FORK_DRIVES;
use crate::{field, result};

/// The places and movements of a chain.
#[derive(Clone, PartialEq, Debug)]
pub struct Kinematics {
    pub pedal: PedalSwing,
    pub drive: Drive,
    pub far_end: FarEnd,
    pub fingers: Fingers,
    /// Relay levers between the pedal's rod and the actuation, from the pedal on.
    pub at_pedal: Vec<LeverSwing>,
    /// Relay levers between the actuation and the fork, from the slave on.
    pub at_fork: Vec<LeverSwing>,
}

/// A relay lever about its shaft.
#[derive(Clone, PartialEq, Debug)]
pub struct LeverSwing {
    /// Its label in the spec.
    pub name: String,
    /// Shaft to the pin at its input.
    pub in_arm: f64,
    /// Shaft to the pin at its output.
    pub out_arm: f64,
    /// How far the in arm has to turn from rest until it is square to its rod.
    pub in_angle: f64,
    /// How far the out arm has to turn from rest until it is square to its rod.
    pub out_angle: f64,
    /// How far it turns up to full pedal.
    pub turn: f64,
    /// Whether its rods move opposite ways; `None` where the spec does not say.
    pub reverses: Option<bool>,
}

/// An arm that turns: its angles at rest and at full pedal.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Turn {
    pub rest: f64,
    pub down: f64,
}

/// The pedal about its pivot. Angles are from hanging straight down, positive to the rear.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct PedalSwing {
    pub pad_arm: f64,
    pub rod_arm: f64,
    pub turn: Turn,
    /// Travel of the pad along its arc.
    pub travel: f64,
    /// Whether the arms are given. `false` if only their ratio is.
    pub arms_given: bool,
}

/// What connects the pedal's rod to the fork.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Drive {
    Master {
        bore: f64,
        stroke: f64,
        travel: f64,
        rod_length: Option<f64>,
        /// The intensifier behind it.
        stepped: Option<SteppedPiston>,
    },
    Cable,
    CrossShaft {
        in_arm: f64,
        out_arm: f64,
    },
}

/// An intensifier's piston.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct SteppedPiston {
    pub in_bore: f64,
    pub out_bore: f64,
    pub stroke: f64,
    pub travel: f64,
}

/// What works the fingers.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum FarEnd {
    Fork {
        swing: ForkSwing,
        /// `None` for a cable or a linkage.
        slave: Option<RoundSlave>,
        /// Travel of the fork's outer end.
        travel: f64,
    },
    Concentric(ConcentricSlave),
}

/// The fork about its pivot. Angles of its outer end are from upright, positive away from the engine.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct ForkSwing {
    pub outer_arm: f64,
    pub inner_arm: f64,
    pub turn: Turn,
    /// The direction in which the outer end is pushed.
    pub way: f64,
    /// Whether the pivot is beyond the bearing. `false` if it is between bearing and outer end.
    pub outboard: bool,
    pub pivot_given: bool,
    /// Whether the arms are given. `false` if only their ratio is.
    pub arms_given: bool,
}

/// A slave beside the fork.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct RoundSlave {
    pub bore: f64,
    pub stroke: f64,
    pub rest_extension: f64,
    pub travel: f64,
    pub rod_length: Option<f64>,
}

/// A slave around the input shaft.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct ConcentricSlave {
    pub outer: f64,
    pub inner: f64,
    pub stroke: f64,
    pub rest_extension: f64,
    pub travel: f64,
}

/// The fingers and the ends of their window, measured from their place at rest.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Fingers {
    /// The direction in which they release.
    pub way: f64,
    /// Gap to the bearing at rest.
    pub free_play: f64,
    /// Travel that releases the disc.
    pub needed: f64,
    /// Greatest travel that the cover allows.
    pub most: f64,
}

/// Arm lengths to draw where a spec gives only a ratio.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct StandIns {
    pub pad_arm: f64,
    pub bearing_arm: f64,
}

impl Kinematics {
    pub fn new(system: &System, outcome: &Outcome, stand_ins: StandIns) -> Self {
        let release = match system.word(field!(cover.action)) {
            Some("pull") => 1.0,
            _ => -1.0,
        };
        let chain = &outcome.chain;
        let swings = chain.swings();
        Self {
            pedal: pedal(outcome, stand_ins.pad_arm),
            drive: drive(system, outcome),
            far_end: far_end(system, outcome, release, stand_ins.bearing_arm),
            fingers: Fingers {
                way: release,
                free_play: chain.bearing.free_play,
                needed: chain.cover.needed,
                most: chain.cover.most,
            },
            at_pedal: levers(
                &swings,
                system.relays_at_pedal(),
                &chain.relays.at_pedal,
                Lever::AtPedal,
            ),
            at_fork: levers(
                &swings,
                system.relays_at_fork(),
                &chain.relays.at_fork,
                Lever::AtFork,
            ),
        }
    }
}

/// The levers at one end of the train. A cable in place of a lever has no arms and is left out.
fn levers<'a>(
    swings: &[Swing],
    named: impl Iterator<Item = &'a Component>,
    relays: &[Relay],
    which: impl Fn(usize) -> Lever,
) -> Vec<LeverSwing> {
    let each = named.zip(relays).enumerate();
    each.filter(|(_, (_, relay))| !relay.is_cable())
        .map(|(i, (component, relay))| {
            let swing = swings.iter().find(|swing| swing.lever == which(i));
            let reverses = component.given(field!(relay.reverses));
            LeverSwing {
                name: component.label.clone().unwrap_or_default(),
                in_arm: relay.in_arm / relay.in_angle.cos(),
                out_arm: relay.out_arm / relay.out_angle.cos(),
                in_angle: relay.in_angle,
                out_angle: relay.out_angle,
                turn: swing.map_or(0.0, |swing| swing.turn),
                reverses: reverses.and_then(Given::word).map(|word| word == "yes"),
            }
        })
        .collect()
}

fn pedal(outcome: &Outcome, stand_in: f64) -> PedalSwing {
    let pedal = &outcome.chain.pedal;
    let (pad_arm, rod_arm, rest, arms_given) = match pedal.leverage {
        Leverage::Crank {
            pad_arm,
            rod_arm,
            arm_angle,
            ..
        } => {
            let middle = pedal.square_at_mid_travel(pad_arm);
            (pad_arm, rod_arm, -arm_angle.unwrap_or(middle), true)
        }
        Leverage::Ratio(ratio) => {
            let middle = pedal.square_at_mid_travel(stand_in);
            (stand_in, stand_in / ratio, -middle, false)
        }
    };
    let travel = outcome.get(result!(pedal_travel_used)).unwrap_or(0.0);
    PedalSwing {
        pad_arm,
        rod_arm,
        turn: Turn {
            rest,
            down: rest - travel / pad_arm,
        },
        travel,
        arms_given,
    }
}

fn drive(system: &System, outcome: &Outcome) -> Drive {
    match &outcome.chain.actuation {
        Actuation::Hydraulic(hydraulics) => Drive::Master {
            bore: hydraulics.master.bore,
            stroke: hydraulics.master.stroke,
            travel: outcome.get(result!(master_travel)).unwrap_or(0.0),
            rod_length: system.given_number(field!(pedal.rod_length)),
            stepped: hydraulics.intensifier.as_ref().map(|one| SteppedPiston {
                in_bore: one.in_bore,
                out_bore: one.out_bore,
                stroke: one.stroke,
                travel: outcome.get(result!(intensifier_travel)).unwrap_or(0.0),
            }),
        },
        Actuation::Cable(_) => Drive::Cable,
        Actuation::Linkage(linkage) => Drive::CrossShaft {
            in_arm: linkage.in_arm,
            out_arm: linkage.out_arm,
        },
    }
}

fn far_end(system: &System, outcome: &Outcome, release: f64, stand_in: f64) -> FarEnd {
    let slave = outcome.hydraulics().map(|hydraulics| &hydraulics.slave);
    let travel = outcome.get(result!(slave_travel)).unwrap_or(0.0);
    let round = match slave.map(|slave| (slave, &slave.bore)) {
        Some((slave, SlaveBore::Annulus { outer, inner }))
            if system.given(field!(slave.outer)).is_some() =>
        {
            return FarEnd::Concentric(ConcentricSlave {
                outer: *outer,
                inner: *inner,
                stroke: slave.stroke,
                rest_extension: slave.rest_extension,
                travel,
            });
        }
        Some((slave, SlaveBore::Round(bore) | SlaveBore::Annulus { outer: bore, .. })) => {
            Some(RoundSlave {
                bore: *bore,
                stroke: slave.stroke,
                rest_extension: slave.rest_extension,
                travel,
                rod_length: system.given_number(field!(slave.rod_length)),
            })
        }
        None => None,
    };
    FarEnd::Fork {
        swing: fork(system, outcome, release, stand_in),
        slave: round,
        travel: outcome.get(result!(fork_travel)).unwrap_or(0.0),
    }
}

fn fork(system: &System, outcome: &Outcome, release: f64, stand_in: f64) -> ForkSwing {
    let given = |field| system.given_number(field);
    let outboard = system.word(field!(fork.pivot)) == Some("outboard");
    let natural = if outboard { release } else { -release };
    let mut drives = FORK_DRIVES.iter();
    let way = match drives.find_map(|drive| system.fork_end_to_engine(drive.moves)) {
        Some(false) => 1.0,
        Some(true) => -1.0,
        None => natural,
    };
    let of_stack = || {
        let stack = outcome.side_inputs.fork_stack?;
        stack.to_square(stack.angle(stack.tips)?)
    };
    let tilt = given(field!(fork.rest_angle))
        .or_else(of_stack)
        .unwrap_or(0.0);
    let arms = given(field!(fork.slave_arm)).zip(given(field!(fork.bearing_arm)));
    let (outer_arm, inner_arm) = match arms {
        // The spec gives the arm square to the push, with the fork at rest.
        Some((slave, bearing)) => (slave / tilt.cos(), bearing),
        None => (stand_in * outcome.chain.fork.ratio, stand_in),
    };
    let bearing_travel = outcome.get(result!(bearing_travel)).unwrap_or(0.0);
    let rest = -way * tilt;
    ForkSwing {
        outer_arm,
        inner_arm,
        turn: Turn {
            rest,
            down: rest + way * (bearing_travel / inner_arm),
        },
        way,
        outboard,
        pivot_given: system.given(field!(fork.pivot)).is_some(),
        arms_given: arms.is_some(),
    }
}
