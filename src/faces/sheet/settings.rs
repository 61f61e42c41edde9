//! What to cut and to set.

use super::content::{Block, Section, Step};
use super::view::{View, is_concentric};
use crate::check_id::CheckId;
use crate::field;
use crate::quantity::Dimension;
use crate::result;
use crate::solve::belongs;

pub fn section(view: &View<'_>) -> Section {
    let mut steps = Vec::new();
    slave(view, &mut steps);
    play(view, &mut steps);
    pedal(view, &mut steps);
    housing(view, &mut steps);
    if steps.is_empty() {
        let none = "The spec gives nothing to cut or to set.".to_owned();
        return Section::new("Cut and set", vec![Block::Text(none)]);
    }
    Section::new("Cut and set", vec![Block::Steps(steps)])
}

/// The length of the slave's rod: the one number that the sheet gives for it.
fn rod(view: &View<'_>) -> Option<Step> {
    let given = view.given(field!(slave.rod_length));
    match (view.both(result!(rod_cut_length)), given) {
        (Some(cut), Some(given)) if view.finds(CheckId::RodLength) => Some(Step::to_do(format!(
            "Do not cut the slave's rod yet: the spec gives it as {given}, and its ends lie {cut} apart. \
             Measure again; the verdict above says what"
        ))),
        (Some(cut), _) => {
            let band = view
                .spread(result!(rod_cut_length))
                .map_or_else(String::new, |band| format!(", {band}"));
            Some(Step::to_note(
                "Cut the slave's rod to this length, from seat to seat",
                format!("{cut}{band}"),
            ))
        }
        (None, Some(given)) => Some(Step::to_note(
            "The slave's rod, from seat to seat, has a length of",
            given,
        )),
        (None, None) => (view.outcome.hydraulics().is_some()
            && !is_concentric(view.system)
            && belongs(view.system, result!(rod_cut_length)))
        .then(|| {
            Step::to_do(
                "The rod's length is not known, for the spec lacks slave.mount_to_fork or slave.face_to_seat: \
                 cut the rod so that the piston rests as the next line says",
            )
        }),
    }
}

fn slave(view: &View<'_>, steps: &mut Vec<Step>) {
    steps.extend(rod(view));
    if view.outcome.hydraulics().is_some() {
        let rest = view
            .system
            .number(field!(slave.rest_extension))
            .unwrap_or(0.0);
        steps.push(Step::to_note(
            "New disc, pedal up: the slave's piston is out of its fully home position by",
            view.length(rest),
        ));
    }
    if let Some(best) = view.result(result!(rod_offset_best)) {
        let now = view
            .system
            .given_number(field!(slave.rod_offset))
            .unwrap_or(0.0);
        steps.push(Step::to_note(
            format!(
                "Offset the slave's bore line from the rod's seat in the fork, toward the fork pivot; \
                 {best} keeps the rod straightest",
            ),
            view.length(now),
        ));
    }
    if let Some(gap) = view.both(result!(setup_gap)) {
        steps.push(Step::to_note(
            "Before the gearbox goes on, piston fully home: shim the slave to this gap between the fingers \
             and its bearing",
            gap,
        ));
    }
}

fn play(view: &View<'_>, steps: &mut Vec<Step>) {
    for (what, field) in [
        ("Pedal free play, at the pad", field!(pedal.free_play)),
        (
            "Gap between the pushrod and the master's piston",
            field!(master.rod_clearance),
        ),
        (
            "Cable play at the pedal, before it pulls",
            field!(cable.play),
        ),
        (
            "Play of all pins and bushes together, at the pedal's rod",
            field!(linkage.play),
        ),
        (
            "Gap between the release bearing and the fingers, pedal up",
            field!(bearing.free_play),
        ),
    ] {
        if let Some(value) = view.given(field) {
            steps.push(Step::to_note(what, value));
        }
    }
}

