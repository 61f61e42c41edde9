//! Keeps what still holds of an earlier analysis. An edit in one system leaves the others as they are.

use super::{Allowed, Report, Worked};
use crate::checks::Finding;
use crate::finding::Place;
use crate::model::{Bundle, MAX_FROM_DEPTH, Source, Unchanged, changed_items};
use crate::syntax::{self, Span, StatementKind};
use std::ops::{Deref, Range};
use std::sync::Arc;

/// A system and its results, from this analysis or from an earlier one.
#[derive(Clone, Debug)]
pub struct Located {
    /// The place of its name in the text.
    pub(super) at: Span,
    // Three facts of `known` are repeated here, so that an edit elsewhere need not read it.
    /// Whether it was read without a flaw, and nothing stopped its analysis.
    is_whole: bool,
    /// Whether a mistake keeps it from being worked out.
    is_mistaken: bool,
    /// Whether the checks find nothing in it, not even something allowed.
    is_clean: bool,
    known: Arc<Known>,
    /// The results from when it could last be worked out, while a mistake prevents that.
    last: Option<Arc<Known>>,
}

/// What is shown of a system: its results, or those from before a mistake.
#[derive(Clone, Copy, Debug)]
pub struct Shown<'a> {
    /// The system with its results.
    pub worked: &'a Worked,
    /// The mistake before which the results were made. The places in `worked` are then those of an earlier text.
    pub mistake: Option<&'a Place>,
}

/// What is known of one system.
#[derive(Debug)]
pub(super) struct Known {
    pub worked: Worked,
    /// What the checks find in it.
    pub findings: Vec<Finding>,
    pub allowed: Vec<Allowed>,
    /// Where the lets that it reads and the parts that it takes are named in their definitions.
    pub uses: Vec<Place>,
    /// Whether it was read without a flaw, and nothing stopped its analysis.
    pub is_whole: bool,
}

impl Deref for Located {
    type Target = Worked;

    fn deref(&self) -> &Worked {
        &self.known.worked
    }
}

impl Located {
    pub(super) fn new(known: Known) -> Self {
        Self {
            at: known.worked.system.place.span,
            is_whole: known.is_whole,
            is_mistaken: known.worked.system.mistake.is_some(),
            is_clean: known.findings.is_empty() && known.allowed.is_empty(),
            known: Arc::new(known),
            last: None,
        }
    }

    /// This system, which a mistake keeps from being worked out, with its earlier results.
    pub(super) fn after_mistake(self, before: &Self) -> Self {
        let last = match before.known.worked.is_worked_out() {
            true => Some(before.known.clone()),
            false => before.last.clone(),
        };
        Self { last, ..self }
    }

    /// Its results or, while a mistake keeps it from being worked out, those from before.
    pub fn shown(&self) -> Shown<'_> {
        let mistake = self.system.mistake.as_ref();
        match (mistake, &self.last) {
            (Some(_), Some(last)) => Shown {
                worked: &last.worked,
                mistake,
            },
            _ => Shown {
                worked: self,
                mistake: None,
            },
        }
    }

    /// What the checks found in it before the mistake.
    pub(super) fn found_before(&self) -> &[Finding] {
        self.last.as_ref().map_or(&[], |last| &last.findings)
    }

    /// The system, to change it; `None` if other analyses share it.
    pub fn get_mut(&mut self) -> Option<&mut Worked> {
        Some(&mut Arc::get_mut(&mut self.known)?.worked)
    }

    /// Whether a mistake keeps it from being worked out.
    pub(super) fn is_mistaken(&self) -> bool {
        self.is_mistaken
    }

    pub(super) fn name(&self) -> &str {
        &self.known.worked.system.name
    }

    /// The findings of the checks in it, and those that are allowed.
    pub(super) fn found(&self) -> (&[Finding], &[Allowed]) {
        match self.is_clean {
            true => (&[], &[]),
            false => (&self.known.findings, &self.known.allowed),
        }
    }

    /// The lets and parts that it uses.
    pub(super) fn uses(&self) -> &[Place] {
        &self.known.uses
    }

    /// What a build needs to know of it while it is unchanged.
    pub(super) fn unchanged(&self) -> Unchanged<'_> {
        Unchanged {
            uses: self.uses(),
            mistake: self.system.mistake.as_ref(),
        }
    }
}

/// What still holds of an earlier analysis of the same file.
pub(super) struct Reuse<'a> {
    pub before: &'a Report,
    source: &'a Source,
    /// The statements that were edited.
    edited: Range<usize>,
    /// The names of systems that were edited, added or removed.
    changed: Vec<&'a str>,
}

impl<'a> Reuse<'a> {
    /// What holds of an earlier analysis. `None` if nothing does, since an edit changed something on which every
    /// system may depend.
    pub fn of(before: &'a Report, bundle: &'a Bundle) -> Option<Self> {
        let source = &*bundle.sources[0];
        let same_files = before.used.len() + 1 == bundle.sources.len()
            && before
                .used
                .iter()
                .zip(&bundle.sources[1..])
                .all(|(then, now)| Arc::ptr_eq(then, now));
        let old = &before.source;
        let is_whole = before.systems.len() == old.system_places().len();
        if !same_files
            || !is_whole
            || old.name != source.name
            || before.settings != bundle.settings
            || !old.tree.same_start(&source.tree)
        {
            return None;
        }
        let (was, is) = (&old.tree.items, &source.tree.items);
        let (old_run, new_run) = changed_items(was, is);
        let mut changed = Vec::new();
        for item in was[old_run].iter().chain(&is[new_run.clone()]) {
            let StatementKind::System(system) = &item.kind else {
                return None;
            };
            changed.push(&*system.name.text);
        }
        Some(Self {
            before,
            source,
            edited: new_run,
            changed,
        })
    }

    /// Each system of the file as it was known, if that still holds. Also what the systems used whose results no
    /// longer hold.
    pub fn systems(&self) -> (Vec<Option<Located>>, Vec<&'a [Place]>) {
        let is_base = self.changed.iter().any(|name| self.source.is_base(name));
        let known = &self.before.systems;
        let places = self.source.system_places();
        let before = places.partition_point(|at| *at < self.edited.start);
        let behind = places.partition_point(|at| *at < self.edited.end);
        let old_behind = known.len() - (places.len() - behind);
        let mut unused: Vec<&[Place]> = known[before..old_behind]
            .iter()
            .map(Located::uses)
            .collect();
        let mut take = |at: &usize, located: &'a Located| {
            let is_changed = is_base && self.starts_from_changed(*at);
            if located.is_whole && !is_changed {
                return Some(located.clone());
            }
            unused.push(located.uses());
            None
        };
        let mut held = Vec::with_capacity(places.len());
        let pairs = places[..before].iter().zip(&known[..before]);
        held.extend(pairs.map(|(at, located)| take(at, located)));
        held.extend((before..behind).map(|_| None));
        let pairs = places[behind..].iter().zip(&known[old_behind..]);
        held.extend(pairs.map(|(at, located)| take(at, located)));
        (held, unused)
    }

    /// Whether a system starts, directly or through others, from one that changed.
    fn starts_from_changed(&self, at: usize) -> bool {
        let layer = |system: &&syntax::System| self.source.system(&system.base.as_ref()?.text);
        let layers =
            std::iter::successors(self.source.system_at(at), layer).take(MAX_FROM_DEPTH + 1);
        let mut bases = layers.filter_map(|layer| layer.base.as_ref());
        bases.any(|base| self.changed.contains(&&*base.text))
    }
}
