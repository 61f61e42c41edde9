//! Properties of every chain, whatever its numbers.

mod common;

use bitepoint::mechanics::{
    Actuation, Assist, Cable, Chain, Curve, EndedBy, Hydraulics, Leverage, Linkage, Load, Reading,
    SlaveBore, State, Stroke, Summary, TrappedAir, Wall,
};
use common::chains::{
    NUMBERS, ROUNDING, bearing_work, chain, hydraulics, lossless_hydraulics, plausible, summary,
    with, without_losses,
};
use proptest::prelude::*;

fn plausible_cable() -> Actuation {
    Actuation::Cable(Cable {
        bends: 2.5,
        friction: 0.12,
        stiffness: Some(150.0),
        play: 2.0,
    })
}

fn plausible_linkage() -> Actuation {
    Actuation::Linkage(Linkage {
        in_arm: 90.0,
        out_arm: 60.0,
        in_angle: 0.0,
        out_angle: 0.0,
        play: 1.0,
        stiffness: Some(250.0),
        efficiency: 0.9,
    })
}

proptest! {
    #[test]
    fn whatever_gives_way_more_never_lengthens_the_finger_travel(
        chain in chain(), more in 1.0..5.0_f64
    ) {
        let changes: [fn(&mut Chain, f64); 7] = [
            |chain, more| hydraulics(chain).fluid.air *= more,
            |chain, more| {
                let bulk = &mut hydraulics(chain).fluid.bulk_modulus;
                *bulk = bulk.map(|k| k / more);
            },
            |chain, more| {
                let lines = &mut hydraulics(chain).lines;
                lines.extend(lines.clone());
                lines.iter_mut().for_each(|line| line.length *= more);
            },
            |chain, more| {
                let mount = &mut hydraulics(chain).master.mount_stiffness;
                *mount = mount.map(|k| k / more);
            },
            |chain, more| chain.fork.stiffness = chain.fork.stiffness.map(|k| k / more),
            |chain, more| chain.bearing.free_play *= more,
            |chain, more| hydraulics(chain).master.port_travel *= more,
        ];
        let before = summary(&chain).finger_travel;
        for (i, change) in changes.iter().enumerate() {
            let after = summary(&with(&chain, |chain| change(chain, more))).finger_travel;
            prop_assert!(after <= before + ROUNDING, "change {i}: {before} to {after}");
        }
    }

    #[test]
    fn without_losses_a_bigger_slave_shortens_and_a_bigger_master_lengthens(
        chain in chain(), more in 1.0..1.5_f64
    ) {
        // With losses neither is a theorem: a bigger slave lowers the pressure and with it the loss.
        let chain = lossless_hydraulics(&chain);
        let before = summary(&chain).finger_travel;
        let slave = with(&chain, |chain| {
            match &mut hydraulics(chain).slave.bore {
                SlaveBore::Round(d) => *d *= more,
                SlaveBore::Annulus { outer, .. } => *outer *= more,
            }
        });
        prop_assert!(summary(&slave).finger_travel <= before + ROUNDING);
        let master = with(&chain, |chain| hydraulics(chain).master.bore *= more);
        prop_assert!(summary(&master).finger_travel >= before - ROUNDING);
    }

    #[test]
    fn the_foot_does_at_least_the_work_of_the_bearing(chain in chain()) {
        // Assist and preload are springs that do work of their own.
        let chain = with(&chain, |chain| {
            chain.pedal.assist = None;
            hydraulics(chain).slave.preload = 0.0;
        });
        let summary = summary(&chain);
        let out = bearing_work(&chain, summary.finger_travel);
        prop_assert!(summary.pedal_work >= out * (1.0 - 1e-12));
    }

    #[test]
    fn without_friction_and_losses_the_work_is_equal(chain in chain()) {
        let chain = without_losses(&chain);
        let summary = summary(&chain);
        let out = bearing_work(&chain, summary.finger_travel);
        prop_assert!((summary.pedal_work - out).abs() <= 1e-10 * out.max(1.0));
    }

    #[test]
    fn a_chain_twice_as_big_is_the_same_chain(chain in chain(), k in 0.3..3.0_f64) {
        // Lengths by k, forces by k², pressures and moduli as they are; so stiffnesses by k, volumes and
        // work by k³.
        let big = with(&chain, |chain| {
            let k2 = k * k;
            let stretch = |curve: &Curve| {
                let points = curve.knots().iter().map(|(x, y)| (k * x, k2 * y));
                Curve::new(points.collect()).expect("rising")
            };
            let pedal = &mut chain.pedal;
            pedal.travel *= k;
            pedal.stop = pedal.stop.map(|x| k * x);
            pedal.free_play = pedal.free_play.map(|x| k * x);
            pedal.return_force *= k2;
            if let Some(Assist::Curve(curve)) = &mut pedal.assist {
                *curve = stretch(curve);
            }
            if let Leverage::Crank { pad_arm, rod_arm, rod_length, .. } = &mut pedal.leverage {
                *pad_arm *= k;
                *rod_arm *= k;
                *rod_length = rod_length.map(|x| k * x);
            }
            let Hydraulics { master, lines, fluid, slave, .. } =
                chain.actuation.hydraulics_mut().expect("hydraulic");
            master.bore *= k;
            master.stroke *= k;
            master.port_travel *= k;
            master.rod_clearance *= k;
            master.return_force *= k2;
            master.mount_stiffness = master.mount_stiffness.map(|x| k * x);
            for line in lines {
                line.bore *= k;
                line.length *= k;
                match &mut line.wall {
                    Wall::Rigid => {}
                    Wall::Hose { expansion } => *expansion *= k2,
                    Wall::Tube { thickness, .. } => *thickness *= k,
                }
            }
            fluid.air *= k * k2;
            match &mut slave.bore {
                SlaveBore::Round(d) => *d *= k,
                SlaveBore::Annulus { outer, inner } => {
                    *outer *= k;
                    *inner *= k;
                }
            }
            slave.stroke *= k;
            slave.rest_extension *= k;
            slave.preload *= k2;
            chain.fork.stiffness = chain.fork.stiffness.map(|x| k * x);
            chain.bearing.free_play *= k;
            chain.cover.needed *= k;
            chain.cover.most *= k;
            match &mut chain.cover.load {
                Load::Curve(curve) => *curve = stretch(curve),
                Load::Peak(peak) => *peak *= k2,
            }
        });
        let (small, big) = (summary(&chain), summary(&big));
        prop_assert_eq!(small.ended_by, big.ended_by);
        let close = |a: f64, b: f64, scale: f64| (a - b).abs() <= 1e-8 * scale;
        let travels = |s: &Summary| {
            [s.pedal_travel_used, s.bearing_travel, s.finger_travel, s.release_margin]
                .into_iter()
                .chain([s.master_travel, s.slave_travel, s.slave_reserve, s.lost_air].map(Option::unwrap))
                .chain([s.lost_hose, s.lost_fluid, s.lost_port].map(Option::unwrap))
                .chain([s.lost_flex, s.fork_travel])
                .collect::<Vec<_>>()
        };
        for (a, b) in travels(&small).into_iter().zip(travels(&big)) {
            prop_assert!(close(k * a, b, k * 10.0), "{a} {b}");
        }
        for (a, b) in [
            (small.pedal_effort, big.pedal_effort),
            (small.pedal_effort_full, big.pedal_effort_full),
        ] {
            prop_assert!(close(k * k * a, b, k * k * 100.0), "{a} {b}");
        }
        prop_assert_eq!(small.pedal_effort_return.is_some(), big.pedal_effort_return.is_some());
        if let (Some(a), Some(b)) = (small.pedal_effort_return, big.pedal_effort_return) {
            prop_assert!(close(k * k * a, b, k * k * 100.0), "{a} {b}");
        }
        prop_assert!(close(k.powi(3) * small.pedal_work, big.pedal_work, k.powi(3) * 1e4));
        let pressure = |s: &Summary| s.line_pressure.expect("hydraulic");
        prop_assert!(close(pressure(&small), pressure(&big), 1.0));
    }

    #[test]
    fn no_limit_is_passed_and_one_is_reached(chain in chain()) {
        let summary = summary(&chain);
        let master = summary.master_travel.expect("hydraulic");
        let reserve = summary.master_reserve.expect("hydraulic");
        let stop = chain.pedal.stop.expect("given");
        prop_assert!(summary.pedal_travel_used <= chain.pedal.travel.min(stop) + ROUNDING);
        prop_assert!(reserve >= -ROUNDING);
        match summary.ended_by {
            EndedBy::PedalTravel => prop_assert_eq!(summary.pedal_travel_used, chain.pedal.travel),
            EndedBy::PedalStop => prop_assert_eq!(summary.pedal_travel_used, stop),
            EndedBy::MasterStroke => prop_assert!(reserve.abs() <= ROUNDING, "{master}"),
            EndedBy::RelayGeometry => prop_assert!(false, "there is no relay lever"),
            EndedBy::Geometry => {
                let past = chain.pedal.geometry().expect("plausible")
                    .rod_travel(summary.pedal_travel_used + 1e-6);
                prop_assert!(past.is_none());
            }
            EndedBy::SlaveStroke => {
                let slave = &chain.actuation.hydraulics().expect("hydraulic").slave;
                let left = slave.stroke - slave.rest_extension - summary.fork_travel;
                prop_assert!(left.abs() <= ROUNDING, "{left}");
                prop_assert!(summary.slave_reserve.expect("hydraulic") <= 0.0);
            }
            EndedBy::ForkWindow | EndedBy::BearingGuide | EndedBy::IntensifierStroke => {
                prop_assert!(false, "no such stop is given")
            }
        }
    }

    #[test]
    fn volume_is_conserved(chain in chain()) {
        let s = summary(&chain);
        let lost = [s.lost_hose, s.lost_fluid, s.lost_air].map(Option::unwrap).iter().sum::<f64>();
        let (ideal, real) = (s.slave_travel_ideal.unwrap(), s.slave_travel.unwrap());
        let walk = chain.walk().expect("a plausible chain");
        let state = walk.full_pedal().expect("a plausible chain").state;
        // On a mount that does not give, the piston would have moved further by that, up to its stroke.
        let mount = state.give.min(s.master_reserve.unwrap()) / s.hydraulic_ratio.unwrap();
        let gone = if real > 0.0 { ideal - real - lost - mount } else { 0.0 };
        prop_assert!(gone.abs() <= ROUNDING, "{gone}");
    }

    #[test]
    fn friction_takes_its_share_on_both_strokes(chain in chain(), bearing in 0.0..10.0_f64) {
        // Where the ratio and the assist do not depend on the pad's place, which differs between the two.
        let chain = with(&chain, |chain| {
            chain.pedal.assist = None;
            chain.pedal.leverage = Leverage::Ratio(6.0);
        });
        let walk = chain.walk().expect("a plausible chain");
        let press = walk.on_cover(bearing, Stroke::Press).expect("within reach");
        let back = walk.on_cover(bearing, Stroke::Return).expect("within reach");
        prop_assert!(back.effort <= press.effort);
        let pressure = |state: &State| state.cylinders.expect("hydraulic").pressure;
        prop_assert!(pressure(&back) <= pressure(&press));
        prop_assert!(back.pad_travel <= press.pad_travel + ROUNDING);
    }

    #[test]
    fn the_curve_runs_evenly_from_rest_to_full_pedal(chain in chain(), count in 2..80_usize) {
        let rows = chain.curve(count);
        let summary = summary(&chain);
        prop_assert_eq!(rows.len(), count);
        for (i, row) in rows.iter().enumerate() {
            let even = summary.pedal_travel_used * i as f64 / (count - 1) as f64;
            prop_assert!((row.pad_travel - even).abs() <= ROUNDING);
            prop_assert!(row.effort <= summary.pedal_effort * (1.0 + 1e-9) + ROUNDING);
        }
        for pair in rows.windows(2) {
            prop_assert!(pair[1].bearing_travel >= pair[0].bearing_travel - 1e-7);
        }
        let last = rows[count - 1];
        prop_assert_eq!(last.bearing_travel, summary.bearing_travel);
        prop_assert_eq!(last.effort, summary.pedal_effort_full);
    }
}

