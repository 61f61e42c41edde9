//! Works out expressions and checks the dimensions of every operator's operands.

use super::points::Points;
use crate::check_id::CheckId;
use crate::finding::{Place, Problem};
use crate::quantity::{Band, Dimension, nearest};
use crate::syntax::{Expr, ExprKind, Operator};
use std::sync::Arc;

/// The constant that every expression knows.
pub(super) const PI: &str = "pi";

/// A function of the language.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Function {
    /// Its name as the spec writes it.
    pub name: &'static str,
    /// What the function gives, as the end of a sentence.
    pub doc: &'static str,
    /// What the function takes.
    pub takes: Takes,
}

/// What a function takes.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Takes {
    /// Any number of values of one dimension.
    Values,
    /// One value of any dimension.
    Value,
    /// One value whose dimension has a square root.
    Square,
    /// One angle.
    Angle,
    /// One plain number.
    Number,
}

/// The functions of the language.
pub const FUNCTIONS: &[Function] = &[
    Function::new("min", "the least of its arguments", Takes::Values),
    Function::new("max", "the greatest of its arguments", Takes::Values),
    Function::new("sqrt", "the square root", Takes::Square),
    Function::new("abs", "the value without its sign", Takes::Value),
    Function::new("sin", "the sine of an angle", Takes::Angle),
    Function::new("cos", "the cosine of an angle", Takes::Angle),
    Function::new("tan", "the tangent of an angle", Takes::Angle),
    Function::new("atan", "the angle whose tangent it is", Takes::Number),
];

impl Function {
    const fn new(name: &'static str, doc: &'static str, takes: Takes) -> Self {
        Self { name, doc, takes }
    }

    /// A function by its name.
    pub fn named(name: &str) -> Option<&'static Self> {
        FUNCTIONS.iter().find(|function| function.name == name)
    }
}

/// The value of an expression in internal units, with its tolerance and dimension.
#[derive(Clone, PartialEq, Debug)]
pub struct Evaluated {
    pub band: Band,
    pub dimension: Dimension,
}

/// The value of a let.
#[derive(Clone, PartialEq, Debug)]
pub enum LetValue {
    Quantity(Evaluated),
    Curve {
        x: Dimension,
        y: Dimension,
        points: Points,
    },
    Text(Arc<str>),
}

/// What names and paths in an expression mean.
pub trait Names {
    /// The value of a let. `Ok(None)` if it has a mistake that is reported elsewhere.
    ///
    /// # Errors
    /// There is no such let, or it leads to itself.
    fn let_value(&mut self, name: &str, place: &Place) -> Result<Option<LetValue>, Problem>;

    /// The value of a field of the same system. `Ok(None)` if it has a mistake that is reported elsewhere.
    ///
    /// # Errors
    /// There is no such field, it has no value, or it leads to itself.
    fn field_value(
        &mut self,
        block: &str,
        field: &str,
        place: &Place,
    ) -> Result<Option<Evaluated>, Problem>;

    fn place(&self, expr: &Expr) -> Place;
}

/// An expression's value; `None` if it has a mistake that is reported elsewhere.
///
/// The steps still to do are kept in a list and not on the stack, which is small in a browser. A long expression
/// needs no more stack than a short one. Only the depth to which values refer to one another bounds it.
pub(super) fn expression(expr: &Expr, names: &mut dyn Names) -> Result<Option<Evaluated>, Problem> {
    let mut steps = vec![Step::Begin(expr)];
    let mut values = Vec::new();
    while let Some(step) = steps.pop() {
        match step {
            Step::Begin(expr) => match &expr.kind {
                ExprKind::Group(inner) => steps.push(Step::Begin(inner)),
                ExprKind::Negative(inner) | ExprKind::Power { base: inner, .. } => {
                    refuse_scale(inner, names)?;
                    steps.extend([Step::End(expr), Step::Begin(inner)]);
                }
                ExprKind::Binary { left, right, .. } => {
                    refuse_scale(left, names)?;
                    refuse_scale(right, names)?;
                    steps.extend([Step::End(expr), Step::Begin(right), Step::Begin(left)]);
                }
                ExprKind::Toleranced { nominal, spread } => {
                    refuse_scale(spread, names)?;
                    steps.extend([Step::End(expr), Step::Begin(spread), Step::Begin(nominal)]);
                }
                ExprKind::Call { arguments, .. } => {
                    steps.push(Step::End(expr));
                    steps.extend(arguments.iter().rev().map(Step::Begin));
                }
                _ => values.push(leaf(expr, names)?),
            },
            Step::End(expr) => {
                let value = combined(expr, &mut values, names)?;
                values.push(value);
            }
        }
    }
    Ok(values.pop().flatten())
}

