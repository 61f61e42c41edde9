//! The one entry for every face: sources in; findings, results and facts about places out.
//!
//! **Knows neither LSP nor the terminal, and does no input or output of its own.**

mod actions;
pub mod compare;
mod completion;
mod cursor;
mod definition;
mod edits;
mod highlighting;
mod hover;
mod inlay;
mod lens;
mod links;
mod mentions;
mod names;
mod settings;
mod shape;
mod spot;
mod symbols;

pub use actions::{Action, ActionKind, actions};
pub use completion::{Completion, CompletionKind, completions};
pub use definition::{Definition, definition};
pub use edits::{Edit, formatting, formatting_typed, formatting_within};
pub use highlighting::{Highlight, Role, highlights};
pub use hover::{Hover, hover};
pub use inlay::{Inlay, inlays};
pub use lens::{Lens, lenses};
pub use links::{Link, links, use_path_at};
pub use mentions::{Entity, Mention, Scope, entity_at, field_mentions, name_objection};
pub use settings::{read_settings, report_settings};
pub use shape::{Fold, FoldKind, folds, selections};
pub use symbols::{Symbol, SymbolKind, symbols};

use crate::checks::{self, Check, Finding, Run};
use crate::finding::{FileName, Place, Problem, Related};
use crate::mechanics::{MAX_TOLERANCED, NotWorked, Outcome, Tolerances, work_out};
use crate::model::{Bundle, Files, Source, System, build};
use crate::quantity::nearest;
use crate::settings::{Level, SETTINGS_FILE, Settings};
use crate::syntax::{Span, StatementKind};
use completion::Used;
use std::collections::HashMap;
use std::sync::Arc;

/// All that is known about one file.
#[derive(Debug)]
pub struct Report {
    pub source: Arc<Source>,
    /// The files that it uses, directly or not.
    pub used: Vec<Arc<Source>>,
    /// The paths of its `use` statements, with the files that they lead to.
    pub uses: Vec<(Span, FileName)>,
    /// The settings that hold for it.
    pub settings: Arc<Settings>,
    pub systems: Vec<Worked>,
    /// In the order of the text.
    pub findings: Vec<Finding>,
    /// What an `allow` or the settings silenced.
    pub allowed: Vec<Allowed>,
}

/// A system and what comes of it.
#[derive(Debug)]
pub struct Worked {
    pub system: System,
    pub outcome: Result<Outcome, NotWorked>,
    /// What the tolerances of the spec do to the results; `None` where it has none.
    pub tolerances: Option<Tolerances>,
}

/// A finding that somebody silenced.
#[derive(Clone, Debug)]
pub struct Allowed {
    pub finding: Finding,
    pub by: Silencer,
    /// The reason.
    pub why: String,
}

/// What keeps a finding silent.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Silencer {
    /// An `allow` in the spec.
    Allow,
    /// The check is off in the settings.
    Settings,
    /// It was known when a baseline was written.
    Baseline,
}

/// Analyses one file.
///
/// Never fails: whatever is wrong with the text is among the findings.
pub fn analyse(source: Arc<Source>, files: &dyn Files) -> Report {
    let bundle = Bundle::load(source.clone(), files);
    let settings = bundle.settings.clone();
    let model = build(&bundle);
    let ways_in: HashMap<FileName, Place> = bundle
        .ways_in()
        .into_iter()
        .map(|(used, place)| (bundle.sources[used].name.clone(), place))
        .collect();
    let mut findings: Vec<Finding> = model
        .problems
        .into_iter()
        .map(|problem| rehome(problem, &ways_in))
        .filter_map(|problem| Finding::new(problem, None))
        .collect();
    findings.extend(misspelled_allows(&source));
    findings.extend(settings::mistaken_settings(&settings, &source));
    let mut allowed = Vec::new();
    let mut systems = Vec::new();
    for system in model.systems {
        if !files.wanted() {
            break;
        }
        let outcome = work_out(&system);
        let tolerances = outcome
            .as_ref()
            .ok()
            .and_then(|outcome| Tolerances::new(&system, outcome));
        let mut problems = checks::run(&system, &outcome, tolerances.as_ref(), &settings);
        let toleranced = system.toleranced().len();
        if toleranced > MAX_TOLERANCED {
            let message = format!(
                "{toleranced} values have a tolerance; the worst case is worked out for \
                 {MAX_TOLERANCED} at the most, and not here"
            );
            problems.push(Problem::new("too-large", system.place.clone(), message));
        }
        let mut used = vec![false; system.allows.len()];
        for problem in problems {
            let allow = system.allows.iter().position(|allow| {
                allow.check == problem.check
                    && (allow.block.is_none() || allow.block == problem.block)
            });
            let Some(finding) = Finding::new(problem, Some(&system)) else {
                continue;
            };
            match allow {
                Some(i) => {
                    used[i] = true;
                    allowed.push(Allowed {
                        finding,
                        by: Silencer::Allow,
                        why: system.allows[i].why.clone(),
                    });
                }
                None => findings.push(finding),
            }
        }
        findings.extend(unused_allows(&system, &used, outcome.is_ok()));
        systems.push(Worked {
            system,
            outcome,
            tolerances,
        });
    }
    let mut findings = weigh(findings, &settings, &mut allowed);
    findings.sort_by(|a, b| {
        let key = |f: &Finding| (f.problem.place.span, std::cmp::Reverse(f.severity));
        key(a).cmp(&key(b))
    });
    bound(&mut findings);
    Report {
        source,
        uses: bundle
            .direct()
            .map(|(at, name)| (at, name.clone()))
            .collect(),
        used: bundle.sources.into_iter().skip(1).collect(),
        settings,
        systems,
        findings,
        allowed,
    }
}

