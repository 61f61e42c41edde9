//! What a check sees of a system, and the ways it speaks about it.

use super::Check;
use super::sizes::written;
use crate::finding::{Place, Problem};
use crate::mechanics::Outcome;
use crate::model::{Component, Origin, System};
use crate::quantity::Dimension;
use crate::schema::{FieldId, ResultId};
use crate::syntax::Span;

/// A system that is worked out, seen by one check.
pub struct Context<'a> {
    pub check: &'static Check,
    pub system: &'a System,
    pub outcome: &'a Outcome,
}

impl<'a> Context<'a> {
    pub fn new(check: &'static Check, system: &'a System, outcome: &'a Outcome) -> Self {
        Self {
            check,
            system,
            outcome,
        }
    }

    /// A result in internal units.
    pub fn get(&self, id: ResultId) -> Option<f64> {
        self.outcome.get(id)
    }

    /// A limit of this check by name, in internal units.
    pub fn limit(&self, name: &str) -> Option<f64> {
        let limit = self.check.limits.iter().find(|limit| limit.name == name);
        debug_assert!(limit.is_some(), "{} has no limit {name}", self.check.name);
        limit.map(|limit| limit.value)
    }

    // ---- values in the author's units ----

    pub fn show(&self, value: f64, dimension: Dimension) -> String {
        self.system.show(value, dimension)
    }

    pub fn length(&self, mm: f64) -> String {
        self.show(mm, Dimension::LENGTH)
    }

    pub fn force(&self, newton: f64) -> String {
        self.show(newton, Dimension::FORCE)
    }

    pub fn pressure(&self, mpa: f64) -> String {
        self.show(mpa, Dimension::PRESSURE)
    }

    /// A value as it would be written into a field: in the unit that stands there now.
    pub fn written(&self, field: FieldId, value: f64) -> String {
        let dimension = field.field().dimension().unwrap_or(Dimension::NUMBER);
        let unit = self
            .system
            .given(field)
            .and_then(|given| given.unit().cloned())
            .or_else(|| self.system.display.unit(dimension));
        written(value, unit.as_ref())
    }

    // ---- places ----

    /// Where a field's value stands, in whatever file; else where the system speaks of it.
    pub fn place(&self, field: FieldId) -> Place {
        match self.system.given(field) {
            Some(given) => given.place.clone(),
            None => self.system.place_of(field),
        }
    }

    /// A problem of this check at a field, where the system itself says what it is.
    pub fn problem(&self, field: FieldId, message: impl Into<String>) -> Problem {
        problem_of_field(self.check.name, self.system, field, message)
    }

    /// A problem of this check at the system's name.
    pub fn problem_of_system(&self, message: impl Into<String>) -> Problem {
        Problem::new(self.check.name, self.system.place.clone(), message)
    }

    // ---- cures ----

    /// What would come of another value; `None` if it has no meaning.
    pub fn what_if(&self, change: impl FnOnce(&mut crate::mechanics::Chain)) -> Option<Outcome> {
        self.outcome.with(change)
    }

    /// What a change leads to, in a few numbers: `release margin 1.1 mm, effort 104 N`.
    pub fn leads_to(&self, outcome: &Outcome) -> String {
        let margin = outcome
            .get(crate::result!(release_margin))
            .map(|v| format!("release margin {}", self.length(v)));
        let effort = outcome
            .get(crate::result!(pedal_effort))
            .map(|v| format!("effort {}", self.force(v)));
        margin
            .into_iter()
            .chain(effort)
            .collect::<Vec<_>>()
            .join(", ")
    }

    /// Adds a fix that sets a field, where that can be done in the system's own text. A part
    /// may serve many systems, so it is never changed from here.
    pub fn set(
        &self,
        problem: Problem,
        field: FieldId,
        value: f64,
        title: impl Into<String>,
    ) -> Problem {
        let text = self.written(field, value);
        match self.edit(field, &text) {
            Some((place, text)) => problem.fix(title, place, text),
            None => problem,
        }
    }

    fn edit(&self, field: FieldId, text: &str) -> Option<(Place, String)> {
        if let Some(given) = self.system.given(field)
            && given.origin == Origin::Own
        {
            return Some((given.place.clone(), text.to_owned()));
        }
        let name = field.field().name;
        let component = self.system.component(field.block)?;
        insert_field(component, name, text)
    }
}

/// A problem at a field, where the system itself says what it is; what a part or a base gives is
/// shown beside it.
pub fn problem_of_field(
    check: &'static str,
    system: &System,
    field: FieldId,
    message: impl Into<String>,
) -> Problem {
    let place = system.place_of(field);
    let problem = Problem::new(check, place.clone(), message).about(field.block);
    match system.given(field) {
        Some(given) if given.place != place => problem.related(
            given.place.clone(),
            format!("{} is given here", field.path()),
        ),
        _ => problem,
    }
}

/// The edit that adds a field to a block that the system writes itself.
fn insert_field(component: &Component, name: &str, text: &str) -> Option<(Place, String)> {
    if let Some(body) = &component.body {
        let before_brace = body.span.end.checked_sub(1)?;
        let place = Place::new(
            &body.file,
            Span {
                start: before_brace,
                end: before_brace,
            },
        );
        return Some((place, format!("  {name} = {text} ")));
    }
    // What only a base mentions cannot be added to here.
    let part = component.part.as_ref().filter(|_| component.own)?;
    let end = part.mention.span.end;
    let place = Place::new(&part.mention.file, Span { start: end, end });
    Some((place, format!(" {{ {name} = {text} }}")))
}
