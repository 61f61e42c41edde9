//! Curves for spreadsheets.

use crate::analysis::Worked;
use crate::quantity::Dimension;
use crate::solve::curve::{CURVE_COLUMNS, Curve, CurveColumn};

/// The name of a column in a spreadsheet, with the unit of its values.
fn column_name(column: &CurveColumn) -> String {
    let unit = match column.dimension {
        Dimension::FORCE => "n",
        Dimension::PRESSURE => "mpa",
        _ => "mm",
    };
    format!("{}_{unit}", column.name)
}

/// The whole travel of some systems as comma-separated values. If a system has tolerances, the worst case follows
/// each value.
///
/// # Errors
/// The values cannot be written; the error is the end of a sentence.
pub fn curve_csv(systems: &[&Worked], points: usize) -> Result<String, String> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    let failed = |error: &dyn std::fmt::Display| format!("cannot be written: {error}");
    let bands = systems.iter().any(|worked| worked.tolerances.is_some());
    // All columns except pad travel have a band; pad travel has no tolerance.
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
