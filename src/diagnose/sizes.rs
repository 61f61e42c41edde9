//! The possible sizes of a fault on a car, and how plausible each is.

use super::base::Base;
use super::fault::{Fault, FaultId, Size};
use crate::mechanics::SlaveBore;
use crate::schema::COMMON_BORES;

/// The spread of sizes around the usual one, as a logarithm: nine out of ten are within a factor of about five.
const SPREAD: f64 = 1.0;

impl Fault {
    /// The least and the greatest size on this car, as logarithms; `None` where not every size in between is
    /// possible.
    pub(super) fn range(&self, base: &Base) -> Option<(f64, f64)> {
        match self.size {
            Size::Between { low, high, .. } => Some((low.ln(), high.ln())),
            Size::Factor { most, .. } => {
                let own = base.chain.fork.ratio.ln();
                Some((own - most, own + most))
            }
            Size::None | Size::Bore { .. } => None,
        }
    }

    /// The usual size on this car; `None` for a fault without a size.
    pub(super) fn usual(&self, base: &Base) -> Option<f64> {
        Some(match self.size {
            Size::None => return None,
            Size::Between { usual, .. } => usual,
            Size::Factor { usual, .. } => base.chain.fork.ratio * usual.exp(),
            Size::Bore { .. } => *self.bores(base).first()?,
        })
    }

    /// Common sizes on this car, from half of the usual one to twice as much.
    pub(super) fn usual_sizes(&self, base: &Base) -> Vec<f64> {
        const TIMES: [f64; 5] = [0.5, 0.7, 1.0, 1.4, 2.0];
        let own = base.chain.fork.ratio;
        match self.size {
            Size::None => Vec::new(),
            Size::Between { usual, .. } => TIMES.map(|times| times * usual).to_vec(),
            Size::Factor { usual, .. } => {
                let logs = TIMES.map(|times| times * usual);
                logs.iter()
                    .flat_map(|log| [own * log.exp(), own * (-log).exp()])
                    .collect()
            }
            Size::Bore { usual, .. } => {
                let Some(own) = self.own_bore(base) else {
                    return Vec::new();
                };
                let is_usual = |bore: &f64| {
                    let log = (bore / own).ln().abs();
                    0.5 * usual <= log && log <= 2.0 * usual
                };
                self.bores(base).into_iter().filter(is_usual).collect()
            }
        }
    }

    /// The spec's bore that the fault replaces, mm.
    fn own_bore(&self, base: &Base) -> Option<f64> {
        let hydraulics = base.chain.actuation.hydraulics()?;
        match (self.id, &hydraulics.slave.bore) {
            (FaultId::SmallMaster | FaultId::LargeMaster, _) => Some(hydraulics.master.bore),
            (_, SlaveBore::Round(bore)) => Some(*bore),
            (_, SlaveBore::Annulus { .. }) => None,
        }
    }

    /// The commonly made bores that the fault may give this car, mm, the nearest first. Empty for a fault that is not
    /// about a bore.
    pub(super) fn bores(&self, base: &Base) -> Vec<f64> {
        /// Two bores closer than this are the same, mm.
        const SAME: f64 = 0.3;
        let (Size::Bore { larger, most, .. }, Some(own)) = (self.size, self.own_bore(base)) else {
            return Vec::new();
        };
        let fits = |bore: &f64| {
            let past = if larger { bore - own } else { own - bore };
            past >= SAME && (bore / own).ln().abs() <= most
        };
        let mut bores: Vec<f64> = COMMON_BORES.iter().copied().filter(fits).collect();
        bores.sort_by(|a, b| (a - own).abs().total_cmp(&(b - own).abs()));
        bores
    }

    /// How plausible a size is, 0 to 1. At the usual size it is the fault's frequency. It falls with the logarithm of
    /// how many times larger or smaller the size is.
    ///
    /// Source: log-normal, a common assumption for sizes of defects; its spread is common practice, no source.
    pub(super) fn plausibility(&self, base: &Base, size: f64) -> f64 {
        let departure = |own: f64| (size / own).ln().abs();
        let times = match self.size {
            Size::None => return 1.0,
            Size::Between { usual, .. } => size / usual,
            Size::Factor { usual, .. } => departure(base.chain.fork.ratio) / usual,
            Size::Bore { usual, .. } => match self.own_bore(base) {
                Some(own) => departure(own) / usual,
                None => return 0.0,
            },
        };
        let off = times.max(f64::MIN_POSITIVE).ln() / SPREAD;
        self.often * (-0.5 * off * off).exp()
    }
}
