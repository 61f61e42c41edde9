//! Merges one system from its bases, its parts and its own statements.
//!
//! Layers lie on each other in this order: the fields of the part that a base names, the base's own fields, the
//! fields of the part that the system names, the system's own fields. If a block names another part than its base, it
//! drops the fields of the base's part but keeps the base's own.

use super::bundle::Bundle;
use super::layers::{
    Layers, MOST_LISTED, Merged, MergedAllow, MergedBlock, MergedField, OpenChoice, Overrides,
    cannot_affect_results, names_part, open_choices, without_body,
};
use super::source::known_block;
use super::system::{Origin, PartName};
use crate::check_id::CheckId;
use crate::finding::{Place, Problem};
use crate::quantity::nearest;
use crate::schema::{BLOCKS, Block as BlockSchema, BlockId};
use crate::syntax::{self, Flaw, Name, Statement, StatementKind, Value};
use rustc_hash::FxHashSet;
use std::collections::HashMap;

impl<'a> MergedBlock<'a> {
    /// One part alone, as if a system consisted of it.
    pub fn of_part(
        bundle: &'a Bundle,
        part: &'a syntax::Part,
        problems: &mut Vec<Problem>,
    ) -> Option<Self> {
        let place = bundle.place(0, part.block.span);
        let id = known_block(&part.block, &place, problems)?;
        let mut merger = Merger {
            bundle,
            problems,
            merged: Merged::empty(),
            lines: Vec::new(),
            labels: HashMap::new(),
            renamed: Vec::new(),
        };
        let mut block = Self::new(id, place);
        merger.overlay(&mut block, 0, &part.body.statements, Origin::Part, true, 0);
        Some(block)
    }
}

/// Merges a system of the bundle's first file. Problems in its bases and parts are reported where they are.
pub(super) fn merge<'a>(
    bundle: &'a Bundle,
    system: &'a syntax::System,
    changes: &Overrides,
    problems: &mut Vec<Problem>,
) -> Merged<'a> {
    let mut merged = Merged::empty();
    let (layers, broken) = Layers::of(bundle, system);
    if let (Some(broken), Some((source, system))) = (broken, layers.0.first()) {
        let problem = broken.problem(bundle, *source, system);
        merged.mark_unworkable(&problem.place);
        problems.push(problem);
        merged.blocks_incomplete = true;
    }
    let open = open_choices(bundle, &layers);
    merged.chooses = open.iter().map(|open| (open.source, open.choose)).collect();
    let last = layers.0.len() - 1;
    let renamed = changes
        .parts
        .iter()
        .filter(|taken| taken.mention.is_none())
        .filter_map(|taken| {
            let names = |(_, system): &(usize, &syntax::System)| names_part(system, taken.block);
            let layer = layers.0.iter().rposition(names)?;
            Some((layer, taken.block, taken.name.as_str()))
        })
        .collect();
    merged.layers = layers.clone();
    let mut merger = Merger {
        bundle,
        problems,
        merged,
        lines: Vec::new(),
        labels: HashMap::new(),
        renamed,
    };
    for (layer, (source, system)) in layers.0.into_iter().enumerate() {
        let here = open.iter().filter(|open| open.layer == layer);
        for open in here {
            merger.choose(*open, changes, layer == last);
        }
        merger.layer(source, system, layer, layer == last);
    }
    let place = bundle.place(0, system.name.span);
    for taken in changes.parts.iter().filter(|taken| taken.mention.is_none()) {
        let renamed = |(_, block, _): &(usize, BlockId, &str)| *block == taken.block;
        if !merger.renamed.iter().any(renamed) {
            merger.change_part(taken.block, &taken.name, &place, last + 1);
        }
    }
    merger.bound_lines();
    merger.merged
}

/// The statement that contains a flaw.
fn holder<'a>(statements: &'a [Statement], flaw: &Flaw) -> Option<&'a Statement> {
    let behind = statements.partition_point(|statement| statement.span.start <= flaw.span.start);
    statements[..behind]
        .last()
        .filter(|last| last.span.touches(flaw.span.start))
}

/// The result that a `require` limits, and whether it limits it from above.
fn limits(require: &syntax::Require) -> (&str, bool) {
    let Name { text, .. } = &require.result;
    (text, require.comparison.limits_from_above())
}

