//! A release bearing that rests on the fingers while the clutch is engaged.

use super::{Check, Context, Example, Found, Goal, Limit, Run};
use crate::check_id::CheckId;
use crate::finding::Severity;
use crate::quantity::Dimension;
use crate::schema::{COMMON, FieldId};
use crate::solve::Outcome;
use crate::{block, field, result};

pub const RUNS: Check = Check {
    id: CheckId::BearingRuns,
    severity: Severity::Warning,
    finds: "A bearing that may turn only while the clutch is released rests on the fingers.",
    why: "It turns with the engine all the time, runs hot and fails early.",
    limits: &[],
    source: COMMON,
    bad: Example::System("bearing { runs = released }"),
    good: Example::System("bearing { runs = released  free_play = 1 mm }"),
    run: Run::Outcome(runs),
};

pub const HARD: Check = Check {
    id: CheckId::RidesHard,
    severity: Severity::Warning,
    finds: "The preload that holds the bearing on the fingers presses them in, or takes much of the clamp load.",
    why: "The clutch slips under less torque than its cover is made for, and bearing and fingers wear.",
    limits: &[Limit {
        name: "share",
        value: 0.05,
        dimension: Dimension::NUMBER,
        what: "most of the clamp load that a riding bearing may take off",
        source: COMMON,
    }],
    source: COMMON,
    bad: Example::System(
        "slave { preload = 200 N }
cover { finger_ratio = 3.4  clamp_load = 6500 N }",
    ),
    good: Example::System(
        "slave { preload = 30 N }
cover { finger_ratio = 3.4  clamp_load = 6500 N }",
    ),
    run: Run::Outcome(rides_hard),
};

pub const UNKNOWN: Check = Check {
    id: CheckId::ClampLossUnknown,
    severity: Severity::Info,
    finds: "A bearing rides on the fingers, and the spec does not say how much that takes off the clamp load.",
    why: "Clamp load and torque capacity are shown as if nothing were taken off.",
    limits: &[],
    source: "law of the lever",
    bad: Example::System(
        "slave { preload = 30 N }
cover { clamp_load = 6500 N }",
    ),
    good: Example::System(
        "slave { preload = 30 N }
cover { clamp_load = 6500 N  finger_ratio = 3.4 }",
    ),
    run: Run::Outcome(loss_unknown),
};

/// The field for what holds the bearing on the fingers.
fn preload_field(cx: &Context<'_>) -> FieldId {
    let of_adjuster = cx.system.fork_drives().map(|drive| drive.adjust_preload);
    let mut given = of_adjuster.filter(|field| cx.system.given(*field).is_some());
    given.next().unwrap_or(field!(slave.preload))
}

fn runs(cx: &Context<'_>, out: &mut Found) {
    if cx.system.word(field!(bearing.runs)) != Some("released") {
        return;
    }
    // A preload takes up the free play that the spec gives; a spec cannot have both.
    let (inputs, chain) = (&cx.outcome.side_inputs, &cx.outcome.chain);
    let preload = inputs.riding.map(|adjuster| chain.riding_load(adjuster));
    let riding = preload.filter(|load| *load > 0.0);
    let is_touching = chain.bearing.free_play <= 0.0;
    if (riding.is_none() && !is_touching) || out.noted(block!(bearing)) {
        return;
    }
    let (holds, help) = match riding {
        Some(load) => (
            format!(
                "a preload holds it on the fingers with {} at rest",
                cx.force(load)
            ),
            "take the preload away, or fit a return spring on the fork that is stronger, and give the bearing free play; \
             or use a bearing that may always run, and say `runs = always`",
        ),
        None => (
            "it has no free play at rest".to_owned(),
            "give the bearing free play, or use one that may always run, and say `runs = always`",
        ),
    };
    let problem = cx.problem(
        field!(bearing.runs),
        format!("this bearing may turn only while the clutch is released, and {holds}: it turns with the engine all the time"),
    );
    let problem = match riding {
        Some(_) => cx.beside(problem, preload_field(cx), "what holds it there"),
        None => cx.beside(problem, field!(bearing.free_play), "the gap at rest"),
    };
    out.push(problem.help(help));
}

