//! Keeps the important ones of very many candidates: the first few in an order, and those that no other beats.

use super::{Candidate, MOST_FRONT};
use rust_decimal::Decimal;
use std::cmp::{Ordering, Reverse};
use std::collections::BTreeMap;

/// The most candidates kept in a front. If there are more, those with the most margin are kept.
const MOST_KEPT: usize = 100_000;
/// With fewer new candidates, comparing them is not worth the work.
const LEAST_FRESH: usize = 1024;

/// The order of a list of candidates.
pub(super) type By<'s> = &'s (dyn Fn(&Candidate, &Candidate) -> Ordering + Sync);

/// The first few of many candidates. It needs room for at most twice as many.
pub(super) struct Shortlist<'s> {
    most: usize,
    by: By<'s>,
    kept: Vec<Candidate>,
}

impl<'s> Shortlist<'s> {
    pub(super) fn new(most: usize, by: By<'s>) -> Self {
        let kept = Vec::new();
        Self { most, by, kept }
    }

    pub(super) fn take(&mut self, candidate: Candidate) {
        self.kept.push(candidate);
        if self.kept.len() > 2 * self.most {
            self.cut();
        }
    }

    /// Keeps the first ones, in no order.
    fn cut(&mut self) {
        if self.kept.len() > self.most {
            self.kept.select_nth_unstable_by(self.most, self.by);
            self.kept.truncate(self.most);
        }
    }

    pub(super) fn merge(&mut self, other: Self) {
        self.kept.extend(other.kept);
        self.cut();
    }

    pub(super) fn into_sorted(mut self) -> Vec<Candidate> {
        self.kept.sort_unstable_by(self.by);
        self.kept.truncate(self.most);
        self.kept
    }
}

/// The values of a candidate that a front compares. In the order of these fields, a candidate that beats another
/// comes before it.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
struct Worth {
    /// The margin, in steps.
    margin: Reverse<i64>,
    /// The effort, in steps.
    effort: i64,
    /// The price; zero if there is none.
    price: Decimal,
    /// The currency's code; `None` without a price.
    currency: Option<&'static str>,
}

impl Worth {
    /// A step of the margin, mm.
    const MARGIN_STEP: f64 = 1e-4;
    /// A step of the effort, N.
    const EFFORT_STEP: f64 = 1e-3;

    /// The worth of a candidate; `None` if it has no margin or no effort, so that any other beats it.
    fn of(candidate: &Candidate) -> Option<Self> {
        let price = candidate.price;
        Some(Self {
            margin: Reverse((candidate.margin? / Self::MARGIN_STEP).round() as i64),
            effort: (candidate.effort? / Self::EFFORT_STEP).round() as i64,
            price: price.map_or(Decimal::ZERO, |price| price.amount.normalize()),
            currency: price.map(|price| price.currency.code()),
        })
    }
}

/// One of several candidates with the same worth.
#[derive(Clone, Copy, Debug)]
struct Entry {
    worth: Worth,
    index: u64,
    /// How many candidates it counts for. Of equal ones only the first few are kept; the first of them counts for the
    /// rest too.
    count: u64,
}

/// The candidates that no other beats in release margin, effort and price together.
///
/// Margins and efforts are compared in steps far below what can be measured. Otherwise, of two ways to the same
/// ratio, the one with a larger last digit would beat the other. Prices are compared only in one currency. A
/// candidate without a price is compared only with others without one, as it may be cheaper than a priced one.
#[derive(Default)]
pub(super) struct Front {
    /// Up to `settled` they are in order, and none of them is beaten by another of them.
    entries: Vec<Entry>,
    settled: usize,
    /// From this worth on nothing is kept.
    beyond: Option<Worth>,
}

impl Front {
    pub(super) fn take(&mut self, candidate: &Candidate) {
        let Some(worth) = Worth::of(candidate) else {
            return;
        };
        if self.beyond.is_none_or(|beyond| worth < beyond) {
            self.entries.push(Entry {
                worth,
                index: candidate.index,
                count: 1,
            });
            if self.entries.len() > 2 * self.settled + LEAST_FRESH {
                self.settle();
            }
        }
    }

    pub(super) fn merge(&mut self, other: Self) {
        self.entries.extend(other.entries);
        self.beyond = self.beyond.into_iter().chain(other.beyond).min();
        self.settle();
    }

