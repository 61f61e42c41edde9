//! Expressions to values, with every dimension held against what is wanted.

use super::taken::PI;
use super::{Points, Value};
use crate::finding::{Place, Problem};
use crate::quantity::{
    Band, Dimension, Display, UNITS, UnitExpr, UnitSystem, nearest, significant, usual_unit,
};
use crate::schema::{Field as FieldSchema, Kind};
use crate::syntax::{Expr, ExprKind, Operator, ValueKind};

/// The functions of the language, with what they take.
pub const FUNCTIONS: &[(&str, &str)] = &[
    ("min", "the least of its arguments"),
    ("max", "the greatest of its arguments"),
    ("sqrt", "the square root"),
    ("abs", "the value without its sign"),
    ("sin", "the sine of an angle"),
    ("cos", "the cosine of an angle"),
    ("tan", "the tangent of an angle"),
    ("atan", "the angle whose tangent it is"),
];

/// A quantity as it comes out of an expression.
#[derive(Clone, PartialEq, Debug)]
pub struct Evaluated {
    pub band: Band,
    pub dimension: Dimension,
}

/// What a let stands for.
#[derive(Clone, PartialEq, Debug)]
pub enum LetValue {
    Quantity(Evaluated),
    Curve {
        x: Dimension,
        y: Dimension,
        points: Vec<(f64, Band)>,
    },
}

/// What names and paths in an expression mean.
pub trait Names {
    /// The value of a let. `Ok(None)`: it exists but something reported elsewhere is wrong
    /// with it.
    ///
    /// # Errors
    /// There is no such let, or it leads to itself.
    fn let_value(&mut self, name: &str, place: &Place) -> Result<Option<LetValue>, Problem>;

