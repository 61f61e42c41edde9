//! What is right with a new disc and fails with a worn one.

use super::limits::OPEN;
use super::{Check, Context, Example, Found, Goal, LIMITS, Run, require_failed};
use crate::check_id::CheckId;
use crate::finding::{Problem, Severity};
use crate::quantity::Dimension;
use crate::schema::{COMMON, ResultId};
use crate::solve::{Outcome, Results};
use crate::{block, field, result};

pub const CHECK: Check = Check {
    id: CheckId::WornFails,
    severity: Severity::Warning,
    finds: "A margin holds with a new disc, but not with a worn one when nothing was adjusted since.",
    why: "The car is handed over in order, and the clutch fails long before its disc is used up.",
    limits: &[],
    source: COMMON,
    bad: Example::System(
        "cover { release_travel = 5.5 mm to 8 mm  finger_ratio = 3.4 }
    bearing { free_play = 1.5 mm }
    disc { outer = 228 mm  inner = 150 mm  friction = 0.3  wear = 1 mm }",
    ),
    good: Example::System(
        "cover { release_travel = 5.5 mm to 10 mm  finger_ratio = 3.4 }
    bearing { free_play = 1.5 mm }
    disc { outer = 228 mm  inner = 150 mm  friction = 0.3  wear = 1 mm }",
    ),
    run: Run::Outcome(run),
};

fn run(cx: &Context<'_>, out: &mut Found) {
    let Some(worn) = cx.outcome.worn() else {
        return;
    };
    bounds(cx, worn, out);
    torque(cx, worn, out);
    requires(cx, worn, out);
}

/// Checks the bounds that a part or the car sets. Habits of the trade are checked with a new disc only.
fn bounds(cx: &Context<'_>, worn: &Results, out: &mut Found) {
    for row in LIMITS.iter().filter(|row| !row.is_default()) {
        // A worn disc need not carry the service factor, which is there for its wear.
        if row.result == result!(torque_margin) {
            continue;
        }
        let (Some(bound), Some(new), Some(late)) = (
            row.value(cx.system, cx.settings).map(|band| band.nominal),
            cx.get(row.result),
            worn.get(row.result),
        ) else {
            continue;
        };
        if row.inside(new, bound) < 0.0 || row.inside(late, bound) >= 0.0 {
            continue;
        }
        if out.noted(block!(disc)) {
            continue;
        }
        let allowed = match row.is_most() && bound != 0.0 {
            true => format!(
                ", more than the {}",
                row.result.show(bound, &cx.system.display)
            ),
            false => String::new(),
        };
        let message = format!(
            "{}{allowed}: then {}",
            both(cx, row.result, new, late),
            row.harm
        );
        let inside = move |outcome: &Outcome| {
            let late = outcome.worn()?.get(row.result)?;
            Some(row.inside(late, bound))
        };
        let problem = problem(cx, message).short_by((late - bound).abs(), row.result);
        out.push_curable(problem, Goal::new(row.result, inside), OTHERWISE);
    }
}

const OTHERWISE: &str =
    "leave more to spare with a new disc, or count with less wear and change the disc sooner";

/// Checks that a worn disc still carries the engine's torque.
fn torque(cx: &Context<'_>, worn: &Results, out: &mut Found) {
    let (Some((torque, _)), Some(new), Some(late)) = (
        cx.outcome.side_inputs.engine,
        cx.get(result!(torque_capacity)),
        worn.get(result!(torque_capacity)),
    ) else {
        return;
    };
    if new < torque || late >= torque || out.noted(block!(disc)) {
        return;
    }
    let show = |torque| cx.show(torque, Dimension::TORQUE);
    let message = format!(
        "the clutch slips at {} with a new disc, and at {} with it worn out, {} short of the engine's {}",
        show(new),
        show(late),
        show(torque - late),
        show(torque),
    );
    let inside =
        move |outcome: &Outcome| Some(outcome.worn()?.get(result!(torque_capacity))? - torque);
    let problem = problem(cx, message).short_by(torque - late, result!(torque_capacity));
    let problem = cx.beside(problem, field!(engine.torque), "what the engine gives");
    let goal = Goal::new(result!(torque_capacity), inside);
    out.push_curable(problem, goal, OTHERWISE);
}

fn requires(cx: &Context<'_>, worn: &Results, out: &mut Found) {
    for require in &cx.system.requires {
        let id = require.result;
        let (Some(new), Some(late)) = (cx.get(id), worn.get(id)) else {
            continue;
        };
        let limit = require_failed::limit(require);
        let comparison = require.comparison;
        if !comparison.holds(new, limit) || comparison.holds(late, limit) {
            continue;
        }
        if out.noted(block!(disc)) {
            continue;
        }
        let message = format!(
            "{}, which its `require` does not allow",
            both(cx, id, new, late)
        );
        out.push(
            problem(cx, message)
                .short_by((late - limit).abs(), id)
                .related(require.place.clone(), "required here")
                .help(OTHERWISE),
        );
    }
}

/// A result with the disc new and worn out, as the beginning of a sentence.
fn both(cx: &Context<'_>, id: ResultId, new: f64, late: f64) -> String {
    let spec = id.spec();
    // Avoids a zero with a sign or stray digits.
    let show = |value: f64| {
        let value = if value.abs() < OPEN { 0.0 } else { value };
        id.show(value, &cx.system.display)
    };
    format!(
        "the {} is {} with a new disc, and {} with it worn out",
        spec.name.replace('_', " "),
        show(new),
        show(late)
    )
}

/// A problem at the field for the wear that causes it.
fn problem(cx: &Context<'_>, message: String) -> Problem {
    cx.problem(field!(disc.wear), message)
}
