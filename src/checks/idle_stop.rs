//! A pedal stop that the pedal never meets.

use super::{Check, Example, Found, Run, problem_of_field};
use crate::check_id::CheckId;
use crate::finding::Severity;
use crate::model::System;
use crate::quantity::Dimension;
use crate::{block, field};

pub const CHECK: Check = Check {
    id: CheckId::IdleStop,
    severity: Severity::Warning,
    finds: "The pedal's stop lies beyond the end of the pedal's own travel.",
    why: "The pedal is on the floor before it meets the stop, which guards nothing; or one of the two travels was measured wrong.",
    limits: &[],
    source: "by definition",
    bad: Example::System("pedal { travel = 145 mm  stop = 160 mm }"),
    good: Example::System("pedal { travel = 145 mm  stop = 140 mm }"),
    run: Run::System(run),
};

fn run(system: &System, out: &mut Found) {
    let (Some(stop), Some(travel)) = (
        system.given_number(field!(pedal.stop)),
        system.number(field!(pedal.travel)),
    ) else {
        return;
    };
    if stop <= travel {
        return;
    }
    if out.noted(block!(pedal)) {
        return;
    }
    let length = |travel| system.show(travel, Dimension::LENGTH);
    let message = format!(
        "the stop is at {}, and the pedal ends by itself at {}: it never meets the stop",
        length(stop),
        length(travel),
    );
    let problem = problem_of_field(CHECK.id, system, field!(pedal.stop), message)
        .short_by(stop - travel, Dimension::LENGTH);
    let problem = match system.given(field!(pedal.travel)) {
        Some(given) => problem.related(given.place.clone(), "the pedal's own travel"),
        None => problem,
    };
    out.push(
        problem.help("both count at the pad, from rest: measure them again, or remove the stop"),
    );
}
