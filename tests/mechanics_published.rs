//! Published examples, worked again with the functions of the mechanics, to the digits that are printed.
//!
//! Each row names where its numbers come from. Where the note says "calculated", the expected number is
//! arithmetic on published inputs and was not itself printed there. What stands under "from memory" was
//! recalled and not looked up: it shows only that nothing here disagrees with it.

use std::f64::consts::{FRAC_PI_2, PI, TAU};

use bitepoint::mechanics::{
    Actuation, Bearing, Cable, Chain, Cone, Cover, Curve, Disc, EndedBy, Expansion, Fluid, Fork,
    Grade, Hydraulics, Leverage, Line, Linkage, Load, Master, Pedal, PedalPosition, Relays,
    STANDARD_ATMOSPHERE, Slave, SlaveBore, SlaveRod, Stroke, Wall, air_compression, bell_offset,
    bore_area, fluid_compression, line_pressure_drop, piston_force, pressure, reynolds_number,
    rod_length, slider_crank_position, standard_atmosphere_at, tube_bore_displacement,
};

/// `value` rounds to `printed`, whose last digit stands at the place `digit`. Both are shown with
/// where the published one comes from, for the list that DEVELOPERS.md speaks of.
#[track_caller]
fn prints(value: f64, printed: f64, digit: f64) {
    println!(
        "worked out {value:<22} published {printed:<14} {}",
        source()
    );
    assert!(
        (value - printed).abs() <= 0.5 * digit * (1.0 + 1e-9),
        "{value} does not print as {printed}"
    );
}

/// What the running test says of itself: its doc comment, on one line.
fn source() -> String {
    let thread = std::thread::current();
    let head = format!("fn {}()", thread.name().unwrap_or_default());
    let text = include_str!("mechanics_published.rs");
    let before = text.split(&head).next().unwrap_or_default();
    let doc: Vec<&str> = before
        .lines()
        .rev()
        .skip_while(|line| !line.starts_with("///"))
        .take_while(|line| line.starts_with("///"))
        .map(|line| line.trim_start_matches("///").trim())
        .collect();
    doc.into_iter().rev().collect::<Vec<_>>().join(" ")
}

/// A lever, as a pedal without friction or springs.
fn lever(leverage: Leverage) -> Pedal {
    Pedal {
        drag: 0.0,
        travel: 100.0,
        stop: None,
        free_play: None,
        leverage,
        rod_offset: 0.0,
        efficiency: 1.0,
        return_force: 0.0,
        assist: None,
    }
}

fn plain_fork(ratio: f64) -> Fork {
    Fork {
        ratio,
        ..Fork::none()
    }
}

/// OpenStax College Physics 2e, Ex. 11.6 (University Physics vol. 1, Ex. 14.3): 500 N on a piston of
/// 0.500 cm, wheel cylinder of 2.50 cm: 1.25e4 N.
#[test]
fn wheel_cylinder_force() {
    let line = pressure(500.0, bore_area(5.0));
    prints(piston_force(line, bore_area(25.0)), 1.25e4, 100.0);
}

/// OpenStax College Physics 2e, Ex. 11.6: 100 N at the pedal give 500 N at the piston, a ratio of 5.
#[test]
fn brake_pedal_lever() {
    let pedal = lever(Leverage::Crank {
        pad_arm: 250.0,
        rod_arm: 50.0,
        arm_angle: None,
        rod_length: None,
    });
    prints(pedal.ratio(), 5.0, 1.0);
    let position = PedalPosition {
        pad_travel: 0.0,
        local_ratio: pedal.ratio(),
    };
    prints(pedal.effort(position, 500.0, Stroke::Press), 100.0, 1.0);
}

