//! The chain solved a second time, in the other direction and without the library's functions.
//!
//! The library walks from the bearing back to the pad, where everything is explicit. Here the pad's travel is given
//! and the line pressure is unknown: pad → rod → piston → volume, less what the pressure loses → slave → fork →
//! bearing → load, which must need the assumed pressure. Brent's method of the `roots` crate finds it. The equations
//! are written again, from the design and not from the library. A cable or a linkage is solved in the same way, with
//! the tension at the pedal's end unknown.

use std::f64::consts::PI;

use bitepoint::mechanics::{
    Actuation, Assist, Bearing, Cable, Chain, Cover, Curve, EndedBy, Fluid, Fork, Hydraulics,
    Leverage, Line, Linkage, Load, Master, Pedal, Relays, Slave, SlaveBore, Stroke, Summary, Walk,
    Wall,
};
use rand::rngs::StdRng;
use rand::{RngExt, SeedableRng};
use roots::{SimpleConvergency, find_root_brent};

/// A root between `low` and `high`, to a few parts in 1e13 of `scale`.
fn brent(low: f64, high: f64, scale: f64, f: impl FnMut(f64) -> f64) -> f64 {
    let mut convergency = SimpleConvergency {
        eps: 1e-13 * scale,
        max_iter: 200,
    };
    find_root_brent(low, high, f, &mut convergency).expect("a bracketed root")
}

/// The highest value of `f` between `low` and `high`, where it has one peak. A third of the interval is dropped at a
/// time.
fn peak(mut low: f64, mut high: f64, f: impl Fn(f64) -> f64) -> f64 {
    for _ in 0..80 {
        let third = (high - low) / 3.0;
        if f(low + third) < f(high - third) {
            low += third;
        } else {
            high -= third;
        }
    }
    f(low).max(f(high))
}

#[derive(Clone, Copy, PartialEq)]
enum Way {
    Press,
    Return,
}

/// Force at the input of a stage.
fn into(way: Way, output: f64, efficiency: f64) -> f64 {
    match way {
        Way::Press => output / efficiency,
        Way::Return => output * efficiency,
    }
}

/// Force at the output of a stage.
fn out_of(way: Way, input: f64, efficiency: f64) -> f64 {
    match way {
        Way::Press => input * efficiency,
        Way::Return => input / efficiency,
    }
}

/// The two ends of a chain, pedal and cover, independent of what is between them.
#[derive(Clone, Copy)]
struct Ends<'a> {
    chain: &'a Chain,
}

impl Ends<'_> {
    /// Rod travel for a pad travel. A rod's seat is where the rod's length fits.
    fn rod_travel(&self, pad_travel: f64) -> f64 {
        let pedal = &self.chain.pedal;
        match pedal.leverage {
            Leverage::Ratio(ratio) => pad_travel / ratio,
            Leverage::Crank {
                pad_arm,
                rod_arm,
                arm_angle,
                rod_length,
            } => {
                let rest = arm_angle.unwrap_or(-pedal.travel / pad_arm / 2.0);
                let angle = rest + pad_travel / pad_arm;
                match rod_length {
                    None => rod_arm * (angle.sin() - rest.sin()),
                    Some(length) => {
                        let axis = rod_arm * rest.cos();
                        let eye = (rod_arm * angle.sin(), rod_arm * angle.cos());
                        let misfit = |seat: f64| {
                            (seat - eye.0).powi(2) + (axis - eye.1).powi(2) - length.powi(2)
                        };
                        let seat = brent(eye.0, eye.0 + 2.0 * length, length * length, misfit);
                        seat - (rod_arm * rest.sin() + length)
                    }
                }
            }
        }
    }

    /// Local pedal ratio, by a difference quotient of fourth order.
    fn local_ratio(&self, pad_travel: f64) -> f64 {
        let h = 0.05;
        let x = |steps: f64| self.rod_travel(pad_travel + steps * h);
        12.0 * h / (8.0 * (x(1.0) - x(-1.0)) - (x(2.0) - x(-2.0)))
    }

    fn load(&self, finger_travel: f64) -> f64 {
        if finger_travel <= 0.0 {
            return 0.0;
        }
        match &self.chain.cover.load {
            Load::Peak(peak) => peak * (finger_travel / self.chain.cover.needed).min(1.0),
            Load::Curve(curve) => {
                let points = curve.knots();
                let last = points[points.len() - 1];
                if finger_travel >= last.0 {
                    return last.1;
                }
                let i = points
                    .iter()
                    .position(|p| p.0 > finger_travel)
                    .expect("inside");
                if i == 0 {
                    return points[0].1;
                }
                let (a, b) = (points[i - 1], points[i]);
                a.1 + (b.1 - a.1) * (finger_travel - a.0) / (b.0 - a.0)
            }
        }
    }

    fn effort(&self, pad_travel: f64, master_force: f64, way: Way) -> f64 {
        let pedal = &self.chain.pedal;
        let assist = pedal.assist.as_ref().map_or(0.0, |assist| {
            let Assist::Curve(curve) = assist else {
                unreachable!("every assist here is a curve")
            };
            // Every assist here rises from its first point, falls to its last, and is flat outside.
            let points = curve.knots();
            let x = pad_travel.clamp(points[0].0, points[points.len() - 1].0);
            let i = points
                .iter()
                .skip(1)
                .position(|p| x <= p.0)
                .expect("inside");
            let (a, b) = (points[i], points[i + 1]);
            a.1 + (b.1 - a.1) * (x - a.0) / (b.0 - a.0)
        });
        into(
            way,
            master_force / self.local_ratio(pad_travel),
            pedal.efficiency,
        ) + pedal.return_force
            - assist
    }
}

