//! Rods that leave the line of their bores.

use super::{Check, Context, Example, Found, Limit, Run};
use crate::check_id::CheckId;
use crate::finding::Severity;
use crate::model::System;
use crate::quantity::Dimension;
use crate::result;
use crate::schema::COMMON;
use crate::{block, field};

const DEGREE: f64 = std::f64::consts::PI / 180.0;

pub const SLAVE: Check = Check {
    id: CheckId::RodAngle,
    severity: Severity::Warning,
    finds: "The slave's rod leans out of its bore's line.",
    why: "It wears piston and bore on one side, and a rod that is only laid in jumps out.",
    limits: &[
        Limit {
            name: "ball",
            value: 8.0 * DEGREE,
            dimension: Dimension::ANGLE,
            what: "the most that a rod with a ball end should lean",
            source: COMMON,
        },
        Limit {
            name: "clevis",
            value: 5.0 * DEGREE,
            dimension: Dimension::ANGLE,
            what: "the most that a rod with a clevis should lean",
            source: COMMON,
        },
        Limit {
            name: "plain",
            value: 3.0 * DEGREE,
            dimension: Dimension::ANGLE,
            what: "the most that a rod with a plain end, or an unknown one, should lean",
            source: COMMON,
        },
    ],
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
    limits: &[Limit {
        name: "angle",
        value: 4.0 * DEGREE,
        dimension: Dimension::ANGLE,
        what: "the most that the pedal's rod should lean",
        source: COMMON,
    }],
    source: "slider-crank, planar kinematics",
    bad: Example::System("pedal { arm_angle = 40 deg  rod_length = 120 mm }"),
    good: Example::System("pedal { rod_length = 120 mm }"),
    run: Run::Outcome(pedal),
};

/// The limit that goes with the end of the slave's rod.
pub fn limit_name(system: &System) -> &'static str {
    match system.word(field!(slave.rod_end)) {
        Some("ball") => "ball",
        Some("clevis") => "clevis",
        _ => "plain",
    }
}

fn slave(cx: &Context<'_>, out: &mut Found) {
    let end = limit_name(cx.system);
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
    let way = if move_by < 0.0 {
        "towards the fork's pivot"
    } else {
        "away from the fork's pivot"
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
            "an offset of {} is best: set the fork's seat {} {way} of where it is, or the bracket \
             the other way",
            cx.length(best),
            cx.length(move_by.abs())
        ));
    let problem = problem.short_by(angle - most, result!(rod_angle));
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
    out.push(
        cx.problem(
            field!(pedal.rod_length),
            format!(
                "the pedal's rod leans by up to {} out of the master's bore, {} more than it should",
                show(angle),
                show(angle - most)
            ),
        )
        .short_by(angle - most, result!(pedal_rod_angle))
        .help("use a longer rod, or set the master so that the arm stands square at mid travel"),
    );
}
