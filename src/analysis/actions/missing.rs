//! Code actions that put in what is missing: a block or a field with its unit and a blank for the number, or the file
//! that a `use` should name. Also one that removes a `use` that brings in nothing.

use super::{cure, statement_into};
use crate::analysis::completion::needed_fields;
use crate::analysis::{Action, ActionKind, Report, UsePaths, Worked};
use crate::checks::{Finding, text};
use crate::field;
use crate::finding::{Fix, Place};
use crate::model::{Component, Source, System};
use crate::quantity::nearest;
use crate::schema::FieldId;
use crate::schema::{BLOCKS, Block, FORK_DRIVES, ForkDrive, Kind, Presence};
use crate::syntax::{
    self, Body, Item, Span, Statement, StatementKind, Text, TextRange, TokenKind, tokens,
};
use std::collections::HashSet;

/// The changes that put in what a finding reports as missing.
pub(super) fn put_in<'r>(
    report: &'r Report,
    finding: &'r Finding,
    paths: UsePaths<'_>,
) -> Vec<Action<'r>> {
    let is = |check: &crate::checks::Check| finding.check.name() == check.name();
    let fixes = if is(&text::MISSING_FIELD) {
        missing_fields(report, finding)
    } else if is(&text::MISSING_BLOCK) {
        missing_blocks(report, finding)
    } else if is(&text::USE_MISSING) {
        meant_files(report, finding, paths)
    } else {
        Vec::new()
    };
    let offered = fixes.into_iter();
    offered
        .map(|fix| cure(ActionKind::Fix, fix, finding))
        .collect()
}

// ---- fields ----

/// A field with the unit that its author would use and without a number, since no number would be right.
pub(super) fn skeleton(system: &System, block: &str, field: &str) -> String {
    let unit = |dimension| {
        let unit = system.display.unit(dimension);
        unit.map_or_else(String::new, |unit| format!(" {unit}"))
    };
    let kind = FieldId::named(block, field).map(|id| id.field().kind);
    let value = match kind {
        Some(Kind::Quantity(dimension) | Kind::CurveOrPeak { y: dimension, .. }) => unit(dimension),
        Some(Kind::Window(dimension)) => {
            let unit = unit(dimension);
            format!("{unit} to{unit}")
        }
        Some(Kind::Text) => " \"\"".to_owned(),
        Some(Kind::Curve { .. } | Kind::Choice(_) | Kind::Money | Kind::Count) | None => {
            String::new()
        }
    };
    format!("{field} ={value}")
}

fn missing_fields(report: &Report, finding: &Finding) -> Vec<Fix> {
    let place = &finding.problem.place;
    if place.file != report.source.name {
        return Vec::new();
    }
    let found = report.worked_systems().find_map(|worked| {
        let mut components = worked.system.components();
        let component = components.find(|component| component.place == *place)?;
        Some((worked, component))
    });
    let Some((worked, component)) = found else {
        return Vec::new();
    };
    let block = &BLOCKS[component.block as usize];
    let offer = |names: &[&str]| field_fix(report, worked, component, block, names);
    let ways = ways_to_complete(component, block, &worked.system);
    ways.iter().filter_map(|names| offer(names)).collect()
}

