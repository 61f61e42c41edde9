//! The findings of many files, in every form. They are rendered file by file, so that the reports need not all be
//! kept.

use super::TextStyle;
use super::annotations::AnnotationsOutput;
use super::json::JsonOutput;
use super::junit::JunitOutput;
use super::sarif::SarifOutput;
use super::tally::{Ending, HeldAgainst, Tally};
use super::text::TextOutput;
use crate::analysis::Report;
use crate::finding::Severity;

/// The form of the findings.
#[derive(Clone, Copy, Debug)]
pub enum CheckForm {
    /// For people: findings at or above a severity with their lines, and the number of the others.
    Text(TextStyle, Severity),
    /// For people: one line for each finding.
    Short(TextStyle),
    /// One JSON document.
    Json,
    /// SARIF 2.1.0, the static analysis results format of OASIS.
    Sarif,
    /// JUnit XML. A case fails with findings at or above a severity; those below are in its output.
    Junit(Severity),
    /// Workflow commands, which a CI service shows beside the lines of a change.
    Annotations,
}

#[derive(Debug)]
enum Output {
    Text(TextOutput),
    Json(JsonOutput),
    Sarif(SarifOutput),
    Junit(JunitOutput),
    Annotations(AnnotationsOutput),
}

/// Renders the reports of files one after the other.
#[derive(Debug)]
pub struct CheckRenderer {
    output: Output,
    held: Option<HeldAgainst>,
    /// How much was checked and found so far.
    pub tally: Tally,
}

impl CheckRenderer {
    /// A renderer that has seen no report yet; `held` is `None` without a baseline.
    pub fn new(form: CheckForm, held: Option<HeldAgainst>) -> Self {
        let output = match form {
            CheckForm::Text(style, least) => Output::Text(TextOutput::new(style, least)),
            CheckForm::Short(style) => Output::Text(TextOutput::short(style)),
            CheckForm::Json => Output::Json(JsonOutput::default()),
            CheckForm::Sarif => Output::Sarif(SarifOutput::default()),
            CheckForm::Junit(fail_on) => Output::Junit(JunitOutput::new(fail_on)),
            CheckForm::Annotations => Output::Annotations(AnnotationsOutput::default()),
        };
        Self {
            output,
            held,
            tally: Tally::default(),
        }
    }

    /// Takes the next report. Gives the part of the answer that can be printed already.
    #[must_use]
    pub fn add(&mut self, report: &Report) -> String {
        self.tally.add(report);
        match &mut self.output {
            Output::Text(text) => return text.add(report),
            Output::Json(json) => json.add(report),
            Output::Sarif(sarif) => sarif.add(report, self.held.as_ref()),
            Output::Junit(junit) => junit.add(report),
            Output::Annotations(annotations) => annotations.add(report),
        }
        String::new()
    }

    /// The rest of the answer, in pieces.
    ///
    /// # Errors
    /// It cannot be written; the error is a sentence.
    pub fn finish(self, ending: &Ending) -> Result<(Vec<String>, Tally), String> {
        let held = self.held.as_ref();
        let rest = match self.output {
            Output::Text(text) => text.finish(&self.tally, held, ending),
            Output::Json(json) => json.finish(&self.tally, ending),
            Output::Sarif(sarif) => sarif.finish(ending),
            Output::Junit(junit) => vec![junit.finish(ending)?],
            Output::Annotations(annotations) => annotations.finish(ending),
        };
        Ok((rest, self.tally))
    }
}
