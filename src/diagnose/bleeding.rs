//! What bleeding this car takes, in numbers: where the air can sit, how often to pump, what to look for.

use super::readings::Reading;
use crate::field;
use crate::mechanics::{Line, bore_area};
use crate::model::System;
use crate::result;
use crate::solve::Outcome;

/// The numbers for bleeding a car. Lengths in mm, volumes in mm³, angles in rad.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct BleedingPlan {
    /// Air to get out, at atmospheric pressure; `None` where no readings say how much there is.
    pub air: Option<f64>,
    /// What the slope of the slave's bore can hold, of the air where that is known; `None` where the spec does not say
    /// how the slave lies.
    pub held: Option<f64>,
    /// What of the air the slope cannot hold, and so sits elsewhere or comes in anew.
    pub elsewhere: Option<f64>,
    /// How far to tilt the slave so that its far end no longer lies higher than the screw; `None` where it does not, or
    /// the spec does not say.
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
    /// How far along a line of this car one stroke moves a bubble, in the narrowest of them; `None` without lines.
    pub moved: Option<f64>,
    /// Whether one stroke carries a bubble through all lines, and so past any high point in them. If not, it may rise
    /// back to a high point between two strokes, and only a stroke that follows at once, or bleeding back from the
    /// slave, takes it over.
    pub clears_lines: bool,
    /// Slave travel at full pedal to look for afterwards.
    pub slave_travel: f64,
    /// Slave travel that a second push straight after the first may gain, and that a minute's hold may lose, at most: the
    /// accuracy of a tape. More of the one is air, of the other a leak.
    pub most_change: f64,
}

impl BleedingPlan {
    /// The numbers for so much air, mm³, or for any; `None` for a car without fluid, and where the master moves none.
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
