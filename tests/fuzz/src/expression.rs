//! Expressions never give a value that is not a number, and a shown value is read back as shown.

use super::input::Pair;
use bitepoint::model::{Value, standalone_value};
use bitepoint::quantity::{Display, UNITS, UnitExpr};

pub fn holds(data: &[u8]) {
    let (number, text) = data.split_first_chunk::<8>().unwrap_or((&[0; 8], data));
    let text = String::from_utf8_lossy(text);
    let line = text.lines().next().unwrap_or_default();
    in_a_spec(line);
    alone(line);
    if let Ok(unit) = UnitExpr::parse(line) {
        shown_is_read(f64::from_le_bytes(*number), &unit);
    }
    for unit in UNITS {
        shown_is_read(f64::from_le_bytes(*number), &UnitExpr::of(unit));
    }
}

fn in_a_spec(expression: &str) {
    let text = format!(
        "let x = {expression}\nsystem s {{\n    let y = {expression}\n    pedal {{\n        \
         travel = {expression}\n        ratio = x\n        assist = curve {{ {expression}: y }}\n    \
         }}\n    master {{\n        bore = y ± {expression}\n        stroke = x to {expression}\n    \
         }}\n    require pedal_effort <= {expression}\n}}\n"
    );
    let report = Pair::new(&text).report();
    for given in report.worked_systems().flat_map(|worked| {
        let components = worked.system.components();
        components.flat_map(|component| component.fields.iter().flatten())
    }) {
        let finite = match &given.value {
            Value::Quantity { band, .. } => band.is_finite(),
            Value::Window { low, high } => low.is_finite() && high.is_finite(),
            Value::Curve(points) => {
                let mut all = points.bands().iter();
                all.all(|(x, y)| x.is_finite() && y.is_finite())
            }
            Value::Word(_) | Value::Text(_) => true,
            Value::Money(_) | Value::Count(_) => true,
        };
        assert!(finite, "{given:?}");
    }
}

fn alone(expression: &str) {
    if let Ok((value, _)) = standalone_value(expression, &"settings".into(), 0) {
        assert!(value.is_finite());
    }
}

/// The relative precision of three shown digits.
const SHOWN: f64 = 0.5e-2;
/// No more than nine digits behind the point are shown.
const LEAST: f64 = 1e-9;

/// A shown value is read back as the value, up to the digits that are not shown.
pub fn shown_is_read(number: f64, unit: &UnitExpr) {
    let value = unit.inward(number);
    if !number.is_finite() || !value.is_finite() || !(1e-30..1e30).contains(&value.abs()) {
        return;
    }
    let dimension = unit.dimension();
    let mut display = Display::default();
    display.learn(unit);
    let text = display.show_finely(value, dimension);
    let (read, read_dimension) =
        standalone_value(&text, &"shown".into(), 0).unwrap_or_else(|why| panic!("{text}: {why:?}"));
    assert_eq!(read_dimension, dimension, "{text}");
    let shown = display.unit_for(value, dimension);
    let outward = |value: f64| shown.as_ref().map_or(value, |unit| unit.outward(value));
    let (meant, read) = (outward(value), outward(read));
    assert!(
        (meant - read).abs() <= (SHOWN * meant.abs()).max(LEAST),
        "{meant} was shown as {text}, which is {read}"
    );
}
