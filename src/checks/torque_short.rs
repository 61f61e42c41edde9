//! The clutch cannot carry the engine's torque, or has little to spare.

use super::{Check, Context, Example, Found, Goal, Run};
use crate::check_id::CheckId;
use crate::finding::Severity;
use crate::quantity::{Dimension, significant};
use crate::{block, field, result};

pub const SHORT: Check = Check {
    id: CheckId::TorqueShort,
    severity: Severity::Error,
    finds: "The clutch slips at less torque than the engine gives.",
    why: "It slips under load, glazes and burns.",
    limits: &[],
    source: "uniform wear: the torque that the disc carries, see the result `torque_capacity`",
    bad: Example::System(
        "cover { clamp_load = 4000 N }
    disc { outer = 228 mm  inner = 150 mm  friction = 0.27 }
    engine { torque = 210 N*m }",
    ),
    good: Example::System(
        "cover { clamp_load = 7000 N }
    disc { outer = 228 mm  inner = 150 mm  friction = 0.27 }
    engine { torque = 210 N*m }",
    ),
    run: Run::Outcome(short),
};

pub const RESERVE: Check = Check {
    id: CheckId::TorqueReserve,
    severity: Severity::Warning,
    finds: "The clutch carries the engine's torque, but not as many times as its service factor says.",
    why: "Shocks, heat and wear take what is to spare, and then it slips.",
    limits: &[],
    source: "uniform wear; the service factor is common practice, no source",
    bad: Example::System(
        "cover { clamp_load = 5200 N }
    disc { outer = 228 mm  inner = 150 mm  friction = 0.27 }
    engine { torque = 210 N*m }",
    ),
    good: Example::System(
        "cover { clamp_load = 7000 N }
    disc { outer = 228 mm  inner = 150 mm  friction = 0.27 }
    engine { torque = 210 N*m }",
    ),
    run: Run::Outcome(reserve),
};

/// What the clutch carries, what the engine gives, both in N·mm, and the service factor.
fn torques(cx: &Context<'_>) -> Option<(f64, f64, f64)> {
    let (torque, factor) = cx.outcome.side_inputs.engine?;
    Some((cx.get(result!(torque_capacity))?, torque, factor))
}

fn short(cx: &Context<'_>, out: &mut Found) {
    let Some((capacity, torque, _)) = torques(cx).filter(|(capacity, torque, _)| capacity < torque)
    else {
        return;
    };
    if out.noted(block!(engine)) {
        return;
    }
    let message = format!(
        "the clutch slips at {}, {} short of the engine's {}",
        show(cx, capacity),
        show(cx, torque - capacity),
        show(cx, torque)
    );
    push(cx, out, message, torque - capacity);
}

fn reserve(cx: &Context<'_>, out: &mut Found) {
    let thin = |(capacity, torque, factor): &(f64, f64, f64)| {
        *torque <= *capacity && *capacity < torque * factor
    };
    let Some((capacity, torque, factor)) = torques(cx).filter(thin) else {
        return;
    };
    if out.noted(block!(engine)) {
        return;
    }
    let message = format!(
        "the clutch slips at {}, {} times the engine's {}, where {} times is wanted: it is {} short",
        show(cx, capacity),
        significant(capacity / torque, 3),
        show(cx, torque),
        significant(factor, 3),
        show(cx, torque * factor - capacity),
    );
    push(cx, out, message, torque * factor - capacity);
}

fn show(cx: &Context<'_>, torque: f64) -> String {
    cx.show(torque, Dimension::TORQUE)
}

fn push(cx: &Context<'_>, out: &mut Found, message: String, short_by: f64) {
    let problem = cx
        .problem(field!(engine.torque), message)
        .short_by(short_by, result!(torque_margin));
    let problem = cx.beside(problem, field!(cover.clamp_load), "the clamp load");
    let problem = cx.beside(problem, field!(disc.friction), "the facing's friction");
    out.push_curable(
        problem,
        Goal::new(result!(torque_margin), |outcome| {
            outcome.get(result!(torque_margin))
        }),
        "use a cover of more clamp load, a larger disc, or more faces",
    );
}
