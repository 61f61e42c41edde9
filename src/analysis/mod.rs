//! The one entry for every face. Sources go in; findings, results and facts about places come out.
//!
//! **Knows neither LSP nor the terminal, and does no input or output of its own.**

mod actions;
mod bom;
pub(crate) mod compare;
mod completion;
mod completion_item;
mod concerns;
mod cursor;
mod definition;
pub mod diagnosis;
mod edits;
mod hierarchy;
mod highlighting;
mod hover;
mod hover_content;
mod import;
mod incremental;
mod inlay;
mod judge;
mod kept;
mod kit;
mod lens;
mod library_fittings;
mod links;
mod mend;
mod mentions;
mod moves;
mod names;
mod settings;
mod settings_help;
mod shape;
mod side_by_side;
mod signature;
mod size;
mod symbols;
mod typing;
mod used;
mod verdict;

pub use actions::{Action, ActionKind, UsePaths, actions, actions_among};
pub use bom::{Bom, BomPurpose, BomRequest, BomRow, Mix, NoBom, SupplierTotal, bom};
pub use completion::{completions, completions_among};
pub use completion_item::{Completion, CompletionKind, Shelf, Shelves};
pub use concerns::Concern;
pub use definition::{Definition, definition};
pub use edits::{Edit, formatting, formatting_typed, formatting_within};
pub use hierarchy::Reference;
pub use highlighting::{Highlight, Role, highlights};
pub use hover::{UsersElsewhere, hover, hover_among};
pub use hover_content::Hover;
pub use import::{CellMistake, Imported, import};
pub use incremental::{Located, Shown};
pub use inlay::{Inlay, inlays, inlays_with_tooltips};
pub use kept::MAX_FINDINGS;
pub use kit::{Cell, Group, Kit, Pairs, Pick, PriceRange, Prices, Range, Tried};
pub use lens::{Lens, lenses};
pub use links::{Link, UsePath, links, named_checks, use_path_at};
pub use mend::{Mended, mended};
pub use mentions::{Entity, Mention, Scope, entity_at, name_objection};
pub use moves::{Moves, moved_settings, moved_uses};
pub use settings::{read_settings, report_settings};
pub use shape::{Fold, FoldKind, folds, selections};
pub use signature::{Parameter, Signature, signature};
pub use size::{Candidate, NoSizes, Order, Priced, Search, Sizes, Vary, read_vary, size};
pub use symbols::{Symbol, SymbolKind, symbols};
pub use typing::Typing;
pub(crate) use verdict::{Standing, verdict};

use crate::check_id::CheckId;
use crate::checks::{self, Check, Finding, Run};
use crate::finding::{FileName, Place, Problem};
use crate::model::{
    Before, Built, Bundle, FileFindings, Files, MAX_COMBINATIONS, Rebuild, Source, System, build,
    build_after,
};
use crate::quantity::nearest;
use crate::settings::Settings;
use crate::solve::{NotWorked, Outcome, Tolerances};
use crate::syntax::{Span, StatementId, StatementKind, TextRange};
use incremental::{Known, Reuse};
use judge::judge;
use kept::{Kept, range_among};
use kit::{is_kit, judge_kit, picked};
use rayon::prelude::*;
use rustc_hash::FxHashMap;
use std::collections::HashMap;
use std::sync::{Arc, OnceLock};
use used::Used;

/// Everything known about one file.
#[derive(Debug)]
pub struct Report {
    /// The file itself: its name, its text and the tree of it.
    pub source: Arc<Source>,
    /// The files that it uses, directly or not.
    pub used: Vec<Arc<Source>>,
    /// The paths of its `use` statements, with the files that they lead to.
    pub uses: Vec<(Span, FileName)>,
    /// The settings that hold for it.
    pub settings: Arc<Settings>,
    /// The systems, in the order of the text.
    pub systems: Vec<Located>,
    /// The findings, in the order of the text.
    pub findings: Vec<Finding>,
    /// The findings that an `allow` or the settings silenced.
    pub allowed: Vec<Allowed>,
    /// Whether the analysis ran to its end, with nothing stopping it.
    pub is_whole: bool,
    /// What files are called in messages, for those whose messages do not use their name.
    shown: HashMap<FileName, FileName>,
    /// The files and what they see of one another.
    bundle: Bundle,
    /// The position of each system, by its statement.
    by_statement: OnceLock<FxHashMap<StatementId, usize>>,
    /// What the build found in the file outside of its systems.
    file: FileFindings,
}

