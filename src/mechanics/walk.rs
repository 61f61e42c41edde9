//! The walk along a chain: the state at any travel of the bearing, worked out back towards the pedal.

use super::actuation::{Cylinders, Mechanism};
use super::chain::Chain;
use super::cover::Corners;
use super::domain::{finite, not_negative};
use super::drive::Drive;
use super::efficiency::Stroke;
use super::fork::Lever;
use super::leg::{Leg, WalkPoint};
use super::limit::{EndedBy, HardStops, Limit};
use super::numeric::{highest, root};
use super::pedal::PedalGeometry;
use super::relay::{Through, output_travel, through};

/// Everything along the chain at one place of the walk.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct State {
    /// Travel of the release bearing, mm.
    pub bearing_travel: f64,
    /// Travel of the diaphragm's fingers, mm; zero until the bearing's free play is taken up.
    pub finger_travel: f64,
    /// Load on the release bearing, N.
    pub release_load: f64,
    /// Force at the fork's outer end, N.
    pub fork_force: f64,
    /// Deflection of the fork at its outer end, mm.
    pub fork_flex: f64,
    /// Travel of the fork's outer end from rest, mm. Without a relay lever between them, the slave's piston, the
    /// cable's end or the linkage's last rod moves with it.
    pub fork_travel: f64,
    /// Travel of the slave's piston, of the cable's end or of the linkage's last rod from rest, mm.
    pub output_travel: f64,
    /// What the cylinders do; `None` for a cable or a linkage.
    pub cylinders: Option<Cylinders>,
    /// Force in the pedal's rod, N. Without a relay lever it is the force on the master's piston or the linkage, or
    /// the cable's tension at the pedal's end.
    pub rod_force: f64,
    /// Travel at the pedal's rod lost to elasticity before the fork, mm: the master's mount deflects, the cable
    /// stretches, the linkage winds up.
    pub give: f64,
    /// Travel of the pedal's rod from rest, clearance included, mm.
    pub rod_travel: f64,
    /// Travel at the pad from rest, mm.
    pub pad_travel: f64,
    /// Pedal ratio at this pad travel, pad travel per rod travel.
    pub local_ratio: f64,
    /// Force at the pad, N; negative where an assist alone would carry the pedal down.
    pub effort: f64,
}

/// The pedal pressed as far as it goes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FullPedal {
    /// State there, on the press stroke. Its pad travel is the farthest that the foot has come.
    pub state: State,
    /// What ended the travel.
    pub ended_by: EndedBy,
    pub(super) place: WalkPoint,
    /// How many corners of the walk lie before `place`.
    pub(super) passed: usize,
    /// Whether every travel rises without a break up to `place`.
    pub(super) rises: bool,
}

/// The corner at which the slack is taken up. Before it are three: rest, clearance taken up, mount taken up.
pub(super) const TAKEN_UP: usize = 3;

/// A chain with its constants worked out.
///
/// States are evaluated without solving and without allocating. The bearing's travel and load are given, and
/// everything else follows back to the pad.
#[derive(Clone, Copy, Debug)]
pub struct Walk<'a> {
    pub(super) chain: &'a Chain,
    pub(super) mechanism: Mechanism,
    pub(super) geometry: PedalGeometry,
    pub(super) fork: Lever,
    pub(super) clearance: f64,
    /// Clearance of the pedal's rod before relay levers, mm.
    rod_gap: f64,
    /// Travel of the pedal's rod that relay levers use before they move anything, mm, the gap included.
    lead: f64,
    /// Travel at which the bearing begins to move, mm: that of the pedal's rod through the lead, then that of the
    /// actuation's input.
    pub(super) slack: f64,
    /// Travel of the actuation's output that relay levers behind it use before they move the fork, mm.
    output_play: f64,
    /// Whether a lever is not square, so that travel and force are not proportional along a leg.
    pub(super) is_bent: bool,
    /// Load on the bearing when it has just met the fingers, N.
    first_load: f64,
    /// The corner at which the load is fully on the bearing. Between the end of the slack and it are drag and the
    /// fork's spring, if any, and the free play.
    pub(super) contact: usize,
    /// Corners of the cover's load.
    corners: Corners<'a>,
    pub(super) limit: Limit,
    pub(super) stops: HardStops,
}

