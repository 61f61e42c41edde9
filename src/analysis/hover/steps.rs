//! The effect of changing a value by one step up and one step down.

use super::{Seen, Worked};
use crate::checks::{COMMON_BORES, bore_named, is_inch_size, written};
use crate::field;
use crate::model::{Component, Origin, Points, System, Value};
use crate::quantity::{Dimension, UnitExpr};
use crate::schema::{FieldId, ResultId};
use crate::solve::{Movement, Outcome, movements, work_out};
use std::fmt::Write;

/// How many results a table shows.
const MOST_ROWS: usize = 8;

/// A value changed by one step.
struct Step {
    /// The value as a column's head.
    label: String,
    system: System,
}

/// The results that move most when a field is changed by one step up and down. For a bore a step is the next commonly
/// made size, for any other field about a twentieth.
pub(super) fn one_step_each_way(out: &mut String, id: FieldId, seen: Seen<'_>, name_it: bool) {
    let Some(now) = seen.outcome() else {
        return;
    };
    let Some(given) = seen.component.given(id) else {
        return;
    };
    let steps = steps(id, seen);
    if steps.is_empty() {
        return;
    }
    let outcomes: Vec<Option<Outcome>> = steps
        .iter()
        .map(|step| work_out(&step.system).ok())
        .collect();
    let cells = Cells {
        worked: seen.worked,
    };
    let moved = movements(now, &outcomes);
    let rows: Vec<String> = moved
        .iter()
        .map(|movement| cells.row(movement, &outcomes))
        .filter(|row| row.moves)
        .take(MOST_ROWS)
        .map(|row| row.text)
        .collect();
    let whose = match (name_it, given.origin) {
        (true, _) => format!(" in `{}`", seen.system().name),
        (false, Origin::Part) => ", for this system".to_owned(),
        (false, Origin::Own | Origin::Base) => String::new(),
    };
    if rows.is_empty() {
        let _ = writeln!(out, "One step more or less moves no result{whose}.\n");
        return;
    }
    let heads: Vec<&str> = steps.iter().map(|step| step.label.as_str()).collect();
    let _ = writeln!(
        out,
        "| one step{whose} | now | {} |\n|:--|--:|{}\n{}",
        heads.join(" | "),
        "--:|".repeat(heads.len()),
        rows.concat()
    );
}

/// The results that move when a value of a block is changed by one step, the largest change first.
pub(super) fn moved_by_block(seen: Seen<'_>) -> Vec<ResultId> {
    let Some(now) = seen.outcome() else {
        return Vec::new();
    };
    let mut moved: Vec<Movement> = Vec::new();
    for field in 0..seen.component.fields.len() as u8 {
        let id = FieldId {
            block: seen.component.block,
            field,
        };
        let outcomes: Vec<_> = steps(id, seen)
            .iter()
            .map(|step| work_out(&step.system).ok())
            .collect();
        moved.extend(movements(now, &outcomes));
    }
    moved.sort_by(|a, b| b.extent().total_cmp(&a.extent()));
    let mut results: Vec<ResultId> = Vec::new();
    for movement in moved {
        if !results.contains(&movement.result) {
            results.push(movement.result);
        }
    }
    results.truncate(MOST_ROWS);
    results
}

struct Cells<'a> {
    worked: &'a Worked,
}

struct Row {
    text: String,
    /// Whether any value differs as it is shown.
    moves: bool,
}

impl Cells<'_> {
    fn row(&self, movement: &Movement, outcomes: &[Option<Outcome>]) -> Row {
        let spec = movement.result.spec();
        let display = &self.worked.system.display;
        // A third digit tells steps of one size apart, even if a workshop cannot measure it.
        let show = |value: Option<f64>| {
            value.map_or_else(
                || "–".to_owned(),
                |value| movement.result.show_finely(value, display),
            )
        };
        let now = show(movement.now);
        let after: Vec<String> = movement
            .after
            .iter()
            .zip(outcomes)
            .map(|(value, outcome)| match outcome {
                Some(_) => show(*value),
                None => "*not to be worked out*".to_owned(),
            })
            .collect();
        Row {
            moves: after.iter().any(|after| *after != now),
            text: format!("| `{}` | {now} | {} |\n", spec.name, after.join(" | ")),
        }
    }
}

