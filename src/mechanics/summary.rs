//! The results of a chain at full pedal, in one place.

use super::actuation::Mechanism;
use super::chain::{Chain, EndedBy};
use super::domain::finite;

/// What a chain comes to. Travels in mm, forces in N, pressures in MPa, work in N·mm.
///
/// The hydraulic results are `None` for an actuation that has no fluid; others are `None` where their own
/// comment says so.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Summary {
    /// Nominal pedal ratio.
    pub pedal_ratio: f64,
    /// Slave area over master area.
    pub hydraulic_ratio: Option<f64>,
    /// Fork ratio.
    pub fork_ratio: f64,
    /// Pad travel over bearing travel, and bearing load over effort, with no losses: the product of the
    /// ratios.
    pub overall_ratio: f64,
    /// What ends the pedal's travel.
    pub ended_by: EndedBy,
    /// Pad travel at full pedal.
    pub pedal_travel_used: f64,
    /// Master piston travel at full pedal.
    pub master_travel: Option<f64>,
    /// Master stroke left at full pedal.
    pub master_reserve: Option<f64>,
    /// Slave travel at full pedal with no volume lost: what the master displaces once its port is shut,
    /// over the slave's area.
    pub slave_travel_ideal: Option<f64>,
    /// Slave travel at full pedal.
    pub slave_travel: Option<f64>,
    /// Slave stroke left at full pedal; below zero if the piston would have to leave its stroke.
    pub slave_reserve: Option<f64>,
    /// Slave travel lost to the widening of hoses and tubes.
    pub lost_hose: Option<f64>,
    /// Slave travel lost to the compression of the fluid.
    pub lost_fluid: Option<f64>,
    /// Slave travel lost to the compression of trapped air.
    pub lost_air: Option<f64>,
    /// Slave travel lost to the bending of the fork and the giving way of the master's mount.
    pub lost_flex: Option<f64>,
    /// Slave travel lost until the master's port is shut.
    pub lost_port: Option<f64>,
    /// Release bearing's travel at full pedal.
    pub bearing_travel: f64,
    /// Travel of the diaphragm's fingers at full pedal.
    pub finger_travel: f64,
    /// Finger travel at full pedal beyond what frees the disc; below zero if it is not freed.
    pub release_margin: f64,
    /// Finger travel left before the most the cover may take; below zero if it is overtravelled.
    pub overtravel_margin: f64,
    /// Pad travel at which the disc comes free; `None` if full pedal does not get there.
    pub release_point: Option<f64>,
    /// Pad travel at which the cover has taken the most it may; `None` if full pedal does not get there.
    pub stop_travel: Option<f64>,
    /// Highest pressure on the press.
    pub line_pressure: Option<f64>,
    /// Highest effort at the pad on the press.
    pub pedal_effort: f64,
    /// Effort at the pad at full pedal.
    pub pedal_effort_full: f64,
    /// Least effort at the pad on the return while the bearing is on the fingers; `None` if it does not
    /// come to touch them. Below zero the pedal stays down.
    pub pedal_effort_return: Option<f64>,
    /// Work at the pad on the press.
    pub pedal_work: f64,
}

impl Chain {
    /// The results at full pedal; `None` if an input has no meaning or a result grows past bounds.
    pub fn summary(&self) -> Option<Summary> {
        let walk = self.walk()?;
        let full = walk.full_pedal()?;
        let state = &full.state;
        let Mechanism::Hydraulic(circuit) = &walk.mechanism;
        let ratio = walk.mechanism.ratio();
        let as_slave_travel = |volume: f64| finite(volume / circuit.slave_area).map(Some);
        let ended_by_travel = |travel: f64| finite(travel / ratio).map(Some);
        let pedal_ratio = finite(self.pedal.ratio())?;
        Some(Summary {
            pedal_ratio,
            hydraulic_ratio: finite(ratio).map(Some)?,
            fork_ratio: self.fork.ratio,
            overall_ratio: finite(pedal_ratio * ratio * self.fork.ratio)?,
            ended_by: full.ended_by,
            pedal_travel_used: state.pad_travel,
            master_travel: Some(state.master_travel),
            master_reserve: Some(circuit.stroke - state.master_travel),
            slave_travel_ideal: ended_by_travel(state.master_active_travel)?,
            slave_travel: Some(state.slave_travel),
            slave_reserve: finite(circuit.slave_stroke_left - state.slave_travel).map(Some)?,
            lost_hose: as_slave_travel(state.lost.lines)?,
            lost_fluid: as_slave_travel(state.lost.fluid)?,
            lost_air: as_slave_travel(state.lost.air)?,
            lost_flex: finite(state.fork_flex + state.mount_flex / ratio).map(Some)?,
            lost_port: ended_by_travel(state.master_travel - state.master_active_travel)?,
            bearing_travel: state.bearing_travel,
            finger_travel: state.finger_travel,
            release_margin: state.finger_travel - self.cover.needed,
            overtravel_margin: self.cover.most - state.finger_travel,
            release_point: walk.pad_travel_at_finger(&full, self.cover.needed),
            stop_travel: walk.pad_travel_at_finger(&full, self.cover.most),
            line_pressure: Some(walk.highest_pressure(&full)),
            pedal_effort: walk.highest_effort(&full)?,
            pedal_effort_full: state.effort,
            pedal_effort_return: walk.least_return_effort(&full),
            pedal_work: walk.work(&full)?,
        })
    }
}
