//! What is known about a place, in Markdown for a reader.

mod follows;
mod measured;
mod steps;
mod summary;
mod values;

use super::hover_content::{Hover, add_terms, both, check_markdown};
use super::settings_help::hover_settings;
use super::{Located, Report, Worked};
use crate::block;
use crate::checks::Check;
use crate::finding::{FileName, Place};
use crate::model::{
    Component, Function, Given, LetValue, Origin, PRICE, PRICE_DOC, Resolved, Resolver, Spot,
    System, What, spot,
};
use crate::quantity::Display;
use crate::schema::{BLOCKS, Block, Choice, FieldId, Kind, Presence, ResultId, Typical};
use crate::settings::is_settings;
use crate::solve::{Outcome, why_absent};
use crate::syntax::{self, quoted};
use follows::{results_table, what_follows};
use std::fmt::Write;
use steps::{moved_by_block, one_step_each_way};
use values::{unit_markdown, unit_of, value_in_brief, value_in_full};

/// The systems of other files that use a part: their files and names. The part is given by the place of its name.
pub type UsersElsewhere<'a> = &'a dyn Fn(&Place) -> Vec<(FileName, String)>;

/// What is known about the thing at an offset.
pub fn hover(report: &Report, offset: u32) -> Option<Hover> {
    hover_among(report, offset, &|_| Vec::new())
}

/// What is known about the thing at an offset, with the other files.
pub fn hover_among(report: &Report, offset: u32, elsewhere: UsersElsewhere<'_>) -> Option<Hover> {
    if is_settings(&report.source.name) {
        return hover_settings(report, offset);
    }
    let spot = spot(&report.source.tree, offset)?;
    let resolver = report.resolver();
    let writer = Writer {
        report,
        resolved: resolver.resolve(spot),
        system: resolver.context(spot),
        resolver,
        spot,
        elsewhere,
    };
    let mut markdown = writer.markdown()?;
    let name = writer.explained();
    let terms = name.map_or_else(Vec::new, |name| add_terms(&mut markdown, &name));
    Some(Hover {
        terms,
        drawing_at: matches!(spot.what, What::SystemName)
            .then(|| markdown.find("\n\n").map(|end| end + 2))
            .flatten(),
        markdown,
        span: spot.span,
    })
}

struct Writer<'a> {
    report: &'a Report,
    resolver: Resolver<'a>,
    spot: Spot<'a>,
    resolved: Option<Resolved<'a>>,
    /// The system through which it is seen.
    system: Option<&'a syntax::System>,
    elsewhere: UsersElsewhere<'a>,
}

/// The most systems that are named; more are only counted.
const MOST_USERS: usize = 12;

/// A component at a place, and the system through which it is seen.
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
        self.worked.outcome.as_deref().ok()
    }
}

impl<'a> Writer<'a> {
    fn markdown(&self) -> Option<String> {
        match self.spot.what {
            What::UsePath(_) => self.used_file(),
            What::SystemName => self.system(self.spot.system?),
            What::Base(_) => self.base(),
            What::BlockName(name) => self.block(&name.text),
            What::Label(_) => match self.resolved {
                Some(Resolved::Part(part)) => Some(self.part(part.source, part.node)),
                _ => self.block(&self.spot.block?.block.text),
            },
            What::PartName(_) | What::PartMention { .. } => match self.resolved? {
                Resolved::Part(part) => Some(self.part(part.source, part.node)),
                _ => None,
            },
            What::FieldName(field) => self.field(&field.name.text, Some(&field.value)),
            What::FieldValue(field) => self.field(&field.name.text, Some(&field.value)),
            What::Unit { number, unit } => Some(unit_markdown(number, unit)),
            What::Word { .. } => self.word(),
            What::Path {
                block,
                field,
                on_block,
            } => self.path(&block.text, &field.text, on_block),
            What::LetName(item) | What::LetValue(item) => {
                let value = self.resolver.evaluator(self.system).value(&item.value);
                Some(let_markdown(item, value, &self.display()))
            }
            What::Function(name) => function(&name.text),
            What::ResultName(name) => self.result(&name.text),
            What::CheckName(name) => Some(check_markdown(
                Check::named(&name.text)?,
                &self.report.settings,
            )),
        }
    }

