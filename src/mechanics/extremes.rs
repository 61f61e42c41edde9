//! The least and the most of every result while inputs vary inside their bands.
//!
//! Most results rise or fall all along the band of an input, so that an extreme lies at a corner. Where another stop
//! comes first, or the load is past its peak, it lies inside: at a kink, or on a ridge where two inputs hold each
//! other's balance. The search goes from corner to corner, then looks whether the result goes on getting worse on
//! the way in from a corner, along each input and along ridges. Whatever is evaluated counts for every result.
//!
//! It is a search, no proof: a result with several peaks along the band of an input may hide one. Random systems
//! with tolerances up to 20 % hide none that random draws would find (`tests/tolerance.rs`).

use super::Results;
use super::numeric::peak;
use super::outcome::results_alone;
use crate::model::{System, Toleranced};
use crate::quantity::Band;
use crate::schema::{RESULTS, ResultId};
use rustc_hash::FxHashMap;

/// Which extreme of a result.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum End {
    Least,
    Most,
}

impl End {
    pub const BOTH: [Self; 2] = [Self::Least, Self::Most];

    /// The value, turned so that the extreme is the highest.
    fn worth(self, value: f64) -> f64 {
        match self {
            Self::Least => -value,
            Self::Most => value,
        }
    }
}

/// Where in its band an input is.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Level {
    Low,
    /// So near to the low end that nothing happens between.
    AfterLow,
    Nominal,
    BeforeHigh,
    High,
    /// Anywhere else.
    Inside,
}

/// The levels that are tried of every input.
const LEVELS: [Level; 3] = [Level::Low, Level::Nominal, Level::High];

/// How near to an end a result is held against the one there, as a part of the band.
const NEAR: f64 = 1e-5;

impl Level {
    fn of(self, band: Band) -> f64 {
        let near = NEAR * (band.high - band.low);
        match self {
            Self::Low => band.low,
            Self::AfterLow => band.low + near,
            Self::Nominal | Self::Inside => band.nominal,
            Self::BeforeHigh => band.high - near,
            Self::High => band.high,
        }
    }

    /// What is tried in its place.
    fn others(self) -> [Self; 2] {
        match self {
            Self::Low => [Self::High, Self::AfterLow],
            Self::High => [Self::Low, Self::BeforeHigh],
            Self::AfterLow | Self::Nominal | Self::BeforeHigh | Self::Inside => {
                [Self::Low, Self::High]
            }
        }
    }
}

/// A level for each input, so that a corner is copied and compared as one number.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
struct Corner(u128);

impl Corner {
    /// Bits that hold a level.
    const BITS: usize = 3;

    /// All inputs at one level.
    fn all(level: Level, count: usize) -> Self {
        (0..count).fold(Self(0), |corner, i| corner.with(i, level))
    }

    fn level(self, input: usize) -> Level {
        match self.0 >> (Self::BITS * input) & 7 {
            0 => Level::Low,
            1 => Level::AfterLow,
            2 => Level::Nominal,
            3 => Level::BeforeHigh,
            4 => Level::High,
            _ => Level::Inside,
        }
    }

    fn with(self, input: usize, level: Level) -> Self {
        let bits = |level: u128| level << (Self::BITS * input);
        Self(self.0 & !bits(7) | bits(level as u128))
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

/// Where every input is.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub(super) struct Point {
    corner: Corner,
    /// The inputs whose level is [`Level::Inside`], in order, and the bits of their values.
    inside: Vec<(usize, u64)>,
}

impl Point {
    fn of(corner: Corner) -> Self {
        Self {
            corner,
            inside: Vec::new(),
        }
    }

    /// The value of an input with this band.
    pub fn value(&self, input: usize, band: Band) -> f64 {
        let inside = self.inside.iter().find(|(i, _)| *i == input);
        inside.map_or_else(
            || self.corner.level(input).of(band),
            |(_, bits)| f64::from_bits(*bits),
        )
    }