impl Report {
    /// This report with a finding in the spec itself if its settings have mistakes. It is for users who look only at
    /// this file and would not see those of the settings.
    pub fn with_settings(mut self) -> Self {
        let mistaken = settings::mistaken_settings(&self.settings, &self.source);
        self.findings.splice(0..0, mistaken);
        self
    }

    /// Where a place is in its file.
    pub fn range(&self, place: &Place) -> TextRange {
        range_among(self.sources(), place)
    }

    /// What a file is called in messages.
    pub fn shown_name<'n>(&'n self, name: &'n FileName) -> &'n FileName {
        self.shown.get(name).unwrap_or(name)
    }

    /// A mistake that keeps a system from being worked out, with its place: `the mistake in parts/covers.clutch:12`.
    pub fn mistake_words(&self, mistake: &Place) -> String {
        let source = self.sources().find(|source| source.name == mistake.file);
        let line_of = |source: &Source| source.lines.line_of(source.range(mistake.span).start);
        let line = source.map_or(0, line_of) + 1;
        match mistake.file == self.source.name {
            true => format!("the mistake on line {line}"),
            false => format!("the mistake in {}:{line}", self.shown_name(&mistake.file)),
        }
    }

    /// Why a system has no results, as the text after `not worked out:`.
    pub fn why_not_worked(&self, system: &System, why: NotWorked) -> String {
        match &system.mistake {
            Some(mistake) => format!("see {}", self.mistake_words(mistake)),
            None => why.words().to_owned(),
        }
    }

    /// Works out the cures of its findings, and those of silenced ones if they are reported as well.
    pub fn work_out_cures(&mut self, silenced_too: bool) {
        self.findings.iter_mut().for_each(Finding::work_out_cures);
        if silenced_too {
            let silenced = self.allowed.iter_mut().map(|allowed| &mut allowed.finding);
            silenced.for_each(Finding::work_out_cures);
        }
    }

    /// This report with only its findings, and its systems by name and results. Everything else is dropped, so that
    /// many thousands of reports can be listed together.
    pub fn listed(mut self) -> Self {
        let is_clean = self.findings.is_empty() && self.allowed.is_empty();
        self.source = Arc::new(match is_clean {
            // No place in it is needed any more.
            true => Source::plain(self.source.name.clone(), String::new()),
            false => self.source.unread(),
        });
        self.bundle = Bundle::alone(self.source.clone());
        for worked in self.systems.iter_mut().filter_map(Located::get_mut) {
            if worked.kit.is_none() {
                worked.system.blocks = Vec::new();
                worked.system.lines = Vec::new();
                worked.system.relays = Vec::new();
                worked.system.visits = Vec::new();
                worked.tolerances = None;
            }
        }
        self
    }
}

/// A system and its results.
#[derive(PartialEq, Debug)]
pub struct Worked {
    /// The typed system, as it was built from the text.
    pub system: System,
    /// The outcome, in a box to save memory: there may be very many systems that are not worked out.
    pub outcome: Result<Box<Outcome>, NotWorked>,
    /// The effects of the spec's tolerances; `None` where it has none.
    pub tolerances: Option<Tolerances>,
    /// The results of its combinations, if it leaves something to choose.
    pub kit: Option<Arc<Kit>>,
}

impl Worked {
    /// Whether there are results, of the system itself or of its combinations.
    pub fn is_worked_out(&self) -> bool {
        self.outcome.is_ok() || self.kit.is_some()
    }

    /// A result at both ends of its worst case, as shown to the author. `None` where both look alike, and without
    /// tolerances.
    pub fn shown_worst(&self, id: crate::schema::ResultId) -> Option<[String; 2]> {
        let worst = self.tolerances.as_ref()?.get(id)?.worst;
        let [low, high] = [worst.low, worst.high].map(|end| id.show(end, &self.system.display));
        (low != high).then_some([low, high])
    }
}

