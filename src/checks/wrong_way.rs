//! The slave drives the bearing away from release.

use super::edit::edit_field;
use super::{Check, Example, Found, Run, problem_of_component, problem_of_field};
use crate::check_id::CheckId;
use crate::finding::{Problem, Severity};
use crate::model::{Component, Given, System};
use crate::schema::{COMMON, FORK_DRIVES, FieldId, ForkDrive};
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

/// Whether a field decides the bearing's direction or the direction that releases.
pub fn decides(field: FieldId) -> bool {
    let moves = FORK_DRIVES.iter().map(|drive| drive.moves);
    let mut fields = moves.chain([
        field!(fork.pivot),
        field!(cover.action),
        field!(relay.reverses),
    ]);
    fields.any(|one| one == field)
}

/// What drives the fork of a system; `None` for a master alone, of which nothing is known.
fn drive_of(system: &System) -> Option<&'static ForkDrive> {
    let is_there = |drive: &&ForkDrive| system.component(drive.moves.block).is_some();
    FORK_DRIVES.iter().find(is_there)
}

/// The fields that are missing to know the bearing's direction. Empty where it is known, or where the system lacks
/// more than that.
fn missing(system: &System) -> Vec<FieldId> {
    let is_whole = system.is_workable() && system.chooses.is_empty();
    let has_fork = system.component(block!(fork)).is_some();
    let Some(drive) = drive_of(system).filter(|_| is_whole && has_fork) else {
        return Vec::new();
    };
    let mut missing = vec![drive.moves, field!(fork.pivot)];
    missing.retain(|field| system.given(*field).is_none());
    let is_silent = |relay: &Component| relay.given(field!(relay.reverses)).is_none();
    if system.relays_at_fork().any(is_silent) {
        missing.push(field!(relay.reverses));
    }
    missing
}

/// Whether [`UNKNOWN`] reports that the bearing's direction is not known.
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
    let Some(drive) = drive_of(system) else {
        return;
    };
    let mut decide = vec![drive.moves, field!(fork.pivot), field!(cover.action)];
    if system.relays_at_fork().next().is_some() {
        decide.insert(1, field!(relay.reverses));
    }
    let mut wanted = missing;
    wanted.extend(assumed.then_some(field!(cover.action)));
    let basis = match assumed {
        true => format!("; the cover is taken as one that {action}"),
        false => format!(" for a cover that {action}"),
    };
    out.push(
        problem_of_field(
            UNKNOWN.id,
            system,
            field!(fork.pivot),
            format!(
                "the spec does not say which way the bearing moves, so the direction is not checked{basis}"
            ),
        )
        .help(format!(
            "give {}; the direction follows from {}",
            listed(&wanted),
            listed(&decide)
        )),
    );
}

fn run(system: &System, out: &mut Found) {
    for drive in FORK_DRIVES {
        run_for(system, drive.moves, drive.name(), out);
    }
    concentric(system, out);
    behind_concentric(system, out);
}

/// Reports a lever behind a concentric slave: that slave pushes the bearing itself and leaves no place for one.
fn behind_concentric(system: &System, out: &mut Found) {
    let is_ring = system.given(field!(slave.outer)).is_some();
    let Some(relay) = system.relays_at_fork().next().filter(|_| is_ring) else {
        return;
    };
    if out.noted(block!(relay)) {
        return;
    }
    let problem = problem_of_component(
        CHECK.id,
        system,
        relay,
        field!(relay.at),
        "a concentric slave pushes the bearing itself: no relay lever stands behind it",
    );
    out.push(
        problem.help(
            "remove the lever, say `at = pedal`, or work a fork by a slave with a plain bore",
        ),
    );
}

/// Checks a concentric slave, which sits between gearbox and cover and can only push.
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

/// Directions along the shaft, in the author's words.
struct Ways {
    /// Whether the author counts from the engine. `false` if from the car's ends.
    from_engine: bool,
    /// Whether the gearbox is ahead of the engine.
    is_ahead: bool,
}

impl Ways {
    fn of(system: &System, moves: &str) -> Self {
        Self {
            from_engine: matches!(moves, "to_engine" | "from_engine"),
            is_ahead: system.word(field!(gearbox.side)) == Some("ahead"),
        }
    }

