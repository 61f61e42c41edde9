//! What a cure must reach.

use super::Context;
use crate::quantity::Dimension;
use crate::schema::ResultId;
use crate::solve::Outcome;

/// The condition on an outcome under which a problem is cured.
pub struct Goal {
    /// The result that it is about, which each cure names.
    pub result: ResultId,
    /// The least margin that a cure must leave.
    pub in_hand: f64,
    margin: Box<Margin>,
}

type Margin = dyn Fn(&Outcome) -> Option<f64> + Send + Sync;

impl Goal {
    /// A goal on a result. `margin` says how far an outcome is on the right side, in any unit; below zero it is not
    /// cured.
    pub fn new(
        result: ResultId,
        margin: impl Fn(&Outcome) -> Option<f64> + Send + Sync + 'static,
    ) -> Self {
        Self {
            result,
            in_hand: 0.0,
            margin: Box::new(margin),
        }
    }

    /// A goal that keeps a result inside the running check's bound.
    pub fn within_bound(cx: &Context<'_>, result: ResultId) -> Self {
        let row = cx.row(result);
        let bound = cx.bound(result);
        let inside = move |outcome: &Outcome| Some(row?.inside(outcome.get(result)?, bound?));
        Self {
            in_hand: in_hand(result),
            ..Self::new(result, inside)
        }
    }

    /// How far an outcome is on the right side; below zero it is not cured.
    pub fn margin(&self, outcome: &Outcome) -> Option<f64> {
        (self.margin)(outcome)
    }
}

/// The least margin that a cure must leave inside a result's bound. For a travel or a clearance it is a tenth of a
/// millimetre, which a workshop can measure (common practice, no source).
pub(super) fn in_hand(result: ResultId) -> f64 {
    match result.spec().dimension == Dimension::LENGTH {
        true => 0.1,
        false => 0.0,
    }
}

impl std::fmt::Debug for Goal {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_tuple("Goal")
            .field(&self.result.spec().name)
            .finish()
    }
}
