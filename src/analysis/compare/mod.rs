//! Compares two versions of a spec: which inputs changed, which results moved, and which findings came and went.

mod findings;
mod inputs;
mod kits;
mod results;

pub use findings::{Fate, FindingChange, words};
pub use inputs::{InputChange, Said};
pub use kits::KitChange;
pub use results::{Figure, ResultChange, Standing, Way};

use super::{Allowed, Report, Worked};
use crate::checks::{Finding, Run};
use crate::finding::Severity;
use crate::mechanics::EndedBy;
use crate::model::{Bundle, Files, Source};
use crate::solve::NotWorked;
use std::sync::Arc;

/// One file before and after; one side may be missing.
#[derive(Debug)]
pub struct Comparison<'a> {
    pub before: Option<&'a Report>,
    pub after: Option<&'a Report>,
    /// The systems in the order of the text after, followed by those that are gone.
    pub systems: Vec<SystemChange<'a>>,
    /// The findings about the text itself.
    pub findings: Vec<FindingChange<'a>>,
}

/// One system before and after. One side is missing if the system is new or gone.
#[derive(Debug)]
pub struct SystemChange<'a> {
    pub before: Option<&'a Worked>,
    pub after: Option<&'a Worked>,
    /// The inputs in the order from the pedal to the pressure plate. For a system with choices, those of the parts to
    /// choose from are first.
    pub inputs: Vec<InputChange>,
    /// How its combinations changed, if it leaves something to choose before and after.
    pub kit: Option<KitChange>,
    /// What ended the pedal's travel before and after, if that changed.
    pub ended_by: Option<(EndedBy, EndedBy)>,
    /// The results that moved, appeared or disappeared, in the order of the schema.
    pub results: Vec<ResultChange>,
    /// The results with the disc worn out that moved.
    pub worn: Vec<ResultChange>,
    pub findings: Vec<FindingChange<'a>>,
}

/// Which systems are compared with each other.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Pairing<'a> {
    /// Systems with the same name. If each side has a single system, those two.
    ByName,
    /// One named system of each side.
    These { before: &'a str, after: &'a str },
}

/// Compares two versions of a file. A side is `None` if it does not have the file.
pub fn compare<'a>(
    before: Option<&'a Report>,
    after: Option<&'a Report>,
    pairing: Pairing<'_>,
) -> Comparison<'a> {
    let systems = pairs(before, after, pairing)
        .into_iter()
        .map(|(old, new)| system(before, after, old, new))
        .collect();
    let of_text = |report: Option<&'a Report>| side(report, None);
    Comparison {
        before,
        after,
        systems,
        findings: findings::changes(&of_text(before), &of_text(after), |_| true),
    }
}

/// Whether two files, all files that they use and their settings have the same texts. Then nothing can have changed.
pub fn same_text(before: (&Arc<Source>, &dyn Files), after: (&Arc<Source>, &dyn Files)) -> bool {
    let [before, after] =
        [before, after].map(|(source, files)| Bundle::load(source.clone(), files));
    before.sources.len() == after.sources.len()
        && before.problems == after.problems
        && before.settings == after.settings
        && before
            .sources
            .iter()
            .zip(&after.sources)
            .all(|(old, new)| old.text == new.text)
}

impl Comparison<'_> {
    /// Whether nothing that a user sees has changed.
    pub fn is_same(&self) -> bool {
        self.before.is_some() == self.after.is_some()
            && self.systems.iter().all(SystemChange::is_same)
            && self.findings.iter().all(FindingChange::is_same)
    }

    /// Every change of a finding, in the text first.
    pub fn all_findings(&self) -> impl Iterator<Item = &FindingChange<'_>> {
        let of_systems = self.systems.iter().flat_map(|system| &system.findings);
        self.findings.iter().chain(of_systems)
    }

    /// Whether there is a finding of at least a severity that was not there before.
    pub fn is_worse(&self, level: Severity) -> bool {
        self.all_findings().any(|change| change.is_new_at(level))
    }
}

impl SystemChange<'_> {
    /// Whether it is known that nothing changed.
    pub fn is_same(&self) -> bool {
        self.inputs.is_empty() && self.is_same_otherwise()
    }

    /// Whether only fields of parts have changed.
    pub fn is_told_by_parts(&self) -> bool {
        let of_parts = self.inputs.iter().all(|input| input.part.is_some());
        !self.inputs.is_empty() && of_parts && self.is_same_otherwise()
    }

    /// Whether it is known that only inputs changed.
    fn is_same_otherwise(&self) -> bool {
        self.before.is_some() == self.after.is_some()
            && self.not_worked() == [None, None]
            && self.combinations()[0] == self.combinations()[1]
            && self.kit.as_ref().is_none_or(KitChange::is_same)
            && self.ended_by.is_none()
            && self.results.is_empty()
            && self.worn.is_empty()
            && self.findings.iter().all(FindingChange::is_same)
    }

    /// The name after, or the name before if it is gone.
    pub fn name(&self) -> &str {
        let worked = self.after.or(self.before);
        worked.map_or("", |worked| &worked.system.name)
    }

    /// Why a side has no results to compare: before, then after.
    pub fn not_worked(&self) -> [Option<NotWorked>; 2] {
        [self.before, self.after].map(|side| {
            let worked = side.filter(|worked| worked.kit.is_none())?;
            worked.outcome.as_ref().err().copied()
        })
    }

    /// How many combinations work and how many were tried, for a side that leaves something to choose: before, then
    /// after.
    pub fn combinations(&self) -> [Option<(u64, u64)>; 2] {
        [self.before, self.after].map(|side| {
            let tried = &side?.kit.as_ref()?.tried;
            Some((tried.count - tried.failing, tried.count))
        })
    }
}

