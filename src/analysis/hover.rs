//! What is known about a place, as a reader wants it: Markdown.

use super::names::{Reader, default_text, field_id};
use super::spot::{Spot, What, spot};
use super::{Report, Worked};
use crate::checks::{Check, Example};
use crate::mechanics::{Outcome, bore_area, piston_force, why_absent};
use crate::model::{Component, Given, Origin, System, Value};
use crate::quantity::{Band, Dimension, Display, UNITS, UnitExpr, significant};
use crate::schema::{BLOCKS, Block, FieldId, Kind, Presence, ResultId};
use crate::syntax::{self, Span};
use crate::{field, result};
use std::fmt::Write;

/// What is known about a place.
#[derive(Clone, PartialEq, Debug)]
pub struct Hover {
    pub markdown: String,
    /// What it is about.
    pub span: Span,
}

/// What is known about what stands at an offset.
pub fn hover(report: &Report, offset: u32) -> Option<Hover> {
    let spot = spot(&report.source.tree, offset)?;
    let markdown = Writer { report, spot }.markdown()?;
    Some(Hover {
        markdown,
        span: spot.span,
    })
}

struct Writer<'a> {
    report: &'a Report,
    spot: Spot<'a>,
}

/// A component at a place, and the system that it is seen in.
#[derive(Clone, Copy)]
struct Seen<'a> {
    worked: &'a Worked,
    component: &'a Component,
}

impl<'a> Seen<'a> {
    fn system(self) -> &'a System {
        &self.worked.system
    }

    fn outcome(self) -> Option<&'a Outcome> {
        self.worked.outcome.as_ref().ok()
    }
}

impl<'a> Writer<'a> {
    fn markdown(&self) -> Option<String> {
        match self.spot.what {
            What::UsePath(path) => self.used_file(&path.text),
            What::SystemName => self.system(self.spot.system?),
            What::Base(name) => self.base(&name.text),
            What::BlockName(name) => self.block(&name.text),
            What::Label => self.block(&self.spot.block?.block.text),
            What::PartName(part) => Some(self.part(&self.report.source, part)),
            What::PartMention { block, name } => {
                let (source, part) = self.report.part(&block.text, &name.text)?;
                Some(self.part(source, part))
            }
            What::FieldName(field) => self.field(&field.name.text, Some(&field.value)),
            What::FieldValue(field) => self.field(&field.name.text, Some(&field.value)),
            What::Unit { number, unit } => Some(unit_markdown(number, unit)),
            What::Word { field, word } => self.word(field, word),
            What::Path {
                block,
                field,
                on_block,
            } => self.path(&block.text, &field.text, on_block),
            What::LetName(item) | What::LetValue(item) => Some(self.let_markdown(item)),
            What::ResultName(name) => self.result(&name.text),
            What::CheckName(name) => Some(check_markdown(Check::named(&name.text)?)),
        }
    }

    // ---- where ----

