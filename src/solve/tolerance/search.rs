//! Every point of the inputs' bands that was tried, and the extremes of the results among them.

use super::point::{Corner, LEVELS, Level, Point, every_corner};
use crate::model::{System, Toleranced};
use crate::schema::ResultId;
use crate::solve::Results;
use crate::solve::outcome::results_alone;
use rustc_hash::FxHashMap;

/// The least or the greatest of a result.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum End {
    Least,
    Most,
}

impl End {
    pub const BOTH: [Self; 2] = [Self::Least, Self::Most];

    /// The value with its sign turned so that the extreme is the highest.
    pub fn worth(self, value: f64) -> f64 {
        match self {
            Self::Least => -value,
            Self::Most => value,
        }
    }
}

/// The best extreme of a result so far, and where it is.
#[derive(Clone, Debug)]
pub(super) struct Best {
    pub value: f64,
    pub at: Point,
}

/// The state of a search for the least and the greatest of every result.
pub(super) struct Search<'a> {
    /// A copy of the system in which values are moved.
    system: System,
    pub inputs: &'a [Toleranced],
    /// The current values in `system`.
    held: Vec<f64>,
    /// The place of each corner in `tried`.
    known: FxHashMap<Corner, usize>,
    tried: Vec<Option<Results>>,
    /// The results of the points tried inside the bands.
    known_inside: FxHashMap<Point, Option<Results>>,
    /// The places in `tried` for each base level and each input: the points with that input at each level and all
    /// others at the base.
    pub one_by_one: [Vec<[usize; 3]>; 3],
    /// The least and the greatest of all that was tried, by the results' places in the schema. `None` for a result
    /// that is absent at nominal or anywhere else.
    best: Vec<Option<[Best; 2]>>,
    /// How many times the chain was worked out.
    pub evaluations: usize,
}

/// Up to this number of inputs, every corner of the bands is tried.
const MOST_FOR_ALL_CORNERS: usize = 8;

impl<'a> Search<'a> {
    /// Tries each input alone from each level as a base, and every corner if there are few inputs.
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

    /// A result at the low end, the middle and the high end of an input's band, for each level as a base.
    pub fn lines(&self, id: ResultId, input: usize) -> impl Iterator<Item = [Option<f64>; 3]> {
        let bases = self
            .one_by_one
            .iter()
            .filter_map(move |base| base.get(input));
        bases.map(move |places| places.map(|place| self.get(place, id)))
    }

    /// Whether an input does not change a result anywhere in its band, from any base. No other value of the input
    /// need then be tried for this result. A nearly straight result is still tried, since a stop may be hidden in it.
    pub fn has_no_effect(&self, id: ResultId, input: usize) -> bool {
        self.lines(id, input)
            .all(|[low, middle, high]| low.is_some() && low == middle && middle == high)
    }

    /// The points at which some result has an extreme, and every corner if there are few inputs.
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

    pub fn best(&self, id: ResultId, end: End) -> Option<&Best> {
        Some(&self.best.get(id.index())?.as_ref()?[end as usize])
    }

    pub fn worth(&self, id: ResultId, end: End) -> Option<f64> {
        Some(end.worth(self.best(id, end)?.value))
    }

    /// The place of a corner in `tried`. The corner is tried if it was not yet.
    pub fn place(&mut self, corner: Corner) -> usize {
        if let Some(place) = self.known.get(&corner) {
            return *place;
        }
        let results = self.evaluate(&Point::of(corner));
        let place = self.tried.len();
        self.tried.push(results);
        self.known.insert(corner, place);
        place
    }

    /// A result at a place in `tried`.
    pub fn get(&self, place: usize, id: ResultId) -> Option<f64> {
        self.tried.get(place)?.as_ref()?.get(id)
    }

    /// A result at a point.
    pub fn value(&mut self, at: &Point, id: ResultId) -> Option<f64> {
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

    /// All results at a point. Every evaluation counts for every result.
    pub fn evaluate(&mut self, at: &Point) -> Option<Results> {
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
            // A result that is absent anywhere has no extremes.
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
}
