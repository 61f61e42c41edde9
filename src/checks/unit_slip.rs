//! A value that looks as if another unit, or another place of the decimal point, was meant.

use super::context::problem_of_component;
use super::sizes::written;
use super::{Check, Example, Found, Run};
use crate::check_id::CheckId;
use crate::finding::{Problem, Severity};
use crate::model::{Component, Given, Origin, System, Value};
use crate::quantity::{Band, Dimension, UnitExpr, significant};
use crate::schema::{BLOCKS, COMMON, FieldId};
use std::sync::LazyLock;

pub const CHECK: Check = Check {
    id: CheckId::UnitSlip,
    severity: Severity::Warning,
    finds: "A value is far from usual, and would be usual in another unit or with its decimal point moved.",
    why: "If it is a slip, every result that uses it is wrong.",
    limits: &[],
    source: COMMON,
    bad: Example::System("slave { max_pressure = 70 MPa }"),
    good: Example::System("slave { max_pressure = 70 bar }"),
    run: Run::System(run),
};

/// The units that are mistaken for one another, the likelier first.
const COUSINS: &[(&str, &[&str])] = &[
    ("mm", &["in", "cm", "m"]),
    ("in", &["mm", "cm"]),
    ("cm", &["mm", "in"]),
    ("m", &["mm", "cm"]),
    ("N", &["lbf", "kN"]),
    ("lbf", &["N"]),
    ("kN", &["N"]),
    ("bar", &["psi", "MPa", "kPa"]),
    ("psi", &["bar", "MPa", "kPa"]),
    ("kPa", &["MPa", "bar"]),
    ("MPa", &["bar", "psi", "kPa", "GPa"]),
    ("GPa", &["MPa"]),
];

/// The units of each row, parsed once.
static READ: LazyLock<Vec<Vec<UnitExpr>>> = LazyLock::new(|| {
    let read = |(_, cousins): &(_, &[&str])| {
        let units = cousins.iter().map(|unit| UnitExpr::parse(unit));
        units.filter_map(Result::ok).collect()
    };
    COUSINS.iter().map(read).collect()
});

fn run(system: &System, out: &mut Found) {
    for component in system.components() {
        let rows = BLOCKS[component.block as usize].fields;
        for (field, (given, row)) in (0u8..).zip(component.fields.iter().zip(rows)) {
            if let (Some(given), Some(usual)) = (given, row.usual) {
                let block = component.block;
                let field = FieldId { block, field };
                out.extend(slip(system, component, field, given, usual));
            }
        }
    }
}

fn slip(
    system: &System,
    component: &Component,
    field: FieldId,
    given: &Given,
    (low, high): (f64, f64),
) -> Option<Problem> {
    let Value::Quantity { band, unit } = &given.value else {
        return None;
    };
    let is_usual = |value: f64| (low..=high).contains(&value);
    if is_usual(band.nominal) {
        return None;
    }
    let Some(unit) = unit else {
        // A calculated value has no unit of its own, and is not checked.
        if field.field().dimension() != Some(Dimension::NUMBER) {
            return None;
        }
        return point_slip(system, component, field, (given, band.nominal), (low, high));
    };
    let number = unit.outward(band.nominal);
    let written_in = unit.to_string();
    let row = COUSINS.iter().position(|(name, _)| *name == written_in)?;
    let fitting: Vec<String> = READ
        .get(row)?
        .iter()
        .filter(|cousin| is_usual(cousin.inward(number)))
        .map(|cousin| rewritten(*band, unit, cousin))
        .collect();
    if fitting.is_empty() {
        return None;
    }
    // The range is shown in the unit with which it is compared.
    let range = |value| significant(unit.outward(value), 2);
    let message = format!(
        "`{}` is {}, and {} to {} {unit} is usual: if it is a slip, every result that uses it is wrong",
        field.path(),
        text(number, unit),
        range(low),
        range(high),
    );
    let problem = problem_of_component(CHECK.id, system, component, field, message);
    Some(offering(problem, given, "unit", fitting))
}

/// Reports a bare number that would be usual with its decimal point elsewhere.
fn point_slip(
    system: &System,
    component: &Component,
    field: FieldId,
    (given, number): (&Given, f64),
    (low, high): (f64, f64),
) -> Option<Problem> {
    let fitting: Vec<String> = [0.1, 0.01, 10.0, 100.0]
        .into_iter()
        .map(|factor| number * factor)
        .filter(|moved| (low..=high).contains(moved))
        .map(|moved| significant(moved, DIGITS))
        .collect();
    if fitting.is_empty() {
        return None;
    }
    let message = format!(
        "`{}` is {}, and {low} to {high} is usual: if it is a slip, every result that uses it is wrong",
        field.path(),
        significant(number, DIGITS),
    );
    let problem = problem_of_component(CHECK.id, system, component, field, message);
    Some(offering(problem, given, "decimal point", fitting))
}

/// Adds what may have been meant to a problem. `slipped` names what slipped: the unit or the decimal point.
fn offering(problem: Problem, given: &Given, slipped: &str, fitting: Vec<String>) -> Problem {
    let fits = fitting.join("` or `");
    let mut problem = problem.help(format!("if the {slipped} slipped, write `{fits}`"));
    if given.origin == Origin::Own {
        for text in fitting {
            problem = problem.fix(format!("write `{text}`"), given.place.clone(), text);
        }
    }
    problem
}

/// The most digits that a person would have written.
const DIGITS: usize = 9;

/// The numbers of a value with another unit after them.
fn rewritten(band: Band, unit: &UnitExpr, cousin: &UnitExpr) -> String {
    let nominal = text(unit.outward(band.nominal), cousin);
    if band.is_exact() {
        return nominal;
    }
    let spread = unit.outward(band.high - band.nominal);
    format!("{nominal} ± {}", text(spread, cousin))
}

/// A number and its unit with every digit that a person would have written.
fn text(number: f64, unit: &UnitExpr) -> String {
    if unit.to_string() == "in" {
        return written(unit.inward(number), Some(unit));
    }
    format!("{} {unit}", significant(number, DIGITS))
}
