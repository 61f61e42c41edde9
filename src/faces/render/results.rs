//! Results for people, and curves for spreadsheets.

use super::tame;
use crate::analysis::Worked;
use crate::mechanics::{CurveBand, EndedBy, Outcome, Sample, belongs, why_absent};
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
    let absent = |id: &ResultId| outcome.get(*id).is_none() && belongs(system, *id);
    for id in ResultId::all().filter(absent) {
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
    let tolerances = worked.tolerances.as_ref();
    let Some((tolerances, spread)) = tolerances.and_then(|t| Some((t, t.get(id)?))) else {
        return String::new();
    };
    let show = |value| worked.system.show(value, id.spec().dimension);
    let (low, high) = (show(spread.worst.low), show(spread.worst.high));
    if low == high {
        return String::new();
    }
    format!(
        "  worst {low} to {high}, rss ± {}: {}",
        show(spread.rss),
        tolerances.shares_text(&worked.system, id)
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

/// The column that the others are told over.
const PAD_TRAVEL: &str = "pad_travel_mm";

const COLUMNS: &[Column] = &[
    (PAD_TRAVEL, |s| Some(s.pad_travel)),
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

/// The whole travel of some systems as comma-separated values, with the worst case of the
/// tolerances behind each value where a system has any.
///
/// # Errors
/// When the values cannot be written, as the end of a sentence.
pub fn curve_csv(systems: &[&Worked], points: usize) -> Result<String, String> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    let failed = |error: &dyn std::fmt::Display| format!("cannot be written: {error}");
    let bands = systems.iter().any(|worked| worked.tolerances.is_some());
    let mut header = vec!["system".to_owned()];
    for (name, _) in COLUMNS {
        header.push((*name).to_owned());
        if bands && *name != PAD_TRAVEL {
            header.extend([format!("{name}_low"), format!("{name}_high")]);
        }
    }
    writer.write_record(&header).map_err(|e| failed(&e))?;
    for worked in systems {
        let Ok(outcome) = &worked.outcome else {
            continue;
        };
        let band = worked
            .tolerances
            .as_ref()
            .map(|tolerances| tolerances.curve(&worked.system, &outcome.chain, points));
        for (i, sample) in outcome.chain.curve(points).iter().enumerate() {
            let mut row = vec![worked.system.name.clone()];
            for (name, value) in COLUMNS {
                let shown = |v: Option<f64>| v.map_or_else(String::new, |v| v.to_string());
                row.push(shown(value(sample)));
                if bands && *name != PAD_TRAVEL {
                    let end = |ends: fn(&CurveBand) -> &[Sample]| {
                        let sample = band.as_ref().and_then(|band| ends(band).get(i));
                        shown(sample.and_then(value))
                    };
                    row.extend([end(|band| &band.low), end(|band| &band.high)]);
                }
            }
            writer.write_record(&row).map_err(|e| failed(&e))?;
        }
    }
    let bytes = writer.into_inner().map_err(|e| failed(&e))?;
    String::from_utf8(bytes).map_err(|e| failed(&e))
}