/// The same example through the whole chain: 1.25e4 N at the far piston want 100 N at the pedal.
#[test]
fn brake_example_from_end_to_end() {
    let chain = Chain {
        pedal: lever(Leverage::Ratio(5.0)),
        actuation: Actuation::Hydraulic(Hydraulics {
            master: Master {
                drag: 0.0,
                bore: 5.0,
                stroke: 50.0,
                port_travel: 0.0,
                rod_clearance: 0.0,
                efficiency: 1.0,
                return_force: 0.0,
                mount_stiffness: None,
            },
            lines: vec![],
            intensifier: None,
            fluid: Fluid {
                bulk_modulus: None,
                air: 0.0,
                ambient: STANDARD_ATMOSPHERE,
            },
            slave: Slave {
                drag: 0.0,
                bore: SlaveBore::Round(25.0),
                stroke: 10.0,
                rest_extension: 0.0,
                preload: 0.0,
                efficiency: 1.0,
                mount_stiffness: None,
            },
        }),
        relays: Relays::default(),
        adjust_range: None,
        fork: Fork::none(),
        bearing: Bearing {
            free_play: 0.0,
            max_travel: None,
        },
        cover: Cover {
            needed: 0.5,
            most: 1.0,
            load: Load::Curve(Curve::new(vec![(0.0, 1.25e4)]).expect("one point")),
        },
    };
    let summary = chain.summary().expect("sound numbers");
    prints(summary.pedal_effort, 100.0, 1.0);
    prints(summary.line_pressure.expect("hydraulic"), 25.5, 0.1);
    // Pascal: x2 = x1·A1/A2, 100 mm over 5 and over 25.
    assert_eq!(summary.ended_by, EndedBy::PedalTravel);
    prints(summary.bearing_travel, 0.8, 1e-12);
    // Nothing is lost, so the work at the pad is that at the piston.
    prints(summary.pedal_work, 1.25e4 * 0.8, 1e-8);
}

/// OpenStax College Physics 2e s 11.5 problems, the first (University Physics vol. 1 s 14.3): pressure of
/// 500 N on 0.500 cm: 2.55e7 Pa, 251 atm; calculated 25 464 790.9 Pa.
#[test]
fn line_pressure() {
    let line = pressure(500.0, bore_area(5.0));
    prints(line, 25.5, 0.1);
    prints(line * 1e6, 25_464_790.9, 0.1);
    prints(line / STANDARD_ATMOSPHERE, 251.0, 1.0);
}

/// OpenStax College Physics 2e s 11.5 problems (University Physics vol. 1 s 14.3): 120 N on a cork of
/// 2.00 cm push the bottom of 14.0 cm with 5.76e3 N more than the cork itself.
#[test]
fn bottle_bottom() {
    let inside = pressure(120.0, bore_area(20.0));
    let bottom = piston_force(inside, bore_area(140.0));
    prints(bottom - 120.0, 5.76e3, 10.0);
    let around_the_cork = SlaveBore::Annulus {
        outer: 140.0,
        inner: 20.0,
    };
    prints(piston_force(inside, around_the_cork.area()), 5.76e3, 10.0);
}

/// OpenStax College Physics 2e s 9.5 problems, the nail puller: arms of 45 cm and 1.8 cm, 1250 N out:
/// advantage 25, 50 N in.
#[test]
fn nail_puller() {
    let pedal = lever(Leverage::Crank {
        pad_arm: 450.0,
        rod_arm: 18.0,
        arm_angle: None,
        rod_length: None,
    });
    prints(pedal.ratio(), 25.0, 1.0);
    let fork = plain_fork(pedal.ratio());
    prints(fork.outer_force(1250.0, Stroke::Press), 50.0, 1.0);
}

/// OpenStax College Physics 2e Ex. 9.3, the wheelbarrow: 45.0 kg at 7.50 cm, handles at 1.02 m: advantage
/// 13.6, 32.4 N at the handles, 409 N on the wheel.
#[test]
fn wheelbarrow() {
    let fork = plain_fork(102.0 / 7.5);
    prints(fork.ratio, 13.6, 0.1);
    let weight = 45.0 * 9.80;
    let handles = fork.outer_force(weight, Stroke::Press);
    prints(handles, 32.4, 0.1);
    prints(weight - handles, 409.0, 1.0);
}

