//! Findings before and after. Two findings are the same if they are about the same thing, even with other numbers.

use super::Side;
use crate::checks::{Finding, Run};
use crate::finding::Severity;
use crate::quantity::UNITS;
use crate::schema::BlockId;
use crate::syntax::TextRange;
use std::collections::{BTreeMap, HashMap, VecDeque};

/// How a finding changed between two versions.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Fate {
    /// It is new.
    Came,
    /// An `allow` silenced it before, and none does now.
    Unsilenced,
    /// It is still there, with other numbers or another severity.
    Changed,
    /// It is found, but an `allow` silences it now and did not before.
    Silenced,
    Went,
    Stayed,
}

/// One finding before and after.
#[derive(Debug)]
pub struct FindingChange<'a> {
    pub fate: Fate,
    pub before: Option<&'a Finding>,
    pub after: Option<&'a Finding>,
    /// Why it is silenced now, in the author's words.
    pub why: Option<&'a str>,
}

impl FindingChange<'_> {
    pub fn is_same(&self) -> bool {
        self.fate == Fate::Stayed
    }

    /// The finding as it is now, or as it was if it is gone.
    pub fn finding(&self) -> Option<&Finding> {
        self.after.or(self.before)
    }

    /// Whether it has at least a severity now and had not before.
    pub fn is_new_at(&self, level: Severity) -> bool {
        let reaches = |side: Option<&Finding>| side.is_some_and(|f| f.severity >= level);
        match self.fate {
            Fate::Came | Fate::Unsilenced => reaches(self.after),
            Fate::Changed => reaches(self.after) && !reaches(self.before),
            Fate::Silenced | Fate::Went | Fate::Stayed => false,
        }
    }
}

/// A finding of one version.
#[derive(Clone, Copy)]
struct Seen<'a> {
    finding: &'a Finding,
    /// Its file, and its place there.
    at: (&'a str, Option<TextRange>),
    /// The reason of the `allow` that silences it.
    why: Option<&'a str>,
}

/// The changes of all findings between two versions, the gravest first. A finding that is gone is left out if
/// `can_be_gone` denies it.
pub(super) fn changes<'a>(
    before: &Side<'a>,
    after: &Side<'a>,
    can_be_gone: impl Fn(&Finding) -> bool,
) -> Vec<FindingChange<'a>> {
    let mut groups: BTreeMap<Group, (Vec<Seen<'a>>, Vec<Seen<'a>>)> = BTreeMap::new();
    for seen in all(before) {
        groups.entry(group(seen)).or_default().0.push(seen);
    }
    for seen in all(after) {
        groups.entry(group(seen)).or_default().1.push(seen);
    }
    let mut changes: Vec<FindingChange<'a>> = groups
        .into_values()
        .flat_map(|(before, after)| matched(before, after))
        .filter_map(|(old, new)| change(old, new))
        .filter(|change| change.fate != Fate::Went || change.before.is_some_and(&can_be_gone))
        .collect();
    changes.sort_by_key(|change| {
        let severity = change.finding().map(|finding| finding.severity);
        (change.fate, std::cmp::Reverse(severity))
    });
    changes
}

fn all<'a>(side: &Side<'a>) -> Vec<Seen<'a>> {
    let at = |finding: &'a Finding| {
        let place = &finding.problem.place;
        let range = side.report.map(|report| report.range(place));
        (&*place.file, range)
    };
    let open = side.findings.iter().map(|finding| Seen {
        finding,
        at: at(finding),
        why: None,
    });
    let silenced = side.allowed.iter().map(|allowed| Seen {
        finding: &allowed.finding,
        at: at(&allowed.finding),
        why: Some(&allowed.why),
    });
    open.chain(silenced).collect()
}

