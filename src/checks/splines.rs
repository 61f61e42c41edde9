//! Whether the disc's hub is on the input shaft's splines.

use super::{Check, Context, Example, Found, Limit, Run};
use crate::check_id::CheckId;
use crate::finding::{Problem, Severity};
use crate::mechanics::Stretch;
use crate::quantity::Dimension;
use crate::result;
use crate::schema::COMMON;
use crate::{block, field};

pub const MISSED: Check = Check {
    id: CheckId::SplineMissed,
    severity: Severity::Error,
    finds: "The disc's hub does not reach the input shaft's splines.",
    why: "The gearbox goes home, and the engine turns nothing.",
    limits: &[],
    source: COMMON,
    bad: Example::System(
        "bellhousing { depth = 165 mm  adapter = 46 mm }
    gearbox { input_length = 195 mm  spline_start = 36 mm  spline_length = 60 mm }
    flywheel { face = 30 mm }
    disc { outer = 228 mm  inner = 150 mm  friction = 0.3  thickness = 8 mm  hub_offset = 4 mm  hub_length = 26 mm }",
    ),
    good: Example::System(GOOD),
    run: Run::Outcome(missed),
};

pub const SHORT: Check = Check {
    id: CheckId::SplineShort,
    severity: Severity::Warning,
    finds: "Part of the disc's hub stands off the input shaft's splines.",
    why: "The splines that are left carry it all: they wear a step, the disc hangs on it and drags, and in the end they strip.",
    limits: &[Limit {
        name: "off",
        value: 2.0,
        dimension: Dimension::LENGTH,
        what: "how much of the hub may stand off the splines",
        source: COMMON,
    }],
    source: COMMON,
    bad: Example::System(
        "bellhousing { depth = 165 mm  adapter = 36 mm }
    gearbox { input_length = 195 mm  spline_start = 28 mm  spline_length = 60 mm }
    flywheel { face = 30 mm }
    disc { outer = 228 mm  inner = 150 mm  friction = 0.3  thickness = 8 mm  hub_offset = 4 mm  hub_length = 26 mm }",
    ),
    good: Example::System(GOOD),
    run: Run::Outcome(short),
};

const GOOD: &str = "bellhousing { depth = 165 mm  adapter = 6 mm }
    gearbox { input_length = 195 mm  spline_start = 28 mm  spline_length = 60 mm }
    flywheel { face = 30 mm }
    disc { outer = 228 mm  inner = 150 mm  friction = 0.3  thickness = 8 mm  hub_offset = 4 mm  hub_length = 26 mm }";

fn missed(cx: &Context<'_>, out: &mut Found) {
    let engagement = cx.get(result!(spline_engagement));
    let Some(engagement) = engagement.filter(|engagement| *engagement <= 0.0) else {
        return;
    };
    if out.noted(block!(gearbox)) {
        return;
    }
    let message = match engagement < 0.0 {
        true => format!(
            "the disc's hub ends {} short of the input shaft's splines: the disc turns nothing",
            cx.length(-engagement)
        ),
        false => {
            "the disc's hub ends where the input shaft's splines begin: the disc turns nothing"
                .to_owned()
        }
    };
    out.push(problem(cx, message).short_by(-engagement, result!(spline_engagement)));
}

fn short(cx: &Context<'_>, out: &mut Found) {
    let engagement = cx.get(result!(spline_engagement));
    let hub = cx.system.given_number(field!(disc.hub_length));
    let (Some(engagement), Some(hub), Some(most_off)) = (engagement, hub, cx.limit("off")) else {
        return;
    };
    // Splines shorter than the hub can engage only over their own length.
    let wanted = hub - most_off;
    if engagement <= 0.0 || engagement >= wanted || out.noted(block!(gearbox)) {
        return;
    }
    let message = format!(
        "only {} of the hub's {} stand on the input shaft's splines, {} less than wanted: they wear a \
         step, and the disc drags",
        cx.length(engagement),
        cx.length(hub),
        cx.length(wanted - engagement)
    );
    out.push(problem(cx, message).short_by(wanted - engagement, result!(spline_engagement)));
}

/// A problem that shows the fields of both places beside it.
fn problem(cx: &Context<'_>, message: String) -> Problem {
    let problem = cx.problem(field!(gearbox.spline_start), message);
    let problem = match cx.outcome.side_inputs.splines {
        Some((splines, hub)) => problem.help(help(cx, splines, hub)),
        None => problem,
    };
    let problem = cx.beside(problem, field!(flywheel.face), "the flywheel's face");
    cx.beside(problem, field!(disc.hub_offset), "the hub's offset")
}

/// Where both are, and the change that puts the hub on the splines.
fn help(cx: &Context<'_>, splines: Stretch, hub: Stretch) -> String {
    let [in_front, behind] = [splines.front - hub.front, hub.rear - splines.rear];
    let cure = match (in_front > 0.0, behind > 0.0) {
        (true, true) => {
            "use a disc with a shorter hub, or an input shaft with longer splines".to_owned()
        }
        (true, false) => format!(
            "make the adapter {} thinner, or use a disc whose hub stands as much further towards the gearbox",
            cx.length(in_front)
        ),
        _ => format!(
            "make the adapter {} thicker, or use a disc whose hub stands as much further towards the engine",
            cx.length(behind)
        ),
    };
    let from_to = |stretch: Stretch| {
        format!(
            "{} to {}",
            cx.length(stretch.front),
            cx.length(stretch.rear)
        )
    };
    format!(
        "behind the engine's face the splines go from {}, the hub from {}: {cure}",
        from_to(splines),
        from_to(hub)
    )
}
