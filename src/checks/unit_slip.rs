//! A magnitude that looks like another unit.

use super::context::problem_of_component;
use super::sizes::written;
use super::{Check, Example, Found, Run};
use crate::check_id::CheckId;
use crate::finding::{Problem, Severity};
use crate::model::{Component, Given, Origin, System, Value};
use crate::quantity::{Band, UnitExpr, significant};
use crate::schema::{BLOCKS, COMMON, FieldId};

pub const CHECK: Check = Check {
    id: CheckId::UnitSlip,
    severity: Severity::Warning,
    finds: "A value is far from what is usual, and in another unit it would not be.",
    why: "Everything worked out from it is off by the ratio of the two units.",
    limits: &[],
    source: COMMON,
    bad: Example::System("slave { max_pressure = 70 MPa }"),
    good: Example::System("slave { max_pressure = 70 bar }"),
    run: Run::System(run),
};

/// Which units are taken for one another, the likelier first.
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
    let Value::Quantity {
        band,
        unit: Some(unit),
    } = &given.value
    else {
        return None;
    };
    let is_usual = |value: f64| (low..=high).contains(&value);
    if is_usual(band.nominal) {
        return None;
    }
    let number = unit.outward(band.nominal);
    let written_in = unit.to_string();
    let (_, cousins) = COUSINS.iter().find(|(name, _)| *name == written_in)?;
    let fitting: Vec<String> = cousins
        .iter()
        .filter_map(|cousin| UnitExpr::parse(cousin).ok())
        .filter(|cousin| is_usual(cousin.inward(number)))
        .map(|cousin| rewritten(*band, unit, &cousin))
        .collect();
    if fitting.is_empty() {
        return None;
    }
    // The range is told in the unit that it is compared with.
    let range = |value| significant(unit.outward(value), 2);
    let message = format!(
        "`{}` is {}, and usual is {} to {} {unit}: whatever is worked out from it is as far off",
        field.path(),
        text(number, unit),
        range(low),
        range(high),
    );
    let fits = fitting.join("` or `");
    let mut problem = problem_of_component(CHECK.id, system, component, field, message)
        .help(format!("if the unit slipped, write `{fits}`"));
    if given.origin == Origin::Own {
        for text in fitting {
            problem = problem.fix(format!("write `{text}`"), given.place.clone(), text);
        }
    }
    Some(problem)
}

/// The same numbers with another unit behind them.
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
    const DIGITS: usize = 9;
    if unit.to_string() == "in" {
        return written(unit.inward(number), Some(unit));
    }
    format!("{} {unit}", significant(number, DIGITS))
}
