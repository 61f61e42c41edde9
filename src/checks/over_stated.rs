//! The pedal's free play given at the pad and at the rod, in disagreement.
//!
//! The other ways of saying one thing twice are found while the text is read.

use super::edit::edit_field;
use super::sizes::written;
use super::{Check, Example, Found, Limit, Run, problem_of_field, text};
use crate::check_id::CheckId;
use crate::field;
use crate::finding::Severity;
use crate::model::System;
use crate::quantity::Dimension;
use crate::schema::{COMMON, FieldId};
use crate::settings::Settings;

/// A gap felt at the pad and one felt with a gauge agree to about this much.
const AGREEMENT: Limit = Limit {
    name: "free-play",
    value: 0.1,
    dimension: Dimension::NUMBER,
    what: "by which share the pedal's free play and the rod's clearance may disagree",
    source: COMMON,
};

/// Found while the text is read, but for the pedal's free play, which wants its ratio.
pub const CHECK: Check = Check {
    limits: &[AGREEMENT],
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
