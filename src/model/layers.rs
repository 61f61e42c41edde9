//! A system before its expressions are evaluated, and the layers that it lies in: the systems that
//! it starts from, and the choices that none of them has settled.

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

/// How many lines a system may have, and how many visits: no car comes near, and what one more line would do is
/// asked of each.
pub const MAX_LINES: usize = 32;

/// How many names a message lists.
pub(super) const MOST_LISTED: usize = 8;

/// What is wrong with a block that has a label and nothing else, and what to do.
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
    /// The blocks with labels: its lines, and behind them its visits.
    pub lines: Vec<MergedBlock<'a>>,
    /// Where its lets stand.
    pub layers: Layers<'a>,
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

#[derive(Clone)]
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
    /// Takes over the blocks with labels, as far as there may be so many of each kind; of what is over, where it
    /// begins and what to say.
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

    /// Something that a number may depend on is not known, because of a mistake somewhere.
    pub fn mark_unworkable(&mut self, mistake: &Place) {
        self.soundness = Soundness::Partial;
        self.mistake.get_or_insert_with(|| mistake.clone());
    }

    /// Something that no number depends on is not known.
    pub fn mark_unsound(&mut self) {
        self.soundness = self.soundness.min(Soundness::Workable);
    }

    /// The system that it starts from in the end: itself, if it has no base. What is missing from
    /// all of them is missing there.
    pub fn root_base(&self) -> Option<(usize, &'a syntax::System)> {
        self.layers.0.first().copied()
    }

    /// A system that says nothing.
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

/// The choices of a system and its bases. A later choice for the same block takes the place of
/// an earlier one, and a block that names a part settles it.
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

/// A system and all that it starts from, the first base first, each with its file.
#[derive(Clone, Debug, Default)]
pub(super) struct Layers<'a>(pub Vec<(usize, &'a syntax::System)>);

/// Why what a system starts from is not known to its end.
pub(super) enum BrokenBase {
    Unknown,
    Cycle,
    TooDeep,
}

impl BrokenBase {
    /// What is wrong with the base of a system.
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
    /// The layers of a system of the bundle's first file, and what breaks them off, if anything does:
    /// the base of the first of them.
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

    /// A let of the system or of a base: the derived one wins.
    pub fn let_named(&self, bundle: &'a Bundle, name: &str) -> Option<(usize, &'a Let)> {
        self.lets_named(bundle, name).next_back()
    }

    /// The let that a name in one of the files means: of the system or a base, else of the files
    /// that this one sees.
    pub fn find_let(
        &self,
        bundle: &'a Bundle,
        file: usize,
        name: &str,
    ) -> Option<(usize, &'a Let)> {
        let of_system = self.let_named(bundle, name);
        of_system.or_else(|| bundle.let_named(file, name))
    }

    /// All lets of a name, that of the first base first. Each takes the place of the one before.
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

    /// All lets, those of the first base first.
    pub fn lets(&self, bundle: &'a Bundle) -> impl Iterator<Item = &'a Let> {
        let layers = self.0.iter();
        layers.flat_map(|(source, system)| bundle.sources[*source].lets_of(system))
    }
}

/// Whether a system's own words name a part for a block.
pub(super) fn names_part(system: &syntax::System, block: BlockId) -> bool {
    let name = BLOCKS[block as usize].name;
    system.body.statements.iter().any(|statement| {
        matches!(&statement.kind, StatementKind::Block(block)
            if block.name.is_some() && block.block.text == name)
    })
}

/// Whether no number can depend on a statement that something is wrong with: what it says is asked
/// for by its name, or held against numbers, and nothing else has got into it.
pub(super) fn cannot_affect_results(statement: &Statement, file: &Source) -> bool {
    let text = file.text_of(statement.span);
    // A reason is the last of a statement.
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
