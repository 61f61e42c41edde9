//! Turns a typed system into plain numbers: its chain, and the inputs of parts beside the chain.

use super::bite::BiteInputs;
use super::heat::HeatInputs;
use super::housing::{
    fork_stack, penetration, setup_gap, shaft_tip_offset, splines, window_ahead, window_behind,
    without_sag,
};
use super::hydraulics::hydraulics;
use crate::mechanics::{
    Actuation, Assist, AssistSpring, Bearing, Cable, Chain, Cone, Cover, Curve, Dial, Diaphragm,
    Disc, Fork, ForkStack, Grade, Hydraulics, Leverage, Linkage, Load, Pedal, Reading, Relay,
    Relays, SlaveRod, Stretch, bell_angle, bell_offset, dowel_residual, pilot_engagement,
};
use crate::model::System;
use crate::{block, field};

/// Whether the results are for a new or a worn disc.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum DiscState {
    New,
    WornOut,
}

/// A system's inputs beside its chain. Lengths in mm, forces in N, angles in rad.
#[derive(Clone, PartialEq, Debug, Default)]
pub(crate) struct SideInputs {
    /// The inputs for heat.
    pub heat: HeatInputs,
    /// The inputs for where the clutch bites.
    pub bite: Option<BiteInputs>,
    /// How much thinner the disc may become, mm; two discs added up.
    pub wear: Option<f64>,
    /// Whether the cover takes up the wear by itself.
    pub is_self_adjusting: bool,
    /// Finger travel over plate travel, given or calculated from the diaphragm.
    pub finger_ratio: Option<f64>,
    /// Distance from the slave's mounting face to the rod's seat in the fork, along the bore, at rest with a new
    /// disc, mm.
    pub mount_to_fork: Option<f64>,
    /// Distance from the slave's mounting face back to the rod's seat in the piston, with the piston fully home, mm.
    /// Below zero the seat is out past the face.
    pub face_to_seat: Option<f64>,
    /// How far the rod's seat in the fork is beside the bore's line at rest, mm; above zero away from the fork's
    /// pivot.
    pub rod_offset: Option<f64>,
    /// The slave's rod; `None` where its length, its offset or the fork's arm is not given.
    pub rod: Option<SlaveRod>,
    /// Slope, rad, and length, mm, of the slave's fluid space.
    pub chamber: Option<(f64, f64)>,
    /// Slope, rad, and length, mm, of the master's fluid space ahead of its outlet.
    pub master_chamber: Option<(f64, f64)>,
    /// Density of the fluid, t/mm³.
    pub density: Option<f64>,
    /// Pad travel at which the starter may run, mm.
    pub start_switch: Option<f64>,
    /// Pad travel at which cruise control turns off, mm.
    pub cruise_switch: Option<f64>,
    /// The diaphragm spring; `None` where the spec does not describe it.
    pub diaphragm: Option<Diaphragm>,
    /// How far the springs between the disc's facings are compressed from free to clamped, mm.
    pub cushion: Option<f64>,
    /// Gap at each rubbing face of the free disc, mm.
    pub clearance: Option<f64>,
    /// Force with which an adjuster's spring pulls the fork's end, N. Zero if only the slave's preload holds the
    /// bearing on the fingers; `None` if neither is given.
    pub riding: Option<f64>,
    /// Clamp load of a new disc as the cover's maker states it, N.
    pub clamp_load: Option<f64>,
    /// Clamp load with the disc worn out, N.
    pub clamp_load_worn: Option<f64>,
    /// The disc's facings; `None` where the spec has no disc.
    pub disc: Option<Disc>,
    /// The engine's torque, N·mm, and the service factor.
    pub engine: Option<(f64, f64)>,
    /// Distance between the axes of crankshaft and gearbox, mm.
    pub bell_offset: Option<f64>,
    /// The result of a dial gauge around the housing's bore. `None` where there are no readings, or they are too few
    /// or too close together.
    pub dial: Option<Dial>,
    /// Angle between the housing's face and the plane square to the crankshaft, rad.
    pub bell_tilt: Option<f64>,
    /// What a gauge on the bore reads with the offset dowels fitted, mm.
    pub dowel_residual: Option<f64>,
    /// How far the input shaft's tip is off the crankshaft's axis at the pilot, mm.
    pub shaft_tip_offset: Option<f64>,
    /// Length of the input shaft's tip inside the pilot bearing, mm; below zero if it does not reach the bearing.
    pub pilot_engagement: Option<f64>,
    /// Gap from the bearing to the fingers at rest with a new disc, mm.
    pub bearing_gap: f64,
    /// How the fork sits on its pivot; `None` where the spec does not say, or where the fork cannot reach that place.
    pub fork_stack: Option<ForkStack>,
    /// The edge of the fork's opening towards which its outer end comes back as the disc wears, mm ahead of the
    /// gearbox's face.
    pub window_behind: Option<f64>,
    /// Room ahead of the input shaft's tip, mm. Below zero the tip touches bottom before the gearbox is home.
    pub pilot_room: Option<f64>,
    /// The places of the input shaft's splines and the disc's hub along the shaft.
    pub splines: Option<(Stretch, Stretch)>,
    /// Gap between the fingers and a slave that is fully home, mm. Below zero the fingers press on it.
    pub setup_gap: Option<f64>,
    /// Kinematic viscosity, mm²/s, and density, t/mm³, at the coldest temperature.
    pub cold: Option<(f64, f64)>,
    /// The reading of the last visit, with the pad travel at which it was taken; the travel is `None` for full pedal.
    pub measured: Option<(Option<f64>, Reading)>,
}

