//! Laws of relay levers on random cars. No lever produces energy, and a lever followed by its reverse has no effect.
//! More play never releases earlier. A disc without wear changes nothing.

mod common;

use bitepoint::mechanics::{Cable, Chain, Relay, Relays, Summary};
use common::chains::{a_bend, plausible, with};
use proptest::prelude::*;

fn a_lever() -> impl Strategy<Value = Relay> {
    let arms = (45.0..110.0, 0.85..1.15_f64);
    let angles = (-0.3..0.4, -0.3..0.4);
    let stiffness = prop::option::of(300.0..5000.0);
    (arms, angles, 0.0..1.5, stiffness, 0.85..1.0).prop_map(
        |((in_arm, ratio), (in_angle, out_angle), play, stiffness, efficiency)| Relay {
            in_arm,
            out_arm: in_arm * ratio,
            in_angle,
            out_angle,
            play,
            stiffness,
            efficiency,
        },
    )
}

/// A lever, or a cable in its place.
fn a_relay() -> impl Strategy<Value = Relay> {
    let stiffness = prop::option::of(300.0..5000.0);
    let cable = (0.0..4.0, 0.0..0.12, stiffness, 0.0..1.5).prop_map(
        |(bends, friction, stiffness, play)| {
            Cable {
                bends,
                friction,
                stiffness,
                play,
            }
            .as_relay()
        },
    );
    prop_oneof![4 => a_lever(), 1 => cable]
}

/// A car with a straight fork or a bent one.
fn a_car() -> impl Strategy<Value = Chain> {
    let units = prop::collection::vec(0.0..1.0_f64, common::chains::NUMBERS);
    (units, prop::option::of(a_bend()))
        .prop_map(|(units, bend)| with(&plausible(&units), |chain| chain.fork.bend = bend))
}

fn summary(chain: &Chain) -> Summary {
    chain.summary().expect("a plausible chain")
}

fn levered(chain: &Chain, at_pedal: &[Relay], at_fork: &[Relay]) -> Chain {
    with(chain, |chain| {
        chain.relays = Relays {
            at_pedal: at_pedal.to_vec(),
            at_fork: at_fork.to_vec(),
        };
    })
}

fn ideal(relay: Relay) -> Relay {
    Relay {
        play: 0.0,
        stiffness: None,
        efficiency: 1.0,
        ..relay
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(96))]

    #[test]
    fn a_lever_and_its_reverse_cancel(chain in a_car(), relay in a_lever()) {
        let there = ideal(relay);
        let pair = [there, there.reversed()];
        let alone = summary(&chain);
        for levers in [levered(&chain, &pair, &[]), levered(&chain, &[], &pair)] {
            let both = summary(&levers);
            let same = |one: f64, other: f64| (one - other).abs() <= 1e-7 * one.abs().max(1.0);
            prop_assert!(same(alone.bearing_travel, both.bearing_travel), "{} {}", alone.bearing_travel, both.bearing_travel);
            prop_assert!(same(alone.pedal_effort_full, both.pedal_effort_full));
            prop_assert!(same(alone.pedal_work, both.pedal_work), "{} {}", alone.pedal_work, both.pedal_work);
            prop_assert!(same(alone.lost_flex, both.lost_flex));
            prop_assert!((both.relay_ratio.expect("levers") - 1.0).abs() < 1e-9);
        }
    }

    #[test]
    fn no_lever_makes_energy(chain in a_car(), relay in a_relay(), at_fork in any::<bool>()) {
        let chain = match at_fork {
            true => levered(&chain, &[], &[relay]),
            false => levered(&chain, &[relay], &[]),
        };
        let walk = chain.walk().expect("a plausible chain");
        let full = walk.full_pedal().expect("a plausible chain");
        // Work that the fingers took in, by fine trapezes of the load.
        let steps = 4000;
        let fingers = full.state.finger_travel;
        let load = |i: i32| chain.cover.load_at(fingers * f64::from(i) / f64::from(steps));
        let work: f64 = (0..steps)
            .map(|i| 0.5 * (load(i) + load(i + 1)) * fingers / f64::from(steps))
            .sum();
        // An assist is a spring, and gives back what was put in.
        let pad = full.state.pad_travel;
        let assist = chain.pedal.assist.as_ref().map_or(0.0, |curve| {
            let step = pad / f64::from(steps);
            (0..steps).map(|i| curve.value((f64::from(i) + 0.5) * step) * step).sum()
        });
        let put_in = walk.work(&full).expect("finite") + assist;
        prop_assert!(put_in >= work * (1.0 - 1e-4), "{put_in} {work}");
    }

    #[test]
    fn more_play_never_frees_earlier(chain in a_car(), relay in a_relay(), more in 0.0..2.0, at_fork in any::<bool>()) {
        let of = |relay: Relay| match at_fork {
            true => summary(&levered(&chain, &[], &[relay])),
            false => summary(&levered(&chain, &[relay], &[])),
        };
        let tight = of(relay);
        let slack = of(Relay { play: relay.play + more, ..relay });
        prop_assert!(slack.finger_travel <= tight.finger_travel + 1e-9);
        if let (Some(tight), Some(slack)) = (tight.release_point, slack.release_point) {
            prop_assert!(slack >= tight - 1e-9);
        }
    }

    /// A cable without friction, stretch and play has no effect.
    #[test]
    fn a_perfect_cable_changes_nothing(chain in a_car(), at_fork in any::<bool>(), bends in 0.0..4.0_f64) {
        let cable = Cable { bends, friction: 0.0, stiffness: None, play: 0.0 }.as_relay();
        let with = match at_fork {
            true => summary(&levered(&chain, &[], &[cable])),
            false => summary(&levered(&chain, &[cable], &[])),
        };
        let alone = summary(&chain);
        let same = |one: f64, other: f64| (one - other).abs() <= 1e-7 * one.abs().max(1.0);
        prop_assert!(same(alone.bearing_travel, with.bearing_travel));
        prop_assert!(same(alone.pedal_effort, with.pedal_effort), "{} {}", alone.pedal_effort, with.pedal_effort);
        prop_assert_eq!(with.relay_ratio, None);
    }

    #[test]
    fn without_wear_the_worn_car_is_the_new_one(chain in a_car(), relay in a_relay()) {
        let chain = levered(&chain, &[relay], &[relay]);
        let worn = chain.worn(0.0, None).expect("nothing to make room for");
        prop_assert_eq!(summary(&chain), summary(&worn));
    }

    #[test]
    fn the_stroke_that_frees_is_where_the_slave_stands_then(chain in a_car(), relay in a_relay()) {
        let chain = levered(&chain, &[], &[relay]);
        let stroke = chain.freeing_stroke().expect("within reach");
        let margin = chain.release_margin_at(stroke).expect("within reach");
        prop_assert!(margin.abs() < 1e-6, "{margin}");
    }
}
