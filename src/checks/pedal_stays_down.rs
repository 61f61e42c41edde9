//! The pedal does not come back by itself.

use super::{Check, Context, Example, Found, Goal, Run};
use crate::check_id::CheckId;
use crate::finding::Severity;
use crate::result;
use crate::schema::COMMON;
use crate::solve::Outcome;
use crate::{block, field};

pub const CHECK: Check = Check {
    id: CheckId::PedalStaysDown,
    severity: Severity::Error,
    finds: "On the way back the clutch and the springs do not push the pedal up against friction and assist.",
    why: "The pedal stays on the floor, or hangs, and the clutch does not engage fully.",
    limits: &[],
    source: COMMON,
    bad: Example::System("pedal { assist = curve { 0 mm: 0 N, 60 mm: 90 N, 150 mm: 130 N } }"),
    good: Example::System(
        "pedal { return_force = 30 N  assist = curve { 0 mm: 0 N, 60 mm: 5 N, 150 mm: 10 N } }",
    ),
    run: Run::Outcome(run),
};

fn run(cx: &Context<'_>, out: &mut Found) {
    let on_fingers = cx
        .get(result!(pedal_effort_return))
        .filter(|least| *least < 0.0);
    let slack = cx
        .get(result!(pedal_effort_slack))
        .filter(|least| *least < 0.0);
    if on_fingers.or(slack).is_none() || out.noted(block!(pedal)) {
        return;
    }
    let lacking = -on_fingers.or(slack).unwrap_or_default();
    let message = match (on_fingers, slack) {
        (Some(least), _) => format!(
            "on the way back the pedal lacks {} somewhere while the clutch still pushes: it stays down",
            cx.force(-least)
        ),
        (None, Some(least)) => format!(
            "once the bearing has left the fingers the pedal lacks {} to come back: it hangs down by \
             its free play",
            cx.force(-least)
        ),
        (None, None) => return,
    };
    let field = match cx.system.given(field!(pedal.assist)) {
        Some(_) => field!(pedal.assist),
        None => field!(pedal.return_force),
    };
    let problem = cx
        .problem(field, message)
        .short_by(lacking, result!(pedal_effort_return));
    let margin = move |outcome: &Outcome| {
        let least = [result!(pedal_effort_return), result!(pedal_effort_slack)];
        least
            .into_iter()
            .filter_map(|id| outcome.get(id))
            .reduce(f64::min)
    };
    out.push_curable(
        problem,
        Goal::new(result!(pedal_effort_return), margin),
        "use a stronger return spring, or an assist that is weaker there",
    );
}
