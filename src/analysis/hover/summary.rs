//! A system in brief: the verdict first, then the numbers that decide.

use super::escape;
use super::follows::band;
use crate::analysis::{Located, Report, Worked, verdict};
use crate::result;
use crate::schema::ResultId;
use crate::syntax;
use std::fmt::Write;

/// The rows in plain words.
const ROWS: &[(&str, ResultId)] = &[
    ("Margin past release", result!(release_margin)),
    ("Left before the cover's limit", result!(overtravel_margin)),
    ("Highest pedal effort", result!(pedal_effort)),
    ("Releases at, of pedal travel", result!(release_point)),
    ("Highest line pressure", result!(line_pressure)),
    ("Left for disc wear", result!(wear_reserve)),
];

/// The verdict, followed by a blank line. Then the system's name and title, the rows, and every assumed value.
pub(super) fn system(report: &Report, tree: &syntax::System, located: &Located) -> String {
    let system = &located.system;
    let worked = located.shown().worked;
    let line = verdict(report, located).line();
    let mut out = format!("**{}**\n\n`system {}`", escape(&line), system.name);
    if let Some(title) = &system.title {
        let _ = write!(out, " · {}", escape(title));
    }
    if let Some(base) = &tree.base {
        let _ = write!(out, " · from `{}`", base.text);
    }
    out.push_str("\n\n");
    out.push_str(&rows(worked));
    let assumed: Vec<String> = system
        .assumed_shown()
        .into_iter()
        .map(|(id, text)| format!("`{}` {text}", id.path()))
        .collect();
    if !assumed.is_empty() {
        let _ = writeln!(out, "Assumed: {}\n", assumed.join(", "));
    }
    if worked.outcome.is_ok() {
        let _ = writeln!(out, "*All results: the preview, or `bitepoint calc`*\n");
    }
    out
}

fn rows(worked: &Worked) -> String {
    let Ok(outcome) = &worked.outcome else {
        return String::new();
    };
    let display = &worked.system.display;
    let mut rows = String::new();
    for (words, id) in ROWS {
        let Some(value) = outcome.get(*id) else {
            continue;
        };
        let ends = band(worked, *id);
        let shown = id.show_both(value, display);
        let _ = writeln!(rows, "| {words} | {shown}{ends} |");
    }
    match rows.is_empty() {
        true => rows,
        false => format!("| | |\n|:--|--:|\n{rows}\n"),
    }
}
