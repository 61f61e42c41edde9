//! The diagnosis of a visit, for the hover of a `measured` block.

use super::Seen;
use crate::analysis::diagnosis::{VisitTold, diagnosis, told};
use std::fmt::Write;

/// The readings beside their calculated values, what explains them, and what to measure next; `None` where the system
/// is not worked out.
pub(super) fn visit(seen: Seen<'_>) -> Option<String> {
    let visit = told_of(seen)?;
    let mut out = String::new();
    if let Some((first, rest)) = visit.verdict.split_first() {
        let _ = writeln!(out, "**{first}** {}\n", rest.join(" "));
    }
    if !visit.readings.is_empty() {
        out.push_str("| reading | measured | worked out | |\n|:--|--:|--:|:--|\n");
        for line in &visit.readings {
            let _ = writeln!(
                out,
                "| {} | {} | {} | {} |",
                line.name, line.measured, line.worked_out, line.off
            );
        }
        out.push('\n');
    }
    causes(&mut out, &visit);
    for (i, next) in visit.next.iter().enumerate() {
        let lead = if i == 0 { "Measure next" } else { "Or" };
        let values: Vec<String> = next
            .values
            .iter()
            .map(|(value, faults)| format!("{value}: {}", faults.join(", ")))
            .collect();
        let _ = writeln!(
            out,
            "{lead} `{}`: {}.\n",
            next.reading.name(),
            values.join(". ")
        );
    }
    out.push_str("*Cures and cautions: `bitepoint diagnose`*\n");
    Some(out)
}

fn causes(out: &mut String, visit: &VisitTold) {
    let lead = match visit.explains {
        true => "Explains it, the most common first (= fits equally well):",
        false => "Nearly explains it:",
    };
    if !visit.causes.is_empty() {
        let _ = writeln!(out, "{lead}\n");
        for cause in &visit.causes {
            let mark = if cause.is_equal { "= " } else { "" };
            let _ = writeln!(out, "- {mark}{}", cause.words);
        }
        out.push('\n');
    }
    if !visit.pairs.is_empty() {
        out.push_str("No single fault explains it; two together do:\n\n");
        for pair in &visit.pairs {
            let _ = writeln!(out, "- {pair}");
        }
        out.push('\n');
    }
}

fn told_of(seen: Seen<'_>) -> Option<VisitTold> {
    let found = diagnosis(seen.worked, &[])?;
    let label = &seen.component.label;
    let visit = found.visits.iter().find(|visit| visit.label == *label)?;
    Some(told(seen.worked, visit))
}
