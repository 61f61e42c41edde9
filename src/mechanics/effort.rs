//! Forces along the walk: the highest pressure and rod force, and the highest and least effort at the pad.

use std::iter;

use super::crank::Arm;
use super::domain::finite;
use super::efficiency::Stroke;
use super::leg::{INWARD, Leg, WalkPoint};
use super::numeric::{first_crossing, highest, maximum, root};
use super::walk::{Driven, FullPedal, Walk};

/// The extreme of the effort that is searched for.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Extreme {
    Highest,
    Least,
}

impl Extreme {
    /// The quantity whose maximum is the extreme.
    fn worth(self, effort: f64) -> f64 {
        match self {
            Self::Highest => effort,
            Self::Least => -effort,
        }
    }
}

/// One evaluation at a place on a leg.
#[derive(Clone, Copy)]
struct Probe {
    t: f64,
    place: WalkPoint,
    rod_force: f64,
    rod_travel: f64,
    /// `None` where the geometry cannot reach.
    arm: Option<Arm>,
    /// Pad travel, mm, needed only for an assist; zero where there is none.
    pad_travel: f64,
    /// The effort's worth; minus infinity where the geometry cannot reach.
    worth: f64,
}

/// The highest forces on the press from rest to full pedal.
pub(super) struct HighestForces {
    /// Pressure, MPa; `None` where there is no fluid.
    pub(super) pressure: Option<f64>,
    /// Force in the pedal's rod, N.
    pub(super) rod_force: f64,
    /// Force at the actuation's input, N: on the master's piston or on the linkage, or the cable's tension at the
    /// pedal's end.
    pub(super) input_force: f64,
}

/// How many times a leg is halved at most before a piece is searched for a peak.
const MOST_HALVINGS: usize = 4;

/// The legs of a walk in one direction of the stroke, searched for an extreme of the effort.
struct Search<'w, 'a> {
    walk: &'w Walk<'a>,
    stroke: Stroke,
    extreme: Extreme,
}

