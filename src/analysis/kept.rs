//! Keeps the first of very many findings.

use super::{Allowed, Silencer};
use crate::check_id::CheckId;
use crate::checks::Finding;
use crate::finding::{Measure, Place, Problem, Severity};
use crate::model::{Bundle, Source};
use crate::settings::{Level, SETTINGS_FILE, Settings};
use crate::syntax::TextRange;
use std::sync::Arc;

/// The most findings that are kept for one file; more tell nobody anything.
pub const MAX_FINDINGS: usize = 1000;

/// How many are collected before those after the first are dropped.
const COLLECTED: usize = 4 * MAX_FINDINGS;

/// The first findings of a file in the order of its text, with the severities from the settings.
pub(super) struct Kept {
    settings: Arc<Settings>,
    sources: Vec<Arc<Source>>,
    /// The findings, each with its place in its file.
    findings: Vec<(TextRange, Finding)>,
    /// The findings of checks that are off.
    silenced: Vec<Allowed>,
    left_out: Option<LeftOut>,
}

struct LeftOut {
    count: usize,
    worst: Severity,
    at: TextRange,
    first: Place,
}

impl Kept {
    /// An empty list for a file, under its settings.
    pub fn of(bundle: &Bundle) -> Self {
        Self::under(&bundle.settings, &bundle.sources)
    }

    /// An empty list for the first of some files, under some settings.
    pub fn under(settings: &Arc<Settings>, sources: &[Arc<Source>]) -> Self {
        Self {
            settings: settings.clone(),
            sources: sources.to_vec(),
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
        let sources = self.sources.iter().map(|source| &**source);
        let at = range_among(sources, &finding.problem.place);
        self.findings.push((at, finding));
        if self.findings.len() >= COLLECTED {
            self.cut();
        }
    }

    /// Sorts the findings and drops those after the first.
    fn cut(&mut self) {
        self.findings
            .sort_by_key(|(at, finding)| (*at, std::cmp::Reverse(finding.severity)));
        let end = self.findings.len().min(MAX_FINDINGS);
        for (at, finding) in self.findings.drain(end..) {
            let place = finding.problem.place;
            match &mut self.left_out {
                None => {
                    self.left_out = Some(LeftOut {
                        count: 1,
                        worst: finding.severity,
                        at,
                        first: place,
                    });
                }
                Some(left_out) => {
                    left_out.count += 1;
                    left_out.worst = left_out.worst.max(finding.severity);
                    if at < left_out.at {
                        left_out.at = at;
                        left_out.first = place;
                    }
                }
            }
        }
    }

    /// The findings in order, the last of which gives the number of further ones, and those of checks that are off.
    pub fn finish(mut self) -> (Vec<Finding>, Vec<Allowed>) {
        self.cut();
        if let Some(LeftOut {
            count,
            worst,
            at,
            first,
        }) = self.left_out
        {
            let message =
                format!("{count} more findings follow; only the first {MAX_FINDINGS} are listed");
            let problem = Problem::new(CheckId::TooLarge, first, message)
                .short_by(count as f64, Measure::Count);
            let mut finding = Finding::new(problem, None);
            // It represents the findings that it leaves out, and has the severity of the worst of them.
            finding.severity = worst;
            self.findings.push((at, finding));
        }
        let findings = self.findings.into_iter().map(|(_, finding)| finding);
        (findings.collect(), self.silenced)
    }
}

impl Extend<Finding> for Kept {
    fn extend<I: IntoIterator<Item = Finding>>(&mut self, findings: I) {
        findings.into_iter().for_each(|finding| self.push(finding));
    }
}

/// Where a place is in its file. If the file is not among `sources`, the place is counted from the file's start.
pub(super) fn range_among<'s>(
    mut sources: impl Iterator<Item = &'s Source>,
    place: &Place,
) -> TextRange {
    let source = sources.find(|source| source.name == place.file);
    source.map_or(place.span.from_start(0), |source| source.range(place.span))
}
