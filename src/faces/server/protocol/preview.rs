//! The contents of an editor's preview: a system's curve over the pedal's travel. These messages are our own and not
//! part of the protocol; `editors/README.md` documents them.

use super::to_lsp::Lsp;
use crate::analysis::{Located, Shown, Standing, Worked, verdict};
use crate::checks::Finding;
use crate::faces::render::{Size, curves};
use crate::faces::sheet::{Form, SheetOptions, logo, sheet_with};
use crate::quantity::UnitExpr;
use crate::solve::curve::{self, CurveColumn};
use lsp_types::{Position, Range, TextDocumentIdentifier, Url, notification::Notification};
use serde::{Deserialize, Serialize};
use std::cmp::Reverse;

/// How many rows a curve has: about as many as a preview can show as separate pixels.
const ROWS: usize = 101;

/// The wanted system: by name, else the one at a position, else the first.
#[derive(Debug, Deserialize)]
#[serde(rename_all = "camelCase")]
pub(crate) struct WhichSystem {
    pub text_document: TextDocumentIdentifier,
    system: Option<String>,
    position: Option<Position>,
}

/// The curve of one system. Without rows, `why` says why there is no curve. With rows, it names the mistake before
/// which the curve was made.
#[derive(Debug, Default, Serialize)]
#[serde(rename_all = "camelCase")]
pub(crate) struct Curve {
    version: Option<i32>,
    system: Option<String>,
    title: Option<String>,
    /// The verdict in one line, the worst first.
    #[serde(skip_serializing_if = "Option::is_none")]
    verdict: Option<String>,
    /// How bad the verdict is: `error`, `warning`, or `none`.
    #[serde(skip_serializing_if = "Option::is_none")]
    standing: Option<&'static str>,
    columns: Vec<ColumnHead>,
    rows: Vec<Vec<Option<f64>>>,
    /// The curve as a drawing, for a preview that does not draw itself.
    #[serde(skip_serializing_if = "Option::is_none")]
    svg: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    why: Option<String>,
    /// The findings in the system, the worst first.
    findings: Vec<Found>,
}

/// One finding, for a list beside the curves.
#[derive(Debug, Serialize)]
struct Found {
    severity: &'static str,
    check: &'static str,
    message: String,
    /// Its range in the document; `None` if it is in a file that the document uses.
    #[serde(skip_serializing_if = "Option::is_none")]
    range: Option<Range>,
}

#[derive(Debug, Serialize)]
struct ColumnHead {
    name: &'static str,
    /// The unit in which the spec's author writes the values.
    unit: String,
    label: &'static str,
}

/// The curve of the wanted system.
pub(crate) fn curve(lsp: &Lsp<'_>, which: &WhichSystem) -> Curve {
    let version = lsp.snapshot.buffer.version;
    let without = |why: &str| Curve {
        version,
        why: Some(why.to_owned()),
        ..Curve::default()
    };
    let located = match system(lsp, which) {
        Some(located) => located,
        None if which.system.is_some() => return without("there is no system of this name"),
        None => return without("there is no system in this file"),
    };
    let found = verdict(lsp.report(), located);
    let Shown { worked, mistake } = located.shown();
    let named = Curve {
        version,
        verdict: Some(found.line()),
        standing: Some(match found.standing {
            Standing::Fails => "error",
            Standing::Warns => "warning",
            Standing::Works | Standing::Unknown => "none",
        }),
        system: Some(worked.system.name.clone()),
        title: worked.system.title.clone(),
        findings: findings(lsp, worked),
        ..Curve::default()
    };
    let travel = match &worked.outcome {
        Ok(outcome) => curve::Curve::nominal(outcome, ROWS),
        Err(why) => {
            let why = lsp.report().why_not_worked(&worked.system, *why);
            return Curve {
                why: Some(format!("not worked out: {why}")),
                ..named
            };
        }
    };
    let unit = |column: &CurveColumn| worked.system.display.unit(column.dimension);
    let columns: Vec<(&CurveColumn, Option<UnitExpr>)> = travel
        .columns()
        .map(|column| (column, unit(column)))
        .collect();
    let row = |at: usize| {
        columns
            .iter()
            .map(|(column, unit)| {
                let [value, ..] = travel.at(at, column);
                let value = value?;
                Some(unit.as_ref().map_or(value, |unit| unit.outward(value)))
            })
            .collect()
    };
    Curve {
        rows: (0..travel.samples.len()).map(row).collect(),
        why: mistake.map(|mistake| format!("before {}", lsp.report().mistake_words(mistake))),
        svg: curves(worked, Size::Page),
        columns: columns
            .iter()
            .map(|(column, unit)| ColumnHead {
                name: column.name,
                unit: unit.as_ref().map_or_else(String::new, UnitExpr::to_string),
                label: column.label,
            })
            .collect(),
        ..named
    }
}

fn findings(lsp: &Lsp<'_>, worked: &Worked) -> Vec<Found> {
    let report = lsp.report();
    let mut findings: Vec<&Finding> = report.findings_of(worked).collect();
    findings.sort_by_key(|finding| Reverse(finding.severity));
    let found = |finding: &Finding| {
        let place = &finding.problem.place;
        let is_here = place.file == report.source.name;
        Found {
            severity: finding.severity.name(),
            check: finding.check.name(),
            message: finding.problem.message.clone(),
            range: is_here.then(|| lsp.range(report.source.range(place.span))),
        }
    };
    findings.into_iter().map(found).collect()
}

/// The fitting sheet of the wanted system; of all systems of the file if none is named.
#[derive(Debug, Serialize)]
pub(crate) struct Sheet {
    html: Option<String>,
}

pub(crate) fn fitting_sheet(lsp: &Lsp<'_>, which: &WhichSystem) -> Sheet {
    let report = lsp.report();
    let systems: Vec<&Worked> = match (&which.system, which.position) {
        (None, None) => report.worked_systems().collect(),
        // A printed sheet that is taken to a car is never from before a mistake.
        _ => system(lsp, which)
            .map(|located| &**located)
            .into_iter()
            .collect(),
    };
    let options = SheetOptions {
        // A mistake about the picture is reported in the settings; the sheet works without it.
        logo: logo(&report.settings).unwrap_or_default(),
        ..SheetOptions::default()
    };
    Sheet {
        html: (!systems.is_empty()).then(|| sheet_with(report, &systems, Form::Html, &options).0),
    }
}

fn system<'a>(lsp: &Lsp<'a>, which: &WhichSystem) -> Option<&'a Located> {
    let mut systems = lsp.report().systems.iter();
    if let Some(name) = &which.system {
        return systems.find(|located| located.system.name == *name);
    }
    which
        .position
        .and_then(|position| lsp.report().system_at(lsp.offset(position)))
        .or_else(|| systems.next())
}

/// The notification after each analysis of a document. It tells a preview when to ask again.
pub(crate) enum Analysed {}

#[derive(Debug, Deserialize, Serialize)]
pub(crate) struct AnalysedParams {
    pub uri: Url,
    pub version: i32,
}

impl Notification for Analysed {
    type Params = AnalysedParams;
    const METHOD: &'static str = "bitepoint/worked";
}
