//! The results with a worn disc.

use super::inputs::{DiscState, SideInputs, diaphragm_load};
use super::results::{Results, solution};
use crate::field;
use crate::mechanics::{Chain, Curve, Load};
use crate::model::System;

/// The results of a chain with its disc worn out. `None` where the wear is not known or leaves no meaning. `load` is
/// the worn cover's own load, if its maker states it.
pub(super) fn worn_results(
    chain: &Chain,
    side: &SideInputs,
    load: Option<&Load>,
) -> Option<Results> {
    let wear = side.wear.filter(|wear| *wear > 0.0)?;
    let at_fingers = side.wear_at_fingers()?;
    let load = match (&side.diaphragm, load) {
        _ if side.is_self_adjusting => None,
        (None, load) => load.cloned(),
        (Some(diaphragm), _) => Some(diaphragm_load(
            diaphragm,
            wear,
            side.cushion,
            chain.cover.most,
        )?),
    };
    let side = SideInputs {
        // The readings belong to the car as it is, and not to this one.
        measured: None,
        rod: None,
        // The rod was cut for a new disc, and does not grow.
        mount_to_fork: None,
        ..side.clone()
    };
    let worn = solution(&chain.worn(at_fingers, load)?, &side, DiscState::WornOut)?;
    Some(worn.results)
}

/// The worn cover's release load as its maker states it; `None` where the spec does not say it.
pub(super) fn stated_worn_load(system: &System) -> Option<Load> {
    let points = system.curve(field!(cover.release_load_worn))?;
    Some(Load::Curve(Curve::new(points)?))
}
