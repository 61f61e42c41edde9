//! The verdict of the checks on a system, at the top of the sheet where it cannot be missed.

use super::Extent;
use super::content::{Block, Section, Table};
use super::view::View;
use crate::analysis::diagnosis::diagnosis;
use crate::analysis::{Report, Worked};
use crate::check_id::CheckId;
use crate::checks::Finding;
use crate::finding::Severity;
use crate::model::{Component, Require};
use crate::quantity::Dimension;
use crate::syntax::Encoding;
use crate::{block, result};

pub fn verdict(report: &Report, worked: &Worked, extent: Extent) -> Vec<Block> {
    let concern = report.concern(worked);
    let found: Vec<&Finding> = report.findings_of(worked).collect();
    let mut blocks = vec![headline(worked, &found)];
    if let Ok(outcome) = &worked.outcome {
        let view = View {
            report,
            worked,
            system: &worked.system,
            outcome,
        };
        blocks.push(Block::Text(in_one_line(&view)));
    }
    let least = match extent {
        Extent::Full => Severity::Hint,
        Extent::Fitting => Severity::Warning,
    };
    for severity in Severity::ALL.into_iter().rev().filter(|s| *s >= least) {
        for finding in found.iter().filter(|f| f.severity == severity) {
            blocks.push(told(report, worked, finding));
        }
    }
    let notes = found.iter().filter(|f| f.severity < least).count();
    if notes > 0 {
        blocks.push(Block::Text(format!(
            "{} of less weight: in the full sheet (sheet --full).",
            counted(notes, "note")
        )));
    }
    let allowed: Vec<String> = report
        .allowed
        .iter()
        .filter(|allowed| concern.has(&allowed.finding))
        .map(|allowed| {
            format!(
                "{}: {} The author's reason to accept it: {}",
                allowed.finding.check.name(),
                sentence(&allowed.finding.problem.message),
                allowed.why
            )
        })
        .collect();
    if !allowed.is_empty() {
        blocks.push(Block::Text(
            "Found, and accepted by the author of the spec:".to_owned(),
        ));
        blocks.push(Block::List(allowed));
    }
    let wanted: Vec<String> = worked
        .system
        .requires
        .iter()
        .map(|r| wish(worked, r))
        .collect();
    if !wanted.is_empty() {
        let wanted = wanted.join("; ");
        blocks.push(Block::Text(format!("The spec asks for: {wanted}.")));
    }
    blocks
}

fn headline(worked: &Worked, found: &[&Finding]) -> Block {
    let count = |severity| found.iter().filter(|f| f.severity == severity).count();
    if let Err(why) = &worked.outcome {
        let what = "DO NOT BUILD FROM THIS SHEET: the system is not worked out".to_owned();
        let why = format!("There are no numbers here, for {}.", why.words());
        return Block::Notice(Severity::Error, what, vec![why]);
    }
    match (count(Severity::Error), count(Severity::Warning)) {
        (0, 0) => Block::Notice(
            Severity::Hint,
            "No check finds fault with this system".to_owned(),
            vec!["The sheet knows the spec, not the car: check the clutch on the car before you drive.".to_owned()],
        ),
        (0, warnings) => Block::Notice(
            Severity::Warning,
            format!("Read before you fit: {}", counted(warnings, "warning")),
            Vec::new(),
        ),
        _ if is_only_measured(found) => dragged(worked),
        (errors, _) => Block::Notice(
            Severity::Error,
            format!("DO NOT FIT AS IT IS: {}", counted(errors, "error")),
            vec![
                "As it is specified this system will not work, or will break something.".to_owned(),
            ],
        ),
    }
}

/// Whether the spec has an error of its own, besides the readings on the car.
pub fn does_not_work(view: &View<'_>) -> bool {
    let mut found = view.report.findings_of(view.worked);
    found.any(|f| f.severity == Severity::Error && f.check.id != CheckId::DragsAsMeasured)
}

/// Whether the readings on the car are the only error: the spec itself works.
fn is_only_measured(found: &[&Finding]) -> bool {
    let mut errors = found.iter().filter(|f| f.severity == Severity::Error);
    errors.all(|error| error.check.id == CheckId::DragsAsMeasured)
}

/// What a clutch that drags by its readings means for the car's owner.
fn dragged(worked: &Worked) -> Block {
    let found = diagnosis(worked, &[]);
    let last = found.and_then(|found| Some(found.visits.last()?.drags));
    match last {
        Some(false) => Block::Notice(
            Severity::Error,
            "It dragged as measured on an earlier visit; on the last one it does not".to_owned(),
            vec![
                "What was read then is below. It stays an error until the spec allows it: allow \
                 drags-as-measured, with the reason."
                    .to_owned(),
            ],
        ),
        _ => Block::Notice(
            Severity::Error,
            "DO NOT DRIVE: the clutch drags as measured".to_owned(),
            vec!["As specified it works. What was read on this car says that it does not: find the fault first."
                .to_owned()],
        ),
    }
}

fn counted(count: usize, what: &str) -> String {
    let plural = if count == 1 { "" } else { "s" };
    format!("{count} {what}{plural}")
}

/// One finding: what is wrong, what cures it, and where it is.
fn told(report: &Report, worked: &Worked, finding: &Finding) -> Block {
    let problem = &finding.problem;
    let mut title = format!("{}: {}", finding.severity.word(), finding.check.name());
    let mut lines = vec![sentence(&problem.message)];
    if let Some(help) = finding.help() {
        let next = measured_next(worked, finding);
        lines.push(next.unwrap_or_else(|| format!("To cure it: {}", sentence(help))));
    }
    let sources = std::iter::once(&report.source).chain(&report.used);
    let source = sources.into_iter().find(|s| s.name == problem.place.file);
    if let Some(source) = source {
        let at = source
            .lines
            .position(source.range(problem.place.span).start, Encoding::Utf32);
        title.push_str(&format!(" ({}, line {})", source.name, at.line + 1));
    }
    Block::Notice(finding.severity, title, lines)
}