    fn with(&self, input: usize, level: Level) -> Self {
        let others = self.inside.iter().filter(|(i, _)| *i != input);
        Self {
            corner: self.corner.with(input, level),
            inside: others.copied().collect(),
        }
    }

    fn with_value(&self, input: usize, value: f64) -> Self {
        let mut point = self.with(input, Level::Inside);
        let at = point.inside.partition_point(|(i, _)| *i < input);
        point.inside.insert(at, (input, value.to_bits()));
        point
    }
}

/// The extreme of a result that has been found so far, and where.
#[derive(Clone, Debug)]
struct Best {
    value: f64,
    at: Point,
}

/// A point and what a result is worth there.
#[derive(Clone, Debug)]
struct Spot {
    worth: f64,
    at: Point,
}

/// The search for the least and the most of every result.
pub(super) struct Search<'a> {
    /// A copy whose values are moved about.
    system: System,
    inputs: &'a [Toleranced],
    /// Where the values of `system` are.
    held: Vec<f64>,
    /// Where in `tried` a corner is.
    known: FxHashMap<Corner, usize>,
    tried: Vec<Option<Results>>,
    /// What was tried inside of the bands.
    known_inside: FxHashMap<Point, Option<Results>>,
    /// For each level as a base, and each input: where each level of that input alone, the others at the base,
    /// is in `tried`.
    one_by_one: [Vec<[usize; 3]>; 3],
    /// By the results' places in the schema: the least and the most of all that was tried; `None` for a result
    /// that is absent at nominal or anywhere else.
    best: Vec<Option<[Best; 2]>>,
    /// How often the chain was worked out.
    evaluations: usize,
}

/// After so many evaluations nothing more is looked for inside of the bands: a tenth of a second. Systems with tolerances
/// that somebody makes take a few hundred to a few thousand.
const MOST_EVALUATIONS: usize = 20_000;

/// With so many inputs or fewer every corner of the bands is tried.
const MOST_FOR_ALL_CORNERS: usize = 8;

impl<'a> Search<'a> {
    pub fn new(system: &System, inputs: &'a [Toleranced], nominal: &Results) -> Self {
        let count = inputs.len();
        let middle = Corner::all(Level::Nominal, count);
        let best = |id| {
            let value = nominal.get(id)?;
            let at = Point::of(middle);
            let best = Best { value, at };
            Some([best.clone(), best])
        };
        let mut search = Self {
            system: system.clone(),
            inputs,
            held: inputs.iter().map(|input| input.band.nominal).collect(),
            known: FxHashMap::from_iter([(middle, 0)]),
            tried: vec![Some(nominal.clone())],
            known_inside: FxHashMap::default(),
            one_by_one: [const { Vec::new() }; 3],
            best: ResultId::all().map(best).collect(),
            evaluations: 0,
        };
        search.one_by_one = LEVELS.map(|base| {
            let start = Corner::all(base, count);
            let alone = |i| LEVELS.map(|level| search.place(start.with(i, level)));
            (0..count).map(alone).collect()
        });
        if count <= MOST_FOR_ALL_CORNERS {
            for corner in every_corner(count) {
                search.place(corner);
            }
        }
        search.run();
        search
    }

    /// An extreme of a result.
    pub fn extreme(&self, id: ResultId, end: End) -> Option<f64> {
        Some(self.best(id, end)?.value)
    }

    /// A result with one input at each end of its band and the others at nominal.
    pub fn alone(&self, id: ResultId, input: usize) -> Option<[f64; 2]> {
        let [_, around_nominal, _] = &self.one_by_one;
        let [low, _, high] = *around_nominal.get(input)?;
        Some([self.get(low, id)?, self.get(high, id)?])
    }

