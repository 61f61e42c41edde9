//! More pressure than a part may carry.

use super::context::problem_of_component;
use super::limits::{least_rating, name_of_rated};
use super::{Check, Context, Example, Found, Goal, Run};
use crate::check_id::CheckId;
use crate::finding::Severity;
use crate::mechanics::Side;
use crate::schema::{COMMON, FieldId, ResultId};
use crate::{field, result};

pub const CHECK: Check = Check {
    id: CheckId::OverPressure,
    severity: Severity::Error,
    finds: "The pressure on the way down is above the rating of the weakest of master, slave and lines.",
    why: "A hose bursts or a seal turns over, and the clutch fails suddenly.",
    limits: &[],
    source: COMMON,
    bad: Example::System("slave { bore = 7/8 in  max_pressure = 2.4 MPa }"),
    good: Example::System("slave { bore = 7/8 in  max_pressure = 7 MPa }"),
    run: Run::Outcome(run),
};

fn run(cx: &Context<'_>, out: &mut Found) {
    let sides = [
        (result!(line_pressure), Side::Slave, cx.driver_field()),
        (
            result!(master_pressure),
            Side::Master,
            field!(intensifier.in_bore),
        ),
    ];
    for (result, side, area) in sides {
        run_on(cx, out, result, side, area);
    }
}

/// Reports the part whose rating is exceeded on one side of the intensifier.
fn run_on(cx: &Context<'_>, out: &mut Found, result: ResultId, side: Side, area: FieldId) {
    let (Some(pressure), Some((part, field, most))) =
        (cx.get(result), least_rating(cx.system, side))
    else {
        return;
    };
    if pressure <= most {
        return;
    }
    if out.noted(field.block) {
        return;
    }
    let name = name_of_rated(part, field);
    let message = format!(
        "the pressure reaches {}, and {name} is rated for {}: it leaks or bursts, and the clutch fails suddenly",
        cx.pressure(pressure),
        cx.pressure(most),
    );
    let problem = problem_of_component(CHECK.id, cx.system, part, field, message)
        .related(
            cx.place(field!(cover.release_load)),
            "the load that makes the pressure",
        )
        .related(cx.place(area), "the area that carries it");
    out.push_curable(problem, Goal::within_bound(cx, result), format!(
            "use parts with a higher rating than that of {name}, or a larger slave with more pedal travel"
        ));
}