    /// The block, field, result or check named at a place, by the name under which the table of words has it.
    fn explained(&self) -> Option<String> {
        match self.spot.what {
            What::BlockName(name) => Some(name.text.clone()),
            What::FieldName(field) | What::FieldValue(field) => {
                Some(FieldId::named(self.block_name()?, &field.name.text)?.path())
            }
            What::Path {
                block,
                on_block: true,
                ..
            } => Some(block.text.clone()),
            What::Path { block, field, .. } => {
                Some(FieldId::named(&block.text, &field.text)?.path())
            }
            What::ResultName(name) | What::CheckName(name) => Some(name.text.clone()),
            _ => None,
        }
    }

    // ---- where ----

    /// The name of the block or of the part's block around a place.
    fn block_name(&self) -> Option<&'a str> {
        let block = self.spot.block.map(|block| &block.block);
        let name = block.or(self.spot.part.map(|part| &part.block))?;
        Some(&name.text)
    }

    /// The component around a place, in its system or in the first system that uses its part.
    fn seen(&self) -> Option<Seen<'a>> {
        if let Some(block) = self.spot.block {
            let worked = self.report.worked(self.spot.system?)?;
            let place = self.report.source.place(block.block.span);
            let component = worked.system.components().find(|c| c.place == place)?;
            return Some(Seen { worked, component });
        }
        let definition = self.report.source.place(self.spot.part?.name.span);
        let worked = self.report.worked(self.system?)?;
        let is_taken = |component: &&Component| {
            let part = component.part.as_ref();
            part.is_some_and(|part| part.definition == definition)
        };
        let component = worked.system.components().find(is_taken)?;
        Some(Seen { worked, component })
    }

    /// The component as its system is shown. If the results are from before a mistake, the hover says so, and the
    /// component is the one of that time.
    fn before(&self, out: &mut String, seen: Seen<'a>) -> Seen<'a> {
        let shown = self.shown(out, seen.worked);
        let now = seen.component;
        let is_same = |then: &&Component| then.block == now.block && then.label == now.label;
        match shown.system.components().find(is_same) {
            Some(component) => Seen {
                worked: shown,
                component,
            },
            None => seen,
        }
    }

    /// The results of a system that are shown. If they are from before a mistake, the hover says so.
    fn shown(&self, out: &mut String, worked: &'a Worked) -> &'a Worked {
        let located = self.report.located(worked.system.place.span);
        let Some(shown) = located.map(Located::shown) else {
            return worked;
        };
        if let Some(mistake) = shown.mistake {
            let mistake = self.report.mistake_words(mistake);
            let _ = writeln!(out, "Results from before {mistake}:\n");
        }
        shown.worked
    }

    // ---- fields ----

    /// How values are shown to the author at the place.
    fn display(&self) -> Display {
        let worked = self.system.and_then(|system| self.report.worked(system));
        self.report.display(worked)
    }

    fn field(&self, name: &str, value: Option<&syntax::Value>) -> Option<String> {
        let id = FieldId::named(self.block_name()?, name)?;
        let seen = self.seen();
        let given = seen.and_then(|seen| seen.component.given(id));
        let mut out = field_head(id);
        match (given, value) {
            (Some(given), _) => self.given(&mut out, id, given, seen.map(|seen| seen.worked)),
            (None, Some(value)) => {
                // No system gives this a meaning; the text alone still helps.
                let own = self.resolver.evaluator(self.system).value(value);
                if let Some(LetValue::Quantity(own)) = own {
                    let usual = self.display().unit(own.dimension);
                    let unit = unit_of(value).or(usual.as_ref());
                    let shown = both(own.band.nominal, own.dimension, unit);
                    let _ = writeln!(out, "**{shown}**\n");
                }
            }
            (None, None) => {}
        }
        if let Some(seen) = seen {
            self.overridden(&mut out, id, value, seen);
            let seen = self.before(&mut out, seen);
            let name_it = self.spot.part.is_some();
            what_follows(&mut out, id, seen, &self.report.settings, name_it);
            one_step_each_way(&mut out, id, seen, name_it);
        }
        default_and_source(&mut out, id, &self.display());
        Some(out)
    }

    /// The given value of a field, and where it is given, if that is in another file.
    fn given(&self, out: &mut String, id: FieldId, given: &Given, worked: Option<&Worked>) {
        let own = Display::default();
        let display = worked.map_or(&own, |worked| &worked.system.display);
        let _ = writeln!(out, "{}\n", value_in_full(id, given, display));
        if given.place.file != self.report.source.name {
            let file = self.report.shown_name(&given.place.file);
            let _ = writeln!(out, "Given in {file}.\n");
        }
    }

    /// A field of a part for which a user of the part gives another value.
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
        let id = FieldId::named(block, field)?;
        if on_block {
            return Some(format!("**`{block}`**\n\n{}\n", id.block().doc));
        }
        let worked = self.system.and_then(|system| self.report.worked(system));
        let mut out = field_head(id);
        let system = worked.map(|worked| &worked.system);
        match system.and_then(|system| system.given(id)) {
            Some(given) => self.given(&mut out, id, given, worked),
            None => {
                if let Some(text) = id.field().default_shown(&self.display()) {
                    let _ = writeln!(out, "**{text}**, assumed\n");
                }
            }
        }
        default_and_source(&mut out, id, &self.display());
        Some(out)
    }

    fn word(&self) -> Option<String> {
        let item = match self.resolved? {
            Resolved::Choice(id, choice) => return Some(choice_markdown(id, choice)),
            Resolved::Let(item) => item,
            _ => return None,
        };
        let value = self.resolver.evaluator(self.system).let_value(item);
        Some(let_markdown(item.node, value, &self.display()))
    }

    // ---- blocks, parts, systems ----

    fn block(&self, name: &str) -> Option<String> {
        let id = Block::named(name)?;
        let schema = &BLOCKS[id as usize];
        let mut out = format!("**`{name}`**\n\n{}\n\n", schema.doc);
        let Some(seen) = self.seen() else {
            return Some(out);
        };
        if id == block!(measured) {
            let mut since = String::new();
            let shown = self.before(&mut since, seen);
            if let Some(visit) = measured::visit(shown) {
                return Some(out + &since + &visit);
            }
        }
        Self::fields(&mut out, seen);
        let seen = self.before(&mut out, seen);
        results_table(&mut out, seen.worked, &moved_by_block(seen), seen.system());
        Some(out)
    }

    fn fields(out: &mut String, seen: Seen<'_>) {
        let component = seen.component;
        let assumed = seen.system().assumed_shown();
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
                    (value_in_brief(id, given, &seen.system().display), from)
                }
                None => match assumed.iter().find(|(known, _)| *known == id) {
                    Some((_, text)) => (text.clone(), "assumed".to_owned()),
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
            let _ = write!(out, " · {}", self.report.shown_name(&source.name));
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
                let text = source.text_of(field.value.span);
                format!("    {} = {text}\n", field.name.text)
            })
            .collect();
        let _ = writeln!(out, "```clutch\npart {block} {name} {{\n{fields}}}\n```\n");
        let definition = source.place(part.name.span);
        let here = self.report.users(&definition);
        let here = here
            .iter()
            .map(|(worked, _)| format!("`{}`", worked.system.name));
        let elsewhere = (self.elsewhere)(&definition);
        let elsewhere = elsewhere.iter().map(|(file, system)| {
            let file = file.rsplit('/').next().unwrap_or(file);
            format!("`{system}` ({file})")
        });
        let mut users: Vec<String> = here.chain(elsewhere).collect();
        let more = users.len().saturating_sub(MOST_USERS);
        if more > 0 {
            users.truncate(MOST_USERS);
            users.push(format!("and {more} more"));
        }
        if users.is_empty() {
            out.push_str("No system of this file uses it.\n");
        } else {
            let _ = writeln!(out, "Used by {}\n", users.join(", "));
        }
        out
    }

    fn base(&self) -> Option<String> {
        let Resolved::System(base) = self.resolved? else {
            return None;
        };
        let (source, system, name) = (base.source, base.node, &base.node.name.text);
        if source.name == self.report.source.name {
            return self.system(system);
        }
        let file = self.report.shown_name(&source.name);
        let mut out = format!("**`system {name}`** · {file}\n\n");
        if let Some(title) = &system.title {
            let _ = writeln!(out, "{}\n", escape(&title.text));
        }
        Some(out)
    }

    fn system(&self, tree: &syntax::System) -> Option<String> {
        let located = self.report.located(tree.name.span)?;
        Some(summary::system(self.report, tree, located))
    }

    fn used_file(&self) -> Option<String> {
        let Resolved::File(source) = self.resolved? else {
            return None;
        };
        let mut out = format!("**{}**\n\n", self.report.shown_name(&source.name));
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
        if name == PRICE {
            return Some(self.price());
        }
        let id = ResultId::named(name)?;
        let spec = id.spec();
        let mut out = format!("**`{name}`** · {}\n\n{}\n\n", spec.dimension, spec.doc);
        let worked = self.spot.system.and_then(|s| self.report.worked(s));
        let shown = worked.map(|worked| self.shown(&mut out, worked));
        if let Some(worked) = shown
            && let Ok(outcome) = &worked.outcome
        {
            let system = &worked.system;
            let shown = match outcome.get(id) {
                Some(value) => format!("**{}**", id.show_both(value, &system.display)),
                None => format!("absent: {}", why_absent(system, id)),
            };
            let _ = writeln!(out, "In `{}`: {shown}\n", system.name);
        }
        let _ = writeln!(out, "`{}`\n\n*{}*", spec.formula, spec.source);
        Some(out)
    }

    /// What all parts of a system cost together.
    fn price(&self) -> String {
        let mut out = format!("**`{PRICE}`** · amount of money\n\n{PRICE_DOC}\n\n");
        let worked = self.spot.system.and_then(|s| self.report.worked(s));
        let system = worked.map(|worked| &worked.system);
        if let Some(system) = system.filter(|system| system.chooses.is_empty()) {
            let cost = system.cost();
            let mut shown: Vec<String> = cost.sums.iter().map(|sum| format!("**{sum}**")).collect();
            if !cost.unpriced.is_empty() {
                shown.push(format!("no price listed for {}", cost.unpriced.join(", ")));
            }
            let _ = writeln!(out, "In `{}`: {}\n", system.name, shown.join(", "));
        }
        out
    }
}