    /// The points at which some result has an extreme; every corner as well where there are few.
    pub fn points(&self) -> Vec<Point> {
        let count = self.inputs.len();
        let mut points: Vec<Point> = Vec::new();
        if count <= MOST_FOR_ALL_CORNERS {
            points.extend(every_corner(count).map(Point::of));
        }
        for best in self.best.iter().flatten().flatten() {
            if !points.contains(&best.at) {
                points.push(best.at.clone());
            }
        }
        points
    }

    fn best(&self, id: ResultId, end: End) -> Option<&Best> {
        Some(&self.best.get(id.index())?.as_ref()?[end as usize])
    }

    fn worth(&self, id: ResultId, end: End) -> Option<f64> {
        Some(end.worth(self.best(id, end)?.value))
    }

    /// Where a corner is in `tried`; it is tried, if it was not yet.
    fn place(&mut self, corner: Corner) -> usize {
        if let Some(place) = self.known.get(&corner) {
            return *place;
        }
        let results = self.evaluate(&Point::of(corner));
        let place = self.tried.len();
        self.tried.push(results);
        self.known.insert(corner, place);
        place
    }

    /// A result of what was tried.
    fn get(&self, place: usize, id: ResultId) -> Option<f64> {
        self.tried.get(place)?.as_ref()?.get(id)
    }

    /// A result at a point.
    fn value(&mut self, at: &Point, id: ResultId) -> Option<f64> {
        if at.inside.is_empty() {
            let place = self.place(at.corner);
            self.get(place, id)
        } else {
            if let Some(results) = self.known_inside.get(at) {
                return results.as_ref()?.get(id);
            }
            let results = self.evaluate(at);
            let value = results.as_ref().and_then(|results| results.get(id));
            self.known_inside.insert(at.clone(), results);
            value
        }
    }

    /// All results at a point. Whatever is tried counts for every result.
    fn evaluate(&mut self, at: &Point) -> Option<Results> {
        for (i, (input, held)) in self.inputs.iter().zip(&mut self.held).enumerate() {
            let value = at.value(i, input.band);
            if value != *held {
                self.system.hold(input, value);
                *held = value;
            }
        }
        self.evaluations += 1;
        let results = results_alone(&self.system);
        for (id, known) in ResultId::all().zip(&mut self.best) {
            let Some([least, most]) = known else {
                continue;
            };
            // What is absent anywhere has no extremes.
            let Some(value) = results.as_ref().and_then(|results| results.get(id)) else {
                *known = None;
                continue;
            };
            let is_worse = [value < least.value, value > most.value];
            for (best, is_worse) in [least, most].into_iter().zip(is_worse) {
                if is_worse {
                    best.value = value;
                    best.at.clone_from(at);
                }
            }
        }
        results
    }

    fn run(&mut self) {
        /// What is found for one result is a place to start from for those before it.
        const MOST_ROUNDS: usize = 4;
        let mut settled: Vec<[f64; 2]> = vec![[f64::NAN; 2]; RESULTS.len()];
        for _ in 0..MOST_ROUNDS {
            let mut moved = false;
            for id in ResultId::all() {
                for end in End::BOTH {
                    let slot = &mut settled[id.index()][end as usize];
                    if self.extreme(id, end).is_none_or(|value| value == *slot) {
                        continue;
                    }
                    if self
                        .climb(id, end)
                        .and_then(|()| self.go_inside(id, end))
                        .is_none()
                    {
                        break;
                    }
                    if let Some(value) = self.extreme(id, end) {
                        settled[id.index()][end as usize] = value;
                        moved = true;
                    }
                }
            }
            if !moved {
                return;
            }
        }
    }

    /// The corner that the inputs point to one by one, from one of them all at a level.
    fn pointed_to(&self, base: usize, id: ResultId, end: End) -> Option<Corner> {
        let one_by_one = self.one_by_one.get(base)?;
        let mut corner = Corner::all(*LEVELS.get(base)?, one_by_one.len());
        for (i, places) in one_by_one.iter().enumerate() {
            let mut found = end.worth(self.get(*places.get(base)?, id)?);
            for (level, place) in LEVELS.into_iter().zip(places) {
                let worth = end.worth(self.get(*place, id)?);
                if worth > found {
                    found = worth;
                    corner = corner.with(i, level);
                }
            }
        }
        Some(corner)
    }

