//! One file: its tree, and what it defines by name.

use crate::check_id::CheckId;
use crate::finding::{FileName, Place, Problem};
use crate::quantity::nearest;
use crate::schema::{BLOCKS, Block as BlockSchema, BlockId, Word as TradeWord};
use crate::settings::Settings;
use crate::syntax::{
    Flaw, Item, Let, LineIndex, Name, Part, Span, Statement, StatementId, StatementKind, System,
    TextChange, TextRange, Tree, Use, parse, parse_after,
};
use std::collections::{HashMap, HashSet};
use std::ops::Range;
use std::sync::Arc;

/// Where texts come from: the disk, an editor's open buffers, or a map in a test.
pub trait Files {
    /// The text of a file.
    ///
    /// # Errors
    /// Why it cannot be read, as the end of a sentence.
    fn read(&self, name: &FileName) -> Result<Arc<Source>, String>;

    /// The text of a file that a spec uses, directly or through other files, if it may be read. A spec must not be
    /// able to show any file on the disk.
    ///
    /// # Errors
    /// Why it is not read.
    fn used(&self, _spec: &FileName, name: &FileName) -> Result<Arc<Source>, ReadError> {
        Ok(self.read(name)?)
    }

    /// The settings that hold for a spec. Without a settings file, the checks' own defaults hold.
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
    /// The reason, as the end of a sentence.
    pub why: String,
    /// What would help, unless it is only to write another path.
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
    /// Its name as the user or the editor knows it.
    pub name: FileName,
    /// The whole text.
    pub text: String,
    /// What the parser makes of its text.
    pub tree: Tree,
    /// Where the lines of its text begin.
    pub lines: LineIndex,
    definitions: Definitions,
}

/// Statements by what they define. A map holds the first statement of a name, a list holds all.
#[derive(Clone, Debug, Default)]
struct Definitions {
    names: Arc<DefinedNames>,
    /// The contents of each system that has lets.
    bodies: Arc<HashMap<StatementId, Contents>>,
}

/// The items of a file by the names that they define. An item is given as its place in the tree.
#[derive(Debug, Default)]
struct DefinedNames {
    parts: HashMap<(String, String), usize>,
    lets: HashMap<String, usize>,
    systems: HashMap<String, usize>,
    all_parts: Vec<usize>,
    parts_of_block: HashMap<String, Vec<usize>>,
    all_lets: Vec<usize>,
    all_systems: Vec<usize>,
    all_uses: Vec<usize>,
    /// The names of the systems that others start from.
    bases: HashSet<String>,
}

impl DefinedNames {
    fn of(tree: &Tree) -> Self {
        let mut names = Self::default();
        for (i, item) in tree.items.iter().enumerate() {
            // The first definition of a name counts; later ones are reported at their places.
            match &item.kind {
                StatementKind::Use(_) => names.all_uses.push(i),
                StatementKind::Part(part) => {
                    let key = (part.block.text.clone(), part.name.text.clone());
                    names.parts.entry(key).or_insert(i);
                    names.all_parts.push(i);
                    let of_block = names.parts_of_block.entry(part.block.text.clone());
                    of_block.or_default().push(i);
                }
                StatementKind::Let(item) => {
                    names.lets.entry(item.name.text.clone()).or_insert(i);
                    names.all_lets.push(i);
                }
                StatementKind::System(system) => {
                    names.systems.entry(system.name.text.clone()).or_insert(i);
                    names.all_systems.push(i);
                    let base = system.base.iter().map(|base| base.text.clone());
                    names.bases.extend(base);
                }
                _ => {}
            }
        }
        names
    }
}

impl Definitions {
    fn of(tree: &Tree) -> Self {
        Self {
            names: Arc::new(DefinedNames::of(tree)),
            bodies: Arc::new(tree.items.iter().filter_map(body).collect()),
        }
    }

    /// The names of a tree after an edit. What the edit did not change is shared.
    fn edited(&self, old: &Tree, new: &Tree) -> Self {
        let (was, is) = changed_items(&old.items, &new.items);
        let (was, is) = (&old.items[was], &new.items[is]);
        let same_names = was.len() == is.len()
            && was
                .iter()
                .zip(is)
                .all(|(was, is)| defined_name(was) == defined_name(is));
        let mut bodies = self.bodies.clone();
        let new_bodies: Vec<_> = is.iter().filter_map(body).collect();
        let is_gone = |item: &Item| self.bodies.contains_key(&item.id);
        if !new_bodies.is_empty() || was.iter().any(is_gone) {
            let bodies = Arc::make_mut(&mut bodies);
            was.iter().for_each(|item| {
                bodies.remove(&item.id);
            });
            bodies.extend(new_bodies);
        }
        Self {
            names: match same_names {
                true => self.names.clone(),
                false => Arc::new(DefinedNames::of(new)),
            },
            bodies,
        }
    }
}

