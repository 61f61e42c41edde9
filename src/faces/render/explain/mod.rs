//! Explanations of checks, blocks, fields, results, units and words of the trade, for people.

mod describe;
mod glossary;

pub(crate) use describe::{needs, signature, usually, ways};

use crate::checks::{CHECKS, Check, Example, REFERENCE};
use crate::model::{FUNCTIONS, Function};
use crate::quantity::{Display, UNITS, Unit, UnitExpr, UnitSystem, significant, usual_unit};
use crate::schema::{BLOCKS, Block, FieldId, Kind, ResultId, ResultSpec, Typical};
use describe::Lines;
use glossary::{explain_word, list_words, suggestions, technical, word};
use std::collections::BTreeSet;
use std::fmt::Write;

/// The meaning of a name, or a list of all names, in lines of at most `width` characters.
///
/// # Errors
/// Nothing has this name; the error is a sentence.
pub fn explanation(what: Option<&str>, width: usize) -> Result<String, String> {
    Ok(match what {
        None => list(width),
        Some("units") => units(),
        Some("words") => list_words(width),
        Some("reference") => REFERENCE.to_owned(),
        Some(what) => find(what, width)
            .or_else(|| find(&technical(what)?, width))
            .or_else(|| word(what).map(|word| explain_word(word, width)))
            .ok_or_else(|| unknown(what))?,
    })
}

fn find(what: &str, width: usize) -> Option<String> {
    if let Some(check) = Check::named(what) {
        return Some(explain_check(check, width));
    }
    if let Some(unit) = UNITS.iter().find(|unit| unit.name == what) {
        let system = usual_forms(unit);
        return Some(format!(
            "{} ({})\n\n{}\n{system}",
            unit.name, unit.dimension, unit.doc
        ));
    }
    if let Some(id) = ResultId::named(what) {
        return Some(explain_result(id.spec(), width));
    }
    let (block, name) = match what.split_once('.') {
        Some((block, field)) => (block, Some(field)),
        None => (what, None),
    };
    match name {
        None => Some(explain_block(&BLOCKS[Block::named(block)? as usize], width)),
        Some(name) => FieldId::named(block, name).map(|id| explain_field(id, width)),
    }
}

/// One of a unit, in the usual units of both systems.
fn usual_forms(unit: &'static Unit) -> String {
    let one = UnitExpr::of(unit);
    if one.has_offset() {
        return String::new();
    }
    let other = |system| usual_unit(unit.dimension, system).filter(|usual| *usual != one);
    let told = [UnitSystem::Metric, UnitSystem::Imperial]
        .into_iter()
        .filter_map(other)
        .map(|usual| format!("{} {usual}", significant(usual.outward(one.inward(1.0)), 6)));
    let told: BTreeSet<String> = told.collect();
    told.into_iter()
        .map(|told| format!("1 {one} = {told}\n"))
        .collect()
}

fn unknown(what: &str) -> String {
    match suggestions(what).as_slice() {
        [] => format!("nothing is called `{what}`; `bitepoint explain` lists what there is"),
        [meant] => format!("nothing is called `{what}`; did you mean `{meant}`?"),
        several => format!(
            "nothing is called `{what}`; did you mean one of these: `{}`?",
            several.join("`, `")
        ),
    }
}

fn list(width: usize) -> String {
    let mut out = Lines::new(width, "Checks\n");
    for check in CHECKS {
        out.row(check.name(), check.finds);
    }
    out.push_str("\nBlocks (`explain pedal` lists a block's fields, `explain pedal.travel` one)\n");
    for block in BLOCKS {
        out.row(block.name, block.doc);
    }
    out.push_str("\nResults\n");
    for id in ResultId::all() {
        out.row(id.spec().name, id.spec().doc);
    }
    out.push_str("\n`explain words` lists the words of the trade, `explain units` the units and functions, `explain reference` the car of the examples, `explain --manual` all of it on one page.\n");
    out.finish()
}