/// A finding that an `allow` silences.
#[derive(Clone, Debug)]
pub struct Allowed {
    /// The finding, with the severity that it would have.
    pub finding: Finding,
    /// What silenced it.
    pub by: Silencer,
    /// The reason.
    pub why: String,
}

/// What silences a finding.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Silencer {
    /// An `allow` in the spec.
    Allow,
    /// The check is off in the settings.
    Settings,
    /// It was known when a baseline was written.
    Baseline,
}

/// How much work one analysis may do, and who watches it.
#[derive(Clone, Copy)]
pub struct Work<'w> {
    /// The most combinations of one system that are all tried. Of more, only some are tried.
    pub combinations: u64,
    /// Receives the progress of the analysis, and can stop it.
    pub watch: &'w dyn Watch,
    /// Whether cures are searched for at once, or only when asked for.
    pub cures: CureSearch,
}

/// When cures are searched for, which takes longer than everything else.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum CureSearch {
    /// With the analysis.
    AtOnce,
    /// When a finding is asked for its help, or a report for its cures.
    WhenAsked,
}

/// Waits for an analysis that may take long.
pub trait Watch: Sync {
    /// Reports that `_done` of `_all` combinations of a system have been worked out.
    fn combinations(&self, _done: u64, _all: u64) {}

    /// Whether the answer is no longer wanted. An analysis that is stopped is incomplete.
    fn is_stopped(&self) -> bool {
        false
    }
}

/// Watches nothing, and never stops the work.
struct Unwatched;

impl Watch for Unwatched {}

impl Default for Work<'_> {
    fn default() -> Self {
        Self {
            combinations: MAX_COMBINATIONS,
            watch: &Unwatched,
            cures: CureSearch::AtOnce,
        }
    }
}

/// Analyses one file.
///
/// Never fails: whatever is wrong with the text is among the findings.
pub fn analyse(source: Arc<Source>, files: &dyn Files) -> Report {
    analyse_with(source, files, &Work::default())
}

/// Analyses one file within the limits of `work`.
pub fn analyse_with(source: Arc<Source>, files: &dyn Files, work: &Work<'_>) -> Report {
    analyse_after(None, source, files, work)
}

/// Analyses a file, using what is known of it from before an edit. Systems that the edit leaves alone are not worked
/// out again. The result equals a new analysis, except that systems with a mistake keep their earlier results
/// ([`Located::shown`]).
pub fn analyse_after(
    before: Option<&Report>,
    source: Arc<Source>,
    files: &dyn Files,
    work: &Work<'_>,
) -> Report {
    let bundle = Bundle::load(source, files);
    let reuse = before.and_then(|before| Reuse::of(before, &bundle));
    let (known, unused) = match &reuse {
        Some(reuse) => reuse.systems(),
        None => (
            vec![None; bundle.sources[0].system_places().len()],
            Vec::new(),
        ),
    };
    let before_edit = reuse.as_ref().map(|reuse| Before {
        file: &reuse.before.file,
        source: &reuse.before.source,
        unused: &unused,
    });
    let mut kept = Kept::of(&bundle);
    let is_new = |(at, known): (usize, &Option<Located>)| known.is_none().then_some(at);
    let new: Vec<usize> = known.iter().enumerate().filter_map(is_new).collect();
    let unchanged = || known.iter().flatten().map(Located::unchanged);
    let (built, file) = build_after(&bundle, &new, unchanged, before_edit, &mut |problem| {
        kept.problem(problem);
    });
    Report {
        file,
        ..report(bundle, known, built, kept, before, work)
    }
}

/// Analyses one combination of a system that leaves something to choose. If none is named, it is the only such system
/// of the file.
///
/// # Errors
/// There is no such system, or it has no such choices; the error is a sentence.
pub fn analyse_picked(
    source: Arc<Source>,
    files: &dyn Files,
    system: Option<&str>,
    picks: &[Pick],
) -> Result<Report, String> {
    let bundle = Bundle::load(source, files);
    let mut model = build(&bundle);
    let at = match system {
        Some(system) => {
            let named = |built: &Built| built.system.name == system;
            let at = model.systems.iter().position(named);
            at.ok_or_else(|| no_system(&bundle.sources[0], system))?
        }
        None => only_with_choices(&model.systems, &bundle.sources[0])?,
    };
    let built = model.systems.swap_remove(at);
    let built = match Rebuild::of(&bundle, &built.system) {
        Some(rebuild) => picked(built, rebuild, picks)?,
        None => built,
    };
    let mut kept = Kept::of(&bundle);
    for problem in model.problems {
        kept.problem(problem);
    }
    let work = Work::default();
    Ok(report(bundle, vec![None], vec![built], kept, None, &work))
}

