//! Works out the value of a field as its kind in the schema requires.

use super::exact::{count, money, no_text, text};
use super::expression::{LetValue, Names, article, expression};
use super::system::Value;
use super::value::{check_dimension, check_range, curve, quantity, written_unit};
use crate::check_id::CheckId;
use crate::finding::{Place, Problem};
use crate::quantity::{Band, Dimension, listed, nearest};
use crate::schema::{Choice, Field as FieldSchema, Kind};
use crate::syntax::{Expr, ValueKind};
use rust_decimal::prelude::ToPrimitive;

/// A field's value as its kind in the schema requires; `None` if it has a mistake that is reported elsewhere.
///
/// Each kind has a function of its own, to keep the stack small. Fields that refer to one another are evaluated
/// inside one another.
pub(super) fn field(
    schema: &FieldSchema,
    value: &crate::syntax::Value,
    place: Place,
    names: &mut dyn Names,
) -> Result<Option<Value>, Problem> {
    let what = schema.name;
    // Where the value is the name of a let that holds a curve, take the curve of the let.
    if let (Kind::Curve { x, y } | Kind::CurveOrPeak { x, y }, ValueKind::Plain(expr)) =
        (schema.kind, &value.kind)
        && let Some(name) = expr.as_name()
        && let Some(curve) = curve_of_let(schema, (x, y), name, &place, names)?
    {
        return Ok(Some(curve));
    }
    match (schema.kind, &value.kind) {
        (_, ValueKind::Bad) => Ok(None),
        (Kind::Text, _) => text(what, &value.kind, place, names),
        (Kind::Money | Kind::Count, ValueKind::Text(_)) => Err(no_text(what, place)),
        (Kind::Money, _) => price(schema, value, place, names),
        (Kind::Count, _) => count(schema, &value.kind, place, names),
        (Kind::Choice(choices), ValueKind::Text(text)) => {
            Err(quoted_choice(what, choices, &text.text, place))
        }
        (_, ValueKind::Text(_)) => Err(no_text(what, place)),
        (Kind::Window(dimension), ValueKind::Limits { low, high }) => {
            window(schema, dimension, (low, high), place, names)
        }
        (Kind::Window(_), _) => Err(Problem::new(
            CheckId::WrongUnit,
            place,
            format!("`{what}` is a window with two ends"),
        )
        .help("write the least and the most of the part's data sheet: `… mm to … mm`")),
        (Kind::Choice(choices), kind) => choice(what, choices, kind, place),
        (
            Kind::Curve { x, y } | Kind::CurveOrPeak { x, y },
            ValueKind::Curve { points, spread },
        ) => {
            let written = (&**points, spread.as_ref());
            let Some(values) = curve(what, written, (x, y), names)? else {
                return Ok(None);
            };
            check_curve_range(schema, y, values.bands(), |i| names.place(&points[i].1))?;
            Ok(Some(Value::Curve(values)))
        }
        (Kind::Quantity(dimension) | Kind::CurveOrPeak { y: dimension, .. }, _) => {
            single(schema, dimension, value, place, names)
        }
        (Kind::Curve { .. }, _) => {
            Err(
                Problem::new(CheckId::WrongUnit, place, format!("`{what}` is a curve"))
                    .help("write its points: `curve { 0 mm: 0 N, 50 mm: 80 N }`"),
            )
        }
    }
}

/// The curve that a let holds; `None` if the let holds something else.
fn curve_of_let(
    schema: &FieldSchema,
    (x, y): (Dimension, Dimension),
    name: &str,
    place: &Place,
    names: &mut dyn Names,
) -> Result<Option<Value>, Problem> {
    let Some(LetValue::Curve {
        x: found_x,
        y: found_y,
        points,
    }) = names.let_value(name, place)?
    else {
        return Ok(None);
    };
    if (found_x, found_y) != (x, y) {
        return Err(Problem::new(
            CheckId::WrongUnit,
            place.clone(),
            format!(
                "`{}` is {} over {}; `{name}` is {} over {}",
                schema.name,
                article(y),
                article(x),
                article(found_y),
                article(found_x)
            ),
        ));
    }
    check_curve_range(schema, y, points.bands(), |_| place.clone())?;
    Ok(Some(Value::Curve(points)))
}

