//! Typed systems out of a bundle of files.

use super::assemble::Rebuild;
use super::bundle::Bundle;
use super::emit::DedupSink;
use super::layers::Overrides;
use super::reserved_names::reserved_names;
use super::space::Space;
use super::system::System;
use super::unused::check_unused;
use crate::finding::{Place, Problem};
use crate::syntax;
use std::borrow::Cow;
use std::collections::HashSet;

/// Everything a file says, resolved.
#[derive(Debug)]
pub struct Model {
    /// The file's systems, in its order.
    pub systems: Vec<Built>,
    pub problems: Vec<Problem>,
}

/// A system, and what it stands for if it leaves something to choose.
#[derive(Debug)]
pub struct Built {
    /// With the first part of each choice, where it has any.
    pub system: System,
    /// Every combination of its choices.
    pub space: Option<Space>,
    /// The names of the lets that it reads and of the parts that it takes, where they are
    /// defined.
    pub uses: Vec<Place>,
    /// Whether nothing was wrong with it.
    pub is_clean: bool,
}

/// Builds the systems of a bundle's first file, and checks its parts and lets on their own.
pub fn build(bundle: &Bundle) -> Model {
    let mut problems = Vec::new();
    let systems = build_after(bundle, |_| None, &mut |problem| problems.push(problem));
    Model {
        systems: systems.into_iter().flatten().collect(),
        problems,
    }
}

/// The same, but for systems that the caller knows already: of those it says which lets and
/// parts they use, and they are `None` in what is returned. Each problem of the others is told as
/// soon as it is known: there may be too many to keep.
pub fn build_after<'k>(
    bundle: &Bundle,
    mut known: impl FnMut(&syntax::System) -> Option<Cow<'k, [Place]>>,
    tell: &mut dyn FnMut(Problem),
) -> Vec<Option<Built>> {
    let root = &bundle.sources[0];
    let mut sink = DedupSink::new(bundle, tell);
    let flaws = root.tree.flaws.iter();
    sink.emit(flaws.map(|flaw| Problem::from_flaw(flaw, &root.name)));
    sink.emit(bundle.problems.iter().cloned());
    sink.emit(bundle.repeated_names());
    sink.emit(reserved_names(root));
    for source in &bundle.sources[1..] {
        let flaws = source.tree.flaws.iter();
        sink.emit(flaws.map(|flaw| Problem::from_flaw(flaw, &source.name)));
    }
    let mut used = HashSet::new();
    let systems: Vec<Option<Built>> = root
        .systems()
        .map(|tree| {
            if let Some(uses) = known(tree) {
                used.extend(uses.into_owned());
                return None;
            }
            let built = build_system(Rebuild { bundle, tree }, &mut sink);
            used.extend(built.uses.iter().cloned());
            Some(built)
        })
        .collect();
    check_unused(bundle, root, &mut used, &mut sink);
    let built = systems.iter().flatten();
    let mistakes = built.filter_map(|built| Some(&built.system.mistake.as_ref()?.file));
    let broken = sink.broken_uses(&mistakes.collect());
    sink.emit(broken);
    systems
}

fn build_system(rebuild: Rebuild<'_>, sink: &mut DedupSink<'_>) -> Built {
    let mut unchanged = rebuild.with(Overrides::default());
    let mut is_clean = unchanged.problems.is_empty();
    sink.emit(std::mem::take(&mut unchanged.problems));
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
        sink.emit(made.problems);
        uses.extend(made.used_lets);
        made.space
    });
    Built {
        system,
        space,
        uses,
        is_clean,
    }
}
