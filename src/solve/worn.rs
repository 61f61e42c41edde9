//! The results with a worn disc.

use super::inputs::{SideInputs, diaphragm_load};
use super::results::{Results, solution};
use crate::mechanics::Chain;

/// The results of a chain with its disc worn out; `None` where the wear is not known or leaves no meaning.
pub(super) fn worn_results(chain: &Chain, side: &SideInputs) -> Option<Results> {
    let wear = side.wear.filter(|wear| *wear > 0.0)?;
    let at_fingers = wear * side.finger_ratio?;
    let load = match &side.diaphragm {
        None => None,
        Some(diaphragm) => Some(diaphragm_load(
            diaphragm,
            wear,
            side.cushion,
            chain.cover.most,
        )?),
    };
    let side = SideInputs {
        // What was measured was measured on the car as it is, not on this one.
        measured: None,
        rod: None,
        // The rod was cut for a new disc, and does not grow.
        mount_to_fork: None,
        ..*side
    };
    let worn = solution(&chain.worn(at_fingers, load)?, &side, wear)?;
    Some(worn.results)
}
