//! The pedal does not come back by itself.

use super::limits::OPEN;
use super::{Check, Context, Example, Found, Goal, Run};
use crate::check_id::CheckId;
use crate::finding::Severity;
use crate::result;
use crate::schema::{COMMON, FieldId};
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

/// Fields for what returns or holds the pedal itself. If none is given, an effort of zero only means that nothing is
/// known.
const OF_PEDAL: [FieldId; 2] = [field!(pedal.return_force), field!(pedal.drag)];

/// Fields for what returns or holds everything that the pedal moves.
const OF_TRAIN: [FieldId; 7] = [
    field!(pedal.assist),
    field!(pedal.assist_rate),
    field!(master.return_force),
    field!(master.drag),
    field!(slave.drag),
    field!(fork.drag),
    field!(fork.return_force),
];

fn run(cx: &Context<'_>, out: &mut Found) {
    // A pedal with no force left stays down. A spec that names neither spring nor drag works out to zero too, and is no
    // evidence of that.
    let says = |fields: &[FieldId]| fields.iter().any(|field| cx.system.given(*field).is_some());
    let of_pedal = says(&OF_PEDAL);
    let enough = |says: bool| if says { OPEN } else { 0.0 };
    let (on_clutch, on_springs) = (enough(of_pedal || says(&OF_TRAIN)), enough(of_pedal));
    let lacks = |id, enough: f64| cx.get(id).filter(|least| *least < enough);
    let on_fingers = lacks(result!(pedal_effort_return), on_clutch);
    let slack = lacks(result!(pedal_effort_slack), on_springs);
    if on_fingers.or(slack).is_none() {
        hangs(cx, out);
        return;
    }
    if out.noted(block!(pedal)) {
        return;
    }
    let lacking = -on_fingers.or(slack).unwrap_or_default();
    let short = |least: f64| match -least > OPEN {
        true => format!("lacks {}", cx.force(-least)),
        false => "has nothing left".to_owned(),
    };
    let message = match (on_fingers, slack) {
        (Some(least), _) => format!(
            "on the way back the pedal {} somewhere while the clutch still pushes: it stays down",
            short(least)
        ),
        (None, Some(least)) => format!(
            "once the bearing has left the fingers the pedal {} to come back: it hangs down by \
             its free play",
            short(least)
        ),
        (None, None) => return,
    };
    let assists = [field!(pedal.assist), field!(pedal.assist_rate)];
    let given = assists
        .into_iter()
        .find(|field| cx.system.given(*field).is_some());
    let field = given.unwrap_or(field!(pedal.return_force));
    let problem = cx
        .problem(field, message)
        .short_by(lacking.max(0.0), result!(pedal_effort_return));
    let margin = move |outcome: &Outcome| {
        let least = [
            (result!(pedal_effort_return), on_clutch),
            (result!(pedal_effort_slack), on_springs),
        ];
        least
            .into_iter()
            .filter_map(|(id, enough)| Some(outcome.get(id)? - enough))
            .reduce(f64::min)
    };
    out.push_curable(
        problem,
        Goal::new(result!(pedal_effort_return), margin),
        "use a stronger return spring, or an assist that is weaker there",
    );
}

/// Reports a master's piston that its own spring does not return, whatever returns the pedal.
fn hangs(cx: &Context<'_>, out: &mut Found) {
    let Some(master) = cx.outcome.hydraulics().map(|hydraulics| &hydraulics.master) else {
        return;
    };
    let is_pulled = cx.system.word(field!(master.rod)) == Some("captive");
    if master.drag <= 0.0 || master.drag < master.return_force || is_pulled {
        return;
    }
    if out.noted(block!(master)) {
        return;
    }
    let message = format!(
        "the master's return spring pushes with {}, and its piston drags with {}: the piston hangs, and its port stays \
         shut",
        cx.force(master.return_force),
        cx.force(master.drag),
    );
    let problem = cx.problem(field!(master.drag), message);
    let problem = cx.beside(problem, field!(master.return_force), "the spring");
    out.push(problem.help(
        "fit new seals or a stronger return spring, and give `master.return_force`; with `rod = captive` the pedal's \
         own spring pulls the piston home",
    ));
}