/// Slider-crank, Ex. 5.1 of a code companion (book identity from memory: Nikravesh): crank 0.12, rod 0.26,
/// 65 degrees; position calculated 0.286875, rod angle −24.7270 degrees.
#[test]
fn slider_crank() {
    let (crank, rod) = (0.12, 0.26);
    let angle = 65.0_f64.to_radians();
    let position = slider_crank_position(crank, rod, 0.0, angle).expect("the rod spans");
    prints(position, 0.286_875, 1e-6);
    let rod_angle = ((position - crank * angle.cos()) / rod).acos();
    prints(-rod_angle.to_degrees(), -24.7270, 1e-4);
}

/// The same slider-crank as a pedal: its rod travel is the difference of two positions.
#[test]
fn slider_crank_as_a_pedal() {
    let (rod_arm, length, pad_arm, rest) = (60.0, 150.0, 300.0, -0.3);
    let geometry = lever(Leverage::Crank {
        pad_arm,
        rod_arm,
        arm_angle: Some(rest),
        rod_length: Some(length),
    })
    .geometry()
    .expect("sound numbers");
    let offset = rod_arm * f64::cos(rest);
    let seat = |turned: f64| {
        slider_crank_position(rod_arm, length, offset, FRAC_PI_2 - rest - turned).expect("spans")
    };
    let travel = geometry.rod_travel(90.0).expect("within reach");
    assert!((travel - (seat(90.0 / pad_arm) - seat(0.0))).abs() < 1e-12);
}

/// OpenStax College Physics 2e Ex. 5.6: sea water under 5.00e7 Pa, bulk modulus of water 2.2e9 Pa: 0.023.
#[test]
fn sea_water_compression() {
    prints(fluid_compression(1.0, 2200.0, 50.0), 0.023, 0.001);
}

/// OpenStax University Physics vol. 1 Ex. 12.9: 250 L, 2300 psi, compressibility 2.0e-5 per atm: 0.78 L
/// (unrounded, calculated, 0.7823). Arithmetic only; the modulus it implies is not a real oil's.
#[test]
fn hydraulic_press_oil() {
    let atmospheres = 2300.0 / 14.7;
    let litres = fluid_compression(250.0, 1.0 / 2.0e-5, atmospheres);
    prints(litres, 0.78, 0.01);
    prints(litres, 0.7823, 1e-4);
}

/// Scilab Textbook Companion 3942, Ex. 2.3 (probably Çengel and Cimbala): water of 998 kg/m³,
/// compressibility 4.8e-5 per atm, 1 to 100 atm: 1002.7 kg/m³.
#[test]
fn density_of_compressed_water() {
    let shrunk = fluid_compression(1.0, 1.0 / 4.8e-5, 99.0);
    prints(998.0 * (1.0 + shrunk), 1002.7, 0.1);
}

/// CoolProp 8.0.0 (IAPWS-95), water at 20 °C: isothermal bulk modulus 2.1790627e9 Pa at 101 325 Pa, and
/// a real compression of 0.00447541 from there to 10 MPa. The modulus stiffens with pressure, so the
/// constant one says too much, by less than 2 % at a pressure no clutch line exceeds.
#[test]
fn constant_bulk_modulus_against_real_water() {
    let constant = fluid_compression(1.0, 2179.0627, 10.0 - STANDARD_ATMOSPHERE);
    let real = 0.004_475_41;
    assert!(constant > real && constant < 1.02 * real, "{constant}");
}

/// ISO 2533 and US Standard Atmosphere 1976 at sea level: 101 325 Pa.
#[test]
fn standard_atmosphere() {
    prints(STANDARD_ATMOSPHERE * 1e6, 101_325.0, 1e-6);
}

/// OpenStax College Physics 2e s 13.3, Check Your Understanding: a gas whose volume doubles comes from 1 atm
/// to 0.50 atm. Taken the other way: from 0.50 atm to 1 atm half the volume goes.
#[test]
fn boyle() {
    prints(air_compression(2.0, 0.50, 0.50), 1.0, 1e-12);
}