/// How much further than the end of the window the worn release curve reaches, as a factor.
const PAST_WINDOW: f64 = 1.25;

impl SideInputs {
    /// How far the fingers come back until the disc is worn out, mm: zero with a cover that adjusts itself.
    pub fn wear_at_fingers(&self) -> Option<f64> {
        let come_back = self.wear? * self.finger_ratio?;
        Some(if self.is_self_adjusting {
            0.0
        } else {
            come_back
        })
    }

    /// How far the fingers push the bearing back until the disc is worn out, mm; zero where the wear is not known.
    pub fn bearing_set_back(&self) -> f64 {
        let wear = self.wear_at_fingers().unwrap_or(0.0);
        (wear - self.bearing_gap).max(0.0)
    }

    /// Distance between the two seats of the slave's rod along the bore with a new disc, mm.
    pub(super) fn rod_span(&self, hydraulics: Option<&Hydraulics>) -> Option<f64> {
        Some(self.mount_to_fork? + self.face_to_seat? - hydraulics?.slave.rest_extension)
    }
}

/// Release load of a diaphragm over the fingers' travel, with the disc thinner by `wear`, mm.
pub(super) fn diaphragm_load(
    diaphragm: &Diaphragm,
    wear: f64,
    cushion: Option<f64>,
    most: f64,
) -> Option<Load> {
    let spring = diaphragm.spring()?;
    let up_to = most * PAST_WINDOW;
    let curve = spring.release_curve(wear, cushion.unwrap_or(0.0), up_to)?;
    Some(Load::Curve(curve))
}

/// The chain of a sound system; `None` where its numbers have no meaning.
pub(super) fn chain(system: &System, side: &SideInputs) -> Option<Chain> {
    let number = |id| system.number(id);
    let given = |id| system.given_number(id);
    let leverage = match given(field!(pedal.ratio)) {
        // The arms say more than the ratio, where both are given.
        Some(ratio) if given(field!(pedal.rod_arm)).is_none() => Leverage::Ratio(ratio),
        _ => Leverage::Crank {
            pad_arm: number(field!(pedal.pad_arm))?,
            rod_arm: number(field!(pedal.rod_arm))?,
            // The spec counts the angle that is left until the arm is square, the mechanics
            // the angle from square in the way of the motion.
            arm_angle: given(field!(pedal.arm_angle)).map(|angle| -angle),
            rod_length: given(field!(pedal.rod_length)),
        },
    };
    let pedal = Pedal {
        travel: number(field!(pedal.travel))?,
        stop: given(field!(pedal.stop)),
        free_play: given(field!(pedal.free_play)),
        leverage,
        rod_offset: given(field!(pedal.rod_offset)).unwrap_or(0.0),
        efficiency: number(field!(pedal.efficiency))?,
        return_force: number(field!(pedal.return_force))?,
        drag: number(field!(pedal.drag))?,
        assist: match system.curve(field!(pedal.assist)) {
            Some(points) => Some(Curve::new(points)?.into()),
            None => assist(system)?,
        },
    };
    let fork = match system.component(block!(fork)) {
        None => Fork::none(),
        Some(_) => Fork {
            ratio: match given(field!(fork.ratio)) {
                Some(ratio) => ratio,
                None => number(field!(fork.slave_arm))? / number(field!(fork.bearing_arm))?,
            },
            efficiency: number(field!(fork.efficiency))?,
            drag: number(field!(fork.drag))?,
            return_force: number(field!(fork.return_force))?,
            stiffness: given(field!(fork.stiffness)),
            window: given(field!(fork.window))
                .or_else(|| window_ahead(system, side.fork_stack.as_ref()?)),
            bend: side.fork_stack.and_then(|stack| stack.bend()),
        },
    };
    let (needed, most) = system.window(field!(cover.release_travel))?;
    let load = if let Some(points) = system.curve(field!(cover.release_load)) {
        Load::Curve(Curve::new(points)?)
    } else if let Some(peak) = given(field!(cover.release_load)) {
        Load::Peak(peak)
    } else {
        diaphragm_load(side.diaphragm.as_ref()?, 0.0, side.cushion, most)?
    };
    let adjuster = adjuster(system, side);
    let mut actuation = actuation(system)?;
    if matches!(adjuster, Some((Adjuster::Auto, _))) {
        actuation.take_up_play();
    }
    Some(Chain {
        pedal,
        actuation,
        relays: relays(system)?,
        adjust_range: adjuster.map(|(_, range)| range),
        fork,
        bearing: Bearing {
            free_play: match adjuster {
                // It has taken up all slack.
                Some((Adjuster::Auto, _)) => 0.0,
                _ => number(field!(bearing.free_play))?,
            },
            max_travel: given(field!(bearing.max_travel)),
        },
        cover: Cover { needed, most, load },
    })
}

