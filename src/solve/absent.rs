//! Why a result is absent, and which results a system has at all.

use super::Outcome;
use super::inputs::cold_fluid;
use crate::model::System;
use crate::schema::{ForkDrive, Need, ResultId, in_words};
use crate::{block, field, result};

/// Whether a result belongs to this system's way of actuation: a cable has no slave, and few cars have an
/// intensifier.
pub fn belongs(system: &System, id: ResultId) -> bool {
    let has = |need: &Need| {
        if need.block() == block!(intensifier) {
            return system.component(block!(intensifier)).is_some();
        }
        let drive = ForkDrive::of_block(need.block());
        let stands_for_it = drive.and_then(|drive| drive.blocks.first());
        stands_for_it.is_none_or(|part| system.component(part.block).is_some())
    };
    id.spec().needs.iter().all(|any| any.iter().any(has))
}

/// Why a result is absent although the system is worked out, as a sentence.
pub fn why_absent(system: &System, id: ResultId) -> String {
    let is_given = |need: &Need| match *need {
        Need::Block(block) => system.component(block).is_some(),
        Need::Field(field) => system.given(field).is_some(),
    };
    let needs = id.spec().needs.iter();
    let missing = in_words(needs.filter(|any| !any.iter().any(is_given)));
    if missing.is_empty() && id == result!(rod_cut_length) {
        "no rod fits between its ends".to_owned()
    } else if missing.is_empty()
        && id
            .spec()
            .needs
            .contains(&&[Need::Field(field!(fork.pivot_height))][..])
    {
        "the fork cannot reach its bearing".to_owned()
    } else if missing.is_empty() && id == result!(return_time) && cold_fluid(system).is_none() {
        "the fluid's thickness at `fluid.coldest` is not known: give `fluid.viscosity`, or a DOT `fluid.grade` and a \
         `fluid.coldest` from -40 degC to 100 degC"
            .to_owned()
    } else if missing.is_empty() && id == result!(release_point) {
        "the disc does not come free within the pedal's travel".to_owned()
    } else if missing.is_empty() && id == result!(stop_travel) {
        "the pedal never reaches the cover's limit".to_owned()
    } else if missing.is_empty() && id == result!(air_volume) {
        "no air in the fluid explains the readings".to_owned()
    } else if missing.is_empty() {
        "full pedal does not get there".to_owned()
    } else {
        format!("needs {missing}")
    }
}

/// The results that belong to a system's way of actuation and are absent, each with the reason as a sentence.
pub fn absences<'a>(
    system: &'a System,
    outcome: &'a Outcome,
) -> impl Iterator<Item = (ResultId, String)> + 'a {
    ResultId::all()
        .filter(|id| outcome.get(*id).is_none() && belongs(system, *id))
        .map(|id| (id, why_absent(system, id)))
}
