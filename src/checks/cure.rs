//! The search for a value that cures a finding.

use super::Context;
use super::sizes::COMMON_BORES;
use crate::mechanics::{Chain, Outcome, SlaveBore};
use crate::result;

/// A change that cures, and what comes of it.
pub struct Cure {
    /// The new value, in internal units.
    pub value: f64,
    pub outcome: Outcome,
}

/// Whether the disc comes free, the cover is not overstroked and both cylinders stay inside
/// their strokes.
pub fn is_sound(outcome: &Outcome) -> bool {
    let holds = |id| outcome.get(id).is_none_or(|margin| margin >= 0.0);
    holds(result!(release_margin))
        && holds(result!(overtravel_margin))
        && holds(result!(slave_reserve))
        && holds(result!(master_reserve))
}

/// The commonly made bore, nearest to the present one, that makes the system sound.
///
/// `change` lays a bore into the chain.
pub fn bore(context: &Context<'_>, present: f64, change: impl Fn(&mut Chain, f64)) -> Option<Cure> {
    let mut bores: Vec<f64> = COMMON_BORES.to_vec();
    bores.sort_by(|a, b| (a - present).abs().total_cmp(&(b - present).abs()));
    bores.into_iter().find_map(|value| {
        let outcome = context.what_if(|chain| change(chain, value))?;
        is_sound(&outcome).then_some(Cure { value, outcome })
    })
}

/// A master bore that makes the system sound.
pub fn master_bore(context: &Context<'_>) -> Option<Cure> {
    let present = context.outcome.hydraulics().master.bore;
    bore(context, present, |chain, bore| {
        chain.hydraulics_mut().master.bore = bore;
    })
}

/// A slave bore that makes the system sound; `None` for a concentric slave.
pub fn slave_bore(context: &Context<'_>) -> Option<Cure> {
    let SlaveBore::Round(present) = context.outcome.hydraulics().slave.bore else {
        return None;
    };
    bore(context, present, |chain, bore| {
        chain.hydraulics_mut().slave.bore = SlaveBore::Round(bore);
    })
}