    /// The block's name that a place stands in, be it a block's or a part's.
    fn block_name(&self) -> Option<&'a str> {
        let block = self.spot.block.map(|block| &block.block);
        let name = block.or(self.spot.part.map(|part| &part.block))?;
        Some(&name.text)
    }

    /// The component that a place stands in: of its system, or of the first that uses its part.
    fn seen(&self) -> Option<Seen<'a>> {
        if let Some(block) = self.spot.block {
            let worked = self.report.worked(self.spot.system?)?;
            let place = self.report.source.place(block.block.span);
            let component = worked.system.components().find(|c| c.place == place)?;
            return Some(Seen { worked, component });
        }
        let definition = self.report.source.place(self.spot.part?.name.span);
        let (worked, component) = self.report.user(&definition)?;
        Some(Seen { worked, component })
    }

    fn reader(&self) -> Reader<'a> {
        Reader {
            report: self.report,
            system: self.spot.system,
        }
    }

    // ---- fields ----

    fn field(&self, name: &str, value: Option<&syntax::Value>) -> Option<String> {
        let id = field_id(self.block_name()?, name)?;
        let seen = self.seen();
        let given = seen.and_then(|seen| seen.component.given(id));
        let mut out = field_head(id);
        match (given, value) {
            (Some(given), _) => value_line(&mut out, id, given, &self.report.source),
            (None, Some(value)) => {
                // No system says what this is; what the text alone says still helps.
                if let Some(constant) = self.reader().value(value) {
                    let shown =
                        author(unit_of(value)).show_both(constant.value, constant.dimension);
                    let _ = writeln!(out, "**{shown}**\n");
                }
            }
            (None, None) => {}
        }
        if let Some(seen) = seen {
            self.overridden(&mut out, id, value, seen);
            follows(&mut out, id, seen, self.spot.part.is_some());
        }
        default_and_source(&mut out, id);
        Some(out)
    }

    /// A field of a part whose user says something else.
    fn overridden(
        &self,
        out: &mut String,
        id: FieldId,
        value: Option<&syntax::Value>,
        seen: Seen<'_>,
    ) {
        let (Some(value), Some(given)) = (value, seen.component.given(id)) else {
            return;
        };
        if given.place != self.report.source.place(value.span) {
            let name = &seen.system().name;
            let _ = writeln!(out, "`{name}` gives its own value in place of this one.\n");
        }
    }

    fn path(&self, block: &str, field: &str, on_block: bool) -> Option<String> {
        let id = field_id(block, field)?;
        if on_block {
            return Some(format!("**`{block}`**\n\n{}\n", id.block().doc));
        }
        let worked = match self.spot.system {
            Some(system) => self.report.worked(system),
            None => self.seen().map(|seen| seen.worked),
        };
        let mut out = field_head(id);
        let system = worked.map(|worked| &worked.system);
        match system.and_then(|system| system.given(id)) {
            Some(given) => value_line(&mut out, id, given, &self.report.source),
            None => {
                if let Some(text) = default_text(id) {
                    let _ = writeln!(out, "**{text}**, assumed\n");
                }
            }
        }
        default_and_source(&mut out, id);
        Some(out)
    }

    fn word(&self, field: Option<&syntax::Field>, word: &str) -> Option<String> {
        if let Some(field) = field {
            let id = field_id(self.block_name()?, &field.name.text)?;
            if let Kind::Choice(choices) = id.field().kind {
                let choice = choices.iter().find(|choice| choice.name == word)?;
                let mut out = format!("**`{word}`** · `{}`\n\n{}\n\n", id.path(), choice.doc);
                let others: Vec<String> = choices
                    .iter()
                    .filter(|other| other.name != word)
                    .map(|other| format!("`{}`", other.name))
                    .collect();
                let _ = writeln!(out, "Otherwise: {}\n", others.join(", "));
                return Some(out);
            }
        }
        let (_, item) = self.report.let_named(self.spot.system, word)?;
        Some(self.let_markdown(item))
    }

    fn let_markdown(&self, item: &syntax::Let) -> String {
        let mut out = format!("**`let {}`**\n\n", item.name.text);
        match self.reader().value(&item.value) {
            Some(constant) => {
                let shown =
                    author(unit_of(&item.value)).show_both(constant.value, constant.dimension);
                let _ = writeln!(out, "**{shown}** · {}\n", constant.dimension);
            }
            None if matches!(item.value.kind, syntax::ValueKind::Curve(_)) => {
                out.push_str("A curve.\n");
            }
            None => {}
        }
        out
    }

    // ---- blocks, parts, systems ----

    fn block(&self, name: &str) -> Option<String> {
        let id = Block::named(name)?;
        let schema = &BLOCKS[id as usize];
        let mut out = format!("**`{name}`**\n\n{}\n\n", schema.doc);
        let Some(seen) = self.seen() else {
            return Some(out);
        };
        self.fields(&mut out, seen);
        results_table(&mut out, seen.worked, about(name), seen.system());
        Some(out)
    }

    fn fields(&self, out: &mut String, seen: Seen<'_>) {
        let component = seen.component;
        let assumed = seen.system().assumed();
        let mut rows = String::new();
        for (field, row) in (0u8..).zip(BLOCKS[component.block as usize].fields) {
            let id = FieldId {
                block: component.block,
                field,
            };
            let (value, from) = match component.given(id) {
                Some(given) => {
                    let from = match (given.origin, &component.part) {
                        (Origin::Own, _) => String::new(),
                        (Origin::Part, Some(part)) => format!("part `{}`", part.name),
                        (Origin::Part, None) => "part".to_owned(),
                        (Origin::Base, _) => "base".to_owned(),
                    };
                    (short_value(id, given), from)
                }
                None => match assumed.iter().find(|(known, _)| *known == id) {
                    Some((_, text)) => ((*text).to_owned(), "assumed".to_owned()),
                    None => continue,
                },
            };
            let _ = writeln!(rows, "| `{}` | {value} | {from} |", row.name);
        }
        if !rows.is_empty() {
            let _ = writeln!(out, "| field | value | from |\n|:--|--:|:--|\n{rows}");
        }
    }

    fn part(&self, source: &crate::model::Source, part: &syntax::Part) -> String {
        let (block, name) = (&part.block.text, &part.name.text);
        let mut out = format!("**`part {block} {name}`**");
        if source.name != self.report.source.name {
            let _ = write!(out, " · {}", source.name);
        }
        out.push_str("\n\n");
        let fields: String = part
            .body
            .statements
            .iter()
            .filter_map(|statement| match &statement.kind {
                syntax::StatementKind::Field(field) => Some(field),
                _ => None,
            })
            .map(|field| {
                let text = field.value.span.of(&source.text);
                format!("    {} = {text}\n", field.name.text)
            })
            .collect();
        let _ = writeln!(out, "```clutch\npart {block} {name} {{\n{fields}}}\n```\n");
        let definition = source.place(part.name.span);
        let users: Vec<String> = self
            .report
            .users(&definition)
            .iter()
            .map(|(worked, _)| format!("`{}`", worked.system.name))
            .collect();
        if users.is_empty() {
            out.push_str("No system of this file uses it.\n");
        } else {
            let _ = writeln!(out, "Used by {}\n", users.join(", "));
        }
        out
    }

    fn base(&self, name: &str) -> Option<String> {
        let (source, system) = self.report.system(name)?;
        if source.name == self.report.source.name {
            return self.system(system);
        }
        let mut out = format!("**`system {name}`** · {}\n\n", source.name);
        if let Some(title) = &system.title {
            let _ = writeln!(out, "{}\n", escape(&title.text));
        }
        Some(out)
    }

    fn system(&self, tree: &syntax::System) -> Option<String> {
        let worked = self.report.worked(tree)?;
        let system = &worked.system;
        let mut out = format!("**`system {}`**\n\n", system.name);
        if let Some(title) = &system.title {
            let _ = writeln!(out, "{}\n", escape(title));
        }
        if let Some(base) = &tree.base {
            let _ = writeln!(out, "Starts from `{}`.\n", base.text);
        }
        match &worked.outcome {
            Err(why) => {
                let _ = writeln!(out, "Not worked out: {}.\n", why.words());
            }
            Ok(_) => results_table(
                &mut out,
                worked,
                &ResultId::all().collect::<Vec<_>>(),
                system,
            ),
        }
        let assumed: Vec<String> = system
            .assumed()
            .into_iter()
            .map(|(id, text)| format!("`{}` {text}", id.path()))
            .collect();
        if !assumed.is_empty() {
            let _ = writeln!(out, "Assumed: {}\n", assumed.join(", "));
        }
        Some(out)
    }

    fn used_file(&self, path: &str) -> Option<String> {
        let name = crate::model::join(&self.report.source.name, path);
        let source = self.report.file(&name)?;
        let mut out = format!("**{name}**\n\n");
        let parts: Vec<String> = source
            .parts()
            .map(|part| format!("`{} {}`", part.block.text, part.name.text))
            .collect();
        let lets: Vec<String> = source
            .lets()
            .map(|item| format!("`{}`", item.name.text))
            .collect();
        for (kind, names) in [("Parts", parts), ("Lets", lets)] {
            if !names.is_empty() {
                let _ = writeln!(out, "{kind}: {}\n", names.join(", "));
            }
        }
        Some(out)
    }

    // ---- results ----

    fn result(&self, name: &str) -> Option<String> {
        let id = ResultId::named(name)?;
        let spec = id.spec();
        let mut out = format!("**`{name}`** · {}\n\n{}\n\n", spec.dimension, spec.doc);
        let worked = self.spot.system.and_then(|s| self.report.worked(s));
        if let Some(worked) = worked
            && let Ok(outcome) = &worked.outcome
        {
            let system = &worked.system;
            let shown = match outcome.get(id) {
                Some(value) => format!("**{}**", system.display.show_both(value, spec.dimension)),
                None => format!("absent: {}", why_absent(system, id)),
            };
            let _ = writeln!(out, "In `{}`: {shown}\n", system.name);
        }
        let _ = writeln!(out, "`{}`\n\n*{}*", spec.formula, spec.source);
        Some(out)
    }
}