/// Thick tube, a = 10 mm, b = 20 mm, p = 100 MPa, E = 210 GPa, ν = 0.30. Open ends, the form used here:
/// 9.3651e-6 m (calculated). From it the other two forms: plane strain 9.08e-6 m (verification manual of
/// a finite element program, `lame_cylinder`; calculated 9.0794e-6), with E/(1 − ν²) and ν/(1 − ν);
/// closed ends 8.8889e-6 m (calculated), less the shortening by the axial stress p·a²/(b² − a²).
#[test]
fn lame() {
    let (a, b, p, e, nu) = (10.0, 20.0, 100.0, 210_000.0, 0.30);
    let metres = 1e-3;
    let open = tube_bore_displacement(a, b, e, nu, p);
    prints(open * metres, 9.3651e-6, 1e-10);

    let plane_strain = tube_bore_displacement(a, b, e / (1.0 - nu * nu), nu / (1.0 - nu), p);
    prints(plane_strain * metres, 9.08e-6, 1e-8);
    prints(plane_strain * metres, 9.0794e-6, 1e-10);

    let axial = p * a * a / (b * b - a * a);
    let closed = open - nu * axial / e * a;
    prints(closed * metres, 8.8889e-6, 1e-10);
    assert!((0.04..0.06).contains(&(1.0 - closed / open)));
}

/// The same tube, 1 m long, as a line: its bore grows from 20 mm by twice the open-ended displacement.
#[test]
fn lame_as_a_line() {
    let line = Line {
        bore: 20.0,
        length: 1000.0,
        wall: Wall::Tube {
            thickness: 10.0,
            modulus: 210_000.0,
            poisson: 0.30,
        },
        flow: bitepoint::mechanics::Flow::Through,
        side: bitepoint::mechanics::Side::Slave,
    };
    let grown = (bore_area(20.0 + 2.0 * 9.3651e-3) - bore_area(20.0)) * 1000.0;
    let gained = line.expansion().volume(100.0);
    assert!((gained / grown - 1.0).abs() < 1e-5, "{gained} {grown}");
}

/// Geometry, calculated: areas of bores that are met, in mm².
#[test]
fn bore_areas() {
    let inch = 25.4;
    for (bore, area) in [
        (5.0 / 8.0, 197.9326),
        (0.700, 248.2867),
        (3.0 / 4.0, 285.0230),
        (13.0 / 16.0, 334.5061),
        (7.0 / 8.0, 387.9479),
        (15.0 / 16.0, 445.3484),
        (1.0, 506.7075),
    ] {
        prints(bore_area(bore * inch), area, 1e-4);
        prints(SlaveBore::Round(bore * inch).area(), area, 1e-4);
    }
}

fn hose(length: f64, expansion: f64) -> Expansion {
    Line {
        bore: 3.2,
        length,
        wall: Wall::Hose { expansion },
        flow: bitepoint::mechanics::Flow::Through,
        side: bitepoint::mechanics::Side::Slave,
    }
    .expansion()
}

/// Unit conversion by pint and GNU units: 1 cm³/ft is 3.280839895013123 cm³/m, which is also mm³/mm. A
/// metre of hose that gives 1 cm³/ft at a pressure gives that many cm³.
#[test]
fn hose_expansion_per_foot_and_per_metre() {
    let at = 6.894_757_293_168_361;
    let metre = hose(1000.0, 3.280_839_895_013_123 / at);
    prints(metre.volume(at) / 1000.0, 3.280_839_895_013_123, 1e-12);
    let foot = hose(304.8, 3.280_839_895_013_123 / at);
    prints(foot.volume(at) / 1000.0, 1.0, 1e-12);
}

/// From memory (49 CFR 571.106 Table I; its numbers were not looked up): a hose of 1/8 in or less may give
/// 0.66 cm³/ft at 1000 psi and 0.79 at 1500 psi. A hose at the first limit, taken as linear, is past the
/// second by a quarter: real hoses stiffen, and the linear law errs towards too much lost travel.
#[test]
fn hose_limits_from_memory() {
    let psi = 6.894_757_293_168_361e-3;
    let foot = hose(304.8, 660.0 / (304.8 * 1000.0 * psi));
    prints(foot.volume(1000.0 * psi), 660.0, 1e-9);
    let at_1500 = foot.volume(1500.0 * psi);
    assert!((1.2..1.3).contains(&(at_1500 / 790.0)), "{at_1500}");
}

