//! Findings as JUnit XML: a suite for each file, a case for its text and for each system.

use super::tally::Ending;
use super::{message, the_place};
use crate::analysis::{Report, Silencer};
use crate::checks::Finding;
use crate::faces::sanitize::sanitize;
use crate::finding::Severity;
use quick_junit::{NonSuccessKind, TestCase, TestCaseStatus, TestSuite};
use std::fmt::Write;

/// The case for findings of a file that belong to no system.
const TEXT: &str = "the text";

/// The suites of files, one after the other.
#[derive(Debug)]
pub(super) struct JunitOutput {
    fail_on: Severity,
    suites: Vec<TestSuite>,
}

impl JunitOutput {
    /// A case fails with findings at or above a severity; those below are in its output.
    pub fn new(fail_on: Severity) -> Self {
        Self {
            fail_on,
            suites: Vec::new(),
        }
    }

    pub fn add(&mut self, report: &Report) {
        let mut suite = TestSuite::new(visible(&report.source.name));
        let mut names: Vec<&str> = report.systems.iter().map(|w| &*w.system.name).collect();
        // A system with a mistake in its head is found, and not worked out.
        for finding in &report.findings {
            let name = finding.system.as_deref();
            names.extend(name.filter(|name| !names.contains(name)));
        }
        suite.add_test_case(case(report, None, self.fail_on));
        for name in names {
            suite.add_test_case(case(report, Some(name), self.fail_on));
        }
        self.suites.push(suite);
    }

    /// # Errors
    /// It cannot be written; the error is a sentence.
    pub fn finish(self, ending: &Ending) -> Result<String, String> {
        let mut all = quick_junit::Report::new(env!("CARGO_PKG_NAME"));
        for unread in &ending.unread {
            let mut status = TestCaseStatus::non_success(NonSuccessKind::Error);
            status.set_message(visible(&unread.why));
            let mut suite = TestSuite::new(visible(&unread.file));
            suite.add_test_case(TestCase::new(TEXT, status));
            all.add_test_suite(suite);
        }
        for suite in self.suites {
            all.add_test_suite(suite);
        }
        let text = all.to_string();
        text.map_err(|error| format!("the findings cannot be written: {error}"))
    }
}

fn case(report: &Report, system: Option<&str>, fail_on: Severity) -> TestCase {
    let of_case = |finding: &&Finding| finding.system.as_deref() == system;
    let found: Vec<&Finding> = report.findings.iter().filter(of_case).collect();
    let fails = |finding: &&&Finding| finding.severity >= fail_on;
    let mut status = TestCaseStatus::success();
    let worked = report.systems.iter();
    let mut worked = worked.filter(|worked| Some(&*worked.system.name) == system);
    if let Some(why) = worked.find_map(|w| w.outcome.as_ref().err()) {
        // Files that could not be checked have not passed.
        status = TestCaseStatus::skipped();
        status.set_message(visible(&format!("not worked out: {}", why.words())));
    }
    if let Some(worst) = found.iter().filter(fails).max_by_key(|f| f.severity) {
        let mut text = String::new();
        for finding in found.iter().filter(fails) {
            lines(&mut text, report, finding);
        }
        status = TestCaseStatus::non_success(NonSuccessKind::Failure);
        status.set_type(worst.check.name());
        status.set_message(visible(&message(worst)));
        status.set_description(visible(&text));
    }
    let mut output = String::new();
    for finding in found.iter().filter(|f| !fails(f)) {
        lines(&mut output, report, finding);
    }
    for allowed in report.allowed.iter().filter(|a| of_case(&&a.finding)) {
        let by = match allowed.by {
            Silencer::Allow => "allowed",
            Silencer::Settings => "off",
            Silencer::Baseline => "known",
        };
        let _ = write!(output, "{by} ({}): ", allowed.why);
        lines(&mut output, report, &allowed.finding);
    }
    let mut case = TestCase::new(visible(system.unwrap_or(TEXT)), status);
    case.set_classname(visible(&report.source.name));
    if !output.is_empty() {
        case.set_system_out(visible(&output));
    }
    case
}

fn lines(out: &mut String, report: &Report, finding: &Finding) {
    let _ = writeln!(
        out,
        "{}: {} ({}): {}",
        the_place(report, &finding.problem.place),
        finding.severity.name(),
        finding.check.name(),
        finding.problem.message
    );
    if let Some(help) = finding.help() {
        let _ = writeln!(out, "    {}", help.replace('\n', "\n    "));
    }
}

/// A text that XML can hold. Characters that it cannot hold are replaced visibly.
fn visible(text: &str) -> String {
    sanitize(text)
}
