//! What a tape, a scale and a gauge show on a car at any pad travel.

use super::chain::Chain;
use super::cover::{Cover, Load};
use super::domain::finite;
use super::drive::Drive;
use super::efficiency::Stroke;
use super::interpolation::Curve;
use super::limit::Limit;
use super::numeric::root;
use super::walk::Walk;

/// What can be read while the pad is held at one place. Travels in mm from rest, forces in N, pressures in MPa.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Readings {
    /// Pad travel; at most that of full pedal.
    pub pad_travel: f64,
    /// Travel of the master's piston in its cylinder; `None` for a cable or a linkage.
    pub master_travel: Option<f64>,
    /// Travel of the fork's outer end. Without a relay lever between them, the slave's rod moves with it.
    pub fork_travel: f64,
    /// Travel of the slave's rod, of the cable's end or of the linkage's last rod.
    pub output_travel: f64,
    /// Travel of the release bearing.
    pub bearing_travel: f64,
    /// Travel of the diaphragm's fingers.
    pub finger_travel: f64,
    /// Force that holds the pad there.
    pub held_effort: f64,
    /// Highest force at the pad on the way there.
    pub pedal_effort: Option<f64>,
    /// Highest pressure on the way there; `None` for a cable or a linkage.
    pub line_pressure: Option<f64>,
    /// Highest force in the pedal's rod on the way there.
    pub rod_force: f64,
    /// Force at the fork's outer end.
    pub fork_force: f64,
}

impl Walk<'_> {
    /// What is read with the pad held at `pad_travel`, mm, or at full pedal if that is less or no travel is given.
    /// The highest effort is searched for only if `with_effort` is set, as that takes longest.
    ///
    /// `None` where a number grows without bound.
    pub fn readings(&self, pad_travel: Option<f64>, with_effort: bool) -> Option<Readings> {
        let walk = self.up_to(pad_travel)?;
        let full = walk.full_pedal()?;
        let state = &full.state;
        Some(Readings {
            pad_travel: state.pad_travel,
            master_travel: state.cylinders.map(|cylinders| cylinders.master_travel),
            fork_travel: state.fork_travel,
            output_travel: state.output_travel,
            bearing_travel: state.bearing_travel,
            finger_travel: state.finger_travel,
            held_effort: state.effort,
            pedal_effort: match with_effort {
                true => Some(walk.highest_effort(&full)?),
                false => None,
            },
            line_pressure: walk.highest_pressure(&full),
            rod_force: walk.highest_rod_force(&full),
            fork_force: state.fork_force,
        })
    }

    /// The walk with its pedal ended at `pad_travel`, mm, where that is less than it has.
    fn up_to(&self, pad_travel: Option<f64>) -> Option<Self> {
        let mut walk = *self;
        if let Some(pad_travel) = pad_travel.filter(|at| *at < self.limit.pad_travel) {
            walk.limit = Limit {
                pad_travel,
                rod_travel: self.geometry.rod_travel(pad_travel)?,
                ..self.limit
            };
        }
        Some(walk)
    }

    /// Force at the pad, N, that is let up slowly from `pad_travel`, mm, or from full pedal, as the clutch starts back
    /// against all friction; zero where nothing pushes the pad. `None` where a number grows past bounds.
    pub fn let_up_effort(&self, pad_travel: Option<f64>) -> Option<f64> {
        let walk = self.up_to(pad_travel)?;
        let full = walk.full_pedal()?;
        Some(walk.effort(&full.place, Stroke::Return)?.max(0.0))
    }

    /// Least effort at the pad, N, on all the way back from full pedal. Below zero the pedal does not come up by itself.
    /// `None` where a number grows past bounds.
    pub fn least_effort_up(&self) -> Option<f64> {
        let full = self.full_pedal()?;
        let slack = self.least_slack_effort(&full)?;
        let on_fingers = self.least_return_effort(&full);
        Some(on_fingers.map_or(slack, |least| least.min(slack)))
    }

    /// Pad travel, mm, at which the disc is released, wherever the pedal ends; `None` where its geometry cannot
    /// reach.
    pub fn release_pad_travel(&self) -> Option<f64> {
        let within = |full| self.pad_travel_at_finger(&full, self.chain.cover.needed);
        if let Some(pad_travel) = self.full_pedal().and_then(within) {
            return Some(pad_travel);
        }
        let bearing = finite(self.chain.bearing.free_play + self.chain.cover.needed)?;
        Some(self.on_cover(bearing, Stroke::Press)?.pad_travel)
    }

    /// Pad travel, mm, at which the pad takes `effort`, N, while the slave's rod cannot move: everything before it
    /// only takes up play and deflects. If the pedal or the master ends first, it is the travel there. `None` for a
    /// cable or a linkage, and where a number grows without bound.
    pub fn blocked_pad_travel(&self, effort: f64) -> Option<f64> {
        /// A pressure that no line comes near, MPa.
        const MOST: f64 = 1e4;
        let circuit = self.mechanism.circuit()?;
        let rod_of = |drive: &Drive| {
            let input = self.clearance + drive.rod_travel();
            self.rod_of(input, drive.input_force, Stroke::Press)
        };
        let over = |pressure: f64| {
            let drive = circuit.blocked(pressure);
            let rod = rod_of(&drive);
            let past_end = (rod.travel - self.limit.rod_travel)
                .max(drive.input_travel - circuit.stroke)
                .max(drive.stepped_travel - self.stops.stepped_travel);
            match self.geometry.position(rod.travel) {
                Some(position) if past_end < 0.0 => {
                    let force = self.chain.pedal.effort(position, rod.force, Stroke::Press);
                    past_end.max(force - effort)
                }
                _ => past_end.max(0.0),
            }
        };
        let (none, most) = (over(0.0), over(MOST));
        let pressure = match (none < 0.0, most >= 0.0) {
            (false, _) => 0.0,
            (true, true) => root(over, (0.0, none), (MOST, most), 1e-9),
            (true, false) => return None,
        };
        let rod = rod_of(&circuit.blocked(pressure)).travel;
        let position = self.geometry.position(rod);
        let reached = position.map_or(f64::INFINITY, |position| position.pad_travel);
        finite(reached.min(self.limit.pad_travel))
    }

    /// Pad travel, mm, at which the pedal's rod has taken up its clearance.
    pub fn clearance_pad_travel(&self) -> Option<f64> {
        let rod = self.rod_of(self.clearance, 0.0, Stroke::Press).travel;
        Some(self.geometry.position(rod)?.pad_travel)
    }

    /// Pad travel, mm, before anything pushes back at a finger. It ends where the pedal's rod meets the master's
    /// piston, or where a cable or a linkage has brought the bearing to the fingers. At most the pedal's travel.
    /// `None` where its geometry cannot reach.
    pub fn free_pad_travel(&self) -> Option<f64> {
        let rod_travel = match self.mechanism.circuit() {
            Some(_) => self.rod_of(self.clearance, 0.0, Stroke::Press).travel,
            None => {
                let met = self.place_on_cover(self.chain.bearing.free_play);
                self.driven(&met, Stroke::Press).rod_travel
            }
        };
        match rod_travel < self.limit.rod_travel {
            true => finite(self.geometry.position(rod_travel)?.pad_travel),
            false => finite(self.limit.pad_travel),
        }
    }

    /// Pad travel, mm, at which the fork's outer end has moved by `travel`, mm; `None` if it never gets there.
    pub fn pad_travel_at_fork(&self, travel: f64) -> Option<f64> {
        let place = self.place_at_fork_travel(travel)?;
        Some(self.state(&place, Stroke::Press)?.pad_travel)
    }
}

