//! A fork that cannot reach its bearing.

use super::fork_angle::stack_beside;
use super::{Check, Context, Example, Found, Run};
use crate::check_id::CheckId;
use crate::finding::Severity;
use crate::quantity::Dimension;
use crate::{block, field, result};

pub const CHECK: Check = Check {
    id: CheckId::ForkOutOfReach,
    severity: Severity::Error,
    finds: "The fork's tips cannot reach the bearing, at rest, on a worn disc or at full pedal.",
    why: "No turn of the fork brings its tips that far from its pivot: the parts do not go together, or a measure is wrong.",
    limits: &[],
    source: "planar kinematics of a rigid lever",
    bad: Example::System(
        "bellhousing { depth = 265 mm  adapter = 6 mm }
    bearing { length = 38 mm }
    fork { pivot_height = 42 mm }
    cover { finger_height = 83 mm }",
    ),
    good: Example::System(
        "bellhousing { depth = 165 mm  adapter = 6 mm }
    bearing { length = 38 mm }
    fork { pivot_height = 50 mm }
    cover { finger_height = 83 mm }",
    ),
    run: Run::Outcome(run),
};

fn run(cx: &Context<'_>, out: &mut Found) {
    let Some(stack) = crate::solve::fork_stack(cx.system) else {
        return;
    };
    let full = cx.get(result!(bearing_travel)).unwrap_or_default();
    let worn = -cx.outcome.side_inputs.bearing_set_back();
    let fails = |travel: &&(f64, &str)| stack.angle(stack.tips_at(travel.0)).is_none();
    let places = [
        (0.0, "at rest"),
        (worn, "on a worn disc"),
        (full, "at full pedal"),
    ];
    let Some((travel, place)) = places.iter().find(fails) else {
        return;
    };
    if out.noted(block!(fork)) {
        return;
    }
    let tips = stack.tips_at(*travel);
    let reach = stack.bearing_arm.hypot(stack.tip_offset);
    let message = format!(
        "the fork cannot reach its bearing {place}: its tips reach {} from the pivot, and the bearing is {} from it \
         (bearing at {}, pivot at {} from the gearbox's face)",
        cx.length(reach),
        cx.length((tips - stack.pivot_height).abs()),
        cx.length(tips),
        cx.length(stack.pivot_height),
    );
    out.push(
        stack_beside(cx, cx.problem(field!(fork.pivot_height), message))
            .short_by((tips - stack.pivot_height).abs() - reach, Dimension::LENGTH)
            .help("measure pivot, bearing, fingers and housing again, each from the face that its field names"),
    );
}
