//! Properties of the stages beside the hydraulic chain, mostly checked by a second, brute-force calculation.

use std::f64::consts::{FRAC_PI_2, PI, TAU};

use bitepoint::mechanics::{
    Actuation, Bearing, Cable, Chain, Cone, Cover, Curve, Dial, Diaphragm, Disc, Fluid, Fork,
    Hydraulics, Leverage, Line, Linkage, Load, Master, Pedal, Reading, Relays, STANDARD_ATMOSPHERE,
    Slave, SlaveBore, SlaveRod, Stretch, Stroke, Summary, TrappedAir, Wall, bell_angle,
    bubble_volume, pilot_engagement, pilot_penetration, torque_margin,
};
use proptest::prelude::*;

// ---- a clutch to try things on ----

fn clutch(actuation: Actuation) -> Chain {
    let load = vec![(0.0, 0.0), (2.0, 1100.0), (5.0, 1500.0), (9.0, 1250.0)];
    Chain {
        pedal: Pedal {
            drag: 0.0,
            travel: 140.0,
            stop: None,
            free_play: Some(6.0),
            leverage: Leverage::Crank {
                pad_arm: 300.0,
                rod_arm: 50.0,
                arm_angle: None,
                rod_length: Some(140.0),
            },
            rod_offset: 0.0,
            efficiency: 0.95,
            return_force: 15.0,
            assist: None,
        },
        actuation,
        relays: Relays::default(),
        adjust_range: None,
        fork: Fork {
            drag: 0.0,
            return_force: 0.0,
            ratio: 1.9,
            efficiency: 0.92,
            stiffness: Some(900.0),
            window: None,
            bend: None,
        },
        bearing: Bearing {
            free_play: 1.0,
            max_travel: None,
        },
        cover: Cover {
            needed: 4.0,
            most: 9.0,
            load: Load::Curve(Curve::new(load).expect("rising")),
        },
    }
}

