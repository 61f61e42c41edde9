//! Laws over random chains for fluid behind a shut port, a soft bracket, and the bite.

mod common;

use bitepoint::mechanics::{Cushion, Plate};
use common::chains::{ROUNDING, chain, hydraulics, summary, with};
use proptest::prelude::*;

fn plate() -> impl Strategy<Value = Plate> {
    (
        0.3..1.2_f64,
        0.7..3.0_f64,
        2.8..4.0_f64,
        prop::option::of(1500.0..20_000.0_f64),
    )
        .prop_map(|(cushion, power, finger_ratio, finger_stiffness)| Plate {
            cushion,
            law: Cushion::Power(power),
            clamp: 6500.0,
            capacity: 368e3,
            finger_ratio,
            finger_stiffness,
        })
}

proptest! {
    /// The warmer the fluid, the further the slave is driven out. It never takes up more volume than has grown.
    #[test]
    fn warmer_fluid_never_leaves_the_bearing_nearer(
        chain in chain(), share in 0.005..0.06_f64, more in 1.0..2.0_f64
    ) {
        let shut = |share: f64| chain.shut_port(share).expect("a plausible chain");
        let (warm, hot) = (shut(share), shut(more * share));
        prop_assert!(hot.bearing_travel >= warm.bearing_travel - ROUNDING);
        let hydraulics = chain.actuation.hydraulics().expect("hydraulic");
        prop_assert!((warm.volume - share * hydraulics.volume()).abs() < 1e-6);
        let taken = hydraulics.slave.bore.area() * chain.fork.ratio * warm.bearing_travel;
        prop_assert!(taken <= warm.volume + 1e-6);
        prop_assert_eq!(chain.shut_port(0.0), None);
    }

    /// With rigid lines, fluid and fork, all of the grown volume is at the slave.
    #[test]
    fn without_anything_that_gives_all_of_it_moves_the_slave(chain in chain(), share in 0.005..0.06_f64) {
        let rigid = with(&common::chains::without_losses(&chain), |chain| chain.bearing.free_play = 50.0);
        let shut = rigid.shut_port(share);
        let hydraulics = rigid.actuation.hydraulics().expect("hydraulic");
        let Some(shut) = shut else {
            prop_assert!(hydraulics.volume() == 0.0);
            return Ok(());
        };
        let travel = shut.volume / hydraulics.slave.bore.area() / rigid.fork.ratio;
        if travel < 50.0 {
            prop_assert!((shut.bearing_travel - travel).abs() < 1e-9 * travel.max(1.0));
        }
    }

    /// On the way up, more torque is carried only with the pad higher. With fingers that bend, the clutch bites
    /// later.
    #[test]
    fn more_torque_is_carried_only_higher_up(
        chain in chain(), plate in plate(), torque in 5e3..180e3_f64, more in 1.0..2.0_f64
    ) {
        // Where air lets the pad retreat on the way back, the order of places is not that of pads.
        let chain = with(&chain, |chain| hydraulics(chain).fluid.air = 0.0);
        let walk = chain.walk().expect("a plausible chain");
        let full = walk.full_pedal().expect("a plausible chain");
        let at = |plate: &Plate, torque| walk.pad_travel_at_torque(&full, plate, torque);
        if let (Some(less), Some(greater)) = (at(&plate, torque), at(&plate, more * torque)) {
            prop_assert!(greater <= less + 1e-6, "{greater} {less}");
        }
        prop_assert_eq!(at(&plate, 400e3), None);
    }

    /// A softer bracket only takes travel.
    #[test]
    fn a_softer_bracket_never_lengthens_the_finger_travel(chain in chain(), stiffness in 100.0..3000.0_f64) {
        let on_bracket = with(&chain, |chain| hydraulics(chain).slave.mount_stiffness = Some(stiffness));
        prop_assert!(summary(&on_bracket).finger_travel <= summary(&chain).finger_travel + ROUNDING);
    }
}
