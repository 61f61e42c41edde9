//! Systems that stand for many combinations: what works, and which parts work together.

use super::counted;
use super::json_money::money;
use crate::analysis::{Cell, Kit, Pairs, PriceRange, Report, Worked};
use crate::faces::sanitize::name;
use crate::finding::Severity;
use crate::model::AxisLabels;
use serde_json::{Value, json};
use std::cmp::Reverse;
use std::fmt::Write;

/// The least width for a table; wider tables are cut into several.
const LEAST_WIDTH: usize = 40;
/// The most parts of a choice in a table; the others are left out.
const MOST_ROWS: usize = 24;
/// The most tables, below each other, into which one is cut.
const MOST_BANDS: usize = 2;

/// The kits of some files: how many combinations work, what fails the others, and the two choices that decide most.
pub fn kits_text(reports: &[Report], width: usize) -> String {
    let mut out = String::new();
    let systems = reports.iter().flat_map(|report| &report.systems);
    for (worked, kit) in systems.filter_map(|worked| Some((worked, worked.kit.as_ref()?))) {
        let _ = writeln!(out, "{}: {}", worked.system.name, outcome_words(kit));
        out.push_str(&groups(kit));
        let all_well = kit.tried.failing + kit.tried.warned == 0;
        if let Some(pairs) = kit.tried.telling().filter(|_| !all_well) {
            out.push('\n');
            out.push_str(&matrix(kit, pairs, width));
        }
        out.push('\n');
    }
    out
}

/// Everything about one kit: what its combinations share, the ranges of their results, and a table for every two
/// choices.
pub fn kit_text(worked: &Worked, kit: &Kit, width: usize) -> String {
    let mut out = String::new();
    let _ = writeln!(out, "  {}", outcome_words(kit));
    out.push_str(&groups(kit));
    if !kit.tried.ranges.is_empty() {
        let _ = writeln!(out, "  of those that work, from the least to the most:");
        let longest = kit.tried.ranges.iter().map(|r| r.result.spec().name.len());
        let longest = longest.max().unwrap_or(0);
        for range in &kit.tried.ranges {
            let spec = range.result.spec();
            let show = |value| range.result.show(value, &worked.system.display);
            let (low, high) = (show(range.low), show(range.high));
            let _ = match low == high {
                true => writeln!(out, "    {:longest$}  {low}", spec.name),
                false => writeln!(
                    out,
                    "    {:longest$}  {low} ({}) to {high} ({})",
                    spec.name,
                    name(&kit.labels.name_of(range.low_at)),
                    name(&kit.labels.name_of(range.high_at)),
                ),
            };
        }
    }
    out.push_str(&prices(kit));
    for pairs in &kit.tried.pairs {
        out.push('\n');
        out.push_str(&matrix(kit, pairs, width));
    }
    out
}

/// The cheapest and the dearest of the combinations that work; empty if none has a price.
fn prices(kit: &Kit) -> String {
    let mut out = String::new();
    let prices = &kit.tried.prices;
    for range in &prices.ranges {
        let at = |index| name(&kit.labels.name_of(index));
        let _ = match range.low == range.high {
            true => writeln!(out, "  price of those that work: {}", range.low),
            false => writeln!(
                out,
                "  price of those that work: {} ({}) to {} ({})",
                range.low,
                at(range.low_at),
                range.high,
                at(range.high_at)
            ),
        };
    }
    if !prices.ranges.is_empty() && prices.unpriced > 0 {
        let count = counted(prices.unpriced as usize, "combination");
        let _ = writeln!(out, "  no single price: {count} of those that work");
    }
    out
}

/// The numbers in words: `1080 combinations: 375 work (120 of them with warnings), 405 do not, 300 do not fit`.
fn outcome_words(kit: &Kit) -> String {
    let tried = &kit.tried;
    let works = tried.count - tried.failing;
    let mut words = counted(tried.count as usize, "combination");
    if tried.count < kit.count {
        let _ = write!(words, " tried of {}", kit.count);
    }
    let warned = match tried.warned {
        0 => String::new(),
        n if n == works => " (with warnings)".to_owned(),
        n => format!(" ({n} of them with warnings)"),
    };
    let fails = tried.failing - tried.unfit;
    let _ = match (works, tried.failing) {
        (_, 0) => write!(words, ": all work{warned}"),
        (0, _) => write!(words, ": none works"),
        _ if fails == 0 => write!(words, ": {works} work{warned}"),
        _ => write!(words, ": {works} work{warned}, {fails} do not"),
    };
    if tried.unfit > 0 {
        let _ = write!(words, ", {} do not fit", tried.unfit);
    }
    words
}

fn groups(kit: &Kit) -> String {
    let mut out = String::new();
    let told = kit
        .groups
        .iter()
        .filter(|group| group.severity >= Severity::Warning);
    for group in told {
        let _ = writeln!(
            out,
            "  {}: {} {}",
            group.severity.name(),
            group.check.name(),
            name(&group.words)
        );
    }
    out
}

