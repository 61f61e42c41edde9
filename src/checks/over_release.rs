//! The fingers travel further than the cover allows.

use super::{Check, Context, Example, Found, Goal, Run};
use crate::check_id::CheckId;
use crate::finding::Severity;
use crate::schema::COMMON;
use crate::{field, result};

pub const CHECK: Check = Check {
    id: CheckId::OverRelease,
    severity: Severity::Error,
    finds: "At full pedal the fingers have traveled past the most that the cover may take.",
    why: "The diaphragm is bent too far: its fingers crack or lose their set, or touch the disc.",
    limits: &[],
    source: COMMON,
    bad: Example::System("pedal { travel = 180 mm }"),
    good: Example::System("pedal { travel = 180 mm  stop = 155 mm }"),
    run: Run::Outcome(run),
};

fn run(cx: &Context<'_>, out: &mut Found) {
    let Some(margin) = cx.get(result!(overtravel_margin)).filter(|m| *m < 0.0) else {
        return;
    };
    let (Some(travel), cover) = (cx.get(result!(finger_travel)), &cx.outcome.chain.cover) else {
        return;
    };
    if out.noted(cx.pedal_end_field().block) {
        return;
    }
    let mut message = format!(
        "at full pedal the fingers travel {}, {} past the most that the cover may take, {}: the \
         diaphragm is bent too far and its fingers break",
        cx.length(travel),
        cx.length(-margin),
        cx.length(cover.most),
    );
    if let Some(stop) = cx.get(result!(stop_travel)) {
        message.push_str(&format!("; they get there at {} of pedal", cx.length(stop)));
    }
    let problem = cx.problem(cx.pedal_end_field(), message).related(
        cx.place(field!(cover.release_travel)),
        "the cover's window ends here",
    );
    let problem = cx.beside(
        problem,
        field!(slave.bore),
        "the smaller the slave, the further it moves",
    );
    out.push_curable(
        problem,
        Goal::within_bound(cx, result!(overtravel_margin)),
        "no single change spares the cover and still frees the disc: cure the other errors first",
    );
}
