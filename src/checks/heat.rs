//! What heat does to a clutch that is right when cold.

use super::{Check, Context, Example, Found, Goal, Limit, Run};
use crate::check_id::CheckId;
use crate::finding::Severity;
use crate::mechanics::Grade;
use crate::quantity::Dimension;
use crate::schema::{COMMON, FieldId};
use crate::solve::{Outcome, grade, may_need_gap};
use crate::{block, field, result};

pub const PORT_SHUT: Check = Check {
    id: CheckId::PortShut,
    severity: Severity::Warning,
    finds: "The pushrod has too little clearance for the master's piston to go home with the pedal up.",
    why: "The compensating port stays shut. The fluid grows as it warms, the slave walks out, and the clutch slips.",
    limits: &[super::limits::PORT],
    source: COMMON,
    bad: Example::System("master { rod = loose }\npedal { free_play = 1 mm }"),
    good: Example::System("master { rod = loose }\npedal { free_play = 6 mm }"),
    run: Run::Outcome(port_shut),
};

pub const BOILS: Check = Check {
    id: CheckId::FluidBoils,
    severity: Severity::Warning,
    finds: "The fluid gets close to the boiling point that its grade has once it has taken up water.",
    why: "Vapor is squeezed like air: the pedal goes down and the clutch does not free.",
    limits: &[Limit {
        name: "below",
        // A difference of temperatures, in kelvin.
        value: 10.0,
        dimension: Dimension::NUMBER,
        what: "by how many kelvin the fluid should stay below its wet boiling point",
        source: COMMON,
    }],
    source: "49 CFR 571.116, S5.1.2: wet boiling points",
    bad: Example::System("fluid { grade = dot4  hottest = 150 degC }"),
    good: Example::System("fluid { grade = dot4  hottest = 110 degC }"),
    run: Run::Outcome(boils),
};

pub const DRAGS: Check = Check {
    id: CheckId::DragsHot,
    severity: Severity::Warning,
    finds: "The disc comes free while the hoses are cold, but not once heat has softened them.",
    why: "The clutch is right in the shop and drags in traffic.",
    limits: &[],
    source: COMMON,
    bad: Example::System(
        "line flex { bore = 1/8 in  length = 700 mm  expansion = 0.33 cc/ft / 1000 psi  heat = 0.01 K^-1 }
    fluid { hottest = 120 degC }
    cover { release_travel = 8.85 mm to 12 mm }",
    ),
    good: Example::System(
        "line flex { bore = 1/8 in  length = 700 mm  expansion = 0.33 cc/ft / 1000 psi  heat = 0.01 K^-1 }
    fluid { hottest = 120 degC }
    cover { release_travel = 7.5 mm to 12 mm }",
    ),
    run: Run::Outcome(drags),
};

pub const SLIPS: Check = Check {
    id: CheckId::SlipsHot,
    severity: Severity::Warning,
    finds: "Once its facings are hot, the clutch carries less than the engine gives.",
    why: "It holds in the shop and slips on a hill, which makes it hotter still.",
    limits: &[],
    source: COMMON,
    bad: Example::System(
        "cover { clamp_load = 6500 N }
    disc { outer = 228 mm  inner = 150 mm  friction = 0.3  friction_hot = 0.15 }
    engine { torque = 210 N*m }",
    ),
    good: Example::System(
        "cover { clamp_load = 6500 N }
    disc { outer = 228 mm  inner = 150 mm  friction = 0.3  friction_hot = 0.25 }
    engine { torque = 210 N*m }",
    ),
    run: Run::Outcome(slips),
};

fn port_shut(cx: &Context<'_>, out: &mut Found) {
    let id = result!(port_clearance);
    let (Some(nominal), Some(most)) = (cx.get(id), cx.bound(id)) else {
        return;
    };
    let worst = cx.spread(id).map_or(nominal, |spread| spread.worst.low);
    let field = match cx.system.given(field!(pedal.free_play)) {
        Some(_) => field!(pedal.free_play),
        None => field!(master.rod_clearance),
    };
    if worst >= most || out.noted(field.block) {
        return;
    }
    let at_worst = match worst < nominal {
        true => " at the worst of the tolerances",
        false => "",
    };
    // A rod without a gap is right if the piston goes home anyway.
    let unless = match may_need_gap(cx.system) {
        true => {
            ". If the rod is held in the piston and the pedal rests on the master, it needs no clearance: then enter \
             `master.rod = captive`"
        }
        false => "",
    };
    let message = format!(
        "the pushrod has {} of clearance{at_worst}, and the piston needs {} to come home for sure: the port can \
         stay shut, {}{unless}",
        cx.length(worst),
        cx.length(most),
        what_follows(cx),
    );
    let spread = nominal - worst;
    let goal = Goal::new(id, move |outcome: &Outcome| {
        // A gap that has become zero is no result unless something says that there must be one.
        Some(outcome.chain.walk()?.rod_clearance() - spread - most)
    });
    out.push_curable(
        cx.problem(field, message).short_by(most - worst, id),
        goal,
        "set the pushrod shorter until it rattles, and check with the reservoir open that fluid wells up as the pedal \
         goes down",
    );
}

