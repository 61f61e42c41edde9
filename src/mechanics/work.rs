//! The foot's work, and the stretches where the pad would retreat.
//!
//! A foot pushes the pad down and never lets it come back. A load may fall so fast that the soft parts give back more
//! than the bearing takes up. The pad would then retreat along the walk. Instead the bearing runs ahead by itself
//! while the pad stands still, until the walk is back at that pad travel. The energy that the soft parts give back in
//! between is lost to the foot.

use std::iter::once;

use super::domain::finite;
use super::efficiency::Stroke;
use super::leg::{INWARD, Leg, WalkPoint};
use super::numeric::{maximum, root};
use super::walk::{FullPedal, TAKEN_UP, Walk};

/// A place on the walk: the number of its leg, how far along the leg, and the rod travel there, mm.
#[derive(Clone, Copy, Debug)]
struct Mark {
    leg: usize,
    t: f64,
    rod_travel: f64,
}

impl Walk<'_> {
    /// Work at the pad, N·mm, on the press from rest to full pedal: `∫ effort d(pad travel)`, for a foot that never
    /// lets the pad come back.
    ///
    /// It has a closed form where all levers count as square. A pad travel times its local ratio is a rod travel, so
    /// that the geometry drops out. The force at the rod is linear in the slave's travel between the corners of the
    /// load and of the preload. What goes into lines, fluid, air and mount depends on the pressure alone. Where the
    /// bearing runs ahead by itself, that stretch of the walk is subtracted.
    pub fn work(&self, full: &FullPedal) -> Option<f64> {
        let mut at_rod = match self.is_bent {
            true => {
                // A soft lever without slack before it is loaded by the master's spring from the start.
                let rest = self.driven(&WalkPoint::REST, Stroke::Press);
                let legs = self.smooth_legs(full).map(|leg| self.work_along(&leg));
                0.5 * rest.rod_force * rest.rod_travel + legs.sum::<f64>()
            }
            false => self.work_at_rod(full),
        };
        if !full.rises {
            self.runs_ahead(full, |from, to| at_rod -= self.work_between(full, from, to));
        }
        let pedal = &self.chain.pedal;
        let pad_travel = full.state.pad_travel;
        let assist = pedal
            .assist
            .as_ref()
            .map_or(0.0, |assist| assist.integral(0.0, pad_travel));
        let springs = (pedal.return_force + pedal.drag) * pad_travel - assist;
        finite(Stroke::Press.input_force(at_rod, pedal.efficiency) + springs)
    }

    /// Work at the rod, N·mm, along the whole walk to full pedal, in closed form.
    fn work_at_rod(&self, full: &FullPedal) -> f64 {
        let last = self.driven(&full.place, Stroke::Press).drive;
        // Nothing goes through to the fork before it moves.
        let legs = self.smooth_legs_from(TAKEN_UP, full);
        let through: f64 = if self.fork.is_straight() {
            let at = |place: &WalkPoint| {
                let driven = self.driven(place, Stroke::Press);
                (driven.drive.input_force, driven.fork_travel)
            };
            // Where one leg ends the next begins.
            let mut start = None;
            legs.map(|leg| {
                let from = start.unwrap_or_else(|| at(&leg.from));
                let to = at(&leg.to);
                start = Some(to);
                Self::of_straight(from, to)
            })
            .sum()
        } else {
            legs.map(|leg| self.through(&leg)).sum()
        };
        self.mechanism.ratio() * through + self.mechanism.absorbed_work(&last)
    }

    /// Work at the rod, N·mm, along a leg where a lever is not square.
    fn work_along(&self, leg: &Leg) -> f64 {
        work_by_pieces(|t| {
            let driven = self.driven(&leg.at(t), Stroke::Press);
            (driven.rod_force, driven.rod_travel)
        })
    }

    /// The farthest rod travel, mm, on the press up to full pedal.
    pub(super) fn farthest(&self, full: &FullPedal) -> f64 {
        if full.rises {
            return full.state.rod_travel;
        }
        self.runs_ahead(full, |_, _| {})
    }

    /// The legs to full pedal, cut where the pressure begins to rise beyond the slave's preload, so that each is
    /// smooth.
    fn smooth_legs(&self, full: &FullPedal) -> impl Iterator<Item = Leg> + Clone {
        self.smooth_legs_from(0, full)
    }

    /// The legs from the corner numbered `start` to full pedal, cut so that each is smooth.
    fn smooth_legs_from(
        &self,
        start: usize,
        full: &FullPedal,
    ) -> impl Iterator<Item = Leg> + Clone {
        self.legs_from(start, full).flat_map(|leg| {
            let (first, second) = self.halves(leg, Stroke::Press);
            once(first).chain(second)
        })
    }

    /// Work along a smooth leg, N·mm, that is passed on to the fork, over the actuation's ratio.
    fn through(&self, leg: &Leg) -> f64 {
        let at = |place: &WalkPoint| {
            let driven = self.driven(place, Stroke::Press);
            (driven.drive.input_force, driven.fork_travel)
        };
        match self.fork.is_straight() {
            true => Self::of_straight(at(&leg.from), at(&leg.to)),
            false => work_by_pieces(|t| at(&leg.at(t))),
        }
    }

    /// Work of a force, N, that is linear in its travel, mm.
    fn of_straight(from: (f64, f64), to: (f64, f64)) -> f64 {
        0.5 * (from.0 + to.0) * (to.1 - from.1)
    }

    /// Work at the rod, N·mm, along the walk from one place to a later one, counted backwards where the rod goes
    /// back.
    fn work_between(&self, full: &FullPedal, from: Mark, to: Mark) -> f64 {
        let mut through = 0.0;
        let mut absorbed = 0.0;
        for (number, leg) in self.smooth_legs(full).enumerate() {
            if number < from.leg || number > to.leg {
                continue;
            }
            let start = if number == from.leg { from.t } else { 0.0 };
            let end = if number == to.leg { to.t } else { 1.0 };
            let part = leg.part(start, end);
            if self.is_bent {
                absorbed += self.work_along(&part);
                continue;
            }
            through += self.through(&part);
            let work = |place| {
                let drive = self.driven(place, Stroke::Press).drive;
                self.mechanism.absorbed_work(&drive)
            };
            absorbed += work(&part.to) - work(&part.from);
        }
        self.mechanism.ratio() * through + absorbed
    }

    /// Passes to `found` each stretch of the press on which the bearing runs ahead by itself. It reaches from where
    /// the pad would begin to retreat to where the walk is back at that rod travel, or to full pedal. Returns the
    /// farthest rod travel, mm.
    ///
    /// Only a falling load gives anything back. Along a smooth leg on which the load falls, tubes give back a convex
    /// amount, most of it at first. Air gives back a concave amount, most of it at last. So the rod travel at most
    /// falls, rises and falls again.
    fn runs_ahead(&self, full: &FullPedal, mut found: impl FnMut(Mark, Mark)) -> f64 {
        let rest = Mark {
            leg: 0,
            t: 0.0,
            rod_travel: 0.0,
        };
        let (mut farthest, mut last, mut behind) = (rest, rest, false);
        let cuts = Self::cuts(self.smooth_legs(full).count());
        for (number, leg) in self.smooth_legs(full).enumerate() {
            let rod = |t: f64| self.driven(&leg.at(t), Stroke::Press).rod_travel;
            let mark = |t: f64| Mark {
                leg: number,
                t,
                rod_travel: rod(t),
            };
            let rises = self.rises(&leg);
            if rises && !behind {
                farthest = mark(1.0);
                last = farthest;
                continue;
            }
            let cuts = if rises { 1 } else { cuts };
            let mut low = mark(0.0);
            for t in once(INWARD).chain((1..=cuts).map(|i| i as f64 / cuts as f64)) {
                let high = mark(t);
                let inward = INWARD * (high.t - low.t);
                let peaks =
                    rod(low.t + inward) > low.rod_travel && rod(high.t - inward) > high.rod_travel;
                let top = if peaks {
                    let (t, rod_travel) = maximum(rod, low.t, high.t);
                    Mark {
                        leg: number,
                        t,
                        rod_travel,
                    }
                } else if high.rod_travel < low.rod_travel {
                    low
                } else {
                    high
                };
                if behind && top.rod_travel >= farthest.rod_travel {
                    let off = |mark: Mark| (mark.t, mark.rod_travel - farthest.rod_travel);
                    let back = |t| rod(t) - farthest.rod_travel;
                    let t = root(back, off(low), off(top), f64::EPSILON);
                    found(farthest, Mark { t, ..top });
                    behind = false;
                }
                if !behind && top.rod_travel >= farthest.rod_travel {
                    farthest = top;
                }
                behind = high.rod_travel < farthest.rod_travel;
                low = high;
            }
            last = low;
        }
        if behind {
            found(farthest, last);
        }
        farthest.rod_travel
    }
}

