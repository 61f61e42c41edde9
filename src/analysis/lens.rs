//! A line above each system: what comes of it, at a glance.

use super::Report;
use super::verdict::Verdicts;
use crate::syntax::TextRange;

/// A few words above a system.
#[derive(Clone, PartialEq, Debug)]
pub struct Lens {
    /// The system's name.
    pub span: TextRange,
    /// The system's name as text, to ask for the system by.
    pub system: String,
    /// The line: what is worst about the system, and the numbers that decide.
    pub label: String,
}

/// What comes of each system of a file, the worst first.
pub fn lenses(report: &Report) -> Vec<Lens> {
    let verdicts = Verdicts::of(report);
    let systems = report.source.systems();
    systems
        .filter_map(|tree| {
            Some(Lens {
                span: report.source.range(tree.name.span),
                system: tree.name.text.clone(),
                label: verdicts.verdict(report.located(tree.name.span)?).line(),
            })
        })
        .filter(|lens| !lens.label.is_empty())
        .collect()
}
