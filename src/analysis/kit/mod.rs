//! A system that leaves something to choose. Every combination is worked out and checked, and what they have in
//! common is put into words.

mod pick;
mod prices;
mod tally;
mod together;

pub use pick::Pick;
pub(super) use pick::{chosen, nothing_to_choose, picked};
pub use prices::{PriceRange, Prices};
pub use tally::{Cell, Pairs, Range, Tried};

use super::judge::{Bench, judge};
use super::side_by_side::side_by_side;
use super::{Allowed, Silencer, Work};
use crate::check_id::CheckId;
use crate::checks::{Check, Finding};
use crate::finding::{Measure, Place, Problem, Severity};
use crate::model::{Labels, MAX_COMBINATIONS, Rebuild, Space, System};
use crate::settings::Settings;
use crate::solve::NotWorked;
use tally::{Key, Seen, Tally};

/// Everything known of a system that leaves something to choose. It holds no place in the text, so that edits around
/// the system do not change it.
#[derive(PartialEq, Debug)]
pub struct Kit {
    /// What there is to choose from.
    pub labels: Labels,
    /// How many combinations there are.
    pub count: u64,
    /// The results of the combinations that were tried.
    pub tried: Tried,
    /// The findings in them, the worst first.
    pub groups: Vec<Group>,
}

/// A check and the combinations that raise it.
#[derive(Clone, PartialEq, Debug)]
pub struct Group {
    /// The check that finds something.
    pub check: &'static Check,
    /// The severity of its findings, under the settings.
    pub severity: Severity,
    /// How many of the combinations that were tried raise it.
    pub count: u64,
    /// How many of how many combinations raise it, and what they share, as a part of a sentence.
    pub words: String,
}

/// A kit and its findings.
pub(super) struct Judged {
    pub kit: Option<Kit>,
    pub findings: Vec<Finding>,
    pub allowed: Vec<Allowed>,
    /// For each of the system's own allows, whether it silenced something in any combination.
    pub used: Vec<bool>,
}

/// Works out all combinations, or as many as `work` allows.
pub(super) fn judge_kit(
    system: &System,
    space: Space,
    rebuild: Rebuild<'_>,
    settings: &Settings,
    work: &Work<'_>,
) -> Judged {
    let mut judged = Judged {
        kit: None,
        findings: Vec::new(),
        allowed: Vec::new(),
        used: vec![false; system.allows.len()],
    };
    let count = match space.count() {
        Some(count) if count <= MAX_COMBINATIONS => count,
        count => {
            judged.findings.extend(too_many(system, &space, count));
            return judged;
        }
    };
    let samples = Samples::of(count, work.combinations);
    let tally = tally_all(&space, rebuild, samples, settings, work);
    for (allow, used) in judged.used.iter_mut().enumerate() {
        *used = tally.allowed.keys().any(|(_, by)| *by == allow);
    }
    let speaker = Speaker {
        system,
        space: &space,
        rebuild,
        tally: &tally,
        settings,
        samples,
    };
    let mut groups = Vec::new();
    for (key, seen) in &tally.found {
        if let Some(finding) = speaker.finding(key, seen, None) {
            let severity = finding.check.severity_under(settings);
            groups.extend(severity.map(|severity| Group {
                check: finding.check,
                severity,
                count: seen.counts.all,
                words: match seen.counts.all {
                    1 => format!("with {}", speaker.space.name_of(seen.first)),
                    _ => speaker.common(seen),
                },
            }));
            judged.findings.push(finding);
        }
    }
    groups.sort_by_key(|group| {
        (
            std::cmp::Reverse(group.severity),
            std::cmp::Reverse(group.count),
        )
    });
    judged.findings.extend(speaker.unsound());
    judged.findings.extend(speaker.sampled());
    for ((key, allow), seen) in &tally.allowed {
        if let Some(finding) = speaker.finding(key, seen, Some(*allow)) {
            let why = speaker.why(seen, *allow);
            judged.allowed.push(Allowed {
                finding,
                by: Silencer::Allow,
                why,
            });
        }
    }
    let tried = tally.into_tried();
    judged.kit = Some(Kit {
        labels: space.labels(),
        count,
        tried,
        groups,
    });
    judged
}

