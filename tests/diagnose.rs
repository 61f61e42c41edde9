//! Fault-finding: what readings on a car say, by example and with the calculation by hand beside it.

use bitepoint::diagnose::{Diagnosis, Explanation, FaultId, Reading, VisitReport, diagnose};
use bitepoint::solve::work_out;
use std::path::Path;

mod common;

/// A system that starts from the Larkfield van and says the rest.
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
    let found = visit("pedal_travel = 150 mm  slave_travel = 13.5 mm  master_travel = 20 mm");
    let explains = explaining(&found);
    assert!(explains.contains(&FaultId::LostFreePlay), "{explains:?}");
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
