//! What is reported to one user: a problem with its check and severity.

use super::Check;
use super::cures::{Advice, Cures, Told};
use crate::check_id::CheckId;
use crate::finding::{Fix, Problem, Related, Severity};
use crate::model::System;

/// What is reported to one user: a problem with its check and severity.
#[derive(Clone, Debug)]
pub struct Finding {
    /// The check that found it.
    pub check: &'static Check,
    /// The check's severity, or the one that the settings set.
    pub severity: Severity,
    /// What is wrong, where, and what can be done.
    pub problem: Problem,
    /// The system that it is about; `None` for a problem of the text itself.
    pub system: Option<String>,
    /// The cures, if they are not worked out yet.
    pub(super) cures: Option<Cures>,
}

impl Finding {
    /// A problem with its check.
    pub fn new(problem: Problem, system: Option<&System>) -> Self {
        let check = Check::of(problem.check);
        Self {
            check,
            severity: check.severity,
            problem,
            system: system.map(|system| system.name.clone()),
            cures: None,
        }
    }

    /// The finding of a problem in a system, with its cures.
    pub fn told(told: Told, system: &System) -> Self {
        Self {
            cures: told.cures,
            ..Self::new(told.problem, Some(system))
        }
    }

    /// Has the advice worked out on the first request, unless the finding has cures already.
    pub(crate) fn cured_by(&mut self, advice: impl FnOnce() -> Advice + Send + 'static) {
        self.cures.get_or_insert_with(|| Cures::later(advice));
    }

    /// What to change. Works it out if that was not done yet.
    pub fn help(&self) -> Option<&str> {
        match &self.cures {
            Some(cures) => Some(&cures.advice().help),
            None => self.problem.help.as_deref(),
        }
    }

    /// Changes of the text that cure the finding. Works them out if that was not done yet.
    pub fn fixes(&self) -> impl Iterator<Item = &Fix> {
        let cures = self.cures.iter().flat_map(|cures| &cures.advice().fixes);
        cures.chain(&self.problem.fixes)
    }

    /// Works out the cures and writes them into the problem.
    pub fn work_out_cures(&mut self) {
        if let Some(cures) = self.cures.take() {
            cures.advice().clone().say(&mut self.problem);
        }
    }

    /// Whether the mistake itself is in another file, which this one uses.
    pub fn is_of_a_used_file(&self) -> bool {
        let problem = &self.problem;
        let elsewhere = |related: &Related| related.place.file != problem.place.file;
        self.check.id == CheckId::UseMissing && problem.related.iter().any(elsewhere)
    }
}