/// An over-center spring given by its hooks. The inner `None` is a pedal without one, the outer a mistake in its
/// numbers.
fn assist(system: &System) -> Option<Option<Assist>> {
    let given = |id| system.given_number(id);
    let spring = || {
        Some(AssistSpring {
            rate: given(field!(pedal.assist_rate))?,
            free_length: given(field!(pedal.assist_free_length))?,
            anchor: given(field!(pedal.assist_anchor))?,
            hook: given(field!(pedal.assist_hook))?,
            angle: given(field!(pedal.assist_angle))?,
        })
    };
    let Some((spring, pad_arm)) = spring().zip(given(field!(pedal.pad_arm))) else {
        return Some(None);
    };
    Some(Some(Assist::Spring(spring.on_pedal(pad_arm)?)))
}

fn actuation(system: &System) -> Option<Actuation> {
    let number = |id| system.number(id);
    let given = |id| system.given_number(id);
    Some(if system.component(block!(cable)).is_some() {
        Actuation::Cable(Cable {
            bends: number(field!(cable.bends))?,
            friction: number(field!(cable.friction))?,
            stiffness: given(field!(cable.stiffness)),
            play: number(field!(cable.play))?,
        })
    } else if system.component(block!(linkage)).is_some() {
        Actuation::Linkage(Linkage {
            in_arm: number(field!(linkage.in_arm))?,
            out_arm: number(field!(linkage.out_arm))?,
            in_angle: given(field!(linkage.in_angle)).unwrap_or(0.0),
            out_angle: given(field!(linkage.out_angle)).unwrap_or(0.0),
            play: number(field!(linkage.play))?,
            stiffness: given(field!(linkage.stiffness)),
            efficiency: number(field!(linkage.efficiency))?,
        })
    } else {
        Actuation::Hydraulic(hydraulics(system)?)
    })
}

/// How an adjuster takes up the disc's wear.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Adjuster {
    Manual,
    Auto,
}

/// The adjuster and its travel at the fork's end, mm. `None` where there is none, or where something that it depends
/// on is not given.
fn adjuster(system: &System, side: &SideInputs) -> Option<(Adjuster, f64)> {
    side.wear?;
    side.finger_ratio?;
    let (adjuster, range) = system.fork_drives().next()?.adjuster;
    let range = system.given_number(range)?;
    match system.word(adjuster)? {
        "manual" => Some((Adjuster::Manual, range)),
        "auto" => Some((Adjuster::Auto, range)),
        _ => None,
    }
}

/// Force with which an adjuster's spring pulls the fork's end, N. Zero where only the slave's preload holds the
/// bearing on the fingers; `None` where neither is given.
fn riding(system: &System) -> Option<f64> {
    let drive = system.fork_drives().next()?;
    let adjusts = system
        .word(drive.adjuster.0)
        .is_some_and(|word| word != "none");
    let adjuster = system
        .given_number(drive.adjust_preload)
        .filter(|_| adjusts);
    adjuster.or_else(|| {
        system
            .given_number(field!(slave.preload))
            .filter(|_| system.component(block!(slave)).is_some())
            .map(|_| 0.0)
    })
}

