//! The worked numbers of the design of the mechanics, to their digits: each was derived by hand and by a solver of its
//! own before the stage was built.

mod common;

use bitepoint::mechanics::EndedBy;
use bitepoint::result;
use bitepoint::schema::ResultId;
use bitepoint::solve::{Outcome, work_out};
use common::last_system;

/// The car of the worked numbers, with other blocks.
fn outcome(blocks: &str) -> Outcome {
    let car = std::fs::read_to_string("tests/cases/car.clutch").expect("the car");
    work_out(&last_system(&format!(
        "{car}\nsystem changed from car {{\n{blocks}\n}}\n"
    )))
    .expect("worked out")
}

/// `digits` is the number of decimals in the design.
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
fn without_hard_stops_the_clutch_releases() {
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

/// Without any losses the firewall is rigid too: (23.769 − 1) mm of master on 0.7347 of its area.
#[test]
fn the_ideal_slave_travel_ignores_the_firewall() {
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

/// The fork of the worked stack, rigid, with a guide that ends the bearing's travel at exactly 9 mm.
const STACK: &str = "system stack {
    pedal { pad_arm = 300 mm  rod_arm = 50 mm  travel = 170 mm }
    master { bore = 3/4 in  stroke = 36 mm }
    slave { bore = 7/8 in  stroke = 40 mm  rest_extension = 12 mm }
    bellhousing { depth = 165 mm  adapter = 6 mm }
    bearing { length = 38 mm  free_play = 0 mm  max_travel = 9 mm }
    fork {
        slave_arm = 112 mm  bearing_arm = 68 mm  pivot = between  pivot_height = 42 mm
        window_rear = 12 mm  window_front = 40 mm
    }
    cover {
        release_travel = 7 mm to 11 mm  release_load = 1500 N  finger_ratio = 3.4  finger_height = 83 mm
    }
    disc { outer = 228 mm  inner = 150 mm  friction = 0.3  wear = 1.6 mm }
}
";

/// The findings of a check about the last system of a text, with their help.
fn told(text: &str, check: &str) -> Vec<String> {
    let report = bitepoint::analysis::analyse(
        common::source("worked.clutch", text),
        &common::Library::default(),
    );
    let found = report
        .findings
        .iter()
        .filter(|finding| finding.check.name() == check);
    found
        .map(|finding| {
            format!(
                "{}: {}",
                finding.problem.message,
                finding.help().unwrap_or_default()
            )
        })
        .collect()
}

/// §1: where the fork is at rest, worn and at full pedal, and the distances to both edges of its opening.
#[test]
fn the_stack_says_where_the_fork_stands() {
    let new = work_out(&last_system(STACK)).expect("worked out");
    assert_eq!(new.ended_by, EndedBy::BearingGuide);
    let degrees = |outcome: &Outcome, id: ResultId| outcome.get(id).expect("there").to_degrees();
    is(&new, result!(fork_tip_position), 50.0, 9);
    is(&new, result!(fork_end_position), 28.824, 3);
    is(&new, result!(fork_end_position_full), 14.0, 3);
    is(&new, result!(pivot_shim), 9.78, 9);
    is(&new, result!(fork_back_room), 2.216, 3);
    assert!((degrees(&new, result!(fork_angle)) - 6.756).abs() < 5e-4);
    assert!((degrees(&new, result!(fork_angle_full)) - 14.478).abs() < 5e-4);
    // What pedal and master ask for is more than the guide lets the bearing go, and is what the window is held against.
    let room = new.chain.fork.window.expect("an edge");
    assert!((room - new.get(result!(fork_travel)).expect("there") - 2.0).abs() < 5e-4);
    let worn = new.worn().expect("room for the wear");
    let worn_end = worn.get(result!(fork_end_position)).expect("there");
    assert!((worn_end - 37.784).abs() < 5e-4, "{worn_end}");
    let angle = worn.get(result!(fork_angle)).expect("there").to_degrees();
    assert!((angle - 2.158).abs() < 5e-4, "{angle}");

    let told = told(STACK, "fork-angle");
    let [said] = told.as_slice() else {
        panic!("{told:?}");
    };
    // The shim, and that with it the fork no longer fits its opening.
    for part in [
        "14.5 deg off square at full pedal",
        "raise it by 9.78 mm",
        "-6.1 deg to 6.1 deg",
        "39.9 mm to 63.7 mm",
    ] {
        assert!(said.contains(part), "{part} in {said}");
    }
}

/// A straight fork has a constant ratio, so that its stack changes no earlier result.
#[test]
fn a_straight_forks_stack_moves_nothing_else() {
    let without = STACK
        .replace("pivot_height = 42 mm", "")
        .replace("window_rear = 12 mm  window_front = 40 mm", "");
    let (with, without) = (
        work_out(&last_system(STACK)).expect("worked out"),
        work_out(&last_system(&without)).expect("worked out"),
    );
    for (id, value) in without.results.iter() {
        assert_eq!(with.get(id), Some(value), "{}", id.spec().name);
    }
}

/// A lever with arms of 60 mm, 20 deg before and 15 deg past square: its input travel for an output travel.
#[test]
fn a_relay_lever_off_square() {
    let lever = "relay idler { at = fork  in_arm = 60 mm  out_arm = 60 mm  in_angle = 20 deg  out_angle = -15 deg }";
    let car = outcome(lever);
    let relay = car.chain.relays.at_fork[0];
    let close = |value: f64, expected: f64, digits: i32| {
        assert!(
            (value - expected).abs() <= 0.5 * 10_f64.powi(-digits),
            "{value}, not {expected}"
        );
    };
    close(relay.at_output(7.5).travel, 7.8079, 4);
    let there = relay.at_output(15.0);
    close(there.angle.to_degrees(), 15.020, 3);
    // 16.2955 would follow from the angle rounded to 15.020 deg.
    close(there.travel, 16.2953, 4);
    close(there.ratio, 1.1827, 4);
    close(500.0 / there.ratio / relay.efficiency, 445.0, 1);
    // The slave must go as far as the lever's input for what its output does at the fork.
    let fork = car.get(result!(fork_travel)).expect("there");
    let slave = car.get(result!(slave_travel)).expect("there");
    close(slave, relay.at_output(fork).travel, 9);
    // The cross-shaft of a linkage turns in the same way.
    let shaft = |angles: &str| {
        let car = last_system(&format!(
            "system shaft {{
                pedal {{ ratio = 6  travel = 150 mm }}
                linkage {{ in_arm = 60 mm  out_arm = 60 mm {angles} }}
                fork {{ ratio = 2.2 }}
                cover {{ release_travel = 7 mm to 12 mm  release_load = 1500 N }}
            }}"
        ));
        work_out(&car).expect("worked out")
    };
    let bent = shaft("in_angle = 20 deg  out_angle = -15 deg");
    let fork = bent.get(result!(fork_travel)).expect("there");
    close(150.0 / 6.0, relay.at_output(fork).travel, 9);
    // Square at rest and counted as turning is not the same as taken to stay square.
    let square = shaft("");
    close(square.get(result!(fork_travel)).expect("there"), 25.0, 9);
    assert_eq!(square.get(result!(relay_ratio)), None);
}

