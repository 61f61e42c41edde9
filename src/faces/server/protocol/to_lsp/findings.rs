//! The diagnostics of a file.

use super::Lsp;
use crate::analysis::Typing;
use crate::check_id::CheckId;
use crate::checks::Finding;
use crate::finding::Severity;
use lsp_types as lsp;
use std::hash::{DefaultHasher, Hash, Hasher};

/// Diagnostics, with a mark by which equal ones are recognized.
pub(crate) struct Diagnosed {
    pub items: Vec<lsp::Diagnostic>,
    pub mark: String,
}

impl Lsp<'_> {
    /// The published diagnostics: all except those that only say that the statement under the cursor is incomplete.
    /// Those are published once the cursor has moved on. A client that pulls and cannot be asked to pull again gets
    /// them at once.
    pub fn told(&self) -> Vec<lsp::Diagnostic> {
        let later = !self.client.pulls || self.client.refreshes.diagnostics;
        let typed = self.snapshot.typed().filter(|_| later);
        let typing = typed.map(|at| Typing::of(self.report(), at));
        let is_held = |finding: &Finding| typing.as_ref().is_some_and(|t| t.holds(finding));
        let (held, told): (Vec<_>, Vec<_>) =
            self.report().findings.iter().partition(|f| is_held(f));
        if !held.is_empty() {
            self.snapshot.hold_back();
        }
        told.into_iter().map(|f| self.diagnostic(f)).collect()
    }

    pub(crate) fn diagnostic(&self, finding: &Finding) -> lsp::Diagnostic {
        let problem = &finding.problem;
        let message = match &problem.help {
            Some(help) => format!("{}\n{help}", problem.message),
            None => problem.message.clone(),
        };
        let related: Vec<_> = problem
            .related
            .iter()
            .filter_map(|related| {
                Some(lsp::DiagnosticRelatedInformation {
                    location: self.location(&related.place)?,
                    message: related.message.clone(),
                })
            })
            .collect();
        let is_unused = matches!(finding.check.id, CheckId::UnusedPart | CheckId::UnusedLet);
        lsp::Diagnostic {
            range: self.range(self.report().place_here(finding)),
            severity: Some(match finding.severity {
                // The mistake is an error in its own file; here nothing must be changed.
                Severity::Error if finding.is_of_a_used_file() => lsp::DiagnosticSeverity::WARNING,
                Severity::Error => lsp::DiagnosticSeverity::ERROR,
                Severity::Warning => lsp::DiagnosticSeverity::WARNING,
                Severity::Info => lsp::DiagnosticSeverity::INFORMATION,
                Severity::Hint => lsp::DiagnosticSeverity::HINT,
            }),
            code: Some(lsp::NumberOrString::String(finding.check.name().to_owned())),
            code_description: self.explained(finding.check.name()),
            source: Some("bitepoint".to_owned()),
            message,
            related_information: (self.client.related_places && !related.is_empty())
                .then_some(related),
            tags: (self.client.unnecessary && is_unused)
                .then(|| vec![lsp::DiagnosticTag::UNNECESSARY]),
            ..lsp::Diagnostic::default()
        }
    }

    /// The page that explains a check, if the editor can show it.
    fn explained(&self, check: &str) -> Option<lsp::CodeDescription> {
        let href = self.explanation(check)?;
        self.client
            .code_links
            .then_some(lsp::CodeDescription { href })
    }

    /// The address of the explanation of a check, if the editor has set one.
    pub(super) fn explanation(&self, name: &str) -> Option<lsp::Url> {
        lsp::Url::parse(&self.settings.explanation(name)?).ok()
    }

    /// The diagnostics for a client that pulls them.
    pub fn diagnosed(&self) -> Diagnosed {
        let items = self.told();
        let mut hasher = DefaultHasher::new();
        serde_json::to_string(&items)
            .unwrap_or_default()
            .hash(&mut hasher);
        Diagnosed {
            items,
            mark: format!("{:016x}", hasher.finish()),
        }
    }
}
