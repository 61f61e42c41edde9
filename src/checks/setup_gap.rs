//! The stack of the housing crushes the slave, or leaves another gap than the spec needs.

use super::{Check, Context, Example, Found, Limit, Run};
use crate::check_id::CheckId;
use crate::finding::{Problem, Severity};
use crate::quantity::Dimension;
use crate::result;
use crate::schema::COMMON;
use crate::{block, field};

pub const CRUSHED: Check = Check {
    id: CheckId::SlaveCrushed,
    severity: Severity::Error,
    finds: "Housing, adapter and cover leave no room for the slave, even with its piston fully home.",
    why: "Pulling the gearbox up crushes the slave, and bends the fingers.",
    limits: &[],
    source: COMMON,
    bad: Example::File(
        "system ring {
    pedal { ratio = 6  travel = 150 mm }
    master { bore = 13/16 in  stroke = 36 mm }
    slave { outer = 44 mm  inner = 32 mm  stroke = 20 mm  rest_extension = 6 mm  height = 89 mm }
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
    run: Run::Outcome(crushed),
};

pub const GAP: Check = Check {
    id: CheckId::SetupGap,
    severity: Severity::Warning,
    finds: "The gap that housing, adapter, cover and slave leave is not the one that rest extension and free play call for.",
    why: "With less gap the slave is crushed or has no room for wear; with more its piston comes too far out.",
    limits: &[Limit {
        name: "difference",
        value: 1.6,
        dimension: Dimension::LENGTH,
        what: "how far the measured gap may be from the spec's",
        source: "the scatter of finger heights of covers under 265 mm: a draft group standard on self-adjusting diaphragm clutches, 4.1.1, table 1",
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
    run: Run::Outcome(gap),
};

/// The gap in front of the slave with its piston fully home, and how much of it rest extension and free play need,
/// mm.
fn gaps(cx: &Context<'_>) -> Option<(f64, f64)> {
    let wanted = cx.outcome.hydraulics()?.slave.rest_extension;
    Some((
        cx.get(result!(setup_gap))?,
        wanted + cx.outcome.chain.bearing.free_play,
    ))
}

fn crushed(cx: &Context<'_>, out: &mut Found) {
    let Some((gap, wanted)) = gaps(cx).filter(|(gap, _)| *gap < 0.0) else {
        return;
    };
    if out.noted(block!(slave)) {
        return;
    }
    let message = format!(
        "with the gearbox home, the fingers stand {} inside the slave that is fully pushed back: it is \
         crushed when the gearbox is pulled up",
        cx.length(-gap)
    );
    let problem = cx
        .problem(field!(slave.height), message)
        .short_by(-gap, result!(setup_gap))
        .help(closer(cx, wanted - gap));
    out.push(beside_stack(cx, problem));
}

fn gap(cx: &Context<'_>, out: &mut Found) {
    let (Some((gap, wanted)), Some(most)) = (gaps(cx), cx.limit("difference")) else {
        return;
    };
    let off = gap - wanted;
    if gap < 0.0 || off.abs() <= most || out.noted(block!(slave)) {
        return;
    }
    let message = format!(
        "with the slave fully home the gap to the fingers is {}, and the spec calls for {} (rest extension plus free play)",
        cx.length(gap),
        cx.length(wanted)
    );
    let cure = if off < 0.0 {
        closer(cx, -off)
    } else {
        format!("shim the slave out by {}", cx.length(off))
    };
    let problem = cx
        .problem(field!(slave.height), message)
        .short_by(off.abs() - most, result!(setup_gap))
        .help(cure);
    out.push(beside_stack(cx, problem));
}

/// How to enlarge a gap that is too small.
fn closer(cx: &Context<'_>, by: f64) -> String {
    format!(
        "take {} of shims from under the slave, or add as much to the adapter",
        cx.length(by)
    )
}

fn beside_stack(cx: &Context<'_>, problem: Problem) -> Problem {
    let problem = cx.beside(problem, field!(cover.finger_height), "the fingers");
    cx.beside(problem, field!(bellhousing.depth), "the housing")
}
