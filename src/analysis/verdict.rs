//! The verdict on a system in one line, the worst first: for the line above it in an editor, its hover and the
//! preview.

use super::{Kit, Located, Report, Shown, Worked};
use crate::check_id::CheckId;
use crate::checks::{Check, Finding, ResultLimit};
use crate::finding::Severity;
use crate::result;
use crate::schema::ResultId;
use crate::settings::Settings;
use crate::solve::{NotWorked, Outcome};
use crate::syntax::Comparison;
use std::collections::HashMap;

/// How well a system works.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Standing {
    /// Something in it does not work.
    Fails,
    /// It works, but something in it will trouble the driver or the fitter.
    Warns,
    /// No check finds more than a note.
    Works,
    /// There are no results to judge.
    Unknown,
}

/// The verdict on a system.
#[derive(Clone, PartialEq, Debug)]
pub struct Verdict {
    pub standing: Standing,
    /// The worst about it: `drags: 0.33 mm short`. Empty if it works.
    pub worst: String,
    /// The numbers that decide: `margin 1.83 mm · 144 N · releases at 84 %`. Empty if there are none, and if they are
    /// not good news.
    pub numbers: String,
    /// The mistake before which all of it was worked out, in words.
    pub before: Option<String>,
}

impl Verdict {
    /// The whole line, with a mark in front if the system does not work.
    pub fn line(&self) -> String {
        let mark = match self.standing {
            Standing::Fails => "✗ ",
            Standing::Warns => "! ",
            Standing::Works | Standing::Unknown => "",
        };
        let parts = [self.worst.as_str(), self.numbers.as_str()];
        let parts = parts.into_iter().filter(|part| !part.is_empty());
        let parts: Vec<&str> = parts.chain(self.before.as_deref()).collect();
        format!("{mark}{}", parts.join(" · "))
    }
}

/// The findings of each system of a file, sorted once for all systems.
pub(super) struct Verdicts<'a> {
    report: &'a Report,
    of_systems: HashMap<&'a str, Vec<&'a Finding>>,
    /// Errors of the text itself, in its order.
    of_text: Vec<&'a Finding>,
}

impl<'a> Verdicts<'a> {
    pub fn of(report: &'a Report) -> Self {
        let mut verdicts = Self {
            report,
            of_systems: HashMap::new(),
            of_text: Vec::new(),
        };
        for finding in &report.findings {
            match &finding.system {
                Some(name) => verdicts.of_systems.entry(name).or_default().push(finding),
                None if finding.severity == Severity::Error => verdicts.of_text.push(finding),
                None => {}
            }
        }
        verdicts
    }

    pub fn verdict(&self, located: &'a Located) -> Verdict {
        let Shown { worked, mistake } = located.shown();
        let settings = &self.report.settings;
        let verdict = match (&worked.outcome, &worked.kit) {
            (_, Some(kit)) => of_kit(kit),
            (Err(why), None) => self.not_worked(worked, *why),
            (Ok(outcome), None) => match mistake {
                None => judged(&self.found(worked), worked, outcome, settings),
                Some(_) => judged(&self.found_before(located), worked, outcome, settings),
            },
        };
        let before = |mistake| format!("before {}", self.report.mistake_words(mistake));
        Verdict {
            before: mistake.map(before),
            ..verdict
        }
    }

    /// The findings of a system, with their severities.
    fn found(&self, worked: &'a Worked) -> Vec<(Severity, &'a Finding)> {
        let own = self.of_systems.get(worked.system.name.as_str());
        let own = own.map_or(&[][..], Vec::as_slice).iter().copied();
        let all = own.chain(self.in_text(worked));
        all.map(|finding| (finding.severity, finding)).collect()
    }

    /// The findings of a system before a mistake.
    fn found_before(&self, located: &'a Located) -> Vec<(Severity, &'a Finding)> {
        let settings = &self.report.settings;
        let found = located.found_before().iter();
        found
            .filter_map(|finding| Some((finding.check.severity_under(settings)?, finding)))
            .collect()
    }

    fn not_worked(&self, worked: &Worked, why: NotWorked) -> Verdict {
        // The first mistake says more than the fact that there are some.
        let first = self.in_text(worked).next();
        let why = match (why, first) {
            (NotWorked::Unsound, Some(first)) => first.problem.message.clone(),
            _ => self.report.why_not_worked(&worked.system, why),
        };
        Verdict {
            standing: Standing::Unknown,
            worst: format!("not worked out: {why}"),
            numbers: String::new(),
            before: None,
        }
    }

    /// The errors of the text between a system's name and its closing brace.
    fn in_text(&self, worked: &Worked) -> impl Iterator<Item = &'a Finding> {
        let report = self.report;
        let name = worked.system.place.span;
        let item = report.source.tree.item(name.statement);
        self.of_text.iter().copied().filter(move |finding| {
            let place = &finding.problem.place;
            place.file == report.source.name
                && place.span.statement == name.statement
                && item.is_some_and(|item| item.span.touches(place.span.start))
        })
    }
}

