//! Rods that lean out of the line of their bores.

use super::limits;
use super::{Check, Context, Example, Found, Goal, Run};
use crate::check_id::CheckId;
use crate::finding::Severity;
use crate::quantity::Dimension;
use crate::result;
use crate::{block, field};

pub const SLAVE: Check = Check {
    id: CheckId::RodAngle,
    severity: Severity::Warning,
    finds: "The slave's rod leans out of its bore's line.",
    why: "It wears piston and bore on one side, and a rod that is only laid in jumps out.",
    limits: &[limits::BALL, limits::CLEVIS, limits::PLAIN],
    source: "slider-crank, planar kinematics; that the rod runs parallel to its bore: common practice, no source",
    bad: Example::System("slave { rod_length = 120 mm  rod_offset = 12 mm }"),
    good: Example::System("slave { rod_length = 120 mm  rod_offset = 1 mm }"),
    run: Run::Outcome(slave),
};

pub const PEDAL: Check = Check {
    id: CheckId::PedalRodAngle,
    severity: Severity::Warning,
    finds: "The pedal's rod leans out of the master's bore.",
    why: "It wears the master's seals on one side.",
    limits: &[limits::PEDAL_ROD],
    source: "slider-crank, planar kinematics",
    bad: Example::System("pedal { arm_angle = 40 deg  rod_length = 120 mm }"),
    good: Example::System("pedal { rod_length = 120 mm }"),
    run: Run::Outcome(pedal),
};

fn slave(cx: &Context<'_>, out: &mut Found) {
    let end = limits::of_rod_end(cx.system).name;
    let found = (
        cx.get(result!(rod_angle)),
        cx.get(result!(rod_offset_best)),
        cx.bound(result!(rod_angle)),
        cx.outcome.side_inputs.rod,
    );
    let (Some(angle), Some(best), Some(most), Some(rod)) = found else {
        return;
    };
    if angle <= most {
        return;
    }
    if out.noted(block!(slave)) {
        return;
    }
    let show = |rad| cx.show(rad, Dimension::ANGLE);
    let move_by = best - rod.offset;
    let ways = ["toward the fork pivot", "away from the fork pivot"];
    let [way, other_way] = match move_by < 0.0 {
        true => ways,
        false => [ways[1], ways[0]],
    };
    let problem = cx
        .problem(
            field!(slave.rod_offset),
            format!(
                "the slave's rod leans by up to {} over the stroke, new and worn, {} more than a \
                 {end} end should: it wears the bore, or jumps out",
                show(angle),
                show(angle - most)
            ),
        )
        .help(format!(
            "move the slave's bracket {by} {other_way}, or the rod's seat in the fork {by} {way}: an offset of {} is best",
            cx.length(best),
            by = cx.length(move_by.abs()),
        ));
    out.push(cx.beside(problem, field!(slave.rod_length), "a longer rod leans less"));
}

fn pedal(cx: &Context<'_>, out: &mut Found) {
    let (Some(angle), Some(most)) = (
        cx.get(result!(pedal_rod_angle)),
        cx.bound(result!(pedal_rod_angle)),
    ) else {
        return;
    };
    if angle <= most {
        return;
    }
    if out.noted(block!(pedal)) {
        return;
    }
    let show = |rad| cx.show(rad, Dimension::ANGLE);
    let problem = cx.problem(
        field!(pedal.rod_length),
        format!(
            "the pedal's rod leans by up to {} out of the master's bore, {} more than it should",
            show(angle),
            show(angle - most)
        ),
    );
    let goal = Goal::within_bound(cx, result!(pedal_rod_angle));
    out.push_curable(problem, goal, pedal_help(cx));
}

/// How to make the pedal's rod lean less.
fn pedal_help(cx: &Context<'_>) -> String {
    const OTHERWISE: &str =
        "use a longer rod, or set the master so that the arm stands square at mid travel";
    let offset = || {
        let walk = cx.outcome.chain.walk()?;
        let best = walk.best_pedal_rod_offset(&walk.full_pedal()?)?;
        let moves = best - cx.outcome.chain.pedal.rod_offset;
        // Less cannot be set.
        (moves.abs() >= 0.5).then_some(moves)
    };
    match offset() {
        Some(moves) => format!(
            "set the master {} {} the pedal's pivot, so that the rod leans to both sides alike; or {OTHERWISE}",
            cx.length(moves.abs()),
            if moves > 0.0 { "away from" } else { "towards" }
        ),
        None => OTHERWISE.to_owned(),
    }
}