/// Play 1.5 mm at the rod and a gap of 1.5 mm at the bearing, fork 2.2, pedal 6: an inch of free travel, as manuals say.
/// Entered as the pedal's own free play besides, it takes 2.18 mm from the bearing.
#[test]
fn free_travel_holds_play_and_gap() {
    let car = |free_play: &str| {
        let text = format!(
            "system rods {{
                pedal {{ ratio = 6  travel = 160 mm {free_play} }}
                linkage {{ in_arm = 60 mm  out_arm = 60 mm  play = 1.5 mm }}
                fork {{ ratio = 2.2 }}
                bearing {{ free_play = 1.5 mm }}
                cover {{ release_travel = 7 mm to 12 mm  release_load = 900 N }}
            }}"
        );
        work_out(&last_system(&text)).expect("worked out")
    };
    let alone = car("");
    is(&alone, result!(free_travel), 28.8, 9);
    let twice = car("free_play = 28.8 mm");
    let lost = |outcome: &Outcome| outcome.get(result!(bearing_travel)).expect("there");
    assert!((lost(&alone) - lost(&twice) - 2.18).abs() < 0.005);
}

/// Wear 1.6 mm, fingers 3.4, fork 2.2: 11.97 mm of thread at the fork's end.
#[test]
fn an_adjuster_takes_up_the_wear() {
    let car = |cable: &str| {
        let text = format!(
            "system pulled {{
                pedal {{ ratio = 6  travel = 165 mm }}
                cable {{ bends = 60 deg  friction = 0.05  play = 1 mm {cable} }}
                fork {{ ratio = 2.2 }}
                bearing {{ free_play = 1.5 mm }}
                cover {{ release_travel = 7 mm to 12 mm  release_load = 900 N  finger_ratio = 3.4 }}
                disc {{ outer = 228 mm  inner = 150 mm  friction = 0.3  wear = 1.6 mm }}
            }}"
        );
        work_out(&last_system(&text)).expect("worked out")
    };
    let none = car("");
    is(&none, result!(adjust_needed), 11.97, 2);
    is(&none, result!(wear_reserve), 1.5 - 5.44, 9);
    assert!(none.worn().is_none());
    let by_hand = car("adjuster = manual  adjust_range = 15 mm");
    is(&by_hand, result!(wear_reserve), 15.0 / 2.2 - 5.44, 9);
    is(&by_hand, result!(free_travel), 6.0 * (1.0 + 1.5 * 2.2), 9);
    // Set again, it is as it was: worn equals new but for the load.
    let worn = by_hand.worn().expect("room");
    for id in [
        result!(free_travel),
        result!(release_margin),
        result!(pedal_effort),
    ] {
        assert_eq!(worn.get(id), by_hand.get(id));
    }
    let by_itself = car("adjuster = auto  adjust_range = 15 mm");
    is(&by_itself, result!(free_travel), 0.0, 9);
}

