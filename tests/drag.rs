//! Friction independent of the load, springs that pull back, and bearings that ride: the design's worked numbers, and
//! laws over random chains.

mod common;

use bitepoint::mechanics::{Chain, Leverage, Stroke, Walk};
use bitepoint::result;
use bitepoint::solve::{Outcome, work_out};
use common::chains::{ROUNDING, bearing_work, chain, hydraulics, summary, with};
use common::last_system;
use proptest::prelude::*;

/// The car of the worked numbers, with other blocks.
fn outcome(blocks: &str) -> Outcome {
    let car = std::fs::read_to_string("tests/cases/car.clutch").expect("the car");
    work_out(&last_system(&format!(
        "{car}\nsystem changed from car {{\n{blocks}\n}}\n"
    )))
    .expect("worked out")
}

/// Its chain with a constant pedal ratio of 6, as in the design.
fn of_six(blocks: &str) -> Chain {
    with(&outcome(blocks).chain, |chain| {
        chain.pedal.leverage = Leverage::Ratio(6.0);
    })
}

const DRAGS: &str = "master { drag = 15 N }  slave { drag = 20 N }  pedal { drag = 2 N }";

fn effort(walk: &Walk<'_>, bearing: f64, load: f64, stroke: Stroke) -> f64 {
    walk.at(bearing, load, stroke).expect("within reach").effort
}

/// §9: drags of 15, 20 and 2 N make the press 7.488 N harder, and leave 2.498 of 9.083 N on the return at first contact.
#[test]
fn drags_make_the_press_harder_and_the_return_weaker() {
    let (free, dragging) = (of_six(""), of_six(DRAGS));
    let (free, dragging) = (free.walk().unwrap(), dragging.walk().unwrap());
    for (bearing, load) in [(2.0, 900.0), (9.0, 1350.0)] {
        let more = effort(&dragging, bearing, load, Stroke::Press)
            - effort(&free, bearing, load, Stroke::Press);
        assert!((more - 7.488).abs() < 5e-4, "{more}");
    }
    let at_contact = |walk: &Walk<'_>| effort(walk, 0.0, 150.0, Stroke::Return);
    assert!((at_contact(&free) - 9.083).abs() < 5e-4);
    assert!((at_contact(&dragging) - 2.498).abs() < 5e-4);
}

/// §9: with 10 N at the pedal and 30 N in the master, what is left once the bearing has left falls from 14.75 to 10.375 N.
#[test]
fn drags_leave_less_once_the_bearing_has_left() {
    for (drags, left) in [([0, 0, 0], 14.75), ([2, 15, 20], 10.375)] {
        let [pedal, master, slave] = drags;
        let chain = of_six(&format!(
            "pedal {{ return_force = 10 N  drag = {pedal} N }}
             master {{ return_force = 30 N  drag = {master} N }}
             slave {{ drag = {slave} N }}"
        ));
        let slack = effort(&chain.walk().unwrap(), 0.0, 0.0, Stroke::Return);
        assert!((slack - left).abs() < 1e-9, "{slack}");
    }
}

/// §9: a concentric slave whose preload of 200 N rides on the fingers takes 680 N of 6500 off the clamp load, and a tenth
/// of the torque.
#[test]
fn a_riding_bearing_takes_its_part_of_the_clamp_load() {
    let concentric = |preload: &str| {
        work_out(&last_system(&format!(
            "system concentric {{
                pedal {{ ratio = 6  travel = 150 mm }}
                master {{ bore = 13/16 in  stroke = 36 mm }}
                slave {{ outer = 44 mm  inner = 32 mm  stroke = 20 mm  {preload} }}
                cover {{
                    release_travel = 7 mm to 11 mm  release_load = 1500 N  clamp_load = 6500 N
                    finger_ratio = 3.4
                }}
                disc {{ outer = 228 mm  inner = 150 mm  friction = 0.3 }}
            }}"
        )))
        .expect("worked out")
    };
    let (free, riding) = (concentric(""), concentric("preload = 200 N"));
    let torque = |outcome: &Outcome| outcome.get(result!(torque_capacity)).unwrap() / 1e3;
    assert_eq!(free.get(result!(riding_load)), None);
    assert!((torque(&free) - 368.55).abs() < 0.005);
    assert_eq!(riding.get(result!(riding_load)), Some(200.0));
    assert_eq!(riding.get(result!(clamp_load)), Some(5820.0));
    assert!((torque(&riding) - 330.0).abs() < 0.05);
}

/// A given zero equals a zero that is left out, to the last digit.
#[test]
fn zero_drags_change_nothing() {
    let said = outcome(
        "pedal { drag = 0 N }  master { drag = 0 N }  slave { drag = 0 N }  fork { drag = 0 N  return_force = 0 N }",
    );
    assert_eq!(said.results, outcome("").results);
}