/// Every number of the chain.
fn numbers(chain: &mut Chain) -> Vec<&mut f64> {
    let Chain {
        pedal,
        actuation,
        relays: _,
        adjust_range: _,
        fork,
        bearing,
        cover,
    } = chain;
    let mut all = vec![
        &mut pedal.travel,
        &mut pedal.efficiency,
        &mut pedal.return_force,
        &mut fork.ratio,
        &mut fork.efficiency,
        &mut bearing.free_play,
        &mut cover.needed,
        &mut cover.most,
    ];
    all.extend(&mut pedal.stop);
    all.extend(&mut pedal.free_play);
    all.extend(&mut fork.stiffness);
    match &mut pedal.leverage {
        Leverage::Ratio(ratio) => all.push(ratio),
        Leverage::Crank {
            pad_arm,
            rod_arm,
            arm_angle,
            rod_length,
        } => {
            all.extend([pad_arm, rod_arm]);
            all.extend(arm_angle);
            all.extend(rod_length);
        }
    }
    match actuation {
        Actuation::Hydraulic(hydraulics) => all.extend(hydraulic_numbers(hydraulics)),
        Actuation::Cable(cable) => {
            all.extend([&mut cable.bends, &mut cable.friction, &mut cable.play]);
            all.extend(&mut cable.stiffness);
        }
        Actuation::Linkage(linkage) => {
            all.extend([&mut linkage.in_arm, &mut linkage.out_arm]);
            all.extend([&mut linkage.play, &mut linkage.efficiency]);
            all.extend(&mut linkage.stiffness);
        }
    }
    if let Load::Peak(peak) = &mut cover.load {
        all.push(peak);
    }
    all
}

