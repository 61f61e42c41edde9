//! What to cut and what to set.

use super::content::{Block, Section, Step};
use super::verdict::does_not_work;
use super::view::{View, is_concentric};
use crate::check_id::CheckId;
use crate::checks::Check;
use crate::field;
use crate::finding::Severity;
use crate::quantity::Dimension;
use crate::result;
use crate::schema::{FieldId, Need, ResultId, in_words};
use crate::solve::belongs;

pub fn section(view: &View<'_>) -> Section {
    let mut steps = Vec::new();
    slave(view, &mut steps);
    play(view, &mut steps);
    pedal(view, &mut steps);
    housing(view, &mut steps);
    let mut blocks = Vec::new();
    if does_not_work(view) {
        blocks.push(Block::Notice(
            Severity::Error,
            "This spec does not work yet (see above). Do not cut or set anything by it.".to_owned(),
            Vec::new(),
        ));
    }
    blocks.push(match steps.is_empty() {
        true => Block::Text("The spec gives nothing to cut or to set.".to_owned()),
        false => Block::Steps(steps),
    });
    Section::new("Cut and set", blocks)
}

/// A value on a line of the sheet, to compare with the findings.
struct Shown<'a> {
    /// The name of the line if its value must not be used.
    name: &'a str,
    fields: &'a [FieldId],
    results: &'a [ResultId],
}

impl Shown<'_> {
    /// The line. If a finding contradicts its value, the line only says that.
    fn or_why_not(&self, view: &View<'_>, step: Step) -> Step {
        match view.finding_against(self.fields, self.results) {
            Some(finding) => Step::to_do(format!(
                "{}: not as this spec has it. See “{}” above",
                self.name,
                finding.check.name()
            )),
            None => step,
        }
    }
}

/// The length of the slave's rod, the only number on the sheet for it.
fn rod(view: &View<'_>) -> Option<Step> {
    let given = view.given(field!(slave.rod_length));
    let shown = Shown {
        name: "The slave's rod",
        fields: &[field!(slave.rod_length)],
        results: &[result!(rod_cut_length)],
    };
    let step = match (view.both(result!(rod_cut_length)), given) {
        (Some(cut), Some(given)) if view.finds(CheckId::RodLength) => {
            return Some(Step::to_do(format!(
                "Do not cut the slave's rod yet. The spec says that it is {given} long, but its seats are {cut} apart. \
                 Measure again; the verdict above says what"
            )));
        }
        (Some(cut), _) => {
            let band = view
                .spread(result!(rod_cut_length))
                .map_or_else(String::new, |band| format!(", {band}"));
            Step::to_note(
                "Cut the slave's rod to this length, from seat to seat",
                format!("{cut}{band}"),
            )
        }
        (None, Some(given)) => {
            Step::to_note("The slave's rod, from seat to seat, has a length of", given)
        }
        (None, None) => return None,
    };
    Some(shown.or_why_not(view, step))
}

/// What is missing for the rod's length, if the spec could give it.
fn rod_needs(view: &View<'_>) -> Option<String> {
    let id = result!(rod_cut_length);
    let is_unknown = view.outcome.get(id).is_none()
        && view.given(field!(slave.rod_length)).is_none()
        && !is_concentric(view.system)
        && belongs(view.system, id);
    let is_given = |need: &Need| match *need {
        Need::Block(block) => view.system.component(block).is_some(),
        Need::Field(field) => view.system.given(field).is_some(),
    };
    let needs = id.spec().needs.iter();
    let missing = in_words(needs.filter(|ways| !ways.iter().any(is_given)));
    // Paper has no code in it.
    (is_unknown && !missing.is_empty()).then(|| missing.replace('`', ""))
}

fn slave(view: &View<'_>, steps: &mut Vec<Step>) {
    steps.extend(rod(view));
    if view.outcome.hydraulics().is_some() {
        let rest = view
            .system
            .number(field!(slave.rest_extension))
            .unwrap_or(0.0);
        let what = match rod_needs(view) {
            Some(needs) => format!(
                "Rod length: not worked out; it needs {needs}. Cut the rod so that, pedal up and new disc, the piston is \
                 out of its fully home position by"
            ),
            None => "New disc, pedal up: the slave's piston is out of its fully home position by"
                .to_owned(),
        };
        let shown = Shown {
            name: "How far the slave's piston is out at rest",
            fields: &[field!(slave.rest_extension)],
            results: &[],
        };
        let step = Step::to_note(what, view.value_both(rest, Dimension::LENGTH));
        steps.push(shown.or_why_not(view, step));
    }
    if let Some(offset) = view.system.given_number(field!(slave.rod_offset)) {
        let shown = Shown {
            name: "The slave's bore beside the rod's seat in the fork",
            fields: &[field!(slave.rod_offset)],
            results: &[],
        };
        steps.push(shown.or_why_not(view, bore_line(view, offset)));
    }
    if let Some(gap) = view.outcome.right_setup_gap() {
        let shown = Shown {
            name: "The gap between the fingers and the slave's bearing",
            fields: &[field!(slave.rest_extension), field!(bearing.free_play)],
            results: &[],
        };
        let step = Step::to_note(
            "Before the gearbox goes on, bell housing on the engine: measure from its gearbox face down to the fingers. \
             Subtract the height of the slave's bearing above the gearbox's face, piston fully home. Shim the slave until \
             this gap is left",
            view.value_both(gap, Dimension::LENGTH),
        );
        steps.push(shown.or_why_not(view, step));
    }
}