impl Chain {
    /// The walk along this chain; `None` if a number has no meaning.
    pub fn walk(&self) -> Option<Walk<'_>> {
        self.pedal.check()?;
        self.cover.check()?;
        not_negative(self.bearing.free_play)?;
        let geometry = self.pedal.geometry()?;
        let mechanism = self.actuation.mechanism()?;
        self.relays.iter().try_for_each(|relay| relay.check())?;
        let (mut clearance, mut rod_gap) = match self.pedal.free_play {
            Some(free_play) => (geometry.rod_travel(free_play)?, 0.0),
            None => (mechanism.clearance(), 0.0),
        };
        let mut lead = 0.0;
        if !self.relays.at_pedal.is_empty() {
            // Free play at the pad lies before the first lever, a rod's clearance behind the last.
            if self.pedal.free_play.is_some() {
                (rod_gap, clearance) = (clearance, 0.0);
            }
            lead = rod_gap + through(&self.relays.at_pedal, 0.0, 0.0, Stroke::Press).travel;
        }
        let (output_play, idle_travel) = match self.relays.at_fork.as_slice() {
            [] => (0.0, mechanism.idle_travel()),
            relays => {
                let play = through(relays, 0.0, 0.0, Stroke::Press).travel;
                let drive = mechanism.drive(play, 0.0, 0.0, Stroke::Press);
                (play, drive.rod_travel())
            }
        };
        let fork = self
            .fork
            .lever()?
            .on_mount(self.actuation.end_stiffness())?;
        let breaks_away = mechanism.drags() || fork.constant.on(Stroke::Press) > 0.0;
        Some(Walk {
            chain: self,
            mechanism,
            geometry,
            fork,
            contact: TAKEN_UP + if breaks_away { 3 } else { 2 },
            clearance,
            rod_gap,
            lead,
            slack: finite(lead + clearance + idle_travel)?,
            output_play,
            is_bent: !self.relays.is_empty() || mechanism.is_bent(),
            first_load: self.cover.load_at(0.0),
            corners: self.cover.corners(),
            limit: Limit::new(&self.pedal, &geometry)?,
            stops: HardStops::new(self, &mechanism)?,
        })
    }
}

/// The part of a state between fork and rod: everything but the pedal's geometry.
#[derive(Clone, Copy)]
pub(super) struct Driven {
    fork_force: f64,
    fork_flex: f64,
    pub(super) fork_travel: f64,
    pub(super) output_travel: f64,
    pub(super) drive: Drive,
    pub(super) rod_travel: f64,
    pub(super) rod_force: f64,
    /// How far a lever is past its dead centre, mm of its output; below zero before it.
    pub(super) past_dead_centre: f64,
}

