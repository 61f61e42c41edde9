//! A limit of the author's own that is not met.

use super::limits::is_upper;
use super::{Check, Context, Example, Found, Goal, Run};
use crate::check_id::CheckId;
use crate::finding::{Place, Problem, Severity};
use crate::model::Require;
use crate::quantity::listed;
use crate::solve::{Outcome, why_absent};
use crate::syntax::Comparison;

pub const CHECK: Check = Check {
    id: CheckId::RequireFailed,
    severity: Severity::Error,
    finds: "A result is not within the limit that a `require` sets, or cannot be worked out for it.",
    why: "Whoever wrote the limit would not accept the car.",
    limits: &[],
    source: "the author of the spec",
    bad: Example::System(
        "require pedal_effort <= 120 N \"the owner's left knee\"\nslave { bore = 7/8 in }",
    ),
    good: Example::System(
        "require pedal_effort <= 140 N \"the owner's left knee\"\nslave { bore = 7/8 in }",
    ),
    run: Run::Outcome(run),
};

/// The limit; if it has a tolerance, the end that is harder to meet.
pub fn limit(require: &Require) -> f64 {
    match require.comparison {
        Comparison::AtMost | Comparison::Below => require.limit.low,
        Comparison::AtLeast | Comparison::Above => require.limit.high,
    }
}

fn holds(require: &Require, outcome: &Outcome) -> bool {
    outcome
        .get(require.result)
        .is_some_and(|value| require.comparison.holds(value, limit(require)))
}

/// How far a result is inside the limit; below zero where the limit is not met.
pub fn margin(require: &Require, outcome: &Outcome) -> f64 {
    let value = outcome.get(require.result);
    value.map_or(f64::NEG_INFINITY, |value| margin_of(require, value))
}

fn margin_of(require: &Require, value: f64) -> f64 {
    let limit = limit(require);
    let off = (value - limit).abs();
    if require.comparison.holds(value, limit) {
        off
    } else {
        // A result exactly on an excluded limit does not meet it.
        -off.max(f64::MIN_POSITIVE)
    }
}

/// For how many limits of one system cures are searched. More would not be read, and each search works the clutch out
/// many times.
const MOST_CURED: usize = 50;

fn run(cx: &Context<'_>, out: &mut Found) {
    let mut found = 0;
    if !cx.system.price_limits.is_empty() {
        price(cx, out);
    }
    for require in &cx.system.requires {
        if !holds(require, cx.outcome) && !out.noted(None) {
            failed(cx, require, found < MOST_CURED, out);
            found += 1;
        }
    }
}

/// The limits on what all parts cost together.
fn price(cx: &Context<'_>, out: &mut Found) {
    let total = cx.system.price();
    for limit in &cx.system.price_limits {
        let sum = total.filter(|sum| sum.currency == limit.limit.currency);
        let holds = sum.is_some_and(|sum| limit.comparison.holds(sum.amount, limit.limit.amount));
        if holds || out.noted(None) {
            continue;
        }
        let cost = cx.system.cost();
        let why = because(limit.why.as_deref());
        let wanted = format!("required to be {} {}", words(limit.comparison), limit.limit);
        let currency = limit.limit.currency.code();
        let (message, help) = match sum {
            Some(sum) => (
                format!("`price` is {sum}, and is {wanted}{why}"),
                "take a cheaper part, or change the limit".to_owned(),
            ),
            None if cost.unpriced.is_empty() => (
                format!(
                    "`price` is {wanted}, and the parts are priced in {}{why}",
                    match cost
                        .sums
                        .iter()
                        .map(|sum| sum.currency.code())
                        .collect::<Vec<_>>()
                    {
                        codes if codes.is_empty() => "no currency at all".to_owned(),
                        codes => listed(&codes, " and "),
                    }
                ),
                format!("multiply by a rate to {currency} of your own, in a `let`"),
            ),
            None => (
                format!(
                    "`price` is {wanted}, and no price is listed for {}{why}",
                    cost.unpriced.join(", ")
                ),
                format!("give each a `price`, `0 {currency}` for what is there already"),
            ),
        };
        out.push(problem_at(cx, &limit.place, message).help(help));
    }
}

fn words(comparison: Comparison) -> &'static str {
    match comparison {
        Comparison::AtMost => "at most",
        Comparison::AtLeast => "at least",
        Comparison::Below => "below",
        Comparison::Above => "above",
    }
}

/// The author's reason for a limit, as the end of a message.
fn because(why: Option<&str>) -> String {
    why.map(|why| format!(": {why}")).unwrap_or_default()
}

/// A problem of a limit at its place. A limit in a base of another file is reported at this system's name.
fn problem_at(cx: &Context<'_>, place: &Place, message: String) -> Problem {
    match place.file == cx.system.place.file {
        true => Problem::new(CHECK.id, place.clone(), message),
        false => cx
            .problem_of_system(message)
            .related(place.clone(), "required here"),
    }
}

fn failed(cx: &Context<'_>, require: &Require, is_cured: bool, out: &mut Found) {
    let spec = require.result.spec();
    let words = words(require.comparison);
    let limit = limit(require);
    let why = because(require.why.as_deref());
    let shown = cx.get(require.result).map(|value| {
        let [is, limit] = require.result.told_apart(value, limit, &cx.system.display);
        (value, is, limit)
    });
    let problem = |message: String| problem_at(cx, &require.place, message);
    let Some((value, is, limit_shown)) = shown else {
        let limit = require.result.show(limit, &cx.system.display);
        let absent = why_absent(cx.system, require.result);
        let message = format!(
            "`{}` is required to be {words} {limit}, and cannot be worked out{why}",
            spec.name
        );
        let help = match absent.starts_with("needs ") {
            true => format!("it {absent}"),
            false => absent,
        };
        out.push(problem(message).help(help));
        return;
    };
    let message = format!(
        "`{}` is {is}, and is required to be {words} {limit_shown}{why}",
        spec.name
    );
    let problem = problem(message).short_by((value - limit).abs(), require.result);
    if !is_cured {
        out.push(problem.help(format!(
            "a cure is looked for only for the first {MOST_CURED} limits of a system"
        )));
        return;
    }
    let met = require.clone();
    let met = move |value: f64| Some(margin_of(&met, value)).filter(|margin| margin.is_finite());
    out.push_curable(
        problem,
        Goal::of_result(require.result, is_upper(require.comparison), met),
        "no single change meets this limit without causing another error",
    );
}
