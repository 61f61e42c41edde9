//! What the tolerances of a spec do to its results.
//!
//! Worst case: the least and the most that any values inside the bands of the inputs give.
//!
//! Root-sum-square: the inputs vary independently, and their effects, each with the others at nominal, add as the
//! squares do (JCGM 100:2008, the GUM, 5.1.2; of tolerances F. Scholz, "Tolerance Stack Analysis Methods", Boeing,
//! 1995). What lowers a result and what raises it are added apart, since a stop or a peak makes effects one-sided:
//! usual practice, and an approximation (R. Barlow, "Asymmetric Systematic Errors", arXiv:physics/0306138, 2003).
//! The band is cut at the worst case. Effects that simply add never reach it, for the root of a sum of squares is not
//! above the sum; where they do not, as behind a stop, nothing lies beyond it all the same.

use super::extremes::extremes;
use super::point::Point;
use super::search::{End, Search};
use crate::model::{System, Toleranced};
use crate::quantity::Band;
use crate::schema::ResultId;
use crate::solve::Outcome;

/// With more inputs the search, whose cost grows with their square, would keep an editor waiting.
pub const MAX_TOLERANCED: usize = 40;

/// What tolerances do to the results of one system.
#[derive(Clone, PartialEq, Debug)]
pub struct Tolerances {
    /// The values that carry a tolerance.
    pub inputs: Vec<Toleranced>,
    spreads: Vec<Option<Spread>>,
    /// Where some result is at its least or most, and corners.
    pub(super) points: Vec<Point>,
}

/// What tolerances do to one result, in internal units.
#[derive(Clone, PartialEq, Debug)]
pub struct Spread {
    /// Worst case; the nominal value is the one without tolerances.
    pub worst: Band,
    /// Root-sum-square: where the result lies if the inputs vary independently. Never outside of `worst`.
    pub rss: Band,
    /// How much of the spread each input brings by itself, as parts of what they bring one by one, in the
    /// order of the inputs.
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

    /// How much of the variance, the sum of the squares, each input brings, as parts of one, in the order of the
    /// inputs.
    pub fn variance_shares(&self) -> Vec<f64> {
        let sum: f64 = self.shares.iter().map(|share| share * share).sum();
        let part = |share: &f64| if sum > 0.0 { share * share / sum } else { 0.0 };
        self.shares.iter().map(part).collect()
    }
}

/// What one input brings of a result's spread.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Contribution<'t> {
    /// The value with a tolerance.
    pub input: &'t Toleranced,
    /// Its part of the worst case.
    pub of_worst: f64,
    /// Its part of the variance.
    pub of_variance: f64,
}

impl Tolerances {
    /// What every input brings of a result's spread, what brings most of the worst case first.
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

    /// What the tolerances do to a result; `None` where the result is absent, or would be
    /// somewhere in the bands.
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

    /// Who brings a result's spread, for people: `pedal.travel 60 %, slave.bore 25 %`.
    pub fn shares_text(&self, system: &System, id: ResultId) -> String {
        /// Inputs that bring less than this part of a spread are not worth naming.
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