/// A step of the evaluation of an expression.
enum Step<'a> {
    /// Plans the operands of an expression, and then the expression.
    Begin(&'a Expr),
    /// Makes the values of the operands into the value of the expression.
    End(&'a Expr),
}

/// The value of an expression without operands.
fn leaf(expr: &Expr, names: &mut dyn Names) -> Result<Option<Evaluated>, Problem> {
    let exact = |value, dimension| {
        Ok(Some(Evaluated {
            band: Band::exact(value),
            dimension,
        }))
    };
    match &expr.kind {
        ExprKind::Number(value) => exact(*value, Dimension::NUMBER),
        ExprKind::Quantity { number, unit, .. } => exact(unit.inward(*number), unit.dimension()),
        ExprKind::Name(name) if name == PI => exact(std::f64::consts::PI, Dimension::NUMBER),
        ExprKind::Name(name) => {
            let at = names.place(expr);
            match names.let_value(name, &at)? {
                None => Ok(None),
                Some(LetValue::Quantity(value)) => Ok(Some(value)),
                Some(LetValue::Curve { .. }) => Err(Problem::new(
                    CheckId::WrongUnit,
                    at,
                    format!("`{name}` is a curve and cannot be part of an expression"),
                )),
                Some(LetValue::Text(_)) => Err(Problem::new(
                    CheckId::WrongUnit,
                    at,
                    format!("`{name}` is a text and cannot be part of an expression"),
                )),
            }
        }
        ExprKind::Path { block, field } => {
            let at = names.place(expr);
            names.field_value(&block.text, &field.text, &at)
        }
        ExprKind::Call { .. }
        | ExprKind::Negative(_)
        | ExprKind::Binary { .. }
        | ExprKind::Power { .. }
        | ExprKind::Toleranced { .. }
        | ExprKind::Group(_) => Ok(None),
    }
}

/// The value of an expression from its operands, which are the last of the `values`.
fn combined(
    expr: &Expr,
    values: &mut Vec<Option<Evaluated>>,
    names: &dyn Names,
) -> Result<Option<Evaluated>, Problem> {
    let mut next = || values.pop().flatten();
    match &expr.kind {
        ExprKind::Negative(_) => Ok(next().map(|value| Evaluated {
            band: value.band.scaled(-1.0),
            ..value
        })),
        ExprKind::Power { exponent, .. } => match next() {
            Some(base) => power(&base, *exponent, names.place(expr)),
            None => Ok(None),
        },
        ExprKind::Binary {
            operator,
            left,
            right,
        } => {
            let (right_value, left_value) = (next(), next());
            let (Some(left_value), Some(right_value)) = (left_value, right_value) else {
                return Ok(None);
            };
            binary(
                *operator,
                (&left_value, names.place(left)),
                (&right_value, names.place(right)),
                names.place(expr),
            )
        }
        ExprKind::Toleranced { nominal, spread } => {
            let (by, value) = (next(), next());
            match value.zip(by) {
                Some((value, by)) => widened((nominal, value), (spread, by), names).map(Some),
                None => Ok(None),
            }
        }
        ExprKind::Call {
            function,
            arguments,
        } => {
            let given = values.split_off(values.len().saturating_sub(arguments.len()));
            let places = arguments.iter().map(|argument| names.place(argument));
            let known: Option<Vec<_>> = given
                .into_iter()
                .zip(places)
                .map(|(value, place)| Some((value?, place)))
                .collect();
            match known {
                Some(known) => call(&function.text, &known, names.place(expr)),
                None => Ok(None),
            }
        }
        ExprKind::Number(_)
        | ExprKind::Quantity { .. }
        | ExprKind::Name(_)
        | ExprKind::Path { .. }
        | ExprKind::Group(_) => Ok(next()),
    }
}

/// A value with a spread to either side, both with how they are written.
pub(super) fn widened(
    (nominal, value): (&Expr, Evaluated),
    (spread, by): (&Expr, Evaluated),
    names: &dyn Names,
) -> Result<Evaluated, Problem> {
    let place = names.place(spread);
    let bare = without_unit(nominal, spread, names);
    let relative = is_percentage(spread);
    let mut amount = by.band.high;
    if relative {
        amount *= value.band.nominal.abs();
    } else if by.dimension != value.dimension {
        if let Some(problem) =
            bare.or_else(|| spread_without_unit(nominal, spread, by.dimension, names))
        {
            return Err(problem);
        }
        return Err(Problem::new(
            CheckId::WrongUnit,
            place,
            format!(
                "the tolerance of {} is {}",
                article(value.dimension),
                article(by.dimension)
            ),
        )
        .help("give the tolerance the same kind of unit as the value, or %"));
    }
    if amount < 0.0 {
        return Err(Problem::new(
            CheckId::OutOfRange,
            place,
            "a tolerance is not below zero",
        ));
    }
    // A value that has a tolerance already gets the further one on top.
    let band = Band {
        nominal: value.band.nominal,
        low: value.band.low - amount,
        high: value.band.high + amount,
    };
    Ok(Evaluated {
        band,
        dimension: value.dimension,
    })
}

/// The problem of a value without a unit whose tolerance has one, in `150 ± 2 mm`.
fn without_unit(nominal: &Expr, spread: &Expr, names: &dyn Names) -> Option<Problem> {
    let (ExprKind::Number(_), ExprKind::Quantity { unit, .. }) = (&nominal.kind, &spread.kind)
    else {
        return None;
    };
    let place = names.place(nominal);
    let end = Place::new(&place.file, place.span.at_end());
    let message = format!(
        "this has no unit, and its tolerance is {}",
        article(unit.dimension())
    );
    Some(
        Problem::new(CheckId::WrongUnit, place, message)
            .help(format!("write its unit too, `{unit}`"))
            .fix(format!("write it in {unit}"), end, format!(" {unit}")),
    )
}

/// A tolerance without a unit, of a value that has one: it is meant in the same.
fn spread_without_unit(
    nominal: &Expr,
    spread: &Expr,
    dimension: Dimension,
    names: &dyn Names,
) -> Option<Problem> {
    let ExprKind::Quantity { unit, .. } = &nominal.kind else {
        return None;
    };
    if dimension != Dimension::NUMBER {
        return None;
    }
    let place = names.place(spread);
    let end = Place::new(&place.file, place.span.at_end());
    Some(
        Problem::new(CheckId::WrongUnit, place, "the tolerance has no unit")
            .help(format!("write its unit too, `{unit}`, or give it in %"))
            .fix(format!("write it in {unit}"), end, format!(" {unit}")),
    )
}

/// Whether an expression is a share in percent.
pub(super) fn is_percentage(expr: &Expr) -> bool {
    matches!(&expr.kind, ExprKind::Quantity { unit, .. } if unit.to_string() == "%")
}

fn power(base: &Evaluated, exponent: i32, place: Place) -> Result<Option<Evaluated>, Problem> {
    let dimension = i8::try_from(exponent)
        .ok()
        .and_then(|n| base.dimension.power(n))
        .ok_or_else(|| {
            Problem::new(
                CheckId::OutOfRange,
                place.clone(),
                "this power is beyond all use",
            )
        })?;
    if exponent < 0 && base.band.low <= 0.0 && base.band.high >= 0.0 {
        return Err(division_by_zero(place));
    }
    let band = base.band.map(|v| v.powi(exponent), &[0.0]);
    finite(band, dimension, place)
}

/// Refuses to compute with a temperature whose scale has a zero of its own, such as °C.
pub(super) fn refuse_scale(expr: &Expr, names: &dyn Names) -> Result<(), Problem> {
    match &expr.kind {
        ExprKind::Quantity { unit, .. } if unit.has_offset() => Err(Problem::new(
            CheckId::WrongUnit,
            names.place(expr),
            format!("a temperature in {unit} stands alone; it cannot be computed with"),
        )
        .help("write it as one number, and differences in `K`")),
        _ => Ok(()),
    }
}

fn finite(band: Band, dimension: Dimension, place: Place) -> Result<Option<Evaluated>, Problem> {
    if band.is_finite() {
        Ok(Some(Evaluated { band, dimension }))
    } else {
        Err(Problem::new(
            CheckId::OutOfRange,
            place,
            "this comes out beyond all numbers",
        ))
    }
}

fn division_by_zero(place: Place) -> Problem {
    Problem::new(
        CheckId::OutOfRange,
        place,
        "this divides by zero, or may do so",
    )
}

fn binary(
    operator: Operator,
    (left, left_place): (&Evaluated, Place),
    (right, right_place): (&Evaluated, Place),
    place: Place,
) -> Result<Option<Evaluated>, Problem> {
    let too_large = || {
        Problem::new(
            CheckId::OutOfRange,
            place.clone(),
            "this dimension is beyond all use",
        )
    };
    let (band, dimension) = match operator {
        Operator::Add | Operator::Subtract => {
            if left.dimension != right.dimension {
                let verb = if operator == Operator::Add {
                    "added to"
                } else {
                    "taken from"
                };
                let (first, second) = if operator == Operator::Add {
                    (left.dimension, right.dimension)
                } else {
                    (right.dimension, left.dimension)
                };
                return Err(Problem::new(
                    CheckId::WrongUnit,
                    place,
                    format!("{} cannot be {verb} {}", article(first), article(second)),
                )
                .related(left_place, format!("this is {}", article(left.dimension)))
                .related(right_place, format!("this is {}", article(right.dimension))));
            }
            let sign = if operator == Operator::Add { 1.0 } else { -1.0 };
            (
                left.band.corners(right.band, |a, b| a + sign * b),
                left.dimension,
            )
        }
        Operator::Multiply => (
            left.band.corners(right.band, |a, b| a * b),
            left.dimension
                .times(right.dimension)
                .ok_or_else(too_large)?,
        ),
        Operator::Divide => {
            if right.band.low <= 0.0 && right.band.high >= 0.0 {
                return Err(division_by_zero(right_place));
            }
            (
                left.band.corners(right.band, |a, b| a / b),
                left.dimension.over(right.dimension).ok_or_else(too_large)?,
            )
        }
    };
    finite(band, dimension, place)
}

fn call(
    function: &str,
    values: &[(Evaluated, Place)],
    place: Place,
) -> Result<Option<Evaluated>, Problem> {
    if Function::named(function).is_none() {
        return Err(Problem::new(
            CheckId::UnknownName,
            Place::new(
                &place.file,
                crate::syntax::Span {
                    end: place.span.start + function.len() as u32,
                    ..place.span
                },
            ),
            format!("there is no function `{function}`"),
        )
        .did_you_mean(nearest(
            function,
            FUNCTIONS.iter().map(|function| function.name),
        )));
    }
    let Some(((first, first_place), rest)) = values.split_first() else {
        return Ok(None);
    };
    if matches!(function, "min" | "max") {
        let mut band = first.band;
        for (value, at) in rest {
            if value.dimension != first.dimension {
                return Err(Problem::new(
                    CheckId::WrongUnit,
                    at.clone(),
                    format!(
                        "`{function}` compares {} with {}",
                        article(first.dimension),
                        article(value.dimension)
                    ),
                ));
            }
            band = band.corners(
                value.band,
                if function == "min" {
                    f64::min
                } else {
                    f64::max
                },
            );
        }
        return finite(band, first.dimension, place);
    }
    if !rest.is_empty() {
        return Err(Problem::new(
            CheckId::Syntax,
            place,
            format!("`{function}` takes one argument, not {}", values.len()),
        ));
    }
    let wants = |dimension: Dimension| {
        if first.dimension == dimension {
            return Ok(());
        }
        Err(Problem::new(
            CheckId::WrongUnit,
            first_place.clone(),
            format!(
                "`{function}` takes {}, and this is {}",
                article(dimension),
                article(first.dimension)
            ),
        ))
    };
    let (band, dimension) = match function {
        "abs" => (first.band.map(f64::abs, &[0.0]), first.dimension),
        "sqrt" => {
            let Some(dimension) = first.dimension.root() else {
                return Err(Problem::new(
                    CheckId::WrongUnit,
                    first_place.clone(),
                    format!("{} has no square root", article(first.dimension)),
                ));
            };
            if first.band.low < 0.0 {
                return Err(Problem::new(
                    CheckId::OutOfRange,
                    first_place.clone(),
                    "a negative value has no square root",
                ));
            }
            (first.band.map(f64::sqrt, &[]), dimension)
        }
        "atan" => {
            wants(Dimension::NUMBER)?;
            (first.band.map(f64::atan, &[]), Dimension::ANGLE)
        }
        _ => {
            wants(Dimension::ANGLE)?;
            let band = first.band;
            // Beyond a few turns an angle is no angle of a clutch; the list of turning points
            // stays short.
            if band.low.abs().max(band.high.abs()) > 100.0 {
                return Err(Problem::new(
                    CheckId::OutOfRange,
                    first_place.clone(),
                    "this angle is beyond all use",
                ));
            }
            let f: fn(f64) -> f64 = match function {
                "sin" => f64::sin,
                "cos" => f64::cos,
                _ => f64::tan,
            };
            let quarter = std::f64::consts::FRAC_PI_2;
            let turns: Vec<f64> = (-64..=64).map(|n| f64::from(n) * quarter).collect();
            let crosses_pole = function == "tan"
                && turns
                    .iter()
                    .enumerate()
                    .any(|(i, turn)| i % 2 == 1 && band.low <= *turn && *turn <= band.high);
            if crosses_pole {
                return Err(division_by_zero(first_place.clone()));
            }
            let turns = if function == "tan" { &[][..] } else { &turns };
            (band.map(f, turns), Dimension::NUMBER)
        }
    };
    finite(band, dimension, place)
}

/// A dimension in a sentence: `a force`, `an angle`, `a plain number`.
pub fn article(dimension: Dimension) -> String {
    let name = dimension.to_string();
    let vowel = name.starts_with(['a', 'e', 'i', 'o', 'u']);
    format!("{} {name}", if vowel { "an" } else { "a" })
}
