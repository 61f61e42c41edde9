//! Mends every mistake of a text that has a single certain fix.

use super::{Report, Work, Worked, analyse_with};
use crate::check_id::CheckId;
use crate::checks::{Finding, Run};
use crate::finding::{Fix, Place, Severity};
use crate::model::{Files, Source};
use crate::syntax::TextRange;
use rustc_hash::FxHashMap;
use std::sync::Arc;

/// A text after its mistakes with a single certain fix were mended.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Mended {
    /// The whole text.
    pub text: String,
    /// How many fixes are in it. With none the text is unchanged.
    pub count: usize,
}

/// How many times the text is analysed again, since fixes may reveal further mistakes.
const MOST_ROUNDS: usize = 16;

/// Mends the mistakes of a file that have a single certain fix, and those that this reveals. No change is made that
/// causes a mistake in the text. In a system that is already worked out, no change may move a result or add a
/// finding. A text that is not UTF-8 is not changed.
pub fn mended(source: &Arc<Source>, files: &dyn Files, work: &Work<'_>) -> Mended {
    let mut count = 0;
    let mut report = analyse_with(source.clone(), files, work);
    // Bytes that are not UTF-8 were read as this character, and would be lost.
    if !source.text.contains(char::REPLACEMENT_CHARACTER) {
        for _ in 0..MOST_ROUNDS {
            let Some((better, taken)) = better(&report, files, work) else {
                break;
            };
            report = better;
            count += taken;
        }
    }
    Mended {
        text: report.source.text.clone(),
        count,
    }
}

/// The file with as many of its certain fixes as do no harm, and their number.
fn better(report: &Report, files: &dyn Files, work: &Work<'_>) -> Option<(Report, usize)> {
    let fixes = sure_fixes(report);
    let mut trial = Trial {
        report,
        files,
        work,
        taken: Vec::new(),
        best: None,
    };
    trial.take(&fixes);
    let count = trial.taken.len();
    trial.best.map(|best| (best, count))
}

/// A search for the largest set of fixes that do no harm.
struct Trial<'t> {
    report: &'t Report,
    files: &'t dyn Files,
    work: &'t Work<'t>,
    taken: Vec<&'t Fix>,
    /// The file with the fixes taken so far.
    best: Option<Report>,
}

impl<'t> Trial<'t> {
    /// Takes some fixes together with those taken already. If they do harm, tries their halves.
    fn take(&mut self, fixes: &[&'t Fix]) {
        if fixes.is_empty() {
            return;
        }
        let all: Vec<&Fix> = self.taken.iter().chain(fixes).copied().collect();
        if let Some(after) = self.after(&all) {
            self.best = Some(after);
            self.taken = all;
        } else if fixes.len() > 1 {
            let (first, second) = fixes.split_at(fixes.len() / 2);
            self.take(first);
            self.take(second);
        }
    }

    /// The file with some fixes in it, if they do no harm.
    fn after(&self, fixes: &[&Fix]) -> Option<Report> {
        let edits = fixes.iter().flat_map(|fix| fix.edits.iter().cloned());
        let text = with_edits(self.report, &edits.collect::<Vec<_>>())?;
        if text == self.report.source.text {
            return None;
        }
        let source = Arc::new(Source::new(self.report.source.name.clone(), text));
        let after = analyse_with(source, self.files, self.work);
        is_harmless(self.report, &after).then_some(after)
    }
}

/// Whether a change is harmless: the file has no more mistakes, and every system that was worked out has the same
/// results and no more findings.
fn is_harmless(before: &Report, after: &Report) -> bool {
    let in_text = |report: &Report, least: Severity| {
        let findings = report.findings.iter();
        let of_text = findings.filter(|finding| is_of_text(finding) && finding.severity >= least);
        of_text.count()
    };
    let no_more = |least| in_text(after, least) <= in_text(before, least);
    let now: FxHashMap<&str, &Worked> = after.worked_systems().map(named).collect();
    let (found_before, found_after) = (found_in_systems(before), found_in_systems(after));
    let is_same = |worked: &Worked| {
        let name = worked.system.name.as_str();
        let Some(now) = now.get(name) else {
            return false;
        };
        let results = match (&worked.outcome, &now.outcome) {
            (Ok(before), Ok(after)) => before.results == after.results,
            (before, after) => before.is_err() && after.is_err(),
        };
        results && worked.kit == now.kit && found_after.get(name) <= found_before.get(name)
    };
    no_more(Severity::Error)
        && no_more(Severity::Hint)
        && before
            .worked_systems()
            .filter(|worked| worked.is_worked_out())
            .all(is_same)
}

fn named(worked: &Worked) -> (&str, &Worked) {
    (&worked.system.name, worked)
}

/// The number of findings in each system, by its name.
fn found_in_systems(report: &Report) -> FxHashMap<&str, usize> {
    let mut counts = FxHashMap::default();
    for name in report.findings.iter().filter_map(|f| f.system.as_deref()) {
        *counts.entry(name).or_default() += 1;
    }
    counts
}

fn is_of_text(finding: &Finding) -> bool {
    matches!(finding.check.run, Run::Reading)
}

/// The fixes of mistakes that have only one fix, where the fixes do not overlap. Something unused may be meant for
/// later, and is not a mistake.
pub(super) fn sure_fixes(report: &Report) -> Vec<&Fix> {
    const UNUSED: [CheckId; 3] = [
        CheckId::UnusedPart,
        CheckId::UnusedLet,
        CheckId::UnusedAllow,
    ];
    let mut fixes: Vec<&Fix> = Vec::new();
    let mut ranges: Vec<TextRange> = Vec::new();
    for finding in &report.findings {
        let [fix] = finding.problem.fixes.as_slice() else {
            continue;
        };
        if !is_of_text(finding) || UNUSED.contains(&finding.check.id) {
            continue;
        }
        let here = |(place, _): &(Place, String)| place.file == report.source.name;
        let own: Vec<TextRange> = fix.edits.iter().map(|(at, _)| report.range(at)).collect();
        let is_apart = |range: &TextRange| {
            let mut known = ranges.iter();
            known.all(|known| range.end < known.start || known.end < range.start)
        };
        if fix.edits.iter().all(here) && own.iter().all(is_apart) {
            ranges.extend(own);
            fixes.push(fix);
        }
    }
    fixes
}

/// The text of a file after edits; `None` for edits of another file.
pub(super) fn with_edits(report: &Report, edits: &[(Place, String)]) -> Option<String> {
    let mut ranges: Vec<(TextRange, &str)> = Vec::with_capacity(edits.len());
    for (place, text) in edits {
        if place.file != report.source.name {
            return None;
        }
        ranges.push((report.source.range(place.span), text));
    }
    ranges.sort_by_key(|(range, _)| *range);
    let mut text = report.source.text.clone();
    for (range, new) in ranges.into_iter().rev() {
        text.get(range.range())?;
        text.replace_range(range.range(), new);
    }
    Some(text)
}
