//! Fault-finding: the diagnosis of readings on a car, by example, with the calculation by hand beside each.

use bitepoint::diagnose::{
    Diagnosis, Explanation, FAULTS, FaultId, Reading, Size, Value, VisitReport, best_fit, diagnose,
    readings_with,
};
use bitepoint::model::Value as Given;
use bitepoint::schema::BLOCKS;
use bitepoint::solve::work_out;
use common::injected::{Injected, Rank};
use std::path::Path;

mod common;

/// A system that starts from the Larkfield van and adds the rest.
fn report_of(body: &str) -> Diagnosis {
    let read = |name: &str| {
        let path = Path::new(env!("CARGO_MANIFEST_DIR"))
            .join("examples")
            .join(name);
        std::fs::read_to_string(path).unwrap()
    };
    let text: String = [
        "parts/cylinders.clutch",
        "parts/covers.clutch",
        "larkfield.clutch",
    ]
    .map(read)
    .join("\n")
    .lines()
    .filter(|line| !line.starts_with("use "))
    .map(|line| format!("{line}\n"))
    .collect();
    let system = common::last_system(&format!("{text}\nsystem car from larkfield {{ {body} }}"));
    assert!(system.is_workable(), "{body}: {:?}", system.mistake);
    let outcome = work_out(&system).unwrap();
    diagnose(&system, &outcome)
}

fn visit(readings: &str) -> VisitReport {
    let report = report_of(&format!("measured {{ {readings} }}"));
    report.visits.into_iter().next().expect("a visit")
}

fn explaining(visit: &VisitReport) -> Vec<FaultId> {
    let explains = |fault: &&Explanation| fault.explains;
    let faults = visit.faults.iter().filter(explains);
    faults.map(|fault| fault.sized.fault).collect()
}

fn size(visit: &VisitReport, fault: FaultId) -> f64 {
    let mut faults = visit.faults.iter();
    let found = faults.find(|one| one.sized.fault == fault);
    found.expect("it is listed").sized.value.expect("a size")
}

fn ruled_out(visit: &VisitReport, fault: FaultId) -> Reading {
    let mut out = visit.ruled_out.iter();
    out.find(|one| one.fault == fault).expect("ruled out").by
}

/// By hand: the master's piston is 23.00 − 20 = 3.00 mm short, which is 3.00 · (19.05 / 22.225)² = 2.20 mm at the
/// slave: 15.59 − 2.20 = 13.39 mm, and 13.5 mm were read. There is no air. What keeps the master's piston from moving
/// 3.00 mm is 18 mm of pad at a ratio of 6:1.
#[test]
fn a_short_master_explains_a_short_slave_and_there_is_no_air() {
    let found = visit("slave_travel = 13.5 mm  master_travel = 20 mm");
    let explains = explaining(&found);
    assert!(explains.contains(&FaultId::LostFreePlay), "{explains:?}");
    // A pad that was measured at full pedal does not stop short.
    let measured = visit("pedal_travel = 150 mm  slave_travel = 13.5 mm  master_travel = 20 mm");
    assert_eq!(
        ruled_out(&measured, FaultId::ShortPedal),
        Reading::PedalTravel
    );
    assert!(explains.contains(&FaultId::ShortPedal) && explains.contains(&FaultId::FirewallFlex));
    for no in [
        FaultId::Air,
        FaultId::HoseSwell,
        FaultId::PortOpen,
        FaultId::LeakBy,
    ] {
        assert_eq!(ruled_out(&found, no), Reading::MasterTravel, "{no:?}");
    }
    let short = size(&found, FaultId::ShortPedal);
    assert!((short - 18.0).abs() < 0.5, "{short}");
}

/// By hand: the fork turns 15.6 mm into 7 mm and 0.35 mm of bending (425 N over 1200 N/mm), where its arms of 112 and
/// 68 mm should give (15.6 − 0.35) / 1.647 = 9.3 mm: a ratio of about 15.2 / 7 = 2.2, or 15.6 − 0.35 − 7 · 1.647 =
/// 3.7 mm more of bending, less what the accuracies leave open.
#[test]
fn a_slave_that_moves_and_a_bearing_that_does_not_is_the_fork() {
    let found = visit("slave_travel = 15.6 mm  bearing_travel = 7 mm");
    assert_eq!(
        explaining(&found),
        [FaultId::ForkOffPivot, FaultId::ForkFlex]
    );
    let ratio = size(&found, FaultId::ForkOffPivot);
    assert!((ratio - 2.2).abs() < 0.05, "{ratio}");
    assert_eq!(
        ruled_out(&found, FaultId::NothingWrong),
        Reading::BearingTravel
    );
    assert_eq!(found.decides, Some(Reading::BearingTravel));
}

