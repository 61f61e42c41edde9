//! What a cure must reach.

use super::{Context, ResultLimit};
use crate::quantity::Dimension;
use crate::schema::ResultId;
use crate::solve::Outcome;

/// The condition on an outcome under which a problem is cured.
pub struct Goal {
    /// The result that it is about, which each cure names.
    pub result: ResultId,
    /// The least margin that a cure must leave.
    pub in_hand: f64,
    margin: Margin,
}

/// How far an outcome, or a result of it, is on the right side; below zero where it is not cured.
enum Margin {
    OfResult {
        margin: Box<OfResult>,
        /// Whether more of the result is worse.
        falls: bool,
    },
    OfOutcome(Box<OfOutcome>),
}

type OfResult = dyn Fn(f64) -> Option<f64> + Send + Sync;
type OfOutcome = dyn Fn(&Outcome) -> Option<f64> + Send + Sync;

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
            margin: Margin::OfOutcome(Box::new(margin)),
        }
    }

    /// `margin` says how far the result, in its internal unit, is on the right side; below zero where it is not cured. A
    /// result that is absent has no margin. `falls` says that it never rises with the result.
    pub fn of_result(
        result: ResultId,
        falls: bool,
        margin: impl Fn(f64) -> Option<f64> + Send + Sync + 'static,
    ) -> Self {
        Self {
            result,
            in_hand: 0.0,
            margin: Margin::OfResult {
                margin: Box::new(margin),
                falls,
            },
        }
    }

    /// A goal that keeps a result inside the running check's bound.
    pub fn within_bound(cx: &Context<'_>, result: ResultId) -> Self {
        let row = cx.row(result);
        let bound = cx.bound(result);
        Self {
            in_hand: in_hand(result),
            ..Self::of_result(
                result,
                row.is_some_and(ResultLimit::is_most),
                move |value| Some(row?.inside(value, bound?)),
            )
        }
    }

    /// How far an outcome is on the right side; below zero it is not cured.
    pub fn margin(&self, outcome: &Outcome) -> Option<f64> {
        match &self.margin {
            Margin::OfResult { margin, .. } => margin(outcome.get(self.result)?),
            Margin::OfOutcome(margin) => margin(outcome),
        }
    }

    /// How far a value of the result is on the right side, and whether that never rises with the result; `None` where the
    /// margin takes more than the result to know.
    pub fn margin_of_result(&self) -> Option<(&OfResult, bool)> {
        match &self.margin {
            Margin::OfResult { margin, falls } => Some((margin, *falls)),
            Margin::OfOutcome(_) => None,
        }
    }
}

/// The least margin that a cure must leave inside a result's bound. For a travel or a clearance it is a tenth of a
/// millimeter, which a workshop can measure (common practice, no source).
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
