//! What a cure must bring about.

use super::Context;
use crate::schema::ResultId;
use crate::solve::Outcome;

/// What must hold of an outcome for a problem to be cured.
pub struct Goal {
    /// The result that it is about, told with each cure.
    pub result: ResultId,
    margin: Box<Margin>,
}

type Margin = dyn Fn(&Outcome) -> Option<f64> + Send + Sync;

impl Goal {
    /// `margin` says how far an outcome is on the right side, in any unit; below zero where it is not cured.
    pub fn new(
        result: ResultId,
        margin: impl Fn(&Outcome) -> Option<f64> + Send + Sync + 'static,
    ) -> Self {
        Self {
            result,
            margin: Box::new(margin),
        }
    }

    /// The result inside the bound that it has by the check that looks.
    pub fn within_bound(cx: &Context<'_>, result: ResultId) -> Self {
        let row = cx.row(result);
        let bound = cx.bound(result);
        Self::new(result, move |outcome| {
            Some(row?.inside(outcome.get(result)?, bound?))
        })
    }

    /// How far an outcome is on the right side; below zero where it is not cured.
    pub fn margin(&self, outcome: &Outcome) -> Option<f64> {
        (self.margin)(outcome)
    }
}

impl std::fmt::Debug for Goal {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_tuple("Goal")
            .field(&self.result.spec().name)
            .finish()
    }
}