fn choice_markdown(id: FieldId, choice: &Choice) -> String {
    let mut out = format!(
        "**`{}`** · `{}`\n\n{}\n\n",
        choice.name,
        id.path(),
        choice.doc
    );
    if let Kind::Choice(choices) = id.field().kind {
        let others = choices.iter().filter(|other| other.name != choice.name);
        let others: Vec<String> = others.map(|other| format!("`{}`", other.name)).collect();
        let _ = writeln!(out, "Otherwise: {}\n", others.join(", "));
    }
    out
}

fn let_markdown(item: &syntax::Let, value: Option<LetValue>, display: &Display) -> String {
    let mut out = format!("**`let {}`**\n\n", item.name.text);
    match value {
        Some(LetValue::Quantity(value)) => {
            let usual = display.unit(value.dimension);
            let unit = unit_of(&item.value).or(usual.as_ref());
            let shown = both(value.band.nominal, value.dimension, unit);
            let _ = writeln!(out, "**{shown}** · {}\n", value.dimension);
        }
        Some(LetValue::Text(text)) => {
            let _ = writeln!(out, "**{}** · text\n", escape(&quoted(&text)));
        }
        _ if matches!(item.value.kind, syntax::ValueKind::Curve { .. }) => {
            out.push_str("A curve.\n")
        }
        _ => {}
    }
    out
}

