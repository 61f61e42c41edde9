//! What may be written at a place.

use super::cursor::{Cursor, Kind as TokenKind, Level, Open, Token, in_check, in_name, in_unit};
use super::names::{Reader, default_text, field_id};
use super::settings_help::complete_settings;
use super::spot::is_repeated;
use super::{Edit, Report, Worked, analyse};
use crate::checks::{CHECKS, COMMON_BORES, written};
use crate::field;
use crate::finding::FileName;
use crate::model::{Component, Files, Source};
use crate::quantity::{Dimension, UNITS, UnitExpr, UnitSystem, usual_unit};
use crate::schema::{
    BLOCKS, Better, Block, BlockId, Field, FieldId, Kind, Presence, RESULTS, ResultId,
};
use crate::settings::{Settings, is_settings};
use crate::syntax::{self, Body, Span, Statement, StatementKind};
use std::collections::HashSet;
use std::sync::Arc;

/// Something that may be written at a place.
#[derive(Clone, PartialEq, Debug)]
pub struct Completion {
    pub label: String,
    pub kind: CompletionKind,
    /// A few words beside the label.
    pub detail: String,
    /// Markdown.
    pub doc: String,
    /// What takes the place of `span`.
    pub insert: String,
    /// The same with places to fill in, in the snippet syntax of LSP.
    pub snippet: Option<String>,
    pub span: Span,
    /// What else must change in the file: the `use` of a part that it does not see yet.
    pub edits: Vec<Edit>,
}

/// A file of parts that could be used.
#[derive(Clone, Debug)]
pub struct Shelf {
    /// Its path as a `use` of the file would write it.
    pub path: String,
    pub source: Arc<Source>,
}

/// The files of parts around a file, looked for only where a part is wanted.
pub type Shelves<'a> = &'a dyn Fn() -> Vec<Shelf>;

#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum CompletionKind {
    Keyword,
    Block,
    Field,
    Part,
    System,
    Unit,
    Value,
    Choice,
    Let,
    Result,
    Check,
    Operator,
}

/// More than this nobody looks through.
const MOST: usize = 1000;

/// What may be written at an offset, likeliest first.
pub fn completions(report: &Report, offset: u32) -> Vec<Completion> {
    completions_among(report, offset, &Vec::new)
}

/// What may be written at an offset, with the parts of files that are not used yet.
///
/// Accepted, a completion repeats nothing of what stands behind the cursor: it takes the place of
/// what is of its own kind there, and leaves out of itself what is there already.
pub fn completions_among(report: &Report, offset: u32, shelves: Shelves<'_>) -> Vec<Completion> {
    if is_settings(&report.source.name) {
        return complete_settings(report, offset);
    }
    let Some(cursor) = Cursor::new(&report.source.text, offset) else {
        return Vec::new();
    };
    let mut writer = Writer {
        report,
        span: number_at(&cursor).unwrap_or_else(|| cursor.word_span(in_name)),
        cursor,
        shelves,
        found: Vec::new(),
    };
    writer.complete();
    writer.found.truncate(MOST);
    writer.found
}

struct Writer<'a> {
    report: &'a Report,
    cursor: Cursor<'a>,
    /// What a completion replaces.
    span: Span,
    shelves: Shelves<'a>,
    found: Vec<Completion>,
}

impl<'a> Writer<'a> {
    fn add(&mut self, kind: CompletionKind, label: impl Into<String>) -> &mut Completion {
        let label = label.into();
        self.found.push(Completion {
            insert: label.clone(),
            label,
            kind,
            detail: String::new(),
            doc: String::new(),
            snippet: None,
            span: self.span,
            edits: Vec::new(),
        });
        let last = self.found.len() - 1;
        &mut self.found[last]
    }

    // ---- what stands behind the cursor ----

