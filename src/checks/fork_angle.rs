//! How far the release fork is from square on its pivot.

use super::limits::FORK;
use super::{Check, Context, Example, Found, Goal, Run};
use crate::check_id::CheckId;
use crate::finding::{Problem, Severity};
use crate::mechanics::ForkStack;
use crate::quantity::Dimension;
use crate::schema::COMMON;
use crate::solve::window_edges;
use crate::{block, field, result};

pub const CHECK: Check = Check {
    id: CheckId::ForkAngle,
    severity: Severity::Warning,
    finds: "The release fork stands further off square than it should, on a worn disc or at full pedal.",
    why: "Its tips slide across the bearing and wear, the rod leans, and the fork may leave its ball.",
    limits: &[FORK],
    source: COMMON,
    bad: Example::System(
        "bellhousing { depth = 165 mm  adapter = 6 mm }
    bearing { length = 38 mm }
    fork { pivot_height = 42 mm }
    cover { finger_height = 83 mm  finger_ratio = 3.4 }",
    ),
    good: Example::System(
        "bellhousing { depth = 165 mm  adapter = 6 mm }
    bearing { length = 38 mm }
    fork { pivot_height = 50 mm }
    cover { finger_height = 83 mm  finger_ratio = 3.4 }",
    ),
    run: Run::Outcome(run),
};

fn run(cx: &Context<'_>, out: &mut Found) {
    let (Some(lean), Some(most)) = (cx.get(result!(fork_lean)), cx.bound(result!(fork_lean)))
    else {
        return;
    };
    let Some(stack) = cx.outcome.side_inputs.fork_stack else {
        return;
    };
    if lean <= most || out.noted(block!(fork)) {
        return;
    }
    let show = |angle: f64| cx.show(angle, Dimension::ANGLE);
    let is_full = cx.get(result!(fork_angle_full)).map(f64::abs) == Some(lean);
    let limit = match cx.system.given(field!(fork.max_angle)) {
        Some(_) => "`fork.max_angle`".to_owned(),
        None => cx.source_of(FORK.name),
    };
    let message = format!(
        "the fork stands {} off square {}, {} more than the limit of {} ({limit}): its tips slide on the bearing, and \
         the rod leans",
        show(lean),
        if is_full {
            "at full pedal"
        } else {
            "on a worn disc"
        },
        show(lean - most),
        show(most),
    );
    let otherwise = shim(cx, &stack).unwrap_or_else(|| "use another pivot or bearing".to_owned());
    let problem = stack_beside(cx, cx.problem(field!(fork.pivot_height), message));
    out.push_curable(
        problem,
        Goal::within_bound(cx, result!(fork_lean)),
        otherwise,
    );
}

/// The shim that makes the fork square in the middle of its use, and whether its outer end then still fits its
/// window.
fn shim(cx: &Context<'_>, stack: &ForkStack) -> Option<String> {
    let shim = cx.get(result!(pivot_shim))?;
    let shimmed = stack.on_shim(shim);
    let rest = cx.get(result!(fork_tip_position))?;
    let [worn, full] = ends_of_use(cx, stack, rest)?;
    let [worn_angle, full_angle] = [shimmed.angle(worn)?, shimmed.angle(full)?];
    let way = match shim < 0.0 {
        true => "fit a shorter pivot, or take washers out, to lower it by",
        false => "fit a longer pivot, or a shim, to raise it by",
    };
    let cure = format!(
        "{way} {}: the fork then stands {} to {} off square",
        cx.length(shim.abs()),
        cx.show(worn_angle, Dimension::ANGLE),
        cx.show(full_angle, Dimension::ANGLE),
    );
    Some(
        match no_longer_fits(cx, &shimmed, [worn_angle, full_angle]) {
            None => cure,
            Some(fouls) => format!("{cure}. {fouls}"),
        },
    )
}

/// Where the tips are on a worn disc and at full pedal, mm. The shim is for the place halfway between.
fn ends_of_use(cx: &Context<'_>, stack: &ForkStack, rest: f64) -> Option<[f64; 2]> {
    let travel = cx.get(result!(bearing_travel))?;
    let full = rest + stack.tips_at(travel) - stack.tips;
    let middle = cx.get(result!(pivot_shim))? + stack.tip_offset + stack.pivot_height;
    Some([2.0 * middle - full, full])
}

/// The place of the outer end on the shim, if that is outside its window.
fn no_longer_fits(cx: &Context<'_>, shimmed: &ForkStack, angles: [f64; 2]) -> Option<String> {
    window_edges(shimmed)?;
    let [a, b] = [shimmed.end(angles[0])?, shimmed.end(angles[1])?];
    let given = |field| cx.system.given_number(field);
    let rear = given(field!(fork.window_rear));
    let front = given(field!(fork.window_front));
    let (back, ahead) = (a.min(b), a.max(b));
    let fits = rear.is_none_or(|edge| back >= edge) && front.is_none_or(|edge| ahead <= edge);
    if fits {
        return None;
    }
    let window = match (rear, front) {
        (Some(rear), Some(front)) => {
            format!("from {} to {}", cx.length(rear), cx.length(front))
        }
        (Some(rear), None) => format!("from {} on", cx.length(rear)),
        (None, Some(front)) => format!("up to {}", cx.length(front)),
        (None, None) => return None,
    };
    Some(format!(
        "But its outer end then stands {} to {} from the gearbox's face, and no longer fits its opening, which goes \
         {window}: the opening must move as well, or the fork be another",
        cx.length(back),
        cx.length(ahead)
    ))
}

/// Shows the other parts of the stack beside a problem.
pub fn stack_beside(cx: &Context<'_>, problem: Problem) -> Problem {
    let problem = cx.beside(problem, field!(bearing.length), "the bearing's length");
    let problem = cx.beside(problem, field!(bellhousing.depth), "the housing's depth");
    cx.beside(
        problem,
        field!(cover.finger_height),
        "where the fingers stand",
    )
}