fn hydraulic_numbers(hydraulics: &mut Hydraulics) -> Vec<&mut f64> {
    let Hydraulics {
        master,
        lines,
        fluid,
        slave,
        ..
    } = hydraulics;
    let mut all = vec![
        &mut master.bore,
        &mut master.stroke,
        &mut master.port_travel,
        &mut master.rod_clearance,
        &mut master.efficiency,
        &mut master.return_force,
        &mut fluid.air,
        &mut fluid.ambient,
        &mut slave.stroke,
        &mut slave.rest_extension,
        &mut slave.preload,
        &mut slave.efficiency,
    ];
    all.extend(&mut master.mount_stiffness);
    all.extend(&mut fluid.bulk_modulus);
    for line in lines {
        all.extend([&mut line.bore, &mut line.length]);
        match &mut line.wall {
            Wall::Rigid => {}
            Wall::Hose { expansion } => all.push(expansion),
            Wall::Tube {
                thickness,
                modulus,
                poisson,
            } => all.extend([thickness, modulus, poisson]),
        }
    }
    match &mut slave.bore {
        SlaveBore::Round(diameter) => all.push(diameter),
        SlaveBore::Annulus { outer, inner } => all.extend([outer, inner]),
    }
    all
}

/// Any finite number; those that cause most trouble are made likely.
fn silly() -> impl Strategy<Value = f64> {
    use prop::num::f64::{NEGATIVE, NORMAL, POSITIVE, SUBNORMAL, ZERO};
    prop_oneof![
        3 => POSITIVE | NORMAL | SUBNORMAL | ZERO,
        1 => NEGATIVE | NORMAL | SUBNORMAL | ZERO,
        3 => prop::sample::select(vec![
            0.0, -0.0, 1.0, -1.0, 1e-300, 1e-9, 1e9, 1e300, f64::MAX, f64::MIN, f64::MIN_POSITIVE,
        ]),
        3 => 0.0..1000.0,
    ]
}

