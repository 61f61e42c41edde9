//! A thing given in two ways that do not agree: the pedal's free play at the pad and at the rod, the fork's angle and
//! room by value and by its stack.
//!
//! Other things given in two ways are found while the text is read.

use super::edit::edit_field;
use super::sizes::written;
use super::{Check, Example, Found, Limit, Run, problem_of_field, text};
use crate::check_id::CheckId;
use crate::field;
use crate::finding::{Problem, Severity};
use crate::model::System;
use crate::quantity::Dimension;
use crate::schema::{COMMON, FieldId};
use crate::settings::Settings;
use crate::solve::{fork_stack, window_edges};

/// A gap felt at the pad and one measured with a gauge agree to about this share.
const AGREEMENT: Limit = Limit {
    name: "free-play",
    value: 0.1,
    dimension: Dimension::NUMBER,
    what: "by which share the pedal's free play and the rod's clearance may disagree",
    source: COMMON,
};

/// A protractor on a fork in its housing is good to about this much.
const ANGLE: Limit = Limit {
    name: "fork-angle",
    value: 2.0 * std::f64::consts::PI / 180.0,
    dimension: Dimension::ANGLE,
    what: "how far the fork's angle at rest may be from what its stack makes it",
    source: COMMON,
};

/// Three lengths of a stack add up to about this much.
const WINDOW: Limit = Limit {
    name: "fork-window",
    value: 2.0,
    dimension: Dimension::LENGTH,
    what: "how far the fork's room may be from what its stack and the edge of its opening leave",
    source: COMMON,
};

/// Found while the text is read, except for the pedal's free play, which needs the pedal's ratio.
pub const CHECK: Check = Check {
    limits: &[AGREEMENT, ANGLE, WINDOW],
    run: Run::Limited(run),
    ..text::check(
        CheckId::OverStated,
        Severity::Error,
        "One thing is said in two ways that do not agree.",
        "Which of the two is meant cannot be known.",
        Example::System("fork { ratio = 2  slave_arm = 130 mm  bearing_arm = 68 mm }"),
        Example::System("fork { slave_arm = 112 mm  bearing_arm = 68 mm }"),
    )
};

fn run(system: &System, settings: &Settings, out: &mut Found) {
    free_play(system, settings, out);
    fork_angle(system, settings, out);
    fork_window(system, settings, out);
}

/// Checks the fork's angle at rest against the one that the stack of housing, pivot and bearing gives.
fn fork_angle(system: &System, settings: &Settings, out: &mut Found) {
    let field = field!(fork.rest_angle);
    let found = || {
        let stack = fork_stack(system)?;
        let left = stack.to_square(stack.angle(stack.tips)?)?;
        Some((
            system.given_number(field)?,
            left,
            CHECK.limit(ANGLE.name, settings)?,
        ))
    };
    let Some((given, left, most)) = found() else {
        return;
    };
    if (given - left).abs() <= most || out.noted(field.block) {
        return;
    }
    let show = |angle| system.show(angle, Dimension::ANGLE);
    let message = format!(
        "the fork's angle at rest is given as {}, and its stack makes it {}: they differ by {}",
        show(given),
        show(left),
        show((given - left).abs()),
    );
    let problem = problem_of_field(CHECK.id, system, field, message);
    out.push(
        beside_stack(system, problem)
            .help("measure both again: the angle in the car, the stack from the gearbox's face"),
    );
}

/// Checks the fork's room given as a travel against the edge that ends it.
fn fork_window(system: &System, settings: &Settings, out: &mut Found) {
    let field = field!(fork.window);
    let found = || {
        let stack = fork_stack(system)?;
        let (ahead, _) = window_edges(&stack)?;
        let end = stack.end(stack.angle(stack.tips)?)?;
        let left = (system.given_number(ahead)? - end).abs();
        Some((
            ahead,
            system.given_number(field)?,
            left,
            CHECK.limit(WINDOW.name, settings)?,
        ))
    };
    let Some((ahead, given, left, most)) = found() else {
        return;
    };
    if (given - left).abs() <= most || out.noted(field.block) {
        return;
    }
    let show = |length| system.show(length, Dimension::LENGTH);
    let message = format!(
        "the fork's room is given as {}, and its stack leaves {} to the edge of its opening: the given one is counted",
        show(given),
        show(left),
    );
    let mut problem = problem_of_field(CHECK.id, system, field, message);
    if let Some(edge) = system.given(ahead) {
        problem = problem.related(edge.place.clone(), "the edge");
    }
    out.push(beside_stack(system, problem).help("keep the one that was measured"));
}

fn beside_stack(system: &System, problem: Problem) -> Problem {
    match system.given(field!(fork.pivot_height)) {
        Some(given) => problem.related(given.place.clone(), "the stack stands on this pivot"),
        None => problem,
    }
}

fn free_play(system: &System, settings: &Settings, out: &mut Found) {
    let Some(share) = CHECK.limit(AGREEMENT.name, settings) else {
        return;
    };
    let (at_pad, at_rod) = (field!(pedal.free_play), field!(master.rod_clearance));
    let given = |field: FieldId| system.given_number(field);
    let (Some(free_play), Some(clearance), Some(ratio)) =
        (given(at_pad), given(at_rod), pedal_ratio(system))
    else {
        return;
    };
    let seen = clearance * ratio;
    if (free_play - seen).abs() <= share * free_play.max(seen) {
        return;
    }
    if out.noted(at_pad.block) {
        return;
    }
    let show = |value| system.show(value, Dimension::LENGTH);
    let mut problem = problem_of_field(
        CHECK.id,
        system,
        at_pad,
        format!(
            "the pedal's free play is given as {}, and the rod's clearance of {} makes it {} at \
             the pad: the free play is counted",
            show(free_play),
            show(clearance),
            show(seen),
        ),
    )
    .help("keep the one that was measured");
    if let Some(given) = system.given(at_rod) {
        problem = problem.related(given.place.clone(), "the same gap, seen from the rod");
    }
    for (field, value) in [(at_pad, seen), (at_rod, free_play / ratio)] {
        let unit = system
            .given(field)
            .and_then(|given| given.unit().cloned())
            .or_else(|| system.display.unit(Dimension::LENGTH));
        let text = written(value, unit.as_ref());
        if let Some((place, edit)) = edit_field(system, field, None, &text) {
            problem = problem.fix(format!("{} = {text}", field.path()), place, edit);
        }
    }
    out.push(problem);
}

fn pedal_ratio(system: &System) -> Option<f64> {
    let given = |field: FieldId| system.given_number(field);
    match given(field!(pedal.pad_arm)).zip(given(field!(pedal.rod_arm))) {
        Some((pad, rod)) => Some(pad / rod),
        None => given(field!(pedal.ratio)),
    }
}