struct Merger<'a, 'p> {
    bundle: &'a Bundle,
    problems: &'p mut Vec<Problem>,
    merged: Merged<'a>,
    /// The labelled blocks so far, in order. A block that a later layer changes moves to the end and leaves `None`.
    lines: Vec<Option<MergedBlock<'a>>>,
    /// Where in `lines` the block of each label is.
    labels: HashMap<(BlockId, &'a str), usize>,
    /// The layers in which a part is replaced by another, with the block and the part's name.
    renamed: Vec<(usize, BlockId, &'p str)>,
}

impl<'a, 'p> Merger<'a, 'p> {
    fn record(&mut self, problem: Problem) {
        self.merged.mark_unworkable(&problem.place);
        self.problems.push(problem);
    }

    /// Takes over the blocks that may occur more than once, and reports those beyond the limit.
    fn bound_lines(&mut self) {
        let labelled = std::mem::take(&mut self.lines).into_iter().flatten();
        for (place, message) in self.merged.take_labelled(labelled) {
            self.record(Problem::new(CheckId::TooLarge, place, message));
        }
    }

    fn layer(&mut self, source: usize, system: &'a syntax::System, layer: usize, own: bool) {
        let file = &self.bundle.sources[source];
        let whole = system.name.span.to(system.body.span);
        let item = file.tree.item(system.name.span.statement);
        let flaws = item.into_iter().flat_map(|item| item.flaws());
        let flaws = flaws.filter(|flaw| whole.touches(flaw.span.start));
        let mut flaws = flaws.peekable();
        if flaws.peek().is_some() {
            self.merged.mark_unsound();
        }
        let statements = &system.body.statements;
        let loses = |flaw: &&Flaw| {
            !holder(statements, flaw).is_some_and(|held| cannot_affect_results(held, file))
        };
        if let Some(flaw) = flaws.find(loses) {
            self.merged.mark_unworkable(&file.place(flaw.span));
        }
        if !system.body.whole {
            self.merged.blocks_incomplete = true;
            self.merged.mark_unworkable(&file.flaw_behind(&system.name));
        }
        let mut requires = Vec::new();
        let mut renewed = FxHashSet::default();
        for (first, again) in file.repeated_lets_of(system) {
            self.given_twice(source, "let", &again.name, &first.name);
        }
        let mut chosen: HashMap<&str, &Name> = HashMap::new();
        for statement in file.all_but_lets(system) {
            match &statement.kind {
                // A statement that was read only in part is not used.
                StatementKind::Require(_) if file.tree.is_flawed(statement.span) => {}
                StatementKind::Require(require) => {
                    requires.push((source, require));
                    renewed.insert(limits(require));
                }
                StatementKind::Allow(allow) => self.merged.allows.push(MergedAllow {
                    source,
                    allow,
                    block: None,
                    own,
                    from_choice: false,
                }),
                StatementKind::Choose(choose) => {
                    if let Some(first) = chosen.insert(&choose.block.text, &choose.block) {
                        self.given_twice(source, "choice of a", &choose.block, first);
                    }
                }
                StatementKind::Block(_) => {}
                _ if cannot_affect_results(statement, file) => self.merged.mark_unsound(),
                _ => {
                    self.merged.mark_unworkable(&file.place(statement.span));
                    self.merged.blocks_incomplete = true;
                }
            }
        }
        // A limit of the same kind takes the place of the base's.
        self.merged
            .requires
            .retain(|(_, known)| !renewed.contains(&limits(known)));
        self.merged.requires.append(&mut requires);
        let mut seen: HashMap<(&str, Option<&str>), &Name> = HashMap::new();
        for statement in file.all_but_lets(system) {
            let StatementKind::Block(block) = &statement.kind else {
                continue;
            };
            let schema = BlockSchema::named(&block.block.text).map(|id| &BLOCKS[id as usize]);
            let repeated = schema.is_some_and(|schema| schema.repeated);
            let takes_label = schema.is_some_and(BlockSchema::takes_label);
            let label = block.name.as_ref().map(|name| name.text.as_str());
            let key = (
                block.block.text.as_str(),
                if takes_label { label } else { None },
            );
            if (!repeated || label.is_some())
                && let Some(first) = seen.insert(key, &block.block)
            {
                self.given_twice(source, "block", &block.block, first);
                continue;
            }
            if let (Some(first), Some(name)) = (chosen.get(block.block.text.as_str()), &block.name)
                && !repeated
            {
                let problem = Problem::new(
                    CheckId::GivenTwice,
                    self.bundle.place(source, name.span),
                    format!(
                        "the `{}` is chosen, and named here as well",
                        block.block.text
                    ),
                )
                .help("remove one of them; a body without a name adds to every choice")
                .related(self.bundle.place(source, first.span), "chosen here");
                self.record(problem);
                continue;
            }
            self.block(source, statement, block, layer, own);
        }
    }

    fn given_twice(&mut self, source: usize, kind: &str, name: &Name, first: &Name) {
        let problem = Problem::new(
            CheckId::GivenTwice,
            self.bundle.place(source, name.span),
            format!("the {kind} `{}` is given twice", name.text),
        )
        .help("remove one of them")
        .related(self.bundle.place(source, first.span), "first given here");
        self.record(problem);
    }

    fn block(
        &mut self,
        source: usize,
        statement: &'a Statement,
        block: &'a syntax::Block,
        layer: usize,
        own: bool,
    ) {
        let place = self.bundle.place(source, block.block.span);
        let Some(id) = known_block(&block.block, &place, self.problems) else {
            self.merged.mark_unworkable(&place);
            self.merged.blocks_incomplete = true;
            return;
        };
        let schema = &BLOCKS[id as usize];
        let origin = if own { Origin::Own } else { Origin::Base };
        let label = block.name.as_ref().map(|name| name.text.as_str());
        // Before it took labels, a block's name could only be a part; where there is one, it still is.
        let names_part = schema.takes_parts
            && label.is_some_and(|name| self.bundle.part(source, schema.name, name).is_some());
        let is_labelled = schema.repeated || schema.labelled && label.is_some() && !names_part;
        let mut target = if is_labelled {
            let known = label.and_then(|label| self.labels.get(&(id, label)));
            let known = known.and_then(|at| self.lines.get_mut(*at)?.take());
            known.unwrap_or_else(|| MergedBlock::new(id, place.clone()))
        } else {
            self.merged.blocks[id as usize]
                .take()
                .unwrap_or_else(|| MergedBlock::new(id, place.clone()))
        };
        target.place = place;
        target.own |= own;
        if is_labelled {
            target.label = label;
            // Without a body it can only be meant as a part.
            let is_part =
                names_part || (schema.takes_parts && schema.repeated && block.body.is_none());
            if let Some(name) = block.name.as_ref().filter(|_| is_part) {
                self.take_part(&mut target, source, schema, name, origin, layer);
            }
        } else if let Some(name) = self.renamed(layer, id) {
            let mention = target.place.clone();
            self.put_part(&mut target, 0, name, mention, origin, layer);
        } else if let Some(name) = &block.name {
            self.take_part(&mut target, source, schema, name, origin, layer);
        }
        if let Some(body) = &block.body {
            if !body.whole {
                target.fields_incomplete = true;
                self.merged.blocks_incomplete = true;
            }
            target.body = (own && body.whole).then(|| self.bundle.place(source, body.span));
            self.overlay(&mut target, source, &body.statements, origin, false, layer);
            for statement in &body.statements {
                if let StatementKind::Allow(allow) = &statement.kind {
                    self.merged.allows.push(MergedAllow {
                        source,
                        allow,
                        block: Some(id),
                        own,
                        from_choice: false,
                    });
                }
            }
        } else if is_labelled && !(schema.repeated && schema.takes_parts && label.is_some()) {
            let (message, help) = without_body(schema);
            let place = self.bundle.place(source, statement.span);
            let problem = Problem::new(CheckId::MissingField, place, message).help(help);
            self.record(problem);
            target.fields_incomplete = true;
        }
        if is_labelled {
            // A line that a later layer gives again keeps its place in the order from the master.
            let known = label.filter(|_| schema.repeated).map(|label| (id, label));
            if let Some(place) = known.and_then(|key| self.lines.get_mut(*self.labels.get(&key)?)) {
                *place = Some(target);
                return;
            }
            let at = self.lines.len();
            self.labels.extend(label.map(|label| ((id, label), at)));
            self.lines.push(Some(target));
        } else {
            self.merged.blocks[id as usize] = Some(target);
        }
    }

    /// Lays the fields of a named part into a block.
    fn take_part(
        &mut self,
        target: &mut MergedBlock<'a>,
        source: usize,
        schema: &BlockSchema,
        name: &Name,
        origin: Origin,
        layer: usize,
    ) {
        let mention = self.bundle.place(source, name.span);
        let Some((defined, part)) = self.bundle.part(source, schema.name, &name.text) else {
            target.fields_incomplete = true;
            if let Some(problem) = self.bundle.hidden(source) {
                self.record(problem);
                return;
            }
            let known = || self.bundle.known_parts(source, schema.name);
            let problem = Problem::new(
                CheckId::UnknownName,
                mention,
                format!("there is no part `{} {}`", schema.name, name.text),
            );
            let few: Vec<&str> = known().take(MOST_LISTED).collect();
            let problem = match self.bundle.suggest(&name.text, known()) {
                Some(meant) => problem.did_you_mean(Some(meant)),
                None if few.is_empty() && schema.repeated => problem.help(format!(
                    "give what it is made of here, `{0} {1} {{ … }}`, or define it for all systems: \
                     `part {0} {1} {{ … }}`",
                    schema.name, name.text
                )),
                None if few.is_empty() => problem.help(format!(
                    "define it: `part {} {} {{ … }}`",
                    schema.name, name.text
                )),
                None => problem.help(format!("there are {}", few.join(", "))),
            };
            self.record(problem);
            return;
        };
        let part_name = PartName {
            name: name.text.clone(),
            definition: self.bundle.place(defined, part.name.span),
            mention,
        };
        self.lay_part(target, (defined, part), part_name, origin, layer, false);
    }

    /// Takes the requested part of a choice, or its first part.
    fn choose(&mut self, open: OpenChoice<'a>, changes: &Overrides, own: bool) {
        let block = &open.choose.block.text;
        let Some(id) = BlockSchema::named(block).filter(|id| !BLOCKS[*id as usize].repeated) else {
            return;
        };
        let (name, mention) = match changes.part(id) {
            Some(taken) => match &taken.mention {
                Some(mention) => (taken.name.as_str(), mention.clone()),
                // The part was set from outside the choice.
                None => return,
            },
            None => {
                let known =
                    |name: &&Name| self.bundle.part(open.source, block, &name.text).is_some();
                let Some(name) = open.choose.parts.iter().find(known) else {
                    self.merged.blocks_incomplete = true;
                    return;
                };
                let mention = self.bundle.place(open.source, name.span);
                (name.text.as_str(), mention)
            }
        };
        let place = self.bundle.place(open.source, open.choose.block.span);
        let mut target = self.take_block(id, place, own);
        let origin = if own { Origin::Own } else { Origin::Base };
        self.put_part(&mut target, open.source, name, mention, origin, open.layer);
        self.merged.blocks[id as usize] = Some(target);
    }

    /// The part that replaces the one that a layer's text names.
    fn renamed(&self, layer: usize, id: BlockId) -> Option<&'p str> {
        let mut renamed = self.renamed.iter();
        let (_, _, name) = renamed.find(|(at, block, _)| (*at, *block) == (layer, id))?;
        Some(name)
    }

    fn take_block(&mut self, id: BlockId, place: Place, own: bool) -> MergedBlock<'a> {
        let known = self.merged.blocks[id as usize].take();
        let mut target = known.unwrap_or_else(|| MergedBlock::new(id, place.clone()));
        target.place = place;
        target.own |= own;
        target
    }

