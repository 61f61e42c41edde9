//! Whether the bell housing is in line, and whether the input shaft fits its pilot bearing.

use super::{Check, Context, Example, Found, Limit, Run};
use crate::check_id::CheckId;
use crate::finding::{Problem, Severity};
use crate::mechanics::dowel_residual;
use crate::model::Value;
use crate::quantity::Dimension;
use crate::result;
use crate::schema::COMMON;
use crate::{block, field};

pub const MISALIGNED: Check = Check {
    id: CheckId::MisalignedBell,
    severity: Severity::Warning,
    finds: "The bell housing's bore is further off the crankshaft than its limit, or its face is further out of square.",
    why: "Input shaft and pilot bearing run bent: the clutch drags, the gearbox jumps out of gear, bearings and disc hub wear.",
    limits: &[Limit {
        name: "face",
        value: 0.254,
        dimension: Dimension::LENGTH,
        what: "the most total indicator reading of the gearbox's face",
        source: "0.010 in: a light-truck service manual, 2002, clutch housing, p. 6-9; 0.008 in: US Army TM 5-3820-256-24-4, CTS-4195 p. 11",
    }],
    source: "US Army TM 10-4320-307-24, p. 3-140; the default limit of the bore: TM 5-3895-369-14, p. 5-157",
    bad: Example::System("bellhousing { runout = 0.5 mm  face_runout = 0.030 in }"),
    good: Example::System("bellhousing { runout = 0.15 mm  face_runout = 0.006 in }"),
    run: Run::Outcome(misaligned),
};

pub const BOTTOMS: Check = Check {
    id: CheckId::ShaftBottoms,
    severity: Severity::Error,
    finds: "The input shaft touches bottom in the pilot, or nearly does, before the gearbox is home on its housing.",
    why: "Tightening the bolts drives shaft and crankshaft endwise: thrust washers, pilot and gearbox bearings are ruined.",
    limits: &[Limit {
        name: "room",
        value: 1.0,
        dimension: Dimension::LENGTH,
        what: "the least room ahead of the shaft's tip",
        source: COMMON,
    }],
    source: COMMON,
    bad: Example::System(
        "bellhousing { depth = 160 mm }
    gearbox { input_length = 215 mm  pilot_reach = 14 mm  pilot_depth = 15 mm }",
    ),
    good: Example::System(
        "bellhousing { depth = 160 mm  adapter = 28 mm }
    gearbox { input_length = 215 mm  pilot_reach = 14 mm  pilot_depth = 15 mm }",
    ),
    run: Run::Outcome(bottoms),
};

pub const MISSED: Check = Check {
    id: CheckId::PilotMissed,
    severity: Severity::Error,
    finds: "The input shaft ends in front of the pilot bearing.",
    why: "Nothing holds the shaft's tip: disc and gearbox run out of true and are ruined.",
    limits: &[],
    source: COMMON,
    bad: Example::System(
        "bellhousing { depth = 160 mm  adapter = 20 mm }
    gearbox { input_length = 190 mm  pilot_reach = 14 mm }",
    ),
    good: Example::System(
        "bellhousing { depth = 160 mm }
    gearbox { input_length = 190 mm  pilot_reach = 14 mm }",
    ),
    run: Run::Outcome(missed),
};

pub const PILOT: Check = Check {
    id: CheckId::PilotShort,
    severity: Severity::Warning,
    finds: "Too little of the input shaft's tip stands in the pilot bearing.",
    why: "The shaft whips, and disc and gearbox suffer.",
    limits: &[Limit {
        name: "engagement",
        value: 8.0,
        dimension: Dimension::LENGTH,
        what: "the least engagement, where `gearbox.pilot_engagement` does not give one",
        source: COMMON,
    }],
    source: COMMON,
    bad: Example::System(
        "bellhousing { depth = 160 mm  adapter = 12 mm }
    gearbox { input_length = 190 mm  pilot_reach = 14 mm }",
    ),
    good: Example::System(
        "bellhousing { depth = 160 mm }
    gearbox { input_length = 190 mm  pilot_reach = 14 mm }",
    ),
    run: Run::Outcome(pilot),
};

fn misaligned(cx: &Context<'_>, out: &mut Found) {
    bore(cx, out);
    unread_dial(cx, out);
    face(cx, out);
}

/// Reports dial readings that give no direction: too few, or all near one place.
fn unread_dial(cx: &Context<'_>, out: &mut Found) {
    let Some(given) = cx.system.given(field!(bellhousing.dial)) else {
        return;
    };
    if cx.outcome.side_inputs.dial.is_some() || out.noted(block!(bellhousing)) {
        return;
    }
    let count = match &given.value {
        Value::Curve(points) => points.bands().len(),
        _ => 0,
    };
    out.push(
        cx.problem(
            field!(bellhousing.dial),
            format!(
                "{count} dial readings do not show where the bore's center is: the housing is not \
                 checked"
            ),
        )
        .help("take three readings or more, spread around the bore; every 90 deg is usual"),
    );
}

