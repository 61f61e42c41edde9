//! Completions after an equals sign, or wherever else a value is needed.

use super::writer::Writer;
use crate::analysis::completion_item::CompletionKind;
use crate::analysis::cursor::{Kind as TokenKind, Token, begins_field, in_name, in_unit};
use crate::checks::{COMMON_BORES, written};
use crate::field;
use crate::model::LetValue;
use crate::quantity::{Dimension, UnitExpr, UnitSystem};
use crate::schema::{BLOCKS, Block, BlockId, Field, FieldId, Kind, Presence, Typical};
use crate::syntax::TextRange;

impl<'a> Writer<'a> {
    pub(super) fn value(&mut self, block: BlockId, field: &str, head: u32, typed: &[Token<'a>]) {
        if self.span.start == self.span.end && self.rest().starts_with('=') && names_a_field(typed)
        {
            // Between a field's name and its equals sign.
            return;
        }
        let Some(index) = BLOCKS[block as usize].field_index(field) else {
            return self.expression(typed, None);
        };
        let id = FieldId {
            block,
            field: index,
        };
        match id.field().kind {
            Kind::Choice(choices) => {
                if typed.is_empty() {
                    self.take_in(in_name);
                    for choice in choices {
                        let item = self.add(CompletionKind::Choice, choice.name);
                        item.doc = choice.doc.to_owned();
                        if matches!(id.field().presence, Presence::DefaultWord(word) if word == choice.name)
                        {
                            item.detail = "taken where nothing is said".to_owned();
                        }
                    }
                } else if self.ends_here() || self.rest().starts_with('=') {
                    self.fields(block, head);
                }
            }
            Kind::Text => self.text(id, head, typed),
            Kind::Money => self.money(id, head, typed),
            Kind::Count => self.quantity(id, Dimension::NUMBER, head, typed),
            Kind::Curve { x, y } => self.curve_of(x, y, typed),
            Kind::CurveOrPeak { x, y } => {
                self.curve_of(x, y, typed);
                self.quantity(id, y, head, typed);
            }
            Kind::Window(dimension) => {
                if typed.is_empty() {
                    let present = self.span;
                    self.window(dimension);
                    self.span = present;
                }
                self.quantity(id, dimension, head, typed);
            }
            Kind::Quantity(dimension) => self.quantity(id, dimension, head, typed),
        }
    }

    fn quantity(&mut self, id: FieldId, dimension: Dimension, head: u32, typed: &[Token<'a>]) {
        let is_bore = [field!(master.bore), field!(slave.bore)].contains(&id);
        if is_bore
            && typed
                .iter()
                .all(|token| token.kind == TokenKind::Number || token.is("/"))
        {
            self.bores(typed);
        }
        if typed.is_empty() {
            self.usual_values(id, dimension);
        }
        self.expression(typed, Some(dimension));
        let behind = |last: &Token<'_>| &self.cursor.text[last.end()..self.cursor.offset];
        let gap = typed.last().map(behind).unwrap_or_default();
        // The value of a field whose name was deleted is still there.
        let is_nameless = self.rest().starts_with('=');
        let is_number = typed.last().is_some_and(|t| t.kind == TokenKind::Number);
        let is_bare = is_number && (gap.starts_with("  ") || is_nameless);
        if (is_complete(typed) || is_bare)
            && gap.starts_with([' ', '\t'])
            && (self.ends_here() || is_nameless)
        {
            // Two blanks end a value, as the canonical form has it.
            if !gap.starts_with("  ") && !is_nameless && !is_banded(typed) {
                let item = self.add(CompletionKind::Operator, "±");
                item.doc = "How far it may be off, either way.".to_owned();
                let item = self.add(CompletionKind::Operator, "to");
                item.doc = "The far end of what it may be.".to_owned();
            }
            self.fields(id.block, head);
        }
    }

    /// Offers the default of a field and its usual value.
    fn usual_values(&mut self, id: FieldId, dimension: Dimension) {
        let display = self.display().clone();
        let present = self.span;
        let assumed = id.field().default_shown(&display);
        let typical = Typical::of(id).and_then(|row| Some((row, row.typical?)));
        if (assumed.is_some() || typical.is_some()) && self.take_in_quantity() {
            if let Some((row, value)) = typical {
                let unit = display.unit_for(value, dimension);
                let item = self.add(CompletionKind::Value, written(value, unit.as_ref()));
                item.detail = "typical".to_owned();
                item.doc = format!("Usually {} ({}).", row.words(&display), row.source);
            }
            if let Some(text) = assumed {
                let item = self.add(CompletionKind::Value, text);
                item.detail = "taken where nothing is said".to_owned();
            }
        }
        self.span = present;
    }

    fn bores(&mut self, typed: &[Token<'a>]) {
        let present = self.span;
        if let Some(first) = typed.first() {
            self.span = TextRange::new(first.start, self.span.end as usize);
        }
        if !self.take_in_quantity() {
            self.span = present;
            return;
        }
        // An author in inches is offered no millimeters; a metric shop stocks both.
        let series: &[&str] = match self.author_system() {
            UnitSystem::Imperial => &["in"],
            UnitSystem::Metric | UnitSystem::Common => &["mm", "in"],
        };
        for name in series {
            let unit = UnitExpr::parse(name).ok();
            for bore in COMMON_BORES {
                let text = written(*bore, unit.as_ref());
                // The rounded number of a size of the other system is no size.
                let (number, _) = text.split_once(" in").unwrap_or((&text, ""));
                let is_of_series = match *name {
                    "in" => number.contains('/') || !number.contains('.') || *bore == 17.78,
                    _ => bore.fract() == 0.0,
                };
                if is_of_series {
                    self.add(CompletionKind::Value, text).detail = "commonly made".to_owned();
                }
            }
        }
        self.span = present;
    }

    fn window(&mut self, dimension: Dimension) {
        let mut is_whole = self.take_in_quantity();
        if self.rest().starts_with("to ") {
            self.span.end = (self.start_of(self.rest()) + "to".len()) as u32;
            is_whole = self.take_in_quantity();
        }
        if !is_whole || !self.ends_here() {
            return;
        }
        let unit = self.unit(dimension);
        let item = self.add(CompletionKind::Value, "… to …");
        item.doc = "From the least to the most.".to_owned();
        item.insert = format!("0{unit} to 0{unit}");
        item.snippet = Some(format!("${{1:0}}{unit} to ${{2:0}}{unit}"));
    }

    fn curve_of(&mut self, x: Dimension, y: Dimension, typed: &[Token<'a>]) {
        let present = self.span;
        let is_whole = self.take_in_quantity() && self.ends_here();
        let span = std::mem::replace(&mut self.span, present);
        if !typed.is_empty() || !is_whole {
            return;
        }
        let (x, y) = (self.unit(x), self.unit(y));
        let item = self.add(CompletionKind::Value, "curve { … }");
        item.doc = "Points of x and y, with x rising.".to_owned();
        item.span = span;
        item.insert = format!("curve {{ 0{x}: 0{y}, 1{x}: 0{y} }}");
        item.snippet = Some(format!(
            "curve {{ ${{1:0}}{x}: ${{2:0}}{y}, ${{3:1}}{x}: ${{4:0}}{y}$0 }}"
        ));
    }

    /// Completes a point inside a curve.
    pub(super) fn curve(&mut self, before: &[Token<'a>]) {
        let kind = self.cursor.curve_field().map(|id| id.field().kind);
        let Some(Kind::Curve { x, y } | Kind::CurveOrPeak { x, y }) = kind else {
            return;
        };
        let point = before
            .iter()
            .rposition(|token| token.is(","))
            .map_or(0, |at| at + 1);
        let point = &before[point..];
        match point.iter().position(|token| token.is(":")) {
            None => self.expression(point, Some(x)),
            Some(colon) => self.expression(&point[colon + 1..], Some(y)),
        }
    }

    /// Completes an expression: a unit after a number, or a name where a value may begin.
    pub(super) fn expression(&mut self, typed: &[Token<'a>], dimension: Option<Dimension>) {
        let present = self.span;
        // A factor or divisor may have any dimension.
        let is_factor = |token: &Token<'_>| {
            let before = &self.cursor.text[..token.start];
            (token.is("*") || token.is("/")) && before.ends_with([' ', '\t'])
        };
        let dimension = dimension.filter(|_| !typed.iter().any(is_factor));
        self.span = self.cursor.word_span(in_unit);
        let number = self.cursor.before_word(self.span).last().copied();
        if let Some(number) = number
            && number.kind == TokenKind::Number
            && typed.iter().any(|token| token.start == number.start)
            && number.end() < self.cursor.offset
        {
            let here = &self.cursor.text[self.span.start as usize..];
            if begins_field(here)
                || (self.span.start == self.span.end && self.rest().starts_with('='))
            {
                self.span = present;
                return;
            }
            self.take_in(in_unit);
            // Right after `±` a share is possible too.
            let spread = typed.iter().any(|token| token.is("±"));
            self.units(dimension, spread);
            self.span = present;
            return;
        }
        self.span = present;
        match typed {
            [.., block, dot] if dot.is(".") && block.is_word() => self.paths(block.text, dimension),
            [] => self.operand(dimension),
            [.., last] if last.kind == TokenKind::Symbol => self.operand(dimension),
            _ => {}
        }
    }

    /// Offers names in place of the operand at the cursor or after it.
    fn operand(&mut self, dimension: Option<Dimension>) {
        let present = self.span;
        // The text after it may stay, as the rest of a sum or of a value.
        self.take_in_quantity();
        let rest = self.rest();
        let is_path = self.cursor.text[self.span.end as usize..].starts_with('.');
        if !rest.starts_with(['(', '{']) {
            self.names(dimension, is_path);
        }
        self.span = present;
    }

    /// Offers lets, and blocks whose fields may be named. Where a field is named already, only blocks are offered.
    fn names(&mut self, dimension: Option<Dimension>, is_path: bool) {
        let report = self.report;
        let system = self.tree();
        let resolver = report.resolver();
        let mut evaluator = resolver.evaluator(system);
        let lets = match is_path {
            true => Vec::new(),
            false => resolver.lets(system),
        };
        for item in lets {
            let span = item.node.name.span.to(item.node.value.span);
            // A let cannot contain itself.
            if item.source.name == report.source.name && self.is_typed(span) {
                continue;
            }
            let value = match evaluator.let_value(item) {
                Some(LetValue::Quantity(value)) => Some(value),
                _ => None,
            };
            let fits = match (&value, dimension) {
                (Some(value), Some(dimension)) => value.dimension == dimension,
                _ => true,
            };
            if fits {
                let shown = value.map(|value| self.show(value.band.nominal, value.dimension));
                let name = &item.node.name.text;
                self.add(CompletionKind::Let, name).detail = shown.unwrap_or_default();
            }
        }
        let components = self
            .worked()
            .into_iter()
            .flat_map(|worked| worked.system.components());
        for component in components {
            let block = &BLOCKS[component.block as usize];
            let has_one = |field: &Field| dimension.is_none_or(|d| field.dimension() == Some(d));
            let stands_once = !block.repeated && component.label.is_none();
            if stands_once && block.fields.iter().any(has_one) {
                let item = self.add(CompletionKind::Block, block.name);
                item.detail = "one of its values".to_owned();
                if !is_path {
                    item.insert = format!("{}.", block.name);
                }
            }
        }
    }

    fn paths(&mut self, block: &str, dimension: Option<Dimension>) {
        let Some(id) = Block::named(block).filter(|id| !BLOCKS[*id as usize].repeated) else {
            return;
        };
        let system = self.worked().map(|worked| &worked.system);
        for (i, field) in (0u8..).zip(BLOCKS[id as usize].fields) {
            let field_id = FieldId {
                block: id,
                field: i,
            };
            let fits = field
                .dimension()
                .is_some_and(|own| dimension.is_none_or(|d| d == own));
            let value = system.and_then(|system| system.number(field_id));
            if !fits || (system.is_some() && value.is_none()) {
                continue;
            }
            let shown = value
                .zip(field.dimension())
                .map(|(value, d)| self.show(value, d));
            let item = self.add(CompletionKind::Field, field.name);
            item.detail = shown.unwrap_or_default();
            item.doc = field.doc.to_owned();
        }
    }
}

/// Whether the typed text may be a whole value: `12 mm`, `7/8 in ± 1/32 in`, `reach`.
fn is_complete(typed: &[Token<'_>]) -> bool {
    let is_end = |last: &Token<'_>| last.is("%") || last.is_word() && last.text != "to";
    typed.last().is_some_and(is_end)
}

/// Whether the typed text has a tolerance.
fn is_banded(typed: &[Token<'_>]) -> bool {
    typed
        .iter()
        .any(|token| token.is("±") || token.text == "to")
}

/// Whether the last of some words after an equals sign can only be the name of the next field.
fn names_a_field(typed: &[Token<'_>]) -> bool {
    match typed {
        [.., before, last] if last.is_word() => match before.kind {
            TokenKind::Number => UnitExpr::parse(last.text).is_err(),
            TokenKind::Word => true,
            TokenKind::Symbol | TokenKind::Text => before.is("%"),
        },
        _ => false,
    }
}