impl Walk<'_> {
    /// Highest pressure, MPa, on the press from rest to full pedal; `None` where there is no fluid.
    pub fn highest_pressure(&self, full: &FullPedal) -> Option<f64> {
        self.mechanism.circuit()?;
        let [pressure] = self.strongest(full, [Self::PRESSURE]);
        Some(pressure)
    }

    /// [`Walk::highest_pressure`] on the master's side of an intensifier, MPa; `None` without one.
    pub fn highest_master_pressure(&self, full: &FullPedal) -> Option<f64> {
        let stepped = &self.mechanism.circuit()?.stepped;
        stepped.piston?;
        let at_slave = self.highest_pressure(full)?;
        Some(at_slave * stepped.master_pressure.on(Stroke::Press))
    }

    /// Highest force in the pedal's rod, N, on the press from rest to full pedal. For a cable without a relay lever
    /// it is the cable's highest tension, at the pedal's end.
    pub fn highest_rod_force(&self, full: &FullPedal) -> f64 {
        let [rod_force] = self.strongest(full, [Self::ROD_FORCE]);
        rod_force
    }

    /// The highest forces on the press from rest to full pedal.
    pub(super) fn highest_forces(&self, full: &FullPedal) -> HighestForces {
        let (pressure, [rod_force, input_force]) = match self.mechanism.circuit() {
            Some(_) => {
                let all = [Self::PRESSURE, Self::ROD_FORCE, Self::INPUT_FORCE];
                let [pressure, rod_force, input_force] = self.strongest(full, all);
                (Some(pressure), [rod_force, input_force])
            }
            None => (
                None,
                self.strongest(full, [Self::ROD_FORCE, Self::INPUT_FORCE]),
            ),
        };
        HighestForces {
            pressure,
            rod_force,
            input_force,
        }
    }

    const PRESSURE: fn(&Driven) -> f64 = |driven| driven.drive.pressure;
    const ROD_FORCE: fn(&Driven) -> f64 = |driven| driven.rod_force;
    const INPUT_FORCE: fn(&Driven) -> f64 = |driven| driven.drive.input_force;

    /// The highest of some pressures or forces from rest to full pedal. With a lever that is not square each may be
    /// at a place of its own; otherwise all are where the load is highest.
    fn strongest<const N: usize>(
        &self,
        full: &FullPedal,
        all: [fn(&Driven) -> f64; N],
    ) -> [f64; N] {
        if !self.is_bent {
            let most = self.most_loaded(full);
            return all.map(|what| most.as_ref().map_or(0.0, what));
        }
        let cuts = Self::cuts(full.passed);
        all.map(|what| {
            self.legs(full)
                .map(|leg| highest(|t| what(&self.driven(&leg.at(t), Stroke::Press)), cuts))
                .fold(0.0, f64::max)
        })
    }

    /// The place from rest to full pedal where pressure and force are highest. Both rise and fall with the load,
    /// which is highest at a corner. Before the first corner the return spring's force only rises.
    ///
    /// On a bent fork, the force's peak is beside the load's where the ratio changes. It is searched for along each
    /// leg.
    fn most_loaded(&self, full: &FullPedal) -> Option<Driven> {
        if !self.fork.is_straight() {
            return Some(self.strongest_on_bent_fork(full));
        }
        let places = self.legs(full).map(|leg| leg.to);
        let higher = |most: WalkPoint, place: WalkPoint| {
            if place.load >= most.load { place } else { most }
        };
        let place = places.reduce(higher)?;
        Some(self.driven(&place, Stroke::Press))
    }

    fn strongest_on_bent_fork(&self, full: &FullPedal) -> Driven {
        let force = |place: &WalkPoint| self.fork.force(place, Stroke::Press);
        let mut best = WalkPoint::REST;
        for leg in self.legs(full) {
            let ends = [leg.from, leg.to];
            let inside = [INWARD, 1.0 - INWARD].map(|t| force(&leg.at(t)));
            let peak = (inside[0] > force(&leg.from) && inside[1] > force(&leg.to))
                .then(|| leg.at(maximum(|t| force(&leg.at(t)), 0.0, 1.0).0));
            for place in ends.into_iter().chain(peak) {
                if force(&place) >= force(&best) {
                    best = place;
                }
            }
        }
        self.driven(&best, Stroke::Press)
    }

    /// Highest effort at the pad, N, on the press from rest to full pedal.
    pub fn highest_effort(&self, full: &FullPedal) -> Option<f64> {
        let search = self.search(Stroke::Press, Extreme::Highest);
        let best = search.best_of_approach(full, self.effort_under_load(full));
        finite(search.best_along(self.legs_from(self.contact - 1, full), best))
    }

    /// Effort at the pad, N, on the press at full pedal, or where the load is highest, if that is more: what
    /// [`Walk::highest_effort`] is not below, for a small part of the work.
    pub fn effort_under_load(&self, full: &FullPedal) -> f64 {
        let search = self.search(Stroke::Press, Extreme::Highest);
        search.best_of_loads(self.legs_from(self.contact - 1, full), full)
    }

    /// Least effort at the pad, N, on the return from full pedal until the bearing is about to leave the
    /// fingers, their first load still on it: what is left to bring the pedal back. `None` if the bearing
    /// does not touch the fingers.
    pub fn least_return_effort(&self, full: &FullPedal) -> Option<f64> {
        if full.passed < self.contact {
            return None;
        }
        let search = self.search(Stroke::Return, Extreme::Least);
        let best = search.best_of_loads(self.legs_on_fingers(full), full);
        finite(-search.best_along(self.legs_on_fingers(full), best))
    }

    /// Least effort at the pad, N, on the return without a load on the bearing, until rest. It starts where the
    /// bearing leaves the fingers, or at full pedal if it never touched them. Only the springs of pedal and master
    /// push back, less the assist. Below zero the pedal hangs down by its free play; at zero it may.
    pub fn least_slack_effort(&self, full: &FullPedal) -> Option<f64> {
        let at_rest = self.effort(&WalkPoint::REST, Stroke::Return)?;
        let search = self.search(Stroke::Return, Extreme::Least);
        finite(-search.best_of_approach(full, -at_rest))
    }

    /// Pad travel, mm, on the press, at which the effort first reaches `effort`, N; `None` if it stays below it up to
    /// full pedal.
    pub fn first_over(&self, full: &FullPedal, effort: f64) -> Option<f64> {
        finite(effort)?;
        let over = |place: &WalkPoint| {
            self.effort(place, Stroke::Press)
                .map_or(f64::MAX, |found| found - effort)
        };
        let cuts = Self::cuts(full.passed);
        if over(&WalkPoint::REST) >= 0.0 {
            return Some(0.0);
        }
        let place = self
            .legs(full)
            .find_map(|leg| first_crossing(|t| over(&leg.at(t)), cuts).map(|t| leg.at(t)))?;
        Some(self.state(&place, Stroke::Press)?.pad_travel)
    }

    /// Effort at the pad, N, at a place: the effort of the [`State`](super::State) there.
    pub(super) fn effort(&self, place: &WalkPoint, stroke: Stroke) -> Option<f64> {
        let driven = self.driven(place, stroke);
        let arm = self.geometry.arm(driven.rod_travel)?;
        self.effort_of(&driven, &arm, stroke)
    }

    /// Effort at the pad, N, with the arm's direction already known.
    fn effort_of(&self, driven: &Driven, arm: &Arm, stroke: Stroke) -> Option<f64> {
        let (pedal, rod_force) = (&self.chain.pedal, driven.rod_force);
        // Only an assist needs the pad's place.
        finite(match &pedal.assist {
            None => {
                let local_ratio = self.geometry.local_ratio(arm)?;
                pedal.effort_without_assist(local_ratio, rod_force, stroke)
            }
            Some(_) => {
                let position = self.geometry.position(driven.rod_travel)?;
                pedal.effort(position, rod_force, stroke)
            }
        })
    }

    fn search(&self, stroke: Stroke, extreme: Extreme) -> Search<'_, '_> {
        Search {
            walk: self,
            stroke,
            extreme,
        }
    }
}