/// Which of slave, fork and bearing stops first on the way to the pad travel `foot`, and the pad travel there.
/// `moved` gives the travels of the fork's end and of the bearing at a pad travel.
fn hard_stop(
    chain: &Chain,
    foot: f64,
    moved: impl Fn(f64) -> (f64, f64),
) -> Option<(f64, EndedBy)> {
    let slave = chain
        .actuation
        .hydraulics()
        .map(|h| h.slave.stroke - h.slave.rest_extension);
    let stops = [
        (slave, EndedBy::SlaveStroke),
        (chain.fork.window, EndedBy::ForkWindow),
        (chain.bearing.max_travel, EndedBy::BearingGuide),
    ];
    let stops = stops.into_iter().filter_map(|(stop, cause)| {
        let past = |pad: f64| {
            let (fork, bearing) = moved(pad);
            let is_bearing = cause == EndedBy::BearingGuide;
            Some(if is_bearing { bearing } else { fork } - stop?)
        };
        let over = past(foot)? > 0.0;
        over.then(|| {
            (
                brent(0.0, foot, 1.0, |pad| past(pad).expect("a stop")),
                cause,
            )
        })
    });
    stops.min_by(|a, b| a.0.total_cmp(&b.0))
}

/// Full pedal. `asked_for` is the state to which pedal and master would go, at the pad travel `foot`. Full pedal is
/// there, or at a hard stop before it. `moved` gives the travels of the fork's end and of the bearing.
fn at_the_first_end<T>(
    chain: &Chain,
    asked_for: (T, EndedBy),
    foot: f64,
    at_pad: impl Fn(f64) -> T,
    moved: impl Fn(&T) -> (f64, f64),
) -> (T, EndedBy) {
    match hard_stop(chain, foot, |pad| moved(&at_pad(pad))) {
        Some((pad, cause)) => (at_pad(pad), cause),
        None => asked_for,
    }
}

/// A hydraulic system, as the equations see it.
struct System<'a> {
    chain: &'a Chain,
    ends: Ends<'a>,
    hydraulics: &'a Hydraulics,
    a_m: f64,
    a_s: f64,
    fluid_volume: f64,
}

#[derive(Clone, Copy, Debug)]
struct Solution {
    pad_travel: f64,
    master_travel: f64,
    pressure: f64,
    bearing_travel: f64,
    effort: f64,
}

/// A system with a cable or a linkage, as the equations see it.
struct Mechanical<'a> {
    chain: &'a Chain,
    ends: Ends<'a>,
    /// Travel in over travel out.
    ratio: f64,
    efficiency: f64,
    play: f64,
    stiffness: Option<f64>,
}

#[derive(Clone, Copy, Debug)]
struct Pulled {
    pad_travel: f64,
    tension: f64,
    bearing_travel: f64,
    effort: f64,
}

impl<'a> Mechanical<'a> {
    fn new(chain: &'a Chain) -> Self {
        let (ratio, efficiency, play, stiffness) = match &chain.actuation {
            Actuation::Hydraulic(_) => panic!("not mechanical: {chain:#?}"),
            Actuation::Cable(cable) => {
                // The capstan's equation dT = μ·T·dθ, summed over small turns by the midpoint rule.
                let turn = cable.bends / 20_000.0;
                let step =
                    (1.0 - 0.5 * cable.friction * turn) / (1.0 + 0.5 * cable.friction * turn);
                (1.0, step.powi(20_000), cable.play, cable.stiffness)
            }
            Actuation::Linkage(l) => (l.in_arm / l.out_arm, l.efficiency, l.play, l.stiffness),
        };
        Self {
            chain,
            ends: Ends { chain },
            ratio,
            efficiency,
            play,
            stiffness,
        }
    }

    /// The system with the pad at `pad_travel`: the tension at the pedal's end is the unknown.
    fn at_pad(&self, pad_travel: f64, way: Way) -> Pulled {
        let clearance = self.chain.pedal.free_play.unwrap_or(0.0);
        let rod = |pad| self.ends.rod_travel(pad);
        let past = rod(pad_travel) - rod(clearance) - self.play;
        let fork = &self.chain.fork;
        let give = |force: f64, stiffness: Option<f64>| stiffness.map_or(0.0, |k| force / k);
        let at_fork = |tension: f64| out_of(way, self.ratio * tension, self.efficiency);
        let bearing = |tension: f64| {
            let fork_travel = (past - give(tension, self.stiffness)) / self.ratio;
            (fork_travel - give(at_fork(tension), fork.stiffness)) / fork.ratio
        };
        let asked = |tension: f64| {
            let fingers = bearing(tension) - self.chain.bearing.free_play;
            into(way, self.ends.load(fingers) / fork.ratio, fork.efficiency)
        };
        let (tension, bearing_travel) = if past <= 0.0 {
            (0.0, 0.0)
        } else if asked(0.0) <= 0.0 {
            (0.0, bearing(0.0))
        } else {
            let tension = brent(0.0, 1e4, 100.0, |t| asked(t) - at_fork(t));
            (tension, bearing(tension))
        };
        Pulled {
            pad_travel,
            tension,
            bearing_travel,
            effort: self.ends.effort(pad_travel, tension, way),
        }
    }

    /// Where the pedal alone ends the travel.
    fn asked_for(&self) -> (Pulled, EndedBy) {
        let pedal = &self.chain.pedal;
        match pedal.stop {
            Some(stop) if stop < pedal.travel => {
                (self.at_pad(stop, Way::Press), EndedBy::PedalStop)
            }
            _ => (self.at_pad(pedal.travel, Way::Press), EndedBy::PedalTravel),
        }
    }

    fn fork_travel(&self, there: &Pulled) -> f64 {
        let force = out_of(Way::Press, self.ratio * there.tension, self.efficiency);
        let fork = &self.chain.fork;
        fork.ratio * there.bearing_travel + fork.stiffness.map_or(0.0, |k| force / k)
    }

    fn full_pedal(&self) -> (Pulled, EndedBy) {
        let (there, cause) = self.asked_for();
        let foot = there.pad_travel;
        let at_pad = |pad| self.at_pad(pad, Way::Press);
        let moved = |at: &Pulled| (self.fork_travel(at), at.bearing_travel);
        at_the_first_end(self.chain, (there, cause), foot, at_pad, moved)
    }
}

