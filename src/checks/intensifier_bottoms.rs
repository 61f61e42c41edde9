//! The intensifier's piston reaches the end of its bore before pedal and master reach theirs.

use super::overrun::{FOOT, past_its_end, where_it_stops};
use super::{Check, Context, Example, Found, Goal, Run};
use crate::check_id::CheckId;
use crate::finding::Severity;
use crate::mechanics::EndedBy;
use crate::schema::COMMON;
use crate::{block, field, result};

pub const CHECK: Check = Check {
    id: CheckId::IntensifierBottoms,
    severity: Severity::Error,
    finds: "Pedal and master would bring the intensifier's piston past the end of its stroke.",
    why: "It bottoms, the slave goes no further however hard the foot presses, and the pedal feels like a wall.",
    limits: &[FOOT],
    source: COMMON,
    bad: Example::System(
        "intensifier { in_bore = 3/4 in  out_bore = 0.72 in  stroke = 20 mm }
pedal { travel = 160 mm }",
    ),
    good: Example::System(
        "intensifier { in_bore = 3/4 in  out_bore = 0.72 in  stroke = 30 mm }
pedal { travel = 160 mm }",
    ),
    run: Run::Outcome(run),
};

fn run(cx: &Context<'_>, out: &mut Found) {
    let Some(reserve) = cx
        .get(result!(intensifier_reserve))
        .filter(|reserve| *reserve < 0.0)
    else {
        return;
    };
    let Some(stroke) = cx.system.given_number(field!(intensifier.stroke)) else {
        return;
    };
    if out.noted(block!(intensifier)) {
        return;
    }
    let message = format!(
        "full pedal asks the intensifier's piston for {}, {} more than its stroke of {}: it bottoms, and the slave goes no \
         further{}",
        cx.length(stroke - reserve),
        cx.length(-reserve),
        cx.length(stroke),
        where_it_stops(cx, EndedBy::IntensifierStroke),
    );
    let problem = past_its_end(cx, field!(intensifier.stroke), message);
    out.push_curable(
        problem,
        Goal::within_bound(cx, result!(intensifier_reserve)),
        "use an intensifier with a longer stroke or a larger small bore, or a smaller slave",
    );
}
