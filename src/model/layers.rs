//! A system before its expressions are evaluated, with its layers: the system and all the bases that it starts from.
//! Also the choices that no layer has settled.

use super::bundle::Bundle;
use super::soundness::Soundness;
use super::source::Source;
use super::system::{Origin, PartName};
use crate::check_id::CheckId;
use crate::finding::{Place, Problem};
use crate::schema::{BLOCKS, Block, BlockId, FieldId};
use crate::syntax::{self, Let, Statement, StatementKind};

/// How many systems may start from one another in a row.
pub const MAX_FROM_DEPTH: usize = 32;

/// How many lines, relays and fittings together a system may have, and how many visits. No car comes near it. The
/// number is bounded because some work is done for each line.
pub const MAX_LINES: usize = 32;

/// How many names a message lists.
pub(super) const MOST_LISTED: usize = 8;

/// The message and help for a block that has a label and nothing else.
pub(super) fn without_body(block: &Block) -> (&'static str, &'static str) {
    if block.labelled {
        return (
            "a visit has no body: its name is a label, not a part",
            "give its readings: `measured first_call { slave_travel = 12.9 mm }`",
        );
    }
    if block.name == "fitting" {
        return (
            "this fitting has neither a body nor the name of a part",
            "give its ports: `fitting adapter { inlet = \"…\"  outlet = \"…\" }`",
        );
    }
    (
        "a line has no body: its name is a label, not a part",
        "give its bore and length: `line hard { bore = 3.2 mm  length = 900 mm }`",
    )
}

/// A system before any expression is evaluated.
pub(super) struct Merged<'a> {
    pub blocks: Vec<Option<MergedBlock<'a>>>,
    /// The blocks that may occur more than once: lines, relays and fittings in the order of the text, then visits.
    pub lines: Vec<MergedBlock<'a>>,
    /// The layers in which the system's lets are defined.
    pub layers: Layers<'a>,
    pub requires: Vec<(usize, &'a syntax::Require)>,
    pub allows: Vec<MergedAllow<'a>>,
    pub chooses: Vec<(usize, &'a syntax::Choose)>,
    /// How much of the system is known so far.
    pub soundness: Soundness,
    /// Where the first mistake is that keeps the system from being worked out.
    pub mistake: Option<Place>,
    /// Whether a missing block may be in text that could not be read.
    pub blocks_incomplete: bool,
}

#[derive(Clone)]
pub(super) struct MergedBlock<'a> {
    pub block: BlockId,
    pub part: Option<PartName>,
    pub label: Option<&'a str>,
    pub place: Place,
    pub own: bool,
    pub body: Option<Place>,
    pub fields: Vec<Option<MergedField<'a>>>,
    /// Whether a missing field may be in text that could not be read.
    pub fields_incomplete: bool,
}

#[derive(Clone, Copy)]
pub(super) struct MergedField<'a> {
    pub source: usize,
    pub field: &'a syntax::Field,
    pub origin: Origin,
    /// Whether it is a field of a part, named by this system or by a base.
    pub from_part: bool,
    /// The layer that the field is in.
    pub layer: usize,
}

pub(super) struct MergedAllow<'a> {
    pub source: usize,
    pub allow: &'a syntax::Allow,
    pub block: Option<BlockId>,
    pub own: bool,
    /// Whether it comes from a part of a choice.
    pub from_choice: bool,
}

/// Parts and values that replace what the text says.
#[derive(Clone, Debug, Default)]
pub(super) struct Overrides {
    pub parts: Vec<PartOverride>,
    /// Values in internal units.
    pub values: Vec<(FieldId, f64)>,
}

/// A part that replaces another.
#[derive(Clone, Debug)]
pub(super) struct PartOverride {
    pub block: BlockId,
    pub name: String,
    /// Where a choice of the system names the part. `None` if it replaces a part that the system names.
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

impl MergedBlock<'_> {
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
    /// Takes over the blocks that may occur more than once, up to [`MAX_LINES`] in each of two groups: lines, relays
    /// and fittings; visits. Gives a place and a message for each group that has more.
    pub fn take_labelled(
        &mut self,
        labelled: impl Iterator<Item = MergedBlock<'a>>,
    ) -> Vec<(Place, String)> {
        let is_line = |block: &MergedBlock<'_>| BLOCKS[block.block as usize].repeated;
        let (lines, visits): (Vec<_>, Vec<_>) = labelled.partition(is_line);
        let mut over = Vec::new();
        for (blocks, what) in [(lines, "lines"), (visits, "visits")] {
            let mut blocks = blocks.into_iter();
            self.lines.extend(blocks.by_ref().take(MAX_LINES));
            let message = format!("a system has no more than {MAX_LINES} {what}");
            over.extend(blocks.next().map(|more| (more.place, message)));
        }
        over
    }

    /// Notes that something a number may depend on is unknown because of a mistake.
    pub fn mark_unworkable(&mut self, mistake: &Place) {
        self.soundness = Soundness::Partial;
        self.mistake.get_or_insert_with(|| mistake.clone());
    }

    /// Notes that something no number depends on is unknown.
    pub fn mark_unsound(&mut self) {
        self.soundness = self.soundness.min(Soundness::Workable);
    }

    /// The last base in the chain of bases, or the system itself if it has none. What all layers lack is reported as
    /// missing there.
    pub fn root_base(&self) -> Option<(usize, &'a syntax::System)> {
        self.layers.0.first().copied()
    }