/// Where the slave's bore is beside the rod's seat. Above zero the seat is further from the fork's pivot.
fn bore_line(view: &View<'_>, offset: f64) -> Step {
    if offset == 0.0 {
        return Step::to_do("Set the slave's bore in line with the rod's seat in the fork");
    }
    let way = if offset < 0.0 {
        "farther from"
    } else {
        "nearer"
    };
    Step::to_note(
        format!("Set the slave's bore {way} the fork pivot than the rod's seat in the fork, by"),
        view.value_both(offset.abs(), Dimension::LENGTH),
    )
}

/// The fields that make up the free travel at the pad, as far as they are set on the car.
const PLAYS: &[FieldId] = &[
    field!(pedal.free_play),
    field!(cable.play),
    field!(linkage.play),
    field!(bearing.free_play),
];

fn play(view: &View<'_>, steps: &mut Vec<Step>) {
    let set_at_pad = view.outcome.get(result!(free_travel));
    let set_at_pad = set_at_pad.filter(|play| *play > 0.0 && view.outcome.hydraulics().is_none());
    if let Some(play) = set_at_pad {
        let shown = Shown {
            name: "Free play at the pad",
            fields: PLAYS,
            results: &[result!(free_travel)],
        };
        let step = Step::to_note(
            "Free play at the pad, until the bearing touches the fingers",
            view.value_both(play, Dimension::LENGTH),
        );
        steps.push(shown.or_why_not(view, step));
    }
    // The total is what is set; these are its parts.
    let of_that = |part: &str, alone: &str| match set_at_pad {
        Some(_) => format!("Of that, {part}"),
        None => alone.to_owned(),
    };
    for (what, name, field) in [
        (
            of_that(
                "the pedal's own free play, at the pad",
                "Pedal free play, at the pad",
            ),
            "Pedal free play",
            field!(pedal.free_play),
        ),
        (
            "Gap between the pushrod and the master's piston".to_owned(),
            "Gap between the pushrod and the master's piston",
            field!(master.rod_clearance),
        ),
        (
            "Slack of the cable, measured at its pedal end, not at the pad".to_owned(),
            "Slack at the cable's pedal end",
            field!(cable.play),
        ),
        (
            "Play of all pins and bushings together, measured at the pedal's rod, not at the pad"
                .to_owned(),
            "Play of all pins and bushings",
            field!(linkage.play),
        ),
        (
            "Gap between the release bearing and the fingers, pedal up".to_owned(),
            "Gap between the release bearing and the fingers",
            field!(bearing.free_play),
        ),
    ] {
        if let Some(value) = view.given(field) {
            let shown = Shown {
                name,
                fields: &[field],
                results: &[],
            };
            steps.push(shown.or_why_not(view, Step::to_note(what, value)));
        }
    }
}

fn pedal(view: &View<'_>, steps: &mut Vec<Step>) {
    let too_far: &[ResultId] = &[result!(overtravel_margin)];
    let is_stopped = view.given(field!(pedal.stop)).is_some();
    for (what, name, field, results) in [
        (
            match is_stopped {
                true => {
                    "Before you set the stop, the pedal can travel, along the pad's arc from rest"
                }
                false => {
                    "Pedal travel, along the pad's arc, from rest to the pedal's end or the carpet"
                }
            },
            "Pedal travel",
            field!(pedal.travel),
            &[][..],
        ),
        (
            "Set the pedal stop to this pad travel: it is full pedal from here on",
            "The pedal stop",
            field!(pedal.stop),
            too_far,
        ),
        (
            "Set the clutch switch so that the starter runs from this pad travel on",
            "The clutch switch for the starter",
            field!(pedal.start_switch),
            &[],
        ),
        (
            "Set the switch so that cruise control turns off at this pad travel",
            "The switch for cruise control",
            field!(pedal.cruise_switch),
            &[],
        ),
    ] {
        if let Some(value) = view.given(field) {
            let shown = Shown {
                name,
                fields: &[field],
                results,
            };
            steps.push(shown.or_why_not(view, Step::to_note(what, value)));
        }
    }
    if let Some(offset) = view.system.given_number(field!(pedal.rod_offset)) {
        let way = if offset < 0.0 { "toward" } else { "away from" };
        let shown = Shown {
            name: "The master's bore beside the rod's pin",
            fields: &[field!(pedal.rod_offset)],
            results: &[],
        };
        let step = Step::to_note(
            format!(
                "Set the master's bore line beside the rod's pin, pedal up, {way} the pedal's pivot by"
            ),
            view.value_both(offset.abs(), Dimension::LENGTH),
        );
        steps.push(shown.or_why_not(view, step));
    }
    // A stop that the spec gives has its line, and one place.
    let limit = view.both(result!(stop_travel));
    if let Some(limit) = limit.filter(|_| !is_stopped) {
        // One number for one setting: a finding says where the stop belongs.
        steps.push(match view.finds(CheckId::OverRelease) {
            true => Step::to_do(format!(
                "Fit a pedal stop where the verdict above says (the cover reaches its limit at {limit} of pedal)"
            )),
            false => Step::to_note(
                "Fit a pedal stop before this pad travel: there the cover reaches the most that it may take",
                limit,
            ),
        });
    }
}

