//! The lever that is not square and makes the pedal heavy: which one, how far off, and what it costs.

use super::Context;
use crate::finding::Place;
use crate::mechanics::{Lever, Swing};
use crate::model::Component;
use crate::quantity::Dimension;
use crate::{field, result};

/// A lever that is not square to its rod.
pub(super) struct OffSquare {
    /// Which lever, how far off square, what it costs.
    pub words: String,
    /// Where the spec gives its angle.
    pub place: Place,
}

/// The least share of the effort that a lever costs for it to be named. Common practice, no source.
const WORTH_SAYING: f64 = 0.03;

/// The relay lever or cross-shaft that would save the foot most if it were as far before square at rest as past it at
/// full pedal. `None` where none saves much of `effort`, N.
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
            "the in arm of {name} gets up to {} off square to its rod; set to swing equally to both sides of square, it \
             would save {}",
            cx.show(swing.most_off_square(), Dimension::ANGLE),
            cx.force(spared),
        ),
        place,
    })
}

/// A lever's name in a message, and where the spec gives its angle.
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
