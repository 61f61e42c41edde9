//! What follows from a place in the chain.

use super::{Seen, Worked};
use crate::mechanics::{Outcome, belongs, bore_area, piston_force, why_absent};
use crate::model::{Given, System};
use crate::quantity::Dimension;
use crate::schema::{FieldId, ResultId};
use crate::{field, result};
use std::fmt::Write;

/// What follows from a field in the system that it is seen in.
pub(super) fn what_follows(out: &mut String, id: FieldId, seen: Seen<'_>, name_it: bool) {
    let system = seen.system();
    let Some(outcome) = seen.outcome() else {
        return;
    };
    let mut rows = String::new();
    let mut row = |name: &str, value: f64, dimension| {
        let _ = writeln!(
            rows,
            "| {name} | {} |",
            system.display.show_both(value, dimension)
        );
    };
    if let Some((bore_area, pressure)) = area_at(id, seen, outcome) {
        row("area", bore_area, Dimension::AREA);
        if let Some(pressure) = pressure {
            row("pressure at full pedal", pressure, Dimension::PRESSURE);
            row(
                "force at full pedal, area × pressure",
                piston_force(pressure, bore_area),
                Dimension::FORCE,
            );
        }
    }
    let results = about_field(id);
    for id in results {
        if let Some(value) = outcome.get(*id) {
            let name = format!("`{}`", id.spec().name);
            let shown = system.display.show_both(value, id.spec().dimension);
            let _ = writeln!(rows, "| {name} | {shown}{} |", band(seen.worked, *id));
        }
    }
    if rows.is_empty() {
        return;
    }
    let title = match name_it {
        true => format!("in `{}`", system.name),
        false => "what follows".to_owned(),
    };
    let _ = writeln!(out, "| {title} | |\n|:--|--:|\n{rows}");
}

/// What the tolerances of the spec make of a result.
fn band(worked: &Worked, id: ResultId) -> String {
    let spread = worked.tolerances.as_ref().and_then(|t| t.get(id));
    let ends = spread.map(|spread| {
        let show = |value| worked.system.show(value, id.spec().dimension);
        (show(spread.worst.low), show(spread.worst.high))
    });
    match ends {
        Some((low, high)) if low != high => format!(", {low} to {high}"),
        _ => String::new(),
    }
}

/// The area that a bore makes, and the pressure on it at full pedal, if the field is a bore.
fn area_at(id: FieldId, seen: Seen<'_>, outcome: &Outcome) -> Option<(f64, Option<f64>)> {
    let number = |id| seen.component.given(id).and_then(Given::number);
    let area = if [field!(master.bore), field!(slave.bore), field!(line.bore)].contains(&id) {
        bore_area(number(id)?)
    } else if [field!(slave.outer), field!(slave.inner)].contains(&id) {
        bore_area(number(field!(slave.outer))?) - bore_area(number(field!(slave.inner))?)
    } else {
        return None;
    };
    // In a line nothing is pushed.
    let pushes = id != field!(line.bore);
    let pressure = || {
        let full = outcome.chain.walk()?.full_pedal()?;
        Some(full.state.cylinders?.pressure)
    };
    Some((area, pressure().filter(|_| pushes)))
}

/// The results that a block's part of the chain comes to.
pub(super) fn about(block: &str) -> &'static [ResultId] {
    match block {
        "pedal" => {
            &const {
                [
                    result!(pedal_ratio),
                    result!(pedal_travel_used),
                    result!(release_point),
                    result!(stop_travel),
                    result!(pedal_effort),
                    result!(pedal_effort_full),
                    result!(pedal_effort_return),
                    result!(pedal_work),
                ]
            }
        }
        "master" => {
            &const {
                [
                    result!(master_travel),
                    result!(master_reserve),
                    result!(line_pressure),
                    result!(lost_port),
                    result!(hydraulic_ratio),
                ]
            }
        }
        "line" => &const { [result!(lost_hose), result!(line_pressure)] },
        "fluid" => {
            &const {
                [
                    result!(lost_fluid),
                    result!(lost_air),
                    result!(line_pressure),
                ]
            }
        }
        "slave" => {
            &const {
                [
                    result!(slave_travel),
                    result!(slave_travel_ideal),
                    result!(slave_reserve),
                    result!(hydraulic_ratio),
                    result!(rod_cut_length),
                ]
            }
        }
        "fork" => {
            &const {
                [
                    result!(fork_ratio),
                    result!(slave_travel),
                    result!(bearing_travel),
                    result!(lost_flex),
                ]
            }
        }
        "bearing" => {
            &const {
                [
                    result!(bearing_travel),
                    result!(finger_travel),
                    result!(wear_reserve),
                ]
            }
        }
        "cover" => {
            &const {
                [
                    result!(finger_travel),
                    result!(release_margin),
                    result!(overtravel_margin),
                    result!(release_point),
                    result!(stop_travel),
                    result!(plate_lift),
                    result!(wear_reserve),
                ]
            }
        }
        "disc" => &const { [result!(wear_reserve), result!(plate_lift)] },
        _ => &[],
    }
}

