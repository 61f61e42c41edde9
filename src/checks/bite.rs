//! Where on the pedal the disc is released.

use super::comfort::{LEFT, bite_margin, bite_to_spare, share_before_release};
use super::limits;
use super::{Check, Context, Example, Found, Goal, Limit, Run};
use crate::check_id::CheckId;
use crate::finding::{Problem, Severity};
use crate::quantity::Dimension;
use crate::schema::{COMMON, FieldId};
use crate::solve::Outcome;
use crate::{block, field, result};

pub const LOW: Check = Check {
    id: CheckId::LowBite,
    severity: Severity::Warning,
    finds: "The disc comes free so near the end of the pedal that next to nothing is left.",
    why: "Heat, a little air or a worn bushing takes the rest, and then the clutch drags.",
    limits: &[LEFT],
    source: COMMON,
    bad: Example::System(
        "cover { release_travel = 8 mm to 11 mm  release_load = 1400 N }\nslave { bore = 7/8 in }",
    ),
    good: Example::System(
        "cover { release_travel = 7 mm to 11 mm  release_load = 1400 N }\nslave { bore = 7/8 in }",
    ),
    run: Run::Outcome(low),
};

pub const HIGH: Check = Check {
    id: CheckId::HighBite,
    severity: Severity::Warning,
    finds: "The disc comes free early on the pedal's way down, and most of the travel does nothing.",
    why: "The foot must come nearly all the way up before the car moves, and pulls away in jerks.",
    limits: &[Limit {
        name: "before",
        value: 0.35,
        dimension: Dimension::NUMBER,
        what: "least share of the pedal's travel before the disc comes free",
        source: COMMON,
    }],
    source: COMMON,
    bad: Example::System("cover { release_travel = 2 mm to 11 mm }\nslave { bore = 7/8 in }"),
    good: Example::System("cover { release_travel = 7 mm to 11 mm }\nslave { bore = 7/8 in }"),
    run: Run::Outcome(high),
};

pub const SHARP: Check = Check {
    id: CheckId::SharpTakeUp,
    severity: Severity::Warning,
    finds: "The clutch takes up over next to no pedal travel.",
    why: "The foot cannot slip it in: it grabs, and the car jerks or stalls.",
    limits: &[limits::TAKE_UP],
    source: COMMON,
    bad: Example::System(
        "cover { finger_ratio = 3.4  clamp_load = 6500 N }
    disc { outer = 228 mm  inner = 150 mm  friction = 0.3  cushion = 0.3 mm  cushion_power = 1 }
    engine { torque = 210 N*m }",
    ),
    good: Example::System(
        "cover { finger_ratio = 3.4  clamp_load = 6500 N }
    disc { outer = 228 mm  inner = 150 mm  friction = 0.3  cushion = 0.8 mm  cushion_power = 1 }
    engine { torque = 210 N*m }",
    ),
    run: Run::Outcome(sharp),
};

fn sharp(cx: &Context<'_>, out: &mut Found) {
    let id = result!(take_up);
    let (Some(take_up), Some(least)) = (cx.get(id), cx.bound(id)) else {
        return;
    };
    let (Some(bite), Some(end)) = (cx.get(result!(bite_point)), cx.get(result!(take_up_end)))
    else {
        return;
    };
    if take_up >= least || out.noted(block!(disc)) {
        return;
    }
    let message = format!(
        "on the way up the clutch begins to pull at {} of pedal and carries the engine at {}: {} to pull away with, {} \
         less than wanted, and it grabs",
        cx.length(bite),
        cx.length(end),
        cx.length(take_up),
        cx.length(least - take_up),
    );
    out.push_curable(
        cx.problem(field!(disc.cushion), message),
        Goal::within_bound(cx, id),
        "use a disc with more cushion between its facings, or a greater pedal ratio",
    );
}

fn percent(share: f64) -> String {
    format!("{:.0} %", share * 100.0)
}

