//! What an earlier analysis found that still holds: while somebody types in one system, all
//! others stay as they are, but for where they stand.

use super::{Allowed, Report, Worked};
use crate::checks::Finding;
use crate::finding::{FileName, Place};
use crate::model::{Bundle, MAX_FROM_DEPTH, Source};
use crate::syntax::{self, Span, Statement, StatementKind, same_ends};
use std::borrow::Cow;
use std::collections::HashSet;
use std::ops::Deref;
use std::sync::{Arc, OnceLock};

/// A system more often moved than this is moved for good.
const MOST_MOVES: usize = 8;

/// A system and what comes of it, as known from this analysis or from an earlier one.
#[derive(Debug)]
pub struct Located {
    /// Its name in the text.
    pub(super) at: Span,
    /// With the places of the analysis that it is known from.
    known: Arc<Known>,
    /// What has happened to those places since.
    moves: Vec<Move>,
    here: OnceLock<Box<Worked>>,
    /// What came of it the last time that it was worked out, while a mistake keeps it from that.
    last: Option<Arc<Known>>,
}

/// What is shown of a system: what comes of it, or what came of it before a mistake.
#[derive(Clone, Copy, Debug)]
pub struct Shown<'a> {
    pub worked: &'a Worked,
    /// The mistake that it is from before. The places in `worked` are then those of an earlier text.
    pub mistake: Option<&'a Place>,
}

/// What is known of one system.
#[derive(Debug)]
pub(super) struct Known {
    pub worked: Worked,
    /// What the checks find in it.
    pub findings: Vec<Finding>,
    pub allowed: Vec<Allowed>,
    /// The names of the lets that it reads and of the parts that it takes, where they are
    /// defined.
    pub uses: Vec<Place>,
    /// Whether it was read without a flaw, and nothing stopped its analysis.
    pub is_whole: bool,
}

/// What stands at an offset or behind it has moved.
#[derive(Clone, Copy, PartialEq, Debug)]
struct Move {
    from: u32,
    by: i64,
}

impl Move {
    fn offset(self, offset: u32) -> u32 {
        if offset < self.from {
            return offset;
        }
        u32::try_from(i64::from(offset) + self.by).unwrap_or(offset)
    }

    /// From where things are to where they were.
    fn back(self) -> Self {
        Self {
            from: (i64::from(self.from) + self.by) as u32,
            by: -self.by,
        }
    }

    fn span(self, span: Span) -> Span {
        // The end of what stands right before the edit is not behind it.
        match span.start < self.from {
            true => span,
            false => Span {
                start: self.offset(span.start),
                end: self.offset(span.end),
            },
        }
    }
}

impl Deref for Located {
    type Target = Worked;

    fn deref(&self) -> &Worked {
        if self.moves.is_empty() {
            return &self.known.worked;
        }
        self.here.get_or_init(|| Box::new(self.moved()))
    }
}

impl Located {
    pub(super) fn new(known: Known) -> Self {
        Self {
            at: known.worked.system.place.span,
            known: Arc::new(known),
            moves: Vec::new(),
            here: OnceLock::new(),
            last: None,
        }
    }

    /// The same system, which a mistake keeps from being worked out, with what came of it before.
    pub(super) fn after_mistake(self, before: &Self) -> Self {
        let last = match before.known.worked.is_worked_out() {
            true => Some(before.known.clone()),
            false => before.last.clone(),
        };
        Self { last, ..self }
    }

    /// What comes of it or, while a mistake keeps it from being worked out, what came of it before.
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

    /// The system to change it, as long as it is of this analysis alone.
    pub fn get_mut(&mut self) -> Option<&mut Worked> {
        match self.moves.is_empty() {
            true => Some(&mut Arc::get_mut(&mut self.known)?.worked),
            false => self.here.get_mut().map(Box::as_mut),
        }
    }

    /// Whether a mistake keeps it from being worked out.
    pub(super) fn is_mistaken(&self) -> bool {
        self.known.worked.system.mistake.is_some()
    }

    pub(super) fn name(&self) -> &str {
        &self.known.worked.system.name
    }

    fn file(&self) -> &FileName {
        &self.known.worked.system.place.file
    }

    /// The system with its places as they are now.
    fn moved(&self) -> Worked {
        let known = &self.known.worked;
        let mut system = known.system.clone();
        for place in system.places_mut() {
            self.put(place);
        }
        Worked {
            system,
            outcome: known.outcome.clone(),
            tolerances: known.tolerances.clone(),
            kit: known.kit.clone(),
        }
    }

    fn put(&self, place: &mut Place) {
        if place.file == *self.file() {
            place.span = self.moves.iter().fold(place.span, |span, by| by.span(span));
        }
    }