/// OpenStax College Physics 2e s 9.5 problems, the nail puller again, as a cross-shaft.
#[test]
fn nail_puller_as_a_cross_shaft() {
    let shaft = Linkage {
        in_arm: 450.0,
        out_arm: 18.0,
        in_angle: 0.0,
        out_angle: 0.0,
        play: 0.0,
        stiffness: None,
        efficiency: 1.0,
    };
    prints(shaft.ratio(), 25.0, 1.0);
    prints(
        Stroke::Press.input_force(1250.0 / shaft.ratio(), shaft.efficiency),
        50.0,
        1.0,
    );
}

/// The slider-crank of Ex. 5.1 as a slave's rod: a fork whose end stands 0.12 sin 65° beside the bore's line,
/// which runs through its pivot, leans the rod by 24.7270 degrees.
#[test]
fn slider_crank_as_a_slave_rod() {
    let from_the_line = 65.0_f64.to_radians();
    let rod = SlaveRod {
        arm: 0.12,
        // Square to the bore is 90 degrees from its line; the fork has come past square by 25.
        to_square: from_the_line - FRAC_PI_2,
        length: 0.26,
        offset: 0.12 * from_the_line.sin(),
    };
    let angle = rod.angle(0.0).expect("the rod spans");
    prints(angle.to_degrees(), 24.7270, 1e-4);
}

/// OpenStax College Physics 2e, section 3.1: 9 blocks east and 5 blocks north are 10.3 blocks in a straight line.
#[test]
fn a_rod_beside_its_bore_is_the_hypotenuse() {
    prints(rod_length(9.0, 5.0).expect("it spans"), 10.3, 0.1);
}

/// Calculated, Pythagoras: 4.3 in along the bore and 0.6 in beside it are √(4.3² + 0.6²) = 4.34 in.
#[test]
fn a_rod_of_4_3_inches_beside_its_bore() {
    prints(rod_length(4.3, 0.6).expect("it spans"), 4.34, 0.01);
    assert_eq!(rod_length(4.3, -0.6), rod_length(4.3, 0.6));
    assert_eq!(rod_length(128.0, 0.0), Some(128.0));
    assert_eq!(rod_length(0.0, 0.6), None, "no rod fits");
}

fn cable(friction: f64, bends: f64) -> Cable {
    Cable {
        bends,
        friction,
        stiffness: None,
        play: 0.0,
    }
}

/// Capstan equation, an encyclopedia's example: five turns at a friction of 0.6 hold 153 552 935 times the
/// force (factor read, inputs from memory; calculated exp(6π)).
#[test]
fn capstan_of_five_turns() {
    prints(1.0 / cable(0.6, 5.0 * TAU).efficiency(), 153_552_935.0, 1.0);
}

/// Capstan equation, the table for one turn (calculated; the layout is an encyclopedia's).
#[test]
fn capstan_of_one_turn() {
    for (friction, ratio) in [
        (0.1, 1.9),
        (0.2, 3.5),
        (0.3, 6.6),
        (0.4, 12.3),
        (0.5, 23.1),
        (0.6, 43.4),
        (0.7, 81.3),
    ] {
        prints(1.0 / cable(friction, TAU).efficiency(), ratio, 0.1);
    }
}

/// The same through the whole chain: 100 N wanted at the end of a cable with one turn and a friction of 0.1 take
/// 1.9 times as much on the press, and leave as much less on the return.
#[test]
fn capstan_from_end_to_end() {
    let chain = Chain {
        pedal: lever(Leverage::Ratio(1.0)),
        actuation: Actuation::Cable(cable(0.1, TAU)),
        relays: Relays::default(),
        adjust_range: None,
        fork: Fork::none(),
        bearing: Bearing {
            free_play: 0.0,
            max_travel: None,
        },
        cover: Cover {
            needed: 0.5,
            most: 1.0,
            load: Load::Curve(Curve::new(vec![(0.0, 100.0)]).expect("one point")),
        },
    };
    let summary = chain.summary().expect("sound numbers");
    prints(summary.rod_force, 190.0, 10.0);
    prints(summary.pedal_effort, 187.446, 1e-3);
    let back = summary.pedal_effort_return.expect("it touches");
    prints(back * summary.pedal_effort, 1e4, 1e-9);
}

