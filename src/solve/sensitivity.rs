//! What an input moves: every result of a system before and after a step, always calculated and never a list kept by
//! hand.

use super::Outcome;
use crate::schema::ResultId;

/// A result before and after steps of one input, in its internal unit; `None` where it is absent.
#[derive(Clone, PartialEq, Debug)]
pub struct Movement {
    pub result: ResultId,
    pub now: Option<f64>,
    /// The value after each step.
    pub after: Vec<Option<f64>>,
}

/// A change below this is rounding, in the result's internal unit or as a share of it.
const ROUNDING: f64 = 1e-9;

impl Movement {
    /// The largest change as a share of the larger of the two values. It is 1 where the result appears or disappears,
    /// 0 where nothing moves.
    pub fn extent(&self) -> f64 {
        let one = |after: &Option<f64>| match (self.now, after) {
            (Some(now), Some(after)) => {
                let (by, scale) = ((after - now).abs(), now.abs().max(after.abs()));
                if by > ROUNDING { by / scale } else { 0.0 }
            }
            (None, None) => 0.0,
            _ => 1.0,
        };
        self.after.iter().map(one).fold(0.0, f64::max)
    }
}

/// The results that steps of an input move, the largest change first. A step that cannot be worked out is `None` and
/// moves nothing.
pub fn movements(now: &Outcome, steps: &[Option<Outcome>]) -> Vec<Movement> {
    let of_result = |result: ResultId| Movement {
        result,
        now: now.get(result),
        after: steps
            .iter()
            .map(|step| match step {
                Some(step) => step.get(result),
                None => now.get(result),
            })
            .collect(),
    };
    let mut moved: Vec<Movement> = ResultId::all()
        .map(of_result)
        .filter(|movement| movement.extent() > ROUNDING)
        .collect();
    // A stable sort: equal changes stay in the order of the schema.
    moved.sort_by(|a, b| b.extent().total_cmp(&a.extent()));
    moved
}