/// The verdict on a system from its findings.
fn judged(
    found: &[(Severity, &Finding)],
    worked: &Worked,
    outcome: &Outcome,
    settings: &Settings,
) -> Verdict {
    let of = |severity: Severity| {
        let of_it = found.iter().filter(move |(its, _)| *its == severity);
        of_it.map(|(_, finding)| *finding)
    };
    let standing = match (of(Severity::Error).count(), of(Severity::Warning).count()) {
        (0, 0) => Standing::Works,
        (0, _) => Standing::Warns,
        _ => Standing::Fails,
    };
    let severity = match standing {
        Standing::Fails => Severity::Error,
        Standing::Warns | Standing::Works | Standing::Unknown => Severity::Warning,
    };
    let count = of(severity).count();
    // Checks are listed in the order of how bad what they find is.
    let rank = |f: &&Finding| f.check.id;
    let worst = of(severity)
        .min_by_key(rank)
        .map(|finding| match finding.system {
            Some(_) => brief(finding.check, worked, outcome, settings),
            None => finding.problem.message.clone(),
        });
    let mut worst = worst.unwrap_or_default();
    if count > 1 {
        worst.push_str(&format!(" · {} more", count - 1));
    }
    Verdict {
        standing,
        worst,
        numbers: match standing {
            Standing::Fails => String::new(),
            _ => numbers(worked, outcome),
        },
        before: None,
    }
}

/// A finding in a few words, with the distance past the limit if a result gives it.
fn brief(check: &Check, worked: &Worked, outcome: &Outcome, settings: &Settings) -> String {
    if check.id == CheckId::RequireFailed
        && let Some(failed) = failed_require(worked, outcome)
    {
        return failed;
    }
    let past = ResultLimit::passed(check.id, &worked.system, settings, outcome);
    match past {
        Some((row, by)) => {
            let (words, off) = row.brief;
            let by = row.result.show(by, &worked.system.display);
            format!("{words}: {by} {off}")
        }
        // Checks have plain words of the trade for names.
        None => check.name().replace('-', " "),
    }
}

/// The first of the author's own limits that is not met.
fn failed_require(worked: &Worked, outcome: &Outcome) -> Option<String> {
    worked.system.requires.iter().find_map(|require| {
        let spec = require.result.spec();
        let value = outcome.get(require.result)?;
        let limit = require.limit.nominal;
        if require.comparison.holds(value, limit) {
            return None;
        }
        let words = match require.comparison {
            Comparison::AtMost => "at most",
            Comparison::AtLeast => "at least",
            Comparison::Below => "below",
            Comparison::Above => "above",
        };
        let [is, limit] = require
            .result
            .told_apart(value, limit, &worked.system.display);
        let name = spec.name.replace('_', " ");
        Some(format!("{name} {is}, required {words} {limit}"))
    })
}

/// The numbers that decide, as far as there are any.
fn numbers(worked: &Worked, outcome: &Outcome) -> String {
    let show = |id: ResultId| {
        let value = outcome.get(id)?;
        Some(id.show(value, &worked.system.display))
    };
    let release = outcome.get(result!(release_point));
    let full = outcome.get(result!(pedal_travel_used));
    let share = release.zip(full).filter(|(_, full)| *full > 0.0);
    let parts = [
        show(result!(release_margin)).map(|margin| format!("margin {margin}")),
        show(result!(pedal_effort)),
        share.map(|(at, full)| format!("releases at {:.0} %", 100.0 * at / full)),
    ];
    parts.into_iter().flatten().collect::<Vec<_>>().join(" · ")
}

/// The verdict on a kit: how many of its combinations work.
fn of_kit(kit: &Kit) -> Verdict {
    let tried = &kit.tried;
    let works = tried.count - tried.failing;
    let all = match tried.count < kit.count {
        true => format!("{} tried of {}", tried.count, kit.count),
        false => format!("{} combinations", tried.count),
    };
    let (standing, worst) = match (works, tried.failing, tried.warned) {
        (0, ..) => (Standing::Fails, format!("none of {all} works")),
        (_, 0, 0) => (Standing::Works, format!("all of {all} work")),
        (_, 0, warned) => (
            Standing::Warns,
            format!("all of {all} work, {warned} with warnings"),
        ),
        (works, failing, _) => (
            Standing::Fails,
            format!("{failing} of {all} fail, {works} work"),
        ),
    };
    Verdict {
        standing,
        worst,
        numbers: String::new(),
        before: None,
    }
}

/// The verdict on one system of a file.
pub fn verdict(report: &Report, located: &Located) -> Verdict {
    Verdicts::of(report).verdict(located)
}