    /// The value of a field of the same system; as above.
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

/// An expression's value; `None` when something in it is wrong that is reported elsewhere.
pub(super) fn expression(expr: &Expr, names: &mut dyn Names) -> Result<Option<Evaluated>, Problem> {
    if let ExprKind::Number(_) | ExprKind::Quantity { .. } = expr.kind {
        return one(expr, names);
    }
    // Expressions and the lets that they lead to are bounded, but together they can go deeper
    // than the stack of a thread.
    stacker::maybe_grow(STACK_LEFT, STACK_MORE, || one(expr, names))
}

const STACK_LEFT: usize = 128 << 10;
const STACK_MORE: usize = 1 << 20;

fn one(expr: &Expr, names: &mut dyn Names) -> Result<Option<Evaluated>, Problem> {
    let place = |names: &dyn Names| names.place(expr);
    let exact = |value, dimension| {
        Ok(Some(Evaluated {
            band: Band::exact(value),
            dimension,
        }))
    };
    match &expr.kind {
        ExprKind::Number(value) => exact(*value, Dimension::NUMBER),
        ExprKind::Quantity { number, unit, .. } => exact(unit.inward(*number), unit.dimension()),
        ExprKind::Group(inner) => expression(inner, names),
        ExprKind::Name(name) if name == PI => exact(std::f64::consts::PI, Dimension::NUMBER),
        ExprKind::Name(name) => {
            let at = place(names);
            match names.let_value(name, &at)? {
                None => Ok(None),
                Some(LetValue::Quantity(value)) => Ok(Some(value)),
                Some(LetValue::Curve { .. }) => Err(Problem::new(
                    "wrong-unit",
                    at,
                    format!("`{name}` is a curve and cannot be part of an expression"),
                )),
            }
        }
        ExprKind::Path { block, field } => {
            let at = place(names);
            names.field_value(&block.text, &field.text, &at)
        }
        ExprKind::Negative(inner) => {
            refuse_scale(inner, names)?;
            let value = expression(inner, names)?;
            Ok(value.map(|value| Evaluated {
                band: value.band.scaled(-1.0),
                ..value
            }))
        }
        ExprKind::Power { base, exponent } => {
            refuse_scale(base, names)?;
            let Some(base) = expression(base, names)? else {
                return Ok(None);
            };
            let exponent = *exponent;
            let dimension = i8::try_from(exponent)
                .ok()
                .and_then(|n| base.dimension.power(n))
                .ok_or_else(|| {
                    Problem::new("out-of-range", place(names), "this power is beyond all use")
                })?;
            if exponent < 0 && base.band.low <= 0.0 && base.band.high >= 0.0 {
                return Err(division_by_zero(place(names)));
            }
            let band = base.band.map(|v| v.powi(exponent), &[0.0]);
            finite(band, dimension, place(names))
        }
        ExprKind::Binary {
            operator,
            left,
            right,
        } => {
            refuse_scale(left, names)?;
            refuse_scale(right, names)?;
            let (left_place, right_place) = (names.place(left), names.place(right));
            let left = expression(left, names)?;
            let right = expression(right, names)?;
            let (Some(left), Some(right)) = (left, right) else {
                return Ok(None);
            };
            binary(
                *operator,
                (&left, left_place),
                (&right, right_place),
                place(names),
            )
        }
        ExprKind::Call {
            function,
            arguments,
        } => {
            let mut values = Vec::with_capacity(arguments.len());
            for argument in arguments {
                let at = names.place(argument);
                match expression(argument, names)? {
                    Some(value) => values.push((value, at)),
                    None => return Ok(None),
                }
            }
            call(&function.text, &values, place(names))
        }
    }
}

/// A temperature on a scale with a zero of its own cannot be computed with.
fn refuse_scale(expr: &Expr, names: &dyn Names) -> Result<(), Problem> {
    match &expr.kind {
        ExprKind::Quantity { unit, .. } if unit.has_offset() => Err(Problem::new(
            "wrong-unit",
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
            "out-of-range",
            place,
            "this comes out beyond all numbers",
        ))
    }
}

fn division_by_zero(place: Place) -> Problem {
    Problem::new("out-of-range", place, "this divides by zero, or may do so")
}

fn binary(
    operator: Operator,
    (left, left_place): (&Evaluated, Place),
    (right, right_place): (&Evaluated, Place),
    place: Place,
) -> Result<Option<Evaluated>, Problem> {
    let too_large = || {
        Problem::new(
            "out-of-range",
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
                    "wrong-unit",
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
    if !FUNCTIONS.iter().any(|(name, _)| *name == function) {
        return Err(Problem::new(
            "unknown-name",
            Place::new(
                &place.file,
                crate::syntax::Span {
                    start: place.span.start,
                    end: place.span.start + function.len() as u32,
                },
            ),
            format!("there is no function `{function}`"),
        )
        .did_you_mean(nearest(function, FUNCTIONS.iter().map(|(name, _)| *name))));
    }
    let Some(((first, first_place), rest)) = values.split_first() else {
        return Ok(None);
    };
    if matches!(function, "min" | "max") {
        let mut band = first.band;
        for (value, at) in rest {
            if value.dimension != first.dimension {
                return Err(Problem::new(
                    "wrong-unit",
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
            "syntax",
            place,
            format!("`{function}` takes one argument, not {}", values.len()),
        ));
    }
    let wants = |dimension: Dimension| {
        if first.dimension == dimension {
            return Ok(());
        }
        Err(Problem::new(
            "wrong-unit",
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
                    "wrong-unit",
                    first_place.clone(),
                    format!("{} has no square root", article(first.dimension)),
                ));
            };
            if first.band.low < 0.0 {
                return Err(Problem::new(
                    "out-of-range",
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
                    "out-of-range",
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

/// A field's value as its kind in the schema wants it; `None` when something in it is wrong
/// that is reported elsewhere.
pub(super) fn field(
    schema: &FieldSchema,
    value: &crate::syntax::Value,
    place: Place,
    names: &mut dyn Names,
) -> Result<Option<Value>, Problem> {
    let what = schema.name;
    // A let that holds a curve stands for it.
    if let (Kind::Curve { x, y } | Kind::CurveOrPeak { x, y }, ValueKind::Plain(expr)) =
        (schema.kind, &value.kind)
        && let Some(name) = expr.as_name()
        && let Some(LetValue::Curve {
            x: found_x,
            y: found_y,
            points,
        }) = names.let_value(name, &place)?
    {
        if (found_x, found_y) != (x, y) {
            return Err(Problem::new(
                "wrong-unit",
                place,
                format!(
                    "`{what}` is {} over {}; `{name}` is {} over {}",
                    article(y),
                    article(x),
                    article(found_y),
                    article(found_x)
                ),
            ));
        }
        check_curve_range(schema, y, &points, |_| place.clone())?;
        return Ok(Some(Value::Curve(Points::new(points))));
    }
    match (schema.kind, &value.kind) {
        (_, ValueKind::Bad) => Ok(None),
        (Kind::Quantity(dimension), _) => {
            let Some(found) = quantity(&value.kind, names)? else {
                return Ok(None);
            };
            check_dimension(what, dimension, found.dimension, &value.kind, &place)?;
            check_range(schema, found.band, dimension, &place)?;
            Ok(Some(Value::Quantity {
                band: found.band,
                unit: written_unit(&value.kind),
            }))
        }
        (Kind::Window(dimension), ValueKind::Limits { low, high }) => {
            let written = [low, high].map(|end| (ValueKind::Plain(end.clone()), names.place(end)));
            let (Some(low), Some(high)) = (expression(low, names)?, expression(high, names)?)
            else {
                return Ok(None);
            };
            for (end, (written, place)) in [&low, &high].into_iter().zip(&written) {
                check_dimension(what, dimension, end.dimension, written, place)?;
                check_range(schema, end.band, dimension, place)?;
            }
            if low.band.nominal >= high.band.nominal {
                return Err(Problem::new(
                    "out-of-range",
                    place,
                    format!("the window `{what}` ends before it begins"),
                )
                .help("write the least first: `7.5 mm to 10.5 mm`"));
            }
            if low.band.high >= high.band.low {
                return Err(Problem::new(
                    "out-of-range",
                    place,
                    format!(
                        "the tolerances of the ends of `{what}` overlap: it may end before it begins"
                    ),
                ));
            }
            Ok(Some(Value::Window {
                low: low.band,
                high: high.band,
            }))
        }
        (Kind::Window(_), _) => Err(Problem::new(
            "wrong-unit",
            place,
            format!("`{what}` is a window with two ends"),
        )
        .help("write the least and the most: `7.5 mm to 10.5 mm`")),
        (Kind::Choice(choices), ValueKind::Plain(expr)) => {
            let known = || choices.iter().map(|choice| choice.name);
            let word = expr.as_name().unwrap_or_default();
            match choices.iter().find(|choice| choice.name == word) {
                Some(choice) => Ok(Some(Value::Word(choice.name))),
                None => {
                    let list = known().collect::<Vec<_>>().join(", ");
                    let problem =
                        Problem::new("unknown-name", place, format!("`{what}` is one of {list}"));
                    Err(match nearest(word, known()) {
                        Some(meant) => problem.did_you_mean(Some(meant)),
                        None => problem,
                    })
                }
            }
        }
        (Kind::Choice(choices), _) => {
            let list: Vec<&str> = choices.iter().map(|choice| choice.name).collect();
            Err(Problem::new(
                "unknown-name",
                place,
                format!("`{what}` is one of {}", list.join(", ")),
            ))
        }
        (Kind::Curve { x, y } | Kind::CurveOrPeak { x, y }, ValueKind::Curve(points)) => {
            let Some(values) = curve(what, points, (x, y), names)? else {
                return Ok(None);
            };
            check_curve_range(schema, y, &values, |i| names.place(&points[i].1))?;
            Ok(Some(Value::Curve(Points::new(values))))
        }
        (Kind::CurveOrPeak { y, .. }, _) => {
            let Some(found) = quantity(&value.kind, names)? else {
                return Ok(None);
            };
            check_dimension(what, y, found.dimension, &value.kind, &place)?;
            check_range(schema, found.band, y, &place)?;
            Ok(Some(Value::Quantity {
                band: found.band,
                unit: written_unit(&value.kind),
            }))
        }
        (Kind::Curve { .. }, _) => {
            Err(
                Problem::new("wrong-unit", place, format!("`{what}` is a curve"))
                    .help("write its points: `curve { 0 mm: 0 N, 50 mm: 80 N }`"),
            )
        }
    }
}

/// A let's value, or whatever else stands behind an equals sign: a quantity or a curve of any
/// dimension, in internal units. `None` when something in it is wrong that is reported elsewhere.
///
/// # Errors
/// What is wrong with it.
pub fn let_value(
    value: &crate::syntax::Value,
    names: &mut dyn Names,
) -> Result<Option<LetValue>, Problem> {
    let ValueKind::Curve(points) = &value.kind else {
        return Ok(quantity(&value.kind, names)?.map(LetValue::Quantity));
    };
    let Some((first_x, first_y)) = points.first() else {
        return Ok(None);
    };
    let (Some(x), Some(y)) = (expression(first_x, names)?, expression(first_y, names)?) else {
        return Ok(None);
    };
    let (x, y) = (x.dimension, y.dimension);
    let points = curve("the curve", points, (x, y), names)?;
    Ok(points.map(|points| LetValue::Curve { x, y, points }))
}

/// A quantity with its tolerance.
fn quantity(kind: &ValueKind, names: &mut dyn Names) -> Result<Option<Evaluated>, Problem> {
    match kind {
        ValueKind::Plain(expr) => expression(expr, names),
        ValueKind::Tolerance { nominal, spread } => {
            refuse_scale(spread, names)?;
            let place = names.place(spread);
            let bare = without_unit(nominal, spread, names);
            let relative = is_percentage(spread);
            let (Some(value), Some(spread)) =
                (expression(nominal, names)?, expression(spread, names)?)
            else {
                return Ok(None);
            };
            let mut by = spread.band.high;
            if relative {
                by *= value.band.nominal.abs();
            } else if spread.dimension != value.dimension {
                if let Some(problem) = bare {
                    return Err(problem);
                }
                return Err(Problem::new(
                    "wrong-unit",
                    place,
                    format!(
                        "the tolerance of {} is {}",
                        article(value.dimension),
                        article(spread.dimension)
                    ),
                )
                .help("write it in the value's own kind of unit, or in %"));
            }
            if by < 0.0 {
                return Err(Problem::new(
                    "out-of-range",
                    place,
                    "a tolerance is not below zero",
                ));
            }
            // A value that has a tolerance already gets the further one on top.
            let band = Band {
                nominal: value.band.nominal,
                low: value.band.low - by,
                high: value.band.high + by,
            };
            Ok(Some(Evaluated {
                band,
                dimension: value.dimension,
            }))
        }
        ValueKind::Limits { low, high } => {
            let (low_place, high_place) = (names.place(low), names.place(high));
            let (Some(low), Some(high)) = (expression(low, names)?, expression(high, names)?)
            else {
                return Ok(None);
            };
            if low.dimension != high.dimension {
                return Err(Problem::new(
                    "wrong-unit",
                    low_place,
                    format!(
                        "the limits are {} and {}",
                        article(low.dimension),
                        article(high.dimension)
                    ),
                )
                .help("both ends want a unit: `19.05 mm to 19.1 mm`"));
            }
            if low.band.nominal > high.band.nominal {
                return Err(Problem::new(
                    "out-of-range",
                    high_place,
                    "the limits end before they begin",
                )
                .help("write the least first"));
            }
            Ok(Some(Evaluated {
                band: Band::between(low.band.low, high.band.high),
                dimension: low.dimension,
            }))
        }
        ValueKind::Curve(points) => {
            let place = match points.first() {
                Some((x, _)) => names.place(x),
                None => return Ok(None),
            };
            Err(Problem::new(
                "wrong-unit",
                place,
                "a single value is wanted here, not a curve",
            ))
        }
        ValueKind::Bad => Ok(None),
    }
}

/// `150 ± 2 mm`, where the unit was meant for both.
fn without_unit(nominal: &Expr, spread: &Expr, names: &dyn Names) -> Option<Problem> {
    let (ExprKind::Number(_), ExprKind::Quantity { unit, .. }) = (&nominal.kind, &spread.kind)
    else {
        return None;
    };
    let place = names.place(nominal);
    let end = Place::new(
        &place.file,
        crate::syntax::Span {
            start: place.span.end,
            end: place.span.end,
        },
    );
    let message = format!(
        "this has no unit, and its tolerance is {}",
        article(unit.dimension())
    );
    Some(
        Problem::new("wrong-unit", place, message)
            .help(format!("write its unit too, `{unit}`"))
            .fix(format!("write it in {unit}"), end, format!(" {unit}")),
    )
}

/// How far below and above a value may be as a share of it, where its tolerance is written so.
pub(super) fn share(written: &crate::syntax::Value, value: &Value) -> Option<[f64; 2]> {
    match (&written.kind, value) {
        (ValueKind::Tolerance { spread, .. }, Value::Quantity { band, .. })
            if is_percentage(spread) && band.nominal != 0.0 =>
        {
            let off = [band.nominal - band.low, band.high - band.nominal];
            Some(off.map(|off| off / band.nominal.abs()))
        }
        _ => None,
    }
}

fn is_percentage(expr: &Expr) -> bool {
    matches!(&expr.kind, ExprKind::Quantity { unit, .. } if unit.to_string() == "%")
}

/// The unit of a value that is written as a plain quantity, with or without a tolerance.
fn written_unit(kind: &ValueKind) -> Option<UnitExpr> {
    let expr = match kind {
        ValueKind::Plain(expr) => expr,
        ValueKind::Tolerance { nominal, .. } => nominal,
        ValueKind::Limits { low, .. } => low,
        ValueKind::Curve(_) | ValueKind::Bad => return None,
    };
    match &expr.kind {
        ExprKind::Quantity { unit, .. } => Some(unit.clone()),
        _ => None,
    }
}

/// Counts every unit that a value is written with.
pub(super) fn learn_units(kind: &ValueKind, display: &mut Display) {
    let mut one = |expr: &Expr| {
        if let ExprKind::Quantity { unit, .. } = &expr.kind {
            display.learn(unit);
        }
    };
    match kind {
        ValueKind::Plain(expr) => one(expr),
        ValueKind::Tolerance { nominal, .. } => one(nominal),
        ValueKind::Limits { low, high } => {
            one(low);
            one(high);
        }
        // A curve counts once: its many points would outvote all else.
        ValueKind::Curve(points) => {
            if let Some((x, y)) = points.last() {
                one(x);
                one(y);
            }
        }
        ValueKind::Bad => {}
    }
}

fn curve(
    what: &str,
    points: &[(Expr, Expr)],
    (x_dimension, y_dimension): (Dimension, Dimension),
    names: &mut dyn Names,
) -> Result<Option<Vec<(f64, Band)>>, Problem> {
    let mut out: Vec<(f64, Band)> = Vec::with_capacity(points.len());
    for (x_expr, y_expr) in points {
        let (x_place, y_place) = (names.place(x_expr), names.place(y_expr));
        let (Some(x), Some(y)) = (expression(x_expr, names)?, expression(y_expr, names)?) else {
            return Ok(None);
        };
        for (found, wanted, expr, place) in [
            (&x, x_dimension, x_expr, &x_place),
            (&y, y_dimension, y_expr, &y_place),
        ] {
            let kind = ValueKind::Plain(expr.clone());
            check_dimension(what, wanted, found.dimension, &kind, place)?;
        }
        if !x.band.is_exact() {
            return Err(Problem::new(
                "out-of-range",
                x_place,
                format!(
                    "where a point of `{what}` stands has a tolerance, which nothing here can use"
                ),
            )
            .help(
                "write where it stands as a plain value, and give the tolerance to the value there",
            ));
        }
        if out.last().is_some_and(|(last, _)| *last >= x.band.nominal) {
            return Err(Problem::new(
                "out-of-range",
                x_place,
                format!("the points of `{what}` do not rise here"),
            )
            .help("each point lies further along than the one before it"));
        }
        out.push((x.band.nominal, y.band));
    }
    Ok(Some(out))
}

pub(super) fn check_dimension(
    what: &str,
    wanted: Dimension,
    found: Dimension,
    written: &ValueKind,
    place: &Place,
) -> Result<(), Problem> {
    if wanted == found {
        return Ok(());
    }
    if found == Dimension::NUMBER
        && let ValueKind::Plain(expr) = written
        && matches!(expr.kind, ExprKind::Number(_))
    {
        let mut problem = Problem::new(
            "wrong-unit",
            place.clone(),
            format!("`{what}` is {}, and this has no unit", article(wanted)),
        );
        let end = Place::new(
            &place.file,
            crate::syntax::Span {
                start: place.span.end,
                end: place.span.end,
            },
        );
        for system in [UnitSystem::Metric, UnitSystem::Imperial] {
            let Some(unit) = usual_unit(wanted, system) else {
                continue;
            };
            let title = format!("write it in {unit}");
            if !problem.fixes.iter().any(|fix| fix.title == title) {
                problem = problem.fix(title, end.clone(), format!(" {unit}"));
            }
        }
        let units: Vec<String> = problem
            .fixes
            .iter()
            .map(|fix| format!("`{}`", fix.edits[0].1.trim()))
            .collect();
        return Err(if units.is_empty() {
            problem
        } else {
            problem.help(format!("add its unit, {}", units.join(" or ")))
        });
    }
    let problem = Problem::new(
        "wrong-unit",
        place.clone(),
        format!(
            "`{what}` is {}, and this is {}",
            article(wanted),
            article(found)
        ),
    );
    let units: Vec<&str> = UNITS
        .iter()
        .filter(|unit| unit.dimension == wanted)
        .map(|unit| unit.name)
        .collect();
    Err(if wanted == Dimension::NUMBER {
        problem.help("write it without a unit")
    } else if let (true, Some(usual)) = (units.is_empty(), usual_unit(wanted, UnitSystem::Metric)) {
        problem.help(format!("write it in `{usual}`, for instance"))
    } else if let Some(missing) = missing_factor(wanted, found) {
        problem.help(format!(
            "write it in {}; multiplied by {missing} it would fit",
            units.join(", ")
        ))
    } else {
        problem.help(format!("write it in {}", units.join(", ")))
    })
}

/// What a value would have to be multiplied by, where that has a name.
fn missing_factor(wanted: Dimension, found: Dimension) -> Option<String> {
    let factor = wanted.over(found)?;
    // A value that is simply of another kind is not mended by multiplying.
    let simple = [Dimension::LENGTH, Dimension::ANGLE, Dimension::AREA];
    simple.contains(&factor).then(|| article(factor))
}

/// The range of a field that is a curve is that of its values, not of where they stand.
fn check_curve_range(
    schema: &FieldSchema,
    dimension: Dimension,
    points: &[(f64, Band)],
    place: impl Fn(usize) -> Place,
) -> Result<(), Problem> {
    let mut points = points.iter().enumerate();
    points.try_for_each(|(i, (_, y))| check_range(schema, *y, dimension, &place(i)))
}

fn check_range(
    schema: &FieldSchema,
    band: Band,
    dimension: Dimension,
    place: &Place,
) -> Result<(), Problem> {
    let range = &schema.range;
    if [band.low, band.nominal, band.high]
        .iter()
        .all(|value| range.contains(*value))
    {
        return Ok(());
    }
    let display = Display::default();
    let tolerance = if range.contains(band.nominal) {
        " at every point of its tolerance"
    } else {
        ""
    };
    let problem = Problem::new(
        "out-of-range",
        place.clone(),
        format!(
            "`{}` must be {}{tolerance}; this is {}",
            schema.name,
            range.words,
            display.show(band.nominal, dimension)
        ),
    );
    // A share of tens was meant in percent; of 1.2 nobody knows.
    let is_share = dimension == Dimension::NUMBER && range.high <= 1.0;
    let in_percent = band.nominal / 100.0;
    if is_share && band.low == band.high && band.nominal >= 10.0 && range.contains(in_percent) {
        let percent = format!("{} %", significant(band.nominal, 6));
        return Err(problem.help(format!("did you mean `{percent}`?")).fix(
            format!("write `{percent}`"),
            place.clone(),
            percent,
        ));
    }
    Err(problem)
}

/// `a length`, `an angle`, `a plain number`.
/// A dimension in a sentence: `a force`, `an angle`.
pub fn article(dimension: Dimension) -> String {
    let name = dimension.to_string();
    let vowel = name.starts_with(['a', 'e', 'i', 'o', 'u']);
    format!("{} {name}", if vowel { "an" } else { "a" })
}
