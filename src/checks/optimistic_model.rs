//! Losses that the spec leaves out and that could use up the release margin.

use super::{Check, Context, Example, Found, Limit, Run};
use crate::check_id::CheckId;
use crate::field;
use crate::finding::{Place, Severity};
use crate::mechanics::{Actuation, Chain, Wall};
use crate::quantity::{Dimension, listed};
use crate::result;
use crate::schema::COMMON;

/// 1 cc per foot at 1000 psi, in mm³ per mm and MPa.
const CC_PER_FOOT_AT_1000_PSI: f64 = 1000.0 / (12.0 * 25.4) / 6.894_757_293_168_361;
const HOSES: &str = "49 CFR 571.106, Table I, regular expansion at 1000 psi, from memory";

pub const CHECK: Check = Check {
    id: CheckId::OptimisticModel,
    severity: Severity::Info,
    finds: "Losses that the spec does not give could use up the release margin.",
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
            what: "stiffness of a soft firewall under the master",
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
            name: "bracket",
            value: 400.0,
            dimension: Dimension::STIFFNESS,
            what: "stiffness of a soft bracket under the slave",
            source: COMMON,
        },
        Limit {
            name: "fluid",
            value: 1000.0,
            dimension: Dimension::PRESSURE,
            what: "bulk modulus of a fluid with a little free air in it",
            source: COMMON,
        },
        Limit {
            name: "free-play",
            value: 15.0,
            dimension: Dimension::LENGTH,
            what: "free play at the pad, at its most",
            source: "5 to 15 mm: service manuals of five cars with a hydraulic clutch, 2002 to 2006",
        },
        Limit {
            name: "cable",
            value: 100.0,
            dimension: Dimension::STIFFNESS,
            what: "stiffness of a soft cable in its sheath",
            source: COMMON,
        },
        Limit {
            name: "linkage",
            value: 300.0,
            dimension: Dimension::STIFFNESS,
            what: "stiffness of a soft cross-shaft and its rods, at the pedal's rod",
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
    pedal { pad_arm = 300 mm  rod_arm = 50 mm  travel = 150 mm  free_play = 0 mm }
    master { bore = 3/4 in  stroke = 36 mm  mount_stiffness = 900 N/mm  rod = captive }
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
#[derive(Clone, Copy)]
struct Omitted {
    kind: Kind,
    /// The release margin that would remain with this loss alone, mm.
    left: f64,
}

/// The kind of loss, and its size on a pessimistic assumption.
#[derive(Clone, Copy)]
enum Kind {
    Line { index: usize, expansion: f64 },
    Fork(f64),
    Mount(f64),
    Bracket(f64),
    Fluid(f64),
    FreePlay(f64),
    Cable(f64),
    Linkage(f64),
}

impl Kind {
    /// The field that would give it.
    fn path(self) -> &'static str {
        match self {
            Self::Line { .. } => "line.expansion or line.wall",
            Self::Fork(_) => "fork.stiffness",
            Self::Mount(_) => "master.mount_stiffness",
            Self::Bracket(_) => "slave.mount_stiffness",
            Self::Fluid(_) => "fluid.bulk_modulus",
            Self::FreePlay(_) => "pedal.free_play",
            Self::Cable(_) => "cable.stiffness",
            Self::Linkage(_) => "linkage.stiffness",
        }
    }

    fn assumed(self, cx: &Context<'_>) -> String {
        match self {
            Self::Line { index, .. } => {
                match cx.system.lines.get(index).and_then(|l| l.label.as_ref()) {
                    Some(label) => format!("a soft hose for the line `{label}`"),
                    None => "a soft hose for the line".to_owned(),
                }
            }
            Self::Fork(k) => format!("a fork of {}", cx.show(k, Dimension::STIFFNESS)),
            Self::Mount(k) => format!("a firewall of {}", cx.show(k, Dimension::STIFFNESS)),
            Self::Bracket(k) => {
                format!("a slave's bracket of {}", cx.show(k, Dimension::STIFFNESS))
            }
            Self::Fluid(k) => format!("a fluid of {}", cx.show(k, Dimension::PRESSURE)),
            Self::FreePlay(play) => format!("{} of free play at the pad", cx.length(play)),
            Self::Cable(k) => format!("a cable of {}", cx.show(k, Dimension::STIFFNESS)),
            Self::Linkage(k) => format!("a linkage of {}", cx.show(k, Dimension::STIFFNESS)),
        }
    }

    fn place(self, cx: &Context<'_>) -> Place {
        let field = match self {
            Self::Line { index, .. } => match cx.system.lines.get(index) {
                Some(line) => return line.place.clone(),
                None => field!(line.bore),
            },
            Self::Fork(_) => field!(fork.stiffness),
            Self::Mount(_) => field!(master.mount_stiffness),
            Self::Bracket(_) => field!(slave.mount_stiffness),
            Self::Fluid(_) => field!(fluid.bulk_modulus),
            Self::FreePlay(_) => field!(pedal.free_play),
            Self::Cable(_) => field!(cable.stiffness),
            Self::Linkage(_) => field!(linkage.stiffness),
        };
        cx.system.place_of(field)
    }

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
            Self::Bracket(stiffness) => {
                chain.change_hydraulics(|h| h.slave.mount_stiffness = Some(stiffness));
            }
            Self::Fluid(modulus) => {
                chain.change_hydraulics(|h| h.fluid.bulk_modulus = Some(modulus));
            }
            Self::FreePlay(play) => chain.pedal.free_play = Some(play),
            Self::Cable(stiffness) => {
                if let Actuation::Cable(cable) = &mut chain.actuation {
                    cable.stiffness = Some(stiffness);
                }
            }
            Self::Linkage(stiffness) => {
                if let Actuation::Linkage(linkage) = &mut chain.actuation {
                    linkage.stiffness = Some(stiffness);
                }
            }
        }
    }
}

