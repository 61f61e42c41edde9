//! The results with the disc worn out, by hand.

mod common;

use bitepoint::analysis::{Report, analyse};
use bitepoint::model::Source;
use bitepoint::solve::Outcome;
use bitepoint::{result, schema::ResultId};
use common::Library;
use std::sync::Arc;

/// Pedal ratio 6, equal bores and a fork of 2: 150 mm of pad are 12.5 mm at the bearing. Nothing flexes.
const CAR: &str = "
    pedal { ratio = 6  travel = 150 mm  efficiency = 1 }
    master { bore = 20 mm  stroke = 36 mm  efficiency = 1 }
    slave { bore = 20 mm  stroke = 40 mm  rest_extension = 3 mm  efficiency = 1 }
    fork { ratio = 2  efficiency = 1 }
    disc { outer = 228 mm  inner = 150 mm  friction = 0.3  wear = 1.6 mm }
";

fn outcome(cover: &str) -> Outcome {
    outcome_of(CAR, cover)
}

fn outcome_of(car: &str, cover: &str) -> Outcome {
    let text =
        format!("system car {{{car}    cover {{ release_travel = 7 mm to 14 mm  {cover} }}\n}}\n");
    let source = Source::new("car.clutch".into(), text);
    let report: Report = analyse(Arc::new(source), &Library::default());
    Outcome::clone(report.systems[0].outcome.as_ref().expect("worked out"))
}

fn worn(outcome: &Outcome, id: ResultId) -> Option<f64> {
    outcome.worn()?.get(id)
}

fn near(value: Option<f64>, expected: f64) {
    let value = value.expect("there");
    assert!((value - expected).abs() < 1e-9, "{value}, not {expected}");
}

/// The fingers come back by 1.6 × 3.4 = 5.44 mm, and the slave has 3 / 2 = 1.5 mm of room at the bearing.
#[test]
fn without_room_there_is_no_worn_clutch() {
    let car = outcome("finger_ratio = 3.4  release_load = 1200 N  clamp_load = 6500 N");
    near(car.get(result!(wear_reserve)), 1.5 - 5.44);
    assert!(car.worn().is_none());
}

/// A cover that adjusts itself keeps fingers, load and clamp load, and so all of the room.
#[test]
fn a_cover_that_adjusts_itself_stays_as_new() {
    let car =
        outcome("finger_ratio = 3.4  release_load = 1200 N  clamp_load = 6500 N  adjusts = self");
    near(car.get(result!(wear_reserve)), 1.5);
    for id in ResultId::all().filter(|id| *id != result!(air_volume)) {
        assert_eq!(worn(&car, id), car.get(id), "{}", id.spec().name);
    }
}

/// Over a finger ratio of 0.5 the fingers come back by 0.8 mm. At full pedal they have gone 12.5 mm from either
/// rest: with equal areas the foot sees the load over 6 × 2.
#[test]
fn the_worn_covers_own_data_are_taken() {
    let car = outcome(
        "finger_ratio = 0.5  clamp_load = 6500 N  clamp_load_worn = 5000 N
         release_load = curve { 0 mm: 0 N, 14 mm: 1200 N }
         release_load_worn = curve { 0 mm: 0 N, 14 mm: 1680 N }",
    );
    near(car.get(result!(pedal_effort)), 12.5 / 14.0 * 1200.0 / 12.0);
    near(
        worn(&car, result!(pedal_effort)),
        12.5 / 14.0 * 1680.0 / 12.0,
    );
    near(worn(&car, result!(clamp_load)), 5000.0);
    // Uniform wear: friction × load × mean radius × two faces.
    let capacity = 0.3 * 5000.0 * (228.0 + 150.0) / 4.0 * 2.0;
    near(worn(&car, result!(torque_capacity)), capacity);
}

/// If only the new cover's clamp load is known, the torque with a worn disc is not.
#[test]
fn without_the_worn_clamp_load_its_torque_is_absent() {
    let car = outcome("finger_ratio = 0.5  release_load = 1200 N  clamp_load = 6500 N");
    assert!(car.worn().is_some());
    assert_eq!(worn(&car, result!(torque_capacity)), None);
}

/// With two discs, both wear: 2 × 0.8 × 3.4 = 5.44 mm at the fingers.
#[test]
fn every_disc_wears() {
    let twin = CAR.replace("wear = 1.6 mm", "faces = 4  wear = 0.8 mm");
    let twin = outcome_of(&twin, "finger_ratio = 3.4  release_load = 1200 N");
    near(twin.get(result!(wear_reserve)), 1.5 - 5.44);
}
