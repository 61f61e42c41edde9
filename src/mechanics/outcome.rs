//! From a typed system to the chain's plain numbers, and from its summary to named results.

use super::{
    Actuation, Bearing, Cable, Chain, ColdReturn, Cone, Cover, Curve, Dial, Diaphragm, Disc,
    EndedBy, Fluid, Fork, Grade, Hydraulics, Leverage, Line, Linkage, Load, Master, Pedal, Reading,
    Slave, SlaveBore, SlaveRod, Squeeze, TrappedAir, Wall, bell_angle, bell_offset, bubble_volume,
    pilot_engagement, pilot_penetration, rod_length, torque_margin,
};
use crate::model::{Component, System};
use crate::schema::{BLOCKS, Block, FieldId, RESULTS, ResultId};
use crate::{block, field, result};

/// Every result of a system that its spec supports.
#[derive(Clone, Debug)]
pub struct Results {
    /// By the results' places in the schema; what is absent is not a number.
    values: [f64; RESULTS.len()],
}

impl PartialEq for Results {
    fn eq(&self, other: &Self) -> bool {
        self.iter().eq(other.iter())
    }
}

/// A system worked out.
#[derive(Clone, PartialEq, Debug)]
pub struct Outcome {
    /// The inputs, for asking what another value would do.
    pub chain: Chain,
    /// What the results need beside the chain.
    pub extras: Extras,
    pub ended_by: EndedBy,
    pub results: Results,
    /// The results with the disc worn out and nothing adjusted since; `None` where the wear is
    /// not known, or where there is no room for it and the clutch slips before.
    pub worn: Option<Results>,
    /// What a measurement on the car says about air in the fluid.
    pub trapped_air: Option<TrappedAir>,
    /// How the fluid comes back in the cold.
    pub cold_return: Option<ColdReturn>,
}

/// What is known of a system beside its chain. Lengths in mm, forces in N, angles in rad.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub struct Extras {
    pub wear: Option<f64>,
    pub finger_ratio: Option<f64>,
    pub mount_to_fork: Option<f64>,
    pub face_to_seat: Option<f64>,
    pub rod_offset: Option<f64>,
    pub rod: Option<SlaveRod>,
    /// Slope and length of the slave's fluid space.
    pub chamber: Option<(f64, f64)>,
    pub diaphragm: Option<Diaphragm>,
    pub cushion: Option<f64>,
    pub clearance: Option<f64>,
    pub clamp_load: Option<f64>,
    pub disc: Option<Disc>,
    /// Torque in N·mm, and the service factor.
    pub engine: Option<(f64, f64)>,
    pub bell_offset: Option<f64>,
    pub dial: Option<Dial>,
    pub bell_tilt: Option<f64>,
    pub pilot_engagement: Option<f64>,
    pub setup_gap: Option<f64>,
    /// Kinematic viscosity in mm²/s and density in t/mm³ at the coldest.
    pub cold: Option<(f64, f64)>,
    /// Pad travel and what was read there.
    pub measured: Option<(f64, Reading)>,
}

/// The part of the fingers' travel after whose return the clutch counts as back: the last of it
/// takes for ever in the model and carries nothing in the car. Common practice, no source.
const RETURNED: f64 = 0.9;

/// Room on the worn release curve past the end of the window, as a part of it.
const PAST_WINDOW: f64 = 1.25;

impl Extras {
    /// How far the two seats of the slave's rod lie apart along the bore with a new disc, mm.
    fn rod_span(&self, hydraulics: Option<&Hydraulics>) -> Option<f64> {
        Some(self.mount_to_fork? + self.face_to_seat? - hydraulics?.slave.rest_extension)
    }
}

impl Results {
    /// A result in internal units; `None` where the spec does not say enough for it, or where
    /// the pedal does not get there.
    pub fn get(&self, id: ResultId) -> Option<f64> {
        let value = *self.values.get(id.index())?;
        (!value.is_nan()).then_some(value)
    }

