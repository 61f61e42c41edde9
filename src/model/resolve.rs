//! What the names in a file mean, found by the look-ups that a build makes.
//!
//! A part, or a let outside of systems, is read by each system that uses it, with that system's lets and fields. It
//! is shown as the first system in the file that uses it sees it.

use super::bundle::Bundle;
use super::expression::{LetValue, PI};
use super::fields::Builder;
use super::layers::{Layers, Merged, Overrides};
use super::let_groups::{Group, Joined};
use super::merge::merge;
use super::order::PRICE;
use super::reads::{Defined, FreeRead, Reads, chosen_parts};
use super::source::Source;
use super::spot::{Spot, What, is_repeated, spot, spots};
use super::value;
use crate::finding::Place;
use crate::schema::{BLOCKS, Block, BlockId, Choice, FieldId, Kind, ResultId};
use crate::syntax::{self, Let, Name, Span, StatementKind};
use std::cell::{OnceCell, RefCell};
use std::collections::{HashMap, HashSet};
use std::hash::Hash;
use std::rc::Rc;

/// What a name means.
#[derive(Clone, Copy, Debug)]
pub enum Resolved<'a> {
    File(&'a Source),
    System(Defined<'a, syntax::System>),
    Part(Defined<'a, syntax::Part>),
    Let(Defined<'a, Let>),
    /// A label of a line, as the first base defines it.
    Label(&'a Source, &'a Name),
    /// A kind of component that the schema knows.
    Block,
    /// The name of a field where it is given a value.
    Field(&'a syntax::Field),
    /// A block that an expression reads from.
    PathBlock(BlockId),
    /// A field that an expression reads.
    PathField(FieldId),
    /// One of the words that a field allows.
    Choice(FieldId, &'static Choice),
    /// `pi` in an expression.
    Pi,
    /// A function in an expression; it need not exist.
    Function,
    /// A result that the schema knows.
    Result,
    /// The check of an `allow`; it need not exist.
    Check,
}

/// The names of a file and of all that it brings in.
pub struct Resolver<'a> {
    bundle: &'a Bundle,
    /// The layers of the first file's systems.
    layers: RefCell<HashMap<Place, Rc<Layers<'a>>>>,
    merged: RefCell<HashMap<Place, Rc<Merged<'a>>>>,
    reads: RefCell<HashMap<Place, Rc<Reads<'a>>>>,
    joined: RefCell<HashMap<&'a str, Rc<Joined>>>,
    /// The words in expressions that may be free, in all files.
    free_words: OnceCell<HashSet<&'a str>>,
}

impl<'a> Resolver<'a> {
    pub fn new(bundle: &'a Bundle) -> Self {
        Self {
            bundle,
            layers: RefCell::default(),
            merged: RefCell::default(),
            reads: RefCell::default(),
            joined: RefCell::default(),
            free_words: OnceCell::new(),
        }
    }

    // ---- definitions ----

    /// The first file of the bundle.
    pub fn root(&self) -> &'a Source {
        &self.bundle.sources[0]
    }

    /// The files whose names the file sees, itself first.
    pub fn visible(&self) -> impl Iterator<Item = &'a Source> + use<'a> {
        self.bundle.visible(0).map(|(_, source)| source)
    }

    /// The file that the path of a `use` leads to.
    pub fn used_at(&self, path: Span) -> Option<&'a Source> {
        self.brought_in(path).next()
    }

    /// The file that a `use` names, and the files that it uses in turn.
    pub fn brought_in(&self, path: Span) -> impl Iterator<Item = &'a Source> + use<'a> {
        self.bundle.brought_in(path)
    }

    /// The part that a name means.
    pub fn part(&self, block: &str, name: &str) -> Option<Defined<'a, syntax::Part>> {
        let (file, node) = self.bundle.part(0, block, name)?;
        Some(self.defined(file, node))
    }

    /// The system that a name means.
    pub fn system(&self, name: &str) -> Option<Defined<'a, syntax::System>> {
        let (file, node) = self.bundle.system(0, name)?;
        Some(self.defined(file, node))
    }

    /// The let that a name means in a system of the file, or outside of all systems.
    pub fn let_named(
        &self,
        system: Option<&'a syntax::System>,
        name: &str,
    ) -> Option<Defined<'a, Let>> {
        let layers = system.map(|system| self.layers(system)).unwrap_or_default();
        let (file, node) = layers.find_let(self.bundle, 0, name)?;
        Some(self.defined(file, node))
    }

    /// The lets that can be read in a system of the file, or outside of all systems. Of several with one name only
    /// the nearest is listed. The nearest ones are first.
    pub fn lets(&self, system: Option<&'a syntax::System>) -> Vec<Defined<'a, Let>> {
        let layers = system.map(|system| self.layers(system)).unwrap_or_default();
        let own = layers.0.iter().rev().flat_map(|(file, system)| {
            let source = &self.bundle.sources[*file];
            let mut lets: Vec<_> = source.lets_of(system).map(|item| (*file, item)).collect();
            lets.reverse();
            lets
        });
        let outside = self.bundle.visible(0);
        let outside =
            outside.flat_map(|(file, source)| source.lets().map(move |item| (file, item)));
        let mut seen = HashSet::new();
        own.chain(outside)
            .filter(|(_, item)| seen.insert(item.name.text.as_str()))
            .map(|(file, item)| self.defined(file, item))
            .collect()
    }

    fn defined<T>(&self, file: usize, node: &'a T) -> Defined<'a, T> {
        Defined::new(self.bundle, file, node)
    }

    // ---- what stands at a place ----

    /// What the file names at an offset: the place, and what its name means.
    pub fn at(&self, offset: u32) -> Option<(Spot<'a>, Resolved<'a>)> {
        let spot = spot(&self.root().tree, offset)?;
        Some((spot, self.resolve(spot)?))
    }

    /// What a place in the file means; `None` where it is no name, or its name is unknown.
    pub fn resolve(&self, spot: Spot<'a>) -> Option<Resolved<'a>> {
        Some(match spot.what {
            What::UsePath(path) => Resolved::File(self.used_at(path.span)?),
            What::SystemName => Resolved::System(self.defined(0, spot.system?)),
            What::Base(name) => Resolved::System(self.system(&name.text)?),
            What::BlockName(name) => Block::named(&name.text).map(|_| Resolved::Block)?,
            What::PartName(part) => Resolved::Part(self.defined(0, part)),
            What::PartMention { block, name } => {
                Resolved::Part(self.part(&block.text, &name.text)?)
            }
            What::Label(name) => self.label(spot, name)?,
            What::FieldName(field) => Resolved::Field(field),
            What::Word { word, expr, .. } => match choices_of(spot) {
                Some((id, choices)) => {
                    let choice = choices.iter().find(|choice| choice.name == word)?;
                    Resolved::Choice(id, choice)
                }
                None if word == PI => Resolved::Pi,
                None => Resolved::Let(self.word(spot, word, expr)?),
            },
            What::Path {
                block,
                field,
                on_block,
            } => {
                let id = FieldId::named(&block.text, &field.text);
                match on_block {
                    true => Resolved::PathBlock(Block::named(&block.text)?),
                    false => Resolved::PathField(id?),
                }
            }
            What::LetName(item) => Resolved::Let(self.defined(0, item)),
            What::Function(_) => Resolved::Function,
            What::ResultName(name) if name.text == PRICE => Resolved::Result,
            What::ResultName(name) => ResultId::named(&name.text).map(|_| Resolved::Result)?,
            What::CheckName(_) => Resolved::Check,
            What::FieldValue(_) | What::LetValue(_) | What::Unit { .. } => return None,
        })
    }

    fn word(&self, spot: Spot<'a>, word: &'a str, expr: &syntax::Expr) -> Option<Defined<'a, Let>> {
        let own = self.let_named(spot.system, word);
        if spot.system.is_some() && own.is_some() {
            return own;
        }
        let binding = self.binding(word);
        let systems = match (spot.system, binding.is_empty()) {
            (None, false) => self.context(spot).into_iter().collect(),
            // Only systems that start from it know what it is.
            _ => binding,
        };
        let place = self.bundle.place(0, expr.span);
        let read = systems.into_iter().find_map(|system| {
            let reads = self.reads(system);
            let read = reads.free.iter().find(|read| read.place == place)?;
            Some(read.item)
        });
        read.or(own)
    }

    fn label(&self, spot: Spot<'a>, label: &Name) -> Option<Resolved<'a>> {
        let block = &spot.block?.block.text;
        let takes_parts = Block::named(block).is_some_and(|id| BLOCKS[id as usize].takes_parts);
        if takes_parts && let Some(part) = self.part(block, &label.text) {
            return Some(Resolved::Part(part));
        }
        let layers = self.layers(spot.system?);
        layers.0.iter().find_map(|(file, system)| {
            let mut labels = labels_of(system);
            let (_, name) = labels.find(|(of, name)| *of == block && name.text == label.text)?;
            Some(Resolved::Label(&self.bundle.sources[*file], name))
        })
    }

    // ---- through which system a place is seen ----

    /// The system through which a place is seen. It is the system around the place, or the first one that uses the
    /// part or the let around it.
    pub fn context(&self, spot: Spot<'a>) -> Option<&'a syntax::System> {
        if spot.system.is_some() {
            return spot.system;
        }
        let mut systems = self.root().systems();
        if let Some(part) = spot.part {
            let definition = self.bundle.place(0, part.name.span);
            let may_take = |system: &&'a syntax::System| {
                let layers = self.layers(system);
                layers.0.iter().any(|(_, layer)| names(layer, part))
            };
            let takers: Vec<&'a syntax::System> = systems.filter(may_take).collect();
            let takes = |system: &&'a syntax::System| self.takes(system, &definition);
            let leaves = |system: &&'a syntax::System| self.leaves(system, &definition);
            let mut takers = takers.into_iter();
            return takers.clone().find(takes).or_else(|| takers.find(leaves));
        }
        let definition = self.bundle.place(0, spot.item?.name.span);
        systems.find(|system| self.reads(system).lets.contains(&definition))
    }

    /// Whether a system takes a part.
    fn takes(&self, system: &'a syntax::System, definition: &Place) -> bool {
        let merged = self.merged(system);
        let mut own = merged.blocks.iter().flatten().chain(&merged.lines);
        own.any(|block| {
            let part = block.part.as_ref();
            part.is_some_and(|part| part.definition == *definition)
        })
    }

    /// Whether a system leaves a part open to choose.
    fn leaves(&self, system: &'a syntax::System, definition: &Place) -> bool {
        let merged = self.merged(system);
        chosen_parts(self.bundle, &merged).any(|part| part.place() == *definition)
    }

    // ---- values ----

    /// Where a field gets its value in the system through which a place is seen; `None` where it gets none.
    pub fn given(&self, spot: Spot<'a>, id: FieldId) -> Option<(&'a Source, &'a syntax::Field)> {
        let merged = self.merged(self.context(spot)?);
        let field = merged.blocks[id.block as usize].as_ref()?.fields[id.field as usize]?;
        Some((&self.bundle.sources[field.source], field.field))
    }

    /// Where a block is last named in the system through which a place is seen.
    pub fn block(&self, spot: Spot<'a>, id: BlockId) -> Option<Place> {
        let merged = self.merged(self.context(spot)?);
        Some(merged.blocks[id as usize].as_ref()?.place.clone())
    }

    /// An evaluator of values as a system of the file reads them. Without a system, names that only systems define
    /// have no value.
    pub fn evaluator(&self, system: Option<&'a syntax::System>) -> Evaluator<'a> {
        let merged = system.map_or_else(Merged::empty, |system| merged_of(self.bundle, system));
        let mut builder = Builder::new(self.bundle, merged);
        builder.alone = system.is_none();
        Evaluator(builder)
    }

    // ---- renaming ----

    /// The let that represents all lets that must be renamed together with one. Lets of derived systems are
    /// represented by that of the first base. If a name outside of systems means lets of several systems, the file's
    /// let represents them.
    pub fn let_group(&self, spot: Spot<'a>, item: Defined<'a, Let>) -> Place {
        let name = item.node.name.text.as_str();
        let own = match spot.system {
            Some(system) => {
                let layers = self.layers(system);
                let first = layers.lets_named(self.bundle, name).next();
                first.map_or(item, |(file, node)| self.defined(file, node))
            }
            None => item,
        };
        let joined = self.joined(name);
        let read = match spot.what {
            What::Word { expr, .. } => joined.names.get(&self.bundle.place(0, expr.span)),
            _ => None,
        };
        let own = read.cloned().unwrap_or_else(|| own.place());
        let group = joined.groups.iter().find(|group| group.contains(&own));
        group.and_then(Group::representative).unwrap_or(own)
    }

    /// Whether renaming a let changes what this file means, whatever else is renamed with it. A free name in another
    /// file may mean this let here and another let there.
    pub fn is_bound_elsewhere(&self, item: &Place, name: &'a str) -> bool {
        let joined = self.joined(name);
        let mut groups = joined.groups.iter();
        let Some(group) = groups.find(|group| group.contains(item)) else {
            return false;
        };
        let names = joined.names.iter();
        let names = names
            .filter(|(_, item)| group.contains(item))
            .map(|(name, _)| name);
        let mut places = names.chain(&group.of_files).chain(&group.of_systems);
        group.representative().as_ref() != Some(item)
            || places.any(|place| place.file != self.root().name)
    }

    /// The systems of the file that have a let of a name that is free elsewhere.
    fn binding(&self, name: &str) -> Vec<&'a syntax::System> {
        let has_let = |system: &&'a syntax::System| {
            let layers = self.layers(system);
            layers.let_named(self.bundle, name).is_some()
        };
        match self.free_words().contains(name) {
            true => self.root().systems().filter(has_let).collect(),
            false => Vec::new(),
        }
    }

    /// The lets of systems that free names may mean.
    fn joined(&self, name: &'a str) -> Rc<Joined> {
        cached(&self.joined, name, || self.find_joined(name))
    }

    fn find_joined(&self, name: &str) -> Joined {
        let mut joined = Joined::default();
        for system in self.binding(name) {
            let reads = self.reads(system);
            let layers = self.layers(system);
            let Some((file, first)) = layers.lets_named(self.bundle, name).next() else {
                continue;
            };
            let first = self.bundle.place(file, first.name.span);
            let is_meant = |read: &&FreeRead<'a>| read.is_bound && read.name == name;
            for read in reads.free.iter().filter(is_meant) {
                joined.names.insert(read.place.clone(), first.clone());
                let of_file = self.bundle.let_named(read.file, name);
                let of_file = of_file.map(|(at, item)| self.bundle.place(at, item.name.span));
                joined.join(&first, of_file);
            }
        }
        joined
    }

    fn free_words(&self) -> &HashSet<&'a str> {
        self.free_words.get_or_init(|| {
            let systems = self
                .bundle
                .sources
                .iter()
                .flat_map(|source| source.systems());
            let bases: HashSet<&str> = systems
                .filter_map(|system| Some(system.base.as_ref()?.text.as_str()))
                .collect();
            let mut words = HashSet::new();
            for source in &self.bundle.sources {
                spots(&source.tree, &mut |spot| {
                    let may_be_free = |system: &syntax::System, word: &str| {
                        let name = system.name.text.as_str();
                        bases.contains(name) && source.let_of(system, word).is_none()
                    };
                    if let What::Word { word, .. } = spot.what
                        && spot.system.is_none_or(|system| may_be_free(system, word))
                    {
                        words.insert(word);
                    }
                });
            }
            words
        })
    }

    // ---- systems ----

    fn layers(&self, system: &'a syntax::System) -> Rc<Layers<'a>> {
        let layers = || Layers::of(self.bundle, system).0;
        cached(&self.layers, self.bundle.place(0, system.name.span), layers)
    }

    fn merged(&self, system: &'a syntax::System) -> Rc<Merged<'a>> {
        let merged = || merged_of(self.bundle, system);
        cached(&self.merged, self.bundle.place(0, system.name.span), merged)
    }

    fn reads(&self, system: &'a syntax::System) -> Rc<Reads<'a>> {
        let reads = || Reads::of(self.bundle, system, &self.merged(system));
        cached(&self.reads, self.bundle.place(0, system.name.span), reads)
    }
}

fn cached<K: Eq + Hash, T>(
    known: &RefCell<HashMap<K, Rc<T>>>,
    key: K,
    make: impl FnOnce() -> T,
) -> Rc<T> {
    if let Some(found) = known.borrow().get(&key) {
        return found.clone();
    }
    let made = Rc::new(make());
    known.borrow_mut().insert(key, made.clone());
    made
}

fn merged_of<'a>(bundle: &'a Bundle, system: &'a syntax::System) -> Merged<'a> {
    // What is wrong with it is reported by the build.
    merge(bundle, system, &Overrides::default(), &mut Vec::new())
}

/// Works out values as a build does.
pub struct Evaluator<'a>(Builder<'a>);

impl<'a> Evaluator<'a> {
    /// The value of a let; `None` if it has a mistake.
    pub fn let_value(&mut self, item: Defined<'a, Let>) -> Option<LetValue> {
        self.0.let_value(item.file, item.node).ok()?
    }

    /// The value after an equals sign in the file itself; `None` if it has a mistake.
    pub fn value(&mut self, value: &syntax::Value) -> Option<LetValue> {
        value::let_value(value, &mut self.0.names(0)).ok()?
    }
}

/// The field and the words that it allows, if a bare word is one of them and no let.
pub fn choices_of(spot: Spot<'_>) -> Option<(FieldId, &'static [Choice])> {
    let What::Word {
        field: Some(field), ..
    } = spot.what
    else {
        return None;
    };
    let block = spot.block.map(|block| &block.block);
    let block = block.or(spot.part.map(|part| &part.block))?;
    let id = FieldId::named(&block.text, &field.name.text)?;
    match id.field().kind {
        Kind::Choice(choices) => Some((id, choices)),
        _ => None,
    }
}

/// Whether a system's own text names a part.
fn names(system: &syntax::System, part: &syntax::Part) -> bool {
    let is_part =
        |block: &Name, name: &Name| block.text == part.block.text && name.text == part.name.text;
    system
        .body
        .statements
        .iter()
        .any(|statement| match &statement.kind {
            StatementKind::Block(block) => block
                .name
                .as_ref()
                .is_some_and(|name| is_part(&block.block, name)),
            StatementKind::Choose(choose) => {
                choose.parts.iter().any(|name| is_part(&choose.block, name))
            }
            _ => false,
        })
}

/// The labels of a system's lines, each with the name of its block.
pub fn labels_of(system: &syntax::System) -> impl Iterator<Item = (&str, &Name)> {
    let statements = system.body.statements.iter();
    statements.filter_map(|statement| match &statement.kind {
        StatementKind::Block(block) if is_repeated(&block.block.text) => {
            Some((block.block.text.as_str(), block.name.as_ref()?))
        }
        _ => None,
    })
}