/// By hand: full release is at 126 mm of pad, where the fingers have moved 7.2 mm. Coming free at 148 mm may be air (1 cc
/// squeezed to next to nothing is 1000 mm³ / 388 mm² = 2.6 mm of slave, 2.6 · 1.36 · 6 = 21 mm of pad) or 1.68 mm more
/// of finger travel (1.68 · 1.647 · 1.36 · 6 = 22.6 mm of pad), and more free play by the same 22 mm.
#[test]
fn a_late_release_point_is_not_passed_over() {
    let found = visit("release_point = 148 mm");
    assert!(!found.agrees);
    let explains = explaining(&found);
    for one in [FaultId::Air, FaultId::LateRelease, FaultId::LostFreePlay] {
        assert!(explains.contains(&one), "{one:?}: {explains:?}");
    }
    assert!((size(&found, FaultId::LateRelease) - 1.68).abs() < 0.05);
    assert!((size(&found, FaultId::LostFreePlay) - 22.4).abs() < 0.3);
    assert!((size(&found, FaultId::Air) - 1000.0).abs() < 150.0);
    assert_eq!(
        ruled_out(&found, FaultId::NothingWrong),
        Reading::ReleasePoint
    );
}

/// By the spec this slave is at the end of its stroke at 89 mm of pedal. With 2 cc of air it gets there at 110 mm, and the
/// disc comes free at 99: the pad goes further than on a healthy car, and what is read there counts.
#[test]
fn a_release_point_past_the_end_of_a_healthy_slave_counts() {
    let text = "system car {
    pedal { travel = 171.5 mm  ratio = 4.428  free_play = 15.2 mm }
    master { bore = 5/8 in  stroke = 21.4 mm }
    line hose { bore = 3.2 mm  length = 1220 mm }
    slave { bore = 11/16 in  stroke = 15.2 mm  rest_extension = 1.7 mm }
    fluid { bulk_modulus = 1.574 GPa }
    fork { ratio = 1.266 }
    cover { release_travel = 5.66 mm to 8.08 mm  release_load = 1703 N  finger_ratio = 3.02 }
    measured { slave_travel = 9 mm  release_point = 99 mm  frees = yes }
}";
    let system = common::last_system(text);
    let found = diagnose(&system, &work_out(&system).unwrap());
    let explains = explaining(&found.visits[0]);
    assert!(explains.contains(&FaultId::Air), "{explains:?}");
    assert!((size(&found.visits[0], FaultId::Air) - 2000.0).abs() < 100.0);
}

/// Without a slave reading, the fork and everything before it are equally likely. The next reading separates them.
#[test]
fn a_bearing_reading_alone_leaves_several_faults() {
    let found = visit("bearing_travel = 7 mm");
    let explains = explaining(&found);
    for one in [
        FaultId::Air,
        FaultId::ForkOffPivot,
        FaultId::ForkFlex,
        FaultId::SmallMaster,
    ] {
        assert!(explains.contains(&one), "{one:?}: {explains:?}");
    }
    assert!(found.faults.iter().filter(|fault| fault.equal).count() > 8);
    // 7 mm at the fingers, where 7.2 mm free the disc, and a tape reads to 0.5 mm.
    assert_eq!(
        (found.finger_travel.map(|f| f.travel), found.drags),
        (Some(7.0), false)
    );
    assert!(
        !found.next.is_empty() && found.next[0].tells > 0.3,
        "{:?}",
        found.next
    );
}

/// A slave that stands still is air to the last drop, a master that never seals, or a rod that never reaches it.
#[test]
fn a_slave_that_does_not_move_drags() {
    let found = visit("slave_travel = 0 mm");
    assert!(found.drags && !found.agrees);
    let explains = explaining(&found);
    for one in [FaultId::PortOpen, FaultId::LostFreePlay] {
        assert!(explains.contains(&one), "{one:?}: {explains:?}");
    }
}

/// 0.01 in is 0.25 mm, and a tape reads to 0.5 mm.
#[test]
fn a_difference_below_a_tapes_accuracy_is_ignored() {
    let found = visit("slave_travel = 15.34 mm");
    assert!(found.agrees && !found.drags);
    assert_eq!(explaining(&found), [FaultId::NothingWrong]);
    // With a better tool it counts.
    let found = visit("slave_travel = 15.34 mm ± 0.05 mm");
    assert!(!found.agrees);
}