    /// Drops the candidates that are beaten. A candidate that beats another comes before it, so that the first ones
    /// are exact however many are dropped after them.
    fn settle(&mut self) {
        let mut entries = std::mem::take(&mut self.entries);
        entries.sort_unstable_by_key(|entry| (entry.worth, entry.index));
        // For each currency: of all before, the least price for as much effort, and less for more.
        let mut least: BTreeMap<Option<&str>, BTreeMap<i64, Decimal>> = BTreeMap::new();
        for equal in entries.chunk_by(|a, b| a.worth == b.worth) {
            let worth = equal[0].worth;
            if self.beyond.is_some_and(|beyond| worth >= beyond) {
                break;
            }
            let least = least.entry(worth.currency).or_default();
            let known = least.range(..=worth.effort).next_back();
            if known.is_some_and(|(_, price)| *price <= worth.price) {
                continue;
            }
            if self.entries.len() >= MOST_KEPT {
                self.beyond = Some(worth);
                break;
            }
            while let Some((effort, price)) = least.range(worth.effort..).next()
                && *price >= worth.price
            {
                let effort = *effort;
                least.remove(&effort);
            }
            least.insert(worth.effort, worth.price);
            let all: u64 = equal.iter().map(|entry| entry.count).sum();
            let kept = &equal[..equal.len().min(MOST_FRONT)];
            let first = self.entries.len();
            self.entries
                .extend(kept.iter().map(|entry| Entry { count: 1, ..*entry }));
            self.entries[first].count = all - (kept.len() as u64 - 1);
        }
        self.settled = self.entries.len();
    }

    /// The front of all candidates that were taken.
    pub(super) fn finish(mut self) -> Unbeaten {
        self.settle();
        Unbeaten {
            entries: self.entries,
            is_cut: self.beyond.is_some(),
        }
    }
}

/// The candidates that no other beats.
pub(super) struct Unbeaten {
    /// Those with the most margin first; of equal ones the first.
    entries: Vec<Entry>,
    /// Whether there may be more of them with less margin.
    pub(super) is_cut: bool,
}

impl Unbeaten {
    pub(super) fn holds(&self, candidate: &Candidate) -> bool {
        Worth::of(candidate).is_some_and(|worth| {
            let known = self.entries.binary_search_by_key(&worth, |e| e.worth);
            known.is_ok()
        })
    }

    pub(super) fn count(&self) -> u64 {
        self.entries.iter().map(|entry| entry.count).sum()
    }

    /// Whether any of them has a price.
    pub(super) fn is_priced(&self) -> bool {
        self.entries
            .iter()
            .any(|entry| entry.worth.currency.is_some())
    }

    /// Their indices, those with the most margin first; of equal ones the first.
    pub(super) fn indices(&self) -> impl Iterator<Item = u64> {
        self.entries.iter().map(|entry| entry.index)
    }
}

#[cfg(test)]
mod tests {
    use super::{Candidate, Front, LEAST_FRESH, MOST_FRONT, MOST_KEPT, Shortlist, Unbeaten};
    use crate::quantity::{Currency, Money};
    use std::cell::Cell;
    use std::sync::atomic::{AtomicU64, Ordering::Relaxed};

    const MANY: u64 = 100_000;

    fn candidate(index: u64, margin: f64, effort: f64) -> Candidate {
        Candidate {
            index,
            margin: Some(margin),
            effort: Some(effort),
            price: None,
            bite: None,
            outside: 0.0,
            warnings: Vec::new(),
            errors: Vec::new(),
            on_front: false,
        }
    }

    fn priced(one: Candidate, amount: u64, currency: Currency) -> Candidate {
        let amount = amount.into();
        let price = Some(Money { amount, currency });
        Candidate { price, ..one }
    }

    fn taken(candidates: &[Candidate]) -> Front {
        let mut front = Front::default();
        candidates.iter().for_each(|one| front.take(one));
        front
    }

    fn front(candidates: &[Candidate]) -> Unbeaten {
        taken(candidates).finish()
    }

