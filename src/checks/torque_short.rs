//! The clutch cannot carry the engine.

use super::{Check, Context, Example, Found, Goal, Run};
use crate::check_id::CheckId;
use crate::finding::Severity;
use crate::quantity::Dimension;
use crate::result;
use crate::{block, field};

pub const CHECK: Check = Check {
    id: CheckId::TorqueShort,
    severity: Severity::Error,
    finds: "The clutch slips at less torque than the engine gives times its service factor.",
    why: "It slips under load, glazes and burns.",
    limits: &[],
    source: "uniform wear; the service factor is common practice, no source",
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
    run: Run::Outcome(run),
};

fn run(cx: &Context<'_>, out: &mut Found) {
    let found = (
        cx.get(result!(torque_margin))
            .filter(|margin| *margin < 0.0),
        cx.get(result!(torque_capacity)),
        cx.outcome.side_inputs.engine,
    );
    let (Some(margin), Some(capacity), Some((torque, factor))) = found else {
        return;
    };
    if out.noted(block!(engine)) {
        return;
    }
    let show = |value| cx.show(value, Dimension::TORQUE);
    let factor = crate::quantity::significant(factor, 3);
    let problem = cx.problem(
        field!(engine.torque),
        format!(
            "the clutch slips at {}, {} short of {factor} times the engine's {}",
            show(capacity),
            show(-margin),
            show(torque)
        ),
    );
    let problem = cx.beside(problem, field!(cover.clamp_load), "the clamp load");
    let problem = cx.beside(problem, field!(disc.friction), "the facing's friction");
    out.push_curable(
        problem,
        Goal::within_bound(cx, result!(torque_margin)),
        "use a cover of more clamp load, a larger disc, or more faces",
    );
}