/// Checks the face's reading against its limit. The tilt would need the circle that the gauge sweeps, which need not
/// be known.
fn face(cx: &Context<'_>, out: &mut Found) {
    let reading = cx.system.given_number(field!(bellhousing.face_runout));
    let given = cx.system.given_number(field!(bellhousing.face_limit));
    let (Some(reading), Some(limit)) = (reading, given.or_else(|| cx.limit("face"))) else {
        return;
    };
    if reading <= limit || out.noted(block!(bellhousing)) {
        return;
    }
    let tilt = cx
        .get(result!(bell_tilt))
        .map(|tilt| format!(", {} out of square", cx.show(tilt, Dimension::ANGLE)))
        .unwrap_or_default();
    let tip = cx
        .get(result!(shaft_tip_offset))
        .map(|off| format!(", its tip {} off the pilot's axis", cx.length(off)))
        .unwrap_or_default();
    let source = match given {
        Some(_) => "`bellhousing.face_limit`".to_owned(),
        None => cx.source_of("face"),
    };
    out.push(
        cx.problem(
            field!(bellhousing.face_runout),
            format!(
                "the gearbox's face reads {}{tilt}; the limit is {} ({}): the input shaft runs at \
                 an angle{tip}",
                cx.length(reading),
                cx.length(limit),
                source,
            ),
        )
        .short_by(reading - limit, Dimension::LENGTH)
        .help(
            "clean the faces, look for a burr or dirt at the dowels, and measure again; a face \
             that still reads so needs to be machined true, or the adapter does",
        ),
    );
}

fn bore(cx: &Context<'_>, out: &mut Found) {
    let found = (
        cx.get(result!(bell_offset)),
        cx.system.number(field!(bellhousing.runout_limit)),
    );
    let (Some(offset), Some(limit)) = found else {
        return;
    };
    // The limit is on the reading, which is twice the offset.
    if 2.0 * offset <= limit {
        return;
    }
    if let Some(residual) = cx.get(result!(dowel_residual)) {
        residual_too_large(cx, offset, residual, limit, out);
        return;
    }
    if out.noted(block!(bellhousing)) {
        return;
    }
    let dial = cx.outcome.side_inputs.dial;
    let field = match dial {
        Some(_) => field!(bellhousing.dial),
        None => field!(bellhousing.runout),
    };
    let way = |by: f64, plus: &str, minus: &str| {
        format!(
            "{} {}",
            cx.length(by.abs()),
            if by < 0.0 { minus } else { plus }
        )
    };
    let cure = match dial {
        Some(dial) => format!(
            "move the housing by {} toward {} (clockwise from the top, seen from the gearbox): {} \
             and {}{}. The readings leave {} that no move cures",
            cx.length(offset),
            cx.show(
                dial.move_towards.rem_euclid(std::f64::consts::TAU),
                Dimension::ANGLE
            ),
            way(dial.move_right, "to the right", "to the left"),
            way(dial.move_up, "up", "down"),
            nearest_dowels(cx, offset),
            cx.length(dial.out_of_round),
        ),
        None => format!(
            "move the housing {} toward the high reading{}. Enter the single readings in `dial` for the direction",
            cx.length(offset),
            nearest_dowels(cx, offset)
        ),
    };
    let problem = cx
        .problem(
            field,
            format!(
                "the housing's bore is {} off the crankshaft, a reading of {} where {} is the \
                 most: the input shaft runs bent",
                cx.length(offset),
                cx.length(2.0 * offset),
                cx.length(limit)
            ),
        )
        .help(cure);
    let problem = problem.short_by(2.0 * offset - limit, result!(bell_offset));
    out.push(cx.beside(problem, field!(bellhousing.runout_limit), "the limit"));
}

/// Offsets in which dowels are sold, mm: 0.007, 0.014 and 0.021 in. Common practice, no source.
const DOWELS: [f64; 3] = [0.178, 0.356, 0.533];

/// The dowels that bring the bore nearest, and the gauge's reading with them.
fn nearest_dowels(cx: &Context<'_>, offset: f64) -> String {
    let read = |dowels: f64| dowel_residual(offset, dowels);
    let nearest = DOWELS
        .into_iter()
        .min_by(|a, b| read(*a).total_cmp(&read(*b)));
    let nearest = nearest.filter(|dowels| read(*dowels) < 2.0 * offset);
    let nothing = || ", with offset dowels made to measure".to_owned();
    nearest.map_or_else(nothing, |dowels| {
        format!(
            ": offset dowels of {} come nearest, and leave a reading of {}",
            cx.length(dowels),
            cx.length(read(dowels))
        )
    })
}

