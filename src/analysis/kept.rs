//! What is kept of very many findings.

use super::{Allowed, Silencer};
use crate::checks::Finding;
use crate::finding::{FileName, Place, Problem, Related, Severity};
use crate::model::Bundle;
use crate::settings::{Level, SETTINGS_FILE, Settings};
use std::collections::HashMap;
use std::sync::Arc;

/// More findings than this in one file say nothing more to anyone.
pub const MAX_FINDINGS: usize = 1000;

/// So many are collected before those that follow the first are left out.
const COLLECTED: usize = 4 * MAX_FINDINGS;

/// The first findings of a file in the order of its text, with the severities that are set.
pub(super) struct Kept {
    settings: Arc<Settings>,
    /// Where the file uses another, by that one's name.
    ways_in: HashMap<FileName, Place>,
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
    /// For the first file of a bundle.
    pub fn of(bundle: &Bundle) -> Self {
        let ways_in = bundle.ways_in().into_iter();
        Self {
            settings: bundle.settings.clone(),
            ways_in: ways_in
                .map(|(used, place)| (bundle.sources[used].name.clone(), place))
                .collect(),
            ..Self::alone()
        }
    }

    /// For a file of which nothing is set, and that uses no other.
    pub fn alone() -> Self {
        Self {
            settings: Arc::default(),
            ways_in: HashMap::new(),
            findings: Vec::new(),
            silenced: Vec::new(),
            left_out: None,
        }
    }

    pub fn problem(&mut self, problem: Problem) {
        let problem = rehome(problem, &self.ways_in);
        self.extend(Finding::new(problem, None));
    }

    fn push(&mut self, mut finding: Finding) {
        match self.settings.level(finding.check.name) {
            None => {}
            Some(Level::At(severity)) => finding.severity = severity,
            Some(Level::Off) => {
                let file = self.settings.file.as_deref().unwrap_or(SETTINGS_FILE);
                self.silenced.push(Allowed {
                    why: format!("`{}` is off in `{file}`", finding.check.name),
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
            let problem = Problem::new("too-large", first, message);
            let finding = Finding::new(problem, None);
            // It stands for what it leaves out, and is no worse.
            self.findings.extend(finding.map(|finding| Finding {
                severity: worst,
                ..finding
            }));
        }
        (self.findings, self.silenced)
    }
}

impl Extend<Finding> for Kept {
    fn extend<I: IntoIterator<Item = Finding>>(&mut self, findings: I) {
        findings.into_iter().for_each(|finding| self.push(finding));
    }
}

/// What is wrong in a file that is used is shown where this file uses it, so that nobody looks
/// in vain for why nothing is worked out.
fn rehome(problem: Problem, ways_in: &HashMap<FileName, Place>) -> Problem {
    let file = &problem.place.file;
    let Some(place) = ways_in.get(file) else {
        return problem;
    };
    let mut moved = Problem::new(
        problem.check,
        place.clone(),
        format!("in `{file}`: {}", problem.message),
    );
    moved.help = problem.help;
    moved.related = vec![Related {
        place: problem.place,
        message: "it stands here".to_owned(),
    }];
    moved.related.extend(problem.related);
    moved
}