/// A curve of any finite points.
fn silly_curve() -> impl Strategy<Value = Option<Curve>> {
    prop::collection::vec((silly(), silly()), 0..6).prop_map(|mut points| {
        points.sort_by(|a, b| a.0.total_cmp(&b.0));
        Curve::new(points)
    })
}

fn is_finite(summary: &Summary) -> bool {
    let given = [
        summary.pedal_ratio,
        summary.fork_ratio,
        summary.overall_ratio,
        summary.pedal_travel_used,
        summary.bearing_travel,
        summary.finger_travel,
        summary.release_margin,
        summary.overtravel_margin,
        summary.pedal_effort,
        summary.pedal_effort_full,
        summary.pedal_work,
        summary.actuation_ratio,
        summary.lost_flex,
        summary.fork_travel,
        summary.rod_force,
    ];
    let optional = [
        summary.hydraulic_ratio,
        summary.master_travel,
        summary.master_reserve,
        summary.slave_travel_ideal,
        summary.slave_travel,
        summary.slave_reserve,
        summary.lost_hose,
        summary.lost_fluid,
        summary.lost_air,
        summary.lost_port,
        summary.lost_play,
        summary.idle_pad_travel,
        summary.cable_efficiency,
        summary.release_point,
        summary.stop_travel,
        summary.line_pressure,
        summary.pedal_effort_return,
    ];
    given
        .iter()
        .chain(optional.iter().flatten())
        .all(|x| x.is_finite())
}