/// The fields that a component lacks, once for each way to give them.
fn ways_to_complete(
    component: &Component,
    block: &Block,
    system: &System,
) -> Vec<Vec<&'static str>> {
    let is_given = |name: &&str| {
        let index = block.field_index(name);
        index.is_some_and(|index| {
            component
                .fields
                .get(usize::from(index))
                .is_some_and(Option::is_some)
        })
    };
    let required = block
        .fields
        .iter()
        .filter(|field| matches!(field.presence, Presence::Required))
        .map(|field| field.name);
    let mut common: Vec<&'static str> = required.filter(|name| !is_given(name)).collect();
    let has_load = component.given(field!(cover.release_load)).is_some();
    let has_diaphragm = system.component(crate::block!(diaphragm)).is_some();
    if component.block == crate::block!(cover) && !has_load && !has_diaphragm {
        common.push("release_load");
    }
    let mut ways = vec![common];
    for alternatives in block.alternatives {
        let given = |way: &&&[&'static str]| way.iter().filter(|name| is_given(name)).count();
        let is_full = |way: &&&[&'static str]| given(way) == way.len();
        if alternatives.ways.iter().any(|way| is_full(&way)) {
            continue;
        }
        let begun: Vec<_> = alternatives
            .ways
            .iter()
            .filter(|way| given(way) > 0)
            .collect();
        let open: Vec<_> = match begun.is_empty() {
            false => begun,
            true if alternatives.required => alternatives.ways.iter().collect(),
            true => continue,
        };
        ways = ways
            .iter()
            .flat_map(|names| {
                open.iter().map(move |way| {
                    let rest = way.iter().copied().filter(|name| !is_given(name));
                    names.iter().copied().chain(rest).collect()
                })
            })
            .collect();
    }
    ways.retain(|names: &Vec<&str>| !names.is_empty());
    ways.truncate(MOST_WAYS);
    ways
}

/// The most ways that are offered; more are too many to choose from.
const MOST_WAYS: usize = 4;

fn field_fix(
    report: &Report,
    worked: &Worked,
    component: &Component,
    block: &Block,
    names: &[&str],
) -> Option<Fix> {
    let fields: Vec<String> = names
        .iter()
        .map(|name| skeleton(&worked.system, block.name, name))
        .collect();
    let source = &report.source;
    let statement = block_statement(source, component.place.span)?;
    let (at, text) = match statement.body() {
        Some(body) => into_body(source, body, &fields)?,
        None => (
            source.range(statement.span).end,
            format!(" {{ {} }}", fields.join("  ")),
        ),
    };
    Some(Fix {
        title: format!("add `{}`", fields.join("`, `")),
        edits: vec![(point(source, at), text)],
    })
}

pub(super) fn point(source: &Source, at: u32) -> Place {
    source.place_at(TextRange::empty(at))
}

/// The block whose name is at a place.
fn block_statement(source: &Source, name: Span) -> Option<&Statement> {
    let bodies = source.systems().map(|system| &system.body);
    let mut statements = bodies.flat_map(|body| &body.statements);
    statements.find(|s| matches!(&s.kind, StatementKind::Block(block) if block.block.span == name))
}

/// Inserts fields at the end of a body, on its line or on lines of their own.
pub(super) fn into_body(source: &Source, body: &Body, fields: &[String]) -> Option<(u32, String)> {
    if !body.whole {
        return None;
    }
    let range = source.range(body.span);
    let opens = source.lines.line_of(range.start);
    let is_one_line = opens == source.lines.line_of(range.end);
    let last = body.statements.last();
    let at = last.map_or(range.start + 1, |last| source.range(last.span).end);
    let text: String = match is_one_line {
        true => {
            let joint = if last.is_some() { "  " } else { " " };
            fields
                .iter()
                .map(|field| format!("{joint}{field}"))
                .collect()
        }
        false => {
            let line = source.lines.line(opens)?;
            let indent = source
                .text
                .get(line)?
                .chars()
                .take_while(|c| *c == ' ')
                .count();
            let indent = " ".repeat(indent + 4);
            fields
                .iter()
                .map(|field| format!("\n{indent}{field}"))
                .collect()
        }
    };
    Some((at, text))
}

// ---- blocks ----

fn missing_blocks(report: &Report, finding: &Finding) -> Vec<Fix> {
    let place = &finding.problem.place;
    let is_it = |system: &&syntax::System| {
        place.file == report.source.name && place.span == system.name.span
    };
    let Some(tree) = report.source.systems().find(is_it) else {
        return Vec::new();
    };
    let Some(worked) = report.worked(tree) else {
        return Vec::new();
    };
    let message = &finding.problem.message;
    let named = BLOCKS
        .iter()
        .map(|block| block.name)
        .find(|name| message.ends_with(&format!("has no `{name}`")));
    let names = |drive: &ForkDrive| {
        let needed = drive.needed();
        needed.map(|block| BLOCKS[block as usize].name).collect()
    };
    let offered: Vec<Vec<&str>> = match named {
        Some(name) => vec![vec![name]],
        None => FORK_DRIVES.iter().map(names).collect(),
    };
    let fix = |names: &Vec<&str>| {
        let blocks = names
            .iter()
            .filter_map(|name| block_skeleton(&worked.system, name));
        let text = blocks.collect::<Vec<_>>().join("\n    ");
        Some(Fix {
            title: format!(
                "add `{} {{ … }}`, to be filled in",
                names.join(" { … }` and `")
            ),
            edits: vec![statement_into(&report.source, &tree.body, &text)?],
        })
    };
    offered.iter().filter_map(fix).collect()
}

fn block_skeleton(system: &System, name: &str) -> Option<String> {
    let id = Block::named(name)?;
    let mut fields = needed_fields(&BLOCKS[id as usize]);
    if name == "cover" && system.component(crate::block!(diaphragm)).is_none() {
        fields.push("release_load");
    }
    let fields = fields.iter().map(|field| skeleton(system, name, field));
    let lines: String = fields.map(|field| format!("        {field}\n")).collect();
    Some(format!("{name} {{\n{lines}    }}"))
}

// ---- files ----

/// The files to which the path of a `use` was probably meant to lead.
fn meant_files(report: &Report, finding: &Finding, paths: UsePaths<'_>) -> Vec<Fix> {
    let place = &finding.problem.place;
    let is_there = report.uses.iter().any(|(span, _)| *span == place.span);
    let path = uses(report).find(|(_, path)| path.span == place.span);
    let Some((_, path)) = path.filter(|_| !is_there && place.file == report.source.name) else {
        return Vec::new();
    };
    let known = paths();
    let file = |path: &str| path.rsplit('/').next().unwrap_or_default().to_owned();
    let wanted = file(&path.text);
    let alike: Vec<&str> = known
        .iter()
        .map(String::as_str)
        .filter(|known| file(known) == wanted)
        .take(MOST_WAYS)
        .collect();
    let names: Vec<String> = known.iter().map(|known| file(known)).collect();
    let meant = match alike.as_slice() {
        [] => nearest(&path.text, known.iter().map(String::as_str)).or_else(|| {
            let name = nearest(&wanted, names.iter().map(String::as_str))?;
            let at = names.iter().position(|known| known == name)?;
            known.get(at).map(String::as_str)
        }),
        _ => None,
    };
    let inside = Span {
        start: path.span.start + 1,
        end: path.span.end.saturating_sub(1),
        ..path.span
    };
    let offered = alike.into_iter().chain(meant);
    offered
        .map(|meant| Fix {
            title: format!("use `{meant}`"),
            edits: vec![(report.source.place(inside), meant.to_owned())],
        })
        .collect()
}

fn uses(report: &Report) -> impl Iterator<Item = (&Item, &Text)> {
    let items = report.source.tree.items.iter();
    items.filter_map(|item| match &item.kind {
        StatementKind::Use(used) => Some((item, &used.path)),
        _ => None,
    })
}

/// Removes a `use` from which the file names nothing.
pub(super) fn unused_use(report: &Report, within: TextRange) -> Option<Fix> {
    let source = &report.source;
    let is_here = |(item, _): &(&Item, &Text)| {
        let range = item.range();
        range.start <= within.end && within.start <= range.end
    };
    let (item, path) = uses(report).find(is_here)?;
    let range = item.range();
    // A file without systems may pass names on to its users, and an incomplete text lacks some of the names that it
    // needs.
    if source.systems().next().is_none() || !source.tree.is_flawless() {
        return None;
    }
    let resolver = report.resolver();
    let mut brought = resolver.brought_in(path.span).peekable();
    brought.peek()?;
    let words = tokens(&source.text);
    let words = words.iter().filter(|token| token.is(TokenKind::Word));
    let words: HashSet<&str> = words.map(|token| token.range.of(&source.text)).collect();
    let names_it = |used: &Source| {
        let parts = used.parts().map(|part| &part.name.text);
        let lets = used.lets().map(|item| &item.name.text);
        let systems = used.systems().map(|system| &system.name.text);
        parts
            .chain(lets)
            .chain(systems)
            .any(|name| words.contains(name.as_str()))
    };
    if brought.any(names_it) {
        return None;
    }
    let line = source.lines.line(source.lines.line_of(range.start))?;
    let next = source.lines.line(source.lines.line_of(range.start) + 1);
    let end = next.map_or(line.end, |next| next.start);
    let is_alone = source.text.get(line.clone())?.trim() == range.of(&source.text);
    let span = match is_alone {
        true => TextRange::new(line.start, end),
        false => range,
    };
    Some(Fix {
        title: format!(
            "remove `use \"{}\"`: nothing here names anything of it",
            path.text
        ),
        edits: vec![(source.place_at(span), String::new())],
    })
}
