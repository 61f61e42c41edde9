//! What a check of many files comes to, beside the findings themselves.

use super::Unread;
use super::baseline::Known;
use crate::analysis::{Report, Silencer};
use crate::finding::Severity;
use std::collections::HashSet;

/// The baseline that findings were held against.
#[derive(Debug)]
pub struct HeldAgainst {
    /// The path of the baseline, as it is told.
    pub baseline: String,
    /// What the baseline knows and has become worse, by file and fingerprint.
    pub worse: HashSet<(String, String)>,
}

/// What is known besides, once all files were looked at.
#[derive(Debug, Default)]
pub struct Ending {
    /// Files that could not be looked at.
    pub unread: Vec<Unread>,
    /// What the baseline knows of the files and is found no more.
    pub gone: Vec<Known>,
}

/// How much was looked at and found.
#[derive(Debug, Default)]
pub struct Tally {
    /// How many files were looked at.
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

    /// How many findings there are of one severity.
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
