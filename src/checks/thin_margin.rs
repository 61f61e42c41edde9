//! What holds at nominal and fails at the worst of the tolerances.

use super::{Check, Context, Example, Found, Run, over_pressure, require_failed};
use crate::finding::{Place, Problem, Severity};
use crate::mechanics::Spread;
use crate::model::{Toleranced, ValuePart};
use crate::quantity::Band;
use crate::schema::{COMMON, FieldId, ResultId};
use crate::{field, result};

pub const CHECK: Check = Check {
    name: "thin-margin",
    severity: Severity::Warning,
    finds: "A margin holds with every part at its nominal size, and not at the worst of the tolerances.",
    why: "Of many kits that are alike on paper, some will not work.",
    limits: &[],
    source: COMMON,
    bad: Example::System("pedal { travel = 150 mm ± 30 mm }"),
    good: Example::System("pedal { travel = 150 mm ± 3 mm }"),
    run: Run::Outcome(run),
};

/// The least that the worst case must come to for the check that looks for zero to hold, where zero itself
/// is too little: what ends at zero comes out there but for rounding.
const OPEN: f64 = 1e-9;

fn run(cx: &Context<'_>, out: &mut Found) {
    if cx.tolerances.is_none() {
        return;
    }
    floors(cx, out);
    ceilings(cx, out);
    requires(cx, out);
}

/// What must not be below zero, as the schema has it.
fn floors(cx: &Context<'_>, out: &mut Found) {
    for id in ResultId::all() {
        let (Some(floor), Some(spread)) = (id.spec().floor, cx.spread(id)) else {
            continue;
        };
        let (nominal, least) = (spread.worst.nominal, spread.worst.low);
        let holds = |value: f64| value >= if floor.open { OPEN } else { 0.0 };
        if !holds(nominal) || holds(least) {
            continue;
        }
        if noted(cx, id, out) {
            continue;
        }
        let dimension = id.spec().dimension;
        let message = format!(
            "the {} is {} with every part at nominal, and {} at the worst of the tolerances: then {}",
            id.spec().name.replace('_', " "),
            cx.show(nominal, dimension),
            // Not a zero with a sign or a few stray digits.
            cx.show(if least.abs() < OPEN { 0.0 } else { least }, dimension),
            floor.harm,
        );
        out.extend(told(
            cx,
            id,
            spread,
            (-least).max(0.0),
            nominal - least,
            message,
        ));
    }
}

/// A result that must not exceed what a field allows, and what happens where it does.
struct Ceiling {
    result: ResultId,
    limit: Band,
    /// Whose limit it is, as a message says it.
    whose: String,
    place: Place,
    harm: &'static str,
}

fn ceilings(cx: &Context<'_>, out: &mut Found) {
    let of_field = |result, field: FieldId, whose: &str, harm| {
        let given = cx.system.given(field)?;
        Some(Ceiling {
            result,
            limit: given.band()?,
            whose: whose.to_owned(),
            place: given.place.clone(),
            harm,
        })
    };
    let rating = over_pressure::least(cx.system).and_then(|(part, field, _)| {
        let given = part.given(field)?;
        Some(Ceiling {
            result: result!(line_pressure),
            limit: given.band()?,
            whose: over_pressure::name_of(part, field),
            place: given.place.clone(),
            harm: "it leaks or bursts",
        })
    });
    let guide = of_field(
        result!(bearing_travel),
        field!(bearing.max_travel),
        "the bearing's guide",
        "it runs off its guide",
    );
    let window = of_field(
        result!(fork_travel),
        field!(fork.window),
        "the fork's window",
        "the fork strikes the housing",
    );
    for ceiling in [rating, guide, window].into_iter().flatten() {
        let Some(spread) = cx.spread(ceiling.result) else {
            continue;
        };
        let (nominal, most) = (spread.worst.nominal, spread.worst.high);
        if nominal > ceiling.limit.nominal || most <= ceiling.limit.low {
            continue;
        }
        if noted(cx, ceiling.result, out) {
            continue;
        }
        let spec = ceiling.result.spec();
        let show = |value| cx.show(value, spec.dimension);
        let message = format!(
            "the {} is {} with every part at nominal, and {} at the worst of the tolerances, more than the {} of {}: then {}",
            spec.name.replace('_', " "),
            show(nominal),
            show(most),
            show(ceiling.limit.low),
            ceiling.whose,
            ceiling.harm,
        );
        let excess = most - ceiling.limit.low;
        let problem = told(cx, ceiling.result, spread, excess, most - nominal, message);
        out.extend(problem.map(|p| p.related(ceiling.place, "what may be")));
    }
}

