//! Where on the pedal the disc comes free: what several checks weigh against each other.

use super::{Context, Limit};
use crate::check_id::CheckId;
use crate::quantity::Dimension;
use crate::result;
use crate::solve::Outcome;

/// What `low-bite` wants to be left of the pedal.
pub const LEFT: Limit = Limit {
    name: "left",
    value: 0.11,
    dimension: Dimension::NUMBER,
    what: "least share of the pedal's travel that is left when the disc comes free",
    source: "least values of three cars' service manuals, 2005 to 2016: 11 to 18 %",
};

/// Pad travel before release as a share of the travel used.
pub fn share_before_release(outcome: &Outcome) -> Option<f64> {
    let point = outcome.get(result!(release_point))?;
    let used = outcome.get(result!(pedal_travel_used))?;
    (used > 0.0).then(|| point / used)
}

/// How much more of the pedal's travel is left once the disc is free than the least that should be, as a
/// share of the travel, for the cures of others.
pub fn bite_to_spare(cx: &Context<'_>) -> impl Fn(&Outcome) -> Option<f64> + Send + Sync + use<> {
    let least = LEFT.under(cx.settings, CheckId::LowBite);
    move |outcome| Some(1.0 - share_before_release(outcome)? - least)
}
