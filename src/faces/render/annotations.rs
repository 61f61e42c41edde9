//! Findings as the workflow commands that CI systems turn into annotations.

use super::tally::Ending;
use super::{located_in, message};
use crate::analysis::Report;
use crate::checks::Finding;
use crate::faces::sanitize::sanitize;
use crate::finding::Severity;
use crate::syntax::Encoding;
use std::fmt::Write;

/// One command for each finding, by severity; silenced findings as `debug`.
#[derive(Debug, Default)]
pub(super) struct AnnotationsOutput {
    findings: Vec<String>,
    silenced: Vec<String>,
}

impl AnnotationsOutput {
    pub fn add(&mut self, report: &Report) {
        for finding in &report.findings {
            let command = match finding.severity {
                Severity::Error => "error",
                Severity::Warning => "warning",
                Severity::Info | Severity::Hint => "notice",
            };
            let mut text = message(finding);
            if let Some(help) = finding.help() {
                let _ = write!(text, "\n{help}");
            }
            self.findings.push(line(command, report, finding, &text));
        }
        for allowed in &report.allowed {
            let text = format!("silenced ({}): {}", allowed.why, message(&allowed.finding));
            self.silenced
                .push(line("debug", report, &allowed.finding, &text));
        }
    }

    pub fn finish(self, ending: &Ending) -> Vec<String> {
        let unread = ending.unread.iter().map(|unread| {
            let why = format!("`{}` {}", unread.file, unread.why);
            let file = property(&unread.file);
            format!("::error file={file},title=unreadable::{}\n", data(&why))
        });
        let all = unread.chain(self.findings).chain(self.silenced);
        all.collect()
    }
}

fn line(command: &str, report: &Report, finding: &Finding, text: &str) -> String {
    let mut out = String::new();
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
    out
}

/// A text in which nothing ends the command or controls the program that shows it.
fn data(text: &str) -> String {
    sanitize(text)
        .replace('%', "%25")
        .replace('\r', "%0D")
        .replace('\n', "%0A")
}

fn property(text: &str) -> String {
    data(text).replace(':', "%3A").replace(',', "%2C")
}