/// By hand: 0.45 in is 11.43 mm; less 0.35 mm of bending it is 11.1 / 1.647 = 6.7 mm at the bearing at most, and 7.2 mm
/// free the disc.
#[test]
fn a_slave_that_is_far_short_drags_and_the_masters_travel_is_asked_for() {
    let found = visit("slave_travel = 0.45 in");
    assert!(found.drags);
    assert!((found.finger_travel.unwrap().travel - 6.5).abs() < 0.1);
    assert_eq!(found.faults[0].sized.fault, FaultId::Air);
    assert_eq!(found.next[0].reading, Reading::MasterTravel);
    // 1.66 cc that are squeezed to 4 % leave 1.59 cc missing: 4.1 mm of a slave of 388 mm².
    assert!((size(&found, FaultId::Air) - 1656.0).abs() < 20.0);
}

/// If the master's travel is short by as much as explains the slave's, there is no air. If the disc is released as it
/// should be, the disc is not at fault.
#[test]
fn a_reading_upstream_is_never_contradicted_by_a_cause_downstream() {
    let downstream = [
        FaultId::Air,
        FaultId::HoseSwell,
        FaultId::PortOpen,
        FaultId::LeakBy,
        FaultId::LargeSlave,
        FaultId::ForkFlex,
        FaultId::ForkOffPivot,
    ];
    for short in [2.0, 3.0, 5.0, 8.0] {
        let master = 23.0 - short;
        // The ratio of the areas is (22.225 / 19.05)² = 1.361.
        let slave = 15.59 - short / 1.361;
        let found = visit(&format!(
            "master_travel = {master:.1} mm  slave_travel = {slave:.1} mm"
        ));
        let explains = explaining(&found);
        assert!(!explains.is_empty());
        for one in downstream {
            assert!(!explains.contains(&one), "{one:?} at {short}");
        }
    }
}

/// Two faults at once: 18 mm of pad gone and 1.2 cc of air.
#[test]
fn two_faults_are_found_where_no_single_one_explains() {
    let found = visit(
        "master_travel = 20 mm  slave_travel = 10.5 mm  pedal_effort = 143 N  line_pressure = 2.55 MPa",
    );
    assert!(explaining(&found).is_empty(), "{:?}", found.faults);
    let pair = found.pairs.first().expect("a pair");
    assert!(
        pair.faults.iter().any(|one| one.fault == FaultId::Air),
        "{pair:?}"
    );
}

#[test]
fn visits_show_what_changed() {
    let report = report_of(
        "measured first_call { slave_travel = 0.45 in  pedal_effort = 140 N }
         measured after_bleeding { slave_travel = 15.5 mm  pedal_effort = 143 N }",
    );
    let [first, second] = &report.visits[..] else {
        panic!("two visits");
    };
    assert_eq!(first.label.as_deref(), Some("first_call"));
    assert!(first.drags && !second.drags && second.agrees);
    let real: Vec<_> = second
        .changes
        .iter()
        .map(|c| (c.reading, c.is_real))
        .collect();
    assert_eq!(
        real,
        [(Reading::SlaveTravel, true), (Reading::PedalEffort, false)]
    );
}

/// By hand: 18 mm where 15.59 mm are worked out is 2.41 mm more, which takes 2.41 · 1.361 · 6 = 19.7 mm more of pad,
/// or areas that are further apart by 18 / 15.59, with the 1.7 mm that are lost on both sides 19.7 / 17.3: a master of
/// 19.05 · 1.067 = 20.3 mm, and 13/16 in is 20.64, or a slave of 22.225 / 1.067 = 20.8 mm, and 13/16 in again. The 6 mm
/// of free play are worth 6 / 6 / 1.361 = 0.73 mm at the slave, and a firewall, hose and port that lose nothing do not
/// come into the table: they are the spec's own.
#[test]
fn a_slave_that_goes_further_is_fitted_like_one_that_falls_short() {
    let found = visit("slave_travel = 18 mm");
    let explains = explaining(&found);
    for one in [
        FaultId::SmallSlave,
        FaultId::LargeMaster,
        FaultId::LongPedal,
    ] {
        assert!(explains.contains(&one), "{one:?}: {explains:?}");
    }
    assert!((size(&found, FaultId::LongPedal) - 19.7).abs() < 1.0);
    assert!((size(&found, FaultId::SmallSlave) - 20.64).abs() < 0.1);
    assert!((size(&found, FaultId::LargeMaster) - 20.64).abs() < 0.1);
    assert_eq!(
        ruled_out(&found, FaultId::LessFreePlay),
        Reading::SlaveTravel
    );
    assert!(!found.next.is_empty(), "they are told apart");
    // A master that moves no further leaves the bores.
    let found = visit("slave_travel = 18 mm  master_travel = 23 mm");
    let explains = explaining(&found);
    assert!(!explains.contains(&FaultId::LongPedal) && explains.contains(&FaultId::SmallSlave));
}