fn rides_hard(cx: &Context<'_>, out: &mut Found) {
    let Some(load) = cx.get(result!(riding_load)).filter(|load| *load > 0.0) else {
        return;
    };
    let first = cx.outcome.chain.cover.load_at(0.0);
    let presses_in = first > 0.0 && load > first;
    let lost = cx
        .outcome
        .side_inputs
        .finger_ratio
        .map(|ratio| ratio * load);
    let clamp = cx.get(result!(clamp_load));
    // The clamp load is what remains.
    let share = lost.zip(clamp).map(|(lost, left)| lost / (left + lost));
    let most = cx.limit("share");
    let takes_much = share.zip(most).filter(|(share, most)| share > most);
    let field = preload_field(cx);
    if (!presses_in && takes_much.is_none()) || out.noted(field.block) {
        return;
    }
    let mut says = format!(
        "at rest a preload holds the bearing on the fingers with {}",
        cx.force(load)
    );
    if presses_in {
        says += &format!(
            ", more than the {} at which they begin to give",
            cx.force(first)
        );
    }
    if let (Some((share, most)), Some(lost)) = (takes_much, lost) {
        says += &format!(
            ": that takes {} off the clamp load, {:.0} % of it, where {:.0} % is the most",
            cx.force(lost),
            share * 100.0,
            most * 100.0,
        );
    }
    let over = match (presses_in, takes_much) {
        (false, Some((share, most))) => load * (1.0 - most / share),
        _ => load - first,
    };
    let problem = cx.problem(field, says).short_by(over, result!(riding_load));
    let problem = cx.beside(
        problem,
        field!(cover.finger_ratio),
        "the clamp load falls by this times the load on the fingers",
    );
    let margin = move |outcome: &Outcome| {
        let load = outcome.get(result!(riding_load))?;
        let first = outcome.chain.cover.load_at(0.0);
        let before_fingers = (first > 0.0).then_some(first - load);
        let of_clamp = || {
            let ratio = outcome.side_inputs.finger_ratio?;
            let whole = outcome.get(result!(clamp_load))? + ratio * load;
            Some(most? * whole / ratio - load)
        };
        before_fingers
            .into_iter()
            .chain(of_clamp())
            .reduce(f64::min)
    };
    out.push_curable(
        problem,
        Goal::new(result!(riding_load), margin),
        "use a lighter preload spring: enough to keep bearing and fingers in touch, and no more",
    );
}

fn loss_unknown(cx: &Context<'_>, out: &mut Found) {
    let riding = cx.get(result!(riding_load)).filter(|load| *load > 0.0);
    let (Some(load), Some(clamp)) = (riding, cx.get(result!(clamp_load))) else {
        return;
    };
    let is_known = cx.outcome.side_inputs.finger_ratio.is_some();
    if is_known || out.noted(block!(cover)) {
        return;
    }
    let and_torque = match cx.get(result!(torque_capacity)) {
        Some(torque) => format!(
            ", and the torque capacity with {}",
            cx.show(torque, Dimension::TORQUE)
        ),
        None => String::new(),
    };
    let message = format!(
        "the bearing rests on the fingers with {}, and without `cover.finger_ratio` its share of the clamp load is \
         unknown: the clamp load is shown with all its {}{and_torque}",
        cx.force(load),
        cx.force(clamp),
    );
    let problem = cx.problem(field!(cover.clamp_load), message);
    let problem = cx.beside(problem, preload_field(cx), "what holds the bearing there");
    out.push(problem.help(
        "measure `cover.finger_ratio`: the clamp load falls by this times the load on the fingers",
    ));
}
