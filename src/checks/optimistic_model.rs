//! Losses that the spec leaves out and that could use up the release margin.

use super::{Check, Context, Example, Limit, Run};
use crate::field;
use crate::finding::{Place, Problem, Severity};
use crate::mechanics::{Chain, Outcome, Wall};
use crate::quantity::Dimension;
use crate::result;
use crate::schema::COMMON;

/// 1 cc per foot at 1000 psi, in mm³ per mm and MPa.
const CC_PER_FOOT_AT_1000_PSI: f64 = 1000.0 / (12.0 * 25.4) / 6.894_757_293_168_361;
const HOSES: &str = "49 CFR 571.106, Table I, regular expansion at 1000 psi, from memory";

pub const CHECK: Check = Check {
    name: "optimistic-model",
    severity: Severity::Info,
    finds: "Losses that the spec says nothing of could use up the release margin.",
    why: "The clutch frees on paper and drags in the car.",
    limits: &[
        Limit {
            name: "narrow-hose",
            value: 0.66 * CC_PER_FOOT_AT_1000_PSI,
            dimension: Dimension::EXPANSION,
            what: "expansion of a hose of about 1/8 in that swells much",
            source: HOSES,
        },
        Limit {
            name: "middling-hose",
            value: 0.86 * CC_PER_FOOT_AT_1000_PSI,
            dimension: Dimension::EXPANSION,
            what: "expansion of a hose of about 3/16 in that swells much",
            source: HOSES,
        },
        Limit {
            name: "wide-hose",
            value: 1.04 * CC_PER_FOOT_AT_1000_PSI,
            dimension: Dimension::EXPANSION,
            what: "expansion of a hose of 1/4 in or more that swells much",
            source: HOSES,
        },
        Limit {
            name: "mount",
            value: 300.0,
            dimension: Dimension::STIFFNESS,
            what: "stiffness of a soft bulkhead under the master",
            source: COMMON,
        },
        Limit {
            name: "fork",
            value: 500.0,
            dimension: Dimension::STIFFNESS,
            what: "stiffness of a soft fork at its outer end",
            source: COMMON,
        },
        Limit {
            name: "fluid",
            value: 1000.0,
            dimension: Dimension::PRESSURE,
            what: "bulk modulus of a fluid with some air dissolved in it",
            source: COMMON,
        },
    ],
    source: COMMON,
    bad: Example::File(
        "system plain {
    pedal { pad_arm = 300 mm  rod_arm = 50 mm  travel = 150 mm }
    master { bore = 3/4 in  stroke = 36 mm }
    line all { bore = 3.2 mm  length = 900 mm }
    slave { bore = 7/8 in  stroke = 30 mm }
    fork { slave_arm = 112 mm  bearing_arm = 68 mm }
    cover { release_travel = 8.5 mm to 12 mm  release_load = 1500 N }
}
",
    ),
    good: Example::File(
        "system plain {
    pedal { pad_arm = 300 mm  rod_arm = 50 mm  travel = 150 mm }
    master { bore = 3/4 in  stroke = 36 mm  mount_stiffness = 900 N/mm }
    line all { bore = 3.2 mm  length = 900 mm  wall = 0.7 mm }
    slave { bore = 7/8 in  stroke = 30 mm }
    fluid { bulk_modulus = 1.6 GPa }
    fork { slave_arm = 112 mm  bearing_arm = 68 mm  stiffness = 1200 N/mm }
    cover { release_travel = 8.5 mm to 12 mm  release_load = 1500 N }
}
",
    ),
    run: Run::Outcome(run),
};

/// A loss that the spec leaves out.
struct Omitted {
    /// The field that would say it.
    path: &'static str,
    /// What the field is said to be in a pessimistic moment.
    assumed: String,
    place: Place,
    kind: Kind,
    /// What of the release margin it would take by itself, mm.
    takes: f64,
}

#[derive(Clone, Copy)]
enum Kind {
    Line { index: usize, expansion: f64 },
    Fork(f64),
    Mount(f64),
    Fluid(f64),
}

impl Kind {
    fn lay_into(self, chain: &mut Chain) {
        match self {
            Self::Line { index, expansion } => {
                chain.change_hydraulics(|h| {
                    if let Some(line) = h.lines.get_mut(index) {
                        line.wall = Wall::Hose { expansion };
                    }
                });
            }
            Self::Fork(stiffness) => chain.fork.stiffness = Some(stiffness),
            Self::Mount(stiffness) => {
                chain.change_hydraulics(|h| h.master.mount_stiffness = Some(stiffness));
            }
            Self::Fluid(modulus) => {
                chain.change_hydraulics(|h| h.fluid.bulk_modulus = Some(modulus));
            }
        }
    }
}