type Pair<'a> = (Option<&'a Worked>, Option<&'a Worked>);

fn pairs<'a>(
    before: Option<&'a Report>,
    after: Option<&'a Report>,
    pairing: Pairing<'_>,
) -> Vec<Pair<'a>> {
    let systems = |report: Option<&'a Report>| -> Vec<&'a Worked> {
        report
            .into_iter()
            .flat_map(Report::worked_systems)
            .collect()
    };
    let (before, after) = (&*systems(before), &*systems(after));
    let named =
        |side: &[&'a Worked], name: &str| side.iter().copied().find(|w| w.system.name == name);
    match (pairing, before, after) {
        (
            Pairing::These {
                before: one,
                after: other,
            },
            ..,
        ) => vec![(named(before, one), named(after, other))],
        (Pairing::ByName, [one], [other]) => vec![(Some(one), Some(other))],
        (Pairing::ByName, ..) => {
            let stay_or_come = after
                .iter()
                .map(|new| (named(before, &new.system.name), Some(*new)));
            let go = before
                .iter()
                .filter(|old| named(after, &old.system.name).is_none())
                .map(|old| (Some(*old), None));
            stay_or_come.chain(go).collect()
        }
    }
}

fn system<'a>(
    before_file: Option<&'a Report>,
    after_file: Option<&'a Report>,
    before: Option<&'a Worked>,
    after: Option<&'a Worked>,
) -> SystemChange<'a> {
    // A calculated finding is not gone if the system can no longer be worked out.
    let blind = matches!((before, after), (Some(_), Some(new)) if new.outcome.is_err() && new.kit.is_none());
    let can_be_gone = |finding: &Finding| !(blind && matches!(finding.check.run, Run::Outcome(_)));
    let of = |file: Option<&'a Report>, worked: Option<&'a Worked>| match worked {
        Some(worked) => side(file, Some(&worked.system.name)),
        None => Side::default(),
    };
    let mut change = SystemChange {
        before,
        after,
        inputs: Vec::new(),
        kit: None,
        ended_by: None,
        results: Vec::new(),
        worn: Vec::new(),
        findings: findings::changes(
            &of(before_file, before),
            &of(after_file, after),
            can_be_gone,
        ),
    };
    let (Some(old_file), Some(new_file)) = (before_file, after_file) else {
        return change;
    };
    let (Some(old), Some(new)) = (before, after) else {
        return change;
    };
    // Only a part of an unsound system is known: what it does not give may only be unreadable.
    if old.system.is_sound() && new.system.is_sound() {
        change.inputs = inputs::changes(
            inputs::Speaker::new(old_file, old),
            inputs::Speaker::new(new_file, new),
        );
        if let Some((kit, blocks, parts)) = kits::change((old_file, old), (new_file, new)) {
            // Choices are told by the names of the parts, not by the first part of each.
            let is_chosen = |what: &str| {
                let mut blocks = blocks.iter();
                blocks.any(|block| what == block || what.starts_with(&format!("{block}.")))
            };
            change.inputs.retain(|input| !is_chosen(&input.what));
            change.inputs.splice(0..0, parts);
            change.kit = Some(kit);
        }
    }
    if let (Ok(one), Ok(other)) = (&old.outcome, &new.outcome) {
        change.ended_by =
            (one.ended_by != other.ended_by).then_some((one.ended_by, other.ended_by));
        change.results = results::changes(old, new);
        change.worn = results::worn_changes(old, new);
    }
    change
}

/// The findings of one side about one system or about the text.
#[derive(Default)]
struct Side<'a> {
    report: Option<&'a Report>,
    findings: Vec<&'a Finding>,
    allowed: Vec<&'a Allowed>,
}

/// The findings of a report about one system, or about the text itself.
fn side<'a>(report: Option<&'a Report>, system: Option<&str>) -> Side<'a> {
    let Some(report) = report else {
        return Side::default();
    };
    let about = |finding: &Finding| finding.system.as_deref() == system;
    Side {
        report: Some(report),
        findings: report.findings.iter().filter(|f| about(f)).collect(),
        allowed: report
            .allowed
            .iter()
            .filter(|allowed| about(&allowed.finding))
            .collect(),
    }
}
