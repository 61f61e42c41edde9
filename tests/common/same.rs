//! Compares two reports.
#![allow(dead_code, reason = "each test uses its own share of it")]

use bitepoint::analysis::{Allowed, Report};
use bitepoint::checks::Finding;

/// Compares a report made from a kept state with a new one. Cures are compared if they were worked out with the
/// analysis.
pub fn assert_same(again: &Report, fresh: &Report) {
    let text = &fresh.source.text;
    assert_eq!(again.source.name, fresh.source.name);
    assert!(
        again
            .findings
            .iter()
            .map(told)
            .eq(fresh.findings.iter().map(told)),
        "{:#?}\n---\n{:#?}\n---\n{text}",
        again.findings,
        fresh.findings
    );
    assert!(
        again
            .allowed
            .iter()
            .map(silenced)
            .eq(fresh.allowed.iter().map(silenced)),
        "{:#?}\n---\n{:#?}\n---\n{text}",
        again.allowed,
        fresh.allowed
    );
    let [systems, expected] = [again, fresh].map(Report::worked_systems);
    assert!(
        systems.eq(expected),
        "{:#?}\n---\n{:#?}\n---\n{text}",
        again.systems,
        fresh.systems
    );
}

/// Compares the cures of one of the findings, which are worked out now.
pub fn assert_same_cures(again: &Report, fresh: &Report, at: usize) {
    let [again, fresh] = [again, fresh].map(|report| {
        let finding = report.findings.get(at)?;
        Some((finding.help(), finding.fixes().collect::<Vec<_>>()))
    });
    assert_eq!(again, fresh);
}

fn told(finding: &Finding) -> impl PartialEq + '_ {
    let Finding {
        check,
        severity,
        problem,
        system,
        ..
    } = finding;
    (check, severity, problem, system)
}

fn silenced(allowed: &Allowed) -> impl PartialEq + '_ {
    (told(&allowed.finding), allowed.by, &allowed.why)
}