/// What to measure next, for a finding about readings whose causes are not yet told apart. That is no cure.
fn measured_next(worked: &Worked, finding: &Finding) -> Option<String> {
    if finding.problem.block != Some(block!(measured)) {
        return None;
    }
    let found = diagnosis(worked, &[])?;
    let is_here = |component: &&Component| {
        let mut given = component.fields.iter().flatten();
        given.any(|given| given.place == finding.problem.place)
    };
    let at = worked.system.measured().position(|c| is_here(&c));
    let visit = at.map_or_else(|| found.visits.last(), |at| found.visits.get(at))?;
    let help = finding.help()?;
    if found.is_cured(visit) {
        return Some(sentence(help));
    }
    let Some(next) = visit.next.first().map(|next| next.reading.name()) else {
        let is_explained = visit.faults.iter().any(|fault| fault.explains);
        return (!is_explained).then(|| format!("Measure next: {}", sentence(help)));
    };
    let tells = help.strip_prefix(&format!("read `{next}` next: "));
    Some(match tells {
        Some(tells) => format!(
            "Measure next: {}. {}",
            next.replace('_', " "),
            sentence(tells)
        ),
        None => format!("Measure next: {}", sentence(help)),
    })
}

/// A message as a whole sentence. Paper has no code in it.
fn sentence(text: &str) -> String {
    let text = text.replace('`', "");
    let mut chars = text.chars();
    let first = chars.next().map(|c| c.to_uppercase().to_string());
    let end = if text.ends_with(['.', '?', '!']) {
        ""
    } else {
        "."
    };
    format!("{}{}{end}", first.unwrap_or_default(), chars.as_str())
}

fn wish(worked: &Worked, require: &Require) -> String {
    let spec = require.result.spec();
    let show = |value| require.result.show(value, &worked.system.display);
    let limit = format!(
        "{} {} {}",
        spec.name.replace('_', " "),
        require.comparison.symbol(),
        show(require.limit.nominal)
    );
    let outcome = worked.outcome.as_ref().ok();
    let is = match outcome.and_then(|outcome| outcome.get(require.result)) {
        Some(value) => format!(", and it is {}", show(value)),
        None => ", and it is not worked out".to_owned(),
    };
    let why = require
        .why
        .as_ref()
        .map_or_else(String::new, |why| format!(" ({why})"));
    format!("{limit}{is}{why}")
}

/// The numbers that decide, on one line.
fn in_one_line(view: &View<'_>) -> String {
    if view.goes_wrong_way() {
        return "The pedal never frees the disc: the bearing goes the wrong way.".to_owned();
    }
    let release = match (
        view.outcome.get(result!(release_point)),
        view.outcome.get(result!(pedal_travel_used)),
    ) {
        (Some(at), Some(full)) if full > 0.0 => Some(format!(
            "releases at {} of {} of pedal ({:.0} %)",
            view.length(at),
            view.length(full),
            100.0 * at / full
        )),
        (None, Some(full)) => Some(format!(
            "does not release within {} of pedal",
            view.length(full)
        )),
        _ => None,
    };
    let called = |words: &str, id| Some(format!("{words} {}", view.both(id)?));
    let parts = [
        release,
        called("release margin", result!(release_margin)),
        called("effort", result!(pedal_effort)),
        wear_room(view),
    ];
    let parts: Vec<String> = parts.into_iter().flatten().collect();
    sentence(&parts.join("; "))
}

/// What room the bearing has left once the disc is worn out, or what it lacks.
fn wear_room(view: &View<'_>) -> Option<String> {
    let room = view.outcome.get(result!(wear_reserve))?;
    if room < 0.0 {
        let short = view.system.display.show_both(-room, Dimension::LENGTH);
        return Some(format!("bearing {short} short of room on a worn disc"));
    }
    let left = view.both(result!(wear_reserve))?;
    Some(format!("bearing room left on a worn disc {left}"))
}

/// The numbers that decide, with their worst cases.
pub fn glance(view: &View<'_>) -> Section {
    Section::new("At a glance", vec![Block::Table(at_a_glance(view))])
}

/// The numbers that decide.
fn at_a_glance(view: &View<'_>) -> Table {
    let mut table = Table::new(&["", "Worked out", "Worst case of the tolerances"]);
    for (what, id) in [
        (
            "The disc comes free at, of pedal travel",
            result!(release_point),
        ),
        ("Full pedal", result!(pedal_travel_used)),
        ("Fingers travel past release by", result!(release_margin)),
        ("Left before the cover's limit", result!(overtravel_margin)),
        ("Highest effort at the pad", result!(pedal_effort)),
        ("Bearing room left on a worn disc", result!(wear_reserve)),
    ] {
        let frees = [result!(release_point), result!(release_margin)].contains(&id);
        let is_told = !(frees && view.goes_wrong_way());
        let value = match view.both(id).filter(|_| is_told) {
            Some(value) => value,
            None if id == result!(release_point) => "it does not come free".to_owned(),
            None => continue,
        };
        table.row(vec![
            what.to_owned(),
            value,
            view.spread(id)
                .filter(|_| is_told)
                .unwrap_or_else(|| "–".to_owned()),
        ]);
    }
    table
}
