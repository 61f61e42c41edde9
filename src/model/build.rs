//! Typed systems out of a bundle of files.

use super::assemble::Rebuild;
use super::bundle::Bundle;
use super::emit::DedupSink;
use super::reserved_names::reserved_names;
use super::shared_blocks::SharedBlocks;
use super::source::Source;
use super::space::Space;
use super::system::System;
use super::unused::unused;
use crate::finding::{Place, Problem};
use rayon::prelude::*;
use std::collections::HashMap;

/// Everything a file says, resolved.
#[derive(Debug)]
pub struct Model {
    /// The file's systems, in its order.
    pub systems: Vec<Built>,
    /// What is wrong with the file and with those that it uses, each thing once.
    pub problems: Vec<Problem>,
}

/// A system, and the combinations that it stands for if it leaves something to choose.
#[derive(Debug)]
pub struct Built {
    /// The system; if it has choices, with the first part of each.
    pub system: System,
    /// Every combination of its choices; `None` if it leaves nothing to choose.
    pub space: Option<Space>,
    /// Where the lets that the system reads and the parts that it takes are named in their definitions.
    pub uses: Vec<Place>,
    /// Whether no mistake was found in the system.
    pub is_clean: bool,
}

/// Builds the systems of a bundle's first file, and checks its parts and lets on their own.
pub fn build(bundle: &Bundle) -> Model {
    let mut problems = Vec::new();
    let all: Vec<usize> = (0..bundle.sources[0].system_places().len()).collect();
    let (systems, _) = build_after(bundle, &all, std::iter::empty, None, &mut |problem| {
        problems.push(problem);
    });
    Model { systems, problems }
}

/// Builds one system of a bundle's first file and nothing else in it; `None` where no system has that name.
pub fn build_named(bundle: &Bundle, name: &str) -> Option<Built> {
    let root = &bundle.sources[0];
    let at = root.system_order(name)?;
    let tree = root.system_at(*root.system_places().get(at)?)?;
    let (built, _) = build_system(Rebuild { bundle, tree }, &mut None);
    Some(built)
}

/// What a build finds in a file outside of its systems. It is kept so that it holds after an edit in one of them.
#[derive(Debug, Default)]
pub struct FileFindings {
    /// How many systems use each let and each part of the file, by the place of its name.
    users: HashMap<Place, u32>,
    /// What is wrong with names.
    names: Vec<Problem>,
    /// What is wrong with lets and parts that no system uses. It holds after an edit of systems alone if the names
    /// and what is used stay as they are. `None` where a used file has mistakes, since they decide what counts as
    /// unused.
    unused: Option<Vec<Problem>>,
}

/// What is known of a file from before an edit in some of its systems.
#[derive(Clone, Copy)]
pub struct Before<'k> {
    pub file: &'k FileFindings,
    pub source: &'k Source,
    /// The lets and parts that the former systems used, of systems that the edit changed or removed.
    pub unused: &'k [&'k [Place]],
}

/// What is known already of a system that the edit did not change.
#[derive(Clone, Copy)]
pub struct Unchanged<'k> {
    /// The lets and parts that it uses, by the places of their names.
    pub uses: &'k [Place],
    /// Where the mistake is that keeps the system from being worked out.
    pub mistake: Option<&'k Place>,
}

