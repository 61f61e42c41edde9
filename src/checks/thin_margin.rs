//! What is right at nominal and fails in the worst case of the tolerances.

use super::limits::{OPEN, least_rating, name_of_rated};
use super::{Bound, Check, Context, Example, Found, LIMITS, ResultLimit, Run, require_failed};
use crate::check_id::CheckId;
use crate::finding::{Place, Problem, Severity};
use crate::model::{Toleranced, ValuePart};
use crate::schema::{COMMON, FieldId, ResultId};
use crate::solve::Spread;

pub const CHECK: Check = Check {
    id: CheckId::ThinMargin,
    severity: Severity::Warning,
    finds: "A margin holds with every part at its nominal size, but not at the worst of the tolerances.",
    why: "Of many kits that are alike on paper, some will not work.",
    limits: &[],
    source: COMMON,
    bad: Example::System("pedal { travel = 150 mm ± 30 mm }"),
    good: Example::System("pedal { travel = 150 mm ± 3 mm }"),
    run: Run::Outcome(run),
};

fn run(cx: &Context<'_>, out: &mut Found) {
    if cx.tolerances.is_none() {
        return;
    }
    bounds(cx, out);
    requires(cx, out);
}

/// Checks the bounds that a part or the car sets. Habits of the trade are checked at nominal only.
fn bounds(cx: &Context<'_>, out: &mut Found) {
    for row in LIMITS.iter().filter(|row| !row.is_default()) {
        let (Some(limit), Some(spread)) =
            (row.value(cx.system, cx.settings), cx.spread(row.result))
        else {
            continue;
        };
        // A bound with a tolerance of its own counts at its harder end.
        let (worst, hardest) = match row.is_most() {
            true => (spread.worst.high, limit.low),
            false => (spread.worst.low, limit.high),
        };
        let nominal = spread.worst.nominal;
        let holds_at_worst = row.inside(worst, hardest) >= 0.0;
        if row.inside(nominal, limit.nominal) < 0.0 || holds_at_worst || noted(cx, row.result, out)
        {
            continue;
        }
        let past = if row.is_most() {
            worst - hardest
        } else {
            hardest - worst
        };
        let problem = told(
            cx,
            row.result,
            spread,
            past.max(0.0),
            (worst - nominal).abs(),
            bound_message(cx, row, nominal, worst, hardest),
        );
        let given = match row.bound {
            Bound::LeftOf(field) => cx.system.given(field),
            Bound::AtMostRating(side) => {
                least_rating(cx.system, side).and_then(|(part, field, _)| part.given(field))
            }
            _ => None,
        };
        out.extend(problem.map(|problem| match given {
            Some(given) => problem.related(given.place.clone(), "what may be"),
            None => problem,
        }));
    }
}

fn bound_message(
    cx: &Context<'_>,
    row: &ResultLimit,
    nominal: f64,
    worst: f64,
    limit: f64,
) -> String {
    let spec = row.result.spec();
    let show = |value| row.result.show(value, &cx.system.display);
    let more_than = match row.bound {
        Bound::AtMostRating(side) => {
            let owner = least_rating(cx.system, side)
                .map_or_else(String::new, |(part, field, _)| name_of_rated(part, field));
            format!(", more than the {} of {owner}", show(limit))
        }
        _ => String::new(),
    };
    format!(
        "the {} is {} with every part at nominal, and {} at the worst of the tolerances{more_than}: \
         then {}",
        spec.name.replace('_', " "),
        show(nominal),
        // Avoids a zero with a sign or stray digits.
        show(if worst.abs() < OPEN { 0.0 } else { worst }),
        row.harm,
    )
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
        let message = format!(
            "`{}` is {} with every part at nominal, and {} at the worst of the tolerances, which its `require` does not allow",
            require.result.spec().name,
            require
                .result
                .show(spread.worst.nominal, &cx.system.display),
            require.result.show(worst, &cx.system.display),
        );
        let whole = (worst - spread.worst.nominal).abs();
        let excess = (worst - limit).abs();
        let problem = told(cx, require.result, spread, excess, whole, message);
        out.extend(problem.map(|p| p.related(require.place.clone(), "required here")));
    }
}

/// In brief, notes the problem about the block whose tolerance takes most of the margin.
fn noted(cx: &Context<'_>, id: ResultId, out: &mut Found) -> bool {
    let by_share = cx.tolerances.map(|tolerances| tolerances.by_share(id));
    let first = by_share.as_ref().and_then(|inputs| inputs.first());
    first.is_some_and(|(input, _)| out.noted(input.field.block))
}

/// The problem, at the input that takes most of the margin. `whole` is what the tolerances take, `excess` the part of
/// it that is lacking.
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
        // The travel stops at its limit, so that it is not known how far it would have gone past it.
        "hold them tighter, or leave more to spare at nominal".to_owned()
    } else if tighter > 0.0 {
        format!(
            "hold {} to about {}, or gain {} of margin",
            cx.system.name_of(first),
            width(cx, first, tighter),
            cx.show(excess, id.spec().dimension),
        )
    } else {
        format!(
            "no single tolerance takes it all: gain {} of margin, or hold them all tighter",
            cx.show(excess, id.spec().dimension)
        )
    };
    let likely = if spread.rss.low > 0.0 {
        "; if the parts vary independently it will be rare"
    } else {
        ""
    };
    let problem = Problem::new(CHECK.id, place(cx, first), message)
        .about(first.field.block)
        .short_by(excess, id)
        .help(format!("what takes it: {named}{likely}; {cure}"));
    Some(problem)
}

/// A tolerance reduced to a share of itself, as it would be written.
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
    let line = input
        .line
        .and_then(|line| cx.system.repeated(input.field.block).get(line));
    match line.filter(|line| line.own) {
        Some(line) => line.fields[field as usize]
            .as_ref()
            .map_or(&line.place, |given| &given.place)
            .clone(),
        None if input.line.is_some() => cx.system.place.clone(),
        None => cx.system.place_of(input.field),
    }
}