/// The differing runs of two lists of items, between the items that both have at their start and end. A statement
/// with a mistake never counts as the same, since its neighbours may decide how it is read.
pub(crate) fn changed_items(old: &[Item], new: &[Item]) -> (Range<usize>, Range<usize>) {
    let same = |(was, is): &(&Item, &Item)| {
        let are_sound = was.flaws.is_none() && is.flaws.is_none();
        was.id == is.id && (are_sound || was.flaws == is.flaws && was.statement == is.statement)
    };
    let before = old.iter().zip(new).take_while(same).count();
    let rest = old[before..].iter().rev().zip(new[before..].iter().rev());
    let behind = rest.take_while(same).count();
    (before..old.len() - behind, before..new.len() - behind)
}

/// What an item defines: its kind, its name within that kind, and its base.
fn defined_name(item: &Item) -> (std::mem::Discriminant<StatementKind>, [Option<&str>; 2]) {
    let names = match &item.kind {
        StatementKind::Part(part) => [Some(&*part.block.text), Some(&*part.name.text)],
        StatementKind::Let(item) => [Some(&*item.name.text), None],
        StatementKind::System(system) => {
            let base = system.base.as_ref().map(|base| &*base.text);
            [Some(&*system.name.text), base]
        }
        _ => [None, None],
    };
    (std::mem::discriminant(&item.kind), names)
}

/// The contents of the body of a system with lets.
fn body(item: &Item) -> Option<(StatementId, Contents)> {
    Some((item.id, Contents::of(a_system(item)?)?))
}

/// The statements of a system's body: its lets, and the rest. They are indexed, as a base may have very many lets and
/// very many derived systems.
#[derive(Clone, Debug, Default)]
struct Contents {
    /// The last let of each name.
    lets: HashMap<String, usize>,
    /// Each let whose name occurs before in the body: the earlier let, then this one.
    repeated: Vec<(usize, usize)>,
    rest: Vec<usize>,
}

impl Contents {
    /// The contents of a system; `None` for one without lets.
    fn of(system: &System) -> Option<Self> {
        if !system.body.statements.iter().any(|s| a_let(s).is_some()) {
            return None;
        }
        let mut contents = Self::default();
        for (i, statement) in system.body.statements.iter().enumerate() {
            let StatementKind::Let(item) = &statement.kind else {
                contents.rest.push(i);
                continue;
            };
            let before = contents.lets.insert(item.name.text.clone(), i);
            contents.repeated.extend(before.map(|before| (before, i)));
        }
        Some(contents)
    }
}

pub(super) fn a_let(statement: &Statement) -> Option<&Let> {
    match &statement.kind {
        StatementKind::Let(item) => Some(item),
        _ => None,
    }
}

fn a_use(statement: &Statement) -> Option<&Use> {
    match &statement.kind {
        StatementKind::Use(item) => Some(item),
        _ => None,
    }
}

fn a_part(statement: &Statement) -> Option<&Part> {
    match &statement.kind {
        StatementKind::Part(part) => Some(part),
        _ => None,
    }
}

fn a_system(statement: &Statement) -> Option<&System> {
    match &statement.kind {
        StatementKind::System(system) => Some(system),
        _ => None,
    }
}

impl Source {
    /// Parses a text. The flaws are in the tree.
    pub fn new(name: FileName, text: String) -> Self {
        let tree = parse(&text);
        Self {
            lines: LineIndex::new(&text),
            definitions: Definitions::of(&tree),
            name,
            text,
            tree,
        }
    }

    /// The file after an edit. It equals a newly parsed one, and takes less time.
    pub fn edited(&self, text: String) -> Self {
        let change = TextChange::between(&self.text, &text);
        self.changed(change, text)
    }

    /// This file with another text, if the change between the two is known.
    pub fn changed(&self, change: TextChange, text: String) -> Self {
        let tree = parse_after(&self.text, &self.tree, change, &text);
        Self {
            lines: self.lines.changed(change, &text),
            definitions: self.definitions.edited(&self.tree, &tree),
            name: self.name.clone(),
            text,
            tree,
        }
    }

