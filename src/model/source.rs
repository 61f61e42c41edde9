//! One file: its tree, and what it defines by name.

use crate::check_id::CheckId;
use crate::finding::{FileName, Place, Problem};
use crate::quantity::nearest;
use crate::schema::{BLOCKS, Block as BlockSchema, BlockId};
use crate::settings::Settings;
use crate::syntax::{
    Flaw, Let, LineIndex, Name, Part, Span, Statement, StatementKind, System, Tree, parse,
    parse_after,
};
use std::collections::HashMap;
use std::sync::Arc;

/// Where texts come from: the disk, an editor's open buffers, or a test's map.
pub trait Files {
    /// The text of a file.
    ///
    /// # Errors
    /// Why it cannot be read, as the end of a sentence.
    fn read(&self, name: &FileName) -> Result<Arc<Source>, String>;

    /// The text of a file that a spec uses, itself or through others, if it may: a spec must not
    /// show whatever can be read.
    ///
    /// # Errors
    /// Why it is not read.
    fn used(&self, _spec: &FileName, name: &FileName) -> Result<Arc<Source>, ReadError> {
        Ok(self.read(name)?)
    }

    /// The settings that hold for a spec; where there are none, the checks' own.
    fn settings(&self, _spec: &FileName) -> Arc<Settings> {
        Arc::default()
    }

    /// What a file is called in messages.
    fn shown(&self, name: &FileName) -> FileName {
        name.clone()
    }
}

/// Why a file is not read.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct ReadError {
    /// The end of a sentence.
    pub why: String,
    /// What would help, where that is not another path.
    pub help: Option<String>,
}

impl From<String> for ReadError {
    fn from(why: String) -> Self {
        Self { why, help: None }
    }
}

/// One file with its tree.
#[derive(Debug)]
pub struct Source {
    pub name: FileName,
    pub text: String,
    pub tree: Tree,
    pub lines: LineIndex,
    definitions: Definitions,
}

/// Statements by what they define. Maps hold the first of a name, lists hold all.
#[derive(Debug, Default)]
struct Definitions {
    parts: HashMap<(String, String), usize>,
    lets: HashMap<String, usize>,
    systems: HashMap<String, usize>,
    all_parts: Vec<usize>,
    parts_of_block: HashMap<String, Vec<usize>>,
    all_lets: Vec<usize>,
    all_systems: Vec<usize>,
    /// Of each system that has lets, by where its name begins.
    bodies: HashMap<u32, Contents>,
}

/// The statements of a system's body: its lets, and all else. A base may have very many lets,
/// and very many systems may start from it.
#[derive(Debug, Default)]
struct Contents {
    /// The last of a name.
    lets: HashMap<String, usize>,
    /// Those of a name that stands before, with the one before.
    repeated: Vec<(usize, usize)>,
    rest: Vec<usize>,
}

impl Contents {
    /// `None` for a system without lets.
    fn of(system: &System) -> Option<Self> {
        let mut contents = Self::default();
        for (i, statement) in system.body.statements.iter().enumerate() {
            let StatementKind::Let(item) = &statement.kind else {
                contents.rest.push(i);
                continue;
            };
            let before = contents.lets.insert(item.name.text.clone(), i);
            contents.repeated.extend(before.map(|before| (before, i)));
        }
        (!contents.lets.is_empty()).then_some(contents)
    }
}

pub(super) fn a_let(statement: &Statement) -> Option<&Let> {
    match &statement.kind {
        StatementKind::Let(item) => Some(item),
        _ => None,
    }
}

impl Source {
    pub fn new(name: FileName, text: String) -> Self {
        let tree = parse(&text);
        Self::of(name, text, tree)
    }

    /// The file after an edit. It is the same as a new one, and sooner there.
    pub fn edited(&self, text: String) -> Self {
        let tree = parse_after(&self.text, &self.tree, &text);
        Self::of(self.name.clone(), text, tree)
    }

