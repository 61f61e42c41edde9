//! Places in the bell housing, from a spec's fields: shaft, splines, dial, fork and bearing.

use crate::field;
use crate::mechanics::{Curve, ForkStack, Stretch, finger_position, holder_sag, pilot_penetration};
use crate::model::System;
use crate::schema::FieldId;

/// How far the input shaft's tip is past the pilot bearing's mouth, mm.
pub(super) fn penetration(system: &System) -> Option<f64> {
    let given = |id| system.given_number(id);
    Some(pilot_penetration(
        given(field!(bellhousing.depth))?,
        system.number(field!(bellhousing.adapter))?,
        given(field!(gearbox.input_length))?,
        given(field!(gearbox.pilot_reach))?,
    ))
}

/// Distance from the engine's rear face to the gearbox's face, mm: the housing and its adapter plates.
fn engine_to_gearbox(system: &System) -> Option<f64> {
    let depth = system.given_number(field!(bellhousing.depth))?;
    Some(depth + system.number(field!(bellhousing.adapter))?)
}

/// Where the input shaft's splines and the disc's hub are.
pub(super) fn splines(system: &System) -> Option<(Stretch, Stretch)> {
    let given = |id| system.given_number(id);
    let splines = Stretch::of_splines(
        engine_to_gearbox(system)?,
        given(field!(gearbox.input_length))?,
        given(field!(gearbox.spline_start))?,
        given(field!(gearbox.spline_length))?,
    );
    let hub = Stretch::of_hub(
        given(field!(flywheel.face))?,
        given(field!(disc.thickness))?,
        given(field!(disc.hub_offset))?,
        given(field!(disc.hub_length))?,
    );
    Some((splines, hub))
}

/// Readings of a dial, corrected for the sag of its holder.
pub(super) fn without_sag(system: &System, mut readings: Vec<(f64, f64)>) -> Vec<(f64, f64)> {
    let curve = system.curve(field!(bellhousing.sag)).and_then(Curve::new);
    let bottom = system.given_number(field!(bellhousing.sag));
    for (angle, reading) in &mut readings {
        *reading -= match (&curve, bottom) {
            (Some(curve), _) => curve.value(*angle),
            (None, Some(bottom)) => holder_sag(bottom, *angle),
            (None, None) => 0.0,
        };
    }
    readings
}

/// How far the face's tilt moves the input shaft's tip off the crankshaft's axis at the pilot, mm.
pub(super) fn shaft_tip_offset(system: &System) -> Option<f64> {
    let given = |id| system.given_number(id);
    let slope = given(field!(bellhousing.face_runout))? / given(field!(bellhousing.face_circle))?;
    Some(slope * (engine_to_gearbox(system)? + given(field!(gearbox.pilot_reach))?))
}

/// How the fork sits on its pivot at rest, whether it can reach that place or not.
pub(crate) fn fork_stack(system: &System) -> Option<ForkStack> {
    let given = |id| system.given_number(id);
    if system.given(field!(slave.outer)).is_some() {
        return None;
    }
    let pulls = system.word(field!(cover.action)) == Some("pull");
    let fingers = finger_position(
        engine_to_gearbox(system)?,
        given(field!(cover.finger_height))?,
    );
    let length = given(field!(bearing.length))?;
    let free_play = system.number(field!(bearing.free_play))?;
    Some(ForkStack {
        tips: ForkStack::tips_at_rest(fingers, length, free_play, pulls),
        pivot_height: given(field!(fork.pivot_height))?,
        bearing_arm: given(field!(fork.bearing_arm))?,
        slave_arm: given(field!(fork.slave_arm))?,
        tip_offset: given(field!(fork.tip_offset)).unwrap_or(0.0),
        end_offset: given(field!(fork.end_offset)).unwrap_or(0.0),
        outboard: system
            .word(field!(fork.pivot))
            .map(|pivot| pivot == "outboard"),
        pulls,
    })
}

/// The fields of the two edges of the fork's opening: first the edge ahead of the outer end as the clutch releases,
/// then the one behind it. `None` where the end's direction is not known.
pub(crate) fn window_edges(stack: &ForkStack) -> Option<(FieldId, FieldId)> {
    let (front, rear) = (field!(fork.window_front), field!(fork.window_rear));
    Some(match stack.is_forward_in_release()? {
        true => (front, rear),
        false => (rear, front),
    })
}

/// How far the outer end can travel from rest to the edge of its opening, mm. Zero for a fork that is already beyond
/// the edge at rest.
pub(super) fn window_ahead(system: &System, stack: &ForkStack) -> Option<f64> {
    let (ahead, _) = window_edges(stack)?;
    let edge = system.given_number(ahead)?;
    let end = stack.end(stack.angle(stack.tips)?)?;
    let room = if stack.is_forward_in_release()? {
        edge - end
    } else {
        end - edge
    };
    Some(room.max(0.0))
}

pub(super) fn window_behind(system: &System, stack: &ForkStack) -> Option<f64> {
    system.given_number(window_edges(stack)?.1)
}

/// The gap that the stack of the housing leaves between the fingers and a slave that is fully home, mm.
pub(super) fn setup_gap(system: &System) -> Option<f64> {
    let given = |id| system.given_number(id);
    Some(
        engine_to_gearbox(system)?
            - given(field!(cover.finger_height))?
            - given(field!(slave.height))?,
    )
}
