//! Finds renamed files: which new file was which of those that are gone.

use super::{Pair, Side};
use sha2::{Digest, Sha256};
use std::cmp::Ordering;
use std::collections::{BTreeSet, HashMap};

/// Two files with a smaller share of their lines in common are different files.
const LEAST_ALIKE: f64 = 0.5;
/// Two files that have the same systems are different files if a smaller share of their lines is in common.
const LEAST_ALIKE_BY_NAME: f64 = 0.25;
/// With more possible pairs, only files with equal contents are paired.
const MOST_PAIRS: usize = 1_000_000;

/// Pairs the files that are gone with the new ones, the most similar first. Files without a similar one stay alone.
pub fn paired(before: &Side, after: &Side, gone: Vec<String>, came: Vec<String>) -> Vec<Pair> {
    let mut old_of = vec![None; came.len()];
    if !gone.is_empty() && !came.is_empty() {
        let signatures = |side: &Side, keys: &[String]| -> Vec<Option<Signature>> {
            keys.iter().map(|key| Signature::of(side, key)).collect()
        };
        let (old, new) = (signatures(before, &gone), signatures(after, &came));
        pair(&old, &new, &mut old_of);
    }
    let renamed: BTreeSet<usize> = old_of.iter().flatten().copied().collect();
    let left = gone
        .iter()
        .enumerate()
        .filter(|(i, _)| !renamed.contains(i));
    let left = left.map(|(_, key)| Pair {
        before: Some(key.clone()),
        after: None,
    });
    let here = came.into_iter().zip(old_of).map(|(key, old)| Pair {
        before: old.and_then(|old| gone.get(old).cloned()),
        after: Some(key),
    });
    left.chain(here).collect()
}

/// What identifies a file under another name.
struct Signature {
    whole: Vec<u8>,
    /// Its lines in order, as hashes with their lengths.
    lines: Vec<(u64, usize)>,
    bytes: usize,
    systems: BTreeSet<String>,
}

impl Signature {
    /// The signature of a file; `None` if it cannot be read. That is reported when the file is compared.
    fn of(side: &Side, key: &str) -> Option<Self> {
        let source = side.read(key, None).ok()??;
        let lines = source.text.lines().map(str::trim);
        let lines = lines.filter(|line| !line.is_empty());
        let mut lines: Vec<(u64, usize)> = lines.map(|line| (hash(line), line.len())).collect();
        lines.sort_unstable();
        let systems = source.systems().map(|system| system.name.text.clone());
        Some(Self {
            whole: Sha256::digest(source.text.as_bytes()).to_vec(),
            bytes: lines.iter().map(|(_, bytes)| bytes).sum(),
            systems: systems.collect(),
            lines,
        })
    }

    /// The share of the larger of two files that both have in common, if it is large enough for a renamed file.
    fn alike(&self, other: &Self) -> Option<f64> {
        let least = match (&self.systems, &other.systems) {
            (one, other) if one.is_empty() && other.is_empty() => LEAST_ALIKE,
            (one, other) if one == other => LEAST_ALIKE_BY_NAME,
            (one, other) if !one.is_disjoint(other) => LEAST_ALIKE,
            // Another system with the same lines is still another system.
            _ => return None,
        };
        let (mut one, mut two) = (self.lines.iter().peekable(), other.lines.iter().peekable());
        let mut shared = 0;
        while let (Some(left), Some(right)) = (one.peek(), two.peek()) {
            match left.cmp(right) {
                Ordering::Less => drop(one.next()),
                Ordering::Greater => drop(two.next()),
                Ordering::Equal => {
                    shared += left.1;
                    one.next();
                    two.next();
                }
            }
        }
        let part = shared as f64 / self.bytes.max(other.bytes).max(1) as f64;
        (part >= least).then_some(part)
    }
}

fn hash(line: &str) -> u64 {
    let digest = Sha256::digest(line.as_bytes());
    digest
        .iter()
        .take(8)
        .fold(0, |sum, byte| sum << 8 | u64::from(*byte))
}

/// Finds the old file of each new one, those with equal contents first.
fn pair(old: &[Option<Signature>], new: &[Option<Signature>], old_of: &mut [Option<usize>]) {
    let mut by_text: HashMap<&[u8], Vec<usize>> = HashMap::new();
    for (i, one) in old.iter().enumerate().rev() {
        if let Some(one) = one {
            by_text.entry(&one.whole).or_default().push(i);
        }
    }
    let mut taken = vec![false; old.len()];
    for (other, old_of) in new.iter().zip(old_of.iter_mut()) {
        let same = other
            .as_ref()
            .and_then(|other| by_text.get_mut(&*other.whole)?.pop());
        if let Some(same) = same {
            taken[same] = true;
            *old_of = Some(same);
        }
    }
    let is_left = |i: &usize| old[*i].is_some() && !taken[*i];
    let olds: Vec<usize> = (0..old.len()).filter(is_left).collect();
    let is_left = |j: &usize| new[*j].is_some() && old_of[*j].is_none();
    let news: Vec<usize> = (0..new.len()).filter(is_left).collect();
    if olds.len().saturating_mul(news.len()) > MOST_PAIRS {
        return;
    }
    let mut likes = Vec::new();
    for &i in &olds {
        for &j in &news {
            let both = old[i].as_ref().zip(new[j].as_ref());
            likes.extend(both.and_then(|(one, other)| Some((one.alike(other)?, i, j))));
        }
    }
    likes.sort_by(|a, b| b.0.total_cmp(&a.0).then((a.1, a.2).cmp(&(b.1, b.2))));
    for (_, i, j) in likes {
        if !taken[i] && old_of[j].is_none() {
            taken[i] = true;
            old_of[j] = Some(i);
        }
    }
}
