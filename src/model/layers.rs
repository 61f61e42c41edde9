//! A system before its expressions are evaluated, and the layers that it lies in: the systems that
//! it starts from, and the choices that none of them has settled.

use super::bundle::Bundle;
use super::system::{Origin, PartName, Soundness};
use crate::check_id::CheckId;
use crate::finding::{Place, Problem};
use crate::schema::{BLOCKS, BlockId, FieldId};
use crate::syntax::{self, StatementKind};

/// How many systems may start from one another in a row.
pub const MAX_FROM_DEPTH: usize = 32;

/// How many names a message lists.
pub(super) const MOST_LISTED: usize = 8;

/// A system before any expression is evaluated.
pub(super) struct Merged<'a> {
    pub blocks: Vec<Option<MergedBlock<'a>>>,
    pub lines: Vec<MergedBlock<'a>>,
    /// The system and all it starts from, the first base first: where its lets stand.
    pub layers: Vec<(usize, &'a syntax::System)>,
    pub requires: Vec<(usize, &'a syntax::Require)>,
    pub allows: Vec<MergedAllow<'a>>,
    pub chooses: Vec<(usize, &'a syntax::Choose)>,
    /// How much of it is known so far.
    pub soundness: Soundness,
    /// Where the first mistake stands because of which it cannot be worked out.
    pub mistake: Option<Place>,
    /// Whether something unreadable may be the block that seems to be missing.
    pub blocks_incomplete: bool,
}

pub(super) struct MergedBlock<'a> {
    pub block: BlockId,
    pub part: Option<PartName>,
    pub label: Option<&'a str>,
    pub place: Place,
    pub own: bool,
    pub body: Option<Place>,
    pub fields: Vec<Option<MergedField<'a>>>,
    /// Whether something unreadable may be the field that seems to be missing.
    pub fields_incomplete: bool,
}

#[derive(Clone, Copy)]
pub(super) struct MergedField<'a> {
    pub source: usize,
    pub field: &'a syntax::Field,
    pub origin: Origin,
    /// Whether it is a part's field, here or in a base.
    pub from_part: bool,
    /// Which layer it lies in.
    pub layer: usize,
}

pub(super) struct MergedAllow<'a> {
    pub source: usize,
    pub allow: &'a syntax::Allow,
    pub block: Option<BlockId>,
    pub own: bool,
    /// Whether it comes from a part that another could be taken for.
    pub from_choice: bool,
}

/// What takes the place of what the text says.
#[derive(Clone, Debug, Default)]
pub(super) struct Overrides {
    pub parts: Vec<PartOverride>,
    /// Values in internal units.
    pub values: Vec<(FieldId, f64)>,
}

/// A part that takes the place of another.
#[derive(Clone, Debug)]
pub(super) struct PartOverride {
    pub block: BlockId,
    pub name: String,
    /// Where a choice of the system names it; otherwise it takes the place of what is named.
    pub mention: Option<Place>,
}

impl Overrides {
    pub fn part(&self, block: BlockId) -> Option<&PartOverride> {
        self.parts.iter().find(|part| part.block == block)
    }
}

/// A choice that no later layer has settled.
#[derive(Clone, Copy)]
pub(super) struct OpenChoice<'a> {
    pub layer: usize,
    pub source: usize,
    pub choose: &'a syntax::Choose,
}

impl<'a> MergedBlock<'a> {
    pub fn new(block: BlockId, place: Place) -> Self {
        Self {
            block,
            part: None,
            label: None,
            place,
            own: false,
            body: None,
            fields: vec![None; BLOCKS[block as usize].fields.len()],
            fields_incomplete: false,
        }
    }
}

impl<'a> Merged<'a> {
    /// A let of the system or of a base: the derived one wins.
    pub fn let_named(&self, bundle: &'a Bundle, name: &str) -> Option<(usize, &'a syntax::Let)> {
        self.layers.iter().rev().find_map(|(source, system)| {
            let item = bundle.sources[*source].let_of(system, name)?;
            Some((*source, item))
        })
    }

    /// Something that a number may depend on is not known, because of a mistake somewhere.
    pub fn mark_unworkable(&mut self, mistake: &Place) {
        self.soundness = Soundness::Partial;
        self.mistake.get_or_insert_with(|| mistake.clone());
    }

