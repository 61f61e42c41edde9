//! Forks that are not straight, whose ratio changes along the stroke: laws over random chains.

mod common;

use bitepoint::mechanics::{Bend, Chain, Stroke};
use common::chains::{ROUNDING, bearing_work, chain, hydraulics, summary, with, without_losses};
use proptest::prelude::*;

fn bend() -> impl Strategy<Value = Bend> {
    (
        45.0..90.0_f64,
        -14.0..14.0_f64,
        -30.0..30.0_f64,
        -12.0..12.0_f64,
    )
        .prop_map(|(bearing_arm, tip_offset, end_offset, tips)| Bend {
            bearing_arm,
            tip_offset,
            end_offset,
            tips,
        })
}

fn bent(chain: &Chain, bend: Bend) -> Chain {
    with(chain, |chain| chain.fork.bend = Some(bend))
}

/// A chain and how its fork is bent. A bend so sharp that the fork's end turns back gives no result.
fn chain_and_bend() -> impl Strategy<Value = (Chain, Bend)> {
    (chain(), bend()).prop_filter("the fork's end turns back", |(chain, bend)| {
        bent(chain, *bend).summary().is_some()
    })
}

proptest! {
    /// A fork produces no energy, however it is bent. Without friction and losses the foot does the bearing's work.
    #[test]
    fn without_friction_and_losses_the_foot_does_the_bearings_work(
        (chain, bend) in chain_and_bend()
    ) {
        let chain = bent(&without_losses(&chain), bend);
        let summary = summary(&chain);
        let out = bearing_work(&chain, summary.finger_travel);
        prop_assert!((summary.pedal_work - out).abs() <= 1e-7 * out.max(1.0), "{} {out}", summary.pedal_work);
    }

    #[test]
    fn the_foot_does_at_least_the_work_of_the_bearing((chain, bend) in chain_and_bend()) {
        let chain = with(&bent(&chain, bend), |chain| {
            chain.pedal.assist = None;
            hydraulics(chain).slave.preload = 0.0;
        });
        let summary = summary(&chain);
        let out = bearing_work(&chain, summary.finger_travel);
        prop_assert!(summary.pedal_work >= out * (1.0 - 1e-9));
    }

    /// A bend close to zero changes results by close to zero, wherever the fork is.
    #[test]
    fn a_straight_fork_is_a_bent_one_without_a_bend((chain, bend) in chain_and_bend()) {
        let straight = summary(&chain);
        let same = Bend { tip_offset: 0.0, end_offset: 0.0, ..bend };
        let other = summary(&bent(&chain, same));
        let close = |a: f64, b: f64| (a - b).abs() <= 1e-7 * a.abs().max(1.0);
        prop_assert!(close(straight.bearing_travel, other.bearing_travel));
        prop_assert!(close(straight.fork_travel, other.fork_travel));
        prop_assert!(close(straight.pedal_effort, other.pedal_effort));
        prop_assert!(close(straight.pedal_work, other.pedal_work));
        prop_assert!(close(straight.line_pressure.unwrap(), other.line_pressure.unwrap()));
        prop_assert!(close(chain.wear_room(), bent(&chain, same).wear_room()));
        let release = (straight.release_point, other.release_point);
        if let (Some(a), Some(b)) = release {
            prop_assert!(close(a, b));
        }
    }

    /// The state read at full pedal is the one that the walk gives there, and no place before it is further.
    #[test]
    fn full_pedal_is_on_the_walk_and_the_farthest((chain, bend) in chain_and_bend()) {
        let chain = bent(&chain, bend);
        let walk = chain.walk().expect("a plausible chain");
        let full = walk.full_pedal().expect("a plausible chain");
        let there = walk.at(full.state.bearing_travel, full.state.release_load, Stroke::Press).expect("there");
        prop_assert!((there.fork_travel - full.state.fork_travel).abs() < ROUNDING);
        let samples = chain.curve(50);
        for pair in samples.windows(2) {
            prop_assert!(pair[1].bearing_travel >= pair[0].bearing_travel - ROUNDING);
            prop_assert!(pair[1].pressure <= summary(&chain).line_pressure.map(|p| p + 1e-9));
        }
        let found = chain.release_margin_at(full.state.fork_travel).expect("there");
        prop_assert!((found + chain.cover.needed - full.state.finger_travel).abs() < 1e-7);
    }

    /// A gap at the fingers is travel lost: more of it never frees the disc earlier.
    #[test]
    fn more_clearance_never_frees_earlier((chain, bend) in chain_and_bend(), more in 1.0..4.0_f64) {
        let chain = bent(&chain, bend);
        let later = with(&chain, |chain| chain.bearing.free_play = more * chain.bearing.free_play + 0.1 * (more - 1.0));
        let point = |chain: &Chain| summary(chain).release_point.unwrap_or(f64::INFINITY);
        prop_assert!(point(&later) >= point(&chain) - 1e-7);
    }

    /// Zero wear changes nothing. After wear by all of its room the slave is fully home, and the way back from there
    /// is the wear.
    #[test]
    fn wear_moves_the_fork_back_along_its_own_circle((chain, bend) in chain_and_bend(), share in 0.0..1.0_f64) {
        let chain = bent(&chain, bend);
        prop_assert_eq!(&chain.worn(0.0, None).expect("room"), &chain);
        let room = chain.wear_room();
        let home = chain.worn(room, None).expect("room");
        let left = home.actuation.hydraulics().expect("hydraulic").slave.rest_extension;
        prop_assert!(left.abs() < 1e-8, "{left}");
        let wear = share * room;
        let worn = chain.worn(wear, None).expect("room");
        let pushed = (wear - chain.bearing.free_play).max(0.0);
        let back = chain.fork_set_back(wear);
        prop_assert!((worn.fork.outer_travel(pushed) - back).abs() < 1e-9);
    }
}
