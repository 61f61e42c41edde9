//! The results of a chain at full pedal, in one place.

use super::actuation::Cylinders;
use super::cable::Cable;
use super::chain::Chain;
use super::domain::finite;
use super::efficiency::Stroke;
use super::hydraulics::Circuit;
use super::limit::EndedBy;
use super::walk::{FullPedal, State, Walk};

/// The results of a chain. Travels in mm, forces in N, pressures in MPa, work in N·mm.
///
/// Results of master, slave and fluid are `None` for a cable or a linkage. Others are `None` where their own comment
/// says so.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Summary {
    /// Nominal pedal ratio.
    pub pedal_ratio: f64,
    /// Travel at the pedal's rod over travel at the fork's outer end, without losses and relay levers. It is slave
    /// area over master area, 1 for a cable, in arm over out arm for a linkage.
    pub actuation_ratio: f64,
    /// Input travel over output travel of all relay levers and of a cross-shaft that is not square, at full pedal;
    /// `None` where there are none.
    pub relay_ratio: Option<f64>,
    /// Slave area over master area.
    pub hydraulic_ratio: Option<f64>,
    /// Fork ratio.
    pub fork_ratio: f64,
    /// Pad travel over bearing travel, without losses: the product of the ratios. It is also bearing load over
    /// effort.
    pub overall_ratio: f64,
    /// What ends the pedal's travel.
    pub ended_by: EndedBy,
    /// Pad travel at full pedal.
    pub pedal_travel_used: f64,
    /// Pad travel used before the bearing begins to move. It exceeds `pedal_travel_used` if the bearing never moves.
    /// `None` if the pedal's geometry cannot reach it at all.
    pub idle_pad_travel: Option<f64>,
    /// Pad travel at which the bearing touches the fingers, wherever the pedal ends; `None` if the pedal's geometry
    /// cannot reach it.
    pub free_travel: Option<f64>,
    /// Master piston travel at full pedal.
    pub master_travel: Option<f64>,
    /// Master stroke left at full pedal.
    pub master_reserve: Option<f64>,
    /// Slave travel at the pad travel of full pedal without losses. It is the volume that the master displaces after
    /// its port is shut, on a rigid mount, over the slave's area.
    pub slave_travel_ideal: Option<f64>,
    /// Slave travel at full pedal.
    pub slave_travel: Option<f64>,
    /// Slave stroke left at the place to which pedal and master would bring the piston; below zero if its stroke ends
    /// before.
    pub slave_reserve: Option<f64>,
    /// Travel left in the fork's window at the place to which pedal and master would bring its outer end. Below zero
    /// the fork strikes the housing first. `None` where no window is given.
    pub fork_reserve: Option<f64>,
    /// Travel left of the bearing on its guide; below zero if it runs off. `None` where no guide is given.
    pub bearing_reserve: Option<f64>,
    /// Slave travel lost to the widening of hoses and tubes.
    pub lost_hose: Option<f64>,
    /// Slave travel lost to the compression of the fluid.
    pub lost_fluid: Option<f64>,
    /// Slave travel lost to the compression of trapped air.
    pub lost_air: Option<f64>,
    /// Travel at the fork's outer end lost to deflection of the fork, the slave's bracket, relay levers, the cable or
    /// the linkage, and the master's mount.
    pub lost_flex: f64,
    /// Slave travel lost until the master's port is shut.
    pub lost_port: Option<f64>,
    /// Travel at the fork's outer end lost to the play of cable, linkage and relay levers; `None` where there are none.
    pub lost_play: Option<f64>,
    /// Travel of the fork's outer end at full pedal.
    pub fork_travel: f64,
    /// Travel of the slave's rod, of the cable's end or of the linkage's last rod at full pedal.
    pub output_travel: f64,
    /// Release bearing's travel at full pedal.
    pub bearing_travel: f64,
    /// Travel of the diaphragm's fingers at full pedal.
    pub finger_travel: f64,
    /// Finger travel at full pedal beyond what releases the disc; below zero if it is not released.
    pub release_margin: f64,
    /// Finger travel left up to the most that the cover allows; below zero if the cover is overtravelled.
    pub overtravel_margin: f64,
    /// Pad travel at which the disc is released; `None` if full pedal does not reach it.
    pub release_point: Option<f64>,
    /// Pad travel at which the fingers reach the most that the cover allows; `None` if full pedal does not reach it.
    pub stop_travel: Option<f64>,
    /// Highest pressure on the press, at the slave.
    pub line_pressure: Option<f64>,
    /// Highest pressure on the press on the master's side of an intensifier; `None` without one.
    pub master_pressure: Option<f64>,
    /// Travel of the intensifier's piston at full pedal; `None` without one.
    pub intensifier_travel: Option<f64>,
    /// Intensifier's stroke left at the place to which pedal and master would bring it; `None` without one.
    pub intensifier_reserve: Option<f64>,
    /// Highest force in the pedal's rod on the press; for a cable, its highest tension.
    pub rod_force: f64,
    /// Highest force on the press at the input of cylinders, cable or linkage, behind the relay levers at the pedal.
    pub input_force: f64,
    /// Tension at the fork over tension at the pedal, on the press; `None` for anything but a cable.
    pub cable_efficiency: Option<f64>,
    /// Highest effort at the pad on the press.
    pub pedal_effort: f64,
    /// Effort at the pad at full pedal.
    pub pedal_effort_full: f64,
    /// Least effort at the pad on the return while the bearing is on the fingers; `None` if it does not touch them.
    /// Below zero the pedal stays down.
    pub pedal_effort_return: Option<f64>,
    /// Work at the pad on the press.
    pub pedal_work: f64,
}