/// The system with a field one step down and one step up.
fn steps(id: FieldId, seen: Seen<'_>) -> Vec<Step> {
    let Some(given) = seen.component.given(id) else {
        return Vec::new();
    };
    let system = seen.system();
    match &given.value {
        Value::Quantity { band, unit } => {
            let dimension = id.field().dimension().unwrap_or(Dimension::NUMBER);
            let unit = unit.clone().or_else(|| system.display.unit(dimension));
            let is_bore = [field!(master.bore), field!(slave.bore)].contains(&id);
            let values = match is_bore {
                true => next_bores(band.nominal),
                false => next_values(band.nominal, unit.as_ref()),
            };
            let line = line_of(system, seen.component);
            let step = |value: f64| {
                let mut changed = system.clone();
                changed.set(id, line, value);
                let label = match is_bore {
                    true => bore_named(value, system.display.system()),
                    false => written(value, unit.as_ref()),
                };
                Step {
                    label,
                    system: changed,
                }
            };
            let range = id.field().range;
            let possible = values.into_iter().filter(|value| range.contains(*value));
            possible.map(step).collect()
        }
        Value::Window { low, high } => {
            let unit = system
                .display
                .unit(id.field().dimension().unwrap_or(Dimension::NUMBER));
            let step = |near: f64| {
                let label = format!("from {}", written(near, unit.as_ref()));
                let value = Value::Window {
                    low: low.moved_to(near),
                    high: *high,
                };
                with_value(system, seen.component, id, value, label)
            };
            next_values(low.nominal, unit.as_ref())
                .into_iter()
                .filter(|near| *near < high.nominal)
                .filter_map(step)
                .collect()
        }
        Value::Curve(points) => [(0.95, "5 % lower"), (1.05, "5 % higher")]
            .into_iter()
            .filter_map(|(part, label)| {
                let scaled = points
                    .bands()
                    .iter()
                    .map(|(x, y)| (*x, y.moved_to(y.nominal * part)));
                let value = Value::Curve(Points::new(scaled.collect()));
                with_value(system, seen.component, id, value, label.to_owned())
            })
            .collect(),
        Value::Word(_) | Value::Text(_) | Value::Money(_) | Value::Count(_) => Vec::new(),
    }
}

fn with_value(
    system: &System,
    component: &Component,
    id: FieldId,
    value: Value,
    label: String,
) -> Option<Step> {
    let mut changed = system.clone();
    let line = line_of(system, component);
    changed.given_mut(id, line)?.value = value;
    Some(Step {
        label,
        system: changed,
    })
}

/// The number of the line of the system that a component is.
fn line_of(system: &System, component: &Component) -> Option<usize> {
    system
        .lines
        .iter()
        .position(|line| line.place == component.place)
}

/// The next commonly made bores in the same system of units, inch or metric.
fn next_bores(present: f64) -> Vec<f64> {
    let kept = || {
        COMMON_BORES
            .iter()
            .copied()
            .filter(|bore| is_inch_size(*bore) == is_inch_size(present))
    };
    // A bore that a catalogue rounds is still the same size.
    let is_other = |bore: &f64| (bore - present).abs() > 0.05;
    let below = kept().filter(is_other).rfind(|bore| *bore < present);
    let above = kept().filter(is_other).find(|bore| *bore > present);
    below.into_iter().chain(above).collect()
}

/// The values about a twentieth below and above, rounded in the author's unit.
fn next_values(present: f64, unit: Option<&UnitExpr>) -> Vec<f64> {
    if unit.is_some_and(UnitExpr::has_offset) {
        return Vec::new();
    }
    let outward = unit.map_or(present, |unit| unit.outward(present));
    if outward == 0.0 || !outward.is_finite() {
        return Vec::new();
    }
    let inch = unit.is_some_and(|unit| unit.to_string() == "in");
    let step = match inch {
        true if (1.0..4.0).contains(&outward.abs()) => 1.0 / 16.0,
        true if (0.25..1.0).contains(&outward.abs()) => 1.0 / 32.0,
        _ => round_step(outward.abs() / 20.0),
    };
    [outward - step, outward + step]
        .into_iter()
        .map(as_written)
        .map(|value| unit.map_or(value, |unit| unit.inward(value)))
        .collect()
}

/// A number as it is read back from its text: sixteenths are written as fractions, everything else with four digits.
fn as_written(number: f64) -> f64 {
    if number == 0.0 || (number * 16.0).fract() == 0.0 {
        return number;
    }
    let steps = 10f64.powi(3 - number.abs().log10().floor() as i32);
    (number * steps).round() / steps
}

/// The largest of 1, 2 and 5 times a power of ten that is not above a number.
fn round_step(about: f64) -> f64 {
    let power = 10f64.powf(about.log10().floor());
    let times = about / power;
    match times {
        t if t >= 5.0 => 5.0 * power,
        t if t >= 2.0 => 2.0 * power,
        _ => power,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bore_steps_to_the_next_that_is_made() {
        assert_eq!(next_bores(22.225), [20.6375, 23.8125]);
        assert_eq!(next_bores(22.0), [21.0, 23.0]);
        assert_eq!(next_bores(32.0), [31.0]);
    }

    #[test]
    fn other_values_step_by_about_a_twentieth() {
        let mm = UnitExpr::parse("mm").ok();
        let next = |value| next_values(value, mm.as_ref());
        assert_eq!(next(300.0), [290.0, 310.0]);
        assert_eq!(next(150.0), [145.0, 155.0]);
        assert_eq!(next(36.0), [35.0, 37.0]);
        assert_eq!(next(-36.0), [-37.0, -35.0]);
        assert!(next(0.0).is_empty());
    }
}