// ---- values ----

/// Shows values the way the author of one value writes them.
fn author(unit: Option<&UnitExpr>) -> Display {
    let mut display = Display::default();
    if let Some(unit) = unit {
        display.learn(unit);
    }
    display
}

/// The unit that a value is written in, of those written plainly.
fn unit_of(value: &syntax::Value) -> Option<&UnitExpr> {
    let (syntax::ValueKind::Plain(expr) | syntax::ValueKind::Tolerance { nominal: expr, .. }) =
        &value.kind
    else {
        return None;
    };
    match &expr.kind {
        syntax::ExprKind::Quantity { unit, .. } => Some(unit),
        _ => None,
    }
}

fn field_head(id: FieldId) -> String {
    let field = id.field();
    let kind = match field.kind {
        Kind::Quantity(dimension) => dimension.to_string(),
        Kind::Window(dimension) => format!("{dimension}, from least to most"),
        Kind::Curve { x, y } => format!("curve of {y} over {x}"),
        Kind::CurveOrPeak { x, y } => format!("{y}, or a curve of it over {x}"),
        Kind::Choice(_) => "choice".to_owned(),
    };
    format!("**`{}`** · {kind}\n\n{}\n\n", id.path(), field.doc)
}

/// What a value says, in both systems of units.
fn value_line(out: &mut String, id: FieldId, given: &Given, source: &crate::model::Source) {
    let _ = match &given.value {
        Value::Quantity { band, .. } => {
            let dimension = id.field().dimension().unwrap_or_else(|| peak_dimension(id));
            let display = author(given.unit());
            let shown = display.show_both(band.nominal, dimension);
            let limits = band_words(*band, dimension, &display);
            writeln!(out, "**{shown}**{limits}\n")
        }
        Value::Window { low, high } => {
            let dimension = id.field().dimension().unwrap_or_default();
            let display = author(None);
            writeln!(
                out,
                "**{}** to **{}**\n",
                display.show_both(*low, dimension),
                display.show_both(*high, dimension)
            )
        }
        Value::Curve(points) => {
            let (x, y) = curve_dimensions(id);
            let display = author(None);
            let peak = points
                .iter()
                .copied()
                .reduce(|a, b| if b.1 > a.1 { b } else { a });
            match peak {
                Some((at, most)) => writeln!(
                    out,
                    "{} points; at most **{}**, at {}\n",
                    points.len(),
                    display.show_both(most, y),
                    display.show_both(at, x)
                ),
                None => Ok(()),
            }
        }
        Value::Word(word) => writeln!(out, "**`{word}`**\n"),
    };
    if given.place.file != source.name {
        let _ = writeln!(out, "Given in {}.\n", given.place.file);
    }
}

