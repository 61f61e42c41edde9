//! Places, findings and fixes as values in an answer.

use super::request::At;
use crate::analysis::Report;
use crate::analysis::diagnosis::VisitTold;
use crate::checks::Finding;
use crate::finding::Fix;
use crate::model::Source;
use crate::syntax::{Encoding, LineColumn, TextRange};
use serde_json::{Value, json};

/// The offset in the file of a place in a request.
pub(super) fn offset(report: &Report, at: At) -> u32 {
    let position = LineColumn {
        line: at.line,
        column: at.character,
    };
    report.source.lines.offset(position, Encoding::Utf16)
}

/// A run of text as the places of its ends.
pub(super) fn range_value(source: &Source, range: TextRange) -> Value {
    let end = |offset| {
        let place = source.lines.position(offset, Encoding::Utf16);
        json!({ "line": place.line, "character": place.column })
    };
    json!({ "start": end(range.start), "end": end(range.end) })
}

/// A finding, at its place in the file for which it was found.
pub(super) fn finding_value(report: &Report, finding: &Finding) -> Value {
    let problem = &finding.problem;
    let related: Vec<Value> = problem
        .related
        .iter()
        .filter_map(|related| {
            let source = report.file(&related.place.file)?;
            Some(json!({
                "file": &**report.shown_name(&related.place.file),
                "range": range_value(source, source.range(related.place.span)),
                "message": related.message,
            }))
        })
        .collect();
    json!({
        "check": finding.check.name(),
        "severity": finding.severity.name(),
        "system": finding.system,
        "message": problem.message,
        "help": finding.help(),
        "range": range_value(&report.source, report.place_here(finding)),
        "related": related,
        "fixes": finding.fixes().map(|fix| fix_value(report, fix)).collect::<Vec<Value>>(),
    })
}

/// A change with its edits, by the names of the files that they change.
pub(super) fn fix_value(report: &Report, fix: &Fix) -> Value {
    let edits = fix.edits.iter().filter_map(|(place, text)| {
        let source = report.file(&place.file)?;
        Some(json!({
            "file": &*place.file,
            "range": range_value(source, source.range(place.span)),
            "text": text,
        }))
    });
    json!({ "title": fix.title, "edits": edits.collect::<Vec<Value>>() })
}

/// The diagnosis of a visit, in words.
pub(super) fn visit_value(told: &VisitTold) -> Value {
    let readings: Vec<Value> = told
        .readings
        .iter()
        .map(|line| {
            json!({
                "name": line.name,
                "measured": line.measured,
                "worked_out": line.worked_out,
                "off": line.off,
            })
        })
        .collect();
    let causes: Vec<Value> = told
        .causes
        .iter()
        .map(|cause| json!({ "words": cause.words, "is_equal": cause.is_equal }))
        .collect();
    let next: Vec<Value> = told
        .next
        .iter()
        .map(|next| json!({ "name": next.reading.name(), "how": next.how, "values": next.values }))
        .collect();
    let cures: Vec<Value> = told
        .cures
        .iter()
        .map(|cure| json!({ "of": cure.of, "steps": cure.steps }))
        .collect();
    json!({
        "label": told.label,
        "drags": told.drags,
        "verdict": told.verdict,
        "readings": readings,
        "changes": told.changes,
        "causes": causes,
        "explains": told.explains,
        "pairs": told.pairs,
        "ruled_out": told.ruled_out,
        "next": next,
        "cures": cures,
        "before_cures": told.before_cures,
        "cautions": told.cautions,
    })
}
