//! Air in the fluid that bleeding cannot remove.

use super::limits;
use super::{Check, Context, Example, Found, Run};
use crate::check_id::CheckId;
use crate::field;
use crate::finding::Severity;
use crate::quantity::Dimension;
use crate::result;

pub const BUBBLE_TRAP: Check = Check {
    id: CheckId::BubbleTrap,
    severity: Severity::Warning,
    finds: "An end of the slave or the master lies higher than its bleed screw or outlet, and a bubble stays there.",
    why: "Bleeding never gets it out, and it takes part of every stroke.",
    limits: &[limits::BUBBLE],
    source: "volume of a cylinder's hoof; Boyle's law",
    bad: Example::System("slave { slope = 5 deg  chamber = 30 mm }"),
    good: Example::System("slave { slope = -5 deg  chamber = 30 mm }"),
    run: Run::Outcome(bubble_trap),
};

fn bubble_trap(cx: &Context<'_>, out: &mut Found) {
    let slave = (
        result!(bubble_volume),
        field!(slave.slope),
        "above the bleed screw",
        "clamp the slave's piston fully home, unbolt the slave and bleed it with the screw uppermost, or turn it until the \
         screw is its highest point. Support the vehicle, and keep brake fluid off eyes, skin and paint",
    );
    let master = (
        result!(master_bubble_volume),
        field!(master.slope),
        "in the master, above its outlet",
        "bleed the master on the bench with its front end down, or shim its flange so that the outlet is the highest \
         point. Keep brake fluid off eyes, skin and paint",
    );
    for (id, slope, place, help) in [slave, master] {
        let (Some(volume), Some(most)) = (cx.get(id), cx.bound(id)) else {
            continue;
        };
        if volume <= most || out.noted(slope.block) {
            continue;
        }
        let message = format!(
            "a bubble of {} stays {place}{}",
            cx.show(volume, Dimension::VOLUME),
            cost(cx, volume).unwrap_or_default()
        );
        out.push(cx.problem(slope, message).help(help));
    }
}

/// The travel that a remaining bubble costs, in words.
fn cost(cx: &Context<'_>, volume: f64) -> Option<String> {
    let travel = cx.get(result!(slave_travel))?;
    let outcome = cx.what_if(|chain| chain.change_hydraulics(|h| h.fluid.air += volume))?;
    let short = travel - outcome.get(result!(slave_travel))?;
    Some(format!(
        "; left in, it costs {} of the slave's {} and leaves a release margin of {}",
        cx.length(short),
        cx.length(travel),
        cx.length(outcome.get(result!(release_margin))?)
    ))
}
