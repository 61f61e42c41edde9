//! Where on the pedal's travel the switches for starter and cruise control operate.

use super::limits::{CRUISE_LAG, START_ROOM};
use super::{Check, Context, Example, Found, Goal, Run};
use crate::check_id::CheckId;
use crate::finding::Severity;
use crate::schema::COMMON;
use crate::{block, field, result};

pub const START: Check = Check {
    id: CheckId::StartSwitch,
    severity: Severity::Error,
    finds: "The clutch switch lets the starter run before the clutch is free.",
    why: "The engine cranks with the clutch engaged: with a gear in, the car jumps.",
    limits: &[],
    source: "by definition",
    bad: Example::System("pedal { start_switch = 100 mm }"),
    good: Example::System("pedal { start_switch = 140 mm }"),
    run: Run::Outcome(start),
};

pub const ROOM: Check = Check {
    id: CheckId::StartRoom,
    severity: Severity::Warning,
    finds: "The clutch switch lets the starter run only at the very end of the pedal's travel.",
    why: "A mat, or a stop that is set a little early, keeps the engine from cranking.",
    limits: &[START_ROOM],
    source: COMMON,
    bad: Example::System("pedal { start_switch = 149 mm }"),
    good: Example::System("pedal { start_switch = 140 mm }"),
    run: Run::Outcome(room),
};

pub const CRUISE: Check = Check {
    id: CheckId::CruiseSwitch,
    severity: Severity::Warning,
    finds: "The clutch switch turns cruise control off well after the clutch begins to let go.",
    why: "Cruise control holds the throttle open as the clutch lets go, and the engine races.",
    limits: &[CRUISE_LAG],
    source: COMMON,
    bad: Example::System("pedal { cruise_switch = 40 mm }"),
    good: Example::System("pedal { cruise_switch = 8 mm }"),
    run: Run::Outcome(cruise),
};

fn start(cx: &Context<'_>, out: &mut Found) {
    let id = result!(start_switch_lead);
    let Some(lead) = cx.get(id).filter(|lead| *lead < 0.0) else {
        return;
    };
    if out.noted(block!(pedal)) {
        return;
    }
    let free = cx.get(result!(release_point)).unwrap_or_default();
    let message = format!(
        "the starter may run at {} of pedal, {} before the disc comes free at {}: the engine cranks with the clutch \
         engaged, and with a gear in the car jumps",
        cx.length(free + lead),
        cx.length(-lead),
        cx.length(free),
    );
    out.push_curable(
        cx.problem(field!(pedal.start_switch), message)
            .short_by(-lead, id),
        // Halfway between release and full pedal, wear and air have as much room as a floor mat.
        Goal::new(id, |outcome| {
            let lead = outcome.get(result!(start_switch_lead))?;
            let room = outcome.get(result!(start_switch_room));
            Some(room.map_or(lead, |room| 0.5 * (lead - room)))
        }),
        format!(
            "set the clutch switch for the starter well past {} of pedal",
            cx.length(free)
        ),
    );
}

fn room(cx: &Context<'_>, out: &mut Found) {
    let id = result!(start_switch_room);
    let (Some(room), Some(least)) = (cx.get(id), cx.bound(id)) else {
        return;
    };
    if room >= least || out.noted(block!(pedal)) {
        return;
    }
    let message = match room < 0.0 {
        true => format!(
            "the starter may run {} past full pedal: the engine never cranks",
            cx.length(-room)
        ),
        false => format!(
            "the starter may run {} before full pedal, less than the {} that a mat or a stop takes: the engine may not \
             crank",
            cx.length(room),
            cx.length(least)
        ),
    };
    out.push_curable(
        cx.problem(field!(pedal.start_switch), message)
            .short_by(least - room, id),
        Goal::within_bound(cx, id),
        "set the clutch switch for the starter higher up, but below the point of release",
    );
}

fn cruise(cx: &Context<'_>, out: &mut Found) {
    let id = result!(cruise_switch_lag);
    let (Some(lag), Some(most)) = (cx.get(id), cx.bound(id)) else {
        return;
    };
    if lag <= most || out.noted(block!(pedal)) {
        return;
    }
    let free = cx.get(result!(free_travel)).unwrap_or_default();
    let message = format!(
        "cruise control turns off {} past the free travel of {}, {} more than it should: it holds the throttle open as \
         the clutch lets go",
        cx.length(lag),
        cx.length(free),
        cx.length(lag - most)
    );
    out.push_curable(
        cx.problem(field!(pedal.cruise_switch), message)
            .short_by(lag - most, id),
        Goal::within_bound(cx, id),
        format!(
            "set the switch for cruise control to {} of pedal or less",
            cx.length(free + most)
        ),
    );
}