fn run(cx: &Context<'_>, out: &mut Vec<Problem>) {
    let Some(margin) = cx.get(result!(release_margin)).filter(|m| *m >= 0.0) else {
        return;
    };
    let Some(mut omitted) = omitted(cx, margin) else {
        return;
    };
    omitted.sort_by(|a, b| b.takes.total_cmp(&a.takes));
    // The fewest that together use up the margin, the greatest first.
    let enough = (1..=omitted.len()).find_map(|count| {
        let kinds = omitted.iter().take(count).map(|loss| loss.kind);
        let outcome = cx.what_if(|chain| kinds.for_each(|kind| kind.lay_into(chain)))?;
        let left = margin_of(&outcome)?;
        (left < 0.0).then_some((count, left))
    });
    let Some((count, left)) = enough else {
        return;
    };
    omitted.truncate(count);
    let assumed: Vec<&str> = omitted.iter().map(|loss| loss.assumed.as_str()).collect();
    let mut paths: Vec<&str> = Vec::new();
    for loss in &omitted {
        if !paths.contains(&loss.path) {
            paths.push(loss.path);
        }
    }
    let message = format!(
        "the release margin of {} takes for rigid what the spec says nothing of: with {} it \
         would be {}, and the disc would drag",
        cx.length(margin),
        listed(&assumed),
        cx.length(left),
    );
    let mut problem = cx
        .problem_of_system(message)
        .help(format!("measure or look up {}", listed(&paths)));
    for loss in &omitted {
        problem = problem.related(
            loss.place.clone(),
            format!(
                "without {}; it may take {}",
                loss.path,
                cx.length(loss.takes)
            ),
        );
    }
    out.push(problem);
}

/// `a, b and c`.
fn listed(items: &[&str]) -> String {
    match items {
        [] => String::new(),
        [one] => (*one).to_owned(),
        [some @ .., last] => format!("{} and {last}", some.join(", ")),
    }
}

fn margin_of(outcome: &Outcome) -> Option<f64> {
    outcome.get(result!(release_margin))
}

fn omitted(cx: &Context<'_>, margin: f64) -> Option<Vec<Omitted>> {
    let mut omitted = Vec::new();
    let mut add = |path, assumed, place, kind: Kind| {
        let outcome = cx.what_if(|chain| kind.lay_into(chain));
        if let Some(left) = outcome.as_ref().and_then(margin_of) {
            omitted.push(Omitted {
                path,
                assumed,
                place,
                kind,
                takes: margin - left,
            });
        }
    };
    let hydraulics = cx.outcome.hydraulics();
    let lines = hydraulics.map_or(&[][..], |h| &h.lines);
    for (index, (line, component)) in lines.iter().zip(&cx.system.lines).enumerate() {
        if line.wall != Wall::Rigid {
            continue;
        }
        let expansion = cx.limit(match line.bore {
            // Half way between the sizes of the table.
            bore if bore < 4.0 => "narrow-hose",
            bore if bore < 5.5 => "middling-hose",
            _ => "wide-hose",
        })?;
        add(
            "line.expansion or line.wall",
            match &component.label {
                Some(label) => format!("a soft hose for the line `{label}`"),
                None => "a soft hose for the line".to_owned(),
            },
            component.place.clone(),
            Kind::Line { index, expansion },
        );
    }
    if cx.system.component(crate::block!(fork)).is_some()
        && cx.outcome.chain.fork.stiffness.is_none()
    {
        let stiffness = cx.limit("fork")?;
        add(
            "fork.stiffness",
            format!("a fork of {}", cx.show(stiffness, Dimension::STIFFNESS)),
            cx.system.place_of(field!(fork.stiffness)),
            Kind::Fork(stiffness),
        );
    }
    if hydraulics.is_some_and(|h| h.master.mount_stiffness.is_none()) {
        let stiffness = cx.limit("mount")?;
        add(
            "master.mount_stiffness",
            format!("a bulkhead of {}", cx.show(stiffness, Dimension::STIFFNESS)),
            cx.system.place_of(field!(master.mount_stiffness)),
            Kind::Mount(stiffness),
        );
    }
    if hydraulics.is_some_and(|h| h.fluid.bulk_modulus.is_none()) {
        let modulus = cx.limit("fluid")?;
        add(
            "fluid.bulk_modulus",
            format!("a fluid of {}", cx.show(modulus, Dimension::PRESSURE)),
            cx.system.place_of(field!(fluid.bulk_modulus)),
            Kind::Fluid(modulus),
        );
    }
    Some(omitted)
}
