//! Findings that were known when a baseline was written. Only findings that are new or have become worse are then
//! reported.

use super::fingerprint::{Fingerprinter, Subject, fingerprints_v1};
use super::{fingerprints, message};
use crate::analysis::compare::words as wording;
use crate::analysis::{Allowed, Report, Silencer};
use crate::checks::Finding;
use crate::finding::{Measure, Shortfall};
use crate::quantity::{Dimension, Display, UnitExpr, UnitSystem, usual_unit};
use serde::{Deserialize, Serialize};
use std::collections::{HashMap, HashSet};

/// The version of the form. Version 1 had neither the subject of a finding nor how bad it was.
const VERSION: u32 = 2;

/// Larger baselines are neither written nor read.
pub const MAX_BASELINE_BYTES: usize = 256 << 20;

/// A file of known findings.
#[derive(Serialize, Deserialize, Debug)]
#[serde(deny_unknown_fields)]
pub struct Baseline {
    version: u32,
    findings: Vec<Known>,
}

/// A known finding.
#[derive(Serialize, Deserialize, Clone, PartialEq, Debug)]
#[serde(deny_unknown_fields)]
pub struct Known {
    /// Its file, relative to the baseline's folder.
    pub file: String,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub system: Option<String>,
    pub check: String,
    /// The statement that it is about, and the result that is past its limit.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub about: String,
    pub fingerprint: String,
    /// How far past its limit it is; `None` if it has no limit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub short_by: Option<Amount>,
    /// Its message, for people who read the baseline.
    pub message: String,
}

/// A number with its unit.
#[derive(Serialize, Deserialize, Clone, PartialEq, Debug)]
#[serde(deny_unknown_fields)]
pub struct Amount {
    value: f64,
    unit: String,
}

impl Amount {
    /// The amount of a shortfall; `None` if it is not a finite number, which could not be read back.
    fn of(shortfall: Shortfall) -> Option<Self> {
        let unit = unit(shortfall.what.dimension());
        let outward = |unit: &UnitExpr| unit.outward(shortfall.value);
        let value = unit.as_ref().map_or(shortfall.value, outward);
        value.is_finite().then(|| Self {
            value,
            unit: unit.map(|unit| unit.to_string()).unwrap_or_default(),
        })
    }

    /// The amount in internal units; `None` if it has another dimension.
    fn inward(&self, dimension: Dimension) -> Option<f64> {
        let unit = unit(dimension);
        let same = unit.as_ref().map(UnitExpr::to_string).unwrap_or_default() == self.unit;
        same.then(|| unit.map_or(self.value, |unit| unit.inward(self.value)))
    }
}

/// The unit of amounts in a baseline, whatever units the author uses.
fn unit(dimension: Dimension) -> Option<UnitExpr> {
    usual_unit(dimension, UnitSystem::Metric)
}

/// The files as a baseline sees them.
pub struct Files<'a> {
    /// The name of a file in the baseline.
    pub relative: &'a dyn Fn(&str) -> String,
    /// Whether a file with a name from the baseline exists.
    pub exists: &'a dyn Fn(&str) -> bool,
}

/// The result of comparing findings with a baseline.
#[derive(Debug, Default)]
pub struct Compared {
    /// Known findings that are no longer found, of these files and of files that are gone.
    pub gone: Vec<Known>,
    /// Known findings that have become worse, by file and fingerprint.
    pub worse: HashSet<(String, String)>,
}

impl Baseline {
    /// All findings of some reports. `relative` gives the name of a file in the baseline.
    pub fn of(reports: &[Report], relative: &dyn Fn(&str) -> String) -> Self {
        let mut findings: Vec<Known> = reports
            .iter()
            .flat_map(|report| known(report, relative(&report.source.name)))
            .collect();
        findings.sort_by(|a, b| key(a).cmp(&key(b)));
        Self {
            version: VERSION,
            findings,
        }
    }