/// By hand, of the pad, whose arm is 0.25 rad before square and so has a ratio of 6 / cos 0.25 = 6.2 there: 6 mm of free
/// play, 1.2 · 6.2 = 7.4 mm to the port, 0.42 mm of slave that hose and fluid take, 0.42 · 1.361 · 6.2 = 3.5 mm, and the
/// firewall, (144 − 10) · 0.95 · 6.1 / 900 = 0.86 mm, 5.3 mm: 22.2 mm. 1 cc of air squeezed to 4 % is 960 mm³ /
/// 285 mm² · 6.2 = 20.9 mm more. A fork that bends and a stiffer cover cannot move a slave that is blocked.
#[test]
fn a_blocked_slave_tells_the_line_from_what_lies_behind_it() {
    let agrees = visit("blocked_travel = 22.2 mm ± 0.5 mm");
    assert!(agrees.agrees, "{:?}", agrees.misses);
    let found = visit("blocked_travel = 43 mm");
    let explains = explaining(&found);
    let air = size(&found, FaultId::Air);
    assert!((air - 1000.0).abs() < 60.0, "{air}");
    for one in [
        FaultId::HoseSwell,
        FaultId::FirewallFlex,
        FaultId::LostFreePlay,
    ] {
        assert!(explains.contains(&one), "{one:?}: {explains:?}");
    }
    for no in [
        FaultId::ForkFlex,
        FaultId::ForkOffPivot,
        FaultId::StiffCover,
        FaultId::LateRelease,
        FaultId::ShortPedal,
    ] {
        assert_eq!(ruled_out(&found, no), Reading::BlockedTravel, "{no:?}");
    }
    // A late release is the disc's, or the line's: the blocked slave says which.
    let found = visit("release_point = 148 mm  blocked_travel = 22 mm");
    let explains = explaining(&found);
    assert!(explains.contains(&FaultId::LateRelease), "{explains:?}");
    for no in [FaultId::Air, FaultId::LostFreePlay, FaultId::PortOpen] {
        assert!(!explains.contains(&no), "{no:?}: {explains:?}");
    }
}

/// No fault brings about a release point past full pedal, where the pad does not go.
#[test]
fn a_release_point_past_full_pedal_blames_no_part() {
    let found = visit("release_point = 400 mm");
    assert!(!found.agrees);
    assert_eq!(explaining(&found), []);
}

/// A finger at the pad tells a pushrod that is set wrong from all that is further down. By hand: the spec's own 6 mm,
/// and 28 mm where 22 more are lost.
#[test]
fn free_play_felt_at_the_pad_tells_a_pushrod_from_air() {
    let short = "slave_travel = 12.9 mm";
    let found = visit(short);
    let both = [FaultId::Air, FaultId::LostFreePlay];
    let explained = explaining(&found);
    assert!(
        both.iter().all(|fault| explained.contains(fault)),
        "{explained:?}"
    );
    let found = visit(&format!("{short}  free_play = 6 mm"));
    assert!(explaining(&found).contains(&FaultId::Air));
    assert!(!explaining(&found).contains(&FaultId::LostFreePlay));
    let mut expected = found.expected.iter();
    let worked_out = expected.find(|(one, _)| *one == Reading::FreePlay);
    let Some((_, Some(Value::Number(worked_out)))) = worked_out else {
        panic!("{worked_out:?}")
    };
    assert!((worked_out - 6.0).abs() < 1e-9);
    // By hand 22 mm more at the pad are 22 / 6 / 1.361 = 2.69 mm at the slave.
    let found = visit(&format!("{short}  free_play = 28 mm"));
    assert_eq!(explaining(&found), [FaultId::LostFreePlay]);
    assert!((size(&found, FaultId::LostFreePlay) - 22.0).abs() < 1.0);
    assert_eq!(ruled_out(&found, FaultId::Air), Reading::FreePlay);
}

/// On a cable the finger feels all play up to the fingers: by hand (1 mm of the cable at the pedal's rod, and 2 mm of
/// the bearing over a fork of 110 / 66, 3.33 mm), 4.33 mm at a pedal of 6: 26 mm.
#[test]
fn free_play_of_a_cable_goes_up_to_the_fingers() {
    let text = "system car {
        pedal { ratio = 6  travel = 150 mm }
        cable { stiffness = 400 N/mm  play = 1 mm  bends = 180 deg  friction = 0.1 }
        fork { slave_arm = 110 mm  bearing_arm = 66 mm }
        bearing { free_play = 2 mm }
        cover { release_travel = 7.2 mm to 10.8 mm  release_load = 1500 N }
    }";
    let system = common::last_system(text);
    let outcome = work_out(&system).unwrap();
    let all = readings_with(&system, &outcome, &[], None).unwrap();
    let felt = all.iter().find(|(one, _)| *one == Reading::FreePlay);
    let Some((_, Value::Number(felt))) = felt else {
        panic!("{all:?}")
    };
    assert!((felt - 26.0).abs() < 1e-6, "{felt}");
}

