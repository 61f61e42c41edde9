//! Counts over combinations. Their size depends on the choices, never on the number of combinations.

use super::super::judge::{FAILS, Glance};
use super::prices::Prices;
use crate::check_id::CheckId;
use crate::checks::{Check, Raised};
use crate::finding::{Problem, Severity};
use crate::model::Space;
use crate::schema::{BlockId, RESULTS, ResultId};
use crate::settings::Settings;
use std::collections::BTreeMap;

/// The most cells of a table of two axes; a larger table is not kept.
const MAX_CELLS: usize = 250_000;

/// Counts of the combinations that were tried.
#[derive(Clone, PartialEq, Debug)]
pub struct Tried {
    /// How many were tried.
    pub count: u64,
    /// How many have an error.
    pub failing: u64,
    /// How many of those have parts that do not fit together.
    pub unfit: u64,
    /// How many have no error, but a warning.
    pub warned: u64,
    /// For each axis and each of its choices: how many were tried, and how many of them fail.
    pub singles: Vec<Vec<(u64, u64)>>,
    /// For each two axes, which of their choices work together.
    pub pairs: Vec<Pairs>,
    /// The range of each result over the combinations without an error.
    pub ranges: Vec<Range>,
    /// The prices of the combinations without an error.
    pub prices: Prices,
}

/// Which choices of two axes work together.
#[derive(Clone, PartialEq, Debug)]
pub struct Pairs {
    /// The axis whose choices are the rows, by its place among the axes of the kit.
    pub rows: usize,
    /// The axis whose choices are the columns.
    pub columns: usize,
    /// The cells, row by row.
    pub cells: Vec<Cell>,
}

/// Counts of the combinations of two choices.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub struct Cell {
    /// How many combinations of the two choices were tried.
    pub tried: u64,
    /// How many have an error.
    pub failing: u64,
    /// How many of those have parts that do not fit together.
    pub unfit: u64,
    /// How many have no error, but a warning.
    pub warned: u64,
}

impl Tried {
    /// The two axes that decide most about what works: the pair whose cells differ most.
    pub fn telling(&self) -> Option<&Pairs> {
        let told = |pairs: &&Pairs| -> f64 {
            let share = |cell: &Cell| cell.failing as f64 / cell.tried.max(1) as f64;
            let mean = self.failing as f64 / self.count.max(1) as f64;
            let differences = pairs.cells.iter().map(|cell| (share(cell) - mean).powi(2));
            differences.sum::<f64>() / pairs.cells.len().max(1) as f64
        };
        self.pairs.iter().max_by(|a, b| told(a).total_cmp(&told(b)))
    }
}

/// The least and the greatest of a result over combinations that work, and where they are.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Range {
    /// The result that the values are of.
    pub result: ResultId,
    /// The least value, in the result's internal unit.
    pub low: f64,
    /// The index of the combination with the least value; if several have it, the first.
    pub low_at: u64,
    /// The greatest value, in the result's internal unit.
    pub high: f64,
    /// The index of the combination with the greatest value; if several have it, the first.
    pub high_at: u64,
}

/// What two problems of different combinations must have in common to be the same.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(super) struct Key {
    /// The check's name, by which kits list their findings.
    check: &'static str,
    block: Option<BlockId>,
}

impl Key {
    pub fn of(problem: &Problem) -> Self {
        Self {
            check: problem.check.name(),
            block: problem.block,
        }
    }
}

impl From<&Raised> for Key {
    fn from(raised: &Raised) -> Self {
        Self {
            check: raised.check.name(),
            block: raised.block,
        }
    }
}

/// How often a problem was seen, with which choices, and where first.
#[derive(Clone, Debug)]
pub(super) struct Seen {
    pub first: u64,
    pub counts: Counts,
}

/// Numbers of combinations, by their choices.
#[derive(Clone, Debug)]
pub(super) struct Counts {
    pub all: u64,
    /// For each axis and each of its choices.
    pub singles: Vec<Vec<u64>>,
    /// For each two axes, row by row; empty where it would be too large.
    pub pairs: Vec<Vec<u64>>,
}