/// Builds only the `wanted` systems, by their order in the file. `known` says what the caller knows already of the
/// others. Each problem is passed to `tell` at once, since there may be too many to keep.
pub fn build_after<'k, U: Iterator<Item = Unchanged<'k>>>(
    bundle: &Bundle,
    wanted: &[usize],
    known: impl Fn() -> U,
    before: Option<Before<'_>>,
    tell: &mut dyn FnMut(Problem),
) -> (Vec<Built>, FileFindings) {
    let root = &bundle.sources[0];
    let mut sink = DedupSink::new(bundle, tell);
    let flaws = root.tree.flaws();
    sink.emit(flaws.map(|flaw| Problem::from_flaw(flaw, &root.name)));
    sink.emit(bundle.problems.iter().cloned());
    let before = before.filter(|before| {
        root.defines_the_same(before.source) && before.file.names.iter().all(|p| stands_in(p, root))
    });
    let names = match before {
        Some(before) => before.file.names.clone(),
        None => bundle
            .repeated_names()
            .into_iter()
            .chain(reserved_names(root))
            .collect(),
    };
    sink.emit(names.iter().cloned());
    for source in &bundle.sources[1..] {
        let flaws = source.tree.flaws();
        sink.emit(flaws.map(|flaw| Problem::from_flaw(flaw, &source.name)));
    }
    let places = root.system_places();
    let trees = wanted
        .iter()
        .filter_map(|at| root.system_at(*places.get(*at)?));
    let rebuilds: Vec<Rebuild<'_>> = trees.map(|tree| Rebuild { bundle, tree }).collect();
    let mut systems = Vec::with_capacity(rebuilds.len());
    for batch in rebuilds.chunks(BATCH) {
        for (built, problems) in build_batch(bundle, batch) {
            sink.emit(problems);
            systems.push(built);
        }
    }
    let new_uses = || systems.iter().flat_map(|built| &built.uses);

    let held = before.and_then(|before| {
        let mut users = before.file.users.clone();
        let gone = before.unused.iter().flat_map(|uses| uses.iter());
        let is_same = exchange(&mut users, gone, new_uses()) && !sink.has_broken_uses();
        Some((users, before.file.unused.clone().filter(|_| is_same)?))
    });
    let (users, unused) = held.unwrap_or_else(|| {
        let mut users = HashMap::new();
        let mut count = |place: &Place| *users.entry(place.clone()).or_insert(0) += 1;
        known().flat_map(|system| system.uses).for_each(&mut count);
        new_uses().for_each(count);
        let mut used = users.keys().cloned().collect();
        let is_library = root.systems().next().is_none() || sink.has_broken_uses();
        let unused = unused(bundle, root, &mut used, is_library);
        (users, unused)
    });
    sink.emit(unused.iter().cloned());
    let is_alone = !sink.has_broken_uses();
    if !is_alone {
        let new = systems.iter().map(|built| built.system.mistake.as_ref());
        let mistakes = new.chain(known().map(|system| system.mistake)).flatten();
        let lost = mistakes.map(|mistake| &mistake.file).collect();
        let broken = sink.broken_uses(&lost);
        sink.emit(broken);
    }
    let file = FileFindings {
        users,
        names,
        unused: is_alone.then_some(unused),
    };
    (systems, file)
}

/// Whether each place of a problem in this file is in a statement that still exists.
fn stands_in(problem: &Problem, file: &Source) -> bool {
    let mut places = problem.places().filter(|place| place.file == file.name);
    places.all(|place| file.tree.item(place.span.statement).is_some())
}

/// Adds new uses to the counts and takes away the ones that are gone. Says whether exactly the same lets and parts
/// are used as before.
fn exchange<'p>(
    users: &mut HashMap<Place, u32>,
    gone: impl Iterator<Item = &'p Place>,
    new: impl Iterator<Item = &'p Place>,
) -> bool {
    let mut is_same = true;
    for place in new {
        match users.get_mut(place) {
            Some(count) => *count += 1,
            None => is_same = false,
        }
    }
    for place in gone {
        if let Some(count) = users.get_mut(place) {
            *count -= 1;
            is_same &= *count > 0;
        }
    }
    is_same
}

/// How many systems are built before their problems are reported.
const BATCH: usize = 512;
/// The fewest systems that one thread builds.
const SIDE_BY_SIDE: usize = 32;

/// Builds systems, each with its problems. Many systems are built side by side.
fn build_batch<'a>(bundle: &'a Bundle, batch: &[Rebuild<'a>]) -> Vec<(Built, Vec<Problem>)> {
    let in_order = |batch: &[Rebuild<'a>]| -> Vec<_> {
        let mut shared = Some(SharedBlocks::new());
        let build = |rebuild: &Rebuild<'a>| build_system(*rebuild, &mut shared);
        batch.iter().map(build).collect()
    };
    let left = bundle.suggestions_left();
    if batch.len() < 2 * SIDE_BY_SIDE {
        return in_order(batch);
    }
    let pieces = batch.par_chunks(SIDE_BY_SIDE);
    let built: Vec<Vec<_>> = pieces.map(in_order).collect();
    if bundle.suggestions_left() == 0 && left > 0 {
        // Which system gets the last suggestions must not depend on the order of the work.
        bundle.set_suggestions_left(left);
        return in_order(batch);
    }
    built.into_iter().flatten().collect()
}

fn build_system<'a>(
    rebuild: Rebuild<'a>,
    shared: &mut Option<SharedBlocks<'a>>,
) -> (Built, Vec<Problem>) {
    let mut unchanged = rebuild.sharing(shared);
    let mut is_clean = unchanged.problems.is_empty();
    let mut problems = std::mem::take(&mut unchanged.problems);
    let system = unchanged.system.clone();
    let mut uses: Vec<Place> = unchanged.used_lets.iter().cloned().collect();
    let own = system.components().filter_map(|c| c.part.as_ref());
    let chosen = system.chooses.iter().flat_map(|choose| &choose.parts);
    uses.extend(own.chain(chosen).map(|part| part.definition.clone()));
    let made = match system.chooses.is_empty() {
        true => None,
        false => Space::of_choices(rebuild, unchanged),
    };
    let space = made.map(|made| {
        is_clean &= made.problems.is_empty();
        problems.extend(made.problems);
        uses.extend(made.used_lets);
        made.space
    });
    let built = Built {
        system,
        space,
        uses,
        is_clean,
    };
    (built, problems)
}
