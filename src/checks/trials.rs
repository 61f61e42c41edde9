//! Tries other values in one system, and runs the checks on the result.

use super::adjustment::Adjustment;
use super::adjustments::ADJUSTMENTS;
use super::goal::in_hand;
use super::limits::{LIMITS, ResultLimit};
use super::registry::run_those;
use super::{Check, Detail, Found, Raised, require_failed, run};
use crate::check_id::CheckId;
use crate::finding::Severity;
use crate::model::System;
use crate::quantity::Dimension;
use crate::result;
use crate::schema::ResultId;
use crate::settings::Settings;
use crate::solve::{Known, OneResult, Outcome, Tolerances, work_out};
use rustc_hash::FxHashMap;
use std::sync::{Arc, Mutex, MutexGuard, OnceLock, PoisonError};

/// With more toleranced values than this, cures are ranked by the findings at nominal.
const MOST_TOLERANCED: usize = 6;
/// The checks that also consider the worst case of the tolerances. All others consider nominal alone.
const AT_WORST: [CheckId; 2] = [CheckId::ThinMargin, CheckId::PortShut];

/// A field of a system that a cure may change.
#[derive(Clone, Copy)]
pub(super) struct Lever {
    /// Its place among all levers of the system.
    pub place: usize,
    pub row: &'static Adjustment,
    pub line: Option<usize>,
    /// The present value, in internal units.
    pub present: f64,
}

/// The outcomes of other values in one system. Each is worked out once, whatever is asked about it.
pub(super) struct Trials {
    pub system: System,
    pub outcome: Outcome,
    /// The effects of tolerances. `None` also where too many values have one for cures to be judged by them.
    tolerances: Option<Tolerances>,
    settings: Settings,
    pub levers: Vec<Lever>,
    tried: Mutex<Tried>,
    /// What a value gives of one result, for those that are had without the others.
    tried_for: Mutex<FxHashMap<(ResultId, Value), Option<f64>>>,
    /// The system, to try a value in it and put back what was there.
    bench: Mutex<System>,
    /// The findings of the system as it is.
    present: OnceLock<Vec<Raised>>,
    /// The margins of the system as it is, each after the least that a cure must leave.
    margins: OnceLock<Vec<Option<(f64, f64)>>>,
}

/// A value of a lever: the lever's place and the value's bits.
type Value = (usize, u64);

/// What came of a value; `None` where it has no meaning.
type Tried = FxHashMap<Value, Option<Arc<Outcome>>>;

impl Trials {
    pub fn new(
        system: &System,
        outcome: &Outcome,
        tolerances: Option<&Tolerances>,
        settings: &Settings,
    ) -> Self {
        let thin_margin = Check::of(CheckId::ThinMargin);
        let thin_is_error = thin_margin.severity_under(settings) == Some(Severity::Error);
        let few = |count: usize| count <= MOST_TOLERANCED || thin_is_error;
        let rows = ADJUSTMENTS.iter().flat_map(|row| {
            row.lines(system).filter_map(move |line| {
                let present = row.present(system, outcome, line)?;
                Some((row, line, present))
            })
        });
        let levers = rows.enumerate().map(|(place, (row, line, present))| Lever {
            place,
            row,
            line,
            present,
        });
        Self {
            levers: levers.collect(),
            system: system.clone(),
            outcome: outcome.clone(),
            tolerances: tolerances
                .filter(|tolerances| few(tolerances.inputs.len()))
                .cloned(),
            settings: settings.clone(),
            tried: Mutex::default(),
            tried_for: Mutex::default(),
            bench: Mutex::new(system.clone()),
            present: OnceLock::new(),
            margins: OnceLock::new(),
        }
    }

    /// The system with another value of a lever.
    pub fn system(&self, lever: Lever, value: f64) -> System {
        let mut system = self.system.clone();
        system.set(lever.row.field, lever.line, value);
        system
    }

    /// The outcome with another value; `None` where it has no meaning.
    pub fn outcome(&self, lever: Lever, value: f64) -> Option<Arc<Outcome>> {
        let key = (lever.place, value.to_bits());
        if let Some(known) = locked(&self.tried).get(&key) {
            return known.clone();
        }
        let outcome = self.with_value(lever, value, |system| work_out(system).ok().map(Arc::new));
        locked(&self.tried).insert(key, outcome.clone());
        outcome
    }

    /// What another value gives of a result, in its internal unit; `None` where the value has no meaning, or leaves the
    /// result absent. Where it is `enough` to know what the result is not below, that may be told instead.
    pub fn result(
        &self,
        lever: Lever,
        value: f64,
        id: ResultId,
        enough: impl Fn(f64) -> bool,
    ) -> Option<f64> {
        let Some(one_result) = OneResult::of(id) else {
            return self.outcome(lever, value)?.get(id);
        };
        let key = (lever.place, value.to_bits());
        if let Some(known) = locked(&self.tried).get(&key) {
            return known.as_ref()?.get(id);
        }
        let tried_for = || locked(&self.tried_for);
        if let Some(known) = tried_for().get(&(id, key)) {
            return *known;
        }
        match self.with_value(lever, value, |system| one_result.in_system(system, enough)) {
            Known::Value(result) => {
                tried_for().insert((id, key), result);
                result
            }
            Known::AtLeast(at_least) => Some(at_least),
        }
    }

    /// Whether another value can be taken as far as the release margin goes, where that is held to its bound: much of what
    /// [`Trials::worsens_nothing`] turns down is turned down for it, and it takes a part of the work of all results.
    pub fn may_release(&self, lever: Lever, value: f64) -> bool {
        let id = result!(release_margin);
        let Some(row) = ResultLimit::of(id).find(|row| self.is_error(row.check)) else {
            return true;
        };
        let margin = |value: f64| row.margin(&self.system, &self.settings, value);
        let Some(before) = self.outcome.get(id).and_then(margin) else {
            return true;
        };
        let after = self.result(lever, value, id, |_| false).and_then(margin);
        is_no_worse(in_hand(id), before, after)
    }