impl<'a> System<'a> {
    fn new(chain: &'a Chain) -> Self {
        let hydraulics = chain.actuation.hydraulics().expect("hydraulic");
        let disc = |d: f64| PI * (d / 2.0).powi(2);
        let a_m = disc(hydraulics.master.bore);
        let a_s = match hydraulics.slave.bore {
            SlaveBore::Round(d) => disc(d),
            SlaveBore::Annulus { outer, inner } => PI / 4.0 * (outer + inner) * (outer - inner),
        };
        let lines: f64 = hydraulics
            .lines
            .iter()
            .map(|l| disc(l.bore) * l.length)
            .sum();
        let swept = a_m * (hydraulics.master.stroke - hydraulics.master.port_travel);
        Self {
            chain,
            ends: Ends { chain },
            hydraulics,
            a_m,
            a_s,
            fluid_volume: lines + swept + a_s * hydraulics.slave.rest_extension,
        }
    }

    fn clearance(&self) -> f64 {
        match self.chain.pedal.free_play {
            Some(free_play) => self.ends.rod_travel(free_play),
            None => self.hydraulics.master.rod_clearance,
        }
    }

    fn lost(&self, p: f64) -> f64 {
        let fluid = &self.hydraulics.fluid;
        let mut lost = fluid.air - fluid.air * fluid.ambient / (fluid.ambient + p);
        if let Some(k) = fluid.bulk_modulus {
            lost += self.fluid_volume * p / k;
        }
        for line in &self.hydraulics.lines {
            lost += match line.wall {
                Wall::Rigid => 0.0,
                Wall::Hose { expansion } => expansion * line.length * p,
                Wall::Tube {
                    thickness,
                    modulus,
                    poisson,
                } => {
                    let a = line.bore / 2.0;
                    let b = a + thickness;
                    let u = p * a / modulus
                        * ((b.powi(2) + a.powi(2)) / (b.powi(2) - a.powi(2)) + poisson);
                    PI * ((a + u).powi(2) - a.powi(2)) * line.length
                }
            };
        }
        lost
    }

    fn master_force(&self, p: f64, way: Way) -> f64 {
        let master = &self.hydraulics.master;
        into(way, p * self.a_m, master.efficiency) + master.return_force
    }

    fn mount_flex(&self, force: f64) -> f64 {
        self.hydraulics
            .master
            .mount_stiffness
            .map_or(0.0, |k| force / k)
    }

    /// Pressure and bearing travel with the piston where `master_travel(p)` says.
    fn settle(&self, way: Way, master_travel: impl Fn(f64) -> f64) -> (f64, f64) {
        let (fork, slave) = (&self.chain.fork, &self.hydraulics.slave);
        let free_play = self.chain.bearing.free_play;
        let port = self.hydraulics.master.port_travel;
        let slave_travel =
            |p: f64| (self.a_m * (master_travel(p) - port) - self.lost(p)) / self.a_s;
        let flex = |force: f64| fork.stiffness.map_or(0.0, |k| force / k);
        let at_slave = |p: f64| out_of(way, p * self.a_s + slave.preload, slave.efficiency);
        let asked = |bearing: f64| {
            into(
                way,
                self.ends.load(bearing - free_play) / fork.ratio,
                fork.efficiency,
            )
        };
        let bearing = |p: f64| (slave_travel(p) - flex(at_slave(p))) / fork.ratio;

        // Where the preload alone can bear what would be asked of it, there is no pressure.
        if asked(bearing(0.0)) <= at_slave(0.0) {
            let longest = slave_travel(0.0);
            let gap = |x: f64| fork.ratio * x + flex(asked(x)) - longest;
            let unloaded = longest / fork.ratio;
            let rests_at = if gap(unloaded) <= 0.0 {
                unloaded
            } else {
                brent(0.0, unloaded, 1.0, gap)
            };
            return (0.0, rests_at);
        }
        let p = brent(0.0, 60.0, 1.0, |p| asked(bearing(p)) - at_slave(p));
        (p, bearing(p))
    }

    /// The system with the pad at `pad_travel`, without the limit of the master's stroke.
    fn at_pad(&self, pad_travel: f64, way: Way) -> Solution {
        let master = &self.hydraulics.master;
        let past = self.ends.rod_travel(pad_travel) - self.clearance();
        let spring_flex = self.mount_flex(master.return_force);
        if past - spring_flex <= master.port_travel {
            let force = if past <= 0.0 {
                0.0
            } else if past < spring_flex {
                master.return_force * past / spring_flex
            } else {
                master.return_force
            };
            return Solution {
                pad_travel,
                master_travel: (past - spring_flex).max(0.0),
                pressure: 0.0,
                bearing_travel: 0.0,
                effort: self.ends.effort(pad_travel, force, way),
            };
        }
        let travel = |p: f64| past - self.mount_flex(self.master_force(p, way));
        let (pressure, bearing_travel) = self.settle(way, travel);
        Solution {
            pad_travel,
            master_travel: travel(pressure),
            pressure,
            bearing_travel,
            effort: self
                .ends
                .effort(pad_travel, self.master_force(pressure, way), way),
        }
    }

    fn fork_travel(&self, there: &Solution) -> f64 {
        let (fork, slave) = (&self.chain.fork, &self.hydraulics.slave);
        let force = if there.pressure > 0.0 {
            let push = there.pressure * self.a_s + slave.preload;
            out_of(Way::Press, push, slave.efficiency)
        } else {
            let fingers = there.bearing_travel - self.chain.bearing.free_play;
            let load = self.ends.load(fingers);
            into(Way::Press, load / fork.ratio, fork.efficiency)
        };
        fork.ratio * there.bearing_travel + fork.stiffness.map_or(0.0, |k| force / k)
    }