fn too_many(system: &System, space: &Space, count: Option<u64>) -> Option<Finding> {
    let place = system.chooses.first()?.place.clone();
    let sizes: Vec<String> = space
        .axes
        .iter()
        .map(|axis| format!("{} {}", axis.choices.len(), axis.subject.words()))
        .collect();
    let many = match count {
        Some(count) => format!("{count} combinations"),
        None => "more combinations than can be counted".to_owned(),
    };
    let problem = Problem::new(
        CheckId::TooLarge,
        place,
        format!(
            "the choices of `{}` ({}) make {many}; {MAX_COMBINATIONS} are worked out at the most, \
             and none here",
            system.name,
            sizes.join(" × ")
        ),
    )
    .help("choose among fewer parts, or split it into several systems");
    Some(Finding::new(problem, Some(system)))
}

/// The combinations that are tried: all, or some spread evenly over them.
#[derive(Clone, Copy)]
struct Samples {
    all: u64,
    tried: u64,
    stride: u64,
}

impl Samples {
    fn of(all: u64, most: u64) -> Self {
        if all <= most {
            return Self {
                all,
                tried: all,
                stride: 1,
            };
        }
        // Steps of about the golden section reach every part of each axis soon. Without a common divisor none is
        // tried twice.
        let mut stride = (all as f64 * 0.618_034) as u64 | 1;
        while common_divisor(stride, all) != 1 {
            stride += 2;
        }
        Self {
            all,
            tried: most,
            stride,
        }
    }

    fn at(self, step: u64) -> u64 {
        let index = u128::from(step) * u128::from(self.stride) % u128::from(self.all.max(1));
        index as u64
    }
}

fn common_divisor(mut a: u64, mut b: u64) -> u64 {
    while b != 0 {
        (a, b) = (b, a % b);
    }
    a
}

fn tally_all(
    space: &Space,
    rebuild: Rebuild<'_>,
    samples: Samples,
    settings: &Settings,
    work: &Work<'_>,
) -> Tally {
    let (tally, ..) = side_by_side(
        samples.tried,
        work,
        || {
            let bench = Bench::new(settings, space.may_be_toleranced());
            (Tally::new(space), space.picker(rebuild), bench)
        },
        |(tally, picker, bench), step| {
            let index = samples.at(step);
            let system = picker.pick(index);
            if system.is_sound() {
                if tally.add(space, index, &bench.judge(system), settings) {
                    tally.prices.add(system.price(), index);
                }
            } else {
                tally.add_unsound(space, index);
            }
        },
        |(tally, ..), (more, ..)| tally.merge(more),
    );
    tally
}

/// Puts into words what many combinations have in common.
struct Speaker<'a> {
    system: &'a System,
    space: &'a Space,
    rebuild: Rebuild<'a>,
    tally: &'a Tally,
    settings: &'a Settings,
    samples: Samples,
}

