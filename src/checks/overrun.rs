//! Something between the master and the fingers travels further than it can.

use super::limits::{least_rating, name_of_rated};
use super::sizes::written;
use super::{Check, Context, Example, Found, Goal, Limit, Run};
use crate::check_id::CheckId;
use crate::finding::{Problem, Severity};
use crate::mechanics::{EndedBy, Side};
use crate::model::Origin;
use crate::quantity::Dimension;
use crate::schema::{COMMON, FieldId};
use crate::solve::window_edges;
use crate::{block, field, result};

/// The force of a foot that presses on against a hard stop.
pub(super) const FOOT: Limit = Limit {
    name: "foot",
    value: 700.0,
    dimension: Dimension::FORCE,
    what: "the most that a foot presses with once the pedal goes no further",
    source: COMMON,
};

pub const SLAVE: Check = Check {
    id: CheckId::SlaveOverrun,
    severity: Severity::Error,
    finds: "Pedal and master would bring the slave's piston past the end of its stroke.",
    why: "The piston hits its stop and the fingers get no further, or it leaves its bore and the fluid runs out.",
    limits: &[FOOT],
    source: COMMON,
    bad: Example::System("slave { stroke = 20 mm }"),
    good: Example::System("slave { stroke = 30 mm }"),
    run: Run::Outcome(slave),
};

pub const BEARING: Check = Check {
    id: CheckId::BearingOverrun,
    severity: Severity::Error,
    finds: "Pedal and master would slide the release bearing further than its guide allows.",
    why: "It runs off its guide, or strikes the cover or the gearbox.",
    limits: &[FOOT],
    source: COMMON,
    bad: Example::System("bearing { max_travel = 8.5 mm }\npedal { travel = 150 mm }"),
    good: Example::System("bearing { max_travel = 12 mm }\npedal { travel = 150 mm }"),
    run: Run::Outcome(bearing),
};

pub const FORK: Check = Check {
    id: CheckId::ForkFouls,
    severity: Severity::Error,
    finds: "Pedal and master would move the fork's outer end further than its opening in the housing allows.",
    why: "The fork strikes the housing: the pedal stops hard, and fork, pivot or casting break.",
    limits: &[FOOT],
    source: COMMON,
    bad: Example::System("fork { window = 15 mm }\npedal { travel = 150 mm }"),
    good: Example::System("fork { window = 20 mm }\npedal { travel = 150 mm }"),
    run: Run::Outcome(fork),
};

/// Where the pad stops, if `cause` ends its travel, as the end of a message.
pub(super) fn where_it_stops(cx: &Context<'_>, cause: EndedBy) -> String {
    match cx.get(result!(pedal_travel_used)) {
        Some(pad) if cx.outcome.ended_by == cause => {
            format!(
                ". Where it stops, the pad is at {}{}",
                cx.length(pad),
                pressed_on(cx)
            )
        }
        _ => String::new(),
    }
}

/// The effect of a foot that presses on there on the weakest part, if it exceeds what the part may carry.
fn pressed_on(cx: &Context<'_>) -> String {
    let found = || {
        let foot = cx.limit("foot")?;
        let pressed = cx.outcome.pressed_on(foot)?;
        let sides = [
            (Side::Slave, pressed.pressure?),
            (Side::Master, pressed.master_pressure?),
        ];
        sides.into_iter().find_map(|(side, pressure)| {
            let (part, field, most) = least_rating(cx.system, side)?;
            // In the unit of the rating, so that the two can be compared.
            let unit = part.given(field)?.unit();
            (pressure > most).then(|| {
                format!(
                    ", and a foot that pushes on with {} makes {} there; {} is rated for {}",
                    cx.force(foot),
                    written(pressure, unit),
                    name_of_rated(part, field),
                    written(most, unit),
                )
            })
        })
    };
    found().unwrap_or_default()
}

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
        format!(" ({} of that at rest)", cx.length(rest))
    } else {
        String::new()
    };
    let message = format!(
        "at full pedal the slave's piston would be {} out{from_rest}, {} past its stroke of {}: it \
         hits its stop, or leaves its bore and the fluid runs out{}",
        cx.length(stroke - reserve),
        cx.length(-reserve),
        cx.length(stroke),
        where_it_stops(cx, EndedBy::SlaveStroke),
    );
    let (deciding, other, why) = deciding_of_slave(cx, rest);
    let mut problem = cx.problem(deciding, message);
    if cx.system.given(other).is_some() {
        problem = problem.related(cx.place(other), why);
    }
    out.push_curable(
        problem,
        Goal::within_bound(cx, result!(slave_reserve)),
        "use a slave with a longer stroke, or end the pedal's travel earlier",
    );
}