fn band_words(band: Band, dimension: Dimension, display: &Display) -> String {
    if band.is_exact() {
        return String::new();
    }
    format!(
        ", anywhere from {} to {}",
        display.show(band.low, dimension),
        display.show(band.high, dimension)
    )
}

fn curve_dimensions(id: FieldId) -> (Dimension, Dimension) {
    match id.field().kind {
        Kind::Curve { x, y } | Kind::CurveOrPeak { x, y } => (x, y),
        _ => (Dimension::NUMBER, Dimension::NUMBER),
    }
}

fn peak_dimension(id: FieldId) -> Dimension {
    curve_dimensions(id).1
}

/// A value in a table's cell.
fn short_value(id: FieldId, given: &Given) -> String {
    match &given.value {
        Value::Quantity { band, unit } => {
            let dimension = id.field().dimension().unwrap_or_else(|| peak_dimension(id));
            author(unit.as_ref()).show_both(band.nominal, dimension)
        }
        Value::Window { low, high } => {
            let dimension = id.field().dimension().unwrap_or_default();
            let display = author(None);
            format!(
                "{} to {}",
                display.show(*low, dimension),
                display.show(*high, dimension)
            )
        }
        Value::Curve(points) => {
            let most = points
                .iter()
                .map(|point| point.1)
                .fold(f64::NEG_INFINITY, f64::max);
            format!(
                "curve up to {}",
                author(None).show(most, peak_dimension(id))
            )
        }
        Value::Word(word) => format!("`{word}`"),
    }
}

