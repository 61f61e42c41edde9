//! More pedal effort than is comfortable.

use super::comfort::bite_to_spare;
use super::levers::costliest;
use super::limits;
use super::{Check, Context, Example, Found, Goal, Run};
use crate::check_id::CheckId;
use crate::finding::Severity;
use crate::schema::COMMON;
use crate::solve::Outcome;
use crate::{field, result};

pub const CHECK: Check = Check {
    id: CheckId::HeavyPedal,
    severity: Severity::Warning,
    finds: "The pedal takes more force than a driver likes to give in traffic.",
    why: "The leg tires, and the foot slips off or rides the clutch.",
    limits: &[limits::EFFORT],
    source: COMMON,
    bad: Example::System(
        "cover { release_travel = 6 mm to 11 mm  release_load = 1700 N }
slave { bore = 7/8 in }
master { bore = 3/4 in }",
    ),
    good: Example::System(
        "cover { release_travel = 6 mm to 11 mm  release_load = 1500 N }
slave { bore = 7/8 in }
master { bore = 3/4 in }",
    ),
    run: Run::Outcome(run),
};

fn run(cx: &Context<'_>, out: &mut Found) {
    worn_liner(cx, out);
    let (Some(effort), Some(most)) = (
        cx.get(result!(pedal_effort)),
        cx.bound(result!(pedal_effort)),
    ) else {
        return;
    };
    if effort <= most {
        return;
    }
    let field = match cx.outcome.hydraulics() {
        Some(_) => field!(master.bore),
        None => cx.driver_field(),
    };
    if out.noted(field.block) {
        return;
    }
    let message = format!(
        "the pedal takes {}, {} over the {} comfort limit for traffic ({})",
        cx.force(effort),
        cx.force(effort - most),
        cx.force(most),
        cx.source_of("effort"),
    );
    let lever = costliest(cx, effort);
    let message = match &lever {
        Some(lever) => format!("{message}; {}", lever.words),
        None => message,
    };
    let problem = cx.problem(field, message).related(
        cx.place(field!(cover.release_load)),
        "the load that the foot holds against",
    );
    let problem = cx.beside(
        problem,
        field!(slave.bore),
        "the larger the slave, the lighter the pedal",
    );
    let problem = match lever {
        Some(lever) => problem.related(lever.place, "the lever that stands off square"),
        None => problem,
    };
    let to_spare = bite_to_spare(cx);
    let margin = move |outcome: &Outcome| {
        let spare = most - outcome.get(result!(pedal_effort))?;
        // A light pedal that bites at the floor is no better.
        Some(spare.min(to_spare(outcome)?))
    };
    out.push_curable(
        problem,
        Goal::new(result!(pedal_effort), margin),
        "no single change makes it light and still frees the disc: combine a greater pedal ratio \
             with more pedal travel, or fit an assist spring",
    );
}

/// Reports a cable whose pedal is light enough only until its liner is worn.
fn worn_liner(cx: &Context<'_>, out: &mut Found) {
    let id = result!(pedal_effort_worn_liner);
    let (Some(new), Some(worn), Some(most)) =
        (cx.get(result!(pedal_effort)), cx.get(id), cx.bound(id))
    else {
        return;
    };
    if new > most || worn <= most || out.noted(field!(cable.friction_worn).block) {
        return;
    }
    let message = format!(
        "the pedal takes {} with a new cable, and {} with its liner worn, {} over the {} above which a leg tires in traffic \
         ({})",
        cx.force(new),
        cx.force(worn),
        cx.force(worn - most),
        cx.force(most),
        cx.source_of("effort"),
    );
    out.push_curable(
        cx.problem(field!(cable.friction_worn), message),
        Goal::within_bound(cx, id),
        "run the cable with fewer bends and away from the exhaust, and renew it in time",
    );
}
