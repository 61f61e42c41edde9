//! Searches for changes that cure a finding, and for what caused it.
//!
//! Every change is tried on the system itself and judged by every check before it is offered. It must cure, cause no
//! new error and make no error worse. A check states its [`Goal`]. The search is above all checks, and runs only when
//! cures are asked for.

use super::adjustment::{Adjustment, Sizes, Way};
use super::edit::edit_field;
use super::found::Wish;
use super::sizes::{Rounding, written};
use super::trials::{Lever, Trials};
use super::{Found, Goal, Raised};
use crate::check_id::CheckId;
use crate::finding::{Fix, Place, Problem, Severity};
use crate::mechanics::root;
use crate::model::System;
use crate::quantity::{Dimension, UnitExpr, significant};
use crate::schema::Better;
use crate::settings::Settings;
use crate::solve::{Outcome, Tolerances};
use crate::{field, result};
use std::cell::Cell;
use std::sync::{Arc, LazyLock};

/// How many cures a finding offers.
const MOST_OFFERED: usize = 3;
/// How many causes a message names.
const MOST_CAUSES: usize = 2;
/// The smallest share of a shortfall for which an unusual input is named.
const LEAST_CAUSE: f64 = 0.2;
/// The smallest share of a shortfall for which a loss of a usual size is named.
const LEAST_LOSS: f64 = 0.3;
/// A loss of a usual size is named as a cause only in this share of the usual range, on the worse side.
const WORSE_PART: f64 = 1.0 / 3.0;
/// Halvings between a value that cures and one that does not: enough for a fourth digit.
const HALVINGS: usize = 14;
/// The most digits with which a cure gives a value.
const MOST_DIGITS: i32 = 4;
/// How many places are tried between the first value that cures and the end of a field's reach.
const PLACES: usize = 6;

/// A problem found in a system, with its cures if the check gave a goal for them.
#[derive(Clone, Debug)]
pub struct Told {
    pub problem: Problem,
    pub cures: Option<Cures>,
}

impl Told {
    /// The problem with its cures written into it.
    pub fn worked_out(self) -> Problem {
        let mut problem = self.problem;
        if let Some(cures) = self.cures {
            cures.advice().clone().say(&mut problem);
        }
        problem
    }
}

/// The cures of a problem, worked out on the first request, once for all copies.
#[derive(Clone)]
pub struct Cures(Arc<LazyLock<Advice, Box<dyn FnOnce() -> Advice + Send>>>);

/// What to change, in words and as changes of the text.
#[derive(Clone, Debug)]
pub struct Advice {
    pub help: String,
    pub fixes: Vec<Fix>,
}

impl Advice {
    /// Writes the advice into a problem.
    pub fn say(self, problem: &mut Problem) {
        problem.help = Some(self.help);
        problem.fixes.splice(..0, self.fixes);
    }
}

impl Cures {
    /// Advice that is worked out on the first request.
    pub(super) fn later(advice: impl FnOnce() -> Advice + Send + 'static) -> Self {
        Self(Arc::new(LazyLock::new(Box::new(advice))))
    }

    pub fn advice(&self) -> &Advice {
        &self.0
    }
}

impl std::fmt::Debug for Cures {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        self.advice().fmt(f)
    }
}

/// The problems that the checks found in a system. Where a check gave a goal, the message names the causes, and cures
/// can be asked for.
pub fn told(
    found: Found,
    system: &System,
    outcome: Option<&Outcome>,
    tolerances: Option<&Tolerances>,
    settings: &Settings,
) -> Vec<Told> {
    let mut told: Vec<Told> = found
        .problems
        .into_iter()
        .map(|problem| Told {
            problem,
            cures: None,
        })
        .collect();
    let Some(outcome) = outcome.filter(|_| !found.wishes.is_empty()) else {
        return told;
    };
    let trials = Arc::new(Trials::new(system, outcome, tolerances, settings));
    for Wish {
        problem,
        goal,
        otherwise,
    } in found.wishes
    {
        let Some(told) = told.get_mut(problem) else {
            continue;
        };
        let search = CureSearch {
            trials: trials.clone(),
            check: told.problem.check,
            goal,
        };
        let causes = search.causes();
        if let Some(words) = search.causes_in_words(&causes) {
            told.problem.message.push_str(&words);
        }
        let advice = move || search.advice(&causes, otherwise);
        told.cures = Some(Cures::later(advice));
    }
    told
}

