//! Changes of the text that are offered: its canonical form, and the fixes of findings.

use super::Report;
use crate::checks::Finding;
use crate::settings::is_settings;
pub use crate::syntax::Edit;
use crate::syntax::{TextRange, Tree, format_closed, format_edits, format_range};

/// The edits that bring a file into its canonical form, in order and without overlap. Empty if it has that form
/// already. `None` for settings and for a file with mistakes in its text, which are not changed.
pub fn formatting(report: &Report) -> Option<Vec<Edit>> {
    let (text, tree) = spec(report)?;
    format_edits(text, tree)
}

/// The edits that bring only the statements touched by a range into their canonical form. `None` where [`formatting`]
/// is.
pub fn formatting_within(report: &Report, range: TextRange) -> Option<Vec<Edit>> {
    let (text, tree) = spec(report)?;
    format_range(text, tree, range)
}

/// The edits after a typed character. A closing brace brings the statement that it closes into its canonical form.
pub fn formatting_typed(report: &Report, offset: u32) -> Option<Vec<Edit>> {
    let (text, tree) = spec(report)?;
    format_closed(text, tree, offset)
}

fn spec(report: &Report) -> Option<(&str, &Tree)> {
    let source = &report.source;
    (!is_settings(&source.name)).then_some((&source.text, &source.tree))
}

impl Report {
    /// Where a finding is shown in this file. A finding in a base of another file is shown at the name of the derived
    /// system.
    pub fn place_here(&self, finding: &Finding) -> TextRange {
        let place = &finding.problem.place;
        if place.file == self.source.name {
            return self.source.range(place.span);
        }
        let system = finding
            .system
            .as_ref()
            .and_then(|name| self.source.system(name));
        let at = system.map(|system| self.source.range(system.name.span));
        at.unwrap_or_default()
    }

    /// The findings in a run of text that have a fix.
    pub fn cures(&self, within: TextRange) -> impl Iterator<Item = &Finding> {
        self.findings.iter().filter(move |finding| {
            let span = self.place_here(finding);
            !finding.problem.fixes.is_empty()
                && span.start <= within.end
                && within.start <= span.end
        })
    }
}
