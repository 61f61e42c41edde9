//! A file with all the files that it uses, and which of their names each of them sees.

use super::source::{Files, ReadError, Source};
use crate::check_id::CheckId;
use crate::finding::{FileName, Place, Problem};
use crate::quantity::nearest;
use crate::settings::Settings;
use crate::syntax::{Let, Name, Part, Span, System};
use std::collections::HashMap;
use std::sync::atomic::{AtomicU32, Ordering};
use std::sync::{Arc, OnceLock};

/// How many files one file may bring in, in total.
pub const MAX_USED_FILES: usize = 1000;
/// How many files may bring in one another in a row: a `use` in a used file, and so on.
pub const MAX_USE_DEPTH: usize = 16;

/// A file and all that it brings in, each read once.
#[derive(Debug)]
pub struct Bundle {
    /// The files, the first being the one that brings in the others.
    pub sources: Vec<Arc<Source>>,
    /// For each source, the ones whose names it sees, itself first; worked out on first use.
    visible: Vec<OnceLock<Vec<usize>>>,
    /// For each source, the ones that it brings in itself.
    uses: Vec<Vec<usize>>,
    /// The paths of the first file's `use` statements, each with the number of the source that it leads to.
    direct: Vec<(Place, usize)>,
    /// What is wrong with the `use` statements.
    pub problems: Vec<Problem>,
    /// For each source, the first of its `use` statements that leads nowhere.
    missing: Vec<Option<Problem>>,
    /// For each source, the first mistake that may hide what it defines; looked for on first use.
    hiding: Vec<OnceLock<Option<Problem>>>,
    /// The settings that hold for the first one.
    pub settings: Arc<Settings>,
    /// What files are called in messages, for those whose messages do not use their name.
    pub shown: HashMap<FileName, FileName>,
    suggestions_left: AtomicU32,
}

/// How many misspelled names of one file are compared with the known ones. With very many of them the cost would grow
/// with their square.
const MOST_SUGGESTIONS: u32 = 200;

impl Bundle {
    /// A file alone, without the files that it uses.
    pub fn alone(root: Arc<Source>) -> Self {
        Self {
            sources: vec![root],
            visible: vec![OnceLock::new()],
            uses: vec![Vec::new()],
            direct: Vec::new(),
            problems: Vec::new(),
            missing: vec![None],
            hiding: vec![OnceLock::new()],
            settings: Arc::default(),
            shown: HashMap::new(),
            suggestions_left: AtomicU32::new(MOST_SUGGESTIONS),
        }
    }

    /// Reads a file's `use` statements, and theirs in turn.
    ///
    /// A path that does not exist beside the file that uses it is looked up in the library folders of the settings.
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

    /// The known name that was probably meant by an unknown one; `None` where no known name is close.
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

    /// How many names may still be compared.
    pub(super) fn suggestions_left(&self) -> u32 {
        self.suggestions_left.load(Ordering::Relaxed)
    }

