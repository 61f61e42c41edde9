//! Values that are exact to the letter and the cent: texts, amounts of money, numbers of pieces.

use super::expression::{Evaluated, LetValue, Names, article};
use super::system::Value;
use super::value::{check_dimension, check_range, quantity};
use crate::check_id::CheckId;
use crate::finding::{Fix, Place, Problem};
use crate::quantity::{Dimension, Money};
use crate::schema::Field as FieldSchema;
use crate::syntax::{ExprKind, ValueKind};
use rust_decimal::Decimal;
use std::sync::Arc;

/// A text in quotes, or that of a let.
pub(super) fn text(
    what: &str,
    kind: &ValueKind,
    place: Place,
    names: &mut dyn Names,
) -> Result<Option<Value>, Problem> {
    let text: Arc<str> = match kind {
        ValueKind::Text(text) => text.text.as_str().into(),
        ValueKind::Plain(expr) if expr.as_name().is_some() => {
            match names.let_value(expr.as_name().unwrap_or_default(), &place) {
                Ok(Some(LetValue::Text(text))) => text,
                Ok(None) => return Ok(None),
                // A bare word is more often a text without its quotes than a let.
                Ok(Some(_)) | Err(_) => return Err(not_a_text(what, kind, place)),
            }
        }
        _ => return Err(not_a_text(what, kind, place)),
    };
    if text.trim().is_empty() {
        let message = format!("`{what}` says nothing");
        return Err(Problem::new(CheckId::OutOfRange, place, message)
            .help("write the words between the quotes, or remove the field"));
    }
    Ok(Some(Value::Text(text)))
}

fn not_a_text(what: &str, kind: &ValueKind, place: Place) -> Problem {
    let message = format!("`{what}` is a text, and a text stands in quotes");
    let problem = Problem::new(CheckId::Syntax, place.clone(), message);
    match kind {
        ValueKind::Plain(expr) if expr.span == place.span => {
            let end = Place::new(&place.file, place.span.at_end());
            let start = Place::new(&place.file, place.span.at_start());
            let mut problem = problem.help(format!("write it as `{what} = \"…\"`"));
            problem.fixes.push(Fix {
                title: "put it in quotes".to_owned(),
                edits: vec![(start, "\"".to_owned()), (end, "\"".to_owned())],
            });
            problem
        }
        _ => problem.help(format!("write it as `{what} = \"…\"`")),
    }
}

/// The problem of a text where a number is needed.
pub(super) fn no_text(what: &str, place: Place) -> Problem {
    let message = format!("`{what}` is no text");
    Problem::new(CheckId::WrongUnit, place, message)
        .help("write the value without quotes, with its unit")
}

/// An exact amount of money, which has no tolerance.
pub(super) fn money(
    what: &str,
    kind: &ValueKind,
    place: Place,
    names: &mut dyn Names,
) -> Result<Option<Money>, Problem> {
    let Some(found) = quantity(kind, names)? else {
        return Ok(None);
    };
    let Some(currency) = found.dimension.currency() else {
        let is_bare = found.dimension == Dimension::NUMBER;
        let message = match is_bare {
            true => format!("`{what}` is an amount of money, and this has no currency"),
            false => format!(
                "`{what}` is an amount of money, and this is {}",
                article(found.dimension)
            ),
        };
        return Err(Problem::new(CheckId::WrongUnit, place, message)
            .help("write the currency's ISO 4217 code behind the number: `48.50 USD`"));
    };
    let amount = exact(what, &found, &place)?;
    let money = Money { amount, currency };
    let is_literal = match kind {
        ValueKind::Plain(expr) => matches!(expr.kind, ExprKind::Quantity { .. }),
        _ => false,
    };
    Ok(Some(match is_literal {
        true => money,
        false => money.rounded(),
    }))
}

/// An exact number of pieces, which has no tolerance.
pub(super) fn count(
    schema: &FieldSchema,
    kind: &ValueKind,
    place: Place,
    names: &mut dyn Names,
) -> Result<Option<Value>, Problem> {
    let Some(found) = quantity(kind, names)? else {
        return Ok(None);
    };
    check_dimension(
        schema.name,
        Dimension::NUMBER,
        found.dimension,
        kind,
        &place,
    )?;
    check_range(schema, found.band, found.dimension, &place)?;
    Ok(Some(Value::Count(exact(schema.name, &found, &place)?)))
}

/// The decimal of a value that has no tolerance.
fn exact(what: &str, found: &Evaluated, place: &Place) -> Result<Decimal, Problem> {
    let wrong = |message: String| Problem::new(CheckId::OutOfRange, place.clone(), message);
    if !found.band.is_exact() {
        return Err(wrong(format!("`{what}` is exact and has no tolerance"))
            .help("write one value, without limits"));
    }
    crate::quantity::decimal(found.band.nominal).ok_or_else(|| {
        wrong(format!(
            "`{what}` is beyond all numbers that can be added up exactly"
        ))
    })
}
