//! What the tolerances of a spec do to its results.
//!
//! Worst case: every input at the end of its band that hurts most. Root-sum-square: the inputs
//! vary independently, and their effects add as the squares do.

use super::outcome::results_alone;
use super::{Chain, Outcome, Results, Sample, work_out};
use crate::model::{System, Toleranced};
use crate::quantity::Band;
use crate::schema::ResultId;
use rustc_hash::FxHashMap;

/// What tolerances do to the results of one system.
#[derive(Clone, PartialEq, Debug)]
pub struct Tolerances {
    /// The values that carry a tolerance.
    pub inputs: Vec<Toleranced>,
    spreads: Vec<Option<Spread>>,
    /// Where some result is worst.
    corners: Vec<Corner>,
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
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
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
        let mut search = Search::new(system, &inputs, &nominal.results);
        if inputs.len() <= MOST_FOR_ALL_CORNERS {
            for corner in every_corner(inputs.len()) {
                search.place(corner);
            }
        }
        let round = |search: &mut Search<'_>| -> Vec<_> {
            search.corners.clear();
            ResultId::all()
                .map(|id| search.spread(id, nominal.get(id)?))
                .collect()
        };
        let known = search.tried.len();
        let mut spreads = round(&mut search);
        // The first round's finds are places to start from for the results before them.
        if search.tried.len() > known {
            spreads = round(&mut search);
        }
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
            for (i, input) in self.inputs.iter().enumerate() {
                moved.hold(input, corner.level(i).of(input.band));
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

    fn all_corners(&self) -> Vec<Corner> {
        let count = self.inputs.len();
        if count > MOST_FOR_ALL_CORNERS {
            return self.corners.clone();
        }
        every_corner(count).collect()
    }
}

