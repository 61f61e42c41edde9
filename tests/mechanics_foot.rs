//! A foot never lets the pad come back: its work where the load falls faster than the soft parts spring back.

use bitepoint::mechanics::{
    Actuation, Bearing, Cable, Chain, Cover, Curve, EndedBy, Fluid, Fork, Hydraulics, Leverage,
    Line, Load, Master, Pedal, Relays, STANDARD_ATMOSPHERE, Slave, SlaveBore, Stroke, Wall,
};
use rand::rngs::StdRng;
use rand::{RngExt, SeedableRng};

/// A lossless cable of 50 N/mm behind a pedal of ratio 5 and a fork of ratio 2.
fn by_hand() -> Chain {
    let load = vec![(0.0, 0.0), (2.0, 1000.0), (3.0, 600.0), (20.0, 600.0)];
    Chain {
        pedal: Pedal {
            drag: 0.0,
            travel: 100.0,
            stop: None,
            free_play: None,
            leverage: Leverage::Ratio(5.0),
            rod_offset: 0.0,
            efficiency: 1.0,
            return_force: 0.0,
            assist: None,
        },
        actuation: Actuation::Cable(Cable {
            bends: 0.0,
            friction: 0.0,
            stiffness: Some(50.0),
            play: 0.0,
        }),
        relays: Relays::default(),
        adjust_range: None,
        fork: Fork {
            drag: 0.0,
            return_force: 0.0,
            ratio: 2.0,
            efficiency: 1.0,
            stiffness: None,
            window: None,
            bend: None,
        },
        bearing: Bearing {
            free_play: 0.0,
            max_travel: None,
        },
        cover: Cover {
            needed: 4.0,
            most: 9.0,
            load: Load::Curve(Curve::new(load).expect("rising")),
        },
    }
}

/// To 2 mm the bearing takes up 1000 N·mm and the cable, stretched by 10 mm, 2500 N·mm, with the rod 14 mm in.
/// From there the bearing runs ahead by itself to 4 mm, where the cable's 6 mm make 14 mm again; the last 6 mm
/// of rod go against 300 N.
#[test]
fn energy_that_the_cable_gives_back_at_once_is_lost_to_the_foot() {
    let summary = by_hand().summary().expect("plausible");
    assert!((summary.pedal_work - (1000.0 + 2500.0 + 1800.0)).abs() < 1e-9);
    assert!((summary.finger_travel - 7.0).abs() < 1e-9);
}

/// Pad travel and effort along the walk from rest to full pedal, and the farthest pad travel.
fn dense(chain: &Chain, fingers: f64, steps: usize) -> Vec<(f64, f64)> {
    let walk = chain.walk().expect("plausible");
    let mut corners: Vec<f64> = match &chain.cover.load {
        Load::Curve(curve) => curve.knots().iter().map(|(x, _)| *x).collect(),
        Load::Peak(_) => vec![chain.cover.needed],
    };
    corners.retain(|x| *x > 0.0 && *x < fingers);
    corners.push(fingers);
    let mut from = 0.0;
    let mut states = Vec::new();
    for to in corners {
        states.extend((0..=steps).map(|i| {
            let x = from + (to - from) * i as f64 / steps as f64;
            let state = walk.on_cover(x, Stroke::Press).expect("within reach");
            (state.pad_travel, state.effort)
        }));
        from = to;
    }
    states
}

/// The foot's work by trapezoids over the pad's advance, and the greatest retreat of the pad.
fn by_steps(states: &[(f64, f64)]) -> (f64, f64) {
    let (mut farthest, mut work, mut retreat) = (0.0_f64, 0.0, 0.0_f64);
    for pair in states.windows(2) {
        let ((pad, effort), (next, effort_next)) = (pair[0], pair[1]);
        if next > farthest {
            let start = farthest.max(pad);
            let share = (start - pad) / (next - pad);
            let effort = effort + (effort_next - effort) * share;
            work += 0.5 * (effort + effort_next) * (next - start);
            farthest = next;
        }
        retreat = retreat.max(farthest - next);
    }
    (work, retreat)
}

