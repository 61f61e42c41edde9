//! Too much of the stroke is lost to swelling lines.

use super::context::problem_of_component;
use super::{Check, Context, Example, Found, Goal, Limit, Run};
use crate::check_id::CheckId;
use crate::finding::Severity;
use crate::mechanics::Wall;
use crate::quantity::Dimension;
use crate::schema::COMMON;
use crate::solve::Outcome;
use crate::{block, field, result};

pub const CHECK: Check = Check {
    id: CheckId::HoseGives,
    severity: Severity::Warning,
    finds: "Hoses and tubes swell by a large share of what the master sends.",
    why: "The pedal feels like a spring, and the disc comes free late and later still on a hot day.",
    limits: &[Limit {
        name: "share",
        value: 0.1,
        dimension: Dimension::NUMBER,
        what: "most of the ideal slave travel that may be lost to the lines",
        source: COMMON,
    }],
    source: COMMON,
    bad: Example::System(
        "line flex { length = 900 mm  expansion = 1.1 cc/ft / 1000 psi }
cover { release_travel = 6 mm to 11 mm }",
    ),
    good: Example::System(
        "line flex { length = 900 mm  expansion = 0.33 cc/ft / 1000 psi }
cover { release_travel = 6 mm to 11 mm }",
    ),
    run: Run::Outcome(run),
};

/// Share of the ideal slave travel that is lost to the lines.
fn lost_share(outcome: &Outcome) -> Option<f64> {
    let lost = outcome.get(result!(lost_hose))?;
    let ideal = outcome.get(result!(slave_travel_ideal))?;
    (ideal > 0.0).then(|| lost / ideal)
}

fn run(cx: &Context<'_>, out: &mut Found) {
    let (Some(share), Some(most), Some(lost), Some(ideal), Some(pressure)) = (
        lost_share(cx.outcome),
        cx.limit("share"),
        cx.get(result!(lost_hose)),
        cx.get(result!(slave_travel_ideal)),
        cx.get(result!(line_pressure)),
    ) else {
        return;
    };
    if share <= most {
        return;
    }
    let Some(hydraulics) = cx.outcome.hydraulics() else {
        return;
    };
    let lines = &hydraulics.lines;
    let swelling = lines
        .iter()
        .map(|line| line.expansion().volume(pressure))
        .enumerate();
    let Some((softest, _)) = swelling.max_by(|a, b| a.1.total_cmp(&b.1)) else {
        return;
    };
    let (Some(line), Some(component)) = (lines.get(softest), cx.system.lines.get(softest)) else {
        return;
    };
    if out.noted(block!(line)) {
        return;
    }
    let message = format!(
        "the lines swell and cost the slave {} of its {}, {:.0} %: the pedal feels like a spring and the disc comes free \
         late. This line swells most",
        cx.length(lost),
        cx.length(ideal),
        share * 100.0,
    );
    let field = match line.wall {
        Wall::Hose { .. } => field!(line.expansion),
        Wall::Tube { .. } | Wall::Rigid => field!(line.wall),
    };
    let length = component.given(field!(line.length));
    let problem = problem_of_component(CHECK.id, cx.system, component, field, message).related(
        length.map_or_else(|| component.place.clone(), |given| given.place.clone()),
        "the length that swells",
    );
    let problem = problem.short_by(lost - most * ideal, result!(lost_hose));
    let margin = move |outcome: &Outcome| Some(most - lost_share(outcome)?);
    out.push_curable(
        problem,
        Goal::new(result!(lost_hose), margin),
        "use firmer or shorter hoses, and hard line for the rest of the way",
    );
}