impl Chain {
    /// The results at full pedal; `None` if an input has no meaning or a result grows without bound.
    pub fn summary(&self) -> Option<Summary> {
        let walk = self.walk()?;
        walk.summary(&walk.full_pedal()?)
    }

    /// The release margin at full pedal without the other results; `None` if an input has no meaning.
    pub fn release_margin(&self) -> Option<f64> {
        let full = self.walk()?.full_pedal()?;
        Some(full.state.finger_travel - self.cover.needed)
    }
}

impl Walk<'_> {
    /// The results at full pedal; `None` if one grows without bound.
    pub fn summary(&self, full: &FullPedal) -> Option<Summary> {
        let chain = self.chain;
        let state = &full.state;
        let asked_full = self.asked_for(full)?;
        let asked = asked_full.state;
        let ratio = self.mechanism.ratio();
        let pedal_ratio = finite(chain.pedal.ratio())?;
        let wet = match (self.mechanism.circuit(), &state.cylinders) {
            (Some(circuit), Some(cylinders)) => {
                Some(Wet::new(circuit, cylinders, state.give, &asked)?)
            }
            _ => None,
        };
        let highest = self.highest_forces(full);
        Some(Summary {
            pedal_ratio,
            actuation_ratio: finite(ratio)?,
            hydraulic_ratio: wet.map(|_| ratio),
            fork_ratio: chain.fork.ratio,
            overall_ratio: finite(
                pedal_ratio * ratio * chain.fork.ratio * chain.relays.ratio_at_rest(),
            )?,
            relay_ratio: self.relay_ratio(full),
            ended_by: full.ended_by,
            pedal_travel_used: state.pad_travel,
            idle_pad_travel: self.idle_pad_travel(),
            free_travel: self.touching_pad_travel(),
            master_travel: wet.map(|wet| wet.master_travel),
            master_reserve: wet.map(|wet| wet.master_reserve),
            slave_travel_ideal: wet.map(|wet| wet.slave_travel_ideal),
            slave_travel: wet.map(|_| state.output_travel),
            slave_reserve: wet.map(|wet| wet.slave_reserve),
            fork_reserve: chain.fork.window.map(|most| most - asked.fork_travel),
            bearing_reserve: chain
                .bearing
                .max_travel
                .map(|most| most - asked.bearing_travel),
            lost_hose: wet.map(|wet| wet.lost_hose),
            lost_fluid: wet.map(|wet| wet.lost_fluid),
            lost_air: wet.map(|wet| wet.lost_air),
            lost_flex: finite(self.flex_at(&full.place))?,
            lost_port: wet.map(|wet| wet.lost_port),
            lost_play: match self.lost_play() {
                Some(play) => Some(finite(play)?),
                None => None,
            },
            fork_travel: state.fork_travel,
            output_travel: state.output_travel,
            bearing_travel: state.bearing_travel,
            finger_travel: state.finger_travel,
            release_margin: state.finger_travel - chain.cover.needed,
            overtravel_margin: chain.cover.most - state.finger_travel,
            release_point: self.pad_travel_at_finger(full, chain.cover.needed),
            stop_travel: self.pad_travel_at_finger(full, chain.cover.most),
            line_pressure: highest.pressure,
            master_pressure: self.highest_master_pressure(full),
            intensifier_travel: self.intensifier_travel(full),
            intensifier_reserve: self
                .intensifier_travel(&asked_full)
                .map(|travel| self.stops.stepped_travel - travel),
            rod_force: finite(highest.rod_force)?,
            input_force: finite(highest.input_force)?,
            cable_efficiency: chain.actuation.cable().map(Cable::efficiency),
            pedal_effort: self.highest_effort(full)?,
            pedal_effort_full: state.effort,
            pedal_effort_return: self.least_return_effort(full),
            pedal_work: self.work(full)?,
        })
    }
}

impl Walk<'_> {
    /// Travel of the intensifier's piston, mm, at a place; `None` without one.
    fn intensifier_travel(&self, full: &FullPedal) -> Option<f64> {
        self.mechanism.circuit()?.stepped.piston?;
        let driven = self.driven(&full.place, Stroke::Press);
        Some(driven.drive.stepped_travel)
    }
}

/// The results that only a hydraulic actuation has.
#[derive(Clone, Copy)]
struct Wet {
    master_travel: f64,
    master_reserve: f64,
    slave_travel_ideal: f64,
    slave_reserve: f64,
    lost_hose: f64,
    lost_fluid: f64,
    lost_air: f64,
    lost_port: f64,
}

impl Wet {
    fn new(circuit: &Circuit, cylinders: &Cylinders, give: f64, asked: &State) -> Option<Self> {
        let per_travel = circuit.slave_area * circuit.stepped.boost;
        let as_slave_travel = |volume: f64| finite(volume / per_travel);
        let by_ratio = |travel: f64| finite(travel / circuit.ratio);
        let mut lossless = cylinders.master_active_travel;
        if give > 0.0 {
            let on_rigid_mount = (cylinders.master_travel + give).min(circuit.stroke);
            lossless = lossless.max(on_rigid_mount - circuit.port_travel);
        }
        Some(Self {
            master_travel: cylinders.master_travel,
            master_reserve: circuit.stroke - cylinders.master_travel,
            slave_travel_ideal: by_ratio(lossless)?,
            slave_reserve: finite(circuit.slave_stroke_left - asked.output_travel)?,
            lost_hose: as_slave_travel(cylinders.lost.lines)?,
            lost_fluid: as_slave_travel(cylinders.lost.fluid)?,
            lost_air: as_slave_travel(cylinders.lost.air)?,
            lost_port: by_ratio(cylinders.master_travel - cylinders.master_active_travel)?,
        })
    }
}
