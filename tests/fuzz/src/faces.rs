//! Whatever a spec says, every form in which it is told can be written, and what is for machines
//! can be read by them.

use super::input::{Dice, Pair};
use bitepoint::analysis::Report;
use bitepoint::faces::render::{
    Baseline, Checked, Size, TextStyle, calc_json, chain_drawing, check_annotations, check_json,
    check_junit, check_sarif, curve_csv, curves, findings_text, fingerprints, kits_text,
    results_text, summary,
};
use bitepoint::faces::sanitize::steers;
use bitepoint::faces::sheet::{Form, sheet};
use bitepoint::finding::Severity;
use serde_json::Value;

pub fn holds(data: &[u8]) {
    let text = String::from_utf8_lossy(data);
    let checked = Checked {
        reports: vec![Pair::new(&text).report()],
        ..Checked::default()
    };
    let report = &checked.reports[0];
    // One kind of face at a time, so that more specs are tried.
    match Dice::new(data).below(5) {
        0 => for_machines(&checked),
        1 => for_people(&checked),
        2 => results(report),
        3 => drawings(report),
        _ => sheets(report),
    }
}

fn for_machines(checked: &Checked) {
    let report = &checked.reports[0];
    is_json(&check_json(checked));
    is_json(&check_sarif(checked));
    assert!(check_junit(checked, Severity::Error).is_ok());
    let (own, allowed) = fingerprints(report);
    assert_eq!(own.len(), report.findings.len());
    assert_eq!(allowed.len(), report.allowed.len());
    let baseline = Baseline::of(&checked.reports, &str::to_owned);
    let written = baseline.to_text().expect("a baseline can be written");
    let read = Baseline::parse(&written).expect("what was written can be read");
    assert_eq!(read.count(), baseline.count());
}

fn for_people(checked: &Checked) {
    let style = TextStyle {
        colour: false,
        width: 80,
    };
    is_inert(&findings_text(&checked.reports, style));
    is_inert(&summary(checked));
    is_inert(&check_annotations(checked));
}

fn results(report: &Report) {
    let systems: Vec<_> = report.worked_systems().collect();
    is_json(&calc_json(report, &systems, None).0);
    is_inert(&kits_text(std::slice::from_ref(report), 80));
    assert!(curve_csv(&systems, 5).is_ok());
    for worked in systems {
        is_inert(&results_text(worked, None, 80));
        if let Ok(outcome) = &worked.outcome {
            assert!(outcome.results.iter().all(|(_, value)| value.is_finite()));
        }
    }
}

fn drawings(report: &Report) {
    for worked in report.worked_systems() {
        for drawing in [
            curves(worked, Size::Small),
            curves(worked, Size::Page),
            chain_drawing(worked),
        ] {
            assert!(drawing.is_none_or(|drawing| drawing.contains("</svg>")));
        }
    }
}

fn sheets(report: &Report) {
    let systems: Vec<_> = report.worked_systems().collect();
    assert!(sheet(report, &systems, Form::Html).0.ends_with("</html>"));
    assert!(!sheet(report, &systems, Form::Markdown).0.is_empty());
}

fn is_json(text: &str) {
    if let Err(error) = serde_json::from_str::<Value>(text) {
        panic!("{error}: {text}");
    }
}

/// Nothing in it steers a terminal, or turns its reading order round.
fn is_inert(text: &str) {
    assert!(!text.chars().any(steers), "{text}");
}
