//! Results for people: a summary of each system, its findings, and its results in sections.

use super::kit::kit_text;
use super::text::{notes_line, short_line};
use crate::analysis::{Report, Worked};
use crate::check_id::CheckId;
use crate::checks::Finding;
use crate::faces::sanitize::name;
use crate::finding::Severity;
use crate::quantity::Dimension;
use crate::result;
use crate::schema::{NumberKind, ResultId, ResultSpec, Section};
use crate::solve::{Outcome, Spread, absences};
use std::collections::{HashMap, HashSet};
use std::fmt::Write;

/// How results are laid out.
#[derive(Clone, Copy, Debug)]
pub struct ResultsLayout {
    /// How many characters a line may have.
    pub width: usize,
    /// Whether it also lists results that need more input, the sources of assumed values, and the shares of the
    /// tolerances.
    pub all: bool,
    /// Whether results have the names that a spec uses: `release_margin`.
    pub names: bool,
}

/// Systems of a file one after the other, each with its findings; findings that belong to no system come first.
/// `held` is the pad travel at which the pedal is held, if that is asked for.
pub fn results_text(
    report: &Report,
    systems: &[&Worked],
    held: Option<f64>,
    layout: ResultsLayout,
) -> String {
    let shown: HashSet<&str> = systems.iter().map(|one| one.system.name.as_str()).collect();
    let mut found: HashMap<Option<&str>, Vec<&Finding>> = HashMap::new();
    for finding in &report.findings {
        let system = finding
            .system
            .as_deref()
            .filter(|name| shown.contains(name));
        found.entry(system).or_default().push(finding);
    }
    let mut parts = Vec::new();
    if let Some(found) = found.get_mut(&None) {
        parts.push(findings(report, found, "", layout.width));
    }
    for worked in systems {
        let found = found.entry(Some(&worked.system.name)).or_default();
        parts.push(system_text(report, worked, found, held, layout));
    }
    parts.join("\n")
}

fn system_text(
    report: &Report,
    worked: &Worked,
    found: &mut [&Finding],
    held: Option<f64>,
    layout: ResultsLayout,
) -> String {
    let system = &worked.system;
    let mut out = String::new();
    let _ = match &system.title {
        Some(title) => writeln!(out, "{}   {}", system.name, name(title)),
        None => writeln!(out, "{}", system.name),
    };
    out.push('\n');
    let outcome = match (&worked.kit, &worked.outcome) {
        (None, Ok(outcome)) => outcome,
        (kit, outcome) => {
            if let (None, Err(why)) = (kit, outcome) {
                let _ = writeln!(out, "  not worked out: {}", why.words());
            }
            out.push_str(&findings(report, found, "  ", layout.width));
            if let Some(kit) = kit {
                out.push_str(&kit_text(worked, kit, layout.width));
            }
            return out;
        }
    };
    let goes_wrong_way = found
        .iter()
        .any(|finding| finding.check.id == CheckId::WrongWay);
    out.push_str(&summary(worked, outcome, held, goes_wrong_way));
    out.push_str(&findings(report, found, "  ", layout.width));
    out.push('\n');
    table(&mut out, worked, outcome, layout);
    if layout.all {
        shares(&mut out, worked, layout);
    }
    assumed(&mut out, worked, layout);
    missing(&mut out, worked, outcome, layout);
    out
}

/// The findings, the worst first, and one line for all notes.
fn findings(report: &Report, found: &mut [&Finding], indent: &str, width: usize) -> String {
    let mut out = String::new();
    found.sort_by_key(|finding| std::cmp::Reverse(finding.severity));
    let (told, notes): (Vec<&Finding>, Vec<&Finding>) = found
        .iter()
        .copied()
        .partition(|finding| finding.severity >= Severity::Warning);
    for finding in told {
        let _ = writeln!(out, "{indent}{}", short_line(report, finding));
    }
    if !notes.is_empty() {
        let names: Vec<&str> = notes.iter().map(|finding| finding.check.name()).collect();
        let line = format!("{}: see `check --verbose`", notes_line(&names));
        out.push_str(&wrapped(&line, indent, width));
    }
    out
}

fn wrapped(line: &str, indent: &str, width: usize) -> String {
    let deeper = format!("{indent}  ");
    let options = textwrap::Options::new(width)
        .initial_indent(indent)
        .subsequent_indent(&deeper);
    format!("{}\n", textwrap::fill(line, options))
}

// ---- the summary ----

