//! What combinations with the same problem share.

use super::tally::{Counts, pairs_of};
use crate::model::{Axis, Space};
use crate::quantity::listed;

/// The most choices of one axis that are listed; more explain nothing.
const MOST_LISTED: usize = 3;

/// How many combinations have a problem, out of how many, and what they share.
pub(super) fn words(space: &Space, tried: &Counts, seen: &Counts, of: u64) -> String {
    if seen.all == of {
        return match of {
            1 => "in the one combination".to_owned(),
            _ => format!("in all {of} combinations"),
        };
    }
    if seen.all == 1 {
        return format!("in 1 of {of} combinations");
    }
    let shared: Vec<(usize, Vec<usize>)> = (0..)
        .zip(&seen.singles)
        .filter_map(|(axis, counts)| Some((axis, confined(counts)?)))
        .collect();
    if !shared.is_empty() {
        let list = and(shared.iter().map(|(axis, at)| or(&space.axes[*axis], at)));
        return match exact(tried, seen, &shared) {
            true => format!("in all {} combinations with {list}", seen.all),
            false => format!("in {} of {of} combinations, all with {list}", seen.all),
        };
    }
    let count = format!("in {} of {of} combinations", seen.all);
    if let Some(pairs) = meeting(space, tried, seen) {
        return format!("{count}, whenever {pairs}");
    }
    let always: Vec<String> = (0..)
        .zip(&space.axes)
        .filter_map(|(at, axis)| Some(or(axis, &always(&tried.singles[at], &seen.singles[at])?)))
        .collect();
    match always.is_empty() {
        true => count,
        false => format!("{count}, always with {}", always.join(" or with ")),
    }
}

/// The few choices with which every combination has the problem. `None` if there are none, or many.
fn always(tried: &[u64], seen: &[u64]) -> Option<Vec<usize>> {
    let whole = (0..).zip(seen.iter().zip(tried));
    let whole: Vec<usize> = whole
        .filter(|(_, (seen, tried))| **seen > 0 && seen == tried)
        .map(|(i, _)| i)
        .collect();
    (!whole.is_empty() && whole.len() <= MOST_LISTED).then_some(whole)
}

/// The few choices of an axis to which something is confined; `None` where they are many, or
/// all.
fn confined(counts: &[u64]) -> Option<Vec<usize>> {
    let raised: Vec<usize> = (0..)
        .zip(counts)
        .filter(|(_, n)| **n > 0)
        .map(|(i, _)| i)
        .collect();
    (raised.len() < counts.len() && raised.len() <= MOST_LISTED).then_some(raised)
}

/// Whether every combination of what they share has the problem.
fn exact(tried: &Counts, seen: &Counts, shared: &[(usize, Vec<usize>)]) -> bool {
    match shared {
        [(axis, at)] => at
            .iter()
            .all(|i| tried.singles[*axis].get(*i) == seen.singles[*axis].get(*i)),
        [(a, at_a), (b, at_b)] => {
            let axes = tried.singles.len();
            let Some(table) = pairs_of(axes).position(|pair| pair == (*a, *b)) else {
                return false;
            };
            let columns = tried.singles[*b].len();
            let cell = |counts: &Counts, i: usize, j: usize| {
                counts.pairs[table].get(i * columns + j).copied()
            };
            at_a.iter().all(|i| {
                at_b.iter().all(|j| {
                    let all = cell(tried, *i, *j);
                    all.is_some() && all == cell(seen, *i, *j)
                })
            })
        }
        _ => false,
    }
}

/// The few pairs of choices with which every combination has the problem.
fn meeting(space: &Space, tried: &Counts, seen: &Counts) -> Option<String> {
    let tables = pairs_of(space.axes.len()).zip(seen.pairs.iter().zip(&tried.pairs));
    for ((a, b), (seen, tried)) in tables {
        let raised: Vec<usize> = (0..)
            .zip(seen)
            .filter(|(_, n)| **n > 0)
            .map(|(i, _)| i)
            .collect();
        let whole = raised.iter().all(|i| seen.get(*i) == tried.get(*i));
        if raised.is_empty() || raised.len() > MOST_LISTED || !whole {
            continue;
        }
        let columns = space.axes[b].choices.len();
        let pairs = raised.iter().map(|i| {
            let (row, column) = (i / columns, i % columns);
            format!(
                "{} meets {}",
                or(&space.axes[a], &[row]),
                or(&space.axes[b], &[column])
            )
        });
        return Some(pairs.collect::<Vec<_>>().join(", or "));
    }
    None
}

/// Choices of an axis as alternatives: `slave hy_s22 or hy_s25`.
fn or(axis: &Axis, at: &[usize]) -> String {
    let names: Vec<&str> = at
        .iter()
        .filter_map(|i| Some(axis.choices.get(*i)?.name.as_str()))
        .collect();
    format!("{} {}", axis.subject.words(), listed(&names, " or "))
}

fn and(items: impl Iterator<Item = String>) -> String {
    listed(&items.collect::<Vec<_>>(), " and ")
}