impl Search<'_, '_> {
    fn worth(&self, place: &WalkPoint) -> f64 {
        let effort = self.walk.effort(place, self.stroke);
        effort.map_or(f64::NEG_INFINITY, |effort| self.extreme.worth(effort))
    }

    fn probe(&self, leg: &Leg, t: f64) -> Probe {
        let place = leg.at(t);
        let driven = self.walk.driven(&place, self.stroke);
        let rod_travel = driven.rod_travel;
        let arm = self.walk.geometry.arm(rod_travel);
        let effort = arm.and_then(|arm| self.walk.effort_of(&driven, &arm, self.stroke));
        Probe {
            t,
            place,
            rod_force: driven.rod_force,
            rod_travel,
            arm,
            pad_travel: match &self.walk.chain.pedal.assist {
                Some(_) => self.pad_travel(rod_travel),
                None => 0.0,
            },
            worth: effort.map_or(f64::NEG_INFINITY, |effort| self.extreme.worth(effort)),
        }
    }

    fn pad_travel(&self, rod_travel: f64) -> f64 {
        let position = self.walk.geometry.position(rod_travel);
        position.map_or(f64::NAN, |position| position.pad_travel)
    }

    /// The higher worth of two places: full pedal, and the corner of some legs with the best load. A good start
    /// leaves little to search.
    fn best_of_loads(&self, legs: impl Iterator<Item = Leg>, full: &FullPedal) -> f64 {
        let better = |best: WalkPoint, leg: Leg| {
            if self.extreme.worth(leg.from.load) > self.extreme.worth(best.load) {
                leg.from
            } else {
                best
            }
        };
        let place = legs.fold(full.place, better);
        let at_full = self.worth(&full.place);
        if place == full.place {
            at_full
        } else {
            at_full.max(self.worth(&place))
        }
    }

    /// The higher of `best` and the worth on the approach, before the load is on the bearing. Travel and force only
    /// rise along it, so that one bound holds for all of it and hardly any of it is searched.
    fn best_of_approach(&self, full: &FullPedal, best: f64) -> f64 {
        let legs = self.walk.legs(full).take(self.walk.contact - 1);
        let Some(end) = legs.clone().last() else {
            return best;
        };
        let whole = Leg {
            from: WalkPoint::REST,
            to: end.to,
        };
        let (from, to) = (self.probe(&whole, 0.0), self.probe(&whole, 1.0));
        if self.may_beat(best, &from, &to) {
            self.best_along(legs, best)
        } else {
            best
        }
    }

    /// The higher of `best` and the effort's worth along `legs`.
    ///
    /// The effort is smooth except at a corner of the load, where the load outgrows the slave's preload, and at a
    /// corner of the assist. A leg whose bound does not exceed the best so far is skipped. The others are halved, and
    /// each half is treated alike.
    fn best_along(&self, legs: impl Iterator<Item = Leg>, mut best: f64) -> f64 {
        let mut start = None;
        for leg in legs {
            let (first, second) = self.walk.halves(leg, self.stroke);
            for leg in iter::once(first).chain(second) {
                // The next leg begins where this one ends.
                let from = start.unwrap_or_else(|| self.probe(&leg, 0.0));
                let from = Probe { t: 0.0, ..from };
                let to = self.probe(&leg, 1.0);
                best = best.max(from.worth).max(to.worth);
                best = self.best_between(&leg, from, to, MOST_HALVINGS, best);
                start = Some(to);
            }
        }
        best
    }

    /// The higher of `best` and the worth between two probes of a leg.
    fn best_between(&self, leg: &Leg, from: Probe, to: Probe, halvings: usize, best: f64) -> f64 {
        if !self.may_beat(best, &from, &to) {
            return best;
        }
        let Some(fewer) = halvings.checked_sub(1) else {
            return self.best_cut_by_assist(leg, from, to, best);
        };
        let middle = self.probe(leg, 0.5 * (from.t + to.t));
        let best = best.max(middle.worth);
        let best = self.best_between(leg, middle, to, fewer, best);
        self.best_between(leg, from, middle, fewer, best)
    }

