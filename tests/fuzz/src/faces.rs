//! For any spec, every form of output can be written, and machine formats can be parsed.

use super::input::{Dice, Pair};
use bitepoint::analysis::Report;
use bitepoint::analysis::diagnosis::diagnosis;
use bitepoint::faces::render::{
    Baseline, CheckForm, CheckRenderer, Ending, ResultsLayout, Size, TextStyle, askable_markdown,
    askable_text, calc_json, chain_drawing, curve_csv, curves, diagnosed_json, diagnosis_json,
    diagnosis_markdown, diagnosis_text, fingerprints, kits_text, results_text,
};
use bitepoint::faces::sanitize::steers;
use bitepoint::faces::sheet::{Form, sheet};
use bitepoint::finding::Severity;
use serde_json::Value;

pub fn holds(data: &[u8]) {
    let text = String::from_utf8_lossy(data);
    let report = &Pair::new(&text).report();
    // One kind of face at a time, so that more specs are tried.
    match Dice::new(data).below(6) {
        0 => for_machines(report),
        1 => for_people(report),
        2 => results(report),
        3 => drawings(report),
        4 => readings(report),
        _ => sheets(report),
    }
}

/// The findings of a report in a form.
fn rendered(report: &Report, form: CheckForm) -> String {
    let mut renderer = CheckRenderer::new(form, None);
    let first = renderer.add(report);
    let (rest, _) = renderer
        .finish(&Ending::default())
        .expect("it can be written");
    first + &rest.concat()
}

fn for_machines(report: &Report) {
    is_json(&rendered(report, CheckForm::Json));
    is_json(&rendered(report, CheckForm::Sarif));
    rendered(report, CheckForm::Junit(Severity::Error));
    let (own, allowed) = fingerprints(report);
    assert_eq!(own.len(), report.findings.len());
    assert_eq!(allowed.len(), report.allowed.len());
    let baseline = Baseline::of(std::slice::from_ref(report), &str::to_owned);
    let written = baseline.to_text().expect("a baseline can be written");
    let read = Baseline::parse(&written).expect("what was written can be read");
    assert_eq!(read.count(), baseline.count());
}

fn for_people(report: &Report) {
    let style = TextStyle {
        colour: false,
        width: 80,
    };
    is_inert(&rendered(report, CheckForm::Text(style, Severity::Warning)));
    is_inert(&rendered(report, CheckForm::Short(style)));
    is_inert(&rendered(report, CheckForm::Annotations));
}

fn results(report: &Report) {
    let systems: Vec<_> = report.worked_systems().collect();
    is_json(&calc_json(report, &systems, None).0);
    is_inert(&kits_text(std::slice::from_ref(report), 80));
    assert!(curve_csv(&systems, 5).is_ok());
    let layout = ResultsLayout {
        width: 80,
        all: true,
        names: false,
    };
    is_inert(&results_text(report, &systems, None, layout));
    for worked in systems {
        if let Ok(outcome) = &worked.outcome {
            assert!(outcome.results.iter().all(|(_, value)| value.is_finite()));
        }
    }
}

fn readings(report: &Report) {
    let mut values = Vec::new();
    for worked in report.worked_systems() {
        let found = diagnosis(worked, &[]);
        values.push(diagnosed_json(worked, found.as_ref()));
        let mut explained = Vec::new();
        is_inert(&askable_text(worked, "car.clutch", 80, &mut explained));
        is_inert(&askable_markdown(worked, "car.clutch"));
        if let Some(found) = found {
            is_inert(&diagnosis_text(worked, &found, 40));
            is_inert(&diagnosis_markdown(worked, &found));
        }
    }
    is_json(&diagnosis_json(values, "car.clutch", None));
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

/// Nothing in the text controls a terminal or reverses its reading direction.
fn is_inert(text: &str) {
    assert!(!text.chars().any(steers), "{text}");
}
