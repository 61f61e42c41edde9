//! The master's piston reaches the end of its bore before the pedal reaches the end of its travel.

use super::{Check, Context, Example, Found, Goal, Limit, Run};
use crate::check_id::CheckId;
use crate::finding::Severity;
use crate::mechanics::EndedBy;
use crate::quantity::Dimension;
use crate::schema::COMMON;
use crate::solve::Outcome;
use crate::{block, field, result};

pub const CHECK: Check = Check {
    id: CheckId::MasterBottoms,
    severity: Severity::Error,
    finds: "The master's piston reaches the end of its stroke before the pedal, or its stop, ends the travel.",
    why: "The foot then presses on the cylinder's end: the rod bends, the firewall tears or the snap ring gives.",
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
         from there the foot presses on the cylinder's end, and the pushrod or the firewall bends",
        cx.length(stroke),
        cx.length(used),
        cx.length(cx.pedal_end() - used),
    );
    let problem = cx.problem(field!(master.stroke), message).related(
        cx.place(cx.pedal_end_field()),
        "the pedal would go on to here",
    );
    let problem = problem.short_by(cx.pedal_end() - used, result!(pedal_travel_used));
    let margin = move |outcome: &Outcome| match outcome.ended_by {
        EndedBy::MasterStroke => Some(-outcome.get(result!(master_travel))?.max(reserve)),
        _ => Some(outcome.get(result!(master_reserve))? - reserve),
    };
    out.push_curable(
        problem,
        Goal::new(result!(master_reserve), margin),
        "no single change keeps it off its end: something further down would then travel too far. \
             Cure that first, or use a greater pedal ratio",
    );
}
