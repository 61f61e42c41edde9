//! The effects of a spec's tolerances on its results.
//!
//! Worst case: the least and the greatest that any values inside the bands of the inputs give.
//!
//! Root-sum-square: the inputs vary independently, and their effects, each with the others at nominal, add as squares
//! (JCGM 100:2008, the GUM, 5.1.2; for tolerances F. Scholz, "Tolerance Stack Analysis Methods", Boeing, 1995).
//! Effects that lower a result and effects that raise it are added separately, since a stop or a peak makes them
//! one-sided. That is usual practice, and an approximation (R. Barlow, "Asymmetric Systematic Errors",
//! arXiv:physics/0306138, 2003). The band is cut at the worst case. Effects that simply add never reach it, since the
//! root of a sum of squares is not above the sum. Behind a stop they do not simply add, and there the cut keeps the
//! band inside.

use super::extremes::extremes;
use super::point::Point;
use super::search::{End, Search};
use crate::model::{System, Toleranced};
use crate::quantity::Band;
use crate::schema::ResultId;
use crate::solve::Outcome;

/// The largest number of toleranced inputs. The cost of the search grows with its square, and more inputs would keep
/// an editor waiting.
pub const MAX_TOLERANCED: usize = 40;

/// The effects of tolerances on the results of one system.
#[derive(Clone, PartialEq, Debug)]
pub struct Tolerances {
    /// The values that have a tolerance.
    pub inputs: Vec<Toleranced>,
    spreads: Vec<Option<Spread>>,
    /// The points at which some result is at its least or greatest, and corners.
    pub(super) points: Vec<Point>,
}

/// The effect of tolerances on one result, in internal units.
#[derive(Clone, PartialEq, Debug)]
pub struct Spread {
    /// Worst case. Its nominal value is the result without tolerances.
    pub worst: Band,
    /// Root-sum-square: where the result lies if the inputs vary independently. Never outside `worst`.
    pub rss: Band,
    /// The share of each input in the spread, in the order of the inputs. The shares are of the sum of what they
    /// bring one by one.
    pub shares: Vec<f64>,
}

impl Spread {
    /// The spread of a result; `None` where it is absent somewhere in the bands.
    fn new(search: &Search<'_>, id: ResultId, inputs: usize, nominal: f64) -> Option<Self> {
        let worst = Band {
            nominal,
            low: search.extreme(id, End::Least)?,
            high: search.extreme(id, End::Most)?,
        };
        let mut effects = Vec::with_capacity(inputs);
        let (mut down, mut up) = (0.0_f64, 0.0_f64);
        for input in 0..inputs {
            let [low, high] = search.alone(id, input)?.map(|value| value - nominal);
            down += low.min(high).min(0.0).powi(2);
            up += low.max(high).max(0.0).powi(2);
            effects.push(low.abs().max(high.abs()));
        }
        let sum: f64 = effects.iter().sum();
        let share = |effect: &f64| if sum > 0.0 { effect / sum } else { 0.0 };
        Some(Self {
            worst,
            rss: Band {
                nominal,
                low: (nominal - down.sqrt()).max(worst.low),
                high: (nominal + up.sqrt()).min(worst.high),
            },
            shares: effects.iter().map(share).collect(),
        })
    }

    /// The share of each input in the variance (the sum of squares), in the order of the inputs.
    pub fn variance_shares(&self) -> Vec<f64> {
        let sum: f64 = self.shares.iter().map(|share| share * share).sum();
        let part = |share: &f64| if sum > 0.0 { share * share / sum } else { 0.0 };
        self.shares.iter().map(part).collect()
    }
}

/// The contribution of one input to a result's spread.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Contribution<'t> {
    /// The value with a tolerance.
    pub input: &'t Toleranced,
    /// Its share of the worst case.
    pub of_worst: f64,
    /// Its share of the variance.
    pub of_variance: f64,
}

impl Tolerances {
    /// The contribution of every input to a result's spread, the largest share of the worst case first.
    pub fn contributions(&self, id: ResultId) -> Vec<Contribution<'_>> {
        let Some(spread) = self.get(id) else {
            return Vec::new();
        };
        let shares = spread.shares.iter().zip(spread.variance_shares());
        let inputs = self.inputs.iter().zip(shares);
        let mut found: Vec<Contribution<'_>> = inputs
            .map(|(input, (of_worst, of_variance))| Contribution {
                input,
                of_worst: *of_worst,
                of_variance,
            })
            .collect();
        found.sort_by(|a, b| b.of_worst.total_cmp(&a.of_worst));
        found
    }

    /// The spreads of all results; `None` for a system without tolerances, or with more than
    /// [`MAX_TOLERANCED`].
    pub fn new(system: &System, nominal: &Outcome) -> Option<Self> {
        let inputs = system.toleranced();
        if inputs.is_empty() || inputs.len() > MAX_TOLERANCED {
            return None;
        }
        let search = extremes(system, &inputs, &nominal.results);
        let spread = |id| Spread::new(&search, id, inputs.len(), nominal.get(id)?);
        let spreads = ResultId::all().map(spread).collect();
        let points = search.points();
        Some(Self {
            inputs,
            spreads,
            points,
        })
    }

    /// The spread of a result; `None` where it is absent, or would be somewhere in the bands.
    pub fn get(&self, id: ResultId) -> Option<&Spread> {
        self.spreads.get(id.index())?.as_ref()
    }

    /// The inputs by their share in a result's spread, the greatest first.
    pub fn by_share(&self, id: ResultId) -> Vec<(&Toleranced, f64)> {
        let Some(spread) = self.get(id) else {
            return Vec::new();
        };
        let mut shares: Vec<(&Toleranced, f64)> = self
            .inputs
            .iter()
            .zip(spread.shares.iter().copied())
            .collect();
        shares.sort_by(|a, b| b.1.total_cmp(&a.1));
        shares
    }

    /// The inputs with the largest shares in a result's spread, for people: `pedal.travel 60 %, slave.bore 25 %`.
    pub fn shares_text(&self, system: &System, id: ResultId) -> String {
        /// The smallest share of a spread for which an input is named.
        const LEAST_SHARE: f64 = 0.05;
        let named: Vec<String> = self
            .by_share(id)
            .iter()
            .filter(|(_, share)| *share >= LEAST_SHARE)
            .map(|(input, share)| format!("{} {:.0} %", system.name_of(input), share * 100.0))
            .collect();
        named.join(", ")
    }
}
