//! What follows in the chain from the value at a place.

use super::{Seen, Worked};
use crate::checks::{Bound, LIMITS, ResultLimit, least_rating};
use crate::field;
use crate::mechanics::{bore_area, piston_force};
use crate::model::{Given, System};
use crate::quantity::Dimension;
use crate::schema::{FieldId, ResultId};
use crate::settings::Settings;
use crate::solve::{Outcome, belongs, why_absent};
use std::fmt::Write;

/// What follows from a field alone in the system through which it is seen. For a bore it is the area and the load on
/// it. For a field that bounds a result it is the distance between the two.
pub(super) fn what_follows(
    out: &mut String,
    id: FieldId,
    seen: Seen<'_>,
    settings: &Settings,
    name_it: bool,
) {
    let system = seen.system();
    let Some(outcome) = seen.outcome() else {
        return;
    };
    let mut rows = String::new();
    let mut row = |name: &str, value: f64, dimension| {
        let _ = writeln!(
            rows,
            "| {name} | {} |",
            system.display.show_both(value, dimension)
        );
    };
    if let Some((bore_area, pressure)) = area_at(id, seen, outcome) {
        row("area", bore_area, Dimension::AREA);
        if let Some(pressure) = pressure {
            row("pressure at full pedal", pressure, Dimension::PRESSURE);
            row(
                "force at full pedal, area × pressure",
                piston_force(pressure, bore_area),
                Dimension::FORCE,
            );
        }
    }
    for limit in LIMITS.iter().filter(|limit| is_bound_by(limit, id, seen)) {
        let spec = limit.result.spec();
        let left = outcome
            .get(limit.result)
            .and_then(|value| Some((value, limit.margin(system, settings, value)?)));
        if let Some((value, left)) = left {
            row(
                &format!("`{}`, which this bounds", spec.name),
                value,
                spec.dimension,
            );
            if !matches!(limit.bound, Bound::LeftOf(_)) {
                row("left", left, spec.dimension);
            }
        }
    }
    if rows.is_empty() {
        return;
    }
    let title = match name_it {
        true => format!("in `{}`", system.name),
        false => "what follows".to_owned(),
    };
    let _ = writeln!(out, "| {title} | |\n|:--|--:|\n{rows}");
}

/// Whether a bound is given by a field of this component.
fn is_bound_by(limit: &ResultLimit, id: FieldId, seen: Seen<'_>) -> bool {
    match limit.bound {
        Bound::LeftOf(field) => field == id,
        Bound::AtMostRating(side) => least_rating(seen.system(), side)
            .is_some_and(|(part, field, _)| field == id && part.place == seen.component.place),
        _ => false,
    }
}

/// The effect of the spec's tolerances on a result.
pub(super) fn band(worked: &Worked, id: ResultId) -> String {
    match worked.shown_worst(id) {
        Some([low, high]) => format!(", {low} to {high}"),
        None => String::new(),
    }
}

/// The area of a bore and the pressure on it at full pedal, if the field is a bore.
fn area_at(id: FieldId, seen: Seen<'_>, outcome: &Outcome) -> Option<(f64, Option<f64>)> {
    let number = |id| seen.component.given(id).and_then(Given::number);
    let area = if [field!(master.bore), field!(slave.bore), field!(line.bore)].contains(&id) {
        let rod = match id == field!(slave.bore) {
            true => number(field!(slave.pull_rod)),
            false => None,
        };
        bore_area(number(id)?) - rod.map_or(0.0, bore_area)
    } else if [field!(slave.outer), field!(slave.inner)].contains(&id) {
        bore_area(number(field!(slave.outer))?) - bore_area(number(field!(slave.inner))?)
    } else {
        return None;
    };
    // Nothing is pushed in a line.
    let pushes = id != field!(line.bore);
    let pressure = || {
        let full = outcome.chain.walk()?.full_pedal()?;
        Some(full.state.cylinders?.pressure)
    };
    Some((area, pressure().filter(|_| pushes)))
}

/// Results in both systems of units, or why they are absent.
pub(super) fn results_table(out: &mut String, worked: &Worked, ids: &[ResultId], system: &System) {
    let Ok(outcome) = &worked.outcome else { return };
    if ids.is_empty() {
        return;
    }
    let mut rows = String::new();
    for id in ids.iter().filter(|id| belongs(system, **id)) {
        let spec = id.spec();
        let _ = match outcome.get(*id) {
            Some(value) => writeln!(
                rows,
                "| `{}` | {}{} |",
                spec.name,
                id.show_both(value, &system.display),
                band(worked, *id)
            ),
            None => writeln!(rows, "| `{}` | *{}* |", spec.name, why_absent(system, *id)),
        };
    }
    let _ = writeln!(out, "| result | |\n|:--|--:|\n{rows}");
}