fn relays(system: &System) -> Option<Relays> {
    let mut relays = Relays::default();
    for one in &system.relays {
        let number = |id| one.number(id);
        let cable = number(field!(relay.bends)).zip(number(field!(relay.friction)));
        let relay = if let Some((bends, friction)) = cable {
            Cable {
                bends,
                friction,
                stiffness: number(field!(relay.stiffness)),
                play: number(field!(relay.play))?,
            }
            .as_relay()
        } else {
            Relay {
                in_arm: number(field!(relay.in_arm))?,
                out_arm: number(field!(relay.out_arm))?,
                in_angle: number(field!(relay.in_angle))?,
                out_angle: number(field!(relay.out_angle))?,
                play: number(field!(relay.play))?,
                stiffness: number(field!(relay.stiffness)),
                efficiency: number(field!(relay.efficiency))?,
            }
        };
        match one.given(field!(relay.at))?.word()? {
            "pedal" => relays.at_pedal.push(relay),
            _ => relays.at_fork.push(relay),
        }
    }
    Some(relays)
}

/// Of what a sound system says beside its chain no more than the chain itself is made of.
pub(super) fn chain_inputs(system: &System) -> SideInputs {
    let given = |id| system.given_number(id);
    let diaphragm = diaphragm(system);
    let ratio_of_spring = || Some(diaphragm?.spring()?.finger_ratio());
    SideInputs {
        fork_stack: fork_stack(system).filter(|stack| stack.angle(stack.tips).is_some()),
        wear: given(field!(disc.wear)).map(|wear| wear * discs(system)),
        finger_ratio: given(field!(cover.finger_ratio)).or_else(ratio_of_spring),
        diaphragm,
        cushion: given(field!(disc.cushion)),
        ..SideInputs::default()
    }
}

/// What a sound system says beside its chain.
pub(super) fn side_inputs(system: &System) -> SideInputs {
    let given = |id| system.given_number(id);
    let of_chain = chain_inputs(system);
    let dial = system
        .curve(field!(bellhousing.dial))
        .map(|readings| without_sag(system, readings))
        .and_then(|readings| Dial::from_readings(&readings));
    let runout = given(field!(bellhousing.runout)).map(bell_offset);
    let bell_offset = runout.or(dial.map(|dial| dial.offset));
    let penetration = penetration(system);
    let pilot_depth = given(field!(gearbox.pilot_depth));
    SideInputs {
        heat: HeatInputs::new(system),
        bite: BiteInputs::new(system),
        bearing_gap: system.number(field!(bearing.free_play)).unwrap_or_default(),
        window_behind: of_chain
            .fork_stack
            .and_then(|stack| window_behind(system, &stack)),
        is_self_adjusting: system.word(field!(cover.adjusts)) == Some("self"),
        mount_to_fork: given(field!(slave.mount_to_fork)),
        face_to_seat: given(field!(slave.face_to_seat)),
        rod_offset: given(field!(slave.rod_offset)),
        rod: slave_rod(system),
        chamber: given(field!(slave.slope)).zip(given(field!(slave.chamber))),
        master_chamber: given(field!(master.slope)).zip(given(field!(master.chamber))),
        density: system.number(field!(fluid.density)),
        start_switch: given(field!(pedal.start_switch)),
        cruise_switch: given(field!(pedal.cruise_switch)),
        clearance: given(field!(disc.clearance)),
        riding: riding(system),
        clamp_load: given(field!(cover.clamp_load)),
        clamp_load_worn: given(field!(cover.clamp_load_worn)),
        disc: disc(system),
        engine: given(field!(engine.torque)).zip(system.number(field!(engine.service_factor))),
        bell_offset,
        dowel_residual: bell_offset
            .zip(given(field!(bellhousing.dowel_offset)))
            .map(|(offset, moved)| dowel_residual(offset, moved)),
        shaft_tip_offset: shaft_tip_offset(system),
        dial,
        bell_tilt: given(field!(bellhousing.face_runout))
            .zip(given(field!(bellhousing.face_circle)))
            .and_then(|(reading, circle)| bell_angle(reading, circle)),
        pilot_engagement: penetration.map(|penetration| pilot_engagement(penetration, pilot_depth)),
        pilot_room: penetration
            .zip(pilot_depth)
            .map(|(penetration, depth)| depth - penetration),
        splines: splines(system),
        setup_gap: setup_gap(system),
        cold: cold_fluid(system),
        measured: measured(system),
        ..of_chain
    }
}