/// An input that accounts for a part of a shortfall.
struct Cause {
    lever: Lever,
    /// Its usual value in cars that work.
    usual: f64,
    /// What the usual value would bring, in the unit of the goal's margin.
    gain: f64,
    is_unusual: bool,
}

/// A change that cures.
struct Cure {
    lever: Lever,
    value: f64,
    outcome: Arc<Outcome>,
    left: Tally,
}

/// Numbers of findings: errors, warnings, notes.
type Tally = [usize; 3];

/// The search for changes that reach a goal.
struct CureSearch {
    trials: Arc<Trials>,
    /// The check that found the problem.
    check: CheckId,
    goal: Goal,
}

impl CureSearch {
    /// The changes that cure, the best first; if there are none, what else can be done.
    fn advice(&self, causes: &[Cause], otherwise: String) -> Advice {
        let mut told = Vec::new();
        let mut fixes = Vec::new();
        for cure in self.cures(causes) {
            let title = self.title(&cure);
            if let Some(edit) = self.edit(&cure) {
                fixes.push(Fix {
                    title: title.clone(),
                    edits: vec![edit],
                });
                told.push(title);
            }
        }
        Advice {
            help: match told.is_empty() {
                true => otherwise,
                false => told.join("; or "),
            },
            fixes,
        }
    }

    /// By how much the goal's margin exceeds the least that a cure must leave. Below zero the problem is not cured.
    fn spare(&self, outcome: &Outcome) -> Option<f64> {
        Some(self.goal.margin(outcome)? - self.goal.in_hand)
    }

    /// The spare margin with another value of a field.
    fn margin(&self, lever: Lever, value: f64) -> Option<f64> {
        self.margin_down_to(lever, value, f64::NEG_INFINITY)
    }

    /// The spare margin at another value of a field; of one below `least` only that it is, since anything below may be told
    /// for it.
    fn margin_down_to(&self, lever: Lever, value: f64, least: f64) -> Option<f64> {
        let Some((margin, falls)) = self.goal.margin_of_result() else {
            return self.spare(&*self.trials.outcome(lever, value)?);
        };
        let spare = |result: f64| Some(margin(result)? - self.goal.in_hand);
        let is_below = |result| falls && spare(result).is_some_and(|margin| margin < least);
        let id = self.goal.result;
        spare(self.trials.result(lever, value, id, is_below)?)
    }

    fn cures_at(&self, lever: Lever, value: f64) -> bool {
        self.margin_down_to(lever, value, 0.0)
            .is_some_and(|margin| margin >= 0.0)
    }

    // ---- causes ----

    /// The inputs that account for most of the shortfall, the furthest from usual first.
    fn causes(&self) -> Vec<Cause> {
        let now = self.spare(&self.trials.outcome);
        let Some(now) = now.filter(|now| now.is_finite()) else {
            return Vec::new();
        };
        let cause = |lever: &Lever| {
            let range = lever.row.usual?;
            let is_unusual = !(range.low..=range.high).contains(&lever.present);
            let usual = match range.better {
                _ if is_unusual => lever.present.clamp(range.low, range.high),
                // A usual loss is still a loss.
                Some(Better::Less) => range.low,
                Some(Better::More) => range.high,
                Some(Better::Neither) | None => return None,
            };
            let from_better = (lever.present - usual).abs();
            if !is_unusual && from_better < (1.0 - WORSE_PART) * (range.high - range.low) {
                return None;
            }
            let gain = self.margin(*lever, usual)? - now;
            let least = if is_unusual { LEAST_CAUSE } else { LEAST_LOSS };
            (gain >= least * -now && gain > 0.0).then_some(Cause {
                lever: *lever,
                usual,
                gain,
                is_unusual,
            })
        };
        let levers = self.trials.levers.iter();
        let mut causes: Vec<Cause> = levers.filter_map(cause).collect();
        causes.sort_by(|a, b| {
            b.is_unusual
                .cmp(&a.is_unusual)
                .then(b.gain.total_cmp(&a.gain))
        });
        causes
    }

