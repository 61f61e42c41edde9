//! Finds a check by its name, and runs all checks on a system.

use super::limits::ResultLimit;
use super::{CHECKS, Check, Context, Found, Run};
use crate::check_id::CheckId;
use crate::model::System;
use crate::settings::Settings;
use crate::solve::{NotWorked, Outcome, Tolerances};
use std::cell::OnceCell;

impl Check {
    /// The check with an identity.
    pub fn of(id: CheckId) -> &'static Self {
        CHECKS[id.index()]
    }

    /// The check with a name that an author writes.
    pub fn named(name: &str) -> Option<&'static Self> {
        CheckId::named(name).map(Self::of)
    }
}

/// Runs every check on one system.
pub fn run(
    system: &System,
    outcome: Result<&Outcome, NotWorked>,
    tolerances: Option<&Tolerances>,
    settings: &Settings,
    found: &mut Found,
) {
    run_those(|_| true, system, outcome, tolerances, settings, found);
}

/// Runs the wanted checks on one system.
pub(super) fn run_those(
    wanted: impl Fn(&Check) -> bool,
    system: &System,
    outcome: Result<&Outcome, NotWorked>,
    tolerances: Option<&Tolerances>,
    settings: &Settings,
    found: &mut Found,
) {
    let diagnosis = OnceCell::new();
    for &check in CHECKS.iter().filter(|check| wanted(check)) {
        found.running(check.id);
        match (&check.run, outcome) {
            (Run::System(run), _) | (Run::Impossible(run), Err(NotWorked::Impossible)) => {
                run(system, found);
            }
            (Run::Limited(run), _) => run(system, settings, found),
            (Run::Outcome(run), Ok(outcome)) => {
                let context = Context {
                    check: check.id,
                    limits: check.limits,
                    settings,
                    system,
                    outcome,
                    tolerances,
                    diagnosis: &diagnosis,
                };
                run(&context, found);
                found.measure(|| ResultLimit::passed(check.id, system, settings, outcome));
            }
            (Run::Outcome(_), Err(_)) | (Run::Impossible(_) | Run::Reading, _) => {}
        }
    }
}