impl Chain {
    /// Finger travel, mm, when the fork's outer end has moved by `travel`, mm, independent of what drives it; `None`
    /// for numbers without meaning.
    pub fn finger_travel_at_fork(&self, travel: f64) -> Option<f64> {
        let place = self.walk()?.place_at_fork_travel(travel)?;
        finite((place.bearing - self.bearing.free_play).max(0.0))
    }

    /// Finger travel, mm, when the slave's rod, the cable's end or the linkage's last rod has moved by `travel`, mm.
    /// `None` where [`Chain::finger_travel_at_fork`] is.
    pub fn finger_travel_at_output(&self, travel: f64) -> Option<f64> {
        Some(self.release_margin_at(travel)? + self.cover.needed)
    }
}

impl Cover {
    /// The cover with its load multiplied by `share` everywhere; `None` for numbers without meaning.
    pub fn with_load(&self, share: f64) -> Option<Self> {
        let load = match &self.load {
            Load::Peak(peak) => Load::Peak(finite(peak * share)?),
            Load::Curve(curve) => {
                let knots = curve.knots().iter().map(|(x, load)| (*x, load * share));
                Load::Curve(Curve::new(knots.collect())?)
            }
        };
        Some(Self {
            load,
            ..self.clone()
        })
    }

    /// The cover with a disc that is released `later`, mm of finger travel, under the same load.
    pub fn freeing_later(&self, later: f64) -> Option<Self> {
        let load = match &self.load {
            // The line to the peak stays where it is.
            Load::Peak(peak) if self.needed > 0.0 => {
                Load::Curve(Curve::new(vec![(0.0, 0.0), (self.needed, *peak)])?)
            }
            load => load.clone(),
        };
        Some(Self {
            needed: finite(self.needed + later)?,
            load,
            ..self.clone()
        })
    }
}