fn hydraulic() -> Chain {
    clutch(Actuation::Hydraulic(Hydraulics {
        master: Master {
            drag: 0.0,
            bore: 19.05,
            stroke: 34.0,
            port_travel: 1.0,
            rod_clearance: 0.0,
            efficiency: 0.94,
            return_force: 10.0,
            mount_stiffness: Some(1500.0),
        },
        lines: vec![
            Line {
                bore: 3.2,
                length: 500.0,
                wall: Wall::Hose { expansion: 0.2 },
                flow: bitepoint::mechanics::Flow::Through,
                side: bitepoint::mechanics::Side::Slave,
            },
            Line {
                bore: 3.35,
                length: 1500.0,
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
            bulk_modulus: Some(1800.0),
            air: 0.0,
            ambient: STANDARD_ATMOSPHERE,
        },
        slave: Slave {
            drag: 0.0,
            bore: SlaveBore::Round(22.225),
            stroke: 30.0,
            rest_extension: 6.0,
            preload: 20.0,
            efficiency: 0.94,
            mount_stiffness: None,
        },
    }))
}

fn pulled(cable: Cable) -> Chain {
    clutch(Actuation::Cable(cable))
}

fn levered(linkage: Linkage) -> Chain {
    clutch(Actuation::Linkage(linkage))
}

fn summary(chain: &Chain) -> Summary {
    chain.summary().expect("a plausible chain")
}

// ---- cable and linkage ----

fn a_cable() -> impl Strategy<Value = Cable> {
    let stiffness = prop::option::of(100.0..2000.0);
    (0.0..6.0, 0.0..0.2, stiffness, 0.0..5.0).prop_map(|(bends, friction, stiffness, play)| Cable {
        bends,
        friction,
        stiffness,
        play,
    })
}

fn a_linkage() -> impl Strategy<Value = Linkage> {
    let arms = (50.0..120.0, 50.0..120.0);
    let stiffness = prop::option::of(100.0..2000.0);
    (arms, 0.0..5.0, stiffness, 0.7..1.0).prop_map(
        |((in_arm, out_arm), play, stiffness, efficiency)| Linkage {
            in_arm,
            out_arm,
            in_angle: 0.0,
            out_angle: 0.0,
            play,
            stiffness,
            efficiency,
        },
    )
}

fn mechanical() -> impl Strategy<Value = Chain> {
    prop_oneof![a_cable().prop_map(pulled), a_linkage().prop_map(levered)]
}

/// Work that the release load takes.
fn bearing_work(chain: &Chain, finger_travel: f64) -> f64 {
    match &chain.cover.load {
        Load::Curve(curve) => curve.integral(0.0, finger_travel),
        Load::Peak(_) => panic!("a curve here"),
    }
}

proptest! {
    #[test]
    fn more_bends_never_less_effort(cable in a_cable(), more in 0.0..4.0_f64) {
        let before = summary(&pulled(cable.clone()));
        let bent = Cable { bends: cable.bends + more, ..cable };
        let after = summary(&pulled(bent));
        // At full pedal a cable that stretches more may come to rest where the load is less; the tension that
        // a given load wants does not.
        let (walk, same_place) = (pulled(cable.clone()), before.bearing_travel);
        let at = |chain: &Chain| {
            chain.walk().expect("plausible").on_cover(same_place, Stroke::Press).expect("in reach")
        };
        let bent = pulled(Cable { bends: cable.bends + more, ..cable.clone() });
        prop_assert!(at(&bent).rod_force >= at(&walk).rod_force);
        prop_assert!(after.finger_travel <= before.finger_travel + 1e-9);
        prop_assert!(after.cable_efficiency <= before.cable_efficiency);
        if cable.stiffness.is_none() {
            prop_assert!(after.pedal_effort >= before.pedal_effort - 1e-9);
            let back = |s: &Summary| s.pedal_effort_return.expect("it touches");
            prop_assert!(back(&after) <= back(&before) + 1e-9);
        }
    }

    #[test]
    fn the_foot_does_at_least_the_work_of_the_bearing(chain in mechanical()) {
        let s = summary(&chain);
        prop_assert!(s.pedal_work >= bearing_work(&chain, s.finger_travel) * (1.0 - 1e-12));
    }

    #[test]
    fn without_friction_and_give_the_work_is_equal(mut chain in mechanical()) {
        match &mut chain.actuation {
            Actuation::Cable(cable) => { cable.friction = 0.0; cable.stiffness = None; }
            Actuation::Linkage(linkage) => { linkage.efficiency = 1.0; linkage.stiffness = None; }
            Actuation::Hydraulic(_) => {}
        }
        chain.pedal.efficiency = 1.0;
        chain.pedal.return_force = 0.0;
        chain.fork.efficiency = 1.0;
        chain.fork.stiffness = None;
        let s = summary(&chain);
        let out = bearing_work(&chain, s.finger_travel);
        prop_assert!((s.pedal_work - out).abs() <= 1e-10 * out, "{} {out}", s.pedal_work);
    }

    #[test]
    fn the_output_moves_as_far_as_ratio_play_and_give_allow(chain in mechanical()) {
        let s = summary(&chain);
        let walk = chain.walk().expect("plausible");
        let full = walk.full_pedal().expect("plausible").state;
        let (play, hydraulic) = (s.lost_play.expect("mechanical"), full.cylinders);
        prop_assert!(hydraulic.is_none() && s.line_pressure.is_none() && s.slave_travel.is_none());
        // Rod travel past the pedal's free play, as travel of the fork's end, less play and give.
        let geometry = chain.pedal.geometry().expect("plausible");
        let clearance = geometry.rod_travel(6.0).expect("in reach");
        let without_fork = s.lost_flex - full.fork_flex;
        let left = (full.rod_travel - clearance) / s.actuation_ratio - play - without_fork;
        prop_assert!((s.fork_travel - left).abs() < 1e-9, "{} {left}", s.fork_travel);
        prop_assert!((s.overall_ratio - 6.0 * s.actuation_ratio * 1.9).abs() < 1e-9);
        let idle = s.idle_pad_travel.expect("in reach");
        let moving = walk.pad_travel_at(&walk.full_pedal().expect("plausible"), 1e-9);
        prop_assert!((moving.expect("it moves") - idle).abs() < 1e-5);
    }

    #[test]
    fn an_equal_cable_and_linkage_give_equal_results(cable in a_cable()) {
        let linkage = Linkage {
            in_arm: 70.0,
            out_arm: 70.0, in_angle: 0.0, out_angle: 0.0,
            play: cable.play,
            stiffness: cable.stiffness,
            efficiency: cable.efficiency(),
        };
        let (a, b) = (summary(&pulled(cable)), summary(&levered(linkage)));
        prop_assert_eq!(Summary { cable_efficiency: None, ..a }, b);
    }
}

/// Least effort on the return with the bearing off the fingers.
fn slack(chain: &Chain) -> f64 {
    let walk = chain.walk().expect("plausible");
    let full = walk.full_pedal().expect("plausible");
    walk.least_slack_effort(&full).expect("plausible")
}

/// Only the return springs bring the pedal up through its free play, so that the effort there is theirs.
#[test]
fn effort_on_the_springs_once_the_bearing_is_off() {
    let mut chain = hydraulic();
    // Before the rod meets the piston only the pedal's own spring pushes.
    assert!((slack(&chain) - 15.0).abs() < 1e-12);
    chain.pedal.return_force = 0.0;
    assert!(slack(&chain).abs() < 1e-12);
    let assist = Curve::new(vec![(0.0, 0.0), (5.0, 4.0), (60.0, 4.0)]).expect("rising");
    chain.pedal.assist = Some(assist.into());
    assert!((slack(&chain) + 4.0).abs() < 1e-3, "{}", slack(&chain));
    // What the assist does while the load is on is another matter.
    let late = Curve::new(vec![(80.0, 0.0), (100.0, 300.0)]).expect("rising");
    chain.pedal.assist = Some(late.into());
    assert!(slack(&chain).abs() < 1e-12, "{}", slack(&chain));
}

/// An assist that is strongest while the bearing still closes its free play, against the springs of pedal and master:
/// the least effort is the one on the curve of the return.
#[test]
fn the_least_of_the_slack_is_anywhere_before_the_fingers() {
    let mut chain = hydraulic();
    chain.bearing.free_play = 3.0;
    let walk = chain.walk().expect("plausible");
    let full = walk.full_pedal().expect("plausible");
    let touches = walk.pad_travel_at(&full, 3.0).expect("reached");
    let dip = 0.8 * touches;
    let assist = vec![(dip - 5.0, 0.0), (dip, 25.0), (dip + 2.0, 0.0)];
    chain.pedal.assist = Some(Curve::new(assist).expect("rising").into());
    let rows = chain.curve(20_001);
    let before = rows.iter().filter(|row| row.bearing_travel < 3.0);
    let least = before.map(|row| row.effort_return).fold(f64::MAX, f64::min);
    let got = slack(&chain);
    assert!(got < -5.0 && (got - least).abs() < 0.1, "{got} {least}");
}

#[test]
fn the_effort_first_passes_a_limit_where_the_curve_does() {
    let chain = hydraulic();
    let walk = chain.walk().expect("plausible");
    let full = walk.full_pedal().expect("plausible");
    let rows = chain.curve(4001);
    for limit in [20.0, 40.0, 60.0, 80.0] {
        let first = walk.first_over(&full, limit).expect("passed");
        let row = rows.iter().skip(1).find(|row| row.effort >= limit);
        let row = row.expect("passed").pad_travel;
        assert!(first <= row && first > row - 0.05, "{limit}: {first} {row}");
    }
    assert!(walk.first_over(&full, 1e4).is_none());
}

// ---- the slave's rod ----

proptest! {
    #[test]
    fn the_rod_leans_as_far_as_the_geometry_drawn_point_by_point(
        (arm, to_square) in (80.0..200.0_f64, -0.5..0.5_f64),
        (length, offset) in (60.0..200.0_f64, -12.0..12.0_f64),
        (back, stroke) in (0.0..8.0_f64, 5.0..25.0_f64),
    ) {
        let rod = SlaveRod { arm, to_square, length, offset };
        let (from, to) = (-back, stroke);
        let worst = rod.worst_angle(from, to).expect("in reach");
        // The fork's end on its circle about the pivot, the bore's line beside it: slope of the line between
        // the seats, the one in the piston found by the rod's length.
        let at_rest = arm * to_square.cos();
        let drawn = |travel: f64| {
            let along = -arm * to_square.sin() + travel;
            let out = (arm * arm - along * along).sqrt();
            let across = out - (at_rest - offset);
            across.atan2((length * length - across * across).sqrt())
        };
        let places = (0..=2000).map(|i| from + (to - from) * f64::from(i) / 2000.0);
        let mut most: f64 = 0.0;
        for travel in places {
            let angle = rod.angle(travel).expect("in reach");
            prop_assert!((angle - drawn(travel)).abs() < 1e-9);
            most = most.max(angle.abs());
        }
        prop_assert!(most <= worst + 1e-12 && most >= worst - 1e-5, "{most} {worst}");

        let best = rod.best_offset(from, to).expect("in reach");
        let worst_at = |offset: f64| {
            SlaveRod { offset, ..rod }.worst_angle(from, to).expect("in reach")
        };
        let least = worst_at(best);
        for i in -400..=400 {
            let tried = worst_at(best + f64::from(i) * 0.05);
            prop_assert!(tried >= least - 1e-12, "{i}: {tried} {least}");
        }
    }

    #[test]
    fn the_pedals_rod_leans_as_far_as_its_eye_leaves_the_line(
        (angle, length) in (-0.6..0.3_f64, 70.0..250.0_f64), pad_travel in 20.0..150.0_f64,
    ) {
        let (pad_arm, rod_arm) = (300.0, 55.0);
        let pedal = Pedal {
            leverage: Leverage::Crank {
                pad_arm,
                rod_arm,
                arm_angle: Some(angle),
                rod_length: Some(length),
            },
            ..hydraulic().pedal
        };
        let geometry = pedal.geometry().expect("plausible");
        let worst = geometry.worst_rod_angle(pad_travel).expect("in reach");
        let lean = |i: i32| {
            let turned = angle + pad_travel * f64::from(i) / 1000.0 / pad_arm;
            ((rod_arm * (turned.cos() - angle.cos())) / length).asin().abs()
        };
        let most = (0..=1000).map(lean).fold(0.0, f64::max);
        prop_assert!(most <= worst + 1e-12 && most >= worst - 1e-4, "{most} {worst}");
    }
}

#[test]
fn a_rod_that_cannot_reach_has_no_angle() {
    let rod = SlaveRod {
        arm: 100.0,
        to_square: 0.0,
        length: 5.0,
        offset: 4.0,
    };
    assert!(rod.angle(0.0).is_some());
    // The fork's end 4.6 mm nearer to the pivot after 30 mm, and with that on the other side of the bore.
    assert!(rod.angle(30.0).is_some_and(|angle| angle < 0.0));
    assert!(rod.angle(101.0).is_none());
    assert!(SlaveRod { offset: 6.0, ..rod }.angle(0.0).is_none());
}

// ---- diaphragm ----

const SPRING: Diaphragm = Diaphragm {
    cone: Cone {
        outer: 220.0,
        inner: 178.0,
        thickness: 2.4,
        height: 4.2,
        modulus: 206_000.0,
        poisson: 0.3,
    },
    plate_circle: 216.0,
    fulcrum_circle: 182.0,
    finger_circle: 52.0,
    set_deflection: 4.0,
};

#[test]
fn the_finger_ratio_is_that_of_the_circles() {
    let spring = SPRING.spring().expect("sound numbers");
    let ratio = (91.0 - 26.0) / (108.0 - 91.0);
    assert!((spring.finger_ratio() - ratio).abs() < 1e-12);
    assert!((spring.plate_lift(ratio * 1.7) - 1.7).abs() < 1e-12);
    // Pulled fingers tip the spring on its outer circle.
    let pulled = Diaphragm {
        plate_circle: 182.0,
        fulcrum_circle: 216.0,
        ..SPRING
    };
    let pulled = pulled.spring().expect("sound numbers");
    assert!((pulled.finger_ratio() - (108.0 - 26.0) / (108.0 - 91.0)).abs() < 1e-12);
    assert_eq!(pulled.clamp_load(0.0), spring.clamp_load(0.0));
}

/// Loads on the edges are those of the cone itself. On circles half as far apart they double, over half the travel.
#[test]
fn load_circles_are_a_lever_on_the_edges() {
    let at_edges = Diaphragm {
        plate_circle: 220.0,
        fulcrum_circle: 178.0,
        ..SPRING
    };
    let spring = at_edges.spring().expect("sound numbers");
    let load = SPRING.cone.load(4.0);
    assert_eq!(spring.clamp_load(0.0), load);
    assert_eq!(spring.clamp_load(0.5), SPRING.cone.load(3.5));
    let half = Diaphragm {
        plate_circle: 210.0,
        fulcrum_circle: 189.0,
        ..SPRING
    };
    let half = half.spring().expect("sound numbers");
    let doubled = half.clamp_load(0.25).expect("sound numbers");
    let edge = SPRING.cone.load(3.5).expect("sound numbers");
    assert!((doubled - 2.0 * edge).abs() < 1e-9);
}

/// A spring that is set almost flat clamps harder after a little wear, and then less.
#[test]
fn clamp_load_rises_and_falls_with_wear() {
    let spring = SPRING.spring().expect("sound numbers");
    let clamp = |wear: f64| spring.clamp_load(wear).expect("sound numbers");
    assert!(clamp(1.0) > clamp(0.0));
    assert!(clamp(3.0) < clamp(1.0));
    assert!(clamp(4.0 / (42.0 / 34.0)).abs() < 1e-9, "free at last");
}

/// The fingers put in the work that the cone takes: `∫ load d(finger travel) = ∫ F ds` over the cone's deflection.
/// With a cushion it is less what the cushion gives back.
#[test]
fn the_fingers_work_against_the_cone_and_with_the_cushion() {
    let spring = SPRING.spring().expect("sound numbers");
    let (wear, to) = (0.6, 11.0);
    let per_lift = 42.0 / 34.0;
    let set = SPRING.set_deflection - wear * per_lift;
    let end = set + spring.plate_lift(to) * per_lift;
    let steps = 20_000;
    let ds = (end - set) / f64::from(steps);
    let into_cone: f64 = (0..steps)
        .map(|i| SPRING.cone.load(set + (f64::from(i) + 0.5) * ds))
        .map(|load| load.expect("sound numbers") * ds)
        .sum();
    let clamp = spring.clamp_load(wear).expect("sound numbers");
    for cushion in [0.0, 0.9] {
        let curve = spring.release_curve(wear, cushion, to).expect("sound");
        let put_in = curve.integral(0.0, to);
        let wanted = into_cone - 0.5 * clamp * cushion;
        assert!((put_in / wanted - 1.0).abs() < 2e-4, "{put_in} {wanted}");
    }
}

#[test]
fn the_curve_follows_the_load() {
    let spring = SPRING.spring().expect("sound numbers");
    for cushion in [0.0, 0.9, 5.0] {
        let curve = spring.release_curve(0.0, cushion, 13.0).expect("sound");
        assert_eq!(curve.knots().len(), 33);
        assert_eq!(curve.knots()[0].0, 0.0);
        assert_eq!(curve.knots()[32].0, 13.0);
        let highest = curve.knots().iter().map(|knot| knot.1).fold(0.0, f64::max);
        for i in 0..=1000 {
            let x = 13.0 * f64::from(i) / 1000.0;
            let exact = spring.release_load(x, 0.0, cushion).expect("sound");
            let off = (curve.value(x) - exact).abs();
            assert!(off < 1e-3 * highest, "{cushion} {x}: off by {off}");
        }
    }
    let at_rest = |cushion| spring.release_load(0.0, 0.0, cushion);
    let clamp = spring.clamp_load(0.0).expect("sound numbers");
    assert_eq!(at_rest(0.9), Some(0.0));
    assert_eq!(at_rest(0.0), Some(clamp / spring.finger_ratio()));
}

// ---- disc ----

#[test]
fn disc_torque_and_room() {
    let disc = Disc {
        outer: 215.0,
        inner: 145.0,
        faces: 2.0,
        friction: 0.3,
    };
    let capacity = disc.torque_capacity(4800.0).expect("sound numbers");
    assert!((capacity - 0.3 * 4800.0 * 90.0 * 2.0).abs() < 1e-6);
    assert!(disc.torque_capacity_uniform_pressure(4800.0) > Some(capacity));
    let margin = torque_margin(capacity, 160e3, 1.5).expect("finite");
    assert!((margin - (259_200.0 - 240_000.0)).abs() < 1e-6);
    assert!((disc.lift_needed(0.7, 0.35).expect("sound") - 1.4).abs() < 1e-12);
    assert!(
        Disc {
            inner: 215.0,
            ..disc
        }
        .torque_capacity(1.0)
        .is_none()
    );
}

/// On a narrow facing both laws give the same torque.
#[test]
fn torque_forms_meet_on_a_narrow_facing() {
    let disc = Disc {
        outer: 200.0,
        inner: 199.999,
        faces: 2.0,
        friction: 0.3,
    };
    let wear = disc.torque_capacity(1000.0).expect("sound numbers");
    let pressure = disc.torque_capacity_uniform_pressure(1000.0);
    assert!((pressure.expect("sound numbers") / wear - 1.0).abs() < 1e-9);
}

// ---- wear ----

#[test]
fn wear_takes_the_free_play_first_and_then_the_slaves_rest_extension() {
    let chain = hydraulic();
    assert!((chain.wear_room() - (1.0 + 6.0 / 1.9)).abs() < 1e-12);
    let rest = |chain: &Chain| {
        let hydraulics = chain.actuation.hydraulics().expect("hydraulic");
        hydraulics.slave.rest_extension
    };
    let some = chain.worn(0.4, None).expect("room");
    assert!((some.bearing.free_play - 0.6).abs() < 1e-12);
    assert_eq!(rest(&some), 6.0);
    assert_eq!(chain.fork_set_back(0.4), 0.0);

    let more = chain.worn(3.0, None).expect("room");
    assert_eq!(more.bearing.free_play, 0.0);
    assert!((rest(&more) - (6.0 - 2.0 * 1.9)).abs() < 1e-12);
    assert!((chain.fork_set_back(3.0) - 2.0 * 1.9).abs() < 1e-12);
    assert!((more.wear_room() - (chain.wear_room() - 3.0)).abs() < 1e-12);
    // What the piston has gone back is stroke gained.
    let (before, after) = (summary(&chain), summary(&more));
    let gained = after.slave_reserve.expect("hydraulic") - before.slave_reserve.expect("hydraulic");
    let moved = after.slave_travel.expect("hydraulic") - before.slave_travel.expect("hydraulic");
    assert!((gained + moved - 2.0 * 1.9).abs() < 1e-9);
    // With its free play gone, the same stroke moves the fingers further.
    assert!(after.finger_travel > before.finger_travel + 0.9);

    assert!(chain.worn(chain.wear_room(), None).is_some());
    assert!(chain.worn(chain.wear_room() + 1e-6, None).is_none());
    assert!(chain.worn(-1.0, None).is_none() && chain.worn(f64::NAN, None).is_none());
}

#[test]
fn a_cable_has_its_free_play_and_no_more() {
    let cable = Cable {
        bends: 2.0,
        friction: 0.1,
        stiffness: None,
        play: 1.0,
    };
    let chain = pulled(cable);
    assert_eq!(chain.wear_room(), 1.0);
    assert!(chain.worn(1.0, None).is_some());
    assert!(chain.worn(1.1, None).is_none());
}

#[test]
fn a_worn_covers_own_load_takes_the_place_of_the_new_ones() {
    let spring = SPRING.spring().expect("sound numbers");
    let mut chain = hydraulic();
    let curve = |wear: f64| Load::Curve(spring.release_curve(wear, 0.0, 12.0).expect("sound"));
    chain.cover.load = curve(0.0);
    let at_fingers = 0.8 * spring.finger_ratio();
    let kept = chain.worn(at_fingers, None).expect("room");
    let worn = chain.worn(at_fingers, Some(curve(0.8))).expect("room");
    assert_eq!(kept.cover, chain.cover);
    assert!(summary(&worn).pedal_effort > summary(&kept).pedal_effort);
}

// ---- alignment ----

/// Readings of a gauge on the crankshaft that sweeps a round bore whose centre is off by (right, up). The tip is
/// pushed in by as much as the wall is nearer than the radius.
fn sweep(radius: f64, right: f64, up: f64, angles: &[f64]) -> Vec<(f64, f64)> {
    let wall = |angle: f64| {
        let (x, y) = (angle.sin(), angle.cos());
        let along = right * x + up * y;
        let across = right * y - up * x;
        along + (radius * radius - across * across).sqrt()
    };
    // From whatever zero the gauge was set to.
    angles
        .iter()
        .map(|&a| (a, 0.37 + radius - wall(a)))
        .collect()
}

proptest! {
    #[test]
    fn the_dial_finds_the_move_that_centres_the_bore(
        (right, up) in (-0.5..0.5_f64, -0.5..0.5_f64),
        start in 0.0..TAU, count in 3..17_usize,
        jitter in prop::collection::vec(-0.15..0.15_f64, 17),
    ) {
        let angles: Vec<f64> = (0..count)
            .map(|i| start + TAU * (i as f64 + jitter[i]) / count as f64)
            .collect();
        let dial = Dial::from_readings(&sweep(200.0, right, up, &angles)).expect("all round");
        // The bore's own circle is off a pure first harmonic by offset²/radius.
        let tolerance = 0.01;
        prop_assert!((dial.move_right + right).abs() < tolerance, "{dial:?}");
        prop_assert!((dial.move_up + up).abs() < tolerance, "{dial:?}");
        prop_assert!((dial.offset - right.hypot(up)).abs() < tolerance);
        prop_assert!(dial.out_of_round < tolerance);
        let (x, y) = (dial.move_towards.sin(), dial.move_towards.cos());
        prop_assert!((dial.offset * x - dial.move_right).abs() < 1e-12);
        prop_assert!((dial.offset * y - dial.move_up).abs() < 1e-12);
        let moved = sweep(200.0, right + dial.move_right, up + dial.move_up, &angles);
        let after = Dial::from_readings(&moved).expect("all round");
        prop_assert!(after.offset < 0.02 * dial.offset + 1e-6, "{after:?}");
    }
}

#[test]
fn four_readings_by_hand() {
    // High at the right: the housing stands off to the left, and half of the difference centres it.
    let readings = [
        (0.0, 0.05),
        (FRAC_PI_2, 0.15),
        (PI, 0.05),
        (3.0 * FRAC_PI_2, -0.05),
    ];
    let dial = Dial::from_readings(&readings).expect("all round");
    assert!((dial.offset - 0.10).abs() < 1e-12);
    assert!((dial.move_right - 0.10).abs() < 1e-12 && dial.move_up.abs() < 1e-12);
    assert!((dial.move_towards - FRAC_PI_2).abs() < 1e-12);
    assert!(dial.out_of_round.abs() < 1e-12);

    // An oval bore, true to the shaft, needs no move but is no good.
    let oval = [
        (0.0, 0.1),
        (FRAC_PI_2, -0.1),
        (PI, 0.1),
        (3.0 * FRAC_PI_2, -0.1),
    ];
    let dial = Dial::from_readings(&oval).expect("all round");
    assert!(dial.offset < 1e-12 && (dial.out_of_round - 0.2).abs() < 1e-12);
}

#[test]
fn too_few_readings_say_nothing() {
    let twice = [(0.0, 0.1), (PI, -0.1), (TAU, 0.1), (3.0 * PI, -0.1)];
    assert!(Dial::from_readings(&[]).is_none());
    assert!(Dial::from_readings(&twice[..2]).is_none());
    assert!(Dial::from_readings(&twice).is_none());
    assert!(Dial::from_readings(&[(0.0, 0.0), (0.1, 0.1), (0.2, 0.0)]).is_none());
    assert!(Dial::from_readings(&[(0.0, 0.0), (2.0, f64::NAN), (4.0, 0.0)]).is_none());
}

#[test]
fn pilot_and_face() {
    // 160 mm of housing and 12 of adapter, a shaft of 190 and a mouth 6 in: 12 mm of tip.
    let tip = pilot_penetration(160.0, 12.0, 190.0, 6.0);
    assert_eq!(tip, 12.0);
    assert_eq!(pilot_engagement(tip, Some(20.0)), 12.0);
    assert_eq!(pilot_engagement(tip, Some(9.0)), 9.0);
    assert_eq!(pilot_engagement(tip, None), 12.0);
    assert_eq!(
        pilot_engagement(pilot_penetration(160.0, 32.0, 190.0, 6.0), Some(20.0)),
        -8.0
    );
    let angle = bell_angle(0.3, 300.0).expect("sound numbers");
    assert!((angle - 0.001).abs() < 1e-9);
    assert!(bell_angle(0.3, 0.0).is_none());
}

#[test]
fn hub_and_splines() {
    // By hand: 165 mm of housing, 6 of adapter and a shaft of 195 put its tip 24 mm in front of the engine's
    // face, and its splines, from 28 mm behind the tip and 60 long, at 4 to 64 mm.
    let splines = Stretch::of_splines(165.0 + 6.0, 195.0, 28.0, 60.0);
    assert_eq!((splines.front, splines.rear), (4.0, 64.0));
    // A disc of 8 mm on a face at 30 mm, its hub of 26 mm 4 mm behind the facings' middle.
    let hub = Stretch::of_hub(30.0, 8.0, 4.0, 26.0);
    assert_eq!((hub.front, hub.rear), (25.0, 51.0));
    assert_eq!(splines.overlap(hub), 26.0);
    assert_eq!(hub.overlap(splines), 26.0);
    // 30 mm more of adapter take the splines back: 34 to 51 mm are left; 50 mm more, a gap of 3 mm.
    let back = |by: f64| Stretch::of_splines(171.0 + by, 195.0, 28.0, 60.0).overlap(hub);
    assert_eq!(back(30.0), 17.0);
    assert_eq!(back(50.0), -3.0);
    // The gearbox nearer by 20 mm: the hub's rear end stands past the splines.
    assert_eq!(back(-20.0), 19.0);
}

// ---- bleeding ----

/// Volume above the plane, summed over slices across the bore. At each distance `z` from the axis the slice is a
/// rectangle, from which the plane cuts a triangle or more.
fn bubble_by_slices(radius: f64, start: f64, rise: f64, length: f64) -> f64 {
    let steps = 4000;
    // z = r·sin φ takes the square root's steep end out of the integrand.
    let width = PI / f64::from(steps);
    (0..steps)
        .map(|i| -FRAC_PI_2 + (f64::from(i) + 0.5) * width)
        .map(|angle| {
            let half_height = radius * angle.cos();
            // Depth of the plane under this slice's top at the far end, and where it comes in.
            let top = radius - half_height;
            let depth = |x: f64| (x * rise - start - top).clamp(0.0, 2.0 * half_height);
            let enters = ((start + top) / rise).min(length);
            let leaves = ((start + top + 2.0 * half_height) / rise).min(length);
            let triangle = 0.5 * depth(leaves) * (leaves - enters);
            let block = 2.0 * half_height * (length - leaves);
            (triangle + block) * radius * angle.cos() * width
        })
        .sum()
}

proptest! {
    #[test]
    fn the_bubble_is_the_sum_of_its_slices(
        diameter in 12.0..40.0_f64, slope in 0.001..1.4_f64, chamber in 2.0..100.0_f64,
        share in 0.3..0.95_f64,
    ) {
        let (radius, rise) = (diameter / 2.0, slope.tan());
        let round = bubble_volume(&SlaveBore::Round(diameter), slope, chamber).expect("sound");
        let slices = bubble_by_slices(radius, 0.0, rise, chamber);
        prop_assert!((round / slices - 1.0).abs() < 1e-5, "{round} {slices}");

        let inner = share * diameter;
        let ring = SlaveBore::Annulus { outer: diameter, inner };
        let ring = bubble_volume(&ring, slope, chamber).expect("sound");
        let core = bubble_by_slices(inner / 2.0, radius - inner / 2.0, rise, chamber);
        prop_assert!((ring - (slices - core)).abs() < 1e-4 * slices, "{ring} {slices} {core}");

        let all = SlaveBore::Round(diameter).area() * chamber;
        prop_assert!(round <= all * (1.0 + 1e-12) && ring <= round);
        let level = bubble_volume(&SlaveBore::Round(diameter), 0.0, chamber);
        let down = bubble_volume(&SlaveBore::Round(diameter), -slope, chamber);
        prop_assert_eq!((level, down), (Some(0.0), Some(0.0)));
    }
}

/// If the plane just reaches the underside at the far end, half of the bore is air.
#[test]
fn half_the_bore_at_the_corner() {
    let bore = SlaveBore::Round(20.0);
    let slope = f64::atan(20.0 / 30.0);
    let half = bubble_volume(&bore, slope, 30.0).expect("sound numbers");
    assert!((half - 0.5 * bore.area() * 30.0).abs() < 1e-9);
    let just_less = bubble_volume(&bore, slope, 30.0 - 1e-9).expect("sound numbers");
    assert!((half - just_less).abs() < 1e-5);
}

/// The smallest slopes, where the terms of the closed form cancel: `4/15·√(2r)·H^2.5/tan` to leading order.
#[test]
fn a_bubble_in_a_bore_that_is_all_but_level() {
    for slope in [1e-9, 1e-6, 1e-4] {
        let (radius, chamber) = (10.0_f64, 30.0);
        let volume = bubble_volume(&SlaveBore::Round(20.0), slope, chamber).expect("sound");
        let depth = chamber * slope;
        let leading = 8.0 / 15.0 * (2.0 * radius).sqrt() * depth.powf(2.5) / slope;
        assert!((volume / leading - 1.0).abs() < 1e-3, "{volume} {leading}");
    }
}

fn with_air(air: f64) -> Chain {
    let mut chain = hydraulic();
    let hydraulics = chain.actuation.hydraulics_mut().expect("hydraulic");
    hydraulics.fluid.air = air;
    chain
}

/// Travel of the slave and of the bearing with the pad held at `pad`.
fn held(chain: &Chain, pad: f64) -> (f64, f64) {
    let mut chain = chain.clone();
    chain.pedal.stop = Some(pad);
    let s = summary(&chain);
    (s.fork_travel, s.bearing_travel)
}

proptest! {
    #[test]
    fn injected_air_is_found(air in 10.0..4000.0_f64, pad in 95.0..139.0_f64) {
        let chain = with_air(air);
        let (slave, bearing) = held(&chain, pad);
        prop_assume!(bearing > 1.2);
        let none = held(&with_air(0.0), pad).0;
        // The air that the spec itself names does not count.
        for reading in [Reading::SlaveTravel(slave), Reading::BearingTravel(bearing)] {
            let found = chain.trapped_air(pad, reading).expect("under pressure");
            let TrappedAir { missing_volume, missing_travel, .. } = found;
            prop_assert!((found.air / air - 1.0).abs() < 1e-9, "{found:?} of {air}");
            prop_assert!((missing_travel - (none - slave)).abs() < 1e-9, "{found:?}");
            prop_assert!(missing_volume > 0.0 && missing_volume < air);
        }
        // As read off a rule and a dial: what is then found gives the travel that was read.
        let read = (slave * 100.0).round() / 100.0;
        let found = chain.trapped_air(pad, Reading::SlaveTravel(read)).expect("under pressure");
        let again = held(&with_air(found.air.max(0.0)), pad).0;
        prop_assert!(found.air < 0.0 || (again - read).abs() < 1e-9, "{again} {read}");
        prop_assert!((again - slave).abs() <= 0.01);
    }

    #[test]
    fn air_is_found_from_the_release_point(air in 10.0..1200.0_f64) {
        let chain = with_air(air);
        let point = summary(&chain).release_point;
        prop_assume!(point.is_some());
        let found = chain.trapped_air(point.expect("freed"), Reading::Release);
        let found = found.expect("under pressure");
        prop_assert!((found.air / air - 1.0).abs() < 1e-9, "{found:?} of {air}");
    }
}

#[test]
fn more_travel_than_the_bores_can_give_is_negative_air() {
    let chain = with_air(0.0);
    let (slave, _) = held(&chain, 120.0);
    let found = chain.trapped_air(120.0, Reading::SlaveTravel(slave + 1.0));
    let found = found.expect("under pressure");
    assert!(
        found.air < -300.0 && found.missing_volume < -300.0,
        "{found:?}"
    );
    assert!((found.missing_travel + 1.0).abs() < 1e-9);
    // Nothing under pressure squeezes no air, and a cable has none.
    assert!(
        chain
            .trapped_air(120.0, Reading::SlaveTravel(0.0))
            .is_none()
    );
    let cable = Cable {
        bends: 1.0,
        friction: 0.1,
        stiffness: None,
        play: 0.0,
    };
    assert!(pulled(cable).trapped_air(120.0, Reading::Release).is_none());
}

/// A cover whose curve ends early keeps its last load, and a reading may be beyond it.
#[test]
fn air_past_the_last_point_of_the_curve() {
    let mut chain = with_air(700.0);
    let load = vec![(0.0, 0.0), (1.5, 1300.0)];
    chain.cover.load = Load::Curve(Curve::new(load).expect("rising"));
    let (slave, bearing) = held(&chain, 135.0);
    assert!(bearing > 3.5);
    let found = chain.trapped_air(135.0, Reading::SlaveTravel(slave));
    let air = found.expect("under pressure").air;
    assert!((air / 700.0 - 1.0).abs() < 1e-9, "{air}");
}

/// A master that has bottomed displaces no more, however far the pad goes.
#[test]
fn air_behind_a_master_that_has_bottomed() {
    let mut chain = with_air(800.0);
    let hydraulics = chain.actuation.hydraulics_mut().expect("hydraulic");
    hydraulics.master.stroke = 14.0;
    let s = summary(&chain);
    assert!(s.pedal_travel_used < 139.0);
    for pad in [s.pedal_travel_used, 139.0] {
        let found = chain.trapped_air(pad, Reading::SlaveTravel(s.fork_travel));
        let air = found.expect("under pressure").air;
        assert!((air / 800.0 - 1.0).abs() < 1e-9, "{air}");
    }
}

#[test]
fn a_bubble_gives_way_early_in_the_travel() {
    let chain = with_air(1000.0);
    let walk = chain.walk().expect("plausible");
    let full = walk.full_pedal().expect("plausible");
    let squeeze = walk.squeeze(&full).expect("air under pressure");
    let p = full.state.cylinders.expect("hydraulic").pressure;
    let left = 1000.0 * STANDARD_ATMOSPHERE / (STANDARD_ATMOSPHERE + p);
    assert!((squeeze.left - left).abs() < 1e-9);
    let lost = |pad: f64| {
        let mut chain = chain.clone();
        chain.pedal.stop = Some(pad);
        summary(&chain).lost_air.expect("hydraulic")
    };
    assert!((lost(squeeze.half_done) / lost(139.9) - 0.5).abs() < 0.01);
    assert_eq!(lost(squeeze.begins - 1e-6), 0.0);
    assert!(lost(squeeze.begins + 0.1) > 0.0);
    assert!(squeeze.half_done - squeeze.begins < 0.25 * full.state.pad_travel);
    let airless = with_air(0.0);
    let walk = airless.walk().expect("plausible");
    let full = walk.full_pedal().expect("plausible");
    assert!(walk.squeeze(&full).is_none());
}

// ---- return in the cold ----

#[test]
fn the_return_takes_as_long_as_the_flow_summed_up() {
    let chain = hydraulic();
    let walk = chain.walk().expect("plausible");
    let full = walk.full_pedal().expect("plausible");
    let (kinematic, density, share) = (1800.0, 1.05e-9, 0.9);
    let back = walk.cold_return(&full, kinematic, density, share);
    let back = back.expect("it comes back");

    let resistance =
        128.0 * kinematic * density / PI * (500.0 / 3.2_f64.powi(4) + 1500.0 / 3.35_f64.powi(4));
    let area = SlaveBore::Round(22.225).area();
    let (from, to) = (
        full.state.bearing_travel,
        1.0 + 0.1 * full.state.finger_travel,
    );
    let steps = 100_000;
    let at = |i: i32| {
        let x = from + (to - from) * f64::from(i) / f64::from(steps);
        let state = walk.on_cover(x, Stroke::Return).expect("in reach");
        (
            state.fork_travel,
            state.cylinders.expect("hydraulic").pressure,
        )
    };
    let time: f64 = (0..steps)
        .map(|i| (at(i), at(i + 1)))
        .map(|(a, b)| area * (a.0 - b.0) * resistance * 2.0 / (a.1 + b.1))
        .sum();
    assert!(
        (back.time / time - 1.0).abs() < 1e-6,
        "{} {time}",
        back.time
    );

    // Twice as thick, twice as long; the lines' share is by the fourth power of their bores.
    let thick = walk.cold_return(&full, 2.0 * kinematic, density, share);
    assert!((thick.expect("it comes back").time / back.time - 2.0).abs() < 1e-12);
    assert!(back.reynolds < 50.0, "{back:?}");
    // To rest itself it never quite comes: the load has died away before.
    assert!(walk.cold_return(&full, kinematic, density, 1.0).is_none());
    assert!(walk.cold_return(&full, 0.0, density, share).is_none());
    assert!(walk.cold_return(&full, kinematic, density, 1.5).is_none());
}

// ---- silly numbers ----

fn silly() -> impl Strategy<Value = f64> {
    use prop::num::f64::{NEGATIVE, NORMAL, POSITIVE, SUBNORMAL, ZERO};
    prop_oneof![
        3 => POSITIVE | NORMAL | SUBNORMAL | ZERO,
        2 => NEGATIVE | NORMAL | SUBNORMAL | ZERO,
        3 => prop::sample::select(vec![
            0.0, -0.0, 1.0, -1.0, 1e-300, 1e-9, 1e9, 1e300, f64::MAX, f64::MIN, f64::MIN_POSITIVE,
        ]),
        4 => 0.0..300.0,
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(4000))]

    #[test]
    fn no_finite_number_makes_a_panic_or_a_nan(
        changes in prop::collection::vec((0..10_usize, silly()), 0..5),
        a in silly(), b in silly(), c in silly(),
        readings in prop::collection::vec((silly(), silly()), 0..6),
    ) {
        let mut spring = SPRING;
        let Diaphragm { cone, plate_circle, fulcrum_circle, finger_circle, set_deflection } =
            &mut spring;
        let numbers = [
            &mut cone.outer, &mut cone.inner, &mut cone.thickness, &mut cone.height,
            &mut cone.modulus, &mut cone.poisson, plate_circle, fulcrum_circle, finger_circle,
            set_deflection,
        ];
        for (index, value) in changes {
            *numbers[index] = value;
        }
        let mut found = vec![spring.cone.load(a)];
        if let Some(worked) = spring.spring() {
            found.extend([worked.clamp_load(a), worked.release_load(a, b, c)]);
            if let Some(curve) = worked.release_curve(a, b, c) {
                found.extend(curve.knots().iter().map(|knot| Some(knot.0 + 0.0 * knot.1)));
            }
        }
        let disc = Disc { outer: a, inner: b, faces: 2.0, friction: c };
        found.extend([disc.torque_capacity(a), disc.torque_capacity_uniform_pressure(c)]);
        found.extend([disc.lift_needed(a, b), torque_margin(a, b, c), bell_angle(a, b)]);
        let rod = SlaveRod { arm: a, to_square: b, length: c, offset: a };
        found.extend([rod.angle(b), rod.worst_angle(b, c), rod.best_offset(a, c)]);
        found.push(bubble_volume(&SlaveBore::Round(a), b, c));
        found.push(bubble_volume(&SlaveBore::Annulus { outer: a, inner: b }, 0.3, c));
        if let Some(dial) = Dial::from_readings(&readings) {
            found.extend([Some(dial.offset), Some(dial.move_towards), Some(dial.out_of_round)]);
        }
        prop_assert!(found.iter().flatten().all(|x| x.is_finite()), "{found:?}");
    }
}
