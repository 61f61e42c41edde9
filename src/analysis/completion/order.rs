//! Texts, prices and counts: what else in sight says.

use super::writer::Writer;
use crate::analysis::completion_item::CompletionKind;
use crate::analysis::cursor::{Kind as TokenKind, Token, in_unit};
use crate::quantity::{CURRENCIES, UnitExpr};
use crate::schema::FieldId;
use crate::syntax::{ExprKind, Field, StatementKind, Value, ValueKind, quoted};
use std::collections::BTreeMap;

impl<'a> Writer<'a> {
    /// A text in quotes: those that the same field says elsewhere, the most frequent first.
    pub(super) fn text(&mut self, id: FieldId, head: u32, typed: &[Token<'a>]) {
        if !typed.is_empty() {
            if self.ends_here() || self.rest().starts_with('=') {
                self.fields(id.block, head);
            }
            return;
        }
        if !self.ends_here() || self.span.start < self.span.end {
            return;
        }
        let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
        let mut count = |field: &'a Field| {
            if field.name.text == id.field().name
                && let ValueKind::Text(text) = &field.value.kind
            {
                *counts.entry(&text.text).or_default() += 1;
            }
        };
        self.fields_in_sight(&mut count);
        let mut known: Vec<(&str, usize)> = counts.into_iter().collect();
        known.sort_by_key(|(_, count)| std::cmp::Reverse(*count));
        let item = self.add(CompletionKind::Value, "\"…\"");
        item.insert = "\"\"".to_owned();
        item.snippet = Some("\"$1\"$0".to_owned());
        for (text, count) in known {
            let item = self.add(CompletionKind::Value, quoted(text));
            item.detail = match count {
                1 => "said once".to_owned(),
                count => format!("said {count} times"),
            };
        }
    }

    /// An amount of money: behind a number the currencies, those in use first.
    pub(super) fn money(&mut self, id: FieldId, head: u32, typed: &[Token<'a>]) {
        match typed {
            [.., last] if last.kind == TokenKind::Number => {
                let present = self.span;
                self.take_in(in_unit);
                let mut used: BTreeMap<String, usize> = BTreeMap::new();
                let mut count = |field: &'a Field| {
                    if let Some(unit) = currency_of(&field.value) {
                        *used.entry(unit.to_string()).or_default() += 1;
                    }
                };
                self.fields_in_sight(&mut count);
                let mut codes: Vec<&str> = CURRENCIES.iter().map(|unit| unit.name).collect();
                let uses = |code: &&str| used.get(*code).copied().unwrap_or(0);
                codes.sort_by_key(|code| std::cmp::Reverse(uses(code)));
                for code in codes {
                    self.add(CompletionKind::Unit, code).detail = "currency".to_owned();
                }
                self.span = present;
            }
            [.., last] if last.is_word() && (self.ends_here() || self.rest().starts_with('=')) => {
                self.fields(id.block, head);
            }
            _ => {}
        }
    }

    /// Every field of every part and block that the file sees.
    fn fields_in_sight(&self, take: &mut dyn FnMut(&'a Field)) {
        let report = self.report;
        let sources = std::iter::once(&report.source).chain(&report.used);
        for item in sources.flat_map(|source| &source.tree.items) {
            let inner = item
                .statement
                .body()
                .into_iter()
                .flat_map(|b| &b.statements);
            let all = inner.flat_map(|statement| {
                let deeper = statement.body().into_iter().flat_map(|b| &b.statements);
                std::iter::once(statement).chain(deeper)
            });
            for statement in all {
                match &statement.kind {
                    StatementKind::Field(field) if !self.is_typed(field.value.span) => take(field),
                    _ => {}
                }
            }
        }
    }
}

/// The unit of a value that is an amount of money.
fn currency_of(value: &Value) -> Option<&UnitExpr> {
    let ValueKind::Plain(expr) = &value.kind else {
        return None;
    };
    match &expr.kind {
        ExprKind::Quantity { unit, .. } if unit.dimension().currency().is_some() => Some(unit),
        _ => None,
    }
}
