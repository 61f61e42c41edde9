//! Laws of levers and hydraulics, each with its conditions.

mod common;

use bitepoint::mechanics::{Chain, Leverage, SlaveBore, State, Stroke};
use common::chains::{
    ROUNDING, bearing_work, chain, hydraulics, lossless_hydraulics, summary, with, without_losses,
};
use proptest::prelude::*;

/// A chain with a constant pedal ratio and no assist, so that the force at the pad depends only on that at the rod.
fn even(chain: &Chain) -> Chain {
    with(chain, |chain| {
        chain.pedal.leverage = Leverage::Ratio(6.0);
        chain.pedal.assist = None;
    })
}

fn press(chain: &Chain, bearing: f64, load: f64) -> State {
    let walk = chain.walk().expect("a plausible chain");
    walk.at(bearing, load, Stroke::Press).expect("within reach")
}

fn pressure(state: &State) -> f64 {
    state.cylinders.expect("hydraulic").pressure
}

fn with_slave(chain: &Chain, more: f64) -> Chain {
    with(chain, |chain| match &mut hydraulics(chain).slave.bore {
        SlaveBore::Round(bore) => *bore *= more,
        SlaveBore::Annulus { outer, inner } => {
            *outer *= more;
            *inner *= more;
        }
    })
}

fn with_master(chain: &Chain, more: f64) -> Chain {
    with(chain, |chain| hydraulics(chain).master.bore *= more)
}