/// `∫ F dx` from 0 to 1 of a force and its travel. Both are taken as parabolas on pieces, which are halved until
/// halves and whole agree. Pieces shrink around a kink, such as the end of the circle that a fork is followed on.
fn work_by_pieces(at: impl Fn(f64) -> (f64, f64)) -> f64 {
    const PIECES: usize = 4;
    const MOST_HALVINGS: usize = 12;
    (0..PIECES)
        .map(|i| {
            let (low, high) = (i as f64 / PIECES as f64, (i + 1) as f64 / PIECES as f64);
            let ends = [at(low), at(0.5 * (low + high)), at(high)];
            work_of_piece(&at, low, high, ends, MOST_HALVINGS)
        })
        .sum()
}

/// `∫ F dx` over a piece of a leg whose force and travel at its ends and its middle are known.
fn work_of_piece(
    at: &impl Fn(f64) -> (f64, f64),
    low: f64,
    high: f64,
    [from, middle, to]: [(f64, f64); 3],
    halvings: usize,
) -> f64 {
    const AGREE: f64 = 1e-10;
    // Simpson's rule is exact for the cubic that a parabola times the slope of another is.
    let simpson = |[a, m, b]: [(f64, f64); 3]| {
        let slopes = [
            -3.0 * a.1 + 4.0 * m.1 - b.1,
            b.1 - a.1,
            a.1 - 4.0 * m.1 + 3.0 * b.1,
        ];
        (a.0 * slopes[0] + 4.0 * m.0 * slopes[1] + b.0 * slopes[2]) / 6.0
    };
    let whole = simpson([from, middle, to]);
    let half = 0.5 * (low + high);
    let quarters = [at(0.5 * (low + half)), at(0.5 * (half + high))];
    let halves = [[from, quarters[0], middle], [middle, quarters[1], to]];
    let sum = simpson(halves[0]) + simpson(halves[1]);
    let scale = from.0.abs().max(to.0.abs()) * (to.1 - from.1).abs();
    match halvings.checked_sub(1) {
        Some(fewer) if (sum - whole).abs() > AGREE * scale.max(1e-3) => {
            work_of_piece(at, low, half, halves[0], fewer)
                + work_of_piece(at, half, high, halves[1], fewer)
        }
        _ => sum + (sum - whole) / 15.0,
    }
}
