//! A ratio outside the usual range.

use super::{Check, Context, Example, Found, Limit, Run};
use crate::check_id::CheckId;
use crate::finding::{Problem, Severity};
use crate::mechanics::SlaveBore;
use crate::quantity::Dimension;
use crate::schema::{COMMON, FieldId, ResultId};
use crate::{block, field, result};

const fn limit(name: &'static str, value: f64, what: &'static str) -> Limit {
    Limit {
        name,
        value,
        dimension: Dimension::NUMBER,
        what,
        source: COMMON,
    }
}

pub const CHECK: Check = Check {
    id: CheckId::OddRatio,
    severity: Severity::Warning,
    finds: "The pedal, the cylinders or the fork have a ratio that is seldom built.",
    why: "Something was measured at the wrong place, or the pedal comes out far too heavy or too long.",
    limits: &[
        limit("pedal-least", 3.0, "least pedal ratio"),
        limit("pedal-most", 8.0, "greatest pedal ratio"),
        limit("hydraulic-least", 0.6, "least slave area over master area"),
        limit(
            "hydraulic-most",
            2.5,
            "greatest slave area over master area",
        ),
        limit("fork-least", 1.0, "least fork ratio"),
        limit("fork-most", 3.0, "greatest fork ratio"),
    ],
    source: COMMON,
    bad: Example::System(
        "fork { slave_arm = 60 mm  bearing_arm = 62 mm }\nslave { bore = 1 1/8 in }",
    ),
    good: Example::System(
        "fork { slave_arm = 68 mm  bearing_arm = 62 mm }\nslave { bore = 1 1/8 in }",
    ),
    run: Run::Outcome(run),
};

fn run(cx: &Context<'_>, out: &mut Found) {
    let given = |field: FieldId| cx.system.given_number(field);
    let between = |least: f64, most: f64| format!("{} to {}", cx.length(least), cx.length(most));
    if let Some((ratio, least, most)) =
        outside(cx, result!(pedal_ratio), ["pedal-least", "pedal-most"])
        && !out.noted(block!(pedal))
    {
        let (pad_arm, rod_arm) = (field!(pedal.pad_arm), field!(pedal.rod_arm));
        let (field, help) = match given(pad_arm) {
            Some(arm) if given(rod_arm).is_some() => (
                rod_arm,
                format!(
                    "with this pad arm, rod arms are usually {}; both count from the pivot",
                    between(arm / most, arm / least)
                ),
            ),
            _ => (
                field!(pedal.ratio),
                "divide pad travel by rod travel, both measured over the same press".to_owned(),
            ),
        };
        let effect = if ratio > most {
            "it is light, but moves the master little"
        } else {
            "it moves the master far, but is heavy"
        };
        out.push(problem(
            cx,
            field,
            "a pedal ratio",
            (ratio, least, most),
            effect,
            &help,
        ));
    }
    if let Some((ratio, least, most)) = outside(
        cx,
        result!(hydraulic_ratio),
        ["hydraulic-least", "hydraulic-most"],
    ) && !out.noted(block!(master))
    {
        let effect = if ratio > most {
            "it is light, but the slave moves little"
        } else {
            "the slave moves far, but the pedal is heavy"
        };
        let help = match cx.outcome.hydraulics().map(|h| &h.slave.bore) {
            Some(&SlaveBore::Round(bore)) => format!(
                "with this slave, masters are usually {}; a master smaller than the slave eases \
                 the pedal",
                between(bore / most.sqrt(), bore / least.sqrt())
            ),
            _ => "check both bores; of the slave's, only the ring counts that the fluid works on"
                .to_owned(),
        };
        out.push(problem(
            cx,
            field!(master.bore),
            "slave area over master area",
            (ratio, least, most),
            effect,
            &help,
        ));
    }
    // A concentric slave has no fork, and its ratio of 1 is not odd.
    let forked = cx.system.component(block!(fork)).is_some();
    let fork = outside(cx, result!(fork_ratio), ["fork-least", "fork-most"]).filter(|_| forked);
    if let Some((ratio, least, most)) = fork
        && !out.noted(block!(fork))
    {
        let (slave_arm, bearing_arm) = (field!(fork.slave_arm), field!(fork.bearing_arm));
        let (field, help) = match given(slave_arm) {
            Some(arm) if given(bearing_arm).is_some() => (
                bearing_arm,
                format!(
                    "with this slave arm, the bearing arm is usually {}; measure both from the pivot",
                    between(arm / most, arm / least)
                ),
            ),
            _ => (
                field!(fork.ratio),
                "divide the outer end's travel by the bearing's".to_owned(),
            ),
        };
        let effect = if ratio > most {
            "it is light, but the bearing moves little"
        } else {
            "the bearing moves far, but the slave must push hard"
        };
        out.push(problem(
            cx,
            field,
            "a fork ratio",
            (ratio, least, most),
            effect,
            &help,
        ));
    }
}

/// A ratio with its limits, if it is outside them.
fn outside(cx: &Context<'_>, id: ResultId, [least, most]: [&str; 2]) -> Option<(f64, f64, f64)> {
    let ratio = cx.get(id)?;
    let least = cx.limit(least)?;
    let most = cx.limit(most)?;
    (!(least..=most).contains(&ratio)).then_some((ratio, least, most))
}

fn problem(
    cx: &Context<'_>,
    field: FieldId,
    what: &str,
    (ratio, least, most): (f64, f64, f64),
    effect: &str,
    help: &str,
) -> Problem {
    let show = |value| cx.show(value, Dimension::NUMBER);
    cx.problem(
        field,
        format!(
            "{what} of {} is seldom built; usual is {} to {}: {effect}",
            show(ratio),
            show(least),
            show(most)
        ),
    )
    .short_by((ratio - most).max(least - ratio), Dimension::NUMBER)
    .help(help)
}
