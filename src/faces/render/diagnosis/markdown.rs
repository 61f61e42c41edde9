//! A diagnosis as Markdown, for a job card or a message to a customer.

use super::{EQUALS, UNLABELLED, causes_head, equals, how_to_give, not_worked, right, visits};
use crate::analysis::diagnosis::{VisitTold, askable};
use crate::analysis::{Report, Worked};
use crate::diagnose::Diagnosis;
use crate::faces::render::markdown::{code, plain};
use std::fmt::Write;

/// The diagnosis of a system, or how to give readings if there are none.
pub fn measured_markdown(
    report: &Report,
    worked: &Worked,
    found: Option<&Diagnosis>,
    file: &str,
) -> String {
    match found {
        _ if worked.outcome.is_err() && worked.kit.is_none() => not_worked(report, worked),
        Some(found) => diagnosis_markdown(worked, found),
        None => askable_markdown(worked, file),
    }
}

/// Every visit of a system.
pub fn diagnosis_markdown(worked: &Worked, diagnosis: &Diagnosis) -> String {
    let mut out = head(worked);
    for visit in visits(worked, diagnosis) {
        write_visit(&mut out, &visit);
    }
    out
}

/// How to give readings of a system, and which may be taken.
pub fn askable_markdown(worked: &Worked, file: &str) -> String {
    let mut out = head(worked);
    let [in_spec, on_line] = how_to_give(worked, file);
    out.push_str("Nothing was read on this car yet. These are the readings that can be taken.\n\n");
    let rows = askable(worked).into_iter().map(|one| {
        [
            code(one.reading.name()),
            plain(&right(&one)),
            plain(&one.how),
        ]
    });
    table(&mut out, ["Reading", "When right", "How it is taken"], rows);
    let _ = write!(
        out,
        "\nWhat to do next: take one reading or more, then type, with an option for each: {}. Or keep them in the \
         spec, in a block for each visit: {}.\n",
        code(&on_line),
        code(&in_spec)
    );
    out
}

fn head(worked: &Worked) -> String {
    let system = &worked.system;
    match &system.title {
        Some(title) => format!("## {}: {}\n\n", code(&system.name), plain(title)),
        None => format!("## {}\n\n", code(&system.name)),
    }
}

fn write_visit(out: &mut String, visit: &VisitTold) {
    let _ = match &visit.label {
        Some(label) => write!(out, "### {}\n\n", code(label)),
        None => write!(out, "### {UNLABELLED}\n\n"),
    };
    if let Some((first, rest)) = visit.verdict.split_first() {
        let _ = write!(out, "**{}**", plain(first));
        for sentence in rest {
            let _ = write!(out, " {}", plain(sentence));
        }
        out.push_str("\n\n");
    }
    if !visit.readings.is_empty() {
        let rows = visit.readings.iter().map(|line| {
            [&line.name, &line.measured, &line.worked_out, &line.off].map(|cell| plain(cell))
        });
        table(out, ["Reading", "Measured", "Worked out", ""], rows);
    }
    if !visit.changes.is_empty() {
        list(out, "Changed since the visit before", visit.changes.iter());
    }
    if !visit.causes.is_empty() {
        let with_equals = visit.explains && equals(visit) > 1;
        let causes = visit.causes.iter().map(|cause| match with_equals {
            true if cause.is_equal => format!("= {}", cause.words),
            _ => cause.words.clone(),
        });
        list(out, causes_head(visit), causes);
        if with_equals {
            let _ = write!(out, "{EQUALS}\n\n");
        }
    }
    if !visit.pairs.is_empty() {
        list(
            out,
            "No single fault explains it; two together do",
            visit.pairs.iter(),
        );
    }
    if !visit.ruled_out.is_empty() {
        let rows = visit.ruled_out.iter();
        let rows = rows.map(|(reading, faults)| format!("by {reading}: {}", faults.join(", ")));
        list(out, "Ruled out", rows);
    }
    for (i, next) in visit.next.iter().enumerate() {
        let lead = if i == 0 { "Measure next" } else { "Or" };
        let _ = write!(
            out,
            "**{lead}: {}**\n\n{}\n\n",
            code(next.reading.name()),
            plain(&next.how)
        );
        let rows = next.values.iter();
        let rows = rows.map(|(value, faults)| [plain(value), plain(&faults.join(", "))]);
        table(out, ["Read", "Means"], rows);
    }
    for sentence in &visit.before_cures {
        let _ = write!(out, "{}\n\n", plain(sentence));
    }
    for cure in &visit.cures {
        let _ = write!(out, "**If it is {}**\n\n", plain(&cure.of));
        for (i, step) in cure.steps.iter().enumerate() {
            let _ = writeln!(out, "{}. {}", i + 1, plain(step));
        }
        out.push('\n');
    }
    if !visit.cautions.is_empty() {
        list(out, "Before you start", visit.cautions.iter());
    }
}

fn list(out: &mut String, head: &str, items: impl Iterator<Item = impl AsRef<str>>) {
    let _ = write!(out, "**{}**\n\n", plain(head));
    for item in items {
        let _ = writeln!(out, "- {}", plain(item.as_ref()));
    }
    out.push('\n');
}

/// A table whose cells are already Markdown.
fn table<const N: usize>(
    out: &mut String,
    head: [&str; N],
    rows: impl Iterator<Item = [String; N]>,
) {
    let _ = writeln!(out, "| {} |\n|{}", head.join(" | "), "---|".repeat(N));
    for row in rows {
        let _ = writeln!(out, "| {} |", row.join(" | "));
    }
    out.push('\n');
}
