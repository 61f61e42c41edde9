//! The master's piston is at the end of its bore before the pedal is at the end of its travel.

use super::cure::Cures;
use super::sizes::rounded_up;
use super::{Check, Context, Example, Found, Limit, Run};
use crate::finding::Severity;
use crate::mechanics::{EndedBy, Outcome};
use crate::quantity::Dimension;
use crate::schema::COMMON;
use crate::{block, field, result};

pub const CHECK: Check = Check {
    name: "master-bottoms",
    severity: Severity::Error,
    finds: "The master's piston reaches the end of its stroke before the pedal, or its stop, ends the travel.",
    why: "The foot then presses on the cylinder's end: the rod bends, the bulkhead tears or the circlip gives.",
    limits: &[Limit {
        name: "reserve",
        value: 1.0,
        dimension: Dimension::LENGTH,
        what: "master stroke that a cure leaves unused at full pedal",
        source: COMMON,
    }],
    source: COMMON,
    bad: Example::System("pedal { ratio = 6 }\nmaster { stroke = 22 mm }"),
    good: Example::System("pedal { ratio = 6 }\nmaster { stroke = 30 mm }"),
    run: Run::Outcome(run),
};

fn run(cx: &Context<'_>, out: &mut Found) {
    if cx.outcome.ended_by != EndedBy::MasterStroke {
        return;
    }
    let (Some(used), Some(reserve)) = (cx.get(result!(pedal_travel_used)), cx.limit("reserve"))
    else {
        return;
    };
    let Some(stroke) = cx.outcome.hydraulics().map(|h| h.master.stroke) else {
        return;
    };
    if out.noted(block!(master)) {
        return;
    }
    let message = format!(
        "the master's piston has used its stroke of {} at {} of pedal, {} before the pedal ends: \
         from there the foot presses on the cylinder's end, and rod or bulkhead give",
        cx.length(stroke),
        cx.length(used),
        cx.length(cx.pedal_end() - used),
    );
    let problem = cx.problem(field!(master.stroke), message).related(
        cx.place(cx.pedal_end_field()),
        "the pedal would go on to here",
    );
    let problem = problem.short_by(cx.pedal_end() - used, result!(pedal_travel_used));
    let stays_off = |outcome: &Outcome| {
        outcome.ended_by != EndedBy::MasterStroke
            && outcome
                .get(result!(master_reserve))
                .is_some_and(|left| left >= reserve)
    };
    let longer = longer_stroke(cx, reserve);
    let mut cures = Cures::of(cx, problem, &stays_off).stop();
    if let Some(stroke) = longer {
        cures = cures.say(
            format!("use a master of {} stroke or more", cx.length(stroke)),
            |chain| chain.change_hydraulics(|h| h.master.stroke = stroke),
        );
    }
    out.push(cures.or_else(match longer {
        Some(stroke) => format!(
            "the whole travel wants {} of master stroke, and would then take something further \
             down too far: cure that first, or use a greater pedal ratio",
            cx.length(stroke)
        ),
        None => "use a greater pedal ratio".to_owned(),
    }));
}

/// The master stroke that the pedal's whole travel wants.
fn longer_stroke(cx: &Context<'_>, reserve: f64) -> Option<f64> {
    // Far more than any pedal moves its rod, so that nothing but the pedal ends the travel.
    let far = cx.outcome.hydraulics()?.master.stroke + cx.pedal_end();
    let free = cx.what_if(|chain| chain.change_hydraulics(|h| h.master.stroke = far))?;
    let wanted = free.get(result!(master_travel))? + reserve;
    Some(rounded_up(wanted, cx.unit(field!(master.stroke)).as_ref()))
}
