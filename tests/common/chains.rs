//! Plausible chains, for laws that hold for all of them.

use bitepoint::mechanics::{
    Actuation, Bearing, Bend, Chain, Cover, Curve, Fluid, Fork, Hydraulics, Leverage, Line, Load,
    Master, Pedal, Relays, Slave, SlaveBore, Summary, Wall,
};
use proptest::prelude::*;

/// How many numbers a plausible chain is made of.
pub const NUMBERS: usize = 40;

/// A plausible chain from numbers between 0 and 1.
pub fn plausible(units: &[f64]) -> Chain {
    let mut units = units.iter().copied();
    let mut between = |low: f64, high: f64| {
        let unit = units.next().expect("enough numbers");
        low + (high - low) * unit
    };
    let travel = between(110.0, 170.0);
    let pad_arm = between(220.0, 340.0);
    let ratio = between(4.5, 7.0);
    let (angle, length) = (between(-0.5, 0.2), between(70.0, 200.0));
    let leverage = match between(0.0, 3.0) as u8 {
        0 => Leverage::Ratio(ratio),
        kind => Leverage::Crank {
            pad_arm,
            rod_arm: pad_arm / ratio,
            arm_angle: Some(angle),
            rod_length: (kind == 2).then_some(length),
        },
    };
    let slave_bore = if between(0.0, 1.0) < 0.3 {
        let inner = between(35.0, 42.0);
        SlaveBore::Annulus {
            outer: inner + 8.0,
            inner,
        }
    } else {
        SlaveBore::Round(between(18.0, 26.0))
    };
    let peak = between(900.0, 2400.0);
    let load = if between(0.0, 1.0) < 0.4 {
        Load::Peak(peak)
    } else {
        let points = vec![
            (0.0, between(0.0, 0.4) * peak),
            (1.5, 0.7 * peak),
            (4.0, peak),
            (8.0, between(0.6, 1.1) * peak),
        ];
        Load::Curve(Curve::new(points).expect("rising"))
    };
    let help = between(0.0, 30.0);
    let assist = vec![(20.0, -5.0), (70.0, help), (travel, 0.5 * help)];
    Chain {
        pedal: Pedal {
            drag: 0.0,
            travel,
            stop: Some(between(0.7, 1.3) * travel),
            free_play: (between(0.0, 1.0) < 0.5).then_some(8.0),
            leverage,
            rod_offset: 0.0,
            efficiency: between(0.8, 1.0),
            return_force: between(0.0, 20.0),
            assist: (between(0.0, 1.0) < 0.4)
                .then(|| Curve::new(assist))
                .flatten()
                .map(Into::into),
        },
        actuation: Actuation::Hydraulic(Hydraulics {
            master: Master {
                drag: 0.0,
                bore: between(14.0, 24.0),
                stroke: between(16.0, 40.0),
                port_travel: between(0.0, 2.0),
                rod_clearance: between(0.0, 1.5),
                efficiency: between(0.8, 1.0),
                return_force: between(0.0, 40.0),
                mount_stiffness: Some(between(300.0, 5000.0)),
            },
            lines: vec![
                Line {
                    bore: 3.2,
                    length: between(0.0, 800.0),
                    wall: Wall::Hose {
                        expansion: between(0.0, 0.4),
                    },
                    flow: bitepoint::mechanics::Flow::Through,
                    side: bitepoint::mechanics::Side::Slave,
                },
                Line {
                    bore: 3.35,
                    length: between(0.0, 2000.0),
                    wall: Wall::Tube {
                        thickness: 0.7,
                        modulus: 205_000.0,
                        poisson: 0.3,
                    },
                    flow: bitepoint::mechanics::Flow::Through,
                    side: bitepoint::mechanics::Side::Slave,
                },
            ],
            intensifier: None,
            fluid: Fluid {
                bulk_modulus: Some(between(800.0, 2500.0)),
                air: between(0.0, 3000.0),
                ambient: between(0.07, 0.103),
            },
            slave: Slave {
                drag: 0.0,
                bore: slave_bore,
                stroke: 30.0,
                rest_extension: between(0.0, 10.0),
                preload: between(0.0, 60.0),
                efficiency: between(0.8, 1.0),
                mount_stiffness: None,
            },
        }),
        relays: Relays::default(),
        adjust_range: None,
        fork: Fork {
            drag: 0.0,
            return_force: 0.0,
            ratio: between(1.0, 2.4),
            efficiency: between(0.8, 1.0),
            stiffness: Some(between(200.0, 3000.0)),
            window: None,
            bend: None,
        },
        bearing: Bearing {
            free_play: between(0.0, 3.0),
            max_travel: None,
        },
        cover: Cover {
            needed: between(5.0, 8.0),
            most: 10.0,
            load,
        },
    }
}

pub fn chain() -> impl Strategy<Value = Chain> {
    prop::collection::vec(0.0..1.0, NUMBERS).prop_map(|units| plausible(&units))
}

/// Plausible bends of a fork.
pub fn a_bend() -> impl Strategy<Value = Bend> {
    let arms = (45.0..90.0_f64, -14.0..14.0_f64, -30.0..30.0_f64);
    (arms, -12.0..12.0_f64).prop_map(|((bearing_arm, tip_offset, end_offset), tips)| Bend {
        bearing_arm,
        tip_offset,
        end_offset,
        tips,
    })
}

pub fn hydraulics(chain: &mut Chain) -> &mut Hydraulics {
    chain.actuation.hydraulics_mut().expect("hydraulic")
}

pub fn summary(chain: &Chain) -> Summary {
    chain.summary().expect("a plausible chain")
}

/// The chain after `change`.
pub fn with(chain: &Chain, change: impl FnOnce(&mut Chain)) -> Chain {
    let mut changed = chain.clone();
    change(&mut changed);
    changed
}

/// The chain with everything rigid from the master's piston to the slave's, and the master's mount.
pub fn lossless_hydraulics(chain: &Chain) -> Chain {
    with(chain, |chain| {
        let hydraulics = hydraulics(chain);
        hydraulics.lines.clear();
        hydraulics.fluid.bulk_modulus = None;
        hydraulics.fluid.air = 0.0;
        hydraulics.master.mount_stiffness = None;
    })
}

/// The chain without friction, deflection and assist, so that the foot's work is the bearing's.
pub fn without_losses(chain: &Chain) -> Chain {
    with(&lossless_hydraulics(chain), |chain| {
        chain.pedal.assist = None;
        chain.pedal.return_force = 0.0;
        chain.pedal.efficiency = 1.0;
        chain.fork.efficiency = 1.0;
        chain.fork.stiffness = None;
        let hydraulics = hydraulics(chain);
        hydraulics.master.efficiency = 1.0;
        hydraulics.master.return_force = 0.0;
        hydraulics.slave.efficiency = 1.0;
        hydraulics.slave.preload = 0.0;
    })
}

/// Work that the release load takes up to a finger travel.
pub fn bearing_work(chain: &Chain, finger_travel: f64) -> f64 {
    match &chain.cover.load {
        Load::Curve(curve) => curve.integral(0.0, finger_travel),
        Load::Peak(peak) => {
            let line = Curve::new(vec![(0.0, 0.0), (chain.cover.needed, *peak)]);
            line.expect("rising").integral(0.0, finger_travel)
        }
    }
}

/// Room for rounding in a comparison of travels.
pub const ROUNDING: f64 = 1e-9;
