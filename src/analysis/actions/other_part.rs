//! Offers another part that the file knows, found by the search for sizes.

use crate::analysis::{Candidate, Order, Report, Search, Used, Vary, Work, size};
use crate::checks::{Check, Finding, Run};
use crate::finding::{Fix, Severity};
use crate::quantity::Dimension;
use crate::schema::BLOCKS;

/// How many parts are offered for one block.
const MOST_OFFERED: usize = 3;
/// The most parts that are tried; a larger search would keep the editor waiting.
const MOST_TRIED: usize = 64;

/// The parts that would cure a system of all its errors, if the finding is at a part's name.
pub(super) fn other_parts(report: &Report, finding: &Finding) -> Vec<Fix> {
    found(report, finding).unwrap_or_default()
}

fn found(report: &Report, finding: &Finding) -> Option<Vec<Fix>> {
    let is_of_car = |check: &Check| matches!(check.run, Run::Outcome(_));
    if finding.severity < Severity::Error || !is_of_car(finding.check) {
        return None;
    }
    let name = finding.system.as_ref()?;
    let worked = report.systems.iter().find(|w| w.system.name == *name)?;
    let system = &worked.system;
    let place = &finding.problem.place;
    let component = system.components().find(|component| {
        let part = component.part.as_ref();
        component.own && part.is_some_and(|part| part.mention == *place)
    })?;
    let present = &component.part.as_ref()?.name;
    let block = BLOCKS[component.block as usize].name;
    let known: usize = report.sources().flat_map(|source| source.parts()).count();
    if worked.kit.is_some() || known > MOST_TRIED {
        return None;
    }
    let search = Search {
        system: name.clone(),
        vary: vec![Vary {
            subject: block.to_owned(),
            choices: Vec::new(),
        }],
        picks: Vec::new(),
        order: Order::Margin,
        best: MOST_OFFERED,
    };
    let work = Work::default();
    let sizes = size(report.source.clone(), &Used(report), &search, &work).ok()?;
    let offer = |one: &Candidate| {
        let axis = sizes.space.axes.first()?;
        let part = &axis
            .choices
            .get(*sizes.space.digits(one.index).first()?)?
            .name;
        if part == present {
            return None;
        }
        let show = |value: Option<f64>, what: &str, dimension: Dimension| {
            value.map(|value| format!("{what} {}", system.show(value, dimension)))
        };
        let numbers: Vec<String> = [
            show(one.margin, "release margin", Dimension::LENGTH),
            show(one.effort, "effort", Dimension::FORCE),
        ]
        .into_iter()
        .flatten()
        .collect();
        Some(Fix {
            title: format!("take the {block} `{part}`: {}", numbers.join(", ")),
            edits: vec![(place.clone(), part.clone())],
        })
    };
    Some(sizes.best.iter().filter_map(offer).collect())
}
