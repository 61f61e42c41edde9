//! Published examples that no whole spec says, worked again with the functions of the mechanics, and what
//! the trade's books call usual, held against what `explain` says is usual. A note "calculated" marks
//! arithmetic on published inputs.

use bitepoint::checks::Check;
use bitepoint::field;
use bitepoint::mechanics::{
    Cone, Disc, Grade, bore_area, fluid_compression, line_pressure_drop, reynolds_number,
    slider_crank_position, tube_bore_displacement,
};
use bitepoint::schema::{FieldId, Typical};
use std::f64::consts::{PI, TAU};

/// `value` rounds to `printed`, whose last digit stands at the place `digit`.
#[track_caller]
fn prints(value: f64, printed: f64, digit: f64) {
    assert!(
        (value - printed).abs() <= 0.5 * digit * (1.0 + 1e-9),
        "{value} does not print as {printed}"
    );
}

/// Power, W, of a torque, N·mm, at a speed, rpm.
fn power(torque: f64, rpm: f64) -> f64 {
    torque * 1e-3 * rpm / 60.0 * TAU
}

/// Axial force, N, of a facing by uniform wear with a pressure, MPa, at its inner edge.
fn force_by_wear(disc: &Disc, pressure: f64) -> f64 {
    PI * pressure * disc.inner * (disc.outer - disc.inner) / 2.0
}

/// Python Textbook Companion of Khurmi and Gupta, Theory of Machines, Ex. 10.23, p. 303: 61.685 kW at
/// 2500 rpm; Ex. 10.28, p. 308: 18.8 kW at 500 rpm; Ex. 10.29, p. 308: 25 kW at 1575 rpm need 0.062 N/mm² at
/// the inner edge.
#[test]
fn clutch_power_by_uniform_wear() {
    let disc = |outer, inner, faces| Disc {
        outer,
        inner,
        faces,
        friction: 0.3,
    };
    let single = disc(300.0, 200.0, 2.0);
    let torque = single.torque_capacity(force_by_wear(&single, 0.1));
    prints(power(torque.expect("sound"), 2500.0), 61_685.0, 1.0);
    let twin = disc(250.0, 150.0, 4.0);
    let torque = twin.torque_capacity(force_by_wear(&twin, 0.127));
    prints(power(torque.expect("sound"), 500.0), 18_800.0, 100.0);
    let third = disc(240.0, 120.0, 4.0);
    let per_pressure = third.torque_capacity(force_by_wear(&third, 1.0));
    let pressure = 25_000.0 / power(per_pressure.expect("sound"), 1575.0);
    prints(pressure, 0.062, 0.001);
}

/// Python Textbook Companion of U. C. Jindal, Machine Design, Ex. 22-5, p. 591, uniform pressure: 15 kW at
/// 1400 rpm over six faces of 80 and 50 mm radius need 1031.1 N.
#[test]
fn axial_force_by_uniform_pressure() {
    let disc = Disc {
        outer: 160.0,
        inner: 100.0,
        faces: 6.0,
        friction: 0.25,
    };
    let per_force = disc.torque_capacity_uniform_pressure(1.0).expect("sound");
    prints(15_000.0 / power(per_force, 1400.0), 1031.1, 0.1);
}

/// Khurmi and Gupta, Ex. 15.5, p. 528: a crank of 150 mm with a rod of 600 mm, 60 degrees past dead centre at
/// 450 rpm: 6.9 m/s (calculated without the book's approximation, 6.9054).
#[test]
fn slider_crank_speed() {
    let at = |degrees: f64| {
        slider_crank_position(150.0, 600.0, 0.0, degrees.to_radians()).expect("the rod spans")
    };
    let step = 1e-3_f64;
    let per_radian = (at(60.0 - step) - at(60.0 + step)) / (2.0 * step.to_radians());
    let speed = per_radian * 1e-3 * 450.0 / 60.0 * TAU;
    prints(speed, 6.9, 0.1);
    prints(speed, 6.9054, 1e-4);
}

/// Hoop stress at the bore, MPa, from how far the bore moves: `E·u/a − ν·p`, Hooke's law with the radial
/// stress `−p`.
///
/// Python Textbook Companions of Ugural and Fenster, Advanced Strength, Ex. 8.1 a, p. 239: 250 MPa at 70 MPa in
/// a tube of 0.15 and 0.2 m; of Boresi and Schmidt, Advanced Mechanics of Materials, Ex. 11.1, p. 397: 325 MPa at
/// 300 MPa in a tube of 10 and 50 mm. Ex. 11.2, p. 397, closed ends 0.30 mm (calculated, open ends: 0.304861).
#[test]
fn thick_tubes() {
    let (e, nu) = (200_000.0, 0.3);
    let hoop = |a: f64, b, p| e * tube_bore_displacement(a, b, e, nu, p) / a - nu * p;
    prints(hoop(150.0, 200.0, 70.0), 250.0, 1e-6);
    prints(hoop(10.0, 50.0, 300.0), 325.0, 1e-6);
    let (a, b, p, e, nu) = (100.0, 400.0, 150.0, 72_000.0, 0.33);
    let open = tube_bore_displacement(a, b, e, nu, p);
    prints(open, 0.304_861, 1e-6);
    let axial = p * a * a / (b * b - a * a);
    prints(open - nu * axial / e * a, 0.30, 0.01);
}

/// Python Textbook Companion of Irfan A. Khan, Fluid Mechanics, Ex. 1.2, p. 12: water of 2.2e9 Pa under 1e6 Pa
/// loses 0.045 % of its volume.
#[test]
fn water_compression() {
    prints(100.0 * fluid_compression(1.0, 2200.0, 1.0), 0.045, 0.001);
}