    /// The causes as the end of a message.
    fn causes_in_words(&self, causes: &[Cause]) -> Option<String> {
        let told: Vec<String> = causes
            .iter()
            .take(MOST_CAUSES)
            .filter_map(|cause| self.cause_in_words(cause))
            .collect();
        (!told.is_empty()).then(|| format!(". What counts most: {}", told.join("; ")))
    }

    fn cause_in_words(&self, cause: &Cause) -> Option<String> {
        let row = cause.lever.row;
        let outcome = self.trials.outcome(cause.lever, cause.usual)?;
        let usual = row.usual?;
        let show = |value| row.shown(value, &self.trials.system.display);
        let range = match (usual.low, usual.high) {
            (low, high) if low == high => format!("usually {}", show(low)),
            (low, high) => format!("usually {} to {}", show(low), show(high)),
        };
        let leads_to = self.trials.shown(self.goal.result, &outcome)?;
        Some(format!(
            "`{}` of {} ({range}; {leads_to} at {})",
            row.field.path(),
            show(cause.lever.present),
            show(cause.usual),
        ))
    }

    /// What a change leads to: the goal's result, and the results that every cure names.
    fn leads_to(&self, row: &Adjustment, outcome: &Outcome) -> String {
        let shown = |id| self.trials.shown(id, outcome);
        if row.changes_load {
            return shown(self.goal.result).unwrap_or_default();
        }
        let told = [result!(release_margin), result!(pedal_effort)];
        let own = Some(self.goal.result).filter(|id| !told.contains(id));
        let effort = outcome.get(result!(pedal_effort));
        let effort = effort.map(|v| format!("effort {}", self.trials.show(v, Dimension::FORCE)));
        let parts = [own.and_then(shown), shown(result!(release_margin)), effort];
        parts.into_iter().flatten().collect::<Vec<_>>().join(", ")
    }

    // ---- cures ----

    /// The changes that cure. They are ordered by the findings they leave (fewest and least), then by how far from
    /// usual the input is, then by the least work.
    fn cures(&self, causes: &[Cause]) -> Vec<Cure> {
        let is_lever = |a: Lever, b: Lever| a.place == b.place;
        let rank = |lever: Lever| {
            let cause = causes
                .iter()
                .position(|cause| cause.is_unusual && is_lever(cause.lever, lever));
            (cause.unwrap_or(causes.len()), lever.row.work)
        };
        let mut levers = self.trials.levers.clone();
        levers.sort_by_key(|lever| rank(*lever));
        let mut cures: Vec<Cure> = Vec::new();
        for lever in levers {
            cures.extend(self.best_of(lever));
            // No other can leave fewer findings, and the following ones are more work.
            let clean = cures.iter().filter(|cure| cure.left == [0; 3]);
            if clean.count() >= MOST_OFFERED {
                break;
            }
        }
        cures.sort_by_key(|cure| (cure.left, rank(cure.lever)));
        cures.truncate(MOST_OFFERED);
        cures
    }

    /// The change of one field that cures and leaves the fewest findings; if several do, the smallest change.
    fn best_of(&self, lever: Lever) -> Option<Cure> {
        let unit = self.unit(lever);
        let found: Vec<Cure> = match lever.row.sizes {
            Sizes::Bores => {
                let bores = Adjustment::bores(lever.present, unit.as_ref());
                bores
                    .into_iter()
                    .filter(|bore| self.cures_at(lever, *bore))
                    .find_map(|bore| self.accepted(lever, bore))
                    .into_iter()
                    .collect()
            }
            Sizes::Measured | Sizes::Hoses => {
                let (low, high) = lever.row.reach_in(&self.trials.system);
                [low, high]
                    .into_iter()
                    .filter(|end| match lever.row.way {
                        Way::Either => true,
                        Way::Up => *end > lever.present,
                        Way::Down => *end < lever.present,
                    })
                    .filter_map(|end| self.towards(lever, end, unit.as_ref()))
                    .collect()
            }
        };
        let change = |cure: &Cure| (cure.value - lever.present).abs();
        found
            .into_iter()
            .min_by(|a, b| a.left.cmp(&b.left).then(change(a).total_cmp(&change(b))))
    }

