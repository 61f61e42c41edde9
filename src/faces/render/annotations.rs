//! Findings as the workflow commands that CI systems turn into annotations.

use super::{Checked, findings, located_in, message};
use crate::analysis::Report;
use crate::checks::Finding;
use crate::faces::sanitize::sanitize;
use crate::finding::Severity;
use crate::syntax::Encoding;
use std::fmt::Write;

/// One command a line: findings by severity, what was silenced as `debug`.
pub fn check_annotations(checked: &Checked) -> String {
    let mut out = String::new();
    for unread in &checked.unread {
        let why = format!("`{}` {}", unread.file, unread.why);
        let file = property(&unread.file);
        let _ = writeln!(out, "::error file={file},title=unreadable::{}", data(&why));
    }
    for (report, finding) in findings(&checked.reports) {
        let command = match finding.severity {
            Severity::Error => "error",
            Severity::Warning => "warning",
            Severity::Info | Severity::Hint => "notice",
        };
        let mut text = message(finding);
        if let Some(help) = finding.help() {
            let _ = write!(text, "\n{help}");
        }
        line(&mut out, command, report, finding, &text);
    }
    for report in &checked.reports {
        for allowed in &report.allowed {
            let text = format!("silenced ({}): {}", allowed.why, message(&allowed.finding));
            line(&mut out, "debug", report, &allowed.finding, &text);
        }
    }
    out
}

fn line(out: &mut String, command: &str, report: &Report, finding: &Finding, text: &str) {
    let place = &finding.problem.place;
    let _ = write!(out, "::{command} file={}", property(&place.file));
    if let Some((start, end)) = located_in(report, place, Encoding::Utf32) {
        let _ = write!(out, ",line={},endLine={}", start.line + 1, end.line + 1);
        // Columns are only understood within one line.
        if start.line == end.line {
            let _ = write!(
                out,
                ",col={},endColumn={}",
                start.column + 1,
                end.column + 1
            );
        }
    }
    let title = property(finding.check.name());
    let _ = writeln!(out, ",title={title}::{}", data(text));
}

/// A text in which nothing ends the command or steers who shows it.
fn data(text: &str) -> String {
    sanitize(text)
        .replace('%', "%25")
        .replace('\r', "%0D")
        .replace('\n', "%0A")
}

fn property(text: &str) -> String {
    data(text).replace(':', "%3A").replace(',', "%2C")
}