/// A table of two choices: which of their parts work together.
fn matrix(kit: &Kit, pairs: &Pairs, width: usize) -> String {
    let (rows, columns) = (
        &kit.labels.axes[pairs.rows],
        &kit.labels.axes[pairs.columns],
    );
    let names = |axis: &AxisLabels| -> Vec<String> {
        axis.choices.iter().map(|choice| name(choice)).collect()
    };
    let (row_names, column_names) = (names(rows), names(columns));
    let wide = |texts: &[String]| texts.iter().map(|t| t.chars().count()).max().unwrap_or(0);
    let lead = wide(&row_names);
    let cells: Vec<String> = pairs.cells.iter().map(|cell| cell_text(*cell)).collect();
    let each = wide(&column_names).max(wide(&cells));
    let works = |row: usize, column: usize| {
        let cell = pairs.cells.get(row * column_names.len() + column);
        cell.map_or(0, |cell| cell.tried - cell.failing)
    };
    let (all_rows, all_columns) = (row_names.len(), column_names.len());
    let told_rows = most_working(all_rows, MOST_ROWS, |row| {
        (0..all_columns).map(|column| works(row, column)).sum()
    });
    let room = width.max(LEAST_WIDTH).saturating_sub(lead + 4);
    let at_once = (room / (each + 2)).max(1);
    let is_unfit = kit.tried.unfit > 0;
    let mut out = format!(
        "  {} down, {} across: ok all work, warn with warnings, 1/3 one of three works, - none{}\n",
        rows.subject.words(),
        columns.subject.words(),
        if is_unfit { ", x does not fit" } else { "" }
    );
    let told_columns = most_working(all_columns, MOST_BANDS * at_once, |column| {
        (0..all_rows).map(|row| works(row, column)).sum()
    });
    for shown in told_columns.chunks(at_once) {
        let _ = write!(out, "    {:lead$}", "");
        for column in shown {
            let _ = write!(out, "  {:each$}", column_names[*column]);
        }
        trim_line(&mut out);
        for row in &told_rows {
            let _ = write!(out, "    {:lead$}", row_names[*row]);
            for column in shown {
                let cell = cells.get(row * column_names.len() + column);
                let _ = write!(out, "  {:each$}", cell.map_or("", String::as_str));
            }
            trim_line(&mut out);
        }
    }
    let left_out = [
        (rows, all_rows, told_rows.len()),
        (columns, all_columns, told_columns.len()),
    ];
    let left_out: Vec<String> = left_out
        .iter()
        .filter(|(_, all, told)| told < all)
        .map(|(axis, all, told)| format!("{} of {all} {}", all - told, axis.subject.words()))
        .collect();
    if !left_out.is_empty() {
        let _ = writeln!(
            out,
            "    left out, of those that work least often: {} (`calc --format json` has all)",
            left_out.join(" and ")
        );
    }
    out
}

/// The places of a choice's parts in their own order: all, or if there are very many, those with the most working
/// combinations.
fn most_working(all: usize, most: usize, works: impl Fn(usize) -> u64) -> Vec<usize> {
    let mut places: Vec<usize> = (0..all).collect();
    if all > most {
        places.sort_by_key(|place| Reverse(works(*place)));
        places.truncate(most);
        places.sort_unstable();
    }
    places
}

fn trim_line(out: &mut String) {
    out.truncate(out.trim_end_matches(' ').len());
    out.push('\n');
}

fn cell_text(cell: Cell) -> String {
    match (cell.tried, cell.failing, cell.warned) {
        (0, _, _) => String::new(),
        (_, 0, 0) => "ok".to_owned(),
        (_, 0, _) => "warn".to_owned(),
        (tried, _, _) if tried == cell.unfit => "x".to_owned(),
        (tried, failing, _) if tried == failing => "-".to_owned(),
        (tried, failing, _) => format!("{}/{tried}", tried - failing),
    }
}

/// A kit for machines.
pub fn kit_json(worked: &Worked, kit: &Kit) -> Value {
    let price = |range: &PriceRange| {
        json!({
            "low": money(range.low),
            "low_at": kit.labels.name_of(range.low_at),
            "high": money(range.high),
            "high_at": kit.labels.name_of(range.high_at),
        })
    };
    let axes: Vec<Value> = kit
        .labels
        .axes
        .iter()
        .zip(&kit.tried.singles)
        .map(|(axis, counts)| {
            let choices: Vec<Value> = axis
                .choices
                .iter()
                .zip(counts)
                .map(|(choice, (tried, failing))| {
                    json!({ "name": choice, "tried": tried, "failing": failing })
                })
                .collect();
            json!({ "block": axis.subject.words(), "choices": choices })
        })
        .collect();
    let pairs: Vec<Value> = kit
        .tried
        .pairs
        .iter()
        .map(|pairs| {
            let columns = kit.labels.axes[pairs.columns].choices.len().max(1);
            let rows: Vec<Vec<Value>> = pairs
                .cells
                .chunks(columns)
                .map(|row| row.iter().map(|cell| cell_json(*cell)).collect())
                .collect();
            json!({
                "rows": kit.labels.axes[pairs.rows].subject.words(),
                "columns": kit.labels.axes[pairs.columns].subject.words(),
                "cells": rows,
            })
        })
        .collect();
    let groups: Vec<Value> = kit
        .groups
        .iter()
        .map(|group| {
            json!({
                "check": group.check.name(),
                "severity": group.severity.name(),
                "count": group.count,
                "words": group.words,
            })
        })
        .collect();
    json!({
        "system": worked.system.name,
        "combinations": kit.count,
        "tried": kit.tried.count,
        "failing": kit.tried.failing,
        "not_fitting": kit.tried.unfit,
        "warned": kit.tried.warned,
        "prices": kit.tried.prices.ranges.iter().map(price).collect::<Vec<_>>(),
        "unpriced": kit.tried.prices.unpriced,
        "axes": axes,
        "pairs": pairs,
        "groups": groups,
    })
}

fn cell_json(cell: Cell) -> Value {
    json!({
        "tried": cell.tried,
        "failing": cell.failing,
        "not_fitting": cell.unfit,
        "warned": cell.warned,
    })
}
