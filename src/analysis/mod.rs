//! The one entry for every face: sources in; findings, results and facts about places out.
//!
//! **Knows neither LSP nor the terminal, and does no input or output of its own.**

mod completion;
mod cursor;
mod definition;
mod edits;
mod hover;
mod inlay;
mod names;
mod spot;
mod symbols;

pub use completion::{Completion, CompletionKind, completions};
pub use definition::{Definition, definition};
pub use edits::{Edit, formatting};
pub use hover::{Hover, hover};
pub use inlay::{Inlay, inlays};
pub use symbols::{Symbol, SymbolKind, symbols};

use crate::checks::{self, Check, Finding};
use crate::finding::{Problem, Related};
use crate::mechanics::{NotWorked, Outcome, Tolerances, work_out};
use crate::model::{Bundle, Files, Source, System, build};
use crate::quantity::nearest;
use std::sync::Arc;

/// All that is known about one file.
#[derive(Debug)]
pub struct Report {
    pub source: Arc<Source>,
    /// The files that it uses, directly or not.
    pub used: Vec<Arc<Source>>,
    pub systems: Vec<Worked>,
    /// In the order of the text.
    pub findings: Vec<Finding>,
    /// What an `allow` silenced.
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

/// A finding that the author silenced.
#[derive(Clone, Debug)]
pub struct Allowed {
    pub finding: Finding,
    /// The author's reason.
    pub why: String,
}

/// Analyses one file.
///
/// Never fails: whatever is wrong with the text is among the findings.
pub fn analyse(source: Arc<Source>, files: &dyn Files) -> Report {
    let bundle = Bundle::load(source.clone(), files);
    let model = build(&bundle);
    let mut findings: Vec<Finding> = model
        .problems
        .into_iter()
        .map(|problem| rehome(problem, &source))
        .filter_map(|problem| Finding::new(problem, None))
        .collect();
    let mut allowed = Vec::new();
    let mut systems = Vec::new();
    for system in model.systems {
        let outcome = work_out(&system);
        let tolerances = outcome
            .as_ref()
            .ok()
            .and_then(|outcome| Tolerances::new(&system, outcome));
        let problems = checks::run(&system, &outcome, tolerances.as_ref());
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
    findings.sort_by(|a, b| {
        let key = |f: &Finding| (f.problem.place.span, std::cmp::Reverse(f.severity));
        key(a).cmp(&key(b))
    });
    bound(&mut findings);
    Report {
        source,
        used: bundle.sources.into_iter().skip(1).collect(),
        systems,
        findings,
        allowed,
    }
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
    findings.truncate(MAX_FINDINGS);
    let problem = Problem::new(
        "too-large",
        place,
        format!("{more} more findings follow; only the first {MAX_FINDINGS} are listed"),
    );
    findings.extend(Finding::new(problem, None));
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
            None => Problem::new(
                "unused-allow",
                allow.place.clone(),
                format!("there is no check `{}`", allow.check),
            )
            .did_you_mean(nearest(
                &allow.check,
                checks::CHECKS.iter().map(|check| check.name),
            )),
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

/// What is wrong in a file that is used is shown where this file uses it, so that nobody looks
/// in vain for why nothing is worked out.
fn rehome(problem: Problem, source: &Source) -> Problem {
    if problem.place.file == source.name {
        return problem;
    }
    let uses = source.tree.statements.iter().find_map(|s| match &s.kind {
        crate::syntax::StatementKind::Use(item) => Some(source.place(item.path.span)),
        _ => None,
    });
    let Some(place) = uses else { return problem };
    let file = &problem.place.file;
    let mut moved = Problem::new(
        problem.check,
        place,
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