    /// What the checks find in it, and what of that is allowed.
    pub(super) fn found(&self) -> (Vec<Finding>, Vec<Allowed>) {
        let mut findings = self.known.findings.clone();
        let mut allowed = self.known.allowed.clone();
        if !self.moves.is_empty() {
            let silenced = allowed.iter_mut().map(|allowed| &mut allowed.finding);
            for finding in findings.iter_mut().chain(silenced) {
                for place in finding.problem.places_mut() {
                    self.put(place);
                }
            }
        }
        (findings, allowed)
    }

    /// The lets and parts that it uses.
    pub(super) fn uses(&self) -> Cow<'_, [Place]> {
        if self.moves.is_empty() {
            return Cow::Borrowed(&self.known.uses);
        }
        let mut uses = self.known.uses.clone();
        for place in &mut uses {
            self.put(place);
        }
        Cow::Owned(uses)
    }

    /// The same after one more edit.
    fn after(&self, edit: Move) -> Self {
        let mut moves = self.moves.clone();
        let at = edit.span(self.at);
        match moves.last_mut() {
            // Somebody goes on typing at one place.
            Some(last) if i64::from(last.from) + last.by == i64::from(edit.from) => {
                last.by += edit.by;
            }
            _ => moves.push(edit),
        }
        moves.retain(|edit| edit.by != 0);
        let moved = Self {
            at,
            known: self.known.clone(),
            moves,
            here: OnceLock::new(),
            last: None,
        };
        match moved.moves.len() > MOST_MOVES {
            true => moved.for_good(),
            false => moved,
        }
    }

    fn for_good(&self) -> Self {
        let (findings, allowed) = self.found();
        Self::new(Known {
            worked: self.moved(),
            findings,
            allowed,
            uses: self.uses().into_owned(),
            is_whole: self.known.is_whole,
        })
    }
}

/// What still holds of an earlier analysis of the same file.
pub(super) struct Still<'a> {
    report: &'a Report,
    edit: Move,
    /// Names of systems that were edited, came or went.
    changed: HashSet<&'a str>,
    source: &'a Source,
}

impl<'a> Still<'a> {
    /// `None` if nothing holds, for something was edited that every system may depend on.
    pub fn of(before: &'a Report, bundle: &'a Bundle) -> Option<Self> {
        let source = &bundle.sources[0];
        let same_files = before.used.len() + 1 == bundle.sources.len()
            && before
                .used
                .iter()
                .zip(&bundle.sources[1..])
                .all(|(then, now)| Arc::ptr_eq(then, now));
        let old = &before.source;
        if !same_files || old.name != source.name || before.settings != bundle.settings {
            return None;
        }
        let [same_before, same_behind] = same_ends(&old.text, &source.text);
        let edit = Move {
            from: (old.text.len() - same_behind) as u32,
            by: source.text.len() as i64 - old.text.len() as i64,
        };
        let stays = |statement: &Statement| {
            statement.span.end as usize <= same_before || statement.span.start >= edit.from
        };
        let mut changed = HashSet::new();
        let mut old_others = Vec::new();
        for statement in &old.tree.statements {
            let is_same = stays(statement)
                && statement_at(source, edit.span(statement.span)).is_some_and(|new| {
                    !old.tree.is_flawed(statement.span) && !source.tree.is_flawed(new.span)
                });
            match &statement.kind {
                StatementKind::System(system) if !is_same => {
                    changed.insert(system.name.text.as_str());
                }
                StatementKind::System(_) => {}
                _ if !is_same => return None,
                _ => old_others.push(edit.span(statement.span)),
            }
        }
        // What is new.
        let mut known = old_others.iter();
        for statement in &source.tree.statements {
            match &statement.kind {
                StatementKind::System(system) => {
                    let was = edit.back().span(statement.span);
                    let stands = statement_at(old, was)
                        .is_some_and(|was| stays(was) && edit.span(was.span) == statement.span);
                    if !stands || source.tree.is_flawed(statement.span) {
                        changed.insert(system.name.text.as_str());
                    }
                }
                _ if known.next() == Some(&statement.span) => {}
                _ => return None,
            }
        }
        Some(Self {
            report: before,
            edit,
            changed,
            source,
        })
    }

    /// What is known of a system, if it holds.
    pub fn system(&self, system: &syntax::System) -> Option<Located> {
        let layer = |system: &&syntax::System| self.source.system(&system.base.as_ref()?.text);
        let mut layers = std::iter::successors(Some(system), layer).take(MAX_FROM_DEPTH + 1);
        let is_changed = |name: &syntax::Name| self.changed.contains(&*name.text);
        if layers
            .any(|layer| is_changed(&layer.name) || layer.base.as_ref().is_some_and(is_changed))
        {
            return None;
        }
        let was = self.edit.back().span(system.name.span);
        let located = self.report.located(was)?;
        located.known.is_whole.then(|| located.after(self.edit))
    }
}

/// The statement of a file that has exactly a span.
fn statement_at(source: &Source, span: Span) -> Option<&Statement> {
    let statements = &source.tree.statements;
    let first = statements.partition_point(|statement| statement.span < span);
    statements
        .get(first)
        .filter(|statement| statement.span == span)
}
