//! Too much of the stroke goes into swelling the lines.

use super::context::problem_of_component;
use super::cure::{Cures, last_good};
use super::edit::edit_in;
use super::sizes::{rounded_down, written};
use super::{Check, Context, Example, Found, Limit, Run};
use crate::finding::Severity;
use crate::mechanics::{Chain, Outcome, Wall};
use crate::quantity::{Dimension, UnitExpr};
use crate::schema::COMMON;
use crate::{block, field, result};

pub const CHECK: Check = Check {
    name: "hose-gives",
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
        "the lines swell by {} of the {} that the slave should move, {:.0} %, and this one \
         swells most: the pedal feels like a spring and the disc comes free late",
        cx.length(lost),
        cx.length(ideal),
        share * 100.0,
    );
    let Wall::Hose { expansion } = line.wall else {
        out.push(
            problem_of_component(CHECK.name, cx.system, component, field!(line.wall), message)
                .short_by(lost - most * ideal, result!(lost_hose))
                .help("use a tube of thicker wall or stiffer material, or a shorter one"),
        );
        return;
    };
    let field = field!(line.expansion);
    let problem = problem_of_component(CHECK.name, cx.system, component, field, message).related(
        component
            .given(field!(line.length))
            .map_or_else(|| component.place.clone(), |given| given.place.clone()),
        "it swells by this much of length",
    );
    let problem = problem.short_by(lost - most * ideal, result!(lost_hose));
    let lay_in = |chain: &mut Chain, expansion: f64| {
        chain.change_hydraulics(|h| {
            if let Some(line) = h.lines.get_mut(softest) {
                line.wall = Wall::Hose { expansion };
            }
        });
    };
    let is_firm = |outcome: &Outcome| lost_share(outcome).is_some_and(|share| share <= most);
    let best = last_good(0.0, expansion, |expansion| {
        cx.what_if(|chain| lay_in(chain, expansion))
            .is_some_and(|outcome| is_firm(&outcome))
    });
    // Hoses are sold by the cc that a foot of them gains at 1000 psi.
    let per_foot = UnitExpr::parse("cc/ft").ok();
    let thousand_psi = UnitExpr::parse("psi").map_or(1.0, |psi| psi.inward(1000.0));
    let value = rounded_down(best * thousand_psi, per_foot.as_ref(), false);
    let text = format!("{} / 1000 psi", written(value, per_foot.as_ref()));
    out.push(
        Cures::of(cx, problem, &is_firm)
            .edit(
                edit_in(component, field, &text),
                &format!("use a hose of {text} or less"),
                |chain| lay_in(chain, value / thousand_psi),
            )
            .or_else("use firmer or shorter hoses, and tube for the rest of the way"),
    );
}
