//! What the tolerances of a spec do to its results.
//!
//! Worst case: every input at the end of its band that hurts most. Root-sum-square: the inputs
//! vary independently, and their effects add as the squares do.

use super::{Chain, Outcome, Results, Sample, work_out};
use crate::model::{System, Toleranced};
use crate::quantity::Band;
use crate::schema::ResultId;
use std::collections::HashMap;

/// What tolerances do to the results of one system.
#[derive(Clone, PartialEq, Debug)]
pub struct Tolerances {
    /// The values that carry a tolerance.
    pub inputs: Vec<Toleranced>,
    spreads: Vec<Option<Spread>>,
    /// Where some result is worst.
    corners: Vec<Vec<Level>>,
}

/// What tolerances do to one result, in internal units.
#[derive(Clone, PartialEq, Debug)]
pub struct Spread {
    /// Worst case; the nominal value is the one without tolerances.
    pub worst: Band,
    /// Root-sum-square: how far the result lies from nominal if the inputs vary independently.
    pub rss: f64,
    /// How much of the spread each input brings by itself, as parts of what they bring one by one, in the
    /// order of the inputs.
    pub shares: Vec<f64>,
}

impl Spread {
    /// How much of the square of `rss`, the variance, each input brings, as parts of one, in the order of the
    /// inputs.
    pub fn variance_shares(&self) -> Vec<f64> {
        let sum: f64 = self.shares.iter().map(|share| share * share).sum();
        let part = |share: &f64| if sum > 0.0 { share * share / sum } else { 0.0 };
        self.shares.iter().map(part).collect()
    }

    /// The root-sum-square's band.
    pub fn likely(&self) -> Band {
        Band::around(self.worst.nominal, self.rss)
    }
}

/// Which of its three values an input takes.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
enum Level {
    Low,
    Nominal,
    High,
}

const LEVELS: [Level; 3] = [Level::Low, Level::Nominal, Level::High];

impl Level {
    fn of(self, band: Band) -> f64 {
        match self {
            Self::Low => band.low,
            Self::Nominal => band.nominal,
            Self::High => band.high,
        }
    }
}

