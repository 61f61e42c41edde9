//! The pedal pressed as far as it goes, and what ends its travel.

use super::domain::finite;
use super::efficiency::Stroke;
use super::leg::{Leg, WalkPoint};
use super::limit::{EndedBy, HardStops, Limit};
use super::numeric::{first_crossing, root};
use super::pedal::PedalPosition;
use super::walk::{Driven, FullPedal, Walk};

/// How far a place is beyond everything that may end the travel, mm; below zero before the end is reached.
#[derive(Clone, Copy)]
struct Beyond {
    /// Beyond the pedal's limit, as rod travel.
    rod: f64,
    /// Beyond the master's stroke, as rod travel.
    input: f64,
    /// Beyond the intensifier's stroke, as its travel.
    stepped: f64,
    /// Beyond the end of the slave's stroke, as its travel, where a relay lever lies between it and the fork.
    output: f64,
    /// Beyond what stops the fork's outer end, as its travel.
    fork: f64,
    /// Beyond what stops the bearing, as its travel.
    bearing: f64,
    /// Beyond dead centre of a relay lever, as its output's travel.
    dead_centre: f64,
}

impl Beyond {
    /// The greatest of all of them.
    fn most(&self) -> f64 {
        // A value that overflows is past every limit.
        if self.rod.is_nan() || self.input.is_nan() || self.fork.is_nan() {
            f64::MAX
        } else {
            self.foot().max(self.hard()).min(f64::MAX)
        }
    }

    /// How far it is beyond the ends at which the foot's force does not load slave, fork or bearing: pedal, dead
    /// centre, master's bottom.
    fn foot(&self) -> f64 {
        self.rod.max(self.input).max(self.dead_centre)
    }

    /// How far it is beyond a hard stop.
    fn hard(&self) -> f64 {
        self.fork
            .max(self.bearing)
            .max(self.output)
            .max(self.stepped)
    }
}

/// The forces of a foot that presses on against a hard stop.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct PressedOn {
    /// Force in the pedal's rod, N.
    pub rod_force: f64,
    /// Gauge pressure at the slave, MPa; `None` for a cable or a linkage.
    pub pressure: Option<f64>,
    /// Gauge pressure at the master, MPa; the slave's if there is no intensifier.
    pub master_pressure: Option<f64>,
}

