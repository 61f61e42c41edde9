//! The fingers do not travel far enough to free the disc.

use super::{Check, Context, Example, Run, cure};
use crate::finding::{Problem, Severity};
use crate::schema::COMMON;
use crate::{field, result};

pub const CHECK: Check = Check {
    name: "short-release",
    severity: Severity::Error,
    finds: "At full pedal the fingers have not travelled as far as the cover needs to free the disc.",
    why: "The disc drags: gears grind going in, and the car creeps with the pedal down.",
    limits: &[],
    source: COMMON,
    bad: Example::System("slave { bore = 1 in }"),
    good: Example::System("slave { bore = 7/8 in }"),
    run: Run::Outcome(run),
};

fn run(cx: &Context<'_>, out: &mut Vec<Problem>) {
    let Some(margin) = cx.get(result!(release_margin)).filter(|m| *m < 0.0) else {
        return;
    };
    let (Some(travel), cover) = (cx.get(result!(finger_travel)), &cx.outcome.chain.cover) else {
        return;
    };
    let message = format!(
        "at full pedal the fingers travel {}, {} short of the {} that frees the disc: it drags",
        cx.length(travel),
        cx.length(-margin),
        cx.length(cover.needed),
    );
    let deciding = if cx.system.given(field!(slave.outer)).is_some() {
        field!(slave.outer)
    } else {
        field!(slave.bore)
    };
    let mut problem = cx
        .problem(deciding, message)
        .related(
            cx.place(field!(cover.release_travel)),
            "the cover's window begins here",
        )
        .related(
            cx.place(field!(master.bore)),
            "this bore decides how much fluid there is",
        );
    let mut cures = Vec::new();
    if let Some(cure) = cure::slave_bore(cx) {
        let bore = cx.written(field!(slave.bore), cure.value);
        let text = format!("use a {bore} slave: {}", cx.leads_to(&cure.outcome));
        problem = cx.set(problem, field!(slave.bore), cure.value, text.clone());
        cures.push(text);
    }
    if let Some(cure) = cure::master_bore(cx) {
        let bore = cx.written(field!(master.bore), cure.value);
        let text = format!("use a {bore} master: {}", cx.leads_to(&cure.outcome));
        problem = cx.set(problem, field!(master.bore), cure.value, text.clone());
        cures.push(text);
    }
    out.push(match cures.as_slice() {
        [] => problem.help(
            "no single common bore frees it: more pedal travel, or a smaller fork ratio, is needed",
        ),
        cures => problem.help(cures.join("; or ")),
    });
}
