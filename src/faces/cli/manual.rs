//! The reference manual: everything that the schema, the checks and the grammar document, on one page.

use crate::analysis::MAX_FINDINGS;
use crate::checks::{CHECKS, Check, REFERENCE};
use crate::faces::render::{needs, signature, usually, ways};
use crate::model::{FUNCTIONS, Function, MAX_FROM_DEPTH, MAX_LINES, MAX_USE_DEPTH, MAX_USED_FILES};
use crate::quantity::{Display, UNITS};
use crate::schema::{
    BLOCKS, Better, Block, Field, FieldId, Kind, ORDER, Purpose, ResultId, ResultSpec, Typical,
};
use crate::solve::MAX_TOLERANCED;
use crate::syntax::{MAX_EXPRESSION_BYTES, MAX_FILE_BYTES, MAX_FLAWS, MAX_NESTING, MAX_POINTS};
use std::fmt::Write;

/// The summary of the language, which is kept beside its grammar.
const LANGUAGE: &str = include_str!("../../../grammar/language.md");

/// The whole page, as Markdown.
pub fn manual() -> String {
    let mut out = String::from(
        "# The reference manual of Bitepoint\n\n\
         This page is made by `bitepoint explain --manual` from what the program itself goes by. \
         `bitepoint explain` shows each of its entries alone.\n\n",
    );
    contents(&mut out);
    let _ = writeln!(out, "\n## Language\n\n{LANGUAGE}");
    limits(&mut out);
    units(&mut out);
    out.push_str(
        "\n## Blocks\n\nEvery block may also say what it is ordered by. None of that bears on a \
         result or is ever missing; `bitepoint bom` lists and sums it.\n\n",
    );
    for field in ORDER {
        self::field(&mut out, field, None);
    }
    for block in BLOCKS {
        self::block(&mut out, block);
    }
    out.push_str(
        "\n## Results\n\nA result that the spec does not say enough for is absent, and says what \
         it needs. Symbols: x travel, F force, p pressure, A area, R ratio, k stiffness; m \
         master, s slave, f fork, b bearing.\n",
    );
    for id in ResultId::all() {
        result(&mut out, id.spec());
    }
    out.push_str(
        "\n## Checks\n\nLimits and severities can be set for many specs at once in a \
         `bitepoint.toml`. The examples start from [the car that works](#the-car-of-the-examples).\n",
    );
    for check in CHECKS {
        self::check(&mut out, check);
    }
    let _ = writeln!(
        out,
        "\n## The car of the examples\n\n```clutch\n{REFERENCE}```"
    );
    out
}

fn contents(out: &mut String) {
    let list = |names: &mut dyn Iterator<Item = &'static str>| {
        let links: Vec<String> = names.map(|name| format!("[`{name}`](#{name})")).collect();
        links.join(" · ")
    };
    let blocks = list(&mut BLOCKS.iter().map(|block| block.name));
    let results = list(&mut ResultId::all().map(|id| id.spec().name));
    let checks = list(&mut CHECKS.iter().map(|check| check.name()));
    out.push_str(
        "- [Language](#language): [statements](#statements), [values](#values), [broken \
         text](#broken-text), [what is too large](#what-is-too-large)\n\
         - [Units and functions](#units-and-functions)\n",
    );
    let _ = writeln!(out, "- [Blocks](#blocks): {blocks}");
    let _ = writeln!(out, "- [Results](#results): {results}");
    let _ = writeln!(out, "- [Checks](#checks): {checks}");
    out.push_str("- [The car of the examples](#the-car-of-the-examples)\n");
}

fn limits(out: &mut String) {
    out.push_str("### What is too large\n\nEach of these is a finding where it is passed.\n\n");
    for (what, most) in [
        ("bytes in a file", MAX_FILE_BYTES),
        ("parentheses in one another", MAX_NESTING),
        ("bytes in an expression", MAX_EXPRESSION_BYTES),
        (
            "mistakes in the text of a file, of which the rest is not listed",
            MAX_FLAWS,
        ),
        ("files that a spec brings in", MAX_USED_FILES),
        ("files that use one another in a row", MAX_USE_DEPTH),
        (
            "systems that start from one another in a row",
            MAX_FROM_DEPTH,
        ),
        ("points in a curve", MAX_POINTS),
        ("lines in a system", MAX_LINES),
        ("values with a tolerance in a system", MAX_TOLERANCED),
        ("findings in a file", MAX_FINDINGS),
    ] {
        let _ = writeln!(out, "- {what}: {most}");
    }
}

