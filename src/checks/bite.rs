//! Where on the pedal the disc comes free.

use super::cure::{Goal, cure};
use super::heavy_pedal;
use super::{Check, Context, Example, Found, Limit, Run};
use crate::check_id::CheckId;
use crate::finding::Severity;
use crate::quantity::Dimension;
use crate::schema::COMMON;
use crate::solve::Outcome;
use crate::{field, result};

pub const LOW: Check = Check {
    id: CheckId::LowBite,
    severity: Severity::Warning,
    finds: "The disc comes free so near the end of the pedal that next to nothing is left.",
    why: "Heat, a little air or a worn bush takes the rest, and then the clutch drags.",
    limits: &[Limit {
        name: "left",
        value: 0.15,
        dimension: Dimension::NUMBER,
        what: "least share of the pedal's travel that is left when the disc comes free",
        source: COMMON,
    }],
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

/// Pad travel before release as a share of the travel used.
fn share(outcome: &Outcome) -> Option<f64> {
    let point = outcome.get(result!(release_point))?;
    let used = outcome.get(result!(pedal_travel_used))?;
    (used > 0.0).then(|| point / used)
}

/// How much more of the pedal's travel is left once the disc is free than the least that should be, as a
/// share of the travel, for the cures of others.
pub fn bite_to_spare(cx: &Context<'_>, outcome: &Outcome) -> Option<f64> {
    Some(1.0 - share(outcome)? - LOW.limit("left", cx.settings)?)
}

fn percent(share: f64) -> String {
    format!("{:.0} %", share * 100.0)
}

fn low(cx: &Context<'_>, out: &mut Found) {
    let (Some(share_before), Some(least)) = (share(cx.outcome), cx.limit("left")) else {
        return;
    };
    let left = 1.0 - share_before;
    let (Some(point), Some(used)) = (
        cx.get(result!(release_point)),
        cx.get(result!(pedal_travel_used)),
    ) else {
        return;
    };
    if left >= least || cx.is_author_limited(result!(release_point), true) {
        return;
    }
    if out.noted(cx.finger_travel_field().block) {
        return;
    }
    let message = format!(
        "the disc comes free at {} of {} of pedal: {} ({}) are left for heat, air and wear, and \
         with that gone the clutch drags",
        cx.length(point),
        cx.length(used),
        cx.length(used - point),
        percent(left),
    );
    let problem = cx.problem(cx.finger_travel_field(), message).related(
        cx.place(field!(cover.release_travel)),
        "the cover's window begins here",
    );
    let problem = problem.short_by(point - (1.0 - least) * used, result!(release_point));
    let effort = cx.get(result!(pedal_effort)).unwrap_or_default().max(
        heavy_pedal::CHECK
            .limit("effort", cx.settings)
            .unwrap_or_default(),
    );
    let margin = |outcome: &Outcome| {
        let light = effort - outcome.get(result!(pedal_effort))?;
        let left = 1.0 - share(outcome)? - least;
        Some(if light < 0.0 { light } else { left })
    };
    out.push(
        cure(
            cx,
            problem,
            &Goal {
                result: result!(release_point),
                margin: &margin,
            },
        )
        .or_else(
            "no single change mends it and keeps the pedal light: take up free play, stiffen what \
             flexes, or give the pedal more travel",
        ),
    );
}

fn high(cx: &Context<'_>, out: &mut Found) {
    let (Some(before), Some(least), Some(point), Some(used)) = (
        share(cx.outcome),
        cx.limit("before"),
        cx.get(result!(release_point)),
        cx.get(result!(pedal_travel_used)),
    ) else {
        return;
    };
    if before >= least || cx.is_author_limited(result!(release_point), false) {
        return;
    }
    if out.noted(cx.driver_field().block) {
        return;
    }
    let message = format!(
        "the disc is free at {} of {} of pedal already, {} of the way: the rest does nothing, \
         and the foot must come nearly all the way up before the car moves",
        cx.length(point),
        cx.length(used),
        percent(before),
    );
    let problem = cx.problem(cx.driver_field(), message).related(
        cx.place(field!(cover.release_travel)),
        "the cover's window begins here",
    );
    let problem = problem.short_by(least * used - point, result!(release_point));
    let margin =
        |outcome: &Outcome| Some((share(outcome)? - least).min(bite_to_spare(cx, outcome)?));
    out.push(
        cure(
            cx,
            problem,
            &Goal {
                result: result!(release_point),
                margin: &margin,
            },
        )
        .or_else("a greater pedal ratio makes it bite later and lighter"),
    );
}