/// What two findings must have in common to be the same: check and block.
type Group = (&'static str, Option<BlockId>);

fn group(seen: Seen<'_>) -> Group {
    (seen.finding.check.name(), seen.finding.problem.block)
}

type Match<'a> = (Option<Seen<'a>>, Option<Seen<'a>>);

/// The part of a message by which two findings are paired.
type Key = fn(&str) -> Vec<&str>;

/// Pairs the findings that are the same before and after. Pairs are made by the whole message, then by its words
/// without numbers and units. Calculated findings may use other words, and are paired last by the names in them.
fn matched<'a>(mut before: Vec<Seen<'a>>, mut after: Vec<Seen<'a>>) -> Vec<Match<'a>> {
    let mut found = Vec::new();
    let read = before
        .iter()
        .any(|seen| matches!(seen.finding.check.run, Run::Reading));
    let keys: &[Key] = match read {
        true => &[whole, words],
        false => &[whole, words, names],
    };
    for key in keys {
        pair(&mut before, &mut after, *key, &mut found);
    }
    let gone = before.into_iter().map(|old| (Some(old), None));
    let new = after.into_iter().map(|new| (None, Some(new)));
    found.extend(gone.chain(new));
    found
}

/// Moves pairs with the same key out of both lists. Several with one key are paired in order.
fn pair<'a>(
    before: &mut Vec<Seen<'a>>,
    after: &mut Vec<Seen<'a>>,
    key: Key,
    found: &mut Vec<Match<'a>>,
) {
    let key_of = |seen: &Seen<'a>| key(&seen.finding.problem.message);
    let mut waiting: HashMap<Vec<&'a str>, VecDeque<Seen<'a>>> = HashMap::new();
    for new in after.drain(..) {
        waiting.entry(key_of(&new)).or_default().push_back(new);
    }
    before.retain(|old| {
        let same = waiting.get_mut(&key_of(old)).and_then(VecDeque::pop_front);
        if same.is_some() {
            found.push((Some(*old), same));
        }
        same.is_none()
    });
    after.extend(waiting.into_values().flatten());
    after.sort_by(|a, b| a.at.cmp(&b.at));
}

fn whole(message: &str) -> Vec<&str> {
    vec![message]
}

/// The words of a message, without its numbers and units.
pub fn words(message: &str) -> Vec<&str> {
    message
        .split(|c: char| !(c.is_alphanumeric() || matches!(c, '_' | '.' | '-')))
        .map(|word| word.trim_matches('.'))
        .filter(|word| word.starts_with(char::is_alphabetic))
        .filter(|word| !UNITS.iter().any(|unit| unit.name == *word))
        .collect()
}

/// The words of the language in a message: `pedal_effort`, `slave.bore`.
fn names(message: &str) -> Vec<&str> {
    let is_name = |word: &&str| word.contains(['_', '.']);
    words(message).into_iter().filter(is_name).collect()
}

/// The change of a finding; `None` if it is silenced before and after, or gone and was silenced.
fn change<'a>(before: Option<Seen<'a>>, after: Option<Seen<'a>>) -> Option<FindingChange<'a>> {
    let silenced = |side: Option<Seen<'a>>| side.is_some_and(|seen| seen.why.is_some());
    let said = |side: Seen<'a>| (side.finding.severity, side.finding.problem.message.as_str());
    let fate = match (before, after) {
        (_, Some(new)) if new.why.is_some() => match silenced(before) {
            true => return None,
            false => Fate::Silenced,
        },
        (Some(old), Some(new)) => match (old.why, said(old) == said(new)) {
            (Some(_), _) => Fate::Unsilenced,
            (None, true) => Fate::Stayed,
            (None, false) => Fate::Changed,
        },
        (None, Some(_)) => Fate::Came,
        (Some(old), None) if old.why.is_none() => Fate::Went,
        (_, None) => return None,
    };
    Some(FindingChange {
        fate,
        before: before.map(|seen| seen.finding),
        after: after.map(|seen| seen.finding),
        why: after.and_then(|seen| seen.why),
    })
}

#[cfg(test)]
mod tests {
    use super::{names, words};

    #[test]
    fn numbers_and_units_are_no_words() {
        let one = "at full pedal the fingers travel 6.87 mm, 0.33 mm short of the 7.2 mm";
        let other = "at full pedal the fingers travel 0.27 in, 1e-3 in short of the 0.28 in";
        assert_eq!(words(one), words(other));
        assert_eq!(
            words("a spring of 3 N*m (2 lbf*ft)."),
            ["a", "spring", "of"]
        );
    }

    #[test]
    fn names_are_those_of_the_language() {
        let message = "`pedal_effort` is 150 N. Change slave.bore, or well-known parts.";
        assert_eq!(names(message), ["pedal_effort", "slave.bore"]);
    }
}
