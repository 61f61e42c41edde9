//! The pedal's rod arm comes in line with its rod.

use super::cure::Cures;
use super::{Check, Context, Example, Found, Limit, Run};
use crate::finding::Severity;
use crate::mechanics::{EndedBy, Leverage, Outcome};
use crate::quantity::Dimension;
use crate::result;
use crate::schema::{COMMON, FieldId};
use crate::{block, field};

pub const CHECK: Check = Check {
    name: "dead-centre",
    severity: Severity::Error,
    finds: "The pedal's rod arm comes to dead centre, in line with the rod, before the pedal ends.",
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

fn run(cx: &Context<'_>, out: &mut Found) {
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
    let stays_clear = |outcome: &Outcome| {
        let further = outcome
            .get(result!(pedal_travel_used))
            .map(|used| used + clear * pad_arm);
        outcome
            .chain
            .pedal
            .geometry()
            .zip(further)
            .is_some_and(|(geometry, further)| geometry.rod_travel(further).is_some())
    };
    // Square at mid travel the arm strays least from square, at either end.
    let square = 0.5 * cx.pedal_end() / pad_arm;
    out.push(
        Cures::of(cx, problem, &stays_clear)
            .value(
                field!(pedal.arm_angle),
                square,
                "set the arm square to the rod at mid travel, an angle at rest of",
                |chain| {
                    if let Leverage::Crank { arm_angle, .. } = &mut chain.pedal.leverage {
                        *arm_angle = Some(-square);
                    }
                },
            )
            .stop()
            .or_else("set the arm square to the rod at mid travel"),
    );
}
