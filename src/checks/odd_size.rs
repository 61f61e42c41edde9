//! A bore that is not commonly made.

use super::sizes::{ROUNDING, common_bore_near, is_inch_size, written};
use super::{Check, Example, Found, Run, problem_of_field};
use crate::check_id::CheckId;
use crate::field;
use crate::finding::Severity;
use crate::model::System;
use crate::quantity::{Dimension, UnitExpr, UnitSystem};
use crate::schema::COMMON;

pub const CHECK: Check = Check {
    id: CheckId::OddSize,
    severity: Severity::Info,
    finds: "A cylinder's bore is not one that is commonly made.",
    why: "It was probably measured or typed wrong, or the part will be hard to replace.",
    limits: &[],
    source: COMMON,
    bad: Example::System("slave { bore = 21.6 mm }"),
    good: Example::System("slave { bore = 22 mm }"),
    run: Run::System(run),
};

fn run(system: &System, out: &mut Found) {
    for field in [field!(master.bore), field!(slave.bore)] {
        let Some(given) = system.given(field) else {
            continue;
        };
        let (Some(bore), Some((low, high))) = (given.number(), field.field().usual) else {
            continue;
        };
        // A bore of another magnitude is a slip of the unit, which another check reports.
        let Some(near) = common_bore_near(bore).filter(|_| (low..=high).contains(&bore)) else {
            continue;
        };
        if (near - bore).abs() <= ROUNDING {
            continue;
        }
        if out.noted(field.block) {
            continue;
        }
        let unit = UnitExpr::parse(if is_inch_size(near) { "in" } else { "mm" }).ok();
        let size = written(near, unit.as_ref());
        let is_metric = !is_inch_size(near);
        let near = match system.display.system() {
            UnitSystem::Imperial if is_metric => {
                format!("{} ({size})", system.show(near, Dimension::LENGTH))
            }
            _ => size,
        };
        out.push(
            problem_of_field(
                CHECK.id,
                system,
                field,
                format!(
                    "a bore of {} is not commonly made; the nearest is {near}",
                    system.show(bore, Dimension::LENGTH)
                ),
            )
            .help("measure it again, or check the part's number"),
        );
    }
}