/// The car with the fields for its clamp load and torque.
const CLUTCH: &str = "cover { finger_ratio = 3.4  clamp_load = 6500 N }
disc { outer = 228 mm  inner = 150 mm  friction = 0.3 }";

/// §3: 60 K behind a shut port.
#[test]
fn fluid_that_grows_behind_a_shut_port_slips_the_clutch() {
    let car = outcome(&format!("{CLUTCH}\nfluid {{ hottest = 80 degC }}"));
    is(&car, result!(shut_port_volume), 1338.8, 1);
    is(&car, result!(shut_port_travel), 1.717, 3);
    is(&car, result!(shut_port_load), 793.8, 1);
    is(&car, result!(shut_port_clamp_lost), 2699.0, 0);
    is(&car, result!(torque_capacity), 368.6e3, -2);
    is(&car, result!(shut_port_capacity), 215.5e3, -2);
    // Nothing grows where nothing warms.
    let cold = outcome(&format!("{CLUTCH}\nfluid {{ hottest = 20 degC }}"));
    assert_eq!(cold.get(result!(shut_port_travel)), None);
}

/// §5: the car with an even cushion of 0.8 mm and an engine of 210 N·m.
#[test]
fn the_clutch_bites_long_before_its_release_point() {
    let car = outcome(
        "cover { finger_ratio = 3.4  clamp_load = 6500 N }
        disc { outer = 228 mm  inner = 150 mm  friction = 0.3  cushion = 0.8 mm  cushion_power = 1 }
        engine { torque = 210 N*m }",
    );
    is(&car, result!(bite_point), 56.970, 3);
    is(&car, result!(take_up_end), 33.234, 3);
    is(&car, result!(take_up), 23.74, 2);
    is(&car, result!(release_point), 121.776, 3);
}

