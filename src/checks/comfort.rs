//! Where on the pedal the disc is released: the part of it that several checks share.

use super::{Context, Limit};
use crate::check_id::CheckId;
use crate::quantity::Dimension;
use crate::result;
use crate::solve::Outcome;

/// The pedal travel that `low-bite` requires after release.
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

/// The pedal travel left after the disc is released, less `least`, both as shares of the travel. Below zero too
/// little is left. A full pedal past the middle of the cover's window is always enough: a pedal stop could leave no
/// more in a small window without bending the cover.
pub fn bite_margin(outcome: &Outcome, least: f64) -> Option<f64> {
    let left = 1.0 - share_before_release(outcome)? - least;
    let to_near_end = outcome.get(result!(release_margin))?;
    let to_far_end = outcome.get(result!(overtravel_margin))?;
    let is_past_middle = to_near_end >= to_far_end;
    Some(if is_past_middle { left.max(0.0) } else { left })
}

/// [`bite_margin`] with the limit of `low-bite`, for the cures of other checks.
pub fn bite_to_spare(cx: &Context<'_>) -> impl Fn(&Outcome) -> Option<f64> + Send + Sync + use<> {
    let least = LEFT.under(cx.settings, CheckId::LowBite);
    move |outcome| bite_margin(outcome, least)
}