impl Tolerances {
    /// The spreads of all results; `None` for a system without tolerances, or with more than
    /// [`MAX_TOLERANCED`].
    ///
    /// Inputs act monotonically nearly everywhere, so that a result is worst at a corner of the
    /// bands; both ends and the middle of each are tried. Up to [`MOST_FOR_ALL_CORNERS`] inputs every
    /// corner is tried; with more, on the way from several places to the worst.
    pub fn new(system: &System, nominal: &Outcome) -> Option<Self> {
        let inputs = system.toleranced();
        if inputs.is_empty() || inputs.len() > MAX_TOLERANCED {
            return None;
        }
        let mut search = Search {
            system: system.clone(),
            inputs: &inputs,
            known: HashMap::new(),
            tried: Vec::new(),
            corners: Vec::new(),
        };
        if search.inputs.len() <= MOST_FOR_ALL_CORNERS {
            for corner in every_corner(search.inputs.len()) {
                search.results(&corner);
            }
        }
        let mut spreads = || -> Vec<_> {
            search.corners.clear();
            ResultId::all()
                .map(|id| search.spread(id, nominal.get(id)?))
                .collect()
        };
        // The first round's finds are places to start from for the results before them.
        spreads();
        let spreads = spreads();
        let corners = search.corners;
        Some(Self {
            inputs,
            spreads,
            corners,
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
}

/// The curve of a system with the worst case of its tolerances at each pad travel.
#[derive(Clone, PartialEq, Debug)]
pub struct CurveBand {
    /// At each pad travel of the nominal curve, the least of every value.
    pub low: Vec<Sample>,
    /// The same, the most of every value.
    pub high: Vec<Sample>,
}

/// With more inputs the search, whose cost grows with their square, would keep an editor waiting.
pub const MAX_TOLERANCED: usize = 40;

/// With so many inputs or fewer every corner of the bands is drawn; with more, those corners at
/// which some result is worst.
const MOST_FOR_ALL_CORNERS: usize = 8;

/// Corner curves are this much finer than the nominal one, on whose places they are read.
const FINER: usize = 4;

impl Tolerances {
    /// The band around a system's curve of so many samples; `nominal` is its chain.
    pub fn curve(&self, system: &System, nominal: &Chain, samples: usize) -> CurveBand {
        let middle = nominal.curve(samples);
        let mut band = CurveBand {
            low: middle.clone(),
            high: middle.clone(),
        };
        let mut moved = system.clone();
        for corner in self.all_corners() {
            for (input, level) in self.inputs.iter().zip(&corner) {
                moved.hold(input, level.of(input.band));
            }
            let Ok(outcome) = work_out(&moved) else {
                continue;
            };
            let curve = outcome.chain.curve(samples * FINER);
            for (i, place) in middle.iter().enumerate() {
                // A corner whose pedal ends earlier says nothing further down.
                if let Some(there) = read(&curve, place.pad_travel) {
                    band.low[i] = there.combined(&band.low[i], f64::min);
                    band.high[i] = there.combined(&band.high[i], f64::max);
                }
            }
        }
        band
    }

    fn all_corners(&self) -> Vec<Vec<Level>> {
        let count = self.inputs.len();
        if count > MOST_FOR_ALL_CORNERS {
            return self.corners.clone();
        }
        every_corner(count).collect()
    }
}

/// Every corner of so many bands.
fn every_corner(count: usize) -> impl Iterator<Item = Vec<Level>> {
    (0..1u32 << count).map(move |corner| {
        let level = |i: usize| match corner >> i & 1 {
            0 => Level::Low,
            _ => Level::High,
        };
        (0..count).map(level).collect()
    })
}

/// A curve at a pad travel, between its samples in a straight line; `None` past its end.
fn read(curve: &[Sample], pad_travel: f64) -> Option<Sample> {
    let next = curve.partition_point(|sample| sample.pad_travel < pad_travel);
    let after = curve.get(next)?;
    let Some(before) = next.checked_sub(1).and_then(|i| curve.get(i)) else {
        return Some(*after);
    };
    let share = (pad_travel - before.pad_travel) / (after.pad_travel - before.pad_travel);
    Some(before.combined(after, |a, b| a + (b - a) * share))
}

impl Tolerances {
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

struct Search<'a> {
    /// A copy whose values are moved about.
    system: System,
    inputs: &'a [Toleranced],
    /// Where in `tried` a place is.
    known: HashMap<Vec<Level>, usize>,
    /// Every place that was tried, with what comes of it.
    tried: Vec<(Vec<Level>, Option<Results>)>,
    corners: Vec<Vec<Level>>,
}

impl Search<'_> {
    /// What comes of every input at a level.
    fn results(&mut self, levels: &[Level]) -> Option<&Results> {
        let place = match self.known.get(levels) {
            Some(place) => *place,
            None => {
                for (input, level) in self.inputs.iter().zip(levels) {
                    self.system.hold(input, level.of(input.band));
                }
                let results = work_out(&self.system).ok().map(|outcome| outcome.results);
                self.known.insert(levels.to_vec(), self.tried.len());
                self.tried.push((levels.to_vec(), results));
                self.tried.len() - 1
            }
        };
        self.tried.get(place)?.1.as_ref()
    }

    /// A result with every input at a level.
    fn at(&mut self, levels: &[Level], id: ResultId) -> Option<f64> {
        self.results(levels)?.get(id)
    }

    fn spread(&mut self, id: ResultId, nominal: f64) -> Option<Spread> {
        let count = self.inputs.len();
        let mut effects = Vec::with_capacity(count);
        for i in 0..count {
            let mut levels = vec![Level::Nominal; count];
            let mut effect = 0.0_f64;
            for level in [Level::Low, Level::High] {
                levels[i] = level;
                effect = effect.max((self.at(&levels, id)? - nominal).abs());
            }
            effects.push(effect);
        }
        let low = self.worst(id, |new, old| new < old)?;
        let high = self.worst(id, |new, old| new > old)?;
        let sum: f64 = effects.iter().sum();
        let share = |effect: &f64| if sum > 0.0 { effect / sum } else { 0.0 };
        Some(Spread {
            worst: Band {
                nominal,
                low: low.min(nominal),
                high: high.max(nominal),
            },
            rss: effects
                .iter()
                .map(|effect| effect * effect)
                .sum::<f64>()
                .sqrt(),
            shares: effects.iter().map(share).collect(),
        })
    }

    /// The worst of a result: from the corner that the inputs point to one by one, starting
    /// with all of them nominal, low or high (what ends the pedal's travel may be another thing
    /// at each, and an input without effect at one of them can have one at another), or from the
    /// worst of all that was tried for other results, every input is tried at every level until none makes it worse.
    fn worst(&mut self, id: ResultId, worse: impl Fn(f64, f64) -> bool) -> Option<f64> {
        /// Interactions settle in two or three rounds; this only bounds silly ones.
        const MOST_ROUNDS: usize = 8;
        let count = self.inputs.len();
        let mut best: Option<(f64, Vec<Level>)> = None;
        for base in LEVELS {
            let start = vec![base; count];
            let mut corner = start.clone();
            for (i, chosen) in corner.iter_mut().enumerate() {
                let mut levels = start.clone();
                let mut found = self.at(&levels, id)?;
                for level in LEVELS {
                    levels[i] = level;
                    let value = self.at(&levels, id)?;
                    if worse(value, found) {
                        (found, *chosen) = (value, level);
                    }
                }
            }
            let value = self.at(&corner, id)?;
            if best.as_ref().is_none_or(|(known, _)| worse(value, *known)) {
                best = Some((value, corner));
            }
        }
        // What was tried for other results may be worse still; what is absent anywhere has no worst.
        for (levels, results) in &self.tried {
            let value = results.as_ref()?.get(id)?;
            if best.as_ref().is_none_or(|(known, _)| worse(value, *known)) {
                best = Some((value, levels.clone()));
            }
        }
        let (mut value, mut levels) = best?;
        for _ in 0..MOST_ROUNDS {
            let before = value;
            for i in 0..count {
                let mut choice = levels[i];
                for level in LEVELS {
                    levels[i] = level;
                    let other = self.at(&levels, id)?;
                    if worse(other, value) {
                        (value, choice) = (other, level);
                    }
                }
                levels[i] = choice;
            }
            if value == before {
                break;
            }
        }
        if !self.corners.contains(&levels) {
            self.corners.push(levels);
        }
        Some(value)
    }
}
