//! An arm of the pedal or of a lever further on comes in line with its rod.

use super::levers::named;
use super::{Check, Context, Example, Found, Goal, Limit, Run};
use crate::check_id::CheckId;
use crate::finding::{Problem, Severity};
use crate::mechanics::{EndedBy, Leverage, Swing};
use crate::quantity::Dimension;
use crate::result;
use crate::schema::{COMMON, FieldId};
use crate::solve::Outcome;
use crate::{block, field};

pub const CHECK: Check = Check {
    id: CheckId::DeadCentre,
    severity: Severity::Error,
    finds: "The pedal's rod arm, or an arm of a relay lever or of the cross-shaft, comes to dead centre, in line with its rod, before the pedal ends.",
    why: "From there on the pedal moves the piston no further, and it can swing past and stay down.",
    limits: &[Limit {
        name: "clear",
        value: 5.0 * std::f64::consts::PI / 180.0,
        dimension: Dimension::ANGLE,
        what: "how far from dead centre a cure keeps the pedal",
        source: COMMON,
    }],
    source: "slider-crank",
    bad: Example::System("pedal { pad_arm = 220 mm  arm_angle = -33 deg  travel = 225 mm }"),
    good: Example::System("pedal { pad_arm = 220 mm  arm_angle = -33 deg  travel = 205 mm }"),
    run: Run::Outcome(run),
};

/// Reports a relay lever, or the cross-shaft, whose arm comes in line with its rod before the pedal ends.
fn lever(cx: &Context<'_>, out: &mut Found) {
    let swings = cx.outcome.chain.swings();
    let past = |swing: &&Swing| -swing.until_dead_centre;
    let nearest = swings.iter().max_by(|a, b| past(a).total_cmp(&past(b)));
    let found = nearest.and_then(|swing| named(cx, swing.lever));
    let (Some((name, place)), Some(used)) = (found, cx.get(result!(pedal_travel_used))) else {
        return;
    };
    if out.noted(block!(relay)) {
        return;
    }
    let message = format!(
        "an arm of {name} comes in line with its rod at {} of pedal, {} before the pedal ends: from there the \
         lever can jam or swing past and stay there",
        cx.length(used),
        cx.length(cx.pedal_end() - used),
    );
    let problem = Problem::new(CHECK.id, place, message)
        .about(block!(relay))
        .short_by(cx.pedal_end() - used, result!(pedal_travel_used));
    let margin = move |outcome: &Outcome| {
        let jams = outcome.ended_by == EndedBy::RelayGeometry;
        Some(if jams { -1.0 } else { 0.0 })
    };
    out.push_curable(
        problem,
        Goal::new(result!(pedal_travel_used), margin),
        "set both arms square to their rods at mid travel, or use longer arms",
    );
}

fn run(cx: &Context<'_>, out: &mut Found) {
    if cx.outcome.ended_by == EndedBy::RelayGeometry {
        lever(cx, out);
        return;
    }
    let pedal = &cx.outcome.chain.pedal;
    let Leverage::Crank {
        pad_arm, rod_arm, ..
    } = pedal.leverage
    else {
        return;
    };
    let Some(used) = cx
        .get(result!(pedal_travel_used))
        .filter(|_| cx.outcome.ended_by == EndedBy::Geometry)
    else {
        return;
    };
    let Some(clear) = cx.limit("clear") else {
        return;
    };
    if out.noted(block!(pedal)) {
        return;
    }
    let message = format!(
        "the pedal's rod arm of {} stands in line with the rod at {} of pedal, {} before the \
         pedal ends: from there it moves the piston no further and can stay down",
        cx.length(rod_arm),
        cx.length(used),
        cx.length(cx.pedal_end() - used),
    );
    let given = |field: &FieldId| cx.system.given(*field).is_some();
    let deciding = [field!(pedal.arm_angle), field!(pedal.rod_length)]
        .into_iter()
        .find(given)
        .unwrap_or(field!(pedal.rod_arm));
    let problem = cx.problem(deciding, message).related(
        cx.place(cx.pedal_end_field()),
        "the pedal would go on to here",
    );
    let problem = problem.short_by(cx.pedal_end() - used, result!(pedal_travel_used));
    let margin = move |outcome: &Outcome| {
        let used = outcome.get(result!(pedal_travel_used))?;
        let geometry = outcome.chain.pedal.geometry()?;
        let is_clear = geometry.rod_travel(used + clear * pad_arm).is_some();
        Some(if is_clear { 0.0 } else { -clear })
    };
    out.push_curable(
        problem,
        Goal::new(result!(pedal_travel_used), margin),
        "set the arm square to the rod at mid travel",
    );
}