/// The bearing cannot have moved 9 mm with a slave that stood still: the slave was misread, since all the rest fits. Of
/// two readings that contradict each other, either may be wrong.
#[test]
fn readings_that_contradict_each_other_are_named() {
    let found = visit("slave_travel = 0 mm  bearing_travel = 9 mm  frees = yes");
    assert_eq!(explaining(&found), []);
    assert!(found.pairs.is_empty(), "{:?}", found.pairs);
    assert_eq!(found.odd, [Reading::SlaveTravel]);
    let found = visit("slave_travel = 5 mm  frees = yes");
    assert_eq!(found.odd, [Reading::SlaveTravel, Reading::Frees]);
    // Where a fault explains, nothing is odd.
    assert_eq!(visit("slave_travel = 12 mm  frees = no").odd, []);
}

/// A pad that goes 20 mm further takes the slave along: by hand 20 / 6 / 1.361 = 2.45 mm.
#[test]
fn a_pad_that_goes_further_takes_the_slave_along() {
    let found = visit("pedal_travel = 170 mm  slave_travel = 18 mm");
    assert_eq!(explaining(&found), [FaultId::LongPedal]);
    assert!((size(&found, FaultId::LongPedal) - 20.0).abs() < 1.0);
}

/// Even a scale that shows zero is not accurate to a thousandth of a newton.
#[test]
fn a_small_force_is_known_as_well_as_the_scale_shows_it() {
    // A master that never seals: the foot feels the pedal's own spring of 10 N, and the scale shows 9.
    let found = visit("slave_travel = 0 mm  pedal_effort = 9 N  line_pressure = 0 MPa");
    assert!(
        explaining(&found).contains(&FaultId::PortOpen),
        "{:?}",
        found.ruled_out
    );
}

/// The slave is as short as on the first visit, so nothing was touched. The first visit's readings still rule faults
/// out and are not asked for again.
#[test]
fn unchanged_visits_are_diagnosed_together() {
    let report = report_of(
        "measured first { slave_travel = 11.5 mm  master_travel = 23 mm }
         measured second { slave_travel = 11.8 mm  pedal_effort = 142 N }
         measured third { pedal_effort = 143 N  half_travel = 2.9 mm }
         measured after_bleeding { slave_travel = 15.5 mm }",
    );
    let [first, second, third, after] = &report.visits[..] else {
        panic!("four visits");
    };
    let label = |text: &str| Some(text.to_owned());
    assert!(first.carried.is_empty());
    assert_eq!(second.carried, [(Reading::MasterTravel, label("first"))]);
    let explains = explaining(second);
    assert!(explains.contains(&FaultId::Air) && !explains.contains(&FaultId::LostFreePlay));
    let carried = [
        (Reading::SlaveTravel, label("second")),
        (Reading::MasterTravel, label("first")),
    ];
    assert_eq!(third.carried, carried);
    assert!(third.drags, "the slave is as short as it was");
    let asked = |visit: &VisitReport| {
        visit
            .next
            .iter()
            .any(|n| n.reading == Reading::MasterTravel)
    };
    assert!(!asked(second) && !asked(third));
    // The slave moves again: something was done, and nothing of before is known to hold.
    assert!(after.carried.is_empty() && after.agrees);
}

/// If no number was read twice, or the readings together cannot be of one car, each visit is taken alone.
#[test]
fn visits_of_a_changed_car_are_diagnosed_alone() {
    for visits in [
        // Nothing was read twice.
        "measured a { slave_travel = 12 mm } measured b { master_travel = 23 mm }",
        // A word is no measure.
        "measured a { slave_travel = 12 mm  feel = firm } measured b { master_travel = 23 mm  feel = firm }",
        // The foot says that something changed.
        "measured a { slave_travel = 12 mm  feel = soft } measured b { slave_travel = 12 mm  feel = firm }",
        // Read at another place of the pedal.
        "measured a { slave_travel = 6 mm  pedal_travel = 75 mm } measured b { slave_travel = 6 mm }",
        // The disc's release is of another car than the bearing's travel: it was changed between.
        "measured a { master_travel = 23 mm  slave_travel = 0 mm }
         measured b { master_travel = 23 mm  bearing_travel = 9 mm }",
    ] {
        let report = report_of(visits);
        let [_, second] = &report.visits[..] else {
            panic!("two visits");
        };
        assert_eq!(second.carried, [], "{visits}");
    }
}