impl Walk<'_> {
    /// State with the bearing moved by `bearing_travel`, mm, against `release_load`, N. `None` for a negative travel,
    /// where the pedal's geometry cannot reach, and where a number grows without bound.
    ///
    /// On the return stroke friction leaves a lower pressure, and so less lost volume and less pad travel.
    pub fn at(&self, bearing_travel: f64, release_load: f64, stroke: Stroke) -> Option<State> {
        not_negative(bearing_travel)?;
        finite(release_load)?;
        let place = WalkPoint {
            slack: self.slack,
            bearing: bearing_travel,
            load: release_load,
            taken_up: 1.0,
        };
        self.state(&place, stroke)
    }

    /// State with the bearing moved by `bearing_travel`, mm, against the cover's own load, which begins after the free
    /// play. `None` where [`Walk::at`] is.
    pub fn on_cover(&self, bearing_travel: f64, stroke: Stroke) -> Option<State> {
        self.at(
            bearing_travel,
            self.place_on_cover(bearing_travel).load,
            stroke,
        )
    }

    pub(super) fn driven(&self, place: &WalkPoint, stroke: Stroke) -> Driven {
        if place.slack < self.slack {
            return self.slackened(place.slack, stroke);
        }
        let fork_force = self.fork.force(place, stroke);
        let fork_flex = fork_force * self.fork.compliance;
        let fork_travel = self.fork.moved(place.bearing) + fork_flex;
        if !self.is_bent {
            let drive = self
                .mechanism
                .drive(fork_travel, fork_force, place.taken_up, stroke);
            return Driven {
                fork_force,
                fork_flex,
                fork_travel,
                output_travel: fork_travel,
                drive,
                rod_travel: self.clearance + drive.rod_travel(),
                rod_force: drive.input_force,
                past_dead_centre: f64::NEG_INFINITY,
            };
        }
        let output = through(&self.chain.relays.at_fork, fork_travel, fork_force, stroke);
        let drive = self
            .mechanism
            .drive(output.travel, output.force, place.taken_up, stroke);
        let input = self.clearance + drive.rod_travel();
        let rod = self.rod_of(input, drive.input_force, stroke);
        Driven {
            fork_force,
            fork_flex,
            fork_travel,
            output_travel: output.travel,
            drive,
            rod_travel: rod.travel,
            rod_force: rod.force,
            past_dead_centre: output
                .past_dead_centre
                .max(self.mechanism.past_dead_centre(output.travel))
                .max(rod.past_dead_centre),
        }
    }

    /// The state of the chain at a slack of the walk, mm, while the bearing does not move.
    fn slackened(&self, slack: f64, stroke: Stroke) -> Driven {
        let on_press = slack - self.lead;
        let mut drive = self.mechanism.idle(on_press - self.clearance, stroke);
        // How far the mount has come back, since on the return drag no longer loads it.
        let back = match stroke {
            Stroke::Press => 0.0,
            Stroke::Return => {
                let press = self
                    .mechanism
                    .idle(on_press - self.clearance, Stroke::Press);
                press.give - drive.give
            }
        };
        let input = on_press - back;
        let mut rod = (slack - back, drive.input_force, f64::NEG_INFINITY);
        if input >= 0.0 && !self.chain.relays.at_pedal.is_empty() {
            let at = self.rod_of(input, drive.input_force, stroke);
            rod = (at.travel, at.force, at.past_dead_centre);
        }
        let mut output_travel = 0.0;
        if self.output_play > 0.0 {
            let begins = self.lead + self.clearance + self.mechanism.idle_travel();
            let share = (slack - begins) / (self.slack - begins);
            output_travel = self.output_play * share.max(0.0);
            drive.active_travel = (slack - begins).max(0.0);
        }
        Driven {
            fork_force: 0.0,
            fork_flex: 0.0,
            fork_travel: 0.0,
            output_travel,
            drive,
            rod_travel: rod.0,
            rod_force: rod.1,
            past_dead_centre: rod.2,
        }
    }

    /// Travel, mm, clearance included, and force, N, of the pedal's rod for those at the actuation's input.
    pub(super) fn rod_of(&self, travel: f64, force: f64, stroke: Stroke) -> Through {
        let mut at = through(&self.chain.relays.at_pedal, travel, force, stroke);
        at.travel += self.rod_gap;
        at
    }

    /// Travel of the actuation's input, mm, clearance included, for a travel of the pedal's rod, mm, while the input
    /// takes `force`, N. `None` past dead centre of a relay lever.
    pub(super) fn input_of_rod(&self, rod_travel: f64, force: f64) -> Option<f64> {
        output_travel(
            &self.chain.relays.at_pedal,
            rod_travel - self.rod_gap,
            force,
        )
    }

    /// Force at the actuation's input, N, for a force in the pedal's rod, N, at full pedal on the press.
    pub(super) fn input_force_of_rod(&self, full: &FullPedal, rod_force: f64) -> f64 {
        if self.chain.relays.at_pedal.is_empty() {
            return rod_force;
        }
        let drive = self.driven(&full.place, Stroke::Press).drive;
        let input = self.clearance + drive.rod_travel();
        let rod = self.rod_of(input, drive.input_force, Stroke::Press);
        rod_force * rod.ratio * rod.efficiency
    }

    /// Input travel over output travel of all relay levers and of a cross-shaft with given angles, at full pedal;
    /// `None` without either.
    pub(super) fn relay_ratio(&self, full: &FullPedal) -> Option<f64> {
        let has_levers = self.chain.relays.iter().any(|relay| !relay.is_cable());
        if !has_levers && !self.mechanism.is_bent() {
            return None;
        }
        let driven = self.driven(&full.place, Stroke::Press);
        let relays = &self.chain.relays.at_fork;
        let output = through(relays, driven.fork_travel, driven.fork_force, Stroke::Press);
        let drive = &driven.drive;
        let input = self.clearance + drive.rod_travel();
        let rod = self.rod_of(input, drive.input_force, Stroke::Press);
        let shaft = match self.mechanism.is_bent() {
            true => self.mechanism.ratio_at(driven.output_travel),
            false => 1.0,
        };
        finite(output.ratio * shaft * rod.ratio)
    }

    /// Travel lost to elasticity at a place on the press, as travel at the fork's outer end, mm.
    pub(super) fn flex_at(&self, place: &WalkPoint) -> f64 {
        let driven = self.driven(place, Stroke::Press);
        let drive = &driven.drive;
        if !self.is_bent {
            return driven.fork_flex + drive.give / self.mechanism.ratio();
        }
        let relays = &self.chain.relays.at_fork;
        let output = through(relays, driven.fork_travel, driven.fork_force, Stroke::Press);
        let rod = self.rod_of(
            self.clearance + drive.rod_travel(),
            drive.input_force,
            Stroke::Press,
        );
        let ratio = self.mechanism.ratio_at(driven.output_travel);
        driven.fork_flex + output.give + (drive.give + rod.give) / (ratio * output.ratio)
    }

    /// Play of relay levers and of the actuation, as travel at the fork's outer end at rest, mm; `None` where nothing
    /// can have play.
    pub(super) fn lost_play(&self) -> Option<f64> {
        let play = self.chain.actuation.play();
        let relays = &self.chain.relays;
        if relays.is_empty() {
            return Some(play? / self.mechanism.ratio());
        }
        let at_rest = |relays: &[super::relay::Relay]| -> (f64, f64) {
            relays.iter().rev().fold((0.0, 1.0), |(lost, ratio), one| {
                let ratio = ratio * one.ratio_at_rest();
                (lost + one.play / ratio, ratio)
            })
        };
        let (at_fork, fork_ratio) = at_rest(&relays.at_fork);
        let ratio = fork_ratio * self.mechanism.ratio();
        let (at_pedal, _) = at_rest(&relays.at_pedal);
        Some(at_fork + (play.unwrap_or(0.0) + at_pedal) / ratio)
    }

    /// Travel of the diaphragm's fingers, mm; zero until the bearing's free play is taken up.
    pub(super) fn finger_travel(&self, place: &WalkPoint) -> f64 {
        (place.bearing - self.chain.bearing.free_play).max(0.0)
    }

    pub(super) fn state(&self, place: &WalkPoint, stroke: Stroke) -> Option<State> {
        self.state_of(place, &self.driven(place, stroke), stroke)
    }

    /// The state at a place, from the driven part there.
    pub(super) fn state_of(
        &self,
        place: &WalkPoint,
        driven: &Driven,
        stroke: Stroke,
    ) -> Option<State> {
        let drive = &driven.drive;
        // The pad's position and the effort follow from everything else. If these two are finite, so is everything in
        // between.
        finite(driven.fork_force)?;
        let position = self.geometry.position(driven.rod_travel)?;
        let effort = finite(self.chain.pedal.effort(position, driven.rod_force, stroke))?;
        Some(State {
            bearing_travel: place.bearing,
            finger_travel: self.finger_travel(place),
            release_load: place.load,
            fork_force: driven.fork_force,
            fork_flex: driven.fork_flex,
            fork_travel: driven.fork_travel,
            output_travel: driven.output_travel,
            cylinders: self.mechanism.cylinders(drive),
            rod_force: driven.rod_force,
            give: drive.give,
            rod_travel: driven.rod_travel,
            pad_travel: position.pad_travel,
            local_ratio: position.local_ratio,
            effort,
        })
    }

    /// The corner of the walk with a number. Between corners every place is on a straight leg; past the last one the
    /// load is constant.
    pub(super) fn corner(&self, number: usize) -> Option<WalkPoint> {
        let free_play = self.chain.bearing.free_play;
        let taken_up = if number > TAKEN_UP || !self.breaks_away() {
            1.0
        } else {
            0.0
        };
        let place = |slack, bearing, load| WalkPoint {
            slack,
            bearing,
            load,
            taken_up,
        };
        Some(match number {
            0 => WalkPoint::REST,
            1 => place(self.lead + self.clearance, 0.0, 0.0),
            2 => place(
                self.lead + self.clearance + self.mechanism.take_up(),
                0.0,
                0.0,
            ),
            TAKEN_UP => place(self.slack, 0.0, 0.0),
            _ if number + 2 == self.contact => place(self.slack, 0.0, 0.0),
            _ if number + 1 == self.contact => place(self.slack, free_play, 0.0),
            _ if number == self.contact => place(self.slack, free_play, self.first_load),
            _ => {
                let (finger_travel, load) = self.corners.get(number - self.contact - 1)?;
                place(self.slack, free_play + finger_travel, load)
            }
        })
    }

    /// Whether drag or a spring at the fork must be overcome before anything moves there, on a leg of its own.
    pub(super) fn breaks_away(&self) -> bool {
        self.contact > TAKEN_UP + 2
    }

    /// How many corners the walk has.
    pub(super) fn count(&self) -> usize {
        self.contact + 1 + self.corners.len()
    }

    /// Whether every travel rises all along a leg: the bearing takes up more than a falling load gives back, even at
    /// the fastest rate.
    pub(super) fn rises(&self, leg: &Leg) -> bool {
        if self.is_bent {
            return false;
        }
        if !self.fork.is_straight() {
            return self.rises_on_bent_fork(leg);
        }
        if !leg.falls() {
            return true;
        }
        let per_load = self.fork.force_per_load.on(Stroke::Press);
        let constant = self.fork.constant.on(Stroke::Press);
        let force = |load: f64| load * per_load + constant;
        let (from, to) = (force(leg.from.load), force(leg.to.load));
        let moved = self.fork.ratio * (leg.to.bearing - leg.from.bearing);
        let fork_travel = moved - (from - to) * self.fork.compliance;
        self.mechanism.ratio() * fork_travel > self.mechanism.most_given_back(from, to)
    }

    /// Whether travel rises along a leg on which the fork's ratio changes. The force then changes too, even under a
    /// constant load. The ratio only rises or only falls, so that it and its slope lie between those at the ends.
    fn rises_on_bent_fork(&self, leg: &Leg) -> bool {
        let moved = leg.to.bearing - leg.from.bearing;
        if moved <= 0.0 {
            return !leg.falls();
        }
        let (near, far) = (
            self.fork.local_ratio(leg.from.bearing),
            self.fork.local_ratio(leg.to.bearing),
        );
        let per_load = self.fork.force_per_load.on(Stroke::Press) * self.fork.ratio;
        let (least, load) = (near.min(far), leg.from.load.max(leg.to.load));
        let steepest = self.fork.steepest(leg.from.bearing, leg.to.bearing);
        // The fastest fall of the force, taken for the whole leg.
        let by_load = (leg.from.load - leg.to.load).max(0.0) / least;
        let by_ratio = load * steepest.max(0.0) * moved / (least * least);
        let constant = self.fork.constant.on(Stroke::Press);
        let (from, fall) = (
            per_load * load / least + constant,
            per_load * (by_load + by_ratio),
        );
        let fork_travel = least * moved - fall * self.fork.compliance;
        self.mechanism.ratio() * fork_travel > self.mechanism.most_given_back(from, from - fall)
    }

    /// How many pieces each of `legs` legs is cut into, so that the whole walk is cut finely enough.
    pub(super) fn cuts(legs: usize) -> usize {
        const WHOLE_WALK: usize = 64;
        (WHOLE_WALK / legs.max(1)).clamp(2, 16)
    }

    /// The legs of the walk from the corner numbered `start` to full pedal; none if it ends before that.
    pub(super) fn legs_from(
        &self,
        start: usize,
        full: &FullPedal,
    ) -> impl Iterator<Item = Leg> + Clone {
        let (passed, end) = (full.passed, full.place);
        // Where one leg ends the next begins.
        let mut begin = self.corner(start);
        (start..passed).filter_map(move |i| {
            let to = if i + 1 < passed {
                self.corner(i + 1)?
            } else {
                end
            };
            let from = begin.replace(to)?;
            Some(Leg { from, to })
        })
    }

    /// The legs of the walk from rest to full pedal.
    pub(super) fn legs(&self, full: &FullPedal) -> impl Iterator<Item = Leg> + Clone {
        self.legs_from(0, full)
    }

    /// Pad travel, mm, on the press, at which the foot brings the bearing to `bearing_travel`, mm. Where it just
    /// touches the fingers, this is before their load comes on. `None` if full pedal does not reach it.
    ///
    /// Where the pad would retreat along the walk, the bearing runs ahead by itself. The place is then the farthest
    /// one that the pad has reached.
    pub fn pad_travel_at(&self, full: &FullPedal, bearing_travel: f64) -> Option<f64> {
        let reached = full.passed >= self.contact - 1 && bearing_travel <= full.place.bearing;
        let there = reached.then(|| self.on_cover(bearing_travel, Stroke::Press))??;
        if full.rises {
            return Some(there.pad_travel);
        }
        let place = self.place_on_cover(bearing_travel);
        let legs = self.legs_from(self.contact - 1, full);
        let cuts = Self::cuts(full.passed);
        let farthest = legs
            .take_while(|leg| leg.from.bearing < place.bearing)
            .map(|leg| Leg {
                to: if leg.to.bearing > place.bearing {
                    place
                } else {
                    leg.to
                },
                ..leg
            })
            .map(|leg| {
                let cuts = if self.rises(&leg) { 1 } else { cuts };
                highest(|t| self.driven(&leg.at(t), Stroke::Press).rod_travel, cuts)
            })
            .fold(there.rod_travel, f64::max);
        if farthest > there.rod_travel {
            Some(self.geometry.position(farthest)?.pad_travel)
        } else {
            Some(there.pad_travel)
        }
    }

    /// The legs of the walk on which the fingers move, up to full pedal.
    pub(super) fn legs_on_fingers(&self, full: &FullPedal) -> impl Iterator<Item = Leg> + Clone {
        self.legs_from(self.contact, full)
    }

    /// A leg split in two where the load on the bearing outgrows what the slave's preload carries, or the whole leg.
    pub(super) fn halves(&self, leg: Leg, stroke: Stroke) -> (Leg, Option<Leg>) {
        let carried = self.mechanism.carried_force(stroke);
        if leg.from.slack < self.slack {
            return (leg, None);
        }
        let takes_up = self.breaks_away() && leg.from.taken_up < 1.0;
        if self.fork.is_straight() && !takes_up {
            let of_load = carried - self.fork.constant.on(stroke);
            return leg.halves(of_load / self.fork.force_per_load.on(stroke));
        }
        // While drag is still being taken up, less of it must be overcome.
        let still_held = |taken_up: f64| self.mechanism.still_held(1.0 - taken_up, stroke);
        let over = |t: f64| {
            let place = leg.at(t);
            self.fork.force(&place, stroke) - carried - still_held(place.taken_up)
        };
        let (near, far) = (over(0.0), over(1.0));
        if near * far >= 0.0 {
            return (leg, None);
        }
        let up = far.signum();
        let t = root(
            |t| up * over(t),
            (0.0, up * near),
            (1.0, up * far),
            f64::EPSILON,
        );
        (leg.part(0.0, t), Some(leg.part(t, 1.0)))
    }
}