    /// The extreme among the corners: from the one that the inputs point to one by one, starting with all of
    /// them nominal, low or high (what ends the pedal's travel may be another thing at each, and an input
    /// without effect at one of them can have one at another), or from the worst of all that was tried, every
    /// input is tried elsewhere until none makes it worse. `None` where the result is absent somewhere.
    fn climb(&mut self, id: ResultId, end: End) -> Option<()> {
        /// Interactions settle in two or three rounds; this only bounds silly ones.
        const MOST_ROUNDS: usize = 8;
        for base in 0..LEVELS.len() {
            let corner = self.pointed_to(base, id, end)?;
            self.place(corner);
        }
        for _ in 0..MOST_ROUNDS {
            let before = self.worth(id, end)?;
            for i in 0..self.inputs.len() {
                let at = self.best(id, end)?.at.clone();
                if at.inside.is_empty() {
                    for level in at.corner.level(i).others() {
                        self.place(at.corner.with(i, level));
                    }
                }
            }
            if self.worth(id, end)? == before {
                break;
            }
        }
        Some(())
    }

    /// The extreme inside of the bands.
    fn go_inside(&mut self, id: ResultId, end: End) -> Option<()> {
        let best = self.best(id, end)?;
        let start = Spot {
            worth: end.worth(best.value),
            at: best.at.clone(),
        };
        let there = self.improve(id, end, start)?.at;
        let middle = Point::of(Corner::all(Level::Nominal, self.inputs.len()));
        for input in 0..self.inputs.len() {
            if !self.is_bent(id, input)? {
                continue;
            }
            for from in [&there, &middle] {
                for start in self.scan(id, end, from, input)? {
                    self.improve(id, end, start)?;
                }
            }
        }
        Some(())
    }

    /// Whether a result is far from a straight line over the band of an input.
    fn is_bent(&self, id: ResultId, input: usize) -> Option<bool> {
        /// How far the middle of a line may lie from the middle of its ends, as a part of what lies between those.
        const STRAIGHT: f64 = 0.15;
        /// The same, as a part of all that the result spans: what is less has no say in its extremes.
        const LEAST: f64 = 1e-3;
        let [least, most] = End::BOTH.map(|end| self.extreme(id, end));
        let span = most? - least?;
        for places in self.one_by_one.iter().filter_map(|base| base.get(input)) {
            let [low, middle, high] = places.map(|place| self.get(place, id));
            let (low, middle, high) = (low?, middle?, high?);
            let off = (low + high) / 2.0 - middle;
            if off.abs() > (STRAIGHT * (high - low).abs()).max(LEAST * span) {
                return Some(true);
            }
        }
        Some(false)
    }

    /// Where a result is worse than beside it, along an input from a place.
    fn scan(&mut self, id: ResultId, end: End, from: &Point, input: usize) -> Option<Vec<Spot>> {
        const PIECES: usize = 8;
        let band = self.inputs[input].band;
        let mut worths = [f64::NEG_INFINITY; PIECES + 1];
        let value = |i: usize| band.low + (band.high - band.low) * (i as f64 / PIECES as f64);
        for (i, worth) in worths.iter_mut().enumerate() {
            let at = match i {
                0 => from.with(input, Level::Low),
                PIECES => from.with(input, Level::High),
                _ => from.with_value(input, value(i)),
            };
            *worth = end.worth(self.value(&at, id)?);
        }
        let mut found = Vec::new();
        for i in 1..PIECES {
            if worths[i] > worths[i - 1] && worths[i] > worths[i + 1] {
                let mut spot = Spot {
                    worth: worths[i],
                    at: from.with_value(input, value(i)),
                };
                let near = spot.at.clone();
                self.search(
                    id,
                    end,
                    &mut spot,
                    &near,
                    input,
                    (value(i - 1), value(i + 1)),
                )?;
                found.push(spot);
            }
        }
        Some(found)
    }

