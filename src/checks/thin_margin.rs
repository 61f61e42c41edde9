//! What holds at nominal and fails at the worst of the tolerances.

use super::{Check, Context, Example, Run, require_failed};
use crate::finding::{Place, Problem, Severity};
use crate::mechanics::Spread;
use crate::model::Toleranced;
use crate::quantity::Dimension;
use crate::result;
use crate::schema::{COMMON, FieldId, ResultId};

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

/// The margins that must not be below zero, and what happens where one is.
const MARGINS: &[(ResultId, &str)] = &[
    (result!(release_margin), "the disc does not come free"),
    (result!(overtravel_margin), "the cover is bent too far"),
    (
        result!(slave_reserve),
        "the slave's piston leaves its stroke",
    ),
    (result!(wear_reserve), "a worn disc slips"),
];

fn run(cx: &Context<'_>, out: &mut Vec<Problem>) {
    for (id, harm) in MARGINS {
        let Some(spread) = cx.spread(*id) else {
            continue;
        };
        let (nominal, least) = (spread.worst.nominal, spread.worst.low);
        if nominal >= 0.0 && least < 0.0 {
            let what = id.spec().name.replace('_', " ");
            let message = format!(
                "the {what} is {} with every part at nominal, and {} at the worst of the tolerances: then {harm}",
                cx.length(nominal),
                cx.length(least),
            );
            out.extend(told(cx, *id, spread, -least, nominal - least, message));
        }
    }
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
    let cure = if tighter > 0.0 {
        let width = (first.band.high - first.band.low) / 2.0 * tighter;
        let dimension = first.field.field().dimension().unwrap_or(Dimension::NUMBER);
        format!(
            "hold {} to about ± {}, or move the nominal margin by {}",
            cx.system.name_of(first),
            cx.show(width, dimension),
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
        .help(format!("what takes it: {}{likely}; {cure}", named));
    Some(problem)
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
