//! The plate does not lift as far as the disc needs.

use super::{Check, Context, Example, Found, Goal, Run};
use crate::check_id::CheckId;
use crate::finding::Severity;
use crate::result;
use crate::schema::COMMON;
use crate::{block, field};

pub const CHECK: Check = Check {
    id: CheckId::LiftShort,
    severity: Severity::Error,
    finds: "At full pedal the plate lifts less than the disc's cushion and the gaps at its faces need.",
    why: "The disc drags although the fingers travel as far as the cover asks.",
    limits: &[],
    source: COMMON,
    bad: Example::System(
        "cover { finger_ratio = 4 }
    disc { outer = 228 mm  inner = 150 mm  friction = 0.3  cushion = 1.6 mm  clearance = 0.5 mm }",
    ),
    good: Example::System(
        "cover { finger_ratio = 4 }
    disc { outer = 228 mm  inner = 150 mm  friction = 0.3  cushion = 0.8 mm  clearance = 0.3 mm }",
    ),
    run: Run::Outcome(run),
};

fn run(cx: &Context<'_>, out: &mut Found) {
    let found = (
        cx.get(result!(lift_margin)).filter(|margin| *margin < 0.0),
        cx.get(result!(plate_lift)),
        cx.outcome.side_inputs.finger_ratio,
    );
    let (Some(margin), Some(lift), Some(ratio)) = found else {
        return;
    };
    if out.noted(block!(disc)) {
        return;
    }
    let problem = cx.problem(
        field!(disc.clearance),
        format!(
            "at full pedal the plate lifts {}, {} short of what cushion and clearances want: the disc \
             drags. That takes {} more finger travel",
            cx.length(lift),
            cx.length(-margin),
            cx.length(-margin * ratio)
        ),
    );
    let problem = cx.beside(
        problem,
        field!(disc.cushion),
        "the cushion that must spring back first",
    );
    out.push_curable(
        problem,
        Goal::within_bound(cx, result!(lift_margin)),
        "the cover's window may be too small for this disc: compare their data sheets",
    );
}
