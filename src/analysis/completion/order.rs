//! Completions for orders: amounts of money, and what other parts in sight give.

use super::writer::Writer;
use crate::analysis::completion_item::CompletionKind;
use crate::analysis::cursor::{Kind as TokenKind, Token, in_unit};
use crate::quantity::{CURRENCIES, UnitExpr};
use crate::schema::FieldId;
use crate::syntax::{ExprKind, Field, StatementKind, Value, ValueKind};
use std::collections::BTreeMap;

impl<'a> Writer<'a> {
    /// Completes an amount of money: after a number the currencies, those in use first.
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

    /// Passes every field of every part and block that the file sees to `take`.
    pub(super) fn fields_in_sight(&self, take: &mut dyn FnMut(&'a Field)) {
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