    /// The value that cures and is nearest to the present one, towards one end of the field's reach.
    fn towards(&self, lever: Lever, end: f64, unit: Option<&UnitExpr>) -> Option<Cure> {
        let (row, from) = (lever.row, lever.present);
        let way = end - from;
        if way == 0.0 || !way.is_finite() {
            return None;
        }
        // What makes no difference all the way makes none on the way.
        let is_idle = |now: f64| {
            let there = || self.margin_down_to(lever, from + way, now);
            now.is_finite() && now < 0.0 && there() == Some(now)
        };
        if self.goal.margin(&self.trials.outcome).is_some_and(is_idle) {
            return None;
        }
        let good = [1.0, 0.5, 0.25]
            .into_iter()
            .map(|part| from + way * part)
            .find(|value| self.cures_at(lever, *value))?;
        let first = self.first_that_cures(lever, good);
        let up = way > 0.0;
        if up && row.takes_most {
            return self.most(lever, first, end, unit);
        }
        let rounding = if up { Rounding::Up } else { Rounding::Down };
        // A round value leaves some margin. If it is too much, a finer one is tried; if the first that cures causes
        // another finding, one further on.
        let places = (1..=PLACES).map(|place| {
            let part = place as f64 / PLACES as f64;
            let value = first + (end - first) * part;
            row.rounded(value, unit, rounding, row.digits())
        });
        let near =
            (row.digits()..=MOST_DIGITS).map(|digits| row.rounded(first, unit, rounding, digits));
        let between = |value: &f64| {
            let (least, most) = if up { (first, end) } else { (end, first) };
            (least..=most).contains(value) && row.field.field().range.contains(*value)
        };
        near.chain(places)
            .filter(between)
            .find_map(|value| self.accepted(lever, value))
    }

    /// The first value that cures, searched between the present value and one that cures. All values beyond the first
    /// are taken to cure. Interpolation on the margin saves most of the halvings.
    fn first_that_cures(&self, lever: Lever, good: f64) -> f64 {
        /// The size of the last halving, as a share of the way.
        const LAST: f64 = 1.0 / (1 << HALVINGS) as f64;
        let from = lever.present;
        // As shares of the way: the last known not to cure, and the first known to cure.
        let known = Cell::new((0.0, 1.0));
        let look = |part: f64, value: f64| {
            let margin = self.margin(lever, value).unwrap_or(f64::NEG_INFINITY);
            let (bad, good) = known.get();
            known.set(match margin >= 0.0 {
                true => (bad, part.min(good)),
                false => (part.max(bad), good),
            });
            margin
        };
        let now = self.spare(&self.trials.outcome);
        if let (Some(now), Some(there)) = (now, self.margin(lever, good))
            && now < 0.0
        {
            let margin = |part: f64| look(part, from + (good - from) * part);
            root(margin, (0.0, now), (1.0, there), LAST / 2.0);
        }
        let (mut bad, mut first) = (from, good);
        for _ in 0..HALVINGS {
            let middle = bad + (first - bad) / 2.0;
            let part = (middle - from) / (good - from);
            let (never, always) = known.get();
            let cures = part >= always || part > never && look(part, middle) >= 0.0;
            if cures {
                first = middle;
            } else {
                bad = middle;
            }
        }
        first
    }

    /// The largest accepted value between the first that cures and the end of the field's reach.
    fn most(&self, lever: Lever, first: f64, end: f64, unit: Option<&UnitExpr>) -> Option<Cure> {
        let (mut good, mut bad) = (first, end);
        for _ in 0..HALVINGS {
            let middle = good + (bad - good) / 2.0;
            if self.accept(lever, middle).is_some() {
                good = middle;
            } else {
                bad = middle;
            }
        }
        (lever.row.digits()..=MOST_DIGITS)
            .map(|digits| lever.row.rounded(good, unit, Rounding::Down, digits))
            .filter(|value| *value >= first)
            .find_map(|value| self.accepted(lever, value))
    }