/// Scilab Textbook Companion 764 (book identity from memory: Bhandari), Ex. 10.26, run forward: a Belleville
/// spring of 154.818478 by 88.467702 by 2.652980 mm, 3.979470 mm high, E = 207 GPa, ν = 0.3, pressed flat:
/// 4500 N with the textbook's logarithmic constant; 4476.7 N (calculated) with that of DIN 2092, used here.
#[test]
fn belleville_pressed_flat() {
    let cone = Cone {
        outer: 154.818_478,
        inner: 88.467_702,
        thickness: 2.652_980,
        height: 3.979_470,
        modulus: 207_000.0,
        poisson: 0.3,
    };
    let load = cone.load(cone.height).expect("sound numbers");
    prints(load, 4476.7, 0.1);
    let delta = cone.outer / cone.inner;
    let textbook = 6.0 / (PI * delta.ln()) * ((delta - 1.0) / delta).powi(2);
    prints(load * cone.k1() / textbook, 4500.0, 0.01);
}

/// From memory (the tables of DIN 2093 or EN 16983, which were not read): loads of disc springs at three
/// quarters of their height. The tables round deflection and load, so that single rows are off by up to two
/// per cent; together they agree.
#[test]
fn disc_springs_from_memory() {
    // Outer and inner diameter, thickness, height, load.
    let springs = [
        (8.0, 4.2, 0.4, 0.2, 210.0),
        (10.0, 5.2, 0.5, 0.25, 329.0),
        (12.5, 6.2, 0.7, 0.3, 673.0),
        (14.0, 7.2, 0.8, 0.3, 813.0),
        (16.0, 8.2, 0.9, 0.35, 1000.0),
        (18.0, 9.2, 1.0, 0.4, 1250.0),
        (20.0, 10.2, 1.1, 0.45, 1530.0),
        (22.5, 11.2, 1.25, 0.5, 1950.0),
        (25.0, 12.2, 1.5, 0.55, 2910.0),
        (28.0, 14.2, 1.5, 0.65, 2850.0),
        (31.5, 16.3, 1.75, 0.7, 3900.0),
        (35.5, 18.3, 2.0, 0.8, 5190.0),
        (40.0, 20.4, 2.25, 0.9, 6540.0),
        (45.0, 22.4, 2.5, 1.0, 7720.0),
        (50.0, 25.4, 3.0, 1.1, 12000.0),
        (56.0, 28.5, 3.0, 1.3, 11400.0),
        (63.0, 31.0, 3.5, 1.4, 15000.0),
        (71.0, 36.0, 4.0, 1.6, 20500.0),
        (80.0, 41.0, 5.0, 1.7, 33700.0),
        (90.0, 46.0, 5.0, 2.0, 31400.0),
        (100.0, 51.0, 6.0, 2.2, 48000.0),
        (112.0, 57.0, 6.0, 2.5, 43800.0),
        (8.0, 4.2, 0.3, 0.25, 119.0),
        (10.0, 5.2, 0.4, 0.3, 213.0),
        (12.5, 6.2, 0.5, 0.35, 291.0),
        (14.0, 7.2, 0.5, 0.4, 279.0),
        (16.0, 8.2, 0.6, 0.45, 412.0),
        (18.0, 9.2, 0.7, 0.5, 572.0),
        (20.0, 10.2, 0.8, 0.55, 745.0),
        (22.5, 11.2, 0.8, 0.65, 710.0),
        (25.0, 12.2, 0.9, 0.7, 868.0),
        (28.0, 14.2, 1.0, 0.8, 1110.0),
        (31.5, 16.3, 1.25, 0.9, 1920.0),
        (35.5, 18.3, 1.25, 1.0, 1700.0),
        (40.0, 20.4, 1.5, 1.15, 2620.0),
        (45.0, 22.4, 1.75, 1.3, 3660.0),
        (50.0, 25.4, 2.0, 1.4, 4760.0),
        (56.0, 28.5, 2.0, 1.6, 4440.0),
        (63.0, 31.0, 2.5, 1.75, 7180.0),
        (71.0, 36.0, 2.5, 2.0, 6730.0),
        (80.0, 41.0, 3.0, 2.3, 10500.0),
        (90.0, 46.0, 3.5, 2.5, 14200.0),
        (100.0, 51.0, 3.5, 2.8, 13100.0),
        (112.0, 57.0, 4.0, 3.2, 17800.0),
        (125.0, 64.0, 5.0, 3.5, 30000.0),
        (140.0, 72.0, 5.0, 4.0, 27900.0),
        (160.0, 82.0, 6.0, 4.5, 41100.0),
        (8.0, 4.2, 0.2, 0.25, 39.0),
        (10.0, 5.2, 0.25, 0.3, 58.0),
        (12.5, 6.2, 0.35, 0.45, 152.0),
        (14.0, 7.2, 0.35, 0.45, 123.0),
        (16.0, 8.2, 0.4, 0.5, 155.0),
        (18.0, 9.2, 0.45, 0.6, 214.0),
        (20.0, 10.2, 0.5, 0.65, 254.0),
        (22.5, 11.2, 0.6, 0.8, 425.0),
        (25.0, 12.2, 0.7, 0.9, 601.0),
        (28.0, 14.2, 0.8, 1.0, 801.0),
        (31.5, 16.3, 0.8, 1.05, 687.0),
        (35.5, 18.3, 0.9, 1.15, 831.0),
        (40.0, 20.4, 1.0, 1.3, 1020.0),
        (45.0, 22.4, 1.25, 1.6, 1890.0),
        (50.0, 25.4, 1.25, 1.6, 1550.0),
        (56.0, 28.5, 1.5, 1.95, 2620.0),
        (63.0, 31.0, 1.8, 2.35, 4240.0),
        (71.0, 36.0, 2.0, 2.6, 5140.0),
        (80.0, 41.0, 2.25, 2.95, 6610.0),
        (90.0, 46.0, 2.5, 3.2, 7680.0),
        (100.0, 51.0, 2.7, 3.5, 8610.0),
        (112.0, 57.0, 3.0, 3.9, 10500.0),
        (125.0, 64.0, 3.5, 4.5, 15400.0),
        (140.0, 72.0, 3.8, 4.9, 17200.0),
        (160.0, 82.0, 4.3, 5.6, 21800.0),
        (180.0, 92.0, 4.8, 6.2, 26400.0),
        (200.0, 102.0, 5.5, 7.0, 36100.0),
    ];
    let mut sum = 0.0;
    for (outer, inner, thickness, height, printed) in springs {
        let cone = Cone {
            outer,
            inner,
            thickness,
            height,
            modulus: 206_000.0,
            poisson: 0.3,
        };
        let load = cone.load(0.75 * height).expect("sound numbers");
        let off: f64 = load / printed - 1.0;
        assert!(off.abs() < 0.021, "{outer} x {inner} x {thickness}: {load}");
        sum += off;
    }
    let mean = sum / springs.len() as f64;
    assert!(mean.abs() < 0.003, "{mean}");
}