/// By hand: the slave's area is 388 mm² and the master's 285 mm². 160 N of drag on the slave's piston ask for 160 / 0.95 /
/// 388 = 0.434 MPa more, 2.55 + 0.43 = 2.98 MPa, which is 0.434 · 285 / 0.95 = 130 N at the master's rod and 130 / 6.1 /
/// 0.95 = 22 N at the pad: 144 + 22 = 166 N. A cover that is stiffer by 17 % takes the same. On the way back the drag holds
/// the slave, 160 / 388 · 285 · 0.95 / 6.1 · 0.95 = 17 N less at the pad, where a stiffer cover would push back with more.
#[test]
fn a_sticking_slave_is_told_from_a_stiff_cover_on_the_way_back() {
    let sound = visit("let_up_effort = 1 N");
    let Some((_, Some(Value::Number(sound)))) = sound.expected.first() else {
        panic!("{:?}", sound.expected);
    };
    let pressed = "pedal_effort = 166 N  line_pressure = 2.98 MPa";
    let found = visit(pressed);
    let explains = explaining(&found);
    for one in [
        FaultId::StickingSlave,
        FaultId::DryFork,
        FaultId::StiffCover,
    ] {
        assert!(explains.contains(&one), "{one:?}: {explains:?}");
    }
    // The master and the pedal lie before the gauge.
    for no in [
        FaultId::StickingMaster,
        FaultId::BindingPedal,
        FaultId::Friction,
    ] {
        assert_eq!(ruled_out(&found, no), Reading::LinePressure, "{no:?}");
    }
    assert!((size(&found, FaultId::StickingSlave) - 160.0).abs() < 8.0);
    let let_up = sound - 17.0;
    let found = visit(&format!("{pressed}  let_up_effort = {let_up:.1} N"));
    let explains = explaining(&found);
    assert!(explains.contains(&FaultId::StickingSlave), "{explains:?}");
    assert!((size(&found, FaultId::StickingSlave) - 160.0).abs() < 8.0);
    assert!(!explains.contains(&FaultId::StiffCover), "{explains:?}");
    // A fork that moves freely with its rod off leaves the slave.
    let found = visit(&format!(
        "{pressed}  let_up_effort = {let_up:.1} N  fork_drag = 5 N"
    ));
    let explains = explaining(&found);
    assert!(explains.contains(&FaultId::StickingSlave), "{explains:?}");
    assert!(!explains.contains(&FaultId::DryFork), "{explains:?}");
}

/// By hand: the pedal's own spring of 10 N is all that brings it up once the bearing has left the fingers. It stays down
/// where the spring is off, or where the pivot drags with more than 10 N. A share of the force that is lost leaves the
/// spring's 10 N, whatever the share.
#[test]
fn a_pedal_that_stays_down_has_no_spring_or_a_pivot_that_binds() {
    let found = visit("comes_up = no");
    let explains = explaining(&found);
    for one in [FaultId::WeakPedalSpring, FaultId::BindingPedal] {
        assert!(explains.contains(&one), "{one:?}: {explains:?}");
    }
    for no in [
        FaultId::NothingWrong,
        FaultId::Friction,
        FaultId::Binding,
        FaultId::StiffCover,
    ] {
        assert_eq!(ruled_out(&found, no), Reading::ComesUp, "{no:?}");
    }
    let found = visit("comes_up = no  pedal_drag = 25 N");
    assert!((size(&found, FaultId::BindingPedal) - 25.0).abs() < 1.0);
    assert_eq!(
        ruled_out(&found, FaultId::WeakPedalSpring),
        Reading::PedalDrag
    );
    assert_eq!(
        explaining(&visit("comes_up = yes")),
        [FaultId::NothingWrong]
    );
}

/// A spec need not name the spring that brings its pedal up: a sound one comes up, and one that does not is not sound.
#[test]
fn a_pedal_without_a_named_spring_is_taken_to_come_up() {
    let with = |reading: &str| {
        let report = report_of(&format!(
            "pedal {{ return_force = 0 N }} measured {{ comes_up = {reading} }}"
        ));
        report.visits.into_iter().next().unwrap()
    };
    assert!(with("yes").agrees);
    let stays = with("no");
    assert!(!stays.agrees);
    let explains = explaining(&stays);
    assert!(explains.contains(&FaultId::BindingPedal), "{explains:?}");
    assert!(!explains.contains(&FaultId::WeakPedalSpring));
}

