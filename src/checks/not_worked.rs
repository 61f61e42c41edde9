//! Numbers that have no meaning together.

use super::{Check, Example, Found, Run, problem_of_field};
use crate::check_id::CheckId;
use crate::field;
use crate::finding::{Problem, Severity};
use crate::model::System;
use crate::quantity::Dimension;
use crate::schema::FieldId;

pub const CHECK: Check = Check {
    id: CheckId::NotWorked,
    severity: Severity::Error,
    finds: "Each value is possible alone, but not together with the others.",
    why: "Nothing can be worked out, so nothing else can be checked.",
    limits: &[],
    source: "the mechanics",
    bad: Example::File(
        "system ring {
    pedal { ratio = 6  travel = 150 mm }
    master { bore = 3/4 in  stroke = 36 mm }
    slave { outer = 40 mm  inner = 52 mm  stroke = 20 mm }
    cover { release_travel = 7 mm to 11 mm  release_load = 1500 N }
}
",
    ),
    good: Example::File(
        "system ring {
    pedal { ratio = 6  travel = 150 mm }
    master { bore = 3/4 in  stroke = 36 mm }
    slave { outer = 52 mm  inner = 42 mm  stroke = 20 mm }
    cover { release_travel = 7 mm to 11 mm  release_load = 1500 N }
}
",
    ),
    run: Run::Impossible(run),
};

fn run(system: &System, out: &mut Found) {
    let known = [ring, pull_rod, free_play, arm];
    let problem = known.iter().find_map(|cause| cause(system));
    out.push(problem.unwrap_or_else(|| {
        Problem::new(
            CHECK.id,
            system.place.clone(),
            format!(
                "the numbers of `{}` have no meaning together, and nothing comes of them",
                system.name
            ),
        )
        .help(
            "look for a value that is far too large or too small: the pedal's arms and rod, the \
             bores, a stiffness, the cover's curve",
        )
    }));
}

fn problem(system: &System, field: FieldId, message: String) -> Problem {
    problem_of_field(CHECK.id, system, field, message)
}

/// The problem of a ring-shaped piston without an area.
fn ring(system: &System) -> Option<Problem> {
    let inner = system.given_number(field!(slave.inner))?;
    let outer = system.given_number(field!(slave.outer))?;
    (inner >= outer).then(|| {
        problem(
            system,
            field!(slave.inner),
            format!(
                "the slave's piston is {} inside and {} outside, which leaves the fluid nothing \
                 to push on",
                system.show(inner, Dimension::LENGTH),
                system.show(outer, Dimension::LENGTH),
            ),
        )
        .help("give the larger one as `outer`")
    })
}

/// The problem of a rod that is as thick as the bore that it is pulled through.
fn pull_rod(system: &System) -> Option<Problem> {
    let rod = system.given_number(field!(slave.pull_rod))?;
    let bore = system.given_number(field!(slave.bore))?;
    (rod >= bore).then(|| {
        problem(
            system,
            field!(slave.pull_rod),
            format!(
                "the rod of {} fills the slave's bore of {}, which leaves the fluid nothing to push on",
                system.show(rod, Dimension::LENGTH),
                system.show(bore, Dimension::LENGTH),
            ),
        )
        .help("measure both again")
    })
}

/// The problem of free play that the pedal never takes up.
fn free_play(system: &System) -> Option<Problem> {
    let free_play = system.given_number(field!(pedal.free_play))?;
    let travel = system.number(field!(pedal.travel))?;
    (free_play >= travel).then(|| {
        problem(
            system,
            field!(pedal.free_play),
            format!(
                "the pedal's free play of {} takes up its whole travel of {}",
                system.show(free_play, Dimension::LENGTH),
                system.show(travel, Dimension::LENGTH),
            ),
        )
        .help("measure both at the pad, from rest")
    })
}

/// The problem of a rod arm that cannot be square at mid travel.
fn arm(system: &System) -> Option<Problem> {
    let pad_arm = system.given_number(field!(pedal.pad_arm))?;
    let travel = system.number(field!(pedal.travel))?;
    let turned = travel / pad_arm;
    let assumed = system.given(field!(pedal.arm_angle)).is_none();
    (assumed && turned >= std::f64::consts::PI).then(|| {
        problem(
            system,
            field!(pedal.travel),
            format!(
                "{} of travel on an arm of {} turns the pedal by {}",
                system.show(travel, Dimension::LENGTH),
                system.show(pad_arm, Dimension::LENGTH),
                system.show(turned, Dimension::ANGLE),
            ),
        )
        .help("an ordinary pedal turns by about 30 deg: check `travel` and `pad_arm`")
    })
}
