//! Changes of the text that are offered: the canonical form, and the fixes of what is wrong.

use super::Report;
use crate::checks::Finding;
use crate::settings::is_settings;
pub use crate::syntax::Edit;
use crate::syntax::{TextRange, Tree, format_closed, format_edits, format_range};

/// The edits that bring a file into its canonical form, in order and apart from each other; none
/// if it has it. `None` for a file with mistakes in its text, and for settings, which are left as
/// they are.
pub fn formatting(report: &Report) -> Option<Vec<Edit>> {
    let (text, tree) = spec(report)?;
    format_edits(text, tree)
}

/// The edits that bring the statements that a range touches into their canonical form, and
/// nothing else. `None` as for [`formatting`].
pub fn formatting_within(report: &Report, range: TextRange) -> Option<Vec<Edit>> {
    let (text, tree) = spec(report)?;
    format_range(text, tree, range)
}

/// The edits for what was just typed: a closing brace brings what it closes into its canonical
/// form.
pub fn formatting_typed(report: &Report, offset: u32) -> Option<Vec<Edit>> {
    let (text, tree) = spec(report)?;
    format_closed(text, tree, offset)
}

fn spec(report: &Report) -> Option<(&str, &Tree)> {
    let source = &report.source;
    (!is_settings(&source.name)).then_some((&source.text, &source.tree))
}

impl Report {
    /// Where a finding is shown in this file: what a base in another file says is shown at the
    /// name of the system that starts from it.
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

    /// What was found in a run of text and can be fixed.
    pub fn cures(&self, within: TextRange) -> impl Iterator<Item = &Finding> {
        self.findings.iter().filter(move |finding| {
            let span = self.place_here(finding);
            !finding.problem.fixes.is_empty()
                && span.start <= within.end
                && within.start <= span.end
        })
    }
}
