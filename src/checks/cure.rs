//! The search for changes that cure a finding, and for what brought it about.
//!
//! Every change is tried on the system itself and judged by every check before it is offered: it must
//! cure, bring no error that was not there, and make none worse.

use super::adjustments::{ADJUSTMENTS, Adjustment, Sizes};
use super::edit::edit_field;
use super::limits::LIMITS;
use super::sizes::Rounding;
use super::{Check, Context, Detail, Found, Raised, require_failed, thin_margin};
use crate::check_id::CheckId;
use crate::finding::{Place, Problem, Severity};
use crate::model::System;
use crate::quantity::{UnitExpr, significant};
use crate::schema::{Better, ResultId};
use crate::solve::{Outcome, Tolerances, work_out};
use crate::{field, result};

/// What a cure must bring about.
pub struct Goal<'g> {
    /// The result that it is about, told with each cure.
    pub result: ResultId,
    /// How far an outcome is on the right side, in any unit; below zero where it is not cured.
    pub margin: &'g dyn Fn(&Outcome) -> Option<f64>,
}

/// How many cures a finding offers.
const MOST_OFFERED: usize = 3;
/// How many causes a message names.
const MOST_CAUSES: usize = 2;
/// The least part of a shortfall that an unusual input accounts for to be named.
const LEAST_CAUSE: f64 = 0.2;
/// The same for a loss of a usual size.
const LEAST_LOSS: f64 = 0.3;
/// A loss of a usual size is no cause unless it lies in this part of what is usual, on the worse side.
const WORSE_PART: f64 = 1.0 / 3.0;
/// With more values that carry a tolerance than this, cures are ranked by the findings at nominal.
const MOST_TOLERANCED: usize = 6;
/// Halvings between a value that cures and one that does not: enough for a fourth digit.
const HALVINGS: usize = 14;
/// With how many digits a cure says a value at the most.
const MOST_DIGITS: i32 = 4;
/// Places tried between the first value that cures and the end of a field's reach.
const PLACES: usize = 6;

/// A problem with the cures that were found for it.
pub struct Cured {
    problem: Problem,
    told: Vec<String>,
}

impl Cured {
    /// The problem with its cures; where there are none, with what else can be done.
    pub fn or_else(self, help: impl Into<String>) -> Problem {
        let help = match self.told.is_empty() {
            true => help.into(),
            false => self.told.join("; or "),
        };
        self.problem.help(help)
    }
}

/// The problem with what brought it about and with the changes that cure it, the best first.
pub fn cure(cx: &Context<'_>, mut problem: Problem, goal: &Goal<'_>) -> Cured {
    let search = CureSearch::new(cx, goal);
    let causes = search.causes();
    if let Some(words) = search.causes_in_words(&causes) {
        problem.message.push_str(&words);
    }
    let mut told = Vec::new();
    for cure in search.cures(&causes) {
        let title = search.title(&cure);
        if let Some((place, text)) = search.edit(&cure) {
            problem = problem.fix(title.clone(), place, text);
            told.push(title);
        }
    }
    Cured { problem, told }
}

/// A field of a system that a cure may change.
#[derive(Clone, Copy)]
struct Lever {
    row: &'static Adjustment,
    line: Option<usize>,
    /// In internal units.
    present: f64,
}

/// An input that accounts for a part of a shortfall.
struct Cause {
    lever: Lever,
    /// Its value in cars that work.
    usual: f64,
    /// What that value gives back, in the unit of the goal's margin.
    gain: f64,
    is_unusual: bool,
}

/// A change that cures.
struct Cure {
    lever: Lever,
    value: f64,
    outcome: Outcome,
    left: Tally,
}

/// How many findings there are: errors, warnings, notes.
type Tally = [usize; 3];

struct CureSearch<'c, 'a> {
    cx: &'c Context<'a>,
    goal: &'c Goal<'c>,
    levers: Vec<Lever>,
}

impl<'c, 'a> CureSearch<'c, 'a> {
    fn new(cx: &'c Context<'a>, goal: &'c Goal<'c>) -> Self {
        let (system, outcome) = (cx.system, cx.outcome);
        let levers = ADJUSTMENTS.iter().flat_map(|row| {
            row.lines(system).filter_map(move |line| {
                let present = row.present(system, outcome, line)?;
                Some(Lever { row, line, present })
            })
        });
        Self {
            cx,
            goal,
            levers: levers.collect(),
        }
    }

