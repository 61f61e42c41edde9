//! The examples that come with the project do what they are there for.

use bitepoint::analysis::{Report, Worked, analyse, hover, lenses};
use bitepoint::faces::Disk;
use bitepoint::finding::Severity;
use bitepoint::model::Files;
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
fn the_good_ones_are_clean() {
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
        let check = path.file_stem().unwrap().to_str().unwrap();
        let found = listed(&report, Severity::Hint);
        assert!(found.contains(&check), "{check}: {found:?}");
        let errors = listed(&report, Severity::Error);
        let others: Vec<_> = errors.iter().filter(|name| **name != check).collect();
        assert!(others.is_empty(), "{check} comes with {others:?}");
    }
}

#[test]
fn they_are_in_canonical_form() {
    for folder in ["examples", "examples/parts", "examples/fails"] {
        for path in specs(folder) {
            let text = std::fs::read_to_string(&path).unwrap();
            let tree = bitepoint::syntax::parse(&text);
            let formatted = bitepoint::syntax::format(&text, &tree);
            assert_eq!(formatted.as_deref(), Some(&*text), "{}", path.display());
        }
    }
}

/// What stands above each system of the examples.
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