fn low(cx: &Context<'_>, out: &mut Found) {
    // The pedal travel left is known only if nothing stops the pedal on the way.
    if cx.outcome.ended_by.is_hard_stop() {
        return;
    }
    let (Some(before), Some(least), Some(point), Some(used)) = (
        share_before_release(cx.outcome),
        cx.limit("left"),
        cx.get(result!(release_point)),
        cx.get(result!(pedal_travel_used)),
    ) else {
        return;
    };
    let left = 1.0 - before;
    let is_enough = bite_margin(cx.outcome, least).is_none_or(|margin| margin >= 0.0);
    if is_enough || cx.is_author_limited(result!(release_point), true) {
        return;
    }
    let field = cx.finger_travel_field();
    if out.noted(field.block) {
        return;
    }
    let message = format!(
        "the disc comes free at {} of {} of pedal: only {} ({}) is left for heat, air and wear; once \
         that is used up, the clutch drags",
        cx.length(point),
        cx.length(used),
        cx.length(used - point),
        percent(left),
    );
    let problem = beside_window(cx, field, message)
        .short_by(point - (1.0 - least) * used, result!(release_point));
    let most_effort = limits::EFFORT.under(cx.settings, CheckId::HeavyPedal);
    let effort = cx
        .get(result!(pedal_effort))
        .unwrap_or_default()
        .max(most_effort);
    let margin = move |outcome: &Outcome| {
        let light = effort - outcome.get(result!(pedal_effort))?;
        let left = bite_margin(outcome, least)?;
        Some(if light < 0.0 { light } else { left })
    };
    out.push_curable(
        problem,
        Goal::new(result!(release_point), margin),
        "no single change mends it and keeps the pedal light: take up free play, stiffen what \
         flexes, or give the pedal more travel",
    );
}

fn high(cx: &Context<'_>, out: &mut Found) {
    if bites_high(cx, out) {
        return;
    }
    let (Some(before), Some(least), Some(point), Some(used)) = (
        share_before_release(cx.outcome),
        cx.limit("before"),
        cx.get(result!(release_point)),
        cx.get(result!(pedal_travel_used)),
    ) else {
        return;
    };
    if before >= least || cx.is_author_limited(result!(release_point), false) {
        return;
    }
    let field = cx.driver_field();
    if out.noted(field.block) {
        return;
    }
    let message = format!(
        "the disc is free at {} of {} of pedal already, {} of the way: the rest does nothing, \
         and the foot must come nearly all the way up before the car moves",
        cx.length(point),
        cx.length(used),
        percent(before),
    );
    let problem =
        beside_window(cx, field, message).short_by(least * used - point, result!(release_point));
    let to_spare = bite_to_spare(cx);
    let margin = move |outcome: &Outcome| {
        Some((share_before_release(outcome)? - least).min(to_spare(outcome)?))
    };
    out.push_curable(
        problem,
        Goal::new(result!(release_point), margin),
        "a greater pedal ratio makes it bite later and lighter",
    );
}

/// Checks where the clutch begins to pull on the way up. Says whether that place is known.
fn bites_high(cx: &Context<'_>, out: &mut Found) -> bool {
    let id = result!(bite_point);
    let (Some(bite), Some(least), Some(used)) = (
        cx.get(id),
        cx.limit("before"),
        cx.get(result!(pedal_travel_used)),
    ) else {
        return false;
    };
    let is_low_enough = bite >= least * used || cx.is_author_limited(id, false);
    let field = cx.driver_field();
    if is_low_enough || out.noted(field.block) {
        return true;
    }
    let message = format!(
        "on the way up the clutch begins to pull at {} of {} of pedal: the foot must come {} of the way up before the car \
         moves",
        cx.length(bite),
        cx.length(used),
        percent(1.0 - bite / used),
    );
    let problem = beside_window(cx, field, message).short_by(least * used - bite, id);
    let to_spare = bite_to_spare(cx);
    let margin = move |outcome: &Outcome| {
        let share = outcome.get(id)? / outcome.get(result!(pedal_travel_used))?;
        Some((share - least).min(to_spare(outcome)?))
    };
    out.push_curable(
        problem,
        Goal::new(id, margin),
        "a greater pedal ratio makes it bite later and lighter",
    );
    true
}

/// A problem at a field that shows the required window of the fingers beside it.
fn beside_window(cx: &Context<'_>, field: FieldId, message: String) -> Problem {
    cx.problem(field, message).related(
        cx.place(field!(cover.release_travel)),
        "the cover's window begins here",
    )
}
