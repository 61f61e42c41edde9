//! Files, read and indexed by name, and what each of them can see of the others.

use crate::finding::{FileName, Place, Problem};
use crate::quantity::nearest;
use crate::schema::{BLOCKS, Block as BlockSchema, BlockId};
use crate::settings::Settings;
use crate::syntax::{
    Flaw, Let, LineIndex, Name, Part, Span, Statement, StatementKind, System, Tree, parse,
    parse_after,
};
use std::collections::HashMap;
use std::sync::atomic::{AtomicU32, Ordering};
use std::sync::{Arc, OnceLock};

/// How many files may be brought in, all told.
pub const MAX_USED_FILES: usize = 1000;
/// How many files may bring in one another in a row.
pub const MAX_USE_DEPTH: usize = 16;

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

    /// The settings that hold for a spec; where nobody set any, the checks' own.
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
    fn first_hiding(&self) -> Option<Problem> {
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

    fn parts_of(&self, block: &str) -> impl Iterator<Item = &Part> {
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

/// A file and all that it brings in, each read once.
pub struct Bundle {
    /// The file itself comes first.
    pub sources: Vec<Arc<Source>>,
    /// For each source, the ones whose names it sees, itself first; worked out when somebody
    /// looks.
    visible: Vec<OnceLock<Vec<usize>>>,
    /// For each source, the ones that it brings in itself.
    uses: Vec<Vec<usize>>,
    /// The paths of the first one's `use` statements, with what they lead to.
    direct: Vec<(Place, usize)>,
    pub problems: Vec<Problem>,
    /// For each source, the first of its `use` statements that leads nowhere.
    missing: Vec<Option<Problem>>,
    /// For each source, the first mistake that may hide what it defines; looked for when somebody
    /// asks.
    hiding: Vec<OnceLock<Option<Problem>>>,
    /// The settings that hold for the first one.
    pub settings: Arc<Settings>,
    /// What files are called in messages, where that is not their name.
    pub shown: HashMap<FileName, FileName>,
    suggestions_left: AtomicU32,
}

/// Names are compared by distance only this often in one file: with very many misspelled names
/// the cost would grow with their square.
const MOST_SUGGESTIONS: u32 = 200;

impl Bundle {
    /// Reads a file's `use` statements, and theirs in turn.
    ///
    /// What is not found beside the file that uses it is looked up in the folders of the
    /// library that the settings name.
    pub fn load(root: Arc<Source>, files: &dyn Files) -> Self {
        let settings = files.settings(&root.name);
        let mut loader = Loader {
            files,
            library: &settings.library,
            direct: Vec::new(),
            sources: vec![root.clone()],
            uses: vec![Vec::new()],
            missing: vec![None],
            by_name: HashMap::from([(root.name.clone(), 0)]),
            entry: None,
            problems: Vec::new(),
        };
        loader.follow(0, &mut vec![0]);
        let shown = loader.sources.iter().filter_map(|source| {
            let shown = files.shown(&source.name);
            (shown != source.name).then(|| (source.name.clone(), shown))
        });
        Self {
            shown: shown.collect(),
            visible: loader.sources.iter().map(|_| OnceLock::new()).collect(),
            hiding: loader.sources.iter().map(|_| OnceLock::new()).collect(),
            missing: loader.missing,
            sources: loader.sources,
            uses: loader.uses,
            direct: loader.direct,
            problems: loader.problems,
            settings,
            suggestions_left: AtomicU32::new(MOST_SUGGESTIONS),
        }
    }

    /// The known name that was probably meant by an unknown one.
    pub fn suggest<'n>(
        &self,
        name: &str,
        known: impl IntoIterator<Item = &'n str>,
    ) -> Option<&'n str> {
        let one_less = |left: u32| left.checked_sub(1);
        self.suggestions_left
            .fetch_update(Ordering::Relaxed, Ordering::Relaxed, one_less)
            .ok()?;
        nearest(name, known)
    }

    /// The names of a block's parts that one source sees.
    pub fn known_parts<'s>(&'s self, from: usize, block: &'s str) -> impl Iterator<Item = &'s str> {
        self.visible(from)
            .flat_map(move |(_, source)| source.parts_of(block))
            .map(|part| part.name.text.as_str())
    }

    /// The sources whose names one source sees, itself first.
    pub fn visible(&self, from: usize) -> impl Iterator<Item = (usize, &Source)> {
        let visible = self.visible[from].get_or_init(|| self.reached(from));
        visible.iter().map(|&i| (i, &*self.sources[i]))
    }

    /// A source and all that it uses, directly or not, the nearest first.
    fn reached(&self, from: usize) -> Vec<usize> {
        let mut is_reached = vec![false; self.sources.len()];
        is_reached[from] = true;
        let mut reached = vec![from];
        let mut next = 0;
        while let Some(&source) = reached.get(next) {
            for &used in &self.uses[source] {
                if !std::mem::replace(&mut is_reached[used], true) {
                    reached.push(used);
                }
            }
            next += 1;
        }
        reached
    }

    pub fn part(&self, from: usize, block: &str, name: &str) -> Option<(usize, &Part)> {
        self.visible(from)
            .find_map(|(i, source)| Some((i, source.part(block, name)?)))
    }

    pub fn let_named(&self, from: usize, name: &str) -> Option<(usize, &Let)> {
        self.visible(from)
            .find_map(|(i, source)| Some((i, source.let_named(name)?)))
    }

    pub fn system(&self, from: usize, name: &str) -> Option<(usize, &System)> {
        self.visible(from)
            .find_map(|(i, source)| Some((i, source.system(name)?)))
    }

    pub fn place(&self, source: usize, span: Span) -> Place {
        self.sources[source].place(span)
    }

    /// What a file is called in messages.
    pub fn shown<'n>(&'n self, name: &'n FileName) -> &'n FileName {
        self.shown.get(name).unwrap_or(name)
    }

    /// Why a name that one source cannot find may be defined all the same: a file in its sight
    /// that is missing, or that has a mistake where it defines things. While that is so, the name
    /// itself is not called unknown.
    pub fn hidden(&self, from: usize) -> Option<Problem> {
        self.visible(from).find_map(|(i, source)| {
            let missing = || self.missing[i].clone();
            let hiding = || {
                let known = self.hiding[i].get_or_init(|| source.first_hiding());
                known.clone().filter(|_| i != from)
            };
            missing().or_else(hiding)
        })
    }

    /// The paths of the first file's `use` statements, with the files that they lead to.
    pub fn direct(&self) -> impl Iterator<Item = (Span, &FileName)> {
        self.direct
            .iter()
            .map(|(place, used)| (place.span, &self.sources[*used].name))
    }

    /// The files that the first one brings in, each with the `use` of the first one that leads
    /// to it: the nearest if several do.
    pub fn ways_in(&self) -> Vec<(usize, Place)> {
        let mut reached = vec![false; self.sources.len()];
        reached[0] = true;
        let mut ways = Vec::new();
        for (place, used) in &self.direct {
            if !std::mem::replace(&mut reached[*used], true) {
                ways.push((*used, place.clone()));
            }
        }
        let mut next = 0;
        while let Some((source, place)) = ways.get(next).cloned() {
            for &used in &self.uses[source] {
                if !std::mem::replace(&mut reached[used], true) {
                    ways.push((used, place.clone()));
                }
            }
            next += 1;
        }
        ways
    }

    /// Names that the file defines more than once, or that a file it uses defines as well.
    pub fn repeated_names(&self) -> Vec<Problem> {
        let root = &self.sources[0];
        let mut problems = Vec::new();
        let mut report = |kind: &str, name: &Name, first: Span, other: Option<(usize, Span)>| {
            let (place, words) = if first != name.span {
                (root.place(first), "first given here")
            } else if let Some((source, span)) = other {
                (self.place(source, span), "also given here")
            } else {
                return;
            };
            problems.push(
                Problem::new(
                    "given-twice",
                    root.place(name.span),
                    format!("the {kind} `{}` is given twice", name.text),
                )
                .help("rename one of them")
                .related(place, words),
            );
        };
        let others = || self.visible(0).skip(1);
        for part in root.parts() {
            let (block, name) = (&part.block.text, &part.name.text);
            let first = root
                .part(block, name)
                .map_or(part.name.span, |p| p.name.span);
            let other = others().find_map(|(i, s)| Some((i, s.part(block, name)?.name.span)));
            report("part", &part.name, first, other);
        }
        for item in root.lets() {
            let name = &item.name.text;
            let first = root.let_named(name).map_or(item.name.span, |l| l.name.span);
            let other = others().find_map(|(i, s)| Some((i, s.let_named(name)?.name.span)));
            report("let", &item.name, first, other);
        }
        for system in root.systems() {
            let name = &system.name.text;
            let first = root.system(name).map_or(system.name.span, |s| s.name.span);
            report("system", &system.name, first, None);
        }
        problems
    }
}

