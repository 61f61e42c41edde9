//! Works out quantities and curves, and checks them against a dimension and a range.

use super::expression::{
    Evaluated, LetValue, Names, article, expression, is_percentage, refuse_scale, widened,
};
use super::points::Points;
use super::system::Value;
use crate::check_id::CheckId;
use crate::finding::{Place, Problem};
use crate::quantity::{
    Band, Dimension, Display, UNITS, UnitExpr, UnitSystem, significant, usual_unit,
};
use crate::schema::Field as FieldSchema;
use crate::syntax::{Expr, ExprKind, ValueKind};

/// The value of a let, or any other quantity or curve after an equals sign, in internal units. `None` if it has a
/// mistake that is reported elsewhere.
///
/// # Errors
/// What is wrong with it.
pub fn let_value(
    value: &crate::syntax::Value,
    names: &mut dyn Names,
) -> Result<Option<LetValue>, Problem> {
    if let ValueKind::Text(text) = &value.kind {
        return Ok(Some(LetValue::Text(text.text.as_str().into())));
    }
    let ValueKind::Curve { points, spread } = &value.kind else {
        return Ok(quantity(&value.kind, names)?.map(LetValue::Quantity));
    };
    let Some((first_x, first_y)) = points.first() else {
        return Ok(None);
    };
    let (Some(x), Some(y)) = (expression(first_x, names)?, expression(first_y, names)?) else {
        return Ok(None);
    };
    let (x, y) = (x.dimension, y.dimension);
    let points = curve("the curve", (points, spread.as_ref()), (x, y), names)?;
    Ok(points.map(|points| LetValue::Curve { x, y, points }))
}

/// A quantity with its tolerance.
pub(super) fn quantity(
    kind: &ValueKind,
    names: &mut dyn Names,
) -> Result<Option<Evaluated>, Problem> {
    match kind {
        ValueKind::Plain(expr) => expression(expr, names),
        ValueKind::Tolerance { nominal, spread } => toleranced(nominal, spread, names),
        ValueKind::Limits { low, high } => limits(low, high, names),
        ValueKind::Curve { points, .. } => {
            let place = match points.first() {
                Some((x, _)) => names.place(x),
                None => return Ok(None),
            };
            Err(Problem::new(
                CheckId::WrongUnit,
                place,
                "a single value is wanted here, not a curve",
            ))
        }
        ValueKind::Text(_) | ValueKind::Bad => Ok(None),
    }
}

/// A value with its tolerance to either side.
fn toleranced(
    nominal: &Expr,
    spread: &Expr,
    names: &mut dyn Names,
) -> Result<Option<Evaluated>, Problem> {
    refuse_scale(spread, names)?;
    let (Some(value), Some(by)) = (expression(nominal, names)?, expression(spread, names)?) else {
        return Ok(None);
    };
    widened((nominal, value), (spread, by), names).map(Some)
}

/// A value given by its least and its greatest.
fn limits(low: &Expr, high: &Expr, names: &mut dyn Names) -> Result<Option<Evaluated>, Problem> {
    let (low_place, high_place) = (names.place(low), names.place(high));
    let (Some(low), Some(high)) = (expression(low, names)?, expression(high, names)?) else {
        return Ok(None);
    };
    if low.dimension != high.dimension {
        return Err(Problem::new(
            CheckId::WrongUnit,
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
            CheckId::OutOfRange,
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

/// How far below and above a value may be, as shares of it. `None` unless its tolerance is written as a share.
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

/// An expression without its tolerance.
fn nominal(expr: &Expr) -> &Expr {
    match &expr.kind {
        ExprKind::Toleranced { nominal, .. } => nominal,
        _ => expr,
    }
}

/// The unit of a value written as a plain quantity, with or without a tolerance.
pub(super) fn written_unit(kind: &ValueKind) -> Option<UnitExpr> {
    let expr = match kind {
        ValueKind::Plain(expr) => expr,
        ValueKind::Tolerance { nominal, .. } => nominal,
        ValueKind::Limits { low, .. } => low,
        ValueKind::Curve { .. } | ValueKind::Text(_) | ValueKind::Bad => return None,
    };
    match &nominal(expr).kind {
        ExprKind::Quantity { unit, .. } => Some(unit.clone()),
        _ => None,
    }
}

/// Counts every unit in which a value is written.
pub(crate) fn learn_units(kind: &ValueKind, display: &mut Display) {
    let mut one = |expr: &Expr| {
        if let ExprKind::Quantity { unit, .. } = &nominal(expr).kind {
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
        ValueKind::Curve { points, .. } => {
            if let Some((x, y)) = points.last() {
                one(x);
                one(y);
            }
        }
        ValueKind::Text(_) | ValueKind::Bad => {}
    }
}

pub(super) fn curve(
    what: &str,
    (points, spread): (&[(Expr, Expr)], Option<&Expr>),
    (x_dimension, y_dimension): (Dimension, Dimension),
    names: &mut dyn Names,
) -> Result<Option<Points>, Problem> {
    let mut out: Vec<(f64, Band)> = Vec::with_capacity(points.len());
    let of_all = match spread {
        None => None,
        Some(spread) => {
            refuse_scale(spread, names)?;
            let Some(by) = expression(spread, names)? else {
                return Ok(None);
            };
            Some((spread, by))
        }
    };
    for (x_expr, y_expr) in points {
        let (x_place, y_place) = (names.place(x_expr), names.place(y_expr));
        let (Some(x), Some(y)) = (expression(x_expr, names)?, expression(y_expr, names)?) else {
            return Ok(None);
        };
        for (found, wanted, expr, place) in [
            (&x, x_dimension, x_expr, &x_place),
            (&y, y_dimension, y_expr, &y_place),
        ] {
            let kind = ValueKind::Plain(nominal(expr).clone());
            check_dimension(what, wanted, found.dimension, &kind, place)?;
        }
        if !x.band.is_exact() {
            return Err(Problem::new(
                CheckId::OutOfRange,
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
                CheckId::OutOfRange,
                x_place,
                format!("the points of `{what}` do not rise here"),
            )
            .help("each point lies further along than the one before it"));
        }
        let y = match of_all.clone() {
            Some(of_all) => widened((y_expr, y), of_all, names)?,
            None => y,
        };
        out.push((x.band.nominal, y.band));
    }
    Ok(Some(match of_all {
        Some((spread, _)) if is_percentage(spread) => Points::growing(out),
        _ => Points::new(out),
    }))
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
            CheckId::WrongUnit,
            place.clone(),
            format!("`{what}` is {}, and this has no unit", article(wanted)),
        );
        let end = Place::new(&place.file, place.span.at_end());
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
        CheckId::WrongUnit,
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

/// What a value lacks as a factor to have the wanted dimension, if that has a name.
fn missing_factor(wanted: Dimension, found: Dimension) -> Option<String> {
    let factor = wanted.over(found)?;
    // A value that is simply of another kind is not mended by multiplying.
    let simple = [Dimension::LENGTH, Dimension::ANGLE, Dimension::AREA];
    simple.contains(&factor).then(|| article(factor))
}

pub(super) fn check_range(
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
        CheckId::OutOfRange,
        place.clone(),
        format!(
            "`{}` must be {}{tolerance}; this is {}",
            schema.name,
            range.words,
            display.show_finely(band.nominal, dimension)
        ),
    );
    // A share of tens was meant in percent; 1.2 could be either.
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
