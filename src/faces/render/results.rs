//! Results for people, and curves for spreadsheets.

use super::kit::kit_text;
use crate::analysis::Worked;
use crate::faces::sanitize::name;
use crate::quantity::Dimension;
use crate::result;
use crate::schema::ResultId;
use crate::solve::curve::{CURVE_COLUMNS, Curve, CurveColumn};
use crate::solve::{Outcome, Spread, absences};
use std::fmt::Write;

/// Every result of a system, what is assumed, and what is missing; of one that leaves something to
/// choose, what its combinations come to. `held` is the pad travel at which the pedal is held, where
/// that is asked for.
pub fn results_text(worked: &Worked, held: Option<f64>, width: usize) -> String {
    let system = &worked.system;
    let mut out = String::new();
    let _ = match &system.title {
        Some(title) => writeln!(out, "{}: {}", system.name, name(title)),
        None => writeln!(out, "{}", system.name),
    };
    if let Some(kit) = &worked.kit {
        out.push_str(&kit_text(worked, kit, width));
        return out;
    }
    let outcome = match &worked.outcome {
        Ok(outcome) => outcome,
        Err(why) => {
            let _ = writeln!(out, "  not worked out: {}", why.words());
            return out;
        }
    };
    let _ = writeln!(out, "  {}", where_it_ends(worked, outcome, held));
    let width = longest_name();
    for (id, value) in outcome.results.iter() {
        let spec = id.spec();
        let shown = system.display.show_both(value, spec.dimension);
        let spread = spread_text(worked, id);
        let _ = writeln!(out, "  {:width$}  {shown}{spread}", spec.name);
    }
    for (id, why) in absences(system, outcome) {
        let _ = writeln!(out, "  {:width$}  absent: {why}", id.spec().name);
    }
    shares(&mut out, worked, width);
    if let Some(worn) = outcome.worn() {
        let _ = writeln!(out, "  with the disc worn out, nothing adjusted since:");
        for (id, value) in worn.differing_from(&outcome.results) {
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

fn longest_name() -> usize {
    let names = ResultId::all().map(|id| id.spec().name.len());
    names.max().unwrap_or(0)
}

/// What the tolerances do to a result: its worst case and its root-sum-square.
fn spread_text(worked: &Worked, id: ResultId) -> String {
    let Some(spread) = shown_spread(worked, id) else {
        return String::new();
    };
    let show = |value| worked.system.show(value, id.spec().dimension);
    format!(
        "  worst case {} to {}, rss {} to {}",
        show(spread.worst.low),
        show(spread.worst.high),
        show(spread.rss.low),
        show(spread.rss.high)
    )
}

/// The spread of a result, where it can be seen in the digits that are shown.
fn shown_spread(worked: &Worked, id: ResultId) -> Option<&Spread> {
    let spread = worked.tolerances.as_ref()?.get(id)?;
    let show = |value| worked.system.show(value, id.spec().dimension);
    (show(spread.worst.low) != show(spread.worst.high)).then_some(spread)
}

/// Who brings the spreads.
fn shares(out: &mut String, worked: &Worked, width: usize) {
    /// Inputs that bring less than this part of both spreads are not worth naming.
    const LEAST: f64 = 0.05;
    let Some(tolerances) = &worked.tolerances else {
        return;
    };
    let _ = writeln!(
        out,
        "  worst case: every tolerance at the end that hurts; rss: root-sum-square, if they vary independently"
    );
    let name = |input| worked.system.name_of(input);
    if let [only] = tolerances.inputs.as_slice() {
        let _ = writeln!(out, "  all of both comes of {}", name(only));
        return;
    }
    let _ = writeln!(
        out,
        "  who brings them: part of the worst case, and part of the rss's square:"
    );
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
                format!(
                    "{} {} and {}",
                    name(one.input),
                    percent(one.of_worst),
                    percent(one.of_variance)
                )
            })
            .collect();
        let _ = writeln!(out, "    {:width$}  {}", id.spec().name, named.join(", "));
    }
}

/// What ends the pedal's travel, or where it is held.
fn where_it_ends(worked: &Worked, outcome: &Outcome, held: Option<f64>) -> String {
    let show = |travel| worked.system.show(travel, Dimension::LENGTH);
    let used = outcome.get(result!(pedal_travel_used)).unwrap_or_default();
    match held {
        None => format!(
            "the pedal's travel is ended by {}",
            outcome.ended_by.words()
        ),
        Some(at) if outcome.reaches(at) => format!("with the pedal held at {}", show(at)),
        Some(at) => format!(
            "the pedal does not get to {}: its travel is ended at {} by {}, and these are the results there",
            show(at),
            show(used),
            outcome.ended_by.words()
        ),
    }
}

/// What a column is called in a spreadsheet, with the unit of its values.
fn column_name(column: &CurveColumn) -> String {
    let unit = match column.dimension {
        Dimension::FORCE => "n",
        Dimension::PRESSURE => "mpa",
        _ => "mm",
    };
    format!("{}_{unit}", column.name)
}

/// The whole travel of some systems as comma-separated values, with the worst case of the
/// tolerances behind each value where a system has any.
///
/// # Errors
/// When the values cannot be written, as the end of a sentence.
pub fn curve_csv(systems: &[&Worked], points: usize) -> Result<String, String> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    let failed = |error: &dyn std::fmt::Display| format!("cannot be written: {error}");
    let bands = systems.iter().any(|worked| worked.tolerances.is_some());
    // The others are told over the pad's travel, which is not off by anything.
    let banded = |place: usize| bands && place > 0;
    let mut header = vec!["system".to_owned()];
    for (place, column) in CURVE_COLUMNS.iter().enumerate() {
        let name = column_name(column);
        if banded(place) {
            header.extend([name.clone(), format!("{name}_low"), format!("{name}_high")]);
        } else {
            header.push(name);
        }
    }
    writer.write_record(&header).map_err(|e| failed(&e))?;
    for worked in systems {
        let Ok(outcome) = &worked.outcome else {
            continue;
        };
        let curve = Curve::new(&worked.system, outcome, worked.tolerances.as_ref(), points);
        for i in 0..curve.samples.len() {
            let mut row = vec![worked.system.name.clone()];
            for (place, column) in CURVE_COLUMNS.iter().enumerate() {
                let shown = |v: Option<f64>| v.map_or_else(String::new, |v| v.to_string());
                let [value, low, high] = curve.at(i, column).map(shown);
                row.push(value);
                if banded(place) {
                    row.extend([low, high]);
                }
            }
            writer.write_record(&row).map_err(|e| failed(&e))?;
        }
    }
    let bytes = writer.into_inner().map_err(|e| failed(&e))?;
    String::from_utf8(bytes).map_err(|e| failed(&e))
}
