//! Fluid that returns too slowly, in the cold or through an orifice, and a reservoir that is too small.

use super::limits;
use super::{Check, Context, Example, Found, Goal, Run};
use crate::check_id::CheckId;
use crate::finding::Severity;
use crate::model::{Component, Given};
use crate::quantity::Dimension;
use crate::result;
use crate::schema::{COMMON, FieldId};
use crate::{block, field};

pub const SLOW_RETURN: Check = Check {
    id: CheckId::SlowReturn,
    severity: Severity::Warning,
    finds: "The line lets the fluid back too slowly, in the cold or through an orifice.",
    why: "The clutch engages late and slips on every change.",
    limits: &[limits::RETURN_TIME],
    source: "Hagen–Poiseuille; viscosity limits: 49 CFR 571.116, S5.1.3; between them by temperature: ASTM D341",
    bad: Example::System("fluid { grade = dot4  coldest = -40 degC }\nline hard { bore = 2 mm }"),
    good: Example::System(
        "fluid { grade = dot5_1  coldest = -40 degC }\nline hard { bore = 5 mm }\nline flex { bore = 3/16 in }",
    ),
    run: Run::Outcome(slow_return),
};

pub const RESERVOIR: Check = Check {
    id: CheckId::SmallReservoir,
    severity: Severity::Warning,
    finds: "The reservoir holds less than one stroke of the master and the wear of the disc.",
    why: "It runs dry and lets air in, or overflows as the disc wears and the piston comes home.",
    limits: &[],
    source: COMMON,
    bad: Example::System("master { reservoir = 6 cc }"),
    good: Example::System("master { reservoir = 40 cc }"),
    run: Run::Outcome(reservoir),
};

fn slow_return(cx: &Context<'_>, out: &mut Found) {
    slow_orifice(cx, out);
    let (Some(time), Some(most)) = (cx.get(result!(return_time)), cx.bound(result!(return_time)))
    else {
        return;
    };
    let narrowest = narrowest(cx, field!(line.bore));
    let Some((bore, line)) = narrowest.filter(|_| time > most) else {
        return;
    };
    // A bore that no line has is a slip, which `unit-slip` reports.
    let usual = field!(line.bore).field().usual;
    if usual.is_some_and(|(low, _)| bore < low) {
        return;
    }
    if out.noted(block!(line)) {
        return;
    }
    let show = |s| cx.show(s, Dimension::TIME);
    let coldest = cx.system.given_number(field!(fluid.coldest));
    let grade = match (cx.system.given(field!(fluid.viscosity)), coldest) {
        (None, Some(coldest)) => format!(
            ", with a fluid as thick as its grade allows at {},",
            cx.show(coldest, Dimension::TEMPERATURE)
        ),
        _ => String::new(),
    };
    // Resistance is inversely proportional to the fourth power of the bore. If one line has nearly all of it, this is
    // the bore that it needs.
    let wider = bore * (time / most).powf(0.25);
    let problem = super::context::problem_of_component(
        SLOW_RETURN.id,
        cx.system,
        line,
        field!(line.bore),
        format!(
            "in the cold{grade} nine tenths of the travel take {} to come back through the lines, {} \
             more than they should: the clutch slips until it is warm",
            show(time),
            show(time - most)
        ),
    );
    let problem = cx.beside(
        problem,
        field!(fluid.grade),
        "a thinner fluid comes back sooner, such as DOT 5.1 where the seals allow it; brake fluid harms eyes, skin and \
         paint",
    );
    out.push_curable(
        problem,
        Goal::within_bound(cx, result!(return_time)),
        format!(
            "lines of about {} bore let it back in time; or use a thinner fluid, such as DOT 5.1 \
             where the seals allow it. Brake fluid harms eyes, skin and paint",
            cx.length(wider)
        ),
    );
}

/// The line with the least value of a diameter, among those through which fluid flows, and that diameter, mm.
fn narrowest<'a>(cx: &'a Context<'_>, diameter: FieldId) -> Option<(f64, &'a Component)> {
    let is_dead_end =
        |line: &&Component| line.given(field!(line.dead_end)).and_then(Given::word) == Some("yes");
    let lines = cx.system.lines.iter().map(|line| &**line);
    lines
        .filter(|line| !is_dead_end(line))
        .filter_map(|line| Some((line.number(diameter)?, line)))
        .min_by(|a, b| a.0.total_cmp(&b.0))
}

fn slow_orifice(cx: &Context<'_>, out: &mut Found) {
    let id = result!(orifice_time);
    let (Some(time), Some(most)) = (cx.get(id), cx.bound(id)) else {
        return;
    };
    let narrowest = narrowest(cx, field!(line.orifice));
    let Some((bore, line)) = narrowest.filter(|_| time > most) else {
        return;
    };
    if out.noted(block!(line)) {
        return;
    }
    let show = |s| cx.show(s, Dimension::TIME);
    // The time is inversely proportional to the area.
    let wider = bore * (time / most).sqrt();
    let message = format!(
        "the orifice lets nine tenths of the travel back in {}, {} more than it should, warm as well as cold: the clutch \
         engages late on every change, and slips",
        show(time),
        show(time - most)
    );
    let of_line = super::context::problem_of_component;
    let problem = of_line(
        SLOW_RETURN.id,
        cx.system,
        line,
        field!(line.orifice),
        message,
    );
    out.push_curable(
        problem.short_by(time - most, id),
        Goal::within_bound(cx, id),
        format!(
            "an orifice of about {} lets it back in time; or leave the delay valve out, where the vehicle's maker \
             allows it",
            cx.length(wider)
        ),
    );
}

fn reservoir(cx: &Context<'_>, out: &mut Found) {
    let Some(hydraulics) = cx.outcome.hydraulics() else {
        return;
    };
    let Some(holds) = cx.system.given_number(field!(master.reservoir)) else {
        return;
    };
    let side = &cx.outcome.side_inputs;
    let stroke = crate::mechanics::bore_area(hydraulics.master.bore) * hydraulics.master.stroke;
    let wear = side.wear_at_fingers().map_or(0.0, |come_back| {
        hydraulics.slave.bore.area() * come_back * cx.outcome.chain.fork.ratio
    });
    let wanted = stroke + wear;
    if holds >= wanted {
        return;
    }
    if out.noted(block!(master)) {
        return;
    }
    let show = |volume| cx.show(volume, Dimension::VOLUME);
    out.push(
        cx.problem(
            field!(master.reservoir),
            format!(
                "the reservoir holds {}, and one stroke of the master and the disc's wear take {}: \
                 it runs dry and lets air in",
                show(holds),
                show(wanted)
            ),
        )
        .short_by(wanted - holds, Dimension::VOLUME)
        .help(format!("use one of {} or more", show(wanted))),
    );
}