impl Counts {
    fn new(space: &Space) -> Self {
        let sizes: Vec<usize> = space.axes.iter().map(|axis| axis.choices.len()).collect();
        let cells = |(a, b): (usize, usize)| {
            let cells = sizes[a].saturating_mul(sizes[b]);
            vec![0; if cells > MAX_CELLS { 0 } else { cells }]
        };
        Self {
            all: 0,
            singles: sizes.iter().map(|size| vec![0; *size]).collect(),
            pairs: pairs_of(sizes.len()).map(cells).collect(),
        }
    }

    fn add(&mut self, digits: &[usize]) {
        self.all += 1;
        for (counts, digit) in self.singles.iter_mut().zip(digits) {
            if let Some(count) = counts.get_mut(*digit) {
                *count += 1;
            }
        }
        for (cells, (a, b)) in self.pairs.iter_mut().zip(pairs_of(digits.len())) {
            let columns = self.singles[b].len();
            if let Some(cell) = cells.get_mut(digits[a] * columns + digits[b]) {
                *cell += 1;
            }
        }
    }

    fn merge(&mut self, other: &Self) {
        self.all += other.all;
        let tables = self.singles.iter_mut().chain(&mut self.pairs);
        for (own, other) in tables.zip(other.singles.iter().chain(&other.pairs)) {
            for (own, other) in own.iter_mut().zip(other) {
                *own += other;
            }
        }
    }
}

/// Every two of some axes, the first varying slowest.
pub(super) fn pairs_of(axes: usize) -> impl Iterator<Item = (usize, usize)> {
    (0..axes).flat_map(move |a| (a + 1..axes).map(move |b| (a, b)))
}

impl Seen {
    fn merge(&mut self, other: &Self) {
        self.first = self.first.min(other.first);
        self.counts.merge(&other.counts);
    }
}

/// The counts of one thread.
#[derive(Debug)]
pub(super) struct Tally {
    pub tried: Counts,
    pub failing: Counts,
    pub unfit: Counts,
    pub warned: Counts,
    pub found: BTreeMap<Key, Seen>,
    /// The silenced problems, with the allow that silenced them.
    pub allowed: BTreeMap<(Key, usize), Seen>,
    /// The prices of the combinations that work.
    pub prices: Prices,
    /// Combinations that could not be worked out.
    pub unsound: Option<Seen>,
    /// The ranges, by the results' places in the schema.
    ranges: [Option<Range>; RESULTS.len()],
    empty: Counts,
    digits: Vec<usize>,
    once: Vec<(Key, Option<usize>)>,
}

impl Tally {
    pub fn new(space: &Space) -> Self {
        let empty = Counts::new(space);
        Self {
            tried: empty.clone(),
            failing: empty.clone(),
            unfit: empty.clone(),
            warned: empty.clone(),
            found: BTreeMap::new(),
            allowed: BTreeMap::new(),
            prices: Prices::default(),
            unsound: None,
            ranges: [None; RESULTS.len()],
            empty,
            digits: vec![0; space.axes.len()],
            once: Vec::new(),
        }
    }

    /// How many combinations were tried.
    pub fn of(&self) -> u64 {
        self.tried.all
    }

    /// Counts a combination. Says whether it works.
    pub fn add(
        &mut self,
        space: &Space,
        index: u64,
        judged: &Glance<'_>,
        settings: &Settings,
    ) -> bool {
        space.digits_into(index, &mut self.digits);
        self.tried.add(&self.digits);
        self.once.clear();
        let mut worst = None;
        let mut is_unfit = false;
        for (raised, allow) in judged.raised {
            let (key, allow) = (Key::from(raised), *allow);
            if allow.is_none() {
                let severity = Check::of(raised.check).severity_under(settings);
                is_unfit |= raised.check == CheckId::DoesNotFit && severity >= Some(FAILS);
                worst = worst.max(severity);
            }
            if self.once.contains(&(key, allow)) {
                continue;
            }
            self.once.push((key, allow));
            let seen = match allow {
                None => self.found.entry(key).or_insert_with(|| Seen {
                    first: index,
                    counts: self.empty.clone(),
                }),
                Some(allow) => self.allowed.entry((key, allow)).or_insert_with(|| Seen {
                    first: index,
                    counts: self.empty.clone(),
                }),
            };
            seen.first = seen.first.min(index);
            seen.counts.add(&self.digits);
        }
        if worst >= Some(FAILS) {
            self.failing.add(&self.digits);
            if is_unfit {
                self.unfit.add(&self.digits);
            }
            return false;
        }
        if worst == Some(Severity::Warning) {
            self.warned.add(&self.digits);
        }
        if let Ok(outcome) = &judged.outcome {
            for (result, value) in outcome.results.iter() {
                let range = Range {
                    result,
                    low: value,
                    low_at: index,
                    high: value,
                    high_at: index,
                };
                self.widen(range);
            }
        }
        true
    }

