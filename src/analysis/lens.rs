//! A line above each system: what comes of it, at a glance.

use super::Report;
use crate::result;
use crate::syntax::Span;

/// A few words above a system.
#[derive(Clone, PartialEq, Debug)]
pub struct Lens {
    /// The system's name.
    pub span: Span,
    pub system: String,
    pub label: String,
}

/// The margin, the effort and where the clutch bites, above each system of a file; why it is not
/// worked out where it is not.
pub fn lenses(report: &Report) -> Vec<Lens> {
    let systems = report.source.systems();
    systems
        .filter_map(|tree| {
            let worked = report.worked(tree)?;
            let label = match &worked.outcome {
                Err(why) => format!("not worked out: {}", why.words()),
                Ok(outcome) => {
                    let shown = [
                        ("margin", result!(release_margin)),
                        ("effort", result!(pedal_effort)),
                        ("bite", result!(release_point)),
                    ];
                    let shown = shown.iter().filter_map(|(word, id)| {
                        let value = outcome.get(*id)?;
                        let value = worked.system.show(value, id.spec().dimension);
                        Some(format!("{word} {value}"))
                    });
                    shown.collect::<Vec<_>>().join(" · ")
                }
            };
            Some(Lens {
                span: tree.name.span,
                system: tree.name.text.clone(),
                label,
            })
        })
        .filter(|lens| !lens.label.is_empty())
        .collect()
}