fn run(cx: &Context<'_>, out: &mut Found) {
    let Some(margin) = cx.get(result!(release_margin)).filter(|m| *m >= 0.0) else {
        return;
    };
    let Some(kinds) = omitted(cx) else {
        return;
    };
    let left_with = |losses: &[Kind]| {
        // The other results are not needed.
        let mut chain = cx.outcome.chain.clone();
        losses.iter().for_each(|loss| loss.lay_into(&mut chain));
        chain.release_margin()
    };
    // Each loss takes from the margin. If all of them together leave some, so do fewer.
    if left_with(&kinds).is_some_and(|left| left >= 0.0) {
        return;
    }
    let alone = |kind: &Kind| {
        let left = left_with(&[*kind])?;
        Some(Omitted { kind: *kind, left })
    };
    let mut omitted: Vec<Omitted> = kinds.iter().filter_map(alone).collect();
    omitted.sort_by(|a, b| a.left.total_cmp(&b.left));
    // The fewest that together use up the margin, the greatest first.
    let enough = (1..=omitted.len()).find_map(|count| {
        let left = match omitted.get(..count)? {
            [alone] => alone.left,
            several => left_with(&several.iter().map(|loss| loss.kind).collect::<Vec<_>>())?,
        };
        (left < 0.0).then_some((count, left))
    });
    let Some((count, left)) = enough else {
        return;
    };
    if out.noted(None) {
        return;
    }
    omitted.truncate(count);
    let assumed: Vec<String> = omitted.iter().map(|loss| loss.kind.assumed(cx)).collect();
    let assumed: Vec<&str> = assumed.iter().map(String::as_str).collect();
    let mut paths: Vec<&str> = Vec::new();
    for loss in &omitted {
        let path = loss.kind.path();
        if !paths.contains(&path) {
            paths.push(path);
        }
    }
    let message = format!(
        "the disc may drag: the release margin of {} falls to {} with {}, losses that the spec does not give",
        cx.length(margin),
        cx.length(left),
        listed(&assumed, " and "),
    );
    let mut problem = cx
        .problem_of_system(message)
        .help(format!("measure or look up {}", listed(&paths, " and ")));
    for loss in &omitted {
        problem = problem.related(
            loss.kind.place(cx),
            format!(
                "without {}; it may take {}",
                loss.kind.path(),
                cx.length(margin - loss.left)
            ),
        );
    }
    out.push(problem);
}

/// What is left out; `None` where a limit is not known.
fn omitted(cx: &Context<'_>) -> Option<Vec<Kind>> {
    let mut omitted = Vec::new();
    let hydraulics = cx.outcome.hydraulics();
    let lines = hydraulics.map_or(&[][..], |h| &h.lines);
    for (index, line) in lines.iter().enumerate() {
        if line.wall != Wall::Rigid {
            continue;
        }
        let expansion = cx.limit(match line.bore {
            // Half way between the sizes of the table.
            bore if bore < 4.0 => "narrow-hose",
            bore if bore < 5.5 => "middling-hose",
            _ => "wide-hose",
        })?;
        omitted.push(Kind::Line { index, expansion });
    }
    if cx.system.component(crate::block!(fork)).is_some()
        && cx.outcome.chain.fork.stiffness.is_none()
    {
        omitted.push(Kind::Fork(cx.limit("fork")?));
    }
    if hydraulics.is_some_and(|h| h.master.mount_stiffness.is_none()) {
        omitted.push(Kind::Mount(cx.limit("mount")?));
    }
    // One that is bolted to the housing itself has none.
    if cx.system.component(crate::block!(bracket)).is_some()
        && cx.system.component(crate::block!(fork)).is_some()
        && hydraulics.is_some_and(|h| h.slave.mount_stiffness.is_none())
    {
        omitted.push(Kind::Bracket(cx.limit("bracket")?));
    }
    if hydraulics.is_some_and(|h| h.fluid.bulk_modulus.is_none()) {
        omitted.push(Kind::Fluid(cx.limit("fluid")?));
    }
    let is_given = |field| cx.system.given(field).is_some();
    if hydraulics.is_some()
        && !is_given(field!(pedal.free_play))
        && !is_given(field!(master.rod_clearance))
    {
        omitted.push(Kind::FreePlay(cx.limit("free-play")?));
    }
    match &cx.outcome.chain.actuation {
        Actuation::Cable(cable) if cable.stiffness.is_none() => {
            omitted.push(Kind::Cable(cx.limit("cable")?));
        }
        Actuation::Linkage(linkage) if linkage.stiffness.is_none() => {
            omitted.push(Kind::Linkage(cx.limit("linkage")?));
        }
        _ => {}
    }
    Some(omitted)
}
