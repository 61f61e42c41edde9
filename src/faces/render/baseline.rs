//! Findings that were known when a baseline was written, so that only what is new is reported.

use super::{fingerprints, message};
use crate::analysis::{Allowed, Report, Silencer};
use serde::{Deserialize, Serialize};
use std::collections::HashMap;

const VERSION: u32 = 1;

/// A file of known findings.
#[derive(Serialize, Deserialize, Debug)]
#[serde(deny_unknown_fields)]
pub struct Baseline {
    version: u32,
    findings: Vec<Known>,
}

/// A known finding.
#[derive(Serialize, Deserialize, Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
#[serde(deny_unknown_fields)]
pub struct Known {
    /// Relative to the baseline's folder.
    pub file: String,
    pub check: String,
    pub fingerprint: String,
    /// What was said of it, for whoever reads the baseline.
    pub message: String,
}

impl Baseline {
    /// All that some reports found. `relative` gives the name of a file as the baseline has it.
    pub fn of(reports: &[Report], relative: &dyn Fn(&str) -> String) -> Self {
        let mut findings = Vec::new();
        for report in reports {
            let (prints, _) = fingerprints(report);
            for (finding, fingerprint) in report.findings.iter().zip(prints) {
                findings.push(Known {
                    file: relative(&report.source.name),
                    check: finding.check.name.to_owned(),
                    fingerprint,
                    message: message(finding),
                });
            }
        }
        findings.sort();
        Self {
            version: VERSION,
            findings,
        }
    }

    /// # Errors
    /// What is wrong with the text, as the end of a sentence.
    pub fn parse(text: &str) -> Result<Self, String> {
        let baseline: Self =
            serde_json::from_str(text).map_err(|error| format!("is no baseline: {error}"))?;
        match baseline.version {
            VERSION => Ok(baseline),
            other => Err(format!("is a baseline of version {other}, not {VERSION}")),
        }
    }

    pub fn to_text(&self) -> Result<String, String> {
        let text = serde_json::to_string_pretty(self);
        text.map(|text| text + "\n")
            .map_err(|error| error.to_string())
    }

    pub fn count(&self) -> usize {
        self.findings.len()
    }

    /// Silences what is known, and gives what is known of these files and is found no more.
    pub fn silence(
        &self,
        reports: &mut [Report],
        name: &str,
        relative: &dyn Fn(&str) -> String,
    ) -> Vec<Known> {
        let mut gone = Vec::new();
        for report in reports {
            let file = relative(&report.source.name);
            let here = self.findings.iter().filter(|known| known.file == file);
            let mut known: HashMap<&str, &Known> =
                here.map(|known| (&*known.fingerprint, known)).collect();
            let (prints, _) = fingerprints(report);
            let mut left = Vec::new();
            for (finding, print) in report.findings.drain(..).zip(prints) {
                match known.remove(&*print) {
                    None => left.push(finding),
                    Some(_) => report.allowed.push(Allowed {
                        finding,
                        by: Silencer::Baseline,
                        why: format!("known in the baseline `{name}`"),
                    }),
                }
            }
            report.findings = left;
            gone.extend(known.into_values().cloned());
        }
        gone.sort();
        gone
    }
}
