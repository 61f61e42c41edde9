//! Tries other values in one system, and runs the checks on the result.

use super::adjustment::Adjustment;
use super::adjustments::ADJUSTMENTS;
use super::goal::in_hand;
use super::limits::LIMITS;
use super::registry::run_those;
use super::{Check, Detail, Found, Raised, require_failed, run};
use crate::check_id::CheckId;
use crate::finding::Severity;
use crate::model::System;
use crate::quantity::Dimension;
use crate::schema::ResultId;
use crate::settings::Settings;
use crate::solve::{Outcome, Tolerances, work_out};
use rustc_hash::FxHashMap;
use std::sync::{Arc, Mutex, OnceLock, PoisonError};

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
    /// A copy of the system, in which a value is tried and then put back.
    bench: Mutex<System>,
    /// The findings of the system as it is.
    present: OnceLock<Vec<Raised>>,
    /// The margins of the system as it is, each after the least that a cure must leave.
    margins: OnceLock<Vec<Option<(f64, f64)>>>,
}

/// The outcomes of values, by the lever's place and the value's bits; `None` where a value has no meaning.
type Tried = FxHashMap<(usize, u64), Option<Arc<Outcome>>>;

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
        let tried = || self.tried.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(known) = tried().get(&key) {
            return known.clone();
        }
        let mut bench = self.bench.lock().unwrap_or_else(PoisonError::into_inner);
        let before = bench.slot(lever.row.field, lever.line).cloned();
        bench.set(lever.row.field, lever.line, value);
        let outcome = work_out(&bench).ok().map(Arc::new);
        if let (Some(slot), Some(before)) = (bench.slot(lever.row.field, lever.line), before) {
            *slot = before;
        }
        drop(bench);
        tried().insert(key, outcome.clone());
        outcome
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
        let is_error =
            |check| Check::of(check).severity_under(&self.settings) == Some(Severity::Error);
        let bounds = LIMITS.iter().filter(|row| is_error(row.check));
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
        /// A margin at a limit is zero up to rounding.
        const ROUNDING: f64 = 1e-9;
        let before = self
            .margins
            .get_or_init(|| self.margins(&self.system, &self.outcome));
        let after = self.margins(system, outcome);
        before.iter().zip(&after).all(|pair| match pair {
            (Some((least, before)), Some((_, after))) => {
                after >= least || *after >= before - ROUNDING
            }
            // A result that can no longer be worked out is not known to be right.
            (Some((_, before)), None) => *before < 0.0,
            (None, _) => true,
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

/// The findings of a system, in brief.
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