    fn of(name: FileName, text: String, tree: Tree) -> Self {
        let mut definitions = Definitions::default();
        for (i, statement) in tree.statements.iter().enumerate() {
            // The first of a name stands; later ones are reported where they are.
            match &statement.kind {
                StatementKind::Part(part) => {
                    let key = (part.block.text.clone(), part.name.text.clone());
                    definitions.parts.entry(key).or_insert(i);
                    definitions.all_parts.push(i);
                    let of_block = definitions.parts_of_block.entry(part.block.text.clone());
                    of_block.or_default().push(i);
                }
                StatementKind::Let(item) => {
                    definitions.lets.entry(item.name.text.clone()).or_insert(i);
                    definitions.all_lets.push(i);
                }
                StatementKind::System(system) => {
                    definitions
                        .systems
                        .entry(system.name.text.clone())
                        .or_insert(i);
                    definitions.all_systems.push(i);
                    let contents = Contents::of(system);
                    let contents = contents.map(|contents| (system.name.span.start, contents));
                    definitions.bodies.extend(contents);
                }
                _ => {}
            }
        }
        Self {
            lines: LineIndex::new(&text),
            name,
            text,
            tree,
            definitions,
        }
    }

    /// A text that is no spec, such as settings: it has places and lines, and no statements.
    pub fn plain(name: FileName, text: String) -> Self {
        Self {
            lines: LineIndex::new(&text),
            name,
            text,
            tree: Tree::default(),
            definitions: Definitions::default(),
        }
    }

    /// The file as a place for findings, without what was read in it.
    pub fn unread(&self) -> Self {
        Self::plain(self.name.clone(), self.text.clone())
    }

    /// A file as it comes from outside. Bytes that are not UTF-8 are replaced, and the first of
    /// them is reported.
    pub fn from_bytes(name: FileName, bytes: &[u8]) -> Self {
        Self::decoded(bytes, |text| Self::new(name, text))
    }

    /// The same for a text that is no spec.
    pub fn plain_from_bytes(name: FileName, bytes: &[u8]) -> Self {
        Self::decoded(bytes, |text| Self::plain(name, text))
    }

    fn decoded(bytes: &[u8], read: impl FnOnce(String) -> Self) -> Self {
        let mut source = read(String::from_utf8_lossy(bytes).into_owned());
        let Err(error) = std::str::from_utf8(bytes) else {
            return source;
        };
        let start = error.valid_up_to();
        let span = Span::new(start, start + char::REPLACEMENT_CHARACTER.len_utf8());
        let is_reported = |flaw: &Flaw| flaw.span.start <= span.start && span.end <= flaw.span.end;
        let flaws = &mut source.tree.flaws;
        if !flaws.iter().any(is_reported) {
            let at = flaws.partition_point(|flaw| flaw.span <= span);
            flaws.insert(at, Flaw::not_utf8(span));
        }
        source
    }

    pub fn place(&self, span: Span) -> Place {
        Place::new(&self.name, span)
    }

    /// The first flaw behind a name; the name itself where there is none.
    pub(super) fn flaw_behind(&self, name: &Name) -> Place {
        let flaws = &self.tree.flaws;
        let first = flaws.partition_point(|flaw| flaw.span.start < name.span.start);
        self.place(flaws.get(first).map_or(name.span, |flaw| flaw.span))
    }

    /// The first mistake because of which something that the file defines may not be seen: outside
    /// of all bodies, in a body that does not end, or in what kind of part a part is.
    pub(super) fn first_hiding(&self) -> Option<Problem> {
        let statements = &self.tree.statements;
        let is_inside = |flaw: &&Flaw| {
            let behind = statements.partition_point(|s| s.span.start <= flaw.span.start);
            let body = match statements[..behind].last().map(|s| &s.kind) {
                Some(StatementKind::Part(part)) => &part.body,
                Some(StatementKind::System(system)) => &system.body,
                Some(StatementKind::Let(item)) => return item.name.span.end <= flaw.span.start,
                _ => return false,
            };
            body.whole && body.span.start < flaw.span.start && flaw.span.end <= body.span.end
        };
        let flaw = self.tree.flaws.iter().find(|flaw| !is_inside(flaw));
        let flaw = flaw.map(|flaw| Problem::from_flaw(flaw, &self.name));
        let unknown_block = || {
            let mut problems = Vec::new();
            let mut blocks = self.parts().map(|part| &part.block);
            blocks.find(|block| {
                known_block(block, &self.place(block.span), &mut problems).is_none()
            })?;
            problems.pop()
        };
        flaw.or_else(unknown_block)
    }

    pub fn part(&self, block: &str, name: &str) -> Option<&Part> {
        // The key is only built for a look-up; names are short.
        let key = (block.to_owned(), name.to_owned());
        match &self.statement(self.definitions.parts.get(&key))?.kind {
            StatementKind::Part(part) => Some(part),
            _ => None,
        }
    }