/// One face of 100 to 200 mm with a friction of 0.2.
const ONE_FACE: Disc = Disc {
    outer: 200.0,
    inner: 100.0,
    faces: 1.0,
    friction: 0.2,
};

/// Scilab Textbook Companion 764 (book identity from memory: Bhandari), Ex. 11.1, uniform wear at 1 MPa:
/// 15 707.963 N, 235 619.449 N·mm, 18.505508 kW at 750 rpm.
#[test]
fn clutch_torque_by_uniform_wear() {
    let force = PI * 1.0 * 100.0 * (200.0 - 100.0) / 2.0;
    prints(force, 15_707.963, 1e-3);
    let torque = ONE_FACE.torque_capacity(force).expect("sound numbers");
    prints(torque, 235_619.449, 1e-3);
    prints(torque * 750.0 / 60.0 * TAU * 1e-6, 18.505_508, 1e-6);
}

/// The same companion, Ex. 11.2, uniform pressure: 23 561.945 N, 366 519.143 N·mm.
#[test]
fn clutch_torque_by_uniform_pressure() {
    let force = 1.0 * (bore_area(200.0) - bore_area(100.0));
    prints(force, 23_561.945, 1e-3);
    let torque = ONE_FACE.torque_capacity_uniform_pressure(force);
    prints(torque.expect("sound numbers"), 366_519.143, 1e-3);
}

