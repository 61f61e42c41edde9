//! Laws of the smaller stages: orifices and dead ends in the line, a master beside the pedal's rod, an over-center spring, an
//! intensifier.

mod common;

use bitepoint::mechanics::{
    Assist, AssistSpring, Chain, Flow, Intensifier, Leverage, Pedal, Side, Wall,
};
use common::cases;
use common::chains::{ROUNDING, bearing_work, chain, hydraulics, summary, with};
use proptest::prelude::*;

const DENSITY: f64 = 1.05e-9;

/// Seconds until nine tenths of the fingers' travel have come back: through lines and orifices, and through orifices
/// alone.
fn back(chain: &Chain, viscosity: f64) -> Option<(f64, Option<f64>)> {
    let walk = chain.walk()?;
    let full = walk.full_pedal()?;
    let cold = walk.cold_return(&full, viscosity, DENSITY, 0.9)?;
    Some((cold.time, walk.orifice_return(&full, DENSITY, 0.9)))
}

fn with_orifice(chain: &Chain, bore: f64) -> Chain {
    with(chain, |chain| {
        hydraulics(chain).lines[0].flow = Flow::Orifice(bore);
    })
}

fn a_spring() -> impl Strategy<Value = AssistSpring> {
    (
        2.0..40.0_f64,
        0.5..1.0_f64,
        40.0..120.0_f64,
        15.0..38.0_f64,
        -0.2..0.4_f64,
    )
        .prop_map(|(rate, share, anchor, hook, angle)| AssistSpring {
            rate,
            free_length: share * (anchor + hook),
            anchor,
            hook,
            angle,
        })
}

/// A crank with its rod.
fn crank(angle: f64, length: f64, rod_offset: f64) -> Pedal {
    Pedal {
        drag: 0.0,
        travel: 150.0,
        stop: None,
        free_play: None,
        leverage: Leverage::Crank {
            pad_arm: 300.0,
            rod_arm: 55.0,
            arm_angle: Some(angle),
            rod_length: Some(length),
        },
        rod_offset,
        efficiency: 0.95,
        return_force: 0.0,
        assist: None,
    }
}

