//! Each example of the project shows what it is meant to show.

use bitepoint::analysis::{Report, Worked, analyse, hover, lenses};
use bitepoint::faces::Disk;
use bitepoint::finding::Severity;
use bitepoint::model::{Files, Source};
use std::path::{Path, PathBuf};

fn specs(folder: &str) -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join(folder);
    let mut found: Vec<PathBuf> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|e| e == "clutch"))
        .collect();
    found.sort();
    assert!(!found.is_empty());
    found
}

fn report(path: &Path) -> Report {
    let disk = Disk::default();
    analyse(disk.read(&Disk::name(path)).unwrap(), &disk)
}

fn listed(report: &Report, least: Severity) -> Vec<&'static str> {
    report
        .findings
        .iter()
        .filter(|finding| finding.severity >= least)
        .map(|finding| finding.check.name())
        .collect()
}

#[test]
fn the_good_examples_have_no_findings() {
    for path in specs("examples").iter().chain(&specs("examples/parts")) {
        let report = report(path);
        let none: [&str; 0] = [];
        assert_eq!(listed(&report, Severity::Hint), none, "{}", path.display());
        let known = |worked: &Worked| worked.outcome.is_ok() || worked.kit.is_some();
        assert!(report.worked_systems().all(known));
    }
}

#[test]
fn each_of_the_others_fails_by_the_check_it_is_named_after_and_no_other() {
    for path in specs("examples/fails") {
        let report = report(&path);
        let name = path.file_stem().unwrap().to_str().unwrap();
        // A twin of another example says of which behind a point.
        let check = name.split('.').next().unwrap();
        let found = listed(&report, Severity::Hint);
        assert!(found.contains(&check), "{check}: {found:?}");
        let errors = listed(&report, Severity::Error);
        let others: Vec<_> = errors.iter().filter(|name| **name != check).collect();
        assert!(others.is_empty(), "{check} comes with {others:?}");
    }
}

/// The failing twin of a passing example is cured by the first cure that is offered.
#[test]
fn the_twin_of_an_example_is_cured() {
    let mut twins = 0;
    for path in specs("examples/fails") {
        let name = path.file_stem().unwrap().to_str().unwrap();
        let Some((check, _)) = name.split_once('.') else {
            continue;
        };
        let mut report = report(&path);
        for finding in &mut report.findings {
            finding.work_out_cures();
        }
        let found = report.findings.iter().filter(|f| f.check.name() == check);
        for finding in found {
            twins += 1;
            let fix = finding.fixes().next().expect("a cure");
            let folder = tempfile::tempdir().unwrap();
            for file in specs("examples") {
                std::fs::copy(&file, folder.path().join(file.file_name().unwrap())).unwrap();
            }
            std::fs::write(folder.path().join("bitepoint.toml"), "").unwrap();
            std::fs::create_dir_all(folder.path().join("fails")).unwrap();
            let mut edits = fix.edits.clone();
            edits.sort_by_key(|(place, _)| std::cmp::Reverse(report.range(place).start));
            let mut text = std::fs::read_to_string(&path).unwrap();
            for (place, new) in &edits {
                text.replace_range(report.range(place).range(), new);
            }
            let cured = folder.path().join("fails").join(path.file_name().unwrap());
            std::fs::write(&cured, &text).unwrap();
            let disk = Disk::default();
            let after = analyse(disk.read(&Disk::name(&cured)).unwrap(), &disk);
            let mut worked = after.worked_systems();
            let car = worked.find(|w| finding.system.as_deref() == Some(&*w.system.name));
            assert!(car.is_some_and(|car| car.outcome.is_ok()), "{name}\n{text}");
            let still = after.findings.iter().filter(|f| f.system == finding.system);
            let still: Vec<_> = still.filter(|f| f.severity > Severity::Info).collect();
            let still: Vec<_> = still.iter().map(|f| f.check.name()).collect();
            let none: [&str; 0] = [];
            assert_eq!(still, none, "{name}: `{}`\n{text}", fix.title);
        }
    }
    assert!(twins >= 4, "{twins}");
}

/// The shim that a finding proposes cures the finding.
#[test]
fn the_shim_that_the_stack_asks_for_cures_it() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/fails");
    let disk = Disk::default();
    let wrong = disk
        .read(&Disk::name(&folder.join("setup-gap.clutch")))
        .unwrap();
    let text = wrong.text.clone();
    let told = analyse(wrong, &disk);
    let gap = told
        .findings
        .iter()
        .find(|finding| finding.check.name() == "setup-gap");
    assert_eq!(gap.unwrap().help(), Some("shim the slave out by 3 mm"));
    let shimmed = text.replace(
        "cover { finger_height = 80 mm }",
        "cover { finger_height = 80 mm }\n    slave { height = 79 mm + 6 mm }",
    );
    let name = Disk::name(&folder.join("shimmed.clutch"));
    let report = analyse(Source::new(name, shimmed).into(), &disk);
    let none: [&str; 0] = [];
    assert_eq!(listed(&report, Severity::Hint), none);
}

#[test]
fn every_example_is_in_canonical_form() {
    for folder in ["examples", "examples/parts", "examples/fails"] {
        for path in specs(folder) {
            let text = std::fs::read_to_string(&path).unwrap();
            let tree = bitepoint::syntax::parse(&text);
            let formatted = bitepoint::syntax::format(&text, &tree);
            assert_eq!(formatted.as_deref(), Some(&*text), "{}", path.display());
        }
    }
}

/// The line above each system of the examples.
#[test]
fn the_line_above_a_system_says_the_worst_first() {
    let mut out = String::new();
    for path in specs("examples").iter().chain(&specs("examples/fails")) {
        let report = report(path);
        for lens in lenses(&report) {
            let found = |severity| {
                let own = |f: &&_| -> bool {
                    let f: &bitepoint::checks::Finding = f;
                    f.system.as_deref() == Some(&lens.system) && f.severity == severity
                };
                report.findings.iter().filter(own).count()
            };
            // A system that fails is never taken for one that passes, nor the other way round.
            let mark = match (found(Severity::Error), found(Severity::Warning)) {
                (0, 0) => None,
                (0, _) => Some("! "),
                _ => Some("✗ "),
            };
            let is_kit = lens.label.contains(" combinations");
            match mark {
                Some(mark) => assert!(lens.label.starts_with(mark), "{}", lens.label),
                None => assert!(
                    is_kit || lens.label.starts_with("margin "),
                    "{}",
                    lens.label
                ),
            }
            // The hover of the system begins with the same words.
            let hover = hover(&report, lens.span.start).expect("a hover").markdown;
            let first = hover.lines().next().unwrap().replace('\\', "");
            assert_eq!(first, format!("**{}**", lens.label));
            out.push_str(&format!("{}\n    {}\n", lens.system, lens.label));
        }
    }
    insta::assert_snapshot!(out);
}