    fn full_pedal(&self) -> (Solution, EndedBy) {
        let (there, cause) = self.asked_for();
        let foot = there.pad_travel;
        let at_pad = |pad| self.at_pad(pad, Way::Press);
        let moved = |at: &Solution| (self.fork_travel(at), at.bearing_travel);
        at_the_first_end(self.chain, (there, cause), foot, at_pad, moved)
    }

    /// Where the pedal or the master alone ends the travel.
    fn asked_for(&self) -> (Solution, EndedBy) {
        let pedal = &self.chain.pedal;
        let (limit, cause) = match pedal.stop {
            Some(stop) if stop < pedal.travel => (stop, EndedBy::PedalStop),
            _ => (pedal.travel, EndedBy::PedalTravel),
        };
        let at_limit = self.at_pad(limit, Way::Press);
        let stroke = self.hydraulics.master.stroke;
        if at_limit.master_travel <= stroke {
            return (at_limit, cause);
        }
        let (pressure, bearing_travel) = self.settle(Way::Press, |_| stroke);
        let force = self.master_force(pressure, Way::Press);
        let rod_travel = self.clearance() + stroke + self.mount_flex(force);
        let pad_travel = brent(0.0, limit, 1.0, |pad| {
            self.ends.rod_travel(pad) - rod_travel
        });
        let bottomed = Solution {
            pad_travel,
            master_travel: stroke,
            pressure,
            bearing_travel,
            effort: self.ends.effort(pad_travel, force, Way::Press),
        };
        (bottomed, EndedBy::MasterStroke)
    }
}

/// A value or nothing, with the given chance of a value.
fn maybe<T>(rng: &mut StdRng, chance: f64, value: impl FnOnce(&mut StdRng) -> T) -> Option<T> {
    rng.random_bool(chance).then(|| value(rng))
}

fn random_chain(rng: &mut StdRng) -> Chain {
    let travel = rng.random_range(110.0..170.0);
    let pad_arm = rng.random_range(220.0..340.0);
    let leverage = match rng.random_range(0..3) {
        0 => Leverage::Ratio(rng.random_range(4.5..7.0)),
        kind => Leverage::Crank {
            pad_arm,
            rod_arm: pad_arm / rng.random_range(4.5..7.0),
            arm_angle: maybe(rng, 0.5, |rng| rng.random_range(-0.5..0.2)),
            rod_length: (kind == 2).then(|| rng.random_range(70.0..200.0)),
        },
    };
    let wall = |rng: &mut StdRng| match rng.random_range(0..3) {
        0 => Wall::Rigid,
        1 => Wall::Hose {
            expansion: rng.random_range(0.02..0.4),
        },
        _ => Wall::Tube {
            thickness: rng.random_range(0.6..1.2),
            modulus: rng.random_range(70e3..210e3),
            poisson: rng.random_range(0.25..0.4),
        },
    };
    let lines = (0..rng.random_range(0..4))
        .map(|_| Line {
            bore: rng.random_range(2.5..6.0),
            length: rng.random_range(100.0..1500.0),
            wall: wall(rng),
            flow: bitepoint::mechanics::Flow::Through,
            side: bitepoint::mechanics::Side::Slave,
        })
        .collect();
    let concentric = rng.random_bool(0.3);
    let slave_bore = if concentric {
        let inner = rng.random_range(35.0..42.0);
        SlaveBore::Annulus {
            outer: inner + rng.random_range(7.0..10.0),
            inner,
        }
    } else {
        SlaveBore::Round(rng.random_range(18.0..26.0))
    };
    let fork = if concentric {
        Fork::none()
    } else {
        Fork {
            drag: 0.0,
            return_force: 0.0,
            ratio: rng.random_range(1.4..2.4),
            efficiency: rng.random_range(0.85..1.0),
            stiffness: maybe(rng, 0.5, |rng| rng.random_range(200.0..3000.0)),
            window: None,
            bend: None,
        }
    };
    let peak = rng.random_range(900.0..2400.0);
    let load = if rng.random_bool(0.4) {
        Load::Peak(peak)
    } else {
        let first = if rng.random_bool(0.3) {
            0.3 * peak
        } else {
            0.0
        };
        let points = vec![
            (0.0, first),
            (1.0, 0.6 * peak),
            (3.0, 0.95 * peak),
            (4.5, peak),
            (7.0, rng.random_range(0.7..0.95) * peak),
            (9.0, rng.random_range(0.6..1.1) * peak),
        ];
        Load::Curve(Curve::new(points).expect("rising"))
    };
    let assist = |rng: &mut StdRng| {
        let most = rng.random_range(5.0..30.0);
        Curve::new(vec![(20.0, -5.0), (70.0, most), (travel, 0.5 * most)])
            .expect("rising")
            .into()
    };
    Chain {
        pedal: Pedal {
            drag: 0.0,
            travel,
            stop: maybe(rng, 0.3, |rng| rng.random_range(0.7..1.1) * travel),
            free_play: maybe(rng, 0.5, |rng| rng.random_range(0.0..15.0)),
            leverage,
            rod_offset: 0.0,
            efficiency: rng.random_range(0.85..1.0),
            return_force: rng.random_range(0.0..20.0),
            assist: maybe(rng, 0.4, assist),
        },
        actuation: Actuation::Hydraulic(Hydraulics {
            master: Master {
                drag: 0.0,
                bore: rng.random_range(14.0..24.0),
                stroke: rng.random_range(16.0..40.0),
                port_travel: rng.random_range(0.0..2.0),
                rod_clearance: rng.random_range(0.0..1.5),
                efficiency: rng.random_range(0.85..1.0),
                return_force: rng.random_range(0.0..40.0),
                mount_stiffness: maybe(rng, 0.5, |rng| rng.random_range(300.0..5000.0)),
            },
            lines,
            intensifier: None,
            fluid: Fluid {
                bulk_modulus: maybe(rng, 0.7, |rng| rng.random_range(800.0..2500.0)),
                air: if rng.random_bool(0.5) {
                    0.0
                } else {
                    rng.random_range(0.0..3000.0)
                },
                ambient: rng.random_range(0.07..0.103),
            },
            slave: Slave {
                drag: 0.0,
                bore: slave_bore,
                stroke: 30.0,
                rest_extension: rng.random_range(0.0..10.0),
                preload: rng.random_range(0.0..60.0),
                efficiency: rng.random_range(0.85..1.0),
                mount_stiffness: None,
            },
        }),
        relays: Relays::default(),
        adjust_range: None,
        fork,
        bearing: Bearing {
            free_play: if rng.random_bool(0.4) {
                0.0
            } else {
                rng.random_range(0.0..3.0)
            },
            max_travel: None,
        },
        cover: Cover {
            needed: rng.random_range(5.0..8.0),
            most: 10.0,
            load,
        },
    }
}

