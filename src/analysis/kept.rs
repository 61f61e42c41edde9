//! What is kept of very many findings.

use super::{Allowed, Silencer};
use crate::check_id::CheckId;
use crate::checks::Finding;
use crate::finding::{Measure, Place, Problem, Severity};
use crate::settings::{Level, SETTINGS_FILE, Settings};
use std::sync::Arc;

/// More findings than this in one file say nothing more to anyone.
pub const MAX_FINDINGS: usize = 1000;

/// So many are collected before those that follow the first are left out.
const COLLECTED: usize = 4 * MAX_FINDINGS;

/// The first findings of a file in the order of its text, with the severities that are set.
pub(super) struct Kept {
    settings: Arc<Settings>,
    findings: Vec<Finding>,
    /// Of checks that are off.
    silenced: Vec<Allowed>,
    left_out: Option<LeftOut>,
}

struct LeftOut {
    count: usize,
    worst: Severity,
    first: Place,
}

impl Kept {
    /// Under the settings that hold for a file.
    pub fn under(settings: &Arc<Settings>) -> Self {
        Self {
            settings: settings.clone(),
            findings: Vec::new(),
            silenced: Vec::new(),
            left_out: None,
        }
    }

    pub fn problem(&mut self, problem: Problem) {
        self.push(Finding::new(problem, None));
    }

    fn push(&mut self, mut finding: Finding) {
        match self.settings.level(finding.check.id) {
            None => {}
            Some(Level::At(severity)) => finding.severity = severity,
            Some(Level::Off) => {
                let file = self.settings.file.as_deref().unwrap_or(SETTINGS_FILE);
                self.silenced.push(Allowed {
                    why: format!("`{}` is off in `{file}`", finding.check.name()),
                    by: Silencer::Settings,
                    finding,
                });
                return;
            }
        }
        self.findings.push(finding);
        if self.findings.len() >= COLLECTED {
            self.cut();
        }
    }

    /// Sorts, and leaves out what follows the first.
    fn cut(&mut self) {
        self.findings.sort_by(|a, b| {
            let key = |f: &Finding| (f.problem.place.span, std::cmp::Reverse(f.severity));
            key(a).cmp(&key(b))
        });
        let end = self.findings.len().min(MAX_FINDINGS);
        for finding in self.findings.drain(end..) {
            let place = finding.problem.place;
            match &mut self.left_out {
                None => {
                    self.left_out = Some(LeftOut {
                        count: 1,
                        worst: finding.severity,
                        first: place,
                    });
                }
                Some(left_out) => {
                    left_out.count += 1;
                    left_out.worst = left_out.worst.max(finding.severity);
                    if place.span < left_out.first.span {
                        left_out.first = place;
                    }
                }
            }
        }
    }

    /// The findings in order, the last of which says how many more there are; and what is off.
    pub fn finish(mut self) -> (Vec<Finding>, Vec<Allowed>) {
        self.cut();
        if let Some(LeftOut {
            count,
            worst,
            first,
        }) = self.left_out
        {
            let message =
                format!("{count} more findings follow; only the first {MAX_FINDINGS} are listed");
            let problem = Problem::new(CheckId::TooLarge, first, message)
                .short_by(count as f64, Measure::Count);
            let finding = Finding::new(problem, None);
            // It stands for what it leaves out, and is no worse.
            self.findings.push(Finding {
                severity: worst,
                ..finding
            });
        }
        (self.findings, self.silenced)
    }
}

impl Extend<Finding> for Kept {
    fn extend<I: IntoIterator<Item = Finding>>(&mut self, findings: I) {
        findings.into_iter().for_each(|finding| self.push(finding));
    }
}
