//! The fingers do not travel far enough to release the disc.

use super::{Check, Context, Example, Found, Goal, Run};
use crate::check_id::CheckId;
use crate::finding::Severity;
use crate::schema::COMMON;
use crate::{field, result};

pub const CHECK: Check = Check {
    id: CheckId::ShortRelease,
    severity: Severity::Error,
    finds: "At full pedal the fingers have not traveled as far as the cover needs to free the disc.",
    why: "The disc drags: gears grind going in, and the car creeps with the pedal down.",
    limits: &[],
    source: COMMON,
    bad: Example::System("slave { bore = 1 in }"),
    good: Example::System("slave { bore = 7/8 in }"),
    run: Run::Outcome(run),
};

fn run(cx: &Context<'_>, out: &mut Found) {
    let Some(margin) = cx.get(result!(release_margin)).filter(|m| *m < 0.0) else {
        return;
    };
    let (Some(travel), cover) = (cx.get(result!(finger_travel)), &cx.outcome.chain.cover) else {
        return;
    };
    if out.noted(cx.finger_travel_field().block) {
        return;
    }
    let message = format!(
        "at full pedal the fingers travel {}, {} short of the {} that frees the disc: it drags{}",
        cx.length(travel),
        cx.length(-margin),
        cx.length(cover.needed),
        match cx.outcome.ended_by.is_hard_stop() {
            true => format!(". It is stopped by {}", cx.outcome.ended_by.words()),
            false => String::new(),
        },
    );
    let problem = cx.problem(cx.finger_travel_field(), message).related(
        cx.place(field!(cover.release_travel)),
        "the cover's window begins here",
    );
    let problem = if cx.outcome.ended_by.is_hard_stop() {
        problem
    } else {
        let words = "the master's bore sets how much fluid moves";
        cx.beside(problem, field!(master.bore), words)
    };
    out.push_curable(
        problem,
        Goal::within_bound(cx, result!(release_margin)),
        "no single change frees it: combine more pedal travel, less free play, stiffer parts and \
             a larger master",
    );
}