    /// The word of `moves` for a direction.
    fn word(&self, to_engine: bool) -> &'static str {
        match (self.from_engine, to_engine == self.is_ahead) {
            (true, _) if to_engine => "to_engine",
            (true, _) => "from_engine",
            (false, true) => "rearward",
            (false, false) => "forward",
        }
    }

    /// A direction in a sentence.
    fn said(&self, to_engine: bool) -> &'static str {
        match self.word(to_engine) {
            "to_engine" => "towards the engine",
            "from_engine" => "away from the engine",
            word => word,
        }
    }
}

fn run_for(system: &System, moves: FieldId, what: &str, out: &mut Found) {
    let (Some(word), Some(driven), Some(at_fork), Some(pivot), Some(action)) = (
        system.word(moves),
        system.drives_to_engine(moves),
        system.fork_end_to_engine(moves),
        system.word(field!(fork.pivot)),
        system.word(field!(cover.action)),
    ) else {
        return;
    };
    let ways = Ways::of(system, word);
    let bearing = match pivot {
        "between" => !at_fork,
        _ => at_fork,
    };
    // The flywheel is on the engine's side of the bearing.
    let wanted = action == "push";
    if bearing == wanted || out.noted(moves.block) {
        return;
    }
    let turns = match pivot {
        "between" => format!("a fork pivoted between {what} and bearing takes the bearing"),
        _ => "a fork pivoted at its end takes the bearing the same way,".to_owned(),
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
            "the {what} drives {}, and {turns} {}; this cover needs it {verb} {}: the \
             pedal never frees the disc",
            through_levers(system, &ways, driven),
            ways.said(bearing),
            ways.said(wanted),
        ),
    );
    for (field, message) in [
        (field!(fork.pivot), "the pivot decides the bearing's way"),
        (
            field!(cover.action),
            "the cover decides the way that is wanted",
        ),
        (field!(gearbox.side), "on which side the engine is"),
    ] {
        if let Some(given) = system.given(field) {
            problem = problem.related(given.place.clone(), message);
        }
    }
    let other_pivot = match pivot {
        "between" => "outboard",
        _ => "between",
    };
    let driven_end = match system.relays_at_fork().next() {
        Some(relay) => format!("the lever `{}`", relay.label.as_deref().unwrap_or_default()),
        None => "the fork's end".to_owned(),
    };
    let by_slave = format!(
        "mount the {what} so that it drives {driven_end} {}",
        ways.said(!driven)
    );
    let by_pivot = match other_pivot {
        "between" => format!("use a fork pivoted between {what} and bearing"),
        _ => "use a fork pivoted at its end, outboard of both".to_owned(),
    };
    let by_lever = match system.relays_at_fork().next() {
        Some(relay) => format!(
            "; or put the arms of the lever `{}` {}",
            relay.label.as_deref().unwrap_or_default(),
            match relay.given(field!(relay.reverses)).and_then(Given::word) {
                Some("yes") => "on the same side of its shaft",
                _ => "on opposite sides of its shaft",
            }
        ),
        None => String::new(),
    };
    let help = format!(
        "{by_slave}{by_lever}; or {by_pivot}: the bearing then goes {}",
        ways.said(wanted)
    );
    problem = set(system, problem, moves, ways.word(!driven), &by_slave);
    problem = set(system, problem, field!(fork.pivot), other_pivot, &by_pivot);
    out.push(problem.help(help));
}

/// What is driven and in which direction, lever by lever up to the fork's end. Without levers:
/// `the fork's end rearward`. With one:
/// `the lever idler forward, which turns it round and drives the fork's end rearward`.
fn through_levers(system: &System, ways: &Ways, driven: bool) -> String {
    let (mut said, mut to_engine) = (String::new(), driven);
    for relay in system.relays_at_fork() {
        let label = relay.label.as_deref().unwrap_or_default();
        let reverses = relay.given(field!(relay.reverses)).and_then(Given::word) == Some("yes");
        said += &format!("the lever `{label}` {}, which ", ways.said(to_engine));
        to_engine ^= reverses;
        said += match reverses {
            true => "turns the way round and drives ",
            false => "drives ",
        };
    }
    said + &format!("the fork's end {}", ways.said(to_engine))
}

fn set(system: &System, problem: Problem, field: FieldId, word: &str, title: &str) -> Problem {
    match edit_field(system, field, None, word) {
        Some((place, text)) => problem.fix(title, place, text),
        None => problem,
    }
}
