//! A library while someone is typing in it. Whatever half a word does to it, the files that use it have one finding
//! at their `use`, and show the earlier results of their systems.

mod common;

use bitepoint::analysis::{Report, Work, analyse, analyse_after};
use bitepoint::checks::{Finding, Run};
use bitepoint::finding::Severity;
use common::{Library, source};
use std::collections::BTreeSet;

const LIBRARY: &str = r#"# What all vans share.
let arm = 300 mm
let reach = arm / 6
part master m19 { bore = 3/4 in  stroke = 36 mm  port_travel = 1 mm }
part master m17 {
    bore   = 17.5 mm ± 0.02 mm
    stroke = 36 mm
}
part slave s22 { bore = 7/8 in  stroke = 30 mm  rest_extension = 6 mm }
part slave s25 { bore = 15/16 in  stroke = 30 mm  rest_extension = 6 mm }
part cover soft {
    release_travel = 7 mm to 11 mm
    release_load   = curve { 0 mm: 150 N, 2 mm: 900 N, 5 mm: 1500 N, 11 mm: 1300 N }
    allow thin-margin "measured on the bench"
}
system van "what all vans share" {
    let less = 150 mm
    pedal { pad_arm = arm  rod_arm = reach  travel = less  free_play = 6 mm }
    master m19
    slave s22
    line hard { bore = 3.2 mm  length = 900 mm  wall = 0.7 mm }
    fluid { grade = dot4  bulk_modulus = 1.6 GPa }
    fork { slave_arm = 112 mm  bearing_arm = 68 mm  pivot = between }
    cover soft
    require pedal_effort <= 200 N "what drivers put up with"
}
"#;

const CAR: &str = r#"use "vans.clutch"
let low = 140 mm
system plain from van { slave s22 }
system lowered from van {
    slave s25
    let less = low
}
system kit from van {
    choose master m17, m19
    choose slave s22, s25
}
system own {
    pedal { pad_arm = arm  rod_arm = 50 mm  travel = 150 mm }
    master m19
    slave s22
    fork { ratio = 1.6 }
    cover soft
}
"#;

fn car(library: &str, before: Option<&Report>) -> Report {
    let files = Library::new(&[("vans.clutch", library)]);
    analyse_after(before, source("car.clutch", CAR), &files, &Work::default())
}

fn errors(report: &Report) -> Vec<&Finding> {
    let findings = report.findings.iter();
    findings.filter(|f| f.severity == Severity::Error).collect()
}

/// The library while each of its lines, and each of its words, is typed.
fn states() -> BTreeSet<String> {
    let is_of_word = |c: char| c.is_alphanumeric() || c == '_';
    let mut states = BTreeSet::new();
    for (at, _) in LIBRARY.char_indices() {
        let (typed, rest) = LIBRARY.split_at(at);
        let line = rest.find('\n').unwrap_or(rest.len());
        let word = rest.find(|c| !is_of_word(c)).unwrap_or(rest.len());
        states.extend([line, word].map(|gone| format!("{typed}{}", &rest[gone..])));
    }
    states
}

#[test]
fn half_a_word_in_a_library_gives_one_finding_for_each_use_and_keeps_results() {
    let good = car(LIBRARY, None);
    let problems: Vec<_> = errors(&good).iter().map(|f| f.problem.clone()).collect();
    assert!(problems.is_empty(), "{problems:#?}");
    let (mut broken, mut kept) = (0, 0);
    for state in states().into_iter().step_by(4) {
        let library = analyse(source("vans.clutch", &state), &Library::default());
        let report = car(&state, Some(&good));
        for located in &report.systems {
            let shown = located.shown();
            let name = &located.system.name;
            assert!(shown.worked.is_worked_out(), "{name}\n{state}");
            assert_eq!(shown.mistake.is_some(), !located.is_worked_out());
            kept += usize::from(shown.mistake.is_some());
        }
        // What is a value is a value, be it right or not.
        let of_text = |f: &&Finding| matches!(f.check.run, Run::Reading);
        if !errors(&library).iter().any(of_text) {
            continue;
        }
        broken += 1;
        // A definition that has another name or value by now is read as such where it is named.
        let is_read = library.source.tree.is_flawless();
        let is_read_as_such = |f: &&Finding| {
            is_read
                && matches!(
                    f.check.name(),
                    "unknown-name" | "wrong-unit" | "missing-field"
                )
        };
        let findings = errors(&report);
        let findings = findings.iter().filter(|f| !is_read_as_such(f));
        let told: Vec<_> = findings
            .map(|f| (f.check.name(), &*f.problem.message))
            .collect();
        assert!(
            told.len() <= 1 && told.iter().all(|(check, _)| *check == "use-missing"),
            "{told:#?}\n{state}"
        );
        // Nor is anything called unused that may be used in what is not read.
        let quiet = |f: &&Finding| f.severity < Severity::Error && of_text(f);
        let then: BTreeSet<_> = good
            .findings
            .iter()
            .filter(quiet)
            .map(|f| f.check.name())
            .collect();
        for finding in report.findings.iter().filter(quiet) {
            assert!(
                then.contains(finding.check.name()),
                "{:#?}\n{state}",
                finding.problem
            );
        }
        for located in &report.systems {
            let Some(mistake) = located.shown().mistake else {
                continue;
            };
            assert!(
                is_read || &*mistake.file == "vans.clutch",
                "{mistake:?}\n{state}"
            );
            assert!(is_read || told.len() == 1, "{state}");
        }
    }
    assert!(broken > 200 && kept > 300, "{broken} {kept}");
}