/// An amount of money.
fn price(
    schema: &FieldSchema,
    value: &crate::syntax::Value,
    place: Place,
    names: &mut dyn Names,
) -> Result<Option<Value>, Problem> {
    let found = money(schema.name, &value.kind, place.clone(), names)?;
    if let Some(money) = found {
        let value = Band::exact(money.amount.to_f64().unwrap_or(f64::NAN));
        check_range(
            schema,
            value,
            Dimension::of_currency(money.currency),
            &place,
        )?;
    }
    Ok(found.map(Value::Money))
}

/// A single quantity of a dimension.
fn single(
    schema: &FieldSchema,
    dimension: Dimension,
    value: &crate::syntax::Value,
    place: Place,
    names: &mut dyn Names,
) -> Result<Option<Value>, Problem> {
    let Some(found) = quantity(&value.kind, names)? else {
        return Ok(None);
    };
    check_dimension(schema.name, dimension, found.dimension, &value.kind, &place)?;
    check_range(schema, found.band, dimension, &place)?;
    Ok(Some(Value::Quantity {
        band: found.band,
        unit: written_unit(&value.kind),
    }))
}

/// A window from its least to its most.
fn window(
    schema: &FieldSchema,
    dimension: Dimension,
    (low, high): (&Expr, &Expr),
    place: Place,
    names: &mut dyn Names,
) -> Result<Option<Value>, Problem> {
    let what = schema.name;
    let written = [low, high].map(|end| (ValueKind::Plain(end.clone()), names.place(end)));
    let (Some(low), Some(high)) = (expression(low, names)?, expression(high, names)?) else {
        return Ok(None);
    };
    for (end, (written, place)) in [&low, &high].into_iter().zip(&written) {
        check_dimension(what, dimension, end.dimension, written, place)?;
        check_range(schema, end.band, dimension, place)?;
    }
    if low.band.nominal >= high.band.nominal {
        return Err(Problem::new(
            CheckId::OutOfRange,
            place,
            format!("the window `{what}` ends before it begins"),
        )
        .help("write the least first: `7.5 mm to 10.5 mm`"));
    }
    if low.band.high >= high.band.low {
        return Err(Problem::new(
            CheckId::OutOfRange,
            place,
            format!("the tolerances of the ends of `{what}` overlap: it may end before it begins"),
        ));
    }
    Ok(Some(Value::Window {
        low: low.band,
        high: high.band,
    }))
}

/// One of the words that a field allows.
fn choice(
    what: &str,
    choices: &'static [Choice],
    kind: &ValueKind,
    place: Place,
) -> Result<Option<Value>, Problem> {
    let known = || choices.iter().map(|choice| choice.name);
    let word = match kind {
        ValueKind::Plain(expr) => Some(expr.as_name().unwrap_or_default()),
        _ => None,
    };
    if let Some(choice) = choices.iter().find(|choice| Some(choice.name) == word) {
        return Ok(Some(Value::Word(choice.name)));
    }
    let message = format!("`{what}` must be {}", words_of(choices));
    let problem = Problem::new(CheckId::UnknownName, place, message);
    Err(match word.and_then(|word| nearest(word, known())) {
        Some(meant) => problem.did_you_mean(Some(meant)),
        None => problem,
    })
}

/// A word in quotes, perhaps as it is printed on the part: `"DOT 4"`.
fn quoted_choice(what: &str, choices: &'static [Choice], text: &str, place: Place) -> Problem {
    let word = text.to_lowercase().replace([' ', '-'], "");
    let message = format!("`{what}` must be {}, without quotes", words_of(choices));
    let known = choices.iter().map(|choice| choice.name);
    Problem::new(CheckId::UnknownName, place, message).did_you_mean(nearest(&word, known))
}

/// The words that a field knows: "between or outboard".
fn words_of(choices: &[Choice]) -> String {
    let names: Vec<String> = choices
        .iter()
        .map(|choice| format!("`{}`", choice.name))
        .collect();
    listed(&names, " or ")
}

/// Checks the values of a curve against the field's range. Their places along the curve are not checked.
fn check_curve_range(
    schema: &FieldSchema,
    dimension: Dimension,
    points: &[(f64, Band)],
    place: impl Fn(usize) -> Place,
) -> Result<(), Problem> {
    let mut points = points.iter().enumerate();
    points.try_for_each(|(i, (_, y))| check_range(schema, *y, dimension, &place(i)))
}