/// Seeded chains. About one in thirty thousand has so soft a mount under so steep a fall of load that the pad would
/// retreat. The implicit equations then have several solutions, of which the first is right (see
/// `where_the_pad_would_retreat…` among the properties). None of the chains used here is like that.
fn chains(count: usize) -> impl Iterator<Item = Chain> {
    let mut rng = StdRng::seed_from_u64(20_240_517);
    (0..count).map(move |_| random_chain(&mut rng))
}

/// Seeded chains with a cable or a linkage instead of cylinders. They are so stiff that no load here falls fast
/// enough for the pad to retreat.
fn mechanical_chains(count: usize, cable: bool) -> impl Iterator<Item = Chain> {
    let mut rng = StdRng::seed_from_u64(if cable { 11 } else { 12 });
    (0..count).map(move |_| {
        let mut chain = random_chain(&mut rng);
        if chain.fork == Fork::none() {
            chain.fork.ratio = rng.random_range(1.4..2.4);
        }
        let play = maybe(&mut rng, 0.6, |rng| rng.random_range(0.0..4.0)).unwrap_or(0.0);
        let stiffness = maybe(&mut rng, 0.7, |rng| rng.random_range(800.0..5000.0));
        chain.actuation = if cable {
            Actuation::Cable(Cable {
                bends: rng.random_range(0.0..6.0),
                friction: rng.random_range(0.03..0.15),
                stiffness,
                play,
            })
        } else {
            Actuation::Linkage(Linkage {
                in_arm: rng.random_range(60.0..110.0),
                out_arm: rng.random_range(60.0..110.0),
                in_angle: 0.0,
                out_angle: 0.0,
                play,
                stiffness,
                efficiency: rng.random_range(0.8..1.0),
            })
        };
        chain
    })
}

#[track_caller]
fn same(what: &str, got: f64, other: f64, scale: f64, chain: &Chain) {
    assert!(
        (got - other).abs() <= 1e-6 * scale.max(other.abs()),
        "{what}: {got} here, {other} there, of {chain:#?}"
    );
}

#[test]
fn full_pedal_agrees_with_the_implicit_solution() {
    let mut ended = [0_usize; 4];
    let mut pressed = 0;
    for chain in chains(600) {
        let system = System::new(&chain);
        let (other, other_end) = system.full_pedal();
        let summary = chain.summary().expect("a plausible chain");
        let walk = chain.walk().expect("a plausible chain");
        let state = walk.full_pedal().expect("a plausible chain").state;
        let cylinders = state.cylinders.expect("hydraulic");
        assert_eq!(summary.ended_by, other_end, "{chain:#?}");
        ended[match other_end {
            EndedBy::PedalTravel => 0,
            EndedBy::PedalStop => 1,
            EndedBy::MasterStroke => 2,
            EndedBy::SlaveStroke => 3,
            other => panic!("{other:?} is none of what ends these: {chain:#?}"),
        }] += 1;
        pressed += usize::from(other.pressure > 0.1);
        // Where a number is all but zero its own size is no measure of agreement.
        same(
            "pad",
            summary.pedal_travel_used,
            other.pad_travel,
            1e-3,
            &chain,
        );
        same(
            "master",
            cylinders.master_travel,
            other.master_travel,
            1e-3,
            &chain,
        );
        same(
            "bearing",
            summary.bearing_travel,
            other.bearing_travel,
            1e-3,
            &chain,
        );
        same("pressure", cylinders.pressure, other.pressure, 1e-3, &chain);
        same(
            "effort",
            summary.pedal_effort_full,
            other.effort,
            1.0,
            &chain,
        );

        let ratio = system.a_s / system.a_m;
        let force = system.master_force(other.pressure, Way::Press);
        let slave = &system.hydraulics.slave;
        let at_fork = out_of(
            Way::Press,
            other.pressure * system.a_s + slave.preload,
            slave.efficiency,
        );
        // Without pressure the fork's force is less than the preload could bear, and not known from it.
        if other.pressure > 0.0 {
            let fork_flex = chain.fork.stiffness.map_or(0.0, |k| at_fork / k);
            let flex = fork_flex + system.mount_flex(force) / ratio;
            same("flex", summary.lost_flex, flex, 1e-3, &chain);
            let asked = system.fork_travel(&system.asked_for().0);
            let reserve = slave.stroke - slave.rest_extension - asked;
            let got = summary.slave_reserve.expect("hydraulic");
            same("slave reserve", got, reserve, 1.0, &chain);
        }
        let volumes = [summary.lost_hose, summary.lost_fluid, summary.lost_air];
        let lost: f64 = volumes.iter().flatten().sum();
        same(
            "lost",
            lost,
            system.lost(other.pressure) / system.a_s,
            1e-3,
            &chain,
        );
        let port = system.hydraulics.master.port_travel / ratio;
        same(
            "port",
            summary.lost_port.expect("hydraulic"),
            port,
            1e-3,
            &chain,
        );
        let reserve = system.hydraulics.master.stroke - other.master_travel;
        same(
            "reserve",
            summary.master_reserve.expect("hydraulic"),
            reserve,
            1.0,
            &chain,
        );
        let fingers = (other.bearing_travel - chain.bearing.free_play).max(0.0);
        let margins = (fingers - chain.cover.needed, chain.cover.most - fingers);
        same("release", summary.release_margin, margins.0, 1.0, &chain);
        same(
            "overtravel",
            summary.overtravel_margin,
            margins.1,
            1.0,
            &chain,
        );
    }
    // All the ways to end are met, and nearly all systems are under pressure there.
    assert!(ended.iter().all(|count| *count >= 30), "{ended:?}");
    assert!(pressed >= 500, "{pressed}");
}