/// The only system of a file that leaves something to choose.
///
/// # Errors
/// There is none, or there are several; the error is a sentence.
fn only_with_choices(systems: &[Built], source: &Source) -> Result<usize, String> {
    let chooses = |at: &usize| !systems[*at].system.chooses.is_empty();
    let all: Vec<usize> = (0..systems.len()).filter(chooses).collect();
    let file = &source.name;
    match all.as_slice() {
        [only] => Ok(*only),
        [] => Err(format!("no system of `{file}` leaves anything to choose")),
        several => {
            let names = several.iter().map(|at| systems[*at].system.name.as_str());
            Err(format!(
                "several systems of `{file}` leave something to choose, and a pick is for one: {}",
                names.collect::<Vec<_>>().join(", ")
            ))
        }
    }
}

/// The known name that was probably meant, as the end of a sentence; empty if none is near.
fn meant<'n>(name: &str, known: impl IntoIterator<Item = &'n str>) -> String {
    match nearest(name, known) {
        Some(meant) => format!("; did you mean `{meant}`?"),
        None => String::new(),
    }
}

/// The message that a file has no system with a name, and which may have been meant.
pub fn no_system(source: &Source, name: &str) -> String {
    let known = source.systems().map(|system| system.name.text.as_str());
    let meant = meant(name, known);
    format!("there is no system `{name}` in `{}`{meant}", source.name)
}

/// The report of a file. Some of its systems are known already, the others were built.
fn report(
    bundle: Bundle,
    known_systems: Vec<Option<Located>>,
    built: Vec<Built>,
    mut kept: Kept,
    before: Option<&Report>,
    work: &Work<'_>,
) -> Report {
    let source = bundle.sources[0].clone();
    let settings = bundle.settings.clone();
    kept.extend(misspelled_allows(&source));
    let mut allowed = Vec::new();
    let mut systems = Vec::with_capacity(known_systems.len());
    let mut is_whole = true;
    let mut new = all_known(&bundle, built, work).into_iter();
    for located in known_systems {
        let Some(located) = located.or_else(|| new.next().flatten()) else {
            is_whole = false;
            break;
        };
        let before = before.filter(|_| located.is_mistaken());
        let located = match before.and_then(|before| before.located_by_name(located.name())) {
            Some(before) => located.after_mistake(before),
            None => located,
        };
        let (found, silenced) = located.found();
        kept.extend(found.iter().cloned());
        allowed.extend(silenced.iter().cloned());
        systems.push(located);
    }
    let (findings, silenced) = kept.finish();
    allowed.extend(silenced);
    Report {
        source,
        uses: bundle
            .direct()
            .map(|(at, name)| (at, name.clone()))
            .collect(),
        used: bundle.sources.iter().skip(1).cloned().collect(),
        shown: bundle.shown.clone(),
        settings,
        systems,
        findings,
        allowed,
        is_whole: is_whole && !work.watch.is_stopped(),
        bundle,
        by_statement: OnceLock::new(),
        file: FileFindings::default(),
    }
}

/// The fewest systems that one thread works out.
const SIDE_BY_SIDE: usize = 16;

/// Works out systems and checks them, many side by side. Systems after the work is stopped are `None`.
fn all_known(bundle: &Bundle, built: Vec<Built>, work: &Work<'_>) -> Vec<Option<Located>> {
    let look = |built| (!work.watch.is_stopped()).then(|| Located::new(known(bundle, built, work)));
    match built.len() < 2 * SIDE_BY_SIDE {
        true => built.into_iter().map(look).collect(),
        false => {
            let each = built.into_par_iter().with_min_len(SIDE_BY_SIDE);
            each.map(look).collect()
        }
    }
}

