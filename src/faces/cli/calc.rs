//! `bitepoint calc`

use super::{CannotRun, Format, Status, input, print, style};
use crate::analysis::{Report, Worked, analyse};
use crate::faces::disk::Disk;
use crate::faces::render::{calc_json, curve_csv, findings_text, results_text};
use crate::mechanics::NotWorked;
use crate::quantity::{Dimension, UnitExpr, nearest};
use std::path::PathBuf;

pub struct Request {
    pub file: PathBuf,
    pub system: Option<String>,
    pub format: Format,
    pub at: Option<String>,
    /// The number of points of the curve that is wanted.
    pub curve: Option<usize>,
}

pub fn run(request: &Request) -> Result<Status, CannotRun> {
    let disk = Disk::default();
    let mut report = analyse(input::read(&request.file, &disk)?, &disk);
    if let Some(at) = &request.at {
        let travel = length(at)?;
        hold(&mut report, travel);
    }
    let systems = wanted(&report, request.system.as_deref())?;
    let status = if systems.iter().all(|worked| worked.outcome.is_ok()) {
        Status::Clean
    } else {
        Status::Findings
    };
    let text = if let Some(points) = request.curve {
        curve_csv(&systems, points)?
    } else if request.format == Format::Json {
        calc_json(&report, &systems)
    } else {
        let tables: Vec<String> = systems.iter().map(|worked| results_text(worked)).collect();
        let tables = tables.join("\n");
        format!(
            "{}{tables}",
            findings_text(std::slice::from_ref(&report), style())
        )
    };
    print(&text)?;
    Ok(status)
}

/// The systems that are asked for.
fn wanted<'a>(report: &'a Report, name: Option<&str>) -> Result<Vec<&'a Worked>, CannotRun> {
    let Some(name) = name else {
        return Ok(report.systems.iter().collect());
    };
    let found: Vec<&Worked> = report
        .systems
        .iter()
        .filter(|worked| worked.system.name == name)
        .collect();
    if found.is_empty() {
        let known = report.systems.iter().map(|w| w.system.name.as_str());
        let meant = match nearest(name, known) {
            Some(meant) => format!("; did you mean `{meant}`?"),
            None => String::new(),
        };
        let file = &report.source.name;
        return Err(format!("there is no system `{name}` in `{file}`{meant}"));
    }
    Ok(found)
}

/// Puts a stop under every pedal at a travel, so that all results are those with the pedal held
/// there.
fn hold(report: &mut Report, travel: f64) {
    for worked in &mut report.systems {
        if let Ok(outcome) = &worked.outcome {
            worked.outcome = outcome
                .with(|chain| chain.pedal.stop = Some(travel))
                .ok_or(NotWorked::Impossible);
            // They were worked out for full pedal.
            worked.tolerances = None;
        }
    }
}

/// A length from the command line, in mm, read as the language reads it.
fn length(text: &str) -> Result<f64, CannotRun> {
    let wrong = || format!("`--at` wants a length such as `90 mm`, not `{text}`");
    let number_ends = text.find(|c: char| c.is_alphabetic()).ok_or_else(wrong)?;
    let (number, unit) = text.split_at(number_ends);
    let number: f64 = number.trim().parse().map_err(|_| wrong())?;
    let unit = UnitExpr::parse(unit.trim()).map_err(|_| wrong())?;
    if unit.dimension() != Dimension::LENGTH || !number.is_finite() || number < 0.0 {
        return Err(wrong());
    }
    Ok(unit.inward(number))
}