/// A chain with hard stops near where pedal and master would bring fork and bearing, and the reserves that result.
fn with_stops(rng: &mut StdRng, mut chain: Chain, fork: f64, bearing: f64) -> Chain {
    if let Some(hydraulics) = chain.actuation.hydraulics_mut() {
        let slave = &mut hydraulics.slave;
        slave.stroke = slave.rest_extension + rng.random_range(0.6..1.4) * fork;
    }
    let near = |rng: &mut StdRng| maybe(rng, 0.5, |rng| rng.random_range(0.6..1.4));
    chain.fork.window = near(rng).map(|share| share * fork);
    chain.bearing.max_travel = near(rng).map(|share| share * bearing);
    chain
}

#[test]
fn the_walk_ends_at_the_least_of_all_stops() {
    let mut ended = [0_usize; 4];
    let mut rng = StdRng::seed_from_u64(17);
    let mut note = |cause: EndedBy| {
        ended[match cause {
            EndedBy::SlaveStroke => 0,
            EndedBy::ForkWindow => 1,
            EndedBy::BearingGuide => 2,
            _ => 3,
        }] += 1;
    };
    for free in chains(300) {
        let asked = System::new(&free);
        let (there, _) = asked.asked_for();
        let (fork, bearing) = (asked.fork_travel(&there), there.bearing_travel);
        if bearing < 0.5 {
            continue;
        }
        let chain = with_stops(&mut rng, free, fork, bearing);
        let system = System::new(&chain);
        let (other, cause) = system.full_pedal();
        let summary = chain.summary().expect("a plausible chain");
        note(summary.ended_by);
        assert_eq!(summary.ended_by, cause, "{chain:#?}");
        let scale = 1e-3;
        same(
            "pad",
            summary.pedal_travel_used,
            other.pad_travel,
            1.0,
            &chain,
        );
        same(
            "bearing",
            summary.bearing_travel,
            other.bearing_travel,
            scale,
            &chain,
        );
        same(
            "fork",
            summary.fork_travel,
            system.fork_travel(&other),
            scale,
            &chain,
        );
        let lines = System::new(&chain).lost(other.pressure) / system.a_s;
        let lost: f64 = [summary.lost_hose, summary.lost_fluid, summary.lost_air]
            .iter()
            .flatten()
            .sum();
        same("lost", lost, lines, scale, &chain);
        same(
            "effort",
            summary.pedal_effort_full,
            other.effort,
            1.0,
            &chain,
        );
        let slave = &system.hydraulics.slave;
        let reserve = slave.stroke - slave.rest_extension - fork;
        same(
            "slave",
            summary.slave_reserve.expect("hydraulic"),
            reserve,
            1.0,
            &chain,
        );
        reserves(&chain, &summary, fork, bearing);
    }
    for free in mechanical_chains(150, true).chain(mechanical_chains(150, false)) {
        let asked = Mechanical::new(&free);
        let (there, _) = asked.asked_for();
        let (fork, bearing) = (asked.fork_travel(&there), there.bearing_travel);
        if bearing < 0.5 {
            continue;
        }
        let chain = with_stops(&mut rng, free, fork, bearing);
        let system = Mechanical::new(&chain);
        let (other, cause) = system.full_pedal();
        let summary = chain.summary().expect("a plausible chain");
        note(summary.ended_by);
        assert_eq!(summary.ended_by, cause, "{chain:#?}");
        same(
            "pad",
            summary.pedal_travel_used,
            other.pad_travel,
            1.0,
            &chain,
        );
        same(
            "bearing",
            summary.bearing_travel,
            other.bearing_travel,
            1e-3,
            &chain,
        );
        same(
            "fork",
            summary.fork_travel,
            system.fork_travel(&other),
            1e-3,
            &chain,
        );
        same(
            "effort",
            summary.pedal_effort_full,
            other.effort,
            1.0,
            &chain,
        );
        reserves(&chain, &summary, fork, bearing);
    }
    assert!(ended.iter().all(|count| *count >= 50), "{ended:?}");
}

/// The remaining travel of window and guide where pedal and master would bring fork and bearing.
fn reserves(chain: &Chain, summary: &Summary, fork: f64, bearing: f64) {
    let left = [
        ("window", chain.fork.window, fork, summary.fork_reserve),
        (
            "guide",
            chain.bearing.max_travel,
            bearing,
            summary.bearing_reserve,
        ),
    ];
    for (what, most, asked, got) in left {
        assert_eq!(most.is_some(), got.is_some(), "{what}");
        if let (Some(most), Some(got)) = (most, got) {
            same(what, got, most - asked, 1.0, chain);
        }
    }
}