fn slave_rod(system: &System) -> Option<SlaveRod> {
    let length = system.given_number(field!(slave.rod_length))?;
    let offset = system.given_number(field!(slave.rod_offset))?;
    // The first lever behind the slave is what its rod meets.
    if let Some(relay) = relays(system)?.at_fork.first() {
        if relay.is_cable() {
            return None;
        }
        return Some(SlaveRod {
            arm: relay.in_arm / relay.in_angle.cos(),
            to_square: relay.in_angle,
            length,
            offset,
        });
    }
    let arm = system.given_number(field!(fork.slave_arm))?;
    let of_stack = || {
        let stack = fork_stack(system)?;
        let to_square = stack.to_square(stack.angle(stack.tips)?)?;
        // There the arm is given with the fork square.
        Some((arm.hypot(stack.end_offset), to_square))
    };
    let (arm, to_square) = match system.given_number(field!(fork.rest_angle)) {
        // The spec gives the arm square to the push, with the fork at rest.
        Some(to_square) => (arm / to_square.cos(), to_square),
        None => of_stack().unwrap_or((arm, 0.0)),
    };
    Some(SlaveRod {
        arm,
        to_square,
        length,
        offset,
    })
}

fn diaphragm(system: &System) -> Option<Diaphragm> {
    let number = |id| system.number(id);
    system.component(block!(diaphragm))?;
    Some(Diaphragm {
        cone: Cone {
            outer: number(field!(diaphragm.outer))?,
            inner: number(field!(diaphragm.inner))?,
            thickness: number(field!(diaphragm.thickness))?,
            height: number(field!(diaphragm.height))?,
            modulus: number(field!(diaphragm.modulus))?,
            poisson: number(field!(diaphragm.poisson))?,
        },
        plate_circle: number(field!(diaphragm.plate_circle))?,
        fulcrum_circle: number(field!(diaphragm.fulcrum_circle))?,
        finger_circle: number(field!(diaphragm.finger_circle))?,
        set_deflection: number(field!(diaphragm.set_deflection))?,
    })
}

/// How many discs there are: each has two faces.
fn discs(system: &System) -> f64 {
    let faces = system.number(field!(disc.faces)).unwrap_or(2.0);
    (0.5 * faces).max(1.0)
}

fn disc(system: &System) -> Option<Disc> {
    system.component(block!(disc))?;
    Some(Disc {
        outer: system.number(field!(disc.outer))?,
        inner: system.number(field!(disc.inner))?,
        faces: system.number(field!(disc.faces))?,
        friction: system.number(field!(disc.friction))?,
    })
}

/// The grade of the brake fluid; `None` where it is not given, and for mineral oil.
pub(crate) fn grade(system: &System) -> Option<Grade> {
    Some(match system.word(field!(fluid.grade))? {
        "dot3" => Grade::Dot3,
        "dot4" => Grade::Dot4,
        "dot5" => Grade::Dot5,
        "dot5_1" => Grade::Dot51,
        _ => return None,
    })
}

/// Viscosity and density at the coldest temperature: as given, else the highest viscosity that the fluid's grade
/// allows there.
pub(crate) fn cold_fluid(system: &System) -> Option<(f64, f64)> {
    let of_grade = || {
        let coldest = system.given_number(field!(fluid.coldest))?;
        grade(system)?.viscosity(coldest)
    };
    let viscosity = system
        .given_number(field!(fluid.viscosity))
        .or_else(of_grade)?;
    Some((viscosity, system.number(field!(fluid.density))?))
}

/// The reading of the last visit that says most about the fluid: the slave's travel, else the bearing's, else the
/// point of release.
fn measured(system: &System) -> Option<(Option<f64>, Reading)> {
    let visit = system.measured().last()?;
    let given = |id| visit.given(id)?.number();
    let at = given(field!(measured.pedal_travel));
    if let Some(travel) = given(field!(measured.slave_travel)) {
        Some((at, Reading::SlaveTravel(travel)))
    } else if let Some(travel) = given(field!(measured.bearing_travel)) {
        Some((at, Reading::BearingTravel(travel)))
    } else {
        Some((
            Some(given(field!(measured.release_point))?),
            Reading::Release,
        ))
    }
}