    /// Whether what a check finds is an error.
    fn is_error(&self, check: CheckId) -> bool {
        Check::of(check).severity_under(&self.settings) == Some(Severity::Error)
    }

    /// Asks something of the system while another value stands in it.
    fn with_value<T>(&self, lever: Lever, value: f64, ask: impl FnOnce(&System) -> T) -> T {
        let mut bench = locked(&self.bench);
        let before = bench.slot(lever.row.field, lever.line).cloned();
        bench.set(lever.row.field, lever.line, value);
        let answer = ask(&bench);
        if let (Some(slot), Some(before)) = (bench.slot(lever.row.field, lever.line), before) {
            *slot = before;
        }
        answer
    }

    /// The findings of the system as it is, in brief.
    pub fn present(&self) -> &[Raised] {
        self.present.get_or_init(|| {
            findings(
                &self.system,
                &self.outcome,
                self.tolerances.as_ref(),
                &self.settings,
            )
        })
    }

    /// The findings of a system, in brief.
    pub fn findings(&self, system: &System, outcome: &Outcome) -> Vec<Raised> {
        let tolerances = self.tolerances(system, outcome);
        findings(system, outcome, tolerances.as_ref(), &self.settings)
    }

    /// The effects of tolerances in a system; `None` where cures are not judged by them.
    fn tolerances(&self, system: &System, outcome: &Outcome) -> Option<Tolerances> {
        self.tolerances.as_ref()?;
        Tolerances::new(system, outcome)
    }

    /// The findings that decide whether a change is accepted as a cure of `cured`, in brief: those of `cured` itself,
    /// and all errors. Tolerances are worked out only if one of these checks considers them.
    pub fn deciding(&self, cured: CheckId, system: &System, outcome: &Outcome) -> Vec<Raised> {
        let decides = |check: &Check| {
            check.id == cured || check.severity_under(&self.settings) == Some(Severity::Error)
        };
        let at_worst = AT_WORST.map(Check::of).into_iter().any(decides);
        let tolerances = match at_worst {
            true => self.tolerances(system, outcome),
            false => None,
        };
        let mut found = Found::new(Detail::Brief);
        let tolerances = tolerances.as_ref();
        run_those(
            decides,
            system,
            Ok(outcome),
            tolerances,
            &self.settings,
            &mut found,
        );
        found.raised
    }

    /// The severity of a finding to its reader; `None` for a silenced finding.
    pub fn severity(&self, raised: &Raised) -> Option<Severity> {
        match self.system.allow_for(raised.check, raised.block) {
            Some(_) => None,
            None => Check::of(raised.check).severity_under(&self.settings),
        }
    }

    /// The margins of every bound whose check is an error, and of every `require` of the author. Each has the least
    /// that a cure must leave, and its distance from being passed, below zero if it is passed.
    fn margins(&self, system: &System, outcome: &Outcome) -> Vec<Option<(f64, f64)>> {
        let bounds = LIMITS.iter().filter(|row| self.is_error(row.check));
        let of_limits = bounds.map(|row| {
            let margin = row.margin(system, &self.settings, outcome.get(row.result)?)?;
            Some((in_hand(row.result), margin))
        });
        let requires = self.system.requires.iter();
        let of_requires =
            requires.map(|require| Some((0.0, require_failed::margin(require, outcome))));
        of_limits.chain(of_requires).collect()
    }

    /// Whether a change makes no margin worse. A margin may shrink only as far as the least that a cure must leave; a
    /// bound that is passed may not be passed further.
    pub fn worsens_nothing(&self, system: &System, outcome: &Outcome) -> bool {
        let before = self
            .margins
            .get_or_init(|| self.margins(&self.system, &self.outcome));
        let after = self.margins(system, outcome);
        before.iter().zip(&after).all(|(before, after)| {
            before.is_none_or(|(least, before)| {
                let after = after.map(|(_, after)| after);
                is_no_worse(least, before, after)
            })
        })
    }

    pub fn show(&self, value: f64, dimension: Dimension) -> String {
        self.system.show(value, dimension)
    }

    /// A result in plain words: `master reserve 4.3 mm`.
    pub fn shown(&self, id: ResultId, outcome: &Outcome) -> Option<String> {
        let value = id.show(outcome.get(id)?, &self.system.display);
        Some(format!("{} {value}", id.spec().plain_name()))
    }
}

/// Whether a margin that was `before` is no worse for a change that leaves `after`, where a cure leaves `least` of it.
fn is_no_worse(least: f64, before: f64, after: Option<f64>) -> bool {
    /// What ends at a limit comes out there but for rounding.
    const ROUNDING: f64 = 1e-9;
    match after {
        Some(after) => after >= least || after >= before - ROUNDING,
        // What cannot be worked out any more is not known to be right.
        None => before < 0.0,
    }
}

/// What a lock guards, whatever befell whoever held it before: nothing in it is ever half made.
fn locked<T>(guarded: &Mutex<T>) -> MutexGuard<'_, T> {
    guarded.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Which findings the checks have about a system, without words.
fn findings(
    system: &System,
    outcome: &Outcome,
    tolerances: Option<&Tolerances>,
    settings: &Settings,
) -> Vec<Raised> {
    let mut found = Found::new(Detail::Brief);
    run(system, Ok(outcome), tolerances, settings, &mut found);
    found.raised
}
