//! Places on the walk, found by how far a part of the chain has moved.

use super::domain::{finite, not_negative};
use super::efficiency::Stroke;
use super::leg::{Leg, WalkPoint};
use super::numeric::{first_crossing, root};
use super::walk::{FullPedal, TAKEN_UP, Walk};

impl Walk<'_> {
    /// Pad travel at which the pedal itself ends, mm: its stop, the floor, or the crank at dead centre.
    pub fn pedal_end(&self) -> f64 {
        self.limit.pad_travel
    }

    /// Gap at the pedal's rod, mm.
    pub fn rod_clearance(&self) -> f64 {
        self.clearance
    }

    /// Pad travel, mm, used before the bearing begins to move: clearance of the rod, play of cable or linkage, travel
    /// to the port. It exceeds the pedal's own travel if the bearing never moves. `None` where the pedal's geometry
    /// cannot reach it at all.
    pub fn idle_pad_travel(&self) -> Option<f64> {
        let rod_travel = match self.is_bent || self.breaks_away() {
            true => {
                let moves = self.corner(self.contact - 2)?;
                self.driven(&moves, Stroke::Press).rod_travel
            }
            false => self.slack,
        };
        Some(self.geometry.position(rod_travel)?.pad_travel)
    }

    /// Pad travel, mm, at which the bearing touches the fingers; manuals call it free travel. `None` where the
    /// pedal's geometry cannot reach it.
    pub fn touching_pad_travel(&self) -> Option<f64> {
        let touches = self.corner(self.contact - 1)?;
        let rod_travel = self.driven(&touches, Stroke::Press).rod_travel;
        Some(self.geometry.position(rod_travel)?.pad_travel)
    }

    /// Pad travel, mm, on the press, at which the fingers have moved by `finger_travel`, mm. `None` if full pedal
    /// does not reach it, and for a negative travel.
    pub fn pad_travel_at_finger(&self, full: &FullPedal, finger_travel: f64) -> Option<f64> {
        not_negative(finger_travel)?;
        self.pad_travel_at(full, self.chain.bearing.free_play + finger_travel)
    }

    /// The place with the bearing moved by `bearing_travel`, mm, against the cover's own load. There is no load up to
    /// and including the free play.
    pub(super) fn place_on_cover(&self, bearing_travel: f64) -> WalkPoint {
        let finger_travel = bearing_travel - self.chain.bearing.free_play;
        WalkPoint {
            slack: self.slack,
            bearing: bearing_travel,
            load: if finger_travel > 0.0 {
                self.chain.cover.load_at(finger_travel)
            } else {
                0.0
            },
            taken_up: 1.0,
        }
    }

    /// The first place on the press at which the fork's outer end has moved by `travel`, mm, even if pedal and
    /// cylinders cannot go that far. `None` for a negative travel and where a number grows without bound.
    pub(super) fn place_at_fork_travel(&self, travel: f64) -> Option<WalkPoint> {
        not_negative(travel)?;
        let moved = |place: &WalkPoint| self.driven(place, Stroke::Press).fork_travel;
        let mut corners = (TAKEN_UP..self.count()).filter_map(|i| self.corner(i));
        let mut from = corners.next()?;
        for to in corners {
            let (start, end) = (moved(&from), moved(&to));
            let leg = Leg { from, to };
            if end >= travel {
                let t = if end <= start {
                    0.0
                } else if self.fork.is_straight() {
                    // Bearing travel and load are linear along a leg, and so is this.
                    (travel - start) / (end - start)
                } else {
                    let off = |t| moved(&leg.at(t)) - travel;
                    root(
                        off,
                        (0.0, start - travel),
                        (1.0, end - travel),
                        f64::EPSILON,
                    )
                };
                return Some(leg.at(t));
            }
            from = to;
        }
        if !self.fork.is_straight() {
            return self.beyond_last_corner(from, |place| moved(place) - travel);
        }
        from.bearing = finite(from.bearing + (travel - moved(&from)) / self.fork.ratio)?;
        Some(from)
    }

    /// The first place past the last corner at which `over` reaches zero; it is below zero at the corner. The load is
    /// constant there. `None` where a number grows without bound.
    pub(super) fn beyond_last_corner(
        &self,
        from: WalkPoint,
        over: impl Fn(&WalkPoint) -> f64,
    ) -> Option<WalkPoint> {
        /// Doublings that take the smallest distance past all bounds.
        const DOUBLINGS: usize = 80;
        let at = |bearing: f64| WalkPoint { bearing, ..from };
        let short = over(&from);
        let (mut low, mut step) = ((from.bearing, short), (-short).max(f64::EPSILON));
        for _ in 0..DOUBLINGS {
            let high = from.bearing + step;
            let past = finite(over(&at(high)))?;
            if past >= 0.0 {
                let tolerance = f64::EPSILON * high;
                return Some(at(root(|b| over(&at(b)), low, (high, past), tolerance)));
            }
            low = (high, past);
            step *= 2.0;
        }
        None
    }

    /// The first place on the press at which the actuation's output has moved by `travel`, mm, even if pedal and
    /// cylinders cannot go that far. `None` where [`Walk::place_at_fork_travel`] is and past dead centre of a relay
    /// lever.
    pub(super) fn place_at_output_travel(&self, travel: f64) -> Option<WalkPoint> {
        let relays = &self.chain.relays.at_fork;
        if relays.is_empty() {
            return self.place_at_fork_travel(travel);
        }
        not_negative(travel)?;
        let off = |place: &WalkPoint| {
            let driven = self.driven(place, Stroke::Press);
            if driven.past_dead_centre > 0.0 {
                f64::MAX
            } else {
                driven.output_travel - travel
            }
        };
        let mut from = self.corner(TAKEN_UP)?;
        let across = |from: WalkPoint, to: WalkPoint| {
            let leg = Leg { from, to };
            first_crossing(|t| off(&leg.at(t)), 8).map(|t| leg.at(t))
        };
        for to in (TAKEN_UP + 1..self.count()).filter_map(|i| self.corner(i)) {
            if let Some(place) = across(from, to) {
                return Some(place);
            }
            from = to;
        }
        let mut to = from;
        while off(&to) < 0.0 {
            to.bearing = finite(2.0 * to.bearing + 1.0)?;
        }
        let place = across(from, to)?;
        (off(&place).abs() < 1e-6).then_some(place)
    }
}