    pub fn add_unsound(&mut self, space: &Space, index: u64) {
        space.digits_into(index, &mut self.digits);
        self.tried.add(&self.digits);
        self.failing.add(&self.digits);
        let seen = self.unsound.get_or_insert_with(|| Seen {
            first: index,
            counts: self.empty.clone(),
        });
        seen.first = seen.first.min(index);
        seen.counts.add(&self.digits);
    }

    pub fn merge(&mut self, other: Self) {
        self.tried.merge(&other.tried);
        self.failing.merge(&other.failing);
        self.unfit.merge(&other.unfit);
        self.warned.merge(&other.warned);
        self.prices.merge(other.prices);
        merge_maps(&mut self.found, other.found);
        merge_maps(&mut self.allowed, other.allowed);
        match (&mut self.unsound, other.unsound) {
            (Some(own), Some(other)) => own.merge(&other),
            (own @ None, other) => *own = other,
            (Some(_), None) => {}
        }
        for range in other.ranges.into_iter().flatten() {
            self.widen(range);
        }
    }

    fn widen(&mut self, range: Range) {
        if let Some(own) = self.ranges.get_mut(range.result.index()) {
            let own = own.get_or_insert(range);
            own.widen(range.low, range.low_at);
            own.widen(range.high, range.high_at);
        }
    }

    pub fn into_tried(self) -> Tried {
        let zip = |a: &[u64], b: &[u64]| a.iter().copied().zip(b.iter().copied()).collect();
        let singles = self.tried.singles.iter().zip(&self.failing.singles);
        let pairs = pairs_of(self.tried.singles.len());
        let cells = self.tried.pairs.iter();
        let failing = self.failing.pairs.iter().zip(&self.unfit.pairs);
        let cells = cells.zip(failing.zip(&self.warned.pairs));
        let pairs = pairs
            .zip(cells)
            .filter(|(_, (tried, _))| !tried.is_empty())
            .map(|((rows, columns), (tried, ((failing, unfit), warned)))| {
                let failing = failing.iter().zip(unfit);
                let cells = tried.iter().zip(failing.zip(warned));
                Pairs {
                    rows,
                    columns,
                    cells: cells
                        .map(|(tried, ((failing, unfit), warned))| Cell {
                            tried: *tried,
                            failing: *failing,
                            unfit: *unfit,
                            warned: *warned,
                        })
                        .collect(),
                }
            })
            .collect();
        Tried {
            count: self.tried.all,
            failing: self.failing.all,
            unfit: self.unfit.all,
            warned: self.warned.all,
            singles: singles
                .map(|(tried, failing)| zip(tried, failing))
                .collect(),
            pairs,
            ranges: self.ranges.into_iter().flatten().collect(),
            prices: self.prices,
        }
    }
}

fn merge_maps<K: Ord>(own: &mut BTreeMap<K, Seen>, other: BTreeMap<K, Seen>) {
    for (key, seen) in other {
        match own.get_mut(&key) {
            Some(own) => own.merge(&seen),
            None => {
                own.insert(key, seen);
            }
        }
    }
}

impl Range {
    /// Widens the range. Of equal values the first place counts, so that the order of the work does not show.
    fn widen(&mut self, value: f64, at: u64) {
        if value < self.low || (value == self.low && at < self.low_at) {
            (self.low, self.low_at) = (value, at);
        }
        if value > self.high || (value == self.high && at < self.high_at) {
            (self.high, self.high_at) = (value, at);
        }
    }
}
