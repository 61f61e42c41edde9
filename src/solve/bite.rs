//! Where the clutch bites on the way up.

use crate::field;
use crate::mechanics::{Curve, Cushion, FullPedal, Plate, Walk};
use crate::model::System;
use crate::result;
use crate::schema::ResultId;

/// What a spec says of the disc's cushion springs and of the fingers that lift the plate.
#[derive(Clone, PartialEq, Debug)]
pub(crate) struct BiteInputs {
    cushion: f64,
    law: Cushion,
    finger_stiffness: Option<f64>,
}

/// Torque, N·mm, at which a car begins to creep. Common practice, no source.
const CREEP: f64 = 10e3;

impl BiteInputs {
    /// The inputs; `None` where the spec does not give the springs' force.
    pub(super) fn new(system: &System) -> Option<Self> {
        let law = match system.given_number(field!(disc.cushion_power)) {
            Some(power) => Cushion::Power(power),
            None => Cushion::Curve(Curve::new(system.curve(field!(disc.cushion_load))?)?),
        };
        Some(Self {
            cushion: system.given_number(field!(disc.cushion))?,
            law,
            finger_stiffness: system.given_number(field!(cover.finger_stiffness)),
        })
    }

    /// Sets the results of the bite. It takes the clamp load, the torque at which the clutch slips under it, and the
    /// engine's torque.
    pub(super) fn set(
        &self,
        set: &mut impl FnMut(ResultId, Option<f64>),
        (walk, full): (&Walk<'_>, &FullPedal),
        (clamp, capacity): (f64, f64),
        finger_ratio: f64,
        engine: Option<f64>,
    ) {
        let plate = Plate {
            cushion: self.cushion,
            law: self.law.clone(),
            clamp,
            capacity,
            finger_ratio,
            finger_stiffness: self.finger_stiffness,
        };
        let at = |torque| walk.pad_travel_at_torque(full, &plate, torque);
        let bite = at(CREEP);
        let end = engine.and_then(at);
        set(result!(bite_point), bite);
        set(result!(take_up_end), end);
        set(
            result!(take_up),
            bite.zip(end).map(|(bite, end)| bite - end),
        );
    }
}