/// The consequences of a shut port, with numbers where they are known.
fn what_follows(cx: &Context<'_>) -> String {
    let Some(travel) = cx.get(result!(shut_port_travel)) else {
        return "and as the fluid warms, the slave walks out until the clutch slips".to_owned();
    };
    let hottest = cx.system.given_number(field!(fluid.hottest));
    let at = hottest.map_or_else(String::new, |hottest| {
        format!(" at {}", cx.show(hottest, Dimension::TEMPERATURE))
    });
    let torque = |torque| cx.show(torque, Dimension::TORQUE);
    let slips = match (
        cx.get(result!(shut_port_capacity)),
        cx.get(result!(torque_capacity)),
    ) {
        (Some(left), Some(cold)) => {
            format!(
                ", and the clutch slips at {} instead of {}",
                torque(left),
                torque(cold)
            )
        }
        _ => String::new(),
    };
    format!(
        "and{at} the fluid has moved the bearing out by {}{slips}",
        cx.length(travel)
    )
}

fn boils(cx: &Context<'_>, out: &mut Found) {
    let found = || {
        let hottest = cx.system.given_number(field!(fluid.hottest))?;
        let (dry, wet) = grade(cx.system)?.boiling_points();
        Some((hottest, dry, wet, cx.limit("below")?))
    };
    let Some((hottest, dry, wet, below)) = found() else {
        return;
    };
    if cx.outcome.hydraulics().is_none() || hottest <= wet - below || out.noted(block!(fluid)) {
        return;
    }
    let show = |kelvin| cx.show(kelvin, Dimension::TEMPERATURE);
    let message = format!(
        "the fluid gets {} hot, and its grade may boil at {} once it has taken up water ({} fresh from the can): vapor in \
         the line lets the pedal go down and the clutch drag",
        show(hottest),
        show(wet),
        show(dry),
    );
    let better = [Grade::Dot4, Grade::Dot51]
        .iter()
        .find(|other| hottest <= other.boiling_points().1 - below)
        .map(|other| match other {
            Grade::Dot4 => "use DOT 4, where the seals allow it; or ",
            _ => "use DOT 5.1, where the seals allow it; or ",
        });
    out.push(
        cx.problem(field!(fluid.hottest), message)
            .short_by(hottest - (wet - below), Dimension::TEMPERATURE)
            .help(format!(
                "{}shield the line and the slave from the exhaust, and change the fluid every two years. Brake fluid \
                 harms eyes, skin and paint",
                better.unwrap_or_default()
            )),
    );
}

fn drags(cx: &Context<'_>, out: &mut Found) {
    let id = result!(release_margin_hot);
    let (Some(cold), Some(hot)) = (cx.get(result!(release_margin)), cx.get(id)) else {
        return;
    };
    // A clutch that does not release when cold has its own finding.
    if cold < 0.0 || hot >= 0.0 || out.noted(block!(fluid)) {
        return;
    }
    let message = format!(
        "the release margin is {} with cold hoses, and {} with them hot: then the disc drags",
        cx.length(cold),
        cx.length(hot),
    );
    let problem = cx.problem(field!(fluid.hottest), message);
    out.push_curable(
        problem,
        Goal::within_bound(cx, id),
        "keep the hose from the exhaust, use a shorter one, or one that swells less",
    );
}

fn slips(cx: &Context<'_>, out: &mut Found) {
    let id = result!(torque_capacity_hot);
    let (Some((torque, _)), Some(cold), Some(hot)) = (
        cx.outcome.side_inputs.engine,
        cx.get(result!(torque_capacity)),
        cx.get(id),
    ) else {
        return;
    };
    if cold < torque || hot >= torque || out.noted(block!(disc)) {
        return;
    }
    let show = |torque| cx.show(torque, Dimension::TORQUE);
    let message = format!(
        "the clutch slips at {} cold, and at {} with hot facings, {} short of the engine's {}",
        show(cold),
        show(hot),
        show(torque - hot),
        show(torque),
    );
    let field: FieldId = field!(disc.friction_hot);
    let goal = Goal::new(id, move |outcome: &Outcome| Some(outcome.get(id)? - torque));
    out.push_curable(
        cx.problem(field, message).short_by(torque - hot, id),
        goal,
        "use facings that fade less, or a disc with more friction radius",
    );
}