    /// Replaces a part of the system, as if a derived system named the other part.
    fn change_part(&mut self, id: BlockId, name: &str, place: &Place, layer: usize) {
        let known = self.merged.blocks[id as usize].as_ref();
        let place = known
            .filter(|known| known.own)
            .map_or(place, |known| &known.place)
            .clone();
        let mut target = self.take_block(id, place.clone(), true);
        self.put_part(&mut target, 0, name, place, Origin::Own, layer);
        self.merged.blocks[id as usize] = Some(target);
    }

    /// Lays a part that replaces another into a block.
    fn put_part(
        &mut self,
        target: &mut MergedBlock<'a>,
        source: usize,
        name: &str,
        mention: Place,
        origin: Origin,
        layer: usize,
    ) {
        let block = BLOCKS[target.block as usize].name;
        let Some((defined, part)) = self.bundle.part(source, block, name) else {
            target.fields_incomplete = true;
            return;
        };
        let part_name = PartName {
            name: name.to_owned(),
            definition: self.bundle.place(defined, part.name.span),
            mention,
        };
        self.lay_part(target, (defined, part), part_name, origin, layer, true);
    }

    fn lay_part(
        &mut self,
        target: &mut MergedBlock<'a>,
        (defined, part): (usize, &'a syntax::Part),
        name: PartName,
        origin: Origin,
        layer: usize,
        from_choice: bool,
    ) {
        for field in &mut target.fields {
            if field.is_some_and(|field| field.from_part) {
                *field = None;
            }
        }
        if !part.body.whole {
            // What it does not give may only be unreadable.
            target.fields_incomplete = true;
            let file = &self.bundle.sources[defined];
            self.merged.mark_unworkable(&file.flaw_behind(&part.name));
        }
        target.part = Some(name);
        let origin = match origin {
            Origin::Own => Origin::Part,
            other => other,
        };
        self.overlay(target, defined, &part.body.statements, origin, true, layer);
        for statement in &part.body.statements {
            if let StatementKind::Allow(allow) = &statement.kind {
                self.merged.allows.push(MergedAllow {
                    source: defined,
                    allow,
                    block: Some(target.block),
                    own: false,
                    from_choice,
                });
            }
        }
    }

    /// Lays fields over those that a block has already.
    fn overlay(
        &mut self,
        target: &mut MergedBlock<'a>,
        source: usize,
        statements: &'a [Statement],
        origin: Origin,
        from_part: bool,
        layer: usize,
    ) {
        let schema = &BLOCKS[target.block as usize];
        let mut seen: Vec<Option<&Name>> = vec![None; schema.fields.len()];
        for statement in statements {
            let field = match &statement.kind {
                StatementKind::Field(field) => field,
                StatementKind::Allow(_) => continue,
                _ => {
                    target.fields_incomplete = true;
                    self.merged
                        .mark_unworkable(&self.bundle.place(source, statement.span));
                    continue;
                }
            };
            let name = &field.name;
            let Some(index) = schema.field_index(&name.text) else {
                let problem = Problem::new(
                    CheckId::UnknownField,
                    self.bundle.place(source, name.span),
                    format!("`{}` has no field `{}`", schema.name, name.text),
                );
                let problem = match nearest(&name.text, schema.fields.iter().map(|f| f.name)) {
                    Some(meant) => problem.did_you_mean(Some(meant)),
                    None => {
                        let known: Vec<&str> = schema.fields.iter().map(|f| f.name).collect();
                        problem.help(format!("its fields are {}", known.join(", ")))
                    }
                };
                self.record(problem);
                target.fields_incomplete = true;
                continue;
            };
            if let Some(first) = seen[index as usize].replace(name) {
                self.given_twice(source, "field", name, first);
                continue;
            }
            Self::drop_other_ways(target, schema, &name.text, layer, from_part);
            target.fields[index as usize] = Some(MergedField {
                source,
                field,
                origin,
                from_part,
                layer,
            });
        }
    }

    /// Drops the ways from lower layers if a field gives the same thing in another way. Two ways in the same layer
    /// are both kept, to be checked against each other.
    fn drop_other_ways(
        target: &mut MergedBlock<'a>,
        schema: &'static BlockSchema,
        name: &str,
        layer: usize,
        from_part: bool,
    ) {
        let Some((alternatives, way)) = schema.way_of(name) else {
            return;
        };
        for (i, other) in alternatives.ways.iter().enumerate() {
            if i == way {
                continue;
            }
            for name in *other {
                let Some(index) = schema.field_index(name) else {
                    continue;
                };
                let slot = &mut target.fields[index as usize];
                let below =
                    |field: &MergedField| (field.layer, !field.from_part) < (layer, !from_part);
                if slot.as_ref().is_some_and(below) {
                    *slot = None;
                }
            }
        }
    }
}

/// Whether a value is written but cannot be used.
pub(super) fn is_bad(value: &Value) -> bool {
    matches!(value.kind, syntax::ValueKind::Bad)
}
