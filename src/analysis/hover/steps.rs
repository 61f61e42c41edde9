//! What one step up and one step down of a value would do.

use super::Seen;
use crate::checks::{COMMON_BORES, bore_written, is_inch_size, written};
use crate::field;
use crate::mechanics::{Outcome, work_out};
use crate::model::{Origin, Toleranced, Value, ValuePart};
use crate::quantity::{Band, UnitExpr};
use crate::result;
use crate::schema::FieldId;
use std::fmt::Write;

/// The margin and the effort with the next size down and up: of a bore the next that is commonly
/// made, of all else about a twentieth, as one measures.
pub(super) fn one_step_each_way(out: &mut String, id: FieldId, seen: Seen<'_>) {
    let system = seen.system();
    let Some(given) = seen.component.given(id) else {
        return;
    };
    let Value::Quantity { band, unit } = &given.value else {
        return;
    };
    let dimension = id
        .field()
        .dimension()
        .unwrap_or(crate::quantity::Dimension::NUMBER);
    let unit = unit.clone().or_else(|| system.display.unit(dimension));
    let is_bore = [field!(master.bore), field!(slave.bore)].contains(&id);
    let steps = match is_bore {
        true => next_bores(band.nominal),
        false => next_values(band.nominal, unit.as_ref()),
    };
    let mut rows = String::new();
    for value in steps {
        let shown = match is_bore {
            true => bore_written(value),
            false => written(value, unit.as_ref()),
        };
        let text = match with(id, seen, *band, value) {
            Some(outcome) => leads_to(seen, &outcome),
            None => "| *not to be worked out* | |".to_owned(),
        };
        let _ = writeln!(rows, "| {shown} {text}");
    }
    if rows.is_empty() {
        return;
    }
    let now = seen.outcome().map(|now| leads_to(seen, now));
    let now = now.map_or_else(String::new, |text| format!("| now {text}\n"));
    let whose = match given.origin {
        Origin::Part => ", for this system",
        Origin::Own | Origin::Base => "",
    };
    let _ = writeln!(
        out,
        "| one step{whose} | margin | effort |\n|:--|--:|--:|\n{now}{rows}"
    );
}

fn leads_to(seen: Seen<'_>, outcome: &Outcome) -> String {
    let show = |id: crate::schema::ResultId| {
        let value = outcome.get(id)?;
        Some(seen.system().show(value, id.spec().dimension))
    };
    let cell = |id| show(id).unwrap_or_else(|| "–".to_owned());
    format!(
        "| {} | {} |",
        cell(result!(release_margin)),
        cell(result!(pedal_effort))
    )
}

/// The system with another value in the place of one.
fn with(id: FieldId, seen: Seen<'_>, band: Band, value: f64) -> Option<Outcome> {
    let mut system = seen.system().clone();
    let line = system
        .lines
        .iter()
        .position(|line| line.place == seen.component.place);
    let input = Toleranced {
        field: id,
        line,
        part: ValuePart::Whole,
        band,
    };
    system.hold(&input, value);
    work_out(&system).ok()
}

/// The next commonly made bores of the same habit, inch or metric.
fn next_bores(present: f64) -> Vec<f64> {
    let kept = || {
        COMMON_BORES
            .iter()
            .copied()
            .filter(|bore| is_inch_size(*bore) == is_inch_size(present))
    };
    // What a catalogue rounds is the size itself.
    let is_other = |bore: &f64| (bore - present).abs() > 0.05;
    let below = kept().filter(is_other).rfind(|bore| *bore < present);
    let above = kept().filter(is_other).find(|bore| *bore > present);
    below.into_iter().chain(above).collect()
}

/// About a twentieth down and up, to a round number in the author's unit.
fn next_values(present: f64, unit: Option<&UnitExpr>) -> Vec<f64> {
    if unit.is_some_and(UnitExpr::has_offset) {
        return Vec::new();
    }
    let outward = unit.map_or(present, |unit| unit.outward(present));
    if outward <= 0.0 || !outward.is_finite() {
        return Vec::new();
    }
    let inch = unit.is_some_and(|unit| unit.to_string() == "in");
    let step = match inch {
        true if outward < 4.0 => 1.0 / 16.0,
        _ => round_step(outward / 20.0),
    };
    [outward - step, outward + step]
        .into_iter()
        .filter(|value| *value > 0.0)
        .map(|value| unit.map_or(value, |unit| unit.inward(value)))
        .collect()
}

/// The nearest of 1, 2 and 5 times a power of ten, from below.
fn round_step(about: f64) -> f64 {
    let power = 10f64.powf(about.log10().floor());
    let times = about / power;
    match times {
        t if t >= 5.0 => 5.0 * power,
        t if t >= 2.0 => 2.0 * power,
        _ => power,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bore_steps_to_the_next_that_is_made() {
        assert_eq!(next_bores(22.225), [20.6375, 23.8125]);
        assert_eq!(next_bores(22.0), [21.0, 23.0]);
        assert_eq!(next_bores(32.0), [31.0]);
    }

    #[test]
    fn other_values_step_by_about_a_twentieth() {
        let mm = UnitExpr::parse("mm").ok();
        let next = |value| next_values(value, mm.as_ref());
        assert_eq!(next(300.0), [290.0, 310.0]);
        assert_eq!(next(150.0), [145.0, 155.0]);
        assert_eq!(next(36.0), [35.0, 37.0]);
        assert!(next(0.0).is_empty());
    }
}