    /// A system without any statement.
    pub fn empty() -> Self {
        Self {
            blocks: BLOCKS.iter().map(|_| None).collect(),
            lines: Vec::new(),
            layers: Layers::default(),
            requires: Vec::new(),
            allows: Vec::new(),
            chooses: Vec::new(),
            soundness: Soundness::Sound,
            mistake: None,
            blocks_incomplete: false,
        }
    }
}

/// The choices that a system and its bases leave open. A later choice for a block replaces an earlier one. A block
/// that names a part settles the choice.
pub(super) fn open_choices<'a>(bundle: &'a Bundle, layers: &Layers<'a>) -> Vec<OpenChoice<'a>> {
    let mut open: Vec<OpenChoice<'a>> = Vec::new();
    for (layer, (source, system)) in layers.0.iter().enumerate() {
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

/// A system and all the systems that it starts from, the first base first, each with its file.
#[derive(Clone, Debug, Default)]
pub(super) struct Layers<'a>(pub Vec<(usize, &'a syntax::System)>);

/// Why the chain of a system's bases could not be followed to its end.
pub(super) enum BrokenBase {
    Unknown,
    Cycle,
    TooDeep,
}

impl BrokenBase {
    /// The problem to report for the base of a system.
    pub fn problem(self, bundle: &Bundle, source: usize, system: &syntax::System) -> Problem {
        let base = system.base.as_ref().unwrap_or(&system.name);
        let place = bundle.place(source, base.span);
        match self {
            Self::Unknown => bundle.hidden(source).unwrap_or_else(|| {
                let known = bundle
                    .visible(source)
                    .flat_map(|(_, source)| source.systems())
                    .map(|system| system.name.text.as_str());
                let message = format!("there is no system `{}` to start from", base.text);
                Problem::new(CheckId::UnknownName, place, message)
                    .did_you_mean(bundle.suggest(&base.text, known))
            }),
            Self::Cycle => {
                let message = format!("`{}` starts from itself", system.name.text);
                Problem::new(CheckId::UseCycle, place, message)
                    .help("one system of the circle must stand on its own")
            }
            Self::TooDeep => {
                let message =
                    format!("systems start from one another more than {MAX_FROM_DEPTH} deep");
                Problem::new(CheckId::TooLarge, place, message)
            }
        }
    }
}

impl<'a> Layers<'a> {
    /// The layers of a system of the bundle's first file. If a base cannot be followed, the second value says why; it
    /// is the base of the first layer.
    pub fn of(bundle: &'a Bundle, system: &'a syntax::System) -> (Self, Option<BrokenBase>) {
        let mut layers = vec![(0, system)];
        let mut broken = None;
        while let Some((source, system)) = layers.last().copied() {
            let Some(base) = &system.base else { break };
            let is_known = |base| layers.iter().any(|(_, known)| std::ptr::eq(*known, base));
            match bundle.system(source, &base.text) {
                None => broken = Some(BrokenBase::Unknown),
                Some((_, base)) if is_known(base) => broken = Some(BrokenBase::Cycle),
                Some(_) if layers.len() > MAX_FROM_DEPTH => broken = Some(BrokenBase::TooDeep),
                Some(found) => {
                    layers.push(found);
                    continue;
                }
            }
            break;
        }
        layers.reverse();
        (Self(layers), broken)
    }

    /// A let of the system or of a base. If several have the name, the most derived one counts.
    pub fn let_named(&self, bundle: &'a Bundle, name: &str) -> Option<(usize, &'a Let)> {
        self.lets_named(bundle, name).next_back()
    }

    /// The let that a name means in a file: a let of the system or of a base, else of the files that this file sees.
    pub fn find_let(
        &self,
        bundle: &'a Bundle,
        file: usize,
        name: &str,
    ) -> Option<(usize, &'a Let)> {
        let of_system = self.let_named(bundle, name);
        of_system.or_else(|| bundle.let_named(file, name))
    }

    /// All lets with a name, the first base's first. Each replaces the one before it.
    pub fn lets_named(
        &self,
        bundle: &'a Bundle,
        name: &str,
    ) -> impl DoubleEndedIterator<Item = (usize, &'a Let)> {
        self.0.iter().filter_map(move |(source, system)| {
            let item = bundle.sources[*source].let_of(system, name)?;
            Some((*source, item))
        })
    }

    /// The lets of all layers, the first base's first.
    pub fn lets(&self, bundle: &'a Bundle) -> impl Iterator<Item = &'a Let> {
        let layers = self.0.iter();
        layers.flat_map(|(source, system)| bundle.sources[*source].lets_of(system))
    }
}

/// Whether a system's own body names a part for a block.
pub(super) fn names_part(system: &syntax::System, block: BlockId) -> bool {
    let name = BLOCKS[block as usize].name;
    system.body.statements.iter().any(|statement| {
        matches!(&statement.kind, StatementKind::Block(block)
            if block.name.is_some() && block.block.text == name)
    })
}

/// Whether a statement with a mistake cannot change any number. That holds for a `let`, `require` or `allow` if no
/// block's name and no brace has got into it.
pub(super) fn cannot_affect_results(statement: &Statement, file: &Source) -> bool {
    let text = file.text_of(statement.span);
    // A reason comes last in a statement.
    let text = text.split('"').next().unwrap_or_default();
    let mut words = text.split(|c: char| !(c.is_alphanumeric() || c == '_' || c == '-'));
    let first = words.next();
    let known = match &statement.kind {
        StatementKind::Let(_) => true,
        StatementKind::Bad => matches!(first, Some("require" | "allow")),
        kind => matches!(kind, StatementKind::Require(_) | StatementKind::Allow(_)),
    };
    known && !text.contains('{') && words.all(|word| Block::named(word).is_none())
}
