//! The slave drives the bearing away from release.

use super::edit::edit_field;
use super::{Check, Example, Found, Run, problem_of_field};
use crate::field;
use crate::finding::{Problem, Severity};
use crate::model::System;
use crate::schema::{COMMON, FieldId};

pub const CHECK: Check = Check {
    name: "wrong-way",
    severity: Severity::Error,
    finds: "What drives the fork moves the fork so that the bearing goes away from release.",
    why: "The pedal does nothing but press the bearing off the fingers, or the fork out of its seat.",
    limits: &[],
    source: COMMON,
    bad: Example::System("slave { moves = rearward }\nfork { pivot = outboard }"),
    good: Example::System("slave { moves = rearward }\nfork { pivot = between }"),
    run: Run::System(run),
};

fn run(system: &System, out: &mut Found) {
    for (moves, what) in [
        (field!(slave.moves), "slave"),
        (field!(cable.moves), "cable"),
        (field!(linkage.moves), "linkage"),
    ] {
        run_for(system, moves, what, out);
    }
}

fn run_for(system: &System, moves: FieldId, what: &str, out: &mut Found) {
    // A gearbox behind an engine that lies lengthwise: the flywheel is in front of the bearing.
    let (Some(driven), Some(pivot), Some(action)) = (
        system.word(moves),
        system.word(field!(fork.pivot)),
        system.word(field!(cover.action)),
    ) else {
        return;
    };
    let bearing = match pivot {
        "between" => reverse(driven),
        _ => driven,
    };
    let wanted = match action {
        "push" => "forward",
        _ => "rearward",
    };
    if bearing == wanted {
        return;
    }
    if out.noted(moves.block) {
        return;
    }
    let turns = match pivot {
        "between" => "a fork that turns between its driver and the bearing takes the bearing",
        _ => "a fork that turns at its end takes the bearing the same way,",
    };
    let verb = match action {
        "push" => "pushed",
        _ => "pulled",
    };
    let mut problem = problem_of_field(
        CHECK.name,
        system,
        moves,
        format!(
            "the {what} drives the fork's end {driven}, and {turns} {bearing}; this cover wants \
             it {verb} {wanted}: the pedal never frees the disc"
        ),
    );
    for (field, message) in [
        (field!(fork.pivot), "the pivot decides the bearing's way"),
        (
            field!(cover.action),
            "the cover decides the way that is wanted",
        ),
    ] {
        if let Some(given) = system.given(field) {
            problem = problem.related(given.place.clone(), message);
        }
    }
    let other_way = reverse(driven);
    let other_pivot = match pivot {
        "between" => "outboard",
        _ => "between",
    };
    let by_slave = format!("mount the {what} so that it drives the fork's end {other_way}");
    let by_pivot = match other_pivot {
        "between" => "use a fork that turns between its driver and the bearing",
        _ => "use a fork that turns at its end, outboard of both",
    };
    let help = format!("{by_slave}; or {by_pivot}: the bearing then goes {wanted}");
    problem = set(system, problem, moves, other_way, &by_slave);
    problem = set(system, problem, field!(fork.pivot), other_pivot, by_pivot);
    out.push(problem.help(help));
}

fn set(system: &System, problem: Problem, field: FieldId, word: &str, title: &str) -> Problem {
    match edit_field(system, field, word) {
        Some((place, text)) => problem.fix(title, place, text),
        None => problem,
    }
}

fn reverse(way: &str) -> &'static str {
    match way {
        "forward" => "rearward",
        _ => "forward",
    }
}
