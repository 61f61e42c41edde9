//! The result of a search for sizes.

use super::json_money::money;
use super::{counted, written};
use crate::analysis::{Candidate, Order, Sizes};
use crate::faces::sanitize::{name as one_line, sanitize};
use crate::quantity::{Dimension, listed};
use serde_json::{Value, json};
use std::fmt::Write;

/// The best ones, with a mark for those that are unbeaten, and the nearest misses with the reason.
pub fn size_text(system: &str, sizes: &Sizes) -> String {
    let mut out = format!(
        "{system}: {} of {} ({}) have no error\n",
        sizes.passing,
        counted(sizes.tried as usize, "combination"),
        sizes.axes()
    );
    if sizes.unfit > 0 {
        let _ = writeln!(
            out,
            "  {} left out: parts in them do not go together",
            counted(sizes.unfit as usize, "combination")
        );
    }
    let kept = sizes.kept();
    if !kept.is_empty() {
        let _ = writeln!(out, "  in all of them: {}", one_line(&kept));
    }
    if let Some(ranking) = ranking(system, sizes) {
        let _ = writeln!(out, "  {ranking}");
    }
    let names: Vec<String> = sizes.best.iter().map(|one| name(sizes, one)).collect();
    let wide = names
        .iter()
        .map(|name| name.chars().count())
        .max()
        .unwrap_or(0);
    for (one, name) in sizes.best.iter().zip(names) {
        let mark = if one.on_front { '*' } else { ' ' };
        let _ = writeln!(
            out,
            "  {mark} {name:wide$}  {}{}",
            numbers(sizes, one),
            warned(one)
        );
    }
    let more = sizes.passing.saturating_sub(sizes.best.len() as u64);
    if more > 0 {
        let _ = writeln!(out, "    and {more} more");
    }
    let beaten = |one: &&Candidate| !sizes.best.iter().any(|best| best.index == one.index);
    // As many as the best that were asked for.
    let most = sizes.best.len();
    let elsewhere: Vec<&Candidate> = sizes.front.iter().filter(beaten).take(most).collect();
    if !sizes.best.is_empty() {
        out.push_str(match sizes.is_priced {
            true => {
                "  * = no other has more release margin for as little effort and as low a price\n"
            }
            false => "  * = no other has more release margin for as little effort\n",
        });
    }
    if !elsewhere.is_empty() {
        out.push_str("  more with *, further down the list:\n");
        for one in &elsewhere {
            let _ = writeln!(
                out,
                "  * {}  {}{}",
                name(sizes, one),
                numbers(sizes, one),
                warned(one)
            );
        }
        let told = sizes.best.iter().filter(|one| one.on_front).count() + elsewhere.len();
        let more = sizes.unbeaten.saturating_sub(told as u64);
        if more > 0 {
            let than = match (sizes.is_priced, sizes.is_cut) {
                (true, false) => "with less margin, and less effort or a lower price",
                (false, false) => "with less margin and less effort",
                (_, true) => "at least: there are too many to count them all",
            };
            let _ = writeln!(out, "    and {more} more {than}");
        }
    }
    if !sizes.nearest.is_empty() {
        out.push_str("  the nearest misses:\n");
        for one in &sizes.nearest {
            let _ = writeln!(out, "    {}  {}", name(sizes, one), numbers(sizes, one));
            for (check, message) in &one.errors {
                let _ = writeln!(out, "      {check}: {}", sanitize(message));
            }
        }
    }
    out
}

/// What a list by price is really ordered by, if prices cannot order all of it.
fn ranking(system: &str, sizes: &Sizes) -> Option<String> {
    if sizes.order != Order::Price || sizes.passing == 0 {
        return None;
    }
    let missing = sizes.passing - sizes.priced.count;
    let lists = format!(
        "`bitepoint bom` of `{}` lists what has no price",
        one_line(system)
    );
    if sizes.priced.count == 0 {
        return Some(format!(
            "ranked by release margin, not by price: none of them has a price for every part; {lists}"
        ));
    }
    let codes: Vec<&str> = sizes.priced.currencies.iter().copied().collect();
    let mut said = Vec::new();
    if codes.len() > 1 {
        said.push(format!(
            "prices in {} are not compared: each currency is ranked by itself, one behind the other",
            listed(&codes, " and ")
        ));
    }
    if missing > 0 {
        let verbs = match missing {
            1 => "lacks a price for a part and comes",
            _ => "lack a price for a part and come",
        };
        said.push(format!(
            "{missing} of {} {verbs} last, by release margin; {lists}",
            sizes.passing
        ));
    }
    (!said.is_empty()).then(|| said.join("\n  "))
}

/// What the checks warn of in a combination that has no error.
fn warned(one: &Candidate) -> String {
    match one.warnings.as_slice() {
        [] => String::new(),
        warnings => format!("  warned of: {}", warnings.join(", ")),
    }
}

fn name(sizes: &Sizes, one: &Candidate) -> String {
    one_line(&sizes.name_of(one))
}

/// The numbers of a candidate: `release margin 1.83 mm, effort 144 N, free at 84 % of the pedal`.
fn numbers(sizes: &Sizes, one: &Candidate) -> String {
    let show = |value, dimension| sizes.display.show(value, dimension);
    let margin = one
        .margin
        .map(|v| format!("release margin {}", show(v, Dimension::LENGTH)));
    let effort = one
        .effort
        .map(|v| format!("effort {}", show(v, Dimension::FORCE)));
    let bite = one
        .bite
        .map(|v| format!("free at {:.0} % of the pedal", v * 100.0));
    let price = one.price.map(|price| price.to_string());
    let numbers = margin.into_iter().chain(effort).chain(bite).chain(price);
    let numbers: Vec<String> = numbers.collect();
    numbers.join(", ")
}

/// The result of the search for machines: lengths in mm, forces in N.
pub fn size_json(system: &str, sizes: &Sizes) -> String {
    let list = |all: &[Candidate]| -> Vec<Value> {
        all.iter().map(|one| candidate_json(sizes, one)).collect()
    };
    let value = json!({
        "version": 1,
        "system": system,
        "tried": sizes.tried,
        "not_fitting": sizes.unfit,
        "passing": sizes.passing,
        "ranked_by": sizes.ranked_by().name(),
        "priced": sizes.priced.count,
        "unbeaten": sizes.unbeaten,
        "unbeaten_is_least": sizes.is_cut,
        "best": list(&sizes.best),
        "front": list(&sizes.front),
        "nearest": list(&sizes.nearest),
    });
    written(&value)
}

fn candidate_json(sizes: &Sizes, one: &Candidate) -> Value {
    let axes = sizes.space.axes.iter().zip(sizes.space.digits(one.index));
    let choices: serde_json::Map<String, Value> = axes
        .filter_map(|(axis, digit)| {
            Some((axis.subject.words(), json!(axis.choices.get(digit)?.name)))
        })
        .collect();
    let errors: Vec<Value> = one
        .errors
        .iter()
        .map(|(check, message)| json!({ "check": check, "message": message }))
        .collect();
    json!({
        "choices": choices,
        "release_margin_mm": one.margin,
        "pedal_effort_n": one.effort,
        "bite": one.bite,
        "price": one.price.map(money),
        "front": one.on_front,
        "warnings": one.warnings,
        "errors": errors,
    })
}
