//! The line above each system: its verdict at a glance.

use super::Report;
use super::verdict::Verdicts;
use crate::syntax::TextRange;

/// A few words above a system.
#[derive(Clone, PartialEq, Debug)]
pub struct Lens {
    /// The system's name.
    pub span: TextRange,
    /// The system's name as text, for requests about the system.
    pub system: String,
    /// The line: the worst about the system, and the numbers that decide.
    pub label: String,
}

/// The line for each system of a file, with the worst of the system first.
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