    /// The front is the same in whatever order candidates come, however they are shared among threads, and whether
    /// all, some or none have a price.
    #[test]
    fn the_front_holds_the_unbeaten_candidates() {
        let seed = Cell::new(1_u64);
        let random = |most: u64| {
            seed.set(
                seed.get()
                    .wrapping_mul(6_364_136_223_846_793_005)
                    .wrapping_add(1),
            );
            (seed.get() >> 33) % most
        };
        for round in 0..400 {
            let some = |index| {
                let one = candidate(index, random(12) as f64, random(12) as f64);
                match (round % 4, random(3)) {
                    (0, _) | (2 | 3, 0) => one,
                    (3, 1) => priced(one, random(6), Currency::EUR),
                    _ => priced(one, random(6), Currency::USD),
                }
            };
            let all: Vec<Candidate> = (0..60).map(some).collect();
            let (first, second) = all.split_at(random(60) as usize);
            let mut front = taken(second);
            front.settle();
            front.merge(taken(first));
            let front = front.finish();
            let beaten = |one: &Candidate| {
                all.iter().any(|other| {
                    let currency = |one: &Candidate| one.price.map(|price| price.currency);
                    let amount = |one: &Candidate| one.price.map(|price| price.amount);
                    currency(other) == currency(one)
                        && other.margin >= one.margin
                        && other.effort <= one.effort
                        && amount(other) <= amount(one)
                        && (other.margin > one.margin
                            || other.effort < one.effort
                            || amount(other) < amount(one))
                })
            };
            let mut expected: Vec<u64> = all
                .iter()
                .filter(|one| !beaten(one))
                .map(|one| one.index)
                .collect();
            let mut found: Vec<u64> = front.indices().collect();
            let margins = found.iter().map(|index| all[*index as usize].margin);
            assert!(margins.is_sorted_by(|a, b| a >= b));
            expected.sort_unstable();
            found.sort_unstable();
            assert_eq!(found, expected);
            assert_eq!(front.count(), expected.len() as u64);
            assert!(all.iter().all(|one| front.holds(one) != beaten(one)));
        }
    }

    /// Two ways to one ratio differ in the last digit, and neither beats the other.
    #[test]
    fn candidates_that_differ_by_rounding_are_equal() {
        let front = front(&[
            candidate(0, 1.5, 100.0),
            candidate(1, 1.5 + 1e-15, 100.0 + 1e-13),
        ]);
        assert_eq!(front.count(), 2);
    }

    /// Equal candidates take no more room than those that are reported, and beaten ones take none.
    #[test]
    fn the_front_of_very_many_is_small() {
        let equal: Vec<_> = (0..MANY).map(|i| candidate(i, 1.5, 100.0)).collect();
        let front_of_equal = taken(&equal);
        assert!(front_of_equal.entries.capacity() < 4 * (LEAST_FRESH + MOST_FRONT));
        let front_of_equal = front_of_equal.finish();
        assert_eq!(front_of_equal.count(), MANY);
        assert_eq!(front_of_equal.indices().count(), MOST_FRONT);
        let better: Vec<_> = (0..MANY).map(|i| candidate(i, i as f64, 100.0)).collect();
        let better = taken(&better);
        assert!(better.entries.capacity() < 4 * LEAST_FRESH);
        assert_eq!(better.finish().count(), 1);
        // All of a trade-off count; steps too small to measure do not.
        let fine: Vec<_> = (0..MANY)
            .map(|i| candidate(i, i as f64 * 1e-7, i as f64 * 1e-6))
            .collect();
        let fine = front(&fine).entries;
        assert!(fine.chunk_by(|a, b| a.worth == b.worth).count() <= 102);
    }

    /// If more candidates are unbeaten than are kept, those with the most margin are kept, and it is known that there
    /// are more.
    #[test]
    fn a_front_that_is_too_large_is_cut_where_the_margin_is_least() {
        let all = MOST_KEPT as u64 + 5_000;
        let one = |i: u64| {
            let one = candidate(i, i as f64, 1_000.0);
            priced(one, i, Currency::USD)
        };
        let whole: Vec<_> = (0..all).map(one).collect();
        let (first, second) = whole.split_at(60_000);
        let mut cut = taken(second);
        cut.merge(taken(first));
        let cut = cut.finish();
        assert!(cut.is_cut && !front(first).is_cut);
        assert_eq!(cut.count(), MOST_KEPT as u64);
        assert_eq!(cut.indices().next(), Some(all - 1));
        assert!(cut.holds(&whole[5_000]) && !cut.holds(&whole[4_999]));
    }

    /// Comparisons are counted, since they are the work. Twice as many candidates need about twice as many
    /// comparisons.
    #[test]
    fn a_short_list_of_very_many_costs_little_for_each() {
        let compared = AtomicU64::new(0);
        let by = |a: &Candidate, b: &Candidate| {
            compared.fetch_add(1, Relaxed);
            b.index.cmp(&a.index)
        };
        for most in [1, 10, 5_000] {
            compared.store(0, Relaxed);
            let mut list = Shortlist::new(most, &by);
            // Each comes before all that are there.
            (0..MANY).for_each(|i| list.take(candidate(i, 0.0, 0.0)));
            let kept = list.into_sorted();
            assert_eq!(kept.len(), most);
            assert_eq!(kept[0].index, MANY - 1);
            assert!(compared.load(Relaxed) < 40 * MANY, "{most}: {compared:?}");
        }
    }
}
