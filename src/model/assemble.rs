//! Builds one system from its merged text, with the problems found on the way.

use super::bundle::Bundle;
use super::exact::money;
use super::expression::expression;
use super::fields::Builder;
use super::layers::{MergedAllow, Overrides};
use super::merge::merge;
use super::order::PRICE;
use super::price_limit::PriceLimit;
use super::shared_blocks::SharedBlocks;
use super::soundness::Soundness;
use super::source::known_block;
use super::system::{Allow, Choose, Fitting, PartName, Require, System};
use super::value::{check_dimension, learn_units};
use crate::check_id::CheckId;
use crate::finding::{Place, Problem};
use crate::quantity::{Display, nearest};
use crate::schema::{BlockId, FieldId, RESULTS, ResultId};
use crate::syntax;
use rustc_hash::FxHashSet;
use std::collections::HashSet;

/// A system of a bundle's first file, to be built again with other parts or values.
#[derive(Clone, Copy)]
pub struct Rebuild<'a> {
    pub(super) bundle: &'a Bundle,
    pub(super) tree: &'a syntax::System,
}

impl<'a> Rebuild<'a> {
    /// The system in a bundle's first file from which a built system was made; `None` if the file has no such system.
    pub fn of(bundle: &'a Bundle, system: &System) -> Option<Self> {
        let root = &bundle.sources[0];
        let is_meant = |tree: &&syntax::System| tree.name.span == system.place.span;
        let tree = root
            .system(&system.name)
            .filter(is_meant)
            .or_else(|| root.systems().find(is_meant))?;
        Some(Self { bundle, tree })
    }

    pub(super) fn with(self, changes: Overrides) -> BuildOutput {
        build_one(self.bundle, self.tree, changes, &mut None)
    }

    /// The system as the text says it. Blocks that other systems have too are taken from `shared`, or added to it.
    pub(super) fn sharing(self, shared: &mut Option<SharedBlocks<'a>>) -> BuildOutput {
        build_one(self.bundle, self.tree, Overrides::default(), shared)
    }
}

/// A built system and the problems found while it was built.
pub(super) struct BuildOutput {
    pub system: System,
    pub problems: Vec<Problem>,
    pub used_lets: HashSet<Place>,
    /// The fields that expressions read, each with the block that reads it. The block is `None` for what belongs to
    /// no block.
    pub reads: FxHashSet<(Option<BlockId>, FieldId)>,
    /// Allows that come from the chosen parts.
    pub choice_allows: Vec<Allow>,
}

fn build_one<'a>(
    bundle: &'a Bundle,
    tree: &'a syntax::System,
    changes: Overrides,
    shared: &mut Option<SharedBlocks<'a>>,
) -> BuildOutput {
    let mut problems = Vec::new();
    let merged = merge(bundle, tree, &changes, &mut problems);
    let mut builder = Builder::new(bundle, merged);
    builder.is_unchanged = changes.parts.is_empty() && changes.values.is_empty();
    builder.values = changes.values;
    builder.shared = shared.take();
    let system = builder.system(tree);
    *shared = builder.shared.take();
    problems.append(&mut builder.problems);
    let choice_allows = builder.allows(true);
    BuildOutput {
        system,
        problems,
        used_lets: builder.used_lets,
        reads: builder.reads,
        choice_allows,
    }
}

impl<'a> Builder<'a> {
    fn system(&mut self, tree: &'a syntax::System) -> System {
        let (blocks, labelled) = self.evaluate_all();
        let (mut lines, mut fittings, mut visits) = (Vec::new(), Vec::new(), Vec::new());
        let mut relays = Vec::new();
        for component in labelled {
            if component.block == crate::block!(line) {
                lines.push(component);
            } else if component.block == crate::block!(relay) {
                relays.push(component);
            } else if component.block == crate::block!(fitting) {
                fittings.push(Fitting {
                    lines_before: lines.len(),
                    component,
                });
            } else {
                visits.push(component);
            }
        }
        self.check_own_lets(tree);
        let (requires, price_limits) = self.requires();
        let chooses = match self.is_unchanged {
            true => self.chooses(),
            false => Vec::new(),
        };
        let allows = self.allows(false);
        let mut system = System {
            name: tree.name.text.clone(),
            title: tree.title.as_ref().map(|title| title.text.clone()),
            place: self.bundle.place(0, tree.name.span),
            body: (tree.body.whole).then(|| self.bundle.place(0, tree.body.span)),
            blocks,
            lines,
            visits,
            relays,
            fittings,
            requires,
            price_limits,
            allows,
            chooses,
            display: self.display(),
            read_by_expressions: self.read_by_expressions(),
            soundness: Soundness::Partial,
            mistake: None,
        };
        self.check_complete(&system);
        system.soundness = self.merged.soundness;
        system.mistake.clone_from(&self.merged.mistake);
        system
    }

    /// The fields that expressions have read so far, each once, in the schema's order.
    fn read_by_expressions(&self) -> Vec<FieldId> {
        let mut fields: Vec<FieldId> = self.reads.iter().map(|(_, field)| *field).collect();
        fields.sort_unstable();
        fields.dedup();
        fields
    }