fn explain_check(check: &Check, width: usize) -> String {
    let first = format!("{} ({})\n\n", check.name(), check.severity.name());
    let mut out = Lines::new(width, first);
    out.paragraph(check.finds);
    out.paragraph(check.why);
    if let Some(first) = check.limits.first() {
        let value = Display::default().show_finely(first.value, first.dimension);
        let _ = writeln!(
            out,
            "\nLimits (others can be set in a `bitepoint.toml`, under `[limits]`, as\n`{}.{} = \"{value}\"`)",
            check.name(),
            first.name
        );
        for limit in check.limits {
            let value = Display::default().show_finely_both(limit.value, limit.dimension);
            let _ = writeln!(
                out,
                "  {} = {value}: {} ({})",
                limit.name, limit.what, limit.source
            );
        }
    }
    let _ = writeln!(out, "\nSource: {}", check.source);
    let from_reference = |example: &Example| matches!(example, Example::System(_));
    if from_reference(&check.bad) || from_reference(&check.good) {
        out.push_str(
            "\n`bitepoint explain reference` shows the car that the examples start from.\n",
        );
    }
    for (title, example) in [("Raises it", check.bad), ("Does not", check.good)] {
        let _ = writeln!(out, "\n{title}:");
        let (_, text) = example.shown();
        for line in text.lines() {
            let _ = writeln!(out, "    {line}");
        }
    }
    out.finish()
}

fn explain_result(spec: &ResultSpec, width: usize) -> String {
    let unit = match spec.unit {
        "" => "a plain number".to_owned(),
        unit => format!("{}, in {unit} for machines", spec.dimension),
    };
    let first = format!("{} ({unit})\n\n", spec.name);
    let mut out = Lines::new(width, first);
    out.paragraph(spec.doc);
    out.push('\n');
    out.paragraph(&format!("Formula: {}", spec.formula));
    if !spec.needs.is_empty() {
        out.paragraph(&format!("Needs: {}", spec.needs_in_words()));
    }
    out.paragraph(&format!("Source: {}", spec.source));
    out.finish()
}

fn explain_block(block: &Block, width: usize) -> String {
    let first = format!("{} (block)\n\n", block.name);
    let mut out = Lines::new(width, first);
    out.paragraph(block.doc);
    out.push('\n');
    for field in block.fields {
        out.row(field.name, &signature(field));
    }
    for alternatives in block.alternatives {
        let _ = writeln!(out, "\n  {}", ways(alternatives));
    }
    if let Some(needs) = needs(block.needs) {
        let _ = writeln!(out, "\n  used only with {needs}");
    }
    out.finish()
}

fn explain_field(id: FieldId, width: usize) -> String {
    let (block, field) = (id.block(), id.field());
    let first = format!("{}.{} ({})\n\n", block.name, field.name, signature(field));
    let mut out = Lines::new(width, first);
    out.paragraph(field.doc);
    if let Kind::Choice(choices) = field.kind {
        out.push('\n');
        for choice in choices {
            out.row(choice.name, choice.doc);
        }
    }
    out.push('\n');
    if field.dimension().is_some() && !field.range.is_everything() {
        out.paragraph(&format!("Must be {}.", field.range.words));
    }
    if let Some(needs) = needs(field.needs) {
        out.paragraph(&format!("Used only with {needs}."));
    }
    if let Some(row) = Typical::of(id) {
        out.paragraph(&usually(row));
    }
    out.paragraph(&format!("Source: {}", field.source));
    out.finish()
}

fn units() -> String {
    let mut out = String::from(
        "Units multiply and divide: N/mm, cc/ft, N*m, in^2. A number and its unit may touch.\n\n",
    );
    for unit in UNITS {
        let _ = writeln!(out, "  {:6} {} ({})", unit.name, unit.doc, unit.dimension);
    }
    out.push_str("  USD, EUR, …: every currency by its ISO 4217 code (amount in it)\n");
    out.push_str("\nFunctions\n\n");
    for Function { name, doc, .. } in FUNCTIONS {
        let _ = writeln!(out, "  {name:6} {doc}");
    }
    out
}