/// Gives findings the severities that are set; those of checks that are off go to the silenced.
fn weigh(findings: Vec<Finding>, settings: &Settings, silenced: &mut Vec<Allowed>) -> Vec<Finding> {
    let mut kept = Vec::with_capacity(findings.len());
    for mut finding in findings {
        match settings.level(finding.check.name) {
            None => {}
            Some(Level::At(severity)) => finding.severity = severity,
            Some(Level::Off) => {
                let file = settings.file.as_deref().unwrap_or(SETTINGS_FILE);
                silenced.push(Allowed {
                    why: format!("`{}` is off in `{file}`", finding.check.name),
                    by: Silencer::Settings,
                    finding,
                });
                continue;
            }
        }
        kept.push(finding);
    }
    kept
}

/// More findings than this in one file say nothing more to anyone.
pub const MAX_FINDINGS: usize = 1000;

/// Keeps the first of very many findings, and says how many follow.
fn bound(findings: &mut Vec<Finding>) {
    let more = findings.len().saturating_sub(MAX_FINDINGS);
    if more == 0 {
        return;
    }
    let place = findings[MAX_FINDINGS].problem.place.clone();
    let left_out = findings.drain(MAX_FINDINGS..);
    let worst = left_out.map(|finding| finding.severity).max();
    let problem = Problem::new(
        "too-large",
        place,
        format!("{more} more findings follow; only the first {MAX_FINDINGS} are listed"),
    );
    findings.extend(Finding::new(problem, None).map(|finding| Finding {
        // It stands for what it leaves out, and is no worse.
        severity: worst.unwrap_or(finding.severity),
        ..finding
    }));
}

/// Allows of the system's own that silenced nothing. While a system is not worked out, most
/// checks cannot find anything, and their allows are given the benefit of the doubt.
fn unused_allows(system: &System, used: &[bool], worked: bool) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (allow, used) in system.allows.iter().zip(used) {
        if *used || !allow.own {
            continue;
        }
        let problem = match Check::named(&allow.check) {
            None => unknown_check(&allow.check, allow.place.clone()),
            Some(check) if matches!(check.run, Run::Reading) => Problem::new(
                "unused-allow",
                allow.place.clone(),
                format!(
                    "`{}` is found in the text itself, which no `allow` silences",
                    allow.check
                ),
            ),
            Some(_) if !worked => continue,
            Some(_) => Problem::new(
                "unused-allow",
                allow.place.clone(),
                format!(
                    "`{}` finds nothing here, so this silences nothing",
                    allow.check
                ),
            )
            .help("remove it, or the next one will go unseen"),
        };
        findings.extend(Finding::new(problem, Some(system)));
    }
    findings
}

/// Allows in the file's parts whose check does not exist: no system speaks for them.
fn misspelled_allows(source: &Source) -> impl Iterator<Item = Finding> {
    let statements = source.parts().flat_map(|part| &part.body.statements);
    statements.filter_map(|statement| match &statement.kind {
        StatementKind::Allow(allow) if Check::named(&allow.check.text).is_none() => {
            let place = source.place(allow.check.span);
            Finding::new(unknown_check(&allow.check.text, place), None)
        }
        _ => None,
    })
}

fn unknown_check(name: &str, place: Place) -> Problem {
    let known = checks::CHECKS.iter().map(|check| check.name);
    Problem::new("unused-allow", place, format!("there is no check `{name}`"))
        .did_you_mean(nearest(name, known))
}

/// What is wrong in a file that is used is shown where this file uses it, so that nobody looks
/// in vain for why nothing is worked out.
fn rehome(problem: Problem, ways_in: &HashMap<FileName, Place>) -> Problem {
    let file = &problem.place.file;
    let Some(place) = ways_in.get(file) else {
        return problem;
    };
    let mut moved = Problem::new(
        problem.check,
        place.clone(),
        format!("in `{file}`: {}", problem.message),
    );
    moved.help = problem.help;
    moved.related = vec![Related {
        place: problem.place,
        message: "it stands here".to_owned(),
    }];
    moved.related.extend(problem.related);
    moved
}