    /// The results that there are, in the order of the schema.
    pub fn iter(&self) -> impl Iterator<Item = (ResultId, f64)> + '_ {
        ResultId::all().filter_map(|id| Some((id, self.get(id)?)))
    }
}

/// Why a system has no results.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum NotWorked {
    /// The spec is incomplete or has mistakes in it.
    Unsound,
    /// It stands for many systems, one for each choice.
    Choices,
    /// Its numbers have no meaning together: nothing moves, or a lever cannot reach.
    Impossible,
}

impl NotWorked {
    /// Why, as the end of a sentence.
    pub fn words(self) -> &'static str {
        match self {
            Self::Unsound => "the spec is incomplete or has mistakes in it",
            Self::Choices => "it stands for many systems, one for each choice",
            Self::Impossible => "the numbers have no meaning together",
        }
    }
}

/// Works out a system.
///
/// # Errors
/// Why nothing can be worked out.
pub fn work_out(system: &System) -> Result<Outcome, NotWorked> {
    if !system.workable {
        return Err(NotWorked::Unsound);
    }
    if !system.chooses.is_empty() {
        return Err(NotWorked::Choices);
    }
    let extras = extras(system);
    chain(system, &extras)
        .and_then(|chain| Outcome::new(chain, extras))
        .ok_or(NotWorked::Impossible)
}

/// The results of a system by themselves, as [`work_out`] has them; what becomes of them with a worn disc is left
/// out. `None` where nothing can be worked out.
pub(super) fn results_alone(system: &System) -> Option<Results> {
    if !system.workable || !system.chooses.is_empty() {
        return None;
    }
    let extras = extras(system);
    let outcome = Outcome::of(chain(system, &extras)?, extras, 0.0, |_, _| None)?;
    Some(outcome.results)
}

/// Whether a result is one of the way in which this system is worked; a cable has no slave.
pub fn belongs(system: &System, id: ResultId) -> bool {
    let has = |need: &str| {
        let drive = match need.split('.').next() {
            Some("master" | "slave" | "line" | "fluid") => block!(master),
            Some("cable") => block!(cable),
            Some("linkage") => block!(linkage),
            _ => return true,
        };
        system.component(drive).is_some()
    };
    id.spec()
        .needs
        .iter()
        .all(|need| need.split(" or ").any(has))
}

/// Why a result is absent although the system is worked out, as a sentence.
pub fn why_absent(system: &System, id: ResultId) -> String {
    let is_given = |path: &str| {
        let found = || {
            let (block, name) = path.split_once('.')?;
            let block = Block::named(block)?;
            let field = BLOCKS[block as usize].field_index(name)?;
            system.given(FieldId { block, field })
        };
        match path.contains('.') {
            true => found().is_some(),
            false => Block::named(path).is_some_and(|block| system.component(block).is_some()),
        }
    };
    // `a or b` is there when either is.
    let missing: Vec<&str> = id
        .spec()
        .needs
        .iter()
        .copied()
        .filter(|path| !path.split(" or ").any(is_given))
        .collect();
    if missing.is_empty() && id == result!(rod_cut_length) {
        "no rod fits between its ends".to_owned()
    } else if missing.is_empty() {
        "full pedal does not get there".to_owned()
    } else {
        format!("needs {}", missing.join(" and "))
    }
}

impl Outcome {
    /// The results of a chain; `None` if its numbers have no meaning together.
    pub fn new(chain: Chain, extras: Extras) -> Option<Self> {
        Self::of(chain, extras, 0.0, worn_out)
    }