impl Speaker<'_> {
    /// A finding that represents all combinations that have it. Its numbers are those of the first.
    fn finding(&self, key: &Key, seen: &Seen, allow: Option<usize>) -> Option<Finding> {
        let mut picker = self.space.picker(self.rebuild);
        let combination = picker.pick(seen.first);
        let told = judge(combination, self.settings).told;
        let (told, _) = told
            .into_iter()
            .find(|(told, by)| Key::of(&told.problem) == *key && *by == allow)?;
        let mut problem = told.worked_out();
        problem.message = format!("{}: {}", self.common_and_first(seen), problem.message);
        // The cure of one combination may be wrong for the next, and the source of its numbers says little about the
        // others.
        problem.fixes.clear();
        problem.related.clear();
        problem.help = problem.help.map(|help| format!("for that one: {help}"));
        problem.place = self.place(problem.place, seen);
        if problem.shortfall.is_some() {
            // A kit is worse if more of its combinations are past the limit.
            problem = problem.short_by(seen.counts.all as f64, Measure::Count);
        }
        if let Some((place, text, name)) = self.leave_out(seen) {
            problem = problem.fix(format!("leave `{name}` out of the choice"), place, text);
        }
        Some(Finding::new(problem, Some(self.system)))
    }

    fn why(&self, seen: &Seen, allow: usize) -> String {
        let mut picker = self.space.picker(self.rebuild);
        let combination = picker.pick(seen.first);
        let allow = combination.allows.get(allow);
        allow.map(|allow| allow.why.clone()).unwrap_or_default()
    }

    /// What the combinations share, and the one whose numbers are given.
    fn common_and_first(&self, seen: &Seen) -> String {
        let first = self.space.name_of(seen.first);
        match seen.counts.all {
            1 => format!("with {first}"),
            _ => format!("{}; with {first}", self.common(seen)),
        }
    }

    fn common(&self, seen: &Seen) -> String {
        together::words(self.space, &self.tally.tried, &seen.counts, self.tally.of())
    }

    /// Where the finding is shown: at the part that they share, unless they share several.
    fn place(&self, place: Place, seen: &Seen) -> Place {
        for (axis, (axis_at, counts)) in self
            .space
            .axes
            .iter()
            .zip(seen.counts.singles.iter().enumerate())
        {
            let mut choices = axis.choices.iter().zip(counts);
            let at = choices.position(|(choice, _)| choice.mention.as_ref() == Some(&place));
            let Some(at) = at else { continue };
            let alone = counts.iter().enumerate().all(|(i, n)| i == at || *n == 0);
            if !alone && let Some(choose) = self.system.chooses.get(axis_at) {
                return choose.place.clone();
            }
        }
        place
    }

    /// The edit that removes a part from the choice, if every combination with it fails.
    fn leave_out(&self, seen: &Seen) -> Option<(Place, String, String)> {
        for (axis, (counts, tried)) in self
            .space
            .axes
            .iter()
            .zip(seen.counts.singles.iter().zip(&self.tally.tried.singles))
        {
            let mut raised = (0..).zip(counts).filter(|(_, n)| **n > 0);
            let (Some((at, n)), None) = (raised.next(), raised.next()) else {
                continue;
            };
            if axis.choices.len() < 2 || Some(n) != tried.get(at) {
                continue;
            }
            let own = axis.choices.get(at)?;
            let mention = own.mention.as_ref()?;
            let beside = axis.choices.get(if at == 0 { 1 } else { at - 1 })?;
            let other = beside.mention.as_ref()?;
            let mut place = mention.clone();
            if at == 0 {
                place.span.end = other.span.start;
            } else {
                place.span.start = other.span.end;
            }
            let here = mention.file == self.system.place.file;
            return here.then(|| (place, String::new(), own.name.clone()));
        }
        None
    }

    /// The finding for combinations that could not be worked out.
    fn unsound(&self) -> Option<Finding> {
        let seen = self.tally.unsound.as_ref()?;
        let picker = self.space.picker(self.rebuild);
        let mut problems = picker.problems(seen.first).into_iter();
        // A mistake in a used file is reported at the `use`.
        let here = |problem: &Problem| problem.place.file == self.system.place.file;
        let problem = problems.next().filter(here)?;
        let message = format!("{}: {}", self.common_and_first(seen), problem.message);
        let place = self.place(problem.place, seen);
        let problem = Problem {
            place,
            message,
            ..problem
        };
        Some(Finding::new(problem, Some(self.system)))
    }

    fn sampled(&self) -> Option<Finding> {
        let Samples { all, tried, .. } = self.samples;
        if tried == all {
            return None;
        }
        let place = self.system.chooses.first()?.place.clone();
        let problem = Problem::new(
            CheckId::NotAllTried,
            place,
            format!("{tried} of {all} combinations were tried, spread evenly over them"),
        )
        .help("`bitepoint check` tries them all");
        Some(Finding::new(problem, Some(self.system)))
    }
}

/// Whether a system cannot be worked out by itself because it stands for many.
pub(super) fn is_kit<O>(outcome: &Result<O, NotWorked>) -> bool {
    matches!(outcome, Err(NotWorked::Choices))
}