fn state_is_finite(state: &State) -> bool {
    [
        state.bearing_travel,
        state.finger_travel,
        state.release_load,
        state.fork_force,
        state.fork_flex,
        state.fork_travel,
        state.rod_force,
        state.give,
        state.rod_travel,
        state.pad_travel,
        state.local_ratio,
        state.effort,
    ]
    .into_iter()
    .chain(state.cylinders.into_iter().flat_map(|c| {
        [
            c.pressure,
            c.lost.total(),
            c.master_travel,
            c.master_active_travel,
        ]
    }))
    .all(f64::is_finite)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(5000))]

    #[test]
    fn no_finite_number_makes_a_panic_or_a_nan(
        mut chain in chain(),
        changes in prop::collection::vec((any::<prop::sample::Index>(), silly()), 0..6),
        load in prop::option::weighted(0.2, silly_curve()),
        assist in prop::option::weighted(0.2, silly_curve()),
        (travel, force) in (silly(), silly()),
        kind in 0..4_u8,
        (wear, viscosity) in (silly(), silly()),
    ) {
        chain.actuation = match kind {
            0 => plausible_cable(),
            1 => plausible_linkage(),
            _ => chain.actuation,
        };
        if let Some(Some(curve)) = load {
            chain.cover.load = Load::Curve(curve);
        }
        if let Some(curve) = assist {
            chain.pedal.assist = curve.map(Assist::Curve);
        }
        let mut numbers = numbers(&mut chain);
        for (index, value) in changes {
            let i = index.index(numbers.len());
            *numbers[i] = value;
        }
        if let Some(walk) = chain.walk() {
            for stroke in [Stroke::Press, Stroke::Return] {
                for state in [walk.at(travel, force, stroke), walk.on_cover(travel, stroke)] {
                    prop_assert!(state.is_none_or(|state| state_is_finite(&state)), "{state:?}");
                }
            }
            if let Some(full) = walk.full_pedal() {
                prop_assert!(state_is_finite(&full.state), "{full:?}");
                let found = [
                    walk.pad_travel_at(&full, travel),
                    walk.first_over(&full, force),
                    walk.least_slack_effort(&full),
                ];
                prop_assert!(found.iter().flatten().all(|x| x.is_finite()), "{found:?}");
                if let Some(squeeze) = walk.squeeze(&full) {
                    let all = squeeze.left + squeeze.begins + squeeze.half_done;
                    prop_assert!(!all.is_nan(), "{squeeze:?}");
                }
                if let Some(back) = walk.cold_return(&full, viscosity, 1.05e-9, 0.9) {
                    prop_assert!(back.time.is_finite() && back.reynolds.is_finite(), "{back:?}");
                }
            }
        }
        if let Some(summary) = chain.summary() {
            prop_assert!(is_finite(&summary), "{summary:?}");
        }
        if let Some(summary) = chain.worn(wear, None).and_then(|worn| worn.summary()) {
            prop_assert!(is_finite(&summary), "{summary:?}");
        }
        let readings = [
            Reading::SlaveTravel(force),
            Reading::BearingTravel(force),
            Reading::Release,
        ];
        for found in readings.iter().filter_map(|reading| chain.trapped_air(travel, *reading)) {
            let TrappedAir { air, missing_volume, missing_travel, pressure } = found;
            let all = [air, missing_volume, missing_travel, pressure];
            prop_assert!(all.iter().all(|x| x.is_finite()), "{found:?}");
        }
        for row in chain.curve(9) {
            let efforts = row.effort + row.effort_return;
            let rest = row.release_load + row.finger_travel + row.fork_travel + row.rod_force;
            let wet = row.pressure.unwrap_or(0.0) + row.master_travel.unwrap_or(0.0);
            prop_assert!(!efforts.is_nan() && !(rest + wet).is_nan(), "{row:?}");
        }
    }
}

