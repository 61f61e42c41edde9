//! Results for people, and curves for spreadsheets.

use super::tame;
use crate::analysis::Worked;
use crate::mechanics::{EndedBy, Outcome, Sample, why_absent};
use crate::schema::ResultId;
use std::fmt::Write;

/// Every result of a system, what is assumed, and what is missing.
pub fn results_text(worked: &Worked) -> String {
    let system = &worked.system;
    let mut out = String::new();
    let _ = match &system.title {
        Some(title) => writeln!(out, "{}: {}", system.name, tame(title)),
        None => writeln!(out, "{}", system.name),
    };
    let outcome = match &worked.outcome {
        Ok(outcome) => outcome,
        Err(why) => {
            let _ = writeln!(out, "  not worked out: {}", why.words());
            return out;
        }
    };
    let _ = writeln!(
        out,
        "  the pedal's travel is ended by {}",
        ended_by(outcome)
    );
    let width = ResultId::all()
        .map(|id| id.spec().name.len())
        .max()
        .unwrap_or(0);
    for (id, value) in outcome.results.iter() {
        let spec = id.spec();
        let shown = system.display.show_both(value, spec.dimension);
        let spread = spread_text(worked, id);
        let _ = writeln!(out, "  {:width$}  {shown}{spread}", spec.name);
    }
    for id in ResultId::all().filter(|id| outcome.get(*id).is_none()) {
        let why = why_absent(system, id);
        let _ = writeln!(out, "  {:width$}  absent: {why}", id.spec().name);
    }
    if let Some(worn) = &outcome.worn {
        let _ = writeln!(out, "  with the disc worn out, nothing adjusted since:");
        for (id, value) in worn.iter().filter(|(id, v)| outcome.get(*id) != Some(*v)) {
            let spec = id.spec();
            let shown = system.display.show_both(value, spec.dimension);
            let new = outcome.get(id).map_or_else(String::new, |new| {
                format!("  new {}", system.show(new, spec.dimension))
            });
            let _ = writeln!(out, "    {:width$}  {shown}{new}", spec.name);
        }
    }
    let assumed = system.assumed();
    if !assumed.is_empty() {
        let _ = writeln!(out, "  assumed, for the spec does not say:");
        for (field, text) in assumed {
            let _ = writeln!(
                out,
                "    {} = {text}  ({})",
                field.path(),
                field.field().source
            );
        }
    }
    out
}

/// What the tolerances do to a result: its worst case, its root-sum-square, and who brings most.
fn spread_text(worked: &Worked, id: ResultId) -> String {
    /// Inputs that bring less than this part of a spread are not worth naming.
    const LEAST_SHARE: f64 = 0.05;
    let tolerances = worked.tolerances.as_ref();
    let Some((tolerances, spread)) = tolerances.and_then(|t| Some((t, t.get(id)?))) else {
        return String::new();
    };
    let show = |value| worked.system.show(value, id.spec().dimension);
    let (low, high) = (show(spread.worst.low), show(spread.worst.high));
    if low == high {
        return String::new();
    }
    let shares: Vec<String> = tolerances
        .by_share(id)
        .iter()
        .filter(|(_, share)| *share >= LEAST_SHARE)
        .map(|(input, share)| format!("{} {:.0} %", worked.system.name_of(input), share * 100.0))
        .collect();
    format!(
        "  worst {low} to {high}, rss ± {}: {}",
        show(spread.rss),
        shares.join(", ")
    )
}

fn ended_by(outcome: &Outcome) -> &'static str {
    match outcome.ended_by {
        EndedBy::PedalTravel => "the end of its own travel",
        EndedBy::PedalStop => "its stop",
        EndedBy::MasterStroke => "the master's piston, which bottoms",
        EndedBy::Geometry => "its own lever, which comes to dead centre",
    }
}

/// A curve's column: its name with its unit, and the value in a sample; empty where there is none.
type Column = (&'static str, fn(&Sample) -> Option<f64>);

const COLUMNS: &[Column] = &[
    ("pad_travel_mm", |s| Some(s.pad_travel)),
    ("master_travel_mm", |s| s.master_travel),
    ("fork_travel_mm", |s| Some(s.fork_travel)),
    ("bearing_travel_mm", |s| Some(s.bearing_travel)),
    ("finger_travel_mm", |s| Some(s.finger_travel)),
    ("release_load_n", |s| Some(s.release_load)),
    ("line_pressure_mpa", |s| s.pressure),
    ("rod_force_n", |s| Some(s.rod_force)),
    ("pedal_effort_n", |s| Some(s.effort)),
    ("pedal_effort_return_n", |s| Some(s.effort_return)),
];

/// The whole travel of some systems as comma-separated values.
///
/// # Errors
/// When the values cannot be written, as the end of a sentence.
pub fn curve_csv(systems: &[(&str, &Outcome)], points: usize) -> Result<String, String> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    let failed = |error: &dyn std::fmt::Display| format!("cannot be written: {error}");
    let header = std::iter::once("system").chain(COLUMNS.iter().map(|(name, _)| *name));
    writer.write_record(header).map_err(|e| failed(&e))?;
    for (name, outcome) in systems {
        for sample in outcome.chain.curve(points) {
            let values = COLUMNS
                .iter()
                .map(|(_, value)| value(&sample).map_or_else(String::new, |v| v.to_string()));
            writer
                .write_record(std::iter::once((*name).to_owned()).chain(values))
                .map_err(|e| failed(&e))?;
        }
    }
    let bytes = writer.into_inner().map_err(|e| failed(&e))?;
    String::from_utf8(bytes).map_err(|e| failed(&e))
}