/// A cushion given as a curve bites at the same places; with bending fingers the clutch bites later.
#[test]
fn a_cushion_is_a_power_or_a_curve() {
    let on = |fingers: &str, cushion: &str| {
        outcome(&format!(
            "cover {{ finger_ratio = 3.4  clamp_load = 6500 N {fingers} }}
            disc {{ outer = 228 mm  inner = 150 mm  friction = 0.3  cushion = 0.8 mm {cushion} }}
            engine {{ torque = 210 N*m }}"
        ))
    };
    let with = |cushion: &str| on("", cushion);
    let power = with("cushion_power = 1");
    let curve = with("cushion_load = curve { 0 mm: 0 N, 0.8 mm: 6500 N }");
    for id in [result!(bite_point), result!(take_up_end)] {
        let (a, b) = (power.get(id).expect("there"), curve.get(id).expect("there"));
        assert!((a - b).abs() < 1e-9, "{a} {b}");
    }
    let bending = on("finger_stiffness = 2000 N/mm", "cushion_power = 1");
    assert!(bending.get(result!(bite_point)) > power.get(result!(bite_point)));
}

/// §12: a liner of 0.05 worn to 0.15 on 120 deg of bends, facings of 0.28 that fade to 0.20.
#[test]
fn liners_wear_and_facings_fade() {
    let cable = work_out(&last_system(
        "system cable {
            pedal { pad_arm = 300 mm  rod_arm = 50 mm  travel = 150 mm }
            cable { bends = 120 deg  friction = 0.05  friction_worn = 0.15 }
            fork { slave_arm = 132 mm  bearing_arm = 60 mm }
            cover { release_travel = 7.2 mm to 10.8 mm  release_load = 1500 N }
        }",
    ))
    .expect("worked out");
    let effort = |id: ResultId| cable.get(id).expect("there");
    let more = effort(result!(pedal_effort_worn_liner)) / effort(result!(pedal_effort));
    assert!((more - 1.233).abs() < 5e-4, "{more}");

    // 302 N·m cold: a clamp load of 5707 N on this disc.
    let hot = outcome(
        "cover { clamp_load = 5707 N }
        disc { outer = 228 mm  inner = 150 mm  friction = 0.28  friction_hot = 0.20 }",
    );
    is(&hot, result!(torque_capacity), 302e3, -3);
    is(&hot, result!(torque_capacity_hot), 216e3, -3);
}

/// §7: a face 1.5 mm over 150 mm, 200 mm from the pilot; dowels of 0.178 and 0.356 mm for a bore 0.25 mm off.
#[test]
fn a_tilted_face_takes_the_shafts_tip_off_axis_and_dowels_come_in_steps() {
    let tilted = outcome(
        "bellhousing { depth = 180 mm  adapter = 8 mm  face_runout = 1.5 mm  face_circle = 150 mm }
        gearbox { input_length = 215 mm  pilot_reach = 12 mm }",
    );
    is(&tilted, result!(shaft_tip_offset), 2.0, 9);
    let tilt = tilted.get(result!(bell_tilt)).expect("there").to_degrees();
    assert!((tilt - 0.573).abs() < 5e-4, "{tilt}");
    for (dowels, left) in [(0.178, 0.144), (0.356, 0.212)] {
        let fitted = outcome(&format!(
            "bellhousing {{ runout = 0.5 mm  dowel_offset = {dowels} mm }}"
        ));
        is(&fitted, result!(dowel_residual), left, 9);
    }
}

/// The sag of a holder by 0.1 mm makes a true bore look offset; corrected for it, the bore is true again.
#[test]
fn a_holders_sag_is_taken_off_the_dial() {
    let dial =
        "dial = curve { 0 deg: 0 mm, 90 deg: -0.05 mm, 180 deg: -0.1 mm, 270 deg: -0.05 mm }";
    let off = |sag: &str| {
        let car = outcome(&format!("bellhousing {{ {dial} {sag} }}"));
        car.get(result!(bell_offset)).expect("there")
    };
    assert!((off("") - 0.05).abs() < 1e-9);
    assert!(off("sag = -0.1 mm").abs() < 1e-9);
    let curve =
        "sag = curve { 0 deg: 0 mm, 90 deg: -0.05 mm, 180 deg: -0.1 mm, 270 deg: -0.05 mm }";
    assert!(off(curve).abs() < 1e-9);
}

