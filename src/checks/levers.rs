//! The lever that stands off square and makes the pedal heavy: which one, how far, and what it costs.

use super::Context;
use crate::finding::Place;
use crate::mechanics::{Lever, Swing};
use crate::model::Component;
use crate::quantity::Dimension;
use crate::{field, result};

/// A lever off square.
pub(super) struct OffSquare {
    /// Which lever, how far off square, what it costs.
    pub words: String,
    /// Where the spec says how it stands.
    pub place: Place,
}

/// What a lever costs at least before it is named: a share of the effort. Common practice, no source.
const WORTH_SAYING: f64 = 0.03;

/// The lever, among the relay levers and the cross-shaft, that would spare the foot most if it stood as far before
/// square at rest as past it at full pedal; `None` where none spares much of `effort`, N.
pub(super) fn costliest(cx: &Context<'_>, effort: f64) -> Option<OffSquare> {
    let spared = |swing: Swing| {
        let square = cx.what_if(|chain| chain.set_square(swing.lever, swing.turn))?;
        Some((effort - square.get(result!(pedal_effort))?, swing))
    };
    let swings = cx.outcome.chain.swings();
    let (spared, swing) = swings
        .into_iter()
        .filter_map(spared)
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .filter(|(spared, _)| *spared > WORTH_SAYING * effort)?;
    let (name, place) = named(cx, swing.lever)?;
    Some(OffSquare {
        words: format!(
            "the in arm of {name} comes up to {} off square to its rod, and one that stood evenly about square would \
             spare {}",
            cx.show(swing.most_off_square(), Dimension::ANGLE),
            cx.force(spared),
        ),
        place,
    })
}

/// A lever as a message names it, and where the spec says how it stands.
pub(super) fn named(cx: &Context<'_>, lever: Lever) -> Option<(String, Place)> {
    let of_relay = |relay: &Component| {
        let label = relay.label.as_deref().unwrap_or_default();
        let given = relay.given(field!(relay.in_angle));
        let place = given.map_or(&relay.place, |given| &given.place);
        (format!("the lever `{label}`"), place.clone())
    };
    match lever {
        Lever::CrossShaft => {
            let place = cx.place(field!(linkage.in_angle));
            Some(("the cross-shaft".to_owned(), place))
        }
        Lever::AtFork(i) => cx.system.relays_at_fork().nth(i).map(of_relay),
        Lever::AtPedal(i) => cx.system.relays_at_pedal().nth(i).map(of_relay),
    }
}
