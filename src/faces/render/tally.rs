//! The totals of a check of many files, without the findings themselves.

use super::Unread;
use super::baseline::Known;
use crate::analysis::{Report, Silencer};
use crate::finding::Severity;
use std::collections::HashSet;

/// The baseline with which findings were compared.
#[derive(Debug)]
pub struct HeldAgainst {
    /// The path of the baseline as it is shown.
    pub baseline: String,
    /// The known findings that have become worse, by file and fingerprint.
    pub worse: HashSet<(String, String)>,
}

/// What is known in addition once all files are checked.
#[derive(Debug, Default)]
pub struct Ending {
    /// Files that could not be checked.
    pub unread: Vec<Unread>,
    /// Findings of the baseline that are no longer found in the files.
    pub gone: Vec<Known>,
}

/// How many files were checked, and how much was found.
#[derive(Debug, Default)]
pub struct Tally {
    /// How many files were checked.
    pub files: usize,
    /// How many systems they have in all.
    pub systems: usize,
    found: [usize; Severity::ALL.len()],
    allowed: usize,
    off: usize,
    known: usize,
}

impl Tally {
    pub(super) fn add(&mut self, report: &Report) {
        self.files += 1;
        self.systems += report.systems.len();
        for finding in &report.findings {
            self.found[finding.severity as usize] += 1;
        }
        for allowed in &report.allowed {
            *match allowed.by {
                Silencer::Allow => &mut self.allowed,
                Silencer::Settings => &mut self.off,
                Silencer::Baseline => &mut self.known,
            } += 1;
        }
    }

    /// How many findings have a severity.
    pub fn found(&self, severity: Severity) -> usize {
        self.found[severity as usize]
    }

    /// Whether there are findings at or above a severity.
    pub fn reaches(&self, least: Severity) -> bool {
        let reached = |severity: &&Severity| **severity >= least && self.found(**severity) > 0;
        Severity::ALL.iter().any(|severity| reached(&severity))
    }

    /// How many findings were silenced, by what silenced them.
    pub(super) fn silenced(&self) -> [(usize, &'static str); 3] {
        [
            (self.allowed, "allowed"),
            (self.off, "off"),
            (self.known, "known"),
        ]
    }
}