fn function(name: &str) -> Option<String> {
    let Function { name, doc, .. } = Function::named(name)?;
    Some(format!("**`{name}`**\n\nGives {doc}.\n"))
}

fn field_head(id: FieldId) -> String {
    let field = id.field();
    let kind = match field.kind {
        Kind::Quantity(dimension) => dimension.to_string(),
        Kind::Window(dimension) => format!("{dimension}, from least to most"),
        Kind::Curve { x, y } => format!("curve of {y} over {x}"),
        Kind::CurveOrPeak { x, y } => format!("{y}, or a curve of it over {x}"),
        Kind::Choice(_) => "choice".to_owned(),
        Kind::Text => "text in quotes".to_owned(),
        Kind::Money => "amount of money".to_owned(),
        Kind::Count => "number of pieces".to_owned(),
    };
    format!("**`{}`** · {kind}\n\n{}\n\n", id.path(), field.doc)
}

/// The usual values in cars that work, if they are known.
fn usual(out: &mut String, id: FieldId, display: &Display) {
    if let Some(row) = Typical::of(id) {
        let _ = writeln!(out, "Usually {} (*{}*).\n", row.words(display), row.source);
    }
}

fn default_and_source(out: &mut String, id: FieldId, display: &Display) {
    let field = id.field();
    usual(out, id, display);
    if let Some(text) = field.default_shown(display) {
        let _ = writeln!(out, "Left out, it is taken as {text}.\n");
    }
    if matches!(field.presence, Presence::Required) {
        out.push_str("It must be given.\n\n");
    }
    let _ = writeln!(out, "*{}*", field.source);
}

/// An author's text, escaped so that Markdown shows it unchanged.
pub(in crate::analysis) fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        if c.is_ascii_punctuation() && !matches!(c, ',' | '.' | ':' | ';' | '\'' | '"' | '?') {
            out.push('\\');
        }
        out.push(c);
    }
    out
}