fn dragging() -> impl Strategy<Value = (Chain, Chain)> {
    (
        chain(),
        0.0..10.0_f64,
        0.0..30.0_f64,
        0.0..50.0_f64,
        prop::option::of(0.0..40.0_f64),
        prop::option::of(0.0..80.0_f64),
    )
        .prop_map(|(free, pedal, master, slave, fork, spring)| {
            let dragging = with(&free, |chain| {
                chain.pedal.drag = pedal;
                chain.fork.drag = fork.unwrap_or(0.0);
                chain.fork.return_force = spring.unwrap_or(0.0);
                let hydraulics = hydraulics(chain);
                hydraulics.master.drag = master;
                hydraulics.slave.drag = slave;
            });
            (free, dragging)
        })
}

proptest! {
    /// Drag makes the press harder, and the return weaker unless a spring pulls back. The fingers go no further.
    #[test]
    fn drag_never_helps((free, dragging) in dragging(), finger in 0.0..1.0_f64) {
        prop_assert!(summary(&dragging).finger_travel <= summary(&free).finger_travel + ROUNDING);
        let walks = (free.walk().unwrap(), dragging.walk().unwrap());
        // By force: a pedal's ratio changes with the travel that the drags take.
        let bearing = free.bearing.free_play + 8.0 * finger;
        let rod = |walk: &Walk<'_>, stroke| walk.on_cover(bearing, stroke).map(|state| state.rod_force);
        if let (Some(light), Some(heavy)) = (rod(&walks.0, Stroke::Press), rod(&walks.1, Stroke::Press)) {
            prop_assert!(heavy >= light - ROUNDING, "{heavy} {light}");
        }
        if dragging.fork.return_force == 0.0
            && let (Some(light), Some(heavy)) = (rod(&walks.0, Stroke::Return), rod(&walks.1, Stroke::Return))
        {
            prop_assert!(heavy <= light + ROUNDING, "{heavy} {light}");
        }
    }

    /// No stage produces energy. The foot puts in at least what the cover takes up, and gets back less at every
    /// place.
    #[test]
    fn drag_makes_no_energy((_, dragging) in dragging(), finger in 0.0..1.0_f64) {
        let found = summary(&dragging);
        let assist = dragging.pedal.assist.as_ref();
        let helped = assist.map_or(0.0, |curve| curve.integral(0.0, found.pedal_travel_used));
        let taken = bearing_work(&dragging, found.finger_travel);
        prop_assert!(found.pedal_work + helped >= taken * (1.0 - 1e-9) - ROUNDING);
        let walk = dragging.walk().unwrap();
        let at = |stroke| walk.on_cover(dragging.bearing.free_play + 8.0 * finger, stroke);
        if let (Some(press), Some(back)) = (at(Stroke::Press), at(Stroke::Return)) {
            prop_assert!(press.rod_force >= back.rod_force - ROUNDING);
        }
    }

    /// The work in closed form equals the area under the effort's curve.
    #[test]
    fn the_work_is_the_area_under_the_curve((_, dragging) in dragging()) {
        let rows = dragging.curve(4001);
        let area: f64 = rows
            .windows(2)
            .map(|pair| 0.5 * (pair[0].effort + pair[1].effort) * (pair[1].pad_travel - pair[0].pad_travel))
            .sum();
        let work = summary(&dragging).pedal_work;
        // A jump of the effort lies anywhere within a step.
        prop_assert!((area - work).abs() <= 2e-3 * work.abs() + 2.0, "{area} {work}");
    }

    /// More drag of any part never improves a result.
    #[test]
    fn more_drag_is_never_better((_, dragging) in dragging(), more in 1.0..2.0_f64) {
        // An assist is stronger or weaker where the drag lets the pad come to.
        let dragging = with(&dragging, |chain| chain.pedal.assist = None);
        let worse = with(&dragging, |chain| {
            chain.pedal.drag *= more;
            chain.fork.drag *= more;
            let hydraulics = hydraulics(chain);
            hydraulics.master.drag *= more;
            hydraulics.slave.drag *= more;
        });
        let (light, heavy) = (dragging.walk().unwrap(), worse.walk().unwrap());
        let slack = |walk: &Walk<'_>| walk.least_slack_effort(&walk.full_pedal()?);
        if let (Some(light), Some(heavy)) = (slack(&light), slack(&heavy)) {
            prop_assert!(heavy <= light + 1e-6, "{heavy} {light}");
        }
        prop_assert!(summary(&worse).finger_travel <= summary(&dragging).finger_travel + ROUNDING);
    }
}