/// Every corner of so many bands, each but for one input the same as the one before: the order of the binary
/// code reflected (F. Gray, US patent 2,632,058, 1953).
fn every_corner(count: usize) -> impl Iterator<Item = Corner> {
    (0..1u32 << count).map(move |number| {
        let reflected = number ^ (number >> 1);
        let level = |i: usize| match reflected >> i & 1 {
            0 => Level::Low,
            _ => Level::High,
        };
        (0..count).fold(Corner(0), |corner, i| corner.with(i, level(i)))
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

/// A level for each input: two bits each, so that a corner is copied and compared as one number.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
struct Corner(u128);

impl Corner {
    /// All inputs at one level.
    fn all(level: Level, count: usize) -> Self {
        (0..count).fold(Self(0), |corner, i| corner.with(i, level))
    }

    fn level(self, input: usize) -> Level {
        match self.0 >> (2 * input) & 3 {
            0 => Level::Low,
            1 => Level::Nominal,
            _ => Level::High,
        }
    }

    fn with(self, input: usize, level: Level) -> Self {
        let bits = |level: u128| level << (2 * input);
        Self(self.0 & !bits(3) | bits(level as u128))
    }
}

/// A place that was tried, by its number.
type Place = usize;

struct Search<'a> {
    /// A copy whose values are moved about.
    system: System,
    inputs: &'a [Toleranced],
    /// Where the values of `system` are.
    held: Corner,
    /// Where in `tried` a corner is.
    known: FxHashMap<Corner, Place>,
    /// Every corner that was tried, with what comes of it.
    tried: Vec<(Corner, Option<Results>)>,
    /// For each level as a base, and each input: where each level of that input alone, the others at the base,
    /// is in `tried`.
    one_by_one: [Vec<[Place; 3]>; 3],
    /// Where some result is worst.
    corners: Vec<Corner>,
}

impl<'a> Search<'a> {
    fn new(system: &System, inputs: &'a [Toleranced], nominal: &Results) -> Self {
        let count = inputs.len();
        let middle = Corner::all(Level::Nominal, count);
        let mut search = Self {
            system: system.clone(),
            inputs,
            held: middle,
            known: FxHashMap::from_iter([(middle, 0)]),
            tried: vec![(middle, Some(nominal.clone()))],
            one_by_one: [const { Vec::new() }; 3],
            corners: Vec::new(),
        };
        search.one_by_one = LEVELS.map(|base| {
            let start = Corner::all(base, count);
            let alone = |i| LEVELS.map(|level| search.place(start.with(i, level)));
            (0..count).map(alone).collect()
        });
        search
    }

    /// Where a corner is among those that were tried; it is, if it was not yet.
    fn place(&mut self, corner: Corner) -> Place {
        if let Some(place) = self.known.get(&corner) {
            return *place;
        }
        for (i, input) in self.inputs.iter().enumerate() {
            let level = corner.level(i);
            if level != self.held.level(i) {
                self.system.hold(input, level.of(input.band));
            }
        }
        self.held = corner;
        let place = self.tried.len();
        self.tried.push((corner, results_alone(&self.system)));
        self.known.insert(corner, place);
        place
    }

    /// Whether there is no corner left to try.
    fn is_exhausted(&self) -> bool {
        let levels = LEVELS.len() as u64;
        self.tried.len() as u64 == levels.pow(self.inputs.len() as u32)
    }

    /// A result at a place.
    fn get(&self, place: Place, id: ResultId) -> Option<f64> {
        self.tried.get(place)?.1.as_ref()?.get(id)
    }

    fn spread(&mut self, id: ResultId, nominal: f64) -> Option<Spread> {
        let [_, around_nominal, _] = &self.one_by_one;
        let mut effects = Vec::with_capacity(around_nominal.len());
        for [low, _, high] in around_nominal {
            let off = |place: &Place| Some((self.get(*place, id)? - nominal).abs());
            effects.push(off(low)?.max(off(high)?));
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

    /// The corner that the inputs point to one by one, from one of them all at a level.
    fn pointed_to(
        &self,
        base: usize,
        id: ResultId,
        worse: impl Fn(f64, f64) -> bool,
    ) -> Option<Corner> {
        let one_by_one = self.one_by_one.get(base)?;
        let start = *LEVELS.get(base)?;
        let mut corner = Corner::all(start, one_by_one.len());
        for (i, places) in one_by_one.iter().enumerate() {
            let mut found = self.get(*places.get(base)?, id)?;
            for (level, place) in LEVELS.into_iter().zip(places) {
                let value = self.get(*place, id)?;
                if worse(value, found) {
                    found = value;
                    corner = corner.with(i, level);
                }
            }
        }
        Some(corner)
    }

    /// The worst of a result: from the corner that the inputs point to one by one, starting
    /// with all of them nominal, low or high (what ends the pedal's travel may be another thing
    /// at each, and an input without effect at one of them can have one at another), or from the
    /// worst of all that was tried for other results, every input is tried at every level until none makes it worse.
    fn worst(&mut self, id: ResultId, worse: impl Fn(f64, f64) -> bool) -> Option<f64> {
        /// Interactions settle in two or three rounds; this only bounds silly ones.
        const MOST_ROUNDS: usize = 8;
        let (bases, rounds) = match self.is_exhausted() {
            true => (0, 0),
            false => (LEVELS.len(), MOST_ROUNDS),
        };
        let mut best: Option<(f64, Corner)> = None;
        let is_worse = |value, best: &Option<(f64, Corner)>| {
            best.as_ref().is_none_or(|(known, _)| worse(value, *known))
        };
        for base in 0..bases {
            let corner = self.pointed_to(base, id, &worse)?;
            let place = self.place(corner);
            let value = self.get(place, id)?;
            if is_worse(value, &best) {
                best = Some((value, corner));
            }
        }
        // What was tried for other results may be worse still; what is absent anywhere has no worst.
        for (corner, results) in &self.tried {
            let value = results.as_ref()?.get(id)?;
            if is_worse(value, &best) {
                best = Some((value, *corner));
            }
        }
        let (mut value, mut corner) = best?;
        for _ in 0..rounds {
            let before = value;
            for i in 0..self.inputs.len() {
                for level in LEVELS {
                    let other = corner.with(i, level);
                    let place = self.place(other);
                    let there = self.get(place, id)?;
                    if worse(there, value) {
                        (value, corner) = (there, other);
                    }
                }
            }
            if value == before {
                break;
            }
        }
        if !self.corners.contains(&corner) {
            self.corners.push(corner);
        }
        Some(value)
    }
}

#[cfg(test)]
mod tests {
    use super::{Corner, LEVELS, Level, MAX_TOLERANCED};

    #[test]
    fn a_corner_holds_a_level_for_every_input() {
        let mut corner = Corner::all(Level::Nominal, MAX_TOLERANCED);
        for i in 0..MAX_TOLERANCED {
            corner = corner.with(i, LEVELS[i % 3]);
        }
        for i in 0..MAX_TOLERANCED {
            assert_eq!(corner.level(i), LEVELS[i % 3], "{i}");
        }
    }
}