/// By hand: 60 N at the fork's end are 60 / 0.95 / 388 = 0.163 MPa, three times what a gauge is read to, and 60 / 0.95 · 285 /
/// 388 / 0.95 / 6.1 / 0.95 = 8 N at the pad. Without the spring the car takes what the Larkfield takes that has none.
#[test]
fn a_spring_at_the_fork_that_is_off_leaves_pressure_and_effort_low() {
    let readings = "measured { pedal_effort = 144 N  line_pressure = 2.55 MPa }";
    let report = report_of(&format!("fork {{ return_force = 60 N }} {readings}"));
    let found = &report.visits[0];
    let explains = explaining(found);
    assert!(explains.contains(&FaultId::WeakForkSpring), "{explains:?}");
    let gone = size(found, FaultId::WeakForkSpring);
    assert!((gone - 1.0).abs() < 0.1, "{gone}");
    // A car without such a spring cannot lose it.
    let found = visit("pedal_effort = 120 N");
    let mut named = found.faults.iter().map(|fault| fault.sized.fault);
    assert!(!named.any(|fault| fault == FaultId::WeakForkSpring));
    let mut out = found.ruled_out.iter().map(|one| one.fault);
    assert!(!out.any(|fault| fault == FaultId::WeakForkSpring));
}

/// How many cars a property is tried on.
const CARS: usize = 500;

/// The shares, out of 100, in which the true fault must be found. `cargo bench --bench diagnosis` gives them for
/// 10,000 cars.
#[test]
fn an_injected_fault_is_found() {
    let (mut cars, mut like, mut explains, mut after, mut seed) = (0, 0, 0, 0, 0);
    while cars < CARS {
        seed += 1;
        let Some(mut car) = Injected::draw(seed, false) else {
            continue;
        };
        cars += 1;
        let report = car.report();
        let mut rank = car.rank(&report);
        like += usize::from(rank <= Rank::LikeFirst);
        explains += usize::from(rank <= Rank::Explains);
        if let Some(next) = report.next.first() {
            car.read(next.reading);
            rank = car.rank(&car.report());
        }
        after += usize::from(rank <= Rank::LikeFirst);
    }
    assert!(
        like * 100 >= 95 * cars,
        "first, or like it: {like} of {cars}"
    );
    assert!(
        explains * 200 >= 199 * cars,
        "among those that explain: {explains} of {cars}"
    );
    assert!(
        after * 100 >= 95 * cars,
        "after the next reading: {after} of {cars}"
    );
}

#[test]
fn a_healthy_car_is_never_blamed() {
    let mut cars = 0;
    for car in (1..)
        .filter_map(|seed| Injected::draw(seed, true))
        .take(CARS / 2)
    {
        let report = car.report();
        assert!(
            report.agrees && !report.drags,
            "{} {:?}",
            car.text,
            car.visit
        );
        assert_eq!(
            explaining(&report),
            [FaultId::NothingWrong],
            "{:?}",
            car.visit
        );
        cars += 1;
    }
    assert_eq!(cars, CARS / 2);
}

/// By hand: the master moves 23.0 mm, less 1.2 mm to its port: 21.8 · 285 mm² = 6.21 cc a stroke. The lines hold
/// 900 · 8.04 + 350 · 7.92 = 10.0 cc, and the slave's 25 mm of chamber 388 · 25 = 9.7 cc: 19.7 / 6.21 = 3.2, so the
/// fourth stroke brings a bubble to the screw, and one stroke does not clear the lines. The slave's bore falls away from
/// the screw by 3 deg: it holds nothing.
#[test]
fn bleeding_in_numbers() {
    let found = visit("slave_travel = 12.9 mm  master_travel = 23 mm");
    let plan = found.bleeding.expect("air stands");
    let near = |value: f64, hand: f64| assert!((value / hand - 1.0).abs() < 0.02, "{plan:?}");
    near(plan.per_stroke, 6210.0);
    near(plan.to_screw, 19_700.0);
    near(plan.pushed_back, 388.0 * 12.0);
    assert_eq!((plan.strokes, plan.clears_lines), (4, false));
    assert_eq!((plan.held, plan.tilt), (Some(0.0), None));
    assert_eq!(plan.elsewhere, plan.air);
    // No air, no plan.
    assert!(visit("slave_travel = 15.5 mm").bleeding.is_none());
    // 5 deg nose up over 30 mm of chamber: the far end is 2.6 mm higher, and holds a bubble.
    let report = report_of(
        "slave { slope = 5 deg  chamber = 30 mm } measured { slave_travel = 12.9 mm  master_travel = 23 mm }",
    );
    let plan = report.visits[0].bleeding.expect("air stands");
    assert!(
        plan.held.unwrap() > 100.0 && plan.tilt.unwrap() > 0.08,
        "{plan:?}"
    );
}