/// Python Textbook Companion of A. Esposito, Fluid Power with Applications, Ex. 4-1, p. 132: 100 cS at 10 ft/s
/// in 1 in, a Reynolds number of 774; Ex. 4-4: oil of 0.001 m²/s and 8800 N/m³ at 5 m/s through 50 m of 50 mm,
/// 28.7 bar.
#[test]
fn oil_in_a_line() {
    prints(reynolds_number(3048.0, 25.4, 100.0), 774.0, 1.0);
    let dynamic = 0.001 * 8800.0 / 9.81 * 1e-6;
    let drop = line_pressure_drop(5000.0 * bore_area(50.0), dynamic, 50.0, 50e3);
    prints(drop * 10.0, 28.7, 0.1);
}

/// Python Textbook Companion of K. Subramanya, 1000 Solved Problems in Fluid Mechanics, Ex. 7.6, p. 163:
/// 179.2 Pa/m; Ex. 7.8, p. 163: glycerine loses 23.3 m and 11.31 kW; Ex. 7.10, p. 164: 3.24 kW lost by a flow
/// with a Reynolds number of 765.
#[test]
fn laminar_losses() {
    let per_metre = line_pressure_drop(700.0 * bore_area(100.0), 0.08e-6, 100.0, 1e3) * 1e6;
    prints(per_metre, 179.2, 0.1);
    let flow = 5000.0 * bore_area(100.0);
    let drop = line_pressure_drop(flow, 1.5e-6, 100.0, 12e3);
    prints(drop * 1e6 / (1260.0 * 9.81), 23.3, 0.1);
    prints(drop * flow * 1e-6, 11.31, 0.01);
    // The power goes with the square of the flow.
    let per_flow = line_pressure_drop(1.0, 0.1e-6, 75.0, 1e6);
    let flow = (0.6 * 5.4e6 / per_flow).sqrt();
    let speed = flow / bore_area(75.0);
    let kinematic = 0.1 / (0.9 * 998.0) * 1e6;
    prints(reynolds_number(speed, 75.0, kinematic), 765.0, 1.0);
}

/// The open-source Rust module `belleville`, test `k1_matches_cf_eq_173`, after its paper's equation 173: the
/// constant of a spring of twice its inner diameter, 0.69433320.
#[test]
fn constant_of_a_disc_spring() {
    let cone = Cone {
        outer: 100.0,
        inner: 50.0,
        thickness: 4.0,
        height: 2.0,
        modulus: 206_000.0,
        poisson: 0.3,
    };
    prints(cone.k1(), 0.694_333_20, 1e-8);
}

/// 49 CFR 571.116 S5.1.3, as tabulated by a maker of brakes: at least 1.5 mm²/s at 100 °C, of every grade.
#[test]
fn hot_viscosity_limit() {
    for grade in [Grade::Dot3, Grade::Dot4, Grade::Dot5, Grade::Dot51] {
        prints(grade.viscosity(373.15).expect("within"), 1.5, 1e-9);
    }
}

#[track_caller]
fn usual(field: FieldId) -> &'static Typical {
    Typical::of(field).expect("a row")
}

/// Two design reports after the textbook Automobile Design, ch. 3: finger ratio 2.3 to 4.5 of covers that are
/// pushed, springs 2 to 4 mm thick, 0.5 to 1 mm of wear a face. Lecture notes after section 2.6: pedal travel 80 to
/// 150 mm and never above 180; pedal force of a car 80 to 150 N, of a lorry not above 150 to 200. TM
/// 5-3810-300-24&P2, page 0217: 1/8 in from the bearing to the levers; page 0223: 3/8 in at the pedal until the
/// master's rod touches. TM 55-1930-209-14&P-9-4, p. P.3: faces of housings of up to 14 1/4, 20 1/8, 25 1/2 and 31 in
/// true to 0.006, 0.008, 0.010 and 0.012 in.
#[test]
fn usual_values_agree_with_the_books() {
    let ends = |field| (usual(field).low, usual(field).high);
    assert_eq!(ends(field!(cover.finger_ratio)), (2.3, 4.5));
    assert_eq!(ends(field!(diaphragm.thickness)), (2.0, 4.0));
    assert_eq!(ends(field!(disc.wear)), (2.0 * 0.5, 2.0 * 1.0));
    let travel = usual(field!(pedal.travel));
    let typical = travel.typical.expect("a value");
    assert!((80.0..=150.0).contains(&typical) && travel.high < 180.0);
    let gap = usual(field!(bearing.free_play));
    assert!((gap.low..=gap.high).contains(&(25.4 / 8.0)));
    // At the rod behind any pedal that is usual.
    let (clearance, ratio) = (
        usual(field!(master.rod_clearance)),
        usual(field!(pedal.ratio)),
    );
    for ratio in [ratio.low, ratio.high] {
        let at_rod = 25.4 * 3.0 / 8.0 / ratio;
        assert!(
            (clearance.low..=clearance.high).contains(&at_rod),
            "{at_rod}"
        );
    }
    let limit = |check: &str, name: &str| {
        let check = Check::named(check).expect("a check");
        let limit = check.limits.iter().find(|limit| limit.name == name);
        limit.expect("a limit").value
    };
    let effort = limit("heavy-pedal", "effort");
    assert!((80.0..=150.0).contains(&effort) && (150.0..=200.0).contains(&effort));
    let face = usual(field!(bellhousing.face_limit));
    let printed = [0.006, 0.008, 0.010, 0.012].map(|inches| 25.4 * inches);
    assert_eq!((face.low, face.high), (printed[0], printed[3]));
    assert!(printed.contains(&limit("misaligned-bell", "face")));
}
