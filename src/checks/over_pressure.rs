//! More pressure than a part may carry.

use super::context::problem_of_component;
use super::cure::Cures;
use super::{Check, Context, Example, Found, Run};
use crate::finding::Severity;
use crate::mechanics::Outcome;
use crate::model::{Component, System};
use crate::schema::{COMMON, FieldId};
use crate::{block, field, result};

pub const CHECK: Check = Check {
    name: "over-pressure",
    severity: Severity::Error,
    finds: "The pressure on the way down is above what the weakest of master, slave and lines may carry.",
    why: "A hose bursts or a seal turns over, and there is no clutch from one moment to the next.",
    limits: &[],
    source: COMMON,
    bad: Example::System("slave { bore = 7/8 in  max_pressure = 2.4 MPa }"),
    good: Example::System("slave { bore = 7/8 in  max_pressure = 7 MPa }"),
    run: Run::Outcome(run),
};

/// The part that may carry the least, with its field and what that says.
pub fn least(system: &System) -> Option<(&Component, FieldId, f64)> {
    let single = [
        (block!(master), field!(master.max_pressure)),
        (block!(slave), field!(slave.max_pressure)),
    ];
    let singles = single
        .into_iter()
        .filter_map(|(block, field)| Some((system.component(block)?, field)));
    let lines = system
        .lines
        .iter()
        .map(|line| (line, field!(line.max_pressure)));
    singles
        .chain(lines)
        .filter_map(|(part, field)| Some((part, field, part.number(field)?)))
        .min_by(|a, b| a.2.total_cmp(&b.2))
}

/// A part with a rating, as a message names it.
pub fn name_of(part: &Component, field: FieldId) -> String {
    match &part.label {
        Some(label) => format!("the line `{label}`"),
        None => format!("the {}", field.block().name),
    }
}

fn run(cx: &Context<'_>, out: &mut Found) {
    let (Some(pressure), Some((part, field, most))) =
        (cx.get(result!(line_pressure)), least(cx.system))
    else {
        return;
    };
    if pressure <= most {
        return;
    }
    if out.noted(field.block) {
        return;
    }
    let name = name_of(part, field);
    let message = format!(
        "the pressure reaches {}, and {name} may carry {}: it leaks or bursts, and the clutch \
         is gone from one moment to the next",
        cx.pressure(pressure),
        cx.pressure(most),
    );
    let problem = problem_of_component(CHECK.name, cx.system, part, field, message)
        .related(
            cx.place(field!(cover.release_load)),
            "the load that makes the pressure",
        )
        .related(cx.place(cx.driver_field()), "the area that carries it");
    let problem = problem.short_by(pressure - most, result!(line_pressure));
    let carries = |outcome: &Outcome| {
        outcome
            .get(result!(line_pressure))
            .is_some_and(|pressure| pressure <= most)
    };
    let Some(hydraulics) = cx.outcome.hydraulics() else {
        return;
    };
    let area = hydraulics.slave.bore.area() * pressure / most;
    out.push(
        Cures::of(cx, problem, &carries)
            .slave_bore()
            .or_else(format!(
                "no common bore carries it and keeps the rest right (the pressure alone wants a \
                 slave of {}): use parts for {} or more",
                cx.length((area / std::f64::consts::FRAC_PI_4).sqrt()),
                cx.pressure(pressure),
            )),
    );
}
