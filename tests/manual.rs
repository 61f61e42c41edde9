//! The reference manual is up to date, and its statements about the language are true.

use bitepoint::analysis::analyse;
use bitepoint::finding::Severity;
use std::collections::HashSet;
use std::path::Path;
use std::process::Command;

mod common;

fn explained(arguments: &[&str]) -> String {
    let output = Command::new(env!("CARGO_BIN_EXE_bitepoint"))
        .arg("explain")
        .args(arguments)
        .output()
        .unwrap();
    assert!(output.status.success(), "{output:?}");
    String::from_utf8(output.stdout).unwrap()
}

#[test]
fn the_manual_is_up_to_date() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("grammar/REFERENCE.md");
    let now = explained(&["--manual"]);
    // The same switch that writes the snapshots.
    if std::env::var("INSTA_UPDATE").is_ok_and(|value| value == "always") {
        std::fs::write(&path, &now).unwrap();
    }
    let kept = std::fs::read_to_string(&path).unwrap_or_default();
    let differs = kept
        .lines()
        .zip(now.lines())
        .find(|(kept, now)| kept != now);
    assert!(
        kept == now,
        "grammar/REFERENCE.md is not what the program says now: \
         `INSTA_UPDATE=always cargo test --test manual` writes it anew; first difference: {differs:?}"
    );
}

#[test]
fn every_entry_of_the_contents_leads_somewhere() {
    let page = explained(&["--manual"]);
    let mut headings = HashSet::new();
    for line in page.lines().filter(|line| line.starts_with("##")) {
        let title = line.trim_start_matches('#').trim().replace('`', "");
        let anchor = title.to_lowercase().replace(' ', "-");
        assert!(headings.insert(anchor.clone()), "{anchor} stands twice");
    }
    let links: Vec<&str> = page
        .split("](#")
        .skip(1)
        .filter_map(|rest| rest.split(')').next())
        .collect();
    assert!(links.len() > 100, "{}", links.len());
    for link in links {
        assert!(headings.contains(link), "{link} leads nowhere");
    }
}

#[test]
fn the_languages_example_is_sound() {
    let text = include_str!("../grammar/language.md");
    let examples: Vec<&str> = text
        .split("```clutch\n")
        .skip(1)
        .filter_map(|rest| rest.split("```").next())
        .collect();
    assert!(!examples.is_empty());
    for example in examples {
        let report = analyse(
            common::source("example.clutch", example),
            &common::Library::default(),
        );
        let worst = report.findings.iter().map(|finding| finding.severity).max();
        assert!(worst < Some(Severity::Warning), "{:#?}", report.findings);
        assert!(report.systems.iter().all(|worked| worked.outcome.is_ok()));
    }
}

/// `90 % ± 2 %` is a part of the value, as the manual says.
#[test]
fn a_tolerance_in_percent_is_a_part_of_the_value() {
    let example = include_str!("../grammar/language.md")
        .split("```")
        .nth(1)
        .unwrap()
        .trim_start_matches("clutch")
        .replace("efficiency = 95 %", "efficiency = 90 % ± 2 %");
    let report = analyse(
        common::source("example.clutch", &example),
        &common::Library::default(),
    );
    let toleranced = report.systems[0].system.toleranced();
    let band = toleranced
        .iter()
        .map(|input| input.band)
        .find(|band| band.nominal < 1.0);
    let band = band.expect("the efficiency has a tolerance");
    assert!((band.low - 0.882).abs() < 1e-12 && (band.high - 0.918).abs() < 1e-12);
}

#[test]
fn every_unit_is_explained() {
    for unit in bitepoint::quantity::UNITS {
        let text = explained(&[unit.name]);
        assert!(
            text.starts_with(unit.name) && text.contains(unit.doc),
            "{text}"
        );
    }
    assert!(explained(&["in"]).contains("1 in = 25.4 mm"));
    assert!(explained(&["psi"]).contains("1 psi = 0.00689476 MPa"));
}
