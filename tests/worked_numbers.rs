//! The worked numbers of the design of the mechanics, to their digits: each was derived by hand and by a solver of its
//! own before the stage was built.

mod common;

use bitepoint::mechanics::EndedBy;
use bitepoint::result;
use bitepoint::schema::ResultId;
use bitepoint::solve::{Outcome, work_out};
use common::last_system;

/// The car of the examples that the numbers are of, with other blocks.
fn outcome(blocks: &str) -> Outcome {
    let car = std::fs::read_to_string("tests/cases/car.clutch").expect("the car");
    work_out(&last_system(&format!(
        "{car}\nsystem changed from car {{\n{blocks}\n}}\n"
    )))
    .expect("worked out")
}

/// `digits` are those behind the point that the design gives.
#[track_caller]
fn is(outcome: &Outcome, id: ResultId, expected: f64, digits: i32) {
    let value = outcome.get(id).expect("there");
    let off = (value - expected).abs();
    assert!(
        off <= 0.5000001 * 10_f64.powi(-digits),
        "{}: {value}, not {expected}",
        id.spec().name
    );
}

#[test]
fn with_nothing_in_the_way_it_frees() {
    let car = outcome("");
    assert_eq!(car.ended_by, EndedBy::PedalTravel);
    is(&car, result!(release_margin), 2.1085, 4);
    is(&car, result!(release_point), 121.776, 3);
}

/// The slave stops at 10 mm: with 16 mm of stroke it rests 6 mm out.
#[test]
fn a_slave_at_the_end_of_its_stroke_ends_the_walk() {
    let car = outcome("slave { stroke = 16 mm }");
    assert_eq!(car.ended_by, EndedBy::SlaveStroke);
    is(&car, result!(pedal_travel_used), 103.184, 3);
    is(&car, result!(slave_travel), 10.0, 6);
    is(&car, result!(bearing_travel), 5.5928, 4);
    is(&car, result!(release_margin), -1.4072, 4);
    assert_eq!(car.get(result!(release_point)), None);
}

/// With no losses at all the firewall does not give either: (23.769 − 1) mm of master on 0.7347 of its area.
#[test]
fn the_ideal_slave_travel_knows_no_firewall() {
    for stiffness in ["150 N/mm", "100000 N/mm"] {
        let car = outcome(&format!("master {{ mount_stiffness = {stiffness} }}"));
        is(&car, result!(slave_travel_ideal), 16.73, 2);
    }
    // The worked number of what is left of it on a soft one, which stood for the ideal before.
    let soft = outcome("master { mount_stiffness = 150 N/mm }");
    let moved = soft.get(result!(master_travel)).expect("there") - 1.0;
    assert!((moved * 0.7347 - 13.09).abs() < 0.005, "{moved}");
}

/// A foot that presses on with 700 N against a slave at its stop: 3990 N in the rod and 13.30 MPa.
#[test]
fn a_foot_presses_on_against_a_hard_stop() {
    let car = outcome("slave { stroke = 16 mm }");
    let pressed = car.pressed_on(700.0).expect("at a hard stop");
    // The design takes the pedal's nominal ratio; here it is the one at that travel.
    let at_stop = car.chain.walk().expect("a walk");
    let ratio = at_stop.full_pedal().expect("full pedal").state.local_ratio;
    assert!(
        (pressed.rod_force * 6.0 / ratio - 3990.0).abs() < 1e-6,
        "{pressed:?}"
    );
    let pressure = pressed.pressure.expect("hydraulic") * 6.0 / ratio;
    assert!((pressure - 13.30).abs() < 0.005, "{pressed:?}");
    assert_eq!(outcome("").pressed_on(700.0), None);
}
