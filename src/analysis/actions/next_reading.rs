//! Puts the next readings into a visit, as fields whose values the author types.

use super::missing::{into_body, point, skeleton};
use super::{block_at, findings_in};
use crate::analysis::diagnosis::diagnosis;
use crate::analysis::{Action, ActionKind, Report};
use crate::block;
use crate::check_id::CheckId;
use crate::finding::Fix;
use crate::schema::Block;
use crate::syntax::TextRange;

/// The checks for which a further reading helps.
const HELPED: &[CheckId] = &[
    CheckId::DragsAsMeasured,
    CheckId::AirInLine,
    CheckId::ReadingOff,
];

/// For the visit around a place, the readings that tell its faults apart, the most telling first.
pub(super) fn next_readings(report: &Report, within: TextRange) -> Vec<Action<'_>> {
    offered(report, within).unwrap_or_default()
}

fn offered(report: &Report, within: TextRange) -> Option<Vec<Action<'_>>> {
    let (system, block, statement) = block_at(report, within)?;
    let kind = &block.block.text;
    if Block::named(kind) != Some(block!(measured)) {
        return None;
    }
    let worked = report.worked(system)?;
    let place = report.source.place(block.block.span);
    let component = worked.system.measured().find(|c| c.place == place)?;
    let found = diagnosis(worked, &[])?;
    let visit = found.visits.iter().find(|v| v.label == component.label)?;
    let range = report.source.range(statement.span);
    let cures = findings_in(report, range).find(|finding| HELPED.contains(&finding.check.id));
    let actions = visit.next.iter().enumerate().filter_map(|(i, next)| {
        let name = next.reading.name();
        let field = skeleton(&worked.system, kind, name);
        let (at, text) = into_body(&report.source, block.body.as_ref()?, &[field])?;
        let title = match i {
            0 => format!("add the reading to take next: `{name}`"),
            _ => format!("add another reading that tells: `{name}`"),
        };
        Some(Action {
            kind: ActionKind::Fix,
            fix: Fix {
                title,
                edits: vec![(point(&report.source, at), text)],
            },
            cures,
            is_only: false,
        })
    });
    Some(actions.collect())
}