fn requires(cx: &Context<'_>, out: &mut Found) {
    for require in &cx.system.requires {
        let Some(spread) = cx.spread(require.result) else {
            continue;
        };
        let limit = require_failed::limit(require);
        let holds = |value| require.comparison.holds(value, limit);
        let worst = [spread.worst.low, spread.worst.high]
            .into_iter()
            .find(|end| !holds(*end));
        let (true, Some(worst)) = (holds(spread.worst.nominal), worst) else {
            continue;
        };
        if noted(cx, require.result, out) {
            continue;
        }
        let dimension = require.result.spec().dimension;
        let message = format!(
            "`{}` is {} with every part at nominal, and {} at the worst of the tolerances, which its `require` does not allow",
            require.result.spec().name,
            cx.show(spread.worst.nominal, dimension),
            cx.show(worst, dimension),
        );
        let whole = (worst - spread.worst.nominal).abs();
        let excess = (worst - limit).abs();
        let problem = told(cx, require.result, spread, excess, whole, message);
        out.extend(problem.map(|p| p.related(require.place.clone(), "required here")));
    }
}

/// In brief, notes it about the block whose tolerance takes most of the margin.
fn noted(cx: &Context<'_>, id: ResultId, out: &mut Found) -> bool {
    let by_share = cx.tolerances.map(|tolerances| tolerances.by_share(id));
    let first = by_share.as_ref().and_then(|inputs| inputs.first());
    first.is_some_and(|(input, _)| out.noted(input.field.block))
}

/// The problem, at the input that takes most of the margin; `excess` is what is lacking of the
/// `whole` that the tolerances take.
fn told(
    cx: &Context<'_>,
    id: ResultId,
    spread: &Spread,
    excess: f64,
    whole: f64,
    message: String,
) -> Option<Problem> {
    let tolerances = cx.tolerances?;
    let (first, share) = *tolerances.by_share(id).first()?;
    let named = tolerances.shares_text(cx.system, id);
    let tighter = 1.0 - excess / (share * whole);
    let cure = if excess <= 0.0 {
        // It stops at its limit, and by how much it would have gone past it is not known.
        "hold them tighter, or leave more to spare at nominal".to_owned()
    } else if tighter > 0.0 {
        format!(
            "hold {} to about {}, or move the nominal margin by {}",
            cx.system.name_of(first),
            width(cx, first, tighter),
            cx.show(excess, id.spec().dimension),
        )
    } else {
        format!(
            "no single tolerance takes it all: move the nominal margin by {}, or hold them all tighter",
            cx.show(excess, id.spec().dimension)
        )
    };
    let likely = if spread.rss < spread.worst.nominal.abs() && spread.worst.nominal > 0.0 {
        "; if the parts vary independently it will be rare"
    } else {
        ""
    };
    let problem = Problem::new(CHECK.name, place(cx, first), message)
        .about(first.field.block)
        .short_by(excess, id)
        .help(format!("what takes it: {}{likely}; {cure}", named));
    Some(problem)
}

/// A tolerance held to a part of itself, as it would be written.
fn width(cx: &Context<'_>, input: &Toleranced, part: f64) -> String {
    match input.field.field().dimension() {
        Some(dimension) if input.part != ValuePart::Curve => {
            let width = (input.band.high - input.band.low) / 2.0 * part;
            format!("± {}", cx.show(width, dimension))
        }
        _ => format!("{:.0} % of its tolerance", part * 100.0),
    }
}

fn place(cx: &Context<'_>, input: &Toleranced) -> Place {
    let FieldId { field, .. } = input.field;
    let line = input.line.and_then(|line| cx.system.lines.get(line));
    match line.filter(|line| line.own) {
        Some(line) => line.fields[field as usize]
            .as_ref()
            .map_or(&line.place, |given| &given.place)
            .clone(),
        None if input.line.is_some() => cx.system.place.clone(),
        None => cx.system.place_of(input.field),
    }
}