    /// The highest worth on a piece, which is cut wherever the assist has a corner or turns back.
    fn best_cut_by_assist(&self, leg: &Leg, mut from: Probe, to: Probe, mut best: f64) -> f64 {
        let Some(assist) = &self.walk.chain.pedal.assist else {
            return self.peak_inside(leg, &from, &to, best);
        };
        let (start, end) = (from.pad_travel, to.pad_travel);
        let next = |at: &f64| assist.turn_after(*at);
        for turn in iter::successors(next(&start), next).take_while(|turn| *turn < end) {
            let (before, after) = (from.pad_travel - turn, end - turn);
            // If the pad retreats over the corner, the effort was higher the first time and is lower the second time,
            // so that there is no extreme.
            if before < 0.0 && after > 0.0 {
                let at = |t: f64| self.probe(leg, t).pad_travel - turn;
                let t = root(at, (from.t, before), (to.t, after), f64::EPSILON);
                let corner = self.probe(leg, t);
                best = best.max(corner.worth);
                best = self.best_inside(leg, &from, &corner, best);
                from = corner;
            }
        }
        self.best_inside(leg, &from, &to, best)
    }

    /// The higher of `best` and a peak between two probes with no corner between them.
    fn best_inside(&self, leg: &Leg, from: &Probe, to: &Probe, best: f64) -> f64 {
        if self.may_beat(best, from, to) {
            self.peak_inside(leg, from, to, best)
        } else {
            best
        }
    }

    /// The higher of `best` and a peak between two probes with no corner between them, if a peak there may be higher.
    fn peak_inside(&self, leg: &Leg, from: &Probe, to: &Probe, best: f64) -> f64 {
        let worth = |t: f64| self.worth(&leg.at(t));
        let inward = INWARD * (to.t - from.t);
        if worth(from.t + inward) > from.worth && worth(to.t - inward) > to.worth {
            best.max(maximum(worth, from.t, to.t).1)
        } else {
            best
        }
    }

    /// Whether the worth between two probes of a leg may exceed `best` by more than rounding. It may if no bound is
    /// known.
    fn may_beat(&self, best: f64, from: &Probe, to: &Probe) -> bool {
        const ROUNDING: f64 = 1e-12;
        let bound = self.bound(from, to).filter(|bound| !bound.is_nan());
        bound.is_none_or(|bound| bound > best + ROUNDING * best.abs())
    }

    /// An upper bound of the effort's worth between two probes of a leg; `None` where none is known.
    ///
    /// The rod's force follows the load, and so lies between its values at the ends. So does the rod's travel where
    /// the load rises. Where the load falls, the bearing takes up more and the soft parts give some back, and each of
    /// the two lies between its ends. The pedal's leverage has bounds of its own.
    fn bound(&self, from: &Probe, to: &Probe) -> Option<f64> {
        let (walk, pedal) = (self.walk, &self.walk.chain.pedal);
        if walk.is_bent || !walk.fork.is_straight() {
            return None;
        }
        let falls = to.place.load < from.place.load;
        let (nearest, farthest) = if falls {
            let moved = to.place.bearing - from.place.bearing;
            let taken_up = walk.mechanism.ratio() * walk.fork.ratio * moved;
            let given_back = (taken_up - (to.rod_travel - from.rod_travel)).max(0.0);
            let nearest = from.rod_travel.min(to.rod_travel) - given_back;
            let farthest = from.rod_travel.max(to.rod_travel) + given_back;
            let farthest = walk.geometry.up_to_dead_centre(farthest);
            (
                walk.geometry.arm(nearest.max(0.0))?,
                walk.geometry.arm(farthest)?,
            )
        } else {
            (from.arm?, to.arm?)
        };
        let (weakest, strongest) = walk.geometry.leverage_between(&nearest, &farthest);
        let force = match self.extreme {
            Extreme::Highest => from.rod_force.max(to.rod_force) * strongest,
            Extreme::Least => from.rod_force.min(to.rod_force) * weakest,
        };
        let without = pedal.effort_without_assist(1.0, force, self.stroke);
        let assist = pedal.assist.as_ref().map_or(0.0, |assist| {
            let (low, high) = if falls {
                assist.range(f64::NEG_INFINITY, f64::INFINITY)
            } else {
                assist.range(from.pad_travel, to.pad_travel)
            };
            match self.extreme {
                Extreme::Highest => low,
                Extreme::Least => high,
            }
        });
        Some(self.extreme.worth(without - assist))
    }
}
