//! Judges one system: its results, its findings, and which of them its author allows.

use super::{Allowed, Silencer, Worked};
use crate::check_id::CheckId;
use crate::checks::{self, Check, Detail, Finding, Found, Raised, Told};
use crate::finding::{Problem, Severity};
use crate::model::System;
use crate::settings::Settings;
use crate::solve::{MAX_TOLERANCED, NotWorked, Outcome, Tolerances, work_out};

/// A system with a finding of at least this severity does not work.
pub(super) const FAILS: Severity = Severity::Error;

/// A system worked out and checked.
pub(super) struct Judged {
    pub outcome: Result<Box<Outcome>, NotWorked>,
    pub tolerances: Option<Tolerances>,
    /// The findings of the checks, each with the allow that silences it, by the allow's place in the system.
    pub told: Vec<(Told, Option<usize>)>,
}

impl Judged {
    /// The first reason why the system fails; `None` if it works, or if its author allows the reason.
    pub fn reason(&self, settings: &Settings) -> Option<&str> {
        self.told.iter().find_map(|(told, allow)| {
            let severity = Check::of(told.problem.check).severity_under(settings);
            let fails = severity >= Some(FAILS) && allow.is_none();
            fails.then_some(told.problem.message.as_str())
        })
    }
}

/// Works a system out and runs every check on it.
pub(super) fn judge(system: &System, settings: &Settings) -> Judged {
    let mut found = Found::new(Detail::Full);
    let (outcome, tolerances) = ask(system, settings, true, &mut found);
    found.problems.extend(too_many_tolerances(system));
    let worked_out = outcome.as_deref().ok();
    let told = checks::told(found, system, worked_out, tolerances.as_ref(), settings);
    let told = told.into_iter().map(|told| {
        let allow = system.allow_for(told.problem.check, told.problem.block);
        (told, allow)
    });
    Judged {
        told: told.collect(),
        outcome,
        tolerances,
    }
}

/// Judges many systems, one after the other, in brief.
pub(super) struct Bench<'s> {
    settings: &'s Settings,
    /// Whether any of the systems may have tolerances.
    toleranced: bool,
    found: Found,
    raised: Vec<(Raised, Option<usize>)>,
}

/// The outcome of a system on a [`Bench`].
pub(super) struct Glance<'b> {
    pub outcome: Result<Box<Outcome>, NotWorked>,
    pub tolerances: Option<Tolerances>,
    /// The checks that found something, each with the allow that silences it, by the allow's place in the system.
    pub raised: &'b [(Raised, Option<usize>)],
}

impl<'s> Bench<'s> {
    pub fn new(settings: &'s Settings, toleranced: bool) -> Self {
        Self {
            settings,
            toleranced,
            found: Found::new(Detail::Brief),
            raised: Vec::new(),
        }
    }

    pub fn judge(&mut self, system: &System) -> Glance<'_> {
        self.found.clear();
        let (outcome, tolerances) = ask(system, self.settings, self.toleranced, &mut self.found);
        if self.toleranced && too_many_tolerances(system).is_some() {
            self.found.raised.push(Raised {
                check: CheckId::TooLarge,
                block: None,
            });
        }
        let raised = self.found.raised.iter().map(|raised| {
            let allow = system.allow_for(raised.check, raised.block);
            (*raised, allow)
        });
        self.raised.clear();
        self.raised.extend(raised);
        Glance {
            outcome,
            tolerances,
            raised: &self.raised,
        }
    }
}

fn ask(
    system: &System,
    settings: &Settings,
    toleranced: bool,
    found: &mut Found,
) -> (Result<Box<Outcome>, NotWorked>, Option<Tolerances>) {
    let outcome = work_out(system).map(Box::new);
    let tolerances = outcome
        .as_ref()
        .ok()
        .filter(|_| toleranced)
        .and_then(|outcome| Tolerances::new(system, outcome));
    let known = outcome.as_deref().map_err(|why| *why);
    checks::run(system, known, tolerances.as_ref(), settings, found);
    (outcome, tolerances)
}

fn too_many_tolerances(system: &System) -> Option<Problem> {
    let toleranced = system.toleranced().len();
    (toleranced > MAX_TOLERANCED).then(|| {
        let message = format!(
            "{toleranced} values have a tolerance; the worst case is worked out for \
             {MAX_TOLERANCED} at the most, and not here"
        );
        Problem::new(CheckId::TooLarge, system.place.clone(), message)
    })
}

/// The findings of a system: those reported, those that its author allowed, and which allows were needed.
pub(super) struct Sorted {
    pub findings: Vec<Finding>,
    pub allowed: Vec<Allowed>,
    pub used: Vec<bool>,
}

impl Judged {
    /// The system with its outcome, and its problems sorted by whether they are allowed.
    pub fn sort(self, system: System) -> (Worked, Sorted) {
        let mut sorted = Sorted {
            findings: Vec::new(),
            allowed: Vec::new(),
            used: vec![false; system.allows.len()],
        };
        for (told, allow) in self.told {
            let finding = Finding::told(told, &system);
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