proptest! {
    #![proptest_config(cases(200))]

    /// Line and orifice together take longer than either alone, and at most their sum.
    #[test]
    fn an_orifice_adds_to_the_line(chain in chain(), bore in 0.4..3.0_f64, viscosity in 5.0..900.0_f64) {
        let Some((line, none)) = back(&chain, viscosity) else { return Ok(()) };
        prop_assert_eq!(none, None);
        let (both, alone) = back(&with_orifice(&chain, bore), viscosity).expect("the same walk");
        let alone = alone.expect("an orifice");
        let rounding = 1e-9 * both;
        prop_assert!(both >= line.max(alone) - rounding, "{both} {line} {alone}");
        prop_assert!(both <= line + alone + rounding, "{both} {line} {alone}");
    }

    #[test]
    fn a_wider_orifice_is_never_slower(chain in chain(), bore in 0.4..3.0_f64, wider in 1.0..2.0_f64) {
        let Some((narrow, alone)) = back(&with_orifice(&chain, bore), 50.0) else { return Ok(()) };
        let (wide, wide_alone) = back(&with_orifice(&chain, bore * wider), 50.0).expect("the same walk");
        prop_assert!(wide <= narrow * (1.0 + 1e-12));
        // Alone, the time goes with the area.
        let share = alone.expect("an orifice") / wide_alone.expect("an orifice");
        prop_assert!((share / (wider * wider) - 1.0).abs() < 1e-9);
    }

    /// A rigid dead end does not change the return. One that swells takes travel like any other line.
    #[test]
    fn nothing_flows_through_a_dead_end(chain in chain(), expansion in 0.0..0.4_f64) {
        let (without, rigid, swelling, through) = {
            let of = |wall: Wall, flow: Flow| with(&chain, |chain| {
                let hydraulics = hydraulics(chain);
                hydraulics.fluid.bulk_modulus = None;
                let first = hydraulics.lines[0].clone();
                hydraulics.lines.push(bitepoint::mechanics::Line { wall, flow, ..first });
            });
            let without = with(&chain, |chain| hydraulics(chain).fluid.bulk_modulus = None);
            let hose = Wall::Hose { expansion };
            (without, of(Wall::Rigid, Flow::DeadEnd), of(hose.clone(), Flow::DeadEnd), of(hose, Flow::Through))
        };
        prop_assert_eq!(back(&without, 200.0), back(&rigid, 200.0));
        prop_assert_eq!(swelling.summary(), through.summary());
        if let (Some(dead), Some(open)) = (back(&swelling, 200.0), back(&through, 200.0)) {
            prop_assert!(dead.0 <= open.0);
        }
    }

    /// Travel and back agree, and the local ratio is the slope of the travel, wherever the bore is.
    #[test]
    fn a_rod_beside_the_bore_is_a_slider_crank(
        angle in -0.7..0.2_f64, length in 80.0..250.0_f64, offset in -12.0..12.0_f64, pad in 1.0..140.0_f64,
    ) {
        let geometry = crank(angle, length, offset).geometry().expect("sound");
        let travel = geometry.rod_travel(pad).expect("within reach");
        let there = geometry.position(travel).expect("within reach");
        prop_assert!((there.pad_travel - pad).abs() < 1e-7);
        let step = 1e-3;
        let slope = 2.0 * step / (geometry.rod_travel(pad + step).expect("reach") - geometry.rod_travel(pad - step).expect("reach"));
        prop_assert!((there.local_ratio / slope - 1.0).abs() < 1e-6);
        prop_assert!(geometry.rod_travel(0.0).expect("rest").abs() < 1e-12);
    }

    /// No other offset makes the rod lean less than the best one.
    #[test]
    fn no_offset_is_better_than_the_best_offset(angle in -0.7..0.2_f64, length in 80.0..250.0_f64, offset in -12.0..12.0_f64, pad in 20.0..150.0_f64) {
        let lean = |offset: f64| crank(angle, length, offset).geometry()?.worst_rod_angle(pad);
        let best = crank(angle, length, offset).geometry().and_then(|g| g.best_rod_offset(pad)).expect("a rod");
        prop_assert!(lean(best).expect("reach") <= lean(offset).expect("reach") + 1e-12);
    }

    /// The work that the spring gives the foot is the energy that it loses.
    #[test]
    fn a_spring_gives_what_it_loses(spring in a_spring(), pad_arm in 200.0..340.0_f64, travel in 60.0..170.0_f64) {
        let stored = |pad: f64| {
            let angle: f64 = spring.angle - pad / pad_arm;
            let (a, r) = (spring.anchor, spring.hook);
            let length = (a * a + r * r + 2.0 * a * r * angle.cos()).sqrt();
            0.5 * spring.rate * (length - spring.free_length).max(0.0).powi(2)
        };
        let assist = Assist::Spring(spring.on_pedal(pad_arm).expect("sound"));
        let given = assist.integral(0.0, travel);
        let lost = stored(0.0) - stored(travel);
        prop_assert!((given - lost).abs() < 1e-9 * (stored(0.0) + 1.0), "{given} {lost}");
    }

    /// An intensifier of two equal bores without friction is a longer line, whichever side its lines are on.
    #[test]
    fn an_intensifier_of_equal_bores_changes_nothing(chain in chain(), bore in 10.0..40.0_f64, ahead in any::<[bool; 2]>()) {
        let plain = with(&chain, |chain| hydraulics(chain).fluid.bulk_modulus = None);
        let stepped = with(&plain, |chain| {
            let hydraulics = hydraulics(chain);
            for (line, ahead) in hydraulics.lines.iter_mut().zip(ahead) {
                line.side = if ahead { Side::Master } else { Side::Slave };
            }
            hydraulics.intensifier = Some(intensifier(bore, bore, 1.0));
        });
        let (plain, stepped) = (summary(&plain), summary(&stepped));
        let same = |a: f64, b: f64| (a - b).abs() <= 1e-9 * a.abs().max(1.0);
        prop_assert!(same(plain.finger_travel, stepped.finger_travel));
        prop_assert!(same(plain.pedal_effort, stepped.pedal_effort));
        prop_assert!(same(plain.pedal_work, stepped.pedal_work));
        prop_assert!(same(plain.lost_hose.unwrap(), stepped.lost_hose.unwrap()));
        prop_assert!(same(stepped.line_pressure.unwrap(), stepped.master_pressure.unwrap()));
    }

    /// An intensifier produces no energy: foot and assist put in at least what the cover takes.
    #[test]
    fn an_intensifier_makes_no_energy(chain in chain(), bore in 15.0..40.0_f64, share in 0.6..1.3_f64, efficiency in 0.8..1.0_f64) {
        let stepped = with(&chain, |chain| {
            hydraulics(chain).intensifier = Some(intensifier(bore, share * bore, efficiency));
        });
        let found = summary(&stepped);
        let assist = stepped.pedal.assist.as_ref();
        let helped = assist.map_or(0.0, |assist| assist.integral(0.0, found.pedal_travel_used));
        let taken = bearing_work(&stepped, found.finger_travel);
        prop_assert!(found.pedal_work + helped >= taken * (1.0 - 1e-9) - ROUNDING);
    }
}

fn intensifier(in_bore: f64, out_bore: f64, efficiency: f64) -> Intensifier {
    Intensifier {
        in_bore,
        out_bore,
        stroke: 1e4,
        port_travel: 0.0,
        efficiency,
    }
}