    /// # Errors
    /// What is wrong with the text, as the end of a sentence.
    pub fn parse(text: &str) -> Result<Self, String> {
        #[derive(Deserialize)]
        struct Versioned {
            version: u32,
        }
        let no_baseline = |error| format!("is no baseline: {error}");
        let Versioned { version } = serde_json::from_str(text).map_err(no_baseline)?;
        match version {
            1 | VERSION => serde_json::from_str(text).map_err(no_baseline),
            other => Err(format!(
                "is a baseline of version {other}, and this program knows versions 1 to {VERSION}"
            )),
        }
    }

    /// # Errors
    /// Why the baseline cannot be written.
    pub fn to_text(&self) -> Result<String, String> {
        let text = serde_json::to_string_pretty(self).map_err(|error| error.to_string())? + "\n";
        if text.len() > MAX_BASELINE_BYTES {
            return Err(format!(
                "a baseline of {} findings would be larger than {} MiB, the most that is read: \
                 write one for each folder",
                self.count(),
                MAX_BASELINE_BYTES >> 20
            ));
        }
        Ok(text)
    }

    /// How many findings it knows.
    pub fn count(&self) -> usize {
        self.findings.len()
    }

    /// Whether it was written before baselines recorded how bad a finding was.
    pub fn is_old(&self) -> bool {
        self.version < VERSION
    }

    /// Silences known findings that are no worse, and marks those that are worse.
    pub fn silence(&self, reports: &mut [Report], name: &str, files: &Files<'_>) -> Compared {
        let mut matching = Matching::new(self, reports, files);
        if self.is_old() {
            matching.by_old_fingerprint(reports);
        } else {
            matching.by_stages();
        }
        let mut compared = Compared {
            gone: matching.gone(files),
            ..Compared::default()
        };
        let mut matches = matching.matches.into_iter();
        for report in reports {
            let display = |system: &str| {
                let mut systems = report.worked_systems();
                let found = systems.find(|worked| worked.system.name == system);
                found.map_or_else(Display::default, |worked| worked.system.display.clone())
            };
            let fates: Vec<(bool, Option<String>)> = report
                .findings
                .iter()
                .map(|finding| {
                    let accepted = matches.next().flatten().map(|known| &self.findings[known]);
                    let growth = accepted.and_then(|known| growth(known, finding, &display));
                    (accepted.is_some(), growth)
                })
                .collect();
            if fates.iter().any(|(_, growth)| growth.is_some()) {
                let grown = fingerprints(report).0.into_iter().zip(&fates);
                let grown = grown.filter(|(_, (_, growth))| growth.is_some());
                let file = report.source.name.to_string();
                compared
                    .worse
                    .extend(grown.map(|(print, _)| (file.clone(), print)));
            }
            let mut left = Vec::new();
            let findings = std::mem::take(&mut report.findings);
            for (mut finding, fate) in findings.into_iter().zip(fates) {
                match fate {
                    (false, _) => left.push(finding),
                    (true, Some(words)) => {
                        finding.problem.message.push_str(&words);
                        left.push(finding);
                    }
                    (true, None) => report.allowed.push(Allowed {
                        finding,
                        by: Silencer::Baseline,
                        why: format!("known in the baseline `{name}`"),
                    }),
                }
            }
            report.findings = left;
        }
        compared
    }
}

/// The findings of a report in the form of a baseline.
fn known(report: &Report, file: String) -> Vec<Known> {
    let mut fingerprinter = Fingerprinter::of(report);
    let known = report.findings.iter().map(|finding| {
        let Subject {
            system,
            about,
            fingerprint,
        } = fingerprinter.subject(finding);
        Known {
            file: file.clone(),
            system,
            check: finding.check.name().to_owned(),
            about,
            fingerprint,
            short_by: finding.problem.shortfall.and_then(Amount::of),
            message: message(finding),
        }
    });
    known.collect()
}

/// The key by which entries of a baseline are ordered.
fn key(known: &Known) -> [&str; 6] {
    let system = known.system.as_deref().unwrap_or_default();
    [
        &known.file,
        system,
        &known.check,
        &known.about,
        &known.fingerprint,
        &known.message,
    ]
}

