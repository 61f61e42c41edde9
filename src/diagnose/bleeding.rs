//! The numbers for bleeding a car: where the air can be, how often to pump, what to look for.

use super::readings::Reading;
use crate::field;
use crate::mechanics::{Line, bore_area};
use crate::model::System;
use crate::result;
use crate::solve::Outcome;

/// The numbers for bleeding a car. Lengths in mm, volumes in mm³, angles in rad.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct BleedingPlan {
    /// Air to remove, at atmospheric pressure; `None` where no readings give its volume.
    pub air: Option<f64>,
    /// Air that the slope of the slave's bore can hold, at most the air that is there if that is known. `None` where
    /// the spec does not give the slave's slope.
    pub held: Option<f64>,
    /// Air that the slope cannot hold. It is elsewhere or keeps coming in.
    pub elsewhere: Option<f64>,
    /// How far to tilt the slave so that its far end is no longer higher than the screw. `None` where it is not
    /// higher, or the spec does not say.
    pub tilt: Option<f64>,
    /// How far to push the slave's piston fully home.
    pub push_home: f64,
    /// Fluid that pushing it home sends back to the reservoir.
    pub pushed_back: f64,
    /// Fluid that one full stroke of the pedal moves.
    pub per_stroke: f64,
    /// Fluid between the master and the bleed screw: in the lines, and in the slave with its piston home.
    pub to_screw: f64,
    /// Full strokes until a bubble at the master reaches the screw.
    pub strokes: u32,
    /// How far one stroke moves a bubble along the narrowest line; `None` without lines.
    pub moved: Option<f64>,
    /// Whether one stroke carries a bubble through all lines, and so past any high point in them. If not, it may rise
    /// back to a high point between two strokes. Then only an immediate second stroke, or bleeding back from the
    /// slave, carries it over.
    pub clears_lines: bool,
    /// Slave travel at full pedal to look for after bleeding.
    pub slave_travel: f64,
    /// The most slave travel that a second push straight after the first may gain, and that a minute's hold may lose:
    /// the accuracy of a tape. A larger gain means air, a larger loss a leak.
    pub most_change: f64,
}

impl BleedingPlan {
    /// The numbers for a volume of air, mm³, or without one. `None` for a car without fluid, and where the master
    /// moves none.
    pub fn new(system: &System, outcome: &Outcome, air: Option<f64>) -> Option<Self> {
        let hydraulics = outcome.hydraulics()?;
        let slave_travel = outcome.get(result!(slave_travel))?;
        let active = outcome.get(result!(master_travel))? - hydraulics.master.port_travel;
        let per_stroke = bore_area(hydraulics.master.bore) * active;
        let lines: f64 = hydraulics.lines.iter().map(Line::volume).sum();
        let area = hydraulics.slave.bore.area();
        let chamber = system.given_number(field!(slave.chamber)).unwrap_or(0.0);
        let to_screw = lines + area * chamber;
        let strokes = (to_screw / per_stroke).ceil();
        let narrowest = hydraulics.lines.iter().map(|line| line.bore);
        let narrowest = narrowest.min_by(f64::total_cmp);
        let held = outcome.get(result!(bubble_volume));
        Some(Self {
            air,
            held: held.map(|held| air.map_or(held, |air| held.min(air))),
            elsewhere: air.zip(held).map(|(air, held)| (air - held).max(0.0)),
            tilt: system
                .given_number(field!(slave.slope))
                .filter(|slope| *slope > 0.0),
            push_home: hydraulics.slave.rest_extension,
            pushed_back: area * hydraulics.slave.rest_extension,
            per_stroke,
            to_screw,
            strokes: (per_stroke > 0.0 && strokes <= f64::from(u32::MAX))
                .then_some(strokes.max(1.0) as u32)?,
            moved: narrowest.map(|bore| per_stroke / bore_area(bore)),
            clears_lines: per_stroke >= lines,
            slave_travel,
            most_change: Reading::SlaveTravel.accuracy(slave_travel),
        })
    }
}
