//! Values in both systems of units.

use super::escape;
use crate::analysis::hover_content::both;
use crate::checks::written;
use crate::model::{Given, Points, Value};
use crate::quantity::{Band, Dimension, Display, UNITS, UnitExpr, UnitSystem, usual_unit};
use crate::schema::{FieldId, Kind};
use crate::syntax::{self, quoted};
use std::fmt::Write;

/// A value in full, as Markdown.
pub(super) fn value_in_full(id: FieldId, given: &Given, display: &Display) -> String {
    let dimension = dimension_of(id);
    let unit = display.unit(dimension);
    match &given.value {
        Value::Quantity { band, unit: own } => {
            let unit = own.as_ref().or(unit.as_ref());
            let shown = both(band.nominal, dimension, unit);
            format!("**{shown}**{}", limits(*band, dimension, unit))
        }
        Value::Window { low, high } => {
            let comma = if low.is_exact() { "" } else { "," };
            let [low, high] = [low, high].map(|end| {
                let shown = both(end.nominal, dimension, unit.as_ref());
                format!("**{shown}**{}", limits(*end, dimension, unit.as_ref()))
            });
            format!("{low}{comma} to {high}")
        }
        Value::Curve(points) => {
            let Some((at, most)) = peak(points) else {
                return String::new();
            };
            let across = match id.field().kind {
                Kind::Curve { x, .. } | Kind::CurveOrPeak { x, .. } => x,
                _ => Dimension::NUMBER,
            };
            format!(
                "{} points, at most **{}** at {}",
                points.iter().len(),
                both(most, dimension, unit.as_ref()),
                both(at, across, display.unit(across).as_ref())
            )
        }
        Value::Word(word) => format!("**`{word}`**"),
        Value::Text(_) | Value::Money(_) | Value::Count(_) => {
            format!("**{}**", value_in_brief(id, given, display))
        }
    }
}

/// A value in the cell of a table.
pub(super) fn value_in_brief(id: FieldId, given: &Given, display: &Display) -> String {
    let dimension = dimension_of(id);
    match &given.value {
        // A calculated value, even one with only a sign, has no unit of its own.
        Value::Quantity { band, unit } => {
            let unit = unit.clone().or_else(|| display.unit(dimension));
            both(band.nominal, dimension, unit.as_ref())
        }
        Value::Window { low, high } => {
            let [low, high] = [low, high].map(|end| display.show(end.nominal, dimension));
            format!("{low} to {high}")
        }
        Value::Curve(points) => {
            let most = peak(points).map(|point| display.show(point.1, dimension));
            format!("curve up to {}", most.unwrap_or_default())
        }
        Value::Word(word) => format!("`{word}`"),
        Value::Text(text) => escape(&quoted(text)),
        Value::Money(money) => money.to_string(),
        Value::Count(count) => count.to_string(),
    }
}

/// The dimension of a field's value. For a window it is that of its ends, for a curve that of its height.
fn dimension_of(id: FieldId) -> Dimension {
    match id.field().kind {
        Kind::Quantity(dimension) | Kind::Window(dimension) => dimension,
        Kind::Curve { y, .. } | Kind::CurveOrPeak { y, .. } => y,
        Kind::Choice(_) | Kind::Text | Kind::Money | Kind::Count => Dimension::NUMBER,
    }
}

fn limits(band: Band, dimension: Dimension, unit: Option<&UnitExpr>) -> String {
    if band.is_exact() {
        return String::new();
    }
    let unit = unit
        .cloned()
        .or_else(|| usual_unit(dimension, UnitSystem::Metric));
    format!(
        ", anywhere from {} to {}",
        written(band.low, unit.as_ref()),
        written(band.high, unit.as_ref())
    )
}

fn peak(points: &Points) -> Option<(f64, f64)> {
    points
        .iter()
        .reduce(|best, point| if point.1 > best.1 { point } else { best })
}

/// The unit of a value that is written as a plain quantity.
pub(super) fn unit_of(value: &syntax::Value) -> Option<&UnitExpr> {
    let (syntax::ValueKind::Plain(expr) | syntax::ValueKind::Tolerance { nominal: expr, .. }) =
        &value.kind
    else {
        return None;
    };
    match &expr.kind {
        syntax::ExprKind::Quantity { unit, .. } => Some(unit),
        _ => None,
    }
}

/// A unit in full, and a quantity in it converted to the other system.
pub(super) fn unit_markdown(number: f64, unit: &UnitExpr) -> String {
    let dimension = unit.dimension();
    let mut out = format!("**`{unit}`** · {dimension}\n\n{}\n\n", unit_words(unit));
    let _ = writeln!(
        out,
        "{}\n",
        both(unit.inward(number), dimension, Some(unit))
    );
    out
}

/// A unit's full name: `cubic centimetre per foot`.
fn unit_words(unit: &UnitExpr) -> String {
    let text = unit.to_string();
    let mut words = String::new();
    let mut rest = text.as_str();
    let mut joint = "";
    while !rest.is_empty() {
        let end = rest.find(['*', '/']).unwrap_or(rest.len());
        let (atom, after) = rest.split_at(end);
        let (name, power) = atom.split_once('^').unwrap_or((atom, "1"));
        let full = UNITS
            .iter()
            .find(|unit| unit.name == name)
            .map_or(name, |unit| unit.doc);
        words.push_str(joint);
        let _ = match power {
            "1" => write!(words, "{full}"),
            "2" => write!(words, "square {full}"),
            "3" => write!(words, "cubic {full}"),
            power => write!(words, "{full} to the {power}"),
        };
        joint = if after.starts_with('/') {
            " per "
        } else {
            " times "
        };
        rest = after.get(1..).unwrap_or_default();
    }
    words
}