/// The addition to the message of a finding that is worse than when it was accepted. `None` if it is as bad or
/// better, as far as it is shown, or if that is not known.
fn growth(known: &Known, finding: &Finding, display: &dyn Fn(&str) -> Display) -> Option<String> {
    let Shortfall { value, what } = finding.problem.shortfall?;
    let dimension = what.dimension();
    let accepted = known.short_by.as_ref()?.inward(dimension)?;
    if value <= accepted {
        return None;
    }
    let display = display(finding.system.as_deref().unwrap_or_default());
    let shift = display.shift(accepted, value, dimension)?;
    let past = match what {
        Measure::Count => "",
        Measure::Result(_) | Measure::Other(_) => " past the limit",
    };
    Some(format!(
        "; worse than when it was accepted: {}{past} then, {} now",
        shift.before, shift.after
    ))
}

/// Finds the entry of a baseline for each finding. Each entry is used once.
struct Matching<'a> {
    entries: &'a [Known],
    /// Entries that no finding has taken.
    is_free: Vec<bool>,
    /// Whether the system of an entry or its file is gone, so that the entry may now belong to another.
    has_moved: Vec<bool>,
    found: Vec<Known>,
    /// For each finding of all reports in turn, its entry.
    matches: Vec<Option<usize>>,
    /// The files that were checked.
    files: HashSet<String>,
}

impl<'a> Matching<'a> {
    fn new(baseline: &'a Baseline, reports: &[Report], files: &Files<'_>) -> Self {
        let mut found = Vec::new();
        let mut systems: HashMap<String, HashSet<&str>> = HashMap::new();
        for report in reports {
            let file = (files.relative)(&report.source.name);
            found.extend(known(report, file.clone()));
            let names = report.worked_systems().map(|w| w.system.name.as_str());
            systems.entry(file).or_default().extend(names);
        }
        // A system that cannot be built still exists if it has findings.
        let mut there: HashSet<(&str, &str)> = HashSet::new();
        for known in &found {
            there.extend(known.system.as_deref().map(|system| (&*known.file, system)));
        }
        let mut on_disk: HashMap<&str, bool> = HashMap::new();
        let entries = &*baseline.findings;
        let has_moved = entries.iter().map(|known| {
            let file = &*known.file;
            match (systems.get(file), known.system.as_deref()) {
                (Some(names), Some(system)) => {
                    !names.contains(system) && !there.contains(&(file, system))
                }
                (Some(_), None) => false,
                (None, _) => !*on_disk.entry(file).or_insert_with(|| (files.exists)(file)),
            }
        });
        Self {
            entries,
            is_free: vec![true; entries.len()],
            has_moved: has_moved.collect(),
            matches: vec![None; found.len()],
            found,
            files: systems.into_keys().collect(),
        }
    }

    fn by_old_fingerprint(&mut self, reports: &[Report]) {
        let prints = reports.iter().flat_map(|report| fingerprints_v1(report).0);
        for (known, print) in self.found.iter_mut().zip(prints) {
            known.fingerprint = print;
        }
        self.pair(false, |known| {
            Some(vec![known.file.clone(), known.fingerprint.clone()])
        });
    }

    /// Pairs findings and entries in stages. First those that are the same in every way. Then those with another
    /// wording, if there is only one. Then those with a limit, at another value. Then those that are the same in a
    /// system or a file with another name.
    fn by_stages(&mut self) {
        let text = |text: &str| text.to_owned();
        let system = |known: &Known| known.system.clone().unwrap_or_default();
        let words = |known: &Known| {
            let own = format!("{}: ", system(known));
            let message = &known.message;
            wording(message.strip_prefix(&own).unwrap_or(message)).join(" ")
        };
        let here = |known: &Known| vec![text(&known.file), system(known), text(&known.fingerprint)];
        let thing = |known: &Known| {
            known.short_by.as_ref()?;
            let [check, about] = [text(&known.check), text(&known.about)];
            Some(vec![text(&known.file), system(known), check, about])
        };
        let with = |key: Vec<String>, more: String| [key, vec![more]].concat();
        self.pair(false, |known| Some(with(here(known), words(known))));
        self.pair_single(false, |known| Some(here(known)));
        self.pair(false, |known| Some(with(thing(known)?, words(known))));
        self.pair_single(false, thing);
        let same = |known: &Known| vec![text(&known.fingerprint), words(known)];
        self.pair(true, |known| Some(with(same(known), text(&known.file))));
        self.pair(true, |known| Some(with(same(known), system(known))));
        self.pair(true, |known| Some(same(known)));
        self.pair_single(true, |known| Some(vec![text(&known.fingerprint)]));
    }