    /// Takes a spot to where no input by itself, and no two along a ridge, make the result worse.
    fn improve(&mut self, id: ResultId, end: End, mut spot: Spot) -> Option<Spot> {
        const MOST_ROUNDS: usize = 12;
        for _ in 0..MOST_ROUNDS {
            let before = spot.worth;
            if self.evaluations > MOST_EVALUATIONS {
                break;
            }
            for i in 0..self.inputs.len() {
                self.along(id, end, &mut spot, i)?;
            }
            if spot.at.inside.is_empty() {
                break;
            }
            self.along_ridges(id, end, &mut spot)?;
            if spot.worth - before <= 1e-12 * spot.worth.abs() {
                break;
            }
        }
        Some(spot)
    }

    /// Takes a spot to a point if the result is worse there; what it is worth there.
    fn try_at(&mut self, id: ResultId, end: End, spot: &mut Spot, at: Point) -> Option<f64> {
        let worth = end.worth(self.value(&at, id)?);
        if worth > spot.worth {
            *spot = Spot { worth, at };
        }
        Some(worth)
    }

    /// Looks along one input from a spot.
    fn along(&mut self, id: ResultId, end: End, spot: &mut Spot, input: usize) -> Option<()> {
        let band = self.inputs[input].band;
        let at = spot.at.clone();
        let level = at.corner.level(input);
        let range = match level {
            Level::Low | Level::High => {
                for other in level.others() {
                    self.try_at(id, end, spot, at.with(input, other))?;
                }
                match spot.at.corner.level(input) {
                    Level::AfterLow => self.hill(id, end, spot, input, (band.low, band.high))?,
                    Level::BeforeHigh => self.hill(id, end, spot, input, (band.high, band.low))?,
                    _ => return Some(()),
                }
            }
            Level::Nominal => {
                let worth = spot.worth;
                let mut flat = false;
                for other in [Level::Low, Level::High] {
                    flat |= self.try_at(id, end, spot, at.with(input, other))? == worth;
                }
                if flat || spot.at != at {
                    return Some(());
                }
                (band.low, band.high)
            }
            Level::AfterLow => self.hill(id, end, spot, input, (band.low, band.high))?,
            Level::BeforeHigh => self.hill(id, end, spot, input, (band.high, band.low))?,
            Level::Inside => {
                let value = at.value(input, band);
                let step = NEAR * (band.high - band.low);
                let mut range = None;
                for (other, towards) in [
                    (value - step, (band.low, value)),
                    (value + step, (value, band.high)),
                ] {
                    if band.low < other && other < band.high && range.is_none() {
                        let before = spot.worth;
                        let there = self.try_at(id, end, spot, at.with_value(input, other))?;
                        range = (there > before).then_some(towards);
                    }
                }
                let Some(range) = range else {
                    return Some(());
                };
                range
            }
        };
        self.search(id, end, spot, &at, input, range)?;
        Some(())
    }

    /// Between which two values of an input the first peak lies on the way from one end of its band to the other.
    fn hill(
        &mut self,
        id: ResultId,
        end: End,
        spot: &mut Spot,
        input: usize,
        (from, to): (f64, f64),
    ) -> Option<(f64, f64)> {
        const FASTER: f64 = 4.0;
        let at = spot.at.clone();
        let (mut before, mut last, mut step) = (from, spot.worth, FASTER * NEAR);
        while step < 1.0 {
            let value = from + step * (to - from);
            let worth = self.try_at(id, end, spot, at.with_value(input, value))?;
            if worth < last {
                return Some((before.min(value), before.max(value)));
            }
            before = from + step / FASTER * (to - from);
            last = worth;
            step *= FASTER;
        }
        Some((before.min(to), before.max(to)))
    }