    /// What comes of another value; `None` where it has no meaning.
    fn outcome(&self, lever: Lever, value: f64) -> Option<(System, Outcome)> {
        let mut system = self.cx.system.clone();
        system.set(lever.row.field, lever.line, value);
        let outcome = work_out(&system).ok()?;
        Some((system, outcome))
    }

    fn margin(&self, lever: Lever, value: f64) -> Option<f64> {
        (self.goal.margin)(&self.outcome(lever, value)?.1)
    }

    fn cures_at(&self, lever: Lever, value: f64) -> bool {
        self.margin(lever, value)
            .is_some_and(|margin| margin >= 0.0)
    }

    // ---- causes ----

    /// The inputs that account for most of the shortfall, those furthest from usual first.
    fn causes(&self) -> Vec<Cause> {
        let Some(now) = (self.goal.margin)(self.cx.outcome).filter(|now| now.is_finite()) else {
            return Vec::new();
        };
        let cause = |lever: &Lever| {
            let range = lever.row.usual?;
            let is_unusual = !(range.low..=range.high).contains(&lever.present);
            let usual = match range.better {
                _ if is_unusual => lever.present.clamp(range.low, range.high),
                // A loss that is usual is a loss all the same.
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
        let mut causes: Vec<Cause> = self.levers.iter().filter_map(cause).collect();
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
        let cx = self.cx;
        let row = cause.lever.row;
        let (_, outcome) = self.outcome(cause.lever, cause.usual)?;
        let usual = row.usual?;
        let show = |value| cx.show(value, row.dimension());
        let range = match (usual.low, usual.high) {
            (low, high) if low == high => format!("usually {}", show(low)),
            (low, high) => format!("usually {} to {}", show(low), show(high)),
        };
        let leads_to = self.shown(self.goal.result, &outcome)?;
        Some(format!(
            "`{}` of {} ({range}; {leads_to} at {})",
            row.field.path(),
            show(cause.lever.present),
            show(cause.usual),
        ))
    }

    /// What an outcome comes to, in the result that the goal is about and in what every cure tells.
    fn leads_to(&self, outcome: &Outcome) -> String {
        let told = [result!(release_margin), result!(pedal_effort)];
        let own = Some(self.goal.result).filter(|id| !told.contains(id));
        let own = own.and_then(|id| self.shown(id, outcome));
        let rest = self.cx.leads_to(outcome);
        own.into_iter().chain([rest]).collect::<Vec<_>>().join(", ")
    }

    /// A result in plain words: `master reserve 4.3 mm`.
    fn shown(&self, id: ResultId, outcome: &Outcome) -> Option<String> {
        let value = self.cx.show(outcome.get(id)?, id.spec().dimension);
        Some(format!("{} {value}", id.spec().name.replace('_', " ")))
    }

    // ---- cures ----

    /// The changes that cure: those that leave the fewest and least findings first, then what is furthest
    /// from usual, then what is least work.
    fn cures(&self, causes: &[Cause]) -> Vec<Cure> {
        let is_lever = |a: Lever, b: Lever| a.row.field == b.row.field && a.line == b.line;
        let rank = |lever: Lever| {
            let cause = causes
                .iter()
                .position(|cause| cause.is_unusual && is_lever(cause.lever, lever));
            (cause.unwrap_or(causes.len()), lever.row.work)
        };
        let mut levers = self.levers.clone();
        levers.sort_by_key(|lever| rank(*lever));
        let present = self.present();
        let mut cures: Vec<Cure> = Vec::new();
        for lever in levers {
            cures.extend(self.best_of(lever, present));
            // No other can leave fewer findings, and those that come are more work.
            let clean = cures.iter().filter(|cure| cure.left == [0; 3]);
            if clean.count() >= MOST_OFFERED {
                break;
            }
        }
        cures.sort_by_key(|cure| (cure.left, rank(cure.lever)));
        cures.truncate(MOST_OFFERED);
        cures
    }

    /// The change of one field that cures and leaves the fewest findings; of several the smallest.
    fn best_of(&self, lever: Lever, present: &[Raised]) -> Option<Cure> {
        let unit = self.unit(lever);
        let found: Vec<Cure> = match lever.row.sizes {
            Sizes::Bores => {
                let bores = Adjustment::bores(lever.present, unit.as_ref());
                bores
                    .into_iter()
                    .filter(|bore| self.cures_at(lever, *bore))
                    .find_map(|bore| self.accepted(lever, bore, present))
                    .into_iter()
                    .collect()
            }
            Sizes::Measured | Sizes::Hoses => {
                let range = lever.row.field.field().range;
                let (low, high) = lever.row.reach;
                [low.max(range.low), high.min(range.high)]
                    .into_iter()
                    .filter(|end| *end > lever.present || !lever.row.only_up)
                    .filter_map(|end| self.towards(lever, end, unit.as_ref(), present))
                    .collect()
            }
        };
        let change = |cure: &Cure| (cure.value - lever.present).abs();
        found
            .into_iter()
            .min_by(|a, b| a.left.cmp(&b.left).then(change(a).total_cmp(&change(b))))
    }

    /// The value nearest to the present one, on the way to an end of the field's reach, that cures.
    fn towards(
        &self,
        lever: Lever,
        end: f64,
        unit: Option<&UnitExpr>,
        present: &[Raised],
    ) -> Option<Cure> {
        let (row, from) = (lever.row, lever.present);
        let way = end - from;
        if way == 0.0 || !way.is_finite() {
            return None;
        }
        let good = [1.0, 0.5, 0.25]
            .into_iter()
            .map(|part| from + way * part)
            .find(|value| self.cures_at(lever, *value))?;
        let (mut bad, mut first) = (from, good);
        for _ in 0..HALVINGS {
            let middle = bad + (first - bad) / 2.0;
            if self.cures_at(lever, middle) {
                first = middle;
            } else {
                bad = middle;
            }
        }
        let up = way > 0.0;
        if up && row.takes_most {
            return self.most(lever, first, end, unit, present);
        }
        let rounding = if up { Rounding::Up } else { Rounding::Down };
        // A round value leaves something in hand; where that is too much, a finer one, and where the
        // first to cure brings something else, one further on.
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
            .find_map(|value| self.accepted(lever, value, present))
    }

    /// The largest value between the first that cures and the end of the field's reach that is accepted.
    fn most(
        &self,
        lever: Lever,
        first: f64,
        end: f64,
        unit: Option<&UnitExpr>,
        present: &[Raised],
    ) -> Option<Cure> {
        let (mut good, mut bad) = (first, end);
        for _ in 0..HALVINGS {
            let middle = good + (bad - good) / 2.0;
            if self.accepted(lever, middle, present).is_some() {
                good = middle;
            } else {
                bad = middle;
            }
        }
        (lever.row.digits()..=MOST_DIGITS)
            .map(|digits| lever.row.rounded(good, unit, Rounding::Down, digits))
            .filter(|value| *value >= first)
            .find_map(|value| self.accepted(lever, value, present))
    }

    /// The change, if it cures, brings no error and makes none worse.
    fn accepted(&self, lever: Lever, value: f64, present: &[Raised]) -> Option<Cure> {
        let cx = self.cx;
        let (system, outcome) = self.outcome(lever, value)?;
        // Its tolerance stays with it, and must have room as well.
        let band = system
            .component_at(lever.row.field, lever.line)?
            .given(lever.row.field)?
            .band()?;
        let range = lever.row.field.field().range;
        if !range.contains(band.low) || !range.contains(band.high) {
            return None;
        }
        if (self.goal.margin)(&outcome)? < 0.0 || !self.is_known(lever, &outcome) {
            return None;
        }
        let raised = findings(cx, &system, &outcome);
        let count =
            |raised: &[Raised], check: CheckId| raised.iter().filter(|r| r.check == check).count();
        let cures = count(&raised, cx.check.id) < count(present, cx.check.id);
        let brings_none = raised
            .iter()
            .filter(|raised| severity(cx, raised) == Some(Severity::Error))
            .all(|one| count(&raised, one.check) <= count(present, one.check));
        if !cures || !brings_none || !worsens_nothing(cx, &system, &outcome) {
            return None;
        }
        let mut left = [0; 3];
        for raised in &raised {
            match severity(cx, raised) {
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

    /// Whether what the change takes away can be judged: a piston is not pushed further home where it is
    /// not known how far a worn disc brings it back.
    fn is_known(&self, lever: Lever, outcome: &Outcome) -> bool {
        lever.row.field != field!(slave.rest_extension)
            || outcome.get(result!(wear_reserve)).is_some()
    }

    /// The findings of the system as it is.
    fn present(&self) -> &[Raised] {
        let cx = self.cx;
        cx.present
            .get_or_init(|| findings(cx, cx.system, cx.outcome))
    }

    // ---- words ----

    fn title(&self, cure: &Cure) -> String {
        let row = cure.lever.row;
        let is_given = self
            .cx
            .system
            .component_at(row.field, cure.lever.line)
            .is_some_and(|component| component.given(row.field).is_some());
        let asks = match row.asks_new {
            Some(asks) if !is_given => asks,
            _ => row.asks,
        };
        let value = row.written(cure.value, self.unit(cure.lever).as_ref());
        format!(
            "{}: {}",
            asks.replace("{}", &value),
            self.leads_to(&cure.outcome)
        )
    }

    /// The edit that makes the change; a tolerance that stands there is kept.
    fn edit(&self, cure: &Cure) -> Option<(Place, String)> {
        let Lever { row, line, .. } = cure.lever;
        let unit = self.unit(cure.lever);
        let mut text = row.written(cure.value, unit.as_ref());
        let component = self.cx.system.component_at(row.field, line)?;
        if let Some(given) = component.given(row.field) {
            let band = given.band_around(cure.value);
            let half = (band.high - band.low) / 2.0;
            match given.share {
                Some([below, above]) => {
                    let percent = significant(50.0 * (below + above), 4);
                    text.push_str(&format!(" ± {percent} %"));
                }
                None if half > 0.0 => {
                    text.push_str(&format!(" ± {}", super::written(half, unit.as_ref())));
                }
                None => {}
            }
        }
        edit_field(self.cx.system, row.field, line, &text)
    }

    /// The unit in which the field is written now, or would be.
    fn unit(&self, lever: Lever) -> Option<UnitExpr> {
        let system = self.cx.system;
        system
            .component_at(lever.row.field, lever.line)
            .and_then(|component| component.given(lever.row.field))
            .and_then(|given| given.unit().cloned())
            .or_else(|| system.display.unit(lever.row.dimension()))
    }
}

/// Which findings the checks have about a system, without words.
fn findings(cx: &Context<'_>, system: &System, outcome: &Outcome) -> Vec<Raised> {
    let thin_is_error = thin_margin::CHECK.severity_under(cx.settings) == Some(Severity::Error);
    let few = |count: usize| count <= MOST_TOLERANCED || thin_is_error;
    let tolerances = cx
        .tolerances
        .filter(|tolerances| few(tolerances.inputs.len()))
        .and_then(|_| Tolerances::new(system, outcome));
    let mut found = Found::new(Detail::Brief);
    super::run(
        system,
        Ok(outcome),
        tolerances.as_ref(),
        cx.settings,
        &mut found,
    );
    found.raised
}

/// How bad a finding is to whoever reads it; `None` for one that is silenced.
fn severity(cx: &Context<'_>, raised: &Raised) -> Option<Severity> {
    let allowed = cx.system.allow_for(raised.check, raised.block);
    match allowed {
        Some(_) => None,
        None => Check::of(raised.check).severity_under(cx.settings),
    }
}

/// Whether no error that was there before is further from its cure.
fn worsens_nothing(cx: &Context<'_>, system: &System, outcome: &Outcome) -> bool {
    /// What ends at a limit comes out there but for rounding.
    const ROUNDING: f64 = 1e-9;
    let bounds = LIMITS
        .iter()
        .filter(|row| row.check.severity_under(cx.settings) == Some(Severity::Error));
    let of_limits = bounds.map(|row| {
        let margin = |system: &System, outcome: &Outcome| {
            row.margin(system, cx.settings, outcome.get(row.result)?)
        };
        (margin(cx.system, cx.outcome), margin(system, outcome))
    });
    let of_requires = cx.system.requires.iter().map(|require| {
        let margin = |outcome| Some(require_failed::margin(require, outcome));
        (margin(cx.outcome), margin(outcome))
    });
    of_limits.chain(of_requires).all(|pair| match pair {
        (Some(before), Some(after)) => after >= 0.0 || after >= before - ROUNDING,
        // What cannot be worked out any more is not known to be right.
        (Some(before), None) => before < 0.0,
        (None, _) => true,
    })
}