    /// The results after the disc has become thinner by `worn`, mm; the chain is the worn one. What
    /// becomes of a chain with a worn disc is asked of `worn_out`.
    fn of(
        chain: Chain,
        extras: Extras,
        worn: f64,
        worn_out: fn(&Chain, &Extras) -> Option<Results>,
    ) -> Option<Self> {
        let (s, slack, cold_return, rod_angle) = {
            let walk = chain.walk()?;
            let full = walk.full_pedal()?;
            let cold_return = extras.cold.and_then(|(viscosity, density)| {
                walk.cold_return(&full, viscosity, density, RETURNED)
            });
            let slack = walk.least_slack_effort(&full);
            let summary = walk.summary(&full)?;
            let rod_angle = walk.geometry.worst_rod_angle(summary.pedal_travel_used);
            (summary, slack, cold_return, rod_angle)
        };
        let mut results = Results {
            values: [f64::NAN; RESULTS.len()],
        };
        let mut set = |id: ResultId, value: Option<f64>| {
            results.values[id.index()] = value.unwrap_or(f64::NAN);
        };
        set(result!(pedal_ratio), Some(s.pedal_ratio));
        set(result!(hydraulic_ratio), s.hydraulic_ratio);
        set(
            result!(linkage_ratio),
            matches!(chain.actuation, Actuation::Linkage(_)).then_some(s.actuation_ratio),
        );
        set(result!(fork_ratio), Some(s.fork_ratio));
        set(result!(overall_ratio), Some(s.overall_ratio));
        set(result!(pedal_travel_used), Some(s.pedal_travel_used));
        set(result!(master_travel), s.master_travel);
        set(result!(master_reserve), s.master_reserve);
        set(result!(slave_travel_ideal), s.slave_travel_ideal);
        set(result!(slave_travel), s.slave_travel);
        set(result!(slave_reserve), s.slave_reserve);
        set(result!(fork_travel), Some(s.fork_travel));
        set(result!(lost_hose), s.lost_hose);
        // Without a bulk modulus the fluid's share is left out of the model, not zero.
        let hydraulics = chain.actuation.hydraulics();
        set(
            result!(lost_fluid),
            s.lost_fluid
                .filter(|_| hydraulics.is_some_and(|h| h.fluid.bulk_modulus.is_some())),
        );
        set(result!(lost_air), s.lost_air);
        set(result!(lost_flex), Some(s.lost_flex));
        set(result!(lost_port), s.lost_port);
        set(result!(lost_play), s.lost_play);
        set(result!(bearing_travel), Some(s.bearing_travel));
        set(result!(finger_travel), Some(s.finger_travel));
        set(result!(release_margin), Some(s.release_margin));
        set(result!(overtravel_margin), Some(s.overtravel_margin));
        set(result!(release_point), s.release_point);
        set(result!(stop_travel), s.stop_travel);
        set(result!(line_pressure), s.line_pressure);
        set(result!(cable_efficiency), s.cable_efficiency);
        set(
            result!(cable_tension),
            s.cable_efficiency.map(|_| s.rod_force),
        );
        set(result!(pedal_effort), Some(s.pedal_effort));
        set(result!(pedal_effort_full), Some(s.pedal_effort_full));
        set(result!(pedal_effort_return), s.pedal_effort_return);
        set(result!(pedal_effort_slack), slack);
        set(result!(pedal_work), Some(s.pedal_work));
        let wear_at_fingers = extras.wear.zip(extras.finger_ratio).map(|(w, r)| w * r);
        set(
            result!(wear_reserve),
            wear_at_fingers
                .map(|wear| chain.wear_room() - (wear - worn * wear / extras.wear.unwrap_or(1.0))),
        );
        set(
            result!(rod_cut_length),
            extras
                .rod_span(hydraulics)
                .and_then(|along| rod_length(along, extras.rod_offset.unwrap_or(0.0))),
        );
        if let Some(rod) = &extras.rod {
            // Worn, the fork's end stands further back; the offset must serve both.
            let back = wear_at_fingers.map_or(0.0, |wear| chain.fork_set_back(wear));
            set(result!(rod_angle), rod.worst_angle(-back, s.fork_travel));
            set(
                result!(rod_offset_best),
                rod.best_offset(-back, s.fork_travel),
            );
        }
        set(result!(pedal_rod_angle), rod_angle);
        let lift = extras.finger_ratio.map(|ratio| s.finger_travel / ratio);
        set(result!(plate_lift), lift);
        set(
            result!(lift_margin),
            lift.zip(extras.disc.zip(extras.clearance))
                .and_then(|(lift, (disc, clearance))| {
                    let wanted = disc.lift_needed(extras.cushion.unwrap_or(0.0), clearance)?;
                    Some(lift - wanted)
                }),
        );
        let clamp = match extras.diaphragm {
            Some(diaphragm) => diaphragm.spring().and_then(|s| s.clamp_load(worn)),
            None => extras.clamp_load.filter(|_| worn == 0.0),
        };
        set(result!(clamp_load), clamp);
        let capacity = clamp
            .zip(extras.disc)
            .and_then(|(clamp, disc)| disc.torque_capacity(clamp));
        set(result!(torque_capacity), capacity);
        set(
            result!(torque_margin),
            capacity
                .zip(extras.engine)
                .and_then(|(capacity, (torque, factor))| torque_margin(capacity, torque, factor)),
        );
        set(result!(bell_offset), extras.bell_offset);
        set(result!(bell_angle), extras.dial.map(|d| d.move_towards));
        set(result!(bell_tilt), extras.bell_tilt);
        set(result!(pilot_engagement), extras.pilot_engagement);
        set(result!(setup_gap), extras.setup_gap);
        set(
            result!(bubble_volume),
            extras
                .chamber
                .zip(hydraulics)
                .and_then(|((slope, length), h)| bubble_volume(&h.slave.bore, slope, length)),
        );
        let trapped_air = extras
            .measured
            .and_then(|(pad, reading)| chain.trapped_air(pad, reading));
        // Less than no air is a contradiction, not an amount; the check says so.
        set(
            result!(air_volume),
            trapped_air.map(|t| t.air).filter(|air| *air >= 0.0),
        );
        set(
            result!(slave_travel_missing),
            trapped_air.map(|t| t.missing_travel),
        );
        set(result!(return_time), cold_return.map(|cold| cold.time));
        Some(Self {
            worn: worn_out(&chain, &extras),
            chain,
            extras,
            ended_by: s.ended_by,
            results,
            trapped_air,
            cold_return,
        })
    }