    /// A text that is no spec, such as settings. It has places and lines but no statements.
    pub fn plain(name: FileName, text: String) -> Self {
        Self {
            lines: LineIndex::new(&text),
            name,
            text,
            tree: Tree::default(),
            definitions: Definitions::default(),
        }
    }

    /// The file as a place for findings, without its tree.
    pub fn unread(&self) -> Self {
        Self {
            tree: self.tree.without_statements(),
            ..Self::plain(self.name.clone(), self.text.clone())
        }
    }

    /// A file from bytes that come from outside. Bytes that are not UTF-8 are replaced, and the first of them is
    /// reported.
    pub fn from_bytes(name: FileName, bytes: &[u8]) -> Self {
        Self::decoded(bytes, |text| Self::new(name, text))
    }

    /// A file that is no spec, from its bytes.
    pub fn plain_from_bytes(name: FileName, bytes: &[u8]) -> Self {
        Self::decoded(bytes, |text| Self::plain(name, text))
    }

    fn decoded(bytes: &[u8], read: impl FnOnce(String) -> Self) -> Self {
        let mut source = read(String::from_utf8_lossy(bytes).into_owned());
        let Err(error) = std::str::from_utf8(bytes) else {
            return source;
        };
        let start = error.valid_up_to();
        let range = TextRange::new(start, start + char::REPLACEMENT_CHARACTER.len_utf8());
        let is_reported = |flaw: &Flaw| {
            let flaw = source.range(flaw.span);
            flaw.start <= range.start && range.end <= flaw.end
        };
        if !source.tree.flaws().any(is_reported) {
            source.tree.add_flaw(Flaw::not_utf8(Span::default()), range);
        }
        source
    }

    pub(crate) fn place(&self, span: Span) -> Place {
        Place::new(&self.name, span)
    }

    /// Where a span of the file is in its text.
    pub fn range(&self, span: Span) -> TextRange {
        self.tree.range(span)
    }

    /// The text that a span of the file covers.
    pub fn text_of(&self, span: Span) -> &str {
        self.range(span).of(&self.text)
    }

    /// The top-level statement that a span of the file is in, without comments around it.
    pub fn statement_around(&self, span: Span) -> Span {
        let item = self.tree.item(span.statement);
        item.map_or(span, |item| item.span)
    }

    /// The place of a run of the text.
    pub fn place_at(&self, range: TextRange) -> Place {
        self.place(self.tree.anchor(range))
    }

    /// The place of the first flaw after a name; the name itself where there is none.
    pub(super) fn flaw_behind(&self, name: &Name) -> Place {
        let at = self.range(name.span).start;
        let first = self.tree.items.partition_point(|item| item.start <= at);
        let items = self.tree.items[first.saturating_sub(1)..].iter();
        let mut flaws = items.flat_map(|item| item.flaws());
        let flaw = flaws.find(|flaw| self.range(flaw.span).start >= at);
        self.place(flaw.map_or(name.span, |flaw| flaw.span))
    }

    /// The first mistake that may hide something the file defines. It is outside of all bodies, in a body that does
    /// not end, or in the word that says what kind of part a part is.
    pub(super) fn first_hiding(&self) -> Option<Problem> {
        let is_inside = |flaw: &&Flaw| {
            let item = self.tree.item(flaw.span.statement);
            let body = match item.map(|item| &item.kind) {
                Some(StatementKind::Part(part)) => &part.body,
                Some(StatementKind::System(system)) => &system.body,
                Some(StatementKind::Let(item)) => return item.name.span.end <= flaw.span.start,
                _ => return false,
            };
            body.whole && body.span.start < flaw.span.start && flaw.span.end <= body.span.end
        };
        let flaw = self.tree.flaws().find(|flaw| !is_inside(flaw));
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

    pub(crate) fn part(&self, block: &str, name: &str) -> Option<&Part> {
        // The key is only built for a look-up; names are short.
        let key = (block.to_owned(), name.to_owned());
        a_part(self.statement(self.definitions.names.parts.get(&key))?)
    }

    pub(crate) fn let_named(&self, name: &str) -> Option<&Let> {
        a_let(self.statement(self.definitions.names.lets.get(name))?)
    }

    /// All lets of the file and of its systems, each with its statement.
    pub(super) fn all_lets(&self) -> impl Iterator<Item = (&Let, Span)> {
        let of_file = self.listed(&self.definitions.names.all_lets);
        // Most systems have no lets, and most files no system with lets.
        let systems = match self.definitions.bodies.is_empty() {
            true => &[][..],
            false => &self.definitions.names.all_systems,
        };
        let bodies = self.listed(systems).filter_map(Statement::body);
        let of_systems = bodies.flat_map(|body| &body.statements);
        of_file
            .chain(of_systems)
            .filter_map(|statement| Some((a_let(statement)?, statement.span)))
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

    /// The lets of a system's own body whose name occurs before, each with the earlier let.
    pub fn repeated_lets_of<'s>(
        &'s self,
        system: &'s System,
    ) -> impl Iterator<Item = (&'s Let, &'s Let)> {
        let repeated = self.contents(system).map(|contents| &contents.repeated);
        let item = |at: usize| system.body.statements.get(at).and_then(a_let);
        let pairs = repeated.into_iter().flatten();
        pairs.filter_map(move |(before, again)| Some((item(*before)?, item(*again)?)))
    }

    /// The statements of a system's own body other than lets.
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
        self.definitions.bodies.get(&system.name.span.statement)
    }

