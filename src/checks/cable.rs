//! A cable's bends: how tight they are, and how much of the force they lose.

use super::edit::edit_field;
use super::limits;
use super::sizes::written;
use super::{Check, Context, Example, Found, Goal, Run};
use crate::check_id::CheckId;
use crate::finding::Severity;
use crate::mechanics::Actuation;
use crate::model::System;
use crate::quantity::Dimension;
use crate::result;
use crate::schema::COMMON;
use crate::{block, field};

/// A car with a cable, for the examples.
const TIGHT: Example = Example::File(
    "system cable_car {
    pedal { ratio = 4.5  travel = 150 mm }
    cable { bends = 120 deg  friction = 0.1  tightest_bend = 60 mm  min_bend = 80 mm }
    fork { ratio = 2.2 }
    cover { release_travel = 7 mm to 16 mm  release_load = 1000 N }
}
",
);
const BENT: Example = Example::File(
    "system cable_car {
    pedal { ratio = 4.5  travel = 150 mm }
    cable { bends = 270 deg  friction = 0.12  tightest_bend = 120 mm  min_bend = 80 mm }
    fork { ratio = 2.2 }
    cover { release_travel = 7 mm to 16 mm  release_load = 1000 N }
}
",
);
const EASY: Example = Example::File(
    "system cable_car {
    pedal { ratio = 4.5  travel = 150 mm }
    cable { bends = 120 deg  friction = 0.1  tightest_bend = 120 mm  min_bend = 80 mm }
    fork { ratio = 2.2 }
    cover { release_travel = 7 mm to 16 mm  release_load = 1000 N }
}
",
);

pub const TOO_TIGHT: Check = Check {
    id: CheckId::CableTooTight,
    severity: Severity::Error,
    finds: "A bend of the cable is tighter than its maker allows.",
    why: "The strands rub through the liner, the cable drags and then breaks.",
    limits: &[],
    source: COMMON,
    bad: TIGHT,
    good: EASY,
    run: Run::System(too_tight),
};

pub const BENDS: Check = Check {
    id: CheckId::CableBends,
    severity: Severity::Warning,
    finds: "The bends of the cable take much of what the foot puts in.",
    why: "The pedal is heavy and comes back slowly, more so as the liner wears.",
    limits: &[limits::EFFICIENCY],
    source: "Euler–Eytelwein",
    bad: BENT,
    good: EASY,
    run: Run::Outcome(bends),
};

fn too_tight(system: &System, out: &mut Found) {
    let given = |id| system.given_number(id);
    let (Some(tightest), Some(least)) = (
        given(field!(cable.tightest_bend)),
        given(field!(cable.min_bend)),
    ) else {
        return;
    };
    if tightest >= least {
        return;
    }
    if out.noted(block!(cable)) {
        return;
    }
    let show = |value| system.show(value, Dimension::LENGTH);
    let problem = super::problem_of_field(
        TOO_TIGHT.id,
        system,
        field!(cable.tightest_bend),
        format!(
            "the tightest bend has a radius of {}, and the cable needs {} or more: it rubs through and \
             breaks",
            show(tightest),
            show(least)
        ),
    );
    let unit = system
        .given(field!(cable.min_bend))
        .and_then(|given| given.unit().cloned());
    let wide = written(least, unit.as_ref());
    let title = format!("run it so that no bend is tighter than {wide}");
    let problem = problem
        .short_by(least - tightest, Dimension::LENGTH)
        .help(title.clone());
    out.push(
        match edit_field(system, field!(cable.tightest_bend), None, &wide) {
            Some((place, text)) => problem.fix(title, place, text),
            None => problem,
        },
    );
}

fn bends(cx: &Context<'_>, out: &mut Found) {
    let (Some(efficiency), Some(least)) = (
        cx.get(result!(cable_efficiency)),
        cx.bound(result!(cable_efficiency)),
    ) else {
        return;
    };
    let Actuation::Cable(cable) = &cx.outcome.chain.actuation else {
        return;
    };
    if efficiency >= least {
        return;
    }
    if out.noted(block!(cable)) {
        return;
    }
    let percent = |part: f64| format!("{:.0} %", part * 100.0);
    let angle = |rad| cx.show(rad, Dimension::ANGLE);
    let problem = cx.problem(
        field!(cable.bends),
        format!(
            "bends of {} take {} of the pull, at a friction of {}: the pedal is heavy and comes back \
             slowly",
            angle(cable.bends),
            percent(1.0 - efficiency),
            crate::quantity::significant(cable.friction, 3),
        ),
    );
    out.push_curable(
        problem,
        Goal::within_bound(cx, result!(cable_efficiency)),
        "run the cable with fewer bends, or use a lined one of less friction",
    );
}