/// The numbers that decide, in two columns.
fn summary(worked: &Worked, outcome: &Outcome, held: Option<f64>, goes_wrong_way: bool) -> String {
    /// Where the second column begins.
    const SECOND: usize = 38;
    let system = &worked.system;
    let beside =
        |value: f64, shown: f64, dimension| system.display.number_beside(value, shown, dimension);
    let mut out = String::new();
    if let Some(line) = where_it_ends(worked, outcome, held) {
        let _ = writeln!(out, "  {line}");
    }
    let used = outcome
        .get(result!(pedal_travel_used))
        .filter(|used| *used > 0.0);
    let release = match (outcome.get(result!(release_point)), used) {
        _ if goes_wrong_way => Some("never releases: the bearing moves the wrong way".to_owned()),
        (Some(at), Some(used)) => Some(format!(
            "releases at {} of {} ({:.0} %)",
            beside(at, used, Dimension::LENGTH),
            system.display.show(used, Dimension::LENGTH),
            100.0 * at / used
        )),
        (None, Some(used)) if outcome.get(result!(release_margin)).is_some() => Some(format!(
            "does not release within {}",
            system.display.show(used, Dimension::LENGTH)
        )),
        _ => None,
    };
    let margin = outcome.get(result!(release_margin));
    let margin = margin.filter(|_| !goes_wrong_way).map(|margin| {
        let worst = shown_spread(worked, result!(release_margin));
        let worst = worst.map_or_else(String::new, |spread| {
            let low = beside(spread.worst.low, margin, Dimension::LENGTH);
            format!(", worst case {low}")
        });
        format!(
            "margin {}{worst}",
            system.display.show(margin, Dimension::LENGTH)
        )
    });
    let effort = outcome.get(result!(pedal_effort)).map(|effort| {
        let held = outcome.get(result!(pedal_effort_full)).map(|held| {
            let held = beside(held, effort, Dimension::FORCE);
            format!(", {held} held")
        });
        let effort = system.display.show(effort, Dimension::FORCE);
        format!("effort {effort}{}", held.unwrap_or_default())
    });
    let overtravel = outcome.get(result!(overtravel_margin)).map(|margin| {
        let by = system.display.show(margin.abs(), Dimension::LENGTH);
        match margin < 0.0 {
            true => format!("{by} past the cover's limit"),
            false => format!("{by} left to the cover's limit"),
        }
    });
    for (left, right) in [(release, margin), (effort, overtravel)] {
        let line = match (left, right) {
            (None, None) => continue,
            (Some(left), Some(right)) => format!("{left:SECOND$}{right}"),
            (left, right) => left.or(right).unwrap_or_default(),
        };
        let _ = writeln!(out, "  {line}");
    }
    out
}

/// Where the pedal is held. Otherwise what ends its travel, if that is not the pedal itself.
fn where_it_ends(worked: &Worked, outcome: &Outcome, held: Option<f64>) -> Option<String> {
    let show = |travel| worked.system.display.show(travel, Dimension::LENGTH);
    let used = outcome.get(result!(pedal_travel_used)).unwrap_or_default();
    let words = outcome.ended_by.words();
    match held {
        None if outcome.ended_by.is_own_travel() => None,
        None => Some(format!("full pedal is set by {words}, at {}", show(used))),
        Some(at) if outcome.reaches(at) => Some(format!("with the pedal held at {}", show(at))),
        Some(at) if outcome.ended_by.is_own_travel() => Some(format!(
            "{} is past the pedal's travel of {used}. These are the results at {used}.",
            show(at),
            used = show(used),
        )),
        Some(at) => Some(format!(
            "{} is past full pedal: {words} sets it, at {used}. These are the results at {used}.",
            show(at),
            used = show(used),
        )),
    }
}

// ---- the table ----

/// The cells of one result: nominal, worst case, likely case, worn disc.
type Cells = [String; 4];

const HEADS: [&str; 4] = ["nominal", "worst case", "rss", "worn disc"];

/// The results in their sections. Empty columns are not drawn.
fn table(out: &mut String, worked: &Worked, outcome: &Outcome, layout: ResultsLayout) {
    let rows: Vec<(&ResultSpec, Cells)> = outcome
        .results
        .iter()
        .map(|(id, value)| (id.spec(), cells(worked, outcome, layout, id, value)))
        .collect();
    let called = |spec: &ResultSpec| match layout.names {
        true => spec.name.to_owned(),
        false => spec.plain_name(),
    };
    let name_width = rows
        .iter()
        .map(|(spec, _)| spec.name.len())
        .max()
        .unwrap_or(0);
    let length = |text: &str| text.chars().count();
    let widths: [usize; 4] = std::array::from_fn(|column| {
        let cells = rows.iter().map(|(_, cells)| length(&cells[column]));
        match cells.max().unwrap_or(0) {
            0 => 0,
            widest => widest.max(length(HEADS[column])),
        }
    });
    let line = |first: &str, cells: &[&str; 4]| {
        let mut line = format!("{first:width$}", width = name_width + 4);
        for (cell, width) in cells.iter().zip(widths).filter(|(_, width)| *width > 0) {
            let _ = write!(line, "  {cell:width$}");
        }
        format!("{}\n", line.trim_end())
    };
    let mut is_first = true;
    for section in Section::ALL {
        let mut rows = rows
            .iter()
            .filter(|(spec, _)| spec.section == section)
            .peekable();
        if rows.peek().is_none() {
            continue;
        }
        let heading = format!("  {}", section.name().to_uppercase());
        out.push_str(&match is_first {
            true => line(&heading, &HEADS),
            false => format!("{heading}\n"),
        });
        is_first = false;
        for (spec, cells) in rows {
            let cells: [&str; 4] = std::array::from_fn(|column| cells[column].as_str());
            out.push_str(&line(&format!("    {}", called(spec)), &cells));
        }
    }
}