    /// What stands behind the span on its line, up to a comment.
    fn rest(&self) -> &'a str {
        let rest = &self.cursor.text[self.span.end as usize..];
        let line = rest.split(['\n', '\r', '#']).next().unwrap_or_default();
        line.trim_start_matches([' ', '\t', '\u{00A0}'])
    }

    /// Whether the statement ends behind the span, or another one begins there.
    fn ends_here(&self) -> bool {
        let rest = self.rest();
        rest.is_empty() || rest.starts_with(['}', ',']) || begins_field(rest)
    }

    /// Takes in the word that stands behind blanks where none stands at the cursor, if it is one of
    /// these and not the beginning of the next statement.
    fn take_in(&mut self, takes: fn(char) -> bool) {
        let rest = self.rest();
        let is_word = |c: char| c.is_alphabetic() || matches!(c, '_' | '%' | '°' | '<' | '>');
        if self.span.start < self.span.end || !rest.starts_with(is_word) || begins_field(rest) {
            return;
        }
        let length = rest.find(|c| !takes(c)).unwrap_or(rest.len());
        if !matches!(&rest[..length], "to" | "from") {
            let start = self.start_of(rest);
            self.span.end = (start + length) as u32;
        }
    }

    /// The same where a part's name follows: only what is a block's name.
    fn take_in_block(&mut self) {
        let present = self.span;
        self.take_in(in_name);
        let word = self.span.of(self.cursor.text).trim();
        if Block::named(word).is_none() && present.start == present.end {
            self.span = present;
        }
    }

    /// Where a piece of the text begins in it.
    fn start_of(&self, rest: &str) -> usize {
        let line = &self.cursor.text[self.span.end as usize..];
        let blanks = line.trim_start_matches([' ', '\t', '\u{00A0}']);
        debug_assert!(blanks.starts_with(rest));
        self.cursor.text.len() - blanks.len()
    }

    /// Takes in the quantity that stands at the cursor or behind blanks: number, fraction, unit.
    /// Says whether what is left behind it ends the value, or goes on with the rest of one.
    fn take_in_quantity(&mut self) -> bool {
        let rest = self.rest();
        if self.ends_here() {
            return true;
        }
        let end = quantity_end(rest);
        if end > 0 {
            self.span.end = (self.start_of(rest) + end) as u32;
        }
        let rest = self.rest();
        self.ends_here()
            || rest.starts_with('±')
            || rest.starts_with("to ")
            || rest.starts_with(['"', ':'])
    }

    fn complete(&mut self) {
        let before: Vec<Token<'a>> = self.cursor.before_word(self.span).to_vec();
        let innermost = self.cursor.innermost().cloned();
        match innermost {
            None => self.file(&before),
            Some(open) => match open.level {
                Level::System => self.system(&before),
                Level::Block => self.block(&open, &before),
                Level::Curve => self.curve(&open, &before),
            },
        }
    }

    // ---- file ----

    fn file(&mut self, before: &[Token<'a>]) {
        let words: Vec<&str> = before.iter().map(|token| token.text).collect();
        match words.as_slice() {
            [] => {
                for (word, doc, snippet) in [
                    (
                        "system",
                        "One system to check.",
                        "system ${1:name} \"${2:title}\" {\n    $0\n}",
                    ),
                    (
                        "part",
                        "A component to use again.",
                        "part ${1:slave} ${2:name} {\n    $0\n}",
                    ),
                    ("let", "A named value.", "let ${1:name} = $0"),
                    (
                        "use",
                        "Brings in the parts and lets of another file.",
                        "use \"$1\"$0",
                    ),
                ] {
                    self.keyword(word, doc, snippet);
                }
            }
            ["part"] => {
                self.take_in_block();
                for block in BLOCKS.iter().filter(|block| !block.repeated) {
                    self.add(CompletionKind::Block, block.name).doc = block.doc.to_owned();
                }
            }
            ["system", .., "from"] => self.bases(words[1]),
            ["system", _] | ["system", _, _] if !self.rest().starts_with(['"', 'f']) => {
                self.keyword("from", "The system that this one starts from.", "from $0");
            }
            ["let", _, "=", ..] => self.expression(&before[3..], None),
            _ => {}
        }
    }

    fn keyword(&mut self, word: &str, doc: &str, snippet: &str) {
        let is_alone = self.ends_here();
        let item = self.add(CompletionKind::Keyword, word);
        item.doc = doc.to_owned();
        item.snippet = is_alone.then(|| snippet.to_owned());
    }

    fn bases(&mut self, but: &str) {
        self.take_in(in_name);
        let report = self.report;
        for source in report.sources() {
            for system in source.systems().filter(|system| system.name.text != but) {
                let item = self.add(CompletionKind::System, &system.name.text);
                if let Some(title) = &system.title {
                    item.detail = title.text.clone();
                }
            }
        }
    }

    // ---- system ----

    fn tree(&self) -> Option<&'a syntax::System> {
        let name = self.cursor.system_head()?;
        let start = name.start as u32;
        self.report
            .source
            .systems()
            .find(|system| system.name.span.start == start)
    }

    fn worked(&self) -> Option<&'a Worked> {
        self.report.worked(self.tree()?)
    }

    fn system(&mut self, before: &[Token<'a>]) {
        let words: Vec<&str> = before.iter().map(|token| token.text).collect();
        match words.as_slice() {
            [] => {
                self.blocks();
                self.system_keywords();
            }
            ["require"] => self.results(),
            ["require", result] => self.comparisons(result),
            ["require", result, operator, ..] if operator.starts_with(['<', '>']) => {
                let dimension = ResultId::named(result).map(|id| id.spec().dimension);
                // `<=` is two tokens.
                let from = 2 + before[2..]
                    .iter()
                    .take_while(|t| t.kind == TokenKind::Symbol)
                    .count();
                if before.len() == from {
                    self.present_value(result);
                }
                self.expression(&before[from..], dimension);
            }
            ["allow", ..] if before.iter().all(|t| t.is_word() || t.is("-")) => self.checks(),
            ["choose"] => self.choosable(),
            // Between two names stands a comma.
            ["choose", block, named @ ..] if named.last().is_none_or(|last| *last == ",") => {
                let already: Vec<&str> = named.to_vec();
                self.parts(block, &already);
            }
            ["let", _, "=", ..] => self.expression(&before[3..], None),
            [block] if !is_repeated(block) => self.parts(block, &[]),
            _ => {}
        }
    }

    /// The comparisons of a result, the one that is usual for it first.
    fn comparisons(&mut self, result: &str) {
        self.take_in(|c| matches!(c, '<' | '>' | '='));
        let mut offered = [
            ("<=", "at most"),
            (">=", "at least"),
            ("<", "below"),
            (">", "above"),
        ];
        let better = ResultId::named(result).map(|id| id.spec().better);
        if better == Some(Better::More) {
            offered.swap(0, 1);
            offered.swap(2, 3);
        }
        for (operator, doc) in offered {
            self.add(CompletionKind::Operator, operator).doc = doc.to_owned();
        }
    }

    /// What a result is now, as a limit for it.
    fn present_value(&mut self, result: &str) {
        if self.span.start < self.span.end || !self.ends_here() {
            return;
        }
        let without = self.without_statement();
        let name = self.cursor.system_head().map(|name| name.text);
        let shown = without
            .iter()
            .flat_map(Report::worked_systems)
            .find_map(|worked| {
                let id = ResultId::named(result)?;
                let is_it = Some(worked.system.name.as_str()) == name;
                let outcome = worked.outcome.as_ref().ok().filter(|_| is_it)?;
                Some(worked.system.show(outcome.get(id)?, id.spec().dimension))
            });
        if let Some(shown) = shown {
            self.add(CompletionKind::Value, shown).detail = "what it is now".to_owned();
        }
    }

    fn system_keywords(&mut self) {
        for (word, doc, snippet) in [
            ("let", "A named value.", "let ${1:name} = $0"),
            ("require", "A limit of your own on a result.", "require $0"),
            ("allow", "Silences a check here, with a reason.", "allow $0"),
            (
                "choose",
                "Every combination of parts is a system of its own.",
                "choose $0",
            ),
        ] {
            self.keyword(word, doc, snippet);
        }
    }

    fn blocks(&mut self) {
        let own: HashSet<&str> = self
            .tree()
            .into_iter()
            .flat_map(|tree| &tree.body.statements)
            .filter_map(|statement| match &statement.kind {
                StatementKind::Block(block) if !self.is_typed(block.block.span) => {
                    Some(block.block.text.as_str())
                }
                _ => None,
            })
            .collect();
        let system = self.worked().map(|worked| &worked.system);
        let mut blocks: Vec<(BlockId, &Block)> = (0u8..)
            .zip(BLOCKS)
            .filter(|(_, block)| block.repeated || !own.contains(block.name))
            .collect();
        // What a base gives already is likelier to be left as it is.
        let inherited =
            |id: BlockId| system.is_some_and(|s| s.component(id).is_some_and(|c| !c.own));
        blocks.sort_by_key(|(id, _)| inherited(*id));
        let is_alone = self.ends_here();
        let is_glued = self.cursor.text[self.span.end as usize..].starts_with('{');
        let rest = self.rest();
        let behind_name = rest.trim_start_matches(in_name).trim_start();
        if !is_alone && !behind_name.is_empty() && !behind_name.starts_with(['{', '}']) {
            // The statement that stands here is of another kind.
            return;
        }
        for (id, block) in blocks {
            let from_base = inherited(id);
            let item = self.add(CompletionKind::Block, block.name);
            item.doc = block.doc.to_owned();
            item.snippet = is_alone.then(|| block_snippet(block, from_base));
            if is_glued {
                item.insert.push(' ');
            }
            if from_base {
                item.detail = "changes what the base says".to_owned();
            }
        }
    }

    /// Whether something is what is being typed at the cursor.
    fn is_typed(&self, span: Span) -> bool {
        span.touches(self.cursor.offset as u32)
    }

    fn parts(&mut self, block: &str, but: &[&str]) {
        self.take_in(in_name);
        let is_glued = self.cursor.text[self.span.end as usize..].starts_with('{');
        let report = self.report;
        let mut known: HashSet<&str> = but.iter().copied().collect();
        for source in report.sources() {
            for part in source.parts().filter(|part| part.block.text == block) {
                if !known.insert(&part.name.text) {
                    continue;
                }
                let item = self.part(source, part);
                item.detail = match source.name == report.source.name {
                    true => "this file".to_owned(),
                    false => source.name.to_string(),
                };
            }
        }
        let seen: HashSet<&FileName> = report.sources().map(|source| &source.name).collect();
        let shelves = (self.shelves)();
        let mut from_shelves = HashSet::new();
        for shelf in shelves
            .iter()
            .filter(|shelf| !seen.contains(&shelf.source.name))
        {
            let parts = shelf.source.parts();
            for part in parts.filter(|part| part.block.text == block) {
                let name = part.name.text.as_str();
                if known.contains(name) || !from_shelves.insert(name) {
                    continue;
                }
                let edit = use_of(report, &shelf.path);
                let item = self.part(&shelf.source, part);
                item.detail = format!("adds `use \"{}\"`", shelf.path);
                item.edits = vec![edit];
            }
        }
        if is_glued {
            self.found.iter_mut().for_each(|item| item.insert.push(' '));
        }
    }

    fn part(&mut self, source: &Source, part: &syntax::Part) -> &mut Completion {
        let text = part.block.span.to(part.body.span).of(&source.text);
        let item = self.add(CompletionKind::Part, &part.name.text);
        item.doc = format!("```clutch\npart {text}\n```\n");
        item
    }

    /// Blocks that there are parts for.
    fn choosable(&mut self) {
        self.take_in_block();
        let report = self.report;
        for block in BLOCKS {
            let mut parts = report.sources().flat_map(|source| source.parts());
            if parts.any(|part| part.block.text == block.name) {
                self.add(CompletionKind::Block, block.name).doc = block.doc.to_owned();
            }
        }
    }

    fn results(&mut self) {
        self.take_in(in_name);
        let without = self.without_statement();
        let name = self.cursor.system_head().map(|name| name.text);
        let worked = without
            .iter()
            .flat_map(Report::worked_systems)
            .find(|worked| Some(worked.system.name.as_str()) == name);
        for (id, spec) in ResultId::all().zip(RESULTS) {
            let now = worked.and_then(|worked| {
                let value = worked.outcome.as_ref().ok()?.get(id)?;
                Some(format!("now {}", worked.system.show(value, spec.dimension)))
            });
            let item = self.add(CompletionKind::Result, spec.name);
            item.detail = now.unwrap_or_else(|| spec.dimension.to_string());
            item.doc = spec.doc.to_owned();
        }
    }

    /// What would be known without the statement that is being written: while that is not
    /// whole, its system cannot be worked out.
    fn without_statement(&self) -> Option<Report> {
        let start = self.cursor.before.first()?.start;
        let rest = &self.cursor.text[start..];
        let end = start + rest.find(['\n', '\r', '}']).unwrap_or(rest.len());
        let mut text = self.cursor.text.to_owned();
        text.replace_range(start..end, "");
        let source = Source::new(self.report.source.name.clone(), text);
        Some(analyse(Arc::new(source), &Used(self.report)))
    }

    /// Checks that can be silenced, those that find something here first.
    fn checks(&mut self) {
        self.span = self.cursor.word_span(in_check);
        let before = self.cursor.before_word(self.span);
        if before.last().is_none_or(|last| last.text != "allow") {
            return;
        }
        self.take_in(in_check);
        let has_reason = self.rest().starts_with('"');
        let without = self.without_statement();
        let name = self.cursor.system_head().map(|name| name.text);
        let found: HashSet<&str> = without
            .iter()
            .flat_map(|report| &report.findings)
            .filter(|finding| finding.system.as_deref() == name)
            .map(|finding| finding.check.name)
            .collect();
        let mut checks: Vec<_> = CHECKS.iter().collect();
        checks.retain(|check| !matches!(check.run, crate::checks::Run::Reading));
        checks.sort_by_key(|check| !found.contains(check.name));
        for check in checks {
            let finds_something = found.contains(check.name);
            let item = self.add(CompletionKind::Check, check.name);
            item.detail = match finds_something {
                true => format!("{}, found here", check.severity.name()),
                false => check.severity.name().to_owned(),
            };
            item.doc = format!("{}\n\n{}", check.finds, check.why);
            if !has_reason {
                item.insert = format!("{} \"\"", check.name);
                item.snippet = Some(format!("{} \"${{1:why}}\"", check.name));
            }
        }
    }

    // ---- block ----

    fn block(&mut self, open: &Open<'a>, before: &[Token<'a>]) {
        let is_part = open.head.first().is_some_and(|token| token.text == "part");
        let Some(name) = open.head.get(usize::from(is_part)) else {
            return;
        };
        let Some(id) = Block::named(name.text) else {
            return;
        };
        match before {
            [] => self.fields(id, name.start as u32),
            [allow, ..] if allow.text == "allow" => self.checks(),
            [field, equals, rest @ ..] if equals.is("=") => {
                self.value(id, field.text, name.start as u32, rest);
            }
            _ => {}
        }
    }

    /// The statements between a block's braces, by where its name stands.
    fn body(&self, head: u32) -> Option<&'a Body> {
        let statements = &self.report.source.tree.statements;
        let in_systems = statements.iter().filter_map(|s| match &s.kind {
            StatementKind::System(system) => Some(&system.body.statements),
            _ => None,
        });
        let all = std::iter::once(statements).chain(in_systems).flatten();
        all.filter(|statement| match &statement.kind {
            StatementKind::Block(block) => block.block.span.start == head,
            StatementKind::Part(part) => part.block.span.start == head,
            _ => false,
        })
        .find_map(Statement::body)
    }

    /// What is known of a block that a system writes, by where its name stands.
    fn component(&self, head: u32) -> Option<&'a Component> {
        self.worked()?.system.components().find(|component| {
            component.place.file == self.report.source.name && component.place.span.start == head
        })
    }

    fn fields(&mut self, block: BlockId, head: u32) {
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
        // A field that stands before what is there already is not followed by a new `=`.
        let behind = &self.cursor.text[self.span.end as usize..];
        let has_equals = behind.trim_start_matches([' ', '\t']).starts_with('=');
        for (i, rank, field) in fields {
            let id = FieldId { block, field: i };
            let item = self.add(CompletionKind::Field, field.name);
            item.detail = rank.words().to_owned();
            if let Some(kind) = kind_words(field) {
                let joint = if item.detail.is_empty() { "" } else { ", " };
                item.detail = format!("{kind}{joint}{}", item.detail);
            }
            item.doc = field.doc.to_owned();
            if let Some(text) = default_text(id) {
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

    // ---- values ----

    fn value(&mut self, block: BlockId, field: &str, head: u32, typed: &[Token<'a>]) {
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
                        if default_text(id) == Some(choice.name) {
                            item.detail = "taken where nothing is said".to_owned();
                        }
                    }
                } else if self.ends_here() || self.rest().starts_with('=') {
                    self.fields(block, head);
                }
            }
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
        if typed.is_empty()
            && let Presence::Default { text, .. } = id.field().presence
        {
            let present = self.span;
            if self.take_in_quantity() {
                let item = self.add(CompletionKind::Value, text);
                item.detail = "taken where nothing is said".to_owned();
            }
            self.span = present;
        }
        self.expression(typed, Some(dimension));
        let behind = |last: &Token<'_>| &self.cursor.text[last.end()..self.cursor.offset];
        let gap = typed.last().map(behind).unwrap_or_default();
        // A field whose name is gone stands there still.
        let is_nameless = self.rest().starts_with('=');
        let is_number = typed.last().is_some_and(|t| t.kind == TokenKind::Number);
        let is_bare = is_number && (gap.starts_with("  ") || is_nameless);
        if (is_complete(typed) || is_bare)
            && gap.starts_with([' ', '\t'])
            && (self.ends_here() || is_nameless)
        {
            // Two blanks end a value, as the canonical form has it.
            if !gap.starts_with("  ") && !is_nameless {
                let item = self.add(CompletionKind::Operator, "±");
                item.doc = "How far it may be off, either way.".to_owned();
                let item = self.add(CompletionKind::Operator, "to");
                item.doc = "The far end of what it may be.".to_owned();
            }
            self.fields(id.block, head);
        }
    }

    fn bores(&mut self, typed: &[Token<'a>]) {
        let present = self.span;
        if let Some(first) = typed.first() {
            self.span = Span::new(first.start, self.span.end as usize);
        }
        if !self.take_in_quantity() {
            self.span = present;
            return;
        }
        let imperial = self.author_system() == UnitSystem::Imperial;
        let mut sizes: Vec<(bool, String)> = Vec::new();
        for bore in COMMON_BORES {
            for name in ["in", "mm"] {
                let unit = UnitExpr::parse(name).ok();
                let text = written(*bore, unit.as_ref());
                // Of the sizes that are of the other kind, the rounded number is no size.
                let (number, _) = text.split_once(" in").unwrap_or((&text, ""));
                let is_own = match name {
                    "in" => number.contains('/') || !number.contains('.') || *bore == 17.78,
                    _ => bore.fract() == 0.0,
                };
                if is_own {
                    sizes.push(((name == "in") != imperial, text));
                }
            }
        }
        sizes.sort_by_key(|(other, _)| *other);
        for (_, text) in sizes {
            self.add(CompletionKind::Value, text).detail = "commonly made".to_owned();
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

    /// A point inside of a curve.
    fn curve(&mut self, open: &Open<'a>, before: &[Token<'a>]) {
        let body = self.cursor.open.iter().rev().nth(1).cloned();
        let (Some(field), Some(body)) = (open.head.first(), body) else {
            return;
        };
        let is_part = body.head.first().is_some_and(|token| token.text == "part");
        let id = body
            .head
            .get(usize::from(is_part))
            .and_then(|block| field_id(block.text, field.text));
        let Some(Kind::Curve { x, y } | Kind::CurveOrPeak { x, y }) = id.map(|id| id.field().kind)
        else {
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

    /// A unit behind a number, or a name where a value may begin.
    fn expression(&mut self, typed: &[Token<'a>], dimension: Option<Dimension>) {
        let present = self.span;
        // What is multiplied or divided is of no kind that the whole would tell.
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
            // Right behind `±` a share will do as well.
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

    /// A name in the place of the operand that stands at the cursor or behind it.
    fn operand(&mut self, dimension: Option<Dimension>) {
        let present = self.span;
        // What comes behind it may stay, be it the rest of a sum or of a value.
        self.take_in_quantity();
        let rest = self.rest();
        let is_path = self.cursor.text[self.span.end as usize..].starts_with('.');
        if !rest.starts_with(['(', '{']) {
            self.names(dimension, is_path);
        }
        self.span = present;
    }

    fn units(&mut self, dimension: Option<Dimension>, spread: bool) {
        let own = self.author_system();
        let mut units: Vec<UnitExpr> = Vec::new();
        let named = UNITS.iter().map(UnitExpr::of);
        let products = PRODUCTS
            .iter()
            .filter_map(|text| UnitExpr::parse(text).ok());
        for unit in named.chain(products) {
            let fits = match dimension {
                None => true,
                Some(dimension) => {
                    unit.dimension() == dimension || (spread && unit.to_string() == "%")
                }
            };
            if fits && !units.contains(&unit) {
                units.push(unit);
            }
        }
        let usual = dimension.and_then(|dimension| usual_unit(dimension, own));
        units.sort_by_key(|unit| (Some(unit) != usual.as_ref(), unit.system() != own));
        for unit in units {
            let doc = UNITS.iter().find(|known| known.name == unit.to_string());
            let dimension = unit.dimension();
            let item = self.add(CompletionKind::Unit, unit.to_string());
            item.detail = doc.map_or_else(|| dimension.to_string(), |unit| unit.doc.to_owned());
        }
    }

    /// Lets, and blocks whose fields may be named: these alone in the place of a block whose field
    /// is named already.
    fn names(&mut self, dimension: Option<Dimension>, is_path: bool) {
        let report = self.report;
        let system = self.tree();
        let mut reader = Reader::new(report, system);
        let own = system.into_iter().flat_map(super::names::lets_of);
        let lets = own.chain(report.sources().flat_map(|source| source.lets()));
        let mut seen = HashSet::new();
        for item in lets {
            // The one that is being written cannot be part of itself.
            let is_here = item
                .name
                .span
                .to(item.value.span)
                .touches(self.cursor.offset as u32)
                && report.source.let_named(&item.name.text) == Some(item);
            if is_here || !seen.insert(&item.name.text) {
                continue;
            }
            if is_path {
                continue;
            }
            let value = reader.value(&item.value);
            let fits = match (value, dimension) {
                (Some(value), Some(dimension)) => value.dimension == dimension,
                _ => true,
            };
            if fits {
                let shown = value.map(|value| self.show(value.value, value.dimension));
                self.add(CompletionKind::Let, &item.name.text).detail = shown.unwrap_or_default();
            }
        }
        let components = self
            .worked()
            .into_iter()
            .flat_map(|worked| worked.system.components());
        for component in components {
            let block = &BLOCKS[component.block as usize];
            let has_one = |field: &Field| dimension.is_none_or(|d| field.dimension() == Some(d));
            if !block.repeated && block.fields.iter().any(has_one) {
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

    // ---- the author's habits ----

    fn show(&self, value: f64, dimension: Dimension) -> String {
        match self.worked() {
            Some(worked) => worked.system.show(value, dimension),
            None => crate::quantity::Display::default().show(value, dimension),
        }
    }

    fn author_system(&self) -> UnitSystem {
        let worked = self
            .worked()
            .or_else(|| self.report.worked_systems().next());
        worked.map_or(UnitSystem::Metric, |worked| worked.system.display.system())
    }

    /// The unit that this author writes for a dimension, with the blank before it.
    fn unit(&self, dimension: Dimension) -> String {
        let worked = self
            .worked()
            .or_else(|| self.report.worked_systems().next());
        let unit = match worked {
            Some(worked) => worked.system.display.unit(dimension),
            None => usual_unit(dimension, UnitSystem::Metric),
        };
        unit.map_or_else(String::new, |unit| format!(" {unit}"))
    }
}

/// The number at a cursor, with its point or its line: `12.9`, `7/8`.
fn number_at(cursor: &Cursor<'_>) -> Option<Span> {
    let word = cursor.word_span(in_name).of(cursor.text);
    let span = cursor.word_span(|c| c.is_ascii_digit() || matches!(c, '.' | '/'));
    let is_number = span
        .of(cursor.text)
        .starts_with(|c: char| c.is_ascii_digit());
    (is_number && word.chars().all(|c| c.is_ascii_digit())).then_some(span)
}

/// Whether `name =` begins a text.
fn begins_field(text: &str) -> bool {
    let end = text.find(|c| !in_name(c)).unwrap_or(text.len());
    let is_name = text.starts_with(|c: char| c.is_alphabetic() || c == '_');
    is_name && text[end..].trim_start().starts_with('=')
}

/// How far one operand goes, or the rest of one: `7/8 in`, `/8 in`, `150 mm`, `reach`,
/// `master.bore`. Nothing where something else stands.
fn quantity_end(text: &str) -> usize {
    let sign = usize::from(text.starts_with('-'));
    let number = |from: usize| {
        let digits = text[from..].find(|c: char| !c.is_ascii_digit() && !matches!(c, '.' | '/'));
        from + digits.unwrap_or(text.len() - from)
    };
    let blanks = |from: usize| {
        let rest = &text[from..];
        from + rest.len() - rest.trim_start_matches([' ', '\t', '\u{00A0}']).len()
    };
    let is_digit = |at: usize| text[at..].starts_with(|c: char| c.is_ascii_digit());
    let mut end = number(sign);
    if end > sign || is_digit(sign) {
        // A mixed number: `1 1/16`.
        while is_digit(blanks(end)) && blanks(end) < text.len() {
            end = number(blanks(end));
        }
    }
    let unit = blanks(end);
    let length = text[unit..]
        .find(|c| !(in_unit(c) || end == 0 && c == '.'))
        .unwrap_or(text.len() - unit);
    let word = &text[unit..unit + length];
    let is_unit = word.starts_with(|c: char| c.is_alphabetic() || matches!(c, '%' | '°' | '_'));
    match is_unit && word != "to" && !begins_field(&text[unit..]) {
        true => unit + length,
        false if end > sign => end,
        false => 0,
    }
}

/// The `use` of a file, behind those that are there.
fn use_of(report: &Report, path: &str) -> Edit {
    let source = &report.source;
    let ending = match source.text.contains("\r\n") {
        true => "\r\n",
        false => "\n",
    };
    let statements = &source.tree.statements;
    let is_use = |statement: &&Statement| matches!(statement.kind, StatementKind::Use(_));
    let (at, text) = match statements.iter().rfind(is_use) {
        Some(last) => {
            let line = source.lines.line(source.lines.line_of(last.span.start));
            let end = line.map_or(last.span.end, |line| line.end as u32);
            (end, format!("{ending}use \"{path}\""))
        }
        None => {
            let first = statements.first();
            let comment = first.and_then(|first| first.before.first());
            let start = comment.map(|comment| comment.span.start);
            let start = start.or(first.map(|first| first.span.start));
            (
                start.unwrap_or_default(),
                format!("use \"{path}\"{ending}{ending}"),
            )
        }
    };
    Edit {
        span: Span { start: at, end: at },
        text,
    }
}

/// The files that a report has already read.
pub(super) struct Used<'a>(pub &'a Report);

impl Files for Used<'_> {
    fn read(&self, name: &FileName) -> Result<Arc<Source>, String> {
        let used = self.0.used.iter().find(|source| source.name == *name);
        used.cloned().ok_or_else(|| "does not exist".to_owned())
    }

    fn settings(&self, _spec: &FileName) -> Arc<Settings> {
        self.0.settings.clone()
    }
}

/// How a field stands to the block that is being written.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
enum Rank {
    Missing,
    /// Another way to say what is missing.
    Alternative,
    Optional,
    /// No result or check reads it.
    /// A part or a base gives it already.
    Given,
    /// It says what is said already.
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

/// How one of several ways of saying a thing stands to what is there.
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
    }
}

/// The fields that a block must have, of several ways to say a thing the one that says most.
pub(super) fn needed_fields(block: &Block) -> Vec<&'static str> {
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

/// A block with the fields that it must have.
fn block_snippet(block: &Block, from_base: bool) -> String {
    let fields = match from_base {
        true => Vec::new(),
        false => needed_fields(block),
    };
    let label = if block.repeated { " ${1:label}" } else { "" };
    let first = if block.repeated { 2 } else { 1 };
    let width = fields.iter().map(|name| name.len()).max().unwrap_or(0);
    let mut lines = String::new();
    for (i, name) in (first..).zip(&fields) {
        lines.push_str(&format!("    {name:width$} = ${i}\n"));
    }
    if fields.is_empty() {
        return format!("{}{label} {{\n    $0\n}}", block.name);
    }
    format!("{}{label} {{\n{lines}}}", block.name)
}

/// Whether what is typed may be a whole value: `12 mm`, `7/8 in`, `reach`.
fn is_complete(typed: &[Token<'_>]) -> bool {
    typed
        .last()
        .is_some_and(|last| last.is_word() || last.is("%"))
        && !typed
            .iter()
            .any(|token| token.is("±") || token.text == "to")
}

/// Whether the last of some words behind an equals sign can only be the name of the next field.
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

/// Products of units that values are given in.
const PRODUCTS: &[&str] = &[
    "mm^2",
    "cm^2",
    "in^2",
    "mm^3",
    "in^3",
    "N/mm",
    "kN/mm",
    "lbf/in",
    "N*m",
    "lbf*ft",
    "lbf*in",
    "cc/m/MPa",
    "cc/ft/psi",
    "in^3/ft/psi",
    "mm^2/s",
    "kg/m^3",
    "g/cc",
];
