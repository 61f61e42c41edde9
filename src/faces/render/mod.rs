//! Findings and results in the forms that people and machines read.

mod chain_drawing;
pub mod compare;
mod json;
mod markdown;
mod plot;
mod results;
mod text;

pub use chain_drawing::chain_drawing;
pub use json::{calc_json, check_json};
pub use plot::{Size, curves};
pub use results::{curve_csv, results_text};
pub use text::{TextStyle, findings_text, summary};

use crate::analysis::Report;
use crate::checks::Finding;
use crate::finding::Severity;

/// The findings of some files, in order.
pub fn findings(reports: &[Report]) -> impl Iterator<Item = (&Report, &Finding)> {
    reports
        .iter()
        .flat_map(|report| report.findings.iter().map(move |finding| (report, finding)))
}

/// How many findings there are of one severity.
pub fn count(reports: &[Report], severity: Severity) -> usize {
    findings(reports)
        .filter(|(_, finding)| finding.severity == severity)
        .count()
}

/// `1 error`, `2 errors`.
fn counted(count: usize, what: &str) -> String {
    let plural = match (count, what) {
        (1, _) | (_, "info") => "",
        _ => "s",
    };
    format!("{count} {what}{plural}")
}

/// Text that only reads: whatever could steer a terminal, break a document or turn the reading
/// order round is made visible instead.
pub fn tame(text: &str) -> String {
    text.chars()
        .map(|c| {
            if steers(c) {
                char::REPLACEMENT_CHARACTER
            } else {
                c
            }
        })
        .collect()
}

fn steers(c: char) -> bool {
    let turns = matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
    // The last two of each plane are no characters at all.
    let none = u32::from(c) & 0xfffe == 0xfffe || matches!(c, '\u{fdd0}'..='\u{fdef}');
    turns || none || (c.is_control() && c != '\n' && c != '\t')
}