    pub fn get(&self, id: ResultId) -> Option<f64> {
        self.results.get(id)
    }

    /// What would come of another chain; `None` if it has no meaning.
    pub fn with(&self, change: impl FnOnce(&mut Chain)) -> Option<Self> {
        let mut chain = self.chain.clone();
        change(&mut chain);
        Self::new(chain, self.extras)
    }

    /// How far the two seats of the slave's rod lie apart along the bore with a new disc, mm; `None` where
    /// the spec does not say.
    pub fn rod_span(&self) -> Option<f64> {
        self.extras.rod_span(self.hydraulics())
    }

    /// The hydraulic part of the chain, if it has one.
    pub fn hydraulics(&self) -> Option<&Hydraulics> {
        self.chain.actuation.hydraulics()
    }

    /// How the air in the fluid is squeezed up to full pedal; `None` where there is none.
    pub fn squeeze(&self) -> Option<Squeeze> {
        let walk = self.chain.walk()?;
        walk.squeeze(&walk.full_pedal()?)
    }
}

/// The results of a chain with its disc worn out; `None` where the wear is not known or leaves no meaning.
fn worn_out(chain: &Chain, extras: &Extras) -> Option<Results> {
    let wear = extras.wear.filter(|wear| *wear > 0.0)?;
    let at_fingers = wear * extras.finger_ratio?;
    let load = match &extras.diaphragm {
        None => None,
        Some(diaphragm) => Some(diaphragm_load(
            diaphragm,
            wear,
            extras.cushion,
            chain.cover.most,
        )?),
    };
    let extras = Extras {
        // What was measured was measured on the car as it is, not on this one.
        measured: None,
        rod: None,
        // The rod was cut for a new disc, and does not grow.
        mount_to_fork: None,
        ..*extras
    };
    let worn = Outcome::of(chain.worn(at_fingers, load)?, extras, wear, |_, _| None)?;
    Some(worn.results)
}