proptest! {
    /// With the bearing in the same place under the same load, the pressure is the slave's force over its area,
    /// independent of the master.
    #[test]
    fn more_slave_bore_never_more_pressure_at_the_same_bearing_load(
        chain in chain(), more in 1.01..1.5_f64, bearing in 0.0..8.0_f64, load in 300.0..2500.0_f64
    ) {
        let chain = even(&chain);
        let before = press(&chain, bearing, load);
        let after = press(&with_slave(&chain, more), bearing, load);
        prop_assert!((pressure(&after) * more * more - pressure(&before)).abs() < 1e-9);
        prop_assert_eq!(after.fork_force, before.fork_force);
        let master = press(&with_master(&chain, more), bearing, load);
        prop_assert_eq!(pressure(&master), pressure(&before));
    }

    /// In one place under one load the foot pushes harder on a larger master, and less hard with a larger slave. If
    /// nothing deflects, it is the opposite for travel.
    #[test]
    fn what_a_bore_saves_in_travel_the_foot_pays_in_force(
        chain in chain(), more in 1.01..1.4_f64, bearing in 0.1..8.0_f64, load in 300.0..2500.0_f64
    ) {
        let chain = even(&lossless_hydraulics(&chain));
        let before = press(&chain, bearing, load);
        let master = press(&with_master(&chain, more), bearing, load);
        let slave = press(&with_slave(&chain, more), bearing, load);
        prop_assert!(master.effort > before.effort);
        prop_assert!(slave.effort < before.effort);
        prop_assert!(master.pad_travel < before.pad_travel);
        prop_assert!(slave.pad_travel > before.pad_travel);
    }

    /// Under the same foot a larger master makes less pressure and less force at the bearing. A larger slave makes
    /// the same pressure and more force at the bearing. (A larger bore never means more pressure: only the slave's
    /// force rises with its bore.)
    #[test]
    fn under_the_same_foot_a_larger_master_makes_less_pressure(
        chain in chain(), more in 1.01..1.4_f64, bearing in 0.0..8.0_f64, load in 600.0..2500.0_f64
    ) {
        let chain = even(&chain);
        let before = press(&chain, bearing, load);
        // With a constant ratio the effort rises evenly with the load.
        let under_the_same_foot = |other: &Chain| {
            let (one, two) = (press(other, bearing, load), press(other, bearing, 2.0 * load));
            let per_newton = (two.effort - one.effort) / load;
            press(other, bearing, load + (before.effort - one.effort) / per_newton)
        };
        let master = under_the_same_foot(&with_master(&chain, more));
        prop_assert!((master.effort - before.effort).abs() < 1e-6);
        prop_assert!((pressure(&master) * more * more - pressure(&before)).abs() < 1e-6);
        prop_assert!(master.release_load < load);
        let slave = under_the_same_foot(&with_slave(&chain, more));
        prop_assert!((slave.effort - before.effort).abs() < 1e-6);
        prop_assert!((pressure(&slave) - pressure(&before)).abs() < 1e-6);
        prop_assert!(slave.release_load > load);
    }

    /// If nothing deflects, doubling both areas doubles the volume moved. Travels and forces are unchanged, and the
    /// pressure halves.
    #[test]
    fn twice_both_areas_is_the_same_stroke_at_half_the_pressure(chain in chain()) {
        let chain = lossless_hydraulics(&chain);
        let both = with_master(&with_slave(&chain, 2_f64.sqrt()), 2_f64.sqrt());
        let (before, after) = (summary(&chain), summary(&both));
        let same = |a: f64, b: f64| (a - b).abs() <= 1e-8 * a.abs().max(1.0);
        prop_assert!(same(before.slave_travel.unwrap(), after.slave_travel.unwrap()));
        prop_assert!(same(before.finger_travel, after.finger_travel));
        prop_assert!(same(before.pedal_effort, after.pedal_effort));
        prop_assert!(same(before.pedal_work, after.pedal_work));
        let pressures = [&before, &after].map(|summary| summary.line_pressure.unwrap());
        prop_assert!(same(pressures[0], 2.0 * pressures[1]));
    }

    /// Air only takes stroke from the slave.
    #[test]
    fn air_only_ever_shortens_the_stroke_at_the_slave(chain in chain(), more in 0.0..4000.0_f64) {
        let with_air = |chain: &Chain| with(chain, |chain| hydraulics(chain).fluid.air += more);
        let airy = with_air(&chain);
        let (before, after) = (summary(&chain), summary(&airy));
        prop_assert!(after.slave_travel.unwrap() <= before.slave_travel.unwrap() + ROUNDING);
        prop_assert!(after.slave_travel_ideal.unwrap() >= after.slave_travel.unwrap() - ROUNDING);
        prop_assert!(before.lost_air.unwrap() >= 0.0 && after.lost_air.unwrap() >= 0.0);
        // Held at the same place under the same load, all of it is the master's to make up for.
        let even = even(&chain);
        let [without, with] = [&even, &with_air(&even)].map(|chain| press(chain, 5.0, 1000.0));
        let travel = |state: &State| state.cylinders.unwrap().master_active_travel;
        prop_assert!(travel(&with) >= travel(&without));
    }

    /// The foot's work equals the bearing's only without friction. Any friction costs work.
    #[test]
    fn any_friction_costs_the_foot_work(
        chain in chain(), efficiency in 0.5..0.99_f64, where_it_rubs in 0..4_usize
    ) {
        let smooth = without_losses(&chain);
        let rough = with(&smooth, |chain| match where_it_rubs {
            0 => chain.pedal.efficiency = efficiency,
            1 => chain.fork.efficiency = efficiency,
            2 => hydraulics(chain).master.efficiency = efficiency,
            _ => hydraulics(chain).slave.efficiency = efficiency,
        });
        let summary = summary(&rough);
        let out = bearing_work(&rough, summary.finger_travel);
        prop_assert!((summary.pedal_work * efficiency - out).abs() <= 1e-8 * out.max(1.0));
    }

    /// A longer lever is less force over more travel, and without friction the same work.
    #[test]
    fn a_longer_lever_is_less_force_over_more_travel(
        chain in chain(), more in 1.01..1.5_f64, bearing in 0.1..8.0_f64, load in 300.0..2500.0_f64
    ) {
        let chain = even(&chain);
        let longer = with(&chain, |chain| chain.pedal.leverage = Leverage::Ratio(6.0 * more));
        let (before, after) = (press(&chain, bearing, load), press(&longer, bearing, load));
        prop_assert!(after.effort < before.effort);
        prop_assert!(after.pad_travel > before.pad_travel);
        prop_assert_eq!(after.rod_force, before.rod_force);
        prop_assert_eq!(pressure(&after), pressure(&before));
    }

    /// Colder and so thicker fluid never lets the slave back sooner. The time is proportional to the viscosity.
    #[test]
    fn thicker_fluid_lets_the_slave_back_later(chain in chain(), more in 1.0..100.0_f64) {
        let walk = chain.walk().expect("a plausible chain");
        let full = walk.full_pedal().expect("a plausible chain");
        let time = |viscosity: f64| {
            let back = walk.cold_return(&full, viscosity, 1.05e-9, 0.9)?;
            Some(back.time)
        };
        let (thin, thick) = (time(20.0), time(20.0 * more));
        prop_assert_eq!(thin.is_some(), thick.is_some());
        if let (Some(thin), Some(thick)) = (thin, thick) {
            prop_assert!((thick - more * thin).abs() <= 1e-9 * thick);
        }
    }
}