/// Where the fork's pivot is, or how far to move it if the fork is too far from square.
fn pivot(view: &View<'_>, steps: &mut Vec<Step>) {
    let (Some(shim), Some(height)) = (
        view.outcome.get(result!(pivot_shim)),
        view.system.given_number(field!(fork.pivot_height)),
    ) else {
        return;
    };
    let value = |mm: f64| view.value_both(mm, Dimension::LENGTH);
    if view.finds(CheckId::ForkAngle) {
        let way = if shim < 0.0 { "Lower" } else { "Shim" };
        steps.push(Step::to_note(
            format!(
                "{way} the fork pivot by this much, so that the fork comes square in the middle of its use. See the \
                 verdict above before you do"
            ),
            value(shim.abs()),
        ));
        return;
    }
    let shown = Shown {
        name: "The fork pivot",
        fields: &[field!(fork.pivot_height)],
        results: &[],
    };
    let step = Step::to_note(
        "Center of the fork pivot's ball, forward of the bell housing's gearbox face, shims included",
        value(height),
    );
    steps.push(shown.or_why_not(view, step));
}

/// What to do about the runout of the bell housing.
fn runout(view: &View<'_>) -> Option<Step> {
    let reading = view.outcome.bell_reading()?;
    let limit = view.system.number(field!(bellhousing.runout_limit))?;
    let [shown, most] = [reading, limit].map(|mm| view.value_both(mm, Dimension::LENGTH));
    if reading <= limit {
        return Some(Step::to_do(format!(
            "Bell housing runout reads {shown} in all; {most} is accepted: leave it"
        )));
    }
    let where_to = match view.result(result!(bell_angle)) {
        Some(angle) => format!("towards {angle} from the top, clockwise as seen from the gearbox"),
        None => "towards the high reading".to_owned(),
    };
    let over = format!("Bell housing runout reads {shown} in all; only {most} is accepted");
    if let Some(dowels) = view.given(field!(bellhousing.dowel_offset)) {
        let line = Shown {
            name: "Offset dowels of the bell housing",
            fields: &[field!(bellhousing.dowel_offset)],
            results: &[result!(dowel_residual)],
        };
        let step = Step::to_note(
            format!(
                "{over}. Fit offset dowels so that the housing moves {where_to}, then measure again. Dowel offset"
            ),
            dowels,
        );
        return Some(line.or_why_not(view, step));
    }
    Some(Step::to_note(
        format!(
            "{over}. Fit offset dowels so that the housing moves {where_to}, then measure again. Move it by"
        ),
        view.both(result!(bell_offset))?,
    ))
}

/// How far the gearbox's face is from square, as a gauge reads it.
fn face(view: &View<'_>) -> Option<Step> {
    let reading = view.given(field!(bellhousing.face_runout))?;
    let circle = view.given(field!(bellhousing.face_circle));
    let circle = circle.map_or_else(String::new, |circle| format!(", on a circle of {circle}"));
    let given = view.system.given_number(field!(bellhousing.face_limit));
    let limit = || Check::of(CheckId::MisalignedBell).limit("face", &view.report.settings);
    let limit = view.value_both(given.or_else(limit)?, Dimension::LENGTH);
    Some(Step::to_note(
        format!(
            "Runout of the gearbox's face, the gauge turning on the crankshaft{circle}: {limit} at most. The spec has"
        ),
        reading,
    ))
}

fn housing(view: &View<'_>, steps: &mut Vec<Step>) {
    pivot(view, steps);
    steps.extend(runout(view));
    steps.extend(face(view));
    if let Some(engagement) = view.both(result!(pilot_engagement)) {
        let least = view.given(field!(gearbox.pilot_engagement));
        let least = least.map_or_else(String::new, |least| format!(", of at least {least}"));
        let shown = Shown {
            name: "The input shaft's tip in the pilot bearing",
            fields: &[],
            results: &[result!(pilot_engagement)],
        };
        let step = Step::to_note(
            format!("The input shaft's tip reaches into the pilot bearing by this much{least}"),
            engagement,
        );
        steps.push(shown.or_why_not(view, step));
    }
    if let Some(engagement) = view.both(result!(spline_engagement)) {
        let hub = view.given(field!(disc.hub_length));
        let hub = hub.map_or_else(String::new, |hub| format!(" of {hub}"));
        let shown = Shown {
            name: "The disc's hub on the input shaft's splines",
            fields: &[],
            results: &[result!(spline_engagement)],
        };
        let step = Step::to_note(
            format!("The disc's hub{hub} sits on the input shaft's splines by this much"),
            engagement,
        );
        steps.push(shown.or_why_not(view, step));
    }
}