    /// Searches along an input from a point, between two of its values: the value at which the result is worst there,
    /// and what it is worth.
    fn search(
        &mut self,
        id: ResultId,
        end: End,
        spot: &mut Spot,
        from: &Point,
        input: usize,
        (low, high): (f64, f64),
    ) -> Option<(f64, f64)> {
        let mut absent = false;
        let worth = |x: f64| {
            let worth = self.try_at(id, end, spot, from.with_value(input, x));
            absent |= worth.is_none();
            worth.unwrap_or(f64::NEG_INFINITY)
        };
        let found = peak(worth, low, high);
        (!absent).then_some(found)
    }

    /// Looks along ridges from a spot.
    ///
    /// Where one thing bounds a result as an input rises and another as it falls, there is a kink, and on it no input
    /// by itself makes the result worse; a second one may, with the first held on the kink. On the two sides of
    /// it the result falls off with the slopes `a` and `b` of the first input, and its slope along the kink is the
    /// mean of the second one's slopes on either side with the weights that cancel `a` and `b`: the multipliers of
    /// linear minimax (V. F. Dem'yanov and V. N. Malozemov, Introduction to Minimax, 1974, ch. III).
    fn along_ridges(&mut self, id: ResultId, end: End, spot: &mut Spot) -> Option<()> {
        /// How far along a kink to look whether it leads anywhere, as a part of the way to the second one's end.
        const FIRST_STEP: f64 = 1.0 / 16.0;
        let at = spot.at.clone();
        let worth = spot.worth;
        for &(first, bits) in &at.inside {
            let (x, band) = (f64::from_bits(bits), self.inputs[first].band);
            let range = (band.low, band.high);
            let Some(seconds) = self.ridges(id, end, spot, &at, (first, x))? else {
                continue;
            };
            let all = seconds
                .iter()
                .fold(at.clone(), |at, (second, far)| at.with(*second, *far));
            self.search(id, end, spot, &all, first, range)?;
            for (second, far) in seconds {
                if spot.worth > worth {
                    return Some(());
                }
                let (x, _) = self.search(id, end, spot, &at.with(second, far), first, range)?;
                // Where the kink leaves the band of the first, the second is the one that stays inside.
                let nearer = if x - band.low < band.high - x {
                    Level::Low
                } else {
                    Level::High
                };
                let other = self.inputs[second].band;
                let at_end = at.with(first, nearer);
                self.search(id, end, spot, &at_end, second, (other.low, other.high))?;
                if spot.worth > worth {
                    return Some(());
                }
                // Where there is another kink on the way, both stay inside.
                let (here, far) = (at.value(second, other), far.of(other));
                let mut along = |y: f64| {
                    let found = self.search(id, end, spot, &at.with_value(second, y), first, range);
                    found.map_or(f64::NEG_INFINITY, |(_, worth)| worth)
                };
                if along(here + FIRST_STEP * (far - here)) > worth {
                    peak(along, here.min(far), here.max(far));
                }
            }
        }
        Some(())
    }