    pub(crate) fn system(&self, name: &str) -> Option<&System> {
        a_system(self.statement(self.definitions.names.systems.get(name))?)
    }

    fn statement(&self, index: Option<&usize>) -> Option<&Statement> {
        self.tree.items.get(*index?).map(|item| &*item.statement)
    }

    fn listed<'a>(&'a self, indices: &'a [usize]) -> impl Iterator<Item = &'a Statement> {
        let items = indices.iter().filter_map(|i| self.tree.items.get(*i));
        items.map(|item| &*item.statement)
    }

    pub(crate) fn uses(&self) -> impl Iterator<Item = &Use> {
        self.listed(&self.definitions.names.all_uses)
            .filter_map(a_use)
    }

    pub(crate) fn parts(&self) -> impl Iterator<Item = &Part> {
        self.listed(&self.definitions.names.all_parts)
            .filter_map(a_part)
    }

    pub(super) fn parts_of(&self, block: &str) -> impl Iterator<Item = &Part> {
        let indices = self.definitions.names.parts_of_block.get(block);
        self.listed(indices.map_or(&[][..], Vec::as_slice))
            .filter_map(a_part)
    }

    pub(crate) fn lets(&self) -> impl Iterator<Item = &Let> {
        self.listed(&self.definitions.names.all_lets)
            .filter_map(a_let)
    }

    /// Whether the file defines the same names as before, in the same order, and the same lets in its systems'
    /// bodies.
    pub(super) fn defines_the_same(&self, before: &Self) -> bool {
        let (is, was) = (&self.definitions, &before.definitions);
        Arc::ptr_eq(&is.names, &was.names) && Arc::ptr_eq(&is.bodies, &was.bodies)
    }

    /// Whether a system of the file starts from a system with this name.
    pub fn is_base(&self, name: &str) -> bool {
        self.definitions.names.bases.contains(name)
    }

    /// The places of the systems among the items of the tree.
    pub fn system_places(&self) -> &[usize] {
        &self.definitions.names.all_systems
    }

    /// The place, among the systems of the file, of the first one with this name.
    pub fn system_order(&self, name: &str) -> Option<usize> {
        let at = self.definitions.names.systems.get(name)?;
        self.system_places().binary_search(at).ok()
    }

    /// The system at a place among the items of the tree.
    pub(crate) fn system_at(&self, place: usize) -> Option<&System> {
        a_system(self.tree.items.get(place)?)
    }

    pub(crate) fn systems(&self) -> impl Iterator<Item = &System> {
        self.listed(&self.definitions.names.all_systems)
            .filter_map(a_system)
    }
}

/// The block that a name means; else a problem that suggests the nearest name.
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
        let meant = TradeWord::block_called(&name.text).or_else(|| nearest(&name.text, names()));
        problems.push(match meant {
            Some(meant) => problem.did_you_mean(Some(meant)),
            None => problem.help(format!(
                "the blocks are {}",
                names().collect::<Vec<_>>().join(", ")
            )),
        });
    }
    known
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_statement_that_is_parsed_differently_counts_as_redefined() {
        // A head before a closing brace is no system, and one before a statement of the file is.
        let before = Source::new("a.clutch".into(), "system van }\nuse \"b.clutch\"\n".into());
        let after = before.edited(before.text.replace('}', ""));
        let names = |source: &Source| -> Vec<String> {
            source
                .systems()
                .map(|system| system.name.text.clone())
                .collect()
        };
        assert_eq!(
            (names(&before), names(&after)),
            (vec![], vec!["van".to_owned()])
        );
    }
}
