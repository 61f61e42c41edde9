//! The slave drives the bearing away from release.

use super::edit::edit_field;
use super::{Check, Example, Found, Run, problem_of_field};
use crate::check_id::CheckId;
use crate::finding::{Problem, Severity};
use crate::model::System;
use crate::schema::{COMMON, FieldId};
use crate::{block, field};

pub const CHECK: Check = Check {
    id: CheckId::WrongWay,
    severity: Severity::Error,
    finds: "What drives the fork moves the fork so that the bearing goes away from release.",
    why: "The pedal does nothing but press the bearing off the fingers, or the fork out of its seat.",
    limits: &[],
    source: COMMON,
    bad: Example::System("slave { moves = rearward }\nfork { pivot = outboard }"),
    good: Example::System("slave { moves = rearward }\nfork { pivot = between }"),
    run: Run::System(run),
};

pub const UNKNOWN: Check = Check {
    id: CheckId::WayUnknown,
    severity: Severity::Info,
    finds: "The spec does not say which way the bearing goes, so its direction of release is not checked.",
    why: "A fork that is worked from the wrong side presses the bearing off the fingers, and the pedal does nothing.",
    limits: &[],
    source: COMMON,
    bad: Example::System("cover { action = pull }"),
    good: Example::System("slave { moves = forward }\ncover { action = pull }"),
    run: Run::System(unknown),
};

/// The fields that decide the bearing's way and the way that is wanted.
pub const DECIDE: [FieldId; 5] = [
    field!(slave.moves),
    field!(cable.moves),
    field!(linkage.moves),
    field!(fork.pivot),
    field!(cover.action),
];

/// What drives the fork, by the field that says which way.
const DRIVERS: [(FieldId, &str); 3] = [
    (field!(slave.moves), "slave"),
    (field!(cable.moves), "cable"),
    (field!(linkage.moves), "linkage"),
];

/// What drives the fork of a system.
fn driver(system: &System) -> Option<(FieldId, &'static str)> {
    let mut drivers = DRIVERS.into_iter();
    drivers.find(|(moves, _)| system.component(moves.block).is_some())
}

/// The fields that are missing before it is known which way the bearing goes; none where it is
/// known, or where the system lacks more than that.
fn missing(system: &System) -> Vec<FieldId> {
    let is_whole = system.is_workable() && system.chooses.is_empty();
    let has_fork = system.component(block!(fork)).is_some();
    let Some((moves, _)) = driver(system).filter(|_| is_whole && has_fork) else {
        return Vec::new();
    };
    let mut missing = vec![moves, field!(fork.pivot)];
    missing.retain(|field| system.given(*field).is_none());
    missing
}

/// Whether [`UNKNOWN`] says that the bearing's way is not known.
pub fn is_unknown(system: &System) -> bool {
    !missing(system).is_empty()
}

fn unknown(system: &System, out: &mut Found) {
    let missing = missing(system);
    if missing.is_empty() || out.noted(block!(fork)) {
        return;
    }
    let listed = |fields: &[FieldId]| {
        let paths: Vec<String> = fields.iter().map(|f| format!("`{}`", f.path())).collect();
        match paths.as_slice() {
            [some @ .., last] if !some.is_empty() => format!("{} and {last}", some.join(", ")),
            all => all.concat(),
        }
    };
    let action = match system.word(field!(cover.action)) {
        Some("pull") => "pulls",
        _ => "pushes",
    };
    let assumed = system.given(field!(cover.action)).is_none();
    let Some((moves, _)) = driver(system) else {
        return;
    };
    let decide = [moves, field!(fork.pivot), field!(cover.action)];
    let mut wanted = missing;
    wanted.extend(assumed.then_some(field!(cover.action)));
    let basis = match assumed {
        true => format!("; the cover counts as one that {action}"),
        false => format!(" for a cover that {action}"),
    };
    out.push(
        problem_of_field(
            UNKNOWN.id,
            system,
            field!(fork.pivot),
            format!(
                "nothing says which way the bearing goes, so the direction is not checked{basis}"
            ),
        )
        .help(format!(
            "give {}; the way follows from {}",
            listed(&wanted),
            listed(&decide)
        )),
    );
}

fn run(system: &System, out: &mut Found) {
    for (moves, what) in DRIVERS {
        run_for(system, moves, what, out);
    }
    concentric(system, out);
}

/// A concentric slave sits between gearbox and cover, and its piston can only push.
fn concentric(system: &System, out: &mut Found) {
    let is_ring = system.given(field!(slave.outer)).is_some();
    let pulls = system.word(field!(cover.action)) == Some("pull");
    if !(is_ring && pulls) || out.noted(block!(cover)) {
        return;
    }
    let problem = problem_of_field(
        CHECK.id,
        system,
        field!(cover.action),
        "a concentric slave can only push the bearing towards the engine, and this cover must be \
         pulled: the pedal never frees the disc",
    );
    let problem = match system.given(field!(slave.outer)) {
        Some(given) => problem.related(given.place.clone(), "the concentric slave"),
        None => problem,
    };
    out.push(problem.help(
        "fit a cover that is pushed, with a bearing to suit; or work the pulled cover by a fork \
         with a slave beside it",
    ));
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
        CHECK.id,
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
    match edit_field(system, field, None, word) {
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