    pub(super) fn set_suggestions_left(&self, left: u32) {
        self.suggestions_left.store(left, Ordering::Relaxed);
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

    /// The files that a `use` of the first file brings in. The file that its path leads to is first.
    pub fn brought_in(&self, path: Span) -> impl Iterator<Item = &Source> {
        let mut direct = self.direct.iter();
        let used = direct.find(|(place, _)| place.span == path);
        let reached = used.map(|(_, used)| self.reached(*used));
        let reached = reached.into_iter().flatten();
        reached.map(|source| &*self.sources[source])
    }

    /// The part that a name means in one of the sources, with the number of the source that defines it.
    pub(crate) fn part(&self, from: usize, block: &str, name: &str) -> Option<(usize, &Part)> {
        self.visible(from)
            .find_map(|(i, source)| Some((i, source.part(block, name)?)))
    }

    /// The let outside of systems that a name means in one of the sources, with the number of the source that defines
    /// it.
    pub(crate) fn let_named(&self, from: usize, name: &str) -> Option<(usize, &Let)> {
        self.visible(from)
            .find_map(|(i, source)| Some((i, source.let_named(name)?)))
    }

    /// The system that a name means in one of the sources, with the number of the source that defines it.
    pub(crate) fn system(&self, from: usize, name: &str) -> Option<(usize, &System)> {
        self.visible(from)
            .find_map(|(i, source)| Some((i, source.system(name)?)))
    }

    pub(crate) fn place(&self, source: usize, span: Span) -> Place {
        self.sources[source].place(span)
    }

    /// What a file is called in messages.
    pub fn shown<'n>(&'n self, name: &'n FileName) -> &'n FileName {
        self.shown.get(name).unwrap_or(name)
    }

    /// Why a name that one source cannot find may still be defined. A file that the source sees is missing, or has a
    /// mistake where it defines things. In that case the name is not reported as unknown.
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

    /// The files that the first file brings in, each with the `use` of the first file that leads to it. If several
    /// do, it is the one with the shortest way.
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

    /// Problems of names that the file defines more than once, or that a file it uses defines as well.
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
                    CheckId::GivenTwice,
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
    /// The `use` statement of the first file that is being followed.
    entry: Option<Place>,
    problems: Vec<Problem>,
}

impl Loader<'_> {
    /// Reads the files that one source uses; `trail` is the way from the first file to it. Recursion goes no deeper
    /// than [`MAX_USE_DEPTH`].
    fn follow(&mut self, index: usize, trail: &mut Vec<usize>) {
        let source = self.sources[index].clone();
        for item in source.uses() {
            let place = source.place(item.path.span);
            if index == 0 {
                self.entry = Some(place.clone());
            }
            if item.path.text.is_empty() {
                let problem = Problem::new(CheckId::UseMissing, place, "this `use` names no file");
                let problem = problem.help(self.where_paths_lead());
                self.missing[index].get_or_insert_with(|| problem.clone());
                self.problems.push(problem);
                continue;
            }
            let names = candidates(&source.name, &item.path.text, self.library);
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
                        // A circle through the first file is reported at that file's `use`.
                        let own = self.entry.clone().filter(|_| trail[start] == 0);
                        self.problems.push(Problem::new(
                            CheckId::UseCycle,
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

    /// The first existing file among those that a path may lead to.
    fn find(
        &self,
        path: &str,
        names: &[FileName],
        depth: usize,
        place: &Place,
    ) -> Result<Found, Problem> {
        let too_large = |message| Err(Problem::new(CheckId::TooLarge, place.clone(), message));
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
                // A refused file says more than that another one does not exist.
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
        // An absolute path is shown as it is written.
        let is_whole = path.starts_with('/') || shown.is_empty();
        let shown = if is_whole { path } else { &shown };
        let problem = Problem::new(
            CheckId::UseMissing,
            place.clone(),
            format!("`{shown}` {why}"),
        );
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

/// The files that the path of a `use` may lead to, in the order in which they are tried. A path that says where it
/// starts has only one.
fn candidates(from: &str, path: &str, library: &[FileName]) -> Vec<FileName> {
    let says_where = path.starts_with(['/', '.']);
    let library = library.iter().filter(|_| !says_where);
    let inside = |folder: &FileName| match &**folder {
        "" => join("", path),
        folder => join("", &format!("{folder}/{path}")),
    };
    std::iter::once(join(from, path))
        .chain(library.map(inside))
        .collect()
}

/// The file that the path of a `use` in a file leads to; `None` where no such file exists.
pub fn use_target(from: &FileName, path: &str, files: &dyn Files) -> Option<FileName> {
    let library = &files.settings(from).library;
    let names = candidates(from, path, library).into_iter();
    let mut read = names.filter(|name| files.used(from, name).is_ok());
    read.next()
}

/// What a path leads to.
enum Found {
    Known(usize),
    New(Arc<Source>),
}

/// The name of a file from its path relative to another file.
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

/// A file's path as a `use` in another file writes it.
pub fn relative(from: &str, to: &str) -> String {
    let (from, to): (Vec<&str>, Vec<&str>) = (from.split('/').collect(), to.split('/').collect());
    let folders = from.len().saturating_sub(1);
    let pairs = from.iter().take(folders).zip(&to);
    let shared = pairs.take_while(|(one, other)| one == other).count();
    let shared = shared.min(to.len().saturating_sub(1));
    let up = std::iter::repeat_n("..", folders - shared);
    up.chain(to.into_iter().skip(shared))
        .collect::<Vec<_>>()
        .join("/")
}

#[cfg(test)]
mod tests {
    use super::{join, relative};

    #[test]
    fn paths_lead_from_file_to_file() {
        for (from, to, path) in [
            ("/a/b/c.clutch", "/a/b/d.clutch", "d.clutch"),
            ("/a/b/c.clutch", "/a/e/d.clutch", "../e/d.clutch"),
            ("/a/c.clutch", "/a/e/d.clutch", "e/d.clutch"),
            ("c.clutch", "d.clutch", "d.clutch"),
            ("b/c.clutch", "d.clutch", "../d.clutch"),
        ] {
            assert_eq!(relative(from, to), path);
            assert_eq!(&*join(from, path), to);
        }
    }

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
