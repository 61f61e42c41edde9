//! Which findings of a file are about one of its systems.

use super::incremental::Located;
use super::{Report, Worked, no_system};
use crate::checks::Finding;
use crate::model::MAX_FROM_DEPTH;
use crate::syntax::{self, Span, StatementKind};

/// The text that a system is made of in its file, to find what concerns it.
pub struct Concern<'r> {
    report: &'r Report,
    name: &'r str,
    located: Option<&'r Located>,
    /// The statements of the system and of its bases, by their names.
    layers: Vec<Span>,
}

impl Report {
    /// What a system is made of, to tell which findings concern it.
    pub fn concern<'r>(&'r self, worked: &'r Worked) -> Concern<'r> {
        let source = &self.source;
        let own = source
            .systems()
            .find(|system| system.name.span == worked.system.place.span);
        let base = |system: &&syntax::System| source.system(&system.base.as_ref()?.text);
        let layers = std::iter::successors(own, base).take(MAX_FROM_DEPTH + 1);
        Concern {
            report: self,
            name: &worked.system.name,
            located: self.located(worked.system.place.span),
            layers: layers.map(|system| system.name.span).collect(),
        }
    }

    /// The findings that concern a system, in the order of the text.
    pub fn findings_of<'r>(&'r self, worked: &'r Worked) -> impl Iterator<Item = &'r Finding> {
        let concern = self.concern(worked);
        self.findings.iter().filter(move |f| concern.has(f))
    }

    /// Removes the findings that do not concern the systems with a name.
    ///
    /// # Errors
    /// There is no such system; the error is a sentence.
    pub fn keep_concerning(&mut self, system: &str) -> Result<(), String> {
        let of_name = |worked: &&Worked| worked.system.name == system;
        let concerns: Vec<Concern<'_>> = self
            .worked_systems()
            .filter(of_name)
            .map(|worked| self.concern(worked))
            .collect();
        if concerns.is_empty() {
            return Err(no_system(&self.source, system));
        }
        let has = |finding: &Finding| concerns.iter().any(|concern| concern.has(finding));
        let kept: Vec<bool> = self.findings.iter().map(has).collect();
        let mut kept = kept.into_iter();
        self.findings.retain(|_| kept.next().unwrap_or(true));
        Ok(())
    }
}

impl Concern<'_> {
    /// Whether a finding is about the system or about text that it is made of. That is its own text, that of its
    /// bases, the parts that it takes and the lets that it reads. A finding that belongs to no system, such as a
    /// `use` that leads nowhere, concerns all.
    pub fn has(&self, finding: &Finding) -> bool {
        if let Some(name) = &finding.system {
            return name == self.name;
        }
        let place = &finding.problem.place;
        let source = &self.report.source;
        if place.file != source.name {
            return true;
        }
        let item = source.tree.item(place.span.statement);
        let Some(item) = item.filter(|item| item.span.touches(place.span.start)) else {
            return true;
        };
        let is_used = |name: Span| {
            let used = |located: &Located| located.uses().contains(&source.place(name));
            self.located.is_some_and(used)
        };
        match &item.kind {
            StatementKind::System(system) => self.layers.contains(&system.name.span),
            StatementKind::Part(part) => is_used(part.name.span),
            StatementKind::Let(item) => is_used(item.name.span),
            _ => true,
        }
    }
}