    /// Gives findings without an entry the free entries with the same key, the worst to the worst. If `moved` is set,
    /// only entries whose place is gone.
    fn pair(&mut self, moved: bool, key: impl Fn(&Known) -> Option<Vec<String>>) {
        let mut waiting: HashMap<Vec<String>, Vec<usize>> = HashMap::new();
        for (i, known) in self.entries.iter().enumerate() {
            if self.is_free[i]
                && (!moved || self.has_moved[i])
                && let Some(key) = key(known)
            {
                waiting.entry(key).or_default().push(i);
            }
        }
        if waiting.is_empty() {
            return;
        }
        let amount = |known: &Known| known.short_by.as_ref().map_or(0.0, |amount| amount.value);
        for list in waiting.values_mut() {
            list.sort_by(|a, b| amount(&self.entries[*a]).total_cmp(&amount(&self.entries[*b])));
        }
        let mut open: Vec<usize> = (0..self.found.len())
            .filter(|i| self.matches[*i].is_none())
            .collect();
        open.sort_by(|a, b| amount(&self.found[*b]).total_cmp(&amount(&self.found[*a])));
        for i in open {
            let list = key(&self.found[i]).and_then(|key| waiting.get_mut(&key));
            if let Some(entry) = list.and_then(Vec::pop) {
                self.matches[i] = Some(entry);
                self.is_free[entry] = false;
            }
        }
    }

    /// Pairs an entry and a finding if each is the only one with its key, counting those of earlier stages. If
    /// `moved` is set, only entries whose place is gone.
    fn pair_single(&mut self, moved: bool, key: impl Fn(&Known) -> Option<Vec<String>>) {
        let mut groups: HashMap<Vec<String>, (Vec<usize>, Vec<usize>)> = HashMap::new();
        let counts = |entry: usize| !moved || self.has_moved[entry];
        for (i, known) in self.entries.iter().enumerate() {
            if let Some(key) = key(known).filter(|_| counts(i)) {
                groups.entry(key).or_default().0.push(i);
            }
        }
        for (i, known) in self.found.iter().enumerate() {
            if let Some(key) = key(known).filter(|_| self.matches[i].is_none_or(counts)) {
                groups.entry(key).or_default().1.push(i);
            }
        }
        for (entries, found) in groups.values() {
            if let ([entry], [i]) = (entries.as_slice(), found.as_slice())
                && self.is_free[*entry]
                && self.matches[*i].is_none()
            {
                self.matches[*i] = Some(*entry);
                self.is_free[*entry] = false;
            }
        }
    }

    /// The entries without a finding, of files that were checked or are gone.
    fn gone(&self, files: &Files<'_>) -> Vec<Known> {
        let mut on_disk: HashMap<&str, bool> = HashMap::new();
        let free = self.entries.iter().zip(&self.is_free);
        let free = free
            .filter(|(_, is_free)| **is_free)
            .map(|(known, _)| known);
        free.filter(|known| {
            let file = &*known.file;
            self.files.contains(file)
                || !*on_disk.entry(file).or_insert_with(|| (files.exists)(file))
        })
        .cloned()
        .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_amount_is_read_as_it_was_written() {
        for (value, dimension) in [
            (0.554, Dimension::LENGTH),
            (1e-300, Dimension::PRESSURE),
            (3.0, Dimension::NUMBER),
        ] {
            let what = Measure::Other(dimension);
            let amount = Amount::of(Shortfall { value, what }).unwrap();
            let text = serde_json::to_string(&amount).unwrap();
            let read: Amount = serde_json::from_str(&text).unwrap();
            let back = read.inward(dimension).unwrap();
            assert!((back - value).abs() <= 1e-12 * value, "{text}");
            assert_eq!(read.inward(Dimension::FORCE), None, "{text}");
        }
        for value in [f64::NAN, f64::INFINITY] {
            let what = Measure::Count;
            assert_eq!(Amount::of(Shortfall { value, what }), None);
        }
    }
}
