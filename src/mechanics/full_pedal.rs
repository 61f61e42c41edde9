//! The pedal pressed as far as it goes.

use super::efficiency::Stroke;
use super::leg::{Leg, WalkPoint};
use super::limit::{EndedBy, Limit};
use super::numeric::{first_crossing, root};
use super::walk::{FullPedal, Walk};

impl Walk<'_> {
    /// How far a place is beyond the pedal's limit and beyond the master's stroke, both as rod travel, mm.
    fn beyond(&self, place: &WalkPoint) -> (f64, f64) {
        let driven = self.driven(place, Stroke::Press);
        (
            driven.rod_travel - self.limit.rod_travel,
            driven.drive.input_travel - self.mechanism.input_stroke(),
        )
    }

    /// The pedal pressed as far as it goes: the first place on the walk at which the pad is at its travel
    /// or stop, the master's piston bottoms, or the crank is at dead centre. Where a falling load lets the
    /// lost volume come back faster than the bearing takes it up, so that the pad would retreat, the first
    /// place is where the foot arrives.
    ///
    /// `None` where a number grows past bounds.
    pub fn full_pedal(&self) -> Option<FullPedal> {
        let over = |place: &WalkPoint| {
            let (rod, input) = self.beyond(place);
            // What overflows is past every limit.
            if rod.is_nan() || input.is_nan() {
                f64::MAX
            } else {
                rod.max(input).min(f64::MAX)
            }
        };
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
        // The load stays as it is from here on, and every travel is linear in the bearing's.
        let (rod, input) = self.beyond(&from);
        let rod_per_bearing = self.mechanism.ratio() * self.fork.ratio;
        from.bearing -= rod.max(input) / rod_per_bearing;
        self.ended_at(from, count, rises)
    }

    fn ended_at(&self, place: WalkPoint, passed: usize, rises: bool) -> Option<FullPedal> {
        let mut state = self.state(&place, Stroke::Press)?;
        let (rod, input) = self.beyond(&place);
        let ended_by = if input > rod {
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
        if ended_by == EndedBy::MasterStroke {
            // Where the bearing ran ahead, the foot stayed at the farthest the pad has come.
            let farthest = self.farthest(&full);
            if farthest > full.state.rod_travel {
                full.state.pad_travel = self.geometry.position(farthest)?.pad_travel;
            }
        }
        Some(full)
    }

    /// Greatest angle of the pedal's rod to the master's bore, rad, from rest to full pedal; `None` as for
    /// [`PedalGeometry::worst_rod_angle`](super::PedalGeometry::worst_rod_angle).
    pub fn worst_pedal_rod_angle(&self, full: &FullPedal) -> Option<f64> {
        self.geometry.worst_rod_angle(full.state.pad_travel)
    }

    /// This walk with the pedal ended at `pad_travel`, mm, whatever its own travel and stop; `None` where the
    /// geometry cannot reach.
    pub(super) fn ended_by_pad(mut self, pad_travel: f64) -> Option<Self> {
        self.limit = Limit {
            pad_travel,
            rod_travel: self.geometry.rod_travel(pad_travel)?,
            cause: EndedBy::PedalTravel,
        };
        Some(self)
    }
}