    /// Something that no number depends on is not known.
    pub fn mark_unsound(&mut self) {
        self.soundness = self.soundness.min(Soundness::Workable);
    }

    /// All lets of the system and of its bases.
    pub fn lets(&self, bundle: &'a Bundle) -> impl Iterator<Item = &'a syntax::Let> {
        let layers = self.layers.iter();
        layers.flat_map(|(source, system)| bundle.sources[*source].lets_of(system))
    }

    /// The system that it starts from in the end: itself, if it has no base. What is missing from
    /// all of them is missing there.
    pub fn root_base(&self) -> Option<(usize, &'a syntax::System)> {
        self.layers.first().copied()
    }

    /// A system that says nothing.
    pub fn empty() -> Self {
        Self {
            blocks: BLOCKS.iter().map(|_| None).collect(),
            lines: Vec::new(),
            layers: Vec::new(),
            requires: Vec::new(),
            allows: Vec::new(),
            chooses: Vec::new(),
            soundness: Soundness::Sound,
            mistake: None,
            blocks_incomplete: false,
        }
    }
}

/// The choices of a system and its bases. A later choice for the same block takes the place of
/// an earlier one, and a block that names a part settles it.
pub(super) fn open_choices<'a>(
    bundle: &'a Bundle,
    chain: &[(usize, &'a syntax::System)],
) -> Vec<OpenChoice<'a>> {
    let mut open: Vec<OpenChoice<'a>> = Vec::new();
    for (layer, (source, system)) in chain.iter().enumerate() {
        for statement in bundle.sources[*source].all_but_lets(system) {
            match &statement.kind {
                StatementKind::Choose(choose) => {
                    open.retain(|known| known.choose.block.text != choose.block.text);
                    open.push(OpenChoice {
                        layer,
                        source: *source,
                        choose,
                    });
                }
                StatementKind::Block(block) if block.name.is_some() => {
                    open.retain(|known| {
                        known.layer == layer || known.choose.block.text != block.block.text
                    });
                }
                _ => {}
            }
        }
    }
    open
}

/// The system and all it starts from, the first base first.
pub(super) fn chain<'a>(
    bundle: &'a Bundle,
    system: &'a syntax::System,
    problems: &mut Vec<Problem>,
    merged: &mut Merged<'a>,
) -> Vec<(usize, &'a syntax::System)> {
    let mut chain = vec![(0, system)];
    while let Some((source, system)) = chain.last().copied() {
        let Some(base) = &system.base else { break };
        let place = bundle.place(source, base.span);
        let found = bundle.system(source, &base.text);
        let problem = match found {
            None => {
                let known = bundle
                    .visible(source)
                    .flat_map(|(_, source)| source.systems())
                    .map(|system| system.name.text.as_str());
                bundle.hidden(source).unwrap_or_else(|| {
                    Problem::new(
                        CheckId::UnknownName,
                        place,
                        format!("there is no system `{}` to start from", base.text),
                    )
                    .did_you_mean(bundle.suggest(&base.text, known))
                })
            }
            Some((_, base)) if chain.iter().any(|(_, known)| std::ptr::eq(*known, base)) => {
                Problem::new(
                    CheckId::UseCycle,
                    place,
                    format!("`{}` starts from itself", system.name.text),
                )
                .help("one system of the circle must stand on its own")
            }
            Some(_) if chain.len() > MAX_FROM_DEPTH => Problem::new(
                CheckId::TooLarge,
                place,
                format!("systems start from one another more than {MAX_FROM_DEPTH} deep"),
            ),
            Some(found) => {
                chain.push(found);
                continue;
            }
        };
        merged.mark_unworkable(&problem.place);
        problems.push(problem);
        merged.blocks_incomplete = true;
        break;
    }
    chain.reverse();
    chain
}

/// Whether a system's own words name a part for a block.
pub(super) fn names_part(system: &syntax::System, block: BlockId) -> bool {
    let name = BLOCKS[block as usize].name;
    system.body.statements.iter().any(|statement| {
        matches!(&statement.kind, StatementKind::Block(block)
            if block.name.is_some() && block.block.text == name)
    })
}
