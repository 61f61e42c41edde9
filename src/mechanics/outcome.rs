//! From a typed system to the chain's plain numbers, and from its summary to named results.

use super::{
    Actuation, Bearing, Chain, Cover, Curve, EndedBy, Fluid, Fork, Hydraulics, Leverage, Line,
    Load, Master, Pedal, STANDARD_ATMOSPHERE, Slave, SlaveBore, Wall,
};
use crate::model::{Component, System};
use crate::schema::{FieldId, RESULTS, ResultId};
use crate::{block, field, result};

/// Every result of a system that its spec supports.
#[derive(Clone, PartialEq, Debug)]
pub struct Results {
    values: Vec<Option<f64>>,
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
}

/// What is known of a system beside its chain. Lengths in mm.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub struct Extras {
    pub wear: Option<f64>,
    pub finger_ratio: Option<f64>,
    pub mount_to_fork: Option<f64>,
    pub face_to_seat: Option<f64>,
}

impl Results {
    /// A result in internal units; `None` where the spec does not say enough for it, or where
    /// the pedal does not get there.
    pub fn get(&self, id: ResultId) -> Option<f64> {
        self.values[id.index()]
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
    /// It is worked in a way, or described in a way, that the mechanics do not cover.
    NotCovered,
    /// Its numbers have no meaning together: nothing moves, or a lever cannot reach.
    Impossible,
}

impl NotWorked {
    /// Why, as the end of a sentence.
    pub fn words(self) -> &'static str {
        match self {
            Self::Unsound => "the spec is incomplete or has mistakes in it",
            Self::NotCovered => "this way of actuation is not worked out yet",
            Self::Impossible => "the numbers have no meaning together",
        }
    }
}

/// Works out a system.
///
/// # Errors
/// Why nothing can be worked out.
pub fn work_out(system: &System) -> Result<Outcome, NotWorked> {
    if !system.sound {
        return Err(NotWorked::Unsound);
    }
    if !system.chooses.is_empty() {
        return Err(NotWorked::NotCovered);
    }
    let chain = chain(system).ok_or(NotWorked::NotCovered)?;
    let extras = Extras {
        wear: system.given_number(field!(disc.wear)),
        finger_ratio: system.given_number(field!(cover.finger_ratio)),
        mount_to_fork: system.given_number(field!(slave.mount_to_fork)),
        face_to_seat: system.given_number(field!(slave.face_to_seat)),
    };
    Outcome::new(chain, extras).ok_or(NotWorked::Impossible)
}

/// Why a result is absent although the system is worked out, as a sentence.
pub fn why_absent(system: &System, id: ResultId) -> String {
    let given = |path: &&str| {
        let (block, name) = path.split_once('.')?;
        let block = crate::schema::Block::named(block)?;
        let field = crate::schema::BLOCKS[block as usize].field_index(name)?;
        system.given(FieldId { block, field })
    };
    let missing: Vec<&str> = id
        .spec()
        .needs
        .iter()
        .copied()
        .filter(|path| given(path).is_none())
        .collect();
    if missing.is_empty() {
        "full pedal does not get there".to_owned()
    } else {
        format!("needs {}", missing.join(" and "))
    }
}

impl Outcome {
    /// The results of a chain; `None` if its numbers have no meaning together.
    pub fn new(chain: Chain, extras: Extras) -> Option<Self> {
        let s = chain.summary()?;
        let mut values = vec![None; RESULTS.len()];
        let mut set = |id: ResultId, value: Option<f64>| values[id.index()] = value;
        set(result!(pedal_ratio), Some(s.pedal_ratio));
        set(result!(hydraulic_ratio), s.hydraulic_ratio);
        set(result!(fork_ratio), Some(s.fork_ratio));
        set(result!(overall_ratio), Some(s.overall_ratio));
        set(result!(pedal_travel_used), Some(s.pedal_travel_used));
        set(result!(master_travel), s.master_travel);
        set(result!(master_reserve), s.master_reserve);
        set(result!(slave_travel_ideal), s.slave_travel_ideal);
        set(result!(slave_travel), s.slave_travel);
        set(result!(slave_reserve), s.slave_reserve);
        set(result!(lost_hose), s.lost_hose);
        // Without a bulk modulus the fluid's share is left out of the model, not zero.
        let Actuation::Hydraulic(hydraulics) = &chain.actuation;
        set(
            result!(lost_fluid),
            s.lost_fluid
                .filter(|_| hydraulics.fluid.bulk_modulus.is_some()),
        );
        set(result!(lost_air), s.lost_air);
        set(result!(lost_flex), s.lost_flex);
        set(result!(lost_port), s.lost_port);
        set(result!(bearing_travel), Some(s.bearing_travel));
        set(result!(finger_travel), Some(s.finger_travel));
        set(result!(release_margin), Some(s.release_margin));
        set(result!(overtravel_margin), Some(s.overtravel_margin));
        set(result!(release_point), s.release_point);
        set(result!(stop_travel), s.stop_travel);
        set(result!(line_pressure), s.line_pressure);
        set(result!(pedal_effort), Some(s.pedal_effort));
        set(result!(pedal_effort_full), Some(s.pedal_effort_full));
        set(result!(pedal_effort_return), s.pedal_effort_return);
        set(result!(pedal_work), Some(s.pedal_work));
        let rest_extension = hydraulics.slave.rest_extension;
        set(
            result!(wear_reserve),
            extras.wear.zip(extras.finger_ratio).map(|(wear, ratio)| {
                chain.bearing.free_play + rest_extension / chain.fork.ratio - wear * ratio
            }),
        );
        set(
            result!(rod_cut_length),
            extras
                .mount_to_fork
                .zip(extras.face_to_seat)
                .map(|(mount, seat)| mount + seat - rest_extension),
        );
        set(
            result!(plate_lift),
            extras.finger_ratio.map(|ratio| s.finger_travel / ratio),
        );
        Some(Self {
            chain,
            extras,
            ended_by: s.ended_by,
            results: Results { values },
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

    /// The hydraulic part of the chain.
    pub fn hydraulics(&self) -> &Hydraulics {
        let Actuation::Hydraulic(hydraulics) = &self.chain.actuation;
        hydraulics
    }
}

impl Chain {
    /// The hydraulic part, to be changed.
    pub fn hydraulics_mut(&mut self) -> &mut Hydraulics {
        let Actuation::Hydraulic(hydraulics) = &mut self.actuation;
        hydraulics
    }
}

/// The chain of a sound system; `None` where it is not a hydraulic one with a known cover.
fn chain(system: &System) -> Option<Chain> {
    system.component(block!(master))?;
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
            Some(points) => Some(Curve::new(points.to_vec())?),
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
    let load = match system.curve(field!(cover.release_load)) {
        Some(points) => Load::Curve(Curve::new(points.to_vec())?),
        None => Load::Peak(given(field!(cover.release_load))?),
    };
    Some(Chain {
        pedal,
        actuation: Actuation::Hydraulic(hydraulics(system)?),
        fork,
        bearing: Bearing {
            free_play: number(field!(bearing.free_play))?,
        },
        cover: Cover { needed, most, load },
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
            ambient: STANDARD_ATMOSPHERE,
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