/// Writes cars, their readings and every fault's best size, for the second solver in `tests/oracles/`.
#[test]
fn fits_are_written_for_the_second_solver() {
    let mut cars = Vec::new();
    for seed in 1.. {
        if let Some(mut car) = Injected::draw(seed, false) {
            let also: &[Reading] = match seed % 3 {
                0 => &[Reading::BlockedTravel],
                1 => &[Reading::HeldEffort, Reading::LetUpEffort, Reading::ComesUp],
                _ => &[Reading::PedalDrag, Reading::ForkDrag],
            };
            for reading in also {
                car.read(*reading);
            }
            cars.push(exported(&car));
        }
        if cars.len() == 60 {
            break;
        }
    }
    let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join("diagnosis.json");
    std::fs::write(path, serde_json::to_vec(&cars).unwrap()).unwrap();
}

fn exported(car: &Injected) -> serde_json::Value {
    use serde_json::{Map, json};
    let values = |component: &bitepoint::model::Component, prefix: &str| -> Map<String, _> {
        let block = &BLOCKS[component.block as usize];
        let given = block.fields.iter().zip(&component.fields);
        given
            .filter_map(|(field, given)| {
                let value = match &given.as_ref()?.value {
                    Given::Quantity { band, .. } => json!(band.nominal),
                    Given::Window { low, high } => json!([low.nominal, high.nominal]),
                    Given::Curve(points) => json!(points.iter().collect::<Vec<_>>()),
                    _ => return None,
                };
                Some((format!("{prefix}{}", field.name), value))
            })
            .collect()
    };
    let mut all = Map::new();
    for component in car.system.blocks.iter().flatten() {
        let block = BLOCKS[component.block as usize].name;
        all.append(&mut values(component, &format!("{block}.")));
    }
    let lines: Vec<_> = car
        .system
        .lines
        .iter()
        .map(|line| values(line, ""))
        .collect();
    let taken = car.visit.taken.iter().map(|taken| {
        let value = match taken.value {
            Value::Number(number) => json!(number),
            Value::Word(word) => json!(word),
        };
        json!({ "reading": taken.reading.name(), "value": value, "accuracy": taken.accuracy })
    });
    let fits = FAULTS.iter().filter_map(|row| {
        let fit = best_fit(&car.system, &car.outcome, &car.visit, row.id)?;
        let (low, high) = match row.size {
            Size::None => return None,
            Size::Between { low, high, .. } => (low, high),
            Size::Factor { most, .. } => (-most, most),
            Size::Bore { .. } => (0.0, 0.0),
        };
        let misses = fit
            .misses
            .iter()
            .map(|(reading, miss)| (reading.name(), *miss));
        let misses: std::collections::BTreeMap<_, _> = misses.collect();
        Some(json!({
            "fault": row.name, "low": low, "high": high, "value": fit.sized.value, "misses": misses,
        }))
    });
    json!({
        "text": car.text,
        "values": all,
        "lines": lines,
        "taken": taken.collect::<Vec<_>>(),
        "fits": fits.collect::<Vec<_>>(),
    })
}

/// By hand: 1500 N at the fingers bend the fork by 1500 / 1.647 / 1200 = 0.76 mm, and 12.9 mm of slave travel are
/// (12.9 − 0.76) / 1.647 = 7.37 mm at the fingers: 0.17 mm past 7.2 mm, where a tape leaves 0.5 / 1.647 = 0.3 mm open.
/// 20 mm are about 11.7 mm at the fingers, and the cover takes 10.8 mm.
#[test]
fn what_a_tape_cannot_tell_is_too_close_to_call_and_past_the_limit_is_said() {
    let close = visit("slave_travel = 12.9 mm");
    let fingers = close.finger_travel.expect("it was read at full pedal");
    assert!(!close.drags && fingers.is_too_close_to(close.needed));
    assert!((fingers.travel - 7.37).abs() < 0.01, "{fingers:?}");
    assert!((fingers.accuracy - 0.3).abs() < 0.01, "{fingers:?}");
    assert_eq!(close.past_limit, None);
    let past = visit("slave_travel = 20 mm  master_travel = 15 mm");
    let fingers = past.past_limit.expect("the cover takes less");
    assert!(fingers.travel > past.most + fingers.accuracy && (past.most - 10.8).abs() < 1e-9);
}