fn units(out: &mut String) {
    out.push_str(
        "\n## Units and functions\n\nUnits multiply and divide: `N/mm`, `cc/ft`, `N*m`, `in^2`. A \
         number and its unit may touch.\n\n| unit | is | measures |\n|---|---|---|\n",
    );
    for unit in UNITS {
        let _ = writeln!(
            out,
            "| `{}` | {} | {} |",
            unit.name, unit.doc, unit.dimension
        );
    }
    out.push_str("| `USD`, `EUR`, … | every currency by its ISO 4217 code | amount in it |\n");
    out.push_str("\n| function | gives |\n|---|---|\n");
    for Function { name, doc, .. } in FUNCTIONS {
        let _ = writeln!(out, "| `{name}` | {doc} |");
    }
}

fn block(out: &mut String, block: &Block) {
    let _ = writeln!(out, "\n### `{}`\n\n{}\n", block.name, prose(block.doc));
    for alternatives in block.alternatives {
        let _ = writeln!(out, "{}.\n", capital(&ways(alternatives)));
    }
    if let Some(needs) = needs(block.needs) {
        let _ = writeln!(out, "Used only with {}.\n", prose(&needs));
    }
    let own = block
        .fields
        .iter()
        .filter(|field| field.purpose != Purpose::Order);
    for field in own {
        let row = FieldId::named(block.name, field.name).and_then(Typical::of);
        self::field(out, field, row);
    }
}

fn field(out: &mut String, field: &Field, typical: Option<&Typical>) {
    let range = match field.dimension() {
        Some(_) if !field.range.is_everything() => format!(" Must be {}.", field.range.words),
        _ => String::new(),
    };
    let usually = typical.map_or_else(String::new, |row| format!(" {}", prose(&usually(row))));
    let needs = needs(field.needs).map_or_else(String::new, |needs| {
        format!(" Used only with {}.", prose(&needs))
    });
    let _ = writeln!(
        out,
        "- **`{}`**: {}. {}{range}{usually}{needs} Source: {}.",
        field.name,
        signature(field),
        prose(field.doc),
        prose(field.source)
    );
    if let Kind::Choice(choices) = field.kind {
        for choice in choices {
            let _ = writeln!(out, "  - `{}`: {}", choice.name, prose(choice.doc));
        }
    }
}

fn result(out: &mut String, spec: &ResultSpec) {
    let unit = match spec.unit {
        "" => "a plain number".to_owned(),
        unit => format!("{}, in {unit} for machines", spec.dimension),
    };
    let better = match spec.better {
        Better::More => "; more is better",
        Better::Less => "; less is better",
        Better::Neither => "",
    };
    let _ = writeln!(out, "\n### `{}`\n\n{}\n", spec.name, prose(spec.doc));
    let _ = writeln!(out, "- Is {unit}{better}");
    let _ = writeln!(out, "- Formula: {}", formula(spec.formula));
    if !spec.needs.is_empty() {
        let _ = writeln!(out, "- Needs: {}", prose(&spec.needs_in_words()));
    }
    let _ = writeln!(out, "- Source: {}", prose(spec.source));
}

fn check(out: &mut String, check: &Check) {
    let _ = writeln!(
        out,
        "\n### `{}`\n\n{}: {} {}\n",
        check.name(),
        capital(check.severity.name()),
        prose(check.finds),
        prose(check.why)
    );
    for limit in check.limits {
        let value = Display::default().show_finely(limit.value, limit.dimension);
        let _ = writeln!(
            out,
            "- Limit `{}` = {value}: {}. Source: {}.",
            limit.name,
            prose(limit.what),
            prose(limit.source)
        );
    }
    let _ = writeln!(out, "- Source: {}", prose(check.source));
    for (title, example) in [("Raises it", check.bad), ("Does not", check.good)] {
        let (language, text) = example.shown();
        // An example may end in the middle of a line: that is what some of them show.
        let text = text.trim_end_matches('\n');
        let _ = writeln!(out, "\n{title}:\n\n```{language}\n{text}\n```");
    }
}

/// A text of the schema as Markdown. Its code stays code, and nothing else has a Markdown meaning.
fn prose(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for (i, piece) in text.split('`').enumerate() {
        if i > 0 {
            out.push('`');
        }
        if i % 2 == 1 {
            out.push_str(piece);
            continue;
        }
        for c in piece.chars() {
            if matches!(c, '*' | '_' | '<' | '>' | '[' | ']' | '|') {
                out.push('\\');
            }
            out.push(c);
        }
    }
    out
}

/// A formula, whose stars and lines are shown unchanged.
fn formula(text: &str) -> String {
    match text.contains('`') {
        true => prose(text),
        false => format!("`{text}`"),
    }
}

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    match chars.next() {
        Some(first) => first.to_uppercase().chain(chars).collect(),
        None => String::new(),
    }
}