/// Works out one system and checks it.
fn known(bundle: &Bundle, built: Built, work: &Work<'_>) -> Known {
    let settings = &bundle.settings;
    let judged = judge(&built.system, settings);
    let (mut worked, mut sorted) = judged.sort(built.system);
    if matches!(worked.outcome, Err(NotWorked::Impossible)) && worked.system.mistake.is_none() {
        worked.system.mistake = impossible(&sorted.findings);
    }
    let space = built.space.filter(|_| is_kit(&worked.outcome));
    let is_known = worked.system.is_sound() && (worked.outcome.is_ok() || space.is_some());
    if let Some(space) = space
        && let Some(rebuild) = Rebuild::of(bundle, &worked.system)
    {
        let judged = judge_kit(&worked.system, space, rebuild, settings, work);
        worked.kit = judged.kit.map(Arc::new);
        sorted.findings.extend(judged.findings);
        sorted.allowed.extend(judged.allowed);
        for (used, by_kit) in sorted.used.iter_mut().zip(judged.used) {
            *used |= by_kit;
        }
    }
    library_fittings::offer(bundle, &worked.system, &mut sorted.findings);
    if work.cures == CureSearch::AtOnce {
        let silenced = sorted
            .allowed
            .iter_mut()
            .map(|allowed| &mut allowed.finding);
        sorted
            .findings
            .iter_mut()
            .chain(silenced)
            .for_each(Finding::work_out_cures);
    }
    let unused = unused_allows(&worked.system, &sorted.used, is_known);
    sorted.findings.extend(unused);
    Known {
        worked,
        findings: sorted.findings,
        allowed: sorted.allowed,
        uses: built.uses,
        is_whole: built.is_clean && !work.watch.is_stopped(),
    }
}

/// Where the numbers are that have no meaning together: in the file that gives them, if that is another.
fn impossible(findings: &[Finding]) -> Option<Place> {
    let is_why = |finding: &&Finding| matches!(finding.check.run, checks::Run::Impossible(_));
    let problem = &findings.iter().find(is_why)?.problem;
    let mut related = problem.related.iter().map(|related| &related.place);
    let elsewhere = related.find(|place| place.file != problem.place.file);
    Some(elsewhere.unwrap_or(&problem.place).clone())
}

/// Allows of the system itself that silenced nothing. While a system is not worked out, most checks cannot find
/// anything, and their allows are not reported.
fn unused_allows(system: &System, used: &[bool], worked: bool) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (allow, used) in system.allows.iter().zip(used) {
        if *used || !allow.own {
            continue;
        }
        let problem = match Check::named(&allow.check) {
            None => unknown_check(&allow.check, allow.place.clone()),
            Some(check) if matches!(check.run, Run::Reading) => Problem::new(
                CheckId::UnusedAllow,
                allow.place.clone(),
                format!(
                    "`{}` is found in the text itself, which no `allow` silences",
                    allow.check
                ),
            ),
            Some(_) if !worked => continue,
            Some(_) => Problem::new(
                CheckId::UnusedAllow,
                allow.place.clone(),
                format!(
                    "`{}` finds nothing here, so this silences nothing",
                    allow.check
                ),
            )
            .help("remove it, or the next one will go unseen"),
        };
        findings.push(Finding::new(problem, Some(system)));
    }
    findings
}

/// Allows in the file's parts whose check does not exist. No system reports them.
fn misspelled_allows(source: &Source) -> impl Iterator<Item = Finding> {
    let statements = source.parts().flat_map(|part| &part.body.statements);
    statements.filter_map(|statement| match &statement.kind {
        StatementKind::Allow(allow) if Check::named(&allow.check.text).is_none() => {
            let place = source.place(allow.check.span);
            let problem = unknown_check(&allow.check.text, place);
            Some(Finding::new(problem, None))
        }
        _ => None,
    })
}

fn unknown_check(name: &str, place: Place) -> Problem {
    let known = checks::CHECKS.iter().map(|check| check.name());
    Problem::new(
        CheckId::UnusedAllow,
        place,
        format!("there is no check `{name}`"),
    )
    .did_you_mean(nearest(name, known))
}