fn pedal(view: &View<'_>, steps: &mut Vec<Step>) {
    if let Some(travel) = view.given(field!(pedal.travel)) {
        steps.push(Step::to_note(
            "Pedal travel, along the pad's arc, from rest to the pedal's end or the carpet",
            travel,
        ));
    }
    for (what, field) in [
        ("Set the pedal stop to this pad travel", field!(pedal.stop)),
        (
            "Set the clutch switch so that the starter runs from this pad travel on",
            field!(pedal.start_switch),
        ),
        (
            "Set the switch so that cruise control turns off at this pad travel",
            field!(pedal.cruise_switch),
        ),
    ] {
        if let Some(value) = view.given(field) {
            steps.push(Step::to_note(what, value));
        }
    }
    if let Some(offset) = view.system.given_number(field!(pedal.rod_offset)) {
        let way = if offset < 0.0 { "toward" } else { "away from" };
        steps.push(Step::to_note(
            format!("Set the master's bore line beside the rod's pin, pedal up, {way} the pedal's pivot by"),
            view.value_both(offset.abs(), Dimension::LENGTH),
        ));
    }
    if let Some(limit) = view.both(result!(stop_travel)) {
        steps.push(Step::to_note(
            "Fit a pedal stop before this pad travel: there the cover reaches the most that it may take",
            limit,
        ));
    }
}

/// The thinnest washer that is worth fitting under a fork pivot, mm. Common practice, no source.
const THINNEST_SHIM: f64 = 0.5;

/// Where the fork's pivot stands, and the shim that brings the fork square in the middle of its use.
fn pivot(view: &View<'_>, steps: &mut Vec<Step>) {
    let (Some(shim), Some(height)) = (
        view.outcome.get(result!(pivot_shim)),
        view.system.given_number(field!(fork.pivot_height)),
    ) else {
        return;
    };
    let value = |mm: f64| view.value_both(mm, Dimension::LENGTH);
    let way = if shim < 0.0 { "Lower" } else { "Shim" };
    if view.finds(CheckId::ForkAngle) {
        steps.push(Step::to_note(
            format!(
                "{way} the fork pivot by this much, so that the fork comes square in the middle of its use; it stands \
                 {} from the gearbox's face now. See the verdict above before you do",
                value(height)
            ),
            value(shim.abs()),
        ));
        return;
    }
    let square = match shim.abs() < THINNEST_SHIM {
        true => String::new(),
        false => format!(
            "; a pivot {} {} would bring the fork square in the middle of its use",
            value(shim.abs()),
            if shim < 0.0 { "lower" } else { "higher" },
        ),
    };
    steps.push(Step::to_note(
        format!(
            "Center of the fork pivot's ball, forward of the bell housing's gearbox face, shims included{square}"
        ),
        value(height),
    ));
}

fn housing(view: &View<'_>, steps: &mut Vec<Step>) {
    pivot(view, steps);
    if let Some(offset) = view.both(result!(bell_offset)) {
        let where_to = view
            .result(result!(bell_angle))
            .map_or_else(String::new, |angle| {
                format!(" towards {angle} from the top, clockwise as seen from the gearbox")
            });
        let limit = view.system.number(field!(bellhousing.runout_limit));
        let limit = limit.map_or_else(String::new, |limit| {
            format!(
                "; a total reading of up to {} is accepted",
                view.length(limit)
            )
        });
        steps.push(Step::to_note(
            format!(
                "Move the bell housing on its dowels{where_to} by this much, then measure the runout \
                 again{limit}"
            ),
            offset,
        ));
    }
    if let Some(tilt) = view.both(result!(bell_tilt)) {
        steps.push(Step::to_note(
            "The gearbox's face is out of square by",
            tilt,
        ));
    }
    if let Some(engagement) = view.both(result!(pilot_engagement)) {
        let least = view.given(field!(gearbox.pilot_engagement));
        let least = least.map_or_else(String::new, |least| format!(", of at least {least}"));
        steps.push(Step::to_note(
            format!("The input shaft's tip reaches into the pilot bearing by this much{least}"),
            engagement,
        ));
    }
    if let Some(engagement) = view.both(result!(spline_engagement)) {
        let hub = view.given(field!(disc.hub_length));
        let hub = hub.map_or_else(String::new, |hub| format!(" of {hub}"));
        steps.push(Step::to_note(
            format!("The disc's hub{hub} sits on the input shaft's splines by this much"),
            engagement,
        ));
    }
}
