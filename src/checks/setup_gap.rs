//! The stack of the housing leaves another gap than the spec says.

use super::{Check, Context, Example, Found, Limit, Run};
use crate::check_id::CheckId;
use crate::finding::Severity;
use crate::quantity::Dimension;
use crate::result;
use crate::schema::COMMON;
use crate::{block, field};

pub const CHECK: Check = Check {
    id: CheckId::SetupGap,
    severity: Severity::Warning,
    finds: "Housing, adapter, cover and slave stack up to another gap than rest extension and free play say.",
    why: "With less gap the slave is crushed or has no room for wear; with more its piston comes too far out.",
    limits: &[Limit {
        name: "difference",
        value: 0.5,
        dimension: Dimension::LENGTH,
        what: "how far the measured gap may be from the spec's",
        source: COMMON,
    }],
    source: COMMON,
    bad: Example::File(
        "system ring {
    pedal { ratio = 6  travel = 150 mm }
    master { bore = 13/16 in  stroke = 36 mm }
    slave { outer = 44 mm  inner = 32 mm  stroke = 20 mm  rest_extension = 6 mm  height = 85 mm }
    cover { release_travel = 7 mm to 12 mm  release_load = 1400 N  finger_height = 82 mm }
    bellhousing { depth = 170 mm }
}
",
    ),
    good: Example::File(
        "system ring {
    pedal { ratio = 6  travel = 150 mm }
    master { bore = 13/16 in  stroke = 36 mm }
    slave { outer = 44 mm  inner = 32 mm  stroke = 20 mm  rest_extension = 6 mm  height = 82 mm }
    cover { release_travel = 7 mm to 12 mm  release_load = 1400 N  finger_height = 82 mm }
    bellhousing { depth = 170 mm }
}
",
    ),
    run: Run::Outcome(run),
};

fn run(cx: &Context<'_>, out: &mut Found) {
    let found = (
        cx.get(result!(setup_gap)),
        cx.outcome.hydraulics(),
        cx.limit("difference"),
    );
    let (Some(gap), Some(hydraulics), Some(most)) = found else {
        return;
    };
    let wanted = hydraulics.slave.rest_extension + cx.outcome.chain.bearing.free_play;
    let off = gap - wanted;
    if off.abs() <= most {
        return;
    }
    if out.noted(block!(slave)) {
        return;
    }
    let message = if gap < 0.0 {
        format!(
            "the stack leaves {} less than nothing between the fingers and the slave fully home: \
             it is crushed when the gearbox is pulled up",
            cx.length(-gap)
        )
    } else {
        format!(
            "the stack leaves a gap of {} over the slave fully home, and rest extension and free \
             play say {}",
            cx.length(gap),
            cx.length(wanted)
        )
    };
    let cure = if off < 0.0 {
        format!(
            "take {} of shims from under the slave, or add as much to the adapter",
            cx.length(-off)
        )
    } else {
        format!("shim the slave out by {}", cx.length(off))
    };
    let problem = cx.problem(field!(slave.height), message).help(cure);
    let problem = problem.short_by(off.abs() - most, result!(setup_gap));
    let problem = cx.beside(problem, field!(cover.finger_height), "the fingers");
    out.push(cx.beside(problem, field!(bellhousing.depth), "the housing"));
}