    /// The inputs that make the result worse along the kink that it has at the value of one, and the ends towards which
    /// they do; `None` where there is no kink.
    fn ridges(
        &mut self,
        id: ResultId,
        end: End,
        spot: &mut Spot,
        at: &Point,
        (first, x): (usize, f64),
    ) -> Option<Option<Vec<(usize, Level)>>> {
        /// How far from the kink to look at its two sides, as a part of the first input's band.
        const ASIDE: f64 = 1e-4;
        /// How far along it, as a part of the second one's: so little that it stays on the same side.
        const ALONG: f64 = 1e-6;
        /// What is less than this part of what either side does by itself is rounding.
        const LEAST: f64 = 1e-4;
        let band = self.inputs[first].band;
        let aside = ASIDE * (band.high - band.low);
        if x - aside <= band.low || band.high <= x + aside {
            return Some(None);
        }
        let worth = spot.worth;
        let mut sides = Vec::with_capacity(2);
        for value in [x - aside, x + aside] {
            let side = at.with_value(first, value);
            let there = self.try_at(id, end, spot, side.clone())?;
            sides.push((side, there, worth - there));
        }
        let falls: f64 = sides.iter().map(|(_, _, fall)| fall).sum();
        if falls <= 0.0 {
            return Some(None);
        }
        let mut found = Vec::new();
        for second in (0..self.inputs.len()).filter(|second| *second != first) {
            let band = self.inputs[second].band;
            let along = ALONG * (band.high - band.low);
            let here = at.value(second, band);
            for (to, far) in [(here - along, Level::Low), (here + along, Level::High)] {
                if to < band.low || band.high < to {
                    continue;
                }
                let (mut gain, mut size) = (0.0, 0.0);
                for (side, there, fall) in &sides {
                    let moved = self.try_at(id, end, spot, side.with_value(second, to))?;
                    let part = (1.0 - fall / falls) * (moved - there);
                    gain += part;
                    size += part.abs();
                }
                if gain > LEAST * size.max(f64::EPSILON * worth.abs() / LEAST) {
                    found.push((second, far));
                }
            }
        }
        Some((!found.is_empty()).then_some(found))
    }
}

#[cfg(test)]
mod tests {
    use super::{Corner, LEVELS, Level, Search};
    use crate::finding::FileName;
    use crate::mechanics::{MAX_TOLERANCED, work_out};
    use crate::model::{Bundle, Files, Source, build};
    use std::sync::Arc;

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

    struct NoFiles;

    impl Files for NoFiles {
        fn read(&self, _: &FileName) -> Result<Arc<Source>, String> {
            Err("does not exist".to_owned())
        }
    }

    /// How often the chain is worked out for the tolerances that somebody gives who measures: 965 times before anything
    /// was looked for inside of the bands.
    #[test]
    fn ordinary_tolerances_cost_little() {
        let text = "system more {
            pedal { pad_arm = 300 mm ± 1 mm  rod_arm = 50 mm ± 0.5 mm  travel = 150 mm ± 3 mm  free_play = 6 mm ± 2 mm }
            master {
                bore = 19.05 mm to 19.12 mm  port_travel = 1 mm ± 0.3 mm  stroke = 36 mm ± 0.5 mm
                mount_stiffness = 900 N/mm ± 20 %
            }
            line hard { bore = 3.2 mm  length = 900 mm  wall = 0.7 mm }
            line flex { bore = 1/8 in  length = 350 mm ± 5 %  expansion = 0.33 cc/ft / 1000 psi }
            slave {
                bore = 22.22 mm to 22.30 mm  stroke = 30 mm
                rest_extension = 6 mm ± 1 mm  preload = 20 N ± 5 N
            }
            fluid { grade = dot4  bulk_modulus = 1.6 GPa ± 10 % }
            fork {
                slave_arm = 112 mm ± 1 %  bearing_arm = 68 mm ± 1 %  pivot = between
                stiffness = 1200 N/mm ± 20 %
            }
            cover {
                release_travel = 7 mm to 11 mm
                release_load = curve { 0 mm: 150 N, 2 mm: 900 N, 5 mm: 1500 N, 8 mm: 1400 N, 11 mm: 1300 N }
            }
        }".to_owned();
        let source = Arc::new(Source::new("a.clutch".into(), text));
        let model = build(&Bundle::load(source, &NoFiles));
        let system = &model.systems[0].system;
        let inputs = system.toleranced();
        assert_eq!(inputs.len(), 16);
        let outcome = work_out(system).unwrap();
        let search = Search::new(system, &inputs, &outcome.results);
        assert!(search.evaluations < 1_100, "{}", search.evaluations);
    }
}