/// §13: a bracket under the slave gives way beside the fork, `1/k = 1/1200 + 1/400 = 1/300`.
#[test]
fn a_slaves_bracket_gives_way_beside_the_fork() {
    let bracket = outcome("slave { mount_stiffness = 400 N/mm }");
    let fork = outcome("fork { stiffness = 300 N/mm }");
    for (id, value) in fork.results.iter() {
        let other = bracket.get(id).expect("there");
        let close = (other - value).abs() <= 1e-9 * value.abs().max(1.0);
        assert!(close, "{}: {other} {value}", id.spec().name);
    }
}

/// §13: a 600 mm hose to a remote bleed screw does not slow the return; as an ordinary line it would.
#[test]
fn nothing_flows_through_the_line_to_a_bleed_screw() {
    let car = |dead_end: &str| {
        outcome(&format!(
            "fluid {{ viscosity = 250 mm^2/s }}
            line bleeder {{ bore = 1/8 in  length = 600 mm {dead_end} }}"
        ))
    };
    is(
        &outcome("fluid { viscosity = 250 mm^2/s }"),
        result!(return_time),
        0.427,
        3,
    );
    is(&car("dead_end = yes"), result!(return_time), 0.427, 3);
    let ordinary = car("").get(result!(return_time)).expect("there");
    assert!(ordinary > 0.6, "{ordinary}");
}

/// §13: an orifice of 1 mm lets 27.3 cc/s through at 1.5 MPa, and 15.7 mm of a 7/8 in slave in 0.22 s.
#[test]
fn flow_through_an_orifice() {
    let flow = bitepoint::mechanics::orifice_flow(1.5, 1.0, 1.05e-9);
    assert!((flow / 1000.0 - 27.3).abs() < 0.05, "{flow}");
    let volume = 15.7 * bitepoint::mechanics::bore_area(22.225);
    assert!((volume / flow - 0.22).abs() < 0.005);
    let car = outcome("line flex { orifice = 1 mm }");
    let time = car.get(result!(orifice_time)).expect("there");
    assert!((0.15..0.35).contains(&time), "{time}");
    assert_eq!(car.get(result!(return_time)), None);
}

/// §13: rod arm 50 mm, 35 deg before square, rod 120 mm: in line at rest it leans 4.17 deg, beside by half of its swing
/// of 8.735 mm by 2.09.
#[test]
fn a_master_beside_the_pedals_rod() {
    let car = |offset: &str| {
        outcome(&format!(
            "pedal {{ arm_angle = 35 deg  rod_length = 120 mm {offset} }}"
        ))
    };
    let lean = |car: &Outcome| {
        car.get(result!(pedal_rod_angle))
            .expect("there")
            .to_degrees()
    };
    let in_line = car("");
    assert!((lean(&in_line) - 4.17).abs() < 0.005);
    assert!((lean(&car("rod_offset = 4.3675 mm")) - 2.09).abs() < 0.005);
    let walk = in_line.chain.walk().expect("a walk");
    let full = walk.full_pedal().expect("full pedal");
    let best = walk.best_pedal_rod_offset(&full).expect("a rod");
    assert!((best - 0.5 * 8.735).abs() < 0.0005, "{best}");
}

/// §13: the slave's rod is the hypotenuse of what lies along its bore and beside it: 134 mm and 15 mm are 134.84 mm.
#[test]
fn a_rod_beside_its_bore_is_longer() {
    let car = outcome("slave { mount_to_fork = 118 mm  face_to_seat = 22 mm  rod_offset = 15 mm }");
    is(&car, result!(rod_cut_length), 134.84, 2);
}

/// §13: an over-center spring given by its hooks.
#[test]
fn a_spring_turns_over_at_the_pedal() {
    let car = outcome(
        "pedal { assist_rate = 20 N/mm  assist_free_length = 85 mm  assist_anchor = 70 mm  assist_hook = 40 mm  assist_angle = 8 deg }",
    );
    let help = car.chain.pedal.assist.as_ref().expect("a spring");
    for (pad, force) in [(0.0, -5.86), (75.0, 4.65), (150.0, 14.19)] {
        assert!((help.value(pad) - force).abs() < 0.005, "{pad}");
    }
    let without = outcome("").get(result!(pedal_effort_full)).expect("there");
    is(&car, result!(pedal_effort_full), without - 14.19, 2);
}