/// A soft system under a load that rises and falls, with no travel before the bearing moves.
fn soft(random: &mut StdRng) -> Chain {
    let mut some = |low: f64, high: f64| low + (high - low) * random.random::<f64>();
    let peak = some(900.0, 2400.0);
    let load = vec![
        (0.0, 0.0),
        (some(0.5, 2.5), peak),
        (some(2.6, 4.0), some(0.1, 0.9) * peak),
        (some(4.1, 6.0), some(0.2, 1.3) * peak),
        (some(6.1, 9.0), some(0.1, 1.3) * peak),
    ];
    let mut chain = by_hand();
    chain.cover.load = Load::Curve(Curve::new(load).expect("rising"));
    chain.pedal.travel = some(90.0, 260.0);
    chain.pedal.efficiency = some(0.8, 1.0);
    chain.pedal.return_force = some(0.0, 20.0);
    if some(0.0, 1.0) < 0.5 {
        chain.pedal.leverage = Leverage::Crank {
            pad_arm: 400.0,
            rod_arm: some(60.0, 90.0),
            arm_angle: None,
            rod_length: Some(some(120.0, 300.0)),
        };
    }
    chain.fork.efficiency = some(0.8, 1.0);
    chain.fork.stiffness = Some(some(100.0, 2000.0));
    if some(0.0, 1.0) < 0.3 {
        let Actuation::Cable(cable) = &mut chain.actuation else {
            return chain;
        };
        cable.bends = some(0.0, 3.0);
        cable.friction = some(0.0, 0.1);
        cable.stiffness = Some(some(40.0, 300.0));
        return chain;
    }
    chain.actuation = Actuation::Hydraulic(Hydraulics {
        master: Master {
            drag: 0.0,
            bore: some(16.0, 22.0),
            stroke: some(18.0, 60.0),
            port_travel: 0.0,
            rod_clearance: 0.0,
            efficiency: some(0.8, 1.0),
            return_force: 0.0,
            mount_stiffness: Some(some(100.0, 2000.0)),
        },
        lines: vec![
            Line {
                bore: 3.2,
                length: some(0.0, 3000.0),
                wall: Wall::Hose {
                    expansion: some(0.0, 0.4),
                },
                flow: bitepoint::mechanics::Flow::Through,
                side: bitepoint::mechanics::Side::Slave,
            },
            // So soft a tube that the square of its widening counts.
            Line {
                bore: 6.0,
                length: some(0.0, 800.0),
                wall: Wall::Tube {
                    thickness: 0.7,
                    modulus: some(60.0, 2000.0),
                    poisson: 0.4,
                },
                flow: bitepoint::mechanics::Flow::Through,
                side: bitepoint::mechanics::Side::Slave,
            },
        ],
        intensifier: None,
        fluid: Fluid {
            bulk_modulus: None,
            air: some(0.0, 4000.0),
            ambient: STANDARD_ATMOSPHERE,
        },
        slave: Slave {
            drag: 0.0,
            bore: SlaveBore::Round(some(18.0, 24.0)),
            stroke: 60.0,
            rest_extension: 0.0,
            preload: some(-100.0, 150.0).max(0.0),
            efficiency: some(0.8, 1.0),
            mount_stiffness: None,
        },
    });
    chain
}

#[test]
fn the_work_is_that_of_a_pad_that_never_goes_back() {
    const STEPS: usize = 3000;
    let mut random = StdRng::seed_from_u64(19);
    let (mut retreated, mut bottomed) = (0, 0);
    for _ in 0..400 {
        let chain = soft(&mut random);
        let summary = chain.summary().expect("plausible");
        if summary.finger_travel <= 0.0 {
            continue;
        }
        let states = dense(&chain, summary.finger_travel, STEPS);
        let (work, retreat) = by_steps(&states);
        let got = summary.pedal_work;
        assert!(
            (got / work - 1.0).abs() < 5e-6,
            "work {got} here, {work} there, of {chain:#?}"
        );
        let farthest = states.iter().map(|(pad, _)| *pad).fold(0.0, f64::max);
        assert!(
            (summary.pedal_travel_used - farthest).abs() < 1e-6,
            "{} used, {farthest} gone, of {chain:#?}",
            summary.pedal_travel_used
        );
        if retreat > 0.1 {
            retreated += 1;
            bottomed += usize::from(summary.ended_by == EndedBy::MasterStroke);
        }
    }
    assert!(
        retreated >= 40 && bottomed >= 4,
        "{retreated}, of which {bottomed}"
    );
}

/// The foot gets nothing from a spring that acts by itself. It does at least the bearing's work, and at the pad at
/// least the work that leaves the pedal's pivot.
#[test]
fn a_foot_that_never_goes_back_does_at_least_the_work_of_the_bearing() {
    let mut random = StdRng::seed_from_u64(23);
    for _ in 0..2000 {
        let mut chain = soft(&mut random);
        chain.change_hydraulics(|h| h.slave.preload = 0.0);
        let summary = chain.summary().expect("plausible");
        let Load::Curve(load) = &chain.cover.load else {
            continue;
        };
        let out = load.integral(0.0, summary.finger_travel) / chain.pedal.efficiency;
        assert!(
            summary.pedal_work >= out * (1.0 - 1e-12),
            "{} in, {out} out of {chain:#?}",
            summary.pedal_work
        );
    }
}