/// Which of rest extension and stroke to point at, and a sentence about the other. The one in the system's own text
/// is chosen.
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

/// The problem of a part that full pedal would take past its end. It shows the place of the pedal's end.
pub(super) fn past_its_end(cx: &Context<'_>, field: FieldId, message: String) -> Problem {
    cx.problem(field, message).related(
        cx.place(cx.pedal_end_field()),
        "the pedal would take it this far",
    )
}

fn bearing(cx: &Context<'_>, out: &mut Found) {
    let (Some(reserve), Some(most)) = (
        cx.get(result!(bearing_reserve)).filter(|r| *r < 0.0),
        cx.system.given_number(field!(bearing.max_travel)),
    ) else {
        return;
    };
    if out.noted(block!(bearing)) {
        return;
    }
    let message = format!(
        "full pedal would slide the bearing {}, {} more than its guide allows: it runs off, or \
         strikes the cover{}",
        cx.length(most - reserve),
        cx.length(-reserve),
        where_it_stops(cx, EndedBy::BearingGuide),
    );
    let problem = past_its_end(cx, field!(bearing.max_travel), message);
    out.push_curable(
        problem,
        Goal::within_bound(cx, result!(bearing_reserve)),
        "the cover needs more than the guide allows: find room for the bearing",
    );
}

fn fork(cx: &Context<'_>, out: &mut Found) {
    behind(cx, out);
    let (Some(reserve), Some(window)) = (
        cx.get(result!(fork_reserve)).filter(|r| *r < 0.0),
        cx.outcome.chain.fork.window,
    ) else {
        return;
    };
    if out.noted(block!(fork)) {
        return;
    }
    let message = format!(
        "full pedal would move the fork's outer end {}, {} more than its opening \
         allows: it strikes the housing{}",
        cx.length(window - reserve),
        cx.length(-reserve),
        where_it_stops(cx, EndedBy::ForkWindow),
    );
    let problem = past_its_end(cx, cx.window_field(), message);
    out.push_curable(
        problem,
        Goal::within_bound(cx, result!(fork_reserve)),
        "give the fork more room, or use one with a smaller ratio",
    );
}

/// Checks the edge of the opening towards which the fork's end comes back as the disc wears.
fn behind(cx: &Context<'_>, out: &mut Found) {
    let (Some(room), Some(edges)) = (
        cx.get(result!(fork_back_room)).filter(|room| *room < 0.0),
        cx.outcome
            .side_inputs
            .fork_stack
            .as_ref()
            .and_then(window_edges),
    ) else {
        return;
    };
    if out.noted(block!(fork)) {
        return;
    }
    let which = match edges.1 == field!(fork.window_front) {
        true => "front",
        false => "rear",
    };
    let message = format!(
        "with the disc worn out the fork's outer end would stand {} past the {which} edge of its opening: the housing \
         holds it, the bearing takes load off the disc, and the clutch slips",
        cx.length(-room),
    );
    out.push_curable(
        cx.problem(edges.1, message)
            .short_by(-room, result!(fork_back_room)),
        Goal::within_bound(cx, result!(fork_back_room)),
        "give the fork's opening more room on that side, or use another pivot",
    );
}