fn default_and_source(out: &mut String, id: FieldId) {
    let field = id.field();
    if let Some(text) = default_text(id) {
        let _ = writeln!(out, "Left out, it is taken as {text}.\n");
    }
    if matches!(field.presence, Presence::Required) {
        out.push_str("It must be given.\n\n");
    }
    if !field.used {
        out.push_str("No result or check reads it so far.\n\n");
    }
    let _ = writeln!(out, "*{}*", field.source);
}

// ---- what follows ----

/// What follows from a field in the system that it is seen in.
fn follows(out: &mut String, id: FieldId, seen: Seen<'_>, name_it: bool) {
    let system = seen.system();
    let Some(outcome) = seen.outcome() else {
        return;
    };
    let mut rows = String::new();
    let mut row = |name: &str, value: f64, dimension| {
        let _ = writeln!(
            rows,
            "| {name} | {} |",
            system.display.show_both(value, dimension)
        );
    };
    if let Some((bore_area, pressure)) = area_at(id, seen, outcome) {
        row("area", bore_area, Dimension::AREA);
        if let Some(pressure) = pressure {
            row("pressure at full pedal", pressure, Dimension::PRESSURE);
            row(
                "force at full pedal, area × pressure",
                piston_force(pressure, bore_area),
                Dimension::FORCE,
            );
        }
    }
    let results = about_field(id);
    for id in results {
        if let Some(value) = outcome.get(*id) {
            row(&format!("`{}`", id.spec().name), value, id.spec().dimension);
        }
    }
    if rows.is_empty() {
        return;
    }
    let title = match name_it {
        true => format!("in `{}`", system.name),
        false => "what follows".to_owned(),
    };
    let _ = writeln!(out, "| {title} | |\n|:--|--:|\n{rows}");
}

/// The area that a bore makes, and the pressure on it at full pedal, if the field is a bore.
fn area_at(id: FieldId, seen: Seen<'_>, outcome: &Outcome) -> Option<(f64, Option<f64>)> {
    let number = |id| seen.component.given(id).and_then(Given::number);
    let area = if [field!(master.bore), field!(slave.bore), field!(line.bore)].contains(&id) {
        bore_area(number(id)?)
    } else if [field!(slave.outer), field!(slave.inner)].contains(&id) {
        bore_area(number(field!(slave.outer))?) - bore_area(number(field!(slave.inner))?)
    } else {
        return None;
    };
    // In a line nothing is pushed.
    let pushes = id != field!(line.bore);
    let pressure = || {
        let full = outcome.chain.walk()?.full_pedal()?;
        Some(full.state.pressure)
    };
    Some((area, pressure().filter(|_| pushes)))
}