    fn allows(&self, from_choice: bool) -> Vec<Allow> {
        let of_kind = |merged: &&MergedAllow<'_>| merged.from_choice == from_choice;
        let typed = |merged: &MergedAllow<'_>| Allow {
            check: merged.allow.check.text.clone(),
            why: merged.allow.why.text.clone(),
            place: self.bundle.place(merged.source, merged.allow.check.span),
            block: merged.block,
            own: merged.own,
        };
        self.merged
            .allows
            .iter()
            .filter(of_kind)
            .map(typed)
            .collect()
    }

    /// The units that the values of this system are written in.
    fn display(&self) -> Display {
        let mut display = Display::default();
        let blocks = self.merged.blocks.iter().flatten();
        let fields = blocks.chain(&self.merged.lines).flat_map(|b| &b.fields);
        for field in fields.flatten() {
            learn_units(&field.field.value.kind, &mut display);
        }
        display
    }

    fn requires(&mut self) -> (Vec<Require>, Vec<PriceLimit>) {
        let (mut requires, mut price_limits) = (Vec::new(), Vec::new());
        for (source, require) in self.merged.requires.clone() {
            let place = self.bundle.place(source, require.result.span);
            let name = &require.result.text;
            if name == PRICE {
                match self.price_limit(source, require, place) {
                    Ok(limit) => price_limits.extend(limit),
                    Err(problem) => self.record_minor(problem),
                }
                continue;
            }
            let Some(result) = ResultId::named(name) else {
                self.record_minor(
                    Problem::new(
                        CheckId::UnknownResult,
                        place,
                        format!("there is no result `{name}`"),
                    )
                    .did_you_mean(nearest(
                        name,
                        RESULTS.iter().map(|result| result.name).chain([PRICE]),
                    )),
                );
                continue;
            };
            let mut names = self.names(source);
            let limit = match expression(&require.limit, &mut names) {
                Ok(Some(limit)) => limit,
                Ok(None) => {
                    self.merged.mark_unsound();
                    continue;
                }
                Err(problem) => {
                    self.record_minor(problem);
                    continue;
                }
            };
            let wanted = result.spec().dimension;
            let written = syntax::ValueKind::Plain(require.limit.clone());
            let limit_place = self.bundle.place(source, require.limit.span);
            if let Err(problem) =
                check_dimension(name, wanted, limit.dimension, &written, &limit_place)
            {
                self.record_minor(problem);
                continue;
            }
            requires.push(Require {
                result,
                comparison: require.comparison,
                limit: limit.band,
                why: require.why.as_ref().map(|why| why.text.clone()),
                place,
            });
        }
        (requires, price_limits)
    }

    /// A limit on what all parts together cost; `None` where it has a mistake that is reported elsewhere.
    fn price_limit(
        &mut self,
        source: usize,
        require: &syntax::Require,
        place: Place,
    ) -> Result<Option<PriceLimit>, Problem> {
        let limit_place = self.bundle.place(source, require.limit.span);
        let written = syntax::ValueKind::Plain(require.limit.clone());
        let limit = money(PRICE, &written, limit_place, &mut self.names(source))?;
        if limit.is_none() {
            self.merged.mark_unsound();
        }
        Ok(limit.map(|limit| PriceLimit {
            comparison: require.comparison,
            limit,
            why: require.why.as_ref().map(|why| why.text.clone()),
            place,
        }))
    }

    fn chooses(&mut self) -> Vec<Choose> {
        let mut chooses = Vec::new();
        let mut known: HashSet<(&str, &str)> = HashSet::new();
        for (source, choose) in self.merged.chooses.clone() {
            let place = self.bundle.place(source, choose.block.span);
            let Some(block) = known_block(&choose.block, &place, &mut self.problems) else {
                self.merged.mark_unworkable(&place);
                continue;
            };
            let mut parts = Vec::new();
            for name in &choose.parts {
                let mention = self.bundle.place(source, name.span);
                match self.bundle.part(source, &choose.block.text, &name.text) {
                    Some(_) if !known.insert((&choose.block.text, &name.text)) => {
                        self.record(
                            Problem::new(
                                CheckId::GivenTwice,
                                mention,
                                format!("`{}` is among the choices twice", name.text),
                            )
                            .help("remove one of them"),
                        );
                    }
                    Some((defined, part)) => parts.push(PartName {
                        name: name.text.clone(),
                        definition: self.bundle.place(defined, part.name.span),
                        mention,
                    }),
                    None => {
                        let known = self.bundle.known_parts(source, &choose.block.text);
                        let unknown = || {
                            Problem::new(
                                CheckId::UnknownName,
                                mention,
                                format!("there is no part `{} {}`", choose.block.text, name.text),
                            )
                            .did_you_mean(self.bundle.suggest(&name.text, known))
                        };
                        let problem = self.bundle.hidden(source).unwrap_or_else(unknown);
                        self.record(problem);
                    }
                }
            }
            chooses.push(Choose {
                block,
                parts,
                place,
            });
        }
        chooses
    }
}
