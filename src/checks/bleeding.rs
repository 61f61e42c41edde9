//! Air in the fluid: where bleeding leaves it.

use super::limits;
use super::{Check, Context, Example, Found, Run};
use crate::check_id::CheckId;
use crate::finding::Severity;
use crate::quantity::Dimension;
use crate::result;
use crate::{block, field};

pub const BUBBLE_TRAP: Check = Check {
    id: CheckId::BubbleTrap,
    severity: Severity::Warning,
    finds: "The slave's far end lies higher than its bleed screw, and a bubble stays there.",
    why: "Bleeding never gets it out, and it takes part of every stroke.",
    limits: &[limits::BUBBLE],
    source: "volume of a cylinder's hoof; Boyle's law",
    bad: Example::System("slave { slope = 5 deg  chamber = 30 mm }"),
    good: Example::System("slave { slope = -5 deg  chamber = 30 mm }"),
    run: Run::Outcome(bubble_trap),
};

fn bubble_trap(cx: &Context<'_>, out: &mut Found) {
    let (Some(volume), Some(most)) = (
        cx.get(result!(bubble_volume)),
        cx.bound(result!(bubble_volume)),
    ) else {
        return;
    };
    if volume <= most {
        return;
    }
    let Some(travel) = cx.get(result!(slave_travel)) else {
        return;
    };
    if out.noted(block!(slave)) {
        return;
    }
    let with_bubble = cx.what_if(|chain| chain.change_hydraulics(|h| h.fluid.air += volume));
    let costs = with_bubble.and_then(|outcome| {
        let short = travel - outcome.get(result!(slave_travel))?;
        Some(format!(
            "; left in, it costs {} of the slave's {} and leaves a release margin of {}",
            cx.length(short),
            cx.length(travel),
            cx.length(outcome.get(result!(release_margin))?)
        ))
    });
    out.push(
        cx.problem(
            field!(slave.slope),
            format!(
                "a bubble of {} stays above the bleed screw{}",
                cx.show(volume, Dimension::VOLUME),
                costs.unwrap_or_default()
            ),
        )
        .help(
            "bleed the slave off the car with the screw at the top, or turn it so that its far \
             end lies lower. Support the vehicle, and keep brake fluid off eyes, skin and paint",
        ),
    );
}
