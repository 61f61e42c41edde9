//! A system that is worked out, as the parts of a page look at it.

use crate::analysis::{Report, Worked};
use crate::check_id::CheckId;
use crate::checks::Finding;
use crate::field;
use crate::finding::{Measure, Severity};
use crate::model::System;
use crate::quantity::{Dimension, Display, UnitSystem, nearest_fraction};
use crate::result;
use crate::schema::{FieldId, Need, NumberKind, ResultId};
use crate::solve::Outcome;

/// A system that is worked out, as the parts of a page look at it.
pub struct View<'a> {
    pub report: &'a Report,
    pub worked: &'a Worked,
    pub system: &'a System,
    pub outcome: &'a Outcome,
}

impl View<'_> {
    /// Whether a check finds something in the system.
    pub fn finds(&self, check: CheckId) -> bool {
        let mut found = self.report.findings_of(self.worked);
        found.any(|finding| finding.check.id == check)
    }

    /// Whether the bearing goes away from release, so that nothing that the spec gives frees the disc.
    pub fn goes_wrong_way(&self) -> bool {
        self.finds(CheckId::WrongWay)
    }

    /// The finding that says that a line of the sheet is not to be built by: an error about one of its fields or
    /// results, or a warning that doubts the field itself and not only what follows from it.
    pub fn finding_against(&self, fields: &[FieldId], results: &[ResultId]) -> Option<&Finding> {
        let mut found = self.report.findings_of(self.worked);
        found.find(|finding| {
            let passed = match finding.problem.shortfall.map(|short| short.what) {
                Some(Measure::Result(result)) => Some(result),
                _ => None,
            };
            let is_of_field = |field: FieldId| {
                let is_of_line =
                    fields.contains(&field) || results.iter().any(|r| rests_on(*r, field));
                let doubts_it = || passed.is_none_or(|result| rests_on(result, field));
                is_of_line && (finding.severity == Severity::Error || doubts_it())
            };
            finding.severity >= Severity::Warning
                && (passed.is_some_and(|result| results.contains(&result))
                    || finding.problem.field.is_some_and(is_of_field))
        })
    }

    pub fn show(&self, value: f64, dimension: Dimension) -> String {
        self.system.display.show(value, dimension)
    }

    /// A value in the author's unit with the other system's behind it. A length that a rule is held
    /// against is there to the nearest 1/32 in as well.
    pub fn value_both(&self, value: f64, dimension: Dimension) -> String {
        let display = &self.system.display;
        let unit = display.unit_for(value, dimension);
        let fraction = (dimension == Dimension::LENGTH)
            .then(|| nearest_fraction(value))
            .flatten();
        let own = self.show(value, dimension);
        match (fraction, unit.map(|unit| unit.system())) {
            (Some(fraction), Some(UnitSystem::Metric)) => format!("{own} ({fraction} in)"),
            (Some(fraction), Some(UnitSystem::Imperial)) if own != format!("{fraction} in") => {
                let millimeters = Display::default().show(value, dimension);
                format!("{own} ({fraction} in, {millimeters})")
            }
            _ => display.show_both(value, dimension),
        }
    }

    pub fn length(&self, mm: f64) -> String {
        self.show(mm, Dimension::LENGTH)
    }

    /// A result in the author's unit with the other system's behind it.
    pub fn both(&self, id: ResultId) -> Option<String> {
        let value = self.outcome.get(id)?;
        let dimension = id.spec().dimension;
        // A limit that was rounded to a rule's marks could be passed.
        if id == result!(stop_travel) {
            return Some(self.system.display.show_both(value, dimension));
        }
        Some(match id.spec().kind() {
            NumberKind::Quantity => self.value_both(value, dimension),
            NumberKind::Ratio | NumberKind::Share => id.show(value, &self.system.display),
        })
    }

    /// A result in the author's unit.
    pub fn result(&self, id: ResultId) -> Option<String> {
        Some(id.show(self.outcome.get(id)?, &self.system.display))
    }

    /// What the tolerances make of a result, where that shows at all: `12.1 mm to 12.9 mm`.
    pub fn spread(&self, id: ResultId) -> Option<String> {
        let [low, high] = self.worked.shown_worst(id)?;
        Some(format!("{low} to {high}"))
    }

    /// A quantity that the spec gives, in the author's unit with the other system's behind it; none for zero.
    pub fn given(&self, field: FieldId) -> Option<String> {
        let value = self.system.given_number(field).filter(|v| *v != 0.0)?;
        let dimension = field.field().dimension()?;
        Some(self.value_both(value, dimension))
    }
}

/// Whether the table says that a result is made from a field: among its needs, or by its formula.
fn rests_on(result: ResultId, field: FieldId) -> bool {
    let path = field.path();
    let spec = result.spec();
    let is_needed = spec.needs.iter().flat_map(|ways| ways.iter());
    let is_part_of_name = |c: char| c.is_ascii_alphanumeric() || c == '_' || c == '.';
    is_needed.copied().any(|need| need == Need::Field(field))
        || spec
            .formula
            .split(|c| !is_part_of_name(c))
            .any(|name| name == path)
}

/// Whether the slave is around the input shaft.
pub fn is_concentric(system: &System) -> bool {
    system.given(field!(slave.outer)).is_some()
}

/// What the fitter measures: the travel of what moves the fork, or of the bearing where there is no fork.
pub fn measured_at(view: &View<'_>) -> (&'static str, ResultId) {
    match (view.outcome.hydraulics(), is_concentric(view.system)) {
        (Some(_), true) => ("the bearing on its slave", result!(slave_travel)),
        (Some(_), false) => ("the slave's rod", result!(slave_travel)),
        _ => ("the fork's outer end", result!(fork_travel)),
    }
}
