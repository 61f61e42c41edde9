//! Completions for the start of a statement and for what follows in it, up to its values.

use super::fields::needed_fields;
use super::writer::Writer;
use crate::analysis::completion_item::{Completion, CompletionKind};
use crate::analysis::cursor::{Kind as TokenKind, Open, Token, in_check, in_name};
use crate::analysis::hover::escape;
use crate::analysis::used::Used;
use crate::analysis::{Edit, Report, analyse};
use crate::checks::CHECKS;
use crate::finding::FileName;
use crate::model::{PRICE, PRICE_DOC, Source};
use crate::schema::{BLOCKS, Better, Block, BlockId, RESULTS, ResultId};
use crate::syntax::{self, StatementKind, TextRange};
use std::collections::HashSet;
use std::sync::Arc;

impl<'a> Writer<'a> {
    // ---- file ----

    pub(super) fn file(&mut self, before: &[Token<'a>]) {
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
                for block in BLOCKS.iter().filter(|block| block.takes_parts) {
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

    fn bases(&mut self, but: &str) {
        self.take_in(in_name);
        let report = self.report;
        for source in report.resolver().visible() {
            for system in source.systems().filter(|system| system.name.text != but) {
                let item = self.add(CompletionKind::System, &system.name.text);
                if let Some(title) = &system.title {
                    item.detail = title.text.clone();
                }
            }
        }
    }

    // ---- system ----

    pub(super) fn system(&mut self, before: &[Token<'a>]) {
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
            // Two names are separated by a comma.
            ["choose", block, named @ ..] if named.last().is_none_or(|last| *last == ",") => {
                let already: Vec<&str> = named.to_vec();
                self.parts(block, &already);
            }
            ["let", _, "=", ..] => self.expression(&before[3..], None),
            [block] if takes_parts(block) => self.parts(block, &[]),
            _ => {}
        }
    }

    /// Offers the comparisons for a result, the usual one first.
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

    /// Offers a result's present value as a limit.
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
            .filter(|(_, block)| block.takes_label() || !own.contains(block.name))
            .collect();
        // A block that a base gives already is likely to be left unchanged.
        let inherited =
            |id: BlockId| system.is_some_and(|s| s.component(id).is_some_and(|c| !c.own));
        blocks.sort_by_key(|(id, _)| inherited(*id));
        let is_alone = self.ends_here();
        let is_glued = self.cursor.text[self.span.end as usize..].starts_with('{');
        let rest = self.rest();
        let behind_name = rest.trim_start_matches(in_name).trim_start();
        if !is_alone && !behind_name.is_empty() && !behind_name.starts_with(['{', '}']) {
            // The statement at the cursor is of another kind.
            return;
        }
        for (id, block) in blocks {
            let from_base = inherited(id);
            let item = self.add(CompletionKind::Block, block.name);
            item.doc = block.doc.to_owned();
            item.snippet = is_alone.then(|| {
                let again = block.repeated || own.contains(block.name);
                block_snippet(block, from_base, again)
            });
            if is_glued {
                item.insert.push(' ');
            }
            if from_base {
                item.detail = "changes what the base says".to_owned();
            }
        }
    }

    fn parts(&mut self, block: &str, but: &[&str]) {
        self.take_in(in_name);
        let is_glued = self.cursor.text[self.span.end as usize..].starts_with('{');
        let report = self.report;
        let first = self.found.len();
        let mut known: HashSet<&str> = but.iter().copied().collect();
        for source in report.resolver().visible() {
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
        self.rank(block, first);
        let seen: HashSet<&FileName> = report
            .resolver()
            .visible()
            .map(|source| &source.name)
            .collect();
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

    /// Sorts the parts found by how well they work in the system around them, and says that of each.
    fn rank(&mut self, block: &str, first: usize) {
        let names: Vec<String> = self.found[first..]
            .iter()
            .map(|i| i.label.clone())
            .collect();
        let standings = self.standings(block, &names);
        let of = |item: &Completion| standings.get(&item.label).map(|(standing, _)| *standing);
        for item in &mut self.found[first..] {
            if let Some((standing, why)) = standings.get(&item.label) {
                item.detail = format!("{}, {}", standing.words(), item.detail);
                if !why.is_empty() {
                    item.doc = format!("{}: {}\n\n{}", standing.words(), escape(why), item.doc);
                }
            }
        }
        // Without a mistake elsewhere the rank of every part is known; otherwise of none.
        self.found[first..].sort_by_key(of);
    }

    fn part(&mut self, source: &Source, part: &syntax::Part) -> &mut Completion {
        let text = source.text_of(part.block.span.to(part.body.span));
        let item = self.add(CompletionKind::Part, &part.name.text);
        item.doc = format!("```clutch\npart {text}\n```\n");
        item
    }

    /// Offers blocks for which there are parts.
    fn choosable(&mut self) {
        self.take_in_block();
        let report = self.report;
        for block in BLOCKS {
            let mut parts = report
                .resolver()
                .visible()
                .flat_map(|source| source.parts());
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
                Some(format!("now {}", id.show(value, &worked.system.display)))
            });
            let item = self.add(CompletionKind::Result, spec.name);
            item.detail = now.unwrap_or_else(|| spec.dimension.to_string());
            item.doc = spec.doc.to_owned();
        }
        let sum = worked.and_then(|worked| worked.system.price());
        let item = self.add(CompletionKind::Result, PRICE);
        item.detail = sum.map_or_else(|| "amount of money".to_owned(), |sum| format!("now {sum}"));
        item.doc = PRICE_DOC.to_owned();
    }

    /// The report without the statement that is being written. While that is incomplete, its system cannot be worked
    /// out.
    fn without_statement(&self) -> Option<Report> {
        let start = self.cursor.before.first()?.start;
        let rest = &self.cursor.text[start..];
        let end = start + rest.find(['\n', '\r', '}']).unwrap_or(rest.len());
        let mut text = self.cursor.text.to_owned();
        text.replace_range(start..end, "");
        let source = Source::new(self.report.source.name.clone(), text);
        Some(analyse(Arc::new(source), &Used(self.report)))
    }

    /// Offers the checks that can be silenced, those with a finding here first.
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
            .map(|finding| finding.check.name())
            .collect();
        let mut checks: Vec<_> = CHECKS.iter().collect();
        checks.retain(|check| !matches!(check.run, crate::checks::Run::Reading));
        checks.sort_by_key(|check| !found.contains(check.name()));
        for check in checks {
            let finds_something = found.contains(check.name());
            let item = self.add(CompletionKind::Check, check.name());
            item.detail = match finds_something {
                true => format!("{}, found here", check.severity.name()),
                false => check.severity.name().to_owned(),
            };
            item.doc = format!("{}\n\n{}", check.finds, check.why);
            if !has_reason {
                item.insert = format!("{} \"\"", check.name());
                item.snippet = Some(format!("{} \"${{1:why}}\"", check.name()));
            }
        }
    }

    // ---- block ----

    pub(super) fn block(&mut self, open: &Open<'a>, before: &[Token<'a>]) {
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
}

/// The edit that adds the `use` of a file after those that are there.
fn use_of(report: &Report, path: &str) -> Edit {
    let source = &report.source;
    let ending = match source.text.contains("\r\n") {
        true => "\r\n",
        false => "\n",
    };
    let (at, text) = match source.uses().last() {
        Some(last) => {
            let last = source.range(source.statement_around(last.path.span));
            let line = source.lines.line(source.lines.line_of(last.start));
            let end = line.map_or(last.end, |line| line.end as u32);
            (end, format!("{ending}use \"{path}\""))
        }
        None => {
            let start = source.tree.items.first().map(|first| first.start);
            (
                start.unwrap_or_default(),
                format!("use \"{path}\"{ending}{ending}"),
            )
        }
    };
    Edit {
        span: TextRange::empty(at),
        text,
    }
}

/// Whether a block's name is followed by the name of a part, and not by a label.
fn takes_parts(block: &str) -> bool {
    let block = Block::named(block).map(|id| &BLOCKS[id as usize]);
    block.is_none_or(|block| block.takes_parts && !block.labelled)
}

/// A block with its required fields, as a snippet.
fn block_snippet(block: &Block, from_base: bool, takes_label: bool) -> String {
    let fields = match from_base {
        true => Vec::new(),
        false => needed_fields(block),
    };
    let label = if takes_label { " ${1:label}" } else { "" };
    let first = if takes_label { 2 } else { 1 };
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
