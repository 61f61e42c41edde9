//! One system: what comes of it, what the checks say, and what its author allows.

use super::{Allowed, Silencer, Worked};
use crate::checks::{self, Detail, Finding};
use crate::finding::Problem;
use crate::mechanics::{MAX_TOLERANCED, NotWorked, Outcome, Tolerances, work_out};
use crate::model::System;
use crate::settings::Settings;

/// A system worked out and checked.
pub(super) struct Judged {
    pub outcome: Result<Outcome, NotWorked>,
    pub tolerances: Option<Tolerances>,
    /// What the checks found, each with the allow that silences it, by its place in the system.
    pub problems: Vec<(Problem, Option<usize>)>,
}

/// Works a system out and asks every check about it.
pub(super) fn judge(system: &System, detail: Detail, settings: &Settings) -> Judged {
    let outcome = work_out(system);
    let tolerances = outcome
        .as_ref()
        .ok()
        .and_then(|outcome| Tolerances::new(system, outcome));
    let mut problems = checks::run(system, &outcome, tolerances.as_ref(), settings, detail);
    problems.extend(too_many_tolerances(system));
    let problems = problems.into_iter().map(|problem| {
        let allow = allow_for(system, &problem);
        (problem, allow)
    });
    Judged {
        problems: problems.collect(),
        outcome,
        tolerances,
    }
}

/// Which of its allows silences a problem of a system.
fn allow_for(system: &System, problem: &Problem) -> Option<usize> {
    system.allows.iter().position(|allow| {
        allow.check == problem.check && (allow.block.is_none() || allow.block == problem.block)
    })
}

fn too_many_tolerances(system: &System) -> Option<Problem> {
    let toleranced = system.toleranced().len();
    (toleranced > MAX_TOLERANCED).then(|| {
        let message = format!(
            "{toleranced} values have a tolerance; the worst case is worked out for \
             {MAX_TOLERANCED} at the most, and not here"
        );
        Problem::new("too-large", system.place.clone(), message)
    })
}

/// What is found in a system, what its author allowed, and which of the allows were needed.
pub(super) struct Sorted {
    pub findings: Vec<Finding>,
    pub allowed: Vec<Allowed>,
    pub used: Vec<bool>,
}

impl Judged {
    /// The system with what came of it, and its problems sorted by whether they are allowed.
    pub fn sort(self, system: System) -> (Worked, Sorted) {
        let mut sorted = Sorted {
            findings: Vec::new(),
            allowed: Vec::new(),
            used: vec![false; system.allows.len()],
        };
        for (problem, allow) in self.problems {
            let Some(finding) = Finding::new(problem, Some(&system)) else {
                continue;
            };
            match allow.and_then(|i| Some((i, system.allows.get(i)?))) {
                Some((i, allow)) => {
                    sorted.used[i] = true;
                    let why = allow.why.clone();
                    sorted.allowed.push(Allowed {
                        finding,
                        by: Silencer::Allow,
                        why,
                    });
                }
                None => sorted.findings.push(finding),
            }
        }
        let worked = Worked {
            system,
            outcome: self.outcome,
            tolerances: self.tolerances,
            kit: None,
        };
        (worked, sorted)
    }
}