impl Walk<'_> {
    fn beyond(&self, place: &WalkPoint) -> Beyond {
        self.beyond_of(place, &self.driven(place, Stroke::Press))
    }

    fn beyond_of(&self, place: &WalkPoint, driven: &Driven) -> Beyond {
        let stops = &self.stops;
        // A chain that cannot move at all is met where the slack is taken up, and not at rest.
        let idle = if place.slack < self.slack {
            place.slack - self.slack
        } else {
            f64::INFINITY
        };
        Beyond {
            rod: driven.rod_travel - self.limit.rod_travel,
            input: driven.drive.input_travel - self.mechanism.input_stroke(),
            stepped: (driven.drive.stepped_travel - stops.stepped_travel).min(idle),
            output: (driven.output_travel - stops.output_travel).min(idle),
            fork: (driven.fork_travel - stops.fork_travel).min(idle),
            bearing: (place.bearing - stops.bearing_travel).min(idle),
            dead_centre: driven.past_dead_centre,
        }
    }

    /// The pedal pressed as far as it goes: the first place on the walk where something ends the travel. The pad is
    /// at its travel or stop, the master's piston bottoms, the crank is at dead centre, or slave, fork or bearing
    /// reach a hard stop. A falling load may let lost volume come back faster than the bearing takes it up, so that
    /// the pad would retreat. The foot then arrives at the first such place.
    ///
    /// `None` where a number grows without bound.
    pub fn full_pedal(&self) -> Option<FullPedal> {
        let over = |place: &WalkPoint| self.beyond(place).most();
        let count = self.count();
        let cuts = Self::cuts(count);
        let mut from = WalkPoint::REST;
        let mut before = over(&from);
        let mut rises = true;
        if before >= 0.0 {
            return self.ended_at(from, 0, rises);
        }
        for (passed, to) in (0..count)
            .filter_map(|i| self.corner(i))
            .enumerate()
            .skip(1)
        {
            let leg = Leg { from, to };
            let after = over(&to);
            let crossing = if self.rises(&leg) {
                let across = |t| over(&leg.at(t));
                (after >= 0.0).then(|| root(across, (0.0, before), (1.0, after), f64::EPSILON))
            } else {
                rises = false;
                first_crossing(|t| over(&leg.at(t)), cuts)
            };
            if let Some(t) = crossing {
                return self.ended_at(leg.at(t), passed, rises);
            }
            (from, before) = (to, after);
        }
        if self.is_bent || !self.fork.is_straight() {
            let place = self.beyond_last_corner(from, over)?;
            return self.ended_at(place, count, rises);
        }
        // The load stays as it is from here on, and every travel is linear in the bearing's.
        let past = self.beyond(&from);
        let rod_per_bearing = self.mechanism.ratio() * self.fork.ratio;
        let hard = (past.fork / self.fork.ratio)
            .max(past.bearing)
            .max(past.stepped / (self.fork.ratio * self.mechanism.stepped_ratio()));
        from.bearing -= (past.rod.max(past.input) / rod_per_bearing).max(hard);
        self.ended_at(from, count, rises)
    }

    fn ended_at(&self, place: WalkPoint, passed: usize, rises: bool) -> Option<FullPedal> {
        let driven = self.driven(&place, Stroke::Press);
        let mut state = self.state_of(&place, &driven, Stroke::Press)?;
        let past = self.beyond_of(&place, &driven);
        let ended_by = if past.hard() > past.foot() {
            if past.stepped > past.fork.max(past.bearing).max(past.output) {
                EndedBy::IntensifierStroke
            } else if past.output > past.fork.max(past.bearing) {
                EndedBy::SlaveStroke
            } else if past.fork >= past.bearing {
                self.stops.fork_cause
            } else {
                EndedBy::BearingGuide
            }
        } else if past.dead_centre > past.rod.max(past.input) {
            EndedBy::RelayGeometry
        } else if past.input > past.rod {
            EndedBy::MasterStroke
        } else {
            state.pad_travel = self.limit.pad_travel;
            self.limit.cause
        };
        let mut full = FullPedal {
            state,
            ended_by,
            place,
            passed,
            rises,
        };
        if matches!(ended_by, EndedBy::MasterStroke | EndedBy::RelayGeometry)
            || ended_by.is_hard_stop()
        {
            // Where the bearing ran ahead, the foot stayed at the farthest place of the pad.
            let farthest = self.farthest(&full);
            if farthest > full.state.rod_travel {
                full.state.pad_travel = self.geometry.position(farthest)?.pad_travel;
            }
        }
        Some(full)
    }

    /// Where pedal and master would bring the walk if nothing stopped slave, fork and bearing. It is full pedal
    /// itself if nothing does. `None` where a number grows without bound.
    pub fn asked_for(&self, full: &FullPedal) -> Option<FullPedal> {
        if full.ended_by.is_hard_stop() {
            let mut free = *self;
            free.stops = HardStops::NONE;
            free.full_pedal()
        } else {
            Some(*full)
        }
    }

    /// The forces at full pedal if a foot presses on with `foot`, N, after slave, fork or bearing have reached a hard
    /// stop. They follow from the pedal's leverage there, its springs and friction, then the master's. `None` where
    /// the pedal itself or the master ends the travel.
    pub fn pressed_on(&self, full: &FullPedal, foot: f64) -> Option<PressedOn> {
        if !full.ended_by.is_hard_stop() {
            return None;
        }
        let position = PedalPosition {
            pad_travel: full.state.pad_travel,
            local_ratio: full.state.local_ratio,
        };
        let rod_force = finite(self.chain.pedal.rod_force(position, foot).max(0.0))?;
        let (mut pressure, mut master_pressure) = (None, None);
        if let Some(circuit) = self.mechanism.circuit() {
            let input_force = self.input_force_of_rod(full, rod_force);
            let at_slave = finite(circuit.pressure_of_rod(input_force))?;
            master_pressure = Some(at_slave * circuit.stepped.master_pressure.on(Stroke::Press));
            // After an intensifier at its end the pressure rises no further.
            pressure = match (full.ended_by, &full.state.cylinders) {
                (EndedBy::IntensifierStroke, Some(cylinders)) => Some(cylinders.pressure),
                _ => Some(at_slave),
            };
        }
        Some(PressedOn {
            rod_force,
            pressure,
            master_pressure,
        })
    }

    /// Greatest angle of the pedal's rod to the master's bore, rad, from rest to full pedal. `None` where
    /// [`PedalGeometry::worst_rod_angle`](super::PedalGeometry::worst_rod_angle) is.
    pub fn worst_pedal_rod_angle(&self, full: &FullPedal) -> Option<f64> {
        self.geometry.worst_rod_angle(full.state.pad_travel)
    }

    /// Offset of the master's bore from the rod's eye, mm, at which the pedal's rod leans least up to full pedal.
    pub fn best_pedal_rod_offset(&self, full: &FullPedal) -> Option<f64> {
        self.geometry.best_rod_offset(full.state.pad_travel)
    }

    /// This walk with the pedal's travel ended at `pad_travel`, mm, instead of at its own travel and stop; `None`
    /// where the geometry cannot reach.
    pub(super) fn ended_by_pad(mut self, pad_travel: f64) -> Option<Self> {
        self.limit = Limit {
            pad_travel,
            rod_travel: self.geometry.rod_travel(pad_travel)?,
            cause: EndedBy::PedalTravel,
        };
        Some(self)
    }
}
