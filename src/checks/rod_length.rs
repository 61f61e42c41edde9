//! The given length of the slave's rod differs from the distance of its seats.

use super::edit::edit_field;
use super::{Check, Context, Example, Found, Limit, Run};
use crate::check_id::CheckId;
use crate::finding::Severity;
use crate::quantity::Dimension;
use crate::schema::COMMON;
use crate::{block, field, result};

pub const CHECK: Check = Check {
    id: CheckId::RodLength,
    severity: Severity::Error,
    finds: "The slave's rod has one length in the spec, and the places of its ends call for another.",
    why: "Too long, it holds the clutch open or has no room for wear; too short, it falls out or the piston leaves its bore.",
    limits: &[Limit {
        name: "difference",
        value: 1.0,
        dimension: Dimension::LENGTH,
        what: "how far the rod's length may be from the one that its ends make",
        source: COMMON,
    }],
    source: "Pythagoras: the rod spans the distance along the bore and the offset across it",
    bad: Example::System(
        "slave { mount_to_fork = 118 mm  face_to_seat = 22 mm  rod_length = 110 mm }",
    ),
    good: Example::System(
        "slave { mount_to_fork = 118 mm  face_to_seat = 22 mm  rod_length = 134 mm }",
    ),
    run: Run::Outcome(run),
};

fn run(cx: &Context<'_>, out: &mut Found) {
    let Some(along) = cx.outcome.rod_span() else {
        return;
    };
    let Some(cut) = cx.get(result!(rod_cut_length)) else {
        if !out.noted(block!(slave)) {
            out.push(
                cx.problem(
                    field!(slave.mount_to_fork),
                    format!(
                        "the rod's two seats lie {} from each other along the bore: no rod fits \
                         between them",
                        cx.length(along)
                    ),
                )
                .help(
                    "the distance is slave.mount_to_fork + slave.face_to_seat - \
                     slave.rest_extension: measure all three again",
                ),
            );
        }
        return;
    };
    let (Some(given), Some(most)) = (
        cx.system.given_number(field!(slave.rod_length)),
        cx.limit("difference"),
    ) else {
        return;
    };
    if (given - cut).abs() <= most || out.noted(block!(slave)) {
        return;
    }
    let (off, effect) = match given > cut {
        true => (given - cut, "too long"),
        false => (cut - given, "too short"),
    };
    let mut problem = cx
        .problem(
            field!(slave.rod_length),
            format!(
                "the slave's rod is {} long, and the seats of its ends are {} apart: it is {} {effect}",
                cx.length(given),
                cx.length(cut),
                cx.length(off),
            ),
        )
        .short_by(off - most, Dimension::LENGTH)
        .help(format!(
            "make or set the rod {} long, seat to seat; if the rod is right, measure \
             slave.mount_to_fork, slave.face_to_seat and slave.rest_extension again",
            cx.length(cut)
        ));
    for (field, words) in [
        (
            field!(slave.mount_to_fork),
            "mounting face to the fork's seat",
        ),
        (
            field!(slave.face_to_seat),
            "mounting face back to the piston's seat",
        ),
        (
            field!(slave.rest_extension),
            "how far the piston stands out at rest",
        ),
        (
            field!(slave.rod_offset),
            "how far the fork's seat lies beside the bore's line",
        ),
    ] {
        problem = cx.beside(problem, field, words);
    }
    let text = cx.written(field!(slave.rod_length), cut);
    if let Some((place, edit)) = edit_field(cx.system, field!(slave.rod_length), None, &text) {
        problem = problem.fix(format!("set slave.rod_length to {text}"), place, edit);
    }
    out.push(problem);
}
