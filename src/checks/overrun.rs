//! Something between the master and the fingers travels further than it may.

use super::cure::Cures;
use super::sizes::rounded_down;
use super::{Check, Context, Example, Found, Run};
use crate::finding::Severity;
use crate::mechanics::{Chain, Outcome};
use crate::model::Origin;
use crate::schema::{COMMON, FieldId};
use crate::{block, field, result};

pub const SLAVE: Check = Check {
    name: "slave-overrun",
    severity: Severity::Error,
    finds: "At full pedal the slave's piston has gone past the end of its stroke.",
    why: "It strikes its stop and the fingers get no further, or it leaves its bore and the fluid with it.",
    limits: &[],
    source: COMMON,
    bad: Example::System("slave { stroke = 20 mm }"),
    good: Example::System("slave { stroke = 30 mm }"),
    run: Run::Outcome(slave),
};

pub const BEARING: Check = Check {
    name: "bearing-overrun",
    severity: Severity::Error,
    finds: "At full pedal the release bearing has slid further than its guide allows.",
    why: "It runs off its guide, or strikes the cover or the gearbox.",
    limits: &[],
    source: COMMON,
    bad: Example::System("bearing { max_travel = 8.5 mm }\npedal { travel = 150 mm }"),
    good: Example::System("bearing { max_travel = 12 mm }\npedal { travel = 150 mm }"),
    run: Run::Outcome(bearing),
};

pub const FORK: Check = Check {
    name: "fork-fouls",
    severity: Severity::Error,
    finds: "At full pedal the fork's outer end has travelled further than its opening in the housing allows.",
    why: "The fork strikes the housing: the pedal stops hard, and fork, pivot or casting break.",
    limits: &[],
    source: COMMON,
    bad: Example::System("fork { window = 15 mm }\npedal { travel = 150 mm }"),
    good: Example::System("fork { window = 20 mm }\npedal { travel = 150 mm }"),
    run: Run::Outcome(fork),
};

fn slave(cx: &Context<'_>, out: &mut Found) {
    let Some(reserve) = cx.get(result!(slave_reserve)).filter(|r| *r < 0.0) else {
        return;
    };
    let Some(slave) = cx.outcome.hydraulics().map(|h| &h.slave) else {
        return;
    };
    if out.noted(block!(slave)) {
        return;
    }
    let (rest, stroke) = (slave.rest_extension, slave.stroke);
    let from_rest = if rest > 0.0 {
        format!(", {} at rest included", cx.length(rest))
    } else {
        String::new()
    };
    let message = format!(
        "at full pedal the slave's piston stands {} out{from_rest}, {} past its stroke of {}: it \
         strikes its stop, or leaves its bore and the fluid with it",
        cx.length(stroke - reserve),
        cx.length(-reserve),
        cx.length(stroke),
    );
    let (deciding, other, why) = deciding_of_slave(cx, rest);
    let mut problem = cx.problem(deciding, message);
    problem = problem.short_by(-reserve, result!(slave_reserve));
    if cx.system.given(other).is_some() {
        problem = problem.related(cx.place(other), why);
    }
    let stays_in = |outcome: &Outcome| {
        outcome
            .get(result!(slave_reserve))
            .is_some_and(|reserve| reserve >= 0.0)
    };
    let mut cures = Cures::of(cx, problem, &stays_in);
    if rest + reserve >= 0.0 {
        let field = field!(slave.rest_extension);
        let further_in = rounded_down(rest + reserve, cx.unit(field).as_ref(), false);
        let text = cx.written(field, further_in);
        let change = |chain: &mut Chain| {
            chain.change_hydraulics(|h| h.slave.rest_extension = further_in);
        };
        // Where it is not known how far the piston must come back, its maker decides.
        cures = if cx.get(result!(wear_reserve)).is_some() {
            let what = "shorten the slave's rod for a rest extension of";
            cures.value(field, further_in, what, change)
        } else {
            let what =
                format!("let the piston rest {text} out or less, if that is room enough for wear");
            cures.say(what, change)
        };
    }
    out.push(cures.stop().slave_bore().or_else(format!(
        "use a slave of {} stroke or more",
        cx.length(stroke - reserve)
    )));
}

/// Which of rest extension and stroke to point at, and what to say of the other: the one that
/// the system itself says.
fn deciding_of_slave(cx: &Context<'_>, rest: f64) -> (FieldId, FieldId, &'static str) {
    let (stroke, extension) = (field!(slave.stroke), field!(slave.rest_extension));
    let own = |field: FieldId| {
        let given = cx.system.given(field);
        given.is_some_and(|given| given.origin == Origin::Own)
    };
    if rest > 0.0 && own(extension) && !own(stroke) {
        (extension, stroke, "the whole stroke")
    } else {
        (stroke, extension, "this is taken off the stroke")
    }
}

fn bearing(cx: &Context<'_>, out: &mut Found) {
    let (Some(travel), Some(most)) = (
        cx.get(result!(bearing_travel)),
        cx.system.given_number(field!(bearing.max_travel)),
    ) else {
        return;
    };
    if travel <= most {
        return;
    }
    if out.noted(block!(bearing)) {
        return;
    }
    let message = format!(
        "at full pedal the bearing has slid {}, {} more than its guide allows: it runs off, or \
         strikes the cover",
        cx.length(travel),
        cx.length(travel - most),
    );
    let problem = cx.problem(field!(bearing.max_travel), message).related(
        cx.place(cx.pedal_end_field()),
        "the pedal takes it this far",
    );
    let problem = problem.short_by(travel - most, result!(bearing_travel));
    let stays_on = |outcome: &Outcome| {
        outcome
            .get(result!(bearing_travel))
            .is_some_and(|travel| travel <= most)
    };
    out.push(
        Cures::of(cx, problem, &stays_on)
            .stop()
            .slave_bore()
            .master_bore()
            .or_else(format!(
                "the cover wants {} to free the disc: find room for the bearing",
                cx.length(cx.outcome.chain.bearing.free_play + cx.outcome.chain.cover.needed)
            )),
    );
}

fn fork(cx: &Context<'_>, out: &mut Found) {
    let (Some(travel), Some(window)) = (
        cx.get(result!(fork_travel)),
        cx.system.given_number(field!(fork.window)),
    ) else {
        return;
    };
    if travel <= window {
        return;
    }
    if out.noted(block!(fork)) {
        return;
    }
    let message = format!(
        "at full pedal the fork's outer end has travelled {}, {} more than its opening leaves \
         it: it strikes the housing",
        cx.length(travel),
        cx.length(travel - window),
    );
    let problem = cx.problem(field!(fork.window), message).related(
        cx.place(cx.pedal_end_field()),
        "the pedal takes it this far",
    );
    let problem = problem.short_by(travel - window, result!(fork_travel));
    let stays_clear = |outcome: &Outcome| {
        outcome
            .get(result!(fork_travel))
            .is_some_and(|travel| travel <= window)
    };
    out.push(
        Cures::of(cx, problem, &stays_clear)
            .stop()
            .slave_bore()
            .master_bore()
            .or_else(format!(
                "give the fork {} of room, or a smaller ratio",
                cx.length(travel)
            )),
    );
}