/// §13: a window of 0.9 mm. With a stop at its middle of 127.8 mm there is no contradiction; without one only the
/// cover's end is reported.
#[test]
fn a_small_window_is_judged_by_its_middle() {
    let car = std::fs::read_to_string("tests/cases/car.clutch").expect("the car");
    let small = |stop: &str| {
        format!(
            "{car}\nsystem small from car {{\ncover {{ release_travel = 7 mm to 7.9 mm }}\n{stop}\n}}\n"
        )
    };
    let open = work_out(&last_system(&small(""))).expect("worked out");
    let ends =
        [result!(release_point), result!(stop_travel)].map(|id| open.get(id).expect("there"));
    assert!((0.5 * (ends[0] + ends[1]) - 127.8).abs() < 0.05, "{ends:?}");
    let stopped = small("pedal { stop = 127.8 mm }");
    for check in ["over-release", "low-bite"] {
        assert_eq!(told(&stopped, check), Vec::<String>::new(), "{check}");
    }
    assert_eq!(told(&small(""), "over-release").len(), 1);
}

/// §13: the fingers of a twin disc rise for both discs: 0.8 mm of wear on each at 3.4 are 5.44 mm.
#[test]
fn both_discs_of_a_twin_wear() {
    let car = |faces: u8| {
        outcome(&format!(
            "cover {{ finger_ratio = 3.4 }}
            disc {{ outer = 228 mm  inner = 150 mm  friction = 0.3  faces = {faces}  wear = 0.8 mm }}"
        ))
    };
    let room = 6.0 * 68.0 / 112.0;
    is(&car(2), result!(wear_reserve), room - 2.72, 9);
    is(&car(4), result!(wear_reserve), room - 5.44, 9);
}

/// The least and the most of a result over the tolerances of the last system.
fn worst(blocks: &str, id: ResultId) -> bitepoint::quantity::Band {
    let car = std::fs::read_to_string("tests/cases/car.clutch").expect("the car");
    let text = format!("{car}\nsystem changed from car {{\n{blocks}\n}}\n");
    let report = bitepoint::analysis::analyse(
        common::source("worked.clutch", &text),
        &common::Library::default(),
    );
    let last = report.systems.last().expect("a system");
    let tolerances = last.tolerances.as_ref().expect("toleranced");
    tolerances.get(id).expect("there").worst
}

/// §10: covers of one number that are a tenth stronger or weaker all along.
#[test]
fn a_tenth_on_a_whole_curve_is_one_factor() {
    let cover = "cover { release_load = curve { 0 mm: 150 N, 2 mm: 900 N, 5 mm: 1500 N, 8 mm: 1400 N, 11 mm: 1300 N } ± 10 % }";
    let close = |found: f64, expected: f64, digits: i32| {
        let off = (found - expected).abs();
        assert!(
            off <= 0.5000001 * 10_f64.powi(-digits),
            "{found}, not {expected}"
        );
    };
    let strong = outcome(
        "cover { release_load = curve { 0 mm: 165 N, 2 mm: 990 N, 5 mm: 1650 N, 8 mm: 1540 N, 11 mm: 1430 N } }",
    );
    is(&strong, result!(release_margin), 2.0007, 4);
    close(worst(cover, result!(release_margin)).low, 2.0007, 4);
    close(worst(cover, result!(pedal_effort)).high, 150.20, 2);
    close(worst(cover, result!(line_pressure)).high, 2.8612, 4);
    close(worst(cover, result!(release_point)).high, 123.277, 3);
}