/// A cover whose load falls so fast, behind so soft a mount, that the pad would retreat along the walk.
fn snapping() -> Chain {
    let mut chain = plausible(&[0.5; NUMBERS]);
    let master = &mut hydraulics(&mut chain).master;
    master.mount_stiffness = Some(150.0);
    master.stroke = 100.0;
    chain.pedal.leverage = Leverage::Ratio(5.0);
    chain.pedal.travel = 400.0;
    chain.pedal.stop = None;
    let points = vec![(0.0, 0.0), (2.0, 2000.0), (4.0, 600.0), (9.0, 900.0)];
    chain.cover.load = Load::Curve(Curve::new(points).expect("rising"));
    chain
}

#[test]
fn where_the_pad_would_retreat_the_foot_goes_on_from_its_farthest() {
    let chain = snapping();
    let walk = chain.walk().expect("plausible");
    let full = walk.full_pedal().expect("plausible");
    let free_play = chain.bearing.free_play;
    let pad = |finger_travel: f64| {
        let state = walk.on_cover(free_play + finger_travel, Stroke::Press);
        state.expect("within reach").pad_travel
    };
    let (top, bottom) = (pad(2.0), pad(4.0));
    assert!(top > bottom + 1.0, "no retreat from {top} to {bottom}");

    // The fingers at 3 and 4 mm are reached by running on from 2 mm; at 9 mm by the foot again.
    let reached = |finger_travel| {
        walk.pad_travel_at_finger(&full, finger_travel)
            .expect("reached")
    };
    assert_eq!(reached(1.0), pad(1.0));
    assert!((reached(3.0) - top).abs() < ROUNDING);
    assert!((reached(4.0) - top).abs() < ROUNDING);
    assert_eq!(reached(9.0), pad(9.0));
    assert!(pad(9.0) > top);

    // A floor between bottom and top is met on the way up, before the fingers have moved 2 mm.
    let mut short = chain.clone();
    short.pedal.travel = 0.5 * (top + bottom);
    let summary = summary(&short);
    assert!(summary.finger_travel < 2.0);
    assert_eq!(summary.ended_by, EndedBy::PedalTravel);
    assert_eq!(summary.pedal_travel_used, short.pedal.travel);

    // The curve steps over the retreat.
    let rows = chain.curve(400);
    assert_eq!(rows.len(), 400);
    let jump = rows
        .windows(2)
        .map(|pair| pair[1].finger_travel - pair[0].finger_travel)
        .fold(0.0, f64::max);
    assert!(jump > 2.0, "{jump}");
}