#[test]
fn peaks_and_work_agree_with_a_dense_sampling() {
    const STEPS: usize = 3000;
    let mut touched = 0;
    for chain in chains(60) {
        let system = System::new(&chain);
        let (full, _) = system.full_pedal();
        let summary = chain.summary().expect("a plausible chain");
        let dense: Vec<Solution> = (0..=STEPS)
            .map(|i| full.pad_travel * i as f64 / STEPS as f64)
            .map(|pad| system.at_pad(pad, Way::Press))
            .collect();

        let work: f64 = dense
            .windows(2)
            .map(|pair| {
                f64::midpoint(pair[0].effort, pair[1].effort) * full.pad_travel / STEPS as f64
            })
            .sum();
        let bound = 1e-3 * dense.iter().map(|s| s.effort.abs()).sum::<f64>() * full.pad_travel
            / STEPS as f64;
        assert!(
            (summary.pedal_work - work).abs() <= bound,
            "work {} here, {work} there, of {chain:#?}",
            summary.pedal_work
        );

        let best = (0..=STEPS)
            .max_by(|a, b| dense[*a].effort.total_cmp(&dense[*b].effort))
            .expect("samples");
        let (low, high) = (best.saturating_sub(1), (best + 1).min(STEPS));
        let highest = peak(dense[low].pad_travel, dense[high].pad_travel, |pad| {
            system.at_pad(pad, Way::Press).effort
        });
        let got = summary.pedal_effort;
        assert!(
            (got / highest - 1.0).abs() < 1e-8,
            "effort {got} here, {highest} there, of {chain:#?}"
        );
        let highest_pressure = dense.iter().map(|s| s.pressure).fold(0.0, f64::max);
        let got = summary.line_pressure.expect("hydraulic");
        assert!(
            highest_pressure <= got * (1.0 + 1e-8) && highest_pressure >= got * (1.0 - 2e-3),
            "pressure {got} here, {highest_pressure} there, of {chain:#?}"
        );

        // Clear of the place where the first load comes on with the bearing standing still.
        let touching = chain.bearing.free_play + 1e-6;
        let least = (0..=STEPS)
            .map(|i| full.pad_travel * i as f64 / STEPS as f64)
            .map(|pad| system.at_pad(pad, Way::Return))
            .filter(|s| s.bearing_travel > touching && s.bearing_travel <= full.bearing_travel)
            .map(|s| s.effort)
            .fold(f64::INFINITY, f64::min);
        match summary.pedal_effort_return {
            // So little of the fingers' travel is reached that no sample falls into it.
            Some(_) if full.bearing_travel - touching < 0.01 => {}
            Some(got) => {
                touched += 1;
                assert!(
                    least >= got - 1e-6 * highest && least <= got + 5e-3 * highest,
                    "on the return {got} here, {least} there, of {chain:#?}"
                );
            }
            None => assert!(least.is_infinite(), "{chain:#?}"),
        }
    }
    assert!(touched >= 40, "{touched}");
}

/// Area under the effort over pad travel on a straight leg of the walk, by Romberg's rule on
/// `∫ effort d(pad travel)`, to about ten digits.
fn leg_work(walk: &Walk, from: (f64, f64), to: (f64, f64)) -> f64 {
    let at = |t: f64| {
        let mix = |a: f64, b: f64| a + (b - a) * t;
        let state = walk.at(mix(from.0, to.0), mix(from.1, to.1), Stroke::Press);
        let state = state.expect("within reach");
        (state.pad_travel, state.effort)
    };
    let mut row: Vec<f64> = Vec::new();
    for level in 8..15 {
        let steps = 1_u32 << level;
        let points: Vec<_> = (0..=steps)
            .map(|i| at(f64::from(i) / f64::from(steps)))
            .collect();
        let sum = points
            .windows(2)
            .map(|pair| f64::midpoint(pair[0].1, pair[1].1) * (pair[1].0 - pair[0].0))
            .sum();
        let mut next = vec![sum];
        for (order, coarse) in row.iter().enumerate() {
            let fine = next[order];
            next.push(fine + (fine - coarse) / (4_f64.powi(order as i32 + 1) - 1.0));
        }
        row = next;
    }
    row[row.len() - 1]
}

#[test]
fn work_agrees_with_a_fine_integration() {
    for mut chain in chains(60) {
        // Nothing before the bearing moves and no corner but the load's, so that the legs are smooth.
        chain.pedal.free_play = None;
        chain.pedal.assist = None;
        chain.bearing.free_play = 0.0;
        let hydraulics = chain.actuation.hydraulics_mut().expect("hydraulic");
        hydraulics.master.rod_clearance = 0.0;
        hydraulics.master.port_travel = 0.0;
        hydraulics.master.return_force = 0.0;
        hydraulics.slave.preload = 0.0;

        let walk = chain.walk().expect("a plausible chain");
        let end = walk.full_pedal().expect("a plausible chain").state;
        let load = |x: f64| chain.cover.load_at(x);
        let corners = match &chain.cover.load {
            Load::Curve(curve) => curve.knots().iter().map(|knot| knot.0).collect(),
            Load::Peak(_) => vec![0.0, chain.cover.needed],
        };
        let mut places = vec![(0.0, 0.0)];
        let before = corners.into_iter().filter(|x| *x < end.bearing_travel);
        places.extend(before.map(|x| (x, load(x))));
        places.push((end.bearing_travel, end.release_load));
        let work: f64 = places
            .windows(2)
            .map(|pair| leg_work(&walk, pair[0], pair[1]))
            .sum();
        let got = chain.summary().expect("a plausible chain").pedal_work;
        assert!(
            (got / work - 1.0).abs() < 1e-8,
            "work {got} here, {work} there, of {chain:#?}"
        );
    }
}