fn diaphragm_load(
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
fn chain(system: &System, extras: &Extras) -> Option<Chain> {
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
        efficiency: number(field!(pedal.efficiency))?,
        return_force: number(field!(pedal.return_force))?,
        assist: match system.curve(field!(pedal.assist)) {
            Some(points) => Some(Curve::new(points)?),
            None => None,
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
            stiffness: given(field!(fork.stiffness)),
        },
    };
    let (needed, most) = system.window(field!(cover.release_travel))?;
    let load = if let Some(points) = system.curve(field!(cover.release_load)) {
        Load::Curve(Curve::new(points)?)
    } else if let Some(peak) = given(field!(cover.release_load)) {
        Load::Peak(peak)
    } else {
        diaphragm_load(extras.diaphragm.as_ref()?, 0.0, extras.cushion, most)?
    };
    Some(Chain {
        pedal,
        actuation: actuation(system)?,
        fork,
        bearing: Bearing {
            free_play: number(field!(bearing.free_play))?,
        },
        cover: Cover { needed, most, load },
    })
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
            play: number(field!(linkage.play))?,
            stiffness: given(field!(linkage.stiffness)),
            efficiency: number(field!(linkage.efficiency))?,
        })
    } else {
        Actuation::Hydraulic(hydraulics(system)?)
    })
}

fn hydraulics(system: &System) -> Option<Hydraulics> {
    let number = |id| system.number(id);
    let given = |id| system.given_number(id);
    Some(Hydraulics {
        master: Master {
            bore: number(field!(master.bore))?,
            stroke: number(field!(master.stroke))?,
            port_travel: number(field!(master.port_travel))?,
            rod_clearance: number(field!(master.rod_clearance))?,
            efficiency: number(field!(master.efficiency))?,
            return_force: number(field!(master.return_force))?,
            mount_stiffness: given(field!(master.mount_stiffness)),
        },
        lines: system.lines.iter().map(line).collect::<Option<_>>()?,
        fluid: Fluid {
            bulk_modulus: given(field!(fluid.bulk_modulus)),
            air: number(field!(fluid.air))?,
            ambient: number(field!(fluid.ambient))?,
        },
        slave: Slave {
            bore: match given(field!(slave.outer)) {
                Some(outer) => SlaveBore::Annulus {
                    outer,
                    inner: number(field!(slave.inner))?,
                },
                None => SlaveBore::Round(number(field!(slave.bore))?),
            },
            stroke: number(field!(slave.stroke))?,
            rest_extension: number(field!(slave.rest_extension))?,
            preload: number(field!(slave.preload))?,
            efficiency: number(field!(slave.efficiency))?,
        },
    })
}

fn line(line: &Component) -> Option<Line> {
    let wall = if let Some(expansion) = line.number(field!(line.expansion)) {
        Wall::Hose { expansion }
    } else if let Some(thickness) = line.number(field!(line.wall)) {
        Wall::Tube {
            thickness,
            modulus: line.number(field!(line.modulus))?,
            poisson: line.number(field!(line.poisson))?,
        }
    } else {
        Wall::Rigid
    };
    Some(Line {
        bore: line.number(field!(line.bore))?,
        length: line.number(field!(line.length))?,
        wall,
    })
}

