//! What is kept of very many candidates: the first few in an order, and those that nothing beats.

use super::{Candidate, MOST_FRONT};
use std::cmp::{Ordering, Reverse};
use std::collections::BTreeMap;

/// The order of a list of candidates.
pub(super) type By<'s> = &'s (dyn Fn(&Candidate, &Candidate) -> Ordering + Sync);

/// The first few of many candidates, in no more room than twice as many need.
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

    /// Leaves the first ones, in no order.
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

/// What nothing beats in both release margin and effort: by falling margin, the effort falls as well.
///
/// Held against each other in steps far below what can be measured: of two ways to the same ratio, one has a
/// last digit more than the other and would beat it. That bounds their number too, to the steps in the range of margins
/// that occurs.
#[derive(Default)]
pub(super) struct Front(BTreeMap<Reverse<i64>, Unbeaten>);

/// All that have the same margin and effort.
struct Unbeaten {
    effort: i64,
    count: u64,
    /// The first of them, as many as are told.
    indices: Vec<u64>,
}

/// A margin and an effort in steps.
type Worth = (Reverse<i64>, i64);

impl Front {
    /// mm
    const MARGIN_STEP: f64 = 1e-4;
    /// N
    const EFFORT_STEP: f64 = 1e-3;

    /// `None` for what has no margin or no effort: anything beats it.
    fn worth(candidate: &Candidate) -> Option<Worth> {
        let margin = (candidate.margin? / Self::MARGIN_STEP).round() as i64;
        let effort = (candidate.effort? / Self::EFFORT_STEP).round() as i64;
        Some((Reverse(margin), effort))
    }

    pub(super) fn take(&mut self, candidate: &Candidate) {
        if let Some(worth) = Self::worth(candidate) {
            self.insert(worth, 1, &[candidate.index]);
        }
    }

    fn insert(&mut self, (margin, effort): Worth, count: u64, indices: &[u64]) {
        // Of those with as much margin the last has the least effort.
        let next = self.0.range_mut(..=margin).next_back();
        let unbeaten = match next {
            Some((_, known)) if known.effort < effort => return,
            Some((known_margin, known)) if known.effort == effort => {
                if *known_margin != margin {
                    return;
                }
                known
            }
            _ => {
                // Those with no more margin for no less effort are beaten.
                while let Some((beaten, known)) = self.0.range(margin..).next()
                    && known.effort >= effort
                {
                    let beaten = *beaten;
                    self.0.remove(&beaten);
                }
                self.0.entry(margin).or_insert(Unbeaten {
                    effort,
                    count: 0,
                    indices: Vec::new(),
                })
            }
        };
        unbeaten.count += count;
        let list = &mut unbeaten.indices;
        for index in indices {
            let at = list.partition_point(|known| known < index);
            if at < MOST_FRONT {
                list.insert(at, *index);
                list.truncate(MOST_FRONT);
            }
        }
    }

    pub(super) fn merge(&mut self, other: Self) {
        for (margin, unbeaten) in other.0 {
            self.insert((margin, unbeaten.effort), unbeaten.count, &unbeaten.indices);
        }
    }

    pub(super) fn holds(&self, candidate: &Candidate) -> bool {
        Self::worth(candidate).is_some_and(|(margin, effort)| {
            let known = self.0.get(&margin);
            known.is_some_and(|known| known.effort == effort)
        })
    }

    pub(super) fn count(&self) -> u64 {
        self.0.values().map(|unbeaten| unbeaten.count).sum()
    }

    /// Those of the most margin first, and of equals the first.
    pub(super) fn indices(&self) -> impl Iterator<Item = u64> {
        self.0
            .values()
            .flat_map(|unbeaten| unbeaten.indices.iter().copied())
    }
}

#[cfg(test)]
mod tests {
    use super::{Candidate, Front, MOST_FRONT, Shortlist};
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

    fn front(candidates: &[Candidate]) -> Front {
        let mut front = Front::default();
        candidates.iter().for_each(|one| front.take(one));
        front
    }

    /// Whatever order they come in, and however they are shared among threads.
    #[test]
    fn the_front_is_what_nothing_beats() {
        let seed = Cell::new(1_u64);
        let random = |most: u64| {
            seed.set(
                seed.get()
                    .wrapping_mul(6_364_136_223_846_793_005)
                    .wrapping_add(1),
            );
            (seed.get() >> 33) % most
        };
        for _ in 0..200 {
            let some = |index| candidate(index, random(12) as f64, random(12) as f64);
            let all: Vec<Candidate> = (0..30).map(some).collect();
            let (first, second) = all.split_at(random(30) as usize);
            let mut front = front(second);
            front.merge(super::tests::front(first));
            let beaten = |one: &Candidate| {
                all.iter().any(|other| {
                    other.margin >= one.margin
                        && other.effort <= one.effort
                        && (other.margin > one.margin || other.effort < one.effort)
                })
            };
            let mut expected: Vec<&Candidate> = all.iter().filter(|one| !beaten(one)).collect();
            expected.sort_by(|a, b| {
                b.margin
                    .partial_cmp(&a.margin)
                    .unwrap()
                    .then(a.index.cmp(&b.index))
            });
            let expected: Vec<u64> = expected.iter().map(|one| one.index).collect();
            assert_eq!(front.indices().collect::<Vec<_>>(), expected);
            assert_eq!(front.count(), expected.len() as u64);
            assert!(all.iter().all(|one| front.holds(one) != beaten(one)));
        }
    }

    /// Two ways to one ratio differ in the last digit, and neither beats the other.
    #[test]
    fn what_differs_by_rounding_alone_is_equal() {
        let front = front(&[
            candidate(0, 1.5, 100.0),
            candidate(1, 1.5 + 1e-15, 100.0 + 1e-13),
        ]);
        assert_eq!(front.count(), 2);
    }

    /// Equal ones take no more room than those that are told, and each of very many that are better than all before
    /// takes the place of one.
    #[test]
    fn the_front_of_very_many_is_small() {
        let equal: Vec<_> = (0..MANY).map(|i| candidate(i, 1.5, 100.0)).collect();
        let front_of_equal = front(&equal);
        assert_eq!(front_of_equal.count(), MANY);
        assert_eq!(front_of_equal.0.len(), 1);
        assert_eq!(front_of_equal.indices().count(), MOST_FRONT);
        let better: Vec<_> = (0..MANY).map(|i| candidate(i, i as f64, 100.0)).collect();
        assert_eq!(front(&better).0.len(), 1);
        // All of a trade-off count; steps too small to measure do not.
        let fine: Vec<_> = (0..MANY)
            .map(|i| candidate(i, i as f64 * 1e-7, i as f64 * 1e-6))
            .collect();
        assert!(front(&fine).0.len() <= 102);
    }

    /// Comparisons are counted, which are the work: about twice as many candidates, about twice as many comparisons.
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