#[test]
fn release_point_and_curve_agree_with_the_implicit_solution() {
    let mut reached = [0; 2];
    for chain in chains(60) {
        let system = System::new(&chain);
        let summary = chain.summary().expect("a plausible chain");
        let points = [
            (summary.release_point, chain.cover.needed),
            (summary.stop_travel, chain.cover.most),
        ];
        for (count, (pad, finger_travel)) in points.into_iter().enumerate() {
            let wanted = chain.bearing.free_play + finger_travel;
            let Some(pad) = pad else {
                assert!(summary.bearing_travel < wanted, "{chain:#?}");
                continue;
            };
            reached[count] += 1;
            let there = system.at_pad(pad, Way::Press).bearing_travel;
            same("release point", there, wanted, 1.0, &chain);
        }
        let walk = chain.walk().expect("a plausible chain");
        let rows = chain.curve(41);
        assert_eq!(rows.len(), 41);
        for (i, row) in rows.iter().enumerate() {
            let even = summary.pedal_travel_used * i as f64 / 40.0;
            same("spacing", row.pad_travel, even, 1.0, &chain);
            let other = system.at_pad(row.pad_travel, Way::Press);
            same(
                "bearing",
                row.bearing_travel,
                other.bearing_travel,
                1.0,
                &chain,
            );
            let pressure = row.pressure.expect("hydraulic");
            same("pressure", pressure, other.pressure, 1.0, &chain);
            same(
                "master",
                row.master_travel.expect("hydraulic"),
                other.master_travel,
                1.0,
                &chain,
            );
            let back = walk.at(row.bearing_travel, row.release_load, Stroke::Return);
            if row.bearing_travel > 0.0 {
                let effort = back.expect("within reach").effort;
                same("return", row.effort_return, effort, 10.0, &chain);
            }
            if i > 0 {
                same("effort", row.effort, other.effort, 10.0, &chain);
            }
        }
    }
    assert!(reached.iter().all(|count| *count >= 5), "{reached:?}");
}

#[test]
fn cable_and_linkage_agree_with_the_implicit_solution() {
    for cable in [true, false] {
        let (mut stopped, mut pulling, mut freed) = (0, 0, 0);
        for chain in mechanical_chains(300, cable) {
            let system = Mechanical::new(&chain);
            let (other, other_end) = system.full_pedal();
            let summary = chain.summary().expect("a plausible chain");
            let walk = chain.walk().expect("a plausible chain");
            let state = walk.full_pedal().expect("a plausible chain").state;
            assert_eq!(summary.ended_by, other_end, "{chain:#?}");
            stopped += usize::from(other_end == EndedBy::PedalStop);
            pulling += usize::from(other.tension > 10.0);
            let pad = summary.pedal_travel_used;
            same("pad", pad, other.pad_travel, 1e-3, &chain);
            let bearing = summary.bearing_travel;
            same("bearing", bearing, other.bearing_travel, 1e-3, &chain);
            same("tension", state.rod_force, other.tension, 1e-2, &chain);
            let effort = summary.pedal_effort_full;
            same("effort", effort, other.effort, 1.0, &chain);

            let at_fork = out_of(Way::Press, system.ratio * other.tension, system.efficiency);
            let fork_flex = chain.fork.stiffness.map_or(0.0, |k| at_fork / k);
            let fork_travel = chain.fork.ratio * other.bearing_travel + fork_flex;
            same(
                "fork travel",
                summary.fork_travel,
                fork_travel,
                1e-3,
                &chain,
            );
            let stretch = system.stiffness.map_or(0.0, |k| other.tension / k) / system.ratio;
            same("flex", summary.lost_flex, fork_flex + stretch, 1e-3, &chain);
            let play = summary.lost_play.expect("mechanical");
            same("play", play, system.play / system.ratio, 1e-3, &chain);

            if let Some(pad) = summary.release_point {
                freed += 1;
                let there = system.at_pad(pad, Way::Press).bearing_travel;
                let wanted = chain.bearing.free_play + chain.cover.needed;
                same("release point", there, wanted, 1.0, &chain);
            }
            for row in chain.curve(13).iter().skip(1) {
                let other = system.at_pad(row.pad_travel, Way::Press);
                let bearing = row.bearing_travel;
                same("bearing", bearing, other.bearing_travel, 1.0, &chain);
                same("tension", row.rod_force, other.tension, 1.0, &chain);
                same("effort", row.effort, other.effort, 10.0, &chain);
                if row.release_load > 0.0 {
                    let back = walk.at(row.bearing_travel, row.release_load, Stroke::Return);
                    let back = back.expect("within reach");
                    let other = system.at_pad(back.pad_travel, Way::Return);
                    same(
                        "returning",
                        back.bearing_travel,
                        other.bearing_travel,
                        1.0,
                        &chain,
                    );
                    same("return", row.effort_return, other.effort, 10.0, &chain);
                }
            }
        }
        let met = [stopped, pulling, freed];
        assert!(met.iter().all(|count| *count >= 50), "{met:?}");
    }
}

#[test]
fn work_of_cable_and_linkage_agrees_with_a_dense_sampling() {
    const STEPS: usize = 3000;
    for chain in mechanical_chains(25, true).chain(mechanical_chains(25, false)) {
        let system = Mechanical::new(&chain);
        let (full, _) = system.full_pedal();
        let summary = chain.summary().expect("a plausible chain");
        let dense: Vec<Pulled> = (0..=STEPS)
            .map(|i| full.pad_travel * i as f64 / STEPS as f64)
            .map(|pad| system.at_pad(pad, Way::Press))
            .collect();
        let step = full.pad_travel / STEPS as f64;
        let work: f64 = dense
            .windows(2)
            .map(|pair| f64::midpoint(pair[0].effort, pair[1].effort) * step)
            .sum();
        let bound = 1e-3 * dense.iter().map(|s| s.effort.abs()).sum::<f64>() * step;
        let got = summary.pedal_work;
        assert!(
            (got - work).abs() <= bound,
            "work {got} here, {work} there, of {chain:#?}"
        );
        let highest = dense.iter().map(|s| s.effort).fold(f64::MIN, f64::max);
        let got = summary.pedal_effort;
        assert!(
            highest <= got * (1.0 + 1e-8) && highest >= got - 5e-3 * got.abs(),
            "effort {got} here, {highest} there, of {chain:#?}"
        );
        let tension = dense.iter().map(|s| s.tension).fold(0.0, f64::max);
        let got = summary.rod_force;
        assert!(
            tension <= got * (1.0 + 1e-8) && tension >= got * (1.0 - 5e-3),
            "tension {got} here, {tension} there, of {chain:#?}"
        );
    }
}