/// The results that a field bears on most.
fn about_field(id: FieldId) -> &'static [ResultId] {
    match (id.block().name, id.field().name) {
        ("pedal", "travel" | "stop" | "free_play") => {
            &const {
                [
                    result!(pedal_travel_used),
                    result!(master_travel),
                    result!(release_margin),
                ]
            }
        }
        ("pedal", "ratio" | "pad_arm" | "rod_arm" | "arm_angle" | "rod_length") => {
            &const {
                [
                    result!(pedal_ratio),
                    result!(pedal_effort),
                    result!(master_travel),
                ]
            }
        }
        ("pedal", _) => {
            &const {
                [
                    result!(pedal_effort),
                    result!(pedal_effort_return),
                    result!(pedal_work),
                ]
            }
        }
        ("master", "bore") => {
            &const {
                [
                    result!(master_travel),
                    result!(slave_travel),
                    result!(pedal_effort),
                ]
            }
        }
        ("master", "stroke") => &const { [result!(master_travel), result!(master_reserve)] },
        ("master", "port_travel" | "rod_clearance") => {
            &const { [result!(lost_port), result!(slave_travel)] }
        }
        ("master", "mount_stiffness") | ("fork", "stiffness") => {
            &const { [result!(lost_flex), result!(finger_travel)] }
        }
        ("line", "max_pressure") | ("slave", "max_pressure") | ("master", "max_pressure") => {
            &const { [result!(line_pressure)] }
        }
        ("slave", "bore" | "outer" | "inner") => {
            &const {
                [
                    result!(slave_travel),
                    result!(slave_travel_ideal),
                    result!(finger_travel),
                    result!(pedal_effort),
                ]
            }
        }
        ("slave", "stroke" | "rest_extension") => {
            &const { [result!(slave_travel), result!(slave_reserve)] }
        }
        ("slave", "mount_to_fork" | "face_to_seat") => &const { [result!(rod_cut_length)] },
        ("fork", "ratio" | "slave_arm" | "bearing_arm") => {
            &const {
                [
                    result!(fork_ratio),
                    result!(slave_travel),
                    result!(bearing_travel),
                    result!(pedal_effort),
                ]
            }
        }
        ("fork", "window") => &const { [result!(slave_travel)] },
        ("bearing", "max_travel") => &const { [result!(bearing_travel)] },
        ("cover", "release_travel") => {
            &const {
                [
                    result!(finger_travel),
                    result!(release_margin),
                    result!(overtravel_margin),
                ]
            }
        }
        ("cover", "release_load") => &const { [result!(line_pressure), result!(pedal_effort)] },
        ("cover", "finger_ratio") => &const { [result!(plate_lift), result!(wear_reserve)] },
        (block, _) => about(block),
    }
}

/// Results in both systems of units, or why they are absent.
pub(super) fn results_table(out: &mut String, worked: &Worked, ids: &[ResultId], system: &System) {
    let Ok(outcome) = &worked.outcome else { return };
    if ids.is_empty() {
        return;
    }
    let mut rows = String::new();
    for id in ids.iter().filter(|id| belongs(system, **id)) {
        let spec = id.spec();
        let _ = match outcome.get(*id) {
            Some(value) => writeln!(
                rows,
                "| `{}` | {}{} |",
                spec.name,
                system.display.show_both(value, spec.dimension),
                band(worked, *id)
            ),
            None => writeln!(rows, "| `{}` | *{}* |", spec.name, why_absent(system, *id)),
        };
    }
    let _ = writeln!(out, "| result | |\n|:--|--:|\n{rows}");
}