    pub fn let_named(&self, name: &str) -> Option<&Let> {
        match &self.statement(self.definitions.lets.get(name))?.kind {
            StatementKind::Let(item) => Some(item),
            _ => None,
        }
    }

    /// The last let of a name in a system's own body.
    pub fn let_of<'s>(&self, system: &'s System, name: &str) -> Option<&'s Let> {
        let at = *self.contents(system)?.lets.get(name)?;
        system.body.statements.get(at).and_then(a_let)
    }

    /// The lets of a system's own body, the last of each name.
    pub fn lets_of<'s>(&'s self, system: &'s System) -> impl Iterator<Item = &'s Let> {
        let lets = self.contents(system).map(|contents| &contents.lets);
        let is_last =
            move |at: usize, item: &Let| lets?.get(&item.name.text).map(|last| *last == at);
        let statements = lets.map_or(&[][..], |_| &system.body.statements);
        let all = statements.iter().enumerate();
        all.filter_map(move |(at, statement)| {
            a_let(statement).filter(|item| is_last(at, item) == Some(true))
        })
    }

    /// The lets of a system's own body whose name stands before, each with the one before.
    pub fn repeated_lets_of<'s>(
        &'s self,
        system: &'s System,
    ) -> impl Iterator<Item = (&'s Let, &'s Let)> {
        let repeated = self.contents(system).map(|contents| &contents.repeated);
        let item = |at: usize| system.body.statements.get(at).and_then(a_let);
        let pairs = repeated.into_iter().flatten();
        pairs.filter_map(move |(before, again)| Some((item(*before)?, item(*again)?)))
    }

    /// All else in a system's own body.
    pub fn all_but_lets<'s>(&'s self, system: &'s System) -> impl Iterator<Item = &'s Statement> {
        let all = &system.body.statements;
        let rest = self.contents(system).map(|contents| &contents.rest);
        let count = rest.map_or(all.len(), Vec::len);
        (0..count).filter_map(move |i| match rest {
            Some(rest) => all.get(*rest.get(i)?),
            None => all.get(i),
        })
    }

    fn contents(&self, system: &System) -> Option<&Contents> {
        self.definitions.bodies.get(&system.name.span.start)
    }

    pub fn system(&self, name: &str) -> Option<&System> {
        match &self.statement(self.definitions.systems.get(name))?.kind {
            StatementKind::System(system) => Some(system),
            _ => None,
        }
    }

    fn statement(&self, index: Option<&usize>) -> Option<&Statement> {
        self.tree.statements.get(*index?)
    }

    fn listed<'a>(&'a self, indices: &'a [usize]) -> impl Iterator<Item = &'a Statement> {
        indices.iter().filter_map(|i| self.tree.statements.get(*i))
    }

    pub fn parts(&self) -> impl Iterator<Item = &Part> {
        self.listed(&self.definitions.all_parts)
            .filter_map(|s| match &s.kind {
                StatementKind::Part(part) => Some(part),
                _ => None,
            })
    }

    pub(super) fn parts_of(&self, block: &str) -> impl Iterator<Item = &Part> {
        let indices = self.definitions.parts_of_block.get(block);
        self.listed(indices.map_or(&[][..], Vec::as_slice))
            .filter_map(|s| match &s.kind {
                StatementKind::Part(part) => Some(part),
                _ => None,
            })
    }

    pub fn lets(&self) -> impl Iterator<Item = &Let> {
        self.listed(&self.definitions.all_lets)
            .filter_map(|s| match &s.kind {
                StatementKind::Let(item) => Some(item),
                _ => None,
            })
    }

    pub fn systems(&self) -> impl Iterator<Item = &System> {
        self.listed(&self.definitions.all_systems)
            .filter_map(|s| match &s.kind {
                StatementKind::System(system) => Some(system),
                _ => None,
            })
    }
}

/// The block that a name means, or a problem that names the nearest.
pub(super) fn known_block(
    name: &Name,
    place: &Place,
    problems: &mut Vec<Problem>,
) -> Option<BlockId> {
    let known = BlockSchema::named(&name.text);
    if known.is_none() {
        let problem = Problem::new(
            CheckId::UnknownBlock,
            place.clone(),
            format!("there is no block `{}`", name.text),
        );
        let names = || BLOCKS.iter().map(|block| block.name);
        problems.push(match nearest(&name.text, names()) {
            Some(meant) => problem.did_you_mean(Some(meant)),
            None => problem.help(format!(
                "the blocks are {}",
                names().collect::<Vec<_>>().join(", ")
            )),
        });
    }
    known
}