/// The results that a block's part of the chain comes to.
fn about(block: &str) -> &'static [ResultId] {
    match block {
        "pedal" => {
            &const {
                [
                    result!(pedal_ratio),
                    result!(pedal_travel_used),
                    result!(release_point),
                    result!(stop_travel),
                    result!(pedal_effort),
                    result!(pedal_effort_full),
                    result!(pedal_effort_return),
                    result!(pedal_work),
                ]
            }
        }
        "master" => {
            &const {
                [
                    result!(master_travel),
                    result!(master_reserve),
                    result!(line_pressure),
                    result!(lost_port),
                    result!(hydraulic_ratio),
                ]
            }
        }
        "line" => &const { [result!(lost_hose), result!(line_pressure)] },
        "fluid" => {
            &const {
                [
                    result!(lost_fluid),
                    result!(lost_air),
                    result!(line_pressure),
                ]
            }
        }
        "slave" => {
            &const {
                [
                    result!(slave_travel),
                    result!(slave_travel_ideal),
                    result!(slave_reserve),
                    result!(hydraulic_ratio),
                    result!(rod_cut_length),
                ]
            }
        }
        "fork" => {
            &const {
                [
                    result!(fork_ratio),
                    result!(slave_travel),
                    result!(bearing_travel),
                    result!(lost_flex),
                ]
            }
        }
        "bearing" => {
            &const {
                [
                    result!(bearing_travel),
                    result!(finger_travel),
                    result!(wear_reserve),
                ]
            }
        }
        "cover" => {
            &const {
                [
                    result!(finger_travel),
                    result!(release_margin),
                    result!(overtravel_margin),
                    result!(release_point),
                    result!(stop_travel),
                    result!(plate_lift),
                    result!(wear_reserve),
                ]
            }
        }
        "disc" => &const { [result!(wear_reserve), result!(plate_lift)] },
        _ => &[],
    }
}

/// The results that a field bears on most.
fn about_field(id: FieldId) -> &'static [ResultId] {
    match (id.block().name, id.field().name) {
        ("pedal", "travel" | "stop" | "free_play") => {
            &const {
                [
                    result!(pedal_travel_used),
                    result!(master_travel),
                    result!(release_margin),
                ]
            }
        }
        ("pedal", "ratio" | "pad_arm" | "rod_arm" | "arm_angle" | "rod_length") => {
            &const {
                [
                    result!(pedal_ratio),
                    result!(pedal_effort),
                    result!(master_travel),
                ]
            }
        }
        ("pedal", _) => {
            &const {
                [
                    result!(pedal_effort),
                    result!(pedal_effort_return),
                    result!(pedal_work),
                ]
            }
        }
        ("master", "bore") => {
            &const {
                [
                    result!(master_travel),
                    result!(slave_travel),
                    result!(pedal_effort),
                ]
            }
        }
        ("master", "stroke") => &const { [result!(master_travel), result!(master_reserve)] },
        ("master", "port_travel" | "rod_clearance") => {
            &const { [result!(lost_port), result!(slave_travel)] }
        }
        ("master", "mount_stiffness") | ("fork", "stiffness") => {
            &const { [result!(lost_flex), result!(finger_travel)] }
        }
        ("line", "max_pressure") | ("slave", "max_pressure") | ("master", "max_pressure") => {
            &const { [result!(line_pressure)] }
        }
        ("slave", "bore" | "outer" | "inner") => {
            &const {
                [
                    result!(slave_travel),
                    result!(slave_travel_ideal),
                    result!(finger_travel),
                    result!(pedal_effort),
                ]
            }
        }
        ("slave", "stroke" | "rest_extension") => {
            &const { [result!(slave_travel), result!(slave_reserve)] }
        }
        ("slave", "mount_to_fork" | "face_to_seat") => &const { [result!(rod_cut_length)] },
        ("fork", "ratio" | "slave_arm" | "bearing_arm") => {
            &const {
                [
                    result!(fork_ratio),
                    result!(slave_travel),
                    result!(bearing_travel),
                    result!(pedal_effort),
                ]
            }
        }
        ("fork", "window") => &const { [result!(slave_travel)] },
        ("bearing", "max_travel") => &const { [result!(bearing_travel)] },
        ("cover", "release_travel") => {
            &const {
                [
                    result!(finger_travel),
                    result!(release_margin),
                    result!(overtravel_margin),
                ]
            }
        }
        ("cover", "release_load") => &const { [result!(line_pressure), result!(pedal_effort)] },
        ("cover", "finger_ratio") => &const { [result!(plate_lift), result!(wear_reserve)] },
        (block, _) => about(block),
    }
}