fn cells(
    worked: &Worked,
    outcome: &Outcome,
    layout: ResultsLayout,
    id: ResultId,
    value: f64,
) -> Cells {
    let spec = id.spec();
    let display = &worked.system.display;
    let beside = |other: f64| match spec.kind() {
        NumberKind::Share => format!("{:.0}", other * 100.0),
        NumberKind::Ratio | NumberKind::Quantity => {
            display.number_beside(other, value, spec.dimension)
        }
    };
    let nominal = id.show_both(value, display);
    let spread = shown_spread(worked, id);
    let band = |low, high| format!("{} to {}", beside(low), beside(high));
    let worst = spread.map(|spread| band(spread.worst.low, spread.worst.high));
    let rss = spread
        .filter(|_| layout.all)
        .map(|spread| band(spread.rss.low, spread.rss.high));
    let worn = outcome
        .worn()
        .and_then(|worn| worn.get(id))
        .map(beside)
        .filter(|worn| *worn != beside(value));
    [
        nominal,
        worst.unwrap_or_default(),
        rss.unwrap_or_default(),
        worn.unwrap_or_default(),
    ]
}

/// The spread of a result, if it is visible in the digits shown.
fn shown_spread(worked: &Worked, id: ResultId) -> Option<&Spread> {
    worked.shown_worst(id)?;
    worked.tolerances.as_ref()?.get(id)
}

// ---- what stands behind the numbers ----

/// The share of each tolerance in the spreads.
fn shares(out: &mut String, worked: &Worked, layout: ResultsLayout) {
    /// The smallest share of a spread for which an input is named.
    const LEAST: f64 = 0.05;
    let Some(tolerances) = &worked.tolerances else {
        return;
    };
    let mut told = |line: &str| out.push_str(&wrapped(line, "  ", layout.width));
    told(
        "worst case: every tolerance at the end that hurts. rss: root-sum-square, if they vary independently.",
    );
    let name = |input| worked.system.name_of(input);
    if let [only] = tolerances.inputs.as_slice() {
        told(&format!("{} accounts for all of it.", name(only)));
        return;
    }
    told("Shares of the worst case, and of the square of the rss:");
    let percent = |share: f64| format!("{:.0} %", share * 100.0);
    for id in ResultId::all() {
        if shown_spread(worked, id).is_none() {
            continue;
        }
        let named: Vec<String> = tolerances
            .contributions(id)
            .into_iter()
            .filter(|one| one.of_worst.max(one.of_variance) >= LEAST)
            .map(|one| {
                let (worst, variance) = (percent(one.of_worst), percent(one.of_variance));
                format!("{} {worst} and {variance}", name(one.input))
            })
            .collect();
        let line = format!("{}: {}", id.spec().plain_name(), named.join(", "));
        out.push_str(&wrapped(&line, "    ", layout.width));
    }
}

/// Every value that is assumed because the spec does not give it.
fn assumed(out: &mut String, worked: &Worked, layout: ResultsLayout) {
    let assumed = worked.system.assumed_shown();
    if assumed.is_empty() {
        return;
    }
    out.push('\n');
    if layout.all {
        out.push_str("  ASSUMED, since the spec does not say\n");
        for (field, text) in assumed {
            let line = format!("{} = {text}  ({})", field.path(), field.field().source);
            out.push_str(&wrapped(&line, "    ", layout.width));
        }
        return;
    }
    let values: Vec<String> = assumed
        .into_iter()
        .map(|(field, text)| format!("{} = {text}", field.path()))
        .collect();
    let line = format!("Assumed: {}.", values.join(", "));
    out.push_str(&wrapped(&line, "  ", layout.width));
}

/// How many results need more input; or each of them, with what it needs.
fn missing(out: &mut String, worked: &Worked, outcome: &Outcome, layout: ResultsLayout) {
    let absent: Vec<(ResultId, String)> = absences(&worked.system, outcome).collect();
    if absent.is_empty() {
        return;
    }
    out.push('\n');
    if !layout.all {
        let line = match absent.len() {
            1 => "1 result needs more input".to_owned(),
            count => format!("{count} results need more input"),
        };
        let _ = writeln!(out, "  {line} (--all lists them).");
        return;
    }
    out.push_str("  MISSING\n");
    for (id, why) in absent {
        let spec = id.spec();
        let called = match layout.names {
            true => spec.name.to_owned(),
            false => spec.plain_name(),
        };
        out.push_str(&wrapped(&format!("{called}: {why}"), "    ", layout.width));
    }
}
