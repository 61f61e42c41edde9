//! What a check sees of a system, and helpers for its messages.

use super::Limit;
use super::edit::place_in;
use super::limits::{ResultLimit, is_upper};
use super::sizes::written;
use crate::check_id::CheckId;
use crate::diagnose::{Diagnosis, diagnose};
use crate::field;
use crate::finding::{Place, Problem};
use crate::mechanics::{Chain, EndedBy};
use crate::model::{Component, System};
use crate::quantity::{Dimension, UnitExpr};
use crate::schema::{FieldId, ResultId};
use crate::settings::Settings;
use crate::solve::{Outcome, Spread, Tolerances, window_edges};
use std::cell::OnceCell;

/// A system that is worked out, seen by one check.
pub struct Context<'a> {
    /// The check that is running.
    pub check: CheckId,
    /// The limits of that check, which the settings may change.
    pub limits: &'static [Limit],
    /// The settings that hold for the spec.
    pub settings: &'a Settings,
    /// The system as the spec has it.
    pub system: &'a System,
    /// The system worked out: its chain and its results.
    pub outcome: &'a Outcome,
    /// The effects of tolerances; `None` where the spec has none.
    pub tolerances: Option<&'a Tolerances>,
    /// What the readings on the car say: worked out when the first check asks for it.
    pub diagnosis: &'a OnceCell<Diagnosis>,
}

impl<'a> Context<'a> {
    /// A result in internal units.
    pub fn get(&self, id: ResultId) -> Option<f64> {
        self.outcome.get(id)
    }