/// Where a curve comes below zero, one that is stronger is stronger there too.
#[test]
fn a_factor_takes_what_is_below_zero_along() {
    let of = |assist: &str| format!("pedal {{ return_force = 30 N  assist = {assist} }}");
    let band = worst(
        &of("curve { 0 mm: -20 N, 150 mm: 30 N } ± 50 %"),
        result!(pedal_effort_full),
    );
    let strong = outcome(&of("curve { 0 mm: -30 N, 150 mm: 45 N }"));
    let weak = outcome(&of("curve { 0 mm: -10 N, 150 mm: 15 N }"));
    let full = |outcome: &Outcome| outcome.get(result!(pedal_effort_full)).expect("there");
    assert!((band.low - full(&strong)).abs() < 1e-9);
    assert!((band.high - full(&weak)).abs() < 1e-9);
    let band = worst(
        &of("curve { 0 mm: -20 N, 150 mm: 30 N } ± 50 %"),
        result!(pedal_effort_slack),
    );
    let slack = |outcome: &Outcome| outcome.get(result!(pedal_effort_slack)).expect("there");
    assert!((band.high - slack(&strong)).abs() < 1e-9);
    assert!((band.low - slack(&weak)).abs() < 1e-9);
}

/// A window's end with a tolerance changes only what depends on that end.
#[test]
fn an_end_of_a_window_moves_by_its_tolerance() {
    let cover = "cover { release_travel = 7 mm ± 0.3 mm to 11 mm ± 0.1 mm }";
    let margin = worst(cover, result!(release_margin));
    let nominal = outcome("").get(result!(release_margin)).expect("there");
    assert!(
        (margin.low - (nominal - 0.3)).abs() < 1e-9 && (margin.high - (nominal + 0.3)).abs() < 1e-9
    );
    let over = worst(cover, result!(overtravel_margin));
    assert!((over.high - over.low - 0.2).abs() < 1e-9);
}

/// A car without losses but the intensifier's own, from 1 in to 3/4 in: the areas are as 16 to 9.
fn stepped(blocks: &str) -> Outcome {
    let car = "system stepped {
        pedal { ratio = 6  travel = 150 mm  efficiency = 1 }
        master { bore = 3/4 in  stroke = 36 mm  efficiency = 1 }
        intensifier { in_bore = 1 in  out_bore = 3/4 in  stroke = 20 mm  efficiency = 0.95 }
        slave { bore = 3/4 in  stroke = 30 mm  efficiency = 1 }
        fork { ratio = 1.5  efficiency = 1 }
        cover { release_travel = 7 mm to 11 mm  release_load = 1500 N }
    }";
    let text = format!("{car}\nsystem changed from stepped {{\n{blocks}\n}}\n");
    work_out(&last_system(&text)).expect("worked out")
}

/// §13: a stepped piston in the line. 25 mm of master are 25·9/16 = 14.0625 mm of piston and, into a slave of the same
/// 3/4 in, as much of slave: 9.375 mm at the bearing. 1500 N there are 1000 N on 285.023 mm², 3.5085 MPa; ahead of the
/// piston 3.5085·(9/16)/0.95 = 2.0774 MPa, 592.11 N in the rod and 98.68 N at the pad.
#[test]
fn an_intensifier_trades_volume_for_pressure() {
    let car = stepped("");
    is(&car, result!(intensifier_travel), 14.0625, 9);
    is(&car, result!(intensifier_reserve), 20.0 - 14.0625, 9);
    is(&car, result!(slave_travel), 14.0625, 9);
    is(&car, result!(bearing_travel), 9.375, 9);
    is(&car, result!(line_pressure), 3.5085, 4);
    is(&car, result!(master_pressure), 2.0774, 4);
    is(&car, result!(pedal_effort_full), 98.684, 3);
    is(&car, result!(hydraulic_ratio), 16.0 / 9.0, 9);
}

/// Its piston ends the walk: 12 mm of it are 12·16/9 = 21.333 mm of master, 128 mm of pedal and 8 mm at the bearing. A
/// foot of 700 N makes 4200 N in the rod and 14.736 MPa ahead of the piston; behind it nothing rises any more.
#[test]
fn an_intensifier_at_the_end_of_its_stroke_ends_the_walk() {
    let car = stepped("intensifier { stroke = 12 mm }");
    assert_eq!(car.ended_by, EndedBy::IntensifierStroke);
    is(&car, result!(pedal_travel_used), 128.0, 6);
    is(&car, result!(bearing_travel), 8.0, 6);
    is(&car, result!(release_margin), 1.0, 6);
    is(&car, result!(intensifier_reserve), -2.0625, 9);
    let pressed = car.pressed_on(700.0).expect("at a hard stop");
    let close = |found: Option<f64>, expected: f64| {
        assert!((found.expect("wet") - expected).abs() < 5e-4, "{found:?}");
    };
    close(pressed.master_pressure, 14.7357);
    close(pressed.pressure, 3.5085);
}

