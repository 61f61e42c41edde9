//! Pairs of faults that explain a visit where no single fault does.

use super::base::Base;
use super::fault::{Fault, Size};
use super::faults::FAULTS;
use super::fit::{EXPLAINED, squares, worst};
use super::forward::Case;
use super::readings::{PerReading, Visit};

/// Two faults with the sizes that together explain a visit best.
#[derive(Clone, Debug)]
pub struct PairFit {
    pub faults: [(&'static Fault, f64); 2],
    pub misses: PerReading,
    /// The plausibility of both sizes, times how well they fit.
    pub plausibility: f64,
}

/// How many of the likeliest pairs are fitted closely.
const CLOSELY: usize = 12;
/// How many pairs are reported.
const REPORTED: usize = 3;
/// How many sizes of a fault are tried, evenly spaced in the logarithm.
const SIZES: usize = 9;

/// One fault at some sizes, with the misses of each.
struct Row {
    fault: &'static Fault,
    tried: Vec<(f64, PerReading)>,
}

/// The pairs that explain a visit, the most plausible first. A pair is left out if one of its faults explains the
/// visit alone.
pub fn pairs(base: &Base, visit: &Visit, healthy: &PerReading) -> Vec<PairFit> {
    let rows: Vec<Row> = FAULTS.iter().filter_map(|f| row(f, base, visit)).collect();
    let mut likely: Vec<(f64, [(&'static Fault, f64); 2])> = Vec::new();
    for (i, one) in rows.iter().enumerate() {
        for other in &rows[i + 1..] {
            likely.extend(rough(one, other, healthy));
        }
    }
    likely.sort_by(|a, b| a.0.total_cmp(&b.0));
    likely.truncate(CLOSELY);
    let mut found: Vec<PairFit> = likely
        .into_iter()
        .filter_map(|(_, start)| close(start, base, visit))
        .filter(|fit| worst(&fit.misses).is_some_and(|(_, miss)| miss <= EXPLAINED))
        .collect();
    found.sort_by(|a, b| b.plausibility.total_cmp(&a.plausibility));
    found.truncate(REPORTED);
    found
}

fn row(fault: &'static Fault, base: &Base, visit: &Visit) -> Option<Row> {
    let sizes = match fault.size {
        Size::None => return None,
        Size::Bore { .. } => fault.bores(base),
        Size::Between { .. } | Size::Factor { .. } => {
            let (low, high) = fault.range(base)?;
            let step = (high - low) / (SIZES - 1) as f64;
            (0..SIZES).map(|i| (low + step * i as f64).exp()).collect()
        }
    };
    let tried = sizes.into_iter().filter_map(|size| {
        let faults = [(fault, size)];
        Some((size, Case { faults: &faults }.misses(base, visit)?))
    });
    let tried: Vec<_> = tried.collect();
    (!tried.is_empty()).then_some(Row { fault, tried })
}

/// The best pair of the sizes tried, assuming that the changes of two faults add up.
fn rough(
    one: &Row,
    other: &Row,
    healthy: &PerReading,
) -> Option<(f64, [(&'static Fault, f64); 2])> {
    let sum = |a: &PerReading, b: &PerReading| -> f64 {
        let misses = healthy.iter().zip(a).zip(b);
        misses
            .filter_map(|((healthy, a), b)| {
                let miss = (*a)? + (*b)? - (*healthy)?;
                Some(miss * miss)
            })
            .sum()
    };
    let mut best: Option<(f64, [(&'static Fault, f64); 2])> = None;
    for (size, misses) in &one.tried {
        for (other_size, other_misses) in &other.tried {
            let squares = sum(misses, other_misses);
            if best.as_ref().is_none_or(|(known, _)| squares < *known) {
                best = Some((squares, [(one.fault, *size), (other.fault, *other_size)]));
            }
        }
    }
    best
}

/// Fits the sizes of two faults to the least squares of the chain's own misses, from a rough start.
///
/// Gauss–Newton in the logarithms of the sizes, each step halved until it helps (J. Nocedal and S. J. Wright,
/// Numerical Optimization, 2006, s 10.3). Bores are not changed.
fn close(start: [(&'static Fault, f64); 2], base: &Base, visit: &Visit) -> Option<PairFit> {
    const ROUNDS: usize = 12;
    const STEP: f64 = 1e-4;
    /// Keeps the equations solvable where a reading does not depend on the sizes.
    const DAMPING: f64 = 1e-9;
    let ranges = start.map(|(fault, _)| fault.range(base));
    let sized = |logs: [f64; 2]| [(start[0].0, logs[0].exp()), (start[1].0, logs[1].exp())];
    let misses = |logs: [f64; 2]| {
        Case {
            faults: &sized(logs),
        }
        .misses(base, visit)
    };
    let mut logs = start.map(|(_, size)| size.ln());
    let mut here = misses(logs)?;
    for _ in 0..ROUNDS {
        let slope = |i: usize| -> Option<Vec<f64>> {
            ranges[i]?;
            let mut aside = logs;
            aside[i] += STEP;
            let aside = misses(aside)?;
            let pairs = aside.iter().zip(&here);
            Some(
                pairs
                    .filter_map(|(a, b)| Some(((*a)? - (*b)?) / STEP))
                    .collect(),
            )
        };
        let values: Vec<f64> = here.iter().flatten().copied().collect();
        let none = || vec![0.0; values.len()];
        let (a, b) = (slope(0).unwrap_or_else(none), slope(1).unwrap_or_else(none));
        let dot = |x: &[f64], y: &[f64]| x.iter().zip(y).map(|(x, y)| x * y).sum::<f64>();
        let (aa, ab, bb) = (dot(&a, &a) + DAMPING, dot(&a, &b), dot(&b, &b) + DAMPING);
        let (ga, gb) = (-dot(&a, &values), -dot(&b, &values));
        let whole = aa * bb - ab * ab;
        let step = [(ga * bb - gb * ab) / whole, (gb * aa - ga * ab) / whole];
        let mut share = 1.0;
        let mut moved = false;
        while share > 1e-3 {
            let mut next = logs;
            for i in 0..2 {
                if let Some((low, high)) = ranges[i] {
                    next[i] = (logs[i] + share * step[i]).clamp(low, high);
                }
            }
            if let Some(there) = misses(next)
                && squares(&there) < squares(&here)
            {
                moved = (next[0] - logs[0]).abs() + (next[1] - logs[1]).abs() > 1e-6;
                (logs, here) = (next, there);
                break;
            }
            share *= 0.5;
        }
        if !moved {
            break;
        }
    }
    let faults = sized(logs);
    let plausible = faults.map(|(fault, size)| fault.plausibility(base, size));
    Some(PairFit {
        faults,
        plausibility: plausible[0] * plausible[1] * (-0.5 * squares(&here)).exp(),
        misses: here,
    })
}