fn results_table(out: &mut String, worked: &Worked, ids: &[ResultId], system: &System) {
    let Ok(outcome) = &worked.outcome else { return };
    if ids.is_empty() {
        return;
    }
    let mut rows = String::new();
    for id in ids {
        let spec = id.spec();
        let _ = match outcome.get(*id) {
            Some(value) => writeln!(
                rows,
                "| `{}` | {} |",
                spec.name,
                system.display.show_both(value, spec.dimension)
            ),
            None => writeln!(rows, "| `{}` | *{}* |", spec.name, why_absent(system, *id)),
        };
    }
    let _ = writeln!(out, "| result | |\n|:--|--:|\n{rows}");
}

// ---- units and checks ----

fn unit_markdown(number: f64, unit: &UnitExpr) -> String {
    let dimension = unit.dimension();
    let mut out = format!("**`{unit}`** · {dimension}\n\n{}\n\n", unit_words(unit));
    let shown = author(Some(unit)).show_both(unit.inward(number), dimension);
    let own = format!("{} {unit}", significant(number, 3));
    if shown != own {
        let _ = writeln!(out, "{shown}\n");
    }
    out
}

/// A unit's full name: `cubic centimetre per foot`.
fn unit_words(unit: &UnitExpr) -> String {
    let text = unit.to_string();
    let mut words = String::new();
    let mut rest = text.as_str();
    let mut joint = "";
    while !rest.is_empty() {
        let end = rest.find(['*', '/']).unwrap_or(rest.len());
        let (atom, after) = rest.split_at(end);
        let (name, power) = atom.split_once('^').unwrap_or((atom, "1"));
        let full = UNITS
            .iter()
            .find(|unit| unit.name == name)
            .map_or(name, |unit| unit.doc);
        words.push_str(joint);
        let _ = match power {
            "1" => write!(words, "{full}"),
            "2" => write!(words, "square {full}"),
            "3" => write!(words, "cubic {full}"),
            power => write!(words, "{full} to the {power}"),
        };
        joint = if after.starts_with('/') {
            " per "
        } else {
            " times "
        };
        rest = after.get(1..).unwrap_or_default();
    }
    words
}

fn check_markdown(check: &Check) -> String {
    let mut out = format!(
        "**`{}`** · {}\n\n{}\n\n{}\n\n",
        check.name,
        check.severity.name(),
        check.finds,
        check.why
    );
    for limit in check.limits {
        let _ = writeln!(
            out,
            "- {}: {} (*{}*)",
            limit.what,
            author(None).show_both(limit.value, limit.dimension),
            limit.source
        );
    }
    if !check.limits.is_empty() {
        out.push('\n');
    }
    for (words, example) in [("Raises it:", check.bad), ("Does not:", check.good)] {
        let (Example::System(text) | Example::File(text)) = example;
        let _ = writeln!(out, "{words}\n```clutch\n{}\n```\n", text.trim());
    }
    let _ = writeln!(out, "*{}*", check.source);
    out
}

/// An author's own text, so that Markdown shows it as it is.
fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        if c.is_ascii_punctuation() && !matches!(c, ',' | '.' | ':' | ';' | '\'' | '"' | '?') {
            out.push('\\');
        }
        out.push(c);
    }
    out
}