    /// The change, if it cures, causes no new error and makes none worse.
    fn accepted(&self, lever: Lever, value: f64) -> Option<Cure> {
        let (system, outcome) = self.accept(lever, value)?;
        let mut left = [0; 3];
        for raised in &self.trials.findings(&system, &outcome) {
            match self.trials.severity(raised) {
                Some(Severity::Error) => left[0] += 1,
                Some(Severity::Warning) => left[1] += 1,
                Some(Severity::Info | Severity::Hint) => left[2] += 1,
                None => {}
            }
        }
        Some(Cure {
            lever,
            value,
            outcome,
            left,
        })
    }

    /// The system and its outcome after the change; `None` if it does not cure, causes an error or makes one worse.
    fn accept(&self, lever: Lever, value: f64) -> Option<(System, Arc<Outcome>)> {
        let trials = &*self.trials;
        if !trials.may_release(lever, value) {
            return None;
        }
        let outcome = trials.outcome(lever, value)?;
        if self.margin(lever, value)? < 0.0 || !Self::is_known(lever, &outcome) {
            return None;
        }
        let system = trials.system(lever, value);
        // The value keeps its tolerance, which must have room as well.
        let band = system
            .component_at(lever.row.field, lever.line)?
            .given(lever.row.field)?
            .band()?;
        let range = lever.row.field.field().range;
        if !range.contains(band.low) || !range.contains(band.high) {
            return None;
        }
        if !trials.worsens_nothing(&system, &outcome) {
            return None;
        }
        // Most changes fail here. The other checks are run only on those that pass.
        let present = trials.present();
        let raised = trials.deciding(self.check, &system, &outcome);
        let count =
            |raised: &[Raised], check: CheckId| raised.iter().filter(|r| r.check == check).count();
        let cures = count(&raised, self.check) < count(present, self.check);
        let brings_none = raised
            .iter()
            .filter(|raised| trials.severity(raised) == Some(Severity::Error))
            .all(|one| count(&raised, one.check) <= count(present, one.check));
        (cures && brings_none).then_some((system, outcome))
    }

    /// Whether the drawback of a change can be judged. A piston is pushed further home only if it is known how far a
    /// worn disc brings it back.
    fn is_known(lever: Lever, outcome: &Outcome) -> bool {
        lever.row.field != field!(slave.rest_extension)
            || outcome.get(result!(wear_reserve)).is_some()
    }

    // ---- words ----

    fn title(&self, cure: &Cure) -> String {
        let row = cure.lever.row;
        let is_given = self
            .trials
            .system
            .component_at(row.field, cure.lever.line)
            .is_some_and(|component| component.given(row.field).is_some());
        let asks = match row.asks_new {
            Some(asks) if !is_given => asks,
            _ => row.asks,
        };
        let units = self.trials.system.display.system();
        let value = row.named(cure.value, self.unit(cure.lever).as_ref(), units);
        format!(
            "{}: {}",
            asks.replace("{}", &value),
            self.leads_to(row, &cure.outcome)
        )
    }

    /// The edit that makes the change. A tolerance in the text is kept.
    fn edit(&self, cure: &Cure) -> Option<(Place, String)> {
        let Lever { row, line, .. } = cure.lever;
        let unit = self.unit(cure.lever);
        let units = self.trials.system.display.system();
        let mut text = row.written(cure.value, unit.as_ref(), units);
        let component = self.trials.system.component_at(row.field, line)?;
        if let Some(given) = component.given(row.field) {
            let band = given.band_around(cure.value);
            let half = (band.high - band.low) / 2.0;
            match given.share {
                Some([below, above]) => {
                    let percent = significant(50.0 * (below + above), 4);
                    text.push_str(&format!(" ± {percent} %"));
                }
                None if half > 0.0 => {
                    text.push_str(&format!(" ± {}", written(half, unit.as_ref())));
                }
                None => {}
            }
        }
        edit_field(&self.trials.system, row.field, line, &text)
    }

    /// The unit in which the field is written now, or would be.
    fn unit(&self, lever: Lever) -> Option<UnitExpr> {
        let system = &self.trials.system;
        system
            .component_at(lever.row.field, lever.line)
            .and_then(|component| component.given(lever.row.field))
            .and_then(|given| given.unit().cloned())
            .or_else(|| system.display.unit(lever.row.dimension()))
    }
}