struct Loader<'a> {
    files: &'a dyn Files,
    library: &'a [FileName],
    direct: Vec<(Place, usize)>,
    sources: Vec<Arc<Source>>,
    uses: Vec<Vec<usize>>,
    missing: Vec<Option<Problem>>,
    by_name: HashMap<FileName, usize>,
    /// The `use` of the first file that is being followed.
    entry: Option<Place>,
    problems: Vec<Problem>,
}

impl Loader<'_> {
    /// Reads what one source uses; `trail` is the way that led to it. It recurses, but no
    /// deeper than [`MAX_USE_DEPTH`].
    fn follow(&mut self, index: usize, trail: &mut Vec<usize>) {
        let source = self.sources[index].clone();
        for statement in &source.tree.statements {
            let StatementKind::Use(item) = &statement.kind else {
                continue;
            };
            let place = source.place(item.path.span);
            if index == 0 {
                self.entry = Some(place.clone());
            }
            if item.path.text.is_empty() {
                let problem = Problem::new("use-missing", place, "this `use` names no file");
                let problem = problem.help(self.where_paths_lead());
                self.missing[index].get_or_insert_with(|| problem.clone());
                self.problems.push(problem);
                continue;
            }
            let names = self.candidates(&source.name, &item.path.text);
            let found = match self.find(&item.path.text, &names, trail.len(), &place) {
                Ok(found) => found,
                Err(problem) => {
                    self.missing[index].get_or_insert_with(|| problem.clone());
                    self.problems.push(problem);
                    if self.sources.len() >= MAX_USED_FILES {
                        return;
                    }
                    continue;
                }
            };
            let used = match found {
                Found::New(used) => {
                    let new = self.sources.len();
                    self.by_name.insert(used.name.clone(), new);
                    self.sources.push(used);
                    self.uses.push(Vec::new());
                    self.missing.push(None);
                    self.uses[index].push(new);
                    trail.push(new);
                    self.follow(new, trail);
                    trail.pop();
                    new
                }
                Found::Known(known) => {
                    if let Some(start) = trail.iter().position(|i| *i == known) {
                        let round: Vec<FileName> = trail[start..]
                            .iter()
                            .chain([&known])
                            .map(|i| self.files.shown(&self.sources[*i].name))
                            .collect();
                        // A circle through the first file is that one's as well.
                        let own = self.entry.clone().filter(|_| trail[start] == 0);
                        self.problems.push(Problem::new(
                            "use-cycle",
                            own.unwrap_or_else(|| place.clone()),
                            format!(
                                "these files use each other in a circle: {}",
                                round.join(" → ")
                            ),
                        ));
                    } else {
                        self.uses[index].push(known);
                    }
                    known
                }
            };
            if index == 0 {
                self.direct.push((place, used));
            }
        }
    }

    /// Where a path may lead, in the order in which that is tried. A path that says itself where
    /// it starts is looked up nowhere else.
    fn candidates(&self, from: &str, path: &str) -> Vec<FileName> {
        let says_where = path.starts_with(['/', '.']);
        let library = self.library.iter().filter(|_| !says_where);
        let inside = |folder: &FileName| match &**folder {
            "" => join("", path),
            folder => join("", &format!("{folder}/{path}")),
        };
        std::iter::once(join(from, path))
            .chain(library.map(inside))
            .collect()
    }

    /// The first of the files that a path may lead to that is there.
    fn find(
        &self,
        path: &str,
        names: &[FileName],
        depth: usize,
        place: &Place,
    ) -> Result<Found, Problem> {
        let too_large = |message| Err(Problem::new("too-large", place.clone(), message));
        let mut failed: Option<(&FileName, ReadError)> = None;
        for name in names {
            if let Some(&known) = self.by_name.get(name) {
                return Ok(Found::Known(known));
            }
            if depth >= MAX_USE_DEPTH {
                let message = format!("files use one another more than {MAX_USE_DEPTH} deep");
                return too_large(message);
            }
            if self.sources.len() >= MAX_USED_FILES {
                return too_large(format!("more than {MAX_USED_FILES} files are brought in"));
            }
            match self.files.used(&self.sources[0].name, name) {
                Ok(used) => return Ok(Found::New(used)),
                // That a file is refused says more than that another does not exist.
                Err(refused) => {
                    let says_more = |(_, known): &(&FileName, ReadError)| {
                        known.help.is_none() && refused.help.is_some()
                    };
                    if failed.as_ref().is_none_or(says_more) {
                        failed = Some((name, refused));
                    }
                }
            }
        }
        let (shown, ReadError { why, help }) = match failed {
            Some((name, refused)) => (self.files.shown(name), refused),
            None => (FileName::default(), String::new().into()),
        };
        // What is written with the whole way to it is shown as it is written.
        let is_whole = path.starts_with('/') || shown.is_empty();
        let shown = if is_whole { path } else { &shown };
        let problem = Problem::new("use-missing", place.clone(), format!("`{shown}` {why}"));
        Err(problem.help(help.unwrap_or_else(|| self.where_paths_lead())))
    }

    fn where_paths_lead(&self) -> String {
        match self.library {
            [] => "a path is relative to the file that uses it".to_owned(),
            folders => format!(
                "a path is relative to the file that uses it, or to a folder of the library: {}",
                folders
                    .iter()
                    .map(|folder| format!("`{}`", self.files.shown(folder)))
                    .collect::<Vec<_>>()
                    .join(", ")
            ),
        }
    }
}

