//! A comparison for a review comment. Nothing that a spec says can break its layout, point
//! somewhere, or call anyone.

use super::{
    Compared, Row, Tally, fate_words, file_name, location, not_worked_words, one_sided, report_of,
    row, said, speaker, worn,
};
use crate::analysis::compare::{Comparison, Fate, FindingChange, ResultChange, SystemChange};
use crate::faces::render::results::ended_by;
use crate::faces::render::{counted, markdown};
use std::fmt::Write;

use markdown::{code, plain};

/// Where comments are read, longer ones are refused (65 536 characters); the rest is left for
/// what surrounds it.
const LONGEST: usize = 60_000;

/// What changed, file by file.
pub fn to_markdown(compared: &Compared<'_>) -> String {
    let sides = &compared.sides;
    let mut out = format!(
        "### Clutch specs: {} → {}\n\n",
        code(&sides.before),
        code(&sides.after)
    );
    let changed = compared.files.len();
    let same = match compared.same {
        0 => String::new(),
        same => format!(", {same} as before"),
    };
    let _ = match changed {
        0 => writeln!(out, "**Nothing changed.**"),
        _ => writeln!(
            out,
            "**{}.** {} changed{same}.",
            capital(&Tally::of_files(&compared.files).words()),
            counted(changed, "file")
        ),
    };
    let mut left_out = 0;
    for file in &compared.files {
        let section = section(compared, file);
        if left_out == 0 && out.len() + section.len() <= LONGEST {
            out.push_str(&section);
        } else {
            left_out += 1;
        }
    }
    if left_out > 0 {
        let files = counted(left_out, "more file");
        let _ = writeln!(
            out,
            "\n{files} changed, which a comment has no room for; `bitepoint compare` shows all."
        );
    }
    out
}

fn section(compared: &Compared<'_>, file: &Comparison<'_>) -> String {
    let words = one_sided(file.before.is_some(), file.after.is_some());
    let words = words.map(|words| format!(" {words}")).unwrap_or_default();
    let mut out = format!("\n#### {}{words}\n", code(file_name(file)));
    findings(&mut out, file, &file.findings);
    for system in file.systems.iter().filter(|system| !system.is_same()) {
        self::system(&mut out, compared, file, system);
    }
    out
}

fn system(
    out: &mut String,
    compared: &Compared<'_>,
    file: &Comparison<'_>,
    system: &SystemChange<'_>,
) {
    let Some(worked) = speaker(system) else {
        return;
    };
    let _ = write!(out, "\n**{}**", code(system.name()));
    let old = system.before.map(|worked| worked.system.name.as_str());
    if let Some(old) = old.filter(|old| *old != system.name()) {
        let _ = write!(out, " (before: {})", code(old));
    }
    match one_sided(system.before.is_some(), system.after.is_some()) {
        Some(words) => {
            let _ = writeln!(out, " {words}");
        }
        None => {
            let title = worked.system.title.as_deref().unwrap_or_default();
            let _ = writeln!(out, " {}", plain(title));
        }
    }
    for why in not_worked_words(system, &compared.sides) {
        let _ = writeln!(out, "\n{}.", capital(&plain(&why)));
    }
    if !system.inputs.is_empty() {
        out.push_str("\n| input | before | after |\n|---|---|---|\n");
        for input in &system.inputs {
            let (before, after) = (said(input.before.as_ref()), said(input.after.as_ref()));
            let what = code(&input.what);
            let _ = writeln!(out, "| {what} | {} | {} |", plain(&before), plain(&after));
        }
    }
    findings(out, file, &system.findings);
    if let Some((before, after)) = system.ended_by {
        let [before, after] = [before, after].map(ended_by);
        let _ = writeln!(
            out,
            "\nThe pedal's travel was ended by {before}, and is by {after}."
        );
    }
    let rows = |changes: &[&ResultChange]| -> Vec<Row> {
        changes
            .iter()
            .map(|change| row(&worked.system, change))
            .collect()
    };
    // What has a better and a worse is what a reviewer weighs; the rest can be opened.
    let (weighed, other): (Vec<&ResultChange>, Vec<&ResultChange>) = system
        .results
        .iter()
        .partition(|change| change.way.is_some());
    table(out, &rows(&weighed));
    let worn = worn(system);
    if !other.is_empty() || !worn.is_empty() {
        let mut more = Vec::new();
        if !other.is_empty() {
            more.push(format!("{} moved", counted(other.len(), "other result")));
        }
        if !worn.is_empty() {
            more.push(format!(
                "{} with the disc worn out",
                counted(worn.len(), "result")
            ));
        }
        let more = more.join(", and ");
        let _ = writeln!(out, "\n<details><summary>{more}</summary>");
        table(out, &rows(&other));
        if !worn.is_empty() {
            out.push_str("\nWith the disc worn out, nothing adjusted since:\n");
            table(out, &rows(&worn));
        }
        out.push_str("\n</details>\n");
    }
}

fn findings(out: &mut String, file: &Comparison<'_>, changes: &[FindingChange<'_>]) {
    let stayed = changes
        .iter()
        .filter(|change| change.fate == Fate::Stayed)
        .count();
    if stayed == changes.len() {
        return;
    }
    out.push('\n');
    for change in changes.iter().filter(|change| change.fate != Fate::Stayed) {
        let Some(finding) = change.finding() else {
            continue;
        };
        let at = location(report_of(file, change), finding);
        let _ = write!(
            out,
            "- **{}**: {} {}: {} ({})",
            fate_words(change.fate),
            finding.severity.name(),
            code(finding.check.name),
            plain(&finding.problem.message),
            code(&at)
        );
        let more = match (change.fate, change.before, change.why) {
            (Fate::Changed, Some(before), _) => Some(("Before", &*before.problem.message)),
            (Fate::Silenced, _, Some(why)) => Some(("Because", why)),
            (Fate::Came | Fate::Unsilenced, ..) => {
                let help = finding.problem.help.as_deref();
                help.map(|help| ("Help", help))
            }
            _ => None,
        };
        if let Some((what, text)) = more {
            let _ = write!(out, "<br>{what}: {}", plain(text));
        }
        out.push('\n');
    }
    if stayed > 0 {
        let _ = writeln!(out, "- stayed: {stayed}");
    }
}

fn table(out: &mut String, rows: &[Row]) {
    if rows.is_empty() {
        return;
    }
    out.push_str("\n| result | before | after | by | |\n|---|--:|--:|--:|---|\n");
    for row in rows {
        let _ = writeln!(
            out,
            "| {} | {} | {} | {} | {} |",
            code(row.name),
            plain(&row.before),
            plain(&row.after),
            plain(&row.by),
            plain(&row.notes.join("; "))
        );
    }
}

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    match chars.next() {
        Some(first) => first.to_uppercase().chain(chars).collect(),
        None => String::new(),
    }
}