/// What a sound system says beside its chain.
fn extras(system: &System) -> Extras {
    let given = |id| system.given_number(id);
    let diaphragm = diaphragm(system);
    let ratio_of_spring = || Some(diaphragm?.spring()?.finger_ratio());
    let dial = system
        .curve(field!(bellhousing.dial))
        .and_then(|readings| Dial::from_readings(&readings));
    let runout = given(field!(bellhousing.runout)).map(bell_offset);
    Extras {
        wear: given(field!(disc.wear)),
        finger_ratio: given(field!(cover.finger_ratio)).or_else(ratio_of_spring),
        mount_to_fork: given(field!(slave.mount_to_fork)),
        face_to_seat: given(field!(slave.face_to_seat)),
        rod_offset: given(field!(slave.rod_offset)),
        rod: slave_rod(system),
        chamber: given(field!(slave.slope)).zip(given(field!(slave.chamber))),
        diaphragm,
        cushion: given(field!(disc.cushion)),
        clearance: given(field!(disc.clearance)),
        clamp_load: given(field!(cover.clamp_load)),
        disc: disc(system),
        engine: given(field!(engine.torque)).zip(system.number(field!(engine.service_factor))),
        bell_offset: runout.or(dial.map(|dial| dial.offset)),
        dial,
        bell_tilt: given(field!(bellhousing.face_runout))
            .zip(given(field!(bellhousing.face_circle)))
            .and_then(|(reading, circle)| bell_angle(reading, circle)),
        pilot_engagement: pilot(system),
        setup_gap: setup_gap(system),
        cold: cold(system),
        measured: measured(system),
    }
}

fn slave_rod(system: &System) -> Option<SlaveRod> {
    let to_square = system
        .given_number(field!(fork.rest_angle))
        .unwrap_or_default();
    Some(SlaveRod {
        // The spec gives the arm square to the push, with the fork at rest.
        arm: system.given_number(field!(fork.slave_arm))? / to_square.cos(),
        to_square,
        length: system.given_number(field!(slave.rod_length))?,
        offset: system.given_number(field!(slave.rod_offset))?,
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

fn disc(system: &System) -> Option<Disc> {
    system.component(block!(disc))?;
    Some(Disc {
        outer: system.number(field!(disc.outer))?,
        inner: system.number(field!(disc.inner))?,
        faces: system.number(field!(disc.faces))?,
        friction: system.number(field!(disc.friction))?,
    })
}

fn pilot(system: &System) -> Option<f64> {
    let given = |id| system.given_number(id);
    let past_mouth = pilot_penetration(
        given(field!(bellhousing.depth))?,
        system.number(field!(bellhousing.adapter))?,
        given(field!(gearbox.input_length))?,
        given(field!(gearbox.pilot_reach))?,
    );
    Some(pilot_engagement(
        past_mouth,
        given(field!(gearbox.pilot_depth)),
    ))
}

/// What the stack of the housing leaves between the fingers and a slave that is fully home.
fn setup_gap(system: &System) -> Option<f64> {
    let given = |id| system.given_number(id);
    let stack = given(field!(bellhousing.depth))? + system.number(field!(bellhousing.adapter))?;
    Some(stack - given(field!(cover.finger_height))? - given(field!(slave.height))?)
}

/// Viscosity and density at the coldest: as given, else the most that the fluid's grade allows.
fn cold(system: &System) -> Option<(f64, f64)> {
    let of_grade = || {
        system.given(field!(fluid.coldest))?;
        let grade = match system.word(field!(fluid.grade))? {
            "dot3" => Grade::Dot3,
            "dot4" => Grade::Dot4,
            "dot5" => Grade::Dot5,
            "dot5_1" => Grade::Dot51,
            _ => return None,
        };
        Some(grade.coldest_viscosity())
    };
    let viscosity = system
        .given_number(field!(fluid.viscosity))
        .or_else(of_grade)?;
    Some((viscosity, system.number(field!(fluid.density))?))
}

/// The measurement that says most about the fluid: the slave's travel before the bearing's, and
/// that before the point of release.
fn measured(system: &System) -> Option<(f64, Reading)> {
    let given = |id| system.given_number(id);
    let at = given(field!(measured.pedal_travel));
    if let Some(travel) = given(field!(measured.slave_travel)) {
        Some((at?, Reading::SlaveTravel(travel)))
    } else if let Some(travel) = given(field!(measured.bearing_travel)) {
        Some((at?, Reading::BearingTravel(travel)))
    } else {
        Some((given(field!(measured.release_point))?, Reading::Release))
    }
}