/// What a path leads to.
enum Found {
    Known(usize),
    New(Arc<Source>),
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
            "unknown-block",
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

/// The name of a file that another one uses, by a path relative to that one.
pub fn join(from: &str, path: &str) -> FileName {
    let joined = if path.starts_with('/') {
        path.to_owned()
    } else {
        match from.rsplit_once('/') {
            Some((folder, _)) => format!("{folder}/{path}"),
            None => path.to_owned(),
        }
    };
    let absolute = joined.starts_with('/');
    let mut parts: Vec<&str> = Vec::new();
    for part in joined.split('/') {
        match part {
            "" | "." => {}
            ".." if parts.last().is_some_and(|last| *last != "..") => {
                parts.pop();
            }
            ".." if absolute => {}
            part => parts.push(part),
        }
    }
    let name = parts.join("/");
    if absolute {
        format!("/{name}").into()
    } else {
        name.into()
    }
}

#[cfg(test)]
mod tests {
    use super::join;

    #[test]
    fn paths_are_relative_to_the_user() {
        for (from, path, name) in [
            ("cars/a.clutch", "parts.clutch", "cars/parts.clutch"),
            ("cars/a.clutch", "../lib/p.clutch", "lib/p.clutch"),
            ("a.clutch", "../p.clutch", "../p.clutch"),
            ("/x/a.clutch", "./b//c.clutch", "/x/b/c.clutch"),
            ("/a.clutch", "../../c.clutch", "/c.clutch"),
            ("x/a.clutch", "/c.clutch", "/c.clutch"),
        ] {
            assert_eq!(&*join(from, path), name, "{path} from {from}");
        }
    }
}