/// Reports fitted offset dowels that leave too much offset.
fn residual_too_large(cx: &Context<'_>, offset: f64, residual: f64, limit: f64, out: &mut Found) {
    if residual <= limit || out.noted(block!(bellhousing)) {
        return;
    }
    let message = format!(
        "the housing's bore is {} off the crankshaft, and with these dowels a gauge still reads {}, over the limit of {}: the \
         input shaft runs bent",
        cx.length(offset),
        cx.length(residual),
        cx.length(limit)
    );
    let problem = cx
        .problem(field!(bellhousing.dowel_offset), message)
        .short_by(residual - limit, result!(dowel_residual))
        .help(format!(
            "turn the dowels so that the housing moves toward the high reading{}",
            nearest_dowels(cx, offset)
        ));
    out.push(cx.beside(problem, field!(bellhousing.runout_limit), "the limit"));
}

fn bottoms(cx: &Context<'_>, out: &mut Found) {
    let (Some(room), Some(least)) = (cx.get(result!(pilot_room)), cx.limit("room")) else {
        return;
    };
    if room >= least || out.noted(block!(gearbox)) {
        return;
    }
    let message = if room < 0.0 {
        format!(
            "the input shaft is {} too long: it touches bottom in the pilot before the gearbox is home",
            cx.length(-room)
        )
    } else {
        format!(
            "only {} are left ahead of the input shaft's tip, {} less than wanted: as it warms it bears on \
             the crankshaft",
            cx.length(room),
            cx.length(least - room)
        )
    };
    let problem = cx
        .problem(field!(gearbox.input_length), message)
        .short_by(least - room, result!(pilot_room))
        .help(format!(
            "make the adapter {} thicker, or take as much off the shaft's tip or out of the pilot's hole. Do \
             not pull the gearbox up with its bolts",
            cx.length(least - room)
        ));
    out.push(beside_pilot(cx, problem));
}

/// The wanted length of the shaft's tip in the pilot bearing, mm.
fn engagement_wanted(cx: &Context<'_>) -> Option<f64> {
    cx.system
        .given_number(field!(gearbox.pilot_engagement))
        .or_else(|| PILOT.limit("engagement", cx.settings))
}

fn missed(cx: &Context<'_>, out: &mut Found) {
    let found = cx.get(result!(pilot_engagement)).zip(engagement_wanted(cx));
    let Some((engagement, wanted)) = found.filter(|(engagement, _)| *engagement <= 0.0) else {
        return;
    };
    if out.noted(block!(gearbox)) {
        return;
    }
    let message = format!(
        "the input shaft ends {} in front of the pilot bearing: nothing holds its tip",
        cx.length(-engagement)
    );
    let problem = cx
        .problem(field!(gearbox.input_length), message)
        .short_by(-engagement, result!(pilot_engagement));
    out.push(beside_pilot(
        cx,
        reach_further(cx, problem, wanted - engagement),
    ));
}

fn pilot(cx: &Context<'_>, out: &mut Found) {
    let found = cx.get(result!(pilot_engagement)).zip(engagement_wanted(cx));
    let short = |(engagement, wanted): &(f64, f64)| 0.0 < *engagement && engagement < wanted;
    let Some((engagement, wanted)) = found.filter(short) else {
        return;
    };
    if out.noted(block!(gearbox)) {
        return;
    }
    let message = format!(
        "only {} of the input shaft stand in the pilot bearing, {} less than wanted: the shaft whips",
        cx.length(engagement),
        cx.length(wanted - engagement)
    );
    let problem = cx
        .problem(field!(gearbox.input_length), message)
        .short_by(wanted - engagement, result!(pilot_engagement));
    out.push(beside_pilot(
        cx,
        reach_further(cx, problem, wanted - engagement),
    ));
}

fn reach_further(cx: &Context<'_>, problem: Problem, by: f64) -> Problem {
    problem.help(format!(
        "make the adapter {} thinner, or bring the pilot bearing out by as much with a bushing",
        cx.length(by)
    ))
}

fn beside_pilot(cx: &Context<'_>, problem: Problem) -> Problem {
    let problem = cx.beside(problem, field!(bellhousing.adapter), "the adapter");
    let problem = cx.beside(
        problem,
        field!(gearbox.pilot_reach),
        "where the bearing begins",
    );
    cx.beside(problem, field!(gearbox.pilot_depth), "how deep it is")
}