    /// What the readings on the car say.
    pub fn diagnosis(&self) -> &'a Diagnosis {
        self.diagnosis
            .get_or_init(|| diagnose(self.system, self.outcome))
    }

    /// The effect of the tolerances on a result.
    pub fn spread(&self, id: ResultId) -> Option<&'a Spread> {
        self.tolerances?.get(id)
    }

    /// A limit of this check by name, in internal units.
    pub fn limit(&self, name: &str) -> Option<f64> {
        let limit = self.limits.iter().find(|limit| limit.name == name);
        debug_assert!(limit.is_some(), "{} has no limit {name}", self.check);
        Some(limit?.under(self.settings, self.check))
    }

    /// The bound by which this check limits a result.
    pub fn row(&self, result: ResultId) -> Option<&'static ResultLimit> {
        let row = ResultLimit::of(result).find(|row| row.check == self.check);
        debug_assert!(
            row.is_some(),
            "{} has no bound on {}",
            self.check,
            result.spec().name
        );
        row
    }

    /// This check's bound of a result, in internal units. `None` where the author's own `require` on the result
    /// replaces a limit that is only a default.
    pub fn bound(&self, result: ResultId) -> Option<f64> {
        Some(self.row(result)?.value(self.system, self.settings)?.nominal)
    }

    /// Whether the author's own `require` limits a result from above (`most`) or from below.
    pub fn is_author_limited(&self, result: ResultId, most: bool) -> bool {
        let mut requires = self.system.requires.iter();
        requires.any(|require| require.result == result && is_upper(require.comparison) == most)
    }

    /// The source of a limit of this check, for a message.
    pub fn source_of(&self, limit: &str) -> String {
        let set = |limit: &&Limit| self.settings.limit(self.check, limit.name).is_some();
        let limit = self.limits.iter().find(|l| l.name == limit);
        match (&self.settings.file, limit.filter(set)) {
            (Some(file), Some(_)) => format!("set in `{file}`"),
            _ => limit.map_or_else(String::new, |limit| limit.source.to_owned()),
        }
    }

    /// Where the pedal would end if only the floor and its stop ended it.
    pub fn pedal_end(&self) -> f64 {
        let pedal = &self.outcome.chain.pedal;
        pedal
            .stop
            .map_or(pedal.travel, |stop| stop.min(pedal.travel))
    }

    // ---- values in the author's units ----

    /// A value in internal units, as text in the author's unit for the dimension.
    pub fn show(&self, value: f64, dimension: Dimension) -> String {
        self.system.show(value, dimension)
    }

    /// A length in mm, as text in the author's unit.
    pub fn length(&self, mm: f64) -> String {
        self.show(mm, Dimension::LENGTH)
    }

    /// A force in N, as text in the author's unit.
    pub fn force(&self, newton: f64) -> String {
        self.show(newton, Dimension::FORCE)
    }

    /// A pressure in MPa, as text in the author's unit.
    pub fn pressure(&self, mpa: f64) -> String {
        self.show(mpa, Dimension::PRESSURE)
    }

    /// The unit in which a field is written now, or would be.
    pub fn unit(&self, field: FieldId) -> Option<UnitExpr> {
        let dimension = field.field().dimension().unwrap_or(Dimension::NUMBER);
        self.system
            .given(field)
            .and_then(|given| given.unit().cloned())
            .or_else(|| self.system.display.unit(dimension))
    }

    /// A value as it would be written into a field, in the field's present unit.
    pub fn written(&self, field: FieldId, value: f64) -> String {
        written(value, self.unit(field).as_ref())
    }

    // ---- places ----

    /// Where a field's value is, in whatever file. If it is not given, where the system comes nearest to it.
    pub fn place(&self, field: FieldId) -> Place {
        match self.system.given(field) {
            Some(given) => given.place.clone(),
            None => self.system.place_of(field),
        }
    }

    /// The field with the size of what drives the fork.
    pub fn driver_field(&self) -> FieldId {
        let drive = self.system.fork_drives().next();
        let fields = drive.map_or(&[][..], |drive| drive.ratio);
        let is_given = |field: &&FieldId| self.system.given(**field).is_some();
        let given = fields.iter().find(is_given).or(fields.last());
        given.copied().unwrap_or(field!(pedal.ratio))
    }

    /// The field that decides how far the fingers move: the field of what stops them, else the size of what drives
    /// the fork.
    pub fn finger_travel_field(&self) -> FieldId {
        match self.outcome.ended_by {
            EndedBy::PedalStop => field!(pedal.stop),
            EndedBy::IntensifierStroke => field!(intensifier.stroke),
            EndedBy::SlaveStroke => field!(slave.stroke),
            EndedBy::ForkWindow => self.window_field(),
            EndedBy::BearingGuide => field!(bearing.max_travel),
            _ => self.driver_field(),
        }
    }

    /// Adds a field's place to a problem, in a system that has the field.
    pub fn beside(&self, problem: Problem, field: FieldId, words: &str) -> Problem {
        match self.system.given(field) {
            Some(given) => problem.related(given.place.clone(), words),
            None => problem,
        }
    }

    /// The field that ends the pedal's travel: its stop if one is fitted and comes first.
    pub fn pedal_end_field(&self) -> FieldId {
        let pedal = &self.outcome.chain.pedal;
        if pedal.stop.is_some_and(|stop| stop < pedal.travel) {
            field!(pedal.stop)
        } else {
            field!(pedal.travel)
        }
    }

    /// The field of the edge that stops the fork's outer end in its opening.
    pub fn window_field(&self) -> FieldId {
        let window = field!(fork.window);
        let edges = || window_edges(&self.outcome.side_inputs.fork_stack?);
        match self.system.given(window) {
            Some(_) => window,
            None => edges().map_or(window, |(ahead, _)| ahead),
        }
    }

    /// A problem of this check at the place where the system itself gives a field.
    pub fn problem(&self, field: FieldId, message: impl Into<String>) -> Problem {
        problem_of_field(self.check, self.system, field, message)
    }

    /// A problem of this check at the system's name.
    pub fn problem_of_system(&self, message: impl Into<String>) -> Problem {
        Problem::new(self.check, self.system.place.clone(), message)
    }

    // ---- what another chain would give ----

    /// The outcome with another value; `None` if it has no meaning.
    pub fn what_if(&self, change: impl FnOnce(&mut Chain)) -> Option<Outcome> {
        self.outcome.with(change)
    }
}

/// A problem at the place where the system itself gives a field. If a part or a base gives the value, that place is
/// shown beside it.
pub fn problem_of_field(
    check: CheckId,
    system: &System,
    field: FieldId,
    message: impl Into<String>,
) -> Problem {
    match system.component(field.block) {
        Some(component) => problem_of_component(check, system, component, field, message),
        None => Problem::new(check, system.place_of(field), message).about_field(field),
    }
}

/// A problem at a field of one component, such as one line among several.
pub fn problem_of_component(
    check: CheckId,
    system: &System,
    component: &Component,
    field: FieldId,
    message: impl Into<String>,
) -> Problem {
    let place = place_in(system, component, field);
    let problem = Problem::new(check, place.clone(), message).about_field(field);
    match component.given(field) {
        Some(given) if given.place != place => problem.related(
            given.place.clone(),
            format!("{} is given here", field.path()),
        ),
        _ => problem,
    }
}
