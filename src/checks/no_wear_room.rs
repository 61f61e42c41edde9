//! The bearing cannot come back as far as a worn disc needs.

use super::{Check, Context, Example, Found, Goal, Run};
use crate::check_id::CheckId;
use crate::finding::Severity;
use crate::schema::{COMMON, ForkDrive};
use crate::{field, result};

pub const CHECK: Check = Check {
    id: CheckId::NoWearRoom,
    severity: Severity::Error,
    finds: "The disc may wear further than the bearing has room to come back.",
    why: "Once the room is used up the bearing holds the fingers back, the clutch slips and burns.",
    limits: &[],
    source: COMMON,
    bad: Example::System(
        "disc { outer = 228 mm  inner = 150 mm  friction = 0.3  wear = 2 mm }
cover { finger_ratio = 3.6 }
slave { rest_extension = 6 mm }",
    ),
    good: Example::System(
        "disc { outer = 228 mm  inner = 150 mm  friction = 0.3  wear = 2 mm }
cover { finger_ratio = 3.6 }
slave { rest_extension = 12.5 mm }",
    ),
    run: Run::Outcome(run),
};

fn run(cx: &Context<'_>, out: &mut Found) {
    let (Some(reserve), Some(wear), Some(ratio)) = (
        cx.get(result!(wear_reserve)).filter(|r| *r < 0.0),
        cx.outcome.side_inputs.wear,
        cx.outcome.side_inputs.finger_ratio,
    ) else {
        return;
    };
    let Some(drive) = cx.system.fork_drives().next() else {
        return;
    };
    if out.noted(drive.room.block) {
        return;
    }
    let wanted = wear * ratio;
    if let Some(range) = cx.outcome.chain.adjust_range {
        adjuster_runs_out(cx, drive, [wear, wanted, range], out);
        return;
    }
    if cx.outcome.hydraulics().is_none() {
        set_again(cx, drive, [wear, ratio, reserve], out);
        return;
    }
    let message = format!(
        "as the disc wears, the fingers push the bearing back {}, and it has room for {}: after {} of the \
         {} of wear the bearing holds the fingers back, and the clutch slips",
        cx.length(wanted),
        cx.length(wanted + reserve),
        cx.length((wanted + reserve) / ratio),
        cx.length(wear),
    );
    let problem = cx
        .problem(field!(slave.rest_extension), message)
        .related(cx.place(field!(disc.wear)), "the wear to make room for")
        .related(
            cx.place(field!(cover.finger_ratio)),
            "the fingers come back by this times the wear",
        );
    out.push_curable(
        problem,
        Goal::within_bound(cx, result!(wear_reserve)),
        "shorten the slave's rod, so that its piston rests further out; where the stroke is too short for that, use a slave with a \
         longer one",
    );
}

/// Reports an adjuster that reaches its end before the disc is worn out.
fn adjuster_runs_out(
    cx: &Context<'_>,
    drive: &ForkDrive,
    [wear, wanted, range]: [f64; 3],
    out: &mut Found,
) {
    let needed = cx.outcome.chain.adjust_needed(wanted);
    let message = format!(
        "the adjuster of the {} can let the fork's end come back by {}, and a worn disc needs {}: after {} of the {} of \
         wear it is at its end, and from there on the clutch slips",
        drive.name(),
        cx.length(range),
        cx.length(needed),
        cx.length(wear * range / needed),
        cx.length(wear),
    );
    let problem = cx.problem(drive.adjuster.1, message);
    let problem = cx.beside(problem, field!(disc.wear), "the wear to make room for");
    let goal = Goal::within_bound(cx, result!(wear_reserve));
    let otherwise = format!(
        "use an adjuster with {} of travel at the fork's end, or change the disc sooner",
        cx.length(needed)
    );
    out.push_curable(problem, goal, otherwise);
}

/// Reports a cable or a linkage without an adjuster: it must be slackened as the disc wears.
fn set_again(
    cx: &Context<'_>,
    drive: &ForkDrive,
    [wear, ratio, reserve]: [f64; 3],
    out: &mut Found,
) {
    let what = drive.name();
    let wanted = wear * ratio;
    let room = wanted + reserve;
    let message = format!(
        "a worn disc brings the fingers back by {}, and the bearing's free play is {}: after {} of \
         the {} of wear the {what} holds the clutch partly released, and it slips. An adjuster at the \
         fork's end needs {} of travel for all of it",
        cx.length(wanted),
        cx.length(room),
        cx.length(room / ratio),
        cx.length(wear),
        cx.length(-reserve * cx.outcome.chain.fork.ratio),
    );
    let problem = cx.problem(drive.room, message);
    let problem = cx.beside(problem, field!(disc.wear), "the wear to make room for");
    let problem = cx.beside(
        problem,
        field!(cover.finger_ratio),
        "the fingers come back by this times the wear",
    );
    let goal = Goal::within_bound(cx, result!(wear_reserve));
    let otherwise = format!(
        "fit an adjuster at the fork's end that goes as far, and say so in `{what}` with `adjuster` and `adjust_range`"
    );
    out.push_curable(problem, goal, otherwise);
}