/// Its own port takes 2 mm of piston, 2·16/9 = 3.556 mm of master, before the slave moves: 12.0625 mm of slave are left.
#[test]
fn an_intensifier_has_a_port_of_its_own() {
    let car = stepped("intensifier { port_travel = 2 mm }");
    is(&car, result!(intensifier_travel), 14.0625, 9);
    is(&car, result!(slave_travel), 12.0625, 9);
    is(&car, result!(lost_port), 2.0, 9);
}

/// 500 mm of hose of 0.157029 mm³/(mm·MPa) swell by 275.47 mm³ at 3.5085 MPa behind the piston, 0.9665 mm of slave, and
/// ahead of it by 163.11 mm³ at 2.0774 MPa, of which 9/16 are missing behind it: 0.3219 mm. The way back through
/// a line ahead of it takes 16/9 times the flow, of 16/9/0.95 times the pressure.
#[test]
fn lines_ahead_of_an_intensifier_cost_less_travel_and_more_time() {
    let hose = |at: &str| {
        stepped(&format!(
            "line hose {{ bore = 1/8 in  length = 500 mm  expansion = 0.33 cc/ft / 1000 psi  {at} }}"
        ))
    };
    is(&hose("at = slave"), result!(lost_hose), 0.9665, 4);
    is(&hose(""), result!(lost_hose), 0.9665, 4);
    is(&hose("at = master"), result!(lost_hose), 0.3219, 4);
    let back = |at: &str| {
        let car = stepped(&format!(
            "cover {{ release_load = curve {{ 0 mm: 300 N, 7 mm: 1500 N }} }}
            fluid {{ viscosity = 250 mm^2/s }}
            line tube {{ bore = 1/8 in  length = 900 mm  at = {at} }}"
        ));
        car.get(result!(return_time)).expect("there")
    };
    let times = back("master") / back("slave");
    assert!(
        (times - 16.0 / 9.0 * 16.0 / 9.0 / 0.95).abs() < 1e-9,
        "{times}"
    );
}

/// A part's rating is compared with the pressure on its own side of the intensifier.
#[test]
fn ratings_are_of_one_side_of_an_intensifier() {
    let car = "system stepped {
        pedal { ratio = 6  travel = 150 mm }
        master { bore = 3/4 in  stroke = 36 mm }
        intensifier { in_bore = 1 in  out_bore = 3/4 in  stroke = 20 mm }
        slave { bore = 3/4 in  stroke = 30 mm }
        fork { ratio = 1.5 }
        cover { release_travel = 7 mm to 11 mm  release_load = 1500 N }
    }";
    let over = |blocks: &str| {
        let text = format!("{car}\nsystem changed from stepped {{\n{blocks}\n}}\n");
        told(&text, "over-pressure").len()
    };
    // About 3.9 MPa behind it, and 2.4 MPa ahead of it.
    for (rating, found) in [("2 MPa", 1), ("3 MPa", 0)] {
        assert_eq!(
            over(&format!("master {{ max_pressure = {rating} }}")),
            found
        );
    }
    for (rating, found) in [("3 MPa", 1), ("5 MPa", 0)] {
        for part in ["slave", "intensifier"] {
            assert_eq!(
                over(&format!("{part} {{ max_pressure = {rating} }}")),
                found
            );
        }
    }
    let line = |at: &str| {
        over(&format!(
            "line one {{ bore = 3.2 mm  length = 900 mm  max_pressure = 3 MPa  at = {at} }}"
        ))
    };
    assert_eq!((line("slave"), line("master")), (1, 0));
}
