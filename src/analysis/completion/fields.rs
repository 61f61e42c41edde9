//! The fields of a block.

use super::writer::Writer;
use crate::analysis::completion_item::CompletionKind;
use crate::model::Component;
use crate::schema::{BLOCKS, Block, BlockId, Field, FieldId, Kind, Presence, Typical};
use crate::syntax::{Body, Name, Statement, StatementKind};
use std::collections::HashSet;

impl<'a> Writer<'a> {
    pub(super) fn fields(&mut self, block: BlockId, head: u32) {
        let schema = &BLOCKS[block as usize];
        let written: HashSet<&str> = self
            .body(head)
            .into_iter()
            .flat_map(|body| &body.statements)
            .filter_map(|statement| match &statement.kind {
                StatementKind::Field(field) if !self.is_typed(field.name.span) => {
                    Some(field.name.text.as_str())
                }
                _ => None,
            })
            .collect();
        let component = self.component(head);
        let given = |i: u8| {
            let id = FieldId { block, field: i };
            component.and_then(|component| component.given(id))
        };
        let is_there = |name: &&str| {
            written.contains(name) || schema.field_index(name).is_some_and(|i| given(i).is_some())
        };
        let mut fields: Vec<(u8, Rank, &Field)> = (0u8..)
            .zip(schema.fields)
            .filter(|(_, field)| !written.contains(field.name))
            .map(|(i, field)| {
                let rank = match field.presence {
                    _ if given(i).is_some() => Rank::Given,
                    Presence::Required => Rank::Missing,
                    Presence::Alternative => alternative(schema, field.name, is_there),
                    _ => Rank::Optional,
                };
                (i, rank, field)
            })
            .collect();
        fields.sort_by_key(|(_, rank, _)| *rank);
        // A field inserted before an existing value gets no new `=`.
        let behind = &self.cursor.text[self.span.end as usize..];
        let has_equals = behind.trim_start_matches([' ', '\t']).starts_with('=');
        let display = self.display().clone();
        for (i, rank, field) in fields {
            let id = FieldId { block, field: i };
            let item = self.add(CompletionKind::Field, field.name);
            item.detail = rank.words().to_owned();
            if let Some(kind) = kind_words(field) {
                let joint = if item.detail.is_empty() { "" } else { ", " };
                item.detail = format!("{kind}{joint}{}", item.detail);
            }
            item.doc = field.doc.to_owned();
            if let Some(row) = Typical::of(id) {
                item.doc.push_str(&format!(
                    "\n\nUsually {} ({}).",
                    row.words(&display),
                    row.source
                ));
            }
            if let Some(text) = field.default_shown(&display) {
                item.doc
                    .push_str(&format!("\n\nLeft out, it is taken as {text}."));
            }
            if !has_equals {
                item.insert = format!("{} = ", field.name);
            }
        }
        if self
            .cursor
            .innermost()
            .is_some_and(|open| open.head.len() < 3)
        {
            self.keyword("allow", "Silences a check here, with a reason.", "allow $0");
        }
    }

    /// The body of a block, found by the place of its name.
    fn body(&self, head: u32) -> Option<&'a Body> {
        let item = self.report.source.tree.item_before(head)?;
        let is_at = |name: &Name| item.at(name.span).start == head;
        let in_system = match &item.kind {
            StatementKind::System(system) => &system.body.statements[..],
            _ => &[],
        };
        let all = std::iter::once(&*item.statement).chain(in_system);
        all.filter(|statement| match &statement.kind {
            StatementKind::Block(block) => is_at(&block.block),
            StatementKind::Part(part) => is_at(&part.block),
            _ => false,
        })
        .find_map(Statement::body)
    }

    /// The typed component of a block in a system's text, found by the place of the block's name.
    fn component(&self, head: u32) -> Option<&'a Component> {
        self.worked()?.system.components().find(|component| {
            component.place.file == self.report.source.name
                && self.report.source.range(component.place.span).start == head
        })
    }
}

/// How useful a field is for the block that is being written.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
enum Rank {
    Missing,
    /// It belongs to another way to give what is missing.
    Alternative,
    Optional,
    /// A part or a base gives it already.
    Given,
    /// It gives what is given already.
    Repeats,
}

impl Rank {
    fn words(self) -> &'static str {
        match self {
            Self::Missing => "missing",
            Self::Alternative => "one way to say what is missing",
            Self::Optional => "",
            Self::Given => "changes what is given",
            Self::Repeats => "said already in another way",
        }
    }
}

/// The rank of a field that belongs to one of several ways of giving a thing.
fn alternative(block: &Block, field: &str, is_there: impl Fn(&&str) -> bool) -> Rank {
    let Some((alternatives, own)) = block.way_of(field) else {
        return Rank::Optional;
    };
    let begun = alternatives
        .ways
        .iter()
        .position(|way| way.iter().any(&is_there));
    match begun {
        Some(way) if way == own => Rank::Missing,
        Some(_) => Rank::Repeats,
        None if alternatives.required => Rank::Alternative,
        None => Rank::Optional,
    }
}

fn kind_words(field: &Field) -> Option<String> {
    match field.kind {
        Kind::Quantity(dimension) => Some(dimension.to_string()),
        Kind::Window(dimension) => Some(format!("{dimension}, least to most")),
        Kind::Curve { .. } => Some("curve".to_owned()),
        Kind::CurveOrPeak { y, .. } => Some(format!("{y} or curve")),
        Kind::Choice(choices) => {
            let names: Vec<&str> = choices.iter().map(|choice| choice.name).collect();
            Some(names.join(" / "))
        }
        Kind::Text => Some("text in quotes".to_owned()),
        Kind::Money => Some("amount of money".to_owned()),
        Kind::Count => Some("number of pieces".to_owned()),
    }
}

/// The fields that a block must have. Of several ways to give a thing it is the one that says most.
pub fn needed_fields(block: &Block) -> Vec<&'static str> {
    let required = block
        .fields
        .iter()
        .filter(|f| matches!(f.presence, Presence::Required));
    let ways = block.alternatives.iter().filter(|a| a.required);
    // The way that says most comes last.
    let ways = ways.filter_map(|alternatives| alternatives.ways.last());
    let mut fields: Vec<&'static str> = ways.copied().flatten().copied().collect();
    fields.extend(required.map(|field| field.name));
    if block.name == "slave" {
        fields.retain(|name| !matches!(*name, "outer" | "inner"));
        fields.insert(0, "bore");
    }
    fields
}