/// US Army TM 10-4320-307-24, p. 3-140, step 5: the housing moves by half of the indicator's reading.
#[test]
fn half_the_indicator_reading() {
    prints(bell_offset(0.20), 0.10, 1e-15);
}

/// OpenStax College Physics 2e Ex. 12.8: 0.120 cm³/s through a needle of 0.150 mm radius and 2.50 cm, 1.00e-3
/// Pa·s, into a vein of 1.066e3 Pa: 1.62e4 Pa; without the vein 15 090.246 Pa (`fluids` 1.3.1).
#[test]
fn needle() {
    let drop = line_pressure_drop(120.0, 1.00e-9, 0.300, 25.0) * 1e6;
    prints(drop, 15_090.246, 1e-3);
    prints(drop + 1.066e3, 1.62e4, 100.0);
}

/// OpenStax University Physics vol. 1 Ex. 14.8: air of 0.0181 mPa·s, 0.054 Pa over 20 m of duct of 0.09 m
/// radius: 3.84e-3 m³/s (calculated 3.8434e-3).
#[test]
fn duct() {
    let per_flow = line_pressure_drop(1.0, 0.0181e-9, 180.0, 20_000.0);
    let flow = 0.054e-6 / per_flow * 1e-9;
    prints(flow, 3.84e-3, 1e-5);
    prints(flow, 3.8434e-3, 1e-7);
}

/// OpenStax University Physics vol. 1 Ex. 14.9: the same duct, 1.23 kg/m³ at 0.15 m/s: a Reynolds number of
/// 1835 (calculated 1834.8).
#[test]
fn duct_reynolds_number() {
    let kinematic = 0.0181e-3 / 1.23 * 1e6;
    prints(reynolds_number(150.0, 180.0, kinematic), 1835.0, 1.0);
}

/// 49 CFR 571.116 S5.1.3, as tabulated in an encyclopedia: most viscosity at −40 °C.
#[test]
fn cold_viscosity_limits() {
    for (grade, limit) in [
        (Grade::Dot3, 1500.0),
        (Grade::Dot4, 1800.0),
        (Grade::Dot5, 900.0),
        (Grade::Dot51, 900.0),
    ] {
        assert_eq!(grade.coldest_viscosity(), limit);
    }
}

/// ASTM D341 (C. Walther's equation) through 1800 mm²/s at −40 °C and 1.5 mm²/s at 100 °C, worked out apart.
#[test]
fn viscosity_between_its_limits() {
    let at = |celsius: f64| Grade::Dot4.viscosity(celsius + 273.15);
    for (celsius, viscosity, digit) in [
        (-40.0, 1800.0, 1e-6),
        (-30.0, 459.0, 1.0),
        (-20.0, 156.0, 1.0),
        (-15.0, 99.0, 0.1),
        (-5.0, 45.7, 0.1),
        (0.0, 32.8, 0.1),
        (20.0, 11.5, 0.1),
        (100.0, 1.5, 1e-9),
    ] {
        prints(at(celsius).expect("within"), viscosity, digit);
    }
    // The standards limit a grade between these temperatures, and not beyond them.
    assert_eq!((at(-41.0), at(101.0)), (None, None));
}

/// US Standard Atmosphere 1976 (`fluids` 1.3.1): 79 501.42 Pa at 2000 m.
#[test]
fn atmosphere_at_altitude() {
    let pascal = |metres: f64| standard_atmosphere_at(metres * 1e3).map(|p| p * 1e6);
    prints(pascal(2000.0).expect("troposphere"), 79_501.42, 0.01);
    prints(pascal(0.0).expect("troposphere"), 101_325.0, 1e-6);
    assert!(pascal(11_500.0).is_none() && pascal(f64::NAN).is_none());
}
